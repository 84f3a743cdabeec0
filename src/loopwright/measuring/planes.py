"""Flatness of a surface from heights at points on it.

Heights are read in one direction, and deviations are taken in that direction. For slopes of under 1 mrad that
equals the distance square to the plane to one part in two million.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import columns, uncertainty
from loopwright.measuring.lines import Reference

Array = NDArray[np.float64]


_NOTHING: Final[tuple[int, ...]] = ()


@dataclass(frozen=True)
class Flatness:
    """Flatness of a surface against a reference plane.

    Attributes:
        reference: how the reference plane was found.
        slope_x: rise of the reference plane along x, rad.
        slope_y: rise along y, rad.
        intercept: height of the reference plane at x = y = 0, mm. The middle of the zone for the minimum zone.
        deviations: height over the reference plane at each reading, mm, (n,).
        value: largest less smallest deviation, mm.
        highest: number of the reading with the largest deviation, counted from 0.
        lowest: number of the reading with the smallest deviation.
        touching: the readings that fix the value.
        u_slope_x: standard uncertainty, rad.
        u_slope_y: standard uncertainty, rad.
        u_value: standard uncertainty of the value through the readings that fix it, mm, first order. Noise
            also lifts every such value.
        readings: n.
        u_deviations: standard uncertainty of each deviation, mm, (n,).
    """

    reference: Reference
    slope_x: float
    slope_y: float
    intercept: float
    deviations: Array
    value: float
    highest: int
    lowest: int
    touching: tuple[int, ...]
    u_slope_x: float
    u_slope_y: float
    u_value: float
    readings: int
    u_deviations: Array


def flatness(
    x: ArrayLike,
    y: ArrayLike,
    h: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    reference: Reference = Reference.LEAST_SQUARES,
) -> Flatness:
    """Flatness from heights read at points of a surface.

    The minimum zone is exact: a linear program finds the three or four readings that hold the two planes, and
    the planes are then laid on just these.

    Args:
        x: mm, (n,).
        y: mm, (n,).
        h: heights, mm, (n,).
        u: standard uncertainty of each height on its own, mm, one number or (n,); 0 where ``covariance`` says all.
        covariance: of what the heights share beside that, mm², (n, n), as from ``plate_heights``.
        reference: least squares or minimum zone.

    Returns:
        Reference plane, deviations, peak-to-valley value, and their standard uncertainties.

    Raises:
        RequestError: fewer than 4 readings, all on one line, lists that differ in length, values not finite, end
            points asked for.

    Source: ISO 12781-1:2011 (reference planes) and ISO 1101 (minimum zone), from memory; uncertainty by
        JCGM 100:2008, 5.2.2. Checked in tests/rooms/test_measuring_planes.py.

    >>> found = flatness([0, 1, 0, 1], [0, 0, 1, 1], [0, 0.010, 0.006, 0.024], u=0.001)
    >>> [round(float(d), 6) for d in found.deviations], round(found.u_value, 6)
    ([0.002, -0.002, -0.002, 0.002], 0.001)
    """
    xs, ys, hs = columns(4, x=x, y=y, h=h)
    doubt = uncertainty(u, covariance, len(xs))
    middle, size, base = _about_middle(xs, ys)
    heights = hs - hs.mean()
    rows = np.asarray(np.linalg.pinv(base), np.float64)
    found, touching = rows @ heights, _NOTHING
    if reference is Reference.MINIMUM_ZONE:
        found, rows, touching = _minimum_zone(base, heights, rows)
    elif reference is Reference.END_POINTS:
        raise RequestError("a plane has no end points", "use least squares or minimum zone")
    deviations = heights - base @ found
    high, low = int(np.argmax(deviations)), int(np.argmin(deviations))
    value_row = 2 * rows[3] if touching else _difference(base, rows, high, low)
    slopes = found[:2] / size
    return Flatness(
        reference,
        float(slopes[0]),
        float(slopes[1]),
        float(hs.mean() + found[2] - slopes @ middle),
        deviations,
        float(deviations[high] - deviations[low]),
        high,
        low,
        touching or (high, low),
        doubt.std(rows[0]) / size,
        doubt.std(rows[1]) / size,
        doubt.std(value_row),
        len(xs),
        doubt.stds(np.eye(len(xs)) - base @ rows[:3]),
    )


def _about_middle(x: Array, y: Array) -> tuple[Array, float, Array]:
    """Middle of the points, their size, and columns (x, y, 1) about the middle in units of the size."""
    middle = np.array([x.mean(), y.mean()])
    away = np.stack([x, y], axis=1) - middle
    size = float(np.abs(away).max())
    spread = np.linalg.svd(away, compute_uv=False)
    if size == 0 or spread[1] <= 1e-9 * spread[0]:
        raise RequestError("all points lie on one line", "read points beside that line too")
    return middle, size, np.column_stack([away / size, np.ones(len(x))])


def _difference(base: Array, rows: Array, first: int, second: int) -> Array:
    """Weights that give the deviation of the first reading less that of the second, (n,)."""
    row = -(base[first] - base[second]) @ rows
    row[first] += 1.0
    row[second] -= 1.0
    return np.asarray(row)


def _minimum_zone(base: Array, heights: Array, rows: Array) -> tuple[Array, Array, tuple[int, ...]]:
    """The plane (3,), weights (4, n) of its slopes, level and half width, and the readings that hold the zone.

    Gives back the least squares plane and no readings where the points are flat but for rounding.
    """
    plane = rows @ heights
    left = heights - base @ plane
    size = float(np.abs(left).max())
    if size <= 1e-13 * float(np.abs(heights).max()):
        return plane, rows, _NOTHING
    moved, half, force = _narrowest(base, left / size)
    held = np.flatnonzero(np.abs(force) > 1e-7)
    system = np.column_stack([base[held], np.sign(force[held])])
    inverse = np.linalg.pinv(system, rcond=1e-10)
    start = np.append(plane + moved * size, half * size)
    # what the program left open by its tolerance; a plane that may still turn on three readings stays there
    exact = start + inverse @ (heights[held] - system @ start)
    weights = np.zeros((4, len(heights)))
    weights[:, held] = inverse
    return exact[:3], weights, tuple(int(i) for i in held)


def _narrowest(base: Array, heights: Array) -> tuple[Array, float, Array]:
    """Least largest deviation from a plane: plane (3,), half the width, and the share of each reading in it."""
    from scipy.optimize import linprog  # slow to load, and few ask for it

    ones = np.ones((len(heights), 1))
    limits = np.vstack([np.hstack([-base, -ones]), np.hstack([base, -ones])])
    solved = linprog(
        [0.0, 0.0, 0.0, 1.0],
        A_ub=limits,
        b_ub=np.concatenate([-heights, heights]),
        bounds=[(None, None)] * 3 + [(0, None)],
        method="highs-ds",
    )
    assert solved.status == 0  # bounded below by 0, and the least squares plane is allowed
    over, under = np.split(-solved.ineqlin.marginals, 2)
    return np.asarray(solved.x[:3]), float(solved.x[3]), np.asarray(over - under)
