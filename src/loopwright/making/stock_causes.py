"""What eats into the stock of a finishing cut: growth, warp, skin, the cut before, the setups of both."""

from collections.abc import Iterator
from functools import cached_property
from math import hypot

import numpy as np

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band, Spread
from loopwright.handbook.decarburization import furnace_skin, rolled_allowance
from loopwright.handbook.distortion import (
    Bend,
    Held,
    bend_of,
    nitriding_growth,
    ring_ovality,
    warp,
)
from loopwright.handbook.surface_damage import Blank, damage_by, damage_of_blank
from loopwright.making.chart import Heat
from loopwright.making.chart_tree import Bools
from loopwright.making.heats import growth_of
from loopwright.making.part_size import diameter_of
from loopwright.making.planned import number_of
from loopwright.making.stock import Eats
from loopwright.making.stock_cut import Follow, Practice
from loopwright.model.blanks import Form
from loopwright.model.routes import Op
from loopwright.model.spread import Shape

TRIAL_LEAVES = 0.25
"""Share of the spread of growth that is left after a trial piece of the same bar (an assumption)."""
TRUED_TO = 0.005
"""Standard deviation, mm, each way, of an axis that was set true with an indicator (common practice)."""
FREE_SHARE = 0.5
"""Share of a bow that one of two faces takes where the part is not pulled flat: shimmed so that both share it."""
SEATS = {"chuck": 0.02, "centres": 0.002}
"""Standard deviation, mm, each way, of an axis in a scroll chuck or between centres, where the shop states none."""
_HELD: dict[str, Held] = {"free": "lying free"}
_SCROLL = "common practice: a scroll chuck runs out by 0.03 to 0.1 mm, centres by less than 0.01"
_FORM = "taken as twice the spread of that cut; an assumption"
_SLENDEREST = 60.0


class Causes:
    """What eats into the stock of one cut.

    Attributes:
        eats: every cause, per side.
        notes: what could not be counted, or should be known, in words.
    """

    def __init__(self, follow: Follow, practice: Practice) -> None:
        self._follow, self._practice = follow, practice
        self.notes: list[str] = []
        gathered = (
            *self._growth(),
            *self._shape(),
            *self._skin(),
            *self._before(),
            *self._run_out(),
            *self._sizes(),
            *self._lean(),
        )
        self.eats = tuple(one for one in gathered if one.reach != (0.0, 0.0))

    @property
    def _nitrided(self) -> bool:
        return self._bend == "nitriding"

    @cached_property
    def _bend(self) -> Bend:
        material = self._follow.made.material or ""
        try:
            return bend_of(material)
        except OutOfRange:
            if self._follow.hardened_between:
                of = f"'{material}'" if material else "a steel that is not named"
                self.notes.append(f"the handbook does not harden {of}: warp is that of an oil quench")
            return "oil"

    def _growth(self) -> Iterator[Eats]:
        follow = self._follow
        if follow.row is None:
            if follow.before is not None:
                what = f"nothing joins '{follow.name}' to what it was before"
                self.notes.append(f"{what}: growth and what other ops hold are not counted")
            return
        heats, heated = follow.chart.plan.heats, follow.chart.paths.heated[:, follow.row]
        for heat, counts in zip(heats, heated):
            if not (counts & (follow.signs != 0)).any():
                continue
            if self._nitrided:
                low, high, source = nitriding_growth()
                half = Band((low - high) / 2, (high - low) / 2, source)
                yield _between("growth of the nitrided skin, over or under its mean", "growth", half)
                continue
            length = self._grown(counts)
            if length is None:
                what = f"no dim says how far '{follow.name}' lies from what it is measured from"
                self.notes.append(f"{what}, so the spread of its growth is not counted: give it a span")
                continue
            yield self._spread_of_growth(heat, length)

    def _grown(self, counts: Bools) -> float | None:
        """Length whose growth moves the stock, with its sign, mm."""
        follow, chart = self._follow, self._follow.chart
        total = 0.0
        for number in np.flatnonzero(counts & (follow.signs != 0)).tolist():
            cut = chart.plan.cuts[number]
            here, there = chart.at.get(cut.makes), chart.at.get(cut.datum or "")
            if here is None or there is None or here[0] != there[0]:
                diameter = diameter_of(follow.made, follow.name) if follow.surface.round else None
                return None if diameter is None else diameter / 2
            total += float(follow.signs[number]) * (here[1] - there[1])
        return total

    def _spread_of_growth(self, heat: Heat, length: float) -> Eats:
        op = self._follow.made.route[heat.after_op // 10 - 1]
        left = TRIAL_LEAVES if self._practice.trial else 1.0
        grown = growth_of(self._follow.build, self._follow.made, heat.after_op // 10 - 1)
        assert grown is not None
        tempered = f", {grown.tempered}" if grown.tempered else ""
        name, source = f"spread of the growth in op {heat.after_op} ({op.op}{tempered})", grown.spread.source
        if grown.assumed:
            self.notes.append(f"growth in op {heat.after_op}: {grown.assumed}")
        if heat.std is None or _evenly(op, self._follow.assume):
            low, high = sorted(-length * left * (end - heat.mean) for end in (heat.low, heat.high))
            return Eats(name, "between", low, high, 0.0, source, "growth", op.grows is None)
        std = abs(length) * left * heat.std
        return Eats(name, "normal", 0.0, 0.0, std, source, "growth", op.grows is None)

    def _shape(self) -> Iterator[Eats]:
        """Bow, dish and ovality from the treatment that bends the part most since the surface was made."""
        follow, bend = self._follow, self._bend
        index = follow.last_between("harden")
        if index is None:
            bend, index = "stress relief", follow.last_between("stress relieve")
        if index is None:
            return
        route = follow.made.route
        held = "clamped or on a plug" if self._practice.supported else _support(route[index])
        relieved = bend != "stress relief" and (self._practice.relieved or _relieved(route, index))
        for name, found, share in self._shapes(bend, held, relieved):
            low, high = found.low * share, found.high * share
            yield Eats(name, "factor", low, high, source=found.source, kind="warp", assumed=True)

    def _shapes(self, bend: Bend, held: Held, relieved: bool) -> Iterator[tuple[str, Spread, float]]:
        follow, size = self._follow, self._follow.size
        if not follow.surface.round:
            over, thickness = size.over(follow.surface), size.thickness(follow.surface)
            if over is None or thickness is None:
                self.notes.append(
                    f"the size of '{follow.name}' is not known, so its warp is not counted: give its size"
                )
            elif thickness <= over[0]:
                free = self._practice.free or follow.op.held in ("free", "bonded")
                name = "dish of the face" if size.outside is not None else "bow of the face"
                yield name, self._warp(over[0], thickness, bend, held, relieved), FREE_SHARE if free else 1.0
            return
        diameter = diameter_of(follow.made, follow.name)
        bored = follow.surface.faces == "inside"
        if size.outside is None or (bored and (size.bore is None or (diameter or 0.0) < 0.8 * size.bore)):
            return
        length = size.along.get(size.axis, 0.0)
        if size.wall is not None:
            yield "ovality of the ring", self._ovality(size.wall, bend, held, relieved), 0.5
        if length > size.outside:
            yield "bow of the shaft", self._warp(length, size.outside, bend, held, relieved), 1.0

    def _warp(self, length: float, thickness: float, bend: Bend, held: Held, relieved: bool) -> Spread:
        longest = _SLENDEREST * thickness
        if length <= longest:
            return warp(length, thickness, bend, held=held, relieved=relieved)
        self.notes.append(
            f"{length / thickness:.0f} times as long as thick is beyond the rule for warp, which is stretched here: "
            "treat a trial piece"
        )
        return warp(longest, thickness, bend, held=held, relieved=relieved).times((length / longest) ** 2)

    def _ovality(self, wall: float, bend: Bend, held: Held, relieved: bool) -> Spread:
        assert self._follow.size.outside is not None
        mean = self._follow.size.outside - wall
        thinnest = mean / 40
        if wall >= thinnest:
            return ring_ovality(mean, wall, bend, held=held, relieved=relieved)
        self.notes.append(
            "a ring so thin is beyond the rule for ovality, which is stretched here: treat a trial ring"
        )
        return ring_ovality(mean, thinnest, bend, held=held, relieved=relieved).times(thinnest / wall)

    def _skin(self) -> Iterator[Eats]:
        follow = self._follow
        if follow.hardened_between and not self._nitrided:
            name = f"skin from the furnace ({_FURNACES[self._practice.furnace]})"
            yield _between(name, "skin", furnace_skin(self._practice.furnace))
        if follow.before is None and (depth := self._rolled_skin()) is not None:
            yield _between("decarburised skin of the rolled bar", "skin", depth)

    def _rolled_skin(self) -> Band | None:
        """Skin without carbon of a hot rolled bar that will be hardened."""
        part = self._follow.made
        section = None if part.blank is None else part.blank.section
        hardens = any(op.op == "harden" for op in part.route)
        if section is None or not hardens or self._blank != "rolled" or not section.sizes:
            return None
        sides = sorted(section.sizes if section.form is Form.FLAT else section.sizes[:1] * 2)
        try:
            found = rolled_allowance(*sides)
        except OutOfRange as error:
            self.notes.append(str(error))
            return None
        round_one = "" if section.form is Form.FLAT else ", read as a square bar of that size"
        depth = max(found.skin_on_thickness, found.skin_on_width)
        return Band(0.0, depth, f"{found.source}{round_one}")

    @property
    def _blank(self) -> Blank:
        part = self._follow.made
        if part.blank is not None and part.blank.section.form is Form.CASTING:
            return "casting"
        said = (part.condition or "").casefold()
        clean = ("drawn", "ground", "peeled", "bright", "turned", "free of", "extruded")
        steel = part.material is None or "steel" in part.material or "iron" in part.material
        return "rolled" if steel and not any(word in said for word in clean) else "drawn"

    def _before(self) -> Iterator[Eats]:
        """What the cut before did to the surface."""
        op = self._follow.op_before
        if op is None:
            found, name = damage_of_blank(self._blank), _BLANKS[self._blank]
        else:
            try:
                found = damage_by(op.op)
            except OutOfRange:
                found = damage_by("rough out")
            assert self._follow.before is not None
            name = f"roughness and torn metal of op {number_of(self._follow.before)} ({op.op})"
        yield _between(name, "damage", found)
        held = self._follow.held_by(op)
        if held is not None:
            what = "out of round by" if self._follow.surface.round else "out of flat by"
            half = 0.5 if self._follow.surface.round and held.of_diameter else 1.0
            yield _between(f"{what} the cut before", "form", Band(0.0, 2 * held.cut * half, _FORM))

    def _run_out(self) -> Iterator[Eats]:
        follow, chart = self._follow, self._follow.chart
        seats = [i for i in np.flatnonzero(follow.signs).tolist() if chart.axis(i)]
        if not seats:
            return
        found = [self._seat(i) for i in seats]
        std = hypot(*(one for one, _, _ in found))
        if self._practice.trued:
            std = min(std, TRUED_TO)
        sources = "; ".join(dict.fromkeys(source for _, source, _ in found))
        ops = " and ".join(str(chart.plan.cuts[i].op) for i in seats)
        assumed, name = any(one for _, _, one in found), f"run-out of seating in op {ops}"
        yield Eats(name, "run-out", std=std, source=sources, kind="run-out", assumed=assumed)

    def _seat(self, number: int) -> tuple[float, str, bool]:
        """Spread of a seating of the axis, its source, and whether it is assumed."""
        follow, chart = self._follow, self._follow.chart
        op = follow.made.route[chart.plan.cuts[number].op // 10 - 1]
        held = follow.held_by(op)
        machine = follow.build.shop.machines.get(op.machine or "")
        stated = None if machine is None else machine.holds.get(op.op)
        alone = np.zeros(len(chart.plan.cuts))
        alone[number] = 1.0
        std = chart.scatter(alone)
        if (stated is None or stated.seating is None) and op.held in SEATS:
            return SEATS[op.held], _SCROLL, True
        return (
            std,
            "" if held is None else held.source,
            held is None or stated is None or stated.seating is None,
        )

    def _sizes(self) -> Iterator[Eats]:
        """Working dims on the path of the stock, but for the one that leaves it."""
        follow, chart = self._follow, self._follow.chart
        weights = np.array(follow.signs, float)
        for number in range(len(weights)):
            if chart.axis(number) or number == follow.leaver:
                weights[number] = 0.0
        if follow.row is None:
            weights[follow.cut] = 1.0
        ops = sorted({chart.plan.cuts[i].op for i in np.flatnonzero(weights).tolist()})
        helds = [self._follow.held_by(follow.made.route[op // 10 - 1]) for op in ops if op >= 10]
        sources = "; ".join(dict.fromkeys(h.source for h in helds if h is not None))
        name = f"what op {' and '.join(map(str, ops))} {'holds' if len(ops) == 1 else 'hold'} to size"
        assumed = any(h is None or h.assumed for h in helds)
        yield Eats(name, "normal", std=chart.scatter(weights), source=sources, kind="size", assumed=assumed)

    def _lean(self) -> Iterator[Eats]:
        """Faces that are not parallel, or a taper: half the length either way of the middle."""
        follow = self._follow
        ops = [op for op in (follow.op_before, follow.op) if op is not None]
        if len(ops) == 2 and ops[0].setup is not None and ops[0].setup == ops[1].setup:
            return
        helds = [h for op in ops if (h := follow.held_by(op)) is not None]
        halves = [0.5 if follow.surface.round and h.of_diameter else 1.0 for h in helds]
        angle = hypot(*(h.angular * half for h, half in zip(helds, halves)))
        sources = "; ".join(dict.fromkeys(h.source for h in helds))
        assumed = any(h.assumed for h in helds)
        if follow.surface.round:
            length = follow.size.length(follow.surface)
            sides = [] if length is None else [("taper over the length", length)]
        else:
            over = follow.size.over(follow.surface)
            words = ("out of parallel over the length", "out of parallel over the width")
            sides = [] if over is None else list(zip(words, over))
        for name, side in sides:
            yield Eats(name, "tilt", std=angle * side / 2, source=sources, kind="lean", assumed=assumed)


def _between(name: str, kind: str, found: Band) -> Eats:
    """A cause of which only a range is known, by an assumption of somebody else."""
    return Eats(name, "between", found.low, found.high, source=found.source, kind=kind, assumed=True)


_BLANKS: dict[Blank, str] = {
    "rolled": "scale and skin of hot rolled stock",
    "drawn": "surface of the stock as bought",
    "casting": "skin of the casting",
}
_FURNACES = {
    "vacuum or gas": "in vacuum or gas",
    "foil or pack": "in foil, or packed",
    "coating": "under a coating",
    "none": "with nothing to keep the carbon in",
}


def _evenly(op: Op, assume: Shape) -> bool:
    """The growth is stated by limits, and lies evenly between them."""
    return op.grows is not None and op.grows.std is None and (op.grows.shape or assume) is Shape.RECTANGULAR


def _support(op: Op) -> Held:
    """How a part is held in the heat, from the op's word for it."""
    if op.held is None:
        return "hung on end"
    return _HELD.get(op.held, "clamped or on a plug")


def _relieved(route: list[Op], hardened: int) -> bool:
    """Relieved of stress after something was cut and before it is hardened."""
    first = next((number for number, op in enumerate(route) if op.cuts), len(route))
    return any(op.op == "stress relieve" for op in route[first + 1 : hardened])
