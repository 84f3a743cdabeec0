"""A large machine: what is read by itself solved by itself, against batch least squares by another library."""

from dataclasses import replace

import numpy as np
import pytest

from as_built_machines import (
    asked,
    beliefs,
    brute_force,
    clock_plate,
    clock_prior,
    generator,
    machine,
    proving_readings,
    seen,
    shared,
)
from loopwright.asbuilt import draws, information
from loopwright.asbuilt.draws import draw
from loopwright.asbuilt.information import Information
from loopwright.asbuilt.knowledge import MANY, Knowledge, Observation, learn
from loopwright.asbuilt.surprise import looks
from loopwright.asbuilt.timeline import Move, Timeline, as_designed, changed, timeline

DIMS = 14


@pytest.fixture
def large(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every machine counts as large, and its triangle is worked out three columns at a time."""
    monkeypatch.setattr(information, "LARGE", 0)
    monkeypatch.setattr(information, "PANEL", 3)


def line_of(seed: int) -> Timeline:
    """A machine of two states: one dim known from the beginning, one set anew, one moved on."""
    draw_ = generator(seed)
    std = draw_.uniform(0.2, 3.0, DIMS)
    std[5] = 0.0
    prior = beliefs(std, draw_.normal(size=DIMS))
    return timeline(prior, [(1, []), (2, [Move(1, 0.3, 0.4), Move(3, 0.1, 0.2, onward=True)])])


def readings_of(seed: int) -> list[Observation]:
    """Dims by themselves, some of them over and over with errors in common; two sweeps, one with an unknown zero
    and slope, and a difference of two dims.
    """
    draw_ = generator(seed + 1000)
    sizes = {"micrometer": 0.3, "block": 0.2}
    out = []
    for number in range(MANY + 30):
        row = np.zeros((1, DIMS))
        row[0, draw_.integers(DIMS - 1)] = 1.0
        common = [shared(name, sizes[name], draw_.normal(size=1)) for name in sizes if draw_.random() < 0.6]
        out.append(seen(row, draw_.normal(size=1), [draw_.uniform(0.2, 1)], *common, state=1 + number % 2))
    rows = np.zeros((6, DIMS))
    rows[:, 7:11] = draw_.normal(size=(6, 4))
    free = np.stack([np.ones(6), np.arange(6.0)], axis=1)
    block = shared("block", 0.2, draw_.normal(size=6))
    out.insert(40, seen(rows, draw_.normal(size=6), [0.3] * 6, block, free=free))
    out.append(
        seen(rows[:4, ::-1], draw_.normal(size=4), [0.2] * 4, shared("indicator", 0.1, np.ones(4)), state=2)
    )
    difference = np.zeros((1, DIMS))
    difference[0, [0, 2]] = 1.0, -1.0
    out.insert(9, seen(difference, [0.4], [0.3]))
    return out


def one_by_one(line: Timeline, readings: list[Observation]) -> Knowledge:
    """Learned in this order, each by itself."""
    known = learn(line, [])
    for one in readings:
        known = known.with_one_more(one)
    return known


def covariance(known: Knowledge) -> np.ndarray:
    """Covariance of the deviations of the newest state."""
    root = known.root(np.eye(DIMS), known.line.newest)
    return np.asarray(root @ root.T)


@pytest.mark.usefixtures("large")
@pytest.mark.parametrize("seed", range(8))
def test_a_large_machine_is_batch_least_squares(seed: int) -> None:
    """Learned together, one by one, or one by one from the last, the readings leave what prior and readings
    stacked and solved by the library (SVD and QR) leave, to 1e-8.
    """
    line, readings = line_of(seed), readings_of(seed)
    mean, cov = brute_force(line, readings)
    for known in (learn(line, readings), one_by_one(line, readings), one_by_one(line, readings[::-1])):
        assert known.mean == pytest.approx(mean, rel=1e-8, abs=1e-8 * np.abs(mean).max())
        assert known.std == pytest.approx(np.sqrt(np.diag(cov)), rel=1e-8, abs=1e-12)
        both = known.scale[known.open_][:, None] * known.factor
        count = int((known.open_ < len(line.mean)).sum())
        pieces = known.open_[:count]
        assert (both @ both.T)[:count, :count] == pytest.approx(
            cov[np.ix_(pieces, pieces)], rel=1e-8, abs=1e-8 * cov.max()
        )


@pytest.mark.usefixtures("large")
def test_only_what_is_read_together_is_solved_together() -> None:
    """Of 14 dims and two that were changed, those of the sweeps and of the difference meet, and the rest stay by
    themselves, however often each was read.
    """
    line, readings = line_of(0), readings_of(0)
    known = learn(line, readings)
    apart = set(known.open_[known.information.alone].tolist())
    # dims 0 and 2 by the difference; 7 to 10, and 3 to 6 backwards, by the sweeps; 14 and 15 were set and moved on
    assert apart == {1, 11, 12, 13, 14}
    assert one_by_one(line, readings).information.alone.tolist() == known.information.alone.tolist()


@pytest.mark.usefixtures("large")
@pytest.mark.parametrize("seed", range(4))
def test_every_view_of_the_triangle_is_of_the_same_readings(seed: int) -> None:
    """Triangle, products, factor, best fit and what each reading tells agree with the sum of the rows' products."""
    line, readings = line_of(seed), readings_of(seed)
    known = learn(line, readings)
    weighed = [known.weighed(one) for one in readings]
    gram = sum(one.rows.T @ one.rows for one in weighed)
    right = sum(one.rows.T @ one.found for one in weighed)
    inverse = np.linalg.inv(np.eye(len(gram)) + gram)
    found = known.information
    assert known.gram == pytest.approx(gram, rel=1e-9, abs=1e-9)
    assert known.right == pytest.approx(right, rel=1e-9, abs=1e-9)
    assert found.told_of_each == pytest.approx(gram.diagonal(), rel=1e-9, abs=1e-9)
    assert found.factor @ found.factor.T == pytest.approx(inverse, abs=1e-10)
    assert found.through(np.eye(len(gram))) == pytest.approx(found.factor, abs=1e-12)
    assert found.left == pytest.approx(np.sqrt(inverse.diagonal()), rel=1e-9)
    assert found.moved == pytest.approx(inverse @ right, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_a_large_machine_answers_as_a_small_one(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Surprises, and what a reading not yet taken would see, are the same whichever way the triangle is kept."""
    line, readings = line_of(seed), readings_of(seed)
    small = learn(line, readings[:-1])
    monkeypatch.setattr(information, "LARGE", 0)
    known = learn(line, readings[:-1])
    assert len(known.information.alone) > 0
    assert len(small.information.alone) == 0
    for mine, other in zip(looks(known), looks(small)):
        assert mine.surprise == pytest.approx(other.surprise, rel=1e-7, abs=1e-9)
    mine, other = known.sees(readings[-1]), small.sees(readings[-1])
    assert mine @ mine.T == pytest.approx(other @ other.T, rel=1e-8, abs=1e-10)


@pytest.mark.usefixtures("large")
@pytest.mark.parametrize("seed", range(4))
def test_a_large_machine_goes_on_to_further_states(seed: int) -> None:
    """Carried over to the line of a machine that was changed again, the readings tell what they tell there anew,
    and so does one more, with an error in common that was not met before.
    """
    line, readings = line_of(seed), readings_of(seed)
    later = changed(
        line, [Move(0, 0.4, 0.2), Move(8, 0.1, 0.3, onward=True), Move(2, 0, 1, less=((11, 1.0),))]
    )
    carried, anew = learn(line, readings).in_line(later), learn(later, readings)
    more = replace(readings[-1], state=later.newest, common=(shared("square", 0.4, np.ones(4)),))
    for mine, other in ((carried, anew), (carried.with_one_more(more), learn(later, [*readings, more]))):
        for state in later.states:
            for one, two in zip(mine.deviations(state), other.deviations(state)):
                assert one == pytest.approx(two, rel=1e-9, abs=1e-9)
        assert covariance(mine) == pytest.approx(covariance(other), abs=1e-10)


@pytest.mark.parametrize("first", [2, 4])
def test_a_machine_that_becomes_large(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was learned while all was solved together still counts when there is more than that."""
    line, readings = line_of(first), readings_of(first)
    half = learn(line, readings[:30])
    monkeypatch.setattr(information, "LARGE", len(half.open_))
    later = changed(line, [Move(0, 0.4, 0.2), Move(8, 0.1, 0.3, onward=True)])
    grown = half.in_line(later)
    assert len(grown.information.alone) == 2
    for one in readings[30:]:
        grown = grown.with_one_more(one)
    mean, cov = brute_force(later, readings)
    assert grown.mean == pytest.approx(mean, rel=1e-8, abs=1e-8)
    assert grown.std == pytest.approx(np.sqrt(np.diag(cov)), rel=1e-8, abs=1e-12)


@pytest.mark.parametrize("rows", [1, 5, 7])
def test_rows_turned_in_by_panels_are_what_they_are_at_once(
    rows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A few rows, the first of them zero up to its middle, leave a triangle whose square is the sum of squares."""
    monkeypatch.setattr(information, "PANEL", 4)
    draw_, count = generator(rows), 11
    triangle = np.column_stack([np.triu(draw_.normal(size=(count, count))), draw_.normal(size=count)])
    more = draw_.normal(size=(rows, count + 1))
    more[0, :6] = 0.0
    found = information._by_panels(triangle, more)
    want = triangle.T @ triangle + more.T @ more
    assert (found.T @ found)[:, :count] == pytest.approx(want[:, :count], abs=1e-12)
    assert np.array_equal(found[:, :count], np.triu(found[:, :count]))


def test_thousands_of_unknowns_are_sorted_without_being_told() -> None:
    """2,000 dims, each ±1 and read as 1 ± 1 with a gauge that is 1 ± 1 off for all: nothing was set for a test.

    With n values of variance 1 + 1 + 1 that share 1 of it, the gauge is off by n / (n + 2) on average and each dim
    by half of what is left, 1 / (n + 2); worked out by hand, generalised least squares of equal correlation.
    """
    count = 2000
    readings = [
        seen(np.eye(count)[[place]], [1.0], [1.0], shared("gauge", 1.0, [1.0])) for place in range(count)
    ]
    known = learn(machine(np.ones(count)), readings)
    assert len(known.information.meeting) == 1
    assert known.mean == pytest.approx(np.full(count, 1 / (count + 2)), rel=1e-9)
    shares = known.information.moved
    assert shares[-1] == pytest.approx(count / (count + 2), rel=1e-9)
    # of one dim: half of it stays open, and a quarter of what is not known of the gauge, 2 / (n + 2)
    assert known.std == pytest.approx(np.full(count, np.sqrt(1 / 2 + 1 / 2 / (count + 2))), rel=1e-9)


def test_chances_of_a_large_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draws of only those unknowns that reach a target give the chances that draws of all give."""
    loop = clock_plate()
    rows = [loop.rows(target) for target in loop.build.targets.values()]
    limits = [target.limit for target in loop.build.targets.values()]
    known = learn(as_designed(clock_prior()), proving_readings())
    usual = draw(known, rows, limits, shapes=False)
    monkeypatch.setattr(draws, "LARGE", 0)
    fewer = draw(known, rows, limits, shapes=False)
    for mine, other in zip(fewer.normal, usual.normal):
        assert mine.chance == pytest.approx(other.chance, abs=4 * np.hypot(mine.chance_std, other.chance_std))
        assert mine.expected == pytest.approx(other.expected, rel=0.1)


@pytest.mark.usefixtures("large")
def test_nothing_open_and_nothing_read() -> None:
    """A large machine of which nothing was read is as it was believed to be; one all of whose dims are known too."""
    line = as_designed(beliefs([1.0, 2.0, 0.0], [3.0, 4.0, 5.0]))
    for known in (learn(line, []), learn(line, []).with_one_more(seen([[0, 0, 1.0]], [5.0], [0.1]))):
        assert known.mean.tolist() == [3.0, 4.0, 5.0]
        assert known.std.tolist() == [1.0, 2.0, 0.0]
    assert known.of_target(asked(np.ones((1, 1, 3))), 1)[0].tolist() == [12.0]
    assert Information.none(0, 0).moved.tolist() == []
