"""Sentences of a tolerance chart: diameters as the drawing has them, the user's unit, and room that is negative."""

from dataclasses import replace

import pytest

from loopwright.buildfile import read_text
from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_audit import audit
from loopwright.making.chart_checks import removes_nothing
from loopwright.making.chart_solving import chart
from loopwright.making.chart_words import lacking, limits
from loopwright.model.build import Build
from loopwright.studies.chart_sheet import DirectionSheet, chart_sheet
from made_parts import RING, SHOP, changed

BY = CutSpread(cut=0.02)
BUSH = Plan(
    "bush",
    (Surface("axis", 0), Surface("bore", -1)),
    (
        Cut("axis", None, 10, "chuck"),
        Cut("bore", "axis", 10, "chuck", BY, label="bore"),
        Cut("bore", "axis", 20, "chuck", BY, least=0.1, label="bore"),
    ),
    (Finished("bore", "axis", "bore", 10, -0.01, 0.01),),
    shown_times=2,
)
"""A bore of 20 ±0.02, drawn in radii, on a machine that holds ±0.12 on the diameter."""


def test_what_is_lacking_is_told_on_the_diameter() -> None:
    """±0.01 on the radius is ±0.02 on the diameter, ±0.06 is ±0.12, and 0.1 mm is too much."""
    (one,) = chart(BUSH).lacking
    assert lacking(BUSH, one) == (
        "'bore' leaves ±0.02 mm on the diameter for axis (op 10) -> bore (op 20); these cuts together can be held to "
        "±0.12 mm, which is 0.1 mm too much"
    )


def test_lengths_are_not_doubled() -> None:
    """The same chain as a length speaks of itself as it is."""
    (one,) = chart(replace(BUSH, shown_times=1.0)).lacking
    assert "leaves ±0.01 mm for" in lacking(replace(BUSH, shown_times=1.0), one)


def test_an_inch_shop_reads_inches() -> None:
    """±0.02 mm on the diameter are ±0.000787 in."""
    plan = replace(BUSH, unit="in")
    assert "leaves ±0.000787 in on the diameter" in lacking(plan, chart(plan).lacking[0])


def test_room_below_nothing_is_said_plainly() -> None:
    """100 mm that may grow by 0.1 either way, to be ±0.05: the limits lack 0.05, with ±0.03 of the cut 0.08 in all."""
    cuts = (Cut("left", None, 10, "saw"), Cut("right", "left", 20, "one", CutSpread(cut=0.01)))
    surfaces = (Surface("left", -1), Surface("right", 1))
    heats = (Heat(30, 0.0, -0.001, 0.001),)
    plan = Plan("bar", surfaces, cuts, (Finished("long", "left", "right", 100, -0.05, 0.05),), heats)
    (one,) = chart(plan).lacking
    said = lacking(plan, one)
    assert one.room == pytest.approx(-0.05, rel=1e-3)
    assert "'long': its limits lack 0.05 mm either way before any tolerance is counted" in said
    assert "held to ±0.03 mm, so ±0.08 mm is lacking in all" in said
    assert "±-" not in said


def test_an_audit_speaks_of_diameters() -> None:
    """Bored to Ø19.98 ±0.04 for Ø20 ±0.02, after Ø19.9: limits, stock and what the machine holds on the diameter."""
    cuts = (
        BUSH.cuts[0],
        replace(BUSH.cuts[1], size=Limits.around(9.95, 0.01)),
        replace(BUSH.cuts[2], size=Limits.around(9.99, 0.02)),
    )
    found = {one.kind: one for one in audit(replace(BUSH, cuts=cuts)).findings}
    assert (
        "'bore' is to be 19.98 … 20.02 mm; it comes to 19.94 … 20.02 mm in worst case"
        in found["finished"].what
    )
    assert found["finished"].by == pytest.approx(0.04)
    assert found["finished"].remedy.startswith(
        "make it 0.02 mm larger on the diameter, into the middle of its limits; "
    )
    assert "is to be at least 0.2 mm on the diameter" in found["stock"].what
    assert "leave 0.18 mm more on the diameter" in found["stock"].remedy
    narrow = [one.what for one in audit(replace(BUSH, cuts=cuts)).findings if one.kind == "narrow"]
    assert any("±0.02 mm on the diameter, and can be held to ±0.12 mm" in one for one in narrow)
    assert any("±0.04 mm on the diameter, and can be held to ±0.12 mm" in one for one in narrow)


def test_a_cut_that_removes_nothing_is_told_on_the_diameter() -> None:
    """Bored to 19.98 before and 19.9 after: -0.08 mm are left on the diameter."""
    first, rough, last = BUSH.cuts
    cuts = (
        first,
        replace(rough, size=Limits.around(9.99, 0.0)),
        replace(last, size=Limits.around(9.95, 0.0)),
    )
    (said,) = removes_nothing(replace(BUSH, cuts=cuts))
    assert said.what.endswith("leaves -0.08 mm")


def round_chart(build: Build, part: str = "ring", *, audited: bool = False) -> DirectionSheet:
    """The chart of the round surfaces of a part."""
    return next(one for one in chart_sheet(build, part, audited=audited).charts if one.diameters)


TIGHT = ("rim: 60 h6", "rim: 60 ±0.001")


def test_the_sheet_lacks_what_its_table_says() -> None:
    """What the sentence says of room and capability is what the table beside it says on the diameter."""
    sheet = round_chart(changed(RING, TIGHT))
    (said,) = (one for one in sheet.lacking if one.startswith("'rim'"))
    (rim,) = (one for one in sheet.working if one.surface == "rim" and one.does == "cylindrical grind")
    assert "'rim' leaves ±0.001 mm on the diameter" in said
    assert f"can be held to ±{rim.capability:.3g} mm" in said


def test_a_seat_that_nobody_wrote_is_no_finding() -> None:
    """Axes of setups and holes without a stated size are drawn by the tool: an audit of what was written skips them."""
    text = f"format: loopwright-build/1\nname: holes\n{SHOP}parts:{RING}bodies: {{b: {{}}}}\n".replace(
        "surfaces: {", "surfaces: {hole: {faces: inside, size: [12, 5]}, "
    ).replace(
        "- {op: harden", "- {op: drill, machine: mill, datum: [left], cuts: {hole: {}}}\n      - {op: harden"
    )
    sheet = chart_sheet(read_text(text), "ring", audited=True)
    assert [one.what for chart in sheet.charts for one in chart.findings or () if one.kind == "unused"] == []
    stated = read_text(text.replace("hole: {}", "hole: {size: 5 ±0.1}"))
    kinds = [
        one.kind for chart in chart_sheet(stated, "ring", audited=True).charts for one in chart.findings or ()
    ]
    assert "unused" in kinds


def test_no_change_is_offered_that_nobody_can_make() -> None:
    """What would free a chart of diameters is a better cut, another seat or order: never a diameter from a surface."""
    text = "cuts: {bore: {}, rim: {}}}\n"
    build = changed(RING, TIGHT, (text, "cuts: {bore: {size: 50 ±0.03}, rim: {}}}\n"))
    said = [one.what for one in round_chart(build).freed]
    assert not [one for one in said if one.startswith(("write the dim", "cut "))]


def test_limits_are_told_to_one_place() -> None:
    """Both ends of a range to a tenth of a µm, however small one of them is."""
    assert limits(BUSH, -0.0124553, 0.0897031, 2) == "-0.0249 … 0.1794 mm"
