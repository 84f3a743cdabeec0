"""Novoabrasive, speed recommendations: greatest rpm of a wheel by diameter and rated speed.

novoabrasive.com/en/guides/speed-recommendations; values are rounded down to three figures there. The rule behind it:
ANSI B7.1-2000, 7.1.1, the original surface speed must never be exceeded.
"""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.grinding import checked_wheel_speed, rpm_limit

TABLE = [
    (125, 80, 12_200),
    (4, 16, 75_300),
    (4, 20, 95_400),
    (6, 16, 50_900),
    (10, 25, 47_700),
    (10, 50, 95_400),
    (13, 16, 23_500),
    (13, 40, 58_700),
]


@pytest.mark.parametrize(("diameter", "speed", "printed"), TABLE)
def test_greatest_rpm(diameter: float, speed: float, printed: float) -> None:
    """The printed rpm is the limit, rounded to three figures; one value of the print, at 4 mm, is 1.4 % lower."""
    tolerance = 0.015 if diameter == 4 and speed == 16 else 0.003
    assert rpm_limit(diameter, speed) == pytest.approx(printed, rel=tolerance)


@pytest.mark.parametrize(("diameter", "speed", "printed"), TABLE)
def test_faster_is_refused(diameter: float, speed: float, printed: float) -> None:
    """Two per cent above the printed rpm the wheel is refused."""
    with pytest.raises(OutOfRange, match="above the rating"):
        checked_wheel_speed(diameter, printed * 1.02, rated_speed=speed)
