"""ISCAR, material groups by VDI 3323 with kc1.1 and mc.

*Turning tools* catalogue 2017, p. 558 (docs.steelcam.org/iscar/katalog-tokarnyj-instrument-2017-page558) and
*Boring systems* 2022, p. 111 (katalog-iscar-rastochnye-sistemy-2022-page111). The label of the irons is shifted
by a row in the print of 2017; the numbers go with group and hardness. Titanium differs between the two.
"""

import pytest

from loopwright.handbook.cutting_force import cutting_power, kienzle, kienzle_sources, turning_force

TABLE = """
1 1350 0.21
2 1500 0.22
3 1675 0.24
6 1775 0.24
10 2450 0.23
14 2150 0.20
15 1150 0.20
16 1350 0.28
17 1225 0.25
18 1350 0.28
21 700 0.25
22 800 0.25
26 700 0.27
27 700 0.27
37 2110 0.22
"""


@pytest.mark.parametrize("line", TABLE.strip().splitlines())
def test_law_of_each_group(line: str) -> None:
    """kc1.1 and mc of the catalogue of 2017."""
    group, kc11, mc = line.split()
    law = kienzle(int(group))
    assert (law.kc11, law.mc) == (float(kc11), float(mc))


def test_hardened_steel() -> None:
    """Group 38, 55 HRC, has kc1.1 of 4600 MPa, and no exponent in print."""
    assert kienzle(38).kc11 == 4600
    assert "from memory" in kienzle(38).source


def test_titanium_of_both_editions_is_kept() -> None:
    """Group 37 is 2110 and 0.22 in 2017, 1245 and 0.24 in 2022; the higher comes first."""
    assert [(law.kc11, law.mc) for law in kienzle_sources(37)] == [(2110, 0.22), (1245, 0.24)]


def test_turning_carbon_steel() -> None:
    """Group 2, chip 0.2 by 3 mm: kc 2137 MPa, 1282 N, and 2.565 kW at 120 m/min, by the law from the table."""
    force = turning_force(kienzle(2), 0.2, 3)
    assert kienzle(2).at(0.2) == pytest.approx(2137, rel=0.001)
    assert force == pytest.approx(1282, rel=0.001)
    assert cutting_power(force, 120) / 1000 == pytest.approx(2.565, rel=0.001)
