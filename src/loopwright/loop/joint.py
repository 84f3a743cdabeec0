"""One joint solved: where its child goes for a unit of every source, along the travel.

xi = (G' K G)^-1 (G' K d + w),   r = d - G xi,   f = K r
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import Problem
from loopwright.loop.columns import Context, touching
from loopwright.loop.held import held_problems
from loopwright.loop.motions import Motions, held_place, motions
from loopwright.loop.touching import Touching
from loopwright.loop.twists import cross, rows_at, shift_matrix
from loopwright.model.build import Build
from loopwright.model.joints import Joint, JointStiffness

Array = NDArray[np.float64]

MOST_KEPT = 16
"""Sets of moves for which a joint stays solved: many tests sweep the same stations, or hold the axis where it is."""


@dataclass(frozen=True)
class JointAt:
    """A joint at some moves of its axis from home; arrays begin with the moves (m).

    Attributes:
        rows: G, one row per contact, (m, contacts, 6).
        stiffness: k of the contacts, N/mm, (contacts,).
        deviations: how far a unit of each source pushes each contact, (m, contacts, columns).
        placement: twist of the child for a unit of each source, (m, 6, columns), parent's frame.
        compliance: twist of the child for a unit wrench on it, (m, 6, 6).
        misfit: r for a unit of each source, (m, contacts, columns).
    """

    rows: Array
    stiffness: Array
    deviations: Array
    placement: Array
    compliance: Array
    misfit: Array


@dataclass(frozen=True)
class JointModel:
    """A joint of the build with its contacts, its declared motions, and the places of its sources in x."""

    name: str
    joint: Joint
    contacts: Touching
    motions: Motions
    _kept: dict[bytes, JointAt] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def places(self) -> NDArray[np.intp]:
        """Place in x of each of its columns."""
        return np.array(self.contacts.columns.places, np.intp)

    @cached_property
    def blocks(self) -> list[tuple[slice, NDArray[np.intp]]]:
        """Where its columns lie side by side in x: the places there, and the columns in that order."""
        if not len(self.places):
            return []
        order = np.argsort(self.places)
        runs = np.split(order, np.flatnonzero(np.diff(self.places[order]) != 1) + 1)
        return [(slice(int(self.places[run[0]]), int(self.places[run[-1]]) + 1), run) for run in runs]

    def at(self, moves: Array) -> JointAt:
        """The joint solved at moves from home, (m,); what it gives is kept, and not to be changed."""
        key = moves.tobytes()
        found = self._kept.get(key)
        if found is None:
            if len(self._kept) >= MOST_KEPT:
                self._kept.clear()
            found = self._kept[key] = self._solved(moves)
            for array in vars(found).values():
                array.flags.writeable = False
        return found

    def _solved(self, moves: Array) -> JointAt:
        columns = len(self.contacts.columns.places)
        declared = self.motions.twists(moves)
        if not self.contacts.names:
            empty = np.zeros((len(moves), 0, columns))
            compliance = lumped_compliance(self.joint, moves, self.motions)
            return JointAt(np.zeros((len(moves), 0, 6)), np.zeros(0), empty, declared, compliance, empty)
        points, normals = self.contacts.geometry(moves)
        rows, k = rows_at(points, normals), np.array(self.contacts.stiffness)
        deviations = self.contacts.deviations(moves)
        compliance = compliance_of(rows, k)
        placement = compliance @ (rows.transpose(0, 2, 1) * k) @ deviations
        misfit = deviations - rows @ placement
        return JointAt(rows, k, deviations, placement + declared, compliance, misfit)


def compliance_of(rows: Array, stiffness: Array) -> Array:
    """(G' K G)^-1 about the machine origin, (m, 6, 6), for rows (m, contacts, 6) and stiffness (contacts,) in N/mm.

    Worked out about the contacts' own centre, with rotations measured at their own distance, so that it keeps its
    digits wherever the machine origin is.
    """
    normals, moments = rows[..., :3], rows[..., 3:]
    # a point on each contact's line of action, nearest the origin: enough to find the middle of the contacts
    centre = cross(normals, moments).mean(axis=(0, 1))
    shift = shift_matrix(centre)
    local = rows @ shift
    reach = float(np.sqrt((local[..., 3:] ** 2).sum(axis=-1).mean())) or 1.0
    scale = np.array([1, 1, 1, 1 / reach, 1 / reach, 1 / reach])
    local = local * scale
    inverse = np.linalg.inv(local.transpose(0, 2, 1) @ (stiffness[:, None] * local))
    back = shift * scale
    return np.asarray(back @ inverse @ back.T)


def lumped_compliance(joint: Joint, moves: Array, declared: Motions) -> Array:
    """Compliance of a joint that is given as stiffness at the point of its error motions, (m, 6, 6)."""
    out = np.zeros((len(moves), 6, 6))
    if joint.stiffness is None or joint.errors_at is None:
        return out
    soft = np.diag(_softness(joint.stiffness))
    for number, reference in enumerate(held_place(joint, moves, of_child=False)):
        shift = shift_matrix(reference)
        out[number] = shift @ soft @ shift.T
    return out


def _softness(stiffness: JointStiffness) -> Array:
    given = [getattr(stiffness, name) for name in "XYZABC"]
    return np.array([0.0 if k is None else 1.0 / k for k in given])


def joint_model(context: Context, name: str) -> JointModel:
    """Gathers the contacts and motions of a joint, adding its sources."""
    contacts = touching(context, name)
    return JointModel(name, context.build.joints[name], contacts, motions(context, name, contacts.columns))


def problems_of(build: Build, model: JointModel) -> list[Problem]:
    """What keeps a joint from being solved."""
    return held_problems(build, model.name, model.contacts)
