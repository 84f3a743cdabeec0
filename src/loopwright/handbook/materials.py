"""Properties of the materials that precision machines are made of, each with its spread and its source.

Expansion is the mean coefficient near 20 °C (handbooks mostly print the mean of 20 to 100 °C). Its standard
uncertainty is for a bar of that kind whose melt nobody measured: it covers the differences between published
tables, heats and heat treatments. One steel is printed with 11.2 to 14.6 · 10⁻⁶/K in different handbooks
(NIST Engineering Metrology Toolbox), so a coefficient taken from any table is worth no more than about one
unit in its last printed figure.
"""

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from loopwright.errors import OutOfRange

_MEMORY: Final = "handbook values, from memory"
_SWYT: Final = f"expansion: D. A. Swyt, J. Res. NIST 99 (1994) 31; the rest: {_MEMORY}"
_SOURCES: Final = {
    "swyt": _SWYT,
    "memory": _MEMORY,
    "wood": f"{_MEMORY}; along the grain at about 12 % moisture, and moisture moves wood more than heat does",
    "mix": f"{_MEMORY}; differs from mix to mix: take the maker's values",
    "polymer": f"{_MEMORY}; creeps and takes up water",
    "stone": f"{_MEMORY}; differs from quarry to quarry",
    "silicon": f"{_SWYT}; the modulus depends on the crystal direction, 130 to 188 GPa",
}


@dataclass(frozen=True, slots=True)
class Material:
    """One material.

    Attributes:
        name: the trade's name of the material.
        expansion: mean coefficient of linear expansion near 20 °C, 1/K.
        expansion_std: its standard uncertainty for an unmeasured bar, 1/K.
        modulus: Young's modulus, MPa.
        modulus_std: its standard uncertainty, MPa.
        poisson: Poisson's ratio, 1.
        density: kg/m³.
        source: where the numbers come from, and a caution where one is needed.
    """

    name: str
    expansion: float
    expansion_std: float
    modulus: float
    modulus_std: float
    poisson: float
    density: float
    source: str

    @property
    def shear_modulus(self) -> float:
        """Shear modulus E / (2 (1 + ν)) of an isotropic material, MPa."""
        return self.modulus / (2 * (1 + self.poisson))


# name | expansion and its std, 1e-6/K | modulus and its std, GPa | Poisson's ratio | density, kg/m³ | source
_TABLE: Final = """
steel                       |  11.5    1 |   206    4 | 0.29 |  7850 | swyt
low carbon steel            |  11.7  0.5 |   205    4 | 0.29 |  7860 | memory
normalised steel            |  11.6  0.5 |   206    4 | 0.29 |  7850 | memory
alloy steel                 |  12.3  0.6 |   205    4 | 0.29 |  7850 | memory
bearing steel               |    12  0.5 |   208    4 | 0.30 |  7830 | memory
tool steel O1               |  11.2  0.6 |   207    5 | 0.29 |  7830 | memory
tool steel A2               |  10.7  0.6 |   203    5 | 0.29 |  7860 | memory
tool steel D2               |  10.4  0.6 |   208    5 | 0.29 |  7700 | memory
stainless steel 303         |  17.2  0.5 |   193    5 | 0.29 |  8000 | memory
stainless steel 304         |  17.2  0.5 |   193    5 | 0.29 |  8000 | memory
stainless steel 316         |    16  0.5 |   193    5 | 0.29 |  8000 | memory
stainless steel 17-4        |  10.8  0.4 |   197    4 | 0.27 |  7800 | memory
stainless steel 440C        |  10.2  0.4 |   200    5 | 0.28 |  7700 | memory
grey cast iron              |  10.8  0.6 |   110   15 | 0.26 |  7200 | memory
ductile iron                |  11.5  0.6 |   169    5 | 0.28 |  7100 | memory
aluminium                   |  23.1  0.5 |    70  1.5 | 0.33 |  2700 | swyt
aluminium 6061              |  23.6  0.5 |  68.9    1 | 0.33 |  2700 | memory
aluminium 7075              |  23.5  0.5 |  71.7    1 | 0.33 |  2810 | memory
cast aluminium              |  21.5  0.7 |    72    2 | 0.33 |  2680 | memory
brass                       |  20.5  0.6 |    97    4 | 0.34 |  8490 | memory
bronze                      |    18  0.6 |   105    6 | 0.34 |  8800 | memory
aluminium bronze            |  16.3  0.6 |   117    5 | 0.32 |  7600 | memory
copper                      |  16.7  0.3 |   118    5 | 0.34 |  8940 | memory
invar                       |   1.3  0.5 |   143    4 | 0.29 |  8100 | memory
titanium                    |   8.7  0.3 |   114    2 | 0.34 |  4430 | memory
tungsten carbide            |     5  0.5 |   620   30 | 0.22 | 14900 | memory
granite                     |     6  1.5 |    55   15 | 0.23 |  2800 | stone
epoxy granite               |    13    3 |    35    5 | 0.25 |  2300 | mix
concrete                    |  10.5  1.5 |    30    5 | 0.20 |  2400 | mix
alumina                     |   5.5  0.7 |   370   15 | 0.22 |  3890 | memory
zirconia                    |  10.3  0.5 |   205    8 | 0.31 |  6050 | memory
silicon nitride             |   2.8  0.5 |   310   10 | 0.27 |  3200 | memory
silicon                     |   2.6  0.1 |   160   17 | 0.25 |  2329 | silicon
fused silica                |   0.5 0.05 |    73    1 | 0.17 |  2200 | memory
float glass                 |   8.7  0.4 |    71    2 | 0.22 |  2500 | memory
low-expansion glass ceramic |     0  0.1 |    91    2 | 0.24 |  2530 | memory
maple                       |     4  0.6 |  12.6    2 | 0.42 |   700 | wood
beech                       |     4  0.6 |    14    2 | 0.43 |   710 | wood
acetal                      |   110   12 |   2.9  0.3 | 0.35 |  1410 | polymer
polyamide 6                 |    85   15 |   2.4  0.7 | 0.39 |  1140 | polymer
epoxy                       |    60   10 |     3  0.6 | 0.35 |  1150 | polymer
"""

_OTHER_NAMES: Final = """
low carbon steel: mild steel; cold rolled steel; hot rolled steel
normalised steel: medium carbon steel; normalised carbon steel
alloy steel: chromium molybdenum steel; alloy steel 4140
bearing steel: bearing steel 52100; ball screw steel
tool steel O1: O1; tool steel; gauge plate; ground flat stock
tool steel A2: A2
tool steel D2: D2
stainless steel 303: stainless 303
stainless steel 304: stainless 304; stainless steel; stainless
stainless steel 316: stainless 316
stainless steel 17-4: 17-4; stainless 17-4; 17-4 PH; precipitation hardening stainless steel
stainless steel 440C: stainless 440C; martensitic stainless steel
grey cast iron: cast iron; grey iron
ductile iron: ductile cast iron; nodular iron; spheroidal graphite iron
aluminium 6061: 6061
aluminium 7075: 7075
cast aluminium: aluminium casting; aluminium silicon casting
brass: free cutting brass
bronze: tin bronze; bearing bronze
invar: 36 % nickel iron
titanium: titanium alloy; titanium 6Al-4V
tungsten carbide: carbide; cemented carbide; hard metal
granite: black granite
epoxy granite: polymer concrete; mineral casting
alumina: aluminium oxide; ceramic; alumina ceramic
zirconia: zirconium oxide
fused silica: quartz glass; silica
float glass: glass; plate glass; soda lime glass
maple: hard maple
acetal: polyoxymethylene; POM
polyamide 6: nylon; polyamide
epoxy: epoxy resin
"""


def _material(row: str) -> Material:
    name, expansion, modulus, poisson, density, source = (cell.strip() for cell in row.split("|"))
    alpha, alpha_std = (float(v) / 1e6 for v in expansion.split())
    young, young_std = (float(v) * 1e3 for v in modulus.split())
    return Material(
        name, alpha, alpha_std, young, young_std, float(poisson), float(density), _SOURCES[source]
    )


def _key(name: str) -> frozenset[str]:
    """The words of a name in any order, in one spelling."""
    text = (
        name.casefold()
        .replace("aluminum", "aluminium")
        .replace("gray", "grey")
        .replace("normalized", "normalised")
    )
    return frozenset(re.split(r"[^a-z0-9%]+", text)) - {""}


MATERIALS: Final[Mapping[str, Material]] = MappingProxyType(
    {m.name: m for m in map(_material, _TABLE.strip().splitlines())}
)
"""Every material by its name."""


def _names_by_key() -> dict[frozenset[str], str]:
    found = {_key(name): name for name in MATERIALS}
    for line in _OTHER_NAMES.strip().splitlines():
        name, _, others = line.partition(":")
        found.update({_key(other): name for other in others.split(";")})
    return found


_BY_KEY: Final = _names_by_key()


def material(name: str) -> Material:
    """The material of that name.

    Args:
        name: a name of :data:`MATERIALS` or a usual other name; case, spelling ('aluminum', 'gray'), hyphens
            and the order of words do not matter.

    Returns:
        The material.

    Raises:
        OutOfRange: the handbook has no such material; the message names the nearest ones.

    Source: each material's own ``source``.

    >>> material("Cast iron").name
    'grey cast iron'
    >>> material("O1 tool steel").density
    7830.0
    """
    found = _BY_KEY.get(_key(name))
    if found is None:
        raise OutOfRange(
            f"no material '{name}' in the handbook; {_suggestion(name)}, or state its properties"
        )
    return MATERIALS[found]


def _suggestion(name: str) -> str:
    wanted = _key(name)
    by_words = [n for n in MATERIALS if len(_key(n) & wanted) > 0]
    by_letters = difflib.get_close_matches(
        name.casefold(), [n.casefold() for n in MATERIALS], n=4, cutoff=0.5
    )
    close = [n for n in MATERIALS if n.casefold() in by_letters]
    nearest = list(dict.fromkeys(close + by_words))[:6]
    return "nearest: " + ", ".join(nearest) if nearest else "it has: " + ", ".join(MATERIALS)
