"""Change of size by hardening, as makers and handbooks print it.

O1: Buffalo Precision, O1 data sheet: oil quenched it expands about 0.0015 in per in.
A2: Buffalo Precision, A2 data sheet: air quenched it expands about 0.001 in per in.
D2: scribd.com document 39510928, *D2*: slight contraction as quenched or tempered below 900 °F; about 925 °F brings it
    back to size.
AOBO: aobosteel.com, *O1 tool steel tempering guide*: slight expansion up to about 400 °F, contraction above.
RULE: productionmachining.com, *Distortion in heat treatment*: 0.125 % at most in medium carbon alloy steel.
ASM: ASM Handbook volume 4 (1991) p. 761: volume from spheroidite to austenite -4.64 + 2.21 C %; that to martensite,
    4.64 - 0.53 C, from memory.
TABLE: ASM Handbook volume 4, typical changes of length of tool steels in %, from memory.
"""

import pytest

from loopwright.handbook.distortion import martensite_growth, size_change


def test_o1_grows_by_a_thousandth_and_a_half() -> None:
    """O1: 0.0015, so 75 µm on 50 mm."""
    found = size_change("O1")
    assert found.mean == pytest.approx(0.0015)
    assert found.times(50).mean == pytest.approx(0.075)


def test_a2_grows_by_a_thousandth() -> None:
    """A2: 0.001 in per in."""
    assert size_change("A2").mean == pytest.approx(0.001)


@pytest.mark.parametrize("temper", [None, 200, 480])
def test_d2_shrinks_a_little(temper: float | None) -> None:
    """D2: a slight contraction as quenched and tempered below 900 °F (482 °C)."""
    found = size_change("D2", temper)
    assert -0.0006 <= found.low < found.mean < 0


def test_d2_comes_back_to_size_at_925_f() -> None:
    """D2: tempered near 925 °F (496 °C) it is back to size."""
    found = size_change("D2", (925 - 32) / 1.8)
    assert found.mean == 0
    assert found.low < 0 < found.high


def test_o1_tempered() -> None:
    """AOBO: tempered up to 400 °F it stays larger; above it may shrink."""
    assert size_change("O1", 200).low > 0
    assert size_change("O1", 300).low < 0
    assert size_change("O1", 300).mean < size_change("O1", 200).mean < size_change("O1").mean


@pytest.mark.parametrize("steel", ["4140", "1045"])
def test_medium_carbon_steel(steel: str) -> None:
    """RULE: the range ends at 0.125 % either way."""
    found = size_change(steel)
    assert (found.low, found.high) == pytest.approx((-0.00125, 0.00125))


def test_upper_bound_from_the_change_of_phase() -> None:
    """ASM: 0.9 % carbon, 1.51 % of volume, 0.50 % of length, which no steel here reaches."""
    assert 3 * martensite_growth(0.9) == pytest.approx(0.0151, abs=5e-5)
    assert martensite_growth(0.9) == pytest.approx(0.0050, abs=5e-5)
    assert martensite_growth(0.9) > size_change("O1").high


@pytest.mark.parametrize(
    ("steel", "temper", "percent"),
    [
        ("O1", None, 0.22),
        ("O1", None, 0.18),
        ("O1", 150, 0.17),
        ("O1", 150, 0.09),
        ("O1", 204, 0.16),
        ("O1", 204, 0.12),
        ("O1", 260, 0.17),
        ("A2", None, 0.09),
        ("A2", 150, 0.06),
        ("A2", 260, 0.08),
        ("A2", 510, 0.04),
        ("D2", None, 0.06),
        ("D2", 150, 0.03),
        ("D2", 260, 0.02),
        ("D2", 425, -0.01),
    ],
)
def test_a_second_table_from_memory_lies_in_the_range(
    steel: str, temper: float | None, percent: float
) -> None:
    """TABLE, from memory: each change lies in the range, also where its sign differs from the data sheet's."""
    found = size_change(steel, temper)
    assert found.low <= percent / 100 <= found.high
