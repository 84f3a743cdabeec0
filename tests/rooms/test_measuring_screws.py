"""Travel of a screw, its bandwidths and its grade."""

from dataclasses import replace

import numpy as np
import pytest

from loopwright.errors import OutOfRange, RequestError
from loopwright.handbook.screws import lead_error
from loopwright.measuring.screw_grades import Verdict, best_grade, judge, least_readings
from loopwright.measuring.screws import Travel, evaluate_travel


def wavy(step: float) -> tuple[np.ndarray, np.ndarray]:
    """A screw of 600 mm that is 8 µm short at its end and waves by 3 µm each 300 mm, read each step."""
    x = np.arange(0, 600 + step / 2, step)
    return x, (-8 * x / 600 + 3 * np.sin(2 * np.pi * x / 300)) * 1e-3


@pytest.mark.parametrize(
    ("step", "e_0a", "v_ua"), [(1.0, -10.850416, 6.729567), (50.0, -10.055621, 5.881359)]
)
def test_a_wavy_screw(step: float, e_0a: float, v_ua: float) -> None:
    """The wave shifts the mean travel from -8 to near -10.9 µm, and coarse readings change it (constructed)."""
    found = evaluate_travel(*wavy(step), u=1e-4)
    assert found.mean_deviation * 1e3 == pytest.approx(e_0a, abs=5e-7)
    assert found.whole.value * 1e3 == pytest.approx(v_ua, abs=5e-7)
    assert found.readings == len(wavy(step)[0])


def brute_band(x: np.ndarray, left: np.ndarray, window: float) -> float:
    """Widest band over all windows that begin or end at a reading."""
    starts = np.concatenate([x, x - window])
    starts = starts[(starts >= x[0] - 1e-9) & (starts + window <= x[-1] + 1e-9)]
    return max(np.ptp(left[(x >= s - 1e-9) & (x <= s + window + 1e-9)]) for s in starts)


@pytest.mark.parametrize("seed", range(12))
def test_moving_windows(seed: int) -> None:
    """v_300a and v_2πa equal a search over every window, evenly read or not, in any order."""
    draw = np.random.Generator(np.random.PCG64(seed))
    x = np.sort(draw.uniform(0, 700, 800)) if seed % 2 else np.arange(0, 700.5, 1.0)
    e = np.cumsum(draw.normal(size=len(x))) * 1e-4
    shuffled = draw.permutation(len(x))
    lead = 40.0
    found = evaluate_travel(x[shuffled], e[shuffled], u=1e-4, lead=lead)
    assert found.in_300.value == pytest.approx(brute_band(x, found.residuals, 300), abs=1e-15)
    assert found.in_revolution.value == pytest.approx(brute_band(x, found.residuals, lead), abs=1e-15)
    assert found.in_revolution.value <= found.in_300.value <= found.whole.value
    assert found.in_300.end - found.in_300.start <= 300 + 1e-9


def test_compensation_is_not_an_error() -> None:
    """A screw made 12 µm short on purpose, and found 11 µm short, departs by 1 µm."""
    found = evaluate_travel([0, 300, 600], [0, -5.5e-3, -11e-3], u=1e-4, compensation=-12e-3)
    assert (found.mean_deviation, found.departure) == pytest.approx((-11e-3, 1e-3))


def test_a_short_screw_has_one_window() -> None:
    """On 200 mm of travel the band in 300 mm is the band over all of it, and the verdict says so."""
    x = np.arange(0, 201, 10.0)
    found = evaluate_travel(x, np.sin(x) * 1e-3, u=1e-5, lead=5)
    assert found.in_300.value == found.whole.value
    assert any("shorter than 300" in note for note in judge(found, "C5").notes)


@pytest.mark.parametrize(
    ("lead", "what"), [(None, "not stated"), (5.0, "no revolution of 5 mm has 8"), (700.0, "do not cover")]
)
def test_a_revolution_asks_for_dense_readings(lead: float | None, what: str) -> None:
    """Without a lead, with coarse readings or with less than a turn, v_2πa is None and says why."""
    band = evaluate_travel(*wavy(10), u=1e-4, lead=lead).in_revolution
    assert (band.value, band.u, band.start) == (None, None, None)
    assert what in band.reason


def test_some_revolutions_may_stand_for_all() -> None:
    """Two revolutions read densely among coarse readings give v_2πa, and the verdict says over how much."""
    coarse, lead = np.arange(0, 601, 10.0), 5.0
    x = np.union1d(coarse, np.concatenate([at + np.arange(9) * lead / 8 for at in (100, 500)]))
    drunk = 1e-3 * np.sin(2 * np.pi * x / lead)
    found = evaluate_travel(x, drunk, u=1e-5, lead=lead)
    assert found.in_revolution.value == pytest.approx(2e-3, rel=1e-3)
    assert found.in_revolution.covered == pytest.approx(2 * lead / 600)
    assert any("over 1.7 % of the travel" in note for note in judge(found, "C5").notes)
    every_seventh = evaluate_travel(np.arange(0, 71) * lead / 7, np.zeros(71), u=1e-5, lead=lead)
    assert every_seventh.in_revolution.value is None


def test_uncertainty_against_simulation() -> None:
    """e_0a and both bands scatter over 4000 trials as first order says, the scale of the gauge included."""
    draw = np.random.Generator(np.random.PCG64(41))
    x = np.arange(0, 601, 50.0)
    e = draw.normal(size=13) * 5e-4
    e[[2, 5, 11]] += [5e-3, -4e-3, -6e-3]  # far from a tie
    scale = x * 2e-7
    told = evaluate_travel(x, e, u=5e-5, covariance=np.outer(scale, scale))
    noisy = e + draw.normal(size=(4000, 13)) * 5e-5 + draw.normal(size=(4000, 1)) * scale
    lines = np.polynomial.polynomial.polyfit(x, noisy.T, 1)
    left = noisy - lines[0][:, None] - lines[1][:, None] * x
    in_300 = np.max([np.ptp(left[:, i : i + 7], axis=1) for i in range(7)], axis=0)
    assert (lines[1] * 600).std(ddof=1) == pytest.approx(told.u_deviation, rel=0.05)
    assert np.ptp(left, axis=1).std(ddof=1) == pytest.approx(told.whole.u, rel=0.05)
    assert in_300.std(ddof=1) == pytest.approx(told.in_300.u, rel=0.05)
    assert told.u_deviation > 600 * 2e-7


def dense(size: float, u: float = 1e-5) -> Travel:
    """A screw of 5 mm lead, 600 mm, read each half millimetre, with a wave and a drunken thread of a size."""
    x = np.arange(0, 600.1, 0.5)
    return evaluate_travel(
        x, size * (np.sin(2 * np.pi * x / 420) + 0.4 * np.sin(2 * np.pi * x / 5)), u=u, lead=5
    )


def test_a_good_screw_meets_every_limit_of_its_grade() -> None:
    """Every limit carries value, uncertainty, source and verdict; all four conform for C3."""
    found = judge(dense(2e-3), "C3")
    limits = lead_error("C3", 600)
    assert found.verdict is Verdict.CONFORMING
    assert [c.name for c in found.checks] == ["e_sa", "v_ua", "v_300a", "v_2πa"]
    assert [c.limit for c in found.checks] == [
        limits.travel_deviation,
        limits.bandwidth_travel,
        limits.bandwidth_300,
        limits.bandwidth_revolution,
    ]
    assert {c.standard for c in found.checks} == {"JIS B 1192"}
    assert {c.source for c in found.checks} == {limits.source}
    assert all(c.probability > 0.95 for c in found.checks)
    assert found.least_readings == least_readings(5, "C3") == 10


def test_verdicts_go_by_the_uncertainty() -> None:
    """One limit broken breaks the grade; a band near its limit is undecided with a large uncertainty."""
    assert judge(dense(20e-3), "C3").verdict is Verdict.NOT_CONFORMING
    sure, unsure = judge(dense(2e-3, u=1e-5), "C1"), judge(dense(2e-3, u=3e-3), "C1")
    assert Verdict.UNDECIDED not in {c.verdict for c in sure.checks}
    doubted = [c for c in unsure.checks if c.verdict is Verdict.UNDECIDED]
    assert doubted
    assert {c.reason for c in doubted} == {"the uncertainty covers the limit"}
    assert all(0.05 < c.probability < 0.95 for c in doubted)


def test_probability_by_hand() -> None:
    """A departure of 47 µm, u 2 µm, against ±50 µm: 1.5 u of room, 93.32 %, undecided (normal table)."""
    x = np.arange(0, 301, 30.0)
    u_needed = 2e-3 * np.sqrt(np.sum((x - 150) ** 2)) / 300
    travel = evaluate_travel(x, 47e-3 * x / 300, u=u_needed, lead=10)
    (check,) = judge(travel, "C7").checks
    assert check.u == pytest.approx(2e-3)
    assert check.probability == pytest.approx(0.9332, abs=5e-5)
    assert check.verdict is Verdict.UNDECIDED


def test_without_uncertainty_a_value_at_its_limit_conforms() -> None:
    """A departure of just its limit conforms where nothing is uncertain, to either side; one beyond it does not."""
    travel = evaluate_travel([0, 100, 200, 300], [0, 0, 0, 0], u=0, lead=10)
    limit = lead_error("C7", 300).travel_deviation
    for size, verdict in ((limit, Verdict.CONFORMING), (limit * (1 + 1e-9), Verdict.NOT_CONFORMING)):
        for sign in (1, -1):
            assert judge(replace(travel, departure=sign * size), "C7").verdict is verdict


def test_the_best_grade() -> None:
    """A better screw meets a finer grade of each system; one too long for a table is judged by the others."""
    # bands in 300 mm of 1.4, 5.5 and 13.8 µm against 3.5 (C0), 5 (C1), 7 (C2), 8 (C3) and 18 (C5)
    assert [best_grade(dense(size), "C").grade for size in (5e-4, 2e-3, 5e-3)] == ["C0", "C2", "C5"]
    assert best_grade(dense(2e-3), "P").grade == "P1"
    assert best_grade(dense(2e-3), "T").grade == "T1"
    assert best_grade(dense(0.5), "P") is None
    x = np.arange(0, 3001, 20.0)
    assert best_grade(evaluate_travel(x, 0 * x, u=1e-5, lead=20), "T").grade == "T1"


def test_too_few_readings_prove_nothing() -> None:
    """With fewer readings in 300 mm than the grade asks for, the verdict is undecided and says how many."""
    few = judge(evaluate_travel(*wavy(100), u=1e-4, lead=5), "C3")
    assert few.verdict is Verdict.UNDECIDED
    assert "asks for 10 or more" in few.checks[0].reason
    unknown = judge(evaluate_travel(*wavy(100), u=1e-4), "T9")
    assert "lead is not stated" in unknown.checks[0].reason


@pytest.mark.parametrize(
    ("lead", "grade", "readings"),
    [
        (2.0, "P1", 30),
        (4.0, "P1", 30),
        (8.0, "C5", 6),
        (25.0, "T10", 1),
        (5.0, "C0", 15),
        (5.0, "C2", 15),
        (5, "C8", 3),
    ],
)
def test_readings_between_the_lines_of_the_table(lead: float, grade: str, readings: int) -> None:
    """Between leads the shorter one counts, between grades the finer one."""
    assert least_readings(lead, grade) == readings


def test_bad_input_is_named() -> None:
    """Unknown grades and systems, too few readings and a lead of nothing are refused by name."""
    travel = dense(1e-3)
    with pytest.raises(OutOfRange, match="'Q4'"):
        judge(travel, "Q4")
    with pytest.raises(RequestError, match="'Q'"):
        best_grade(travel, "Q")
    with pytest.raises(RequestError, match="'lead' is 0"):
        least_readings(0, "C3")
    with pytest.raises(RequestError, match="not a grade"):
        least_readings(5, "good")
    with pytest.raises(RequestError, match="only 2"):
        evaluate_travel([0, 1], [0, 0], u=0)
    with pytest.raises(RequestError, match="'lead' is -5"):
        evaluate_travel([0, 1, 2], [0, 0, 0], u=0, lead=-5)
    with pytest.raises(RequestError, match="'compensation'"):
        evaluate_travel([0, 1, 2], [0, 0, 0], u=0, compensation=np.nan)
