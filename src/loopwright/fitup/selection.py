"""Which of several inspected parts goes where: the assignment that leaves the least error, and what choosing brings."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from loopwright.errors import RequestError
from loopwright.fitup.assignment import Block, Task, Watch, evaluate_all
from loopwright.fitup.bounding import search_best
from loopwright.fitup.nearest import Array, Cancel, Progress

__all__ = ["ALL_CHOICES", "Block", "Choice", "Selection", "select"]

ALL_CHOICES = 200_000
"""Up to so many choices each of them is evaluated; beyond, a search finds the best and a sample the average."""


@dataclass(frozen=True)
class Choice:
    """One way to fill the places.

    Attributes:
        candidates: the one in each place, (places,), counted from 0.
        objective: largest over the targets of expected size / limit.
    """

    candidates: tuple[int, ...]
    objective: float


@dataclass(frozen=True)
class Selection:
    """The best choice, and what choosing brings.

    Attributes:
        ranking: the best choices, ten at the most, the best first.
        sizes: expected size at each pose with the best, for each target (poses,), unit of the error.
        average: mean objective over all choices: what to expect of parts taken as they come.
        average_std: its standard uncertainty; 0 where every choice was evaluated.
        worst: the largest objective found; where not every choice was evaluated, there may be worse.
        choices: how many choices there are; where not every one was evaluated, the barred ones count too.
        every: whether every choice was evaluated for average and worst; else a sample was.
        forced: least objective with a candidate in use, (candidates,); infinite where it cannot be used, nan where
            it was not asked for.
        aside: candidates that, even in the best place with the best partners, do no better than the average of
            parts taken as they come; or that fit no place.
    """

    ranking: tuple[Choice, ...]
    sizes: tuple[Array, ...]
    average: float
    average_std: float
    worst: float
    choices: int
    every: bool
    forced: Array
    aside: tuple[int, ...]

    @property
    def best(self) -> Choice:
        """The best of all choices."""
        return self.ranking[0]


def select(
    blocks: Sequence[Block],
    *,
    allowed: ArrayLike | None = None,
    forced: bool = True,
    seed: int = 0,
    every_up_to: int = ALL_CHOICES,
    progress: Progress | None = None,
    cancel: Cancel | None = None,
) -> Selection:
    """Which candidate goes into which place, each used once at the most, to leave the least expected error.

    The expected size at a pose is sqrt(sum over its components of mean² + variance). The objective is the largest
    over the targets of that size, at the worst pose or as rms, divided by the limit. The best choices are exact:
    up to ``every_up_to`` choices are all evaluated; of more, those are left out that a lower bound rules out.

    Args:
        blocks: the targets, all with the same places and candidates.
        allowed: (places, candidates), False where a candidate must not go; all may where not given.
        forced: whether to find what each candidate would cost; takes a search for each where there are many choices.
        seed: of the sample for the average.
        every_up_to: choices that are all evaluated.
        progress: called with the steps done and how many there are, or None where that is open.
        cancel: asked at each step; True stops.

    Returns:
        The best choices, the average and the worst.

    Raises:
        RequestError: shapes that differ, more places than candidates, or no choice that is allowed.
        Cancelled: ``cancel`` said so.

    Source: mean square = mean² + variance (JCGM 100:2008, C.3.2, from memory). Bounds: the largest of several
        numbers is no less than any weighted mean of them, and a sum of pairs no less than each pair's least (P. C.
        Gilmore, Journal SIAM 10 (1962) 305, from memory).

    Two bores 3 and 5 µm off one way, and two places of which the second turns it round:

    >>> off = np.array([3.0, 5.0])
    >>> mean = np.stack([off, -off])[:, :, None, None]
    >>> target = Block(mean, np.zeros_like(mean), np.full((1, 1), 1.0), np.zeros((1, 1)))
    >>> select([target]).best
    Choice(candidates=(0, 1), objective=1.0)
    """
    task, watch = Task.of(blocks, allowed), Watch(progress, cancel)
    every = task.at_most <= every_up_to
    if every:
        tally = evaluate_all(task, watch)
        mean, std, cost = tally.total / max(tally.count, 1), 0.0, tally.forced
    else:
        tally, mean, std, cost = search_best(task, seed, forced=forced, watch=watch)
    if not tally.ranked:
        raise RequestError("there is no choice that is allowed", "allow more candidates in the places")
    ranking = tuple(Choice(task.named(picks), float(np.sqrt(value))) for value, picks in tally.ranked)
    cost = np.sqrt(cost[: task.candidates])
    aside = tuple(np.flatnonzero(cost > mean * (1 + 1e-9)).tolist())
    sizes = tuple(_size(block, ranking[0].candidates) for block in blocks)
    count = tally.count if every else task.at_most
    return Selection(ranking, sizes, mean, std, float(np.sqrt(tally.worst)), count, every, cost, aside)


def _size(block: Block, chosen: tuple[int, ...]) -> Array:
    """Expected size at each pose, (poses,)."""
    places = np.arange(len(chosen))
    mean = block.base_mean + block.mean[places, list(chosen)].sum(axis=0)
    variance = block.base_variance + block.variance[places, list(chosen)].sum(axis=0)
    return np.asarray(np.sqrt((mean**2 + variance).sum(axis=1)))
