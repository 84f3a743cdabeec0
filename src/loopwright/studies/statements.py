"""What a description says, statement by statement, as it was typed; and what it would say with some of them changed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from loopwright.book import difference
from loopwright.buildfile.editing import set_value
from loopwright.buildfile.yaml_text import parse
from loopwright.buildfile.yaml_tree import Kind, Node
from loopwright.errors import RequestError
from loopwright.model.records import Revision
from loopwright.studies.bench import Bench
from loopwright.studies.checking import load_text


@dataclass(frozen=True, slots=True)
class Statement:
    """One value of a description.

    Attributes:
        path: of its field, as in 'parts/column/dims/height'.
        typed: as it stands in the file; '' where the file says nothing of a field that it could say.
        line: where it stands, counted from 1; None where it does not.
    """

    path: str
    typed: str
    line: int | None


@dataclass(frozen=True)
class Proposal:
    """A description with values changed, before anybody saved it.

    Attributes:
        changes: new value, as typed, by field path.
        text, file: of the description with them.
        upon: number of the entry whose description was changed.
        difference: the lines that go and come, for people.
    """

    changes: Mapping[str, str]
    text: str
    file: str | None
    upon: int
    difference: str


def statements(bench: Bench) -> tuple[Statement, ...]:
    """Every single value that the newest description states, in the order of its file; short lists are one value.

    Args:
        bench: the build as it stands.
    """
    key = ("statements", described(bench)[0])
    if key not in bench.kept:
        text = described(bench)[1].text
        bench.kept[key] = tuple(_below(parse(text).root, text, ""))
    kept: tuple[Statement, ...] = bench.kept[key]
    return kept


def statements_at(bench: Bench, path: str) -> tuple[Statement, ...]:
    """What stands under a path: one value, or every value of what has several; 'part/dim' is short for a dim.

    Raises:
        RequestError: the description says nothing there, and could not.
    """
    part, _, dim = path.strip("/").partition("/")
    for full in (path.strip("/"), f"parts/{part}/dims/{dim}"):
        found = tuple(s for s in statements(bench) if s.path == full or s.path.startswith(f"{full}/"))
        if found:
            return found
    _, revision = described(bench)
    set_value(revision.text, path, "0", revision.file)  # says so where it leads nowhere
    return (Statement(path.strip("/"), "", None),)


def found_among(every: tuple[Statement, ...], words: str) -> tuple[Statement, ...]:
    """Statements whose path or value holds every one of some words, in the order of the file.

    >>> found_among((Statement("parts/column/dims/height", "240 ±0.02", 3),), "column height")[0].line
    3
    """
    wanted = words.casefold().split()
    return tuple(s for s in every if all(word in f"{s.path} {s.typed}".casefold() for word in wanted))


def proposal(bench: Bench, changes: Mapping[str, str]) -> Proposal:
    """The newest description with values changed, looked through as if it were to be saved.

    Args:
        bench: the build as it stands.
        changes: new value, as it would stand in the file, by field path.

    Raises:
        RequestError: a change leads nowhere, or nothing changes.
        BuildError: the changed description has mistakes; all of them are in it.
    """
    number, revision = described(bench)
    text = revision.text
    for path, value in changes.items():
        text = set_value(text, path, value, revision.file)
    if text == revision.text:
        raise RequestError("nothing is changed", "type another value than the one that stands there")
    load_text(text, revision.file)
    return Proposal(dict(changes), text, revision.file, number, difference(revision.text, text))


def described(bench: Bench) -> tuple[int, Revision]:
    """The newest description, and the number of the entry that holds it."""
    entry, revision = bench.having(Revision)[-1]
    return entry.number, revision


def _below(node: Node, text: str, path: str) -> Iterator[Statement]:
    if node.kind is Kind.MAPPING and not node.alias:
        for name, value in node.pairs():
            yield from _below(value, text, f"{path}/{name.text}".lstrip("/"))
    elif (
        node.kind is Kind.LIST and not node.alias and any(item.kind is not Kind.SCALAR for item in node.items)
    ):
        for number, item in enumerate(node.items):
            yield from _below(item, text, f"{path}/{number}".lstrip("/"))
    elif node.kind is not Kind.LIST or node.flow:
        yield Statement(path, " ".join(text[node.start : node.end].split()), node.line)
