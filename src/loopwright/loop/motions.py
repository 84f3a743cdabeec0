"""Declared error motions of a joint: twists of the child that need no contact."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.basis import Basis, shapes
from loopwright.loop.columns import Context, error_stds
from loopwright.loop.sources import Source, SourceKind
from loopwright.loop.touching import Columns, grown_from_child, move_with_child
from loopwright.loop.twists import moved_twist, rotation_about, twist_at
from loopwright.model.error_motions import ErrorMotion, Varies, letter
from loopwright.model.joints import Joint, JointKind
from loopwright.model.spread import Spread

Array = NDArray[np.float64]
_UNIT = {name: np.eye(3)[i % 3] for i, name in enumerate("XYZABC")}


@dataclass(frozen=True)
class Moving:
    """One declared error motion.

    Attributes:
        letters: by ISO 230-1.
        columns: of its sources.
        sizes: value that a unit of each source gives at moves from home, (moves, columns); mm or rad.
    """

    letters: str
    columns: NDArray[np.intp]
    sizes: Callable[[Array], Array]


@dataclass
class Motions:
    """The error motions of one joint, and the growth at the place where a joint without contacts is held.

    Attributes:
        moving: every declared motion.
        growing: (column, factor, whether of the child) of strains that act at the place where the joint is held.
    """

    joint: Joint
    columns: Columns
    moving: list[Moving] = field(default_factory=list)
    growing: list[tuple[int, float, bool]] = field(default_factory=list)

    def twists(self, moves: Array) -> Array:
        """Twist that a unit of each source gives the child, in the parent's frame, (moves, 6, columns)."""
        out = np.zeros((len(moves), 6, len(self.columns.places)))
        for moving in self.moving:
            unit = unit_twist(self.joint, moving.letters)(moves)
            out[:, :, moving.columns] += unit[:, :, None] * moving.sizes(moves)[:, None, :]
        for column, factor, of_child in self.growing:
            out[:, :3, column] += factor * held_place(self.joint, moves, of_child)
        return out


def motions(context: Context, joint_name: str, columns: Columns) -> Motions:
    """The declared error motions of a joint with their sources."""
    joint = context.build.joints[joint_name]
    out = Motions(joint, columns)
    for letters, stated in joint.errors.items():
        _add_motion(context, out, joint_name, letters, stated)
    if not joint.has_contacts:
        for body, of_child in ((joint.parent, False), (joint.child, True)):
            for place, factor in context.growth.bodies.get(body, ()):
                out.growing.append((columns.column(place), -factor if of_child else factor, of_child))
    return out


def held_place(joint: Joint, moves: Array, of_child: bool) -> Array:
    """Where a joint without contacts is held, from the origin of the parent or of the child, (moves, 3).

    That is the point at which its errors are stated, or a point on its axis, or the machine origin.
    """
    home = joint.errors_at or joint.at or (0.0, 0.0, 0.0)
    start = np.broadcast_to(np.asarray(home, float), (len(moves), 1, 3))
    now = move_with_child(joint, moves, start, start)[0]
    return np.asarray((grown_from_child(joint, moves, now) if of_child else now)[:, 0])


def unit_twist(joint: Joint, letters: str) -> Callable[[Array], Array]:
    """Twist of the child for a unit of an error motion, as a function of the moves from home, (moves, 6)."""
    what = letter(letters)
    direction = _UNIT[what.direction]
    if what.squareness:
        return lambda moves: _squareness_twist(joint, direction, moves)
    zero = np.zeros(3)

    def motion(moves: Array) -> Array:
        start = np.broadcast_to(np.asarray(joint.errors_at), (len(moves), 1, 3))
        points = move_with_child(joint, moves, start, start)[0][:, 0]
        return twist_at(points, zero if what.angular else direction, direction if what.angular else zero)

    return motion


def _squareness_twist(joint: Joint, direction: Array, moves: Array) -> Array:
    """Tilting the axis carries the child along the tilted direction and brings it back without a turn."""
    centre = np.asarray(joint.at) if joint.kind is JointKind.ROTARY else np.zeros(3)
    tilt = np.broadcast_to(twist_at(centre, np.zeros(3), direction), (len(moves), 6))
    if joint.kind is JointKind.ROTARY:
        turn = rotation_about(joint.about or (0, 0, 1), moves)
        shift = centre - np.einsum("mij,j->mi", turn, centre)
    else:
        turn, shift = np.eye(3), moves[:, None] * np.asarray(joint.along)
    return np.asarray(tilt - moved_twist(turn, shift, tilt))


def basis_of(joint: Joint, letters: str) -> Basis:
    """Which shapes an error motion is made of.

    Straightness is stated about its best line; positioning and rotations may drift along the travel. The once-per-turn
    part of a radial or tilting error motion of a rotary axis is its eccentricity, which is centred out.
    """
    what = letter(letters)
    about = "ABC"[int(np.argmax(np.abs(joint.direction or (0, 0, 1))))]
    along = "XYZ"["ABC".index(about)]
    if joint.kind is JointKind.ROTARY:
        return Basis.PERIODIC if what.direction in (about, along) else Basis.WAVY
    return Basis.STRAIGHT if not what.angular and what.direction != along else Basis.DRIFTING


def known_value(stated: ErrorMotion, positions: Array) -> Array:
    """What is known of an error motion at axis positions, (positions,): the middle of its limits and its table."""
    value = np.full(len(positions), stated.spread.mean)
    if stated.table:
        value = value + np.interp(positions, list(stated.table), list(stated.table.values()))
    return value


def _add_motion(context: Context, out: Motions, joint_name: str, letters: str, stated: ErrorMotion) -> None:
    joint, what = out.joint, letter(letters)
    field_path, name = f"joints/{joint_name}/errors/{letters}", f"{joint_name}: {letters}"

    def source(label: str, spread: Spread, group: str | None = None) -> int:
        kind = SourceKind.GUIDES
        found = Source(label, kind, what.dimension, spread, field_path, joint=joint_name, group=group)
        return out.columns.column(context.sources.add(found))

    def add(columns: list[int], sizes: Callable[[Array], Array]) -> None:
        out.moving.append(Moving(letters, np.array(columns, np.intp), sizes))

    if stated.varies is Varies.CONSTANT or what.squareness:
        add([source(name, stated.spread)], lambda moves: np.ones((len(moves), 1)))
    elif not stated.spread.certain:
        low, high = joint.travel or (0.0, 1.0)
        basis = basis_of(joint, letters)
        stds = error_stds(stated.spread, basis, stated.modes, context.build.confidence)
        columns = [source(f"{name} {i}", Spread(std=std), name) for i, std in enumerate(stds, 1)]
        add(columns, lambda moves: shapes(basis, stated.modes, moves + joint.home, low, high))
    known = (
        stated
        if stated.varies is Varies.SMOOTHLY and not what.squareness
        else stated.model_copy(update={"spread": Spread()})
    )
    if known.table or known.spread.mean:
        column = source(f"{name} known", Spread(value=1.0))
        add([column], lambda moves: known_value(known, moves + joint.home)[:, None])
