"""What can hurt someone in a small shop, by hazard: short reminders to print beside the work.

They are reminders, not a safety plan, and not complete. Each ends where :data:`DEFERS` says: the law of the
place, the maker's instructions and licensed people come first. Where a regulation prints a temperature
*difference* in two units, one of the two is often the conversion of a temperature: 50 °F is 10 °C on the
thermometer, but a difference of 50 °F is 27.8 K. Both are named where it matters, and the greater is used.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sin
from types import MappingProxyType
from typing import Final

from loopwright.errors import OutOfRange

DEFERS: Final = (
    "A reminder only. The law of your place, the maker's instructions and safety data sheet, and licensed or "
    "trained people come first; work that needs a licence is theirs."
)
"""Stands under every caution that is printed."""

FLASH_POINT_MARGIN_K: Final = 50 / 1.8
"""How far quench oil stays under its flash point, K: 50 °F as a difference (29 CFR 1910.126(a))."""

AUTOIGNITION_MARGIN_K: Final = 100 / 1.8
"""How far a heater stays under the auto-ignition of a quench liquid, K: 100 °F as a difference (1910.125)."""


@dataclass(frozen=True, slots=True)
class Caution:
    """Reminders on one hazard.

    Attributes:
        hazard: its name.
        texts: one reminder each, in the order of a sheet.
        source: regulation, standard or practice behind them.
    """

    hazard: str
    texts: tuple[str, ...]
    source: str


_CAUTIONS: Final = (
    Caution(
        "metal fire",
        (
            "Fine chips and grinding dust of titanium and magnesium burn, and nothing but class D powder or dry sand "
            "puts them out: no water, no carbon dioxide.",
            "Sharp edge, no dwell, coolant in flood or none at all; never let the edge rub.",
            "Clear the chips away often, keep dust of steel and of these apart, and keep both out of the extraction.",
        ),
        "common practice, from memory",
    ),
    Caution(
        "oil quench",
        (
            "Stand the tank well away from the furnace, on a floor that cannot burn, under a hood that vents outside.",
            "Keep the oil at least 27.8 K under its flash point (50 °F as a difference; '10 °C' in some prints is a "
            "wrong conversion), with an alarm there, and cooling if it can get hotter.",
            "No water in the oil: it turns to steam under the oil and throws it out. Warm and check the oil first.",
            "Never stir or fill with compressed air.",
            "Put the part under fully and without stopping; half way in is how oil takes fire.",
            "Lid and extinguisher within reach; face shield, leather apron and gloves; a second person in the room.",
        ),
        "29 CFR 1910.126(a), read; foam-over accounts at heattreat.net; protective clothing common practice",
    ),
    Caution(
        "quench liquid",
        (
            "A heater in the liquid stays at least 55.6 K under its auto-ignition (100 °F as a difference; '37.8 °C' "
            "in some prints is a wrong conversion).",
            "No smoking and no flame at the tank.",
            "Water and brine throw hot steam and splashes: long tongs, face shield, dry tools.",
        ),
        "29 CFR 1910.125, read; splashes common practice",
    ),
    Caution(
        "oven",
        (
            "A second cut-out against overheating that does not depend on the controller.",
            "The door switches the power off.",
            "Nothing wet with solvent or oil goes in; fumes of oil and resin are led outside.",
            "Mark hot parts; steel at 400 °C looks as it does cold.",
        ),
        "NFPA 86 and the EN 746 family, from memory; common practice",
    ),
    Caution(
        "furnace gas",
        (
            "Carburising and nitriding gases burn, explode or poison. Have this done by a heat treater who is "
            "equipped for it.",
            "Cyanide and other salt baths are no work for a small shop.",
        ),
        "common practice",
    ),
    Caution(
        "grinding wheel",
        (
            "Ring the wheel before it is mounted: a dull sound means a crack, and the scrap bin.",
            "The speed marked on the wheel is at least that of the spindle.",
            "Flanges at least a third of the wheel's diameter, with blotters.",
            "Guard always on; let a new wheel run for a minute and stand aside.",
            "On an off-hand grinder: rest within 3 mm (1/8 in) and tongue within 6 mm (1/4 in) of the wheel.",
            "Face shield. Check that the magnetic chuck holds, and block thin and small parts on all sides.",
        ),
        "29 CFR 1910.215 and 30 CFR 56.14115, read in part; ring test, flanges, tongue and run-up from memory",
    ),
    Caution(
        "rotating work",
        (
            "No gloves, sleeves, rings or long hair near a turning spindle.",
            "The chuck key never stays in the chuck; chips are pulled with a hook, not by hand.",
            "Safety glasses; measure when it stands still.",
        ),
        "common practice",
    ),
    Caution(
        "laminate dust",
        (
            "Phenolic and glass laminates: draw the dust off where it is made, and wear a P2 or P3 mask.",
            "No blowing off with compressed air: glass fibre hurts skin and lungs, and the dust burns.",
            "Cut dry and cool, work under 150 °C; keep the dust out of ways, motors and electronics.",
        ),
        "norvaplastics.com (150 °C, suction), read; the rest from memory",
    ),
    Caution(
        "PTFE",
        (
            "Never heat it over about 260 °C: the fumes make ill.",
            "No smoking at the machine and none with dust on the hands.",
        ),
        "safety data sheet practice, from memory",
    ),
    Caution(
        "epoxy",
        (
            "Resin and amine hardener sensitise and burn the skin: nitrile gloves, glasses, fresh air.",
            "Mix small lots: a large one heats itself until it smokes.",
            "Fumes of the warm cure are led outside.",
        ),
        "safety data sheet practice, from memory",
    ),
    Caution(
        "anaerobic",
        (
            "Sensitises the skin and hurts the eyes: gloves and glasses.",
            "Keep it off plastics under stress; they crack.",
            "Heat over 250 °C to loosen a bond gives fumes: outdoors or under the hood.",
        ),
        "safety data sheet practice, from memory",
    ),
    Caution(
        "pressing",
        (
            "Stand beside the line of force, behind a guard: a part that slips or bursts flies along it.",
            "Square and backed up before load; a hardened part shatters, so cover it.",
            "Warm a hub or bearing in an oven or by induction, 80 to 90 K and not over about 120 °C; never with "
            "a flame.",
            "Gloves for the warm part, and know where it goes before it is warm.",
        ),
        "common practice; heating limits from bearing makers' mounting guides, from memory",
    ),
    Caution(
        "lifting",
        (
            "Nobody under the load, no hand between it and what it stands on.",
            "Only eye bolts with a shoulder are pulled at an angle: to 45° at most, and there at a quarter of the "
            "straight load.",
            "The two rating systems of eye bolts differ by about three: read which one is stamped, and never mix.",
            "Sling legs under 30° to the horizontal carry more than the load: refuse, use longer slings or a beam.",
        ),
        "eye bolt tables at boltdepot.com, read; DIN 580, from memory; statics",
    ),
)

CAUTIONS: Final[Mapping[str, Caution]] = MappingProxyType({c.hazard: c for c in _CAUTIONS})
"""Every caution by its hazard."""

_BY_MATERIAL: Final = (
    ("phenolic", "laminate dust"),
    ("FR4", "laminate dust"),
    ("G10", "laminate dust"),
    ("laminate", "laminate dust"),
    ("PTFE", "PTFE"),
    ("titanium", "metal fire"),
    ("magnesium", "metal fire"),
)


def caution(hazard: str) -> Caution:
    """The reminders on a hazard.

    Args:
        hazard: a name of :data:`CAUTIONS`.

    Returns:
        Its texts; print :data:`DEFERS` under them.

    Raises:
        OutOfRange: no such hazard; the message lists those there are.

    Source: each caution's own. The two margins are checked in tests/published/test_quench_tanks.py.

    >>> len(caution("oil quench").texts)
    6
    """
    found = CAUTIONS.get(hazard)
    if found is None:
        raise OutOfRange(f"no cautions on '{hazard}' here; there are {', '.join(CAUTIONS)}")
    return found


def cautions_of_material(material: str) -> tuple[str, ...]:
    """Hazards that come with cutting a material, by words in its name.

    Args:
        material: its name as the user writes it.

    Returns:
        Names in :data:`CAUTIONS`; empty for what has none of its own here, which is no clearance.

    >>> cautions_of_material("FR4 sheet"), cautions_of_material("steel")
    (('laminate dust',), ())
    """
    said = material.casefold()
    return tuple(dict.fromkeys(hazard for word, hazard in _BY_MATERIAL if word.casefold() in said))


def hottest_quench_oil(flash_point_degc: float) -> float:
    """The hottest that quench oil may get: its flash point less the margin, degC.

    Args:
        flash_point_degc: of the oil, from its data sheet, degC.

    Raises:
        OutOfRange: a flash point that leaves nothing over room temperature: no oil to quench in.

    Source: 29 CFR 1910.126(a), with 50 °F as a difference of 27.8 K. Checked in
    tests/published/test_quench_tanks.py.

    >>> round(hottest_quench_oil(180))
    152
    """
    limit = flash_point_degc - FLASH_POINT_MARGIN_K
    if not limit > 20:
        raise OutOfRange(
            f"an oil with a flash point of {flash_point_degc:g} °C is no quench oil; use one made for it"
        )
    return limit


def sling_leg_factor(angle_rad: float) -> float:
    """Tension in a sling leg over its share of the load: 1 / sin θ.

    Args:
        angle_rad: θ, between the leg and the horizontal, rad, from 30° (π/6) to upright.

    Raises:
        OutOfRange: a flatter leg, or no angle of a leg.

    Source: statics.

    >>> round(sling_leg_factor(pi / 4), 3)
    1.414
    """
    if not pi / 6 - 1e-12 <= angle_rad <= pi / 2 + 1e-12:
        raise OutOfRange(
            f"a sling leg at {angle_rad * 180 / pi:.0f}° to the horizontal is refused; from 30° to 90° only: use "
            "longer slings or a beam"
        )
    return 1 / sin(angle_rad)
