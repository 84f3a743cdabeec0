"""A route that is being changed: its ops as they are typed, what is wrong, and what the changes do to the part."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from loopwright.buildfile.editing import parsed, value_at
from loopwright.buildfile.reading import Examined, examine_document
from loopwright.errors import LoopwrightError, Problem, RequestError
from loopwright.handbook.operations import OPERATIONS
from loopwright.making.planned import number_of
from loopwright.model.build import Build
from loopwright.studies.chart_sheet import Chained, ChartSheet, chart_sheet
from loopwright.studies.route_editing import op_path, typed_of
from loopwright.studies.route_sheet import OpLine, RouteSheet, route_sheet

_LEAST, _CHANCE = 2e-4, 5e-4
"""A change of a size by less than this, mm, is not told, nor of a chance by less than that."""
_OF_OP = re.compile(r" \(op \d+\)$")


@dataclass(frozen=True)
class CutDraft:
    """A cut as it is typed: its surface, its path, its fields, and what is wrong with it."""

    surface: str
    path: str
    fields: Mapping[str, str]
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class OpDraft:
    """An op as it is typed.

    Attributes:
        path: of it in the build file.
        number: 10, 20, 30 …
        op: its name.
        fields: what stands in it, by field, as typed.
        cuts: what it cuts.
        uncut: surfaces of the part that it does not cut.
        alternatives: names of other ways that the shop would accept.
        problems: what is wrong with it, its cuts left out.
        found: what the route comes to; None while it has mistakes.
    """

    path: str
    number: int
    op: str
    fields: Mapping[str, str]
    cuts: tuple[CutDraft, ...]
    uncut: tuple[str, ...]
    alternatives: tuple[str, ...]
    problems: tuple[Problem, ...]
    found: OpLine | None

    @property
    def mistakes(self) -> int:
        """Of the op and its cuts."""
        return len(self.problems) + sum(len(cut.problems) for cut in self.cuts)


@dataclass(frozen=True)
class RouteDraft:
    """The route of a part as a changed description has it.

    Attributes:
        part: its name.
        bought: it is bought, so it has no route.
        ops: in order.
        surfaces: of the part, as typed.
        faces: where each faces.
        dims: of the part, and between which surfaces each is measured, as typed; '' where that is not said.
        machines, tools, gauges, setups, sets: names that a field can take.
        able: machines by op that can do it.
        unit: of lengths that are typed without one.
        problems: mistakes of the part that no op has.
        elsewhere: how many mistakes the description has elsewhere.
        sheet: what the route comes to; None while the part has mistakes, or no route.
    """

    part: str
    bought: bool
    ops: tuple[OpDraft, ...]
    surfaces: Mapping[str, str]
    faces: Mapping[str, str]
    dims: Mapping[str, str]
    machines: tuple[str, ...]
    tools: tuple[str, ...]
    gauges: tuple[str, ...]
    setups: tuple[str, ...]
    sets: tuple[str, ...]
    able: Mapping[str, tuple[str, ...]]
    unit: str
    problems: tuple[Problem, ...]
    elsewhere: int
    sheet: RouteSheet | None

    @property
    def mistakes(self) -> int:
        """Of the whole description."""
        return len(self.problems) + sum(op.mistakes for op in self.ops) + self.elsewhere


@lru_cache(maxsize=4)
def _examined(text: str) -> Examined:
    return examine_document(parsed(text))


def route_draft(text: str, part: str) -> RouteDraft:
    """The route of a part as a changed description has it.

    Args:
        text: the description.
        part: name of the part.

    Raises:
        BuildError: the text cannot be parsed.
        RequestError: it has no such part.
    """
    return _drafted(text, part)


@lru_cache(maxsize=4)
def _drafted(text: str, name: str) -> RouteDraft:
    data, found = parsed(text).data, _examined(text)
    held = value_at(data, ["parts", name])
    if not isinstance(held, dict):
        raise RequestError(
            f"there is no part '{name}' in the description", "choose another from the list of parts"
        )
    mine = [p for p in found.problems if p.field == f"parts/{name}" or p.field.startswith(f"parts/{name}/")]
    sheet = None
    if not mine and found.build is not None and name in found.build.parts and found.build.parts[name].route:
        sheet = _sheet(found.build, name)
    surfaces = {str(key): typed_of(value) for key, value in _mapping(held, "surfaces").items()}
    ops = tuple(_op(name, n, one, tuple(surfaces), mine, sheet) for n, one in enumerate(_list(held, "route")))
    told = {id(p) for op in ops for p in (*op.problems, *(p for cut in op.cuts for p in cut.problems))}
    spans = _mapping(held, "spans")
    build = found.build
    return RouteDraft(
        part=name,
        bought=bool(held.get("bought")),
        ops=ops,
        surfaces=surfaces,
        faces={str(key): _facing(value) for key, value in _mapping(held, "surfaces").items()},
        dims={str(dim): typed_of(spans.get(dim)) for dim in _mapping(held, "dims")},
        machines=tuple(map(str, _mapping(_mapping(data, "shop"), "machines"))),
        tools=tuple(map(str, _mapping(_mapping(data, "shop"), "tools"))),
        gauges=tuple(map(str, _mapping(data, "gauges"))),
        setups=tuple(dict.fromkeys(op.fields["setup"] for op in ops if op.fields.get("setup"))),
        sets=tuple(_sets(data)),
        able={} if build is None else {op.name: _able(build, op.machines) for op in OPERATIONS.values()},
        unit="mm" if build is None else build.units.length,
        problems=tuple(p for p in mine if id(p) not in told),
        elsewhere=len(found.problems) - len(mine),
        sheet=sheet,
    )


def _facing(held: Any) -> str:
    return typed_of(held.get("faces") if isinstance(held, dict) else held)


def _sheet(build: Build, name: str) -> RouteSheet | None:
    """What the route comes to; None where a mistake elsewhere keeps it from being worked out."""
    try:
        return route_sheet(build, name)
    except LoopwrightError:
        return None


def _able(build: Build, kinds: Sequence[str]) -> tuple[str, ...]:
    return tuple(name for name, one in build.shop.machines.items() if one.kind in kinds)


def _sets(data: Any) -> Iterator[str]:
    """Names of matched sets that routes of the description have."""
    found = (
        op.get("together")
        for part in _mapping(data, "parts").values()
        for op in _list(part, "route")
        if isinstance(op, dict)
    )
    yield from dict.fromkeys(one for one in found if isinstance(one, str))


def _op(
    part: str,
    index: int,
    held: Any,
    surfaces: Sequence[str],
    mine: Sequence[Problem],
    sheet: RouteSheet | None,
) -> OpDraft:
    path, fields = op_path(part, index), held if isinstance(held, dict) else {}
    cuts = tuple(_cut(path, str(name), one, mine) for name, one in _mapping(fields, "cuts").items())
    in_cuts = {id(p) for cut in cuts for p in cut.problems}
    named = fields.get("op")
    return OpDraft(
        path=path,
        number=number_of(index),
        op=named if isinstance(named, str) else "",
        fields={str(k): typed_of(v) for k, v in fields.items() if k not in ("op", "cuts", "alternatives")},
        cuts=cuts,
        uncut=tuple(one for one in surfaces if one not in {cut.surface for cut in cuts}),
        alternatives=tuple(map(str, _mapping(fields, "alternatives"))),
        problems=tuple(p for p in _below(path, mine) if id(p) not in in_cuts),
        found=None if sheet is None or index >= len(sheet.ops) else sheet.ops[index],
    )


def _cut(path: str, surface: str, held: Any, mine: Sequence[Problem]) -> CutDraft:
    place = f"{path}/cuts/{surface}"
    fields = {str(k): typed_of(v) for k, v in held.items()} if isinstance(held, dict) else {}
    return CutDraft(surface, place, fields, tuple(_below(place, mine)))


def _below(path: str, problems: Sequence[Problem]) -> Iterator[Problem]:
    for problem in problems:
        if problem.field == path or problem.field.startswith(path + "/"):
            yield problem


def _mapping(held: Any, name: str) -> Mapping[str, Any]:
    found = held.get(name) if isinstance(held, Mapping) else None
    return found if isinstance(found, dict) else {}


def _list(held: Any, name: str) -> list[Any]:
    found = held.get(name) if isinstance(held, Mapping) else None
    return found if isinstance(found, list) else []


@dataclass(frozen=True)
class Moved:
    """A dim of the drawing or a stock removal, before and after; None where it is not there, or not worked out.

    Attributes:
        name: of the dim, or the surface and op that removes the stock.
        stock: it is a stock removal.
        direction: of its chart: X, Y, Z or 'round'.
        before, after: what it comes to.
    """

    name: str
    stock: bool
    direction: str
    before: Chained | None
    after: Chained | None

    @property
    def worse(self) -> bool:
        """It held, and no longer does."""
        return self.after is not None and not self.after.holds and (self.before is None or self.before.holds)


@dataclass(frozen=True)
class RouteEffect:
    """What changes of a route do to the part.

    Attributes:
        moved: dims of the drawing and stock removals that change; those that no longer hold first.
        same: how many stay as they are.
        attended, unattended: minutes that the route states, before and after.
        problems: what keeps the changed route from being charted.
        holds: every chart holds, before and after.
    """

    moved: tuple[Moved, ...]
    same: int
    attended: tuple[float, float]
    unattended: tuple[float, float]
    problems: tuple[Problem, ...]
    holds: tuple[bool, bool]


def route_effect(before: str, after: str, part: str) -> RouteEffect:
    """What changes of a route do to the dims of the drawing, to the stock, and to the minutes.

    Args:
        before: the description as it was.
        after: as it is being changed.
        part: name of the part.

    Raises:
        BuildError: a text cannot be parsed.
        RequestError: the changed description has no such part, or the part has mistakes.
    """
    if route_draft(after, part).mistakes:
        raise RequestError("the changed description has mistakes", "mend them first")
    old, new = _charted(before, part), _charted(after, part)
    lines = list(_compared(old, new))
    moved = [one for one in lines if _differs(one.before, one.after)]
    sheets = [_route_of(text, part) for text in (before, after)]
    return RouteEffect(
        tuple(sorted(moved, key=lambda one: not one.worse)),
        len(lines) - len(moved),
        (sheets[0].attended if sheets[0] else 0.0, sheets[1].attended if sheets[1] else 0.0),
        (sheets[0].unattended if sheets[0] else 0.0, sheets[1].unattended if sheets[1] else 0.0),
        () if new is None else (*new.problems, *(p for one in new.charts for p in one.problems)),
        (old is None or old.feasible, new is None or new.feasible),
    )


@lru_cache(maxsize=4)
def _charted(text: str, part: str) -> ChartSheet | None:
    """The charts of a part; None where it has no route."""
    build = _examined(text).build
    if build is None or part not in build.parts or not build.parts[part].route:
        return None
    return chart_sheet(build, part, freed=False)


def _route_of(text: str, part: str) -> RouteSheet | None:
    try:
        return _drafted(text, part).sheet
    except RequestError:
        return None


def _compared(old: ChartSheet | None, new: ChartSheet | None) -> Iterator[Moved]:
    sides = [dict(_chains(sheet)) for sheet in (old, new)]
    for key in dict.fromkeys((*sides[1], *sides[0])):
        before, after = (side.get(key) for side in sides)
        named = after or before
        assert named is not None
        yield Moved(named.name, key[1], key[0], before, after)


def _chains(sheet: ChartSheet | None) -> Iterator[tuple[tuple[str, bool, str, int], Chained]]:
    """Chains by what they are about.

    Ops change their numbers, so a stock counts among those of its surface, from the last, which finishes it.
    """
    for chart in () if sheet is None else sheet.charts:
        for one in chart.finished:
            yield (chart.direction, False, one.name, 0), one
        seen: Counter[str] = Counter()
        for one in reversed(chart.stock):
            name = _OF_OP.sub("", one.name)
            seen[name] += 1
            yield (chart.direction, True, name, seen[name]), one


def _differs(old: Chained | None, new: Chained | None) -> bool:
    if old is None or new is None:
        return True
    ends = any(abs(a - b) > _LEAST for a, b in zip(old.worst, new.worst))
    return old.holds != new.holds or ends or abs(old.chance - new.chance) > _CHANCE
