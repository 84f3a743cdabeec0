"""US TM-43-0106 (T.O. 1-1A-9), table 2-8, p. 2-72: suggested cutting speeds and feeds, turning stainless steels.

aviationandaccessories.tpub.com/TM-43-0106/css/TM-43-0106_89.htm. Feeds for stock of 1 inch and more.
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, speed_ranges

FOOT, INCH = 0.3048, 25.4
# material | tool | cut | ft/min | in a revolution
ROWS = """
304  | HSS     | rough  | 20-40   | 0.020-0.040
304  | HSS     | finish | 50-80   | 0.008-0.015
304  | carbide | rough  | 150-200 | 0.010-0.030
304  | carbide | finish | 150-300 | 0.008-0.018
303  | HSS     | rough  | 25-55   | 0.015-0.050
303  | HSS     | finish | 65-105  | 0.005-0.015
303  | carbide | rough  | 175-240 | 0.010-0.030
303  | carbide | finish | 195-350 | 0.005-0.015
440C | HSS     | rough  | 20-40   | 0.015-0.040
440C | HSS     | finish | 55-90   | 0.008-0.018
440C | carbide | rough  | 165-220 | 0.015-0.030
440C | carbide | finish | 165-330 | 0.005-0.015
"""


@pytest.mark.parametrize("line", ROWS.strip().splitlines())
def test_turning_stainless_steel(line: str) -> None:
    """Speed and feed, rough and finish, with HSS and carbide."""
    material, tool, cut, fpm, feed = (cell.strip() for cell in line.split("|"))
    speeds, feeds = speed_ranges(material, "turn", tool), feed_ranges(material, "turn", tool)
    (speed,) = (row for row in speeds if row.source.startswith("US TM") and row.cut == cut)
    (found,) = (row for row in feeds if row.source.startswith("US TM") and row.cut == cut)
    assert [speed.low / FOOT, speed.high / FOOT] == pytest.approx([float(v) for v in fpm.split("-")], abs=0.5)
    assert [found.low / INCH, found.high / INCH] == pytest.approx(
        [float(v) for v in feed.split("-")], abs=5e-4
    )
    assert found.per == "rev"
