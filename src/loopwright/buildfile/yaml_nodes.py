"""Text of a file to a tree of nodes that know where they stand, guarded: a foreign file may be anything."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
)
from ruamel.yaml.reader import ReaderError

from loopwright.errors import BuildError, Problem

MOST_BYTES = 1_000_000
MOST_NODES = 50_000
MOST_DEPTH = 40
MOST_IN_LINE = 50_000


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


def read_nodes(text: str) -> tuple[Node | None, list[Problem]]:
    """The tree of a text's only document, None where it is empty, and the tags that it carries.

    Nothing is constructed from it, aliases are not written out, and the work is bounded.

    Raises:
        BuildError: it is not YAML, has several documents, expands too far, or nests too deeply.
    """
    _check_lines(text)
    tree = _Tree(text)
    try:
        for event in YAML(typ="safe", pure=True).parse(text):
            tree.take(event)
    except MarkedYAMLError as error:
        raise _not_yaml(error, text) from None
    except ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        what = f"holds the character U+{int(error.character):04X}, which YAML does not allow"
        raise BuildError([Problem("", what, "take it out", line=line)]) from None
    except (YAMLError, ValueError, IndexError, AssertionError, AttributeError, TypeError):
        # what its scanner raises where a text breaks off in an odd place
        raise BuildError(
            [Problem("", "cannot be read as YAML", "compare it with an example: loopwright new")]
        ) from None
    return tree.root, tree.tags


def _check_lines(text: str) -> None:
    if len(text) <= MOST_IN_LINE:
        return
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > MOST_IN_LINE:
            what = f"a line of {len(line)} characters is too long to be read"
            raise BuildError([Problem("", what, f"break it; {MOST_IN_LINE} do at most", line=number)])


class _Tree:
    """Puts nodes together from the parser's events."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.root: Node | None = None
        self.tags: list[Problem] = []
        self._open: list[Node] = []
        self._anchors: dict[str, Node] = {}
        self._documents = 0
        self._nodes = 0

    def take(self, event: Event) -> None:
        if isinstance(event, NodeEvent):
            self._nodes += 1
            self._check(self._nodes, len(self._open) + 1, event)
        if isinstance(event, AliasEvent):
            self._close(self._aliased(event))
        elif isinstance(event, ScalarEvent):
            self._note_tag(event)
            node = self._node(Kind.SCALAR, event)
            node.text, node.plain = event.value, event.style is None
            self._close(node)
        elif isinstance(event, CollectionStartEvent):
            self._note_tag(event)
            node = self._node(Kind.MAPPING if isinstance(event, MappingStartEvent) else Kind.LIST, event)
            node.flow = bool(event.flow_style)
            self._open.append(node)
        elif isinstance(event, CollectionEndEvent):
            node = self._open.pop()
            node.end = event.end_mark.index
            self._close(node)
        elif isinstance(event, DocumentStartEvent):
            self._documents += 1
            if self._documents > 1:
                raise _refused("holds more than one document", "take the second '---' out", event)

    def _node(self, kind: Kind, event: Any) -> Node:
        start, end = event.start_mark, event.end_mark
        return Node(kind, start.index, end.index, start.line + 1, anchor=event.anchor)

    def _close(self, node: Node) -> None:
        """A node is whole: its parent takes it."""
        if node.anchor is not None and not node.alias:
            self._anchors[node.anchor] = node
        if not self._open:
            self.root = node
            return
        parent = self._open[-1]
        parent.items.append(node)
        parent.size += node.size
        parent.height = max(parent.height, node.height + 1)
        if parent.size > MOST_NODES or len(self._open) + node.height > MOST_DEPTH:
            self._check(parent.size, len(self._open) + node.height, node)

    def _aliased(self, event: AliasEvent) -> Node:
        # an anchor is known once its node is whole, so nothing can stand inside itself
        named = self._anchors.get(event.anchor)
        if named is None:
            raise _refused(
                f"'*{event.anchor}' repeats something that is not there yet",
                f"put '&{event.anchor}' before it, in front of what is to be repeated",
                event,
            )
        node = self._node(named.kind, event)
        node.alias, node.text, node.plain, node.items = True, named.text, named.plain, named.items
        node.size, node.height, node.flow = named.size, named.height, True
        return node

    def _check(self, nodes: int, depth: int, at: Any) -> None:
        if nodes > MOST_NODES:
            raise _refused(
                f"holds more than {MOST_NODES} values",
                "check that it is a build file, and its aliases (*name)",
                at,
            )
        if depth > MOST_DEPTH:
            raise _refused(
                f"nests more than {MOST_DEPTH} deep", "check the brackets, and aliases (*name)", at
            )

    def _note_tag(self, event: Any) -> None:
        if event.tag is not None:
            what = f"carries the tag '{str(event.tag)[:60].replace('tag:yaml.org,2002:', '!!')}'"
            line = event.start_mark.line + 1
            self.tags.append(
                Problem("", what, "tags (!name) are not used in build files; take it out", line=line)
            )


def _refused(what: str, remedy: str, at: Any) -> BuildError:
    line = at.line if isinstance(at, Node) else at.start_mark.line + 1
    return BuildError([Problem("", what, remedy, line=line)])


_SAID = (
    ("mapping values are not allowed", "has a colon where none can stand", "put a text with ': ' in quotes"),
    (r"found character '\t'", "has a tab where YAML takes blanks", "indent with blanks"),
    ("that cannot start any token", "has a sign that YAML keeps for itself", "put the text in quotes"),
    ("could not find expected ':'", "lacks a colon", "write name: value, with a blank after the colon"),
    (
        "expected <block end>",
        "does not fit the lines above",
        "indent it as they are, and close every bracket",
    ),
    (
        "expected ',' or",
        "leaves a bracket open, or lacks a comma",
        "close every [ and {, and part entries by commas",
    ),
    ("found unexpected end of stream", "leaves a quote open", "close it"),
    ("while scanning a quoted scalar", "leaves a quote open", "close it"),
)


def _not_yaml(error: MarkedYAMLError, text: str) -> BuildError:
    said = " ".join(f"{error.context or ''} {error.problem or ''}".split())
    mark = error.problem_mark or error.context_mark
    what, remedy = f"cannot be read as YAML: {said[:160]}", "look at this line and the one before it"
    for words, meaning, cure in _SAID:
        if words in said:
            what, remedy = f"cannot be read: the line {meaning}", cure
            break
    if mark is None:
        return BuildError([Problem("", what, remedy)])
    # a bracket or quote left open is noticed only at the end of the file
    if error.context_mark is not None and mark.index >= len(text.rstrip()):
        mark = error.context_mark
    return BuildError([Problem("", what, remedy, line=mark.line + 1)])


_NULL = frozenset(("", "~", "null", "Null", "NULL"))
_BOOLEANS = {word: word[0] in "tT" for word in ("true", "True", "TRUE", "false", "False", "FALSE")}
_INTEGER = re.compile(r"[-+]?[0-9]{1,18}")
_FLOAT = re.compile(r"[-+]?(\.[0-9]{1,30}|[0-9]{1,30}(\.[0-9]{0,30})?)([eE][-+]?[0-9]{1,4})?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")


def scalar_value(node: Node) -> str | int | float | bool | None:
    """What a scalar is by the core schema of YAML 1.2 (10.3.2); dates and giant numbers stay text.

    >>> [scalar_value(Node(Kind.SCALAR, 0, 0, 1, text, plain=True)) for text in ("12", "1e3", "no", "~")]
    [12, 1000.0, 'no', None]
    """
    if not node.plain:
        return node.text
    text = node.text
    if text in _NULL:
        return None
    if text in _BOOLEANS:
        return _BOOLEANS[text]
    if text[0] in "+-.0123456789":
        if _INTEGER.fullmatch(text):
            return int(text)
        if _FLOAT.fullmatch(text):
            return float(text)
        if _NOT_FINITE.fullmatch(text):
            return float(text.replace(".", ""))
    return text
