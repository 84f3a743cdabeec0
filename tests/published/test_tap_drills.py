"""ISO 2306 and the tap drill tables of the trade.

DATA: *Mechanical Engineer's Data Handbook*, p. 299: tapping drills for coarse metric threads.
DRAWING: *Machine Drawing*, annexure, table 6, p. 445: drills for M18 to M42.
CHART: *Thread/screw, drill and tap chart*, docslib.org/doc/4942776: 75 % thread, inch drills.
HANDBOOK: *Machinery's Handbook*, 31st edition, p. 2155, table 2: tap drills and percentage of thread.
From memory (ISO 2306): M10×1.25, M12×1.25, M6×0.75.
"""

import pytest

from loopwright.handbook.drilled_holes import INCH_DRILLS, tap_drill, thread_percent

# DATA, then DRAWING
METRIC = """
M1.6 1.25; M2 1.6; M2.5 2.05; M3 2.5; M4 3.3; M5 4.2; M6 5; M8 6.8; M10 8.5; M12 10.2; M16 14; M20 17.5; M24 21
M30 26.5; M36 32; M42 37.5; M48 43; M56 50.5; M64 58; M18 15.5; M22 19.5; M27 24; M33 29.5; M39 35
"""
FROM_MEMORY = {"M10x1.25": 8.8, "M12x1.25": 10.8, "M6x0.75": 5.2}
# CHART, as far as the drill lies within 2B
INCHES = """
#0-80 3/64; #1-64 #53; #1-72 #53; #2-56 #50; #2-64 #50; #3-48 #47; #3-56 #45; #4-40 #43; #4-48 #42; #5-40 #38; #5-44 #37
#6-32 #36; #6-40 #33; #8-32 #29; #8-36 #29; #10-24 #25; #10-32 #21; #12-24 #16; #12-28 #14; #12-32 #13; 1/4-20 #7
1/4-28 #3; 1/4-32 7/32; 5/16-18 F; 5/16-24 I; 5/16-32 9/32; 3/8-16 5/16; 3/8-24 Q; 3/8-32 11/32; 7/16-14 U
7/16-20 25/64; 7/16-28 Y; 1/2-13 27/64; 1/2-20 29/64; 1/2-28 15/32; 9/16-12 31/64; 5/8-11 17/32
"""
# thread, hole in, percentage; HANDBOOK
PERCENTAGES = """
#2-56 .0730 56; #2-56 .0709 65; #2-56 .0700 69; #2-56 .0689 74; #2-64 .0748 55; #2-64 .0730 64; #2-64 .0728 65
#2-64 .0709 74; #2-64 .0700 79; #3-48 .0846 53; #3-48 .0827 60; #3-48 .0820 63; #3-48 .0785 76; #3-48 .0781 77
"""


def rows(table: str) -> list[list[str]]:
    """Cells of each row."""
    return [row.split() for row in table.strip().replace("\n", ";").split(";")]


@pytest.mark.parametrize("row", rows(METRIC), ids=lambda row: row[0])
def test_drills_for_coarse_metric_threads(row: list[str]) -> None:
    """The drill for M1.6 to M64 is the printed one, and lies within the limits of 6H."""
    found = tap_drill(row[0])
    assert found.drill.diameter_mm == float(row[1])
    assert found.is_inside


@pytest.mark.parametrize(("name", "drill"), FROM_MEMORY.items())
def test_drills_for_fine_metric_threads(name: str, drill: float) -> None:
    """Where d - P falls between two drills, ISO 2306 takes the even tenth (from memory)."""
    assert tap_drill(name).drill.diameter_mm == drill


@pytest.mark.parametrize("row", rows(INCHES), ids=lambda row: row[0])
def test_drills_for_unified_threads(row: list[str]) -> None:
    """The inch drill at 75 % of thread is the chart's, and lies within the limits of 2B."""
    found = tap_drill(row[0])
    assert found.drill.name == row[1]
    assert found.is_inside


@pytest.mark.parametrize(("name", "drill"), [("9/16-18", "33/64"), ("5/8-18", "37/64")])
def test_chart_drills_that_overrun_2b(name: str, drill: str) -> None:
    """33/64 for 9/16-18 and 37/64 for 5/8-18, as the CHART has them, end beyond the minor diameter of 2B: we say so."""
    found = tap_drill(name)
    assert found.drill.name == drill
    assert found.drill.diameter_mm > found.minor[1]
    assert "bore or ream" in found.caution


@pytest.mark.parametrize("row", rows(PERCENTAGES), ids=" ".join)
def test_percentage_of_thread(row: list[str]) -> None:
    """Percentages of full thread to the whole number."""
    assert thread_percent(row[0], float(row[1]) * 25.4) == pytest.approx(float(row[2]), abs=0.5)


def test_decimal_sizes_of_named_drills() -> None:
    """#7 is .2010, #21 .1590, F .257, #43 .0890, 27/64 .4219 in (CHART)."""
    size = {drill.name: drill.diameter_mm / 25.4 for drill in INCH_DRILLS}
    found = [size[name] for name in ("#7", "#21", "F", "#43", "27/64")]
    assert found == pytest.approx([0.2010, 0.1590, 0.257, 0.0890, 0.4219], abs=0.00005)
