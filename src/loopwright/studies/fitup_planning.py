"""Fit-up before metal is cut: what each step will leave, which adjuster may run out, which step could be left out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.misfit import JointMisfit, misfits
from loopwright.errors import RequestError
from loopwright.fitup.order import Outlook, Step, outlook
from loopwright.model.build import Units
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import candidate_named
from loopwright.studies.fitup_sights import (
    Sight,
    dimension_of,
    good_enough,
    settables_at,
    sight_of,
    that_do_something,
)
from loopwright.units import Dimension

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Planned:
    """One step of a fit-up as planned.

    Attributes:
        number, name: of the step, counted from 1.
        dimension: of what it looks at.
        looks_at: what that is, in words.
        before, after: expected size of the worst row that it looks at, mm or rad.
        accept, accepted: what is good enough, and the chance of that; None where nothing is stated.
        settings: of each thing that is set: name, dimension, standard uncertainty of its setting over machines like
            this one, range, chance that the range suffices.
        minutes: of reading.
        targets: for each target its expected size at the worst pose after the step.
        dropped: largest share of a limit that leaving the step out would cost at the end; None where it was not asked.
    """

    number: int
    name: str
    dimension: Dimension
    looks_at: str
    before: float
    after: float
    accept: float | None
    accepted: float | None
    settings: tuple[tuple[str, Dimension, float, tuple[float, float], float], ...]
    minutes: float
    targets: tuple[float, ...]
    dropped: float | None


@dataclass(frozen=True)
class FitUpPlan:
    """A fit-up run through before metal is cut.

    Attributes:
        build: its name; units: in which the user reads.
        targets: name, dimension and limit of each.
        start: for each target its expected size at the worst pose before the first step.
        chances: to meet each target after the last.
        steps: in their order.
        binding: over-constrained joints after the last step, and the float that would relieve each contact.
    """

    build: str
    units: Units
    targets: tuple[tuple[str, Dimension, float], ...]
    start: tuple[float, ...]
    chances: tuple[float, ...]
    steps: tuple[Planned, ...]
    binding: tuple[JointMisfit, ...]


def fitup_plan(bench: Bench, *, drop: bool = True) -> FitUpPlan:
    """What every step of the fit-up will leave, which adjuster may run out, which step could be left out.

    Args:
        bench: the build as it stands.
        drop: whether each step is left out once, to see what it brings.

    Raises:
        RequestError: the build has no fit-up steps.
    """
    steps, sights = _steps(bench)
    names = list(bench.build.targets)
    targets = [(bench.rows(name).matrix, bench.target(name).limit) for name in names]
    whole = outlook(bench.knowledge, steps, targets, confidence=bench.build.confidence)
    costs = (
        [_cost(bench, steps, i, targets, whole) for i in range(len(steps))] if drop else [None] * len(steps)
    )
    planned = []
    for number, (step, sight, found, cost) in enumerate(zip(steps, sights, whole.steps, costs), 1):
        each = found.ranges.each if found.ranges is not None else ()
        settings = tuple(
            (s.name, dimension_of(s.name), std, (s.low, s.high), float(chance))
            for s, std, chance in zip(step.settables, found.std, each)
        )
        planned.append(
            Planned(
                number,
                step.name,
                sight.dimension,
                sight.words,
                found.before,
                found.after,
                found.accept,
                found.accepted,
                settings,
                step.minutes,
                found.targets,
                cost,
            )
        )
    binding = misfits(bench.loop, bench.knowledge.line.prior, mean=whole.mean, root=whole.root)
    described = tuple((name, bench.target(name).dimension, bench.target(name).limit) for name in names)
    return FitUpPlan(
        bench.build.name,
        bench.build.units,
        described,
        whole.start,
        whole.chances,
        tuple(planned),
        tuple(binding),
    )


def _cost(
    bench: Bench, steps: Sequence[Step], left_out: int, targets: Sequence[tuple[Array, float]], whole: Outlook
) -> float:
    """Largest rise of an expected size at the end, as a share of its limit, when one step is left out."""
    rest = [step for number, step in enumerate(steps) if number != left_out]
    without = outlook(bench.knowledge, rest, targets)
    ends = without.steps[-1].targets if without.steps else without.start
    return max(
        ((b - a) / limit for a, b, (_, limit) in zip(whole.steps[-1].targets, ends, targets)), default=0.0
    )


def _steps(bench: Bench) -> tuple[list[Step], list[Sight]]:
    if not bench.build.fit_up:
        raise RequestError("the build has no fit-up", "add its steps under 'fit_up' in the build file")
    steps, sights = [], []
    for one in bench.build.fit_up:
        settables = [s for path in one.adjust for s in settables_at(bench, path)]
        sight = sight_of(bench, one, settables)
        readings = [candidate_named(bench, name, bench.state) for name in one.read]
        steps.append(
            Step(
                one.step,
                tuple(c.observation for c in readings),
                sight.rows,
                sight.weights,
                tuple(that_do_something(settables, sight)),
                good_enough(one, sight.dimension),
                sum(c.minutes for c in readings),
            )
        )
        sights.append(sight)
    return steps, sights
