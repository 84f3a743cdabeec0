"""Over-constraint: what joints with more contacts than freedoms must bend, or float, to go together."""

from dataclasses import dataclass
from math import erfc, sqrt

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.prior import Prior
from loopwright.loop.joint import JointAt, JointModel
from loopwright.loop.kinematics import Stands
from loopwright.loop.loading import wrenches
from loopwright.loop.rows import Loop
from loopwright.measuring.coverage import coverage_factor

Array = NDArray[np.float64]

STATIONS = 5
ROUNDING = 1e-10
"""Fraction of the largest below which a misfit or a force is nothing but rounding."""


@dataclass(frozen=True)
class ContactMisfit:
    """One contact of an over-constrained joint, at the place of the travel where it is worst.

    Attributes:
        contact: its name.
        misfit: expected size of what it must give, mm (root mean square).
        force: expected size of the force that this makes, N.
        clearance: float to either side that would relieve it at the build's confidence, mm; None where the joint
            would not be held without it.
        pressed: expected force that presses it, preload and weight included, N.
        lifts: chance that it lifts; None for a drive, and where nothing presses it: such a contact holds both ways.
    """

    contact: str
    misfit: float
    force: float
    clearance: float | None
    pressed: float
    lifts: float | None


@dataclass(frozen=True)
class JointMisfit:
    """An over-constrained joint.

    Attributes:
        joint: its name.
        contacts: how many it has.
        spare: how many more than it has freedoms to hold.
        worst: its contacts, the most strained first.
    """

    joint: str
    contacts: int
    spare: int
    worst: tuple[ContactMisfit, ...]


def misfits(
    loop: Loop, prior: Prior, *, mean: Array | None = None, root: Array | None = None
) -> list[JointMisfit]:
    """Every joint that has more contacts than freedoms, the most strained first.

    Args:
        loop: of the build.
        prior: what is believed of the deviations before any reading.
        mean: what they are believed to be instead, (sources,).
        root: F with F F' their covariance then, (sources, n).
    """
    believed = _Believed(loop.mean if mean is None else mean, np.diag(prior.std) if root is None else root)
    found = [
        _joint_misfit(loop, believed, model)
        for model in loop.joints.values()
        if len(model.contacts.names) > 6
    ]
    return sorted(found, key=lambda j: -j.worst[0].force)


@dataclass(frozen=True)
class _Believed:
    """Mean of the deviations, and a factor of their covariance."""

    mean: Array
    root: Array

    def std(self, rows: Array, places: NDArray[np.intp]) -> Array:
        """Standard uncertainty of rows over some of the deviations, (..., places)."""
        return np.asarray(np.sqrt(((rows @ self.root[places]) ** 2).sum(axis=-1)))


def _joint_misfit(loop: Loop, believed: _Believed, model: JointModel) -> JointMisfit:
    low, high = model.joint.travel or (model.joint.home, model.joint.home)
    moves = np.linspace(low, high, STATIONS if high > low else 1) - model.joint.home
    at = model.at(moves)
    std = believed.std(at.misfit, model.places)
    mean = np.asarray(at.misfit @ believed.mean[model.places])
    # what is left by rounding where nothing strains a contact must not decide whether it lifts
    moved = believed.std(at.deviations, model.places) + np.abs(at.deviations @ believed.mean[model.places])
    std, mean = _rounded_off(std, moved), _rounded_off(mean, moved)
    size = np.sqrt(mean**2 + std**2)
    force = size * at.stiffness
    pressed = np.array(model.contacts.preload) + at.stiffness * (mean - _give(loop, model, at, moves))
    pressed = _rounded_off(pressed, pressed)
    lifts = _chance_below_zero(pressed, std * at.stiffness)
    one_way = _one_way(model, pressed)
    left = 1 - np.einsum("mci,mij,mcj,c->mc", at.rows, at.compliance, at.rows, at.stiffness)
    reach = coverage_factor(loop.build.confidence)
    worst = [
        ContactMisfit(
            name,
            float(size[m, c]),
            float(force[m, c]),
            None if left[m, c] < 1e-9 else float((abs(mean[m, c]) + reach * std[m, c]) / left[m, c]),
            float(pressed[m, c]),
            float(lifts[:, c].max()) if one_way[c] else None,
        )
        for c, name in enumerate(model.contacts.names)
        for m in [int(np.argmax(force[:, c]))]
    ]
    spare = len(worst) - 6
    return JointMisfit(model.name, len(worst), spare, tuple(sorted(worst, key=lambda c: -c.force)))


def _rounded_off(values: Array, scale: Array) -> Array:
    """The values, with zero in place of those that are lost in the rounding of a scale."""
    return np.where(np.abs(values) > ROUNDING * np.abs(scale).max(initial=0.0), values, 0.0)


def _one_way(model: JointModel, pressed: Array) -> NDArray[np.bool_]:
    """Contacts that something presses or pulls; the drives among them hold both ways."""
    drives = {path.replace("drives/", "drive ") for path, _ in model.joint.every_drive()}
    strained = np.abs(pressed).max(axis=0) > 1e-6 * max(float(np.abs(pressed).max()), 1.0)
    return np.array([name not in drives and bool(s) for name, s in zip(model.contacts.names, strained)])


def _give(loop: Loop, model: JointModel, at: JointAt, moves: Array) -> Array:
    """What each contact gives under the weight it carries, all other axes at home, (moves, contacts); mm."""
    every = {
        name: moves if name == model.name else np.zeros(len(moves)) for name in loop.build.axes().values()
    }
    every = every or {model.name: np.zeros(1)}
    stands, carried = Stands(loop.build, every), loop.carried[model.name]
    weight = np.zeros((len(moves), 6))
    pulling = wrenches(stands, loop.pulls, carried, stands.of(model.joint.parent), set())
    for place, wrench in pulling.items():
        weight += loop.sources[place].spread.mean * wrench
    return np.asarray((at.rows @ (at.compliance @ weight[..., None]))[..., 0])


def _chance_below_zero(mean: Array, std: Array) -> Array:
    """P(force < 0) for a normal force; a contact that nothing strains or presses counts as not lifting."""
    ratio = np.divide(mean, std, out=np.full_like(mean, np.inf), where=std > 0)
    ratio = np.where((std <= 0) & (mean < 0), -np.inf, ratio)
    return np.asarray(np.vectorize(lambda z: 0.5 * erfc(z / sqrt(2)), otypes=[float])(ratio))
