"""Spindle speeds, feed speeds and minutes, and the geometry of circular and helical milling.

Cutting speed is m/min, as the trade says it; feed speeds are mm/min, times minutes, angles radians.
"""

from math import atan, hypot, pi, sqrt, tan
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import at_least_zero, over_zero, whole_number, within

FEET: Final = 0.3048
"""One foot, m."""

INCH: Final = 25.4
"""One inch, mm."""

SpeedRule = Literal["exact", "times four"]
"""'exact': v / π d. 'times four': 4 × ft/min over inches, the shop's rule in the head, 4.7 % high."""

SPEED_RULES: Final[tuple[SpeedRule, ...]] = ("exact", "times four")

RAMP_ANGLES: Final = MappingProxyType(
    {
        "aluminium, copper alloys, plastics": (2.0, 8.0),
        "steel and iron": (1.0, 3.0),
        "stainless steel and titanium": (0.5, 2.0),
        "hardened steel": (0.5, 1.0),
    }
)
"""Ramp angle at the centre of the cutter for a helical entry with an end mill that cuts to its centre, degrees
(low, high). Common practice; the tool's own limit comes first."""


def rpm(speed_m_min: float, diameter: float, rule: SpeedRule = "exact") -> float:
    r"""Spindle speed for a cutting speed.

    .. math:: n = 1000\,v / (\pi d) = 12\,v_\mathrm{ft/min} / (\pi d_\mathrm{in}),
        \quad\text{or}\quad 4\,v_\mathrm{ft/min} / d_\mathrm{in}

    Args:
        speed_m_min: v, m/min.
        diameter: d of the tool, or of the work on a lathe, mm.
        rule: 'exact' or 'times four'; say which when the result is shown.

    Returns:
        Revolutions per minute.

    Raises:
        OutOfRange: a speed or diameter of zero or less, or another rule.

    Source: both rules stand in Grizzly, *G0619 manual*, p. 26, and any machinist's handbook.
    Checked in tests/published/test_grizzly_g0619.py.

    >>> round(rpm(100, 10)), round(rpm(300 * FEET, 0.5 * INCH)), round(rpm(300 * FEET, 0.5 * INCH, "times four"))
    (3183, 2292, 2400)
    """
    over_zero("a cutting speed", speed_m_min, "m/min")
    over_zero("a diameter", diameter, "mm")
    if rule == "times four":
        return 4 * (speed_m_min / FEET) / (diameter / INCH)
    if rule != "exact":
        raise OutOfRange(f"no rule '{rule}' for the spindle speed; use one of {', '.join(SPEED_RULES)}")
    return 1000 * speed_m_min / (pi * diameter)


def cutting_speed(spindle_rpm: float, diameter: float) -> float:
    """Cutting speed, m/min, of a spindle speed in rpm at a diameter in mm; exact.

    >>> round(cutting_speed(1350, 12), 1)
    50.9
    """
    over_zero("a spindle speed", spindle_rpm, "rpm")
    return pi * over_zero("a diameter", diameter, "mm") * spindle_rpm / 1000


def feed_speed(spindle_rpm: float, feed_per_tooth: float, teeth: int = 1) -> float:
    """Feed speed v_f = n z f_z.

    Args:
        spindle_rpm: n.
        feed_per_tooth: f_z, mm; feed per revolution when teeth is 1.
        teeth: z.

    Returns:
        mm/min.

    Raises:
        OutOfRange: a number that is none.

    >>> feed_speed(1350, 0.2)
    270.0
    """
    over_zero("a spindle speed", spindle_rpm, "rpm")
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    return spindle_rpm * feed_per_tooth * whole_number("a number of teeth", teeth)


def feed_per_tooth(feed_speed_mm_min: float, spindle_rpm: float, teeth: int = 1) -> float:
    """Feed per tooth, mm, of a feed speed in mm/min.

    >>> round(feed_per_tooth(280, 101.91, 12), 3)
    0.229
    """
    over_zero("a feed speed", feed_speed_mm_min, "mm/min")
    over_zero("a spindle speed", spindle_rpm, "rpm")
    return feed_speed_mm_min / (spindle_rpm * whole_number("a number of teeth", teeth))


def minutes(
    length: float, feed_speed_mm_min: float, *, approach: float = 0.0, overrun: float = 0.0, passes: int = 1
) -> float:
    """Minutes that the tool feeds; rapid moves, tool changes and measuring are not in it.

    Args:
        length: of the cut, mm.
        feed_speed_mm_min: mm/min.
        approach: before the cut, mm; for a mill :func:`mill_approach`.
        overrun: after it, mm.
        passes: how often.

    Returns:
        Minutes.

    Raises:
        OutOfRange: a number that is none.

    >>> minutes(270, 270, passes=2)
    2.0
    """
    over_zero("a length", length, "mm")
    at_least_zero("an approach", approach, "mm")
    at_least_zero("an overrun", overrun, "mm")
    way = (length + approach + overrun) * whole_number("a number of passes", passes)
    return way / over_zero("a feed speed", feed_speed_mm_min, "mm/min")


def mill_approach(width: float, diameter: float, *, centred: bool = False) -> float:
    """Way from first touch until a mill cuts its full width.

    Args:
        width: a_e, mm, up to D.
        diameter: D, mm.
        centred: True for a face mill on the middle of the surface, False for a side cut.

    Returns:
        mm.

    Raises:
        OutOfRange: a width beyond the diameter.

    Source: geometry.

    >>> mill_approach(5, 10), round(mill_approach(80, 100, centred=True), 6)
    (5.0, 20.0)
    """
    over_zero("a width of cut", width, "mm")
    over_zero("a diameter", diameter, "mm")
    within("a width over diameter", width / diameter, 0, 1 + 1e-9, "", "a cutter cuts no wider than it is")
    width = min(width, diameter)
    if centred:
        return (diameter - sqrt(diameter**2 - width**2)) / 2
    return sqrt(width * (diameter - width))


def sawing_minutes(area_mm2: float, rate_cm2_min: float) -> float:
    """Minutes to saw a section of that area, mm², at that many cm² a minute.

    >>> sawing_minutes(5000, 25)
    2.0
    """
    over_zero("a section", area_mm2, "mm²")
    return area_mm2 / 100 / over_zero("a sawing rate", rate_cm2_min, "cm²/min")


def centre_feed_inside(feed_speed_mm_min: float, hole: float, cutter: float) -> float:
    r"""Feed speed of the cutter's centre, when its edge shall feed along the wall of a hole.

    .. math:: v_c = v_f (D - d) / D

    A control that feeds the centre at v_f would feed the edge faster by D / (D - d): in a narrow hole several
    times the chip.

    Args:
        feed_speed_mm_min: v_f at the wall, mm/min.
        hole: D that is cut, mm.
        cutter: d, mm, less than D.

    Returns:
        mm/min.

    Raises:
        OutOfRange: a cutter that does not go into the hole.

    Source: geometry. Checked in tests/rooms/test_cutting.py.

    >>> round(centre_feed_inside(300, 30, 20), 6)
    100.0
    """
    over_zero("a feed speed", feed_speed_mm_min, "mm/min")
    return feed_speed_mm_min * _orbit(hole, cutter) / hole


def centre_feed_outside(feed_speed_mm_min: float, boss: float, cutter: float) -> float:
    """Feed speed of the cutter's centre around a boss of diameter D: v_f (D + d) / D.

    Args:
        feed_speed_mm_min: v_f at the wall, mm/min.
        boss: D, mm.
        cutter: d, mm.

    Returns:
        mm/min.

    Raises:
        OutOfRange: a diameter of zero or less.

    >>> round(centre_feed_outside(300, 30, 20), 6)
    500.0
    """
    over_zero("a feed speed", feed_speed_mm_min, "mm/min")
    over_zero("a boss", boss, "mm")
    return feed_speed_mm_min * (boss + over_zero("a cutter diameter", cutter, "mm")) / boss


class Helix(NamedTuple):
    """A helical entry.

    Attributes:
        orbit: diameter of the circle of the cutter's centre, mm.
        pitch: depth for each turn, mm.
        ramp_angle: at the cutter's centre, rad.
        turns: down to depth, and one flat turn to finish the floor.
        centre_feed: along the helix of the centre, mm/min.
        minutes: of feeding, the flat turn included.
    """

    orbit: float
    pitch: float
    ramp_angle: float
    turns: float
    centre_feed: float
    minutes: float


def helical_entry(
    hole: float, cutter: float, depth: float, *, ramp_angle: float, feed_speed_mm_min: float
) -> Helix:
    """Path and time of a helix that opens a hole in the solid.

    The edge at the wall moves along its own, longer and flatter helix at the wanted feed speed; the centre
    follows in the same time. For a hole much larger than the cutter that becomes a straight ramp.

    Args:
        hole: D, mm; :func:`helical_holes` says which can be cut.
        cutter: d, mm.
        depth: of the hole, mm.
        ramp_angle: at the cutter's centre, rad, over 0 up to 45°; :data:`RAMP_ANGLES`.
        feed_speed_mm_min: along the wall, mm/min.

    Returns:
        The helix.

    Raises:
        OutOfRange: a cutter that does not go into the hole, or a number that is none.

    Source: geometry. Checked in tests/rooms/test_cutting.py and tests/laws/test_cutting_laws.py.

    >>> found = helical_entry(30, 20, 10, ramp_angle=0.05, feed_speed_mm_min=300)
    >>> round(found.pitch, 3), round(found.centre_feed, 1)
    (1.572, 100.1)
    """
    orbit = _orbit(hole, cutter)
    over_zero("a depth", depth, "mm")
    over_zero("a feed speed", feed_speed_mm_min, "mm/min")
    within("a ramp angle", ramp_angle, 1e-6, pi / 4, "rad", "0.5° to 8° are usual")
    pitch = pi * orbit * tan(ramp_angle)
    centre, wall = hypot(pi * orbit, pitch), hypot(pi * hole, pitch)
    down = depth / pitch
    time = (down * wall + pi * hole) / feed_speed_mm_min
    return Helix(orbit, pitch, ramp_angle, down + 1, feed_speed_mm_min * centre / wall, time)


def ramp_angle(hole: float, cutter: float, pitch: float) -> float:
    """Ramp angle at the cutter's centre, rad, of a helix with that depth for each turn, mm.

    >>> round(ramp_angle(30, 20, pi * 10 * tan(0.05)), 6)
    0.05
    """
    return atan(over_zero("a pitch", pitch, "mm") / (pi * _orbit(hole, cutter)))


class HelicalHoles(NamedTuple):
    """Smallest and largest hole, mm, that one helix opens in the solid, and advice for a centre cutter, mm."""

    smallest: float
    largest: float
    advised_smallest: float


def helical_holes(cutter: float, *, corner_radius: float = 0.0, dead_centre: float = 0.0) -> HelicalHoles:
    """Holes that a cutter can open in the solid on one helix.

    Larger holes leave a core that the corner cannot reach: start inside, then widen. Smaller ones press the
    part of the face that does not cut onto the floor.

    Args:
        cutter: d, mm.
        corner_radius: r of the teeth, mm.
        dead_centre: diameter in the middle of the face where nothing cuts, mm; 0 for a centre cutter,
            d less twice the width of the insert for an indexable one.

    Returns:
        smallest d + dead_centre; largest 2 (d - r); advised_smallest 1.1 d or the smallest, whichever is more
        (common practice: room for chips).

    Raises:
        OutOfRange: a corner or a dead centre larger than the cutter.

    Source: geometry; it gives the limits 2 D - 16 and 2 D - 3 mm of Kyocera, general catalogue 2021-2022, p. M136.
    Checked in tests/published/test_kyocera_helical_milling.py.

    >>> helical_holes(20, corner_radius=1)
    HelicalHoles(smallest=20.0, largest=38.0, advised_smallest=22.0)
    """
    over_zero("a cutter diameter", cutter, "mm")
    within("a corner radius", corner_radius, 0, cutter / 2, "mm", "it is at most half the cutter")
    within("a dead centre", dead_centre, 0, cutter, "mm", "it lies within the cutter")
    smallest = float(cutter + dead_centre)
    largest = 2.0 * (cutter - corner_radius)
    if largest < smallest:
        raise OutOfRange(
            f"a cutter of {cutter:g} mm with a dead centre of {dead_centre:g} mm and a corner of "
            f"{corner_radius:g} mm opens no hole in the solid; drill first"
        )
    return HelicalHoles(smallest, largest, max(smallest, 1.1 * cutter))


def _orbit(hole: float, cutter: float) -> float:
    over_zero("a cutter diameter", cutter, "mm")
    over_zero("a hole", hole, "mm")
    if cutter >= hole:
        raise OutOfRange(
            f"a cutter of {cutter:g} mm cannot circle in a hole of {hole:g} mm; take one under {hole / 1.1:.3g} mm"
        )
    return hole - cutter
