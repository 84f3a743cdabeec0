"""Boring bars: how far they may reach, what their bending does to the bore, and how it dies out.

Forces come from :mod:`loopwright.handbook.cutting_force`, bending from
:mod:`loopwright.handbook.tool_deflection`.
"""

from math import hypot
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import at_least_zero, over_zero


class Overhang(NamedTuple):
    """Greatest reach of a boring bar over its diameter: (sure, with a light cut), and the source."""

    sure: float
    light: float
    source: str


OVERHANG: Final = MappingProxyType(
    {
        "steel": Overhang(
            3, 4, "common practice; steel to 4 diameters, beyond it carbide: Widia catalogue 2017, p. D6"
        ),
        "heavy metal": Overhang(5, 6, "common practice"),
        "carbide": Overhang(6, 7, "common practice; makers allow up to 8 for light finishing"),
        "damped steel": Overhang(7, 10, "common practice"),
        "damped carbide": Overhang(10, 14, "common practice"),
    }
)
"""Reach over diameter by what the bar is made of. Beyond it expect chatter."""


class OverhangVerdict(NamedTuple):
    """Reach over diameter, whether that is 'good', 'light cuts' or 'too long', and which bars would do."""

    ratio: float
    verdict: str
    would_do: tuple[str, ...]


def overhang_verdict(length: float, diameter: float, bar: str) -> OverhangVerdict:
    """Whether a boring bar of that reach can be expected to cut without chatter.

    Args:
        length: from holder to edge, mm.
        diameter: of the bar, mm.
        bar: a key of :data:`OVERHANG`; case does not matter.

    Returns:
        The ratio, a verdict, and every kind of bar that reaches so far.

    Raises:
        OutOfRange: another kind of bar, or a length or diameter that is none.

    Source: :data:`OVERHANG`.

    >>> overhang_verdict(50, 10, "steel")[:2], overhang_verdict(50, 10, "steel").would_do[0]
    ((5.0, 'too long'), 'heavy metal')
    """
    found = OVERHANG.get(bar.strip().casefold())
    if found is None:
        raise OutOfRange(f"no boring bar of '{bar}' in the handbook; use one of {', '.join(OVERHANG)}")
    ratio = over_zero("a reach", length, "mm") / over_zero("a bar diameter", diameter, "mm")
    would_do = tuple(name for name, limit in OVERHANG.items() if ratio <= limit.light)
    if ratio <= found.sure:
        return OverhangVerdict(ratio, "good", would_do)
    return OverhangVerdict(ratio, "light cuts" if ratio <= found.light else "too long", would_do)


def bore_with_deflection(diameter: float, radial: float, tangential: float = 0.0) -> float:
    r"""Bore that a deflected bar leaves, when it was set for another.

    .. math:: D' = 2 \sqrt{(D/2 - \delta_r)^2 + \delta_t^2}

    The radial part makes the bore smaller by twice itself. The tangential part, though larger, hardly counts:
    it moves the edge along the wall.

    Args:
        diameter: D that the bar was set for, mm.
        radial: δ_r, bending away from the wall, mm.
        tangential: δ_t, bending along the cutting speed, mm.

    Returns:
        Diameter cut, mm.

    Raises:
        OutOfRange: a bore that is none, or bending beyond the radius.

    Source: geometry. Checked in tests/rooms/test_cutting.py.

    >>> round(bore_with_deflection(25, 0.010, 0.030), 4)
    24.9801
    """
    over_zero("a bore", diameter, "mm")
    at_least_zero("a tangential deflection", abs(tangential), "mm")
    if not abs(radial) < diameter / 2:
        raise OutOfRange(
            f"a deflection of {radial:g} mm is no deflection of a bar in a bore of {diameter:g} mm"
        )
    return 2 * hypot(diameter / 2 - radial, tangential)


def error_left(cutting_stiffness: float, tool_stiffness: float, passes: int = 1) -> float:
    r"""Share of an error of the hole that is still there after boring passes at one setting of depth.

    An eccentric or oval hole makes the depth of cut, so the force and the bending vary. Each pass leaves

    .. math:: \mu = \frac{q}{1 + q},\quad q = \frac{dF_r/da_p}{k}

    of what it found.

    Args:
        cutting_stiffness: dF_r/da_p, radial force for each mm of depth, N/mm.
        tool_stiffness: k of bar, holder and spindle, N/mm.
        passes: number of passes.

    Returns:
        Share left, 0 to 1.

    Raises:
        OutOfRange: a stiffness that is none, or less than one pass.

    Source: force balance of a linear spring; no publication claimed. Checked in tests/rooms/test_cutting.py.

    >>> round(error_left(100, 900, 2), 6)
    0.01
    """
    at_least_zero("a cutting stiffness", cutting_stiffness, "N/mm")
    if passes < 1:
        raise OutOfRange(f"{passes} passes bore nothing; give 1 or more")
    ratio = cutting_stiffness / over_zero("a tool stiffness", tool_stiffness, "N/mm")
    return float((ratio / (1 + ratio)) ** passes)
