"""Holes that are drilled for screws: tap drills, and clearance holes.

A drill cuts a hole a little larger than itself: reckon with a few hundredths of a millimetre, more with a drill
ground by hand. Soft metals close up when tapped, so that the minor diameter comes out smaller than the drill.
"""

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook import limits_and_fits
from loopwright.handbook.threads import limits, thread
from loopwright.handbook.threads_form import INCH, Thread
from loopwright.handbook.threads_tables import inches

Drills = Literal["metric", "inch"]
Fit = Literal["fine", "medium", "coarse"]

_FULL_THREAD: Final = 1.299038105676658
"""2 · 3/4 H over P: what the trade calls 100 % of thread, on the diameter."""

_NUMBERED: Final = """
.2280 .2210 .2130 .2090 .2055 .2040 .2010 .1990 .1960 .1935 .1910 .1890 .1850 .1820 .1800 .1770 .1730 .1695 .1660
.1610 .1590 .1570 .1540 .1520 .1495 .1470 .1440 .1405 .1360 .1285 .1200 .1160 .1130 .1110 .1100 .1065 .1040 .1015
.0995 .0980 .0960 .0935 .0890 .0860 .0820 .0810 .0785 .0760 .0730 .0700 .0670 .0635 .0595 .0550 .0520 .0465 .0430
.0420 .0410 .0400
"""
_LETTERED: Final = """
.234 .238 .242 .246 .250 .257 .261 .266 .272 .277 .281 .290 .295 .302 .316 .323 .332 .339 .348 .358 .368 .377 .386
.397 .404 .413
"""
_FRACTION_STEPS: Final = ((1.75, 64), (2.25, 32), (3.5, 16))
_METRIC_STEPS: Final = ((0.5, 3.0, 0.05), (3.1, 14.0, 0.1), (14.25, 32.0, 0.25), (32.5, 64.0, 0.5))

# nominal diameter, mm | fine medium coarse, mm
_ISO_273: Final = """
1.6 1.7 1.8 2
1.8 2   2.1 2.2
2   2.2 2.4 2.6
2.5 2.7 2.9 3.1
3   3.2 3.4 3.6
3.5 3.7 3.9 4.2
4   4.3 4.5 4.8
4.5 4.8 5   5.3
5   5.3 5.5 5.8
6   6.4 6.6 7
7   7.4 7.6 8
8   8.4 9   10
10  10.5 11 12
12  13 13.5 14.5
14  15 15.5 16.5
16  17 17.5 18.5
18  19 20 21
20  21 22 24
22  23 24 26
24  25 26 28
27  28 30 32
30  31 33 35
33  34 36 38
36  37 39 42
39  40 42 45
42  43 45 48
45  46 48 52
48  50 52 56
52  54 56 62
56  58 62 66
60  62 66 70
64  66 70 74
"""
# size | close normal loose, in
_B18_2_8: Final = """
#0 | .067 .076 .094
#1 | .081 .089 .104
#2 | .094 .102 .116
#3 | .106 .116 .128
#4 | .120 .128 .144
#5 | .141 .156 .172
#6 | .154 .170 .185
#8 | .180 .194 .213
#10 | .206 .221 .238
1/4 | .266 .281 .297
5/16 | .328 .344 .359
3/8 | .391 .406 .422
7/16 | .453 .469 .484
1/2 | .531 .562 .609
5/8 | .656 .688 .734
3/4 | .781 .812 .906
7/8 | .906 .938 1.031
1 | 1.031 1.094 1.156
1 1/8 | 1.156 1.219 1.312
1 1/4 | 1.281 1.344 1.438
1 3/8 | 1.438 1.500 1.609
1 1/2 | 1.562 1.625 1.734
"""
_FITS: Final[dict[str, Fit]] = {
    **{"fine": "fine", "medium": "medium", "coarse": "coarse"},
    **{"close": "fine", "normal": "medium", "loose": "coarse"},
}
_GRADES: Final[dict[Fit, str]] = {"fine": "H12", "medium": "H13", "coarse": "H14"}


class Drill(NamedTuple):
    """A standard drill.

    Attributes:
        name: '6.8 mm', '#7', 'F', '27/64'.
        diameter_mm: mm.
    """

    name: str
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class TapDrill:
    """The drill for a tapped hole.

    Attributes:
        thread: the thread.
        tolerance_class: class of the nut thread.
        drill: the drill.
        aim_mm: diameter that the rule asks for, mm.
        percent: what the drill leaves of 3/4 H, the trade's 100 % of thread.
        minor: limits of the minor diameter, mm.
        caution: '' when the drill lies within those limits, else what to do.
        source: the rule.
    """

    thread: Thread
    tolerance_class: str
    drill: Drill
    aim_mm: float
    percent: float
    minor: tuple[float, float]
    caution: str
    source: str

    @property
    def is_inside(self) -> bool:
        """The drill's own diameter lies within the limits of the minor diameter."""
        return self.minor[0] <= self.drill.diameter_mm <= self.minor[1]


@dataclass(frozen=True, slots=True)
class ClearanceHole:
    """The hole that a screw passes through.

    Attributes:
        fit: 'fine', 'medium' or 'coarse' ('close', 'normal', 'loose' in inches).
        diameter: (least, greatest), mm.
        grade: tolerance class of the hole, 'H12' to 'H14'.
        source: the standard.
    """

    fit: Fit
    diameter: tuple[float, float]
    grade: str
    source: str


def _metric_drills() -> tuple[Drill, ...]:
    sizes = [
        round(first + step * k, 2)
        for first, last, step in _METRIC_STEPS
        for k in range(round((last - first) / step) + 1)
    ]
    return tuple(Drill(f"{size:g} mm", size) for size in sizes)


def _fraction_drills() -> list[Drill]:
    found: dict[float, Drill] = {}
    for last, below in _FRACTION_STEPS:
        for above in range(1, round(last * below) + 1):
            if above / below > max(found, default=0.0):
                found[above / below] = Drill(_fraction(above, below), above / below * INCH)
    return list(found.values())


def _fraction(above: int, below: int) -> str:
    whole, above = divmod(above, below)
    while above and above % 2 == 0:
        above, below = above // 2, below // 2
    return " ".join(
        part for part in (str(whole) if whole else "", f"{above}/{below}" if above else "") if part
    )


def _inch_drills() -> tuple[Drill, ...]:
    numbered = [Drill(f"#{n}", float(size) * INCH) for n, size in enumerate(_NUMBERED.split(), 1)]
    lettered = [Drill(chr(65 + k), float(size) * INCH) for k, size in enumerate(_LETTERED.split())]
    return tuple(sorted([*numbered, *lettered, *_fraction_drills()], key=lambda drill: drill.diameter_mm))


METRIC_DRILLS: Final = _metric_drills()
"""0.5 to 64 mm: steps of 0.05 up to 3, 0.1 up to 14, 0.25 up to 32, 0.5 above (ISO 235, from memory; common stock)."""

INCH_DRILLS: Final = _inch_drills()
"""#60 to #1, A to Z, and fractions up to 3 1/2 in (ASME B94.11M, from memory)."""


def thread_percent(which: str | Thread, hole_mm: float) -> float:
    """How much of a full thread a hole leaves, %.

    Args:
        which: a thread, or its designation.
        hole_mm: diameter of the hole before tapping, mm.

    Returns:
        100 (d - hole) / (1.299 P). The basic profile of the nut, 5/8 H, is 83 %; d - P leaves 77 %.

    Source: the trade's measure, 3/4 H as 100 %; *Machinery's Handbook*, tap drill tables. Checked in
    tests/published/test_tap_drills.py.

    >>> round(thread_percent("1/4-20", 0.2010 * 25.4))
    75
    """
    found = thread(which) if isinstance(which, str) else which
    return 100 * (found.diameter_mm - hole_mm) / (_FULL_THREAD * found.pitch_mm)


def tap_drill(
    which: str | Thread,
    *,
    drills: Drills | None = None,
    percent: float | None = None,
    tolerance_class: str = "internal",
) -> TapDrill:
    """The standard drill for a tapped hole.

    The nearest drill to d - P (metric) or to 75 % of thread (Unified), among those that lie within the limits of the
    nut's minor diameter. Between two drills that lie equally near, metric: the even tenth, as ISO 2306 does.

    Args:
        which: a thread, or its designation.
        drills: 'metric' or 'inch'; None takes those of the thread's own system.
        percent: wanted percentage of thread, over 0 up to 100, instead of the rule; 55 to 65 is common in hard or
            tough material, where taps break.
        tolerance_class: of the nut; 'internal' is 6H or 2B.

    Returns:
        Drill, percentage, limits, and a caution when no standard drill lies within them.

    Raises:
        QuantityError, OutOfRange: as :func:`loopwright.handbook.threads.limits`; or a percentage beyond 0 to 100.

    Source: d - P, ISO 2306; 75 %, common practice. Checked in tests/published/test_tap_drills.py.

    >>> found = tap_drill("M8")
    >>> found.drill.name, round(found.percent), found.minor
    ('6.8 mm', 74, (6.647, 6.912))
    >>> tap_drill("#10-32").drill.name
    '#21'
    """
    found = thread(which) if isinstance(which, str) else which
    bounds = limits(found, tolerance_class)
    low, high = bounds.minor
    if bounds.external or low is None:
        remedy = "give the nut's class, as 6H or 2B"
        raise QuantityError(f"{tolerance_class} is a screw's class, and a tapped hole is a nut", remedy)
    aim, source = _aim(found, percent)
    metric = found.form == "M" if drills is None else drills == "metric"
    stock = METRIC_DRILLS if metric else INCH_DRILLS
    inside = [drill for drill in stock if low <= drill.diameter_mm <= high]
    chosen = min(inside or stock, key=lambda drill: _preference(drill, aim, metric))
    return TapDrill(
        thread=found,
        tolerance_class=bounds.tolerance_class,
        drill=chosen,
        aim_mm=aim,
        percent=thread_percent(found, chosen.diameter_mm),
        minor=(low, high),
        caution="" if inside else _caution(chosen, low, high, INCH_DRILLS if metric else METRIC_DRILLS),
        source=source,
    )


def clearance_hole(which: str | Thread, fit: str = "medium") -> ClearanceHole:
    """The hole that a screw passes through.

    Args:
        which: a thread, or its designation.
        fit: 'fine', 'medium', 'coarse'; or 'close', 'normal', 'loose', which mean the same.

    Returns:
        Limits, mm: the standard's least diameter, and the tolerance H12, H13 or H14 of ISO 286 on it. The printed
        upper limits of ASME B18.2.8 differ from that by up to 0.005 in.

    Raises:
        QuantityError: another fit.
        OutOfRange: a size the standard does not list.

    Source: ISO 273:1979 and ASME B18.2.8, both from memory in part. Checked in tests/published/test_iso_273.py and
    tests/published/test_asme_b18_2_8.py.

    >>> clearance_hole("M8").diameter
    (9.0, 9.22)
    """
    found = thread(which) if isinstance(which, str) else which
    name = _FITS.get(fit.strip().casefold())
    if name is None:
        remedy = "use fine, medium or coarse (close, normal or loose)"
        raise QuantityError(f"'{fit}' is not a fit of a clearance hole", remedy)
    table, source = (ISO_273, "ISO 273") if found.form == "M" else (B18_2_8, "ASME B18.2.8")
    row = table.get(round(found.diameter_mm, 6))
    if row is None:
        nearest = sorted(sorted(table, key=lambda d: abs(d - found.diameter_mm))[:2])
        listed = " and ".join(f"M{d:g}" if found.form == "M" else f"{d / INCH:g} in" for d in nearest)
        raise OutOfRange(
            f"{source} has no clearance hole for {found.name}; the nearest sizes it has are {listed}"
        )
    least = row[("fine", "medium", "coarse").index(name)]
    upper = limits_and_fits.limits(least, _GRADES[name])[1]
    return ClearanceHole(name, (least, round(least + upper, 6)), _GRADES[name], source)


def _aim(found: Thread, percent: float | None) -> tuple[float, str]:
    if percent is None and found.form == "M":
        return found.diameter_mm - found.pitch_mm, "d - P, ISO 2306"
    wanted = 75.0 if percent is None else percent
    if not 0 < wanted <= 100:
        raise OutOfRange(f"{wanted:g} % of thread is none; give over 0 up to 100, commonly 55 to 80")
    rule = "common practice" if percent is None else "as asked for"
    return found.diameter_mm - wanted / 100 * _FULL_THREAD * found.pitch_mm, f"{wanted:g} % of thread, {rule}"


def _caution(chosen: Drill, low: float, high: float, others: tuple[Drill, ...]) -> str:
    outside = max(low - chosen.diameter_mm, chosen.diameter_mm - high)
    fitting = [drill.name for drill in others if low <= drill.diameter_mm <= high]
    return (
        f"{chosen.name} lies {outside:.3f} mm outside the minor diameter, {low:.3f} to {high:.3f} mm: bore or ream "
        "to that" + (f", or drill {fitting[len(fitting) // 2]}" if fitting else "")
    )


def _preference(drill: Drill, aim: float, metric: bool) -> tuple[float, int, float]:
    odd_tenth = round(drill.diameter_mm * 10) % 2 if metric else 0
    return round(abs(drill.diameter_mm - aim), 6), odd_tenth, -drill.diameter_mm


def _iso_273() -> dict[float, tuple[float, ...]]:
    rows = ([float(cell) for cell in line.split()] for line in _ISO_273.strip().splitlines())
    return {row[0]: tuple(row[1:]) for row in rows}


def _b18_2_8() -> dict[float, tuple[float, ...]]:
    rows = (line.split("|") for line in _B18_2_8.strip().splitlines())
    return {
        round(inches(size.strip()) * INCH, 6): tuple(round(float(cell) * INCH, 6) for cell in cells.split())
        for size, cells in rows
    }


ISO_273: Final = _iso_273()
"""Least diameter of the fine, medium and coarse hole, mm, by nominal diameter of the screw, mm."""

B18_2_8: Final = _b18_2_8()
"""Least diameter of the close, normal and loose hole, mm, by basic diameter of the screw, mm."""
