"""Monte Carlo over the volume: the distribution of the worst error, and the chance to meet each limit.

Memory: besides the matrices of the targets, and while it begins two copies of them, each worker holds one
chunk of trials, that is 8 bytes x 512 x (sources + 2 rows), fewer trials where that would be over 140 MB, and
each target a histogram of 16 384 counts, whatever the number of trials.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.prior import Prior, Sampler
from loopwright.errors import Cancelled
from loopwright.loop.rows import Rows
from loopwright.loop.threads import one_thread
from loopwright.model.spread import Shape

Array = NDArray[np.float64]

CHUNK = 512
MOST_ERRORS = 2**23
"""Errors in one chunk, trials times rows; a chunk has fewer trials where it would hold more."""
BATCH = 4
"""Whole chunks between two looks at whether it is enough."""
FEWEST = 8 * BATCH * CHUNK
MOST = 1_000_000
BINS = 16_384
ENOUGH_OF_QUANTILE = 0.01
ENOUGH_OF_CHANCE = 0.01
"""Adaptive runs stop when two standard uncertainties of every quantile are within that fraction of it, and
those of every chance within this much."""

AT_A_TIME = 16
"""Patterns looked for at a time."""
LEFT_OUT = 1e-13
"""What the patterns may leave out of a target, as a share of its size."""

Progress = Callable[[int, int | None], None]


@dataclass(frozen=True)
class Worst:
    """Distribution of the worst size of one indication over its volume.

    Attributes:
        trials: how many were drawn.
        mean: of the worst size, mm or rad.
        edges: left edge and width of the histogram's bins, mm or rad.
        counts: of the histogram, (bins,); the last holds all that is above.
        batch_quantiles: the quantile at the stated confidence of each batch, (batches,).
        confidence: that confidence.
        limit: the limit, or None.
        met: trials that met the limit.
    """

    trials: int
    mean: float
    edges: tuple[float, float]
    counts: NDArray[np.int64]
    batch_quantiles: Array
    confidence: float
    limit: float | None
    met: int

    def quantile(self, probability: float) -> float:
        """Quantile of the worst size."""
        total = np.cumsum(self.counts)
        wanted = probability * total[-1]
        bin_ = int(np.searchsorted(total, wanted))
        below = float(total[bin_ - 1]) if bin_ else 0.0
        within = (wanted - below) / max(float(self.counts[bin_]), 1.0)
        return float(self.edges[0] + self.edges[1] * (bin_ + within))

    @property
    def quantile_std(self) -> float:
        """Sampling uncertainty of the quantile at the stated confidence (JCGM 101:2008, 7.9.4)."""
        batches = len(self.batch_quantiles)
        if batches < 2:
            return float("nan")
        return float(self.batch_quantiles.std(ddof=1) / np.sqrt(batches))

    @property
    def chance(self) -> float:
        """Share of trials that met the limit over the whole volume; nan without a limit."""
        return self.met / self.trials if self.limit is not None else float("nan")

    @property
    def chance_std(self) -> float:
        """Sampling uncertainty of the chance (binomial; one trial added to either side, so it is never 0)."""
        p = (self.met + 1) / (self.trials + 2)
        return float(np.sqrt(p * (1 - p) / (self.trials + 2)))


@dataclass(frozen=True)
class Volumes:
    """The indications of a run side by side, as matrices that turn a chunk of draws into a chunk of errors.

    Attributes:
        steps: applied one after the other to standardised draws, (columns, trials), they give what the errors
            of the rows have beyond their mean, (rows, trials).
        mean: (rows, 1).
        blocks: for each indication the slices of its components; every slice has its poses.
        normal: how many of the columns, the first ones, are standard normal.
        sampler: draws the others.
    """

    steps: tuple[Array, ...]
    mean: Array
    blocks: tuple[tuple[slice, ...], ...]
    normal: int
    sampler: Sampler


def volumes(rows: Sequence[Rows], prior: Prior) -> Volumes:
    """Lays indications side by side, and takes the errors of all poses apart into patterns over the volume.

    However many sources and poses there are, the tool point moves in a few smooth patterns. Drawing how much
    there is of each, and then adding up the patterns, is the same sum with far fewer products. The normal
    sources are drawn together, as just as many normal columns as carry their covariance.
    """
    sampler, normal = Sampler(prior), prior.places(Shape.NORMAL)
    order = np.concatenate([normal, sampler.places])
    mean = np.concatenate([r.mean.T.ravel() for r in rows])[:, None]
    flat = np.empty((len(mean), len(order)))
    blocks: list[tuple[slice, ...]] = []
    start = 0
    for r in rows:
        poses, components = r.mean.shape
        blocks.append(tuple(slice(start + c * poses, start + (c + 1) * poses) for c in range(components)))
        start += poses * components
        for component, block in enumerate(blocks[-1]):
            np.multiply(r.matrix[:, component].take(order, axis=1), prior.std[order], out=flat[block])
    steps = patterns(flat, [slice(block[0].start, block[-1].stop) for block in blocks])
    few = np.linalg.qr(steps[0][:, : len(normal)].T).R.T
    first = np.concatenate([few, steps[0][:, len(normal) :]], axis=1)
    return Volumes((first, *steps[1:]), mean, tuple(blocks), few.shape[1], sampler)


def patterns(flat: Array, targets: Sequence[slice]) -> tuple[Array, ...]:
    """Two matrices that give ``flat``, (rows, columns), to 13 digits; or it alone, where that is less work.

    Patterns are found a few at a time, from random mixtures of what is left (N. Halko, P. G. Martinsson,
    J. A. Tropp, SIAM Review 53 (2011) 217, algorithm 4.1). Each target counts by its own size, so that none
    is lost beside another. ``flat`` is used up.
    """
    size = np.concatenate([np.full((t.stop - t.start, 1), np.linalg.norm(flat[t]) or 1.0) for t in targets])
    whole, generator = flat.shape, np.random.Generator(np.random.PCG64(1))
    found, shares = np.empty((whole[0], 0)), np.empty((0, whole[1]))
    flat /= size
    while np.linalg.norm(flat) > LEFT_OUT:
        if (len(shares) + AT_A_TIME) * sum(whole) > flat.size:
            return ((flat + found @ shares) * size,)
        more, _ = np.linalg.qr(flat @ generator.standard_normal((whole[1], AT_A_TIME)))
        share = more.T @ flat
        flat -= more @ share
        found, shares = np.hstack([found, more]), np.vstack([shares, share])
    return shares, found * size


@dataclass
class _Tally:
    edges: tuple[float, float]
    counts: NDArray[np.int64]
    limit: float | None
    total: float = 0.0
    met: int = 0

    def add(self, sizes: Array) -> None:
        place = ((sizes - self.edges[0]) / self.edges[1]).astype(np.int64).clip(0, BINS - 1)
        self.counts += np.bincount(place, minlength=BINS)
        self.total += float(sizes.sum())
        if self.limit is not None:
            self.met += int((sizes <= self.limit).sum())


def monte_carlo(
    rows: Sequence[Rows],
    prior: Prior,
    limits: Sequence[float | None],
    *,
    confidence: float = 0.95,
    trials: int | None = None,
    seed: int = 0,
    workers: int | None = None,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> tuple[list[Worst], float]:
    """Draws all sources and follows the worst size of each indication over its volume.

    The stated shapes are drawn; the same draw serves all indications. Results depend on the seed and the
    number of trials alone, not on the number of workers.

    Args:
        rows: the indications, each over its poses.
        prior: what is believed of the sources.
        limits: of each indication, mm or rad, or None.
        confidence: of the quantile whose sampling uncertainty is followed.
        trials: how many; None draws until it is enough, 1 000 000 at most.
        seed: of the draw.
        workers: threads; None takes all cores.
        progress: called with the trials done and the number wanted (None where that is open).
        cancel: asked after each batch; True stops.

    Returns:
        One distribution for each indication, and the share of trials in which all limits were met (nan
        without any).

    Raises:
        Cancelled: ``cancel`` said so.

    Source: JCGM 101:2008, 7.2 to 7.9.
    """
    tallies: list[_Tally] = []
    quantiles: list[list[float]] = [[] for _ in rows]
    done = all_met = 0
    # chunks keep all cores busy
    with one_thread():
        side, count = volumes(rows, prior), workers or os.cpu_count() or 1
        for sizes in _batches(side, seed, MOST if trials is None else trials, count):
            tallies = tallies or [_tally(s, limit) for s, limit in zip(sizes, limits)]
            for tally, found, series in zip(tallies, sizes, quantiles):
                tally.add(found)
                # a last batch of a few trials says nothing about the scatter of whole ones
                if not series or len(found) == BATCH * CHUNK:
                    series.append(_quantile(found, confidence))
            all_met += _all_met(sizes, limits)
            done += sizes.shape[1]
            if progress is not None:
                progress(done, trials)
            if cancel is not None and cancel():
                raise Cancelled(f"stopped after {done} trials")
            worst = [_worst(t, done, q, confidence) for t, q in zip(tallies, quantiles)]
            if trials is None and done >= FEWEST and all(_is_enough(w) for w in worst):
                break
    any_limit = any(limit is not None for limit in limits)
    return worst, all_met / done if any_limit else float("nan")


def _batches(side: Volumes, seed: int, trials: int, workers: int) -> Iterator[Array]:
    """Worst size of each indication, (indications, trials of a batch); the next batch is drawn meanwhile."""
    size = _chunk_size(len(side.mean))
    chunks = ((number, min(size, trials - number * size)) for number in range(-(-trials // size)))
    with ThreadPoolExecutor(workers) as pool:

        def begin() -> list[Future[Array]]:
            return [
                pool.submit(_chunk, side, seed, *chunk) for chunk in islice(chunks, BATCH * CHUNK // size)
            ]

        batch = begin()
        try:
            while batch:
                following = begin()
                yield np.concatenate([future.result() for future in batch], axis=1)
                batch = following
        finally:
            pool.shutdown(cancel_futures=True)


def _chunk_size(rows: int) -> int:
    """Trials in a chunk: a power of two, so that whole chunks always make a batch."""
    size = CHUNK
    while size > 1 and size * rows > MOST_ERRORS:
        size //= 2
    return size


def _chunk(side: Volumes, seed: int, number: int, trials: int) -> Array:
    """Worst size of each indication in each trial of one chunk, (indications, trials)."""
    generator = np.random.Generator(np.random.SFC64(np.random.SeedSequence(seed, spawn_key=(number,))))
    errors = np.empty((side.steps[0].shape[1], trials))
    generator.standard_normal(out=errors[: side.normal])
    side.sampler.fill(generator, errors[side.normal :])
    for step in side.steps:
        errors = step @ errors
    errors += side.mean
    return np.stack([_size(errors, block) for block in side.blocks])


def _size(errors: Array, block: tuple[slice, ...]) -> Array:
    """Largest size over the poses, (trials,); writes over the errors."""
    squares = errors[block[0].start : block[-1].stop]
    np.square(squares, out=squares)
    total = errors[block[0]]
    for component in block[1:]:
        total += errors[component]
    return np.asarray(np.sqrt(total.max(axis=0)))


def _tally(sizes: Array, limit: float | None) -> _Tally:
    """The first batch sets the scale: four times its largest leaves room for any tail that matters."""
    top = 4 * max(float(sizes.max()), 1e-30)
    return _Tally((0.0, top / BINS), np.zeros(BINS, np.int64), limit)


def _quantile(sizes: Array, probability: float) -> float:
    """Not np.quantile, whose first call loads numpy.ma: a twentieth of the time to the first answer."""
    return float(np.interp(probability * (len(sizes) - 1), np.arange(len(sizes)), np.sort(sizes)))


def _all_met(sizes: Array, limits: Sequence[float | None]) -> int:
    met = np.ones(sizes.shape[1], bool)
    for found, limit in zip(sizes, limits):
        if limit is not None:
            met &= found <= limit
    return int(met.sum())


def _worst(tally: _Tally, done: int, quantiles: list[float], confidence: float) -> Worst:
    return Worst(
        done,
        tally.total / done,
        tally.edges,
        tally.counts,
        np.array(quantiles),
        confidence,
        tally.limit,
        tally.met,
    )


def _is_enough(worst: Worst) -> bool:
    quantile = worst.batch_quantiles.mean()
    settled = 2 * worst.quantile_std <= ENOUGH_OF_QUANTILE * abs(quantile)
    return bool(settled and (worst.limit is None or 2 * worst.chance_std <= ENOUGH_OF_CHANCE))


def histogram(worst: Worst, bars: int = 40) -> Iterator[tuple[float, float, float]]:
    """The distribution as bars for a picture: (from, to, share), up to its 99.9 % quantile."""
    top = worst.quantile(0.999)
    last = max(int(np.ceil((top - worst.edges[0]) / worst.edges[1])), 1)
    step = max(-(-last // bars), 1)
    for start in range(0, last, step):
        share = float(worst.counts[start : start + step].sum()) / worst.trials
        left = worst.edges[0] + start * worst.edges[1]
        yield left, left + step * worst.edges[1], share
