"""ISO 286-1:2010 and ISO 286-2:2010, limits and fits, as printed in books and catalogues.

MD: K. L. Narayana, P. Kannaiah, K. Venkata Reddy, *Machine Drawing*, chapter 15, tables 15.1 to 15.3 (pp. 213
    to 221).
MH: *Machinery's Handbook*, 31st edition, p. 768, table 6a (holes).
TC: DME, *Technical Reference, Tables for Determining Metric Tolerances*, tables 5 and 6 (sizes over 500 mm;
    holes J to R).
WEB: mechguru.com, *DIN ISO 286 standard tolerance zone size table* (IT5 to IT11 over 500 mm).
FIX: usefastener.com, *Values of the fundamental deviations for holes N to ZC, EN ISO 286-1*.
Table values are whole or tenths of micrometres, so they must agree exactly.
"""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.limits_and_fits import fit, fundamental_deviation, limits, standard_tolerance

EXACT = 1e-9

# MD table 15.1: upper end of the step, then IT01 IT0 IT1 ... IT11, µm
STANDARD_TOLERANCES = """
3   .3 .5 .8 1.2 2 3 4 6 10 14 25 40 60
6   .4 .6 1 1.5 2.5 4 5 8 12 18 30 48 75
10  .4 .6 1 1.5 2.5 4 6 9 15 22 36 58 90
18  .5 .8 1.2 2 3 5 8 11 18 27 43 70 110
30  .6 1 1.5 2.5 4 6 9 13 21 33 52 84 130
50  .6 1 1.5 2.5 4 7 11 16 25 39 62 100 160
80  .8 1.2 2 3 5 8 13 19 30 46 74 120 190
120 1 1.5 2.5 4 6 10 15 22 35 54 87 140 220
180 1.2 2 3.5 5 8 12 18 25 40 63 100 160 250
250 2 3 4.5 7 10 14 20 29 46 72 115 185 290
315 2.5 4 6 8 12 16 23 32 52 81 130 210 320
400 3 5 7 9 13 18 25 36 57 89 140 230 360
500 4 6 8 10 15 20 27 40 63 97 155 250 400
"""

# WEB: upper end of the step, then IT5 ... IT11, mm
LARGE_TOLERANCES = """
630  0.032 0.044 0.070 0.110 0.175 0.280 0.440
800  0.036 0.050 0.080 0.125 0.200 0.320 0.500
1000 0.040 0.056 0.090 0.140 0.230 0.360 0.560
1250 0.047 0.066 0.105 0.165 0.260 0.420 0.660
1600 0.055 0.078 0.125 0.195 0.310 0.500 0.780
2000 0.065 0.092 0.150 0.230 0.370 0.600 0.920
2500 0.078 0.110 0.175 0.280 0.440 0.700 1.100
3150 0.096 0.135 0.210 0.330 0.540 0.860 1.350
"""

# upper end of the step, delta of grades 3 to 8, µm: MD table 15.3 for the last four, else differences of IT
DELTA = """
6 1 1.5 1 3 4 6
10 1 1.5 2 3 6 7
18 1 2 3 3 7 9
30 1.5 2 3 4 8 12
50 1.5 3 4 5 9 14
80 2 3 5 6 11 16
120 2 4 5 7 13 19
180 3 4 6 7 15 23
250 3 4 6 9 17 26
315 4 4 7 9 20 29
400 4 5 7 11 21 32
500 5 5 7 13 23 34
"""

# size, class, upper, lower, µm; from MD tables 15.1 to 15.3 and MH table 6a
SPOTS = """
6 h5 0 -5; 6 g5 -4 -9; 8 f7 -13 -28; 12 e8 -32 -59; 20 d9 -65 -117; 50 g6 -9 -25; 150 g6 -14 -39; 150 h6 0
-25; 200 h7 0 -46; 200 f7 -50 -96; 300 e8 -110 -191; 25 k6 15 2; 120 k6 25 3; 200 k6 33 4; 20 m6 21 8; 45 m5
20 9; 250 m6 46 17; 20 n6 28 15; 63 n6 39 20; 5 p6 20 12; 30 p6 35 22; 120 p6 59 37; 15 r6 34 23; 70 r6 62 43;
160 r6 90 65; 10 s6 32 23; 50 s6 59 43; 90 s6 93 71; 55 t6 85 66; 45 u6 86 70; 100 u6 146 124; 25 x6 77 64; 80
js5 6.5 -6.5; 14 zb9 133 90; 180 zc8 1063 1000; 25 H7 21 0; 10 H6 9 0; 100 H8 54 0; 500 H6 40 0; 100 F7 71 36;
100 G6 34 12; 60 D9 174 100; 16 E8 59 32; 150 F8 106 43; 8 K7 5 -10; 40 K7 7 -18; 300 K7 16 -36; 40 M7 0 -25;
200 M7 0 -46; 40 N7 -8 -33; 200 N8 -5 -77; 200 N9 0 -115; 400 N7 -16 -73; 8 P7 -9 -24; 25 P7 -14 -35; 40 P7
-17 -42; 200 P6 -41 -70; 200 P8 -50 -122; 300 P7 -36 -88; 200 R7 -60 -106; 450 S7 -209 -272; 500 U7 -517 -580;
3 P7 -6 -16; 300 M6 -9 -41
"""

# TC table 6: step's ends, then J6 J7 J8 K6 K7 K8 M6 M7 M8 N6 N7 N8 as upper/lower, µm
CATALOGUE_HOLES = """
1 3     2/-4 4/-6 6/-8 0/-6 0/-10 0/-14 -2/-8 -2/-12 -2/-16 -4/-10 -4/-14 -4/-18
3 6     5/-3 6/-6 10/-8 2/-6 3/-9 5/-13 -1/-9 0/-12 2/-16 -5/-13 -4/-16 -2/-20
6 10    5/-4 8/-7 12/-10 2/-7 5/-10 6/-16 -3/-12 0/-15 1/-21 -7/-16 -4/-19 -3/-25
10 18   6/-5 10/-8 15/-12 2/-9 6/-12 8/-19 -4/-15 0/-18 2/-25 -9/-20 -5/-23 -3/-30
18 30   8/-5 12/-9 20/-13 2/-11 6/-15 10/-23 -4/-17 0/-21 4/-29 -11/-24 -7/-28 -3/-36
30 50   10/-6 14/-11 24/-15 3/-13 7/-18 12/-27 -4/-20 0/-25 5/-34 -12/-28 -8/-33 -3/-42
50 80   13/-6 18/-12 28/-18 4/-15 9/-21 14/-32 -5/-24 0/-30 5/-41 -14/-33 -9/-39 -4/-50
80 120  16/-6 22/-13 34/-20 4/-18 10/-25 16/-38 -6/-28 0/-35 6/-48 -16/-38 -10/-45 -4/-58
120 180 18/-7 26/-14 41/-22 4/-21 12/-28 20/-43 -8/-33 0/-40 8/-55 -20/-45 -12/-52 -4/-67
180 250 22/-7 30/-16 47/-25 5/-24 13/-33 22/-50 -8/-37 0/-46 9/-63 -22/-51 -14/-60 -5/-77
"""
CATALOGUE_CLASSES = "J6 J7 J8 K6 K7 K8 M6 M7 M8 N6 N7 N8".split()

# TC table 6, R7: upper end of the step, upper and lower deviation, µm
CATALOGUE_R7 = """
3 -10 -20; 6 -11 -23; 10 -13 -28; 18 -16 -34; 30 -20 -41; 50 -25 -50; 65 -30 -60; 80 -32 -62; 100 -38 -73;
120 -41 -76; 140 -48 -88; 160 -50 -90; 180 -53 -93; 200 -60 -106; 225 -63 -109; 250 -67 -113; 280 -74 -126
"""

# TC table 5: a size in the step, letter, deviation, µm
LARGE_DEVIATIONS = """
530 d -260; 530 e -145; 530 f -76; 530 g -22; 530 k 0; 530 m 26; 530 n 44; 530 p 78; 530 r 150; 530 s 280; 530
t 400; 530 u 600; 950 d -320; 950 e -170; 950 f -86; 950 g -26; 950 m 34; 950 n 56; 950 p 100; 950 r 220; 950
s 470; 950 t 680; 950 u 1050; 3150 d -520; 3150 e -290; 3150 f -145; 3150 g -38; 3150 m 76; 3150 n 135; 3150 p
240; 3150 r 580; 3150 s 1400; 3150 t 2100; 3150 u 3200; 1300 r 300; 1300 s 640; 1700 t 1200; 2300 u 2500
"""


def items(text: str) -> list[list[str]]:
    """The words of each item, items parted by semicolons."""
    return [item.split() for item in text.replace("\n", " ").split(";")]


def rows(text: str) -> list[list[str]]:
    """The words of each line."""
    return [line.split() for line in text.strip().splitlines()]


@pytest.mark.parametrize("row", rows(STANDARD_TOLERANCES), ids=lambda row: row[0])
def test_standard_tolerances_up_to_500_mm(row: list[str]) -> None:
    """IT01 to IT11 of each step up to 500 mm are those of MD table 15.1."""
    grades = ["01", "0", *(str(n) for n in range(1, 12))]
    found = [standard_tolerance(float(row[0]), grade) * 1000 for grade in grades]
    assert found == pytest.approx([float(v) for v in row[1:]], abs=EXACT)


def test_standard_tolerance_of_grade_13() -> None:
    """IT13 up to 500 mm is 140 180 220 270 330 390 460 540 630 720 810 890 970 µm (MD table 15.1)."""
    printed = [140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970]
    sizes = [int(row[0]) for row in rows(STANDARD_TOLERANCES)]
    assert [standard_tolerance(s, 13) * 1000 for s in sizes] == pytest.approx(printed, abs=EXACT)


@pytest.mark.parametrize("row", rows(LARGE_TOLERANCES), ids=lambda row: row[0])
def test_standard_tolerances_over_500_mm(row: list[str]) -> None:
    """IT5 to IT11 of each step over 500 mm are those of WEB."""
    found = [standard_tolerance(float(row[0]), grade) for grade in range(5, 12)]
    assert found == pytest.approx([float(v) for v in row[1:]], abs=EXACT)


@pytest.mark.parametrize("row", rows(DELTA), ids=lambda row: row[0])
def test_delta_of_close_holes(row: list[str]) -> None:
    """N3 to N8 and, up to grade 7, P stand delta above their mirrored shafts, delta as in MD table 15.3."""
    size = float(row[0])
    for grade, delta in zip(range(3, 9), row[1:], strict=True):
        for hole, shaft in [("N", "n"), ("P", "p")]:
            if hole == "P" and grade == 8:
                continue
            moved = fundamental_deviation(size, hole, grade) + fundamental_deviation(size, shaft, grade)
            assert moved * 1000 == pytest.approx(float(delta), abs=EXACT)


@pytest.mark.parametrize(("size", "tolerance_class", "upper", "lower"), items(SPOTS))
def test_limits_of_one_class(size: str, tolerance_class: str, upper: str, lower: str) -> None:
    """Upper and lower deviation of a class at one size, as printed in MD and MH."""
    expected = (float(lower) / 1000, float(upper) / 1000)
    assert limits(float(size), tolerance_class) == pytest.approx(expected, abs=EXACT)


@pytest.mark.parametrize("row", rows(CATALOGUE_HOLES), ids=lambda row: row[1])
def test_transition_holes_of_a_catalogue(row: list[str]) -> None:
    """J, K, M and N of grades 6 to 8 are those of TC table 6, at both ends of every step up to 250 mm."""
    for size in (float(row[0]) + 0.001, float(row[1])):
        for tolerance_class, cell in zip(CATALOGUE_CLASSES, row[2:], strict=True):
            upper, lower = (float(v) / 1000 for v in cell.split("/"))
            assert limits(size, tolerance_class) == pytest.approx((lower, upper), abs=EXACT), tolerance_class


@pytest.mark.parametrize(("size", "upper", "lower"), items(CATALOGUE_R7))
def test_press_holes_of_a_catalogue(size: str, upper: str, lower: str) -> None:
    """R7 up to 280 mm is that of TC table 6."""
    assert limits(float(size), "R7") == pytest.approx((float(lower) / 1000, float(upper) / 1000), abs=EXACT)


@pytest.mark.parametrize(("size", "letter", "deviation"), items(LARGE_DEVIATIONS))
def test_fundamental_deviations_over_500_mm(size: str, letter: str, deviation: str) -> None:
    """Deviations over 500 mm are those of TC table 5, and holes mirror them without delta."""
    expected = float(deviation) / 1000
    assert fundamental_deviation(float(size), letter, 7) == pytest.approx(expected, abs=EXACT)
    assert fundamental_deviation(float(size), letter.upper(), 7) == pytest.approx(-expected, abs=EXACT)


def test_the_u_row_that_one_book_misprints() -> None:
    """U over 200 up to 225 mm is -258 µm (FIX); the -256 of MD lies off the formula."""
    assert fundamental_deviation(210, "U", 8) == pytest.approx(-0.258, abs=EXACT)


def test_delta_example_of_the_book() -> None:
    """P7 over 18 up to 30 mm: delta 8, so ES = -14 µm (MD p. 221, example under table 15.3)."""
    assert fundamental_deviation(18.5, "P", 7) == pytest.approx(-0.014, abs=EXACT)


@pytest.mark.parametrize(
    ("size", "classes", "kind", "least", "greatest"),
    [
        (25, "H7/g6", "clearance", 7, 41),
        (25, "H7/p6", "interference", -35, -1),
        (50, "H7/k6", "transition", -18, 23),
        (40, "H7/s6", "interference", -59, -18),
        (100, "H7/u6", "interference", -146, -89),
    ],
)
def test_fits(size: float, classes: str, kind: str, least: float, greatest: float) -> None:
    """Clearances of five common fits, differences of the printed limits (MD), µm."""
    found = fit(size, classes)
    assert found.kind == kind
    assert found.clearance == pytest.approx((least / 1000, greatest / 1000), abs=EXACT)


def test_symmetrical_classes_are_not_rounded() -> None:
    """40JS7 is ± 12.5 µm by the 2010 text; the 1988 note allowed ± 12."""
    assert limits(40, "JS7") == pytest.approx((-0.0125, 0.0125), abs=EXACT)


def test_what_the_standard_leaves_out_up_to_1_mm() -> None:
    """Up to 1 mm there are no a, b, A, B, no N above IT8 and no IT14 to IT18 (MD, notes under its tables)."""
    for tolerance_class in ["a11", "B11", "N9", "IT14", "h15"]:
        with pytest.raises(OutOfRange):
            limits(1, tolerance_class)
        limits(1.001, tolerance_class)
