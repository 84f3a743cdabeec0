"""Beginning a build: from a shipped example, from a build file, from an archive, or with another book of the folder."""

import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from loopwright.book import BookError, create, import_archive, open_book
from loopwright.buildfile import examples
from loopwright.errors import BuildError, RequestError
from loopwright.studies.checking import check_text
from loopwright.studies.example_history import histories, open_example
from loopwright.studies.reports import Check


@dataclass(frozen=True)
class Example:
    """A shipped example.

    Attributes:
        name: of the example.
        build: what the machine is called.
        history: whether a book with an invented history of it is shipped too.
    """

    name: str
    build: str
    history: bool


@dataclass(frozen=True)
class OnShelf:
    """A book that lies in a folder.

    Attributes:
        file: its name.
        build: what its machine is called; '' where it cannot be opened.
        entries: how many it has.
        wrong: why it cannot be opened, or ''.
    """

    file: str
    build: str
    entries: int
    wrong: str = ""


def shipped() -> tuple[Example, ...]:
    """The shipped examples.

    >>> [example.name for example in shipped()]
    ['clock-plate', 'guitar-gantry']
    """
    told = set(histories())
    return tuple(
        Example(name, check_text(examples.text(name), name).build or name, name in told)
        for name in examples.names()
    )


def shelf(folder: Path) -> tuple[OnShelf, ...]:
    """The books of a folder, by name."""
    return tuple(_on_shelf(path) for path in sorted(folder.glob("*.book")) if path.is_file())


def _on_shelf(path: Path) -> OnShelf:
    try:
        with open_book(path, migrate=False) as book:
            return OnShelf(path.name, book.info.build_name, book.last_number)
    except BookError as error:
        return OnShelf(path.name, "", 0, str(error))


def file_name(build: str) -> str:
    """Name of a file for the book of a machine.

    >>> file_name("Clock-plate drilling machine"), file_name("Fräse № 2/b")
    ('clock-plate-drilling-machine.book', 'frase-no-2-b.book')
    """
    plain = unicodedata.normalize("NFKD", build).encode("ascii", "ignore").decode().lower()
    return (re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "build") + ".book"


def free_place(folder: Path, build: str) -> Path:
    """A file in a folder that no book lies in yet."""
    first = folder / file_name(build)
    if not first.exists():
        return first
    numbered = (first.with_stem(f"{first.stem}-{n}") for n in range(2, 1000))
    return next(path for path in numbered if not path.exists())


def begin_with_text(text: str, folder: Path, *, who: str, file: str | None = None, why: str = "") -> str:
    """A new book of a build.

    Args:
        text: its description.
        folder: where the book is put.
        who: begins it.
        file: name of the file that the text came from.
        why: the reason, for people.

    Returns:
        The place of the book.

    Raises:
        BuildError: the description has mistakes; all of them are in it.
    """
    checked = check_text(text, file)
    if checked.problems:
        raise BuildError(checked.problems)
    name = checked.build or "build"
    place = free_place(folder, name)
    create(place, text, build_name=name, who=who, file=file, why=why).close()
    return str(place)


HALF_WAY = 46
"""Entry of a shipped history at which there is something to do: the column leans, and its shims are about to be set."""
HISTORIES = ("none", "half", "whole")


def begin_with_example(name: str, folder: Path, *, who: str, history: str) -> str:
    """A new book of a shipped example; the place of the book.

    Args:
        name: of the example.
        folder: where the book is put.
        who: begins it.
        history: 'none' of its invented history, the first 'half', or the 'whole'.

    Raises:
        RequestError: there is no such example, or no history of it is shipped.
    """
    if history not in HISTORIES:
        raise RequestError(f"there is no history '{history}'", f"one of {', '.join(HISTORIES)}")
    if history == "none":
        return begin_with_text(examples.text(name), folder, who=who, file=f"{name}.yaml")
    place = free_place(folder, name)
    open_example(name, place, until=HALF_WAY if history == "half" else None).close()
    return str(place)


def begin_with_archive(archive: str, folder: Path) -> str:
    """A new book from an archive; the place of the book.

    Raises:
        NewerBook: the archive was written by a newer program.
        BookError: it is damaged, or no archive.
    """
    place = free_place(folder, "imported")
    with import_archive(archive, place) as book:
        named = free_place(folder, book.info.build_name)
    try:
        place.rename(named)
    except OSError:
        return str(place)
    return str(named)


def check_upload(path: str, name: str) -> tuple[Check, str]:
    """What is wrong with a build file that was sent, and its text.

    Raises:
        RequestError: it is no text.
    """
    try:
        text = Path(path).read_text("utf-8")
    except UnicodeDecodeError:
        raise RequestError(
            f"'{name}' is not a text file", "choose a build file: text, as a machinist can read it"
        ) from None
    return check_text(text, name), text


def of_folder(folder: Path, file: str) -> str:
    """The place of a book that lies in a folder.

    Raises:
        RequestError: no book of that name lies there.
    """
    known = {path.name: path for path in folder.glob("*.book") if path.is_file()}
    if file not in known:
        raise RequestError(f"there is no book '{file}' here", f"there are: {', '.join(known) or 'none'}")
    return str(known[file])
