"""Cutting stock instances of textbooks and of an encyclopaedia, with their optimum.

Wikipedia, "Cutting stock problem", illustration: 13 widths from rolls of 5600 mm; 407 160 mm in all, 308 ways to cut a
roll, optimum 73 rolls with 0.401 % waste.
V. Chvátal, Linear Programming (Freeman, 1983), p. 195: four widths from rolls of 100 inches; 37 ways to cut a roll
(so also the NEOS Guide, "The Cutting Stock Problem"). Linear programme 452.25, and 453 rolls: from memory.
R. Fourer, D. M. Gay, B. W. Kernighan, AMPL (2nd ed., 2003), section 15: five widths from rolls of 110 inches. Linear
programme 46.25, and 47 rolls: from memory.
P. C. Gilmore, R. E. Gomory, Operations Research 9 (1961) 849, example: bars of 5, 6 and 9 feet that cost 6, 7 and 10;
optimum 170: from memory.
"""

from time import monotonic

import numpy as np
import pytest

from loopwright.making.sawing import Bar, Piece, Saw, SawList, saw_list
from loopwright.making.sawing_columns import Pool, generate
from loopwright.making.sawing_loads import near_ways
from loopwright.making.sawing_plans import first_plan
from loopwright.making.sawing_task import STEPS, Task, Watch, dearest, to_leave_most, to_spend_least

ROLL_5600 = {
    1380: 22,
    1520: 25,
    1560: 12,
    1710: 14,
    1820: 18,
    1880: 18,
    1930: 20,
    2000: 10,
    2050: 12,
    2100: 14,
    2140: 16,
    2150: 18,
    2200: 20,
}
CHVATAL = {45: 97, 36: 610, 31: 395, 14: 211}
AMPL = {20: 48, 45: 35, 50: 24, 55: 10, 75: 8}
GILMORE_GOMORY = {2: 20, 3: 10, 4: 20}


def sawn(wanted: dict[int, int], bars: dict[int, float]) -> SawList:
    """The saw list of widths from bars that cost something, without a kerf."""
    pieces = [Piece(f"{length}", length, count, "roll") for length, count in wanted.items()]
    return saw_list(
        pieces,
        [Bar(f"{length}", length, None, "roll", price) for length, price in bars.items()],
        Saw(0.0),
        within=0.0,
        seconds=20.0,
    )


def task_of(wanted: dict[int, int], bars: dict[int, float]) -> Task:
    """The same as whole numbers."""
    sizes, lengths = sorted(wanted, reverse=True), np.array(sorted(bars), np.int64) * STEPS
    return Task(
        np.array(sizes, np.int64) * STEPS,
        np.array([wanted[size] for size in sizes], np.int64),
        lengths,
        lengths,
        lengths,
        np.full(len(bars), sum(wanted.values()), np.int64),
        np.array([bars[length] for length in sorted(bars)], float),
        0,
    )


@pytest.mark.parametrize(
    ("wanted", "bars", "cost"),
    [
        (ROLL_5600, {5600: 1.0}, 73),
        (CHVATAL, {100: 1.0}, 453),
        (AMPL, {110: 1.0}, 47),
        (GILMORE_GOMORY, {5: 6.0, 6: 7.0, 9: 10.0}, 170),
    ],
    ids=["5600", "Chvatal", "Fourer", "Gilmore"],
)
def test_least_cost(wanted: dict[int, int], bars: dict[int, float], cost: float) -> None:
    """The list costs what the source prints, and is proven."""
    found = sawn(wanted, bars)
    assert found.cost == pytest.approx(cost)
    assert found.bound == pytest.approx(cost)
    assert found.gap == 0


def test_waste_of_the_rolls_of_5600() -> None:
    """407 160 mm are cut, and 0.401 % of 73 rolls is waste."""
    found = sawn(ROLL_5600, {5600: 1.0})
    cut = sum(cut.length for bar in found.bars for cut in bar.cuts)
    assert cut == pytest.approx(407_160)
    assert 100 * sum(bar.rest for bar in found.bars) / (73 * 5600) == pytest.approx(0.401, abs=0.0005)


@pytest.mark.parametrize(
    ("wanted", "roll", "ways"), [(ROLL_5600, 5600, 308), (CHVATAL, 100, 37)], ids=["5600", "Chvatal"]
)
def test_number_of_ways_to_cut_a_roll(wanted: dict[int, int], roll: int, ways: int) -> None:
    """All ways to cut a roll are found, as many as the source prints."""
    task = task_of(wanted, {roll: 1.0})
    found = near_ways(task, to_leave_most(task, 1e3), np.zeros(len(wanted)), np.zeros(1), 10.0)
    assert found is not None
    assert len(found.kind) == ways


@pytest.mark.parametrize(
    ("wanted", "roll", "value"), [(CHVATAL, 100, 452.25), (AMPL, 110, 46.25)], ids=["Chvatal", "Fourer"]
)
def test_linear_programme(wanted: dict[int, int], roll: int, value: float) -> None:
    """Fractions of rolls allowed, so many are needed."""
    task = task_of(wanted, {roll: 1.0})
    pool = Pool(len(wanted))
    pool.add_plan(first_plan(task))
    found = generate(task, to_spend_least(task), pool, Watch(1, monotonic() + 60))
    assert found.closed
    assert found.last.cost * dearest(task) == pytest.approx(value, abs=0.005)
    assert found.bound * dearest(task) == pytest.approx(value, abs=0.005)
