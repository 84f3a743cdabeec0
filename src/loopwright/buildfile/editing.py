"""Changes to a build file that a person wrote: one value changes, every other character stays."""

import copy
from difflib import get_close_matches
from typing import Any

from loopwright.buildfile.schema import fields_at
from loopwright.buildfile.yaml_layout import flow, quoted_name
from loopwright.buildfile.yaml_nodes import Kind, Node
from loopwright.buildfile.yaml_text import Document, parse, parse_value
from loopwright.errors import BuildError, RequestError


def set_value(text: str, path: str, value: str, file: str | None = None) -> str:
    r"""The text of a build file with one value changed; comments, order, layout and line ends stay.

    A field that the format knows and the file lacks is added; entries with names of their own are not.

    Args:
        text: a build file.
        path: field path, as in 'parts/column/dims/height', or short 'column/height' for a dim.
        value: what to write there, as it would stand in the file.
        file: its name, for messages.

    Raises:
        BuildError: the text is not YAML.
        RequestError: the path leads nowhere, or the value is not YAML.

    >>> print(set_value("name: mill   # small\nbodies: {base: {mass: 80 kg}}", "bodies/base/mass", "82 kg"))
    name: mill   # small
    bodies: {base: {mass: 82 kg}}
    """
    document = parse(text, file)
    keys = _keys(document.data, path)
    new = _parsed(value, path)
    wanted = _with(document.data, keys, new)
    change = _Change(text, document.root, keys)
    for written in dict.fromkeys((value.strip(), flow(new))):
        out = change.made(written)
        if _data(out) == wanted:
            return out
    raise RequestError(
        f"'{path}' cannot be changed here without changing other lines",
        "it is used elsewhere by '*name', or written in an unusual way; change it by hand",
    )


def changed(text: str, changes: dict[str, str], file: str | None = None) -> Document:
    """The document of a build file with values changed, for asking 'what if' without writing it.

    Raises:
        BuildError, RequestError: as ``set_value``.
    """
    for path, value in changes.items():
        text = set_value(text, path, value, file)
    return parse(text, file)


def _data(text: str) -> dict[str, Any] | None:
    try:
        return parse(text).data
    except BuildError:
        return None


def _parsed(value: str, path: str) -> Any:
    try:
        return parse_value(value)
    except BuildError as error:
        what = f"'{value[:60]}' for '{path}' cannot be read: {error.problems[0].what}"
        raise RequestError(what, "write it as it would stand in the file") from None


def _keys(data: dict[str, Any], path: str) -> list[str]:
    keys = [key.strip() for key in path.strip("/").split("/")]
    if not all(keys):
        raise RequestError(f"'{path[:60]}' is not a path", "write it as parts/column/dims/height")
    parts = data.get("parts")
    part = parts.get(keys[0]) if isinstance(parts, dict) and len(keys) == 2 and keys[0] not in data else None
    return ["parts", keys[0], "dims", keys[1]] if isinstance(part, dict) else keys


def _with(data: Any, keys: list[str], new: Any) -> Any:
    """A copy of the data with one value changed."""
    whole = copy.deepcopy(data)
    place = whole
    for key in keys[:-1]:
        place = _step(place, key, keys)
    last = keys[-1]
    if isinstance(place, list):
        _step(place, last, keys)
        place[int(last)] = new
        return whole
    if not isinstance(place, dict):
        raise _single(place, keys)
    if last not in place and last not in fields_at(keys[:-1]):
        raise _nothing_there([*place, *fields_at(keys[:-1])], last, keys)
    place[last] = new
    return whole


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


class _Change:
    """Where in a text a value stands, or would stand."""

    def __init__(self, text: str, root: Node, keys: list[str]) -> None:
        self.text, self.last = text, keys[-1]
        self.parent = root
        self.indexes = [root]
        for key in keys[:-1]:
            found = self.parent.entry(key)
            self.parent = root if found is None else found[1]
        self.found = self.parent.entry(self.last)

    def made(self, written: str) -> str:
        """The text with this in its place."""
        if self.found is not None:
            return self._replaced(*self.found, written)
        line = f"{quoted_name(self.last)}: {written}"
        return self._added_inside(line) if self.parent.flow else self._added_below(line)

    def _replaced(self, name: Node, value: Node, written: str) -> str:
        if value.anchor is not None and not value.alias:
            written = f"&{value.anchor} {written}"
        if value is name:  # an entry of a list
            return self._spliced(value.start, self._end(value), written)
        colon = self.text.index(":", name.end) + 1
        if value.kind is Kind.SCALAR and value.start == value.end:
            return self._spliced(colon, colon, " " + written)
        # a block below its name goes, the rest of the name's own line stays
        between = self.text[colon : value.start]
        own_line, below, _ = between.partition("\n")
        kept = own_line.rstrip() if below else ""
        start = colon if below else value.start
        return self._spliced(start, self._end(value), (" " + written if below else written) + kept)

    def _added_inside(self, line: str) -> str:
        """One more entry between brackets."""
        if not self.parent.items:
            place = self.parent.end - 1
            return self._spliced(place, place, line)
        place = self._end(self.parent)
        return self._spliced(place, place, f", {line}")

    def _added_below(self, line: str) -> str:
        """One more line below the last entry of a block."""
        first = self.parent.items[0]
        indent = first.start - (self.text.rfind("\n", 0, first.start) + 1)
        end = self.text.find("\n", self._end(self.parent))
        newline = "\r\n" if "\r\n" in self.text else "\n"
        if end < 0:
            return f"{self.text}{newline}{' ' * indent}{line}"
        if self.text[end - 1] == "\r":
            end -= 1
        return self._spliced(end, end, f"{newline}{' ' * indent}{line}")

    def _end(self, node: Node) -> int:
        """Where a node's last character is; a block ends with its last entry, not with the comments after."""
        if node.alias or node.kind is Kind.SCALAR:
            return node.start + len(self.text[node.start : node.end].rstrip())
        if node.flow and node is not self.parent:
            return node.end
        last = node.items[-1]
        if node.kind is Kind.MAPPING and last.start == last.end:
            return self.text.index(":", node.items[-2].end) + 1
        return self._end(last) if node.items else node.end

    def _spliced(self, start: int, end: int, written: str) -> str:
        return self.text[:start] + written + self.text[end:]
