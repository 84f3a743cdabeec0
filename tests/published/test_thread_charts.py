"""Printed thread charts that are wrong, and what the standard gives instead.

RIVCUT: rivcut.com, resources/thread-chart.html: prints basic sizes as greatest sizes of class 2A, with no allowance.
INTERNAL: scribd.com, document 395466526, *Internal thread dimensions for UNC screw thread*, class 2B: cells slipped.
MISUMI: us.misumi-ec.com, *Internal thread dimensions chart*: pitch and minor diameters that belong to no such thread.
Every corrected value follows from ASME B1.1, whose computation test_asme_b1_1.py checks.
"""

import pytest

from loopwright.handbook.threads import departures, limits

INCH = 25.4

# thread, class, diameter, end (0 least, 1 greatest), printed, right; in
MISPRINTS = [
    ("#2-56", "minor", 0, 0.667, 0.0667),
    ("#3-48", "pitch_diameter", 1, 0.0855, 0.0885),
    ("1/2-13", "minor", 0, 0.4700, 0.417),
    ("9/16-12", "pitch_diameter", 1, 0.5125, 0.5152),
    ("1 1/2-6", "pitch_diameter", 1, 1.4075, 1.4022),
]


@pytest.mark.parametrize(
    ("name", "major", "pitch"),
    [
        ("1/4-20", 0.2500, 0.2175),
        ("#8-32", 0.1640, 0.1437),
        ("3/8-16", 0.3750, 0.3344),
        ("1/2-13", 0.5, 0.45),
    ],
)
def test_basic_sizes_are_not_limits_of_2a(name: str, major: float, pitch: float) -> None:
    """RIVCUT gives ¼-20 UNC-2A up to .2500 and .2175; the allowance makes that .2489 and .2164."""
    found = limits(name, "2A")
    row = departures(found, major=(None, major * INCH), pitch_diameter=(None, pitch * INCH))
    assert [departure.what for departure in row] == ["greatest major diameter", "greatest pitch diameter"]
    assert all(departure.printed_mm > (departure.standard_mm or 0) for departure in row)


def test_the_right_quarter_20_2a() -> None:
    """¼-20 UNC-2A is .2489 to .2408 over the crests and .2164 to .2127 at the pitch line (from memory)."""
    found = limits("1/4-20 UNC-2A")
    row = departures(
        found,
        major=(0.2408 * INCH, 0.2489 * INCH),
        pitch_diameter=(0.2127 * INCH, 0.2164 * INCH),
        within_mm=0.00005 * INCH,
    )
    assert row == ()


@pytest.mark.parametrize(("name", "diameter", "end", "printed", "right"), MISPRINTS)
def test_slipped_figures_of_a_nut_chart(
    name: str, diameter: str, end: int, printed: float, right: float
) -> None:
    """INTERNAL prints .667 for .0667, .0855 for .0885, .4700 for .417, .5125 for .5152, 1.4075 for 1.4022."""
    found = limits(name, "2B")
    assert getattr(found, diameter)[end] / INCH == pytest.approx(right, abs=0.00005)
    said = (None, printed * INCH) if end else (printed * INCH, None)
    assert len(departures(found, **{diameter: said})) == 1


def test_a_row_that_is_right() -> None:
    """INTERNAL's other rows of 1 3/8-6 hold: pitch 1.2667 to 1.2771, minor 1.195 to 1.225."""
    row = departures(
        limits("1 3/8-6", "2B"),
        pitch_diameter=(1.2667 * INCH, 1.2771 * INCH),
        minor=(1.195 * INCH, 1.225 * INCH),
        within_mm=0.00005 * INCH,
    )
    assert row == ()


@pytest.mark.parametrize(
    ("name", "pitch", "minor"),
    [
        ("#1-72", (0.0650, 0.0667), 0.0590),
        ("#2-56", (0.0768, 0.0785), 0.0705),
        ("#4-40", (0.1013, 0.1030), 0.0938),
    ],
)
def test_a_chart_of_other_pitch_diameters(name: str, pitch: tuple[float, float], minor: float) -> None:
    """MISUMI's least pitch diameters of 2B lie 0.001 to 0.006 in above the basic ones, which ASME B1.1 begins at."""
    found = limits(name, "2B")
    low, high = pitch
    said = departures(found, pitch_diameter=(low * INCH, high * INCH), minor=(None, minor * INCH))
    assert "least pitch diameter" in [departure.what for departure in said]
