"""ISO 273:1979, clearance holes for bolts and screws.

HARDWARE: engineeringhardware.com/?p=50, *Clearance hole sizes conform to ISO 273*: M1.6 to M16, fine H12, medium H13,
    coarse H14.
From memory: M18 to M64, of which M20, M24 and M30 stand here.
"""

import pytest

from loopwright.handbook.drilled_holes import clearance_hole
from loopwright.handbook.limits_and_fits import limits

TABLE = """
M1.6 1.7 1.8 2.0; M2 2.2 2.4 2.6; M2.5 2.7 2.9 3.1; M3 3.2 3.4 3.6; M3.5 3.7 3.9 4.2; M4 4.3 4.5 4.8; M5 5.3 5.5 5.8
M6 6.4 6.6 7.0; M7 7.4 7.6 8.0; M8 8.4 9.0 10.0; M10 10.5 11.0 12.0; M12 13.0 13.5 14.5; M14 15.0 15.5 16.5
M16 17.0 17.5 18.5
"""
FROM_MEMORY = "M20 21 22 24; M24 25 26 28; M30 31 33 35"


@pytest.mark.parametrize("row", TABLE.strip().replace("\n", ";").split(";"), ids=lambda row: row.split()[0])
def test_holes_of_three_series(row: str) -> None:
    """Fine, medium and coarse hole of M1.6 to M16."""
    name, *printed = row.split()
    found = [clearance_hole(name, fit).diameter[0] for fit in ("fine", "medium", "coarse")]
    assert found == [float(cell) for cell in printed]


@pytest.mark.parametrize("row", FROM_MEMORY.split("; "), ids=lambda row: row.split()[0])
def test_holes_of_larger_screws(row: str) -> None:
    """Fine, medium and coarse hole of M20, M24 and M30 (from memory)."""
    name, *printed = row.split()
    found = [clearance_hole(name, fit).diameter[0] for fit in ("fine", "medium", "coarse")]
    assert found == [float(cell) for cell in printed]


@pytest.mark.parametrize(("fit", "grade"), [("fine", "H12"), ("medium", "H13"), ("coarse", "H14")])
def test_each_series_has_its_tolerance(fit: str, grade: str) -> None:
    """Fine is H12, medium H13, coarse H14."""
    found = clearance_hole("M10", fit)
    low, high = found.diameter
    assert found.grade == grade
    assert high - low == pytest.approx(limits(low, grade)[1])
