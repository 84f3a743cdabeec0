"""The linear programme over ways to saw a bar: its least cost, and a bound that no plan undercuts."""

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array, hstack, vstack

from loopwright.errors import RequestError
from loopwright.making.sawing_loads import Ways, best_ways
from loopwright.making.sawing_task import SAME, Floats, Goal, Ints, Plan, Task, Watch

STEADY = 0.5
"""Share of the prices that gave the best bound in those that are tried next."""
AT_ONCE = 8
"""Ways for a kind of bar that are looked for at the same prices."""


@dataclass
class Pool:
    """Ways to saw a bar that were found so far, each once.

    Attributes:
        sizes: how many sizes of pieces there are.
        kind: which bar, (ways,).
        counts: pieces of each size, (ways, sizes).
    """

    sizes: int
    kind: Ints = field(default_factory=lambda: np.empty(0, np.int64))
    counts: Ints = field(init=False)
    _known: set[bytes] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.counts = np.empty((0, self.sizes), np.int64)

    def add(self, ways: Ways) -> int:
        """Takes in the ways that are new, and says how many they were."""
        rows = np.column_stack([ways.kind, ways.counts])
        fresh = []
        for number, row in enumerate(rows):
            if (key := row.tobytes()) not in self._known:
                self._known.add(key)
                fresh.append(number)
        self.kind = np.concatenate([self.kind, ways.kind[fresh]])
        self.counts = np.concatenate([self.counts, ways.counts[fresh]])
        return len(fresh)

    def add_plan(self, plan: Plan) -> None:
        """Takes in the patterns of a plan."""
        if plan:
            self.add(Ways(np.array([p.kind for p in plan]), np.array([p.counts for p in plan], np.int64)))


@dataclass(frozen=True)
class Prices:
    """Shadow prices: what a piece, a bar and the budget count at the optimum of the linear programme.

    Attributes:
        piece: of one more piece, (pieces,).
        bar: of one more bar, (kinds,).
        money: of one more unit of the budget.
    """

    piece: Floats
    bar: Floats
    money: float

    def toll(self, goal: Goal) -> Floats:
        """What the pieces of a bar have to be worth for it to pay, (kinds,)."""
        return np.asarray(goal.fixed + self.bar + self.money * goal.spend)


@dataclass(frozen=True)
class Relaxed:
    """The linear programme solved over the ways at hand.

    Attributes:
        times: how often each way is taken, (ways,).
        missing: pieces of each size that are not made, (pieces,).
        cost: its least cost.
        prices: its shadow prices.
    """

    times: Floats
    missing: Floats
    cost: float
    prices: Prices


@dataclass(frozen=True)
class Bounded:
    """The linear programme over all ways there are.

    Attributes:
        last: its solution over the ways that were found.
        bound: no plan costs less.
        prices: the shadow prices that prove it.
        closed: whether every way was found that it takes; else time was up.
    """

    last: Relaxed
    bound: float
    prices: Prices
    closed: bool


def rows_of(task: Task, goal: Goal, pool: Pool, *, may_miss: bool) -> tuple[csr_array, Floats, Floats]:
    """Pieces, bars and budget as rows ``matrix @ times <= most``, and the cost of each column.

    The columns are the ways of a pool; behind them, where pieces may be missing, the missing pieces of each size.
    """
    pieces, ways = len(task.sizes), len(pool.kind)
    bars = csr_array((np.ones(ways), (pool.kind, np.arange(ways))), shape=(len(task.room), ways))
    blocks = [-csr_array(pool.counts.T.astype(float)), bars]
    most = [-task.wanted.astype(float), task.count.astype(float)]
    if goal.budget is not None:
        blocks.append(csr_array(goal.spend[pool.kind][None, :]))
        most.append(np.array([goal.budget]))
    matrix, cost = vstack(blocks), goal.costs(task, pool.kind, pool.counts)
    if may_miss:
        missing = vstack([-csr_array(np.eye(pieces)), csr_array((matrix.shape[0] - pieces, pieces))])
        matrix, cost = hstack([matrix, missing]), np.concatenate([cost, np.full(pieces, goal.missing)])
    return csr_array(matrix), np.concatenate(most), cost


def relax(task: Task, goal: Goal, pool: Pool) -> Relaxed:
    """Least cost over the ways at hand, when a way may also be taken a fraction of a time."""
    matrix, most, cost = rows_of(task, goal, pool, may_miss=True)
    pieces, ways = len(task.sizes), len(pool.kind)
    for method in ("highs", "highs-ds", "highs-ipm"):
        found = linprog(cost, A_ub=matrix, b_ub=most, method=method)
        if found.status == 0:
            duals = np.maximum(-np.asarray(found.ineqlin.marginals), 0.0)
            money = float(duals[-1]) if goal.budget is not None else 0.0
            prices = Prices(duals[:pieces], duals[pieces : pieces + len(task.room)], money)
            return Relaxed(found.x[:ways], found.x[ways:], float(found.fun), prices)
    raise RequestError("a linear programme of the saw list did not come out", "change a length by 0.01 mm")


def bound_by(task: Task, goal: Goal, prices: Prices) -> float:
    """What no plan undercuts, from shadow prices at which no bar brings more than its toll."""
    money = 0.0 if goal.budget is None else prices.money * goal.budget
    return float(prices.piece @ task.wanted - prices.bar @ task.count) - money


def generate(task: Task, goal: Goal, pool: Pool, watch: Watch) -> Bounded:
    """Adds ways to a pool until no other would lower the cost of the linear programme.

    Source: P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849; the bound from any prices is that of
        Lagrange relaxation (both from memory).
    """
    bound, proof = -np.inf, Prices(np.zeros(0), np.zeros(0), 0.0)
    while True:
        watch.look()
        last = relax(task, goal, pool)
        fresh, trials = 0, [last.prices]
        if np.isfinite(bound):
            trials.insert(0, between(proof, last.prices, STEADY))
        for trial in trials:
            fresh, over = _add_best(task, goal, pool, trial)
            charged = replace(trial, bar=trial.bar + over)
            if bound_by(task, goal, charged) > bound:
                bound, proof = bound_by(task, goal, charged), charged
            if fresh:
                break
        closed = last.cost - bound <= SAME * max(abs(last.cost), 1.0)
        if closed or not fresh or not watch.left:
            return Bounded(last, bound, proof, closed)


def _add_best(task: Task, goal: Goal, pool: Pool, prices: Prices) -> tuple[int, Floats]:
    """Adds the best way for each kind of bar, then the best of the pieces not used so far, and so on.

    Returns:
        How many of the ways are new; and by how much the best of all exceeds its toll, (kinds,).
    """
    toll, values = prices.toll(goal), prices.piece.copy()
    ways, over = best_ways(task, goal, values, toll)
    fresh = pool.add(ways)
    for _ in range(AT_ONCE - 1):
        values[ways.counts.any(axis=0)] = 0.0
        if not len(ways.kind) or not values.any():
            break
        ways, _ = best_ways(task, goal, values, toll)
        fresh += pool.add(ways)
    return fresh, over


def between(old: Prices, new: Prices, share: float) -> Prices:
    """Prices between two, by the share of the old ones: they swing less from one step to the next."""
    piece, bar = (share * a + (1 - share) * b for a, b in [(old.piece, new.piece), (old.bar, new.bar)])
    return Prices(piece, bar, share * old.money + (1 - share) * new.money)
