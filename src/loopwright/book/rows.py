"""Entries as rows of the tables, and rows as entries: every figure comes back as the very float it was."""

import hashlib
import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pydantic import ValidationError
from sqlalchemy import Connection, Table, insert

from loopwright.book import tables
from loopwright.errors import LoopwrightError, RequestError
from loopwright.model.records import (
    RECORD,
    ColumnsKept,
    Concession,
    Entry,
    Reading,
    Revision,
    State,
    Verdict,
)

Row = dict[str, Any]
Found = Mapping[str, Mapping[int, list[Any]]]
"""Rows that were read: by table and number of the entry."""
ORDER = tables.METADATA.sorted_tables
"""Tables, each after those that it points to."""
NUL = re.compile(r"(?<!\\)(?:\\\\)*\\u0000")
MOST = 2**31 - 1


class Unreadable(LoopwrightError):
    """Rows do not make up an entry; for the caller to say where."""


class Layout(NamedTuple):
    """How records of one kind lie in the tables.

    Attributes:
        table: one row for each entry.
        plain: fields that are columns of the same name.
        nested: fields that stay with the entry as JSON.
        parts: tables with several rows for each entry.
    """

    table: Table
    plain: tuple[str, ...]
    nested: tuple[str, ...] = ()
    parts: tuple[Table, ...] = ()


LAYOUTS: dict[str, Layout] = {
    "revision": Layout(tables.revisions, ("text", "file", "difference")),
    "state": Layout(
        tables.state_details, ("parent", "reason", "cause", "step"), parts=(tables.state_changes,)
    ),
    "reading": Layout(
        tables.readings,
        (
            *("subject", "of", "against", "item", "state", "gauge", "both_directions", "turned"),
            *("taken", "surprise", "kept", "note"),
        ),
        ("poses", "evaluated"),
        (tables.reading_values,),
    ),
    "calibration": Layout(
        tables.calibrations,
        ("gauge", "done", "due", "std", "error", "verified", "certificate", "note"),
    ),
    "concession": Layout(
        tables.concessions,
        ("part", "state", "decision", "terms"),
        ("chances",),
        (tables.concession_dims,),
    ),
    "verdict": Layout(
        tables.verdicts,
        ("of", "item", "state", "verdict", "value", "std", "probability", "rule"),
    ),
    "stock": Layout(tables.stock, ("what", "size", "std", "count", "note")),
    "columns": Layout(tables.column_sets, ("name",), ("columns",)),
    "withdrawal": Layout(tables.withdrawals, ("reason",)),
}
PLACES = {
    kind: [(name, layout.table.c.keys().index(name)) for name in layout.plain]
    for kind, layout in LAYOUTS.items()
}
CHANGE = ("what", "of", "value", "std", "lock_std", "item", "planned")


def digest(text: str) -> str:
    """Fingerprint of a text, SHA-256 of its UTF-8 bytes, hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def rows_of(entry: Entry) -> Iterator[tuple[Table, Row]]:
    """Every row that an entry is, the line of ``entries`` first.

    Raises:
        RequestError: it holds something that no table can.
    """
    record = entry.record
    layout = LAYOUTS[record.kind]
    line: Row = {
        "number": entry.number,
        "key": entry.key,
        "at": entry.at,
        "who": entry.who,
        "station": entry.station,
        "kind": record.kind,
        "of_number": entry.of,
        "why": entry.why,
        "supersedes": entry.supersedes,
        "payload": _payload(record, layout),
    }
    found = [(tables.entries, line)]
    detail: Row = {"entry": entry.number, **{name: getattr(record, name) for name in layout.plain}}
    if isinstance(record, State):
        if entry.supersedes is None:
            found.append((tables.states, {"number": entry.of, "opened_by": entry.number}))
        detail["number"] = entry.of
    detail |= _aside(record)
    found.append((layout.table, detail))
    found += _parts(entry)
    for _, row in found:
        _check(row)
        yield _, row


class Rows:
    """Rows on their way into the tables, many in one statement."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.waiting: dict[str, list[Row]] = defaultdict(list)

    def add(self, entry: Entry) -> None:
        """Take in an entry. It is in the tables after ``flush``."""
        for table, row in rows_of(entry):
            self.waiting[table.name].append(row)

    def flush(self) -> None:
        """Write what waits."""
        for table in ORDER if self.waiting else ():
            if rows := self.waiting.pop(table.name, None):
                self.connection.execute(insert(table), rows)


def _payload(record: Any, layout: Layout) -> str | None:
    nested = set(layout.nested)
    if isinstance(record, Reading) and not _typed_one_by_one(record):
        nested.add("typed")
    if isinstance(record, Reading) and record.method is not None:
        nested.add("method")
    if not nested:
        return None
    text: str = record.model_dump_json(include=nested)  # defaults too: they may change, what was said may not
    return text


def _typed_one_by_one(record: Reading) -> bool:
    return not record.typed or [len(pose) for pose in record.typed] == [len(pose) for pose in record.raw]


def _aside(record: Any) -> Row:
    """Columns that go by another name than the field, or hold a piece of it."""
    match record:
        case Revision():
            return {"sha256": digest(record.text)}
        case Reading(part_temperature=part, gauge_temperature=gauge):
            return {
                "part_temperature": part and part.value,
                "part_temperature_std": part and part.std,
                "gauge_temperature": gauge and gauge.value,
                "gauge_temperature_std": gauge and gauge.std,
            }
        case Verdict(limits=(lower, upper)):
            return {"lower": lower, "upper": upper}
    return {}


def _parts(entry: Entry) -> list[tuple[Table, Row]]:
    record, number = entry.record, entry.number
    match record:
        case State():
            return [
                (
                    tables.state_changes,
                    {"entry": number, "position": i, **{name: getattr(change, name) for name in CHANGE}},
                )
                for i, change in enumerate(record.changes)
            ]
        case Concession():
            return [
                (tables.concession_dims, {"entry": number, "position": i, "dim": dim})
                for i, dim in enumerate(record.dims)
            ]
        case Reading():
            typed = record.typed if record.typed and _typed_one_by_one(record) else None
            return [
                (
                    tables.reading_values,
                    {
                        "entry": number,
                        "pose": i,
                        "repeat": j,
                        "typed": typed[i][j] if typed else None,
                        "value": value,
                    },
                )
                for i, values in enumerate(record.raw)
                for j, value in enumerate(values)
            ]
    return []


def _check(row: Row) -> None:
    """Bring a row into the shape that both databases give back, or say why it cannot be kept."""
    for name, value in row.items():
        if type(value) is float:
            row[name] = value + 0.0  # SQLite does not keep the sign of a zero
        elif type(value) is str:
            if "\x00" in value or ("\\u0000" in value and name == "payload" and NUL.search(value)):
                raise RequestError(f"the {name} holds a NUL character", "take it out")
        elif type(value) is int and not -MOST <= value <= MOST:
            raise RequestError(f"{name} {value} is beyond any count", "check what was typed")


def entries_of(lines: Iterable[Any], found: Found) -> tuple[Entry, ...]:
    """Entries from their rows.

    Args:
        lines: rows of ``entries``, in order.
        found: the rows of the other tables that belong to them.

    Raises:
        Unreadable: rows are missing, or do not make a record.
    """
    return tuple(_entry(line, found) for line in lines)


def _entry(line: Any, found: Found) -> Entry:
    layout = LAYOUTS.get(line.kind)
    if layout is None:
        raise Unreadable(f"entry {line.number} is of an unknown kind '{line.kind}'")
    rows = found[layout.table.name].get(line.number, [])
    if len(rows) != 1:
        raise Unreadable(
            f"entry {line.number} has {len(rows)} rows in '{layout.table.name}', where one belongs"
        )
    (row,) = rows
    fields: Row = {name: row[place] for name, place in PLACES[line.kind]}
    fields["kind"] = line.kind
    BACK.get(line.kind, _nothing)(fields, row, found)
    try:
        text = json.dumps(fields)
        if line.payload is not None:
            text = f"{line.payload[:-1]},{text[1:]}"  # what the columns say comes last, and counts
        record = RECORD.validate_json(text)
        return Entry(
            number=line.number,
            key=line.key,
            at=line.at,
            who=line.who,
            station=line.station,
            why=line.why,
            supersedes=line.supersedes,
            of=line.of_number,
            record=record,
        )
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = "/".join(str(part) for part in first["loc"])
        raise Unreadable(
            f"entry {line.number} holds what no {line.kind} can: {place}: {first['msg']}"
        ) from None
    except TypeError:
        raise Unreadable(f"entry {line.number} holds bytes where text or a number belongs") from None


def _nothing(fields: Row, row: Any, found: Found) -> None:
    """The columns say it all."""


def _state_back(fields: Row, row: Any, found: Found) -> None:
    rows = found["state_changes"].get(row.entry, [])
    fields["changes"] = [{name: getattr(change, name) for name in CHANGE} for change in rows]


def _reading_back(fields: Row, row: Any, found: Found) -> None:
    poses: dict[int, list[float]] = defaultdict(list)
    typed: dict[int, list[str]] = defaultdict(list)
    for _, pose, _, text, value in found["reading_values"].get(row.entry, []):
        poses[pose].append(value)
        if text is not None:
            typed[pose].append(text)
    fields["raw"] = list(poses.values())
    if typed:
        fields["typed"] = list(typed.values())
    for name, value, std in (
        ("part_temperature", row.part_temperature, row.part_temperature_std),
        ("gauge_temperature", row.gauge_temperature, row.gauge_temperature_std),
    ):
        if value is not None:
            fields[name] = {"value": value, "std": std}


def _concession_back(fields: Row, row: Any, found: Found) -> None:
    fields["dims"] = [line.dim for line in found["concession_dims"].get(row.entry, [])]


def _verdict_back(fields: Row, row: Any, found: Found) -> None:
    fields["limits"] = (row.lower, row.upper)


BACK: dict[str, Callable[[Row, Any, Found], None]] = {
    "state": _state_back,
    "reading": _reading_back,
    "concession": _concession_back,
    "verdict": _verdict_back,
}


def same_when_read(record: Any) -> bool:
    """Whether a record comes back as it is. Only free-form fields may fail to."""
    return not isinstance(record, ColumnsKept) or RECORD.validate_json(record.model_dump_json()) == record
