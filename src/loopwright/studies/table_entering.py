"""A table of readings on its way into the book: looked over as a whole, then entered as a whole or not at all."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from loopwright.book import Book, Draft, Written
from loopwright.errors import BuildError, Problem, RequestError
from loopwright.measuring.tables import Row
from loopwright.model.records import ColumnsKept, Entry
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of
from loopwright.studies.effect import TargetEffect, effect
from loopwright.studies.importing import Imported, Line, imported
from loopwright.studies.meant import Meant, meanings

MOST = 20_000
"""Readings of one table; more are given in parts."""
MEANT_OF = 50
"""So many of the readings that are asked about are told with what may have been meant."""

Twins = Literal["", "leave out", "once more"]


@dataclass(frozen=True)
class Counts:
    """How many readings of a table are what.

    Attributes:
        readings: all of them.
        conforming, not_conforming, undecided, without_limits: by verdict; together they are all.
        doubted: are asked about.
        twins: are in the book already.
    """

    readings: int
    conforming: int
    not_conforming: int
    undecided: int
    without_limits: int
    doubted: int
    twins: int


@dataclass(frozen=True)
class LookedOver:
    """A table held against what the book knows; nothing of it is entered yet.

    Attributes:
        found: its readings.
        problems: everything that is wrong with its lines, by line.
        counts: of its readings.
        meant: what may have been meant by those that are asked about, by line.
        last: last entry of the book that it was held against.
    """

    found: Imported
    problems: tuple[Problem, ...]
    counts: Counts
    meant: Mapping[int, tuple[Meant, ...]]
    last: int


def columns_kept(bench: Bench) -> dict[str, dict[str, Any]]:
    """The columns that the book keeps, by their name, those kept last at the end."""
    found: dict[str, dict[str, Any]] = {}
    for _, record in bench.having(ColumnsKept):
        found.pop(record.name, None)
        found[record.name] = record.columns
    return found


def look_over(
    bench: Bench,
    rows: Sequence[Row],
    problems: Sequence[Problem],
    *,
    file: str,
    from_nominal: bool = False,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> LookedOver:
    """Holds a table against what the book knows.

    Args:
        bench: the build as it stands.
        rows: of the table.
        problems: of the lines that could not be read.
        file: its name, for messages.
        from_nominal: values of dims are deviations from nominal.
        progress: called with readings done and wanted.
        cancel: asked before each reading; True stops.

    Raises:
        RequestError: it has too many readings for once.
        Cancelled: ``cancel`` said so.
    """
    if len(rows) > MOST:
        raise RequestError(f"the table has {len(rows):,} readings", f"give it in parts of {MOST:,} at most")
    found = imported(bench, rows, file=file, from_nominal=from_nominal, progress=progress, cancel=cancel)
    every = sorted((*problems, *found.problems), key=lambda problem: problem.line or 0)
    asked = found.doubted[:MEANT_OF]
    meant = {line.line: meanings(bench, line.typed, line.considered, most=2) for line in asked}
    return LookedOver(found, tuple(every), _counts(found), meant, bench.last)


def _counts(found: Imported) -> Counts:
    held = [line.considered.conformity for line in found.lines]
    verdicts = [None if one is None else one.verdict.value for one in held]
    return Counts(
        readings=len(held),
        conforming=verdicts.count("conforming"),
        not_conforming=verdicts.count("not conforming"),
        undecided=verdicts.count("undecided"),
        without_limits=verdicts.count(None),
        doubted=len(found.doubted),
        twins=len(found.twins),
    )


def enter_table(
    book: Book,
    looked: LookedOver,
    *,
    columns: tuple[str, Mapping[str, Any]] | None,
    who: str,
    station: str = "",
    key: str = "",
    keep: bool = False,
    twins: Twins = "",
) -> tuple[Written, ...]:
    """Enters all readings of a table, or none.

    Args:
        book: open.
        looked: the table, held against the newest entry of the book.
        columns: name and columns to be kept for the next table; None where they are kept already.
        who: who enters it.
        station: the screen it comes from.
        key: names what is entered: sent again under the same key it is entered once.
        keep: readings that are asked about are believed.
        twins: what becomes of readings that are in the book already.

    Returns:
        What became of each reading, in the order of the table.

    Raises:
        BuildError: lines of the table have mistakes.
        RequestError: readings are asked about, or in the book already, and nobody said what is right.
        BookError: as for ``Book.append``; nothing was entered.
    """
    if looked.problems:
        raise BuildError(looked.problems)
    found = looked.found
    if found.doubted and not keep:
        raise RequestError(
            f"{len(found.doubted)} of the readings surprise", "look at each, and say that they are right"
        )
    if found.twins and not twins:
        raise RequestError(
            f"{len(found.twins)} of the readings are in the book already",
            "say whether they are left out or entered once more",
        )
    lines = [line for line in found.lines if line.twin is None or twins == "once more"]
    if not lines:
        raise RequestError("no reading is left to be entered", "all of them are in the book already")
    drafts = [_draft(line, key, number) for number, line in enumerate(lines, 1)]
    if columns is not None:
        kept = ColumnsKept(name=columns[0], columns=dict(columns[1]))
        drafts.insert(0, Draft(kept, key=f"{key}-columns" if key else None))
    written = book.append_all(drafts, who=who, station=station, seen=looked.last)
    return written[len(drafts) - len(lines) :]


def _draft(line: Line, key: str, number: int) -> Draft:
    reading = line.considered.reading
    if line.considered.doubt is not None:
        reading = reading.model_copy(update={"kept": True})
    return Draft(reading, key=f"{key}-{number}" if key else None)


def table_brought(book: Book, first: int, last: int) -> tuple[tuple[Entry, ...], tuple[TargetEffect, ...]]:
    """Entries that were made of a table, and every target before and after them.

    Args:
        book: open.
        first: number of the first of them.
        last: number of the last.

    Raises:
        RequestError: the book has no such entries.
    """
    if not 1 < first <= last <= book.last_number:
        raise RequestError(f"the book has no entries {first} to {last}", "look them up in the book")
    entries = book.entries(since=first - 1, until=last)
    return entries, effect(bench_of(book, until=first - 1), bench_of(book, until=last))
