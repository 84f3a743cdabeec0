"""What a step of the fit-up looks at, and what can be set in it, as rows and places in the deviations."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.observing import ANEW, adjuster_at, closing_dim
from loopwright.errors import RequestError
from loopwright.fitup.order import Settable
from loopwright.loop.columns import rail_ends
from loopwright.measuring.gauging import budget_of
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.build import Closure, FitUpStep
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import gauge_for
from loopwright.units import Dimension

Array = NDArray[np.float64]

STATIONS = 5
"""Places along the travel at which the misfit of a contact is looked at."""
DOES_NOTHING = 1e-4
"""A setting does nothing to what a step looks at where it moves that by less than this share of its own movement."""


@dataclass(frozen=True)
class Sight:
    """What a step looks at."""

    rows: Array
    weights: Array
    dimension: Dimension
    words: str


def good_enough(step: FitUpStep, dimension: Dimension) -> float | None:
    """What a step accepts, mm or rad; None where it does not say."""
    return step.accept_angle if dimension is Dimension.ANGLE else step.accept


def that_do_something(settables: Sequence[Settable], sight: Sight) -> list[Settable]:
    """Those of some settables that move what a step looks at."""
    effects = np.abs(sight.rows[:, [s.place for s in settables]]).max(axis=0, initial=0.0)
    return [s for s, effect in zip(settables, effects) if effect > DOES_NOTHING]


def sight_of(bench: Bench, step: FitUpStep, settables: Sequence[Settable]) -> Sight:
    """What a step looks at, the first of these that its settings move.

    Its tests; else the misfit of the contacts that it sets; else all targets, each counted in its limit.
    """
    tests = [name for name in step.read if name in bench.build.tests]
    if tests:
        seen = _tests_in_sight(bench, step, tests)
        if not settables or that_do_something(settables, seen):
            return seen
    misfits = _misfits_in_sight(bench, settables)
    if misfits is not None and that_do_something(settables, misfits):
        return misfits
    return _targets_in_sight(bench)


def _targets_in_sight(bench: Bench) -> Sight:
    names = list(bench.build.targets)
    parts = [bench.rows(name).matrix.reshape(-1, len(bench.loop.sources)) for name in names]
    weights = [np.full(len(part), 1 / bench.target(name).limit ** 2) for name, part in zip(names, parts)]
    lengths = [name for name in names if bench.target(name).dimension is Dimension.LENGTH]
    dimension = Dimension.LENGTH if lengths or not names else Dimension.ANGLE
    empty = np.zeros((0, len(bench.loop.sources)))
    return Sight(
        np.concatenate([empty, *parts]), np.concatenate([np.zeros(0), *weights]), dimension, "all targets"
    )


def _misfits_in_sight(bench: Bench, settables: Sequence[Settable]) -> Sight | None:
    """Misfit along the travel of every contact that something settable moves directly."""
    rows, names = [], []
    for joint, model in bench.loop.joints.items():
        low, high = model.joint.travel or (model.joint.home, model.joint.home)
        moves = np.linspace(low, high, STATIONS if high > low else 1) - model.joint.home
        own = [i for i, place in enumerate(model.places) if place in {s.place for s in settables}]
        if not own or not model.contacts.names:
            continue
        at = model.at(moves)
        for number, name in enumerate(model.contacts.names):
            if np.abs(at.deviations[:, number, own]).max() > DOES_NOTHING:
                out = np.zeros((len(moves), len(bench.loop.sources)))
                out[:, model.places] = at.misfit[:, number]
                rows.append(out)
                names.append(f"{joint}/{name}")
    if not rows:
        return None
    matrix = np.concatenate(rows)
    listed = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
    return Sight(matrix, np.ones(len(matrix)), Dimension.LENGTH, f"misfit of {listed}")


def _tests_in_sight(bench: Bench, step: FitUpStep, names: Sequence[str]) -> Sight:
    tests = [bench.build.tests[name] for name in names]
    dimensions = {test.dimension for test in tests}
    wanted = Dimension.ANGLE if step.accept_angle is not None and step.accept is None else tests[0].dimension
    rows, weights = [], []
    for test in tests:
        found = bench.loop.rows(test)
        rows.append(found.matrix.reshape(-1, found.matrix.shape[-1]))
        scale = _scale(step, test.dimension) if len(dimensions) > 1 else 1.0
        weights.append(np.full(len(rows[-1]), scale))
    if len(dimensions) > 1:  # rows of the other kind are counted in the unit of the step
        factor = {d: np.sqrt(_scale(step, d) / _scale(step, wanted)) for d in dimensions}
        rows = [r * factor[test.dimension] for r, test in zip(rows, tests)]
        weights = [np.ones(len(r)) for r in rows]
    return Sight(np.concatenate(rows), np.concatenate(weights), wanted, ", ".join(names))


def _scale(step: FitUpStep, dimension: Dimension) -> float:
    """Weight of a row by what is good enough of its kind; an arcsecond counts as a micrometre where nothing is said."""
    good = good_enough(step, dimension)
    return 1 / (good or (4.85e-6 if dimension is Dimension.ANGLE else 1e-3)) ** 2


def _closures(bench: Bench, joint: str, contact: str) -> list[tuple[str, Closure]]:
    return [(n, c) for n, c in bench.build.closures.items() if c.joint == joint and c.contact == contact]


def settables_at(bench: Bench, path: str) -> list[Settable]:
    """What a path of the fit-up can set: an adjuster, both ways of a rail, or the part that closes a gap.

    Raises:
        RequestError: nothing can be set there.
    """
    joint, _, below = path.partition("/")
    clean = f"{joint}/{below.removeprefix('contacts/')}"
    out = [
        _adjuster(bench, name, place)
        for name, place in bench.loop.settings.items()
        if name in (clean, f"{clean}/slope")
    ]
    for _, closure in _closures(bench, joint, clean.partition("/")[2]) if not out else ():
        dim = closing_dim(bench.build, closure)
        if dim is not None:
            out.append(_closing(bench, closure, dim))
    if not out and clean in bench.loop.dims:
        every = bench.build.closures.values()
        filled = next((c for c in every if closing_dim(bench.build, c) == clean), None)
        out.append(_closing(bench, filled, clean))
    if not out:
        known = ", ".join([*bench.loop.settings, *bench.build.closures]) or "nothing"
        raise RequestError(f"there is nothing to set at '{path}'", f"the build can set {known}")
    return out


def _adjuster(bench: Bench, name: str, place: int) -> Settable:
    adjuster = adjuster_at(bench.build, name)
    assert adjuster is not None
    assume = bench.build.assume
    std = standard_uncertainty(adjuster.setting, assume)
    lock = standard_uncertainty(adjuster.lock_shift, assume)
    (low, high), increment = adjuster.range, adjuster.increment
    if name.endswith("/slope"):
        reach = _half_rail(bench, name)
        low, high, increment, std, lock = (v / reach for v in (low, high, increment, std, lock))
    now = bench.settings.get(name, 0.0)
    return Settable(name, place, low, high, increment, std, lock, adjuster.kind in ANEW, (), now)


def _half_rail(bench: Bench, name: str) -> float:
    joint_name, _, below = name.partition("/")
    joint = bench.build.joints[joint_name]
    assert joint.guide is not None
    start, end = rail_ends(joint, joint.guide, below.split("/")[2])
    return max((end - start) / 2, 1e-6)


def _closing(bench: Bench, closure: Closure | None, dim: str) -> Settable:
    found = bench.build.dim(dim)
    assert found is not None
    (own, _), *shared = bench.loop.dims[dim].items()
    gauge = gauge_for(bench, dim)
    std = budget_of(bench.gauge(gauge), [0.0], assume=bench.build.assume).combined if gauge else 0.0
    low, high = (None, None) if closure is None or closure.range is None else closure.range
    low, high = (found.nominal - 0.5 if low is None else low), (found.nominal + 0.5 if high is None else high)
    now = bench.sizes.get(dim, found.nominal) - found.nominal
    increment = 0.0 if closure is None else closure.increment
    return Settable(
        dim, own, low - found.nominal, high - found.nominal, increment, std, 0.0, True, tuple(shared), now
    )


def dimension_of(name: str) -> Dimension:
    """What a settable is measured in, by its name."""
    return Dimension.ANGLE if name.endswith("/slope") else Dimension.LENGTH
