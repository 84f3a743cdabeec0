"""A screw between two bearing mounts, and its nut on a carriage: how far they are out of line, and what that costs.

The nut is where the carriage takes it, the screw on the line between its bearings. What is left between them the
screw must bend away, and the nut is pushed from the side by it: most of all where the nut comes near a bearing.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.handbook.beams import round_second_moment

Array = NDArray[np.float64]

NEAREST = 0.02
"""Share of the bearing distance to which a nut may come near a bearing before the beam formula is given up."""


@dataclass(frozen=True)
class Line:
    """Where a screw's bearings stand, and where its nut goes, along the axis; mm.

    Attributes:
        fixed, free: places of the two bearings.
        nut: places of the nut along the travel, (stations,).
    """

    fixed: float
    free: float
    nut: Array

    def __post_init__(self) -> None:
        if abs(self.free - self.fixed) < 1e-6:
            raise RequestError("both bearings of the screw stand at one place", "give the place of each")

    @property
    def share(self) -> Array:
        """How far along from the fixed to the free bearing the nut stands, (stations,)."""
        return np.asarray((self.nut - self.fixed) / (self.free - self.fixed))


def side_stiffness(line: Line, root_diameter: float, modulus: float, *, nut: float = np.inf) -> Array:
    r"""Force with which a screw resists being pushed sideways at its nut, for each mm, (stations,), N/mm.

    A simply supported round beam between its bearings, in series with the nut's own stiffness across:

    .. math:: k = 3 E I L / (a^2 b^2)

    with a and b the distances of the nut to the bearings. The bearings' own stiffness and tilt are left out, so it
    is too stiff near them; no nut counts as nearer than a fiftieth of L.

    Args:
        line: bearings and nut.
        root_diameter: of the screw, mm.
        modulus: Young's modulus, MPa.
        nut: stiffness of nut and bracket across, N/mm.

    Source: Euler-Bernoulli beam, point load between two supports; S. Timoshenko, Strength of Materials, part I
        (from memory).

    >>> float(side_stiffness(Line(0.0, 400.0, np.array([200.0])), 12.0, 210_000.0).round(1)[0])
    160.3
    """
    length = abs(line.free - line.fixed)
    a = np.clip(line.share, NEAREST, 1 - NEAREST) * length
    bending = 3 * modulus * float(round_second_moment(root_diameter)) * length / (a * (length - a)) ** 2
    return np.asarray(1 / (1 / bending + 1 / nut))


@dataclass(frozen=True)
class OutOfLine:
    """What is left between nut and screw along the travel, in one direction across it.

    Attributes:
        mean: expected misfit, (stations,), mm; above zero: the nut stands high (or to the direction's side).
        std: its standard uncertainty, (stations,), mm.
        load: expected size of the side load on the nut, (stations,), N.
    """

    mean: Array
    std: Array
    load: Array

    @property
    def misfit(self) -> float:
        """Expected size of the misfit where that is largest, mm."""
        return float(np.sqrt(self.mean**2 + self.std**2).max())

    @property
    def worst(self) -> float:
        """Largest expected side load, N."""
        return float(self.load.max())


def out_of_line(mean: ArrayLike, factor: ArrayLike, stiffness: ArrayLike) -> OutOfLine:
    """Misfit and side load from the mean of the misfit and a factor of its covariance.

    Args:
        mean: (stations,), mm.
        factor: F with F F' the covariance, (stations, n), mm.
        stiffness: of the screw across at each station, (stations,), N/mm.
    """
    m, f, k = (np.asarray(v, float) for v in (mean, factor, stiffness))
    std = np.sqrt((f**2).sum(axis=1))
    return OutOfLine(m, std, k * np.sqrt(m**2 + std**2))


def effects(line: Line, *, spacer: bool, mounts: bool) -> tuple[tuple[str, ...], Array]:
    """What can bring a screw into line, and what a unit of each does to the misfit, (stations, k).

    Args:
        line: bearings and nut.
        spacer: a spacer under the nut bracket lifts the nut.
        mounts: both bearing mounts can float.
    """
    names: list[str] = []
    columns: list[Array] = []
    if spacer:
        names.append("spacer")
        columns.append(np.ones(len(line.nut)))
    if mounts:
        names += ["fixed mount", "free mount"]
        columns += [-(1 - line.share), -line.share]
    return tuple(names), np.stack(columns, axis=1) if columns else np.zeros((len(line.nut), 0))
