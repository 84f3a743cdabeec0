"""Angles in degrees, minutes and seconds: what is read, what is refused and why, and what the page says of them."""

import re
from math import pi
from pathlib import Path

import pytest

from loopwright.buildfile import read_text, write_text
from loopwright.errors import BuildError, QuantityError
from loopwright.units import Dimension, parse, parse_toleranced

D = Dimension
PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "units.md").read_text("utf-8")
ARCSEC = pi / 648000
ARCS = [
    ("90° 0' 17\"", 324017.0),
    ("90°0'17\"", 324017.0),
    ("90°0′17″", 324017.0),
    ("90° 0’ 17”", 324017.0),
    ("90° 0' 17''", 324017.0),
    ("90deg 0min 17s", 324017.0),
    ("90 deg 0 min 17.5 sec", 324017.5),
    ("90 Degrees 0 arcmin 17 arcsec", 324017.0),
    ("90° 30'", 325800.0),
    ("90° 30.5'", 325830.0),
    ('90° 17"', 324017.0),
    ("5 arcmin 30 arcsec", 330.0),
    ("120 arcmin 5 arcsec", 7205.0),
    ("-0° 0' 17\"", -17.0),
    ("\u2212 1° 0' 1\"", -3601.0),
    ("+1° 0' .5\"", 3600.5),
    ("359° 59' 59\"", 1295999.0),
]


@pytest.mark.parametrize(("text", "seconds"), ARCS)
def test_reads_degrees_minutes_and_seconds(text: str, seconds: float) -> None:
    """An angle may come in parts, 60 minutes to the degree and 60 seconds to the minute (SI Brochure, table 8)."""
    assert parse(text, D.ANGLE) == pytest.approx(seconds * ARCSEC, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "what", "remedy"),
    [
        ("90° 75'", "60 minutes or more", "write 91° 15' 0\""),
        ("-90° 75'", "60 minutes or more", "write -91° 15' 0\""),
        ("90° 0' 60\"", "60 seconds or more", "write 90° 1' 0\""),
        ("0 arcmin 75.5 arcsec", "60 seconds or more", "write 0° 1' 15.5\""),
        ("90.5° 30'", "only the last part", "whole numbers"),
        ("90° 0.5' 3\"", "only the last part", "whole numbers"),
        ("17\" 5'", "not in order", "90° 0' 17\""),
        ("90° 5° 3'", "not in order", "90° 0' 17\""),
        ("5 min 30 s", "or a time", "write 0° 5 min 30 s"),
        ("0' 17\"", "feet and inches", "write 0° 0' 17\""),
        ("-0' 17\"", "feet and inches", "write -0° 0' 17\""),
        ("90° -3'", "not an angle in degrees", "one sign before all"),
        ("32°-15'-30\"", "not an angle in degrees", "one sign before all"),
        ("90° 17", "not an angle in degrees", "90° 0' 17\""),
        ("90° 0' 17\"5", "not an angle in degrees", "90° 0' 17\""),
        ("90° 0' 17,5\"", "decimal mark", "use a point: 90° 0' 17.5\""),
        ('0.002"', "arcsec or inches", "write 'arcsec'"),
        ("90:00:17", "not a unit", "deg"),
    ],
)
def test_refuses_parts_that_do_not_fit(text: str, what: str, remedy: str) -> None:
    """Parts that could be meant in two ways, or overflow, are refused; one mark alone could be inches."""
    with pytest.raises(QuantityError) as refused:
        parse(text, D.ANGLE, bare="deg")
    assert what in refused.value.what
    assert remedy in refused.value.remedy


@pytest.mark.parametrize(
    ("text", "nominal", "lower", "upper"),
    [
        ("90° 0' 17\" ±2 arcsec", 324017.0, -2.0, 2.0),
        ("90° ±0° 0' 5\"", 324000.0, -5.0, 5.0),
        ("90 ±0° 0' 17\"", 324000.0, -17.0, 17.0),
        ("90° 0' 0\" +0° 0' 5\"/-0° 0' 3\"", 324000.0, -3.0, 5.0),
        ("90° 0' 0\" +0° 0' 5\"/0", 324000.0, 0.0, 5.0),
        ("90° 0' 0\" 0/-5 arcsec", 324000.0, -5.0, 0.0),
    ],
)
def test_reads_limits_in_parts(text: str, nominal: float, lower: float, upper: float) -> None:
    """Size and limits may each be in degrees, minutes and seconds."""
    found = parse_toleranced(text, D.ANGLE, bare="deg")
    assert found.nominal == pytest.approx(nominal * ARCSEC, rel=1e-15)
    assert (found.lower, found.upper) == pytest.approx((lower * ARCSEC, upper * ARCSEC), rel=1e-15)


@pytest.mark.parametrize("text", ["90° 0' 17\" ±5", "90° 0' 0\" +5/-0° 0' 3\"", "90° 0' 0\" +0° 0' 3\"/-5"])
def test_parts_lend_no_unit(text: str) -> None:
    """Nobody can tell whether the limits beside degrees, minutes and seconds are degrees or seconds."""
    with pytest.raises(QuantityError, match="unit"):
        parse_toleranced(text, D.ANGLE, bare="deg")


def test_a_dim_is_an_angle_where_it_has_degrees() -> None:
    """In a build file degrees, minutes and seconds make a dim an angle, written back in plain units; feet do not."""
    start = "format: loopwright-build/1\nname: m\nbodies: {base: {}}\nparts: {column: {dims: {square: %s}}}\n"
    build = read_text(start % "90° 0' 17\" ±0° 0' 5\"")
    dim = build.parts["column"].dims["square"]
    assert (dim.nominal, dim.spread.upper) == pytest.approx((324017 * ARCSEC, 5 * ARCSEC), rel=1e-15)
    written = write_text(build)
    assert "arcsec" in written
    assert "°" not in written
    assert read_text(written) == build
    for wrong, told in (("5' 6\"", "one unit is wanted"), ("90° 0' 17\" ±4", "the limits have no unit")):
        with pytest.raises(BuildError, match=told):
            read_text(start % wrong)


def test_the_page_is_right_about_degrees_minutes_and_seconds() -> None:
    """Every notation of the page is read as the angle that stands beside it."""
    section = PAGE.partition("## Degrees, minutes and seconds")[2].partition("\n## ")[0]
    rows = [row.split("|")[1:3] for row in section.splitlines() if row.startswith("| `")]
    assert len(rows) == 5
    for texts, told in rows:
        angles = [parse(found, D.ANGLE) for found in re.findall(r"-?[0-9.]+ (?:arcsec|deg)", told)]
        for number, text in enumerate(re.findall("`([^`]+)`", texts)):
            nominal = parse_toleranced(text, D.ANGLE).nominal
            assert nominal == pytest.approx(
                angles[0 if "±" in text else min(number, len(angles) - 1)], rel=1e-15
            )
