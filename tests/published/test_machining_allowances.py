"""Stock to leave for grinding, finishing and lapping, as printed.

TUBE: chicagotube.com, *Centerless grinding allowances*: least stock on diameter; worked: 4.750 in with a wall of 0.440
    in takes 0.024 in, so 4.774 in is ordered.
BOOK: issuhub.com 4752, p. 40: stop turning 0.010 to 0.015 in over for the tool-post grinder.
NAVY: US Navy manual 14345, p. 160: rough to about 1/32 in over.
EQY: works standard EQY-19-1999, seen in part at 3dportal.cn 88881: surface grinding of plate over 4 mm, per side,
    0.3 mm under 100 mm of length, 0.45 mm up to 250 mm (width under 200 mm).
HUYETT: huyett.com, *Manufacturing process: grinding*: at least 0.001 in under 4 in of length, 0.003 in over.
LAP: curioustab.com 64578: lapping takes 0.005 to 0.01 mm.
PEER: peerlesssteel.com, *Tolerances*: plate saw cut width.
MH: a table in the style of *Machinery's Handbook*, hardened rounds, from memory.
"""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook import stock_allowances as stock

INCH = 25.4


WALLS = (0.125, 0.180, 0.230, 0.360, 0.460, 0.580)
TUBE = """
3 12 14 16 20 22 -; 4.75 16 18 20 22 24 26; 6 18 20 22 24 26 28; 7 20 22 24 26 28 30; 8 - 24 26 27 28 31; 10.5 - - 26 28
30 32; 12.5 - - 28 30 32 34; 14 - - 30 32 34 36; 15 - - 33 35 36 37
"""


def tubes() -> list[tuple[float, float, float]]:
    """Outside diameter, wall and least stock of every filled cell of TUBE, each size at the end of its step."""
    rows = [item.split() for item in TUBE.replace("\n", " ").split(";")]
    cells = [(float(row[0]), wall, said) for row in rows for wall, said in zip(WALLS, row[1:], strict=True)]
    return [(diameter, wall, float(said)) for diameter, wall, said in cells if said != "-"]


@pytest.mark.parametrize(("diameter", "wall", "thou"), [*tubes(), (1, 0.3, 20), (4, 0.1, 16), (13, 0.5, 36)])
def test_centreless_grinding_of_tube(diameter: float, wall: float, thou: float) -> None:
    """TUBE: least stock on diameter by outside diameter and wall, 0.012 to 0.037 in."""
    found = stock.centreless_grinding(diameter * INCH, wall * INCH)
    assert found[:2] == pytest.approx((thou / 1000 * INCH, thou / 1000 * INCH), abs=1e-12)


def test_centreless_grinding_worked_example() -> None:
    """TUBE: a tube to be ground to 4.750 in with a wall of 0.440 in is ordered as 4.774 in outside."""
    order = 4.750 + stock.centreless_grinding(4.750 * INCH, 0.440 * INCH).low / INCH
    assert order == pytest.approx(4.774, abs=5e-4)


@pytest.mark.parametrize(("diameter", "wall"), [(2, 0.5), (8, 0.1), (14, 0.15), (16, 0.4), (3, 0.6)])
def test_centreless_grinding_outside_the_table(diameter: float, wall: float) -> None:
    """TUBE has empty corners, and ends at 15 in and a wall of 0.58 in."""
    with pytest.raises(OutOfRange):
        stock.centreless_grinding(diameter * INCH, wall * INCH)


def test_turning_before_soft_grinding() -> None:
    """BOOK: 0.010 to 0.015 in on diameter."""
    expected = pytest.approx((0.254, 0.381), abs=1e-12)
    assert stock.turn_before_grinding()[:2] == expected
    assert stock.cylindrical_grinding(20, 50, hardened=False)[:2] == expected


def test_roughing_leaves_a_thirty_second() -> None:
    """NAVY: about 1/32 in."""
    assert stock.rough_to_finish().holds(INCH / 32)


@pytest.mark.parametrize(
    ("length", "high", "low"), [(50, 0.3, 0.001), (99, 0.3, 0.001), (150, 0.45, 0.003), (250, 0.45, 0.003)]
)
def test_surface_grinding_of_plate(length: float, high: float, low: float) -> None:
    """EQY: 0.3 mm per side under 100 mm, 0.45 up to 250; HUYETT: at least 0.001 and 0.003 in."""
    found = stock.surface_grinding(length, 40)
    assert found[:2] == pytest.approx((low * INCH, high), abs=1e-12)


@pytest.mark.parametrize(("length", "width"), [(251, 40), (240, 200), (50, 60)])
def test_surface_grinding_outside_the_table(length: float, width: float) -> None:
    """EQY was seen up to 250 mm of length and under 200 mm of width."""
    with pytest.raises(OutOfRange):
        stock.surface_grinding(length, width)


def test_lapping() -> None:
    """LAP: 0.005 to 0.01 mm."""
    assert stock.lapping()[:2] == (0.005, 0.010)


@pytest.mark.parametrize(
    ("width", "low", "high"),
    [(2, 30, 65), (2.1, 30, 125), (3.5, 30, 125), (3.6, 35, 125), (5, 35, 125), (5.1, 35, 188)],
)
def test_width_of_sawn_plate(width: float, low: float, high: float) -> None:
    """PEER: a sawn strip is 0.030 to 0.188 in over its ordered width and never under."""
    found = stock.sawn_plate_oversize(width * INCH)
    assert found[:2] == pytest.approx((low / 1000 * INCH, high / 1000 * INCH), abs=1e-12)


@pytest.mark.parametrize(
    ("diameter", "low", "high"),
    [(10, 0.25, 0.30), (25, 0.25, 0.30), (26, 0.30, 0.40), (50, 0.30, 0.40), (100, 0.40, 0.50)],
)
def test_hardened_rounds_from_memory(diameter: float, low: float, high: float) -> None:
    """MH, from memory: 0.25 to 0.50 mm on diameter up to 100 mm, a quarter more over ten diameters long."""
    assert stock.cylindrical_grinding(diameter, 5 * diameter)[:2] == pytest.approx((low, high))
    assert stock.cylindrical_grinding(diameter, 11 * diameter)[:2] == pytest.approx((1.25 * low, 1.25 * high))
