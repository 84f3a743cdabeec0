"""Reading one quantity: a number and a unit, as written in a shop, to a float in the internal unit."""

import math
import re

from loopwright.errors import QuantityError
from loopwright.units.arcs import arc
from loopwright.units.table import SPELLED, Dimension, Unit, look_up, units_of

LONGEST = 60  # characters of one quantity; none needs more, and it bounds the work

_QUANTITY = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>[0-9]+)(?:[ ]+|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)
      |(?P<plain>(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?))
    \s*(?P<unit>(?:(?<=\s)(?:1e-6|10⁻⁶|10\^-6|1)(?=\s*/))?(?!\s*/\s*[0-9.+\-])[^0-9\s.,+\-±_*×÷^=()−–—¼½¾⅛⅜⅝⅞⁄].*?)?\s*""",
    re.VERBOSE | re.DOTALL,
)
_VULGAR = zip("¼½¾⅛⅜⅝⅞", ("1/4", "1/2", "3/4", "1/8", "3/8", "5/8", "7/8"))
_FRACTIONS = {"⁄": "/", **{sign: f" {spelled} " for sign, spelled in _VULGAR}}
_LOOKALIKES = str.maketrans({"\u2212": "-", "\ufeff": "", "\u200b": "", **_FRACTIONS})
_ABSOLUTE_ZERO = -273.15


def parse(text: str | int | float, dimension: Dimension, *, bare: str | None = None) -> float:
    """One quantity, in the dimension's internal unit.

    Reads decimal numbers with a point, '1e-3', fractions '3/8' and mixed numbers '1 1/2' or '1-1/2', each
    with one unit of the table; angles also in degrees, minutes and seconds of arc. There is no arithmetic.

    Args:
        text: what was written, or a number that came without quotes.
        dimension: what is wanted.
        bare: the unit a number without unit is in; with None such a number is refused, except for a ratio
            (then a plain fraction) and a number.

    Returns:
        A finite float, internal unit.

    Raises:
        QuantityError: anything else; says what is wrong and what would do.

    >>> parse('1-1/2"', Dimension.LENGTH), parse(8, Dimension.LENGTH, bare="µm")
    (38.1, 0.008)
    """
    if type(text) is str and len(text) <= LONGEST:
        number, spelling = split(text, dimension)
        if spelling is not None:
            unit = SPELLED[dimension].get(spelling) or look_up(spelling, dimension, text)
        else:
            unit = bare_unit(dimension, bare, text)
        return scaled(number, unit, dimension, text)
    if isinstance(text, str):
        return parse(checked_text(text, dimension), dimension, bare=bare)
    return scaled(_number(text, dimension), bare_unit(dimension, bare, text), dimension, text)


def split(text: str, dimension: Dimension) -> tuple[float, str | None]:
    """Number and unit of a text, the number as written and the unit None where there is none."""
    if dimension is Dimension.ANGLE:
        parts = arc(tidied(text))
        if parts is not None:
            return parts
    found = _QUANTITY.fullmatch(text) or _QUANTITY.fullmatch(tidied(text))
    if found is None:
        raise refusal(text, dimension)
    sign, whole, top, bottom, plain, unit = found.groups()
    if plain is not None:
        number = float(plain)
        if number == 0.0 and any(c in "123456789" for c in plain.lower().partition("e")[0]):
            raise QuantityError(
                f"{text!r} is too small to be told from nothing", "write 0, or check the exponent"
            )
    else:
        number = _fraction(text, int(whole or 0), int(top), int(bottom), mixed=whole is not None)
    return (-number if sign == "-" else number), unit


def _fraction(text: str, whole: int, top: int, bottom: int, *, mixed: bool) -> float:
    if bottom == 0:
        raise QuantityError(f"{text!r} divides by zero", "write a fraction such as 3/8, or a decimal number")
    if mixed and top >= bottom:
        raise QuantityError(
            f"{text!r}: after a whole number the fraction must be less than one",
            "write it as a decimal number",
        )
    return (whole * bottom + top) / bottom


def tidied(text: str) -> str:
    """The text with every kind of space a plain one, and minus signs and vulgar fractions spelled out."""
    return " ".join(text.translate(_LOOKALIKES).split())


def checked_text(text: object, dimension: Dimension, *, quantities: int = 1) -> str:
    """The text as a plain str, once it is known to be one and not too long for so many quantities."""
    if not isinstance(text, str):
        raise QuantityError(
            f"{dimension.with_article} is wanted, {_kind(text)} was given", example(dimension)
        )
    if len(text) > LONGEST * quantities:
        raise QuantityError(
            f"{text[:20]!r}… has {len(text)} characters, too many for {dimension.with_article}",
            example(dimension),
        )
    return str(text)


def _kind(value: object) -> str:
    """How to name a value of the wrong type in a message."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"a {type(value).__name__}"


def _number(value: object, dimension: Dimension) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityError(
            f"{dimension.with_article} is wanted, {_kind(value)} was given", example(dimension)
        )
    try:
        return float(value)
    except OverflowError:
        raise QuantityError("the number given is too large", "check the exponent or the unit") from None


def bare_unit(dimension: Dimension, bare: str | None, given: object) -> Unit:
    """The unit that a number without one takes."""
    if bare is not None:
        return look_up(bare, dimension)
    plain = SPELLED[dimension].get("1")
    if plain is None:
        shown = given if isinstance(given, str) else f"{given:.6g}"
        names = ", ".join(units_of(dimension)[:6])
        raise QuantityError(f"{shown!r} has no unit, {dimension.with_article} needs one", f"add one: {names}")
    return plain


def scaled(number: float, unit: Unit, dimension: Dimension, given: object) -> float:
    """A number in a unit, as a finite float in the internal unit."""
    value = (number + unit.offset) * unit.mul / unit.div if unit.offset else number * unit.mul / unit.div
    if not math.isfinite(value):
        shown = repr(given) if isinstance(given, str) else "the number given"
        if math.isnan(value):
            raise QuantityError(f"{shown} is not a number", example(dimension))
        raise QuantityError(f"{shown} is too large", "check the exponent or the unit")
    if dimension is Dimension.TEMPERATURE and value < _ABSOLUTE_ZERO:
        if value < _ABSOLUTE_ZERO - 1e-9:
            raise QuantityError(f"{given!r} is colder than absolute zero", "check the sign and the unit")
        return _ABSOLUTE_ZERO
    return value


def example(dimension: Dimension) -> str:
    """A remedy that shows the form wanted."""
    unit = "arcsec" if dimension is Dimension.ANGLE else units_of(dimension)[0]
    return (
        f"write a number and a unit, such as '12.5 {unit}'"
        if unit != "1"
        else "write a number, such as '0.25'"
    )


_COMMA = re.compile(r"[0-9],[0-9]|,[0-9]")
_SPACED = re.compile(r"[0-9] [0-9]{3}(?![0-9/])")
_NOT_NUMBER = re.compile(r"[+-]? ?\.?(?:nan|inf|infinity|∞)\b", re.IGNORECASE)


def refusal(text: str, dimension: Dimension) -> QuantityError:
    """Why a text is no quantity, found by looking for what people commonly write instead."""
    tidy = tidied(text)
    if not tidy:
        return QuantityError(
            f"nothing is written where {dimension.with_article} is wanted", example(dimension)
        )
    if _COMMA.search(tidy):
        return _comma(text, tidy)
    if _SPACED.search(tidy):
        return QuantityError(
            f"{text!r}: digits are not grouped here",
            f"write them together: {re.sub('(?<=[0-9]) (?=[0-9]{3})', '', tidy)}",
        )
    if "_" in tidy:
        return QuantityError(
            f"{text!r}: an underscore is not part of a number", f"leave it out: {tidy.replace('_', '')}"
        )
    if _NOT_NUMBER.match(tidy):
        return QuantityError(f"{text!r} is not a finite number", example(dimension))
    if "±" in tidy or "+-" in tidy or re.search(r"/ ?[+-] ?[0-9.]", tidy):
        return QuantityError(f"{text!r} has limits, one value is wanted", "leave the limits out here")
    if re.search(r"[0-9a-zA-Z\"'] ?[+-] ?[0-9.]", tidy):
        return QuantityError(
            f"{text!r} is two numbers with a sign between them",
            "write one value; limits come as '±0.01' or '+0.02/-0.01'",
        )
    if re.search(r"[*×÷^=()]|/ ?[0-9.]", tidy):
        return QuantityError(f"{text!r}: nothing is worked out here", "write one number with one unit")
    if not re.search("[0-9]", tidy):
        return QuantityError(f"{text!r} has no number in it", example(dimension))
    return QuantityError(f"{text!r} is not a number followed by a unit", example(dimension))


def _comma(text: str, tidy: str) -> QuantityError:
    """A comma may be a decimal mark or group thousands; where it is plain which, one reading is offered."""
    tidy = re.sub("(?<=[0-9]) (?=[0-9]{3})", "", tidy)
    pointed, joined = tidy.replace(",", "."), tidy.replace(",", "")
    if tidy.count(",") > 1 or "." in tidy:
        return QuantityError(f"{text!r}: commas do not group digits here", f"leave them out: {joined}")
    if re.search(r"[1-9][0-9]{0,2},[0-9]{3}(?![0-9])", tidy):
        return QuantityError(
            f"{text!r}: the comma could be a decimal mark or group thousands", f"write {pointed} or {joined}"
        )
    return QuantityError(f"{text!r}: the decimal mark here is a point", f"use a point: {pointed}")
