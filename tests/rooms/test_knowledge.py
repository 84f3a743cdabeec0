"""The update: closed forms, batch least squares by another library, errors in common, coverage of known truths."""

from dataclasses import replace
from math import hypot, sqrt

import numpy as np
import pytest
from scipy.optimize import least_squares

from as_built_machines import (
    UM,
    Problem,
    all_normal,
    asked,
    beliefs,
    brute_force,
    clock_plate,
    clock_prior,
    generator,
    machine,
    proving_readings,
    random_problem,
    seen,
    shared,
    stacked,
)
from loopwright.asbuilt.knowledge import MANY, Knowledge, Observation, learn
from loopwright.asbuilt.prior import Prior, Sampler
from loopwright.asbuilt.timeline import Move, as_designed, changed, timeline
from loopwright.errors import RequestError

ONE = [[1.0]]
TRUTHS = 2000


def told(knowledge: Knowledge) -> tuple[float, float]:
    """Mean and standard uncertainty of the first source."""
    return float(knowledge.mean[0]), float(knowledge.std[0])


def covariance(knowledge: Knowledge) -> np.ndarray:
    """Covariance of the pieces as the module has it."""
    root = knowledge.root(np.eye(len(knowledge.line.prior.mean)), knowledge.line.newest)
    return np.asarray(root @ root.T)


# ------------------------------------------------------------------------------------------------- closed forms
def test_one_reading_of_one_dim() -> None:
    """0 ± 10 before, 12 ± 3 read: K = 100/109, so 11.009174 ± 2.873479.

    Source: scalar Kalman update, any textbook; K = Ph / (h'Ph + r). Worked out by hand.
    """
    mean, std = told(learn(machine([10.0]), [seen(ONE, [12.0], [3.0])]))
    assert mean == pytest.approx(11.009174, abs=5e-7)
    assert std == pytest.approx(2.873479, abs=5e-7)


def test_two_readings_and_nothing_known_before() -> None:
    """10.002 ± 0.004 and 10.010 ± 0.002 together are 10.0084 ± 0.00178885, weighted by 1/u².

    Source: weighted mean, e.g. JCGM 100:2008, 5.1 applied to it; u = 1 / sqrt(1/u1² + 1/u2²). Worked out by hand.
    """
    readings = [seen(ONE, [0.002], [0.004]), seen(ONE, [0.010], [0.002])]
    mean, std = told(learn(machine([1e3]), readings))
    assert 10 + mean == pytest.approx(10.0084, abs=5e-8)
    assert std == pytest.approx(0.00178885, abs=5e-9)
    assert std == pytest.approx(1 / sqrt(1 / 0.004**2 + 1 / 0.002**2), rel=1e-9)


def test_a_reading_of_a_sum_is_shared_out_by_variance() -> None:
    """Of two dims ±3 and ±4 whose sum is read as 5 with next to no doubt the one takes 9/25, the other 16/25, and
    what stays unknown is their difference.
    """
    known = learn(machine([3.0, 4.0]), [seen([[1.0, 1.0]], [5.0], [1e-3])])
    assert known.mean == pytest.approx([5 * 9 / 25, 5 * 16 / 25], rel=1e-7)
    assert known.std == pytest.approx([12 / 5, 12 / 5], rel=1e-7)
    assert known.uncertainty(np.array([1.0, 1.0]), 1) == pytest.approx(1e-3, rel=1e-6)


def test_nothing_read_leaves_the_prior() -> None:
    """Without a reading mean and uncertainty are those of the drawings, to the last bit but one."""
    known = learn(as_designed(clock_prior()), [])
    assert known.mean == pytest.approx(clock_prior().mean, rel=1e-15)
    assert known.std == pytest.approx(clock_prior().std, rel=1e-15)


# --------------------------------------------------------------------------------------- against other libraries
@pytest.mark.parametrize("seed", range(40))
def test_the_update_is_batch_least_squares(seed: int) -> None:
    """Mean and covariance are those of prior and readings stacked and solved by the library (SVD for the mean,
    QR for the covariance), the unknown zeros of sweeps as real unknowns, to 1e-8.
    """
    problem = random_problem(seed)
    known = learn(problem.line, problem.observations)
    mean, cov = brute_force(problem.line, problem.observations)
    assert known.mean == pytest.approx(mean, rel=1e-8, abs=1e-8 * np.abs(mean).max())
    assert covariance(known) == pytest.approx(cov, rel=1e-8, abs=1e-8 * cov.max())
    assert known.std == pytest.approx(np.sqrt(np.diag(cov)), rel=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_the_update_is_where_an_optimiser_ends(seed: int) -> None:
    """A general optimiser that only sees residuals ends at the same mean."""
    problem = random_problem(seed)
    matrix, right, open_ = stacked(problem.line, problem.observations)
    found = least_squares(lambda p: matrix @ p - right, np.zeros(matrix.shape[1]), xtol=1e-14, gtol=1e-14)
    known = learn(problem.line, problem.observations)
    assert known.mean[open_] == pytest.approx(found.x[: len(open_)], rel=1e-6, abs=1e-6)


def test_the_clock_plate_machine_is_batch_least_squares_too() -> None:
    """All its deviations, 12 tests and 12 dims with their errors in common: tool errors and their uncertainties are
    those of the stacked system, to 1e-8.
    """
    loop, line = clock_plate(), as_designed(clock_prior())
    draw = generator(3)
    readings = [replace(o, values=o.stds * draw.normal(size=len(o.values)) * 3) for o in proving_readings()]
    known, (mean, cov) = learn(line, readings), brute_force(line, readings)
    for target in loop.build.targets.values():
        rows = loop.rows(target).matrix.reshape(-1, len(loop.sources))
        std = np.sqrt(np.einsum("ij,jk,ik->i", rows, cov, rows))
        assert known.uncertainty(rows, 1) == pytest.approx(std, rel=1e-8, abs=1e-8 * std.max())
        assert known.expected(rows, 1) == pytest.approx(rows @ mean, abs=1e-8 * std.max())


# -------------------------------------------------------------------------------------------------- unknown zeros
def sweep(slope: bool = True) -> tuple[Problem, np.ndarray]:
    """A sweep of nine values of random rows with an unknown zero, and its unknown slope too."""
    draw, place = generator(8), np.linspace(-1, 1, 9)
    free = np.stack([np.ones(9), place], axis=1)[:, : 1 + slope]
    one = seen(draw.normal(size=(9, 4)), draw.normal(size=9), draw.uniform(0.1, 0.4, 9), free=free)
    return Problem(machine([1.0, 2.0, 0.5, 1.5]), (one,)), place


def test_an_unknown_zero_is_unknown() -> None:
    """To add a constant to a sweep of unknown zero, or a slope to one of unknown slope, changes nothing; where
    the slope is known it does.
    """
    problem, place = sweep()
    (one,) = problem.observations
    before = learn(problem.line, [one])
    moved = learn(problem.line, [replace(one, values=one.values + 700.0 - 40.0 * place)])
    assert moved.mean == pytest.approx(before.mean, abs=1e-11 * 700)
    assert np.array_equal(moved.std, before.std)
    problem, place = sweep(slope=False)
    (one,) = problem.observations
    before = learn(problem.line, [one])
    moved = learn(problem.line, [replace(one, values=one.values + 700.0)])
    assert moved.mean == pytest.approx(before.mean, abs=1e-11 * 700)
    tilted = learn(problem.line, [replace(one, values=one.values - 40.0 * place)])
    assert np.abs(tilted.mean - before.mean).max() > 1


@pytest.mark.parametrize("wide", [1e2, 1e3, 1e4])
def test_an_unknown_zero_is_the_limit_of_a_wide_one(wide: float) -> None:
    """A zero and a slope with a prior of ever greater uncertainty, as errors in common, come to the same; what
    is left falls with the square of it.
    """
    problem, place = sweep()
    (one,) = problem.observations
    columns = shared("zero", wide, np.ones(9)), shared("slope", wide, place)
    stated = replace(one, free=np.zeros((0, 0)), common=columns)
    flat, near = learn(problem.line, [one]), learn(problem.line, [stated])
    assert near.mean == pytest.approx(flat.mean, abs=5 / wide**2)
    assert near.std == pytest.approx(flat.std, abs=5 / wide**2)
    assert (near.std <= flat.std * (1 + 1e-12)).all()


def test_what_only_shows_in_the_zero_is_not_learned() -> None:
    """One value of unknown zero teaches nothing, nor do two of unknown slope; a constant source stays open."""
    line = machine([1.0, 2.0])
    one = seen([[1.0, 0.3]], [0.7], [0.01], free=np.ones((1, 1)))
    two = seen([[1.0, 0.3], [0.2, 1]], [0.7, 3], [0.01, 0.01], free=np.array([[1.0, -1.0], [1.0, 1.0]]))
    constant = seen([[1.0, -1.0], [1.0, 1.0], [1.0, 0.0]], [5.0, 6, 5.5], [0.01] * 3, free=np.ones((3, 1)))
    for nothing in (one, two):
        known = learn(line, [nothing])
        assert known.std == pytest.approx(line.std, rel=1e-12)
        assert known.mean == pytest.approx(line.mean, abs=1e-12)
    known = learn(line, [constant])
    assert known.std[0] == pytest.approx(1.0, rel=1e-12)
    assert known.std[1] < 0.01


def test_a_zero_that_is_stated_twice_counts_once() -> None:
    """Columns of an unknown zero that say the same, or nothing, take out one value, not two."""
    problem, _ = sweep(slope=False)
    (one,) = problem.observations
    again = replace(one, free=np.stack([np.ones(9), 3 * np.ones(9), np.zeros(9)], axis=1))
    known = learn(problem.line, [again])
    assert known.weighed(again).freedom == 8
    assert known.mean == pytest.approx(learn(problem.line, [one]).mean, rel=1e-12)


# ------------------------------------------------------------------------------------------------ errors in common
def test_a_calibration_error_cancels_in_a_difference() -> None:
    """Two equal dims read with one gauge, calibration ±4 µm, scatter ±1 µm: each is known to no better than
    4 µm, their difference to 1.41 µm.

    Source: JCGM 100:2008, 5.2.2 and F.1.2.3 (correlated inputs); design rule of every comparator.
    """
    line = machine([1.0, 1.0])
    readings = [
        seen([[1.0, 0.0]], [12 * UM], [1 * UM], shared("calibration", 4 * UM, [1])),
        seen([[0.0, 1.0]], [9 * UM], [1 * UM], shared("calibration", 4 * UM, [1])),
    ]
    known = learn(line, readings)
    apart = np.array([1.0, -1.0])
    assert known.std == pytest.approx(hypot(4, 1) * UM, rel=1e-4)
    assert known.uncertainty(apart, 1) == pytest.approx(sqrt(2) * UM, rel=1e-5)
    assert known.expected(apart, 1) == pytest.approx(3 * UM, rel=1e-5)
    other = replace(readings[1], common=(shared("another calibration", 4 * UM, [1]),))
    known = learn(line, [readings[0], other])
    assert known.uncertainty(apart, 1) == pytest.approx(sqrt(2) * hypot(4, 1) * UM, rel=1e-4)


def test_a_gauge_without_scatter_still_compares() -> None:
    """Readings that have nothing but their calibration error give differences as sharp as the least
    uncertainty that is allowed, and sizes no sharper than the calibration.
    """
    line = machine([0.01, 0.01])
    common = shared("calibration", 2 * UM, [1, 1])
    known = learn(line, [seen(np.eye(2), [5 * UM, 2 * UM], [0, 0], common)])
    assert known.expected(np.array([1.0, -1.0]), 1) == pytest.approx(3 * UM, abs=1e-7)
    assert 0 < known.uncertainty(np.array([1.0, -1.0]), 1) < 3e-7
    # a common error of ±2 µm on two dims whose mean is open by ±10/sqrt(2) µm
    middle = 1 / sqrt(1 / 2**2 + 2 / 10**2) * UM
    assert known.uncertainty(np.array([0.5, 0.5]), 1) == pytest.approx(middle, rel=1e-4)


@pytest.mark.parametrize("limits", [0.01 * UM, 10 * UM, 500 * UM, 30.0])
def test_readings_without_scatter_do_not_upset_the_arithmetic(limits: float) -> None:
    """A hundred readings of a sum of three that have nothing but one calibration error share it out as one
    reading with that error does, to 0.1 %, however wide it was open.
    """
    line = machine([limits, limits / 7, limits / 3])
    common = shared("calibration", 1 * UM, [1] * 100)
    known = learn(line, [seen([[1.0, 1.0, 0.5]] * 100, [limits] * 100, [0] * 100, common)])
    once = learn(line, [seen([[1.0, 1.0, 0.5]], [limits], [1 * UM])])
    assert known.mean == pytest.approx(once.mean, rel=1e-3)
    assert known.std == pytest.approx(once.std, rel=1e-3)


def test_a_weighted_mean_may_lie_outside_of_the_data() -> None:
    """Two readings of one size, 10.0 and 11.0, of which the second carries three times the common error of the
    first, have their best estimate below both: it equals generalised least squares with the full covariance.

    Source: L. Lyons, D. Gibaut, P. Clifford, Nucl. Instr. Meth. A 270 (1988) 110 (from memory: the weight of the
    worse reading turns negative once the correlation exceeds u1/u2); best linear unbiased estimate, Aitken 1935.
    """
    own, common, column = 0.1, 0.5, np.array([1.0, 3.0])
    values = np.array([10.0, 11.0])
    cov = np.diag([own**2] * 2) + np.outer(common * column, common * column)
    assert cov[0, 1] / sqrt(cov[0, 0] * cov[1, 1]) > sqrt(cov[0, 0] / cov[1, 1])
    weights = np.linalg.solve(cov, np.ones(2))
    gls, gls_std = weights @ values / weights.sum(), 1 / sqrt(weights.sum())
    one = seen([[1.0], [1.0]], values, [own, own], shared("common", common, column))
    mean, std = told(learn(machine([1e4]), [one]))
    assert mean == pytest.approx(gls, rel=1e-7)
    assert std == pytest.approx(gls_std, rel=1e-7)
    assert mean < 10.0
    # by hand: (2.26 - 0.75, 0.26 - 0.75) = (1.51, -0.49), so 10 - 0.49 / 1.02 = 9.519608
    assert mean == pytest.approx(9.519608, abs=5e-7)


def test_an_error_in_common_is_one_error_wherever_it_is_stated() -> None:
    """The same name in two observations, its size stated in one as ±2 and in the other as ±1 with twice the
    column, is the same error; that one of them states it as nothing leaves it to the other, in any order.
    """
    line = machine([1.0, 1.0])
    first = seen([[1.0, 0.0]], [0.4], [0.1], shared("gauge", 2.0, [1]))
    second = seen([[0.0, 1.0]], [0.9], [0.1], shared("gauge", 2.0, [1]))
    halved = replace(second, common=(shared("gauge", 1.0, [2]),))
    want = learn(line, [first, second])
    assert covariance(learn(line, [first, halved])) == pytest.approx(covariance(want), rel=1e-12)
    assert covariance(learn(line, [halved, first])) == pytest.approx(covariance(want), rel=1e-12)
    none = replace(second, common=(shared("gauge", 0.0, [1]),))
    for order in ([none, first], [first, none]):
        known = learn(line, order)
        assert known.std == pytest.approx(brute_force(line, [first, none])[1].diagonal() ** 0.5, rel=1e-10)
    assert learn(line, [none]).with_one_more(first).std == pytest.approx(known.std, rel=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_both_ways_of_keeping_what_was_read_agree(seed: int) -> None:
    """The products that draws are weighed with and the triangle that estimates come from are of the same readings,
    learned together or one by one.
    """
    problem = random_problem(seed)
    one_by_one = learn(problem.line, [])
    for one in problem.observations:
        one_by_one = one_by_one.with_one_more(one)
    for known in (learn(problem.line, problem.observations), one_by_one):
        count = len(known.open_)
        assert known.upper.T @ known.upper == pytest.approx(np.eye(count) + known.gram, rel=1e-9, abs=1e-9)
        assert known.upper.T @ known.turned == pytest.approx(known.right, rel=1e-9, abs=1e-9)


# ----------------------------------------------------------------------------------------------------- one by one
@pytest.mark.parametrize("seed", range(6))
def test_with_one_more_and_without(seed: int) -> None:
    """Added one by one, in either direction, the readings leave what they leave together; one taken away again
    leaves what it was without it.
    """
    problem = random_problem(seed + 100)
    together = learn(problem.line, problem.observations)
    for order in (problem.observations, problem.observations[::-1]):
        known = learn(problem.line, [])
        for one in order:
            known = known.with_one_more(one)
        assert known.mean == pytest.approx(together.mean, abs=1e-10 * np.abs(together.mean).max())
        assert covariance(known) == pytest.approx(covariance(together), abs=1e-10)
    *rest, last = problem.observations
    assert together.without(last).mean == pytest.approx(learn(problem.line, rest).mean, rel=1e-12)
    assert len(together.without(last).observations) == len(rest)


@pytest.mark.parametrize("seed", range(4))
def test_many_single_values_are_what_they_are_one_by_one(seed: int) -> None:
    """Hundreds of single values of two states, some without scatter, some with errors in common, with a sweep and
    a single value of open zero among them: weighed together they teach what they teach one by one.
    """
    draw = generator(seed)
    prior = beliefs([1.0, 2.0, 0.0, 0.5, 1.5], draw.normal(size=5))
    line = timeline(prior, [(1, []), (2, [Move(1, 0.3, 0.4), Move(3, 0.1, 0.2, onward=True)])])
    sizes = {"gauge": 0.3, "block": 0.2, "never": 0.0}
    readings = [
        seen(
            draw.normal(size=(1, 5)),
            draw.normal(size=1),
            [0.0 if number % 7 == 0 else draw.uniform(0.2, 1.0)],
            shared("gauge", 0.3, [1.0 + number % 3]),
            *(shared(name, sizes[name], draw.normal(size=1)) for name in sizes if draw.random() < 0.4),
            state=1 + number % 2,
        )
        for number in range(3 * MANY)
    ]
    readings.insert(5, seen(draw.normal(size=(6, 5)), draw.normal(size=6), [0.3] * 6, free=np.ones((6, 1))))
    readings.insert(9, seen(draw.normal(size=(1, 5)), [7.0], [0.3], free=np.ones((1, 1)), state=2))
    together, one_by_one = learn(line, readings), learn(line, [])
    for one in readings:
        one_by_one = one_by_one.with_one_more(one)
    for state in (1, 2):
        for mine, other in zip(together.deviations(state), one_by_one.deviations(state)):
            assert mine == pytest.approx(other, rel=1e-9, abs=1e-9)
    assert together.observations == tuple(readings)


@pytest.mark.parametrize("seed", range(6))
def test_what_is_known_goes_on_to_further_states(seed: int) -> None:
    """Carried over to the line of a machine that was changed again, the readings tell of every state what they
    tell when learned anew there.
    """
    problem = random_problem(seed)
    later = changed(
        problem.line, [Move(0, 0.4, 0.2), Move(1, 0.1, 0.0, onward=True), Move(2, 0, 1, less=((3, 1.0),))]
    )
    carried, anew = (
        learn(problem.line, problem.observations).in_line(later),
        learn(later, problem.observations),
    )
    for state in later.states:
        for mine, other in zip(carried.deviations(state), anew.deviations(state)):
            assert mine == pytest.approx(other, rel=1e-9, abs=1e-9)
    one = replace(problem.observations[0], state=later.newest)
    mine, other = (covariance(known.with_one_more(one)) for known in (carried, anew))
    assert mine == pytest.approx(other, abs=1e-10 * other.max())


def test_what_a_target_shows_is_kept_for_its_own_knowledge() -> None:
    """Asked twice, a target shows the same; with one more reading, or in another state, it is worked out anew."""
    line = timeline(beliefs([1.0, 2.0]), [(1, []), (2, [Move(0, 0.5, 0.1)])])
    target, known = asked(np.arange(12.0).reshape(3, 2, 2)), learn(line, [GOOD])
    more = known.with_one_more(replace(GOOD, state=2))
    for one in (known, more, known.without(GOOD)):
        for state in (1, 2, 1):
            mean, root = one.of_target(target, state)
            assert mean == pytest.approx(one.expected(target.matrix, state).ravel())
            assert (root**2).sum(axis=1) == pytest.approx(one.uncertainty(target.matrix, state).ravel() ** 2)


def test_ten_thousand_readings_of_one_dim() -> None:
    """0 ± 10 read 10,000 times as 12 ± 3 is 0 ± 10 read once as 12 ± 0.03."""
    readings = [seen(ONE, [12.0], [3.0])] * 10_000
    mean, std = told(learn(machine([10.0]), readings))
    assert mean == pytest.approx(12 * 100 / (100 + 0.03**2), rel=1e-9)
    assert std == pytest.approx(sqrt(1 / (1 / 100 + 1 / 0.03**2)), rel=1e-9)


# ------------------------------------------------------------------------------------------------------ coverage
class Simulated:
    """Machines whose truth is known, each proved with every declared test and a dozen dims.

    The covariance after the readings does not depend on what was read, so all machines are one product.
    """

    def __init__(self, prior: Prior, seed: int) -> None:
        draw = generator(seed)
        self.loop, line = clock_plate(), as_designed(prior)
        self.known = learn(line, proving_readings())
        count = len(prior.mean)
        unit = draw.normal(size=(count, TRUTHS))
        sampler = Sampler(prior)
        level = np.empty((len(sampler.places), TRUTHS))
        sampler.fill(draw, level)
        unit[sampler.places] = level
        self.truth = prior.mean[:, None] + prior.std[:, None] * unit
        errors = draw.normal(size=(len(self.known.common), TRUTHS))
        self.estimate = self._estimate(draw, errors)

    def _estimate(self, draw: np.random.Generator, errors: np.ndarray) -> np.ndarray:
        """Expected deviations of every machine after its readings, (sources, truths)."""
        known = self.known
        right = np.zeros((len(known.open_), TRUTHS))
        for one in known.observations:
            values = one.rows @ self.truth + one.stds[:, None] * draw.normal(size=(len(one.stds), TRUTHS))
            for error in one.common:
                values += np.outer(error.column * error.std, errors[known.common.index(error.name)])
            if one.free.size:
                values += one.free @ draw.normal(size=(one.free.shape[1], TRUTHS))
            weighed = known.weighed(one)
            found = (values - (one.rows @ known.line.mean)[:, None]) / one.stds[:, None]
            right += weighed.rows.T @ (found - weighed.spread @ (weighed.spread.T @ found))
        moved = known.factor @ (known.factor.T @ right)
        out = np.repeat(known.line.mean[:, None], TRUTHS, axis=1)
        pieces = known.open_[known.open_ < len(out)]
        out[pieces] += known.line.std[pieces, None] * moved[: len(pieces)]
        return out

    def inside(self, rows: np.ndarray) -> np.ndarray:
        """Whether expected ± 1.96 u of what the rows show holds the truth, (rows, truths)."""
        off = rows @ (self.estimate - self.truth)
        return np.asarray(np.abs(off) <= 1.959964 * self.known.uncertainty(rows, 1)[:, None])

    def targets(self) -> dict[str, np.ndarray]:
        """Rows of every target at its corners, edges and middle, each component."""
        out = {}
        for name, target in self.loop.build.targets.items():
            poses = {
                letter: np.array(at) for letter, at in zip("XYZ", np.mgrid[0:3, 0:3, 0:3].reshape(3, -1))
            }
            at = {letter: poses[letter] * target.over[letter].end / 2 for letter in target.over}
            rows = self.loop.rows(target, at).matrix.reshape(-1, len(self.loop.sources))
            # at the pose where it is zeroed there is nothing to cover
            out[name] = rows[self.known.uncertainty(rows, 1) > 1e-12]
        return out

    def dims(self) -> np.ndarray:
        """Rows of every dim that is open."""
        rows = np.zeros((len(self.loop.dims), len(self.loop.sources)))
        for row, places in zip(rows, self.loop.dims.values()):
            row[list(places)] = list(places.values())
        return rows


FOUR_SIGMA = 4 * sqrt(0.95 * 0.05 / TRUTHS)
"""How far the share of 2,000 truths may be from 0.95 by chance: the binomial's standard deviation is 0.5 %."""


def test_intervals_cover_what_they_say_where_all_is_normal() -> None:
    """Where every deviation is normal, 95 % intervals hold the truth in 95 % of 2,000 machines: pooled over each
    kind of quantity 94 to 96 %, and every single deviation, dim and tool error within four binomial standard
    deviations (1.9 %), which one in some 16,000 misses by chance.
    """
    made = Simulated(all_normal(clock_prior()), 20)
    open_ = np.flatnonzero(made.known.line.std > 0)
    kinds = {"deviations": np.eye(len(made.loop.sources))[open_], "dims": made.dims(), **made.targets()}
    for name, rows in kinds.items():
        inside = made.inside(rows)
        assert 0.94 <= inside.mean() <= 0.96, name
        assert np.abs(inside.mean(axis=1) - 0.95).max() <= FOUR_SIGMA, name


def test_intervals_cover_tool_errors_whatever_the_stated_shapes() -> None:
    """Where deviations have the shapes that the drawings state, the intervals of tool errors still cover: many
    deviations add up, so they are nearly normal. Pooled over each target 94 to 96 %, each pose 93 to 97 %; and
    single deviations that stay rectangular are covered more often than they say, never less than 93 %.
    """
    made = Simulated(clock_prior(), 2)
    for name, rows in made.targets().items():
        inside = made.inside(rows).mean(axis=1)
        assert inside.min() >= 0.93, name
        assert inside.max() <= 0.97, name
        assert 0.94 <= inside.mean() <= 0.96, name
    open_ = np.flatnonzero(made.known.line.std > 0)
    single = made.inside(np.eye(len(made.loop.sources))[open_]).mean(axis=1)
    assert single.min() > 0.93


def test_readings_make_the_machine_better_known() -> None:
    """The coverage is not bought with wide intervals: the proving readings leave less than half of what was
    unknown of the spindle's squareness, and nothing is worse known than before.
    """
    loop, line = clock_plate(), as_designed(clock_prior())
    before, after = learn(line, []), learn(line, proving_readings())
    for name, target in loop.build.targets.items():
        rows = loop.rows(target).matrix.reshape(-1, len(loop.sources))
        was, now = before.uncertainty(rows, 1), after.uncertainty(rows, 1)
        assert (now <= was * (1 + 1e-9)).all()
        if "square" in name:
            assert now.max() < 0.5 * was.max()


# ------------------------------------------------------------------------------------------------------ bad input
GOOD = seen([[1.0, 0.0], [0.0, 1.0]], [0.1, 0.2], [0.1, 0.1], name="pads over the plate")
WRONG = {
    "no uncertainty": replace(GOOD, stds=np.array([0.1, 0.0])),
    "uncertainty below zero": replace(GOOD, stds=np.array([0.1, -0.1])),
    "uncertainty below zero, with an error in common": replace(
        GOOD, stds=np.array([0.1, -0.1]), common=(shared("gauge", 1, [1, 1]),)
    ),
    "errors in common that are nothing": replace(
        GOOD, stds=np.zeros(2), common=(shared("gauge", 0, [1, 1]),)
    ),
    "an error in common of one value only": replace(
        GOOD, stds=np.zeros(2), common=(shared("gauge", 1, [1, 0]),)
    ),
    "too few uncertainties": replace(GOOD, stds=np.array([0.1])),
    "too few values": replace(GOOD, values=np.array([0.1])),
    "too few rows": replace(GOOD, rows=np.eye(2)[:1]),
    "rows of another machine": replace(GOOD, rows=np.ones((2, 3))),
    "no values": seen(np.zeros((0, 2)), [], [], name="pads over the plate"),
    "too short an error in common": replace(GOOD, common=(shared("gauge", 1, [1]),)),
    "too short a zero": replace(GOOD, free=np.ones((1, 1))),
    "no number": replace(GOOD, values=np.array([0.1, np.nan])),
    "no end": replace(GOOD, values=np.array([0.1, np.inf])),
    "no number in a row": replace(GOOD, rows=np.array([[1.0, np.nan], [0, 1]])),
    "no number as uncertainty": replace(GOOD, stds=np.array([0.1, np.nan])),
    "no number in an error in common": replace(GOOD, common=(shared("gauge", 1, [np.nan, 1]),)),
    "no number as size of an error in common": replace(GOOD, common=(shared("gauge", np.nan, [1, 1]),)),
    "an error in common below zero": replace(GOOD, common=(shared("gauge", -1.0, [1, 1]),)),
    "no number in a zero": replace(GOOD, free=np.array([[1.0], [np.nan]])),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_what_cannot_be_learned_from_is_refused(wrong: str) -> None:
    """A reading that cannot be used is refused by its name, with what would do, alone or among others."""
    observation: Observation = WRONG[wrong]
    for readings in ([observation], [GOOD, observation]):
        with pytest.raises(RequestError) as refused:
            learn(machine([1.0, 1.0]), readings)
        assert "'pads over the plate'" in refused.value.what
        assert refused.value.remedy


SINGLE = seen([[1.0, 0.0]], [0.1], [0.1], shared("gauge", 1, [1]), name="height of the post")
WRONG_SINGLE = {
    "no uncertainty": replace(SINGLE, stds=np.zeros(1), common=()),
    "uncertainty below zero": replace(SINGLE, stds=np.array([-0.1])),
    "two uncertainties": replace(SINGLE, stds=np.array([0.1, 0.1])),
    "no number": replace(SINGLE, values=np.array([np.nan])),
    "no number as uncertainty": replace(SINGLE, stds=np.array([np.nan])),
    "rows of another machine": replace(SINGLE, rows=np.ones((1, 3))),
    "two rows": replace(SINGLE, rows=np.eye(2)),
    "no number in an error in common": replace(SINGLE, common=(shared("gauge", 1, [np.nan]),)),
    "no number as size of an error in common": replace(SINGLE, common=(shared("gauge", np.nan, [1]),)),
    "an error in common below zero": replace(SINGLE, common=(shared("gauge", -1, [1]),)),
    "too long an error in common": replace(SINGLE, common=(shared("gauge", 1, [1, 1]),)),
    "too short an error in common": replace(SINGLE, common=(shared("gauge", 1, []),)),
}


@pytest.mark.parametrize("wrong", WRONG_SINGLE)
def test_one_bad_value_among_many_is_found(wrong: str) -> None:
    """A single value that cannot be used is refused by its name among hundreds of good ones, as it is alone."""
    good = [replace(SINGLE, name="another")] * (2 * MANY)
    for readings in ([WRONG_SINGLE[wrong]], [*good[:MANY], WRONG_SINGLE[wrong], *good[MANY:]]):
        with pytest.raises(RequestError) as refused:
            learn(machine([1.0, 1.0]), readings)
        assert "'height of the post'" in refused.value.what
        assert refused.value.remedy


def test_a_reading_of_a_state_that_is_not_there_is_refused() -> None:
    """A reading of an unknown state is refused, and the states there are are named."""
    with pytest.raises(RequestError) as refused:
        learn(machine([1.0, 1.0]), [replace(GOOD, state=7)])
    assert "state 7" in refused.value.what
    assert "1" in refused.value.remedy


def test_knowledge_of_another_machine_is_not_built_upon() -> None:
    """What was learned of one timeline cannot be carried over to another, whose pieces are other ones."""
    with pytest.raises(RequestError) as refused:
        learn(machine([1.0, 1.0, 1.0]), [], learn(machine([1.0, 1.0]), [GOOD]))
    assert refused.value.remedy


def test_rows_by_hand_agree_with_what_is_known() -> None:
    """Expected value and uncertainty keep the shape of the rows that are asked for."""
    known = learn(as_designed(beliefs([1.0, 2.0])), [GOOD])
    rows = asked(np.arange(12.0).reshape(3, 2, 2))
    assert known.expected(rows.matrix, 1).shape == (3, 2)
    assert known.uncertainty(rows.matrix, 1).shape == (3, 2)
    assert known.root(rows.matrix, 1).shape == (3, 2, 2)
    mean, std = known.deviations(1)
    assert known.expected(rows.matrix, 1) == pytest.approx(rows.matrix @ mean)
    assert std == pytest.approx(known.std)
