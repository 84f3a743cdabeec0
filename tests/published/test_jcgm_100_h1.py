"""JCGM 100:2008 (GUM), Annex H.1: end-gauge calibration.

Joint Committee for Guides in Metrology, *Evaluation of measurement data: Guide to the expression of
uncertainty in measurement*, JCGM 100:2008, Annex H.1, Table H.1. Lengths in nm. Table H.1 prints u_c = 32 nm,
the text
nu_eff = 16.7 cut to 16, t99(16) = 2.92, U99 = 93 nm; H.1.7 prints 34 nm with the terms of second order.
"""

from math import inf

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.loop import Rows
from loopwright.loop.sources import Source, SourceKind
from loopwright.measuring.coverage import coverage_factor_t, effective_dof, expanded_uncertainty
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.spread import Shape, Spread
from loopwright.units import Dimension

LENGTH = 50_000_623.0
ALPHA = 11.5e-6
THETA = -0.1
READINGS = {
    "standard": (Spread(lower=-75, upper=75, shape=Shape.NORMAL, multiple=3), 18),
    "repeated observations": (Spread(std=5.8), 24),
    "comparator, random": (Spread(std=3.9), 5),
    "comparator, systematic": (Spread(lower=-20, upper=20, shape=Shape.NORMAL, multiple=3), 8),
}
WARMTH = {
    "alpha_s": (Spread(lower=-2e-6, upper=2e-6), inf),
    "delta alpha": (Spread(lower=-1e-6, upper=1e-6), 50),
    "mean temperature": (Spread(std=0.2), inf),
    "cycle of temperature": (Spread(lower=-0.5, upper=0.5, shape=Shape.ARCSINE), inf),
    "delta theta": (Spread(lower=-0.05, upper=0.05), 2),
}
SENSITIVITY = [1.0, 1.0, 1.0, 1.0, 0.0, -LENGTH * THETA, 0.0, 0.0, -LENGTH * ALPHA]


def stated() -> tuple[list[Source], Prior, np.ndarray]:
    """The inputs of Table H.1 as sources, their prior, and their degrees of freedom."""
    inputs = READINGS | WARMTH
    sources = [
        Source(name, SourceKind.GEOMETRY, Dimension.LENGTH, spread, name)
        for name, (spread, _) in inputs.items()
    ]
    return sources, prior_of(sources, Shape.RECTANGULAR), np.array([dof for _, dof in inputs.values()])


def contributions() -> np.ndarray:
    """Standard uncertainty that each input brings, nm."""
    _, prior, _ = stated()
    return np.abs(SENSITIVITY) * prior.std


@pytest.mark.parametrize(
    ("name", "std", "tolerance"),
    [
        ("standard", 25, 0.5),
        ("comparator, systematic", 6.7, 0.05),
        ("alpha_s", 1.2e-6, 0.05e-6),
        ("delta alpha", 0.58e-6, 0.005e-6),
        ("cycle of temperature", 0.35, 0.005),
        ("delta theta", 0.029, 0.0005),
    ],
)
def test_standard_uncertainties_of_the_inputs(name: str, std: float, tolerance: float) -> None:
    """Table H.1 prints 25 nm, 6.7 nm, 1.2e-6, 0.58e-6, 0.35 degC and 0.029 degC."""
    spread, _ = (READINGS | WARMTH)[name]
    assert standard_uncertainty(spread) == pytest.approx(std, abs=tolerance)


def test_temperature_and_observations_together() -> None:
    """Table H.1 prints u(theta) = 0.41 degC and u(d) = 9.7 nm with 25.6 degrees of freedom."""
    _, prior, dof = stated()
    assert np.linalg.norm(prior.std[6:8]) == pytest.approx(0.41, abs=0.005)
    assert np.linalg.norm(prior.std[1:4]) == pytest.approx(9.7, abs=0.05)
    printed = [5.8, 3.9, 6.7]
    # the guide divides the rounded 9.7 nm to the fourth power; the sum of the printed three gives 25.45
    found = effective_dof(printed, dof[1:4])
    assert found == pytest.approx(25.45, abs=0.005)
    assert found * (9.7 / np.linalg.norm(printed)) ** 4 == pytest.approx(25.6, abs=0.05)


def test_contributions() -> None:
    """Table H.1 prints contributions of 2.9 nm (difference of expansion) and 16.6 nm (difference of
    temperature).
    """
    brought = contributions()
    assert brought[5] == pytest.approx(2.9, abs=0.05)
    assert brought[8] == pytest.approx(16.6, abs=0.05)


def test_combined_standard_uncertainty() -> None:
    """The budget of the nine inputs is u_c = 32 nm about l = 50 000 838 nm."""
    sources, prior, _ = stated()
    matrix = np.array(SENSITIVITY).reshape(1, 1, len(sources))
    mean = np.array([[LENGTH + 215.0]])
    rows = Rows(matrix, mean, ("l",), {}, np.zeros((1, 3)), Dimension.LENGTH)
    found = budget(rows, prior)
    assert found.std[0, 0] == pytest.approx(32, abs=0.5)
    assert found.rows.mean[0, 0] == 50_000_838
    assert found.share_worst.sum() == pytest.approx(1)
    assert found.share_worst[[4, 6, 7]] == pytest.approx([0, 0, 0])


def test_effective_degrees_of_freedom() -> None:
    """nu_eff = 16.7, cut to 16."""
    _, _, dof = stated()
    found = effective_dof(contributions(), dof)
    assert found == pytest.approx(16.7, abs=0.06)
    assert int(found) == 16


def test_expanded_uncertainty() -> None:
    """t99(16) = 2.92, and U99 = 2.92 x 32 nm = 93 nm."""
    _, _, dof = stated()
    found = expanded_uncertainty(contributions(), dof, 0.99)
    assert found.factor == pytest.approx(2.92, abs=0.005)
    assert coverage_factor_t(0.99, 16) == found.factor
    # the guide multiplies the rounded 32 nm; unrounded it is 92.5 nm
    assert found.factor * round(found.combined) == pytest.approx(93, abs=0.5)
    assert found.expanded == pytest.approx(92.5, abs=0.05)


def test_terms_of_second_order() -> None:
    """With l_s u(delta alpha) u(theta) = 11.7 nm and l_s u(alpha_s) u(delta theta) = 1.7 nm it is 34 nm
    (H.1.7).
    """
    _, prior, _ = stated()
    theta = float(np.linalg.norm(prior.std[6:8]))
    second = [LENGTH * prior.std[5] * theta, LENGTH * prior.std[4] * prior.std[8]]
    assert second == pytest.approx([11.7, 1.7], abs=0.05)
    together = expanded_uncertainty([*contributions(), *second], inf, 0.95).combined
    assert together == pytest.approx(34, abs=0.5)
