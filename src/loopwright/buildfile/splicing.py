"""Where things stand in the text of a build file, and what to cut out and put in so that all else stays."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.buildfile.yaml_layout import WIDTH, flow, lines_of, quoted_name
from loopwright.buildfile.yaml_tree import Kind, Node
from loopwright.errors import LoopwrightError


class CannotSplice(LoopwrightError):
    """The text is written in a way that cannot be changed piece by piece."""


@dataclass(frozen=True, order=True)
class Cut:
    """One change of a text: the characters from start to end give way to others."""

    start: int
    end: int
    written: str


def spliced(text: str, cuts: Sequence[Cut]) -> str:
    """A text with all cuts made; they must not overlap.

    Raises:
        CannotSplice: two of them do.

    >>> spliced("abcdef", [Cut(4, 5, "E"), Cut(0, 1, "A")])
    'AbcdEf'
    """
    out, at = [], 0
    for cut in sorted(set(cuts)):
        if cut.start < at:
            raise CannotSplice
        out += [text[at : cut.start], cut.written]
        at = cut.end
    return "".join([*out, text[at:]])


class Place:
    """A place of a build file in its text.

    Args:
        text: the whole text.
        root: its tree.
        keys: that lead to the place; all but the last must be there.

    Attributes:
        parent: what holds it.
        found: what names it and its value, or None where it is not there yet.
        aliased: how many of the keys lead to something that stands there by another place's anchor; None where none do.
    """

    def __init__(self, text: str, root: Node, keys: Sequence[str]) -> None:
        self.text, self.root, self.keys = text, root, tuple(keys)
        self.last = self.keys[-1]
        self.chain: list[tuple[Node, Node]] = [(root, root)]
        self.aliased: int | None = None
        node = root
        for depth, key in enumerate(self.keys[:-1], 1):
            entry = node.entry(key)
            if entry is None:
                raise CannotSplice
            self.chain.append(entry)
            node = entry[1]
            if node.alias and self.aliased is None:
                self.aliased = depth
        self.parent = node
        self.found = node.entry(self.last)

    @property
    def newline(self) -> str:
        """How lines of the text end."""
        return "\r\n" if "\r\n" in self.text else "\n"

    # changing

    def replaced(self, written: str) -> list[Cut]:
        """Another value, as it is written, or a value where there was none."""
        if self.found is None:
            return self.added(f"{quoted_name(self.last)}: {written}")
        name, value = self.found
        if value.anchor is not None and not value.alias:
            written = f"&{value.anchor} {written}"
        if value is name:  # an entry of a list
            return [Cut(value.start, self.end_of(value), written)]
        colon = self.text.index(":", name.end) + 1
        if value.kind is Kind.SCALAR and value.start == value.end:
            return [Cut(colon, colon, " " + written)]
        # a block below its name goes, the rest of the name's own line stays
        between = self.text[colon : value.start]
        own_line, below, _ = between.partition("\n")
        kept = own_line.rstrip() if below else ""
        start = colon if below else value.start
        return [Cut(start, self.end_of(value), (" " + written if below else written) + kept)]

    def added(self, line: str) -> list[Cut]:
        """One more entry of what holds the place, on one line as it stands in brackets, or below the last."""
        if self.parent.flow:
            return self._inside(self.parent, line)
        return [self._below(self.parent, [line])]

    def filled(self, value: Any) -> list[Cut]:
        """One more entry with that name, laid out as the others are: on one line, or on several below one another."""
        if self.parent.flow:
            return self._inside(self.parent, f"{quoted_name(self.last)}: {flow(value)}")
        deep = 2 * (len(self.keys) - 1)
        return [self._below(self.parent, [line[deep:] for line in lines_of({self.last: value}, deep)])]

    def appended(self, value: Any) -> list[Cut]:
        """One more entry at the end of the list at the place."""
        assert self.found is not None
        held = self.found[1]
        if held.flow:
            return self._inside(held, flow(value))
        return [self._below(held, lines_of([value], 0), self._dash_column(held.items[0]))]

    def removed(self) -> list[Cut]:
        """Without what stands there."""
        assert self.found is not None
        held = self.parent
        entries = list(held.pairs()) if held.kind is Kind.MAPPING else [(item, item) for item in held.items]
        number = next(i for i, entry in enumerate(entries) if entry[0] is self.found[0])
        if held.flow:
            return self._out_of_brackets(entries, number)
        return self._emptied() if len(entries) == 1 else self._out_of_block(entries, number)

    # brackets

    def _inside(self, held: Node, line: str) -> list[Cut]:
        """One more entry between brackets."""
        if not held.items:
            place = held.end - 1
            return [Cut(place, place, line)]
        place = self.end_of(held, inside=True)
        return [Cut(place, place, f", {line}")]

    def _out_of_brackets(self, entries: list[tuple[Node, Node]], number: int) -> list[Cut]:
        name, value = entries[number]
        if len(entries) == 1:
            return [Cut(name.start, self._end_of_entry(name, value), "")]
        if number + 1 < len(entries):
            return [Cut(name.start, entries[number + 1][0].start, "")]
        return [Cut(self._end_of_entry(*entries[number - 1]), self._end_of_entry(name, value), "")]

    # blocks

    def _below(self, held: Node, lines: list[str], column: int | None = None) -> Cut:
        """More lines below the last entry of a block."""
        indent = " " * (self._column(held.items[0].start) if column is None else column)
        written = "".join(f"{self.newline}{indent}{line}" if line else self.newline for line in lines)
        end = self.text.find("\n", self.end_of(held))
        if end < 0:
            return Cut(len(self.text), len(self.text), written)
        if self.text[end - 1] == "\r":
            end -= 1
        return Cut(end, end, written)

    def _out_of_block(self, entries: list[tuple[Node, Node]], number: int) -> list[Cut]:
        name, value = entries[number]
        start = self._line_start(name.start)
        before = self.text[start : name.start]
        if name is value:
            before = before.rstrip().removesuffix("-")
        if before.strip():  # it is the first behind the dash of a list
            if number + 1 == len(entries):
                raise CannotSplice
            after = entries[number + 1][0]
            if self.text[self._end_of_entry(name, value) : after.start].strip():
                raise CannotSplice
            return [Cut(name.start, after.start, "")]
        end = self._line_end(self._end_of_entry(name, value))
        if end == len(self.text) and not self.text.endswith("\n"):
            start = max(start - len(self.newline), 0)
        return [Cut(start, end, "")]

    def _emptied(self) -> list[Cut]:
        """The only entry of a block goes: brackets with nothing in them stay."""
        assert self.found is not None
        held, brackets = self.parent, "{}" if self.parent.kind is Kind.MAPPING else "[]"
        if len(self.chain) == 1:
            raise CannotSplice
        name, value = self.found
        above, _ = self.chain[-1]
        if above is held:  # an entry of a list
            return [Cut(held.start, self.end_of(held), brackets)]
        colon = self.text.index(":", above.end) + 1
        anchor = 0 if held.anchor is None else len(held.anchor) + 2
        colon += anchor and self.text.index("&", colon) - colon + anchor - 1
        start, end = self._line_start(name.start), self._line_end(self._end_of_entry(name, value))
        if start <= colon:
            raise CannotSplice
        if end == len(self.text) and not self.text.endswith("\n"):
            start = start - len(self.newline)
        return [Cut(colon, colon, " " + brackets), Cut(start, end, "")]

    # places in the text

    def end_of(self, node: Node, *, inside: bool = False) -> int:
        """Where a node's last character is; a block ends with its last entry, not with the comments after.

        Args:
            node: it.
            inside: of brackets the end of their last entry is meant, not their own.
        """
        if node.alias or node.kind is Kind.SCALAR:
            return node.start + len(self.text[node.start : node.end].rstrip())
        if node.flow and not inside:
            return node.end
        if not node.items:
            return node.end
        last = node.items[-1]
        if node.kind is Kind.MAPPING and last.start == last.end:
            return self.text.index(":", node.items[-2].end) + 1
        return self.end_of(last)

    def _end_of_entry(self, name: Node, value: Node) -> int:
        if name is not value and value.kind is Kind.SCALAR and value.start == value.end:
            colon = self.text.find(":", name.end)
            return self.end_of(name) if colon < 0 or self.text[name.end : colon].strip() else colon + 1
        return self.end_of(value)

    def _line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _line_end(self, at: int) -> int:
        """Behind the line end that follows."""
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end + 1

    def _column(self, at: int) -> int:
        return at - self._line_start(at)

    def _dash_column(self, item: Node) -> int:
        """Column of the dash before an entry of a list."""
        start = self._line_start(item.start)
        dash = self.text.rfind("-", start, item.start)
        if dash < 0:
            raise CannotSplice
        return dash - start


def anchors_in(node: Node) -> Iterator[Node]:
    """Nodes of a tree that carry an anchor, those behind aliases left out."""
    if node.alias:
        return
    if node.anchor is not None:
        yield node
    for item in node.items:
        yield from anchors_in(item)


def aliases_of(root: Node, anchor: Node) -> list[Node]:
    """Nodes that stand somewhere by an anchor, in the order of the text."""
    found: list[Node] = []
    begun = False

    def look(node: Node) -> None:
        nonlocal begun
        if node is anchor:
            begun = True
        elif node.anchor == anchor.anchor and node.alias and begun:
            found.append(node)
        elif node.anchor == anchor.anchor and begun:
            begun = False  # the name means something else from here on
        if not node.alias:
            for item in node.items:
                look(item)

    look(root)
    return found


def handed_on(text: str, root: Node, anchor: Node, data: Any, *, keep: bool) -> list[Cut]:
    """An anchor goes to the first place that repeats it, so that its node can change alone.

    Args:
        text: the whole text.
        root: its tree.
        anchor: the node that carries it.
        data: plain data of that node.
        keep: the node stays, so the sign of the anchor goes from it.

    Raises:
        CannotSplice: something repeats the node within itself.
    """
    repeats = aliases_of(root, anchor)
    if not repeats:
        return []
    first = repeats[0]
    if anchor.start <= first.start < anchor.end:
        raise CannotSplice
    end = first.start + len(text[first.start : first.end].rstrip())
    cuts = [Cut(first.start, end, f"&{anchor.anchor} {own_copy(text, first.start, data)}")]
    if keep:
        sign = re.compile(r"&\S+[ ]*").match(text, anchor.start)
        if sign is None:
            raise CannotSplice
        alone = text[sign.end() : sign.end() + 1] in ("\r", "\n") and text[anchor.start - 1] == " "
        cuts.append(Cut(anchor.start - alone, sign.end(), ""))
    return cuts


def own_copy(text: str, at: int, data: Any) -> str:
    """What stood at a place by another's anchor, written out: on one line, or a long list with a line for each entry.

    Args:
        text: the whole text.
        at: the place in it.
        data: plain data of what stands there.

    >>> own_copy("route: *r", 7, [{"op": "saw"}, {"op": "face"}])
    '[{op: saw}, {op: face}]'
    """
    written = flow(data)
    if len(written) <= WIDTH or not isinstance(data, list):
        return written
    line = text[text.rfind("\n", 0, at) + 1 : at]
    indent = " " * (len(line) - len(line.lstrip(" ")) + 4)
    newline = "\r\n" if "\r\n" in text else "\n"
    return f"[{newline}" + f",{newline}".join(indent + flow(one) for one in data) + "]"
