"""Two routes of a part beside one another, op by op: what came, went, moved, and changed in a field."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loopwright.buildfile.editing import parsed, value_at
from loopwright.making.planned import number_of
from loopwright.studies.route_editing import typed_of


@dataclass(frozen=True)
class OpChange:
    """What happened to one op.

    Attributes:
        before, after: its number; None where it is not there.
        op: its name now, or as it was where it went.
        moved: it stands at another place among the ops that stayed.
        fields: name of each field that changed, as it was and as it becomes, as typed; a cut's fields with its surface.
    """

    before: int | None
    after: int | None
    op: str
    moved: bool
    fields: tuple[tuple[str, str, str], ...]


def route_difference(before: str, after: str, part: str) -> tuple[OpChange, ...]:
    """What changed of a route.

    An op is the same if nothing of it changed, else the next of its name of which most stayed.

    Args:
        before: the description as it was.
        after: as it is now.
        part: name of the part.

    Raises:
        BuildError: a text cannot be parsed.

    >>> text = "parts: {a: {route: [{op: saw}, {op: turn}]}}"
    >>> [one.op for one in route_difference(text, text.replace("turn", "turn, tool: bar"), "a")]
    ['turn']
    """
    old, new = (_ops(text, part) for text in (before, after))
    pairs = _matched(old, new)
    stays = _in_order([pairs[n] for n in sorted(pairs)])
    found = [_change(old, new, n, pairs.get(n), stays) for n in range(len(new))]
    gone = [
        OpChange(number_of(n), None, _name(one), False, ())
        for n, one in enumerate(old)
        if n not in pairs.values()
    ]
    return (*gone, *(one for one in found if one.before is None or one.moved or one.fields))


def _ops(text: str, part: str) -> list[Any]:
    found = value_at(parsed(text).data, ["parts", part, "route"])
    return found if isinstance(found, list) else []


def _matched(old: Sequence[Any], new: Sequence[Any]) -> dict[int, int]:
    """Place among the old by place among the new."""
    pairs: dict[int, int] = {}
    for n, one in enumerate(new):
        same = next((m for m, other in enumerate(old) if m not in pairs.values() and other == one), None)
        if same is not None:
            pairs[n] = same
    for n, one in enumerate(new):
        left = [m for m in range(len(old)) if m not in pairs.values()]
        if n not in pairs and (like := [m for m in left if _name(old[m]) == _name(one)]):
            pairs[n] = max(like, key=lambda m: (_alike(old[m], one), -abs(m - n)))
    return pairs


def _alike(one: Any, other: Any) -> int:
    """How many fields two ops have in common."""
    mine, theirs = dict(_fields(one)), dict(_fields(other))
    return sum(theirs.get(name) == value for name, value in mine.items())


def _in_order(places: Sequence[int]) -> frozenset[int]:
    """The most places that stand in their old order; the others have moved."""
    ends: list[int] = []
    before: dict[int, int | None] = {}
    for place in places:
        at = bisect_left(ends, place)
        before[place] = ends[at - 1] if at else None
        ends[at : at + 1] = [place]
    kept, last = set(), ends[-1] if ends else None
    while last is not None:
        kept.add(last)
        last = before[last]
    return frozenset(kept)


def _change(
    old: Sequence[Any], new: Sequence[Any], n: int, was: int | None, stays: frozenset[int]
) -> OpChange:
    if was is None:
        return OpChange(None, number_of(n), _name(new[n]), False, ())
    fields = tuple(_differing(dict(_fields(old[was])), dict(_fields(new[n]))))
    return OpChange(number_of(was), number_of(n), _name(new[n]), was not in stays, fields)


def _differing(was: Mapping[str, str], now: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    for name in dict.fromkeys((*was, *now)):
        if was.get(name) != now.get(name):
            yield name, was.get(name, ""), now.get(name, "")


def _fields(op: Any) -> Iterator[tuple[str, str]]:
    """Fields of an op and of its cuts, as typed; a cut that says nothing more is there by its name."""
    for name, value in op.items() if isinstance(op, dict) else ():
        if name != "cuts" or not isinstance(value, dict):
            yield str(name).replace("_", " "), typed_of(value)
            continue
        for surface, cut in value.items():
            inside = cut if isinstance(cut, dict) else {}
            yield f"cuts {surface}", "yes"
            for field, typed in inside.items():
                yield f"{surface}: {str(field).replace('_', ' ')}", typed_of(typed)


def _name(op: Any) -> str:
    name = op.get("op") if isinstance(op, dict) else None
    return name if isinstance(name, str) else "op"
