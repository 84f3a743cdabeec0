"""Raw readings typed one after the other, as a gauge with a keyboard plug types them; nothing typed is lost."""

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import click

from loopwright import units
from loopwright.cli.typing_in import BACK, STOP, Kept, at_terminal
from loopwright.errors import QuantityError, RequestError
from loopwright.studies.evaluating_forms import Kind, Wanted

NOTHING = ""
"""What an empty line is: the end of a column, or an empty cell where one may be."""


@dataclass(frozen=True)
class Wish:
    """What is to be typed.

    Attributes:
        kind: the evaluation.
        columns: to be asked for, in order.
        units: of numbers typed without one, by column.
        count: rows; None until an empty line ends the first column.
        places: what to call each row; those beyond are counted.
        by_row: one row after the other, and not one column after the other.
    """

    kind: Kind
    columns: Sequence[Wanted]
    units: Mapping[str, str]
    count: int | None = None
    places: Sequence[str] = ()
    by_row: bool = False

    @property
    def ragged(self) -> bool:
        """Columns need not be of one length: their cells belong to no common place."""
        return not self.kind.places and all(one.gaps for one in self.columns) and len(self.columns) > 1


@dataclass
class _Sheet:
    """What was typed so far, as a line of texts, and where the next one goes."""

    wish: Wish
    typed: list[str] = field(default_factory=list)
    cells: dict[str, list[str]] = field(default_factory=dict)
    turn: int = 0
    count: int | None = None
    done: bool = False

    def __post_init__(self) -> None:
        self.start()

    def start(self) -> None:
        self.cells = {one.name: [] for one in self.wish.columns}
        self.turn, self.count = 0, self.wish.count
        self.done = False
        self._go_on()

    @property
    def column(self) -> Wanted:
        return self.wish.columns[self.turn]

    @property
    def row(self) -> int:
        return len(self.cells[self.column.name])

    @property
    def may_be_empty(self) -> bool:
        """An empty line says something here."""
        if self.wish.by_row:
            return (self.turn == 0 and self.row > 0 and self.count is None) or self.column.gaps
        return self.column.gaps or (self.count is None and self.row > 0)

    def put(self, text: str) -> None:
        """Takes a value, or an empty line where one may be."""
        self.typed.append(text)
        if text or (self.column.gaps and not self._ends()):
            self.cells[self.column.name].append(text)
            if self.wish.by_row:
                self.turn = (self.turn + 1) % len(self.wish.columns)
        elif self.wish.by_row:
            self.done = True
        else:
            self.count = None if self.wish.ragged else self.row
            self.turn += 1
        self._go_on()

    def _ends(self) -> bool:
        """An empty line is the end, and not an empty cell."""
        return self.count is None and (self.turn == 0 if self.wish.by_row else True)

    def _go_on(self) -> None:
        if self.wish.by_row:
            self.done = self.done or (self.turn == 0 and self.count is not None and self.row >= self.count)
            return
        while self.turn < len(self.wish.columns) and self.count is not None and self.row >= self.count:
            self.turn += 1
        self.done = self.turn >= len(self.wish.columns)

    def back(self) -> None:
        """Takes the last one back."""
        again = self.typed[:-1]
        self.typed = []
        self.start()
        for text in again:
            self.put(text)

    def columns(self) -> dict[str, list[str]]:
        """The columns, of one length."""
        longest = max(len(cells) for cells in self.cells.values())
        return {name: cells + [""] * (longest - len(cells)) for name, cells in self.cells.items()}


def typed_columns(wish: Wish, kept: Kept) -> dict[str, list[str]]:
    """Asks for value after value.

    '-' or 'b' goes back one. An empty line ends a column whose length is not known.

    Args:
        wish: what is asked for.
        kept: what was typed before, and where it is written down while it is typed.

    Raises:
        RequestError: the lines of another program ended too early, or one of them cannot be read.
    """
    terminal, sheet = at_terminal(), _Sheet(wish)
    if kept.values and terminal and _go_on(wish, kept):
        for text in kept.values[0]:
            sheet.put(text)
    _head(wish)
    try:
        _one_by_one(sheet, kept, terminal)
    except KeyboardInterrupt:
        # it may come while a line is awaited, or between two of them
        click.echo(err=True)
        if sheet.typed:
            click.echo(STOP, err=True)
        raise click.Abort from None
    return sheet.columns()


def _one_by_one(sheet: _Sheet, kept: Kept, terminal: bool) -> None:
    while not sheet.done:
        click.echo(_prompt(sheet), nl=False, err=True)
        line = _line(sheet, terminal)
        if not terminal:
            click.echo(err=True)
        if line in BACK:
            sheet.back()
        elif line or sheet.may_be_empty:
            _take(sheet, line, terminal)
        else:
            click.echo("  type a value, or b to go back", err=True)
        if terminal:  # lines of another program can be sent again
            kept.values = [sheet.typed]
            kept.keep()


def _go_on(wish: Wish, kept: Kept) -> bool:
    return click.confirm(
        f"{len(kept.values[0])} values of '{wish.kind.name}' were typed before and not evaluated; go on with them?",
        default=True,
        err=True,
    )


def _head(wish: Wish) -> None:
    wanted = ", ".join(
        f"{one.name}{f' in {unit}' if (unit := wish.units.get(one.name)) else ''}" for one in wish.columns
    )
    click.echo(f"{wish.kind.name}: {wanted} unless you type another unit", err=True)
    for one in wish.columns:
        click.echo(f"  {one.name}: {one.help}", err=True)
    end = "; an empty line when there is no more" if wish.count is None else ""
    click.echo(f"Enter after each value; b goes back one{end}", err=True)


def _prompt(sheet: _Sheet) -> str:
    wish, row = sheet.wish, sheet.row
    count = f"/{sheet.count}" if sheet.count is not None else ""
    where = f"  {wish.places[row]}" if row < len(wish.places) else ""
    return f"  {sheet.column.name} {row + 1}{count}{where}: "


def _line(sheet: _Sheet, terminal: bool) -> str:
    line = sys.stdin.readline()
    if line:
        return line.strip()
    if terminal:
        click.echo(STOP, err=True)
        raise click.Abort
    if sheet.may_be_empty and not (sheet.column.gaps and sheet.count is not None):
        return NOTHING
    raise RequestError(
        f"'{sheet.wish.kind.name}' wants more: the lines end before {sheet.column.name} {sheet.row + 1}",
        "give the others too, one in a line; an empty line ends a column",
    )


def _take(sheet: _Sheet, line: str, terminal: bool) -> None:
    """Takes a line down if it can be read; says so at once if not."""
    column = sheet.column
    try:
        if line and column.dimension is not None:
            units.parse(line, column.dimension, bare=sheet.wish.units.get(column.name))
    except QuantityError as error:
        if not terminal:
            raise RequestError(f"{column.name} {sheet.row + 1}: {error.what}", error.remedy) from None
        click.echo(f"  {error}", err=True)
        return
    sheet.put(line)
