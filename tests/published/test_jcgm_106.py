"""JCGM 106:2012, 7.3, 7.4 and 8.3: probability of conformity, and a guarded limit of speed.

Joint Committee for Guides in Metrology, *Evaluation of measurement data: The role of measurement uncertainty
in conformity assessment*, JCGM 106:2012. Inputs and results of the examples from memory.
"""

from math import inf

import pytest

from loopwright.asbuilt.conformity import GuardRule, Verdict, decide, probability_of_conformity


@pytest.mark.parametrize(
    ("value", "std", "lower", "upper", "percent"),
    [(-5.47, 0.05, -inf, -5.40, 92), (507.0, 10.0, 490.0, inf, 96)],
    ids=["breakdown voltage", "burst pressure"],
)
def test_one_sided(value: float, std: float, lower: float, upper: float, percent: float) -> None:
    """Breakdown voltage -5.47 V (u = 0.05 V) under -5.40 V: 92 %; burst pressure 507 kPa (u = 10 kPa) over 490
    kPa: 96 %.
    """
    found = probability_of_conformity(value, std, lower=lower, upper=upper)
    assert found * 100 == pytest.approx(percent, abs=0.5)


def test_two_sided() -> None:
    """Viscosity 13.6 mm²/s (u = 1.8 mm²/s) between 12.5 and 16.3 mm²/s: 66 %."""
    found = probability_of_conformity(13.6, 1.8, lower=12.5, upper=16.3)
    assert found == pytest.approx(0.66, abs=0.005)
    assert decide(13.6, 1.8, lower=12.5, upper=16.3).verdict is Verdict.UNDECIDED


@pytest.mark.parametrize(("speed", "verdict"), [(106, Verdict.UNDECIDED), (107, Verdict.NOT_CONFORMING)])
def test_guarded_rejection(speed: float, verdict: Verdict) -> None:
    """A speed over 100 km/h, read to u = 2 %, is proven with 99.9 % from 107 km/h on: a guard band of 7 km/h."""
    found = decide(speed, 0.02 * speed, upper=100.0, rule=GuardRule("speed", probability=0.999))
    assert found.verdict is verdict
    assert found.guard_outside == pytest.approx(7, abs=0.5)
