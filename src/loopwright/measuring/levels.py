"""Heights along a line from a level or an autocollimator that is stepped along it.

Each reading is the slope of one step. Heights are their running sum, so what is uncertain grows along the
line, and neighbouring heights share most of it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import column, uncertainty
from loopwright.measuring.lines import Reference, Straightness, straightness

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LevelledLine:
    """Heights of the feet of a level along one line.

    Attributes:
        x: places of the feet, mm, (n + 1,), from 0.
        heights: over the first foot, mm, (n + 1,).
        covariance: of the heights, mm², (n + 1, n + 1); the first is 0 by definition.
        readings: n.
    """

    x: Array
    heights: Array
    covariance: Array
    readings: int

    @property
    def u(self) -> Array:
        """Standard uncertainty of each height over the first foot, mm, (n + 1,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))

    def straightness(self, reference: Reference = Reference.LEAST_SQUARES) -> Straightness:
        """Straightness of the line. A zero error of the level falls out: it is a slope."""
        return straightness(self.x, self.heights, u=0.0, covariance=self.covariance, reference=reference)


def heights_along(
    angles: ArrayLike, step: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> LevelledLine:
    """Heights from the slopes read step by step.

    Each step must begin where the last one ended. Step length counts as known: 0.1 mm in 100 mm changes a
    height by a thousandth of itself.

    Args:
        angles: slope of each step, rad, (n,); positive where the line rises in the direction of stepping.
        step: from foot to foot, mm, one number or (n,).
        u: standard uncertainty of each angle on its own, rad, one number or (n,).
        covariance: of what the angles share beside that, such as a drift, rad², (n, n); None for nothing.

    Returns:
        Heights with their covariance: uncertainty after k equal steps is √k times that of one.

    Raises:
        RequestError: no reading, values not finite, a step that is not over 0.

    Source: elementary; JCGM 100:2008, 5.2.2. Checked in tests/rooms/test_measuring_levels.py.

    >>> found = heights_along([10e-6, 10e-6, -10e-6, -10e-6], 100, u=5e-6)
    >>> [round(float(h), 6) for h in found.heights], [round(float(v), 6) for v in found.u]
    ([0.0, 0.001, 0.002, 0.001, 0.0], [0.0, 0.0005, 0.000707, 0.000866, 0.001])
    """
    slopes = column(angles, "angles", least=1)
    lengths = _steps(step, len(slopes))
    doubt = uncertainty(u, covariance, len(slopes))
    adding = np.vstack([np.zeros(len(slopes)), np.tri(len(slopes)) * lengths])
    places = np.concatenate([[0.0], np.cumsum(lengths)])
    return LevelledLine(places, adding @ slopes, doubt.covariance(adding), len(slopes))


def _steps(step: ArrayLike, readings: int) -> Array:
    out = np.asarray(step, float)
    if out.ndim > 1 or (out.ndim == 1 and len(out) != readings):
        raise RequestError(f"'step' does not fit {readings} angles", "give one length, or one an angle")
    if not np.all(np.isfinite(out) & (out > 0)):
        raise RequestError("a step is not over 0", "give the distance from foot to foot in mm")
    return np.broadcast_to(out, (readings,)).copy()
