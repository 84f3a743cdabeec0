"""Tolerance chart: the blueprint dims of a part as sums over named sources, to be merged with those of other parts."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loopwright.errors import RequestError
from loopwright.making.chart import Plan
from loopwright.making.chart_case import Case
from loopwright.making.chart_solving import Solution, chances, chart
from loopwright.making.chart_spreads import Kind
from loopwright.making.chart_tree import Array

__all__ = ["Sources", "joined", "sources"]


@dataclass(frozen=True, eq=False)
class Sources:
    """Deviations of blueprint dims from the middle of their limits, as sums over independent sources.

    Attributes:
        plans: name of the plan of each dim.
        finished: name of each dim.
        kinds: 'cut', 'setting', 'seating', 'angle' or 'heat', for each source.
        keys: key of each source; kind and key together say which source of another part is the same one.
        std: standard deviation of each, (sources,): mm; rad for an angle, mm/mm for heat.
        coefficients: what each brings to each dim, (dims, sources): mm/mm; mm/rad for an angle, mm for heat.
        shift: expected deviation of each dim, mm, (dims,). 0 where working dims were found for it and the expected
            growth lies in the middle of its range.
    """

    plans: tuple[str, ...]
    finished: tuple[str, ...]
    kinds: tuple[Kind, ...]
    keys: tuple[str, ...]
    std: Array
    coefficients: Array
    shift: Array

    @property
    def covariance(self) -> Array:
        """Of the dims, mm², (dims, dims)."""
        each = self.coefficients * self.std
        return np.asarray(each @ each.T)


def sources(plan: Plan, solution: Solution | None = None, *, k: float = 3.0) -> Sources:
    """The blueprint dims of a plan as this shop makes them.

    Args:
        plan: the plan.
        solution: the same plan charted, where that is at hand.
        k: as for :func:`~loopwright.making.chart_solving.chart`; the solution's own counts where there is one.

    Returns:
        The sources. Own ones carry the plan's name in their key, shared ones the key that was given.

    Raises:
        BuildError: the plan has problems.
        RequestError: the solution is of another plan.

    Source: JCGM 100:2008, 5.1.2 and F.1.2.3: what two results have in common makes them correlated.

    >>> from loopwright.making.chart import Cut, CutSpread, Finished, Surface
    >>> by = CutSpread(cut=0.003, setting=0.004, shared_setting="fixture 3")
    >>> pin = Plan("pin", (Surface("left", -1), Surface("right", 1)), (
    ...     Cut("left", None, 1, "bar"), Cut("right", "left", 2, "fixture", by)),
    ...     (Finished("length", "left", "right", 20, -0.1, 0.1),))
    >>> found = sources(pin)
    >>> found.kinds, found.keys
    (('setting', 'cut'), ('fixture 3', 'pin/right op 2'))
    >>> round(float(found.covariance[0, 0]) ** 0.5, 6)
    0.005
    """
    if solution is not None and solution.plan != plan:
        raise RequestError(f"a solution of '{solution.plan.name}' for '{plan.name}'", "chart this plan")
    found = chart(plan, k=k) if solution is None else solution
    case = Case.of(plan, found.k, checked=True)
    every = chances(case, found.sizes(), found.halves())
    rows = np.flatnonzero(case.is_finished)
    low, high = case.asked
    coefficients = every.coefficients[rows]
    used = (coefficients != 0).any(axis=0)
    dims = [plan.finished[case.paths.closings[row].index].name for row in rows]
    return Sources(
        plans=(plan.name,) * len(dims),
        finished=tuple(dims),
        kinds=tuple(kind for kind, use in zip(every.kinds, used) if use),
        keys=tuple(key for key, use in zip(every.keys, used) if use),
        std=every.std[used],
        coefficients=coefficients[:, used],
        shift=every.mean[rows] - (low[rows] + high[rows]) / 2,
    )


def joined(parts: Sequence[Sources]) -> Sources:
    """The dims of several parts over all their sources, those of one kind and key taken as one.

    Args:
        parts: sources of plans with different names.

    Returns:
        All dims, in the order given. Where two parts state one source with two spreads, the larger counts and the
        other part sees its share of it.

    Raises:
        RequestError: two plans have one name, so their own sources cannot be told apart.

    >>> joined([]).std
    array([], dtype=float64)
    """
    names = [name for part in parts for name in dict.fromkeys(part.plans)]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise RequestError(f"there are two plans '{twice[0]}'", "give each piece a name of its own")
    number: dict[tuple[Kind, str], int] = {}
    places = [[number.setdefault(one, len(number)) for one in zip(p.kinds, p.keys)] for p in parts]
    std = np.zeros(len(number))
    for part, place in zip(parts, places):
        std[place] = np.maximum(std[place], part.std)
    safe = np.where(std > 0, std, 1.0)
    rows = []
    for part, place in zip(parts, places):
        block = np.zeros((len(part.finished), len(number)))
        block[:, place] = part.coefficients * (part.std / safe[place])
        rows.append(block)
    return Sources(
        plans=tuple(name for part in parts for name in part.plans),
        finished=tuple(name for part in parts for name in part.finished),
        kinds=tuple(kind for kind, _ in number),
        keys=tuple(key for _, key in number),
        std=std,
        coefficients=np.vstack([np.zeros((0, len(number))), *rows]),
        shift=np.concatenate([np.zeros(0), *(part.shift for part in parts)]),
    )
