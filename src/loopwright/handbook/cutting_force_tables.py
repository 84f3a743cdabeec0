"""Specific cutting forces as printed: by VDI 3323 group for the law of Kienzle, and by feed.

The groups are those of VDI 3323, which toolmakers print with their data. The numbers of the law were read in
ISCAR, *Turning tools* catalogue 2017, p. 558, and again in *Boring systems* 2022, p. 111; the two agree but
for titanium, where both are kept, the higher first. The label of the irons is shifted by a row in the print
of 2017 and right in that of 2022. Groups 38 to 41 are printed without an exponent; 0.25 is from memory.

The tables by feed were read in Mitsubishi Materials, technical information, cutting power for turning and for
face milling. They hold for the feed, whatever chip thickness it gives, and so cannot be mixed with the law.
"""

from types import MappingProxyType
from typing import Final, NamedTuple

ISCAR_2017: Final = "ISCAR, Turning tools catalogue 2017, p. 558"
ISCAR_2022: Final = "ISCAR, Boring systems catalogue 2022, p. 111"
MITSUBISHI_TURNING: Final = "Mitsubishi Materials, technical information: cutting power for turning"
MITSUBISHI_MILLING: Final = "Mitsubishi Materials, technical information: cutting power for face milling"


class VdiGroup(NamedTuple):
    """One row of VDI 3323 as a toolmaker prints it.

    Attributes:
        number: of the group.
        what: material and condition.
        hardness: as printed, with its scale; '' where none is.
        kc11: force for a chip 1 mm thick and 1 mm wide, MPa.
        mc: exponent of the chip thickness.
        source: where the two were read.
    """

    number: int
    what: str
    hardness: str
    kc11: float
    mc: float
    source: str


# number | material and condition | hardness | kc1.1, MPa | mc
_GROUPS: Final = """
 1 | carbon and free cutting steel under 0.25 % C, annealed      | 125 HB | 1350 | 0.21
 2 | carbon steel from 0.25 % C, annealed                        | 190 HB | 1500 | 0.22
 3 | carbon steel under 0.55 % C, quenched and tempered          | 250 HB | 1675 | 0.24
 4 | carbon steel from 0.55 % C, annealed                        | 220 HB | 1700 | 0.24
 5 | carbon steel from 0.55 % C, quenched and tempered           | 300 HB | 1900 | 0.24
 6 | low alloy steel (under 5 %), annealed                       | 200 HB | 1775 | 0.24
 7 | low alloy steel, quenched and tempered                      | 275 HB | 1675 | 0.24
 8 | low alloy steel, quenched and tempered                      | 300 HB | 1725 | 0.24
 9 | low alloy steel, quenched and tempered                      | 350 HB | 1800 | 0.24
10 | high alloy and tool steel, annealed                         | 200 HB | 2450 | 0.23
11 | high alloy and tool steel, quenched and tempered            | 325 HB | 2500 | 0.23
12 | stainless steel, ferritic or martensitic                    | 200 HB | 1875 | 0.21
13 | stainless steel, martensitic                                | 240 HB | 1875 | 0.21
14 | stainless steel, austenitic                                 | 180 HB | 2150 | 0.20
15 | grey iron, ferritic and pearlitic                           | 180 HB | 1150 | 0.20
16 | grey iron, pearlitic                                        | 260 HB | 1350 | 0.28
17 | nodular iron, ferritic                                      | 160 HB | 1225 | 0.25
18 | nodular iron, pearlitic                                     | 250 HB | 1350 | 0.28
19 | malleable iron, ferritic                                    | 130 HB | 1225 | 0.25
20 | malleable iron, pearlitic                                   | 230 HB | 1420 | 0.30
21 | wrought aluminium, not hardenable                           |  60 HB |  700 | 0.25
22 | wrought aluminium, age hardened                             | 100 HB |  800 | 0.25
23 | cast aluminium up to 12 % Si, not hardenable                |  75 HB |  700 | 0.25
24 | cast aluminium up to 12 % Si, age hardened                  |  90 HB |  700 | 0.25
25 | cast aluminium over 12 % Si                                 | 130 HB |  750 | 0.25
26 | free cutting copper alloy, over 1 % Pb                      | 110 HB |  700 | 0.27
27 | brass                                                       |  90 HB |  700 | 0.27
28 | bronze and electrolytic copper                              | 100 HB |  700 | 0.27
31 | iron based high temperature alloy, annealed                 | 200 HB | 2600 | 0.24
32 | iron based high temperature alloy, age hardened             | 280 HB | 3100 | 0.24
33 | nickel or cobalt based alloy, annealed                      | 250 HB | 3300 | 0.24
34 | nickel or cobalt based alloy, age hardened                  | 350 HB | 3300 | 0.24
35 | nickel or cobalt based alloy, cast                          | 320 HB | 3300 | 0.24
36 | titanium, pure, 400 MPa                                     |        | 1700 | 0.23
37 | titanium alloy alpha and beta, 1050 MPa                     |        | 2110 | 0.22
"""

# the same, printed without exponent
_HARD: Final = """
38 | hardened steel                                              | 55 HRC | 4600 | 0.25
39 | hardened steel                                              | 60 HRC | 4700 | 0.25
40 | chilled cast iron                                           | 400 HB | 4600 | 0.25
41 | hardened cast iron                                          | 55 HRC | 4500 | 0.25
"""

# what the catalogue of 2022 prints otherwise
_OTHERWISE_2022: Final = """
36 | titanium, pure, 400 MPa                                     |        | 1160 | 0.24
37 | titanium alloy alpha and beta, 1050 MPa                     |        | 1245 | 0.24
"""


def _groups(text: str, source: str) -> list[VdiGroup]:
    rows = [[cell.strip() for cell in line.split("|")] for line in text.strip().splitlines()]
    return [VdiGroup(int(n), what, hb, float(kc), float(mc), source) for n, what, hb, kc, mc in rows]


def _by_number() -> dict[int, tuple[VdiGroup, ...]]:
    found: dict[int, tuple[VdiGroup, ...]] = {}
    hard = f"{ISCAR_2017}; exponent from memory"
    for row in _groups(_GROUPS, ISCAR_2017) + _groups(_HARD, hard) + _groups(_OTHERWISE_2022, ISCAR_2022):
        found[row.number] = (*found.get(row.number, ()), row)
    return found


VDI_GROUPS: Final = MappingProxyType(_by_number())
"""Rows by VDI 3323 group, the higher force first where editions differ. 29 and 30, not metals, have none."""

FEEDS: Final = (0.1, 0.2, 0.3, 0.4, 0.6)
"""Feeds of the tables below: mm per tooth in milling, mm per revolution in turning."""

# material as printed | kc at each feed, MPa
_MILLING: Final = """
mild steel 520 MPa                        | 2200 1950 1820 1700 1580
medium steel 620 MPa                      | 1980 1800 1730 1600 1570
hard steel 720 MPa                        | 2520 2200 2040 1850 1740
tool steel 670 MPa                        | 1980 1800 1730 1700 1600
tool steel 770 MPa                        | 2030 1800 1750 1700 1580
chrome manganese steel 770 MPa            | 2300 2000 1880 1750 1660
chrome manganese steel 630 MPa            | 2750 2300 2060 1800 1780
chrome molybdenum steel 730 MPa           | 2540 2250 2140 2000 1800
chrome molybdenum steel 600 MPa           | 2180 2000 1860 1800 1670
nickel chrome molybdenum steel 940 MPa    | 2000 1800 1680 1600 1500
nickel chrome molybdenum steel 352 HB     | 2100 1900 1760 1700 1530
austenitic stainless steel 155 HB         | 2030 1970 1900 1770 1710
cast iron 520 MPa                         | 2800 2500 2320 2200 2040
hard cast iron 46 HRC                     | 3000 2700 2500 2400 2200
Meehanite iron 360 MPa                    | 2180 2000 1750 1600 1470
grey cast iron 200 HB                     | 1750 1400 1240 1050  970
brass 500 MPa                             | 1150  950  800  700  630
aluminium magnesium alloy 160 MPa         |  580  480  400  350  320
aluminium silicon alloy 200 MPa           |  700  600  490  450  390
aluminium zinc magnesium copper 570 MPa   |  880  840  840  810  720
"""

_TURNING: Final = """
mild steel 520 MPa                        | 3610 3100 2720 2500 2280
medium steel 620 MPa                      | 3080 2700 2570 2450 2300
hard steel 720 MPa                        | 4050 3600 3250 2950 2640
tool steel 670 MPa                        | 3040 2800 2630 2500 2400
tool steel 770 MPa                        | 3150 2850 2620 2450 2340
chrome manganese steel 770 MPa            | 3830 3250 2900 2650 2400
chrome manganese steel 630 MPa            | 4510 3900 3240 2900 2630
chrome molybdenum steel 730 MPa           | 4500 3900 3400 3150 2850
chrome molybdenum steel 600 MPa           | 3610 3200 2880 2700 2500
nickel chrome molybdenum steel 900 MPa    | 3070 2650 2350 2200 1980
nickel chrome molybdenum steel 352 HB     | 3310 2900 2580 2400 2200
hard cast iron 46 HRC                     | 3190 2800 2600 2450 2270
Meehanite iron 360 MPa                    | 2300 1930 1730 1600 1450
grey cast iron 200 HB                     | 2110 1800 1600 1400 1330
"""


def _by_feed(text: str) -> MappingProxyType[str, tuple[float, ...]]:
    rows = (line.split("|") for line in text.strip().splitlines())
    return MappingProxyType({name.strip(): tuple(map(float, kc.split())) for name, kc in rows})


KC_MILLING: Final = _by_feed(_MILLING)
"""kc in MPa at each of :data:`FEEDS`, by material as printed; feed per tooth of a face mill."""

KC_TURNING: Final = _by_feed(_TURNING)
"""kc in MPa at each of :data:`FEEDS`, by material as printed; feed per revolution."""
