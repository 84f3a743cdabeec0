"""Text of a build file to plain data and the places it came from."""

from dataclasses import dataclass, replace
from typing import Any

from loopwright.buildfile.yaml_nodes import read_nodes, scalar_value
from loopwright.buildfile.yaml_tree import MOST_BYTES, Kind, Node
from loopwright.errors import BuildError, Problem

Place = tuple[Any, ...]
"""Keys and list positions that lead to a value."""


@dataclass(frozen=True)
class Document:
    """A parsed file.

    Attributes:
        root: its tree of nodes.
        data: its plain data: dict, list, str, int, float, bool and None.
        file: its name, for messages.
        problems: mistakes that did not keep the rest from being read, such as a key that stands twice.
    """

    root: Node
    data: dict[str, Any]
    file: str | None
    problems: tuple[Problem, ...] = ()

    def has(self, loc: Place) -> bool:
        """Whether there is something at a place."""
        node = self.root
        for key in loc:
            found = node.entry(key)
            if found is None:
                return False
            node = found[1]
        return True

    def line(self, loc: Place) -> int | None:
        """Line, counted from 1, of the deepest part of a place that the file has, or None."""
        node, line = self.root, None
        for key in loc:
            found = node.entry(key)
            if found is None:
                break
            name, node = found
            line = name.line
        return line


def decode(raw: bytes, file: str | None, size: int | None = None) -> str:
    """The text of a file's bytes.

    Args:
        raw: the bytes, or the first ``MOST_BYTES + 1`` of them.
        file: its name, for messages.
        size: how many there are, where more are known to be than were read.

    Raises:
        BuildError: it is too large, or not UTF-8.
    """
    if len(raw) > MOST_BYTES:
        what = f"is {max(size or 0, len(raw)) / 1e6:.3g} MB long"
        remedy = f"a build file has {MOST_BYTES / 1e6:.0f} MB at most; check that it is the right file"
        raise BuildError([Problem("", what, remedy, file)])
    remedy = "save the file as UTF-8 (in most editors: Save as, encoding)"
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise BuildError([Problem("", "is UTF-16 text, and UTF-8 is wanted", remedy, file, 1)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        what = f"byte {error.start + 1} (hex {raw[error.start]:02X}) is not UTF-8 text"
        raise BuildError([Problem("", what, remedy, file, line)]) from None


def parse(text: str, file: str | None = None) -> Document:
    """Parses the text of a build file without trusting it.

    Args:
        text: YAML 1.2.
        file: its name, for messages.

    Raises:
        BuildError: it is not YAML, not a mapping, expands too far, or nests too deeply.
    """
    try:
        root, tags = read_nodes(text)
    except BuildError as error:
        raise BuildError(replace(p, file=file) for p in error.problems) from None
    if root is None or (root.kind is Kind.SCALAR and scalar_value(root) is None):
        remedy = "start from an example: loopwright new my-build.yaml"
        raise BuildError([Problem("", "the file is empty", remedy, file)])
    if root.kind is not Kind.MAPPING:
        what = f"is a {'list' if root.kind is Kind.LIST else 'single text'}, not a build"
        raise BuildError([Problem("", what, "begin with 'format: loopwright-build/1'", file, root.line)])
    reading = _Plain(text, file)
    data = reading.convert(root, ())
    problems = (*(replace(p, file=file) for p in tags), *reading.problems)
    return Document(root, data, file, problems)


def parse_value(text: str) -> Any:
    """Plain data of one value as it would stand in a file.

    Raises:
        BuildError: it is not one YAML value.
    """
    root, problems = read_nodes(text)
    reading = _Plain(text, None)
    data = None if root is None else reading.convert(root, ())
    if problems or reading.problems:
        raise BuildError([*problems, *reading.problems])
    return data


def plain_data(text: str, node: Node) -> Any:
    """Plain data of one node of a text, as it stands in the whole."""
    return _Plain(text, None).convert(node, ())


class _Plain:
    """Copies nodes to plain data, and notes what is wrong with the keys of mappings."""

    def __init__(self, text: str, file: str | None) -> None:
        self.text, self.file = text, file
        self.problems: list[Problem] = []

    def convert(self, node: Node, path: Place) -> Any:
        if node.kind is Kind.SCALAR:
            return scalar_value(node)
        if node.kind is Kind.LIST:
            return [self.convert(item, (*path, i)) for i, item in enumerate(node.items)]
        return self._mapping(node, path)

    def _mapping(self, node: Node, path: Place) -> dict[str, Any]:
        out: dict[str, Any] = {}
        lines: dict[str, int] = {}
        merged: list[Node] = []
        before: tuple[str, Node] | None = None
        for name, value in node.pairs():
            if name.kind is not Kind.SCALAR:
                self._note(
                    path, "a list or mapping stands where a name should", "name it in plain text", name.line
                )
                continue
            if name.plain and name.text == "<<":
                merged.append(value)
                continue
            if before is not None and self._is_decimal_comma(before[1], name, value):
                out[before[0]] = self._pointed((*path, before[0]), before[1], name)
                continue
            key = name.text  # a name is text, also where it looks like a number
            if key in lines:
                remedy = f"keep one of them; the other is in line {lines[key]}"
                self._note((*path, key), f"'{_short(key)}' stands twice", remedy, name.line)
                continue
            lines[key], before = name.line, (key, value)
            out[key] = self.convert(value, (*path, key))
        for value in merged:
            self._merge(out, value, path)
        return out

    def _merge(self, out: dict[Any, Any], value: Node, path: Place) -> None:
        """'<<': entries of another mapping, where there are none of that name yet."""
        for source in value.items if value.kind is Kind.LIST else [value]:
            if source.kind is not Kind.MAPPING:
                self._note(
                    path, "'<<' takes over a mapping, and this is none", "write <<: *name", source.line
                )
                continue
            for key, item in self.convert(source, path).items():
                out.setdefault(key, item)

    def _is_decimal_comma(self, before: Node, name: Node, value: Node) -> bool:
        """{height: 240,5}: to YAML the comma ends the entry, and '5' is one more name."""
        return (
            value.kind is Kind.SCALAR
            and value.start == value.end == name.end
            and name.plain
            and name.text[:1].isdigit()
            and before.kind is Kind.SCALAR
            and before.plain
            and before.text[-1:].isdigit()
            and self.text[before.end : name.start] == ","
        )

    def _pointed(self, path: Place, before: Node, name: Node) -> str:
        text = f"{before.text}.{name.text}"
        self._note(path, f"'{_short(f'{before.text},{name.text}')}': the decimal mark here is a point",
                   f"write {_short(text)}", before.line)  # fmt: skip
        return text

    def _note(self, path: Place, what: str, remedy: str, line: int) -> None:
        self.problems.append(
            Problem("/".join(_short(key) for key in path[:8]), what, remedy, self.file, line)
        )


def _short(value: Any) -> str:
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "…"
