"""What machines were found to hold, from the parts that were made on them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Found:
    """By how much wider or narrower machines scatter than is taken for them.

    Attributes:
        factor: on the standard deviations of each group, (groups,); 1 is as taken.
        log_std: standard uncertainty of its natural logarithm, (groups,); 0.1 is about 10 %.
        informed: share of the doubt about it that the readings took away, (groups,); 0 says that they told nothing.
    """

    factor: Array
    log_std: Array
    informed: Array

    def range(self, k: float = 2.0) -> tuple[Array, Array]:
        """Factors k standard uncertainties to either side, each (groups,)."""
        spread = np.exp(k * self.log_std)
        return self.factor / spread, self.factor * spread


def found_capability(deviations: Array, parts: Sequence[Array], rest: Array, doubt: Array) -> Found:
    """The factors on the standard deviations of several groups that go best with what was found.

    What was found of n dims is taken as normal with mean nought and covariance ``rest`` + Σ fₖ² Vₖ, where Vₖ is what
    group k brings as it is taken. The logarithm of each factor has a normal prior of mean nought, so that few
    readings move it little. The answer is the mode of the posterior, its uncertainty from the curvature there.

    Args:
        deviations: found less expected of each dim, mm, (n,).
        parts: covariance that each group brings as it is taken, mm², (n, n) each.
        rest: covariance of all else, with what the gauges leave, mm², (n, n).
        doubt: standard uncertainty of the logarithm of each factor before any reading, (groups,).

    Source: variance components by the mode of their posterior, D. A. Harville, J. Am. Stat. Assoc. 72 (1977) 320-338
    (from memory); the prior is ours.

    >>> same = found_capability(np.zeros(0), [np.zeros((0, 0))], np.zeros((0, 0)), np.array([0.7]))
    >>> float(same.factor[0]), float(same.informed[0])
    (1.0, 0.0)
    """
    count = len(parts)
    if not len(deviations) or not count:
        return Found(np.ones(count), np.asarray(doubt, float), np.zeros(count))
    stack = np.array(parts)

    def cost(logs: Array) -> tuple[float, Array]:
        scaled = np.exp(2 * logs)[:, None, None] * stack
        factor = np.linalg.cholesky(rest + scaled.sum(axis=0))
        inverse = np.linalg.inv(factor)
        inverse = inverse.T @ inverse
        weighed = inverse @ deviations
        value = np.log(np.diag(factor)).sum() + 0.5 * deviations @ weighed + 0.5 * ((logs / doubt) ** 2).sum()
        slope = np.einsum("ij,kji->k", inverse, scaled) - np.einsum("i,kij,j->k", weighed, scaled, weighed)
        return float(value), slope + logs / doubt**2

    solved = minimize(cost, np.zeros(count), jac=True, method="L-BFGS-B", bounds=[(-4, 4)] * count)
    curvature = _curvature(lambda logs: cost(logs)[1], solved.x)
    spread = np.sqrt(np.diag(np.linalg.inv(curvature)))
    spread = np.minimum(spread, doubt)
    return Found(np.exp(solved.x), spread, 1 - (spread / doubt) ** 2)


def _curvature(slope: Callable[[Array], Array], at: Array, step: float = 1e-4) -> Array:
    """Second derivatives from differences of the first, made symmetric and kept positive."""
    rows = [(slope(at + d) - slope(at - d)) / (2 * step) for d in step * np.eye(len(at))]
    found = np.array(rows)
    values, vectors = np.linalg.eigh((found + found.T) / 2)
    return np.asarray((vectors * np.maximum(values, 1e-6)) @ vectors.T)
