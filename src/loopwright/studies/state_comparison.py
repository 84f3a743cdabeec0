"""The machine from state to state: where every target stood in each, and what lies between any two of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loopwright.asbuilt.worth import Prospect
from loopwright.errors import Cancelled, RequestError
from loopwright.loop.threads import one_thread
from loopwright.model.build import Units
from loopwright.model.records import Entry, Reading, State
from loopwright.studies.as_built import sizes
from loopwright.studies.bench import Bench, bench
from loopwright.studies.books import up_to_state
from loopwright.studies.effect import TargetEffect
from loopwright.studies.fitup_progress import SetOne, made_in, states_in_order
from loopwright.units import Dimension

Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]


@dataclass(frozen=True)
class Stood:
    """Where one target stood; mm or rad.

    Attributes:
        expected: size of its error at the worst pose.
        unknown: standard uncertainty there.
        chance: to meet the limit everywhere, every deviation counted as normal.
    """

    expected: float
    unknown: float
    chance: float


@dataclass(frozen=True)
class StateStood:
    """One state of the machine.

    Attributes:
        number: of the state; entry: that it began with.
        at, who, reason, cause: of that entry.
        step: of the fit-up that it belongs to; ''.
        things: what was done.
        readings: how many were taken in it.
        begun: each target as the state began, nothing read in it yet.
        ended: each target with all that was read in it.
    """

    number: int
    entry: int
    at: str
    who: str
    reason: str
    cause: str
    step: str
    things: tuple[SetOne, ...]
    readings: int
    begun: tuple[Stood, ...]
    ended: tuple[Stood, ...]


@dataclass(frozen=True)
class Between:
    """What lies between two states.

    Attributes:
        first, second: numbers of the states.
        targets: each target at the end of the first and at the end of the second.
        states: every state after the first up to the second, with what was done in it.
        readings: how many were taken in them.
    """

    first: int
    second: int
    targets: tuple[TargetEffect, ...]
    states: tuple[StateStood, ...]
    readings: int


@dataclass(frozen=True)
class StatesCompared:
    """The machine from state to state, by the description that counts now.

    Attributes:
        build: its name; units: in which the user reads; confidence: of the build.
        last: number of the last entry that was counted.
        targets: name, dimension and limit of each.
        states: oldest first.
    """

    build: str
    units: Units
    confidence: float
    last: int
    targets: tuple[tuple[str, Dimension, float], ...]
    states: tuple[StateStood, ...]

    def between(self, first: int, second: int) -> Between:
        """What lies between two states.

        Raises:
            RequestError: there is no such state.
        """
        first, second = min(first, second), max(first, second)
        known = {one.number: one for one in self.states}
        for number in (first, second):
            if number not in known:
                raise RequestError(
                    f"there is no state {number}", f"the book has states {', '.join(map(str, known))}"
                )
        was, now = known[first].ended, known[second].ended
        targets = tuple(
            TargetEffect(
                name, dimension, limit, a.expected, b.expected, a.unknown, b.unknown, a.chance, b.chance
            )
            for (name, dimension, limit), a, b in zip(self.targets, was, now)
        )
        passed = tuple(one for one in self.states if first < one.number <= second)
        return Between(first, second, targets, passed, sum(one.readings for one in passed))


def states_compared(
    found: Bench, *, progress: Progress | None = None, cancel: Cancel | None = None
) -> StatesCompared:
    """Where every target stood in each state of the machine.

    Args:
        found: the build as it stands.
        progress: called with how many states were worked out, and how many there are.
        cancel: asked between; True stops.

    Raises:
        Cancelled: ``cancel`` said so.
    """
    states = states_in_order(found)
    out = []
    with one_thread():
        for done, (entry, state) in enumerate(states):
            if progress is not None:
                progress(done, len(states))
            if cancel is not None and cancel():
                raise Cancelled(f"stopped after {done} states")
            out.append(_stood(found, entry, state))
    targets = tuple((name, t.dimension, t.limit) for name, t in found.build.targets.items())
    build = found.build
    return StatesCompared(build.name, build.units, build.confidence, found.last, targets, tuple(out))


def _stood(found: Bench, entry: Entry, state: State) -> StateStood:
    number = entry.of or 1
    before = [e for e in up_to_state(found.entries, number) if not _read_in(e, number)]
    own = [e for e in found.entries if _read_in(e, number)]
    begun = bench(before, last=found.last, book=found.book, like=found)
    ended = begun if not own else bench([*before, *own], last=found.last, book=found.book, like=found)
    made = made_in(found, entry, state)
    return StateStood(
        number,
        entry.number,
        entry.at,
        entry.who,
        state.reason,
        state.cause,
        state.step or "",
        made.things,
        len(own),
        _targets(begun, number),
        _targets(ended, number),
    )


def _read_in(entry: Entry, state: int) -> bool:
    return isinstance(entry.record, Reading) and entry.record.state == state


def _targets(then: Bench, state: int) -> tuple[Stood, ...]:
    names: Sequence[str] = list(then.build.targets)
    if not names:
        return ()
    rows = [then.rows(name) for name in names]
    chances = [
        left.chance or 0.0
        for left in Prospect(then.knowledge, rows, [then.target(n).limit for n in names]).now()
    ]
    out = []
    for one, chance in zip(rows, chances):
        size, _, _, unknown = sizes(then.knowledge, one, state)
        out.append(Stood(size, unknown, chance))
    return tuple(out)
