"""A block with a slot, planned three ways: depth of the slot by the order of cuts.

Worked example of tolerance stack-up in process planning, seen at scribd.com/doc/201633147 (Tolerance Analysis): a block
1.000 high, slot 0.500 ± 0.010 deep. Plan I: one face to 1.030 ± 0.002, slot 0.530 ± 0.010 from it, then to 1.000 ±
0.002 located as the first cut. Plan II: the same, slot to ± 0.006. Plan III: both faces, then the slot from the
finished one. Inputs and the formula, depth = B - (A - C), as seen there; by that formula the last cut is on the slotted
face. Results by calculation. Lengths are in the source's unit, and taken as mm here: a chart is the same in any.
"""

import pytest

from loopwright.making.chart import Cut, Finished, Limits, Plan, Surface
from loopwright.making.chart_audit import audit
from loopwright.making.chart_solving import chart

HALF_DIGIT = 0.0005
SURFACES = (Surface("bottom", -1), Surface("top", 1), Surface("slot", 1))
FINISHED = (
    Finished("height", "bottom", "top", 1.0, -0.002, 0.002),
    Finished("depth", "slot", "top", 0.5, -0.010, 0.010),
)


def size(mean: float, half: float) -> Limits:
    """A size."""
    return Limits.around(mean, half)


def plan(slot_op: int, slot: Limits) -> Plan:
    """The block with the slot cut at the op given: 25 is between the two cuts of the top, 40 after them."""
    cuts = (
        Cut("bottom", None, 10, "saw"),
        Cut("top", "bottom", 20, "face", size=size(1.030, 0.002)),
        Cut("slot", "top", slot_op, "slot", size=slot),
        Cut("top", "bottom", 30, "finish", size=size(1.000, 0.002)),
    )
    return Plan("block", SURFACES, cuts, FINISHED)


@pytest.mark.parametrize(
    ("op", "slot", "half"),
    [(25, size(0.530, 0.010), 0.014), (25, size(0.530, 0.006), 0.010), (40, size(0.500, 0.010), 0.010)],
    ids=["I", "II", "III"],
)
def test_the_depth_that_each_plan_brings(op: int, slot: Limits, half: float) -> None:
    """The slot comes out at 0.500 ± 0.014 by plan I, ± 0.010 by plan II and ± 0.010 by plan III."""
    depth = chart(plan(op, slot)).finished[1]
    assert depth.low == pytest.approx((0.5 - half), abs=HALF_DIGIT)
    assert depth.high == pytest.approx((0.5 + half), abs=HALF_DIGIT)


def test_only_plan_one_fails() -> None:
    """Plan I leaves the depth's limits by 0.004 to either side; plans II and III hold."""
    (finding,) = audit(plan(25, size(0.530, 0.010))).findings
    assert (finding.kind, finding.field) == ("finished", "finished/1")
    assert finding.by == pytest.approx(0.004, abs=HALF_DIGIT)
    assert audit(plan(25, size(0.530, 0.006))).findings == ()
    assert audit(plan(40, size(0.500, 0.010))).findings == ()


def test_the_cut_from_the_finished_face_needs_no_tightening() -> None:
    """Where the slot's size is left to be found, plan I gives it ± 0.006 at 0.530, and plan III ± 0.010 at 0.500."""
    for op, mean, half in ((25, 0.530, 0.006), (40, 0.500, 0.010)):
        first = plan(op, size(mean, half))
        free = Plan("block", SURFACES, tuple(_open(cut) for cut in first.cuts), FINISHED)
        slot = chart(free).working[1]
        assert slot.size == pytest.approx(mean, abs=HALF_DIGIT)
        assert slot.half == pytest.approx(half, abs=HALF_DIGIT)


def _open(cut: Cut) -> Cut:
    return Cut("slot", "top", cut.op, cut.setup) if cut.makes == "slot" else cut
