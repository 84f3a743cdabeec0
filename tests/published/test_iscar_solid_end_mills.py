"""ISCAR, solid end mills 2022, p. 92: starting speeds and feeds by VDI 3323 group; threading handbook, p. 223.

docs.steelcam.org/iscar/katalog-iscar-monolitnye-frezy-2022-page92 (feed per tooth as a share of the diameter);
iscar.com, Threading_Handbook, page 223 (thread mills, feed per tooth by diameter).
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, group_for, speed_ranges

# group | VDI | m/min | share of the diameter
MILLS = """
mild steel      | 1  | 210-300 | 0.005-0.01
1045            | 2  | 200-250 | 0.005-0.01
4140            | 6  | 160-240 | 0.003-0.008
A2              | 10 | 130-200 | 0.003-0.008
304             | 14 | 60-110  | 0.002-0.007
titanium        | 37 | 60-90   | 0.002-0.004
"""
THREAD_MILLS = [
    ("mild steel", (60, 120), 6, 0.13),
    ("4140", (50, 80), 10, 0.10),
    ("304", (60, 90), 4, 0.05),
    ("titanium", (20, 40), 8, 0.06),
    ("grey iron", (40, 80), 12, 0.17),
    ("aluminium", (80, 150), 3, 0.07),
]


@pytest.mark.parametrize("line", MILLS.strip().splitlines())
def test_end_mills(line: str) -> None:
    """Speed in m/min and feed per tooth as a share of the diameter, here of 8 mm."""
    material, vdi, speed, share = (cell.strip() for cell in line.split("|"))
    assert group_for(material).vdi[0] == int(vdi)
    (row,) = (r for r in speed_ranges(material, "mill", "carbide") if r.source.startswith("ISCAR, solid"))
    assert [row.low, row.high] == [float(v) for v in speed.split("-")]
    rows = feed_ranges(material, "mill", "carbide", 8.0)
    (feed,) = (r for r in rows if r.source.startswith("ISCAR, solid"))
    assert [feed.low / 8, feed.high / 8] == pytest.approx([float(v) for v in share.split("-")], abs=1e-9)


@pytest.mark.parametrize(("material", "speed", "diameter", "printed"), THREAD_MILLS)
def test_thread_mills(material: str, speed: tuple[float, float], diameter: float, printed: float) -> None:
    """Speed in m/min, feed in mm a tooth at the printed diameter."""
    rows = speed_ranges(material, "thread mill", "carbide")
    (row,) = (r for r in rows if r.source.startswith("ISCAR, threading"))
    assert (row.low, row.high) == speed
    feeds = feed_ranges(material, "thread mill", "carbide", diameter)
    (feed,) = (r for r in feeds if r.source.startswith("ISCAR, threading"))
    assert (feed.low, feed.high) == pytest.approx((printed, printed), abs=0.0005)
