"""The budget both ways: if everything is just in its limits, and as the shop makes it, now and with a change."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import Loop, compile_loop
from loopwright.loop.kinematics import poses_of
from loopwright.making.choices import Choice, chosen_build
from loopwright.model.build import Build
from loopwright.studies.dims_as_made import dims_as_made
from loopwright.units import Dimension

TRIALS = 8192
"""Machines drawn where nothing else is asked for; the same draw for each column, so that they compare."""


@dataclass(frozen=True)
class Held:
    """How a target is held before any reading; mm or rad.

    Attributes:
        expected: size of the error at its worst pose.
        chance: to hold its limit over the whole volume.
        chance_std: sampling uncertainty of that.
    """

    expected: float
    chance: float
    chance_std: float


@dataclass(frozen=True)
class TargetWays:
    """A target both ways.

    Attributes:
        name: of the target; dimension, limit: of its error, mm or rad.
        in_limits: if every dim is just in its limits.
        as_made: as the shop makes it, with the routes as they stand.
        changed: with the other ways that were asked for; None where none were.
    """

    name: str
    dimension: Dimension
    limit: float
    in_limits: Held
    as_made: Held
    changed: Held | None


@dataclass(frozen=True)
class BothWays:
    """The budget both ways.

    Attributes:
        targets: each target.
        of_all: chance to hold all limits: just in limits, as made, with the change (None where none was asked for).
        chance_std: sampling uncertainty of those, the largest.
        trials: machines drawn for each.
        routed: parts whose route counts.
        made: parts that are made and not bought.
    """

    targets: tuple[TargetWays, ...]
    of_all: tuple[float, float, float | None]
    chance_std: float
    trials: int
    routed: int
    made: int


def both_ways(
    build: Build,
    chosen: Sequence[Choice] = (),
    *,
    loop: Loop | None = None,
    trials: int = TRIALS,
    cancel: Callable[[], bool] | None = None,
) -> BothWays | None:
    """The targets of a build both ways, before anything is read; None where no part has a route, or there is no target.

    Args:
        build: the build.
        chosen: alternatives of its routes to be looked at besides; none looks at the routes as they stand.
        loop: of the build as the shop makes it, where that is at hand.
        trials: machines drawn for each column.
        cancel: asked after each batch of the draw.

    Raises:
        Cancelled: ``cancel`` said so.

    >>> from loopwright.studies import example_loop
    >>> both_ways(example_loop("guitar-gantry").build) is None
    True
    """
    routed = sum(bool(part.route) for part in build.parts.values())
    if not routed or not build.targets:
        return None
    limits, of_limits = _held(compile_loop(build), trials, cancel)
    made, of_made = _held(loop or _as_made(build), trials, cancel)
    changed, of_changed = (
        _held(_as_made(chosen_build(build, tuple(chosen))), trials, cancel) if chosen else (None, None)
    )
    chances = [chance for chance in (of_limits, of_made, of_changed) if chance is not None]
    return BothWays(
        targets=tuple(_targets(build, limits, made, changed)),
        of_all=(of_limits, of_made, of_changed),
        chance_std=max((chance * (1 - chance) / trials) ** 0.5 for chance in chances),
        trials=trials,
        routed=routed,
        made=sum(not part.bought for part in build.parts.values()),
    )


def _targets(
    build: Build, limits: Sequence[Held], made: Sequence[Held], changed: Sequence[Held] | None
) -> Iterator[TargetWays]:
    for k, (name, one) in enumerate(build.targets.items()):
        also = None if changed is None else changed[k]
        yield TargetWays(name, one.dimension, one.limit, limits[k], made[k], also)


def _as_made(build: Build) -> Loop:
    return compile_loop(build, dims_as_made(build))


def _held(loop: Loop, trials: int, cancel: Callable[[], bool] | None) -> tuple[list[Held], float]:
    """How every target is held, and the chance of all."""
    build, prior = loop.build, prior_of(loop.sources, loop.build.assume)
    rows = [loop.rows(target, poses_of(build, target, name)) for name, target in build.targets.items()]
    limits = [target.limit for target in build.targets.values()]
    worst, together = monte_carlo(rows, prior, limits, trials=trials, cancel=cancel)
    held = [
        Held(float(budget(one, prior).size.max()), found.chance, found.chance_std)
        for one, found in zip(rows, worst)
    ]
    return held, together
