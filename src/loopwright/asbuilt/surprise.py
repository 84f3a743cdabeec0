"""How each reading compares with what all the others let one expect."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, lgamma, log, log1p, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Knowledge, Observation, Weighed

Array = NDArray[np.float64]

SECOND_LOOK = 3.0
"""A surprise above this asks for a second look before the reading is believed."""

STEPS = 100
"""Steps of the sums for the chance of a chi-square, and ten times the root of its freedom more."""
LEAST = -700.0
"""Logarithm of the least chance that is reckoned with as a number."""


@dataclass(frozen=True)
class Look:
    """One reading beside what was expected of it.

    Attributes:
        name: of the observation.
        entry: its number in the book, or None.
        found: values as deviations from a nominal machine, (values,), mm or rad; a free zero is taken out.
        expected: what prior and all other readings let one expect, (values,), zeroed alike.
        std: standard uncertainty of found less expected, (values,).
        each: (found - expected) / std, (values,).
        surprise: of all values together, as standard uncertainties of a normal distribution.
    """

    name: str
    entry: int | None
    found: Array
    expected: Array
    std: Array
    each: Array
    surprise: float

    @property
    def asks(self) -> bool:
        """It asks for a second look."""
        return self.surprise > SECOND_LOOK


def look(knowledge: Knowledge, observation: Observation) -> Look:
    """One of the readings that are known, beside what all the others let one expect.

    With G its rows and e what is left of it after the fit, both in its own standard uncertainties, the others alone
    would have missed it by d = M^-1 e with variance M^-1, where M = 1 - G (1 + all G'G)^-1 G'.

    Args:
        knowledge: with the observation in it.
        observation: one of its observations.
    """
    weighed = knowledge.weighed(observation)
    root = knowledge.information.through(weighed.rows)
    return _look(observation, weighed, root, weighed.rows @ knowledge.moved)


def look_ahead(knowledge: Knowledge, observation: Observation) -> Look:
    """A reading that is not yet among those known, beside what they let one expect: before it is believed."""
    return look(knowledge.with_one_more(observation), observation)


def looks(knowledge: Knowledge, observations: Sequence[Observation] | None = None) -> list[Look]:
    """Every reading beside what the others let one expect, in the order given; all of them if none are named."""
    chosen = knowledge.observations if observations is None else tuple(observations)
    if not chosen:
        return []
    weighed = [knowledge.weighed(one) for one in chosen]
    rows = np.concatenate([one.rows for one in weighed])
    ends = np.cumsum([len(one.found) for one in weighed])[:-1]
    roots, fits = np.split(knowledge.information.through(rows), ends), np.split(rows @ knowledge.moved, ends)
    return [_look(*each) for each in zip(chosen, weighed, roots, fits)]


def surprising(knowledge: Knowledge, above: float = SECOND_LOOK) -> list[Look]:
    """Those readings whose surprise is above a number, in the order in which they are known.

    Single values are looked at all at once, so that thousands of them take no visible time.
    """
    single = [one for one in knowledge.observations if len(one.values) == 1 and not one.free.size]
    asking = {id(one) for one in knowledge.observations} - {id(one) for one in single}
    if single:
        weighed = [knowledge.weighed(one) for one in single]
        rows = np.concatenate([one.rows for one in weighed])
        left = np.concatenate([one.found for one in weighed]) - rows @ knowledge.moved
        open_ = np.maximum(1 - (knowledge.information.through(rows) ** 2).sum(axis=1), 1e-14)
        asking |= {id(one) for one, off in zip(single, np.abs(left) / np.sqrt(open_)) if off > above}
    chosen = [one for one in knowledge.observations if id(one) in asking]
    return [one for one in looks(knowledge, chosen) if one.surprise > above]


def _look(observation: Observation, weighed: Weighed, root: Array, fit: Array) -> Look:
    left = weighed.found - fit
    within = np.eye(len(left)) - weighed.spread @ weighed.spread.T - root @ root.T
    # what the flat prior has taken out has no variance, and must not be divided by
    sizes, axes = np.linalg.eigh(within)
    sizes, axes = sizes[weighed.spread.shape[1] :], axes[:, weighed.spread.shape[1] :]
    sizes = np.maximum(sizes, 1e-14)
    along = axes.T @ left
    missed = axes @ (along / sizes)
    std = np.sqrt((axes**2 / sizes).sum(axis=1))
    noise = weighed.noise
    # from a nominal machine, not from the one that was expected before any reading
    counted = observation.values / noise
    found = (counted - weighed.spread @ (weighed.spread.T @ counted)) * noise
    each = np.divide(missed, std, out=np.zeros_like(std), where=std > 1e-12)
    surprise = as_normal(float((along**2 / sizes).sum()), len(along))
    return Look(
        observation.name, observation.entry, found, found - missed * noise, std * noise, each, surprise
    )


def as_normal(square: float, freedom: int) -> float:
    """How many standard deviations of a normal distribution are as rare as a chi-square value.

    >>> round(as_normal(9.0, 1), 6)
    3.0
    """
    if freedom < 1:
        return 0.0
    if freedom == 1:
        return sqrt(square)
    rare = _log_rare(square, freedom)
    if rare > LEAST:
        return abs(NormalDist().inv_cdf(exp(rare) / 2))
    score = sqrt(-2 * rare)
    for _ in range(5):  # Newton's steps, with the slope of the farthest tail
        score += (_log_rare(score**2, 1) - rare) / (score + 1 / score)
    return score


def _log_rare(square: float, freedom: int) -> float:
    """Logarithm of the chance that chi-square exceeds a value; also where a float cannot hold the chance.

    Source: the incomplete gamma functions, DLMF 8.7.1 (series) and 8.9.2, contracted (continued fraction).
    """
    a, x = freedom / 2, square / 2
    if x <= 0:
        return 0.0
    steps = STEPS + int(10 * sqrt(a))
    front = a * log(x) - x - lgamma(a)
    if x < a + 1:
        falling = np.cumprod(x / (a + np.arange(1, steps)))
        return log1p(-exp(front) * (1 + float(falling.sum())) / a)
    rest = 0.0
    for n in range(steps, 0, -1):
        rest = n * (n - a) / (x + 2 * n + 1 - a - rest)
    return front - log(x + 1 - a - rest)
