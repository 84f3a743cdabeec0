"""Ways to fill one bar: the best ones for given values of the pieces, or all that come near the best."""

from dataclasses import dataclass

import numpy as np

from loopwright.making.sawing_task import Floats, Goal, Ints, Task

MOST_LOADS = 400_000
"""Loads looked at together; of more, the hopeful ones are followed and the rest is said to be open."""
CELLS, FINE_CELLS = 4_000, 30_000
"""Cells into which the longest bar is divided to bound what can still be added to a load."""
ROUNDING = 1e-11


@dataclass(frozen=True)
class Ways:
    """Ways to saw bars.

    Attributes:
        kind: which bar, (ways,).
        counts: pieces of each size, (ways, pieces).
    """

    kind: Ints
    counts: Ints


@dataclass(frozen=True)
class Loads:
    """Loads reached with the sizes tried so far; ``trail`` says where each came from and with how many pieces."""

    load: Ints
    value: Floats
    trail: tuple[tuple[Ints, Ints], ...]

    def keep(self, which: Ints) -> "Loads":
        """Some of the loads."""
        parent, pieces = self.trail[-1]
        last = (parent[which], pieces[which])
        return Loads(self.load[which], self.value[which], (*self.trail[:-1], last))

    def counts(self, which: Ints, order: Ints, sizes: int) -> Ints:
        """Pieces of each size in some of the loads, (which, sizes), where the sizes were tried in this order."""
        found = np.zeros((len(which), sizes), np.int64)
        for size, (parent, pieces) in zip(order[: len(self.trail)][::-1], self.trail[::-1]):
            found[:, size] = pieces[which]
            which = parent[which]
        return found


@dataclass(frozen=True)
class _Scale:
    """Weighs loads: what they bring above the toll on each kind of bar, as they are and at most.

    Attributes:
        task: pieces and bars.
        goal: whether what is left of a bar counts.
        toll: what a bar has to bring, (kinds,).
        cell: length of one cell of the table, in steps.
        hopes: the most that the sizes from number i on, and what is left then, bring in so many cells of room or
            fewer, (sizes + 1, cells + 1).
    """

    task: Task
    goal: Goal
    toll: Floats
    cell: int
    hopes: Floats

    @classmethod
    def of(cls, task: Task, goal: Goal, values: Floats, toll: Floats, order: Ints, cells: int) -> "_Scale":
        """Fills the table from its end. Sizes are rounded down to cells and room up, so hope is never too small."""
        cell = max(-(-int(task.room.max()) // cells), 1)
        room = np.arange(-(-int(task.room.max()) // cell) + 1)
        # every bar gives up the same length to the vice, so one table serves all kinds
        vice = int((task.rest - task.room)[0])
        last = task.worth(np.maximum(room * cell + vice, 0)) if goal.keeps else np.zeros(len(room))
        rows = [last]
        for size in order[::-1].tolist():
            row, copies = (
                rows[-1].copy(),
                min(int(task.wanted[size]), int(task.room.max() // task.sizes[size])),
            )
            part = 1
            while copies > 0:
                part = min(part, copies)
                shift = int(task.sizes[size]) * part // cell
                if shift < len(row):
                    np.maximum(row[shift:], row[: len(row) - shift] + part * values[size], out=row[shift:])
                copies -= part
                part *= 2
            rows.append(row)
        return cls(task, goal, toll, cell, np.array(rows[::-1]))

    def now(self, loads: Loads) -> Floats:
        """Value above the toll as the loads are, (loads, kinds); minus infinity without room or without a load."""
        load = loads.load[:, None]
        value = loads.value[:, None] - self.toll
        if self.goal.keeps:
            value = value + self.task.worth(np.maximum(self.task.rest - load, 0))
        return np.where((load <= self.task.room) & (load > 0), value, -np.inf)

    def at_most(self, loads: Loads, number: int) -> Floats:
        """The same with all that the sizes from a number on may still bring, (loads, kinds)."""
        room = self.task.room - loads.load[:, None]
        hope = self.hopes[number][-(-np.maximum(room, 0) // self.cell)]
        return np.where(room >= 0, loads.value[:, None] + hope - self.toll, -np.inf)


def best_ways(task: Task, goal: Goal, values: Floats, toll: Floats) -> tuple[Ways, Floats]:
    """The way to saw a bar that brings most above the toll, for each kind of bar.

    A bounded knapsack: loads are built size by size; one that weighs no less and is worth no more than another
    goes, and so does one that could no longer beat what was found.

    Args:
        task: pieces and bars.
        goal: whether what is left of a bar counts.
        values: of a piece of each size, zero or more, (pieces,).
        toll: what a bar has to bring, (kinds,).

    Returns:
        One way for each kind on which any brings more than the toll; and what a bar of each kind can bring above
        it at most, 0 where nothing does, (kinds,).
    """
    order = np.flatnonzero(values > 0)
    order = order[np.argsort(-values[order] / task.sizes[order], kind="stable")]
    scale = _Scale.of(task, goal, values, toll, order, CELLS)
    loads, best, open_ = no_loads(), np.zeros(len(toll)), np.zeros(len(toll))
    for number, size in enumerate(order.tolist()):
        loads = undominated(more(loads, _fits(task, size), int(task.room.max()), values[size]))
        best = np.maximum(best, scale.now(loads).max(axis=0, initial=0.0))
        loads, lost = _hopeful(loads, scale.at_most(loads, number + 1), best)
        open_ = np.maximum(open_, lost)
    # pieces that are worth nothing are not tried above, but one of them makes a bar of it whose rest may count
    single = np.flatnonzero(task.wanted)
    gains = np.concatenate([scale.now(loads), scale.now(Loads(task.sizes[single], values[single], ()))])
    kinds = np.flatnonzero(gains.max(axis=0) > ROUNDING)
    rows, many = gains.argmax(axis=0)[kinds], len(loads.load)
    counts = np.zeros((len(kinds), len(task.sizes)), np.int64)
    counts[rows < many] = loads.counts(rows[rows < many], order, len(task.sizes))
    counts[rows >= many, single[rows[rows >= many] - many]] = 1
    return Ways(kinds, counts), np.maximum(np.maximum(best, gains.max(axis=0)), open_)


def near_ways(
    task: Task, goal: Goal, values: Floats, toll: Floats, gap: float, most: int = MOST_LOADS
) -> Ways | None:
    """All ways to saw a bar that bring the toll or miss it by no more than a gap.

    Where what is left of a bar counts for nothing, only those ways are given that leave no room for another piece.

    Args:
        task: pieces and bars.
        goal: whether what is left of a bar counts.
        values: of a piece of each size, zero or more, (pieces,).
        toll: what a bar has to bring, (kinds,).
        gap: by how much it may be missed.
        most: give up beyond so many loads.

    Returns:
        The ways, or None where there are too many.
    """
    order = np.argsort(-values / task.sizes, kind="stable")
    scale = _Scale.of(task, goal, values, toll - gap - ROUNDING, order, FINE_CELLS)
    loads = no_loads()
    for number, size in enumerate(order.tolist()):
        if len(loads.load) * (1 + min(task.wanted[size], task.room.max() // task.sizes[size])) > 10 * most:
            return None
        loads = more(loads, _fits(task, size), int(task.room.max()), values[size])
        loads = loads.keep(np.flatnonzero((scale.at_most(loads, number + 1) >= 0).any(axis=1)))
        if len(loads.load) > most:
            return None
    row, kind = np.nonzero(scale.now(loads) >= 0)
    if len(row) > most:
        return None
    counts = loads.counts(row, order, len(task.sizes))
    full = counts.any(axis=1)
    if not goal.keeps:
        spare = np.where(counts < task.wanted, task.sizes, task.room.max() + 1).min(axis=1)
        full &= loads.load[row] + spare > task.room[kind]
    return Ways(kind[full], counts[full])


def no_loads() -> Loads:
    """The empty load alone."""
    return Loads(np.zeros(1, np.int64), np.zeros(1), ())


def _fits(task: Task, size: int) -> tuple[int, int]:
    """A size, and how many of it may be on one bar."""
    return int(task.sizes[size]), int(min(task.wanted[size], task.room.max() // task.sizes[size]))


def more(loads: Loads, piece: tuple[int, int], top: int, value: float) -> Loads:
    """Each load with none, one, two ... pieces of a size more, up to so many, and no heavier than ``top``."""
    size, most = piece
    pieces = np.arange(1 + most)
    load = (loads.load[:, None] + pieces * size).ravel()
    fits = np.flatnonzero(load <= top)
    parent, added = np.divmod(fits, len(pieces))
    return Loads(load[fits], loads.value[parent] + value * added, (*loads.trail, (parent, added)))


def undominated(loads: Loads) -> Loads:
    """Without those that weigh no less and are worth no more than another."""
    order = np.lexsort((-loads.value, loads.load))
    value = loads.value[order]
    better = np.ones(len(order), bool)
    better[1:] = value[1:] > np.maximum.accumulate(value)[:-1] + ROUNDING
    return loads.keep(order[better])


def _hopeful(loads: Loads, hope: Floats, best: Floats) -> tuple[Loads, Floats]:
    """Loads that may still beat the best; of too many the most hopeful, and the hope that was given up."""
    margin = hope - best
    keep = np.flatnonzero((margin >= -ROUNDING).any(axis=1))
    lost = np.zeros(len(best))
    if len(keep) > MOST_LOADS // 10:
        rank = keep[np.argsort(-margin[keep].max(axis=1), kind="stable")]
        lost = np.maximum(hope[rank[MOST_LOADS // 10 :]].max(axis=0), 0.0)
        keep = np.sort(rank[: MOST_LOADS // 10])
    return loads.keep(keep), lost
