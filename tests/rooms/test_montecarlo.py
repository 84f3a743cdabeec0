"""The Monte Carlo as a piece of work: when it stops, what it says meanwhile, and what it costs."""

import tracemalloc
from itertools import pairwise

import numpy as np
import pytest

from loopwright.asbuilt.montecarlo import (
    BATCH,
    CHUNK,
    ENOUGH_OF_CHANCE,
    ENOUGH_OF_QUANTILE,
    FEWEST,
    MOST,
    histogram,
    monte_carlo,
)
from loopwright.asbuilt.prior import Prior
from loopwright.errors import Cancelled
from loopwright.loop import Rows
from loopwright.model.spread import Shape
from loopwright.units import Dimension


def normal_prior(sources: int) -> Prior:
    """Standard normal sources."""
    one = np.ones(sources)
    return Prior(np.zeros(sources), one, 3 * one, (Shape.NORMAL,) * sources, one / 2)


def indication(poses: int, sources: int, seed: int = 0) -> Rows:
    """One component over poses of random rows."""
    matrix = np.random.Generator(np.random.PCG64(seed)).normal(size=(poses, 1, sources))
    at = {"X": np.arange(float(poses))}
    return Rows(matrix, np.zeros((poses, 1)), ("X",), at, np.zeros((poses, 3)), Dimension.LENGTH)


ONE = Rows(np.ones((1, 1, 1)), np.zeros((1, 1)), ("X",), {}, np.zeros((1, 3)), Dimension.LENGTH)


def test_it_stops_when_it_is_enough() -> None:
    """Left open, it stops once two standard uncertainties of quantile and chance are small enough."""
    (worst,), met = monte_carlo([indication(6, 8)], normal_prior(8), [5.0])
    assert FEWEST <= worst.trials < MOST
    assert worst.trials % (BATCH * CHUNK) == 0
    assert 2 * worst.quantile_std <= ENOUGH_OF_QUANTILE * worst.quantile(0.95) * 1.01
    assert 2 * worst.chance_std <= ENOUGH_OF_CHANCE
    assert met == worst.chance


def test_its_quantile_is_as_good_as_it_says() -> None:
    """The 95 % quantile of a standard normal size is 1.959964, and runs scatter about it by the stated
    uncertainty.
    """
    off = []
    for seed in range(30):
        (worst,), _ = monte_carlo([ONE], normal_prior(1), [None], trials=12 * BATCH * CHUNK, seed=seed)
        off.append((worst.quantile(0.95) - 1.959964) / worst.quantile_std)
    # Student's t with 11 degrees of freedom: variance 11 / 9; the mean of 30 of them has std 0.20
    assert abs(np.mean(off)) < 0.8
    assert np.std(off) == pytest.approx((11 / 9) ** 0.5, rel=0.4)


def test_its_chance_is_that_of_the_normal() -> None:
    """A limit of 1.959964 is met by 95 % of the trials, of two such by as many as meet both."""
    (first, second), both = monte_carlo([ONE, ONE], normal_prior(1), [1.959964, 1.0], trials=100_000)
    assert first.chance == pytest.approx(0.95, abs=4 * first.chance_std)
    assert second.chance == pytest.approx(0.682689, abs=4 * second.chance_std)
    assert both == second.chance
    assert first.chance_std == pytest.approx((0.95 * 0.05 / 100_000) ** 0.5, rel=0.05)


def test_without_a_limit_there_is_no_chance() -> None:
    """Nothing asked of it, an indication has no chance to meet it."""
    (worst,), met = monte_carlo([ONE], normal_prior(1), [None], trials=2000)
    assert np.isnan(worst.chance)
    assert np.isnan(met)


@pytest.mark.parametrize("extra", [1, 7, 500])
def test_a_remnant_of_trials_does_not_spoil_the_uncertainty(extra: int) -> None:
    """A few trials beyond whole batches change the stated uncertainty of the quantile hardly at all."""
    rows, prior = [indication(6, 8)], normal_prior(8)
    whole = 8 * BATCH * CHUNK
    (worst,), _ = monte_carlo(rows, prior, [None], trials=whole)
    (more,), _ = monte_carlo(rows, prior, [None], trials=whole + extra)
    assert more.trials == whole + extra
    assert more.counts.sum() == whole + extra
    assert more.quantile_std == pytest.approx(worst.quantile_std, rel=0.2)


def test_one_batch_does_not_know_its_own_uncertainty() -> None:
    """With a single batch the sampling uncertainty is not a number rather than zero."""
    (worst,), _ = monte_carlo([ONE], normal_prior(1), [None], trials=1000)
    assert np.isnan(worst.quantile_std)


def test_progress_is_told() -> None:
    """Progress is called after each batch with the trials done so far and the number wanted."""
    told: list[tuple[int, int | None]] = []
    trials = 2 * BATCH * CHUNK + 5
    monte_carlo([ONE], normal_prior(1), [None], trials=trials, progress=lambda *now: told.append(now))
    assert told == [(BATCH * CHUNK, trials), (2 * BATCH * CHUNK, trials), (trials, trials)]
    told.clear()
    monte_carlo([ONE], normal_prior(1), [1.0], progress=lambda *now: told.append(now))
    assert {wanted for _, wanted in told} == {None}
    assert all(later[0] > earlier[0] for earlier, later in pairwise(told))


def test_it_stops_when_told_to() -> None:
    """A caller that says stop after the second batch gets Cancelled, what was done, and no third batch."""
    asked = []

    def stop() -> bool:
        asked.append(True)
        return len(asked) == 2

    with pytest.raises(Cancelled, match=str(2 * BATCH * CHUNK)):
        monte_carlo([ONE], normal_prior(1), [None], trials=MOST, cancel=stop)
    assert len(asked) == 2


def peak(trials: int) -> int:
    """Largest memory during a run, bytes."""
    rows, prior = [indication(40, 30)], normal_prior(30)
    tracemalloc.start()
    try:
        monte_carlo(rows, prior, [None], trials=trials, workers=1)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_the_trials() -> None:
    """Ten times the trials need the same memory."""
    peak(CHUNK)  # what is loaded once does not count
    few, many = peak(20_000), peak(200_000)
    assert many < 1.2 * few + 200_000


def test_a_machine_without_a_deviation_is_drawn_too() -> None:
    """Where nothing is open every trial shows the bias."""
    rows = Rows(np.zeros((3, 1, 0)), np.full((3, 1), 0.25), ("X",), {}, np.zeros((3, 3)), Dimension.LENGTH)
    (worst,), met = monte_carlo([rows], normal_prior(0), [0.3], trials=500)
    assert met == 1
    assert worst.mean == 0.25
    assert worst.quantile(0.95) == pytest.approx(0.25, rel=1e-3)
    assert sum(share for _, _, share in histogram(worst)) == pytest.approx(1)


def test_the_tail_beyond_the_histogram_is_kept() -> None:
    """All draws are in the histogram, and its mean is the mean of the draws."""
    (worst,), _ = monte_carlo([indication(6, 8)], normal_prior(8), [None], trials=50_000)
    assert worst.counts.sum() == 50_000
    middles = worst.edges[0] + worst.edges[1] * (np.arange(len(worst.counts)) + 0.5)
    assert (worst.counts * middles).sum() / 50_000 == pytest.approx(worst.mean, rel=1e-4)
