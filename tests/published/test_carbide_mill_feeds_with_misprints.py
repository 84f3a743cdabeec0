"""Feeds by diameter of Torbide Tooling and threadmillsusa.com, each with a misprint.

torbidetooling.com/feeds-speeds: end mills. For plastics it prints 0.001 in at 3/4 in, between 0.008 at 5/8 and 0.015
at 1 in. threadmillsusa.com/Feeds_speeds.htm: for low carbon steel it prints 0.0001 in at 1/4 in, between 0.0006 at
3/16 and 0.0013 at 5/16. Both points are left out here and read between their neighbours.
"""

import pytest

from loopwright.handbook.cutting_speeds import FeedRange, feed_ranges

INCH = 25.4


def of_source(rows: tuple[FeedRange, ...], start: str) -> FeedRange:
    """The one row of a source."""
    (row,) = (row for row in rows if row.source.startswith(start))
    return row


@pytest.mark.parametrize(("inches", "printed"), [(0.125, 0.001), (0.375, 0.003), (0.5, 0.004), (1.0, 0.007)])
def test_end_mills_in_aluminium(inches: float, printed: float) -> None:
    """In a tooth, by diameter."""
    row = of_source(feed_ranges("aluminium", "mill", "carbide", inches * INCH), "Torbide")
    assert row.low / INCH == pytest.approx(printed, abs=5e-5)


def test_misprint_for_plastics() -> None:
    """Where the source prints 0.001 in at 3/4 in, the value lies between 0.008 and 0.015."""
    row = of_source(feed_ranges("acetal", "mill", "carbide", 0.75 * INCH), "Torbide")
    assert 0.008 < row.low / INCH < 0.015


@pytest.mark.parametrize(("material", "inches", "printed"), [("304", 0.375, 0.0011), ("D2", 0.5, 0.0015)])
def test_thread_mills(material: str, inches: float, printed: float) -> None:
    """In a tooth, by cutting diameter."""
    row = of_source(feed_ranges(material, "thread mill", "carbide", inches * INCH), "threadmillsusa")
    assert row.low / INCH == pytest.approx(printed, abs=5e-5)


def test_misprint_for_low_carbon_steel() -> None:
    """Where the source prints 0.0001 in at 1/4 in, the value lies between 0.0006 and 0.0013."""
    row = of_source(feed_ranges("mild steel", "thread mill", "carbide", INCH / 4), "threadmillsusa")
    assert 0.0006 < row.low / INCH < 0.0013
