"""Training text on drilling forces: mmc-permanent.learnways.com/courses/81/drilling-forces.html.

A drill of 10 mm with 0.3 mm feed, in steel: 15 N·m and 2500 N, as an order of magnitude. No material is named, so a
factor of 1.6 is allowed.
"""

import pytest

from loopwright.handbook.cutting_force import kienzle
from loopwright.handbook.drilling import drill_load


def test_torque() -> None:
    """15 N·m within a factor of 1.6; the law of Kienzle, group 3, gives 10.3."""
    torque = drill_load(kienzle(3), 10, 0.3).torque
    assert 15 / 1.6 < torque < 15 * 1.6
    assert torque == pytest.approx(10.3, abs=0.05)


def test_thrust() -> None:
    """2500 N lies between a thinned and a common point, and within a factor of 1.6 of the first."""
    low, high = drill_load(kienzle(3), 10, 0.3).thrust
    assert low < 2500 < high
    assert low > 2500 / 1.6
