"""Threads as machinists write them, what the standards do not list, and holes for screws."""

import math
import pickle

import pytest

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook.drilled_holes import (
    INCH_DRILLS,
    METRIC_DRILLS,
    clearance_hole,
    tap_drill,
    thread_percent,
)
from loopwright.handbook.fasteners_position import (
    fixed_hole,
    fixed_tolerances,
    floating_hole,
    floating_tolerance,
)
from loopwright.handbook.threads import (
    Departure,
    departures,
    designation,
    infeed,
    infeed_passes,
    limits,
    profile,
    standard_threads,
    stress_area,
    thread,
)
from loopwright.handbook.threads_wires import over_wires, pitch_diameter_from_wires, reading_limits

INCH = 25.4


@pytest.mark.parametrize(
    ("text", "name", "classes", "left"),
    [
        ("M6", "M6", (), False),
        (" m 8 X 1 ", "M8×1", (), False),
        ("M8×1-6H", "M8×1", ("6H",), False),
        ("M8x1.25", "M8", (), False),
        ("M10x1,25-5g6g", "M10×1.25", ("5g6g",), False),
        ("M8-1.25", "M8", (), False),
        ("M8-1-6H", "M8×1", ("6H",), False),
        ("M6–6H/6g", "M6", ("6H", "6g"), False),
        ("M20*1.5 LH", "M20×1.5", (), True),
        ("M5-6H-RH", "M5", ("6H",), False),
        ("MF10x1", "M10×1", (), False),
        ("1/4-20", "1/4-20 UNC", (), False),
        ("1/4-20 UNC-2B", "1/4-20 UNC", ("2B",), False),
        ('1/4"-20', "1/4-20 UNC", (), False),
        ("1/4 20unc2b", "1/4-20 UNC", ("2B",), False),
        ("1/4-20 UNC-2A/2B", "1/4-20 UNC", ("2B", "2A"), False),
        (".250-28 UNF 3A LH", "1/4-28 UNF", ("3A",), True),
        ("½-28 UNEF-2A", "1/2-28 UNEF", ("2A",), False),
        ("1½-6", "1 1/2-6 UNC", (), False),
        ("1-1/8-7 NC", "1 1/8-7 UNC", (), False),
        ("#10-32", "#10-32 UNF", (), False),
        ("10-32 UNF 2A", "#10-32 UNF", ("2A",), False),
        ("No. 10 - 24", "#10-24 UNC", (), False),
        (".190-32", "#10-32 UNF", (), False),
        ("2-56", "#2-56 UNC", (), False),
        ("2-4.5", "2-4.5 UNC", (), False),
        ("2-4 1/2", "2-4.5 UNC", (), False),
        ('1"-8', "1-8 UNC", (), False),
        ("1-72", "#1-72 UNF", (), False),
        ("1-12 UNRF", "1-12 UNF", (), False),
    ],
)
def test_threads_are_read_as_machinists_write_them(
    text: str, name: str, classes: tuple[str, ...], left: bool
) -> None:
    """Crosses, dashes, commas, fractions, screw numbers and hands in the forms that a shop uses."""
    found = designation(text)
    assert (found.thread.name, found.classes, found.left_hand) == (name, classes, left)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is not a thread"),
        ("hello", "is not a thread"),
        ("M", "not a metric thread"),
        ("M6 H7", "'H7' is neither"),
        ("M8x", "'x' is no pitch"),
        ("M8x1.25x30", "leave the length of the screw away"),
        ("MF8", "without its pitch"),
        ("1/4", "is not a thread"),
        ("1 1/4", "neither a series"),
        ("1/0-20", "not a fraction"),
        ("#1/4-20", "whole number"),
        ("1/4-20 BSW", "'bsw' is neither"),
        ("1/4-20 UNC-2C", "'2c' is neither"),
        ("1/4-28 UNC", "contradicts itself.*1/4-20 UNC, 1/4-28 UNF"),
    ],
)
def test_what_is_no_designation_is_told_what_one_looks_like(text: str, said: str) -> None:
    """A text that cannot be read says what is wrong with it."""
    with pytest.raises(QuantityError, match=said):
        designation(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("M13", "nearest: M11, M12, M14"),
        ("M1.4", "M1.6 to M64; nearest: M1.6"),
        ("M100", "nearest: M60, M62, M64"),
        ("M8x0.9", r"M8 comes with a pitch of 1.25 \(coarse\), 1 \(fine\), 0.75 \(fine\)"),
        ("M15", "M15 comes with a pitch of 1.5"),
        ("7/32-32", "nearest: #10, #12, 1/4"),
        ("#11-32", "nearest: #8, #10, #12"),
        ("9-32", "nearest: #6, #8, #10"),
        ("1/4-27", "comes as 1/4-20 UNC, 1/4-28 UNF, 1/4-32 UNEF"),
        ("1/4-20 UN", "series UN is not carried"),
    ],
)
def test_unknown_threads_name_their_neighbours(text: str, said: str) -> None:
    """A thread that no standard here lists is refused with the nearest that are."""
    with pytest.raises(OutOfRange, match=said):
        designation(text)


@pytest.mark.parametrize(
    ("name", "tolerance_class", "said"),
    [
        ("M2x0.25", "6H", "no pitch diameter, grade 6 .* it has 4, 5"),
        ("M6", "7h", "no major diameter, grade 7 .* it has 4, 6"),
        ("M3", "6e", ""),
        ("M2", "6e", "no position e"),
        ("M6", "6b", "no position b"),
        ("#10-32", "1A", "use 2 or 3"),
        ("1/2-28", "1B", "use 2 or 3"),
    ],
)
def test_classes_that_the_standards_lack(name: str, tolerance_class: str, said: str) -> None:
    """A position or grade that is not tabulated is refused, and what there is is named."""
    if not said:
        assert limits(name, tolerance_class).major[1] == pytest.approx(2.95)
        return
    with pytest.raises(OutOfRange, match=said):
        limits(name, tolerance_class)


@pytest.mark.parametrize(
    ("name", "tolerance_class", "said"),
    [
        ("M6", "H7", "not a tolerance class of a metric thread"),
        ("M6", "2A", "no position A"),
        ("M6", "6H6g", "mixes"),
        ("1/4-20", "6g", "not a class of a Unified thread"),
        ("M6", None, "names no tolerance class"),
        ("M6-6H/6g", None, "names 6H and 6g"),
    ],
)
def test_what_is_no_class(name: str, tolerance_class: str | None, said: str) -> None:
    """A class of the other system, or none where one is needed, is told what to write."""
    with pytest.raises((QuantityError, OutOfRange), match=said):
        limits(name, tolerance_class)


def test_external_and_internal_are_the_medium_classes() -> None:
    """'external' and 'internal' are 6g and 6H, or 2A and 2B."""
    assert limits("M8", "external") == limits("M8", "6g")
    assert limits("M8-6g", "internal") == limits("M8", "6H")
    assert limits("1/4-20", "external") == limits("1/4-20", "2a")
    assert limits(thread("1/4-20"), "internal") == limits("1/4-20 UNC-2B")


def test_where_a_size_is_listed() -> None:
    """M6 is selected by ISO 262, M8×0.75 only listed by ISO 261, M9 a third choice."""
    listed = [thread(text).listed_in for text in ("M6", "M8x0.75", "M9", "1/4-20")]
    assert listed == ["ISO 262", "ISO 261, first choice", "ISO 261, third choice", "ASME B1.1"]


def test_stress_area_of_a_fine_m30() -> None:
    """M30×1.5 carries on (π/4) (30 - 0.9382 · 1.5)² = 642 mm²."""
    assert stress_area(thread("M30x1.5")) == pytest.approx(642, abs=0.5)


def test_threads_survive_a_worker_process() -> None:
    """Threads, limits and drills can be handed to another process."""
    for found in (
        thread("M6"),
        limits("M6", "6H"),
        tap_drill("M6"),
        clearance_hole("M6"),
        designation("M6-LH"),
    ):
        assert pickle.loads(pickle.dumps(found)) == found


def test_infeed_along_a_compound() -> None:
    """At 29.5° the compound travels the radial depth over its cosine, and one source is named for each form."""
    found = infeed(thread("M10"), external=True, compound_degrees=29.5)
    assert found.along_compound == pytest.approx(found.radial / math.cos(math.radians(29.5)))
    assert "ISO 68-1" in infeed(thread("M10"), external=False).source
    unified = infeed(thread("1/2-13"), external=True)
    assert unified.radial * 13 / INCH == pytest.approx(0.5954, abs=5e-5)
    assert "ASME B1.1" in unified.source


@pytest.mark.parametrize("degrees", [-1.0, 31.0, math.nan])
def test_a_compound_that_cuts_the_far_flank(degrees: float) -> None:
    """A compound turned beyond half the thread angle is refused."""
    with pytest.raises(OutOfRange, match=r"29 to 29\.5"):
        infeed(thread("M10"), external=True, compound_degrees=degrees)


def test_passes_of_equal_area() -> None:
    """Every pass of a threading cycle takes the same area, and the last reaches the depth."""
    depths = infeed_passes(0.767, 6)
    areas = [deep**2 - shallow**2 for shallow, deep in zip((0.0, *depths), depths)]
    assert areas == pytest.approx([0.767**2 / 6] * 6)
    assert depths[-1] == pytest.approx(0.767)
    with pytest.raises(OutOfRange, match="a pass or more"):
        infeed_passes(0.5, 0)


def test_departures_of_a_chart() -> None:
    """A limit that the standard does not set, and one beyond rounding, are told; a right row is silent."""
    nut = limits("M8", "6H")
    assert departures(nut, pitch_diameter=(7.188, 7.348), minor=(6.647, None)) == ()
    said = departures(nut, major=(8.0, 8.3), pitch_diameter=(None, 7.36))
    assert said == (
        Departure("greatest major diameter", 8.3, None),
        Departure("greatest pitch diameter", 7.36, 7.348),
    )


# wires


def test_helix_adds_three_micrometres_on_a_quarter_twenty() -> None:
    """The term of the lead angle is 3/4 w tan²λ: 2.9 µm on ¼-20 over its best wires."""
    screw = thread("1/4-20")
    size = profile(screw).pitch_diameter
    added = over_wires(screw, size) - over_wires(screw, size, helix=False)
    assert added * 1000 == pytest.approx(2.9, abs=0.1)


@pytest.mark.parametrize("wire", [0.5, 1.02, 0.0, -1.0, math.nan])
def test_wires_that_do_not_seat(wire: float) -> None:
    """A wire too thin to stand proud, or too thick to reach the flanks, is refused with the range."""
    with pytest.raises(OutOfRange, match=r"use 0\.505 to 1\.010 mm, best 0\.577 mm"):
        over_wires(thread("M6"), 5.3, wire)


def test_wires_do_not_measure_a_nut() -> None:
    """Limits of a nut are refused."""
    with pytest.raises(OutOfRange, match="is a nut"):
        reading_limits(limits("M6", "6H"))


def test_a_wire_error_counts_three_times() -> None:
    """Wires 1 µm too thick make the screw look 3 µm too large."""
    screw = thread("M10")
    reading = over_wires(screw, 9.0, 0.867, helix=False)
    assert pitch_diameter_from_wires(screw, reading, 0.866, helix=False) - 9.0 == pytest.approx(0.003)


# holes


def test_a_drill_can_be_asked_for_by_percentage_and_system() -> None:
    """60 % in tough steel takes a larger drill; inch drills serve a metric thread."""
    assert tap_drill("M6", percent=60).drill.diameter_mm == 5.1
    assert tap_drill("M6", percent=60).source == "60 % of thread, as asked for"
    assert tap_drill("M6", drills="inch").drill.name == "#9"
    assert tap_drill("1/4-20", drills="metric").drill.name == "5.1 mm"


def test_no_drill_for_a_large_nut_says_bore() -> None:
    """4-4 UNC needs a hole that no drill here makes."""
    found = tap_drill("4-4")
    assert not found.is_inside
    assert found.caution.endswith("94.717 to 95.682 mm: bore or ream to that")


def test_a_drill_of_the_other_system_is_offered() -> None:
    """9/16-18 has no inch drill within 2B, but a metric one."""
    assert "or drill 12.9 mm" in tap_drill("9/16-18").caution


@pytest.mark.parametrize("percent", [0.0, -5.0, 101.0, math.nan])
def test_a_percentage_beyond_a_full_thread(percent: float) -> None:
    """0 and more than 100 % are refused."""
    with pytest.raises(OutOfRange, match="commonly 55 to 80"):
        tap_drill("M6", percent=percent)


def test_a_tapped_hole_needs_a_nut_class() -> None:
    """A screw's class is refused."""
    with pytest.raises(QuantityError, match="a tapped hole is a nut"):
        tap_drill("M6", tolerance_class="6g")


def test_drill_series() -> None:
    """Drills rise, no two alike but for a letter E and 1/4, and the steps are the trade's."""
    assert [drill.diameter_mm for drill in METRIC_DRILLS] == sorted({d.diameter_mm for d in METRIC_DRILLS})
    doubles = len(INCH_DRILLS) - len({round(drill.diameter_mm, 4) for drill in INCH_DRILLS})
    assert doubles == 1
    metric = {drill.name for drill in METRIC_DRILLS}
    assert {"1.25 mm", "2.05 mm", "3.3 mm", "10.2 mm", "17.5 mm", "50.5 mm"} <= metric


@pytest.mark.parametrize(
    ("name", "said"),
    [("M9", "nearest sizes it has are M8 and M10"), ("2-4.5", "B18.2.8 has no clearance hole for 2-4.5 UNC")],
)
def test_sizes_without_a_clearance_hole(name: str, said: str) -> None:
    """A size that ISO 273 or ASME B18.2.8 does not list is refused with its neighbours."""
    with pytest.raises(OutOfRange, match=said):
        clearance_hole(name)


def test_fits_of_clearance_holes() -> None:
    """Close, normal and loose are fine, medium and coarse; another word is refused."""
    assert clearance_hole("M6", "Close") == clearance_hole("M6", "fine")
    assert clearance_hole("M6") == clearance_hole("M6", "normal")
    with pytest.raises(QuantityError, match="fine, medium or coarse"):
        clearance_hole("M6", "H7")


def test_full_thread_is_three_quarters_of_h() -> None:
    """A hole of d - P leaves 77 % of thread, the basic profile of the nut 83 %."""
    for name in ("M8", "1/4-20"):
        one = thread(name)
        assert thread_percent(one, one.diameter_mm - one.pitch_mm) == pytest.approx(76.98, abs=0.01)
        assert thread_percent(one, profile(one).minor) == pytest.approx(250 / 3)


# position


def test_unequal_shares() -> None:
    """The tapped hole may get more of the room, and the sum stays."""
    clear, tapped = fixed_tolerances(6.44, 6.0, share_of_tapped=0.7)
    assert (clear, tapped) == pytest.approx((0.132, 0.308))
    assert fixed_hole(6.0, clear, tapped) == pytest.approx(6.44)


def test_a_medium_hole_with_a_screw_at_its_greatest() -> None:
    """An M6 screw floating in 6.6 mm holes lets each part miss by 0.6 mm; fixed, by 0.3."""
    hole = clearance_hole("M6").diameter[0]
    assert floating_tolerance(hole, 6.0) == pytest.approx(0.6)
    assert fixed_tolerances(hole, 6.0) == pytest.approx((0.3, 0.3))


@pytest.mark.parametrize(
    ("hole", "screw", "said"),
    [
        (6.0, 6.0, "no position tolerance"),
        (5.0, 6.0, "enlarge"),
        (6.4, 0.0, "over 0"),
        (math.nan, 6.0, "enlarge"),
    ],
)
def test_a_hole_must_be_larger_than_its_screw(hole: float, screw: float, said: str) -> None:
    """No room is refused, floating and fixed."""
    with pytest.raises(OutOfRange, match=said):
        floating_tolerance(hole, screw)
    with pytest.raises(OutOfRange, match=said):
        fixed_tolerances(hole, screw)


def test_shares_leans_and_tolerances_have_ranges() -> None:
    """A share beyond 0 to 1, a negative lean and a negative tolerance are refused."""
    with pytest.raises(OutOfRange, match="0 to 1"):
        fixed_tolerances(6.44, 6.0, share_of_tapped=1.2)
    with pytest.raises(OutOfRange, match="0 or more"):
        fixed_tolerances(6.44, 6.0, lean=-0.1)
    with pytest.raises(OutOfRange, match="not a position tolerance"):
        floating_hole(6.0, -0.1)


def test_every_standard_thread_reads_back() -> None:
    """The name that a thread is given is read as that thread."""
    threads = standard_threads()
    assert [thread(one.name) for one in threads] == list(threads)
    assert len({one.name for one in threads}) == len(threads) == 236
