"""*Machinery's Handbook*, 31st edition, p. 1318 and 1329: basic process data for cylindrical and surface grinding.

online.flippingbook.com/view/954192180/1475 and /1486. Read: all of the cylindrical table, and plain carbon and
annealed alloy steel of the surface table. Hardened alloy and tool steel of the surface table are from memory, and so
not checked here.
"""

import pytest

from loopwright.handbook.grinding import USUAL_WHEEL_SPEED, Process, grinding_rows

FOOT, INCH = 0.3048, 25.4
# process | material | work or table speed, ft/min | rough | finish | step rough and finish
ROWS = """
surface  | plain carbon steel annealed  | 50-100  | 0.003  | 0.0005-0.0005     | 4 4
surface  | plain carbon steel hardened  | 50-100  | 0.003  | 0.0005-0.0005     | 10 10
surface  | alloy steel annealed         | 50-100  | 0.003  | 0.001-0.001       | 4 4
traverse | plain carbon steel annealed  | 100-100 | 0.002  | 0.0005-0.0005     | 2 6
traverse | plain carbon steel hardened  | 70-70   | 0.002  | 0.0003-0.0005     | 4 8
traverse | alloy steel hardened         | 70-70   | 0.002  | 0.0002-0.0005     | 4 8
traverse | tool steel annealed          | 60-60   | 0.002  | 0.0005-0.0005     | 2 6
traverse | tool steel hardened          | 50-50   | 0.002  | 0.0001-0.0005     | 4 8
traverse | copper alloys                | 100-100 | 0.002  | 0.0005-0.0005     | 3 6
traverse | aluminium alloys             | 150-150 | 0.002  | 0.0005-0.0005     | 3 6
"""


@pytest.mark.parametrize("line", ROWS.strip().splitlines())
def test_starting_values(line: str) -> None:
    """Speed of the work, in-feed and step of each row that was read."""
    process, words, speed, rough, finish, step = (cell.strip() for cell in line.split("|"))
    kind: Process = "surface" if process == "surface" else "traverse"
    (row,) = grinding_rows(kind, words)
    assert [v / FOOT for v in row.work_speed] == pytest.approx([float(v) for v in speed.split("-")], abs=0.5)
    assert row.rough / INCH == pytest.approx(float(rough), abs=5e-5)
    assert [v / INCH for v in row.finish] == pytest.approx([float(v) for v in finish.split("-")], abs=5e-6)
    assert [1 / row.step_rough, 1 / row.step_finish] == pytest.approx([float(v) for v in step.split()])
    assert "from memory" not in row.source


@pytest.mark.parametrize(
    ("words", "rough", "finish"),
    [("soft", 0.0005, 0.0002), ("plain carbon", 0.0002, 0.000050), ("tool", 0.0001, 0.000025)],
)
def test_plunge_infeed(words: str, rough: float, finish: float) -> None:
    """In-feed for each turn of the work, in."""
    (row,) = grinding_rows("plunge", words)
    assert row.rough / INCH == pytest.approx(rough, abs=5e-6)
    assert row.finish[0] / INCH == pytest.approx(finish, abs=5e-7)


def test_usual_wheel_speed() -> None:
    """5500 to 6500 surface feet a minute: 28 to 33 m/s."""
    assert [v * 60 / FOOT for v in USUAL_WHEEL_SPEED] == pytest.approx([5500, 6500])
    assert [round(v) for v in USUAL_WHEEL_SPEED] == [28, 33]


def test_rows_from_memory_say_so() -> None:
    """Tool steel of the surface table was not seen in print."""
    assert all("from memory" in row.source for row in grinding_rows("surface", "tool steel"))
