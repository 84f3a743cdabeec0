"""ISO 898-1, nominal stress area of metric screws.

FASTENER: usefastener.com, *Minimum ultimate tensile loads for metric coarse pitch thread, EN ISO 898-1* (knowledge
    item 404): coarse threads M3 to M39.
From memory: the fine threads. The standard prints three figures.
"""

import pytest

from loopwright.handbook.threads import stress_area, thread

COARSE = """
M3 5.03; M3.5 6.78; M4 8.78; M5 14.2; M6 20.1; M7 28.9; M8 36.6; M10 58.0; M12 84.3; M14 115; M16 157; M18 192; M20 245
M22 303; M24 353; M27 459; M30 561; M33 694; M36 817; M39 976
"""
FINE_FROM_MEMORY = """
M8x1 39.2; M10x1.25 61.2; M10x1 64.5; M12x1.5 88.1; M12x1.25 92.1; M14x1.5 125; M16x1.5 167; M20x1.5 272; M24x2 384
M30x2 621; M36x3 865
"""


def rows(table: str) -> list[tuple[str, str]]:
    """Thread and stress area as printed."""
    pairs = (cell.split() for cell in table.replace("\n", ";").split(";") if cell.strip())
    return [(name, area) for name, area in pairs]


@pytest.mark.parametrize(("name", "printed"), rows(COARSE))
def test_coarse_threads(name: str, printed: str) -> None:
    """Stress area of coarse threads, to the third figure."""
    assert stress_area(thread(name)) == pytest.approx(float(printed), abs=half_digit(printed))


@pytest.mark.parametrize(("name", "printed"), rows(FINE_FROM_MEMORY))
def test_fine_threads(name: str, printed: str) -> None:
    """Stress area of fine threads, to the third figure (from memory)."""
    assert stress_area(thread(name)) == pytest.approx(float(printed), abs=half_digit(printed))


def half_digit(printed: str) -> float:
    """Half of the last printed digit."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])
