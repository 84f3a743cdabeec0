"""Blanks of parts: how large, what they come off, how good that is, and what is left; the parts are invented.

Sizes are added up by hand beside each check; the stock for facing a sawn end is common practice (from memory).
"""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.buildfile import read_text
from loopwright.buildfile.editing import rename
from loopwright.errors import RequestError
from loopwright.handbook.stock_allowances import facing_a_sawn_end
from loopwright.making.blank_sizes import runs_along, sides
from loopwright.model.build import Build
from loopwright.studies.after_sawing import after_sawing
from loopwright.studies.blank_lists import buy_list, saw_list
from loopwright.studies.blank_records import Piece, SawList
from loopwright.studies.checking import load_text

HEAD = """format: loopwright-build/1
name: blanks
shop:
  keep: 100
  machines:
    saw: {kind: bandsaw, kerf: 2, grip: 30}
    mill: {kind: manual mill}
  bars:
"""
FACES = "surfaces: {foot: -Z, top: +Z}\n    spans: {height: [foot, top]}\n    dims: {height: 30 ±0.1}"


def text(bars: str, parts: str) -> str:
    """A build file of these bars and parts."""
    lines = "".join(f"    {line.strip()}\n" for line in bars.strip().splitlines())
    return f"{HEAD if lines else HEAD.replace('  bars:', '  bars: {}')}{lines}parts:\n{parts}\nbodies: {{b: {{}}}}\n"


def part(name: str, blank: str, route: str = "", more: str = FACES) -> str:
    """A part of low carbon steel."""
    ops = "".join(f"\n      - {op.strip()}" for op in route.splitlines() if op.strip())
    made = f"\n    route:{ops}" if ops else ""
    return f"  {name}:\n    material: low carbon steel\n    blank: {{{blank}}}\n    {more}{made}\n"


def piece(blank: str, route: str = "", more: str = FACES) -> Piece:
    """The blank of one part."""
    (one,) = saw_list(read_text(text("", part("block", blank, route, more)))).pieces
    return one


FACED = """
{op: face, machine: mill, datum: [top], cuts: {foot: {%s}}}
{op: face, machine: mill, setup: turned, datum: [foot], cuts: {top: {%s}}}
"""


def test_a_stated_length_wins_over_the_route() -> None:
    """What the blank states is sawn, whatever the route comes to; nothing is added to it."""
    sawn = "{op: saw, machine: saw, cuts: {foot: {}, top: {measured_from: foot}}}\n" + FACED % ("", "")
    one = piece("section: round 40, length: 55, grip: 8", sawn)
    assert (one.length, one.within, one.source) == (55.0, 0.0, "stated")


def test_a_sawing_op_gives_the_length() -> None:
    """The saw's working dim is the length: 30 mm finished and at least what two facing cuts need, plus the grip."""
    sawn = "{op: saw, machine: saw, cuts: {foot: {}, top: {measured_from: foot}}}\n" + FACED % (
        "least: 1", "least: 1.5",
    )  # fmt: skip
    one = piece("section: round 40, along: Z, grip: 8", sawn)
    assert one.source == "saw"
    assert (one.op, one.machine) == (10, "saw")
    assert one.length is not None
    assert one.length - one.within - 8 >= 30 + 1 + 1.5 - 0.1
    assert one.length - 8 == pytest.approx(one.base or 0)


def test_first_cuts_and_their_stock_give_the_length() -> None:
    """Without a saw the length is the outermost faces as first cut, 30 + 0.1, and 3 mm at each of two sawn ends."""
    route = """
    {op: turn, machine: mill, setup: one, cuts: {foot: {}}}
    {op: turn, machine: mill, setup: one, datum: [foot], cuts: {top: {}}}
    """.replace("turn", "face")
    one = piece("section: round 40, along: Z", route)
    assert one.source == "cuts"
    assert facing_a_sawn_end().high == 3.0
    assert one.base == pytest.approx(30.1, abs=2e-3)
    assert one.length == pytest.approx(36.1, abs=2e-3)
    assert one.added == 6.0


def test_the_raw_faces_of_a_chart_give_the_length() -> None:
    """Where the ops state the least stock, the chart has the raw faces: 30 + 1 + 1.5 mm at least, no more added."""
    one = piece("section: round 40, along: Z", FACED % ("least: 1", "least: 1.5"))
    assert (one.source, one.added) == ("blank", 0.0)
    assert one.length is not None
    assert one.length - one.within >= 32.5 - 0.1


def test_without_a_route_the_finished_part_is_a_guess_that_says_so() -> None:
    """30 mm finished and 3 mm at both ends make 36, told as what it is; without dims nobody knows."""
    one = piece("section: round 40, along: Z")
    assert (one.length, one.source, one.base) == (36.0, "finished", 30.0)
    lost = piece("section: round 40", more="dims: {}")
    assert (lost.length, lost.source) == (None, "")


def test_the_bar_runs_where_its_section_covers_the_part() -> None:
    """A flat 50 x 25 covers 24 x 48 and not 24 x 90, so the bar runs along the 90."""
    more = (
        "surfaces: {a: -X, b: +X, c: -Y, d: +Y, e: -Z, f: +Z}\n"
        "    spans: {x: [a, b], y: [c, d], z: [e, f]}\n    dims: {x: 24 ±0.1, y: 90 ±0.1, z: 48 ±0.1}"
    )
    build = read_text(text("", part("block", "section: flat 50 x 25", more=more)))
    assert runs_along(build.parts["block"], sides(build, "block")) == "Y"
    cube = read_text(text("", part("block", "section: square 90", more=more)))
    assert runs_along(cube.parts["block"], sides(cube, "block")) == ""
    (one,) = saw_list(cube).pieces
    assert one.length is None
    ((_, _, why),) = saw_list(cube).unplanned
    assert "parts/block/blank" in why


OWN = "rod: {material: low carbon steel, section: round 40, length: 400, pieces: 2, note: by the door}"
NEW = "rod new: {material: low carbon steel, section: round 40, length: 1000, buy: true, price: 30}"
PLATE = (
    "sheet: {material: low carbon steel, section: plate 20, length: 1000, width: 500, buy: true, price: 90}"
)


def blanks(*lengths: float) -> str:
    """Parts that are sawn to these lengths from round 40."""
    return "".join(
        part(f"p{n}", f"section: round 40, length: {one}", more="mark: M") for n, one in enumerate(lengths)
    )


def test_the_list_says_what_it_buys_and_that_this_is_proven() -> None:
    """480 mm fits no bar of 400; of 1000, that give 965, two need 2 bars: 1000 - 3 - 30 < 2 x 482 + 2."""
    found = saw_list(read_text(text(f"{OWN}\n{NEW}", blanks(482, 482, 100))))
    assert [(one.name, one.count, one.price) for one in found.orders] == [("rod new", 2, 30.0)]
    (proof,) = found.proofs
    assert (proof.bought, proof.bound, proof.gap, proof.proven, proof.priced) == (60.0, 60.0, 0.0, True, True)
    # 2 m of round 40 at 7850 kg/m³: 19.73 kg
    assert found.mass == pytest.approx(2000 * 3.14159265 * 400 * 7.85e-6, rel=5e-3)
    assert found.price == 60.0


def test_where_a_price_is_missing_the_least_length_is_bought() -> None:
    """A bar without a price does not count as free: of 1000 and 700 mm the shorter is taken, and counted in mm."""
    short = "rod short: {material: low carbon steel, section: round 40, length: 700, buy: true}"
    found = saw_list(read_text(text(f"{NEW}\n{short}", blanks(600))))
    assert [one.name for one in found.orders] == ["rod short"]
    assert found.proofs[0].priced is False
    assert found.proofs[0].bought == pytest.approx(700)
    assert found.price is None


def sheet_part(name: str, length: float, width: float) -> str:
    """A part from plate."""
    return part(name, f"section: plate 20, length: {length}, width: {width}", more="mark: S")


def test_plates_come_off_sheets_in_strips() -> None:
    """Two of 480 x 200 and one of 300 x 300 fit one sheet of 1000 x 500 with 3 mm off its edges: each lies inside."""
    parts = sheet_part("a", 480, 200) + sheet_part("b", 480, 200) + sheet_part("c", 300, 280)
    found = saw_list(read_text(text(PLATE, parts)))
    (sheet,) = found.sheets
    laid = [one for strip in sheet.strips for one in strip.pieces]
    assert sorted(one.part for one in laid) == ["a", "b", "c"]
    deep, long = (sheet.width, sheet.length) if sheet.along else (sheet.length, sheet.width)
    for strip in sheet.strips:
        assert strip.start >= 3 - 1e-6
        assert strip.start + strip.width <= deep - 3 + 1e-6
        for one, after in zip(strip.pieces, (*strip.pieces[1:], None)):
            assert one.rise <= strip.width + 1e-6
            assert one.start + one.run <= (long - 3 if after is None else after.start - 2) + 1e-6
    assert found.proofs[0].proven
    assert found.proofs[0].bought == 90


def test_an_edge_that_is_clean_loses_nothing() -> None:
    """A blank of 500 x 320 comes off a sheet of just that size if its edges are clean, and not if they are raw."""
    own = "own: {material: low carbon steel, section: plate 20, length: 500, width: 320%s}"
    parts = sheet_part("a", 500, 320)
    (sheet,) = saw_list(read_text(text(own % ", faced: true", parts))).sheets
    assert (sheet.edge, sheet.strips[0].start, sheet.strips[0].pieces[0].start) == (0.0, 0.0, 0.0)
    raw = saw_list(read_text(text(own % "", parts)))
    assert raw.sheets == ()
    assert "494 mm x 314 mm" in raw.unplanned[0][2]


def test_what_cannot_be_planned_leaves_the_rest_alone() -> None:
    """One blank without a length and one too long for any bar are told by name; the third is sawn."""
    parts = blanks(100, 980) + part("lost", "section: round 40", more="dims: {}")
    found = saw_list(read_text(text(NEW, parts)))
    assert found.planned == {"p0"}
    ((_, _, why),) = found.unplanned
    assert "lost" in why
    assert "parts/lost/blank" in why
    # 1000 less 3 for its raw end, 30 in the vice and 2 for the cut
    assert "p1: no bar is large enough; the largest gives 965 mm" in why


def test_no_stock_and_no_part_are_told_with_what_would_do() -> None:
    """A shop without that material hears where to enter it; a part that is not there hears which are."""
    found = saw_list(read_text(text("", blanks(50))))
    assert "shop/bars" in found.unplanned[0][2]
    with pytest.raises(RequestError, match="p0"):
        saw_list(read_text(text("", blanks(50))), ["p9"])


def test_the_buy_list_orders_sheets_too() -> None:
    """The sheet that the saw list cuts stands on the buy list, with its mass: 1000 x 500 x 20 mm is 78.6 kg."""
    (need,) = buy_list(read_text(text(PLATE, sheet_part("a", 480, 200)))).needed
    ((sheet, many),) = need.order
    assert (sheet.name, many) == ("sheet", 1)
    assert sheet.mass == pytest.approx(78.6, abs=0.2)


# after sawing


def after(source: str) -> tuple[Build, SawList, Build]:
    """A build, its saw list, and the build once that is sawn."""
    build = read_text(source)
    found = saw_list(build)
    return build, found, load_text(after_sawing(source, build, found, day="2026-03-01").text, "after").build


def test_after_sawing_used_bars_are_gone_and_off_cuts_lie_there() -> None:
    """Of two own bars one is left, the off-cut of the other and of the bought one have names of their own."""
    _, found, then = after(text(f"{OWN}\n{NEW}", blanks(482, 250)))
    assert then.shop.bars["rod"].pieces == 1
    assert then.shop.bars["rod new"].buy
    # 400 - 3 - 250 - 2 and 1000 - 3 - 482 - 2
    off = {name: bar for name, bar in then.shop.bars.items() if "off-cut" in name}
    assert {name: bar.length for name, bar in off.items()} == {
        "rod off-cut 1": 145.0,
        "rod new off-cut 1": 513.0,
    }
    assert all(bar.faced and not bar.buy and bar.pieces == 1 for bar in off.values())
    assert off["rod off-cut 1"].note == "left of rod, 2026-03-01; by the door"
    assert then.shop.sawn == ["p0", "p1"]
    assert saw_list(then).pieces == ()
    assert saw_list(then).sawn == ("p0", "p1")
    assert len(found.offcuts) == 2


def test_the_next_list_saws_from_the_off_cut() -> None:
    """A third part finds the off-cut, loses nothing for a raw end there, and buys nothing."""
    source = text(NEW, blanks(482, 481))
    build = read_text(source)
    first = after_sawing(source, build, saw_list(build, ["p0"]), day="2026-03-01")
    then = saw_list(load_text(first.text, "after").build)
    # 513 - 30 - 2 = 481: it only fits because the end is clean
    assert [(bar.bar, bar.buy) for bar in then.bars] == [("rod new off-cut 1", False)]
    assert then.orders == ()


def test_what_is_left_of_a_sheet_lies_in_the_shop_by_both_sides() -> None:
    """Off one blank of a sheet two rectangles are left; what is below the shop's 100 mm on a side is not kept."""
    _, found, then = after(text(PLATE, sheet_part("a", 480, 200)))
    kept = [bar for name, bar in then.shop.bars.items() if "off-cut" in name]
    assert len(kept) == len(found.offcuts) > 0
    assert all(min(bar.length, bar.width or 0) >= 100 and bar.faced for bar in kept)
    left = sum(bar.length * (bar.width or 0) for bar in kept)
    assert left <= 1000 * 500 - 480 * 200


def test_parts_that_repeat_another_are_sawn_one_by_one() -> None:
    """Parts that the file writes by '<<' are marked as sawn without a change to what they repeat."""
    parts = part("one", "section: round 40, length: 60", more="mark: M").replace("one:", "one: &it")
    source = text(NEW, parts + "  two: {<<: *it}\n  three: {<<: *it}\n")
    build = read_text(source)
    done = after_sawing(source, build, saw_list(build, ["two"]), day="2026-03-01")
    assert load_text(done.text, "after").build.shop.sawn == ["two"]
    assert "<<: *it" in done.text
    assert "sawn:" in done.section


def test_a_sawn_part_that_is_not_there_is_a_mistake() -> None:
    """A name under shop/sawn that leads nowhere is told with its field."""
    source = text(NEW, blanks(60)).replace("  keep: 100\n", "  keep: 100\n  sawn: [p7]\n")
    with pytest.raises(Exception, match="p7"):
        load_text(source, "wrong")


def test_nothing_to_saw_is_refused_with_the_reason() -> None:
    """With everything sawn, or nothing planned, there is nothing to write down."""
    source = text("", blanks(60))
    build = read_text(source)
    with pytest.raises(RequestError, match=r"nothing to saw.*shop/bars"):
        after_sawing(source, build, saw_list(build), day="2026-03-01")
    bare = text(NEW, "  block: {material: low carbon steel}\n")
    with pytest.raises(RequestError, match=r"nothing to saw.*say what block is cut from, under parts/"):
        after_sawing(bare, read_text(bare), saw_list(read_text(bare)), day="2026-03-01")


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(20, 900), min_size=1, max_size=12))
def test_no_steel_is_made(lengths: list[int]) -> None:
    """Bars are as long as their pieces, a cut for each, the faced end and what is left; so it is in the shop after."""
    _, found, then = after(text(f"{OWN}\n{NEW}", blanks(*lengths)))
    for bar in found.bars:
        taken = sum(cut.length + cut.within + found.saw.kerf for cut in bar.cuts)
        assert bar.length == pytest.approx(taken + found.saw.end_loss + bar.rest)
        assert bar.rest >= found.saw.grip - 1e-3
    assert sorted(cut.length for bar in found.bars for cut in bar.cuts) == sorted(map(float, lengths))
    kept = sum(bar.length for name, bar in then.shop.bars.items() if "off-cut" in name)
    assert kept == pytest.approx(
        sum(bar.rest for bar in found.bars if bar.kept), abs=0.1 * len(found.bars) + 1e-6
    )
    assert Counter(bar.bar for bar in found.bars)["rod"] == 2 - (
        then.shop.bars["rod"].pieces if "rod" in then.shop.bars else 0
    )


def test_a_part_that_is_renamed_stays_sawn() -> None:
    """shop/sawn names parts; a new name of the part reaches it there."""
    source = text(NEW, blanks(60)).replace("  keep: 100\n", "  keep: 100\n  sawn: [p0]\n")
    assert "sawn: [pin]" in rename(source, "parts/p0", "pin")


def test_a_heavy_sheet_is_not_for_one_person() -> None:
    """A sheet of 78.6 kg brings the reminder about lifting; bars of 10 kg do not, nor an abrasive wheel nobody has."""
    assert "lifting" in saw_list(read_text(text(PLATE, sheet_part("a", 480, 200)))).hazards
    light = saw_list(read_text(text(NEW, blanks(60)))).hazards
    assert "rotating work" in light
    assert not {"lifting", "grinding wheel"} & set(light)


def test_a_second_sawing_adds_to_what_is_sawn() -> None:
    """Parts that were sawn before stay in the list of those that lie ready."""
    source = text(NEW, blanks(60, 70))
    for name in ("p0", "p1"):
        build = read_text(source)
        source = after_sawing(source, build, saw_list(build, [name]), day="2026-03-01").text
    assert read_text(source).shop.sawn == ["p0", "p1"]


def test_a_shop_that_repeats_what_stands_elsewhere_is_edited_too() -> None:
    """Where the shop takes a bar from an anchor above it, the whole file is edited; all else stays, comments too."""
    anchored = text(NEW, blanks(60)).replace("name: blanks\n", "name: &called blanks   # the frame\n")
    source = anchored.replace("price: 30}", "price: 30, note: *called}")
    build = read_text(source)
    done = after_sawing(source, build, saw_list(build), day="2026-03-01").text
    assert "name: &called blanks   # the frame" in done
    assert read_text(done).shop.sawn == ["p0"]
    assert "note: *called" in done


RIM = (
    "surfaces: {left: -Z, right: +Z, rim: {faces: outside, size: [12, 60]}}\n"
    "    spans: {thickness: [left, right], rim: rim}\n    dims: {thickness: 12 ±0.05, rim: 60 ±0.02}"
)
TURNED = """
{op: turn, cuts: {left: {}, rim: {}}}
{op: turn, datum: [left], cuts: {right: {}}}
"""


@pytest.mark.parametrize(
    ("section", "wrong"), [("round 58", True), ("round 62", False), ("flat 80 x 40", True)]
)
def test_a_bar_that_is_too_thin_for_the_rim_is_told(section: str, wrong: bool) -> None:
    """A rim of 60 mm does not come out of a bar of 58, nor of a flat of 40; of 62 it does."""
    one = piece(f"section: {section}, along: Z, length: 20", TURNED, RIM)
    assert (one.too_small is not None) is wrong
    if one.too_small is not None:
        needs, has = one.too_small
        assert needs == pytest.approx(60, abs=0.1)
        assert has == (58 if "round" in section else 40)


def test_a_section_that_no_side_covers_is_told() -> None:
    """Faces 30 mm apart, raw 32.5 at least, do not come out of a flat 28 x 10 along X; out of 40 x 10 maybe."""
    route = FACED % ("least: 1", "least: 1.5")
    thin = piece("section: flat 28 x 10, along: X, length: 50", route)
    assert thin.too_small is not None
    assert thin.too_small[0] >= 32.4
    assert piece("section: flat 40 x 10, along: X, length: 50", route).too_small is None
