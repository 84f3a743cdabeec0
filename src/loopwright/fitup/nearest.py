"""Nearest point: within bounds, or among choices. The searches behind settings and foils, and their checks."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import Cancelled, RequestError

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Picks = NDArray[np.int64]
Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]

NODE_LIMIT = 200_000_000
"""Nodes that a search may look at: some seconds."""
AT_A_TIME = 2**18
"""Children looked at together in a search."""
FINISH = 10_000
"""Nodes that finishing a complete choice counts for: it takes as long."""
FINISHES = 256
"""Complete choices between two looks at the effort."""


def numbers(
    given: ArrayLike, name: str, shape: tuple[int, ...] | None = None, *, infinite: bool = False
) -> Array:
    """A float64 array, checked.

    Args:
        given: anything that is an array of numbers.
        name: what it is, for the message.
        shape: what it has to be; None takes any.
        infinite: whether infinity is allowed (nan never is).

    Raises:
        RequestError: another shape, or a value that is not a number.

    >>> numbers([1, 2], "low", (2,))
    array([1., 2.])
    """
    array = np.asarray(given, np.float64)
    if shape is not None and array.shape != shape:
        raise RequestError(f"{name} has the shape {array.shape}", f"give it as {shape}")
    if np.isnan(array).any() or not (infinite or np.isfinite(array).all()):
        raise RequestError(f"{name} holds a value that is no number", "give finite numbers only")
    return array


def not_negative(given: ArrayLike, name: str, shape: tuple[int, ...] | None = None) -> Array:
    """Like :func:`numbers`, and none below zero."""
    array = numbers(given, name, shape)
    if (array < 0).any():
        raise RequestError(f"{name} holds {array.min():g}", "give zero or more")
    return array


def bounded_least_squares(matrix: Array, offset: Array, low: Array, high: Array) -> Array:
    """The u with low <= u <= high that makes the size of R u + y least, by an active set.

    Args:
        matrix: R, (m, k), of full column rank.
        offset: y, (m,).
        low: (k,), may be -inf.
        high: (k,), may be inf, not below low.

    Returns:
        u, (k,).

    Source: C. F. Lawson and R. J. Hanson, Solving Least Squares Problems, chapter 23, with both bounds. From
        memory. Checked against ``scipy.optimize.lsq_linear``.

    >>> bounded_least_squares(np.eye(2), np.array([1.0, -3.0]), np.zeros(2), np.full(2, 2.0))
    array([0., 2.])
    """
    at = np.clip(np.linalg.lstsq(matrix, -offset)[0], low, high)
    free = (at > low) & (at < high)
    tolerance = 1e-13 * float(np.linalg.norm(offset)) * np.linalg.norm(matrix, axis=0)
    for _ in range(20 * len(low) + 20):
        at, free = _settle(matrix, offset, low, high, at, free)
        slope = matrix.T @ (matrix @ at + offset)
        inward = np.where(at <= low, -slope, slope) - tolerance
        inward[free | (low == high)] = -np.inf
        if not inward.max() > 0:
            break
        free[inward.argmax()] = True
    return np.asarray(at)


def _settle(
    matrix: Array, offset: Array, low: Array, high: Array, at: Array, free: Bools
) -> tuple[Array, Bools]:
    """Best with the free ones; any that meets a bound on the way stays there."""
    while free.any():
        held = offset + matrix[:, ~free] @ at[~free]
        wanted = at.copy()
        wanted[free] = np.linalg.lstsq(matrix[:, free], -held)[0]
        beyond = (wanted < low) | (wanted > high)
        if not beyond.any():
            return wanted, free
        end = np.where(wanted < low, low, high)[beyond]
        share = (end - at[beyond]) / (wanted - at)[beyond]
        first = np.flatnonzero(beyond)[share.argmin()]
        at = np.clip(at + share.min() * (wanted - at), low, high)
        at[first] = low[first] if wanted[first] < low[first] else high[first]
        free = free.copy()
        free[first] = False
    return at, free


@dataclass
class Effort:
    """How far a search goes, and how far it has gone.

    Attributes:
        below: from the least cost so far, the cost that a better one has to be below.
        node_limit: nodes it may look at.
        progress: called with the nodes looked at, and their limit.
        cancel: asked now and then; True stops.
        nodes: looked at.
    """

    below: Callable[[float], float] = field(default=lambda best: best * (1 - 1e-12))
    node_limit: int = NODE_LIMIT
    progress: Progress | None = None
    cancel: Cancel | None = None
    nodes: int = 0

    def spend(self, nodes: int) -> bool:
        """Counts nodes; False when there are no more to be had."""
        self.nodes += nodes
        if self.progress is not None:
            self.progress(self.nodes, self.node_limit)
        if self.cancel is not None and self.cancel():
            raise Cancelled(f"stopped after {self.nodes} partial settings")
        return self.nodes <= self.node_limit


@dataclass
class Nearest:
    """Depth-first search for the choice z, one of a list for each place, that makes the cost least.

    The cost is the square of R z + y, plus the extras.

    Places are decided from the last to the first, as R is upper triangular; nearest first, whole groups of partial
    choices at a time.

    Attributes:
        triangle: R, (k, k).
        offset: y, (k,).
        values: what each place can be, k arrays.
        extra: cost of each of these values besides, zero or more, k arrays.
        finish: from the picks of complete choices, (m, k), their cost besides, (m,); zero or more.
        allowed: from the picks of partial choices, (m, k), and the first place that is decided, which may stay.
        picks: the best so far, (k,), places in ``values``; None before there is one.
        cost: of it.
        rest: least extras of the first places together, (k + 1,).
    """

    triangle: Array
    offset: Array
    values: Sequence[Array]
    extra: Sequence[Array]
    finish: Callable[[Picks], Array] | None = None
    allowed: Callable[[Picks, int], Bools] | None = None
    picks: Picks | None = None
    cost: float = np.inf
    rest: Array = field(init=False)

    def __post_init__(self) -> None:
        self.rest = np.concatenate([[0.0], np.cumsum([e.min() for e in self.extra])])

    def search(self, effort: Effort) -> bool:
        """Finds the best; True when it is proven, False when the effort was spent before."""
        places = len(self.values)
        stack = [(places - 1, np.zeros((1, places), np.int64), np.zeros(1))]
        while stack:
            level, picks, costs = stack.pop()
            keep = costs + self.rest[level + 1] < effort.below(self.cost)
            picks, costs = picks[keep], costs[keep]
            if not len(picks):
                continue
            if not effort.spend(len(picks) * len(self.values[level])):
                return False
            picks, costs = self._children(level, picks, costs, effort.below(self.cost))
            if level:
                stack += self._groups(level - 1, picks, costs)
            else:
                self._complete(picks, costs, effort)
        return True

    def _children(self, level: int, picks: Picks, costs: Array, below: float) -> tuple[Picks, Array]:
        """The partial choices with one place more that can still be best, the cheapest first."""
        decided = [self.values[j][picks[:, j]] for j in range(level + 1, len(self.values))]
        centre = self.offset[level] + sum(
            (r * z for r, z in zip(self.triangle[level, level + 1 :], decided)), np.zeros(len(picks))
        )
        total = (centre[:, None] + self.triangle[level, level] * self.values[level]) ** 2
        total += costs[:, None] + self.extra[level]
        if level == 0 and self.finish is None and self.allowed is None:
            i, j = np.divmod(np.array([total.argmin()]), total.shape[1])
        else:
            i, j = np.nonzero(total + self.rest[level] < below)
        cost = total[i, j]
        order = np.argsort(cost, kind="stable")
        chosen = picks[i[order]]
        chosen[:, level] = j[order]
        if self.allowed is not None:
            stay = self.allowed(chosen, level)
            return chosen[stay], cost[order][stay]
        return chosen, cost[order]

    def _groups(self, level: int, picks: Picks, costs: Array) -> list[tuple[int, Picks, Array]]:
        """Groups for the stack, the cheapest on top; that one small, to come to a good choice soon."""
        most = max(AT_A_TIME // len(self.values[level]), 1)
        edges = [0, *range(min(4, most), len(picks), most), len(picks)]
        return [(level, picks[a:b], costs[a:b]) for a, b in pairwise(edges) if b > a][::-1]

    def _complete(self, picks: Picks, costs: Array, effort: Effort) -> None:
        if self.finish is None:
            if len(picks) and costs[0] < effort.below(self.cost):
                self.picks, self.cost = picks[0], float(costs[0])
            return
        for number, (one, cost) in enumerate(zip(picks, costs), 1):
            if not cost < effort.below(self.cost):
                break
            cost += float(self.finish(one[None])[0])
            effort.nodes += FINISH
            if cost < effort.below(self.cost):
                self.picks, self.cost = one, float(cost)
            if number % FINISHES == 0 and not effort.spend(0):
                break
