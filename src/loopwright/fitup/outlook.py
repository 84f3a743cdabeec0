"""What settings will need and leave, before anything is read or set; and whether ranges suffice."""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from loopwright.errors import RequestError
from loopwright.fitup.nearest import Array, not_negative, numbers
from loopwright.fitup.settings import Adjusters, ErrorRows


@dataclass(frozen=True)
class Expected:
    """Expected size of an error: root mean square over what may be, at each pose.

    Attributes:
        size: (poses,).
    """

    size: Array

    @property
    def rms(self) -> float:
        """Root mean square over the poses."""
        return float(np.sqrt((self.size**2).mean()))

    @property
    def largest(self) -> float:
        """At the worst pose."""
        return float(self.size.max())


def _by_pose(squares: Array) -> Array:
    return squares if squares.ndim == 1 else np.asarray(squares.sum(axis=1))


def expected_after(
    error: ArrayLike,
    effect: ArrayLike,
    factor: ArrayLike,
    *,
    setting: ArrayLike = 0.0,
    lock: ArrayLike = 0.0,
) -> Expected:
    """What is to be expected when the settings are hit no better than shop practice allows.

    Args:
        error: expected error with the new settings, (poses, components) or (rows,).
        effect: B, (poses, components, k) or (rows, k).
        factor: F of the covariance of the error F F', (poses, components, n) or (rows, n).
        setting: standard uncertainty of hitting a setting, (k,) or one for all, unit of the adjuster.
        lock: standard uncertainty of its shift when it is locked, likewise; independent of the first.

    Returns:
        Size sqrt(sum over components of mean² + variance), the variance being that of F and of B diag(s² + l²) B'.

    Raises:
        RequestError: shapes that differ, values that are no numbers, negative uncertainties.

    Source: JCGM 100:2008, 5.1.2 (10) and C.3.2 (mean square = mean² + variance). From memory.

    >>> expected_after([0.0], [[2.0]], [[3.0]], setting=2.0).size
    array([5.])
    """
    rows = ErrorRows.of(error, effect)
    shape, k = np.shape(error), rows.effect.shape[1]
    given = numbers(factor, "the factor of the covariance")
    if given.shape[:-1] != shape:
        raise RequestError(f"the factor has the shape {given.shape}", f"give it as {(*shape, 'n')}")
    squares = rows.error**2 + rows.effect**2 @ _hit(setting, lock, k)
    return Expected(np.sqrt(_by_pose(squares.reshape(shape) + (given**2).sum(axis=-1))))


def _hit(setting: ArrayLike, lock: ArrayLike, count: int, increment: ArrayLike = 0.0) -> Array:
    """Variance with which each setting is hit, (k,)."""
    parts = [
        not_negative(np.broadcast_to(np.asarray(x, np.float64), (count,)), name)
        if np.size(x) in (1, count)
        else not_negative(x, name, (count,))
        for x, name in ((setting, "setting uncertainty"), (lock, "lock shift"), (increment, "increment"))
    ]
    return np.asarray(parts[0] ** 2 + parts[1] ** 2 + parts[2] ** 2 / 12)


@dataclass(frozen=True)
class Planned:
    """What a procedure of reading and setting will need and leave, before anything is read.

    Attributes:
        mean: expected change of setting, (k,).
        covariance: of the change of setting over machines like this one, (k, k).
        error: expected error afterwards, as it was laid out.
        factor: F of its covariance F F', one axis more.
        left: size to be expected.
    """

    mean: Array
    covariance: Array
    error: Array
    factor: Array
    left: Expected


def planned(
    error: ArrayLike,
    effect: ArrayLike,
    seen: ArrayLike,
    unseen: ArrayLike,
    *,
    weights: ArrayLike | None = None,
    setting: ArrayLike = 0.0,
    lock: ArrayLike = 0.0,
    increment: ArrayLike = 0.0,
) -> Planned:
    r"""A reading and the setting made from it, run through the covariance alone.

    The readings will tell m of the deviations, and leave the rest. m is not known yet, but its covariance over
    machines like this one is: what is believed before less what will be left, C = C_before - C_left. Set
    a = -G A m, with G of :func:`gain`, the error is left with

    .. math:: A C_\mathrm{left} A^T + (I - B G) A C A^T (I - B G)^T + B S B^T

    Only factors are formed, never a covariance of all rows. Ranges are left out (see :func:`range_chance`), and an
    increment counts as a rectangular deviation of half of it.

    Args:
        error: expected error before, (poses, components) or (rows,).
        effect: B, (poses, components, k) or (rows, k).
        seen: A L with L L' = C, (poses, components, n) or (rows, n).
        unseen: A L with L L' = C_left, (poses, components, n') or (rows, n').
        weights: as in :func:`gain`.
        setting: standard uncertainty of hitting a setting, (k,) or one for all.
        lock: standard uncertainty of the shift at locking, likewise.
        increment: of each adjuster, likewise.

    Returns:
        What will be set and left.

    Raises:
        RequestError: shapes that differ, values that are no numbers, negative uncertainties.

    Source: JCGM 100:2008, 5.2.2 (13) in matrix form, 4.3.7 for the increment. From memory.

    An error of 4 that can be read to 3, with an adjuster for all of it:

    >>> plan = planned([0.0], [[1.0]], [[7**0.5]], [[3.0]])
    >>> print(plan.covariance.round(9), plan.left.size)
    [[7.]] [3.]
    """
    rows = ErrorRows.of(error, effect, weights)
    shape, k = np.shape(error), rows.effect.shape[1]
    told, rest = (
        numbers(x, f"the {name} part").reshape(len(rows.error), -1)
        if np.shape(x)[:-1] == shape
        else numbers(x, f"the {name} part", (*shape, np.shape(x)[-1] if np.ndim(x) else 1))
        for x, name in ((seen, "seen"), (unseen, "unseen"))
    )
    answer, _ = rows.gain()
    moved = answer @ told
    mean = -(answer @ rows.error)
    hit = rows.effect * np.sqrt(_hit(setting, lock, k, increment))
    factor = np.concatenate([rest, told - rows.effect @ moved, hit], axis=1)
    after = rows.error + rows.effect @ mean
    size = np.sqrt(_by_pose((after**2 + (factor**2).sum(axis=1)).reshape(shape)))
    return Planned(
        mean, moved @ moved.T, after.reshape(shape), factor.reshape(*shape, factor.shape[1]), Expected(size)
    )


def factor_of(covariance: ArrayLike) -> Array:
    """L with L L' = covariance, (n, r), r its rank; for covariances that have no Cholesky factor.

    Raises:
        RequestError: it is not square, not symmetric, or has a negative variance in some direction.

    >>> factor_of([[4.0, 4.0], [4.0, 4.0]]).shape
    (2, 1)
    """
    c = numbers(covariance, "the covariance")
    if c.ndim != 2 or c.shape[0] != c.shape[1] or not np.allclose(c, c.T, rtol=1e-8, atol=0):
        raise RequestError(
            "the covariance is not a symmetric square", "give it as (n, n), cov(i, j) = cov(j, i)"
        )
    size = np.sqrt(np.abs(c.diagonal()))
    size[size == 0] = 1.0
    values, vectors = np.linalg.eigh(c / np.outer(size, size))
    if len(values) and values[0] < -1e-8 * max(float(values[-1]), 1.0):
        raise RequestError(
            "the covariance has a negative variance in some direction", "look where it comes from"
        )
    keep = values > 1e-14 * max(float(values[-1]), 0.0) if len(values) else np.zeros(0, bool)
    return np.asarray(size[:, None] * vectors[:, keep] * np.sqrt(values[keep]))


@dataclass(frozen=True)
class RangeChance:
    """Whether ranges suffice for settings that are not known yet.

    Attributes:
        each: chance for each adjuster, (k,).
        together: chance that all suffice at once.
        together_std: its sampling uncertainty; 0 where it was computed.
        low: least setting that has to be possible for the stated chance, (k,), each adjuster by itself.
        high: greatest, likewise.
    """

    each: Array
    together: float
    together_std: float
    low: Array
    high: Array


def range_chance(
    mean: ArrayLike,
    covariance: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
    *,
    confidence: float = 0.95,
    trials: int = 100_000,
    seed: int = 0,
) -> RangeChance:
    """Chance that the ranges of adjusters suffice, the needed settings being normal.

    Args:
        mean: of the needed settings, (k,).
        covariance: of them, (k, k).
        low: least settings, (k,); may be -inf.
        high: greatest, (k,); may be inf.
        confidence: chance for which ``low`` and ``high`` of the answer are given, above 0 and below 1.
        trials: draws for the joint chance; none are needed with one adjuster or without correlation.
        seed: of the draw.

    Returns:
        Chances, and the ranges that would do.

    Raises:
        RequestError: shapes that differ, an empty range, values that are no numbers.

    Source: normal distribution; joint chance by Monte Carlo, JCGM 101:2008, 7. From memory.

    >>> chance = range_chance([0.0], [[1.0]], [-1.0], [1.0])
    >>> print(chance.each.round(4), round(chance.together, 4))
    [0.6827] 0.6827
    """
    m = numbers(mean, "mean")
    k = m.size
    m = numbers(m, "mean", (k,))
    c = numbers(covariance, "covariance", (k, k))
    limits = Adjusters.of(
        numbers(low, "low", (k,), infinite=True), numbers(high, "high", (k,), infinite=True)
    )
    if not 0 < confidence < 1 or trials < 1 or k == 0:
        raise RequestError(
            f"confidence {confidence}, {trials} trials, {k} adjusters",
            "take a chance between 0 and 1, and one at least",
        )
    factor, std = factor_of(c), np.sqrt(c.diagonal())
    # a range that ends just where a certain setting is suffices
    ends = limits.low - 1e-12 * np.abs(m), limits.high + 1e-12 * np.abs(m)
    each = _within(m, std, ends)
    half = NormalDist().inv_cdf((1 + confidence) / 2) * std
    if np.count_nonzero(c - np.diag(c.diagonal())) == 0:
        return RangeChance(each, float(each.prod()), 0.0, m - half, m + half)
    draws = (
        np.random.Generator(np.random.SFC64(seed)).standard_normal((trials, factor.shape[1])) @ factor.T + m
    )
    met = int(((draws >= ends[0]) & (draws <= ends[1])).all(axis=1).sum())
    p = (met + 1) / (trials + 2)
    return RangeChance(each, met / trials, float(np.sqrt(p * (1 - p) / (trials + 2))), m - half, m + half)


def _within(mean: Array, std: Array, ends: tuple[Array, Array]) -> Array:
    """Chance of each normal value to lie between its ends, (k,)."""
    sure = ((ends[0] <= mean) & (mean <= ends[1])).astype(float)
    with np.errstate(divide="ignore", invalid="ignore"):
        below, above = ((end - mean) / std for end in ends)
    chance = NormalDist().cdf
    return np.array([chance(b) - chance(a) if s > 0 else x for a, b, s, x in zip(below, above, std, sure)])
