"""What holds for every verdict."""

from math import inf

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loopwright.asbuilt.conformity import (
    ISO_14253_1_1998,
    ISO_14253_1_2017,
    GuardRule,
    Verdict,
    decide,
    probability_of_conformity,
)

VALUE = st.floats(-10, 10, allow_subnormal=False)
STD = st.floats(0.01, 5)
DOF = st.sampled_from([1.0, 3.0, 10.0, inf])
RULE = st.sampled_from([ISO_14253_1_2017, ISO_14253_1_1998, GuardRule("strict", probability=0.999)])


@st.composite
def limits(draw: st.DrawFn) -> tuple[float, float]:
    """One limit or two."""
    low = draw(st.floats(-5, 5))
    width = draw(st.floats(0.01, 20))
    return draw(st.sampled_from([(low, low + width), (-inf, low), (low, inf)]))


@given(VALUE, STD, limits(), DOF, RULE)
def test_proven_means_probable(
    value: float, std: float, limit: tuple[float, float], dof: float, rule: GuardRule
) -> None:
    """What a probability rule proves is as probable as it asks, whether conformity or the opposite."""
    found = decide(value, std, lower=limit[0], upper=limit[1], dof=dof, rule=rule)
    if rule.probability is not None and found.verdict is Verdict.CONFORMING:
        assert found.probability >= rule.probability - 1e-6
    if rule.probability is not None and found.verdict is Verdict.NOT_CONFORMING:
        assert found.probability <= 1 - rule.probability + 1e-6
    if found.verdict is Verdict.CONFORMING:
        assert limit[0] <= value <= limit[1]
    if limit[0] <= value <= limit[1]:
        assert found.verdict is not Verdict.NOT_CONFORMING


@given(VALUE, STD, limits(), DOF, RULE)
def test_a_mirror_changes_nothing(
    value: float, std: float, limit: tuple[float, float], dof: float, rule: GuardRule
) -> None:
    """Turning value and limits over keeps the verdict and the probability."""
    found = decide(value, std, lower=limit[0], upper=limit[1], dof=dof, rule=rule)
    turned = decide(-value, std, lower=-limit[1], upper=-limit[0], dof=dof, rule=rule)
    assert turned.verdict is found.verdict
    assert turned.probability == pytest.approx(found.probability, abs=1e-12)
    assert turned.guard == pytest.approx(found.guard)


@given(VALUE, STD, limits(), DOF, st.sampled_from([0.001, 25.4, 1000.0]))
def test_the_unit_changes_nothing(
    value: float, std: float, limit: tuple[float, float], dof: float, unit: float
) -> None:
    """Millimetres, inches or micrometres: the probability is the same."""
    found = probability_of_conformity(value, std, lower=limit[0], upper=limit[1], dof=dof)
    other = probability_of_conformity(
        value * unit, std * unit, lower=limit[0] * unit, upper=limit[1] * unit, dof=dof
    )
    assert other == pytest.approx(found, abs=1e-12)


@given(VALUE, STD, VALUE, DOF)
def test_a_limit_parts_all_there_is(value: float, std: float, limit: float, dof: float) -> None:
    """To lie below a limit and to lie above it are together certain."""
    below = probability_of_conformity(value, std, upper=limit, dof=dof)
    above = probability_of_conformity(value, std, lower=limit, dof=dof)
    assert below + above == pytest.approx(1, abs=1e-12)


@given(STD, limits(), DOF)
def test_moving_inwards_never_harms(std: float, limit: tuple[float, float], dof: float) -> None:
    """The nearer to the middle of its limits a value lies, the more probably it conforms."""
    assume(np.isfinite(limit).all())
    middle = sum(limit) / 2
    values = middle + np.linspace(0, 3 * (limit[1] - limit[0]), 40)
    found = probability_of_conformity(values, std, lower=limit[0], upper=limit[1], dof=dof)
    assert (np.diff(found) <= 1e-12).all()
    assert ((found >= 0) & (found <= 1)).all()


@given(VALUE, STD, limits(), st.floats(0, 4), st.floats(0, 4))
def test_a_wider_guard_band_proves_no_more(
    value: float, std: float, limit: tuple[float, float], one: float, other: float
) -> None:
    """Whatever a wide guard band proves, a narrow one proves too."""
    narrow, wide = (GuardRule("k u", multiple=k) for k in sorted((one, other)))
    strict = decide(value, std, lower=limit[0], upper=limit[1], rule=wide).verdict
    if strict is not Verdict.UNDECIDED:
        assert decide(value, std, lower=limit[0], upper=limit[1], rule=narrow).verdict is strict
