"""Choices of candidates for places: their cost, all of them or the best by branch and bound."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import perm
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import Cancelled, RequestError
from loopwright.fitup.nearest import Array, Bools, Cancel, Picks, Progress, not_negative, numbers

Size = Literal["largest", "rms"]

RANKED = 10
AT_A_TIME = 2**21
"""Numbers in one block of work."""
FEW_PAIRS = 64
"""With fewer pairs than this for the last two places, choices are evaluated one by one."""
ROUNDING = 1e-12


@dataclass(frozen=True)
class Block:
    """One target over its poses, and what each candidate would bring to it in each place.

    Errors may be in any unit, limit included. The contributions of the places, and the base, are independent.

    Attributes:
        mean: expected error that candidate c brings in place j, (places, candidates, poses, components).
        variance: of the error that it brings, same shape, zero or more.
        base_mean: expected error of everything else, (poses, components).
        base_variance: its variance, (poses, components), zero or more.
        limit: of the size; the objective is the size divided by it.
        size: which size counts, that at the worst pose or the root mean square over the poses.
    """

    mean: Array
    variance: Array
    base_mean: Array
    base_variance: Array
    limit: float = 1.0
    size: Size = "largest"

    def __post_init__(self) -> None:
        mean = numbers(self.mean, "the mean of the candidates")
        if mean.ndim != 4 or not mean.size:
            raise RequestError(
                f"the mean of the candidates has the shape {mean.shape}",
                "give it as (places, candidates, poses, components), none of them zero",
            )
        not_negative(self.variance, "the variance of the candidates", mean.shape)
        numbers(self.base_mean, "the mean of the rest", mean.shape[2:])
        not_negative(self.base_variance, "the variance of the rest", mean.shape[2:])
        if not 0 < self.limit < np.inf:
            raise RequestError(f"the limit {self.limit:g}", "give one above zero")
        if self.size not in ("largest", "rms"):
            raise RequestError(f"the size '{self.size}'", "take 'largest' or 'rms'")


@dataclass
class Watch:
    """Tells how far a search is, and stops it.

    Attributes:
        progress: called with the steps done and how many there are, or None where that is open.
        cancel: asked at each step; True stops.
        of: how many steps there are.
        done: steps done.
    """

    progress: Progress | None = None
    cancel: Cancel | None = None
    of: int | None = None
    done: int = 0

    def step(self) -> None:
        """One step more."""
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, self.of)
        if self.cancel is not None and self.cancel():
            raise Cancelled(f"stopped after {self.done} steps")


def _permitted(blocks: Sequence[Block], allowed: ArrayLike | None) -> Bools:
    """Which candidate may go where, (places, candidates), once everything is found to agree."""
    shapes = {block.mean.shape[:2] for block in blocks}
    if len(shapes) != 1:
        raise RequestError(
            "the targets differ in places or candidates", "give one target or more, all of the same"
        )
    places, candidates = shapes.pop()
    may = np.ones((places, candidates), bool) if allowed is None else np.asarray(allowed, bool)
    if may.shape != (places, candidates):
        raise RequestError(f"'allowed' has the shape {may.shape}", f"give it as {(places, candidates)}")
    if places > candidates:
        raise RequestError(
            f"{places} places and {candidates} candidates",
            "inspect as many parts as there are places, or more",
        )
    if not may.any(axis=1).all():
        number = int(np.flatnonzero(~may.any(axis=1))[0]) + 1
        raise RequestError(f"no candidate is allowed in place {number}", "allow one at the least")
    return may


@dataclass(frozen=True)
class Task:
    """All targets as one: errors divided by their limits, poses side by side, components filled up with zeros.

    A single place gets an empty one before it, which one empty candidate fills; so there are always two at the end.

    Attributes:
        mean: (places, candidates, poses, components).
        variance: summed over components, (places, candidates, poses).
        base: (poses, components).
        base_variance: (poses,).
        allowed: (places, candidates).
        parts: poses of each target, and which size of it counts.
        candidates: how many there are, without the empty one.
        padded: whether there is an empty place.
    """

    mean: Array
    variance: Array
    base: Array
    base_variance: Array
    allowed: Bools
    parts: tuple[tuple[slice, Size], ...]
    candidates: int
    padded: bool

    @classmethod
    def of(cls, blocks: Sequence[Block], allowed: ArrayLike | None) -> "Task":
        """From targets, checked against each other."""
        may = _permitted(blocks, allowed)
        places, candidates = may.shape
        widest = max(block.mean.shape[3] for block in blocks)
        pad = int(places == 1)
        parts: list[tuple[slice, Size]] = []
        start = 0
        for block in blocks:
            parts.append((slice(start, start + block.mean.shape[2]), block.size))
            start += block.mean.shape[2]
        grown = np.zeros((places + pad, candidates + pad), bool)
        grown[pad:, :candidates] = may
        if pad:
            grown[0, -1] = True
        front = ((pad, 0), (0, pad))
        means = [np.pad(b.mean / b.limit, (*front, (0, 0), (0, widest - b.mean.shape[3]))) for b in blocks]
        bases = [np.pad(b.base_mean / b.limit, ((0, 0), (0, widest - b.mean.shape[3]))) for b in blocks]
        variances = [np.pad(b.variance.sum(axis=3) / b.limit**2, (*front, (0, 0))) for b in blocks]
        return cls(
            np.concatenate(means, axis=2),
            np.concatenate(variances, axis=2),
            np.concatenate(bases),
            np.concatenate([b.base_variance.sum(axis=1) / b.limit**2 for b in blocks]),
            grown,
            tuple(parts),
            candidates,
            bool(pad),
        )

    @property
    def at_most(self) -> int:
        """Choices that there are, or rather more where candidates are barred."""
        bound = 1
        for count in self.allowed.sum(axis=1).tolist():
            bound *= count
        places, candidates = self.allowed.shape
        return min(perm(candidates, places), bound)

    def named(self, picks: tuple[int, ...]) -> tuple[int, ...]:
        """The candidates of a choice without the empty place."""
        return picks[int(self.padded) :]

    def reduce(self, squares: Array) -> Array:
        """Squared objective from squared sizes; poses are the first axis and go."""
        found = [
            squares[part].max(axis=0) if size == "largest" else squares[part].mean(axis=0)
            for part, size in self.parts
        ]
        return np.asarray(np.max(found, axis=0))

    def squares(self, picks: Picks) -> Array:
        """Squared size at each pose of complete choices, (poses, m)."""
        mean = np.broadcast_to(self.base, (len(picks), *self.base.shape)).copy()
        total = np.broadcast_to(self.base_variance, (len(picks), len(self.base))).copy()
        for place, column in enumerate(picks.T):
            mean += self.mean[place, column]
            total += self.variance[place, column]
        return np.asarray((total + np.einsum("mpc,mpc->mp", mean, mean)).T)

    def costs(self, picks: Picks) -> Array:
        """Squared objective of complete choices, (m,)."""
        most = max(AT_A_TIME // self.base.size, 1)
        parts = [self.reduce(self.squares(picks[i : i + most])) for i in range(0, len(picks), most)]
        return np.concatenate(parts) if parts else np.empty(0)

    def pair_costs(
        self, last: tuple[int, int], before: tuple[Array, Array], pair: tuple[Picks, Picks]
    ) -> Array:
        """Squared objective of all candidates for the last two places, (m, n).

        Args:
            last: the two places.
            before: mean (poses, components) and variance (poses,) of everything else.
            pair: candidates for the one, (m,), and for the other, (n,).
        """
        (a, b), (first, second) = last, pair
        mean = before[0] + self.mean[a, first]
        other = self.mean[b, second]
        own = (mean**2).sum(axis=2) + self.variance[a, first] + before[1]
        theirs = (other**2).sum(axis=2) + self.variance[b, second]
        doubled, turned = 2 * mean.transpose(1, 0, 2), other.transpose(1, 2, 0)
        found = np.empty((len(first), len(second)))
        most = max(AT_A_TIME // max(len(self.base) * len(second), 1), 1)
        for i in range(0, len(first), most):
            squares = doubled[:, i : i + most] @ turned
            squares += own.T[:, i : i + most, None]
            squares += theirs.T[:, None, :]
            found[i : i + most] = self.reduce(squares)
        found[first[:, None] == second] = np.inf
        return np.maximum(found, 0.0)


@dataclass
class Tally:
    """What has been evaluated: the best, and more where every choice is.

    Attributes:
        forced: least squared objective seen with each candidate, (candidates,).
        ranked: the best seen, squared objective and candidates.
        keep: how many of them.
        count: choices evaluated.
        total: sum of their objectives.
        worst: largest squared objective.
    """

    forced: Array
    ranked: list[tuple[float, tuple[int, ...]]] = field(default_factory=list)
    keep: int = RANKED
    count: int = 0
    total: float = 0.0
    worst: float = 0.0

    @property
    def to_beat(self) -> float:
        """Squared objective below which a choice gets a rank."""
        return self.ranked[-1][0] * (1 - ROUNDING) if len(self.ranked) == self.keep else np.inf

    def add(self, costs: Array, picks: Picks) -> None:
        """Takes in complete choices, (m,) and (m, places)."""
        self._sum(costs)
        for column in picks.T:
            np.minimum.at(self.forced, column, costs)
        self._rank(costs, lambda places: picks[places])

    def add_pairs(
        self, costs: Array, before: dict[int, int], last: tuple[int, int], pair: tuple[Picks, Picks]
    ) -> None:
        """Takes in all candidates of the last two places after the others; infinite where there is no choice."""
        first, second = pair
        if not costs.size:
            return
        finite = costs[np.isfinite(costs)]
        self._sum(finite)
        self.forced[first] = np.minimum(self.forced[first], costs.min(axis=1))
        self.forced[second] = np.minimum(self.forced[second], costs.min(axis=0))
        others = list(before.values())
        self.forced[others] = np.minimum(self.forced[others], costs.min())

        def picks(places: NDArray[np.intp]) -> Picks:
            found = np.empty((len(places), len(before) + 2), np.int64)
            for place, candidate in before.items():
                found[:, place] = candidate
            found[:, last[0]], found[:, last[1]] = first[places // len(second)], second[places % len(second)]
            return found

        self._rank(costs.ravel(), picks)

    def _sum(self, costs: Array) -> None:
        if len(costs):
            self.count += len(costs)
            self.total += float(np.sqrt(costs).sum())
            self.worst = max(self.worst, float(costs.max()))

    def _rank(self, costs: Array, picks: Callable[[NDArray[np.intp]], Picks]) -> None:
        good = np.flatnonzero(costs < self.to_beat)
        if not len(good):
            return
        if len(good) > 2 * self.keep:
            good = good[np.argpartition(costs[good], 2 * self.keep)[: 2 * self.keep]]
        known = {chosen: cost for cost, chosen in self.ranked}
        for place, chosen in zip(good, picks(good).tolist()):
            known.setdefault(tuple(chosen), float(costs[place]))
        self.ranked = sorted((cost, chosen) for chosen, cost in known.items() if np.isfinite(cost))[
            : self.keep
        ]

    def settle(self, task: Task) -> None:
        """Evaluates the best once more, without the cancellation of the quick way."""
        if self.ranked:
            picks = np.array([chosen for _, chosen in self.ranked], np.int64)
            self.ranked = sorted(zip(task.costs(picks).tolist(), (chosen for _, chosen in self.ranked)))


def evaluate_all(task: Task, watch: Watch) -> Tally:
    """Every choice. A step for the watch is one filling of all places but the last two, or many of them."""
    places, candidates = task.allowed.shape
    tally = Tally(np.full(candidates, np.inf))
    picks = np.empty((1, 0), np.int64)
    last = (places - 2, places - 1)
    for place in range(places - 2):
        picks = _extended(picks, task.allowed[place])
    if (candidates - places + 2) ** 2 < FEW_PAIRS:
        for place in last:
            picks = _extended(picks, task.allowed[place])
        most = max(AT_A_TIME // task.base.size, 1)
        watch.of = -(-len(picks) // most)
        for i in range(0, len(picks), most):
            tally.add(task.costs(picks[i : i + most]), picks[i : i + most])
            watch.step()
    else:
        watch.of = len(picks)
        for row in picks.tolist():
            before = dict(enumerate(row))
            pair = _open(task, before, last)
            tally.add_pairs(task.pair_costs(last, _sums(task, before), pair), before, last, pair)
            watch.step()
    tally.settle(task)
    return tally


def _extended(picks: Picks, allowed: Bools) -> Picks:
    """Every partial choice with each candidate for the next place, (m, places + 1)."""
    may = np.broadcast_to(allowed, (len(picks), len(allowed))).copy()
    np.put_along_axis(may, picks, False, axis=1)
    row, candidate = np.nonzero(may)
    return np.concatenate([picks[row], candidate[:, None]], axis=1)


def _open(task: Task, before: dict[int, int], last: tuple[int, int]) -> tuple[Picks, Picks]:
    """Candidates still to be had for two places."""
    used = np.zeros(task.allowed.shape[1], bool)
    used[list(before.values())] = True
    first, second = (np.flatnonzero(task.allowed[place] & ~used) for place in last)
    return first, second


def _sums(task: Task, before: dict[int, int]) -> tuple[Array, Array]:
    """Mean and variance of the base and some filled places."""
    places, candidates = list(before), list(before.values())
    return (
        task.base + task.mean[places, candidates].sum(axis=0),
        task.base_variance + task.variance[places, candidates].sum(axis=0),
    )
