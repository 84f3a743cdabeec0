"""Tolerance chart: a plan charted. Working dims, blueprint dims and stock, worst case and chance side by side."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import BuildError, Cancelled, Problem
from loopwright.making.chart import Plan
from loopwright.making.chart_case import Case
from loopwright.making.chart_limits import Tolerances, Widths, settle
from loopwright.making.chart_means import notes
from loopwright.making.chart_spreads import Kind
from loopwright.making.chart_tree import Array

__all__ = ["Resultant", "Solution", "WorkingDim", "chances", "chart", "charts"]

Progress = Callable[[int, int], None]
Cancel = Callable[[], bool]
TOUCHES = 1e-9
"""A limit that is passed by less is kept, mm."""


@dataclass(frozen=True, slots=True)
class WorkingDim:
    """What the shop reads at one cut.

    Attributes:
        cut: number in ``plan.cuts``.
        mean: position of the surface minus that of its datum, mm; negative where it lies on the other side.
        half: half the tolerance, mm.
        capability: half the tolerance that it can be held to, mm; 0 where it is not known.
        share: tolerance over capability; below 1 the cut cannot hold it. Infinite where the capability is not known.
        given: whether the size was given.
        bound_by: name of what stopped its tolerance from being wider; '' for nothing.
    """

    cut: int
    mean: float
    half: float
    capability: float
    share: float
    given: bool
    bound_by: str

    @property
    def size(self) -> float:
        """The mean unsigned, as it stands on a sheet, mm."""
        return abs(self.mean)


@dataclass(frozen=True, slots=True)
class Resultant:
    """What a blueprint dim or a stock removal comes to.

    Attributes:
        kind: which of the two.
        index: number in ``plan.finished``, or in ``plan.cuts`` of the cut that removes the stock.
        name: of the dim, or of the cut's surface and op.
        path: working dims it runs over, as numbers in ``plan.cuts`` with the signs in which their signed means count.
        words: the surfaces it runs over.
        chosen: whether a mean was chosen for it; else it follows from given sizes.
        asked_low: lower limit, or least stock, mm.
        asked_high: upper limit, or most stock, mm; infinite where none was asked.
        low: least value in worst case, mm.
        high: largest value in worst case, mm.
        mean: expected value, mm.
        std: standard deviation, mm.
        likely_low: lower end of the range that holds the value with the plan's confidence, mm.
        likely_high: upper end, mm.
        chance: that it is within what is asked.
        chance_any: that it is above zero: for a stock, that the cut finds anything at all.
        needed: half the range it would have if every cut were made as well as it can be held, mm.
        room: half the range that is left for tolerances, mm; infinite where nothing is asked.
        binds: whether no room is left.
        rate: common share gained for each mm more of room, 1/mm; 0 where it does not hold the common share.
    """

    kind: Literal["finished", "stock"]
    index: int
    name: str
    path: tuple[tuple[int, int], ...]
    words: str
    chosen: bool
    asked_low: float
    asked_high: float
    low: float
    high: float
    mean: float
    std: float
    likely_low: float
    likely_high: float
    chance: float
    chance_any: float
    needed: float
    room: float
    binds: bool
    rate: float

    @property
    def below(self) -> float:
        """How far the worst case passes the lower limit, mm; 0 where it does not."""
        return _past(self.asked_low - self.low)

    @property
    def above(self) -> float:
        """How far the worst case passes the upper limit, mm; 0 where it does not."""
        return _past(self.high - self.asked_high)

    @property
    def holds(self) -> bool:
        """Whether the worst case is within what is asked."""
        return not (self.below or self.above)

    @property
    def lacking(self) -> float:
        """By how much what the cuts can be held to is too wide for the room, as a half range, mm."""
        return _past(self.needed - self.room)


def _past(amount: float) -> float:
    return amount if amount > TOUCHES else 0.0


@dataclass(frozen=True)
class Solution:
    """A plan charted.

    Attributes:
        plan: the plan.
        k: standard deviations that a capability stands for.
        working: the working dims in the order of the plan's cuts, without the first reference.
        finished: what the blueprint dims come to, in the plan's order.
        stock: what the stock removals come to, in the order of work.
        share: least share of capability among the tolerances that were to be found; infinite where there was none.
        notes: what given sizes settle, so that no mean could be chosen for it.
    """

    plan: Plan
    k: float
    working: tuple[WorkingDim, ...]
    finished: tuple[Resultant, ...]
    stock: tuple[Resultant, ...]
    share: float
    notes: tuple[str, ...]

    @property
    def feasible(self) -> bool:
        """Whether the cuts can hold their tolerances, and these hold blueprint and stock in worst case."""
        return self.share >= 1 - 1e-9 and all(found.holds for found in (*self.finished, *self.stock))

    @property
    def binding(self) -> tuple[Resultant, ...]:
        """What leaves no room, what holds the common share first."""
        found = [r for r in (*self.finished, *self.stock) if r.binds]
        return tuple(sorted(found, key=lambda r: -r.rate))

    @property
    def lacking(self) -> tuple[Resultant, ...]:
        """Chains whose cuts, made as well as they can be held, add up to more than there is room, the worst first.

        In words: :func:`~loopwright.making.chart_words.lacking`.
        """
        found = [r for r in (*self.finished, *self.stock) if r.lacking]
        return tuple(sorted(found, key=lambda r: -r.lacking))

    def sizes(self) -> Array:
        """Signed mean of each working dim, mm, (cuts,); 0 for the first reference."""
        out = np.zeros(len(self.plan.cuts))
        out[[dim.cut for dim in self.working]] = [dim.mean for dim in self.working]
        return out

    def halves(self) -> Array:
        """Half the tolerance of each working dim, mm, (cuts,); 0 for the first reference."""
        out = np.zeros(len(self.plan.cuts))
        out[[dim.cut for dim in self.working]] = [dim.half for dim in self.working]
        return out


@dataclass(frozen=True, eq=False)
class Chances:
    """Sources of every closing of a plan.

    Attributes:
        kinds: kind of each source.
        keys: key of each.
        std: standard deviation of each, (sources,): mm, rad for angles, mm/mm for heat.
        coefficients: what each brings to each closing, (closings, sources).
        mean: expected value of each closing, mm, (closings,).
        middle: value in the middle of the growths that are to be reckoned with, mm, (closings,).
    """

    kinds: tuple[Kind, ...]
    keys: tuple[str, ...]
    std: Array
    coefficients: Array
    mean: Array
    middle: Array

    @property
    def of_closings(self) -> Array:
        """Standard deviation of each closing, mm, (closings,)."""
        return np.asarray(np.sqrt(((self.coefficients * self.std) ** 2).sum(axis=1)))


def chart(plan: Plan, *, k: float = 3.0, widths: Widths | None = None) -> Solution:
    """Charts a plan: tolerances first, then means, then what blueprint dims and stock come to.

    Worst case: every working dim anywhere within its tolerance, every growth anywhere in its range. Chance: every
    source normal with its standard deviation, the working dims centred on their means; sources that cuts share are
    one, so what two surfaces of one setup have in common cancels. A cut of whose spread nothing is known is taken to
    scatter by half its tolerance over k.

    Args:
        plan: the plan.
        k: a cut can be held to ± k standard deviations; 3 is common practice.
        widths: what the tolerances aim at.

    Returns:
        The solution, also where the plan cannot be held: then ``feasible`` is False, and ``lacking`` names why.

    Raises:
        BuildError: the plan has problems, see :func:`~loopwright.making.chart_checks.problems`.
        RequestError: a k or widths out of range.

    Source: O. R. Wade, *Tolerance Control in Design and Manufacturing* (1967), D. F. Eary and G. E. Johnson, *Process
        Engineering for Manufacturing* (1962), both from memory; law of propagation JCGM 100:2008, 5.1.2.
    Checked in: tests/published/test_tolerance_chart_slotted_block.py, test_tolerance_chart_nitrided_bore.py,
        test_tolerance_chart_keyway.py, test_tolerance_chart_case_depth.py.

    >>> from loopwright.making.chart import Cut, CutSpread, Finished, Surface
    >>> by = CutSpread(cut=0.01)
    >>> pin = Plan("pin", (Surface("left", -1), Surface("right", 1)), (
    ...     Cut("left", None, 1, "bar"), Cut("right", "left", 2, "chuck", by),
    ...     Cut("left", "right", 3, "flip", by, least=0.5)), (Finished("length", "left", "right", 20, -0.1, 0.1),))
    >>> found = chart(pin)
    >>> [(round(dim.size, 3), round(dim.half, 3)) for dim in found.working]
    [(20.63, 0.03), (20.0, 0.1)]
    >>> round(found.stock[0].low, 3), round(found.stock[0].high, 3)
    (0.5, 0.76)
    """
    return charted(Case.of(plan, k), widths or Widths())


def charted(case: Case, widths: Widths) -> Solution:
    """Charts a plan that was found right."""
    sizes, tolerances = settle(case, widths)
    closings = case.paths.closings
    results = _resultants(case, sizes, tolerances)
    names = [result.name for result in results]
    working = tuple(
        WorkingDim(
            cut=i,
            mean=float(sizes[i]),
            half=float(tolerances.halves[i]),
            capability=float(tolerances.capability[i]),
            share=float(tolerances.share[i]),
            given=bool(case.placed[i]),
            bound_by="" if (row := tolerances.bound_by[i]) < 0 else names[row],
        )
        for i in np.flatnonzero(case.working).tolist()
    )
    finished = tuple(r for r, c in zip(results, closings) if c.kind == "finished")
    stock = tuple(r for r, c in zip(results, closings) if c.kind == "stock")
    return Solution(case.plan, case.k, working, finished, stock, tolerances.common, notes(case))


def _resultants(case: Case, sizes: Array, tolerances: Tolerances) -> list[Resultant]:
    paths, plan = case.paths, case.plan
    low, high = paths.reach(sizes, tolerances.halves)
    asked_low, asked_high = case.asked
    sources = chances(case, sizes, tolerances.halves)
    mean, std = sources.mean, sources.of_closings
    within = _within(mean, std, asked_low - TOUCHES, asked_high + TOUCHES)
    some = _within(mean, std, np.zeros_like(mean), np.full_like(mean, np.inf))
    reach = NormalDist().inv_cdf((1 + plan.confidence) / 2) * std
    columns = (
        *(asked_low, asked_high, low, high, mean, std, mean - reach, mean + reach, within, some),
        *(tolerances.needed, tolerances.room, tolerances.binds, tolerances.rate),
    )
    numbers = list(zip(*(column.tolist() for column in columns)))
    out = []
    for row, closing in enumerate(paths.closings):
        stock = closing.kind == "stock"
        name = f"stock on {paths.tree.name(closing.index)}" if stock else plan.finished[closing.index].name
        head = (closing.kind, closing.index, name, paths.path(row), paths.words(row), bool(case.chosen[row]))
        out.append(Resultant(*head, *numbers[row]))
    return out


def _within(mean: Array, std: Array, low: Array, high: Array) -> NDArray[np.float64]:
    """Chance that normal values lie between limits; 0 or 1 where nothing scatters."""
    safe = np.where(std > 0, std, 1.0)
    chance = _below((high - mean) / safe) - _below((low - mean) / safe)
    return np.where(std > 0, chance, (low <= mean) & (mean <= high)).astype(float)


def _below(z: Array) -> Array:
    """Chance that a standard normal value lies below; the library's own takes a tenth of a second to load."""
    return np.array([0.5 * erfc(-one / sqrt(2)) for one in np.ravel(z).tolist()]).reshape(np.shape(z))


def chances(case: Case, sizes: Array, halves: Array) -> Chances:
    """The sources of every closing.

    Args:
        case: the plan.
        sizes: signed mean of each working dim, mm, (cuts,).
        halves: half the tolerance of each, mm, (cuts,); counts where the spread of a cut is not known.
    """
    paths, plan, spreads = case.paths, case.plan, case.spreads
    rows = paths.at(paths.expected)
    out = rows @ spreads.coefficients
    for row, closing in enumerate(paths.closings):
        if closing.kind == "finished" and plan.finished[closing.index].a is None:
            out[row] -= rows[row, closing.end] * spreads.seating[closing.end]
    heat = paths.slopes(rows * sizes, paths.expected).T
    keys = tuple(h.shared or f"{plan.name}/after op {h.after_op}" for h in plan.heats)
    std = np.append(spreads.with_tolerances(halves, case.k), [h.standard for h in plan.heats])
    kinds = (*spreads.kinds, *("heat" for _ in plan.heats))
    values = rows @ sizes, paths.at(paths.middle) @ sizes
    return Chances(kinds, (*spreads.keys, *keys), std, np.hstack([out, heat]), *values)


def charts(
    plans: Sequence[Plan],
    *,
    k: float = 3.0,
    widths: Widths | None = None,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
) -> tuple[Solution | tuple[Problem, ...], ...]:
    """Charts many plans.

    Args:
        plans: the plans.
        k: as for :func:`chart`.
        widths: as for :func:`chart`.
        progress: called with the plans done and how many there are.
        cancel: asked after each plan; True stops.

    Returns:
        For each plan its solution, or its problems.

    Raises:
        Cancelled: ``cancel`` said so.
        RequestError: a k or widths out of range.

    >>> charts([])
    ()
    """
    out: list[Solution | tuple[Problem, ...]] = []
    for plan in plans:
        try:
            out.append(chart(plan, k=k, widths=widths))
        except BuildError as error:
            out.append(error.problems)
        if progress is not None:
            progress(len(out), len(plans))
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after {len(out)} of {len(plans)} plans")
    return tuple(out)
