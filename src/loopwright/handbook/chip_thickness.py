"""How thick a milling chip is, what feed keeps a wanted chip, and when an edge rubs instead of cutting.

A tooth at angle φ, counted from the side where the path of the teeth is parallel to the feed, cuts a chip of
h = f_z sin κ sin φ. The feed is taken as small against the diameter, so the path of a tooth is a circle.

κ is the tool cutting edge angle of ISO 3002-1: 90° for an end mill, 45° for a 45° face mill. What North
American books call lead angle is 90° - κ.
"""

from math import acos, asin, pi, sin, sqrt
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import over_zero, within

ChipRule = Literal["arc mean", "root"]
"""'arc mean': the mean over the arc of engagement, exact. 'root': f_z √(a_e/D), the shop's rule up to D/2."""

CHIP_RULES: Final[tuple[ChipRule, ...]] = ("arc mean", "root")

LEAST_CHIP: Final = (0.2, 0.4)
"""Least chip thickness as a share of the radius of the cutting edge: (below it rubs, above it cuts)."""

LEAST_CHIP_SOURCE: Final = (
    "common practice, 0.2 to 0.4 of the edge radius; usual range of published values 0.14 to 0.43, and 0.60 to "
    "0.68 in micro helical milling: Cheng and others, Int. J. Adv. Manuf. Technol. 97 (2018) 3119"
)


class EdgeRadius(NamedTuple):
    """Radius of the cutting edge as tools come, mm: (low, high), and where that is known from."""

    low: float
    high: float
    source: str


EDGE_RADII: Final = MappingProxyType(
    {
        "single crystal diamond": EdgeRadius(0.00005, 0.0005, "from memory"),
        "polycrystalline diamond": EdgeRadius(0.002, 0.008, "from memory"),
        "ground HSS": EdgeRadius(0.004, 0.012, "from memory"),
        "ground carbide": EdgeRadius(0.003, 0.010, "from memory"),
        "coated carbide end mill": EdgeRadius(0.006, 0.015, "from memory"),
        "honed carbide insert": EdgeRadius(0.020, 0.060, "from memory"),
    }
)
"""Usual radii of new edges. A worn edge is rounder: measure it where it matters."""


class Engagement(NamedTuple):
    """The arc over which a tooth is in the cut, rad, counted from the side parallel to the feed."""

    start: float
    end: float

    @property
    def angle(self) -> float:
        """Length of the arc, rad."""
        return self.end - self.start


def side_engagement(width: float, diameter: float) -> Engagement:
    r"""Arc of engagement of a cutter that mills a wall.

    .. math:: \varphi = \arccos(1 - 2 a_e / D)

    Args:
        width: a_e, radial depth of cut, mm, over 0 up to the diameter.
        diameter: D of the cutter, mm.

    Returns:
        The arc, from 0; a slot gives π.

    Raises:
        OutOfRange: a width beyond the diameter.

    Source: geometry.

    >>> round(side_engagement(5, 10).angle, 4)
    1.5708
    """
    _width(width, diameter)
    # the same arc, and not lost in rounding where the width is next to nothing
    return Engagement(0.0, 2 * asin(sqrt(min(width / diameter, 1.0))))


def face_engagement(width: float, diameter: float, offset: float = 0.0) -> Engagement:
    """Arc of engagement of a face mill or fly cutter across a surface.

    Args:
        width: a_e, width of the surface in the cut, mm.
        diameter: D over the edges, mm.
        offset: of the cutter's axis from the middle of the width, mm; either sign.

    Returns:
        The arc. In the middle of a surface it lies evenly about π/2.

    Raises:
        OutOfRange: the cutter does not reach across the width.

    Source: geometry.

    >>> face_engagement(80, 80).angle / pi
    1.0
    """
    _width(width, diameter)
    radius = diameter / 2
    near, far = -offset - width / 2, -offset + width / 2
    if not (near >= -radius * (1 + 1e-9) and far <= radius * (1 + 1e-9)):
        raise OutOfRange(
            f"a cutter of {diameter:g} mm set {offset:g} mm off does not reach across {width:g} mm; "
            f"the offset may be at most {(diameter - width) / 2:g} mm"
        )
    return Engagement(acos(_unit(-near / radius)), acos(_unit(-far / radius)))


def mean_chip(feed_per_tooth: float, engagement: Engagement, *, edge_angle: float = pi / 2) -> float:
    r"""Mean chip thickness over the arc of engagement, exact.

    .. math:: h_m = f_z \sin\kappa\;
        \frac{\cos\varphi_1 - \cos\varphi_2}{\varphi_2 - \varphi_1}

    Args:
        feed_per_tooth: f_z, mm.
        engagement: the arc.
        edge_angle: κ, rad, over 0 up to π/2.

    Returns:
        Mean chip thickness, mm.

    Raises:
        OutOfRange: a feed of zero or less, an arc of none, or an edge angle that is none.

    Source: mean of f_z sin κ sin φ; M. E. Martellotti, Trans. ASME 63 (1941) 677 (from memory), circular path.
    Checked in tests/rooms/test_cutting.py.

    >>> round(mean_chip(0.05, side_engagement(1, 10)), 5)
    0.01554
    """
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    half = over_zero("an arc of engagement", engagement.angle, "rad") / 2
    middle = (engagement.start + engagement.end) / 2
    return feed_per_tooth * _sine(edge_angle) * sin(middle) * (sin(half) / half)


def mean_chip_by_root(
    feed_per_tooth: float, width: float, diameter: float, *, edge_angle: float = pi / 2
) -> float:
    r"""Mean chip thickness by the shop's rule, for side milling up to half the diameter.

    .. math:: h_m = f_z \sin\kappa \sqrt{a_e / D} = f_z \sin\kappa \sin(\varphi/2)

    It is the chip in the middle of the arc: 2 % above the mean over the arc at a width of a tenth of the
    diameter, 11 % at half of it.

    Args:
        feed_per_tooth: f_z, mm.
        width: a_e, mm, over 0 up to D/2.
        diameter: D, mm.
        edge_angle: κ, rad.

    Returns:
        Mean chip thickness, mm.

    Raises:
        OutOfRange: a width over half the diameter, where the rule ends.

    Source: Kennametal Stellram, milling technical pages (ae under 50 % of the diameter).
    Checked in tests/published/test_stellram_chip_thickness.py.

    >>> round(mean_chip_by_root(0.05, 1, 10), 5)
    0.01581
    """
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    _root_width(width, diameter)
    return feed_per_tooth * _sine(edge_angle) * sqrt(width / diameter)


def peak_chip(feed_per_tooth: float, engagement: Engagement, *, edge_angle: float = pi / 2) -> float:
    """Thickest place of the chip, mm: f_z sin κ where the arc passes π/2, else at its nearer end.

    Args:
        feed_per_tooth: f_z, mm.
        engagement: the arc.
        edge_angle: κ, rad.

    Returns:
        Greatest chip thickness, mm.

    Raises:
        OutOfRange: a feed of zero or less, or an edge angle that is none.

    Source: geometry; ISCAR, *Machining titanium* (05/2019), table 11, for the arc from 0.
    Checked in tests/rooms/test_cutting.py.

    >>> round(peak_chip(0.05, side_engagement(1, 10)), 5)
    0.03
    """
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    angle = min(max(engagement.start, pi / 2), engagement.end)
    return feed_per_tooth * _sine(edge_angle) * sin(angle)


def feed_for_mean_chip(
    chip: float,
    width: float,
    diameter: float,
    *,
    edge_angle: float = pi / 2,
    rule: ChipRule = "arc mean",
) -> float:
    """Feed per tooth that holds a wanted mean chip thickness in side milling: chip thinning made good.

    Args:
        chip: h_m, wanted mean chip thickness, mm.
        width: a_e, radial depth of cut, mm.
        diameter: D, mm.
        edge_angle: κ, rad.
        rule: 'arc mean' or 'root'; say which when the result is shown.

    Returns:
        Feed per tooth, mm. It grows without bound as the width goes to zero: the tool's own limit of feed per
        tooth comes first.

    Raises:
        OutOfRange: no chip, a width beyond the rule, or an unknown rule.

    Source: as :func:`mean_chip` and :func:`mean_chip_by_root`, solved for f_z.

    >>> round(feed_for_mean_chip(0.01554, 1, 10), 3)
    0.05
    """
    over_zero("a chip thickness", chip, "mm")
    if rule == "root":
        return chip / mean_chip_by_root(1.0, width, diameter, edge_angle=edge_angle)
    if rule != "arc mean":
        raise OutOfRange(f"no rule '{rule}' for the mean chip; use one of {', '.join(CHIP_RULES)}")
    return chip / mean_chip(1.0, side_engagement(width, diameter), edge_angle=edge_angle)


def feed_for_edge_angle(chip: float, edge_angle: float) -> float:
    """Feed per tooth, or per revolution in turning, at which a slanted edge cuts a chip of that thickness.

    Args:
        chip: wanted thickness across the edge, mm.
        edge_angle: κ, rad, over 0 up to π/2; 90° less the North American lead angle.

    Returns:
        Feed, mm: chip / sin κ.

    Raises:
        OutOfRange: no chip, or an edge angle that is none.

    Source: Kennametal Stellram, milling technical pages. Checked in
    tests/published/test_stellram_chip_thickness.py.

    >>> round(feed_for_edge_angle(0.08, pi / 4), 3)
    0.113
    """
    return over_zero("a chip thickness", chip, "mm") / _sine(edge_angle)


def least_chip(edge_radius: float) -> tuple[float, float]:
    """Chip thickness under which an edge rubs, and over which it surely cuts.

    Args:
        edge_radius: radius of the cutting edge, mm; :data:`EDGE_RADII` has usual ones.

    Returns:
        (rubs below, cuts above), mm. Between them it depends on rake, speed and material.

    Raises:
        OutOfRange: no radius.

    Source: :data:`LEAST_CHIP_SOURCE`.

    >>> least_chip(0.02)
    (0.004, 0.008)
    """
    over_zero("an edge radius", edge_radius, "mm")
    low, high = LEAST_CHIP
    return low * edge_radius, high * edge_radius


def chip_verdict(chip: float, edge_radius: float) -> Literal["rubs", "doubtful", "cuts"]:
    """Whether a chip of that thickness forms at all, by the rule of :func:`least_chip`.

    Args:
        chip: mean chip thickness in milling, feed times sin κ in turning, mm.
        edge_radius: mm.

    Returns:
        'rubs', 'doubtful' or 'cuts'.

    Raises:
        OutOfRange: no chip, or no radius.

    >>> chip_verdict(0.003, 0.02)
    'rubs'
    """
    over_zero("a chip thickness", chip, "mm")
    low, high = least_chip(edge_radius)
    if chip < low:
        return "rubs"
    return "cuts" if chip > high else "doubtful"


def _unit(value: float) -> float:
    return min(1.0, max(-1.0, value))


def _sine(edge_angle: float) -> float:
    if not 0 < edge_angle <= pi / 2 * (1 + 1e-12):
        raise OutOfRange(
            f"a tool cutting edge angle of {edge_angle:g} rad is outside 0 to π/2; 90° is an end mill, 45° a "
            "45° face mill"
        )
    return sin(edge_angle)


def _width(width: float, diameter: float) -> None:
    over_zero("a cutter diameter", diameter, "mm")
    over_zero("a width of cut", width, "mm")
    if width > diameter * (1 + 1e-9):
        raise OutOfRange(
            f"a cutter of {diameter:g} mm cannot cut {width:g} mm wide at once; give a width up to the diameter"
        )


def _root_width(width: float, diameter: float) -> None:
    _width(width, diameter)
    within(
        "a width over diameter",
        width / diameter,
        0.0,
        0.5 * (1 + 1e-9),
        "",
        "the root rule ends at half the diameter; use the mean over the arc",
    )
