"""What must hold of every evaluation, whatever was read."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.measuring.inputs import Uncertainty
from loopwright.measuring.levels import heights_along
from loopwright.measuring.line_fit import fit_line
from loopwright.measuring.lines import Reference, straightness
from loopwright.measuring.parallelism import parallel_rails, parallel_to_datum
from loopwright.measuring.planes import flatness
from loopwright.measuring.plates import Zero, grid_lines, plate_heights, union_jack
from loopwright.measuring.reversal import level_reversal, spindle_reversal, straightedge_reversal
from loopwright.measuring.screw_grades import Verdict, judge
from loopwright.measuring.screws import evaluate_travel
from loopwright.measuring.squareness import squareness_by_reversal
from loopwright.measuring.turning import runout, tram

END, LEAST, ZONE = Reference.END_POINTS, Reference.LEAST_SQUARES, Reference.MINIMUM_ZONE
SEEDS = st.integers(0, 2**32 - 1)
TILTS = st.floats(-1e-2, 1e-2)
FEW = settings(max_examples=40)


def drawing(seed: int) -> np.random.Generator:
    """A generator of random numbers that is the same wherever it runs."""
    return np.random.Generator(np.random.PCG64(seed))


def a_line(seed: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Places, no two the same, and heights of micrometres in no order."""
    draw = drawing(seed)
    return draw.permutation(np.cumsum(draw.uniform(1, 60, count))), draw.normal(size=count) * 3e-3


@given(SEEDS, st.integers(3, 40))
def test_the_minimum_zone_is_the_least(seed: int, count: int) -> None:
    """No reference line gives less than the minimum zone, and any line's band holds all readings."""
    x, h = a_line(seed, count)
    zone, others = (
        straightness(x, h, u=0, reference=ZONE),
        [straightness(x, h, u=0, reference=r) for r in Reference],
    )
    for found in others:
        assert zone.value <= found.value + 1e-15
        assert found.deviations == pytest.approx(h - found.intercept - found.slope * x, abs=1e-15)
        assert found.value == found.deviations[found.highest] - found.deviations[found.lowest]
    assert zone.deviations.max() == pytest.approx(-zone.deviations.min(), abs=1e-15)


@given(SEEDS, st.integers(3, 30), TILTS, st.floats(-50, 50))
def test_a_line_added_changes_no_straightness(seed: int, count: int, tilt: float, lift: float) -> None:
    """How the workpiece is set up, tilted or lifted, leaves the value and its uncertainty and adds to the slope."""
    x, h = a_line(seed, count)
    for reference in Reference:
        plain = straightness(x, h, u=1e-4, reference=reference)
        moved = straightness(x, h + tilt * x + lift, u=1e-4, reference=reference)
        assert moved.value == pytest.approx(plain.value, abs=1e-12)
        assert moved.slope == pytest.approx(plain.slope + tilt, abs=1e-12)


@given(SEEDS, st.integers(3, 30), st.floats(0.1, 10))
def test_straightness_scales_and_turns_over(seed: int, count: int, factor: float) -> None:
    """Heights in another unit, upside down or read from the other end give the same straightness in that unit."""
    x, h = a_line(seed, count)
    for reference in Reference:
        value = straightness(x, h, u=1e-4, reference=reference).value
        for xs, hs in ((x, -factor * h), (-x, factor * h)):
            again = straightness(xs, hs, u=factor * 1e-4, reference=reference)
            assert again.value == pytest.approx(factor * value, rel=1e-9)


@given(SEEDS, st.integers(3, 20))
def test_uncertainty_is_that_of_the_readings(seed: int, count: int) -> None:
    """Full covariance or own uncertainties, told either way, give the same; twice the one gives twice the other."""
    x, h = a_line(seed, count)
    own = drawing(seed).uniform(1e-5, 1e-3, count)
    for reference in Reference:
        one = straightness(x, h, u=own, reference=reference)
        other = straightness(x, h, u=0, covariance=np.diag(own**2), reference=reference)
        twice = straightness(x, h, u=2 * own, reference=reference)
        for name in ("u_value", "u_slope", "u_intercept"):
            assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-9)
            assert getattr(twice, name) == pytest.approx(2 * getattr(one, name), rel=1e-9)


@given(SEEDS, st.integers(3, 20))
def test_a_weighted_line_knows_a_repeated_reading(seed: int, count: int) -> None:
    """A reading taken twice weighs as one of u/√2."""
    x, y = a_line(seed, count)
    u = drawing(seed).uniform(0.5, 2, count) * 1e-3
    twice = fit_line(np.append(x, x[0]), np.append(y, y[0]), u=np.append(u, u[0]))
    once = fit_line(x, y, u=np.concatenate([[u[0] / 2**0.5], u[1:]]))
    assert twice.slope == pytest.approx(once.slope, rel=1e-9, abs=1e-15)
    assert twice.covariance == pytest.approx(once.covariance, rel=1e-9)


@FEW
@given(SEEDS, st.integers(4, 30), TILTS, TILTS)
def test_a_plane_added_changes_no_flatness(seed: int, count: int, a: float, b: float) -> None:
    """Flatness does not depend on how the plate lies, and the minimum zone is never more than least squares."""
    draw = drawing(seed)
    x, y = draw.uniform(0, 500, (2, count))
    h = draw.normal(size=count) * 3e-3
    found = {}
    for reference in (LEAST, ZONE):
        plain = flatness(x, y, h, u=1e-4, reference=reference)
        moved = flatness(x, y, h + a * x + b * y + 7, u=1e-4, reference=reference)
        assert moved.value == pytest.approx(plain.value, abs=1e-11)
        assert moved.u_value == pytest.approx(plain.u_value, rel=1e-6)
        assert plain.deviations == pytest.approx(
            h - plain.intercept - plain.slope_x * x - plain.slope_y * y, abs=1e-14
        )
        found[reference] = plain.value
    assert found[ZONE] <= found[LEAST] + 1e-15


@given(SEEDS, st.integers(1, 40))
def test_level_heights_are_exact(seed: int, count: int) -> None:
    """Noiseless slopes give back every height over the first, for steps of any length."""
    draw = drawing(seed)
    heights, steps = draw.normal(size=count + 1) * 1e-2, draw.uniform(20, 200, count)
    found = heights_along(np.diff(heights) / steps, steps, u=1e-6)
    assert found.heights == pytest.approx(heights - heights[0], abs=1e-15)
    assert np.all(np.diff(found.u) > 0)


@FEW
@given(SEEDS, st.integers(2, 6), st.integers(2, 5), st.sampled_from([Zero.KNOWN, Zero.SHARED]))
def test_grid_heights_are_exact(seed: int, columns: int, rows: int, zero: Zero) -> None:
    """Noiseless slopes along rows and columns give back the surface, its loops closed."""
    points, lines = grid_lines(columns, rows, 80, 60)
    surface = drawing(seed).normal(size=len(points)) * 1e-2
    angles = [
        np.diff(surface[list(n)]) / np.linalg.norm(np.diff(points[list(n)], axis=0), axis=1) for n in lines
    ]
    found = plate_heights(
        points, lines, [a + 1e-4 * (zero is Zero.SHARED) for a in angles], u=1e-6, zero=zero
    )
    left = found.heights - surface
    plane = np.column_stack([np.ones(len(points)), points])
    left -= plane @ np.linalg.lstsq(plane, left, rcond=None)[0]
    assert np.abs(left).max() < 1e-12
    assert all(abs(loop.error) < 1e-12 for loop in found.closures)
    assert len(found.closures) == (columns - 1) * (rows - 1)


@FEW
@given(SEEDS, st.sampled_from([2, 4, 6]), st.sampled_from([2, 4, 6]))
def test_a_tilt_of_the_plate_is_no_closure_error(seed: int, along: int, diagonal: int) -> None:
    """Tilting the whole plate changes its heights by a plane, and neither residuals nor closure errors."""
    points, lines = union_jack(400, 300, (along, along, diagonal))
    runs = [np.diff(points[list(line)], axis=0) for line in lines]
    draw = drawing(seed)
    angles = [draw.normal(size=len(run)) * 1e-5 for run in runs]
    tilt = draw.normal(size=2) * 1e-3
    tilted = [a + run @ tilt / np.linalg.norm(run, axis=1) for a, run in zip(angles, runs)]
    plain, moved = (plate_heights(points, lines, a, u=1e-6) for a in (angles, tilted))
    assert moved.heights - plain.heights == pytest.approx((points - points[0]) @ tilt, abs=1e-12)
    assert moved.residuals == pytest.approx(plain.residuals, abs=1e-12)
    assert moved.flatness(ZONE).value == pytest.approx(plain.flatness(ZONE).value, abs=1e-11)


@given(SEEDS, st.integers(1, 40), st.floats(0, 1e3))
def test_reversal_cancels_the_artefact(seed: int, count: int, size: float) -> None:
    """Reversal cancels straightedge, square, level and ball whatever they look like, and tells them."""
    draw = drawing(seed)
    machine, artefact = draw.normal(size=count), draw.normal(size=count) * size
    close = {"abs": 1e-12 * (1 + size)}
    found = straightedge_reversal(machine + artefact, machine - artefact, u=0)
    assert found.machine == pytest.approx(machine, **close)
    assert found.artefact == pytest.approx(artefact, **close)
    level = level_reversal(machine + artefact, artefact - machine, u=0)
    assert level.machine == pytest.approx(machine, **close)
    spindle = spindle_reversal(artefact + machine, artefact - machine, u=0)
    assert spindle.machine == pytest.approx(machine, **close)
    assert spindle.artefact == pytest.approx(artefact, **close)


@given(SEEDS, st.integers(2, 20), st.floats(-1e-3, 1e-3))
def test_a_turned_square_cancels(seed: int, count: int, lean: float) -> None:
    """Squareness by reversal is that of the axis, however bent and out of square the square is."""
    draw = drawing(seed)
    travel = np.cumsum(draw.uniform(5, 50, count))
    blade = draw.normal(size=count) * 0.1
    found = squareness_by_reversal("C0X", travel, lean * travel - blade, lean * travel + blade, u=1e-3)
    assert found.axis.angle == pytest.approx(lean, abs=1e-12)
    assert found.square == pytest.approx(fit_line(travel, blade, u=1).slope, abs=1e-12)


@given(SEEDS, st.integers(2, 20), TILTS)
def test_parallelism_does_not_feel_the_set_up(seed: int, count: int, tilt: float) -> None:
    """A tilt common to line and datum changes nothing; exchanging two rails turns the sign of the angle."""
    x, first = a_line(seed, count)
    second = drawing(seed + 1).normal(size=count) * 2e-3
    plain = parallel_to_datum(x, first, x, second, u=1e-4)
    moved = parallel_to_datum(x, first + tilt * x, x, second + tilt * x + 1, u=1e-4)
    assert (moved.angle, moved.value) == pytest.approx((plain.angle, plain.value), abs=1e-11)
    there, back = parallel_rails(x, first, second, u=1e-4), parallel_rails(x, second, first, u=1e-4)
    assert (there.angle, there.value) == pytest.approx((-back.angle, back.value), abs=1e-15)
    assert there.angle == pytest.approx(plain.angle, abs=1e-12)


@given(SEEDS, st.integers(4, 40), st.floats(-3, 3))
def test_turning_the_part_turns_only_the_direction(seed: int, count: int, turn: float) -> None:
    """Starting elsewhere turns the direction of eccentricity and tilt and leaves their size and what is left."""
    draw = drawing(seed)
    theta = np.arange(count) * 2 * np.pi / count + draw.uniform(0, 0.05, count)
    read = draw.normal(size=count) * 1e-2
    here, there = runout(theta, read, u=1e-4), runout(theta + turn, read + 3, u=1e-4)
    for name in ("total", "eccentricity", "roundness"):
        assert getattr(there, name) == pytest.approx(getattr(here, name), abs=1e-12)
    apart = there.direction - here.direction - turn
    size = tram(theta, read, 50, u=1e-4).tilt * 50
    assert size == pytest.approx(here.eccentricity, abs=1e-12)
    assert size * np.sin(apart) == pytest.approx(0, abs=1e-11)
    assert size * np.cos(apart) == pytest.approx(size, abs=1e-11)


@FEW
@given(SEEDS, st.floats(-1e-4, 1e-4))
def test_a_longer_screw_has_the_same_bands(seed: int, growth: float) -> None:
    """Uniform growth of a screw changes e_0a by growth times travel and no band; bands grow with the window."""
    draw = drawing(seed)
    x = np.arange(0, 500.1, 2.0)
    e = np.cumsum(draw.normal(size=len(x))) * 2e-4
    plain, grown = (evaluate_travel(x, e + k * x, u=1e-5, lead=20) for k in (0.0, growth))
    assert grown.mean_deviation == pytest.approx(plain.mean_deviation + growth * 500, abs=1e-12)
    for name in ("whole", "in_300", "in_revolution"):
        assert getattr(grown, name).value == pytest.approx(getattr(plain, name).value, abs=1e-12)
    assert plain.in_revolution.value <= plain.in_300.value <= plain.whole.value


@FEW
@given(SEEDS, st.floats(1e-6, 2e-3))
def test_a_verdict_is_as_sure_as_its_probability(seed: int, u: float) -> None:
    """Each limit conforms from 95 %, fails up to 5 %, and is undecided between; the worst limit rules."""
    x = np.arange(0, 500.1, 2.0)
    e = np.cumsum(drawing(seed).normal(size=len(x))) * 4e-4
    found = judge(evaluate_travel(x, e, u=u, lead=20), "C3")
    for check in found.checks:
        assert check.probability is not None
        expected = Verdict.CONFORMING if check.probability >= 0.95 else Verdict.UNDECIDED
        assert check.verdict is (Verdict.NOT_CONFORMING if check.probability <= 0.05 else expected)
    verdicts = {check.verdict for check in found.checks}
    worst = next(v for v in (Verdict.NOT_CONFORMING, Verdict.UNDECIDED, Verdict.CONFORMING) if v in verdicts)
    assert found.verdict is worst


@given(SEEDS, st.integers(1, 12), st.integers(1, 5))
def test_covariance_of_results_is_that_of_products(seed: int, count: int, results: int) -> None:
    """Linear results have the covariance rows V rowsᵀ, and no variance is negative."""
    draw = drawing(seed)
    root, own, rows = (
        draw.normal(size=(count, count)),
        draw.uniform(0, 1, count),
        draw.normal(size=(results, count)),
    )
    told = Uncertainty(own, root @ root.T)
    assert told.covariance(rows) == pytest.approx(rows @ told.matrix() @ rows.T, abs=1e-9)
    assert np.linalg.eigvalsh(told.covariance(rows)).min() > -1e-9
    assert [told.std(row) for row in rows] == pytest.approx(np.sqrt(np.diag(told.covariance(rows))))
