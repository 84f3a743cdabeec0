"""What makers and handbooks print on the heat treatment of the steels a small shop uses, source by source.

Data only; :mod:`loopwright.handbook.heat_treatment` merges them. A tempering source keeps its own numbers:
one value where it prints one, a pair where it prints a range. Nothing is averaged. Makers differ by up to 4
HRC for one steel and one temperature, and each of them is right about its own melts and test pieces.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from loopwright.handbook.bands import Band
from loopwright.handbook.hardness import interpolated

Quench = Literal["oil", "water", "air", "none"]


def celsius(fahrenheit: float) -> float:
    """A temperature in degC; never a difference, which has no offset."""
    return (fahrenheit - 32) / 1.8


@dataclass(frozen=True, slots=True)
class TemperingSource:
    """One maker's or handbook's tempering table.

    Attributes:
        source: who prints it.
        rows: (temperature, least hardness, greatest hardness) in degC, HRC, HRC, the coolest first.
    """

    source: str
    rows: tuple[tuple[float, float, float], ...]


def _source(source: str, unit: str, text: str) -> TemperingSource:
    """Rows written '400 62; 450 60-62', in degF or degC; hardness as HRC, or as HBW with 'HBW' in the unit."""
    rows = []
    for item in text.replace("\n", " ").split(";"):
        at, said = item.split()
        ends = [float(word) for word in said.split("-")]
        hrc = [interpolated(end, "HBW", "HRC") for end in ends] if "HBW" in unit else ends
        degc = celsius(float(at)) if unit.startswith("F") else float(at)
        rows.append((degc, hrc[0], hrc[-1]))
    return TemperingSource(source, tuple(rows))


_DIAMOND: Final = (
    "Diamond Metals data sheet (half inch test pieces; thicker ones come out several points lower)"
)

TEMPERING: Final[Mapping[str, tuple[TemperingSource, ...]]] = MappingProxyType(
    {
        "tool steel O1": (
            _source(
                "Eastern Tool Steel data sheet, oil from 1475 °F",
                "F",
                "300 64; 350 63; 400 62; 450 61; 500 59; 600 56; 700 52; 800 49; 900 44; 1000 40",
            ),
            _source(
                _DIAMOND,
                "F",
                """300 63; 350 62.5; 400 62; 500 60; 600 57; 700 53; 800 50; 900 47; 1000 44; 1100 39;
                1200 31""",
            ),
            _source(
                "artmetal.com O1 page",
                "F",
                "300 63-65; 350 62-64; 400 60-63; 450 60-62; 500 58-60; 600 55-57; 700 52-54; 800 48-50",
            ),
            _source("aobosteel.com O1 tempering guide", "F", "350 62-63; 400 62; 500 60"),
        ),
        "tool steel A2": (
            _source(
                "Eastern Tool Steel data sheet, air from 1775 °F",
                "F",
                "300 62; 400 61; 500 60; 600 59; 700 58; 800 58; 900 58; 1000 57; 1100 51",
            ),
            _source(
                "Buffalo Precision data sheet (one inch test pieces)",
                "F",
                "600 56; 800 56; 1100 50; 1200 43; 1300 34",
            ),
            _source("noonsknives.blogspot.ca A2 page", "F", "350 62; 1000 56"),
            _source("industrialheating.com, hardness levels for A2", "F", "1175 46; 1200 44; 1250 42"),
        ),
        "tool steel D2": (
            _source(
                "rajmetals.com D2 page",
                "C",
                "150 61-62; 200 60-61; 250 59-60; 300 56-57; 350 55-56; 400 55-56",
            ),
            _source("sharpimpex.in D2 page, air from 1010 °C", "C", "204 61; 537 54"),
            _source(
                "steelby.com, the near steel X12MF, from 1000 to 1030 °C",
                "C",
                "190 61-63; 210 61-63; 320 58-59; 350 58-59",
            ),
            _source("from memory: data sheets, air from 1010 °C", "C", "480 57-59; 540 53-56; 595 47-50"),
        ),
        "alloy steel 4140": (
            _source(
                _DIAMOND,
                "F",
                """400 57.8; 500 53.4; 600 49.5; 700 46.1; 800 42.9; 900 38.8; 1000 34.1; 1100 31.1;
                1200 27.7; 1300 23.5""",
            ),
            _source(
                "Precision Machined Products Association, heat treat notes (HB, converted by ASTM E140)",
                "F HBW",
                "800 397; 900 367; 1000 335; 1100 305; 1200 256",
            ),
        ),
        "carbon steel 1045": (
            _source(
                "akrostal.pl C45U page, water from 810 °C",
                "C",
                "180 54; 200 54; 250 52; 300 48; 350 45; 400 42; 450 39; 500 35",
            ),
            _source(
                "from memory: ASM table of tempered carbon steels, 1040 and 1050, two hours",
                "C",
                """205 51-52; 260 48-50; 315 46; 370 42-44; 425 37-40; 480 30-37; 540 27-31;
                595 22-29""",
            ),
        ),
        "case hardening steel 8620": (
            _source(
                "Jorgensen steel book, told at eng-tips.com (case, oil from 1700 °F)", "F", "300 63; 450 58"
            ),
            _source(
                "hauckht.se, case hardening (58 to 62 HRC; its temperatures from memory)",
                "F",
                "300 58-62; 400 58-62",
            ),
        ),
    }
)
"""Tempering tables by steel. For the case hardening steel the hardness is that of the case."""


@dataclass(frozen=True, slots=True)
class Treatment:
    """How a steel is hardened.

    Attributes:
        name: the steel, or the process.
        harden_degc: furnace temperature to harden from, degC (for nitriding: of nitriding).
        soak_min_per_25mm: minutes at heat for each 25 mm of the thickest section; None where time is set by
            the depth of the case.
        least_soak_min: not less than this, minutes.
        quench: medium.
        quench_to_degc: take out and temper when the part is down to this, degC; None without a quench.
        full_section_mm: up to the low end it hardens through; over the high end it does not, mm; None where
            only a case is hard.
        as_quenched_hrc: what the test must show before tempering (surface), HRC.
        temper_h_per_25mm: hours of tempering for each 25 mm of section; None when it is not tempered.
        least_temper_h: not less than this, hours.
        tempers: how many times it is tempered.
        brittle_degc: tempering range that makes it brittle; None where none is known.
        cautions: names in :mod:`loopwright.handbook.cautions`.
    """

    name: str
    harden_degc: Band
    soak_min_per_25mm: Band | None
    least_soak_min: float
    quench: Quench
    quench_to_degc: Band | None
    full_section_mm: Band | None
    as_quenched_hrc: Band
    temper_h_per_25mm: Band | None
    least_temper_h: float
    tempers: int
    brittle_degc: Band | None
    cautions: tuple[str, ...]


_EASTERN: Final = "Eastern Tool Steel data sheet"
_BUFFALO: Final = "Buffalo Precision data sheet"
_BRITTLE: Final = "from memory: tempered martensite embrittlement"

TREATMENTS: Final[Mapping[str, Treatment]] = MappingProxyType(
    {
        t.name: t
        for t in (
            Treatment(
                "tool steel O1",
                Band(celsius(1450), celsius(1500), f"{_EASTERN} and {_BUFFALO}"),
                Band(20, 30, f"Star Tool Supply (20) and {_BUFFALO} (30 minutes per inch)"),
                20,
                "oil",
                Band(celsius(150), celsius(200), _BUFFALO),
                Band(50, 75, "konsond.com (about 2 in) and Eastern Tool Steel (under 3 in)"),
                Band(64, 65, f"{_BUFFALO}; Eastern Tool Steel and Diamond Metals: 65"),
                Band(1, 2, "Diamond Metals and Buffalo Precision data sheets"),
                2,
                1,
                None,
                ("oven", "oil quench", "quench liquid"),
            ),
            Treatment(
                "tool steel A2",
                Band(950, celsius(1800), f"aobosteel.com, {_EASTERN}, {_BUFFALO}"),
                Band(30, 60, f"{_EASTERN} (30 to 45 min) and {_BUFFALO} (45 to 60 minutes per inch)"),
                30,
                "air",
                Band(celsius(125), celsius(150), "noonsknives.blogspot.ca; Buffalo Precision: 150 °F"),
                Band(100, 125, "from memory"),
                Band(64, 65, f"{_EASTERN} (64), aobosteel.com (65)"),
                Band(1, 2, "noonsknives.blogspot.ca (1) and Buffalo Precision (2 hours per inch)"),
                2,
                2,
                None,
                ("oven",),
            ),
            Treatment(
                "tool steel D2",
                Band(1000, 1030, "rajmetals.com; sharpimpex.in and meusburger.com lie between"),
                Band(20, 60, "sharpimpex.in (20 to 45 min) and scribd 39510928 (an hour per inch)"),
                20,
                "air",
                Band(celsius(125), celsius(150), "scribd 431521162"),
                Band(100, 150, "scribd 431521162 (4 and 6 in)"),
                Band(63, 65, "meusburger.com, 1.2379 from 1020 °C"),
                Band(1, 1, "rajmetals.com and scribd 431521162"),
                2,
                2,
                None,
                ("oven",),
            ),
            Treatment(
                "alloy steel 4140",
                Band(celsius(1500), celsius(1600), "Diamond Metals; Eastern Tool Steel from 1550 °F"),
                Band(10, 30, f"{_EASTERN} (10 to 30 min) and Diamond Metals (half an hour per inch)"),
                10,
                "oil",
                Band(celsius(125), celsius(150), _EASTERN),
                Band(
                    19,
                    38,
                    "a forum (3/4 in, by its Jominy band) and a trade table (1.5 in), seen as copies",
                ),
                Band(54, 60, f"{_EASTERN} (54), Diamond Metals (60.1)"),
                Band(1, 1, f"{_EASTERN}; Diamond Metals the same"),
                2,
                1,
                Band(230, 370, _BRITTLE),
                ("oven", "oil quench", "quench liquid"),
            ),
            Treatment(
                "carbon steel 1045",
                Band(800, 860, "meusburger.com C45U (800 to 830); Narayana, table 3, 45C8 (830 to 860)"),
                Band(20, 30, "common practice"),
                15,
                "water",
                Band(20, 60, "common practice"),
                Band(6, 15, "a trade table seen as a copy (1/4 in, oil); meusburger.com C45U (15 mm)"),
                Band(54, 58, "akrostal.pl C45U (54), meusburger.com C45U (58)"),
                Band(1, 1.25, "common practice; meusburger.com C45U (1 h per 20 mm)"),
                2,
                1,
                Band(230, 370, _BRITTLE),
                ("oven", "quench liquid"),
            ),
            Treatment(
                "case hardening steel 8620",
                Band(celsius(1650), celsius(1700), "aviationmetals.com (carburise, then quench)"),
                None,
                0,
                "oil",
                Band(50, 70, "common practice"),
                None,
                Band(63, 66, "from memory; tempered at 300 °F it is 63 (Jorgensen)"),
                Band(1, 1, "common practice"),
                2,
                1,
                None,
                ("oven", "oil quench", "quench liquid", "furnace gas"),
            ),
            Treatment(
                "nitriding",
                Band(500, 550, "sarlin.se, nitriding"),
                None,
                0,
                "none",
                None,
                None,
                Band(50, 58, "from memory, for 4140; a part asked for at 52 to 55 HRC: eng-tips.com 269295"),
                None,
                0,
                0,
                None,
                ("oven", "furnace gas"),
            ),
        )
    }
)
"""Every treatment by its name."""

OTHER_NAMES: Final = """
tool steel O1: O1; O-1; gauge plate; ground flat stock; oil hardening tool steel; 1.2510
tool steel A2: A2; A-2; air hardening tool steel; 1.2363
tool steel D2: D2; D-2; 1.2379
alloy steel 4140: 4140; alloy steel; chromium molybdenum steel; 42CrMo4; low-alloy steel
carbon steel 1045: 1045; medium carbon steel; normalised steel; C45
case hardening steel 8620: 8620; case hardening steel; carburising steel
nitriding: nitriding steel; nitrided steel; nitrided alloy steel
"""
"""Usual other names, one treatment a line."""


@dataclass(frozen=True, slots=True)
class StressRelief:
    """How stresses are let out before the last cuts, without hardening.

    Attributes:
        material: what it is for.
        degc: furnace temperature, degC.
        hours_per_25mm: hours at heat for each 25 mm of the thickest section.
        least_hours: not less than this.
        cooling: how it is cooled.
        note: what it costs.
    """

    material: str
    degc: Band
    hours_per_25mm: Band
    least_hours: float
    cooling: str
    note: str


_IN_FURNACE: Final = "in the furnace to under 300 °C, then in still air (common practice)"
_ROUGH: Final = "after roughing, before finishing; leave stock for the warp and for the scale"

STRESS_RELIEFS: Final[Mapping[str, StressRelief]] = MappingProxyType(
    {
        s.material: s
        for s in (
            StressRelief(
                "normalised steel",
                Band(550, 650, "trade page: 1025 to 1200 °F for unalloyed and low-alloy steel"),
                Band(1, 1, "common practice"),
                1,
                _IN_FURNACE,
                _ROUGH,
            ),
            StressRelief(
                "cold drawn steel",
                Band(celsius(800), celsius(1200), "industrialheating.com, Why is stress relieving necessary"),
                Band(1, 1, "common practice"),
                1,
                _IN_FURNACE,
                f"{_ROUGH}; the hotter, the more of the strength of cold drawing is lost",
            ),
            StressRelief(
                "grey cast iron",
                Band(
                    500, 565, "cncastingfactory.com (500 to 550 °C); dffoundry.com (550); over, from memory"
                ),
                Band(1, 1, "common practice"),
                2,
                "in the furnace, 20 to 40 K an hour, to under 200 °C (dffoundry.com)",
                f"{_ROUGH}; heat slowly too; over 565 °C it loses hardness",
            ),
            StressRelief(
                "tool steel O1",
                Band(celsius(1100), celsius(1300), "Eastern Tool Steel; Buffalo Precision (1250 °F) within"),
                Band(1, 2, "Buffalo Precision: two hours per inch; the low end common practice"),
                2,
                "slowly, in the furnace if it can be (Buffalo Precision)",
                f"{_ROUGH}; annealed steel only: hardened steel is only ever heated under its temper",
            ),
            StressRelief(
                "tool steel A2",
                Band(celsius(1200), celsius(1250), "Buffalo Precision and industrialheating.com"),
                Band(1, 2, "industrialheating.com (1) and Buffalo Precision (2 hours per inch)"),
                2,
                "slowly, in the furnace if it can be (Buffalo Precision)",
                f"{_ROUGH}; annealed steel only: hardened steel is only ever heated under its temper",
            ),
            StressRelief(
                "tool steel D2",
                Band(650, 700, "rajmetals.com (up to 700 °C); the low end from memory"),
                Band(1, 2, "common practice"),
                2,
                "slowly (rajmetals.com)",
                f"{_ROUGH}; annealed steel only: hardened steel is only ever heated under its temper",
            ),
            StressRelief(
                "alloy steel 4140",
                Band(
                    celsius(1100),
                    celsius(1300),
                    "Eastern Tool Steel, annealed; its 740 °C for 1300 °F is a slip",
                ),
                Band(1, 1, "common practice"),
                2,
                "in still air (Eastern Tool Steel)",
                f"{_ROUGH}; hardened bar: 30 to 55 K under its last temper (Eastern Tool Steel)",
            ),
        )
    }
)
"""Stress relief by material."""

STRESS_RELIEF_NAMES: Final = """
normalised steel: steel; normalised; medium carbon steel; hot rolled steel; carbon steel 1045; low carbon steel
cold drawn steel: cold rolled steel; bright steel; cold drawn
grey cast iron: cast iron; grey iron
tool steel O1: O1; O1 annealed; gauge plate; ground flat stock
tool steel A2: A2; A2 annealed
tool steel D2: D2; D2 annealed
alloy steel 4140: 4140; alloy steel; chromium molybdenum steel
"""
