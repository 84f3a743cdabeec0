"""Squareness of axes from sweeps, levels and diagonals, in the letters of ISO 230-1."""

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.measuring.squareness import (
    squareness_by_reversal,
    squareness_from_face_diagonals,
    squareness_from_levels,
    squareness_from_sweep,
)

AXES = {name: np.eye(3)[i] for i, name in enumerate("XYZ")}
ABOUT = dict(zip("ABC", "XYZ"))
LETTERS = ["A0Y", "A0Z", "B0X", "B0Z", "C0X", "C0Y"]


@pytest.mark.parametrize("letters", LETTERS)
def test_the_sign_is_that_of_a_turned_axis(letters: str) -> None:
    """An axis turned by a right-handed angle about the letter's axis gives that angle back, from all three ways."""
    angle, about, moving = 20e-6, AXES[ABOUT[letters[0]]], AXES[letters[2]]
    other = next(name for name in "XYZ" if name not in (ABOUT[letters[0]], letters[2]))
    direction = moving + angle * np.cross(about, moving)
    travel = np.array([0.0, 100, 200, 300])
    lean = float(direction @ AXES[other])
    swept = squareness_from_sweep(letters, travel, travel * lean, u=1e-4)
    levelled = squareness_from_levels(letters, [3e-6], [3e-6 + angle], u=1e-6)
    corner = 400 * AXES[other] + 300 * direction
    other_corner = 400 * AXES[other] - 300 * direction
    d1, d2 = float(np.linalg.norm(corner)), float(np.linalg.norm(other_corner))
    across = squareness_from_face_diagonals(letters, d1, d2, 400, 300, u=1e-3)
    opens = np.arccos(float(direction @ AXES[other]) / np.linalg.norm(direction)) - np.pi / 2
    for found in (swept, levelled, across):
        assert found.angle == pytest.approx(angle, rel=1e-6)
        assert found.opens == pytest.approx(opens, rel=1e-6)


def test_a_square_turned_over_by_hand() -> None:
    """+9 and -3 µm over 200 mm: the axis leans by 15 µrad, the square by 30 µrad away from it (constructed)."""
    found = squareness_by_reversal("B0Z", [0, 200], [0, 9e-3], [0, -3e-3], u=1e-3)
    assert found.axis.angle == pytest.approx(15e-6)
    assert found.square == pytest.approx(-30e-6)
    assert found.axis.u_angle == pytest.approx(1e-3 / 200)
    assert found.u_square == pytest.approx(1e-3 / 200)
    assert found.axis.readings == 4


def test_the_square_found_serves_a_single_sweep() -> None:
    """The square's error from a reversal, put into a single sweep, gives the axis of the reversal."""
    found = squareness_by_reversal("C0Y", [0, 200], [0, 9e-3], [0, -3e-3], u=1e-3)
    single = squareness_from_sweep(
        "C0Y", [0, 200], [0, 9e-3], u=1e-3, square=found.square, u_square=found.u_square
    )
    assert single.angle == pytest.approx(found.axis.angle)
    assert single.u_angle == pytest.approx(np.hypot(2**0.5, 1) * 1e-3 / 200)
    assert single.value == pytest.approx(found.axis.value)


def test_perpendicularity_over_a_length() -> None:
    """15 µrad over 300 mm is 4.5 µm."""
    found = squareness_from_sweep("C0Y", [0, 200], [0, 3e-3], u=1e-3)
    assert found.over(300) == pytest.approx((4.5e-3, 300 * found.u_angle))


def test_face_diagonals_by_hand() -> None:
    """400 by 300 mm, diagonals 9.6 µm apart: X over Y by 20 µrad, so C0Y is -20 µrad."""
    found = squareness_from_face_diagonals("C0Y", 500.0048, 499.9952, 400, 300, u=1e-3)
    assert found.angle == pytest.approx(-20e-6)
    assert found.u_angle == pytest.approx(2**0.5 * 500 * 1e-3 / (2 * 400 * 300), rel=1e-6)


def test_a_scale_shared_by_both_diagonals_drops_out() -> None:
    """A bar that reads 10 ppm long changes both diagonals alike and adds next to nothing."""
    scale = np.full((2, 2), (500 * 10e-6) ** 2)
    found = squareness_from_face_diagonals("C0Y", 500.0048, 499.9952, 400, 300, u=0, covariance=scale)
    assert found.u_angle < 1e-9


def test_uncertainty_against_simulation() -> None:
    """Angle and zone of a swept square, and of its reversal, scatter over 4000 trials as stated."""
    draw = np.random.Generator(np.random.PCG64(29))
    travel = np.arange(9) * 25.0
    first, second = draw.normal(size=(2, 9)) * 2e-3
    told = squareness_by_reversal("A0Z", travel, first, second, u=5e-5)
    one, two = (h + draw.normal(size=(4000, 9)) * 5e-5 for h in (first, second))
    lean = np.polynomial.polynomial.polyfit(travel, ((one + two) / 2).T, 1)[1]
    square = np.polynomial.polynomial.polyfit(travel, ((two - one) / 2).T, 1)[1]
    assert lean.mean() == pytest.approx(-told.axis.angle, abs=5e-8)
    assert lean.std(ddof=1) == pytest.approx(told.axis.u_angle, rel=0.05)
    assert square.std(ddof=1) == pytest.approx(told.u_square, rel=0.05)
    assert np.ptp((one + two) / 2, axis=1).std(ddof=1) == pytest.approx(told.axis.u_value, rel=0.05)


@pytest.mark.parametrize("letters", ["C0Z", "EXX", "C", ""])
def test_other_letters_are_refused(letters: str) -> None:
    """Letters that are no squareness of two linear axes are refused, and the six are named."""
    with pytest.raises(RequestError, match="not a squareness") as caught:
        squareness_from_levels(letters, [0], [0], u=0)
    assert "C0Y" in caught.value.remedy


def test_bad_input_is_named() -> None:
    """No readings on a face, a length of nothing and a negative uncertainty are refused by name."""
    with pytest.raises(RequestError, match="'other' has 0 readings"):
        squareness_from_levels("C0Y", [0], [], u=0)
    with pytest.raises(RequestError, match="'along' is 0"):
        squareness_from_face_diagonals("C0Y", 500, 500, 400, 0, u=0)
    with pytest.raises(RequestError, match="'u_square' is -1"):
        squareness_from_sweep("C0Y", [0, 1], [0, 0], u=0, u_square=-1)
