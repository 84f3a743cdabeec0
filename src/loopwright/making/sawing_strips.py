"""Sheets cut into strips and strips into blanks, as whole numbers: the linear programme over both, and plans."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from loopwright.errors import RequestError
from loopwright.making.sawing_loads import Ways, best_ways, more, near_ways, no_loads, undominated
from loopwright.making.sawing_task import PENALTY, SAME, Bools, Floats, Goal, Ints, Task, Watch, sum_below

FEW_COLUMNS = 6_000
STARTS, SWING = 60, (0.7, 1.3)
"""Plans made sheet by sheet, and by how much the values of the blanks change from one to the next."""
BY_VALUE = 0.4
"""Part of the time for them."""
PARTS = (1.0, 0.1, 0.01, 0.0)
"""Of the gap, within which strips and sheets are offered: the first for which they are not too many."""
SLICE = 2.0
"""Seconds of an integer programme before it is asked whether to stop; then twice as long, and so on."""
OUT_OF_TIME = 1
PROVEN = 2e-6


@dataclass(frozen=True)
class Layout:
    """Blanks and sheets of one section, in whole steps; every size holds one kerf.

    A way of laying a blank has a ``run`` along its strip and a ``rise`` across it; a blank that may be turned has
    two. A way of cutting a sheet has strips right along it or right across it.

    Attributes:
        blank: which blank is laid, lowest rise first, (laid,).
        run: its size along the strip, (laid,).
        rise: its size across, (laid,).
        allowed: whether it may be laid so on a sheet cut that way, (cuts, laid).
        wanted: how many of each blank, (blanks,).
        kind: which sheet is cut, (cuts,).
        room: length of a strip, (cuts,).
        stack: what the strips may take together, (cuts,).
        count: how many sheets there are, (kinds,).
        rises: the different rises, (rises,).
    """

    blank: Ints
    run: Ints
    rise: Ints
    allowed: Bools
    wanted: Ints
    kind: Ints
    room: Ints
    stack: Ints
    count: Ints
    rises: Ints


@dataclass(frozen=True)
class Aim:
    """What a plan makes least: the sum of ``fixed`` over its sheets, within a budget of ``spend``; both (kinds,).

    ``unit`` times ``fixed`` are prices, so that sums lie on a grid; 0 where they are not.
    """

    fixed: Floats
    spend: Floats
    budget: float
    unit: float = 0.0


StripCut = tuple[int, tuple[int, ...]]
"""Number of its rise, and blanks by the way they are laid."""
SheetCut = tuple[int, tuple[StripCut, ...]]
"""Which way of cutting a sheet, and its strips."""
SheetPlan = tuple[SheetCut, ...]


@dataclass
class Columns:
    """Strips and sheets that were found so far, each once.

    Attributes:
        strips: way of cutting the sheet, number of the rise, and blanks by the way they are laid.
        sheets: way of cutting the sheet, and how many strips of each rise.
    """

    strips: dict[tuple[int, int, tuple[int, ...]], None] = field(default_factory=dict)
    sheets: dict[tuple[int, tuple[int, ...]], None] = field(default_factory=dict)

    def add_plan(self, layout: Layout, plan: SheetPlan) -> None:
        """Takes in the strips and sheets of a plan."""
        for cut, strips in plan:
            tally = np.bincount([rise for rise, _ in strips], minlength=len(layout.rises))
            self.sheets[cut, tuple(tally.tolist())] = None
            for rise, laid in strips:
                self.strips[cut, rise, laid] = None


@dataclass(frozen=True)
class Found:
    """A plan of sheets, and how good it is.

    Attributes:
        plan: its sheets.
        cost: what they count.
        bound: no plan with strips right across the sheet counts less.
        how: how the bound was reached.
    """

    plan: SheetPlan
    cost: float
    bound: float
    how: str

    @property
    def proven(self) -> bool:
        """Whether no such plan is better."""
        return self.cost - self.bound <= PROVEN * max(abs(self.cost), 1.0)


@dataclass(frozen=True)
class _Prices:
    """Shadow prices of blanks, of strips by way of cutting and rise, of sheets, and of the budget."""

    blank: Floats
    strip: Floats
    sheet: Floats
    money: float

    def toll(self, aim: Aim) -> Floats:
        return np.asarray(aim.fixed + self.sheet + self.money * aim.spend)


def missing_of(layout: Layout, plan: SheetPlan) -> Ints:
    """Blanks that a plan does not make, (blanks,)."""
    made = np.zeros_like(layout.wanted)
    for _, strips in plan:
        for _, laid in strips:
            np.add.at(made, layout.blank, np.array(laid))
    return np.asarray(np.maximum(layout.wanted - made, 0))


def cost_of_sheets(layout: Layout, aim: Aim, plan: SheetPlan) -> float:
    """What the sheets of a plan count, and the penalty for blanks that it does not make."""
    sheets = float(sum(aim.fixed[layout.kind[cut]] for cut, _ in plan))
    return sheets + PENALTY * float(missing_of(layout, plan).sum())


def settle_sheets(layout: Layout, aim: Aim, start: SheetPlan, watch: Watch, within: float) -> Found:
    """The best plan with strips right across the sheet, or one within a share of the bound, or what time allows.

    Args:
        layout: blanks and sheets.
        aim: what is to be least.
        start: any plan; blanks may be missing from it.
        watch: the time there is, and whether to stop.
        within: gap that is good enough, as a share of the cost.

    Source: P. C. Gilmore, R. E. Gomory, Operations Research 13 (1965) 94 (two-stage cutting); from memory.
    """
    columns = Columns()
    columns.add_plan(layout, start)
    cost = cost_of_sheets(layout, aim, start)
    prices, bound, closed = _generate(layout, aim, columns, watch)
    raised = min(max(bound, _in_whole_sheets(layout, aim, prices)), cost)
    how = "linear programme over all strips and sheets" + ("" if closed else ", stopped when time was up")
    now = Found(start, cost, raised, how)
    now = _by_value(layout, aim, columns, now, prices.blank, watch)
    if now.proven or not watch.left:
        return now
    gap = _below(aim, now.cost) - bound
    for part in PARTS:
        near = _near(layout, aim, prices, part * gap)
        watch.look()
        if near is not None:
            columns.strips |= near.strips
            columns.sheets |= near.sheets
            return _best(layout, aim, columns, now, watch, all_there_is=part == 1)
    return _best(layout, aim, columns, now, watch, all_there_is=False)


def _by_value(layout: Layout, aim: Aim, columns: Columns, now: Found, values: Floats, watch: Watch) -> Found:
    """The best of many plans made sheet by sheet, each time with other values of the blanks."""
    chance, until = np.random.Generator(np.random.PCG64(0)), watch.left * (1 - BY_VALUE)
    for _ in range(STARTS):
        if now.proven or watch.left <= until:
            break
        watch.look()
        plan = _one_by_value(layout, aim, values * chance.uniform(*SWING, len(values)))
        columns.add_plan(layout, plan)
        cost = cost_of_sheets(layout, aim, plan)
        if cost < now.cost - SAME and sum(aim.spend[layout.kind[cut]] for cut, _ in plan) <= aim.budget:
            now = Found(plan, cost, min(now.bound, cost), now.how)
    return now


def _one_by_value(layout: Layout, aim: Aim, values: Floats) -> SheetPlan:
    """A plan made sheet by sheet: the one that holds the rest for least, else the one that holds most for its price."""
    count, wanted, plan = layout.count.copy(), layout.wanted.copy(), list[SheetCut]()
    price = aim.fixed + aim.spend + 1e-9
    while wanted.any():
        left = replace(layout, wanted=wanted)
        tried = {
            cut: _filled(left, cut, values) for cut in range(len(layout.kind)) if count[layout.kind[cut]]
        }
        able = {cut: strips for cut, strips in tried.items() if strips}
        if not able:
            break
        rest = {cut: missing_of(left, ((cut, strips),)) for cut, strips in able.items()}
        worth = {cut: float(values @ (wanted - rest[cut])) / price[layout.kind[cut]] for cut in able}
        ends = [cut for cut in able if not rest[cut].any()]
        cut = min(ends, key=lambda c: price[layout.kind[c]]) if ends else max(able, key=lambda c: worth[c])
        plan.append((cut, able[cut]))
        count[layout.kind[cut]] -= 1
        wanted = rest[cut]
    return tuple(plan)


def _filled(layout: Layout, cut: int, values: Floats) -> tuple[StripCut, ...]:
    """Strips on a sheet, each the one that brings most for its width."""
    stack, wanted, strips = int(layout.stack[cut]), layout.wanted.copy(), list[StripCut]()
    one = replace(layout, allowed=layout.allowed[[cut]], room=layout.room[[cut]])
    while True:
        worth, laid = best_strips(replace(one, wanted=wanted), values)
        dense = np.where(layout.rises <= stack, worth[0] / layout.rises, 0.0)
        best = int(dense.argmax())
        if dense[best] <= 0:
            return tuple(strips)
        strip = _needed(one, 0, tuple(laid[0, best].tolist()), wanted)
        assert strip is not None, "a strip that is worth something has a wanted blank"
        strips.append(strip)
        stack -= int(layout.rises[strip[0]])


def _below(aim: Aim, cost: float) -> float:
    """The largest cost under a given one that a plan can have."""
    hair = cost - 1e-7 * max(cost, 1.0)
    found = sum_below(aim.fixed * aim.unit, hair * aim.unit) if aim.unit else None
    return hair if found is None else min(found / aim.unit + SAME, hair)


def _generate(layout: Layout, aim: Aim, columns: Columns, watch: Watch) -> tuple[_Prices, float, bool]:
    """Adds strips and sheets until none would lower the cost of the linear programme; prices and bound."""
    bound, proof = -np.inf, None
    while True:
        watch.look()
        cost, prices = _relax(layout, aim, columns)
        worth, laid = best_strips(layout, prices.blank)
        known = len(columns.strips) + len(columns.sheets)
        for cut, rise in np.argwhere(worth > prices.strip + 1e-9).tolist():
            columns.strips[cut, rise, tuple(laid[cut, rise].tolist())] = None
        over = _add_sheets(layout, columns, worth, prices.toll(aim))
        _add_sheets(layout, columns, prices.strip, prices.toll(aim))
        charged = _Prices(prices.blank, worth, prices.sheet + over, prices.money)
        reached = (
            float(charged.blank @ layout.wanted - charged.sheet @ layout.count) - charged.money * aim.budget
        )
        if proof is None or reached > bound:
            bound, proof = reached, charged
        closed = cost - bound <= SAME * max(abs(cost), 1.0)
        if closed or len(columns.strips) + len(columns.sheets) == known or not watch.left:
            return proof, bound, closed


def best_strips(layout: Layout, values: Floats) -> tuple[Floats, Ints]:
    """For each way of cutting a sheet and each rise, the strip worth most.

    Args:
        layout: blanks and sheets.
        values: of a blank of each kind, zero or more, (blanks,).

    Returns:
        Its worth, (cuts, rises); and its blanks by the way they are laid, (cuts, rises, laid).
    """
    known: dict[tuple[int, bytes], tuple[Floats, Ints]] = {}
    keys = [(room, may.tobytes()) for room, may in zip(layout.room.tolist(), layout.allowed)]
    for cut, key in enumerate(keys):
        if key not in known:
            known[key] = _strips_of(layout, cut, values)
    return np.array([known[key][0] for key in keys]), np.array([known[key][1] for key in keys])


def _strips_of(layout: Layout, cut: int, values: Floats) -> tuple[Floats, Ints]:
    """The same for one way of cutting: rise by rise, the blanks of that rise join those that are lower."""
    room, ways = int(layout.room[cut]), len(layout.blank)
    worth, laid = np.zeros(len(layout.rises)), np.zeros((len(layout.rises), ways), np.int64)
    loads, tried = no_loads(), list[int]()
    for number, rise in enumerate(layout.rises.tolist()):
        here = layout.allowed[cut] & (layout.rise == rise) & (values[layout.blank] > 0)
        for way in np.flatnonzero(here & (layout.wanted[layout.blank] > 0)).tolist():
            run = int(layout.run[way])
            most = int(min(layout.wanted[layout.blank[way]], room // run))
            loads = undominated(more(loads, (run, most), room, values[layout.blank[way]]))
            tried.append(way)
        top = np.array([loads.value.argmax()])
        worth[number] = loads.value[top[0]]
        laid[number] = loads.counts(top, np.array(tried, np.int64), ways)[0]
    return worth, laid


def _strips_task(layout: Layout, cut: int) -> Task:
    """Stacking strips on a sheet, put as sawing pieces from a bar."""
    most = np.full(len(layout.rises), layout.wanted.sum(), np.int64)
    return _bar_task(layout.rises, most, int(layout.stack[cut]))


def _bar_task(sizes: Ints, wanted: Ints, room: int) -> Task:
    one = np.array([room], np.int64)
    return Task(sizes, wanted, one, one, one, np.ones(1, np.int64), np.zeros(1), 0)


_PLAIN = Goal(np.zeros(1), False, PENALTY, np.zeros(1))


def _add_sheets(layout: Layout, columns: Columns, worth: Floats, toll: Floats) -> Floats:
    """Adds the best sheet for each way of cutting, and says by how much it exceeds its toll, (kinds,)."""
    over = np.zeros(len(toll))
    for cut, kind in enumerate(layout.kind.tolist()):
        ways, above = best_ways(_strips_task(layout, cut), _PLAIN, np.maximum(worth[cut], 0.0), toll[[kind]])
        over[kind] = max(over[kind], float(above[0]))
        for counts in ways.counts:
            columns.sheets[cut, tuple(counts.tolist())] = None
    return over


def _rows(layout: Layout, aim: Aim, columns: Columns) -> tuple[csr_array, Floats, Floats]:
    """Blanks, strips, sheets and budget as rows ``matrix @ times <= most``, and the cost of each column.

    The columns are sheets, strips and missing blanks.
    """
    blanks, rises, cuts, kinds = len(layout.wanted), len(layout.rises), len(layout.kind), len(layout.count)
    sheets, strips = list(columns.sheets), list(columns.strips)
    matrix = np.zeros((blanks + cuts * rises + kinds + 1, len(sheets) + len(strips) + blanks))
    for column, (cut, counts) in enumerate(sheets):
        kind = layout.kind[cut]
        matrix[blanks + cut * rises : blanks + (cut + 1) * rises, column] = -np.array(counts)
        matrix[blanks + cuts * rises + kind, column] = 1
        matrix[-1, column] = aim.spend[kind]
    for column, (cut, rise, laid) in enumerate(strips, len(sheets)):
        np.subtract.at(matrix[:, column], layout.blank, np.array(laid))
        matrix[blanks + cut * rises + rise, column] = 1
    matrix[:blanks, len(sheets) + len(strips) :] = -np.eye(blanks)
    most = np.concatenate([-layout.wanted, np.zeros(cuts * rises), layout.count, [aim.budget]]).astype(float)
    price = [aim.fixed[layout.kind[cut]] for cut, _ in sheets]
    return csr_array(matrix), most, np.array([*price, *[0.0] * len(strips), *[PENALTY] * blanks])


def _relax(layout: Layout, aim: Aim, columns: Columns) -> tuple[float, _Prices]:
    """Least cost when sheets and strips may be taken a fraction of a time, and its shadow prices."""
    matrix, most, cost = _rows(layout, aim, columns)
    blanks, cells = len(layout.wanted), len(layout.kind) * len(layout.rises)
    for method in ("highs", "highs-ds", "highs-ipm"):
        found = linprog(cost, A_ub=matrix, b_ub=most, method=method)
        if found.status == 0:
            duals = np.maximum(-np.asarray(found.ineqlin.marginals), 0.0)
            strip = duals[blanks : blanks + cells].reshape(len(layout.kind), len(layout.rises))
            return float(found.fun), _Prices(
                duals[:blanks], strip, duals[blanks + cells : -1], float(duals[-1])
            )
    raise RequestError("a linear programme of the plate list did not come out", "change a size by 0.01 mm")


def _in_whole_sheets(layout: Layout, aim: Aim, prices: _Prices) -> float:
    """Least cost of whole sheets that can hold all blanks, each counting its shadow price."""
    most = _add_sheets(layout, Columns(), prices.strip, np.zeros(len(layout.count)))
    need = float(prices.blank @ layout.wanted) * (1 - SAME)
    rows = LinearConstraint(most[None, :], need, np.inf)
    whole, options = np.ones(len(most)), {"mip_rel_gap": 0.0}
    found = milp(
        aim.fixed, constraints=rows, bounds=Bounds(0, layout.count), integrality=whole, options=options
    )
    return float(aim.fixed @ np.rint(found.x)) if found.status == 0 else -np.inf


def _near(layout: Layout, aim: Aim, prices: _Prices, gap: float) -> Columns | None:
    """All strips and sheets that a better plan could use; None where there are too many."""
    columns, toll = Columns(), prices.toll(aim)
    for cut, kind in enumerate(layout.kind.tolist()):
        sheets = near_ways(
            _strips_task(layout, cut), _PLAIN, prices.strip[cut], toll[[kind]], gap, FEW_COLUMNS
        )
        if sheets is None:
            return None
        columns.sheets |= {(cut, tuple(counts.tolist())): None for counts in sheets.counts}
        for number in range(len(layout.rises)):
            strips = _near_strips(layout, cut, number, prices, gap)
            if strips is None or len(columns.strips) + len(strips) > FEW_COLUMNS:
                return None
            columns.strips |= {(cut, number, laid): None for laid in strips}
    return columns if len(columns.sheets) <= FEW_COLUMNS else None


def _near_strips(
    layout: Layout, cut: int, number: int, prices: _Prices, gap: float
) -> list[tuple[int, ...]] | None:
    """Strips of one rise that a better plan could use."""
    ways = np.flatnonzero(layout.allowed[cut] & (layout.rise <= layout.rises[number]))
    if not len(ways):
        return []
    task = _bar_task(layout.run[ways], layout.wanted[layout.blank[ways]], int(layout.room[cut]))
    toll = prices.strip[cut, [number]]
    found: Ways | None = near_ways(task, _PLAIN, prices.blank[layout.blank[ways]], toll, gap, FEW_COLUMNS)
    if found is None:
        return None
    laid = np.zeros((len(found.kind), len(layout.blank)), np.int64)
    laid[:, ways] = found.counts
    high = laid[:, layout.rise == layout.rises[number]].any(axis=1)
    return [tuple(row) for row in laid[high].tolist()]


def _best(
    layout: Layout, aim: Aim, columns: Columns, now: Found, watch: Watch, *, all_there_is: bool
) -> Found:
    """The best plan from the strips and sheets at hand; proven where these are all that a better one could use."""
    matrix, most, cost = _rows(layout, aim, columns)
    below, part, end = _below(aim, now.cost), SLICE, 0.0
    plan, bound = now.plan, now.bound
    while watch.left > end:
        rows = [LinearConstraint(matrix, -np.inf, most), LinearConstraint(cost[None, :], -np.inf, below)]
        options = {"time_limit": min(part, watch.left - end), "mip_rel_gap": 0.0}
        found = milp(cost, constraints=rows, integrality=np.ones(len(cost)), options=options)
        watch.look()
        if found.x is not None:
            plan = _plan_of(layout, columns, np.rint(found.x).astype(int).tolist())
            below = min(below, float(found.fun))
        if found.status != OUT_OF_TIME:
            finished = cost_of_sheets(layout, aim, plan)
            bound = max(bound, finished) if found.status in (0, 2) else bound
            break
        bound = max(bound, min(found.mip_dual_bound or -np.inf, below))
        part *= 2
    reached = min(cost_of_sheets(layout, aim, plan), now.cost)
    if not all_there_is or bound <= now.bound:
        return Found(plan, reached, min(now.bound, reached), now.how)
    how = f"all {len(columns.strips)} strips and {len(columns.sheets)} sheets that a better plan could use"
    return Found(plan, reached, min(bound, reached), how)


def _plan_of(layout: Layout, columns: Columns, times: list[int]) -> SheetPlan:
    """Whole sheets with their strips, without surplus blanks."""
    sheets, strips = list(columns.sheets), list(columns.strips)
    stock: dict[tuple[int, int], list[tuple[int, ...]]] = {}
    for (cut, rise, laid), often in zip(strips, times[len(sheets) :]):
        stock.setdefault((cut, rise), []).extend([laid] * often)
    left, plan = layout.wanted.copy(), list[SheetCut]()
    for (cut, counts), often in zip(sheets, times):
        for _ in range(often):
            taken = [
                stock[cut, rise].pop()
                for rise, n in enumerate(counts)
                for _ in range(n)
                if stock.get((cut, rise))
            ]
            kept = [strip for laid in taken if (strip := _needed(layout, cut, laid, left)) is not None]
            if kept:
                plan.append((cut, tuple(kept)))
    return tuple(plan)


def _needed(layout: Layout, cut: int, laid: tuple[int, ...], left: Ints) -> StripCut | None:
    """A strip without what is no longer wanted, as low as it then may be; takes it off ``left``."""
    kept = np.array(laid)
    for way in np.flatnonzero(kept).tolist():
        kept[way] = min(kept[way], left[layout.blank[way]])
        left[layout.blank[way]] -= kept[way]
    if not kept.any():
        return None
    while True:
        highest = int(np.flatnonzero(kept)[-1])
        same = (
            layout.allowed[cut]
            & (layout.blank == layout.blank[highest])
            & (layout.rise < layout.rise[highest])
        )
        turned = kept.copy()
        turned[highest] = 0
        turned[same] += kept[highest]
        if not same.any() or turned @ layout.run > layout.room[cut]:
            return int(np.searchsorted(layout.rises, layout.rise[highest])), tuple(kept.tolist())
        kept = turned


def first_sheets(layout: Layout, aim: Aim) -> SheetPlan:
    """A plan as it is made by hand: the highest blank opens a strip, the longest that are no higher fill it.

    Own sheets come first, then those that cost least for what is laid on them. Blanks may be missing.
    """
    left, count, plan = layout.wanted.copy(), layout.count.copy(), list[SheetCut]()
    while left.any():
        able = {
            cut: strips
            for cut, kind in enumerate(layout.kind.tolist())
            if count[kind] and (strips := tuple(_stacked(layout, cut, left.copy())))
        }
        if not able:
            break
        cut = min(
            able,
            key=lambda c: (aim.spend[layout.kind[c]] / _area(layout, able[c]), -_area(layout, able[c]), c),
        )
        plan.append((cut, able[cut]))
        count[layout.kind[cut]] -= 1
        for _, laid in able[cut]:
            np.subtract.at(left, layout.blank, np.array(laid))
    return tuple(plan)


def _area(layout: Layout, strips: tuple[StripCut, ...]) -> float:
    """Of the blanks on some strips, in the largest blank."""
    areas = layout.run.astype(float) * layout.rise
    return float(sum(areas @ np.array(laid) for _, laid in strips) / areas.max())


def _stacked(layout: Layout, cut: int, left: Ints) -> Iterator[StripCut]:
    """Strips from one edge of the sheet on, until none fits any more."""
    stack, room, may = int(layout.stack[cut]), int(layout.room[cut]), layout.allowed[cut]
    while True:
        fits = may & (left[layout.blank] > 0) & (layout.rise <= stack) & (layout.run <= room)
        if not fits.any():
            return
        # of two ways to lay a blank the lower, and of these the highest
        _, lower = np.unique(layout.blank[fits], return_index=True)
        first = max(np.flatnonzero(fits)[lower].tolist(), key=lambda way: (layout.rise[way], layout.run[way]))
        laid, space = np.zeros(len(layout.blank), np.int64), room
        low = np.flatnonzero(may & (layout.rise <= layout.rise[first]))
        for way in [first, *low[np.argsort(-layout.run[low], kind="stable")].tolist()]:
            number = min(int(left[layout.blank[way]]), space // int(layout.run[way]))
            laid[way] += number
            left[layout.blank[way]] -= number
            space -= number * int(layout.run[way])
        yield int(np.searchsorted(layout.rises, layout.rise[first])), tuple(laid.tolist())
        stack -= int(layout.rise[first])
