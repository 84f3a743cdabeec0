"""A straight line through points by least squares, plain or weighted, with what it is worth."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import Uncertainty, columns, not_all_one_place, uncertainty

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LineFit:
    """A line y = intercept + slope x.

    Attributes:
        slope: unit of y per unit of x.
        intercept: y at x = 0; 0 where the line was held to the origin.
        covariance: of (intercept, slope), (2, 2); zeros for an intercept that was held.
        residuals: y less the line, (n,).
        residual_std: residual standard deviation. Without stated uncertainties in the unit of y. With them a
            plain number that should be near 1: the residuals are as large as the uncertainties say. None
            without degrees of freedom.
        dof: readings less parameters.
        readings: n.
    """

    slope: float
    intercept: float
    covariance: Array
    residuals: Array
    residual_std: float | None
    dof: int
    readings: int

    @property
    def u_slope(self) -> float:
        """Standard uncertainty of the slope."""
        return sqrt(max(self.covariance[1, 1], 0.0))

    @property
    def u_intercept(self) -> float:
        """Standard uncertainty of the intercept."""
        return sqrt(max(self.covariance[0, 0], 0.0))

    def at(self, x: float) -> tuple[float, float]:
        """The line at x, and the standard uncertainty of the line there (not of one more reading)."""
        row = np.array([1.0, x])
        return self.intercept + self.slope * x, sqrt(max(float(row @ self.covariance @ row), 0.0))


def fit_line(
    x: ArrayLike,
    y: ArrayLike,
    *,
    u: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
    through_origin: bool = False,
) -> LineFit:
    """Fits a straight line by least squares.

    Without ``u`` and ``covariance`` all points weigh the same, and the uncertainty comes from the scatter of
    the residuals. With them each point weighs by the inverse of its covariance, and the uncertainty comes from
    what was stated, not from the scatter. x is taken as known.

    Args:
        x: (n,), any unit.
        y: (n,), any unit.
        u: standard uncertainty of each y on its own, one number or (n,); None to take it from the scatter.
        covariance: of what the y share beside that, (n, n); None for nothing.
        through_origin: holds the intercept at 0.

    Returns:
        The line with its covariance, residuals, residual standard deviation and degrees of freedom.

    Raises:
        RequestError: too few points (without u one more than parameters), all x equal, lists that differ in
            length, a value that is not finite, uncertainties that give a point no uncertainty at all.

    Source: least squares by QR about the middle of the points; JCGM 100:2008, Annex H.3. Checked in
        tests/published/test_nist_strd.py and tests/published/test_jcgm_100_h3.py.

    >>> fit = fit_line([0, 1, 2, 3], [1.0, 3.1, 4.9, 7.0])
    >>> round(fit.slope, 6), round(fit.intercept, 6), fit.dof
    (1.98, 1.03, 2)
    """
    stated = u is not None or covariance is not None
    parameters = 1 if through_origin else 2
    xs, ys = columns(parameters if stated else parameters + 1, x=x, y=y)
    if through_origin and not np.any(xs):
        raise RequestError("all values of 'x' are 0", "take readings away from the origin")
    if not through_origin:
        not_all_one_place(xs, "x")
    doubt = uncertainty(0.0 if u is None else u, covariance, len(xs)) if stated else None
    x0, y0 = (0.0, 0.0) if through_origin else (float(xs.mean()), float(ys.mean()))
    design = np.stack([np.ones(len(xs)), xs - x0], axis=1)[:, 1 if through_origin else 0 :]
    whitened, target = _whitened(doubt, design, ys - y0)
    q, r = np.linalg.qr(whitened)
    inverse = np.linalg.inv(r)
    found = inverse @ (q.T @ target)
    level, slope = (0.0, float(found[0])) if through_origin else (float(found[0]), float(found[1]))
    residuals = (ys - y0) - level - slope * (xs - x0)
    dof = len(xs) - parameters
    left = target - whitened @ found
    scatter = sqrt(float(left @ left) / dof) if dof else None
    about_middle = np.zeros((2, 2))
    about_middle[2 - parameters :, 2 - parameters :] = inverse @ inverse.T
    if not stated:
        about_middle *= (scatter or 0.0) ** 2
    shift = np.array([[1.0, -x0], [0.0, 1.0]])
    covered = shift @ about_middle @ shift.T
    return LineFit(slope, y0 + level - slope * x0, covered, residuals, scatter, dof, len(xs))


def _whitened(doubt: Uncertainty | None, design: Array, target: Array) -> tuple[Array, Array]:
    """Design and target in units of the uncertainty, so that plain least squares weighs them rightly."""
    if doubt is None:
        return design, target
    if doubt.shared is None:
        if not np.all(doubt.own > 0):
            raise RequestError("a reading has an uncertainty of 0", "give every reading a 'u' over 0")
        return design / doubt.own[:, None], target / doubt.own
    try:
        factor = np.linalg.cholesky(doubt.matrix())
    except np.linalg.LinAlgError:
        raise RequestError(
            "the readings have no uncertainty of their own", "give 'u' over 0 beside the covariance"
        ) from None
    both = np.linalg.solve(factor, np.column_stack([design, target]))
    return both[:, :-1], both[:, -1]
