"""What must hold of readings and what is learned from them, whatever the machine."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from as_built_machines import (
    asked,
    beliefs,
    brute_force,
    generator,
    machine,
    random_problem,
    seen,
    shared,
)
from loopwright.asbuilt.draws import shaped
from loopwright.asbuilt.knowledge import Knowledge, Observation, learn
from loopwright.asbuilt.surprise import as_normal, look, look_ahead, looks
from loopwright.asbuilt.timeline import Move, as_designed, timeline
from loopwright.asbuilt.worth import Candidate, Prospect

SEEDS = st.integers(0, 2**32 - 1)
FEW = settings(max_examples=30)


def covariance(known: Knowledge) -> np.ndarray:
    """Covariance of the deviations in the newest state."""
    root = known.root(np.eye(len(known.line.prior.mean)), known.line.newest)
    return np.asarray(root @ root.T)


def same(one: Knowledge, other: Knowledge, share: float = 1e-10) -> None:
    """Both know the same, to a share of the largest value."""
    assert one.mean == pytest.approx(other.mean, abs=share * np.abs(other.mean).max())
    first, second = covariance(one), covariance(other)
    assert first == pytest.approx(second, abs=share * second.max())


# ------------------------------------------------------------------------------------------------------- learning
@FEW
@given(SEEDS, st.permutations(range(6)))
def test_the_order_of_readings_does_not_matter(seed: int, order: list[int]) -> None:
    """Readings learned in any order, together or one by one, leave the same, to 1e-10."""
    problem = random_problem(seed)
    together = learn(problem.line, problem.observations)
    mixed = [problem.observations[place] for place in order]
    same(learn(problem.line, mixed), together)
    known = learn(problem.line, mixed[:2])
    for one in mixed[2:]:
        known = known.with_one_more(one)
    same(known, together)
    assert known.observations == tuple(mixed)


@given(SEEDS, st.integers(1, 8), st.integers(1, 6))
def test_learning_is_batch_least_squares(seed: int, sources: int, readings: int) -> None:
    """Mean and covariance are those of the stacked system of prior, readings and unknown zeros, to 1e-8."""
    problem = random_problem(seed, sources, readings)
    known = learn(problem.line, problem.observations)
    mean, cov = brute_force(problem.line, problem.observations)
    assert known.mean == pytest.approx(mean, abs=1e-8 * max(1.0, np.abs(mean).max()))
    assert covariance(known) == pytest.approx(cov, abs=1e-8 * max(1e-3, cov.max()))


@FEW
@given(SEEDS, st.integers(2, 50))
def test_a_reading_repeated_is_a_sharper_one(seed: int, times: int) -> None:
    """The same reading n times, own scatter only, is one reading of variance r / n."""
    problem = random_problem(seed, readings=1)
    one = replace(problem.observations[0], common=())
    sharper = replace(one, stds=one.stds / np.sqrt(times))
    same(learn(problem.line, [one] * times), learn(problem.line, [sharper]))


@FEW
@given(SEEDS)
def test_a_reading_without_end_of_noise_teaches_nothing(seed: int) -> None:
    """A reading of a standard uncertainty of 1e9 leaves the prior as it was."""
    problem = random_problem(seed)
    blunt = [replace(one, stds=np.full(len(one.stds), 1e9)) for one in problem.observations]
    same(learn(problem.line, blunt), learn(problem.line, []), 1e-7)


@FEW
@given(SEEDS)
def test_a_reading_never_makes_anything_less_known(seed: int) -> None:
    """No variance h'Ph grows with a reading, whatever h and whatever was known before."""
    problem = random_problem(seed, readings=5)
    directions = generator(seed).normal(size=(40, 7))
    known = learn(problem.line, [])
    for one in problem.observations:
        after = known.with_one_more(one)
        was, now = known.uncertainty(directions, 1), after.uncertainty(directions, 1)
        assert (now <= was * (1 + 1e-12)).all()
        known = after


@FEW
@given(SEEDS, st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_a_free_zero_takes_any_constant_and_slope(seed: int, zero: float, slope: float) -> None:
    """Any combination of its unknown columns added to a reading changes nothing of what is learned."""
    problem = random_problem(seed)
    moved = [
        replace(one, values=one.values + one.free @ np.array([zero, slope])[: one.free.shape[1]])
        if one.free.size
        else one
        for one in problem.observations
    ]
    one, other = learn(problem.line, moved), learn(problem.line, problem.observations)
    assert one.mean == pytest.approx(other.mean, abs=1e-9)
    assert np.array_equal(one.std, other.std)


@FEW
@given(SEEDS, st.floats(1e-3, 1e3))
def test_units_do_not_matter(seed: int, unit: float) -> None:
    """In a unit a thousand times smaller or larger all means and uncertainties are as many times larger or
    smaller.
    """
    problem = random_problem(seed)
    prior = problem.line.prior
    line = machine(prior.std * unit, prior.mean * unit)
    scaled = [
        replace(
            one,
            values=one.values * unit,
            stds=one.stds * unit,
            common=tuple(replace(error, std=error.std * unit) for error in one.common),
        )
        for one in problem.observations
    ]
    there, here = learn(line, scaled), learn(problem.line, problem.observations)
    assert there.mean / unit == pytest.approx(here.mean, abs=1e-9)
    assert there.std / unit == pytest.approx(here.std, abs=1e-10)


@FEW
@given(SEEDS)
def test_readings_of_any_state_are_batch_least_squares_too(seed: int) -> None:
    """With deviations set anew, moved on and made without their shared part between readings, what is known of
    every state is that of the stacked system over all the pieces.
    """
    problem, draw = random_problem(seed), generator(seed + 1)
    line = timeline(
        problem.line.prior,
        [
            (1, []),
            (2, [Move(0, 0.5, 0.2), Move(1, -0.3, 0.1, onward=True)]),
            (
                3,
                [
                    Move(2, 0.1, 0.4, less=((1, 1.0), (3, 1.0))),
                    Move(0, 0.1, 0.3, onward=True),
                    Move(1, 0.2, 0.0),
                ],
            ),
        ],
    )
    taken = [replace(one, state=int(draw.integers(1, 4))) for one in problem.observations]
    known = learn(line, taken)
    mean, cov = brute_force(line, taken)
    assert known.mean == pytest.approx(mean, abs=1e-8 * max(1.0, np.abs(mean).max()))
    for state in line.states:
        transition = line.over_pieces(np.eye(7), state)
        root = known.root(np.eye(7), state)
        assert root @ root.T == pytest.approx(transition @ cov @ transition.T, abs=1e-8 * max(1, cov.max()))
        assert known.expected(np.eye(7), state) == pytest.approx(transition @ mean, abs=1e-8)


# ------------------------------------------------------------------------------------------------------- surprise
@FEW
@given(SEEDS)
def test_a_look_is_a_reading_left_out(seed: int) -> None:
    """Each reading beside what the rest let one expect is what learning without it predicts: expected values,
    standard uncertainties, and chi-square of all values together.
    """
    problem = random_problem(seed, readings=4)
    known = learn(problem.line, problem.observations)
    for one, found in zip(problem.observations, looks(known)):
        rest = [other for other in problem.observations if other is not one]
        # own scatter, errors in common as the rest leaves them, and the unknown zero, which is taken out
        noise = one.stds[:, None]
        basis = (
            np.linalg.svd(one.free / noise, full_matrices=True)[0] if one.free.size else np.eye(len(noise))
        )
        kept = basis[:, one.free.shape[1] if one.free.size else 0 :]
        others = learn(problem.line, rest)
        rows = np.concatenate([one.rows / noise, *_columns(one, noise)], axis=1)
        centre, spread = _with_errors(others, one)
        miss = kept.T @ ((one.values / noise[:, 0]) - rows @ centre)
        total = kept.T @ (np.eye(len(noise)) + rows @ spread @ rows.T) @ kept
        square = float(miss @ np.linalg.solve(total, miss)) if len(miss) else 0.0
        assert found.surprise == pytest.approx(as_normal(square, len(miss)), rel=1e-7, abs=1e-7)
        back = kept @ miss * noise[:, 0]
        assert found.found - found.expected == pytest.approx(back, abs=1e-7)
        std = np.sqrt(np.diag(kept @ total @ kept.T)) * noise[:, 0]
        assert found.std == pytest.approx(std, rel=1e-7, abs=1e-9)
        assert look(known, one).surprise == pytest.approx(found.surprise, rel=1e-12, abs=1e-12)
        assert look_ahead(others, one).surprise == pytest.approx(found.surprise, rel=1e-8, abs=1e-8)


def _columns(one: Observation, noise: np.ndarray) -> list[np.ndarray]:
    return [(error.std * error.column)[:, None] / noise for error in one.common]


def _with_errors(known: Knowledge, one: Observation) -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of the deviations and of a reading's errors in common, in their own units, by adding
    the errors as sources of their own.
    """
    errors, prior = one.common, known.line.prior
    names = [error.name for error in errors]
    line = machine([*prior.std, *np.ones(len(errors))], [*prior.mean, *np.zeros(len(errors))])
    wide = []
    for other in known.observations:
        extra = np.zeros((len(other.values), len(errors)))
        kept = []
        for error in other.common:
            if error.name in names:
                extra[:, names.index(error.name)] = error.std * error.column
            else:
                kept.append(error)
        rows = np.concatenate([other.rows, extra], axis=1)
        wide.append(replace(other, rows=rows, common=tuple(kept)))
    return brute_force(line, wide)


@given(st.floats(0, 1e4), st.integers(1, 400))
def test_surprise_grows_with_chi_square(square: float, freedom: int) -> None:
    """A larger chi-square is never less surprising, nor one of fewer values; one value's is its own root."""
    assert as_normal(square, 1) == pytest.approx(np.sqrt(square), rel=1e-9, abs=1e-9)
    assert as_normal(square * 1.01 + 0.01, freedom) >= as_normal(square, freedom)
    assert as_normal(square, freedom) >= as_normal(square, freedom + 1)


# ---------------------------------------------------------------------------------------------------------- worth
@FEW
@given(SEEDS, st.integers(0, 3))
def test_what_a_reading_would_leave_is_what_it_leaves(seed: int, before: int) -> None:
    """'Unknown' after a reading is the uncertainty found after really taking it, whatever it shows."""
    problem, draw = random_problem(seed), generator(seed + 2)
    known = learn(problem.line, problem.observations[:before])
    rows = [asked(draw.normal(size=(5, 2, 7))), asked(draw.normal(size=(3, 1, 7)))]
    prospect = Prospect(known, rows, [2.0, 5.0])
    for one in problem.observations[before:]:
        told = prospect.worth(Candidate("it", one, 5.0), chance=False)
        taken = known.with_one_more(replace(one, values=draw.normal(size=len(one.values)) * 9))
        for left, target in zip(told.then, rows):
            found = np.sqrt((taken.uncertainty(target.matrix, 1) ** 2).sum(axis=1).max())
            assert left.unknown == pytest.approx(found, rel=1e-9)


@FEW
@given(SEEDS)
def test_readings_bring_the_same_in_any_order(seed: int) -> None:
    """What is left after two readings does not depend on which was foreseen first."""
    problem, draw = random_problem(seed), generator(seed + 3)
    known = learn(problem.line, problem.observations[:2])
    prospect = Prospect(known, [asked(draw.normal(size=(5, 2, 7)))], [2.0], adjustable=(1, 4))
    one, other = (Candidate(o.name, o, 5.0) for o in problem.observations[2:4])
    first = prospect.after(one).after(other).now(chance=False)
    second = prospect.after(other).after(one).now(chance=False)
    for a, b in zip(first, second):
        assert (a.unknown, a.adjusted) == pytest.approx((b.unknown, b.adjusted), rel=1e-9)
        assert a.unknown <= prospect.now(chance=False)[0].unknown * (1 + 1e-9)


# --------------------------------------------------------------------------------------------------------- shapes
@given(st.floats(-5, 5), st.floats(0, 1), st.booleans())
def test_shapes_rise_and_their_slope_is_theirs(z: float, flat: float, arc: bool) -> None:
    """Each shape is an odd, never falling function of the normal variable, whose slope is that found by finite
    differences where it has one.
    """
    made = np.array([flat]), np.array([arc]), np.array([False])
    step = 1e-5
    points = np.array([[z - step], [z], [z + step], [-z]])
    values, slopes = (found[:, 0] for found in shaped(points, *made))
    assert values[0] <= values[1] <= values[2]
    assert values[3] == -values[1]
    assert slopes[1] >= 0
    assert (values[2] - values[0]) / (2 * step) == pytest.approx(slopes[1], rel=1e-3, abs=1e-4)


@given(SEEDS)
def test_a_normal_variable_stays_itself(seed: int) -> None:
    """What is normal is drawn as it is."""
    z = generator(seed).normal(size=(20, 3)) * 3
    value, slope = shaped(z, np.ones(3), np.zeros(3, bool), np.ones(3, bool))
    assert np.array_equal(value, z)
    assert np.array_equal(slope, np.ones((20, 3)))


def test_a_common_error_of_one_reading_is_noise() -> None:
    """An error in common that nothing else shares adds to the covariance of the values, no more."""
    line = as_designed(beliefs([1.0, 2.0]))
    column = np.array([1.0, 2.0, -1.0])
    rows = [[1.0, 0.2], [0.1, 1.0], [0.5, 0.5]]
    with_error = learn(line, [seen(rows, [1, 2, 3], [0.3] * 3, shared("it", 0.7, column))])
    cov = 0.09 * np.eye(3) + 0.49 * np.outer(column, column)
    whitened = np.linalg.inv(np.linalg.cholesky(cov))
    same(with_error, learn(line, [seen(whitened @ rows, whitened @ [1, 2, 3], np.ones(3))]))
