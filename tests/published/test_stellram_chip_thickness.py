"""Kennametal Stellram, milling cutters with inserts, technical information, p. 149 and 289.

docs.steelcam.org/stellram/katalog-frez-so-smennymi-plastinami-page289: h_m = f_z √(a_e/D) for a_e under half
the diameter; page149 (and 87): the programmed feed is h_m over the sine of the approach angle.
"""

from math import pi

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.chip_thickness import (
    feed_for_edge_angle,
    feed_for_mean_chip,
    mean_chip_by_root,
)


def test_mean_chip_by_the_root() -> None:
    """D 10, ae 1, fz 0.05: the formula gives 0.01581 mm."""
    assert mean_chip_by_root(0.05, 1, 10) == pytest.approx(0.01581, rel=1e-4, abs=5e-6)


def test_feed_for_a_mean_chip() -> None:
    """Turned round, fz = hm √(D/ae)."""
    assert feed_for_mean_chip(0.01581, 1, 10, rule="root") == pytest.approx(0.05, abs=5e-5)


def test_the_rule_ends_at_half_the_diameter() -> None:
    """The page gives it for ae below 50 % of the diameter only."""
    with pytest.raises(OutOfRange, match="half the diameter"):
        mean_chip_by_root(0.05, 6, 10)


@pytest.mark.parametrize(("degrees", "printed"), [(45, 0.113), (42, 0.12)])
def test_feed_of_a_slanted_edge(degrees: float, printed: float) -> None:
    """0.08 mm of chip: 0.113 mm at 45° (0.08/0.707), 0.12 mm at 42° (0.08/0.669)."""
    assert feed_for_edge_angle(0.08, degrees * pi / 180) == pytest.approx(printed, rel=0.01)
