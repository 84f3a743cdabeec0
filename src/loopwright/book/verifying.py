"""Looking a book through, from the disk up to what its entries say."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, select

from loopwright.book import queries, tables, triggers
from loopwright.book.continuity import Continuity
from loopwright.book.faults import FROM_DATABASE, RESTORE, BookError, explained
from loopwright.book.place import Place, engine_for, look_at_head
from loopwright.book.rows import LAYOUTS, Unreadable, digest
from loopwright.errors import Cancelled, Problem
from loopwright.model.records import Entry, Revision

Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]

CHUNK = 1000
MOST = 200
"""Problems after which nobody reads on."""
TAMPERED = "another program has changed it; open its last backup, and compare"


@dataclass(frozen=True, slots=True)
class Verified:
    """What came out when a book was looked through.

    Attributes:
        place: where it is.
        entries: how many entries could be read.
        problems: what is wrong, each with a remedy; empty for a sound book.
    """

    place: str
    entries: int
    problems: tuple[Problem, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.problems


def verify(where: str | Path, *, progress: Progress | None = None, cancel: Cancel | None = None) -> Verified:
    """Look a book through: the file, the guards, the numbering, every entry, every fingerprint, every chain.

    It changes nothing, and what it finds wrong is in the answer.

    Args:
        where: the file or the address of the book.
        progress: called with how many entries were looked at, and how many there are.
        cancel: asked between; True stops.

    Raises:
        BookError: there is no book at all, or it cannot be reached.
        Cancelled: ``cancel`` said so.
    """
    place = Place.of(where)
    look_at_head(place)
    engine = engine_for(place)
    problems: list[Problem] = []
    count = [0]
    try:
        with engine.connect() as connection, connection.begin():
            for what, remedy in _faults(connection, place, count, (progress, cancel)):
                problems.append(Problem("", what, remedy, file=place.shown))
                if len(problems) >= MOST:
                    break
    except FROM_DATABASE as error:
        problem = explained(error, place.shown, place.password).problem
        if place.file is None and "reached" in problem.what:
            raise BookError(problem.what, problem.remedy, place=place.shown) from None
        problems.append(problem)
    finally:
        engine.dispose()
    return Verified(place.shown, count[0], tuple(problems))


Fault = tuple[str, str]
Watched = tuple[Progress | None, Cancel | None]


def _faults(connection: Connection, place: Place, count: list[int], watched: Watched) -> Iterator[Fault]:
    version = tables.version_of(connection)
    if connection.dialect.name == "sqlite":
        yield from _of_file(connection, version)
    if version != tables.VERSION:
        known = f"this program knows version {tables.VERSION}"
        yield (
            f"is of version {version}; {known}, so its entries were not looked at",
            ("open it to bring it up to date, or update Loopwright"),
        )
        return
    yield from _of_guards(connection)
    yield from _of_kinds(connection)
    yield from _of_entries(connection, count, watched)


def _of_file(connection: Connection, version: int | None) -> Iterator[Fault]:
    for (found,) in connection.exec_driver_sql(f"PRAGMA integrity_check({MOST})"):
        if found != "ok":
            yield f"the file is damaged: {found}", RESTORE
    for row in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"row {row[1]} of '{row[0]}' points to a row of '{row[2]}' that is not there", TAMPERED
    stamped = connection.exec_driver_sql("PRAGMA user_version").scalar()
    if stamped != version:
        yield f"the head of the file says version {stamped}, its tables say {version}", TAMPERED


def _of_guards(connection: Connection) -> Iterator[Fault]:
    """Whether everything is there that keeps entries from being changed."""
    expected = tables.expected_triggers(connection.dialect.name)
    if connection.dialect.name == "sqlite":
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        found = {row[0]: row[1] for row in connection.exec_driver_sql(query)}
    else:
        query = (
            "SELECT t.tgname, t.tgenabled FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "JOIN pg_namespace n ON n.oid = c.relnamespace WHERE NOT t.tgisinternal AND n.nspname = current_schema()"
        )
        on = {row[0]: row[1] for row in connection.exec_driver_sql(query)}
        found = {name: expected.get(name, "") for name, state in on.items() if state in ("O", b"O")}
        query = (
            "SELECT p.proname, p.prosrc FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace "
            "WHERE n.nspname = current_schema()"
        )
        expected["refuse_change"] = triggers.POSTGRESQL_BODY
        found |= {row[0]: row[1] for row in connection.exec_driver_sql(query)}
    for name in sorted(expected.keys() - found.keys()):
        yield f"the guard '{name}' is gone: entries could have been changed since", TAMPERED
    for name in sorted(found):
        if name not in expected:
            yield f"there is a trigger '{name}' that is not ours", TAMPERED
        elif _plain(found[name]) != _plain(expected[name]):
            yield f"the guard '{name}' is not as it was made: entries could have been changed since", TAMPERED


def _plain(statement: str) -> str:
    return re.sub(r"\s+", " ", statement).strip()


def _of_kinds(connection: Connection) -> Iterator[Fault]:
    """Whether what an entry says lies in the tables of its kind and in no others."""
    for kind, layout in LAYOUTS.items():
        query = (
            select(queries.ENTRIES.number)
            .join(layout.table, layout.table.c.entry == queries.ENTRIES.number)
            .where(queries.ENTRIES.kind != kind)
        )
        for number in connection.execute(query).scalars():
            yield f"entry {number} has a row in '{layout.table.name}', where none belongs", TAMPERED


def _of_entries(connection: Connection, count: list[int], watched: Watched) -> Iterator[Fault]:
    (progress, cancel), order = watched, Continuity()
    numbers = list(
        connection.execute(select(queries.ENTRIES.number).order_by(queries.ENTRIES.number)).scalars()
    )
    for start in range(0, len(numbers), CHUNK):
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after {start} entries")
        if progress is not None:
            progress(start, len(numbers))
        for found in _read(connection, numbers[start : start + CHUNK]):
            if isinstance(found, str):
                yield found, TAMPERED
                continue
            count[0] += 1
            for fault in order.faults(found):
                yield fault, TAMPERED
            record = found.record
            if isinstance(record, Revision) and _stored_digest(connection, found.number) != digest(
                record.text
            ):
                yield f"the description in entry {found.number} does not match its fingerprint", TAMPERED
    for fault in order.missing():
        yield fault, RESTORE


def _stored_digest(connection: Connection, number: int) -> str | None:
    query = select(tables.revisions.c.sha256).where(tables.revisions.c.entry == number)
    return connection.execute(query).scalar()


def _read(connection: Connection, numbers: list[int]) -> Iterator[Entry | str]:
    """Entries of a stretch; where one cannot be read, what is wrong with it."""
    try:
        yield from queries.load(connection, queries.ENTRIES.number.between(numbers[0], numbers[-1]))
        return
    except Unreadable:
        pass
    for number in numbers:
        try:
            yield from queries.load(connection, queries.ENTRIES.number == number)
        except Unreadable as error:
            yield str(error)
