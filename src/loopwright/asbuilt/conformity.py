"""Whether a measured value meets its limits: probability of conformity, guarded limits, verdict."""

from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite, isnan

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.coverage import coverage_factor_t

Array = NDArray[np.float64]


class Verdict(StrEnum):
    """What can be said of a measured value against its limits."""

    CONFORMING = "conforming"
    NOT_CONFORMING = "not conforming"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class GuardRule:
    """How far inside (outside) of a limit a value must be before conformity (the opposite) is proven.

    Attributes:
        name: what the rule is called.
        probability: of conformity, at the guarded limit; or None.
        multiple: guard band in standard uncertainties, where no probability sets it.
    """

    name: str
    probability: float | None = None
    multiple: float = 2.0

    def __post_init__(self) -> None:
        p = self.probability
        if (p is not None and not 0.5 <= p < 1) or not 0 <= self.multiple < inf:
            raise RequestError(
                "a guard band asks for a probability from 0.5 to under 1, or a multiple of zero or more",
                "take ISO_14253_1_2017",
            )


ISO_14253_1_2017 = GuardRule("ISO 14253-1:2017", probability=0.95)
"""Conformity with 95 % probability at the guarded limit: a guard band of 1.645 u."""

ISO_14253_1_1998 = GuardRule("ISO 14253-1:1998", multiple=2.0)
"""A guard band of the whole expanded uncertainty, U = 2 u."""


@dataclass(frozen=True, slots=True)
class Conformity:
    """A verdict, and all that it rests on; lengths in mm or whatever unit the value has.

    Attributes:
        verdict: conforming only where the value lies in the acceptance zone.
        value: measured value.
        std: its standard uncertainty.
        dof: degrees of freedom of that.
        lower, upper: the limits; infinite where there is none.
        acceptance: guarded limits: conformity is proven from the first to the second; None where the
            limits are so close that no value proves it.
        guard: guard band inside of the limits.
        guard_outside: guard band outside of them, beyond which non-conformity is proven.
        probability: of conformity.
        rule: name of the rule.
    """

    verdict: Verdict
    value: float
    std: float
    dof: float
    lower: float
    upper: float
    acceptance: tuple[float, float] | None
    guard: float
    guard_outside: float
    probability: float
    rule: str


def probability_of_conformity(
    value: ArrayLike,
    std: ArrayLike,
    *,
    lower: ArrayLike = -inf,
    upper: ArrayLike = inf,
    dof: float = inf,
) -> Array:
    r"""Probability that the true value lies within its limits.

    .. math:: p = F\Big(\frac{T_U - y}{u}\Big) - F\Big(\frac{T_L - y}{u}\Big)

    with the normal distribution, or Student's where u is known from few readings. What is known of the
    value beforehand does not enter.

    Args:
        value: measured, y.
        std: its standard uncertainty u, same unit; zero gives 0 or 1.
        lower: limit T_L; minus infinity where there is none.
        upper: limit T_U; infinity where there is none. All four broadcast.
        dof: degrees of freedom of u; infinite for the normal distribution.

    Returns:
        Probability, 0 to 1, shape of the arguments broadcast.

    Raises:
        RequestError: u is negative, a limit is not a number, or the lower lies above the upper.

    Source: JCGM 106:2012, 7.3 and 7.4. Checked in: tests/published/test_jcgm_106.py.

    >>> round(float(probability_of_conformity(13.6, 1.8, lower=12.5, upper=16.3)), 2)
    0.66
    """
    y, u, low, high = (np.asarray(v, float) for v in (value, std, lower, upper))
    if not (np.isfinite(y).all() and np.isfinite(u).all() and (u >= 0).all() and dof > 0):
        raise RequestError("value and uncertainty must be finite, and no uncertainty negative", "check them")
    if not (low <= high).all():
        raise RequestError("a limit is missing, or the lower lies above the upper", "check the limits")
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (low - y) / u, (high - y) / u
    # on the limit itself (0 / 0) is within
    a, b = np.where(np.isnan(a), -inf, a), np.where(np.isnan(b), inf, b)
    flip = a > 0  # the difference of two numbers near one would lose the tail
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    return np.asarray(np.clip(_share_below(b, dof) - _share_below(a, dof), 0.0, 1.0), float)


def _share_below(z: Array, dof: float) -> Array:
    from scipy.special import ndtr, stdtr  # slow to load, and few ask for it

    return np.asarray(ndtr(z) if dof == inf else stdtr(dof, z), float)


def decide(
    value: float,
    std: float,
    *,
    lower: float = -inf,
    upper: float = inf,
    dof: float = inf,
    rule: GuardRule = ISO_14253_1_2017,
    expanded: float | None = None,
) -> Conformity:
    """Verdict on a measured value: conforming, not conforming, or undecided with its probability.

    Conforming: the value lies inside of both limits by the guard band or more. Not conforming: it lies
    outside of one of them by more than the guard band. Undecided: neither is proven. Between two limits that
    lie within a few uncertainties of each other the guard band of a probability rule grows, as both sides
    take from it; at last no value proves conformity.

    Args:
        value: measured.
        std: its standard uncertainty, same unit.
        lower: lower limit; minus infinity where there is none.
        upper: upper limit; infinity where there is none.
        dof: degrees of freedom of the uncertainty; few widen the guard band of a probability rule.
        rule: decision rule.
        expanded: expanded uncertainty as stated, which a rule with a multiple then takes as guard band.

    Returns:
        The verdict with limits, guard band and probability.

    Raises:
        RequestError: no limit at all, limits that exclude each other, or values that are not finite.

    Source: ISO 14253-1:2017, 5; JCGM 106:2012, 8.3.2 (guarded acceptance) and 8.3.3 (guarded rejection).
        Checked in: tests/published/test_iso_14253_1.py.

    >>> decide(25.012, 0.002, lower=25.0, upper=25.021).verdict
    <Verdict.CONFORMING: 'conforming'>
    >>> found = decide(25.019, 0.002, lower=25.0, upper=25.021)
    >>> str(found.verdict), round(found.probability, 2), round(found.guard, 4)
    ('undecided', 0.84, 0.0033)
    """
    if lower == -inf and upper == inf:
        raise RequestError("there is no limit to hold the value against", "give a lower or an upper limit")
    if lower == inf or upper == -inf or isnan(lower) or isnan(upper) or lower >= upper:
        raise RequestError(f"limits of {lower:g} and {upper:g} leave nothing between", "check the limits")
    probability = float(probability_of_conformity(value, std, lower=lower, upper=upper, dof=dof))
    inside, outside = _guards(std, (upper - lower) / std if std else inf, dof, rule, expanded)
    within = None if 2 * inside > upper - lower else (lower + inside, upper - inside)
    slack = 1e-9 * max(outside, 0.0)  # a value typed as the guarded limit itself is on it
    if within is not None and within[0] - slack <= value <= within[1] + slack:
        verdict = Verdict.CONFORMING
    elif value < lower - outside - slack or value > upper + outside + slack:
        verdict = Verdict.NOT_CONFORMING
    else:
        verdict = Verdict.UNDECIDED
    return Conformity(verdict, value, std, dof, lower, upper, within, inside, outside, probability, rule.name)


def _guards(
    std: float, width: float, dof: float, rule: GuardRule, expanded: float | None
) -> tuple[float, float]:
    """Guard bands inside and outside; ``width`` of the tolerance in standard uncertainties."""
    if expanded is not None and not (isfinite(expanded) and expanded >= 0):
        raise RequestError(f"an expanded uncertainty of {expanded:g}", "give zero or more")
    if rule.probability is None:
        band = rule.multiple * std if expanded is None else expanded
        return band, band
    if std == 0:
        return 0.0, 0.0
    one_sided = coverage_factor_t(2 * rule.probability - 1, dof) if rule.probability > 0.5 else 0.0
    return std * _inside_multiple(rule.probability, width, one_sided, dof), std * one_sided


def _inside_multiple(probability: float, width: float, one_sided: float, dof: float) -> float:
    """Distance z from the nearer of two limits at which the probability is reached, in standard uncertainties.

    Infinite where not even the middle reaches it.
    """

    def reached(z: float) -> float:
        return float(probability_of_conformity(0.0, 1.0, lower=-(width - z), upper=z, dof=dof))

    if width == inf or reached(one_sided) >= probability - 1e-12:
        return one_sided
    if reached(width / 2) < probability:
        return inf
    low, high = min(one_sided, width / 2), width / 2
    while high - low > 1e-12 * high:
        middle = (low + high) / 2
        low, high = (low, middle) if reached(middle) >= probability else (middle, high)
    return high
