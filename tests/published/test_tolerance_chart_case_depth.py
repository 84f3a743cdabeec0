"""A case-hardened shaft: depth to carburise so that the case left after grinding is as drawn.

Standard example of Chinese textbooks on manufacturing technology (such as Wang Xiankui, *Machine Manufacturing
Technology*), from memory and reproduced by hand: turn ø38.4 0/-0.1, carburise to L, grind ø38 0/-0.016, the case that
remains is 0.7 +0.3/0 a side. L = 0.9 +0.25/+0.008 mm.
"""

import pytest

from loopwright.making.chart import Cut, Finished, Limits, Plan, Surface
from loopwright.making.chart_solving import chart

SHAFT = Plan(
    "shaft",
    (Surface("axis", 0), Surface("outside", 1), Surface("case", 0)),
    (
        Cut("axis", None, 10, "centres"),
        Cut("outside", "axis", 20, "turn", size=Limits(38.4 / 2, -0.1 / 2, 0.0)),
        Cut("case", "outside", 30, "carburise", grown=True),
        Cut("outside", "axis", 40, "grind", size=Limits(38 / 2, -0.016 / 2, 0.0)),
    ),
    (
        Finished("radius", "axis", "outside", 38 / 2, -0.016 / 2, 0.0),
        Finished("case", "case", "outside", 0.7, 0.0, 0.3),
    ),
    shown_times=2,
)


def test_depth_to_carburise() -> None:
    """The case is to be carburised 0.908 to 1.150 mm deep."""
    depth = chart(SHAFT).working[1]
    assert SHAFT.cuts[depth.cut].makes == "case"
    assert depth.mean < 0  # inward
    assert depth.size - depth.half == pytest.approx(0.9 + 0.008, abs=0.0005)
    assert depth.size + depth.half == pytest.approx(0.9 + 0.25, abs=0.005)
