"""How stock is parted into passes, and how far tool and work bend under one.

Usual depths are common practice for small machines. They are where one begins: power and bending make them less,
and a depth that the route or the shop states takes their place.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from types import MappingProxyType
from typing import Final, Literal

from loopwright.errors import LoopwrightError
from loopwright.handbook.boring import bore_with_deflection
from loopwright.handbook.materials import material
from loopwright.handbook.tool_deflection import bar_deflection, end_mill_deflection, tool_modulus
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import Told

# way: depth of a roughing pass and of the finishing pass, mm; soft material
_DEPTHS: Final = MappingProxyType(
    {
        "turning": (1.5, 0.2),
        "boring": (1.0, 0.15),
        "facing on the lathe": (1.0, 0.2),
        "face milling": (1.5, 0.3),
        "fly cutting": (0.5, 0.15),
        "milling out": (1.5, 0.3),
        "side milling": (0.0, 0.0),
        "circular milling": (0.0, 0.0),
    }
)
_HARD: Final = (0.2, 0.1)
"""The same in hardened material, by any way."""
LEAST_DEPTH: Final = 0.03
"""A thinner finishing pass is not proposed, mm. Common practice."""
ROUGH_BEND: Final = MappingProxyType({"the work": 0.15})
"""What bends in a roughing pass more than a slender tool may, mm. Common practice."""
TOOL_BENDS: Final = 0.05
"""What a slender tool may bend in a roughing pass, mm. Common practice."""
_HALVINGS: Final = MappingProxyType({"finish": 5, "rough": 2})
"""How often a pass is made half as deep before bending is warned of instead."""
MODULUS_OF_WORK: Final = 100_000.0
"""Where the handbook has no modulus of the work, MPa: low on purpose."""


@dataclass(frozen=True)
class Layer:
    """Equal passes: what they are for, how many, how deep each, mm."""

    kind: Literal["rough", "finish"]
    count: int
    depth: float


@dataclass(frozen=True)
class Bend:
    """How far something bends where it is cut, and what that does to the dim, mm."""

    deflection: float
    effect: float
    what: str


def usual_depths(task: Task) -> tuple[float, float]:
    """Usual depth of a roughing and a finishing pass, mm; on a round surface on the radius."""
    rough, finish = _DEPTHS["fly cutting" if task.tool.kind == "fly cutter" else task.way.name]
    if task.tool.kind == "end mill":
        return _of_end_mill(task, finish)
    if task.stuff.hard:
        return min(rough, _HARD[0]), min(finish, _HARD[1])
    if task.group.iso in "NO":
        return 1.5 * rough, finish
    return (0.7 * rough if task.group.iso in "MS" else rough), finish


# depth over diameter of an end mill: into a floor, into a wall
_FLOOR, _WALL, _LIGHT = 0.5, 0.2, 0.05


def _of_end_mill(task: Task, finish: float) -> tuple[float, float]:
    diameter = task.needed(task.tool.diameter, "the diameter of the cutter", "write diameter beside the tool")
    floor = task.way.name in ("milling out", "face milling")
    share = _LIGHT if task.stuff.hard else _FLOOR if floor else _WALL
    share *= 0.6 if task.group.iso in "MS" else 1.0
    last = finish or min(max(0.03 * diameter, 0.1), 0.3)
    return share * diameter, min(last, share * diameter)


def layers(stock: float, rough: float, finish: float, *, fixed: float | None, finishing: bool) -> list[Layer]:
    """Stock parted into roughing passes and one that finishes.

    Args:
        stock: to take off, in the direction of depth, mm.
        rough: deepest roughing pass, mm.
        finish: depth of the finishing pass, mm.
        fixed: depth that is given for every pass, mm.
        finishing: the surface is to be finished.

    >>> layers(1.0, 1.5, 0.2, fixed=None, finishing=True)
    [Layer(kind='rough', count=1, depth=0.8), Layer(kind='finish', count=1, depth=0.2)]
    """
    if fixed is not None:
        rough, finish = fixed, min(finish, fixed)
    if not finishing:
        count = _count(stock, rough)
        return [Layer("rough", count, stock / count)]
    finish = min(finish, rough)
    if stock <= max(2 * finish, fixed or 0.0) * (1 + 1e-9):
        return [Layer("finish", 1, stock)]
    count = _count(stock - finish, rough)
    return [Layer("rough", count, (stock - finish) / count), Layer("finish", 1, finish)]


def _count(stock: float, depth: float) -> int:
    return max(1, ceil(stock / depth * (1 - 1e-9)))


def stiff_enough(
    task: Task, told: Told, found: list[Layer], bend: Callable[[str, float], Bend | None], *, fixed: bool
) -> list[Layer]:
    """Passes made shallower until what bends does no more to the dim than is allowed.

    Args:
        task: the cut.
        told: what it has to tell.
        found: passes by depth alone.
        bend: how far something bends in a kind of pass at a depth, mm.
        fixed: the depth is given and stays.
    """
    if fixed:
        return found
    out: list[Layer] = []
    left = 0.0
    for layer in reversed(found):
        depth = layer.depth
        most = task.allowed if layer.kind == "finish" else None
        for _ in range(_HALVINGS[layer.kind]):
            one = bend(layer.kind, depth)
            if one is None or depth / 2 < LEAST_DEPTH or _passable(one, most):
                break
            depth /= 2
        if depth < layer.depth:
            kind = "finishing" if layer.kind == "finish" else "roughing"
            told.limits.append(
                f"depth of a {kind} pass limited by stiffness: "
                f"{told.words.feed(depth)} instead of {told.words.feed(layer.depth)}"
            )
        total = layer.count * layer.depth + left
        if layer.kind == "finish" and len(found) > 1:
            left = total - depth
            out.insert(0, Layer("finish", 1, depth))
        else:
            count = _count(total, depth)
            out.insert(0, Layer(layer.kind, count, total / count))
    return out


def _passable(one: Bend, most: float | None) -> bool:
    if most is not None:
        return one.effect <= most
    return one.deflection <= ROUGH_BEND.get(one.what, TOOL_BENDS)


def check_rough(task: Task, told: Told, bend: Bend | None) -> None:
    """Warns where a roughing pass bends tool or work so much that it will chatter or climb."""
    if bend is not None and not _passable(bend, None):
        told.warn("bends", f"{bend.what} bends {told.words.small(bend.deflection)} in a roughing pass; "
                  f"{_STIFFER.get(bend.what, 'cut less at once')}")  # fmt: skip


def check_bend(task: Task, told: Told, bend: Bend | None) -> None:
    """Warns where bending does more to the dim than a quarter of its limit."""
    if bend is None:
        return
    words = told.words
    if task.allowed is None or task.limit is None:
        return
    if bend.effect > task.allowed * 1.001:
        stiffer = _STIFFER.get(bend.what, "cut less at once")
        told.warn("bends", f"{bend.what} bends {words.small(bend.deflection)} in the last pass and puts the dim out by "
                  f"{words.small(bend.effect)}: above a quarter of {words.limit(task.limit)} ({task.limit_from}); "
                  f"{stiffer}, or cut again without in-feed and measure")  # fmt: skip


_STIFFER: Final = MappingProxyType(
    {
        "the end mill": "take a thicker or shorter one, or less depth",
        "the bar": "take a thicker bar, a shorter reach, or a bar of carbide",
        "the work": "hold it between centres or in a steady",
        "the thread mill": "take a thicker or shorter one, or more passes",
    }
)


def bar_bend(task: Task, radial: float) -> Bend | None:
    """How far a boring bar of steel bends, and what that does to the bore; None where reach or bar is not known.

    Args:
        task: the cut.
        radial: force on the edge towards the axis, N.
    """
    tool = task.tool
    if tool.stick_out is None or tool.diameter is None:
        return None
    found = bar_deflection(radial, tool.stick_out, tool.diameter, tool_modulus("steel").usual).displacement
    effect = 2 * found
    if task.diameter is not None and found < task.diameter / 2:
        effect = task.diameter - bore_with_deflection(task.diameter, found)
    return Bend(found, effect, "the bar")


def work_bend(task: Task, radial: float) -> Bend | None:
    """How far turned work bends at its free end, or midway between centres, as a solid bar; None where unknown."""
    if task.diameter is None or task.length is None:
        return None
    found = bar_deflection(radial, task.length, task.diameter, _modulus(task)).displacement
    if task.op.held == "centres":
        found /= 16
    return Bend(found, 2 * found, "the work")


def _modulus(task: Task) -> float:
    own = task.build.materials.get(task.stuff.material)
    if own is not None and own.modulus is not None:
        return own.modulus
    try:
        return material(task.stuff.material).modulus
    except LoopwrightError:
        return MODULUS_OF_WORK


def mill_bend(
    task: Task, force: float, depth: float, *, wall: bool = True, what: str = "the end mill"
) -> Bend | None:
    """How far an end mill bends, and what that does to the dim: a wall moves with it, a floor dips by its slope.

    Args:
        task: the cut.
        force: across the tool; for a wall the part of it that is square to the wall, N.
        depth: along the tool that is in the cut, mm.
        wall: its side makes the surface, not its end.
        what: bends.
    """
    tool = task.tool
    if tool.stick_out is None or tool.diameter is None:
        return None
    reach = max(tool.stick_out - depth / 2, tool.diameter / 2)
    edge = tool_modulus("HSS" if tool.material == "HSS" else "carbide")
    found, slope = end_mill_deflection(force, reach, tool.diameter, edge.usual)
    effect = slope * tool.diameter / 2 if not wall else 2 * found if task.surface.round else found
    return Bend(found, effect, what)
