"""What the sheets of the shop say of a part: its traveller and its inspection sheet, as plain data."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite

from loopwright.errors import Cancelled, Problem, RequestError
from loopwright.handbook.cautions import caution
from loopwright.handbook.operations import OPERATIONS
from loopwright.making.chart_picture import ChartPicture
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_records import OpCutting
from loopwright.making.planned import number_of
from loopwright.making.stock_route import Finishing, finishing_cuts
from loopwright.model.blanks import Blank
from loopwright.model.build import Build, Units
from loopwright.model.dims import Dim
from loopwright.model.parts import Part
from loopwright.model.routes import Geometrical, Measure, Op
from loopwright.studies.addresses import addresses
from loopwright.studies.chart_sheet import chart_sheet
from loopwright.studies.route_sheet import CutLine, OpLine, RouteSheet, route_sheet
from loopwright.studies.stock_hardening import Hardening, hardening_of
from loopwright.units import Dimension

Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]


@dataclass(frozen=True)
class Code:
    """What is printed as a code, and beside it for the eye.

    Attributes:
        part: whose it is.
        text: what the code holds: the address of the part's page, else its name.
        words: its short address; '' where it has none.
    """

    part: str
    text: str
    words: str


@dataclass(frozen=True)
class Heading:
    """What stands at the head of a part's sheet.

    Attributes:
        build: name of the machine.
        units: in which its builder reads.
        parts: the part; several where a matched set is made by one sheet.
        codes: one for each.
        material, condition: of it; '' where nothing is said.
        blank: what it is cut from; None where nothing is said.
        marks: what is engraved or stamped on each; '' for nothing.
        note: anything its maker should know.
    """

    build: str
    units: Units
    parts: tuple[str, ...]
    codes: tuple[Code, ...]
    material: str
    condition: str
    blank: Blank | None
    marks: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class ToRead:
    """Something that is measured.

    Attributes:
        name: of the dim, the surface, or the tolerance.
        what: what it is, in words: 'left to right', 'diameter of bore'; '' where its name says it.
        kind: 'dim' as on the drawing, 'working' as this op has to leave it, 'geometry', 'hardness', or 'surface'
            where only a look or a note is asked for.
        dimension: of its numbers.
        diameter: it is one.
        nominal: size on the drawing, or middle of the working dim; None where there is no number.
        low, high: limits, mm or rad; infinite where there is none on that side; None where there are none at all.
        given: they were stated, and stay as they are.
        fit: ISO 286 class; ''.
        words: limits that are no range of sizes: '60 to 62 HRC'.
        gauge: to be used; '' where none is named.
        op: number of the op in which it is measured; 0 for none.
    """

    name: str
    what: str
    kind: str
    dimension: Dimension
    diameter: bool
    nominal: float | None
    low: float | None
    high: float | None
    given: bool
    fit: str
    words: str
    gauge: str
    op: int


@dataclass(frozen=True)
class Left:
    """Stock that an op leaves on a surface.

    Attributes:
        surface: its name.
        direction: of the chart that it is in.
        op: number of the op that takes it off; does: its name.
        diameter: the lengths are on the diameter.
        low, high: least and most that its working dims leave, mm.
        least: what has to be left so that it cleans up at that chance, mm; None where that is not known.
        chance: to clean up all over, as the shop asks for it.
        chance_low: with the least that is left.
    """

    surface: str
    direction: str
    op: int
    does: str
    diameter: bool
    low: float
    high: float
    least: float | None
    chance: float
    chance_low: float

    @property
    def too_little(self) -> bool:
        """The working dims leave less than cleans up."""
        return self.least is not None and self.low < self.least - 1e-6


@dataclass(frozen=True)
class Hazard:
    """What can hurt someone in an op.

    Attributes:
        name: of the hazard.
        texts: reminders; empty where an op before on the same sheet has them.
        before: number of that op; 0 where there is none.
    """

    name: str
    texts: tuple[str, ...]
    before: int


@dataclass(frozen=True)
class TravelOp:
    """An op on a traveller.

    Attributes:
        line: the op as its route has it.
        kind: kind of its machine; '' where none is known.
        round: surfaces of it that are round, so that a working dim that is no diameter is the place of an axis.
        leaves: what it leaves for the next op on each surface.
        reads: what is measured before the part leaves the machine.
        cutting: tools and cutting data; None for an op that cuts nothing.
        temperature: of the furnace or the bath as the route states it, degC; None where it does not.
        hardening: how the part is hardened, for its hardening and tempering ops; None for any other.
        hazards: what can hurt someone.
        minutes: attended, for one part; None where nobody knows.
        estimated: they were estimated.
        setting_up: minutes to set up.
    """

    line: OpLine
    kind: str
    round: frozenset[str]
    leaves: tuple[Left, ...]
    reads: tuple[ToRead, ...]
    cutting: OpCutting | None
    temperature: float | None
    hardening: Hardening | None
    hazards: tuple[Hazard, ...]
    minutes: float | None
    estimated: bool
    setting_up: float


@dataclass(frozen=True)
class Missed:
    """A dim of the drawing that the working dims do not hold in worst case.

    Attributes:
        name: of the dim, or of the surface and op that removes the stock.
        asked: least and most that is asked, mm.
        worst: least and most in worst case, mm.
        chance: that it is within what is asked.
    """

    name: str
    asked: tuple[float, float]
    worst: tuple[float, float]
    chance: float


@dataclass(frozen=True)
class Traveller:
    """What goes with a part, or with a matched set, through the shop.

    Attributes:
        heading: its head.
        ops: in order.
        charts: its tolerance charts, as far as they can be solved; names: of their directions.
        problems: what keeps the route from being charted.
        missed: what the charts do not hold.
        attended, unattended: minutes, those estimated counted too.
        unknown: ops of which nobody knows the minutes.
    """

    heading: Heading
    ops: tuple[TravelOp, ...]
    charts: tuple[tuple[str, ChartPicture], ...]
    problems: tuple[Problem, ...]
    missed: tuple[Missed, ...]
    attended: float
    unattended: float
    unknown: int


@dataclass(frozen=True)
class Inspection:
    """What is measured on a finished part.

    Attributes:
        heading: its head.
        reads: dims, geometrical tolerances and hardness.
    """

    heading: Heading
    reads: tuple[ToRead, ...]


def chosen_parts(build: Build, names: Sequence[str]) -> tuple[str, ...]:
    """The parts that are meant, in the order of the build file; all of them where none is named.

    Raises:
        RequestError: there is no such part.
    """
    for name in names:
        if name not in build.parts:
            known = ", ".join(list(build.parts)[:12])
            raise RequestError(f"there is no part '{name}'", f"there are: {known}")
    return tuple(name for name in build.parts if not names or name in names)


def travellers(
    build: Build,
    names: Sequence[str] = (),
    *,
    booked: bool = False,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> tuple[Traveller, ...]:
    """What goes with each part through the shop; one for a matched set whose parts are made alike.

    Args:
        build: the build, in the units in which its sheets are to be read.
        names: parts; none names all that have a route.
        booked: the build has a book, so that a code can open a part's page.
        progress: called with the parts done and how many there are.
        cancelled: asked now and then; True stops.

    Raises:
        RequestError: there is no such part.
        Cancelled: it was stopped.
    """
    asked = [name for name in chosen_parts(build, names) if build.parts[name].route]
    codes = codes_of(build, booked=booked)
    sheets, sets = {}, _sets(build, asked)
    for number, name in enumerate(asked):
        if cancelled is not None and cancelled():
            raise Cancelled(f"stopped after {number} of {len(asked)} parts")
        sheets[name] = route_sheet(build, name)
        if progress is not None:
            progress(number + 1, len(asked))
    groups: list[list[str]] = []
    for name in asked:
        home = next(
            (g for g in groups if sets[name] == sets[g[0]] and _alike(build, sheets, name, g[0])), None
        )
        if sets[name] and home is not None:
            home.append(name)
        else:
            groups.append([name])
    return tuple(_traveller(build, tuple(group), sheets[group[0]], codes) for group in groups)


def inspections(build: Build, names: Sequence[str] = (), *, booked: bool = False) -> tuple[Inspection, ...]:
    """What is measured on each finished part that has dims.

    Args:
        build: the build, in the units in which its sheets are to be read.
        names: parts; none names all that have dims.
        booked: the build has a book, so that a code can open a part's page.

    Raises:
        RequestError: there is no such part.
    """
    codes = codes_of(build, booked=booked)
    return tuple(
        Inspection(heading_of(build, (name,), codes), reads)
        for name in chosen_parts(build, names)
        if (reads := tuple(_everything(build, build.parts[name])))
    )


def codes_of(build: Build, *, booked: bool) -> dict[str, Code]:
    """The code of every part: the address of its page in the shop's network where there is one, else its name.

    >>> from loopwright.studies import example_loop
    >>> codes_of(example_loop("clock-plate").build, booked=False)["column"].text
    'column'
    """
    if not booked:
        return {name: Code(name, name, "") for name in build.parts}
    root = (build.shop.address or "").rstrip("/")
    known = {thing.name: thing.code for thing in addresses(build).things if thing.kind == "part"}
    return {
        name: Code(name, f"{root}/A/{known[name]}".upper() if root else name, known[name])
        for name in build.parts
    }


def heading_of(build: Build, names: tuple[str, ...], codes: dict[str, Code]) -> Heading:
    """Head of the sheet of a part, or of several that are made alike."""
    part = build.parts[names[0]]
    return Heading(
        build=build.name,
        units=build.units,
        parts=names,
        codes=tuple(codes[name] for name in names),
        material=part.material or "",
        condition=part.condition or "",
        blank=part.blank,
        marks=tuple(build.parts[name].mark or "" for name in names),
        note=part.note or "",
    )


def _sets(build: Build, names: Sequence[str]) -> dict[str, frozenset[str]]:
    """The matched sets in which each part is made."""
    return {
        name: frozenset(op.together for op in build.parts[name].route if op.together is not None)
        for name in names
    }


def _alike(build: Build, sheets: dict[str, RouteSheet], one: str, other: str) -> bool:
    """Whether one traveller does for both parts: the same material, blank, dims and ops, to a tenth of a µm."""
    a, b = build.parts[one], build.parts[other]
    same = all(
        getattr(a, field) == getattr(b, field)
        for field in ("material", "condition", "dims", "blank", "surfaces", "spans", "geometry", "note")
    )
    return same and _bare(sheets[one]) == _bare(sheets[other])


def _bare(sheet: RouteSheet) -> tuple[object, ...]:
    """A route without names of parts and with sizes to a tenth of a µm."""
    return tuple(
        replace(op, field="", set_with=(), cuts=tuple(_bare_cut(cut) for cut in op.cuts)) for op in sheet.ops
    )


def _bare_cut(cut: CutLine) -> CutLine:
    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 4)

    low, middle, high = (round(value, 4) for value in cut.stock or (0.0, 0.0, 0.0))
    return replace(
        cut, field="", share=round(cut.share, 2) if isfinite(cut.share) else cut.share,
        size=rounded(cut.size), half=rounded(cut.half), stock=None if cut.stock is None else (low, middle, high),
    )  # fmt: skip


def _traveller(build: Build, names: tuple[str, ...], sheet: RouteSheet, codes: dict[str, Code]) -> Traveller:
    charts = chart_sheet(build, names[0], freed=False).charts
    ops = tuple(_ops(build, names[0], sheet))
    minutes = [op.minutes for op in ops if op.minutes is not None]
    return Traveller(
        heading=heading_of(build, names, codes),
        ops=ops,
        charts=tuple((one.direction, one.picture) for one in charts if one.picture is not None),
        problems=sheet.problems,
        missed=tuple(
            Missed(one.name, one.asked, one.worst, one.chance)
            for chart in charts
            for one in (*chart.finished, *chart.stock)
            if not one.holds
        ),
        attended=sum(minutes) + sum(op.setting_up for op in ops),
        unattended=sum(op.line.unattended for op in ops),
        unknown=len(ops) - len(minutes),
    )


def _ops(build: Build, name: str, sheet: RouteSheet) -> Iterator[TravelOp]:
    part, told = build.parts[name], dict[str, int]()
    needed = {
        (number_of(one.follow.index), one.follow.name, one.follow.chart.radial): one
        for one in finishing_cuts(build, name, build.shop.clean_up)[0]
    }
    heat = hardening_of(build, name)
    for index, (op, line) in enumerate(zip(part.route, sheet.ops)):
        found = cutting_for(build, name, index, line)
        machine = build.shop.machines.get(op.machine or "")
        hazards = [one.hazard for one in found.reminders]
        yield TravelOp(
            line=line,
            kind=found.machine_kind if machine is None else machine.kind,
            round=frozenset(c.surface for c in line.cuts if part.surfaces[c.surface].round),
            leaves=tuple(_leaves(sheet.ops, index, needed)),
            reads=tuple(reads_of(build, name, index, line)),
            cutting=found if OPERATIONS[op.op].cuts and found.cuts else None,
            temperature=op.temperature,
            hardening=heat if heat is not None and line.number in (heat.op, *heat.tempers_in) else None,
            hazards=tuple(Hazard(h, () if h in told else caution(h).texts, told.get(h, 0)) for h in hazards),
            minutes=found.minutes.attended,
            estimated=found.minutes.known != "given",
            setting_up=found.minutes.setting_up,
        )
        told |= {hazard: line.number for hazard in hazards if hazard not in told}


def cutting_for(build: Build, name: str, index: int, line: OpLine) -> OpCutting:
    """Cutting data of an op, with the stock and the limits of its working dims.

    Args:
        build: the build.
        name: of the part.
        index: of the op in its route, from nought.
        line: the same op with its working dims.
    """
    stock = {cut.surface: cut.stock[1] for cut in line.cuts if cut.stock is not None and cut.stock[1] > 0}
    limits = {cut.surface: cut.half for cut in line.cuts if cut.half}
    return cutting_of(build, name, index, stock=stock, limits=limits)


def _leaves(
    ops: Sequence[OpLine], index: int, needed: Mapping[tuple[int, str, bool], Finishing]
) -> Iterator[Left]:
    """What the next op on each surface is left to take off."""
    for cut in ops[index].cuts:
        follows = ((op, c) for op in ops[index + 1 :] for c in op.cuts if _same_cut(c, cut))
        later, found = next(follows, (None, cut))
        if later is None or found.stock is None:
            continue
        need, (low, _, high) = needed.get((later.number, cut.surface, found.diameter)), found.stock
        yield Left(
            surface=cut.surface,
            direction=cut.direction,
            op=later.number,
            does=later.op,
            diameter=found.diameter,
            low=low,
            high=high,
            least=None if need is None else need.times * need.stock.least,
            chance=1.0 if need is None else need.stock.chance,
            chance_low=1.0 if need is None else need.stock.cleans_up(low / need.times),
        )


def _same_cut(one: CutLine, other: CutLine) -> bool:
    """Of the same surface in the same chart: a bore has a diameter in one, and a place in others."""
    return (one.surface, one.direction) == (other.surface, other.direction)


def reads_of(build: Build, name: str, index: int, line: OpLine) -> Iterator[ToRead]:
    """What is measured in an op before the part leaves the machine.

    Args:
        build: the build.
        name: of the part.
        index: of the op in its route, from nought.
        line: the same op with its working dims.
    """
    part, op = build.parts[name], build.parts[name].route[index]
    for asked in op.inspect:
        if asked in part.dims:
            ends = _ends(part.spans.get(asked))
            if ends and _cut_again(part, index, ends):
                working = [cut for cut in line.cuts if cut.surface in ends and cut.size is not None]
                yield from (_working(cut, line) for cut in working)
                if not working:
                    yield _looked_at(asked, op, line)
            else:
                yield _dim(build, part, asked, op.gauge or "", line.number)
        elif asked in part.geometry:
            yield _geometry(asked, part.geometry[asked], op.gauge or "", line.number)
        else:
            cuts = [cut for cut in line.cuts if cut.surface == asked and cut.size is not None]
            yield from (_working(cut, line) for cut in cuts)
            if not cuts:
                yield _looked_at(asked, op, line)
    if op.hardness is not None:
        yield _hardness(line)


def _everything(build: Build, part: Part) -> Iterator[ToRead]:
    """Everything on a finished part that can be measured, with the op and the gauge that its route has for it."""
    last = {what: (number, op) for number, op in enumerate(part.route) for what in op.inspect}
    for name in part.dims:
        number, op = last.get(name, (-1, None))
        yield _dim(build, part, name, op.gauge or "" if op is not None else "", number_of(number))
    for name, one in part.geometry.items():
        number, op = last.get(name, (-1, None))
        yield _geometry(name, one, op.gauge or "" if op is not None else "", number_of(number))
    tested = [(number_of(i), op.hardness) for i, op in enumerate(part.route) if op.hardness is not None]
    for number, hardness in tested[-1:]:
        words = f"{hardness.low:g} to {hardness.high:g} {hardness.scale}"
        yield ToRead(
            "hardness", "", "hardness", Dimension.RATIO, False, None, None, None, True, "", words, "", number
        )


def _ends(span: Measure | None) -> tuple[str, ...]:
    if span is None:
        return ()
    return span.between or ((span.across,) if span.across is not None else ())


def _cut_again(part: Part, index: int, surfaces: Sequence[str]) -> bool:
    """Whether what is measured now is not yet as it will be: cut again later, or still to go through the heat."""
    later = part.route[index + 1 :]
    return any(set(op.cuts) & set(surfaces) or op.op == "harden" or op.grows is not None for op in later)


def _dim(build: Build, part: Part, name: str, gauge: str, op: int) -> ToRead:
    dim, span = part.dims[name], part.spans.get(name)
    across = span is not None and span.across is not None
    what = "" if span is None else _span_words(span)
    low, high = _limits(build, dim)
    return ToRead(
        name, what, "dim", dim.dimension, across, dim.nominal, low, high, True, dim.fit or "", "", gauge, op
    )


def _span_words(span: Measure) -> str:
    if span.between is None:
        return f"diameter of {span.across}"
    return f"{span.between[0]} to {span.between[1]}"


def _limits(build: Build, dim: Dim) -> tuple[float | None, float | None]:
    spread = dim.spread
    if spread is None and dim.dimension is Dimension.LENGTH:
        spread = build.general_limits
    if spread is None or spread.lower == spread.upper:
        return None, None
    middle = dim.nominal + spread.value
    return middle + spread.lower, middle + spread.upper


def _geometry(name: str, one: Geometrical, gauge: str, op: int) -> ToRead:
    to = f" to {' and '.join(one.to)}" if one.to else ""
    return ToRead(
        name, f"{one.kind} of {one.of}{to}", "geometry", Dimension.LENGTH, False, None, -float("inf"),
        one.within, True, "", "", gauge, op,
    )  # fmt: skip


def _working(cut: CutLine, line: OpLine) -> ToRead:
    assert cut.size is not None
    half = cut.half or 0.0
    what = f"from {cut.measured_from}" if cut.measured_from else ""
    return ToRead(
        cut.surface, what, "working", Dimension.LENGTH, cut.diameter, cut.size, cut.size - half,
        cut.size + half, cut.given, "", "", line.gauge, line.number,
    )  # fmt: skip


def _looked_at(name: str, op: Op, line: OpLine) -> ToRead:
    return ToRead(
        name, "", "surface", Dimension.LENGTH, False, None, None, None, False, "", "", op.gauge or "",
        line.number,
    )  # fmt: skip


def _hardness(line: OpLine) -> ToRead:
    return ToRead(
        "hardness", "", "hardness", Dimension.RATIO, False, None, None, None, True, "", line.hardness,
        line.gauge, line.number,
    )  # fmt: skip
