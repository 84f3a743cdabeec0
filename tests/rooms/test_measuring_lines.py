"""Straightness: three reference lines, their exactness and their uncertainty."""

from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog

from loopwright.errors import RequestError
from loopwright.measuring.line_fit import fit_line
from loopwright.measuring.lines import Reference, straightness

X = np.arange(9) * 100.0
H = np.array([0, 2, 3, 5, 4, 1, -1, 2, 4]) * 1e-3
END, LEAST, ZONE = Reference.END_POINTS, Reference.LEAST_SQUARES, Reference.MINIMUM_ZONE


def exact_zone(x: np.ndarray, h: np.ndarray) -> float:
    """Width of the minimum zone as the optimum of its linear program, in units of 1 about the middle."""
    away, one = (x - x.mean()) / np.ptp(x), np.ones(len(x))
    above, below = np.stack([-away, -one, -one], axis=1), np.stack([away, one, -one], axis=1)
    solved = linprog(
        [0, 0, 2], np.vstack([above, below]), np.concatenate([-h, h]), bounds=[(None, None)] * 2 + [(0, None)]
    )
    return float(solved.fun)


def test_three_reference_lines() -> None:
    """One set of nine readings is straight within 7.5 µm by its ends and 6.2 µm by least squares (constructed)."""
    by_ends, by_squares, zone = (straightness(X, H, u=1e-3, reference=r) for r in (END, LEAST, ZONE))
    assert by_ends.value == pytest.approx(7.5e-3, abs=1e-12)
    assert (by_ends.highest, by_ends.lowest) == (3, 6)
    assert by_ends.deviations[[3, 6]] == pytest.approx([3.5e-3, -4e-3])
    assert by_squares.value == pytest.approx(6.2e-3, abs=1e-12)
    assert by_squares.slope * 1e3 == pytest.approx(6.666667e-4, abs=5e-10)
    assert by_squares.intercept * 1e3 == pytest.approx(1.955556, abs=5e-7)
    assert zone.value == pytest.approx(exact_zone(X, H * 1e3) * 1e-3, rel=1e-9)
    assert zone.value < by_squares.value


@pytest.mark.parametrize("seed", range(40))
def test_the_minimum_zone_is_the_optimum(seed: int) -> None:
    """The hull finds the same width as a linear program, with repeated places and ties too."""
    draw = np.random.Generator(np.random.PCG64(seed))
    count = int(draw.integers(3, 40))
    x = draw.integers(0, 30, count) * 10.0 if seed % 2 else draw.uniform(0, 500, count)
    h = draw.integers(-4, 5, count) * 1.0 if seed % 3 == 0 else draw.normal(size=count)
    if np.ptp(x) == 0:
        x[0] += 10
    found = straightness(x, h, u=0.1, reference=ZONE)
    assert found.value == pytest.approx(exact_zone(x, h), abs=1e-9)
    on_edge = np.abs(found.deviations[list(found.touching)])
    assert on_edge == pytest.approx(np.full(3, found.value / 2), abs=1e-9)


def test_the_minimum_zone_of_a_fine_sweep_far_off() -> None:
    """Readings of nanometres on a height of metres, far from x = 0, keep their zone to a picometre."""
    draw = np.random.Generator(np.random.PCG64(5))
    h = draw.normal(size=60) * 1e-6
    near, far = (
        straightness(X0 + np.arange(60.0), h + H0, u=0.0, reference=ZONE) for X0, H0 in ((0, 0), (1e5, 16.0))
    )
    assert far.value == pytest.approx(near.value, abs=2e-14 * 16 / 1e-3)


@pytest.mark.parametrize("reference", Reference)
def test_uncertainty_against_simulation(reference: Reference) -> None:
    """Slope, intercept and value scatter over 4000 trials as first order says, with shared errors too."""
    trials, u = 4000, 5e-5
    draw = np.random.Generator(np.random.PCG64(11))
    scale = 1e-4 * (X / 800) ** 2  # one shared bow
    told = straightness(X, H, u=u, covariance=np.outer(scale, scale), reference=reference)
    noise = draw.normal(size=(trials, 9)) * u + draw.normal(size=(trials, 1)) * scale
    if reference is Reference.MINIMUM_ZONE:
        drawn = [straightness(X, h, u=0, reference=reference) for h in H + noise]
        slopes, levels, values = np.array([(s.slope, s.intercept, s.value) for s in drawn]).T
    else:
        where = [0, -1] if reference is Reference.END_POINTS else slice(None)
        fitted = np.polynomial.polynomial.polyfit(X[where], (H + noise)[:, where].T, 1)
        levels, slopes = fitted
        values = np.ptp(H + noise - levels[:, None] - slopes[:, None] * X, axis=1)
    for found, stated in ((slopes, told.u_slope), (levels, told.u_intercept), (values, told.u_value)):
        assert found.std(ddof=1) == pytest.approx(stated, rel=0.05)


def test_uncertainty_by_hand() -> None:
    """Three readings: the zone moves by 1 and by 1/2 for its ends, so u is √1.5 times that of a reading."""
    found = straightness([0, 100, 200], [0, 3e-3, 0], u=1e-3, reference=ZONE)
    assert found.u_value == pytest.approx(1e-3 * 1.5**0.5)
    assert found.u_slope == pytest.approx(1e-3 * 2**0.5 / 200)
    assert (found.readings, found.largest_gap) == (3, 100.0)


def test_a_weighted_line_by_hand() -> None:
    """Two readings at either end weigh by 1/u², and the scatter does not enter their uncertainty."""
    fit = fit_line([0, 0, 1, 1], [0, 3, 5, 8], u=[1, 2, 1, 2])
    assert (fit.intercept, fit.slope) == pytest.approx((0.6, 5.0))
    assert fit.u_intercept == pytest.approx(0.8**0.5)
    assert fit.u_slope == pytest.approx(1.6**0.5)
    assert fit.residual_std == pytest.approx((2 * (0.6**2 + (2.4 / 2) ** 2) / 2) ** 0.5)


def test_a_shared_offset_leaves_the_slope_alone() -> None:
    """A zero common to all readings adds to the intercept's uncertainty and not to the slope's."""
    x, y = np.arange(6.0), np.array([0.0, 1.1, 1.9, 3.2, 3.9, 5.0])
    alone, shared = fit_line(x, y, u=0.1), fit_line(x, y, u=0.1, covariance=np.full((6, 6), 0.04))
    assert shared.slope == pytest.approx(alone.slope)
    assert shared.u_slope == pytest.approx(alone.u_slope)
    assert shared.u_intercept**2 == pytest.approx(alone.u_intercept**2 + 0.04)


def test_two_points_with_stated_uncertainty_have_no_scatter() -> None:
    """A line through two points leaves no degrees of freedom and says so."""
    fit = fit_line([0, 1], [1, 3], u=0.1)
    assert (fit.slope, fit.dof, fit.residual_std) == (pytest.approx(2), 0, None)


@pytest.mark.parametrize(
    ("x", "h", "options", "what"),
    [
        ([0, 1], [0, 1], {"u": 0}, "only 2 readings"),
        ([1, 1, 1], [0, 1, 2], {"u": 0}, "are the same"),
        ([0, 1, 2], [0, 1], {"u": 0}, "differ in length"),
        ([0, 1, np.nan], [0, 1, 2], {"u": 0}, "number 3 of 'x' is missing"),
        ([0, 1, 2], ["a", 1, 2], {"u": 0}, "not a list of numbers"),
        ([[0, 1, 2]], [0, 1, 2], {"u": 0}, "2 dimensions"),
        ([0, 1, 2], [0, 1, 2], {"u": -1}, "'u' is negative"),
        ([0, 1, 2], [0, 1, 2], {"u": [1, 2]}, "'u' does not fit"),
        ([0, 1, 2], [0, 1, 2], {"u": 0, "covariance": np.eye(2)}, "has the shape"),
        ([0, 1, 2], [0, 1, 2], {"u": 0, "covariance": np.triu(np.ones((3, 3)))}, "not symmetric"),
        ([0, 1, 2], [0, 1, 2], {"u": 0, "covariance": -np.eye(3)}, "negative variance"),
        ([0, 1, 2], [0, 1, 2], {"u": 0, "covariance": np.full((3, 3), np.inf)}, "not finite"),
        ([0, 0, 2], [0, 1, 2], {"u": 0, "reference": END}, "read more than once"),
    ],
)
def test_bad_readings_are_named(x: list[float], h: list[float], options: dict, what: str) -> None:
    """Readings that cannot be evaluated are refused by name, with what would do."""
    with pytest.raises(RequestError, match=what) as caught:
        straightness(x, h, **options)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("x", "y", "options", "what"),
    [
        ([0, 1], [0, 1], {}, "only 2"),
        ([0, 0], [0, 1], {"through_origin": True}, "are 0"),
        ([0, 1, 2], [0, 1, 2], {"u": [1, 0, 1]}, "uncertainty of 0"),
        ([0, 1, 2], [0, 1, 2], {"covariance": np.ones((3, 3))}, "no uncertainty of their own"),
    ],
)
def test_bad_points_are_named(x: list[float], y: list[float], options: dict, what: str) -> None:
    """Points that allow no fit are refused by name."""
    with pytest.raises(RequestError, match=what):
        fit_line(x, y, **options)


def test_no_three_readings_hold_a_narrower_band() -> None:
    """Of all bands through two readings that hold the nine, none is narrower than the minimum zone."""
    zone = straightness(X, H, u=0, reference=ZONE).value
    for a, b in combinations(range(9), 2):
        left = H - H[a] - (H[b] - H[a]) / (X[b] - X[a]) * (X - X[a])
        assert np.ptp(left) >= zone - 1e-15
