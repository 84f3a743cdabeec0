"""Stock to leave for every finishing cut of a part's route, and the dims to work to before it."""

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.errors import Problem
from loopwright.making.stock import Stock, stock_to_leave
from loopwright.making.stock_causes import Causes
from loopwright.making.stock_cut import Chart, Follow, Practice, follows
from loopwright.model.build import Build


@dataclass(frozen=True, eq=False)
class Finishing:
    """A finishing cut with the stock that it needs.

    Attributes:
        follow: the cut.
        stock: what to leave, per side.
        notes: what could not be counted, or should be known, in words.
    """

    follow: Follow
    stock: Stock
    notes: tuple[str, ...]

    @property
    def times(self) -> float:
        """What a length per side counts as it is told: 2 on a diameter."""
        return 2.0 if self.follow.surface.round else 1.0


@dataclass(frozen=True)
class WorkTo:
    """A working dim that leaves the stock; on the diameter for a round surface.

    Attributes:
        surface: that is cut to it.
        measured_from: surface from which; '' for a diameter.
        op: number of the op.
        low: least size, mm.
        high: largest size, mm.
        growth: by which the part still grows after this op, as a fraction; 0 where it does not.
    """

    surface: str
    measured_from: str
    op: int
    low: float
    high: float
    growth: float


def finishing_cuts(
    build: Build, name: str, chance: float, practice: Practice | None = None
) -> tuple[tuple[Finishing, ...], tuple[Problem, ...]]:
    """Stock to leave for every cut of a part that has to clean up what was there before.

    Args:
        build: the build.
        name: of the part.
        chance: that a piece cleans up all over, from 50 % to 99.99 %.
        practice: how the work is done; left out: as is assumed.

    Returns:
        The cuts in the order of the route, and what keeps the part from being charted.

    Raises:
        OutOfRange: a chance that cannot be asked for.

    Source: what eats into the stock is listed with the source of each; the sum as in
        :func:`~loopwright.making.stock.stock_to_leave`. That least stock is roughness, harmed layer, error of shape
        and place, and error of setting up, added as they come, is the rule of V. M. Kovan (from memory).
    """
    found, planned = follows(build, name)
    return tuple(finished(one, chance, practice or Practice()) for one in found), planned.problems


def finished(follow: Follow, chance: float, practice: Practice) -> Finishing:
    """Stock to leave for one cut."""
    causes = Causes(follow, practice)
    return Finishing(follow, stock_to_leave(causes.eats, chance, follow.window), tuple(causes.notes))


def work_to(follow: Follow, left: Mapping[int, float], low: float, high: float) -> WorkTo | None:
    """The dim that leaves between two stocks for a cut, met before that cut.

    Finished dims lie in the middle of their limits, the part grows by what is expected, and what other cuts take off
    is what they are given here.

    Args:
        follow: the cut.
        left: stock per side, mm, of other cuts of the same chart by their number; for those that are not in it the
            least that the plan says.
        low: least stock for this cut per side, mm.
        high: most.

    Returns:
        The dim; None where no finished dim says where its surfaces lie, or no working dim decides it.
    """
    chart, number = follow.chart, follow.leaver
    if number is None:
        return None
    sizes = []
    for stock in (low, high):
        size = _size(chart, number, {**left, follow.cut: stock})
        if size is None:
            return None
        sizes.append(abs(size))
    if abs(sizes[0] - sizes[1]) < 1e-9 < high - low:
        return None
    cut = chart.plan.cuts[number]
    times = chart.plan.shown(cut.datum, cut.makes)
    datum = "" if chart.radial else cut.datum or ""
    return WorkTo(cut.makes, datum, cut.op, min(sizes) * times, max(sizes) * times, _growth(chart, number))


def _growth(chart: Chart, number: int) -> float:
    """Expected growth of what exists after a cut, as a fraction."""
    total = 1.0
    for heat in chart.plan.heats:
        total *= 1 + (heat.mean if chart.plan.cuts[number].op <= heat.after_op else 0.0)
    return total - 1


def _size(chart: Chart, number: int, left: Mapping[int, float]) -> float | None:
    """Signed working dim when these stocks are left, mm; None where the places of its surfaces are not known."""
    datum = chart.tree.datum[number]
    if datum is None:
        return None
    places = [_place(chart, state, left) for state in (number, datum)]
    if places[0] is None or places[1] is None or places[0][0] != places[1][0]:
        return None
    return (places[0][1] - places[1][1]) / (1 + _growth(chart, number))


def _place(chart: Chart, state: int, left: Mapping[int, float]) -> tuple[int, float] | None:
    """Where a state of a surface lies once everything has grown, in its group, mm."""
    plan = chart.plan
    name = plan.cuts[state].makes
    at = chart.at.get(name)
    if at is None:
        return None
    taken = sum(
        left.get(i, plan.cuts[i].least) * (1 + _growth(chart, i))
        for i in chart.later(state)
        if not plan.cuts[i].grows
    )
    return at[0], at[1] + plan.facings[name] * taken


def blank_for(follow: Follow, left: Mapping[int, float], stock: float) -> float | None:
    """Diameter that a bar must have, or a tube inside may have, for a first cut on it, mm.

    Args:
        follow: a cut on a round surface that is as the blank came.
        left: as for :func:`work_to`.
        stock: for this cut per side, mm.

    Returns:
        The diameter; None for a flat face, a surface that no dim sizes, or one that was cut before.
    """
    place = _place(follow.chart, follow.cut, left)
    if follow.before is not None or not follow.surface.round or place is None:
        return None
    facing = follow.chart.plan.facings[follow.name]
    return 2 * (place[1] / (1 + _growth(follow.chart, follow.cut)) + facing * stock)


def stock_of(follow: Follow, left: Mapping[int, float], size: float) -> float | None:
    """Stock per side that a size of the dim to work to leaves, mm; None where none follows from it.

    Args:
        follow: the cut.
        left: as for :func:`work_to`.
        size: of the dim, as it is told, mm.
    """
    one, other = (work_to(follow, left, stock, stock) for stock in (0.0, 1.0))
    if one is None or other is None or one.low == other.low:
        return None
    return (size - one.low) / (other.low - one.low)
