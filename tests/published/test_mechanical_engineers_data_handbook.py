"""*Mechanical Engineer's Data Handbook*, 5.7.5 and 5.7.6, p. 194: machining of thermoplastics; negative rake cutting.

digilib.universitaspertamina.ac.id, page206. Speeds of plastics are m/s in print, those of metals m/min, roughing and
finishing.
"""

import pytest

from loopwright.handbook.cutting_speeds import feed_ranges, speed_ranges

# material | operation | m/s | mm a revolution
PLASTICS = """
PTFE  | turn  | 1.0-2.5  | 0.05-0.25
PTFE  | drill | 1.25-5.0 | 0.10-0.38
nylon | turn  | 2.1-5.0  | 0.10-0.25
nylon | drill | 2.0-5.0  | 0.10-0.38
"""
METALS = [
    ("mild steel", 230, 300),
    ("medium carbon steel", 160, 210),
    ("bronze", 300, 420),
    ("copper", 450, 540),
    ("brass", 600, 900),
    ("aluminium", 900, 1200),
]


@pytest.mark.parametrize("line", PLASTICS.strip().splitlines())
def test_thermoplastics(line: str) -> None:
    """Cutting speed and feed of turning and drilling."""
    material, operation, speed, feed = (cell.strip() for cell in line.split("|"))
    rows = speed_ranges(material, operation, "HSS")
    (row,) = (r for r in rows if r.source.startswith("Mechanical"))
    assert [row.low / 60, row.high / 60] == pytest.approx([float(v) for v in speed.split("-")], abs=0.005)
    feeds = feed_ranges(material, operation, "HSS", 6)
    (found,) = (r for r in feeds if r.source.startswith("Mechanical"))
    assert [found.low, found.high] == pytest.approx([float(v) for v in feed.split("-")], abs=0.005)


@pytest.mark.parametrize(("material", "rough", "finish"), METALS)
def test_negative_rake_cutting(material: str, rough: float, finish: float) -> None:
    """Carbide, m/min; 0.2 to 0.4 mm a tooth in milling, 0.25 to 0.5 mm a revolution in turning."""
    for operation, feed in [("turn", (0.25, 0.5)), ("face", (0.2, 0.4))]:
        rows = speed_ranges(material, operation, "carbide")
        (row,) = (r for r in rows if "5.7.6" in r.source)
        assert (row.low, row.high) == (rough, finish)
        feeds = feed_ranges(material, operation, "carbide", 80)
        (found,) = (r for r in feeds if "5.7.6" in r.source)
        assert (found.low, found.high) == pytest.approx(feed, abs=0.05)
