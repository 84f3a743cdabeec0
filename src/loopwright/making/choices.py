"""The other ways in which the parts of a build may be made, gathered into groups that have nothing in common."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from loopwright.model.build import Build
from loopwright.model.routes import Op

MOST_WAYS = 256
"""A group with more ways than this is cut off there; nobody would look through them either."""


@dataclass(frozen=True)
class Choice:
    """One alternative of one op.

    Attributes:
        part: whose route it is in.
        index: of the op in the route.
        name: of the alternative.
        joint: matched set that it begins; all parts of that set choose it together; '' for none.
    """

    part: str
    index: int
    name: str
    joint: str


@dataclass(frozen=True)
class Choices:
    """Alternatives chosen together, and what they cost.

    Attributes:
        chosen: the alternatives; none for the routes as they stand.
        minutes: attended minutes that they take more.
        unstated: ops among them that state no minutes.
    """

    chosen: tuple[Choice, ...]
    minutes: float
    unstated: int


@dataclass(frozen=True)
class Group:
    """Parts whose alternatives have to be looked at together.

    Attributes:
        parts: their names.
        ways: every combination that can be chosen, the routes as they stand first.
    """

    parts: tuple[str, ...]
    ways: tuple[Choices, ...]


def groups(build: Build) -> tuple[Group, ...]:
    """The groups of a build.

    Parts are in one group where a matched set ties them, as they are made or as they may be.

    Args:
        build: the build.
    """
    found: dict[str, list[Choice]] = {
        name: list(_choices(name, part.route)) for name, part in build.parts.items()
    }
    tied = _tied(build)
    out, seen = [], set[str]()
    for name, own in found.items():
        if name in seen or not own:
            continue
        parts = _with(name, tied)
        seen |= parts
        ordered = tuple(one for one in build.parts if one in parts)
        out.append(Group(ordered, tuple(_ways(build, [c for one in ordered for c in found[one]]))))
    return tuple(out)


def chosen_build(build: Build, chosen: tuple[Choice, ...]) -> Build:
    """The build with some alternatives in the place of the ops that they replace."""
    by_part: dict[str, dict[int, str]] = {}
    for one in chosen:
        by_part.setdefault(one.part, {})[one.index] = one.name
    parts = dict(build.parts)
    for name, names in by_part.items():
        route: list[Op] = []
        for index, op in enumerate(parts[name].route):
            route += op.alternatives[names[index]] if index in names else [op]
        parts[name] = parts[name].model_copy(update={"route": route})
    return build.model_copy(update={"parts": parts})


def _choices(name: str, route: list[Op]) -> Iterator[Choice]:
    for index, op in enumerate(route):
        for key, others in op.alternatives.items():
            joint = next((other.together for other in others if other.together), "") or ""
            yield Choice(name, index, key, joint if joint != op.together else "")


def _tied(build: Build) -> dict[str, set[str]]:
    """Parts by the matched sets that they are in, or may be in."""
    out: dict[str, set[str]] = {}
    for name, part in build.parts.items():
        for op in part.route:
            for one in (op, *(other for others in op.alternatives.values() for other in others)):
                if one.together:
                    out.setdefault(one.together, set()).add(name)
    return out


def _with(name: str, tied: Mapping[str, set[str]]) -> set[str]:
    parts, todo = {name}, [name]
    while todo:
        here = todo.pop()
        for members in tied.values():
            if here in members:
                todo += members - parts
                parts |= members
    return parts


def _ways(build: Build, choices: list[Choice]) -> Iterator[Choices]:
    """Every combination: at most one alternative for an op, and those of a new matched set all or none."""
    ops: dict[tuple[str, int], list[Choice | None]] = {}
    for one in choices:
        ops.setdefault((one.part, one.index), [None]).append(one)
    count = 0
    for picked in product(*ops.values()):
        chosen = tuple(one for one in picked if one is not None)
        if _whole_sets(chosen, choices):
            count += 1
            yield _costed(build, chosen)
        if count >= MOST_WAYS:
            return


def _whole_sets(chosen: tuple[Choice, ...], choices: list[Choice]) -> bool:
    """Every matched set that is begun is begun by all parts that may."""
    begun = {one.joint for one in chosen if one.joint}
    return all(
        {one.part for one in chosen if one.joint == joint}
        == {one.part for one in choices if one.joint == joint}
        for joint in begun
    )


def _costed(build: Build, chosen: tuple[Choice, ...]) -> Choices:
    minutes, unstated = 0.0, 0
    for one in chosen:
        op = build.parts[one.part].route[one.index]
        for sign, ops in ((1.0, op.alternatives[one.name]), (-1.0, [op])):
            for each in ops:
                minutes += sign * (_attended(build, each) + _setting_up(build, each))
                unstated += each.minutes is None
    return Choices(chosen, minutes, unstated)


def _attended(build: Build, op: Op) -> float:
    return op.minutes or 0.0


def _setting_up(build: Build, op: Op) -> float:
    """Minutes to set up; a matched set shares them among its parts."""
    machine = build.shop.machines.get(op.machine or "")
    minutes = op.setting_up if op.setting_up is not None else 0.0 if machine is None else machine.setting_up
    if op.together is None:
        return minutes
    members = sum(
        any(one.together == op.together for own in part.route for one in (own, *_others(own)))
        for part in build.parts.values()
    )
    return minutes / max(members, 1)


def _others(op: Op) -> Iterator[Op]:
    for others in op.alternatives.values():
        yield from others
