"""Squareness of one axis of motion to another, in the letters of ISO 230-1.

C0Y is the angle by which the line of motion of Y is turned about Z from where it should be, square to X;
positive is right-handed, which takes +Y towards -X and opens the angle between +X and +Y. The letters name
the axis across, towards which the moving axis leans: X for C0Y and B0Z, Y for A0Z and C0X, Z for A0Y and B0X.
"""

from dataclasses import dataclass
from math import hypot
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.handbook.geometry import squareness_from_diagonals
from loopwright.measuring.inputs import column, columns, not_all_one_place, over_zero, uncertainty
from loopwright.measuring.lines import least_squares_line

Array = NDArray[np.float64]

_TURNS: Final = {"A0Y": 1, "A0Z": -1, "B0X": -1, "B0Z": 1, "C0X": 1, "C0Y": -1}
"""Sign of the lean towards + of the axis across by a positive rotation: ω × moving axis."""


@dataclass(frozen=True)
class Squareness:
    """Squareness of an axis.

    Attributes:
        letters: by ISO 230-1, as 'C0Y'.
        angle: value of the letters, rad.
        u_angle: standard uncertainty, rad.
        opens: by how much the angle between the two positive axes is over 90°, rad; under 0 where it is less.
        readings: how many it came from.
    """

    letters: str
    angle: float
    u_angle: float
    opens: float
    readings: int

    def over(self, length: float) -> tuple[float, float]:
        """How far the axis is out of square over a length, with its standard uncertainty, mm; not negative.

        Raises:
            RequestError: a length that is not over 0.
        """
        run = over_zero(length, "length")
        return abs(self.angle) * run, self.u_angle * run


@dataclass(frozen=True)
class SquarenessSweep(Squareness):
    """Squareness from a sweep along a square.

    Attributes:
        value: width of the zone square to the datum that holds the whole sweep, form included, mm.
        u_value: standard uncertainty, mm, first order through the two readings that fix it.
        length: of the sweep, mm.
    """

    value: float
    u_value: float
    length: float


def squareness_from_sweep(
    letters: str,
    travel: ArrayLike,
    readings: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    square: float = 0.0,
    u_square: float = 0.0,
) -> SquarenessSweep:
    """Squareness from an indicator swept along the blade of a square whose other blade lies along the datum axis.

    Args:
        letters: which squareness, as 'C0Y': Y moves, the square's other blade is set along X.
        travel: position of the moving axis, mm, (n,).
        readings: displacement of the moving axis from the blade, positive towards + of the axis across (C0Y: +X),
            mm, (n,).
        u: standard uncertainty of each reading on its own, mm, one number or (n,).
        covariance: of what they share beside that, mm², (n, n).
        square: known error of the square: lean of the blade towards + of the axis across, rad.
        u_square: standard uncertainty of that, rad. Without a certificate or a reversal it is the square's limits,
            not 0.

    Returns:
        Angle from the best line, zone over the sweep, standard uncertainties.

    Raises:
        RequestError: letters that are no squareness, fewer than 2 readings, all at one place, lists that do not fit.

    Source: ISO 230-1:2012, 3.6.7 and clause 10, from memory. Checked in tests/rooms/test_measuring_squareness.py.

    >>> found = squareness_from_sweep("C0Y", [0, 100, 200], [0, 0.0015, 0.003], u=0.0005)
    >>> round(found.angle * 1e6, 3), round(found.u_angle * 1e6, 3), round(found.value, 6)
    (-15.0, 3.536, 0.003)
    """
    sign = _sign(letters)
    xs, hs = columns(2, travel=travel, readings=readings)
    not_all_one_place(xs, "travel")
    doubt = uncertainty(u, covariance, len(xs))
    own = least_squares_line(xs).slope
    lean = float(own @ (hs - hs.mean())) + square
    across = hs - hs.mean() + square * (xs - xs.mean())
    high, low = int(np.argmax(across)), int(np.argmin(across))
    pair = np.zeros(len(xs))
    pair[high] += 1.0
    pair[low] -= 1.0
    run = float(xs[high] - xs[low])
    return SquarenessSweep(
        letters,
        sign * lean,
        hypot(doubt.std(own), _not_negative(u_square)),
        -lean,
        len(xs),
        float(across[high] - across[low]),
        hypot(doubt.std(pair), run * u_square),
        float(np.ptp(xs)),
    )


@dataclass(frozen=True)
class SquarenessByReversal:
    """Squareness of an axis, and the error of the square that it was read with.

    Attributes:
        axis: the axis, the square taken off.
        square: lean of the blade in its first position towards + of the axis across, rad.
        u_square: standard uncertainty, rad.
    """

    axis: SquarenessSweep
    square: float
    u_square: float


def squareness_by_reversal(
    letters: str,
    travel: ArrayLike,
    first: ArrayLike,
    second: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
) -> SquarenessByReversal:
    """Squareness from two sweeps, the square turned by half a turn about the swept blade between them.

    The square cancels, whatever its error. Read the second sweep from the other side of the blade, and count
    both positive towards + of the axis across.

    Args:
        letters: as for ``squareness_from_sweep``.
        travel: position of the moving axis, mm, (n,).
        first: readings before the turn, mm, (n,).
        second: readings after it, at the same positions, mm, (n,).
        u: standard uncertainty of each reading on its own, mm, one number or (2 n,), first sweep first.
        covariance: of what they share beside that, mm², (2 n, 2 n).

    Returns:
        Squareness of the axis from half the sum, and the square from half the difference.

    Raises:
        RequestError: as for ``squareness_from_sweep``.

    Source: Evans, Hocken, Estler, CIRP Annals 45 (1996) 617, from memory. Checked in
        tests/rooms/test_measuring_squareness.py.

    >>> found = squareness_by_reversal("B0Z", [0, 200], [0, 0.009], [0, -0.003], u=0.001)
    >>> round(found.axis.angle * 1e6, 3), round(found.square * 1e6, 3)
    (15.0, -30.0)
    """
    xs, one, two = columns(2, travel=travel, first=first, second=second)
    not_all_one_place(xs, "travel")
    doubt = uncertainty(u, covariance, 2 * len(xs))
    half = np.eye(len(xs)) / 2
    axis = squareness_from_sweep(
        letters, xs, (one + two) / 2, u=0.0, covariance=doubt.covariance(np.hstack([half, half]))
    )
    row = least_squares_line(xs).slope / 2
    lean = float(row @ (two - two.mean() - one + one.mean()))
    twice = SquarenessSweep(
        letters, axis.angle, axis.u_angle, axis.opens, 2 * len(xs), axis.value, axis.u_value, axis.length
    )
    return SquarenessByReversal(twice, lean, doubt.std(np.concatenate([-row, row])))


def squareness_from_levels(
    letters: str,
    datum: ArrayLike,
    other: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
) -> Squareness:
    """Squareness from level readings on two faces or along two motions, the second with a frame level.

    Read every level as a rotation, right-handed about the axis of the first letter (C0Y: about Z). A zero
    error that the level shows in the same sense on both faces cancels.

    Args:
        letters: which squareness, as 'A0Z'.
        datum: rotations read on the datum face or axis, rad, (m,).
        other: rotations read on the face or axis that should be square to it, rad, (n,).
        u: standard uncertainty of each reading on its own, rad, one number or (m + n,), datum first.
        covariance: of what they share beside that, rad², (m + n, m + n), datum first.

    Returns:
        Mean of the second less mean of the first.

    Raises:
        RequestError: letters that are no squareness, a face without readings, values not finite.

    Source: ISO 230-1:2012, clause 10, from memory. Checked in tests/rooms/test_measuring_squareness.py.

    >>> found = squareness_from_levels("A0Z", [10e-6, 14e-6], [32e-6, 32e-6], u=2e-6)
    >>> round(found.angle * 1e6, 6), round(found.u_angle * 1e6, 6)
    (20.0, 2.0)
    """
    sign = _sign(letters)
    one, two = column(datum, "datum"), column(other, "other")
    doubt = uncertainty(u, covariance, len(one) + len(two))
    row = np.concatenate([np.full(len(one), -1.0 / len(one)), np.full(len(two), 1.0 / len(two))])
    angle = float(two.mean() - one.mean())
    return Squareness(letters, angle, doubt.std(row), -sign * angle, len(row))


def squareness_from_face_diagonals(
    letters: str,
    diagonal_1: float,
    diagonal_2: float,
    across: float,
    along: float,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
) -> Squareness:
    """Squareness from both diagonals of a rectangle laid out or driven by the two axes; exact.

    Args:
        letters: which squareness, as 'C0Y'.
        diagonal_1: from the corner where both axes are least to where both are most, mm.
        diagonal_2: the other one, mm.
        across: side along the axis across (C0Y: X), as commanded, mm.
        along: side along the moving axis (C0Y: Y), mm.
        u: standard uncertainty of each diagonal on its own, mm, one number or (2,).
        covariance: of what the two share, mm², (2, 2): the scale of one bar drops out to first order.

    Returns:
        The angle.

    Raises:
        RequestError: letters that are no squareness, a length not over 0.

    Source: elementary; ``handbook.geometry.squareness_from_diagonals``. Checked in
        tests/rooms/test_measuring_squareness.py.

    >>> found = squareness_from_face_diagonals("C0Y", 500.0048, 499.9952, 400, 300, u=0.001)
    >>> round(found.angle * 1e6, 6), round(found.u_angle * 1e6, 4)
    (-20.0, 2.9463)
    """
    sign = _sign(letters)
    one, two = over_zero(diagonal_1, "diagonal_1"), over_zero(diagonal_2, "diagonal_2")
    a, b = over_zero(across, "across"), over_zero(along, "along")
    lean = float(squareness_from_diagonals(one, two, a, b))
    row = np.array([one, -two]) / (2 * a * b)
    return Squareness(letters, sign * lean, uncertainty(u, covariance, 2).std(row), -lean, 2)


def _sign(letters: str) -> int:
    if letters not in _TURNS:
        raise RequestError(f"'{letters}' is not a squareness of two axes", f"use one of {', '.join(_TURNS)}")
    return _TURNS[letters]


def _not_negative(u: float) -> float:
    if not (np.isfinite(u) and u >= 0):
        raise RequestError(f"'u_square' is {u:g}", "give a standard uncertainty of 0 or more")
    return u
