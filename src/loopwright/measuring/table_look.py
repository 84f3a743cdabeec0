"""A first look at a table of readings: how it is laid out, its first lines, and which known columns fit it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from loopwright.errors import RequestError
from loopwright.measuring.table_columns import (
    TableMapping,
    Unreadable,
    lines_of,
    propose,
    text_of,
)
from loopwright.measuring.tables import read_table

SHOWN = 5
"""So many lines are shown."""
WIDEST = 60
"""So many columns are shown, and can be given a meaning."""
LONGEST = 60
"""So many letters of a cell are shown."""


@dataclass(frozen=True, slots=True)
class Laying:
    """How a table is written, where that is known or was said.

    Attributes:
        delimiter: what parts the cells.
        header: line of the headings, counted from 1; 0 where there are none.
        encoding: of the file.
    """

    delimiter: str
    header: int
    encoding: str


@dataclass(frozen=True, slots=True)
class TableLook:
    """What is seen of a table at first.

    Attributes:
        laying: how it is written.
        headings: of its columns, in their order; '' where there is none.
        first: number of each of its first lines below the headings, and its cells.
        lines: how many lines there are below the headings.
        guess: a first guess at its columns; None where none looks like values, or it is laid out otherwise.
        fitting: names of those columns that were known before and fit it, the best first.
    """

    laying: Laying
    headings: tuple[str, ...]
    first: tuple[tuple[int, tuple[str, ...]], ...]
    lines: int
    guess: TableMapping | None
    fitting: tuple[str, ...]


def look_at(
    source: str | bytes | Path,
    known: Mapping[str, TableMapping],
    *,
    base: str | None = None,
    laying: Laying | None = None,
) -> TableLook:
    r"""A first look at a table.

    Args:
        source: a path, the bytes of a file, or its text. At most 5 MB and 100 000 lines.
        known: columns that were kept of other tables, by their name, the newest last.
        base: name of those known columns that it is laid out by; '' guesses, None takes the best that fit.
        laying: how it is written, where that was said.

    Raises:
        RequestError: it cannot be read, or has too many columns.

    >>> pads = {"values": [{"heading": "h", "unit": "µm"}], "constants": {"what": "pad/height"}}
    >>> others = pads | {"delimiter": ";"}
    >>> known = {"pads": TableMapping.from_dict(pads), "others": TableMapping.from_dict(others)}
    >>> seen = look_at("h,who\n12.5,Ada\n", known)
    >>> seen.headings, seen.first, seen.fitting
    (('h', 'who'), ((2, ('12.5', 'Ada')),), ('pads',))
    """
    try:
        fitting = _fitting(source, known)
        guess = propose(source).mapping
        if laying is None:
            name = next(iter(fitting), "") if base is None else base
            laying = laying_of(known[name] if name in known else guess or _unknown(source))
        lines = lines_of(text_of(source, laying.encoding), laying.delimiter)
    except Unreadable as error:
        where = "" if error.problem.line is None else f"line {error.problem.line}: "
        raise RequestError(f"the table {error.problem.what}", f"{where}{error.problem.remedy}") from None
    head = next((cells for number, cells in lines if number == laying.header), [])
    below = [(number, cells) for number, cells in lines if number > laying.header]
    width = len(head) or max((len(cells) for _, cells in below), default=0)
    if width > WIDEST:
        raise RequestError(
            f"the table has {width} columns, and {WIDEST} can be given a meaning",
            "save those that hold the readings as a table of their own",
        )
    return TableLook(
        laying,
        tuple(_short(cell) for cell in (head or [""] * width)),
        tuple((number, tuple(_short(c) for c in cells[:width])) for number, cells in below[:SHOWN]),
        len(below),
        guess if guess is not None and laying_of(guess) == laying else None,
        fitting,
    )


def laying_of(mapping: TableMapping) -> Laying:
    """How the tables of a mapping are written."""
    return Laying(mapping.delimiter, mapping.header, mapping.encoding)


def _unknown(source: str | bytes | Path) -> TableMapping:
    """How a table is written of which no column looks like values: as if its first one held them."""
    headings = propose(source).headings
    found = propose(source, values=[next((one for one in headings if one), "")]).mapping
    if found is None:
        raise RequestError(
            "no column of the table has a heading of its own", "write headings above its columns"
        )
    return found


def _fitting(source: str | bytes | Path, known: Mapping[str, TableMapping]) -> tuple[str, ...]:
    """Those mappings by which lines of the table can be read, the one that reads most of them first."""
    counts = {name: count for name, count in reversed(list(_read_by(source, known))) if count}
    return tuple(sorted(counts, key=lambda name: -counts[name]))


def _read_by(source: str | bytes | Path, known: Mapping[str, TableMapping]) -> Iterator[tuple[str, int]]:
    for name, mapping in known.items():
        try:
            text = text_of(source, mapping.encoding)
        except Unreadable:
            continue
        beginning = "\n".join(text.splitlines()[: mapping.header + 50])
        yield name, len({row.line for row in read_table(beginning, mapping)[0]})


def _short(cell: str) -> str:
    """The beginning of a cell as one line of letters that can be shown."""
    plain = "".join(letter if letter.isprintable() else " " for letter in cell[: LONGEST + 1])
    return plain if len(plain) <= LONGEST else plain[:LONGEST] + "…"
