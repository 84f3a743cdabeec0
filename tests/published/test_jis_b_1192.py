"""JIS B 1192, ball screws of grades C0 to C10, as printed in makers' selection pages.

THK: thk.com/jp/ja/products/ball_screw/selection/0002 (C0 to C5 up to 800 mm) and THK's general catalogue (C0
to 1600 mm, C1 to 4000 mm; C7 ±50, C8 ±100, C10 ±210 µm per 300 mm). MISUMI: technical data for ball screws
(C3 ±21, C5 ±40 µm over 800 up to 1000 mm). From memory, and so not checked here: v_u over 800 mm, C3 and C5
over 1000 mm, v_300, v_2π.
"""

import pytest

from loopwright.handbook.screws import lead_error

# longest travel of the step, mm; ±e_p/v_u, µm, for C0 C1 C2 C3 C5
TABLE = """
100 3/3 3.5/5 5/7 8/8 18/18
200 3.5/3 4.5/5 7/7 10/8 20/18
315 4/3.5 6/5 8/7 12/8 23/18
400 5/3.5 7/5 9/7 13/10 25/20
500 6/4 8/5 10/7 15/10 27/20
630 6/4 9/6 11/8 16/12 30/23
800 7/5 10/7 13/9 18/13 35/25
"""
LONGER = [
    ("C0", 1000, 8),
    ("C0", 1250, 9),
    ("C0", 1600, 11),
    ("C1", 1000, 11),
    ("C1", 1250, 13),
    ("C1", 1600, 15),
]
LONGER += [
    ("C1", 2000, 18),
    ("C1", 2500, 22),
    ("C1", 3150, 26),
    ("C1", 4000, 30),
    ("C3", 900, 21),
    ("C5", 1000, 40),
]


@pytest.mark.parametrize("line", TABLE.strip().splitlines(), ids=lambda line: line.split()[0])
def test_travel_deviation_and_variation_up_to_800_mm(line: str) -> None:
    """C0 to C5 have the e_p and v_u of THK's table."""
    travel, *cells = line.split()
    for grade, cell in zip(["C0", "C1", "C2", "C3", "C5"], cells, strict=True):
        e_p, v_u = (float(v) for v in cell.split("/"))
        found = lead_error(grade, float(travel))
        assert found.travel_deviation * 1000 == pytest.approx(e_p, abs=0.05)
        assert found.bandwidth_travel is not None
        assert found.bandwidth_travel * 1000 == pytest.approx(v_u, abs=0.05)


@pytest.mark.parametrize(("grade", "travel", "e_p"), LONGER)
def test_travel_deviation_of_longer_screws(grade: str, travel: float, e_p: float) -> None:
    """Over 800 mm, e_p of THK (C0, C1) and MISUMI (C3, C5)."""
    assert lead_error(grade, travel).travel_deviation * 1000 == pytest.approx(e_p, abs=0.5)


@pytest.mark.parametrize(("grade", "e_300"), [("C7", 50), ("C8", 100), ("C10", 210)])
def test_coarse_grades_per_300_mm(grade: str, e_300: float) -> None:
    """C7, C8 and C10 may be off by 50, 100 and 210 µm in 300 mm."""
    assert lead_error(grade, 300).travel_deviation * 1000 == pytest.approx(e_300, abs=0.5)


def test_a_step_holds_its_upper_end() -> None:
    """The steps are 'over ... up to': 200 mm still belongs to over 100 up to 200 mm."""
    assert lead_error("C5", 200).travel_deviation < lead_error("C5", 200.1).travel_deviation
