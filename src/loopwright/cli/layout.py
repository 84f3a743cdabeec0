"""How the commands lay out what they print: plain where it goes to a file, at most 100 columns wide."""

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import click
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

WIDTH = 100
RULE = "─"
NAME_WIDTH = 16


def console() -> Console:
    """A console that is plain where the output is not a terminal."""
    probe = Console(highlight=False)
    width = min(probe.width, WIDTH) if probe.is_terminal else WIDTH
    return Console(highlight=False, width=width, soft_wrap=False)


def columns(*headings: str) -> Table:
    """A table without boxes; a column whose heading begins with '>' stands to the right."""
    made = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0), header_style="dim")
    for number, heading in enumerate(headings):
        right = heading.startswith(">")
        made.add_column(
            heading.lstrip(">"),
            justify="right" if right else "left",
            overflow="fold",
            no_wrap=right,
            # a name broken into letters is no name
            min_width=None if right or number else NAME_WIDTH,
        )
    return made


def set_in(what: Table | Text) -> Padding:
    """The same two columns further in."""
    return Padding(what, (0, 0, 0, 2))


def say(out: Console, text: str, style: str = "") -> None:
    """A line of text in which brackets mean nothing."""
    out.print(Text(text, style=style))


def say_command(out: Console, text: str) -> None:
    """A command to type, on one line however long, so that it can be copied."""
    out.print(Text(text), soft_wrap=True)


def from_to(before: str, after: str) -> str:
    """Two numbers of one unit: '8.3 -> 9.0 µm'; one number where they are alike."""
    if before == after:
        return after
    first, _, unit = before.partition(" ")
    second, _, other = after.partition(" ")
    plain = unit == other and not {first, second} & {"under", "over"}
    return f"{first} -> {after}" if plain else f"{before} -> {after}"


def listed(names: Sequence[str], most: int = 4) -> str:
    """The first of some names, and how many more there are."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


@contextmanager
def busy(words: str, *, quiet: bool = False) -> Iterator[None]:
    """Says on a terminal what is being worked out while that takes its time."""
    quiet = quiet or not sys.stderr.isatty()
    if not quiet:
        click.echo(f"\r{words} …", nl=False, err=True)
    try:
        yield
    finally:
        if not quiet:
            click.echo("\r" + " " * (len(words) + 2) + "\r", nl=False, err=True)


class Progress:
    """Counts on a terminal; says nothing where the output goes to a file or another program."""

    def __init__(
        self, quiet: bool, words: str = "Monte Carlo: {done}{of} machines built on paper", first: str = ""
    ) -> None:
        self.quiet, self.words = quiet or not sys.stderr.isatty(), words
        self.first = first

    def __enter__(self) -> "Progress":
        if self.first and not self.quiet:
            click.echo(f"\r{self.first} ", nl=False, err=True)
        return self

    def __exit__(self, *_: object) -> None:
        if not self.quiet:
            click.echo("\r" + " " * 70 + "\r", nl=False, err=True)

    def __call__(self, done: int, wanted: int | None) -> None:
        """So many are done, of so many where that is known."""
        if not self.quiet:
            of = f" of {wanted:,}" if wanted else ""
            click.echo(f"\r{self.words.format(done=f'{done:,}', of=of)} ", nl=False, err=True)
