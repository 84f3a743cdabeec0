"""The tolerance charts of a part: working dims, what they add up to, what binds, and what would free it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from loopwright.errors import Problem
from loopwright.making.chart_audit import Finding, audit
from loopwright.making.chart_changes import Change
from loopwright.making.chart_checks import problems
from loopwright.making.chart_costs import price
from loopwright.making.chart_freeing import freeing
from loopwright.making.chart_picture import ChartPicture, drawn
from loopwright.making.chart_solving import Resultant, Solution, chart
from loopwright.making.chart_words import lacking
from loopwright.making.heats import growth_of
from loopwright.making.planned import ROUND, Charted, plans_of
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.studies.route_sheet import field_of, routed

MOST_REMEDIES = 5


@dataclass(frozen=True)
class Working:
    """A working dim, as the shop reads it; on the diameter where it is one.

    Attributes:
        op: number of the op.
        does: name of the op.
        surface: that is cut.
        datum: from which it is measured; '' for an axis.
        size: middle of its limits, mm.
        half: half its tolerance, mm.
        capability: half the tolerance that the machine can be held to, mm; 0 where nobody knows.
        share: tolerance over capability; below 1 it cannot be held.
        given: the route states it.
        bound_by: what keeps its tolerance from being wider; '' for nothing.
        field: path in the build file.
    """

    op: int
    does: str
    surface: str
    datum: str
    size: float
    half: float
    capability: float
    share: float
    given: bool
    bound_by: str
    field: str


@dataclass(frozen=True)
class Chained:
    """What a dim of the drawing, or a stock removal, comes to.

    Attributes:
        name: of the dim, or the surface and op that removes the stock.
        words: surfaces that it runs over.
        asked: least and most that is asked, mm; infinite where nothing is.
        worst: least and most in worst case, mm.
        mean: expected, mm.
        std: standard deviation, mm.
        likely: range that holds it with the build's confidence, mm.
        chance: that it is within what is asked.
        chance_any: of a stock, that there is any at all.
        holds: the worst case is within what is asked.
        binds: nothing is left to give to its cuts.
    """

    name: str
    words: str
    asked: tuple[float, float]
    worst: tuple[float, float]
    mean: float
    std: float
    likely: tuple[float, float]
    chance: float
    chance_any: float
    holds: bool
    binds: bool


@dataclass(frozen=True)
class Freed:
    """A change that would free a chart: what, the minutes it costs, the share it brings, and whether that is enough."""

    what: str
    minutes: float
    share: float
    enough: bool


@dataclass(frozen=True)
class DirectionSheet:
    """One tolerance chart of a part.

    Attributes:
        direction: X, Y, Z, or 'round'.
        diameters: its sizes are diameters.
        problems: what keeps it from being solved, with fields of the build file; then the rest is empty.
        feasible: the cuts hold their tolerances, and these hold the drawing and the stock in worst case.
        share: least share of what a machine can be held to that a working dim is given.
        working: working dims in the order of work.
        finished: dims of the drawing.
        stock: stock removals.
        lacking: chains that cannot be held, in words.
        notes: what given sizes settle, and what heat does to all lengths.
        freed: single changes that would free it, the cheapest that is enough first.
        findings: what an audit of the given sizes found; None where none was asked for.
        picture: the chart as plain data; None where it is not solved.
    """

    direction: str
    diameters: bool
    problems: tuple[Problem, ...]
    feasible: bool
    share: float
    working: tuple[Working, ...]
    finished: tuple[Chained, ...]
    stock: tuple[Chained, ...]
    lacking: tuple[str, ...]
    notes: tuple[str, ...]
    freed: tuple[Freed, ...]
    findings: tuple[Finding, ...] | None
    picture: ChartPicture | None


@dataclass(frozen=True)
class ChartSheet:
    """The tolerance charts of a part.

    Attributes:
        build: name of the machine.
        part: name of the part.
        confidence: of the likely ranges.
        problems: what keeps the route from being charted at all.
        charts: one for each direction in which something is cut.
    """

    build: str
    part: str
    confidence: float
    problems: tuple[Problem, ...]
    charts: tuple[DirectionSheet, ...]

    @property
    def feasible(self) -> bool:
        """Every chart holds."""
        return not self.problems and all(one.feasible for one in self.charts)


def chart_sheet(build: Build, name: str, *, audited: bool = False, freed: bool = True) -> ChartSheet:
    """The tolerance charts of a part.

    Args:
        build: the build.
        name: of the part.
        audited: look for everything that is wrong with the sizes that the route gives.
        freed: look for changes that would free a chart that binds.

    Raises:
        RequestError: there is no such part, or it has no route.
    """
    routed(build, name)
    planned = plans_of(build, name)
    part = build.parts[name]
    charts = tuple(
        replace(
            found,
            notes=(*found.notes, *_grown(build, name, one)),
            freed=tuple(_freed(build, part, one))
            if freed and not found.feasible and not found.problems
            else (),
        )
        for one in planned.charts.values()
        for found in (_direction(name, one, audited=audited),)
    )
    return ChartSheet(build.name, name, build.confidence, planned.problems, charts)


def _grown(build: Build, name: str, one: Charted) -> Iterator[str]:
    """What heat does to the lengths of a chart, in words."""
    part = build.parts[name]
    for heat in one.plan.heats:
        found = growth_of(build, part, heat.after_op // 10 - 1)
        assert found is not None
        mean, low, high = (f"{100 * value:+.2f}" for value in found.spread[:3])
        after = f"{part.route[heat.after_op // 10 - 1].op}{', ' + found.tempered if found.tempered else ''}"
        yield f"op {heat.after_op} ({after}): all lengths {mean} % ({low} to {high} %); {found.spread.source}"
        if found.assumed:
            yield f"growth in op {heat.after_op}: {found.assumed}"


def _direction(name: str, one: Charted, *, audited: bool) -> DirectionSheet:
    wrong = tuple(
        Problem(field_of(one, found.field, name), found.what, found.remedy) for found in problems(one.plan)
    )
    findings = tuple(_findings(name, one)) if audited else None
    if wrong:
        return DirectionSheet(
            one.direction, one.direction == ROUND, wrong, False, 0.0, (), (), (), (), (), (), findings, None
        )
    found = chart(one.plan)
    return DirectionSheet(
        direction=one.direction,
        diameters=one.direction == ROUND,
        problems=(),
        feasible=found.feasible,
        share=found.share,
        working=tuple(_working(one, found)),
        finished=tuple(_chained(one, result) for result in found.finished),
        stock=tuple(_chained(one, result) for result in found.stock),
        lacking=tuple(lacking(one.plan, result) for result in found.lacking),
        notes=found.notes,
        freed=(),
        findings=findings,
        picture=drawn(one.plan, found),
    )


def _working(one: Charted, found: Solution) -> Iterator[Working]:
    for dim in found.working:
        cut = one.plan.cuts[dim.cut]
        if cut.makes not in one.plan.facings or cut.label == "seat":
            continue
        times = one.plan.shown(cut.datum, cut.makes, grows=cut.grows)
        yield Working(
            op=cut.op,
            does=cut.label,
            surface=cut.makes,
            datum="" if one.direction == ROUND else cut.datum or "",
            size=times * dim.size,
            half=times * dim.half,
            capability=times * dim.capability,
            share=dim.share,
            given=dim.given,
            bound_by=dim.bound_by,
            field=one.cuts[dim.cut],
        )


def _chained(one: Charted, found: Resultant) -> Chained:
    times = 2.0 if one.direction == ROUND else 1.0
    return Chained(
        name=found.name,
        words=found.words,
        asked=(times * found.asked_low, times * found.asked_high),
        worst=(times * found.low, times * found.high),
        mean=times * found.mean,
        std=times * found.std,
        likely=(times * found.likely_low, times * found.likely_high),
        chance=found.chance,
        chance_any=found.chance_any,
        holds=found.holds,
        binds=found.binds,
    )


def _freed(build: Build, part: Part, one: Charted) -> Iterator[Freed]:
    found = freeing(one.plan, cost=price(build, part, one.plan)).remedies
    for remedy in [each for each in found if _can_be_done(one, each.change)][:MOST_REMEDIES]:
        yield Freed(remedy.change.what, remedy.minutes, remedy.share, remedy.enough)


def _can_be_done(one: Charted, change: Change) -> bool:
    """Nobody writes a diameter from another surface, nor cuts a surface together with the seating of its own axis."""
    seats = any(one.plan.cuts[i].label == "seat" for i in change.cuts)
    return change.kind not in ("written", "one setup") or not (one.direction == ROUND or seats)


def _findings(name: str, one: Charted) -> Iterator[Finding]:
    found = audit(one.plan)
    for problem in found.problems:
        yield Finding("twice", field_of(one, problem.field, name), problem.what, problem.remedy)
    for finding in found.findings:
        if finding.kind == "unused" and not _stated(one, finding):
            continue
        yield replace(finding, field=field_of(one, finding.field, name))


def _stated(one: Charted, finding: Finding) -> bool:
    """The route states the size of the cut that a finding is about."""
    cut = one.plan.cuts[finding.path[0]]
    return cut.size is not None and cut.label != "seat"
