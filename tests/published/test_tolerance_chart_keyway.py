"""A keyway slotted before the bore is ground: the depth to slot so that the finished depth is as drawn.

Standard example of Chinese textbooks on manufacturing technology (such as Wang Xiankui, *Machine Manufacturing
Technology*), from memory and reproduced by hand: bore ø39.6 +0.1/0, slot to A from the far wall, harden, grind the bore
to ø40 +0.05/0; the depth is then to be 43.6 +0.34/0. A = 43.4 +0.315/+0.05, which is 43.45 +0.265/0. The two bores are
taken as concentric.
"""

from dataclasses import replace

import pytest

from loopwright.making.chart import Cut, CutSpread, Finished, Limits, Plan, Surface
from loopwright.making.chart_solving import chart

HUB = Plan(
    "hub",
    (Surface("far wall", 1), Surface("axis", 0), Surface("keyway", -1)),
    (
        Cut("axis", None, 10, "chuck"),
        Cut("far wall", "axis", 20, "bore", size=Limits(39.6 / 2, 0.0, 0.1 / 2)),
        Cut("keyway", "far wall", 30, "slot"),
        Cut("far wall", "axis", 40, "grind", size=Limits(40 / 2, 0.0, 0.05 / 2)),
    ),
    (
        Finished("radius", "far wall", "axis", 40 / 2, 0.0, 0.05 / 2),
        Finished("depth", "far wall", "keyway", 43.6, 0.0, 0.34),
    ),
)


def test_depth_to_slot() -> None:
    """The keyway is slotted to 43.45 … 43.715 mm from the far wall of the unground bore."""
    keyway = chart(HUB).working[1]
    assert HUB.cuts[keyway.cut].makes == "keyway"
    assert keyway.size - keyway.half == pytest.approx(43.4 + 0.05, abs=0.005)
    assert keyway.size + keyway.half == pytest.approx(43.4 + 0.315, abs=0.0005)


def test_run_out_between_the_bores_takes_its_share() -> None:
    """If the ground bore may lie ±0.02 off the first one, that much less is left for the slot (by hand)."""
    axis = Cut("new axis", "axis", 40, "grind", CutSpread(seating=0.02 / 3), size=Limits(0.0, -0.02, 0.02))
    ground = replace(HUB.cuts[3], datum="new axis")
    finished = (replace(HUB.finished[0], b="new axis"), HUB.finished[1])
    surfaces = (*HUB.surfaces, Surface("new axis", 0))
    slot = chart(Plan("hub", surfaces, (*HUB.cuts[:3], axis, ground), finished)).working[1]
    assert slot.size + slot.half == pytest.approx(43.4 + 0.315 - 0.02, abs=0.0005)
