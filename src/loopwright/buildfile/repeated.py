"""Places of a build file that repeat one another by '*name', and how they come apart where only some of them change."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from loopwright.buildfile.splicing import CannotSplice, Cut, handed_on, own_copy, spliced
from loopwright.buildfile.yaml_text import Document, parse, plain_data
from loopwright.buildfile.yaml_tree import Kind, Node

Keys = tuple[str, ...]
MOST_STEPS = 200
"""So many anchors are taken apart for one change, at most."""


@dataclass(frozen=True)
class Spot:
    """A text of a build file: the name of an entry, or a value.

    Attributes:
        keys: where it stands.
        of_name: the name is meant that is the last of the keys, not the value behind it.
    """

    keys: Keys
    of_name: bool = False


@dataclass(frozen=True)
class _Stand:
    """One of the places where a node stands, and the aliases that lead there, the outermost first."""

    spot: Spot
    by: tuple[Node, ...]


class Standing:
    """Where every node of a tree stands, with all that is repeated.

    Args:
        root: the tree.
    """

    def __init__(self, root: Node) -> None:
        self._node: dict[Spot, Node] = {}
        self._stands: dict[int, list[_Stand]] = {}
        self._source: dict[int, Node] = {}
        self._find_sources(root, {})
        self._visit(root, (), ())

    def node(self, spot: Spot) -> Node:
        """What is written for a spot; for one that repeats another, what is written there.

        Raises:
            CannotSplice: there is no such spot.
        """
        if spot not in self._node:
            raise CannotSplice
        return self._node[spot]

    def source(self, alias: Node) -> Node:
        """What an alias repeats."""
        return self._source[id(alias)]

    def stands(self, node: Node) -> list[_Stand]:
        """Where a node stands: first its own place, then those that repeat it, the least nested first."""
        own, *others = self._stands[id(node)]
        return [own, *sorted(others, key=lambda stand: len(stand.by))]

    def _find_sources(self, node: Node, known: dict[str, Node]) -> None:
        if node.anchor is not None and node.alias:
            self._source[id(node)] = known[node.anchor]
            return
        for item in node.items:
            self._find_sources(item, known)
        if node.anchor is not None:
            known[node.anchor] = node

    def _visit(self, node: Node, keys: Keys, by: tuple[Node, ...]) -> None:
        if node.alias:
            node, by = self.source(node), (*by, node)
        self._note(node, Spot(keys), by)
        if node.kind is Kind.LIST:
            for number, item in enumerate(node.items):
                self._visit(item, (*keys, str(number)), by)
        elif node.kind is Kind.MAPPING:
            self._entries(node, keys, by, set())

    def _entries(self, node: Node, keys: Keys, by: tuple[Node, ...], taken: set[str]) -> None:
        merged = []
        for name, value in node.pairs():
            if name.plain and name.text == "<<":
                merged.append(value)
            elif name.kind is Kind.SCALAR and name.text not in taken:
                taken.add(name.text)
                self._note(name, Spot((*keys, name.text), of_name=True), by)
                self._visit(value, (*keys, name.text), by)
        for value in chain.from_iterable(one.items if one.kind is Kind.LIST else [one] for one in merged):
            inner = (self.source(value), (*by, value)) if value.alias else (value, by)
            self._entries(inner[0], keys, inner[1], taken)

    def _note(self, node: Node, spot: Spot, by: tuple[Node, ...]) -> None:
        self._node.setdefault(spot, node)
        self._stands.setdefault(id(node), []).append(_Stand(spot, by))


def taken_apart(text: str, changes: Mapping[Spot, str], read: Callable[[str], Document] = parse) -> str:
    r"""A text of the same data in which no spot that changes repeats, or is repeated by, one that stays.

    What stays as it is keeps the anchor: it goes from what changes to the first place that repeats it.

    Args:
        text: a build file.
        changes: spots, and what will stand there.
        read: parses a text.

    Raises:
        CannotSplice: a spot is not there, or the text is written in a way that cannot come apart.

    >>> text = "a: &x {k: one}\nb: *x\nc: *x"
    >>> print(taken_apart(text, {Spot(("a", "k")): "two"}))
    a: {k: one}
    b: &x {k: one}
    c: *x
    >>> print(taken_apart(text, {Spot(("b", "k")): "two"}))
    a: &x {k: one}
    b: {k: one}
    c: *x
    """
    for _ in range(MOST_STEPS):
        cuts = _step(text, read(text).root, changes) if "*" in text else []
        if not cuts:
            return text
        text = spliced(text, cuts)
    raise CannotSplice


def _step(text: str, root: Node, changes: Mapping[Spot, str]) -> list[Cut]:
    """Cuts for the outermost of what must come apart; none where nothing must."""
    standing = Standing(root)
    cuts: list[Cut] = []
    for spot in changes:
        for group in _parting(text, root, standing, spot, changes):
            if all(cut in cuts or not _overlaps(cut, cuts) for cut in group):
                cuts += [cut for cut in group if cut not in cuts]
    return cuts


def _parting(
    text: str, root: Node, standing: Standing, spot: Spot, changes: Mapping[Spot, str]
) -> Iterator[list[Cut]]:
    own, *others = standing.stands(standing.node(spot))
    for other in others:
        if changes.get(other.spot) == changes.get(own.spot):
            continue
        if own.spot in changes:
            anchor = standing.source(other.by[-1])
            yield handed_on(text, root, anchor, plain_data(text, anchor), keep=True)
        else:
            alias = other.by[0]
            end = alias.start + len(text[alias.start : alias.end].rstrip())
            yield [Cut(alias.start, end, own_copy(text, alias.start, plain_data(text, alias)))]
        return


def _overlaps(cut: Cut, cuts: list[Cut]) -> bool:
    return any(cut.start < other.end and other.start < cut.end for other in cuts)
