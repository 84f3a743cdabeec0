"""First-order propagation: bias and standard uncertainty at every pose, and which source carries how much."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.prior import Prior
from loopwright.loop.rows import Rows
from loopwright.measuring.coverage import coverage_factor

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Budget:
    """What an indication is expected to be, by JCGM 100.

    Attributes:
        rows: the indication.
        std: standard uncertainty of each component, (poses, components).
        size: expected size of the error, root of its mean square over what is not known, (poses,).
        worst: number of the pose with the largest expected size.
        share_worst: share of each source in the variance at the worst pose, (sources,); sums to 1.
        share_volume: share in the variance summed over all poses, (sources,); sums to 1.
    """

    rows: Rows
    std: Array
    size: Array
    worst: int
    share_worst: Array
    share_volume: Array

    def interval(self, confidence: float) -> Array:
        """Coverage interval of each component at the worst pose, (components, 2), normal distribution."""
        reach = coverage_factor(confidence) * self.std[self.worst]
        centre = self.rows.mean[self.worst]
        return np.stack([centre - reach, centre + reach], axis=-1)


def variances(rows: Rows, prior: Prior) -> Array:
    """Variance that each source brings at each pose, all components added, (poses, sources)."""
    return np.asarray(np.einsum("pcs,pcs,s->ps", rows.matrix, rows.matrix, prior.std**2))


def budget(rows: Rows, prior: Prior) -> Budget:
    """Propagates the prior through an indication.

    Args:
        rows: the indication over its poses.
        prior: what is believed of the sources.

    Source: JCGM 100:2008, 5.1.2, equation (10); the sources are independent by construction.
    """
    poses, components, sources = rows.matrix.shape
    flat = rows.matrix.reshape(poses * components, sources)
    # einsum adds up as it goes; a squared copy of a large matrix would take longer to write than to sum
    std = np.sqrt(np.einsum("rs,rs,s->r", flat, flat, prior.std**2)).reshape(poses, components)
    size = np.sqrt((rows.mean**2).sum(axis=1) + (std**2).sum(axis=1))
    # poses that are equal but for rounding: the first of them, on every processor
    worst = int(np.argmax(size >= size.max() * (1 - 1e-9)))
    at_worst = ((rows.matrix[worst] * prior.std) ** 2).sum(axis=0)
    over_all = np.einsum("rs,rs->s", flat, flat) * prior.std**2
    return Budget(rows, std, size, worst, _shares(at_worst), _shares(over_all))


def _shares(variance: Array) -> Array:
    total = variance.sum()
    return variance / total if total > 0 else variance


def grouped(shares: Array, names: Sequence[str | None]) -> dict[str, float]:
    """Shares added up by name, largest first; sources without a name are left out."""
    out: dict[str, float] = {}
    for share, name in zip(shares, names):
        if name is not None:
            out[name] = out.get(name, 0.0) + float(share)
    return dict(sorted(out.items(), key=lambda item: -item[1]))
