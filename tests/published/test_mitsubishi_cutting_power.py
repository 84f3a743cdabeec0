"""Mitsubishi Materials, technical information: cutting power for turning and for face milling.

mitsubishicarbide.com, tec_turning_cutting_power_formula and tec_milling_power_formula; the same pages at
mitsubishicarbide.net, formula4. The examples take π as 3.14 and round the feed per tooth down to 0.228.
"""

import pytest

from loopwright.handbook.cutting_force import (
    cutting_power,
    kc_by_feed,
    milling_power,
    motor_power,
)
from loopwright.handbook.cutting_force_tables import FEEDS
from loopwright.handbook.cutting_geometry import feed_per_tooth, rpm

MILLING = [
    ("mild steel 520 MPa", [2200, 1950, 1820, 1700, 1580]),
    ("tool steel 770 MPa", [2030, 1800, 1750, 1700, 1580]),
    ("grey cast iron 200 HB", [1750, 1400, 1240, 1050, 970]),
    ("brass 500 MPa", [1150, 950, 800, 700, 630]),
    ("aluminium magnesium alloy 160 MPa", [580, 480, 400, 350, 320]),
    ("austenitic stainless steel 155 HB", [2030, 1970, 1900, 1770, 1710]),
]
TURNING = [
    ("mild steel 520 MPa", [3610, 3100, 2720, 2500, 2280]),
    ("grey cast iron 200 HB", [2110, 1800, 1600, 1400, 1330]),
]


def test_spindle_speed_and_feed_of_the_face_mill() -> None:
    """80 m/min on 250 mm is 101.91 rpm with π = 3.14; 280 mm/min over 12 teeth is 0.228 to 0.229 mm."""
    found = rpm(80, 250)
    assert found == pytest.approx(101.91, rel=0.001)
    assert feed_per_tooth(280, found, 12) == pytest.approx(0.22898, rel=0.003)


def test_power_of_the_face_mill() -> None:
    """Tool steel, ap 2, ae 80, vf 280, kc 1800 MPa and a drive of 80 % take 1.68 kW."""
    kc, source = kc_by_feed("milling", "tool steel 770 MPa", 0.2)
    assert kc == 1800
    assert "Mitsubishi" in source
    assert motor_power(milling_power(2, 80, 280, kc), 0.8) / 1000 == pytest.approx(1.68, abs=0.005)


def test_power_of_turning() -> None:
    """Mild steel at 120 m/min, 3 mm deep, 0.2 mm feed, kc 3100 MPa, drive of 80 %: 4.65 kW."""
    kc, _ = kc_by_feed("turning", "mild steel 520 MPa", 0.2)
    assert motor_power(cutting_power(3 * 0.2 * kc, 120), 0.8) / 1000 == pytest.approx(4.65, abs=0.005)


@pytest.mark.parametrize(("material", "printed"), MILLING)
def test_specific_force_in_milling(material: str, printed: list[float]) -> None:
    """The printed kc at 0.1, 0.2, 0.3, 0.4 and 0.6 mm per tooth."""
    assert [kc_by_feed("milling", material, feed)[0] for feed in FEEDS] == printed


@pytest.mark.parametrize(("material", "printed"), TURNING)
def test_specific_force_in_turning(material: str, printed: list[float]) -> None:
    """The printed kc at 0.1, 0.2, 0.3, 0.4 and 0.6 mm per revolution."""
    assert [kc_by_feed("turning", material, feed)[0] for feed in FEEDS] == printed
