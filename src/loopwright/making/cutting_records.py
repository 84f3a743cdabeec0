"""Cutting data as records: what the handbook has, what was chosen, what limits it, and how long it takes."""

from dataclasses import dataclass
from typing import Literal

from loopwright.units import Dimension

Known = Literal["proven", "handbook", "rule of the trade", "assumed", "no data", "by hand"]
"""How a cut's speed and feed are known, the best first."""

Alarm = Literal["rubs", "bends", "speed", "power", "overhang", "stock", "wheel", "tool", "no data"]
"""What a warning is about."""


@dataclass(frozen=True)
class Range:
    """A speed or a feed as one source has it.

    Attributes:
        what: 'speed' in m/min, 'feed' in mm.
        low: least.
        high: greatest.
        per: 'rev' or 'tooth' for a feed, '' for a speed.
        cut: for which cut the source means it: 'rough', 'finish', 'slot' …; '' for any.
        source: who says so.
        by_rule: a rule of the trade made it from a neighbouring row.
        counted: it was taken into account; the others are for another kind of cut.
    """

    what: Literal["speed", "feed"]
    low: float
    high: float
    per: str
    cut: str
    source: str
    by_rule: bool
    counted: bool


@dataclass(frozen=True)
class Warned:
    """A plain warning: what it is about, and the sentence."""

    about: Alarm
    text: str


@dataclass(frozen=True)
class Detail:
    """A further figure of a cut.

    Attributes:
        what: in words: 'tap drill', 'ramp angle', 'radius of the path'.
        value: the number in the internal unit of its dimension; None where it is words only.
        dimension: of the number; None for a plain number or words.
        text: value and unit as the user reads them, or the words.
    """

    what: str
    value: float | None
    dimension: Dimension | None
    text: str


@dataclass(frozen=True)
class ToolUsed:
    """The tool that the data are for.

    Attributes:
        name: in the shop; None where none is named and a usual one is assumed.
        kind: of tool.
        material: that cuts.
        diameter: of cutter, wheel or bar, mm; None where it has none.
        edges: teeth or flutes.
        stick_out: out of its holder, mm; None where it does not matter.
        nose_radius: of the corner, mm.
        edge_angle: of the edge to the feed, rad; 90° cuts a shoulder.
        speed_limit: marked on it, rpm; None where none is stated.
        edge_radius: sharpness of its edge, mm.
        assumed: what of it is assumed, each in words.
    """

    name: str | None
    kind: str
    material: str
    diameter: float | None
    edges: int
    stick_out: float | None
    nose_radius: float
    edge_angle: float
    speed_limit: float | None
    edge_radius: float
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Pass:
    """One or several equal passes; None where a figure does not apply or is not known.

    Attributes:
        kind: 'rough', 'finish', 'only', or 'spark out'.
        count: how many.
        speed: cutting speed, m/min; of a grinding wheel too.
        rpm: of the spindle.
        feed: mm for each turn or tooth; of a wheel its cross-feed for each stroke or turn of the work.
        per: 'rev', 'tooth' or 'stroke'.
        feed_speed: mm/min; of a grinder table or surface of the work.
        depth: into the surface, mm: on a radius the radial depth.
        width: across the feed, along the surface, mm.
        chip: mean thickness of the chip, mm.
        engagement: arc over which a tooth cuts, rad.
        force: tangential, sharp tool, N.
        power: at the cut, sharp tool, W.
        torque: at the spindle, N·m.
        thrust: along the tool, N.
        deflection: of the tool or the work where it cuts, mm.
        effect: what that does to the dim, mm.
        height: of the feed marks, Rt, mm, as geometry alone leaves them.
        roughness: of them, Ra, mm.
        minutes: of feeding, all passes together.
    """

    kind: Literal["rough", "finish", "only", "spark out"]
    count: int
    speed: float | None = None
    rpm: float | None = None
    feed: float | None = None
    per: Literal["rev", "tooth", "stroke"] = "rev"
    feed_speed: float | None = None
    depth: float | None = None
    width: float | None = None
    chip: float | None = None
    engagement: float | None = None
    force: float | None = None
    power: float | None = None
    torque: float | None = None
    thrust: float | None = None
    deflection: float | None = None
    effect: float | None = None
    height: float | None = None
    roughness: float | None = None
    minutes: float | None = None


@dataclass(frozen=True)
class CutData:
    """Cutting data for one cut of an op.

    Attributes:
        surface: that is cut.
        field: path of the cut in the build file.
        way: how it is cut, in words: 'side milling', 'drilling'.
        tool: with what.
        diameter: of the round surface, or of the work on a lathe, mm.
        length: fed along, or depth of a hole, mm.
        stock: to take off, on a face or on the diameter, mm; by the tolerance chart its mean.
        stock_least, stock_most: in worst case, by the tolerance chart; None where that does not tell.
        stock_from: where that comes from, in words.
        limit: half the width between the limits of the dim, mm.
        limit_from: which dim or working dim; '' where there is none.
        passes: in order; empty where there are no data.
        ranges: every source of speed and feed.
        details: further figures.
        limits: what limits a value, in words.
        warnings: plain ones.
        assumed: what was assumed, in words.
        proven: what the shop's own values replaced, in words.
        notes: anything else to know.
        known: how speed and feed are known.
        minutes: of feeding; None where they are not known.
    """

    surface: str
    field: str
    way: str
    tool: ToolUsed
    diameter: float | None
    length: float | None
    stock: float | None
    stock_least: float | None
    stock_most: float | None
    stock_from: str
    limit: float | None
    limit_from: str
    passes: tuple[Pass, ...]
    ranges: tuple[Range, ...]
    details: tuple[Detail, ...]
    limits: tuple[str, ...]
    warnings: tuple[Warned, ...]
    assumed: tuple[str, ...]
    proven: tuple[str, ...]
    notes: tuple[str, ...]
    known: Known
    minutes: float | None


@dataclass(frozen=True)
class OpMinutes:
    """How long an op takes.

    Attributes:
        attended: minutes for one part, setting up not counted.
        setting_up: attended minutes to set up, once for the part or its matched set; nought where the op before
            leaves it set up.
        pieces: parts that share the setting up.
        unattended: minutes in which nobody need stand by.
        feeding: minutes of attended in which a tool feeds; None where they are not known.
        known: 'given' in the route, 'estimated' from cutting data, 'assumed' where there is nothing to estimate from.
        words: what the estimate is made of.
    """

    attended: float
    setting_up: float
    pieces: int
    unattended: float
    feeding: float | None
    known: Literal["given", "estimated", "assumed"]
    words: tuple[str, ...]

    @property
    def for_one_part(self) -> float:
        """Attended minutes for one part, with its share of setting up."""
        return self.attended + self.setting_up / self.pieces


@dataclass(frozen=True)
class Reminder:
    """What can hurt someone: a hazard, short reminders, and who says so."""

    hazard: str
    texts: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class OpCutting:
    """Cutting data for every cut of an op.

    Attributes:
        part: its name.
        number: of the op: 10, 20 …
        op: its name.
        machine: of the shop; None where none is named.
        machine_kind: its kind; the usual one for the op where none is named.
        setup: name of the clamping.
        material: of the part; None where none is stated.
        group: of materials that are cut alike; '' where there is none.
        condition: hardness as it is cut, and how that is known.
        cuts: in the order of the route.
        reminders: what can hurt someone.
        deferring: what stands above all reminders.
        minutes: of the op.
        notes: on op and material.
    """

    part: str
    number: int
    op: str
    machine: str | None
    machine_kind: str
    setup: str | None
    material: str | None
    group: str
    condition: str
    cuts: tuple[CutData, ...]
    reminders: tuple[Reminder, ...]
    deferring: str
    minutes: OpMinutes
    notes: tuple[str, ...]
