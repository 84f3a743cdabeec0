"""The cheapest change of routes with what it costs, what the budget becomes, and what stands in each route now."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite

from loopwright.making.choices import Choice
from loopwright.model.build import Build
from loopwright.studies.both_ways import BothWays, both_ways
from loopwright.studies.cheapest_making import TRIALS, CheapestMaking, ChosenWay, cheapest_making


@dataclass(frozen=True)
class Instead:
    """One alternative beside the op that it replaces.

    Attributes:
        way: the alternative.
        machine: of the op as it stands; '' where none is named.
        ops: what is done instead, op by op: name and machine ('' where none is named).
        minutes: attended minutes of the op as it stands; None where it states none.
        instead: attended minutes of what is done instead; None where an op of it states none.
    """

    way: ChosenWay
    machine: str
    ops: tuple[tuple[str, str], ...]
    minutes: float | None
    instead: float | None


@dataclass(frozen=True)
class RouteChange:
    """The cheapest change of routes.

    Attributes:
        found: what the search brought.
        instead: alternatives to take; where nothing is enough, those of the best choice that was found.
        labour: what its attended minutes cost more than now, in the shop's own money; None where an hour has no price.
        hour: what an attended hour costs; None where that is not stated.
        gap: minutes by which a cheaper choice might be cheaper; 0 where none is; None where that is not known.
        budget: the targets both ways, and with the change where there is one.
    """

    found: CheapestMaking
    instead: tuple[Instead, ...]
    labour: float | None
    hour: float | None
    gap: float | None
    budget: BothWays | None


def route_change(
    build: Build,
    wished: float,
    *,
    targets: Sequence[str] = (),
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> RouteChange:
    """The cheapest change of routes that brings the chance to hold the targets to a wished value.

    Args:
        build: the build.
        wished: chance, from 1 % to 99.9 %.
        targets: names of those that count; none takes all.
        progress: told how many choices were looked at in full.
        cancel: asked in between.

    Raises:
        RequestError: a chance that cannot be asked for, an unknown target, or no route with an alternative.
        Cancelled: ``cancel`` said so.
    """
    found = cheapest_making(build, wished, targets=targets, progress=progress, cancel=cancel)
    ways = found.chosen or found.best
    budget = both_ways(build, [_choice(way) for way in ways], trials=TRIALS, cancel=cancel)
    hour = build.shop.hour
    gap = max(found.minutes - found.bound, 0.0) if found.reached and isfinite(found.bound) else None
    return RouteChange(
        found=found,
        instead=tuple(_instead(build, way) for way in ways),
        labour=None if hour is None or not found.reached else hour * found.minutes / 60,
        hour=hour,
        gap=0.0 if found.proven and found.reached else gap,
        budget=budget,
    )


def _choice(way: ChosenWay) -> Choice:
    return Choice(way.part, _index(way), way.name, way.matched)


def _index(way: ChosenWay) -> int:
    """Place of the op in its route, counted from 0."""
    return int(way.field.split("/")[3])


def _instead(build: Build, way: ChosenWay) -> Instead:
    op = build.parts[way.part].route[_index(way)]
    ops = op.alternatives[way.name]
    minutes = [one.minutes for one in ops]
    return Instead(
        way,
        op.machine or "",
        tuple((one.op, one.machine or "") for one in ops),
        op.minutes,
        None if any(one is None for one in minutes) else sum(one or 0.0 for one in minutes),
    )
