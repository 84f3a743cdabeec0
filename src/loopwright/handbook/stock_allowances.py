"""Stock to leave for the next cut, as the trade and its tables have it: ranges, each with its source.

These are the customary values, for a first plan and to hold a computed stock against. What a part needs follows
from its own size change, warp, skin and setups; that sum is not made here. Values are mm, on the diameter where
the name says so, else per side.
"""

from bisect import bisect_left
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band

Saw = Literal["bandsaw", "cold saw", "abrasive saw", "hacksaw"]

_INCH: Final = 25.4
_COMMON: Final = "common practice"


def _checked(what: str, value: float, most: float = float("inf")) -> float:
    if not 0 < value <= most:
        limit = "" if most == float("inf") else f" up to {most:g}"
        raise OutOfRange(f"{what} of {value:g} mm is outside this table, which holds over 0{limit} mm")
    return value


_HARDENED_ROUND: Final = ((25.0, 0.25, 0.30), (50.0, 0.30, 0.40), (100.0, 0.40, 0.50))
_LONG: Final = 10.0
_LONG_FACTOR: Final = 1.25


def cylindrical_grinding(diameter_mm: float, length_mm: float, *, hardened: bool = True) -> Band:
    """Stock on diameter for cylindrical grinding between centres.

    Args:
        diameter_mm: finished diameter, mm, over 0 up to 100.
        length_mm: length of the part, mm; over ten diameters a quarter more is left.
        hardened: after hardening; a part that stays soft needs 0.010 to 0.015 in, whatever its diameter.

    Returns:
        mm on diameter.

    Raises:
        OutOfRange: a diameter outside the table, or a length that is not over 0.

    Source: hardened, a table in the style of *Machinery's Handbook* (from memory); soft, a small-shop book
    (issuhub.com 4752, p. 40). Checked in tests/published/test_machining_allowances.py.

    >>> cylindrical_grinding(40, 60)[:2]
    (0.3, 0.4)
    """
    diameter = _checked("a diameter", diameter_mm, _HARDENED_ROUND[-1][0])
    long = _checked("a length", length_mm) > _LONG * diameter
    if hardened:
        _, low, high = next(row for row in _HARDENED_ROUND if diameter <= row[0])
        found = Band(low, high, "a table in the style of Machinery's Handbook, from memory")
    else:
        found = Band(0.010 * _INCH, 0.015 * _INCH, "issuhub.com 4752, p. 40, for the tool-post grinder")
    return found.times(_LONG_FACTOR) if long else found


def surface_grinding(length_mm: float, width_mm: float) -> Band:
    """Stock per side for grinding a face flat on a plate over 4 mm thick.

    The low end only cleans up a face that is already true; the high end is left on a plate that has been
    hardened or roughed.

    Args:
        length_mm: longest side, mm, over 0 up to 250.
        width_mm: the other side, mm; under 200, and not over the length.

    Returns:
        mm per side.

    Raises:
        OutOfRange: a plate outside the table.

    Source: high end, works standard EQY-19-1999 (3dportal.cn 88881, seen in part); low end, huyett.com,
    *Manufacturing process: grinding* (0.001 in under 4 in of length, 0.003 in over). Checked in
    tests/published/test_machining_allowances.py.

    >>> round(surface_grinding(80, 40).high, 2), round(surface_grinding(150, 40).high, 2)
    (0.3, 0.45)
    """
    length = _checked("a length", length_mm, 250)
    if not 0 < width_mm <= length or width_mm >= 200:
        raise OutOfRange(
            f"a width of {width_mm:g} mm on {length:g} mm is outside this table; give the longest side first, and "
            "a width under 200 mm"
        )
    high = 0.3 if length < 100 else 0.45
    low = (0.001 if length < 4 * _INCH else 0.003) * _INCH
    return Band(low, high, "least: huyett.com; most: works standard EQY-19-1999, seen in part")


def turn_before_grinding() -> Band:
    """Stock on diameter that turning leaves for the grinder on a part that stays soft.

    Source: small-shop book, 0.010 to 0.015 in (issuhub.com 4752, p. 40). Checked in
    tests/published/test_machining_allowances.py.

    >>> round(turn_before_grinding().low, 3)
    0.254
    """
    return Band(0.010 * _INCH, 0.015 * _INCH, "issuhub.com 4752, p. 40")


def rough_to_finish() -> Band:
    """Stock that rough turning or milling leaves for the finishing cut, on diameter or per face.

    The part cools before it is measured.

    Source: US Navy manual 14345, p. 160: about 1/32 in; the width of the range is common practice. Checked in
    tests/published/test_machining_allowances.py.

    >>> rough_to_finish().holds(25.4 / 32)
    True
    """
    return Band(0.6, 1.0, "US Navy manual 14345 p. 160: about 1/32 in; range common practice")


_REAM_ENDS_IN: Final = (0.125, 0.25, 0.5, 0.75, 1.0, 1.5)
_REAM_MACHINE_IN: Final = (
    (0.005, 0.008), (0.008, 0.012), (0.012, 0.016), (0.016, 0.020), (0.020, 0.025), (0.025, 0.031),
    (0.031, 0.040),
)  # fmt: skip
_REAM_HAND_IN: Final = (
    (0.003, 0.005), (0.004, 0.006), (0.005, 0.010), (0.008, 0.012), (0.010, 0.015), (0.012, 0.020),
    (0.012, 0.020),
)  # fmt: skip
_REAM_ENDS_MM: Final = (5.0, 20.0, 50.0)
_REAM_MM: Final = ((0.1, 0.2), (0.2, 0.3), (0.3, 0.5), (0.5, 1.0))
_REAM_MOST: Final = 100.0
_HAND_MOST: Final = 50.8


def reaming(diameter_mm: float, *, by_hand: bool = False) -> Band:
    """Stock on diameter for reaming.

    Too little and the reamer rubs, too much and it cuts oversize.

    Args:
        diameter_mm: finished hole, mm, over 0 up to 100, by hand up to 50.8.
        by_hand: with a hand reamer.

    Returns:
        mm on diameter, between the least and the greatest of the sources.

    Raises:
        OutOfRange: a hole outside the tables.

    Source: eventexam.blogspot.com, *Under sizes of reaming*; utilitiesbunker.com, *Reamer allowance chart*.
    Checked in tests/published/test_reaming_allowances.py.

    >>> found = reaming(10)
    >>> round(found.low, 2), round(found.high, 2)
    (0.2, 0.41)
    """
    size = _checked("a hole", diameter_mm, _HAND_MOST if by_hand else _REAM_MOST)
    inch_row = bisect_left(_REAM_ENDS_IN, size / _INCH - 1e-9)
    if by_hand:
        low, high = (v * _INCH for v in _REAM_HAND_IN[inch_row])
        return Band(low, high, "utilitiesbunker.com, hand reamers")
    inches, metric = _REAM_MACHINE_IN[inch_row], _REAM_MM[bisect_left(_REAM_ENDS_MM, size)]
    ends = [*(v * _INCH for v in inches), *metric]
    return Band(min(ends), max(ends), "eventexam.blogspot.com and utilitiesbunker.com, machine reamers")


def finish_boring(diameter_mm: float) -> Band:
    """Stock on diameter for the last cut of a boring tool.

    Args:
        diameter_mm: finished bore, mm, over 0 up to 150.

    Raises:
        OutOfRange: a bore outside the table.

    Source: common practice.

    >>> finish_boring(40)[:2]
    (0.2, 0.5)
    """
    size = _checked("a bore", diameter_mm, 150)
    return Band(0.2, 0.5, _COMMON) if size <= 50 else Band(0.3, 0.8, _COMMON)


def lapping() -> Band:
    """Stock per side for lapping a ground face.

    Source: curioustab.com 64578: 0.005 to 0.01 mm. Checked in tests/published/test_machining_allowances.py.

    >>> lapping()[:2]
    (0.005, 0.01)
    """
    return Band(0.005, 0.010, "curioustab.com 64578")


_WALL_ENDS_IN: Final = (0.125, 0.180, 0.230, 0.360, 0.460, 0.580)
# finished outside diameter up to, inches; least stock on diameter by wall, 0.001 in; '-' where the table is empty
_CENTRELESS: Final = """
3     12 14 16 20 22  -
4.75  16 18 20 22 24 26
6     18 20 22 24 26 28
7     20 22 24 26 28 30
8      - 24 26 27 28 31
10.5   -  - 26 28 30 32
12.5   -  - 28 30 32 34
14     -  - 30 32 34 36
15     -  - 33 35 36 37
"""


def centreless_grinding(diameter_mm: float, wall_mm: float) -> Band:
    """Least stock on diameter for centreless grinding of drawn tube.

    Args:
        diameter_mm: finished outside diameter, mm, over 0 up to 381.
        wall_mm: wall, mm, over 0 up to 14.7.

    Returns:
        A least value, so both ends are the same, mm on diameter; the tolerance of the tube comes on top.

    Raises:
        OutOfRange: a tube outside the table, or in one of its empty corners.

    Source: chicagotube.com, *Centerless grinding allowances*. Checked in
    tests/published/test_machining_allowances.py.

    >>> round(centreless_grinding(4.75 * 25.4, 0.44 * 25.4).low / 25.4, 3)
    0.024
    """
    rows = [line.split() for line in _CENTRELESS.strip().splitlines()]
    ends = [float(row[0]) for row in rows]
    size = _checked("a diameter", diameter_mm, ends[-1] * _INCH) / _INCH
    wall = _checked("a wall", wall_mm, _WALL_ENDS_IN[-1] * _INCH) / _INCH
    said = rows[bisect_left(ends, size - 1e-9)][1:][bisect_left(_WALL_ENDS_IN, wall - 1e-9)]
    if said == "-":
        raise OutOfRange(
            f"the table has no stock for a tube of {diameter_mm:g} mm with a wall of {wall_mm:g} mm; ask the grinder"
        )
    least = float(said) / 1000 * _INCH
    return Band(least, least, "chicagotube.com, centerless grinding allowances: least values")


_KERF: Final[Mapping[Saw, Band]] = MappingProxyType(
    {
        "bandsaw": Band(0.9, 1.6, _COMMON),
        "cold saw": Band(2.0, 3.0, _COMMON),
        "abrasive saw": Band(2.5, 3.5, _COMMON),
        "hacksaw": Band(1.0, 2.0, _COMMON),
    }
)


def saw_kerf(saw: Saw) -> Band:
    """Width of the cut of a saw, mm.

    Args:
        saw: 'bandsaw', 'cold saw', 'abrasive saw' or 'hacksaw'.

    Raises:
        OutOfRange: another saw.

    Source: common practice; measure one cut of your own blade.

    >>> saw_kerf("bandsaw")[:2]
    (0.9, 1.6)
    """
    found = _KERF.get(saw)
    if found is None:
        raise OutOfRange(f"no kerf of a '{saw}' here; use one of {', '.join(_KERF)}, or measure a cut")
    return found


def facing_a_sawn_end() -> Band:
    """Stock per sawn end for facing it square, mm.

    Source: common practice.

    >>> facing_a_sawn_end()[:2]
    (1.0, 3.0)
    """
    return Band(1.0, 3.0, _COMMON)


_SAWN_WIDTH: Final = (
    (2.0, 0.030, 0.065),
    (3.5, 0.030, 0.125),
    (5.0, 0.035, 0.125),
    (float("inf"), 0.035, 0.188),
)


def sawn_plate_oversize(width_mm: float) -> Band:
    """By how much a strip sawn from tool steel plate is wider than ordered, mm; never narrower.

    Args:
        width_mm: ordered width, mm, over 0.

    Raises:
        OutOfRange: a width that is not over 0.

    Source: peerlesssteel.com, *Tolerances*. Checked in tests/published/test_machining_allowances.py.

    >>> round(sawn_plate_oversize(40).high, 2)
    1.65
    """
    width = _checked("a width", width_mm, _SAWN_WIDTH[-1][0] * _INCH) / _INCH
    _, low, high = next(row for row in _SAWN_WIDTH if width <= row[0] + 1e-9)
    return Band(low * _INCH, high * _INCH, "Peerless Steel, plate saw cut width")
