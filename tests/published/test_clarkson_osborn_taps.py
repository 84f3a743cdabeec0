"""Clarkson-Osborn, *Recommended cutting speeds for HSS taps* (clarkson-osborn.com), ft/min."""

import pytest

from loopwright.handbook.cutting_speeds import speed_ranges

FOOT = 0.3048
ROWS = [
    ("mild steel", 50, 60),
    ("medium carbon steel", 50, 60),
    ("low alloy steel", 32, 50),
    ("303", 22, 32),
    ("304", 16, 22),
    ("titanium", 22, 40),
    ("aluminium", 82, 150),
]


@pytest.mark.parametrize(("material", "low", "high"), ROWS)
def test_tapping_speeds(material: str, low: float, high: float) -> None:
    """HSS taps by material."""
    (row,) = (r for r in speed_ranges(material, "tap", "HSS") if r.source.startswith("Clarkson"))
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx([low, high], abs=0.5)
