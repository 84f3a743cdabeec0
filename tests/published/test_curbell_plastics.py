"""Curbell Plastics, turning and milling guidelines for plastics (carbide C-2 for turning).

curbellplastics.com, Plastic-Machining-Guidelines.
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, speed_ranges

FOOT, INCH = 0.3048, 25.4
TURNING = [
    ("acetal", (980, 1960), (0.004, 0.015)),
    ("PTFE", (490, 1640), (0.004, 0.012)),
    ("nylon", (920, 1640), (0.004, 0.020)),
]


@pytest.mark.parametrize(("material", "fpm", "feed"), TURNING)
def test_turning(material: str, fpm: tuple[float, float], feed: tuple[float, float]) -> None:
    """Cutting speed in ft/min and feed in a revolution, with carbide."""
    (speed,) = speed_ranges(material, "turn", "carbide")
    (found,) = feed_ranges(material, "turn", "carbide")
    assert speed.source.startswith("Curbell")
    assert [speed.low / FOOT, speed.high / FOOT] == pytest.approx(fpm, abs=0.5)
    assert [found.low / INCH, found.high / INCH] == pytest.approx(feed, abs=5e-4)


@pytest.mark.parametrize("material", ["acetal", "PTFE", "nylon"])
def test_milling(material: str) -> None:
    """920 to 1640 ft/min, HSS."""
    (row,) = (r for r in speed_ranges(material, "mill", "HSS") if r.source.startswith("Curbell"))
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx([920, 1640], abs=0.5)
