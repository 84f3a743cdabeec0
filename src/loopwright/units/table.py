"""Every unit that is read or written, its spellings and its exact size."""

import difflib
import math
import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any, overload

from loopwright.errors import QuantityError
from loopwright.units.arcs import is_arc


class Dimension(StrEnum):
    """What a number is a number of. The value is the word used in messages; the comment, the unit inside."""

    LENGTH = "length"  # mm
    ANGLE = "angle"  # rad
    MASS = "mass"  # kg
    FORCE = "force"  # N
    STIFFNESS = "stiffness"  # N/mm
    ROTARY_STIFFNESS = "rotary stiffness"  # N·mm/rad
    TORQUE = "torque"  # N·mm
    PRESSURE = "pressure"  # MPa
    DENSITY = "density"  # kg/m³
    TIME = "time"  # s
    TEMPERATURE = "temperature"  # degC
    TEMPERATURE_DIFFERENCE = "temperature difference"  # K
    EXPANSION = "expansion"  # 1/K
    RATIO = "ratio"  # plain fraction
    NUMBER = "number"  # plain number
    SPEED = "speed"  # mm/s
    ROTARY_SPEED = "rotary speed"  # rad/s
    POWER = "power"  # W
    ACCELERATION = "acceleration"  # mm/s²

    @property
    def with_article(self) -> str:
        """The word with its article, for sentences.

        >>> Dimension.ANGLE.with_article
        'an angle'
        """
        return f"{'an' if self.value[0] in 'aeiou' else 'a'} {self.value}"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one dimension: inside = (written + offset) * mul / div.

    Multiplier and divisor are kept apart so that 9 µm becomes exactly the float 0.009.

    Attributes:
        name: canonical spelling, the one that is printed.
        mul, div: size of the unit in the internal unit, as a quotient.
        offset: added to the written number first; 0 but for absolute temperatures in K and degF.
        fine: a unit for deviations, not for sizes; after limits it does not reach back to the nominal.
        spellings: all accepted spellings, canonical first.
    """

    name: str
    mul: float
    div: float
    offset: float
    fine: bool
    spellings: tuple[str, ...]


def _unit(
    name: str,
    size: str | int | Fraction,
    also: str = "",
    *,
    pi: int = 0,
    offset: float = 0.0,
    fine: bool = False,
) -> Unit:
    """A unit of this exact size, times pi to the power ``pi``; ``also`` has more spellings, between '|'."""
    exact = Fraction(size)
    mul, div = float(exact.numerator), float(exact.denominator)
    if pi > 0:
        mul *= math.pi
    elif pi < 0:
        div *= math.pi
    return Unit(name, mul, div, offset, fine, (name, *(s for s in also.split("|") if s)))


_INCH = Fraction("25.4")
_LB = Fraction("0.45359237")
_G0 = Fraction("9.80665")
_LBF = _LB * _G0
_PSI = _LBF / _INCH**2
_MICRO = Fraction(1, 10**6)
_MILLI = Fraction(1, 1000)
_ARCSEC = Fraction(1, 648000)
_D = Dimension

_UNITS: dict[Dimension, tuple[Unit, ...]] = {
    _D.LENGTH: (
        _unit("mm", 1, "millimetre|millimetres|millimeter|millimeters"),
        _unit("µm", _MILLI, "um|micron|microns|micrometre|micrometres", fine=True),
        _unit("nm", _MICRO, "nanometre|nanometres", fine=True),
        _unit("cm", 10),
        _unit("m", 1000, "metre|metres|meter|meters"),
        _unit("in", _INCH, '"|inch|inches|in.'),
        _unit("thou", _INCH / 1000, fine=True),
        _unit("tenths", _INCH / 10**4, "tenth", fine=True),
        _unit("µin", _INCH / 10**6, "uin|microinch|microinches", fine=True),
        _unit("ft", _INCH * 12, "'|foot|feet"),
    ),
    _D.ANGLE: (
        _unit("rad", 1),
        _unit("mrad", _MILLI, fine=True),
        _unit("µrad", _MICRO, "urad", fine=True),
        _unit("deg", Fraction(1, 180), "°|degree|degrees", pi=1),
        _unit("arcmin", 60 * _ARCSEC, pi=1, fine=True),
        _unit("arcsec", _ARCSEC, pi=1, fine=True),
        _unit("µm/m", _MICRO, "um/m", fine=True),
        _unit("mm/m", _MILLI, "µm/mm|um/mm", fine=True),
        _unit("µm/100 mm", Fraction(1, 10**5), "µm/100mm|um/100 mm|um/100mm", fine=True),
        _unit("mm/100 mm", Fraction(1, 100), "mm/100mm", fine=True),
        _unit("µm/300 mm", Fraction(1, 300000), "µm/300mm|um/300 mm|um/300mm", fine=True),
        _unit("mm/300 mm", Fraction(1, 300), "mm/300mm", fine=True),
        _unit("thou/ft", Fraction(1, 12000), fine=True),
        _unit("thou/in", _MILLI, fine=True),
        _unit("tenths/ft", Fraction(1, 120000), "tenth/ft", fine=True),
        _unit("tenths/in", Fraction(1, 10000), "tenth/in", fine=True),
        _unit("µin/in", _MICRO, "uin/in", fine=True),
        _unit("in/ft", Fraction(1, 12), fine=True),
    ),
    _D.MASS: (
        _unit("kg", 1),
        _unit("g", _MILLI),
        _unit("mg", _MICRO),
        _unit("t", 1000, "tonne|tonnes"),
        _unit("lb", _LB, "lbs|lbm"),
        _unit("oz", _LB / 16),
    ),
    _D.FORCE: (
        _unit("N", 1),
        _unit("mN", _MILLI),
        _unit("daN", 10),
        _unit("kN", 1000),
        _unit("MN", 10**6),
        _unit("lbf", _LBF),
        _unit("ozf", _LBF / 16),
        _unit("kgf", _G0, "kp"),
    ),
    _D.STIFFNESS: (
        _unit("N/mm", 1, "kN/m"),
        _unit("N/µm", 1000, "N/um|kN/mm|MN/m"),
        _unit("N/m", _MILLI),
        _unit("kN/µm", 10**6, "kN/um"),
        _unit("lbf/in", _LBF / _INCH, "lb/in"),
        _unit("lbf/thou", _LBF / _INCH * 1000, "lb/thou"),
        _unit("kgf/mm", _G0),
        _unit("kgf/µm", _G0 * 1000, "kgf/um"),
    ),
    _D.ROTARY_STIFFNESS: (
        _unit("N·mm/rad", 1, "Nmm/rad"),
        _unit("N·m/rad", 1000, "Nm/rad"),
        _unit("kN·m/rad", 10**6, "kNm/rad"),
        _unit("N·m/mrad", 10**6, "Nm/mrad"),
        _unit("N·m/µrad", 10**9, "N·m/urad|Nm/µrad|Nm/urad"),
        _unit("N·m/deg", 180000, "Nm/deg|N·m/°|Nm/°", pi=-1),
        _unit("N·m/arcmin", 10800000, "Nm/arcmin", pi=-1),
        _unit("N·m/arcsec", 648000000, "Nm/arcsec", pi=-1),
        _unit("lbf·in/rad", _LBF * _INCH, "in·lbf/rad|lb·in/rad|in·lb/rad"),
        _unit("ft·lbf/rad", _LBF * _INCH * 12, "lbf·ft/rad|ft·lb/rad|lb·ft/rad"),
        _unit("ft·lbf/deg", _LBF * _INCH * 12 * 180, "lbf·ft/deg|ft·lb/deg|lb·ft/deg", pi=-1),
    ),
    _D.TORQUE: (
        _unit("N·mm", 1, "Nmm"),
        _unit("N·cm", 10, "Ncm"),
        _unit("mN·m", 1, "mNm"),
        _unit("N·m", 1000, "Nm"),
        _unit("kN·m", 10**6, "kNm"),
        _unit("lbf·in", _LBF * _INCH, "in·lbf|lb·in|in·lb"),
        _unit("ft·lbf", _LBF * _INCH * 12, "lbf·ft|ft·lb|lb·ft"),
        _unit("ozf·in", _LBF * _INCH / 16, "in·ozf|oz·in|in·oz"),
        _unit("kgf·cm", _G0 * 10, "kg·cm"),
    ),
    _D.PRESSURE: (
        _unit("MPa", 1, "N/mm²"),
        _unit("Pa", _MICRO, "N/m²"),
        _unit("kPa", _MILLI),
        _unit("GPa", 1000, "kN/mm²"),
        _unit("bar", Fraction(1, 10)),
        _unit("mbar", Fraction(1, 10**4)),
        _unit("psi", _PSI, "lbf/in²"),
        _unit("ksi", _PSI * 1000),
        _unit("Msi", _PSI * 10**6),
        _unit("kgf/cm²", _G0 / 100),
        _unit("kgf/mm²", _G0),
    ),
    _D.DENSITY: (
        _unit("kg/m³", 1, "g/l|g/L"),
        _unit("g/cm³", 1000, "g/cc|kg/l|kg/L|kg/dm³|t/m³"),
        _unit("lb/in³", _LB / (_INCH / 1000) ** 3),
        _unit("lb/ft³", _LB / (_INCH * 12 / 1000) ** 3),
    ),
    _D.TIME: (
        _unit("s", 1, "sec|second|seconds"),
        _unit("ms", _MILLI),
        _unit("min", 60, "mins|minute|minutes"),
        _unit("h", 3600, "hr|hrs|hour|hours"),
        _unit("d", 86400, "day|days"),
    ),
    _D.TEMPERATURE: (
        _unit("degC", 1, "°C|C"),
        _unit("degF", Fraction(5, 9), "°F|F", offset=-32.0),
        _unit("K", 1, offset=-273.15, fine=True),
    ),
    _D.TEMPERATURE_DIFFERENCE: (
        _unit("K", 1),
        _unit("mK", _MILLI),
        _unit("degC", 1, "°C|C"),
        _unit("degF", Fraction(5, 9), "°F|F"),
    ),
    _D.EXPANSION: (
        _unit("1/K", 1, "/K|1/degC|/degC|/°C"),
        _unit(
            "µm/m/K",
            _MICRO,
            "um/m/K|µm/(m·K)|um/(m·K)|µm/m·K|um/m·K|µm/m·degC|um/m·degC|µm/m°C|um/m°C|µm/m/degC|um/m/degC|µm/(m·degC)|um/(m·degC)",
        ),
        _unit("ppm/K", _MICRO, "ppm/degC|1e-6/K|1e-6/degC"),
        _unit("µin/in/degF", _MICRO * Fraction(9, 5), "uin/in/degF|µin/(in·degF)|uin/(in·degF)"),
        _unit("ppm/degF", _MICRO * Fraction(9, 5), "1e-6/degF"),
        _unit("1/degF", Fraction(9, 5), "/degF|/°F"),
    ),
    _D.RATIO: (
        _unit("1", 1),
        _unit("%", Fraction(1, 100), "percent"),
        _unit("‰", _MILLI),
        _unit("ppm", _MICRO),
        _unit("µm/m", _MICRO, "um/m"),
        _unit("mm/m", _MILLI),
        _unit("µm/300 mm", Fraction(1, 300000), "µm/300mm|um/300 mm|um/300mm"),
        _unit("thou/ft", Fraction(1, 12000)),
    ),
    _D.NUMBER: (_unit("1", 1),),
    _D.SPEED: (
        _unit("mm/s", 1),
        _unit("µm/s", _MILLI, "um/s"),
        _unit("m/s", 1000),
        _unit("mm/min", Fraction(1, 60)),
        _unit("m/min", Fraction(1000, 60)),
        _unit("in/s", _INCH),
        _unit("in/min", _INCH / 60, "ipm"),
        _unit("ft/min", _INCH * 12 / 60, "fpm|sfm"),
    ),
    _D.ROTARY_SPEED: (
        _unit("rad/s", 1),
        _unit("rpm", Fraction(1, 30), "rev/min|r/min|1/min|/min", pi=1),
        _unit("deg/s", Fraction(1, 180), "°/s", pi=1),
    ),
    _D.POWER: (
        _unit("W", 1),
        _unit("mW", _MILLI),
        _unit("kW", 1000),
        _unit("hp", _LBF * _INCH * 12 * 550 / 1000),
    ),
    _D.ACCELERATION: (
        _unit("mm/s²", 1),
        _unit("m/s²", 1000),
        _unit("in/s²", _INCH),
        _unit("ft/s²", _INCH * 12),
        _unit("g", _G0 * 1000),
    ),
}  # fmt: skip

SPELLED: dict[Dimension, dict[str, Unit]] = {
    dimension: {s: unit for unit in units for s in unit.spellings} for dimension, units in _UNITS.items()
}

# Words whose meaning no capital letter changes; compounds of nothing but these are read in any case.
_CASELESS = frozenset(
    "in in. in² in³ inch inches ft ft³ foot feet thou tenth tenths micron microns deg degree degrees arcmin "
    "arcsec kg lb lbs lbm lbf kgf oz ozf psi ksi bar sec min mins minute minutes hr hrs hour hours day days "
    "degc degf ppm percent rpm rev ipm fpm sfm hp kw 1".split()
)
_FOLDED: dict[Dimension, dict[str, Unit]] = {
    dimension: {s.lower(): u for s, u in spelled.items() if _CASELESS.issuperset(re.split("[/·]", s.lower()))}
    for dimension, spelled in SPELLED.items()
}

_SIGNS = str.maketrans(
    {
        **dict.fromkeys("⋅∙•*", "·"),
        **dict.fromkeys("″”“", '"'),
        **dict.fromkeys("′’", "'"),
        **{"μ": "µ", "º": "°", "℃": "degC", "℉": "degF"},
    }
)
_TIDY = (
    (re.compile(r" ?([/·)]) ?|(\() ?"), r"\1\2"),
    (re.compile(r"(?:°|deg) ?([CF])\b"), r"deg\1"),
    (re.compile(r"10(?:⁻⁶|\^-6)/"), "1e-6/"),
    (re.compile(r"(?<=[a-zA-Z])\^?2(?![0-9])"), "²"),
    (re.compile(r"(?<=[a-zA-Z])\^?3(?![0-9])"), "³"),
    (re.compile(r"(?<=[a-zA-Zµ])[- ](?=[a-zA-Zµ])"), "·"),
)


def _tidy(spelling: str) -> str:
    """A unit's text with look-alike signs, powers, products and spaces brought to the table's own."""
    text = " ".join(spelling.translate(_SIGNS).split())
    for pattern, replacement in _TIDY:
        text = pattern.sub(replacement, text)
    return text


def find(spelling: str, dimension: Dimension) -> Unit | None:
    """The unit with this spelling, or None where the dimension has none.

    >>> find("ft-lb", Dimension.TORQUE).name
    'ft·lbf'
    """
    known = SPELLED[dimension]
    unit = known.get(spelling)
    if unit is None:
        tidy = _tidy(spelling)
        unit = known.get(tidy) or _FOLDED[dimension].get(tidy.lower())
    return unit


def look_up(spelling: str, dimension: Dimension, given: str | None = None) -> Unit:
    """The unit with this spelling.

    Args:
        spelling: as written, without the number.
        dimension: what is wanted.
        given: the whole text as the user wrote it, for the message; the spelling itself when None.

    Raises:
        QuantityError: no such unit in this dimension; the remedy names the likeliest or all that would do.
    """
    unit = find(spelling, dimension)
    if unit is None:
        raise _unknown(spelling, dimension, spelling if given is None else given)
    return unit


def _unknown(spelling: str, dimension: Dimension, given: str) -> QuantityError:
    """Why this spelling is no unit of the dimension, and what would do."""
    text, wanted = _tidy(spelling), dimension.with_article
    if text in ('"', "'") and dimension is Dimension.ANGLE:
        word, other = ("arcsec", "inches") if text == '"' else ("arcmin", "feet")
        return QuantityError(f"{given!r}: {spelling} can mean {word} or {other}", f"write '{word}'")
    if dimension is not Dimension.ANGLE and is_arc(f"0{spelling}"):
        if spelling.lstrip().startswith("°") or spelling.lstrip().lower().startswith("deg"):
            return QuantityError(f"{given!r} is an angle, {wanted} is wanted", _would_do(dimension))
        return QuantityError(f"{given!r}: one number with one unit is wanted", "add the parts up in one unit")
    if re.search(r"[*/×÷·] ?[0-9.]", spelling):
        return QuantityError(f"{given!r}: nothing is worked out here", "write one number with one unit")
    if re.match(r"0[xob][0-9a-f]", given.strip("+- ").lower()):
        return QuantityError(
            f"{given!r}: numbers are read in base ten only", "write the number in decimal digits"
        )
    if text.lower() in ("mil", "mils"):
        meant = "'mrad', 'arcmin' or 'deg'" if dimension is Dimension.ANGLE else "'thou' (0.001 in) or 'mm'"
        return QuantityError(
            f"{given!r}: a 'mil' means different things in different shops", f"write {meant}"
        )
    same = [u.name for s, u in SPELLED[dimension].items() if s.lower() == text.lower()]
    if same:
        return QuantityError(
            f"{given!r}: capital letters change what {spelling!r} means", f"write {_either(same)}"
        )
    others = [d.with_article for d in Dimension if find(spelling, d) is not None]
    if others:
        return QuantityError(
            f"{given!r} is {_either(others, quote=False)}, {wanted} is wanted", _would_do(dimension)
        )
    near = difflib.get_close_matches(text, SPELLED[dimension], n=1, cutoff=0.6)
    remedy = f"did you mean {SPELLED[dimension][near[0]].name!r}?" if near else _would_do(dimension)
    return QuantityError(
        f"{given!r}: {spelling!r} is not a unit of {dimension.value} that is known here", remedy
    )


def _either(names: list[str], *, quote: bool = True) -> str:
    return " or ".join(dict.fromkeys(f"'{n}'" if quote else n for n in names))


def _would_do(dimension: Dimension) -> str:
    names = [n for n in units_of(dimension) if n != "1"]
    if not names:
        return "write a plain number, without a unit"
    shown = ", ".join(names[:8])
    return (
        f"use {'a unit such as ' if len(names) > 8 else 'one of '}{shown}"
        if len(names) > 1
        else f"use {shown}"
    )


def units_of(dimension: Dimension) -> tuple[str, ...]:
    """Canonical spellings of a dimension's units, the internal one first; '1' stands for no unit at all.

    >>> units_of(Dimension.TEMPERATURE)
    ('degC', 'degF', 'K')
    """
    return tuple(unit.name for unit in _UNITS[dimension])


def spellings_of(dimension: Dimension) -> dict[str, tuple[str, ...]]:
    """Every accepted spelling of a dimension's units, by canonical spelling.

    >>> spellings_of(Dimension.LENGTH)["tenths"]
    ('tenths', 'tenth')
    """
    return {unit.name: unit.spellings for unit in _UNITS[dimension]}


def factor(unit: str, dimension: Dimension) -> float:
    """What to multiply a value in this unit with, to have it in the internal unit.

    Args:
        unit: any accepted spelling.
        dimension: what the value is.

    Returns:
        Internal units per unit.

    Raises:
        QuantityError: unknown unit, or one that needs an offset (absolute temperature in K or degF).

    >>> factor("in", Dimension.LENGTH)
    25.4
    """
    found = look_up(unit, dimension)
    if found.offset:
        raise QuantityError(
            f"{found.name} has its zero elsewhere, so a {dimension.value} in it is not a multiple of degC",
            "read it with parse() and write it with convert(), or ask for a temperature difference",
        )
    return found.mul / found.div


@overload
def convert(value: float, dimension: Dimension, unit: str) -> float: ...
@overload
def convert(value: Any, dimension: Dimension, unit: str) -> Any: ...
def convert(value: Any, dimension: Dimension, unit: str) -> Any:
    """A value in internal units, expressed in another unit.

    Args:
        value: float, or array of any shape, in the dimension's internal unit.
        dimension: what the value is.
        unit: any accepted spelling.

    Returns:
        The same shape, in ``unit``.

    Raises:
        QuantityError: unknown unit.

    >>> convert(20.0, Dimension.TEMPERATURE, "degF")
    68.0
    """
    found = look_up(unit, dimension)
    scaled = value * found.div / found.mul
    return scaled - found.offset if found.offset else scaled
