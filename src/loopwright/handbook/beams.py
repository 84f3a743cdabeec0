"""Beams and straightedges under their own weight and under one load.

Euler-Bernoulli beams: slender, straight, uniform, small deflection; shear is left out, which flatters a beam
whose length is under about ten times its height. Flexural rigidity is E I in N·mm² (E in MPa, I in mm⁴).
Lengths are mm, loads N, weight per length N/mm. Every length, position, load and rigidity may be an array;
they broadcast.
"""

from collections.abc import Mapping
from math import sqrt
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import OutOfRange

Ends = Literal["cantilever", "simple", "fixed"]
Floats = NDArray[np.float64]

STANDARD_GRAVITY: Final = 9.80665
"""m/s²; ISO 80000-3, conventional value."""


def _root_near_half(coefficients: ArrayLike) -> float:
    roots = np.roots(np.asarray(coefficients, float))
    return float(next(r.real for r in roots if abs(r.imag) < 1e-9 and 0.5 < r.real < 0.6))


def _bessel_spacing() -> float:
    """Least neutral-axis shortening: s⁴ - 40 s³ + 70 s² - 15 = 0."""
    return _root_near_half([1.0, -40.0, 70.0, 0.0, -15.0])


def _least_sag_spacing() -> float:
    """Ends and centre sag alike: 5 s⁴/384 - c² s²/16 = c⁴/8 - c s³/24 + c³ s/4 with c = (1 - s)/2."""
    s, c = np.polynomial.Polynomial([0.0, 1.0]), np.polynomial.Polynomial([0.5, -0.5])
    balance = 5 / 384 * s**4 - c**2 * s**2 / 16 - c**4 / 8 + c * s**3 / 24 - c**3 * s / 4
    return _root_near_half(balance.coef[::-1])


SUPPORT_SPACING: Final[Mapping[str, float]] = MappingProxyType(
    {
        "airy": 1 / sqrt(3),
        "bessel": _bessel_spacing(),
        "least sag": _least_sag_spacing(),
        "least moment": 2 - sqrt(2),
        "level centre": 1 / (1 + sqrt(5 / 6)),
    }
)
"""Distance between two equal supports over the length of a uniform bar.

airy: the end faces stay parallel. bessel: the bar gets least shorter. least sag: ends and centre hang equally
low, the least of all. least moment: the least bending stress. level centre: the centre is level with the
supports.
"""


def support_spacing(name: str) -> float:
    """Spacing of two supports under a uniform bar, as a fraction of its length.

    Args:
        name: 'airy', 'bessel', 'least sag', 'least moment' or 'level centre'.

    Returns:
        Spacing over length, 0 to 1; the bar overhangs equally on both sides.

    Raises:
        OutOfRange: no support points of that name.

    Source: G. B. Airy, Mem. R. Astron. Soc. 15 (1846) 157 (from memory); the others from the deflection line
    below. Checked in tests/published/test_beam_support_points.py.

    >>> round(500 * support_spacing("airy"), 1)
    288.7
    """
    found = SUPPORT_SPACING.get(name.strip().casefold())
    if found is None:
        raise OutOfRange(f"no support points '{name}' are known; use one of {', '.join(SUPPORT_SPACING)}")
    return found


def sag_profile(
    position: ArrayLike,
    length: ArrayLike,
    spacing: ArrayLike,
    weight_per_length: ArrayLike,
    rigidity: ArrayLike,
) -> Floats:
    r"""Sag of a uniform bar on two symmetric supports by its own weight, below its supports.

    .. math:: EI\,v = w\,[\,5 s^4/384 - c^2 s^2/16 - (s^2/8 - c^2/2)\,x^2/2 + x^4/24\,],\ |x| \le s/2,

    x from the centre, s the spacing, c the overhang; outside the supports the cantilever line that joins it.

    Args:
        position: from the centre of the bar, mm, within ± length / 2.
        length: of the bar, mm.
        spacing: distance between the supports, mm, over 0 up to the length.
        weight_per_length: N/mm.
        rigidity: E I, N·mm².

    Returns:
        Sag, mm, positive downwards, shape of all arguments broadcast.

    Raises:
        OutOfRange: a position beyond the bar, or a spacing beyond it.

    Source: Euler-Bernoulli beam; S. Timoshenko, *Strength of Materials*, part I, chapter V (from memory).

    >>> float(sag_profile(0, 1000, 1000, 0.1, 1e10)) == 5 / 384 * 0.1 * 1000**4 / 1e10
    True
    """
    x, span = np.abs(np.asarray(position, float)), np.asarray(length, float)
    s = _checked_spacing(spacing, span)
    if not np.all(x <= span / 2 * (1 + 1e-12)):
        raise OutOfRange("a position lies beyond the end of the bar; positions count from its centre")
    c = (span - s) / 2
    inside = _centre(s, c) - (s**2 / 8 - c**2 / 2) * x**2 / 2 + x**4 / 24
    tip = span / 2 - x
    outside = (c**3 / 6 - _slope(s, c)) * (x - s / 2) - (c**4 - tip**4) / 24
    return _out(np.where(x <= s / 2, inside, outside) * np.asarray(weight_per_length) / np.asarray(rigidity))


def total_sag(
    length: ArrayLike, spacing: ArrayLike, weight_per_length: ArrayLike, rigidity: ArrayLike
) -> Floats:
    """Height between the lowest and the highest point of a uniform bar on two symmetric supports.

    Args:
        length: of the bar, mm.
        spacing: distance between the supports, mm, over 0 up to the length.
        weight_per_length: N/mm.
        rigidity: E I, N·mm².

    Returns:
        Sag, mm, shape of all arguments broadcast.

    Raises:
        OutOfRange: a spacing beyond the bar.

    Source: extremes of :func:`sag_profile` in closed form.
    Checked in tests/published/test_beam_support_points.py.

    >>> f"{total_sag(1000, 1000 * support_spacing('least sag'), 0.1, 1e10):.2e}"
    '2.70e-03'
    """
    span = np.asarray(length, float)
    s = _checked_spacing(spacing, span)
    c = (span - s) / 2
    slope = _slope(s, c)
    places = np.stack(
        np.broadcast_arrays(0 * s, s / 2, span / 2, _crest_inside(s, c), _crest_outside(s, c, slope))
    )
    profile = sag_profile(places, span, s, weight_per_length, rigidity)
    return _out(profile.max(axis=0) - profile.min(axis=0))


def own_weight_deflection(
    length: ArrayLike, weight_per_length: ArrayLike, rigidity: ArrayLike, ends: Ends
) -> Floats:
    """Greatest deflection of a uniform beam by its own weight.

    Args:
        length: free length, mm.
        weight_per_length: N/mm.
        rigidity: E I, N·mm².
        ends: 'cantilever' (deflection of the tip), 'simple' or 'fixed' at both ends (deflection of the
            middle).

    Returns:
        Deflection, mm, positive along the weight: w L⁴/(8 EI), 5 w L⁴/(384 EI), w L⁴/(384 EI).

    Raises:
        OutOfRange: other ends.

    Source: Euler-Bernoulli beam, textbook formulas.

    >>> float(own_weight_deflection(400, 0.08, 4.1e9, "cantilever")).__round__(4)
    0.0624
    """
    factor = {"cantilever": 1 / 8, "simple": 5 / 384, "fixed": 1 / 384}.get(ends)
    if factor is None:
        raise OutOfRange(_unknown_ends(ends))
    return _out(
        factor * np.asarray(weight_per_length) * np.asarray(length, float) ** 4 / np.asarray(rigidity)
    )


def load_deflection(
    force: ArrayLike, position: ArrayLike, length: ArrayLike, rigidity: ArrayLike, ends: Ends
) -> Floats:
    """Deflection of a uniform beam under one load, at the load: a head on a gantry beam or on an arm.

    Args:
        force: N.
        position: of the load, from the left end (from the fixed end of a cantilever), mm.
        length: free length, mm.
        rigidity: E I, N·mm².
        ends: 'cantilever', 'simple' or 'fixed' at both ends.

    Returns:
        Deflection, mm, along the force: F a³/(3 EI), F a² b²/(3 EI L), F a³ b³/(3 EI L³), with b = L - a.

    Raises:
        OutOfRange: a load beyond the beam, or other ends.

    Source: Euler-Bernoulli beam, textbook formulas.

    >>> round(float(load_deflection(100, 300, 600, 1e10, "simple")), 6)
    0.045
    """
    a, span = np.asarray(position, float), np.asarray(length, float)
    if not np.all((a >= 0) & (a <= span)):
        raise OutOfRange("a load lies beyond the beam; positions count from its left end")
    b, scale = span - a, np.asarray(force) / (3 * np.asarray(rigidity))
    if ends == "cantilever":
        return _out(scale * a**3)
    if ends == "simple":
        return _out(scale * a**2 * b**2 / span)
    if ends == "fixed":
        return _out(scale * a**3 * b**3 / span**3)
    raise OutOfRange(_unknown_ends(ends))


def weight_per_length(area: ArrayLike, density: ArrayLike) -> Floats:
    """Weight of a bar per length, N/mm, of a cross-section in mm² and a density in kg/m³.

    >>> round(float(weight_per_length(2000, 7850)), 4)
    0.154
    """
    return _out(np.asarray(area) * np.asarray(density) * 1e-9 * STANDARD_GRAVITY)


def rectangle_second_moment(width: ArrayLike, height: ArrayLike, wall: ArrayLike | None = None) -> Floats:
    """Second moment of area, mm⁴, of a rectangle or a rectangular tube bent along its height.

    Args:
        width: mm.
        height: mm.
        wall: wall of the tube, mm; None for a solid bar. Round corners are left out.

    Returns:
        b h³/12, less the hollow's.

    Raises:
        OutOfRange: a wall of nothing, or thicker than the tube allows.

    >>> float(rectangle_second_moment(12, 10))
    1000.0
    """
    b, h = np.asarray(width, float), np.asarray(height, float)
    if wall is None:
        return _out(b * h**3 / 12)
    t = np.asarray(wall, float)
    if not np.all((t > 0) & (2 * t <= np.minimum(b, h))):
        raise OutOfRange("the wall of a tube must be over 0 and at most half its width and height")
    return _out((b * h**3 - (b - 2 * t) * (h - 2 * t) ** 3) / 12)


def round_second_moment(diameter: ArrayLike, bore: ArrayLike = 0.0) -> Floats:
    """Second moment of area, mm⁴, of a round bar or tube: pi (D⁴ - d⁴)/64.

    >>> round(float(round_second_moment(20)))
    7854
    """
    outer, inner = np.asarray(diameter, float), np.asarray(bore, float)
    if not np.all((inner >= 0) & (inner < outer)):
        raise OutOfRange("the bore must be at least 0 and smaller than the diameter")
    return _out(np.pi / 64 * (outer**4 - inner**4))


def _out(value: Floats) -> Floats:
    return np.asarray(value, dtype=np.float64)


def _unknown_ends(ends: str) -> str:
    return f"'{ends}' is not a way to hold a beam here; use 'cantilever', 'simple' or 'fixed'"


def _checked_spacing(spacing: ArrayLike, length: Floats) -> Floats:
    s = np.asarray(spacing, float)
    if not np.all((s > 0) & (s <= length * (1 + 1e-12))):
        raise OutOfRange("the spacing of the supports must be over 0 and at most the length of the bar")
    return np.asarray(np.minimum(s, length))


def _centre(s: Floats, c: Floats) -> Floats:
    return 5 * s**4 / 384 - c**2 * s**2 / 16


def _slope(s: Floats, c: Floats) -> Floats:
    """Slope at a support by which the overhang points upwards."""
    return s**3 / 24 - c**2 * s / 4


def _crest_inside(s: Floats, c: Floats) -> Floats:
    """Where, between centre and support, the line is level; the centre when nowhere."""
    squared = 6 * (s**2 / 8 - c**2 / 2)
    return np.sqrt(np.where((squared > 0) & (squared < s**2 / 4), squared, 0.0))


def _crest_outside(s: Floats, c: Floats, slope: Floats) -> Floats:
    """Where the overhang is level; the tip when nowhere."""
    cubed = np.clip(c**3 - 6 * slope, 0.0, None)
    return s / 2 + c - np.where(slope > 0, np.minimum(np.cbrt(cubed), c), 0.0)
