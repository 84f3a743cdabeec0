"""The book of a build: everything recorded about it, in order; nothing in it is ever changed."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from types import TracebackType
from typing import Self

from sqlalchemy import ColumnElement, Connection, Engine, not_, text

from loopwright.book import queries, tables
from loopwright.book.entering import Draft, Written, enter
from loopwright.book.faults import BookError
from loopwright.book.place import Place, told_of, writing
from loopwright.book.rows import Unreadable
from loopwright.errors import RequestError
from loopwright.model.records import Entry, Record

FORMAT = "loopwright-book"


@dataclass(frozen=True, slots=True)
class Info:
    """What a book says of itself.

    Attributes:
        place: where it is, for people.
        database: 'sqlite' or 'postgresql'.
        uid: names the book wherever it is copied to.
        build_name: the machine.
        made: when it was begun, UTC, ISO 8601.
        version: number of the shape of its tables.
    """

    place: str
    database: str
    uid: str
    build_name: str
    made: str
    version: int


class Book:
    """An open book. Several programs, and several threads of one, may hold the same book open at once.

    Every method may raise BookError, with the place of the book and what would do. Close it when done, or
    use it in a ``with`` statement.

    Attributes:
        place: where it is.
        info: what it says of itself.
    """

    def __init__(self, place: Place, engine: Engine) -> None:
        self.place, self._engine = place, engine
        with self._reading() as connection:
            row = connection.execute(tables.book.select()).one_or_none()
            version = tables.version_of(connection)
        if row is None or row.format != FORMAT:
            raise BookError(
                "has tables of a book, but its first page is empty", "open its last backup", place=place.shown
            )
        self.info = Info(
            place.shown, engine.dialect.name, row.uid, row.build_name, row.made, version or tables.VERSION
        )

    def __repr__(self) -> str:
        return f"<Book of {self.info.build_name!r} at {self.place}>"

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or the database. The book cannot be used afterwards; closing twice is no harm."""
        self._engine.dispose()

    @contextmanager
    def _telling(self) -> Iterator[None]:
        with told_of(self.place):
            try:
                yield
            except Unreadable as error:
                raise BookError(
                    str(error),
                    "ask 'verify' what else is wrong, or open its last backup",
                    place=self.place.shown,
                ) from None

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._telling(), self._engine.connect() as connection, connection.begin():
            yield connection

    # entering

    def append(
        self,
        record: Record,
        *,
        who: str,
        why: str = "",
        station: str = "",
        key: str | None = None,
        supersedes: int | None = None,
        seen: int | None = None,
    ) -> Written:
        """Enter one thing. When this returns it is on the disk, whole, whatever happens next.

        A writer whose picture of the book is out of date loses nothing: the entry is made in any case, and
        the answer says what others entered meanwhile. A correction of what somebody corrected meanwhile
        follows on theirs; a State whose parent is no longer the newest follows on the newest; the difference
        of a Revision is to the newest one. Each of these is told.

        Args:
            record: what is to be said.
            who: name of the person.
            why: the reason, for people.
            station: which screen or bench it came from.
            key: names the entry whatever happens: if no answer came, send it again with the same key, and it
                stands in the book once. Made up when not given.
            supersedes: number of the entry that this one corrects, or that a Withdrawal withdraws.
            seen: number of the last entry the writer had seen; None: has seen everything.

        Raises:
            RequestError: nobody could enter this: a state or an entry that never was, a correction of another
                kind, a key that belongs to something else.
            BookBusy: another station was writing all the time. Nothing was entered; try again.
            BookError: the disk is full, the server is gone and so on. Nothing was entered.
        """
        return self.append_all([Draft(record, why, key, supersedes)], who=who, station=station, seen=seen)[0]

    def append_all(
        self, drafts: Iterable[Draft | Record], *, who: str, station: str = "", seen: int | None = None
    ) -> tuple[Written, ...]:
        """Enter several things at once: all of them or, after an error, none. As ``append`` for each.

        Readings of a State that is entered by the same call name it by ``Draft.state_of``.
        """
        listed = [draft if isinstance(draft, Draft) else Draft(draft) for draft in drafts]
        if not who.strip():
            raise RequestError("nobody is named as the one who enters this", "give a name, or initials")
        if len(who) > 200:
            raise RequestError("the name of who enters this has over 200 letters", "give a shorter one")
        if not listed:
            return ()
        with self._telling(), writing(self._engine) as connection:
            alone(connection)
            return enter(connection, listed, who=who, station=station, seen=seen, at=now(connection))

    # reading

    @property
    def last_number(self) -> int:
        """Number of the last entry."""
        with self._reading() as connection:
            return queries.last_number(connection)

    def changed_since(self, number: int) -> bool:
        """Whether anything was entered after the entry of this number. Costs next to nothing."""
        return self.last_number > number

    def entry(self, number: int) -> Entry:
        """The entry of this number.

        Raises:
            RequestError: there is none.
        """
        found = self._load(queries.ENTRIES.number == number)
        if not found:
            raise RequestError(
                f"there is no entry {number} in this book", f"its entries are 1 to {self.last_number}"
            )
        return found[0]

    def entry_of_key(self, key: str) -> Entry | None:
        """The entry that was given this key, or None where nothing was entered under it."""
        found = self._load(queries.ENTRIES.key == key)
        return found[0] if found else None

    def entries(
        self,
        kinds: str | Iterable[str] | None = None,
        *,
        since: int = 0,
        until: int | None = None,
        subject: str | None = None,
        state: int | None = None,
        standing_only: bool = False,
        gone_only: bool = False,
    ) -> tuple[Entry, ...]:
        """Entries in the order in which they were made.

        Args:
            kinds: 'reading', 'state' ... or several of them; None for all.
            since: only those after the entry of this number.
            until: only those up to the entry of this number.
            subject: only readings, comparisons, verdicts, changes and concessions of this dim ('part/dim'),
                test, closure or adjuster.
            state: only this state, and what was entered of the machine in it.
            standing_only: without what was superseded or withdrawn, and without withdrawals.
            gone_only: only what was superseded or withdrawn, and withdrawals.
        """
        which = queries.kinds_asked(kinds)
        if since:
            which.append(queries.ENTRIES.number > since)
        if until is not None:
            which.append(queries.ENTRIES.number <= until)
        if subject is not None:
            which.append(queries.about(subject))
        if state is not None:
            which.append(queries.in_state(state))
        if standing_only:
            which.append(queries.standing())
        if gone_only:
            which.append(not_(queries.standing()))
        return self._load(*which)

    def standing(self, kinds: str | Iterable[str] | None = None) -> tuple[Entry, ...]:
        """Entries that count: neither superseded nor withdrawn, in order."""
        return self.entries(kinds, standing_only=True)

    def states(self) -> tuple[Entry, ...]:
        """The states of the machine that count, by their number, which is ``of``."""
        return tuple(sorted(self.standing("state"), key=lambda entry: entry.of or 0))

    def newest_state(self) -> Entry:
        """The state in which the machine is."""
        return self.states()[-1]

    def newest_revision(self) -> Entry:
        """The description of the build that counts."""
        with self._reading() as connection:
            number = queries.count_of(connection, "revision")
            kind, of = queries.ENTRIES.kind, queries.ENTRIES.of_number
            return queries.load(connection, kind == "revision", of == number)[0]

    def history(self, number: int) -> tuple[Entry, ...]:
        """An entry with everything that it supersedes and that supersedes it, first to last."""
        found = [self.entry(number)]
        while found[0].supersedes is not None:
            found.insert(0, self.entry(found[0].supersedes))
        while after := self._load(queries.ENTRIES.supersedes == found[-1].number):
            found += after
        return tuple(found)

    def _load(self, *which: ColumnElement[bool]) -> tuple[Entry, ...]:
        with self._reading() as connection:
            return queries.load(connection, *which)


def alone(connection: Connection) -> None:
    """Keep other writers of a PostgreSQL book out until this transaction ends; SQLite has done so already."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("LOCK TABLE entries IN SHARE ROW EXCLUSIVE MODE")


def now(connection: Connection | None = None) -> str:
    """The time, UTC, to the millisecond; of the server where there is one, whose clock all stations share."""
    if connection is not None and connection.dialect.name == "postgresql":
        moment: datetime = connection.execute(text("SELECT clock_timestamp()")).scalar_one().astimezone(UTC)
    else:
        moment = datetime.now(UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
