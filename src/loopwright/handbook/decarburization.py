"""The skin without carbon: on the bar as it is bought, and from the shop's own furnace.

A hot rolled bar has lost carbon near its surface and does not harden there. So much of each side has to come
off before hardening; bar sold free of decarburised skin is rolled oversize and turned or milled for you. A
second skin comes from heating for hardening without protection, and that one the grinding has to take off.
"""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band

Shape = Literal["round", "flat"]
Protection = Literal["vacuum or gas", "foil or pack", "coating", "none"]

_INCH: Final = 25.4
_DECARBURISED_SHARE: Final = 0.8

_ENDS: Final = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0)
# thickness step (upper end, inches; the last up to 10); A and B of each width step from that thickness on, 0.001 in
_ROLLED: Final = """
0.5  A  25  25  30  35  40  45  50  55  60  60  60
0.5  B  25  36  44  56  68  92 104 120 136 144 152
1    A  45  45  50  55  60  70  70  75  75  75
1    B  45  52  64  80 104 120 136 160 160 160
2    A  65  65  70  70  75  75  90  95 100
2    B  65  75  84 112 124 144 168 180 180
3    A  85  85  85  85  90 100 100 100
3    B  85 102 120 136 160 180 190 190
4    A 115 115 115 115 125 125 125
4    B 115 127 140 180 190 190 190
5    A 150 150 150 150 150 150
5    B 150 165 180 190 190 190
6    A 190 190 190 190 190
6    B 190 190 190 190 190
10   A 250 250 250 250
10   B 250 250 250 250
"""
_ROLLED_SOURCE: Final = (
    "Diehl Steel, hot rolled square and flat bars, in the scheme of ASTM A681; its row A read as on the "
    "thickness and row B as on the width"
)

# finished size under (round) in inches, oversize, tolerance above it, inches
_FREE_ROUND: Final = (
    (0.25, 1.5, 0.010, 0.005),
    (1.5, 3.0625, 0.020, 0.015),
    (3.0625, 4.0625, 0.040, 0.020),
    (4.0625, 5.0, 0.065, 0.020),
    (5.0, 7.0625, 0.084, 0.030),
    (7.0625, 12.0625, 0.105, 0.040),
)
_FREE_SOURCE: Final = "Peerless Steel, tolerances of bar finished free of decarburised skin"


def _rows() -> dict[tuple[float, str], tuple[float, ...]]:
    words = [line.split() for line in _ROLLED.strip().splitlines()]
    return {(float(w[0]), w[1]): tuple(float(v) / 1000 * _INCH for v in w[2:]) for w in words}


_ALLOWANCE: Final = _rows()
_THICK_ENDS: Final = tuple(dict.fromkeys(end for end, _ in _ALLOWANCE))


@dataclass(frozen=True, slots=True)
class RolledAllowance:
    """What has to come off a hot rolled bar before hardening, mm per side.

    Attributes:
        on_thickness: off each wide face.
        on_width: off each narrow edge.
        skin_on_thickness: greatest depth of the decarburised skin under a wide face: 80 % of the allowance.
        skin_on_width: the same under a narrow edge.
        source: where it was read.
    """

    on_thickness: float
    on_width: float
    skin_on_thickness: float
    skin_on_width: float
    source: str


def rolled_allowance(thickness_mm: float, width_mm: float) -> RolledAllowance:
    """Machining allowance and greatest decarburised skin of hot rolled flat and square tool steel bar.

    Args:
        thickness_mm: ordered thickness, mm, over 0 up to 254.
        width_mm: ordered width, mm, at least the thickness and up to 254.

    Returns:
        Allowances and skins, mm per side.

    Raises:
        OutOfRange: a width under the thickness, or a bar beyond 10 in; rounds are not in this table.

    Source: diehlsteel.com, *Machining and decarburization limits*. Checked in
    tests/published/test_decarburization_allowance.py.

    >>> found = rolled_allowance(20, 50)
    >>> round(found.on_thickness, 2), round(found.on_width, 2), round(found.skin_on_width, 2)
    (1.14, 1.32, 1.06)
    """
    if not 0 < thickness_mm <= width_mm:
        raise OutOfRange(
            f"{thickness_mm:g} by {width_mm:g} mm: give the thickness first, then the greater width"
        )
    if width_mm > _ENDS[-1] * _INCH + 1e-9:
        raise OutOfRange(
            f"a bar {width_mm:g} mm wide is beyond the table of hot rolled bar, which ends at 254 mm; "
            "ask the mill for its allowance"
        )
    thick, wide = (bisect_left(ends, v / _INCH - 1e-9) for ends, v in _pairs(thickness_mm, width_mm))
    end = _THICK_ENDS[thick]
    column = wide - (len(_ENDS) - len(_ALLOWANCE[end, "A"]))
    a, b = _ALLOWANCE[end, "A"][column], _ALLOWANCE[end, "B"][column]
    return RolledAllowance(a, b, _DECARBURISED_SHARE * a, _DECARBURISED_SHARE * b, _ROLLED_SOURCE)


def _pairs(thickness_mm: float, width_mm: float) -> tuple[tuple[tuple[float, ...], float], ...]:
    return (_THICK_ENDS, thickness_mm), (_ENDS, width_mm)


def oversize_of_clean_bar(shape: Shape, size_mm: float) -> Band:
    """By how much bar that is sold free of decarburised skin is over its ordered size, mm.

    Args:
        shape: 'round' (on the diameter) or 'flat' (on the thickness, squares too).
        size_mm: ordered diameter or thickness, mm.

    Returns:
        Oversize, mm on the whole size. Nothing has to come off for decarburisation.

    Raises:
        OutOfRange: a round beyond the table, 6.35 to 306 mm; a thickness that is not over 0; another shape.

    Source: peerlesssteel.com, *Tolerances*. Checked in tests/published/test_decarburization_allowance.py.

    >>> low, high, _ = oversize_of_clean_bar("round", 25)
    >>> round(low, 3), round(high, 3)
    (0.254, 0.381)
    """
    inches = size_mm / _INCH
    if shape == "flat" and 0 < inches < float("inf"):
        return Band(0.015 * _INCH, 0.035 * _INCH, _FREE_SOURCE)
    if shape == "round":
        for low, under, oversize, above in _FREE_ROUND:
            if low - 1e-9 <= inches < under - 1e-9:
                return Band(oversize * _INCH, (oversize + above) * _INCH, _FREE_SOURCE)
    raise OutOfRange(
        f"no oversize of clean {shape} bar of {size_mm:g} mm here; the table has 'round' from 6.35 to under 306 mm "
        "and 'flat'"
    )


_FURNACE: Final[Mapping[Protection, Band]] = MappingProxyType(
    {
        "vacuum or gas": Band(0.0, 0.02, "common practice"),
        "foil or pack": Band(0.0, 0.05, "common practice"),
        "coating": Band(0.02, 0.10, "common practice"),
        "none": Band(0.05, 0.25, "common practice"),
    }
)


def furnace_skin(protection: Protection) -> Band:
    """Decarburised and scaled skin from heating for hardening, mm per side, for the grinding to take off.

    Args:
        protection: 'vacuum or gas', 'foil or pack' (stainless foil, or packed in a spent carbon compound),
            'coating' (a paint against scale) or 'none'.

    Raises:
        OutOfRange: another protection.

    Source: common practice; it grows with the time at heat. A file that bites on the corner of the hardened
    part shows it.

    >>> furnace_skin("none").high
    0.25
    """
    found = _FURNACE.get(protection)
    if found is None:
        raise OutOfRange(f"no protection '{protection}' here; use one of {', '.join(_FURNACE)}")
    return found
