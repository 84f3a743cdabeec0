"""A reading on its way into the book: worked out, asked about where it is doubted, entered once whatever happens."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright.book import Book, Written
from loopwright.errors import RequestError
from loopwright.model.records import Entry, Reading
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of
from loopwright.studies.effect import Brought, brought, without_entry
from loopwright.studies.meant import Meant, meanings
from loopwright.studies.recording import Considered, Typed, consider


class KeyTaken(RequestError):
    """Something else was entered under the key of this reading."""


@dataclass(frozen=True)
class Doubted:
    """A reading that is not entered before somebody says what is right.

    Attributes:
        typed: what was typed.
        considered: what came of it; ``considered.doubt`` says why it is asked about.
        meant: what may have been meant, the likeliest first.
    """

    typed: Typed
    considered: Considered
    meant: tuple[Meant, ...]


@dataclass(frozen=True)
class Entered:
    """A reading that is in the book.

    Attributes:
        typed: what was typed.
        considered: what came of it.
        written: what became of the entry, and what others entered meanwhile.
        came: the build with it, and every target before and after.
        bench: the build as it was considered with.
    """

    typed: Typed
    considered: Considered
    written: Written
    came: Brought
    bench: Bench


def look_into(bench: Bench, typed: Typed, *, instead_of: int | None = None) -> Doubted:
    """What would come of a reading, without entering it.

    Args:
        bench: the build as it stands.
        typed: what was typed.
        instead_of: number of the entry that it would correct.

    Raises:
        RequestError: as for ``consider``; no entry that counts has that number.
    """
    seen = bench if instead_of is None else without_entry(bench, instead_of)
    considered = consider(seen, typed)
    return Doubted(typed, considered, meanings(seen, typed, considered))


def enter(
    book: Book,
    bench: Bench,
    typed: Typed,
    *,
    who: str,
    station: str = "",
    key: str | None = None,
    instead_of: int | None = None,
    keep: bool = False,
    since: int | None = None,
) -> Entered | Doubted:
    """Enters a reading, unless it is doubted and nobody said to keep it.

    Args:
        book: open.
        bench: the build with everything that the book holds.
        typed: what was typed.
        who: who read it.
        station: the screen it comes from.
        key: names the entry: sent again under the same key it is entered once, and answered as the first time.
        instead_of: number of the entry that it corrects.
        keep: it is believed although it surprises.
        since: the last entry that the reader had seen, so that what others read meanwhile is told; None takes all.

    Raises:
        RequestError: as for ``consider``; no entry that counts has the number of ``instead_of``.
        KeyTaken: something else was entered under this key.
        BookError: as for ``Book.append``; nothing was entered.
    """
    first = None if key is None else book.entry_of_key(key)
    if first is not None:
        return _again(book, first, typed, who=who)
    doubted = look_into(bench, typed, instead_of=instead_of)
    considered = doubted.considered
    if considered.doubt is not None:
        if not keep:
            return doubted
        considered = replace(considered, reading=considered.reading.model_copy(update={"kept": True}))
    written = book.append(
        considered.reading,
        who=who,
        station=station,
        key=key,
        supersedes=instead_of,
        seen=bench.last if since is None else min(since, bench.last),
    )
    return Entered(typed, considered, written, _came(book, bench, written), bench)


def _came(book: Book, bench: Bench, written: Written) -> Brought:
    """What it brought; what others entered before is in the build already, unless they were quicker by a hair."""
    fresh = written.entry.number == bench.last + 1
    return brought(book, bench, replace(written, meanwhile=()) if fresh else written)


def _again(book: Book, first: Entry, typed: Typed, *, who: str) -> Entered:
    """The answer that was lost on its way: as if it had come at once."""
    record = first.record
    same = (
        isinstance(record, Reading)
        and (record.of, record.against, record.item) == (typed.of, typed.against, typed.item)
        and _same_values(record, typed)
        and first.who == who
    )
    if not same:
        raise KeyTaken(
            f"the key '{first.key}' was given to entry {first.number}, which says something else",
            "send this one with a key of its own",
        )
    before = bench_of(book, until=first.number - 1)
    considered = look_into(before, typed, instead_of=first.supersedes).considered
    written = Written(first, again=True)
    return Entered(typed, considered, written, brought(book, before, written), before)


def _same_values(record: Reading, typed: Typed) -> bool:
    if typed.worked is not None:
        return record.method is not None and record.method.columns == typed.worked.method.columns
    return _texts(record.typed) == _texts(typed.values)


def _texts(values: Sequence[Sequence[str]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(text.strip() for text in repeats) for repeats in values)
