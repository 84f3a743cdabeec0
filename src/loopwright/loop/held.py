"""Whether a joint holds its child, and in words what is left free and what contact would hold it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright import units
from loopwright.errors import Problem
from loopwright.loop.touching import Touching
from loopwright.loop.twists import rows_at, shift_matrix
from loopwright.model.build import Build
from loopwright.model.joints import Joint
from loopwright.units import Dimension

Array = NDArray[np.float64]

ILL_HELD = 0.01
"""A motion is ill held when the contacts resist it with less than this fraction of what they resist the best-held one
with, rotations measured at the contacts' own distance. Common practice asks for a tenth; a hundredth is wrong."""

FREE = 1e-7
"""Below this fraction the motion counts as free: it is within rounding of not being held at all."""


@dataclass(frozen=True)
class LooseMotion:
    """A motion of the child that the contacts leave free, or nearly so.

    Attributes:
        displacement: of the point ``through``, mm; zero for a pure rotation.
        rotation: rad.
        through: a point on its axis, mm, machine coordinates.
        share: how well it is held compared with the best-held motion; 0 is free.
        centre: centre of the contacts, mm.
        reach: typical distance of the contacts from it, mm.
    """

    displacement: Array
    rotation: Array
    through: Array
    share: float
    centre: Array
    reach: float

    @property
    def turns(self) -> bool:
        """It is a rotation rather than a slide."""
        return bool(np.linalg.norm(self.rotation) * self.reach > np.linalg.norm(self.displacement))


def loose_motions(points: Array, normals: Array) -> list[LooseMotion]:
    """Motions that contacts leave free or hold badly, worst first.

    Args:
        points: (contacts, 3), mm.
        normals: (contacts, 3), unit.
    """
    if len(points) == 0:
        points = np.zeros((1, 3))
        normals = np.zeros((1, 3))
    centre = points.mean(axis=0)
    reach = float(np.sqrt(((points - centre) ** 2).sum(axis=1).mean())) or 1.0
    scale = np.array([1, 1, 1, 1 / reach, 1 / reach, 1 / reach])
    matrix = rows_at(points, normals) @ shift_matrix(centre) * scale
    _, held, directions = np.linalg.svd(np.vstack([matrix, np.zeros((6, 6))]), full_matrices=False)
    best = held[0] or 1.0
    loose = [i for i in range(5, -1, -1) if held[i] < ILL_HELD * best or best < 1e-12]
    free = [i for i in loose if held[i] < FREE * best]
    basis = [*_tidy(directions[free]), *directions[[i for i in loose if i not in free]]]
    shares = [0.0] * len(free) + [float(held[i] / best) for i in loose if i not in free]
    return [_motion(d * scale, share, centre, reach) for d, share in zip(basis, shares)]


def _tidy(directions: Array) -> Array:
    """A basis of the same free space whose members are as plain as can be (along or about one axis)."""
    rows = directions.copy()
    for row in range(len(rows)):
        rest = np.abs(rows[row:])
        column = int(np.argmax(rest.max(axis=0)))
        best = row + int(np.argmax(rest[:, column]))
        rows[[row, best]] = rows[[best, row]]
        rows[row] /= rows[row, column]
        for other in range(len(rows)):
            if other != row:
                rows[other] -= rows[other, column] * rows[row]
    return rows


def _motion(motion: Array, share: float, centre: Array, reach: float) -> LooseMotion:
    displacement, rotation = motion[:3], motion[3:]
    size = float(rotation @ rotation)
    if size * reach**2 < 1e-6 * float(displacement @ displacement):
        return LooseMotion(displacement, np.zeros(3), centre, share, centre, reach)
    through = centre + np.cross(rotation, displacement) / size
    return LooseMotion(
        rotation * float(rotation @ displacement) / size, rotation, through, share, centre, reach
    )


def axis_words(direction: Array) -> str:
    """A direction in words: 'Z', or '(0.71, 0, 0.71)'."""
    unit = direction / np.linalg.norm(direction)
    main = int(np.argmax(np.abs(unit)))
    if abs(unit[main]) > 0.9986:
        return "XYZ"[main]
    return "(" + ", ".join(f"{round(float(v), 2) + 0.0:g}" for v in unit) + ")"


def _place(point: Array, unit: str) -> str:
    """A point in the reader's unit: to a tenth of a millimetre, or to a hundredth of an inch."""
    shown = units.convert(point, Dimension.LENGTH, unit)
    decimals = 1 if units.factor(unit, Dimension.LENGTH) <= 1 else 2
    return "(" + ", ".join(f"{round(float(v), decimals) + 0.0:g}" for v in shown) + f") {unit}"


def in_words(motion: LooseMotion, unit: str = "mm") -> str:
    """What the child can do: 'can still turn about Z through (60, 0, -250) mm'; places in a unit of length."""
    verb = "can still" if motion.share < FREE else "is held badly: it can"
    if motion.turns:
        return f"{verb} turn about {axis_words(motion.rotation)} through {_place(motion.through, unit)}"
    return f"{verb} slide along {axis_words(motion.displacement)}"


def remedy(motion: LooseMotion, points: Array, unit: str = "mm") -> str:
    """Which contact would hold it; points (contacts, 3) in mm, places shown in a unit of length."""
    if not motion.turns:
        normal = _forward(motion.displacement)
        return f"add a contact with normal {_signed(normal)}, such as a side stop, a dowel or a drive"
    axis = motion.rotation / np.linalg.norm(motion.rotation)
    arms = points - motion.through
    arms = arms - np.outer(arms @ axis, axis)
    far = arms[int(np.argmax((arms**2).sum(axis=1)))] if len(arms) else np.zeros(3)
    distance = float(np.linalg.norm(far))
    if distance < 1e-6:
        far, distance = _across(axis) * motion.reach, motion.reach
    normal, distance = _plain_normal(axis, far)
    return (
        f"add a contact with normal {_signed(normal)} at about {_place(motion.through + far, unit)}, "
        f"{units.format_value(distance, Dimension.LENGTH, unit, digits=3)} from that axis, such as a side stop "
        "or a dowel"
    )


def _plain_normal(axis: Array, arm: Array) -> tuple[Array, float]:
    """Normal of a contact at the end of an arm that holds a turn about an axis, and its lever.

    Along a machine axis where that holds well, as such a contact is easy to make; else square to the arm.
    """
    levers = np.cross(axis, arm)
    best = int(np.argmax(np.abs(levers)))
    if abs(levers[best]) >= 0.5 * float(np.linalg.norm(arm)):
        return np.asarray(np.eye(3)[best]), float(abs(levers[best]))
    return _forward(levers), float(np.linalg.norm(arm))


def _across(axis: Array) -> Array:
    # of two that would do, the upright one, so that the contact it leads to carries from below
    other = np.eye(3)[2 - int(np.argmin(np.round(np.abs(axis), 6)[::-1]))]
    across = np.cross(axis, other)
    return np.asarray(across / np.linalg.norm(across))


def _forward(normal: Array) -> Array:
    """The normal, or its opposite, which holds as well, so that its largest part is positive."""
    return normal if normal[int(np.argmax(np.abs(normal)))] >= 0 else -normal


def _signed(direction: Array) -> str:
    words = axis_words(direction)
    if words.startswith("("):
        return words
    return ("+" if direction["XYZ".index(words)] > 0 else "-") + words


def held_problems(build: Build, joint_name: str, touching: Touching) -> list[Problem]:
    """Problems of a joint whose contacts leave its child free, at both ends and the middle of its travel."""
    joint = build.joints[joint_name]
    if not touching.names:
        return []
    low, high = joint.travel or (joint.home, joint.home)
    moves = np.array(sorted({place - joint.home for place in (low, (low + high) / 2, high)}))
    points, normals = touching.geometry(moves)
    for at in range(len(moves)):
        loose = loose_motions(points[at], normals[at])
        if loose:
            unit = build.units.length
            what = f"'{joint_name}' " + "; ".join(in_words(m, unit) for m in loose)
            if at and joint.letter:
                what += f" (at {joint.letter} = {_position(joint, float(moves[at]) + joint.home, unit)})"
            return [Problem(f"joints/{joint_name}", what, remedy(loose[0], points[at], unit))]
    return []


def _position(joint: Joint, position: float, unit: str) -> str:
    shown = "deg" if joint.position is Dimension.ANGLE else unit
    return units.format_value(position, joint.position, shown, digits=5)
