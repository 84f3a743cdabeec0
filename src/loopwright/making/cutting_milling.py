"""Cutting data on the mill: faces, floors and walls."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, pi, radians, sqrt
from typing import Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.chip_thickness import (
    Engagement,
    face_engagement,
    feed_for_edge_angle,
    mean_chip,
    side_engagement,
)
from loopwright.handbook.cutting_force import (
    EndMillForce,
    SpecificForce,
    end_mill_force,
    milling_power,
    spindle_torque,
)
from loopwright.handbook.cutting_geometry import centre_feed_outside, feed_speed, mill_approach, minutes
from loopwright.handbook.roughness import dish_by_tilt, face_milling_height, side_milling_height, step_by_tilt
from loopwright.making.capabilities import holds
from loopwright.making.cutting_choice import (
    Chosen,
    Spindle,
    check_chip,
    depth_by_power,
    depth_given,
    eased,
    feed_for,
    raised_to_cut,
    slowed_by_power,
    speed_for,
    spindle,
    tell_depth,
    thin_feed,
)
from loopwright.making.cutting_depths import (
    Bend,
    Layer,
    check_bend,
    check_rough,
    layers,
    mill_bend,
    stiff_enough,
    usual_depths,
)
from loopwright.making.cutting_records import Pass
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import Told

HELIX = radians(30)
"""Helix of an end mill that nobody measured. Common practice."""
MOST_RAISED = 3.0
"""A feed is raised at most so many times to make good for a thin chip: the tool's own limit comes first."""
FACE_SHARE, MILL_SHARE = 0.75, 0.6
"""Width of cut over the diameter of a face mill, and of an end mill on a floor. Common practice."""
AXIAL = 1.0
"""Greatest depth along an end mill over its diameter, for a wall. Common practice."""
MARKS_OF_FACE = 0.010
"""Height that feed marks on a finished face may have, as geometry alone leaves them, mm. Common practice."""
MARKS = 0.005
"""Height that feed marks on a finished wall may have where no limit asks for less, mm. Common practice."""
RA_OF_RT = 8 / (18 * 3**0.5)
"""Ra over Rt of feed marks that are parabolas."""
APPROACH = 2.0

Kind = Literal["rough", "finish", "only"]
Found = tuple[list[Pass], list[Chosen]]


@dataclass(frozen=True)
class Bite:
    """What one tooth meets; mm and rad.

    Attributes:
        width: square to the feed and the axis: a_e, as the tooth sees it.
        axial: along the axis: a_p.
        arc: over which it cuts.
        edge_angle: of the edge.
    """

    width: float
    axial: float
    arc: Engagement
    edge_angle: float = pi / 2


@dataclass(frozen=True)
class Milled:
    """A milling pass as it cuts."""

    spin: Spindle
    feed: float
    feed_speed: float
    chip: float
    power: float
    force: float


class Mill:
    """Chooses and works out milling passes of one surface.

    Args:
        task: the cut.
        told: what it has to tell.
        operation: of the handbook.
    """

    def __init__(self, task: Task, told: Told, operation: str) -> None:
        self.task, self.told, self.operation = task, told, operation
        self.diameter = task.needed(
            task.tool.diameter, "the diameter of the cutter", "write diameter beside the tool"
        )
        self.chosen: list[Chosen] = []
        self.quiet = Told(told.words)

    def feed(self, kind: Kind, bite: Bite, told: Told) -> Chosen:
        """Feed for each tooth, raised where the chip would be thinner than the source means it."""
        roles = self._roles(kind, bite)
        feed = feed_for(
            self.task, told, per="tooth", diameter=self.diameter, roles=roles, operation=self.operation
        )
        self.chosen.append(feed)
        if feed.known == "proven":
            return feed
        value = self._held(kind, feed.value, bite, told)
        thinnest = mean_chip(1.0, bite.arc, edge_angle=bite.edge_angle)
        found = Chosen(value, feed.low * value / feed.value, max(feed.high, value), feed.known)
        if kind == "finish" and self.operation == "face":
            found = self._fine(found, thinnest, told)
        return replace(found, value=raised_to_cut(self.task, told, found, thinnest))

    def _roles(self, kind: Kind, bite: Bite) -> tuple[str, ...]:
        wide = "slot" if bite.width > 0.5 * self.diameter else "side"
        light = ("light",) if kind == "finish" else ()
        return (kind, wide, *light)

    def _held(self, kind: Kind, feed: float, bite: Bite, told: Told) -> float:
        """The feed that holds the mean chip: at a slanted edge, and at a narrow cut."""
        words = told.words
        if bite.edge_angle < radians(80):
            slanted = feed_for_edge_angle(feed, bite.edge_angle)
            told.limits.append(
                f"feed raised from {words.feed(feed)} to {words.feed(slanted)} a tooth: the slanted edge would thin "
                "the chip"
            )
            return slanted
        if self.operation == "face":
            return feed
        rows = [r for r in told.ranges if r.what == "feed" and r.counted]
        # rows for side milling are printed for 0.1 to 0.4 of the diameter, the others for half of it
        meant = (0.25 if rows and all(r.cut == "side" for r in rows) else 0.5) * self.diameter
        if bite.width >= meant:
            return feed
        chip = mean_chip(feed, side_engagement(meant, self.diameter))
        held = chip / mean_chip(1.0, bite.arc)
        raised = min(held, MOST_RAISED * feed)
        if kind == "finish":
            raised = max(feed, min(raised, self._for_marks()))
        if raised > 1.01 * feed:
            mean = mean_chip(raised, bite.arc)
            told.limits.append(
                f"feed raised from {words.feed(feed)} to {words.feed(raised)} a tooth: a cut {words.feed(bite.width)} "
                f"wide thins the chip, and its mean is {'held' if raised == held else 'kept'} at {words.small(mean)}"
            )
        return raised

    def _fine(self, feed: Chosen, thinnest: float, told: Told) -> Chosen:
        """Feed of a face mill or fly cutter that leaves low marks, one tooth making them."""
        tool, words = self.task.tool, told.words
        if tool.nose_radius <= 0:
            return feed
        most = max(sqrt(8 * tool.nose_radius * MARKS_OF_FACE) / tool.edges, thin_feed(self.task, thinnest))
        if feed.value <= most:
            return feed
        told.limits.append(
            f"feed of the finishing pass limited by the finish: {words.feed(most)} a tooth, as the lowest tooth makes "
            f"the face and leaves the marks"
        )
        return replace(feed, value=most, low=min(most, feed.low))

    def _for_marks(self) -> float:
        """Feed for each tooth that leaves marks no higher than a finished wall may have, one tooth making them."""
        marks = MARKS if self.task.allowed is None else min(MARKS, self.task.allowed)
        return sqrt(4 * self.diameter * marks) / self.task.tool.edges

    def mill(self, kind: Kind, bite: Bite, told: Told) -> Milled:
        """A pass with speed, feed, power and mean force; sharp tool."""
        speed = speed_for(self.task, told, roles=self._roles(kind, bite), operation=self.operation)
        self.chosen.append(speed)
        spin, feed = spindle(self.task, told, speed, self.diameter), self.feed(kind, bite, told)
        return self._at(*eased(
            self.task, told, spin, feed.value, diameter=self.diameter,
            slow=spin.speed if speed.known == "proven" else speed.low,
            fine=feed.value if feed.known == "proven" else feed.low,
            thin=feed.value if feed.known == "proven" else thin_feed(
                self.task, mean_chip(1.0, bite.arc, edge_angle=bite.edge_angle)
            ),
            power=lambda turning, fed: self._at(turning, fed, bite).power,
        ), bite)  # fmt: skip

    def _at(self, spin: Spindle, feed: float, bite: Bite) -> Milled:
        moved = feed_speed(spin.rpm, feed, self.task.tool.edges)
        chip = mean_chip(feed, bite.arc, edge_angle=bite.edge_angle)
        power = milling_power(bite.axial, bite.width, moved, self.task.law.at(chip))
        return Milled(spin, feed, moved, chip, power, 60 * power / spin.speed)

    def slowed(self, found: Milled, bite: Bite, told: Told) -> Milled:
        """The same, slowed until it fits into the power."""
        spin = slowed_by_power(self.task, told, found.spin, found.power, self.diameter)
        return found if spin == found.spin else self._at(spin, found.feed, bite)

    def forces(self, feed: float, bite: Bite) -> EndMillForce:
        """Forces of an end mill, tooth by tooth."""
        width = min(bite.width, self.diameter)
        return _forces(self.task.law, self.diameter, self.task.tool.edges, width, bite.axial, feed)

    def bend_of_wall(self, kind: Kind, bite: Bite, feed: float | None = None) -> Bend | None:
        """How far the end mill bends square to a wall."""
        feed = self.mill(kind, bite, self.quiet).feed if feed is None else feed
        away = max(abs(v) for v in self.forces(feed, bite).away)
        return mill_bend(self.task, away, bite.axial)


@lru_cache(maxsize=4096)
def _forces(
    law: SpecificForce, diameter: float, teeth: int, width: float, depth: float, feed: float
) -> EndMillForce:
    """As :func:`end_mill_force`; the same cut is asked for several times on the way, and again for the next part."""
    return end_mill_force(
        law, diameter=diameter, teeth=teeth, width=width, depth=depth, feed_per_tooth=feed, helix=HELIX
    )


def flat_milling(task: Task, told: Told) -> Found:
    """A face or a floor, by the end of the tool.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: a size or a row is missing.
    """
    ends = task.tool.kind == "end mill"
    mill = Mill(task, told, "mill" if ends else "face")
    wide = (MILL_SHARE if ends else FACE_SHARE) * mill.diameter
    width = task.cut.width or min(wide, task.width or wide)
    arc = (side_engagement if ends else face_engagement)(width, mill.diameter)
    lanes = ceil((task.width or width) / width * (1 - 1e-9))
    if lanes > 1:
        told.number("passes side by side", lanes)

    def bite(depth: float) -> Bite:
        return Bite(width, depth, arc, pi / 2 if ends else task.tool.edge_angle)

    def bend(kind: str, depth: float) -> Bend | None:
        if not ends:
            return None
        one = mill.mill("rough" if kind == "rough" else "finish", bite(depth), mill.quiet)
        return mill_bend(task, mill.forces(one.feed, bite(depth)).lateral_peak, depth, wall=False)

    found = layers_of(task, told, mill, bite, bend)
    passes = []
    for layer in found:
        one = mill.slowed(mill.mill(layer.kind, bite(layer.depth), told), bite(layer.depth), told)
        check_chip(task, told, one.chip)
        bent = bend(layer.kind, layer.depth)
        rt = _face_marks(task, one.feed) if layer.kind == "finish" else None
        approach = mill_approach(width, mill.diameter, centred=not ends) + mill.diameter / 2 + APPROACH
        time = (
            None
            if task.length is None
            else minutes(task.length, one.feed_speed, approach=approach, passes=layer.count * lanes)
        )
        passes.append(_passed(layer, one, width, arc, bent, rt, time))
    if found[0].kind == "rough":
        check_rough(task, told, bend("rough", found[0].depth))
    if found[-1].kind == "finish":
        check_bend(task, told, bend("finish", found[-1].depth))
        _tilt(task, told, mill.diameter, width, lanes)
    return passes, mill.chosen


def layers_of(
    task: Task,
    told: Told,
    mill: Mill,
    bite: Callable[[float], Bite],
    bend: Callable[[str, float], Bend | None],
    *,
    finishing: bool | None = None,
) -> list[Layer]:
    """Passes of a milled surface: by usual depths, the power, and what bends; rough where the op only roughs."""
    stock = task.stock
    rough, finish = usual_depths(task)
    if stock is None:
        told.warn("stock", f"what comes off '{task.name}' is not known: one pass is counted; give the stock")
        stock = rough if task.op.op == "rough out" else finish
    fixed = depth_given(task, told)
    able = rough
    if fixed is None:
        able = depth_by_power(task, rough, mill.mill("rough", bite(rough), mill.quiet).power)
    last = task.op.op != "rough out" if finishing is None else finishing
    found = layers(stock, able, finish, fixed=fixed, finishing=last)
    tell_depth(task, told, rough, able, found[0].kind == "rough")
    return stiff_enough(task, told, found, bend, fixed=fixed is not None)


def _passed(
    layer: Layer,
    one: Milled,
    width: float,
    arc: Engagement,
    bend: Bend | None,
    rt: float | None,
    time: float | None,
) -> Pass:
    return Pass(
        layer.kind, layer.count, one.spin.speed, one.spin.rpm, one.feed, "tooth", one.feed_speed, layer.depth, width,
        one.chip, arc.angle, one.force, one.power, spindle_torque(one.power, one.spin.rpm), None,
        None if bend is None else bend.deflection, None if bend is None else bend.effect,
        rt, None if rt is None else RA_OF_RT * rt, time,
    )  # fmt: skip


def _face_marks(task: Task, feed: float) -> float | None:
    if task.tool.nose_radius <= 0:
        return None
    try:
        return face_milling_height(feed, task.tool.nose_radius, task.tool.edges)
    except OutOfRange:
        return None


def _tilt(task: Task, told: Told, diameter: float, width: float, lanes: int) -> None:
    """What a spindle that leans does to the face, as the machine holds its squareness."""
    found = holds(task.build.shop, task.op)
    if found is None or not 0 < found.angular < 0.1 or task.tool.kind == "end mill":
        return
    lean = told.words.small_angle(found.angular)
    told.small(
        f"hollow across the cut, the spindle leaning {lean}",
        dish_by_tilt(diameter, min(width, diameter), found.angular),
    )
    if lanes > 1:
        told.small(f"step between passes side by side, leaning {lean}", step_by_tilt(width, found.angular))


def side_milling(task: Task, told: Told) -> Found:
    """A wall, or a boss, by the side of an end mill.

    Args:
        task: the cut.
        told: what it has to tell.
    """
    mill = Mill(task, told, "mill")
    axial, levels = axial_of(task, told, mill.diameter, task.width)

    def bite(depth: float) -> Bite:
        width = min(depth, mill.diameter)
        return Bite(width, axial, side_engagement(width, mill.diameter))

    def bend(kind: str, depth: float) -> Bend | None:
        return mill.bend_of_wall("rough" if kind == "rough" else "finish", bite(depth))

    halved = _on_the_side(task)
    found = layers_of(halved, told, mill, bite, bend)
    path = task.length
    if task.surface.round and task.diameter is not None:
        path = pi * task.diameter
    passes = []
    for layer in found:
        one = mill.slowed(mill.mill(layer.kind, bite(layer.depth), told), bite(layer.depth), told)
        check_chip(task, told, one.chip)
        bent = mill.bend_of_wall(layer.kind, bite(layer.depth), one.feed)
        time = (
            None
            if path is None
            else minutes(path, one.feed_speed, approach=mill.diameter + APPROACH, passes=layer.count * levels)
        )
        passes.append(
            _passed(
                layer, one, axial, bite(layer.depth).arc, bent, wall_marks(mill, layer.kind, one.feed), time
            )
        )
    if found[0].kind == "rough":
        check_rough(task, told, bend("rough", found[0].depth))
    if found[-1].kind == "finish":
        check_bend(task, told, bend("finish", found[-1].depth))
    if task.surface.round and task.diameter is not None and passes[-1].feed_speed is not None:
        told.feed_speed("feed of the centre around the boss",
                        centre_feed_outside(passes[-1].feed_speed, task.diameter, mill.diameter))  # fmt: skip
    return passes, mill.chosen


def axial_of(task: Task, told: Told, diameter: float, height: float | None) -> tuple[float, int]:
    """Depth along the tool, and how often a wall has to be gone along from top to bottom."""
    if height is None:
        told.assumed.append(f"a wall {told.words.length(diameter)} high (give the surface its size)")
        height = diameter
    axial = task.cut.width or min(height, AXIAL * diameter)
    levels = max(1, ceil(height / axial * (1 - 1e-9)))
    if levels > 1:
        told.number("levels, one below the other", levels)
    reach = task.tool.stick_out
    if reach is not None and reach < height * 0.999:
        told.warn("tool", f"{task.tool_words} reaches {told.words.length(reach)}, and the wall is "
                  f"{told.words.length(height)} high; let it stand out more")  # fmt: skip
    return min(axial, height), levels


def _on_the_side(task: Task) -> Task:
    """The task with its stock counted on one side."""
    if not task.surface.round or task.stock is None:
        return task
    return replace(task, stock=task.stock / 2)


def wall_marks(mill: Mill, kind: Kind, feed: float) -> float | None:
    """Height of the feed marks on a finished wall, one tooth making them, as run-out has it; mm."""
    if kind != "finish":
        return None
    try:
        return side_milling_height(feed, mill.diameter, mill.task.tool.edges, one_tooth=True)
    except OutOfRange:
        return None
