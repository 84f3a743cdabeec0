"""Branch and bound over the places: the best choices without looking at every one of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.errors import RequestError
from loopwright.fitup.assignment import ROUNDING, Tally, Task, Watch
from loopwright.fitup.nearest import Array, Picks

SAMPLE = 20_000
MIXTURES = 12
"""Weighted means over the poses that bound a search; more prune better and cost more."""
MOST_PRODUCTS = 2**23
"""Numbers in the table of products that the bounds look up."""
MOST_ENTRIES = 6000
"""Places times candidates that the table can hold."""
IMPROVED = 5
"""Choices of the sample that are improved by changing one place, or swapping two, until nothing helps."""
AT_ONCE = 2**20


@dataclass(frozen=True)
class Bounds:
    """Weighted means over the poses of the squared size, as sums over places and pairs of places.

    The largest over the poses is no less than any of them, and each is a table look-up.

    Attributes:
        constant: (mixtures,).
        single: of each candidate in each place, (mixtures, places, candidates); infinite where barred.
        pair: of each two of them, (mixtures, places, candidates, places, candidates).
        share: half the least over the partner, (mixtures, places, candidates, places of the partner).
    """

    constant: Array
    single: Array
    pair: Array
    share: Array

    @classmethod
    def of(cls, task: Task, weights: Array) -> "Bounds":
        """From weights over the poses, (mixtures, poses)."""
        places, candidates = task.allowed.shape
        linear = task.variance + (task.mean**2).sum(axis=3) + 2 * (task.mean * task.base).sum(axis=3)
        single = np.einsum("jcp,lp->ljc", linear, weights)
        single[:, ~task.allowed] = np.inf
        flat = task.mean.reshape(places * candidates, *task.base.shape)
        pair = np.empty((len(weights), places * candidates, places * candidates))
        for table, weight in zip(pair, weights):
            root = (flat * np.sqrt(weight)[:, None]).reshape(places * candidates, -1)
            np.matmul(2 * root, root.T, out=table)
        pair = pair.reshape(len(weights), places, candidates, places, candidates)
        share = 0.5 * np.where(task.allowed, pair, np.inf).min(axis=4)
        return cls(weights @ ((task.base**2).sum(axis=1) + task.base_variance), single, pair, share)


@dataclass(frozen=True)
class Node:
    """Some places filled.

    Attributes:
        filled: candidates by place.
        constant: what the bounds have come to, (mixtures,).
        single: what each open place would add to them, (mixtures, places, candidates); infinite where it cannot.
        mean: of everything filled, (poses, components).
        variance: likewise, (poses,).
    """

    filled: dict[int, int]
    constant: Array
    single: Array
    mean: Array
    variance: Array


class Search:
    """Depth first over the places, the most promising candidate first; the last two places at once.

    Args:
        task: what is to be chosen.
        bounds: of it.
        tally: takes in every choice that is evaluated.
        to_beat: squared objective below which a choice is of interest.
        watch: told at each node.
    """

    def __init__(
        self, task: Task, bounds: Bounds, tally: Tally, to_beat: Callable[[], float], watch: Watch
    ) -> None:
        self.task, self.bounds, self.tally, self.to_beat, self.watch = task, bounds, tally, to_beat, watch
        may = task.allowed[:, :, None, None]
        self.low = np.where(may, task.mean, np.inf).min(axis=1)
        self.high = np.where(may, task.mean, -np.inf).max(axis=1)
        self.least = np.where(may[..., 0], task.variance, np.inf).min(axis=1)

    def run(self, order: Sequence[int], first: int | None = None) -> None:
        """Fills the places in that order; the first with one candidate, where it is given."""
        self._descend(self.root(), tuple(order), None if first is None else np.array([first]))

    def root(self) -> Node:
        """Nothing filled."""
        bounds, task = self.bounds, self.task
        return Node({}, bounds.constant, bounds.single, task.base, task.base_variance)

    def _descend(self, node: Node, order: tuple[int, ...], only: Picks | None) -> None:
        self.watch.step()
        if len(order) == 2:
            self._last_two(node, (order[0], order[1]), only)
            return
        place, rest = order[0], order[1:]
        children = self._open(node, place) if only is None else only
        bound = self.bound(node, place, rest, children)
        for i in np.argsort(bound, kind="stable"):
            if not bound[i] < self.to_beat():
                break
            self._descend(self.filled(node, place, int(children[i])), rest, None)

    def _open(self, node: Node, place: int) -> Picks:
        may = self.task.allowed[place].copy()
        may[list(node.filled.values())] = False
        return np.flatnonzero(may)

    def filled(self, node: Node, place: int, candidate: int) -> Node:
        """One place more filled."""
        task, bounds = self.task, self.bounds
        single = node.single + bounds.pair[:, place, candidate]
        single[:, :, candidate] = np.inf
        return Node(
            {**node.filled, place: candidate},
            node.constant + node.single[:, place, candidate],
            single,
            node.mean + task.mean[place, candidate],
            node.variance + task.variance[place, candidate],
        )

    def bound(self, node: Node, place: int, rest: tuple[int, ...], children: Picks) -> Array:
        """What no choice with each of some candidates in a place can get below, (children,).

        Args:
            node: what is filled.
            place: the place to fill.
            rest: the places that are open after that, one at the least.
            children: candidates that are not used yet, (children,).
        """
        places, rows = list(rest), np.arange(len(children))
        shares = sum(
            (self.bounds.share[:, places, :, other] for other in rest),
            np.zeros((len(rest), len(node.constant), self.task.allowed.shape[1])),
        )
        # a place shares nothing with itself
        shares = shares - np.stack([self.bounds.share[:, other, :, other] for other in rest])
        single = self.bounds.pair[:, place][:, children][:, :, places] + node.single[:, None, places]
        single += shares.transpose(1, 0, 2)[:, None]
        single[:, rows, :, children] = np.inf
        mixed = node.constant[:, None] + node.single[:, place, children] + single.min(axis=3).sum(axis=2)
        mean = node.mean + self.task.mean[place, children]
        low, high = mean + self.low[places].sum(axis=0), mean + self.high[places].sum(axis=0)
        nearest = np.maximum(np.maximum(low, -high), 0.0)
        squares = (nearest**2).sum(axis=2) + node.variance + self.task.variance[place, children]
        squares += self.least[places].sum(axis=0)
        return np.asarray(np.maximum(mixed.max(axis=0), self.task.reduce(squares.T)))

    def _last_two(self, node: Node, last: tuple[int, int], only: Picks | None) -> None:
        a, b = last
        first, second = self._open(node, a) if only is None else only, self._open(node, b)
        if not (len(first) and len(second)):
            return
        bound = self.bounds.pair[:, a][:, first, b][:, :, second]
        bound += (node.constant[:, None] + node.single[:, a, first])[:, :, None]
        bound += node.single[:, b, second][:, None]
        least = bound.max(axis=0)
        least[first[:, None] == second] = np.inf
        rows, columns = np.nonzero(least < self.to_beat())
        if not len(rows):
            return
        if 10 * len(rows) < least.size:
            picks = np.empty((len(rows), len(node.filled) + 2), np.int64)
            for place, candidate in node.filled.items():
                picks[:, place] = candidate
            picks[:, a], picks[:, b] = first[rows], second[columns]
            self.tally.add(self.task.costs(picks), picks)
        else:
            costs = self.task.pair_costs(last, (node.mean, node.variance), (first, second))
            self.tally.add_pairs(costs, node.filled, last, (first, second))


def search_best(task: Task, seed: int, *, forced: bool, watch: Watch) -> tuple[Tally, float, float, Array]:
    """The best choices, proven, and a sample of all.

    Args:
        task: what is to be chosen.
        seed: of the sample.
        forced: whether to find what each candidate would cost.
        watch: told at each node.

    Returns:
        The tally, the mean objective of the sample and its standard uncertainty, and the squared objective with each
        candidate in use, (candidates,).

    Raises:
        RequestError: too many places and candidates, or hardly any choice that is allowed.
        Cancelled: the watch said so.
    """
    places, candidates = task.allowed.shape
    if places * candidates > MOST_ENTRIES:
        raise RequestError(
            f"{places} places and {candidates} candidates are too many", "bring fewer candidates"
        )
    tally = Tally(np.full(candidates, np.inf))
    picks = _sample(task, seed)
    costs = task.costs(picks)
    tally.add(costs, picks)
    sizes = np.sqrt(costs)
    good = picks[np.argsort(costs, kind="stable")[:200]]
    good = np.concatenate([_improved(task, tally, one) for one in good[:IMPROVED]] + [good])
    bounds = Bounds.of(task, _mixtures(task, good))
    order = _order(task)
    Search(task, bounds, tally, lambda: tally.to_beat, watch).run(order)
    cost = np.full(candidates, np.nan)
    if forced:
        cost = _forced(task, bounds, tally, order, watch)
    tally.settle(task)
    std = float(sizes.std(ddof=1) / np.sqrt(len(sizes)))
    return tally, float(sizes.mean()), std, cost


def _order(task: Task) -> list[int]:
    """Places in which the candidates differ most come first; the rest is then bounded closely."""
    spread = np.where(task.allowed[:, :, None, None], task.mean, np.nan)
    differ = np.nanstd(spread, axis=1).max(axis=(1, 2))
    return [int(j) for j in np.argsort(-differ, kind="stable")]


def _sample(task: Task, seed: int) -> Picks:
    """Choices drawn with equal chances, (m, places)."""
    generator = np.random.Generator(np.random.SFC64(seed))
    places, candidates = task.allowed.shape
    most, found, tried = max(AT_ONCE // candidates, 1), [np.empty((0, places), np.int64)], 0
    while sum(map(len, found)) < SAMPLE and tried < 50 * SAMPLE:
        # candidates in the order of their random numbers are a fair draw without replacement
        count = candidates - int(task.padded)
        picks = generator.random((most, count)).argsort(axis=1)[:, : places - int(task.padded)]
        if task.padded:
            picks = np.concatenate([np.full((most, 1), count), picks], axis=1)
        found.append(picks[task.allowed[np.arange(places), picks].all(axis=1)])
        tried += most
    every = np.concatenate(found)[:SAMPLE]
    if len(every) < 2:
        raise RequestError(
            "hardly any choice is allowed", "bar fewer candidates, or fill the barred places first"
        )
    return every


def _improved(task: Task, tally: Tally, start: Picks) -> Picks:
    """The choices on the way down from a start, (m, places)."""
    way = [start]
    cost = task.costs(start[None])[0]
    for _ in range(100):
        neighbours = _neighbours(task, way[-1])
        costs = task.costs(neighbours)
        tally.add(costs, neighbours)
        if not len(costs) or not costs.min() < cost * (1 - ROUNDING):
            break
        cost = costs.min()
        way.append(neighbours[costs.argmin()])
    return np.stack(way)


def _neighbours(task: Task, picks: Picks) -> Picks:
    """Choices with one place changed, or two swapped, (m, places)."""
    places, candidates = task.allowed.shape
    spare = np.setdiff1d(np.arange(candidates), picks)
    changed = np.tile(picks, (places * len(spare), 1))
    changed[np.arange(len(changed)), np.repeat(np.arange(places), len(spare))] = np.tile(spare, places)
    a, b = np.triu_indices(places, 1)
    swapped = np.tile(picks, (len(a), 1))
    rows = np.arange(len(a))
    swapped[rows, a], swapped[rows, b] = picks[b], picks[a]
    every = np.concatenate([changed, swapped])
    return np.asarray(every[task.allowed[np.arange(places), every].all(axis=1)])


def _mixtures(task: Task, good: Picks) -> Array:
    """Weights over the poses, (mixtures, poses): each target's mean, and where good choices are worst."""
    squares = task.squares(good)
    poses = len(task.base)
    means, single = [], np.zeros(poses)
    for part, size in task.parts:
        weight = np.zeros(poses)
        weight[part] = 1 / (part.stop - part.start)
        means.append(weight)
        if size == "largest":
            worst = part.start + squares[part].argmax(axis=0)
            single += np.bincount(worst, minlength=poses)
    often = np.argsort(-single, kind="stable")[: np.count_nonzero(single)]
    weights = means + ([single / single.sum()] if len(often) else []) + list(np.eye(poses)[often])
    most = max(MOST_PRODUCTS // task.allowed.size**2, len(task.parts))
    return np.stack(weights[: min(most, MIXTURES + len(task.parts))])


def _forced(task: Task, bounds: Bounds, tally: Tally, order: Sequence[int], watch: Watch) -> Array:
    """Least squared objective with each candidate in use, (candidates,)."""
    for candidate in np.flatnonzero(task.allowed.any(axis=0)):

        def to_beat(chosen: int = int(candidate)) -> float:
            return float(tally.forced[chosen]) * (1 - ROUNDING)

        search = Search(task, bounds, tally, to_beat, watch)
        for place in np.flatnonzero(task.allowed[:, candidate]):
            search.run([int(place), *(j for j in order if j != place)], int(candidate))
    return tally.forced.copy()
