"""Two texts of a build file: what changed between them, entry by entry; and two people's changes put together."""

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from loopwright.buildfile.yaml_layout import flow

Keys = tuple[str, ...]

MOST_SHOWN = 400
"""Letters of a value that are shown."""


@dataclass(frozen=True)
class FieldChange:
    """One field or entry that came, went or changed.

    Attributes:
        path: of it.
        before, after: as they would stand in the file; None where it was not, or is no longer, there.
        renamed: it is the same under another name; before and after are the names.
    """

    path: str
    before: str | None
    after: str | None
    renamed: bool = False


def compare(before: Any, after: Any) -> tuple[FieldChange, ...]:
    """What changed from one file's data to another's, in the order of the file.

    Args:
        before: plain data.
        after: plain data.

    >>> [(c.path, c.before, c.after) for c in compare({"a": {"b": "12 ±0.01"}}, {"a": {"b": "12 ±0.02"}, "c": 1})]
    [('a/b', '12 ±0.01', '12 ±0.02'), ('c', None, '1')]
    """
    return tuple(_changes(before, after, ()))


def _changes(before: Any, after: Any, keys: Keys) -> Iterator[FieldChange]:
    if isinstance(before, dict) and isinstance(after, dict):
        names = _new_names(before, after)
        for key in (*before, *(key for key in after if key not in before)):
            if key in names:
                yield FieldChange(_path(keys, key), str(key), names[key], renamed=True)
            elif key in names.values():
                continue
            elif key not in after:
                yield FieldChange(_path(keys, key), _shown(before[key]), None)
            elif key not in before:
                yield FieldChange(_path(keys, key), None, _shown(after[key]))
            else:
                yield from _changes(before[key], after[key], (*keys, str(key)))
    elif isinstance(before, list) and isinstance(after, list):
        yield from _in_lists(before, after, keys)
    elif type(before) is not type(after) or before != after:
        yield FieldChange("/".join(keys), _shown(before), _shown(after))


def _new_names(before: dict[str, Any], after: dict[str, Any]) -> dict[str, str]:
    """Entries that are the same under another name: old name and new."""
    gone = [key for key in before if key not in after]
    come = [key for key in after if key not in before]
    out: dict[str, str] = {}
    for key in gone:
        if not isinstance(before[key], dict) and len(gone) > 1:
            continue  # several single values that are alike are not told apart
        same = next((c for c in come if after[c] == before[key] and c not in out.values()), None)
        if same is not None:
            out[key] = same
    return out


def _in_lists(before: list[Any], after: list[Any], keys: Keys) -> Iterator[FieldChange]:
    """Entries that came and went; one in place of another is compared with it."""
    if len(before) == len(after):
        for number, (old, new) in enumerate(zip(before, after)):
            yield from _changes(old, new, (*keys, str(number)))
        return
    matcher = SequenceMatcher(None, list(map(flow, before)), list(map(flow, after)), autojunk=False)
    for tag, i1, i2, j1, j2 in matcher.get_opcodes():
        if tag == "equal":
            continue
        pairs = min(i2 - i1, j2 - j1)
        for number in range(pairs):
            yield from _changes(before[i1 + number], after[j1 + number], (*keys, str(j1 + number)))
        for number in range(i1 + pairs, i2):
            yield FieldChange(_path(keys, number), _shown(before[number]), None)
        for number in range(j1 + pairs, j2):
            yield FieldChange(_path(keys, number), None, _shown(after[number]))


def _path(keys: Keys, key: object) -> str:
    return "/".join((*keys, str(key)))


def _shown(value: Any) -> str:
    text = value if isinstance(value, str) else flow(value)
    return text if len(text) <= MOST_SHOWN else text[: MOST_SHOWN - 1] + "…"


@dataclass(frozen=True)
class Clash:
    """Lines that two people changed differently.

    Attributes:
        line: of the text they both began with, counted from 1.
        base: the lines that were.
        mine, theirs: what each made of them.
    """

    line: int
    base: tuple[str, ...]
    mine: tuple[str, ...]
    theirs: tuple[str, ...]


@dataclass(frozen=True)
class Merged:
    """Two people's changes in one text.

    Attributes:
        text: with both; where they clash, with mine.
        clashes: where they do.
    """

    text: str
    clashes: tuple[Clash, ...]


def merge(base: str, mine: str, theirs: str) -> Merged:
    r"""Puts together what two people made of the same text.

    Args:
        base: what both began with.
        mine: what one made of it.
        theirs: what the other made of it.

    >>> merge("a: 1\nb: 2\nc: 3\n", "a: 9\nb: 2\nc: 3\n", "a: 1\nb: 2\nc: 4\n").text
    'a: 9\nb: 2\nc: 4\n'
    """
    old = base.split("\n")
    ours, others = _hunks(old, mine.split("\n")), _hunks(old, theirs.split("\n"))
    out: list[str] = []
    clashes: list[Clash] = []
    at = 0
    while ours or others:
        start = min(hunks[0][0] for hunks in (ours, others) if hunks)
        out += old[at:start]
        end = start
        taken: tuple[list[_Hunk], list[_Hunk]] = ([], [])
        # all that overlaps or touches goes together
        while True:
            grown = False
            for hunks, into in ((ours, taken[0]), (others, taken[1])):
                while hunks and (hunks[0][0] < end or hunks[0][0] == start):
                    end = max(end, hunks[0][1])
                    into.append(hunks.pop(0))
                    grown = True
            if not grown:
                break
        first, second = (_made(old, start, end, hunks) for hunks in taken)
        if taken[0] and taken[1] and first != second:
            clashes.append(Clash(start + 1, tuple(old[start:end]), tuple(first), tuple(second)))
        out += first if taken[0] else second
        at = end
    return Merged("\n".join([*out, *old[at:]]), tuple(clashes))


_Hunk = tuple[int, int, list[str]]


def _hunks(old: list[str], new: list[str]) -> list[_Hunk]:
    matcher = SequenceMatcher(None, old, new, autojunk=len(old) > 5000)
    return [(i1, i2, new[j1:j2]) for tag, i1, i2, j1, j2 in matcher.get_opcodes() if tag != "equal"]


def _made(old: list[str], start: int, end: int, hunks: list[_Hunk]) -> list[str]:
    """What hunks make of the lines from start to end."""
    out: list[str] = []
    at = start
    for first, last, lines in hunks:
        out += [*old[at:first], *lines]
        at = last
    return [*out, *old[at:end]]
