"""What can stand at a place of a build file: its fields, what they mean, how they are written, what they may name."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from loopwright.buildfile.schema import branches_at, json_schema, raw_schema
from loopwright.buildfile.yaml_layout import flow
from loopwright.units import Dimension

Keys = tuple[str, ...]


class Look(StrEnum):
    """How a field is filled in."""

    TEXT = "text"
    WORDS = "words"
    CHOICE = "choice"
    YES_NO = "yes or no"
    LIST = "list"
    RECORD = "record"
    ENTRIES = "entries"


@dataclass(frozen=True)
class Field:
    """One field of a record, or what each entry of a mapping or list is.

    Attributes:
        name: of it; '' for an entry.
        note: what it means.
        how: how it is written; '' where that goes without saying.
        look: how it is filled in.
        choices: what can be chosen, as the file has it.
        default: what counts where it is left out, as the file would say it; '' where nothing does.
        required: it must be there.
        dimension: of a bare number; None where it takes none.
        names: what its text names: 'bodies', 'dims' …; '' where it names nothing.
        labels: of the entries of a list that has a fixed number of them.
        most: how many entries a list has at most; None where there is no end.
        nullable: it may also be null, 'none of it'.
    """

    name: str
    note: str
    how: str
    look: Look
    choices: tuple[str, ...] = ()
    default: str = ""
    required: bool = False
    dimension: Dimension | None = None
    names: str = ""
    labels: tuple[str, ...] = ()
    most: int | None = None
    nullable: bool = False


_WORDS = frozenset(("note", "name", "step"))
_LABELS = {
    "travel": ("from", "to"),
    "range": ("from", "to"),
    "ends": ("from", "to"),
    "between": ("work side", "tool side"),
}
_DIMENSION = re.compile(r"(?:deviation \()?(?P<dimension>[a-z ]+?)(?=[),])")
_SECTIONS = (
    "parts",
    "materials",
    "made_together",
    "bodies",
    "joints",
    "closures",
    "loads",
    "targets",
    "tests",
    "gauges",
    "artefacts",
    "fit_up",
)


def sections() -> tuple[str, ...]:
    """The sections of a build file that hold entries, in their usual order."""
    return _SECTIONS


def fields_of(keys: Sequence[str]) -> tuple[Field, ...]:
    """The fields that a record at a place may have, in the order of the format; none where there is no record.

    Args:
        keys: that lead to it; none is the file itself.

    >>> [field.name for field in fields_of(("parts", "column"))[:3]]
    ['material', 'condition', 'dims']
    >>> fields_of(("gauges", "g"))[1].how
    "expansion, e.g. '12.5 µm/m/K'"
    """
    return _fields(_general(tuple(keys)))


def entry_of(keys: Sequence[str]) -> Field | None:
    """What each entry of a mapping or list at a place is; None where the format has no such entries.

    >>> entry_of(("parts", "column", "dims")).how[:14]
    "a dim: '240 ±0"
    """
    general = _general(tuple(keys))
    inside = _entry_schemas(_branches(general))
    if not inside:
        return None
    raw = _entry_schemas(_raw_branches(general))
    return _field("", {"anyOf": list(inside)}, {"anyOf": list(raw)}, (*general, "*"), required=False)


def meaning_of(keys: Sequence[str]) -> str:
    """What a record at a place is; '' where there is none.

    >>> meaning_of(("parts", "column"))
    'A thing that is made or bought.'
    """
    found = [one for one in _branches(_general(tuple(keys))) if "properties" in one]
    return str(found[0].get("description", "")).partition("\n")[0] if found else ""


def _general(keys: Keys) -> Keys:
    """The place with names of the file's own choosing taken out, so that like places are looked at once."""
    out: list[str] = []
    for key in keys:
        known = any(key in one.get("properties", {}) for one in _branches(tuple(out)))
        out.append(key if known else "*")
    return tuple(out)


@cache
def _branches(keys: Keys) -> tuple[dict[str, Any], ...]:
    return tuple(branches_at(json_schema(), keys))


@cache
def _raw_branches(keys: Keys) -> tuple[dict[str, Any], ...]:
    return tuple(branches_at(raw_schema(), keys))


@cache
def _fields(keys: Keys) -> tuple[Field, ...]:
    out: dict[str, Field] = {}
    raw = {name: part for one in _raw_branches(keys) for name, part in one.get("properties", {}).items()}
    for one in _branches(keys):
        for name, part in one.get("properties", {}).items():
            if name not in out and name not in ("format", "sweep"):
                required = name in one.get("required", ())
                out[name] = _field(name, part, raw.get(name, {}), (*keys, name), required=required)
    return tuple(out.values())


def _entry_schemas(branches: Sequence[dict[str, Any]]) -> tuple[dict[str, Any], ...]:
    found = []
    for one in branches:
        named = [
            *one.get("patternProperties", {}).values(),
            one.get("additionalProperties"),
            one.get("items"),
        ]
        found += [inside for inside in (*named, *one.get("prefixItems", ())[:1]) if isinstance(inside, dict)]
    return tuple(found)


def _field(name: str, part: dict[str, Any], raw: dict[str, Any], keys: Keys, *, required: bool) -> Field:
    branches = _branches(keys)
    how, note = _said(raw), str(part.get("description", ""))
    listed = next((b for b in branches if b.get("type") == "array"), None)
    labels: tuple[str, ...] = ()
    most: int | None = None
    if listed is not None:
        most = listed.get("maxItems")
        labels = _labels(name, most)
    return Field(
        name,
        note,
        how if how != note else "",
        _look(name, branches),
        _choices(branches),
        _written(part.get("default")),
        required,
        _dimension(how),
        names_at(keys),
        labels,
        most,
        any(b.get("type") == "null" or "null" in _types(b) for b in branches),
    )


def _said(raw: dict[str, Any]) -> str:
    """How a field is written, of the plainest of the ways in which it may be."""
    if "description" in raw:
        return str(raw["description"])
    return next((said for one in raw.get("anyOf", ()) if (said := _said(one))), "")


def _written(value: Any) -> str:
    if value is None or value == []:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return (
        flow(value) if isinstance(value, list) else f"{value:g}" if isinstance(value, float) else str(value)
    )


def _types(branch: dict[str, Any]) -> tuple[str, ...]:
    found = branch.get("type", ())
    return (found,) if isinstance(found, str) else tuple(found)


def _look(name: str, branches: Sequence[dict[str, Any]]) -> Look:
    """What most people fill in there: a text where one says it all, else what it consists of."""
    real = [b for b in branches if b.get("type") != "null"]
    chosen = [b for b in real if "enum" in b or "const" in b]
    if any(True in b.get("enum", ()) for b in chosen):
        return Look.YES_NO
    if chosen and len(chosen) == len(real):
        return Look.CHOICE
    if any(set(_types(b)) & {"string", "number", "integer"} and b not in chosen for b in real):
        return Look.WORDS if name in _WORDS else Look.TEXT
    if any(b.get("type") == "array" for b in real):
        return Look.LIST
    if any("patternProperties" in b or isinstance(b.get("additionalProperties"), dict) for b in real):
        return Look.ENTRIES
    return Look.RECORD


def _choices(branches: Sequence[dict[str, Any]]) -> tuple[str, ...]:
    found = [c for b in branches for c in (*b.get("enum", ()), *((b["const"],) if "const" in b else ()))]
    return tuple(dict.fromkeys(c for c in found if isinstance(c, str) and c not in ("yes", "no")))


def _labels(name: str, most: int | None) -> tuple[str, ...]:
    if name in _LABELS:
        return _LABELS[name]
    if most == 3:
        return ("from", "to", "step") if name == "" else ("X", "Y", "Z")
    return ()


def _dimension(how: str) -> Dimension | None:
    found = None if "or angle" in how or "rotary joint" in how else _DIMENSION.match(how)
    try:
        return None if found is None else Dimension(found["dimension"].strip())
    except ValueError:
        return None


_NAMED: tuple[tuple[Keys, str], ...] = (
    (("bodies", "*", "parts", "*"), "parts"),
    (("bodies", "*", "material"), "materials"),
    (("parts", "*", "material"), "materials"),
    (("joints", "*", "drive", "material"), "materials"),
    (("joints", "*", "drives", "*", "material"), "materials"),
    (("gauges", "*", "material"), "materials"),
    (("artefacts", "*", "material"), "materials"),
    (("joints", "*", "parent"), "bodies"),
    (("joints", "*", "child"), "bodies"),
    (("joints", "*", "guide", "blocks", "*", "rail"), "rails"),
    (("loads", "*", "on"), "bodies"),
    (("loads", "*", "against"), "bodies"),
    (("closures", "*", "joint"), "joints"),
    (("closures", "*", "contact"), "contacts"),
    (("closures", "*", "part"), "parts"),
    (("tests", "*", "gauge"), "gauges"),
    (("tests", "*", "artefact"), "artefacts"),
    (("made_together", "*", "dims", "*"), "dims"),
    (("fit_up", "*", "seat", "*"), "seats"),
    (("fit_up", "*", "read", "*"), "readable"),
    (("fit_up", "*", "adjust", "*"), "adjusters"),
    *(
        ((section, "*", *below), kind)
        for section in ("targets", "tests")
        for below, kind in (
            (("between", "*"), "bodies"),
            (("turns_with",), "bodies"),
            (("under", "*"), "loads"),
        )
    ),
)


def names_at(keys: Keys) -> str:
    """What the text at a place names: 'bodies', 'parts', 'signed dims' …; '' where it names nothing."""
    if keys[0:1] == ("joints",) and keys[-2:-1] == ("dims",):
        return "signed dims"
    for pattern, what in _NAMED:
        if len(keys) == len(pattern) and all(p in ("*", k) for k, p in zip(keys, pattern)):
            return what
    return ""
