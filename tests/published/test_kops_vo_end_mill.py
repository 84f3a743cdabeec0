"""L. Kops and D. T. Vo, CIRP Annals 39 (1990) 93: equivalent diameter of an end mill based on its compliance.

The flutes bend like a round bar of about 80 % of the cutter's diameter, for two and four flutes. A training course
of Mitsubishi Materials gives 0.7 to 0.8 (mmc-carbide.com, courses/70).
"""

import pytest

from loopwright.handbook.tool_deflection import FLUTED, bar_deflection, end_mill_deflection


def test_equivalent_diameter() -> None:
    """An end mill bends as a plain bar of 0.8 of its diameter."""
    assert pytest.approx(0.80, abs=0.005) == FLUTED
    assert 0.7 <= FLUTED <= 0.8
    mill, bar = end_mill_deflection(100, 30, 10, 600e3), bar_deflection(100, 30, 8, 600e3)
    assert mill.displacement == pytest.approx(bar.displacement, rel=1e-12)
