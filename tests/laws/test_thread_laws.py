"""What must hold for every thread: order of limits, clearance of nut and screw, formulas behind the tables.

The formulas of the tolerances are those of ISO 965-1 (its clause on the basis of the tolerances). They are rounded to
the R40 series of preferred numbers (ISO 3); where the standard smoothed its progression, the exceptions are listed.
"""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.errors import LoopwrightError, OutOfRange
from loopwright.handbook.drilled_holes import clearance_hole, tap_drill
from loopwright.handbook.fasteners_position import (
    fixed_hole,
    fixed_tolerances,
    floating_hole,
    floating_tolerance,
)
from loopwright.handbook.threads import Thread, ThreadLimits, designation, limits, profile, standard_threads
from loopwright.handbook.threads_tables import BY_DIAMETER, BY_PITCH, DIAMETER_STEPS, METRIC_SIZES
from loopwright.handbook.threads_wires import (
    best_wire,
    over_wires,
    pitch_diameter_from_wires,
    reading_limits,
    wire_range,
)

THREADS = standard_threads()
METRIC = [t for t in THREADS if t.form == "M"]
UNIFIED = [t for t in THREADS if t.form == "UN"]
ANY_THREAD = st.sampled_from(THREADS)
METRIC_SCREWS = [f"{grade}{letter}" for grade in (4, 6, 8) for letter in "efgh"] + ["5g6g", "3h4h", "7e6e"]
METRIC_NUTS = [f"{grade}{letter}" for grade in range(4, 9) for letter in "GH"] + ["5H6H"]

_HUNDRED = (
    "100 106 112 118 125 132 140 150 160 170 180 190 200 212 224 236 250 265 280 300 315 335 355 375 400 425 450 475 "
    "500 530 560 600 630 670 710 750 800 850 900 950"
)
R40 = sorted(
    {
        float(round(float(n) * scale))
        for n in _HUNDRED.split()
        for scale in (0.1, 1, 10)
        if float(n) * scale > 16
    }
)


def nearest_in_r40(value: float) -> float:
    """The preferred number nearest to a value, µm."""
    return min(R40, key=lambda n: abs(n - value))


def possible(one: Thread, classes: list[str]) -> list[ThreadLimits]:
    """Limits of every class that the standard has for a thread."""
    found = []
    for name in classes:
        try:
            found.append(limits(one, name))
        except OutOfRange:
            continue
    return found


def ordered(found: ThreadLimits) -> bool:
    """Least below greatest, and minor below pitch below major."""
    low, high = found.major
    least, greatest = found.pitch_diameter
    root, top = found.minor
    inside = (high is None or low < high) and least < greatest and (root is None or root < top)
    return inside and top < least and greatest < low


@pytest.mark.parametrize("one", METRIC, ids=lambda t: t.name)
def test_metric_limits_are_ordered(one: Thread) -> None:
    """Of every class that exists, limits lie in order; and some class exists for screw and nut."""
    screws, nuts = possible(one, METRIC_SCREWS), possible(one, METRIC_NUTS)
    assert screws
    assert nuts
    assert [f"{found.tolerance_class}" for found in screws + nuts if not ordered(found)] == []


@pytest.mark.parametrize("one", UNIFIED, ids=lambda t: t.name)
def test_unified_limits_are_ordered(one: Thread) -> None:
    """Limits of classes 1A to 3B lie in order."""
    found = possible(one, ["1A", "2A", "3A", "1B", "2B", "3B"])
    assert len(found) in (4, 6)
    assert [row.tolerance_class for row in found if not ordered(row)] == []


@pytest.mark.parametrize("one", THREADS, ids=lambda t: t.name)
def test_no_screw_interferes_with_a_nut(one: Thread) -> None:
    """The largest screw of e to h, or A, goes into the smallest nut of G or H, or B, at all three diameters."""
    classes = (METRIC_SCREWS, METRIC_NUTS) if one.form == "M" else (["2A", "3A"], ["2B", "3B"])
    screws, nuts = (possible(one, names) for names in classes)
    slack = 1e-9 if one.form == "M" else 0.0005 * 25.4  # the nut's minor diameter is rounded to 0.001 in
    for screw in screws:
        for nut in nuts:
            assert screw.major[1] is not None
            assert nut.minor[0] is not None
            assert screw.major[1] <= nut.major[0] + 1e-9
            assert screw.pitch_diameter[1] <= nut.pitch_diameter[0] + 1e-9
            assert screw.minor[1] <= nut.minor[0] + slack


@pytest.mark.parametrize("one", METRIC, ids=lambda t: t.name)
def test_a_coarser_grade_is_wider(one: Thread) -> None:
    """The pitch diameter of 4h, 6h, 8h and of 4H to 8H widens with the grade."""
    for names in (["4h", "6h", "8h"], [f"{grade}H" for grade in range(4, 9)]):
        widths = [high - low for low, high in (found.pitch_diameter for found in possible(one, names))]
        assert widths == sorted(set(widths))


@pytest.mark.parametrize("one", METRIC, ids=lambda t: t.name)
def test_a_position_shifts_without_widening(one: Thread) -> None:
    """6e, 6f, 6g and 6h have one tolerance, and lie below one another."""
    found = {row.tolerance_class: row.pitch_diameter for row in possible(one, ["6e", "6f", "6g", "6h"])}
    widths = [high - low for low, high in found.values()]
    assert widths == pytest.approx([widths[0]] * len(widths), abs=1e-9)
    assert [high for _, high in found.values()] == sorted(high for _, high in found.values())


@pytest.mark.parametrize("one", UNIFIED, ids=lambda t: t.name)
def test_unified_classes_nest(one: Thread) -> None:
    """Class 3A and 3B are closer than 2A and 2B, and 3B lies inside 2B."""
    close, medium = limits(one, "3B"), limits(one, "2B")
    assert close.pitch_diameter[0] == medium.pitch_diameter[0]
    assert close.pitch_diameter[1] < medium.pitch_diameter[1]
    widths = [high - low for low, high in (limits(one, name).pitch_diameter for name in ("3A", "2A"))]
    assert widths[0] < widths[1]


# formulas behind the tables of ISO 965-1

SMOOTHED = {
    "Td": {4.0: (475, 450)},
    "TD1": {0.5: (140, 132), 1.0: (236, 224), 2.5: (450, 425)},
    "Td2": {(5.6, 0.5): (75, 80), (90.0, 5.0): (250, 265)},
}
"""Printed and formula value, µm, where ISO 965-1 departs from its own formula rounded to R40."""


def departing(
    printed: dict[object, float], formula: Callable[[object], float]
) -> dict[object, tuple[float, float]]:
    """Rows where the rounded formula is not what is printed."""
    computed = {key: nearest_in_r40(formula(key)) for key in printed}
    return {key: (printed[key], computed[key]) for key in printed if printed[key] != computed[key]}


def test_major_diameter_tolerance_is_its_formula() -> None:
    """Td(6) = 180 P^2/3 - 3.15/√P, rounded to R40, but for P 4 and the pitches below 0.35 mm."""
    printed = {pitch: row.major[6] for pitch, row in BY_PITCH.items() if pitch >= 0.35}
    assert departing(printed, lambda p: 180 * p ** (2 / 3) - 3.15 / math.sqrt(p)) == SMOOTHED["Td"]


def test_minor_diameter_tolerance_is_its_formula() -> None:
    """TD1(6) = 433 P - 190 P^1.22 up to 0.8 mm, 230 P^0.7 above, rounded to R40, but for P 0.5, 1 and 2.5."""
    printed = {pitch: row.minor[6] for pitch, row in BY_PITCH.items() if 6 in row.minor}
    found = departing(printed, lambda p: 433 * p - 190 * p**1.22 if p <= 0.8 else 230 * p**0.7)
    assert found == SMOOTHED["TD1"]


def test_pitch_diameter_tolerance_is_its_formula() -> None:
    """Td2(6) = 90 P^0.4 d^0.1 with d the geometric mean of its step, rounded to R40, but for P 0.5 and P 5."""
    begins = dict(zip(DIAMETER_STEPS, (1.4, *DIAMETER_STEPS)))
    printed = {key: row.external[6] for key, row in BY_DIAMETER.items()}
    found = departing(printed, lambda key: 90 * key[1] ** 0.4 * math.sqrt(begins[key[0]] * key[0]) ** 0.1)
    assert found == SMOOTHED["Td2"]


def test_grades_are_steps_of_the_preferred_numbers() -> None:
    """From grade to grade is four steps of R40, eight in Td; TD2 lies five above Td2."""
    place = {n: k for k, n in enumerate(R40)}
    for row in BY_DIAMETER.values():
        middle = place[row.external[6]]
        assert {g: place[t] - middle for g, t in row.external.items()} == {
            g: 4 * (g - 6) for g in row.external
        }
        assert {g: place[t] - middle for g, t in row.internal.items()} == {
            g: 4 * (g - 6) + 5 for g in row.internal
        }
    for pitch in BY_PITCH.values():
        for table in (pitch.major, pitch.minor):
            first = min(table)
            steps = {g: place[t] - place[table[first]] for g, t in table.items()}
            assert all(abs(step - 4 * (g - first)) <= 1 for g, step in steps.items()), steps


@pytest.mark.parametrize(("letter", "base", "allowed"), [("e", 50, 5.6), ("f", 30, 2.0), ("g", 15, 3.1)])
def test_deviations_lie_near_their_formula(letter: str, base: float, allowed: float) -> None:
    """Deviations e, f, g stay within 5.6, 2.0 and 3.1 µm of 50, 30 and 15 + 11 P; G mirrors g."""
    rows = {pitch: row.shift for pitch, row in BY_PITCH.items() if letter in row.shift}
    assert max(abs(row[letter] + base + 11 * pitch) for pitch, row in rows.items()) <= allowed
    assert all(row["G"] == -row["g"] for row in (row.shift for row in BY_PITCH.values()))


def test_every_size_of_iso_261_has_its_tolerances() -> None:
    """Each diameter and pitch finds its rows, and coarse pitches never fall with diameter."""
    steps = {d: next(end for end in DIAMETER_STEPS if d <= end) for d in METRIC_SIZES}
    pairs = {(steps[d], pitch) for d, size in METRIC_SIZES.items() for pitch in size.pitches}
    assert pairs <= set(BY_DIAMETER)
    coarse = [size.coarse for size in METRIC_SIZES.values() if size.coarse is not None]
    assert coarse == sorted(coarse)
    assert all(
        list(size.pitches) == sorted(set(size.pitches), reverse=True) for size in METRIC_SIZES.values()
    )


# holes


def nut_class(one: Thread) -> str:
    """The coarsest common class that ISO 965-1 has for a nut: 6H, or less below 0.35 mm of pitch."""
    return "internal" if one.form == "UN" or one.pitch_mm >= 0.35 else "5H" if one.pitch_mm == 0.25 else "4H"


@pytest.mark.parametrize("one", THREADS, ids=lambda t: t.name)
def test_tap_drills_lie_within_the_minor_diameter(one: Thread) -> None:
    """The drill lies within the nut's minor diameter and leaves 62 to 85 % of thread, or we say bore or ream."""
    found = tap_drill(one, tolerance_class=nut_class(one))
    assert found.is_inside == (found.caution == "")
    assert found.is_inside or "bore or ream" in found.caution
    if found.is_inside:
        assert 62 < found.percent < 85
    assert one.form == "UN" or found.is_inside or one.pitch_mm < 0.35


@given(ANY_THREAD, st.floats(1, 100), st.floats(1, 100))
def test_more_thread_takes_a_smaller_drill(one: Thread, some: float, more: float) -> None:
    """The drill never grows with the percentage."""
    low, high = sorted((some, more))
    name = nut_class(one)
    smaller = tap_drill(one, percent=high, tolerance_class=name).drill.diameter_mm
    assert smaller <= tap_drill(one, percent=low, tolerance_class=name).drill.diameter_mm


@pytest.mark.parametrize("one", THREADS, ids=lambda t: t.name)
def test_screws_pass_their_clearance_holes(one: Thread) -> None:
    """Fine is smaller than medium, medium than coarse, and all are larger than the screw."""
    try:
        holes = [clearance_hole(one, fit).diameter[0] for fit in ("fine", "medium", "coarse")]
    except OutOfRange:
        return
    assert one.diameter_mm < holes[0] < holes[1] < holes[2]


# wires


@given(ANY_THREAD, st.floats(0, 1), st.floats(-0.02, 0.0), st.booleans())
def test_wires_read_back_the_pitch_diameter(one: Thread, place: float, off: float, helix: bool) -> None:
    """From pitch diameter to reading and back is the same size, whatever the wire."""
    low, high = wire_range(one)
    wire = min(max(low + place * (high - low), low), high)
    size = profile(one).pitch_diameter * (1 + off)
    reading = over_wires(one, size, wire, helix=helix)
    assert pitch_diameter_from_wires(one, reading, wire, helix=helix) == pytest.approx(size, abs=1e-12)


@pytest.mark.parametrize("one", THREADS, ids=lambda t: t.name)
def test_best_wires_stand_proud_of_the_screw(one: Thread) -> None:
    """Over the best wire the reading lies above the crests, and the helix adds less than 3.6 µm."""
    size = profile(one).pitch_diameter
    plain = over_wires(one, size, helix=False)
    assert plain > one.diameter_mm
    assert 0 < over_wires(one, size) - plain < 0.0036
    assert plain == pytest.approx(size + 1.5 * best_wire(one))


@pytest.mark.parametrize("one", THREADS, ids=lambda t: t.name)
def test_reading_limits_are_as_wide_as_the_tolerance(one: Thread) -> None:
    """The window over wires is the tolerance of the pitch diameter."""
    found = limits(one, "external")
    low, high = reading_limits(found)
    assert high - low == pytest.approx(found.pitch_diameter[1] - found.pitch_diameter[0])


# position


@given(st.floats(0.5, 100), st.floats(1e-3, 5), st.floats(0, 1), st.floats(0, 3))
def test_position_formulas_are_inverse(screw: float, room: float, share: float, lean: float) -> None:
    """Hole from tolerance and tolerance from hole agree, floating and fixed, with and without a projected zone."""
    hole = floating_hole(screw, room)
    assert floating_tolerance(hole, screw) == pytest.approx(room, abs=1e-9)
    clear, tapped = fixed_tolerances(hole, screw, share_of_tapped=share, lean=lean)
    assert fixed_hole(screw, clear, tapped, lean=lean) == pytest.approx(hole)
    assert clear + tapped <= room + 1e-9


# designations


@given(st.text(alphabet='mM0123456789x×.,-/# "½UNCFEHgab', max_size=14))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text breaks the reader: it names a thread, or raises an error of ours."""
    try:
        found = designation(text)
    except LoopwrightError:
        return
    assert found.thread in THREADS
