"""ASME Y14.5M-1994, appendix B, formulas for positional tolerancing of holes for floating and fixed screws.

KCK: joshuanava.biz, *Dimensioning and tolerancing*, info-kck.html: fixed screw of 6.00 in holes of 6.44, '0.22 diameter
    for each part'. The formula also in *GDT: application and interpretation*, 2021, p. 324 (g-wonlinetextbooks.com).
From memory: the floating case with the same sizes, and the case without a projected tolerance zone.
"""

import pytest

from loopwright.handbook.fasteners_position import (
    fixed_hole,
    fixed_tolerances,
    floating_hole,
    floating_tolerance,
)


def test_floating_screw() -> None:
    """A screw of 6.00 in holes of 6.44 lets each part miss by 0.44 (from memory)."""
    assert floating_tolerance(6.44, 6.00) == pytest.approx(0.44, abs=0.005)
    assert floating_hole(6.00, 0.44) == pytest.approx(6.44, abs=0.005)


def test_fixed_screw() -> None:
    """The same screw held by one part leaves 0.22 for each (KCK)."""
    assert fixed_tolerances(6.44, 6.00) == pytest.approx((0.22, 0.22), abs=0.005)
    assert fixed_hole(6.00, 0.22, 0.22) == pytest.approx(6.44, abs=0.005)


def test_without_a_projected_zone_the_hole_grows() -> None:
    """H = F + T1 + T2 (1 + 2P/D): with P = D the hole needs 6.00 + 0.22 + 3 · 0.22 = 6.88 (from memory)."""
    assert fixed_hole(6.00, 0.22, 0.22, lean=1.0) == pytest.approx(6.88, abs=0.005)
