"""What can be done to the description in forms: a text and what is asked, and the text that comes of it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.buildfile.editing import append, insert, parsed, remove, rename, set_value, value_at
from loopwright.buildfile.fields import Field, Look, entry_of, fields_of
from loopwright.buildfile.yaml_layout import scalar
from loopwright.buildfile.yaml_text import parse_value
from loopwright.errors import BuildError, RequestError
from loopwright.studies.new_entries import beginning, beginning_of_field

SHOWN = 60
"""Letters of what was typed that the list of changes shows."""
_NUMBER = re.compile(r"[-+.\w]+")
LONGEST = 20_000
"""Letters of one field."""


@dataclass(frozen=True)
class Edited:
    """A text after one change.

    Attributes:
        text: of the build file.
        words: what was done, for the list of changes.
        path: of what it was done to; of the new entry where one was added.
    """

    text: str
    words: str
    path: str


def set_field(text: str, path: str, typed: str) -> Edited:
    r"""A field as somebody typed it; nothing typed takes it out.

    Args:
        text: a build file.
        path: of the field; a field that the format knows may be new.
        typed: as it was typed: '12 ±0.005', '5 thou', '{std: 0.5 µm}'.

    Raises:
        RequestError: there is no such field, or it cannot be written that way.

    >>> set_field("name: a\nbodies: {b: {mass: 80 kg}}", "bodies/b/mass", "82 kg").text
    'name: a\nbodies: {b: {mass: 82 kg}}'
    >>> set_field("name: a\nbodies: {b: {mass: 80 kg}}", "bodies/b/mass", "").text
    'name: a\nbodies: {b: {}}'
    """
    keys = path.split("/")
    if len(typed) > LONGEST:
        raise RequestError(f"a field of {len(typed)} letters is too long", f"use {LONGEST} at most")
    before = value_at(parsed(text).data, keys)
    field = _field_at(keys)
    if not typed.strip():
        if before is None:
            return Edited(text, f"{path}: left out", path)
        return Edited(remove(text, path), f"{path}: taken out", path)
    if isinstance(before, str) and typed.strip() == before:
        return Edited(text, f"{path}: as it was", path)
    written = written_as(typed, field)
    if before is None and not (len(keys) > 1 and isinstance(value_at(parsed(text).data, keys[:-1]), list)):
        out = _new_field(text, keys, written)
    else:
        out = set_value(text, path, written, apart=True)
    return Edited(out, f"{path}: {_short(typed)}", path)


def _new_field(text: str, keys: Sequence[str], written: str) -> str:
    """A field that is not there yet, and what holds it where that is not there either."""
    return insert(text, "/".join(keys), parse_value(written))


def _field_at(keys: Sequence[str]) -> Field | None:
    known = next((field for field in fields_of(keys[:-1]) if field.name == keys[-1]), None)
    return known if known is not None else entry_of(keys[:-1])


def written_as(typed: str, field: Field | None) -> str:
    """What was typed, as it stands in the file: in quotes where YAML would read something else.

    >>> written_as("12 ±0.005", None), written_as("left: of it", None), written_as("{std: 1 µm}", None)
    ('12 ±0.005', '"left: of it"', '{std: 1 µm}')
    """
    plain = typed.strip().replace("\\r\\n", "\\n")
    words = field is not None and (field.look is Look.WORDS or bool(field.names))
    if plain[:1] in ("{", "[") and not (field is not None and field.look is Look.WORDS):
        _read(plain)
        return plain
    if words:
        return scalar(plain)
    try:
        found = parse_value(plain)
    except BuildError:
        return scalar(plain)
    if found == plain or (isinstance(found, (bool, int, float)) and _NUMBER.fullmatch(plain)):
        return plain
    return scalar(plain)


def _read(typed: str) -> Any:
    try:
        return parse_value(typed)
    except BuildError as error:
        what = f"{_short(typed)!r} cannot be read: {error.problems[0].what}"
        raise RequestError(what, error.problems[0].remedy) from None


def add_entry(text: str, path: str, name: str, like: str = "") -> Edited:
    r"""One more entry of a section, with what is sensible to begin with, or as a copy of another.

    Args:
        text: a build file.
        path: of the section, as in 'parts', 'parts/column/dims' or 'joints/X slide/contacts'.
        name: of the new entry; for steps of the fit-up what is done.
        like: name of the entry it is a copy of; '' for none.

    Raises:
        RequestError: there is no such section, or an entry of that name already.

    >>> add_entry("name: a\nbodies: {b: {}}", "gauges", "height gauge").path
    'gauges/height gauge'
    """
    keys, name = path.split("/"), name.strip()
    if not name:
        raise RequestError("the new entry has no name", "type one")
    data = parsed(text).data
    held = value_at(data, keys)
    if path == "fit_up":
        steps = held if isinstance(held, list) else []
        copied = next((step for step in steps if isinstance(step, dict) and step.get("step") == like), {})
        new = {**copied, "step": name}
        return Edited(append(text, path, new), f"{path}: '{_short(name)}' added", f"{path}/{len(steps)}")
    if like:
        value = held.get(like) if isinstance(held, dict) else None
        if value is None:
            raise RequestError(f"there is no '{like[:SHOWN]}' to copy", "choose another")
    else:
        value = beginning(data, keys, name)
    entry = f"{path}/{name}"
    if "/" in name:
        raise RequestError(f"the name '{name[:SHOWN]}' has a '/' in it", "leave it out: '/' parts a path")
    return Edited(insert(text, entry, value), f"{entry}: added", entry)


def add_field(text: str, path: str) -> Edited:
    r"""A field that consists of others, with what is sensible to begin with.

    Raises:
        RequestError: there is such a field already, or the format knows none of that name.

    >>> add_field("bodies: {a: {}}\njoints: {j: {drive: {kind: rack}}}", "joints/j/drive/adjust").path
    'joints/j/drive/adjust'
    """
    keys = path.split("/")
    if _field_at(keys) is None:
        raise RequestError(f"there is no field '{keys[-1][:SHOWN]}' there", "choose one from the list")
    value = beginning_of_field(parsed(text).data, keys)
    return Edited(insert(text, path, value), f"{path}: added", path)


def add_to_list(text: str, path: str, typed: str) -> Edited:
    """One more entry at the end of a list, as typed.

    Raises:
        RequestError: there is no such list, or nothing was typed.
    """
    if not typed.strip():
        raise RequestError("nothing was typed", "type what comes at the end of the list")
    value = parse_value(written_as(typed, entry_of(path.split("/"))))
    return Edited(append(text, path, value), f"{path}: {_short(typed)} added", path)


def take_out(text: str, path: str) -> Edited:
    """Without one field or entry; what is shown afterwards is what held it.

    Raises:
        RequestError: there is no such thing, or it cannot go alone.
    """
    return Edited(remove(text, path), f"{path}: taken out", path.rpartition("/")[0])


def name_anew(text: str, path: str, name: str) -> Edited:
    """An entry under another name, wherever the description names it.

    Raises:
        RequestError: the name cannot be used, or is taken.
    """
    name = name.strip()
    if not name or "/" in name:
        raise RequestError("a name has at least one letter and no '/'", "type another name")
    above = path.rpartition("/")[0]
    return Edited(rename(text, path, name), f"{path}: now called '{_short(name)}'", f"{above}/{name}")


def _short(typed: str) -> str:
    line = " ".join(typed.split())
    return line if len(line) <= SHOWN else line[: SHOWN - 1] + "…"


@dataclass(frozen=True)
class Splice:
    """What makes one text out of another: at a place so many characters give way to others."""

    start: int
    length: int
    written: str


def splice_between(before: str, after: str) -> Splice:
    """The least splice that makes one text out of another.

    >>> splice_between("12 ±0.01", "12 ±0.05")
    Splice(start=7, length=1, written='5')
    """
    least = min(len(before), len(after))
    start = next((i for i in range(least) if before[i] != after[i]), least)
    end = next((i for i in range(least - start) if before[-1 - i] != after[-1 - i]), least - start)
    return Splice(start, len(before) - start - end, after[start : len(after) - end])


def spliced_on(text: str, splices: Sequence[Splice]) -> str:
    """A text after splices, one after the other.

    Raises:
        RequestError: they are of another text.
    """
    for one in splices:
        if one.start < 0 or one.length < 0 or one.start + one.length > len(text):
            raise RequestError("the changes kept on this device are of another text", "begin anew")
        text = text[: one.start] + one.written + text[one.start + one.length :]
    return text
