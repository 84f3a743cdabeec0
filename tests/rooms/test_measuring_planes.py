"""Flatness: least squares and minimum zone planes, their exactness and their uncertainty."""

from itertools import combinations

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.measuring.lines import Reference
from loopwright.measuring.planes import flatness

ZONE = Reference.MINIMUM_ZONE


def width(directions: np.ndarray, x: np.ndarray, y: np.ndarray, h: np.ndarray) -> float:
    """Least width over planes with given slopes."""
    return float(np.ptp(h - directions[:, :1] * x - directions[:, 1:] * y, axis=1).min())


def brute_zone(x: np.ndarray, y: np.ndarray, h: np.ndarray) -> float:
    """Narrowest band parallel to any three points, or to any two pairs of points."""
    points = np.stack([x, y], axis=1)
    pairs = [(points[b] - points[a], h[b] - h[a]) for a, b in combinations(range(len(x)), 2)]
    slopes = [
        np.linalg.solve(np.array([p, q]), [s, t])
        for (p, s), (q, t) in combinations(pairs, 2)
        if abs(p[0] * q[1] - p[1] * q[0]) > 1e-9 * np.linalg.norm(p) * np.linalg.norm(q)
    ]
    return width(np.array(slopes), x, y, h)


def test_four_pads() -> None:
    """Pads at 0, 10, 6 and 24 µm lie 2 µm to either side of their plane; the band is 4 µm (constructed)."""
    x, y, h = np.array([0, 1, 0, 1.0]), np.array([0, 0, 1, 1.0]), np.array([0, 10, 6, 24.0])
    found = flatness(x, y, h, u=1.0)
    assert found.deviations == pytest.approx([2, -2, -2, 2])
    zone = flatness(x, y, h, u=1.0, reference=ZONE)
    assert (found.value, zone.value) == pytest.approx((4, 4))
    assert zone.touching == (0, 1, 2, 3)
    assert zone.u_value == pytest.approx(1.0)  # each reading counts for a half


@pytest.mark.parametrize("seed", range(24))
def test_the_minimum_zone_is_the_optimum(seed: int) -> None:
    """The linear program finds what a search over all triples and pairs of pairs finds, on grids with ties too."""
    draw = np.random.Generator(np.random.PCG64(seed))
    if seed % 2:
        x, y = (axis.ravel() * 50.0 for axis in np.meshgrid(np.arange(4), np.arange(3)))
        h = draw.integers(-3, 4, 12) * 1e-3
    else:
        x, y, h = draw.uniform(0, 300, 9), draw.uniform(0, 200, 9), draw.normal(size=9) * 1e-3
    found = flatness(x, y, h, u=1e-4, reference=ZONE)
    assert found.value == pytest.approx(brute_zone(x, y, h), abs=1e-14)
    assert found.value <= flatness(x, y, h, u=1e-4).value + 1e-15


@pytest.mark.parametrize("reference", [Reference.LEAST_SQUARES, ZONE])
def test_uncertainty_against_simulation(reference: Reference) -> None:
    """Slopes and value scatter over many trials as first order says."""
    trials = 4000 if reference is Reference.LEAST_SQUARES else 500
    draw = np.random.Generator(np.random.PCG64(3))
    x, y = (axis.ravel() * 100.0 for axis in np.meshgrid(np.arange(4), np.arange(4)))
    h = draw.normal(size=16) * 5e-4
    h[[0, 3, 13, 5]] += [1e-2, 1.2e-2, 0.9e-2, -1e-2]  # three high, one low between them: no ties
    told = flatness(x, y, h, u=2e-5, reference=reference)
    noisy = h + draw.normal(size=(trials, 16)) * 2e-5
    if reference is ZONE:
        drawn = [flatness(x, y, row, u=0, reference=ZONE) for row in noisy]
        found = np.array([(f.slope_x, f.slope_y, f.value) for f in drawn])
        rel = 0.12
    else:
        design = np.stack([x, y, np.ones(16)], axis=1)
        planes = np.linalg.lstsq(design, noisy.T, rcond=None)[0]
        found = np.column_stack([planes[:2].T, np.ptp(noisy.T - design @ planes, axis=0)])
        rel = 0.05
    assert found.std(axis=0, ddof=1) == pytest.approx([told.u_slope_x, told.u_slope_y, told.u_value], rel=rel)


def test_a_perfect_plane_is_flat() -> None:
    """Points on a plane have no band but rounding, and their slopes come back."""
    x, y = (axis.ravel() * 100.0 for axis in np.meshgrid(np.arange(3), np.arange(3)))
    for reference in (Reference.LEAST_SQUARES, ZONE):
        found = flatness(x, y, 5 + 2e-3 * x - 1e-3 * y, u=1e-3, reference=reference)
        assert (found.slope_x, found.slope_y, found.intercept) == pytest.approx((2e-3, -1e-3, 5), rel=1e-9)
        assert found.value < 1e-14
        assert found.u_value > 0


def test_three_readings_on_one_line_can_hold_the_zone() -> None:
    """A ridge: its three readings in line hold the zone, whatever the plane does across it."""
    x, y = np.array([0, 1, 2, 0, 1, 2.0]), np.array([0, 0, 0, 1, 1, 1.0])
    found = flatness(x, y, [0, 1, 0, 0.5, 0.5, 0.5], u=0.1, reference=ZONE)
    assert found.value == pytest.approx(1.0)
    assert np.ptp(found.deviations) == pytest.approx(1.0)
    assert found.u_value == pytest.approx(0.1 * 1.5**0.5)


@pytest.mark.parametrize(
    ("x", "y", "h", "reference", "what"),
    [
        ([0, 1, 2, 3], [0, 1, 2, 3], [0, 1, 0, 1], ZONE, "on one line"),
        ([0, 1, 0], [0, 0, 1], [0, 1, 0], ZONE, "only 3"),
        ([1, 1, 1, 1], [2, 2, 2, 2], [0, 1, 0, 1], ZONE, "on one line"),
        ([0, 1, 0, 1], [0, 0, 1, 1], [0, 1, 0, 1], Reference.END_POINTS, "no end points"),
    ],
)
def test_bad_points_are_named(
    x: list[float], y: list[float], h: list[float], reference: Reference, what: str
) -> None:
    """Points that do not span a plane are refused by name."""
    with pytest.raises(RequestError, match=what):
        flatness(x, y, h, u=0.1, reference=reference)
