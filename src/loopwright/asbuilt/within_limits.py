"""Draws of a normal distribution that keep within the stated limits and have the stated shapes.

Each draw is moved along one principal direction after the other: by the normal distribution along it, cut off where
the first deviation would leave its limits; and kept or not by how much likelier the stated shapes make the new place
(Metropolis within Gibbs, textbook). The directions are those in which the distribution is round, so that a sum that
was read sharply does not hold up what else is open.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from loopwright.errors import Cancelled

Array = NDArray[np.float64]

ROUNDS = 16
"""Times that each direction is moved along; the start is forgotten after a few."""


def moved_within(
    start: Array,
    mean: Array,
    root: Array,
    half: Array,
    likelihood: Callable[[Array], Array],
    generator: np.random.Generator,
    cancel: Callable[[], bool] | None = None,
) -> Array:
    """Draws of N(mean, root root') within limits, weighed by a further likelihood.

    Args:
        start: (draws, k), anywhere within the limits.
        mean: (k,).
        root: its columns are the directions, (k, k).
        half: limits to either side of zero, (k,); infinite where there are none.
        likelihood: logarithm of the further likelihood of draws, (draws, k) -> (draws,).
        generator: of random numbers.
        cancel: asked after each round; True stops.

    Returns:
        (draws, k).

    Raises:
        Cancelled: ``cancel`` said so.
    """
    x = start.copy()
    along = np.asarray(np.linalg.lstsq(root, (x - mean).T, rcond=None)[0].T, float)
    known = likelihood(x)
    for number in range(ROUNDS):
        for j in range(root.shape[1]):
            step = _step(x, along[:, j], root[:, j], half, generator)
            ahead = x + step[:, None] * root[:, j]
            likely = likelihood(ahead)
            with np.errstate(invalid="ignore"):
                taken = np.log(generator.random(len(x))) < likely - known
            x[taken], known[taken] = ahead[taken], likely[taken]
            along[taken, j] += step[taken]
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after {number + 1} rounds of moves")
    return x


def _step(x: Array, now: Array, direction: Array, half: Array, generator: np.random.Generator) -> Array:
    """How far to go along a direction: to a place of a standard normal variable, no limit being left, (draws,)."""
    moving = (np.abs(direction) > 1e-12) & np.isfinite(half)
    low, high = np.full(len(x), -np.inf), np.full(len(x), np.inf)
    if moving.any():
        d = direction[moving]
        ends = np.stack([(-half[moving] - x[:, moving]) / d, (half[moving] - x[:, moving]) / d])
        low, high = ends.min(axis=0).max(axis=1), ends.max(axis=0).min(axis=1)
    low, high = np.minimum(low, 0.0) + now, np.maximum(high, 0.0) + now
    # far out on one side the lower tail keeps its digits, so everything is looked at from there
    flip = low > 0
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    first, last = ndtr(a), ndtr(b)
    place = ndtri(first + (last - first) * generator.random(len(x)))
    place = np.where(np.isfinite(place), np.clip(place, a, b), np.clip(now * np.where(flip, -1, 1), a, b))
    return np.asarray(np.where(flip, -place, place) - now)
