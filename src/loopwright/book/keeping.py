"""Backups."""

from pathlib import Path

from loopwright.book.archive import export_archive
from loopwright.book.files import copy
from loopwright.book.opening import open_book
from loopwright.book.place import Place, look_at_head


def backup(where: str | Path, to: str | Path) -> Path:
    """Copy a book as it is at one moment, while others may be writing in it.

    Args:
        where: the book.
        to: the file to be made; an existing one is left alone. Of a file it is a book again, which can be
            opened; of a PostgreSQL book it is an archive, which ``import_archive`` makes a book of.

    Returns:
        The file made.

    Raises:
        BookError: there is no such book, the name is taken, or the copy cannot be written.
    """
    place, target = Place.of(where), Path(to)
    look_at_head(place)
    if place.file is not None:
        copy(place.file, target)
        return target
    with open_book(where, migrate=False) as book:
        return export_archive(book, target)
