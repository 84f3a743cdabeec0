"""Draws of a normal distribution that keep within the stated limits and have the stated shapes.

Each draw is moved along one principal direction after the other: by the normal distribution along it, cut off where
the first deviation would leave its limits. Within its limits a rectangle is flat, so that is all where every shape is
one (Gibbs); where others are not, the new place is kept or not by how much likelier they make it (Metropolis within
Gibbs; both textbook). The directions are those in which the distribution is round, so that a sum that was read sharply
does not hold up what else is open.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import Cancelled

Array = NDArray[np.float64]

ROUNDS = 16
"""Times that each direction is moved along; the start is forgotten after a few."""
FLAT = 1e-10
"""Precision along a direction of which nothing is known but limits; none would have no middle."""


@dataclass(frozen=True)
class Round:
    """A normal distribution by its principal directions.

    Attributes:
        axes: the directions, orthonormal, as columns, (k, k).
        middle: along each, (k,).
        precision: along each, above zero, (k,).
    """

    axes: Array
    middle: Array
    precision: Array

    @classmethod
    def without_prior(cls, root: Array, mean: Array) -> "Round":
        """N(mean, root root') with a standard normal prior of every deviation taken out of it again.

        Args:
            root: (k, n), k <= n; no direction is open by more than the prior left it.
            mean: (k,).
        """
        axes, sizes, _ = np.linalg.svd(root, full_matrices=False)
        known = 1 / np.maximum(sizes**2, 1e-18)
        precision = np.maximum(known - 1, FLAT)
        return cls(axes, (axes.T @ mean) * known / precision, precision)


def moved_within(
    start: Array,
    about: Round,
    half: Array,
    likelihood: Callable[[Array], Array] | None,
    generator: np.random.Generator,
    cancel: Callable[[], bool] | None = None,
) -> Array:
    """Draws of a normal distribution within limits, weighed by a further likelihood.

    Args:
        start: (k, draws), anywhere within the limits.
        about: the distribution.
        half: limits to either side of zero, finite, (k,).
        likelihood: logarithm of the further likelihood of draws, (k, draws) -> (draws,); None where there is none.
        generator: of random numbers.
        cancel: asked before each move; True stops.

    Returns:
        (k, draws).

    Raises:
        Cancelled: ``cancel`` said so.
    """
    x = start.copy()
    known = np.zeros(x.shape[1]) if likelihood is None else likelihood(x)
    for number in range(ROUNDS):
        for axis, middle, precision in zip(about.axes.T, about.middle, about.precision):
            if cancel is not None and cancel():
                raise Cancelled(f"stopped after {number} rounds of moves")
            scale = float(np.sqrt(precision))
            now = (axis @ x - middle) * scale
            low, high = _reach(x, axis, half)
            step = (_between(now, low * scale + now, high * scale + now, generator) - now) / scale
            ahead = x + axis[:, None] * step
            if likelihood is None:
                x = ahead
                continue
            likely = likelihood(ahead)
            with np.errstate(invalid="ignore"):
                taken = np.log(generator.random(x.shape[1])) < likely - known
            x, known = np.where(taken, ahead, x), np.where(taken, likely, known)
        # what rounding has added up
        np.clip(x, -half[:, None], half[:, None], out=x)
    return x


def _reach(x: Array, axis: Array, half: Array) -> tuple[Array, Array]:
    """How far every draw can go either way along a direction before it leaves its limits, each (draws,)."""
    moving = np.abs(axis) > 1e-12
    if not moving.all():
        x, axis, half = x[moving], axis[moving], half[moving]
    at, ends = x / axis[:, None], (half / np.abs(axis))[:, None]
    return np.minimum((-at - ends).max(axis=0), 0.0), np.maximum((ends - at).min(axis=0), 0.0)


def _between(now: Array, low: Array, high: Array, generator: np.random.Generator) -> Array:
    """A standard normal variable between two ends; where they are too far out for it, what it is now; (draws,)."""
    from scipy.special import ndtr, ndtri  # slow to load, and few ask for it

    # far out on one side the lower tail keeps its digits, so everything is looked at from there
    flip = low > 0
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    first, last = ndtr(a), ndtr(b)
    place = ndtri(first + (last - first) * generator.random(len(now)))
    place = np.where(np.isfinite(place), np.clip(place, a, b), np.clip(np.where(flip, -now, now), a, b))
    return np.asarray(np.where(flip, -place, place))
