"""E. Isakov, *Boring: calculating deflection*, Cutting Tool Engineering, July 2019.

ctemag.com/news/articles/boring-calculating-deflection. A bar of 1 in (25.4 mm), reach 4 in (101.6 mm), steel of
30 000 000 psi (20.6·10⁴ N/mm²), 207.8 lbf (911.1 N in the metric example).
"""

from math import pi

import pytest

from loopwright.handbook.tool_deflection import bar_deflection


def test_metric_example() -> None:
    """Moment of inertia 20 432 mm⁴, deflection 0.0757 mm; the print multiplies out to 955 536 257 over it."""
    assert pi * 25.4**4 / 64 == pytest.approx(20_432, abs=0.5)
    assert bar_deflection(911.1, 101.6, 25.4, 20.6e4).displacement == pytest.approx(0.0757, abs=0.00005)


def test_inch_example() -> None:
    """207.8 lbf on 4 in of 1 in bar bend 0.003 in."""
    assert bar_deflection(207.8, 4, 1, 30e6).displacement == pytest.approx(0.003, abs=0.0005)
