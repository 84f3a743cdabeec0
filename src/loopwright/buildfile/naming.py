"""Where a build file names its own entries, so that an entry can be renamed, and be said to be in use."""

from collections import Counter
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
        of_name: the last of the keys is the text, as surfaces name the cuts of an op; else the value there is.
    """

    keys: Keys
    entry: Keys
    written: Callable[[Keys], str]
    of_name: bool = False


@dataclass(frozen=True)
class Mention:
    """Where an entry is named, and what stands there once it has its new name.

    Attributes:
        keys: where.
        written: what stands there then.
        of_name: in place of the last of the keys; else as the value there.
    """

    keys: Keys
    written: str
    of_name: bool = False


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
    out = []
    for naming in namings(data):
        written = naming.written(_anew(naming.entry, keys, name))
        if written != naming.written(naming.entry):
            out.append(Mention(naming.keys, written, naming.of_name))
    return out


def lost(before: dict[str, Any], after: dict[str, Any], keys: list[str], name: str) -> list[Keys]:
    """Entries that some text named before an entry got its new name, and that it no longer leads to.

    So it is where a dim gets the name of a surface, and an op says 'inspect' of it.

    Args:
        before: plain data of the file.
        after: of the file with the new name.
        keys: of the entry.
        name: its new name.
    """
    expected = Counter(_anew(naming.entry, keys, name) for naming in namings(before))
    return list(expected - Counter(naming.entry for naming in namings(after)))


def _anew(entry: Keys, keys: list[str], name: str) -> Keys:
    """The keys of an entry once another, or the same, has its new name."""
    depth = len(keys)
    return (*entry[: depth - 1], name, *entry[depth:]) if entry[:depth] == tuple(keys) else entry


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
    yield from _in_shop(data)
    for name, part in _entries(data.get("parts")):
        yield from _in_part(data, name, part)


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
    ("shop", "sawn", "*"): "parts",
    ("shop", "bars", "*", "material"): "materials",
    ("shop", "proven", "*", "material"): "materials",
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
    held = data["parts"][part]
    kind = _kind_of_dim(held, dim) if isinstance(held, dict) else None
    return Naming(keys, ("parts", part, kind or "dims", dim), lambda new: f"{sign}{new[1]}/{new[3]}")


def _kind_of_dim(part: dict[str, Any], name: str) -> str | None:
    """Which of a part's sections has a dim of that name: a geometrical tolerance counts as one."""
    return next((kind for kind in ("dims", "geometry") if name in _names(part, kind)), None)


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


# how parts are made


def _entries(held: Any) -> Iterator[tuple[str, dict[str, Any]]]:
    """Entries of a section that are mappings, by name."""
    if isinstance(held, dict):
        yield from ((str(name), one) for name, one in held.items() if isinstance(one, dict))


def _listed(held: Any, key: str, above: Keys) -> Iterator[tuple[Keys, Any]]:
    """Entries of a list and where they stand; of what is no list none."""
    found = held.get(key)
    if isinstance(found, list):
        yield from (((*above, key, str(number)), one) for number, one in enumerate(found))


def _to(section: Keys, names: Any, keys: Keys, text: Any, *, of_name: bool = False) -> Iterator[Naming]:
    """The naming of an entry of a section, if it has one of that name."""
    if isinstance(text, str) and isinstance(names, dict) and text in names:
        yield Naming(keys, (*section, text), lambda new: new[len(section)], of_name)


def _in_shop(data: dict[str, Any]) -> Iterator[Naming]:
    """Tools and machines that have proven cutting data."""
    shop = data.get("shop")
    if not isinstance(shop, dict):
        return
    for keys, proven in _listed(shop, "proven", ("shop",)):
        if isinstance(proven, dict):
            for field, section in (("tool", "tools"), ("machine", "machines")):
                yield from _to(("shop", section), shop.get(section), (*keys, field), proven.get(field))


def _in_part(data: dict[str, Any], name: str, part: dict[str, Any]) -> Iterator[Naming]:
    """Dims and surfaces that the spans, the geometry and the route of their own part name, and what the ops need."""
    above = ("parts", name)
    spans = part.get("spans")
    for dim, span in spans.items() if isinstance(spans, dict) else ():
        keys = (*above, "spans", str(dim))
        yield from _to((*above, "dims"), part.get("dims"), keys, str(dim), of_name=True)
        yield from _in_span(above, part, keys, span)
    for key, one in _entries(part.get("geometry")):
        keys = (*above, "geometry", key)
        yield from _surface(above, part, (*keys, "of"), one.get("of"))
        for place, other in _listed(one, "to", keys):
            yield from _surface(above, part, place, other)
    for place, op in _listed(part, "route", above):
        yield from _in_op(data, above, part, place, op)


def _surface(above: Keys, part: dict[str, Any], keys: Keys, text: Any) -> Iterator[Naming]:
    yield from _to((*above, "surfaces"), part.get("surfaces"), keys, text)


def _in_span(above: Keys, part: dict[str, Any], keys: Keys, span: Any) -> Iterator[Naming]:
    """'bore', [foot, top], or {between: [pin, bore], along: X}."""
    if isinstance(span, list):
        for number, end in enumerate(span):
            yield from _surface(above, part, (*keys, str(number)), end)
    elif isinstance(span, dict):
        yield from _surface(above, part, (*keys, "across"), span.get("across"))
        for place, end in _listed(span, "between", keys):
            yield from _surface(above, part, place, end)
    else:
        yield from _surface(above, part, keys, span)


def _in_op(data: dict[str, Any], above: Keys, part: dict[str, Any], keys: Keys, op: Any) -> Iterator[Naming]:
    """What one op names, and what the ops of its alternatives do."""
    if not isinstance(op, dict):
        return
    shop = data.get("shop")
    shop = shop if isinstance(shop, dict) else {}
    yield from _to(("shop", "machines"), shop.get("machines"), (*keys, "machine"), op.get("machine"))
    yield from _to(("shop", "tools"), shop.get("tools"), (*keys, "tool"), op.get("tool"))
    yield from _to(("gauges",), data.get("gauges"), (*keys, "gauge"), op.get("gauge"))
    for place, datum in _listed(op, "datum", keys):
        yield from _surface(above, part, place, datum)
    for place, seen in _listed(op, "inspect", keys):
        kind = (_kind_of_dim(part, seen) if isinstance(seen, str) else None) or "surfaces"
        yield from _to((*above, kind), part.get(kind), place, seen)
    cuts = op.get("cuts")
    for surface, cut in cuts.items() if isinstance(cuts, dict) else ():
        place = (*keys, "cuts", str(surface))
        yield from _to((*above, "surfaces"), part.get("surfaces"), place, str(surface), of_name=True)
        if isinstance(cut, dict):
            yield from _surface(above, part, (*place, "measured_from"), cut.get("measured_from"))
            yield from _to(("shop", "tools"), shop.get("tools"), (*place, "tool"), cut.get("tool"))
    others = op.get("alternatives")
    for way in others if isinstance(others, dict) else ():
        for place, other in _listed(others, way, (*keys, "alternatives")):
            yield from _in_op(data, above, part, place, other)
