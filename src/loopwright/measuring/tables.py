"""Readings from a table (CSV): which column is what, and every line that cannot be read, all at once.

Nothing in a table is worked out: a cell that looks like a formula is a text, and where a number is wanted, a
mistake.
"""

import datetime as dt
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from loopwright import units
from loopwright.errors import Problem, QuantityError
from loopwright.measuring.table_columns import (
    DATES,
    WORDS,
    Column,
    TableMapping,
    Unreadable,
    all_columns,
    dimension_of_unit,
    lines_of,
    pointed,
    text_of,
    value_name,
)
from loopwright.model.indications import axis_dimension
from loopwright.units import Dimension
from loopwright.units.arcs import is_arc
from loopwright.units.reading import split, tidied

MOST_PROBLEMS = 200
"""So many mistakes are told at once; the rest is only counted."""

MOST_REPEATS = 1000
LONGEST = {"note": 2000}
LONGEST_TEXT = 200


@dataclass(frozen=True, slots=True)
class Row:
    """One reading of a table.

    Attributes:
        line: where it stands, counted from 1.
        what: what is measured, as written: a part/dim, or a test.
        value: mm or rad.
        dimension: which of the two.
        unit: unit in which it was written.
        repeat: number of the repeat, counted from 1.
        position: axis positions by letter, mm or rad.
        item: serial of the item, where several alike are in one table; '' where it is of none.
        gauge, who, note: as written; '' where nothing was.
        date: day of the reading.
        part_temperature, gauge_temperature: °C.
    """

    line: int
    what: str
    value: float
    dimension: Dimension
    unit: str
    repeat: int = 1
    position: Mapping[str, float] = field(default_factory=dict)
    item: str = ""
    gauge: str = ""
    who: str = ""
    note: str = ""
    date: dt.date | None = None
    part_temperature: float | None = None
    gauge_temperature: float | None = None


def read_table(
    source: str | bytes | Path, mapping: TableMapping, *, file: str | None = None
) -> tuple[tuple[Row, ...], tuple[Problem, ...]]:
    r"""Readings of a table, and everything that is wrong with it.

    Args:
        source: a path, the bytes of a file, or its text. At most 5 MB and 100 000 lines.
        mapping: which column is what.
        file: name for messages; left out: the path's.

    Returns:
        The readings of all lines that could be read, and a problem for each cell that could not, with file,
        line, field (the column), what is wrong and what would do. A line with a problem gives no reading.

    >>> text = "dim;reading\npad/height;12,003\npad/height;12.O04\n"
    >>> by_columns = TableMapping((Column("reading", "mm"),), {"what": Column("dim")}, delimiter=";", decimal=",")
    >>> rows, problems = read_table(text, by_columns, file="pads.csv")
    >>> rows[0].what, rows[0].value
    ('pad/height', 12.003)
    >>> print(problems[0])
    pads.csv:3: reading: '12.O04' has a point, and the decimal mark of this table is a comma; write 12,O04
    """
    name = file if file is not None or not isinstance(source, Path) else source.name
    try:
        text = text_of(source, mapping.encoding)
        reading = _Reading(mapping, lines_of(text, mapping.delimiter))
    except Unreadable as error:
        return (), (replace(error.problem, file=name),)
    rows = tuple(reading.rows())
    problems = [replace(p, file=name) for p in reading.problems[:MOST_PROBLEMS]]
    if len(reading.problems) > MOST_PROBLEMS:
        what = f"has {len(reading.problems) - MOST_PROBLEMS} more mistakes"
        problems.append(Problem("", what, "mend the others first; they may be the cause", name))
    return rows, tuple(problems)


class _Cells:
    """The cells of one line by what they hold; notes what is wrong with them."""

    def __init__(self, reading: "_Reading", line: int, cells: list[str]) -> None:
        self.reading, self.line, self.cells = reading, line, cells
        self.sound = True

    def at(self, name: str) -> str:
        place = self.reading.places.get(name)
        cell = self.cells[place] if place is not None and place < len(self.cells) else ""
        return cell or self.reading.mapping.constants.get(name, "")

    def wrong(self, name: str, what: str, remedy: str) -> None:
        self.sound = False
        self.reading.problems.append(Problem(self.reading.heading(name), what, remedy, line=self.line))

    def text(self, name: str) -> str:
        found, most = self.at(name), LONGEST.get(name, LONGEST_TEXT)
        if len(found) > most:
            self.wrong(name, f"has {len(found)} letters", f"use {most} at most")
        elif not found.replace("\n", " ").replace("\r", " ").isprintable():
            self.wrong(name, f"{found[:40]!r} holds a control character", "take it out")
        return found

    def quantity(self, name: str, dimension: Dimension, unit: str | None, text: str | None = None) -> float:
        try:
            number = pointed(self.at(name) if text is None else text, self.reading.mapping.decimal)
            return units.parse(number, dimension, bare=unit)
        except QuantityError as error:
            self.wrong(name, error.what, error.remedy)
            return 0.0


class _Reading:
    """Reads line after line, and gathers the problems."""

    def __init__(self, mapping: TableMapping, lines: list[tuple[int, list[str]]]) -> None:
        self.mapping, self.problems = mapping, list[Problem]()
        head = next((cells for number, cells in lines if number == mapping.header), [])
        self.lines = [(number, cells) for number, cells in lines if number > mapping.header]
        self.columns = all_columns(mapping)
        self.width = len(head) if head else max((len(cells) for _, cells in self.lines), default=0)
        self.places = {name: self._place(one, head) for name, one in self.columns.items()}
        if "what" not in self.places and not mapping.constants.get("what"):
            raise Unreadable("no column says what is measured", "name the column, or what all lines measure")

    def _place(self, column: Column, head: list[str]) -> int:
        wanted = column.heading
        if isinstance(wanted, int):
            if not 1 <= wanted <= self.width:
                raise Unreadable(f"there is no column {wanted}", f"the table has {self.width}")
            return wanted - 1
        plain = [cell.casefold() for cell in head]
        found = [i for i, cell in enumerate(plain) if cell == wanted.strip().casefold()]
        if len(found) == 1:
            return found[0]
        listed = ", ".join(f"'{cell}'" for cell in head[:12])
        what = f"there is no column '{wanted}'" if not found else f"two columns are called '{wanted}'"
        remedy = f"the headings are {listed}" if not found else "give one of them another heading"
        raise Unreadable(what, remedy, self.mapping.header)

    def heading(self, name: str) -> str:
        """What to call a column in a message."""
        if name not in self.columns:
            return WORDS.get(name, name)
        found = self.columns[name].heading
        return found if isinstance(found, str) else f"column {found}"

    def rows(self) -> Iterator[Row]:
        for line, cells in self.lines:
            here = _Cells(self, line, cells)
            if len(cells) > self.width and any(cells[self.width :]):
                remedy = "look for a delimiter inside of a cell, or a decimal comma"
                here.wrong("", f"has {len(cells)} cells, and {self.width} columns", remedy)
            yield from self._rows_of(here)

    def _rows_of(self, here: _Cells) -> Iterable[Row]:
        mapping = self.mapping
        common: dict[str, Any] = {name: here.text(name) for name in ("what", "item", "gauge", "who", "note")}
        if not common["what"]:
            here.wrong("what", "is empty", "write what is measured, such as pad/height")
        common["date"] = self._date(here)
        for name in ("part_temperature", "gauge_temperature"):
            unit = mapping.columns[name].unit if name in mapping.columns else None
            wanted = unit or mapping.temperature_unit
            common[name] = here.quantity(name, Dimension.TEMPERATURE, wanted) if here.at(name) else None
        common["position"] = self._position(here)
        first = self._repeat(here)
        found = [(i, self._value(here, i)) for i in range(len(mapping.values))]
        read = [(i, *one) for i, one in found if one is not None]
        if not read and here.sound:
            here.wrong(value_name(mapping, 0), "is empty", "write the reading, or take the line out")
        if not here.sound:
            return []
        return [
            Row(here.line, value=v, dimension=d, unit=u, repeat=first + i, **common) for i, v, d, u in read
        ]

    def _value(self, here: _Cells, number: int) -> tuple[float, Dimension, str] | None:
        name, column = value_name(self.mapping, number), self.mapping.values[number]
        text = here.at(name)
        if not text:
            return None
        beside = here.text("unit")
        if beside and dimension_of_unit(beside) is None:
            here.wrong("unit", f"'{beside}' is not a unit of length or angle", "use mm, µm, in, thou, arcsec")
            return None
        own = _own_unit(text, self.mapping.decimal, beside or column.unit or self.mapping.unit)
        if own and beside and _unlike(own, beside):
            here.wrong(name, f"'{text}' does not go with the unit '{beside}' beside it", "keep one of them")
            return None
        unit = own or beside or column.unit or self.mapping.unit
        if unit is None:
            here.wrong(name, f"'{text}' has no unit", "say which unit the column is in")
            return None
        dimension = dimension_of_unit(unit) or Dimension.LENGTH
        value = here.quantity(name, dimension, unit if unit != own else None, text)
        return value, dimension, unit

    def _position(self, here: _Cells) -> dict[str, float]:
        found = {}
        for axis, column in self.mapping.axes.items():
            dimension, name = axis_dimension(axis), f"{axis} position"
            usual = self.mapping.position_unit if dimension is Dimension.LENGTH else "deg"
            if here.at(name):
                found[axis] = here.quantity(name, dimension, column.unit or usual)
        for axis in self.mapping.axes if found else ():  # a line with none at all is no sweep's
            if axis not in found:
                here.wrong(f"{axis} position", "is empty", f"write the position of {axis}")
        return found

    def _repeat(self, here: _Cells) -> int:
        text = here.at("repeat")
        if not text:
            return 1
        if not re.fullmatch(r"[0-9]{1,4}", text) or not 1 <= int(text) <= MOST_REPEATS:
            here.wrong("repeat", f"'{text[:40]}' is not the number of a repeat", "count them from 1")
            return 1
        return int(text)

    def _date(self, here: _Cells) -> dt.date | None:
        text = here.at("date")
        if not text:
            return None
        pattern, order, example = DATES[self.mapping.dates]
        match = re.match(pattern + r"(?=$|[T ])", text)
        try:
            parts = dict(zip(order, map(int, match.groups()), strict=True)) if match else {}
            return dt.date(**parts)
        except (ValueError, TypeError):
            here.wrong(
                "date", f"'{text[:40]}' is not a date with the {self.mapping.dates}", f"write {example}"
            )
            return None


def _own_unit(text: str, decimal: str, other: str | None) -> str:
    """The unit that stands in a cell behind the number, '' where there is none.

    An angle in degrees, minutes and seconds goes with any unit of angle; it is then kept in that one.
    """
    if is_arc(tidied(text.replace(",", "."))):
        if other and dimension_of_unit(other) is Dimension.ANGLE:
            return other
        if "°" in text or "deg" in text.casefold():
            return "arcsec"
    try:
        return split(pointed(text, decimal), Dimension.LENGTH)[1] or ""
    except QuantityError:  # told where the number is read
        return ""


def _unlike(one: str, other: str) -> bool:
    dimensions = {dimension_of_unit(one), dimension_of_unit(other)}
    if len(dimensions) > 1:
        return True
    dimension = dimensions.pop() or Dimension.LENGTH
    return units.factor(one, dimension) != units.factor(other, dimension)
