"""US Navy manual 14345, p. 93: cutting speeds of HSS twist drills and feeds by diameter.

enginemechanics.tpub.com/14345/Holding-The-Work-93.html. Carbide drills run at two to three times these speeds.
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, speed_ranges

FOOT, INCH = 0.3048, 25.4
SPEEDS = [
    ("mild steel", 80, 110),
    ("medium carbon steel", 70, 80),
    ("low alloy steel", 50, 70),
    ("304", 30, 40),
    ("brass", 200, 300),
    ("bronze", 200, 300),
    ("aluminium", 200, 300),
    ("grey iron", 70, 150),
]


@pytest.mark.parametrize(("material", "low", "high"), SPEEDS)
def test_speeds(material: str, low: float, high: float) -> None:
    """ft/min for HSS."""
    (row,) = (r for r in speed_ranges(material, "drill", "HSS") if r.source.startswith("US Navy"))
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx([low, high], abs=0.5)


def test_carbide_by_the_rule() -> None:
    """Mild steel with a carbide drill: two to three times 80 to 110 ft/min, marked as a rule."""
    rows = speed_ranges("mild steel", "drill", "carbide")
    (row,) = (r for r in rows if r.source.endswith("(carbide two to three times)"))
    assert row.by_rule
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx([160, 330], abs=0.5)


@pytest.mark.parametrize(
    ("inches", "low", "high"),
    [
        (0.1, 0.001, 0.002),
        (0.2, 0.002, 0.004),
        (0.375, 0.004, 0.007),
        (0.75, 0.007, 0.015),
        (1.5, 0.015, 0.025),
    ],
)
def test_feeds(inches: float, low: float, high: float) -> None:
    """In a revolution, by diameter of the drill."""
    rows = feed_ranges("mild steel", "drill", "HSS", inches * INCH)
    (row,) = (r for r in rows if r.source.startswith("US Navy"))
    assert [row.low / INCH, row.high / INCH] == pytest.approx([low, high], abs=5e-4)
