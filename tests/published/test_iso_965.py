"""ISO 965-1 and ISO 965-2, limits of size of metric threads, as printed in catalogues and gauge charts.

MASTIK: Mastik, catalogue, pp. 711 and 712, *Limits for metric threads according to ISO 965* (mastik.pt, page711 and
    page712): screws 6g, coarse and fine. Two of its rows are misprinted and stand below with the right value.
APPORO: apporo-cnc.com, extend.php?menu_s=406&sn=58: 6g, with the minor diameter (flat root greatest, rounded root
    least). The 6g limits of M5 to M10 also at moonlightbrass.com, metricexternalthreadchart.html.
ISCAR: *Reamers and taps*, user guide 2022, p. 56: 6H pitch diameter (docs.steelcam.org).
YAMAWA: general catalogue 2021, pp. 645 and 656: tolerance of the pitch diameter of nuts, 4H, 5H, 6H, and 6G.
WESTPORT: westportcorp.com, *Standard pitch diameter chart, metric*: 6g and 6H, coarse and fine.
DRAWING: *Machine Drawing*, annexure, table 6, p. 445: greatest minor diameter of the nut, 6H.
From memory: 6H minor diameters of M5 to M12, M12 6g, M30×1.5, and the rows marked so.
Limits are printed to 0.001 mm, so they must agree within half of that.
"""

import pytest

from loopwright.handbook.threads import limits

HALF_DIGIT = 0.0005

# MASTIK p. 711: thread, major max min, pitch diameter max min
COARSE_6G = """
M1.6 1.581 1.496 1.354 1.291; M1.8 1.781 1.696 1.554 1.491; M2 1.981 1.886 1.721 1.654; M2.5 2.480 2.380 2.188 2.117
M3 2.980 2.874 2.655 2.580; M3.5 3.479 3.354 3.089 3.004; M4 3.978 3.838 3.523 3.433; M5 4.976 4.826 4.456 4.361
M6 5.974 5.794 5.324 5.212
"""
# MASTIK p. 712
FINE_6G = """
M8x1 7.974 7.794 7.324 7.212; M12x1.5 11.968 11.732 10.994 10.854; M16x1.5 15.968 15.732 14.994 14.854
M22x1.5 21.968 21.732 20.994 20.854
"""
# APPORO: M8 and M10; from memory: M12 and M30x1.5
OTHER_6G = """
M8 7.972 7.760 7.160 7.042; M10 9.968 9.732 8.994 8.862; M12 11.966 11.701 10.829 10.679
M30x1.5 29.968 29.732 28.994 28.844
"""
# thread, pitch diameter min max; ISCAR p. 56
PITCH_6H = """
M1.6 1.373 1.458; M1.8 1.573 1.658; M2 1.740 1.830; M2.2 1.908 2.003; M2.5 2.208 2.303; M3 2.675 2.775; M3.5 3.110
3.222; M4 3.545 3.663; M4.5 4.013 4.131; M5 4.480 4.605; M6 5.350 5.500; M7 6.350 6.500; M8 7.188 7.348; M9 8.188
8.348; M10 9.026 9.206; M11 10.026 10.206; M12 10.863 11.063; M14 12.701 12.913; M16 14.701 14.913; M18 16.376 16.600
"""
# thread, TD2 of 4H 5H 6H, µm; YAMAWA p. 645
NUT_TOLERANCES = """
M1.6 53 67 85; M2 56 71 90; M2.2 60 75 95; M2.5 60 75 95; M3 63 80 100; M3.5 71 90 112; M4 75 95 118; M4.5 75 95 118
M5 80 100 125; M6 95 118 150; M7 95 118 150; M8 100 125 160; M9 100 125 160
"""
# thread, 6g max min, 6H min max; WESTPORT
GAUGES = """
M8 7.160 7.042 7.188 7.348; M8x1 7.324 7.212 7.350 7.500; M10 8.994 8.862 9.026 9.206
M10x1.25 9.160 9.042 9.188 9.348; M4 3.523 3.433 3.545 3.663; M2 1.721 1.654 1.740 1.830
"""
# thread, greatest minor diameter 6H; DRAWING
MINOR_MAX_6H = """
M18 15.744; M20 17.744; M22 19.744; M24 21.252; M27 24.252; M30 26.771; M33 29.771; M36 32.270; M39 35.270; M42 37.799
"""
# thread, minor min max 6H; the least of M5 to M12: ISCAR p. 56, the rest from memory
MINOR_6H = """
M5 4.134 4.334; M6 4.917 5.153; M8 6.647 6.912; M10 8.376 8.676; M12 10.106 10.441; M30x1.5 28.376 28.676
"""


def rows(table: str) -> list[tuple[str, list[float]]]:
    """Thread and its numbers, of a table whose rows end at a semicolon or a line that begins with M."""
    cells = " ".join(table.replace("\nM", "; M").split()).strip("; ").split(";")
    return [(row.split()[0], [float(cell) for cell in row.split()[1:]]) for row in cells if row.strip()]


@pytest.mark.parametrize(("name", "printed"), rows(COARSE_6G) + rows(FINE_6G) + rows(OTHER_6G))
def test_screws_6g(name: str, printed: list[float]) -> None:
    """Major and pitch diameter of screws 6g are those of ISO 965-2."""
    found = limits(name, "6g")
    assert [*found.major[::-1], *found.pitch_diameter[::-1]] == pytest.approx(printed, abs=HALF_DIGIT)


@pytest.mark.parametrize(("name", "printed"), rows(PITCH_6H))
def test_pitch_diameter_of_nuts_6h(name: str, printed: list[float]) -> None:
    """Pitch diameter of nuts 6H is that of ISCAR's table."""
    assert limits(name, "6H").pitch_diameter == pytest.approx(printed, abs=HALF_DIGIT)


@pytest.mark.parametrize(("name", "printed"), rows(NUT_TOLERANCES))
def test_nut_tolerances_of_three_grades(name: str, printed: list[float]) -> None:
    """TD2 of 4H, 5H and 6H is that of YAMAWA's table."""
    found = [limits(name, f"{grade}H").pitch_diameter for grade in (4, 5, 6)]
    assert [1000 * (high - low) for low, high in found] == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize(("name", "shift", "upper"), [("M3", 20, 120), ("M6", 26, 176), ("M8", 28, 188)])
def test_nuts_in_position_g(name: str, shift: float, upper: float) -> None:
    """6G lies higher than 6H by EI: +20 to +120 µm for M3, +26 to +176 for M6, +28 to +188 for M8 (YAMAWA)."""
    basic = limits(name, "6H").pitch_diameter[0]
    found = [1000 * (size - basic) for size in limits(name, "6G").pitch_diameter]
    assert found == pytest.approx([shift, upper], abs=0.5)


@pytest.mark.parametrize(("name", "printed"), rows(GAUGES))
def test_pitch_diameters_of_a_gauge_chart(name: str, printed: list[float]) -> None:
    """GO and NOT GO of rings 6g and plugs 6H stand at the limits of the pitch diameter (WESTPORT)."""
    found = [*limits(name, "6g").pitch_diameter[::-1], *limits(name, "6H").pitch_diameter]
    assert found == pytest.approx(printed, abs=HALF_DIGIT)


@pytest.mark.parametrize(("name", "printed"), rows(MINOR_6H))
def test_minor_diameter_of_nuts_6h(name: str, printed: list[float]) -> None:
    """Minor diameter of nuts 6H; the greatest from memory, the least of M5 to M12 also ISCAR p. 56."""
    assert limits(name, "6H").minor == pytest.approx(printed, abs=HALF_DIGIT)


@pytest.mark.parametrize(("name", "printed"), rows(MINOR_MAX_6H))
def test_greatest_minor_diameter_of_nuts(name: str, printed: list[float]) -> None:
    """Greatest minor diameter of coarse nuts M18 to M42, as *Machine Drawing* prints it."""
    assert limits(name, "6H").minor[1] == pytest.approx(printed[0], abs=HALF_DIGIT)


@pytest.mark.parametrize(
    ("name", "flat", "rounded"), [("M6", 4.891, 4.596), ("M8", 6.619, 6.272), ("M10", 8.344, 7.938)]
)
def test_minor_diameter_of_screws_6g(name: str, flat: float, rounded: float) -> None:
    """The root of a 6g screw lies between the flat form's greatest and the rounded form's least (APPORO)."""
    assert limits(name, "6g").minor == pytest.approx((rounded, flat), abs=HALF_DIGIT)


def test_the_misprinted_least_major_diameter_of_m18_by_1_5() -> None:
    """MASTIK p. 712 prints 17.762 as least major diameter of M18×1.5; 17.968 less Td 0.236 is 17.732."""
    found = limits("M18x1.5", "6g")
    assert found.major == pytest.approx((17.732, 17.968), abs=HALF_DIGIT)
    assert abs(found.major[0] - 17.762) > 0.02


def test_the_misprinted_greatest_major_diameter_of_m18_by_2() -> None:
    """MASTIK p. 712 prints 17.952 as greatest major diameter of M18×2; 18 less es 0.038 is 17.962."""
    greatest = limits("M18x2", "6g").major[1]
    assert greatest == pytest.approx(17.962, abs=HALF_DIGIT)


def test_one_size_with_two_screw_classes() -> None:
    """M6 5g6g: pitch diameter 5.324 to 5.234 (Td2 of grade 5, 90 µm), major as 6g (from memory)."""
    found = limits("M6", "5g6g")
    assert found.pitch_diameter == pytest.approx((5.234, 5.324), abs=HALF_DIGIT)
    assert found.major == limits("M6", "6g").major
