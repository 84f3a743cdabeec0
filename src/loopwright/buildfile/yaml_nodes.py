"""Text of a file to a tree of nodes that know where they stand, guarded: a foreign file may be anything."""

import re

from loopwright.buildfile.yaml_swift import read_swiftly
from loopwright.buildfile.yaml_tree import MOST_NODES, Node
from loopwright.errors import BuildError, Problem

MOST_IN_LINE = 50_000


def read_nodes(text: str) -> tuple[Node | None, list[Problem]]:
    """The tree of a text's only document, None where it is empty, and the tags that it carries.

    Nothing is constructed from it, aliases are not written out, and the work is bounded.

    Raises:
        BuildError: it is not YAML, has several documents, expands too far, or nests too deeply.
    """
    _check_lines(text)
    swift = read_swiftly(text)
    if swift is not None and swift.size <= MOST_NODES:
        return swift, []
    from loopwright.buildfile.yaml_library import read_by_library  # slow to load, and seldom needed

    return read_by_library(text)


def _check_lines(text: str) -> None:
    if len(text) <= MOST_IN_LINE:
        return
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > MOST_IN_LINE:
            what = f"a line of {len(line)} characters is too long to be read"
            raise BuildError([Problem("", what, f"break it; {MOST_IN_LINE} do at most", line=number)])


_NULL = frozenset(("", "~", "null", "Null", "NULL"))
_BOOLEANS = {word: word[0] in "tT" for word in ("true", "True", "TRUE", "false", "False", "FALSE")}
_INTEGER = re.compile(r"[-+]?[0-9]{1,18}")
_FLOAT = re.compile(r"[-+]?(\.[0-9]{1,30}|[0-9]{1,30}(\.[0-9]{0,30})?)([eE][-+]?[0-9]{1,4})?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")


def scalar_value(node: Node) -> str | int | float | bool | None:
    """What a scalar is by the core schema of YAML 1.2 (10.3.2); dates and giant numbers stay text.

    >>> from loopwright.buildfile.yaml_tree import Kind
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
