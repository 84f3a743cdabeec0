"""What must hold of the budget, the worst case and the Monte Carlo, whatever is propagated."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.asbuilt.budget import budget, grouped, variances
from loopwright.asbuilt.montecarlo import Worst, histogram, monte_carlo
from loopwright.asbuilt.prior import Prior, Sampler
from loopwright.asbuilt.worst_case import farthest_corner, worst_case
from loopwright.loop import Rows
from loopwright.model.spread import Shape
from loopwright.units import Dimension
from small_builds import Plan, plans, small

FEW = settings(max_examples=25)
SEEDS = st.integers(0, 2**32 - 1)
BOUNDED = (Shape.RECTANGULAR, Shape.TRIANGULAR, Shape.ARCSINE, Shape.TRAPEZOIDAL)
DIVISOR = {Shape.RECTANGULAR: 3.0, Shape.TRIANGULAR: 6.0, Shape.ARCSINE: 2.0, Shape.TRAPEZOIDAL: 4.8}


def rows_by_hand(matrix: np.ndarray, mean: np.ndarray | None = None) -> Rows:
    """An indication with given rows, (poses, components, sources)."""
    poses, components, _ = matrix.shape
    names = ("X", "Y", "Z")[:components]
    centre = np.zeros((poses, components)) if mean is None else mean
    at = {"X": np.arange(float(poses))}
    return Rows(matrix, centre, names, at, np.zeros((poses, 3)), Dimension.LENGTH)


def prior_by_hand(farthest: np.ndarray, shapes: tuple[Shape, ...]) -> Prior:
    """What is believed of sources with given limits and shapes."""
    std = np.array([f / DIVISOR.get(s, 4.0) ** 0.5 for f, s in zip(farthest, shapes)])
    return Prior(np.zeros(len(std)), std, farthest, shapes, np.full(len(std), 0.5))


def drawn(seed: int, shapes: tuple[Shape, ...], components: int = 2) -> tuple[Rows, Prior]:
    """Random rows of twelve sources over five poses, and a prior with the shapes in turn."""
    draw = np.random.Generator(np.random.PCG64(seed))
    rows = rows_by_hand(draw.normal(size=(5, components, 12)), draw.normal(size=(5, components)))
    chosen = tuple(shapes[i % len(shapes)] for i in range(12))
    return rows, prior_by_hand(draw.uniform(0.1, 2, 12), chosen)


def mean_square(worst: Worst) -> float:
    """Mean of the squared worst size, from its histogram."""
    middles = worst.edges[0] + worst.edges[1] * (np.arange(len(worst.counts)) + 0.5)
    return float((worst.counts * middles**2).sum() / worst.trials)


@FEW
@given(plans())
def test_shares_add_up_to_one(plan: Plan) -> None:
    """The sources of a budget carry all of it, at the worst pose and over the volume, however they are
    grouped.
    """
    machine = small(plan)
    found = budget(machine.loop.rows(machine.asked, machine.poses), machine.prior)
    for share in (found.share_worst, found.share_volume):
        assert share.sum() == pytest.approx(1, abs=1e-12)
        assert share.min() >= 0
        by_kind = grouped(share, [source.kind.value for source in machine.loop.sources])
        assert sum(by_kind.values()) == pytest.approx(1, abs=1e-12)
        assert list(by_kind.values()) == sorted(by_kind.values(), reverse=True)
    brought = variances(found.rows, machine.prior)
    assert brought.sum(axis=1) == pytest.approx((found.std**2).sum(axis=1), rel=1e-12)


@settings(max_examples=300)
@given(SEEDS, st.integers(1, 3), st.integers(1, 8), st.booleans())
def test_the_farthest_corner_is_found(seed: int, components: int, sources: int, centred: bool) -> None:
    """The farthest point that up to eight limits allow is the farthest of all their corners."""
    draw = np.random.Generator(np.random.PCG64(seed))
    generators = draw.normal(size=(components, sources)) * 10 ** draw.uniform(-2, 0, sources)
    centre = np.zeros(components) if centred else draw.normal(size=components)
    corners = centre + np.array(list(product((-1, 1), repeat=sources))) @ generators.T
    farthest = np.linalg.norm(corners, axis=1).max()
    if components == 1:
        found = worst_case(
            rows_by_hand(generators[None], centre[None]),
            prior_by_hand(np.ones(sources), (Shape.RECTANGULAR,) * sources),
        ).size
    else:
        found = farthest_corner(centre, generators)
    assert found == pytest.approx(farthest, rel=1e-9)


@FEW
@given(SEEDS, st.integers(1, 3))
def test_no_draw_is_beyond_the_worst_case(seed: int, components: int) -> None:
    """Bounded deviations never show more than the worst case says, and near corners come close to it."""
    rows, prior = drawn(seed, BOUNDED, components)
    limit = worst_case(rows, prior).size
    (worst,), met = monte_carlo([rows], prior, [limit], trials=5000, seed=seed)
    assert met == 1.0
    assert worst.met == 5000
    corners = np.random.Generator(np.random.PCG64(seed)).choice([-1.0, 1.0], (4000, 12)) * prior.farthest
    sizes = np.linalg.norm(rows.mean + np.einsum("pcs,xs->xpc", rows.matrix, corners), axis=2).max(axis=1)
    assert 0.5 * limit < sizes.max() <= limit * (1 + 1e-12)


@settings(max_examples=6)
@given(SEEDS, st.integers(100, 20_000))
def test_the_draw_does_not_depend_on_the_number_of_workers(seed: int, trials: int) -> None:
    """One, two and four workers find the very same distribution; another seed finds another."""
    rows, prior = drawn(seed, tuple(Shape))
    found = [
        monte_carlo([rows], prior, [3.0], trials=trials, seed=seed, workers=workers) for workers in (1, 2, 4)
    ]
    for (worst,), met in found[1:]:
        (first,), met_first = found[0]
        assert (worst.mean, worst.edges, met) == (first.mean, first.edges, met_first)
        assert np.array_equal(worst.counts, first.counts)
        assert np.array_equal(worst.batch_quantiles, first.batch_quantiles)
    (other,), _ = monte_carlo([rows], prior, [3.0], trials=trials, seed=seed + 1)
    assert other.mean != found[0][0][0].mean


@settings(max_examples=8)
@given(SEEDS, st.sampled_from([(Shape.NORMAL,), BOUNDED, tuple(Shape)]))
def test_drawn_and_propagated_uncertainty_agree(seed: int, shapes: tuple[Shape, ...]) -> None:
    """At one pose the mean square of the drawn sizes is bias and uncertainty of the budget together."""
    rows, prior = drawn(seed, shapes)
    one = Rows(
        rows.matrix[:1], rows.mean[:1], rows.components, {"X": np.zeros(1)}, rows.points[:1], rows.dimension
    )
    (worst,), _ = monte_carlo([one], prior, [None], trials=40_000, seed=seed)
    # fourth moments of sums of these shapes stay below the normal one's: 2 sigma^4 for each component
    assert mean_square(worst) == pytest.approx(budget(one, prior).size[0] ** 2, rel=0.04)


@settings(max_examples=6)
@given(SEEDS)
def test_indications_drawn_together_are_those_drawn_alone(seed: int) -> None:
    """A rotation of a millionth beside a displacement of millimetres keeps its own distribution."""
    rows, prior = drawn(seed, tuple(Shape))
    draw = np.random.Generator(np.random.PCG64(seed + 7))
    tilt = rows_by_hand(1e-7 * draw.normal(size=(4, 1, 12)))
    together, _ = monte_carlo([rows, tilt], prior, [None, None], trials=30_000, seed=seed)
    (alone,), _ = monte_carlo([tilt], prior, [None], trials=30_000, seed=seed + 1)
    for probability in (0.5, 0.95):
        assert together[1].quantile(probability) == pytest.approx(alone.quantile(probability), rel=0.04)


@pytest.mark.parametrize("shape", BOUNDED)
@pytest.mark.parametrize("top", [0.0, 0.3, 1.0])
def test_shapes_are_drawn_as_stated(shape: Shape, top: float) -> None:
    """Each shape has mean 0, standard deviation 1, the fourth moment of its formula, and stays within its
    limits.
    """
    half = {
        Shape.RECTANGULAR: 3.0**0.5,
        Shape.TRIANGULAR: 6.0**0.5,
        Shape.ARCSINE: 2.0**0.5,
        Shape.TRAPEZOIDAL: (6.0 / (1 + top**2)) ** 0.5,
    }[shape]
    prior = Prior(np.zeros(2), np.ones(2), np.full(2, half), (shape, shape), np.full(2, top))
    draws = np.empty((2, 100_000))
    Sampler(prior).fill(np.random.Generator(np.random.SFC64(4)), draws)
    assert np.abs(draws.mean(axis=1)).max() < 4 / 100_000**0.5
    assert draws.std(axis=1) == pytest.approx(1, abs=4 * 0.6 / 100_000**0.5)
    assert np.abs(draws).max() <= half * (1 + 1e-12)
    assert np.abs(draws).max() > half * 0.97
    # trapezoid = sum of two rectangles of half-widths w and n: m4 = (w^4 + n^4) / 5 + 6 (w n)^2 / 9
    wide, narrow = half * (1 + top) / 2, half * (1 - top) / 2
    fourth = {
        Shape.RECTANGULAR: 9 / 5,
        Shape.TRIANGULAR: 12 / 5,
        Shape.ARCSINE: 3 / 2,
        Shape.TRAPEZOIDAL: (wide**4 + narrow**4) / 5 + 6 * (wide * narrow) ** 2 / 9,
    }[shape]
    assert (draws**4).mean(axis=1) == pytest.approx(fourth, rel=0.04)
    assert abs(np.corrcoef(draws)[0, 1]) < 4 / 100_000**0.5


@FEW
@given(SEEDS, st.integers(1, 5))
def test_the_histogram_holds_what_was_drawn(seed: int, poses: int) -> None:
    """Bars follow one another without a gap and hold all draws up to the last one shown."""
    rows, prior = drawn(seed, tuple(Shape))
    (worst,), _ = monte_carlo([rows], prior, [None], trials=3000, seed=seed)
    bars = list(histogram(worst))
    assert all(left[1] == pytest.approx(right[0]) for left, right in pairwise(bars))
    assert 0.998 <= sum(share for _, _, share in bars) <= 1 + 1e-12
    quantiles = [worst.quantile(p) for p in (0.01, 0.25, 0.5, 0.75, 0.99)]
    assert quantiles == sorted(quantiles)
