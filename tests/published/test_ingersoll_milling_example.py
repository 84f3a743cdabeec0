"""Ingersoll, general catalogue 2011, p. 451 and 453: general formulas for milling, with an example.

docs.steelcam.org/ingersoll/obshij-katalog-ingersoll-2011-page451. End mill of 0.375 in with 4 teeth, 450 ft/min,
0.004 in a tooth, ae 0.10 in.
"""

import pytest

from loopwright.handbook.chip_thickness import mean_chip_by_root
from loopwright.handbook.cutting_geometry import FEET, INCH, feed_speed, rpm


def test_spindle_and_feed_speed() -> None:
    """4584 rpm and 73.3 in/min."""
    turns = rpm(450 * FEET, 0.375 * INCH)
    assert turns == pytest.approx(4584, abs=0.5)
    assert feed_speed(turns, 0.004 * INCH, 4) / INCH == pytest.approx(73.3, abs=0.05)


def test_mean_chip() -> None:
    """0.004 √(0.10/0.375) is 0.002 in."""
    assert mean_chip_by_root(0.004, 0.10, 0.375) == pytest.approx(0.002, abs=0.0005)
