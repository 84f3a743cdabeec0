"""Books opened for the studies: the one place where the store and the mathematics meet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from loopwright.book import Book
from loopwright.buildfile.editing import set_value
from loopwright.errors import RequestError
from loopwright.loop.threads import one_thread
from loopwright.model.records import Entry, Reading, Revision, State
from loopwright.studies.as_built import StandingAsBuilt, sizes, standing_as_built
from loopwright.studies.bench import Bench, bench, having
from loopwright.studies.next_actions import next_actions


def bench_of(book: Book, *, state: int | None = None, until: int | None = None) -> Bench:
    """The build of a book, worked out.

    Args:
        book: open.
        state: as it was in this state, with what was entered up to its end; None takes the newest.
        until: as it was after this entry; None takes all.

    Raises:
        BuildError: its newest description has mistakes.
        RequestError: there is no such state or entry.
    """
    if until is not None and not 1 <= until <= book.last_number:
        raise RequestError(
            f"the book has no entry {until}", f"it has entries 1 to {book.last_number}: loopwright history"
        )
    entries = book.entries(until=until)
    if state is not None:
        entries = up_to_state(entries, state)
    return bench(entries, last=book.last_number if until is None else until, book=book.info.build_name)


def up_to_state(entries: Sequence[Entry], state: int) -> tuple[Entry, ...]:
    """Entries as they were at the end of a state: without later states and the readings taken in them.

    Raises:
        RequestError: there is no such state.
    """
    known = [entry.of for entry in entries if entry.record.kind == "state"]
    if state not in known:
        raise RequestError(
            f"there is no state {state}", f"the book has states 1 to {max(n or 1 for n in known)}"
        )
    kept = []
    for entry in entries:
        later_state = entry.record.kind == "state" and (entry.of or 0) > state
        later_reading = isinstance(entry.record, Reading) and entry.record.state > state
        if not later_state and not later_reading:
            kept.append(entry)
    return tuple(kept)


def front_page(found: Bench, **options: object) -> StandingAsBuilt:
    """Where a build stands as built, with what to do next; options as for ``standing_as_built``."""
    with one_thread():
        page = standing_as_built(found, **options)  # type: ignore[arg-type]
        todo = next_actions(found, page)
        return replace(page, actions=todo.actions, nothing_more=todo.nothing_more)


def standing_of_book(
    book: Book, *, state: int | None = None, until: int | None = None, **options: object
) -> StandingAsBuilt:
    """Where the build of a book stands, or stood; what to do next is said of now only.

    Args:
        book: open.
        state: at the end of this state of the machine; None takes the newest.
        until: when the book had this entry and none after it; None takes all.
        options: as for ``standing_as_built``.

    Raises:
        BuildError: the description has mistakes.
        RequestError: there is no such state, entry or target.
        Cancelled: it was stopped.
    """
    found = bench_of(book, state=state, until=until)
    if state is None and until is None:
        return front_page(found, **options)
    page = standing_as_built(found, **options)  # type: ignore[arg-type]
    if until is None or until == book.last_number:
        return page
    note = f"as it stood with entry {until}; the book has {book.last_number} entries now"
    return replace(page, notes=(note, *page.notes))


@dataclass(frozen=True)
class WhatIfAsBuilt:
    """The front page as it is, and with the description changed; readings stay as they are."""

    changes: Mapping[str, str]
    before: StandingAsBuilt
    after: StandingAsBuilt


def what_if_as_built(found: Bench, changes: Mapping[str, str], **options: object) -> WhatIfAsBuilt:
    """Where the build would stand if its description said something else, with the readings that there are.

    Args:
        found: the build as it stands.
        changes: new value, as it would stand in the build file, by field path.
        options: as for ``standing_as_built``.

    Raises:
        RequestError: a change leads nowhere.
        BuildError: the changed description has mistakes.
    """
    described = found.having(Revision)
    entry, revision = described[-1]
    text = revision.text
    for path, value in changes.items():
        text = set_value(text, path, value, revision.file)
    other = entry.model_copy(update={"record": revision.model_copy(update={"text": text})})
    entries = [other if one.number == entry.number else one for one in found.entries]
    after = bench(entries, last=found.last, book=found.book)
    return WhatIfAsBuilt(
        dict(changes),
        standing_as_built(found, **options),  # type: ignore[arg-type]
        standing_as_built(after, **options),  # type: ignore[arg-type]
    )


@dataclass(frozen=True)
class StateLine:
    """One state in the history of a machine.

    Attributes:
        number: of the state.
        at, who: when it was made, and by whom.
        reason: why.
        cause: what made it.
        changes: what was done: kind, of what, value, planned value.
        readings: how many were taken in it.
        targets: for each target its expected size with all that was known at the end of the state.
        unknown: for each target the standard uncertainty then.
    """

    number: int
    at: str
    who: str
    reason: str
    cause: str
    changes: tuple[tuple[str, str, float | None, float | None], ...]
    readings: int
    targets: tuple[float, ...]
    unknown: tuple[float, ...]


@dataclass(frozen=True)
class History:
    """What happened to a build.

    Attributes:
        bench: the build as it stands, for names and units.
        states: one after the other, with where the machine stood at the end of each.
        entries: every entry asked for, superseded and withdrawn ones among them.
        gone: numbers of those that no longer count.
    """

    bench: Bench
    states: tuple[StateLine, ...]
    entries: tuple[Entry, ...]
    gone: frozenset[int]


def history(book: Book, *, since: int = 0, subject: str | None = None, states: bool = True) -> History:
    """Entries of a book, and where the machine stood at the end of each state.

    Args:
        book: open.
        since: only entries after this one.
        subject: only what touches this dim, test, adjuster or part.
        states: whether to work out where the machine stood at the end of each state.
    """
    every = book.entries()
    now = bench(every, last=book.last_number, book=book.info.build_name)
    standing = [entry for entry in now.entries if isinstance(entry.record, State)] if states else []
    made = sorted(standing, key=lambda entry: entry.of or 1)
    lines = [_state_line(entry, every, now) for entry in made]
    chosen = book.entries(since=since, subject=subject)
    counting = {entry.number for entry in now.entries}
    return History(now, tuple(lines), chosen, frozenset(e.number for e in every if e.number not in counting))


def _state_line(entry: Entry, every: tuple[Entry, ...], now: Bench) -> StateLine:
    number, record = entry.of or 1, entry.record
    assert isinstance(record, State)
    then = bench(up_to_state(every, number), like=now)
    found = [sizes(then.knowledge, then.rows(name), number) for name in now.build.targets]
    return StateLine(
        number=number,
        at=entry.at,
        who=entry.who,
        reason=record.reason,
        cause=record.cause,
        changes=tuple((c.what, c.of, c.value, c.planned) for c in record.changes),
        readings=sum(r.state == number for _, r in having(every, Reading)),
        targets=tuple(one[0] for one in found),
        unknown=tuple(one[3] for one in found),
    )
