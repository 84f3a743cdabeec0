"""Tolerance chart: the chart itself as plain data. Columns of surfaces, arrows of cuts, balance, finished dims."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loopwright.errors import RequestError
from loopwright.making.chart import Plan
from loopwright.making.chart_solving import Resultant, Solution, WorkingDim
from loopwright.making.chart_tree import Tree

__all__ = ["Arrow", "Balance", "ChartPicture", "Column", "Foot", "HeatRow", "drawn"]


@dataclass(frozen=True, slots=True)
class Column:
    """A surface, as an upright line of the chart.

    Attributes:
        surface: its name.
        facing: +1, -1, or 0 for an axis.
        x: where it lies when finished, from the first reference, mm.
    """

    surface: str
    facing: int
    x: float


@dataclass(frozen=True, slots=True)
class Balance:
    """Stock that a cut removes, as shown.

    Attributes:
        mean: middle of its worst-case range, mm.
        half: half that range, mm.
        low: least, mm.
        high: most, mm.
        least: least that was asked, mm.
        chance: that it is at least what was asked, and at most.
        holds: whether the worst case is within that.
    """

    mean: float
    half: float
    low: float
    high: float
    least: float
    chance: float
    holds: bool


@dataclass(frozen=True, slots=True)
class Arrow:
    """A cut, as a row: a dot at the datum and an arrow head at the surface cut.

    Attributes:
        cut: number in ``plan.cuts``.
        op: op number.
        label: what the op is called.
        setup: name of the setup.
        new_setup: whether the setup begins with this row.
        start: column of the datum; None for the first reference.
        end: column of the surface.
        start_x: where the datum lies when the cut is made, from the first reference, mm.
        end_x: where the cut leaves the surface, mm.
        facing: facing of the surface: the side from which the cut comes.
        grows: whether it is a layer or a coat.
        size: mean of the working dim, unsigned, as shown, mm; None for the first reference.
        half: half its tolerance, as shown, mm; None for the first reference.
        given: whether the size was given.
        held: whether the cut can hold it.
        balance: stock removed, where there is a former surface to cut.
    """

    cut: int
    op: int
    label: str
    setup: str
    new_setup: bool
    start: int | None
    end: int
    start_x: float
    end_x: float
    facing: int
    grows: bool
    size: float | None
    half: float | None
    given: bool
    held: bool
    balance: Balance | None


@dataclass(frozen=True, slots=True)
class HeatRow:
    """A heat treatment, as a row across all columns.

    Attributes:
        after_op: op that it follows.
        before_row: arrow that it stands before; the number of arrows when it comes last.
        mean: expected growth, mm/mm.
        low: least growth.
        high: most growth.
    """

    after_op: int
    before_row: int
    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Foot:
    """A blueprint dim, at the foot of the chart. Sizes as shown.

    Attributes:
        name: its name.
        start: column of the one surface; None for the axis of a setup.
        end: column of the other.
        asked_low: lower limit, mm.
        asked_high: upper limit, mm.
        low: least value in worst case, mm.
        high: largest value in worst case, mm.
        chance: that it is within the limits.
        holds: whether the worst case is.
        binds: whether it leaves no room.
    """

    name: str
    start: int | None
    end: int
    asked_low: float
    asked_high: float
    low: float
    high: float
    chance: float
    holds: bool
    binds: bool


@dataclass(frozen=True)
class ChartPicture:
    """A tolerance chart, ready to be drawn.

    Attributes:
        name: of the plan.
        columns: the surfaces from left to right.
        arrows: the cuts in the order of work.
        heats: heat treatments between them.
        feet: the blueprint dims.
        shown_times: factor on sizes from an axis, 2 for diameters; ``x`` are always as in the plan.
    """

    name: str
    columns: tuple[Column, ...]
    arrows: tuple[Arrow, ...]
    heats: tuple[HeatRow, ...]
    feet: tuple[Foot, ...]
    shown_times: float


def drawn(plan: Plan, solution: Solution) -> ChartPicture:
    """The chart of a plan as plain data.

    Args:
        plan: the plan.
        solution: the same plan charted.

    Returns:
        The picture.

    Raises:
        RequestError: the solution is of another plan.

    Source: layout with columns of surfaces, arrows of cuts and a balance column: D. F. Eary and G. E. Johnson, *Process
        Engineering for Manufacturing* (1962), from memory.

    >>> from loopwright.making.chart import Cut, CutSpread, Finished, Surface
    >>> from loopwright.making.chart_solving import chart
    >>> by = CutSpread(cut=0.01)
    >>> pin = Plan("pin", (Surface("right", 1), Surface("left", -1)), (
    ...     Cut("left", None, 1, "bar"), Cut("right", "left", 2, "chuck", by),
    ...     Cut("left", "right", 3, "flip", by, least=0.5)), (Finished("length", "left", "right", 20, -0.1, 0.1),))
    >>> picture = drawn(pin, chart(pin))
    >>> [column.surface for column in picture.columns], [(row.start, row.end) for row in picture.arrows]
    (['left', 'right'], [(None, 0), (0, 1), (1, 0)])
    """
    if solution.plan != plan:
        raise RequestError(f"a solution of '{solution.plan.name}' for '{plan.name}'", "chart this plan")
    tree = Tree.of(plan)
    here = _places(solution, tree)
    facing = plan.facings
    ends = sorted(tree.last.items(), key=lambda item: (here[-1][item[1]], item[1]))
    columns = tuple(Column(name, facing[name], here[-1][state]) for name, state in ends)
    number = {column.surface: n for n, column in enumerate(columns)}
    heats = tuple(
        HeatRow(h.after_op, sum(cut.op <= h.after_op for cut in plan.cuts), h.mean, h.low, h.high)
        for h in plan.heats
    )
    arrows = tuple(_arrows(solution, tree, number, here))
    return ChartPicture(plan.name, columns, arrows, heats, tuple(_feet(solution, number)), plan.shown_times)


def _places(solution: Solution, tree: Tree) -> list[list[float]]:
    """Where each state lies before each row, and at the end, from the first reference, mm, (rows + 1, cuts)."""
    plan, sizes = solution.plan, solution.sizes()
    above = tree.above.astype(float)
    times = [float(plan.cuts[i].op) for i in tree.order] + [np.inf]
    out = []
    for time in times:
        grown = np.ones(len(sizes))
        for heat in plan.heats:
            if heat.after_op < time:
                grown[tree.ops <= heat.after_op] *= 1 + heat.mean
        out.append((above @ (sizes * grown)).tolist())
    return out


def _arrows(
    solution: Solution, tree: Tree, number: dict[str, int], here: list[list[float]]
) -> Iterator[Arrow]:
    plan = solution.plan
    dims: dict[int, WorkingDim] = {dim.cut: dim for dim in solution.working}
    stock = {result.index: result for result in solution.stock}
    setup = None
    for row, i in enumerate(tree.order):
        cut, datum, dim = plan.cuts[i], tree.datum[i], dims.get(i)
        times = plan.shown(cut.datum, cut.makes, grows=cut.grows)
        yield Arrow(
            cut=i,
            op=cut.op,
            label=cut.label,
            setup=cut.setup,
            new_setup=cut.setup != setup,
            start=None if cut.datum is None else number[cut.datum],
            end=number[cut.makes],
            start_x=0.0 if datum is None else here[row][datum],
            end_x=here[row][i],
            facing=plan.facings[cut.makes],
            grows=cut.grows,
            size=None if dim is None else dim.size * times,
            half=None if dim is None else dim.half * times,
            given=dim is not None and dim.given,
            held=dim is None or dim.share >= 1 - 1e-9,
            balance=_balance(stock.get(i), plan.shown_times),
        )
        setup = cut.setup


def _balance(result: Resultant | None, times: float) -> Balance | None:
    """Stock as shown: on diameter where sizes are shown as diameters."""
    if result is None:
        return None
    low, high = result.low * times, result.high * times
    return Balance(
        (low + high) / 2, (high - low) / 2, low, high, result.asked_low * times, result.chance, result.holds
    )


def _feet(solution: Solution, number: dict[str, int]) -> Iterator[Foot]:
    for result in solution.finished:
        dim = solution.plan.finished[result.index]
        times = solution.plan.shown(dim.a, dim.b)
        yield Foot(
            name=dim.name,
            start=None if dim.a is None else number[dim.a],
            end=number[dim.b],
            asked_low=result.asked_low * times,
            asked_high=result.asked_high * times,
            low=result.low * times,
            high=result.high * times,
            chance=result.chance,
            holds=result.holds,
            binds=result.binds,
        )
