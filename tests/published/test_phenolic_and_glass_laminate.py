"""Norva Plastics, *Phenolic machining*, and US Plastic, article 817, *Glass based phenolics*.

norvaplastics.com/phenolic-fabrication/phenolic-machining: paper and fabric grades are cut dry with ordinary HSS, the
work stays below 150 °C, chips are drawn off by suction. usplastic.com, knowledge base, contentkey 817: glass grades
with carbide or diamond, zero rake, climb milling only; diamond wheel of 12 in at 3000 to 6000 rpm.
"""

from math import pi

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_speeds import group_for, speed_ranges

FOOT = 0.3048


@pytest.mark.parametrize("name", ["phenolic fabric", "FR4"])
def test_dry_cool_and_with_suction(name: str) -> None:
    """The note says dry, suction and 150 °C."""
    note = group_for(name).note
    assert "Dry" in note
    assert "suction" in note
    assert "150 °C" in note


def test_fabric_grades_are_cut_with_hss() -> None:
    """HSS mills and drills fabric grades."""
    assert speed_ranges("phenolic fabric", "mill", "HSS")
    assert speed_ranges("phenolic fabric", "drill", "HSS")


def test_glass_grades_want_carbide_or_diamond() -> None:
    """HSS is refused for the glass laminate; the note asks for climb milling and zero rake."""
    with pytest.raises(OutOfRange, match="carbide, diamond"):
        speed_ranges("FR4", "mill", "HSS")
    assert "climb mill only, zero rake" in group_for("FR4").note


def test_diamond_saw() -> None:
    """A wheel of 12 in at 3000 to 6000 rpm runs at 9425 to 18 850 ft/min."""
    (row,) = speed_ranges("FR4", "saw", "diamond")
    assert [row.low / FOOT, row.high / FOOT] == pytest.approx([pi * 3000, pi * 6000], abs=0.5)
