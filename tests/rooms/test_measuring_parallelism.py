"""Parallelism to a datum line, and of two rails."""

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.measuring.lines import Reference
from loopwright.measuring.parallelism import parallel_rails, parallel_to_datum

X = np.arange(7) * 50.0


def test_a_leaning_line_by_hand() -> None:
    """A straight line that rises 12 µm more over 300 mm than its datum: 40 µrad, value 12 µm."""
    found = parallel_to_datum(X, 5 + 1e-4 * X, X, 9 + 1.4e-4 * X, u=1e-3)
    assert (found.angle, found.value, found.length) == pytest.approx((40e-6, 0.012, 300))
    assert found.readings == 14


def test_two_rails_by_hand() -> None:
    """12 µm between rails 300 mm apart rolls a bridge by 40 µrad, which is 6 µm at 150 mm above (constructed)."""
    found = parallel_rails([0, 300], [0, 0], [0, 0.012], u=1e-3)
    roll = float(np.ptp(found.roll(300)))
    assert roll == pytest.approx(40e-6)
    assert roll * 150 == pytest.approx(6e-3)
    assert found.u_value == pytest.approx(2e-3)  # four readings
    assert found.u_angle == pytest.approx(2e-3 / 300)


def test_what_both_sweeps_share_falls_out() -> None:
    """Two rails read against one straightedge: its error adds nothing to angle or value."""
    edge = np.sin(np.arange(7))[:, None] * 1e-3
    shared = np.tile(edge @ edge.T, (2, 2))
    first, second = np.cos(X) * 1e-3, np.sin(X) * 2e-3
    plain = parallel_rails(X, first, second, u=1e-4)
    told = parallel_rails(X, first, second, u=1e-4, covariance=shared)
    assert (told.u_angle, told.u_value) == pytest.approx((plain.u_angle, plain.u_value))


@pytest.mark.parametrize("reference", [Reference.LEAST_SQUARES, Reference.END_POINTS])
def test_uncertainty_against_simulation(reference: Reference) -> None:
    """Angle and value scatter over 4000 trials as first order says."""
    draw = np.random.Generator(np.random.PCG64(17))
    datum, line = draw.normal(size=7) * 2e-3, draw.normal(size=7) * 4e-3
    told = parallel_to_datum(X, datum, X, line, u=5e-5, reference=reference)
    noisy_datum, noisy = (h + draw.normal(size=(4000, 7)) * 5e-5 for h in (datum, line))
    where = [0, -1] if reference is Reference.END_POINTS else slice(None)
    slope_datum = np.polynomial.polynomial.polyfit(X[where], noisy_datum[:, where].T, 1)[1]
    slope = np.polynomial.polynomial.polyfit(X, noisy.T, 1)[1]
    values = np.ptp(noisy - slope_datum[:, None] * X, axis=1)
    assert (slope - slope_datum).std(ddof=1) == pytest.approx(told.u_angle, rel=0.05)
    assert values.std(ddof=1) == pytest.approx(told.u_value, rel=0.05)


def test_bad_sweeps_are_named() -> None:
    """Sweeps at one place, or rails read at different places, are refused by name."""
    with pytest.raises(RequestError, match="'datum_x' are the same"):
        parallel_to_datum([1, 1], [0, 0], X, X, u=0)
    with pytest.raises(RequestError, match="'second' 2"):
        parallel_rails(X, X, [0, 1], u=0)
    with pytest.raises(RequestError, match="'span'"):
        parallel_rails(X, X, X, u=0).roll(0)
