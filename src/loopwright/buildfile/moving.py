"""Entries of a list of a build file in another order, or one more among them; every other character stays."""

from collections.abc import Sequence
from typing import Any

from loopwright.buildfile.editing import append, parsed, set_value, value_at
from loopwright.buildfile.splicing import CannotSplice, Cut, Place, spliced
from loopwright.buildfile.yaml_layout import flow
from loopwright.buildfile.yaml_tree import Node
from loopwright.errors import BuildError, RequestError


def move(text: str, path: str, to: int, file: str | None = None) -> str:
    r"""The text of a build file with one entry of a list at another place; it takes its comments along.

    Args:
        text: a build file.
        path: of the entry, counted from 0, as in 'parts/ring/route/3'.
        to: its place afterwards, counted from 0.
        file: its name, for messages.

    Raises:
        BuildError: the text is not YAML.
        RequestError: there is no such entry or place, or the list cannot be put in another order here.

    >>> print(move("parts:\n  a:\n    route:\n      - {op: saw}   # first\n      - {op: turn}", "parts/a/route/0", 1))
    parts:
      a:
        route:
          - {op: turn}
          - {op: saw}   # first
    """
    document = parsed(text, file)
    above, _, last = path.rpartition("/")
    held = value_at(document.data, above.split("/"))
    count = len(held) if isinstance(held, list) else 0
    if not last.isdecimal() or not 0 <= int(last) < count:
        raise RequestError(f"there is no '{path[:60]}'", "choose an entry of a list")
    if not 0 <= to < count:
        raise RequestError(f"the list has no place {to}", f"count from 0 to {count - 1}")
    order = [n for n in range(count) if n != int(last)]
    order.insert(to, int(last))
    return _ordered(text, above, order, file)


def insert_at(text: str, path: str, value: Any, to: int, file: str | None = None) -> str:
    """The text of a build file with one more entry of a list, at a place counted from 0.

    Args:
        text: a build file.
        path: of the list; one that the format knows and the file lacks is begun.
        value: plain data of the entry.
        to: its place.
        file: its name, for messages.

    Raises:
        BuildError: the text is not YAML.
        RequestError: the path leads to something else, or the list has no such place.

    >>> insert_at("bodies: {b: {parts: [a, c]}}", "bodies/b/parts", "b", 1)
    'bodies: {b: {parts: [a, b, c]}}'
    """
    held = value_at(parsed(text, file).data, path.split("/"))
    if isinstance(held, list) and 0 <= to < len(held):
        straight = _between(text, path, value, to, file)
        if straight is not None:
            return straight
    begun = held is None
    out = append(text, path, value, file)
    if begun:
        return _below_its_name(out, path, value, file)
    last = len(value_at(parsed(out, file).data, path.split("/"))) - 1
    return out if to == last else move(out, f"{path}/{last}", to, file)


def _between(text: str, path: str, value: Any, to: int, file: str | None) -> str | None:
    """The entry put before another at once; None where that cannot be, as where that one has comments above it."""
    document, keys = parsed(text, file), path.split("/")
    held = value_at(document.data, keys)
    try:
        place = Place(text, document.root, [*keys, str(to)])
        item = place.parent.items[to]
        start = _start(place, item)
        if place.parent.flow:
            out = spliced(text, [Cut(start, start, f"{flow(value)}, ")])
        else:
            line = text.rfind("\n", 0, start) + 1
            if text[line:start].strip(" ") not in ("-", ""):
                return None
            indent = text[line:start].split("-")[0]
            out = spliced(text, [Cut(line, line, f"{indent}- {flow(value)}{place.newline}")])
        wanted = [*held[:to], value, *held[to:]]
        return out if value_at(parsed(out, file).data, keys) == wanted else None
    except (CannotSplice, BuildError):
        return None


def _below_its_name(text: str, path: str, value: Any, file: str | None) -> str:
    """A list that was just begun as a block of its own, where what holds it is one; it is going to grow."""
    document = parsed(text, file)
    place = Place(text, document.root, path.split("/"))
    if place.parent.flow or place.found is None or not place.found[1].flow:
        return text
    name, held = place.found
    column = name.start - text.rfind("\n", 0, name.start) - 1
    colon = text.index(":", name.end) + 1
    written = f"{place.newline}{' ' * (column + 2)}- {flow(value)}"
    out = spliced(text, [Cut(colon, place.end_of(held), written)])
    try:
        return out if parsed(out, file).data == document.data else text
    except BuildError:
        return text


def _ordered(text: str, path: str, order: Sequence[int], file: str | None) -> str:
    """The text with a list in another order, each entry as it was written where that can be."""
    document = parsed(text, file)
    keys = path.split("/")
    held = value_at(document.data, keys)
    wanted = [held[n] for n in order]
    try:
        place = Place(text, document.root, [*keys, "0"])
        lists = place.parent
        out = spliced(text, _brackets(place, lists, order) if lists.flow else _block(place, lists, order))
        if value_at(parsed(out, file).data, keys) == wanted:
            return out
    except (CannotSplice, BuildError):
        pass
    return set_value(text, path, flow(wanted), file, apart=True)


def _brackets(place: Place, held: Node, order: Sequence[int]) -> list[Cut]:
    """Entries of a list in brackets change places; what stands between them stays."""
    ends = [place.end_of(item) for item in held.items]
    pieces = [place.text[_start(place, item) : end] for item, end in zip(held.items, ends)]
    return [Cut(_start(place, item), ends[k], pieces[order[k]]) for k, item in enumerate(held.items)]


def _start(place: Place, item: Node) -> int:
    """Where an entry begins; one with an anchor stands behind its sign, which cannot move alone."""
    if item.anchor is not None and not item.alias:
        raise CannotSplice
    return item.start


def _block(place: Place, held: Node, order: Sequence[int]) -> list[Cut]:
    """Entries below one another change places, each with the comments above it and behind it."""
    text, newline = place.text, place.newline
    first = text.rfind("\n", 0, held.items[0].start) + 1
    if text[first : held.items[0].start].strip(" ") not in ("-", ""):
        raise CannotSplice
    ends = []
    for item in held.items:
        end = text.find("\n", place.end_of(item))
        ends.append(len(text) if end < 0 else end + 1)
    pieces = [text[start:end] for start, end in zip([first, *ends], ends)]
    if not pieces[-1].endswith("\n"):
        pieces[-1] += newline
    written = "".join(pieces[n] for n in order)
    if not text[: ends[-1]].endswith("\n"):
        written = written.removesuffix(newline)
    return [Cut(first, ends[-1], written)]
