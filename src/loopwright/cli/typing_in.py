"""Values typed one after the other, as a gauge with a keyboard plug types them; nothing typed is lost."""

import contextlib
import json
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path

import click

from loopwright.errors import RequestError
from loopwright.sheets.shown import Shown
from loopwright.studies.asking import Asked, look_at_value

BACK = ("-", "b")
STOP = "what was typed is kept; give the same command again to go on"


def at_terminal() -> bool:
    """Whether somebody sits in front of it."""
    return sys.stdin.isatty()


@dataclass
class Kept:
    """What was typed of a reading and is not yet entered, in a small file.

    Attributes:
        file: where.
        values: for each pose its repeats.
    """

    file: Path | None
    values: list[list[str]] = field(default_factory=list)

    @classmethod
    def of(cls, book: str, of: str, who: str) -> "Kept":
        """What was kept of a reading, beside the book; in the program's own folder where that is a database."""
        name = re.sub(r"[^\w]+", "-", f"{of}-{who}").strip("-")[:80]
        if "://" in book:
            folder = Path(click.get_app_dir("loopwright"))
            with contextlib.suppress(OSError):
                folder.mkdir(parents=True, exist_ok=True)
            kept = cls(folder / f"typed-{name}.json")
        else:
            kept = cls(Path(f"{book}.typed-{name}.json"))
        assert kept.file is not None
        with contextlib.suppress(OSError, ValueError):
            found = json.loads(kept.file.read_text(encoding="utf-8"))["values"]
            kept.values = [[str(text) for text in repeats] for repeats in found]
        return kept

    def keep(self) -> None:
        """Write down what was typed; a folder that takes nothing must not stop the work."""
        if self.file is not None:
            with contextlib.suppress(OSError):
                self.file.write_text(
                    json.dumps({"values": self.values}, ensure_ascii=False), encoding="utf-8"
                )

    def drop(self) -> None:
        """It is in the book now."""
        if self.file is not None:
            with contextlib.suppress(OSError):
                self.file.unlink(missing_ok=True)


def typed_values(asked: Asked, kept: Kept) -> list[list[str]]:
    """Asks for value after value.

    A line holds one value, or several repeats parted by ','. '-' or 'b' goes back one. An empty line ends the repeats.

    Args:
        asked: what is asked for.
        kept: what was typed before, and where it is written down while it is typed.

    Raises:
        RequestError: the lines of a file or of another program ended too early.
    """
    terminal = at_terminal()
    if kept.values and not (terminal and _go_on(asked, kept)):
        kept.values = []
    _head(asked)
    try:
        _one_by_one(asked, kept, terminal)
    except KeyboardInterrupt:
        # it may come while a line is awaited, or between two of them
        click.echo(err=True)
        if kept.values:
            click.echo(STOP, err=True)
        raise click.Abort from None
    kept.values = [repeats for repeats in kept.values if repeats]
    return kept.values


def _one_by_one(asked: Asked, kept: Kept, terminal: bool) -> None:
    while (place := _next(asked, kept.values)) is not None:
        click.echo(_prompt(asked, place, kept.values), nl=False, err=True)
        line = _line(asked, kept)
        if not terminal:
            click.echo(err=True)
        if line in BACK:
            _back(kept.values)
        elif line:
            _take(asked, kept.values, place, line, terminal)
        elif asked.repeats is None and len(kept.values) > place and kept.values[place]:
            _close(kept.values, place)
            if place + 1 == len(asked.poses):
                break
        else:
            click.echo("  type a value, or b to go back", err=True)
        kept.keep()


def _go_on(asked: Asked, kept: Kept) -> bool:
    done = sum(len(repeats) for repeats in kept.values)
    return click.confirm(
        f"{done} values of '{asked.of}' were typed before and not entered; go on with them?",
        default=True,
        err=True,
    )


def _head(asked: Asked) -> None:
    gauge = f", {asked.gauge}" if asked.gauge else ""
    count = f"{len(asked.poses)} poses" if len(asked.poses) > 1 else "one value"
    often = "" if asked.repeats in (None, 1) else f", each {asked.repeats} times"
    click.echo(f"{asked.of}: {count}{often}{gauge}, in {asked.unit} unless you type another unit", err=True)
    if asked.note:
        click.echo(f"  {asked.note}", err=True)
    end = "; an empty line when there is no more" if asked.repeats is None else ""
    click.echo(f"Enter after each value; b goes back one{end}", err=True)


def _next(asked: Asked, values: list[list[str]]) -> int | None:
    """The pose to be read next, or None when all are."""
    wanted = asked.repeats
    for place in range(len(asked.poses)):
        if place >= len(values):
            return place
        last = place == len(values) - 1
        if wanted is None:
            if last:
                return place
        elif len(values[place]) < wanted:
            return place
    return None


def _prompt(asked: Asked, place: int, values: list[list[str]]) -> str:
    shown = Shown(asked.units)
    pose, count = asked.poses[place], len(asked.poses)
    where = shown.pose(pose) if pose else asked.names[place] if place < len(asked.names) else asked.of
    repeat = len(values[place]) + 1 if place < len(values) else 1
    again = f", repeat {repeat}" if repeat > 1 else ""
    number = f"{place + 1}/{count}  " if count > 1 else ""
    return f"  {number}{where}{again}: "


def _line(asked: Asked, kept: Kept) -> str:
    line = sys.stdin.readline()
    if line:
        return line.strip()
    if asked.repeats is None and len(kept.values) == len(asked.poses) and kept.values[-1]:
        return ""
    done = sum(len(repeats) for repeats in kept.values)
    if at_terminal():
        click.echo(STOP, err=True)
        raise click.Abort
    raise RequestError(
        f"'{asked.of}' wants a value for each of {len(asked.poses)} poses, and the lines end after {done} values",
        "give the others too, one in a line",
    )


def _take(asked: Asked, values: list[list[str]], place: int, line: str, terminal: bool) -> None:
    """Takes a line down if every value in it can be read; says so at once if not."""
    texts = [text for part in line.split(",") if (text := part.strip())]
    try:
        for text in texts:
            look_at_value(asked, text)
    except RequestError as error:
        if not terminal:
            raise
        click.echo(f"  {error}", err=True)
        return
    while len(values) <= place:
        values.append([])
    values[place] += texts


def _close(values: list[list[str]], place: int) -> None:
    """The repeats of one pose are all there: go on to the next."""
    if place + 1 == len(values):
        values.append([])


def _back(values: list[list[str]]) -> None:
    while values and not values[-1]:
        values.pop()
    if values:
        values[-1].pop()
        if not values[-1]:
            values.pop()
