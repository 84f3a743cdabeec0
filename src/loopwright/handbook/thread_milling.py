"""Thread milling: where the cutter's centre runs for a wanted pitch diameter, how fast, and in how many passes.

60° threads; their depth and passes of equal area are in :mod:`loopwright.handbook.threads_form`. Left out: a
straight cutter in a helical groove cuts the flanks a little wide, the more the nearer the cutter comes to the
thread's diameter; gauge the first thread and move the path.
"""

from math import atan, ceil, pi, radians, tan
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import over_zero, whole_number, within
from loopwright.handbook.cutting_geometry import centre_feed_inside, centre_feed_outside

LARGEST_CUTTER: Final = (0.65, 0.80)
"""Cutter over major diameter of an internal thread, at most: coarse and fine pitch. Common practice."""

# pitch, mm: radial depth of each pass, mm
_PASSES: Final = {
    0.50: "0.158 0.131",
    0.70: "0.221 0.183",
    0.75: "0.168 0.138 0.127",
    0.80: "0.224 0.185 0.135",
    1.00: "0.224 0.185 0.168",
    1.25: "0.228 0.188 0.173 0.133",
    1.50: "0.237 0.196 0.179 0.138 0.116",
    1.75: "0.277 0.228 0.209 0.161 0.135",
    2.00: "0.283 0.234 0.214 0.164 0.138 0.122",
    2.50: "0.323 0.267 0.244 0.187 0.158 0.139 0.125",
    3.00: "0.387 0.320 0.293 0.225 0.189 0.167 0.151",
}
PASSES: Final = MappingProxyType({pitch: tuple(map(float, row.split())) for pitch, row in _PASSES.items()})
"""Radial depth of each pass for internal metric threads by pitch, mm. Dormer Pramet, milling catalogue
2021-2022, p. 311; harder materials want more passes."""


class ThreadPath(NamedTuple):
    """Path of a thread mill.

    Attributes:
        radius: of the circle of the cutter's centre, mm.
        centre_feed: feed speed of the centre along that circle, mm/min.
        lead: axial way for each turn, mm.
        lead_angle: of the path of the centre, rad.
        advice: which way round and along, for climb milling of a right-hand thread.
    """

    radius: float
    centre_feed: float
    lead: float
    lead_angle: float
    advice: str


def thread_path(
    pitch_diameter: float,
    pitch: float,
    cutter: float,
    feed_speed_mm_min: float,
    *,
    internal: bool = True,
    tip_flat: float | None = None,
    starts: int = 1,
) -> ThreadPath:
    r"""Path of the centre of a thread mill that leaves a wanted pitch diameter.

    The tooth is P/2 wide at the distance x from its tip, x = (P/2 - w) / (2 tan 30°); there is the cutter's
    own pitch line. Inside, the centre runs on

    .. math:: r = \tfrac12\left(D_2 - (d - 2x)\right),

    outside on half the sum. Aim at the middle of the pitch diameter's limits; correct the radius by half of
    what the gauge says.

    Args:
        pitch_diameter: D_2 wanted, mm.
        pitch: P, mm.
        cutter: d over the tips of the teeth, mm.
        feed_speed_mm_min: at the wall, mm/min.
        internal: True for a nut thread.
        tip_flat: w, flat at the tip of a tooth, mm; P/8 (full form, ISO 68-1) when None. Measure it on a single
            form cutter, or take the maker's.
        starts: of the thread.

    Returns:
        The path.

    Raises:
        OutOfRange: a cutter that does not go into the thread, or a tip wider than the groove.

    Source: geometry of ISO 68-1. Checked in tests/rooms/test_cutting.py.

    >>> round(thread_path(9.026, 1.5, 6.0, 300).radius, 3)
    2.0
    """
    over_zero("a pitch diameter", pitch_diameter, "mm")
    own = _own_pitch_diameter(pitch, cutter, pitch / 8 if tip_flat is None else tip_flat)
    lead = pitch * whole_number("a number of starts", starts)
    over_zero("a feed speed", feed_speed_mm_min, "mm/min")
    wall = pitch_diameter + (cutter - own)
    if internal:
        if wall <= cutter or pitch_diameter <= own:
            raise OutOfRange(
                f"a thread mill of {cutter:g} mm does not go into a thread of {pitch_diameter:g} mm pitch diameter; "
                f"take one under {LARGEST_CUTTER[1] * wall:.3g} mm"
            )
        radius, centre = (pitch_diameter - own) / 2, centre_feed_inside(feed_speed_mm_min, wall, cutter)
        advice = "climb: bottom to top, counter-clockwise seen from the spindle, spindle clockwise"
    else:
        root = pitch_diameter - (cutter - own)
        over_zero("a core diameter", root, "mm")
        radius, centre = (pitch_diameter + own) / 2, centre_feed_outside(feed_speed_mm_min, root, cutter)
        advice = "climb: top to bottom, clockwise seen from the spindle, spindle clockwise"
    return ThreadPath(radius, centre, lead, atan(lead / (2 * pi * radius)), advice)


def _own_pitch_diameter(pitch: float, cutter: float, tip_flat: float) -> float:
    over_zero("a pitch", pitch, "mm")
    over_zero("a cutter diameter", cutter, "mm")
    within("a tip flat", tip_flat, 0, pitch / 2, "mm", "it must be under half the pitch to cut the groove")
    own = cutter - 2 * (pitch / 2 - tip_flat) / (2 * tan(radians(30)))
    return over_zero("a cutter's pitch diameter", own, "mm")


def entry_rise(lead: float, arc: float = pi) -> float:
    """Axial way during an arc of entry, mm, so that the cutter is on the helix when it meets the wall.

    Args:
        lead: axial way for each turn, mm.
        arc: angle of the arc of entry, rad; half a turn is usual.

    Returns:
        mm.

    Raises:
        OutOfRange: no lead, or an arc outside 0 to a turn.

    >>> entry_rise(1.5)
    0.75
    """
    within("an arc of entry", arc, 0, 2 * pi, "rad", "a quarter or half a turn is usual")
    return over_zero("a lead", lead, "mm") * arc / (2 * pi)


def passes_for_deflection(one_pass: float, limit: float, *, most: int = 20) -> int:
    """Passes of equal area so that the last one bends the cutter no more than a limit.

    The force is taken in proportion to the area of the chip; a thinner chip needs relatively more, so one pass
    without depth at the end is good practice.

    Args:
        one_pass: deflection if the whole thread were cut at once, mm.
        limit: deflection allowed in the last pass, mm; a quarter of the pitch diameter's tolerance is common
            practice.
        most: passes beyond which the cutter is too slender.

    Returns:
        Number of passes.

    Raises:
        OutOfRange: more passes than ``most``.

    Source: area of chip; no publication claimed.

    >>> passes_for_deflection(0.020, 0.006)
    4
    """
    over_zero("a deflection", one_pass, "mm")
    over_zero("a limit of deflection", limit, "mm")
    count = max(1, ceil(one_pass / limit * (1 - 1e-9)))
    if count > most:
        raise OutOfRange(
            f"{one_pass * 1000:.3g} µm of bending against {limit * 1000:.3g} µm allowed asks for {count} passes; "
            "take a shorter or thicker cutter, or fewer teeth along the thread"
        )
    return count


def gauge_correction(found: float, wanted: float) -> float:
    """Change of the path's radius after the first thread was measured, inside or outside.

    Args:
        found: pitch diameter measured, mm.
        wanted: mm.

    Returns:
        mm: half the difference; positive moves the cutter's centre outward.

    Raises:
        OutOfRange: a diameter that is none.

    >>> round(gauge_correction(9.000, 9.026), 3)
    0.013
    """
    over_zero("a pitch diameter", found, "mm")
    over_zero("a pitch diameter", wanted, "mm")
    return (wanted - found) / 2
