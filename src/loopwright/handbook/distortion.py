"""How heat treatment changes size and shape: growth, warp, the ovality of a ring, the skin of nitriding.

Growth is a property of the steel and is partly published. Warp and ovality belong to the part, its furnace and
the hand that quenches it: no publication gives them, and the rules here are assumptions, marked as such, with
the factor of three either way that they deserve. They are one assumption: that one side of the section shrinks
more than the other by a strain ε, which bends a bar of length L and thickness t by

    bow = ε L² / (8 t) = (ε / 8) (L / t) L

and a ring of mean diameter D and wall w, pulled at two opposite places, to an ovality (greatest less least
diameter) of ε D² / (3 w). ε is set by the quench. A trial piece, or the first part of a set, replaces all of it.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band, Spread
from loopwright.handbook.heat_treatment import treatment
from loopwright.handbook.heat_treatment_tables import celsius

Bend = Literal["water", "oil", "air", "nitriding", "stress relief"]
Held = Literal["hung on end", "lying free", "clamped or on a plug"]

_ANY: Final = float("inf")
_ASM: Final = "ASM table of tool steels, from memory"
_RULE: Final = (
    "productionmachining.com: up to 0.125 % in medium carbon alloy steel; its sign and mean an assumption"
)

# (tempered up to, degC; 0 is as quenched) -> change of length, as a fraction
_GROWTH: Final[Mapping[str, tuple[tuple[float, Spread], ...]]] = MappingProxyType(
    {
        "tool steel O1": (
            (0, Spread(0.0015, 0.0010, 0.0022, f"Buffalo Precision data sheet: 0.0015; range: {_ASM}")),
            (
                celsius(400),
                Spread(0.0012, 0.0005, 0.0018, f"aobosteel.com: slight growth; figures: {_ASM}"),
            ),
            (
                celsius(1200),
                Spread(0.0003, -0.0010, 0.0018, "aobosteel.com: shrinks above 400 °F; figures an assumption"),
            ),
        ),
        "tool steel A2": (
            (0, Spread(0.0010, 0.0005, 0.0012, f"Buffalo Precision data sheet: 0.001; range: {_ASM}")),
            (celsius(1000), Spread(0.0006, 0.0002, 0.0010, _ASM)),
        ),
        "tool steel D2": (
            (
                celsius(900),
                Spread(
                    -0.0001,
                    -0.0006,
                    0.0006,
                    f"scribd 39510928: slight shrinkage; {_ASM} has growth to 0.06 %",
                ),
            ),
            (
                celsius(950),
                Spread(
                    0.0, -0.0004, 0.0006, "scribd 39510928: back to size near 925 °F; range an assumption"
                ),
            ),
        ),
        "alloy steel 4140": ((_ANY, Spread(0.0003, -0.00125, 0.00125, _RULE)),),
        "carbon steel 1045": ((_ANY, Spread(0.0003, -0.00125, 0.00125, _RULE)),),
        "case hardening steel 8620": ((_ANY, Spread(0.00025, 0.0, 0.0005, "common practice")),),
    }
)


_STEP_K: Final = 50.0
_SAMPLES: Final = 40


def size_change(steel: str, temper_degc: float | None = None) -> Spread:
    """How much longer a part is after hardening, as a fraction of each of its lengths and diameters.

    Plan the stock for the range, not for the mean. It differs along and across the bar, and warp comes on top. Where
    one row of the table ends nothing leaps: over the next 50 K, or half of the next row, it passes into that.

    Args:
        steel: as :func:`loopwright.handbook.heat_treatment.treatment`.
        temper_degc: temperature of the last temper, degC; None as quenched.

    Returns:
        Mean, low and high as fractions: 0.001 is 0.1 mm on 100 mm; negative is shrinkage. ``times(length)``
        gives mm.

    Raises:
        OutOfRange: no such steel, nitriding (see :func:`nitriding_growth`), or a temper beyond what is known.

    Source: each spread's own. Checked in tests/published/test_size_change.py.

    >>> round(size_change("O1").times(50).mean, 3)
    0.075
    """
    name = treatment(steel).name
    rows = _GROWTH.get(name)
    if rows is None:
        raise OutOfRange(f"{name} does not grow by a fraction but by its skin; ask nitriding_growth")
    at = 0.0 if temper_degc is None else temper_degc
    if at < 0:
        raise OutOfRange(f"a temper of {at:g} °C is none; give degC over 0, or None as quenched")
    place = next((number for number, (upto, _) in enumerate(rows) if at <= upto), None)
    if place is None:
        raise OutOfRange(
            f"the size change of {name} tempered at {at:g} °C is not known here; the table ends at "
            f"{rows[-1][0]:.0f} °C; measure a trial piece"
        )
    upto, found = rows[place]
    if place == 0:
        return found
    before, cooler = rows[place - 1]
    share = (at - before) / min(_STEP_K, (upto - before) / 2)
    return found if share > 1 - 1e-9 else _mixed(cooler, found, share)


def _mixed(cooler: Spread, hotter: Spread, share: float) -> Spread:
    mean, low, high = (one + share * (other - one) for one, other in zip(cooler[:3], hotter[:3]))
    return Spread(mean, low, high, f"{cooler.source}; {hotter.source}; between the two an assumption")


def size_change_between(steel: str, cool_degc: float, hot_degc: float) -> Spread:
    """Size change where the last temper is only known to lie between two temperatures.

    Args:
        steel: as :func:`size_change`.
        cool_degc: least temperature, degC; 0 for as quenched.
        hot_degc: greatest; beyond :func:`hottest_known` that counts.

    Returns:
        What is expected on average between them, and from the least to the greatest of all that lies between.

    Raises:
        OutOfRange: as :func:`size_change`; temperatures upside down.

    >>> found = size_change_between("O1", 180, 230)
    >>> round(found.mean, 5), round(found.low, 5), found.high
    (0.00108, -0.00027, 0.0018)
    """
    if not 0 <= cool_degc <= hot_degc:
        raise OutOfRange(
            f"a temper from {cool_degc:g} to {hot_degc:g} °C is upside down; give the cooler first"
        )
    span = max(min(hot_degc, hottest_known(steel)) - cool_degc, 0.0)
    found = [size_change(steel, cool_degc + span * n / _SAMPLES) for n in range(_SAMPLES + 1)]
    mean = sum(one.mean for one in found) / len(found)
    source = "; ".join(dict.fromkeys(name for one in found for name in one.source.split("; ")))
    return Spread(mean, min(one.low for one in found), max(one.high for one in found), source)


def hottest_known(steel: str) -> float:
    """Highest temper for which the size change of a steel is known here, degC; no steel is tempered over 700 °C.

    Args:
        steel: as :func:`size_change`.

    Raises:
        OutOfRange: as :func:`size_change`.

    >>> round(hottest_known("D2")), round(hottest_known("4140"))
    (510, 700)
    """
    size_change(steel)
    return min(_GROWTH[treatment(steel).name][-1][0], 700.0)


def martensite_growth(carbon_percent: float) -> float:
    """Upper bound of the growth by hardening, as a fraction of length: all carbon dissolved, all martensite.

    Args:
        carbon_percent: carbon of the steel, % by mass, 0 to 1.

    Returns:
        A third of the change of volume from spheroidite to martensite, 1.68 % per % carbon.

    Raises:
        OutOfRange: a carbon content outside 0 to 1 %.

    Source: ASM Handbook volume 4 (1991) p. 761: ΔV -4.64 + 2.21 C to austenite; 4.64 - 0.53 C on to martensite
    (the second from memory).

    >>> round(martensite_growth(0.9), 5)
    0.00504
    """
    c = carbon_percent
    if not 0 <= c <= 1:
        raise OutOfRange(f"{c:g} % carbon is outside 0 to 1 %, for which the volumes hold")
    return ((-4.64 + 2.21 * c) + (4.64 - 0.53 * c)) / 100 / 3


def nitriding_growth() -> Band:
    """How much each nitrided surface grows outwards, mm per side.

    A shaft grows by twice that on diameter, a bore shrinks by twice that. Sharp edges grow more.

    Source: common practice, 5 to 25 µm; it goes with the depth of the case and the white layer.

    >>> nitriding_growth().low, nitriding_growth().high
    (0.005, 0.025)
    """
    return Band(0.005, 0.025, "common practice, from memory; ask the heat treater for his process")


BENDING_STRAIN: Final[Mapping[Bend, float]] = MappingProxyType(
    {"water": 8e-4, "oil": 4e-4, "air": 1.5e-4, "nitriding": 0.5e-4, "stress relief": 0.5e-4}
)
"""ε by what is done to the part; an assumption."""

HOLDING: Final[Mapping[Held, float]] = MappingProxyType(
    {"hung on end": 1.0, "lying free": 1.5, "clamped or on a plug": 0.4}
)
"""Factor on ε by how the part is held in the heat and in the quench; an assumption."""

RELIEVED_BEFORE: Final = 0.6
"""Factor on ε when the part was relieved of stress after roughing; an assumption."""

_ASSUMED: Final = "assumption: a rule of slenderness, good to a factor of three; a trial piece replaces it"
_SLENDEREST: Final = 60.0
_THINNEST_RING: Final = 40.0


def _strain(bend: Bend, held: Held, relieved: bool) -> float:
    if bend not in BENDING_STRAIN:
        raise OutOfRange(f"no warp by '{bend}' here; use one of {', '.join(BENDING_STRAIN)}")
    if held not in HOLDING:
        raise OutOfRange(f"'{held}' is no way of holding a part here; use one of {', '.join(HOLDING)}")
    return BENDING_STRAIN[bend] * HOLDING[held] * (RELIEVED_BEFORE if relieved else 1.0)


def warp(
    length_mm: float,
    thickness_mm: float,
    bend: Bend,
    *,
    held: Held = "hung on end",
    relieved: bool = False,
) -> Spread:
    """Bow of a bar or plate by heat treatment, mm from its chord at mid length.

    Args:
        length_mm: longest length, mm.
        thickness_mm: thinnest section, mm.
        bend: 'water', 'oil', 'air', 'nitriding' or 'stress relief'.
        held: 'hung on end', 'lying free' or 'clamped or on a plug'.
        relieved: relieved of stress between roughing and finishing.

    Returns:
        Bow, mm, with a third and three times of it as range. A face needs this much more stock, and so does
        its opposite.

    Raises:
        OutOfRange: sizes that are not over 0, a part thicker than long or over 60 times as long as thick, a word
            not known.

    Source: assumption; see the module. It scales as the elastic bow of a bar with a strain across it.

    >>> found = warp(160, 8, "oil")
    >>> round(found.mean, 3), round(found.low, 3), round(found.high, 3)
    (0.16, 0.053, 0.48)
    """
    if not (0 < thickness_mm <= length_mm < float("inf")):
        raise OutOfRange(f"{length_mm:g} by {thickness_mm:g} mm is no bar; give a length over its thickness")
    slenderness = length_mm / thickness_mm
    if slenderness > _SLENDEREST:
        raise OutOfRange(
            f"a part {slenderness:.0f} times as long as thick is beyond the rule, which ends at "
            f"{_SLENDEREST:.0f}; treat a trial piece"
        )
    mean = _strain(bend, held, relieved) / 8 * slenderness * length_mm
    return Spread(mean, mean / 3, mean * 3, _ASSUMED)


def ring_ovality(
    mean_diameter_mm: float,
    wall_mm: float,
    bend: Bend,
    *,
    held: Held = "hung on end",
    relieved: bool = False,
) -> Spread:
    """Ovality of a ring by heat treatment: greatest less least diameter, mm.

    Args:
        mean_diameter_mm: half way between bore and outside, mm.
        wall_mm: radial thickness, mm.
        bend: as :func:`warp`.
        held: as :func:`warp`; 'clamped or on a plug' for a ring quenched on a plug.
        relieved: relieved of stress between roughing and finishing.

    Returns:
        Ovality, mm, with a third and three times of it as range. A diameter needs this much more stock.

    Raises:
        OutOfRange: sizes that are not a ring, a mean diameter over 40 walls, a word not known.

    Source: assumption; see the module. An inextensible thin ring under a twofold change of curvature ε/w.

    >>> round(ring_ovality(60, 6, "oil").mean, 3)
    0.08
    """
    if not (0 < wall_mm <= mean_diameter_mm < float("inf")):
        raise OutOfRange(f"a wall of {wall_mm:g} mm at {mean_diameter_mm:g} mm mean diameter is no ring")
    if mean_diameter_mm / wall_mm > _THINNEST_RING:
        raise OutOfRange(
            f"a ring {mean_diameter_mm / wall_mm:.0f} walls in diameter is beyond the rule, which ends at "
            f"{_THINNEST_RING:.0f}; quench it on a plug and treat a trial ring"
        )
    mean = _strain(bend, held, relieved) * mean_diameter_mm**2 / (3 * wall_mm)
    return Spread(mean, mean / 3, mean * 3, _ASSUMED)


def bend_of(steel: str) -> Bend:
    """Which of the rules of :func:`warp` goes with a steel: its quench.

    Args:
        steel: as :func:`loopwright.handbook.heat_treatment.treatment`.

    Raises:
        OutOfRange: no such steel.

    >>> bend_of("A2")
    'air'
    """
    quench = treatment(steel).quench
    return "nitriding" if quench == "none" else quench
