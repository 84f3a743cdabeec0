"""What one reading of a gauge is worth: its uncertainty budget, shown line by line (JCGM 100)."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import inf, sqrt

import numpy as np
from numpy.typing import ArrayLike

from loopwright.errors import RequestError
from loopwright.measuring.coverage import expanded_uncertainty
from loopwright.measuring.spreads import Contribution, standard_uncertainty
from loopwright.measuring.temperature import Corrected, Warmth, at_reference, taken_for_steel
from loopwright.model.indications import Gauge
from loopwright.model.spread import Shape, Spread
from loopwright.units import Dimension

__all__ = ["Contribution", "ReadingBudget", "budget_of", "comparison"]

FEWEST_READINGS = 3
"""Scatter is told from fewer readings by nobody; common practice."""

CALIBRATION = "calibration"


@dataclass(frozen=True, slots=True)
class ReadingBudget:
    """A reading with its uncertainty, and what that is made of.

    Attributes:
        value: the reading, corrected for all that is known; mm or rad.
        contributions: what leaves it open, the largest first.
        combined: combined standard uncertainty.
        dof: its effective degrees of freedom.
        factor: coverage factor.
        expanded: factor x combined.
        confidence: coverage of value ± expanded.
        remarks: sentences on what the budget could not know, or what weakens it.
    """

    value: float
    contributions: tuple[Contribution, ...]
    combined: float
    dof: float
    factor: float
    expanded: float
    confidence: float
    remarks: tuple[str, ...] = ()

    @property
    def shared_std(self) -> float:
        """Standard uncertainty that all readings of this gauge near this size have in common."""
        return sqrt(sum(c.std**2 for c in self.contributions if c.shared))

    @property
    def own_std(self) -> float:
        """Standard uncertainty of this reading alone."""
        return sqrt(sum(c.std**2 for c in self.contributions if not c.shared))


def budget_of(
    gauge: Gauge,
    values: ArrayLike,
    *,
    assume: Shape = Shape.RECTANGULAR,
    both_directions: bool = False,
    since_zero: float = 0.0,
    warmth: Warmth | None = None,
    on: date | None = None,
    confidence: float = 0.95,
) -> ReadingBudget:
    """Uncertainty budget of one reading, taken once or several times over.

    * Resolution: a rectangle of one step, half to either side; repeating does not average it away.
    * Calibration: as stated; shared by all readings of the gauge near one size. A known error is taken off.
    * Repeatability: as stated, over the root of n. Where three readings or more scatter so much that the
      stated figure cannot be right (F-test, 95 %), their own scatter is taken instead, with n - 1 degrees
      of freedom. So it is where nothing is stated.
    * Reversal: a rectangle, only where the reading was approached from both directions.
    * Drift of the zero, and the temperatures of part and scale, where they are given.

    Args:
        gauge: the gauge.
        values: what it showed, (n,), n repeats of one reading; mm or rad.
        assume: shape of a bare limit.
        both_directions: approached now from one side, now from the other.
        since_zero: how much the gauge warmed since its zero was set, K.
        warmth: temperatures and coefficients; None leaves the reading as it is.
        on: day of the reading, against which the calibration's due date is held.
        confidence: coverage of the expanded uncertainty.

    Returns:
        The budget. Scatter and resolution are this reading's own.

    Raises:
        RequestError: no values, or one that is not finite; temperatures with a gauge that reads angles.

    Source: JCGM 100:2008, 4.2, 4.3, 8, F.2.2.1 (resolution); EA-4/02 M:2022, 4 to 6.

    >>> caliper = Gauge(resolution="0.01 mm", calibration="±0.02 mm", repeatability={"std": "0.005 mm"})
    >>> found = budget_of(caliper, [25.01])
    >>> [(c.name, round(c.std * 1000, 2)) for c in found.contributions]
    [('calibration', 11.55), ('repeatability', 5.0), ('resolution', 2.89)]
    >>> round(found.expanded, 3)
    0.025
    """
    readings = _checked(values)
    if warmth is not None and gauge.dimension is Dimension.ANGLE:
        raise RequestError("an angle does not grow with temperature", "leave the temperatures out")
    found = [*_of_gauge(gauge, readings, assume, both_directions)]
    drift = gauge.drift_per_kelvin
    found.append(Contribution("drift of the zero", abs(since_zero) * standard_uncertainty(drift, assume)))
    value = float(readings.mean()) - gauge.calibration.mean - since_zero * drift.mean
    if warmth is not None:
        corrected: Corrected = at_reference(value, warmth)
        value = corrected.value
        found += corrected.contributions
    remarks = [*_remarks(gauge, readings, on)]
    if warmth is not None and taken_for_steel(gauge):
        remarks.append("the gauge does not say what its scale is made of, and is taken for steel")
    return _budget(value, found, confidence, remarks)


def comparison(first: ReadingBudget, second: ReadingBudget, *, confidence: float = 0.95) -> ReadingBudget:
    """How much larger the first of two parts is than the second, both read on one gauge near one size.

    What the two readings share cancels: the calibration wholly, the expansion of the scale as far as the
    scale was equally warm. Scatter and resolution of both count.

    Args:
        first: budget of one reading.
        second: budget of the other, with the same gauge.
        confidence: coverage of the expanded uncertainty.

    Returns:
        Budget of first minus second.

    Source: JCGM 100:2008, 5.2.2 and F.1.2.3 (correlated inputs).

    >>> gauge = Gauge(resolution="1 µm", calibration="±4 µm", repeatability={"std": "1 µm"})
    >>> found = comparison(budget_of(gauge, [0.012]), budget_of(gauge, [0.009]))
    >>> round(found.value, 3), round(found.combined * 1000, 2)
    (0.003, 1.47)
    """
    ours, theirs = ({c.name: c for c in one.contributions if c.shared} for one in (first, second))
    found = [
        Contribution(f"{c.name}, {which}", c.std, c.dof, c.kind)
        for which, one in (("first", first), ("second", second))
        for c in one.contributions
        if not c.shared
    ]
    for name in dict.fromkeys([*ours, *theirs]):
        both = [one[name] for one in (ours, theirs) if name in one]
        signed = [one[name].sign * one[name].std if name in one else 0.0 for one in (ours, theirs)]
        found.append(Contribution(name, abs(signed[0] - signed[1]), min(c.dof for c in both), both[0].kind))
    remarks = dict.fromkeys([*first.remarks, *second.remarks])
    return _budget(first.value - second.value, found, confidence, [*remarks])


def _checked(values: ArrayLike) -> np.ndarray:
    readings = np.atleast_1d(np.asarray(values, float))
    if readings.size == 0 or readings.ndim != 1 or not np.isfinite(readings).all():
        raise RequestError("a reading needs one value or more, and finite ones", "give the repeats as a list")
    return readings


def _of_gauge(
    gauge: Gauge, readings: np.ndarray, assume: Shape, both_directions: bool
) -> Iterator[Contribution]:
    yield Contribution("resolution", gauge.resolution / sqrt(12))
    yield Contribution(CALIBRATION, standard_uncertainty(gauge.calibration, assume), shared=True)
    yield _scatter(gauge, readings, assume)
    if both_directions:
        yield Contribution("reversal", _reversal_std(gauge.reversal))


def _reversal_std(reversal: Spread) -> float:
    # of a known loss, nobody noted from which side each reading came: anywhere up to it, either way
    return float(np.hypot(standard_uncertainty(reversal, Shape.RECTANGULAR), abs(reversal.mean) / sqrt(3)))


def _scatter(gauge: Gauge, readings: np.ndarray, assume: Shape) -> Contribution:
    count = len(readings)
    stated = standard_uncertainty(gauge.repeatability, assume)
    if count >= FEWEST_READINGS:
        seen = float(readings.std(ddof=1))
        if seen > stated * _largest_ratio(count - 1):
            name = f"scatter of the {count} readings"
            return Contribution(name, seen / sqrt(count), count - 1, "A")
    return Contribution("repeatability", stated / sqrt(count))


def _largest_ratio(dof: int) -> float:
    """How many times a known standard deviation one from so few readings is, at most, in 95 % of cases."""
    from scipy.special import chdtri  # slow to load, and single readings do not ask

    return sqrt(float(chdtri(dof, 0.05)) / dof)


def _remarks(gauge: Gauge, readings: np.ndarray, on: date | None) -> Iterator[str]:
    if gauge.calibration.certain:
        yield "no calibration uncertainty is stated, and none is counted"
    if gauge.resolution == 0:
        yield "no resolution is stated, and none is counted"
    if gauge.repeatability.certain and len(readings) < FEWEST_READINGS:
        yield f"no repeatability is stated; read {FEWEST_READINGS} times or more to see it"
    if not gauge.verified:
        yield "the gauge's figures are not verified"
    if on is not None and gauge.due is not None and on > gauge.due:
        yield f"calibration was due on {gauge.due}, and the reading is of {on}"
    if on is not None and gauge.calibrated is not None and on < gauge.calibrated:
        yield f"the reading is of {on}, before the calibration of {gauge.calibrated}"


def _budget(
    value: float, found: Sequence[Contribution], confidence: float, remarks: Sequence[str]
) -> ReadingBudget:
    open_ = sorted((c for c in found if c.std > 0), key=lambda c: -c.std)
    stds, dof = [c.std for c in open_], [c.dof for c in open_]
    whole = expanded_uncertainty(stds or [0.0], dof or [inf], confidence)
    return ReadingBudget(
        value,
        tuple(open_),
        whole.combined,
        whole.dof,
        whole.factor,
        whole.expanded,
        confidence,
        tuple(remarks),
    )
