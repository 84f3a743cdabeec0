"""What is believed of every deviation before any reading: mean, standard uncertainty, shape, farthest."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.sources import Source
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.spread import Shape, Spread

Array = NDArray[np.float64]

FARTHEST = 3.0
"""How many standard deviations the worst case takes where nothing bounds a deviation; common practice."""


def farthest(spread: Spread) -> float:
    """How far a deviation may be from its mean in the worst case: its limit, or three standard deviations."""
    return spread.half if spread.std is None else FARTHEST * spread.std


@dataclass(frozen=True)
class Prior:
    """What is believed of x before any reading.

    Attributes:
        mean: (sources,), each in its own unit.
        std: standard uncertainty, (sources,).
        farthest: farthest from the mean in the worst case, (sources,).
        shapes: of each source.
        top: flat part of trapezoids, (sources,).
    """

    mean: Array
    std: Array
    farthest: Array
    shapes: tuple[Shape, ...]
    top: Array

    def places(self, *shapes: Shape) -> NDArray[np.intp]:
        """Places in x of the open sources of some shapes."""
        return np.array([i for i, s in enumerate(self.shapes) if s in shapes and self.std[i] > 0], np.intp)


def prior_of(sources: Sequence[Source], assume: Shape) -> Prior:
    """The prior of a build's sources."""
    spreads = [source.spread for source in sources]
    return Prior(
        mean=np.array([s.mean for s in spreads]),
        std=np.array([standard_uncertainty(s, assume) for s in spreads]),
        farthest=np.array([farthest(s) for s in spreads]),
        shapes=tuple(Shape.NORMAL if s.std is not None else s.shape or assume for s in spreads),
        top=np.array([0.5 if s.top is None else s.top for s in spreads]),
    )


class Sampler:
    """Draws the open sources that are not normal, standardised to a standard deviation of 1.

    Args:
        prior: the prior.

    Attributes:
        places: places in x of its columns.
    """

    def __init__(self, prior: Prior) -> None:
        flat = prior.places(Shape.RECTANGULAR)
        arc = prior.places(Shape.ARCSINE)
        sloped = prior.places(Shape.TRIANGULAR, Shape.TRAPEZOIDAL)
        self.places = np.concatenate([flat, arc, sloped])
        self._counts = len(flat), len(arc), len(sloped)
        # a trapezoid is the sum of two rectangles, of half-widths a(1+top)/2 and a(1-top)/2
        top = np.array([0.0 if prior.shapes[i] is Shape.TRIANGULAR else prior.top[i] for i in sloped])
        scale = np.sqrt(6.0 / (1 + top**2)) / 2
        self._wide, self._narrow = (scale * (1 + top))[:, None], (scale * (1 - top))[:, None]

    def fill(self, generator: np.random.Generator, out: Array) -> None:
        """Fills (places, trials), contiguous, with draws."""
        flat, arc, _ = self._counts
        generator.random(out=out)
        level, angles, sloped = np.split(out, [flat, flat + arc])
        level -= 0.5
        level *= np.sqrt(12.0)
        angles *= np.pi
        np.cos(angles, out=angles)
        angles *= np.sqrt(2.0)
        second = generator.random(sloped.shape)
        for draw, half_width in ((sloped, self._wide), (second, self._narrow)):
            draw -= 0.5
            draw *= 2 * half_width
        sloped += second
