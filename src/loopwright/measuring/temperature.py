"""A reading taken at shop temperature, brought to 20 °C (ISO 1), and what the temperatures leave open."""

from dataclasses import dataclass
from math import hypot

from loopwright.errors import RequestError
from loopwright.handbook.heat import REFERENCE_TEMPERATURE
from loopwright.handbook.materials import material
from loopwright.measuring.spreads import Contribution
from loopwright.model.indications import Artefact, Gauge

USUAL_MATERIAL = "steel"
"""What a scale or an artefact is taken for that does not say what it is made of; common practice."""

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


FARTHEST_RISE = 100.0
"""K; beyond that a coefficient near 20 °C says little."""


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
