"""Tram, runout and eccentricity from readings round a turn."""

from math import inf, pi

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.measuring.turning import once_per_turn, runout, tram, tram_across

QUARTERS = np.arange(4) * pi / 2


def test_sums_of_equal_steps() -> None:
    """For equal steps a = (2/n) Σ r cos θ and b = (2/n) Σ r sin θ, each with a variance of 2 u²/n."""
    draw = np.random.Generator(np.random.PCG64(2))
    theta, r = np.arange(12) * pi / 6, draw.normal(size=12)
    found = once_per_turn(theta, r, u=0.3)
    assert found.mean == pytest.approx(r.mean())
    assert found.cosine == pytest.approx(2 / 12 * float(r @ np.cos(theta)))
    assert found.sine == pytest.approx(2 / 12 * float(r @ np.sin(theta)))
    assert np.diag(found.covariance) == pytest.approx([0.09 / 12, 2 * 0.09 / 12, 2 * 0.09 / 12])


def test_tram_by_hand() -> None:
    """A table 4 µm high at +X and 4 µm low at -X on an arm of 100 mm rises 40 µrad: turned -40 µrad about Y."""
    found = tram(QUARTERS, [4e-3, 0, -4e-3, 0], 100, u=1e-3)
    assert (found.slope_x, found.slope_y) == pytest.approx((40e-6, 0), abs=1e-15)
    assert (found.about_x, found.about_y) == pytest.approx((0, -40e-6), abs=1e-15)
    assert (found.tilt, found.direction) == pytest.approx((40e-6, 0), abs=1e-12)
    assert tram_across(4e-3, -4e-3, 100, u=1e-3) == pytest.approx((40e-6, found.u_slope_x))


def test_tram_turns_as_the_table_does() -> None:
    """A table turned right-handed about X and Y shows just these angles, wherever the indicator stands."""
    about = np.array([30e-6, -50e-6, 0])
    theta = np.array([0.1, 1.0, 2.5, 3.3, 5.9])
    points = 120 * np.stack([np.cos(theta), np.sin(theta), 0 * theta], axis=1)
    found = tram(theta, np.cross(about, points)[:, 2] + 7, 120, u=1e-3)
    assert (found.about_x, found.about_y) == pytest.approx((30e-6, -50e-6))
    assert found.residual_std == pytest.approx(0, abs=1e-14)


def test_three_readings_leave_nothing_over() -> None:
    """Three readings give a tilt and an eccentricity, but no scatter and no roundness."""
    theta = np.arange(3) * 2 * pi / 3
    assert tram(theta, [0, 1e-3, 0], 100, u=1e-3).residual_std is None
    found = runout(theta, [0, 1e-3, 0], u=1e-3)
    assert (found.roundness, found.u_roundness) == (None, None)


def test_a_round_part_off_centre() -> None:
    """A round part 20 µm off centre runs out by twice that, and what is left is e²/(4R) cos 2θ."""
    e, towards, radius = 0.020, 0.7, 10.0
    theta = np.arange(720) * 2 * pi / 720
    exact = e * np.cos(theta - towards) + np.sqrt(radius**2 - (e * np.sin(theta - towards)) ** 2)
    found = runout(theta, exact, u=1e-4, radius=radius)
    assert found.total == pytest.approx(0.040, rel=1e-4)
    assert (found.eccentricity, found.direction) == pytest.approx((e, towards), rel=1e-4)
    assert found.second_order == pytest.approx(1e-5)
    assert found.roundness == pytest.approx(2 * 1e-5, rel=1e-3)


def test_unequal_steps_lose_nothing() -> None:
    """Readings at odd angles give back eccentricity and direction exactly."""
    theta = np.array([0.0, 0.4, 1.1, 2.9, 4.0, 5.5])
    found = runout(theta, 3 + 0.01 * np.cos(theta - 2.0), u=1e-4)
    assert (found.eccentricity, found.direction) == pytest.approx((0.01, 2.0))
    assert found.roundness == pytest.approx(0, abs=1e-14)


def test_no_eccentricity_has_no_direction() -> None:
    """Four equal readings have no eccentricity, and its direction is infinitely uncertain."""
    found = runout(QUARTERS, np.zeros(4), u=1e-3)
    assert found.eccentricity == 0
    assert found.u_direction == inf
    assert found.u_eccentricity == pytest.approx(1e-3 / 2**0.5)


def test_uncertainty_against_simulation() -> None:
    """Total, eccentricity, direction and roundness scatter over 4000 trials as first order says."""
    draw = np.random.Generator(np.random.PCG64(31))
    theta = np.sort(draw.uniform(0, 2 * pi, 10))
    form = draw.normal(size=10) * 1e-3
    form[[2, 6]] += [8e-3, -6e-3]  # far from a tie
    shared = np.outer(np.cos(2 * theta), np.cos(2 * theta)) * 1e-8
    told = runout(theta, form, u=1e-4, covariance=shared)
    noisy = (
        form + draw.normal(size=(4000, 10)) * 1e-4 + draw.normal(size=(4000, 1)) * np.cos(2 * theta) * 1e-4
    )
    design = np.stack([np.ones(10), np.cos(theta), np.sin(theta)], axis=1)
    parts = np.linalg.lstsq(design, noisy.T, rcond=None)[0]
    drawn = {
        told.u_total: np.ptp(noisy, axis=1),
        told.u_eccentricity: np.hypot(parts[1], parts[2]),
        told.u_direction: np.arctan2(parts[2], parts[1]) - told.direction,
        told.u_roundness: np.ptp(noisy.T - design @ parts, axis=0),
    }
    for stated, found in drawn.items():
        assert found.std(ddof=1) == pytest.approx(stated, rel=0.05)


@pytest.mark.parametrize(
    ("angles", "what"), [([0, pi], "only 2"), ([0, 0, pi, pi], "too close"), ([0, 2 * pi, pi], "too close")]
)
def test_too_few_directions_are_named(angles: list[float], what: str) -> None:
    """Readings at fewer than three places of the turn are refused, a full turn counting as the same place."""
    with pytest.raises(RequestError, match=what):
        runout(angles, np.zeros(len(angles)), u=0)
    with pytest.raises(RequestError, match="'radius' is 0"):
        tram(QUARTERS, np.zeros(4), 0, u=0)
