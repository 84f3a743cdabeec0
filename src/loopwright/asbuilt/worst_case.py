"""The worst case: every deviation at its limit, all of them the wrong way."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.prior import Prior
from loopwright.loop.rows import Rows

Array = NDArray[np.float64]

_GROUP = 16
_DIRECTIONS = 96
_STEPS = 30


@dataclass(frozen=True)
class WorstCase:
    """The largest error that the limits allow.

    Attributes:
        size: mm or rad.
        pose: number of the pose where it happens.
    """

    size: float
    pose: int


def worst_case(rows: Rows, prior: Prior) -> WorstCase:
    """Largest size of an indication over its poses with every source at its farthest.

    For one component it is |mean| + sum |a| h. For several together it is the farthest point of the set that the
    limits span: found by going to the farthest corner in many directions, each improved until it no longer moves.

    Args:
        rows: the indication.
        prior: gives the farthest value of each source.
    """
    reach = np.abs(rows.matrix) @ prior.farthest
    bound = np.sqrt(((np.abs(rows.mean) + reach) ** 2).sum(axis=1))
    if rows.matrix.shape[1] == 1:
        pose = int(np.argmax(bound))
        return WorstCase(float(bound[pose]), pose)
    best = WorstCase(-1.0, 0)
    order = np.argsort(-bound)
    for start in range(0, len(order), _GROUP):
        chosen = order[start : start + _GROUP]
        if bound[chosen[0]] <= best.size:
            break
        for pose in chosen:
            size = farthest_corner(rows.mean[pose], rows.matrix[pose] * prior.farthest)
            if size > best.size:
                best = WorstCase(size, int(pose))
    return best


def farthest_corner(centre: Array, generators: Array) -> float:
    """Distance from zero of the farthest point of centre + sum of s_i g_i with every |s_i| <= 1.

    Args:
        centre: (components,).
        generators: (components, sources).
    """
    heading = _headings(len(centre))
    for _ in range(_STEPS):
        corner = centre + np.sign(heading @ generators) @ generators.T
        size = np.linalg.norm(corner, axis=1, keepdims=True)
        new = np.divide(corner, size, out=heading.copy(), where=size > 0)
        if np.abs(new - heading).max() <= 1e-12:
            break
        heading = new
    corner = centre + np.sign(heading @ generators) @ generators.T
    return float(np.linalg.norm(corner, axis=1).max())


def _headings(components: int) -> Array:
    turn = np.arange(_DIRECTIONS) + 0.5
    if components == 2:
        angle = 2 * np.pi * turn / _DIRECTIONS
        return np.stack([np.cos(angle), np.sin(angle)], axis=1)
    # points spread evenly over a sphere by the golden angle
    height = 1 - 2 * turn / _DIRECTIONS
    turned = np.pi * (1 + 5**0.5) * turn
    radius = np.sqrt(1 - height**2)
    return np.stack([radius * np.cos(turned), radius * np.sin(turned), height], axis=1)
