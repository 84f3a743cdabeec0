"""What must hold for the cutting data of any op, whatever the stock, the limit, the machine and the tool."""

import pickle

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cut_parts import build, cut, text
from loopwright.buildfile import read_text
from loopwright.handbook.cutting_force import WORN_TOOL
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_depths import layers
from loopwright.making.cutting_records import CutData

PART = """format: loopwright-build/1
name: any
shop:
  machines: {{m: {{kind: {kind}, speeds: [{slow}, {fast}], power: {power} W}}}}
  tools:
    t: {{kind: {tool}, diameter: {diameter}, edges: {edges}, material: {edge}, stick_out: {reach}, nose_radius: 0.4}}
parts:
  p:
    material: {material}
    surfaces: {{s: {{faces: {faces}, size: [{length}, {wide}]}}}}
    route: [{{op: {op}, machine: m, tool: t, held: centres, cuts: {{s: {{least: {stock}}}}}}}]
bodies: {{b: {{}}}}
"""
WAYS = (
    ("CNC mill", "end mill", "contour", "+X"),
    ("manual mill", "face mill", "face", "+Z"),
    ("CNC mill", "end mill", "rough out", "+Z"),
    ("manual lathe", "turning tool", "turn", "outside"),
    ("CNC mill", "drill", "drill", "inside"),
    ("CNC lathe", "boring bar", "bore", "inside"),
)
MATERIALS = (
    "low carbon steel",
    "aluminium 6061",
    "stainless steel 304",
    "tool steel O1",
    "grey cast iron",
    "titanium",
)


@st.composite
def any_cut(draw: st.DrawFn) -> tuple[CutData, float, float, float]:
    """A cut of any way in any of some materials, with the slowest and fastest speed of its machine, and its power."""
    kind, tool, op, faces = draw(st.sampled_from(WAYS))
    slow, power = draw(st.floats(20, 500)), draw(st.floats(200, 5000))
    fast = slow * draw(st.floats(1, 20))
    diameter = draw(st.floats(3, 20)) if tool != "face mill" else draw(st.floats(30, 80))
    whole = PART.format(
        kind=kind, tool=tool, op=op, faces=faces, slow=slow, fast=fast, power=power, diameter=diameter,
        edges=draw(st.integers(1, 4)), edge=draw(st.sampled_from(("HSS", "carbide"))),
        reach=diameter * draw(st.floats(1.5, 8)),
        material=draw(st.sampled_from(MATERIALS)), length=draw(st.floats(5, 30)),
        wide=draw(st.floats(21, 60)), stock=draw(st.floats(0.05, 6)),
    )  # fmt: skip
    return cutting_of(read_text(whole), "p", 0).cuts[0], slow, fast, power


@given(any_cut())
@settings(max_examples=60, deadline=None)
def test_nothing_is_asked_of_a_machine_that_it_has_not(any_one: tuple[CutData, float, float, float]) -> None:
    """No pass turns faster or slower than the machine, nor needs more than its power without a warning."""
    found, slow, fast, power = any_one
    for one in found.passes:
        assert one.rpm is not None
        assert slow * (1 - 1e-9) <= one.rpm <= fast * (1 + 1e-9)
        if one.power is not None and WORN_TOOL[0] * one.power > power * 1.06:
            assert any(warning.about == "power" for warning in found.warnings)


@given(
    st.floats(0.001, 20),
    st.floats(0.05, 3),
    st.floats(0.02, 0.5),
    st.none() | st.floats(0.05, 4),
    st.booleans(),
)
def test_layers_take_off_what_there_is(
    stock: float, rough: float, finish: float, fixed: float | None, finishing: bool
) -> None:
    """Passes add up to the stock, none is deeper than it may be, and the finishing one comes last."""
    found = layers(stock, rough, finish, fixed=fixed, finishing=finishing)
    assert sum(one.count * one.depth for one in found) == pytest.approx(stock)
    most = rough if fixed is None else fixed
    assert all(one.depth <= max(most, 2 * finish) * (1 + 1e-9) for one in found)
    assert [one.kind for one in found] in (
        [["rough"]] if not finishing else [["finish"], ["rough", "finish"]]
    )


@given(st.floats(0.02, 2), st.floats(0.0005, 0.05))
@settings(max_examples=30, deadline=None)
def test_a_finer_limit_never_asks_for_more(stock: float, limit: float) -> None:
    """Half the limit never gives a deeper last pass, a coarser feed, or fewer passes."""
    wide, fine = (
        cut("block", 80, "bore", stock={"bore": stock}, limits={"bore": value}).passes
        for value in (limit, limit / 2)
    )
    assert fine[-1].depth <= wide[-1].depth * (1 + 1e-9)
    assert fine[-1].feed <= wide[-1].feed * (1 + 1e-9)
    assert sum(one.count for one in fine) >= sum(one.count for one in wide)


def test_answers_can_be_sent_to_another_process() -> None:
    """Every answer is a frozen record of plain values that survives pickling."""
    for name, part in build().parts.items():
        for index in range(len(part.route)):
            found = cutting_of(build(), name, index)
            assert pickle.loads(pickle.dumps(found)) == found


def test_units_change_words_only() -> None:
    """The same part whose errors are shown in thou is cut alike."""
    metric = read_text(text(head="format: loopwright-build/1\nname: x\nunits: {length: mm}\n"))
    shown = read_text(text(head="format: loopwright-build/1\nname: x\nunits: {length: mm, errors: thou}\n"))
    for index in range(9):
        one, other = (cutting_of(b, "block", index).cuts for b in (metric, shown))
        assert [c.passes for c in one] == [c.passes for c in other]
