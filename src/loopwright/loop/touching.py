"""Where a joint touches, and what moves each contact: points, normals, stiffness and deviations along the travel."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.loop.growth import Growth, Strain
from loopwright.loop.twists import rotation_about
from loopwright.model.joints import Joint, JointKind
from loopwright.model.parts import DimSum

Array = NDArray[np.float64]
AlongTravel = Callable[[Array], Array]
"""Values (positions, contacts, columns) of a group of columns at axis moves from home, (positions,)."""


@dataclass
class Columns:
    """Which sources act in a joint, and where each stands in the joint's own matrices."""

    places: list[int] = field(default_factory=list)
    _known: dict[int, int] = field(default_factory=dict)

    def column(self, place: int) -> int:
        """Local column of a source."""
        if place not in self._known:
            self._known[place] = len(self.places)
            self.places.append(place)
        return self._known[place]


@dataclass
class Touching:
    """Contacts of one joint, gathered one by one.

    Attributes:
        names: of the contacts, for people.
        fields: path in the build file of each.
        points: at the home pose, mm.
        normals: at the home pose, from parent to child.
        stiffness: N/mm.
        preload: N.
        on_child: whether the contact point stays on the child as the axis moves.
        constant: (contact, column, factor) of deviations that do not change along the travel.
        changing: (contacts, columns, values) of those that do.
    """

    joint: Joint
    columns: Columns
    names: list[str] = field(default_factory=list)
    fields: list[str] = field(default_factory=list)
    points: list[tuple[float, float, float]] = field(default_factory=list)
    normals: list[Array] = field(default_factory=list)
    stiffness: list[float] = field(default_factory=list)
    assumed: list[bool] = field(default_factory=list)
    preload: list[float] = field(default_factory=list)
    on_child: list[bool] = field(default_factory=list)
    constant: list[tuple[int, int, float]] = field(default_factory=list)
    changing: list[tuple[NDArray[np.intp], NDArray[np.intp], AlongTravel]] = field(default_factory=list)

    def add(
        self,
        name: str,
        path: str,
        point: tuple[float, float, float],
        normal: ArrayLike,
        stiffness: float,
        *,
        assumed: bool = False,
        preload: float = 0.0,
        on_child: bool = True,
    ) -> int:
        """Adds a contact; returns its number."""
        self.names.append(name)
        self.fields.append(path)
        self.points.append(point)
        self.normals.append(np.asarray(normal, float))
        self.stiffness.append(stiffness)
        self.assumed.append(assumed)
        self.preload.append(preload)
        self.on_child.append(on_child)
        return len(self.names) - 1

    def add_source(self, contact: int, place: int, factor: float = 1.0) -> None:
        """Lets a source move a contact along its normal."""
        self.constant.append((contact, self.columns.column(place), factor))

    def add_dims(self, contact: int, terms: DimSum, places: dict[str, dict[int, float]]) -> None:
        """Lets a signed sum of dims move a contact."""
        for term in terms:
            for place, factor in places.get(term.dim, {}).items():
                self.add_source(contact, place, term.times * factor)

    def add_changing(self, contacts: list[int], places: list[int], values: AlongTravel) -> None:
        """Lets sources move contacts by amounts that change along the travel."""
        columns = [self.columns.column(place) for place in places]
        self.changing.append((np.array(contacts, np.intp), np.array(columns, np.intp), values))

    def geometry(self, moves: Array) -> tuple[Array, Array]:
        """Points and normals, each (moves, contacts, 3), in the parent's frame; moves (m,) from home."""
        points = np.broadcast_to(np.array(self.points), (len(moves), len(self.points), 3))
        normals = np.broadcast_to(np.array(self.normals), points.shape)
        moved, turned = move_with_child(self.joint, moves, points, normals)
        on_child = np.array(self.on_child)[:, None]
        return np.where(on_child, moved, points), np.where(on_child, turned, normals)

    def deviations(self, moves: Array) -> Array:
        """How far each source pushes each contact along its normal, (moves, contacts, columns)."""
        out = np.zeros((len(moves), len(self.names), len(self.columns.places)))
        if self.constant:
            rows, places, factors = map(np.array, zip(*self.constant))
            pushed = np.zeros(out.shape[1:])
            np.add.at(pushed, (rows, places), factors)
            out += pushed
        for contacts, columns, values in self.changing:
            out[:, contacts[:, None], columns] += values(moves)
        return out


def move_with_child(joint: Joint, moves: Array, points: Array, normals: Array) -> tuple[Array, Array]:
    """Points and directions of the child after a move of the axis, in the parent's frame; shapes (moves, n, 3)."""
    if joint.kind is JointKind.LINEAR:
        return points + moves[:, None, None] * np.asarray(joint.along), normals
    if joint.kind is JointKind.ROTARY:
        turn, centre = rotation_about(joint.about or (0, 0, 1), moves), np.asarray(joint.at)
        turned = np.einsum("mij,mnj->mni", turn, points - centre) + centre
        return turned, np.einsum("mij,mnj->mni", turn, normals)
    return points, normals


def add_growth_of_bodies(touching: Touching, growth: Growth, skip: set[int]) -> None:
    """A contact moves when the parent's seat grows away from the origin, and back when the child's does."""
    joint = touching.joint
    contacts = [c for c in range(len(touching.names)) if c not in skip]
    for strain, of_child in (
        (growth.bodies.get(joint.parent, ()), False),
        (growth.bodies.get(joint.child, ()), True),
    ):
        _add_strain(touching, contacts, strain, of_child)


def _add_strain(touching: Touching, contacts: list[int], strain: Strain, of_child: bool) -> None:
    if not strain or not contacts:
        return
    factors = np.array([factor for _, factor in strain])
    sign = -1.0 if of_child else 1.0
    chosen = np.array(contacts, np.intp)

    def values(moves: Array) -> Array:
        points, normals = touching.geometry(moves)
        places = points[:, chosen]
        if of_child:
            places = grown_from_child(touching.joint, moves, places)
        reach = sign * np.einsum("mci,mci->mc", places, normals[:, chosen])
        return np.asarray(reach[..., None] * factors)

    touching.add_changing(contacts, [place for place, _ in strain], values)


def grown_from_child(joint: Joint, moves: Array, points: Array) -> Array:
    """Vectors from the child's own origin to points given in the parent's frame; (moves, n, 3).

    The child's own origin is where the machine origin stood on it at the home pose; a uniform growth of the child is
    counted from there.
    """
    origin = np.zeros((len(moves), 1, 3))
    moved, _ = move_with_child(joint, moves, origin, origin)
    return np.asarray(points - moved)
