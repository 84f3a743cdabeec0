"""NIST Statistical Reference Datasets, linear regression: Norris, NoInt1, NoInt2.

National Institute of Standards and Technology, *Statistical Reference Datasets*, linear least squares:
Norris.dat, NoInt1.dat, NoInt2.dat (itl.nist.gov/div898/strd). The certified values carry 15 digits, of which
float64 arithmetic cannot promise the last; they are met to 12 digits (relative 1e-12).
"""

from math import sqrt

import numpy as np
import pytest

from loopwright.measuring.line_fit import fit_line

NORRIS = """
0.2 0.1  337.4 338.8  118.2 118.1  884.6 888.0  10.1 9.2  226.5 228.1  666.3 668.5  996.3 998.5  448.6 449.1
777.0 778.9  558.2 559.2  0.4 0.3  0.6 0.1  775.5 778.1  666.9 668.8  338.0 339.3  447.5 448.9  11.6 10.8
556.0 557.7  228.1 228.3  995.8 998.0  887.6 888.8  120.2 119.6  0.3 0.3  0.3 0.6  556.8 557.6  339.1 339.3
887.2 888.0  999.0 998.5  779.0 778.9  11.1 10.2  118.3 117.6  229.2 228.9  669.1 668.4  448.9 449.2  0.5 0.2
"""
CLOSE = 1e-12


def test_norris() -> None:
    """Norris: intercept -0.262323073774029, slope 1.00211681802045, their standard deviations and the residual one."""
    x, y = np.array(NORRIS.split(), float).reshape(-1, 2).T
    fit = fit_line(x, y)
    assert fit.intercept == pytest.approx(-0.262323073774029, rel=CLOSE)
    assert fit.slope == pytest.approx(1.00211681802045, rel=CLOSE)
    assert fit.u_intercept == pytest.approx(0.232818234301152, rel=CLOSE)
    assert fit.u_slope == pytest.approx(0.429796848199937e-3, rel=CLOSE)
    assert fit.residual_std == pytest.approx(0.884796396144373, rel=CLOSE)
    assert fit.dof == 34
    assert float(fit.residuals @ fit.residuals) == pytest.approx(26.6173985294224, rel=CLOSE)
    assert float(np.sum((y - y.mean() - fit.residuals) ** 2)) == pytest.approx(4255954.13232369, rel=CLOSE)


@pytest.mark.parametrize(
    ("x", "y", "slope", "u_slope", "residual", "r_squared"),
    [
        (
            range(60, 71),
            range(130, 141),
            2.07438016528926,
            0.165289256198347e-1,
            3.56753034006338,
            0.999365492298663,
        ),
        ((4, 5, 6), (3, 4, 4), 0.727272727272727, 0.420827318078432e-1, 0.369274472937998, 0.993348115299335),
    ],
    ids=["NoInt1", "NoInt2"],
)
def test_through_the_origin(
    x: range, y: range, slope: float, u_slope: float, residual: float, r_squared: float
) -> None:
    """NoInt1 and NoInt2: slope 2.07438016528926 and 0.727272727272727 of a line held to the origin."""
    fit = fit_line(list(x), list(y), through_origin=True)
    assert fit.slope == pytest.approx(slope, rel=CLOSE)
    assert fit.u_slope == pytest.approx(u_slope, rel=CLOSE)
    assert fit.residual_std == pytest.approx(residual, rel=CLOSE)
    explained = 1 - float(fit.residuals @ fit.residuals) / sum(v * v for v in y)
    assert sqrt(explained) == pytest.approx(sqrt(r_squared), rel=CLOSE)
    assert (fit.intercept, fit.u_intercept, fit.dof) == (0.0, 0.0, len(x) - 1)
