"""Heights over a surface from a level or an autocollimator stepped along crossing lines.

Lines that cross close loops. Going round a loop must bring one back to the height of the start; what is
missing is the closure error. All steps together give heights by least squares, and the closure errors say
how good the readings really were.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.measuring.inputs import column, over_zero, uncertainty
from loopwright.measuring.lines import Reference
from loopwright.measuring.planes import Flatness, flatness

Array = NDArray[np.float64]
Lines = tuple[tuple[int, ...], ...]


class Zero(StrEnum):
    """What is known of the zero of the angles."""

    KNOWN = "known"
    SHARED = "shared"
    EACH_LINE = "each line"


@dataclass(frozen=True)
class Closure:
    """One closed loop of steps.

    Attributes:
        stations: round the loop; the last is joined to the first.
        error: height missing after one turn round, mm, after the zeros found were taken off.
        u: standard uncertainty that the stated uncertainty of the angles allows it, mm.
    """

    stations: tuple[int, ...]
    error: float
    u: float


@dataclass(frozen=True)
class LevelledPlate:
    """Heights of the stations on a surface.

    Attributes:
        points: mm, (m, 2).
        heights: over the first station, mm, (m,). Where ``slopes_known`` is False a plane may be added.
        covariance: of the heights, mm², (m, m), from the stated uncertainty of the angles. A plane that may be added
            is left out of it.
        slopes_known: the tilt of the whole surface is known, not only its form.
        residuals: rise read less rise of the heights found, mm, by step in the order of the lines, (n,).
        closures: of independent loops.
        redundancy: readings more than needed; degrees of freedom of ``ratio``.
        ratio: how large the residuals are against what the stated uncertainty allows; near 1 where all is
            well. None without redundancy.
        u_found: standard uncertainty of one angle as the residuals show it, rad; ratio times the stated one.
            None without redundancy or where the stated ones differ or share something.
        readings: n.
    """

    points: Array
    heights: Array
    covariance: Array
    slopes_known: bool
    residuals: Array
    closures: tuple[Closure, ...]
    redundancy: int
    ratio: float | None
    u_found: float | None
    readings: int

    def flatness(self, reference: Reference = Reference.LEAST_SQUARES) -> Flatness:
        """Flatness of the surface at its stations."""
        x, y = self.points.T
        return flatness(x, y, self.heights, u=0.0, covariance=self.covariance, reference=reference)


def grid_lines(columns: int, rows: int, pitch_x: float, pitch_y: float) -> tuple[Array, Lines]:
    """Stations of a grid, and its lines: every row along x, then every column along y.

    Args:
        columns: stations in a row, 2 or more.
        rows: 2 or more.
        pitch_x: between stations of a row, mm.
        pitch_y: between rows, mm.

    Returns:
        Points, mm, (columns x rows, 2), row by row; lines as numbers of stations.

    Raises:
        RequestError: fewer than two rows or columns, a pitch that is not over 0.

    Source: elementary.

    >>> points, lines = grid_lines(3, 2, 100, 80)
    >>> lines
    ((0, 1, 2), (3, 4, 5), (0, 3), (1, 4), (2, 5))
    """
    if columns < 2 or rows < 2:
        raise RequestError(f"a grid of {columns} by {rows} stations", "use two rows and two columns or more")
    dx, dy = over_zero(pitch_x, "pitch_x"), over_zero(pitch_y, "pitch_y")
    points = np.array([(i * dx, j * dy) for j in range(rows) for i in range(columns)])
    along = tuple(tuple(range(j * columns, (j + 1) * columns)) for j in range(rows))
    across = tuple(tuple(range(i, columns * rows, columns)) for i in range(columns))
    return points, along + across


def union_jack(length: float, width: float, steps: tuple[int, int, int]) -> tuple[Array, Lines]:
    """Stations of eight lines: four sides, two diagonals and two middle lines.

    Args:
        length: of the rectangle along x, mm.
        width: along y, mm.
        steps: numbers of steps along x, along y and along a diagonal; each even, so that all lines meet in the
            middle. The step length along each direction follows.

    Returns:
        Points, mm, (m, 2); lines: bottom, top, left, right, both diagonals, middle along x, middle along y.

    Raises:
        RequestError: a side that is not over 0, an odd number of steps.

    Source: the usual pattern for surface plates; ISO 8512-2 and national guides, from memory.

    >>> points, lines = union_jack(400, 300, (4, 2, 2))
    >>> len(points), len(lines)
    (15, 8)
    """
    a, b = over_zero(length, "length"), over_zero(width, "width")
    if any(n < 2 or n % 2 for n in steps):
        raise RequestError(f"{steps} steps", "use even numbers, so that all lines meet in the middle")
    ends = [((0, 0), (2, 0)), ((0, 2), (2, 2)), ((0, 0), (0, 2)), ((2, 0), (2, 2))]
    ends += [((0, 0), (2, 2)), ((2, 0), (0, 2)), ((0, 1), (2, 1)), ((1, 0), (1, 2))]
    numbers = [steps[i] for i in (0, 0, 1, 1, 2, 2, 0, 1)]
    found: dict[tuple[int, int], int] = {}
    lines = []
    fine = steps[0] * steps[1] * steps[2]  # whole numbers, so that crossings are the same station
    for ((x0, y0), (x1, y1)), n in zip(ends, numbers):
        spots = [
            ((x0 * (n - k) + x1 * k) * fine // n, (y0 * (n - k) + y1 * k) * fine // n) for k in range(n + 1)
        ]
        lines.append(tuple(found.setdefault(spot, len(found)) for spot in spots))
    return np.array(list(found), float) / (2 * fine) * [a, b], tuple(lines)


def plate_heights(
    points: ArrayLike,
    lines: Sequence[Sequence[int]],
    angles: Sequence[ArrayLike],
    *,
    u: ArrayLike,
    covariance: ArrayLike | None = None,
    zero: Zero = Zero.KNOWN,
) -> LevelledPlate:
    """Heights over a surface by weighted least squares of all steps.

    Args:
        points: where the feet stood, mm, (m, 2).
        lines: each line as numbers of its stations in order of stepping, counted from 0.
        angles: for each line the slope of each of its steps, rad; positive where it rises in that direction.
        u: standard uncertainty of each angle on its own, rad, over 0, one number or (n,), line by line.
        covariance: of what the angles share beside that, rad², (n, n); None for nothing.
        zero: KNOWN: the angles are true slopes against level. SHARED: the level has one unknown zero error, the
            same in the direction of every step. EACH_LINE: each line was zeroed anew, as with an autocollimator; then
            rows and columns alone cannot tell a twist, and diagonals are needed.

    Returns:
        Heights with covariance, closure errors, redundancy and what it says about the readings. Heights enter
        ``flatness`` as they are.

    Raises:
        RequestError: numbers of lines, angles or stations that do not fit; stations that are not tied to the rest,
            or by too few crossings for the zeros that are unknown.

    Source: least squares adjustment of a levelling net; JCGM 100:2008, Annex H.3 for the scatter. Checked in
        tests/rooms/test_measuring_plates.py.

    >>> points, lines = grid_lines(2, 2, 100, 100)
    >>> found = plate_heights(points, lines, [[10e-6], [10e-6], [0.0], [2e-6]], u=1e-6)
    >>> found.redundancy, round(found.closures[0].error, 7), round(found.closures[0].u, 7)
    (1, 0.0002, 0.0002)
    """
    net = _net(points, lines, angles)
    doubt = uncertainty(u, covariance, len(net.slopes))
    if not np.all(doubt.own > 0):
        raise RequestError("'u' is 0", "give every angle a standard uncertainty over 0, for the weights")
    rises, stations = net.lengths * net.slopes, len(net.places)
    v = net.lengths[:, None] * doubt.matrix() * net.lengths
    design = net.design(zero)
    factor = np.linalg.cholesky(v)
    inverse, loose = _solved(np.linalg.solve(factor, design), net.places, zero)
    weights = inverse @ np.linalg.inv(factor)
    left = rises - design @ (weights @ rises)
    rows = (np.eye(stations) - np.eye(stations)[0]) @ weights[:stations]
    redundancy = len(rises) - (design.shape[1] - loose)
    ratio = sqrt(float(np.sum(np.linalg.solve(factor, left) ** 2)) / redundancy) if redundancy else None
    alike = covariance is None and bool(np.ptp(doubt.own) == 0)
    return LevelledPlate(
        net.places,
        rows @ rises,
        rows @ v @ rows.T,
        loose == 1,
        left,
        _closures(net.starts, net.ends, left, v - design @ (weights @ v)),
        redundancy,
        ratio,
        ratio * float(doubt.own[0]) if ratio is not None and alike else None,
        len(rises),
    )


@dataclass(frozen=True)
class _Net:
    """Checked steps: stations (m, 2); start, end, line, slope and length of each step, (n,)."""

    places: Array
    starts: NDArray[np.intp]
    ends: NDArray[np.intp]
    line_of: NDArray[np.intp]
    slopes: Array
    lengths: Array

    def design(self, zero: Zero) -> Array:
        """Rise of each step by a unit of each height and of each unknown zero (in units of a mean step)."""
        number = np.arange(len(self.starts))
        steps = np.zeros((len(number), len(self.places)))
        steps[number, self.ends] += 1.0
        steps[number, self.starts] -= 1.0
        share = (self.lengths / self.lengths.mean())[:, None]
        if zero is Zero.SHARED:
            steps = np.hstack([steps, share])
        elif zero is Zero.EACH_LINE:
            steps = np.hstack([steps, share * (self.line_of[:, None] == np.arange(self.line_of.max() + 1))])
        return steps


def _net(points: ArrayLike, lines: Sequence[Sequence[int]], angles: Sequence[ArrayLike]) -> _Net:
    places = _places(points)
    starts, ends, line_of = _ends(lines, len(places))
    lengths = np.hypot(*(places[ends] - places[starts]).T)
    if not np.all(lengths > 0):
        raise RequestError("a step joins two stations at one place", "give each station its own place")
    return _Net(places, starts, ends, line_of, _slopes(lines, angles), lengths)


def _places(points: ArrayLike) -> Array:
    out = np.asarray(points, float)
    if out.ndim != 2 or out.shape[1] != 2 or not np.all(np.isfinite(out)):
        raise RequestError("'points' is not a list of places", "give x and y in mm for every station")
    return out


def _ends(lines: Sequence[Sequence[int]], stations: int) -> tuple[NDArray[np.intp], ...]:
    """Start, end and line of every step."""
    steps = [(a, b, n) for n, line in enumerate(lines) for a, b in pairwise(line)]
    if not steps:
        raise RequestError("there is no step", "give lines of two stations or more")
    starts, ends, line_of = (np.array(side, np.intp) for side in zip(*steps))
    if starts.min() < 0 or ends.min() < 0 or max(starts.max(), ends.max()) >= stations:
        raise RequestError(
            f"a line names a station that is not there; there are {stations}", "count stations from 0"
        )
    return starts, ends, line_of


def _slopes(lines: Sequence[Sequence[int]], angles: Sequence[ArrayLike]) -> Array:
    if len(angles) != len(lines):
        raise RequestError(f"{len(lines)} lines and {len(angles)} lists of angles", "give one list a line")
    read = [column(a, f"angles of line {n}") for n, a in enumerate(angles, 1)]
    for n, (line, slopes) in enumerate(zip(lines, read), 1):
        if len(slopes) != len(line) - 1:
            raise RequestError(
                f"line {n} has {len(line)} stations and {len(slopes)} angles", "give one angle a step"
            )
    return np.concatenate(read)


def _solved(whitened: Array, places: Array, zero: Zero) -> tuple[Array, int]:
    """Pseudo-inverse of the design, and how many motions of the heights are left open."""
    _, sizes, turned = np.linalg.svd(whitened, full_matrices=True)
    rank = int(np.sum(sizes > 1e-9 * sizes[0]))
    open_ = turned[rank:, : len(places)].T
    allowed = (
        np.ones((len(places), 1)) if zero is Zero.KNOWN else np.column_stack([np.ones(len(places)), places])
    )
    axes, extents, _ = np.linalg.svd(allowed - [0.0, *allowed[:, 1:].mean(axis=0)], full_matrices=False)
    basis = axes[:, extents > 1e-9 * extents[0]]
    bent = np.abs(open_ - basis @ (basis.T @ open_)).max(axis=1)
    if bent.max() > 1e-6:
        station = int(np.argmax(bent))
        raise RequestError(
            f"the readings do not fix station {station}",
            "add a line that ties it to the rest"
            if zero is Zero.KNOWN
            else "add diagonals, which rows and columns alone cannot replace, or read with a known zero",
        )
    return np.asarray(np.linalg.pinv(whitened, rcond=1e-9), np.float64), whitened.shape[1] - rank


def _closures(
    starts: NDArray[np.intp], ends: NDArray[np.intp], left: Array, covariance: Array
) -> tuple[Closure, ...]:
    """One loop for every step that closes one with the steps before it, by the shortest way back."""
    joined: dict[int, list[tuple[int, int, float]]] = {}
    out = []
    for step, (a, b) in enumerate(zip(starts.tolist(), ends.tolist())):
        way = _shortest(joined, b, a)
        if way is not None:
            row = np.zeros(len(left))
            row[step] = 1.0
            for _, used, sign in way:
                row[used] += sign
            allowed = sqrt(max(float(row @ covariance @ row), 0.0))
            out.append(Closure((a, b, *(s for s, _, _ in way[:-1])), float(row @ left), allowed))
        joined.setdefault(a, []).append((b, step, 1.0))
        joined.setdefault(b, []).append((a, step, -1.0))
    return tuple(out)


def _shortest(
    joined: dict[int, list[tuple[int, int, float]]], start: int, goal: int
) -> list[tuple[int, int, float]] | None:
    """Fewest steps from one station to another: (station reached, step, direction of it), or None."""
    came: dict[int, tuple[int, tuple[int, int, float]]] = {start: (start, (start, -1, 0.0))}
    todo = deque([start])
    while todo and goal not in came:
        here = todo.popleft()
        for hop in joined.get(here, ()):
            if hop[0] not in came:
                came[hop[0]] = (here, hop)
                todo.append(hop[0])
    if goal not in came:
        return None
    way = []
    here = goal
    while here != start:
        here, hop = came[here]
        way.append(hop)
    return way[::-1]
