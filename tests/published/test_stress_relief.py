"""Stress relief of tool steel, steel and grey cast iron, as printed.

EASTERN: Eastern Tool Steel Service, O-1 data sheet: annealed, 1100 to 1300 °F, two hours.
BUFFALO: Buffalo Precision, O1 and A2 data sheets: 1250 °F, and 1200 to 1250 °F, two hours per inch, slow cooling.
FLAT: groundflatstock.com, *O1 tool steel heat treatment information*: 670 to 700 °C.
RAJ: rajmetals.com, D2: up to 700 °C.
IRON1: cncastingfactory.com, *Cast iron heat treatment process*: 500 to 550 °C, 2 to 8 hours, cooled in the furnace.
IRON2: dffoundry.com, *Stress relief annealing*: 550 °C for ordinary grey iron; cooled at 20 to 40 K an hour.
WHY: industrialheating.com, *Why is stress relieving necessary*: 800 to 1200 °F for steel.
"""

import pytest

from loopwright.handbook.heat_treatment import stress_relief


@pytest.mark.parametrize("degc", [(1100 - 32) / 1.8, (1250 - 32) / 1.8, 670, 700])
def test_annealed_o1(degc: float) -> None:
    """EASTERN's low end, BUFFALO's 1250 °F and FLAT's 670 to 700 °C lie in the band; two hours at least."""
    found = stress_relief("O1 annealed")
    assert found.degc.low - 1e-9 <= degc <= found.degc.high
    assert found.least_hours == 2
    assert found.hours_per_25mm.holds(2)


def test_annealed_a2_and_d2() -> None:
    """BUFFALO: A2 1200 to 1250 °F; RAJ: D2 up to 700 °C."""
    assert stress_relief("A2").degc[:2] == pytest.approx((648.9, 676.7), abs=0.05)
    assert stress_relief("D2").degc.high == 700


@pytest.mark.parametrize("degc", [500, 550])
def test_grey_iron(degc: float) -> None:
    """IRON1: 500 to 550 °C; IRON2: 550 °C and slow cooling in the furnace."""
    found = stress_relief("cast iron")
    assert found.degc.holds(degc)
    assert "20 to 40 K an hour" in found.cooling


def test_cold_drawn_steel() -> None:
    """WHY: 800 to 1200 °F."""
    assert stress_relief("cold drawn steel").degc[:2] == pytest.approx((426.7, 648.9), abs=0.05)
