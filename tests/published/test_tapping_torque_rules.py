"""Tapping torque: Lubero, *Calculations*, and Yamawa, general catalogue 2021, p. 640, and 2022-2023, p. Technical-7.

lubero.de/en/technology/calculations: M = kc h² d / 8000, kc by material. Yamawa, docs.steelcam.org/yamawa:
Tc = tan θ kc K (D - Do)² (D + 2 Do) / 24 000; forming taps need two to three times as much.
"""

from math import radians, tan

import pytest

from loopwright.handbook.tapping import (
    KC_LUBERO,
    KC_YAMAWA,
    TAP_FACTOR,
    tapping_torque,
    tapping_torque_by_area,
)


def test_specific_forces_of_lubero() -> None:
    """Structural steel 2300, tempered steel 2600, stainless 3200, aluminium 800, grey iron 1250 MPa."""
    found = list(KC_LUBERO.values())
    assert [found[i] for i in (0, 3, 6, 7, 11)] == [2300, 2600, 3200, 800, 1250]


def test_specific_forces_of_yamawa() -> None:
    """0.15 % C 3600, 0.60 % C 4000, 40 HRC 5500, stainless 4200, brass 2300, AlSi8Cu3 1300 MPa."""
    found = list(KC_YAMAWA.values())
    assert [found[i] for i in (1, 4, 7, 8, 10, 11)] == [3600, 4000, 5500, 4200, 2300, 1300]


def test_order_of_the_taps() -> None:
    """Hand tap 1.35, spiral flute 1.15, spiral point 0.95: the later page has them at 100, 70 to 75, 60 to 65."""
    assert TAP_FACTOR["hand tap, plug"] == 1.35
    assert TAP_FACTOR["spiral flute"] == 1.15
    assert TAP_FACTOR["spiral point"] == 0.95


def test_formulas() -> None:
    """Both formulas as printed, for M8 × 1.25 in a hole of 6.8 mm."""
    assert tapping_torque(8, 1.25, 2500).torque == pytest.approx(2500 * 1.25**2 * 8 / 8000)
    printed = tan(radians(30)) * 4000 * 1.35 * (8 - 6.8) ** 2 * (8 + 2 * 6.8) / 24_000
    assert tapping_torque_by_area(8, 6.8, 4000).torque == pytest.approx(printed)


def test_forming_taps_are_named_in_the_warning() -> None:
    """The warning beside every torque says two to three times as much for a forming tap."""
    assert "forming tap needs two to three times" in tapping_torque(8, 1.25, 2500).warning
