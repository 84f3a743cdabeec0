"""From a part's surfaces, spans and route to its tolerance charts: one a direction, and one of its round surfaces."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from loopwright.errors import Problem
from loopwright.making.capabilities import Holds, holds
from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.heats import heat_of
from loopwright.making.leasts import least_for
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Cut as Step
from loopwright.model.routes import Measure, Op
from loopwright.model.spread import NONE

ROUND = "round"
"""Name of the chart of the round surfaces, in radii from their axis."""


def number_of(index: int) -> int:
    """Number of an op as sheets and charts show it: 10, 20, 30 …, so that one can be put between.

    >>> number_of(0), number_of(4)
    (10, 50)
    """
    return 10 * (index + 1)


@dataclass(frozen=True)
class Charted:
    """One chart of a part, and where in the build file its cuts and dims stand.

    Attributes:
        direction: X, Y, Z, or 'round'.
        plan: the plan.
        cuts: field path of each cut of the plan, in its order.
        dims: name of the dim for each finished dim of the plan, in its order.
    """

    direction: str
    plan: Plan
    cuts: tuple[str, ...]
    dims: tuple[str, ...]


@dataclass(frozen=True)
class Planned:
    """All charts of a part.

    Attributes:
        part: its name.
        charts: by direction; only those in which something is cut.
        problems: what keeps the route from being charted, each with its field.
        wrong: for each direction the fields of its cuts that could not be drawn.
    """

    part: str
    charts: dict[str, Charted]
    problems: tuple[Problem, ...]
    wrong: dict[str, tuple[str, ...]] = field(default_factory=dict)


def plans_of(build: Build, name: str) -> Planned:
    """The tolerance charts of a part.

    Args:
        build: the build.
        name: of the part.
    """
    part = build.parts[name]
    charts, problems, wrong = {}, [], {}
    for direction in (*"XYZ", ROUND):
        drawn = _Drawing(build, name, part, direction)
        drawn.follow()
        problems += drawn.problems
        wrong[direction] = tuple(problem.field for problem in drawn.problems)
        # sizes that no dim of the drawing depends on make no chart
        if (one := drawn.done()).plan.finished:
            charts[direction] = one
    return Planned(name, charts, tuple(dict.fromkeys(problems)), wrong)


@dataclass
class _Drawing:
    """A chart as it is drawn, op by op."""

    build: Build
    name: str
    part: Part
    direction: str
    cuts: list[Cut] = field(default_factory=list)
    fields: list[str] = field(default_factory=list)
    heats: list[Heat] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    present: set[str] = field(default_factory=set)

    def follow(self) -> None:
        """Goes through the route."""
        for index, op in enumerate(self.part.route):
            path = f"parts/{self.name}/route/{index}"
            found = holds(self.build.shop, op)
            for surface, step in op.cuts.items():
                if self._concerns(surface):
                    self._cut(index, op, surface, step, found, f"{path}/cuts/{surface}")
            heat = heat_of(self.build, self.part, op, number_of(index), self.name)
            if heat is not None and self.cuts:
                self.heats.append(heat)

    def _concerns(self, surface: str) -> bool:
        one = self.part.surfaces[surface]
        if self.direction == ROUND:
            return one.round
        return self.direction in one.places and (not one.round or surface in self._placed)

    @property
    def _placed(self) -> set[str]:
        """Round surfaces whose place in this direction somebody measures."""
        ends = [
            end
            for dim, span in self.part.spans.items()
            if self._along(dim, span)
            for end in span.between or ()
        ]
        return set(ends)

    def _along(self, dim: str, span: Measure) -> bool:
        if span.between is None or self.part.dims[dim].quantity == "angle":
            return False
        if span.along is not None:
            return span.along == self.direction
        one, other = (self.part.surfaces[end].places for end in span.between)
        return self.direction in one and self.direction in other

    def _cut(self, index: int, op: Op, surface: str, step: Step, found: Holds | None, path: str) -> None:
        grown = step.adds is not None
        datum = (
            surface
            if grown
            else self._axis(index, op, found)
            if self.direction == ROUND
            else self._datum(op, step, surface)
        )
        if datum is None and self.present:
            facing = f"±{self.direction}"
            what = f"nothing locates '{surface}' along {self.direction} in op {number_of(index)} ({op.op})"
            self.problems.append(
                Problem(path, what, f"give the op a datum that faces {facing}, or the cut measured_from")
            )
            return
        if datum is not None and datum not in self.present:
            self._raw(datum, self.direction == ROUND)
        # of a round surface seen from the side only the place of its axis counts
        axis = self.part.surfaces[surface].round and self.direction != ROUND
        wanted = step.least or surface in self.present
        least = (
            self._halved(least_for(self.build, self.part, op, surface, step)) if wanted and not axis else 0.0
        )
        if step.least and surface not in self.present and not grown and not axis and self.direction != ROUND:
            self._raw(surface, False)
        spread = CutSpread() if found is None or grown else self._spread(index, op, found, surface)
        size = self._adds(step) if grown else None if axis else self._size(step)
        self.cuts.append(
            Cut(
                surface,
                datum,
                number_of(index),
                self._setup(index, op),
                spread,
                size,
                None,
                least,
                sense=self._side(surface, datum, size),
                label=op.op,
            )
        )
        self.fields.append(path)
        self.present.add(surface)

    def _side(self, surface: str, datum: str | None, size: Limits | None) -> Literal[-1, 0, 1]:
        """Side of its datum on which a cut of a written size lies, where the blueprint need not tell."""
        if size is None or datum is None or datum == surface:
            return 0
        if self.direction == ROUND:
            return 0 if any(span.across == surface for span in self.part.spans.values()) else 1
        facing = self._facing(surface)
        return facing if facing == -self._facing(datum) else 0

    def _halved(self, size: float) -> float:
        return size / 2 if self.direction == ROUND else size

    def _size(self, step: Step) -> Limits | None:
        if step.size is None:
            return None
        spread = step.size.spread or self.build.general_limits or NONE
        return Limits(*(self._halved(v) for v in (step.size.nominal, spread.lower, spread.upper)))

    def _adds(self, step: Step) -> Limits:
        assert step.adds is not None
        return Limits(step.adds.value, step.adds.lower, step.adds.upper)

    def _datum(self, op: Op, step: Step, surface: str) -> str | None:
        if step.measured_from is not None:
            return step.measured_from
        for name in op.datum:
            if name != surface and self.direction in self.part.surfaces[name].places:
                return name
        return None

    def _axis(self, index: int, op: Op, found: Holds | None) -> str | None:
        """The axis that an op turns about; made with its setup, true to the one of its datum but for the seating."""
        setup = self._setup(index, op)
        axis = f"axis of {setup}"
        if axis not in self.present:
            before = next((f"axis of {c.setup}" for c in reversed(self.cuts) if c.makes in op.datum), None)
            before = before or next(
                (c.makes for c in reversed(self.cuts) if c.makes.startswith("axis of ")), None
            )
            spread = CutSpread() if found is None else self._shared(op, CutSpread(seating=found.seating))
            size = None if before is None else Limits(0.0, -3 * spread.seating, 3 * spread.seating)
            self.cuts.append(
                Cut(axis, before, number_of(index), f"{setup}, seated", spread, size, label="seat")
            )
            self.fields.append(f"parts/{self.name}/route/{index}")
            self.present.add(axis)
        return axis

    def _raw(self, surface: str, axis: bool) -> None:
        """A surface of the blank, from which the route begins."""
        first = next((cut.makes for cut in self.cuts if cut.op == 0), None)
        self.cuts.insert(
            sum(cut.op == 0 for cut in self.cuts), Cut(surface, first, 0, "blank", label="blank")
        )
        self.fields.insert(sum(cut.op == 0 for cut in self.cuts) - 1, f"parts/{self.name}/blank")
        self.present.add(surface)

    def _setup(self, index: int, op: Op) -> str:
        """Name of a clamping: ops that follow each other under one name are in one."""
        if op.setup is None:
            return f"op {number_of(index)}"
        first = index
        while first and self.part.route[first - 1].setup == op.setup:
            first -= 1
        return f"{op.setup} (op {number_of(first)})"

    def _spread(self, index: int, op: Op, found: Holds, surface: str) -> CutSpread:
        turned = self.part.surfaces[surface].round and self.direction == ROUND
        # what the handbook knows of a lathe is of a diameter
        halved = turned and found.of_diameter
        cut, setting = ((v / 2 if halved else v) for v in (found.cut, found.setting))
        seating = 0.0 if self.direction == ROUND else found.seating
        return self._shared(op, CutSpread(cut, setting, seating), surface)

    def _shared(self, op: Op, spread: CutSpread, surface: str = "") -> CutSpread:
        """Matched sets are cut with one setting; those clamped as one, with one seating and one cut too."""
        if op.together is None:
            return spread
        key = f"{op.together}: {op.op} on {op.machine}, {self.direction}"
        one = f"{key}, as one" if op.as_one else ""
        return CutSpread(
            spread.cut, spread.setting, spread.seating,
            shared_setting=f"{key}, setting" if spread.setting else "",
            shared_seating=f"{one}, seating" if one and spread.seating else "",
            shared_cut=f"{one}, {surface}" if one and spread.cut else "",
        )  # fmt: skip

    def done(self) -> Charted:
        """The chart."""
        finished = tuple(self._finished())
        surfaces = dict.fromkeys(cut.makes for cut in self.cuts)
        times = 2.0 if self.direction == ROUND else 1.0
        plan = Plan(
            f"{self.name}, {self.direction}",
            tuple(Surface(one, self._facing(one)) for one in surfaces),
            tuple(self.cuts), finished, tuple(self.heats), times, self.build.confidence,
            self.build.units.length,
        )  # fmt: skip
        return Charted(self.direction, plan, tuple(self.fields), tuple(one.name for one in finished))

    def _facing(self, surface: str) -> Literal[-1, 0, 1]:
        one = self.part.surfaces.get(surface)
        if one is None or (one.round and self.direction != ROUND):
            return 0
        if one.round:
            return 1 if one.faces == "outside" else -1
        return 1 if one.faces[0] == "+" else -1

    def _finished(self) -> Iterator[Finished]:
        for dim, span in self.part.spans.items():
            stated = self.part.dims[dim]
            spread = stated.spread or self.build.general_limits or NONE
            values = (stated.nominal, spread.value + spread.lower, spread.value + spread.upper)
            if span.across is not None and self.direction == ROUND and span.across in self.present:
                yield Finished(dim, None, span.across, *(v / 2 for v in values))
            elif span.between is not None and self._along(dim, span) and set(span.between) <= self.present:
                yield Finished(dim, *span.between, *values)
