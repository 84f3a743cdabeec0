"""Exact rigid-body motion of the same model: the check on everything that is linear elsewhere.

Bodies are moved by 4 x 4 matrices, contacts are found by iterating the nonlinear contact conditions, growth multiplies
with whatever it acts on. Nothing of the linear path (placement, rows, transport of twists) is used. What both share is
the description: where contacts are, and how far each source pushes them.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.growth import Strain
from loopwright.loop.joint import JointModel
from loopwright.loop.kinematics import Stands, axis_moves, standing
from loopwright.loop.loading import wrenches
from loopwright.loop.motions import held_place
from loopwright.loop.rows import Loop
from loopwright.loop.sources import SourceKind
from loopwright.loop.touching import Touching
from loopwright.model.error_motions import letter
from loopwright.model.indications import Indication
from loopwright.model.joints import JointKind

Array = NDArray[np.float64]

_ROUNDS = 12
_SOFTEST = 0.05
"""Fraction of its stated stiffness that a contact keeps at least: a spread may reach below zero, a spring cannot."""
_AXES = {name: np.eye(3)[i % 3] for i, name in enumerate("XYZABC")}


def exact_indication(loop: Loop, indication: Indication, poses: Mapping[str, Array], x: Array) -> Array:
    """What an indication shows by exact rigid-body motion, before zeroing.

    Args:
        loop: the loop.
        indication: what is asked.
        poses: axis positions by letter, each (cases,).
        x: every source, (cases, sources), each in its own unit.

    Returns:
        (cases, components), mm or rad.
    """
    machine = _Machine(loop, axis_moves(loop.build, dict(poses)), x, set(indication.under))
    first, second = indication.between
    ideal = {body: machine.ideal(body) for body in (first, second)}
    now = {body: machine.actual(body) for body in (first, second)}
    point = _apply(ideal[second], np.broadcast_to(np.asarray(indication.point), (len(x), 3)))
    if indication.angular:
        turns = [now[b][:, :3, :3] @ ideal[b][:, :3, :3].transpose(0, 2, 1) for b in (second, first)]
        found = _turn_vector(turns[0] @ turns[1].transpose(0, 2, 1))
    else:
        places = []
        for body in (second, first):
            material = _apply(np.asarray(np.linalg.inv(ideal[body])), point)
            places.append(
                _apply(now[body], material * (1 + machine.strain(loop.growth.bodies.get(body, ())))[:, None])
            )
        found = places[0] - places[1]
    return _along(loop, indication, machine.moves, found)


def _along(loop: Loop, indication: Indication, moves: dict[str, Array], found: Array) -> Array:
    if indication.along is not None:
        directions = np.array([indication.along])
    else:
        directions = np.array([_AXES[c] for c in indication.components])
    if indication.turns_with is None:
        return np.asarray(found @ directions.T)
    turn = standing(loop.build, indication.turns_with, moves).turn
    return np.asarray(np.einsum("ni,nij,cj->nc", found, turn, directions))


class _Machine:
    """A machine with its sources at stated values, one case for each row."""

    def __init__(self, loop: Loop, moves: dict[str, Array], x: Array, under: set[str]) -> None:
        self.loop, self.moves, self.x, self.under = loop, moves, x, under
        self.stands = Stands(loop.build, moves)
        self._joints: dict[str, Array] = {}

    def ideal(self, body: str) -> Array:
        """Nominal place of a body, (cases, 4, 4)."""
        out = np.tile(np.eye(4), (len(self.x), 1, 1))
        for name in self.loop.build.path_to(body):
            out = out @ self._nominal(self.loop.joints[name])
        return np.asarray(out)

    def actual(self, body: str) -> Array:
        """Actual place of a body, (cases, 4, 4)."""
        out = np.broadcast_to(np.eye(4), (len(self.x), 4, 4))
        for name in self.loop.build.path_to(body):
            if name not in self._joints:
                self._joints[name] = self._placed(self.loop.joints[name])
            out = out @ self._joints[name]
        return np.asarray(out)

    def strain(self, strain: Strain) -> Array:
        """Strain of a body in each case: coefficient times warmth, with neither held at its expected value."""
        alpha = next((factor for place, factor in strain if self._is_warmth(place)), 0.0)
        warmth = sum(
            (self.x[:, place] for place, _ in strain if self._is_warmth(place)), np.zeros(len(self.x))
        )
        more = sum(
            (self.x[:, place] for place, _ in strain if not self._is_warmth(place)), np.zeros(len(self.x))
        )
        return np.asarray((alpha + more) * warmth)

    def _is_warmth(self, place: int) -> bool:
        return self.loop.sources[place].dimension.value == "temperature difference"

    def _step(self, model: JointModel) -> Array:
        return self.moves.get(model.name, np.zeros(len(self.x)))

    def _nominal(self, model: JointModel) -> Array:
        joint, move = model.joint, self._step(model)
        if joint.kind is JointKind.LINEAR:
            return _shift(move[:, None] * np.asarray(joint.along))
        if joint.kind is JointKind.ROTARY:
            return _about(np.asarray(joint.at), np.asarray(joint.about), move)
        return np.broadcast_to(np.eye(4), (len(self.x), 4, 4))

    def _placed(self, model: JointModel) -> Array:
        """Place of the child in its parent: nominal move, then its error motions, then what its contacts make of it."""
        nominal = self._nominal(model)
        moved = self._declared(model, nominal) @ nominal
        if not model.contacts.names:
            return self._given(model) @ self._grown(model) @ moved
        return self._seated(model, nominal) @ moved

    def _declared(self, model: JointModel, nominal: Array) -> Array:
        joint = model.joint
        values: dict[str, Array] = {}
        for moving in model.motions.moving:
            chosen = self.x[:, model.places[moving.columns]]
            value = (moving.sizes(self._step(model)) * chosen).sum(axis=1)
            values[moving.letters] = values.get(moving.letters, 0.0) + value
        out = np.broadcast_to(np.eye(4), (len(self.x), 4, 4))
        if not values:
            return out
        place = _apply(nominal, np.broadcast_to(np.asarray(joint.errors_at), (len(self.x), 3)))
        shift = np.zeros((len(self.x), 3))
        for letters, value in sorted(values.items()):
            what, axis = letter(letters), _AXES[letter(letters).direction]
            if what.squareness and joint.kind is JointKind.ROTARY:
                tilt = _about(np.asarray(joint.at), axis, value)
                out = tilt @ nominal @ np.linalg.inv(tilt) @ np.linalg.inv(nominal) @ out
            elif what.squareness:
                # ISO 230-1 states it as the slope of a straight line, so it is a displacement in proportion to the move
                shift += (value * self._step(model))[:, None] * np.cross(axis, np.asarray(joint.along))
            elif what.angular:
                out = _about(place, axis, value) @ out
            else:
                shift += value[:, None] * axis
        return np.asarray(_shift(shift) @ out)

    def _grown(self, model: JointModel) -> Array:
        """A joint without contacts is held at a point: it goes where the parent's growth takes that point."""
        joint, move, bodies = model.joint, self._step(model), self.loop.growth.bodies
        parent = self.strain(bodies.get(joint.parent, ()))[:, None] * held_place(joint, move, False)
        child = self.strain(bodies.get(joint.child, ()))[:, None] * held_place(joint, move, True)
        return _shift(parent - child)

    def _load(self, model: JointModel) -> Array:
        parent, carried = self.stands.of(model.joint.parent), self.loop.carried[model.name]
        total = np.zeros((len(self.x), 6))
        for place, wrench in wrenches(self.stands, self.loop.pulls, carried, parent, self.under).items():
            total += self.x[:, place, None] * wrench
        return total

    def _given(self, model: JointModel) -> Array:
        """What a joint with a lumped stiffness gives under its load."""
        compliance = model.at(self._step(model)).compliance
        places = self.loop.stiffness_places.get(model.name, [])
        softer = 1 / np.maximum(1 + self.x[:, places[0]], _SOFTEST) if places else np.ones(len(self.x))
        twist = softer[:, None] * (compliance @ self._load(model)[..., None])[..., 0]
        return _moved_by(twist)

    def _seated(self, model: JointModel, nominal: Array) -> Array:
        """The rigid motion at which contact forces and load are in balance, by Newton's iteration."""
        contacts, move = model.contacts, self._step(model)
        points, normals = contacts.geometry(move)
        seats, material = self._seats(model, points, normals, nominal)
        cold = np.array([self.loop.sources[p].kind is not SourceKind.HEAT for p in model.places], bool)
        pushed = _pushed(contacts, move, cold, self.x[:, model.places[cold]])
        stiffness, load = self._stiffness(model), self._load(model)
        out = np.broadcast_to(np.eye(4), (len(self.x), 4, 4))
        for _ in range(_ROUNDS):
            here = _apply_many(out, material)
            gap = pushed - np.einsum("nci,nci->nc", here - seats, normals)
            rows = np.concatenate([normals, np.cross(here, normals)], axis=-1)
            weighted = rows * stiffness[..., None]
            left = np.einsum("nci,nc->ni", weighted, gap) + load
            step = np.linalg.solve(weighted.transpose(0, 2, 1) @ rows, left[..., None])[..., 0]
            out = _moved_by(step) @ out
            if np.abs(step[:, :3]).max(initial=0) < 1e-11 and np.abs(step[:, 3:]).max(initial=0) < 1e-14:
                break
        return out

    def _seats(self, model: JointModel, points: Array, normals: Array, nominal: Array) -> tuple[Array, Array]:
        """Where the parent's seats are, and where the child's material is before it is seated; (cases, contacts, 3)."""
        joint, bodies = model.joint, self.loop.growth.bodies
        parent = self.strain(bodies.get(joint.parent, ()))[:, None, None]
        child = self.strain(bodies.get(joint.child, ()))[:, None, None]
        seats = points * (1 + parent)
        material = _apply_many(np.asarray(np.linalg.inv(nominal)), points) * (1 + child)
        for path, drive in joint.every_drive():
            number = model.contacts.names.index(path.replace("drives/", "drive "))
            held = np.asarray(drive.fixed_at if drive.fixed_at is not None else drive.at)
            screw = self.strain(self.loop.growth.drives.get((model.name, path), ()))[:, None]
            if joint.kind is JointKind.LINEAR:
                seats[:, number] = held * (1 + parent[:, 0]) + (points[:, number] - held) * (1 + screw)
        return seats, _apply_many(nominal, material)

    def _stiffness(self, model: JointModel) -> Array:
        stated = np.array(model.contacts.stiffness)
        places = self.loop.stiffness_places.get(model.name, [])
        if not places:
            return np.broadcast_to(stated, (len(self.x), len(stated)))
        share = 1 + self.x[:, places[0], None] + self.x[:, np.array(places[1:])]
        return np.asarray(stated * np.maximum(share, _SOFTEST))


def _pushed(contacts: Touching, move: Array, cold: Array, x: Array) -> Array:
    """How far each contact stands proud, (cases, contacts)."""
    # few moves are met in many cases: all sources at all moves is one small product
    moves = np.array(sorted(set(move.tolist())))
    at = np.searchsorted(moves, move)
    pushed = np.tensordot(contacts.deviations(moves)[:, :, cold], x, (2, 1))
    return np.asarray(pushed[at, :, np.arange(len(x))])


def _shift(step: Array) -> Array:
    out = np.tile(np.eye(4), (len(step), 1, 1))
    out[:, :3, 3] = step
    return out


def _about(centre: Array, axis: Array, angle: Array) -> Array:
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    turn = (
        np.eye(3)
        + np.sin(angle)[:, None, None] * cross
        + (1 - np.cos(angle))[:, None, None] * (cross @ cross)
    )
    out = np.tile(np.eye(4), (len(angle), 1, 1))
    out[:, :3, :3] = turn
    middle = np.broadcast_to(centre, (len(angle), 3))
    out[:, :3, 3] = middle - (turn @ middle[..., None])[..., 0]
    return out


def _moved_by(twist: Array) -> Array:
    """Rotation by the twist's rotation vector about the origin, then its displacement."""
    angle = np.linalg.norm(twist[:, 3:], axis=1)
    axis = np.divide(twist[:, 3:], angle[:, None], out=np.zeros_like(twist[:, 3:]), where=angle[:, None] > 0)
    cross = np.zeros((len(twist), 3, 3))
    cross[:, 0, 1], cross[:, 0, 2], cross[:, 1, 2] = -axis[:, 2], axis[:, 1], -axis[:, 0]
    cross -= cross.transpose(0, 2, 1)
    out = _shift(twist[:, :3])
    sin, cos = np.sin(angle)[:, None, None], np.cos(angle)[:, None, None]
    out[:, :3, :3] = np.eye(3) + sin * cross + (1 - cos) * (cross @ cross)
    return out


def _apply(place: Array, points: Array) -> Array:
    return np.asarray((place[:, :3, :3] @ points[..., None])[..., 0] + place[:, :3, 3])


def _apply_many(place: Array, points: Array) -> Array:
    return np.asarray(np.einsum("nij,ncj->nci", place[:, :3, :3], points) + place[:, None, :3, 3])


def _turn_vector(turn: Array) -> Array:
    """Rotation vector of rotation matrices, exact for any angle below half a turn."""
    skew = (
        np.stack(
            [turn[:, 2, 1] - turn[:, 1, 2], turn[:, 0, 2] - turn[:, 2, 0], turn[:, 1, 0] - turn[:, 0, 1]],
            axis=1,
        )
        / 2
    )
    sine = np.linalg.norm(skew, axis=1)
    angle = np.arctan2(sine, (np.trace(turn, axis1=1, axis2=2) - 1) / 2)
    factor = np.divide(angle, sine, out=np.ones_like(angle), where=sine > 1e-12)
    return np.asarray(skew * factor[:, None])
