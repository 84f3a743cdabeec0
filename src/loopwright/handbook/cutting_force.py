"""Forces, power and torque of cutting: the law of Kienzle, tables by feed, turning and milling.

The law, kc = kc1.1 h^-mc, was measured for chips of about 0.05 to 2.5 mm and a sharp tool. Thinner chips, an
edge not sharp any more and a speed far below that of carbide all need more force than it says; the scatter
between published sets for one steel is about ± 20 %. Forces are therefore for choosing a cut and for a
deflection that must stay well inside a limit, not for correcting a dim by it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import acos, atan2, cos, degrees, exp, hypot, log, pi, radians, sin, tan
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import OutOfRange
from loopwright.handbook.chip_thickness import Engagement, side_engagement
from loopwright.handbook.cutting_checks import at_least_zero, over_zero, whole_number, within
from loopwright.handbook.cutting_force_tables import (
    FEEDS,
    KC_MILLING,
    KC_TURNING,
    MITSUBISHI_MILLING,
    MITSUBISHI_TURNING,
    VDI_GROUPS,
)

KIENZLE_RANGE: Final = (0.05, 2.5)
"""Chip thickness for which the law of Kienzle was measured, mm (from memory); outside it is a guide only."""

WORN_TOOL: Final = (1.3, 1.5)
"""How many times the force of a sharp tool a worn one needs. Common practice."""

FEED_SHARE: Final = (0.5, 0.6)
"""Feed force in boring and turning as a share of the tangential force. Erie Industrial Supply, *Boring
Basics*."""

RADIAL_SHARE: Final = (0.25, 0.30)
"""Radial force in boring and turning as a share of the tangential force; same source. It holds for a depth
above the nose radius; a finishing cut shallower than that pushes harder: :func:`in_plane_forces`."""

RADIAL_TO_TANGENTIAL: Final = (0.3, 0.5)
"""Radial over tangential force at a milling tooth, sharp to worn. Common practice."""


@dataclass(frozen=True, slots=True)
class SpecificForce:
    """The law of Kienzle for one material.

    Attributes:
        kc11: force on a chip 1 mm thick and 1 mm wide, MPa.
        mc: exponent of the chip thickness, 0 to 0.5.
        source: where the two were read.
    """

    kc11: float
    mc: float
    source: str

    def at(self, chip: float) -> float:
        """Specific cutting force kc1.1 h^-mc at a chip thickness h in mm, MPa."""
        return float(self.kc11 * over_zero("a chip thickness", chip, "mm") ** -self.mc)


def kienzle(vdi_group: int) -> SpecificForce:
    """Law of Kienzle of a VDI 3323 group; where sources differ, the one with the higher force.

    Args:
        vdi_group: 1 to 28 or 31 to 41.

    Returns:
        The law.

    Raises:
        OutOfRange: no such group, or 29 and 30, which are not metals.

    Source: :mod:`loopwright.handbook.cutting_force_tables`.
    Checked in tests/published/test_iscar_material_groups.py.

    >>> round(kienzle(2).at(0.2))
    2137
    """
    return kienzle_sources(vdi_group)[0]


def kienzle_sources(vdi_group: int) -> tuple[SpecificForce, ...]:
    """Every printed law of a VDI 3323 group, the higher force first.

    Args:
        vdi_group: 1 to 28 or 31 to 41.

    Returns:
        One law for each source that prints another one.

    Raises:
        OutOfRange: as :func:`kienzle`.

    >>> [law.kc11 for law in kienzle_sources(37)]
    [2110.0, 1245.0]
    """
    rows = VDI_GROUPS.get(vdi_group)
    if rows is None:
        raise OutOfRange(
            f"no specific cutting force is printed for VDI 3323 group {vdi_group}; use 1 to 28 or 31 to 41 "
            "(29 and 30 are not metals)"
        )
    return tuple(SpecificForce(row.kc11, row.mc, row.source) for row in rows)


def rake_factor(rake: float, *, measured_at: float = 0.0) -> float:
    """Correction of the specific force for the rake of the tool: 1 % less for each degree more.

    Args:
        rake: γ of the tool, rad, positive for a sharp wedge, -20° to 30°.
        measured_at: rake for which the specific force holds, rad; toolmakers' kc1.1 holds for 0.

    Returns:
        Factor on kc.

    Raises:
        OutOfRange: a rake beyond the rule.

    Source: kc1.1 of a neutral insert: Sandvik Coromant, *Specific cutting force*; 1 % a degree from memory,
    other handbooks take 1.5 %.

    >>> round(rake_factor(radians(6)), 3)
    0.94
    """
    within(
        "a rake",
        round(degrees(rake), 9),
        -20,
        30,
        "°",
        "the rule is not known there; leave the correction out",
    )
    return 1 - 0.01 * degrees(rake - measured_at)


def kc_by_feed(process: Literal["turning", "milling"], material: str, feed: float) -> tuple[float, str]:
    """Specific cutting force from the printed table by feed, in between on a straight line of logarithms.

    Args:
        process: 'turning' (feed per revolution) or 'milling' (feed per tooth of a face mill).
        material: as printed: a key of KC_TURNING or KC_MILLING; case does not matter.
        feed: mm, 0.1 to 0.6.

    Returns:
        (kc in MPa, source).

    Raises:
        OutOfRange: another process or material, or a feed outside the table.

    Source: Mitsubishi Materials. Checked in tests/published/test_mitsubishi_cutting_power.py.

    >>> kc_by_feed("turning", "mild steel 520 MPa", 0.2)[0]
    3100.0
    """
    tables: Mapping[str, tuple[Mapping[str, tuple[float, ...]], str]] = {
        "turning": (KC_TURNING, MITSUBISHI_TURNING),
        "milling": (KC_MILLING, MITSUBISHI_MILLING),
    }
    if process not in tables:
        raise OutOfRange(f"no table for '{process}'; use turning or milling")
    table, source = tables[process]
    row = {name.casefold(): kc for name, kc in table.items()}.get(material.strip().casefold())
    if row is None:
        raise OutOfRange(f"'{material}' is not in the table for {process}; it has: {', '.join(table)}")
    within("a feed", feed, FEEDS[0], FEEDS[-1], "mm", "take the law of Kienzle instead")
    if feed in FEEDS:
        return row[FEEDS.index(feed)], source
    return float(exp(np.interp(log(feed), np.log(FEEDS), np.log(row)))), source


def turning_force(law: SpecificForce, feed: float, depth: float, *, edge_angle: float = pi / 2) -> float:
    r"""Tangential force of a turning or boring tool.

    .. math:: F_c = k_{c1.1}\, h^{-m_c}\, b h,\quad h = f \sin\kappa,\quad b = a_p / \sin\kappa

    The nose radius is left out: for a depth below it the chip is thinner and the force somewhat higher.

    Args:
        law: of the material.
        feed: f, mm per revolution.
        depth: a_p, depth of cut on the radius, mm.
        edge_angle: κ, tool cutting edge angle, rad.

    Returns:
        F_c, N.

    Raises:
        OutOfRange: no feed or depth, or an edge angle outside 0 to π/2.

    Source: O. Kienzle (1952), from memory. Checked in tests/published/test_iscar_material_groups.py.

    >>> round(turning_force(kienzle(2), 0.2, 3))
    1282
    """
    over_zero("a feed", feed, "mm")
    over_zero("a depth of cut", depth, "mm")
    within("an edge angle", edge_angle, 1e-6, pi / 2 + 1e-9, "rad", "90° is a facing edge")
    return law.at(feed * sin(edge_angle)) * feed * depth


class InPlaneForces(NamedTuple):
    """Forces at right angles to the tangential force, N, as (low, high)."""

    feed: tuple[float, float]
    radial: tuple[float, float]


def in_plane_forces(
    tangential: float, depth: float, *, nose_radius: float = 0.0, edge_angle: float = pi / 2
) -> InPlaneForces:
    """Feed and radial force of a turning or boring tool, with the nose radius taken into account.

    The force across the edge stands square on the chord between the ends of the edge that cuts; its size
    is taken from :data:`FEED_SHARE` and :data:`RADIAL_SHARE`. A depth well under the nose radius turns the
    chord, and most of the force, into the radius: the reason why a light boring cut springs.

    Args:
        tangential: F_c, N.
        depth: a_p on the radius, mm.
        nose_radius: r, mm.
        edge_angle: κ of the straight edge, rad.

    Returns:
        Feed and radial force, N, each as (low, high).

    Raises:
        OutOfRange: a force, depth or angle that is none.

    Source: direction by the chord: L. V. Colwell, Trans. ASME 76 (1954) 199 (from memory); size: Erie
    Industrial Supply, *Boring Basics*.

    >>> in_plane_forces(100, 0.1, nose_radius=0.4).radial > in_plane_forces(100, 2, nose_radius=0.4).radial
    True
    """
    at_least_zero("a force", tangential, "N")
    over_zero("a depth of cut", depth, "mm")
    at_least_zero("a nose radius", nose_radius, "mm")
    within("an edge angle", edge_angle, 1e-6, pi / 2 + 1e-9, "rad", "90° is a facing edge")
    chord = _chord_angle(depth, nose_radius, edge_angle)
    low, high = (hypot(FEED_SHARE[i], RADIAL_SHARE[i]) * tangential for i in (0, 1))
    steep = max(cos(chord), RADIAL_SHARE[0] / hypot(FEED_SHARE[0], RADIAL_SHARE[0]))
    return InPlaneForces((low * sin(chord), high * sin(chord)), (low * steep, high * steep))


def _chord_angle(depth: float, radius: float, edge_angle: float) -> float:
    """Angle between the feed and the chord from the deepest point of the edge to where it leaves the cut."""
    corner = radius * (1 - cos(edge_angle))
    if depth <= corner:
        return acos(1 - depth / radius) / 2
    along = radius * sin(edge_angle) + (depth - corner) / tan(edge_angle)
    return atan2(depth, along)


def cutting_power(force: float, speed_m_min: float) -> float:
    """Power at the cut, W: force in N times cutting speed in m/min, over 60.

    >>> round(cutting_power(1282, 120))
    2564
    """
    at_least_zero("a force", force, "N")
    return force * at_least_zero("a cutting speed", speed_m_min, "m/min") / 60


def motor_power(power: float, efficiency: float) -> float:
    """Power that the motor must give, W.

    Args:
        power: at the cut, W.
        efficiency: of the drive, over 0 up to 1; 0.7 to 0.85 is common practice for geared and belt drives.

    Returns:
        Power of the motor, W.

    Raises:
        OutOfRange: an efficiency that is none.

    >>> motor_power(800, 0.8)
    1000.0
    """
    at_least_zero("a power", power, "W")
    within("an efficiency", efficiency, 0.05, 1, "", "give a share such as 0.8")
    return power / efficiency


def spindle_torque(power: float, rpm: float) -> float:
    """Torque at the spindle, N·m, from the power at the cut in W and the speed in rpm.

    >>> round(spindle_torque(1000, 955), 2)
    10.0
    """
    at_least_zero("a power", power, "W")
    return power / (2 * pi * over_zero("a spindle speed", rpm, "rpm") / 60)


def milling_power(depth: float, width: float, feed_speed: float, kc: float) -> float:
    r"""Power at the cut of a face or side mill.

    .. math:: P = a_p a_e v_f k_c / 60\,000

    Args:
        depth: a_p, axial depth, mm.
        width: a_e, radial width, mm.
        feed_speed: v_f, mm/min.
        kc: specific cutting force at the mean chip thickness (law of Kienzle) or at the feed per tooth (table
            by feed), MPa.

    Returns:
        Power, W; divide by the efficiency for the motor: :func:`motor_power`.

    Raises:
        OutOfRange: a negative number.

    Source: Mitsubishi Materials, cutting power for face milling. Checked in
    tests/published/test_mitsubishi_cutting_power.py.

    >>> milling_power(2, 80, 280, 1800)
    1344.0
    """
    at_least_zero("an axial depth", depth, "mm")
    at_least_zero("a width of cut", width, "mm")
    at_least_zero("a feed speed", feed_speed, "mm/min")
    return depth * width * feed_speed * over_zero("a specific force", kc, "MPa") / 60_000


class EndMillForce(NamedTuple):
    """What an end mill feels over one revolution of a side cut.

    Attributes:
        mean: mean tangential force of all teeth together, N; with the radius it gives the torque.
        peak: greatest tangential force of all teeth together, N.
        lateral_peak: greatest force across the axis, tangential and radial of all teeth added as vectors, N:
            what bends the tool.
        away: (least, greatest) part of it square to the wall, N; positive pushes the tool away from the wall
            and leaves stock, negative pulls it in and undercuts.
        teeth: mean number of teeth in the cut.
        most_teeth: greatest number of teeth in the cut at once.
    """

    mean: float
    peak: float
    lateral_peak: float
    away: tuple[float, float]
    teeth: float
    most_teeth: int


def end_mill_force(
    law: SpecificForce,
    *,
    diameter: float,
    teeth: int,
    width: float,
    depth: float,
    feed_per_tooth: float,
    helix: float = 0.0,
    climb: bool = True,
    radial_ratio: float = 0.4,
) -> EndMillForce:
    """Forces of an end mill in a side cut, tooth by tooth.

    Each slice of each tooth cuts h = f_z sin φ by the law of Kienzle; teeth follow at equal pitch and lag by
    the helix. The path of a tooth is a circle; run-out is left out, which can put most of the chip on one
    tooth: then take one tooth and the feed per revolution.

    Args:
        law: of the material.
        diameter: D, mm.
        teeth: number of teeth.
        width: a_e, radial depth, mm, up to D.
        depth: a_p, axial depth, mm.
        feed_per_tooth: f_z, mm.
        helix: angle of the helix, rad, 0 to 60°.
        climb: True for climb (down) milling, False for conventional (up) milling.
        radial_ratio: radial over tangential force; :data:`RADIAL_TO_TANGENTIAL`.

    Returns:
        The forces.

    Raises:
        OutOfRange: a number that no cut can have.

    Source: F. Koenigsberger and A. J. P. Sabberwal, Int. J. Mach. Tool Des. Res. 1 (1961) 15 (from memory), with
    the law of Kienzle. Checked in tests/rooms/test_cutting.py and tests/laws/test_cutting_laws.py.

    >>> force = end_mill_force(kienzle(1), diameter=10, teeth=4, width=1, depth=10, feed_per_tooth=0.05)
    >>> 0 < force.mean < force.peak
    True
    """
    arc = side_engagement(width, diameter)
    count = whole_number("a number of teeth", teeth)
    over_zero("an axial depth", depth, "mm")
    over_zero("a feed per tooth", feed_per_tooth, "mm")
    at_least_zero("a radial ratio", radial_ratio, "")
    within("a helix", helix, 0, radians(60), "rad", "give 0 to 60°")
    angles = _tooth_angles(arc, count, 2 * depth * tan(helix) / diameter)
    chip = np.where((angles > 0) & (angles <= arc.end * (1 + 1e-12)), np.sin(angles), 0.0).clip(0)
    scale = law.kc11 * depth * feed_per_tooth ** (1 - law.mc)
    slices = angles.shape[1]
    tangential = scale / slices * chip ** (1 - law.mc) * (chip > 0)
    sign = 1 if climb else -1
    away = _sum(tangential * (radial_ratio * np.cos(angles) + sign * np.sin(angles)))
    along = _sum(tangential * (sign * np.cos(angles) - radial_ratio * np.sin(angles)))
    mean = count / (2 * pi) * scale * _mean_power_of_sine(arc, 1 - law.mc)
    return EndMillForce(
        mean,
        max(mean, float(_sum(tangential).max())),
        float(np.hypot(away, along).max()),
        (float(away.min()), float(away.max())),
        count * arc.angle / (2 * pi),
        int((chip > 0).any(axis=1).sum(axis=1).max()),
    )


def _tooth_angles(arc: Engagement, count: int, lag: float) -> NDArray[np.float64]:
    """Angle of every slice of every tooth over one pitch, (turns, slices, teeth), rad in 0 to 2π."""
    pitch = 2 * pi / count
    ends = [arc.end, min(arc.end, pi / 2), arc.end + lag / 2]
    turn = np.concatenate([np.linspace(0, pitch, 181), ends])
    slices = 1 if lag == 0 else 48
    behind = (np.arange(slices) + 0.5) / slices * lag
    angles = turn[:, None, None] - behind[None, :, None] + pitch * np.arange(count)
    return np.asarray(np.mod(angles, 2 * pi))


def _sum(parts: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(parts.sum(axis=(1, 2)))


def _mean_power_of_sine(arc: Engagement, exponent: float) -> float:
    """Integral of sin^exponent over the arc."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    half = arc.angle / 2
    values = np.sin(arc.start + half * (nodes + 1)).clip(0) ** exponent
    return float(half * (weights * values).sum())
