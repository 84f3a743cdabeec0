"""Speed and feed: all that the handbook has, what of it is taken, what is proven, what machine and edge allow.

Sources differ by factors of two and more. What is taken lies between the median of their least and the median of
their greatest values: in the middle on a stiff machine, a quarter up where a hand feeds, at the low end where the tool
is slender or the part held softly (common practice). A speed is only ever a place to start from.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from types import MappingProxyType
from typing import Final, Literal

from loopwright.errors import LoopwrightError, OutOfRange
from loopwright.handbook.chip_thickness import chip_verdict, least_chip
from loopwright.handbook.cutting_force import WORN_TOOL
from loopwright.handbook.cutting_geometry import cutting_speed
from loopwright.handbook.cutting_geometry import rpm as rpm_of
from loopwright.handbook.cutting_speeds import FeedRange, SpeedRange, feed_ranges, speed_ranges
from loopwright.making.cutting_records import Known, Range
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import MM_S, Told

ROLES: Final = ("rough", "finish", "slot", "side", "light")
"""Kinds of cut that a source may mean; whatever else it says is about the material."""
SLENDER: Final = 4.0
"""Reach over diameter from which a tool is slender. Common practice."""
MUCH_SLOWER: Final = 0.8
"""A speed under this share of the least usual one is warned of. Common practice."""
FED_AT: Final = MappingProxyType({"manual mill": 400.0, "CNC mill": 3000.0})
"""Fastest feed of a table while it cuts, mm/min: by hand or a small power feed, and of a small machine. Common
practice."""
SOFTLY: Final = ("magnet", "bonded", "free")


class NotRun(LoopwrightError):
    """A tool must not be run as the machine would run it."""


@dataclass(frozen=True)
class Chosen:
    """A speed in m/min or a feed in mm, the usual range it lies in, and how it is known."""

    value: float
    low: float
    high: float
    known: Known


@dataclass(frozen=True)
class Spindle:
    """Turns a minute, and the cutting speed that they give, m/min."""

    rpm: float
    speed: float


def share_of(task: Task) -> tuple[float, str]:
    """How far up its usual range a value is taken, and why."""
    tool = task.tool
    if tool.stick_out and tool.diameter and tool.kind in ("end mill", "boring bar", "thread mill"):
        ratio = tool.stick_out / tool.diameter
        if ratio > SLENDER:
            return 0.0, f"the low end of the range is taken: the tool reaches out {ratio:.2g} diameters"
    if task.op.held in SOFTLY and "grind" not in task.op.op:
        return 0.0, f"the low end of the range is taken: the part is held {_HELD[task.op.held or '']}"
    if task.by_hand:
        return 0.25, f"a quarter up the range is taken: a {task.kind} is less stiff, and a hand feeds it"
    return 0.5, "the middle of the range is taken"


_HELD: Final = {"magnet": "by a magnet", "bonded": "by glue", "free": "by nothing"}


def speed_for(
    task: Task,
    told: Told,
    *,
    roles: Sequence[str] = (),
    operation: str = "",
    factor: tuple[float, float] = (1.0, 1.0),
    why: str = "",
    rule: bool = True,
) -> Chosen:
    """Cutting speed for a cut, before the machine is asked.

    Args:
        task: the cut.
        told: what it has to tell.
        roles: kinds of cut that it is, of :data:`ROLES`.
        operation: of the handbook; that of the way when left out.
        factor: on low and high end, where this way is slower than its operation.
        why: what that factor is.
        rule: it is a rule of the trade, not read in print.

    Raises:
        OutOfRange: nothing is known, and nothing proven.
    """
    operation = operation or task.way.operation
    proven = None if task.proven is None else task.proven.speed
    try:
        rows = speed_ranges(task.group, operation, task.tool.material)
    except OutOfRange:
        if proven is None:
            raise
        rows = ()
    counted = _counted(rows, roles, task.stuff.condition)
    ruled = bool(why) and rule
    scaled = [
        r._replace(
            low=r.low * factor[0],
            high=r.high * factor[1],
            source=f"{why}; {r.source}" if why else r.source,
            by_rule=r.by_rule or ruled,
        )
        for r in rows
    ]
    told.ranged([
        Range("speed", r.low, r.high, "", r.cut, r.source, r.by_rule, c) for r, c in zip(scaled, counted)
    ])  # fmt: skip
    kept = [r for r, c in zip(scaled, counted) if c]
    usual = _usual(task, told, kept)
    if proven is None:
        assert usual is not None, "speed_ranges gives a row or raises"
        return usual
    value = proven / MM_S
    return _proven(told, _of(roles, "speed"), value, usual, told.words.speed, task)


def feed_for(
    task: Task,
    told: Told,
    *,
    per: Literal["rev", "tooth"],
    diameter: float | None = None,
    roles: Sequence[str] = (),
    operation: str = "",
    factor: float = 1.0,
) -> Chosen:
    """Feed for a cut, mm for each turn or tooth, before chip, finish and power are looked at.

    Args:
        task: the cut.
        told: what it has to tell.
        per: what it is wanted for.
        diameter: of a tool that turns, mm.
        roles: kinds of cut that it is.
        operation: of the handbook; that of the way when left out.
        factor: on it, where a deep hole asks for less.

    Raises:
        OutOfRange: nothing is known, and nothing proven.
    """
    operation = operation or task.way.operation
    proven = None if task.proven is None else task.proven.feed
    try:
        rows = feed_ranges(task.group, operation, task.tool.material, diameter)
    except OutOfRange:
        if proven is None:
            raise
        rows = ()
    rows = tuple(_per(row, per, task.tool.edges) for row in rows)
    counted = _counted(rows, roles, task.stuff.condition)
    told.ranged([
        Range("feed", r.low, r.high, r.per, r.cut, r.source, r.by_rule, c) for r, c in zip(rows, counted)
    ])  # fmt: skip
    usual = _usual(task, told, [r for r, c in zip(rows, counted) if c], factor)
    if proven is None:
        assert usual is not None, "feed_ranges gives a row or raises"
        return usual
    return _proven(told, _of(roles, "feed"), proven, usual, told.words.feed, task)


def _proven(
    told: Told, what: str, value: float, usual: Chosen | None, shown: Callable[[float], str], task: Task
) -> Chosen:
    instead = "the handbook has nothing for it"
    if usual is not None:
        low, high = shown(usual.low), shown(usual.high)
        instead = f"instead of {shown(usual.value)} from the handbook's {low if low == high else f'{low} to {high}'}"
    note = f" ({task.proven.note})" if task.proven is not None and task.proven.note else ""
    told.proven.append(f"{what} {shown(value)} is proven by the shop{note}, {instead}")
    ends = (value, value) if usual is None else (usual.low, usual.high)
    return Chosen(value, *ends, "proven")


def _of(roles: Sequence[str], what: str) -> str:
    """Name of a value: 'feed of the finishing pass'."""
    named = {"rough": "roughing", "finish": "finishing"}
    return next((f"{what} of the {named[role]} pass" for role in roles if role in named), what)


def _per(row: FeedRange, per: Literal["rev", "tooth"], edges: int) -> FeedRange:
    """A feed for each turn as one for each tooth, or the other way round."""
    if row.per == per:
        return row
    factor = edges if per == "rev" else 1 / edges
    return row._replace(low=row.low * factor, high=row.high * factor, per=per)


def _counted(
    rows: Sequence[SpeedRange] | Sequence[FeedRange], roles: Sequence[str], condition: str
) -> list[bool]:
    """Which rows speak of this kind of cut and this condition of the material; all of them where none does."""

    def suits(cut: str) -> bool:
        if cut in ROLES:
            return cut in roles
        if cut == "cold drawn":
            return "cold" in condition.casefold()
        return "HB" not in cut  # a hardness of its own

    cuts = [row.cut for row in rows]
    found = [suits(cut) for cut in cuts]
    if any(cut in roles for cut in cuts):
        found = [ok and (cut in roles or cut == "") for cut, ok in zip(cuts, found)]
    return found if any(found) else [True] * len(cuts)


def _usual(
    task: Task, told: Told, rows: Sequence[SpeedRange] | Sequence[FeedRange], factor: float = 1.0
) -> Chosen | None:
    if not rows:
        return None
    low, high = (median(v) * factor for v in ([r.low for r in rows], [r.high for r in rows]))
    share, why = share_of(task)
    told.notes.append(why)
    known: Known = "rule of the trade" if all(r.by_rule for r in rows) else "handbook"
    return Chosen(low + share * (high - low), low, high, known)


def spindle(task: Task, told: Told, speed: Chosen, diameter: float) -> Spindle:
    """Turns a minute for a cutting speed, within what machine and tool can turn.

    Args:
        task: the cut.
        told: what it has to tell.
        speed: wanted, m/min.
        diameter: of the tool, or of the work on a lathe, mm.
    """
    words, wanted = told.words, rpm_of(speed.value, diameter)
    slowest, fastest = speeds_of(task)
    rated = float("inf") if task.tool.speed_limit is None else task.tool.speed_limit
    if fastest == float("inf"):
        told.notes.append("the speeds of the machine are not stated, so nothing is limited by them")
    if slowest > rated:
        raise NotRun(
            f"the machine turns no slower than {words.rpm(slowest, exact=True)}, and {words.rpm(rated, exact=True)} is "
            f"marked on {task.tool_words}: it can burst; mount a tool that is rated for it"
        )
    if wanted > rated and rated < fastest:
        told.limits.append(f"speed limited by the tool: {words.rpm(rated, exact=True)} is marked on it")
        return Spindle(rated, cutting_speed(rated, diameter))
    if wanted > fastest:
        limit = words.rpm(fastest, exact=True)
        told.limits.append(f"speed limited by the machine: {limit} is its fastest")
        found = Spindle(fastest, cutting_speed(fastest, diameter))
        if found.speed < MUCH_SLOWER * speed.low or speed.known == "proven":
            told.warn("speed", f"the speed wanted is above the machine's: at {limit}, its fastest, the edge moves at "
                      f"{words.speed(found.speed)}, and {_range_words(told, speed)}")  # fmt: skip
        return found
    if wanted < slowest:
        limit = words.rpm(slowest, exact=True)
        told.limits.append(f"speed limited by the machine: {limit} is its slowest")
        found = Spindle(slowest, cutting_speed(slowest, diameter))
        if found.speed > speed.high * 1.001 or speed.known == "proven":
            told.warn("speed", f"the speed wanted is below the machine's: at {limit}, its slowest, the edge moves at "
                      f"{words.speed(found.speed)}, and {_range_words(told, speed)}: it will not last")  # fmt: skip
        return found
    return Spindle(wanted, speed.value)


def speeds_of(task: Task) -> tuple[float, float]:
    """Slowest and fastest speed of the spindle, rpm; nought and infinity where they are not stated."""
    stated = None if task.machine is None else task.machine.speeds
    return (0.0, float("inf")) if stated is None else stated


def _range_words(told: Told, speed: Chosen) -> str:
    words = told.words
    if speed.known == "proven":
        return f"{words.speed(speed.value)} is proven"
    low, high = words.speed(speed.low), words.speed(speed.high)
    return f"{low if low == high else f'{low} to {high}'} is usual"


def power_at_hand(task: Task) -> float | None:
    """Power that a sharp tool may take, W, so that a worn one still turns; None where it is not stated."""
    if task.machine is None or task.machine.power is None:
        return None
    return task.machine.power / WORN_TOOL[0]


def slowed_by_power(task: Task, told: Told, spin: Spindle, power: float, diameter: float) -> Spindle:
    """The spindle slowed until a cut of a depth that is given fits into the power."""
    most = power_at_hand(task)
    if most is None or power <= most * 1.002:
        return spin
    slower = max(spin.rpm * most / power, speeds_of(task)[0])
    told.limits.append(f"speed limited by power: {_has(task, told)}, a worn tool counted")
    if power * slower / spin.rpm > most * 1.05:
        told.warn(
            "power", f"the cut needs more power than there is: {_has(task, told)}; take less depth or feed"
        )
    return Spindle(slower, cutting_speed(slower, diameter))


def eased(
    task: Task,
    told: Told,
    spin: Spindle,
    feed: float,
    *,
    slow: float,
    fine: float,
    thin: float,
    diameter: float,
    power: Callable[[Spindle, float], float],
    turned: bool = False,
) -> tuple[Spindle, float]:
    """Speed and feed lowered, down to the low ends of their ranges, to what a table is fed at and to the power.

    A roughing pass that is still too much for the power gets less depth afterwards; a small machine takes the wider
    chip at the lower speed, not the thin one at the higher.

    Args:
        task: the cut.
        told: what it has to tell.
        spin: wanted.
        feed: wanted, mm a tooth, or a turn where there are none.
        slow: least cutting speed to go down to, m/min.
        fine: least feed of its range, mm.
        thin: least feed that still cuts well, mm: a table that is fed slowly goes down to it.
        diameter: at which the speed counts, mm.
        power: at a speed and a feed, W.
        turned: the feed is for each turn, however many edges there are.
    """
    slowest = min(spin.rpm, max(rpm_of(slow, diameter), speeds_of(task)[0]))
    teeth, cap = 1 if turned else task.tool.edges, FED_AT.get(task.kind)
    if cap is not None and spin.rpm * teeth * feed > cap * 1.001:
        feed = max(cap / (spin.rpm * teeth), min(fine, feed))
        turns = max(min(spin.rpm, cap / (teeth * feed)), slowest)
        spin = Spindle(turns, cutting_speed(turns, diameter))
        feed = max(min(feed, cap / (spin.rpm * teeth)), min(thin, feed))
        told.limits.append(
            f"feed speed limited by the table: {told.words.feed_speed(spin.rpm * teeth * feed)}, about as fast as a "
            f"{task.kind} is fed (common practice)"
        )
    most = power_at_hand(task)
    if most is None or power(spin, feed) <= most:
        return spin, feed
    turns = max(slowest, spin.rpm * most / power(spin, feed))
    if turns < spin.rpm:
        spin = Spindle(turns, cutting_speed(turns, diameter))
        told.limits.append(f"speed limited by power: {_has(task, told)}, a worn tool counted")
    if power(spin, feed) > most * 1.001 and fine < feed:
        # force grows slower than the feed, by Kienzle's exponent
        feed = max(fine, feed * (most / power(spin, feed)) ** (1 / (1 - task.law.mc)))
        told.limits.append(f"feed limited by power: {_has(task, told)}, a worn tool counted")
    return spin, feed


def depth_by_power(task: Task, depth: float, power: float) -> float:
    """The depth that fits into the power, which grows with it."""
    most = power_at_hand(task)
    return depth if most is None or power <= most * 1.002 else depth * most / power


def tell_depth(task: Task, told: Told, wanted: float, had: float, rough: bool) -> None:
    """Says that the power limits the depth of roughing, where there is a roughing pass."""
    if rough and had < wanted:
        told.limits.append(
            f"depth limited by power: {told.words.feed(had)} instead of {told.words.feed(wanted)}; "
            f"{_has(task, told)}, a worn tool counted"
        )


def _has(task: Task, told: Told) -> str:
    most = power_at_hand(task) or 0.0
    return f"the spindle has {told.words.power(WORN_TOOL[0] * most)}"


def check_chip(task: Task, told: Told, chip: float, what: str = "the chip") -> None:
    """Warns of a chip so thin that the edge rubs."""
    verdict = chip_verdict(chip, task.tool.edge_radius)
    if verdict == "cuts":
        return
    rubs, cuts = least_chip(task.tool.edge_radius)
    words = told.words
    edge = f"an edge of {words.small(task.tool.edge_radius)} radius"
    if verdict == "rubs":
        told.warn("rubs", f"rubbing: {what} is {words.small(chip)} thick, and {edge} does not cut under "
                  f"{words.small(rubs)}; feed more, or take a sharper edge")  # fmt: skip
    else:
        told.notes.append(
            f"{what} is {words.small(chip)} thick: {edge} surely cuts only above {words.small(cuts)}; keep it sharp"
        )


def thin_feed(task: Task, per_feed: float) -> float:
    """Least feed whose chip is still twice as thick as what surely cuts; ``per_feed`` is chip over feed."""
    return 2 * least_chip(task.tool.edge_radius)[1] / per_feed


def raised_to_cut(task: Task, told: Told, feed: Chosen, per_feed: float) -> float:
    """A feed raised so that the edge surely cuts, where its range allows that; a proven one stays.

    Args:
        task: the cut.
        told: what it has to tell.
        feed: chosen.
        per_feed: thickness of the chip over the feed.
    """
    _, cuts = least_chip(task.tool.edge_radius)
    needed = 1.001 * cuts / per_feed
    if feed.known == "proven" or feed.value >= needed or needed > feed.high:
        return feed.value
    told.limits.append(
        f"feed raised to {told.words.feed(needed)}: the chip of a smaller one is too thin to be cut by an edge of "
        f"{told.words.small(task.tool.edge_radius)} radius"
    )
    return needed


def depth_given(task: Task, told: Told) -> float | None:
    """Depth of one pass that route or shop state, mm; the route's own first."""
    if task.cut.depth is not None:
        told.notes.append(f"depth of one pass {told.words.feed(task.cut.depth)}: given in the route")
        return task.cut.depth
    if task.proven is not None and task.proven.depth is not None:
        told.proven.append(f"depth {told.words.feed(task.proven.depth)} of one pass is proven by the shop")
        return task.proven.depth
    return None


def least_known(*found: Chosen) -> Known:
    """How a cut is known whose values are known in several ways: the shop's word counts only when all is proven."""
    order: tuple[Known, ...] = ("proven", "handbook", "rule of the trade", "assumed", "no data")
    return max((one.known for one in found), key=order.index)
