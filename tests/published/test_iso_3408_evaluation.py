"""ISO 3408-3, fewest readings in 300 mm of travel by lead and grade.

ISO 3408-3, *Ball screws, Part 3: Acceptance conditions and acceptance tests*, as printed in a maker's
catalogue (p. 81): leads of 2.5, 5, 10, 16 and 20 mm, grades 1, 3, 5, 7 and 9.
"""

import pytest

from loopwright.measuring.screw_grades import least_readings

TABLE = {
    2.5: (30, 20, 10, 5, 5),
    5: (15, 10, 6, 3, 3),
    10: (10, 5, 3, 1, 1),
    16: (8, 5, 3, 1, 1),
    20: (5, 5, 3, 1, 1),
}


@pytest.mark.parametrize("lead", TABLE)
def test_readings_in_300_mm(lead: float) -> None:
    """Leads of 2.5 to 20 mm ask for 30 to 5 readings in grade 1 and for 5 to 1 in grade 9."""
    found = tuple(least_readings(lead, grade) for grade in ("P1", "P3", "P5", "P7", "T9"))
    assert found == TABLE[lead]
