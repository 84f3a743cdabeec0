"""littlemachineshop.com, cutting speeds (after Machinery's Handbook), turning.

devsite.littlemachineshop.com/reference/cuttingspeeds.php: feed 0.004 in, depth 0.040 in, 180 minutes of tool life.
"""

import pytest

from loopwright.handbook.cutting_speeds import envelope, speed_ranges

FOOT = 0.3048
ROWS = """
aluminium 6061 | 500-600 | 2820-2820
cast aluminium | 600-750 | 2820-2820
1018           | 125-215 | 800-885
1045           | 55-180  | 670-970
4140           | 70-200  | 430-685
304            | 115-135 | 570-570
O1             | 125-125 | 590-590
A2             | 80-125  | 355-365
cast iron      | 145-215 | 410-410
brass          | 300-350 | 1170-1170
bronze         | 200-250 | 715-715
"""


@pytest.mark.parametrize("line", ROWS.strip().splitlines())
def test_turning(line: str) -> None:
    """HSS and carbide in ft/min, each a row of its own within the span of all sources."""
    material, *cells = (cell.strip() for cell in line.split("|"))
    for tool, cell in zip(["HSS", "carbide"], cells, strict=True):
        printed = [float(end) for end in cell.split("-")]
        rows = speed_ranges(material, "turn", tool)
        (row,) = (row for row in rows if row.source.startswith("littlemachineshop"))
        assert [row.low / FOOT, row.high / FOOT] == pytest.approx(printed, abs=0.5)
        assert envelope(rows).holds(row.low)
        assert envelope(rows).holds(row.high)


def test_free_cutting_steel_has_two_rows() -> None:
    """Resulphurised 270 to 290 and leaded 200 to 260 ft/min stay apart."""
    rows = speed_ranges("free-cutting steel", "turn", "HSS")
    assert [(round(r.low / FOOT), round(r.high / FOOT), r.cut) for r in rows] == [
        (270, 290, "resulphurised"),
        (200, 260, "leaded"),
    ]


def test_304_is_never_one_number() -> None:
    """Sources for 304 span 20 to 570 ft/min over tools and cuts, and each is named."""
    rows = [*speed_ranges("304", "turn", "HSS"), *speed_ranges("304", "turn", "carbide")]
    assert envelope(tuple(rows)).low / FOOT == pytest.approx(20, abs=0.5)
    assert envelope(tuple(rows)).high / FOOT == pytest.approx(570, abs=0.5)
    assert len({row.source for row in rows}) == 3
