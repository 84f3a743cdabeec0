"""The chance to hold the limits as built, with the stated shapes: importance sampling around the best fit.

Least squares counts every deviation as normal. Here what readings hardly touch is a function of a normal variable,
x = m + u g(z), that gives it its stated shape exactly, so it is drawn from its own distribution. What readings do pin
down is drawn as least squares has it, and each draw is weighed by how much more or less likely the stated shapes and
the readings make it. Where a few draws carry most of the weight, what is pinned down is moved about within its
limits instead, each move accepted or rejected by the stated shapes where these are not flat.

Source: JCGM 101:2008, 5 and 7 (propagation of distributions); importance sampling and Metropolis moves are textbook.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, sqrt

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.information import LARGE
from loopwright.asbuilt.knowledge import Knowledge
from loopwright.asbuilt.montecarlo import patterns
from loopwright.asbuilt.prior import Prior
from loopwright.asbuilt.triangles import inverse_of_upper
from loopwright.asbuilt.within_limits import Round, moved_within
from loopwright.errors import Cancelled
from loopwright.loop.rows import Rows
from loopwright.model.spread import Shape

Array = NDArray[np.float64]

TRIALS = 4096
CHUNK = 1024
ROUNDS = 50
SETTLED = 400
"""Draws of equal weight that the weighted ones must be worth, for the answer to count."""
HOPELESS = 0.25
"""Weighted draws that come to less than this share of that are given up."""
MOVED_ON = 2048
"""Draws that are moved on where the weighted ones do not settle."""
TIED = 1e-6
"""Unknowns of a large machine that go together by less than this correlation are drawn apart."""
FEW = 10_000
"""So many values are quicker worked out one by one than the library for more is loaded."""


@dataclass(frozen=True)
class Drawn:
    """Worst size of one target over its volume, as built.

    Attributes:
        chance: to meet the limit everywhere.
        chance_std: its sampling uncertainty.
        quantile: size that the stated share of machines keeps to, mm or rad.
        quantile_std: its sampling uncertainty, roughly.
        expected: root mean square of the size at the pose where that is largest.
        mean: of the worst size, mm or rad.
        histogram: the distribution as bars, (from, to, share), up to its 99.9 % quantile.
    """

    chance: float
    chance_std: float
    quantile: float
    quantile_std: float
    expected: float
    mean: float = float("nan")
    histogram: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True)
class AsBuiltDraws:
    """Both ways of reckoning the chance, side by side.

    Attributes:
        shaped: each target with the stated shapes.
        normal: each target with every deviation counted as normal, as least squares does.
        chance_of_all: to meet all limits together: shaped, and normal.
        trials: machines drawn.
        worth: how many draws of equal weight the weighted ones are worth.
        discredited: places of deviations that were read outside their limits; their shape no longer counts.
    """

    shaped: tuple[Drawn, ...]
    normal: tuple[Drawn, ...]
    chance_of_all: tuple[float, float]
    trials: int
    worth: float
    discredited: tuple[int, ...]

    @property
    def settled(self) -> bool:
        """The weighted draws are worth enough; otherwise trust the normal ones."""
        return self.worth >= SETTLED


def shaped(z: Array, flat: Array, arc: NDArray[np.bool_], normal: NDArray[np.bool_]) -> tuple[Array, Array]:
    """A normal variable as one of unit variance with a stated shape, and the slope of that.

    Args:
        z: (..., unknowns).
        flat: share of a trapezoid that is flat, 1 for a rectangle, 0 for a triangle, (unknowns,).
        arc: which are arcsine, (unknowns,).
        normal: which are normal, (unknowns,).

    Source: inverse of the distribution functions of JCGM 101:2008, 6.4.
    """
    density = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    beyond = _beyond(np.abs(z))
    u = 0.5 - beyond
    half = np.sqrt(6 / (1 + flat**2))
    in_flat = u <= flat / (1 + flat)
    edge = np.sqrt(2 * np.maximum(beyond, 1e-300) * (1 - flat**2))
    value = np.where(in_flat, u * half * (1 + flat), half * (1 - edge))
    slope = np.where(
        in_flat, half * (1 + flat) * density, half * (1 - flat**2) * density / np.maximum(edge, 1e-150)
    )
    value = np.where(arc, np.sqrt(2) * np.sin(np.pi * u), value)
    slope = np.where(arc, np.sqrt(2) * np.pi * np.cos(np.pi * u) * density, slope)
    value = np.where(normal, np.abs(z), value)
    return np.sign(z) * value, np.where(normal, 1.0, slope)


def _beyond(z: Array) -> Array:
    """Chance that a normal variable is above each z; z of 0 or more."""
    if z.size <= FEW:
        return np.array([0.5 * erfc(one) for one in (z.ravel() / sqrt(2)).tolist()]).reshape(z.shape)
    from scipy.special import ndtr  # takes a tenth of a second to load

    return np.asarray(ndtr(-z))


PINNED = 0.05
"""Information that readings bring to a deviation, against what was known before, above which it counts as pinned."""


def density(x: Array, flat: Array, arc: NDArray[np.bool_]) -> Array:
    """Logarithm of the density of a shape of unit variance, less a constant; minus infinity outside of its limits.

    Args:
        x: (..., unknowns).
        flat: share of a trapezoid that is flat, 1 for a rectangle, 0 for a triangle, (unknowns,).
        arc: which are arcsine, (unknowns,).
    """
    half = np.sqrt(6 / (1 + flat**2))
    size = np.abs(x)
    with np.errstate(divide="ignore", invalid="ignore"):
        sloped = np.log((half - size) / (half * (1 - flat)))
        straight = np.where(size <= half * flat, 0.0, sloped)
        bowed = -0.5 * np.log(1 - np.minimum(x**2, 2.0 - 1e-12) / 2)
    out = np.where(arc, np.where(x**2 < 2, bowed, -np.inf), np.where(size < half, straight, -np.inf))
    return np.asarray(out)


@dataclass(frozen=True)
class _Shapes:
    """Shapes of the open unknowns, and which of them readings pin down."""

    flat: Array
    arc: NDArray[np.bool_]
    normal: NDArray[np.bool_]
    pinned: NDArray[np.bool_]

    def at(self, z: Array) -> tuple[Array, Array]:
        """Values and slopes: of those pinned down the very variable that is drawn."""
        return shaped(z, self.flat, self.arc, self.normal | self.pinned)

    def weight(self, z: Array) -> Array:
        """Logarithm of how much likelier the shapes make draws of what is pinned down, (trials,)."""
        chosen = self.pinned & ~self.normal
        x = z[:, chosen]
        return np.asarray((density(x, self.flat[chosen], self.arc[chosen]) + 0.5 * x**2).sum(axis=1))

    def bowed(self, places: NDArray[np.intp]) -> Callable[[Array], Array] | None:
        """Logarithm of the density of some unknowns, (k, trials) -> (trials,); None where all are flat."""
        flat, arc = self.flat[places], self.arc[places]
        uneven = arc | (flat < 1)
        if not uneven.any():
            return None
        return lambda x: density(x[uneven].T, flat[uneven], arc[uneven]).sum(axis=1)


def draw(
    knowledge: Knowledge,
    rows: Sequence[Rows],
    limits: Sequence[float],
    *,
    confidence: float = 0.95,
    trials: int = TRIALS,
    seed: int = 0,
    state: int | None = None,
    shapes: bool = True,
    thorough: bool = True,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> AsBuiltDraws:
    """Draws machines that agree with the readings, with the stated shapes and with normal ones.

    Args:
        knowledge: what is known.
        rows: of each target.
        limits: of each target, mm or rad.
        confidence: of the quantile.
        trials: how many machines.
        seed: of the draw.
        state: of the machine; None takes the newest.
        shapes: draw the stated shapes too; otherwise every deviation counts as normal, which is quick.
        thorough: move draws about where the weighted ones do not settle, which takes seconds.
        progress: called with the trials done and the number wanted.
        cancel: asked after each chunk; True stops.

    Raises:
        Cancelled: ``cancel`` said so.
    """
    state = knowledge.line.newest if state is None else state
    forms, discredited = _shapes(knowledge)
    fit = _fit(knowledge, forms) if shapes else None
    start, wide = _over_unknowns(knowledge, rows, state) if shapes else (np.zeros(0), np.zeros((0, 0)))
    weighted, normal = _Gathered(rows, limits), _Gathered(rows, limits)
    middle, root = (np.concatenate(p) for p in zip(*(knowledge.of_target(r, state) for r in rows)))
    if fit is None and len(knowledge.open_) > LARGE:
        # most of a large machine moves no target
        root = root[:, root.any(axis=0)]
    columns = root.shape[1]
    steps = patterns(root, normal.targets)
    hopeless = False
    for number, first in enumerate(range(0, trials, CHUNK)):
        count = min(CHUNK, trials - first)
        generator = np.random.Generator(np.random.SFC64(np.random.SeedSequence(seed, spawn_key=(number,))))
        noise = generator.standard_normal((count, columns))
        if fit is not None and not hopeless:
            x, weights = _weighed(knowledge, forms, *fit, noise)
            weighted.add(start[:, None] + wide @ x.T, weights)
            # a few draws carry it all, and more of them will not be worth enough
            most = weighted.worth() * trials / (first + count)
            hopeless = thorough and number > 0 and most < HOPELESS * SETTLED
        errors = _through(steps, noise.T)
        errors += middle[:, None]
        normal.add(errors, np.zeros(count))
        if progress is not None:
            progress(first + count, trials)
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after {first + count} trials")
    if fit is None:
        found, all_ = normal.drawn(confidence), normal.together()
        return AsBuiltDraws(found, found, (all_, all_), trials, 0.0, discredited)
    worth = weighted.worth()
    if thorough and (hopeless or worth < SETTLED):
        moved, worth = _moved_on(forms, *fit, wide, seed, cancel), float(MOVED_ON)
        weighted = _Gathered(rows, limits)
        weighted.add(start[:, None] + wide @ moved.T, np.zeros(len(moved)))
    together = (weighted.together(), normal.together())
    return AsBuiltDraws(
        weighted.drawn(confidence), normal.drawn(confidence), together, trials, worth, discredited
    )


def _through(steps: Sequence[Array], draws: Array) -> Array:
    """Draws, (columns, trials), turned into errors, (rows, trials), by one matrix after the other."""
    for step in steps:
        draws = step @ draws
    return draws


def _over_unknowns(knowledge: Knowledge, rows: Sequence[Rows], state: int) -> tuple[Array, Array]:
    """What the targets show with all unknowns at their means, (rows,), and for a unit of each, (rows, open)."""
    flat = np.concatenate([r.matrix.reshape(-1, r.matrix.shape[-1]) for r in rows])
    return knowledge.line.over_pieces(flat, state) @ knowledge.line.mean, knowledge.rows(flat, state)


def _moved_on(
    forms: _Shapes,
    best: Array,
    spread: Array,
    wide: Array,
    seed: int,
    cancel: Callable[[], bool] | None,
) -> Array:
    """Draws in prior units that keep within all limits, (draws, open): first what is pinned down, then the rest."""
    generator = np.random.Generator(np.random.SFC64(np.random.SeedSequence(seed, spawn_key=(1 << 20,))))
    noise = generator.standard_normal((MOVED_ON, len(best)))
    # what is normal anyhow follows the others, as least squares has it
    pinned = np.flatnonzero(forms.pinned & ~forms.normal)
    if len(pinned) > LARGE:
        # most of a large machine moves no target
        pinned = pinned[_tied_to((wide != 0).any(axis=0), spread)[pinned]]
    root = spread[pinned]
    half, _ = shaped(np.full(len(best), 40.0), forms.flat, forms.arc, forms.normal)
    half = half[pinned]
    free = best[pinned] + noise @ root.T
    about = Round.without_prior(root, best[pinned])
    start = np.clip(free, -0.999 * half, 0.999 * half).T
    chosen = moved_within(start, about, half, forms.bowed(pinned), generator, cancel).T
    answer = np.linalg.lstsq(root @ root.T, (chosen - free).T, rcond=None)[0]
    x, _ = forms.at(best + (noise + (root.T @ answer).T) @ spread.T)
    x[:, pinned] = chosen
    return np.asarray(x)


def _tied_to(moving: NDArray[np.bool_], spread: Array) -> NDArray[np.bool_]:
    """Which unknowns are among those that move a target, or go together with one that is, (open,)."""
    from scipy.sparse import csr_array  # slow to load, and few ask for it
    from scipy.sparse.csgraph import connected_components

    together = spread @ spread.T
    sizes = np.sqrt(np.diag(together))
    tied = csr_array(np.abs(together) > TIED * np.outer(sizes, sizes))
    _, group = connected_components(tied, directed=False)
    return np.isin(group, np.unique(group[moving]))


def _shapes(knowledge: Knowledge) -> tuple[_Shapes, tuple[int, ...]]:
    """Shapes of the open unknowns; one that was read outside its limits counts as normal from then on."""
    prior: Prior = knowledge.line.prior
    count, open_ = len(knowledge.scale), knowledge.open_
    flat, arc, normal = np.ones(count), np.zeros(count, bool), np.ones(count, bool)
    for piece, place in enumerate(knowledge.line.drawn_as):
        if place is None:  # it was set, sized or measured
            continue
        shape = prior.shapes[place]
        normal[piece] = shape is Shape.NORMAL
        arc[piece] = shape is Shape.ARCSINE
        if shape in (Shape.TRIANGULAR, Shape.TRAPEZOIDAL):
            flat[piece] = 0.0 if shape is Shape.TRIANGULAR else prior.top[place]
    pinned = knowledge.information.told_of_each > PINNED
    forms = _Shapes(flat[open_], arc[open_], normal[open_], pinned)
    left = knowledge.left
    bound, _ = shaped(np.full(len(open_), 8.0), forms.flat, forms.arc, forms.normal)
    outside = np.logical_not(forms.normal) & (np.abs(knowledge.moved) - left > bound) & (left < 0.5)
    forms.normal[outside] = True
    return forms, tuple(knowledge.line.places[piece] for piece in open_[outside])


def _fit(knowledge: Knowledge, forms: _Shapes) -> tuple[Array, Array]:
    """The best fit in z, and C with C C' = covariance there, by Gauss-Newton steps."""
    z = np.clip(knowledge.moved, -2.0, 2.0)

    def off(z: Array) -> float:
        x, _ = forms.at(z)
        return float(z @ z / 2 - knowledge.right @ x + x @ knowledge.gram @ x / 2)

    size = off(z)
    for _ in range(ROUNDS):
        x, slope = forms.at(z)
        root = _spread(knowledge.gram, slope)
        uphill = z - slope * (knowledge.right - knowledge.gram @ x)
        step = -root @ (root.T @ uphill)
        share = 1.0
        while off(z + share * step) > size and share > 1e-4:
            share /= 2
        z = z + share * step
        size = off(z)
        if np.abs(share * step).max(initial=0.0) < 1e-6:
            break
    _, slope = forms.at(z)
    return z, _spread(knowledge.gram, slope)


def _spread(gram: Array, slope: Array) -> Array:
    """C with C C' = (1 + D G'G D)^-1, D the slopes, (open, open)."""
    upper = np.linalg.cholesky(np.eye(len(slope)) + slope[:, None] * gram * slope).T
    return inverse_of_upper(np.asarray(upper, float))


def _weighed(
    knowledge: Knowledge, forms: _Shapes, best: Array, spread: Array, noise: Array
) -> tuple[Array, Array]:
    """Draws of the open unknowns in prior units, (trials, open), and the logarithm of each one's weight."""
    z = best + noise @ spread.T
    x, _ = forms.at(z)
    likely = x @ knowledge.right - 0.5 * ((x @ knowledge.gram) * x).sum(axis=1)
    even = likely - 0.5 * (z**2).sum(axis=1) + 0.5 * (noise**2).sum(axis=1)
    return x, even + forms.weight(z)


class _Gathered:
    """Worst sizes of every target, draw by draw, with their weights."""

    def __init__(self, rows: Sequence[Rows], limits: Sequence[float]) -> None:
        self._shapes = [r.matrix.shape[:2] for r in rows]
        self._ends = np.cumsum([0, *(poses * components for poses, components in self._shapes)]).tolist()
        self._limits = np.array(limits, float)
        self._worst: list[Array] = []
        self._weights: list[Array] = []
        self._squares: list[Array] = []

    @property
    def targets(self) -> list[slice]:
        """The rows of each target."""
        return [slice(start, end) for start, end in zip(self._ends[:-1], self._ends[1:])]

    def add(self, errors: Array, weights: Array) -> None:
        """Errors of a chunk, (rows, trials), which are used up, and the logarithms of its weights."""
        worst, squares, peak = [], [], _peak(weights)
        np.square(errors, out=errors)
        for start, end, shape in zip(self._ends[:-1], self._ends[1:], self._shapes):
            sizes = errors[start:end].reshape(*shape, -1).sum(axis=1)
            worst.append(np.sqrt(sizes.max(axis=0)))
            squares.append(sizes @ np.exp(weights - peak))
        self._worst.append(np.stack(worst))
        self._weights.append(weights)
        self._squares.append(np.concatenate([*squares, [peak]]))

    def _weight(self) -> Array:
        logs = np.concatenate(self._weights)
        out = np.exp(logs - _peak(logs)) if np.isfinite(logs).any() else np.ones(len(logs))
        return np.asarray(out / out.sum())

    def worth(self) -> float:
        """Draws of equal weight that these are worth; none where every one is impossible."""
        if not np.isfinite(np.concatenate(self._weights)).any():
            return 0.0
        return float(1 / (self._weight() ** 2).sum())

    def together(self) -> float:
        """Share of machines that hold every limit."""
        met = (np.concatenate(self._worst, axis=1) <= self._limits[:, None]).all(axis=0)
        return float(self._weight() @ met)

    def drawn(self, confidence: float) -> tuple[Drawn, ...]:
        """Every target."""
        weight, worst = self._weight(), np.concatenate(self._worst, axis=1)
        logs = np.concatenate(self._weights)
        total = np.exp(logs - _peak(logs)).sum() or 1.0
        square = sum(s[:-1] * np.exp(s[-1] - _peak(logs)) for s in self._squares) / total
        out, begin = [], 0
        for sizes, limit, (poses, _) in zip(worst, self._limits, self._shapes):
            met = sizes <= limit
            chance = float(weight @ met)
            doubt = float(np.sqrt((weight**2 * (met - chance) ** 2).sum()))
            # one draw more to either side, so that the doubt is never nothing
            doubt = max(doubt, float(np.sqrt((weight**2).sum()) / np.sqrt(1 / (weight**2).sum())))
            quantile, quantile_std = _quantile(sizes, weight, confidence)
            expected = float(np.sqrt(np.asarray(square)[begin : begin + poses].max()))
            mean, bars = float(weight @ sizes), _bars(sizes, weight)
            out.append(Drawn(chance, doubt, quantile, quantile_std, expected, mean, bars))
            begin += poses
        return tuple(out)


def _bars(sizes: Array, weight: Array, most: int = 40) -> tuple[tuple[float, float, float], ...]:
    """Worst sizes as bars of one width, (from, to, share), up to their 99.9 % quantile."""
    top, _ = _quantile(sizes, weight, 0.999)
    if not top > 0:
        return ()
    count = int(min(most, max(8, 2 * len(sizes) ** (1 / 3))))
    edges = np.linspace(0.0, top, count + 1)
    shares, _ = np.histogram(sizes, edges, weights=weight)
    return tuple(zip(edges[:-1].tolist(), edges[1:].tolist(), shares.tolist()))


def _peak(logarithms: Array) -> float:
    """The largest; where all draws are impossible, something that leaves them so."""
    return max(float(logarithms.max()), -1e300)


def _quantile(sizes: Array, weight: Array, probability: float) -> tuple[float, float]:
    order = np.argsort(sizes)
    rising = np.cumsum(weight[order])
    worth = 1 / (weight**2).sum()
    doubt = np.sqrt(probability * (1 - probability) / worth)

    def at(share: float) -> float:
        return float(np.interp(share, rising, sizes[order]))

    return at(probability), (at(min(probability + doubt, 1.0)) - at(probability - doubt)) / 2
