"""Changes to a build file that a person wrote: one entry changes, comes or goes, every other character stays."""

import copy
from collections.abc import Callable, Iterable, Sequence
from difflib import get_close_matches
from functools import lru_cache
from itertools import product
from typing import Any

from loopwright.buildfile import naming
from loopwright.buildfile.repeated import Spot, Standing, taken_apart
from loopwright.buildfile.schema import fields_at
from loopwright.buildfile.splicing import CannotSplice, Cut, Place, anchors_in, handed_on, spliced
from loopwright.buildfile.yaml_layout import flow, quoted_name, scalar
from loopwright.buildfile.yaml_text import Document, parse, parse_value, plain_data
from loopwright.buildfile.yaml_tree import Node
from loopwright.errors import BuildError, RequestError


def set_value(text: str, path: str, value: str, file: str | None = None, *, apart: bool = False) -> str:
    r"""The text of a build file with one value changed; comments, order, layout and line ends stay.

    A field that the format knows and the file lacks is added; entries with names of their own are not.

    Args:
        text: a build file.
        path: field path, as in 'parts/column/dims/height', or short 'column/height' for a dim.
        value: what to write there, as it would stand in the file.
        file: its name, for messages.
        apart: where other places repeat it by '*name', it gets a copy of its own; otherwise it is refused.

    Raises:
        BuildError: the text is not YAML.
        RequestError: the path leads nowhere, or the value is not YAML.

    >>> print(set_value("name: mill   # small\nbodies: {base: {mass: 80 kg}}", "bodies/base/mass", "82 kg"))
    name: mill   # small
    bodies: {base: {mass: 82 kg}}
    """
    document = parsed(text, file)
    keys = _keys(document.data, path)
    new = _parsed(value, path)
    wanted = _with(document.data, keys, new)
    ways = [
        lambda place: place.replaced(value.strip()),
        lambda place: place.replaced(flow(new)),
    ]
    return _done(text, document, keys, wanted, ways, f"'{path}' cannot be changed", apart=apart)


def insert(text: str, path: str, value: Any, file: str | None = None) -> str:
    r"""The text of a build file with one more entry, its name the last of the path; all other lines stay.

    Args:
            text: a build file.
            path: of the new entry, as in 'parts/column/dims/height'; a section that the file lacks is begun.
            value: plain data of the entry: dict, list, str, int, float, bool or None.
            file: its name, for messages.

    Raises:
            BuildError: the text is not YAML.
            RequestError: there is such an entry already, or the path leads nowhere.

        >>> print(insert("parts:\n  a: {}   # first\nbodies: {b: {}}", "parts/pad", {"dims": {"height": "12 ±0.01"}}))
        parts:
          a: {}   # first
          pad: {dims: {height: 12 ±0.01}}
        bodies: {b: {}}
    """
    document = parsed(text, file)
    keys = _parts_of(path)
    above: Any = document.data
    for depth, key in enumerate(keys[:-1]):
        inside = above.get(key) if isinstance(above, dict) else None
        if isinstance(above, dict) and inside is None and key in fields_at(keys[:depth]):
            # what holds the entry is not there yet, or empty: it is begun with it
            for name in reversed(keys[depth + 1 :]):
                value = {name: value}
            keys = keys[: depth + 1]
            break
        above = _step(above, key, keys)
    wanted = _with(document.data, keys, value, new=True)
    ways = [
        lambda place: place.filled(value) if place.found is None else place.replaced(flow(value)),
        lambda place: place.replaced(flow(value)),
    ]
    return _done(text, document, keys, wanted, ways, f"'{path}' cannot be added")


def append(text: str, path: str, value: Any, file: str | None = None) -> str:
    r"""The text of a build file with one more entry at the end of a list; all other lines stay.

    Args:
        text: a build file.
        path: of the list, as in 'bodies/base/parts'; one that the format knows and the file lacks is begun.
        value: plain data of the entry.
        file: its name, for messages.

    Raises:
        BuildError: the text is not YAML.
        RequestError: the path leads to something else, or nowhere.

    >>> append("bodies: {b: {parts: [a]}}", "bodies/b/parts", "c")
    'bodies: {b: {parts: [a, c]}}'
    """
    document = parsed(text, file)
    keys = _parts_of(path)
    held = value_at(document.data, keys)
    if held is None:
        return insert(text, path, [value], file)
    if not isinstance(held, list):
        raise RequestError(f"'{path}' is not a list", "set the value itself")
    wanted = _with(document.data, keys, [*held, value])
    ways = [
        lambda place: place.appended(value),
        lambda place: place.replaced(flow([*held, value])),
    ]
    return _done(text, document, keys, wanted, ways, f"'{path}' cannot be added to")


def remove(text: str, path: str, file: str | None = None) -> str:
    r"""The text of a build file without one field or entry; all other lines and comments stay.

      What other places repeat of it by '*name' is written out at the first of them.

    Args:
          text: a build file.
          path: of what goes.
          file: its name, for messages.

    Raises:
          BuildError: the text is not YAML.
          RequestError: there is nothing at the path, or it cannot go alone.

      >>> print(remove("bodies:\n  # kept\n  a: {mass: 80 kg}\n  b: {}   # gone", "bodies/b"))
      bodies:
        # kept
        a: {mass: 80 kg}
    """
    document = parsed(text, file)
    keys = _keys(document.data, path)
    wanted = _without(document.data, keys)
    return _done(text, document, keys, wanted, [Place.removed], f"'{path}' cannot be taken out")


def rename(text: str, path: str, name: str, file: str | None = None) -> str:
    r"""The text of a build file with one entry named anew, also wherever the file names it; all else stays.

    Args:
            text: a build file.
            path: of the entry, as in 'parts/pad' or 'joints/X slide/contacts/nut side'.
            name: its new name.
            file: its name, for messages.

    Raises:
            BuildError: the text is not YAML.
            RequestError: there is nothing at the path, or another entry has that name, also one of another kind
                where either could be meant.

        >>> print(rename("parts: {pad: {}}\nbodies: {base: {parts: [pad]}}  # on the pad", "parts/pad", "foot"))
        parts: {foot: {}}
        bodies: {base: {parts: [foot]}}  # on the pad
    """
    document = parsed(text, file)
    keys = _keys(document.data, path)
    above = value_at(document.data, keys[:-1])
    if not isinstance(above, dict) or keys[-1] not in above:
        _step(above, keys[-1], keys)
        raise RequestError(f"'{path}' has no name", "entries of a list are counted, not named")
    if name in above and name != keys[-1]:
        raise RequestError(f"there is a '{name[:60]}' already", "choose another name")
    mentions = naming.mentions(document.data, keys, name)
    wanted = _renamed(document.data, keys, name, mentions)
    if naming.lost(document.data, wanted, keys, name):
        what = f"'{name[:60]}' would then be read as something else that has this name"
        raise RequestError(what, "choose another name")
    changes = {Spot(mention.keys, mention.of_name): mention.written for mention in mentions}
    changes[Spot(tuple(keys), of_name=True)] = name

    def everywhere(place: Place) -> list[Cut]:
        standing, cuts = Standing(place.root), []
        for spot, written in changes.items():
            node = standing.node(spot)
            sign = "" if node.anchor is None or node.alias else f"&{node.anchor} "
            as_written = quoted_name(written) if spot.of_name else scalar(written)
            cuts.append(Cut(node.start, place.end_of(node), sign + as_written))
        return cuts

    fails = f"'{path}' cannot be renamed"
    try:
        # what repeats it by '*name' and belongs to another entry keeps the old name
        text = taken_apart(text, changes, lambda one: parsed(one, file))
    except CannotSplice:
        return _done(text, document, keys, wanted, [], fails)
    return _done(text, parsed(text, file), keys, wanted, [everywhere], fails)


def changed(text: str, changes: dict[str, str], file: str | None = None) -> Document:
    """The document of a build file with values changed, for asking 'what if' without writing it.

    Raises:
        BuildError, RequestError: as ``set_value``.
    """
    for path, value in changes.items():
        text = set_value(text, path, value, file)
    return parsed(text, file)


def parsed(text: str, file: str | None = None) -> Document:
    """The document of a text, kept for the next question about it; it is not to be changed.

    Raises:
        BuildError: the text is not YAML.
    """
    return _kept(text, file)


_kept = lru_cache(maxsize=6)(parse)


def value_at(data: Any, keys: Iterable[str]) -> Any:
    """Plain data at a place; None where there is nothing.

    >>> value_at({"parts": {"pad": {"bought": True}}}, ["parts", "pad", "bought"])
    True
    """
    for key in keys:
        if isinstance(data, dict):
            data = data.get(key)
        elif isinstance(data, list) and str(key).isdecimal() and int(key) < len(data):
            data = data[int(key)]
        else:
            return None
    return data


def _done(
    text: str,
    document: Document,
    keys: list[str],
    wanted: dict[str, Any],
    ways: Sequence[Callable[[Place], list[Cut]]],
    fails: str,
    *,
    apart: bool = True,
) -> str:
    """The text after the first of some ways to change it that comes to the wanted data, and to nothing else."""
    place: Place | None = None
    try:
        place = Place(text, document.root, keys)
    except CannotSplice:
        ways = ()
    if place is not None and place.aliased is not None and apart:
        # it stands here by another place's anchor: from now on it has a copy of its own
        keys = keys[: place.aliased]
        own = flow(value_at(wanted, keys))
        place, ways = Place(text, document.root, keys), [lambda place: place.replaced(own)]
    for way, repeats in product(ways, ("kept", "of it", "of what holds it")[: 3 if apart else 1]):
        assert place is not None
        try:
            cuts = _handed_on(place, repeats)
            if cuts is None:
                continue
            out = spliced(text, [*cuts, *way(place)])
        except (CannotSplice, ValueError):
            continue
        if _same(_data(out), wanted):
            return out
    raise RequestError(
        f"{fails} here without changing other lines",
        "it is used elsewhere by '*name', or written in an unusual way; change it by hand",
    )


def _same(one: Any, other: Any) -> bool:
    """Equal, the order of entries included."""
    if isinstance(one, dict) and isinstance(other, dict):
        return list(one) == list(other) and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return type(one) is type(other) and bool(one == other)


def _handed_on(place: Place, repeats: str) -> list[Cut] | None:
    """Cuts that let what repeats some anchors keep what it has; None where there is nothing to do.

    Args:
        place: where something changes or goes.
        repeats: 'kept' leaves all as it is; 'of it' are those of what stands at the place, 'of what holds it' those
            of what it is part of.
    """
    if repeats == "kept":
        return []
    if repeats == "of it":
        anchors = [] if place.found is None else list(anchors_in(place.found[1]))
    else:
        anchors = [node for _, node in place.chain[1:] if node.anchor is not None and not node.alias]
    cuts = [
        cut
        for anchor in anchors
        for cut in handed_on(
            place.text, place.root, anchor, plain_data(place.text, anchor), keep=repeats != "of it"
        )
    ]
    return cuts or None


def _node_at(root: Node, keys: Iterable[str]) -> Node:
    node = root
    for key in keys:
        entry = node.entry(key)
        if entry is None:
            raise CannotSplice
        node = entry[1]
    return node


def _data(out: str) -> dict[str, Any] | None:
    try:
        return parsed(out).data
    except BuildError:
        return None


def _parsed(value: str, path: str) -> Any:
    try:
        return parse_value(value)
    except BuildError as error:
        what = f"'{value[:60]}' for '{path}' cannot be read: {error.problems[0].what}"
        raise RequestError(what, "write it as it would stand in the file") from None


def _parts_of(path: str) -> list[str]:
    keys = [key.strip() for key in path.strip("/").split("/")]
    if not all(keys):
        raise RequestError(f"'{path[:60]}' is not a path", "write it as parts/column/dims/height")
    return keys


def _keys(data: dict[str, Any], path: str) -> list[str]:
    keys = _parts_of(path)
    parts = data.get("parts")
    part = parts.get(keys[0]) if isinstance(parts, dict) and len(keys) == 2 and keys[0] not in data else None
    return ["parts", keys[0], "dims", keys[1]] if isinstance(part, dict) else keys


def _with(data: Any, keys: list[str], value: Any, *, new: bool = False) -> Any:
    """A copy of the data with one value changed, or with one that must not be there yet."""
    whole = copy.deepcopy(data)
    place = whole
    for key in keys[:-1]:
        place = _step(place, key, keys)
    last = keys[-1]
    if isinstance(place, list):
        _step(place, last, keys)
        place[int(last)] = value
        return whole
    if not isinstance(place, dict):
        raise _single(place, keys)
    if new and place.get(last) is not None:
        raise RequestError(
            f"there is a '{last[:60]}' already", "choose another name, or change the one there is"
        )
    if not new and last not in place and last not in fields_at(keys[:-1]):
        raise _nothing_there([*place, *fields_at(keys[:-1])], last, keys)
    place[last] = value
    return whole


def _without(data: Any, keys: list[str]) -> Any:
    """A copy of the data without one entry."""
    whole = copy.deepcopy(data)
    place = whole
    for key in keys[:-1]:
        place = _step(place, key, keys)
    _step(place, keys[-1], keys)
    del place[int(keys[-1]) if isinstance(place, list) else keys[-1]]
    return whole


def _renamed(data: Any, keys: list[str], name: str, mentions: Iterable[naming.Mention]) -> Any:
    """A copy of the data with one entry named anew, in its place, and with what names it."""
    whole = copy.deepcopy(data)
    mentions = list(mentions)
    for mention in mentions:
        if not mention.of_name:
            above, last = value_at(whole, mention.keys[:-1]), mention.keys[-1]
            above[int(last) if isinstance(above, list) else last] = mention.written
    for mention in mentions:
        if mention.of_name:
            _name_entry(whole, mention.keys, mention.written)
    _name_entry(whole, keys, name)
    return whole


def _name_entry(whole: Any, keys: Sequence[str], name: str) -> None:
    """Another name for one entry of plain data, in its place."""
    held = value_at(whole, keys[:-1])
    if name in held and name != keys[-1]:
        there = "/".join(keys[:-1])
        raise RequestError(f"there is a '{name[:60]}' already in '{there}'", "choose another name")
    entries = [(name if key == keys[-1] else key, value) for key, value in held.items()]
    held.clear()
    held.update(entries)


def _step(place: Any, key: str, keys: list[str]) -> Any:
    if isinstance(place, dict):
        if key in place:
            return place[key]
        raise _nothing_there(list(place), key, keys)
    if isinstance(place, list):
        if key.isdecimal() and int(key) < len(place):
            return place[int(key)]
        raise RequestError(
            f"'{'/'.join(keys)}': there is no entry {key}", f"count from 0 to {len(place) - 1}"
        )
    raise _single(place, keys)


def _single(place: Any, keys: list[str]) -> RequestError:
    return RequestError(
        f"'{'/'.join(keys)}' leads into the single value {place!r:.60}", "set that value itself"
    )


def _nothing_there(known: list[Any], key: str, keys: list[str]) -> RequestError:
    names = list(dict.fromkeys(str(name) for name in known))
    close = get_close_matches(key, names, n=1)
    remedy = f"did you mean '{close[0]}'?" if close else f"known there are: {', '.join(names[:12])}"
    place = "/".join(keys[: keys.index(key)]) or "the file"
    return RequestError(f"there is no '{key[:60]}' in '{place}'", remedy)
