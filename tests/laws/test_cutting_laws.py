"""What must hold in cutting whatever the numbers: monotone, inverse, scaling, and limits."""

from math import pi, radians, tan

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from loopwright.errors import OutOfRange
from loopwright.handbook import (
    boring,
    chip_thickness,
    cutting_geometry,
    drilling,
    grinding,
    roughness,
    thread_milling,
    tool_deflection,
)
from loopwright.handbook.cutting_force import (
    EndMillForce,
    SpecificForce,
    end_mill_force,
    kienzle,
    milling_power,
    turning_force,
)
from loopwright.handbook.cutting_speeds import GROUPS, OPERATIONS, TOOLS, SpeedRange, envelope, speed_ranges

LAW = st.sampled_from([1, 6, 10, 14, 15, 22, 27, 37, 38]).map(kienzle)
FEED = st.floats(0.005, 0.5)
DIAMETER = st.floats(1, 100)
SHARE = st.floats(0.01, 1.0)
LESS = st.floats(0.1, 0.99)


# speeds


@given(st.floats(5, 500), DIAMETER)
def test_rpm_is_inverse_to_diameter(speed: float, diameter: float) -> None:
    """Twice the diameter, half the rpm; back again gives the speed."""
    turns = cutting_geometry.rpm(speed, diameter)
    assert cutting_geometry.rpm(speed, 2 * diameter) == pytest.approx(turns / 2)
    assert cutting_geometry.cutting_speed(turns, diameter) == pytest.approx(speed)


@given(st.floats(5, 500), DIAMETER)
def test_the_rule_of_four_is_high_by_a_third_of_pi(speed: float, diameter: float) -> None:
    """4 instead of 12/π, whatever the units."""
    ratio = cutting_geometry.rpm(speed, diameter, "times four") / cutting_geometry.rpm(speed, diameter)
    assert ratio == pytest.approx(pi / 3)


@given(st.floats(100, 20_000), FEED, st.integers(1, 12))
def test_feed_speed_and_feed_per_tooth_turn_round(turns: float, feed: float, teeth: int) -> None:
    """One undoes the other."""
    speed = cutting_geometry.feed_speed(turns, feed, teeth)
    assert cutting_geometry.feed_per_tooth(speed, turns, teeth) == pytest.approx(feed)


# chips


@given(FEED, DIAMETER, SHARE, st.floats(0.2, pi / 2))
def test_chip_thinning_turns_round(feed: float, diameter: float, share: float, edge: float) -> None:
    """The feed that holds a mean chip gives that chip again, by either rule."""
    width = share * diameter
    arc = chip_thickness.side_engagement(width, diameter)
    chip = chip_thickness.mean_chip(feed, arc, edge_angle=edge)
    assert chip_thickness.feed_for_mean_chip(chip, width, diameter, edge_angle=edge) == pytest.approx(feed)
    half = width / 2
    by_root = chip_thickness.mean_chip_by_root(feed, half, diameter, edge_angle=edge)
    found = chip_thickness.feed_for_mean_chip(by_root, half, diameter, edge_angle=edge, rule="root")
    assert found == pytest.approx(feed)


@given(FEED, DIAMETER, SHARE)
def test_the_root_is_never_below_the_mean(feed: float, diameter: float, share: float) -> None:
    """Up to half the diameter the root rule lies 0 to 11.1 % above the mean over the arc."""
    width = share * diameter / 2
    mean = chip_thickness.mean_chip(feed, chip_thickness.side_engagement(width, diameter))
    ratio = chip_thickness.mean_chip_by_root(feed, width, diameter) / mean
    assert 1 - 1e-12 <= ratio <= pi / 2 / 2**0.5 + 1e-9


@given(FEED, DIAMETER, SHARE, LESS)
def test_a_narrower_cut_thins_the_chip(feed: float, diameter: float, share: float, less: float) -> None:
    """Mean and greatest chip fall with the width up to half the diameter; neither exceeds the feed."""
    wide = chip_thickness.side_engagement(share * diameter / 2, diameter)
    narrow = chip_thickness.side_engagement(less * share * diameter / 2, diameter)
    for chip in (chip_thickness.mean_chip, chip_thickness.peak_chip):
        assert chip(feed, narrow) < chip(feed, wide) <= feed
    assert chip_thickness.mean_chip(feed, wide) < chip_thickness.peak_chip(feed, wide)


# forces


@given(LAW, FEED, LESS)
def test_force_grows_with_feed_less_than_in_proportion(law: SpecificForce, feed: float, less: float) -> None:
    """More feed, more force, but a thicker chip needs less for each mm²."""
    small, large = (turning_force(law, f, 1.0) for f in (less * feed, feed))
    assert less * large < small < large


@given(LAW, FEED, st.floats(0.1, 5))
def test_turning_force_goes_with_depth(law: SpecificForce, feed: float, depth: float) -> None:
    """Twice the depth, twice the force."""
    assert turning_force(law, feed, 2 * depth) == pytest.approx(2 * turning_force(law, feed, depth))


@settings(deadline=None, max_examples=50)
@given(LAW, FEED, DIAMETER, SHARE, st.integers(1, 8), st.floats(0, 45), LESS)
def test_end_mill_force(
    law: SpecificForce, feed: float, diameter: float, share: float, teeth: int, helix: float, less: float
) -> None:
    """Mean below peak, both grow with the feed; the mean goes with the teeth and knows no helix."""

    def force(f: float, z: int = teeth, angle: float = helix) -> EndMillForce:
        return end_mill_force(
            law,
            diameter=diameter,
            teeth=z,
            width=share * diameter,
            depth=diameter / 2,
            feed_per_tooth=f,
            helix=radians(angle),
        )

    large, small = force(feed), force(less * feed)
    assert 0 < large.mean <= large.peak
    assert small.mean < large.mean
    assert small.peak < large.peak
    assert force(feed, 2 * teeth).mean == pytest.approx(2 * large.mean)
    assert force(feed, teeth, 0.0).mean == pytest.approx(large.mean)
    assert large.away[0] <= large.away[1] <= large.lateral_peak * (1 + 1e-9)


@given(st.floats(0.1, 5), st.floats(0.1, 50), st.floats(10, 1000), st.floats(500, 5000))
def test_milling_power_is_force_by_removal(depth: float, width: float, feed: float, kc: float) -> None:
    """Each factor in proportion."""
    power = milling_power(depth, width, feed, kc)
    assert milling_power(2 * depth, width, feed, kc) == pytest.approx(2 * power)
    assert milling_power(depth, width, 2 * feed, kc) == pytest.approx(2 * power)


@given(LAW, st.floats(1, 40), FEED)
def test_drill_torque_goes_with_the_square(law: SpecificForce, diameter: float, feed: float) -> None:
    """Twice the diameter: four times the torque, twice the thrust, at the same feed."""
    one, two = (drilling.drill_load(law, d, feed) for d in (diameter, 2 * diameter))
    assert two.torque == pytest.approx(4 * one.torque)
    assert two.thrust == pytest.approx([2 * v for v in one.thrust])


# deflection


@given(st.floats(1, 1000), st.floats(5, 100), st.floats(1, 30), st.floats(1.1, 3))
def test_deflection_goes_with_the_cube_of_length(
    force: float, length: float, diameter: float, more: float
) -> None:
    """L³, d⁻⁴, and in proportion to the force."""
    base = tool_deflection.bar_deflection(force, length, diameter, 600e3).displacement
    longer = tool_deflection.bar_deflection(force, more * length, diameter, 600e3).displacement
    thicker = tool_deflection.bar_deflection(force, length, more * diameter, 600e3).displacement
    assert longer == pytest.approx(base * more**3)
    assert thicker == pytest.approx(base / more**4)
    assert tool_deflection.bar_deflection(2 * force, length, diameter, 600e3).displacement == pytest.approx(
        2 * base
    )


@given(st.floats(5, 60), st.floats(1, 60), st.floats(2, 20), st.floats(1, 2))
def test_a_shank_adds_bending_and_a_thicker_one_less(
    flute: float, shank: float, diameter: float, more: float
) -> None:
    """Any shank bends more than none; a thicker one bends less than one as thick as the cutter."""
    none = tool_deflection.end_mill_deflection(10, flute, diameter, 600e3)
    same = tool_deflection.end_mill_deflection(10, flute, diameter, 600e3, shank_length=shank)
    thick = tool_deflection.end_mill_deflection(
        10, flute, diameter, 600e3, shank_length=shank, shank_diameter=more * diameter
    )
    assert none.displacement < thick.displacement <= same.displacement
    assert none.slope < thick.slope <= same.slope


@given(st.floats(0, 1e4), st.floats(1, 1e5), st.integers(1, 5))
def test_each_boring_pass_leaves_the_same_share(cutting: float, stiffness: float, passes: int) -> None:
    """Shares multiply, and never grow."""
    one = boring.error_left(cutting, stiffness)
    assert 0 <= one < 1
    assert boring.error_left(cutting, stiffness, passes) == pytest.approx(one**passes)


# circles and helices


@given(st.floats(1, 50), st.floats(1.01, 1000))
def test_centre_feed_tends_to_the_straight_one(cutter: float, times: float) -> None:
    """Inside it is slower, outside faster, and for a large hole both become the feed itself."""
    inside = cutting_geometry.centre_feed_inside(100, times * cutter, cutter)
    outside = cutting_geometry.centre_feed_outside(100, times * cutter, cutter)
    assert inside < 100 < outside
    assert abs(inside - 100) == pytest.approx(100 / times)
    assert abs(outside - 100) == pytest.approx(100 / times)


@given(st.floats(1, 50), st.floats(0.2, 8))
def test_a_helix_in_a_large_hole_is_a_straight_ramp(cutter: float, degrees: float) -> None:
    """A hole of 10 000 cutters: the centre feeds as the wall, and the time to depth is that of a ramp."""
    angle, hole = radians(degrees), 1e4 * cutter
    found = cutting_geometry.helical_entry(hole, cutter, 10, ramp_angle=angle, feed_speed_mm_min=200)
    assert found.centre_feed == pytest.approx(200, rel=2e-4)
    ramp = 10 / tan(angle) / 200 * (1 + tan(angle) ** 2) ** 0.5
    assert found.minutes - pi * hole / 200 == pytest.approx(ramp, rel=1e-2, abs=1e-6 * found.minutes)


@given(st.floats(2, 40), st.floats(1.05, 5), st.floats(1, 50), st.floats(0.2, 8))
def test_a_helix_goes_as_deep_as_its_turns(cutter: float, times: float, depth: float, degrees: float) -> None:
    """Turns but the flat one, times pitch, are the depth; the ramp angle turns round."""
    hole, angle = times * cutter, radians(degrees)
    found = cutting_geometry.helical_entry(hole, cutter, depth, ramp_angle=angle, feed_speed_mm_min=200)
    assert (found.turns - 1) * found.pitch == pytest.approx(depth)
    assert cutting_geometry.ramp_angle(hole, cutter, found.pitch) == pytest.approx(angle)


@given(st.floats(6, 60), st.floats(0.1, 0.75), st.sampled_from([0.5, 1.0, 1.5]), st.floats(-0.1, 0.1))
def test_a_thread_path_moves_by_half_of_the_pitch_diameter(
    diameter: float, share: float, pitch: float, change: float
) -> None:
    """Another pitch diameter moves the centre by half of it, inside and outside."""
    cutter = share * diameter
    assume(cutter > 2 * pitch)
    for internal in (True, False):
        one, other = (
            thread_milling.thread_path(diameter + d, pitch, cutter, 100, internal=internal).radius
            for d in (0, change)
        )
        assert other - one == pytest.approx(change / 2, abs=1e-12)


# roughness


@given(st.floats(0.05, 2), SHARE)
def test_the_circle_is_rougher_than_the_parabola(radius: float, share: float) -> None:
    """Exact ridges are higher, at most twice, and tend to the parabola for a small feed."""
    feed = 2 * radius * share
    exact, parabola = (roughness.height(feed, radius, rule) for rule in ("circle", "parabola"))
    assert parabola <= exact * (1 + 1e-12) <= 2.0001 * parabola
    assert exact / parabola - 1 <= share**2 + 1e-9


@given(st.floats(0.05, 2), st.floats(0.01, 0.4))
def test_rules_for_ra_lie_together(radius: float, share: float) -> None:
    """Quarter, arc and exact circle within 5 % of each other for feeds below 0.8 of the radius."""
    feed = 2 * radius * share
    found = sorted(roughness.mean_roughness(feed, radius, rule) for rule in roughness.RA_RULES)
    assert found[-1] < found[0] * 1.10
    assert roughness.mean_roughness(feed / 2, radius) == pytest.approx(
        roughness.mean_roughness(feed, radius) / 4
    )


# drilling and grinding


@given(st.floats(1, 30), st.floats(0.1, 10))
def test_pecks_rise_to_the_depth(diameter: float, ratio: float) -> None:
    """Each peck is deeper than the one before, none by more than three diameters, the last is the depth."""
    pecks = drilling.depth_advice(ratio * diameter, diameter).pecks
    steps = [now - before for before, now in zip((0, *pecks), pecks)]
    assert pecks[-1] == ratio * diameter
    assert all(0 < step <= 3 * diameter * (1 + 1e-9) for step in steps)


@given(st.floats(3, 10), LESS)
def test_a_deeper_hole_is_drilled_no_faster(ratio: float, less: float) -> None:
    """Speed and feed never rise with the depth."""
    deep, shallow = (drilling.depth_advice(10 * r, 10) for r in (ratio, less * ratio))
    assert deep.speed <= shallow.speed
    assert deep.feed <= shallow.feed


@given(st.floats(20, 600), st.floats(10, 80), st.floats(0.1, 1.5))
def test_a_wheel_runs_only_within_its_rating(diameter: float, rated: float, share: float) -> None:
    """Below the limit the speed is given, above it the wheel is refused."""
    turns = share * grinding.rpm_limit(diameter, rated)
    assume(abs(share - 1) > 1e-6)
    if share < 1:
        found = grinding.checked_wheel_speed(diameter, turns, rated_speed=rated)
        assert found == pytest.approx(share * rated)
    else:
        with pytest.raises(OutOfRange):
            grinding.checked_wheel_speed(diameter, turns, rated_speed=rated)


@given(st.floats(0.01, 0.3), st.floats(0.002, 0.02), LESS)
def test_more_stock_takes_no_less_time(stock: float, infeed: float, less: float) -> None:
    """Minutes never fall with the stock, on a surface and on a cylinder."""
    flat = [
        grinding.surface_minutes(
            100, 50, stock=s, infeed=infeed, table_speed=15, crossfeed=5, wheel_width=20
        ).minutes
        for s in (less * stock, stock)
    ]
    round_ = [
        grinding.cylinder_minutes(
            60, 40, stock=s, infeed=infeed, work_speed=15, traverse=5, wheel_width=20
        ).minutes
        for s in (less * stock, stock)
    ]
    assert flat[0] <= flat[1]
    assert round_[0] <= round_[1]


# tables


def rows_or_refusal(group: str, operation: str, tool: str) -> tuple[tuple[SpeedRange, ...], str]:
    """The rows, or what the refusal says."""
    try:
        return speed_ranges(group, operation, tool), ""
    except OutOfRange as refused:
        return (), str(refused)


@given(st.sampled_from(list(GROUPS)), st.sampled_from(OPERATIONS), st.sampled_from(TOOLS))
def test_ranges_are_ranges_with_a_source(group: str, operation: str, tool: str) -> None:
    """Every answer has low up to high, a source and lies within the envelope, or is a refusal that names the group."""
    rows, refusal = rows_or_refusal(group, operation, tool)
    assert bool(rows) != (group in refusal)
    for row in rows:
        assert 0 < row.low <= row.high
        assert row.source
        assert envelope(rows).holds(row.low)
        assert envelope(rows).holds(row.high)
