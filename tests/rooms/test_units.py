"""Reading and writing quantities."""

import copy
import pickle
import re
from math import inf, nan, pi
from pathlib import Path

import numpy as np
import pytest

from loopwright.errors import QuantityError
from loopwright.units import (
    Dimension,
    Toleranced,
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
from loopwright.units.table import spellings_of

D = Dimension
PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "units.md").read_text("utf-8")
ROW = re.compile(r"^\| `([^`]+)` \|(.*?)\| ([-+.e0-9]+) \|$", re.M)

READ = [
    ("0.0005 in", D.LENGTH, 0.0127),
    ("5 thou", D.LENGTH, 0.127),
    ("2 tenths", D.LENGTH, 0.00508),
    ("1 tenth", D.LENGTH, 0.00254),
    ("1 1/2 in", D.LENGTH, 38.1),
    ('1-1/2"', D.LENGTH, 38.1),
    ("3/8 in", D.LENGTH, 9.525),
    ("3/8in", D.LENGTH, 9.525),
    ("-1 1/2 in", D.LENGTH, -38.1),
    ('0.005"', D.LENGTH, 0.127),
    ('.005"', D.LENGTH, 0.127),
    ('8"', D.LENGTH, 203.2),
    ("8″", D.LENGTH, 203.2),
    ("½ in", D.LENGTH, 12.7),
    ("1½″", D.LENGTH, 38.1),
    ("6'", D.LENGTH, 1828.8),
    ("9 \u00b5m", D.LENGTH, 0.009),
    ("9 \u03bcm", D.LENGTH, 0.009),
    ("15 um", D.LENGTH, 0.015),
    ("1e-3 mm", D.LENGTH, 0.001),
    ("5.E+1 mm", D.LENGTH, 50.0),
    ("\u22125\u202fmm", D.LENGTH, -5.0),
    ("5\u00a0mm", D.LENGTH, 5.0),
    ("1\u00a01/2 in", D.LENGTH, 38.1),
    ("  + 5mm ", D.LENGTH, 5.0),
    ("12 IN", D.LENGTH, 304.8),
    ("5 Thou", D.LENGTH, 0.127),
    ("5 in.", D.LENGTH, 127.0),
    ("8 arcsec", D.ANGLE, 8 * pi / 648000),
    ("2 arcmin", D.ANGLE, 2 * pi / 10800),
    ("45 deg", D.ANGLE, pi / 4),
    ("45°", D.ANGLE, pi / 4),
    ("20 µm/m", D.ANGLE, 20e-6),
    ("0.01 mm/m", D.ANGLE, 10e-6),
    ("0.02 mm / 300 mm", D.ANGLE, 0.02 / 300),
    ("0.03 mm/300mm", D.ANGLE, 1e-4),
    ("6 thou/ft", D.ANGLE, 0.0005),
    ("3 in/ft", D.ANGLE, 0.25),
    ("5 µrad", D.ANGLE, 5e-6),
    ("5 mrad", D.ANGLE, 5e-3),
    ("300 N/µm", D.STIFFNESS, 300_000.0),
    ("1 lbf/in", D.STIFFNESS, 0.17512683524647636),
    ("1 lb/thou", D.STIFFNESS, 175.12683524647636),
    ("85 kg", D.MASS, 85.0),
    ("2 lb", D.MASS, 0.90718474),
    ("500 g", D.MASS, 0.5),
    ("1.2 t", D.MASS, 1200.0),
    ("20 degC", D.TEMPERATURE, 20.0),
    ("20 °C", D.TEMPERATURE, 20.0),
    ("20 C", D.TEMPERATURE, 20.0),
    ("68 degF", D.TEMPERATURE, 20.0),
    ("68 deg F", D.TEMPERATURE, 20.0),
    ("293.15 K", D.TEMPERATURE, 20.0),
    ("-459.67 degF", D.TEMPERATURE, -273.15),
    ("9 degF", D.TEMPERATURE_DIFFERENCE, 5.0),
    ("2 °C", D.TEMPERATURE_DIFFERENCE, 2.0),
    ("500 mK", D.TEMPERATURE_DIFFERENCE, 0.5),
    ("11.5 µm/m/K", D.EXPANSION, 11.5e-6),
    ("11.5 µm/(m·K)", D.EXPANSION, 11.5e-6),
    ("11.5 um / (m * °C)", D.EXPANSION, 11.5e-6),
    ("11.5 µm/m°C", D.EXPANSION, 11.5e-6),
    ("11.5 ppm/K", D.EXPANSION, 11.5e-6),
    ("11.5e-6/K", D.EXPANSION, 11.5e-6),
    ("11.5e-6 1/K", D.EXPANSION, 11.5e-6),
    ("11.5 1e-6/K", D.EXPANSION, 11.5e-6),
    ("11.5 10⁻⁶/K", D.EXPANSION, 11.5e-6),
    ("5 µin/in/°F", D.EXPANSION, 9e-6),
    ("7 bar", D.PRESSURE, 0.7),
    ("210 GPa", D.PRESSURE, 210_000.0),
    ("100 kPa", D.PRESSURE, 0.1),
    ("3 N/mm2", D.PRESSURE, 3.0),
    ("1000 PSI", D.PRESSURE, 6.894757293168361),
    ("2 kN", D.FORCE, 2000.0),
    ("1 lbf", D.FORCE, 4.4482216152605),
    ("3 mN", D.FORCE, 0.003),
    ("3 MN", D.FORCE, 3e6),
    ("5 N·m", D.TORQUE, 5000.0),
    ("5 N m", D.TORQUE, 5000.0),
    ("5 Nm", D.TORQUE, 5000.0),
    ("5 N*m", D.TORQUE, 5000.0),
    ("1 ft-lb", D.TORQUE, 1355.8179483314004),
    ("1 in lbf", D.TORQUE, 112.9848290276167),
    ("1 N·m/arcsec", D.ROTARY_STIFFNESS, 648e6 / pi),
    ("1 N·m/rad", D.ROTARY_STIFFNESS, 1000.0),
    ("20 %", D.RATIO, 0.2),
    ("20%", D.RATIO, 0.2),
    ("0.2", D.RATIO, 0.2),
    ("3 ppm", D.RATIO, 3e-6),
    ("5", D.NUMBER, 5.0),
    ("25 min", D.TIME, 1500.0),
    ("1 1/2 h", D.TIME, 5400.0),
    ("6 m/min", D.SPEED, 100.0),
    ("60 in/min", D.SPEED, 25.4),
    ("3000 rpm", D.ROTARY_SPEED, 100 * pi),
    ("1.5 kW", D.POWER, 1500.0),
    ("1 hp", D.POWER, 745.6998715822702),
    ("7.85 g/cm3", D.DENSITY, 7850.0),
    ("7200 kg/m^3", D.DENSITY, 7200.0),
    ("1 lb/in³", D.DENSITY, 27679.904710203125),
    ("9.81 m/s²", D.ACCELERATION, 9810.0),
    ("1 g", D.ACCELERATION, 9806.65),
]

REFUSED = [
    ("0,005 mm", D.LENGTH, "decimal mark", "use a point: 0.005 mm"),
    ("12,5", D.LENGTH, "decimal mark", "12.5"),
    ("1,234 mm", D.LENGTH, "decimal mark or group", "write 1.234 mm or 1234 mm"),
    ("1,234.5 mm", D.LENGTH, "commas", "1234.5 mm"),
    ("1 234,5 mm", D.LENGTH, "decimal mark", "1234.5 mm"),
    ("1 234 mm", D.LENGTH, "grouped", "1234 mm"),
    ("1_000 mm", D.LENGTH, "underscore", "1000 mm"),
    ("5 mil", D.LENGTH, "mil", "'thou' (0.001 in) or 'mm'"),
    ("5 mils", D.LENGTH, "mil", "thou"),
    ("5 mil", D.ANGLE, "mil", "mrad"),
    ('8"', D.ANGLE, "arcsec or inches", "write 'arcsec'"),
    ("8″", D.ANGLE, "arcsec or inches", "write 'arcsec'"),
    ("8'", D.ANGLE, "arcmin or feet", "write 'arcmin'"),
    ("8 arcsec", D.LENGTH, "'8 arcsec' is an angle, a length is wanted", "mm"),
    ("5 lb", D.FORCE, "is a mass, a force is wanted", "lbf"),
    ("20 µm/m", D.LENGTH, "is an angle or a ratio, a length", "mm"),
    ("5 kg", D.NUMBER, "is a mass", "without a unit"),
    ("5 milimeter", D.LENGTH, "not a unit of length", "did you mean 'mm'?"),
    ("5 arcsex", D.ANGLE, "not a unit", "did you mean 'arcsec'?"),
    ("5 furlong", D.LENGTH, "not a unit", "use a unit such as mm, µm"),
    ("5 M", D.LENGTH, "capital", "'m'"),
    ("5 MM", D.LENGTH, "capital", "'mm'"),
    ("5 Mm", D.LENGTH, "capital", "'mm'"),
    ("5 nm", D.TORQUE, "capital", "'N·m'"),
    ("5 mPa", D.PRESSURE, "capital", "'MPa'"),
    ("5", D.LENGTH, "has no unit", "mm, µm"),
    ("", D.LENGTH, "nothing is written", "12.5 mm"),
    (" \t", D.LENGTH, "nothing is written", "12.5 mm"),
    ("mm", D.LENGTH, "no number", "12.5 mm"),
    ("nan mm", D.LENGTH, "finite", "12.5 mm"),
    ("inf", D.RATIO, "finite", "0.25"),
    ("1e999 mm", D.LENGTH, "too large", "exponent"),
    ("1e307 m", D.LENGTH, "too large", "exponent"),
    ("1e-999 mm", D.LENGTH, "too small", "write 0"),
    ("0x10 mm", D.LENGTH, "base ten", "decimal"),
    ("5 thou / 12 in", D.LENGTH, "nothing is worked out", "one number"),
    ("2**3**9**9 mm", D.LENGTH, "nothing is worked out", "one number"),
    ("7½5 mm", D.LENGTH, "nothing is worked out", "one number"),
    ("½4 mm", D.LENGTH, "nothing is worked out", "one number"),
    ("(5) mm", D.LENGTH, "nothing is worked out", "one number"),
    ("5' 6\"", D.LENGTH, "one unit is wanted", "add the parts up"),
    ("90° 0' 17\"", D.LENGTH, "is an angle, a length is wanted", "mm"),
    ("5 min 30 s", D.TIME, "one unit is wanted", "add the parts up"),
    ("1/0 in", D.LENGTH, "divides by zero", "3/8"),
    ("1 8/8 in", D.LENGTH, "less than one", "decimal"),
    ("±5 mm", D.LENGTH, "has limits", "leave the limits out"),
    ("12 -0.1", D.LENGTH, "two numbers", "limits"),
    ("-1 K", D.TEMPERATURE, "absolute zero", "sign"),
    ("\u0663 mm", D.LENGTH, "no number", "12.5 mm"),
    ("5 mm" + " " * 60, D.LENGTH, "64 characters", "12.5 mm"),
]


@pytest.mark.parametrize(("text", "dimension", "value"), READ)
def test_reads(text: str, dimension: Dimension, value: float) -> None:
    """What a shop writes is read as it is meant."""
    assert parse(text, dimension) == pytest.approx(value, rel=1e-15, abs=0)


@pytest.mark.parametrize(("text", "dimension", "what", "remedy"), REFUSED)
def test_refuses(text: str, dimension: Dimension, what: str, remedy: str) -> None:
    """What could be misread is refused, with what is wrong and what would do."""
    with pytest.raises(QuantityError) as refused:
        parse(text, dimension)
    assert what in refused.value.what
    assert remedy in refused.value.remedy


@pytest.mark.parametrize(
    "value", [True, False, None, [1], b"5 mm", nan, inf, -inf, 10**400, 1j, np.array([1.0])]
)
def test_refuses_what_is_no_quantity(value: object) -> None:
    """Yes and no, nothing, lists and what is not finite are refused, even where bare numbers have a unit."""
    for read in (parse, parse_limits, parse_toleranced):
        with pytest.raises(QuantityError):
            read(value, D.LENGTH, bare="mm")  # type: ignore[arg-type]


def test_refuses_numbers_too_long_to_print() -> None:
    """A whole number of thousands of digits is refused without being printed."""
    with pytest.raises(QuantityError, match="too large"):
        parse(10**5000, D.NUMBER)


def test_round_decimals_stay_round() -> None:
    """Whole numbers of a decimal unit become the nearest float, as if written in mm."""
    assert all(parse(f"{n} µm", D.LENGTH) == float(f"{n}e-3") for n in range(2000))
    assert all(parse(f"{n} thou", D.LENGTH) == n * 254 / 10000 for n in range(2000))


def test_numbers_take_the_stated_unit() -> None:
    """A number that came without quotes is read like its text."""
    assert parse(8, D.LENGTH, bare="µm") == parse("8", D.LENGTH, bare="um") == 0.008
    assert parse(np.float64(20.0), D.TEMPERATURE, bare="degC") == 20.0
    assert parse("20", D.RATIO, bare="%") == 0.2
    assert parse("5 thou", D.LENGTH, bare="mm") == 0.127
    with pytest.raises(QuantityError, match="mass"):
        parse("5", D.LENGTH, bare="kg")


LIMITS = [
    ("±0.01", (-0.01, 0.01)),
    ("+-5 thou", (-0.127, 0.127)),
    ("+/-0.01", (-0.01, 0.01)),
    ("± 1/64 in", (-0.396875, 0.396875)),
    ("+0.02/-0.01", (-0.01, 0.02)),
    ("+ 0.02 / - 0.01 mm", (-0.01, 0.02)),
    ("+0/-0.013", (-0.013, 0.0)),
    ("0/-13 µm", (-0.013, 0.0)),
    ("+20 µm/0", (0.0, 0.02)),
    ("+0.02/0", (0.0, 0.02)),
    ("-0.01/-0.03", (-0.03, -0.01)),
    ("\u22120.01/\u22120.03", (-0.03, -0.01)),
    ("+2/+1 tenths", (0.00254, 0.00508)),
    ("+20 µm/-0.4 thou", (-0.01016, 0.02)),
    ("+1/64 / -1/32 in", (-0.79375, 0.396875)),
    ("±0", (0.0, 0.0)),
]


@pytest.mark.parametrize(("text", "limits"), LIMITS)
def test_reads_limits(text: str, limits: tuple[float, float]) -> None:
    """Limits are read in every form that drawings use."""
    assert parse_limits(text, D.LENGTH, bare="mm") == pytest.approx(limits, rel=1e-15, abs=0)


def test_limits_of_other_kinds() -> None:
    """A ratio has limits in %, a temperature in steps of its scale, a slope in its own compound unit."""
    assert parse_limits("± 20 %", D.RATIO) == (-0.2, 0.2)
    assert parse_limits("±9 degF", D.TEMPERATURE) == (-5.0, 5.0)
    assert parse_limits("±3 µm/300 mm", D.ANGLE) == pytest.approx((-1e-5, 1e-5))


@pytest.mark.parametrize(
    ("text", "what", "remedy"),
    [
        ("0.01", "needs its sign", "write ±0.01"),
        (0.01, "needs its sign", "write ±0.01"),
        ("3/8 in", "no sign", "+0.02/-0.01"),
        ("0.02/0.01", "no sign", "+0.02/-0.01"),
        ("+0.02/0.01", "no sign", "+0.02/-0.01"),
        ("0.02 mm/0.01 mm", "no sign", "+0.02/-0.01"),
        ("0.02/-0.01", "'0.02' has no sign", "+0.02 or -0.02"),
        ("-0.01/+0.02", "below", "upper limit first"),
        ("+0.02", "one limit", "+0.02/0, or ±0.02"),
        ("-0.02 mm", "one limit", "0/-0.02 mm, or ±0.02 mm"),
        ("±-0.01", "second sign", "±0.01"),
        ("+20 µm/-0.01", "only the first", "at the end"),
        ("0.01 furlong", "furlong", "mm"),
        ("", "nothing", "±0.01"),
        ("±", "nothing", "12.5 mm"),
        ("±0,01", "decimal mark", "0.01"),
        ("±5 arcsec", "is an angle", "mm"),
        ("+1/-1/-1", "more than two", "upper and the lower"),
    ],
)
def test_refuses_limits(text: str | float, what: str, remedy: str) -> None:
    """Limits whose sides could be confused are refused."""
    with pytest.raises(QuantityError) as refused:
        parse_limits(text, D.LENGTH, bare="mm")
    assert what in refused.value.what
    assert remedy in refused.value.remedy


def test_limits_need_a_unit() -> None:
    """Limits without a unit are refused where none is stated."""
    with pytest.raises(QuantityError, match="no unit"):
        parse_limits("±0.01", D.LENGTH)


SIZES = [
    ("240 ±0.02", 240.0, -0.02, 0.02, None),
    ("240±0.02", 240.0, -0.02, 0.02, None),
    ("240 mm ±20 µm", 240.0, -0.02, 0.02, None),
    ("240 ±20 µm", 240.0, -0.02, 0.02, None),
    ("240 ±5 thou", 240.0, -0.127, 0.127, None),
    ("12 ±0.002 in", 304.8, -0.0508, 0.0508, None),
    ('12 ±0.002"', 304.8, -0.0508, 0.0508, None),
    ("12 in ±0.002", 304.8, -0.0508, 0.0508, None),
    ("1 1/2 in ±5 thou", 38.1, -0.127, 0.127, None),
    ("1½ in ±5 thou", 38.1, -0.127, 0.127, None),
    ("12 +0.02/-0.01", 12.0, -0.01, 0.02, None),
    ("12+0.02/-0.01", 12.0, -0.01, 0.02, None),
    ("12 -0.01/-0.03", 12.0, -0.03, -0.01, None),
    ("12 0/-0.013", 12.0, -0.013, 0.0, None),
    ("12 mm 0/-13 µm", 12.0, -0.013, 0.0, None),
    ("50 +20 µm/0", 50.0, 0.0, 0.02, None),
    ("240 +0.02 mm/-10 µm", 240.0, -0.01, 0.02, None),
    ("1-1/2 0/-0.005 in", 38.1, -0.127, 0.0, None),
    ("1 in +1/64 / -1/32", 25.4, -0.79375, 0.396875, None),
    ("1e-3 mm +1e-4/-1e-5", 0.001, -1e-5, 1e-4, None),
    ("-5 +1/-1", -5.0, -1.0, 1.0, None),
    ("-200 ±1 %", -200.0, -2.0, 2.0, None),
    ("240 mm +1/-2 %", 240.0, -4.8, 2.4, None),
    ("240", 240.0, None, None, None),
    ("3/8 in", 9.525, None, None, None),
    ("25 H7", 25.0, None, None, "H7"),
    ("25H7", 25.0, None, None, "H7"),
    ("25 mm H7", 25.0, None, None, "H7"),
    ("1 in js6", 25.4, None, None, "js6"),
    ("25 m6", 25.0, None, None, "m6"),
    ("12 e5", 12.0, None, None, "e5"),
    ("12e5", 1.2e6, None, None, None),
    ("25 IT7", 25.0, None, None, "IT7"),
    ("3/8 in ZA11", 9.525, None, None, "ZA11"),
]


@pytest.mark.parametrize(("text", "nominal", "lower", "upper", "fit"), SIZES)
def test_reads_sizes(
    text: str, nominal: float, lower: float | None, upper: float | None, fit: str | None
) -> None:
    """A size is read with its limits or its tolerance class, each part in the unit that is meant for it."""
    found = parse_toleranced(text, D.LENGTH, bare="mm")
    assert found.nominal == pytest.approx(nominal, rel=1e-15)
    assert [found.lower, found.upper] == [
        x if x is None else pytest.approx(x, rel=1e-15) for x in (lower, upper)
    ]
    assert found.fit == fit


def test_sizes_of_other_kinds() -> None:
    """Temperatures have limits in steps, arcsec do not reach back to degrees, shares are of the nominal."""
    assert parse_toleranced("20 degC ±1", D.TEMPERATURE) == Toleranced(20.0, -1.0, 1.0, None)
    assert parse_toleranced("20 ±1 K", D.TEMPERATURE, bare="degC") == Toleranced(20.0, -1.0, 1.0, None)
    assert parse_toleranced("68 ±9 degF", D.TEMPERATURE) == Toleranced(20.0, -5.0, 5.0, None)
    right = parse_toleranced("90 ±5 arcsec", D.ANGLE, bare="deg")
    assert right == Toleranced(pi / 2, -5 * pi / 648000, 5 * pi / 648000, None)
    assert parse_toleranced("90 ±1 deg", D.ANGLE, bare="arcsec").nominal == pi / 2
    assert parse_toleranced("300 N/µm ±20 %", D.STIFFNESS) == Toleranced(3e5, -6e4, 6e4, None)
    assert parse_toleranced("300 ±30 N/µm", D.STIFFNESS) == Toleranced(3e5, -3e4, 3e4, None)
    assert parse_toleranced("50 ±5 %", D.RATIO) == Toleranced(0.5, -0.05, 0.05, None)
    assert parse_toleranced(240, D.LENGTH, bare="mm") == Toleranced(240.0, None, None, None)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("240 -0.01", "one limit"),
        ("240 mm +0.01", "one limit"),
        ("12 0.02/0.01", "no sign"),
        ("12 +0.02/0.01", "no sign"),
        ("±5", "no nominal"),
        ("240 ±", "no limits"),
        ("25 H7/g6", "a hole and a shaft"),
        ("25 Q7", "tolerance class"),
        ("25 h99", "tolerance class"),
        ("25 Js7", "tolerance class"),
        ("25 H7 ±0.01", "H7"),
        ("25 H7 mm", "H7"),
        ("12,5 H7", "decimal mark"),
        ("240 ±5 kg", "is a mass"),
        ("240 kg ±5", "is a mass"),
        ("12 ±0.02 ±0.01", "limits"),
        ("", "nothing"),
    ],
)
def test_refuses_sizes(text: str, what: str) -> None:
    """A size with half its limits, or with a class that ISO 286 does not have, is refused."""
    with pytest.raises(QuantityError) as refused:
        parse_toleranced(text, D.LENGTH, bare="mm")
    assert what in refused.value.what


def test_classes_go_with_lengths() -> None:
    """A tolerance class on anything but a length is refused; µm after the limits leave the nominal bare."""
    with pytest.raises(QuantityError):
        parse_toleranced("25 H7", D.MASS, bare="kg")
    with pytest.raises(QuantityError, match="'240' has no unit"):
        parse_toleranced("240 ±20 µm", D.LENGTH)


@pytest.mark.parametrize(
    ("value", "unit", "options", "text"),
    [
        (0.0123456, "µm", {"uncertainty": 0.0015}, "12.3 µm"),
        (0.0123456, "µm", {"uncertainty": 0.0015, "sign": True}, "+12.3 µm"),
        (-0.0123456, "um", {"uncertainty": 0.0015, "sign": True}, "-12.3 µm"),
        (0.0123456, "µm", {"uncertainty": 0.0015, "digits": 1}, "12 µm"),
        (0.0123456, "µm", {}, "12.35 µm"),
        (0.0123, "µm", {}, "12.3 µm"),
        (0.0123456, "µm", {"digits": 2}, "12 µm"),
        (0.0122, "thou", {}, "0.4803 thou"),
        (12.0, "mm", {}, "12 mm"),
        (12.0, "mm", {"uncertainty": 0.15}, "12.00 mm"),
        (123456.7, "mm", {}, "123500 mm"),
        (1234.5, "mm", {"uncertainty": 250}, "1230 mm"),
        (99.96, "mm", {"uncertainty": 0.996}, "100.0 mm"),
        (-0.00001, "mm", {"uncertainty": 0.1, "sign": True}, "0.00 mm"),
        (0, "mm", {"sign": True}, "0 mm"),
        (5, "mm", {"uncertainty": 0.0}, "5 mm"),
        (5, "mm", {"uncertainty": inf}, "not known"),
        (nan, "mm", {}, "not known"),
        (-inf, "mm", {}, "-∞ mm"),
        (0.0000012345, "mm", {}, "0.000001234 mm"),
        (0.00000012345, "mm", {}, "1.234e-7 mm"),
    ],
)
def test_values_for_people(value: float, unit: str, options: dict[str, float], text: str) -> None:
    """A value is printed with the digits it deserves."""
    assert format_value(value, D.LENGTH, unit, **options) == text  # type: ignore[arg-type]


def test_values_of_other_kinds() -> None:
    """An uncertainty of a temperature is a step and takes no offset; plain numbers have no unit to print."""
    assert format_value(20.0, D.TEMPERATURE, "degF", uncertainty=0.5) == "68.00 degF"
    assert format_value(0.2, D.RATIO, "%") == "20 %"
    assert format_value(0.2, D.RATIO, "1") == "0.2"
    assert format_value(300_000.0, D.STIFFNESS, "N/um") == "300 N/µm"


@pytest.mark.parametrize(
    ("lower", "upper", "unit", "text"),
    [
        (-0.02, 0.02, "mm", "±0.02 mm"),
        (-0.01, 0.02, "mm", "+0.02/-0.01 mm"),
        (-0.013, 0.0, "µm", "0/-13 µm"),
        (0.0, 0.02, "mm", "+0.02/0 mm"),
        (-0.03, -0.01, "mm", "-0.01/-0.03 mm"),
        (-0.0127, 0.0127, "tenths", "±5 tenths"),
        (-0.00001, 0.00001, "mm", "±0.00001 mm"),
        (0.0, 0.0, "mm", "±0 mm"),
    ],
)
def test_limits_in_print(lower: float, upper: float, unit: str, text: str) -> None:
    """Limits are printed exactly, and no longer than need be."""
    assert format_limits(lower, upper, D.LENGTH, unit) == text


def test_limits_that_cannot_be_printed() -> None:
    """Limits in the wrong order, or without end, are refused."""
    for lower, upper in [(1.0, -1.0), (nan, 1.0), (-inf, inf)]:
        with pytest.raises(QuantityError):
            format_limits(lower, upper, D.LENGTH, "mm")
    with pytest.raises(QuantityError, match="too large"):
        format_limits(-1e308, 1e308, D.LENGTH, "µm")


def test_exact_text() -> None:
    """Files get the internal unit and every digit; what is not finite has no text."""
    assert format_exact(12.5, D.LENGTH) == "12.5 mm"
    assert format_exact(300000, D.STIFFNESS) == "300000.0 N/mm"
    assert format_exact(1.15e-5, D.EXPANSION) == "1.15e-05 1/K"
    assert format_exact(0.1, D.RATIO) == "0.1"
    for value in (nan, inf):
        with pytest.raises(QuantityError):
            format_exact(value, D.LENGTH)


def test_factor_and_convert() -> None:
    """Arrays convert like floats, and only convert knows where a scale of temperature has its zero."""
    assert factor('"', D.LENGTH) == 25.4
    assert convert(25.4, D.LENGTH, "in") == 1.0
    np.testing.assert_allclose(convert(np.array([[0.001, 1.0]]), D.LENGTH, "µm"), [[1.0, 1000.0]], rtol=1e-15)
    np.testing.assert_allclose(
        convert(np.array([0.0, 100.0]), D.TEMPERATURE, "degF"), [32.0, 212.0], rtol=1e-15
    )
    assert factor("degF", D.TEMPERATURE_DIFFERENCE) == 5 / 9
    with pytest.raises(QuantityError, match="zero elsewhere"):
        factor("degF", D.TEMPERATURE)


def test_no_spelling_is_lost() -> None:
    """No two units of a dimension share a spelling, and every spelling is read as its unit."""
    for dimension in D:
        known = [s for spellings in spellings_of(dimension).values() for s in spellings]
        assert len(known) == len(set(known))
        for unit, spellings in spellings_of(dimension).items():
            for spelling in spellings:
                if spelling != "1":
                    assert parse(f"300 {spelling}", dimension) == parse(f"300 {unit}", dimension)


def test_the_page_names_every_unit() -> None:
    """The reference page has a table for each dimension with every spelling and the size of every unit."""
    for dimension in D:
        _, _, section = PAGE.partition(f"\n### {dimension.value.capitalize()}\n")
        rows = {m[1]: (m[2], m[3]) for m in ROW.finditer(section.partition("\n### ")[0])}
        assert tuple(rows) == units_of(dimension)
        for unit, spellings in spellings_of(dimension).items():
            also, size = rows[unit]
            assert tuple(re.findall("`([^`]+)`", also)) == spellings[1:]
            if dimension is not D.TEMPERATURE:
                assert float(size) == pytest.approx(factor(unit, dimension), rel=1e-9)


def test_the_page_is_right_about_refusals() -> None:
    """Whatever the page says is refused is refused, and what it offers instead is read."""
    section = PAGE.partition("## What is refused")[2].partition("\n\nCapital")[0]
    rows = [row.split("|")[1:4] for row in section.splitlines() if row.startswith("| `")]
    assert len(rows) >= 15
    for wrong, _, right in rows:
        dimension = (
            D.ANGLE if "angle" in wrong or "/ft" in right else D.FORCE if "force" in wrong else D.LENGTH
        )
        read = parse_limits if "limits" in wrong else parse_toleranced
        for text in re.findall("`([^`]+)`", wrong):
            with pytest.raises(QuantityError):
                read(text, dimension, bare=units_of(dimension)[0])
        for text in re.findall("`([^`]+)`", right):
            read(text, dimension, bare=units_of(dimension)[0])


def test_the_page_is_right_about_sizes() -> None:
    """The nominals and limits in the page's table are those that are read."""
    section = PAGE.partition("## Sizes with limits")[2].partition("\n\nWho lends")[0]
    rows = [row.split("|")[1:4] for row in section.splitlines() if row.startswith("| `")]
    assert len(rows) == 10
    for texts, nominal, limits in rows:
        for text in re.findall("`([^`]+)`", texts):
            found = parse_toleranced(text, D.LENGTH, bare="mm")
            assert found.nominal == parse(nominal.strip(), D.LENGTH)
            if "mm" in limits:
                expected = parse_limits(limits.strip(), D.LENGTH)
                assert (found.lower, found.upper) == pytest.approx(expected, rel=1e-15)
            else:
                assert found.lower is None


def test_refusals_travel() -> None:
    """A refusal survives copying and pickling, so that it can cross to another process."""
    with pytest.raises(QuantityError) as refused:
        parse("5 mil", D.LENGTH)
    for twin in (copy.copy(refused.value), pickle.loads(pickle.dumps(refused.value))):
        assert (twin.what, twin.remedy) == (refused.value.what, refused.value.remedy)
