"""Draws within limits: what is known of their distribution by hand, and by rejection."""

from math import sqrt

import numpy as np
import pytest

from as_built_machines import generator
from loopwright.asbuilt.within_limits import Round, moved_within
from loopwright.errors import Cancelled


def start(half: np.ndarray, draws: int = 4000) -> np.ndarray:
    """Draws that begin in one corner of their limits."""
    return np.repeat(0.9 * half[:, None], draws, axis=1)


def test_the_prior_is_taken_out_again() -> None:
    """What is left of N(m, C) without a standard normal prior has the precision C^-1 - 1 and the pull C^-1 m."""
    draw = generator(3)
    info = draw.normal(size=(6, 4))
    root = np.linalg.cholesky(np.linalg.inv(np.eye(4) + info.T @ info))
    mean = draw.normal(size=4)
    about = Round.without_prior(root, mean)
    precision = about.axes @ np.diag(about.precision) @ about.axes.T
    assert precision == pytest.approx(info.T @ info, rel=1e-9, abs=1e-9)
    pull = about.axes @ (about.precision * about.middle)
    assert pull == pytest.approx((np.eye(4) + info.T @ info) @ mean, rel=1e-9)


def test_where_nothing_is_known_rectangles_are_filled_evenly() -> None:
    """Four limits and no reading: every deviation is uniform and has nothing to do with the others."""
    half = np.array([1.0, 2.0, 0.5, sqrt(3)])
    turned, _ = np.linalg.qr(generator(4).normal(size=(4, 4)))
    found = moved_within(start(half), Round.without_prior(turned, np.zeros(4)), half, None, generator(5))
    assert np.abs(found).max(axis=1) == pytest.approx(half, rel=2e-3)
    assert (np.abs(found) <= half[:, None]).all()
    # the mean square of 4000 uniform ones is known to sqrt(4/5 / 4000) of itself
    assert (found**2).mean(axis=1) == pytest.approx(half**2 / 3, rel=4 * sqrt(0.8 / 4000))
    assert np.corrcoef(found) == pytest.approx(np.eye(4), abs=4 / sqrt(4000))


def test_a_sharp_sum_of_rectangles_is_that_of_rejection() -> None:
    """Three rectangles whose sum was read 3 ± 0.1, close to a corner: means and spreads are those of a million
    drawn evenly and kept as often as the reading allows.
    """
    half, row = np.full(3, sqrt(3)), np.ones(3)
    info = np.outer(row, row) / 0.01
    cov = np.linalg.inv(np.eye(3) + info)
    about = Round.without_prior(np.linalg.cholesky(cov), cov @ (row * 3.0 / 0.01))
    found = moved_within(start(half), about, half, None, generator(6))
    draw = generator(7)
    every = draw.uniform(-sqrt(3), sqrt(3), (3, 1_000_000))
    kept = every[:, np.log(draw.random(1_000_000)) < -(((row @ every - 3.0) / 0.1) ** 2) / 2]
    room = 4 * kept[0].std() * sqrt(1 / 4000 + 1 / kept.shape[1])
    assert found.mean(axis=1) == pytest.approx(kept.mean(axis=1), abs=room)
    assert found.std(axis=1) == pytest.approx(kept.std(axis=1), rel=4 / sqrt(2 * 4000) * 2)
    assert (row @ found).std() == pytest.approx((row @ kept).std(), rel=0.06)


def test_it_can_be_stopped() -> None:
    """Before every move it asks, and stops."""
    half = np.ones(2)
    with pytest.raises(Cancelled, match="0 rounds"):
        moved_within(
            start(half), Round.without_prior(np.eye(2), np.zeros(2)), half, None, generator(1), lambda: True
        )
