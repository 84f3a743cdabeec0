"""Small geometry of measuring: Abbe and cosine errors, sine bar, angle units, squareness from diagonals.

Angles are radians unless a name says otherwise; lengths are mm. Every argument may be an array; they
broadcast.
"""

from math import pi
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import OutOfRange

Floats = NDArray[np.float64]

ARCSEC: Final = pi / 648_000
"""One second of arc, rad."""


def arcsec_to_um_per_m(angle_arcsec: ArrayLike) -> Floats:
    """Seconds of arc as a slope in µm/m (µrad): 1 arcsec is 4.848 137 µm/m.

    >>> round(float(arcsec_to_um_per_m(1)), 6)
    4.848137
    """
    return np.asarray(np.asarray(angle_arcsec, float) * ARCSEC * 1e6)


def um_per_m_to_arcsec(slope_um_per_m: ArrayLike) -> Floats:
    """A slope in µm/m (µrad) as seconds of arc: a level of 0.01 mm/m moves one division for 2.063 arcsec.

    >>> round(float(um_per_m_to_arcsec(10)), 3)
    2.063
    """
    return np.asarray(np.asarray(slope_um_per_m, float) * 1e-6 / ARCSEC)


def abbe_error(offset: ArrayLike, angle: ArrayLike) -> Floats:
    """Error of a length by a tilt of the guide, when the scale lies beside the line measured.

    Args:
        offset: distance from the scale's line to the measured line, across the motion, mm.
        angle: change of the guide's pitch or yaw over the motion, rad, small (offset times angle).

    Returns:
        Error, mm.

    Source: E. Abbe, Z. Instrumentenkunde 10 (1890) 446 (from memory). Checked in
        tests/published/test_angles_abbe.py.

    >>> round(float(abbe_error(100, 10 * ARCSEC)) * 1000, 3)
    4.848
    """
    return np.asarray(np.asarray(offset, float) * np.asarray(angle, float))


def cosine_error(length: ArrayLike, angle: ArrayLike) -> Floats:
    """Error of a length measured askew, L (1 - cos θ), exact.

    Args:
        length: mm.
        angle: between the measured line and the instrument's line, rad.

    Returns:
        Error, mm: a scale askew to a motion L indicates L cos θ, too little by this.

    Source: elementary; as 2 L sin²(θ/2), so that small angles keep their digits.
    Checked in tests/published/test_angles_abbe.py.

    >>> round(float(cosine_error(1000, 0.001)) * 1000, 6)
    0.5
    """
    return np.asarray(2 * np.asarray(length, float) * np.sin(np.asarray(angle, float) / 2) ** 2)


def cosine_error_second_order(length: ArrayLike, angle: ArrayLike) -> Floats:
    """Cosine error for small angles, L θ²/2, mm; too large by less than 0.1 % up to 0.1 rad.

    >>> float(cosine_error_second_order(1000, 0.001))
    0.0005
    """
    return np.asarray(np.asarray(length, float) * np.asarray(angle, float) ** 2 / 2)


def sine_bar_height(length: ArrayLike, angle: ArrayLike) -> Floats:
    """Stack of gauge blocks that sets a sine bar to an angle, L sin θ, mm.

    Args:
        length: between the rollers, mm.
        angle: -π/2 to π/2, rad.

    Raises:
        OutOfRange: an angle beyond a right angle.

    >>> round(float(sine_bar_height(100, pi / 6)), 9)
    50.0
    """
    theta = np.asarray(angle, float)
    if not np.all(np.abs(theta) <= pi / 2):
        raise OutOfRange("a sine bar sets angles up to a right angle")
    return np.asarray(np.asarray(length, float) * np.sin(theta))


def sine_bar_angle(length: ArrayLike, height: ArrayLike) -> Floats:
    """Angle of a sine bar on a stack of gauge blocks, rad.

    Args:
        length: between the rollers, mm.
        height: of the stack, mm.

    Raises:
        OutOfRange: a stack taller than the bar is long.

    >>> round(float(sine_bar_angle(100, 50)) / pi * 180, 9)
    30.0
    """
    ratio = np.asarray(height, float) / np.asarray(length, float)
    if not np.all(np.abs(ratio) <= 1):
        raise OutOfRange("the stack is taller than the sine bar is long; use a longer bar")
    return np.asarray(np.arcsin(ratio))


def sine_bar_sensitivity(length: ArrayLike, angle: ArrayLike) -> Floats:
    """How much the angle of a sine bar turns per height, 1/(L cos θ), rad/mm.

    Args:
        length: between the rollers, mm.
        angle: rad, under a right angle; from about 45° on a small height error costs a large angle.

    Raises:
        OutOfRange: an angle of a right angle or more.

    >>> float(sine_bar_sensitivity(100, 0))
    0.01
    """
    theta = np.asarray(angle, float)
    if not np.all(np.abs(theta) < pi / 2):
        raise OutOfRange("a sine bar at a right angle does not respond to height")
    return np.asarray(1 / (np.asarray(length, float) * np.cos(theta)))


def squareness_from_diagonals(
    diagonal_1: ArrayLike, diagonal_2: ArrayLike, a: ArrayLike, b: ArrayLike
) -> Floats:
    """Squareness of two axes from the two face diagonals of a rectangle moved by them.

    The rectangle (x, y) is sheared to (x + γ y, y): then d1² - d2² = 4 a b γ exactly.

    Args:
        diagonal_1: measured from (0, 0) to (a, b), mm.
        diagonal_2: measured from (a, 0) to (0, b), mm.
        a: commanded side along the first axis, mm.
        b: commanded side along the second axis, mm.

    Returns:
        γ, rad: positive where the angle between the two positive axes is under 90°.

    Raises:
        OutOfRange: a side of nothing.

    Source: elementary. Errors of the two scales drop out to first order only if both diagonals are measured.
    Checked in tests/published/test_angles_abbe.py.

    >>> round(float(squareness_from_diagonals(500.0048, 499.9952, 400, 300)) * 1e6, 6)
    20.0
    """
    p, q = np.asarray(a, float), np.asarray(b, float)
    if not np.all((p > 0) & (q > 0)):
        raise OutOfRange("both sides of the rectangle must be over 0")
    d1, d2 = np.asarray(diagonal_1, float), np.asarray(diagonal_2, float)
    return np.asarray((d1 - d2) * (d1 + d2) / (4 * p * q))


def diagonal_difference(squareness: ArrayLike, a: ArrayLike, b: ArrayLike) -> Floats:
    """Difference of the two face diagonals by a small squareness, 2 a b γ / √(a² + b²), mm.

    >>> round(float(diagonal_difference(20e-6, 400, 300)) * 1000, 6)
    9.6
    """
    p, q = np.asarray(a, float), np.asarray(b, float)
    return np.asarray(2 * p * q * np.asarray(squareness, float) / np.hypot(p, q))
