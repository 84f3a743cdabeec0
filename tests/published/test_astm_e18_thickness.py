"""ASTM E18, least thickness of a piece for a Rockwell test, and the rule of ten depths.

E18: table reprinted from ASTM E18 in the instruction manual of the hardness tester MET-U1A, p. 26
    (manualshive.com), in thousandths of an inch.
CASE: industrialheating.com, *Interpreting carburized case depths*: a total case under 0.76 mm (0.030 in) cannot be
    read on HRC.
SPACE: easymanua.ls, manual of the hardness tester series HR-530, p. 38 (after ISO 6508-1): indentations three
    widths apart from centre to centre, two and a half from an edge.
That the thickness is ten depths for a cone (ISO 6508-1) is from memory.
"""

import pytest

from loopwright.handbook.hardness import least_thickness, permanent_depth, spacing_rockwell

HRC = "22:69 24:67 26:65 28:62 30:57 32:52 34:45 36:37 38:28 40:20"
HRA = "16:86 18:84 20:82 22:79 24:76 26:71 28:67 30:60"


def rows(text: str) -> list[tuple[float, float]]:
    """Pairs of thickness in mm and least hardness on it."""
    return [(float(a) * 0.0254, float(b)) for a, b in (item.split(":") for item in text.split())]


@pytest.mark.parametrize(("thickness", "hardness"), rows(HRC))
def test_tabulated_thickness_for_hrc(thickness: float, hardness: float) -> None:
    """E18: the thinnest piece for each HRC, 0.022 in at 69 to 0.040 in at 20."""
    assert least_thickness(hardness).by_table_mm == pytest.approx(thickness, abs=1e-9)


@pytest.mark.parametrize(("thickness", "hardness"), rows(HRA))
def test_tabulated_thickness_for_hra(thickness: float, hardness: float) -> None:
    """E18: the thinnest piece for each HRA, 0.016 in at 86 to 0.030 in at 60."""
    assert least_thickness(hardness, "HRA").by_table_mm == pytest.approx(thickness, abs=1e-9)


@pytest.mark.parametrize(("_thickness", "hardness"), rows(HRC))
def test_ten_depths_ask_for_no_less_than_the_table(_thickness: float, hardness: float) -> None:
    """On HRC ten depths are more than E18 tabulates, so the rule to plan with is safe."""
    found = least_thickness(hardness)
    assert found.by_table_mm is not None
    assert found.mm == found.by_depth_mm >= found.by_table_mm


def test_a_hard_case_under_0_76_mm_does_not_bear_hrc() -> None:
    """CASE: 0.76 mm, which is ten depths at 62 HRC."""
    assert least_thickness(62).mm == pytest.approx(0.76, abs=0.005)
    assert permanent_depth(62, "HRC") == pytest.approx(0.076, abs=1e-9)


def test_indentations_stand_three_widths_apart() -> None:
    """SPACE: three widths between centres, two and a half to the edge."""
    found = spacing_rockwell(60)
    assert found.between == pytest.approx(3 * found.diameter)
    assert found.to_edge == pytest.approx(2.5 * found.diameter)
