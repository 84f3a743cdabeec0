"""What was entered in a book: a page of it at a time, looked through by kind, person, subject, state and words."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from loopwright.book import Book
from loopwright.model.records import (
    Calibration,
    ColumnsKept,
    Concession,
    Entry,
    Reading,
    Revision,
    State,
    Stock,
    Verdict,
    Withdrawal,
)
from loopwright.studies.bench import Bench

KINDS = (
    "reading",
    "state",
    "revision",
    "calibration",
    "concession",
    "verdict",
    "stock",
    "columns",
    "withdrawal",
)


@dataclass(frozen=True)
class Wanted:
    """Which entries are asked for; what is left empty does not count.

    Attributes:
        kind: one of ``KINDS``.
        who: the person.
        about: a dim, test, closure, adjuster, part, gauge or step; a part is all of its dims too.
        state: number of the state of the machine, None for all.
        words: words that must all stand in the entry, in whatever order; a number finds the entry of that number.
        before: only entries before this one; 0: from the newest.
    """

    kind: str = ""
    who: str = ""
    about: str = ""
    state: int | None = None
    words: str = ""
    before: int = 0


@dataclass(frozen=True)
class Line:
    """One entry in the list.

    Attributes:
        entry: as it stands in the book.
        gone: it no longer counts.
        by: number of the entry that superseded or withdrew it; None where it counts.
    """

    entry: Entry
    gone: bool
    by: int | None


@dataclass(frozen=True)
class Happened:
    """A page of a book.

    Attributes:
        lines: entries, newest first.
        found: how many there are in all that were asked for.
        entries: how many the book has.
        older: number to ask for ``before`` to see the next page; None on the last one.
        newer: number to ask for ``before`` to see the page before; 0 for the first page, None on it.
        kinds: how many entries of each kind the book has.
        people: everybody who entered something.
        states: numbers of all states of the machine.
    """

    lines: tuple[Line, ...]
    found: int
    entries: int
    older: int | None
    newer: int | None
    kinds: Mapping[str, int]
    people: tuple[str, ...]
    states: tuple[int, ...]


@dataclass(frozen=True)
class Chronicle:
    """Every entry of a book, those that no longer count among them.

    Attributes:
        entries: in the order of the book.
    """

    entries: tuple[Entry, ...]

    @cached_property
    def superseded(self) -> dict[int, int]:
        """By number of an entry that no longer counts, the number of the one that says so."""
        return {e.supersedes: e.number for e in self.entries if e.supersedes is not None}

    @cached_property
    def by_number(self) -> dict[int, Entry]:
        """Entries by their number."""
        return {entry.number: entry for entry in self.entries}

    @cached_property
    def _kinds(self) -> Mapping[str, int]:
        counted: Counter[str] = Counter(entry.record.kind for entry in self.entries)
        return {kind: counted[kind] for kind in KINDS if counted[kind]}

    @cached_property
    def _words(self) -> dict[int, str]:
        return {entry.number: " ".join(words_in(entry)).casefold() for entry in self.entries}

    def page(self, wanted: Wanted, size: int = 50) -> Happened:
        """A page of what is asked for, newest first.

        Args:
            wanted: which entries.
            size: entries on a page.
        """
        found = [entry for entry in reversed(self.entries) if self._is_asked(entry, wanted)]
        start = next(
            (k for k, e in enumerate(found) if not wanted.before or e.number < wanted.before), len(found)
        )
        shown = found[start : start + size]
        more = start + size < len(found)
        back = max(start - size, 0)
        newer = None if start == 0 else 0 if back == 0 else found[back - 1].number
        return Happened(
            tuple(self.line(entry) for entry in shown),
            len(found),
            len(self.entries),
            shown[-1].number if more else None,
            newer,
            self._kinds,
            tuple(sorted({entry.who for entry in self.entries}, key=str.casefold)),
            tuple(sorted({e.of for e in self.entries if isinstance(e.record, State) and e.of is not None})),
        )

    def line(self, entry: Entry) -> Line:
        """An entry with whether it still counts."""
        by = self.superseded.get(entry.number)
        return Line(entry, by is not None, by)

    def _is_asked(self, entry: Entry, wanted: Wanted) -> bool:
        if wanted.kind and entry.record.kind != wanted.kind:
            return False
        if wanted.who and entry.who != wanted.who:
            return False
        if wanted.state is not None and state_of(entry) != wanted.state:
            return False
        if wanted.about and not is_about(entry, wanted.about):
            return False
        words = wanted.words.casefold().split()
        return not words or all(w in self._words[entry.number] or w == str(entry.number) for w in words)


def chronicle(book: Book, bench: Bench) -> Chronicle:
    """Every entry of a book; those that count are the ones that the bench holds already.

    Args:
        book: open.
        bench: the build as its book has it.
    """
    gone = book.entries(gone_only=True, until=bench.last)
    return Chronicle(tuple(sorted((*bench.entries, *gone), key=lambda entry: entry.number)))


def state_of(entry: Entry) -> int | None:
    """Number of the state of the machine that an entry belongs to; None where it belongs to none."""
    match entry.record:
        case State():
            return entry.of
        case Reading() | Verdict() | Concession():
            return entry.record.state
    return None


def is_about(entry: Entry, subject: str) -> bool:
    """Whether an entry is about a dim, test, closure, adjuster, part, gauge or step."""
    return any(one == subject or one.startswith(f"{subject}/") for one in subjects(entry))


def subjects(entry: Entry) -> tuple[str, ...]:
    """What an entry is about, by the names of the build."""
    record: Any = entry.record
    match record:
        case Reading():
            return tuple(one for one in (record.of, record.against, record.gauge) if one)
        case State():
            return tuple(one for one in (record.step, *(change.of for change in record.changes)) if one)
        case Calibration():
            return (record.gauge,)
        case Concession():
            return (record.part, *record.dims)
        case Verdict():
            return (record.of,)
        case Stock():
            return (record.what,)
    return ()


def words_in(entry: Entry) -> Iterable[str]:
    """Every text of an entry that people search for; not the whole text of a description."""
    record: Any = entry.record
    yield from (str(entry.number), entry.who, entry.why, entry.station, entry.at, record.kind)
    yield from subjects(entry)
    yield from _own_words(record)


def _own_words(record: Any) -> Sequence[str]:
    match record:
        case Reading():
            typed = [text for pose in record.typed for text in pose]
            return [*filter(None, (record.item, record.note)), *typed]
        case State():
            items = [change.item for change in record.changes if change.item]
            return [record.reason, record.cause, *items]
        case Calibration():
            return [*filter(None, (record.done, record.due, record.certificate, record.note))]
        case Concession():
            return [record.decision, record.terms]
        case Verdict():
            return [record.verdict, record.rule]
        case Stock():
            return [record.note or ""]
        case Revision():
            return [record.file or "", record.difference]
        case ColumnsKept():
            return [record.name]
        case Withdrawal():
            return [record.reason]
    return []
