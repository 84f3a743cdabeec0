"""The cheapest choice among other ways of making parts that brings every target to a wished chance."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from loopwright.errors import Cancelled, OutOfRange

Array = NDArray[np.float64]
Chance = Callable[[Sequence[int]], float]

MOST_TRIED = 400
"""So many choices are looked at in full before the search ends with what it has."""


@dataclass(frozen=True)
class Way:
    """One way of making a group of parts.

    Attributes:
        names: what is chosen in it, in words; none for the route as it stands.
        cost: what it takes more than the route as it stands, minutes; less than nought where it saves.
        variance: what it leaves to each row, (rows,), in squares of the row's own unit.
    """

    names: tuple[str, ...]
    cost: float
    variance: Array


@dataclass(frozen=True)
class Cheapest:
    """The cheapest choice that was found.

    Attributes:
        chosen: for each group the number of its way; empty where no choice reaches the wished chance.
        cost: what they take more than the routes as they stand, minutes.
        chance: that they bring.
        bound: no choice that reaches the wished chance takes less than this, minutes; infinite where none reaches it.
        tried: so many choices were looked at in full.
        best: of all choices looked at, the one with the greatest chance, and that chance.
    """

    chosen: tuple[int, ...]
    cost: float
    chance: float
    bound: float
    tried: int
    best: tuple[tuple[int, ...], float]

    @property
    def proven(self) -> bool:
        """Nothing cheaper reaches the wished chance."""
        return bool(self.chosen) and self.bound >= self.cost - 1e-6


def cheapest(
    groups: Sequence[Sequence[Way]],
    fixed: Array,
    most: Array,
    wished: float,
    chance: Chance,
    *,
    progress: Callable[[int, int | None], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Cheapest:
    """The cheapest choice of one way for each group with which a chance is reached.

    An integer programme proposes the cheapest choice that keeps every row's variance low enough for the wished chance
    in that row alone. That is needed, yet not enough, for all rows together; so what it proposes is looked at in full,
    and where it falls short that choice is forbidden and the next one proposed. The cost of what is proposed never
    falls, which makes it a bound.

    Args:
        groups: ways of each group; ways of one group exclude one another, those of two have nothing in common.
        fixed: variance that no choice changes, (rows,).
        most: largest variance with which each row alone still has the wished chance, (rows,).
        wished: chance to be reached.
        chance: of a choice, looked at in full.
        progress: told how many choices were looked at.
        cancelled: asked in between.

    Raises:
        OutOfRange: a group without a way.
        Cancelled: ``cancelled`` said so.

    Source: ours; the cuts are those of combinatorial Benders decomposition.

    >>> now, better = Way((), 0.0, np.array([4.0])), Way(("ground",), 30.0, np.array([1.0]))
    >>> cheapest([[now, better]], np.array([1.0]), np.array([2.5]), 0.9, lambda chosen: 0.8 + 0.15 * chosen[0]).chosen
    (1,)
    """
    if not all(groups):
        raise OutOfRange("a group has no way of being made; give each the one that it has now")
    problem = _Problem(groups, fixed, most)
    best: tuple[tuple[int, ...], float] = ((), -1.0)
    for tried in range(MOST_TRIED):
        if cancelled is not None and cancelled():
            raise Cancelled("stopped")
        proposed = problem.proposed()
        if proposed is None:
            return Cheapest((), np.inf, best[1], np.inf, tried, best)
        found = chance(proposed)
        best = max(best, (proposed, found), key=lambda one: one[1])
        if progress is not None:
            progress(tried + 1, None)
        if found >= wished:
            cost = problem.cost(proposed)
            return Cheapest(proposed, cost, found, cost, tried + 1, best)
        problem.forbid(proposed)
    return Cheapest((), np.inf, best[1], problem.bound, MOST_TRIED, best)


class _Problem:
    """The integer programme: one column for each way of each group."""

    def __init__(self, groups: Sequence[Sequence[Way]], fixed: Array, most: Array) -> None:
        self._ends = np.cumsum([0, *map(len, groups)])
        ways = [way for group in groups for way in group]
        self._costs = np.array([way.cost for way in ways])
        scale = np.maximum(most, 1e-300)
        matrix = np.array([way.variance for way in ways]).T / scale[:, None]
        room = (most - fixed) / scale
        one_each = np.zeros((len(groups), len(ways)))
        for row, (start, end) in zip(one_each, zip(self._ends[:-1], self._ends[1:])):
            row[start:end] = 1.0
        # rows that every choice keeps need not be asked
        worst = sum(matrix[:, a:b].max(axis=1) for a, b in zip(self._ends[:-1], self._ends[1:]))
        tight = np.asarray(worst > room)
        self._constraints = [
            LinearConstraint(one_each, 1.0, 1.0),
            LinearConstraint(matrix[tight], -np.inf, room[tight]),
        ]
        self.bound = -np.inf

    def proposed(self) -> tuple[int, ...] | None:
        """The cheapest choice that is not forbidden; None where there is none."""
        found = milp(
            self._costs,
            integrality=np.ones(len(self._costs)),
            bounds=Bounds(0, 1),
            constraints=[one for one in self._constraints if one.A.shape[0]],
        )
        if found.x is None:
            self.bound = np.inf
            return None
        chosen = found.x > 0.5
        self.bound = float(self._costs[chosen].sum())
        return tuple(int(np.argmax(chosen[a:b])) for a, b in zip(self._ends[:-1], self._ends[1:]))

    def cost(self, chosen: Sequence[int]) -> float:
        """Minutes of a choice."""
        return float(self._costs[self._columns(chosen)].sum())

    def forbid(self, chosen: Sequence[int]) -> None:
        """Proposes it no more."""
        row = np.zeros(len(self._costs))
        row[self._columns(chosen)] = 1.0
        self._constraints.append(LinearConstraint(row[None], -np.inf, len(chosen) - 1.0))

    def _columns(self, chosen: Sequence[int]) -> NDArray[np.intp]:
        return np.asarray(self._ends[:-1] + np.asarray(chosen), np.intp)
