"""Of what the JSON Schemas of the answers are made: records, lists, and numbers with their unit."""

from copy import deepcopy
from dataclasses import dataclass
from typing import Any

Schema = dict[str, Any]

SMALL, SIZE, FRACTION = "in 'unit'", "in 'size_unit'", "a fraction of 1"
"""Units of errors, of sizes, and of chances and shares."""


def record(says: str = "", /, *, null: str = "", optional: tuple[str, ...] = (), **fields: Schema) -> Schema:
    """An object of these fields and no others.

    Args:
        says: what it is.
        null: when it is null; '' where it never is.
        optional: fields that may be left out; all others are there.
        fields: its fields.

    >>> record(name=text("of the build"))["required"]
    ['name']
    """
    schema = {
        "type": "object",
        "properties": fields,
        "required": [name for name in fields if name not in optional],
        "additionalProperties": False,
    }
    return _said(schema, says, null)


def by_name(of: Schema, says: str) -> Schema:
    """An object whose names are the build's own, each with one of these."""
    return _said({"type": "object", "additionalProperties": of}, says)


def listed(of: Schema, says: str, *, null: str = "") -> Schema:
    """A list of these."""
    return _said({"type": "array", "items": of}, says, null)


def pair(of: Schema, says: str) -> Schema:
    """A list of two: from and to, or before and after."""
    return _said({"type": "array", "items": of, "minItems": 2, "maxItems": 2}, says)


def text(says: str = "", *, null: str = "", one_of: tuple[str, ...] = ()) -> Schema:
    """A text, or one of a few words."""
    return _said({"type": "string", **({"enum": list(one_of)} if one_of else {})}, says, null)


def flag(says: str, *, null: str = "") -> Schema:
    """True or false."""
    return _said({"type": "boolean"}, says, null)


def count(says: str = "", *, null: str = "") -> Schema:
    """How many, or the number of an entry, a state or a line."""
    return _said({"type": "integer", "minimum": 0}, says, null)


def number(says: str, unit: str, *, null: str = "", **bounds: float) -> Schema:
    """A number in a unit; ``bounds`` are JSON Schema's own words."""
    return _said({"type": "number", **bounds}, f"{says}, {unit}" if says else unit, null)


def small(says: str = "", *, null: str = "") -> Schema:
    """An error or an uncertainty, in the unit that stands beside it as 'unit'."""
    return number(says, SMALL, null=null)


def size(says: str = "", *, null: str = "") -> Schema:
    """A size, in the unit that stands beside it as 'size_unit'."""
    return number(says, SIZE, null=null)


def share(says: str = "", *, null: str = "") -> Schema:
    """A share of a whole, or a chance; a share may come out above 1 by rounding."""
    return number(says, FRACTION, null=null, minimum=0, maximum=1.000001)


def ratio(says: str = "", of: str = "the limit", *, null: str = "") -> Schema:
    """An error, or a change of one, by the limit it is held to; it may well exceed 1."""
    return number(says, f"a fraction of {of}", null=null)


def unit(of: str = "the numbers beside it") -> Schema:
    """A unit, as it can be typed."""
    return text(f"unit of {of}")


def shared(name: str, says: str = "", *, null: str = "") -> Schema:
    """Something that several answers have, by its name."""
    return _said({"$ref": f"#/$defs/{name}"}, says, null)


def _said(schema: Schema, says: str, null: str = "") -> Schema:
    says = "; ".join(filter(None, (says, f"null: {null}" if null else "")))
    if null and isinstance(schema.get("type"), str) and "properties" not in schema:
        schema = {**schema, "type": [schema["type"], "null"]}
        if "enum" in schema:
            schema["enum"] = [*schema["enum"], None]
    elif null:
        schema = {"anyOf": [schema, {"type": "null"}]}
    return {**({"description": says} if says else {}), **schema}


@dataclass(frozen=True)
class Answer:
    """One kind of answer.

    Attributes:
        name: as in ``loopwright schema --answer NAME``.
        commands: those that print it.
        says: what it is.
        schema: of it.
    """

    name: str
    commands: tuple[str, ...]
    says: str
    schema: Schema

    @property
    def format(self) -> str:
        """Name and version, as the answer itself has it."""
        return f"loopwright-{self.name}/1"


def answer(name: str, commands: str, says: str, /, **fields: Any) -> Answer:
    """An answer of these fields, with its format before them; ``commands`` are parted by semicolons."""
    made = record(
        says,
        format={"description": "name and version of this answer", "const": f"loopwright-{name}/1"},
        **fields,
    )
    return Answer(name, tuple(commands.split("; ")), says, made)


def names_of(schema: Any) -> list[str]:
    """Names of the shared things that a schema speaks of, in order.

    >>> names_of(listed(shared("pose"), "poses"))
    ['pose']
    """
    if isinstance(schema, list):
        return [name for part in schema for name in names_of(part)]
    if not isinstance(schema, dict):
        return []
    own = [schema["$ref"].rpartition("/")[2]] if isinstance(schema.get("$ref"), str) else []
    return own + [name for part in schema.values() for name in names_of(part)]


def whole(schema: Schema, title: str, known: dict[str, Schema]) -> Schema:
    """A schema that stands on its own (JSON Schema draft 2020-12), with what it shares with others inside.

    Args:
        schema: of the answer.
        title: of it.
        known: every shared thing by its name.
    """
    wanted: dict[str, Schema] = {}
    todo = names_of(schema)
    while todo:
        name = todo.pop(0)
        if name not in wanted:
            wanted[name] = known[name]
            todo += names_of(known[name])
    defs = {"$defs": dict(sorted(wanted.items()))} if wanted else {}
    return deepcopy(
        {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **schema, **defs}
    )
