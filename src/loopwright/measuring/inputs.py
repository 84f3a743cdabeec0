"""What every evaluation asks of its readings: columns of finite numbers, and how uncertain they are.

All evaluations take ``u``, the standard uncertainty that each reading has on its own (one number, or one a
reading), and optionally ``covariance``, (n, n), of what the readings share beside that: a gauge's scale, an
artefact's calibration, heights that were added up from level readings. The two are added.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Uncertainty:
    """How uncertain n readings are.

    Attributes:
        own: standard uncertainty of each on its own, (n,).
        shared: covariance of what they share, (n, n), or None.
    """

    own: Array
    shared: Array | None = None

    def covariance(self, rows: ArrayLike) -> Array:
        """Covariance of linear results, rows V rowsᵀ, (k, k), for sensitivities of (k, n).

        Source: JCGM 102:2011, 6.2.1.3, equation (3), from memory.

        >>> float(Uncertainty(np.array([3.0, 4.0])).covariance([[1.0, 1.0]])[0, 0])
        25.0
        """
        matrix = np.asarray(rows, float)
        out = (matrix * self.own**2) @ matrix.T
        return np.asarray(out if self.shared is None else out + matrix @ self.shared @ matrix.T)

    def std(self, row: ArrayLike) -> float:
        """Standard uncertainty of one linear result with sensitivities (n,)."""
        return float(np.sqrt(max(self.covariance(np.asarray(row, float)[None, :])[0, 0], 0.0)))

    def stds(self, rows: ArrayLike) -> Array:
        """Standard uncertainty of each of some linear results, (k,), for sensitivities of (k, n).

        >>> Uncertainty(np.array([3.0, 4.0])).stds([[1.0, 1.0], [1.0, 0.0]]).tolist()
        [5.0, 3.0]
        """
        matrix = np.asarray(rows, float)
        variances = matrix**2 @ self.own**2
        if self.shared is not None:
            variances = variances + ((matrix @ self.shared) * matrix).sum(axis=1)
        return np.sqrt(np.maximum(variances, 0.0))

    def matrix(self) -> Array:
        """All of it as one covariance, (n, n)."""
        own = np.diag(self.own**2)
        return own if self.shared is None else own + self.shared


def column(values: ArrayLike, name: str, *, least: int = 1) -> Array:
    """One column of readings as float64, (n,).

    Args:
        values: (n,).
        name: what a message calls it.
        least: fewest readings that will do.

    Raises:
        RequestError: not a column, a value that is not a finite number, too few values.

    >>> column([1, 2], "x").tolist()
    [1.0, 2.0]
    """
    try:
        out = np.asarray(values, float)
    except (TypeError, ValueError):
        raise RequestError(f"'{name}' is not a list of numbers", "give one number a reading") from None
    if out.ndim != 1:
        raise RequestError(f"'{name}' has {out.ndim} dimensions", "give one plain list of numbers")
    if not np.all(np.isfinite(out)):
        place = int(np.flatnonzero(~np.isfinite(out))[0]) + 1
        raise RequestError(f"number {place} of '{name}' is missing or infinite", "leave that reading out")
    if len(out) < least:
        raise RequestError(f"'{name}' has {_count(len(out))}", f"give {least} or more")
    return out


def columns(least: int, **named: ArrayLike) -> tuple[Array, ...]:
    """Several columns of readings of one length, in the order given.

    Raises:
        RequestError: as for ``column``, or the lengths differ.

    >>> [len(c) for c in columns(2, x=[0, 1], h=[5, 6])]
    [2, 2]
    """
    out = tuple(column(values, name) for name, values in named.items())
    if len({len(c) for c in out}) > 1:
        said = ", ".join(f"'{name}' {len(c)}" for name, c in zip(named, out))
        raise RequestError(f"the lists differ in length: {said}", "give one value of each for every reading")
    if len(out[0]) < least:
        raise RequestError(f"there are only {_count(len(out[0]))}", f"this needs {least} or more")
    return out


def _count(readings: int) -> str:
    return "1 reading" if readings == 1 else f"{readings} readings"


def not_all_one_place(x: Array, name: str) -> None:
    """Refuses readings that were all taken at one place.

    Raises:
        RequestError: every value is the same.
    """
    if np.ptp(x) <= 1e-12 * float(np.abs(x).max()):
        raise RequestError(f"all values of '{name}' are the same", "take readings at different places")


def over_zero(value: float, name: str) -> float:
    """One finite number over zero.

    Raises:
        RequestError: it is not.

    >>> over_zero(5, "radius")
    5.0
    """
    if not (np.isfinite(value) and value > 0):
        raise RequestError(f"'{name}' is {value:g}", "give a number over 0")
    return float(value)


def uncertainty(u: ArrayLike, covariance: ArrayLike | None, readings: int) -> Uncertainty:
    """The uncertainty of n readings from what a caller states.

    Args:
        u: standard uncertainty of each reading on its own, one number or (n,), 0 or more.
        covariance: of what they share, (n, n), symmetric, no negative variance; None for nothing.
        readings: n.

    Raises:
        RequestError: a shape that does not fit, a negative or infinite value, a matrix that is no covariance.

    >>> uncertainty(0.001, None, 2).own.tolist()
    [0.001, 0.001]
    """
    own = np.asarray(u, float)
    if own.ndim > 1 or (own.ndim == 1 and len(own) != readings):
        raise RequestError(
            f"'u' does not fit {_count(readings)}", "give one standard uncertainty, or one a reading"
        )
    if not np.all(np.isfinite(own) & (own >= 0)):
        raise RequestError("'u' is negative or not finite", "give standard uncertainties of 0 or more")
    full = np.broadcast_to(own, (readings,)).copy()
    return Uncertainty(full, None if covariance is None else _covariance(covariance, readings))


def _covariance(covariance: ArrayLike, readings: int) -> Array:
    shared = np.asarray(covariance, float)
    if shared.shape != (readings, readings):
        raise RequestError(
            f"'covariance' has the shape {shared.shape}", f"give ({readings}, {readings}), one row a reading"
        )
    if not np.all(np.isfinite(shared)):
        raise RequestError("'covariance' holds a value that is not finite", "give finite numbers")
    size = float(np.abs(shared).max(initial=0.0))
    if np.abs(shared - shared.T).max(initial=0.0) > 1e-9 * size:
        raise RequestError("'covariance' is not symmetric", "give the covariance of i and j in both places")
    if np.linalg.eigvalsh(shared).min(initial=0.0) < -1e-9 * readings * size:
        raise RequestError("'covariance' gives a negative variance", "check its correlations")
    return shared
