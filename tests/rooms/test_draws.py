"""Chances with the stated shapes: against integrals, rejection sampling, and the Monte Carlo without readings."""

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from as_built_machines import (
    UM,
    Array,
    all_normal,
    asked,
    beliefs,
    change,
    clock_observer,
    clock_plate,
    clock_prior,
    generator,
    machine,
    proving_readings,
    reading,
    seen,
    states,
)
from loopwright.asbuilt import draws
from loopwright.asbuilt.draws import AsBuiltDraws, draw, shaped
from loopwright.asbuilt.knowledge import Observation, learn
from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.observing import line_of
from loopwright.asbuilt.prior import Sampler
from loopwright.asbuilt.timeline import Timeline, as_designed
from loopwright.asbuilt.within_limits import moved_within
from loopwright.errors import Cancelled
from loopwright.loop import Rows
from loopwright.model.spread import Shape

R, T, Z, A, N = (
    Shape.RECTANGULAR,
    Shape.TRIANGULAR,
    Shape.TRAPEZOIDAL,
    Shape.ARCSINE,
    Shape.NORMAL,
)
NORMAL = stats.norm()
DISTRIBUTIONS = {
    R: stats.uniform(-sqrt(3), 2 * sqrt(3)),
    T: stats.triang(0.5, -sqrt(6), 2 * sqrt(6)),
    # flat top of half the base: half-width sqrt(6 / 1.25)
    Z: stats.trapezoid(0.25, 0.75, -sqrt(4.8), 2 * sqrt(4.8)),
    A: stats.arcsine(-sqrt(2), 2 * sqrt(2)),
    N: NORMAL,
}
"""Each shape with a standard deviation of 1, by the library."""


def form(shape: Shape) -> tuple[Array, Array, Array]:
    """What shaped() is told of one shape."""
    flat = {T: 0.0, Z: 0.5}.get(shape, 1.0)
    return np.array([flat]), np.array([shape is A]), np.array([shape is N])


# ------------------------------------------------------------------------------------------------------- the shapes
@pytest.mark.parametrize("shape", DISTRIBUTIONS)
def test_a_normal_variable_is_given_the_stated_shape(shape: Shape) -> None:
    """The distribution function of what is drawn is the library's, to 1e-8, from one end to the other."""
    z = np.linspace(-7, 7, 2001)[:, None]
    value, _ = shaped(z, *form(shape))
    assert DISTRIBUTIONS[shape].cdf(value[:, 0]) == pytest.approx(NORMAL.cdf(z[:, 0]), abs=1e-8)
    if shape is not N:
        ends = DISTRIBUTIONS[shape].support()
        assert ends[0] <= value.min() < 0.99 * ends[0]
        assert 0.99 * ends[1] < value.max() <= ends[1]


@pytest.mark.parametrize("top", [0.0, 0.2, 0.8, 0.999, 1.0])
def test_trapezoids_of_every_top(top: float) -> None:
    """From triangle to rectangle, a trapezoid has the library's distribution and a standard deviation of 1."""
    half = sqrt(6 / (1 + top**2))
    wanted = stats.trapezoid((1 - top) / 2, (1 + top) / 2, -half, 2 * half)
    z = np.linspace(-6, 6, 601)[:, None]
    value, _ = shaped(z, np.array([top]), np.array([False]), np.array([False]))
    assert wanted.cdf(value[:, 0]) == pytest.approx(NORMAL.cdf(z[:, 0]), abs=1e-10)
    assert wanted.std() == pytest.approx(1, rel=1e-9)


@pytest.mark.parametrize("shape", DISTRIBUTIONS)
def test_the_slope_is_that_of_the_curve(shape: Shape) -> None:
    """The slope is what central differences find, and the ratio of the two densities."""
    z = np.linspace(-3.5, 3.5, 71)[:, None] + 0.003
    step = 1e-5
    value, slope = shaped(z, *form(shape))
    above, below = shaped(z + step, *form(shape))[0], shaped(z - step, *form(shape))[0]
    assert slope == pytest.approx((above - below) / (2 * step), rel=1e-5, abs=1e-7)
    densities = NORMAL.pdf(z) / DISTRIBUTIONS[shape].pdf(value)
    assert slope == pytest.approx(densities, rel=1e-5)


def test_far_out_the_shapes_stay_within_their_limits() -> None:
    """Forty standard deviations out nothing overflows, and no limit is passed."""
    z = np.array([[-40.0], [-9.0], [0.0], [9.0], [40.0]])
    for shape in (R, T, Z, A):
        value, slope = shaped(z, *form(shape))
        assert np.isfinite(value).all()
        assert np.isfinite(slope).all()
        assert value[2, 0] == 0
        assert np.abs(value).max() <= DISTRIBUTIONS[shape].support()[1] * (1 + 1e-12)


# ------------------------------------------------------------------------------------------------ nothing read as yet
def test_without_readings_it_is_the_monte_carlo() -> None:
    """On the clock-plate machine without readings the stated shapes give the chances and quantiles of the Monte
    Carlo, target by target, within four standard uncertainties of both samplings; every draw counts alike.
    """
    loop = clock_plate()
    rows = [loop.rows(target) for target in loop.build.targets.values()]
    limits = [target.limit for target in loop.build.targets.values()]
    found = draw(learn(as_designed(clock_prior()), []), rows, limits, trials=8192)
    worsts, met = monte_carlo(rows, clock_prior(), limits, trials=40_960)
    assert found.worth == pytest.approx(8192)
    assert found.settled
    assert found.discredited == ()
    for mine, other in zip(found.shaped, worsts):
        room = 4 * np.hypot(mine.chance_std, other.chance_std)
        assert mine.chance == pytest.approx(other.chance, abs=room)
        room = 4 * np.hypot(mine.quantile_std, other.quantile_std)
        assert mine.quantile == pytest.approx(other.quantile(0.95), abs=room)
    assert found.chance_of_all[0] == pytest.approx(
        met, abs=4 * sqrt(met * (1 - met) * (1 / 8192 + 1 / 40_960))
    )


# --------------------------------------------------------------------------------------------------- all of it normal
def test_where_all_is_normal_both_reckonings_agree() -> None:
    """With normal deviations only, the stated shapes are the normal ones: chances agree within sampling with the
    readings of a proved clock-plate machine, and every draw counts alike.
    """
    loop, line = clock_plate(), as_designed(all_normal(clock_prior()))
    noise = generator(5)
    read = [replace(o, values=o.stds * noise.normal(size=len(o.stds))) for o in proving_readings()]
    rows = [loop.rows(target) for target in loop.build.targets.values()]
    limits = [0.7 * target.limit for target in loop.build.targets.values()]
    found = draw(learn(line, read), rows, limits)
    assert found.worth == pytest.approx(found.trials, rel=1e-3)
    for mine, other in zip(found.shaped, found.normal):
        assert mine.chance == pytest.approx(other.chance, abs=4 * np.hypot(mine.chance_std, other.chance_std))
        assert mine.quantile == pytest.approx(
            other.quantile, abs=4 * np.hypot(mine.quantile_std, other.quantile_std)
        )
        assert mine.expected == pytest.approx(other.expected, rel=0.05)


def test_normal_draws_are_the_least_squares_estimate() -> None:
    """The normal draws of one component have the expected value and uncertainty of the update: chance, 95 %
    quantile and root mean square are those of the normal distribution.
    """
    known = learn(machine([1.0, 2.0], [20.0, 0.0], R, T), [seen([[1.0, 0.5]], [19.0], [0.5])])
    row = np.array([1.0, -1.0])
    mean, std = float(known.expected(row, 1)), float(known.uncertainty(row, 1))
    found = draw(known, [asked([[row]])], [mean + 0.5 * std], trials=16_384).normal[0]
    assert found.chance == pytest.approx(NORMAL.cdf(0.5), abs=4 * found.chance_std)
    assert found.quantile == pytest.approx(mean + 1.644854 * std, abs=4 * found.quantile_std)
    assert found.expected == pytest.approx(np.hypot(mean, std), rel=4 * std / mean / 128)


# ------------------------------------------------------------------------------------------------ one and two unknowns
AWAY = 50.0
"""Mean of what is asked in the checks by integration, far from zero, so that its size is its value."""


@pytest.mark.parametrize("shape", [R, T, Z, A])
@pytest.mark.parametrize(("value", "std"), [(0.3, 0.5), (1.1, 0.25), (1.5, 0.4), (-0.7, 2.0)])
def test_one_reading_of_one_deviation(shape: Shape, value: float, std: float) -> None:
    """Shape times likelihood, integrated by the library, gives the quantiles, chances and root mean square that
    are drawn: 0 of standard deviation 1 and a stated shape, one reading.
    """
    line = machine([1.0], [AWAY], shape)
    known = learn(line, [seen([[1.0]], [AWAY + value], [std])])
    prior = DISTRIBUTIONS[shape]
    low, high = prior.support()

    def belief(x: float) -> float:
        return float(prior.pdf(x) * np.exp(-(((x - value) / std) ** 2) / 2))

    def part(upto: float, power: int = 0) -> float:
        middle = np.linspace(low, upto, 9)[1:-1]
        return quad(lambda x: belief(x) * (AWAY + x) ** power, low, upto, points=middle, limit=300)[0]

    total = part(high)
    for limit in np.linspace(low, high, 7)[1:-1]:
        found = draw(known, [asked([[[1.0]]])], [AWAY + limit], trials=16_384)
        (mine,) = found.shaped
        assert mine.chance == pytest.approx(part(limit) / total, abs=4 * mine.chance_std + 0.002)
        assert found.discredited == ()
        mean_square = part(high, 2) / total
        assert mine.expected**2 - AWAY**2 == pytest.approx(mean_square - AWAY**2, abs=4 * AWAY * 2 / 60)
    for confidence in (0.1, 0.5, 0.9):
        (mine,) = draw(known, [asked([[[1.0]]])], [AWAY], confidence=confidence, trials=16_384).shaped
        share = part(mine.quantile - AWAY) / total
        assert share == pytest.approx(confidence, abs=0.025)


def test_one_reading_of_the_sum_of_two() -> None:
    """A rectangle and a triangle whose sum is read: the chance that their difference stays below a limit is that
    of the integral over both.
    """
    line = machine([1.0, 0.8], [AWAY, 0.0], R, T)
    known = learn(line, [seen([[1.0, 1.0]], [AWAY + 1.2], [0.3])])
    x, y = np.meshgrid(np.linspace(-sqrt(3), sqrt(3), 1501), np.linspace(-sqrt(6), sqrt(6), 1501))
    weight = DISTRIBUTIONS[T].pdf(y) * np.exp(-(((x + 0.8 * y - 1.2) / 0.3) ** 2) / 2)
    for limit in (-1.0, 0.0, 0.7, 1.5):
        want = weight[x - 0.8 * y <= limit].sum() / weight.sum()
        (mine,) = draw(known, [asked([[[1.0, -1.0]]])], [AWAY + limit], trials=16_384).shaped
        assert mine.chance == pytest.approx(want, abs=4 * mine.chance_std + 0.002)


# -------------------------------------------------------------------------------------------------- by brute rejection
def rejected(line: Timeline, observations: list[Observation], tries: int, seed: int) -> Array:
    """Machines drawn from their stated shapes and kept as often as the readings allow, (sources, kept)."""
    noise, sampler = generator(seed), Sampler(line.prior)
    kept = []
    for _ in range(10):
        unit = noise.normal(size=(len(line.mean), tries // 10))
        level = np.empty((len(sampler.places), tries // 10))
        sampler.fill(noise, level)
        unit[sampler.places] = level
        x = line.mean[:, None] + line.std[:, None] * unit
        logarithm = np.zeros(tries // 10)
        for one in observations:
            logarithm -= (((one.values[:, None] - one.rows @ x) / one.stds[:, None]) ** 2).sum(axis=0) / 2
        kept.append(x[:, np.log(noise.random(tries // 10)) < logarithm])
    return np.concatenate(kept, axis=1)


HARD = {
    "in a corner of eight rectangles": ((R,) * 8, 1.2, 0.4),
    "rectangles and triangles": ((R, T) * 4, 1.0, 0.3),
    "rectangles and normal ones": ((R, N) * 4, 0.8, 0.3),
    "every shape": ((R, T, Z, A, N, R), 0.6, 0.4),
}


@pytest.mark.parametrize("case", HARD)
@pytest.mark.parametrize("trials", [8192, 300])
def test_hard_cases_are_those_of_rejection_sampling(case: str, trials: int) -> None:
    """Three sharp readings of sums near the limits: chances are those of machines drawn from the shapes and kept
    as often as the readings allow, whether weighted draws settle or, with as few as 300, have to be moved.
    """
    shapes, far, std = HARD[case]
    noise = generator(11)
    count = len(shapes)
    line = machine(np.ones(count), [], *shapes)
    rows = noise.normal(size=(3, count))
    one = seen(rows, rows @ np.full(count, far), [std] * 3)
    ask = noise.normal(size=(4, 1, count))
    kept = rejected(line, [one], 3_000_000, 12)
    sizes = np.abs(ask[:, 0] @ kept).max(axis=0)
    limits = np.quantile(sizes, [0.2, 0.5, 0.9])
    found = draw(learn(line, [one]), [asked(ask)] * 3, limits.tolist(), trials=trials)
    assert sizes.size > 1000
    assert found.settled
    for share, mine in zip((0.2, 0.5, 0.9), found.shaped):
        room = 4 * np.hypot(mine.chance_std, sqrt(share * (1 - share) / sizes.size))
        assert mine.chance == pytest.approx(share, abs=room), share


def proved(seed: int) -> AsBuiltDraws:
    """The clock-plate machine with its dozen dims read, drawn with a seed."""
    noise = generator(4)
    line = as_designed(clock_prior())
    sampler = Sampler(line.prior)
    level = np.empty((len(sampler.places), 1))
    sampler.fill(noise, level)
    unit = noise.normal(size=len(line.mean))
    unit[sampler.places] = level[:, 0]
    truth = line.mean + line.std * unit
    read = [
        replace(o, values=o.rows @ truth + o.stds * noise.normal(size=len(o.stds)))
        for o in proving_readings()[-12:]
    ]
    loop = clock_plate()
    target = loop.build.targets["hole position"]
    ends = np.array([[0, 0, 0], [320, 0, 0], [0, 220, 0], [320, 220, 0], [0, 0, 120], [320, 220, 120.0]]).T
    rows = loop.rows(target, dict(zip("XYZ", ends)))
    return draw(learn(line, read), [rows], [target.limit], seed=seed, trials=2048)


def test_the_chance_scatters_as_much_as_it_says() -> None:
    """Drawn eight times over, the chance of the clock-plate machine with a dozen dims read scatters from seed to
    seed by what it says of its own sampling, and not three times that.
    """
    found = [proved(seed).shaped[0] for seed in range(8)]
    scatter = np.std([one.chance for one in found], ddof=1)
    # eight of them: chi-square with 7 degrees of freedom, its 99.9 % point is 24.3, so below 1.87 times
    assert scatter < 1.87 * np.mean([one.chance_std for one in found])


def test_where_every_weighted_draw_is_impossible_they_are_moved() -> None:
    """Forty rectangles read sharply close to their limits: not one of 300 draws about the estimate keeps within
    all of them, so the weighted ones are worth nothing, say so, and are moved instead; in which each deviation
    keeps within its limits and agrees with its reading.
    """
    line = machine(np.ones(40), np.full(40, AWAY), *[R] * 40)
    one = seen(np.eye(40), np.full(40, AWAY + 1.7), np.full(40, 0.1))
    known, only = learn(line, [one]), asked(np.eye(40)[:, None])
    limit = AWAY + sqrt(3)
    weighted = draw(known, [only], [limit], trials=300, thorough=False)
    assert not weighted.settled
    assert weighted.worth < 1
    assert np.isfinite(
        [weighted.shaped[0].chance, weighted.shaped[0].quantile, weighted.shaped[0].expected]
    ).all()
    moved = draw(known, [only], [limit], trials=300)
    assert moved.settled
    assert moved.shaped[0].chance == pytest.approx(1.0, abs=1e-9)
    # each is normal about 1.7 with 0.1, cut off at 1.732, all alike: the largest of forty by its distribution
    single = stats.truncnorm((-sqrt(3) - 1.7) / 0.1, (sqrt(3) - 1.7) / 0.1, 1.7, 0.1)
    assert moved.shaped[0].quantile == pytest.approx(AWAY + single.ppf(0.95 ** (1 / 40)), abs=2e-3)
    lower = draw(known, [only], [AWAY + single.ppf(0.5 ** (1 / 40))], trials=300).shaped[0]
    assert lower.chance == pytest.approx(0.5, abs=4 * lower.chance_std)


def test_what_goes_together_with_no_target_need_not_be_moved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty rectangles read close to their limits, and one more by its sum with the first alone; a target sees
    three: moving only these four gives the chances of moving all, and of the distributions cut off.
    """
    line = machine(np.ones(41), np.append(np.full(40, AWAY), 0.0), *[R] * 41)
    tie = np.eye(41)[[0]] + np.eye(41)[[40]]
    rows = np.vstack([np.eye(41)[:40], tie])
    values = np.append(np.full(40, AWAY + 1.7), AWAY + 1.7 + 1.65)
    known = learn(line, [seen(rows, values, np.append(np.full(40, 0.1), 0.05))])
    sees = np.eye(41)[[1, 2, 0]][:, None]
    single = stats.truncnorm((-sqrt(3) - 1.7) / 0.1, (sqrt(3) - 1.7) / 0.1, 1.7, 0.1)
    two, three = asked(sees[:2]), asked(sees)
    limit = AWAY + single.ppf(0.5**0.5)
    moved, chances = [], {}

    def counted(start: Array, *others: object) -> Array:
        moved.append(len(start))
        return moved_within(start, *others)  # type: ignore[arg-type]

    monkeypatch.setattr(draws, "moved_within", counted)
    for large in (10_000, 30):
        monkeypatch.setattr(draws, "LARGE", large)
        found = draw(known, [two, three], [limit, limit], trials=300)
        assert found.settled
        chances[large] = [(one.chance, one.chance_std) for one in found.shaped]
    assert moved == [41, 4]
    assert chances[30][0][0] == pytest.approx(0.5, abs=4 * chances[30][0][1])
    for (all_, apart), (few, apart_too) in zip(chances[10_000], chances[30]):
        assert few == pytest.approx(all_, abs=4 * np.hypot(apart, apart_too))


# ------------------------------------------------------------------------------------------ out of limits, and changed
def test_a_dim_read_outside_its_limits_is_believed() -> None:
    """A pad of ±5 found at 8 ± 0.2 is at 8: its limits no longer count, and it is named; one found at 5.1 is
    taken to be at its limit.
    """
    line = machine([5 / sqrt(3), 5 / sqrt(3)], [AWAY, 0.0], R, R)
    out = seen([[1.0, 0.0]], [AWAY + 8.0], [0.2])
    found = draw(learn(line, [out]), [asked([[[1.0, 0.0]]])], [AWAY + 7.0], trials=2048)
    assert found.discredited == (0,)
    assert found.shaped[0].chance < 0.01
    assert found.shaped[0].quantile == pytest.approx(AWAY + 8.0 + 1.645 * 0.2, abs=0.15)
    near = draw(
        learn(line, [replace(out, values=np.array([AWAY + 5.1]))]), [asked([[[1.0, 0.0]]])], [AWAY + 5.0]
    )
    assert near.discredited == ()
    assert near.shaped[0].chance == pytest.approx(1.0, abs=1e-9)


def test_a_shim_that_was_set_is_drawn_about_its_setting() -> None:
    """In the state after a shim was set the draws have its height and its uncertainty; before, it is not there."""
    loop, path = clock_plate(), "column on base/front left"
    line = line_of(loop, states([change("set", path, 0.06, 2 * UM)]), {})
    matrix = np.zeros((1, 1, len(loop.sources)))
    matrix[0, 0, loop.settings[path]] = 1.0
    only = asked(matrix)
    observer = clock_observer()
    known = learn(line, [observer.observation(reading("dim", "pad_FL/height", [12.004], 0.5 * UM))])
    then = draw(known, [only], [0.06], state=2, confidence=0.975, trials=8192).shaped[0]
    assert then.chance == pytest.approx(0.5, abs=4 * then.chance_std)
    assert then.quantile == pytest.approx(0.06 + 1.959964 * 2 * UM, abs=4 * then.quantile_std)
    before = draw(known, [only], [1e-9], state=1).shaped[0]
    assert (before.chance, before.quantile, before.expected) == pytest.approx((1.0, 0.0, 0.0))


def of_dim(path: str) -> Rows:
    """An indication that shows one dim of the clock-plate machine."""
    return asked(clock_observer().dim(path)[0][None, None])


def test_a_part_made_anew_keeps_within_its_drawing() -> None:
    """A head spacer of 6 ± 0.005 made anew is within its limits in every draw, uniform there: half of them within
    2.5 µm, 95 % within 4.75 µm, root mean square 5 / √3 µm; counted as normal a twelfth would be outside.
    """
    path = "head_spacer/thickness"
    known = learn(line_of(clock_plate(), states([change("renewed", "head_spacer")]), {}), [])
    for limit, share in ((5 * UM * (1 + 1e-9), 1.0), (2.5 * UM, 0.5)):
        found = draw(known, [of_dim(path)], [limit], state=2, trials=16_384)
        (mine,), (normal,) = found.shaped, found.normal
        assert mine.chance == pytest.approx(share, abs=4 * mine.chance_std if share < 1 else 1e-12)
        assert normal.chance < 0.93
        assert mine.quantile == pytest.approx(0.95 * 5 * UM, abs=4 * mine.quantile_std)
        # the variance of a square of uniform width is 4/45 of its half-width to the fourth
        assert mine.expected**2 == pytest.approx((5 * UM) ** 2 / 3, rel=4 * 3 * sqrt(4 / 45 / 16_384))
    ground = learn(line_of(clock_plate(), states([change("sized", path, 6.0, 5 / sqrt(3) * UM)]), {}), [])
    found = draw(ground, [of_dim(path)], [5 * UM], state=2, trials=8192)
    assert found.shaped[0].chance == pytest.approx(found.normal[0].chance, abs=4 * found.normal[0].chance_std)


def test_a_new_part_that_was_read_keeps_within_its_drawing() -> None:
    """A new head spacer read 4.9 ± 1 µm above nominal is where the rectangle and the reading allow, and one that
    was read far outside is named by its dim.
    """
    path = "head_spacer/thickness"
    line = line_of(clock_plate(), states([change("renewed", "head_spacer")]), {})

    def read(off: float) -> Observation:
        return clock_observer().observation(reading("dim", path, [6 + off], 1 * UM, state=2))

    cut = stats.truncnorm(-9.9, 0.1, 4.9, 1)
    known = learn(line, [read(4.9 * UM)])
    for share in (0.2, 0.7):
        (mine,) = draw(known, [of_dim(path)], [cut.ppf(share) * UM], state=2, trials=16_384).shaped
        assert mine.chance == pytest.approx(share, abs=4 * mine.chance_std)
    place = next(iter(clock_plate().dims[path]))
    assert draw(learn(line, [read(20 * UM)]), [of_dim(path)], [1.0], state=2).discredited == (place,)


def test_an_exchange_for_the_like_leaves_the_chances() -> None:
    """A saddle and a screw made anew to the same drawings, with nothing read, are drawn as the first were: each
    target's chance and quantile stay.
    """
    loop = clock_plate()
    rows = [loop.rows(target) for target in loop.build.targets.values()]
    limits = [0.6 * target.limit for target in loop.build.targets.values()]
    done = states([change("renewed", "saddle"), change("renewed", "X slide/drive")])
    known = learn(line_of(loop, done, {}), [])
    first, then = (draw(known, rows, limits, state=state, trials=8192).shaped for state in (1, 2))
    for one, other in zip(first, then):
        assert other.chance == pytest.approx(one.chance, abs=4 * np.hypot(one.chance_std, other.chance_std))
        room = 4 * np.hypot(one.quantile_std, other.quantile_std)
        assert other.quantile == pytest.approx(one.quantile, abs=room)


# ------------------------------------------------------------------------------------------------------ while it works
def easy() -> tuple[Rows, Timeline]:
    """Two rectangles at three poses."""
    return asked(generator(1).normal(size=(3, 2, 2))), as_designed(beliefs([1.0, 2.0], [], R, R))


def test_a_draw_can_be_repeated() -> None:
    """The same seed draws the same, another seed other machines."""
    rows, line = easy()
    known = learn(line, [seen([[1.0, 1.0]], [0.5], [0.4])])
    first, again, other = (draw(known, [rows], [2.0], seed=seed) for seed in (3, 3, 4))
    assert first == again
    assert first.shaped[0].expected != other.shaped[0].expected


def test_a_draw_says_how_far_it_is_and_can_be_stopped() -> None:
    """It reports rising trials up to the number wanted, and stops as soon as it is asked to."""
    rows, line = easy()
    known = learn(line, [])
    told: list[tuple[int, int | None]] = []
    draw(known, [rows], [2.0], trials=3000, progress=lambda done, wanted: told.append((done, wanted)))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1] == (3000, 3000)
    with pytest.raises(Cancelled):
        draw(known, [rows], [2.0], cancel=lambda: True)


def test_limits_are_met_together() -> None:
    """The chance to meet two limits is that of both at once, not their product."""
    rows, line = easy()
    found = draw(learn(line, []), [rows, rows], [2.0, 3.0])
    assert found.chance_of_all[0] == pytest.approx(found.shaped[0].chance, abs=1e-12)
    assert found.chance_of_all[1] == pytest.approx(found.normal[0].chance, abs=1e-12)
    assert found.shaped[0].chance < found.shaped[1].chance
