"""protocutter.com, recommended cutting speeds for drilling and reaming, feeds, and material left for the reamer.

protocutter.com/cutting-speeds-in-feet-per-minute (tool and stainless steels),
/feed-rates-plain-carbon-and-alloy-steels, /feed-rates-ferrous-cast-metals and /feed-rates-light-metals.
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, speed_ranges
from loopwright.handbook.reaming import reaming_feed, reaming_stock

FOOT, INCH = 0.3048, 25.4
# material | drilling HSS | reaming HSS | reaming carbide, ft/min
ROWS = """
O1         | 45-45   | 30-30   | 150-150
A2         | 50-50   | 35-35   | 150-150
D2         | 30-30   | 20-20   | 80-80
303        | 85-85   | 55-55   | 200-225
304        | 55-55   | 35-35   | 125-150
mild steel | 90-100  | 60-65   | 275-300
1045       | 75-90   | 50-60   | 200-250
4140       | 80-90   | 50-60   | 225-250
grey iron  | 80-100  | 55-65   | 180-300
aluminium  | 350-400 | 350-400 | 750-800
"""


@pytest.mark.parametrize("line", ROWS.strip().splitlines())
def test_drilling_and_reaming(line: str) -> None:
    """Drilling and reaming with HSS, reaming with carbide, ft/min."""
    material, *cells = (cell.strip() for cell in line.split("|"))
    asked = [("drill", "HSS"), ("ream", "HSS"), ("ream", "carbide")]
    for (operation, tool), cell in zip(asked, cells, strict=True):
        rows = speed_ranges(material, operation, tool)
        row = next(row for row in rows if row.source.startswith("protocutter"))
        printed = [float(end) for end in cell.split("-")]
        assert [row.low / FOOT, row.high / FOOT] == pytest.approx(printed, abs=0.5)


def test_cold_drawn_stainless_is_slower() -> None:
    """303 drills at 85 and cold drawn at 70 ft/min, 304 at 55 and 50."""
    for material, printed in [("303", 70), ("304", 50)]:
        rows = speed_ranges(material, "drill", "HSS")
        assert [round(row.low / FOOT) for row in rows if row.cut == "cold drawn"] == [printed]


@pytest.mark.parametrize(
    ("inches", "printed"),
    [
        (0.1, (0.001, 0.003)),
        (0.2, (0.002, 0.006)),
        (0.4, (0.004, 0.010)),
        (0.8, (0.007, 0.015)),
        (1.5, (0.010, 0.025)),
    ],
)
def test_drill_feeds(inches: float, printed: tuple[float, float]) -> None:
    """Feeds for drilling by diameter, in a revolution."""
    (row,) = (
        row
        for row in feed_ranges("mild steel", "drill", "HSS", inches * INCH)
        if row.source.startswith("protocutter")
    )
    assert [row.low / INCH, row.high / INCH] == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize(
    ("inches", "printed"),
    [(0.125, (0.005, 0.010)), (0.25, (0.008, 0.012)), (0.5, (0.010, 0.016)), (1.0, (0.015, 0.030))],
)
def test_material_left_for_the_reamer(inches: float, printed: tuple[float, float]) -> None:
    """Material left on diameter, in."""
    (row,) = (row for row in reaming_stock(inches * INCH) if row.source.startswith("protocutter"))
    assert [row.low / INCH, row.high / INCH] == pytest.approx(printed, abs=5e-4)


def test_feed_of_a_reamer() -> None:
    """0.002 to 0.003 in for each flute."""
    assert [feed / INCH for feed in reaming_feed(6)] == pytest.approx([0.012, 0.018], abs=5e-5)
