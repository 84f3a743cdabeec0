"""Band saw blade reference guide, bulletin 1037 (scribd.com 468274939), and Mega, *H-550A manual*, p. 28.

Blade speed in ft/min and section sawn in in²/min, bimetal blades; the manual
(manualshive.com/en/manual/mega/h-550a/1764049?page=28) for steels of 6 in round.
"""

import pytest

from loopwright.handbook.cutting_speeds import sawing_rate, speed_ranges

FOOT = 0.3048
GUIDE = [
    ("1018", (249, 288), (27, 38)),
    ("1215", (259, 321), (38, 47)),
    ("1045", (180, 219), (20, 22)),
    ("4140", (180, 219), (15, 20)),
    ("A2", (180, 219), (7, 10)),
    ("D2", (65, 98), (5, 7)),
]
MEGA = [
    ("304", 80, 90),
    ("303", 90, 100),
    ("A2", 140, 170),
    ("D2", 75, 85),
    ("O1", 140, 170),
    ("440C", 70, 80),
]


@pytest.mark.parametrize(("material", "speed", "rate"), GUIDE)
def test_guide(material: str, speed: tuple[float, float], rate: tuple[float, float]) -> None:
    """Blade speed and rate of the guide."""
    (row,) = (r for r in speed_ranges(material, "saw", "HSS") if "1037" in r.source)
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx(speed, abs=0.5)
    assert [sawing_rate(material).low / 6.4516, sawing_rate(material).high / 6.4516] == pytest.approx(rate)


@pytest.mark.parametrize(("material", "low", "high"), MEGA)
def test_manual(material: str, low: float, high: float) -> None:
    """Blade speed of the manual."""
    (row,) = (r for r in speed_ranges(material, "saw", "HSS") if r.source.startswith("Mega"))
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx([low, high], abs=0.5)
