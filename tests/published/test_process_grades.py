"""Tolerance grades by process, and what a tight tolerance costs.

MH: *Machinery's Handbook*, relation of machining processes to tolerance grades (ANSI B4.1 and B4.2); grades from
    memory, the lengths of its bars seen at aksan-tm.com, *Machining tolerances*.
MD: K. L. Narayana, P. Kannaiah, K. Venkata Reddy, *Machine Drawing*, fig. 15.2, p. 210: one grade a process.
WEB: modorapid.com, *Tolerance standards*, a table of IT widths by size.
COST: Shigley, *Mechanical Engineering Design*, 11th edition, solution 1-7.
"""

import pytest

from loopwright.handbook.limits_and_fits import standard_tolerance
from loopwright.handbook.process_capability import (
    PROCESS_GRADES,
    relative_cost,
    usual_grades,
    usual_roughness,
    usual_tolerance,
)

MH = """
lapping and honing:4-5, cylindrical grinding:5-7, surface grinding:5-8, diamond turning:5-7, diamond boring:5-7,
broaching:5-8, reaming:6-10, turning:7-13, boring:8-13, milling:10-13, planing and shaping:10-13, drilling:10-13,
punching:10-13, die casting:11-13
"""


def grades() -> list[tuple[str, int, int]]:
    """Process, finest and coarsest grade."""
    items = [item.strip().split(":") for item in MH.replace("\n", " ").split(",")]
    return [(name, *(int(n) for n in ends.split("-"))) for name, ends in items]  # type: ignore[misc]


@pytest.mark.parametrize(("process", "finest", "coarsest"), grades())
def test_grades_by_process(process: str, finest: int, coarsest: int) -> None:
    """MH: finest and coarsest grade of each process."""
    assert PROCESS_GRADES[process] == (finest, coarsest)


@pytest.mark.parametrize(
    ("op", "process"),
    [
        ("lap", "lapping and honing"),
        ("cylindrical grind", "cylindrical grinding"),
        ("surface grind", "surface grinding"),
        ("ream", "reaming"),
        ("turn", "turning"),
        ("bore", "boring"),
        ("square up", "milling"),
        ("contour", "milling"),
        ("drill", "drilling"),
    ],
)
def test_operations_follow_their_process(op: str, process: str) -> None:
    """MH: an operation of the shop holds the grades of its process."""
    assert usual_grades(op)[:2] == PROCESS_GRADES[process]


@pytest.mark.parametrize(
    ("op", "grade"),
    [
        ("drill", 11),
        ("rough out", 11),
        ("square up", 10),
        ("turn", 8),
        ("bore", 8),
        ("ream", 8),
        ("turn", 7),
        ("surface grind", 6),
        ("cylindrical grind", 6),
        ("cylindrical grind", 5),
        ("lap", 5),
        ("lap", 4),
    ],
)
def test_a_second_book_lies_in_the_range(op: str, grade: int) -> None:
    """MD names one grade a process: drilling and rough turning 11, milling 10, turning, boring and reaming 8."""
    finest, coarsest, _ = usual_grades(op)
    assert finest <= grade <= coarsest


def test_widths_at_30_to_50_mm() -> None:
    """ISO 286-1: IT5 to IT11 over 30 to 50 mm are 11, 16, 25, 39, 62, 100 and 160 µm."""
    assert usual_tolerance("surface grind", 40)[:2] == (0.011, 0.039)
    assert usual_tolerance("ream", 50)[:2] == (0.016, 0.1)
    assert usual_tolerance("turn", 40).low == 0.025


def test_a_table_that_fits_no_step_of_the_standard() -> None:
    """WEB prints 12, 18, 25 and 44 µm for IT5 to IT8 at '50', which is no row of ISO 286-1; 50 mm is 11, 16, 25, 39."""
    sizes = (2, 5, 8, 15, 25, 40, 50, 51, 65, 100, 150, 200, 300, 350, 450)
    rows = {size: [round(standard_tolerance(size, g) * 1000) for g in (5, 6, 7, 8)] for size in sizes}
    assert [12, 18, 25, 44] not in rows.values()
    assert rows[50] == [11, 16, 25, 39]
    assert rows[51] == [13, 19, 30, 46]


def test_grinding_costs_four_and_a_half_times_turning() -> None:
    """COST: ±0.0005 in costs 270 %, ±0.003 in 60 %, so 4.5 times as much."""
    assert relative_cost(0.0005 * 25.4) == pytest.approx(4.5, abs=0.05)
    assert relative_cost(0.003 * 25.4) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("op", "fine", "rough"),
    [
        ("cylindrical grind", 0.1, 1.6),
        ("surface grind", 0.1, 1.6),
        ("lap", 0.05, 0.4),
        ("ream", 0.8, 3.2),
        ("bore", 0.4, 6.3),
        ("turn", 0.4, 6.3),
        ("square up", 0.8, 6.3),
        ("contour", 0.8, 6.3),
        ("drill", 1.6, 6.3),
        ("saw", 3.2, 25),
    ],
)
def test_roughness_from_memory(op: str, fine: float, rough: float) -> None:
    """Ra by process, µm: the chart in the appendix of ASME B46.1, from memory."""
    assert usual_roughness(op)[:2] == (fine, rough)
