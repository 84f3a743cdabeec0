"""Whole plans: a first one, the best of the ways at hand, a dive, and the proof that none is better."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from loopwright.making.sawing_columns import Bounded, Pool, Prices, generate, rows_of
from loopwright.making.sawing_loads import Ways, best_ways, near_ways
from loopwright.making.sawing_task import (
    PENALTY,
    SAME,
    Floats,
    Goal,
    Ints,
    Plan,
    Task,
    Watch,
    cost_of,
    dearest,
    gathered,
    sum_below,
    trimmed,
)

GRAIN = 4096
"""Parts of a bar by which a first plan tells sums of pieces apart."""
FEW_WAYS = 4_000
"""Up to so many ways all of them go into the integer programme, whatever gap would be good enough."""
MANY_WAYS = 40_000
ENDS = ((16, 4_000), (40, 1_500), (100, 1_500))
"""Pieces that a dive leaves to the integer programme, and the ways that it offers for them; in turn."""
END_SECONDS = 1.5
ATTEMPTS = 200
KEPT = 0.7
"""Chance that a bar which the linear programme takes is taken."""
HALVINGS = 12
FIRST_SLICE = 2.0
"""Seconds of an integer programme before it is asked whether to stop; then twice as long, and so on."""
OUT_OF_TIME, INFEASIBLE = 1, 2
"""What the solver says."""
PROVEN = 2e-6
"""Gap that the integer programme leaves when it is done: of the dearest bar, or of the longest."""


@dataclass(frozen=True)
class Settled:
    """A plan, and how good it is.

    Attributes:
        plan: the plan.
        cost: what it costs.
        bound: what no plan undercuts.
        how: how the bound was reached, in words.
    """

    plan: Plan
    cost: float
    bound: float
    how: str

    @property
    def proven(self) -> bool:
        """Whether no plan is better."""
        return self.cost - self.bound <= PROVEN * max(abs(self.cost), 1.0)


def settle(
    task: Task, goal: Goal, start: Plan, watch: Watch, within: float, attempts: int = ATTEMPTS
) -> Settled:
    """The best plan, or one within a share of the bound, or the best that is found in time.

    Args:
        task: pieces and bars.
        goal: what is to be least.
        start: any plan that keeps to the limits.
        watch: the time there is, and whether to stop.
        within: gap that is good enough, as a share of the cost; few ways are tried to the end all the same.
        attempts: dives at the most.
    """
    cost = cost_of(task, goal, start)
    if not goal.keeps and cost <= SAME:
        return Settled(start, 0.0, 0.0, "nothing is less than nothing")
    pool = Pool(len(task.sizes))
    pool.add_plan(start)
    bounded = generate(task, goal, pool, watch)
    now = Settled(start, cost, _raised(task, goal, bounded.bound, cost, bounded.prices), _words(bounded))
    if not now.proven:
        now = _tried_out(task, goal, now, bounded, FEW_WAYS, watch)
    chance = np.random.Generator(np.random.PCG64(0))
    for attempt in range(attempts):
        if _enough(goal, now, within) or not watch.left:
            break
        plan = dive(task, goal, pool, now, bounded, watch, attempt, chance)
        now = _better(task, goal, now, plan)
    if not _enough(goal, now, within) and watch.left and attempts == ATTEMPTS:
        now = _tried_out(task, goal, now, bounded, MANY_WAYS, watch)
    return now


def _enough(goal: Goal, now: Settled, within: float) -> bool:
    scale = max(abs(now.cost), 1.0) if goal.keeps else abs(now.cost)
    return now.proven or now.cost - now.bound <= within * scale


def _words(bounded: Bounded) -> str:
    if bounded.closed:
        return "linear programme over all ways to saw a bar"
    return "linear programme over all ways to saw a bar, stopped when time was up"


def _better(task: Task, goal: Goal, now: Settled, plan: Plan | None) -> Settled:
    """What is known, with the other plan where it is better."""
    if plan is None:
        return now
    plan = trimmed(task, goal, plan)
    cost = cost_of(task, goal, plan)
    return replace(now, plan=plan, cost=cost) if cost < now.cost - SAME else now


def _tried_out(task: Task, goal: Goal, now: Settled, bounded: Bounded, most: int, watch: Watch) -> Settled:
    """The best plan of all, from every way that a better one could use; as it was where there are too many."""
    below = _next_below(task, goal, now.cost)
    gap = below - bounded.bound
    if gap < 0:
        return replace(now, bound=now.cost)
    prices = bounded.prices
    ways = near_ways(task, goal, prices.piece, prices.toll(goal), gap, most)
    watch.look()
    if ways is None:
        return now
    pool = Pool(len(task.sizes))
    pool.add(ways)
    plan, reached = best_of(task, goal, pool, (now.bound, below), watch.left / 2, watch)
    found = _better(task, goal, now, plan)
    bound = min(max(now.bound, reached), found.cost)
    if bound > now.bound + SAME:
        how = f"all {len(ways.kind)} ways to saw a bar that a better plan could use, in an integer programme"
        return replace(found, bound=bound, how=how)
    return found


def best_of(
    task: Task, goal: Goal, pool: Pool, span: tuple[float, float], seconds: float, watch: Watch
) -> tuple[Plan | None, float]:
    """The best plan from the ways at hand, if its cost lies in a span, and what no such plan undercuts.

    Args:
        task: pieces and bars.
        goal: what is to be least.
        pool: the ways at hand.
        span: least and largest cost.
        seconds: time for it.
        watch: whether to stop.

    Returns:
        A plan, or None where none was found; and a bound, infinite where there is none.
    """
    matrix, most, cost = rows_of(task, goal, pool, may_miss=goal.missing < PENALTY)
    above, below = span
    plan, bound, part, end = None, above, FIRST_SLICE, watch.left - seconds
    while watch.left > max(end, 0.0):
        rows = [LinearConstraint(matrix, -np.inf, most), LinearConstraint(cost[None, :], above - SAME, below)]
        options = {"time_limit": min(part, watch.left - end), "mip_rel_gap": 0.0}
        limits = Bounds(0, float(task.wanted.sum()))
        found = milp(cost, constraints=rows, bounds=limits, integrality=np.ones(len(cost)), options=options)
        watch.look()
        if found.x is not None:
            plan = _plan_of(pool, np.rint(found.x).astype(np.int64))
            below = min(below, float(found.fun))
        if found.status == INFEASIBLE:
            return plan, np.inf if plan is None else below
        if found.mip_dual_bound is not None:
            bound = max(bound, float(found.mip_dual_bound))
        if found.status != OUT_OF_TIME:
            break
        part *= 2
    return plan, bound


def _plan_of(pool: Pool, times: Ints) -> Plan:
    return gathered(
        (int(pool.kind[way]), tuple(pool.counts[way].tolist()))
        for way in np.flatnonzero(times[: len(pool.kind)])
        for _ in range(int(times[way]))
    )


def dive(
    task: Task,
    goal: Goal,
    pool: Pool,
    now: Settled,
    bounded: Bounded,
    watch: Watch,
    attempt: int,
    chance: np.random.Generator,
) -> Plan | None:
    """A plan from the linear programme: bars that it takes are taken, it is solved again, and so on.

    The last pieces go to an integer programme. Ends early where no better plan can come of it.

    Args:
        task: pieces and bars.
        goal: what is to be least.
        pool: ways to saw a bar; those found on the way are added.
        now: the plan to beat.
        bounded: the linear programme of the task.
        watch: the time there is.
        attempt: the first goes straight, later ones by chance.
        chance: where it comes from.
    """
    few, ways = ENDS[attempt % len(ENDS)]
    left, rest, bars = task, goal, list[tuple[int, tuple[int, ...]]]()
    below = _next_below(task, goal, now.cost)
    while watch.left:
        spent = float(sum(_costs(task, goal, bars)))
        gap = below - spent - bounded.bound
        if gap < -SAME:
            return None
        if left.wanted.sum() <= few:
            offered = _offered(left, rest, pool, bounded, gap, ways)
            span = (bounded.bound, below - spent)
            end, _ = best_of(left, rest, offered, span, END_SECONDS, watch)
            return None if end is None else gathered([*bars, *_single(end)])
        taken = _taken(left, rest, pool, bounded.last.times, few, chance if attempt else None)
        if not taken:
            return None
        bars += taken
        left, rest = _without(left, rest, taken)
        bounded = generate(left, rest, pool, watch)
    return None


def _costs(task: Task, goal: Goal, bars: list[tuple[int, tuple[int, ...]]]) -> list[float]:
    """Cost of each of some bars."""
    if not bars:
        return []
    counts = np.array([counts for _, counts in bars], np.int64)
    costs: list[float] = goal.costs(task, np.array([kind for kind, _ in bars]), counts).tolist()
    return costs


def _single(plan: Plan) -> list[tuple[int, tuple[int, ...]]]:
    """The bars of a plan one by one."""
    return [(pattern.kind, pattern.counts) for pattern in plan for _ in range(pattern.times)]


def _without(left: Task, rest: Goal, taken: list[tuple[int, tuple[int, ...]]]) -> tuple[Task, Goal]:
    """What is left to do, and the budget, when some bars are sawn."""
    count, wanted, budget = left.count.copy(), left.wanted.copy(), rest.budget
    for kind, counts in taken:
        count[kind] -= 1
        wanted -= np.array(counts)
        budget = None if budget is None else budget - float(rest.spend[kind])
    return replace(left, count=count, wanted=wanted), replace(rest, budget=budget)


def _taken(
    left: Task, rest: Goal, pool: Pool, times: Floats, few: int, chance: np.random.Generator | None
) -> list[tuple[int, tuple[int, ...]]]:
    """Bars to saw next: those taken whole times, by chance not all of them; else one of a fraction.

    Stops when few pieces are left; saws nothing in surplus.
    """
    order = np.argsort(-times, kind="stable")
    order = order[times[order] > 1e-6]
    whole = np.floor(times[order] + 1e-6).astype(np.int64)
    if chance is not None:
        whole = chance.binomial(whole, KEPT)
    if not whole.any():
        if chance is not None:
            order = order[np.argsort(-(chance.random(len(order)) ** (1 / times[order])))]
        whole = np.zeros(len(order), np.int64)
        whole[:1] = 1
    wanted, count, taken = left.wanted.copy(), left.count.copy(), list[tuple[int, tuple[int, ...]]]()
    budget = np.inf if rest.budget is None else rest.budget
    for way, often in zip(order.tolist(), whole.tolist()):
        kind = int(pool.kind[way])
        for _ in range(often):
            part = np.minimum(pool.counts[way], wanted)
            if (
                not part.any()
                or not count[kind]
                or rest.spend[kind] > budget
                or (taken and wanted.sum() <= few)
            ):
                break
            taken.append((kind, tuple(part.tolist())))
            wanted -= part
            count[kind] -= 1
            budget -= float(rest.spend[kind])
    return taken


def _offered(left: Task, rest: Goal, pool: Pool, bounded: Bounded, gap: float, most: int) -> Pool:
    """Ways for the end of a dive: those at hand, and the nearest of all to the best, as many as may be."""
    prices, toll = bounded.prices, bounded.prices.toll(rest)
    offered, low, high, gap_now = Pool(len(left.sizes)), 0.0, np.inf, gap
    best: Ways | None = None
    for _ in range(HALVINGS):
        ways = near_ways(left, rest, prices.piece, toll, gap_now, most)
        if ways is None:
            high = gap_now
        else:
            best, low = ways, gap_now
        if best is not None and (not np.isfinite(high) or len(best.kind) > most / 2):
            break
        gap_now = (low + high) / 2 if best is not None else high / 3
    if best is not None:
        offered.add(best)
    fits = (pool.counts <= left.wanted).all(axis=1)
    short = toll[pool.kind] - rest.fixed[pool.kind] + rest.costs(left, pool.kind, pool.counts)
    near = np.flatnonzero(fits & (short - pool.counts @ prices.piece <= gap))
    offered.add(Ways(pool.kind[near], pool.counts[near]))
    return offered


def first_plan(task: Task) -> Plan:
    """A plan as it is made by hand, the better of two: the longest pieces first, or each bar filled to its end.

    Own bars come before bought ones, the cheapest for what it holds next. Pieces for which no bar is left are missing
    from it.
    """
    plans = [_by_hand(task, fill) for fill in (_filled, _snug)]
    missing = [int(task.wanted.sum()) - sum(sum(p.counts) * p.times for p in plan) for plan in plans]
    price = [sum(float(task.price[p.kind]) * p.times for p in plan) for plan in plans]
    return plans[min(range(len(plans)), key=lambda n: (missing[n], price[n], n))]


def _by_hand(task: Task, fill: Callable[[Task, int, Ints], Ints]) -> Plan:
    """Bars filled one after the other."""
    left, count = task.wanted.copy(), task.count.copy()
    bars: list[tuple[int, tuple[int, ...]]] = []
    while left.any():
        filled = {kind: fill(task, kind, left) for kind in np.flatnonzero(count).tolist()}
        able = {kind: counts for kind, counts in filled.items() if counts.any()}
        if not able:
            break
        loads = {kind: float(counts @ task.sizes) for kind, counts in able.items()}
        kind = min(able, key=lambda k: (task.price[k] / loads[k], -loads[k] / task.room[k], k))
        bars.append((kind, tuple(able[kind].tolist())))
        left -= able[kind]
        count[kind] -= 1
    return gathered(bars)


def _filled(task: Task, kind: int, left: Ints) -> Ints:
    """Pieces that go on a bar when the longest go first, (pieces,)."""
    room, counts = int(task.room[kind]), np.zeros_like(left)
    for size in np.flatnonzero(left).tolist():
        counts[size] = min(left[size], room // task.sizes[size])
        room -= int(counts[size] * task.sizes[size])
    return counts


def _snug(task: Task, kind: int, left: Ints) -> Ints:
    """The longest piece that goes on a bar, and with it those that leave the least of it, (pieces,).

    Sums of sizes are told apart to a 4096th of the bar, sizes rounded up, so that what is chosen fits.
    """
    counts = np.zeros_like(left)
    fits = np.flatnonzero((left > 0) & (task.sizes <= task.room[kind]))
    if not len(fits):
        return counts
    room = int(task.room[kind])
    unit = max(room // GRAIN, 1)
    room, first = room // unit, int(fits[0])
    sizes = -(-task.sizes[fits] // unit)
    if sizes[0] > room:
        return _filled(task, kind, left)
    more = left[fits].copy()
    more[0] -= 1
    many = np.minimum(more, (room - sizes[0]) // sizes)
    items = np.repeat(np.arange(len(fits)), many)
    via = np.full(room - int(sizes[0]) + 1, len(items))
    via[0] = -1
    for number, item in enumerate(items.tolist()):
        size = int(sizes[item])
        # a sum that is reached anew by this piece; one that stands there came from earlier pieces
        tail = via[size:]
        tail[(via[:-size] < number) & (tail == len(items))] = number
    counts[first] = 1
    at = int(np.flatnonzero(via < len(items))[-1])
    while at:
        item = int(items[via[at]])
        counts[fits[item]] += 1
        at -= int(sizes[item])
    return counts


def _raised(task: Task, goal: Goal, bound: float, cost: float, prices: Prices) -> float:
    """The bound when pieces, and bars that are bought, are whole; never above the cost of a plan."""
    if goal.keeps or bound >= cost:
        return min(bound, cost)
    if goal.missing < PENALTY:
        return min(float(np.ceil(bound - 1e-6)), cost)
    return min(max(bound, in_whole_bars(task, goal, prices)), cost)


def in_whole_bars(task: Task, goal: Goal, prices: Prices) -> float:
    """Least cost of whole bars that can hold all pieces, each piece counting its shadow price.

    No bar of a kind holds more than its best way to be sawn; so bars that hold too little together cannot do.
    """
    _, most = best_ways(task, goal, prices.piece, np.zeros(len(task.room)))
    need = float(prices.piece @ task.wanted) * (1 - SAME)
    rows = LinearConstraint(most[None, :], need, np.inf)
    limits, whole, options = Bounds(0, task.count), np.ones(len(most)), {"mip_rel_gap": 0.0}
    found = milp(goal.fixed, constraints=rows, bounds=limits, integrality=whole, options=options)
    if found.status != 0:
        return -np.inf
    return float(goal.fixed @ np.rint(found.x))


def _next_below(task: Task, goal: Goal, cost: float) -> float:
    """The largest cost under a given one that a plan can have; a hair less where costs are not on a grid."""
    if not goal.keeps and goal.missing < PENALTY:
        return float(np.ceil(cost - 1e-6) - 1)
    hair = cost - 10 * SAME * max(abs(cost), 1.0)
    unit = dearest(task)
    found = None if goal.keeps else sum_below(task.price, hair * unit)
    return hair if found is None else min(found / unit + SAME / 10, hair)
