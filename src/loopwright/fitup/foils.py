"""Shims laid up from a stock of foils, and the spacer to grind where no foils come near enough."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, groupby
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.fitup.nearest import (
    Array,
    Bools,
    Cancel,
    Effort,
    Nearest,
    Picks,
    Progress,
    not_negative,
    numbers,
)
from loopwright.fitup.settings import SLACK
from loopwright.units import Dimension, format_value

Counts = NDArray[np.int64]

MOST_OPTIONS = 300_000
MOST_NODES = 10_000_000
"""Partial choices that a search may look at: some seconds."""
SAME_SUM = 1e-9
"""Sums that differ by less are the same thickness, mm."""
FOIL = 1e-6
"""A pack with one foil more has to be nearer by this in the square, mm."""


@dataclass(frozen=True)
class Sheet:
    """A sheet in stock from which foils are cut.

    Attributes:
        thickness: mm, above zero.
        uncertainty: standard uncertainty of it, mm. All foils of one sheet share it.
        count: how many foils it gives.
    """

    thickness: float
    uncertainty: float
    count: int


@dataclass(frozen=True)
class Pack:
    """Foils laid together.

    Attributes:
        sheets: which sheet each foil is from, as places in the stock, the thickest foil first; empty for no foil.
        foils: their thicknesses, mm.
        thickness: their sum, mm.
        miss: thickness less what was wanted, mm.
        uncertainty: standard uncertainty of the thickness, mm.
        nearest: least miss, as a size, that the stock allows for this pack by itself, mm.
    """

    sheets: tuple[int, ...]
    foils: tuple[float, ...]
    thickness: float
    miss: float
    uncertainty: float
    nearest: float


@dataclass(frozen=True)
class Packs:
    """Packs that together miss least.

    Attributes:
        packs: one for each wanted thickness.
        covariance: of the thicknesses, (k, k), mm²; foils of one sheet in two packs make them go together.
        left: what the misses come to at the tool, (rows,), mm; the misses themselves where no effect was given.
        proven: no other packs miss less.
        remedies: what to do where the tolerance is not met; empty where it is, or where none was given.
    """

    packs: tuple[Pack, ...]
    covariance: Array
    left: Array
    proven: bool
    remedies: tuple[str, ...]


@dataclass(frozen=True)
class _Options:
    """Every pack worth thinking of: foils of each sheet (n, sheets), thickness (n,), foils (n,)."""

    uses: Counts
    sums: Array

    @property
    def foils(self) -> Counts:
        return np.asarray(self.uses.sum(axis=1))


def best_packs(
    wanted: ArrayLike,
    stock: Sequence[Sheet],
    *,
    most: int = 3,
    tolerance: float | None = None,
    effect: ArrayLike | None = None,
    unit: str = "mm",
    node_limit: int = MOST_NODES,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
) -> Packs:
    """Packs of foils that together come nearest to the wanted thicknesses, from what there is.

    Every combination is accounted for. Of packs that do the same, those with the fewest foils are taken, then
    those that are known best. A pack may be empty.

    Args:
        wanted: thicknesses, (k,), mm, none below zero.
        stock: the sheets.
        most: foils in a pack at the most.
        tolerance: largest miss that will do, mm; with an effect, largest row of the error that the misses make.
        effect: B, what a unit of each pack does to the error, (..., k); then the square of B times the misses is
            made least, instead of the square of the misses.
        unit: unit of length for the remedies.
        node_limit: partial choices that the search may look at; then the best so far is given, as not proven.
        progress: called with the partial choices looked at, and their limit.
        cancel: asked now and then; True stops.

    Returns:
        The packs.

    Raises:
        RequestError: thicknesses below zero, an empty sheet, too many combinations, shapes that differ.
        Cancelled: ``cancel`` said so.

    Foils are taken to lie flat; burrs and dirt are left out. Three foils at the most is common practice.

    Source: enumeration. Uncertainty: JCGM 100:2008, 5.1.2 (10) between sheets, and 5.2.2, note 1, within one,
        where the foils share one error. From memory.

    >>> plan = best_packs([0.13], [Sheet(0.05, 0.001, 4), Sheet(0.03, 0.001, 1), Sheet(0.1, 0.002, 2)])
    >>> print(plan.packs[0].foils, round(plan.packs[0].uncertainty, 5))
    (0.1, 0.03) 0.00224
    """
    goal = not_negative(wanted, "the wanted thickness")
    goal = numbers(goal, "the wanted thickness", (goal.size,))
    if not len(goal):
        raise RequestError("no thickness is wanted", "give one for each pack")
    counts = _checked(stock, most)
    options = _options(stock, counts, most, len(goal))
    matrix = None if effect is None else numbers(effect, "the effect of the packs")
    if matrix is not None and (matrix.ndim < 2 or matrix.shape[-1] != len(goal)):
        raise RequestError(f"the effect has the shape {matrix.shape}", f"give it as (rows, {len(goal)})")
    matrix = None if matrix is None else matrix.reshape(-1, len(goal))
    search = _search(goal, options, stock, counts, matrix)
    proven = search.search(Effort(node_limit=node_limit, progress=progress, cancel=cancel))
    assert search.picks is not None
    chosen = options.uses[search.picks]
    packs = tuple(_pack(row, want, options, stock) for row, want in zip(chosen, goal))
    uncertainty = np.array([sheet.uncertainty for sheet in stock])
    miss = np.array([pack.miss for pack in packs])
    left = miss if matrix is None else matrix @ miss
    remedies = (
        () if tolerance is None else _remedies(packs, goal, left, (tolerance, most, unit), matrix is None)
    )
    return Packs(packs, (chosen * uncertainty**2) @ chosen.T, left, proven, remedies)


def _checked(stock: Sequence[Sheet], most: int) -> Counts:
    """Foils of each sheet, (sheets,)."""
    for number, sheet in enumerate(stock, 1):
        if not (0 < sheet.thickness < np.inf and 0 <= sheet.uncertainty < np.inf and sheet.count >= 0):
            raise RequestError(
                f"sheet {number} is {sheet.thickness:g} mm ± {sheet.uncertainty:g} mm, {sheet.count} foils",
                "give a thickness above zero, and an uncertainty and a count of zero or more",
            )
    if most < 1:
        raise RequestError(f"a pack of {most} foils", "allow one foil at the least")
    if comb(len(stock) + most, most) > MOST_OPTIONS:
        raise RequestError(
            f"{len(stock)} sheets and up to {most} foils make too many packs", "allow fewer foils in a pack"
        )
    return np.array([sheet.count for sheet in stock], np.int64)


def _options(stock: Sequence[Sheet], counts: Counts, most: int, packs: int) -> _Options:
    """Packs that the stock allows; of those with one sum, those that another does not make needless."""
    sheets = len(stock)
    uses = [np.zeros((1, sheets), np.int64)]
    for foils in range(1, most + 1):
        picks = np.array(list(combinations_with_replacement(range(sheets), foils)), np.int64)
        rows = np.zeros((len(picks), sheets), np.int64)
        for column in picks.reshape(-1, foils).T:
            rows[np.arange(len(rows)), column] += 1
        uses.append(rows[(rows <= counts).all(axis=1)])
    every = np.concatenate(uses)
    sums = every @ np.array([sheet.thickness for sheet in stock])
    variances = every**2 @ np.array([sheet.uncertainty**2 for sheet in stock])
    same = np.round(sums / SAME_SUM)
    order = np.lexsort((variances, every.sum(axis=1), same))
    scarce = counts < most * packs
    keep: list[int] = []
    for _, group in groupby(order, key=lambda i: same[i]):
        kept: list[int] = []
        for i in group:
            if not any((every[j][scarce] <= every[i][scarce]).all() for j in kept):
                kept.append(int(i))
        keep += kept
    return _Options(every[keep], sums[keep])


def _search(
    wanted: Array, options: _Options, stock: Sequence[Sheet], counts: Counts, effect: Array | None
) -> Nearest:
    """The search, with the best that is left for one pack after the other to begin with."""
    packs = len(wanted)
    misses = [options.sums - want for want in wanted]
    spread = np.sqrt(options.uses**2 @ np.array([sheet.uncertainty**2 for sheet in stock]))
    ties = FOIL**2 * (options.foils + 1e-3 * spread / (spread.max() or 1.0))
    if effect is None:
        triangle, extra = np.zeros((packs, packs)), [miss**2 + ties for miss in misses]
    else:
        size = float(np.linalg.norm(effect)) or 1.0
        triangle = np.linalg.qr(np.vstack([effect, SLACK * size * np.eye(packs)])).R
        extra = [size**2 * ties] * packs

    scarce = packs * options.uses.max(axis=0, initial=0) > counts
    uses, most = options.uses[:, scarce].astype(np.int16), counts[scarce]

    def in_stock(picks: Picks, first: int) -> Bools:
        return np.asarray((uses[picks[:, first:]].sum(axis=1) <= most).all(axis=1))

    search = Nearest(triangle, np.zeros(packs), misses, extra, allowed=in_stock if scarce.any() else None)
    left, picks = counts.copy(), np.zeros(packs, np.int64)
    for j in range(packs):
        possible = (options.uses <= left).all(axis=1)
        picks[j] = np.where(possible, misses[j] ** 2, np.inf).argmin()
        left -= options.uses[picks[j]]
    miss = triangle @ np.array([m[i] for m, i in zip(misses, picks)])
    search.picks, search.cost = picks, float(miss @ miss) + sum(float(e[i]) for e, i in zip(extra, picks))
    return search


def _pack(row: Counts, want: float, options: _Options, stock: Sequence[Sheet]) -> Pack:
    sheets = sorted(np.repeat(np.arange(len(row)), row).tolist(), key=lambda i: -stock[i].thickness)
    foils = tuple(stock[i].thickness for i in sheets)
    variance = sum((int(n) * sheet.uncertainty) ** 2 for n, sheet in zip(row, stock))
    nearest = float(np.abs(options.sums - want).min())
    thickness = float(sum(foils))
    return Pack(tuple(sheets), foils, thickness, float(thickness - want), float(np.sqrt(variance)), nearest)


def _remedies(
    packs: tuple[Pack, ...], wanted: Array, left: Array, rule: tuple[float, int, str], each: bool
) -> tuple[str, ...]:
    tolerance, most, unit = rule
    limit = tolerance + SAME_SUM

    def text(length: float) -> str:
        return format_value(length, Dimension.LENGTH, unit, digits=3)

    def exact(length: float) -> str:
        return format_value(length, Dimension.LENGTH, unit, uncertainty=tolerance / 2 or None)

    if not each:
        worst = float(np.abs(left).max())
        if worst <= limit:
            return ()
        sizes = ", ".join(exact(want) for want in wanted if want > SAME_SUM)
        return (f"no packs come nearer than {text(worst)} at the tool; grind spacers to {sizes}",)
    found = []
    for number, (pack, want) in enumerate(zip(packs, wanted), 1):
        if pack.nearest > limit:
            what = "single foil" if most == 1 else f"pack of up to {most} foils"
            found.append(
                f"pack {number}: no {what} comes nearer than {text(pack.nearest)}; grind a spacer to {exact(want)}"
            )
        elif abs(pack.miss) > limit:
            found.append(
                f"pack {number}: the other packs need the foils, and it stays {text(abs(pack.miss))} off; "
                f"get more foils, or grind a spacer to {exact(want)}"
            )
    return tuple(found)


@dataclass(frozen=True)
class Spacer:
    """A spacer to be ground.

    Attributes:
        size: to grind it to, mm.
        miss: size less what was wanted, mm.
        grind_off: from the thinnest and from the thickest that the blank may be, mm; below zero where it is too thin.
        possible: whether the blank, whatever it is within its range, can be ground to the size.
        remedy: what to do where it cannot; '' where it can.
    """

    size: float
    miss: float
    grind_off: tuple[float, float]
    possible: bool
    remedy: str


def spacer(
    wanted: float,
    blank: tuple[float, float],
    *,
    increment: float = 0.0,
    thinnest: float = 0.0,
    least_cut: float = 0.0,
    unit: str = "mm",
) -> Spacer:
    """The size to grind a spacer to, and whether its blank will do.

    Args:
        wanted: thickness that would be right, mm.
        blank: least and greatest thickness that the blank may have, mm; twice the same where it has been measured.
        increment: sizes are ground to multiples of it, mm; 0 for any size.
        thinnest: least thickness that can be ground, mm: what the chuck holds without bowing it or letting it fly.
        least_cut: least that has to come off for the face to clean up, mm. A blank within half an increment of the
            size is used as it is.
        unit: unit of length for the remedy.

    Returns:
        Size, what comes off, and a remedy.

    Raises:
        RequestError: numbers below zero or that are no numbers, a blank whose range is empty.

    >>> spacer(11.9634, (12.10, 12.15), increment=0.005, least_cut=0.05).size
    11.965
    >>> print(spacer(12.0, (11.9, 11.9), unit="mm").remedy)
    the blank is 0.1 mm too thin; take a blank of at least 12 mm, or make up 0.1 mm with foil
    """
    not_negative([wanted, *blank, increment, thinnest, least_cut], "the spacer")
    low, high = blank
    if low > high:
        raise RequestError(
            f"the blank's range, {low:g} to {high:g} mm, is empty", "give its least thickness first"
        )

    size = max(wanted, thinnest)
    if increment:
        steps = max(np.round(size / increment), np.ceil(thinnest / increment - SAME_SUM))
        size = float(np.round(steps * increment, 12))
    off = (low - size, high - size)
    remedy = _spacer_remedy(wanted, size, off, (increment, thinnest, least_cut), unit)
    return Spacer(size, size - wanted, off, not remedy, remedy)


def _spacer_remedy(
    wanted: float, size: float, off: tuple[float, float], rules: tuple[float, float, float], unit: str
) -> str:
    """What to do where the blank or the grinder cannot; '' where they can."""
    increment, thinnest, least_cut = rules

    def text(length: float) -> str:
        # no blank is known to less than a tenth of a micrometre
        return format_value(round(length, 4), Dimension.LENGTH, unit, digits=6)

    take = f"take a blank of at least {text(size + least_cut)}"
    if wanted < thinnest - SAME_SUM:
        return (
            f"{text(wanted)} cannot be ground, {text(thinnest)} is the thinnest; "
            f"take {text(thinnest - wanted)} off a face it touches, or use foils"
        )
    if all(abs(x) <= increment / 2 + SAME_SUM for x in off):
        return ""
    if off[0] < -SAME_SUM:
        may, short = "is" if off[1] < 0 or off[0] == off[1] else "may be", text(-off[0])
        return f"the blank {may} {short} too thin; {take}, or make up {short} with foil"
    if off[0] < least_cut - SAME_SUM:
        return f"only {text(max(off[0], 0.0))} would come off, and it takes {text(least_cut)} to clean up; {take}"
    return ""
