"""A table that was sent, read in the process that is bounded; its readings go on in a file of ours."""

import contextlib
import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

from loopwright.errors import Problem, RequestError
from loopwright.measuring.table_columns import TableMapping
from loopwright.measuring.table_look import Laying, TableLook, look_at
from loopwright.measuring.tables import Row, read_table
from loopwright.studies.evaluating import kind_of
from loopwright.studies.evaluating_tables import Columns, TableRead, read_columns
from loopwright.units import Dimension


def seen(
    path: str, known: Mapping[str, Mapping[str, Any]], base: str | None, laying: Laying | None
) -> TableLook:
    """A first look at a table.

    Args:
        path: of the table.
        known: columns that the book keeps, by their name, the newest last; what is no mapping is left out.
        base: name of those that it is laid out by; '' guesses, None takes the best that fit.
        laying: how it is written, where somebody has said so.

    Raises:
        RequestError: it is no table.
    """
    mappings = {}
    for name, one in known.items():
        with contextlib.suppress(RequestError):
            mappings[name] = TableMapping.from_dict(one)
    return look_at(Path(path), mappings, base=base, laying=laying)


def read(path: str, mapping: Mapping[str, Any], file: str, to: str) -> tuple[int, tuple[Problem, ...]]:
    """Reads a table.

    Args:
        path: of the table.
        mapping: which of its columns is what.
        file: what it is called in messages.
        to: file into which its readings are put.

    Returns:
        How many readings, and what is wrong with the lines that gave none.
    """
    rows, problems = read_table(Path(path), TableMapping.from_dict(mapping), file=file)
    Path(to).write_text(json.dumps([_plain(row) for row in rows], ensure_ascii=False), "utf-8")
    return len(rows), problems


def raw_columns(
    path: str, what: str, headings: Mapping[str, str], known: Mapping[str, Any] | None, file: str
) -> TableRead:
    """The columns of a table of raw readings that an evaluation asks for.

    Args:
        path: of the table.
        what: the evaluation.
        headings: by column of the evaluation its heading or its number, where somebody has said so.
        known: which column was what in an earlier table; left aside where it does not fit this one.
        file: what the table is called in messages.
    """
    kind = kind_of(what)

    def found(said: Columns, *elsewhere: str) -> TableRead:
        return read_columns(Path(path), kind, said=said, file=file, elsewhere=elsewhere)

    read = found(Columns(headings))
    if read.problems and known:
        with contextlib.suppress(RequestError):
            as_before = found(Columns(headings).over(Columns.from_dict(known)))
            read = read if as_before.problems else as_before
    places = [one.name for one in kind.places if one.name not in headings]
    if len(kind.places) == 1 and [problem.field for problem in read.problems] == places:
        read = found(Columns(headings), *places)  # places that stand evenly need not be in a table
    return read


def rows_of(path: str) -> list[Row]:
    """The readings that ``read`` has put into a file."""
    return [_row(one) for one in json.loads(Path(path).read_text("utf-8"))]


def _plain(row: Row) -> dict[str, Any]:
    day = None if row.date is None else row.date.isoformat()
    return asdict(row) | {"dimension": row.dimension.value, "date": day}


def _row(one: dict[str, Any]) -> Row:
    day = None if one["date"] is None else date.fromisoformat(one["date"])
    return Row(**(one | {"dimension": Dimension(one["dimension"]), "date": day}))
