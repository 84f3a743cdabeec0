"""Support points of a uniform bar: Airy s = L/√3, Bessel 0.5594 L, and other known spacings.

Airy points as s = L/√3 and Bessel points as 0.5594 L stand in metrology texts (scribd.com document 442629217,
*Airy points*; wikihirencode11.blogspot.com). The longer digits, the spacings of least sag, least moment and
level centre, and the sag coefficients were found by integrating the beam equation apart from this package.
"""

import pytest

from loopwright.handbook.beams import own_weight_deflection, support_spacing, total_sag


@pytest.mark.parametrize(
    ("name", "spacing", "half_digit"),
    [
        ("airy", 0.577350269, 5e-10),
        ("bessel", 0.5594, 5e-5),
        ("bessel", 0.559380119, 5e-10),
        ("least sag", 0.553702, 5e-7),
        ("least moment", 0.585786, 5e-7),
        ("level centre", 0.522774, 5e-7),
    ],
)
def test_spacings(name: str, spacing: float, half_digit: float) -> None:
    """Spacing over length of each pair of support points."""
    assert support_spacing(name) == pytest.approx(spacing, abs=half_digit)


def test_bessel_points_from_the_ends() -> None:
    """Bessel points stand 0.220309941 L from the ends, the points of least sag 0.223149 L."""
    assert (1 - support_spacing("bessel")) / 2 == pytest.approx(0.220309941, abs=5e-10)
    assert (1 - support_spacing("least sag")) / 2 == pytest.approx(0.223149, abs=5e-7)


@pytest.mark.parametrize(
    ("spacing", "coefficient", "half_digit"),
    [
        (1.0, 0.01302083, 5e-9),
        (support_spacing("airy"), 5.9948e-4, 5e-9),
        (support_spacing("least sag"), 2.7040e-4, 5e-9),
    ],
)
def test_total_sag(spacing: float, coefficient: float, half_digit: float) -> None:
    """Total sag over w L⁴/EI: 5/384 on end supports, 5.9948e-4 on Airy points, 2.7040e-4 at the least."""
    assert float(total_sag(1.0, spacing, 1.0, 1.0)) == pytest.approx(coefficient, abs=half_digit)


def test_textbook_beams() -> None:
    """Own weight: w L⁴/8 EI for a cantilever, 5/384 on two end supports, 1/384 between walls."""
    found = [float(own_weight_deflection(1.0, 1.0, 1.0, ends)) for ends in ("cantilever", "simple", "fixed")]
    assert found == pytest.approx([1 / 8, 5 / 384, 1 / 384], rel=1e-12)
