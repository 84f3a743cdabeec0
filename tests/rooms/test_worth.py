"""What a reading is worth before it is taken, held against taking it on thousands of simulated machines."""

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from as_built_machines import (
    adjusted,
    asked,
    clock_plate,
    clock_prior,
    generator,
    machine,
    proving_readings,
    seen,
    shared,
    taken,
)
from loopwright.asbuilt.knowledge import Knowledge, Observation, learn
from loopwright.asbuilt.timeline import as_designed
from loopwright.asbuilt.worth import TRIALS, Candidate, Left, Prospect, plan, ranking
from loopwright.loop import Rows

MACHINES = 20_000
SETTINGS = (0, 1, 2)
SPREAD = 4 * sqrt(0.5 / MACHINES)
"""Root mean squares of 20,000 normal errors scatter by 0.5 % (1 / sqrt(2 n)); four times that."""
CHANCE_SPREAD = 4 * sqrt(0.25 / TRIALS + 0.25 / MACHINES)
"""Chances from 512 machines scatter by up to 2.2 %; four times that, with what the simulation adds."""


class Bench:
    """A machine by hand: three adjusters, nine deviations; each pose is a target of its own, in two components."""

    def __init__(self, seed: int = 1) -> None:
        draw = generator(seed)
        self.line = machine([0, 0, 0, *draw.uniform(0.5, 2, 9)], [0, 0, 0, *draw.normal(size=9)])
        self.rows = [asked(draw.normal(size=(1, 2, 12))) for _ in range(6)]
        self.limits = [8.0, 8.0, 8.0, 12.0, 12.0, 12.0]
        self.readings = [self._reading(draw, number) for number in range(5)]
        self.known = learn(self.line, self.readings[:1])
        self.flat = np.concatenate([r.matrix[0] for r in self.rows])
        self.weights = np.repeat(1 / np.array(self.limits), 2)

    @staticmethod
    def _reading(draw: np.random.Generator, number: int) -> Observation:
        rows = draw.normal(size=(4, 12))
        rows[:, :3] = 0.0
        common = shared("gauge", 0.3, np.ones(4)), shared(f"edge {number}", 0.4, np.linspace(-1, 1, 4))
        free = np.ones((4, 1)) if number % 2 else None
        return seen(rows, draw.normal(size=4), [0.3] * 4, *common, free=free, name=f"reading {number}")

    def prospect(self, known: Knowledge | None = None) -> Prospect:
        return Prospect(known or self.known, self.rows, self.limits, SETTINGS)

    def candidates(self) -> list[Candidate]:
        return [Candidate(one.name, one, 10.0 + n) for n, one in enumerate(self.readings[1:])]

    def left(self, truth: np.ndarray, expected: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Root mean square left of each target over simulated machines, and the share that meets its limit."""
        errors = adjusted(truth, expected, self.flat[:, list(SETTINGS)], self.weights)
        sizes = (errors.reshape(6, 2, -1) ** 2).sum(axis=1)
        return np.sqrt(sizes.mean(axis=1)), (np.sqrt(sizes) <= np.array(self.limits)[:, None]).mean(axis=1)


def of(lefts: tuple[Left, ...], what: str) -> np.ndarray:
    """One figure of every target."""
    return np.array([getattr(left, what) for left in lefts])


# ---------------------------------------------------------------------------------------------------- by simulation
@pytest.mark.parametrize("number", range(4))
def test_what_a_reading_would_leave_is_left_on_average(number: int) -> None:
    """20,000 machines are drawn from what is known, the reading is taken on each, and the adjusters are set by
    least squares on what is expected then: the mean square left at each pose is the one foretold, within four
    standard deviations of the sampling, and so is the chance to hold each limit.
    """
    bench = Bench()
    candidate = bench.candidates()[number]
    worth = bench.prospect().worth(candidate)
    shop = taken(bench.known, candidate.observation, MACHINES, number)
    rms, chance = bench.left(*shop.errors(bench.flat))
    assert of(worth.then, "adjusted") == pytest.approx(rms, rel=SPREAD)
    assert of(worth.then, "chance") == pytest.approx(chance, abs=CHANCE_SPREAD)
    unknown = np.sqrt((shop.after.uncertainty(bench.flat, 1) ** 2).reshape(6, 2).sum(axis=1))
    assert of(worth.then, "unknown") == pytest.approx(unknown, rel=1e-9)


def test_what_stands_now_is_left_now() -> None:
    """Without the reading, the adjusters set by what is known already, the same machines are left with what
    stands now; the fall from the one to the other is what the reading is worth.
    """
    bench = Bench()
    candidate = bench.candidates()[0]
    worth = bench.prospect().worth(candidate)
    shop = taken(bench.known, candidate.observation, MACHINES, 0)
    truth, expected = shop.errors(bench.flat)
    before = bench.known.expected(bench.flat, 1)[:, None]
    rms, chance = bench.left(truth, np.repeat(before, MACHINES, axis=1))
    after, _ = bench.left(truth, expected)
    assert of(worth.now, "adjusted") == pytest.approx(rms, rel=SPREAD)
    assert of(worth.now, "chance") == pytest.approx(chance, abs=CHANCE_SPREAD)
    falls = (of(worth.now, "adjusted") - of(worth.then, "adjusted")) / bench.limits
    assert falls == pytest.approx((rms - after) / bench.limits, abs=SPREAD)
    assert worth.gain == pytest.approx(falls.max(), rel=1e-9)
    assert worth.gain_per_minute == pytest.approx(worth.gain / 10.0)


def test_measuring_alone_makes_no_machine_better() -> None:
    """With nothing to adjust, the mean square of the whole error stays what it was on average, and only what is
    not known of it falls; that fall is the gain then.
    """
    bench = Bench()
    bare = Prospect(bench.known, bench.rows, bench.limits)
    assert not bare.adjusts
    assert bench.prospect().adjusts
    worth = bare.worth(bench.candidates()[0])
    assert of(worth.then, "adjusted") == pytest.approx(of(worth.now, "adjusted"), rel=1e-9)
    falls = (of(worth.now, "unknown") - of(worth.then, "unknown")) / bench.limits
    assert worth.gain == pytest.approx(falls.max())
    assert worth.gain > 0.01


def test_adjusters_that_reach_all_leave_only_what_is_unknown() -> None:
    """Where the adjusters reach every row, what is left after a reading is what it leaves unknown."""
    line = machine([0, 0, 1.0, 2.0])
    rows = asked([[[1.0, 0.0, 1.0, 0.3], [0.0, 1.0, 0.2, 1.0]]])
    one = seen([[0, 0, 1.0, 0.5]], [0.7], [0.4])
    prospect = Prospect(learn(line, []), [rows], [3.0], (0, 1))
    worth = prospect.worth(Candidate("it", one, 5.0))
    (then,) = worth.then
    assert then.adjusted == pytest.approx(then.unknown, rel=1e-9)


def test_a_reading_of_nothing_is_worth_nothing() -> None:
    """A reading that sees no deviation that matters, or through endless noise, is worth nothing."""
    bench = Bench()
    one = bench.readings[1]
    blind = replace(one, rows=np.zeros_like(one.rows))
    blunt = replace(one, stds=np.full(4, 1e9))
    for nothing in (blind, blunt):
        assert bench.prospect().worth(Candidate("it", nothing, 5.0)).gain == pytest.approx(0, abs=1e-9)


# --------------------------------------------------------------------------------------------------- one after another
def test_the_prospect_after_a_reading_is_that_of_the_reading() -> None:
    """As foretold for one candidate, so stands the prospect after it; the next one is foretold from there."""
    bench = Bench()
    first, second, *_ = bench.candidates()
    prospect = bench.prospect()
    foretold = prospect.worth(first, chance=False).then
    then = prospect.after(first)
    assert then.now(chance=False) == tuple(
        Left(pytest.approx(left.unknown), pytest.approx(left.adjusted), None) for left in foretold
    )
    assert then.worth(second, chance=False).then == tuple(
        Left(pytest.approx(left.unknown), pytest.approx(left.adjusted), None)
        for left in then.after(second).now(chance=False)
    )
    assert prospect.now(chance=False) == bench.prospect().now(chance=False)


def test_two_readings_foretold_are_two_readings_taken() -> None:
    """After two and three readings in a row, what is left, and the chance to hold each limit, are those of
    20,000 machines on which they were taken.
    """
    bench = Bench()
    candidates = bench.candidates()
    for count in (2, 3):
        prospect = bench.prospect()
        for candidate in candidates[:count]:
            prospect = prospect.after(candidate)
        ends = np.cumsum([0, *(len(c.observation.values) for c in candidates[:count])])
        whole = _as_one([c.observation for c in candidates[:count]])
        shop = taken(bench.known, whole, MACHINES, 40 + count)
        rms, chance = bench.left(*shop.errors(bench.flat))
        now = prospect.now()
        assert len(whole.values) == ends[-1]
        assert of(now, "adjusted") == pytest.approx(rms, rel=SPREAD)
        assert of(now, "chance") == pytest.approx(chance, abs=CHANCE_SPREAD)


@pytest.mark.parametrize("seed", range(1, 5))
def test_machines_drawn_after_readings_are_as_uncertain_as_they_should_be(seed: int) -> None:
    """Chances after one, two, three and four readings are counted on machines whose errors scatter as foretold."""
    bench = Bench(seed)
    rows = [asked(r.matrix[:, :1]) for r in bench.rows]
    prospect = Prospect(bench.known, rows, bench.limits, SETTINGS)
    for candidate in bench.candidates():
        prospect = prospect.after(candidate)
        drawn = prospect._draw()[1].astype(float) * np.array(bench.limits)[:, None]
        found = np.sqrt((drawn**2).mean(axis=1))
        # 512 draws: 1 / sqrt(2 n) = 3.1 %, four times that
        assert found == pytest.approx(of(prospect.now(chance=False), "adjusted"), rel=4 / sqrt(2 * TRIALS))


def _as_one(observations: list[Observation]) -> Observation:
    """Several readings as one of many values, each with its own zero."""
    counts = [len(one.values) for one in observations]
    starts = np.cumsum([0, *counts])
    errors: dict[str, list[np.ndarray]] = {}
    stds: dict[str, float] = {}
    zeros = []
    for start, count, one in zip(starts, counts, observations):
        for error in one.common:
            wide = np.zeros(starts[-1])
            wide[start : start + count] = error.column
            errors.setdefault(error.name, []).append(wide)
            stds[error.name] = error.std
        if one.free.size:
            wide = np.zeros(starts[-1])
            wide[start : start + count] = 1.0
            zeros.append(wide)
    return seen(
        np.concatenate([one.rows for one in observations]),
        np.concatenate([one.values for one in observations]),
        np.concatenate([one.stds for one in observations]),
        *(shared(name, stds[name], sum(columns)) for name, columns in errors.items()),
        free=np.stack(zeros, axis=1) if zeros else None,
    )


def test_what_is_known_after_a_foreseen_reading_expects_the_same() -> None:
    """A reading that shows just what was expected leaves every expected value where it was, errors in common
    that are half known already too.
    """
    bench = Bench()
    values = bench.readings[0].values + 2.0
    known = learn(bench.line, [replace(bench.readings[0], values=values)])
    for candidate in bench.candidates():
        then = bench.prospect(known).after(candidate).knowledge
        assert then.mean == pytest.approx(known.mean, abs=1e-9)


def test_a_plan_is_what_its_readings_bring() -> None:
    """A plan fits the minutes, takes each reading once, the best for a minute of work first, and leaves what
    really taking them leaves.
    """
    bench = Bench()
    candidates = bench.candidates()
    found = plan(bench.prospect(), candidates, 36.0)
    names = [worth.name for worth in found.readings]
    assert len(set(names)) == len(names) >= 2
    assert found.minutes == sum(worth.minutes for worth in found.readings) <= 36.0
    first = max(
        (bench.prospect().worth(c, chance=False) for c in candidates), key=lambda w: w.gain_per_minute
    )
    assert names[0] == first.name
    assert found.before == bench.prospect().now()
    chosen = [c.observation for c in candidates if c.name in names]
    shop = taken(bench.known, _as_one(chosen), MACHINES, 5)
    rms, chance = bench.left(*shop.errors(bench.flat))
    assert of(found.after, "adjusted") == pytest.approx(rms, rel=SPREAD)
    assert of(found.after, "chance") == pytest.approx(chance, abs=CHANCE_SPREAD)
    unknown = np.sqrt((shop.after.uncertainty(bench.flat, 1) ** 2).reshape(6, 2).sum(axis=1))
    assert of(found.after, "unknown") == pytest.approx(unknown, rel=1e-9)
    for earlier, later in zip(found.readings, found.readings[1:]):
        assert of(later.now, "adjusted") == pytest.approx(of(earlier.then, "adjusted"), rel=1e-6)


def test_a_plan_of_no_minutes_is_empty() -> None:
    """With no time, nothing worth walking for, or nothing to read, nothing is planned."""
    bench = Bench()
    for nothing in (
        plan(bench.prospect(), bench.candidates(), 5.0),
        plan(bench.prospect(), bench.candidates(), 500.0, least=10.0),
        plan(bench.prospect(), [], 500.0),
    ):
        assert nothing.readings == ()
        assert nothing.minutes == 0
        assert nothing.after == nothing.before


def test_several_candidates_at_once_are_each_alone() -> None:
    """Asked together, candidates of one value, of few and of more values than there are unknowns are worth what
    each is alone, and so is one whose error in common was stated as nothing before.
    """
    bench, draw = Bench(), generator(8)
    said_nothing = seen(draw.normal(size=(1, 12)), [0.1], [0.3], shared("late", 0.0, [1]))
    prospect = bench.prospect(bench.known.with_one_more(said_nothing))
    late = shared("late", 5.0, np.ones(4))
    candidates = [
        *bench.candidates(),
        Candidate("one value", seen(draw.normal(size=(1, 12)), [0.0], [0.2]), 1.0),
        Candidate("many values", seen(draw.normal(size=(40, 12)), np.zeros(40), [0.9] * 40), 3.0),
        Candidate("late error", replace(bench.readings[2], common=(late,)), 3.0),
    ]
    found = prospect.worths(candidates)
    for candidate, worth in zip(candidates, found):
        alone = prospect.worth(candidate, chance=False)
        for what in ("unknown", "adjusted"):
            assert of(worth.then, what) == pytest.approx(of(alone.then, what), rel=1e-9)
        assert (worth.name, worth.minutes) == (candidate.name, candidate.minutes)
        assert worth.gain == pytest.approx(alone.gain, rel=1e-9, abs=1e-12)
        taken_ = prospect.knowledge.with_one_more(candidate.observation)
        left = np.sqrt((taken_.uncertainty(bench.flat, 1) ** 2).reshape(6, 2).sum(axis=1))
        assert of(worth.then, "unknown") == pytest.approx(left, rel=1e-9), candidate.name
    assert prospect.worths([]) == []


def test_a_ranking_is_in_order() -> None:
    """Candidates come the best for a minute first, or the best of all first; each as if asked alone."""
    bench = Bench()
    by_minute = ranking(bench.prospect(), bench.candidates())
    assert [w.gain_per_minute for w in by_minute] == sorted(
        (w.gain_per_minute for w in by_minute), reverse=True
    )
    by_gain = ranking(bench.prospect(), bench.candidates(), per_minute=False)
    assert [w.gain for w in by_gain] == sorted((w.gain for w in by_gain), reverse=True)
    alone = {c.name: bench.prospect().worth(c) for c in bench.candidates()}
    assert all(alone[worth.name] == worth for worth in by_minute)


# ------------------------------------------------------------------------------------------------- the real machine
def test_the_clock_plate_machine_is_left_with_what_is_foretold() -> None:
    """Every declared test of the clock-plate machine leaves unknown of every target what is found after taking
    it on the machine as designed, to 1e-8; the tram tells more of its own target than any sweep of X does.
    """
    loop = clock_plate()
    targets = list(loop.build.targets.values())
    rows: list[Rows] = [loop.rows(target) for target in targets]
    known = learn(as_designed(clock_prior()), [])
    prospect = Prospect(known, rows, [t.limit for t in targets], tuple(loop.settings.values()))
    gains = {}
    for (name, test), one in zip(loop.build.tests.items(), proving_readings()):
        worth = prospect.worth(Candidate(name, one, test.minutes), chance=False)
        after = known.with_one_more(one)
        for left, target in zip(worth.then, rows):
            found = np.sqrt((after.uncertainty(target.matrix, 1) ** 2).sum(axis=1).max())
            assert left.unknown == pytest.approx(found, rel=1e-8)
        gains[name] = worth.now[1].unknown - worth.then[1].unknown
    assert gains["spindle tram front to back"] > 10 * gains["X positioning"]


def test_an_adjuster_on_the_real_machine_takes_out_what_is_known() -> None:
    """The spindle is trammed and the column shimmed by what was found, on 20,000 clock-plate machines: the mean
    square left of the target at each corner of the table is the one foretold.
    """
    loop = clock_plate()
    target = loop.build.targets["spindle square to table, front to back"]
    corners = [
        loop.rows(target, {"X": np.array([x]), "Y": np.array([y])})
        for x in (0.0, 320.0)
        for y in (0.0, 220.0)
    ]
    shims = [place for name, place in loop.settings.items() if name.startswith("column")]
    known = learn(as_designed(clock_prior()), [])
    names = list(loop.build.tests)
    one = proving_readings()[names.index("spindle tram front to back")]
    prospect = Prospect(known, corners, [target.limit] * 4, shims)
    worth = prospect.worth(Candidate("tram", one, 10.0))
    flat = np.concatenate([r.matrix[0] for r in corners])
    truth, expected = taken(known, one, MACHINES, 9).errors(flat)
    left = adjusted(truth, expected, flat[:, shims], np.full(4, 1 / target.limit))
    assert of(worth.then, "adjusted") == pytest.approx(np.sqrt((left**2).mean(axis=1)), rel=SPREAD)
    chance = (np.abs(left) <= target.limit).mean(axis=1)
    assert of(worth.then, "chance") == pytest.approx(chance, abs=CHANCE_SPREAD)
    assert (of(worth.then, "adjusted") < 0.5 * of(worth.now, "adjusted")).all()
