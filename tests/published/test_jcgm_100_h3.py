"""JCGM 100:2008 (GUM), Annex H.3: calibration of a thermometer.

Joint Committee for Guides in Metrology, *Evaluation of measurement data: Guide to the expression of
uncertainty in measurement*, JCGM 100:2008, Annex H.3, Table H.6 and H.3.3: a straight line
b = y1 + y2 (t - 20 °C) through 11 readings. The annex prints y1 = -0.1712 with 0.0029, y2 = 0.002 18 with
0.000 67, r = -0.930, s = 0.0035, and b(30 °C) = -0.1494 with 0.0041, all °C.
"""

import numpy as np
import pytest

from loopwright.measuring.line_fit import fit_line

T = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
B = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])


def test_the_line() -> None:
    """y1 = -0.1712 °C with 0.0029 °C, y2 = 0.00218 with 0.00067, s = 0.0035 °C from 9 degrees of freedom."""
    fit = fit_line(T - 20, B)
    assert fit.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert fit.u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert fit.slope == pytest.approx(0.00218, abs=5e-6)
    assert fit.u_slope == pytest.approx(0.00067, abs=5e-6)
    assert fit.residual_std == pytest.approx(0.0035, abs=5e-5)
    assert fit.dof == 9


def test_the_correlation() -> None:
    """Intercept and slope are correlated by -0.930."""
    fit = fit_line(T - 20, B)
    assert fit.covariance[0, 1] / (fit.u_intercept * fit.u_slope) == pytest.approx(-0.930, abs=5e-4)


def test_the_correction_predicted() -> None:
    """The correction at 30 °C is -0.1494 °C with 0.0041 °C, the correlation included."""
    value, u = fit_line(T - 20, B).at(10.0)
    assert value == pytest.approx(-0.1494, abs=5e-5)
    assert u == pytest.approx(0.0041, abs=5e-5)
