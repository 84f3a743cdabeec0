"""Tolerance chart: the tree of surface states, and every blueprint dim and stock removal as a path in it."""

from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.making.chart import Cut, Plan

__all__ = ["Closing", "Paths", "Tree", "paths"]

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Tree:
    """What is located from what. A surface state goes by the number of the cut that made it, as in ``plan.cuts``.

    A plan that is wrong has a tree too: a datum that is not there counts as none.

    Attributes:
        plan: the plan.
        order: cuts in the order of work.
        datum: state that each cut is located from, or None.
        former: state of the same surface that each cut works on, or None.
        last: last state of each surface that is made.
        inside: whether the datum of a cut was cut in the same setup.
    """

    plan: Plan
    order: tuple[int, ...]
    datum: tuple[int | None, ...]
    former: tuple[int | None, ...]
    last: dict[str, int]
    inside: tuple[bool, ...]

    @classmethod
    def of(cls, plan: Plan) -> "Tree":
        """The tree of a plan, right or wrong.

        >>> from loopwright.making.chart import Cut, Surface
        >>> ends = (Surface("left", -1), Surface("right", 1))
        >>> cuts = (Cut("left", None, 1, "saw"), Cut("right", "left", 2, "chuck"), Cut("left", "right", 3, "flip"))
        >>> Tree.of(Plan("ring", ends, cuts, ())).datum
        (None, 0, 1)
        """
        cuts = plan.cuts
        datum: list[int | None] = [None] * len(cuts)
        former: list[int | None] = [None] * len(cuts)
        now: dict[str, int] = {}
        order = sorted(range(len(cuts)), key=lambda i: cuts[i].op)
        for i in order:
            former[i] = now.get(cuts[i].makes)
            datum[i] = now.get(cuts[i].datum or "")
            now[cuts[i].makes] = i
        inside = tuple(
            _same_setup(cuts[i], None if (d := datum[i]) is None else cuts[d]) for i in range(len(cuts))
        )
        return cls(plan, tuple(order), tuple(datum), tuple(former), now, inside)

    @cached_property
    def above(self) -> Bools:
        """Working dims between the first reference and each state, (cuts, cuts); the reference itself has none."""
        out = np.zeros((len(self.datum), len(self.datum)), bool)
        for i in self.order:
            datum = self.datum[i]
            if datum is not None:
                out[i] = out[datum]
                out[i, i] = True
        return out

    @cached_property
    def roots(self) -> tuple[int, ...]:
        """State that each state hangs on in the end."""
        out = list(range(len(self.datum)))
        for i in self.order:
            datum = self.datum[i]
            out[i] = i if datum is None else out[datum]
        return tuple(out)

    @cached_property
    def seats(self) -> tuple[int | None, ...]:
        """State that the setup of each cut is seated on, as the chain of its datums says."""
        out: list[int | None] = [None] * len(self.datum)
        for i in self.order:
            datum = self.datum[i]
            out[i] = out[datum] if self.inside[i] and datum is not None else datum
        return tuple(out)

    @cached_property
    def ops(self) -> NDArray[np.int64]:
        """Op number of each cut, (cuts,)."""
        return np.array([cut.op for cut in self.plan.cuts], np.int64)

    def name(self, state: int) -> str:
        """A state in words: 'right (op 5)'."""
        cut = self.plan.cuts[state]
        return f"{cut.makes} (op {cut.op})"

    def chain(self, state: int) -> str:
        """From a state down to the first reference: 'right (op 5) <- left (op 4) <- right (op 2)'."""
        names = [self.name(state)]
        while (below := self.datum[state]) is not None:
            names.append(self.name(below))
            state = below
        return " <- ".join(names)


def _same_setup(cut: Cut, datum: Cut | None) -> bool:
    return datum is not None and cut.setup == datum.setup and not cut.grows and not datum.grows


@dataclass(frozen=True, slots=True)
class Closing:
    """A dim that no cut makes directly: it is the path between two states.

    Attributes:
        kind: a dim of the blueprint, or a stock removal.
        index: number in ``plan.finished``, or in ``plan.cuts`` of the cut that removes the stock.
        start: state that it counts from.
        end: state that it counts to.
        sign: -1 where the value counts against the direction of the chart, else +1.
        op: op before which it is taken; None for the finished part.
    """

    kind: Literal["finished", "stock"]
    index: int
    start: int
    end: int
    sign: int = 1
    op: int | None = None


@dataclass(frozen=True, eq=False)
class Paths:
    """Every blueprint dim, then every stock removal in the order of work, over the working dims.

    Attributes:
        tree: the tree they are paths in.
        closings: what the rows are.
        sign: +1, -1 or 0 for each working dim in each path, (closings, cuts).
        heated: whether a heat treatment comes between a cut and the time of a closing, (heats, closings, cuts).
    """

    tree: Tree
    closings: tuple[Closing, ...]
    sign: Array
    heated: Bools

    def at(self, growth: ArrayLike) -> Array:
        """How much each working dim counts in each closing.

        Args:
            growth: g of each heat treatment, mm/mm, (heats,); or for each closing its own, (heats, closings).

        Returns:
            Coefficients, (closings, cuts).
        """
        g = np.asarray(growth, float)
        each = g[:, None, None] if g.ndim == 1 else g[:, :, None]
        return np.asarray(self.sign * np.where(self.heated, 1.0 + each, 1.0).prod(axis=0))

    def slopes(self, terms: Array, growth: Array) -> Array:
        """Change of each closing with the growth of each heat treatment, mm.

        Args:
            terms: what each working dim brings to each closing, its coefficient times its size, mm, (closings, cuts).
            growth: for which the coefficients stand, mm/mm, (heats,).

        Returns:
            mm, (heats, closings).
        """
        return np.asarray(np.where(self.heated, terms, 0.0).sum(axis=2) / (1.0 + growth)[:, None])

    @cached_property
    def middle(self) -> Array:
        """Growth of each heat treatment in the middle of what is to be reckoned with, mm/mm, (heats,)."""
        return np.array([(heat.low + heat.high) / 2 for heat in self.tree.plan.heats], float)

    @cached_property
    def expected(self) -> Array:
        """Expected growth of each heat treatment, mm/mm, (heats,)."""
        return np.array([heat.mean for heat in self.tree.plan.heats], float)

    @cached_property
    def corners(self) -> Array:
        """Every combination of least and most growth, (2^heats, heats)."""
        ends = [(heat.low, heat.high) for heat in self.tree.plan.heats]
        return np.array(list(product(*ends)), float).reshape(2 ** len(ends), len(ends))

    @cached_property
    def row_of(self) -> dict[tuple[str, int], int]:
        """Row of each closing by its kind and index."""
        return {(closing.kind, closing.index): row for row, closing in enumerate(self.closings)}

    @cached_property
    def at_corners(self) -> Array:
        """Coefficients at each of the corners, (2^heats, closings, cuts)."""
        return np.stack([self.at(corner) for corner in self.corners])

    def reach(self, sizes: Array, halves: Array) -> tuple[Array, Array]:
        """Least and largest value that each closing can take, exactly.

        A closing is linear in each working dim and in each growth, so both extremes lie at corners.

        Args:
            sizes: signed mean of each working dim, mm, (cuts,).
            halves: half the tolerance of each, mm, (cuts,).

        Returns:
            Least and largest, mm, each (closings,).
        """
        coefficients = self.at_corners
        middle, half = coefficients @ sizes, np.abs(coefficients) @ halves
        return (middle - half).min(axis=0), (middle + half).max(axis=0)

    def path(self, row: int) -> tuple[tuple[int, int], ...]:
        """The working dims of a closing with their signs, from its start to its end."""
        closing, sign = self.closings[row], self.sign[row]
        up = _upwards(self.tree, closing.start, sign)
        down = _upwards(self.tree, closing.end, sign)[::-1]
        return tuple((i, int(sign[i])) for i in (*up, *down))

    def words(self, row: int) -> str:
        """The states that a closing runs through: 'right (op 6) <- left (op 5) -> shoulder (op 7)'."""
        closing, tree, sign = self.closings[row], self.tree, self.sign[row]
        up = [below for i in _upwards(tree, closing.start, sign) if (below := tree.datum[i]) is not None]
        down = _upwards(tree, closing.end, sign)[::-1]
        located = "".join(f" <- {tree.name(i)}" for i in up)
        return tree.name(closing.start) + located + "".join(f" -> {tree.name(i)}" for i in down)


def _upwards(tree: Tree, state: int, sign: Array) -> list[int]:
    """Working dims of a path that lie between a state and where the path turns."""
    out = []
    at: int | None = state
    while at is not None and sign[at]:
        out.append(at)
        at = tree.datum[at]
    return out


def paths(plan: Plan) -> Paths:
    """Every blueprint dim and every stock removal of a plan as a path over its working dims.

    In worst case each working dim counts with its whole tolerance, also where two are cut in one setup and share its
    setting; the statistical side takes that into account. Paths that cannot be found, because a surface is never
    made or two surfaces are joined by nothing, are left out; :func:`~loopwright.making.chart_checks.problems` names
    them.

    Args:
        plan: the plan.

    Returns:
        The paths.

    Source: S. A. Irani, R. O. Mittal, E. A. Lehtihet, *International Journal of Production Research* 27 (1989),
        charts as paths in a tree (from memory).

    >>> from loopwright.making.chart import Cut, Finished, Surface
    >>> block = Plan("block", (Surface("bottom", -1), Surface("top", 1), Surface("slot", 1)), (
    ...     Cut("bottom", None, 1, "saw"), Cut("top", "bottom", 2, "vice"), Cut("slot", "top", 3, "mill"),
    ...     Cut("top", "bottom", 4, "grind")), (Finished("depth", "slot", "top", 12.7, -0.25, 0.25),))
    >>> paths(block).sign
    array([[ 0., -1., -1.,  1.],
           [ 0.,  1.,  0., -1.]])
    """
    return paths_of(Tree.of(plan))


def paths_of(tree: Tree) -> Paths:
    """The paths in a tree that is there already."""
    closings = (*_finished(tree), *_stock(tree))
    ends = np.array([c.end for c in closings], np.int64)
    starts = np.array([c.start for c in closings], np.int64)
    above = tree.above.astype(float)
    sign = np.array([[c.sign] for c in closings], float).reshape(-1, 1) * (above[ends] - above[starts])
    time = np.array([np.inf if c.op is None else c.op for c in closings], float)
    after = np.array([heat.after_op for heat in tree.plan.heats], float)
    heated = (tree.ops <= after[:, None])[:, None, :] & (after[:, None] < time)[:, :, None]
    return Paths(tree, closings, sign, heated)


def _finished(tree: Tree) -> list[Closing]:
    out = []
    for number, dim in enumerate(tree.plan.finished):
        end = tree.last.get(dim.b)
        if end is None:
            continue
        start = tree.seats[end] if dim.a is None else tree.last.get(dim.a)
        if start is not None and start != end and tree.roots[start] == tree.roots[end]:
            out.append(Closing("finished", number, start, end))
    return out


def _stock(tree: Tree) -> list[Closing]:
    facing = tree.plan.facings
    out = []
    for i in tree.order:
        cut, former = tree.plan.cuts[i], tree.former[i]
        if former is None or cut.grows or tree.roots[former] != tree.roots[i]:
            continue
        out.append(Closing("stock", i, i, former, facing.get(cut.makes) or 1, cut.op))
    return out
