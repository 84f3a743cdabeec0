"""Cutting data of ops: what is chosen, what limits it, what is warned of; the parts are invented."""

from math import pi, radians, tan

import pytest

from cut_parts import build, changed, cut, op, text
from loopwright.buildfile import read_text
from loopwright.errors import RequestError
from loopwright.handbook.cutting_speeds import speed_ranges
from loopwright.making.cutting_data import cutting_of, minutes_of
from loopwright.making.cutting_material import material_at
from loopwright.making.cutting_records import CutData
from loopwright.making.cutting_words import CuttingWords
from loopwright.model.build import Units
from loopwright.model.routes import Op
from loopwright.studies.cutting_sheet import cutting_sheet, op_at

MILLED = ("face milling", "side milling", "circular milling", "thread milling")


def warned(found: CutData, about: str) -> str:
    """The warnings about something, as one text."""
    return " ".join(one.text for one in found.warnings if one.about == about)


def every_cut() -> list[tuple[str, CutData]]:
    """All cuts of all parts."""
    return [
        (f"{name} {number} {one.surface}", one)
        for name, part in build().parts.items()
        for number in range(10, 10 * len(part.route) + 10, 10)
        for one in op(name, number).cuts
    ]


@pytest.mark.parametrize(("name", "found"), every_cut(), ids=lambda v: v if isinstance(v, str) else "")
def test_a_pass_agrees_with_itself(name: str, found: CutData) -> None:
    """Speed, turns, feed speed, power and torque of a pass hang together as v = π d n, vf = n z f, P = 2π n M."""
    for one in found.passes:
        if one.rpm is None or "grinding" in found.way:
            continue
        assert one.speed is not None
        assert one.feed is not None
        if found.way in (*MILLED, "drilling", "reaming"):
            assert one.speed == pytest.approx(pi * found.tool.diameter * one.rpm / 1000)
        teeth = found.tool.edges if one.per == "tooth" else 1
        assert one.feed_speed == pytest.approx(one.rpm * one.feed * teeth)
        if one.power is not None:
            assert one.power == pytest.approx(one.torque * 2 * pi * one.rpm / 60)
        if (
            one.power is not None
            and one.force is not None
            and found.way not in ("drilling", "thread turning")
        ):
            assert one.power == pytest.approx(one.force * one.speed / 60)


@pytest.mark.parametrize(("name", "found"), every_cut(), ids=lambda v: v if isinstance(v, str) else "")
def test_passes_take_the_stock_off(name: str, found: CutData) -> None:
    """What all passes take adds up to the stock: half of it where it is told on the diameter."""
    plain = (
        "turning",
        "facing on the lathe",
        "face milling",
        "side milling",
        "surface grinding",
        "cylindrical grinding",
    )
    if found.way in plain and found.passes:
        taken = sum(one.count * (one.depth or 0.0) for one in found.passes)
        assert found.stock is not None
        assert taken == pytest.approx(
            found.stock / 2 if found.way in ("turning", "cylindrical grinding") else found.stock
        )


def test_what_the_machine_cannot_turn_is_said() -> None:
    """The fastest speed of the lathe takes the place of what carbide asks for, in words and in numbers."""
    found = cut("shaft", 20)
    assert found.passes[-1].rpm == 2500
    assert "speed limited by the machine: 2,500 rpm is its fastest" in found.limits
    assert "above the machine's" in warned(found, "speed")


def test_a_machine_that_is_too_fast_is_warned_of() -> None:
    """A drill press that turns no slower than 3000 rpm burns a drill of 15.5 mm, and says so."""
    slow, fast = (
        "kind: drill press, speeds: [300, 3000], power: 500 W",
        "kind: drill press, speeds: [3000, 3000]",
    )
    found = changed("block", 40, "slim", (slow, fast))
    assert found.passes[0].rpm == 3000
    assert "speed limited by the machine: 3,000 rpm is its slowest" in found.limits
    assert "below the machine's" in warned(found, "speed")


def test_power_limits_the_cut() -> None:
    """On a lathe of 150 W a worn tool, a third more than a sharp one, still turns in every pass."""
    words = ("machine: lathe, setup: chuck, tool: turner, held: chuck",
             "machine: weak lathe, setup: chuck, tool: turner, held: centres")  # fmt: skip
    found = changed("shaft", 10, "", words)
    assert any("limited by power: the spindle has 150 W" in said for said in found.limits)
    assert all(1.3 * (one.power or 0.0) <= 150 * 1.01 for one in found.passes)


def test_a_given_depth_stays_and_speed_or_feed_give_way() -> None:
    """Where the route states the depth of a pass, too little power takes speed or feed instead."""
    words = ("held: chuck, cuts: {journal: {size: 12.3 ±0.03}}",
             "held: centres, cuts: {journal: {size: 12.3 ±0.03, depth: 1.85}}")  # fmt: skip
    found = changed("shaft", 10, "", words)
    (one,) = found.passes
    assert one.depth == pytest.approx(1.85)
    assert 1.3 * (one.power or 0.0) == pytest.approx(1500, rel=0.01)
    assert any("speed limited by power" in said or "feed limited by power" in said for said in found.limits)


def test_every_source_is_told() -> None:
    """All rows of the handbook for turning O1 with carbide are in the answer, with their sources."""
    said = {(one.source, round(one.low, 6)) for one in cut("shaft", 20).ranges if one.what == "speed"}
    rows = speed_ranges("O1", "turn", "carbide")
    assert {(row.source, round(row.low, 6)) for row in rows} == said


def test_what_is_taken_lies_in_the_usual_range() -> None:
    """HSS drills in mild steel: 80 to 110 and 90 to 100 ft/min; by hand a quarter up, 27.4 m/min."""
    found = cut("block", 40, "pin")
    assert found.passes[0].speed == pytest.approx((85 + 0.25 * (105 - 85)) * 0.3048)
    assert "a quarter up the range is taken: a drill press is less stiff, and a hand feeds it" in found.notes
    assert found.known == "handbook"


PROVEN = (
    "[{op: turn, material: tool steel O1, speed: 30 m/min, feed: 0.1, depth: 0.5, note: on the long shaft}]"
)


def test_proven_values_win_and_are_marked() -> None:
    """The shop's own speed, feed and depth take the place of the handbook's, which stays to be seen."""
    found = cut("shaft", 10, proven=PROVEN)
    rough = found.passes[0]
    assert found.known == "proven"
    assert (rough.speed, rough.feed) == (pytest.approx(30), pytest.approx(0.1))
    assert rough.depth <= 0.5
    said = " ".join(found.proven)
    assert "speed of the roughing pass 30 m/min is proven by the shop (on the long shaft)" in said
    assert "from the handbook's 180 m/min" in said
    assert "depth 0.5 mm of one pass is proven" in said
    assert found.ranges


def test_proven_values_are_for_their_op_tool_and_machine() -> None:
    """Of several entries the one that names most is taken; one for another tool is not."""
    entries = ("[{op: turn, material: tool steel O1, speed: 30 m/min}, "
               "{op: turn, material: O1 tool steel, tool: turner, machine: lathe, speed: 40 m/min}, "
               "{op: turn, material: tool steel O1, tool: thin bar, speed: 50 m/min}, "
               "{op: drill, material: tool steel O1, speed: 60 m/min}]")  # fmt: skip
    assert cut("shaft", 10, proven=entries).passes[0].speed == pytest.approx(40)
    assert cut("block", 40, "pin", proven=entries).proven == ()


def test_proven_in_soft_steel_is_not_taken_for_hard() -> None:
    """Values proven in annealed O1 are not used after hardening, and that is said; a note of hard turning lets them."""
    soft = "[{op: turn, material: tool steel O1, speed: 30 m/min}]"
    found = cut("shaft", 70, proven=soft)
    assert found.passes[0].speed != pytest.approx(30)
    assert any("it is hardened here" in note for note in found.notes)
    hard = "[{op: turn, material: tool steel O1, speed: 90 m/min, note: hardened to 60 HRC}]"
    assert cut("shaft", 70, proven=hard).passes[0].speed == pytest.approx(90)


def test_proven_values_stand_where_the_handbook_is_silent() -> None:
    """Nobody printed how to mill threads in bronze: no data, until the shop has proven a speed and a feed."""
    bronze = read_text(NUT.format(proven="[]"))
    assert "no rows at all to thread mill it" in warned(cutting_of(bronze, "nut", 0).cuts[0], "no data")
    proven = "[{op: thread mill, material: bronze, speed: 120 m/min, feed: 0.05}]"
    found = cutting_of(read_text(NUT.format(proven=proven)), "nut", 0).cuts[0]
    assert found.known == "proven"
    assert found.passes[0].rpm == pytest.approx(120_000 / (pi * 8))
    assert "the handbook has nothing for it" in found.proven[0]


NUT = """format: loopwright-build/1
name: nut
shop:
  machines: {{cnc: {{kind: CNC mill}}}}
  tools: {{t: {{kind: thread mill, diameter: 8, edges: 3, material: carbide, stick_out: 30}}}}
  proven: {proven}
parts:
  nut:
    material: bronze
    surfaces: {{hole: {{faces: inside, size: [20, 20]}}}}
    route: [{{op: thread mill, machine: cnc, tool: t, cuts: {{hole: {{thread: M20x1.5-6H}}}}}}]
bodies: {{b: {{}}}}
"""


def test_material_changes_on_its_way() -> None:
    """Annealed before the furnace, hard after it, and with a temper of 400 °C in between, where no rows are known."""
    part = build().parts["shaft"]
    states = [material_at(part, part.route, index) for index in (0, 5, 8)]
    assert [state.hard for state in states] == [False, True, True]
    assert [state.group and state.group.name for state in states[:2]] == [
        "tool steel O1, annealed",
        "hardened tool steel",
    ]
    assert states[2].group is None
    low, high = states[2].hardness or (0.0, 0.0)
    # O1 tempered at 400 °C: 48 to 52 HRC in the makers' tables near 750 °F
    assert 47 < low < high < 53


def test_no_data_is_said_and_no_number_made_up() -> None:
    """Drilling O1 of 51 HRC: no speed, no feed, no minutes, but what would do."""
    found = cut("shaft", 90)
    assert (found.passes, found.minutes, found.known) == ((), None, "no data")
    assert "machine it before hardening, grind it, or give your own proven values" in warned(found, "no data")
    iron = changed("iron", 10, "", ("grey cast iron", "brass"))
    assert iron.passes == ()
    assert "no surface grinding row for brass" in warned(iron, "no data")


def test_a_slender_bar_is_warned_of() -> None:
    """A bar of 8 mm reaching 50 mm does not hold a quarter of ±5 µm; one of 20 mm holds ±10.5 µm."""
    thin, stout = cut("block", 80, "slim"), cut("block", 80, "bore")
    assert "above a quarter of ±5 µm (dim 'slim')" in warned(thin, "bends")
    assert "the bar reaches out 6.2 diameters" in warned(thin, "overhang")
    assert warned(stout, "bends") == ""
    assert warned(stout, "overhang") == ""


def test_bending_goes_with_the_cube_of_the_reach() -> None:
    """Half the reach at the same depth bends an eighth, F L³ / 3 E I, and the bore moves by twice that."""
    words = (
        "cuts: {bore: {tool: stout bar, least: 0.4}",
        "cuts: {bore: {tool: stout bar, least: 0.4, depth: 0.2}",
    )
    long, short = (
        changed("block", 80, "bore", words, ("stick_out: 50, nose_radius: 0.4}\n    thin bar", f"stick_out: {reach}, "
                "nose_radius: 0.4}\n    thin bar")).passes[-1]
        for reach in (60, 50)
    )  # fmt: skip
    assert long.deflection / short.deflection == pytest.approx(1.2**3, rel=0.001)
    assert long.effect == pytest.approx(2 * long.deflection, rel=1e-3)


def test_a_tighter_limit_makes_the_last_pass_shallower() -> None:
    """With a given limit of ±0.5 µm the stout bar takes less in its last pass than with ±10.5 µm, and says why."""
    wide, tight = cut("block", 80, "bore"), cut("block", 80, "bore", limits={"bore": 0.0005})
    assert tight.passes[-1].depth < wide.passes[-1].depth
    assert any("depth of a finishing pass limited by stiffness" in said for said in tight.limits)
    assert tight.limit_from == "given"
    assert tight.passes[-1].effect <= 0.0005 / 4 or warned(tight, "bends")


def test_a_shaft_in_a_chuck_bends_and_between_centres_does_not() -> None:
    """100 mm of 12 mm shaft hold ±30 µm between centres only; a beam held at both ends bends a sixteenth."""
    chuck, centres = cut("shaft", 10), cut("shaft", 20)
    assert "hold it between centres or in a steady" in warned(chuck, "bends")
    assert warned(centres, "bends") == ""


def test_an_edge_that_rubs_is_warned_of() -> None:
    """An insert rounded to 0.2 mm does not cut a chip under 0.04 mm; an ordinary one is not spoken of."""
    words = ("tool: turner, held: centres", "tool: blunt turner, held: centres")
    rubs = changed("shaft", 20, "", words)
    assert "rubbing: the chip is" in warned(rubs, "rubs")
    assert "40 µm" in warned(rubs, "rubs")
    assert warned(cut("shaft", 20), "rubs") == ""


def test_a_reamer_without_stock_rubs() -> None:
    """0.03 mm on the diameter is under the least of every source for a 6 mm reamer, 0.8 mm is above the most."""
    assert "the reamer finds 0.03 mm" in warned(cut("block", 50, stock={"pin": 0.03}), "rubs")
    assert "bore or drill larger first" in warned(cut("block", 50, stock={"pin": 0.8}), "stock")
    usual = cut("block", 50)
    assert usual.stock == pytest.approx(0.3)
    assert usual.warnings == ()


def test_a_thin_cut_is_fed_faster() -> None:
    """A narrow side cut thins the chip; the feed is raised, never past what the marks on the wall allow, and said."""
    found = cut("block", 30, "left")
    (one,) = found.passes
    assert any("thins the chip" in said for said in found.limits)
    usual = next(r for r in found.ranges if r.what == "feed" and r.counted)
    assert one.feed > (usual.low + usual.high) / 2
    # marks of one tooth: (z f)² / 8 R', R' = D/2 - z f/π
    per_turn = 4 * one.feed
    assert one.height == pytest.approx(per_turn**2 / 8 / (5 - per_turn / pi), rel=1e-6)
    assert one.height == pytest.approx(0.005, rel=0.04)


def test_a_slanted_edge_is_fed_faster() -> None:
    """At 45° the chip is thinner by sin 45°; the feed makes that good before anything else limits it."""
    assert (
        "feed raised from 0.25 mm to 0.35 mm a tooth: the slanted edge would thin the chip"
        in cut("block", 20).limits
    )


def test_a_hand_fed_table_is_not_asked_for_more_than_it_does() -> None:
    """On a manual mill the feed speed stays at 400 mm/min, and the chip stays one that cuts."""
    found = cut("block", 20)
    assert max(one.feed_speed or 0.0 for one in found.passes) <= 400.5
    assert any("feed speed limited by the table: 400 mm/min" in said for said in found.limits)
    assert warned(found, "rubs") == ""


def test_a_helix_opens_a_hole_wider_than_the_cutter() -> None:
    """12 mm with a cutter of 10: the centre circles on 2 mm, at a sixth of the feed of the wall."""
    found = cut("block", 70)
    told = {one.what: one.value for one in found.details}
    assert found.way == "circular milling"
    assert told["helix: circle of the centre, diameter"] == pytest.approx(2.0)
    angle = told["helix: ramp angle"]
    assert told["helix: down each turn"] == pytest.approx(pi * 2 * tan(angle))
    assert radians(1) <= angle <= radians(3)
    assert told["helix: feed of the centre"] * 60 == pytest.approx(found.passes[0].feed_speed / 6, rel=0.01)


def test_a_cutter_that_does_not_go_in_is_refused() -> None:
    """A cutter of 10 mm does not mill a hole of 6."""
    words = ("tool: mill 10, cuts: {port: {}}", "tool: mill 10, cuts: {pin: {}}")
    found = changed(
        "block",
        70,
        "pin",
        words,
        ("{op: drill, machine: drill press, cuts: {pin: {}, ", "{op: drill, cuts: {"),
    )
    assert found.passes == ()
    assert "does not go into a hole" in warned(found, "no data")


def test_path_of_a_thread_mill() -> None:
    """M20x1.5-6H: pitch diameter 19.026 to 19.216 mm (ISO 965-1), and the centre on half of what the cutter leaves."""
    found = cut("block", 90)
    told = {one.what: one for one in found.details}
    assert told["pitch diameter, 6H"].text == "19.026 mm to 19.216 mm"
    own = 8 - 2 * (0.75 - 1.5 / 8) / (2 * tan(radians(30)))
    assert told["path of the centre, radius"].value == pytest.approx((19.121 - own) / 2)
    assert told["rise during half a turn of entry"].value == pytest.approx(0.75)
    assert found.passes[0].effect <= (19.216 - 19.026) / 4


def test_a_tap_gets_its_drill_its_torque_and_a_hand_that_can_stop_it() -> None:
    """M6: a drill of 5 mm (d - P), at most 300 turns a minute where a hand reverses, and the feed is the pitch."""
    found = cut("block", 60)
    told = {one.what: one.text for one in found.details}
    assert told["tap drill for M6"].startswith("5 mm")
    (one,) = found.passes
    assert (one.rpm, one.feed) == (300, 1.0)
    # kc P² d / 8000 with 2300 MPa for structural steel: 1.725 N·m; the other rule gives a little more
    assert 1.7 < one.torque < 2.2
    assert any("limited by the hand" in said for said in found.limits)
    drilled = cut("block", 40, "screw")
    assert drilled.tool.diameter == 5.0


def test_a_wrong_tap_drill_is_warned_of() -> None:
    """A hole of 5.7 mm leaves no thread of M6, whose minor diameter ends at 5.153 mm (ISO 965-1)."""
    words = ("screw: {thread: M6}, deep", "screw: {thread: M6, tool: drill 5.7}, deep")
    found = changed("block", 40, "screw", words)
    assert "outside 4.917 mm to 5.153 mm" in warned(found, "tool")


def test_a_deep_hole_is_pecked_and_slower() -> None:
    """45 mm with a drill of 5: pecks of a diameter after the first two, then of half; slower and with less feed."""
    found = cut("block", 40, "deep")
    pecks = next(one.text for one in found.details if one.what == "pecks to")
    assert pecks.startswith("10 mm, 15 mm, 20 mm, 25 mm, 30 mm, 32.5 mm")
    assert found.passes[0].speed < cut("block", 40, "pin").passes[0].speed
    assert any("9 diameters deep" in said for said in found.limits)


def test_a_single_point_thread() -> None:
    """M8x1: 0.6134 P deep (ISO 68-1), 7.212 to 7.324 mm for 6g (ISO 965-1), and slow enough to be stopped."""
    found = cut("shaft", 30)
    told = {one.what: one for one in found.details}
    assert told["depth of the thread, on the radius"].value == pytest.approx(0.6134, abs=1e-4)
    assert told["pitch diameter, 6g"].text == "7.212 mm to 7.324 mm"
    (one,) = found.passes
    assert one.depth <= 0.25
    assert one.feed_speed == pytest.approx(300)
    assert "turn it first" in warned(found, "stock")


def test_a_wheel_is_kept_within_its_rating() -> None:
    """200 mm at 2850 rpm move at 29.8 m/s; at 5000 rpm the wheel may burst: no number, and a warning."""
    good, fast = cut("plate", 20), cut("plate", 40)
    assert good.passes[0].speed / 60 == pytest.approx(29.85, abs=0.01)
    assert fast.passes == ()
    assert "it can burst" in warned(fast, "wheel")


def test_a_wheel_without_a_rating_gets_no_speed() -> None:
    """A wheel that nothing is marked on is not run; in-feed and minutes are told all the same."""
    found = cut("plate", 30)
    assert all(one.speed is None and one.rpm is None for one in found.passes)
    assert "a wheel without a known rating is not run" in warned(found, "wheel")
    assert found.minutes


def test_grinding_is_roughed_finished_and_sparked_out() -> None:
    """In-feed within the row, and within the power; minutes for 0.05 mm are told."""
    found = cut("plate", 20)
    assert [one.kind for one in found.passes] == ["rough", "finish", "spark out"]
    assert found.passes[0].depth <= 0.0508
    assert found.passes[0].power <= 1100
    assert any(one.what == "minutes for each 0.05 mm" and one.value for one in found.details)


def test_a_tool_that_does_not_cut_this_way_is_refused() -> None:
    """A drill does not ream; the message says which kind does."""
    words = (
        "{op: ream, machine: drill press, cuts: {pin: {}}}",
        "{op: ream, machine: drill press, cuts: {pin: {tool: drill 5.7}}}",
    )
    found = changed("block", 50, "pin", words)
    assert found.passes == ()
    assert "'drill 5.7' is a drill, and that is not for reaming; name one of kind reamer" in warned(
        found, "tool"
    )


def test_the_tool_of_the_op_need_not_suit_every_cut() -> None:
    """Where an op's tool turns the rim, a boring bar is assumed for the bore, and named as assumed."""
    words = ("{journal: {size: 12.2 ±0.03}}", "{journal: {size: 12.2 ±0.03}, a: {least: 0.1}}")
    assert [one.way for one in cutting_of(read_text(_with(words)), "shaft", 1).cuts] == [
        "turning",
        "facing on the lathe",
    ]
    words = ("{op: bore, machine: cnc, cuts: {bore: {tool: stout bar, least: 0.4}",
             "{op: bore, machine: cnc, tool: drill 5, cuts: {bore: {least: 0.4}")  # fmt: skip
    bored = changed("block", 80, "bore", words)
    assert bored.tool.kind == "boring bar"
    assert any("is a drill, not for boring: a boring bar is assumed" in said for said in bored.assumed)


def _with(*words: tuple[str, str]) -> str:
    whole = text()
    for old, new in words:
        assert old in whole
        whole = whole.replace(old, new)
    return whole


def test_what_is_assumed_is_named() -> None:
    """A tool that nobody names, and a stock that nobody states, are said to be assumed."""
    found = cut("block", 40, "pin")
    assert "no tool is named: HSS drill of 5.7 mm" in found.assumed
    assert any("raw surface (common practice)" in said for said in cut("block", 20).assumed)


def test_ops_without_chips_have_minutes_and_cautions_only() -> None:
    """Hardening and fitting get no speeds; what can hurt someone is there, and stands below the law."""
    harden = op("shaft", 50)
    assert harden.cuts == ()
    assert {one.hazard for one in harden.reminders} >= {"oven", "oil quench"}
    assert harden.deferring.startswith("A reminder only")
    fit = op("block", 110)
    assert [one.known for one in fit.cuts] == ["by hand"]
    assert fit.cuts[0].passes == ()


def test_cautions_are_those_of_op_machine_and_material() -> None:
    """A bandsaw has no grinding wheel; glass laminate has dust."""
    assert [one.hazard for one in op("block", 10).reminders] == ["rotating work"]
    laminate = read_text(
        "format: loopwright-build/1\nname: x\nmaterials: {FR4 sheet: {expansion: 14 µm/m/K}}\n"
        "parts: {p: {material: FR4 sheet, surfaces: {h: {faces: inside, size: [5, 3]}}, "
        "route: [{op: drill, cuts: {h: {}}}]}}\nbodies: {b: {}}\n"
    )
    assert "laminate dust" in [one.hazard for one in cutting_of(laminate, "p", 0).reminders]


def test_minutes_given_win_over_an_estimate() -> None:
    """Minutes of the route are taken; without them feeding and hands are added up; inspecting is assumed."""
    given, estimated, assumed = (
        minutes_of(build(), *which) for which in (("shaft", 3), ("shaft", 1), ("block", 9))
    )
    assert (given.attended, given.known, given.setting_up) == (4, "given", 2)
    assert estimated.known == "estimated"
    assert estimated.attended > (estimated.feeding or 0.0) > 0
    assert assumed.known == "assumed"
    assert all(words for words in (given.words, estimated.words, assumed.words))


def test_setting_up_is_for_the_first_op_of_a_setup() -> None:
    """The second op in the chuck needs no setting up; another setup needs what its machine asks for."""
    assert [minutes_of(build(), "shaft", index).setting_up for index in (0, 1)] == [15, 0]
    assert minutes_of(build(), "block", 1).setting_up == 20


def test_a_matched_set_shares_the_setting() -> None:
    """Two parts whose op carries the same name share its setting up."""
    route = "[{op: face, together: pair, cuts: {t: {}}}]"
    pair = f"{{material: brass, surfaces: {{t: {{faces: +Z, size: [40, 20]}}}}, route: {route}}}"
    both = read_text(
        f"format: loopwright-build/1\nname: x\nparts: {{a: {pair}, b: {pair}}}\nbodies: {{b: {{}}}}\n"
    )
    found = minutes_of(both, "a", 0)
    assert found.pieces == 2
    assert found.for_one_part == pytest.approx(found.attended + found.setting_up / 2)
    assert cutting_sheet(both, "a", "10").together == ("b",)


def test_another_route_can_be_asked_for() -> None:
    """An op that takes the place of one of the route is answered as if it stood there."""
    route = list(build().parts["shaft"].route)
    route[5] = Op.model_validate({"op": "lap", "machine": "bench", "minutes": 7, "cuts": {"journal": {}}})
    assert minutes_of(build(), "shaft", 5, route=route).attended == 7
    assert cutting_of(build(), "shaft", 5, route=route).cuts[0].known == "no data"


def test_an_op_is_found_by_number_or_name() -> None:
    """20 and 'thread turn' lead to an op; a name that stands twice asks for its number."""
    route = build().parts["shaft"].route
    assert (op_at(route, "shaft", "20"), op_at(route, "shaft", "Thread turn")) == (1, 2)
    with pytest.raises(RequestError, match="give a number: 10, 20, 70"):
        op_at(route, "shaft", "turn")
    with pytest.raises(RequestError, match="its ops are: 10 turn"):
        op_at(route, "shaft", "25")
    with pytest.raises(RequestError, match="no op 'plate'"):
        op_at(route, "shaft", "plate")


@pytest.mark.parametrize(
    ("stock", "said"),
    [
        ({"jurnal": "1"}, "did you mean 'journal'"),
        ({"journal": "1 kg"}, "journal: "),
        ({"journal": "0"}, "above zero"),
    ],
)
def test_sizes_that_cannot_be_used_are_refused(stock: dict[str, str], said: str) -> None:
    """A surface that is not cut, a mass, and nothing at all."""
    with pytest.raises(RequestError, match=said):
        cutting_sheet(build(), "shaft", "10", stock=stock)


def test_words_are_in_the_units_of_the_shop() -> None:
    """An inch shop reads ft/min, in/min, hp and thou, all from the same numbers."""
    inches = CuttingWords(Units(length="in"))
    assert inches.speed(30.48) == "100 ft/min"
    assert inches.feed_speed(254) == "10 in/min"
    assert inches.power(745.7) == "1 hp"
    assert inches.feed(0.127) == "0.005 in"
    assert inches.small(0.0127) == "0.5 thou"
    assert CuttingWords(Units()).rpm(2846.4) == "2,850 rpm"
