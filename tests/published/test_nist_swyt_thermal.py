"""D. A. Swyt, J. Res. NIST 99 (1994) 31: dimensional measurements at temperatures other than 20 °C.

Coefficients of expansion in ppm/K: aluminium 23.1, steel 11.5, silicon 2.6. The growths follow from ΔL = α L
ΔT, the uncertainty from JCGM 100:2008, 5.1.2. The spread of one steel over handbooks, 11.2 to 14.6 ppm/K:
NIST Engineering Metrology Toolbox, *Temperature*, slide 12.
"""

import pytest

from loopwright.handbook.heat import growth, growth_against_scale
from loopwright.handbook.materials import material


@pytest.mark.parametrize(("name", "ppm"), [("aluminium", 23.1), ("steel", 11.5), ("silicon", 2.6)])
def test_coefficients(name: str, ppm: float) -> None:
    """Aluminium, steel and silicon carry the coefficients of the paper."""
    assert material(name).expansion * 1e6 == pytest.approx(ppm, abs=0.05)


def test_a_metre_of_steel_grows_by_its_coefficient() -> None:
    """1000 mm of steel, 1 K warmer: 11.5 µm."""
    assert growth(1000, 1, material("steel").expansion).value * 1000 == pytest.approx(11.5, abs=0.05)


def test_aluminium_on_a_steel_scale() -> None:
    """An aluminium part of 500 mm on a steel scale, both 2 K warm, reads 11.6 µm too long."""
    found = growth_against_scale(500, 2, material("aluminium").expansion, 2, material("steel").expansion)
    assert found.value * 1000 == pytest.approx(11.6, abs=0.05)


def test_uncertainty_of_a_growth() -> None:
    """500 mm, 2 K, u(α) = 0.58 ppm/K, u(T) = 0.1 K, α = 11.5 ppm/K: u = √(0.58² + 0.575²) = 0.816716 µm."""
    found = growth(500, 2, 11.5e-6, rise_std=0.1, expansion_std=0.58e-6)
    assert found.std * 1000 == pytest.approx(0.816716, abs=5e-7)


def test_the_spread_of_handbooks_is_not_hidden() -> None:
    """Handbooks print 11.2 to 14.6 ppm/K for one steel; 'steel' carries that rectangle's u, 0.98 ppm/K."""
    assert material("steel").expansion_std * 1e6 >= (14.6 - 11.2) / 12**0.5
