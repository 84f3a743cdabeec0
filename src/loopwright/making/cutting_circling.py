"""Cutting data for cutters that go round in a hole: helical entry, circular milling, thread milling."""

from dataclasses import replace
from math import ceil, pi, radians
from typing import Final

from loopwright.errors import OutOfRange
from loopwright.handbook.chip_thickness import side_engagement
from loopwright.handbook.cutting_force import end_mill_force, milling_power, spindle_torque
from loopwright.handbook.cutting_geometry import (
    RAMP_ANGLES,
    centre_feed_inside,
    feed_speed,
    helical_entry,
    helical_holes,
)
from loopwright.handbook.thread_milling import (
    LARGEST_CUTTER,
    PASSES,
    entry_rise,
    passes_for_deflection,
    thread_path,
)
from loopwright.handbook.threads import designation, limits
from loopwright.handbook.threads_form import Thread, ThreadLimits, infeed_passes, profile
from loopwright.making.cutting_choice import check_chip, feed_for, share_of, speed_for, spindle
from loopwright.making.cutting_depths import Bend, check_bend, check_rough, mill_bend, usual_depths
from loopwright.making.cutting_milling import (
    HELIX,
    RA_OF_RT,
    Bite,
    Found,
    Mill,
    Milled,
    axial_of,
    layers_of,
    wall_marks,
)
from loopwright.making.cutting_records import Pass
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import Told

_RAMPS: Final = {"N": 0, "O": 0, "P": 1, "K": 1, "M": 2, "S": 2, "H": 3}
"""Which row of the ramp angles holds for a letter of ISO 513."""
LEAD_IN: Final = 1.25
"""Way of a turn with its arcs in and out, over the turn. Common practice."""
HOLDS_THREAD: Final = 1.5
"""Length of a thread that nobody states, over its diameter. Common practice."""


def circling(task: Task, told: Told) -> Found:
    """A hole opened on a helix, where there is none, and milled round to its size.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: the cutter does not go in, or a size or a row is missing.
    """
    hole = task.needed(task.diameter, "the diameter", "give the dim across it, or its size")
    deep = task.needed(task.length, "the depth", "write length, or give the surface its size")
    mill = Mill(task, told, "mill")
    if mill.diameter >= hole:
        raise OutOfRange(
            f"a cutter of {told.words.length(mill.diameter)} does not go into a hole of {told.words.length(hole)}; "
            f"take one under {told.words.length(hole / 1.1)}"
        )
    _, finish = usual_depths(task)
    before = task.before
    if before is None:
        stock = task.needed(task.stock, "the stock", "give the stock, or the hole that is there")
        before = max(hole - stock, 0.0)
    passes: list[Pass] = []
    if before <= mill.diameter:
        before = _opened(task, told, mill, hole, deep, finish, passes)
    if before < hole - 1e-9:
        passes += _rings(task, told, mill, hole, deep, before)
    return passes, mill.chosen


def _opened(
    task: Task, told: Told, mill: Mill, hole: float, deep: float, finish: float, passes: list[Pass]
) -> float:
    """A helix into the solid; the diameter that it opens."""
    words = told.words
    wanted = hole if task.op.op in ("drill", "rough out") else hole - 2 * finish
    able = helical_holes(mill.diameter, corner_radius=task.tool.nose_radius)
    opened = min(wanted, able.largest)
    if opened <= mill.diameter * 1.02:
        raise OutOfRange(
            f"a hole of {words.length(wanted)} is too narrow for a helix of a cutter of "
            f"{words.length(mill.diameter)}; drill first, or take a cutter under {words.length(wanted / 1.1)}"
        )
    if opened < able.advised_smallest:
        told.notes.append(
            f"little room for chips: a helix of {words.length(able.advised_smallest)} or more is advised"
        )
    if opened < wanted:
        told.notes.append(f"the helix opens {words.length(opened)} at most; the rest is milled round")
    low, high = list(RAMP_ANGLES.values())[_RAMPS[task.group.iso]]
    angle = radians(low + share_of(task)[0] * (high - low))
    first = helical_entry(opened, mill.diameter, deep, ramp_angle=angle, feed_speed_mm_min=1.0)
    bite = Bite(mill.diameter, min(first.pitch, deep), side_engagement(mill.diameter, mill.diameter))
    one = mill.slowed(mill.mill("rough", bite, told), bite, told)
    path = helical_entry(opened, mill.diameter, deep, ramp_angle=angle, feed_speed_mm_min=one.feed_speed)
    told.length("helix opens", opened)
    told.length("helix: circle of the centre, diameter", path.orbit)
    told.length("helix: down each turn", path.pitch)
    told.angle("helix: ramp angle", path.ramp_angle)
    told.feed_speed("helix: feed of the centre", path.centre_feed)
    told.assumed.append(
        "the cutter cuts to its centre; ramp angle by common practice, the tool's own limit comes first"
    )
    check_chip(task, told, one.chip)
    bend = mill_bend(task, mill.forces(one.feed, bite).lateral_peak, bite.axial)
    passes.append(_passed("rough", ceil(path.turns), one, bite, bite.axial, bend, None, path.minutes))
    return opened


def _rings(task: Task, told: Told, mill: Mill, hole: float, deep: float, before: float) -> list[Pass]:
    """Turns round the wall of a hole."""
    axial, levels = axial_of(task, told, mill.diameter, deep)

    def bite(depth: float) -> Bite:
        # inside, the wall bends round the cutter, which meets more of it than the depth
        inner = max(hole - 2 * depth, 0.0)
        width = min((hole**2 - inner**2) / (4 * (hole - mill.diameter)), mill.diameter)
        return Bite(width, axial, side_engagement(width, mill.diameter))

    def bend(kind: str, depth: float) -> Bend | None:
        return mill.bend_of_wall("rough" if kind == "rough" else "finish", bite(depth))

    rest = replace(task, stock=(hole - before) / 2)
    finishing = task.op.op not in ("drill", "rough out")
    found = layers_of(rest, told, mill, bite, bend, finishing=finishing)
    passes = []
    for layer in found:
        chewed = bite(layer.depth)
        one = mill.slowed(mill.mill(layer.kind, chewed, told), chewed, told)
        check_chip(task, told, one.chip)
        time = LEAD_IN * pi * hole / one.feed_speed * layer.count * levels
        bent = mill.bend_of_wall(layer.kind, chewed, one.feed)
        passes.append(
            _passed(
                layer.kind,
                layer.count,
                one,
                chewed,
                layer.depth,
                bent,
                wall_marks(mill, layer.kind, one.feed),
                time,
            )
        )
    if found[0].kind == "rough":
        check_rough(task, told, bend("rough", found[0].depth))
    if found[-1].kind == "finish":
        check_bend(task, told, bend("finish", found[-1].depth))
    told.length("path of the centre, radius", (hole - mill.diameter) / 2)
    told.feed_speed(
        "feed of the centre", centre_feed_inside(passes[-1].feed_speed or 0.0, hole, mill.diameter)
    )
    told.notes.append(
        "a control that feeds the centre has to be given the feed of the centre, not that of the wall"
    )
    return passes


def _passed(
    kind: str,
    count: int,
    one: Milled,
    bite: Bite,
    depth: float,
    bend: Bend | None,
    rt: float | None,
    time: float,
) -> Pass:
    return Pass(
        "finish" if kind == "finish" else "rough", count, one.spin.speed, one.spin.rpm, one.feed, "tooth",
        one.feed_speed, depth, bite.axial, one.chip, bite.arc.angle, one.force, one.power,
        spindle_torque(one.power, one.spin.rpm), None, None if bend is None else bend.deflection,
        None if bend is None else bend.effect, rt, None if rt is None else RA_OF_RT * rt, time,
    )  # fmt: skip


def thread_milling(task: Task, told: Told) -> Found:
    """A thread cut by a thread mill on a helix.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: no thread is stated, or the cutter does not go in.
    """
    words = told.words
    said, bounds = _thread(task.thread_text(), task)
    cutter = task.needed(task.tool.diameter, "the diameter of the cutter", "write diameter beside the tool")
    speed = speed_for(task, told)
    spin = spindle(task, told, speed, cutter)
    feed = feed_for(task, told, per="tooth", diameter=cutter)
    wall = feed_speed(spin.rpm, feed.value, task.tool.edges)
    aim = sum(bounds.pitch_diameter) / 2
    path = thread_path(aim, said.pitch_mm, cutter, wall, internal=task.inside)
    if task.inside and cutter > LARGEST_CUTTER[1] * said.diameter_mm:
        told.warn("tool", f"a cutter of {words.length(cutter)} in {said.name} cuts the flanks wide; take one up to "
                  f"{words.length(LARGEST_CUTTER[0] * said.diameter_mm)}")  # fmt: skip
    told.say(
        f"pitch diameter, {bounds.tolerance_class}",
        " to ".join(words.size(round(v, 4)) for v in bounds.pitch_diameter),
    )
    told.length("aimed at, pitch diameter", aim)
    told.length("path of the centre, radius", path.radius)
    told.feed_speed("feed of the centre", path.centre_feed)
    told.length("lead", path.lead)
    told.length("rise during half a turn of entry", entry_rise(path.lead))
    told.notes += [
        path.advice,
        "gauge the first thread, and move the radius by half of what the pitch diameter is off",
    ]
    long, count, deep, bend = _thread_passes(task, told, said, bounds, feed.value)
    turns = ceil(long / said.pitch_mm) if task.tool.edges == 1 else 1
    chip = feed.value * (deep[-1] - (deep[-2] if len(deep) > 1 else 0.0)) ** 0.5 / cutter**0.5
    check_chip(task, told, max(chip, 1e-6))
    way = 2 * pi * path.radius * (turns + 1)
    power = milling_power(long / 2, deep[0], wall, task.law.at(max(chip, 1e-3)))
    one = Pass(
        "only", count, spin.speed, spin.rpm, feed.value, "tooth", wall, deep[0], long, max(chip, 1e-6),
        power=power, torque=spindle_torque(power, spin.rpm), force=60 * power / spin.speed,
        deflection=None if bend is None else bend.deflection, effect=None if bend is None else bend.effect,
        minutes=way * count / path.centre_feed,
    )  # fmt: skip
    return [one], [speed, feed]


def _thread(text: str, task: Task) -> tuple[Thread, ThreadLimits]:
    said = designation(text)
    which = said.classes[0] if len(said.classes) == 1 else "internal" if task.inside else "external"
    return said.thread, limits(said.thread, which)


def _thread_passes(
    task: Task, told: Told, said: Thread, bounds: ThreadLimits, feed: float
) -> tuple[float, int, tuple[float, ...], Bend | None]:
    """Length in the cut, passes so that the last bends the cutter little, depth reached by each, bend of the last."""
    words = told.words
    long = task.length
    if long is None or task.whole:
        long = min(HOLDS_THREAD * said.diameter_mm, long or float("inf"))
        told.assumed.append(f"a thread {words.length(long)} long (write length)")
    cutter = task.tool.diameter or 0.0
    shape = profile(said)
    depth = (shape.major - (shape.minor if task.inside else shape.screw_minor)) / 2
    low, high = bounds.pitch_diameter
    most = (high - low) / 4
    # teeth all along the thread; a groove is half as large as the strip that it is cut from
    force = end_mill_force(
        task.law, diameter=cutter, teeth=task.tool.edges, width=min(depth, cutter), depth=long / 2,
        feed_per_tooth=feed, helix=HELIX,
    )  # fmt: skip
    whole = mill_bend(task, max(abs(v) for v in force.away), long, what="the thread mill")
    count = 1
    if whole is not None:
        try:
            count = passes_for_deflection(2 * whole.deflection, most)
        except OutOfRange as error:
            count = 20
            told.warn("bends", str(error))
    told.say("passes by bending", f"{count}, so that the last bends the pitch diameter no more than "
             f"{words.small(most)}, a quarter of its tolerance")  # fmt: skip
    printed = PASSES.get(said.pitch_mm) if task.inside else None
    if printed is not None:
        told.say("in-feed of each pass, printed", ", ".join(words.feed(v) for v in printed))
    told.assumed.append("teeth along the whole thread, at the feed of the tooth; a single row bends far less")
    deep = infeed_passes(depth, count)
    told.say("in-feed reached by each pass", ", ".join(words.feed(v) for v in deep))
    last = None if whole is None else Bend(whole.deflection / count, 2 * whole.deflection / count, whole.what)
    return long, count, deep, last
