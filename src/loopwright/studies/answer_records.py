"""JSON Schema of the records of a book as the answers give them: every field, and all but the text of a description."""

import re
import sys
from typing import Any, get_args

from pydantic import BaseModel

from loopwright.model import records
from loopwright.model.notes import field_notes
from loopwright.studies.answer_fields import Schema

UNITS = {
    "Change": {"std": "mm or rad", "lock_std": "mm or rad"},
    "Warm": {"value": "degC", "std": "standard uncertainty, K"},
    "Effect": {"column": "a factor"},
    "Contribution": {"dof": "a number"},
    "Evaluated": {"stds": "mm or rad", "expanded": "mm or rad"},
    "Reading": {"poses": "mm or rad", "surprise": "a number"},
    "Concession": {"chances": "a fraction of 1"},
    "Verdict": {
        "value": "mm or rad",
        "std": "standard uncertainty, mm or rad",
        "limits": "mm or rad",
        "probability": "a fraction of 1",
    },
    "Stock": {"std": "standard uncertainty, mm"},
}
"""Units of numbers whose own notes leave them to the reader."""

SAYS = {
    "kind": "kind of the record",
    "of": "what it is about",
    "item": "serial of the item",
    "state": "number of the state of the machine",
    "name": "its name",
    "gauge": "name of the gauge",
    "done": "day of the calibration",
    "due": "day on which the next one is due",
    "verified": "the gauge was found to be in order",
    "certificate": "its number",
    "part": "name of the part",
    "decision": "what was decided",
    "verdict": "what was said",
    "count": "how many pieces there are",
    "columns": "what each column holds, and how the table is written",
    "reason": "why",
    "part_temperature": "temperature of the part",
    "gauge_temperature": "temperature of the gauge",
    "note": "anything to know",
}
"""Meaning of fields that have no note of their own, as their names say enough beside the code."""


def record_schemas() -> dict[str, Schema]:
    """Every record that a book may hold, by the name of its type, and 'book_record' for any of them.

    >>> record_schemas()["Withdrawal"]["required"]
    ['kind', 'reason']
    """
    kinds = get_args(get_args(records.Record)[0])
    found: dict[str, Schema] = {}
    for kind in kinds:
        made = kind.model_json_schema()
        found |= {**made.pop("$defs", {}), kind.__name__: made}
    for name, part in found.items():
        _tidy(part)
        _describe(part, name)
    del found["Revision"]["properties"]["text"]
    for part in found.values():
        # a book writes every field, so that a reader need not know what it would be otherwise
        part["required"] = list(part["properties"])
    anyone = [{"$ref": f"#/$defs/{kind.__name__}"} for kind in kinds]
    return {**found, "book_record": {"description": "what was entered, by its 'kind'", "oneOf": anyone}}


def _tidy(schema: Any) -> None:
    """Titles made of field names say nothing, and a default is of no use where every field is there."""
    if isinstance(schema, list):
        for part in schema:
            _tidy(part)
    if not isinstance(schema, dict):
        return
    for key in ("title", "default"):
        if not isinstance(schema.get(key), dict):
            schema.pop(key, None)
    for part in schema.values():
        _tidy(part)


def _describe(schema: Schema, name: str) -> None:
    kind: type[BaseModel] = getattr(sys.modules[records.__name__], name)
    schema["description"] = " ".join((kind.__doc__ or "").split())
    notes = field_notes(kind)
    for field, part in schema["properties"].items():
        said = re.sub(r"\bNone\b", "null", notes.get(field, SAYS.get(field, "")).rstrip("."))
        both = ", ".join(filter(None, (said, UNITS.get(name, {}).get(field, ""))))
        if both:
            part["description"] = both
