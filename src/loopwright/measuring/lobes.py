"""Lobes: waves round a turn, by how many of them there are (undulations per revolution)."""

from dataclasses import dataclass
from math import atan2, hypot, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.measuring.inputs import columns, uncertainty

Array = NDArray[np.float64]

WELL_SPREAD = 10.0
"""Readings round a turn whose waves are less well told apart than this are not parted into more of them."""


@dataclass(frozen=True)
class Lobe:
    """One wave round a turn.

    Attributes:
        count: lobes in a revolution, 2 or more.
        height: from hollow to crest, twice the amplitude, in the unit of the readings.
        u_height: standard uncertainty of the height, first order; noise also lifts every such value.
        crest: angle of its first crest, rad, from 0 up to a full turn by ``count``.
    """

    count: int
    height: float
    u_height: float
    crest: float


def lobes(
    angles: ArrayLike,
    readings: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    most: int = 15,
) -> tuple[Lobe, ...]:
    r"""Waves of 2, 3, 4 ... lobes in readings round a turn, all fitted together with mean and eccentricity.

    .. math:: r(\theta) = r_0 + \sum_{k=1}^{K} (a_k \cos k\theta + b_k \sin k\theta), \quad h_k = 2\sqrt{a_k^2 + b_k^2}

    n readings evenly round a turn tell waves of fewer than n/2 lobes; what has more shows up as one of these.

    Args:
        angles: rad, (n,); need not be evenly spaced.
        readings: positive where the surface stands out, (n,), any unit.
        u: standard uncertainty of each reading on its own, one number or (n,).
        covariance: of what they share beside that, (n, n).
        most: largest number of lobes asked for; fewer come back where the readings do not tell so many apart.

    Returns:
        Waves of 2, 3, ... lobes; none from fewer than 5 readings.

    Raises:
        RequestError: lists that do not fit, values not finite.

    Source: least squares; for even steps a_k = (2/n) Σ r cos kθ (any text on harmonic analysis). Undulations per
        revolution: ISO 12181-1, from memory. Checked in tests/rooms/test_measuring_lobes.py.

    >>> turn = np.arange(12) * pi / 6
    >>> [(one.count, round(one.height, 6)) for one in lobes(turn, 0.002 * np.cos(3 * turn), u=1e-4, most=4)]
    [(2, 0.0), (3, 0.004), (4, 0.0)]
    """
    theta, read = columns(1, angles=angles, readings=readings)
    doubt = uncertainty(u, covariance, len(theta))
    for highest in range(min(most, (len(theta) - 1) // 2), 1, -1):
        design = _waves(theta, highest)
        sizes = np.linalg.svd(design, compute_uv=False)
        if sizes[-1] * WELL_SPREAD > sizes[0]:
            break
    else:
        return ()
    weights = np.linalg.pinv(design)
    found = weights @ (read - read.mean())
    return tuple(
        _lobe(k, found[2 * k - 1 : 2 * k + 1], doubt.covariance(weights[2 * k - 1 : 2 * k + 1]))
        for k in range(2, highest + 1)
    )


def _waves(theta: Array, highest: int) -> Array:
    """Columns 1, cos θ, sin θ, cos 2θ, sin 2θ ... (n, 1 + 2 highest)."""
    turns = theta[:, None] * np.arange(1, highest + 1)
    waves = np.stack([np.cos(turns), np.sin(turns)], axis=2).reshape(len(theta), -1)
    return np.column_stack([np.ones(len(theta)), waves])


def _lobe(count: int, parts: Array, covariance: Array) -> Lobe:
    amplitude = hypot(*parts)
    if amplitude > 0:
        row = parts / amplitude
        variance = float(row @ covariance @ row)
    else:
        variance = float(np.linalg.eigvalsh(covariance)[-1])
    crest = atan2(parts[1], parts[0]) % (2 * pi) / count
    return Lobe(count, 2 * amplitude, 2 * sqrt(max(variance, 0.0)), crest)
