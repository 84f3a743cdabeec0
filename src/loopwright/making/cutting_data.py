"""Cutting data for the ops of a route: speed, feed, passes, power, bending, minutes, and what limits each.

Everything is a place to start from. Values are ranges of the handbook with their sources until the shop has proven
its own, which win. Where there is nothing for a material, a tool and a way of cutting, no number is made up.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from loopwright.errors import LoopwrightError, OutOfRange, RequestError
from loopwright.handbook.cautions import CAUTIONS, DEFERS, cautions_of_material
from loopwright.handbook.cutting_geometry import sawing_minutes
from loopwright.handbook.cutting_speeds import sawing_rate
from loopwright.handbook.drilling import CAUTION
from loopwright.handbook.operations import operation
from loopwright.handbook.tapping import WARNING
from loopwright.making.cutting_choice import Chosen, NotRun, least_known, speed_for
from loopwright.making.cutting_circling import circling, thread_milling
from loopwright.making.cutting_grinding import grinding
from loopwright.making.cutting_holes import chamfering, drilling, reamed, tapping
from loopwright.making.cutting_material import AsCut, material_at
from loopwright.making.cutting_milling import flat_milling, side_milling
from loopwright.making.cutting_minutes import op_minutes
from loopwright.making.cutting_records import CutData, Known, OpCutting, OpMinutes, Pass, Reminder
from loopwright.making.cutting_task import Task, tasks_of
from loopwright.making.cutting_turning import parting, thread_turning, turning
from loopwright.making.cutting_ways import usual_machine
from loopwright.making.cutting_words import CuttingWords, Told
from loopwright.making.planned import number_of
from loopwright.model.blanks import Form
from loopwright.model.build import Build
from loopwright.model.routes import Op

_ANY_LENGTH: Final = ("facing on the lathe", "parting off", "sawing", "chamfering", "lapping", "by hand")
_HOLES: Final = ("drilling", "reaming", "tapping", "thread milling")
SMALL_SAW: Final = (0.1, 0.25)
"""What a small saw cuts over a production saw: of a bench, of a workshop. Common practice."""

Found = tuple[list[Pass], list[Chosen]]


def cutting_of(
    build: Build,
    name: str,
    index: int,
    *,
    route: Sequence[Op] | None = None,
    stock: Mapping[str, float] = MappingProxyType({}),
    limits: Mapping[str, float] = MappingProxyType({}),
) -> OpCutting:
    """Cutting data for every cut of an op.

    Args:
        build: the build.
        name: of the part.
        index: of the op in its route, from nought.
        route: ops that take the place of the part's own, as in an alternative.
        stock: what comes off a surface, mm, on a face or on the diameter; of others it follows from the route.
        limits: half the width between the limits of what is made, mm, by surface; of others from the part's dims.

    Returns:
        The data; where there is none for a cut, its passes are empty and a warning says why and what would do.
    """
    route = build.parts[name].route if route is None else route
    op, part = route[index], build.parts[name]
    stuff, machine = material_at(part, route, index), build.shop.machines.get(op.machine or "")
    kind = machine.kind if machine is not None else usual_machine(op.op)
    words = CuttingWords(build.units)
    cuts = tuple(_cut(task, Told(words)) for task in tasks_of(build, name, route, index, stock, limits))
    return OpCutting(
        name, number_of(index), op.op, op.machine, kind, op.setup, part.material,
        stuff.group.name if stuff.group is not None else "", stuff.words, cuts, reminders_of(op, kind, stuff),
        DEFERS, op_minutes(build, route, index, kind, cuts), tuple(_notes(op, stuff, kind, cuts)),
    )  # fmt: skip


def minutes_of(build: Build, name: str, index: int, *, route: Sequence[Op] | None = None) -> OpMinutes:
    """Attended minutes of an op: those that the route states, else estimated from its cutting data.

    Args:
        build: the build.
        name: of the part.
        index: of the op in its route, from nought.
        route: ops that take the place of the part's own, as in an alternative.
    """
    ops = build.parts[name].route if route is None else route
    op = ops[index]
    if op.minutes is None:
        return cutting_of(build, name, index, route=ops).minutes
    machine = build.shop.machines.get(op.machine or "")
    return op_minutes(build, ops, index, usual_machine(op.op) if machine is None else machine.kind, None)


def _notes(op: Op, stuff: AsCut, kind: str, cuts: Sequence[CutData]) -> list[str]:
    found = []
    if op.machine is None and operation(op.op).cuts and kind != "bench":
        found.append(
            f"no machine is named: a {kind} is assumed, and nothing is limited by its speeds or power"
        )
    if stuff.group is not None and op.cuts:
        found.append(f"{stuff.group.name}: {stuff.group.note}")
    ways = {cut.way for cut in cuts}
    found += [text for way, text in (("drilling", CAUTION), ("tapping", WARNING)) if way in ways]
    if op.as_one:
        found.append(f"cut as one with the others of '{op.together}'; minutes are of one part's cut")
    return found


def reminders_of(op: Op, kind: str, stuff: AsCut) -> tuple[Reminder, ...]:
    """What can hurt someone in an op on a kind of machine with a material."""
    hazards = [*operation(op.op).cautions]
    if operation(op.op).cuts:
        hazards += cautions_of_material(stuff.material)
    if op.op == "saw" and kind != "abrasive saw":
        hazards.remove("grinding wheel")
    if kind == "bench" and "rotating work" in hazards and op.op != "balance":
        hazards.remove("rotating work")
    return tuple(Reminder(c.hazard, c.texts, c.source) for c in (CAUTIONS[h] for h in dict.fromkeys(hazards)))


def _cut(task: Task, told: Told) -> CutData:
    """Data of one cut; a refusal of the handbook becomes a warning."""
    passes: list[Pass] = []
    known: Known = "no data"
    work = _WAYS.get(task.way.name)
    told.assumed += task.tool.assumed
    if task.proven_not:
        told.notes.append(task.proven_not)
    if task.whole and task.length is not None and task.way.name not in _ANY_LENGTH:
        told.assumed.append(f"{told.words.length(task.length)} long, as the whole part is (write length)")
    if task.stock_from.startswith("assumed"):
        told.assumed.append(f"stock {task.stock_from.removeprefix('assumed: ')}")
    if task.way.name in _HOLES:
        told.notes.append("minutes are of one hole")
        if task.inside and task.before == 0 and task.way.name != "drilling":
            told.warn("tool", f"nothing makes the hole '{task.name}' before this op; drill it first")
    if task.wrong_tool:
        told.warn("tool", task.wrong_tool)
    elif work is None:
        known = "by hand"
    else:
        try:
            passes, chosen = work(task, told)
            known = least_known(*chosen) if chosen else "assumed"
            _check_stock(task, told, passes, work)
        except NotRun as error:
            told.warn("wheel", f"do not run it: {error}")
        except LoopwrightError as error:
            told.warn("no data", f"no data: {error}")
    return _data(task, told, passes, known)


def _check_stock(task: Task, told: Told, passes: list[Pass], work: Callable[[Task, Told], Found]) -> None:
    """Passes take off the most that the chart lets come; how many do for the least, and whether there is any."""
    if task.charted is None:
        return
    least, most = task.charted.least, task.charted.most
    words, many = told.words, _count(passes)
    if least <= 0:
        told.warn("stock", f"by the tolerance chart the stock may be gone, by {words.feed(-least)} in worst case: "
                  "leave more before this op")  # fmt: skip
        return
    if not many or least > most * (1 - 1e-6):
        return
    few = _count(work(replace(task, stock=least), Told(words))[0])
    do = f"{few} of the {many} passes do" if few < many else f"as many passes, {many}, are counted"
    told.notes.append(
        f"passes and minutes are for the most stock, {words.feed(most)}; with the least, {words.feed(least)}, {do}"
    )


def _count(passes: Sequence[Pass]) -> int:
    return sum(one.count for one in passes if one.kind != "spark out")


def _data(task: Task, told: Told, passes: list[Pass], known: Known) -> CutData:
    times = [one.minutes for one in passes]
    minutes = None if not passes or any(t is None for t in times) else sum(t or 0.0 for t in times)
    if known == "by hand":
        minutes = 0.0

    def once(found: list[str]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(found))

    charted = task.charted
    return CutData(
        task.name, task.field, task.way.name, task.tool, task.diameter, task.length,
        task.stock if charted is None else charted.mean, None if charted is None else charted.least,
        None if charted is None else charted.most, task.stock_from,
        task.limit, task.limit_from, tuple(passes), tuple(told.ranges), tuple(told.details),
        once(told.limits), tuple(dict.fromkeys(told.warnings)), once(told.assumed), once(told.proven),
        once(told.notes), known, minutes,
    )  # fmt: skip


def _sawing(task: Task, told: Told) -> Found:
    """A cut of a saw: speed of the band, and minutes by the section."""
    speed = speed_for(task, told)
    told.notes.append("speed of the band or blade; small sections want at least three teeth in the cut")
    minutes: float | None = None
    area = _section(task)
    try:
        rate = sawing_rate(task.group)
        share = 0.5 if _two_ends(task) else 1.0
        if area is not None:
            minutes = share * sawing_minutes(area, sum(SMALL_SAW) / 2 * rate.middle)
        low, high = (f"{part * v:.2g}" for part, v in zip(SMALL_SAW, rate[:2]))
        told.say("section sawn in a minute", f"{low} to {high} cm²: a tenth to a quarter of a production saw's "
                 f"({rate.source})")  # fmt: skip
        if share < 1:
            told.notes.append("one cut parts the piece from the bar; half of it is counted at each end")
    except OutOfRange as error:
        told.notes.append(str(error))
    return [Pass("only", 1, speed.value, minutes=minutes)], [speed]


def _section(task: Task) -> float | None:
    blank = task.part.blank
    if blank is None:
        return None
    if blank.section.is_bar:
        return blank.section.area
    if blank.section.form is Form.PLATE and task.width is not None:
        return blank.section.sizes[0] * max(task.width, task.length or 0.0)
    return None


def _two_ends(task: Task) -> bool:
    surfaces = task.part.surfaces
    return sum(surfaces[name].along == task.surface.along for name in task.op.cuts) > 1


def _lapping(task: Task, told: Told) -> Found:
    raise RequestError(
        "how fast a lap cuts depends on grit, load and plate, and no figure was found in print",
        "give the op its minutes, timed on one piece",
    )


_WAYS: Final[Mapping[str, Callable[[Task, Told], Found]]] = MappingProxyType(
    {
        "sawing": _sawing,
        "face milling": flat_milling,
        "milling out": flat_milling,
        "side milling": side_milling,
        "circular milling": circling,
        "drilling": drilling,
        "reaming": reamed,
        "boring": turning,
        "tapping": tapping,
        "thread milling": thread_milling,
        "thread turning": thread_turning,
        "turning": turning,
        "facing on the lathe": turning,
        "parting off": parting,
        "chamfering": chamfering,
        "surface grinding": grinding,
        "cylindrical grinding": grinding,
        "lapping": _lapping,
    }
)
