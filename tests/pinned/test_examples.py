"""Where the shipped examples stand: our own outputs, kept so that a change that moves them is seen and told.

These numbers are evidence of nothing but that nothing moved. When a change moves them on purpose, the change log says
by how much.
"""

import pytest

from loopwright.studies import example_loop, standing
from loopwright.units import Dimension, convert

# name of the target: expected at the worst pose, 95 % of machines, worst case (µm, arcsec, thou), chance
PINNED = {
    "clock-plate": {
        "hole position": ("µm", 7.928, 17.04, 104.78, 0.864),
        "spindle square to table, front to back": ("arcsec", 7.548, 17.49, 109.06, 0.980),
        "spindle square to table, side to side": ("arcsec", 5.747, 13.25, 84.56, 0.998),
        "depth of spotting": ("µm", 2.975, 7.23, 33.40, 1.0),
    },
    "guitar-gantry": {
        "carved surface": ("thou", 2.859, 5.26, 21.92, 0.924),
        "thickness at the recurve": ("thou", 1.2086, 2.623, 12.24, 0.979),
        "two sides alike": ("arcsec", 9.229, 19.1, 66.26, 0.963),
    },
}
# the same with every dim just in its limits: expected and chance
IN_LIMITS = {
    "hole position": (8.340, 0.810),
    "spindle square to table, front to back": (9.037, 0.943),
    "spindle square to table, side to side": (7.703, 0.985),
    "depth of spotting": (3.110, 1.0),
}


@pytest.mark.parametrize("name", PINNED)
def test_an_example_stands_where_it_stood(name: str) -> None:
    """First-order and worst-case figures stay to 0.1 %, sampled ones to their sampling scatter."""
    found = standing(example_loop(name), trials=20_000)
    assert {target.name for target in found.targets} == set(PINNED[name])
    for target in found.targets:
        unit, expected, quantile, worst, chance = PINNED[name][target.name]
        dimension = Dimension.ANGLE if unit == "arcsec" else Dimension.LENGTH

        def shown(value: float, dimension: Dimension = dimension, unit: str = unit) -> float:
            return float(convert(value, dimension, unit))

        assert shown(target.expected) == pytest.approx(expected, rel=1e-3)
        assert shown(target.worst_case) == pytest.approx(worst, rel=1e-3)
        assert shown(target.monte_carlo.quantiles[0.95]) == pytest.approx(quantile, rel=0.015)
        assert target.monte_carlo.chance == pytest.approx(chance, abs=0.01)
        if name == "clock-plate":
            expected, chance = IN_LIMITS[target.name]
            limits = found.in_limits[target.name]
            assert shown(limits.expected) == pytest.approx(expected, rel=1e-3)
            assert limits.chance == pytest.approx(chance, abs=0.01)
