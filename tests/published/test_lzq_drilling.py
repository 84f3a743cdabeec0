"""Cutting speed, feed and time of drilling: lzqtool.com, 102uk.html, with the formulas of a training course.

The course: mmc-permanent.learnways.com/courses/81/formulas.html. Both take π as 3.14.
"""

import pytest

from loopwright.handbook.cutting_geometry import cutting_speed, feed_speed, rpm
from loopwright.handbook.drilling import drilling_minutes


def test_speed_feed_and_time_of_five_holes() -> None:
    """12 mm at 1350 rpm is 50.9 m/min; 0.2 mm feed is 270 mm/min; five holes of 30 mm take 33.3 s."""
    assert cutting_speed(1350, 12) == pytest.approx(50.9, rel=0.002)
    assert feed_speed(1350, 0.2) == pytest.approx(270, rel=0.002)
    assert drilling_minutes(30, 1350, 0.2, holes=5) * 60 == pytest.approx(33.3, rel=0.002)


def test_one_hole() -> None:
    """15 mm at 50 m/min is 1061.6 rpm; 30 mm deep with 0.15 mm feed takes 11.3 s."""
    turns = rpm(50, 15)
    assert turns == pytest.approx(1061.6, rel=0.002)
    assert drilling_minutes(30, turns, 0.15) * 60 == pytest.approx(11.3, rel=0.002)
