"""The tree of nodes that a file's text becomes; every node knows where it stands, and there is a most of everything."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum

MOST_BYTES = 1_000_000
MOST_NODES = 50_000
MOST_DEPTH = 40


class Kind(Enum):
    """What a node is."""

    SCALAR = "scalar"
    LIST = "list"
    MAPPING = "mapping"


@dataclass(slots=True, eq=False)
class Node:
    """One value of a file, and where it stands.

    Attributes:
        kind: scalar, list or mapping.
        start, end: its characters in the text, counted from 0; a block reaches to the next token.
        line: its first line, counted from 1.
        text: a scalar's text.
        plain: a scalar without quotes.
        flow: a list or mapping in brackets.
        items: a list's entries; a mapping's keys and values in turn.
        anchor: the name that other places use for it.
        alias: it stands here by another place's anchor.
        size, height: how many nodes it comes to with all aliases written out, and how deep they nest.
        index: a mapping's keys by their text, once it was asked for.
    """

    kind: Kind
    start: int
    end: int
    line: int
    text: str = ""
    plain: bool = False
    flow: bool = False
    items: "list[Node]" = field(default_factory=list)
    anchor: str | None = None
    alias: bool = False
    size: int = 1
    height: int = 1
    index: "dict[str, tuple[Node, Node]] | None" = None

    def pairs(self) -> "Iterator[tuple[Node, Node]]":
        """Keys and values of a mapping."""
        return zip(self.items[::2], self.items[1::2])

    def entry(self, key: object) -> "tuple[Node, Node] | None":
        """What stands under a key of a mapping, or at a position of a list: what names it, and its value."""
        if self.kind is Kind.LIST and str(key).isdecimal() and int(str(key)) < len(self.items):
            return self.items[int(str(key))], self.items[int(str(key))]
        if self.kind is not Kind.MAPPING:
            return None
        if self.index is None:
            self.index = {}
            for name, value in self.pairs():
                if name.kind is Kind.SCALAR:
                    self.index.setdefault(name.text, (name, value))
        return self.index.get(str(key))
