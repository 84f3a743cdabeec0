"""The invented history that ships beside an example: a book to look at and to try things on."""

from importlib.resources import as_file, files
from pathlib import Path

from loopwright.book import Book, import_archive
from loopwright.errors import RequestError

ENDING = "-history.txt"


def histories() -> list[str]:
    """Names of the examples that ship with a history."""
    folder = files("loopwright.buildfile") / "examples"
    return sorted(e.name.removesuffix(ENDING) for e in folder.iterdir() if e.name.endswith(ENDING))


def open_example(name: str, where: str | Path, *, until: int | None = None) -> Book:
    """Makes a book from the history of an example, and opens it. Machine, people and readings are invented.

    Args:
        name: of the example.
        where: place of the new book; an existing one is left alone.
        until: take the history up to this entry only, for a machine that is still being assembled.

    Raises:
        RequestError: no history of that name is shipped.
        BookError: something is at that place already, or it cannot be written.

    >>> import tempfile, pathlib
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_example("clock-plate", pathlib.Path(folder, "drill.book")) as book:
    ...         print(len(book.states()), len(book.standing("reading")) > 40)
    4 True
    """
    known = histories()
    if name not in known:
        raise RequestError(f"there is no history of '{name}'", f"there are: {', '.join(known)}")
    with as_file(files("loopwright.buildfile") / "examples" / f"{name}{ENDING}") as archive:
        return import_archive(archive, where, until=until)
