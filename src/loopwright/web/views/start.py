"""The ways to begin a build."""

from pathlib import Path

from loopwright.sheets.markup import Markup, joined, tag
from loopwright.studies.beginning import (
    begin_with_archive,
    begin_with_example,
    begin_with_text,
    check_upload,
    of_folder,
    shelf,
    shipped,
)
from loopwright.studies.reports import Check
from loopwright.web.uploads import LARGEST
from loopwright.web.views.kit import (
    button,
    choice,
    columns,
    field,
    form,
    head,
    link,
    paper,
    row,
    upload,
)
from loopwright.web.views.saying import problem_line
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

SHOWN = 60
"""Mistakes that are listed; who has more mends these first."""


def ways(work: Work, reader: Reader, folder: str, where: str) -> Markup:
    """All ways to begin.

    Args:
        work: not asked for anything; there may be no book yet.
        reader: who begins.
        folder: where books lie.
        where: the open book, or ''.
    """
    return joined(
        head(say("start.title"), say("start.lede")),
        columns(_guided(), _example(), _file(), _archive(), two=True),
        _books(folder, where),
    )


def nothing() -> Markup:
    """Nothing was sent yet."""
    return Markup()


def _guided() -> Markup:
    return paper(
        say("start.guided"),
        tag("p", say("start.guided_what")),
        row(link(say("start.guided_go"), "/start/guided", first=True)),
    )


def _example() -> Markup:
    every = shipped()
    names = {example.name: example.build for example in every}
    told = [example.build for example in every if example.history]
    histories = {"half": say("start.example_half"), "whole": say("start.example_whole")}
    return paper(
        say("start.example"),
        tag("p", say("start.example_what")),
        form(
            "start_example",
            choice(say("start.example_which"), "example", names),
            choice(
                say("start.example_history"),
                "history",
                histories | {"none": say("start.example_none")},
                value="half",
                hint=say("start.example_history_hint", builds=", ".join(told)),
            ),
            tag("p", say("start.example_history_note"), class_="note"),
            row(button(say("start.begin"))),
        ),
    )


def _file() -> Markup:
    return paper(
        say("start.file"),
        tag("p", say("start.file_what")),
        upload(
            say("start.file_choose"),
            "build",
            "start_build",
            say("start.begin"),
            field(say("start.why"), "why", hint=say("start.why_hint")),
            most=LARGEST["build"],
        ),
    )


def _archive() -> Markup:
    return paper(
        say("start.archive"),
        tag("p", say("start.archive_what")),
        upload(
            say("start.archive_choose"),
            "archive",
            "start_archive",
            say("start.import"),
            most=LARGEST["archive"],
        ),
    )


def _books(folder: str, where: str) -> Markup | None:
    found = shelf(Path(folder))
    if not found:
        return None
    rows = []
    for book in found:
        here = bool(where) and Path(where).resolve() == (Path(folder) / book.file).resolve()
        said = (
            tag("span", book.wrong, class_="warn")
            if book.wrong
            else tag("span", plural("frame.entries", book.entries))
        )
        act = (
            tag("span", say("start.is_open"))
            if here
            else None
            if book.wrong
            else button(say("start.open"), "start_open", file=book.file)
        )
        rows.append(
            tag(
                "li", tag("strong", book.build or book.file), tag("span", book.file, class_="path"), said, act
            )
        )
    return paper(say("start.books"), tag("ul", *rows, class_="shelf"))


def mistakes(found: Check) -> Markup:
    """Every mistake of a build file."""
    listed = [tag("li", problem_line(problem)) for problem in found.problems[:SHOWN]]
    left = len(found.problems) - len(listed)
    return tag(
        "div",
        tag("h3", plural("start.mistakes", len(found.problems), file=found.file or "")),
        tag("ul", *listed),
        tag("p", say("start.mistakes_more", count=left)) if left else None,
        tag("p", say("start.mistakes_remedy")),
        class_="refusal",
    )


def place_of(work: Work, reader: Reader, folder: str, file: str) -> str:
    """The place of a book that lies in the folder."""
    return of_folder(Path(folder), file)


def make_example(work: Work, reader: Reader, folder: str, name: str, history: str) -> str:
    """The place of a new book of an example."""
    return begin_with_example(name, Path(folder), who=reader.who, history=history)


def make_book(work: Work, reader: Reader, folder: str, text: str, file: str, why: str) -> str:
    """The place of a new book of a description."""
    return begin_with_text(text, Path(folder), who=reader.who, file=file, why=why)


def checked_upload(path: str, name: str) -> tuple[Check, str]:
    """What is wrong with a build file that was sent, and its text."""
    return check_upload(path, name)


def book_of_archive(path: str, folder: str) -> str:
    """The place of a new book of an archive."""
    return begin_with_archive(path, Path(folder))
