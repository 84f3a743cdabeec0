"""Machining allowance and decarburised skin of tool steel bar.

DIEHL: diehlsteel.com, *Machining and decarburization limits*, hot rolled square and flat bars, thousandths of an inch
    per side; in the scheme of ASTM A681. Its rows A and B are read as on the thickness and on the width.
PEER: peerlesssteel.com, *Tolerances*, bar finished free of decarburised skin.
Table values must agree exactly.
"""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.decarburization import oversize_of_clean_bar, rolled_allowance

INCH = 25.4

WIDTHS = (0.5, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10)

# upper end of the thickness step ('7': over 6), then A and B of every width step that the table fills, to 10 in
DIEHL = """
.5: 25 25 30 35 40 45 50 55 60 60 60 / 25 36 44 56 68 92 104 120 136 144 152
1: 45 45 50 55 60 70 70 75 75 75 / 45 52 64 80 104 120 136 160 160 160
2: 65 65 70 70 75 75 90 95 100 / 65 75 84 112 124 144 168 180 180
3: 85 85 85 85 90 100 100 100 / 85 102 120 136 160 180 190 190
4: 115 115 115 115 125 125 125 / 115 127 140 180 190 190 190
5: 150 150 150 150 150 150 / 150 165 180 190 190 190
6: 190 190 190 190 190 / 190 190 190 190 190
7: 250 250 250 250 / 250 250 250 250
"""


def rows() -> list[tuple[float, float, float, float]]:
    """Thickness, width, A and B of every cell of DIEHL, each size at the upper end of its step."""
    found = []
    for line in DIEHL.strip().splitlines():
        thickness, _, cells = line.partition(":")
        a, b = ([float(w) for w in part.split()] for part in cells.split("/"))
        for width, on_thickness, on_width in zip(WIDTHS[-len(a) :], a, b, strict=True):
            found.append((float(thickness), float(width), on_thickness, on_width))
    return found


@pytest.mark.parametrize(("thickness", "width", "a", "b"), rows())
def test_hot_rolled_flats(thickness: float, width: float, a: float, b: float) -> None:
    """DIEHL's allowance per side, on the thickness and on the width."""
    found = rolled_allowance(thickness * INCH, width * INCH)
    assert (found.on_thickness, found.on_width) == pytest.approx(
        (a / 1000 * INCH, b / 1000 * INCH), abs=1e-12
    )


@pytest.mark.parametrize(("thickness", "width", "a", "b"), rows())
def test_the_skin_is_four_fifths_of_the_allowance(thickness: float, width: float, a: float, b: float) -> None:
    """DIEHL: the decarburised skin is at most 80 % of the allowance."""
    found = rolled_allowance(thickness * INCH, width * INCH)
    assert (found.skin_on_thickness, found.skin_on_width) == pytest.approx(
        (0.0008 * a * INCH, 0.0008 * b * INCH)
    )


@pytest.mark.parametrize(("thickness", "width"), [(1, 10.1), (11, 11), (2, 1), (0, 1)])
def test_outside_the_table_of_flats(thickness: float, width: float) -> None:
    """The table ends at a width of 10 in, and gives the thickness before the width."""
    with pytest.raises(OutOfRange):
        rolled_allowance(thickness * INCH, width * INCH)


@pytest.mark.parametrize(
    ("size", "oversize", "above"),
    [
        (0.25, 10, 5),
        (1.4, 10, 5),
        (1.5, 20, 15),
        (3, 20, 15),
        (3.5, 40, 20),
        (4.5, 65, 20),
        (6, 84, 30),
        (12, 105, 40),
    ],
)
def test_clean_rounds(size: float, oversize: float, above: float) -> None:
    """PEER: rounds are oversize by 0.010 in from 1/4 to 1-1/2 in, up to 0.105 in at 12 in, plus a tolerance."""
    found = oversize_of_clean_bar("round", size * INCH)
    assert found[:2] == pytest.approx((oversize / 1000 * INCH, (oversize + above) / 1000 * INCH), abs=1e-12)


def test_clean_flats() -> None:
    """PEER: flats and squares are 0.015 to 0.035 in over on the thickness."""
    assert oversize_of_clean_bar("flat", 20)[:2] == pytest.approx((0.015 * INCH, 0.035 * INCH), abs=1e-12)
