"""Cutting data on the lathe: turning, facing, boring, parting off, single-point threads; boring on a mill too."""

from math import acos, ceil, cos, sin

from loopwright.errors import LoopwrightError, OutOfRange
from loopwright.handbook.boring import overhang_verdict
from loopwright.handbook.chip_thickness import least_chip
from loopwright.handbook.cutting_force import cutting_power, in_plane_forces, spindle_torque, turning_force
from loopwright.handbook.cutting_geometry import cutting_speed, feed_speed, minutes
from loopwright.handbook.process_capability import roughness_for
from loopwright.handbook.roughness import feed_for_roughness, height, mean_roughness
from loopwright.handbook.stock_allowances import finish_boring
from loopwright.handbook.threads import designation, limits
from loopwright.handbook.threads_form import Thread, infeed, infeed_passes
from loopwright.making.cutting_choice import (
    Chosen,
    Spindle,
    check_chip,
    depth_by_power,
    depth_given,
    eased,
    feed_for,
    power_at_hand,
    raised_to_cut,
    slowed_by_power,
    speed_for,
    speeds_of,
    spindle,
    tell_depth,
)
from loopwright.making.cutting_depths import (
    Bend,
    Layer,
    bar_bend,
    check_bend,
    check_rough,
    layers,
    stiff_enough,
    usual_depths,
    work_bend,
)
from loopwright.making.cutting_records import Pass
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import Told

APPROACH = 2.0
"""Way before and after a cut, mm together. Common practice."""
PARTING = ((0.5, 0.7), (0.03, 0.10), 3.0)
"""Speed over that of turning, feed mm a turn, width of the blade mm. Common practice."""
THREADING = (1 / 3, 1 / 2)
"""Speed over that of turning, when the edge has to be stopped at a shoulder. Common practice."""
HAND_THREAD = 300.0
"""Speed of a slide that a hand still stops in time, mm/min. Common practice."""
FIRST_PASS = 0.25
"""Deepest first pass of a thread tool, mm on the radius; the others take the same area. Common practice."""

Found = tuple[list[Pass], list[Chosen]]


def turning(task: Task, told: Told) -> Found:
    """Turning, facing on the lathe, or boring.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: a size or a row is missing.
    """
    diameter = task.needed(task.diameter, "the diameter", "give the dim across it, or its size")
    outer = diameter
    if task.way.name == "turning" and task.stock is not None:
        outer = diameter + task.stock
    stock = _deep(task, told)
    rough, finish = usual_depths(task)
    fixed = depth_given(task, told)
    made = _Turned(task, told, outer, diameter)
    able = made.affordable(rough) if fixed is None else rough
    finishing = task.op.op != "rough out"
    found = layers(stock, able, finish, fixed=fixed, finishing=finishing)
    tell_depth(task, told, rough, able, found[0].kind == "rough")
    found = stiff_enough(task, told, found, made.bend, fixed=fixed is not None)
    if task.way.name == "boring":
        _bar(task, told)
    passes = [made.passes(layer) for layer in found]
    if found[0].kind == "rough":
        check_rough(task, told, made.bend("rough", found[0].depth))
    if found[-1].kind == "finish":
        check_bend(task, told, made.bend("finish", found[-1].depth))
    return passes, made.chosen


def _deep(task: Task, told: Told) -> float:
    """Stock in the direction of depth: on a round surface half of that on the diameter."""
    if task.stock is None:
        told.warn("stock", f"what comes off '{task.name}' is not known: one pass is counted; give the stock")
        return usual_depths(task)[1]
    if task.way.name == "boring" and task.before == 0 and task.diameter is not None:
        usual = 2 * finish_boring(task.diameter).high
        told.warn("tool", f"nothing was drilled for '{task.name}', and a boring bar does not cut into the solid: drill "
                  f"first; {told.words.length(usual)} on the diameter is counted here")  # fmt: skip
        return usual / 2
    return task.stock / 2 if task.surface.round else task.stock


class _Turned:
    """Passes of one turned surface."""

    def __init__(self, task: Task, told: Told, outer: float, diameter: float) -> None:
        self.task, self.told, self.outer, self.diameter = task, told, outer, diameter
        self.chosen: list[Chosen] = []
        # what is tried on the way is not told
        self._quiet = Told(told.words)

    def fed(self, kind: str, depth: float, told: Told) -> tuple[Spindle, float]:
        """Speed and feed of a pass: so large a feed that the edge cuts, so small that the finish can be measured."""
        task = self.task
        feed = feed_for(task, told, per="rev", roles=(kind,))
        speed = speed_for(task, told, roles=(kind,))
        self.chosen += [feed, speed]
        value = raised_to_cut(task, told, feed, chip_over_feed(task, depth))
        if kind == "finish":
            value = self._for_finish(value, feed, depth, told)
        spin = spindle(task, told, speed, self.outer)
        return eased(
            task, told, spin, value, diameter=self.outer,
            slow=spin.speed if speed.known == "proven" else speed.low,
            fine=value if feed.known == "proven" else min(value, feed.low), thin=value,
            turned=True,
            power=lambda turning, fed: cutting_power(self._force(fed, depth), turning.speed),
        )  # fmt: skip

    def _for_finish(self, value: float, feed: Chosen, depth: float, told: Told) -> float:
        task, nose = self.task, self.task.tool.nose_radius
        if feed.known == "proven" or task.limit is None or nose <= 0:
            return value
        ra = roughness_for(2 * task.limit)
        try:
            # what is really left is about twice as rough as geometry says
            most = feed_for_roughness(ra.high / 1000 / 2, nose)
        except OutOfRange:
            return value
        _, cuts = least_chip(task.tool.edge_radius)
        least = max(most, min(value, 1.01 * cuts / chip_over_feed(task, depth)))
        if value <= least:
            return value
        told.limits.append(
            f"feed of the finishing pass limited by the finish: {told.words.feed(least)}, so that feed marks do not "
            f"hide a limit of {told.words.limit(task.limit)} ({ra.source})"
        )
        return least

    def _force(self, feed: float, depth: float) -> float:
        """Tangential force of a sharp tool, N."""
        return turning_force(self.task.law, feed, depth, edge_angle=self.task.tool.edge_angle)

    def affordable(self, depth: float) -> float:
        """Roughing depth that the power allows."""
        spin, feed = self.fed("rough", depth, self._quiet)
        power = cutting_power(self._force(feed, depth), spin.speed)
        return depth_by_power(self.task, depth, power)

    def bend(self, kind: str, depth: float) -> Bend | None:
        """How far bar or work bends at a depth."""
        task, tool = self.task, self.task.tool
        if task.way.name == "facing on the lathe":
            return None
        force = self._force(self.fed(kind, depth, self._quiet)[1], depth)
        forces = in_plane_forces(force, depth, nose_radius=tool.nose_radius, edge_angle=tool.edge_angle)
        return (bar_bend if task.way.name == "boring" else work_bend)(task, forces.radial[1])

    def passes(self, layer: Layer) -> Pass:
        """One kind of pass, worked out."""
        task, told, kind = self.task, self.told, layer.kind
        spin, feed = self.fed(kind, layer.depth, told)
        force = self._force(feed, layer.depth)
        spin = slowed_by_power(task, told, spin, cutting_power(force, spin.speed), self.outer)
        power, moved = cutting_power(force, spin.speed), feed_speed(spin.rpm, feed)
        chip = feed * chip_over_feed(task, layer.depth)
        check_chip(task, told, chip)
        check_chip(task, told, layer.depth, "the depth of a pass")
        bend = self.bend(kind, layer.depth)
        rt, ra = _marks(feed, task.tool.nose_radius) if kind == "finish" else (None, None)
        return Pass(
            kind, layer.count, spin.speed, spin.rpm, feed, "rev", moved, layer.depth,
            chip=chip, force=force, power=power, torque=spindle_torque(power, spin.rpm),
            deflection=None if bend is None else bend.deflection, effect=None if bend is None else bend.effect,
            height=rt, roughness=ra, minutes=self._minutes(layer.count, moved),
        )  # fmt: skip

    def _minutes(self, count: int, speed: float) -> float | None:
        way = self.diameter / 2 if self.task.way.name == "facing on the lathe" else self.task.length
        return None if way is None else minutes(way, speed, approach=APPROACH, passes=count)


def chip_over_feed(task: Task, depth: float) -> float:
    """Mean thickness of a turned chip over the feed: area over the length of the edge that cuts.

    A depth under the nose radius thins the chip.
    """
    radius, angle = task.tool.nose_radius, task.tool.edge_angle
    corner = radius * (1 - cos(angle))
    if radius <= 0 or depth <= 0:
        return sin(angle)
    if depth <= corner:
        return depth / (radius * acos(1 - depth / radius))
    return depth / (radius * angle + (depth - corner) / sin(angle))


def _marks(feed: float, nose: float) -> tuple[float | None, float | None]:
    try:
        return height(feed, nose), mean_roughness(feed, nose)
    except OutOfRange:
        return None, None


def _bar(task: Task, told: Told) -> None:
    """Overhang of the bar, and whether it goes into the hole."""
    tool, words = task.tool, told.words
    if tool.diameter is None or tool.stick_out is None or task.diameter is None:
        return
    found = overhang_verdict(tool.stick_out, tool.diameter, "steel")
    told.number("reach of the bar over its diameter", found.ratio, f"{found.ratio:.2g}")
    told.assumed.append("the bar is of steel")
    if found.verdict != "good":
        would = ", ".join(found.would_do[:3]) or "no bar here; bore from both sides"
        told.warn("overhang", f"the bar reaches out {found.ratio:.2g} diameters, and one of steel is sure to 3: "
                  f"{'light cuts only' if found.verdict == 'light cuts' else 'expect chatter'}; "
                  f"would do: {would}")  # fmt: skip
    if tool.diameter >= (task.before if task.before else task.diameter):
        told.warn(
            "tool", f"a bar of {words.length(tool.diameter)} does not go into the hole; take a thinner one"
        )
    if task.length is not None and tool.stick_out < task.length:
        told.warn("tool", f"the bar reaches {words.length(tool.stick_out)}, and the bore is "
                  f"{words.length(task.length)} deep; let it stand out more")  # fmt: skip
    try:
        band = finish_boring(task.diameter)
    except LoopwrightError:
        return
    told.say("stock usual for the last cut", f"{words.feed(band.low)} to {words.feed(band.high)} on the diameter "
             f"({band.source})")  # fmt: skip


def parting(task: Task, told: Told) -> Found:
    """Parting off.

    Args:
        task: the cut.
        told: what it has to tell.
    """
    diameter = task.needed(
        task.diameter, "the diameter", "give the blank its section, or the surface its size"
    )
    (slow, fast), (low, high), usual = PARTING
    speed = speed_for(
        task, told, factor=(slow, fast), why="common practice: parting off at half to 0.7 of turning"
    )
    spin = spindle(task, told, speed, diameter)
    proven = None if task.proven is None else task.proven.feed
    feed = proven or (low + high) / 2
    if proven is None:
        told.assumed.append(f"feed {told.words.feed(feed)} a turn (common practice: "
                            f"{told.words.feed(low)} to {told.words.feed(high)})")  # fmt: skip
    width = task.cut.width or usual
    if task.cut.width is None:
        told.assumed.append(f"a blade {told.words.length(width)} wide (write width)")
    force = turning_force(task.law, feed, width)
    spin = slowed_by_power(task, told, spin, cutting_power(force, spin.speed), diameter)
    power = cutting_power(force, spin.speed)
    check_chip(task, told, feed)
    told.notes.append(
        "keep the blade short and on centre; the speed falls towards the middle unless the spindle follows"
    )
    one = Pass(
        "only", 1, spin.speed, spin.rpm, feed, "rev", feed_speed(spin.rpm, feed), width=width, chip=feed,
        force=force, power=power, torque=spindle_torque(power, spin.rpm),
        minutes=minutes(diameter / 2, feed_speed(spin.rpm, feed), approach=APPROACH / 2),
    )  # fmt: skip
    return [one], [speed, Chosen(feed, low, high, "assumed" if proven is None else "proven")]


def _stoppable(task: Task, told: Told, speed: Chosen, thread: Thread) -> Spindle:
    """The spindle, slowed to what a hand can stop at the end of a thread."""
    most, quiet = HAND_THREAD / thread.pitch_mm, Told(told.words)
    if task.kind != "manual lathe" or spindle(task, quiet, speed, thread.diameter_mm).rpm <= most:
        return spindle(task, told, speed, thread.diameter_mm)
    turns = max(most, speeds_of(task)[0])
    told.limits.append(
        f"speed limited by the hand: at {told.words.rpm(turns)} the slide moves at "
        f"{told.words.feed_speed(turns * thread.pitch_mm)}, which can still be stopped (common practice)"
    )
    return Spindle(turns, cutting_speed(turns, thread.diameter_mm))


def thread_turning(task: Task, told: Told) -> Found:
    """A thread cut with a single point.

    Args:
        task: the cut.
        told: what it has to tell.
    """
    said = designation(task.thread_text())
    external = not task.inside
    depth = infeed(said.thread, external=external)
    slow, fast = THREADING
    speed = speed_for(
        task, told, factor=(slow, fast), why="common practice: threads at a third to half of turning"
    )
    spin = _stoppable(task, told, speed, said.thread)
    count = max(4, ceil((depth.radial / FIRST_PASS) ** 2 * (1 - 1e-9)))
    deep = infeed_passes(depth.radial, count)
    words = told.words
    told.length("depth of the thread, on the radius", depth.radial)
    told.say("in-feed reached by each pass", ", ".join(words.feed(v) for v in deep))
    bounds = limits(
        said.thread, said.classes[0] if len(said.classes) == 1 else "external" if external else "internal"
    )
    told.say(
        f"pitch diameter, {bounds.tolerance_class}",
        " to ".join(words.size(round(v, 4)) for v in bounds.pitch_diameter),
    )
    told.notes.append(
        "the depth only says when to begin to measure: the pitch diameter decides, over wires or by gauge"
    )
    if external and task.before is not None and task.before > 1.02 * said.thread.diameter_mm:
        told.warn("stock", f"'{task.name}' is {told.words.length(task.before)} before this op, and the thread "
                  f"{told.words.length(said.thread.diameter_mm)}: turn it first")  # fmt: skip
    if said.left_hand:
        told.notes.append("left-hand thread")
    last = deep[-1] - deep[-2]
    check_chip(task, told, last, "the last pass")
    feed = said.thread.pitch_mm
    area = feed / 2 * deep[0]
    force = task.law.at(max(deep[0], 1e-3)) * area
    power = cutting_power(force, spin.speed)
    long = (
        None
        if task.length is None
        else minutes(task.length, feed_speed(spin.rpm, feed), approach=3 * feed, passes=2 * (count + 1))
    )
    if power_at_hand(task) is not None:
        spin = slowed_by_power(task, told, spin, power, said.thread.diameter_mm)
    one = Pass(
        "only", count, spin.speed, spin.rpm, feed, "rev", feed_speed(spin.rpm, feed), deep[0], chip=last,
        force=force, power=power, torque=spindle_torque(power, spin.rpm), minutes=long,
    )  # fmt: skip
    told.notes.append("one pass more without in-feed; the way back is counted at the same speed")
    return [one], [speed]
