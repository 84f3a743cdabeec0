"""Tolerance chart: where the surfaces lie by the blueprint, and which rows settle the means of the working dims."""

from dataclasses import dataclass, field

from loopwright.making.chart import Limits
from loopwright.making.chart_tree import Paths, Tree

__all__ = ["Groups", "Settled", "positions", "senses", "settled"]

SAME = 1e-9
"""Positions that differ by less are the same, mm."""


class Groups:
    """Things that are joined, directly or over others.

    >>> groups = Groups(3)
    >>> groups.join(0, 1), groups.join(1, 0), groups.of(0) == groups.of(2)
    (True, False, False)
    """

    def __init__(self, count: int) -> None:
        self._above = list(range(count))

    def of(self, thing: int) -> int:
        """The group of a thing, by one of its members."""
        while self._above[thing] != thing:
            self._above[thing] = thing = self._above[self._above[thing]]
        return thing

    def join(self, one: int, other: int) -> bool:
        """Joins two things; False where they were joined already."""
        a, b = self.of(one), self.of(other)
        self._above[a] = b
        return a != b


@dataclass
class _Places:
    """Surfaces in groups, each with its position within the group, mm."""

    at: dict[str, tuple[int, float]] = field(default_factory=dict)

    def put(self, start: str, end: str, distance: float) -> float | None:
        """Puts ``end`` at a distance from ``start``; what they are apart already, if their groups are joined."""
        group, here = self.at.setdefault(start, (len(self.at), 0.0))
        other, there = self.at.setdefault(end, (len(self.at), 0.0))
        if other == group:
            return there - here
        shift = here + distance - there
        self.at |= {name: (group, x + shift) for name, (g, x) in self.at.items() if g == other}
        return None


def positions(tree: Tree) -> tuple[dict[str, tuple[int, float]], tuple[int, ...]]:
    """Where the finished surfaces lie when every dim of the blueprint is in the middle of its limits.

    Sizes of cuts of which the side is stated join what the blueprint leaves apart.

    Args:
        tree: of the plan.

    Returns:
        For each surface that is on a dim, its group and its position within that, mm; and the dims that the dims
        before them contradict, as numbers in ``plan.finished``.
    """
    places, against = _Places(), []
    for number, dim in enumerate(tree.plan.finished):
        start = dim.a if dim.a is not None else _seat(tree, dim.b)
        if start is None or start == dim.b:
            continue
        apart = places.put(start, dim.b, dim.limits.mean)
        if apart is not None and abs(apart - dim.limits.mean) > max(SAME, dim.limits.half):
            against.append(number)
    for cut in tree.plan.cuts:
        if (
            cut.datum is not None
            and cut.size is not None
            and not cut.coat
            and (cut.sense or _nothing(cut.size))
        ):
            places.put(cut.datum, cut.makes, cut.sense * cut.size.mean)
    return places.at, tuple(against)


def _nothing(size: Limits) -> bool:
    return abs(size.mean) <= SAME


def _seat(tree: Tree, surface: str) -> str | None:
    state = tree.last.get(surface)
    seat = None if state is None else tree.seats[state]
    return None if seat is None else tree.plan.cuts[seat].makes


def senses(tree: Tree) -> tuple[int, ...]:
    """Side of its datum on which each cut makes its surface, +1 or -1; 0 where nothing tells.

    A coat lies outward. Otherwise ``sense`` counts, or the blueprint's positions of the two finished surfaces.
    """
    at, _ = positions(tree)
    facing = tree.plan.facings
    out: list[int] = []
    for cut in tree.plan.cuts:
        here, datum = at.get(cut.makes), at.get(cut.datum or "")
        if cut.coat:
            out.append(facing.get(cut.makes, 0))
        elif cut.sense or (cut.size is not None and _nothing(cut.size)):
            out.append(cut.sense or 1)
        elif here and datum and here[0] == datum[0] and abs(here[1] - datum[1]) > SAME:
            out.append(1 if here[1] > datum[1] else -1)
        else:
            out.append(0)
    return tuple(out)


@dataclass(frozen=True)
class Settled:
    """What settles the means.

    Attributes:
        chosen: for each closing, whether it is brought about by choosing means, or follows from what is given.
        floating: states that nothing ties to the first reference, in groups that are tied among themselves.
    """

    chosen: tuple[bool, ...]
    floating: tuple[tuple[int, ...], ...]


def settled(paths: Paths) -> Settled:
    """Which closings settle the means: given sizes first, then blueprint dims, then least stock.

    Each is a relation between two states, so a row that closes a ring adds nothing, and the means are settled when
    all states are joined.
    """
    tree = paths.tree
    groups = Groups(len(tree.datum))
    for i, cut in enumerate(tree.plan.cuts):
        datum = tree.datum[i]
        if cut.size is not None and datum is not None:
            groups.join(i, datum)
    chosen = tuple(groups.join(closing.start, closing.end) for closing in paths.closings)
    floating: dict[int, list[int]] = {}
    for i in tree.order:
        if groups.of(i) != groups.of(tree.roots[i]):
            floating.setdefault(groups.of(i), []).append(i)
    return Settled(chosen, tuple(tuple(states) for states in floating.values()))
