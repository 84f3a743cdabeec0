"""SGS, routers for composites: series 20 and 31, p. 12 and 13, and series 29, p. 4: glass fibre laminate.

docs.steelcam.org/sgs/katalog-monolitnyj-instrument-iz-kompozitnyh-materialov-page12 and page13,
katalog-pcr-series-frezy-dlya-obrabotki-plastika-page4. Diamond-coated or plain carbide.
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, speed_ranges

FOOT = 0.3048


@pytest.mark.parametrize("tool", ["carbide", "diamond"])
def test_speeds_of_series_20(tool: str) -> None:
    """Slot 320, profile 400, light 660 ft/min."""
    rows = [r for r in speed_ranges("FR4", "mill", tool) if "20 and 31" in r.source]
    assert [(round(row.low / FOOT), row.cut) for row in rows] == [
        (320, "slot"),
        (400, "side"),
        (660, "light"),
    ]


def test_speeds_of_series_29() -> None:
    """Slot 256 to 384, profile 320 to 480, high speed 582 to 792 ft/min."""
    rows = [r for r in speed_ranges("FR4", "mill", "carbide") if "series 29" in r.source]
    found = [(round(row.low / FOOT), round(row.high / FOOT)) for row in rows]
    assert found == [(256, 384), (320, 480), (582, 792)]


@pytest.mark.parametrize(
    ("diameter", "printed"), [(1.6, 0.03), (3, 0.06), (6, 0.12), (10, 0.23), (12, 0.305)]
)
def test_feeds(diameter: float, printed: float) -> None:
    """Feed a revolution for slot and profile, by diameter in mm."""
    (row,) = feed_ranges("FR4", "mill", "carbide", diameter)
    assert (row.low, row.high) == pytest.approx((printed, printed), abs=5e-4)
    assert row.per == "rev"
