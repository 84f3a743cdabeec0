"""Torque of cutting taps, by two makers' rules, and the warning that goes with every number.

Neither knows the edge, the oil, or chips that pack; a tap breaks by those. The rules are for setting a clutch
and for seeing whether a drive can turn the tap at all.
"""

from math import pi, radians, tan
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import over_zero, within

WARNING: Final = (
    "Torque for a sharp cutting tap, open flutes and good oil. A blunt tap, packed chips or a blind hole run dry "
    "multiply it until the tap breaks: set the clutch by the tap's size, clear chips, stop when it groans. A "
    "forming tap needs two to three times as much."
)
"""Goes with every tapping torque. Forming taps: Yamawa, catalogue 2022-2023, p. Technical-7."""

LUBERO: Final = "Lubero, *Calculations*: torques and power range (lubero.de/en/technology/calculations)"
YAMAWA: Final = "Yamawa, general catalogue 2021, p. 640"

KC_LUBERO: Final = MappingProxyType(
    {
        "structural steel to 700 MPa": 2300.0,
        "free cutting steel to 700 MPa": 2300.0,
        "steel 500 to 950 MPa": 2500.0,
        "tempered steel 500 to 950 MPa": 2600.0,
        "tempered or nitrided steel 950 to 1400 MPa": 3600.0,
        "tool steel 950 to 1400 MPa": 3600.0,
        "austenitic stainless steel 500 to 950 MPa": 3200.0,
        "aluminium, long chips, to 550 MPa": 800.0,
        "aluminium, short chips, to 400 MPa": 680.0,
        "copper alloy, long chips, 300 to 700 MPa": 1100.0,
        "copper alloy, short chips, to 500 MPa": 720.0,
        "grey cast iron 120 to 260 HB": 1250.0,
        "alloyed grey cast iron 160 to 230 HB": 1600.0,
        "malleable iron 150 to 280 HB": 1100.0,
    }
)
"""kc for :func:`tapping_torque`, MPa, by material as printed."""

KC_YAMAWA: Final = MappingProxyType(
    {
        "structural steel 133 HB": 3700.0,
        "steel 0.15 % C 141 HB": 3600.0,
        "steel 0.35 % C 162 HB": 3700.0,
        "steel 0.45 % C 188 HB": 3900.0,
        "steel 0.60 % C 188 HB": 4000.0,
        "chromium molybdenum steel 193 HB": 3600.0,
        "chromium molybdenum steel 30 HRC": 4900.0,
        "chromium molybdenum steel 40 HRC": 5500.0,
        "austenitic stainless steel 209 HB": 4200.0,
        "carbon tool steel 175 HB": 5300.0,
        "brass CuZn40": 2300.0,
        "cast aluminium AlSi8Cu3": 1300.0,
        "grey cast iron 193 HB": 2900.0,
    }
)
"""kc for :func:`tapping_torque_by_area`, MPa, by material as printed."""

TAP_FACTOR: Final = MappingProxyType(
    {
        "hand tap, plug": 1.35,
        "hand tap, bottoming": 1.43,
        "spiral flute": 1.15,
        "spiral point": 0.95,
    }
)
"""Factor of the tap in steel, coarse thread, for :func:`tapping_torque_by_area`."""


class TapTorque(NamedTuple):
    """Torque to turn the tap, N·m, the rule's source, and the warning to print beside it."""

    torque: float
    source: str
    warning: str


def tapping_torque(diameter: float, pitch: float, kc: float) -> TapTorque:
    r"""Torque of a cutting tap from pitch and diameter.

    .. math:: M = k_c P^2 d / 8000

    Args:
        diameter: d, nominal diameter of the thread, mm.
        pitch: P, mm.
        kc: of :data:`KC_LUBERO`, MPa.

    Returns:
        Torque with source and warning.

    Raises:
        OutOfRange: a number that is none, or a pitch that is no thread on that diameter.

    Source: :data:`LUBERO`.

    >>> round(tapping_torque(10, 1.5, 2500).torque, 2)
    7.03
    """
    _thread(diameter, pitch)
    over_zero("a specific force", kc, "MPa")
    return TapTorque(kc * pitch**2 * diameter / 8000, LUBERO, WARNING)


def tapping_torque_by_area(
    diameter: float, hole: float, kc: float, *, factor: float = 1.35, half_angle: float = radians(30)
) -> TapTorque:
    r"""Torque of a cutting tap from the thread that it really cuts.

    .. math:: M = \tan\theta\; k_c K\, (D - D_0)^2 (D + 2 D_0) / 24\,000

    A larger hole, within the thread's limits, relieves the tap quickly.

    Args:
        diameter: D, nominal diameter, mm.
        hole: D_0, drilled hole, mm, less than D.
        kc: of :data:`KC_YAMAWA`, MPa.
        factor: K of the kind of tap, :data:`TAP_FACTOR`.
        half_angle: θ of the thread, rad.

    Returns:
        Torque with source and warning.

    Raises:
        OutOfRange: a hole as large as the thread, or a number that is none.

    Source: :data:`YAMAWA`. Checked in tests/rooms/test_cutting.py against :func:`tapping_torque`.

    >>> round(tapping_torque_by_area(8, 6.8, 4000).torque, 2)
    4.04
    """
    over_zero("a thread diameter", diameter, "mm")
    over_zero("a hole", hole, "mm")
    over_zero("a specific force", kc, "MPa")
    over_zero("a factor", factor, "")
    within("a half angle", half_angle, radians(5), pi / 3, "rad", "30° is the metric and the unified thread")
    if hole >= diameter:
        raise OutOfRange(f"a hole of {hole:g} mm leaves no thread of {diameter:g} mm; drill it smaller")
    area = (diameter - hole) ** 2 * (diameter + 2 * hole)
    return TapTorque(tan(half_angle) * kc * factor * area / 24_000, YAMAWA, WARNING)


def _thread(diameter: float, pitch: float) -> None:
    over_zero("a thread diameter", diameter, "mm")
    over_zero("a pitch", pitch, "mm")
    if pitch > diameter / 2:
        raise OutOfRange(
            f"a pitch of {pitch:g} mm is no thread on {diameter:g} mm; give the pitch in mm, not threads per inch"
        )
