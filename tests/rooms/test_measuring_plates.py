"""Heights over a surface from level readings along crossing lines."""

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.measuring.plates import LevelledPlate, Zero, grid_lines, plate_heights, union_jack


def read(
    points: np.ndarray, lines: tuple[tuple[int, ...], ...], surface: np.ndarray, off: np.ndarray | float = 0.0
) -> list[np.ndarray]:
    """What a perfect level would read on every line, each with a zero error of its own."""
    zeros = np.broadcast_to(off, len(lines))
    return [
        np.diff(surface[list(line)]) / np.linalg.norm(np.diff(points[list(line)], axis=0), axis=1) + zero
        for line, zero in zip(lines, zeros)
    ]


def bowl(points: np.ndarray) -> np.ndarray:
    """A surface that is 10 µm hollow, twisted and tilted."""
    x, y = points.T / 400
    return np.asarray(0.010 * (x**2 + y**2) + 0.004 * x * y + 0.050 * x)


def out_of_plane(plate: LevelledPlate, heights: np.ndarray) -> np.ndarray:
    """What is left of heights after their best plane."""
    design = np.column_stack([plate.points, np.ones(len(plate.points))])
    return np.asarray(heights - design @ np.linalg.lstsq(design, heights, rcond=None)[0])


def test_one_cell_by_hand() -> None:
    """Four equal sides that miss each other by 200 nm: each takes a quarter, and u_found is half the miss."""
    points, lines = grid_lines(2, 2, 100, 100)
    found = plate_heights(points, lines, [[10e-6], [10e-6], [0.0], [2e-6]], u=1e-6)
    assert found.redundancy == 1
    (loop,) = found.closures
    assert abs(loop.error) == pytest.approx(2e-4)
    assert loop.u == pytest.approx(2e-4)
    assert sorted(loop.stations) == [0, 1, 2, 3]
    assert np.abs(found.residuals) == pytest.approx(np.full(4, 0.5e-4))
    assert found.ratio == pytest.approx(1.0)
    assert found.u_found == pytest.approx(1e-6)
    # the far corner: two ways of two steps each, so one step's variance
    assert found.covariance[3, 3] == pytest.approx((1e-4) ** 2)


@pytest.mark.parametrize(
    ("pattern", "zero"),
    [("grid", Zero.KNOWN), ("grid", Zero.SHARED), *(("union jack", zero) for zero in Zero)],
)
def test_a_perfect_level_gives_the_surface(zero: Zero, pattern: str) -> None:
    """Noiseless readings give every height exactly, up to a plane where the zeros are unknown."""
    points, lines = grid_lines(5, 4, 100, 100) if pattern == "grid" else union_jack(400, 300, (4, 4, 4))
    off = {Zero.KNOWN: 0.0, Zero.SHARED: 3e-4, Zero.EACH_LINE: np.linspace(-1e-4, 2e-4, len(lines))}[zero]
    surface = bowl(points)
    found = plate_heights(points, lines, read(points, lines, surface, off), u=1e-6, zero=zero)
    assert out_of_plane(found, found.heights) == pytest.approx(out_of_plane(found, surface), abs=1e-13)
    assert np.abs(found.residuals).max() < 1e-13
    assert max(abs(loop.error) for loop in found.closures) < 1e-13
    if zero is Zero.KNOWN:
        assert found.slopes_known
        assert found.heights == pytest.approx(surface - surface[0], abs=1e-13)


def test_loops_are_cells() -> None:
    """A grid of 5 by 4 stations closes 12 loops of four steps each, one a cell."""
    points, lines = grid_lines(5, 4, 100, 100)
    found = plate_heights(points, lines, read(points, lines, bowl(points)), u=1e-6)
    assert found.redundancy == len(found.closures) == 12
    assert {len(loop.stations) for loop in found.closures} == {4}
    assert found.readings == 31


def test_redundancy_of_unknown_zeros() -> None:
    """Eight lines zeroed one by one leave two checks: both middle lines must meet the diagonals in the middle."""
    points, lines = union_jack(400, 300, (4, 4, 4))
    angles = read(points, lines, bowl(points))
    left = [plate_heights(points, lines, angles, u=1e-6, zero=zero).redundancy for zero in Zero]
    # 32 steps, 25 stations: 24 heights, and one zero; or 22 heights beside a plane, and eight zeros
    assert left == [32 - 24, 32 - 24 - 1, 32 - 22 - 8]


def test_rows_and_columns_cannot_tell_a_twist() -> None:
    """On a grid whose lines were zeroed one by one a twist reads as nothing, and is refused, not guessed."""
    points, lines = grid_lines(3, 3, 100, 100)
    angles = read(points, lines, points[:, 0] * points[:, 1] * 1e-6)
    assert max(np.ptp(line) for line in angles) < 1e-12
    with pytest.raises(RequestError, match="do not fix station") as caught:
        plate_heights(points, lines, angles, u=1e-6, zero=Zero.EACH_LINE)
    assert "diagonals" in caught.value.remedy


@pytest.mark.parametrize("zero", [Zero.KNOWN, Zero.EACH_LINE])
def test_scatter_over_trials(zero: Zero) -> None:
    """Over 4000 trials flatness out of plane, closure errors and u_found scatter as stated."""
    points, lines = union_jack(400, 300, (4, 4, 4))
    surface = bowl(points)
    exact = np.concatenate(read(points, lines, surface))
    cuts = np.cumsum([len(line) - 1 for line in lines])[:-1]
    told = plate_heights(points, lines, np.split(exact, cuts), u=1e-6, zero=zero)
    units = np.eye(len(exact)) * 1e-6
    each = [plate_heights(points, lines, np.split(unit, cuts), u=1e-6, zero=zero) for unit in units]
    draw = np.random.Generator(np.random.PCG64(8)).normal(size=(4000, len(exact)))
    heights = draw @ np.array([out_of_plane(e, e.heights) for e in each])
    plane = np.column_stack([points, np.ones(len(points))])
    off = np.eye(len(points)) - plane @ np.linalg.pinv(plane)
    stated = np.sqrt(np.diag(off @ told.covariance @ off.T))
    assert heights.std(axis=0, ddof=1) == pytest.approx(stated, rel=0.06)
    loops = draw @ np.array([[loop.error for loop in e.closures] for e in each])
    assert loops.std(axis=0, ddof=1) == pytest.approx([loop.u for loop in told.closures], rel=0.06, abs=1e-12)
    lengths = np.concatenate([np.linalg.norm(np.diff(points[list(line)], axis=0), axis=1) for line in lines])
    left = draw @ np.array([e.residuals for e in each]) / lengths / 1e-6
    assert np.mean(np.sum(left**2, axis=1)) == pytest.approx(told.redundancy, rel=0.05)


def test_a_rough_reading_shows() -> None:
    """A step misread by ten times its uncertainty lifts the found uncertainty over the stated one."""
    points, lines = grid_lines(4, 4, 100, 100)
    angles = read(points, lines, bowl(points))
    angles[2][1] += 10e-6
    found = plate_heights(points, lines, angles, u=1e-6)
    assert found.u_found is not None
    assert found.u_found > 2e-6
    assert max(abs(loop.error) / loop.u for loop in found.closures) > 4


def test_flatness_takes_the_heights_over() -> None:
    """The heights carry their covariance into flatness; a tilt that is not known does not matter."""
    points, lines = union_jack(400, 300, (4, 4, 4))
    values = []
    for zero in Zero:
        angles = read(points, lines, bowl(points))
        flat = plate_heights(points, lines, angles, u=1e-6, zero=zero).flatness()
        assert flat.u_value > 0
        values.append(flat.value)
    assert values == pytest.approx([values[0]] * 3)


POINTS = np.array([[0, 0], [100, 0], [0, 100], [100, 100.0], [300, 300]])


@pytest.mark.parametrize(
    ("points", "lines", "angles", "options", "what"),
    [
        (POINTS, [(0, 1), (2, 3)], [[0], [0]], {}, "do not fix station"),
        (POINTS[:4], [(0, 1), (1, 3), (3, 2)], [[0]] * 3, {"zero": Zero.EACH_LINE}, "do not fix station"),
        (POINTS, [(0, 9)], [[0]], {}, "not there"),
        (POINTS, [(0, 1)], [[0, 1]], {}, "2 stations and 2 angles"),
        (POINTS, [(0, 1)], [], {}, "1 lines and 0 lists"),
        (POINTS, [(0,)], [[]], {}, "no step"),
        ([0, 1], [(0, 1)], [[0]], {}, "not a list of places"),
        (np.zeros((2, 2)), [(0, 1)], [[0]], {}, "at one place"),
        (POINTS[:2], [(0, 1)], [[0]], {"u": 0.0}, "'u' is 0"),
    ],
)
def test_bad_nets_are_named(points: object, lines: list, angles: list, options: dict, what: str) -> None:
    """A net that does not hang together is refused by name."""
    with pytest.raises(RequestError, match=what):
        plate_heights(points, lines, angles, **{"u": 1e-6} | options)


def test_bad_patterns_are_named() -> None:
    """A grid of one row, and a pattern whose lines do not meet, are refused."""
    with pytest.raises(RequestError, match="1 by 3"):
        grid_lines(1, 3, 10, 10)
    with pytest.raises(RequestError, match="even numbers"):
        union_jack(400, 300, (3, 4, 4))
