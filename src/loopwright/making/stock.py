"""How much stock to leave, so that the op that takes it off cleans up all over at a stated chance."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, log
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from loopwright.errors import OutOfRange

Array = NDArray[np.float64]
Shape = Literal["known", "between", "factor", "normal", "tilt", "run-out"]

STEPS = 1 << 12
"""Steps into which everything that the causes can take together is divided."""
TAIL = 8.0
"""Standard deviations after which a normal cause is cut off; under 1e-15 of the pieces lie beyond."""
_SHARES = np.concatenate([np.linspace(0.001, 0.99, 100), [0.995, 0.999, 0.9995, 0.9999, 0.99999]])


@dataclass(frozen=True)
class Eats:
    """Something that eats into the stock, or moves the surface that must clean up; lengths per side, mm.

    Attributes:
        name: what it is, in words.
        shape: 'known' takes ``high`` from every piece; 'between' lies anywhere from ``low`` to ``high``, which may be
            negative where it can add as well as take; 'factor' lies from ``low`` to ``high`` with each doubling as
            likely as the next, as a rule does that is good to a factor; 'normal' moves the surface either way with
            standard deviation ``std``; 'tilt' is what such a lean takes from the lower end; 'run-out' is what two such
            movements, square to each other, take from the worst place of a round surface.
        low: least, for 'between' and 'factor'.
        high: most, for 'between', 'factor' and 'known'.
        std: standard deviation, for 'normal', 'tilt' and 'run-out'.
        source: where the figure comes from.
        kind: what sort of thing it is, in one word, for those who sort.
        assumed: nobody of this shop has measured or stated it.
    """

    name: str
    shape: Shape
    low: float = 0.0
    high: float = 0.0
    std: float = 0.0
    source: str = ""
    kind: str = ""
    assumed: bool = False

    @property
    def reach(self) -> tuple[float, float]:
        """Least and most that it takes, mm; of a normal cause as far as it is followed."""
        match self.shape:
            case "known":
                return self.high, self.high
            case "between" | "factor":
                return self.low, self.high
            case "normal":
                return -TAIL * self.std, TAIL * self.std
            case "tilt" | "run-out":
                return 0.0, (TAIL + 1) * self.std

    def chance_below(self, amount: Array) -> Array:
        """Chance that it takes no more than each amount, mm."""
        low, high = self.reach
        if high <= low:
            return np.asarray(amount >= high, float)
        match self.shape:
            case "between":
                out = (amount - low) / (high - low)
            case "factor":
                out = np.log(np.maximum(amount, low) / low) / log(high / low)
            case "normal":
                out = ndtr(amount / self.std)
            case "tilt":
                out = 2 * ndtr(np.maximum(amount, 0.0) / self.std) - 1
            case _:
                out = -np.expm1(-0.5 * (np.maximum(amount, 0.0) / self.std) ** 2)
        return np.asarray(np.clip(out, 0.0, 1.0))

    @property
    def expected(self) -> float:
        """What it takes on average, mm."""
        match self.shape:
            case "known":
                return self.high
            case "between":
                return (self.low + self.high) / 2
            case "factor":
                return (
                    self.low if self.high <= self.low else (self.high - self.low) / log(self.high / self.low)
                )
            case "normal":
                return 0.0
            case "tilt":
                return self.std * float(np.sqrt(2 / np.pi))
            case "run-out":
                return self.std * float(np.sqrt(np.pi / 2))

    @property
    def spread(self) -> float:
        """Standard deviation of what it takes, mm."""
        match self.shape:
            case "known":
                return 0.0
            case "between":
                return (self.high - self.low) / float(np.sqrt(12))
            case "factor":
                if self.high <= self.low:
                    return 0.0
                square = (self.high**2 - self.low**2) / (2 * log(self.high / self.low))
                return float(np.sqrt(max(square - self.expected**2, 0.0)))
            case "normal":
                return self.std
            case "tilt":
                return self.std * float(np.sqrt(1 - 2 / np.pi))
            case "run-out":
                return self.std * float(np.sqrt(2 - np.pi / 2))

    def problem(self) -> str:
        """What is wrong with its figures; '' where nothing is."""
        if not all(isfinite(value) for value in (self.low, self.high, self.std)):
            return "is not finite"
        if self.std < 0 or self.high < self.low:
            return "has a negative standard deviation, or its higher end first"
        if self.shape == "factor" and not self.low > 0:
            return "is good to a factor and begins at nought"
        return ""


@dataclass(frozen=True)
class Stock:
    """Stock to leave on one side of a surface.

    Attributes:
        least: at which the wanted chance is just met, mm a side.
        chance: that was wanted.
        most: least, and what the cut before needs to be hit, mm a side.
        at: stocks for which the chance is known, mm a side, (n,), rising.
        chances: chance that it cleans up all over with each, (n,).
        eats: what was counted, the largest expected first.
    """

    least: float
    chance: float
    most: float
    at: Array
    chances: Array
    eats: tuple[Eats, ...]

    def cleans_up(self, stock: float) -> float:
        """Chance that a piece with this stock a side, mm, cleans up all over."""
        if stock >= self.at[-1]:
            return 1.0
        return float(np.interp(stock, self.at, self.chances, left=0.0))

    def failing(self, share: float) -> float:
        """Stock a side, mm, with which this share of the pieces, 0.00001 to 0.999, does not clean up."""
        return max(float(np.interp(1 - share, self.chances, self.at)), 0.0)


def stock_to_leave(eats: Sequence[Eats], chance: float, window: float) -> Stock:
    """The least stock with which the wanted share of pieces cleans up.

    Every cause is taken on its own, and what they take together is worked out by convolution, not drawn. Left out:
    what is not named; a cause that several pieces of one heat have in common makes them clean up together or not at
    all, at the same chance.

    Args:
        eats: what eats into the stock, per side.
        chance: that a piece cleans up all over, from 50 % to 99.99 %.
        window: width between the limits of the cut before, per side, mm.

    Returns:
        Stocks per side, mm; true to a few thousandths of what the causes can take together.

    Raises:
        OutOfRange: a chance that cannot be asked for, or a figure that is none.

    Source: ours; the sum is that of JCGM 101, with independent inputs.
    Checked in: tests/rooms/test_stock.py against closed forms.

    >>> bow = Eats("bow", "between", high=0.1)
    >>> round(stock_to_leave([bow], 0.9, 0.02).least, 3)
    0.09
    """
    if not 0.5 <= chance <= 0.9999:
        raise OutOfRange(f"a chance of {100 * chance:g} % to clean up; ask for 50 % to 99.99 %")
    if not (isfinite(window) and window >= 0):
        raise OutOfRange(f"a window of {window:g} mm; give nought or more")
    for one in eats:
        if wrong := one.problem():
            raise OutOfRange(f"'{one.name}' {wrong}; give figures that can be")
    shares = np.append(_SHARES, chance)
    found = _quantiles(eats, shares)
    least = max(float(found[-1]), 0.0)
    ordered = tuple(sorted(eats, key=lambda e: -(e.expected + 2 * e.spread)))
    return Stock(least, chance, least + window, found[:-1], shares[:-1], ordered)


def _quantiles(eats: Sequence[Eats], shares: Array) -> Array:
    """What the causes take together, at each share of the pieces, mm."""
    start = float(sum(one.reach[0] for one in eats))
    spans = [one.reach[1] - one.reach[0] for one in eats]
    step = sum(spans) / STEPS
    if not step:
        return np.full(len(shares), start)
    moving = [(one, span) for one, span in zip(eats, spans) if span > 0]
    length = 1 << (STEPS + 2 * len(moving) + 2).bit_length()
    product = np.ones(length // 2 + 1, complex)
    for one, span in moving:
        edges: Array = one.reach[0] + step * (np.arange(int(span / step) + 3, dtype=float) - 0.5)
        # what lies within half a step of each place; the last edge is past the end
        product *= np.fft.rfft(np.diff(one.chance_below(edges)), length)
    summed = np.maximum.accumulate(np.cumsum(np.fft.irfft(product, length)))
    places = start + step * (np.arange(length) + 0.5)
    rising = np.concatenate([[True], np.diff(summed) > 0])
    return np.asarray(np.interp(shares, summed[rising], places[rising]))
