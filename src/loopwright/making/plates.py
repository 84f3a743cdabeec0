"""Blanks from plate: strips right across the sheet first, then blanks off the strips, so that least is bought."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import isfinite
from time import monotonic

import numpy as np

from loopwright.errors import BuildError, Problem
from loopwright.making.sawing_records import Cancel, Progress, gap
from loopwright.making.sawing_strips import (
    Aim,
    Layout,
    SheetPlan,
    StripCut,
    first_sheets,
    missing_of,
    settle_sheets,
)
from loopwright.making.sawing_task import STEPS, Floats, Watch

LARGEST = 1e5
"""mm; a larger sheet is a slip of the decimal point."""
MOST_BLANKS = 2_000
SLACK = 100
"""Steps by which sizes may exceed a sheet: what rounding them leaves."""
STAGES = 2
FOR_MONEY = 0.8
"""Part of the time of a section that the first aim may take."""


@dataclass(frozen=True, slots=True)
class Blank:
    """Rectangular blanks of one size that are wanted.

    Attributes:
        name: of the part.
        length: one side with all that is left for machining, mm.
        width: the other side, mm.
        count: how many.
        section: thickness and material in one key, as 'plate 20, S355'.
        turn: whether the blank may be turned on the sheet; not where the direction of rolling matters.
    """

    name: str
    length: float
    width: float
    count: int
    section: str
    turn: bool = True


@dataclass(frozen=True, slots=True)
class Sheet:
    """Sheets of one size, in the rack or to be bought.

    Attributes:
        name: what is written on it; no two sheets of a section have the same.
        length: mm; the direction of rolling.
        width: mm.
        count: how many there are; None: as many as are needed, which must then be bought.
        section: thickness and material in one key.
        price: of one; 0 for what is in the rack.
    """

    name: str
    length: float
    width: float
    count: int | None
    section: str
    price: float = 0.0


@dataclass(frozen=True, slots=True)
class PlateSaw:
    """What cutting takes.

    Attributes:
        kerf: width of the cut, mm.
        edge: what comes off each edge of a sheet before it is of use, mm.
        least: the shorter side of the smallest off-cut worth keeping, mm.
    """

    kerf: float
    edge: float = 0.0
    least: float = 0.0


@dataclass(frozen=True, slots=True)
class PlateMetal:
    """What a plate weighs: its thickness, mm, and its density, kg/m³."""

    thickness: float
    density: float

    def mass(self, length: float, width: float) -> float:
        """Of a sheet with sides in mm, kg.

        >>> round(PlateMetal(10.0, 7850.0).mass(1000.0, 1000.0), 2)
        78.5
        """
        return self.thickness * length * width * self.density * 1e-9


@dataclass(frozen=True, slots=True)
class Laid:
    """A blank on its strip.

    Attributes:
        blank: name of the part.
        start: from the edge of the sheet at which strips begin, along the strip, mm.
        run: its side along the strip, mm.
        rise: its side across the strip, mm; less than the strip where it is cut down once more.
        turned: whether its length lies across the sheet.
    """

    blank: str
    start: float
    run: float
    rise: float
    turned: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip right across the sheet.

    Attributes:
        start: from the edge of the sheet at which the first strip begins, mm.
        rise: its width, mm.
        blanks: that are cut off it, in their order.
    """

    start: float
    rise: float
    blanks: tuple[Laid, ...]


@dataclass(frozen=True, slots=True)
class CutSheet:
    """One sheet and how it is cut: strips first, then blanks off each strip.

    Attributes:
        sheet: its name.
        number: which of the sheets of that name, counted from 1.
        section: thickness and material.
        length: mm.
        width: mm.
        price: what was paid for it; 0 if it was in the rack.
        along: whether the strips lie along its length; else across.
        strips: in the order to cut, the widest first.
        rest: width of what is left beside the last strip, as long as the strips, mm.
        kept: whether that is worth keeping.
    """

    sheet: str
    number: int
    section: str
    length: float
    width: float
    price: float
    along: bool
    strips: tuple[Strip, ...]
    rest: float
    kept: bool

    @property
    def used(self) -> float:
        """Part of the sheet that becomes blanks."""
        blanks = sum(laid.run * laid.rise for strip in self.strips for laid in strip.blanks)
        return blanks / (self.length * self.width)


@dataclass(frozen=True, slots=True)
class SheetPurchase:
    """Sheets to buy: which, their section, sides in mm, how many, the price of one, and the mass of all in kg.

    The mass is None where the metal is not known.
    """

    sheet: str
    section: str
    length: float
    width: float
    count: int
    price: float
    mass: float | None

    @property
    def cost(self) -> float:
        """Of all of them."""
        return self.count * self.price


@dataclass(frozen=True, slots=True)
class PlateProof:
    """How good the list of one section is.

    Attributes:
        section: thickness and material.
        cost: of what is bought.
        bound: no list with strips right across the sheet costs less.
        area_bound: no list costs less however it is cut, for the area alone.
        how: how the bound was reached.
        own: area of own sheets that is taken, without their edges, mm²: the second aim.
        own_bound: no list of that cost takes less.
    """

    section: str
    cost: float
    bound: float
    area_bound: float
    how: str
    own: float
    own_bound: float

    @property
    def gap(self) -> float:
        """By how much of its cost the list may be too dear among those with strips right across."""
        return gap(self.cost, self.bound)


@dataclass(frozen=True, slots=True)
class PlateList:
    """Which blank comes from which sheet, what is to be bought, and how good that is.

    Attributes:
        sheets: that are cut, section by section.
        purchases: what to buy.
        proofs: how good the list is, for each section.
    """

    sheets: tuple[CutSheet, ...]
    purchases: tuple[SheetPurchase, ...]
    proofs: tuple[PlateProof, ...]

    @property
    def cost(self) -> float:
        """Of what is bought."""
        return sum(purchase.cost for purchase in self.purchases)

    @property
    def bound(self) -> float:
        """No list with strips right across the sheet costs less."""
        return sum(proof.bound for proof in self.proofs)

    @property
    def gap(self) -> float:
        """By how much of its cost the list may be too dear among those with strips right across."""
        return gap(self.cost, self.bound)

    @property
    def mass(self) -> float | None:
        """Of what is bought, kg; None where the metal of a purchase is not known."""
        masses = [purchase.mass for purchase in self.purchases]
        known = [mass for mass in masses if mass is not None]
        return sum(known) if len(known) == len(masses) else None


def plate_list(
    blanks: Sequence[Blank],
    sheets: Sequence[Sheet],
    saw: PlateSaw,
    *,
    metals: Mapping[str, PlateMetal] | None = None,
    within: float = 0.01,
    seconds: float = 10.0,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> PlateList:
    """Which blank to cut from which sheet.

    A sheet is cut into strips right along or right across it, a strip into blanks, and a blank lower than its strip
    once more. Every cut goes from edge to edge. First aim: the least cost of what is bought; second, the least area
    of own sheets. The bound holds for lists cut in this way; the one by area holds for any.

    Args:
        blanks: what is wanted.
        sheets: what there is, and what can be bought.
        saw: what cutting takes.
        metals: of each section, for the weight of what is bought.
        within: gap between cost and bound that is good enough, as a share of the cost; small lists are proven.
        seconds: time after which the best list found so far is taken; a step or two may run over.
        progress: called with the stages done and how many there are.
        cancelled: asked now and then; True stops.

    Raises:
        BuildError: everything that is wrong with what is given; or blanks for which no list was found.
        Cancelled: ``cancelled`` said so.

    Source: P. C. Gilmore, R. E. Gomory, Operations Research 13 (1965) 94 (two-stage cutting); from memory.

    Four feet and two covers from one sheet of a square metre:

    >>> foot, cover = Blank("foot", 300, 245, 4, "plate 20"), Blank("cover", 480, 480, 2, "plate 20")
    >>> shop = Sheet("1 x 1 m", 1000, 1000, None, "plate 20", price=80.0)
    >>> done = plate_list([foot, cover], [shop], PlateSaw(kerf=3, edge=5))
    >>> done.cost, done.gap, [len(strip.blanks) for strip in done.sheets[0].strips]
    (80.0, 0.0, [2, 3, 1])
    """
    metals = metals or {}
    if problems := mistakes(blanks, sheets, saw, metals):
        raise BuildError(problems)
    sections = sorted({blank.section for blank in blanks if blank.count})
    watch, end = Watch(STAGES * len(sections), 0.0, progress, cancelled), monotonic() + seconds
    missing: list[Problem] = []
    cut: list[CutSheet] = []
    proofs: list[PlateProof] = []
    for number, section in enumerate(sections):
        table = _Table.of(section, blanks, sheets, saw)
        watch.until = monotonic() + max(end - monotonic(), 0.0) / (len(sections) - number)
        plan, proof = table.best(watch, within)
        if missing_of(table.layout, plan).any():
            missing.append(table.short(plan))
        else:
            cut += table.cut(plan)
            proofs.append(proof)
    if missing:
        raise BuildError(missing)
    return PlateList(tuple(cut), _purchases(cut, metals), tuple(proofs))


@dataclass(frozen=True)
class _Table:
    """One section: its layout in whole numbers, and the names that belong to the numbers.

    Attributes:
        section: thickness and material.
        saw: what cutting takes.
        layout: blanks and sheets.
        swapped: whether a way of laying a blank has its width along the strip, (laid,).
        along: whether a way of cutting a sheet has its strips along the length, (cuts,).
        blanks: of each size, with their number.
        sheets: of each kind, with as many as there are.
    """

    section: str
    saw: PlateSaw
    layout: Layout
    swapped: tuple[bool, ...]
    along: tuple[bool, ...]
    blanks: tuple[tuple[tuple[str, int], ...], ...]
    sheets: tuple[tuple[tuple[Sheet, int], ...], ...]

    @classmethod
    def of(cls, section: str, blanks: Sequence[Blank], sheets: Sequence[Sheet], saw: PlateSaw) -> "_Table":
        """The blanks and sheets of a section, those of the same size together, in an order of their own."""
        sizes: defaultdict[tuple[int, int, bool], list[tuple[str, int]]] = defaultdict(list)
        for blank in sorted((b for b in blanks if b.section == section and b.count), key=lambda b: b.name):
            sizes[_steps(blank.length), _steps(blank.width), blank.turn].append((blank.name, blank.count))
        wanted = {size: sum(count for _, count in sizes[size]) for size in sorted(sizes, reverse=True)}
        kinds: defaultdict[tuple[float, int, int], list[tuple[Sheet, int]]] = defaultdict(list)
        for sheet in sorted(
            (s for s in sheets if s.section == section and s.count != 0), key=lambda s: s.name
        ):
            count = sum(wanted.values()) if sheet.count is None else min(sheet.count, sum(wanted.values()))
            kinds[sheet.price, _steps(sheet.length), _steps(sheet.width)].append((sheet, count))
        kerf = _steps(saw.kerf)
        lies = sorted(_lies([*wanted], kerf), key=lambda lie: (lie.rise, lie.run, lie.blank))
        cuts = list(_cuts(sorted(kinds), kerf - 2 * _steps(saw.edge) + SLACK))
        layout = Layout(
            blank=np.array([lie.blank for lie in lies], np.int64),
            run=np.array([lie.run for lie in lies], np.int64),
            rise=np.array([lie.rise for lie in lies], np.int64),
            allowed=np.array([[lie.free or lie.swapped != way.along for lie in lies] for way in cuts]),
            wanted=np.array(list(wanted.values()), np.int64),
            kind=np.array([way.kind for way in cuts], np.int64),
            room=np.array([way.room for way in cuts], np.int64),
            stack=np.array([way.stack for way in cuts], np.int64),
            count=np.array([sum(n for _, n in kinds[kind]) for kind in sorted(kinds)], np.int64),
            rises=np.unique([lie.rise for lie in lies]),
        )
        named, racked = (
            (tuple(sizes[size]) for size in wanted),
            (tuple(kinds[kind]) for kind in sorted(kinds)),
        )
        swapped, along = (lie.swapped for lie in lies), (way.along for way in cuts)
        return cls(section, saw, layout, tuple(swapped), tuple(along), tuple(named), tuple(racked))

    def best(self, watch: Watch, within: float) -> tuple[SheetPlan, PlateProof]:
        """The plan for both aims, and how good it is."""
        price = np.array([sheets[0][0].price for sheets in self.sheets])
        edges = 2 * self.saw.edge
        area = np.array([(s[0][0].length - edges) * (s[0][0].width - edges) for s in self.sheets])
        unit, one, until = float(price.max()) or 1.0, float(area.max()), watch.until
        spend, own = price / unit, np.where(price > 0, 0.0, area / one)
        watch.until = monotonic() + FOR_MONEY * watch.left
        aim = Aim(spend, spend, float(self.layout.wanted.sum()), unit)
        money = settle_sheets(self.layout, aim, first_sheets(self.layout, aim), watch, within)
        watch.stage()
        watch.until = until
        spent = Aim(own, spend, float(sum(spend[self.layout.kind[cut]] for cut, _ in money.plan)) + 1e-9)
        rack = settle_sheets(self.layout, spent, money.plan, watch, within)
        watch.stage()
        cost = float(sum(price[self.layout.kind[cut]] for cut, _ in rack.plan))
        sizes = zip(self.layout.wanted.tolist(), self._areas())
        covered = self._by_area(sum(count * size for count, size in sizes), price, area)
        bound = min(max(money.bound * unit, covered), cost)
        return rack.plan, PlateProof(
            self.section, cost, bound, covered, money.how, rack.cost * one, rack.bound * one
        )

    def _areas(self) -> list[float]:
        """Of a blank of each kind without its kerf, mm²."""
        kerf = _steps(self.saw.kerf)
        found = [0.0] * len(self.blanks)
        for blank, run, rise in zip(self.layout.blank, self.layout.run - kerf, self.layout.rise - kerf):
            found[blank] = float(run) * float(rise) / STEPS**2
        return found

    def _by_area(self, needed: float, price: Floats, area: Floats) -> float:
        """What the area of the blanks costs at least, once the own sheets are used up."""
        left, cost = needed, 0.0
        for kind in np.argsort(price / area, kind="stable").tolist():
            taken = min(left / float(area[kind]), float(self.layout.count[kind]))
            cost += taken * float(price[kind])
            left -= taken * float(area[kind])
        return cost

    def short(self, plan: SheetPlan) -> Problem:
        """What is missing from a plan, as a mistake with its remedy."""
        left = missing_of(self.layout, plan)
        names = [
            f"{count} of '{self.blanks[blank][0][0]}'" for blank, count in enumerate(left.tolist()) if count
        ]
        what = f"no list was found that makes do with the sheets: left over are {', '.join(names)}"
        return Problem(f"sheets/{self.section}", what, "enter a size to buy with its price, or more sheets")

    def cut(self, plan: SheetPlan) -> list[CutSheet]:
        """The sheets of a plan by name, with the names of what comes from them."""
        names = [iter([name for name, count in blanks for _ in range(count)]) for blanks in self.blanks]
        supply = [
            iter([(sheet, n + 1) for sheet, count in sheets for n in range(count)]) for sheets in self.sheets
        ]
        found = []
        for cut, strips in sorted(plan, key=lambda sheet: (self.layout.kind[sheet[0]], sheet)):
            sheet, number = next(supply[self.layout.kind[cut]])
            laid, start = list[Strip](), self.saw.edge
            for strip in sorted(strips, key=lambda strip: (-strip[0], [-n for n in strip[1]])):
                laid.append(self._strip(strip, start, names, self.along[cut]))
                start += laid[-1].rise + self.saw.kerf
            along, kerf = self.along[cut], self.saw.kerf
            across, right = (sheet.width, sheet.length) if along else (sheet.length, sheet.width)
            rest = max(across - self.saw.edge - start, 0.0)
            kept = min(rest, right - 2 * self.saw.edge) >= max(self.saw.least, kerf, 1e-4)
            sides = (sheet.length, sheet.width, sheet.price)
            found.append(CutSheet(sheet.name, number, self.section, *sides, along, tuple(laid), rest, kept))
        return found

    def _strip(self, strip: StripCut, start: float, names: list[Iterator[str]], along: bool) -> Strip:
        rise, counts = strip
        at, kerf, laid = self.saw.edge, _steps(self.saw.kerf), list[Laid]()
        order = [way for way, count in enumerate(counts) for _ in range(count)]
        for way in sorted(order, key=lambda way: (-self.layout.rise[way], -self.layout.run[way], way)):
            run, high = (int(size[way]) - kerf for size in (self.layout.run, self.layout.rise))
            name = next(names[self.layout.blank[way]])
            laid.append(Laid(name, at, run / STEPS, high / STEPS, self.swapped[way] == along))
            at += run / STEPS + self.saw.kerf
        return Strip(start, (int(self.layout.rises[rise]) - kerf) / STEPS, tuple(laid))


@dataclass(frozen=True, slots=True)
class _Lie:
    """A way of laying a blank, in steps with one kerf; ``free`` where its direction does not matter."""

    blank: int
    run: int
    rise: int
    swapped: bool
    free: bool


@dataclass(frozen=True, slots=True)
class _Way:
    """A way of cutting a sheet: how long its strips may be and how wide together, in steps."""

    kind: int
    room: int
    stack: int
    along: bool


def _steps(length: float) -> int:
    return round(length * STEPS)


def _lies(sizes: Sequence[tuple[int, int, bool]], kerf: int) -> Iterator[_Lie]:
    """The ways to lay the blanks: length along the strip, and width along the strip; a square in one way only."""
    for number, (length, width, turn) in enumerate(sizes):
        square = length == width
        yield _Lie(number, length + kerf, width + kerf, False, turn or square)
        if not square:
            yield _Lie(number, width + kerf, length + kerf, True, turn)


def _cuts(kinds: Sequence[tuple[float, int, int]], more: int) -> Iterator[_Way]:
    """The ways to cut the sheets: strips along, and strips across."""
    for number, (_, length, width) in enumerate(kinds):
        yield _Way(number, length + more, width + more, True)
        yield _Way(number, width + more, length + more, False)


def _purchases(sheets: Sequence[CutSheet], metals: Mapping[str, PlateMetal]) -> tuple[SheetPurchase, ...]:
    """The sheets that are bought, by section and name."""
    found = []
    bought = sorted((s for s in sheets if s.price > 0), key=lambda s: (s.section, s.sheet))
    for (section, name), group in groupby(bought, lambda s: (s.section, s.sheet)):
        of_it = list(group)
        one, metal = of_it[0], metals.get(section)
        mass = None if metal is None else len(of_it) * metal.mass(one.length, one.width)
        found.append(SheetPurchase(name, section, one.length, one.width, len(of_it), one.price, mass))
    return tuple(found)


def mistakes(
    blanks: Sequence[Blank], sheets: Sequence[Sheet], saw: PlateSaw, metals: Mapping[str, PlateMetal]
) -> tuple[Problem, ...]:
    """All mistakes in what is given; none where a list can be tried."""
    found = [*_of_sizes("blanks", blanks), *_of_sizes("sheets", sheets), *_of_sheets(sheets)]
    widths = {"kerf": saw.kerf, "edge": saw.edge, "least": saw.least}
    slips = {field: width for field, width in widths.items() if not 0 <= width <= LARGEST}
    found += [Problem(f"saw/{field}", f"{width:g} mm", "give zero or more") for field, width in slips.items()]
    for section, metal in metals.items():
        if not (0 < metal.thickness < LARGEST and 0 < metal.density < LARGEST):
            found.append(Problem(f"metals/{section}", "thickness or density is not above zero", "give both"))
    if sum(blank.count for blank in blanks) > MOST_BLANKS:
        found.append(
            Problem("blanks", "too many for one list", f"make lists of {MOST_BLANKS} blanks or fewer")
        )
    return tuple(found or [*_too_large(blanks, sheets, saw)])


def _of_sizes(place: str, given: Sequence[Blank] | Sequence[Sheet]) -> Iterator[Problem]:
    for one in given:
        for field in ("length", "width"):
            size = getattr(one, field)
            if not (isfinite(size) and 0 < size <= LARGEST):
                remedy = f"give more than zero and no more than {LARGEST:g} mm"
                yield Problem(f"{place}/{one.name}/{field}", f"{size:g} mm", remedy)
        if one.count is not None and one.count < 0:
            yield Problem(f"{place}/{one.name}/count", f"{one.count}", "give zero or more")


def _of_sheets(sheets: Sequence[Sheet]) -> Iterator[Problem]:
    for sheet in sheets:
        if not (isfinite(sheet.price) and sheet.price >= 0):
            remedy = "give zero for your own sheets, or what one costs"
            yield Problem(f"sheets/{sheet.name}/price", f"{sheet.price:g}", remedy)
        if sheet.count is None and sheet.price == 0:
            what = "as many as needed, and no price"
            yield Problem(f"sheets/{sheet.name}/count", what, "say how many there are, or what one costs")
    names = [(sheet.section, sheet.name) for sheet in sheets]
    for section, name in sorted({pair for pair in names if names.count(pair) > 1}):
        remedy = "give each its own, so that it can be told which to cut"
        yield Problem(f"sheets/{name}", f"several entries of '{section}' have this name", remedy)


def _too_large(blanks: Sequence[Blank], sheets: Sequence[Sheet], saw: PlateSaw) -> Iterator[Problem]:
    """Blanks for which there is no sheet, or none large enough."""
    for blank in blanks:
        of_it = [sheet for sheet in sheets if sheet.section == blank.section and sheet.count != 0]
        if not blank.count or any(_fits(blank, sheet, saw) for sheet in of_it):
            continue
        if not of_it:
            what = f"there is no sheet of '{blank.section}'"
            remedy = "enter one that is in the rack, or a size that can be bought"
            yield Problem(f"blanks/{blank.name}/section", what, remedy)
            continue
        largest = max(of_it, key=lambda sheet: (sheet.length * sheet.width, sheet.name))
        what = (
            f"{blank.length:.6g} x {blank.width:.6g} mm fits no sheet of '{blank.section}': the largest is "
            f"'{largest.name}', {largest.length:.6g} x {largest.width:.6g} mm with {saw.edge:.6g} mm off each edge"
        )
        need = f"{blank.length + 2 * saw.edge:.6g} x {blank.width + 2 * saw.edge:.6g} mm"
        yield Problem(f"blanks/{blank.name}", what, f"get a sheet of {need} or larger, or make it of two")


def _fits(blank: Blank, sheet: Sheet, saw: PlateSaw) -> bool:
    long, wide = sheet.length - 2 * saw.edge + 1e-6, sheet.width - 2 * saw.edge + 1e-6
    as_it_lies = blank.length <= long and blank.width <= wide
    return as_it_lies or (blank.turn and blank.width <= long and blank.length <= wide)
