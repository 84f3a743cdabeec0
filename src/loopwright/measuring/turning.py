"""Readings round a turn: tram of a spindle to a table, runout, eccentricity and what roundness is left."""

from dataclasses import dataclass
from math import atan2, hypot, inf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import Uncertainty, columns, over_zero, uncertainty

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OncePerTurn:
    """Mean and once-per-turn part of readings round a turn: mean + c cos θ + s sin θ.

    Attributes:
        mean: in the unit of the readings.
        cosine: c.
        sine: s.
        covariance: of (mean, c, s), (3, 3).
        weights: that give these three from the readings, (3, n).
        residuals: readings less the three, (n,).
        residual_std: residual standard deviation; None from three readings.
    """

    mean: float
    cosine: float
    sine: float
    covariance: Array
    weights: Array
    residuals: Array
    residual_std: float | None

    @property
    def amplitude(self) -> float:
        """√(c² + s²)."""
        return hypot(self.cosine, self.sine)

    @property
    def direction(self) -> float:
        """Angle at which it is largest, rad, -π to π."""
        return atan2(self.sine, self.cosine)

    @property
    def u_amplitude(self) -> float:
        """Standard uncertainty of the amplitude; along its direction, or the largest where there is none."""
        own = self.covariance[1:, 1:]
        if self.amplitude == 0:
            return sqrt(max(float(np.linalg.eigvalsh(own)[-1]), 0.0))
        row = np.array([self.cosine, self.sine]) / self.amplitude
        return sqrt(max(float(row @ own @ row), 0.0))

    @property
    def u_direction(self) -> float:
        """Standard uncertainty of the direction, rad; infinite where the amplitude is 0.

        First order: from a third of a radian on, the direction is as good as unknown.
        """
        if self.amplitude == 0:
            return inf
        row = np.array([-self.sine, self.cosine]) / self.amplitude
        return sqrt(max(float(row @ self.covariance[1:, 1:] @ row), 0.0)) / self.amplitude


def once_per_turn(
    angles: ArrayLike, readings: ArrayLike, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> OncePerTurn:
    """Mean and once-per-turn part by least squares; the angles need not be equally spaced.

    Args:
        angles: rad, (n,), 3 or more different ones.
        readings: (n,), any unit.
        u: standard uncertainty of each reading on its own, one number or (n,).
        covariance: of what they share beside that, (n, n).

    Returns:
        Mean, cosine and sine part with covariance, and what is left.

    Raises:
        RequestError: fewer than 3 readings, angles too close together to tell the three apart, lists that do not fit.

    Source: least squares; for equal steps a = (2/n) Σ r cos θ, b = (2/n) Σ r sin θ. Checked in
        tests/rooms/test_measuring_turning.py.

    >>> found = once_per_turn([0, np.pi / 2, np.pi, 3 * np.pi / 2], [3.0, 1.0, 1.0, 3.0], u=1.0)
    >>> round(found.mean, 9), round(found.cosine, 9), round(found.sine, 9), round(found.u_amplitude, 6)
    (2.0, 1.0, -1.0, 0.707107)
    """
    theta, read = columns(3, angles=angles, readings=readings)
    return _fitted(theta, read, uncertainty(u, covariance, len(theta)))


def _fitted(theta: Array, read: Array, doubt: Uncertainty) -> OncePerTurn:
    design = np.stack([np.ones(len(theta)), np.cos(theta), np.sin(theta)], axis=1)
    sizes = np.linalg.svd(design, compute_uv=False)
    if sizes[2] < 1e-6 * sizes[0]:
        raise RequestError(
            "the angles are too few or too close", "read at three places or more round the turn"
        )
    weights = np.linalg.pinv(design)
    middle = float(read.mean())
    found = weights @ (read - middle)
    residuals = read - middle - design @ found
    dof = len(theta) - 3
    scatter = sqrt(float(residuals @ residuals) / dof) if dof else None
    mean, cosine, sine = (float(v) for v in found)
    return OncePerTurn(middle + mean, cosine, sine, doubt.covariance(weights), weights, residuals, scatter)


@dataclass(frozen=True)
class Tram:
    """Squareness of a spindle to a table.

    Attributes:
        slope_x: rise of the table along +X against the plane that the spindle sweeps, rad.
        slope_y: along +Y, rad.
        covariance: of both, rad², (2, 2).
        tilt: steepest slope, rad.
        direction: towards which it rises, from +X towards +Y, rad.
        u_tilt: standard uncertainty, rad.
        residual_std: what is left beside a tilt, mm: table not flat, spindle, indicator. None from three readings.
        readings: n.
    """

    slope_x: float
    slope_y: float
    covariance: Array
    tilt: float
    direction: float
    u_tilt: float
    residual_std: float | None
    readings: int

    @property
    def u_slope_x(self) -> float:
        """Standard uncertainty, rad."""
        return sqrt(self.covariance[0, 0])

    @property
    def u_slope_y(self) -> float:
        """Standard uncertainty, rad."""
        return sqrt(self.covariance[1, 1])

    @property
    def about_x(self) -> float:
        """Table turned about +X against the spindle, right-handed, rad. Turn the head by it to square it."""
        return self.slope_y

    @property
    def about_y(self) -> float:
        """Table turned about +Y against the spindle, right-handed, rad. Turn the head by it to square it."""
        return -self.slope_x


def tram(
    angles: ArrayLike,
    readings: ArrayLike,
    radius: float,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
) -> Tram:
    """Tilt of a spindle to a table from an indicator on an arm, read at places round a circle.

    Turn by hand, with the spindle drive locked out.

    Args:
        angles: where the indicator stood, from +X towards +Y, rad, (n,), 3 or more; need not be equally spaced.
        readings: positive where the table is high, mm, (n,).
        radius: of the circle that the indicator touches, mm.
        u: standard uncertainty of each reading on its own, mm, one number or (n,).
        covariance: of what they share beside that, mm², (n, n).

    Returns:
        Slopes along X and Y with their covariance, steepest slope and its direction.

    Raises:
        RequestError: as for ``once_per_turn``, or a radius not over 0.

    Source: elementary; ISO 230-1:2012, clause 10 (squareness of an axis of rotation to a plane), from memory.
        Checked in tests/rooms/test_measuring_turning.py.

    >>> found = tram([0, np.pi / 2, np.pi, 3 * np.pi / 2], [0.004, 0, -0.004, 0], 100, u=0.001)
    >>> round(found.slope_x * 1e6, 6), round(found.u_slope_x * 1e6, 6), round(found.about_y * 1e6, 6)
    (40.0, 7.071068, -40.0)
    """
    arm = over_zero(radius, "radius")
    found = once_per_turn(angles, readings, u=u, covariance=covariance)
    return Tram(
        found.cosine / arm,
        found.sine / arm,
        found.covariance[1:, 1:] / arm**2,
        found.amplitude / arm,
        found.direction,
        found.u_amplitude / arm,
        found.residual_std,
        len(found.residuals),
    )


def tram_across(
    first: float, second: float, radius: float, *, u: ArrayLike, covariance: ArrayLike | None = None
) -> tuple[float, float]:
    """Slope of a table against a spindle along one direction, from two readings half a turn apart.

    Args:
        first: reading on the + side, positive where the table is high, mm.
        second: reading on the - side, mm.
        radius: of the circle that the indicator touches, mm.
        u: standard uncertainty of each reading on its own, mm, one number or (2,).
        covariance: of what they share beside that, mm², (2, 2).

    Returns:
        Rise of the table towards the + side and its standard uncertainty, rad.

    Raises:
        RequestError: a radius not over 0, values not finite.

    Source: elementary. Checked in tests/rooms/test_measuring_turning.py.

    >>> slope, u_slope = tram_across(0.004, -0.004, 100, u=0.001)
    >>> round(slope * 1e6, 6), round(u_slope * 1e6, 6)
    (40.0, 7.071068)
    """
    arm = over_zero(radius, "radius")
    both = columns(2, readings=[first, second])[0]
    row = np.array([1.0, -1.0]) / (2 * arm)
    return float(row @ both), uncertainty(u, covariance, 2).std(row)


@dataclass(frozen=True)
class Runout:
    """Readings round one turn of a part or a spindle.

    Attributes:
        total: largest less smallest reading, mm. A round part shows twice its eccentricity.
        eccentricity: distance of the best circle's centre from the axis of rotation, mm.
        direction: in which it lies, where the readings are highest, in the sense of the angles, rad, -π to π.
        roundness: largest less smallest of what is left (least squares circle), mm. It holds the spindle's own radial
            error too, and waves that lie between the readings are not seen. None from three readings, which always lie
            on a circle.
        deviations: what is left, mm, (n,).
        u_total: standard uncertainty, mm, first order through the two readings.
        u_eccentricity: standard uncertainty, mm.
        u_direction: standard uncertainty, rad; infinite where there is no eccentricity.
        u_roundness: standard uncertainty, mm, first order. Noise also lifts every such value. None from three readings.
        second_order: e²/(4 R), mm: how far a round part reads oval (cos 2θ) because it runs out. None without a radius.
            Centre better where it is not far smaller than the roundness.
        readings: n.
        u_deviations: standard uncertainty of each deviation, mm, (n,).
    """

    total: float
    eccentricity: float
    direction: float
    roundness: float | None
    deviations: Array
    u_total: float
    u_eccentricity: float
    u_direction: float
    u_roundness: float | None
    second_order: float | None
    readings: int
    u_deviations: Array


def runout(
    angles: ArrayLike,
    readings: ArrayLike,
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    radius: float | None = None,
) -> Runout:
    """Total runout, eccentricity and the roundness left, from readings round a turn.

    Turn by hand or at a creep; never touch a running spindle with an indicator.

    Args:
        angles: of the part where the indicator touched, rad, (n,), 3 or more; need not be equally spaced.
        readings: positive where the surface stands out, mm, (n,).
        u: standard uncertainty of each reading on its own, mm, one number or (n,).
        covariance: of what they share beside that, mm², (n, n).
        radius: of the surface, mm, for the second-order caution; None leaves it out.

    Returns:
        Total, eccentricity with direction, roundness left, and their standard uncertainties.

    Raises:
        RequestError: as for ``once_per_turn``, or a radius not over 0.

    Source: ISO 12181-1 (least squares reference circle) and ISO 1101 (circular run-out), from memory. Small
        eccentricity. Checked in tests/rooms/test_measuring_turning.py.

    >>> found = runout([0, np.pi / 2, np.pi, 3 * np.pi / 2], [0.01, 0, -0.01, 0], u=0.001, radius=10)
    >>> round(found.total, 6), round(found.eccentricity, 6), round(found.second_order, 9)
    (0.02, 0.01, 2.5e-06)
    """
    theta, read = columns(3, angles=angles, readings=readings)
    doubt = uncertainty(u, covariance, len(theta))
    found = _fitted(theta, read, doubt)
    left = found.residuals
    identity = np.eye(len(theta))
    design = np.stack([np.ones(len(theta)), np.cos(theta), np.sin(theta)], axis=1)
    remains = identity - design @ found.weights
    pair = identity[np.argmax(read)] - identity[np.argmin(read)]
    left_pair = remains[np.argmax(left)] - remains[np.argmin(left)]
    e = found.amplitude
    return Runout(
        float(np.ptp(read)),
        e,
        found.direction,
        float(np.ptp(left)) if len(theta) > 3 else None,
        left,
        doubt.std(pair),
        found.u_amplitude,
        found.u_direction,
        doubt.std(left_pair) if len(theta) > 3 else None,
        None if radius is None else e**2 / (4 * over_zero(radius, "radius")),
        len(theta),
        doubt.stds(remains),
    )
