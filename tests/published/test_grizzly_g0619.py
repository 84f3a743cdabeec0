"""Grizzly, *G0619 manual*, p. 26: cutting speeds for HSS, doubled for carbide, and rpm = 4 × speed over inches.

manualshive.com/manual/grizzly/g0619/2266130?page=26.
"""

import pytest

from loopwright.handbook.cutting_geometry import FEET, INCH, rpm
from loopwright.handbook.cutting_speeds import envelope, speed_ranges

SPEEDS = [
    ("aluminium", 300),
    ("brass", 150),
    ("bronze", 150),
    ("grey iron", 80),
    ("mild steel", 90),
    ("O1", 50),
    ("stainless steel 304", 60),
    ("titanium", 50),
    ("copper", 100),
]


def test_rule_of_four_and_exact() -> None:
    """300 ft/min on half an inch: 2400 rpm by the manual's rule, 2292 exactly."""
    assert rpm(300 * FEET, 0.5 * INCH, "times four") == pytest.approx(2400, abs=0.5)
    assert rpm(300 * FEET, 0.5 * INCH) == pytest.approx(2292, abs=0.5)


@pytest.mark.parametrize(("material", "fpm"), SPEEDS)
def test_speeds_for_hss(material: str, fpm: float) -> None:
    """The manual's number stands among the rows, with its source, and lies within their span."""
    rows = speed_ranges(material, "mill", "HSS")
    of_source = [row for row in rows if row.source.startswith("Grizzly")]
    assert [row.low / FEET for row in of_source] == pytest.approx([fpm], abs=0.5)
    assert envelope(rows).holds(of_source[0].low)


def test_carbide_is_doubled_where_nothing_else_is_known() -> None:
    """Copper has no rows for carbide: twice HSS, said to be a rule, with the manual as source."""
    rows = speed_ranges("copper", "mill", "carbide")
    assert 200 in [round(row.low / FEET) for row in rows]
    assert all(row.by_rule and "Grizzly" in row.source for row in rows)
