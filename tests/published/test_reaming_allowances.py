"""Stock on diameter for reaming, as two pages print it.

METRIC: eventexam.blogspot.com, *Under sizes of reaming*.
CHART: utilitiesbunker.com, *Reamer allowance chart*, machine and hand reamers, thousandths of an inch.
The two differ, so the handbook holds the band of both.
"""

import pytest

from loopwright.handbook.stock_allowances import reaming

INCH = 25.4


@pytest.mark.parametrize(
    ("diameter", "low", "high"),
    [(3, 0.1, 0.2), (5, 0.1, 0.2), (12, 0.2, 0.3), (20, 0.2, 0.3), (30, 0.3, 0.5), (80, 0.5, 1.0)],
)
def test_metric_table(diameter: float, low: float, high: float) -> None:
    """METRIC: 0.1 to 0.2 mm up to 5 mm, 0.2 to 0.3 to 20, 0.3 to 0.5 to 50, 0.5 to 1 above."""
    found = reaming(diameter)
    assert found.low <= low + 1e-12
    assert found.high >= high - 1e-12


@pytest.mark.parametrize(
    ("diameter", "low", "high"),
    [
        (0.125, 5, 8),
        (0.25, 8, 12),
        (0.5, 12, 16),
        (0.75, 16, 20),
        (1.0, 20, 25),
        (1.5, 25, 31),
        (2.0, 31, 40),
    ],
)
def test_machine_reamers(diameter: float, low: float, high: float) -> None:
    """CHART, machine reamers: 0.005 to 0.008 in up to 1/8 in, up to 0.031 to 0.040 in over 1-1/2 in."""
    found = reaming(diameter * INCH)
    assert found.low <= low / 1000 * INCH + 1e-12
    assert found.high >= high / 1000 * INCH - 1e-12


@pytest.mark.parametrize(
    ("diameter", "low", "high"),
    [(0.125, 3, 5), (0.25, 4, 6), (0.5, 5, 10), (0.75, 8, 12), (1.0, 10, 15), (1.5, 12, 20), (2.0, 12, 20)],
)
def test_hand_reamers(diameter: float, low: float, high: float) -> None:
    """CHART, hand reamers: 0.003 to 0.005 in up to 1/8 in, up to 0.012 to 0.020 in at 2 in."""
    found = reaming(diameter * INCH, by_hand=True)
    assert found[:2] == pytest.approx((low / 1000 * INCH, high / 1000 * INCH), abs=1e-12)
