"""A nitrided bore: depth to nitride so that the layer left after grinding is as drawn.

Problem as printed at zhaokaoti.com (examination question on process dimension chains): bore ground to ø144.76 +0.04/0,
nitrided, finish ground to ø145 +0.04/0; the layer that remains is 0.3 +0.2/0 a side. The answer, 0.44 to 0.60 a side
(0.42 +0.18/+0.02), is from memory of such textbooks and reproduced by hand.
"""

import pytest

from loopwright.making.chart import Cut, Finished, Limits, Plan, Surface
from loopwright.making.chart_solving import chart

BORE = Plan(
    "bore",
    (Surface("axis", 0), Surface("wall", -1), Surface("layer", 0)),
    (
        Cut("axis", None, 10, "bore"),
        Cut("wall", "axis", 20, "rough grind", size=Limits(144.76 / 2, 0.0, 0.04 / 2)),
        Cut("layer", "wall", 30, "nitride", grown=True),
        Cut("wall", "axis", 40, "finish grind", size=Limits(145 / 2, 0.0, 0.04 / 2)),
    ),
    (
        Finished("radius", "axis", "wall", 145 / 2, 0.0, 0.04 / 2),
        Finished("layer", "wall", "layer", 0.3, 0.0, 0.2),
    ),
    shown_times=2,
)


def test_depth_to_nitride() -> None:
    """The layer is to be nitrided 0.44 to 0.60 mm deep a side."""
    depth = chart(BORE).working[1]
    assert BORE.cuts[depth.cut].makes == "layer"
    assert depth.size - depth.half == pytest.approx(0.44, abs=0.005)
    assert depth.size + depth.half == pytest.approx(0.60, abs=0.005)


def test_the_layer_fills_its_limits() -> None:
    """With that depth the layer left is 0.3 to 0.5 mm in worst case."""
    layer = chart(BORE).finished[1]
    assert layer.low == pytest.approx(0.3, abs=0.05)
    assert layer.high == pytest.approx(0.5, abs=0.05)
    assert layer.binds
