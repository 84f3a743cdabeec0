"""How a part is made: its ops in order, with working dims, stock and minutes."""

from collections.abc import Iterator
from dataclasses import dataclass

from loopwright.errors import Problem, RequestError
from loopwright.handbook.cautions import cautions_of_material
from loopwright.handbook.operations import operation
from loopwright.making.chart_checks import problems as chart_problems
from loopwright.making.chart_solving import Resultant, Solution, WorkingDim
from loopwright.making.made_dims import Made, made
from loopwright.making.planned import ROUND, Charted, number_of
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Op


@dataclass(frozen=True)
class CutLine:
    """One cut of an op, as it stands on a sheet; on the diameter for a round surface.

    Attributes:
        surface: that is cut.
        diameter: it is round, so its sizes are diameters.
        direction: of its chart: X, Y, Z or 'round'.
        measured_from: surface from which its working dim is read; '' for an axis, or for the first of all.
        size: middle of the working dim, mm; None where it is the first reference, or its chart has a mistake.
        half: half the tolerance of the working dim, mm.
        share: that tolerance over what the machine can be held to; below 1 it cannot. Infinite where nobody knows.
        given: the route states the size.
        stock: least, expected and most stock that it takes off, mm; None where the surface is new.
        least: that it has to take off, mm.
        tool: named for it; '' for none.
        thread: that is cut; '' for none.
        field: path in the build file.
    """

    surface: str
    diameter: bool
    direction: str
    measured_from: str
    size: float | None
    half: float | None
    share: float
    given: bool
    stock: tuple[float, float, float] | None
    least: float
    tool: str
    thread: str
    field: str


@dataclass(frozen=True)
class OpLine:
    """One op of a route.

    Attributes:
        number: 10, 20, 30 …
        op: its name.
        machine, setup, together, held, gauge, note: as the route has them; '' for none.
        as_one: the parts of its matched set are clamped as one.
        set_with: other parts of its matched set.
        datum: surfaces on which it stands.
        cuts: what it cuts.
        hardness: what the test must show, in words; ''.
        minutes: attended minutes as the route states them; None where it does not.
        setting_up: minutes to set up.
        unattended: minutes in which nobody need stand by.
        inspect: what is measured before it leaves the machine.
        cautions: names of hazards.
        alternatives: other ways that the shop would accept.
        field: path in the build file.
    """

    number: int
    op: str
    machine: str
    setup: str
    together: str
    as_one: bool
    set_with: tuple[str, ...]
    datum: tuple[str, ...]
    held: str
    cuts: tuple[CutLine, ...]
    hardness: str
    minutes: float | None
    setting_up: float
    unattended: float
    inspect: tuple[str, ...]
    gauge: str
    cautions: tuple[str, ...]
    alternatives: tuple[str, ...]
    note: str
    field: str


@dataclass(frozen=True)
class RouteSheet:
    """How a part is made.

    Attributes:
        build: name of the machine.
        part: name of the part.
        material, condition, blank, mark, note: as the build file has them, in words; '' for none.
        ops: in order.
        problems: what keeps it from being charted.
        passed_over: dims whose deviation still comes from their limits alone, and why.
        attended, unattended: minutes that the route states, added up.
        unstated: ops for which it states none.
    """

    build: str
    part: str
    material: str
    condition: str
    blank: str
    mark: str
    note: str
    ops: tuple[OpLine, ...]
    problems: tuple[Problem, ...]
    passed_over: tuple[tuple[str, str], ...]
    attended: float
    unattended: float
    unstated: int


def routed(build: Build, name: str) -> Part:
    """A part that has a route.

    Raises:
        RequestError: there is no such part, or it has none.
    """
    if name not in build.parts:
        known = [part for part, one in build.parts.items() if one.route] or list(build.parts)
        raise RequestError(f"there is no part '{name}'", "there are: " + ", ".join(known[:12]))
    part = build.parts[name]
    if not part.route:
        raise RequestError(
            f"'{name}' is bought" if part.bought else f"'{name}' has no route",
            "a bought part has none" if part.bought else f"write its ops under parts/{name}/route",
        )
    return part


def route_sheet(build: Build, name: str) -> RouteSheet:
    """How a part is made.

    Args:
        build: the build.
        name: of the part.

    Raises:
        RequestError: there is no such part, or it has no route.
    """
    part, found = routed(build, name), made(build, parts=[name])
    ops = tuple(_op(build, name, part, index, op, found) for index, op in enumerate(part.route))
    stated = [op.minutes for op in ops if op.minutes is not None]
    return RouteSheet(
        build=build.name,
        part=name,
        material=part.material or "",
        condition=part.condition or "",
        blank=blank_words(part),
        mark=part.mark or "",
        note=part.note or "",
        ops=ops,
        problems=tuple(route_problems(found, name)),
        passed_over=tuple((dim, why) for dim, why in found.passed_over.items()),
        attended=sum(stated) + sum(op.setting_up for op in ops),
        unattended=sum(op.unattended for op in ops),
        unstated=len(ops) - len(stated),
    )


def route_problems(found: Made, name: str) -> Iterator[Problem]:
    """What keeps a part's route from being charted, with fields of the build file."""
    planned = found.planned[name]
    yield from planned.problems
    for one in planned.charts.values():
        for problem in chart_problems(one.plan):
            yield Problem(field_of(one, problem.field, name), problem.what, problem.remedy)


def field_of(one: Charted, field: str, part: str) -> str:
    """Where the build file states what a chart calls 'cuts/3' or 'finished/0'."""
    kind, _, number = field.partition("/")
    number, _, rest = number.partition("/")
    if kind == "cuts" and number.isdigit() and int(number) < len(one.cuts):
        return one.cuts[int(number)] + (f"/{rest}" if rest else "")
    if kind == "finished" and number.isdigit() and int(number) < len(one.dims):
        return f"parts/{part}/spans/{one.dims[int(number)]}"
    return f"parts/{part}/route"


def blank_words(part: Part) -> str:
    """What a part is cut from, in words."""
    if part.blank is None:
        return ""
    return " ".join(
        [part.blank.section.form.value, " x ".join(f"{s:g}" for s in part.blank.section.sizes)]
    ).strip()


def _op(build: Build, name: str, part: Part, index: int, op: Op, found: Made) -> OpLine:
    known = operation(op.op)
    machine = build.shop.machines.get(op.machine or "")
    default = machine.setting_up if machine is not None and (known.cuts or known.heats) else 0.0
    first = index == 0 or op.setup is None or part.route[index - 1].setup != op.setup
    hazards = (
        *known.cautions,
        *(cautions_of_material(part.material) if part.material and known.cuts else ()),
    )
    return OpLine(
        number=number_of(index),
        op=op.op,
        machine=op.machine or "",
        setup=op.setup or "",
        together=op.together or "",
        as_one=op.as_one,
        set_with=tuple(_matched(build, name, op)),
        datum=tuple(op.datum),
        held=op.held or "",
        cuts=tuple(_cuts(name, part, index, op, found)),
        hardness=""
        if op.hardness is None
        else f"{op.hardness.low:g} to {op.hardness.high:g} {op.hardness.scale}",
        minutes=op.minutes,
        setting_up=op.setting_up if op.setting_up is not None else default if first else 0.0,
        unattended=op.unattended,
        inspect=tuple(op.inspect),
        gauge=op.gauge or "",
        cautions=tuple(dict.fromkeys(hazards)),
        alternatives=tuple(op.alternatives),
        note=op.note or "",
        field=f"parts/{name}/route/{index}",
    )


def _matched(build: Build, name: str, op: Op) -> Iterator[str]:
    if op.together is None:
        return
    for other, part in build.parts.items():
        if other != name and any(one.together == op.together and one.op == op.op for one in part.route):
            yield other


def _cuts(name: str, part: Part, index: int, op: Op, found: Made) -> Iterator[CutLine]:
    for surface, step in op.cuts.items():
        field = f"parts/{name}/route/{index}/cuts/{surface}"
        plain = (step.tool or op.tool or "", step.thread or "", field)
        placed = False
        for direction, one in found.planned[name].charts.items():
            solution = found.charted.get((name, direction))
            for place in (i for i, path in enumerate(one.cuts) if path == field):
                placed = True
                yield _line(surface, part, direction, one, place, solution, plain)
        if not placed:
            yield CutLine(
                surface, part.surfaces[surface].round, "", "", None, None, float("inf"), False, None,
                step.least or 0.0, *plain,
            )  # fmt: skip


def _line(
    surface: str, part: Part, direction: str, one: Charted, place: int, solution: Solution | None,
    plain: tuple[str, str, str],
) -> CutLine:  # fmt: skip
    times = 2.0 if direction == ROUND else 1.0
    cut = one.plan.cuts[place]
    working: WorkingDim | None = None
    stock: Resultant | None = None
    if solution is not None:
        working = next((dim for dim in solution.working if dim.cut == place), None)
        stock = next((found for found in solution.stock if found.index == place), None)
    datum = "" if cut.datum is None or direction == ROUND else cut.datum
    return CutLine(
        surface=surface,
        diameter=direction == ROUND,
        direction=direction,
        measured_from=datum,
        size=None if working is None else times * working.size,
        half=None if working is None else times * working.half,
        share=float("inf") if working is None else working.share,
        given=working is not None and working.given,
        stock=None if stock is None else (times * stock.low, times * stock.mean, times * stock.high),
        least=times * cut.least,
        tool=plain[0],
        thread=plain[1],
        field=plain[2],
    )
