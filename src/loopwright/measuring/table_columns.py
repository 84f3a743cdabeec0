"""Tables of readings: which column is what, how the cells are parted, and a first guess at both."""

import codecs
import csv
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import lru_cache
from io import StringIO
from pathlib import Path
from typing import Any, Literal

from loopwright import units
from loopwright.errors import LoopwrightError, Problem, QuantityError, RequestError
from loopwright.model.indications import axis_dimension
from loopwright.units import Dimension

MOST_BYTES = 5_000_000
MOST_LINES = 100_000

TEXTS = ("what", "item", "unit", "gauge", "who", "note")
FIELDS = (*TEXTS, "date", "part_temperature", "gauge_temperature", "repeat")
"""What a column may hold beside values and positions of axes."""

WORDS = {
    "what": "what is measured",
    "item": "serial of the item",
    "value": "value",
    "unit": "unit",
    "gauge": "gauge",
    "date": "date",
    "part_temperature": "part temperature",
    "gauge_temperature": "gauge temperature",
    "who": "who",
    "repeat": "repeat",
    "note": "note",
}
"""How each is called in messages."""

DATES = {
    "year first": (r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})", ("year", "month", "day"), "2026-11-25"),
    "day first": (r"([0-9]{1,2})[-/.]([0-9]{1,2})[-/.]([0-9]{4})", ("day", "month", "year"), "25.11.2026"),
    "month first": (r"([0-9]{1,2})[-/.]([0-9]{1,2})[-/.]([0-9]{4})", ("month", "day", "year"), "11/25/2026"),
}
"""How dates are written: pattern, order, example."""

_AXIS = re.compile(r"[A-Z][0-9]?")
_ENCODINGS = ("utf-8", "utf-16", "latin-1", "cp1252")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Attributes:
        heading: its heading, or its number counted from 1 where the table has none.
        unit: unit of its numbers that bring none along; None: the table's.
    """

    heading: str | int
    unit: str | None = None


@dataclass(frozen=True)
class TableMapping:
    """Which column of a table is what, and how its numbers are written. Made once, and remembered.

    Attributes:
        values: columns of values; several are repeats of one reading, in order.
        columns: the other columns, by what they hold; see ``FIELDS``.
        axes: columns of axis positions, by axis letter (ISO 841).
        constants: what holds for every line, where there is no column of it or its cell is empty.
        unit: unit of values that have none; None refuses them.
        position_unit: unit of positions along linear axes that have none; rotary ones are then in degrees.
        temperature_unit: unit of temperatures that have none.
        delimiter: what parts the cells.
        decimal: '.' or ','.
        dates: how dates are written.
        header: line of the headings, counted from 1; 0 where there are none.
        encoding: of the file, where no mark at its start says otherwise.
    """

    values: tuple[Column, ...]
    columns: Mapping[str, Column] = field(default_factory=dict)
    axes: Mapping[str, Column] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)
    unit: str | None = None
    position_unit: str = "mm"
    temperature_unit: str = "degC"
    delimiter: str = ","
    decimal: Literal[".", ","] = "."
    dates: Literal["year first", "day first", "month first"] = "year first"
    header: int = 1
    encoding: str = "utf-8"

    def __post_init__(self) -> None:
        wrong = next(_faults(self), None)
        if wrong is not None:
            raise RequestError(*wrong)

    def to_dict(self) -> dict[str, Any]:
        """As JSON holds it."""

        def plain(value: Any) -> Any:
            if isinstance(value, Column):
                return {"heading": value.heading, "unit": value.unit}
            if isinstance(value, Mapping):
                return {key: plain(one) for key, one in value.items()}
            return [plain(one) for one in value] if isinstance(value, tuple) else value

        return {one.name: plain(getattr(self, one.name)) for one in fields(self)}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "TableMapping":
        """The mapping that ``to_dict`` wrote.

        Raises:
            RequestError: it is not one.

        >>> mapping = TableMapping((Column("reading", "µm"),), {"what": Column("dim")})
        >>> TableMapping.from_dict(mapping.to_dict()) == mapping
        True
        """
        try:
            given = dict(data)
            given["values"] = tuple(Column(**one) for one in given["values"])
            for name in ("columns", "axes"):
                given[name] = {key: Column(**one) for key, one in given.get(name, {}).items()}
            return cls(**given)
        except (TypeError, KeyError, ValueError, AttributeError) as error:
            raise RequestError(f"this is not a mapping of a table: {error}", "make it anew") from None


def _faults(mapping: TableMapping) -> Iterator[tuple[str, str]]:
    if not mapping.values:
        yield "no column holds the values", "name it"
    for key in [*mapping.columns, *mapping.constants]:
        if key not in FIELDS:
            yield f"'{key}' is nothing that a line of readings has", f"use {', '.join(FIELDS)}"
    for letter in mapping.axes:
        if not _AXIS.fullmatch(letter):
            yield f"'{letter}' is not an axis letter", "use letters such as X, Y, C, X2"
    if mapping.decimal not in (".", ",") or len(mapping.delimiter) != 1 or mapping.delimiter in '"\r\n':
        yield "delimiter or decimal mark is not one", "use ',', ';' or a tab, and '.' or ','"
    if mapping.dates not in DATES:
        yield f"dates cannot be '{mapping.dates}'", f"use {', '.join(DATES)}"
    if mapping.encoding not in _ENCODINGS:
        yield f"'{mapping.encoding}' is not an encoding that is read", f"use {', '.join(_ENCODINGS)}"
    if type(mapping.header) is not int or mapping.header < 0:
        yield f"the headings cannot be in line {mapping.header!r}", "count lines from 1; 0 is none"
    if not all(isinstance(text, str) for text in mapping.constants.values()):
        yield "a value that holds for every line is not text", "write it as it would stand in a cell"
    if not all(isinstance(one.heading, (str, int)) for one in all_columns(mapping).values()):
        yield "a column has neither heading nor number", "name it"
    numbered = [isinstance(one.heading, int) for one in all_columns(mapping).values()]
    if mapping.header == 0 and not all(numbered):
        yield "a table without headings has its columns by number", "number them from 1"
    yield from _faults_of_units(mapping)


def _faults_of_units(mapping: TableMapping) -> Iterator[tuple[str, str]]:
    given: list[tuple[str | None, Dimension]] = [
        (mapping.position_unit, Dimension.LENGTH),
        (mapping.temperature_unit, Dimension.TEMPERATURE),
        *((column.unit, axis_dimension(axis)) for axis, column in mapping.axes.items()),
        *((c.unit, Dimension.TEMPERATURE) for key, c in mapping.columns.items() if "temperature" in key),
    ]
    for unit, dimension in given:
        if unit is not None and not _is_unit(unit, dimension):
            yield f"'{unit}' is not a unit of {dimension}", f"use {', '.join(units.units_of(dimension)[:4])}"
    for one in (mapping.unit, *(column.unit for column in mapping.values)):
        if one is not None and dimension_of_unit(one) is None:
            yield f"'{one}' is not a unit of length or angle", "use mm, µm, in, thou, arcsec or another"


def all_columns(mapping: TableMapping) -> dict[str, Column]:
    """Every column by what it holds: 'value 1', 'what', 'X position'."""
    values = {value_name(mapping, i): one for i, one in enumerate(mapping.values)}
    return {**values, **mapping.columns, **{f"{axis} position": one for axis, one in mapping.axes.items()}}


def value_name(mapping: TableMapping, number: int) -> str:
    """What a column of values is called, by its number counted from 0."""
    return "value" if len(mapping.values) == 1 else f"value {number + 1}"


@lru_cache(maxsize=1000)
def _is_unit(unit: str, dimension: Dimension) -> bool:
    try:
        units.parse(f"1 {unit}", dimension)
    except QuantityError:
        return False
    return True


def dimension_of_unit(unit: str) -> Dimension | None:
    """Length or angle, None where it is a unit of neither."""
    return next((d for d in (Dimension.LENGTH, Dimension.ANGLE) if _is_unit(unit, d)), None)


def pointed(text: str, decimal: str) -> str:
    """A number with a decimal point, from a table that may have commas.

    Raises:
        QuantityError: the number has the other mark, or two.

    >>> pointed("12,5 µm", ",")
    '12.5 µm'
    """
    if decimal == ".":
        return text
    # the number at the start, and those of the later parts of an angle in degrees, minutes and seconds
    return re.sub(
        r"^\s*[+\-−]?\s*[0-9.,]*|(?<=[^0-9.,])[0-9]+[.,][0-9.,]*", lambda n: _pointed(n[0], text), text
    )


def _pointed(number: str, text: str) -> str:
    if "." in number:
        what = f"'{text[:40]}' has a point, and the decimal mark of this table is a comma"
        raise QuantityError(what, f"write {text[:40].replace('.', '' if ',' in number else ',')}")
    if number.count(",") > 1:
        raise QuantityError(f"'{text[:40]}' has two commas", "write one number, with one decimal comma")
    return number.replace(",", ".")


class Unreadable(LoopwrightError):
    """The table as a whole cannot be read."""

    def __init__(self, what: str, remedy: str, line: int | None = None, column: str = "") -> None:
        self.problem = Problem(column, what, remedy, line=line)
        super().__init__(str(self.problem))


_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def text_of(source: str | bytes | Path, encoding: str) -> str:
    """Text of a table, from its path, its bytes or itself.

    Raises:
        Unreadable: it cannot be opened, is too large, or is in another encoding.
    """
    if isinstance(source, str):
        if len(source) > MOST_BYTES:
            raise _too_large(len(source))
        return source.removeprefix("\ufeff")
    raw = source if isinstance(source, bytes) else _bytes(source)
    if len(raw) > MOST_BYTES:
        raise _too_large(len(raw))
    encoding = next((found for mark, found in _MARKS if raw.startswith(mark)), encoding)
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        what = f"byte {error.start + 1} is not {encoding} text"
        raise Unreadable(what, "choose another encoding: utf-8, utf-16 or latin-1", line) from None


def _bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise Unreadable(f"cannot be opened: {error.strerror}", "check its name") from None


def _too_large(size: int) -> Unreadable:
    what = f"is over {MOST_BYTES / 1e6:g} MB long"
    return Unreadable(what, "check that it is the right file, or give it in parts")


def lines_of(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    """Lines of cells with the number of each line; those without anything in them left out.

    Raises:
        Unreadable: too many lines, a quotation mark that is not closed, or nothing at all.
    """
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found: list[tuple[int, list[str]]] = []
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                found.append((start, [cell.strip() for cell in cells]))
            start = reader.line_num + 1
            if start > MOST_LINES + 1:
                raise Unreadable(f"has over {MOST_LINES} lines", "give it in parts")
    except csv.Error as error:
        remedy = "look for a quotation mark that is not closed; write an inch mark as 'in'"
        raise Unreadable(f"cannot be parted into cells: {error}", remedy, start) from None
    if not found:
        raise Unreadable("the table is empty", "choose another file")
    return found


SYNONYMS: Mapping[str, str] = {
    "what": "what; measured; dim; dimension; feature; characteristic; test; part/dim; quantity; what is measured",
    "item": "item; serial; serial no; serial number; s/n; sn; item serial; item no; piece; piece no; specimen",
    "value": "value; reading; readings; measured value; actual; actual value; result; indication; found; "
    "measured size; actual size; measurement",
    "unit": "unit; units; uom",
    "gauge": "gauge; gage; instrument; measured with; measuring instrument; gauge used; indicator",
    "date": "date; day; when; measured on; date and time; time",
    "part_temperature": "part temperature; temperature of part; part temp; workpiece temperature; workpiece temp; "
    "work temperature; temperature; temp; t part",
    "gauge_temperature": "gauge temperature; gage temperature; gauge temp; gage temp; scale temperature; scale temp; "
    "instrument temperature; t gauge",
    "who": "who; operator; inspector; by; measured by; read by; initials",
    "repeat": "repeat; repetition; run; trial; pass; repeat no; reading no; n",
    "note": "note; notes; remark; remarks; comment; comments",
}
"""Headings that people use, by what they hold."""

_MEANING = {word.strip(): key for key, words in SYNONYMS.items() for word in words.split(";")}
_HEADING = re.compile(r"(?P<name>[^(\[]*?)\s*(?:[(\[](?P<unit>[^)\]]*)[)\]])?")
_NUMBERED = re.compile(r"(?:value|reading|run|repeat|trial|pass|measurement|indication) ?#?([0-9]{1,3})")
_POSITION = re.compile(
    r"(?:(?:position|pos|axis) (?:of )?)?(?P<axis>[abcuvwxyz][0-9]?)(?: (?:position|pos|axis))?"
)
_LOOKED_AT = 50
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+(?: ?[a-zµ°\"]+)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A first guess at what the columns of a table are, for a person to look over.

    Attributes:
        mapping: the guess; None where no column looks like values.
        headings: the headings found.
        unassigned: headings of columns that nothing was made of.
        units_missing: no unit was found, neither in the heading of the values nor in a column.
    """

    mapping: TableMapping | None
    headings: tuple[str, ...]
    unassigned: tuple[str, ...]
    units_missing: bool


def column_of(heading: str, field: str) -> Column:
    """A column by its heading, with the unit that the heading names.

    Args:
        heading: as it stands in the table.
        field: what the column holds: 'value', an axis letter, or one of ``FIELDS``.

    >>> column_of("Mean travel (µm)", "value")
    Column(heading='Mean travel (µm)', unit='µm')
    """
    unit = _name_and_unit(heading)[1]
    if not unit:
        return Column(heading)
    if field in FIELDS:
        known = "temperature" in field and _is_unit(unit, Dimension.TEMPERATURE)
    else:
        known = dimension_of_unit(unit) is not None
    return Column(heading, unit if known else None)


def propose(source: str | bytes | Path, *, values: Sequence[str] = ()) -> Proposal:
    r"""A first guess at what the columns of a table are, from its headings.

    Args:
        source: a path, the bytes of a file, or its text.
        values: headings that are known to stand over values, whatever they look like; where one of them is
            there, no others are taken for values.

    Returns:
        The guess. What it leaves out, such as what all lines measure, goes into ``constants``.

    Raises:
        RequestError: it is no table at all.

    >>> found = propose("Feature;Reading (µm);X\npad/height;12,5;160\n")
    >>> found.mapping.values, found.mapping.decimal, list(found.mapping.axes)
    ((Column(heading='Reading (µm)', unit='µm'),), ',', ['X'])
    """
    try:
        encoding = _encoding(source)
        text = text_of(source, encoding)
        delimiter = _delimiter(text)
        lines = lines_of(text, delimiter)[:_LOOKED_AT]
    except Unreadable as error:
        raise RequestError(error.problem.what, error.problem.remedy) from None
    told = {heading.strip().casefold() for heading in values}
    header, head = max(
        lines[:20], key=lambda one: sum(bool(_means(c)) or c.casefold() in told for c in one[1])
    )
    below = [cells for number, cells in lines if number > header]
    found, columns, axes = _assigned(head, [cell for cell in head if cell.casefold() in told])
    taken = {one.heading for one in (*found, *columns.values(), *axes.values())}
    rest = tuple(cell for cell in head if cell and cell not in taken)
    units_missing = not (found and all(one.unit for one in found)) and "unit" not in columns
    if not found:
        return Proposal(None, tuple(head), rest, units_missing)
    mapping = TableMapping(
        tuple(found),
        columns,
        axes,
        delimiter=delimiter,
        decimal=_decimal(below),
        dates=_dates(below, head.index(str(columns["date"].heading)) if "date" in columns else None),
        header=header,
        encoding=encoding,
    )
    return Proposal(mapping, tuple(head), rest, units_missing)


@dataclass(frozen=True, slots=True)
class Laid:
    """How a table is laid out, whatever its columns hold.

    Attributes:
        lines: number of each line and its cells; those without anything in them left out.
        decimal: '.' or ','.
    """

    lines: list[tuple[int, list[str]]]
    decimal: Literal[".", ","]


def laid_out(source: str | bytes | Path) -> Laid:
    r"""The cells of a table, by what parts them most evenly, and its decimal mark.

    Args:
        source: a path, the bytes of a file, or its text.

    Raises:
        Unreadable: it is no table.

    >>> laid_out("x [mm];h [µm]\n0;1,5\n").decimal
    ','
    """
    text = text_of(source, _encoding(source))
    lines = lines_of(text, _delimiter(text))
    return Laid(lines, _decimal([cells for _, cells in lines]))


def name_and_unit(heading: str) -> tuple[str, str | None]:
    """The name in a heading, in small letters, and what stands behind it in brackets.

    >>> name_and_unit("Travel_deviation [µm]")
    ('travel deviation', 'µm')
    """
    return _name_and_unit(heading)


def _encoding(source: str | bytes | Path) -> str:
    if isinstance(source, str):
        return "utf-8"
    raw = source if isinstance(source, bytes) else _bytes(source)
    if not raw.startswith(tuple(mark for mark, _ in _MARKS)):
        if b"\0" in raw[:1000]:
            return "utf-16"
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError:
            return "latin-1"
    return "utf-8"


def _delimiter(text: str) -> str:
    """What parts the cells: the sign that stands most evenly in the first lines."""
    lines = [line for line in text.splitlines()[:_LOOKED_AT] if line.strip()]

    def evenness(sign: str) -> tuple[int, int]:
        counts = Counter(line.count(sign) for line in lines if sign in line)
        if not counts:
            return 0, 0
        number, lines_of_it = counts.most_common(1)[0]
        return lines_of_it, number

    # decimal commas stand evenly too, so that the comma comes last
    best = max(";\t|,", key=lambda sign: (evenness(sign)[0] * (0.8 if sign == "," else 1), evenness(sign)[1]))
    return best if best in text else ","


def _means(cell: str) -> str | None:
    """What a heading says that its column holds."""
    name = _name_and_unit(cell)[0]
    if name in _MEANING:
        return _MEANING[name]
    if _NUMBERED.fullmatch(name):
        return "value"
    position = _POSITION.fullmatch(name)
    return f"axis {position['axis'].upper()}" if position else None


def _name_and_unit(cell: str) -> tuple[str, str | None]:
    found = _HEADING.fullmatch(" ".join(cell.replace("_", " ").split()))
    if found is None:
        return cell.casefold(), None
    return found["name"].casefold().strip(" .:"), found["unit"]


def _assigned(
    head: Sequence[str], told: Sequence[str]
) -> tuple[list[Column], dict[str, Column], dict[str, Column]]:
    values: list[Column] = []
    columns: dict[str, Column] = {}
    axes: dict[str, Column] = {}
    for cell, meaning in zip(head, _meanings(head)):
        if head.count(cell) > 1:
            continue
        numbered = _NUMBERED.fullmatch(_name_and_unit(cell)[0]) is not None
        if cell in told or (meaning == "value" and not told and (numbered or not values)):
            values.append(column_of(cell, "value"))
        elif meaning is not None and meaning.startswith("axis "):
            letter = meaning.removeprefix("axis ")
            axes.setdefault(letter, column_of(cell, letter))
        elif meaning is not None and meaning != "value" and meaning not in columns:
            columns[meaning] = column_of(cell, meaning)
    return values, columns, axes


def _meanings(head: Sequence[str]) -> list[str | None]:
    """What each heading says; a column called 'item' holds what is measured where no other does, else serials."""
    found = [_means(cell) for cell in head]
    plain = [_name_and_unit(cell)[0] == "item" for cell in head]
    serials = any(one == "item" and not alone for one, alone in zip(found, plain))
    instead = "what" if "what" not in found else None if serials else "item"
    return [instead if alone else one for one, alone in zip(found, plain)]


def _decimal(below: Sequence[Sequence[str]]) -> Literal[".", ","]:
    """A comma where numbers have one, and none has a point."""
    cells = [cell for line in below for cell in line]
    commas = sum(_DECIMAL_COMMA.fullmatch(cell) is not None for cell in cells)
    points = sum(re.fullmatch(r"[+-]?[0-9]*\.[0-9]+(?: ?\D*)?", cell) is not None for cell in cells)
    return "," if commas > points else "."


def _dates(
    below: Sequence[Sequence[str]], place: int | None
) -> Literal["year first", "day first", "month first"]:
    """Day or month first, where a number over 12 or a point between them tells; else the year."""
    cells = [line[place] for line in below if place is not None and place < len(line)]
    found = [m for cell in cells if (m := re.match(r"([0-9]{1,2})([-/.])([0-9]{1,2})[-/.][0-9]{4}", cell))]
    if not found:
        return "year first"
    return "month first" if any(int(m[3]) > 12 for m in found) else "day first"
