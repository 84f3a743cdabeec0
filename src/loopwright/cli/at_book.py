"""What the commands about a book have in common: which book, who enters, and what others entered meanwhile."""

import getpass
import inspect
import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from loopwright.errors import RequestError

Command = TypeVar("Command", bound=Callable[..., Any])

BOOK, WHO = "LOOPWRIGHT_BOOK", "LOOPWRIGHT_WHO"


def book_option(command: Command) -> Command:
    """Adds --book."""
    return click.option(
        "--book",
        "-b",
        "where",
        envvar=BOOK,
        metavar="BOOK",
        help=f"File of the book, or postgresql://… Default: {BOOK}, else the only *.book in this folder.",
    )(command)


def who_option(command: Command) -> Command:
    """Adds --who."""
    return click.option(
        "--who", envvar=WHO, metavar="NAME", help=f"Who enters it. Default: {WHO}, else the login name."
    )(command)


def json_option(command: Command) -> Command:
    """Adds --json."""
    return click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")(command)


def examples(*lines: str) -> Callable[[Command], Command]:
    """Adds example calls to the help of a command."""

    def add(command: Command) -> Command:
        # click keeps the lines of a paragraph that begins with a backspace as they are
        called = "\n".join(f"  {line}" for line in lines)
        command.__doc__ = f"{inspect.cleandoc(command.__doc__ or '')}\n\n\b\nExamples:\n{called}"
        return command

    return add


def place_of(where: str | None) -> str:
    """The book that is meant.

    Raises:
        RequestError: none is named, and the folder has none or several.
    """
    if where:
        return where
    found = sorted(path.name for path in Path.cwd().glob("*.book") if path.is_file())
    if len(found) == 1:
        return found[0]
    if not found:
        raise RequestError(
            "this folder has no book",
            f"name one by --book or {BOOK}, or begin one: loopwright book new FILE.yaml",
        )
    raise RequestError(
        f"this folder has {len(found)} books: {', '.join(found[:6])}", f"name one by --book or {BOOK}"
    )


def person(who: str | None) -> str:
    """Who enters.

    Raises:
        RequestError: nobody is named, and the login has no name.
    """
    if who and who.strip():
        return who.strip()
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        raise RequestError(
            "nobody is named as the one who enters this", f"give --who NAME, or set {WHO}"
        ) from None


def station() -> str:
    """The screen that it was entered at."""
    return os.environ.get("LOOPWRIGHT_STATION", "")


def print_json(data: object) -> None:
    """Prints an answer as JSON."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))


def pairs(texts: Iterable[str], example: str, *, empty: bool = False) -> dict[str, str]:
    """PATH=VALUE words as a table.

    Raises:
        RequestError: a word has no '=', or nothing stands before it.
    """
    out = {}
    for text in texts:
        path, sign, value = text.partition("=")
        if not path.strip() or not (sign or empty) or (sign and not value.strip()):
            raise RequestError(f"'{text}' is not PATH=VALUE", f"write it as in {example}")
        out[path.strip()] = value.strip()
    return out


def tell(written: Any) -> None:
    """Says what others entered meanwhile, and what the book did differently from what was asked."""
    for sentence in written.told:
        click.echo(f"note: {sentence}", err=True)
    if written.meanwhile:
        numbers = ", ".join(f"{e.number} ({e.who})" for e in written.meanwhile[:5])
        click.echo(f"note: entered by others meanwhile: {numbers}", err=True)
    for entry in written.clashes:
        click.echo(
            f"note: entry {entry.number} by {entry.who} is about the same thing; look at it: "
            f"loopwright history --since {entry.number - 1}",
            err=True,
        )
