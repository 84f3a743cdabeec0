"""What to set: the settings of adjusters that leave the least error, and whether their ranges suffice.

Everywhere the error is e = E0 + B (a - a0): E0 as it stands now, with the adjusters at a0, and B what a unit of
each adjuster does. Errors are laid out (poses, components), or (rows,) where each row counts by itself; what
belongs to them, B or a factor F of their covariance F F', has one more axis. Any one unit may be used for
errors, and any for each adjuster, as long as B is in the ratio of the two.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.fitup.nearest import (
    NODE_LIMIT,
    Array,
    Bools,
    Cancel,
    Effort,
    Nearest,
    Picks,
    Progress,
    bounded_least_squares,
    not_negative,
    numbers,
)

SLACK = 1e-4
"""Directions in which the adjusters do less than this share of what they do at best count as doing nothing."""
TIE = 1e-7
"""The like among combinations of increments, where nothing is solved for and rounding matters less."""
MOST_STEPS = 1_000_000
NO_CHANGE = 1e-9
"""Share of an increment, or of a range, that is rounding."""


@dataclass(frozen=True)
class Adjusters:
    """What can be set, and to what.

    An adjuster with increments can be set to low, low + increment and so on up to high; or stay as it is, if
    that is inside its range.

    Attributes:
        low: least setting, (k,), each in its own unit; may be -inf without increments.
        high: greatest setting, (k,); may be inf without increments.
        increment: (k,); 0 where any setting can be had.
        current: setting as it stands, (k,); may lie outside the range.

    Raises:
        RequestError: shapes that differ, an empty range, a negative increment, increments without ends, or more than
            a million of them.

    >>> Adjusters.of([0.0], [0.2], increment=0.05).choices(0)
    array([0.  , 0.05, 0.1 , 0.15, 0.2 ])
    """

    low: Array
    high: Array
    increment: Array
    current: Array

    @classmethod
    def of(
        cls, low: ArrayLike, high: ArrayLike, *, increment: ArrayLike = 0.0, current: ArrayLike = 0.0
    ) -> "Adjusters":
        """From anything that is a number or an array of them; a single number counts for all adjusters."""
        given = [np.asarray(x, np.float64) for x in (low, high, increment, current)]
        size = max(x.size for x in given)
        if any(x.ndim > 1 or x.size not in (1, size) for x in given):
            raise RequestError(
                "ranges, increments and settings differ in number", "give one of each per adjuster"
            )
        return cls(*(np.broadcast_to(x, (size,)).copy() for x in given))

    def __post_init__(self) -> None:
        shape = (len(self.low),)
        numbers(self.low, "low", shape, infinite=True)
        numbers(self.high, "high", shape, infinite=True)
        numbers(self.current, "current", shape)
        not_negative(self.increment, "increment", shape)
        empty = np.flatnonzero(~(self.low <= self.high) | (self.low == np.inf) | (self.high == -np.inf))
        if len(empty):
            j = int(empty[0])
            raise RequestError(
                f"the range of adjuster {j + 1}, {self.low[j]:g} to {self.high[j]:g}, is empty",
                "give the least setting first, then the greatest",
            )
        stepped = self.increment > 0
        steps = (self.high[stepped] - self.low[stepped]) / self.increment[stepped]
        if len(steps) and not steps.max() <= MOST_STEPS:
            raise RequestError(
                "a range has more than a million increments", "narrow it, or set the increment to 0"
            )

    def __len__(self) -> int:
        return len(self.low)

    def choices(self, j: int) -> Array:
        """Every setting that an adjuster with increments can have, in rising order."""
        low, step, current = self.low[j], self.increment[j], self.current[j]
        values = low + step * np.arange(np.floor((self.high[j] - low) / step + NO_CHANGE) + 1)
        if not low <= current <= self.high[j]:
            return np.asarray(values)
        nearest = int(np.abs(values - current).argmin())
        if abs(values[nearest] - current) > NO_CHANGE * step:
            return np.sort(np.append(values, current))
        values[nearest] = current
        return np.asarray(values)

    def nearest(self, values: Array) -> Array:
        """Settings freed from rounding, (k,): limits and increments that they stand at are met exactly."""
        span = np.where(np.isfinite(self.high - self.low), self.high - self.low, 1.0)
        found = np.where(values <= self.low + 1e-12 * span, self.low, values)
        found = np.where(values >= self.high - 1e-12 * span, self.high, found)
        for j in np.flatnonzero(self.increment).tolist():
            choices = self.choices(j)
            found[j] = choices[np.abs(choices - values[j]).argmin()]
        return found


@dataclass(frozen=True)
class Left:
    """An error over its poses.

    Attributes:
        rms: root mean square of its size over the poses, by weight where weights are given.
        largest: size at the worst pose; the weights do not count.
    """

    rms: float
    largest: float


@dataclass(frozen=True)
class Setting:
    """What to set, and what that does.

    Attributes:
        values: settings, (k,).
        change: from the settings as they stand, (k,).
        before: expected error as it stands.
        left: expected error with the new settings.
        error: that error, laid out as it was given.
        at_limit: whether an adjuster stands at an end of its range, (k,).
        proven: no other setting leaves less (by more than ``worth``).
        least: rms that settings without increments, but within the same ranges, would leave.
        looked_at: partial settings that the search looked at; 0 without increments.
        needed: settings that would be best without ranges and increments, (k,).
        covariance: of the needed settings, (k, k); nan where no covariance of the error was given.
        indifferent: how many directions there are in which the adjusters move nothing that counts.
    """

    values: Array
    change: Array
    before: Left
    left: Left
    error: Array
    at_limit: Bools
    proven: bool
    least: float
    looked_at: int
    needed: Array
    covariance: Array
    indifferent: int

    @property
    def uncertainty(self) -> Array:
        """Standard uncertainty of the needed settings, (k,)."""
        return np.sqrt(self.covariance.diagonal())

    @property
    def correlation(self) -> Array:
        """Of the needed settings, (k, k); zero beside one that is certain."""
        u = self.uncertainty
        return np.divide(self.covariance, np.outer(u, u), out=np.eye(len(u)), where=np.outer(u, u) != 0)


@dataclass(frozen=True)
class ErrorRows:
    """An error and what adjusters do to it, as plain rows.

    Attributes:
        error: (rows,); rows are poses x components, components running fastest.
        effect: (rows, k).
        root: square root of the weights, (rows,).
        components: how many there are at each pose.
    """

    error: Array
    effect: Array
    root: Array
    components: int

    @classmethod
    def of(
        cls, error: ArrayLike, effect: ArrayLike, weights: ArrayLike | None = None, count: int | None = None
    ) -> "ErrorRows":
        """From (poses, components) or (rows,), checked; ``count`` says how many adjusters there must be."""
        e = numbers(error, "the error")
        if e.ndim not in (1, 2) or not e.size:
            raise RequestError(
                f"the error has the shape {e.shape}", "give it as (poses, components) or (rows,)"
            )
        given = numbers(effect, "the effect of the adjusters")
        k = given.shape[-1] if count is None and given.ndim else count
        if given.shape != (*e.shape, k) or not k:
            raise RequestError(
                f"the effect of the adjusters has the shape {given.shape}",
                f"give it as {(*e.shape, k or 'k')}",
            )
        w = np.ones(e.shape) if weights is None else not_negative(weights, "weights")
        if w.shape not in (e.shape, e.shape[:1]):
            raise RequestError(f"weights have the shape {w.shape}", f"give one for each pose, or {e.shape}")
        w = np.broadcast_to(w if w.ndim == e.ndim else w[:, None], e.shape)
        return cls(e.ravel(), given.reshape(-1, k), np.sqrt(w).ravel(), 1 if e.ndim == 1 else e.shape[1])

    def left(self, error: Array) -> Left:
        """Size of an error, (rows,)."""
        squares = (error**2).reshape(-1, self.components)
        weight = self.root**2
        total = weight.sum() / self.components
        rms = np.sqrt((weight @ error**2) / total) if total else 0.0
        return Left(float(rms), float(np.sqrt(squares.sum(axis=1).max())))

    @property
    def scale(self) -> Array:
        """Weighted effect of each adjuster, (k,); of one that does nothing, that of the one that does most."""
        sizes = np.linalg.norm(self.root[:, None] * self.effect, axis=0)
        top = float(sizes.max()) or 1.0
        return np.where(sizes > SLACK**2 * top, sizes, top)

    def gain(self) -> tuple[Array, int]:
        """G with best change -G e, (k, rows), and the rank of B."""
        scale = self.scale
        u, s, vt = np.linalg.svd(self.root[:, None] * self.effect / scale, full_matrices=False)
        keep = s > SLACK * max(float(s.max()), 1e-300)
        inverse = (vt[keep].T / s[keep]) @ u[:, keep].T
        return inverse * self.root / scale[:, None], int(keep.sum())


def best_setting(
    error: ArrayLike,
    effect: ArrayLike,
    adjusters: Adjusters,
    *,
    weights: ArrayLike | None = None,
    factor: ArrayLike | None = None,
    worth: float = 0.0,
    node_limit: int = NODE_LIMIT,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
) -> Setting:
    """Settings that leave the least expected squared error, within ranges and by increments.

    Minimises the sum of w (E0 + B (a - a0))². Its expectation exceeds that by the variance of the error, which
    settings do not change, so the best settings are those for the expected error. Where several settings leave
    the same, the one that moves least from where the adjusters stand is taken; movement is counted by what each
    adjuster on its own would do to the error, so that a screw in turns and a shim in mm compare.

    Without increments this is bounded least squares. With increments every combination is accounted for by
    branch and bound. Adjusters without increments are then set best for each combination.

    Args:
        error: E0, expected error as it stands, (poses, components) or (rows,).
        effect: B, what a unit of each adjuster does, (poses, components, k) or (rows, k).
        adjusters: ranges, increments and settings as they stand.
        weights: w, zero or more, of each row or of each pose; all one where not given.
        factor: F, with F F' the covariance of the error, (poses, components, n) or (rows, n).
        worth: improvement of the rms that is not worth looking for, unit of the error. Only with increments. At 0 the
            very best combination is found, and where adjusters can be indifferent it may buy nanometres with large
            movements; a tenth of what is expected to be left anyhow avoids that.
        node_limit: partial settings that a search may look at; then the best so far is given, as not proven.
        progress: called with the partial settings looked at, and their limit.
        cancel: asked now and then; True stops.

    Returns:
        The setting, and what it leaves.

    Raises:
        RequestError: shapes that differ, values that are no numbers.
        Cancelled: ``cancel`` said so.

    Valid for small deviations, where effects add.

    Source: normal equations; C. F. Lawson and R. J. Hanson, Solving Least Squares Problems, chapter 23, for the
        bounds; the search is that of U. Fincke and M. Pohst, Mathematics of Computation 44 (1985) 463.
        Uncertainty: JCGM 100:2008, 5.2.2 (13), in matrix form. From memory.

    Four pads stand 0, 10, 6 and 24 µm high, and only their twist counts. Shims under the low diagonal do:

    >>> twist = np.array([1, -1, -1, 1]) / 4
    >>> plan = best_setting([0.002], [[*twist]], Adjusters.of([0] * 4, 0.1))
    >>> print(plan.values.round(6), round(plan.left.largest, 6))
    [0.    0.004 0.004 0.   ] 0.0
    """
    rows = ErrorRows.of(error, effect, weights, len(adjusters))
    order = np.argsort(adjusters.increment > 0, kind="stable")
    stepped = adjusters.increment[order] > 0
    scale = rows.scale[order]
    triangle, offset = _triangle(rows, order, SLACK)
    low, high = ((x - adjusters.current)[order] * scale for x in (adjusters.low, adjusters.high))
    relaxed = bounded_least_squares(triangle, offset, low, high)
    found = _Found(relaxed, True, 0)
    if stepped.any():
        if stepped.all():
            triangle, offset = _triangle(rows, order, TIE)
        total = rows.root @ rows.root / rows.components
        rest = max(float(np.sum((rows.root * rows.error) ** 2) - offset @ offset), 0.0)
        effort = Effort(_stop_below(rest, float(total), worth), node_limit, progress, cancel)
        choices = [
            (adjusters.choices(j) - adjusters.current[j]) * s
            for j, s in zip(order[stepped].tolist(), scale[stepped])
        ]
        found = _stepped(triangle, offset, (low, high), choices, relaxed, effort)
    back = np.argsort(order)
    changes = (found.point / scale)[back], (relaxed / scale)[back]
    return _setting(rows, adjusters, changes, found, factor, np.shape(error))


def _triangle(rows: ErrorRows, order: NDArray[np.intp], slack: float) -> tuple[Array, Array]:
    """R and y: weighted error and movement are |R u + y|² and a constant, u being changes x scale, in that order."""
    effect = (rows.root[:, None] * rows.effect / rows.scale)[:, order]
    orthogonal, triangle = np.linalg.qr(np.vstack([effect, slack * np.eye(len(order))]))
    return triangle, orthogonal[: len(effect)].T @ (rows.root * rows.error)


@dataclass(frozen=True)
class _Found:
    point: Array
    proven: bool
    looked_at: int


def _stop_below(rest: float, total: float, worth: float) -> Callable[[float], float]:
    """From the least cost so far, the cost that a better one has to be below."""
    if not worth > 0:
        return lambda best: best * (1 - 1e-12)

    def below(best: float) -> float:
        wanted = max(np.sqrt((best + rest) / total) - worth, 0.0) if total and np.isfinite(best) else 0.0
        return float(wanted**2 * total - rest) if np.isfinite(best) else best

    return below


def _setting(
    rows: ErrorRows,
    adjusters: Adjusters,
    changes: tuple[Array, Array],
    found: _Found,
    factor: ArrayLike | None,
    shape: tuple[int, ...],
) -> Setting:
    change, relaxed = changes
    values = adjusters.nearest(adjusters.current + change)
    change = values - adjusters.current
    answer, rank = rows.gain()
    covariance = np.full((len(values), len(values)), np.nan)
    if factor is not None:
        given = numbers(factor, "the factor of the covariance")
        if given.shape[:-1] != shape:
            raise RequestError(
                f"the factor of the covariance has the shape {given.shape}", f"give it as {(*shape, 'n')}"
            )
        moved = answer @ given.reshape(len(rows.error), -1)
        covariance = moved @ moved.T
    after = rows.error + rows.effect @ change
    span = np.where(np.isfinite(adjusters.high - adjusters.low), adjusters.high - adjusters.low, 1.0)
    near = NO_CHANGE * span
    return Setting(
        values,
        change,
        rows.left(rows.error),
        rows.left(after),
        after.reshape(shape),
        (values <= adjusters.low + near) | (values >= adjusters.high - near),
        found.proven,
        rows.left(rows.error + rows.effect @ relaxed).rms,
        found.looked_at,
        adjusters.current - answer @ rows.error,
        covariance,
        len(values) - rank,
    )


def gain(effect: ArrayLike, weights: ArrayLike | None = None) -> Array:
    """How adjusters answer an error: the best change of setting is -G e, without ranges and increments.

    Args:
        effect: B, (poses, components, k) or (rows, k).
        weights: of each row or of each pose, zero or more.

    Returns:
        G, (k, rows); rows are poses x components, components running fastest. Where several changes leave the
        same, the smallest, counted as in :func:`best_setting`.

    Raises:
        RequestError: shapes that differ, values that are no numbers.

    >>> gain([[1.0], [1.0]])
    array([[0.5, 0.5]])
    """
    effect = numbers(effect, "the effect of the adjusters")
    return ErrorRows.of(np.zeros(effect.shape[:-1]), effect, weights).gain()[0]


def _stepped(
    triangle: Array,
    offset: Array,
    limits: tuple[Array, Array],
    choices: list[Array],
    relaxed: Array,
    effort: Effort,
) -> _Found:
    """Best with increments; the adjusters without come first, and are set best for each choice of the others."""
    loose = len(offset) - len(choices)
    low, high = limits[0][:loose], limits[1][:loose]

    def rest(z: Array) -> Array:
        held = offset[:loose] + triangle[:loose, loose:] @ z
        return bounded_least_squares(triangle[:loose, :loose], held, low, high) if loose else np.empty(0)

    def finish(picks: Picks) -> Array:
        z = np.array([values[i] for values, i in zip(choices, picks[0])])
        u = rest(z)
        miss = triangle[:loose, :loose] @ u + triangle[:loose, loose:] @ z + offset[:loose]
        return np.array([miss @ miss])

    nearest = Nearest(
        triangle[loose:, loose:],
        offset[loose:],
        choices,
        [np.zeros(1)] * len(choices),
        finish if loose else None,
    )
    _start(nearest, relaxed[loose:])
    proven = nearest.search(effort)
    assert nearest.picks is not None
    z = np.array([values[i] for values, i in zip(choices, nearest.picks)])
    return _Found(np.concatenate([rest(z), z]), proven, effort.nodes)


def _start(nearest: Nearest, wanted: Array) -> None:
    """A choice to begin with: the wanted one rounded, then one place at a time made better."""
    picks = np.array([np.abs(v - w).argmin() for v, w in zip(nearest.values, wanted)], np.int64)
    point = np.array([v[i] for v, i in zip(nearest.values, picks)])
    for _ in range(10):
        was = picks.copy()
        for j, values in enumerate(nearest.values):
            column = nearest.triangle[:, j]
            miss = nearest.triangle @ point + nearest.offset - column * point[j]
            picks[j] = np.abs(values + (column @ miss) / (column @ column)).argmin()
            point[j] = values[picks[j]]
        if (picks == was).all():
            break
    miss = nearest.triangle @ point + nearest.offset
    nearest.picks, nearest.cost = picks, float(miss @ miss)
    if nearest.finish is not None:
        nearest.cost += float(nearest.finish(picks[None])[0])
