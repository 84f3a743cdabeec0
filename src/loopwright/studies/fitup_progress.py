"""How far the fit-up is: what was read, set and accepted in each step, and what that left."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.asbuilt.conformity import Verdict as Decision
from loopwright.fitup.order import Settable
from loopwright.model.build import FitUpStep, Units
from loopwright.model.records import Change, Entry, State, Verdict
from loopwright.studies.bench import Bench, adjuster_words
from loopwright.studies.fitup_bench import chance_within, step_number
from loopwright.studies.fitup_moves import last_moved, rows_read, standing_reading
from loopwright.studies.fitup_sights import (
    dimension_of,
    good_enough,
    settables_at,
    sight_of,
    that_do_something,
)
from loopwright.units import Dimension

RULE = "fit-up step accepted"
"""The rule of a verdict by which somebody accepts a step of the fit-up."""
LONGEST = 200
"""Letters of a name that a verdict has room for."""


@dataclass(frozen=True)
class SetOne:
    """One thing that was set, sized or exchanged.

    Attributes:
        name: path of the adjuster, 'part/dim', or the part.
        what: 'set', 'sized' or 'renewed'.
        dimension: of its numbers.
        value: where it stands since, mm or rad; None where it was exchanged.
        std, lock_std: how well it could be hit, and what locking it may have moved.
        planned: what had been asked for, or None.
        item: serial of what was put in, or None.
    """

    name: str
    what: str
    dimension: Dimension
    value: float | None
    std: float
    lock_std: float
    planned: float | None
    item: str | None

    @property
    def off(self) -> float | None:
        """How far it stands from what had been asked for, mm or rad; None where nothing was asked for."""
        return None if self.value is None or self.planned is None else self.value - self.planned


@dataclass(frozen=True)
class Made:
    """What was done in a step at one time.

    Attributes:
        entry: its number; state: that it began.
        at, who, reason: when, by whom, why.
        things: everything that was done.
    """

    entry: int
    state: int
    at: str
    who: str
    reason: str
    things: tuple[SetOne, ...]


@dataclass(frozen=True)
class Accepted:
    """A step was accepted by somebody.

    Attributes:
        entry, at, who, why: of the entry.
        verdict, probability: what could be said of it then.
        stands: nothing has moved what it looks at since.
    """

    entry: int
    at: str
    who: str
    why: str
    verdict: str
    probability: float
    stands: bool


@dataclass(frozen=True)
class StepProgress:
    """How far one step is.

    Attributes:
        number, name: of the step.
        stage: 'not begun', 'read', 'set', 'accepted' or 'again': it was accepted, and something moved it since.
        proven: it is accepted by its readings: they say with the build's confidence that it is good enough.
        reads: each thing that it reads, and the entry of the last reading that still holds; None where there is none.
        made: what was set in it, oldest first.
        accepted: by whom, or None.
        dimension, looks_at: what it looks at.
        largest: worst known row as it stands, mm or rad.
        unknown: standard uncertainty of the worst row.
        accept, chance: what is good enough, and the chance that it is; None where nothing is stated.
        adjusts: paths of what it sets.
    """

    number: int
    name: str
    stage: str
    proven: bool
    reads: tuple[tuple[str, int | None], ...]
    made: tuple[Made, ...]
    accepted: Accepted | None
    dimension: Dimension
    looks_at: str
    largest: float
    unknown: float
    accept: float | None
    chance: float | None
    adjusts: tuple[str, ...]


@dataclass(frozen=True)
class AdjusterNow:
    """Something that can be set, as it stands.

    Attributes:
        name: path of the adjuster, or 'part/dim'.
        kind: how it is set.
        dimension: of its numbers.
        now: where it stands: setting, or size.
        low, high: its range.
        made: entry in which it was last set; None: never.
        steps: numbers of the steps that set it.
    """

    name: str
    kind: str
    dimension: Dimension
    now: float
    low: float
    high: float
    made: int | None
    steps: tuple[int, ...]


@dataclass(frozen=True)
class FitUpProgress:
    """How far a fit-up is.

    Attributes:
        build: its name; units: in which the user reads; confidence: of the build.
        state: number of the state of the machine.
        steps: in their order.
        adjusters: everything that can be set.
        next: number of the first step that is not accepted; None where all are.
    """

    build: str
    units: Units
    confidence: float
    state: int
    steps: tuple[StepProgress, ...]
    adjusters: tuple[AdjusterNow, ...]
    next: int | None


def fitup_progress(bench: Bench) -> FitUpProgress:
    """How far every step of the fit-up is.

    Args:
        bench: the build as it stands.
    """
    steps = tuple(step_progress(bench, number) for number in range(1, len(bench.build.fit_up) + 1))
    return FitUpProgress(
        bench.build.name,
        bench.build.units,
        bench.build.confidence,
        bench.state,
        steps,
        tuple(adjusters_now(bench)),
        next((one.number for one in steps if one.stage != "accepted"), None),
    )


def step_progress(bench: Bench, which: str | int) -> StepProgress:
    """How far one step is.

    Args:
        bench: the build as it stands.
        which: as for ``fitup_step``.

    Raises:
        RequestError: there is no such step.
    """
    number = step_number(bench, which)
    one = bench.build.fit_up[number - 1]
    settables = [s for path in one.adjust for s in settables_at(bench, path)]
    sight = sight_of(bench, one, settables)
    error = bench.knowledge.expected(sight.rows, bench.state)
    root = bench.knowledge.root(sight.rows, bench.state)
    unknown = np.sqrt((root**2).sum(axis=1))
    worst = int(np.argmax(np.hypot(error, unknown))) if len(error) else 0
    accept = good_enough(one, sight.dimension)
    chance = None if accept is None else chance_within(error, root, accept)
    reads = tuple((name, standing_reading(bench, name)) for name in one.read)
    made = tuple(_made(bench, one, that_do_something(settables, sight)))
    accepted = _accepted(bench, one, made)
    stage, proven = _stage(reads, made, accepted, chance is not None and chance >= bench.build.confidence)
    return StepProgress(
        number=number,
        name=one.step,
        stage=stage,
        proven=proven,
        reads=reads,
        made=made,
        accepted=accepted,
        dimension=sight.dimension,
        looks_at=sight.words,
        largest=float(np.abs(error).max(initial=0.0)),
        unknown=float(unknown[worst]) if len(unknown) else 0.0,
        accept=accept,
        chance=chance,
        adjusts=tuple(dict.fromkeys(s.name for s in settables)),
    )


def _made(bench: Bench, step: FitUpStep, settables: Sequence[Settable]) -> list[Made]:
    """States that say they belong to the step, or say nothing and change nothing but what it sets."""
    own = {s.name for s in settables}
    return [
        made_in(bench, entry, state)
        for entry, state in states_in_order(bench)
        if state.step == step.step
        or (state.step is None and state.changes and {change.of for change in state.changes} <= own)
    ]


def states_in_order(bench: Bench) -> list[tuple[Entry, State]]:
    """Entries of the states of the machine, by the number of the state; a corrected one keeps its place.

    Args:
        bench: the build as it stands.
    """
    return sorted(bench.having(State), key=lambda one: one[0].of or 1)


def made_in(bench: Bench, entry: Entry, state: State) -> Made:
    """What was done when a state began.

    Args:
        bench: the build.
        entry: of the state.
        state: its record.
    """
    return Made(
        entry.number,
        entry.of or 1,
        entry.at,
        entry.who,
        state.reason,
        tuple(_set_one(bench, change) for change in state.changes),
    )


def _set_one(bench: Bench, change: Change) -> SetOne:
    dim = bench.build.dim(change.of)
    return SetOne(
        change.of,
        change.what,
        dimension_of(change.of) if dim is None else dim.dimension,
        change.value,
        change.std,
        change.lock_std,
        change.planned,
        change.item,
    )


def _accepted(bench: Bench, step: FitUpStep, made: Sequence[Made]) -> Accepted | None:
    found = [
        (e, r) for e, r in bench.having(Verdict) if r.of == step.step[:LONGEST] and r.rule.startswith(RULE)
    ]
    if not found:
        return None
    entry, record = found[-1]
    rows = [read for name in step.read if (read := rows_read(bench, name)) is not None]
    moved = last_moved(bench, np.concatenate(rows)) if rows else 0
    later = max((one.state for one in made), default=0)
    return Accepted(
        entry.number,
        entry.at,
        entry.who,
        entry.why,
        record.verdict,
        record.probability,
        record.state >= max(moved, later),
    )


def _stage(
    reads: Sequence[tuple[str, int | None]], made: Sequence[Made], accepted: Accepted | None, holds: bool
) -> tuple[str, bool]:
    """The stage, and whether it is proven by its readings."""
    entries = [entry for _, entry in reads if entry is not None]
    whole = bool(reads) and len(entries) == len(reads)
    if accepted is not None and accepted.stands:
        return "accepted", whole and holds
    if whole and holds:
        return "accepted", True
    if accepted is not None:
        return "again", False
    if made and not (entries and max(entries) > made[-1].entry):
        return "set", False
    return ("read" if entries else "not begun"), False


def adjusters_now(bench: Bench) -> list[AdjusterNow]:
    """Everything that can be set, as it stands: adjusters, and dims of parts sized last.

    Args:
        bench: the build as it stands.
    """
    last: dict[str, int] = {}
    for entry, state in states_in_order(bench):
        last |= {change.of: entry.number for change in state.changes}
    steps: dict[str, list[int]] = {}
    for number, step in enumerate(bench.build.fit_up, 1):
        for name in dict.fromkeys(s.name for path in step.adjust for s in settables_at(bench, path)):
            steps.setdefault(name, []).append(number)
    out = []
    for name in bench.places_to_set():
        one = next(s for s in settables_at(bench, name.removesuffix("/slope")) if s.name == name)
        dim = bench.build.dim(name)
        nominal = 0.0 if dim is None else dim.nominal
        out.append(
            AdjusterNow(
                name,
                adjuster_words(bench.build, name),
                dimension_of(name),
                nominal + one.now,
                nominal + one.low,
                nominal + one.high,
                last.get(name),
                tuple(steps.get(name, ())),
            )
        )
    return out


def acceptance(bench: Bench, which: str | int) -> Verdict:
    """The record by which somebody accepts a step as it stands; it says what can be said of it, whatever that is.

    Args:
        bench: the build as it stands.
        which: as for ``fitup_step``.

    Raises:
        RequestError: there is no such step.
    """
    found = step_progress(bench, which)
    words, probability = Decision.CONFORMING, 1.0
    if found.accept is not None:
        # the verdict of the whole step, by the chance that every row of it is good enough
        probability = found.chance or 0.0
        high, low = bench.build.confidence, 1 - bench.build.confidence
        words = (
            Decision.CONFORMING
            if probability >= high
            else Decision.NOT_CONFORMING
            if probability <= low
            else Decision.UNDECIDED
        )
    return Verdict(
        of=found.name[:LONGEST],
        state=bench.state,
        verdict=str(words.value),  # type: ignore[arg-type]
        value=found.largest,
        std=found.unknown,
        limits=(None, None) if found.accept is None else (-found.accept, found.accept),
        probability=probability,
        rule=f"{RULE}; at {100 * bench.build.confidence:g} % of all it looks at" if found.accept else RULE,
    )
