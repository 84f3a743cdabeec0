"""Tolerance chart: a plan that was found right, made ready for solving."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from loopwright.errors import BuildError, RequestError
from loopwright.making.chart import Plan
from loopwright.making.chart_checks import problems
from loopwright.making.chart_layout import senses, settled
from loopwright.making.chart_spreads import Spreads, spreads
from loopwright.making.chart_tree import Array, Bools, Paths, Tree, paths_of

__all__ = ["Case"]


@dataclass(frozen=True, eq=False)
class Case:
    """A plan with everything about it that does not depend on its sizes. Arrays (cuts,) are in the plan's order.

    Attributes:
        plan: the plan.
        paths: blueprint dims and stock removals over the working dims.
        senses: side of its datum on which each cut lies; 0 where nothing tells, and nothing has to.
        chosen: closings that are brought about by choosing means, (closings,).
        spreads: the sources.
        k: standard deviations that a capability stands for.
    """

    plan: Plan
    paths: Paths
    senses: tuple[int, ...]
    chosen: Bools
    spreads: Spreads
    k: float = field(default=3.0)

    @classmethod
    def of(cls, plan: Plan, k: float = 3.0, *, checked: bool = False) -> "Case":
        """From a plan.

        Args:
            plan: the plan.
            k: standard deviations that a capability stands for.
            checked: whether somebody has looked for problems already.

        Raises:
            BuildError: the plan has problems; all of them are in it.
            RequestError: k is not above zero.
        """
        if not 0 < k < np.inf:
            raise RequestError(
                f"a capability of {k:g} standard deviations", "take a number above zero, such as 3"
            )
        if not checked and (found := problems(plan)):
            raise BuildError(found)
        tree = Tree.of(plan)
        paths, side = paths_of(tree), senses(tree)
        return cls(plan, paths, side, np.array(settled(paths).chosen, bool), spreads(tree, side), k)

    @cached_property
    def working(self) -> Bools:
        """Cuts that have a working dim: all but the first reference, (cuts,)."""
        return np.array([datum is not None for datum in self.paths.tree.datum], bool)

    @cached_property
    def placed(self) -> Bools:
        """Cuts whose mean is given, (cuts,)."""
        return np.array([cut.size is not None for cut in self.plan.cuts], bool) & self.working

    @cached_property
    def given_sizes(self) -> Array:
        """Signed mean of each size that is given, mm, else 0, (cuts,)."""
        means = [0.0 if cut.size is None else cut.size.mean for cut in self.plan.cuts]
        return np.asarray(np.array(means, float) * np.array(self.senses, float))

    @cached_property
    def free(self) -> Bools:
        """Cuts whose tolerance is to be found, (cuts,)."""
        return np.array([cut.half is None for cut in self.plan.cuts], bool) & self.working

    @cached_property
    def given_halves(self) -> Array:
        """Half the tolerance of each cut where it is given, mm, else 0, (cuts,)."""
        return np.array([cut.half or 0.0 for cut in self.plan.cuts], float)

    @cached_property
    def capability(self) -> Array:
        """Half the tolerance that each working dim can be held to, mm, (cuts,); 0 where it is not known."""
        return self.k * self.spreads.of_cuts

    @cached_property
    def scale(self) -> Array:
        """What a share counts in, mm, (cuts,): the capability, or the middle one of the others where it is unknown."""
        known = self.capability[self.capability > 0]
        return np.where(self.capability > 0, self.capability, np.median(known) if len(known) else 1.0)

    @cached_property
    def widest_paths(self) -> Array:
        """Most that each tolerance counts in each closing, whatever the growth, (closings, cuts)."""
        return np.asarray(np.abs(self.paths.at_corners).max(axis=0))

    @cached_property
    def is_finished(self) -> Bools:
        """Which closings are dims of the blueprint, (closings,)."""
        return np.array([closing.kind == "finished" for closing in self.paths.closings], bool)

    @cached_property
    def is_axis(self) -> Bools:
        """Which closings are an axis that is found again: nothing is removed there, it is to lie where it was."""
        facing = self.plan.facings
        return np.array(
            [
                c.kind == "stock" and facing.get(self.plan.cuts[c.index].makes) == 0
                for c in self.paths.closings
            ],
            bool,
        )

    @cached_property
    def asked(self) -> tuple[Array, Array]:
        """Limits of each closing, mm, (closings,): of the blueprint, or least and most stock (infinite for none)."""
        low, high = [], []
        for closing in self.paths.closings:
            if closing.kind == "finished":
                limits = self.plan.finished[closing.index].limits
                low.append(limits.nominal + limits.lower)
                high.append(limits.nominal + limits.upper)
            else:
                cut = self.plan.cuts[closing.index]
                low.append(cut.least)
                high.append(np.inf if cut.most is None else cut.most)
        return np.where(self.is_axis, -np.inf, low), np.where(self.is_axis, np.inf, high)
