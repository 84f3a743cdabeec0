"""How the clock-plate machine is made: every route of the example can be charted, holds its drawing and can be done.

Machine, shop and figures are invented. What is asked of them is not: hardening, tempering and stress relief stand in
bands that the handbook has from its sources, a tap drill in the limits of ISO 965-1, what a reamer is left in its
allowance, a wheel under the speed that is marked on it, and the spread of two bores follows JCGM 100:2008, 5.1.2.
"""

from collections.abc import Iterator, Mapping
from math import hypot

import numpy as np
import pytest

from loopwright.buildfile import examples
from loopwright.buildfile.reading import read_text
from loopwright.handbook import threads
from loopwright.handbook.heat_treatment import stress_relief, tempered_hardness, treatment
from loopwright.handbook.stock_allowances import reaming
from loopwright.loop import MadeDim
from loopwright.making.chart_checks import problems
from loopwright.making.chart_solving import Solution, chart
from loopwright.making.made_dims import made
from loopwright.making.planned import ROUND, Charted, plans_of
from loopwright.model.build import Build
from loopwright.model.dims import Dim
from loopwright.model.parts import Part
from loopwright.model.routes import Op, nested

BUILD = read_text(examples.text("clock-plate"), "clock-plate.yaml")
MADE = [name for name, part in BUILD.parts.items() if not part.bought]
DRAWN = [name for name in MADE if BUILD.parts[name].dims]
OPS = [(name, i, op) for name in MADE for i, op in enumerate(BUILD.parts[name].route)]
EVERY_OP = [(name, op) for name in MADE for op in nested(BUILD.parts[name].route)]


def charts_of(build: Build, name: str) -> Iterator[Charted]:
    """The charts of a part on which a dim of its drawing stands."""
    plans = plans_of(build, name)
    assert not plans.problems
    yield from (one for one in plans.charts.values() if one.plan.finished)


def solved(name: str, direction: str) -> Solution:
    """A chart of a part of the example, solved."""
    return chart(plans_of(BUILD, name).charts[direction].plan)


def with_route(name: str, route: list[Op]) -> Build:
    """The example with another route for one part."""
    part = BUILD.parts[name].model_copy(update={"route": route})
    return BUILD.model_copy(update={"parts": {**BUILD.parts, name: part}})


def ops(name: str, kind: str) -> list[Op]:
    """Ops of one kind of a part."""
    return [op for op in BUILD.parts[name].route if op.op == kind]


# routes and charts


def test_every_made_part_has_a_route_and_a_mark_of_its_own() -> None:
    """Whoever picks up a piece can tell which it is, and the traveller says what comes next."""
    assert [name for name in MADE if not BUILD.parts[name].route] == []
    assert [name for name in DRAWN if BUILD.parts[name].blank is None] == []
    assert [name for name in DRAWN if BUILD.parts[name].mark is None] == []
    marks = [part.mark for part in BUILD.parts.values() if part.mark is not None]
    assert len(set(marks)) == len(marks)
    assert len(DRAWN) >= 31


def test_every_op_says_where_and_how_long() -> None:
    """Each op has its machine and its minutes."""
    assert [(name, op.op) for name, op in EVERY_OP if op.machine is None or op.minutes is None] == []


@pytest.mark.parametrize("name", DRAWN)
def test_every_dim_is_charted_without_a_problem(name: str) -> None:
    """Every dim of the drawing has its span, and every length and diameter a path through the cuts."""
    part = BUILD.parts[name]
    assert set(part.spans) == set(part.dims)
    found: set[str] = set()
    for one in charts_of(BUILD, name):
        assert problems(one.plan) == ()
        found |= {result.name for result in chart(one.plan).finished}
    assert found == {dim for dim, stated in part.dims.items() if stated.quantity == "length"}


@pytest.mark.parametrize("name", DRAWN)
def test_every_plan_can_be_held(name: str) -> None:
    """In the worst case every cut keeps within what its machine holds, and every stock is there."""
    lacking = [words for one in charts_of(BUILD, name) for words in chart(one.plan).lacking]
    assert lacking == []
    assert all(chart(one.plan).feasible for one in charts_of(BUILD, name))


@pytest.mark.parametrize(
    ("name", "number", "key"), [(name, i, key) for name, i, op in OPS for key in op.alternatives]
)
def test_every_alternative_can_be_charted_and_held(name: str, number: int, key: str) -> None:
    """Another way that the shop would accept is a sound way."""
    route = BUILD.parts[name].route
    other = with_route(name, [*route[:number], *route[number].alternatives[key], *route[number + 1 :]])
    for one in charts_of(other, name):
        assert problems(one.plan) == ()
        assert chart(one.plan).feasible


def test_at_least_six_ops_have_another_way() -> None:
    """Another machine, one more op, bores one by one: there is something to choose from."""
    assert len({(repr(op), key) for _, _, op in OPS for key in op.alternatives}) >= 6


def test_what_is_ground_in_one_clamping_or_load_differs_by_the_cuts_alone() -> None:
    """Two rail seats, and two of four posts, differ by two cuts: 1 µm and 0.8 µm each (JCGM 100:2008, 5.1.2)."""
    found = made(BUILD).dims
    for one, two, cut in (
        ("base/Y_seat_left", "base/Y_seat_right", 0.001),
        ("base/landing_FL", "base/Y_seat_left", 0.001),
    ):
        assert apart(found, one, two) == pytest.approx(hypot(cut, cut), rel=1e-6)
    # a post has its own seating too, 0.6 µm
    assert apart(found, "post_FL/height", "post_RR/height") == pytest.approx(2**0.5 * hypot(0.0008, 0.0006))


def apart(found: Mapping[str, MadeDim], one: str, two: str) -> float:
    """Standard deviation of the difference of two dims, mm."""
    shares: dict[str, float] = {}
    for dim, sign in ((found[one], 1), (found[two], -1)):
        for share in dim.shares:
            shares[share.name] = shares.get(share.name, 0.0) + sign * share.factor * share.std
    own = found[one].std ** 2 + found[two].std ** 2
    return float(np.sqrt(own + sum(value**2 for value in shares.values())))


# the parts that the shop is proud of


def test_the_ring_goes_from_the_saw_to_the_grinder() -> None:
    """The spacer is sawn, turned, bored, parted off, hardened, tempered, and ground on faces and in the bore."""
    done = [op.op for op in BUILD.parts["head_spacer"].route]
    wanted = [
        "saw", "turn", "bore", "part off", "harden", "temper",
        "surface grind", "cylindrical grind", "surface grind",
    ]  # fmt: skip
    assert [op for op in done if op in wanted] == wanted
    assert {one.direction for one in charts_of(BUILD, "head_spacer")} == {"Z", ROUND}


def test_the_ring_is_turned_small_for_what_it_grows() -> None:
    """Its bore grows in the quench, so it is bored smaller than 20 H7 by more than the grinder takes off."""
    chart_ = solved("head_spacer", ROUND)
    cuts = [(chart_.plan.cuts[dim.cut], dim) for dim in chart_.working]
    bored = next(dim for cut, dim in cuts if cut.label == "bore")
    drilled = next(dim for cut, dim in cuts if cut.label == "drill")
    grinding = next(r for r in chart_.stock if chart_.plan.cuts[r.index].label == "cylindrical grind")
    assert 2 * (bored.size + bored.half) < 20.0 - 2 * grinding.asked_low
    # the drill is one of the drawer
    assert 2 * drilled.size == pytest.approx(BUILD.shop.tools["drill 18"].diameter, abs=0.02)


@pytest.mark.parametrize("axis", "XYZ")
def test_the_brackets_of_an_axis_are_bored_and_reamed_as_one(axis: str) -> None:
    """Two brackets and the nut housing are one stack: bores at one height and offset, whatever the setting."""
    names = [f"{axis}_{name}" for name in ("bracket_fixed", "bracket_free", "nut_housing")]
    for kind in ("bore", "ream"):
        found = [ops(name, kind)[0] for name in names]
        assert {op.together for op in found} == {f"{axis} bearing brackets"}
        assert all(op.as_one for op in found)
    dims = made(BUILD).dims
    for dim in ("bore_offset", "bore_height"):
        assert apart(dims, f"{names[0]}/{dim}", f"{names[1]}/{dim}") == pytest.approx(0.0, abs=1e-9)


def test_bored_one_by_one_they_differ_by_seating_and_cut() -> None:
    """Each bore then has its own seating, 5 µm, its setting, 0.8 µm, and its cut, 1.2 µm: √2 of all three between them.

    Source: JCGM 100:2008, 5.1.2.
    """
    build = BUILD
    for name in ("X_bracket_fixed", "X_bracket_free"):
        route = []
        for op in build.parts[name].route:
            route += op.alternatives.get("one by one", [op])
        part = build.parts[name].model_copy(update={"route": route})
        build = build.model_copy(update={"parts": {**build.parts, name: part}})
    wanted = 2**0.5 * hypot(0.005, 0.0008, 0.0012)
    found = apart(made(build).dims, "X_bracket_fixed/bore_offset", "X_bracket_free/bore_offset")
    assert found == pytest.approx(wanted, rel=1e-6)


def test_the_insulator_is_a_stack_that_is_bonded_cured_and_milled() -> None:
    """Two bond lines of 0.1 mm, laminate and cap between them, the oven, and then the mill brings it to height."""
    part = BUILD.parts["touch_off_insulator"]
    lines = [op.cuts["top"].adds for op in ops("touch_off_insulator", "bond")]
    assert [line.value for line in lines if line is not None] == [0.1, 0.1]
    done = [op.op for op in part.route]
    assert done.index("bond") < done.index("cure") < len(done) - 1 - done[::-1].index("face")


@pytest.mark.parametrize("name", ["base", "saddle", "table", "column", "slide"])
def test_castings_are_relieved_between_rough_and_finish(name: str) -> None:
    """All roughing lies before the furnace, and what makes the drawing's dims after it."""
    done = [op.op for op in BUILD.parts[name].route]
    relieved = done.index("stress relieve")
    assert "rough out" not in done[relieved:]
    assert "surface grind" in done[relieved:]
    assert "surface grind" not in done[:relieved]


def test_the_clamp_shaft_has_an_eccentric_journal() -> None:
    """The throw is a dim between two round surfaces, hardened and then ground about two axes."""
    part = BUILD.parts["head_clamp_shaft"]
    ends = part.spans["throw"].between
    assert ends is not None
    assert all(part.surfaces[end].round for end in ends)
    done = [op.op for op in part.route]
    grinding = [i for i, op in enumerate(done) if op == "cylindrical grind"]
    assert done.index("harden") < grinding[0]
    assert len({part.route[i].setup for i in grinding}) == 2
    thrown = solved("head_clamp_shaft", "X")
    assert next(r for r in thrown.finished if r.name == "throw").mean == pytest.approx(3.0)


# against the handbook


@pytest.mark.parametrize(("name", "number"), [(name, i) for name, i, op in OPS if op.op == "harden"])
def test_what_is_hardened_is_tempered_and_both_are_in_the_bands(name: str, number: int) -> None:
    """Hardening heat and both hardnesses lie where the makers' sheets of the steel have them."""
    part = BUILD.parts[name]
    hard, soft = part.route[number], part.route[number + 1]
    assert soft.op == "temper"
    known = treatment(part.material or "")
    assert known.harden_degc.holds(hard.temperature or 0.0)
    assert hard.hardness is not None
    assert soft.hardness is not None
    assert hard.hardness.low <= known.as_quenched_hrc.high
    assert hard.hardness.high >= known.as_quenched_hrc.low
    band = tempered_hardness(part.material or "", soft.temperature or 0.0)
    assert band.low <= soft.hardness.high
    assert soft.hardness.low <= band.high
    # nothing heats it again over its temper
    assert all(op.op not in ("harden", "stress relieve") for op in part.route[number + 2 :])


@pytest.mark.parametrize(("name", "number"), [(name, i) for name, i, op in OPS if op.op == "stress relieve"])
def test_stress_is_relieved_where_the_handbook_has_it(name: str, number: int) -> None:
    """The temperature lies in the band of the material."""
    part = BUILD.parts[name]
    assert stress_relief(part.material or "").degc.holds(part.route[number].temperature or 0.0)


def tapped() -> Iterator[tuple[str, Dim, str]]:
    """Every tapped hole: part and surface, how large it is drilled, and its thread."""
    for name in MADE:
        drilled: dict[str, Dim] = {}
        for op in BUILD.parts[name].route:
            for surface, cut in op.cuts.items():
                if op.op == "drill" and cut.size is not None:
                    drilled[surface] = cut.size
                if op.op == "tap":
                    yield f"{name}, {surface}", drilled[surface], cut.thread or ""


@pytest.mark.parametrize(("hole", "size", "thread"), list(tapped()))
def test_tap_drills_leave_a_thread_in_its_limits(hole: str, size: Dim, thread: str) -> None:
    """However large the hole comes out within its limits, it is a minor diameter of 6H (ISO 965-1)."""
    least, greatest = threads.limits(thread, "6H").minor
    assert size.spread is not None
    assert least is not None
    assert least <= size.nominal + size.spread.lower, hole
    assert size.nominal + size.spread.upper <= greatest, hole


@pytest.mark.parametrize(
    "name", [name for name in DRAWN if ops(name, "ream") and "bore" in BUILD.parts[name].dims]
)
def test_the_reamer_finds_what_it_needs(name: str) -> None:
    """What boring leaves for the reamer on diameter is in the allowance of the handbook."""
    chart_ = solved(name, ROUND)
    left = next(r for r in chart_.stock if chart_.plan.cuts[r.index].label == "ream")
    assert reaming(26).holds(2 * left.mean)


@pytest.mark.parametrize(("name", "op"), [(name, op) for name, op in EVERY_OP if op.op.endswith("grind")])
def test_no_wheel_turns_faster_than_is_marked_on_it(name: str, op: Op) -> None:
    """The slowest speed of the grinder is one that its wheel stands."""
    machine, wheel = BUILD.shop.machines[op.machine or ""], BUILD.shop.tools[op.tool or ""]
    assert machine.speeds is not None
    assert wheel.speed_limit is not None
    assert machine.speeds[0] <= wheel.speed_limit


def from_bar(part: Part) -> bool:
    """It is sawn from a bar."""
    return part.blank is not None and part.blank.section.is_bar


def blank_needed(name: str) -> Iterator[float]:
    """What the charts ask of a bar across: the largest distance of two faces that nobody has cut."""
    for one in charts_of(BUILD, name):
        found = chart(one.plan)
        raw = [dim for dim in found.working if one.plan.cuts[dim.cut].label == "blank"]
        yield from (dim.size + dim.half for dim in raw)


@pytest.mark.parametrize("name", [name for name in DRAWN if from_bar(BUILD.parts[name])])
def test_bars_are_large_enough_and_in_the_rack(name: str) -> None:
    """A bar of the section is in the shop or can be bought, and no chart asks for more than it has."""
    part = BUILD.parts[name]
    assert part.blank is not None
    section = part.blank.section
    assert any(bar.section == section and bar.material == part.material for bar in BUILD.shop.bars.values())
    needed = list(blank_needed(name))
    assert all(any(size * 0.8 <= one + 1e-9 <= size for size in section.sizes) for one in needed), needed


def reads(part: Part, what: str) -> str:
    """Whether a dim or surface is read as a length or an angle."""
    return part.dims[what].quantity if what in part.dims else "length"


@pytest.mark.parametrize(("name", "op"), [(n, op) for n, op in EVERY_OP if op.inspect and op.gauge])
def test_gauges_read_what_they_are_given(name: str, op: Op) -> None:
    """An angle is read with a gauge for angles, and the micrometer gets nothing over 25 mm."""
    part, gauge = BUILD.parts[name], BUILD.gauges[op.gauge or ""]
    for what in op.inspect:
        assert reads(part, what) == gauge.reads
        if op.gauge == "micrometer" and what in part.dims:
            assert part.dims[what].nominal <= 25


def test_every_machine_is_of_a_kind_that_does_the_op() -> None:
    """No op stands on a machine that the handbook would not give it, and every machine of the shop is used."""
    used = {op.machine for _, op in EVERY_OP}
    assert used == set(BUILD.shop.machines)
