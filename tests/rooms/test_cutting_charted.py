"""What an op takes off comes from the tolerance chart where there is one, and decides its passes."""

import pytest

from cut_parts import cut
from loopwright.buildfile import read_text
from loopwright.making.cutting_charted import LastAsked, removals
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_records import CutData
from loopwright.model.build import Build
from loopwright.studies.chart_sheet import chart_sheet

HEAD = """
format: loopwright-build/1
name: charted
shop:
  machines:
    saw: {kind: bandsaw}
    lathe: {kind: CNC lathe, speeds: [50, 4000], power: 7 kW, holds: {face: {cut: 10 µm, setting: 10 µm, seating: 0}}}
  tools: {turner: {kind: turning tool, material: carbide, nose_radius: 0.4}}
parts:
  pin:
    material: low carbon steel
    blank: {section: round 30}
    dims: {long: 40 ±0.1}
    surfaces: {left: {faces: -Z, size: [30, 30]}, right: {faces: +Z, size: [30, 30]}}
    spans: {long: [left, right]}
    route:
      - {op: saw, machine: saw, cuts: {left: {}, right: {measured_from: left, size: SAWN}}}
      - {op: face, machine: lathe, setup: one, datum: [left], tool: turner, held: chuck, cuts: {right: {least: 0.5}}}
      - {op: face, machine: lathe, setup: two, datum: [right], tool: turner, held: chuck, cuts: {left: {size: 40 ±0.1}}}
bodies: {b: {}}
"""


def pin(sawn: str = "44 ±0.5", faced: str = "{least: 0.5}") -> Build:
    """A pin sawn and faced at both ends."""
    return read_text(HEAD.replace("SAWN", sawn).replace("{least: 0.5}", faced))


def right(build: Build) -> CutData:
    """The first facing cut."""
    return cutting_of(build, "pin", 1).cuts[0]


def test_mean_least_and_most_are_those_of_the_chart() -> None:
    """Sawn to 44 ±0.5 and faced to 41 ±0.1: 3 mm come off, 2.4 to 3.6 in worst case."""
    found = right(pin(faced="{size: 41 ±0.1}"))
    assert (found.stock, found.stock_least, found.stock_most) == pytest.approx((3.0, 2.4, 3.6))
    assert found.stock_from == "by the tolerance chart"


def test_every_stock_is_the_one_that_the_chart_sheet_tells() -> None:
    """Each cut with a stock in the chart has that in its cutting data too."""
    build = pin(faced="{size: 41 ±0.1}")
    told = {one.name: one for chart in chart_sheet(build, "pin").charts for one in chart.stock}
    for index, name in ((1, "stock on right (op 20)"), (2, "stock on left (op 30)")):
        one = cutting_of(build, "pin", index).cuts[0]
        assert (one.stock_least, one.stock, one.stock_most) == pytest.approx(
            (told[name].worst[0], told[name].mean, told[name].worst[1])
        )


def test_the_most_decides_the_passes_and_the_least_is_told() -> None:
    """Passes take 3.6 mm off; a saw that holds less makes more of them; how many do for the least is said."""
    found, wide = right(pin(faced="{size: 41 ±0.1}")), right(pin("44 ±2.5", "{size: 41 ±0.1}"))
    assert sum(one.count * (one.depth or 0.0) for one in found.passes) == pytest.approx(3.6)
    assert sum(one.count * (one.depth or 0.0) for one in wide.passes) == pytest.approx(5.6)
    assert wide.stock == pytest.approx(3.0)
    assert sum(one.count for one in wide.passes) > sum(one.count for one in found.passes)
    assert any("with the least, 0.4 mm, 1 of the 7 passes do" in note for note in wide.notes)


def test_a_stock_that_may_be_gone_is_warned_of() -> None:
    """Sawn to 41.3 ±0.5 nothing may be left in worst case, by 0.3 mm."""
    found = right(pin("41.3 ±0.5", "{size: 41 ±0.1}"))
    assert [one.text for one in found.warnings if one.about == "stock"] == [
        "by the tolerance chart the stock may be gone, by 0.3 mm in worst case: leave more before this op"
    ]


def test_what_is_given_wins_and_where_there_is_no_chart_the_route_tells() -> None:
    """A measured stock stands; a part whose dims make no chart goes by the least of its route."""
    build = pin(faced="{size: 41 ±0.1}")
    given = cutting_of(build, "pin", 1, stock={"right": 1.0}).cuts[0]
    assert (given.stock, given.stock_from, given.stock_least) == (1.0, "given", None)
    assert cut("block", 30, "left").stock_from == "the least that the route has it take"


def test_an_alternative_route_is_charted_as_it_is() -> None:
    """With another route in its place the stocks are those of that route."""
    build, other = pin(faced="{size: 41 ±0.1}"), pin("45 ±0.5", "{size: 41 ±0.1}")
    route = other.parts["pin"].route
    assert cutting_of(build, "pin", 1, route=route).cuts[0].stock == pytest.approx(4.0)


def test_what_was_asked_last_is_kept_for_its_own_part_only() -> None:
    """The second question of one part takes the same answer; another build is charted anew."""
    asked, one, other = LastAsked(), pin(), pin("45 ±0.5")
    first = asked.of(one, "pin", one.parts["pin"].route)
    assert asked.of(one, "pin", one.parts["pin"].route) is first
    assert asked.of(other, "pin", other.parts["pin"].route) == removals(
        other, "pin", other.parts["pin"].route
    )
    assert asked.of(other, "pin", other.parts["pin"].route) != first
