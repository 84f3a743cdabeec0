"""What an operation usually holds: tolerance grades, roughness, and a machine's spread until it is measured.

Three kinds of knowledge, in falling order of worth: the shop's own readings (not here), the grades that handbooks
print for a process, and the shop rule below for a machine that nobody has measured. The last is a rule of thumb
with its ± read as two standard deviations; replace it by a capability study of your own parts.
"""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, sqrt
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band
from loopwright.handbook.limits_and_fits import standard_tolerance
from loopwright.handbook.operations import MACHINES, operation

_HANDBOOK: Final = (
    "Machinery's Handbook, relation of machining processes to tolerance grades (ANSI B4.1 and B4.2), from memory; "
    "lengths of its bars seen at aksan-tm.com"
)
_COMMON: Final = "common practice"

PROCESS_GRADES: Final[Mapping[str, tuple[int, int]]] = MappingProxyType(
    {
        "lapping and honing": (4, 5),
        "cylindrical grinding": (5, 7),
        "surface grinding": (5, 8),
        "diamond turning": (5, 7),
        "diamond boring": (5, 7),
        "broaching": (5, 8),
        "reaming": (6, 10),
        "turning": (7, 13),
        "boring": (8, 13),
        "milling": (10, 13),
        "planing and shaping": (10, 13),
        "drilling": (10, 13),
        "punching": (10, 13),
        "die casting": (11, 13),
    }
)
"""Finest and coarsest ISO 286 grade that a process usually holds; source as of :func:`usual_grades`."""

_GRADES: Final[Mapping[str, tuple[int, int, str]]] = MappingProxyType(
    {
        "saw": (14, 16, _COMMON),
        "square up": (10, 13, _HANDBOOK),
        "face": (7, 13, f"{_HANDBOOK}; milling from 10, turning from 7"),
        "rough out": (11, 13, "kesugroup.com: rough turning 11; milling to 13 as the handbook has it"),
        "contour": (10, 13, _HANDBOOK),
        "drill": (10, 13, _HANDBOOK),
        "ream": (6, 10, _HANDBOOK),
        "bore": (8, 13, _HANDBOOK),
        "turn": (7, 13, _HANDBOOK),
        "part off": (11, 13, _COMMON),
        "surface grind": (5, 8, _HANDBOOK),
        "cylindrical grind": (5, 7, _HANDBOOK),
        "lap": (4, 5, _HANDBOOK),
    }
)

_B46: Final = "appendix chart of ASME B46.1, from memory"
_ROUGHNESS_UM: Final[Mapping[str, Band]] = MappingProxyType(
    {
        "saw": Band(3.2, 25, _B46),
        "square up": Band(0.8, 6.3, _B46),
        "face": Band(0.4, 6.3, f"{_B46}; milling from 0.8, turning from 0.4"),
        "rough out": Band(3.2, 20, "common practice; kesugroup.com: rough turning 10 to 20"),
        "contour": Band(0.8, 6.3, _B46),
        "drill": Band(1.6, 6.3, _B46),
        "ream": Band(0.8, 3.2, _B46),
        "bore": Band(0.4, 6.3, _B46),
        "turn": Band(0.4, 6.3, _B46),
        "part off": Band(1.6, 12.5, _COMMON),
        "surface grind": Band(0.1, 1.6, _B46),
        "cylindrical grind": Band(0.1, 1.6, _B46),
        "lap": Band(0.05, 0.4, _B46),
    }
)


class Tolerance(NamedTuple):
    """Widths of the tolerances that an operation usually holds at one size.

    Attributes:
        low: width of the finest grade, mm: with care and a good machine.
        high: width of the coarsest, mm: without any.
        grades: (finest, coarsest) ISO 286 grade.
        source: who says so.
    """

    low: float
    high: float
    grades: tuple[int, int]
    source: str


def usual_grades(op: str) -> tuple[int, int, str]:
    """ISO 286 grades that an operation usually holds.

    Args:
        op: one of :data:`loopwright.handbook.operations.OPS` that makes a plain size.

    Returns:
        (finest, coarsest, source).

    Raises:
        OutOfRange: no such operation, or one that is not held to a grade: threads have classes of their own, and
            heat, glue and hand work make no size.

    Source: *Machinery's Handbook*; each row's own. Checked in tests/published/test_process_grades.py.

    >>> usual_grades("ream")[:2]
    (6, 10)
    """
    name = operation(op).name
    if name not in _GRADES:
        raise OutOfRange(
            f"'{name}' is not held to a grade of ISO 286; grades are known for {', '.join(_GRADES)}"
            + (
                "; a thread has its own classes (ISO 965)"
                if name in ("tap", "thread mill", "thread turn")
                else ""
            )
        )
    return _GRADES[name]


def usual_tolerance(op: str, size_mm: float) -> Tolerance:
    """Width of the tolerance that an operation usually holds on a size.

    Args:
        op: as :func:`usual_grades`.
        size_mm: nominal size, mm, over 0 up to 3150.

    Returns:
        Whole widths, mm: ± half of it.

    Raises:
        OutOfRange: as :func:`usual_grades`; a size outside ISO 286.

    Source: as :func:`usual_grades`, with the widths of ISO 286-1.

    >>> found = usual_tolerance("ream", 25)
    >>> found.low, found.high
    (0.013, 0.084)
    """
    finest, coarsest, source = usual_grades(op)
    widths = standard_tolerance(size_mm, finest), standard_tolerance(size_mm, coarsest)
    return Tolerance(*widths, (finest, coarsest), source)


def usual_roughness(op: str) -> Band:
    """Roughness Ra that an operation usually leaves, µm.

    Args:
        op: as :func:`usual_grades`.

    Raises:
        OutOfRange: no such operation, or one that leaves no machined surface.

    Source: each band's own.

    >>> usual_roughness("surface grind")[:2]
    (0.1, 1.6)
    """
    name = operation(op).name
    found = _ROUGHNESS_UM.get(name)
    if found is None:
        raise OutOfRange(f"no roughness of '{name}' here; there is one for {', '.join(_ROUGHNESS_UM)}")
    return found


def roughness_for(tolerance_mm: float) -> Band:
    """Roughest Ra that still lets a tolerance be measured and fitted, µm: a thirtieth to a twentieth of it.

    Args:
        tolerance_mm: whole width of the tolerance, mm, over 0.

    Raises:
        OutOfRange: a tolerance that is not over 0.

    Source: shop and handbook rule, from memory.

    >>> low, high, _ = roughness_for(0.021)
    >>> round(low, 2), round(high, 2)
    (0.7, 1.05)
    """
    if not 0 < tolerance_mm < float("inf"):
        raise OutOfRange(f"a tolerance of {tolerance_mm:g} mm is none; give the whole width, over 0")
    return Band(tolerance_mm / 30 * 1000, tolerance_mm / 20 * 1000, "shop and handbook rule, from memory")


@dataclass(frozen=True, slots=True)
class Capability:
    """How far a machine spreads, as standard deviations; independent of one another.

    Attributes:
        machine: kind of machine.
        cut: from one cut to the next on one part, mm.
        setting: offset of a whole setup: tool length, stop, zero; shared by all parts and cuts of it, mm.
        seating: from one seating of a part to the next, mm; shared by all cuts of one seating.
        angular: squareness or taper, mm per mm; shared like the setting.
        source: who says so.
    """

    machine: str
    cut: float
    setting: float
    seating: float
    angular: float
    source: str

    @property
    def dim_std(self) -> float:
        """Of one dim from its datum over parts of different setups, mm: all three together."""
        return sqrt(self.cut**2 + self.setting**2 + self.seating**2)


SHARES: Final = (0.5, 0.3, 0.2)
"""Share of cut, setting and seating in the variance of a machine that nobody has measured; an assumption."""

_RULE: Final = "shop rule, from memory: replace it by your own readings"
_GUESS: Final = "common practice: replace it by your own readings"

# ± of one dim, mm; ± squareness or taper, mm per 100 mm; source
_SPREADS: Final[Mapping[str, tuple[float, float, str]]] = MappingProxyType(
    {
        "bandsaw": (0.5, 1.0, _GUESS),
        "cold saw": (0.25, 0.3, _GUESS),
        "abrasive saw": (0.5, 0.8, _GUESS),
        "hacksaw": (1.0, 1.5, _GUESS),
        "drill press": (0.15, 0.3, _GUESS),
        "manual mill": (0.05, 0.02, _RULE),
        "CNC mill": (0.015, 0.01, _RULE),
        "manual lathe": (0.02, 0.01, _RULE),
        "CNC lathe": (0.012, 0.008, _GUESS),
        "surface grinder": (0.005, 0.003, _RULE),
        "cylindrical grinder": (0.005, 0.003, _GUESS),
        "centreless grinder": (0.005, 0.004, _GUESS),
        "lapping plate": (0.002, 0.002, _GUESS),
        "bench": (0.1, 0.3, _GUESS),
    }
)


def capability(machine: str) -> Capability:
    """A machine's spread until the shop has measured its own parts.

    Args:
        machine: one of :data:`loopwright.handbook.operations.MACHINES` that cuts.

    Returns:
        Standard deviations, mm and mm/mm; on a lathe of a diameter.

    Raises:
        OutOfRange: no such machine, or one that does not cut.

    Source: shop rule; its ± read as two standard deviations of one dim, parted by :data:`SHARES`.

    >>> round(2 * capability("surface grinder").dim_std, 4)
    0.005
    """
    by_key = {name.casefold(): name for name in MACHINES}
    name = by_key.get(" ".join(machine.casefold().split()))
    if name is None:
        raise OutOfRange(f"no machine '{machine}' here; use one of {', '.join(MACHINES)}")
    if name not in _SPREADS:
        raise OutOfRange(f"a {name} does not cut to a size; spreads are known for {', '.join(_SPREADS)}")
    half, per_100, source = _SPREADS[name]
    cut, setting, seating = (half / 2 * sqrt(share) for share in SHARES)
    return Capability(name, cut, setting, seating, per_100 / 100 / 2, source)


RELATIVE_COST: Final = ((0.0005 * 25.4, 2.70, "grinding"), (0.003 * 25.4, 0.60, "turning"))
"""± tolerance in mm, relative cost, by what: Shigley, 11th edition, solution 1-7."""


def relative_cost(half_tolerance_mm: float) -> float:
    """Cost of a ± tolerance over that of a turned one at ±0.076 mm (0.003 in).

    A power law between the two points that are known; a rule for ranking, not for quoting.

    Args:
        half_tolerance_mm: ± tolerance, mm, from 0.0127 to 0.0762.

    Raises:
        OutOfRange: a tolerance outside the two points.

    Source: Shigley, *Mechanical Engineering Design*, 11th edition, solution 1-7: grinding to ±0.0005 in costs 270
    %, turning to ±0.003 in 60 %. Checked in tests/published/test_process_grades.py.

    >>> round(relative_cost(0.0127), 2)
    4.5
    """
    (fine, dear, _), (coarse, cheap, _) = RELATIVE_COST
    if not fine - 1e-9 <= half_tolerance_mm <= coarse + 1e-9:
        raise OutOfRange(
            f"the cost of ±{half_tolerance_mm:g} mm is not known here; the rule runs from ±{fine:.4f} to "
            f"±{coarse:.4f} mm"
        )
    return exp(log(dear / cheap) * log(half_tolerance_mm / coarse) / log(fine / coarse))


def grade_of(size_mm: float, tolerance_mm: float) -> int:
    """The coarsest ISO 286 grade, 1 to 18, that is no wider than a tolerance.

    Args:
        size_mm: nominal size, mm, over 1 up to 3150.
        tolerance_mm: whole width of the tolerance, mm.

    Raises:
        OutOfRange: a tolerance finer than IT1, or a size outside ISO 286.

    Source: ISO 286-1:2010, table 1.

    >>> grade_of(25, 0.021), grade_of(25, 0.03)
    (7, 7)
    """
    widths = [standard_tolerance(size_mm, grade) for grade in range(1, 19)]
    found = bisect_left(widths, tolerance_mm + 1e-9)
    if found == 0:
        raise OutOfRange(
            f"{tolerance_mm:g} mm at {size_mm:g} mm is finer than IT1, {widths[0]:g} mm; no process here holds it"
        )
    return found
