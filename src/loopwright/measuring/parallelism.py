"""Parallelism of one line to another, and of two rails to each other."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.measuring.inputs import columns, not_all_one_place, over_zero, uncertainty
from loopwright.measuring.lines import Reference, least_squares_line, reference_line

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Parallelism:
    """How parallel a line is to a datum line.

    Attributes:
        angle: slope of the line's best line less the slope of the datum, rad.
        deviations: heights over a line parallel to the datum through their mean, mm, (n,). For two rails the difference
            of the sweeps less its mean.
        value: largest less smallest deviation, mm: width of the zone parallel to the datum, form included.
        highest: number of the reading with the largest deviation, counted from 0.
        lowest: number of the reading with the smallest deviation.
        length: over which it was read, mm.
        u_angle: standard uncertainty, rad.
        u_value: standard uncertainty, mm, first order through the two readings that fix it.
        readings: of both lines together.
        u_deviations: standard uncertainty of each deviation, mm, (n,).
    """

    angle: float
    deviations: Array
    value: float
    highest: int
    lowest: int
    length: float
    u_angle: float
    u_value: float
    readings: int
    u_deviations: Array

    def roll(self, span: float) -> Array:
        """Roll of a bridge across two rails, rad, (n,), about its mean: difference of height by distance.

        Args:
            span: distance of the rails, mm.

        Raises:
            RequestError: a span that is not over 0.
        """
        return self.deviations / over_zero(span, "span")


def parallel_to_datum(
    datum_x: ArrayLike,
    datum_h: ArrayLike,
    x: ArrayLike,
    h: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    reference: Reference = Reference.LEAST_SQUARES,
) -> Parallelism:
    """Parallelism of a line to a datum line that was read in the same direction, by the same zero of height.

    Args:
        datum_x: places on the datum, mm, (m,).
        datum_h: heights of the datum, mm, (m,).
        x: places on the line, mm, (n,); need not be those of the datum.
        h: heights of the line, mm, (n,).
        u: standard uncertainty of each height on its own, mm, one number or (m + n,), datum first.
        covariance: of what they share beside that, mm², (m + n, m + n), datum first.
        reference: which line stands for the datum.

    Returns:
        Angle, value over the line's readings, and their standard uncertainties.

    Raises:
        RequestError: fewer than 2 readings on either line, all at one place, lists that do not fit.

    Source: ISO 1101:2017, 17.9, and ISO 230-1:2012, clause 9, from memory. Checked in
        tests/rooms/test_measuring_parallelism.py.

    >>> found = parallel_to_datum([0, 300], [0, 0], [0, 300], [0.010, 0.016], u=0.001)
    >>> round(found.angle * 1e6, 6), round(found.value, 6), round(found.u_value, 6)
    (20.0, 0.006, 0.002)
    """
    xd, hd = columns(2, datum_x=datum_x, datum_h=datum_h)
    xs, hs = columns(2, x=x, h=h)
    not_all_one_place(xd, "datum_x")
    not_all_one_place(xs, "x")
    doubt = uncertainty(u, covariance, len(xd) + len(xs))
    datum = reference_line(xd, hd, reference)
    datum_slope = float(datum.slope @ (hd - hd.mean()))
    away = xs - xs.mean()
    deviations = hs - hs.mean() - datum_slope * away
    high, low = int(np.argmax(deviations)), int(np.argmin(deviations))
    own = least_squares_line(xs).slope
    pair = np.zeros(len(xs))
    pair[high] += 1.0
    pair[low] -= 1.0
    return Parallelism(
        float(own @ (hs - hs.mean())) - datum_slope,
        deviations,
        float(deviations[high] - deviations[low]),
        high,
        low,
        float(np.ptp(xs)),
        doubt.std(np.concatenate([-datum.slope, own])),
        doubt.std(np.concatenate([-datum.slope * (xs[high] - xs[low]), pair])),
        len(xd) + len(xs),
        doubt.stds(np.hstack([-np.outer(away, datum.slope), _about_mean(len(xs))])),
    )


def _about_mean(count: int) -> Array:
    """Weights that take their mean off some values, (n, n)."""
    return np.asarray(np.eye(count) - 1.0 / count)


def parallel_rails(
    x: ArrayLike, first: ArrayLike, second: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> Parallelism:
    """Parallelism of two rails read at the same places: the difference of the two sweeps.

    What both sweeps share, such as the straightedge they were read against, falls out of the difference.

    Args:
        x: places, mm, (n,).
        first: heights of the first rail, mm, (n,).
        second: heights of the second rail, mm, (n,).
        u: standard uncertainty of each height on its own, mm, one number or (2 n,), first rail first.
        covariance: of what they share beside that, mm², (2 n, 2 n), first rail first.

    Returns:
        Angle of the second rail to the first, difference about its mean, value, standard uncertainties.

    Raises:
        RequestError: fewer than 2 places, all the same, lists that do not fit.

    Source: elementary. Checked in tests/rooms/test_measuring_parallelism.py.

    >>> found = parallel_rails([0, 150, 300], [0, 0, 0], [0.001, 0.004, 0.007], u=0.001)
    >>> round(found.value, 6), round(float(found.roll(300)[-1]) * 1e6, 6)
    (0.006, 10.0)
    """
    xs, one, two = columns(2, x=x, first=first, second=second)
    not_all_one_place(xs, "x")
    doubt = uncertainty(u, covariance, 2 * len(xs))
    difference = two - one
    deviations = difference - difference.mean()
    high, low = int(np.argmax(deviations)), int(np.argmin(deviations))
    slope = least_squares_line(xs).slope
    pair = np.zeros(len(xs))
    pair[high] += 1.0
    pair[low] -= 1.0
    return Parallelism(
        float(slope @ deviations),
        deviations,
        float(deviations[high] - deviations[low]),
        high,
        low,
        float(np.ptp(xs)),
        doubt.std(np.concatenate([-slope, slope])),
        doubt.std(np.concatenate([-pair, pair])),
        2 * len(xs),
        doubt.stds(np.hstack([-_about_mean(len(xs)), _about_mean(len(xs))])),
    )
