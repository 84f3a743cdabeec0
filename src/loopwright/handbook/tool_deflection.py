"""How far a slender tool bends: end mills, boring bars, thread mills, and what their shanks are made of.

Euler-Bernoulli cantilevers from the face of the holder. Left out: the give of holder and spindle, which is
often as much again, and shear, which adds under 5 % beyond four diameters of length.
"""

from math import pi
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import at_least_zero, over_zero, within

FLUTED: Final = 0.8
"""Diameter of the round bar that bends as much as the flutes of an end mill, over the cutter's diameter. L.
Kops and D. T. Vo, CIRP Annals 39 (1990) 93: about 0.80 for two and four flutes. Mitsubishi Materials' course
gives 0.7 to 0.8."""


class Modulus(NamedTuple):
    """Young's modulus of a tool material, MPa: low, usual, high, and its source."""

    low: float
    usual: float
    high: float
    source: str


TOOL_MODULI: Final = MappingProxyType(
    {
        "HSS": Modulus(200e3, 210e3, 230e3, "from memory"),
        "steel": Modulus(200e3, 206e3, 212e3, "from memory"),
        "heavy metal": Modulus(280e3, 340e3, 400e3, "tungsten alloy of 90 to 97 % W, from memory"),
        "carbide": Modulus(
            550e3, 600e3, 650e3, "from memory; 630 GPa in a printed data sheet (omegaslate.com/mechanic.htm)"
        ),
    }
)
"""Young's modulus by what the shank is made of."""


class Deflection(NamedTuple):
    """Where the force acts: displacement in mm and slope in rad. Slope times axial depth is a wall's taper."""

    displacement: float
    slope: float


def tool_modulus(name: str) -> Modulus:
    """Young's modulus of a shank material.

    Args:
        name: a key of :data:`TOOL_MODULI`; case does not matter.

    Returns:
        Low, usual and high value, MPa, with source.

    Raises:
        OutOfRange: another material.

    >>> tool_modulus("Carbide").usual
    600000.0
    """
    found = {key.casefold(): value for key, value in TOOL_MODULI.items()}.get(name.strip().casefold())
    if found is None:
        raise OutOfRange(f"no tool material '{name}' in the handbook; use one of {', '.join(TOOL_MODULI)}")
    return found


def bar_deflection(
    force: float, length: float, diameter: float, modulus: float, *, bore: float = 0.0
) -> Deflection:
    r"""Bending of a round bar held at one end.

    .. math:: \delta = \frac{F L^3}{3 E I},\quad I = \frac{\pi (d^4 - d_i^4)}{64}

    Args:
        force: F across the bar, N.
        length: L from the holder to where the force acts, mm.
        diameter: d, mm.
        modulus: E, MPa.
        bore: d_i, hole along the bar, mm.

    Returns:
        Displacement and slope where the force acts.

    Raises:
        OutOfRange: a length, diameter, modulus or bore that is none.

    Source: Euler-Bernoulli cantilever. Checked in tests/published/test_isakov_boring_bar.py.

    >>> round(bar_deflection(100, 30, 10, 600e3).displacement * 1000, 2)
    3.06
    """
    over_zero("a length", length, "mm")
    rigidity = over_zero("a modulus", modulus, "MPa") * _inertia(diameter, bore)
    at_least_zero("a force", force, "N")
    return Deflection(force * length**3 / (3 * rigidity), force * length**2 / (2 * rigidity))


def end_mill_deflection(
    force: float,
    flute_length: float,
    diameter: float,
    modulus: float,
    *,
    shank_length: float = 0.0,
    shank_diameter: float | None = None,
    fluted: float = FLUTED,
) -> Deflection:
    r"""Bending of an end mill: flutes as a thinner bar, then the shank up to the holder.

    .. math:: \delta = \frac{F}{3E}\left(\frac{L_f^3}{I_f} + \frac{(L_f + L_s)^3 - L_f^3}{I_s}\right)

    Args:
        force: F across the axis, N; the lateral force, :func:`.cutting_force.end_mill_force`.
        flute_length: L_f, from where the force acts (half the axial depth above the tip) to the end of the
            flutes, mm.
        diameter: over the teeth, mm.
        modulus: E, MPa.
        shank_length: L_s, plain shank between flutes and holder, mm.
        shank_diameter: mm; the cutter's diameter when None.
        fluted: effective over real diameter of the flutes, 0.5 to 1.

    Returns:
        Displacement and slope where the force acts.

    Raises:
        OutOfRange: a length, diameter or modulus that is none.

    Source: Euler-Bernoulli cantilever with one step; :data:`FLUTED`. Checked in tests/rooms/test_cutting.py and
    tests/published/test_kops_vo_end_mill.py.

    >>> round(end_mill_deflection(100, 30, 10, 600e3).displacement * 1000, 2)
    7.46
    """
    within("an effective diameter over the real one", fluted, 0.5, 1, "", "0.8 is usual")
    thin = bar_deflection(force, flute_length, fluted * diameter, modulus)
    at_least_zero("a shank length", shank_length, "mm")
    if shank_length == 0:
        return thin
    whole = flute_length + shank_length
    rigidity = modulus * _inertia(diameter if shank_diameter is None else shank_diameter, 0.0)
    return Deflection(
        thin.displacement + force * (whole**3 - flute_length**3) / (3 * rigidity),
        thin.slope + force * (whole**2 - flute_length**2) / (2 * rigidity),
    )


def _inertia(diameter: float, bore: float) -> float:
    over_zero("a diameter", diameter, "mm")
    if not 0 <= bore < diameter:
        raise OutOfRange(
            f"a hole of {bore:g} mm does not fit in a bar of {diameter:g} mm; give it in mm, 0 for none"
        )
    return pi * (diameter**4 - bore**4) / 64
