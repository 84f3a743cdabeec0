"""Limits of size of Unified threads (ASME B1.1), classes 1A to 3B, computed step by step as the standard does.

Steps and rounding, inches throughout. Pitch P to 8 places. Tolerance of the pitch diameter, class 2A,

    Td2 = 0.0015 D^1/3 + 0.0015 LE^1/2 + 0.015 P^2/3,

with the length of engagement LE = D for UNC and UNF and 9 P for UNEF; times 1.5 (1A), 0.75 (3A), 1.95 (1B), 1.3
(2B), 0.975 (3B), then to 6 places. Allowance 0.3 Td2 to 4 places, classes 1A and 2A. Major diameter of a screw:
0.06 P^2/3 (2A, 3A), 0.09 P^2/3 (1A). Minor diameter of a nut: see ``_minor_tolerance``. Limits to 4 places; the
minor diameter of a nut from #6 (0.138 in) up to 3 places, where class 3B keeps four for its greatest. A lone
five goes to the even neighbour.

Where steps and printed tables part, the tables are followed as far as they were found:

* basic minor diameter and TD1 are each rounded to four places before they are added and rounded on. ASME B1.30
  rounds at once, which differs in four limits of class 2B: #10-24 and 7/8-14 greatest, 1 3/4-5 both;
* the allowance of 5/8-11 UNC is 0.0016 in (0.3 Td2 is 0.00165), that of #12-32 UNEF 0.0009;
* other UNEF limits are printed up to 0.0001 in otherwise, because the tables take the diameter in steps;
* the greatest minor diameter of the UNR form is a reference value, printed up to 0.0001 in otherwise.
"""

import re
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook.threads_form import INCH, Thread, ThreadLimits
from loopwright.handbook.threads_tables import UnifiedSize

SOURCE: Final = "ASME B1.1, section 5, computed with its formulas and rounding"

_CLASS: Final = re.compile(r"[123][AB]")
_TOLERANCE_FACTOR: Final = {"1A": "1.5", "2A": "1", "3A": "0.75", "1B": "1.95", "2B": "1.3", "3B": "0.975"}
_PRINTED_ALLOWANCE: Final = {"5/8-11 UNC": Decimal("0.0016"), "#12-32 UNEF": Decimal("0.0009")}
_PITCH_LINE: Final = Decimal("0.64951905")
_FLAT_ROOT: Final = Decimal("1.08253175")
_ROUND_ROOT: Final = Decimal("1.19078493")


def unified_thread(size: UnifiedSize) -> Thread:
    """A thread of the tables as a :class:`~loopwright.handbook.threads_form.Thread`.

    >>> unified_thread(UnifiedSize("1/4", 0.25, 20, "UNC")).name
    '1/4-20 UNC'
    """
    return Thread(
        name=f"{size.size}-{size.threads_per_inch:g} {size.series}",
        form="UN",
        diameter_mm=size.diameter_in * INCH,
        pitch_mm=INCH / size.threads_per_inch,
        series=size.series,
        listed_in="ASME B1.1",
    )


def unified_limits(thread: Thread, tolerance_class: str) -> ThreadLimits:
    """Limits of size of a Unified thread.

    Args:
        thread: a thread of :func:`unified_thread`.
        tolerance_class: '1A', '2A', '3A' for a screw, '1B', '2B', '3B' for a nut; 1A and 1B only UNC and UNF
            from 1/4 in.

    Returns:
        Limits, mm: the inch values of four or three places times 25.4.

    Raises:
        QuantityError: the text is no class of a Unified thread.
        OutOfRange: class 1A or 1B where ASME B1.1 has none.

    Source: ASME B1.1, formulas of section 5, as worked in *Machinery's Handbook*. Checked in
    tests/published/test_asme_b1_1.py.

    >>> found = unified_limits(unified_thread(UnifiedSize("1/4", 0.25, 20, "UNC")), "2A")
    >>> [round(mm / 25.4, 4) for mm in found.pitch_diameter]
    [0.2127, 0.2164]
    """
    name = tolerance_class.strip().upper()
    if not _CLASS.fullmatch(name):
        raise QuantityError(
            f"'{tolerance_class}' is not a class of a Unified thread",
            "write 2A or 3A for a screw, 2B or 3B for a nut (1A and 1B are the loose classes)",
        )
    if name.startswith("1") and (thread.series == "UNEF" or thread.diameter_mm < 0.25 * INCH - 1e-9):
        raise OutOfRange(
            f"ASME B1.1 has no class {name} for {thread.name}: only UNC and UNF from 1/4 in; use 2 or 3"
        )
    return _external(thread, name) if name.endswith("A") else _internal(thread, name)


def pitch_diameter_tolerance(thread: Thread, tolerance_class: str) -> float:
    """Tolerance of the pitch diameter, in, to six places: Td2 of a screw, TD2 of a nut.

    Args:
        thread: a Unified thread.
        tolerance_class: '1A' to '3B', in capitals.

    Source: ASME B1.1, 5.8.

    >>> pitch_diameter_tolerance(unified_thread(UnifiedSize("1/2", 0.5, 28, "UNEF")), "2A")
    0.003668
    """
    return float(_pitch_tolerance(thread, tolerance_class))


def _external(thread: Thread, name: str) -> ThreadLimits:
    pitch = _pitch(thread)
    allowance = Decimal(0) if name == "3A" else _allowance(thread)
    crest = _to(Decimal("0.09" if name == "1A" else "0.06") * _two_thirds(pitch), 6)
    greatest = _diameter(thread) - allowance
    pitch_line = _to(greatest - _to(_PITCH_LINE * pitch, 6), 4)
    return ThreadLimits(
        thread=thread,
        tolerance_class=name,
        external=True,
        major=(_mm(_to(greatest - crest, 4)), _mm(greatest)),
        pitch_diameter=(_mm(_to(pitch_line - _pitch_tolerance(thread, name), 4)), _mm(pitch_line)),
        minor=(None, _mm(_to(greatest - _to(_FLAT_ROOT * pitch, 6), 4))),
        rounded_root=_mm(_to(greatest - _to(_ROUND_ROOT * pitch, 6), 4)),
        source=SOURCE,
    )


def _internal(thread: Thread, name: str) -> ThreadLimits:
    pitch, diameter = _pitch(thread), _diameter(thread)
    pitch_line = _to(diameter - _to(_PITCH_LINE * pitch, 6), 4)
    basic = _to(diameter - _to(_FLAT_ROOT * pitch, 6), 6)
    low_places = 4 if diameter < Decimal("0.138") else 3
    high_places = 4 if name == "3B" else low_places
    high = _to(basic, 4) + _to(_minor_tolerance(thread, name), 4)
    return ThreadLimits(
        thread=thread,
        tolerance_class=name,
        external=False,
        major=(_mm(diameter), None),
        pitch_diameter=(_mm(pitch_line), _mm(_to(pitch_line + _pitch_tolerance(thread, name), 4))),
        minor=(_mm(_to(_to(basic, 4), low_places)), _mm(_to(high, high_places))),
        rounded_root=None,
        source=SOURCE,
    )


def _allowance(thread: Thread) -> Decimal:
    return _PRINTED_ALLOWANCE.get(thread.name, _to(Decimal("0.3") * _pitch_tolerance(thread, "2A"), 4))


def _pitch_tolerance(thread: Thread, name: str) -> Decimal:
    pitch, diameter = _pitch(thread), _diameter(thread)
    engaged = 9 * pitch if thread.series == "UNEF" else diameter
    class_2a = (
        Decimal("0.0015") * _power(diameter, 1 / 3)
        + Decimal("0.0015") * engaged.sqrt()
        + Decimal("0.015") * _two_thirds(pitch)
    )
    return _to(Decimal(_TOLERANCE_FACTOR[name]) * class_2a, 6)


def _minor_tolerance(thread: Thread, name: str) -> Decimal:
    """TD1, in: 0.05 P^2/3 + 0.03 P/D - 0.002 within bounds; a straight rule for 1B and 2B from 1/4 in."""
    pitch, diameter = _pitch(thread), _diameter(thread)
    straight = Decimal("0.25") * pitch - Decimal("0.4") * pitch**2
    if name != "3B" and diameter >= Decimal("0.25"):
        return straight
    found = Decimal("0.05") * _two_thirds(pitch) + Decimal("0.03") * pitch / diameter - Decimal("0.002")
    least = straight
    if name == "3B":
        fine = pitch < Decimal(1) / Decimal("12.5")
        least = Decimal("0.23") * pitch - Decimal("1.5") * pitch**2 if fine else Decimal("0.12") * pitch
    return max(least, min(found, Decimal("0.394") * pitch))


def _diameter(thread: Thread) -> Decimal:
    return _to(Decimal(thread.diameter_mm / INCH), 4)


def _pitch(thread: Thread) -> Decimal:
    return _to(Decimal(thread.pitch_mm / INCH), 8)


def _power(value: Decimal, exponent: float) -> Decimal:
    return Decimal(float(value) ** exponent)


def _two_thirds(pitch: Decimal) -> Decimal:
    return _power(pitch, 2 / 3)


def _to(value: Decimal, places: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)


def _mm(value_in: Decimal) -> float:
    return float(value_in * Decimal("25.4"))
