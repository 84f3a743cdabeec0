"""A route as a list: ops moved, added, changed and taken out of the text, and what that does to the part."""

import pytest

from loopwright.buildfile import read_text
from loopwright.buildfile.editing import parsed
from loopwright.buildfile.moving import insert_at, move
from loopwright.errors import RequestError
from loopwright.studies.chart_audited import audited_as_typed, stated_sizes
from loopwright.studies.chart_sheet import chart_sheet
from loopwright.studies.route_difference import OpChange, route_difference
from loopwright.studies.route_drafted import route_draft, route_effect
from loopwright.studies.route_editing import (
    add_cut,
    add_op,
    add_surface,
    move_op,
    place_of,
    set_in_route,
    take_out_of_route,
)
from loopwright.studies.stock_sheet import stock_sheet
from made_parts import BRACKET, GAUGES, PADS, RING, text

WHOLE = text(RING.replace("12 ±0.005", "12 ±0.02"), BRACKET, PADS, head=GAUGES)
"""With a ring whose charts hold."""
COMMENTED = """parts:
  a:
    route:
      # first of all
      - {op: saw}   # from the bar
      - op: turn
        cuts:
          rim: {}
      - {op: harden}
"""


def ops(found: str, part: str) -> list[str]:
    """Names of the ops of a part."""
    return [op["op"] for op in parsed(found).data["parts"][part]["route"]]


def test_an_op_takes_its_comments_along() -> None:
    """Every character of the others stays; moved there and back, the text is as it was."""
    moved = move(COMMENTED, "parts/a/route/0", 2)
    assert ops(moved, "a") == ["turn", "harden", "saw"]
    assert (
        moved.endswith("      # first of all\n      - {op: saw}   # from the bar\n")
        or "# first of all" in moved
    )
    assert move(moved, "parts/a/route/2", 0) == COMMENTED


@pytest.mark.parametrize("ending", ["\n", ""])
def test_the_last_op_of_a_file_moves_too(ending: str) -> None:
    """With a line end behind it or without, and nothing else changes."""
    whole = COMMENTED.rstrip("\n") + ending
    moved = move(whole, "parts/a/route/2", 0)
    assert ops(moved, "a") == ["harden", "saw", "turn"]
    assert moved.endswith("\n") == bool(ending)


def test_a_list_in_brackets_moves_between_its_commas() -> None:
    """Spacing and comments between the entries stay where they are."""
    assert (
        move("bodies: {b: {parts: [a,  b, c]}}", "bodies/b/parts/2", 0) == "bodies: {b: {parts: [c,  a, b]}}"
    )


def test_an_op_that_is_repeated_elsewhere_is_not_lost() -> None:
    """What has an anchor moves with what it says, though not with how it is written."""
    whole = "parts: {a: {route: [&s {op: saw}, {op: turn}]}, b: {route: [*s]}}"
    moved = move(whole, "parts/a/route/0", 1)
    assert ops(moved, "a") == ["turn", "saw"]
    assert ops(moved, "b") == ["saw"]


def test_a_place_that_is_not_there_is_refused() -> None:
    """Neither an op nor a place is guessed."""
    for path, to in (
        ("parts/a/route/7", 0),
        ("parts/a/route/x", 0),
        ("parts/a/route/0", 9),
        ("parts/z/route/0", 0),
    ):
        with pytest.raises(RequestError):
            move(COMMENTED, path, to)
    assert ops(insert_at(COMMENTED, "parts/a/route", {"op": "face"}, 1), "a") == [
        "saw",
        "face",
        "turn",
        "harden",
    ]


@pytest.mark.parametrize(
    ("typed", "index", "to"),
    [("30", 4, 2), ("25", 4, 2), ("25", 0, 1), ("5", 3, 0), ("999", 0, 5), ("0", 2, 0)],
)
def test_a_typed_number_means_a_place(typed: str, index: int, to: int) -> None:
    """30 is where op 30 is; 25 is between 20 and 30, whichever side the op comes from."""
    assert place_of(typed, index, 6) == to


def test_a_place_in_words_is_refused() -> None:
    """With what would do."""
    with pytest.raises(RequestError, match="30"):
        move_op(WHOLE, "parts/ring/route/2", "", "after the saw")


def test_a_route_is_begun_and_grows_line_by_line() -> None:
    """The first op begins the route below its name; a new op goes where its number says."""
    begun = add_op("parts:\n  a:\n    material: brass\n", "parts/a/route", "saw")
    assert begun.text == "parts:\n  a:\n    material: brass\n    route:\n      - {op: saw}\n"
    more = add_op(begun.text, "parts/a/route", "turn").text
    third = add_op(more, "parts/a/route", "face", "15")
    assert (ops(third.text, "a"), third.path) == (["saw", "face", "turn"], "parts/a/route/1")
    with pytest.raises(RequestError, match="not an op"):
        add_op(more, "parts/a/route", "polish")


def test_a_cut_comes_with_its_fields_and_goes() -> None:
    """Sizes stay as typed, with their units; an op that cuts nothing any more has no empty list of cuts."""
    cut = add_cut(WHOLE, "parts/ring/route/3", "left")
    sized = set_in_route(cut.text, f"{cut.path}/cuts/left/size", "12.4 mm ±2 thou").text
    assert parsed(sized).data["parts"]["ring"]["route"][3]["cuts"] == {"left": {"size": "12.4 mm ±2 thou"}}
    gone = take_out_of_route(sized, "parts/ring/route/3/cuts/left")
    assert (gone.text, gone.path) == (WHOLE, "parts/ring/route/3")
    with pytest.raises(RequestError, match="bore"):
        add_cut(WHOLE, "parts/ring/route/3", "hub")


def test_names_are_typed_with_commas() -> None:
    """The surfaces that an op stands on, what is measured, and between what a dim is measured."""
    found = set_in_route(WHOLE, "parts/ring/route/1/datum", "left, rim").text
    assert parsed(found).data["parts"]["ring"]["route"][1]["datum"] == ["left", "rim"]
    found = set_in_route(found, "parts/ring/spans/thickness", "left, right").text
    assert parsed(found).data["parts"]["ring"]["spans"]["thickness"] == ["left", "right"]
    assert add_surface(found, "parts/ring", "groove", "outside").path == "parts/ring/surfaces/groove"


def test_the_last_op_takes_its_route_along() -> None:
    """A part without ops has no route, not an empty one."""
    assert (
        "route"
        not in take_out_of_route("parts: {a: {material: brass, route: [{op: saw}]}}", "parts/a/route/0").text
    )
    with pytest.raises(RequestError):
        take_out_of_route(WHOLE, "parts/ring/route/40")


def test_a_draft_says_every_mistake_at_its_op() -> None:
    """With field and remedy; while there is one, nothing is worked out."""
    wrong = set_in_route(WHOLE, "parts/ring/route/1/machine", "the big lathe").text
    wrong = set_in_route(wrong, "parts/ring/route/5/cuts/left/least", "plenty").text
    draft = route_draft(wrong, "ring")
    assert [op.number for op in draft.ops if op.mistakes] == [20, 60]
    assert "lathe" in draft.ops[1].problems[0].remedy
    assert draft.ops[5].cuts[0].problems[0].field == "parts/ring/route/5/cuts/left/least"
    assert (draft.sheet, draft.mistakes, draft.elsewhere) == (None, 2, 0)
    assert route_draft(wrong, "bracket").elsewhere == 2


def test_a_draft_offers_what_there_is() -> None:
    """Names of machines, surfaces and matched sets, each of those that can do the op."""
    draft = route_draft(WHOLE, "pad A")
    assert draft.able["surface grind"] == ("flat grinder",)
    assert (draft.sets, draft.gauges, draft.setups) == (
        ("pads",),
        ("micrometer",),
        ("vice", "one load", "turned"),
    )
    assert draft.ops[2].uncut == ("foot", "left", "right")
    assert draft.faces == {"foot": "-Z", "top": "+Z", "left": "-X", "right": "+X"}
    with pytest.raises(RequestError, match="no part"):
        route_draft(WHOLE, "pad C")


def test_what_a_change_does_is_what_the_charts_say() -> None:
    """A given working dim moves a chain to exactly what the chart of the changed build has."""
    changed = set_in_route(WHOLE, "parts/ring/route/5/cuts/left/size", "12.2 ±0.05").text
    effect = route_effect(WHOLE, changed, "ring")
    after = {
        c.name: c
        for one in chart_sheet(read_text(changed), "ring", freed=False).charts
        for c in (*one.finished, *one.stock)
    }
    assert effect.moved
    assert all(one.after is not None and one.after == after[one.name] for one in effect.moved)
    assert effect.holds[0]
    same = route_effect(WHOLE, set_in_route(WHOLE, "parts/ring/route/1/minutes", "30").text, "ring")
    assert (same.moved, same.attended[1] - same.attended[0]) == ((), 30)


def test_stock_is_matched_by_its_surface_though_ops_change_their_numbers() -> None:
    """An inspection put first renumbers every op and moves nothing."""
    effect = route_effect(WHOLE, add_op(WHOLE, "parts/ring/route", "inspect", "5").text, "ring")
    assert effect.moved == ()
    assert effect.same > 3


def test_what_no_longer_holds_stands_first() -> None:
    """A last cut five times as wide as the drawing's dim; the stock of an op that was taken out is gone."""
    wide = set_in_route(WHOLE, "parts/ring/route/6/cuts/right/size", "12 ±0.1").text
    effect = route_effect(WHOLE, wide, "ring")
    assert effect.holds == (True, False)
    assert (effect.moved[0].name, effect.moved[0].worse) == ("thickness", True)
    gone = route_effect(WHOLE, take_out_of_route(WHOLE, "parts/ring/route/6").text, "ring")
    assert [one.stock for one in gone.moved if one.after is None] == [True]


def test_a_difference_tells_ops_not_places() -> None:
    """One that moved is one change, however many others stand elsewhere for it; one that came renumbers nobody."""
    moved = move_op(WHOLE, "parts/ring/route/0", "3").text
    assert route_difference(WHOLE, moved, "ring") == (OpChange(10, 40, "saw", True, ()),)
    came = add_op(WHOLE, "parts/ring/route", "deburr", "15").text
    assert route_difference(WHOLE, came, "ring") == (OpChange(None, 20, "deburr", False, ()),)
    gone = take_out_of_route(came, "parts/ring/route/3").text
    assert [(one.before, one.after) for one in route_difference(came, gone, "ring")] == [(40, None)]
    typed = set_in_route(moved, "parts/ring/route/0/cuts/rim/size", "60.1 ±0.05").text
    assert route_difference(moved, typed, "ring")[0].fields == (("rim: size", "", "60.1 ±0.05"),)
    assert route_difference(WHOLE, WHOLE, "ring") == route_difference(WHOLE, WHOLE, "nobody") == ()


def test_an_audit_takes_the_sizes_as_typed_and_no_others() -> None:
    """A size off by a millimetre is found with its chain; one that nobody can read is told at its cut."""
    build = read_text(WHOLE)
    path = "parts/ring/route/6/cuts/right"
    wrong = audited_as_typed(build, "ring", {path: "13.2 ±0.01"})
    assert wrong.sheet is not None
    found = [f for one in wrong.sheet.charts for f in one.findings or ()]
    assert found
    assert any("thickness" in f.what for f in found)
    unread = audited_as_typed(build, "ring", {path: "about twelve"})
    assert (unread.sheet, [p.field for p in unread.problems]) == (None, [path])
    with pytest.raises(RequestError, match="no cut"):
        audited_as_typed(build, "ring", {"parts/ring/route/3/cuts/left": "12"})
    assert stated_sizes(build, "ring") == ()


def test_the_sizes_that_the_chart_finds_pass_its_audit() -> None:
    """Typed back as they were found, nothing is wrong with them."""
    build = read_text(WHOLE)
    sizes = {
        dim.field: f"{dim.size:.6f} ±{dim.half:.6f}"
        for one in chart_sheet(build, "ring").charts
        for dim in one.working
    }
    found = audited_as_typed(build, "ring", sizes)
    assert found.sheet is not None
    faults = [
        f
        for one in found.sheet.charts
        for f in one.findings or ()
        if f.kind in ("finished", "no stock", "narrow")
    ]
    assert faults == []


def test_a_window_is_asked_for() -> None:
    """From least to most is that window; the least stays what it was."""
    build = read_text(WHOLE)
    usual, wide = stock_sheet(build, "ring"), stock_sheet(build, "ring", window=0.4)
    for one, other in zip(usual.surfaces, wide.surfaces):
        assert (other.least, other.leave_low) == (one.least, one.leave_low)
        assert other.leave_high - other.leave_low == pytest.approx(0.4, abs=other.step)
        assert not other.window_written
    with pytest.raises(RequestError, match="window"):
        stock_sheet(build, "ring", window=-1)
