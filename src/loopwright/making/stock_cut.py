"""The cuts of a route that follow a former state of the same surface, each with what lies between the two."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from loopwright.handbook.decarburization import Protection
from loopwright.handbook.operations import operation
from loopwright.making.capabilities import Holds, holds
from loopwright.making.chart import Cut, Plan
from loopwright.making.chart_layout import positions, senses
from loopwright.making.chart_spreads import spreads
from loopwright.making.chart_tree import Array, Paths, Tree, paths_of
from loopwright.making.part_size import PartSize, size_of
from loopwright.making.planned import ROUND, Charted, Planned, plans_of
from loopwright.model.blanks import Form
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Op, Surface
from loopwright.model.shop import Machine
from loopwright.model.spread import Shape

FINISHING = (
    "square up",
    "face",
    "contour",
    "ream",
    "bore",
    "turn",
    "surface grind",
    "cylindrical grind",
    "lap",
)
"""Ops whose cut has to clean up what was there before; a saw, a drill or a roughing cut need not."""
DEVIATIONS = 3.0
"""So many standard deviations either way is what a cut can be held to (common practice)."""
_ASSUMED = "{} that nobody named"


@dataclass(frozen=True)
class Practice:
    """How the work is done, as far as the route has no field for it; the first values are what is assumed.

    Attributes:
        furnace: how the part is kept from losing carbon in the furnace.
        trial: the growth was measured on a trial piece of the same bar in the same furnace.
        relieved: relieved of stress between roughing and finishing, also where the route does not say so.
        supported: clamped, or on a plug, in the heat and in the quench.
        free: held without being pulled flat for the finishing cut, so that both faces share a bow.
        trued: set true with an indicator for the finishing cut.
    """

    furnace: Protection = "foil or pack"
    trial: bool = False
    relieved: bool = False
    supported: bool = False
    free: bool = False
    trued: bool = False


@dataclass(frozen=True, eq=False)
class Chart:
    """One chart of a part with its paths and sources."""

    charted: Charted
    plan: Plan
    tree: Tree
    paths: Paths
    coefficients: Array
    std: Array
    at: dict[str, tuple[int, float]]

    @classmethod
    def of(cls, charted: Charted) -> "Chart":
        """From the plan of a direction."""
        tree = Tree.of(charted.plan)
        found = spreads(tree, senses(tree))
        halves = np.array([cut.half or 0.0 for cut in charted.plan.cuts])
        std = found.with_tolerances(halves, DEVIATIONS)
        return cls(charted, charted.plan, tree, paths_of(tree), found.coefficients, std, positions(tree)[0])

    @property
    def radial(self) -> bool:
        """It is in radii."""
        return self.charted.direction == ROUND

    def axis(self, cut: int) -> bool:
        """A seating of the axis rather than a cut."""
        return self.radial and self.plan.facings[self.plan.cuts[cut].makes] == 0

    def scatter(self, weights: Array) -> float:
        """Standard deviation of a sum of working dims with these weights, mm."""
        return float(np.linalg.norm((weights @ self.coefficients) * self.std))

    def width(self, cut: int) -> float:
        """Between the limits of a working dim, as somebody wrote it or as it can be held, mm."""
        written = self.plan.cuts[cut].size
        alone = np.zeros(len(self.plan.cuts))
        alone[cut] = 1.0
        if written is not None and written.half > 0:
            return 2 * written.half
        return 2 * DEVIATIONS * self.scatter(alone)

    def later(self, cut: int) -> Iterator[int]:
        """Cuts that work on the state that a cut leaves, and on theirs."""
        while (
            found := next((i for i, former in enumerate(self.tree.former) if former == cut), None)
        ) is not None:
            yield found
            cut = found


@dataclass(frozen=True, eq=False)
class Follow:
    """A finishing cut on a surface that was there before.

    Attributes:
        build: the build, with a usual machine where an op names none.
        part: name of the part.
        size: how large the part is.
        chart: of the direction in which the surface is cut.
        cut: number of the cut in its plan.
        index: number of its op in the route, from 0.
        before: number of the op that made the surface before; None: it is as the blank came.
    """

    build: Build
    part: str
    size: PartSize
    chart: Chart
    cut: int
    index: int
    before: int | None

    @property
    def made(self) -> Part:
        """The part."""
        return self.build.parts[self.part]

    @property
    def name(self) -> str:
        """Name of the surface."""
        return self.chart.plan.cuts[self.cut].makes

    @property
    def surface(self) -> Surface:
        """The surface."""
        return self.made.surfaces[self.name]

    @property
    def op(self) -> Op:
        """The op that makes the cut."""
        return self.made.route[self.index]

    @property
    def op_before(self) -> Op | None:
        """The op that made the surface before."""
        return None if self.before is None else self.made.route[self.before]

    def last_between(self, op: str) -> int | None:
        """Number of the last op of that name since the surface was made; None where there is none."""
        first = 0 if self.before is None else self.before + 1
        return max((i for i in range(first, self.index) if self.made.route[i].op == op), default=None)

    @property
    def hardened_between(self) -> bool:
        """It was hardened since the surface was made."""
        return self.last_between("harden") is not None

    @property
    def hard(self) -> bool:
        """It is hard when it is cut."""
        return any(op.op == "harden" for op in self.made.route[: self.index])

    @property
    def assume(self) -> Shape:
        """Shape of a bare limit."""
        return self.build.assume

    def held_by(self, op: Op | None) -> Holds | None:
        """What an op holds."""
        return None if op is None else holds(self.build.shop, op)

    def assumed_machine(self, index: int) -> str:
        """What an op without a machine was taken to be done on; '' where the route names one."""
        machine = self.made.route[index].machine or ""
        return machine if machine.endswith(_ASSUMED.format("")) else ""

    @cached_property
    def row(self) -> int | None:
        """Row of the stock in the paths; None where nothing joins the two states."""
        return None if self.before is None else self.chart.paths.row_of.get(("stock", self.cut))

    @cached_property
    def signs(self) -> Array:
        """How each working dim counts in the stock, (cuts,)."""
        return np.zeros(len(self.chart.plan.cuts)) if self.row is None else self.chart.paths.sign[self.row]

    @cached_property
    def leaver(self) -> int | None:
        """The cut whose working dim says how much is left: that of the surface before, else the last on the path."""
        on_path = [i for i in np.flatnonzero(self.signs).tolist() if i != self.cut and not self.chart.axis(i)]
        former = self.chart.tree.former[self.cut]
        if former in on_path:
            return former
        order = self.chart.tree.order
        return max(on_path, key=order.index, default=None)

    @property
    def window(self) -> float:
        """Between the limits of that working dim, per side, mm."""
        return 0.0 if self.leaver is None else self.chart.width(self.leaver)

    @property
    def written(self) -> bool:
        """Those limits stand in the route."""
        return self.leaver is not None and self.chart.plan.cuts[self.leaver].size is not None

    @property
    def leaves(self) -> int | None:
        """Number of the op that leaves the stock, from 0."""
        return None if self.leaver is None else index_of(self.chart.plan.cuts[self.leaver])


def index_of(cut: Cut) -> int:
    """Number of the op of a cut in its route, from 0."""
    return cut.op // 10 - 1


def follows(build: Build, name: str) -> tuple[tuple[Follow, ...], Planned]:
    """Every finishing cut of a part that follows a former state of the same surface, in the order of the route.

    Args:
        build: the build.
        name: of the part.

    Returns:
        The cuts; and the part's plans, whose problems say what could not be charted.
    """
    equipped = with_machines(build, name)
    part, found = equipped.parts[name], []
    planned = plans_of(equipped, name)
    size = size_of(part)
    for charted in planned.charts.values():
        chart = Chart.of(charted)
        for number, cut in enumerate(chart.plan.cuts):
            surface = part.surfaces.get(cut.makes)
            wrong_chart = surface is None or surface.round != chart.radial
            if wrong_chart or cut.grows or cut.op < 10 or part.route[index_of(cut)].op not in FINISHING:
                continue
            former = chart.tree.former[number]
            made = None if former is None else chart.plan.cuts[former]
            if made is not None and made.op >= 10:
                found.append(Follow(equipped, name, size, chart, number, index_of(cut), index_of(made)))
            elif _on_the_blank(part, cut.makes):
                found.append(Follow(equipped, name, size, chart, number, index_of(cut), None))
    return tuple(sorted(found, key=lambda one: one.index)), planned


def _on_the_blank(part: Part, name: str) -> bool:
    """A surface that the bar, plate or casting has before anything is cut."""
    if part.blank is None:
        return False
    surface, form = part.surfaces[name], part.blank.section.form
    if surface.faces == "inside":
        return form in (Form.TUBE, Form.CASTING)
    if surface.round:
        return form in (Form.ROUND, Form.TUBE, Form.CASTING)
    if form in (Form.ROUND, Form.TUBE):
        return False
    return surface.along != (part.blank.along or "Z") or form is Form.CASTING


def with_machines(build: Build, name: str) -> Build:
    """The build with a usual machine for each op of a part that cuts and names none, as an assumption."""
    part, machines = build.parts[name], dict(build.shop.machines)
    route = []
    for op in part.route:
        if op.cuts and op.machine is None and (kinds := operation(op.op).machines):
            assumed = f"a {_ASSUMED.format(kinds[0])}"
            machines.setdefault(assumed, Machine(kind=kinds[0]))
            op = op.model_copy(update={"machine": assumed})
        route.append(op)
    return build.model_copy(
        update={
            "shop": build.shop.model_copy(update={"machines": machines}),
            "parts": {**build.parts, name: part.model_copy(update={"route": route})},
        }
    )
