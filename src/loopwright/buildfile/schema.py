"""The JSON Schema of the build file, for editors that check while one types."""

from collections.abc import Iterable, Iterator
from copy import deepcopy
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from loopwright.model.build import FORMAT, Build, Units
from loopwright.model.joints import Joint, JointKind
from loopwright.model.notes import field_notes
from loopwright.model.spread import NONE, Spread


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the build file.

    >>> json_schema()["properties"]["format"]["const"]
    'loopwright-build/1'
    """
    return deepcopy(_schema())


@cache
def raw_schema() -> dict[str, Any]:
    """The same with descriptions of how a field is written in place of what it means; not to be changed."""
    return Build.model_json_schema(by_alias=True)


@cache
def _schema() -> dict[str, Any]:
    schema = Build.model_json_schema(by_alias=True)
    kinds = records()
    for name, part in [("Build", schema), *schema["$defs"].items()]:
        _tidy(part)
        if name in kinds:
            _set_defaults(part, kinds[name])
            for field, note in field_notes(kinds[name]).items():
                part["properties"][field]["description"] = note
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Build file, {FORMAT}",
        **schema,
        "required": ["format", *schema.get("required", [])],
    }


def records() -> dict[str, type[BaseModel]]:
    """Every kind of record that a build file has, by the name of its class, in the order in which it has them."""
    found: dict[str, type[BaseModel]] = {}
    todo: list[Any] = [Build]
    while todo:
        kind = todo.pop(0)
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            if kind.__name__ not in found:
                found[kind.__name__] = kind
                todo += [field.annotation for field in kind.model_fields.values()]
        else:
            todo += get_args(kind)
    return found


def defaults(kind: type[BaseModel]) -> dict[str, Any]:
    """What a record has where the file says nothing, as a file in millimetres and arc seconds would say it."""
    optional = {name: field for name, field in kind.model_fields.items() if not field.is_required()}
    values = {name: field.get_default(call_default_factory=True) for name, field in optional.items()}
    blank = kind.model_construct(**values | ({"kind": JointKind.LINEAR} if kind is Joint else {}))
    written = blank.model_dump(mode="json", context={"units": Units().bare()}, include=set(values))
    return {
        name: "±0" if values[name] == NONE and isinstance(values[name], Spread) else written[name]
        for name in values
    }


def _tidy(schema: Any) -> None:
    """Titles made of field names say nothing, and a mapping with wrong names in it is not right."""
    if isinstance(schema, list):
        for part in schema:
            _tidy(part)
    if not isinstance(schema, dict):
        return
    if isinstance(schema.get("title"), str):
        del schema["title"]
    if "patternProperties" in schema:
        schema.setdefault("additionalProperties", False)
    for part in schema.values():
        _tidy(part)


def _set_defaults(schema: dict[str, Any], kind: type[BaseModel]) -> None:
    written = defaults(kind)
    for name, part in schema["properties"].items():
        part.pop("default", None)
        for branch in part.get("anyOf", ()):
            branch.pop("default", None)
        # of a record inside, its own fields tell the defaults
        if written.get(name) not in (None, []) and not isinstance(written[name], dict):
            part["default"] = written[name]


def fields_at(loc: Iterable[Any]) -> list[str]:
    """Names of the fields that the format knows at a place; none where the file chooses the names itself.

    >>> fields_at(("parts", "column"))[:3]
    ['material', 'condition', 'dims']
    >>> fields_at(("parts", "column", "dims"))
    []
    """
    here = branches_at(_schema(), loc)
    return list(dict.fromkeys(name for one in here for name in one.get("properties", {})))


def branches_at(whole: dict[str, Any], loc: Iterable[Any]) -> list[dict[str, Any]]:
    """The schemas of which one must hold at a place.

    Args:
        whole: the schema of the file.
        loc: keys and list positions that lead there.
    """
    here = [whole]
    for key in loc:
        here = [inside for one in here for inside in _inside(whole, one, str(key))]
    return here


def _branches(whole: dict[str, Any], schema: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The schemas of which one must hold, with references followed."""
    if "$ref" in schema:
        yield from _branches(whole, whole["$defs"][schema["$ref"].rpartition("/")[2]])
    elif "anyOf" in schema:
        for one in schema["anyOf"]:
            yield from _branches(whole, one)
    else:
        yield schema


def _inside(whole: dict[str, Any], schema: dict[str, Any], key: str) -> Iterator[dict[str, Any]]:
    """What a key leads to: a field of a record, or an entry of a mapping or list."""
    if key in schema.get("properties", {}):
        yield from _branches(whole, schema["properties"][key])
        return
    named = schema.get("patternProperties", {}).values()
    listed = (schema.get("additionalProperties"), schema.get("items"), *schema.get("prefixItems", ())[:1])
    for entries in (*named, *listed):
        if isinstance(entries, dict):
            yield from _branches(whole, entries)
