"""What frees a plan that is too tight: each change verified by charting the changed plan, and ranked by its cost."""

from dataclasses import replace

import pytest

from loopwright.buildfile import read_text
from loopwright.errors import BuildError, Cancelled, RequestError
from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_changes import Change
from loopwright.making.chart_checks import problems
from loopwright.making.chart_freeing import Freeing, Minutes, Remedy, freeing
from loopwright.making.chart_solving import chart
from loopwright.studies.chart_sheet import chart_sheet

BLOCK = Plan(
    "block",
    (Surface("bottom", -1), Surface("top", 1), Surface("slot", 1)),
    (
        Cut("bottom", None, 10, "saw"),
        Cut("top", "bottom", 20, "face", size=Limits.around(26.162, 0.0508)),
        Cut("slot", "top", 25, "slot", size=Limits.around(13.462, 0.254)),
        Cut("top", "bottom", 30, "finish", size=Limits.around(25.4, 0.0508)),
    ),
    (
        Finished("height", "bottom", "top", 25.4, -0.0508, 0.0508),
        Finished("depth", "slot", "top", 12.7, -0.254, 0.254),
    ),
)
"""A slot cut before the top is finished: its depth takes three cuts (plan I of the worked example)."""

BY = CutSpread(cut=0.005, setting=0.010)
FACES = (Surface("left", -1), Surface("a", 1), Surface("b", 1), Surface("right", 1))
STEPS = Plan(
    "steps",
    FACES,
    (
        Cut("left", None, 10, "saw"),
        Cut("right", "left", 20, "first", BY),
        Cut("a", "right", 30, "second", BY),
        Cut("b", "left", 40, "third", BY),
    ),
    (
        Finished("length", "left", "right", 60, -0.2, 0.2),
        Finished("land", "a", "b", 10, -0.05, 0.05),
        Finished("a", "left", "a", 20, -0.5, 0.5),
    ),
)
"""The land between a and b takes three setups: a from right, right from left, b from left."""


def of_kind(found: Freeing, kind: str) -> list[Remedy]:
    """The remedies of a kind."""
    return [remedy for remedy in found.remedies if remedy.change.kind == kind]


def test_the_ways_out_of_plan_one() -> None:
    """The slot made after the finished top, or to 0.6 of its spread, frees the block, and nothing else is needed."""
    found = freeing(BLOCK)
    assert found.before.share == pytest.approx(10 / 14)
    assert [chain.name for chain in found.chains] == ["depth"]
    (order,) = of_kind(found, "order")
    assert order.enough
    assert order.share == pytest.approx(1.0)
    slot = next(w for w in order.solution.working if order.change.plan.cuts[w.cut].makes == "slot")
    assert (slot.size, slot.half) == pytest.approx((12.7, 0.254))
    assert [cut.op for cut in order.change.plan.cuts] == [10, 20, 30, 25]
    (tighter,) = of_kind(found, "tighter")
    assert (tighter.change.factor, tighter.change.cuts) == (pytest.approx(0.6), (2,))
    assert tighter.share == pytest.approx(1.0)


def test_ranked_by_cost() -> None:
    """The cheapest change that is enough comes first, whoever states the cost."""
    by_default = freeing(BLOCK).remedies[0]
    assert (by_default.change.kind, by_default.minutes) == ("order", 5.0)
    by_minutes = freeing(BLOCK, minutes=Minutes(order=60.0)).remedies[0]
    assert by_minutes.change.kind == "tighter"
    assert by_minutes.minutes == pytest.approx(30 * (1 / 0.6 - 1))
    by_shop = freeing(BLOCK, cost=lambda change: 1.0 if change.kind == "tighter" else 2.0).remedies[0]
    assert (by_shop.change.kind, by_shop.minutes) == ("tighter", 1.0)


def test_every_remedy_is_what_charting_it_says() -> None:
    """Each change gives a plan without problems, and the share told is that of the plan charted afresh."""
    found = freeing(STEPS)
    assert {r.change.kind for r in found.remedies} >= {"datum", "order and datum", "one setup"}
    for remedy in found.remedies:
        assert problems(remedy.change.plan) == ()
        again = chart(remedy.change.plan)
        assert again.share == pytest.approx(remedy.share)
        assert remedy.gained == pytest.approx(again.share - found.before.share)
        assert remedy.enough == (again.share >= found.wished - 1e-6 and all(r.holds for r in again.finished))


def test_one_setup_for_both() -> None:
    """Cut in one setup and dimensioned from each other, two faces see two cuts and no setting."""
    found = freeing(STEPS)
    best = max(of_kind(found, "one setup"), key=lambda r: r.share)
    assert best.enough
    land = best.solution.finished[1]
    assert len(land.path) == 1
    assert land.std == pytest.approx(0.005 * 2**0.5)


def test_a_dim_written_from_its_neighbour_costs_nothing() -> None:
    """Where two faces are cut in one setup already, writing one from the other frees the dim between."""
    cuts = (*STEPS.cuts[:2], replace(STEPS.cuts[2], datum="left", setup="third"), STEPS.cuts[3])
    plan = replace(STEPS, cuts=cuts)
    best = freeing(plan).remedies[0]
    assert (best.change.kind, best.minutes, best.enough) == ("written", 0.0, True)
    assert best.change.what == "write the dim of b (op 40) from a (op 30)"


def test_a_setup_seated_elsewhere() -> None:
    """Face b seated on a is one cut from it: a transfer of datum less."""
    (datum,) = [r for r in of_kind(freeing(STEPS), "datum") if "'third' on a" in r.change.what]
    assert datum.enough
    assert [STEPS.cuts[i].makes for i, _ in datum.solution.finished[1].path] == ["b"]


def test_a_plan_that_holds_is_asked_for_more() -> None:
    """Where the plan holds, changes are sought for a quarter more of share; with a share asked, for that."""
    wide = replace(
        STEPS,
        finished=(STEPS.finished[0], replace(STEPS.finished[1], lower=-0.3, upper=0.3), STEPS.finished[2]),
    )
    found = freeing(wide)
    assert found.before.feasible
    assert found.wished == pytest.approx(1.25 * found.before.share)
    assert found.remedies[0].enough
    assert freeing(wide, share=1.0).chains == ()
    assert freeing(wide, share=1.0).remedies == ()


def test_nothing_moves_over_a_heat_treatment() -> None:
    """With hardening between slot and finish, the order stays; what frees the block is a better cut only."""
    found = freeing(replace(BLOCK, heats=(Heat(27, 0.0, 0.0, 0.0),)))
    assert not [r for r in found.remedies if r.change.kind in ("order", "order and datum", "one setup")]
    assert of_kind(found, "tighter")[0].enough


def test_nothing_is_finished_before_it_is_roughed() -> None:
    """No remedy changes the order in which one surface is cut."""
    for remedy in freeing(BLOCK).remedies:
        tops = [cut for cut in sorted(remedy.change.plan.cuts, key=lambda cut: cut.op) if cut.makes == "top"]
        assert [cut.setup for cut in tops][-1] in ("finish", "slot")
        assert remedy.change.plan.cuts[1].op < remedy.change.plan.cuts[3].op


def test_given_cuts_of_a_plan_with_open_ones_stay() -> None:
    """Where the plan leaves a size open, the others stay as they are written, and may be written narrower."""
    plan = replace(
        BLOCK, cuts=(*BLOCK.cuts[:2], Cut("slot", "top", 25, "slot", CutSpread(cut=0.254 / 3)), BLOCK.cuts[3])
    )
    found = freeing(plan)
    assert found.before.share == pytest.approx(0.6)
    assert [dim.given for dim in found.before.working] == [True, False, True]
    assert of_kind(found, "order")[0].enough


def test_progress_and_stopping() -> None:
    """Changes tried are counted, and it stops when asked."""
    told: list[tuple[int, int]] = []
    freeing(STEPS, progress=lambda done, of: told.append((done, of)))
    assert told[-1][0] == told[-1][1] == len(told)
    with pytest.raises(Cancelled):
        freeing(STEPS, cancel=lambda: True)


def test_requests_that_make_no_sense() -> None:
    """A share of nothing and a plan with problems are refused."""
    with pytest.raises(RequestError, match="a share of 0"):
        freeing(STEPS, share=0.0)
    with pytest.raises(BuildError):
        freeing(replace(STEPS, cuts=STEPS.cuts[:2]))


def test_the_cost_of_a_change() -> None:
    """Halving a spread costs the minutes stated, two thirds of it half as much."""
    for factor, minutes in ((1 / 2, 30.0), (2 / 3, 15.0)):
        assert Minutes().of(Change("tighter", (1,), "", STEPS, factor)) == pytest.approx(minutes)


def test_a_better_cut_beside_another_of_its_setup() -> None:
    """A dim between two faces of one setup is freed by one of the two cuts alone, the other staying as it is."""
    cuts = (
        *STEPS.cuts[:2],
        replace(STEPS.cuts[2], setup="third"),
        replace(STEPS.cuts[3], datum="a", setup="third"),
    )
    land = replace(STEPS.finished[1], lower=-0.018, upper=0.018)
    found = freeing(replace(STEPS, cuts=cuts, finished=(STEPS.finished[0], land, STEPS.finished[2])))
    (tighter,) = of_kind(found, "tighter")
    assert tighter.enough
    assert tighter.share == pytest.approx(1.0)
    assert 3 * 0.005 * (1 + tighter.change.factor**2) ** 0.5 == pytest.approx(0.018)


def test_too_little_room_for_stock() -> None:
    """Where the most stock is what binds, a better rough cut frees it."""
    rough = Cut("left", None, 10, "saw"), Cut("right", "left", 20, "first", CutSpread(cut=0.05))
    finish = Cut("left", "right", 30, "second", CutSpread(cut=0.01), least=0.1, most=0.3)
    plan = Plan("pin", (FACES[0], FACES[3]), (*rough, finish), (STEPS.finished[0],))
    found = freeing(plan)
    assert [chain.name for chain in found.chains] == ["stock on left (op 30)"]
    best = found.remedies[0]
    assert (best.change.kind, best.change.cuts, best.enough) == ("tighter", (1,), True)
    assert best.change.factor == pytest.approx((0.1 - 0.03) / 0.15)


FREED = """
format: loopwright-build/1
name: freed
shop:
  machines:
    saw: {kind: bandsaw}
    mill: {kind: manual mill, setting_up: 25, holds: {face: {cut: 20 µm, setting: 0, seating: 0}}}
parts:
  block:
    material: low carbon steel
    dims: {high: 40 ±0.06, step: 10 ±0.08}
    surfaces: {foot: -Z, top: +Z, ledge: +Z}
    spans: {high: [foot, top], step: [foot, ledge]}
    route:
      - {op: saw, machine: saw, cuts: {foot: {}, top: {measured_from: foot}}}
      - {op: face, machine: mill, setup: one, datum: [foot], cuts: {top: {least: 0.5}}, minutes: 8}
      - {op: face, machine: mill, setup: two, datum: [top], cuts: {ledge: {}}, minutes: 12, setting_up: UP}
bodies: {b: {}}
"""


def test_what_frees_a_chart_costs_the_minutes_of_the_route() -> None:
    """Another datum costs setting the op up; a better cut its minutes: the cheapest that is enough stands first."""
    freed = {}
    for setting_up in (3.0, 40.0):
        build = read_text(FREED.replace("UP}", f"{setting_up:g}}}"))
        (sheet,) = chart_sheet(build, "block").charts
        assert not sheet.feasible
        enough = [one.minutes for one in sheet.freed if one.enough]
        assert enough == sorted(enough)
        assert enough
        freed[setting_up] = {one.what: one.minutes for one in sheet.freed}
    seat = next(what for what in freed[3.0] if what.startswith("seat setup 'two "))
    assert (freed[3.0][seat], freed[40.0][seat]) == (3.0, 40.0)
    better = next(what for what in freed[3.0] if what.startswith("make ledge"))
    factor = float(better.split(" to ")[1].split()[0])
    assert freed[3.0][better] == pytest.approx(12 * (1 / factor - 1), rel=0.05)


def test_a_cut_is_not_asked_to_be_perfect() -> None:
    """Where one cut takes all the room the other would have to be without any spread: that is no remedy."""
    (sheet,) = chart_sheet(read_text(FREED.replace("UP}", "3}").replace("±0.08", "±0.06")), "block").charts
    assert [one.what for one in sheet.freed] == ["seat setup 'two (op 30)' on foot (op 10)"]
