"""How far a ball screw of a stated grade may be off, by ISO 3408-3 and JIS B 1192.

Words (ISO 3408-1): over the useful travel l_u the mean travel line may lie within ± e_p of the specified
travel at its end; v_u is the width of the band, parallel to the mean line, that holds the whole travel curve;
v_300 the same within any 300 mm; v_2π within one revolution.

Status of the numbers. JIS B 1192: C0 and C1 e_p and v_u, and C2, C3, C5 up to 800 mm, read in makers'
published selection tables (C3 and C5 ± e_p up to 1000 mm too); v_u over 800 mm, e_p of C3 and C5 over 1000
mm, v_300 and v_2π from memory. C7, C8 and C10 per 300 mm read. ISO 3408-3: from memory; its e_p columns equal
IT1, IT3 and IT5 of ISO 286 up to 3150 mm, and two values were found in print (v_300 of P3: 12 µm;
e_p of P3 at 900 mm: 21 µm). One maker's page gives 35 µm as the total error of P5 at 900 mm, where the table
gives 40. The rule for class T is from memory. Check the standard before rejecting a bought screw on these
numbers.
"""

from bisect import bisect_left
from dataclasses import dataclass
from typing import Final

from loopwright.errors import OutOfRange

_JIS: Final = "JIS B 1192"
_ISO: Final = "ISO 3408-3:2006"
_READ: Final = "read in makers' published selection tables"

_JIS_ENDS: Final = (100, 200, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000)
_ISO_ENDS: Final = (315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000)


def _rows(text: str) -> tuple[tuple[float, float], ...]:
    pairs = (cell.split("/") for cell in text.split())
    return tuple((float(e_p), float(v_u)) for e_p, v_u in pairs)


# e_p/v_u, µm, by step of travel
_JIS_TABLE: Final = {
    "C0": _rows("3/3 3.5/3 4/3.5 5/3.5 6/4 6/4 7/5 8/6 9/6 11/7"),
    "C1": _rows("3.5/5 4.5/5 6/5 7/5 8/5 9/6 10/7 11/8 13/9 15/10 18/11 22/13 26/15 30/18"),
    "C2": _rows("5/7 7/7 8/7 9/7 10/7 11/8 13/9"),
    "C3": _rows("8/8 10/8 12/8 13/10 15/10 16/12 18/13 21/15 24/16 29/19"),
    "C5": _rows("18/18 20/18 23/18 25/20 27/20 30/23 35/25 40/27 46/30 54/35"),
}
_ISO_TABLE: Final = {
    "P1": _rows("6/6 7/6 8/7 9/7 10/8 11/9 13/10 15/11 18/13 22/15 26/17 32/21"),
    "P3": _rows("12/12 13/12 15/13 16/14 18/16 21/17 24/19 29/22 35/25 41/29 50/34 62/41"),
    "P5": _rows("23/23 25/25 27/26 32/29 36/31 40/34 47/39 55/44 65/51 78/59 96/69 115/82"),
}

# v_300 and v_2π, µm
_JIS_300_AND_REVOLUTION: Final = {"C0": (3.5, 3), "C1": (5, 4), "C2": (7, 5), "C3": (8, 6), "C5": (18, 8)}
_ISO_300_AND_REVOLUTION: Final = {"P1": (6, 4), "P3": (12, 6), "P5": (23, 8)}
# travel deviation per 300 mm, and v_300, µm
_JIS_PER_300: Final = {"C7": 50, "C8": 100, "C10": 210}
_TRANSPORT_300: Final = {"T1": 6, "T3": 12, "T5": 23, "T7": 52, "T9": 130, "T10": 210}

GRADES: Final = (*_JIS_TABLE, *_JIS_PER_300, *_ISO_TABLE, *_TRANSPORT_300)
"""Every grade that :func:`lead_error` knows."""


@dataclass(frozen=True, slots=True)
class LeadError:
    """What a grade allows over one useful travel. None where the standard sets no limit.

    Attributes:
        grade: 'C5', 'P3', 'T7' ...
        useful_travel_mm: l_u, mm.
        travel_deviation: e_p: the mean travel at the end of l_u lies within ± this, mm.
        bandwidth_travel: v_u over the useful travel, whole width, mm; None for class T and for C7, C8, C10.
        bandwidth_300: v_300 within any 300 mm, whole width, mm; None for C7, C8, C10.
        bandwidth_revolution: v_2π within one revolution, whole width, mm; None for class T and for C7, C8,
            C10.
        standard: the standard.
        source: how these numbers are known.
    """

    grade: str
    useful_travel_mm: float
    travel_deviation: float
    bandwidth_travel: float | None
    bandwidth_300: float | None
    bandwidth_revolution: float | None
    standard: str
    source: str


def lead_error(grade: str, useful_travel_mm: float) -> LeadError:
    """Permissible travel deviation and variation of a ball screw.

    Class T: e_p = 2 (l_u / 300) v_300. C7, C8 and C10 are given per 300 mm and grow with the travel; a
    shorter travel is allowed as much as 300 mm.

    Args:
        grade: 'C0' to 'C5', 'C7', 'C8', 'C10' (JIS B 1192); 'P1', 'P3', 'P5', 'T1' to 'T10' (ISO 3408-3).
        useful_travel_mm: useful travel (JIS: effective thread length), mm.

    Returns:
        The limits, mm.

    Raises:
        OutOfRange: unknown grade, or a travel beyond the end of its table.

    Source: JIS B 1192, ISO 3408-3:2006; status of each column in the module's description.
    Checked in tests/published/test_jis_b_1192.py and tests/published/test_iso_3408_3.py.

    >>> found = lead_error("C5", 400)
    >>> found.travel_deviation, found.bandwidth_travel
    (0.025, 0.02)
    """
    name, travel = grade.strip().upper(), useful_travel_mm
    if not 0 < travel < float("inf"):
        raise OutOfRange(f"a useful travel of {travel:g} mm is not a travel; give millimetres over 0")
    if name in _JIS_TABLE:
        row = _row(name, travel, _JIS_ENDS, _JIS_TABLE[name], _JIS)
        return _limits(name, travel, row, _JIS_300_AND_REVOLUTION[name], _JIS, _jis_source(name, travel))
    if name in _ISO_TABLE:
        row = _row(name, travel, _ISO_ENDS, _ISO_TABLE[name], _ISO)
        return _limits(name, travel, row, _ISO_300_AND_REVOLUTION[name], _ISO, "from memory")
    if name in _JIS_PER_300:
        e_p = _JIS_PER_300[name] * max(travel / 300, 1.0)
        return LeadError(name, travel, e_p / 1000, None, None, None, _JIS, f"{_READ}; growth from memory")
    if name in _TRANSPORT_300:
        v_300 = _TRANSPORT_300[name] / 1000
        return LeadError(name, travel, 2 * travel / 300 * v_300, None, v_300, None, _ISO, "from memory")
    raise OutOfRange(_unknown(grade, name))


def _unknown(grade: str, name: str) -> str:
    if name in ("P0", "P2", "P4", "P7", "P9", "P10"):
        return f"the travel deviation of grade '{grade}' is not known here; use P1, P3, P5 or a T grade"
    return f"'{grade}' is not a ball screw grade known here; use one of {', '.join(GRADES)}"


def _jis_source(name: str, travel: float) -> str:
    if travel <= 800:
        return f"e_p and v_u {_READ}; v_300 and v_2π from memory"
    if name in ("C0", "C1") or travel <= 1000:
        return f"e_p {_READ}; v_u, v_300 and v_2π from memory"
    return "from memory"


def _row(
    grade: str, travel: float, ends: tuple[int, ...], rows: tuple[tuple[float, float], ...], standard: str
) -> tuple[float, float]:
    step = bisect_left(ends, travel)
    if step >= len(rows):
        longest = ends[len(rows) - 1]
        raise OutOfRange(
            f"{standard} grade {grade} ends here at {longest} mm; for {travel:g} mm ask the maker"
        )
    return rows[step]


def _limits(
    grade: str,
    travel: float,
    over_travel: tuple[float, float],
    within: tuple[float, float],
    standard: str,
    source: str,
) -> LeadError:
    e_p, v_u, v_300, v_revolution = (um / 1000 for um in (*over_travel, *within))
    return LeadError(grade, travel, e_p, v_u, v_300, v_revolution, standard, source)
