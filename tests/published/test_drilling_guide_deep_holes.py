"""Metal drilling reference guide: less speed and feed by depth over diameter.

studylib.net/doc/18232362. Three diameters: 10 % less speed, 10 % less feed; four: 20, 10; five: 30, 20; six: 35
to 40, 20.
"""

import pytest

from loopwright.handbook.drilling import depth_advice

TABLE = [
    (3, (0.9, 0.9), 0.9),
    (4, (0.8, 0.8), 0.9),
    (5, (0.7, 0.7), 0.8),
    (6, (0.6, 0.65), 0.8),
]


@pytest.mark.parametrize(("ratio", "speed", "feed"), TABLE)
def test_reductions(ratio: int, speed: tuple[float, float], feed: float) -> None:
    """Factors on speed and feed at three to six diameters."""
    found = depth_advice(ratio * 8.0, 8.0)
    assert found.speed == pytest.approx(speed)
    assert found.feed == pytest.approx(feed)


def test_a_shallow_hole_needs_none() -> None:
    """Under three diameters nothing is taken off."""
    found = depth_advice(20, 10)
    assert (found.speed, found.feed, found.pecks) == ((1, 1), 1, (20,))
