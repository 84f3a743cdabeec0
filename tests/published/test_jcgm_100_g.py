"""JCGM 100:2008 (GUM), Annex G: effective degrees of freedom and Student's factor.

Joint Committee for Guides in Metrology, *Guide to the expression of uncertainty in measurement*, JCGM
100:2008:
example of G.4.1, and Table G.2 (from memory).
"""

from math import inf

import pytest

from loopwright.errors import OutOfRange
from loopwright.measuring.coverage import coverage_factor_t, effective_dof, expanded_uncertainty

RELATIVE, DOF = (0.25, 0.57, 0.82), (9, 4, 14)


def test_example_of_g_4_1() -> None:
    """Relative uncertainties of 0.25, 0.57 and 0.82 % from 10, 5 and 15 readings: 1.03 %, 19.0, and U95 = 2.2
    %.
    """
    found = expanded_uncertainty(RELATIVE, DOF, 0.95)
    assert found.combined == pytest.approx(1.03, abs=0.005)
    assert effective_dof(RELATIVE, DOF) == pytest.approx(19.0, abs=0.05)
    assert coverage_factor_t(0.95, 19) == pytest.approx(2.09, abs=0.005)
    assert found.expanded == pytest.approx(2.2, abs=0.05)


@pytest.mark.parametrize(
    ("dof", "confidence", "factor"),
    [
        (1, 0.6827, 1.84), (1, 0.95, 12.71), (1, 0.99, 63.66),
        (2, 0.95, 4.30), (5, 0.95, 2.57), (5, 0.99, 4.03), (10, 0.95, 2.23), (10, 0.99, 3.17),
        (20, 0.95, 2.09), (50, 0.95, 2.01), (100, 0.95, 1.984), (inf, 0.95, 1.960), (inf, 0.99, 2.576),
    ],
)  # fmt: skip
def test_table_g_2(dof: float, confidence: float, factor: float) -> None:
    """Table G.2 prints t for each number of degrees of freedom."""
    tolerance = 0.0005 if dof >= 100 else 0.005
    assert coverage_factor_t(confidence, dof) == pytest.approx(factor, abs=tolerance)


def test_what_has_no_degrees_of_freedom_is_refused() -> None:
    """Zero degrees of freedom, a negative contribution and a certainty are refused."""
    for wrong in (lambda: effective_dof([1.0], [0]), lambda: effective_dof([-1.0], [3])):
        with pytest.raises(OutOfRange):
            wrong()
    for confidence, dof in ((1.0, 3), (0.0, 3), (0.95, 0)):
        with pytest.raises(OutOfRange):
            coverage_factor_t(confidence, dof)
    assert effective_dof([1.0, 2.0], inf) == inf
