"""ASME B18.2.8, clearance holes for inch screws.

HANDBOOK: *Machinery's Handbook*, 31st edition, p. 1741, table 1a: least and greatest loose hole, and the drills of the
    normal hole up to 7/16.
From memory: the close holes.
"""

import pytest

from loopwright.handbook.drilled_holes import INCH_DRILLS, clearance_hole
from loopwright.handbook.threads import standard_threads

SIZES = "#0 #1 #2 #3 #4 #5 #6 #8 #10 1/4 5/16 3/8 7/16 1/2 5/8 3/4 7/8 1 1_1/8 1_1/4 1_3/8 1_1/2".split()
LOOSE = """
.094 .104 .116 .128 .144 .172 .185 .213 .238 .297 .359 .422 .484 .609 .734 .906 1.031 1.156 1.312 1.438 1.609 1.734
"""
LOOSE_GREATEST = """
.104 .114 .126 .140 .156 .184 .197 .225 - .311 .373 .438 .500 .625 .754 .926 1.051 1.181 1.337 1.463 1.634 1.759
"""
NORMAL_DRILLS = "#48 #43 #38 #32 #30 5/32 #18 #9 #2 9/32 11/32 13/32 15/32".split()
CLOSE_FROM_MEMORY = {
    "#4": 0.120,
    "#6": 0.154,
    "#8": 0.180,
    "#10": 0.206,
    "1/4": 0.266,
    "3/8": 0.391,
    "1/2": 0.531,
}


def first(size: str) -> str:
    """A thread of a size, whatever its pitch."""
    return next(t.name for t in standard_threads() if t.name.startswith(size.replace("_", " ") + "-"))


def test_loose_holes() -> None:
    """The loose hole of every size from #0 to 1 1/2."""
    found = [clearance_hole(first(size), "loose").diameter[0] / 25.4 for size in SIZES]
    assert found == pytest.approx([float(cell) for cell in LOOSE.split()], abs=0.0005)


def test_greatest_loose_holes() -> None:
    """H14 on the least hole gives the printed greatest within 0.005 in; the table rounds in steps of its own."""
    pairs = [(s, float(c)) for s, c in zip(SIZES, LOOSE_GREATEST.split(), strict=True) if c != "-"]
    found = [clearance_hole(first(size), "loose").diameter[1] / 25.4 for size, _ in pairs]
    assert found == pytest.approx([printed for _, printed in pairs], abs=0.005)


def test_normal_holes_are_those_of_their_drills() -> None:
    """The normal hole is the drill named for it, within 0.002 in."""
    drills = {drill.name: drill.diameter_mm for drill in INCH_DRILLS}
    found = [clearance_hole(first(size), "normal").diameter[0] for size in SIZES[: len(NORMAL_DRILLS)]]
    assert found == pytest.approx([drills[name] for name in NORMAL_DRILLS], abs=0.002 * 25.4)


@pytest.mark.parametrize(("size", "hole"), CLOSE_FROM_MEMORY.items())
def test_close_holes(size: str, hole: float) -> None:
    """The close hole of common sizes (from memory)."""
    assert clearance_hole(first(size), "close").diameter[0] / 25.4 == pytest.approx(hole, abs=0.0005)
