"""ASTM E140, standard hardness conversion tables for metals, table 1 (non-austenitic steels).

VIC: hardnessgauge.com, *HRC to Vickers* (34 to 68 HRC).
ALL: phase2plus.com, *Hardness tester conversion chart*, Rockwell C range (20 to 68 HRC: HV, HRA, HBW).
A370: scribd.com document 396149380, *ASTM A370 hardness conversion* (HRC, HV, HRA; its HB column differs by one to
    two points from E140 in a few rows and is not used). HRA under 40 HRC by ALL alone.
RULE: studylib.net document 25241662, E140-02, scope, 1.10 and 1.11: converted values are approximate and are
    rounded to the whole number.
WEB: bmtstrip.com, *Hardness converter*, which says that it follows E140.
Table values are whole HV and HBW and tenths of HRA, so they must agree exactly.
"""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.hardness import convert, interpolated

VIC = """
68:940 67:900 66:865 65:832 64:800 63:772 62:746 61:720 60:697 59:674 58:653 57:633 56:613 55:595 54:577 53:560
52:544 51:528 50:513 49:498 48:484 47:471 46:458 45:446 44:434 43:423 42:412 41:402 40:392 39:382 38:372 37:363
36:354 35:345 34:336
"""
ALL_LOW = "33:327 32:318 31:310 30:302 29:294 28:286 27:279 26:272 25:266 24:260 23:254 22:248 21:243 20:238"
ALL_HBW = """
65:739 64:722 63:705 62:688 61:670 60:654 59:634 58:615 57:595 56:577 55:560 54:543 53:525 52:512 51:496 50:481
49:469 48:455 47:443 46:432 45:421 44:409 43:400 42:390 41:381 40:371 39:362 38:353 37:344 36:336 35:327 34:319
33:311 32:301 31:294 30:286 29:279 28:271 27:264 26:258 25:253 24:247 23:243 22:237 21:231 20:226
"""
HRA = """
68:85.6 67:85.0 66:84.5 65:83.9 64:83.4 63:82.8 62:82.3 61:81.8 60:81.2 59:80.7 58:80.1 57:79.6 56:79.0 55:78.5
54:78.0 53:77.4 52:76.8 51:76.3 50:75.9 49:75.2 48:74.7 47:74.1 46:73.6 45:73.1 44:72.5 43:72.0 42:71.5 41:70.9
40:70.4 39:69.9 38:69.4 37:68.9 36:68.4 35:67.9 34:67.4 33:66.8 32:66.3 31:65.8 30:65.3 29:64.8 28:64.3 27:63.8
26:63.3 25:62.8 24:62.4 23:62.0 22:61.5 21:61.0 20:60.5
"""


def pairs(text: str) -> list[tuple[float, float]]:
    """Pairs written 'given:wanted'."""
    return [(float(a), float(b)) for a, b in (item.split(":") for item in text.split())]


@pytest.mark.parametrize(("hrc", "hv"), pairs(VIC + ALL_LOW))
def test_rockwell_c_to_vickers_and_back(hrc: float, hv: float) -> None:
    """Every row of the table, HRC to HV as VIC and ALL print it, and HV to HRC."""
    assert convert(hrc, "HRC", "HV") == hv
    assert convert(hv, "HV", "HRC") == hrc


@pytest.mark.parametrize(("hrc", "hbw"), pairs(ALL_HBW))
def test_rockwell_c_to_brinell_and_back(hrc: float, hbw: float) -> None:
    """HRC to HBW (carbide ball, 3000 kgf) as ALL prints it, and back."""
    assert convert(hrc, "HRC", "HBW") == hbw
    assert convert(hbw, "HBW", "HRC") == hrc


@pytest.mark.parametrize(("hrc", "hra"), pairs(HRA))
def test_rockwell_c_to_rockwell_a(hrc: float, hra: float) -> None:
    """HRC to HRA as A370 and ALL print it, before rounding; rounded it is a whole number."""
    assert interpolated(hrc, "HRC", "HRA") == pytest.approx(hra, abs=1e-9)
    assert convert(hrc, "HRC", "HRA") == round(hra)


def test_converted_values_are_whole_numbers() -> None:
    """RULE: a converted Rockwell number is rounded to the whole number."""
    assert convert(705, "HV", "HRC") == 60
    assert isinstance(convert(705, "HV", "HRC"), int)


@pytest.mark.parametrize(
    ("value", "given", "wanted"),
    [(68.5, "HRC", "HV"), (19.9, "HRC", "HV"), (941, "HV", "HRC"), (237, "HV", "HRC"), (66, "HRC", "HBW")],
)
def test_outside_the_table_is_refused(value: float, given: str, wanted: str) -> None:
    """The table ends at 20 and 68 HRC, for Brinell at 65 HRC (739 HBW); nothing is extrapolated."""
    with pytest.raises(OutOfRange, match="ASTM E140"):
        convert(value, given, wanted)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("hrc", "misprinted", "true"),
    [(58, 649, 653), (56, 614, 613), (43, 421, 423), (42, 409, 412), (21, 238, 243), (20, 228, 238)],
)
def test_a_chart_that_strays_from_its_standard(hrc: float, misprinted: int, true: int) -> None:
    """WEB prints 649, 614, 421, 409, 238 and 228 HV for 58, 56, 43, 42, 21 and 20 HRC; E140 does not."""
    assert convert(hrc, "HRC", "HV") == true != misprinted
