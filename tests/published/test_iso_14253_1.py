"""ISO 14253-1: guard bands for proving conformity.

ISO 14253-1:2017 and ISO 14253-1:1998, *Geometrical product specifications: Inspection by measurement of
workpieces and measuring equipment: Decision rules for verifying conformity or nonconformity with
specifications*, clause 5, from memory.
"""

import pytest

from loopwright.asbuilt.conformity import ISO_14253_1_1998, ISO_14253_1_2017, decide


def test_default_guard_band_of_2017() -> None:
    """Proving conformity with 95 % at a single limit takes a guard band of 1.645 u (0.822 U at k = 2)."""
    found = decide(0.0, 1.0, upper=10.0, rule=ISO_14253_1_2017)
    assert found.guard == pytest.approx(1.645, abs=0.0005)
    assert found.guard / 2 == pytest.approx(0.822, abs=0.0005)


def test_guard_band_of_1998() -> None:
    """The first edition takes the whole expanded uncertainty, U = 2 u, or as it is stated."""
    assert decide(0.0, 1.0, upper=10.0, rule=ISO_14253_1_1998).guard == 2.0
    assert decide(0.0, 1.0, upper=10.0, rule=ISO_14253_1_1998, expanded=2.3).guard == 2.3
