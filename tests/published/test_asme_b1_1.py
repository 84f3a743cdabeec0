"""ASME B1.1, limits of size of Unified threads, as worked out and as tabulated.

STEPS: *Machinery's Handbook*, 31st edition, section *Unified screw threads*, tables 3 and 4: ½-28 UNEF-2A and -2B
    step by step (online.flippingbook.com/view/954046886/624 to 627).
TABLE: *Machinery's Handbook*, 27th edition, p. 1755, table 3, *Standard series* (2 1/2-4 UNC); the same table from #0
    to #3 and 15/16-20 UNEF at efunda.com, *Unified screw threads*.
SMALL: microadvances.com/drillchart.htm, *Unified screw threads, class 2A and 2B*, #0 to #12.
INTERNAL: scribd.com, document 395466526, *Internal thread dimensions for UNC screw thread*, class 2B. Five of its cells
    are misprinted; see test_thread_charts.py.
GAUGES: ISCAR, *Reamers and taps*, user guide 2022, p. 61: greatest pitch diameter 2B and 3B of UNF, mm.
RINGS: maybellehectorlolss1.web.app, *Thread ring gauge specification*: GO and NOT GO, 9/16 and 5/8, class 2A and 3A.
AREAS: *Machinery's Handbook*, 31st edition, p. 1978, table 4a: basic sizes and stress areas of UNC.
From memory: the allowances of all UNC and UNF from 1/4, and 3B of #8-32, #10-32, 1/4-20, 1/2-13.
Limits are printed to 0.0001 in (minor 2B 0.001), and must agree exactly unless the test says otherwise.
"""

import pytest

from loopwright.handbook.threads import limits, profile, stress_area, thread
from loopwright.handbook.threads_unified import pitch_diameter_tolerance

INCH = 25.4
HALF_DIGIT = 0.00005

# thread and class, allowance, major max min, pitch max min, then nut class, minor max min, pitch max min
TABLE = """
#0-80 2A .0005 .0595 .0563 .0514 .0496 2B .0514 .0465 .0542 .0519
#0-80 3A 0 .0600 .0568 .0519 .0506 3B .0514 .0465 .0536 .0519
#1-64 2A .0006 .0724 .0686 .0623 .0603 2B .0623 .0561 .0655 .0629
#1-64 3A 0 .0730 .0692 .0629 .0614 3B .0623 .0561 .0648 .0629
#1-72 2A .0006 .0724 .0689 .0634 .0615 2B .0635 .0580 .0665 .0640
#1-72 3A 0 .0730 .0695 .0640 .0626 3B .0635 .0580 .0659 .0640
#2-56 2A .0006 .0854 .0813 .0738 .0717 2B .0737 .0667 .0772 .0744
#2-56 3A 0 .0860 .0819 .0744 .0728 3B .0737 .0667 .0765 .0744
#2-64 2A .0006 .0854 .0816 .0753 .0733 2B .0753 .0691 .0786 .0759
#2-64 3A 0 .0860 .0822 .0759 .0744 3B .0753 .0691 .0779 .0759
#3-48 2A .0007 .0983 .0938 .0848 .0825 2B .0845 .0764 .0885 .0855
15/16-20 2A .0014 .9361 .9280 .9036 .8991 2B .895 .883 .9109 .9050
15/16-20 3A 0 .9375 .9294 .9050 .9016 3B .8912 .8830 - .9050
2_1/2-4 1A .0031 2.4969 2.4612 2.3345 2.3190 1B 2.267 2.229 2.3578 2.3376
2_1/2-4 2A .0031 2.4969 2.4731 2.3345 2.3241 2B 2.267 2.229 2.3511 2.3376
2_1/2-4 3A 0 2.5000 2.4762 2.3376 2.3298 3B 2.2594 2.2290 2.3477 2.3376
"""
# greatest minor diameter of the UNR form; same table
UNR = """
#0-80 2A .0446; #0-80 3A .0451; #1-64 2A .0538; #2-56 2A .0642; #3-48 2A .0734; 15/16-20 2A .8766; 15/16-20 3A .8780
2_1/2-4 2A 2.1992; 2_1/2-4 3A 2.2023
"""
# thread, major 2A max min, minor 2B min max; SMALL
SMALL = """
#0-80 .0595 .0563 .0465 .0514; #1-64 .0724 .0686 .0561 .0623; #1-72 .0724 .0689 .0580 .0635
#2-56 .0854 .0813 .0667 .0737; #2-64 .0854 .0816 .0691 .0753; #3-48 .0983 .0938 .0764 .0845
#3-56 .0983 .0942 .0797 .0865; #4-40 .1112 .1061 .0849 .0939; #4-48 .1113 .1068 .0894 .0968
#5-40 .1242 .1191 .0979 .1062; #5-44 .1243 .1195 .1004 .1079; #6-32 .1372 .1312 .104 .114
#6-40 .1372 .1321 .111 .119; #8-32 .1631 .1571 .130 .139; #8-36 .1632 .1577 .134 .142
#10-24 .1890 .1818 .145 .156; #10-32 .1891 .1831 .156 .164; #12-24 .2150 .2078 .171 .181
#12-28 .2150 .2085 .177 .186; #12-32 .2151 .2091 .182 .190
"""
# thread, pitch 2B max min, minor 2B max min; INTERNAL, the rows without a misprint
INTERNAL = """
#1-64 .0655 .0629 .0623 .0561; #4-40 .0991 .0958 .0939 .0849; #5-40 .1121 .1088 .1062 .0979
#6-32 .1214 .1177 .114 .104; #8-32 .1475 .1437 .139 .130; #10-24 .1672 .1629 .156 .145
#12-24 .1933 .1889 .181 .171; 1/4-20 .2224 .2175 .207 .196; 5/16-18 .2817 .2764 .265 .252
3/8-16 .3401 .3344 .321 .307; 7/16-14 .3972 .3911 .376 .360; 5/8-11 .5732 .5660 .546 .527
3/4-10 .6927 .6850 .663 .642; 7/8-9 .8110 .8028 .778 .755; 1-8 .9276 .9188 .890 .865
1_1/8-7 1.0416 1.0322 .998 .970; 1_1/4-7 1.1668 1.1572 1.123 1.095; 1_3/8-6 1.2771 1.2667 1.225 1.195
1_3/4-5 1.6317 1.6201 1.568 1.534; 2-4.5 1.8681 1.8557 1.795 1.759; 2_1/4-4.5 2.1183 2.1057 2.045 2.009
2_1/2-4 2.3511 2.3376 2.267 2.229; 2_3/4-4 2.6013 2.5876 2.517 2.479; 3-4 2.8515 2.8376 2.767 2.729
3_1/4-4 3.1017 3.0876 3.017 2.979; 3_1/2-4 3.3519 3.3376 3.267 3.229; 3_3/4-4 3.6021 3.5876 3.517 3.479
"""
# thread, greatest pitch diameter 2B and 3B, mm; GAUGES
GAUGES = """
#0-80 1.377 1.361; #1-72 1.689 1.674; #2-64 1.996 1.979; #3-56 2.291 2.273; #4-48 2.581 2.560; #5-44 2.880 2.860
#6-40 3.180 3.157; #8-36 3.800 3.777; #10-32 4.409 4.384; #12-28 5.004 4.976; 1/4-28 5.870 5.842; 5/16-24 7.371 7.341
3/8-24 8.961 8.931; 7/16-20 10.424 10.391; 1/2-20 12.017 11.981; 9/16-18 13.520 13.482; 5/8-18 15.110 15.072
3/4-16 18.184 18.143
"""
# thread, class, pitch diameter max min; RINGS
RINGS = """
5/8-11 2A .5644 .5589; 5/8-11 3A .5660 .5619; 5/8-18 2A .5875 .5828; 5/8-18 3A .5889 .5854
"""
# allowance of 2A, 0.0001 in; from memory
ALLOWANCES = {
    "UNC": "11 12 13 14 15 16 16 18 19 20 22 22 24 24 27 29 29 31 32 32 33 33 34 34",
    "UNF": "10 11 11 13 13 14 14 15 16 18 18 18 19 19",
}
FROM_A_QUARTER = {
    "UNC": """1/4-20 5/16-18 3/8-16 7/16-14 1/2-13 9/16-12 5/8-11 3/4-10 7/8-9 1-8 1_1/8-7 1_1/4-7 1_3/8-6 1_1/2-6
        1_3/4-5 2-4.5 2_1/4-4.5 2_1/2-4 2_3/4-4 3-4 3_1/4-4 3_1/2-4 3_3/4-4 4-4""",
    "UNF": "1/4-28 5/16-24 3/8-24 7/16-20 1/2-20 9/16-18 5/8-18 3/4-16 7/8-14 1-12 1_1/8-12 1_1/4-12 1_3/8-12 1_1/2-12",
}
# from memory: minor max min, pitch max of class 3B
CLOSE_NUTS = (
    "#8-32 .1389 .1300 .1465; #10-32 .1641 .1560 .1726; 1/4-20 .2067 .1960 .2211; 1/2-13 .4284 .4170 .4548"
)
# thread, basic pitch diameter, minor of screw (UNR) and nut, stress area; AREAS
BASIC = """
#1-64 .0629 .0544 .0561 .00263; #2-56 .0744 .0648 .0667 .00370; #3-48 .0855 .0741 .0764 .00487
#4-40 .0958 .0822 .0849 .00604; #5-40 .1088 .0952 .0979 .00796; #6-32 .1177 .1008 .1042 .00909
#8-32 .1437 .1268 .1302 .0140; #10-24 .1629 .1404 .1449 .0175
"""


def name(cell: str) -> str:
    """A thread's name as a table here writes it."""
    return cell.replace("_", " ")


def rows(table: str) -> list[list[str]]:
    """Cells of each row; rows end at a semicolon or at the end of a line."""
    return [row.split() for row in table.strip().replace("\n", ";").split(";")]


def inch(sizes: tuple[float | None, ...]) -> list[float]:
    """Sizes in inches."""
    return [size / INCH for size in sizes if size is not None]


def test_half_inch_28_screw_step_by_step() -> None:
    """½-28 UNEF-2A: tolerance 0.003668, major .4989 .4924, pitch .4757 .4720, minor UNR .4564, UN .4602 (STEPS)."""
    found = limits("1/2-28 UNEF-2A")
    assert found.thread.pitch_mm / INCH == pytest.approx(0.03571429, abs=5e-9)
    assert pitch_diameter_tolerance(found.thread, "2A") == pytest.approx(0.003668, abs=5e-7)
    assert inch(found.major) == pytest.approx([0.4924, 0.4989], abs=HALF_DIGIT)
    assert inch(found.pitch_diameter) == pytest.approx([0.4720, 0.4757], abs=HALF_DIGIT)
    assert inch(found.minor) == pytest.approx([0.4602], abs=HALF_DIGIT)
    assert found.rounded_root is not None
    assert found.rounded_root / INCH == pytest.approx(0.4564, abs=HALF_DIGIT)


def test_half_inch_28_nut() -> None:
    """½-28 UNEF-2B: least minor diameter 0.461338, which class 2B rounds to 0.461 (STEPS)."""
    assert profile(thread("1/2-28")).minor / INCH == pytest.approx(0.461338, abs=5e-7)
    assert limits("1/2-28 UNEF-2B").minor[0] / INCH == pytest.approx(0.461, abs=1e-9)


@pytest.mark.parametrize("row", rows(TABLE), ids=lambda row: f"{row[0]} {row[1]}")
def test_limits_of_screws_and_nuts(row: list[str]) -> None:
    """Allowance, major and pitch diameter of screws, minor and pitch diameter of nuts (TABLE)."""
    size, screw, _, *cells = row
    found, nut = limits(name(size), screw), limits(name(size), cells[4])
    assert inch((*found.major[::-1], *found.pitch_diameter[::-1])) == pytest.approx(
        [float(cell) for cell in cells[:4]], abs=HALF_DIGIT
    )
    computed = inch((*nut.minor[::-1], *nut.pitch_diameter[::-1]))
    pairs = [(size, float(cell)) for size, cell in zip(computed, cells[5:], strict=True) if cell != "-"]
    assert [size for size, _ in pairs] == pytest.approx([printed for _, printed in pairs], abs=HALF_DIGIT)


@pytest.mark.parametrize("row", rows(TABLE), ids=lambda row: f"{row[0]} {row[1]}")
def test_allowances(row: list[str]) -> None:
    """The screw's greatest major diameter lies below basic by the printed allowance (TABLE)."""
    found = limits(name(row[0]), row[1])
    assert found.major[1] is not None
    assert (found.thread.diameter_mm - found.major[1]) / INCH == pytest.approx(float(row[2]), abs=1e-9)


@pytest.mark.parametrize("row", rows(UNR), ids=lambda row: f"{row[0]} {row[1]}")
def test_root_of_the_unr_form(row: list[str]) -> None:
    """Greatest minor diameter of the UNR form, a reference value, within 0.0001 in (TABLE)."""
    found = limits(name(row[0]), row[1]).rounded_root
    assert found is not None
    assert found / INCH == pytest.approx(float(row[2]), abs=0.00011)


@pytest.mark.parametrize("row", rows(SMALL), ids=lambda row: row[0])
def test_screw_numbers(row: list[str]) -> None:
    """Major diameter 2A and minor diameter 2B of every number size (SMALL)."""
    found = (*limits(row[0], "2A").major[::-1], *limits(row[0], "2B").minor)
    assert inch(found) == pytest.approx([float(cell) for cell in row[1:]], abs=HALF_DIGIT)


@pytest.mark.parametrize("row", rows(INTERNAL), ids=lambda row: row[0])
def test_coarse_nuts(row: list[str]) -> None:
    """Pitch and minor diameter 2B of UNC from #1 to 3 3/4 in (INTERNAL)."""
    found = limits(name(row[0]), "2B")
    assert inch((*found.pitch_diameter[::-1], *found.minor[::-1])) == pytest.approx(
        [float(cell) for cell in row[1:]], abs=HALF_DIGIT
    )


@pytest.mark.parametrize("row", rows(GAUGES), ids=lambda row: row[0])
def test_greatest_pitch_diameter_of_fine_nuts(row: list[str]) -> None:
    """Greatest pitch diameter 2B and 3B of UNF, in mm (GAUGES)."""
    found = [limits(row[0], nut).pitch_diameter[1] for nut in ("2B", "3B")]
    assert found == pytest.approx([float(cell) for cell in row[1:]], abs=0.00051)


@pytest.mark.parametrize("row", rows(RINGS), ids=lambda row: f"{row[0]} {row[1]}")
def test_pitch_diameters_of_thread_rings(row: list[str]) -> None:
    """GO and NOT GO of thread rings 5/8, class 2A and 3A (RINGS)."""
    assert inch(limits(row[0], row[1]).pitch_diameter[::-1]) == pytest.approx(
        [float(cell) for cell in row[2:]], abs=HALF_DIGIT
    )


@pytest.mark.parametrize(("screw", "printed"), [("2A", (0.5303, 0.5342)), ("3A", (0.5325, 0.5354))])
def test_extra_fine_rings_within_a_tenth(screw: str, printed: tuple[float, float]) -> None:
    """9/16-24 UNEF: the least pitch diameter is printed 0.0001 in above the formula's (RINGS)."""
    assert inch(limits("9/16-24", screw).pitch_diameter) == pytest.approx(printed, abs=0.00011)


@pytest.mark.parametrize("series", ["UNC", "UNF"])
def test_allowances_of_fractional_sizes(series: str) -> None:
    """Allowance of class 2A of every UNC and UNF from 1/4 in (from memory)."""
    found = [limits(name(size), "2A") for size in FROM_A_QUARTER[series].split()]
    allowances = [(row.thread.diameter_mm - (row.major[1] or 0.0)) / INCH * 1e4 for row in found]
    assert allowances == pytest.approx([float(cell) for cell in ALLOWANCES[series].split()], abs=1e-6)


@pytest.mark.parametrize("row", rows(CLOSE_NUTS), ids=lambda row: row[0])
def test_close_nuts(row: list[str]) -> None:
    """Minor diameter and greatest pitch diameter of class 3B (from memory)."""
    found = limits(row[0], "3B")
    assert inch((*found.minor[::-1], found.pitch_diameter[1])) == pytest.approx(
        [float(cell) for cell in row[1:]], abs=HALF_DIGIT
    )


@pytest.mark.parametrize("row", rows(BASIC), ids=lambda row: row[0])
def test_basic_sizes_and_stress_areas(row: list[str]) -> None:
    """Basic sizes of small UNC; the UNR root and the stress area within one unit of the last digit (AREAS)."""
    found = thread(row[0])
    sizes = profile(found)
    pitch, root, minor, area = (float(cell) for cell in row[1:])
    assert inch((sizes.pitch_diameter, sizes.minor)) == pytest.approx([pitch, minor], abs=HALF_DIGIT + 1e-9)
    assert sizes.screw_minor / INCH == pytest.approx(root, abs=0.0001)
    assert stress_area(found) / INCH**2 == pytest.approx(area, abs=10.0 ** -len(row[4].partition(".")[2]))


def test_stress_area_of_a_quarter_20() -> None:
    """¼-20 UNC carries on 0.0318 in² (INTERNAL)."""
    assert stress_area(thread("1/4-20")) / INCH**2 == pytest.approx(0.0318, abs=HALF_DIGIT)
