"""The roughness that feed and edge alone would leave: turning, boring, milling, fly cutting.

It is a floor. Built-up edge, wear, run-out and vibration add to it; 1.5 to 3 times as much is usual (common
practice). Heights are mm, as everything inside; a drawing says µm.
"""

from math import asin, cos, pi, sin, sqrt, tan
from typing import Final, Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import at_least_zero, over_zero, whole_number, within

HeightRule = Literal["circle", "parabola"]
"""'circle': exact arcs. 'parabola': f²/8r, the handbooks' rule."""

RaRule = Literal["arc", "quarter", "circle"]
"""'arc': f²/(18√3 r), mean of the parabola. 'quarter': a fourth of f²/8r, f²/32r. 'circle': exact arcs."""

HEIGHT_RULES: Final[tuple[HeightRule, ...]] = ("circle", "parabola")
RA_RULES: Final[tuple[RaRule, ...]] = ("arc", "quarter", "circle")


def height(feed: float, radius: float, rule: HeightRule = "circle") -> float:
    r"""Theoretical height Rt of the ridges between neighbouring passes of a round nose.

    .. math:: R_t = r - \sqrt{r^2 - f^2/4} \approx f^2 / 8 r

    Args:
        feed: f, mm per revolution; for a ball nose the distance between passes.
        radius: r of nose or ball, mm.
        rule: 'circle' or 'parabola'; say which when the result is shown.

    Returns:
        Rt, mm.

    Raises:
        OutOfRange: a feed over twice the radius, where the nose ends, or another rule.

    Source: geometry. Checked in tests/rooms/test_cutting.py.

    >>> round(height(0.2, 0.8) * 1000, 3), round(height(0.2, 0.8, "parabola") * 1000, 3)
    (6.275, 6.25)
    """
    _nose(feed, radius)
    if rule == "parabola":
        return feed**2 / (8 * radius)
    if rule != "circle":
        raise OutOfRange(f"no rule '{rule}' for the height; use one of {', '.join(HEIGHT_RULES)}")
    return feed**2 / 4 / (radius + sqrt(max(radius**2 - feed**2 / 4, 0.0)))


def mean_roughness(feed: float, radius: float, rule: RaRule = "arc") -> float:
    r"""Theoretical mean roughness Ra left by a round nose.

    .. math:: R_a = \frac{f^2}{18\sqrt3\, r}\ \text{(arc)},\qquad R_a = \frac{f^2}{32\, r}\ \text{(quarter)}

    Args:
        feed: f, mm per revolution.
        radius: r, mm.
        rule: 'arc', 'quarter' or 'circle'; say which when the result is shown.

    Returns:
        Ra, mm.

    Raises:
        OutOfRange: a feed over twice the radius, or another rule.

    Source: mean of the parabola about its mean line; the rule of the quarter is common practice. Checked in
    tests/rooms/test_cutting.py.

    >>> [round(mean_roughness(0.2, 0.8, rule) * 1000, 2) for rule in RA_RULES]
    [1.6, 1.56, 1.61]
    """
    _nose(feed, radius)
    if rule == "quarter":
        return feed**2 / (32 * radius)
    if rule == "arc":
        return feed**2 / (18 * sqrt(3) * radius)
    if rule != "circle":
        raise OutOfRange(f"no rule '{rule}' for Ra; use one of {', '.join(RA_RULES)}")
    return _mean_of_circle(feed / 2, radius)


def _mean_of_circle(half: float, radius: float) -> float:
    """Mean distance of a circular arc of that half width from its mean line."""
    half = min(half, radius)

    def area(x: float) -> float:
        """Under the circle from 0 to x."""
        return (x * sqrt(max(radius**2 - x**2, 0.0)) + radius**2 * asin(x / radius)) / 2

    mean = area(half) / half
    crossing = sqrt(max(radius**2 - mean**2, 0.0))
    return 2 * (area(crossing) - mean * crossing) / half


def feed_for_roughness(ra: float, radius: float, rule: RaRule = "arc") -> float:
    """Feed at which the theoretical Ra is reached.

    Args:
        ra: Ra, mm.
        radius: r of the nose, mm.
        rule: 'arc' or 'quarter'.

    Returns:
        Feed, mm per revolution.

    Raises:
        OutOfRange: no Ra, a feed over twice the radius, or a rule that cannot be solved for the feed.

    >>> round(feed_for_roughness(0.0016, 0.8), 4)
    0.1998
    """
    over_zero("an Ra", ra, "mm")
    over_zero("a nose radius", radius, "mm")
    if rule not in ("arc", "quarter"):
        raise OutOfRange(f"the rule '{rule}' is not solved for the feed; use arc or quarter")
    feed = sqrt(ra * radius * (32 if rule == "quarter" else 18 * sqrt(3)))
    _nose(feed, radius)
    return feed


def height_of_sharp_edge(feed: float, edge_angle: float, end_angle: float) -> float:
    r"""Height of the ridges left by an edge without nose radius.

    .. math:: R_t = f / (\cot\kappa + \cot\kappa')

    Args:
        feed: f, mm per revolution.
        edge_angle: κ, of the leading edge, rad.
        end_angle: κ', of the trailing edge against the surface, rad.

    Returns:
        Rt, mm.

    Raises:
        OutOfRange: an angle outside 0 to 90°.

    Source: geometry.

    >>> round(height_of_sharp_edge(0.1, pi / 4, pi / 4), 6)
    0.05
    """
    over_zero("a feed", feed, "mm")
    for angle in (edge_angle, end_angle):
        within("an edge angle", angle, 1e-6, pi / 2, "rad", "give over 0 up to 90°")
    return feed / (1 / tan(edge_angle) + 1 / tan(end_angle))


def side_milling_height(
    feed_per_tooth: float, diameter: float, teeth: int = 1, *, climb: bool = True, one_tooth: bool = False
) -> float:
    r"""Height of the marks on a wall behind an end mill.

    .. math:: R_t = \frac{f_z^2}{8\,(D/2 \mp f_z z/\pi)}

    minus for climb milling, where the tooth leaves the wall along a tighter path.

    Args:
        feed_per_tooth: f_z, mm.
        diameter: D, mm.
        teeth: z.
        climb: True for climb milling.
        one_tooth: True when run-out, as is usual, lets one tooth make the wall: the feed per revolution counts.

    Returns:
        Rt, mm.

    Raises:
        OutOfRange: a feed per revolution that is no feed against the diameter.

    Source: M. E. Martellotti, Trans. ASME 63 (1941) 677 (from memory). Checked in tests/rooms/test_cutting.py.

    >>> round(side_milling_height(0.1, 10, 4, one_tooth=True) * 1000, 1)
    4.1
    """
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    over_zero("a cutter diameter", diameter, "mm")
    per_turn = feed_per_tooth * whole_number("a number of teeth", teeth)
    radius = diameter / 2 - (1 if climb else -1) * per_turn / pi
    if per_turn > diameter / 4:
        raise OutOfRange(
            f"a feed of {per_turn:g} mm per revolution is too coarse for a cutter of {diameter:g} mm here; "
            "the formula holds up to a quarter of the diameter"
        )
    return (per_turn if one_tooth else feed_per_tooth) ** 2 / (8 * radius)


def face_milling_height(
    feed_per_tooth: float, corner_radius: float, teeth: int = 1, *, one_tooth: bool = True
) -> float:
    """Height of the feed marks of a face mill or fly cutter with round corners, mm.

    Args:
        feed_per_tooth: f_z, mm.
        corner_radius: r of the insert or the fly tool, mm.
        teeth: z.
        one_tooth: True (usual) when the lowest tooth makes the surface: the feed per revolution counts.

    Returns:
        Rt, mm, exact arcs.

    Raises:
        OutOfRange: a feed over twice the corner radius: give the tool a flat or feed less.

    Source: geometry, as :func:`height`.

    >>> round(face_milling_height(0.1, 0.8, 4) * 1000, 1)
    25.4
    """
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    count = whole_number("a number of teeth", teeth)
    return height(feed_per_tooth * (count if one_tooth else 1), corner_radius)


def dish_by_tilt(diameter: float, width: float, tilt: float) -> float:
    r"""Hollow across a surface, when the spindle leans in the direction of feed.

    .. math:: s = \left(R - \sqrt{R^2 - w^2/4}\right) \sin\theta

    Args:
        diameter: over the cutting points, mm.
        width: w of the surface, mm, up to the diameter.
        tilt: θ of the spindle from square, rad, under 0.1.

    Returns:
        Hollow in the middle, mm.

    Raises:
        OutOfRange: a width beyond the diameter, or a tilt that is no tilt.

    Source: the path of the points is an ellipse seen along the feed; geometry. Checked in
    tests/rooms/test_cutting.py.

    >>> round(dish_by_tilt(80, 50, 0.0001) * 1000, 2)
    0.88
    """
    _tilt(tilt)
    over_zero("a diameter", diameter, "mm")
    over_zero("a width", width, "mm")
    within("a width over diameter", width / diameter, 0, 1, "", "the cutter must reach across")
    radius = diameter / 2
    return (radius - sqrt(radius**2 - width**2 / 4)) * sin(abs(tilt))


def step_by_tilt(distance: float, tilt: float) -> float:
    """Step between two passes side by side, when the spindle leans across the feed: distance times tan θ, mm.

    Args:
        distance: between the passes, mm.
        tilt: θ, rad, under 0.1.

    Returns:
        mm.

    Raises:
        OutOfRange: a distance that is none, or a tilt that is no tilt.

    >>> round(step_by_tilt(30, 0.0001) * 1000, 3)
    3.0
    """
    _tilt(tilt)
    return over_zero("a distance", distance, "mm") * tan(abs(tilt))


def flat_edge_height(feed: float, tilt: float) -> float:
    """Height of the feed marks of an edge ground flat, longer than the feed, at a tilt in feed direction, mm.

    Args:
        feed: mm per revolution of the tooth that makes the surface.
        tilt: of the flat against the surface, rad, under 0.1.

    Returns:
        Rt, mm: f sin θ cos θ, a saw tooth.

    Raises:
        OutOfRange: a feed that is none, or a tilt that is no tilt.

    >>> round(flat_edge_height(0.2, 0.001) * 1000, 2)
    0.2
    """
    _tilt(tilt)
    return over_zero("a feed", feed, "mm") * sin(abs(tilt)) * cos(tilt)


def _nose(feed: float, radius: float) -> None:
    over_zero("a feed", feed, "mm")
    over_zero("a nose radius", radius, "mm")
    if feed > 2 * radius * (1 + 1e-12):
        raise OutOfRange(
            f"a feed of {feed:g} mm is over twice the nose radius of {radius:g} mm: the round nose no longer "
            f"makes the surface; feed at most {2 * radius:g} mm"
        )


def _tilt(tilt: float) -> None:
    at_least_zero("a tilt", abs(tilt), "rad")
    within("a tilt", abs(tilt), 0, 0.1, "rad", "give the angle from square; 0.1 mm/m is 0.0001 rad")
