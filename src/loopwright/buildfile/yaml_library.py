"""Any text to a tree of nodes by the YAML library's events, and what is wrong with it where it is not YAML."""

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

from loopwright.buildfile.yaml_tree import MOST_DEPTH, MOST_NODES, Kind, Node
from loopwright.errors import BuildError, Problem


def read_by_library(text: str) -> tuple[Node | None, list[Problem]]:
    """The tree of a text's only document, None where it is empty, and the tags that it carries.

    Raises:
        BuildError: as ``read_nodes``.
    """
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
