"""What a stated spread, or any other cause, leaves open in a reading, as a standard uncertainty."""

from dataclasses import dataclass
from math import inf, sqrt
from typing import Literal

from loopwright.model.spread import Shape, Spread

NORMAL_MULTIPLE = 2.0
"""A normal limit that does not say its multiple stands for two standard deviations; common practice."""


def standard_uncertainty(spread: Spread, assume: Shape = Shape.RECTANGULAR) -> float:
    """Standard uncertainty of a deviation, in its own unit.

    Args:
        spread: what is known of it.
        assume: shape of a bare limit.

    Source: JCGM 100:2008, 4.3.7 (rectangular), 4.3.9 (trapezoidal, triangular), 4.3.4 (stated multiple);
        JCGM 101:2008, 6.4.6 (arcsine).

    >>> round(standard_uncertainty(Spread(lower=-3.0, upper=3.0)), 4)
    1.7321
    """
    if spread.std is not None:
        return spread.std
    shape, half = spread.shape or assume, spread.half
    if shape is Shape.NORMAL:
        return half / (spread.multiple or NORMAL_MULTIPLE)
    top = 0.5 if spread.top is None else spread.top
    divisors = {
        Shape.RECTANGULAR: 3.0,
        Shape.TRIANGULAR: 6.0,
        Shape.ARCSINE: 2.0,
        Shape.TRAPEZOIDAL: 6.0 / (1 + top**2),
    }
    return half / sqrt(divisors[shape])


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of an uncertainty budget.

    Attributes:
        name: the cause.
        std: standard uncertainty that it brings to the result, in the result's unit, zero or more.
        dof: its degrees of freedom; infinite where a limit is taken as known.
        kind: 'A', from the readings themselves; 'B', from anything else (JCGM 100:2008, 4.2 and 4.3).
        shared: the same in all readings of one gauge near one size, so that it cancels in a comparison.
        sign: +1 or -1, whether a cause that is shared moves this result up or down.
    """

    name: str
    std: float
    dof: float = inf
    kind: Literal["A", "B"] = "B"
    shared: bool = False
    sign: Literal[-1, 1] = 1
