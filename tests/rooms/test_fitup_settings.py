"""Settings of adjusters against closed forms, a reference solver, and every combination."""

from itertools import product

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from loopwright.errors import Cancelled, RequestError
from loopwright.fitup.nearest import bounded_least_squares
from loopwright.fitup.outlook import expected_after, factor_of, planned, range_chance
from loopwright.fitup.settings import Adjusters, best_setting, gain

RNG = np.random.Generator(np.random.PCG64(5))
UM = 1e-3
PADS = np.array([0.0, 10.0, 6.0, 24.0]) * UM
CORNERS = np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [1.0, 0.0, 1.0], [1.0, 1.0, 1.0]])
OFF_PLANE = np.eye(4) - CORNERS @ np.linalg.pinv(CORNERS)


def test_four_pads() -> None:
    """Pads 0, 10, 6 and 24 µm high are 2 µm off their plane each way, and shims of 0, 4, 4, 0 µm make them level
    in one plane (constructed: a plane takes all but the twist (h00 - ha0 - h0b + hab) / 4).
    """
    now = OFF_PLANE @ PADS
    np.testing.assert_allclose(now, np.array([2, -2, -2, 2]) * UM, atol=1e-12)
    plan = best_setting(now, OFF_PLANE, Adjusters.of(np.zeros(4), 0.1))
    np.testing.assert_allclose(plan.values, np.array([0, 4, 4, 0]) * UM, atol=1e-9)
    np.testing.assert_allclose(plan.needed, np.array([-2, 2, 2, -2]) * UM, atol=1e-12)
    assert plan.left.largest < 1e-9
    assert plan.before.rms == pytest.approx(2 * UM)
    assert plan.indifferent == 3
    assert plan.at_limit.tolist() == [True, False, False, True]


def test_four_pads_up_to_the_highest() -> None:
    """Brought up to the highest pad, 24 µm, they take shims of 24, 14, 18 and 0 µm (constructed)."""
    plan = best_setting(PADS - PADS.max(), np.eye(4), Adjusters.of(np.zeros(4), 0.1, increment=UM))
    assert plan.proven
    np.testing.assert_allclose(plan.values, np.array([24, 14, 18, 0]) * UM, atol=1e-12)


def test_four_pads_by_increments() -> None:
    """With shims in steps of 3 µm the twist comes nearest with 6 µm under one low pad and 3 under the other, or
    the like: a quarter of a micrometre is left on each pad, whichever.
    """
    plan = best_setting(OFF_PLANE @ PADS, OFF_PLANE, Adjusters.of(np.zeros(4), 0.03, increment=3 * UM))
    assert plan.proven
    assert plan.left.largest == pytest.approx(0.25 * UM)
    assert plan.values @ [1, -1, -1, 1] == pytest.approx(-9 * UM)
    # least movement: 3 and 6 move less than 0 and 9, and no pad goes up that need not
    assert sorted(plan.values.round(9)) == [0.0, 0.0, 3 * UM, 6 * UM]


def test_two_rails() -> None:
    """Rails 300 mm apart and 12 µm out of level roll the table by 40 µrad, and a shim of 12 µm takes it out;
    150 mm above the rails that is 6 µm sideways (constructed).
    """
    roll_per_mm = 1 / 300
    sideways = 150 * roll_per_mm
    plan = best_setting([12 * UM * sideways], [[-sideways]], Adjusters.of([0.0], [0.1]))
    assert plan.before.largest == pytest.approx(6 * UM)
    assert plan.values == pytest.approx([12 * UM])


def test_current_settings_count() -> None:
    """The error stands for the settings as they are; a better one is told as value and as change."""
    plan = best_setting([0.02], [[1.0]], Adjusters.of([0.0], [1.0], current=[0.5]))
    assert plan.values == pytest.approx([0.48])
    assert plan.change == pytest.approx([-0.02])


def test_staying_as_it_is() -> None:
    """A spacer ground to 3.1234 mm may stay, though new ones come in steps of 0.01 mm."""
    kit = Adjusters.of([3.0], [3.3], increment=0.01, current=[3.1234])
    assert best_setting([0.001], [[1.0]], kit).change == [0.0]
    assert best_setting([0.006], [[1.0]], kit).values == pytest.approx([3.12])


def test_an_adjuster_that_does_nothing_stays() -> None:
    """Where an adjuster has no effect it is left alone, and so are all when there is no error."""
    kit = Adjusters.of([0.0, 0.0], 1.0, current=[0.3, 0.4], increment=[0.0, 0.1])
    plan = best_setting([[0.1, 0.0]], [[[1.0, 0.0], [0.0, 0.0]]], kit)
    np.testing.assert_allclose(plan.values, [0.2, 0.4], atol=1e-9)
    assert best_setting([[0.0, 0.0]], np.ones((1, 2, 2)), kit).change.tolist() == [0.0, 0.0]


def test_weights() -> None:
    """One adjuster for two poses that disagree goes to their weighted mean."""
    plan = best_setting([1.0, 4.0], [[1.0], [1.0]], Adjusters.of(-9.0, 9.0), weights=[3.0, 1.0])
    assert plan.values == pytest.approx([-1.75])
    assert plan.left.rms == pytest.approx(((3 * 0.75**2 + 2.25**2) / 4) ** 0.5)


def test_uncertainty_of_the_setting() -> None:
    """The mean of four readings of 2 µm each is known to 1 µm; a common part of 3 µm adds in full
    (JCGM 100:2008, 4.2.3 and 5.2.2, from memory).
    """
    factor = np.column_stack([2 * np.eye(4), np.full(4, 3.0)]) * UM
    plan = best_setting(np.zeros(4), np.ones((4, 1)), Adjusters.of(-1.0, 1.0), factor=factor)
    assert plan.uncertainty == pytest.approx([10**0.5 * UM])
    two = best_setting(
        np.zeros((2, 1)), np.eye(2)[:, None], Adjusters.of([-1.0] * 2, 1.0), factor=factor[:2, None]
    )
    assert two.correlation[0, 1] == pytest.approx(9 / 13)
    assert np.isnan(best_setting([0.0], [[1.0]], Adjusters.of(0.0, 1.0)).uncertainty).all()


@pytest.mark.parametrize("seed", range(20))
def test_bounds_against_a_reference_solver(seed: int) -> None:
    """Bounded least squares agrees with that of SciPy."""
    draw = np.random.Generator(np.random.PCG64(seed))
    matrix, offset = draw.normal(size=(12, 7)), draw.normal(size=12)
    low = draw.uniform(-0.3, 0.1, 7)
    high = low + draw.uniform(0, 0.4, 7)
    low[0], high[1] = -np.inf, np.inf
    ours = bounded_least_squares(matrix, offset, low, high)
    theirs = lsq_linear(matrix, -offset, (low, high + 1e-15), method="bvls", tol=1e-14)
    np.testing.assert_allclose(ours, theirs.x, atol=1e-8)


def test_mixed_adjusters_against_every_combination() -> None:
    """Two adjusters by increments and one without, all at their limits: the search finds the best of 441 bounded
    problems.
    """
    for seed in range(10):
        draw = np.random.Generator(np.random.PCG64(seed))
        effect, error = draw.normal(size=(6, 3)), 3 * draw.normal(size=6)
        kit = Adjusters.of([0.0, 0.0, -0.5], [2.0, 2.0, 0.5], increment=[0.1, 0.1, 0.0])
        plan = best_setting(error, effect, kit)
        best = min(
            np.sum((error + effect[:, :2] @ z + effect[:, 2] * free) ** 2)
            for z in product(kit.choices(0), kit.choices(1))
            for free in [
                np.clip(-(error + effect[:, :2] @ z) @ effect[:, 2] / np.sum(effect[:, 2] ** 2), -0.5, 0.5)
            ]
        )
        assert plan.proven
        assert np.sum(plan.error**2) == pytest.approx(best, rel=1e-9)
        assert plan.least <= plan.left.rms * (1 + 1e-9)


def test_a_search_that_is_cut_short_says_so() -> None:
    """With hardly any nodes the rounded setting is given, as not proven; a cancelled search gives none."""
    effect, error = RNG.normal(size=(20, 6)), RNG.normal(size=20)
    kit = Adjusters.of(np.full(6, -2.0), 2.0, increment=0.01)
    plan = best_setting(error, effect, kit, node_limit=10)
    assert not plan.proven
    assert plan.left.rms < plan.before.rms
    seen: list[int] = []
    with pytest.raises(Cancelled):
        best_setting(error, effect, kit, progress=lambda done, of: seen.append(done), cancel=lambda: True)
    assert len(seen) == 1


def test_what_is_not_worth_looking_for() -> None:
    """Eight pads in steps of a micrometre are settled at once when a tenth of a micrometre does not matter."""
    corners = np.column_stack([np.ones(8), RNG.uniform(size=(8, 2))])
    off = np.eye(8) - corners @ np.linalg.pinv(corners)
    heights = RNG.uniform(0, 0.02, 8)
    kit = Adjusters.of(np.zeros(8), 0.05, increment=UM)
    plan = best_setting(off @ heights, off, kit, worth=0.3 * UM, node_limit=200_000)
    assert plan.proven
    assert plan.left.rms < 0.5 * UM


def test_the_uncertainty_of_hitting_a_setting() -> None:
    """3 of the rest, 4 of setting and 12 of locking come to 13."""
    left = expected_after([[0.0]], [[[1.0]]], [[[3.0]]], setting=[4.0], lock=12.0)
    assert left.rms == left.largest == pytest.approx(13.0)


def test_planned_against_the_covariance_written_out() -> None:
    """Factors give the same as the full covariance with (I - B G)."""
    effect, seen, unseen = RNG.normal(size=(9, 3)), RNG.normal(size=(9, 4)), RNG.normal(size=(9, 2))
    mean, weights = RNG.normal(size=9), RNG.uniform(0.5, 2, 9)
    plan = planned(
        mean, effect, seen, unseen, weights=weights, setting=[0.1, 0.2, 0.3], lock=0.05, increment=0.6
    )
    answer = gain(effect, weights)
    rest = np.eye(9) - effect @ answer
    hit = np.diag(np.array([0.1, 0.2, 0.3]) ** 2 + 0.05**2 + 0.6**2 / 12)
    full = unseen @ unseen.T + rest @ seen @ seen.T @ rest.T + effect @ hit @ effect.T
    np.testing.assert_allclose(plan.factor @ plan.factor.T, full, atol=1e-12)
    np.testing.assert_allclose(plan.covariance, answer @ seen @ seen.T @ answer.T, atol=1e-12)
    np.testing.assert_allclose(plan.left.size**2, full.diagonal() + (rest @ mean) ** 2, atol=1e-12)
    w = np.sqrt(weights)
    np.testing.assert_allclose(answer, np.linalg.pinv(w[:, None] * effect) * w, atol=1e-12)


def test_planned_against_a_simulated_shop() -> None:
    """A thousand machines, each read and set, scatter as the plan says (within a tenth of it)."""
    effect = RNG.normal(size=(4, 3, 2))
    seen, unseen = RNG.normal(size=(4, 3, 3)), 0.3 * RNG.normal(size=(4, 3, 2))
    plan = planned(np.zeros((4, 3)), effect, seen, unseen)
    known, rest = RNG.normal(size=(3, 1000)), RNG.normal(size=(2, 1000))
    change = -gain(effect) @ (seen.reshape(12, 3) @ known)
    error = seen.reshape(12, 3) @ known + unseen.reshape(12, 2) @ rest + effect.reshape(12, 2) @ change
    size = np.sqrt((error**2).mean(axis=1).reshape(4, 3).sum(axis=1))
    np.testing.assert_allclose(size, plan.left.size, rtol=0.1)
    np.testing.assert_allclose(np.cov(change), plan.covariance, rtol=0.2)


def test_chance_that_a_range_suffices() -> None:
    """Two standard deviations each way hold 95.45 % of a normal distribution; two such, alike, no less."""
    alike = range_chance([0.0, 0.0], np.ones((2, 2)), [-2.0] * 2, [2.0] * 2)
    np.testing.assert_allclose(alike.each, 0.9545, atol=5e-5)
    assert alike.together == pytest.approx(0.9545, abs=4 * alike.together_std)
    apart = range_chance([0.0, 0.0], np.eye(2), [-2.0] * 2, [2.0] * 2)
    assert apart.together == pytest.approx(0.9545**2, abs=1e-4)
    assert apart.together_std == 0
    np.testing.assert_allclose(apart.high, 1.95996, atol=1e-5)
    sure = range_chance([0.2, 0.4], np.zeros((2, 2)), [0.0, 0.0], [0.2, 0.3])
    assert sure.each.tolist() == [1.0, 0.0]


def test_joint_chance_of_correlated_settings() -> None:
    """Two settings correlated by r both stay above their mean with 1/4 + arcsin(r) / 2π (W. F. Sheppard 1899, from
    memory).
    """
    found = range_chance([0.0, 0.0], [[1.0, 0.6], [0.6, 1.0]], [0.0, 0.0], [np.inf, np.inf])
    assert found.together == pytest.approx(0.25 + np.arcsin(0.6) / (2 * np.pi), abs=4 * found.together_std)
    assert found.together_std < 0.002


def test_factor_of_a_singular_covariance() -> None:
    """A covariance of rank two in five deviations of very different size comes back from its factor."""
    parts = RNG.normal(size=(5, 2)) * np.array([1, 1e-3, 1e-6, 1, 1e3])[:, None]
    found = factor_of(parts @ parts.T)
    assert found.shape == (5, 2)
    np.testing.assert_allclose(found @ found.T, parts @ parts.T, rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Adjusters.of([0.2], [0.1]), "empty"),
        (lambda: Adjusters.of([0.0, 0.0], [1.0, 1.0, 1.0]), "differ in number"),
        (lambda: Adjusters.of([0.0], [np.inf], increment=0.1), "million"),
        (lambda: Adjusters.of([0.0], [1.0], increment=-0.1), "zero or more"),
        (lambda: Adjusters.of([np.nan], [1.0]), "no number"),
        (lambda: best_setting([1.0], [[1.0, 1.0]], Adjusters.of([0.0], [1.0])), r"\(1, 1\)"),
        (lambda: best_setting([np.nan], [[1.0]], Adjusters.of([0.0], [1.0])), "no number"),
        (lambda: best_setting([], np.ones((0, 1)), Adjusters.of([0.0], [1.0])), "poses"),
        (lambda: best_setting([1.0], [[1.0]], Adjusters.of([0.0], [1.0]), weights=[-1.0]), "zero or more"),
        (lambda: best_setting([1.0], [[1.0]], Adjusters.of([0.0], [1.0]), weights=[1.0, 1.0]), "weights"),
        (lambda: best_setting([1.0], [[1.0]], Adjusters.of([0.0], [1.0]), factor=[[1.0], [1.0]]), "factor"),
        (lambda: expected_after([1.0], [[1.0]], [[1.0], [2.0]]), "factor"),
        (lambda: expected_after([1.0], [[1.0]], [[1.0]], setting=-1.0), "zero or more"),
        (lambda: planned([1.0], [[1.0]], [[1.0]], [[1.0], [2.0]]), "unseen"),
        (lambda: factor_of([[1.0, 2.0], [2.0, 1.0]]), "negative variance"),
        (lambda: factor_of([[1.0, 2.0], [0.0, 1.0]]), "symmetric"),
        (lambda: range_chance([0.0], [[1.0]], [1.0], [0.0]), "empty"),
        (lambda: range_chance([0.0], [[1.0]], [0.0], [1.0], confidence=1.0), "between 0 and 1"),
    ],
)
def test_mistakes_are_named(call: object, words: str) -> None:
    """Shapes that disagree, empty ranges and values that are no numbers are refused in words."""
    assert callable(call)
    with pytest.raises(RequestError, match=words):
        call()
