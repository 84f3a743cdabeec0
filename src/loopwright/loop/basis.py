"""Smooth shapes that profiles and error motions are made of, and how large each is for a stated band.

A rail that was ground and bolted down is a beam, so its departure from its best line is written in the bending
shapes of a free beam: smooth, and free of any offset and slope, which have sources of their own. Amplitudes fall with
the square of the shape's wave number. The sizes are set so that a profile stays within its stated band at the
build's confidence.
"""

from enum import StrEnum
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_GRID = 97
_TRIALS = 8192


class Basis(StrEnum):
    """Families of shapes."""

    STRAIGHT = "about its best line"
    DRIFTING = "with a slope"
    PERIODIC = "per turn"
    WAVY = "per turn, without once per turn"


@cache
def wave_numbers(count: int) -> Array:
    """Roots of cosh x cos x = 1 above zero: wave numbers x length of a beam with free ends, shape (count,).

    Source: the frequency equation of a uniform Euler-Bernoulli beam with free ends.
    Checked in: tests/published/test_blevins_beam_shapes.py.

    >>> wave_numbers(3).round(4).tolist()
    [4.73, 7.8532, 10.9956]
    """
    x = (2 * np.arange(1, count + 1) + 1) * np.pi / 2
    for _ in range(20):
        x = x - (np.cos(x) - 1 / np.cosh(x)) / (-np.sin(x) + np.sinh(x) / np.cosh(x) ** 2)
    return np.asarray(x)


def beam_shapes(count: int, place: ArrayLike) -> Array:
    """Bending shapes of a beam with free ends, each with a mean square of 1 along the beam.

    Args:
        count: how many, 1 to 12.
        place: position along the beam as a fraction, 0 to 1, any shape; clipped to that range.

    Returns:
        Shape (*place.shape, count), dimensionless.

    Source: uniform Euler-Bernoulli beam, free-free; written with decaying exponentials so that high shapes stay exact.

    >>> [float(v) for v in np.round(beam_shapes(2, [0.0, 0.5]), 4)[0]]
    [2.0, 2.0]
    """
    b = wave_numbers(count)
    z = np.clip(np.asarray(place, float), 0, 1)[..., None]
    sinh_less_sin = np.sinh(b) - np.sin(b)
    sigma = (np.cosh(b) - np.cos(b)) / sinh_less_sin
    # exp(b) * (1 - sigma), without subtracting two numbers that are nearly equal
    growing = np.exp(b) * (np.cos(b) - np.sin(b) - np.exp(-b)) / sinh_less_sin
    wave = np.cos(b * z) - sigma * np.sin(b * z)
    return np.asarray(wave + np.exp(-b * z) * (1 + sigma) / 2 + growing * np.exp(-b * (1 - z)) / 2)


def shapes(basis: Basis, modes: int, position: ArrayLike, start: float, end: float) -> Array:
    """Values of the shapes at positions of an axis or along a rail.

    Args:
        basis: family.
        modes: how many shapes (per turn: harmonics, each with a sine and a cosine).
        position: mm, or rad for the periodic ones; any shape.
        start: where the rail or travel begins, same unit; not used by the periodic ones.
        end: where it ends.

    Returns:
        Shape (*position.shape, number of shapes), dimensionless, mean square 1 over the range.
    """
    s = np.asarray(position, float)
    if basis in (Basis.PERIODIC, Basis.WAVY):
        k = np.arange(1, modes + 1) + (basis is Basis.WAVY)
        angle = s[..., None] * k
        return np.asarray(np.sqrt(2) * np.concatenate([np.cos(angle), np.sin(angle)], axis=-1))
    place = (s - start) / (end - start)
    bent = beam_shapes(modes, place)
    if basis is Basis.STRAIGHT:
        return bent
    sloping = np.sqrt(3) * (2 * np.clip(place, 0, 1) - 1)[..., None]
    return np.concatenate([sloping, bent], axis=-1)


@cache
def _falling(basis: Basis, modes: int) -> tuple[float, ...]:
    if basis in (Basis.PERIODIC, Basis.WAVY):
        k = np.arange(1, modes + 1) + (basis is Basis.WAVY)
        fall = np.tile((k[0] / k) ** 2.0, 2)
    else:
        b = wave_numbers(modes)
        fall = (b[0] / b) ** 2
        if basis is Basis.DRIFTING:
            fall = np.concatenate([[1.0], fall])
    return tuple(float(f) for f in fall / np.sqrt((fall**2).sum()))


@cache
def sizes_for_band(basis: Basis, modes: int, confidence: float) -> tuple[float, ...]:
    """Standard deviation of each shape's amplitude for a band of width 1 that holds at a confidence.

    The width of the band of a random profile has no closed form; its quantile is taken from 8192 seeded profiles
    (statistical uncertainty of the scale: below 1 %).

    Args:
        basis: family.
        modes: how many shapes.
        confidence: share of profiles whose peak to valley stays within the band.

    Returns:
        One size for each shape.
    """
    fall = np.array(_falling(basis, modes))
    reach = 2 * np.pi if basis in (Basis.PERIODIC, Basis.WAVY) else 1.0
    curves = shapes(basis, modes, np.linspace(0, reach, _GRID), 0.0, 1.0) * fall
    amplitudes = np.random.Generator(np.random.PCG64(20)).standard_normal((_TRIALS, len(fall)))
    profiles = amplitudes @ curves.T
    widths = np.sort(np.ptp(profiles, axis=1))
    # not np.quantile, whose first call loads numpy.ma, a twentieth of the time to the first answer
    width = np.interp(confidence * (_TRIALS - 1), np.arange(_TRIALS), widths)
    return tuple(float(f) for f in fall / width)


def sizes_for_std(basis: Basis, modes: int, std: float) -> tuple[float, ...]:
    """Standard deviation of each shape's amplitude for a profile with a stated root mean square."""
    return tuple(f * std for f in _falling(basis, modes))
