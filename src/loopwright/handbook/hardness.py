"""Hardness of steel: conversion between scales, how thin a piece may be tested, how far apart the tests go.

Conversion is by the table for non-austenitic steels of ASTM E140 (table 1), read in a maker's copy of it:
phase2plus.com, *Rockwell C hardness range*; its Vickers column from 34 to 68 HRC also at hardnessgauge.com.
Within the table it is interpolated, outside it is refused. A converted value is approximate whatever its
digits: it is rounded to the whole number (E140-02, 1.10 and 1.11, with E29), and a limit on a drawing is
judged in the scale in which it was written.

Depths follow from the definition of the scale: h = (100 - HRC) · 0.002 mm (ISO 6508-1). The rules for thickness
and spacing are those of ISO 6508-1 and ISO 6507-1 and the thickness table of ASTM E18; each function says how
it is known.
"""

from bisect import bisect_right
from collections.abc import Mapping
from math import radians, sin, sqrt, tan
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from loopwright.errors import OutOfRange

Scale = Literal["HRC", "HV", "HBW", "HRA"]

SOURCE: Final = "ASTM E140, table 1 (non-austenitic steels), read at phase2plus.com"

# from 68 HRC down to 20 HRC
_HV: Final = """
940 900 865 832 800 772 746 720 697 674 653 633 613 595 577 560 544 528 513 498 484 471 458 446 434 423 412 402
392 382 372 363 354 345 336 327 318 310 302 294 286 279 272 266 260 254 248 243 238
"""
_HRA: Final = """
85.6 85.0 84.5 83.9 83.4 82.8 82.3 81.8 81.2 80.7 80.1 79.6 79.0 78.5 78.0 77.4 76.8 76.3 75.9 75.2 74.7 74.1
73.6 73.1 72.5 72.0 71.5 70.9 70.4 69.9 69.4 68.9 68.4 67.9 67.4 66.8 66.3 65.8 65.3 64.8 64.3 63.8 63.3 62.8
62.4 62.0 61.5 61.0 60.5
"""
# carbide ball, 3000 kgf; from 65 HRC down: E140 has no Brinell value above
_HBW: Final = """
739 722 705 688 670 654 634 615 595 577 560 543 525 512 496 481 469 455 443 432 421 409 400 390 381 371 362 353
344 336 327 319 311 301 294 286 279 271 264 258 253 247 243 237 231 226
"""


def _rising(text: str) -> tuple[float, ...]:
    return tuple(reversed([float(word) for word in text.split()]))


TABLE: Final[Mapping[Scale, tuple[float, ...]]] = MappingProxyType(
    {
        "HRC": tuple(float(n) for n in range(20, 69)),
        "HV": _rising(_HV),
        "HBW": _rising(_HBW),
        "HRA": _rising(_HRA),
    }
)
"""Each scale's column of the table, upwards from 20 HRC; HBW ends at 65 HRC, the others at 68."""


def convert(value: float, given: Scale, wanted: Scale) -> int:
    """A hardness in another scale, rounded as E140 asks.

    Args:
        value: hardness in the given scale.
        given: 'HRC', 'HV', 'HBW' (carbide ball, 3000 kgf) or 'HRA'.
        wanted: the same choice.

    Returns:
        The approximate hardness, a whole number.

    Raises:
        OutOfRange: no such scale, or a value outside the table: 20 to 68 HRC, 20 to 65 HRC for Brinell.

    Source: ASTM E140, table 1. Checked in tests/published/test_astm_e140.py.

    >>> convert(60, "HRC", "HV")
    697
    >>> convert(700, "HV", "HRC")
    60
    """
    return round(interpolated(value, given, wanted))


def interpolated(value: float, given: Scale, wanted: Scale) -> float:
    """As :func:`convert`, before rounding: for sums, not for a sheet.

    Args:
        value: hardness in the given scale.
        given: scale of the value.
        wanted: scale of the answer.

    Returns:
        Linear interpolation between the rows of the table.

    Raises:
        OutOfRange: as :func:`convert`.

    >>> interpolated(60.5, "HRC", "HV")
    708.5
    """
    for scale in (given, wanted):
        if scale not in TABLE:
            raise OutOfRange(f"no hardness scale '{scale}' in the table here; use one of {', '.join(TABLE)}")
    rows = min(len(TABLE[given]), len(TABLE[wanted]))
    known, sought = TABLE[given][:rows], TABLE[wanted][:rows]
    if not known[0] <= value <= known[-1]:
        raise OutOfRange(_outside(value, given, wanted, known))
    row = min(bisect_right(known, value) - 1, rows - 2)
    share = (value - known[row]) / (known[row + 1] - known[row])
    return sought[row] + share * (sought[row + 1] - sought[row])


def _outside(value: float, given: Scale, wanted: Scale, known: tuple[float, ...]) -> str:
    to = f" to {wanted}" if wanted != given else ""
    return (
        f"{value:g} {given} is outside the conversion table of ASTM E140{to}, which runs from {known[0]:g} to "
        f"{known[-1]:g} {given}; test in the scale that is asked for"
    )


class _Rockwell(NamedTuple):
    zero: float  # number at which the permanent depth is nothing
    step_mm: float  # depth per unit
    depths: float  # least thickness in depths


_ROCKWELL: Final[Mapping[str, _Rockwell]] = MappingProxyType(
    {
        "HRC": _Rockwell(100, 0.002, 10),
        "HRA": _Rockwell(100, 0.002, 10),
        "HRB": _Rockwell(130, 0.002, 15),
        "HR15N": _Rockwell(100, 0.001, 10),
        "HR30N": _Rockwell(100, 0.001, 10),
        "HR45N": _Rockwell(100, 0.001, 10),
    }
)

# least thickness in inches, and the least hardness that may be tested on it
_E18: Final[Mapping[str, tuple[tuple[float, float], ...]]] = MappingProxyType(
    {
        "HRC": (
            (0.022, 69), (0.024, 67), (0.026, 65), (0.028, 62), (0.030, 57), (0.032, 52), (0.034, 45),
            (0.036, 37), (0.038, 28), (0.040, 20),
        ),
        "HRA": (
            (0.016, 86), (0.018, 84), (0.020, 82), (0.022, 79), (0.024, 76), (0.026, 71), (0.028, 67),
            (0.030, 60),
        ),
    }
)  # fmt: skip


def permanent_depth(value: float, scale: str) -> float:
    """How deep the permanent indentation of a Rockwell test is, mm.

    Args:
        value: Rockwell hardness, 0 up to the zero of the scale.
        scale: 'HRC', 'HRA', 'HRB', 'HR15N', 'HR30N' or 'HR45N'.

    Raises:
        OutOfRange: no such scale, or a number that the scale does not have.

    Source: definition of the scales, ISO 6508-1: h = (N - HR) S, with N = 100 (130 for HRB) and S = 0.002 mm
    (0.001 mm for the superficial scales).

    >>> round(permanent_depth(60, "HRC"), 3)
    0.08
    """
    found = _ROCKWELL.get(scale)
    if found is None:
        raise OutOfRange(f"no Rockwell scale '{scale}' here; use one of {', '.join(_ROCKWELL)}")
    if not 0 <= value < found.zero:
        raise OutOfRange(f"{value:g} {scale} is not a hardness; {scale} runs from 0 to under {found.zero:g}")
    return (found.zero - value) * found.step_mm


class LeastThickness(NamedTuple):
    """How thin a piece, or a hard case, may be for a test.

    Attributes:
        by_depth_mm: ten permanent depths (fifteen for a ball), mm.
        by_table_mm: the least thickness that ASTM E18 tabulates, mm; None where its table has no entry.
        source: where the two come from.
    """

    by_depth_mm: float
    by_table_mm: float | None
    source: str

    @property
    def mm(self) -> float:
        """The greater of the two: the one to plan with."""
        return max(self.by_depth_mm, self.by_table_mm or 0.0)


def least_thickness(value: float, scale: str = "HRC") -> LeastThickness:
    """How thick a piece must be for a Rockwell test, so that the anvil is not felt.

    The case of a case-hardened part has to be as thick as a piece would: else the cone goes through into the
    soft core and the number is that of neither. The two rules differ: on HRC ten depths ask for more, on HRA
    the table of ASTM E18 does.

    Args:
        value: hardness expected, in the scale.
        scale: 'HRC', 'HRA', 'HRB', 'HR15N', 'HR30N' or 'HR45N'.

    Returns:
        Both thicknesses, and the greater as ``mm``.

    Raises:
        OutOfRange: as :func:`permanent_depth`.

    Source: ten depths for a cone and fifteen for a ball, ISO 6508-1 (from memory; that a total case under 0.76
    mm does not bear HRC also at industrialheating.com, *Interpreting carburized case depths*); ASTM E18 table,
    read in the manual of a hardness tester. Checked in tests/published/test_astm_e18_thickness.py.

    >>> found = least_thickness(60)
    >>> found.by_depth_mm, found.by_table_mm, found.mm
    (0.8, 0.762, 0.8)
    """
    depth = permanent_depth(value, scale)
    rows = [inch for inch, hardness in _E18.get(scale, ()) if hardness <= value]
    table = round(rows[0] * 25.4, 9) if rows else None
    by_depth = round(_ROCKWELL[scale].depths * depth, 9)
    return LeastThickness(by_depth, table, "ten depths: ISO 6508-1, from memory; table: ASTM E18, read")


def vickers_diagonal(hv: float, force_kgf: float) -> float:
    """Mean diagonal of a Vickers indentation, mm: d = sqrt(1.8544 F / HV).

    Args:
        hv: Vickers hardness, over 0.
        force_kgf: test force as the symbol has it, kgf: 10 for HV10.

    Raises:
        OutOfRange: a hardness or force that is not over 0.

    Source: definition of the scale, ISO 6507-1, with the force in kgf: 2 sin(136°/2) = 1.8544.

    >>> round(vickers_diagonal(697, 10), 3)
    0.163
    """
    if not (0 < hv < float("inf") and 0 < force_kgf < float("inf")):
        raise OutOfRange(f"HV {hv:g} with {force_kgf:g} kgf is not a Vickers test; both must be over 0")
    return sqrt(2 * sin(radians(68)) * force_kgf / hv)


def least_thickness_vickers(hv: float, force_kgf: float) -> float:
    """How thick a piece or a layer must be for a Vickers test, mm: one and a half diagonals.

    Args:
        hv: Vickers hardness expected.
        force_kgf: test force, kgf.

    Raises:
        OutOfRange: as :func:`vickers_diagonal`.

    Source: ISO 6507-1, 6.3, read. Checked in tests/published/test_iso_6507_1.py.

    >>> round(least_thickness_vickers(697, 10), 3)
    0.245
    """
    return 1.5 * vickers_diagonal(hv, force_kgf)


def usable_tests(hrc: float, thickness_mm: float) -> tuple[str, ...]:
    """The hardness tests that a thin piece, or a case, of this hardness can bear.

    Args:
        hrc: hardness expected, 20 to 68 HRC.
        thickness_mm: thickness under the indentation, of the piece or of its case: a ring tested on its flat
            face is as thick as it is high.

    Returns:
        Of 'HRC', 'HRA', 'HV30', 'HV10', 'HV5', 'HV1', those that may be used, the quickest first. Empty: no
        test here is fit; treat a witness piece of the same bar with the part.

    Raises:
        OutOfRange: a hardness outside 20 to 68 HRC, or a thickness that is not over 0.

    >>> usable_tests(62, 3.0)[0], usable_tests(62, 0.6)[0], usable_tests(62, 0.2)
    ('HRC', 'HRA', ('HV5', 'HV1'))
    """
    if not 0 < thickness_mm < float("inf"):
        raise OutOfRange(f"a thickness of {thickness_mm:g} mm is no piece; give millimetres over 0")
    hra, hv = interpolated(hrc, "HRC", "HRA"), interpolated(hrc, "HRC", "HV")
    needed = {"HRC": least_thickness(hrc).mm, "HRA": least_thickness(hra, "HRA").mm}
    needed |= {f"HV{force}": least_thickness_vickers(hv, force) for force in (30, 10, 5, 1)}
    return tuple(test for test, least in needed.items() if thickness_mm >= least)


class Spacing(NamedTuple):
    """How far apart indentations are set, mm.

    Attributes:
        between: between the centres of two indentations.
        to_edge: from the centre of an indentation to an edge, a hole or a step.
        diameter: width of the indentation that these follow from.
    """

    between: float
    to_edge: float
    diameter: float


_TIP_RADIUS_MM: Final = 0.2
_HALF_ANGLE: Final = radians(60)


def spacing_rockwell(value: float, scale: str = "HRC") -> Spacing:
    """How far apart Rockwell tests with the diamond cone are set.

    The width is that of the cone of 120° with its tip of 0.2 mm radius at the permanent depth. The standard's
    older editions ask for four widths and at least 2 mm between, two and a half and at least 1 mm to an edge.

    Args:
        value: hardness expected.
        scale: a scale with the cone: 'HRC', 'HRA', 'HR15N', 'HR30N' or 'HR45N'.

    Returns:
        Three widths between centres, two and a half to an edge, mm.

    Raises:
        OutOfRange: as :func:`permanent_depth`; HRB, whose ball is not a cone.

    Source: ISO 6508-1:2015, read in the manual of a hardness tester (three and two and a half); older editions
    from memory.

    >>> round(spacing_rockwell(60).between, 2), round(spacing_rockwell(60).to_edge, 2)
    (1.15, 0.96)
    """
    depth = permanent_depth(value, scale)
    if scale == "HRB":
        raise OutOfRange("the spacing here is that of the diamond cone, and HRB is tested with a ball")
    blunt = _TIP_RADIUS_MM * (1 / sin(_HALF_ANGLE) - 1)
    width = 2 * tan(_HALF_ANGLE) * (depth + blunt)
    return Spacing(3 * width, 2.5 * width, width)


def spacing_vickers(hv: float, force_kgf: float) -> Spacing:
    """How far apart Vickers tests on steel are set: three diagonals, two and a half to an edge.

    Args:
        hv: Vickers hardness expected.
        force_kgf: test force, kgf.

    Raises:
        OutOfRange: as :func:`vickers_diagonal`.

    Source: ISO 6507-1:2018, read (steel, copper and its alloys; light metals need twice as much between).
    Checked in tests/published/test_iso_6507_1.py.

    >>> round(spacing_vickers(697, 10).between, 2)
    0.49
    """
    diagonal = vickers_diagonal(hv, force_kgf)
    return Spacing(3 * diagonal, 2.5 * diagonal, diagonal)
