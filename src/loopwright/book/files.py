"""Files that are either whole under their name, or not there."""

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from uuid import uuid4

from loopwright.book.faults import BookError, NoBook, told


def draft_of(file: Path) -> Path:
    """A name beside a file, under which it is written before it gets its own.

    Raises:
        NoBook: the folder is not there.
        BookError: the name is taken.
    """
    if file.exists() or file.is_symlink():
        raise taken(str(file))
    if not file.parent.is_dir():
        raise NoBook(f"there is no folder '{file.parent}'", "make it first, or name another", place=str(file))
    return file.with_name(f".{file.name}.{uuid4().hex[:8]}")


def put_in_place(draft: Path, file: Path) -> None:
    """Give a finished file its name, unless another has it.

    Raises:
        BookError: there is a file of that name.
    """
    try:
        os.link(draft, file)
    except FileExistsError:
        raise taken(str(file)) from None
    except OSError:  # a file system without links
        if file.exists():
            raise taken(str(file)) from None
        draft.rename(file)
    draft.unlink(missing_ok=True)
    with suppress(OSError):  # some systems cannot open a folder
        handle = os.open(file.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def taken(place: str) -> BookError:
    """The error for a name that another file or book has."""
    return BookError(
        "there is something of that name already", "nothing was touched; choose another name", place=place
    )


def share(file: Path) -> None:
    """Let a finished SQLite file be read and written by several at once from now on.

    Raises:
        BookError: the file system cannot do that.
    """
    with closing(sqlite3.connect(file)) as connection:
        (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise BookError(
            "this folder cannot hold a book",
            "keep it on a disk of this machine, not on a network share; for several stations use PostgreSQL",
            place=str(file),
        )


def copy(source: Path, to: Path) -> None:
    """Copy an SQLite file as it is at one moment, while others may be writing in it.

    Raises:
        BookError: the copy cannot be written, or is not sound.
    """
    with told(str(to)):
        draft = draft_of(to)
        try:
            with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(draft)) as new:
                old.backup(new)
                (found,) = new.execute("PRAGMA quick_check(1)").fetchone()
            if found != "ok":
                raise BookError(
                    f"the copy is not sound ({found})", "ask 'verify' about the book", place=str(to)
                )
            put_in_place(draft, to)
        finally:
            for rest in ("", "-wal", "-shm", "-journal"):
                draft.with_name(draft.name + rest).unlink(missing_ok=True)
