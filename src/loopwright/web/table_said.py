"""What somebody said of a table that was sent: as it stands in the fields of a form, and as columns."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from loopwright.errors import Problem, RequestError
from loopwright.measuring.table_columns import FIELDS, Column, TableMapping
from loopwright.measuring.table_look import TableLook
from loopwright.web.wording import say

VALUE, AXIS = "value", "axis "
CONSTANTS = ("what", "item", "gauge", "date", "part_temperature")
"""What can be said once for every line."""

Fields = Mapping[str, str]


@dataclass(frozen=True)
class Said:
    """What was said of one table.

    Attributes:
        file: what it is called.
        look: the first look at it.
        base: name of the kept columns that were begun with; '' began with a guess, None with nothing yet.
        fields: of the form, as they stand in it.
        anew: how often the form was filled in anew.
        looked: the fields with which it was looked over; None where it was not.
        rows: token of the file that its readings were then put into.
        problems: what was then wrong with its lines.
    """

    file: str
    look: TableLook | None = None
    base: str | None = None
    fields: Fields = field(default_factory=dict)
    anew: int = 0
    looked: Fields | None = None
    rows: str = ""
    problems: tuple[Problem, ...] = ()


def fields_of(look: TableLook, mapping: TableMapping | None, *, name: str, unit: str) -> dict[str, str]:
    """The fields of the form for columns that are known or guessed.

    Args:
        look: the first look at the table.
        mapping: its columns; None knows nothing of them.
        name: under which they are kept.
        unit: of values that have none, where the mapping does not say.
    """
    out = {"name": name, "unit": unit}
    if mapping is None:
        return out | {"decimal": ".", "dates": "year first"}
    for what, column in _holding(mapping):
        place = _place(look, column)
        if place is not None:
            out[f"hold-{place}"], out[f"unit-{place}"] = what, column.unit or ""
    given = all(column.unit for column in mapping.values) or "unit" in mapping.columns
    out["unit"] = mapping.unit or ("" if given else unit)
    out |= {f"all-{what}": mapping.constants[what] for what in CONSTANTS if what in mapping.constants}
    return out | {"decimal": mapping.decimal, "dates": mapping.dates}


def _holding(mapping: TableMapping) -> Iterator[tuple[str, Column]]:
    yield from ((VALUE, column) for column in mapping.values)
    yield from mapping.columns.items()
    yield from ((AXIS + axis, column) for axis, column in mapping.axes.items())


def _place(look: TableLook, column: Column) -> int | None:
    """Place of a column, counted from 0; None where the table has none of that heading."""
    if isinstance(column.heading, int):
        return column.heading - 1 if column.heading <= len(look.headings) else None
    plain = [heading.casefold() for heading in look.headings]
    wanted = column.heading.strip().casefold()
    return plain.index(wanted) if wanted in plain else None


def mapping_of(look: TableLook, given: Fields) -> TableMapping:
    """The columns that a form says.

    Raises:
        RequestError: no column holds values, two hold the same, or a unit is none.
    """
    values: list[Column] = []
    columns: dict[str, Column] = {}
    axes: dict[str, Column] = {}
    for place in range(len(look.headings)):
        what = given.get(f"hold-{place}", "")
        unit = given.get(f"unit-{place}", "").strip() if has_unit(what) else ""
        column = Column(_called(look, place), unit or None)
        if what == VALUE:
            values.append(column)
        elif what.startswith(AXIS):
            _put(axes, what.removeprefix(AXIS), column, what)
        elif what in FIELDS:
            _put(columns, what, column, what)
    if not values:
        raise RequestError(say("import_table.no_values"), say("import_table.no_values_remedy"))
    constants = {what: given.get(f"all-{what}", "").strip() for what in CONSTANTS}
    laid: dict[str, Any] = {"decimal": given.get("decimal", "."), "dates": given.get("dates", "year first")}
    return TableMapping(
        tuple(values),
        columns,
        axes,
        {what: text for what, text in constants.items() if text},
        unit=given.get("unit", "").strip() or None,
        delimiter=look.laying.delimiter,
        header=look.laying.header,
        encoding=look.laying.encoding,
        **laid,
    )


def has_unit(what: str) -> bool:
    """Whether a column of this has numbers with a unit."""
    return what == VALUE or what.startswith(AXIS) or "temperature" in what


def _called(look: TableLook, place: int) -> str | int:
    """How a column is found again: by its heading, or by its number where that says nothing or too much."""
    heading = look.headings[place]
    plain = [one.casefold() for one in look.headings]
    if not heading or heading.endswith("…") or plain.count(heading.casefold()) > 1:
        return place + 1
    return heading


def _put(into: dict[str, Column], what: str, column: Column, said: str) -> None:
    if what in into:
        raise RequestError(
            say("import_table.twice", what=words_of(said)),
            say("import_table.twice_remedy", first=into[what].heading, second=column.heading),
        )
    into[what] = column


def words_of(what: str) -> str:
    """What a column holds, in words."""
    if what.startswith(AXIS):
        return say("import_table.hold_axis", axis=what.removeprefix(AXIS))
    return say(f"import_table.hold.{what or 'nothing'}")
