"""Travel deviation and variation of a ball screw, or of a driven axis, from readings along its travel.

Words (ISO 3408-1): travel deviation is actual less nominal travel. The mean travel is the least squares line
of it over the useful travel. e_0a is how far that line departs from nominal over the useful travel; v_ua is
the width of the band, parallel to the line, that holds all readings; v_300a the same within any 300 mm, and
v_2πa within any revolution.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import Uncertainty, columns, not_all_one_place, over_zero, uncertainty
from loopwright.measuring.lines import ReferenceLine, least_squares_line

Array = NDArray[np.float64]

LEAST_PER_REVOLUTION = 8
"""Fewest readings in a revolution for v_2πa, none further apart than two eighths of it. Common practice."""


@dataclass(frozen=True)
class Bandwidth:
    """Width of a band parallel to the mean travel.

    Attributes:
        value: mm; None where the readings are too few.
        u: standard uncertainty, mm, first order through the two readings that fix it; None with the value.
        start: where the window of the widest band begins, mm; None with the value.
        end: where it ends, mm; None with the value.
        covered: share of the travel that was looked at, 0 to 1; under 1 where only some revolutions were read densely.
        reason: why there is no value, and what would give one; '' where there is one.
    """

    value: float | None
    u: float | None
    start: float | None
    end: float | None
    covered: float
    reason: str = ""


@dataclass(frozen=True)
class Travel:
    """Travel of a screw over its useful travel.

    Attributes:
        useful_travel: l_u, from the first reading to the last, mm.
        mean_deviation: e_0a, mm; slope of the mean travel times the useful travel.
        compensation: c, the travel compensation asked for (specified less nominal travel over l_u), mm.
        departure: e_sa = e_0a - c, mm: what is judged.
        u_deviation: standard uncertainty of e_0a and of e_sa, mm.
        whole: v_ua, over the useful travel.
        in_300: v_300a, within any 300 mm; over the whole where it is shorter.
        in_revolution: v_2πa, within any revolution that was read densely enough.
        residuals: travel deviation less its mean line, mm, (n,), in order of position.
        positions: mm, (n,), in order.
        lead: mm, or None.
        readings: n.
        least_in_300: fewest readings in any 300 mm, or in the whole where it is shorter (then scaled to 300 mm).
        u_residuals: standard uncertainty of each residual, mm, (n,), in order of position.
    """

    useful_travel: float
    mean_deviation: float
    compensation: float
    departure: float
    u_deviation: float
    whole: Bandwidth
    in_300: Bandwidth
    in_revolution: Bandwidth
    residuals: Array
    positions: Array
    lead: float | None
    readings: int
    least_in_300: int
    u_residuals: Array


def evaluate_travel(
    positions: ArrayLike,
    deviations: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    lead: float | None = None,
    compensation: float = 0.0,
) -> Travel:
    """Evaluates travel deviations that were read along a screw.

    A mean line through coarse readings of a wavy screw is not the mean line of the screw: read at places that
    do not all fall on the same point of the wave.

    Args:
        positions: nominal travel at each reading, mm, (n,), in any order; the useful travel and nothing beside it.
        deviations: actual less nominal travel, at 20 °C, mm, (n,).
        u: standard uncertainty of each deviation on its own, mm, one number or (n,).
        covariance: of what they share beside that, such as the scale and the temperature, mm², (n, n).
        lead: of the screw, mm; needed for v_2πa.
        compensation: c, mm; under 0 for a screw that is made short because it will be stretched or run warm.

    Returns:
        e_0a, e_sa, v_ua, v_300a and v_2πa with standard uncertainties; v_2πa is None with a reason where no revolution
        has readings enough. All readings weigh alike in the mean line, so a few revolutions read densely pull on it:
        read such near both ends and in the middle alike, or evaluate them by themselves.

    Raises:
        RequestError: fewer than 3 readings, all at one place, lists that do not fit, a lead not over 0.

    Source: ISO 3408-1:2006 and ISO 3408-3:2006, from memory. Checked in tests/rooms/test_measuring_screws.py.

    >>> found = evaluate_travel([0, 100, 200, 300, 400], [0, -0.002, -0.002, -0.004, -0.006], u=0.0005)
    >>> round(found.mean_deviation, 6), round(found.whole.value, 6), found.in_revolution.value
    (-0.0056, 0.0014, None)
    """
    xs, es = columns(3, positions=positions, deviations=deviations)
    not_all_one_place(xs, "positions")
    doubt = uncertainty(u, covariance, len(xs))
    if not np.isfinite(compensation):
        raise RequestError("'compensation' is not finite", "give millimetres, or leave it out")
    pitch = None if lead is None else over_zero(lead, "lead")
    line = least_squares_line(xs)
    left = line.deviations(xs, es)
    order = np.argsort(xs, kind="stable")
    travel = float(np.ptp(xs))
    mean = float(line.slope @ (es - es.mean())) * travel
    window = min(300.0, travel)
    return Travel(
        travel,
        mean,
        float(compensation),
        mean - float(compensation),
        doubt.std(line.slope) * travel,
        _widest(xs, left, order, _windows(xs[order], travel), line, doubt),
        _widest(xs, left, order, _windows(xs[order], window), line, doubt),
        _revolution(xs, left, order, pitch, line, doubt),
        left[order],
        xs[order],
        pitch,
        len(xs),
        int(_fewest(xs[order], window) * (300.0 / window)),
        line.u_deviations(xs, doubt)[order],
    )


def _revolution(
    x: Array,
    left: Array,
    order: NDArray[np.intp],
    lead: float | None,
    line: ReferenceLine,
    doubt: Uncertainty,
) -> Bandwidth:
    if lead is None:
        return _unread("the lead is not stated; state it")
    if np.ptp(x) < lead * (1 - 1e-9):
        return _unread(f"the readings do not cover one revolution of {lead:g} mm; read over one or more")
    along = x[order]
    starts, ends = _windows(along, lead)
    dense = _dense(along, lead, starts, ends)
    if not dense.any():
        return _unread(
            f"no revolution of {lead:g} mm has {LEAST_PER_REVOLUTION} readings; read some of them each "
            f"{lead / LEAST_PER_REVOLUTION:.3g} mm"
        )
    return _widest(x, left, order, (starts[dense], ends[dense]), line, doubt)


def _unread(reason: str) -> Bandwidth:
    return Bandwidth(None, None, None, None, 0.0, reason)


def _windows(x: Array, length: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First and one past the last reading of every window that begins or ends at a reading; x in order."""
    slack = 1e-9 * max(length, float(np.abs(x).max()))
    starts = np.flatnonzero(x + length <= x[-1] + slack)
    ends = np.searchsorted(x, x[starts] + length + slack, side="right")
    last = int(np.searchsorted(x, x[-1] - length - slack))  # ends at the last reading, begins between two
    return np.append(starts, last), np.append(ends, len(x))


def _fewest(x: Array, length: float) -> int:
    """Fewest readings in any window: the sparsest begins just after a reading."""
    starts, ends = _windows(x, length)
    return int((ends - starts)[:-1].min()) - 1


def _dense(x: Array, length: float, starts: NDArray[np.intp], ends: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Windows that hold readings enough for a revolution, with no gap among them or at their ends."""
    slack = 1e-9 * max(length, float(np.abs(x).max()))
    gaps = _extremes(np.append(np.diff(x), np.inf), starts, np.maximum(ends - 1, starts + 1), np.maximum)
    tail = x[starts] + length - x[ends - 1]
    count = ends - starts - (tail <= slack)  # after a whole revolution one is back at the first reading
    allowed = 2 * length / LEAST_PER_REVOLUTION + slack
    return np.asarray((count >= LEAST_PER_REVOLUTION) & (np.maximum(gaps, tail) <= allowed))


def _widest(
    x: Array,
    left: Array,
    order: NDArray[np.intp],
    windows: tuple[NDArray[np.intp], NDArray[np.intp]],
    line: ReferenceLine,
    doubt: Uncertainty,
) -> Bandwidth:
    """Widest band in any of some windows, by one table of running extremes over 1, 2, 4 ... readings."""
    (starts, ends), along, r = windows, x[order], left[order]
    widths = _extremes(r, starts, ends, np.maximum) - _extremes(r, starts, ends, np.minimum)
    widest = int(np.argmax(widths))
    inside = order[starts[widest] : ends[widest]]
    high, low = int(inside[np.argmax(left[inside])]), int(inside[np.argmin(left[inside])])
    begin, end = along[starts], along[ends - 1]
    seen = np.maximum.accumulate(np.append(begin[0], end[:-1]))
    covered = float(np.maximum(end - np.maximum(begin, seen), 0.0).sum())
    return Bandwidth(
        float(widths[widest]),
        doubt.std(line.difference(x, high, low)),
        float(begin[widest]),
        float(end[widest]),
        covered / float(np.ptp(x)),
    )


def _extremes(r: Array, starts: NDArray[np.intp], ends: NDArray[np.intp], pick: np.ufunc) -> Array:
    """Largest or smallest value of each stretch r[start:end]."""
    tables = [r]
    while 2 ** len(tables) <= len(r):
        half = 2 ** (len(tables) - 1)
        tables.append(pick(tables[-1][:-half], tables[-1][half:]))
    levels = np.frexp(ends - starts)[1] - 1
    out = np.empty(len(starts))
    for level in np.unique(levels):
        chosen = levels == level
        table = tables[level]
        out[chosen] = pick(table[starts[chosen]], table[ends[chosen] - 2**level])
    return out
