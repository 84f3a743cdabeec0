"""Reversal: two sets of readings with the artefact turned over, so that it tells itself apart from the machine.

One algebra serves them all: first = machine + artefact, second = machine - artefact. What differs is how to
turn the artefact and which sign the indicator has then.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.measuring.inputs import columns, uncertainty

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Reversal:
    """What two sets of readings say of the machine and of the artefact.

    Attributes:
        machine: (n,), in the unit of the readings.
        artefact: (n,).
        covariance: of the machine's values, (n, n); give it on to ``straightness`` and the like, with u = 0.
        covariance_artefact: of the artefact's values, (n, n).
        readings: 2 n.
    """

    machine: Array
    artefact: Array
    covariance: Array
    covariance_artefact: Array
    readings: int

    @property
    def u_machine(self) -> Array:
        """Standard uncertainty of each value of the machine, (n,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))

    @property
    def u_artefact(self) -> Array:
        """Standard uncertainty of each value of the artefact, (n,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance_artefact), 0.0))


def straightedge_reversal(
    first: ArrayLike, second: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> Reversal:
    """Straightness of a motion with a straightedge that is turned over about its length.

    Turn the straightedge by half a turn about its long axis, keep its ends where they were, and put the
    indicator on the other side. Count both sweeps positive where the carriage is displaced to the same side of
    the room. An offset or a slope between the two settings ends up in both results as a line.

    Args:
        first: sweep before, mm, (n,).
        second: sweep after, at the same places, mm, (n,).
        u: standard uncertainty of each reading on its own, one number or (2 n,), first sweep first.
        covariance: of what they share beside that, (2 n, 2 n).

    Returns:
        Motion and straightedge with their covariances: each is as uncertain as 1/√2 of one reading.

    Raises:
        RequestError: no readings, lists that do not fit.

    Source: Evans, Hocken, Estler, CIRP Annals 45 (1996) 617, and ISO 230-1, from memory. Checked in
        tests/rooms/test_measuring_reversal.py.

    >>> found = straightedge_reversal([0, 3, 5, 4, 0], [0, -1, 1, 2, 0], u=1.0)
    >>> found.machine.tolist(), found.artefact.tolist(), round(float(found.u_machine[0]), 4)
    ([0.0, 1.0, 3.0, 3.0, 0.0], [0.0, 2.0, 2.0, 1.0, 0.0], 0.7071)
    """
    one, two = columns(1, first=first, second=second)
    doubt = uncertainty(u, covariance, 2 * len(one))
    half = np.eye(len(one)) / 2
    of_machine, of_artefact = np.hstack([half, half]), np.hstack([half, -half])
    return Reversal(
        (one + two) / 2,
        (one - two) / 2,
        doubt.covariance(of_machine),
        doubt.covariance(of_artefact),
        2 * len(one),
    )


def square_reversal(
    first: ArrayLike, second: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> Reversal:
    """Sweep along a square, before and after turning the square by half a turn about the swept blade.

    Count both sweeps positive where the moving axis is displaced to the same side. The machine's values then
    go to ``squareness_from_sweep``. The artefact's slope is how far the blade leaned away from that side in the
    first position.

    Arguments, results, errors and source: as for ``straightedge_reversal``.

    >>> found = square_reversal([0, 0.009], [0, -0.003], u=0.001)
    >>> [round(float(v[1]), 6) for v in (found.machine, found.artefact)]
    [0.003, 0.006]
    """
    return straightedge_reversal(first, second, u=u, covariance=covariance)


def level_reversal(
    first: ArrayLike, second: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> Reversal:
    """Tilt of a surface, and zero error of a level, from two readings with the level turned end for end.

    Count a reading positive where the level says that its own marked end is high. Turned, it says tilt the
    other way round: first = tilt + zero, second = - tilt + zero.

    Args:
        first: readings, rad, (n,).
        second: readings at the same places with the level turned, rad, (n,).
        u: standard uncertainty of each reading on its own, rad, one number or (2 n,), first ones first.
        covariance: of what they share beside that, (2 n, 2 n).

    Returns:
        ``machine`` is the tilt, positive where the surface is high under the marked end as it stood first;
        ``artefact`` is the level's zero error.

    Raises:
        RequestError: no readings, lists that do not fit.

    Source: common practice. Checked in tests/rooms/test_measuring_reversal.py.

    >>> found = level_reversal([50e-6], [-10e-6], u=5e-6)
    >>> round(float(found.machine[0]) * 1e6, 6), round(float(found.artefact[0]) * 1e6, 6)
    (30.0, 20.0)
    """
    one, two = columns(1, first=first, second=second)
    doubt = uncertainty(u, covariance, 2 * len(one))
    return straightedge_reversal(one, -two, u=doubt.own, covariance=_signed(doubt.shared, len(one)))


def spindle_reversal(
    first: ArrayLike, second: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> Reversal:
    """Radial error motion of a spindle, and roundness of the test ball, by Donaldson's reversal.

    For the second set turn ball and indicator by half a turn and leave the spindle as it was. Read both at the
    same angles of the spindle, positive where the indicator's plunger is pushed in: first = ball + motion,
    second = ball - motion.

    Args:
        first: readings, mm, (n,).
        second: readings at the same angles, mm, (n,).
        u: standard uncertainty of each reading on its own, mm, one number or (2 n,), first ones first.
        covariance: of what they share beside that, (2 n, 2 n).

    Returns:
        ``machine`` is the spindle's motion towards the indicator as it stood first, what repeats turn by turn;
        ``artefact`` is the ball. Take out-of-centre off the ball with ``runout``.

    Raises:
        RequestError: no readings, lists that do not fit.

    Source: R. R. Donaldson, CIRP Annals 21 (1972) 125, from memory. Checked in
        tests/rooms/test_measuring_reversal.py.

    >>> found = spindle_reversal([3.0, 1.0], [1.0, 1.0], u=0.1)
    >>> found.machine.tolist(), found.artefact.tolist()
    ([1.0, 0.0], [2.0, 1.0])
    """
    return level_reversal(first, second, u=u, covariance=covariance)


def _signed(shared: Array | None, half: int) -> Array | None:
    """Covariance once the second half of the readings has changed its sign."""
    if shared is None:
        return None
    signs = np.repeat([1.0, -1.0], half)
    return np.asarray(signs[:, None] * shared * signs)
