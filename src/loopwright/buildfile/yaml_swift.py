"""The usual part of YAML read in one sweep: blocks, brackets, text plain, quoted or folded by '>-', comments, aliases.

Every command waits for the build file to be read, and this takes an eighth of the library's time. Whatever is out of
the usual (a merge, a tag, an escape, a tab, anything that might be wrong) is left to the library, so that there is
one judge of what is YAML and one voice that tells what is not.
Checked in: tests/laws/test_yaml_swift_laws.py, node by node against the library.
"""

import re
from bisect import bisect_right

from loopwright.buildfile.yaml_tree import Kind, Node
from loopwright.errors import LoopwrightError

DEEPEST = 30
LONGEST_KEY = 200

_UNUSUAL = re.compile(r"[\x00-\t\x0b-\x1f\x7f-\x9f]|^(?:---|\.\.\.)", re.MULTILINE)
_UNUSUAL_SIGNS = "\u2028\u2029\ufeff\ufffe\uffff"
_BETWEEN = re.compile(r"(?: *(?:#[^\n]*)?\n)* *(?:#[^\n]*\Z)?")
"""Lines without anything, and the indentation of the next one."""
_REST = re.compile(r" *(?:(?<= )#[^\n]*)?(?:\n|\Z)")
"""What may stand behind a value in its line."""
_COLON = re.compile(r" *:(?=[ \n]|\Z)")
_BLANKS = re.compile(r" *")
_SPACE = re.compile(r"(?:[ \n]|(?<=[ \n])#[^\n]*)*")
"""Between the entries of brackets."""
_FIRST = r"""[^ \n\-?:,\[\]{}#&*!|>'"%@`]"""
_PLAIN = re.compile(rf"(?:{_FIRST}|-(?=[^ \n]))(?:[^\n:#]|:(?=[^ \n])|(?<=[^ ])#)*")
_PLAIN_IN_BRACKETS = re.compile(
    rf"(?:{_FIRST}|-(?=[^ \n:?,\[\]{{}}]))(?:[^\n:#?,\[\]{{}}]|(?<=[^ ])#)*",
)
_FOLDED = re.compile(r">-\n( +)[^ \n][^\n]*\n(?:\1[^ \n][^\n]*\n)*")
_ANCHOR = re.compile(r"&([A-Za-z][A-Za-z0-9_-]*)(?=[ \n])")
_ALIAS = re.compile(r"\*([A-Za-z][A-Za-z0-9_-]*)(?=[ \n,\]}]|\Z)")
_EMPTY_LINE = re.compile(r" *\n")
_QUOTED = re.compile(r"""'((?:[^'\n]|'')*)'|"([^"\\\n]*)\"""")


class _Unusual(LoopwrightError):
    """Something for the library."""


def read_swiftly(text: str) -> Node | None:
    r"""The tree of a text, as the library's events make it; None where the library has to look.

    >>> read_swiftly("name: drill\nbodies: {base: {}}").entry("name")[1].text
    'drill'
    >>> read_swiftly("name: !tag drill") is None
    True
    """
    if _UNUSUAL.search(text) or any(sign in text for sign in _UNUSUAL_SIGNS):
        return None
    try:
        text.encode()
        return _Sweep(text).document()
    except (_Unusual, UnicodeEncodeError):
        return None


class _Sweep:
    """Goes through a text once; ``at`` is where it stands, ``column`` the indentation of the line that comes."""

    def __init__(self, text: str) -> None:
        self.text, self.at, self.column = text, 0, 0
        self.ends = [found.start() for found in re.finditer("\n", text)]
        self.deep = 0
        self.anchors: dict[str, Node] = {}

    def document(self) -> Node:
        self._to_next_line()
        if self.column != 0:
            raise _Unusual
        root = self._mapping(0, self._text_node(_PLAIN))
        if self.column >= 0:
            raise _Unusual
        return root

    def _to_next_line(self) -> None:
        """From the beginning of a line to the next thing in the text; its column, or -1 at the end."""
        found = _BETWEEN.match(self.text, self.at)
        assert found is not None
        self.at = found.end()
        ended = self.at == len(self.text)
        self.column = -1 if ended else self.at - self.text.rfind("\n", 0, self.at) - 1

    def _end_line(self) -> None:
        found = _REST.match(self.text, self.at)
        if found is None:
            raise _Unusual
        self.at = found.end()
        self._to_next_line()

    def _node(self, kind: Kind, start: int, text: str = "", plain: bool = False) -> Node:
        line = bisect_right(self.ends, start - 1) + 1
        return Node(kind, start, self.at, line, text, plain)

    def _text_node(self, pattern: re.Pattern[str]) -> Node:
        """Plain or quoted text that begins here."""
        start = self.at
        found = pattern.match(self.text, start)
        if found is not None:
            text = found.group().rstrip(" ")
            self.at += len(text)
            return self._node(Kind.SCALAR, start, text, plain=True)
        found = _QUOTED.match(self.text, start)
        if found is None:
            raise _Unusual
        single, double = found.groups()
        self.at = found.end()
        return self._node(Kind.SCALAR, start, double if single is None else single.replace("''", "'"))

    def _anchor(self) -> tuple[int, str]:
        """Where a name for other places stands here, and the name; what it names comes next in the line, or below."""
        start = self.at
        found = _ANCHOR.match(self.text, start)
        if found is None:
            raise _Unusual
        self.at = found.end()
        return start, found.group(1)

    def _anchored(self, node: Node, start: int, name: str) -> Node:
        """A node that is whole, and begins with its name for other places."""
        node.start, node.anchor = start, name
        node.line = bisect_right(self.ends, start - 1) + 1
        self.anchors[name] = node
        return node

    def _alias(self) -> Node:
        """What stands here by another place's name for it."""
        start = self.at
        found = _ALIAS.match(self.text, start)
        named = None if found is None else self.anchors.get(found.group(1))
        if found is None or named is None or self.deep + named.height > DEEPEST:
            raise _Unusual
        self.at = found.end()
        out = self._node(named.kind, start, named.text, named.plain)
        out.alias, out.anchor, out.flow = True, found.group(1), True
        out.items, out.size, out.height = named.items, named.size, named.height
        return out

    def _mapping(self, indent: int, key: Node) -> Node:
        """A block mapping whose first key was read."""
        out = self._node(Kind.MAPPING, key.start)
        self._enter()
        while True:
            self._colon(key)
            _take(out, key)
            _take(out, self._value(indent))
            if self.column < indent:
                break
            if self.column > indent:
                raise _Unusual
            key = self._text_node(_PLAIN)
        return self._leave(out)

    def _colon(self, key: Node) -> None:
        found = _COLON.match(self.text, self.at)
        if found is None or self.at - key.start > LONGEST_KEY:
            raise _Unusual
        self.at = found.end()

    def _value(self, indent: int) -> Node:
        """What stands behind a colon, in its line or in a block below; ends at the next line that says anything."""
        after = self.at
        self.at = _BLANKS.match(self.text, after).end()  # type: ignore[union-attr]
        sign = self.text[self.at : self.at + 1]
        if sign == ">":
            return self._folded(indent)
        if sign == "&":
            start, name = self._anchor()
            return self._anchored(self._unnamed(indent), start, name)
        if sign not in ("", "\n", "#"):
            out = self._in_line(indent, sign)
            self._end_line()
            return out
        self.at = after
        self._end_line()
        if self.column <= indent:  # nothing is said
            raise _Unusual
        return self._block()

    def _unnamed(self, indent: int) -> Node:
        """What a name for other places stands before: none has two, and text in lines of its own has none."""
        blanks = _BLANKS.match(self.text, self.at)
        if blanks is None or self.text[blanks.end() : blanks.end() + 1] in ("&", "*", ">"):
            raise _Unusual
        return self._value(indent)

    def _in_line(self, indent: int, sign: str) -> Node:
        if sign in "[{":
            return self._brackets(indent)
        return self._alias() if sign == "*" else self._text_node(_PLAIN)

    def _folded(self, indent: int) -> Node:
        """Text over several lines, all of them as deep; ends at the next line that says anything."""
        found = _FOLDED.match(self.text, self.at)
        if found is None or len(found.group(1)) <= indent:
            raise _Unusual
        start, depth = self.at, len(found.group(1))
        lines = found.group().split("\n")[1:-1]
        self.at = found.end()
        while empty := _EMPTY_LINE.match(self.text, self.at):
            if len(empty.group()) > depth + 1:
                raise _Unusual
            self.at = empty.end()
        out = self._node(Kind.SCALAR, start, " ".join(line[depth:] for line in lines))
        if self.text.startswith(" " * depth, self.at):
            raise _Unusual
        self._to_next_line()
        return out

    def _block(self) -> Node:
        """A block that begins here, deeper than what holds it."""
        if self.text.startswith("- ", self.at):
            return self._list(self.column)
        return self._mapping(self.column, self._text_node(_PLAIN))

    def _list(self, indent: int) -> Node:
        out = self._node(Kind.LIST, self.at)
        self._enter()
        while self.column == indent and self.text.startswith("- ", self.at):
            dash = self.at
            self.at = _BLANKS.match(self.text, dash + 1).end()  # type: ignore[union-attr]
            _take(out, self._item(indent + self.at - dash, indent))
        if self.column >= indent:
            raise _Unusual
        return self._leave(out)

    def _item(self, column: int, indent: int) -> Node:
        """An entry of a list: a value, or a mapping whose first key stands behind the dash."""
        sign = self.text[self.at : self.at + 1]
        named = self._anchor() if sign == "&" else None
        if named is not None:
            self.at = _BLANKS.match(self.text, self.at).end()  # type: ignore[union-attr]
            sign = self.text[self.at : self.at + 1]
            if sign == "*":
                raise _Unusual
        out = self._in_line(indent, sign) if sign else self._text_node(_PLAIN)
        if named is not None:
            self._anchored(out, *named)
        if _COLON.match(self.text, self.at):
            if named is not None or sign in "[{*":
                raise _Unusual
            return self._mapping(column, out)
        self._end_line()
        return out

    def _brackets(self, indent: int) -> Node:
        """A list or mapping in brackets, which may go on in deeper lines."""
        start, mapping = self.at, self.text[self.at] == "{"
        out = self._node(Kind.MAPPING if mapping else Kind.LIST, start)
        out.flow = True
        self._enter()
        closing = "}" if mapping else "]"
        self.at += 1
        while self._next(indent) != closing:
            if mapping:
                key = self._text_node(_PLAIN_IN_BRACKETS)
                self._colon(key)
                _take(out, key)
            _take(out, self._in_brackets(indent))
            sign = self._next(indent)
            if sign == ",":
                self.at += 1
            elif sign != closing:
                raise _Unusual
        self.at += 1
        return self._leave(out)

    def _in_brackets(self, indent: int) -> Node:
        sign = self._next(indent)
        if sign == "*":
            return self._alias()
        if sign != "&":
            return self._brackets(indent) if sign in ("[", "{") else self._text_node(_PLAIN_IN_BRACKETS)
        start, name = self._anchor()
        if self._next(indent) in ("&", "*"):
            raise _Unusual
        return self._anchored(self._in_brackets(indent), start, name)

    def _next(self, indent: int) -> str:
        """The next sign within brackets."""
        found = _SPACE.match(self.text, self.at)
        assert found is not None
        if "\n" in found.group() and found.end() - self.text.rfind("\n", 0, found.end()) - 1 <= indent:
            raise _Unusual
        self.at = found.end()
        return self.text[self.at : self.at + 1]

    def _enter(self) -> None:
        self.deep += 1
        if self.deep > DEEPEST:
            raise _Unusual

    def _leave(self, out: Node) -> Node:
        self.deep -= 1
        out.end = self.at
        return out


def _take(parent: Node, node: Node) -> None:
    parent.items.append(node)
    parent.size += node.size
    parent.height = max(parent.height, node.height + 1)
