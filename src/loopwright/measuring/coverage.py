"""Coverage where an uncertainty is known from few readings: effective degrees of freedom and Student's t."""

from dataclasses import dataclass
from math import floor, inf
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from loopwright.errors import OutOfRange


def coverage_factor(confidence: float) -> float:
    """Half-width of a symmetric normal coverage interval, in standard deviations.

    >>> round(coverage_factor(0.95), 3)
    1.96
    """
    return NormalDist().inv_cdf((1 + confidence) / 2)


@dataclass(frozen=True, slots=True)
class Expanded:
    """An expanded uncertainty and what it is made of.

    Attributes:
        combined: combined standard uncertainty, in the unit of the contributions.
        dof: effective degrees of freedom, as they come out; infinite where nothing was read.
        factor: coverage factor, for those degrees of freedom cut to a whole number.
        expanded: factor x combined.
    """

    combined: float
    dof: float
    factor: float
    expanded: float


def effective_dof(contributions: ArrayLike, dof: ArrayLike) -> float:
    r"""Effective degrees of freedom of a combined uncertainty (Welch-Satterthwaite).

    .. math:: \nu_\mathrm{eff} = \Big(\sum_i u_i^2\Big)^2 \Big/ \sum_i \frac{u_i^4}{\nu_i}

    For independent contributions, each nearly normal.

    Args:
        contributions: u_i, standard uncertainties in the unit of the result, sensitivity included; (n,).
        dof: degrees of freedom of each, above zero; infinite where a limit is taken as known; (n,).

    Returns:
        Unrounded; infinite where no contribution with finite degrees of freedom is left.

    Raises:
        OutOfRange: a contribution is negative, or degrees of freedom are not above zero.

    Source: JCGM 100:2008, G.4.1, equation (G.2b). Checked in: tests/published/test_jcgm_100_h1.py.

    >>> round(effective_dof([3.0, 4.0], [4, inf]), 2)
    30.86
    """
    u, nu = np.broadcast_arrays(np.asarray(contributions, float), np.asarray(dof, float))
    if not (np.all(u >= 0) and np.all(nu > 0)):
        raise OutOfRange(
            "contributions below zero, or degrees of freedom that are not above zero; check both lists"
        )
    open_ = float((u**4 / nu).sum())
    return float((u**2).sum() ** 2 / open_) if open_ > 0 else inf


def coverage_factor_t(confidence: float, dof: float) -> float:
    """Half-width of a symmetric coverage interval in standard uncertainties, by Student's distribution.

    Args:
        confidence: above 0, below 1.
        dof: degrees of freedom, above zero, not only whole ones; infinite gives the normal factor.

    Raises:
        OutOfRange: either is outside of that.

    Source: JCGM 100:2008, G.3.2 and Table G.2. Checked in: tests/published/test_jcgm_100_g.py.

    >>> round(coverage_factor_t(0.95, 10), 2)
    2.23
    """
    if not 0 < confidence < 1 or not dof > 0:
        raise OutOfRange(
            f"a confidence of {confidence:g} with {dof:g} degrees of freedom; give 0 to 1, and above 0"
        )
    if dof == inf:
        return coverage_factor(confidence)
    from scipy.special import stdtrit  # slow to load, and few ask for it

    return float(stdtrit(dof, (1 + confidence) / 2))


def expanded_uncertainty(contributions: ArrayLike, dof: ArrayLike, confidence: float) -> Expanded:
    """Combines independent contributions and expands them to a confidence.

    The effective degrees of freedom are cut to the next lower whole number (but not below 1) before the
    factor is taken, which errs to the wide side.

    Args:
        contributions: standard uncertainties in the unit of the result, sensitivity included, (n,).
        dof: degrees of freedom of each, (n,); infinite where a limit is taken as known.
        confidence: above 0, below 1.

    Raises:
        OutOfRange: as for ``effective_dof`` and ``coverage_factor_t``.

    Source: JCGM 100:2008, G.4.1 and G.6.4. Checked in: tests/published/test_jcgm_100_h1.py.

    >>> found = expanded_uncertainty([3.0, 4.0], [4, inf], 0.95)
    >>> found.combined, round(found.factor, 3), round(found.expanded, 2)
    (5.0, 2.042, 10.21)
    """
    combined = float(np.sqrt((np.asarray(contributions, float) ** 2).sum()))
    found = effective_dof(contributions, dof)
    factor = coverage_factor_t(confidence, found if found == inf else max(floor(found), 1))
    return Expanded(combined, found, factor, factor * combined)
