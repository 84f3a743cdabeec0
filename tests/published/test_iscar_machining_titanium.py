"""ISCAR, *Machining titanium* (05/2019), p. 21, table 11: chip thickness in peripheral milling.

hm = fz √(ae/d) = fz sin(AE/2) and hmax = 2 fz √(ae d - ae²)/d up to ae = d/2; beyond it hmax = fz. AE is the
angle of engagement.
"""

from math import sin, sqrt

import pytest

from loopwright.handbook.chip_thickness import mean_chip_by_root, peak_chip, side_engagement


@pytest.mark.parametrize("width", [0.5, 1.0, 3.0, 5.0])
def test_both_forms_of_the_mean_agree(width: float) -> None:
    """The root and the sine of half the angle are one rule."""
    angle = side_engagement(width, 10).angle
    assert mean_chip_by_root(0.1, width, 10) == pytest.approx(0.1 * sin(angle / 2), rel=1e-12)


@pytest.mark.parametrize("width", [0.5, 1.0, 3.0, 5.0])
def test_greatest_chip(width: float) -> None:
    """2 fz √(ae d - ae²)/d up to half the diameter."""
    printed = 2 * 0.1 * sqrt(width * 10 - width**2) / 10
    assert peak_chip(0.1, side_engagement(width, 10)) == pytest.approx(printed, rel=1e-12)


@pytest.mark.parametrize("width", [6.0, 10.0])
def test_greatest_chip_beyond_half(width: float) -> None:
    """Beyond half the diameter the greatest chip is the feed per tooth."""
    assert peak_chip(0.1, side_engagement(width, 10)) == pytest.approx(0.1, rel=1e-12)
