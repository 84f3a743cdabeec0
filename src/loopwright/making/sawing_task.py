"""The saw list of one section as whole numbers: what a search is given, what it aims at, what it finds."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import Cancelled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Progress = Callable[[int, int], None]
Cancel = Callable[[], bool]

STEPS = 1_000_000
"""Steps of length in 1 mm: 1/64 inch is a whole number of them, and so is every length that anybody types."""
SAME = 1e-9
"""Two costs that differ by less are the same; the dearest bar, or the longest, counts 1."""
LONGEST_GRID = 5_000_000
"""Sums of prices that are looked at."""
PENALTY = 1e3
"""What a missing piece counts where none has to be missing."""


@dataclass(frozen=True)
class Task:
    """Pieces and bars of one section. Lengths are whole numbers of steps.

    Attributes:
        sizes: length of a piece with its kerf, the longest first, no two the same, (pieces,).
        wanted: how many of each, (pieces,).
        room: what pieces with their kerfs may take of a bar of each kind, (kinds,).
        rest: what is left of the bar while nothing is sawn off but its end is faced, (kinds,).
        length: of the bar as it lies in the rack, (kinds,).
        count: how many bars there are of each kind, (kinds,).
        price: of one; 0 for what is in the shop, (kinds,).
        least: the shortest off-cut that is kept.
    """

    sizes: Ints
    wanted: Ints
    room: Ints
    rest: Ints
    length: Ints
    count: Ints
    price: Floats
    least: int

    def worth(self, lengths: Ints) -> Floats:
        """What lengths are worth in the rack: their square, 1 for the longest bar; 0 when too short to keep."""
        share = lengths / float(self.length.max())
        return np.where(lengths >= max(self.least, 1), share * share, 0.0)

    def left(self, kind: Ints | int, load: Ints) -> Ints:
        """Rest of bars of these kinds after such loads; without a grip the blade may run out at the end."""
        return np.asarray(np.maximum(self.rest[kind] - load, 0), np.int64)


@dataclass(frozen=True)
class Goal:
    """What a plan makes least: the sum over its bars of ``fixed``, less the worth of what is kept of them.

    Attributes:
        fixed: counted for each bar, (kinds,).
        keeps: whether what is left of a bar counts with its worth.
        missing: counted for each piece that is not made.
        spend: price of a bar where there is a budget, (kinds,).
        budget: largest sum of ``spend``; None for no limit.
    """

    fixed: Floats
    keeps: bool
    missing: float
    spend: Floats
    budget: float | None = None

    def costs(self, task: Task, kind: Ints, counts: Ints) -> Floats:
        """Cost of each way to saw a bar, (ways,), from its kind (ways,) and its pieces (ways, pieces)."""
        cost = self.fixed[kind]
        return cost - task.worth(task.left(kind, counts @ task.sizes)) if self.keeps else cost


def dearest(task: Task) -> float:
    """The unit of money: the dearest bar, or 1 where nothing is bought."""
    return float(task.price.max()) or 1.0


def to_make_all(task: Task) -> Goal:
    """As few missing pieces as possible, whatever it costs."""
    return Goal(np.zeros(len(task.room)), False, 1.0, np.zeros(len(task.room)))


def to_spend_least(task: Task) -> Goal:
    """Least cost of what is bought."""
    return Goal(task.price / dearest(task), False, PENALTY, np.zeros(len(task.room)))


def to_leave_most(task: Task, budget: float) -> Goal:
    """For no more than a sum of money, the rack worth most: whole bars spared, one long off-cut for two short."""
    own = np.where(task.price > 0, 0.0, task.worth(task.length))
    return Goal(own, True, PENALTY, task.price / dearest(task), budget / dearest(task) + SAME)


def sum_below(price: Floats, most: float) -> float | None:
    """The largest sum of prices that is no more than an amount, each taken as often as one likes.

    None where prices are finer than hundredths, or the amount is too large to try.

    >>> sum_below(np.array([60.0, 31.5]), 95.0)
    94.5
    """
    cents = np.unique(price[price > 0] * 100)
    whole = np.rint(cents).astype(np.int64)
    if most < 0 or not len(whole) or np.abs(cents - whole).max() > 1e-6:
        return None
    step = int(np.gcd.reduce(whole))
    top = int(most * 100 // step)
    if top > LONGEST_GRID:
        return None
    bits, mask = 1, (1 << (top + 1)) - 1
    for part in (whole // step).tolist():
        shift = part
        while shift <= top:
            bits |= (bits << shift) & mask
            shift *= 2
    return (bits.bit_length() - 1) * step / 100


@dataclass(frozen=True)
class Pattern:
    """One way to saw a bar, and how many bars are sawn so.

    Attributes:
        kind: which bar.
        counts: pieces of each size.
        times: bars.
    """

    kind: int
    counts: tuple[int, ...]
    times: int


Plan = tuple[Pattern, ...]


def gathered(bars: Iterable[tuple[int, tuple[int, ...]]]) -> Plan:
    """A plan from single bars; an empty one drops out."""
    tally = Counter(bar for bar in bars if any(bar[1]))
    return tuple(
        Pattern(kind, counts, times) for (kind, counts), times in sorted(tally.items(), reverse=True)
    )


def cost_of(task: Task, goal: Goal, plan: Plan) -> float:
    """What a plan costs, its missing pieces included."""
    missing = np.maximum(task.wanted - made(task, plan), 0).sum() * goal.missing
    if not plan:
        return float(missing)
    kind, counts = np.array([p.kind for p in plan]), np.array([p.counts for p in plan], np.int64)
    return float(goal.costs(task, kind, counts) @ np.array([p.times for p in plan]) + missing)


def made(task: Task, plan: Plan) -> Ints:
    """How many pieces of each size a plan makes, (pieces,)."""
    total = np.zeros_like(task.wanted)
    for pattern in plan:
        total += pattern.times * np.array(pattern.counts, np.int64)
    return total


def trimmed(task: Task, goal: Goal, plan: Plan) -> Plan:
    """The plan without its surplus pieces, each left out where that helps most."""
    surplus = made(task, plan) - task.wanted
    bars = [(pattern.kind, list(pattern.counts)) for pattern in plan for _ in range(pattern.times)]
    for size in np.flatnonzero(surplus > 0).tolist():
        for _ in range(int(surplus[size])):
            gains = [_gain(task, goal, kind, counts, size) for kind, counts in bars]
            bars[int(np.argmax(gains))][1][size] -= 1
    return gathered((kind, tuple(counts)) for kind, counts in bars)


def _gain(task: Task, goal: Goal, kind: int, counts: list[int], size: int) -> float:
    """What one piece less on a bar saves; minus infinity where there is none."""
    if not counts[size]:
        return -np.inf
    fewer = np.array([counts, counts], np.int64)
    fewer[1, size] -= 1
    before, after = goal.costs(task, np.full(2, kind), fewer).tolist()
    return float(before - (after if fewer[1].any() else 0.0))


@dataclass
class Watch:
    """Tells how far the work is, and stops it.

    Attributes:
        wanted: how many stages there are.
        until: clock at which no further search is begun, s.
        progress: called with the stages done and how many there are.
        cancelled: asked now and then; True stops.
        done: stages done.
    """

    wanted: int
    until: float
    progress: Progress | None = None
    cancelled: Cancel | None = None
    done: int = 0

    def look(self) -> None:
        """Stops where that was asked for."""
        if self.cancelled is not None and self.cancelled():
            raise Cancelled(f"stopped after {self.done} of {self.wanted} stages")

    def stage(self) -> None:
        """One stage more is done."""
        self.done += 1
        self.look()
        if self.progress is not None:
            self.progress(self.done, self.wanted)

    @property
    def left(self) -> float:
        """Time left, s; not below zero."""
        return max(self.until - monotonic(), 0.0)
