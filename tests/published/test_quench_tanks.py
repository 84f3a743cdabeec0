"""Quench tanks: 29 CFR 1910.125 and 1910.126(a).

Read at law.lawstack.com/cfr/29/1910.126, dev.compliancecosmos.org and osha.gov (1910.125). The texts print '50 °F (10
°C)' and '100 °F (37.8 °C)' for what are differences of temperature; as differences they are 27.8 K and 55.6 K.
"""

import pytest

from loopwright.handbook.cautions import (
    AUTOIGNITION_MARGIN_K,
    FLASH_POINT_MARGIN_K,
    caution,
    hottest_quench_oil,
)


def test_a_difference_of_50_f_is_27_8_k() -> None:
    """1910.126(a) prints 50 °F as 10 °C; as a difference it is 27.8 K, and the greater is used."""
    assert pytest.approx(27.8, abs=0.05) == FLASH_POINT_MARGIN_K
    assert hottest_quench_oil(180) == pytest.approx(180 - 27.8, abs=0.05)


def test_a_difference_of_100_f_is_55_6_k() -> None:
    """1910.125 prints 100 °F as 37.8 °C; as a difference it is 55.6 K."""
    assert pytest.approx(55.6, abs=0.05) == AUTOIGNITION_MARGIN_K


@pytest.mark.parametrize(
    ("hazard", "true", "printed"), [("oil quench", "27.8 K", "10 °C"), ("quench liquid", "55.6 K", "37.8 °C")]
)
def test_the_caution_names_both(hazard: str, true: str, printed: str) -> None:
    """The printed caution gives the difference in kelvin and warns of the other number."""
    text = " ".join(caution(hazard).texts)
    assert true in text
    assert f"'{printed}'" in text


@pytest.mark.parametrize(
    "said", ["away from the furnace", "floor that cannot burn", "vents outside", "compressed air", "cooling"]
)
def test_what_a_hardening_tank_needs(said: str) -> None:
    """1910.126(a): place, floor, hood, alarm, cooling, and no air under pressure."""
    assert said in " ".join(caution("oil quench").texts)
