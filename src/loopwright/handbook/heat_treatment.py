"""How the usual steels are hardened, tempered and relieved of stress: bands, not points.

The numbers of each maker stand in :mod:`loopwright.handbook.heat_treatment_tables`. Here they become one band
a steel: between the least and the greatest of all sources, at least 2 HRC wide (no melt, oven and tester repeat
closer), and never rising with the tempering temperature. A band says what to try first and what the hardness
test must show; the test on the part decides. For D2, whose hardness rises again near 500 °C, the band is wide
there and says so.

The furnace, the oil and the gas can hurt: every treatment names its cautions
(:mod:`loopwright.handbook.cautions`).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final, Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band
from loopwright.handbook.heat_treatment_tables import (
    OTHER_NAMES,
    STRESS_RELIEF_NAMES,
    STRESS_RELIEFS,
    TEMPERING,
    TREATMENTS,
    StressRelief,
    TemperingSource,
    Treatment,
)

Hardening = Literal["through", "doubtful", "skin only"]

LEAST_WIDTH_HRC: Final = 2.0
"""No tempering band is narrower than this, HRC (common practice)."""

_Node = tuple[float, float, float]


def _key(name: str) -> str:
    return " ".join(name.casefold().replace("normalized", "normalised").replace("gray", "grey").split())


def _names(text: str, own: Iterable[str]) -> dict[str, str]:
    found = {_key(name): name for name in own}
    for line in text.strip().splitlines():
        name, _, others = line.partition(":")
        found.update({_key(other): name for other in others.split(";")})
    return found


_STEELS: Final = _names(OTHER_NAMES, TREATMENTS)
_RELIEVED: Final = _names(STRESS_RELIEF_NAMES, STRESS_RELIEFS)


def treatment(steel: str) -> Treatment:
    """How a steel is hardened.

    Args:
        steel: a name of :data:`~loopwright.handbook.heat_treatment_tables.TREATMENTS` or a usual other name
            ('O1', '4140', '1045', 'nitriding').

    Returns:
        Furnace temperatures in degC, times, quench, section limit and hardness as quenched, with sources.

    Raises:
        OutOfRange: no such steel here; the message lists those there are.

    Source: each band's own. Checked in tests/published/test_o1_tempering.py and its neighbours.

    >>> treatment("O1").quench
    'oil'
    """
    found = _STEELS.get(_key(steel))
    if found is None:
        raise OutOfRange(
            f"no heat treatment of '{steel}' in the handbook; it has {', '.join(TREATMENTS)}; for another steel "
            "ask its maker for the data sheet"
        )
    return TREATMENTS[found]


def soak_minutes(steel: str, section_mm: float) -> Band:
    """How long a part stays at hardening heat, minutes, counted from when it is as hot as the furnace.

    Args:
        steel: as :func:`treatment`.
        section_mm: thickest section, mm.

    Raises:
        OutOfRange: a steel whose time is set by the depth of its case; a section that is not over 0.

    >>> low, high, _ = soak_minutes("O1", 50)
    >>> low, high
    (40.0, 60.0)
    """
    found = treatment(steel)
    _check_section(section_mm)
    if found.soak_min_per_25mm is None:
        raise OutOfRange(
            f"the time at heat for {found.name} is set by the depth of case; agree it with the heat treater"
        )
    low, high, source = found.soak_min_per_25mm.times(section_mm / 25)
    return Band(max(low, found.least_soak_min), max(high, found.least_soak_min), source)


def temper_hours(steel: str, section_mm: float) -> Band:
    """How long each tempering lasts, hours at heat.

    Args:
        steel: as :func:`treatment`.
        section_mm: thickest section, mm.

    Raises:
        OutOfRange: a treatment without tempering; a section that is not over 0.

    >>> low, high, _ = temper_hours("O1", 50)
    >>> low, high
    (2.0, 4.0)
    """
    found = treatment(steel)
    _check_section(section_mm)
    if found.temper_h_per_25mm is None:
        raise OutOfRange(f"{found.name} is not tempered afterwards; temper the core before it")
    low, high, source = found.temper_h_per_25mm.times(section_mm / 25)
    return Band(max(low, found.least_temper_h), max(high, found.least_temper_h), source)


def _check_section(section_mm: float) -> None:
    if not 0 < section_mm < float("inf"):
        raise OutOfRange(f"a section of {section_mm:g} mm is no part; give millimetres over 0")


def hardens(steel: str, section_mm: float) -> Hardening:
    """Whether a section comes out hard all the way.

    Args:
        steel: as :func:`treatment`.
        section_mm: thickest section, mm.

    Returns:
        'through'; 'doubtful' where the sources differ; 'skin only' beyond them, and for a case.

    Raises:
        OutOfRange: as :func:`treatment`; a section that is not over 0.

    >>> hardens("O1", 20), hardens("O1", 60), hardens("1045", 25)
    ('through', 'doubtful', 'skin only')
    """
    limit = treatment(steel).full_section_mm
    _check_section(section_mm)
    if limit is None or section_mm > limit.high:
        return "skin only"
    return "through" if section_mm <= limit.low else "doubtful"


def tempered_hardness(steel: str, temper_degc: float) -> Band:
    """Between which hardnesses a steel comes out of a temper, HRC.

    Args:
        steel: as :func:`treatment`; fully hardened before. For a case hardening steel: of the case.
        temper_degc: tempering temperature, degC.

    Returns:
        Least and greatest of all sources, at least 2 HRC apart, with the sources that speak there.

    Raises:
        OutOfRange: a steel that is not tempered, or a temperature that no source covers.

    Source: each maker's table. Checked in tests/published/test_o1_tempering.py,
    test_a2_d2_tempering.py and test_alloy_and_carbon_tempering.py.

    >>> band = tempered_hardness("O1", 204)
    >>> round(band.low, 1), round(band.high, 1)
    (60.0, 63.0)
    """
    name = treatment(steel).name
    nodes = _nodes(name)
    coolest, hottest = nodes[0][0], nodes[-1][0]
    if not coolest - 0.5 <= temper_degc <= hottest + 0.5:
        raise OutOfRange(
            f"a temper of {temper_degc:g} °C is outside what the sources for {name} cover, "
            f"{coolest:.0f} to {hottest:.0f} °C; choose a temperature within"
        )
    at = min(max(temper_degc, coolest), hottest)
    (t0, low0, high0), (t1, low1, high1) = next(p for p in pairwise(nodes) if p[0][0] <= at <= p[1][0])
    share = (at - t0) / (t1 - t0)
    speaking = "; ".join(s.source for s in TEMPERING[name] if s.rows[0][0] <= at <= s.rows[-1][0])
    return Band(low0 + share * (low1 - low0), high0 + share * (high1 - high0), speaking)


@cache
def _nodes(name: str) -> tuple[_Node, ...]:
    """Every printed temperature with the merged band there: widened, and never rising."""
    sources = TEMPERING.get(name)
    if sources is None:
        raise OutOfRange(f"{name} is not tempered afterwards; its hardness comes from the process itself")
    raw = [_merged(sources, at) for at in sorted({row[0] for s in sources for row in s.rows})]
    falling: list[_Node] = []
    for at, low, high in raw:
        lowest = min([low, *(n[1] for n in falling)])
        falling.append((at, lowest, max([high, *(h for t, _, h in raw if t > at)])))
    return tuple(falling)


def _merged(sources: tuple[TemperingSource, ...], at: float) -> _Node:
    ends = [found for source in sources if (found := _at(source, at)) is not None]
    low, high = min(low for low, _ in ends), max(high for _, high in ends)
    short = max(LEAST_WIDTH_HRC - (high - low), 0.0) / 2
    return at, low - short, high + short


def _at(source: TemperingSource, at: float) -> tuple[float, float] | None:
    """What one source says at a temperature, between its own rows; None outside them."""
    for (t0, low0, high0), (t1, low1, high1) in pairwise(source.rows):
        if t0 <= at <= t1:
            share = (at - t0) / (t1 - t0)
            return low0 + share * (low1 - low0), high0 + share * (high1 - high0)
    return None


@dataclass(frozen=True, slots=True)
class Temper:
    """How to temper to a wished hardness, and what the test must show.

    Attributes:
        steel: name of the treatment.
        degc: temperatures whose expected hardness lies in what is wished. Start at the low end: a part that is
            too hard is tempered again, hotter; one that is too soft is hardened again.
        expected_hrc: what the sources let expect over these temperatures.
        as_quenched_hrc: what the test must show before tempering; under it the hardening has failed, and no
            temper mends it.
        must_show_hrc: (least, greatest) that the test must show after tempering: what was wished.
        tempers: how many times.
        brittle: True when part of the temperatures makes this steel brittle; then wish for another hardness.
        wide: True when the sources differ by more than what was wished: temper a witness piece first.
    """

    steel: str
    degc: Band
    expected_hrc: Band
    as_quenched_hrc: Band
    must_show_hrc: tuple[float, float]
    tempers: int
    brittle: bool
    wide: bool


def temper_for(steel: str, wanted_hrc_low: float, wanted_hrc_high: float) -> Temper:
    """Tempering temperatures for a wished hardness.

    A temperature is offered where the middle of the band of all sources lies in what is wished.

    Args:
        steel: as :func:`treatment`, fully hardened.
        wanted_hrc_low: least hardness wished, HRC.
        wanted_hrc_high: greatest hardness wished, HRC; at least the least.

    Returns:
        Temperatures in degC, and what the test must show.

    Raises:
        OutOfRange: a steel that is not tempered; a wish upside down; a hardness that tempering of this steel
            does not give, with the nearest that it does.

    Source: as :func:`tempered_hardness`.

    >>> found = temper_for("O1", 58, 60)
    >>> round(found.degc.low), round(found.degc.high), found.must_show_hrc
    (246, 279, (58, 60))
    """
    how = treatment(steel)
    if not wanted_hrc_low <= wanted_hrc_high:
        raise OutOfRange(
            f"a hardness of {wanted_hrc_low:g} to {wanted_hrc_high:g} HRC is upside down; give the least first"
        )
    nodes = _nodes(how.name)
    middles = [(at, (low + high) / 2) for at, low, high in nodes]
    if wanted_hrc_low > middles[0][1] or wanted_hrc_high < middles[-1][1]:
        raise OutOfRange(_unreachable(how, middles, wanted_hrc_low, wanted_hrc_high))
    cool, hot = _first_under(middles, wanted_hrc_high), _last_over(middles, wanted_hrc_low)
    coolest, hottest = tempered_hardness(steel, cool), tempered_hardness(steel, hot)
    expected = Band(hottest.low, coolest.high, coolest.source)
    brittle = how.brittle_degc is not None and cool < how.brittle_degc.high and hot > how.brittle_degc.low
    here = max(coolest.high - coolest.low, hottest.high - hottest.low)
    return Temper(
        how.name,
        Band(cool, hot, coolest.source),
        expected,
        how.as_quenched_hrc,
        (wanted_hrc_low, wanted_hrc_high),
        how.tempers,
        brittle,
        here > wanted_hrc_high - wanted_hrc_low,
    )


def _first_under(middles: list[tuple[float, float]], high: float) -> float:
    """Coolest temperature whose middle is not over the wish."""
    if middles[0][1] <= high:
        return middles[0][0]
    (t0, h0), (t1, h1) = next(p for p in pairwise(middles) if p[1][1] <= high)
    return t0 + (h0 - high) / (h0 - h1) * (t1 - t0)


def _last_over(middles: list[tuple[float, float]], low: float) -> float:
    """Hottest temperature whose middle is not under the wish."""
    if middles[-1][1] >= low:
        return middles[-1][0]
    (t0, h0), (t1, h1) = next(p for p in pairwise(middles) if p[1][1] < low)
    return t0 + (h0 - low) / (h0 - h1) * (t1 - t0)


def _unreachable(how: Treatment, middles: list[tuple[float, float]], low: float, high: float) -> str:
    too_hard = low > middles[0][1]
    at, nearest = middles[0] if too_hard else middles[-1]
    remedy = "choose a harder steel or a case" if too_hard else "use the steel annealed or normalised"
    return (
        f"{how.name} is not tempered to {low:g} to {high:g} HRC; the nearest is about {nearest:.0f} HRC, "
        f"tempered at {at:.0f} °C; wish for that, or {remedy}"
    )


def stress_relief(material: str) -> StressRelief:
    """How to let the stresses out of a part between roughing and finishing.

    Args:
        material: 'normalised steel', 'cold drawn steel', 'grey cast iron', 'O1', 'A2', 'D2' (annealed), '4140'
            or a usual other name.

    Returns:
        Temperature in degC, hours per 25 mm of section, cooling, and what it costs.

    Raises:
        OutOfRange: no such material here; the message lists those there are.

    Source: each band's own. Checked in tests/published/test_stress_relief.py.

    >>> low, high, _ = stress_relief("cast iron").degc
    >>> low, high
    (500, 565)
    """
    found = _RELIEVED.get(_key(material))
    if found is None:
        raise OutOfRange(
            f"no stress relief of '{material}' in the handbook; it has {', '.join(STRESS_RELIEFS)}; for another "
            "material ask its maker"
        )
    return STRESS_RELIEFS[found]
