"""Straightness of a line from readings of height along it.

Heights are read in one direction across the line, and deviations are taken in that direction. For slopes of
under 1 mrad that equals the distance square to the line to one part in two million.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import Uncertainty, columns, not_all_one_place, uncertainty

Array = NDArray[np.float64]


class Reference(StrEnum):
    """From which line or plane deviations are counted."""

    END_POINTS = "end points"
    LEAST_SQUARES = "least squares"
    MINIMUM_ZONE = "minimum zone"


@dataclass(frozen=True)
class ReferenceLine:
    """A reference line as weights on the readings, which also carry the uncertainty.

    Attributes:
        middle: x about which it is written, mm.
        slope: weights that give the slope, (n,), 1/mm.
        level: weights that give the height at the middle, (n,).
        touching: numbers of the readings that fix the zone, counted from 0; empty for least squares.
    """

    middle: float
    slope: Array
    level: Array
    touching: tuple[int, ...] = ()

    def deviations(self, x: Array, h: Array) -> Array:
        """Heights less the line, (n,)."""
        h0 = float(h.mean())
        return np.asarray((h - h0) - self.level @ (h - h0) - (self.slope @ (h - h0)) * (x - self.middle))

    def u_deviations(self, x: Array, doubt: Uncertainty) -> Array:
        """Standard uncertainty of every deviation, (n,)."""
        away = x - self.middle
        if doubt.shared is not None:
            return doubt.stds(np.eye(len(x)) - self.level - away[:, None] * self.slope)
        variance = doubt.own**2
        of_line = variance @ np.stack([self.level**2, 2 * self.level * self.slope, self.slope**2], axis=1)
        at_line = of_line[0] + of_line[1] * away + of_line[2] * away**2
        with_it = variance * (self.level + away * self.slope)
        left = variance + at_line - 2 * with_it
        # a reading that holds the line leaves nothing but rounding
        return np.sqrt(np.where(left > 1e-12 * variance.max(), left, 0.0))

    def difference(self, x: Array, first: int, second: int) -> Array:
        """Weights that give the deviation of the first reading less that of the second, (n,)."""
        row = -self.slope * (x[first] - x[second])
        row[first] += 1.0
        row[second] -= 1.0
        return np.asarray(row)


@dataclass(frozen=True)
class Straightness:
    """Straightness of one line against a reference line.

    Attributes:
        reference: how the reference line was found.
        slope: of the reference line, rad.
        intercept: height of the reference line at x = 0, mm. The middle of the zone for the minimum zone.
        deviations: height over the reference line at each reading, mm, (n,).
        value: largest less smallest deviation, mm.
        highest: number of the reading with the largest deviation, counted from 0.
        lowest: number of the reading with the smallest deviation.
        touching: the readings that fix the value: highest and lowest, or the three that hold the minimum zone.
        u_slope: standard uncertainty of the slope, rad.
        u_intercept: standard uncertainty of the intercept, mm.
        u_value: standard uncertainty of the value through the readings that fix it, mm, first order. Noise
            also lifts every such value: ten readings of a perfect line scatter over about 3 u.
        readings: n.
        largest_gap: longest distance between neighbouring readings, mm. Waves under twice that are not seen.
        u_deviations: standard uncertainty of each deviation, mm, (n,); none at a reading that holds the line.
    """

    reference: Reference
    slope: float
    intercept: float
    deviations: Array
    value: float
    highest: int
    lowest: int
    touching: tuple[int, ...]
    u_slope: float
    u_intercept: float
    u_value: float
    readings: int
    largest_gap: float
    u_deviations: Array


def straightness(
    x: ArrayLike,
    h: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    reference: Reference = Reference.LEAST_SQUARES,
) -> Straightness:
    """Straightness from heights read along a line.

    The minimum zone is exact: the narrowest band has an edge of the hull of the points on one side, so each
    edge is tried. Readings all weigh the same in the least squares line, as the standard defines it.

    Args:
        x: where each height was read, mm, (n,), in any order; a place may be read more than once.
        h: heights, mm, (n,).
        u: standard uncertainty of each height on its own, mm, one number or (n,); 0 where ``covariance`` says all.
        covariance: of what the heights share beside that, mm², (n, n); None for nothing.
        reference: the reference line.

    Returns:
        Reference line, deviations, peak-to-valley value, and their standard uncertainties.

    Raises:
        RequestError: fewer than 3 readings, all x equal, lists that differ in length, values not finite, for end
            points a place at an end that was read twice.

    Source: ISO 12780-1:2011 (reference lines) and ISO 1101 (minimum zone), from memory; uncertainty by
        JCGM 100:2008, 5.2.2. Checked in tests/rooms/test_measuring_lines.py.

    >>> found = straightness([0, 100, 200], [0, 0.003, 0], u=0.001, reference=Reference.MINIMUM_ZONE)
    >>> round(found.value, 6), round(found.u_value, 6), found.readings
    (0.003, 0.001225, 3)
    """
    xs, hs = columns(3, x=x, h=h)
    not_all_one_place(xs, "x")
    doubt = uncertainty(u, covariance, len(xs))
    line = reference_line(xs, hs, reference)
    deviations = line.deviations(xs, hs)
    high, low = int(np.argmax(deviations)), int(np.argmin(deviations))
    touching = line.touching if reference is Reference.MINIMUM_ZONE else (high, low)
    pair = (touching[0], touching[-1])
    row = line.difference(xs, *pair)
    slope = float(line.slope @ (hs - hs.mean()))
    level = float(line.level @ (hs - hs.mean())) + float(hs.mean())
    return Straightness(
        reference,
        slope,
        level - slope * line.middle,
        deviations,
        float(deviations[high] - deviations[low]),
        high,
        low,
        touching,
        doubt.std(line.slope),
        doubt.std(line.level - line.middle * line.slope),
        doubt.std(row),
        len(xs),
        float(np.diff(np.sort(xs)).max()),
        line.u_deviations(xs, doubt),
    )


def reference_line(x: Array, h: Array, reference: Reference) -> ReferenceLine:
    """The reference line of checked readings, as weights on them.

    Args:
        x: places, mm, (n,), not all equal.
        h: heights, mm, (n,).
        reference: which line.

    Raises:
        RequestError: end points asked for where an end was read twice.

    Source: as for ``straightness``.

    >>> line = reference_line(np.array([0.0, 1, 2]), np.array([0.0, 5, 4]), Reference.END_POINTS)
    >>> line.slope.tolist()
    [-0.5, 0.0, 0.5]
    """
    if reference is Reference.LEAST_SQUARES:
        return least_squares_line(x)
    if reference is Reference.END_POINTS:
        return _end_points(x)
    middle, (a, b, c) = float(x.mean()), _minimum_zone(x, h - h.mean())
    slope, at_middle = _through(x, a, b, middle)
    at_c = _through(x, a, b, float(x[c]))[1]
    gap = -at_c
    gap[c] += 1.0
    return ReferenceLine(middle, slope, at_middle + gap / 2, (a, b, c))


def least_squares_line(x: Array) -> ReferenceLine:
    """The least squares line through equally weighted heights at x (n,), as weights on them.

    >>> least_squares_line(np.array([0.0, 1.0, 2.0])).slope.tolist()
    [-0.5, 0.0, 0.5]
    """
    middle = float(x.mean())
    away = x - middle
    return ReferenceLine(middle, away / (away @ away), np.full(len(x), 1.0 / len(x)))


def _end_points(x: Array) -> ReferenceLine:
    first, last = int(np.argmin(x)), int(np.argmax(x))
    if np.sum(x == x[first]) > 1 or np.sum(x == x[last]) > 1:
        raise RequestError(
            "an end of the line was read more than once", "give the mean there, or use least squares"
        )
    middle = float(x.mean())
    slope, level = _through(x, first, last, middle)
    return ReferenceLine(middle, slope, level)


def _through(x: Array, a: int, b: int, where: float) -> tuple[Array, Array]:
    """Weights that give slope and height at a place of the line through readings a and b."""
    span = x[b] - x[a]
    slope, height = np.zeros(len(x)), np.zeros(len(x))
    slope[b], slope[a] = 1.0 / span, -1.0 / span
    height[b] = (where - x[a]) / span
    height[a] = 1.0 - height[b]
    return slope, height


def _minimum_zone(x: Array, h: Array) -> tuple[int, int, int]:
    """Two readings on one edge of the narrowest band, and the one on its other edge."""
    hulls = {1: _upper_hull(x, h), -1: _upper_hull(x, -h)}
    best, found = np.inf, (0, 0, 0)
    for side, hull in hulls.items():
        other = hulls[-side]
        slopes = np.diff(h[hull]) / np.diff(x[hull])
        over = side * (
            (h[hull[:-1]] - slopes * x[hull[:-1]])[:, None] - (h[other] - slopes[:, None] * x[other])
        )
        widths = over.max(axis=1)
        edge = int(np.argmin(widths))
        if widths[edge] < best:
            best = float(widths[edge])
            found = (int(hull[edge]), int(hull[edge + 1]), int(other[int(np.argmax(over[edge]))]))
    return found


def _upper_hull(x: Array, h: Array) -> NDArray[np.intp]:
    """Numbers of the points on the upper hull from left to right, one a place (monotone chain)."""
    order = np.lexsort((-h, x))
    order = order[np.concatenate([[True], np.diff(x[order]) > 0])]
    hull: list[int] = []
    for point in order.tolist():
        while len(hull) > 1 and _not_over(x, h, hull[-2], hull[-1], point):
            hull.pop()
        hull.append(point)
    return np.array(hull, np.intp)


def _not_over(x: Array, h: Array, left: int, middle: int, right: int) -> bool:
    """The middle point lies on or under the chord of its neighbours."""
    rise, run = h[right] - h[left], x[right] - x[left]
    return bool((h[middle] - h[left]) * run <= rise * (x[middle] - x[left]))
