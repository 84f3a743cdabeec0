"""EA-4/02, Supplement 1, S4: calibration of a gauge block of nominal length 50 mm.

European co-operation for Accreditation, *Evaluation of the uncertainty of measurement in calibration*,
EA-4/02 M, example S4, inputs and results from memory. Lengths in mm; the two blocks are at temperatures that
may differ by ±0.05 K, and both may be ±0.5 K off 20 °C; the difference of their coefficients of expansion is
triangular, ±2 ppm/K.
"""

from math import inf

import pytest

from loopwright.measuring.coverage import Expanded, expanded_uncertainty
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.measuring.temperature import Corrected, Estimate, Warmth, at_reference
from loopwright.model.spread import Shape, Spread

NM = 1e-6
STANDARD = 50.000020
DIFFERENCE = -0.000094


def rectangle(half: float) -> float:
    """Standard uncertainty of ± half."""
    return standard_uncertainty(Spread(lower=-half, upper=half))


def warmth() -> Corrected:
    """What temperatures and coefficients leave open: two blocks whose coefficients differ as stated."""
    of_difference = standard_uncertainty(Spread(lower=-2e-6, upper=2e-6, shape=Shape.TRIANGULAR))
    coefficient = Estimate(11.5e-6, of_difference / 2**0.5)
    return at_reference(
        DIFFERENCE,
        Warmth(
            part=Estimate(20.0, rectangle(0.05)),
            gauge=Estimate(20.0),
            part_expansion=coefficient,
            gauge_expansion=coefficient,
            both_std=rectangle(0.5),
            length=STANDARD,
        ),
    )


def budget() -> Expanded:
    """The whole budget of S4, nm."""
    others = [
        standard_uncertainty(Spread(lower=-30, upper=30, shape=Shape.NORMAL, multiple=2)),  # calibration
        rectangle(30),  # drift of the standard
        12 / 5**0.5,  # five readings, pooled scatter 12 nm
        rectangle(32),  # comparator
        rectangle(6.7),  # off-centre contact
    ]
    return expanded_uncertainty([*others, *(c.std / NM for c in warmth().contributions)], inf, 0.9545)


def test_the_temperature_lines() -> None:
    """The difference of temperatures brings 16.6 nm, and 11.8 nm come of expansion times temperature."""
    found = {c.name: c.std / NM for c in warmth().contributions}
    assert found["temperature of the part"] == pytest.approx(16.6, abs=0.05)
    assert found["temperature times expansion, second order"] == pytest.approx(11.8, abs=0.05)


def test_the_length_of_the_block() -> None:
    """The block is 49.999 926 mm long."""
    assert STANDARD + warmth().value == pytest.approx(49.999926, abs=5e-7)


def test_the_uncertainty() -> None:
    """The standard uncertainty is 36.4 nm, and the expanded one, k = 2, 73 nm."""
    found = budget()
    assert found.combined == pytest.approx(36.4, abs=0.05)
    assert found.expanded == pytest.approx(73, abs=0.5)
