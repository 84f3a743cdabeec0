"""What single dims carry at the tool: how far they move each target, and how much of its error is theirs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.studies.as_built import sizes
from loopwright.studies.bench import Bench
from loopwright.units import Dimension

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Carried:
    """What one dim carries of one target, at the pose where that is worst off now; mm or rad.

    Attributes:
        target, dimension, limit: of the target.
        moves: how far the target moves for a deviation of the dim of one unit (mm or rad).
        known: size of the known error that the dim brings.
        unknown: standard uncertainty that the dim brings.
        before: the same before any reading.
        share: of the variance of the target, now.
        share_before: before any reading.
    """

    target: str
    dimension: Dimension
    limit: float
    moves: float
    known: float
    unknown: float
    before: float
    share: float
    share_before: float


def shares(bench: Bench) -> Mapping[str, float]:
    """For every dim its largest share in the variance of a target at its worst pose, as it is known now.

    A dim that was cut together with others counts with its own part and the shared one.
    """
    if not bench.build.targets:
        return dict.fromkeys(bench.loop.dims, 0.0)
    _, std = bench.knowledge.deviations(bench.state)
    largest = np.zeros(len(bench.loop.dims))
    places, starts = _places(bench)
    for name in bench.build.targets:
        matrix = _at_worst(bench, name)
        carried = ((matrix * std) ** 2).sum(axis=0)
        total = carried.sum()
        if total and len(places):
            largest = np.maximum(largest, np.add.reduceat(carried[places], starts) / total)
    return dict(zip(bench.loop.dims, largest.tolist()))


def _places(bench: Bench) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Places in x of all dims one after the other, and where each dim begins."""
    lists = list(bench.loop.dims.values())
    flat = np.array([place for one in lists for place in one], dtype=np.intp)
    starts = np.cumsum([0, *(len(one) for one in lists[:-1])]).astype(np.intp)
    return flat, starts


def carried_by(bench: Bench, dims: Sequence[str]) -> dict[str, tuple[Carried, ...]]:
    """What each of some dims carries of each target, the largest share first.

    Args:
        bench: the build as it stands.
        dims: as 'part/dim'.

    Returns:
        For each dim one line for each target that it moves at all.
    """
    mean, std = bench.knowledge.deviations(bench.state)
    prior = bench.knowledge.line.prior
    out: dict[str, list[Carried]] = {dim: [] for dim in dims}
    for name, target in bench.build.targets.items():
        matrix = _at_worst(bench, name)
        now, before = ((matrix * std) ** 2).sum(), ((matrix * prior.std) ** 2).sum()
        for dim in dims:
            places = list(bench.loop.dims[dim])
            own = matrix[:, places]
            moves = float(np.sqrt((own[:, 0] ** 2).sum()))
            if moves < 1e-9:
                continue
            unknown = float(np.sqrt(((own * std[places]) ** 2).sum()))
            was = float(np.sqrt(((own * prior.std[places]) ** 2).sum()))
            known = float(np.sqrt(((own @ (mean - prior.mean)[places]) ** 2).sum()))
            out[dim].append(
                Carried(
                    name, target.dimension, target.limit, moves, known, unknown, was,
                    float(unknown**2 / now) if now else 0.0, float(was**2 / before) if before else 0.0,
                )
            )  # fmt: skip
    return {dim: tuple(sorted(found, key=lambda one: -one.share)) for dim, found in out.items()}


def _at_worst(bench: Bench, target: str) -> Array:
    """Rows of a target at the pose where it is worst off now, (components, sources)."""
    rows = bench.rows(target)
    worst = sizes(bench.knowledge, rows, bench.state)[1]
    return np.asarray(rows.matrix[worst])
