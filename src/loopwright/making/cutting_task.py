"""One cut of an op with everything that its data are worked out from."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from loopwright.errors import LoopwrightError, RequestError
from loopwright.handbook.cutting_force import SpecificForce
from loopwright.handbook.cutting_speeds import MaterialGroup
from loopwright.handbook.threads import thread as thread_of
from loopwright.handbook.threads_form import profile
from loopwright.making.cutting_charted import LastAsked, Removal
from loopwright.making.cutting_material import AsCut, material_at
from loopwright.making.cutting_records import ToolUsed
from loopwright.making.cutting_sizes import Sizes
from loopwright.making.cutting_tools import Feature, named_tool, tool_for
from loopwright.making.cutting_ways import BY_HAND, Way, usual_machine, way_of
from loopwright.making.cutting_words import CuttingWords
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Cut, Op, Surface
from loopwright.model.shop import Machine, Proven, Tool

BY_CHART = "by the tolerance chart"
"""From where a stock is known that the chart gives."""
NOTHING = 1e-6
"""A stock under this is none, mm."""
_CHARTED = LastAsked()


@dataclass(frozen=True)
class Task:
    """A cut to be given speeds and feeds.

    Attributes:
        build: the build.
        part: the part.
        op: the op.
        name: of the surface.
        surface: that is cut.
        cut: what the route says of it.
        field: its path in the build file.
        machine: of the shop; None where none is named.
        kind: of machine.
        stuff: the material as it is cut.
        way: how it is cut.
        tool: with what.
        wrong_tool: why the tool named does not do; '' where it does.
        diameter: of a round surface after the cut, or of what is faced on a lathe, mm.
        before: of a round surface before it, mm; nought in the solid.
        length: fed along, or depth of a hole, mm.
        whole: that length is assumed to be the part's.
        width: across the feed, mm.
        stock: to take off, on a face or on the diameter, mm; the most that the tolerance chart lets come.
        stock_from: where that is known from.
        charted: least, mean and most of it by the tolerance chart; None where that does not tell.
        limit: half the width between the limits, mm.
        limit_from: which dim.
        thread: cut now or later.
        proven: what the shop has proven for it.
        proven_not: why proven values that look alike are not taken; '' where there are none.
    """

    build: Build
    part: Part
    op: Op
    name: str
    surface: Surface
    cut: Cut
    field: str
    machine: Machine | None
    kind: str
    stuff: AsCut
    way: Way
    tool: ToolUsed
    wrong_tool: str
    diameter: float | None
    before: float | None
    length: float | None
    whole: bool
    width: float | None
    stock: float | None
    stock_from: str
    charted: Removal | None
    limit: float | None
    limit_from: str
    thread: str | None
    proven: Proven | None
    proven_not: str

    @cached_property
    def group(self) -> MaterialGroup:
        """Materials that are cut alike.

        Raises:
            RequestError: there is none.
        """
        if self.stuff.group is None:
            what, _, remedy = self.stuff.refusal.partition("; ")
            raise RequestError(what, remedy or "give your own proven values")
        return self.stuff.group

    @property
    def law(self) -> SpecificForce:
        """Specific cutting force."""
        return self.group.specific_force

    @property
    def inside(self) -> bool:
        """It is a hole."""
        return self.surface.faces == "inside"

    @property
    def by_hand(self) -> bool:
        """The machine is fed or set by hand."""
        return self.kind in BY_HAND

    @property
    def allowed(self) -> float | None:
        """What bending may do to the dim: a quarter of its limit, mm."""
        return None if self.limit is None else self.limit / 4

    @property
    def tool_words(self) -> str:
        """The tool, in words."""
        return f"'{self.tool.name}'" if self.tool.name else f"a {self.tool.kind}"

    def thread_text(self) -> str:
        """Designation of the thread that is cut.

        Raises:
            RequestError: none is stated.
        """
        text = self.cut.thread or self.thread
        if text is None:
            raise RequestError(
                f"the thread of '{self.name}' is not known", "write thread: M8x1-6H beside the cut"
            )
        return text

    def needed(self, value: float | None, what: str, remedy: str) -> float:
        """A size that the data cannot do without.

        Raises:
            RequestError: it is not known.
        """
        if value is None or value <= 0:
            raise RequestError(f"{what} of '{self.name}' is not known", remedy)
        return value


def tasks_of(
    build: Build,
    name: str,
    route: Sequence[Op],
    index: int,
    stock: Mapping[str, float],
    limits: Mapping[str, float],
) -> Iterator[Task]:
    """Every cut of an op.

    Args:
        build: the build.
        name: of the part.
        route: its ops.
        index: of the op, from nought.
        stock: to take off a surface, mm, on a face or on the diameter; others as the route lets one expect.
        limits: half the width between the limits of a surface's dim, mm; others as the part has them.
    """
    part, op = build.parts[name], route[index]
    sizes, stuff = Sizes(build, part, route), material_at(part, route, index)
    machine = build.shop.machines.get(op.machine or "")
    kind = machine.kind if machine is not None else usual_machine(op.op)
    words = CuttingWords(build.units)
    by_chart = _CHARTED.of(build, name, route)
    for surface, cut in op.cuts.items():
        if cut.adds is not None:
            continue
        one = part.surfaces[surface]
        named = named_tool(build.shop.tools, op, cut)
        way = way_of(op.op, kind, one, None if named is None else named[1].kind, wall=_is_wall(part, op, one))
        length, whole = sizes.length(surface, cut)
        diameter, before = _diameters(sizes, way, surface, index)
        text = sizes.thread(surface, index)
        feature = Feature(one.faces == "inside", diameter, length, diameter, _minor(text))
        tool, wrong = _tool(named, cut, way, feature, stuff, words)
        proven, not_taken = proven_for(build, op, stuff, tool)
        field = f"parts/{name}/route/{index}/cuts/{surface}"
        charted = None if surface in stock else by_chart.get(field)
        if charted is not None and charted.mean < NOTHING:
            charted = None
        taken = sizes.stock(surface, index, stock, words)
        if charted is not None:
            taken = charted.most, BY_CHART
        yield Task(
            build, part, op, surface, one, cut, field,
            machine, kind, stuff, way, tool, wrong, diameter, before, length, whole, sizes.width(surface),
            *taken, charted, *sizes.limit(surface, index, limits), text,
            proven, not_taken,
        )  # fmt: skip


def _is_wall(part: Part, op: Op, surface: Surface) -> bool:
    """A flat surface that looks another way than what the part stands on, the first of its datums."""
    stands = part.surfaces.get(op.datum[0]) if op.datum else None
    return bool(stands is not None and stands.along and surface.along and stands.along != surface.along)


def _diameters(sizes: Sizes, way: Way, surface: str, index: int) -> tuple[float | None, float | None]:
    if not sizes.part.surfaces[surface].round:
        lathe = way.name in ("facing on the lathe", "parting off")
        return (sizes.across(surface) if lathe else None), None
    before = sizes.before(surface, index)
    text = sizes.thread(surface, index)
    if way.name in ("tapping", "thread milling", "thread turning") and text is not None:
        return _nominal(text), before
    return sizes.diameter(surface, index), before


def _tool(
    named: tuple[str, Tool] | None, cut: Cut, way: Way, feature: Feature, stuff: AsCut, words: CuttingWords
) -> tuple[ToolUsed, str]:
    """The tool, and why the one that is named does not do."""

    def found(one: tuple[str, Tool] | None, of_cut: bool) -> ToolUsed:
        return tool_for(one, of_cut=of_cut, way=way, feature=feature, group=stuff.group, words=words)

    try:
        return found(named, cut.tool is not None), ""
    except RequestError as error:
        return found(None, False), str(error)


def _nominal(text: str) -> float | None:
    try:
        return thread_of(text).diameter_mm
    except LoopwrightError:
        return None


def _minor(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return profile(thread_of(text)).minor
    except LoopwrightError:
        return None


def proven_for(build: Build, op: Op, stuff: AsCut, tool: ToolUsed) -> tuple[Proven | None, str]:
    """What the shop has proven for an op in a material: the entry that names most, of two alike the later one.

    Values proven in soft material say nothing of the same material hardened, unless their note says that they do.

    Args:
        build: the build.
        op: the op.
        stuff: the material as it is cut.
        tool: with what.

    Returns:
        The entry or None, and why one that looks alike is not taken.
    """
    fitting, refused = [], ""
    for number, one in enumerate(build.shop.proven):
        alike = one.op == op.op and _same(one.material, stuff.material)
        if not alike or one.tool not in (None, tool.name) or one.machine not in (None, op.machine):
            continue
        if stuff.hard and not any(w in (one.note or "").casefold() for w in ("hard", "hrc")):
            refused = (
                f"the shop's proven values for {stuff.material} are not taken: it is hardened here, and their note "
                "does not say that they were proven in hardened material"
            )
            continue
        fitting.append(((one.tool is not None) + (one.machine is not None), number, one))
    return (max(fitting)[2] if fitting else None), ("" if fitting else refused)


def _same(one: str, other: str) -> bool:
    def plain(name: str) -> list[str]:
        return sorted(name.casefold().replace("-", " ").split())

    return plain(one) == plain(other)
