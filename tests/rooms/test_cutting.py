"""Cutting in the handbook: closed forms worked out apart from it, and what it refuses.

The closed forms are derived, not published; each was computed by hand or by brute force here.
"""

from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook import (
    boring,
    chip_thickness,
    cutting_force,
    cutting_geometry,
    drilling,
    grinding,
    reaming,
    roughness,
    tapping,
    thread_milling,
    tool_deflection,
)
from loopwright.handbook.cautions import CAUTIONS
from loopwright.handbook.cutting_force import SpecificForce, end_mill_force, kienzle
from loopwright.handbook.threads_form import infeed_passes

# chips


def test_mean_chip_is_the_mean_over_the_arc() -> None:
    """D 10, ae 1, fz 0.05: 0.01554 mm, and the same by averaging 100 000 angles."""
    arc = chip_thickness.side_engagement(1, 10)
    angles = (np.arange(100_000) + 0.5) / 100_000 * arc.angle
    assert chip_thickness.mean_chip(0.05, arc) == pytest.approx(0.01554, abs=5e-6)
    assert chip_thickness.mean_chip(0.05, arc) == pytest.approx(0.05 * np.sin(angles).mean(), rel=1e-8)


def test_a_slot_and_a_face_in_the_middle() -> None:
    """A slot has a mean chip of 2/π of the feed; a face mill in the middle of its full width too."""
    slot = chip_thickness.mean_chip(0.1, chip_thickness.side_engagement(10, 10))
    face = chip_thickness.mean_chip(0.1, chip_thickness.face_engagement(80, 80))
    assert slot == pytest.approx(0.1 * 2 / pi)
    assert face == pytest.approx(slot)


def test_a_face_mill_off_the_middle() -> None:
    """Set over until the edge meets the side, a face mill engages as a side mill does."""
    side = chip_thickness.side_engagement(30, 100)
    assert chip_thickness.face_engagement(30, 100, offset=35) == pytest.approx(side, abs=1e-7)
    with pytest.raises(OutOfRange, match="does not reach across 30 mm"):
        chip_thickness.face_engagement(30, 100, offset=36)


def test_greatest_chip_of_a_narrow_cut() -> None:
    """D 10, ae 1: sin(arccos 0.8) is 0.6 of the feed."""
    assert chip_thickness.peak_chip(0.05, chip_thickness.side_engagement(1, 10)) == pytest.approx(0.03)


def test_when_an_edge_rubs() -> None:
    """Below 0.2 of the edge radius it rubs, above 0.4 it cuts, between it is doubtful."""
    said = [chip_thickness.chip_verdict(chip, 0.02) for chip in (0.003, 0.006, 0.01)]
    assert said == ["rubs", "doubtful", "cuts"]
    assert all(r.low < r.high for r in chip_thickness.EDGE_RADII.values())


# forces


@pytest.mark.parametrize(
    ("kc11", "mc", "printed"),
    [
        (1350, 0.21, 2189),
        (2150, 0.20, 3408),
        (800, 0.25, 1423),
        (700, 0.27, 1303),
        (1350, 0.28, 2572),
        (1675, 0.24, 2911),
    ],
)
def test_law_of_kienzle_at_a_tenth(kc11: float, mc: float, printed: float) -> None:
    """Specific force at h = 0.1 mm."""
    assert SpecificForce(kc11, mc, "").at(0.1) == pytest.approx(printed, rel=0.001)


def test_rake() -> None:
    """Six degrees of rake take 6 % off; a negative rake adds; 40° is beyond the rule."""
    assert cutting_force.rake_factor(radians(6)) == pytest.approx(0.94)
    assert cutting_force.rake_factor(radians(-6)) == pytest.approx(1.06)
    with pytest.raises(OutOfRange, match="outside -20 to 30 °"):
        cutting_force.rake_factor(radians(40))


def test_a_light_boring_cut_pushes_on_the_radius() -> None:
    """At a tenth of the nose radius the radial force exceeds the feed force; deep, it is a quarter of the cut."""
    light = cutting_force.in_plane_forces(100, 0.04, nose_radius=0.4)
    deep = cutting_force.in_plane_forces(100, 4, nose_radius=0.4)
    assert light.radial[0] > light.feed[1]
    assert deep.radial == pytest.approx((25, 30))


def test_end_mill_agrees_with_power() -> None:
    """Mean force times speed is the power from the mean chip, which is a little high: two ways to one number."""
    law, speed = kienzle(1), 100.0
    force = end_mill_force(law, diameter=10, teeth=4, width=1, depth=10, feed_per_tooth=0.05)
    feed = cutting_geometry.feed_speed(cutting_geometry.rpm(speed, 10), 0.05, 4)
    kc = law.at(chip_thickness.mean_chip(0.05, chip_thickness.side_engagement(1, 10)))
    power = cutting_force.milling_power(10, 1, feed, kc)
    assert 0.95 * power < cutting_force.cutting_power(force.mean, speed) < power
    torque = cutting_force.spindle_torque(power, cutting_geometry.rpm(speed, 10))
    assert 0.95 * torque < force.mean * 5 / 1000 < torque


def test_end_mill_with_one_tooth_in_closed_form() -> None:
    """One straight tooth in a slot, mc = 0: peak kc ap fz, mean over a turn that over π."""
    law = SpecificForce(2000, 0.0, "")
    force = end_mill_force(law, diameter=10, teeth=1, width=10, depth=2, feed_per_tooth=0.1, radial_ratio=0)
    assert force.peak == pytest.approx(2000 * 2 * 0.1, rel=1e-6)
    assert force.mean == pytest.approx(2000 * 2 * 0.1 / pi, rel=1e-6)
    assert (force.teeth, force.most_teeth) == (0.5, 1)


def test_climb_pushes_away_and_conventional_pulls_in() -> None:
    """In a shallow side cut with little radial force climb milling leaves stock, conventional undercuts."""

    def away(climb: bool) -> tuple[float, float]:
        return end_mill_force(
            kienzle(22),
            diameter=10,
            teeth=2,
            width=1,
            depth=10,
            feed_per_tooth=0.05,
            climb=climb,
            radial_ratio=0.0,
        ).away

    assert away(True)[0] == 0 < away(True)[1]
    assert away(False)[0] < 0 == away(False)[1]
    assert away(False)[0] == pytest.approx(-away(True)[1])


def test_a_helix_smooths_the_peak() -> None:
    """With a helix of 30° the same cut has the same mean and a lower peak."""
    cut = {"diameter": 10, "teeth": 4, "width": 1, "depth": 15, "feed_per_tooth": 0.05}
    straight, helical = (end_mill_force(kienzle(1), helix=h, **cut) for h in (0.0, radians(30)))
    assert helical.mean == pytest.approx(straight.mean)
    assert helical.peak < straight.peak


def test_drill_torque() -> None:
    """Ø10, f 0.3, group 3: h = 0.15 sin 59°, kc 2740, 10.3 N·m; a pilot of half the diameter takes a quarter off."""
    law = kienzle(3)
    whole, piloted = (drilling.drill_load(law, 10, 0.3, pilot=p) for p in (0, 5))
    assert law.at(0.15 * sin(radians(59))) == pytest.approx(2740, abs=1)
    assert whole.torque == pytest.approx(10.3, abs=0.05)
    assert piloted.torque == pytest.approx(0.75 * whole.torque)
    assert piloted.thrust[0] == piloted.thrust[1] == pytest.approx(whole.thrust[0] / 2)


def test_two_rules_for_the_drill_are_of_one_size() -> None:
    """Kienzle and the constant of the material agree on torque within a factor of 1.6."""
    for group, constant in [(1, 1.42), (15, 1.39), (22, 1.01)]:
        kienzle_torque = drilling.drill_load(kienzle(group), 10, 0.2).torque
        other = drilling.drill_load_by_constant(10, 0.2, constant).torque
        assert 1 / 1.6 < kienzle_torque / other < 1.6


def test_two_rules_for_the_tap_are_of_one_size() -> None:
    """M8 and M10 in steel: both makers' torques within a factor of two."""
    for diameter, pitch, hole in [(8, 1.25, 6.8), (10, 1.5, 8.5)]:
        one = tapping.tapping_torque(diameter, pitch, 2500).torque
        other = tapping.tapping_torque_by_area(diameter, hole, 3700).torque
        assert 0.5 < one / other < 2


# deflection


def test_end_mill_deflection_in_carbide() -> None:
    """100 N, 30 mm, 600 GPa, d 10: 3.06 µm as a plain bar, 7.46 µm with 0.8 d."""
    plain = tool_deflection.bar_deflection(100, 30, 10, 600e3)
    mill = tool_deflection.end_mill_deflection(100, 30, 10, 600e3)
    assert plain.displacement * 1000 == pytest.approx(3.06, abs=0.005)
    assert mill.displacement * 1000 == pytest.approx(7.46, abs=0.005)


def test_a_stepped_shank_by_integration() -> None:
    """20 mm of flutes of 6 mm on 15 mm of shank of 8 mm: the same by integrating the bending moment."""
    force, flute, shank, modulus = 50.0, 20.0, 15.0, 600e3
    found = tool_deflection.end_mill_deflection(
        force, flute, 6, modulus, shank_length=shank, shank_diameter=8
    )
    x = (np.arange(700_000) + 0.5) * 35 / 700_000
    inertia = np.where(x < flute, pi * 4.8**4 / 64, pi * 8.0**4 / 64)
    curvature = force * x / (modulus * inertia)
    assert found.displacement == pytest.approx(float((curvature * x).mean() * 35), rel=1e-6)
    assert found.slope == pytest.approx(float(curvature.mean() * 35), rel=1e-6)


def test_a_step_of_the_same_stiffness_is_no_step() -> None:
    """Flutes as stiff as the shank: one bar of the whole length."""
    stepped = tool_deflection.end_mill_deflection(10, 20, 8, 600e3, shank_length=10, fluted=1)
    assert stepped == pytest.approx(tool_deflection.bar_deflection(10, 30, 8, 600e3))


def test_bore_after_deflection() -> None:
    """10 µm away from the wall cost 20 µm of bore; 30 µm along it add 0.07 µm to a bore of 25 mm."""
    assert boring.bore_with_deflection(25, 0.010) == pytest.approx(24.980)
    assert boring.bore_with_deflection(25, 0, 0.030) - 25 == pytest.approx(0.00007, abs=5e-6)


def test_an_eccentric_hole_is_copied_smaller() -> None:
    """A cut of 100 N/mm on a bar of 900 N/mm leaves a tenth of the error, and a hundredth after two."""
    assert boring.error_left(100, 900) == pytest.approx(0.1)
    assert boring.error_left(100, 900, 2) == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("ratio", "bar", "verdict"),
    [(3, "steel", "good"), (4, "Steel", "light cuts"), (5, "steel", "too long"), (6, "carbide", "good")],
)
def test_overhang(ratio: float, bar: str, verdict: str) -> None:
    """Reach over diameter by kind of bar."""
    found = boring.overhang_verdict(ratio * 12, 12, bar)
    assert found.verdict == verdict
    assert "damped carbide" in found.would_do


# geometry


def test_circular_feed() -> None:
    """D 30, d 20: the centre feeds at a third inside a hole, at 1.667 around a boss."""
    assert cutting_geometry.centre_feed_inside(1, 30, 20) == pytest.approx(1 / 3)
    assert cutting_geometry.centre_feed_outside(1, 30, 20) == pytest.approx(5 / 3)


def test_helical_entry() -> None:
    """D 30, d 20, 3°: pitch π 10 tan 3°; time is the way of the wall over its feed, and one flat turn."""
    found = cutting_geometry.helical_entry(30, 20, 10, ramp_angle=radians(3), feed_speed_mm_min=300)
    pitch = pi * 10 * tan(radians(3))
    assert found.pitch == pytest.approx(pitch)
    assert found.minutes == pytest.approx((10 / pitch * sqrt((pi * 30) ** 2 + pitch**2) + pi * 30) / 300)
    assert found.turns == pytest.approx(10 / pitch + 1)
    assert cutting_geometry.ramp_angle(30, 20, pitch) == pytest.approx(radians(3))


def test_approach_of_a_mill() -> None:
    """A side mill of 10 mm at 5 mm comes 5 mm before full width; a face mill of 100 on 80 mm comes 20 mm."""
    assert cutting_geometry.mill_approach(5, 10) == pytest.approx(5)
    assert cutting_geometry.mill_approach(80, 100, centred=True) == pytest.approx(20)
    assert cutting_geometry.minutes(100, 100, approach=20, overrun=30) == pytest.approx(1.5)


def test_holes_of_a_cutter() -> None:
    """A dead centre and a large corner leave no hole that can be opened in the solid."""
    with pytest.raises(OutOfRange, match="opens no hole in the solid; drill first"):
        cutting_geometry.helical_holes(20, corner_radius=4, dead_centre=15)


@pytest.mark.parametrize(("feed", "radius", "exact", "parabola"), [(0.2, 0.8, 6.275, 6.250)])
def test_height_of_ridges(feed: float, radius: float, exact: float, parabola: float) -> None:
    """Exact circle and parabola, µm."""
    assert roughness.height(feed, radius) * 1000 == pytest.approx(exact, abs=0.0005)
    assert roughness.height(feed, radius, "parabola") * 1000 == pytest.approx(parabola, abs=0.0005)


def test_mean_roughness_by_three_rules() -> None:
    """F 0.2, r 0.8: 1.604 (mean of the parabola), 1.5625 (a quarter of Rt) and, by brute force, the exact arc."""
    assert roughness.mean_roughness(0.2, 0.8) * 1000 == pytest.approx(1.604, abs=0.0005)
    assert roughness.mean_roughness(0.2, 0.8, "quarter") * 1000 == pytest.approx(1.5625, abs=0.00005)
    x = (np.arange(200_000) + 0.5) / 200_000 * 0.1
    profile = 0.8 - np.sqrt(0.8**2 - x**2)
    exact = np.abs(profile - profile.mean()).mean()
    assert roughness.mean_roughness(0.2, 0.8, "circle") == pytest.approx(exact, rel=1e-5)


def test_feed_and_roughness_turn_round() -> None:
    """The feed for an Ra gives that Ra."""
    for rule in ("arc", "quarter"):
        feed = roughness.feed_for_roughness(0.0008, 0.4, rule)
        assert roughness.mean_roughness(feed, 0.4, rule) == pytest.approx(0.0008)


def test_marks_of_a_side_mill() -> None:
    """Fz 0.1 on 10 mm leaves 0.25 µm; one tooth of four making the wall leaves sixteen times that."""
    every = roughness.side_milling_height(0.1, 10, 4)
    one = roughness.side_milling_height(0.1, 10, 4, one_tooth=True)
    assert every * 1000 == pytest.approx(0.25, rel=0.03)
    assert one == pytest.approx(16 * every)
    assert roughness.side_milling_height(0.1, 10, 4, climb=False) < every


def test_a_sharp_edge_leaves_a_triangle() -> None:
    """45° and 15° at 0.2 mm: f over the sum of cotangents."""
    assert roughness.height_of_sharp_edge(0.2, pi / 4, radians(15)) == pytest.approx(
        0.2 / (1 + 1 / tan(radians(15)))
    )


def test_dish_of_a_leaning_spindle() -> None:
    """80 mm fly cutter, 50 mm wide, 0.1 mm/m: by following one point of the tilted circle across the width."""
    tilt, radius = 1e-4, 40.0
    y = np.linspace(-25, 25, 1001)
    z = np.sqrt(radius**2 - y**2) * sin(tilt)
    assert roughness.dish_by_tilt(80, 50, tilt) == pytest.approx(float(z.max() - z.min()), rel=1e-9)
    assert roughness.step_by_tilt(30, tilt) == pytest.approx(0.003, rel=1e-6)
    assert roughness.flat_edge_height(0.2, 0.001) == pytest.approx(0.0002 * cos(0.001), rel=1e-5)


# threads


def test_path_of_a_thread_mill() -> None:
    """M10 × 1.5, full-form cutter of 6 mm: half of 10 - 6, as the tip flat P/8 cuts the basic major diameter."""
    path = thread_milling.thread_path(10 - 0.75 * sqrt(3) / 2 * 1.5, 1.5, 6, 300)
    assert path.radius == pytest.approx(2.0, abs=1e-9)
    assert path.centre_feed == pytest.approx(300 * 4 / 10)
    assert path.lead == 1.5


def test_a_sharper_tip_must_go_deeper() -> None:
    """A tip flat smaller by w reaches the same pitch diameter w/(2 tan 30°) deeper."""
    full = thread_milling.thread_path(9.026, 1.5, 6, 300).radius
    sharp = thread_milling.thread_path(9.026, 1.5, 6, 300, tip_flat=1.5 / 8 - 0.05).radius
    assert sharp - full == pytest.approx(0.05 / (2 * tan(radians(30))))


def test_an_outside_thread() -> None:
    """M10 × 1.5 outside: centre at half the sum of both pitch diameters, feed faster than the wall."""
    path = thread_milling.thread_path(9.026, 1.5, 12, 300, internal=False)
    own = 12 - 2 * 3 / 8 * sqrt(3) / 2 * 1.5
    assert path.radius == pytest.approx((9.026 + own) / 2)
    assert path.centre_feed > 300
    assert "top to bottom" in path.advice


def test_a_gauged_thread_is_corrected_by_half() -> None:
    """26 µm too small: 13 µm outward."""
    assert thread_milling.gauge_correction(9.000, 9.026) == pytest.approx(0.013)


def test_passes_by_deflection() -> None:
    """20 µm at once against 6 µm allowed: four passes; more than twenty are refused."""
    assert thread_milling.passes_for_deflection(0.020, 0.006) == 4
    assert thread_milling.passes_for_deflection(0.004, 0.006) == 1
    with pytest.raises(OutOfRange, match="shorter or thicker cutter"):
        thread_milling.passes_for_deflection(0.2, 0.002)


def test_printed_passes_fall_like_equal_areas() -> None:
    """The printed first pass is less than equal areas would take, and every pass is less than the one before."""
    for passes in thread_milling.PASSES.values():
        assert list(passes) == sorted(passes, reverse=True)
        assert passes[0] < infeed_passes(sum(passes), len(passes))[0] * 1.05


# holes


def test_pecks_end_at_the_depth() -> None:
    """A hole of 7.3 diameters: 2, 3, 4, 5, 6, 6.5, 7 and the depth."""
    assert drilling.depth_advice(73, 10).pecks == (20, 30, 40, 50, 60, 65, 70, 73)
    assert drilling.depth_advice(30, 10).pecks == (30,)


def test_a_hole_too_deep_for_a_twist_drill() -> None:
    """Beyond ten diameters the rules end."""
    with pytest.raises(OutOfRange, match="gun drill"):
        drilling.depth_advice(101, 10)


def test_drilling_time_counts_the_point() -> None:
    """The cone of 118° is 0.3 of the diameter and is drilled too."""
    assert drilling.point_length(10) == pytest.approx(3.004, abs=0.0005)
    through = drilling.drilling_minutes(30, 1000, 0.1, point=drilling.point_length(10), approach=2)
    assert through == pytest.approx((30 + 3.0043 + 2) / 100, abs=1e-5)


def test_reaming_stock_has_several_sources() -> None:
    """Each source stands for itself."""
    rows = reaming.reaming_stock(10)
    assert len({row.source for row in rows}) == 3
    assert all(0 < row.low <= row.high < 0.5 for row in rows)


# grinding


def test_minutes_on_a_flat_surface() -> None:
    """200 by 100 mm, 50 µm at 12.5 µm, 5 mm a stroke at 15 m/min: 4 + 3 passes of 24 strokes of 250 mm."""
    found = grinding.surface_minutes(200, 100, infeed=0.0125, table_speed=15, crossfeed=5, wheel_width=20)
    assert (found.passes, found.spark_out) == (4, 3)
    assert found.minutes == pytest.approx(7 * 24 * 0.25 / 15)
    slow = grinding.surface_minutes(
        200, 100, infeed=0.0125, table_speed=15, crossfeed=5, wheel_width=20, both_ways=False
    )
    assert slow.minutes == pytest.approx(2 * found.minutes)


def test_minutes_on_a_cylinder() -> None:
    """Ø50 by 60, 50 µm on diameter at 5 µm a pass: 5 + 3 passes of (60 + 13.3)/5 turns at 15 m/min."""
    found = grinding.cylinder_minutes(60, 50, infeed=0.005, work_speed=15, traverse=5, wheel_width=20)
    assert found.passes == 5
    assert found.minutes == pytest.approx(8 * (60 + 40 / 3) / 5 * pi * 50 / 15_000)


def test_equivalent_chip() -> None:
    """12.5 µm at 15 m/min under 30 m/s: 0.104 µm, and 3.125 mm³ a second for each mm of wheel."""
    assert grinding.equivalent_chip(0.0125, 15, 30) * 1000 == pytest.approx(0.10417, abs=5e-6)
    assert grinding.removal_rate(0.0125, 15) == pytest.approx(3.125)


@pytest.mark.parametrize(
    ("rated_speed", "rated_rpm", "said"),
    [(35, None, "3342 rpm"), (None, 3000, "3000 rpm"), (50, 3000, "3000 rpm"), (35, 5000, "3342 rpm")],
)
def test_a_wheel_above_its_rating_is_refused(
    rated_speed: float | None, rated_rpm: float | None, said: str
) -> None:
    """The lower of both ratings counts, and the message names it."""
    with pytest.raises(OutOfRange, match=said):
        grinding.checked_wheel_speed(200, 3400, rated_speed=rated_speed, rated_rpm=rated_rpm)


def test_a_wheel_without_rating_is_refused() -> None:
    """No rating, no speed."""
    with pytest.raises(OutOfRange, match="without a known rating"):
        grinding.checked_wheel_speed(200, 1000)


def test_a_worn_wheel_keeps_the_marked_rpm() -> None:
    """A wheel worn to half its size may not exceed the rpm marked on it, whatever its surface speed."""
    assert grinding.checked_wheel_speed(100, 2850, rated_rpm=2850) == pytest.approx(14.9, abs=0.05)
    with pytest.raises(OutOfRange, match="above the rating"):
        grinding.checked_wheel_speed(100, 5700, rated_speed=35, rated_rpm=2850)


def test_grinding_hazard_has_cautions() -> None:
    """The hazard that grinding names has texts to print."""
    assert CAUTIONS[grinding.HAZARD].texts


# numbers that cannot be


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_numbers_that_cannot_be_are_refused(bad: float) -> None:
    """Zero, less, infinite or not a number is refused with what was given."""
    calls = [
        lambda: cutting_geometry.rpm(bad, 10),
        lambda: cutting_geometry.cutting_speed(1000, bad),
        lambda: chip_thickness.mean_chip_by_root(bad, 1, 10),
        lambda: kienzle(1).at(bad),
        lambda: drilling.drill_load(kienzle(1), bad, 0.1),
        lambda: tool_deflection.bar_deflection(10, bad, 8, 600e3),
        lambda: roughness.height(bad, 0.4),
        lambda: grinding.wheel_speed(bad, 3000),
        lambda: tapping.tapping_torque(bad, 1, 2500),
        lambda: thread_milling.thread_path(9, bad, 6, 100),
        lambda: reaming.reaming_stock(bad),
        lambda: boring.error_left(100, bad),
    ]
    for call in calls:
        with pytest.raises(OutOfRange):
            call()


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: chip_thickness.side_engagement(12, 10), "up to the diameter"),
        (lambda: cutting_geometry.centre_feed_inside(100, 10, 10), "cannot circle"),
        (lambda: cutting_geometry.rpm(100, 10, "guess"), "use one of exact, times four"),
        (lambda: roughness.height(2, 0.4), "feed at most 0.8 mm"),
        (lambda: roughness.mean_roughness(0.1, 0.4, "rms"), "use one of arc"),
        (lambda: kienzle(29), "29 and 30 are not metals"),
        (lambda: cutting_force.kc_by_feed("turning", "cheese", 0.2), "it has: mild steel"),
        (lambda: cutting_force.kc_by_feed("turning", "mild steel 520 MPa", 0.05), "law of Kienzle"),
        (lambda: drilling.drill_load(kienzle(1), 10, 0.2, pilot=10), "leaves nothing"),
        (lambda: tapping.tapping_torque(6, 20, 2500), "not threads per inch"),
        (lambda: thread_milling.thread_path(9.026, 1.5, 11, 300), "does not go into a thread"),
        (lambda: tool_deflection.tool_modulus("wood"), "use one of HSS"),
        (lambda: boring.overhang_verdict(10, 10, "wood"), "use one of steel"),
        (lambda: grinding.grinding_rows("surface", "cheese"), "there are: plain carbon"),
    ],
)
def test_what_the_handbook_says_when_it_refuses(call, said) -> None:
    """The message names what would do."""
    with pytest.raises(OutOfRange, match=said):
        call()
