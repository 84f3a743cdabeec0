"""What can go wrong with a book, said with its place and what would do."""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from loopwright.errors import LoopwrightError, Problem


class BookError(LoopwrightError):
    """A book cannot be used as it stands. ``problem`` says where, what and what would do.

    >>> print(BookError("is damaged", "open its last backup", place="drill.book"))
    drill.book: is damaged; open its last backup
    """

    def __init__(self, what: str, remedy: str, *, place: str | None = None, line: int | None = None) -> None:
        self.problem = Problem("", what, remedy, file=place, line=line)
        super().__init__(str(self.problem))

    def __reduce__(self) -> tuple[object, ...]:
        return _again, (type(self), self.problem)


def _again(kind: type[BookError], problem: Problem) -> BookError:
    """The error that was sent from another process."""
    return kind(problem.what, problem.remedy, place=problem.file, line=problem.line)


class BookBusy(BookError):
    """Another station was writing for longer than this one would wait. Nothing was entered; try again."""


class NoBook(BookError):
    """There is no book at that place."""


class NewerBook(BookError):
    """The book was made, or brought up to date, by a newer program than this one."""


RESTORE = "open its last backup, or ask 'verify' what is wrong with it"
SAYINGS: tuple[tuple[str, type[BookError], str, str], ...] = (
    (
        r"database is locked|database table is locked|lock timeout|deadlock",
        BookBusy,
        "another station is writing",
        "nothing was entered; try again",
    ),
    (
        r"database or disk is full|No space left|could not extend file",
        BookError,
        "the disk is full, nothing was entered",
        "free some space, then enter it again",
    ),
    (r"file is not a database", BookError, "is not a book, or is damaged from its first page on", RESTORE),
    (r"malformed|database corruption|invalid page", BookError, "is damaged", RESTORE),
    (
        r"readonly database|unable to open database|permission denied to create|read-only transaction",
        BookError,
        "cannot be written here",
        "it needs a folder (or a database) where you may write; copy it to one",
    ),
    (
        r"disk I/O error|locking protocol",
        BookError,
        "the disk did not take it",
        "keep the book on a disk of this machine, not on a network share; for several stations use PostgreSQL",
    ),
    (
        r"append-only",
        BookError,
        "is append-only, and something tried to change what was entered",
        "enter a correction that supersedes the entry",
    ),
    (
        r"password authentication failed|no password supplied|role .* does not exist|no pg_hba",
        BookError,
        "the database server does not let this user in",
        "check user and password, and that the server allows this station",
    ),
    (
        r"database .* does not exist",
        BookError,
        "the server has no database of that name",
        "check its name in the address, or have it made",
    ),
    (
        r"server does not support SSL|SSL error|certificate",
        BookError,
        "the server and this station do not agree on encryption",
        "check 'sslmode' in the address, and what the server offers",
    ),
    (
        r"no such table|no such column|does not exist",
        BookError,
        "lacks something that every book has",
        RESTORE,
    ),
    (
        r"connection failed|connection refused|could not connect|server closed|terminating connection|"
        r"connection is closed|connection timeout|the connection is lost|could not translate host|"
        r"failed to resolve host",
        BookError,
        "the database server cannot be reached, or broke off",
        "check its address, and that it runs; then try again",
    ),
    (
        r"permission denied",
        BookError,
        "the database does not let this user do that",
        "ask for the rights to create schemas and to write in this database",
    ),
)
FROM_DATABASE = (SQLAlchemyError, sqlite3.Error, UnicodeDecodeError)
"""What a database raises; the last one when it quotes a damaged page."""


@contextmanager
def told(place: str, secret: str | None = None) -> Iterator[None]:
    """Turn what a database says into a BookError that names the place; a password never gets into it."""
    try:
        yield
    except FROM_DATABASE as error:
        raise explained(error, place, secret) from None
    except OSError as error:
        what = f"cannot be read or written: {error.strerror or error}"
        raise BookError(what, "check the path, the rights and the disk", place=place) from None


def explained(error: Exception, place: str, secret: str | None = None) -> BookError:
    """The BookError that says what a database said."""
    origin = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    text = "malformed" if isinstance(error, UnicodeDecodeError) else str(origin)
    for pattern, kind, what, remedy in SAYINGS:
        if re.search(pattern, text, re.I):
            return kind(what, remedy, place=place)
    first = (text.strip().splitlines() or [type(origin).__name__])[0][:200]
    if secret:
        first = first.replace(secret, "…")
    return BookError(
        f"the database refused: {first}", "nothing was entered; ask 'verify' about it", place=place
    )
