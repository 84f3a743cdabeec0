"""Tolerance chart: tolerances of the working dims, as wide as blueprint and stock allow.

The worst case is a packing problem: along each path the tolerances have to fit into what the blueprint leaves. The
linear programme is: largest common share s, so that each tolerance is at least s times what its cut can be held to,
and along no path they add up to more than there is room. With one common factor it needs no solver: all tolerances
grow together until a path is full, its cuts stop, and the others go on. Each step is the optimum of the programme for
the cuts that are left, so the result is the even one among all that share the optimum.
"""

from dataclasses import dataclass
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import RequestError
from loopwright.making.chart import Plan
from loopwright.making.chart_case import Case
from loopwright.making.chart_means import sizes_of
from loopwright.making.chart_tree import Array, Bools

__all__ = ["Aim", "Tolerances", "Widths", "limits"]

Aim = Literal["even", "sum"]
ROUNDS = 8
"""Of tolerances and means in turn; they depend on each other only over growth by heat and sizes off the middle."""
TIGHT = 1e-9
"""Room that is less is none, mm."""


@dataclass(frozen=True, slots=True)
class Widths:
    """How wide tolerances are to be made.

    Attributes:
        aim: 'even' raises all shares together as far as they go; 'sum' reaches the same least share, then the largest
            sum of shares.
        unbound: share for a cut that no blueprint dim and no most stock sees; more would only leave more stock.
        widest: no tolerance is wider than this many times what its cut can be held to.
    """

    aim: Aim = "even"
    unbound: float = 1.0
    widest: float = inf

    def __post_init__(self) -> None:
        if self.aim not in ("even", "sum"):
            raise RequestError(f"the aim '{self.aim}'", "take 'even' or 'sum'")
        if not (0 < self.unbound < inf and self.widest >= 1):
            what = f"an unbound share of {self.unbound:g} and a widest of {self.widest:g}"
            raise RequestError(what, "take an unbound share above zero, and a widest of 1 or more")


@dataclass(frozen=True, eq=False)
class Tolerances:
    """Tolerances of the working dims, worst case.

    Attributes:
        halves: half the tolerance of each working dim, mm, (cuts,).
        capability: half the tolerance that each can be held to, mm, (cuts,); 0 where it is not known.
        share: the one over the other, (cuts,); infinite where the capability is not known.
        common: least share of the cuts that were free; below 1 the plan cannot be held. Infinite where none was free.
        bound_by: closing that stopped each tolerance, (cuts,); -1 for none.
        room: what each closing leaves for tolerances along its path, mm, (closings,); infinite for none asked.
        taken: what they take of it, mm, (closings,).
        needed: what they would take if every cut were made as well as it can be held, mm, (closings,).
        rate: common share gained for each mm more of room, 1/mm, (closings,), as long as nothing else binds: the dual
            of the programme. 0 for what does not hold the common share.
    """

    halves: Array
    capability: Array
    share: Array
    common: float
    bound_by: tuple[int, ...]
    room: Array
    taken: Array
    needed: Array
    rate: Array

    @property
    def binds(self) -> Bools:
        """Closings without any room left, (closings,)."""
        return np.asarray(self.room - self.taken <= TIGHT)


def limits(plan: Plan, *, k: float = 3.0, widths: Widths | None = None) -> Tolerances:
    """Tolerances of the working dims: the largest common share of what the cuts can be held to.

    Subject to every blueprint dim in worst case, every most stock, and every least stock that given sizes settle.
    Least stock that is chosen needs no room: its mean moves along. Tolerances and sizes that are given stay.

    Args:
        plan: the plan.
        k: a cut can be held to ± k standard deviations of everything it scatters by; 3 is common practice.
        widths: what is aimed at.

    Returns:
        The tolerances.

    Raises:
        BuildError: the plan has problems.
        RequestError: a k or widths out of range.

    Source: tolerance charts as a linear programme: S. A. Irani, R. O. Mittal, E. A. Lehtihet, *International Journal
        of Production Research* 27 (1989) (from memory); the common share, and raising it evenly, are ours.

    >>> from loopwright.making.chart import Cut, CutSpread, Finished, Surface
    >>> two = Plan("step", (Surface("left", -1), Surface("step", 1), Surface("right", 1)), (
    ...     Cut("left", None, 1, "bar"), Cut("step", "left", 2, "first", CutSpread(cut=0.01)),
    ...     Cut("right", "left", 3, "second", CutSpread(cut=0.02))),
    ...     (Finished("length", "left", "right", 20, -0.5, 0.5), Finished("head", "step", "right", 8, -0.18, 0.18)))
    >>> [round(half, 6) for half in limits(two).halves.tolist()]
    [0.0, 0.06, 0.12]
    """
    return settle(Case.of(plan, k), widths or Widths())[1]


def settle(case: Case, widths: Widths) -> tuple[Array, Tolerances]:
    """Signed mean sizes and tolerances that go with each other."""
    halves = np.where(case.free, case.scale, case.given_halves)
    for _ in range(ROUNDS):
        sizes = sizes_of(case, halves)
        found = tolerances_of(case, sizes, widths)
        if np.abs(found.halves - halves).max(initial=0.0) < TIGHT / 10:
            break
        halves = found.halves
    return sizes_of(case, found.halves), found


def tolerances_of(case: Case, sizes: Array, widths: Widths) -> Tolerances:
    """Tolerances for given means.

    Args:
        case: the plan.
        sizes: signed means, mm, (cuts,).
        widths: what is aimed at.
    """
    matrix, room = case.widest_paths, _room(case, sizes)
    scale, free = case.scale, case.free
    left = room - matrix @ np.where(free, 0.0, case.given_halves)
    counts = np.isfinite(room) & (matrix[:, free] > 0).any(axis=1)
    hopeless = counts & (left <= 0)
    rows = np.flatnonzero(counts & ~hopeless)
    fill = _Fill(matrix[rows][:, free] * scale[free], left[rows], case.capability[free] > 0)
    halves = case.given_halves.copy()
    halves[free] = fill.done(widths) * scale[free]
    bound = np.full(len(free), -1)
    bound[free] = np.append(rows, -1)[fill.stopped]
    return _told(case, halves, matrix, room, bound, hopeless)


def _told(
    case: Case, halves: Array, matrix: Array, room: Array, bound: NDArray[np.int64], hopeless: Bools
) -> Tolerances:
    """The result with what it takes, needs and would gain."""
    known = case.capability > 0
    share = np.full(len(halves), np.inf)
    np.divide(halves, case.capability, out=share, where=known)
    common = 0.0 if hopeless.any() else float(share[case.free & known].min(initial=np.inf))
    needed = matrix @ np.where(case.free, case.capability, case.given_halves)
    growing = case.free & (known | (common >= 1))
    weight = matrix @ np.where(growing, case.scale, 0.0)
    least = bound[(bound >= 0) & known & case.free & (share <= common * (1 + 1e-9))]
    rate = np.zeros(len(room))
    rate[least] = 1.0 / weight[least]
    return Tolerances(
        halves, case.capability, share, common, tuple(bound.tolist()), room, matrix @ halves, needed, rate
    )


def _room(case: Case, sizes: Array) -> Array:
    """What each closing leaves for tolerances along its path, mm, (closings,)."""
    values = case.paths.at_corners @ sizes
    least, largest = values.min(axis=0), values.max(axis=0)
    low, high = case.asked
    off_centre = np.minimum(high - largest, least - low)
    chosen_stock = case.chosen & ~case.is_finished
    return np.asarray(np.where(chosen_stock, (high - low - (largest - least)) / 2, off_centre))


class _Fill:
    """Tolerances that grow together until their paths are full, in shares of their scale.

    Attributes:
        matrix: what one share of each free cut takes in each path, mm, (rows, free).
        left: room of each path, mm, (rows,).
        known: cuts whose capability is known, (free,).
        level: share of each, (free,).
        stopped: row that stopped each, (free,); -1 for none.
    """

    def __init__(self, matrix: Array, left: Array, known: Bools) -> None:
        self.matrix, self.left, self.known = matrix, left, known
        self.bounded = (matrix > 0).any(axis=0)
        self.level = np.zeros(matrix.shape[1])
        self.stopped = np.full(matrix.shape[1], -1)

    def done(self, widths: Widths) -> Array:
        """The shares, (free,).

        What can be held comes first, then cuts of which nothing is known, then all as far as it goes.
        """
        for cap, group in ((1.0, self.known), (1.0, ~self.known), (widths.widest, np.ones_like(self.known))):
            self._raise(cap, group & self.bounded & (self.stopped < 0))
        if widths.aim == "sum" and self.bounded.any():
            self._largest_sum(widths.widest)
        return np.where(self.bounded, self.level, widths.unbound)

    def _raise(self, cap: float, active: Bools) -> None:
        """Raises the active ones, which are at one level, together; those whose path is full stop."""
        while active.any():
            room = (self.left - self.matrix @ self.level).clip(min=0.0)
            speed = self.matrix[:, active].sum(axis=1)
            steps = np.full(len(speed), np.inf)
            np.divide(room, speed, out=steps, where=speed > 0)
            step = steps.min()
            if step >= cap - self.level[active].max():
                self.level[active] = cap
                return
            self.level[active] += step
            for row in np.flatnonzero(steps <= step * (1 + 1e-12)):
                hit = active & (self.matrix[row] > 0)
                self.stopped[hit] = row
                active = active & ~hit

    def _largest_sum(self, widest: float) -> None:
        """The largest sum of shares that keeps the least of them."""
        counted = self.known if (self.known & self.bounded).any() else np.ones_like(self.known)
        least = np.where(counted, self.level[counted & self.bounded].min() * (1 - 1e-12), 0.0)
        bounds = [(low, None if widest == inf else widest) for low in least[self.bounded]]
        matrix = self.matrix[:, self.bounded]
        from scipy.optimize import linprog  # slow to load, and few ask for it

        found = linprog(-np.ones(matrix.shape[1]), matrix, self.left, bounds=bounds, method="highs")
        assert found.success, found.message  # the even shares are a solution, and every share has a bound
        self.level[self.bounded] = found.x
        full = self.left - self.matrix @ self.level <= TIGHT
        stops = (self.matrix > 0) & full[:, None]
        self.stopped = np.where(stops.any(axis=0), stops.argmax(axis=0), -1)
