"""What the studies answer: frozen, picklable records in internal units (mm, rad, N, N/mm)."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

from loopwright.asbuilt.misfit import JointMisfit
from loopwright.asbuilt.tighten import Pairing, Tightening
from loopwright.errors import Problem
from loopwright.loop.sources import SourceKind
from loopwright.model.build import Units
from loopwright.units import Dimension

NO_VISIBLE_COST = 1.01
"""A change that lets the expected error grow by less than this factor has no visible cost."""

LOOSENED = (
    SourceKind.GEOMETRY,
    SourceKind.TOGETHER,
    SourceKind.MAKING,
    SourceKind.GUIDES,
    SourceKind.DRIVES,
)
"""Kinds of statement that a builder could loosen; nobody loosens a weight or the room."""


@dataclass(frozen=True)
class ComponentStanding:
    """One component at the worst pose: bias, standard uncertainty, coverage interval; mm or rad."""

    name: str
    bias: float
    std: float
    interval: tuple[float, float]


@dataclass(frozen=True)
class SourceShare:
    """One source and what it carries.

    Attributes:
        name, kind, part, joint, field: as in the loop's source.
        std: its standard uncertainty, in its own internal unit.
        dimension: what it is measured in.
        group: the profile, or the like, of which it is one shape; None where it stands alone.
        worst: its share of the variance at the worst pose.
        volume: its share over the whole volume.
    """

    name: str
    kind: str
    part: str | None
    joint: str | None
    field: str
    std: float
    dimension: Dimension
    group: str | None
    worst: float
    volume: float


@dataclass(frozen=True)
class MonteCarloStanding:
    """Distribution of the worst size over the volume.

    Attributes:
        trials: how many were drawn.
        confidence: of the build; its quantile is among the quantiles.
        mean: of the worst size.
        quantiles: by probability.
        quantile_std: sampling uncertainty of the quantile at the build's confidence.
        chance: to meet the limit over the whole volume.
        chance_std: its sampling uncertainty.
        histogram: (from, to, share).
    """

    trials: int
    confidence: float
    mean: float
    quantiles: Mapping[float, float]
    quantile_std: float
    chance: float
    chance_std: float
    histogram: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class PlaneMap:
    """Expected size of the error over two axes (or along one), the other axes standing where the worst pose has them.

    Attributes:
        across, up: axis letters; ``up`` is None for a single axis.
        across_values, up_values: positions, mm or rad.
        size: rows by ``up``, columns by ``across``.
        elsewhere: where the other axes stand.
    """

    across: str
    up: str | None
    across_values: tuple[float, ...]
    up_values: tuple[float, ...]
    size: tuple[tuple[float, ...], ...]
    elsewhere: Mapping[str, float]


@dataclass(frozen=True)
class ExactCheck:
    """How far exact rigid-body motion is from the linear result, at sampled extremes.

    Attributes:
        cases: how many combinations of pose and deviations were compared.
        largest: largest error among them by the linear path.
        difference: largest difference, exact less linear.
        typical: largest difference with every source one standard uncertainty off instead of at its limit.
        typical_largest: largest error by the linear path then.
    """

    cases: int
    largest: float
    difference: float
    typical: float
    typical_largest: float


@dataclass(frozen=True)
class PoseTable:
    """Bias and standard uncertainty of each component at every pose that was looked at.

    Attributes:
        poses: axis positions by letter, mm or rad.
        bias, std: for each pose one number for each component, mm or rad.
    """

    poses: Mapping[str, tuple[float, ...]]
    bias: tuple[tuple[float, ...], ...]
    std: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class StiffnessStanding:
    """Stiffness between the bodies of a target at its worst pose.

    Attributes:
        directions: N/mm by 'X', 'Y', 'Z'; inf where nothing gives.
        shares: for each direction the share of each joint in the compliance.
    """

    directions: Mapping[str, float]
    shares: Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class TargetStanding:
    """Where one target stands.

    Attributes:
        name: of the target.
        asks: what it asks, in words.
        component: 'XY', 'A', or 'along (0, 1, 0)'.
        dimension: length or angle.
        limit: mm or rad.
        zeroed: how, in words.
        worst_pose: axis positions, mm or rad.
        expected: expected size of the error at the worst pose (root of its mean square).
        components: bias, uncertainty and interval of each component there.
        poses: how many poses were looked at.
        at_poses: bias and uncertainty at each of them.
        monte_carlo: distribution of the worst over the volume.
        worst_case: size with every source at its limit.
        worst_case_pose: where.
        sources: those with a share, largest first.
        drivers: the same with the shapes of one profile added up, and their root sum of squares as ``std``.
        by_kind, by_joint, by_part: shares at the worst pose, added up.
        maps: the error over planes of axes.
        tightenings: what halving and doubling each statement would do, largest gain first.
        pairings: dims worth making together.
        exact: the linear result against exact motion.
        stiffness: at the worst pose; None for a rotation.
    """

    name: str
    asks: str
    component: str
    dimension: Dimension
    limit: float
    zeroed: str
    worst_pose: Mapping[str, float]
    expected: float
    components: tuple[ComponentStanding, ...]
    poses: int
    at_poses: PoseTable
    monte_carlo: MonteCarloStanding
    worst_case: float
    worst_case_pose: Mapping[str, float]
    sources: tuple[SourceShare, ...]
    drivers: tuple[SourceShare, ...]
    by_kind: Mapping[str, float]
    by_joint: Mapping[str, float]
    by_part: Mapping[str, float]
    maps: tuple[PlaneMap, ...]
    tightenings: tuple[Tightening, ...]
    pairings: tuple[Pairing, ...]
    exact: ExactCheck
    stiffness: StiffnessStanding | None

    @property
    def coverage(self) -> float:
        """Size of the worst error that the build's share of machines keeps to."""
        return self.monte_carlo.quantiles[self.monte_carlo.confidence]

    @property
    def free(self) -> tuple[Tightening, ...]:
        """Statements whose limits could be doubled at no visible cost to this target, the least costly first."""
        free = [t for t in self.tightenings if t.kind in LOOSENED and t.doubled < t.now * NO_VISIBLE_COST]
        return tuple(sorted(free, key=lambda t: t.doubled))

    @property
    def meets(self) -> bool:
        """The chance to meet the limit is the build's confidence or better."""
        return self.monte_carlo.chance >= self.monte_carlo.confidence


@dataclass(frozen=True)
class InLimits:
    """Where a target would stand if every dim were only known to be within its limits, however it is made.

    Attributes:
        expected: expected size of the error at its worst pose, mm or rad.
        chance: to meet the limit over the whole volume.
        chance_std: its sampling uncertainty.
    """

    expected: float
    chance: float
    chance_std: float


@dataclass(frozen=True)
class Standing:
    """Where a build stands before anything is measured.

    Attributes:
        build: name.
        file: name of the build file, or None.
        units: in which the user reads.
        confidence: of intervals.
        sources: how many deviation sources, and how many of them are open.
        seed: of the Monte Carlo draw.
        targets: each target.
        chance_of_all: to meet all limits together.
        misfits: over-constrained joints.
        assumptions: what was assumed, and what is left out.
        idle_dims: dims that move nothing in the loop.
        in_limits: by target, where it would stand with every dim just within its limits; none where no part has a
            route, so that nothing else is known of any.
    """

    build: str
    file: str | None
    units: Units
    confidence: float
    sources: int
    open_sources: int
    seed: int
    targets: tuple[TargetStanding, ...]
    chance_of_all: float
    misfits: tuple[JointMisfit, ...]
    assumptions: tuple[str, ...]
    idle_dims: tuple[str, ...]
    in_limits: Mapping[str, InLimits]

    @property
    def free(self) -> tuple[Tightening, ...]:
        """Statements whose limits could be doubled at no visible cost to any target."""
        everywhere = [{t.field for t in target.free} for target in self.targets]
        if not everywhere:
            return ()
        return tuple(t for t in self.targets[0].free if all(t.field in free for free in everywhere))


@dataclass(frozen=True)
class Change:
    """By how much an answer changed, and twice the standard uncertainty that sampling leaves of that."""

    value: float
    doubt: float = 0.0

    @property
    def is_sampling(self) -> bool:
        """Sampling alone could make it."""
        return abs(self.value) <= self.doubt


@dataclass(frozen=True)
class TargetChange:
    """By how much the answers for one target changed: chance as a fraction, the others in mm or rad."""

    chance: Change
    expected: Change
    coverage: Change
    worst_case: Change


@dataclass(frozen=True)
class LimitsChange:
    """By how much chance (a fraction) and expected error (mm or rad) changed, with every dim just in its limits."""

    chance: Change
    expected: Change


@dataclass(frozen=True)
class WhatIf:
    """Two standings: as the file has it, and with values changed."""

    changes: Mapping[str, str]
    before: Standing
    after: Standing

    @property
    def targets(self) -> tuple[tuple[TargetStanding, TargetStanding, TargetChange], ...]:
        """Every target that is on both sides: as it was, as it is, and the change."""
        was = {target.name: target for target in self.before.targets}
        pairs = [(was[now.name], now) for now in self.after.targets if now.name in was]
        return tuple((before, after, _change(before, after)) for before, after in pairs)

    def just_in_limits(self, target: str) -> tuple[InLimits, InLimits, LimitsChange] | None:
        """A target that is on both sides, with every dim just in its limits: as it was, as it is, and the change.

        None where one side has no part with a route, so that nothing else is known of any dim.
        """
        before, after = self.before.in_limits.get(target), self.after.in_limits.get(target)
        if before is None or after is None:
            return None
        doubt = 2 * hypot(before.chance_std, after.chance_std)
        chance = Change(after.chance - before.chance, doubt)
        return before, after, LimitsChange(chance, Change(after.expected - before.expected))


def _change(was: TargetStanding, now: TargetStanding) -> TargetChange:
    first, second = was.monte_carlo, now.monte_carlo
    return TargetChange(
        chance=Change(second.chance - first.chance, 2 * hypot(first.chance_std, second.chance_std)),
        expected=Change(now.expected - was.expected),
        coverage=Change(now.coverage - was.coverage, 2 * hypot(first.quantile_std, second.quantile_std)),
        worst_case=Change(now.worst_case - was.worst_case),
    )


@dataclass(frozen=True)
class Check:
    """What came of checking a build file.

    Attributes:
        file: its name.
        build: name of the build, or None where it could not be read.
        problems: every mistake, in the order of the file; none means that it can be used.
        notes: what is allowed but may not be meant.
        counts: how many parts, dims, bodies, joints, targets, tests it has.
    """

    file: str | None
    build: str | None
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    counts: Mapping[str, int]
