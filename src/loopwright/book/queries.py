"""Which entries are asked for, and reading them with everything that belongs to them."""

import gc
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, func, or_, select, union

from loopwright.book import tables
from loopwright.book.rows import LAYOUTS, Found, entries_of
from loopwright.model.records import Entry

ENTRIES = tables.entries.c
AFTER = tables.entries.alias("after")


def superseded() -> ColumnElement[bool]:
    """True for an entry that another one takes the place of, or withdraws."""
    return select(AFTER.c.number).where(AFTER.c.supersedes == ENTRIES.number).exists()


def standing() -> ColumnElement[bool]:
    """True for an entry that counts."""
    return and_(ENTRIES.kind != "withdrawal", ~superseded())


def about(subject: str) -> ColumnElement[bool]:
    """True for readings, comparisons, verdicts, changes and concessions of a dim, a test or an adjuster."""
    readings, changes = tables.readings.c, tables.state_changes.c
    verdicts, dims = tables.verdicts.c, tables.concession_dims.c
    return ENTRIES.number.in_(
        union(
            select(readings.entry).where(readings.of == subject),
            select(readings.entry).where(readings.against == subject),
            select(verdicts.entry).where(verdicts.of == subject),
            select(changes.entry).where(changes.of == subject),
            select(dims.entry).where(dims.dim == subject),
        )
    )


def in_state(number: int) -> ColumnElement[bool]:
    """True for the state itself and for what was entered of the machine in that state."""
    belonging = (tables.readings, tables.verdicts, tables.concessions)
    return ENTRIES.number.in_(
        union(
            select(tables.state_details.c.entry).where(tables.state_details.c.number == number),
            *(select(table.c.entry).where(table.c.state == number) for table in belonging),
        )
    )


def load(connection: Connection, *which: ColumnElement[bool]) -> tuple[Entry, ...]:
    """Entries for which all of ``which`` is true, in the order in which they were entered."""
    lines = connection.execute(select(tables.entries).where(*which).order_by(ENTRIES.number)).all()
    if not lines:
        return ()
    with _no_collecting(len(lines) > 500):
        return entries_of(lines, _details(connection, lines, _numbers(lines, which)))


def _details(connection: Connection, lines: Any, numbers: Any) -> Found:
    """Rows of the other tables that belong to these lines of ``entries``, by table and entry."""
    found: dict[str, dict[int, list[Any]]] = {}
    for kind in {line.kind for line in lines} & LAYOUTS.keys():
        for table in (LAYOUTS[kind].table, *LAYOUTS[kind].parts):
            by_entry = found[table.name] = defaultdict(list)
            query = select(table).where(numbers(table.c.entry)).order_by(*table.primary_key.columns)
            for row in connection.execute(query).all():
                by_entry[row[0]].append(row)
    return found


@contextmanager
def _no_collecting(many: bool) -> Iterator[None]:
    """Spare the search for circles among objects while a great many are made that have none."""
    pause = many and gc.isenabled()
    if pause:
        gc.disable()
    try:
        yield
    finally:
        if pause:
            gc.enable()


def _numbers(lines: Any, which: Iterable[ColumnElement[bool]]) -> Any:
    """The same entries, as a condition on a column that names them; none that came after they were read."""
    first, last = lines[0].number, lines[-1].number
    if len(lines) == last - first + 1:
        return lambda column: column.between(first, last)
    if len(lines) <= 500:
        numbers = [line.number for line in lines]
        return lambda column: column.in_(numbers)
    chosen: Select[Any] = select(ENTRIES.number).where(*which, ENTRIES.number <= last)
    return lambda column: column.in_(chosen)


def numbers_by_key(connection: Connection, keys: Collection[str]) -> dict[str, int]:
    """Numbers of the entries that have one of these keys."""
    found: dict[str, int] = {}
    asked = list(keys)
    for i in range(0, len(asked), 500):
        query = select(ENTRIES.key, ENTRIES.number).where(ENTRIES.key.in_(asked[i : i + 500]))
        found.update((key, number) for key, number in connection.execute(query))
    return found


def last_number(connection: Connection) -> int:
    """Number of the last entry; 0 in an empty book."""
    return connection.execute(select(func.max(ENTRIES.number))).scalar() or 0


def count_of(connection: Connection, kind: str) -> int:
    """The highest number that an entry of a kind has among its kind."""
    query = select(func.max(ENTRIES.of_number)).where(ENTRIES.kind == kind)
    return connection.execute(query).scalar() or 0


def successor(connection: Connection, number: int) -> int | None:
    """Number of the entry that supersedes another."""
    return connection.execute(select(ENTRIES.number).where(ENTRIES.supersedes == number)).scalar()


def newest_state(connection: Connection) -> int:
    """Number of the newest state that was not withdrawn."""
    query = select(func.max(ENTRIES.of_number)).where(ENTRIES.kind == "state", ~superseded())
    return connection.execute(query).scalar() or 0


def kinds_asked(kinds: str | Iterable[str] | None) -> list[ColumnElement[bool]]:
    """The condition that an entry is of one of these kinds."""
    if kinds is None:
        return []
    wanted = [kinds] if isinstance(kinds, str) else list(kinds)
    return [or_(*(ENTRIES.kind == kind for kind in wanted))] if wanted else [ENTRIES.number < 0]
