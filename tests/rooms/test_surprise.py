"""How far a reading is from what all the others let one expect, and how often chance alone is so far."""

from dataclasses import replace
from math import hypot, sqrt

import numpy as np
import pytest
from scipy.stats import chi2, norm

from as_built_machines import UM, asked, generator, machine, seen, shared
from loopwright.asbuilt.knowledge import learn
from loopwright.asbuilt.surprise import as_normal, look, look_ahead, looks

MACHINES = 4000


def test_a_reading_of_one_dim_beside_its_drawing() -> None:
    """0 ± 10 on the drawing, 26 ± 3 read: expected 0 ± sqrt(109), so 26/10.440307 = 2.490348 off. By hand."""
    one = seen([[1.0]], [26.0], [3.0], name="height")
    found = look(learn(machine([10.0]), [one]), one)
    assert found.name == "height"
    assert found.found == pytest.approx([26.0])
    assert found.expected == pytest.approx([0.0], abs=1e-9)
    assert found.std == pytest.approx([10.440307], abs=5e-7)
    assert found.each == pytest.approx([2.490348], abs=5e-7)
    assert found.surprise == pytest.approx(2.490348, abs=5e-7)
    assert not found.asks
    wild = replace(one, values=np.array([32.0]))
    assert look(learn(machine([10.0]), [wild]), wild).asks


def test_the_odd_one_out_is_found() -> None:
    """Of five readings of one dim, one with a digit wrong by 20 µm, that one is by far the most surprising; what
    is expected of it is the weighted mean of the others; once it is withdrawn no other asks for a second look.
    """
    values = [12.1, 11.8, 12.0, 32.0, 12.2]
    readings = [seen([[1.0]], [value * UM], [0.5 * UM], name=str(value)) for value in values]
    known = learn(machine([1e3 * UM]), readings)
    found = looks(known)
    assert found[3].surprise > 3 * max(one.surprise for one in found if one is not found[3])
    assert not any(one.asks for one in looks(known.without(readings[3])))
    assert found[3].expected == pytest.approx([12.025 * UM], abs=0.01 * UM)
    assert found[3].std == pytest.approx([0.5 * UM * sqrt(1 + 1 / 4)], rel=1e-5)


def test_one_look_is_the_same_as_all() -> None:
    """Looked at alone, among all, or before it is taken in, a reading is as surprising; readings are given back
    in the order asked for.
    """
    draw = generator(5)
    readings = [
        seen(draw.normal(size=(4, 6)), draw.normal(size=4) * 2, [0.2] * 4, free=np.ones((4, 1)), name=str(n))
        for n in range(5)
    ]
    line = machine(np.ones(6))
    known = learn(line, readings)
    for one, found in zip(readings, looks(known)):
        alone, ahead = look(known, one), look_ahead(known.without(one), one)
        for other in (alone, ahead):
            assert other.surprise == pytest.approx(found.surprise, rel=1e-9)
            assert other.expected == pytest.approx(found.expected, abs=1e-9)
    assert [one.name for one in looks(known, readings[3:0:-1])] == ["3", "2", "1"]
    assert looks(known, []) == []
    assert looks(learn(line, [])) == []


def test_a_reading_without_scatter_is_shown_in_its_own_unit() -> None:
    """Where a gauge has no error but its calibration, found and expected are still lengths: 12 µm read on a dim
    of 0 ± 10 µm with a calibration of ±5 µm is 12 / 11.18 off.
    """
    one = seen([[1.0]], [12 * UM], [0.0], shared("calibration", 5 * UM, [1]))
    found = look(learn(machine([10 * UM]), [one]), one)
    assert found.found == pytest.approx([12 * UM], rel=1e-6)
    assert found.expected == pytest.approx([0.0], abs=1e-3 * UM)
    assert found.std == pytest.approx([hypot(10, 5) * UM], rel=1e-3)
    assert found.surprise == pytest.approx(12 / hypot(10, 5), rel=1e-3)


def test_a_constant_is_no_surprise_to_a_free_zero() -> None:
    """A sweep of unknown zero that is off by a metre all along surprises nobody; one step in it does."""
    draw = generator(6)
    rows, free = draw.normal(size=(8, 4)), np.ones((8, 1))
    line = machine(np.full(4, 0.01))
    calm = seen(rows, draw.normal(size=8) * 0.01, [0.01] * 8, free=free)
    off = replace(calm, values=calm.values + 1000.0)
    step = replace(calm, values=calm.values + np.where(np.arange(8) > 3, 0.2, 0.0))
    surprises = [look(learn(line, [one]), one).surprise for one in (calm, off, step)]
    assert surprises[1] == pytest.approx(surprises[0], abs=1e-6)
    assert surprises[0] < 3 < surprises[2]
    assert abs(look(learn(line, [off]), off).found.mean()) < 1e-6


def test_a_reading_that_is_all_zero_setting_says_nothing() -> None:
    """One value of unknown zero cannot surprise."""
    one = seen([[1.0]], [55.0], [0.1], free=np.ones((1, 1)))
    found = look(learn(machine([1.0]), [one]), one)
    assert found.surprise == 0.0
    assert found.each == pytest.approx([0.0])


@pytest.mark.parametrize("freedom", [1, 2, 5, 30, 1000, 100_000])
def test_chi_square_is_turned_into_a_normal_score(freedom: int) -> None:
    """The score is as rare, to both sides, as the chi-square value, however rare that is: the library's
    logarithm of both tails agrees to 1e-9, beyond what a float can hold as a chance too.

    Source of the reference: scipy.stats, chi2.logsf and norm.logsf.
    """
    for rarity in (1.5, 3.0, 8.0, 30.0, 36.9):
        square = float(chi2.isf(2 * norm.sf(rarity), freedom)) if rarity < 30 else freedom + rarity**2
        score = as_normal(square, freedom)
        assert norm.logsf(score) + np.log(2) == pytest.approx(chi2.logsf(square, freedom), rel=1e-9)
    for square in (1380.0, 2000.0, 1e6):
        assert as_normal(square, 1) == pytest.approx(sqrt(square), rel=1e-9)


def test_surprise_has_no_step_where_chances_underflow() -> None:
    """From chances that a float can hold to those it cannot, the score goes on as it was."""
    for freedom in (1, 7, 300):
        squares = freedom + np.linspace(1200, 3000, 400)
        scores = np.array([as_normal(float(square), freedom) for square in squares])
        rises = np.diff(scores)
        assert (rises > 0).all()
        assert rises.max() < 2 * rises.min()


# ------------------------------------------------------------------------------------------ how often chance alone
def simulated(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Surprises and single scores of the readings of simulated machines whose assumptions all hold."""
    draw = generator(seed)
    line = machine([1.0, 2.0, 0.5, 1.0, 0.3])
    column = np.linspace(-1, 1, 6)
    templates = [
        seen(
            draw.normal(size=(6, 5)),
            np.zeros(6),
            [0.2] * 6,
            shared("edge", 0.4, column),
            free=np.ones((6, 1)),
        ),
        seen(draw.normal(size=(1, 5)), [0.0], [0.5], shared("gauge", 0.3, [1])),
        seen(draw.normal(size=(1, 5)), [0.0], [0.1], shared("gauge", 0.3, [1])),
        seen(draw.normal(size=(6, 5)), np.zeros(6), [0.3] * 6, shared("edge", 0.4, -column)),
    ]
    surprises, scores = [], []
    for _ in range(MACHINES // 4):
        truth = line.std * draw.normal(size=5)
        errors = {"edge": draw.normal(), "gauge": draw.normal()}
        readings = []
        for one in templates:
            values = one.rows @ truth + one.stds * draw.normal(size=len(one.stds))
            values = values + sum(error.std * error.column * errors[error.name] for error in one.common)
            zero = one.free[:, 0] * draw.normal() * 50 if one.free.size else 0.0
            readings.append(replace(one, values=values + zero))
        found = looks(learn(line, readings))
        surprises += [one.surprise for one in found]
        scores += [float(one.each[-1]) for one in found]
    return np.array(surprises), np.array(scores)


def test_surprise_is_as_rare_as_it_says() -> None:
    """Of 4,000 readings of simulated machines for which all assumptions hold, 4.55 % are beyond 2 and 0.27 %
    beyond 3, within four binomial standard deviations (1.3 % and 0.33 %); each single score is standard normal.

    Source of the shares: two-sided tails of the normal distribution.
    """
    surprises, scores = simulated(7)
    for beyond, share in ((1.0, 0.317311), (2.0, 0.0455003), (3.0, 0.0026998)):
        room = 4 * sqrt(share * (1 - share) / MACHINES)
        assert (surprises > beyond).mean() == pytest.approx(share, abs=room), beyond
        assert (np.abs(scores) > beyond).mean() == pytest.approx(share, abs=room), beyond
    assert scores.mean() == pytest.approx(0, abs=4 / sqrt(MACHINES))
    assert scores.std() == pytest.approx(1, abs=4 / sqrt(2 * MACHINES))


def test_the_rows_asked_for_are_not_changed_by_a_look() -> None:
    """Looking changes nothing of what is known."""
    one = seen([[1.0, 0.5]], [1.0], [0.3])
    known = learn(machine([1.0, 1.0]), [one])
    rows = asked([[[1.0, -1.0]]]).matrix
    before = known.expected(rows, 1).copy(), known.uncertainty(rows, 1).copy()
    look(known, one)
    look_ahead(known, one)
    assert np.array_equal(known.expected(rows, 1), before[0])
    assert np.array_equal(known.uncertainty(rows, 1), before[1])
    assert len(known.observations) == 1
