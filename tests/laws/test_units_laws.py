"""What holds for every quantity, whatever is written."""

import math
import re
import time
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loopwright.errors import QuantityError
from loopwright.units import (
    Dimension,
    convert,
    factor,
    format_exact,
    format_limits,
    format_value,
    parse,
    parse_limits,
    parse_toleranced,
    units_of,
)
from loopwright.units.arcs import is_arc

DIMENSIONS = st.sampled_from(Dimension)
FINITE = st.floats(allow_nan=False, allow_infinity=False)
SHOP = st.floats(min_value=-1e6, max_value=1e6).filter(lambda x: x == 0 or abs(x) > 1e-9)
PIECES = st.sampled_from(
    [
        *"0123456789",
        "1/2",
        " ",
        "-",
        "+",
        "±",
        "/",
        ".",
        ",",
        "e",
        "*",
        "\u2212",
        "½",
        "H7",
        "IT7",
        "%",
        '"',
        "'",
    ]
    + [
        "mm",
        "µm",
        "um",
        "in",
        "thou",
        "deg",
        "°",
        "min",
        "s",
        "′",
        "K",
        "N",
        "N/µm",
        "µm/m",
        "kg",
        "10⁻⁶/K",
        "300 mm",
        "nan",
        "inf",
        "_",
    ]
)
SHOPLIKE = st.lists(PIECES, max_size=14).map("".join)


@st.composite
def dimension_and_unit(draw: st.DrawFn) -> tuple[Dimension, str]:
    """A dimension and one of its units that needs no offset."""
    dimension = draw(DIMENSIONS.filter(lambda d: d is not Dimension.TEMPERATURE))
    return dimension, draw(st.sampled_from(units_of(dimension)))


def bare_of(dimension: Dimension) -> str:
    """The internal unit."""
    return units_of(dimension)[0]


def assert_telling(refused: QuantityError) -> None:
    """A refusal has words in both its parts."""
    assert refused.what
    assert refused.remedy


@given(FINITE, DIMENSIONS)
def test_exact_text_reads_back(value: float, dimension: Dimension) -> None:
    """What format_exact writes, parse reads back to the identical float."""
    assume(dimension is not Dimension.TEMPERATURE or value >= -273.15)
    assert parse(format_exact(value, dimension), dimension) == value


@given(SHOP, SHOP, dimension_and_unit())
def test_limits_read_back(a: float, b: float, which: tuple[Dimension, str]) -> None:
    """What format_limits writes, parse_limits reads back, in the internal unit to the very float."""
    dimension, unit = which
    lower, upper = min(a, b), max(a, b)
    text = format_limits(lower, upper, dimension, unit)
    bare = unit if unit == "1" else None
    tolerance = 0 if unit == bare_of(dimension) else 4e-16
    assert parse_limits(text, dimension, bare=bare) == pytest.approx((lower, upper), rel=tolerance, abs=0)


@given(
    st.integers(min_value=-(10**9), max_value=10**9),
    st.integers(min_value=0, max_value=6),
    dimension_and_unit(),
)
def test_written_limits_come_back_as_written(n: int, places: int, which: tuple[Dimension, str]) -> None:
    """A limit with few digits in a unit is written again with no more digits than it was given."""
    dimension, unit = which
    assume(n != 0 and unit != "1")
    given_text = f"{abs(n) / 10**places:.{places}f}"
    lower, upper = parse_limits(f"±{given_text} {unit}", dimension)
    written = format_limits(lower, upper, dimension, unit)
    assert len(re.sub("[^0-9]", "", written.split(" ")[0])) <= len(re.sub("[^0-9]", "", given_text)) + 1
    assert parse_limits(written, dimension) == (lower, upper)


@given(SHOP, dimension_and_unit())
def test_reading_scales(value: float, which: tuple[Dimension, str]) -> None:
    """A number in a unit is the number times the unit's factor, and convert takes it back."""
    dimension, unit = which
    assume(unit != "1")
    inside = parse(f"{value!r} {unit}", dimension)
    assert inside == pytest.approx(value * factor(unit, dimension), rel=1e-15)
    assert convert(inside, dimension, unit) == pytest.approx(value, rel=1e-15)
    assert parse(value, dimension, bare=unit) == inside


@given(st.floats(min_value=0, max_value=1e6), dimension_and_unit())
def test_sign(value: float, which: tuple[Dimension, str]) -> None:
    """A minus sign, of either kind, negates what is read, and a plus changes nothing."""
    dimension, unit = which
    assume(unit != "1" and (value == 0 or value > 1e-300))
    positive = parse(f"{value!r} {unit}", dimension)
    assert parse(f"-{value!r} {unit}", dimension) == -positive
    assert parse(f"\u2212{value!r} {unit}", dimension) == -positive
    assert parse(f"+{value!r} {unit}", dimension) == positive


@given(
    st.integers(0, 999),
    st.integers(0, 63),
    st.sampled_from([2, 4, 8, 16, 32, 64]),
    st.sampled_from([" ", "-"]),
)
def test_mixed_numbers(whole: int, top: int, bottom: int, between: str) -> None:
    """A mixed number of inches is the sum of its parts, exactly, as its denominator is a power of two."""
    assume(top < bottom)
    assert parse(f"{whole}{between}{top}/{bottom} in", Dimension.LENGTH) == (whole + top / bottom) * 127 / 5


@given(st.text(max_size=80) | SHOPLIKE, DIMENSIONS, st.booleans())
def test_any_text_is_read_or_refused(text: str, dimension: Dimension, with_bare: bool) -> None:
    """Any text is a finite quantity or a QuantityError with words in both its parts, and soon."""
    bare = bare_of(dimension) if with_bare else None
    start = time.perf_counter()
    for read in (parse, parse_limits, parse_toleranced):
        try:
            found = read(text, dimension, bare=bare)
        except QuantityError as refused:
            assert_telling(refused)
            continue
        if isinstance(found, float):
            assert math.isfinite(found)
        elif isinstance(found, tuple):
            assert all(map(math.isfinite, found))
            assert found[0] <= found[1]
        else:
            assert math.isfinite(found.nominal)
            assert (found.lower is None) == (found.upper is None)
            assert found.lower is None or -math.inf < found.lower <= found.upper < math.inf
    assert time.perf_counter() - start < 0.5


@given(SHOP, SHOP, SHOP, st.sampled_from(["mm", "in", "µm", "thou"]))
def test_toleranced_is_nominal_and_limits(nominal: float, a: float, b: float, unit: str) -> None:
    """A toleranced size is its nominal and its limits, each read alone."""
    lower, upper = min(a, b), max(a, b)
    limits = format_limits(lower, upper, Dimension.LENGTH, unit)
    found = parse_toleranced(f"{nominal!r} mm {limits}", Dimension.LENGTH)
    assert found.nominal == nominal
    assert (found.lower, found.upper) == parse_limits(limits, Dimension.LENGTH)


@given(
    st.floats(min_value=-1e9, max_value=1e9),
    st.floats(min_value=1e-9, max_value=1e6),
    st.sampled_from(["mm", "µm", "in", "thou"]),
)
def test_value_is_rounded_to_its_uncertainty(value: float, uncertainty: float, unit: str) -> None:
    """A value keeps two digits of its uncertainty: no further off than half of the second, and no finer."""
    text = format_value(value, Dimension.LENGTH, unit, uncertainty=uncertainty).removesuffix(f" {unit}")
    size = factor(unit, Dimension.LENGTH)
    written, spread = value / size, uncertainty / size
    place = 10.0 ** (int(f"{spread:.1e}".partition("e")[2]) - 1)
    finest = max(place, abs(written) * 1e-14)
    assert abs(float(text) - written) <= 0.5000001 * finest
    decimals = len(text.partition("e")[0].partition(".")[2])
    assert "e" in text or decimals <= max(0, round(-math.log10(place)))


@given(st.floats(min_value=-1e300, max_value=1e300), dimension_and_unit())
def test_value_alone_keeps_four_digits(value: float, which: tuple[Dimension, str]) -> None:
    """Without uncertainty a value has at most four significant digits and no idle zeros behind the point."""
    dimension, unit = which
    text = format_value(value, dimension, unit)
    if "∞" in text:
        return
    number = text if unit == "1" else text.removesuffix(f" {unit}")
    mantissa = number.partition("e")[0].lstrip("-")
    assert len(mantissa.replace(".", "").strip("0")) <= 4
    assert "." not in mantissa or not mantissa.endswith("0")
    assert float(number) == pytest.approx(convert(value, dimension, unit), rel=5.0001e-4, abs=0)


@given(FINITE, DIMENSIONS)
def test_numbers_without_unit(value: float, dimension: Dimension) -> None:
    """A bare number takes the stated unit; with none stated only ratios and numbers do without."""
    assume(dimension is not Dimension.TEMPERATURE)
    assert parse(value, dimension, bare=bare_of(dimension)) == value
    if bare_of(dimension) == "1":
        assert parse(value, dimension) == value
    else:
        with pytest.raises(QuantityError, match="no unit"):
            parse(value, dimension)


@given(
    st.sampled_from(["", "-", "+"]),
    st.integers(min_value=0, max_value=720),
    st.integers(min_value=0, max_value=59),
    st.decimals(min_value=0, max_value="59.999", places=3),
    st.sampled_from(
        [("°", "'", '"'), (" deg ", " min ", " s"), ("° ", "′ ", "″"), ("°", " arcmin ", "arcsec")]
    ),
)
def test_degrees_minutes_and_seconds_add_up(
    sign: str, degrees: int, minutes: int, seconds: Decimal, marks: tuple[str, str, str]
) -> None:
    """The whole is the sum of its parts, and the sign before it holds for all of them."""
    text = f"{sign}{degrees}{marks[0]}{minutes}{marks[1]}{seconds}{marks[2]}"
    total = degrees * 3600 + minutes * 60 + seconds
    written = f"{'-' if sign == '-' else ''}{total} arcsec"
    assert parse(text, Dimension.ANGLE) == pytest.approx(parse(written, Dimension.ANGLE), rel=1e-15)
    assert parse(format_exact(parse(text, Dimension.ANGLE), Dimension.ANGLE), Dimension.ANGLE) == parse(
        text, Dimension.ANGLE
    )


@given(
    st.integers(min_value=0, max_value=720),
    st.integers(min_value=0, max_value=5000),
    st.integers(min_value=0, max_value=5000),
)
def test_what_overflows_is_refused_with_what_it_is(degrees: int, minutes: int, seconds: int) -> None:
    """With 60 minutes or seconds or more the remedy is the same angle, and that is read."""
    text = f"{degrees}° {minutes}' {seconds}\""
    total = pytest.approx(
        parse(f"{degrees * 3600 + minutes * 60 + seconds} arcsec", Dimension.ANGLE), rel=1e-15
    )
    if minutes < 60 and seconds < 60:
        assert parse(text, Dimension.ANGLE) == total
        return
    with pytest.raises(QuantityError) as refused:
        parse(text, Dimension.ANGLE)
    assert parse(refused.value.remedy.removeprefix("write "), Dimension.ANGLE) == total


@given(SHOPLIKE, DIMENSIONS.filter(lambda d: d is not Dimension.ANGLE))
def test_only_angles_have_minutes_and_seconds_of_arc(text: str, dimension: Dimension) -> None:
    """Whatever is written, marks of minutes and seconds behind each other are read as nothing but an angle."""
    if is_arc(text):
        with pytest.raises(QuantityError):
            parse(text, dimension, bare=bare_of(dimension))
