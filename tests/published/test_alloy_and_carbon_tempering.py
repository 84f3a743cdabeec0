"""4140, 1045 and 8620: hardening and tempering as printed.

DIAMOND: Diamond Metals, 4140 annealed (diamondmetals.com), half inch test pieces.
PMPA: Precision Machined Products Association, heat treat notes (pmpa.org): 4140 in Brinell.
EASTERN: Eastern Tool Steel Service, 4140 HT data sheet (easterntoolsteel.com/4140-ht-tgp).
AKRO: akrostal.pl, C45U (the European 1045), water from 810 °C.
MEUS: meusburger.com, 1.1730 (C45U).
ASM: table of tempered carbon steels, rows 1040 and 1050, from memory; its row 1095 was seen at el-zet.pl and agrees
    with what was recalled.
JORG: Jorgensen steel book, told at eng-tips.com, thread 340771: the case of 8620.
HAUCK: hauckht.se, *Case hardening*.
"""

import pytest

from loopwright.handbook.hardness import convert
from loopwright.handbook.heat_treatment import hardens, stress_relief, tempered_hardness, treatment

F_4140 = "400:57.8 500:53.4 600:49.5 700:46.1 800:42.9 900:38.8 1000:34.1 1100:31.1 1200:27.7 1300:23.5"
HB_4140 = "800:397 900:367 1000:335 1100:305 1200:256"
C_1045 = "180:54 200:54 250:52 300:48 350:45 400:42 450:39 500:35"
ASM_1045 = (
    "205:51 205:52 260:48 260:50 315:46 370:42 370:44 425:37 425:40 480:30 480:37 540:27 540:31 595:22 595:29"
)


def printed(text: str) -> list[tuple[float, float]]:
    """Pairs of temperature and hardness."""
    return [(float(a), float(b)) for a, b in (item.split(":") for item in text.split())]


@pytest.mark.parametrize(("degf", "hrc"), printed(F_4140))
def test_4140_in_rockwell(degf: float, hrc: float) -> None:
    """DIAMOND's tempering table lies in the band."""
    assert tempered_hardness("4140", (degf - 32) / 1.8).holds(hrc)


@pytest.mark.parametrize(("degf", "hb"), printed(HB_4140))
def test_4140_in_brinell(degf: float, hb: float) -> None:
    """PMPA's table, converted by ASTM E140 to whole HRC, lies within half a point of the band."""
    band = tempered_hardness("4140", (degf - 32) / 1.8)
    assert band.low - 0.5 <= convert(hb, "HBW", "HRC") <= band.high + 0.5


@pytest.mark.parametrize(("degc", "hrc"), printed(f"{C_1045} {ASM_1045}"))
def test_1045_in_the_band(degc: float, hrc: float) -> None:
    """AKRO (read) and ASM (from memory) lie in the band."""
    assert tempered_hardness("1045", degc).holds(hrc)


@pytest.mark.parametrize(("degf", "hrc"), [(300, 63), (450, 58)])
def test_the_case_of_8620(degf: float, hrc: float) -> None:
    """JORG: the case is 63 HRC tempered at 300 °F and 58 HRC at 450 °F."""
    assert tempered_hardness("8620", (degf - 32) / 1.8).holds(hrc)


def test_case_hardened_parts_are_58_to_62() -> None:
    """HAUCK: 58 to 62 HRC after hardening and tempering."""
    band = tempered_hardness("8620", 175)
    assert band.holds(58)
    assert band.holds(62)


def test_hardening_as_printed() -> None:
    """EASTERN: 4140 from 1550 to 1600 °F in oil to 54 HRC; MEUS: C45U from 800 to 830 °C to 58 HRC."""
    alloy, carbon = treatment("4140"), treatment("1045")
    assert alloy.quench == "oil"
    assert alloy.harden_degc.holds((1550 - 32) / 1.8)
    assert alloy.harden_degc.high == pytest.approx((1600 - 32) / 1.8)
    assert alloy.as_quenched_hrc.holds(54)
    assert carbon.harden_degc.holds(800)
    assert carbon.harden_degc.holds(830)
    assert carbon.as_quenched_hrc.holds(58)


def test_1045_hardens_through_to_15_mm_at_most() -> None:
    """MEUS: through-hardening thickness of C45U 15 mm at most."""
    assert hardens("1045", 15) == "doubtful"
    assert hardens("1045", 16) == "skin only"


def test_a_sheet_that_converts_its_stress_relief_wrongly() -> None:
    """EASTERN prints 1100 to 1300 °F as 595 to 740 °C; 1300 °F is 704 °C."""
    low, high, _ = stress_relief("4140").degc
    assert low == pytest.approx(593, abs=0.5)
    assert high == pytest.approx(704, abs=0.5)
