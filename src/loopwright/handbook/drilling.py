"""Drilling with a twist drill: torque and thrust, minutes, how deep at once, slower and softer as it gets deep.

Two rules for the forces stand side by side; they differ by up to a half, and so do measurements. The formula
of M. C. Shaw and C. J. Oxford (Trans. ASME 79, 1957) is not here: its constants depend on the units and were
not seen in print.
"""

from math import ceil, pi, radians, sin, tan
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import at_least_zero, over_zero, whole_number, within
from loopwright.handbook.cutting_force import SpecificForce

POINT_ANGLE: Final = radians(118)
"""Included angle of a common twist drill, rad."""

CHISEL_SHARE: Final = 0.6
"""Greatest share of the thrust that the chisel edge of a common drill takes: 50 to 60 %, lips 30 to 40 %.
*Modern Machining Technology: a practical guide*, p. 145."""

CAUTION: Final = (
    "Clamp the work: a drill that breaks through grabs and lifts or spins it. Ease the feed at break-through."
)
"""What the sheet says beside every drilled hole; more under 'rotating work' in the cautions."""


class DrillLoad(NamedTuple):
    """Torque of a drill, N·m, and its thrust, N, as (well thinned point, common point), and the rule's source."""

    torque: float
    thrust: tuple[float, float]
    source: str


def drill_load(
    law: SpecificForce,
    diameter: float,
    feed: float,
    *,
    point_angle: float = POINT_ANGLE,
    pilot: float = 0.0,
) -> DrillLoad:
    r"""Torque and thrust of a twist drill by the law of Kienzle.

    .. math:: h = \tfrac{f}{2}\sin\kappa,\quad M = k_c f (d^2 - d_0^2) / 8,\quad
        F = \tfrac12 k_c \tfrac{d - d_0}{2} f \sin\kappa

    The thrust is that of the lips; a common chisel edge in the solid adds up to :data:`CHISEL_SHARE` of the
    whole, and that is the higher number.

    Args:
        law: of the material.
        diameter: d, mm.
        feed: f, mm per revolution.
        point_angle: 2κ, rad.
        pilot: d_0, hole that is already there, mm; at least as wide as the chisel edge, or 0.

    Returns:
        Torque, N·m; thrust, N, (low, high).

    Raises:
        OutOfRange: a diameter, feed or angle that is none, or a pilot hole as large as the drill.

    Source: two lips, each a turning tool; thrust as in toolmakers' formulas (from memory). Checked in
    tests/published/test_mmc_drilling_forces.py.

    >>> from loopwright.handbook.cutting_force import kienzle
    >>> round(drill_load(kienzle(3), 10, 0.3).torque, 1)
    10.3
    """
    over_zero("a drill diameter", diameter, "mm")
    over_zero("a feed", feed, "mm")
    within("a point angle", point_angle, radians(60), pi, "rad", "118° to 140° are usual")
    if not 0 <= pilot < diameter:
        raise OutOfRange(
            f"a pilot hole of {pilot:g} mm leaves nothing for a drill of {diameter:g} mm; give 0 for the solid"
        )
    slant = sin(point_angle / 2)
    kc = law.at(feed / 2 * slant)
    lips = kc * (diameter - pilot) / 2 * feed * slant / 2
    high = lips if pilot else lips / (1 - CHISEL_SHARE)
    return DrillLoad(kc * feed * (diameter**2 - pilot**2) / 8000, (lips, high), law.source)


MATERIAL_CONSTANTS: Final = MappingProxyType(
    {
        "cast iron 177 HB": 1.00,
        "cast iron 198 HB": 1.39,
        "cast iron 224 HB": 1.88,
        "aluminium 100 HB": 1.01,
        "low carbon steel (0.2 % C) 160 HB": 2.22,
        "free cutting steel 183 HB": 1.42,
        "manganese steel 197 HB": 1.45,
        "nickel chromium steel 174 HB": 2.02,
        "chromium molybdenum steel 229 HB": 2.10,
        "chromium molybdenum steel 269 HB": 2.41,
        "nickel chromium molybdenum steel 212 HB": 2.12,
        "nickel chromium molybdenum steel 390 HB": 3.44,
        "chromium vanadium steel 174 HB": 2.08,
        "chromium vanadium steel 255 HB": 2.22,
    }
)
"""K of :func:`drill_load_by_constant`. Tungaloy, general catalogue 2020-2021, p. L068."""


def drill_load_by_constant(diameter: float, feed: float, constant: float) -> DrillLoad:
    r"""Torque and thrust of a common twist drill by a constant of the material.

    .. math:: M = K d^2 (0.630 + 16.84 f) / 100,\quad F = 570\, K d f^{0.85}

    Args:
        diameter: d, mm.
        feed: f, mm per revolution.
        constant: K of :data:`MATERIAL_CONSTANTS`.

    Returns:
        Torque, N·m; thrust, N, twice the same number: a common point.

    Raises:
        OutOfRange: a number that is none.

    Source: Tungaloy, general catalogue 2020-2021, p. L068. Checked in
    tests/published/test_tungaloy_twist_drill.py.

    >>> round(drill_load_by_constant(10, 0.3, 1.42).torque, 1)
    8.1
    """
    over_zero("a drill diameter", diameter, "mm")
    over_zero("a feed", feed, "mm")
    over_zero("a constant", constant, "")
    thrust = 570 * constant * diameter * feed**0.85
    torque = constant * diameter**2 * (0.630 + 16.84 * feed) / 100
    return DrillLoad(torque, (thrust, thrust), "Tungaloy, general catalogue 2020-2021, p. L068")


def point_length(diameter: float, point_angle: float = POINT_ANGLE) -> float:
    """Length of the cone at the end of a drill, mm: 0.3 d at 118°.

    >>> round(point_length(10), 2)
    3.0
    """
    within("a point angle", point_angle, radians(60), pi, "rad", "118° to 140° are usual")
    return over_zero("a drill diameter", diameter, "mm") / 2 / tan(point_angle / 2)


def drilling_minutes(
    depth: float,
    spindle_rpm: float,
    feed: float,
    *,
    holes: int = 1,
    point: float = 0.0,
    approach: float = 0.0,
) -> float:
    """Minutes of feeding for a number of holes; retracts, moves and tool changes are not in it.

    Args:
        depth: of the full diameter, mm.
        spindle_rpm: rpm.
        feed: mm per revolution.
        holes: how many.
        point: :func:`point_length`, added to the way, mm.
        approach: above the surface and, through a part, below it, mm.

    Returns:
        Minutes.

    Raises:
        OutOfRange: a number that is none.

    Source: l = n f t. Checked in tests/published/test_lzq_drilling.py.

    >>> round(drilling_minutes(30, 1350, 0.2, holes=5) * 60, 1)
    33.3
    """
    over_zero("a depth", depth, "mm")
    over_zero("a spindle speed", spindle_rpm, "rpm")
    over_zero("a feed", feed, "mm")
    way = depth + at_least_zero("a point", point, "mm") + at_least_zero("an approach", approach, "mm")
    return way * whole_number("a number of holes", holes) / (spindle_rpm * feed)


# depth over diameter from | less speed, % low high | less feed, %
_DEEPER: Final = ((3, 10, 10, 10), (4, 20, 20, 10), (5, 30, 30, 20), (6, 35, 40, 20))
DEEPER_SOURCE: Final = "metal drilling reference guide, deep hole drilling (studylib.net 18232362)"
DEEPEST: Final = 10
"""Depth over diameter where the rules for a twist drill end. Common practice."""


class DepthAdvice(NamedTuple):
    """How a deep hole is drilled.

    Attributes:
        ratio: depth over diameter.
        speed: factor on the cutting speed, (low, high).
        feed: factor on the feed.
        pecks: depth reached by each peck, mm, the last is the hole's; one entry when none is needed.
        source: of the factors and of the pecks.
    """

    ratio: float
    speed: tuple[float, float]
    feed: float
    pecks: tuple[float, ...]
    source: str


def depth_advice(depth: float, diameter: float) -> DepthAdvice:
    """Pecks and reduced speed and feed of a hole that deep, for a twist drill without coolant through it.

    Pecks: to two diameters at once (three when that is all), then a diameter at a time to six, then half a
    diameter. A through-coolant or parabolic drill needs few or none; a gummy material more.

    Args:
        depth: mm.
        diameter: mm.

    Returns:
        The advice.

    Raises:
        OutOfRange: deeper than ten diameters, where this rule ends.

    Source: factors :data:`DEEPER_SOURCE`; first two diameters in one step: Kennametal Greenfield, *Technical tips*;
    the rest common practice. Checked in tests/published/test_drilling_guide_deep_holes.py.

    >>> depth_advice(50, 10).pecks
    (20, 30, 40, 50)
    """
    ratio = over_zero("a depth", depth, "mm") / over_zero("a drill diameter", diameter, "mm")
    if ratio > DEEPEST * (1 + 1e-9):
        raise OutOfRange(
            f"{depth:g} mm is {ratio:.3g} diameters of a {diameter:g} mm drill; the rules for twist drills end at "
            f"{DEEPEST}: use a gun drill, drill from both sides, or ask the maker"
        )
    less = [row for row in _DEEPER if ratio >= row[0]]
    _, least, most, feed = less[-1] if less else (0, 0, 0, 0)
    source = f"speed and feed: {DEEPER_SOURCE}; pecks: common practice"
    speed = (1 - most / 100, 1 - least / 100)
    return DepthAdvice(ratio, speed, 1 - feed / 100, _pecks(depth, diameter), source)


def _pecks(depth: float, diameter: float) -> tuple[float, ...]:
    if depth <= 3 * diameter:
        return (depth,)
    whole = [n * diameter for n in range(2, 7)]
    half = [(6 + n / 2) * diameter for n in range(1, ceil(2 * (depth / diameter - 6)) + 1)]
    return (*(reached for reached in whole + half if reached < depth * (1 - 1e-9)), depth)
