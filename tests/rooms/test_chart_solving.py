"""Tolerances, means, chances, sources, coats, axes and pictures of a tolerance chart."""

import pickle
from dataclasses import replace
from math import erf, inf

import numpy as np
import pytest

from loopwright.errors import Cancelled, RequestError
from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_audit import audit
from loopwright.making.chart_limits import Widths, limits
from loopwright.making.chart_means import means
from loopwright.making.chart_picture import drawn
from loopwright.making.chart_solving import Solution, chart, charts
from loopwright.making.chart_sources import joined, sources
from loopwright.making.chart_words import lacking

BY = CutSpread(cut=0.003, setting=0.004, seating=0.012)
SURFACES = (Surface("left", -1), Surface("step", 1), Surface("right", 1))
LENGTH = Finished("length", "left", "right", 40, -0.2, 0.1)
HEAD = Finished("head", "step", "right", 15, -0.05, 0.05)
CUTS = (
    Cut("left", None, 10, "saw"),
    Cut("right", "left", 20, "first", BY),
    Cut("step", "left", 30, "first", BY),
    Cut("left", "right", 40, "second", BY, least=0.3),
)
SHAFT = Plan("shaft", SURFACES, CUTS, (LENGTH, HEAD))


def test_two_faces_of_one_setup_in_worst_case() -> None:
    """Both dims from one seat count in full, and each gets half of what the dim between them allows."""
    found = limits(SHAFT)
    assert found.capability[1:].tolist() == pytest.approx([0.039] * 3)
    assert found.halves[1:].tolist() == pytest.approx([0.025, 0.025, 0.15])
    assert found.common == pytest.approx(0.025 / 0.039)
    assert found.binds.tolist() == [True, True, False]
    assert found.bound_by == (-1, 1, 1, 0)


def test_two_faces_of_one_setup_by_chance() -> None:
    """The dim between two faces of one setup sees two cuts, and neither setting nor seating."""
    head = chart(SHAFT).finished[1]
    assert head.std == pytest.approx(0.003 * 2**0.5)
    assert head.chance == pytest.approx(erf(0.05 / head.std / 2**0.5))


def test_one_sided_limits_are_met_in_the_middle() -> None:
    """A dim of 40 +0.1/-0.2 is aimed at 39.95."""
    assert chart(SHAFT).finished[0].mean == pytest.approx(39.95)


def test_a_dim_from_a_face_of_the_same_setup() -> None:
    """Written from the face next to it, a dim can be held to three standard deviations of two cuts."""
    plan = replace(SHAFT, cuts=(*CUTS[:2], replace(CUTS[2], datum="right"), CUTS[3]))
    step = chart(plan).working[1]
    assert step.capability == pytest.approx(3 * 0.003 * 2**0.5)
    assert step.share == pytest.approx(0.05 / step.capability)


def test_an_unbound_cut_is_made_as_well_as_it_can_be_held() -> None:
    """A cut that no blueprint dim sees gets its capability, or as much more as is asked."""
    plan = replace(SHAFT, cuts=(*CUTS[:2], replace(CUTS[2], datum="right"), CUTS[3]))
    assert chart(plan).working[0].half == pytest.approx(0.039)
    assert chart(plan, widths=Widths(unbound=2.0)).working[0].half == pytest.approx(0.078)


def test_most_stock_holds_a_rough_cut() -> None:
    """Stock of 0.3 to 0.5 leaves ±0.1 for the two cuts between, and the finish grind's other limit leaves it less."""
    cuts = (*CUTS[:2], replace(CUTS[2], datum="right"), replace(CUTS[3], most=0.5))
    found = chart(replace(SHAFT, cuts=cuts))
    rough = found.working[0]
    assert (found.stock[0].low, found.stock[0].high) == pytest.approx((0.3, 0.5))
    assert rough.half + found.working[2].half == pytest.approx(0.1)
    assert rough.bound_by == "stock on left (op 40)"


def test_widest() -> None:
    """No tolerance is wider than so many times its capability."""
    found = chart(SHAFT, widths=Widths(widest=2.0))
    assert found.working[2].half == pytest.approx(0.078)
    assert found.working[2].bound_by == ""


def test_the_largest_sum() -> None:
    """A cut that two chains share: even shares raise all three alike; the largest sum leaves it the common share."""
    names = "abcde"
    surfaces = (Surface("end", -1), *(Surface(name, 1) for name in names))
    by = CutSpread(cut=0.01)
    located = {"a": "end", "b": "a", "c": "end", "d": "c", "e": "c"}
    cuts = (Cut("end", None, 1, "saw"), *(Cut(n, located[n], i + 2, n, by) for i, n in enumerate(names)))
    finished = tuple(
        Finished(f"end to {name}", "end", name, 10 * (i + 1), -half, half)
        for i, (name, half) in enumerate({"a": 1, "b": 0.2, "c": 5, "d": 1, "e": 1}.items())
    )
    plan = Plan("rod", surfaces, cuts, finished)
    even, most = limits(plan), limits(plan, widths=Widths(aim="sum"))
    assert even.halves[1:].tolist() == pytest.approx([0.1, 0.1, 0.5, 0.5, 0.5])
    assert most.halves[1:].tolist() == pytest.approx([0.1, 0.1, 0.1, 0.9, 0.9])
    assert most.common == pytest.approx(even.common)


def test_nothing_known_of_a_cut() -> None:
    """A cut of unknown spread takes what the known ones leave, and its tolerance over k as its spread."""
    unknown = replace(CUTS[1], spread=CutSpread())
    found = chart(replace(SHAFT, cuts=(CUTS[0], unknown, *CUTS[2:])))
    assert found.share == pytest.approx(1.0)
    first, step, _ = found.working
    assert (first.half, step.half) == pytest.approx((0.011, 0.039))
    assert first.share == inf
    head = found.finished[1]
    assert head.std == pytest.approx(np.sqrt((0.011 / 3) ** 2 + 0.013**2))


def test_infeasible_chain_is_named() -> None:
    """The chain that cannot be held is told with what it leaves, what its cuts can be held to, and by how much."""
    found = chart(SHAFT)
    assert not found.feasible
    (one,) = found.lacking
    said = lacking(SHAFT, one)
    path = "step (op 30) <- left (op 10) -> right (op 20)"
    held = "these cuts together can be held to ±0.078 mm, which is 0.028 mm too much"
    assert said == f"'head' leaves ±0.05 mm for {path}; {held}"


def test_rate_of_the_binding_dim() -> None:
    """A dim that holds the common share gains 1/Σc for each mm more that the blueprint gives."""
    first = limits(SHAFT)
    wider = limits(replace(SHAFT, finished=(LENGTH, replace(HEAD, lower=-0.051, upper=0.051))))
    assert (wider.common - first.common) / 0.001 == pytest.approx(first.rate[1])
    assert first.rate[0] == 0


def test_given_sizes_that_leave_no_room() -> None:
    """Given sizes that pass a limit by themselves leave a share of nothing, and the rest is still charted."""
    cuts = (*CUTS[:2], replace(CUTS[2], size=Limits.around(25, 0.06)), CUTS[3])
    found = chart(replace(SHAFT, cuts=cuts))
    assert found.share == 0
    assert not found.feasible
    assert [r.holds for r in found.finished] == [True, False]


def test_what_given_sizes_settle_is_told() -> None:
    """With rough and finish size given, the stock between them is not chosen, and the notes say so."""
    cuts = (
        CUTS[0],
        replace(CUTS[1], size=Limits.around(40.5, 0.05)),
        replace(CUTS[2], datum="right"),
        replace(CUTS[3], size=Limits.around(39.95, 0.05)),
    )
    found = chart(replace(SHAFT, cuts=cuts))
    assert [r.chosen for r in (*found.finished, *found.stock)] == [False, True, False]
    assert found.notes[1] == (
        "the stock on left (op 40) is not chosen: it follows from left (op 40) <- right (op 20) <- left (op 10)"
    )
    assert (found.stock[0].low, found.stock[0].high) == pytest.approx((0.45, 0.65))


def test_least_stock_between_a_given_and_a_free_size_narrows_tolerances() -> None:
    """Where a given rough size settles the stock, the finish cut's tolerance makes room for the least of it."""
    cuts = (
        CUTS[0],
        replace(CUTS[1], size=Limits.around(40.3, 0.02)),
        replace(CUTS[2], datum="right"),
        CUTS[3],
    )
    found = chart(replace(SHAFT, cuts=cuts))
    assert found.stock[0].low == pytest.approx(0.3)
    assert found.working[2].half == pytest.approx(0.03)


def test_a_coat_grows_outward_on_both_sides() -> None:
    """Both faces plated 0.02 ± 0.005 in one bath: the length grows by 0.04, and the bath's spread counts twice."""
    bath = CutSpread(setting=0.001)
    cuts = (
        Cut("left", None, 10, "saw"),
        Cut("right", "left", 20, "chuck", CutSpread(cut=0.002)),
        Cut("left", "left", 30, "bath", bath, size=Limits.around(0.02, 0.005)),
        Cut("right", "right", 30, "bath", bath, size=Limits.around(0.02, 0.005)),
    )
    found = chart(Plan("pin", (SURFACES[0], SURFACES[2]), cuts, (LENGTH,)))
    assert found.working[0].size == pytest.approx(39.95 - 0.04)
    assert found.working[0].half == pytest.approx(0.14)
    assert found.finished[0].std == pytest.approx(np.hypot(0.002, 0.002))
    assert found.stock == ()


def test_a_radius_from_the_axis_of_its_setup() -> None:
    """A turned radius sees setting and cut; its run-out against the seat is left out, and in the wall it is in."""
    surfaces = (Surface("axis", 0), Surface("bore", -1), Surface("outside", 1))
    cuts = (
        Cut("axis", None, 10, "chuck"),
        Cut("bore", "axis", 20, "first", BY),
        Cut("outside", "axis", 30, "second", BY),
    )
    finished = (
        Finished("bore", None, "bore", 10, -0.1, 0.1),
        Finished("outside", None, "outside", 20, -0.1, 0.1),
        Finished("wall", "bore", "outside", 10, -0.2, 0.2),
    )
    plan = Plan("bush", surfaces, cuts, finished, shown_times=2)
    found = chart(plan)
    assert [r.std for r in found.finished] == pytest.approx([0.005, 0.005, 0.013 * 2**0.5])
    picture = drawn(plan, found)
    assert [row.size for row in picture.arrows] == [None, pytest.approx(20), pytest.approx(40)]
    assert picture.feet[2].asked_high == pytest.approx(10.2)


def test_heat_that_is_not_met_in_the_middle_shifts_the_dim() -> None:
    """A growth expected at a quarter of its range shifts a dim that is not cut afterwards by a quarter of the range."""
    plan = replace(SHAFT, heats=(Heat(50, 0.0005, 0.0, 0.002, 0.0002),))
    found = sources(plan)
    nominal = 39.95 / 1.001
    assert found.shift[0] == pytest.approx(-0.0005 * nominal)
    assert found.kinds[-1] == "heat"
    assert found.coefficients[0, -1] == pytest.approx(nominal)
    length = chart(plan).finished[0]
    assert length.high - length.low == pytest.approx(0.3, abs=1e-3)
    assert length.holds


def test_even_growth_has_the_spread_of_a_rectangle() -> None:
    """Where no spread of the growth is given it is even between its ends."""
    assert Heat(1, 0.001, 0.0005, 0.0015).standard == pytest.approx(0.001 / 12**0.5)


def test_setups_of_two_parts_that_share_a_key() -> None:
    """Two parts cut against one fixture share its setting: the covariance of their lengths is its variance."""
    one = replace(
        SHAFT, name="one", cuts=(*CUTS[:3], replace(CUTS[3], spread=replace(BY, shared_setting="fixture")))
    )
    both = joined([sources(one), sources(replace(one, name="two"))])
    assert both.plans == ("one", "one", "two", "two")
    assert both.covariance[0, 2] == pytest.approx(0.004**2)
    assert both.covariance[0, 0] == pytest.approx(0.013**2)
    with pytest.raises(RequestError, match="two plans 'one'"):
        joined([sources(one), sources(one)])


def test_an_angle_acts_over_its_length() -> None:
    """A squareness of 20 µrad over 150 mm brings 3 µm, and cancels between two faces cut over the same length."""
    spread = CutSpread(cut=0.004, angle=20e-6, over=150, shared_angle="mill")
    cuts = tuple(c if c.datum is None else replace(c, spread=spread) for c in CUTS)
    found = chart(replace(SHAFT, cuts=cuts))
    assert found.finished[0].std == pytest.approx(0.005)
    assert found.finished[1].std == pytest.approx(0.004 * 2**0.5)


def test_audit_of_a_plan_with_every_kind_of_fault() -> None:
    """Short stock, a dim out of limits, a tolerance too narrow, a dim twice and one that nothing needs."""
    surfaces = (*SURFACES, Surface("pad", 1))
    cuts = (
        CUTS[0],
        replace(CUTS[1], size=Limits.around(40.3, 0.05)),
        replace(CUTS[2], size=Limits.around(25.3, 0.05)),
        Cut("step", "right", 30, "first", BY, size=Limits.around(15, 0.05)),
        replace(CUTS[3], size=Limits.around(39.95, 0.02), most=0.4),
        Cut("pad", "left", 50, "third", size=Limits.around(3, 0.1), sense=1),
    )
    found = audit(Plan("shaft", surfaces, cuts, (LENGTH, HEAD)))
    said = {finding.kind: finding for finding in found.findings}
    assert set(said) == {"finished", "stock", "narrow", "twice", "unused"}
    assert (said["finished"].by, said["finished"].path) == (pytest.approx(0.05), (2, 1))
    assert (said["stock"].field, said["stock"].by) == ("cuts/4", pytest.approx(0.3 - 0.28))
    assert (said["narrow"].field, said["narrow"].by) == ("cuts/4", pytest.approx(0.019))
    assert said["narrow"].chance == pytest.approx(erf(0.02 / 0.013 / 2**0.5))
    assert said["twice"].field == "cuts/3"
    assert said["unused"].field == "cuts/5"
    assert not found.clean


def test_audit_of_too_much_stock() -> None:
    """A cut that may find more than it is to remove is told, with how much."""
    cuts = (
        CUTS[0],
        replace(CUTS[1], size=Limits.around(40.5, 0.05)),
        replace(CUTS[2], datum="right", size=Limits.around(15, 0.05)),
        replace(CUTS[3], size=Limits.around(39.95, 0.05), most=0.6),
    )
    (finding,) = audit(replace(SHAFT, cuts=cuts)).findings
    assert (finding.kind, finding.by) == ("too much stock", pytest.approx(0.05))


def test_audit_of_a_wrong_plan() -> None:
    """A plan that cannot be charted is told its problems, at the places that it was given with."""
    cuts = (*CUTS[:2], Cut("right", "left", 20, "first"), replace(CUTS[3], datum="stepp"))
    found = audit(replace(SHAFT, cuts=cuts))
    assert found.solution is None
    assert "cuts/3" in {problem.field for problem in found.problems}
    assert [finding.field for finding in found.findings] == ["cuts/2"]


def test_many_plans() -> None:
    """Many plans are charted with progress; a wrong one gives its problems; asking to stop stops."""
    told: list[tuple[int, int]] = []
    wrong = replace(SHAFT, cuts=CUTS[:2])
    found = charts([SHAFT, wrong], progress=lambda done, of: told.append((done, of)))
    assert isinstance(found[0], Solution)
    assert isinstance(found[1], tuple)
    assert told == [(1, 2), (2, 2)]
    with pytest.raises(Cancelled):
        charts([SHAFT, SHAFT], cancel=lambda: True)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: chart(SHAFT, k=0.0),
        lambda: means(SHAFT, [0.1]),
        lambda: means(SHAFT, [0.0, -0.1, 0.0, 0.0]),
        lambda: Widths(aim="most"),  # type: ignore[arg-type]
        lambda: Widths(widest=0.5),
        lambda: drawn(replace(SHAFT, name="other"), chart(SHAFT)),
        lambda: sources(replace(SHAFT, name="other"), chart(SHAFT)),
    ],
)
def test_requests_that_make_no_sense(ask: object) -> None:
    """A request out of range is refused with what would do."""
    with pytest.raises(RequestError) as caught:
        ask()  # type: ignore[operator]
    assert caught.value.remedy


def test_what_is_found_travels() -> None:
    """Solution, picture and plan come back from another process as they went."""
    found = chart(SHAFT)
    for one in (SHAFT, found, drawn(SHAFT, found), audit(SHAFT)):
        assert pickle.loads(pickle.dumps(one)) == one
