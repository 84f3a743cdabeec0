"""What the commands about making have in common: whose parts they speak of."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from loopwright.cli.at_book import book_option, place_of
from loopwright.errors import RequestError

if TYPE_CHECKING:
    from loopwright.model.build import Build

Command = TypeVar("Command", bound=Callable[..., Any])


def build_options(command: Command) -> Command:
    """Adds --book and --file."""
    return book_option(
        click.option(
            "--file",
            "-f",
            "file",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="Ask a build file instead of a book.",
        )(command)
    )


def build_of(where: str | None, file: Path | None) -> "Build":
    """The build that is meant: of a file, or as the newest revision in the book has it.

    Raises:
        RequestError: both are named, or no book is found.
        BuildError: the file has mistakes.
    """
    if file is not None:
        named = click.get_current_context().get_parameter_source("where")
        if named is click.core.ParameterSource.COMMANDLINE:
            raise RequestError("both a book and a file are named", "give --book or --file")
        from loopwright.studies.checking import load

        return load(file).build
    from loopwright.book import open_book
    from loopwright.studies.books import bench_of

    with open_book(place_of(where)) as book:
        return bench_of(book).build
