"""Raw readings from a table (CSV): which column is what for one evaluation, and every line that cannot be used."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from loopwright import units
from loopwright.errors import Problem, QuantityError, RequestError
from loopwright.measuring.table_columns import Unreadable, dimension_of_unit, laid_out, name_and_unit
from loopwright.studies.evaluating_forms import Given, Kind, Wanted
from loopwright.studies.evaluating_reading import MOST_READINGS
from loopwright.units import Dimension

LOOKED_AT = 20
"""Lines in which headings are looked for."""

_NUMBER = re.compile(r"[+\-−]?[0-9]*[.,]?[0-9]+(?:[eE][+-]?[0-9]+)?")


@dataclass(frozen=True)
class Columns:
    """Which column of a table is what for an evaluation; made once, and remembered.

    Attributes:
        headings: by column of the evaluation its heading, or its number counted from 1 as text.
        units: unit by column of numbers that name none, where the heading does not either.
    """

    headings: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """As JSON holds it."""
        return {"headings": dict(self.headings), "units": dict(self.units)}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Columns":
        """The columns that ``to_dict`` wrote.

        Raises:
            RequestError: it is none of them.

        >>> Columns.from_dict(Columns({"height": "Dial"}, {"height": "µm"}).to_dict()).headings
        {'height': 'Dial'}
        """
        found = [data.get(key) for key in ("headings", "units")]
        if not all(
            isinstance(one, Mapping) and all(isinstance(v, str) for v in one.values()) for one in found
        ):
            raise RequestError("these are not the columns of an evaluation", "name them anew")
        return cls(*(dict(one) for one in found if one is not None))

    def over(self, other: "Columns") -> "Columns":
        """These, and the other's where these say nothing."""
        return Columns({**other.headings, **self.headings}, {**other.units, **self.units})


@dataclass(frozen=True)
class TableRead:
    """What stands in a table.

    Attributes:
        given: as if it had been typed; without settings, u and gauge.
        columns: which column was taken for what.
        unused: headings of columns that nothing was made of.
        problems: what cannot be used; ``given`` counts only where there is none.
    """

    given: Given
    columns: Columns
    unused: tuple[str, ...]
    problems: tuple[Problem, ...]


def read_columns(
    source: str | bytes | Path,
    kind: Kind,
    *,
    said: Columns | None = None,
    file: str | None = None,
    elsewhere: Collection[str] = (),
) -> TableRead:
    r"""The columns of a table that an evaluation asks for, as texts.

    Headings are compared without regard to capitals; a unit may stand behind them in brackets. A table without
    headings has its columns in the order in which the evaluation lists those that it needs.

    Args:
        source: a path, the bytes of a file, or its text.
        kind: the evaluation.
        said: which column is what, where that is known.
        file: name for messages; left out: the path's.
        elsewhere: columns that are told in another way, and need not be in the table.

    >>> from loopwright.studies.evaluating import kind_of
    >>> found = read_columns("Pos [mm];Dial (µm)\n0;1,5\n100;2\n", kind_of("straightness"),
    ...     said=Columns({"height": "dial (µm)"}))
    >>> found.given.columns["height"], found.given.units["height"], found.problems
    (('1,5', '2'), 'µm', ())
    """
    name = file if file is not None or not isinstance(source, Path) else source.name
    try:
        laid = laid_out(source)
    except Unreadable as error:
        problem = replace(error.problem, file=name)
        return TableRead(Given(kind.name, {}, file=name), said or Columns(), (), (problem,))
    work = _Table(kind, said or Columns(), laid.lines, name, elsewhere)
    given = work.given(laid.decimal)
    return TableRead(given, work.columns(given), work.unused(), tuple(work.problems))


class _Table:
    """Looks for the columns, and takes their cells."""

    def __init__(
        self,
        kind: Kind,
        said: Columns,
        lines: Sequence[tuple[int, list[str]]],
        file: str | None,
        elsewhere: Collection[str],
    ) -> None:
        self.kind, self.said, self.file = kind, said, file
        self.wanted = [one for one in kind.columns if one.name not in elsewhere]
        self.problems: list[Problem] = []
        self.header, self.head = self._head(lines)
        self.lines = [(number, cells) for number, cells in lines if number > self.header]
        self.width = len(self.head) or max((len(cells) for _, cells in lines), default=0)
        self.places = self._places()

    def wrong(self, field_: str, what: str, remedy: str, line: int | None = None) -> None:
        self.problems.append(Problem(field_, what, remedy, self.file, line))

    def _head(self, lines: Sequence[tuple[int, list[str]]]) -> tuple[int, list[str]]:
        """Number and cells of the line of the headings; 0 and none where the table has none."""
        told = {heading.strip().casefold() for heading in self.said.headings.values()}

        def known(cell: str) -> bool:
            plain = name_and_unit(cell)[0]
            return cell.casefold() in told or any(plain in _names(one) for one in self.kind.columns)

        # a line with a number in it is none of headings, whatever a remark in it may be called
        counted = [
            (0 if any(map(_NUMBER.fullmatch, cells)) else sum(map(known, cells)), number, cells)
            for number, cells in lines[:LOOKED_AT]
        ]
        best = max(counted, key=lambda one: one[0])
        if best[0]:
            return best[1], best[2]
        number, cells = lines[0]
        return (0, []) if all(_NUMBER.match(cell) or not cell for cell in cells) else (number, cells)

    def _places(self) -> dict[str, int]:
        """Place of each column that the evaluation asks for, as far as it is there."""
        found: dict[str, int] = {}
        for wanted in self.wanted:
            heading = self.said.headings.get(wanted.name)
            if heading is not None:
                place = self._said_place(wanted, heading)
                if place is not None:
                    found[wanted.name] = place
        if not self.head and not found:
            needed = [one.name for one in self.wanted if one.needed]
            return dict(zip(needed, range(self.width))) if self.width == len(needed) else {}
        plain = [name_and_unit(cell)[0] for cell in self.head]
        # names before other words, so that 'x' is x where there is an x to be found
        for rank in range(max(len(one.also) for one in self.wanted) + 1):
            for wanted in self.wanted:
                words = (wanted.name, *wanted.also)
                if wanted.name in found or rank >= len(words):
                    continue
                places = [i for i, one in enumerate(plain) if one == words[rank] and i not in found.values()]
                if len(places) == 1:
                    found[wanted.name] = places[0]
        return found

    def _said_place(self, wanted: Wanted, heading: str) -> int | None:
        plain = [cell.casefold() for cell in self.head]
        exact = [i for i, cell in enumerate(plain) if cell == heading.strip().casefold()]
        bare = [i for i, cell in enumerate(self.head) if name_and_unit(cell)[0] == heading.strip().casefold()]
        for places in (exact, bare):
            if len(places) == 1:
                return places[0]
        if heading.isascii() and heading.isdigit() and 1 <= int(heading) <= self.width:
            return int(heading) - 1
        what = f"there is no column '{heading}'" if len(exact) < 2 else f"two columns are called '{heading}'"
        self.wrong(wanted.name, what, self._headings(), self.header or None)
        return None

    def _headings(self) -> str:
        if not self.head:
            return f"the table has no headings; number its {self.width} columns from 1"
        return "the headings are " + ", ".join(f"'{cell}'" for cell in self.head[:12])

    def given(self, decimal: str) -> Given:
        """The cells, as if they had been typed."""
        self._missing()
        units_of = {name: unit for name in self.places if (unit := self._unit(name)) is not None}
        rows: list[tuple[int, list[str]]] = []
        for line, cells in self.lines:
            if len(cells) > self.width and any(cells[self.width :]):
                remedy = "look for a delimiter inside of a cell, or a decimal comma"
                self.wrong("", f"has {len(cells)} cells, and {self.width} columns", remedy, line)
            taken = [cells[at] if at < len(cells) else "" for at in self.places.values()]
            if any(taken):
                rows.append((line, taken))
        if len(rows) > MOST_READINGS:
            self.wrong(
                "", f"has {len(rows)} readings", f"give {MOST_READINGS} at most, or every n-th of them"
            )
        columns = {name: tuple(cells[i] for _, cells in rows) for i, name in enumerate(self.places)}
        headings = {name: self._called(at) for name, at in self.places.items()}
        return Given(
            self.kind.name,
            columns,
            units=units_of,
            decimal=decimal,
            file=self.file,
            lines=tuple(line for line, _ in rows),
            headings=headings,
        )

    def _missing(self) -> None:
        lacking = [one for one in self.wanted if one.needed and one.name not in self.places]
        told = {problem.field for problem in self.problems}
        for wanted in lacking:
            if wanted.name not in told:
                self.wrong(
                    wanted.name,
                    f"no column looks like {wanted.name}: {wanted.help}",
                    f"say which it is, as in {wanted.name}=HEADING; {self._headings()}",
                    self.header or None,
                )

    def _called(self, at: int) -> str:
        return self.head[at] if at < len(self.head) else f"column {at + 1}"

    def _unit(self, name: str) -> str | None:
        """The unit in the heading of a column, else the one that was said."""
        (wanted,) = (one for one in self.kind.columns if one.name == name)
        at = self.places[name]
        written = name_and_unit(self.head[at])[1] if at < len(self.head) else None
        said = self.said.units.get(name)
        if written is None or wanted.dimension is None or not _is_any_unit(written):
            return said
        if not _is_unit(written, wanted.dimension):
            self.wrong(
                self._called(at),
                f"'{written}' is not a unit of {wanted.dimension}, and {name} is {wanted.dimension.with_article}",
                f"use {', '.join(units.units_of(wanted.dimension)[:5])}",
                self.header or None,
            )
        return written

    def columns(self, given: Given) -> Columns:
        """Which column was taken for what, to be shown and remembered."""
        headings = {
            name: self.head[at] if at < len(self.head) else str(at + 1) for name, at in self.places.items()
        }
        return Columns(headings, given.units)

    def unused(self) -> tuple[str, ...]:
        taken = set(self.places.values())
        return tuple(cell for i, cell in enumerate(self.head) if cell and i not in taken)


def _names(wanted: Wanted) -> tuple[str, ...]:
    return (wanted.name, *wanted.also)


def _is_unit(unit: str, dimension: Dimension) -> bool:
    try:
        units.parse(f"1 {unit}", dimension)
    except QuantityError:
        return False
    return True


def _is_any_unit(text: str) -> bool:
    return dimension_of_unit(text) is not None
