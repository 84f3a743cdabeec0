"""A reading taken at shop temperature, brought to 20 °C (ISO 1), and what the temperatures leave open."""

from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright.errors import RequestError
from loopwright.handbook.heat import REFERENCE_TEMPERATURE
from loopwright.handbook.materials import material
from loopwright.measuring.spreads import Contribution
from loopwright.model.indications import Artefact, Gauge

Array = NDArray[np.float64]

USUAL_MATERIAL = "steel"
"""What a scale or an artefact is taken for that does not say what it is made of; common practice."""

FARTHEST_RISE = 100.0
"""K; beyond that a coefficient near 20 °C says little."""

USUAL_SHARE = 0.1
"""Standard uncertainty of a stated coefficient that gives none, as a share of it; common practice."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number and its standard uncertainty, in the same unit."""

    value: float
    std: float = 0.0


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperatures at which a part was read, and what part and scale do at them.

    Attributes:
        part: temperature of the part, °C.
        gauge: temperature of the gauge's scale, or of the artefact that serves as one, °C.
        part_expansion: coefficient of the part, 1/K.
        gauge_expansion: coefficient of the scale, 1/K.
        both_std: standard uncertainty that the two temperatures have in common, K: of the one thermometer
            that read both, or of a room that swings. The own ones of ``part`` and ``gauge`` come on top.
        length: size of the part, mm, where the reading is only a deviation from a master or a setting of
            about that size; None where the reading is the size itself.
        reference: where sizes are true, °C.
    """

    part: Estimate
    gauge: Estimate
    part_expansion: Estimate
    gauge_expansion: Estimate
    both_std: float = 0.0
    length: float | None = None
    reference: float = REFERENCE_TEMPERATURE


@dataclass(frozen=True, slots=True)
class Corrected:
    """A reading at the reference temperature.

    Attributes:
        value: the corrected reading, mm.
        correction: what was added to the reading, mm.
        contributions: what temperatures and coefficients leave open in it, mm; only those that do.
    """

    value: float
    correction: float
    contributions: tuple[Contribution, ...]


def expansion_of(thing: Gauge | Artefact) -> Estimate:
    """Coefficient of expansion of a gauge's scale or of an artefact, 1/K.

    What says neither material nor coefficient is taken for steel (``taken_for_steel``).

    Source: :mod:`loopwright.handbook.materials`.

    >>> expansion_of(Gauge(material="invar")).value
    1.3e-06
    """
    if thing.expansion is not None:
        own = thing.expansion_std
        return Estimate(thing.expansion, USUAL_SHARE * thing.expansion if own is None else own)
    found = material(thing.material or USUAL_MATERIAL)
    return Estimate(found.expansion, found.expansion_std)


def taken_for_steel(thing: Gauge | Artefact) -> bool:
    """Whether a gauge or an artefact says nothing of its expansion."""
    return thing.material is None and thing.expansion is None


def at_reference(reading: float, warmth: Warmth) -> Corrected:
    r"""A reading of a length brought to the reference temperature, with its uncertainty.

    .. math:: L_{20} = L \, \frac{1 + \alpha_g \, \Delta T_g}{1 + \alpha_p \, \Delta T_p}

    A warm scale has long divisions and shows too little; a warm part is too long. First-order
    uncertainties of both temperatures and both coefficients, and the second-order terms
    :math:`L\,u(\alpha)\,u(T)`, which are all that is left where a temperature is expected to be 20 °C.
    Part and scale are each at one temperature throughout; what a gauge's zero does is not in here.

    Args:
        reading: what the gauge showed, mm; a size, or a deviation where ``warmth.length`` gives the size.
        warmth: temperatures and coefficients.

    Returns:
        The corrected reading. The contribution of the scale's coefficient is marked as shared by all
        readings of that gauge; the others are not.

    Raises:
        RequestError: a temperature farther than 100 K from the reference, or a negative uncertainty.

    Source: ISO 1:2022; JCGM 100:2008, 5.1.2, H.1.2 and H.1.7. Checked in: tests/published/test_ea_4_02.py.

    >>> steel, aluminium, warm = Estimate(11.5e-6), Estimate(23.1e-6), Estimate(22)
    >>> round(at_reference(500.0116, Warmth(warm, warm, aluminium, steel)).value, 4)
    500.0
    """
    _check(warmth)
    length = reading if warmth.length is None else warmth.length
    size = length if warmth.length is None else length + reading
    part_rise, gauge_rise = warmth.part.value - warmth.reference, warmth.gauge.value - warmth.reference
    a_p, a_g = warmth.part_expansion, warmth.gauge_expansion
    shrink = 1 / (1 + a_p.value * part_rise)
    on_scale = length * (a_g.value * gauge_rise)
    found = (size + on_scale) * shrink
    by_part, by_gauge = -found * a_p.value * shrink, length * a_g.value * shrink
    second = hypot(
        a_p.std * hypot(warmth.part.std, warmth.both_std), a_g.std * hypot(warmth.gauge.std, warmth.both_std)
    )
    effects = (
        ("temperature of the part", by_part * warmth.part.std, False),
        ("temperature of the gauge", by_gauge * warmth.gauge.std, False),
        ("temperature of both", (by_part + by_gauge) * warmth.both_std, False),
        ("expansion of the part", -found * part_rise * shrink * a_p.std, False),
        ("expansion of the gauge", length * gauge_rise * shrink * a_g.std, True),
        ("temperature times expansion, second order", length * second, False),
    )
    contributions = tuple(
        Contribution(name, abs(effect), shared=shared, sign=1 if effect > 0 else -1)
        for name, effect, shared in effects
        if effect
    )
    correction = (on_scale - size * a_p.value * part_rise) * shrink
    return Corrected(reading + correction, correction, contributions)


@dataclass(frozen=True, slots=True)
class Grower:
    """Something that grows along a line: a step gauge, a row of gauge blocks, a line scale, the scale of a machine.

    Attributes:
        name: for people.
        temperature: of it, °C, with what it leaves open for the whole series of readings.
        expansion: coefficient, 1/K; 0 for what does not grow, such as a laser that corrects its wavelength itself.
        swing: standard uncertainty of its temperature from one reading to the next, K, as in a draught; on top of that
            of ``temperature``.
    """

    name: str
    temperature: Estimate
    expansion: Estimate
    swing: float = 0.0


@dataclass(frozen=True, slots=True)
class AlongLine:
    """What temperature and expansion leave open in readings along a line: one error for all of them.

    Attributes:
        name: the cause.
        std: standard uncertainty at the farthest reading, mm.
        column: how much of it is in each reading, in proportion to its distance from the fixed point, (n,); 1 or -1
            where that is farthest.
        lasting: the same in every series read with this thing, as its coefficient is; otherwise of this series alone.
    """

    name: str
    std: float
    column: Array
    lasting: bool


@dataclass(frozen=True, slots=True)
class LineCorrected:
    """Readings along a line at the reference temperature.

    Attributes:
        values: the corrected readings, (n,), mm.
        correction: what was added to each, (n,), mm.
        stds: standard uncertainty that the correction brings to each on its own, (n,), mm.
        effects: what it brings to all of them together; only what brings anything.
    """

    values: Array
    correction: Array
    stds: Array
    effects: tuple[AlongLine, ...]

    @property
    def farthest(self) -> float:
        """Standard uncertainty of the correction at the farthest reading, mm, its own part left out."""
        return hypot(*(effect.std for effect in self.effects))


def line_at_reference(
    readings: ArrayLike,
    travel: ArrayLike,
    artefact: Grower,
    *,
    machine: Grower | None = None,
    fixed_at: float = 0.0,
    reference: float = REFERENCE_TEMPERATURE,
) -> LineCorrected:
    r"""Readings of a linear displacement brought to the reference temperature, with what that leaves open.

    A machine travels s, and the reading v is what it travelled less the artefact's length for that. A warm artefact
    is too long, so the machine seems to fall short; a warm scale of the machine carries it too far.

    .. math:: v_{20} = \frac{v + s\,(\alpha_a \Delta T_a - \alpha_m \Delta T_m)}{1 + \alpha_m \Delta T_m}

    First-order uncertainties of temperatures and coefficients, in proportion to s, each in common to all readings; and
    the second-order terms :math:`s\,u(\alpha)\,u(T)`, which are all that is left where 20 °C is expected. The air of a
    laser's path, gradients along the artefact and its bending are left out.

    Args:
        readings: v, displacement found less displacement nominally travelled, (n,), mm.
        travel: nominal position of the indication along the line, (n,), mm, rising the way that makes v rise.
        artefact: what the displacement was held against.
        machine: scale or screw of the machine; None leaves its growth in, as an error of the machine that it is.
        fixed_at: position at which artefact and machine agree, mm: where the reading was zeroed, or the artefact held.
        reference: where lengths are true, °C.

    Returns:
        Readings, own uncertainties and errors in common.

    Raises:
        RequestError: not as many positions as readings, a value that is no number, a temperature farther than 100 K
            from the reference, or a negative uncertainty.

    Source: ISO 1:2022; JCGM 100:2008, 5.1.2 and H.1.7; ISO 230-3 and ISO/TR 16015 for what grows in a test, from
        memory. Checked in: tests/rooms/test_growth_along_a_line.py.

    Half a metre of steel gauge, one kelvin warm, against a machine that is true:

    >>> gauge = Grower("step gauge", Estimate(21.0), Estimate(11.6e-6))
    >>> line_at_reference([0.0, -0.0058], [0.0, 500.0], gauge).values.round(6)
    array([0., 0.])
    """
    found, at = np.asarray(readings, float), np.asarray(travel, float)
    if found.ndim != 1 or found.shape != at.shape or not np.isfinite([*found, *at, fixed_at]).all():
        raise RequestError(
            f"{found.size} readings and {at.size} positions along the line",
            "give a number of each for every pose",
        )
    growers = [(artefact, 1.0)] + ([] if machine is None else [(machine, -1.0)])
    for grower, _ in growers:
        _check_grower(grower, reference)
    s = at - fixed_at
    shrink = 1.0
    if machine is not None:
        shrink = 1 / (1 + machine.expansion.value * (machine.temperature.value - reference))
    grown = sum(sign * g.expansion.value * (g.temperature.value - reference) for g, sign in growers)
    values = (found + s * grown) * shrink
    own = hypot(*(g.expansion.value * g.swing for g, _ in growers))
    effects = [effect for g, sign in growers for effect in _effects(g, sign, s * shrink, reference)]
    return LineCorrected(values, values - found, np.abs(s * shrink) * own, tuple(effects))


def _effects(grower: Grower, sign: float, travelled: Array, reference: float) -> list[AlongLine]:
    """What temperature and coefficient of one thing leave open, as far as it went."""
    far = float(np.abs(travelled).max(initial=0.0))
    if not far:
        return []
    temperature, expansion = grower.temperature, grower.expansion
    rise = temperature.value - reference
    parts = (
        (f"temperature of {grower.name}", expansion.value * temperature.std, sign, False),
        (f"expansion of {grower.name}", abs(rise) * expansion.std, sign * float(np.sign(rise)), True),
        (
            f"temperature times expansion of {grower.name}, second order",
            expansion.std * temperature.std,
            sign,
            False,
        ),
    )
    return [
        AlongLine(name, abs(share) * far, way * np.sign(share) * travelled / far, lasting)
        for name, share, way, lasting in parts
        if share
    ]


def _check_grower(grower: Grower, reference: float) -> None:
    if not abs(grower.temperature.value - reference) <= FARTHEST_RISE:
        raise RequestError(
            f"{grower.name} at {grower.temperature.value:g} °C is not at a shop temperature",
            "check its unit; degF are converted where they are read",
        )
    if not all(std >= 0 for std in (grower.temperature.std, grower.expansion.std, grower.swing)):
        raise RequestError(
            f"an uncertainty of the warmth of {grower.name} is negative or missing", "give zero or more"
        )


def _check(warmth: Warmth) -> None:
    temperatures = (warmth.part.value, warmth.gauge.value)
    if not all(abs(t - warmth.reference) <= FARTHEST_RISE for t in temperatures):
        raise RequestError(
            f"part at {temperatures[0]:g} °C and gauge at {temperatures[1]:g} °C are not shop temperatures",
            "check their units; degF are converted where they are read",
        )
    stds = (warmth.part, warmth.gauge, warmth.part_expansion, warmth.gauge_expansion)
    if not (warmth.both_std >= 0 and all(one.std >= 0 for one in stds)):
        raise RequestError("an uncertainty of the warmth is negative or missing", "give zero or more")
