"""The sheet of stock to leave: what is told, rounded, ranked, and beside which hardness and cautions."""

from dataclasses import replace
from math import pi

import pytest

from loopwright.errors import RequestError
from loopwright.handbook.cautions import DEFERS
from loopwright.making.stock import Eats, stock_to_leave
from loopwright.making.stock_cut import Practice, follows
from loopwright.making.stock_route import Finishing, finishing_cuts
from loopwright.model.build import Build
from loopwright.studies.stock_sheet import StockSheet, rounding, stock_sheet
from made_parts import BRACKET, RING, bracket, build, changed, thin_ring


def cut(made: Build, part: str, surface: str, op: str, practice: Practice | None = None) -> Finishing:
    """One finishing cut of a part."""
    found, _ = finishing_cuts(made, part, 0.99, practice)
    return next(f for f in found if f.follow.name == surface and f.follow.op.op == op)


@pytest.fixture(scope="module")
def ring_sheet() -> StockSheet:
    """Stock to leave on the thin ring."""
    return stock_sheet(thin_ring(), "ring")


def test_every_finishing_cut_is_there(ring_sheet: StockSheet) -> None:
    """Each cut that follows another on its surface is told, in the order of the route; the first of a bore is not."""
    found = [(s.surface, s.op, s.before) for s in ring_sheet.surfaces]
    assert found == [
        ("right", 20, 10), ("rim", 20, None), ("left", 30, 10), ("left", 60, 30), ("right", 70, 20), ("bore", 80, 20),
        ("rim", 80, 20),
    ]  # fmt: skip
    assert ring_sheet.noun == "ring"
    assert ring_sheet.chance == 0.99


def test_what_is_told_is_rounded_up_and_holds(ring_sheet: StockSheet) -> None:
    """The rounded least is no less than the computed, by less than a step, and keeps the chance."""
    for one in ring_sheet.surfaces:
        assert 0 <= one.leave_low - one.least + 1e-9 < one.step
        assert one.chance_low >= 0.99 - 1e-6
        steps = one.leave_low / one.step
        assert steps == pytest.approx(round(steps))
        if one.before is not None:
            assert one.leave_high > one.leave_low


def test_one_in_five_fails_with_what_is_told(ring_sheet: StockSheet) -> None:
    """With the stock that is told beside the least, about a fifth of the pieces do not clean up."""
    for one in ring_sheet.surfaces:
        assert one.fails_stock is not None
        times = 2 if one.on_diameter else 1
        again = stock_to_leave([as_eats(c, times) for c in one.causes], 0.99, 0.0)
        # rounded to a twentieth of the least
        assert again.cleans_up(one.fails_stock / times) == pytest.approx(0.8, abs=0.09)


def as_eats(cause: object, times: float) -> Eats:
    """A cause as it was before it was told."""
    numbers = {name: getattr(cause, name) / times for name in ("low", "high", "std")}
    return Eats(getattr(cause, "name"), getattr(cause, "shape"), **numbers)  # noqa: B009


def test_causes_and_remedies_are_worked_out_anew(ring_sheet: StockSheet) -> None:
    """What a cause takes is the difference it makes; what a remedy saves is that of a new sum; the best come first."""
    rim = ring_sheet.surfaces[-1]
    assert rim.causes[0].name == "ovality of the ring"
    rest = [as_eats(c, 2) for c in rim.causes[1:]]
    assert rim.least - 2 * stock_to_leave(rest, 0.99, 0).least == pytest.approx(rim.causes[0].takes, abs=1e-4)
    plug = next(r for r in rim.remedies if r.name == "support")
    assert plug.words == "quench it on a plug"
    anew = cut(thin_ring(), "ring", "rim", "cylindrical grind", Practice(supported=True))
    assert plug.least == pytest.approx(2 * anew.stock.least)
    saved = [r.saves for r in rim.remedies[:-1]]
    assert saved == sorted(saved, reverse=True)
    assert rim.remedies[-1].name == "all"
    assert rim.remedies[-1].least < min(r.least for r in rim.remedies[:-1])
    for cause in rim.causes:
        assert cause.source


def test_minutes_for_more_stock_by_hand(ring_sheet: StockSheet) -> None:
    """0.05 mm off the rim at 0.0001 in a pass and a traverse of an eighth: 10 passes of its turns at 15.24 m/min."""
    rim = ring_sheet.surfaces[-1]
    assert rim.minutes is not None
    turns = (12 + 2 / 3 * 20) / (20 / 8)
    one_pass = turns * pi * 60 / 1000 / (50 * 0.3048)
    passes = 10  # 0.025 mm a side in steps of 0.00254
    assert rim.minutes.high == pytest.approx(passes * one_pass, rel=0.01)
    assert rim.minutes.low < rim.minutes.high
    assert "assumed" in rim.minutes.words
    assert ring_sheet.surfaces[0].minutes is None


def test_hardness_and_cautions(ring_sheet: StockSheet) -> None:
    """O1 for 60 to 62 HRC: bands with sources, 64 to 65 as quenched, 5 mm bear HRC, cautions of oil and wheel."""
    steel = ring_sheet.hardening
    assert steel is not None
    assert steel.aim is not None
    assert (steel.aim.low, steel.aim.high, steel.aim.scale, steel.aim.op) == (60, 62, "HRC", 50)
    assert steel.as_quenched_hrc is not None
    assert steel.as_quenched_hrc[:2] == (64, 65)
    assert steel.quench == "oil"
    assert steel.tested is not None
    assert steel.tested.thickness == 5
    assert "HRC" in steel.tested.usable
    assert steel.growth[:3] == (0.0012, 0.0005, 0.0018)
    assert any("61.8 to 63.9 HRC" in note for note in steel.notes)
    hazards = [c.hazard for c in ring_sheet.cautions]
    assert hazards == ["oven", "oil quench", "quench liquid", "grinding wheel"]
    assert ring_sheet.defers == DEFERS


def test_a_wall_too_thin_for_the_test() -> None:
    """A wall of half a millimetre does not bear HRC at 60 HRC (0.8 mm are needed): another test is named."""
    thin = changed(RING, ("bore: 50 H6", "bore: 59 H6"), ("size: [12, 50]", "size: [12, 59]"))
    steel = stock_sheet(thin, "ring").hardening
    assert steel is not None
    assert steel.tested is not None
    assert "HRC" not in steel.tested.usable
    assert steel.tested.needs.mm == pytest.approx(0.8)
    assert any("too thin for HRC" in note for note in steel.notes)


def test_hardness_in_other_scales_and_steels() -> None:
    """Vickers is converted, a steel that is not known is said, an air hardening steel warns of no oil."""
    vickers = changed(RING, ("60…62 HRC", "700…760 HV"))
    steel = stock_sheet(vickers, "ring").hardening
    assert steel is not None
    assert steel.aim is not None
    assert steel.aim.hrc == pytest.approx((60.1, 62.5), abs=0.1)
    unknown = stock_sheet(
        changed(RING, ("material: tool steel O1", "material: bearing steel")), "ring"
    ).hardening
    assert unknown is not None
    assert unknown.harden_degc is None
    assert any("no heat treatment of 'bearing steel'" in note for note in unknown.notes)
    air = stock_sheet(changed(RING, ("material: tool steel O1", "material: tool steel A2")), "ring")
    assert "oil quench" not in {c.hazard for c in air.cautions}
    soft = stock_sheet(bracket(), "bracket")
    assert soft.hardening is None


def test_a_chance_may_be_asked_for() -> None:
    """Less chance needs less stock; without one the shop's counts."""
    ring = thin_ring()
    careless = stock_sheet(ring, "ring", surface="rim", chance=0.9).surfaces[-1]
    usual = stock_sheet(ring, "ring", surface="rim").surfaces[-1]
    assert careless.least < usual.least
    shop = ring.shop.model_copy(update={"clean_up": 0.9})
    asked = stock_sheet(ring.model_copy(update={"shop": shop}), "ring", surface="rim")
    assert asked.surfaces[-1].least == pytest.approx(careless.least)


def test_questions_that_cannot_be_answered() -> None:
    """A part, a surface or a chance that is not there is named with what would do."""
    ring = thin_ring()
    for words, said in (
        ({"part": "rung"}, "did you mean 'ring'"),
        ({"part": "ring", "surface": "top"}, "there is no surface 'top'"),
        ({"part": "ring", "chance": 1.0}, "99.99"),
        ({"part": "ring", "chance": 0.3}, "50 %"),
    ):
        with pytest.raises(RequestError, match=said):
            stock_sheet(ring, **words)  # type: ignore[arg-type]
    bare = ring.model_copy(update={"parts": {"ring": ring.parts["ring"].model_copy(update={"route": []})}})
    with pytest.raises(RequestError, match="no route"):
        stock_sheet(bare, "ring")
    drilled = changed(
        BRACKET,
        ("      - {op: bore, machine: mill, setup: angle plate, datum: [foot], cuts: {bore: {}}}\n", ""),
    )
    with pytest.raises(RequestError, match="no finishing cut follows another on 'bore'"):
        stock_sheet(drilled, "bracket", surface="bore")


def test_steps_of_rounding() -> None:
    """Steps are 1, 2 or 5 of a decimal place and a twentieth of the stock at most."""
    assert rounding(0.25, "mm") == pytest.approx(0.01)
    assert rounding(1.3, "mm") == pytest.approx(0.05)
    assert rounding(0.006, "mm") == pytest.approx(0.0002)
    assert rounding(0.254, "in") == pytest.approx(0.0005 * 25.4)
    assert rounding(0.0, "mm") > 0


def test_a_route_with_a_gap_is_still_answered() -> None:
    """Where nothing joins two states of a surface, the causes that need no chain are counted, and the gap is told."""
    made = build(
        """
  block:
    surfaces: {a: {faces: -X, size: [20, 20]}, b: {faces: +X, size: [20, 20]}}
    route:
      - {op: face, machine: mill, cuts: {a: {}}}
      - {op: surface grind, machine: flat grinder, cuts: {a: {}}}
"""
    )
    sheet = stock_sheet(made, "block")
    assert sheet.problems
    if sheet.surfaces:
        assert sheet.surfaces[0].work_to is None
    follow, _ = follows(made, "block")
    assert all(one.window >= 0 for one in follow)


def test_the_same_cut_twice_gives_the_same(ring_sheet: StockSheet) -> None:
    """Nothing is drawn at random: asked twice, the answer is the same to the last digit."""
    again = stock_sheet(thin_ring(), "ring")
    assert again.surfaces == ring_sheet.surfaces
    assert replace(again, surfaces=()) == replace(ring_sheet, surfaces=())


def test_a_reamer_must_not_rub() -> None:
    """Where less would clean up than a reamer needs to cut, the customary stock is advised."""
    bored = (
        "{op: ream, machine: mill, setup: vice, datum: [foot], cuts: {pin: {}}}",
        "{op: bore, machine: mill, setup: vice, datum: [foot], cuts: {pin: {}}}\n"
        "      - {op: ream, machine: mill, setup: vice, datum: [foot], cuts: {pin: {}}}",
    )
    (_, ream) = stock_sheet(changed(BRACKET, bored), "bracket", surface="pin").surfaces
    assert ream.customary_says == "under"
    assert ream.customary is not None
    assert ream.least < ream.customary.low <= ream.leave_low < ream.customary.low + ream.step
    assert any("that least is left" in note for note in ream.notes)
    assert ream.work_to is not None
    assert ream.work_to.high == pytest.approx(8.0075 - ream.leave_low, abs=1e-3)


def test_what_is_no_ring_is_not_called_one() -> None:
    """A thick disc with a small bore is a part, a long bar a shaft."""
    disc = changed(RING, ("bore: 50 H6", "bore: 20 H6"), ("size: [12, 50]", "size: [12, 20]"))
    assert stock_sheet(disc, "ring").noun == "part"
    long = changed(RING, ("thickness: 12 ±0.005", "thickness: 90 ±0.005"))
    assert stock_sheet(long, "ring").noun == "shaft"


def test_brass_and_laminate_have_no_rolled_skin() -> None:
    """Only steel and iron come with scale; what a brass bar has on it is the surface as bought."""
    brass = changed(RING, ("tool steel O1", "brass"), ("condition: annealed, ground", "condition: hard"))
    causes = stock_sheet(brass, "ring", surface="rim").surfaces[0].causes
    assert causes[0].name == "surface of the stock as bought"
