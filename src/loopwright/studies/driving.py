"""What drives a target as built: what is known to be off at its worst pose, and what is still not known of it.

The two ask for different work. What is known to be off can be set, shimmed or corrected; what is not known has to be
read. Readings tie deviations to each other, so what each of them carries is counted with its covariances:

    known      e = sum_i a_i m_i                 each adds  a_i m_i along e
    not known  u² = sum_i a_i (C a)_i            each carries a_i (C a)_i / u², which may be negative

Source: JCGM 100:2008, 5.2.2, equation (13): the combined variance of correlated inputs, parted input by input.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.draws import AsBuiltDraws, Drawn, draw
from loopwright.asbuilt.knowledge import Knowledge
from loopwright.loop.rows import Rows
from loopwright.loop.sources import Source
from loopwright.measuring.coverage import coverage_factor
from loopwright.studies.as_built import QUICK_TRIALS, THOROUGH_TRIALS
from loopwright.studies.bench import Bench
from loopwright.studies.reports import ComponentStanding, MonteCarloStanding, PlaneMap
from loopwright.studies.standing import asks, component_words, plane_maps, pose_at, zeroed_words
from loopwright.units import Dimension

Array = NDArray[np.float64]

SMALLEST_SHARE = 1e-9
"""Deviations that carry less than this of a target, in every way, are left out."""


@dataclass(frozen=True)
class Driver:
    """One deviation, or the shapes of one profile together, and what it carries of a target as built.

    Attributes:
        name, kind, part, joint, field: as in the loop's source.
        dimension: of its own numbers.
        std: its standard uncertainty now; of the shapes of a profile their root sum of squares.
        designed_std: the same before any reading.
        off: what it adds to the known error at the worst pose, along the direction of that error, mm or rad of the
            target; below zero it takes away.
        unknown: its share of the variance of what is not known there; below zero where readings tie it to others so
            that it takes away.
        volume: the same over all poses.
        designed: its share of the variance before any reading, at the worst pose of then.
    """

    name: str
    kind: str
    part: str | None
    joint: str | None
    field: str
    dimension: Dimension
    std: float
    designed_std: float
    off: float
    unknown: float
    volume: float
    designed: float


@dataclass(frozen=True)
class Carried:
    """What a part, a joint or a kind of deviation carries of a target as built; see ``Driver``."""

    name: str
    off: float
    unknown: float
    designed: float


@dataclass(frozen=True)
class TargetNow:
    """One target as built; mm or rad.

    Attributes:
        name, asks, zeroed, component, dimension, limit, confidence: of the target, as in a designed standing.
        state: of the machine.
        worst_pose: axis positions where the expected size is largest.
        poses: how many were looked at.
        expected, known, unknown: expected size there, and its two parts, root sum of squares.
        components: known error, standard uncertainty and interval of each component there.
        drivers: deviations that carry something, what is not known first.
        by_kind, by_joint, by_part: the same added up.
        maps: expected size over planes of axes through the worst pose.
        monte_carlo: the worst error over the volume, every deviation counted as normal.
    """

    name: str
    asks: str
    zeroed: str
    component: str
    dimension: Dimension
    limit: float
    confidence: float
    state: int
    worst_pose: Mapping[str, float]
    poses: int
    expected: float
    known: float
    unknown: float
    components: tuple[ComponentStanding, ...]
    drivers: tuple[Driver, ...]
    by_kind: tuple[Carried, ...]
    by_joint: tuple[Carried, ...]
    by_part: tuple[Carried, ...]
    maps: tuple[PlaneMap, ...]
    monte_carlo: MonteCarloStanding


@dataclass(frozen=True)
class MapsNow:
    """Where in its volume a target is expected to be how far off, as built.

    Attributes:
        name, dimension, limit: of the target.
        worst_pose: axis positions where the expected size is largest.
        maps: of the expected size, mm or rad; one for each pair of axes, or one along a single axis.
    """

    name: str
    dimension: Dimension
    limit: float
    worst_pose: Mapping[str, float]
    maps: tuple[PlaneMap, ...]


@dataclass(frozen=True)
class Thorough:
    """The worst error over the volume with the stated shapes, beside every deviation counted as normal.

    Attributes:
        shaped: with the stated shapes; the normal one where the draw did not settle.
        normal: every deviation counted as normal.
        settled: the draws of the stated shapes are worth enough.
        worth: draws of equal weight that they are worth.
        outside: names of deviations that were read outside their limits, so that those no longer count.
    """

    shaped: MonteCarloStanding
    normal: MonteCarloStanding
    settled: bool
    worth: float
    outside: tuple[str, ...]


@dataclass(frozen=True)
class _Poses:
    """What is expected at every pose: known and unknown size, (poses,), and what is behind them."""

    rows: Rows
    mean: Array
    root: Array
    known: Array
    unknown: Array

    @property
    def size(self) -> Array:
        return np.hypot(self.known, self.unknown)

    @property
    def worst(self) -> int:
        return int(np.argmax(self.size))


def maps_now(bench: Bench, target: str, *, state: int | None = None) -> MapsNow:
    """Where in its volume a target is expected to be how far off, as built.

    Args:
        bench: the build as it stands.
        target: its name.
        state: of the machine; None takes the newest.

    Raises:
        RequestError: there is no such target or state.
    """
    asked, found = bench.target(target), _at_poses(bench, target, state)
    maps = plane_maps(asked, found.rows, found.size, found.worst)
    return MapsNow(target, asked.dimension, asked.limit, pose_at(found.rows, found.worst), maps)


def target_now(bench: Bench, target: str, *, state: int | None = None) -> TargetNow:
    """What a target holds as built, where, and what drives it.

    Args:
        bench: the build as it stands.
        target: its name.
        state: of the machine; None takes the newest.

    Raises:
        RequestError: there is no such target or state.
    """
    asked, found = bench.target(target), _at_poses(bench, target, state)
    at = bench.state if state is None else state
    drivers = _drivers(bench, found, at)
    merged = sorted(_merged(drivers, bench.loop.sources), key=lambda d: -abs(d.unknown))
    drawn = draw(
        bench.knowledge,
        [found.rows],
        [asked.limit],
        confidence=bench.build.confidence,
        state=at,
        shapes=False,
        trials=QUICK_TRIALS,
    )
    return TargetNow(
        name=target,
        asks=asks(asked),
        zeroed=zeroed_words(asked),
        component=component_words(asked),
        dimension=asked.dimension,
        limit=asked.limit,
        confidence=bench.build.confidence,
        state=at,
        worst_pose=pose_at(found.rows, found.worst),
        poses=len(found.rows.points),
        expected=float(found.size[found.worst]),
        known=float(found.known[found.worst]),
        unknown=float(found.unknown[found.worst]),
        components=_components(found, bench.build.confidence),
        drivers=tuple(merged),
        by_kind=_carried(drivers, lambda driver: driver.kind),
        by_joint=_carried(drivers, lambda driver: driver.joint),
        by_part=_carried(drivers, lambda driver: driver.part),
        maps=plane_maps(asked, found.rows, found.size, found.worst),
        monte_carlo=_distribution(drawn.normal[0], drawn.trials, bench.build.confidence),
    )


def thorough_now(
    bench: Bench,
    target: str,
    *,
    state: int | None = None,
    trials: int = THOROUGH_TRIALS,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Thorough:
    """The worst error of a target with the stated shapes drawn; takes seconds.

    Args:
        bench: the build as it stands.
        target: its name.
        state: of the machine; None takes the newest.
        trials: machines drawn.
        progress: called with the machines drawn and the number wanted.
        cancel: asked now and then; True stops.

    Raises:
        RequestError: there is no such target or state.
        Cancelled: ``cancel`` said so.
    """
    found: AsBuiltDraws = draw(
        bench.knowledge,
        [bench.rows(target)],
        [bench.target(target).limit],
        confidence=bench.build.confidence,
        state=state,
        trials=trials,
        progress=progress,
        cancel=cancel,
    )
    confidence = bench.build.confidence
    normal = _distribution(found.normal[0], found.trials, confidence)
    drawn = round(found.worth) if found.settled else found.trials
    shaped = _distribution(found.shaped[0], drawn, confidence) if found.settled else normal
    names = tuple(bench.loop.sources[place].name for place in dict.fromkeys(found.discredited))
    return Thorough(shaped, normal, found.settled, found.worth, names)


def _at_poses(bench: Bench, target: str, state: int | None) -> _Poses:
    rows = bench.rows(target)
    mean, root = bench.knowledge.of_target(rows, bench.state if state is None else state)
    shape = rows.matrix.shape[:2]
    known = np.sqrt((mean.reshape(shape) ** 2).sum(axis=1))
    unknown = np.sqrt((root**2).sum(axis=1).reshape(shape).sum(axis=1))
    return _Poses(rows, mean, root, known, unknown)


def _components(found: _Poses, confidence: float) -> tuple[ComponentStanding, ...]:
    count, reach = len(found.rows.components), coverage_factor(confidence)
    here = slice(found.worst * count, (found.worst + 1) * count)
    stds = np.sqrt((found.root[here] ** 2).sum(axis=1)).tolist()
    return tuple(
        ComponentStanding(name, mean, std, (mean - reach * std, mean + reach * std))
        for name, mean, std in zip(found.rows.components, found.mean[here].tolist(), stds)
    )


def _distribution(drawn: Drawn, trials: int, confidence: float) -> MonteCarloStanding:
    return MonteCarloStanding(
        trials=trials,
        confidence=confidence,
        mean=drawn.mean,
        quantiles={confidence: drawn.quantile},
        quantile_std=drawn.quantile_std,
        chance=drawn.chance,
        chance_std=drawn.chance_std,
        histogram=drawn.histogram,
    )


def covariances(knowledge: Knowledge, roots: Array, state: int) -> Array:
    """Covariance of every deviation of a state with some errors.

    Args:
        knowledge: what is known.
        roots: V with V V' = covariance of the errors, as ``Knowledge.root`` gives it, (errors, open).
        state: of the machine.

    Returns:
        (sources, errors).
    """
    line = knowledge.line
    pieces = np.zeros((len(knowledge.scale), len(roots)))
    pieces[knowledge.open_] = knowledge.scale[knowledge.open_][:, None] * (knowledge.factor @ roots.T)
    pieces = pieces[: len(line.mean)]
    count, changed = len(line.prior.mean), list(line.made_of.get(state, ()))
    out = pieces[:count].copy()
    # all others are still the pieces of their own places
    unit = np.zeros((len(changed), count))
    unit[np.arange(len(changed)), changed] = 1.0
    out[changed] = line.over_pieces(unit, state) @ pieces
    return out


def _drivers(bench: Bench, found: _Poses, state: int) -> list[Driver]:
    """Every deviation of which a target shows anything, one by one."""
    rows, knowledge = found.rows, bench.knowledge
    count = len(rows.components)
    here = slice(found.worst * count, (found.worst + 1) * count)
    flat = rows.matrix.reshape(-1, rows.matrix.shape[-1])
    shared = covariances(knowledge, found.root, state)
    each = flat * shared.T
    unknown, volume = _parted(each[here].sum(axis=0)), _parted(each.sum(axis=0))
    mean, std = knowledge.deviations(state)
    error = found.mean[here]
    towards = error / (np.linalg.norm(error) or 1.0)
    off = (towards @ flat[here]) * mean
    prior = knowledge.line.prior
    designed = budget(rows, prior).share_worst
    matters = np.abs([unknown, volume, designed]).max(axis=0) > SMALLEST_SHARE
    matters |= np.abs(off) > SMALLEST_SHARE * (found.size.max() or 1.0)
    return [
        Driver(
            s.name,
            str(s.kind),
            s.part,
            s.joint,
            s.field,
            s.dimension,
            *map(float, (std[i], prior.std[i], off[i], unknown[i], volume[i], designed[i])),
        )
        for i, s in enumerate(bench.loop.sources)
        if matters[i]
    ]


def _parted(variance: Array) -> Array:
    total = variance.sum()
    return variance / total if total > 0 else np.zeros_like(variance)


def _merged(drivers: Sequence[Driver], sources: Sequence[Source]) -> list[Driver]:
    """Adds up the shapes of each profile; what one setup shares keeps its own name."""
    groups = {source.name: source.group for source in sources}
    gathered: dict[tuple[str, str], list[Driver]] = {}
    for driver in drivers:
        gathered.setdefault((groups[driver.name] or driver.name, driver.field), []).append(driver)
    return [
        members[0]
        if len(members) == 1
        else replace(
            members[0],
            name=name,
            std=float(np.sqrt(sum(d.std**2 for d in members))),
            designed_std=float(np.sqrt(sum(d.designed_std**2 for d in members))),
            off=sum(d.off for d in members),
            unknown=sum(d.unknown for d in members),
            volume=sum(d.volume for d in members),
            designed=sum(d.designed for d in members),
        )
        for (name, _), members in gathered.items()
    ]


def _carried(drivers: Sequence[Driver], name: Callable[[Driver], str | None]) -> tuple[Carried, ...]:
    """Added up by a name, the largest share of what is not known first; what has no such name is left out."""
    out: dict[str, list[Driver]] = {}
    for driver in drivers:
        named = name(driver)
        if named is not None:
            out.setdefault(named, []).append(driver)
    added = [
        Carried(key, sum(d.off for d in ds), sum(d.unknown for d in ds), sum(d.designed for d in ds))
        for key, ds in out.items()
    ]
    return tuple(sorted(added, key=lambda one: -abs(one.unknown)))
