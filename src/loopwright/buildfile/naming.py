"""Where a build file names its own entries, so that an entry can be renamed, and be said to be in use."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

Keys = tuple[str, ...]


@dataclass(frozen=True)
class Naming:
    """A text of a build file that names an entry.

    Attributes:
        keys: where it stands.
        entry: the keys of what it names.
        written: the text for an entry of other names, from its keys.
    """

    keys: Keys
    entry: Keys
    written: Callable[[Keys], str]


@dataclass(frozen=True)
class Mention:
    """Where an entry is named, and what stands there once it has its new name."""

    keys: Keys
    written: str


def mentions(data: dict[str, Any], keys: list[str], name: str) -> list[Mention]:
    """Every place that names an entry or something in it, as it reads when the entry is named anew.

    Args:
        data: plain data of the file.
        keys: of the entry.
        name: its new name.

    >>> data = {"bodies": {"base": {"parts": ["pad"]}}, "fit_up": [{"step": "seat", "read": ["pad/height"]}]}
    >>> data |= {"parts": {"pad": {"dims": {"height": "12"}}}}
    >>> [mention.written for mention in mentions(data, ["parts", "pad"], "foot")]
    ['foot', 'foot/height']
    """
    entry, depth = tuple(keys), len(keys)
    out = []
    for naming in namings(data):
        if naming.entry[:depth] == entry:
            renamed = (*naming.entry[: depth - 1], name, *naming.entry[depth:])
            out.append(Mention(naming.keys, naming.written(renamed)))
    return out


def used_in(data: dict[str, Any], keys: list[str]) -> list[Keys]:
    """Places outside of an entry that name it or something in it."""
    entry = tuple(keys)
    found = [n.keys for n in namings(data) if n.entry[: len(entry)] == entry]
    return [place for place in found if place[: len(entry)] != entry]


def namings(data: dict[str, Any]) -> Iterator[Naming]:
    """Every text of a file that names one of its entries."""
    for keys, text in _texts(data, ()):
        naming = _naming(data, keys, text)
        if naming is not None:
            yield naming


def _texts(data: Any, keys: Keys) -> Iterator[tuple[Keys, str]]:
    if isinstance(data, str):
        yield keys, data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield from _texts(value, (*keys, str(key)))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from _texts(value, (*keys, str(number)))


_PLAIN: dict[tuple[str, ...], str] = {
    ("bodies", "*", "parts", "*"): "parts",
    ("bodies", "*", "material"): "materials",
    ("parts", "*", "material"): "materials",
    ("joints", "*", "drive", "material"): "materials",
    ("joints", "*", "drives", "*", "material"): "materials",
    ("joints", "*", "parent"): "bodies",
    ("joints", "*", "child"): "bodies",
    ("loads", "*", "on"): "bodies",
    ("loads", "*", "against"): "bodies",
    ("closures", "*", "joint"): "joints",
    ("closures", "*", "part"): "parts",
    ("tests", "*", "gauge"): "gauges",
    ("tests", "*", "artefact"): "artefacts",
    **{
        (section, "*", *below): kind
        for section in ("targets", "tests")
        for below, kind in (
            (("between", "*"), "bodies"),
            (("turns_with",), "bodies"),
            (("under", "*"), "loads"),
        )
    },
}
"""What the names at a place are names of."""


def _naming(data: dict[str, Any], keys: Keys, text: str) -> Naming | None:
    section = _PLAIN.get(keys) or next((kind for at, kind in _PLAIN.items() if _matches(keys, at)), None)
    if section is not None:
        entry = (section, text)
        return Naming(keys, entry, lambda new: new[1]) if text in _names(data, section) else None
    if _names_dim(keys):
        return _of_dim(data, keys, text)
    if keys[0] == "closures" and keys[-1] == "contact" and len(keys) == 3:
        joint = data["closures"][keys[1]].get("joint")
        contact = ("joints", joint, "contacts", text)
        return Naming(keys, contact, lambda new: new[3]) if isinstance(joint, str) else None
    if keys[0] == "joints" and keys[2:4] == ("guide", "blocks") and keys[5:] == ("rail",):
        return Naming(keys, (*keys[:3], "rails", text), lambda new: new[4])
    return _in_fit_up(data, keys, text) if keys[0] == "fit_up" and len(keys) == 4 else None


def _matches(keys: Keys, pattern: tuple[str, ...]) -> bool:
    return len(keys) == len(pattern) and all(p in ("*", k) for k, p in zip(keys, pattern))


def _names(data: dict[str, Any], section: str) -> Any:
    found = data.get(section)
    return found if isinstance(found, dict) else ()


def _names_dim(keys: Keys) -> bool:
    """Whether a part/dim stands at a place."""
    if keys[0] == "made_together":
        return len(keys) == 4 and keys[2] == "dims"
    return keys[0] == "joints" and (
        keys[-2:-1] == ("dims",) or (keys[-1:] == ("dim",) and keys[-3:-2] == ("dims",))
    )


def _of_dim(data: dict[str, Any], keys: Keys, text: str) -> Naming | None:
    sign = text[:1] if keys[0] == "joints" and text[:1] in ("+", "-", "\N{MINUS SIGN}") else ""
    part, parted, dim = text[len(sign) :].strip().partition("/")
    if not parted or part not in _names(data, "parts"):
        return None
    return Naming(keys, ("parts", part, "dims", dim), lambda new: f"{sign}{new[1]}/{new[3]}")


def _in_fit_up(data: dict[str, Any], keys: Keys, text: str) -> Naming | None:
    what = keys[2]
    if what == "adjust":
        return _adjusted(data, keys, text)
    for section in {"seat": ("bodies", "parts"), "read": ("closures", "tests")}.get(what, ()):
        if text in _names(data, section):
            return Naming(keys, (section, text), lambda new: new[1])
    return _of_dim(data, keys, text) if what == "read" else None


def _adjusted(data: dict[str, Any], keys: Keys, text: str) -> Naming | None:
    """'joint/contact', or the longer path of an adjuster below its joint."""
    name, _, rest = text.partition("/")
    if name not in _names(data, "joints"):
        return None
    below = rest.split("/")
    if below[:1] == ["contacts"] and len(below) == 2:
        return Naming(keys, ("joints", name, *below), lambda new: "/".join(new[1:]))
    contacts = data["joints"][name].get("contacts") if isinstance(data["joints"][name], dict) else None
    if len(below) == 1 and isinstance(contacts, dict) and rest in contacts:
        return Naming(keys, ("joints", name, "contacts", rest), lambda new: f"{new[1]}/{new[3]}")
    return Naming(keys, ("joints", name, *below), lambda new: "/".join(new[1:]))
