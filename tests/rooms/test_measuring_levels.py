"""Heights along a line from level readings."""

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.handbook.geometry import ARCSEC
from loopwright.measuring.levels import heights_along
from loopwright.measuring.lines import Reference


def test_uncertainty_grows_like_a_random_walk() -> None:
    """After k steps the height is √k times as uncertain, and two heights share what lies before both."""
    found = heights_along(np.zeros(9), 100, u=ARCSEC)
    assert found.u == pytest.approx(100 * ARCSEC * np.sqrt(np.arange(10)))
    assert found.covariance[3, 7] == pytest.approx(3 * (100 * ARCSEC) ** 2)
    assert found.readings == 9


def test_heights_against_simulation() -> None:
    """The covariance of ten heights, and the uncertainty of straightness, hold over 4000 trials."""
    draw = np.random.Generator(np.random.PCG64(21))
    angles, drift = np.sin(np.arange(10)) * 40e-6, np.linspace(0, 1e-6, 10)
    told = heights_along(angles, 80, u=5e-7, covariance=np.outer(drift, drift))
    noisy = angles + draw.normal(size=(4000, 10)) * 5e-7 + draw.normal(size=(4000, 1)) * drift
    heights = np.hstack([np.zeros((4000, 1)), np.cumsum(noisy * 80, axis=1)])
    assert np.cov(heights.T) == pytest.approx(told.covariance, rel=0.08, abs=0.03 * told.covariance.max())
    lines = np.polynomial.polynomial.polyfit(told.x, heights.T, 1)
    values = np.ptp(heights - lines[0][:, None] - lines[1][:, None] * told.x, axis=1)
    assert values.std(ddof=1) == pytest.approx(told.straightness().u_value, rel=0.05)


@pytest.mark.parametrize("reference", Reference)
def test_the_zero_of_the_level_falls_out(reference: Reference) -> None:
    """A zero error common to all readings changes neither straightness nor its uncertainty."""
    angles = np.array([3, -2, 5, 0, -4]) * 1e-6
    plain = heights_along(angles, 100, u=1e-6).straightness(reference)
    off = heights_along(angles + 2e-4, 100, u=1e-6, covariance=np.full((5, 5), 1e-8)).straightness(reference)
    assert off.value == pytest.approx(plain.value, abs=1e-12)
    assert off.u_value == pytest.approx(plain.u_value, rel=1e-6)


def test_unequal_steps() -> None:
    """Steps of different length give their own rise."""
    found = heights_along([1e-5, 2e-5], [100, 50], u=1e-6)
    assert found.x.tolist() == [0, 100, 150]
    assert found.heights == pytest.approx([0, 1e-3, 2e-3])


@pytest.mark.parametrize(
    ("angles", "step", "what"),
    [
        ([], 100, "0 readings"),
        ([1e-6], 0, "not over 0"),
        ([1e-6], [1, 2], "does not fit"),
        ([np.inf], 1, "infinite"),
    ],
)
def test_bad_steps_are_named(angles: list[float], step: float, what: str) -> None:
    """Steps that cannot be added up are refused by name."""
    with pytest.raises(RequestError, match=what):
        heights_along(angles, step, u=1e-6)
