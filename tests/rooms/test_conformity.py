"""Verdicts on measured values: a shaft of our own, and limits that lie close together."""

from math import inf, nan

import numpy as np
import pytest
from scipy import stats

from loopwright.asbuilt.conformity import (
    ISO_14253_1_1998,
    ISO_14253_1_2017,
    GuardRule,
    Verdict,
    decide,
    probability_of_conformity,
)
from loopwright.errors import RequestError

SHAFT = {"lower": 20.000, "upper": 20.050}


@pytest.mark.parametrize(
    ("size", "verdict"),
    [
        (20.020, Verdict.CONFORMING),
        (20.035, Verdict.CONFORMING),
        (20.0351, Verdict.UNDECIDED),
        (20.040, Verdict.UNDECIDED),
        (20.060, Verdict.UNDECIDED),
        (20.065, Verdict.UNDECIDED),
        (20.070, Verdict.NOT_CONFORMING),
        (19.984, Verdict.NOT_CONFORMING),
    ],
)
def test_the_whole_uncertainty_as_guard_band(size: float, verdict: Verdict) -> None:
    """A shaft of 20.000 to 20.050 mm read to U = 0.015 mm is proven good from 20.015 to 20.035 mm."""
    found = decide(size, 0.0075, rule=ISO_14253_1_1998, expanded=0.015, **SHAFT)
    assert found.verdict is verdict
    assert found.acceptance == pytest.approx((20.015, 20.035))


def test_a_value_near_its_limit_is_never_passed() -> None:
    """A shaft at its very limit conforms with 50 % and stays undecided; the guard band is stated."""
    found = decide(20.050, 0.0075, **SHAFT)
    assert (found.verdict, found.rule) == (Verdict.UNDECIDED, "ISO 14253-1:2017")
    assert found.probability == pytest.approx(0.5, abs=1e-9)
    assert found.guard == pytest.approx(0.0123, abs=0.00005)


def test_close_limits_widen_the_guard_band() -> None:
    """Between limits four u apart, 95 % is reached at 1.80 u and not at 1.645 u: the other side takes its part."""
    found = decide(0.0, 1.0, lower=-2.0, upper=2.0)
    assert found.guard == pytest.approx(1.796, abs=0.0005)
    at_limit = probability_of_conformity(2 - found.guard, 1.0, lower=-2.0, upper=2.0)
    assert at_limit == pytest.approx(0.95, abs=1e-9)
    assert found.verdict is Verdict.CONFORMING


def test_limits_closer_than_the_uncertainty_prove_nothing() -> None:
    """Limits three u apart are met with 87 % in their very middle: no value is proven to conform."""
    found = decide(0.0, 1.0, lower=-1.5, upper=1.5)
    assert found.verdict is Verdict.UNDECIDED
    assert (found.acceptance, found.guard) == (None, inf)
    assert found.probability == pytest.approx(0.866, abs=0.0005)


def test_few_degrees_of_freedom_widen_the_guard_band() -> None:
    """With u known from four readings, the guard band is t(0.95, 3) = 2.353 u, and the tails are Student's."""
    found = decide(0.0, 1.0, upper=2.0, dof=3)
    assert found.guard == pytest.approx(2.353, abs=0.0005)
    assert found.verdict is Verdict.UNDECIDED
    assert found.probability == pytest.approx(stats.t.cdf(2.0, 3), rel=1e-12)


def test_far_tails_are_not_lost() -> None:
    """Twelve u above its upper limit, a value conforms with 1.8e-33, and not with zero."""
    found = probability_of_conformity([12.0, -13.0], 1.0, lower=-1.0, upper=0.0)
    assert found == pytest.approx([stats.norm.sf(12) - stats.norm.sf(13)] * 2, rel=1e-9)


def test_drawn_values_agree() -> None:
    """Of true values drawn about the reading, as many lie within the limits as the probability says."""
    draws = np.random.default_rng(1).normal(13.6, 1.8, 400_000)
    share = np.mean((draws >= 12.5) & (draws <= 16.3))
    found = probability_of_conformity(13.6, 1.8, lower=12.5, upper=16.3)
    assert share == pytest.approx(found, abs=4 * (0.25 / 400_000) ** 0.5)


@pytest.mark.parametrize(("value", "verdict"), [(1.0, Verdict.CONFORMING), (1.0001, Verdict.NOT_CONFORMING)])
def test_without_uncertainty_the_limit_itself_decides(value: float, verdict: Verdict) -> None:
    """A value known exactly conforms up to its limit, and not beyond."""
    found = decide(value, 0.0, upper=1.0)
    assert found.verdict is verdict
    assert found.probability == float(verdict is Verdict.CONFORMING)


def test_what_cannot_be_judged_is_refused() -> None:
    """No limit, limits in the wrong order, and numbers that are none are refused."""
    for value, std, limits in (
        (1.0, 0.1, {}),
        (1.0, 0.1, {"lower": 2.0, "upper": 1.0}),
        (1.0, 0.1, {"upper": nan}),
        (nan, 0.1, {"upper": 1.0}),
        (1.0, -0.1, {"upper": 1.0}),
        (1.0, 0.1, {"upper": 1.0, "expanded": -1.0, "rule": ISO_14253_1_1998}),
    ):
        with pytest.raises(RequestError):
            decide(value, std, **limits)
    for wrong in ({"probability": 0.3}, {"multiple": -1.0}):
        with pytest.raises(RequestError):
            GuardRule("wrong", **wrong)
    assert ISO_14253_1_2017.probability == 0.95
