"""Sizes of units against their published values.

Bureau International des Poids et Mesures, The International System of Units (SI Brochure), 9th edition,
2019: table 8 (non-SI units accepted for use with the SI: minute, hour, day, degree, minute and second of
angle, tonne) and 2.3.1 (degree Celsius).

A. Thompson, B. N. Taylor, Guide for the Use of the International System of Units, NIST Special Publication
811, 2008 edition: appendix B.8 and B.9 (factors printed to seven digits; those printed in bold are exact),
and 4.2.1.1 (temperature scales).

All figures from memory. Exact factors are held to one part in 1e15, others to half the last printed digit.
"""

from decimal import Decimal
from math import pi

import pytest

from loopwright.units import Dimension, factor, parse

D = Dimension

# unit, dimension, factor to the coherent SI unit as printed, internal units in one coherent SI unit
EXACT = [
    ("in", D.LENGTH, "2.54e-2", 1e3),
    ("ft", D.LENGTH, "3.048e-1", 1e3),
    ("thou", D.LENGTH, "2.54e-5", 1e3),
    ("µin", D.LENGTH, "2.54e-8", 1e3),
    ("µm", D.LENGTH, "1e-6", 1e3),
    ("lb", D.MASS, "4.5359237e-1", 1),
    ("t", D.MASS, "1e3", 1),
    ("kgf", D.FORCE, "9.80665", 1),
    ("lbf", D.FORCE, "4.4482216152605", 1),
    ("kgf·cm", D.TORQUE, "9.80665e-2", 1e3),
    ("bar", D.PRESSURE, "1e5", 1e-6),
    ("mbar", D.PRESSURE, "1e2", 1e-6),
    ("kgf/cm²", D.PRESSURE, "9.80665e4", 1e-6),
    ("kgf/mm²", D.PRESSURE, "9.80665e6", 1e-6),
    ("g/cm³", D.DENSITY, "1e3", 1),
    ("min", D.TIME, "60", 1),
    ("h", D.TIME, "3600", 1),
    ("d", D.TIME, "86400", 1),
    ("in/s", D.SPEED, "2.54e-2", 1e3),
    ("ft/min", D.SPEED, "5.08e-3", 1e3),
    ("g", D.ACCELERATION, "9.80665", 1e3),
    ("ft/s²", D.ACCELERATION, "3.048e-1", 1e3),
    ("in/s²", D.ACCELERATION, "2.54e-2", 1e3),
]

ROUNDED = [
    ("deg", D.ANGLE, "1.745329e-2", 1),
    ("arcmin", D.ANGLE, "2.908882e-4", 1),
    ("arcsec", D.ANGLE, "4.848137e-6", 1),
    ("lb", D.MASS, "4.535924e-1", 1),
    ("oz", D.MASS, "2.834952e-2", 1),
    ("lbf", D.FORCE, "4.448222", 1),
    ("ozf", D.FORCE, "2.780139e-1", 1),
    ("lbf/in", D.STIFFNESS, "1.751268e2", 1e-3),
    ("lbf·in", D.TORQUE, "1.129848e-1", 1e3),
    ("ft·lbf", D.TORQUE, "1.355818", 1e3),
    ("ozf·in", D.TORQUE, "7.061552e-3", 1e3),
    ("psi", D.PRESSURE, "6.894757e3", 1e-6),
    ("ksi", D.PRESSURE, "6.894757e6", 1e-6),
    ("lb/in³", D.DENSITY, "2.767990e4", 1),
    ("lb/ft³", D.DENSITY, "1.601846e1", 1),
    ("degF", D.TEMPERATURE_DIFFERENCE, "5.555556e-1", 1),
    ("in/min", D.SPEED, "4.233333e-4", 1e3),
    ("rpm", D.ROTARY_SPEED, "1.047198e-1", 1),
    ("hp", D.POWER, "7.456999e2", 1),
]


@pytest.mark.parametrize(("unit", "dimension", "printed", "scale"), EXACT, ids=lambda v: str(v))
def test_exact_factor(unit: str, dimension: Dimension, printed: str, scale: float) -> None:
    """A factor that is printed as exact is held exactly."""
    assert factor(unit, dimension) == pytest.approx(float(printed) * scale, rel=1e-15, abs=0)


@pytest.mark.parametrize(("unit", "dimension", "printed", "scale"), ROUNDED, ids=lambda v: str(v))
def test_printed_factor(unit: str, dimension: Dimension, printed: str, scale: float) -> None:
    """A factor agrees with its printed value to half the last printed digit."""
    half_digit = 0.5 * 10.0 ** int(Decimal(printed).as_tuple().exponent)
    assert abs(factor(unit, dimension) / scale - float(printed)) <= half_digit


@pytest.mark.parametrize(
    ("text", "radians"), [("1 deg", pi / 180), ("1 arcmin", pi / 10800), ("1 arcsec", pi / 648000)]
)
def test_angle_from_pi(text: str, radians: float) -> None:
    """SI Brochure table 8 gives degree, minute and second of angle as fractions of pi."""
    assert parse(text, D.ANGLE) == pytest.approx(radians, rel=1e-15, abs=0)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("273.15 K", 0.0), ("0 K", -273.15), ("32 degF", 0.0), ("212 degF", 100.0), ("-40 degF", -40.0)],
)
def test_temperature_scales(text: str, celsius: float) -> None:
    """The scales meet at zero and 100 degrees Celsius, at absolute zero and at minus forty."""
    assert parse(text, D.TEMPERATURE) == pytest.approx(celsius, abs=1e-12)
