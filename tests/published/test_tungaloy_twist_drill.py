"""Tungaloy, general catalogue 2020-2021, p. L068: torque and thrust of twist drills by a constant of the material.

docs.steelcam.org/tungaloy/obshij-katalog-tungaloy-2020-2021-page1656: Pc = K D² n (0.647 + 17.29 f)·10⁻⁶ kW,
Mc = K D² (0.630 + 16.84 f)/100 N·m, Tc = 570 K D f^0.85 N. The page gives power on its own; here it comes from the
torque, and the two agree within the 2 % to which the page rounds.
"""

from math import pi

import pytest

from loopwright.handbook.drilling import MATERIAL_CONSTANTS, drill_load_by_constant

CONSTANTS = [
    ("cast iron 177 HB", 1.00),
    ("aluminium 100 HB", 1.01),
    ("free cutting steel 183 HB", 1.42),
    ("low carbon steel (0.2 % C) 160 HB", 2.22),
    ("chromium molybdenum steel 269 HB", 2.41),
]


@pytest.mark.parametrize(("material", "printed"), CONSTANTS)
def test_constants(material: str, printed: float) -> None:
    """K of the material."""
    assert MATERIAL_CONSTANTS[material] == printed


@pytest.mark.parametrize(("diameter", "feed"), [(5, 0.1), (10, 0.2), (20, 0.3)])
def test_torque_gives_the_printed_power(diameter: float, feed: float) -> None:
    """Torque times angular speed is the page's formula for power."""
    constant, turns = 1.42, 1000.0
    torque = drill_load_by_constant(diameter, feed, constant).torque
    printed = constant * diameter**2 * turns * (0.647 + 17.29 * feed) * 1e-6
    assert torque * 2 * pi * turns / 60 / 1000 == pytest.approx(printed, rel=0.025)
