"""What was set in fact: values as typed made into the record that begins a new state of the machine."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from loopwright import units
from loopwright.book import Book, Written
from loopwright.errors import BuildError, Problem, QuantityError
from loopwright.model.build import Units
from loopwright.model.records import Change, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.deciding import planned_by
from loopwright.studies.effect import TargetEffect, effect
from loopwright.studies.fitup_bench import StepReport, adjuster_report, fitup_step, state_after, step_number
from loopwright.studies.fitup_sights import dimension_of


@dataclass(frozen=True)
class Done:
    """One thing that was set or brought to size, as typed; what was left empty is as the build file has it.

    Attributes:
        path: of the adjuster, or 'part/dim'.
        value: where it now stands.
        std: standard uncertainty of that.
        lock: what locking it may have moved, standard uncertainty.
    """

    path: str
    value: str
    std: str = ""
    lock: str = ""


@dataclass(frozen=True)
class WhatWasDone:
    """Everything that was done at one time.

    Attributes:
        done: what was set or sized.
        reason: why, for people.
        step: number or name of the step of the fit-up; '' where it belongs to none.
        exchanged: parts or drives that were exchanged, with the serial of what was put in or None.
    """

    done: Sequence[Done]
    reason: str
    step: str = ""
    exchanged: Mapping[str, str | None] = field(default_factory=dict)


@dataclass(frozen=True)
class SetInFact:
    """What became of it.

    Attributes:
        bench: the build as it now stands.
        written: the entry, and what others entered meanwhile.
        targets: each target before and after.
        left_out: readings that no longer count: entry number and reason.
    """

    bench: Bench
    written: Written
    targets: tuple[TargetEffect, ...]
    left_out: tuple[tuple[int, str], ...]


def set_in_fact(
    book: Book,
    before: Bench,
    what: WhatWasDone,
    *,
    bare: Units,
    who: str,
    station: str = "",
    key: str | None = None,
    seen: int | None = None,
) -> SetInFact:
    """Enters what was done in a book: a new state of the machine begins.

    Args:
        book: open.
        before: the build as the writer saw it.
        what: was done.
        bare: units of values that are typed without one.
        who: name of the person.
        station: which screen or bench it came from.
        key: names the entry; with the same key it is entered once.
        seen: number of the last entry that the writer had seen; None: that of ``before``.

    Raises:
        BuildError: values that cannot be read, all of them at once.
        RequestError: nothing was done, or nothing can be set there.
    """
    first = None if key is None else book.entry_of_key(key)
    # sent again, it means what it meant: what is planned now is another matter
    meant = before if first is None or first.number > before.last else before.before(first.number)
    record = what_was_done(meant, what, bare=bare)
    written = book.append(
        record, who=who, station=station, key=key, seen=before.last if seen is None else seen
    )
    every = book.entries()
    earlier = before
    if written.meanwhile or written.again:
        number = written.entry.number
        earlier = bench(
            [e for e in every if e.number < number], last=number - 1, book=before.book, like=before
        )
    after = bench(every, last=every[-1].number, book=before.book, like=before, apart=True)
    known = {number for number, _ in earlier.left_out}
    fresh = tuple(one for one in after.left_out if one[0] not in known)
    return SetInFact(after, written, effect(earlier, after), fresh)


def what_was_done(found: Bench, what: WhatWasDone, *, bare: Units) -> State:
    """The record of what was done, with what had been asked for beside it.

    Args:
        found: the build as it stands.
        what: was done.
        bare: units of values that are typed without one.

    Raises:
        BuildError: values that cannot be read, all of them at once.
        RequestError: nothing was done, or nothing can be set there.
    """
    problems: list[Problem] = []
    read = {one.path: _Read.of(found, one, bare, problems) for one in what.done}
    if problems:
        raise BuildError(problems)
    state = state_after(
        found,
        {path: one.exact for path, one in read.items()},
        reason=what.reason.strip() or _reason(found, what),
        step=what.step or None,
        exchanged=dict(what.exchanged),
    )
    asked = [fitup_step(found, what.step)] if what.step else [adjuster_report(found, path) for path in read]
    changes = tuple(_stated(change, read) for change in state.changes)
    return _planned(state.model_copy(update={"changes": changes}), asked)


def _planned(state: State, asked: Sequence[StepReport]) -> State:
    for one in asked:
        state = planned_by(state, one)
    return state


def _reason(found: Bench, what: WhatWasDone) -> str:
    if what.step:
        return found.build.fit_up[step_number(found, what.step) - 1].step
    return ", ".join([*(one.path for one in what.done), *what.exchanged])


@dataclass(frozen=True)
class _Read:
    """A typed value, read: in the text that reads back to the same number, and what was said of its uncertainty."""

    exact: str
    std: float | None
    lock: float | None

    @classmethod
    def of(cls, found: Bench, one: Done, bare: Units, problems: list[Problem]) -> "_Read":
        dim = found.build.dim(one.path)
        dimension = dimension_of(one.path) if dim is None else dim.dimension
        # a setting is small and typed like an error, a size is typed like a size
        unit = bare.shown(dimension) if dim is None else bare.bare()[dimension]

        def number(text: str, what: str, small: str) -> float | None:
            if not text.strip():
                return None
            try:
                return units.parse(text.strip().replace("−", "-"), dimension, bare=small)
            except QuantityError as error:
                problems.append(Problem(f"{one.path}{what}", error.what, error.remedy))
                return None

        value, small = number(one.value, "", unit), bare.shown(dimension)
        std, lock = number(one.std, ", ±", small), number(one.lock, ", lock", small)
        if not one.value.strip():
            problems.append(Problem(one.path, "has no value", "give where it stands now, or leave it out"))
        return cls(
            "" if value is None else units.format_exact(value, dimension),
            None if std is None else abs(std),
            None if lock is None else abs(lock),
        )


def _stated(change: Change, read: Mapping[str, _Read]) -> Change:
    found = read.get(change.of)
    if found is None:
        return change
    more = {"std": found.std, "lock_std": found.lock}
    return change.model_copy(update={name: value for name, value in more.items() if value is not None})
