"""What a reading would be worth before it is taken.

Measuring alone does not make a machine better: on average over what may be found, the mean square of the error stays
what it was. It moves error from what is not known to what is known, and what is known can be taken out: wholly by a
correction at every pose, or as far as the adjusters reach. So two drops are given: of what is not known, and of what
is left after the adjusters have been set by what is known then.
"""

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Knowledge, Observation
from loopwright.errors import Cancelled
from loopwright.loop.rows import Rows
from loopwright.units import Dimension

Array = NDArray[np.float64]

TRIALS = 512
"""Machines drawn for each chance; the same for every candidate, so that differences are sharper than chances."""

WITH_CHANCE = 40
"""Candidates of a ranking, the best first, whose chances are worked out."""

WORTHLESS = 0.005
"""A reading that lowers no target by this share of its limit is not worth taking; common practice."""


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken: a test or a dim, and what it costs.

    Attributes:
        name: for people.
        observation: as it would be; its values do not matter.
        minutes: of work.
    """

    name: str
    observation: Observation
    minutes: float


@dataclass(frozen=True)
class Left:
    """What is left of one target: largest over the poses, root mean square over the components' sum; mm or rad.

    Attributes:
        unknown: of what is not known of the error.
        adjusted: of the whole error, after the adjusters are set as well as what is known allows.
        chance: to meet the limit everywhere after that; None where it was not asked for.
    """

    unknown: float
    adjusted: float
    chance: float | None


@dataclass(frozen=True)
class Worth:
    """What one reading would be worth.

    Attributes:
        name: of the candidate.
        minutes: of work.
        now: for each target, as it stands.
        then: for each target, after the reading, on average over what may be found.
        gain: largest fall of 'adjusted' among the targets, as a share of the limit; where nothing can be adjusted,
            of 'unknown'.
        of: what the gain counts, 'adjusted' or 'unknown'.
        most: number of the target that gains most, in the order of ``now`` and ``then``.
        target: its name; '' where the targets were given none.
        dimension: of its errors.
        limit: of it, mm or rad.
    """

    name: str
    minutes: float
    now: tuple[Left, ...]
    then: tuple[Left, ...]
    gain: float
    of: Literal["adjusted", "unknown"] = "unknown"
    most: int = 0
    target: str = ""
    dimension: Dimension = Dimension.LENGTH
    limit: float = 0.0

    @property
    def gain_per_minute(self) -> float:
        """Gain for a minute of work."""
        return self.gain / self.minutes

    @property
    def worthwhile(self) -> bool:
        """It brings enough to be worth taking at all."""
        return self.gain >= WORTHLESS

    @property
    def verdict(self) -> str:
        """The same in words."""
        return "worth taking" if self.worthwhile else "not worth taking"

    @property
    def of_target(self) -> tuple[Left, Left]:
        """The target that gains most, now and then."""
        return self.now[self.most], self.then[self.most]


@dataclass(frozen=True)
class _Learned:
    """What a reading would teach about the error, row by row, each row counted in its limit.

    Attributes:
        axes: directions in the open unknowns, (k, open).
        known: share of each direction that becomes known, (k,).
        through: effect of each direction on the error, (rows, k).
        reached: the part of that effect that the adjusters can take out, (rows, k).
    """

    axes: Array
    known: Array
    through: Array
    reached: Array

    @property
    def variance(self) -> Array:
        """Variance that is no longer unknown, (rows,)."""
        return np.asarray((self.through**2 * self.known).sum(axis=1))

    @property
    def beyond(self) -> Array:
        """The part of it that stays in the error all the same, (rows,)."""
        return np.asarray(((self.through - self.reached) ** 2 * self.known).sum(axis=1))


class Prospect:
    """The targets of a machine as they stand, ready to be asked what a reading would change.

    Args:
        knowledge: what is known.
        rows: of each target.
        limits: of each target, mm or rad.
        adjustable: what can still be set: places in x, or movements of x as columns, (sources, k).
        state: in which the machine is; None takes the newest.
        names: of the targets; may be left out.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        rows: Sequence[Rows],
        limits: Sequence[float],
        adjustable: Sequence[int] | Array = (),
        state: int | None = None,
        names: Sequence[str] = (),
    ) -> None:
        self.names = tuple(names) or ("",) * len(limits)
        self.knowledge, self.state = knowledge, knowledge.line.newest if state is None else state
        self.limits = tuple(limits)
        self._shapes = [r.matrix.shape[:2] for r in rows]
        counts = [poses * components for poses, components in self._shapes]
        self._ends = np.cumsum([0, *counts]).tolist()
        weights = np.repeat(1 / np.array(self.limits), counts)[:, None]
        self._rows, self._weights = tuple(rows), weights
        # an orthonormal basis of what the adjusters can do at the tool
        moves = np.asarray(adjustable)
        flat = [r.matrix.reshape(-1, r.matrix.shape[-1]) for r in rows]
        effects = [part @ moves if moves.ndim == 2 else part[:, moves.astype(int)] for part in flat]
        self._reach = _basis(weights * np.concatenate(effects))
        mean = weights[:, 0] * np.concatenate([knowledge.of_target(r, self.state)[0] for r in rows])
        self._mean = mean - self._reach @ (self._reach.T @ mean)
        self._beyond = np.zeros(len(mean))
        self._fixed = np.zeros((len(mean), 1), np.float32)
        self._step = 0
        self._see(knowledge)

    def _see(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        parts = [knowledge.of_target(r, self.state)[1] for r in self._rows]
        self._root = self._weights * np.concatenate(parts)
        self._variance = (self._root**2).sum(axis=1)
        self._drawn: tuple[NDArray[np.float32], NDArray[np.float32]] | None = None

    def _draw(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Draws of the open unknowns, (open, trials), and the errors they make, (rows, trials)."""
        if self._drawn is None:
            # after each reading anew: what is still unknown has nothing to do with what was found
            seed = np.random.SeedSequence(11, spawn_key=(self._step,))
            generator = np.random.Generator(np.random.SFC64(seed))
            draws = generator.standard_normal((self._root.shape[1], TRIALS), np.float32)
            errors = self._mean[:, None].astype(np.float32) + self._fixed
            self._drawn = draws, errors + self._root.astype(np.float32) @ draws
        return self._drawn

    @property
    def adjusts(self) -> bool:
        """There is something to set that moves a target."""
        return bool(self._reach.size)

    def now(self, *, chance: bool = True) -> tuple[Left, ...]:
        """Every target as it stands, the adjusters set by what is known."""
        whole = self._variance + self._mean**2 + self._beyond
        return self._left(self._variance, whole, self._draw()[1] if chance else None)

    def worth(self, candidate: Candidate, *, chance: bool = True) -> Worth:
        """What a candidate would change."""
        learned = self._learned(directions(self.knowledge.sees(candidate.observation)))
        errors = None
        if chance:
            errors = self._draw()[1] - learned.reached.astype(np.float32) @ self._found(learned)
        return self._worth(candidate, learned.variance, learned.beyond, errors)

    def worths(self, candidates: Sequence[Candidate], seen: Sequence[Array] | None = None) -> list[Worth]:
        """What each of several candidates would change, without chances; all of them in one product."""
        if not candidates:
            return []
        if seen is None:
            seen = self.knowledge.sees_all([c.observation for c in candidates])
        found = [directions(one) for one in seen]
        learned = self._learned(
            (np.concatenate([sizes for sizes, _ in found]), np.concatenate([axes for _, axes in found]))
        )
        starts = np.cumsum([0, *(len(sizes) for sizes, _ in found[:-1])])
        told = np.add.reduceat(learned.through**2 * learned.known, starts, axis=1)
        beyond = np.add.reduceat((learned.through - learned.reached) ** 2 * learned.known, starts, axis=1)
        now = self.now(chance=False)
        return [self._worth(c, told[:, n], beyond[:, n], None, now) for n, c in enumerate(candidates)]

    def _worth(
        self,
        candidate: Candidate,
        told: Array,
        beyond: Array,
        errors: NDArray[np.floating] | None,
        now: tuple[Left, ...] | None = None,
    ) -> Worth:
        unknown = np.maximum(self._variance - told, 0)
        whole = unknown + self._mean**2 + self._beyond + beyond
        now = self.now(chance=errors is not None) if now is None else now
        then = self._left(unknown, whole, errors)
        of: Literal["adjusted", "unknown"] = "adjusted" if self.adjusts else "unknown"
        falls = [(getattr(a, of) - getattr(b, of)) / m for a, b, m in zip(now, then, self.limits)]
        most = falls.index(max(falls))
        return Worth(
            candidate.name,
            candidate.minutes,
            now,
            then,
            max(0.0, falls[most]),
            of,
            most,
            self.names[most],
            self._rows[most].dimension,
            self.limits[most],
        )

    def after(self, candidate: Candidate) -> "Prospect":
        """As it would be with the candidate read, on average over what may be found."""
        knowledge, seen = self.knowledge, candidate.observation
        learned = self._learned(directions(knowledge.sees(seen)))
        # a finding just as expected leaves the mean where it is
        shown = knowledge.foretold(seen)
        other = copy(self)
        other._step = self._step + 1
        other._beyond = self._beyond + learned.beyond
        beyond = (learned.through - learned.reached).astype(np.float32)
        other._fixed = self._fixed + beyond @ self._found(learned)
        other._see(knowledge.with_one_more(replace(seen, values=shown)))
        return other

    def _learned(self, seen: tuple[Array, Array]) -> _Learned:
        sizes, axes = seen
        through = self._root @ axes.T
        reached = self._reach @ (self._reach.T @ through)
        return _Learned(axes, sizes**2 / (1 + sizes**2), through, reached)

    def _found(self, learned: _Learned) -> NDArray[np.float32]:
        """What the reading would find along each direction in each of the machines drawn, (k, trials)."""
        along = learned.axes.astype(np.float32) @ self._draw()[0]
        seed = np.random.SeedSequence(12, spawn_key=(self._step,))
        generator = np.random.Generator(np.random.SFC64(seed))
        known = learned.known[:, None].astype(np.float32)
        noise = generator.standard_normal(along.shape, np.float32)
        return np.asarray(known * along - np.sqrt(known * (1 - known)) * noise, np.float32)

    def _left(self, unknown: Array, whole: Array, errors: NDArray[np.floating] | None) -> tuple[Left, ...]:
        out = []
        for start, end, shape, limit in zip(self._ends[:-1], self._ends[1:], self._shapes, self.limits):
            open_, all_ = (
                float(limit * np.sqrt(part[start:end].reshape(shape).sum(axis=1).max()))
                for part in (unknown, whole)
            )
            chance = None
            if errors is not None:
                sizes = (errors[start:end].reshape(*shape, -1) ** 2).sum(axis=1).max(axis=0)
                chance = float((sizes <= 1).mean())
            out.append(Left(open_, all_, chance))
        return tuple(out)


def ranking(
    prospect: Prospect,
    candidates: Sequence[Candidate],
    *,
    per_minute: bool = True,
    with_chance: int = WITH_CHANCE,
    seen: Sequence[Array] | None = None,
) -> list[Worth]:
    """Candidates by what they are worth, the best first.

    Args:
        prospect: the targets as they stand.
        candidates: readings that could be taken.
        seen: what each sees, as ``Knowledge.sees_all`` gives it, where that is known already.
        per_minute: rank by gain for a minute of work; otherwise by gain.
        with_chance: of how many, the best first, chances are worked out.
    """

    def rank(worth: Worth) -> float:
        return -(worth.gain_per_minute if per_minute else worth.gain)

    found = list(zip(prospect.worths(candidates, seen), candidates))
    found.sort(key=lambda pair: rank(pair[0]))
    best = [prospect.worth(candidate) for _, candidate in found[:with_chance]]
    return [*best, *(worth for worth, _ in found[with_chance:])]


@dataclass(frozen=True)
class Plan:
    """Readings for the hours there are, in the order in which to take them.

    Attributes:
        readings: each with what it brings when those before it are taken.
        minutes: all of them together.
        before, after: every target.
    """

    readings: tuple[Worth, ...]
    minutes: float
    before: tuple[Left, ...]
    after: tuple[Left, ...]


def plan(
    prospect: Prospect,
    candidates: Sequence[Candidate],
    minutes: float,
    *,
    least: float = WORTHLESS,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Plan:
    """The best readings for a number of minutes, chosen one after the other, each best per minute after the last.

    Args:
        prospect: the targets as they stand.
        candidates: readings that could be taken, each at most once.
        minutes: that there are.
        least: smallest gain worth walking to the machine for, as a share of a limit.
        progress: called with the minutes that are filled and those that there are.
        cancel: asked before each reading is chosen; True stops.

    Raises:
        Cancelled: ``cancel`` said so.
    """
    before, left, now = prospect.now(), list(candidates), prospect
    chosen: list[Worth] = []
    while True:
        minutes_left = minutes - sum(w.minutes for w in chosen)
        if progress is not None:
            progress(round(minutes - minutes_left), round(minutes))
        if cancel is not None and cancel():
            raise Cancelled(f"stopped with {len(chosen)} readings chosen")
        left = [c for c in left if c.minutes <= minutes_left]
        worths = [(w, c) for w, c in zip(now.worths(left), left) if w.gain >= least]
        if not worths:
            return Plan(tuple(chosen), minutes - minutes_left, before, now.now())
        best = max(worths, key=lambda pair: pair[0].gain_per_minute)[1]
        chosen.append(now.worth(best))
        now = now.after(best)
        left = [c for c in left if c is not best]


def directions(seen: Array) -> tuple[Array, Array]:
    """What a reading sees, direction by direction: its singular values, (k,), and right vectors, (k, open).

    A direction of size s becomes known by the share s² / (1 + s²).
    """
    if len(seen) == 1:
        size = np.sqrt(seen @ seen.T)
        return size[0], seen / (size if size > 0 else 1.0)
    _, sizes, axes = np.linalg.svd(seen, full_matrices=False)
    return sizes, axes


def _basis(effect: Array) -> Array:
    if not effect.shape[1]:
        return np.zeros((len(effect), 0))
    u, sizes, _ = np.linalg.svd(effect, full_matrices=False)
    return np.asarray(u[:, sizes > 1e-9 * sizes.max(initial=0)])
