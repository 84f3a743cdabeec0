"""Angle units, Abbe and cosine errors, sine bar, diagonals: closed forms of any metrology text.

The digits were computed apart from this package.

1 arcsec = π/648 000 rad (SI Brochure, 9th edition, table 8: non-SI units accepted for use with the SI).
"""

from math import cos, pi, radians

import pytest

from loopwright.handbook.geometry import (
    ARCSEC,
    abbe_error,
    arcsec_to_um_per_m,
    cosine_error,
    diagonal_difference,
    sine_bar_angle,
    sine_bar_height,
    sine_bar_sensitivity,
    squareness_from_diagonals,
    um_per_m_to_arcsec,
)


def test_a_second_of_arc_is_a_slope() -> None:
    """1 arcsec is 4.848137 µm/m, and 0.01 mm/m is 2.062648 arcsec."""
    assert float(arcsec_to_um_per_m(1)) == pytest.approx(4.848137, abs=5e-7)
    assert float(um_per_m_to_arcsec(10)) == pytest.approx(2.062648, abs=5e-7)


def test_abbe_error() -> None:
    """10 arcsec, 100 mm away: 4.848137 µm."""
    assert float(abbe_error(100, 10 * ARCSEC)) * 1000 == pytest.approx(4.848137, abs=5e-7)


def test_cosine_error() -> None:
    """1 mrad over 1000 mm: 0.49999996 µm, exact to the last digit although 1 - cos loses half of them."""
    assert float(cosine_error(1000, 0.001)) * 1000 == pytest.approx(0.49999996, abs=5e-9)


def test_sine_bar() -> None:
    """A 100 mm sine bar at 30° stands on 50.000 mm, and back."""
    assert float(sine_bar_height(100, radians(30))) == pytest.approx(50.000, abs=5e-10)
    assert float(sine_bar_angle(100, 50)) == pytest.approx(pi / 6, abs=1e-12)
    assert float(sine_bar_sensitivity(100, radians(30))) == pytest.approx(
        1 / (100 * cos(radians(30))), rel=1e-12
    )


def test_diagonals() -> None:
    """400 by 300 mm out of square by 20 µrad: the diagonals differ by 9.600 µm."""
    assert float(diagonal_difference(20e-6, 400, 300)) * 1000 == pytest.approx(9.600, abs=5e-4)


def test_diagonals_give_back_the_squareness_exactly() -> None:
    """The inversion holds for any shear, not only a small one: γ = 0.1 comes back."""
    gamma, a, b = 0.1, 400.0, 300.0
    d1, d2 = ((a + sign * gamma * b) ** 2 + b**2 for sign in (1, -1))
    assert float(squareness_from_diagonals(d1**0.5, d2**0.5, a, b)) == pytest.approx(gamma, rel=1e-12)
