"""The readings that could be taken next: every declared test, and every dim that was not measured."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Common, Observation
from loopwright.asbuilt.observing import closing_dim
from loopwright.asbuilt.worth import Candidate
from loopwright.errors import RequestError
from loopwright.measuring.gauging import budget_of
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.indications import Gauge, Test
from loopwright.model.records import Calibration, Reading
from loopwright.studies.bench import Bench
from loopwright.units import Dimension

__all__ = [
    "Candidate",
    "best_gauge",
    "candidate_named",
    "candidate_of_dim",
    "candidate_of_gap",
    "candidate_of_test",
    "candidates",
    "gauge_for",
    "only",
    "seen_by",
]

MINUTES_OF_A_DIM, MINUTES_OF_A_GAP = 5.0, 10.0
"""Work in reading one dim, or one gap; common practice."""
LEAST = 1e-6
"""A gauge of which nothing is stated is taken to be this good, mm or rad, so that it can be reckoned with at all."""


def candidates(bench: Bench, *, state: int | None = None, dims: bool = True) -> list[Candidate]:
    """Every declared test, and every dim that has not been read in this state and for which there is a gauge.

    Args:
        bench: the build as it stands.
        state: of the machine; None takes the newest.
        dims: whether dims are asked for too.
    """
    at = bench.state if state is None else state
    tests, every = _kept(bench, at)
    if not dims:
        return tests
    read = {r.of for _, r in bench.having(Reading) if r.subject == "dim" and r.item is None}
    std = bench.knowledge.deviations(at)[1]
    chosen = [c for c in every if c.name not in read and std[next(iter(bench.loop.dims[c.name]))] > 0]
    return [*tests, *chosen]


def seen_by(bench: Bench, found: Sequence[Candidate]) -> list[NDArray[np.float64]]:
    """What each reading sees of what is open, as ``Knowledge.sees_all`` gives it; kept until more is known."""
    key = ("seen", tuple(candidate.name for candidate in found))
    kept = bench.kept.get(key)
    if kept is None or kept[0] is not bench.knowledge:
        kept = bench.kept[key] = bench.knowledge, bench.knowledge.sees_all([c.observation for c in found])
    seen: list[NDArray[np.float64]] = kept[1]
    return seen


def _kept(bench: Bench, state: int) -> tuple[list[Candidate], list[Candidate]]:
    """Every test, and every dim that acts, as it would be read; worked out once for each state and calibration."""
    key = ("candidates", state, len(bench.having(Calibration)))
    if key not in bench.kept:
        tests = []
        for name, test in bench.build.tests.items():
            try:
                tests.append(candidate_of_test(bench, name, test, state, gauge=None))
            except RequestError:  # a test of several components at once can be read by nobody
                continue
        acting = {int(place) for model in bench.loop.joints.values() for place in model.places}
        gauges = {d: best_gauge(bench, d) for d in (Dimension.LENGTH, Dimension.ANGLE)}
        dims = [
            candidate_of_dim(bench, path, gauge, state)
            for path, own in ((path, next(iter(places))) for path, places in bench.loop.dims.items())
            if own in acting and (gauge := gauges[bench.loop.sources[own].dimension]) is not None
        ]
        bench.kept[key] = tests, dims
    found: tuple[list[Candidate], list[Candidate]] = bench.kept[key]
    return found


def candidate_of_test(bench: Bench, name: str, test: Test, state: int, *, gauge: Gauge | None) -> Candidate:
    """A declared test as it would be read, with its own gauge or another."""
    rows, _, free = bench.observer.test(name)
    count = len(rows)
    own = gauge or (bench.gauge(test.gauge) if test.gauge is not None else Gauge())
    budget = budget_of(
        own, [0.0] * test.repeats, assume=bench.build.assume, confidence=bench.build.confidence
    )
    common = [Common(f"calibration of {test.gauge} near 0", budget.shared_std, np.ones(count))]
    if test.artefact is not None:
        form = standard_uncertainty(bench.build.artefacts[test.artefact].straightness, bench.build.assume)
        common += [
            Common(f"form of {test.artefact} in {name}, {number + 1}", form, np.eye(count)[number])
            for number in range(count)
        ]
    kept = tuple(one for one in common if one.std > 0)
    stds = np.full(count, max(budget.own_std, LEAST))
    return Candidate(name, Observation(name, state, rows, np.zeros(count), stds, kept, free), test.minutes)


def candidate_of_dim(bench: Bench, path: str, gauge: str, state: int) -> Candidate:
    """A dim as it would be read with a gauge."""
    row, _ = bench.observer.dim(path)
    budget = budget_of(bench.gauge(gauge), [0.0], assume=bench.build.assume)
    std = max(float(np.hypot(budget.own_std, budget.shared_std)), LEAST)
    observation = Observation(path, state, row[None], np.zeros(1), np.array([std]))
    return Candidate(path, observation, MINUTES_OF_A_DIM)


def candidate_of_gap(bench: Bench, closure: str, state: int) -> Candidate:
    """The gap of a closure as it would be read, with the gauge that reads lengths best."""
    row, _ = bench.observer.gap(closure)
    named = closing_dim(bench.build, bench.build.closures[closure])
    gauge = gauge_for(bench, named or "")
    std = _reach(bench, gauge) if gauge is not None else LEAST
    observation = Observation(closure, state, row[None], np.zeros(1), np.array([max(std, LEAST)]))
    return Candidate(closure, observation, MINUTES_OF_A_GAP)


def candidate_named(bench: Bench, name: str, state: int) -> Candidate:
    """A reading that a step of the fit-up names: a test, a dim, or the gap of a closure.

    Raises:
        RequestError: there is no such thing, or no gauge that reads it.
    """
    if name in bench.build.tests:
        return candidate_of_test(bench, name, bench.build.tests[name], state, gauge=None)
    if name in bench.build.closures:
        return candidate_of_gap(bench, name, state)
    gauge = gauge_for(bench, name)
    if gauge is None:
        raise RequestError(f"there is no gauge that reads '{name}'", "add one under 'gauges'")
    return candidate_of_dim(bench, name, gauge, state)


def gauge_for(bench: Bench, path: str) -> str | None:
    """The gauge of the build that would read a dim best, or None where none reads its kind."""
    dim = bench.build.dim(path)
    return best_gauge(bench, dim.dimension if dim is not None else Dimension.LENGTH)


def best_gauge(bench: Bench, dimension: Dimension) -> str | None:
    """The gauge of the build that would read lengths or angles best, or None where none does."""
    fitting = [name for name, gauge in bench.build.gauges.items() if gauge.dimension is dimension]
    return min(fitting, key=lambda name: _reach(bench, name), default=None)


def _reach(bench: Bench, name: str) -> float:
    budget = budget_of(bench.gauge(name), [0.0], assume=bench.build.assume)
    return budget.combined or float("inf")


def only(found: Sequence[Candidate], names: Sequence[str]) -> list[Candidate]:
    """Candidates by their names.

    Raises:
        RequestError: one of them cannot be read.
    """
    by_name = {candidate.name: candidate for candidate in found}
    missing = [name for name in names if name not in by_name]
    if missing:
        raise RequestError(f"'{missing[0]}' is no reading that could be taken", "name a test, or part/dim")
    return [by_name[name] for name in names]
