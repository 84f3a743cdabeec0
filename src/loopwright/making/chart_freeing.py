"""Tolerance chart: what would free a plan that is too tight, ranked by what it costs."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from loopwright.errors import BuildError, Cancelled, RequestError
from loopwright.making.chart import Plan
from loopwright.making.chart_case import Case
from loopwright.making.chart_changes import Change, ChangeKind, changes, opened, tightened
from loopwright.making.chart_limits import Widths
from loopwright.making.chart_solving import Cancel, Progress, Resultant, Solution, chart, charted
from loopwright.making.chart_spreads import spreads
from loopwright.making.chart_tree import Array, Tree, paths_of

__all__ = ["Freeing", "Minutes", "Remedy", "freeing"]

LEAST_FACTOR = 0.1
"""A cut is not asked to be better than by this factor on its spread: that is another process."""
MORE = 1.25
"""Share wished of a plan that holds already, over the share that it has."""


@dataclass(frozen=True, slots=True)
class Minutes:
    """What changes cost, min. Ours, only to have an order; a shop knows better.

    Attributes:
        written: to write a working dim from another surface of the same setup.
        datum: to seat a setup on another surface.
        order: to change the order of setups.
        one_setup: to make a cut in the setup of its partner.
        tighter: to halve the spread of a cut; otherwise it counts as the spread before over that after, less 1.
    """

    written: float = 0.0
    datum: float = 10.0
    order: float = 5.0
    one_setup: float = 15.0
    tighter: float = 30.0

    def of(self, change: Change) -> float:
        """What one change costs, min.

        >>> Minutes().of(Change("order", (), "", Plan("", (), (), ())))
        5.0
        """
        costs: dict[ChangeKind, float] = {
            "written": self.written,
            "datum": self.datum,
            "order": self.order,
            "order and datum": self.order + self.datum,
            "one setup": self.one_setup,
            "tighter": self.tighter * (1 / change.factor - 1),
        }
        return costs[change.kind]


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change, solved.

    Attributes:
        change: what is changed.
        minutes: what it costs.
        share: least share of capability after it.
        gained: share gained by it.
        enough: whether the share wished is reached and every chain holds.
        solution: the changed plan, charted.
    """

    change: Change
    minutes: float
    share: float
    gained: float
    enough: bool
    solution: Solution


@dataclass(frozen=True)
class Freeing:
    """What would free a plan.

    Attributes:
        before: the plan that the changes start from, charted; where all its sizes were given, with them left open.
        wished: share that is to be reached.
        chains: what has too little room for that.
        remedies: changes that help, first those that are enough, the cheapest first; then those that gain most.
    """

    before: Solution
    wished: float
    chains: tuple[Resultant, ...]
    remedies: tuple[Remedy, ...]


def freeing(
    plan: Plan,
    *,
    share: float | None = None,
    k: float = 3.0,
    minutes: Minutes | None = None,
    cost: Callable[[Change], float] | None = None,
    most: int = 40,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
) -> Freeing:
    """What binds a plan, and which single changes would free it, each verified by charting the changed plan.

    Tried are: a setup seated on another surface that is there; two setups that change places; a setup moved behind
    that of its partner and seated on what it made; a cut made in one setup with its partner; a dim written from
    another surface of its setup; one cut made better by as much as is needed.

    Args:
        plan: the plan. Where every size in it is given, all are left open, and a tolerance that was written counts as
            what the cut can be held to, if nothing is known of its spread.
        share: share of capability to reach; None takes 1 where the plan has less, else a quarter more than it has.
        k: a cut can be held to ± k standard deviations.
        minutes: what changes cost.
        cost: what a change costs, min, where the shop knows better; takes the place of ``minutes``.
        most: so many changes are charted at most: those that look best by their paths alone.
        progress: called with the changes charted and how many there are.
        cancel: asked after each change; True stops.

    Returns:
        The changes that help.

    Raises:
        BuildError: the plan has problems.
        RequestError: a share or k out of range.
        Cancelled: ``cancel`` said so.

    Source: ours. That a dim cut directly needs the least, and every transfer of datum costs tolerance, is common
        practice.

    >>> from loopwright.making.chart import Cut, Finished, Limits, Surface
    >>> block = Plan("block", (Surface("bottom", -1), Surface("top", 1), Surface("slot", 1)), (
    ...     Cut("bottom", None, 1, "saw"), Cut("top", "bottom", 2, "face", size=Limits.around(26, 0.05)),
    ...     Cut("slot", "top", 3, "slot", size=Limits.around(13.3, 0.2)),
    ...     Cut("top", "bottom", 4, "finish", size=Limits.around(25.4, 0.05))),
    ...     (Finished("height", "bottom", "top", 25.4, -0.05, 0.05), Finished("depth", "slot", "top", 12.7, -0.2, 0.2)))
    >>> for remedy in freeing(block).remedies[:2]:
    ...     print(remedy.change.what, remedy.enough)
    let setup 'finish' and setup 'slot' change places True
    make slot (op 3) better, to 0.5 of its spread True
    """
    if share is not None and not 0 < share < np.inf:
        raise RequestError(
            f"a share of {share:g}", "take one above zero; 1 is what the cuts can just be held to"
        )
    first = Case.of(plan, k)
    case = first if first.free.any() else Case.of(opened(plan, k), k, checked=True)
    before = charted(case, Widths())
    wished = share if share is not None else _wished(before)
    chains = _short(case, before, wished)
    price = cost or (minutes or Minutes()).of
    tried = _promising(case, before, chains, wished, price, cancel)[:most]
    found = []
    for number, change in enumerate(tried):
        found += _solved(change, k, before, wished, price)
        if progress is not None:
            progress(number + 1, len(tried))
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after {number + 1} of {len(tried)} changes")
    found.sort(key=lambda r: (not r.enough, r.minutes if r.enough else -r.gained, -r.gained))
    return Freeing(before, wished, chains, tuple(found))


def _promising(
    case: Case,
    before: Solution,
    chains: tuple[Resultant, ...],
    wished: float,
    price: Callable[[Change], float],
    cancel: Cancel | None,
) -> list[Change]:
    """Changes that a look at the paths alone lets hope for; those that look enough first, the cheapest first."""
    pairs = [_last(case, result) for result in chains if result.kind == "finished"]
    cuts = [[i for i, _ in result.path] for result in chains]
    rooms: dict[tuple[str, int], float] = {
        (r.kind, r.index): r.room for r in (*before.finished, *before.stock) if np.isfinite(r.room)
    }
    now = _looks(case.plan, rooms, wished, case.k)
    out = []
    for change in (*changes(case.plan, case.k, cuts, pairs), *_tighter(case, chains, wished)):
        found = _looks(change.plan, rooms, wished, case.k)
        if found is not None and now is not None and (found[0] > now[0] + 1e-9 or found[1] < now[1] - 1e-9):
            enough = found[1] <= 1e-6
            out.append(((not enough, price(change) if enough else found[1], -found[0]), change))
        if cancel is not None and cancel():
            raise Cancelled("stopped while looking for changes")
    return [change for _, change in sorted(out, key=lambda one: one[0])]


def _looks(
    plan: Plan, rooms: Mapping[tuple[str, int], float], wished: float, k: float
) -> tuple[float, float] | None:
    """Common share, and what all closings together lack of room for the share wished, by the paths alone."""
    tree = Tree.of(plan)
    if any(cut.datum is not None and tree.datum[i] is None for i, cut in enumerate(plan.cuts)):
        return None
    paths = paths_of(tree)
    if sum(closing.kind == "finished" for closing in paths.closings) < len(plan.finished):
        return None
    rows = {row: rooms[key] for key, row in paths.row_of.items() if key in rooms}
    sign, room = np.abs(paths.sign[list(rows)]), np.array(list(rows.values()))
    free = np.array([cut.half is None for cut in plan.cuts], bool)
    can = sign @ np.where(free, k * spreads(tree, (1,) * len(plan.cuts)).of_cuts, 0.0)
    left = room - sign @ np.array([cut.half or 0.0 for cut in plan.cuts])
    share = float((left[can > 0] / can[can > 0]).min(initial=np.inf))
    return share, float((wished * can - left).clip(min=0.0).sum())


def _wished(before: Solution) -> float:
    return MORE * before.share if before.feasible and np.isfinite(before.share) else 1.0


def _short(case: Case, before: Solution, wished: float) -> tuple[Resultant, ...]:
    """Closings without room for the share wished."""
    results = {(r.kind, r.index): r for r in (*before.finished, *before.stock)}
    ordered = [results[closing.kind, closing.index] for closing in case.paths.closings]
    return tuple(r for r, taken in zip(ordered, _takes(case, wished).sum(axis=1)) if r.room < taken - 1e-9)


def _takes(case: Case, wished: float) -> Array:
    """What each cut takes of each closing at a share, mm, (closings, cuts)."""
    at_share = np.where(case.free, wished * case.capability, case.given_halves)
    return np.asarray(case.widest_paths * at_share)


def _last(case: Case, result: Resultant) -> tuple[int, int]:
    closing = case.paths.closings[case.paths.row_of[result.kind, result.index]]
    return closing.start, closing.end


def _tighter(case: Case, chains: tuple[Resultant, ...], wished: float) -> Iterator[Change]:
    """Each cut that alone could free all chains, made better by as much as that takes."""
    if not chains:
        return
    takes = _takes(case, wished)[[case.paths.row_of[r.kind, r.index] for r in chains]]
    over = takes.sum(axis=1) - np.array([r.room for r in chains])
    for i in np.flatnonzero((takes > 0).all(axis=0)).tolist():
        factor = _own_factor(case, i, float((1 - over / takes[:, i]).min()))
        if factor >= LEAST_FACTOR:
            yield tightened(case.plan, i, factor * (1 - 1e-9))


def _own_factor(case: Case, i: int, factor: float) -> float:
    """Factor on a cut's own spread that brings its dim to a factor; the face it is measured from stays as it is."""
    datum = case.paths.tree.datum[i]
    if not case.paths.tree.inside[i] or datum is None or not case.free[i] or factor <= 0:
        return factor
    of_datum = (case.k * case.plan.cuts[datum].spread.cut / case.capability[i]) ** 2
    return float(np.sqrt((factor**2 - of_datum) / (1 - of_datum))) if factor**2 > of_datum else 0.0


def _solved(
    change: Change, k: float, before: Solution, wished: float, price: Callable[[Change], float]
) -> list[Remedy]:
    """The change charted, if the plan stays right and it helps."""
    try:
        after = chart(change.plan, k=k)
    except BuildError:
        return []
    gained = after.share - before.share
    holds = all(result.holds for result in (*after.finished, *after.stock))
    enough = holds and after.share >= wished - 1e-6
    better = _lacking(after) < _lacking(before) - 1e-9
    if not (enough or gained > 1e-9 or better):
        return []
    return [Remedy(change, price(change), after.share, gained, enough, after)]


def _lacking(found: Solution) -> float:
    """What all chains together lack of room, mm."""
    return sum(result.lacking for result in (*found.finished, *found.stock))
