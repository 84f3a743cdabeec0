"""How much stock to leave on a part for each finishing cut, what drives it, and what it is worth to reduce it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from math import ceil, floor, log10

import numpy as np

from loopwright import units
from loopwright.errors import Problem, RequestError
from loopwright.handbook.bands import Band
from loopwright.handbook.cautions import DEFERS, Caution
from loopwright.handbook.decarburization import Protection
from loopwright.making.part_size import PartSize, size_of
from loopwright.making.planned import number_of
from loopwright.making.stock import Eats, Stock, stock_to_leave
from loopwright.making.stock_customary import customary
from loopwright.making.stock_cut import Follow, Practice
from loopwright.making.stock_minutes import Minutes, minutes_for, why_unknown
from loopwright.making.stock_route import (
    Finishing,
    WorkTo,
    blank_for,
    finished,
    finishing_cuts,
    stock_of,
    work_to,
)
from loopwright.model.build import Build, Units
from loopwright.model.parts import Part
from loopwright.studies.stock_hardening import Hardening, hardening_of, hazards_of
from loopwright.units import Dimension

FAILS = 0.2
"""One in five: the stock with which so many do not clean up is told beside the least."""
WORTH_TELLING = 0.03
"""A change of practice is told if it saves this share of the least stock."""
WIDEST = 5.0
"""No window is asked for that is wider, mm."""
_POINTS = 25
_REMEDIES: tuple[tuple[str, dict[str, bool | str], str], ...] = (
    ("trial piece", {"trial": True}, "measure the growth on a trial piece of the same bar"),
    ("stress relief", {"relieved": True}, "relieve it of stress between roughing and finishing"),
    ("support", {"supported": True}, ""),
    (
        "held free",
        {"free": True},
        "hold it free for this cut: shim it where it stands hollow, pull nothing flat",
    ),
    ("set true", {"trued": True}, "set it true with an indicator, or use one pair of centres for both cuts"),
    ("furnace", {"furnace": "vacuum or gas"}, "harden it in vacuum or protective gas"),
)


@dataclass(frozen=True)
class Cause:
    """Something that eats into the stock; lengths as the stock is told, mm.

    Attributes:
        name: what it is.
        kind: one word for its sort: growth, warp, skin, damage, form, run-out, size or lean.
        shape: how it is spread, as in :class:`~loopwright.making.stock.Eats`.
        low, high: least and most, where it has such.
        std: standard deviation, where it is given by that.
        expected: what it takes on average.
        takes: by how much less stock would do if it were not there.
        source: where the figure comes from.
        assumed: neither measured nor stated by the shop.
    """

    name: str
    kind: str
    shape: str
    low: float
    high: float
    std: float
    expected: float
    takes: float
    source: str
    assumed: bool


@dataclass(frozen=True)
class Remedy:
    """Something that would let less stock do, by computing all of it again.

    Attributes:
        name: of it, in short.
        words: what to do.
        least: stock that would do then, mm as told.
        saves: by how much less, mm.
    """

    name: str
    words: str
    least: float
    saves: float


@dataclass(frozen=True)
class Written:
    """What the working dim in the route leaves.

    Attributes:
        low, high: stock at its limits, mm as told.
        chance_low: chance to clean up with the lesser.
        chance: on average between the limits.
    """

    low: float
    high: float
    chance_low: float
    chance: float


@dataclass(frozen=True)
class SurfaceStock:
    """Stock to leave for one finishing cut; on the diameter of a round surface, else on the face; mm.

    Attributes:
        surface: its name.
        faces: where it faces.
        on_diameter: the lengths are on the diameter.
        op, op_name, machine: the cut; '' for a machine that nobody named.
        field: path in the build file.
        before: number of the op that made the surface; None: as the blank came.
        before_name: its name, or 'blank'.
        leaves: number of the op whose size leaves the stock; None where none does.
        leave_low, leave_high: what to leave, rounded.
        step: to which they are rounded.
        least, most: the same, not rounded.
        chance: that was asked for.
        chance_low: chance to clean up with ``leave_low``.
        fails_share: share of pieces that do not clean up with ``fails_stock``.
        fails_stock: that stock; None where hardly any would do.
        curve: stock, and chance to clean up with it, for a picture.
        window: between the limits of the dim that leaves the stock.
        window_written: they stand in the route; else three standard deviations either way.
        causes: what eats into it, the largest first.
        remedies: what would let less do, the best first.
        work_to: dim to work to before.
        grows: by how much that dim is expected to grow afterwards, mm.
        blank: for a first cut on a bar: diameter that the bar must have, mm.
        written: what the working dim of the route leaves.
        least_written: least stock that the route says for this cut.
        minutes: what so much more stock costs to grind off.
        customary: what the trade leaves.
        customary_says: 'inside', 'under' or 'over': where the least lies; '' where nothing is known.
        notes: what was not counted, or should be known.
    """

    surface: str
    faces: str
    on_diameter: bool
    op: int
    op_name: str
    machine: str
    field: str
    before: int | None
    before_name: str
    leaves: int | None
    leave_low: float
    leave_high: float
    step: float
    least: float
    most: float
    chance: float
    chance_low: float
    fails_share: float
    fails_stock: float | None
    curve: tuple[tuple[float, float], ...]
    window: float
    window_written: bool
    causes: tuple[Cause, ...]
    remedies: tuple[Remedy, ...]
    work_to: WorkTo | None
    grows: float
    blank: float | None
    written: Written | None
    least_written: float | None
    minutes: Minutes | None
    customary: Band | None
    customary_says: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class StockSheet:
    """Stock to leave on a part.

    Attributes:
        build: name of the machine.
        units: its units.
        part: the part.
        noun: what to call it: ring, shaft, or part.
        material: of the part; '' where it is not said.
        chance: to clean up, that was asked for.
        furnace: how it is kept from losing carbon, as it was taken.
        surfaces: the finishing cuts, in the order of the route.
        hardening: how it is hardened; None where it is not.
        cautions: of the heat and the grinding.
        defers: stands under them.
        problems: what keeps the route from being charted.
    """

    build: str
    units: Units
    part: str
    noun: str
    material: str
    chance: float
    furnace: Protection
    surfaces: tuple[SurfaceStock, ...]
    hardening: Hardening | None
    cautions: tuple[Caution, ...]
    defers: str
    problems: tuple[Problem, ...]


def stock_sheet(
    build: Build,
    part: str,
    *,
    surface: str | None = None,
    chance: float | None = None,
    furnace: Protection = "foil or pack",
    window: float | None = None,
) -> StockSheet:
    """How much stock to leave on a part for each finishing cut.

    Args:
        build: the build.
        part: name of the part.
        surface: only of this surface.
        chance: that a piece cleans up all over; left out: as the shop asks.
        furnace: how the part is kept from losing carbon in the furnace.
        window: between the limits of every dim that leaves stock, mm, on the diameter of a round surface; left out: as
            the route and its chart have it.

    Returns:
        The sheet.

    Raises:
        RequestError: no such part or surface, a part without a route, a chance or a window that cannot be asked for.
    """
    found = _checked(build, part)
    wanted = build.shop.clean_up if chance is None else chance
    if not 0.5 <= wanted <= 0.9999:
        raise RequestError(f"a chance of {100 * wanted:g} % to clean up", "ask for 50 % to 99.99 %")
    if window is not None and not 0 <= window <= WIDEST:
        raise RequestError(f"a window of {window:g} mm", f"ask for 0 to {WIDEST:g} mm")
    practice = Practice(furnace=furnace)
    cuts, problems = finishing_cuts(build, part, wanted, practice)
    if surface is not None and surface not in {one.follow.name for one in cuts}:
        raise _not_finished(surface, found.surfaces, [one.follow.name for one in cuts])
    size = size_of(found)
    told = _Told(build, size, cuts, practice, wanted, window)
    surfaces = tuple(told.cut(one) for one in cuts if surface in (None, one.follow.name))
    return StockSheet(
        build.name, build.units, part, _noun(size), found.material or "", wanted, furnace, surfaces,
        hardening_of(build, part), hazards_of(found), DEFERS, problems,
    )  # fmt: skip


def _checked(build: Build, name: str) -> Part:
    if name not in build.parts:
        close = get_close_matches(name, build.parts, n=1)
        known = ", ".join(list(build.parts)[:8])
        remedy = f"did you mean '{close[0]}'?" if close else f"there are: {known}"
        raise RequestError(f"there is no part '{name}'", remedy)
    part = build.parts[name]
    if not part.route:
        with_route = [one for one, other in build.parts.items() if other.route]
        remedy = f"parts with one: {', '.join(with_route[:8])}" if with_route else "describe it under 'route'"
        raise RequestError(f"part '{name}' has no route", remedy)
    return part


def _not_finished(surface: str, surfaces: Mapping[str, object], finished_ones: list[str]) -> RequestError:
    there = ", ".join(dict.fromkeys(finished_ones)) or "none"
    if surface not in surfaces:
        return RequestError(f"there is no surface '{surface}'", f"finished are: {there}")
    return RequestError(f"no finishing cut follows another on '{surface}'", f"finished are: {there}")


def _noun(size: PartSize) -> str:
    if size.ring:
        return "ring"
    long = size.outside is not None and size.along.get(size.axis, 0.0) > size.outside
    return "shaft" if long else "part"


def rounding(least: float, unit: str) -> float:
    """Step to which a stock is rounded: 1, 2 or 5 of a decimal place of the unit, a twentieth of it or finer, mm.

    >>> round(rounding(0.25, "mm"), 6), round(rounding(0.25, "in") / 25.4, 6)
    (0.01, 0.0002)
    """
    inside = float(units.factor(unit, Dimension.LENGTH))
    finest = max(least / inside / 20, 1e-5)
    decade = 10.0 ** floor(log10(finest) + 1e-9)
    return inside * max(decade * n for n in (1, 2, 5) if decade * n <= finest * (1 + 1e-9))


@dataclass(frozen=True)
class _Told:
    """Turns what making found into what is told."""

    build: Build
    size: PartSize
    cuts: tuple[Finishing, ...]
    practice: Practice
    chance: float
    asked_window: float | None = None

    def cut(self, one: Finishing) -> SurfaceStock:
        """Everything about one cut."""
        follow, stock, times = one.follow, one.stock, one.times
        low, high, step = self._leave(one)
        left = self._left(follow)
        band, reason = customary(follow)
        target = work_to(follow, left, low / times, high / times)
        share, fails = self._failing(stock, times, step)
        need = blank_for(follow, left, low / times)
        before = follow.op_before
        return SurfaceStock(
            surface=follow.name,
            faces=follow.surface.faces,
            on_diameter=follow.surface.round,
            op=number_of(follow.index),
            op_name=follow.op.op,
            machine="" if follow.assumed_machine(follow.index) else follow.op.machine or "",
            field=f"parts/{follow.part}/route/{follow.index}/cuts/{follow.name}",
            before=None if follow.before is None else number_of(follow.before),
            before_name="blank" if before is None else before.op,
            leaves=None if follow.leaver is None else follow.chart.plan.cuts[follow.leaver].op,
            leave_low=low,
            leave_high=high,
            step=step,
            least=times * stock.least,
            most=times * stock.least + self._window(one),
            chance=stock.chance,
            chance_low=stock.cleans_up(low / times),
            fails_share=share,
            fails_stock=fails,
            curve=_curve(stock, times),
            window=self._window(one),
            window_written=follow.written and self.asked_window is None,
            causes=self._causes(one),
            remedies=self._remedies(one),
            work_to=target,
            grows=0.0 if target is None else target.growth * (target.low + target.high) / 2,
            blank=need,
            written=self._written(one, left),
            least_written=follow.op.cuts[follow.name].least,
            minutes=minutes_for(follow, self._extra),
            customary=band,
            customary_says=_against(band, times * stock.least),
            notes=tuple(self._notes(one, need, band, reason)),
        )

    @property
    def _extra(self) -> float:
        """So much more stock is costed: 0.05 mm, or 2 thou."""
        inches = self.build.units.length in ("in", "ft", "thou", '"')
        return 2 * 0.0254 if inches else 0.05

    def _window(self, one: Finishing) -> float:
        """Between the limits of the dim that leaves the stock, as told."""
        return one.times * one.follow.window if self.asked_window is None else self.asked_window

    def _leave(self, one: Finishing) -> tuple[float, float, float]:
        """What to leave, rounded up, and the step."""
        least, window = one.times * one.stock.least, self._window(one)
        step = rounding(least, self.build.units.length)
        low = step * ceil(max(least, self._least_to_cut(one)) / step - 1e-6)
        return low, low + step * (max(round(window / step), 1) if window > 0 else 0), step

    @staticmethod
    def _least_to_cut(one: Finishing) -> float:
        """What a reamer has to find so that it cuts and does not rub, mm on the diameter; nought for other ops."""
        band = customary(one.follow)[0] if one.follow.op.op == "ream" else None
        return 0.0 if band is None else band.low

    def _left(self, follow: Follow) -> dict[int, float]:
        """Middle of what other cuts of the chart are left, per side."""
        charts = [one for one in self.cuts if one.follow.chart is follow.chart]
        return {one.follow.cut: sum(self._leave(one)[:2]) / 2 / one.times for one in charts}

    def _failing(self, stock: Stock, times: float, step: float) -> tuple[float, float | None]:
        share = FAILS if 1 - self.chance <= FAILS / 2 else 0.5
        found = step * round(times * stock.failing(share) / step)
        return share, found if found > 0 and 1 - self.chance < share else None

    def _causes(self, one: Finishing) -> tuple[Cause, ...]:
        eats, found = one.stock.eats, []
        for number, cause in enumerate(eats):
            without = stock_to_leave([*eats[:number], *eats[number + 1 :]], self.chance, 0.0).least
            found.append(_cause(cause, one.times, one.stock.least - without))
        return tuple(sorted(found, key=lambda cause: -cause.takes))

    def _remedies(self, one: Finishing) -> tuple[Remedy, ...]:
        found, helping = [], {}
        hardened = one.follow.last_between("harden") is not None
        for name, change, words in _REMEDIES:
            least = self._least_with(one, change)
            saves = one.stock.least - least
            if saves > max(WORTH_TELLING * one.stock.least, 1e-5):
                helping.update(change)
                clamped = "clamp it in the heat and the quench" if hardened else "clamp it flat in the heat"
                said = words or ("quench it on a plug" if self.size.ring and hardened else clamped)
                found.append(Remedy(name, said, one.times * least, one.times * saves))
        found.sort(key=lambda remedy: -remedy.saves)
        if len(found) > 1:
            least = self._least_with(one, helping)
            saves = one.stock.least - least
            found.append(Remedy("all", "all of these together", one.times * least, one.times * saves))
        return tuple(found)

    def _least_with(self, one: Finishing, change: Mapping[str, bool | str]) -> float:
        changed = replace(self.practice, **change)  # type: ignore[arg-type]
        if changed == self.practice:
            return one.stock.least
        return finished(one.follow, self.chance, changed).stock.least

    def _written(self, one: Finishing, left: Mapping[int, float]) -> Written | None:
        follow = one.follow
        if not follow.written or follow.leaver is None:
            return None
        size = follow.chart.plan.cuts[follow.leaver].size
        target = work_to(follow, left, 0.0, 1.0)
        if size is None or target is None:
            return None
        times = one.times if follow.chart.radial else 1.0
        ends = [stock_of(follow, left, times * abs(size.mean + end)) for end in (-size.half, size.half)]
        if ends[0] is None or ends[1] is None:
            return None
        low, high = sorted(end for end in ends if end is not None)
        chances = [one.stock.cleans_up(stock) for stock in np.linspace(low, high, 41).tolist()]
        return Written(one.times * low, one.times * high, chances[0], sum(chances) / len(chances))

    def _notes(self, one: Finishing, need: float | None, band: Band | None, reason: str) -> Iterator[str]:
        follow = one.follow
        yield from one.notes
        if reason:
            yield f"no customary stock: {reason}"
        if unknown := why_unknown(follow):
            yield f"what more stock costs to grind is not told: {unknown}"
        if follow.op.op == "ream" and band is not None and one.times * one.stock.least < band.low:
            yield "less would clean up, but a reamer that finds less than is customary rubs: that least is left"
        for index in dict.fromkeys((follow.before, follow.index, follow.leaves)):
            if index is not None and (machine := follow.assumed_machine(index)):
                kind = machine.partition(" that ")[0]
                yield f"op {number_of(index)} ({follow.made.route[index].op}) names no machine; {kind} is assumed"
        section = None if follow.made.blank is None else follow.made.blank.section
        outside = follow.surface.faces == "outside"
        if (
            need is not None
            and outside
            and section is not None
            and section.sizes
            and section.sizes[0] < need - 1e-9
        ):
            yield "the bar is thinner than that: take the next size"
        over = follow.size.over(follow.surface) if not follow.surface.round else None
        thickness = None if follow.surface.round else follow.size.thickness(follow.surface)
        flat = follow.op.held in ("magnet", "clamped") and over is not None and thickness is not None
        if flat and follow.hardened_between and over is not None and over[0] >= 8 * (thickness or over[0]):
            yield "pulled flat it cleans up and springs back: shim it where it stands hollow for the first face"


def _cause(one: Eats, times: float, takes: float) -> Cause:
    return Cause(
        one.name, one.kind, one.shape, times * one.low, times * one.high, times * one.std, times * one.expected,
        times * takes, one.source, one.assumed,
    )  # fmt: skip


def _curve(stock: Stock, times: float) -> tuple[tuple[float, float], ...]:
    """Chance over stock, from where hardly any clean up to where nearly all do."""
    first, last = (stock.failing(share) for share in (0.99, 0.0005))
    places = np.linspace(max(first, 0.0), max(last, stock.least), _POINTS).tolist()
    return tuple((times * place, stock.cleans_up(place)) for place in places)


def _against(band: Band | None, least: float) -> str:
    if band is None:
        return ""
    return "inside" if band.holds(least) else "under" if least < band.low else "over"
