"""Fit-up before metal is cut: what each step will leave, which adjuster may run out, which step could be left out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.misfit import JointMisfit, misfits
from loopwright.errors import Cancelled, RequestError
from loopwright.fitup.order import Outlook, Step, outlook
from loopwright.model.build import Units
from loopwright.model.records import Revision
from loopwright.studies.bench import Bench, bench
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
Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]

NOTHING = 0.001
"""A step that costs a smaller share of every limit when it is left out brings nothing."""


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

    @property
    def droppable(self) -> bool:
        """Leaving it out would cost nothing that anybody could see at the end."""
        return self.dropped is not None and self.dropped < NOTHING


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

    @property
    def binds(self) -> tuple["Binds", ...]:
        """Every contact of an over-constrained joint, joint by joint, the most strained first."""
        return tuple(
            Binds(
                joint.joint,
                joint.contacts,
                joint.spare,
                one.contact,
                one.misfit,
                one.force,
                None if one.clearance is None else 2 * one.clearance,
                one.lifts,
            )
            for joint in self.binding
            for one in joint.worst
        )


@dataclass(frozen=True)
class Binds:
    """A contact that must give for its joint to go together.

    Attributes:
        joint: its name; contacts: how many it has; spare: how many more than it has freedoms to hold.
        contact: its name.
        misfit: expected size of what it must give, mm.
        force: that this makes, N.
        larger: how much larger than what goes in a hole or pocket must be to let it float instead at the build's
            confidence, mm; None where the joint would not be held without it.
        lifts: chance that it lifts; None where nothing presses it.
    """

    joint: str
    contacts: int
    spare: int
    contact: str
    misfit: float
    force: float
    larger: float | None
    lifts: float | None


def before_metal(found: Bench) -> Bench:
    """A build as its newest description has it, before anything was made or read.

    Args:
        found: the build as it stands.
    """
    described = found.having(Revision)[-1:]
    return bench([entry for entry, _ in described], last=found.last, book=found.book, like=found)


def fitup_plan(
    bench: Bench, *, drop: bool = True, progress: Progress | None = None, cancel: Cancel | None = None
) -> FitUpPlan:
    """What every step of the fit-up will leave, which adjuster may run out, which step could be left out.

    Args:
        bench: the build as it stands.
        drop: whether each step is left out once, to see what it brings.
        progress: called with how many times the steps were run through, and how many times they will be.
        cancel: asked between; True stops.

    Raises:
        RequestError: the build has no fit-up steps.
        Cancelled: ``cancel`` said so.
    """
    steps, sights = _steps(bench)
    names = list(bench.build.targets)
    targets = [(bench.rows(name).matrix, bench.target(name).limit) for name in names]
    wanted = 1 + (len(steps) if drop else 0)
    whole = outlook(bench.knowledge, steps, targets, confidence=bench.build.confidence)
    costs: list[float | None] = [None] * len(steps)
    for number in range(len(steps) if drop else 0):
        if progress is not None:
            progress(number + 1, wanted)
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after the steps were run through {number + 1} times")
        costs[number] = _cost(bench, steps, number, targets, whole)
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
