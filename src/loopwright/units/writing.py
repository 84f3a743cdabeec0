"""Writing quantities: rounded for people, or exact for files."""

import math
from collections.abc import Callable
from decimal import Decimal

from loopwright.errors import QuantityError
from loopwright.units.reading import scaled
from loopwright.units.table import Dimension, Unit, look_up, units_of

_SENSIBLE = 15  # significant digits that a float can vouch for


def format_value(
    value: float,
    dimension: Dimension,
    unit: str,
    *,
    uncertainty: float | None = None,
    sign: bool = False,
    digits: int | None = None,
) -> str:
    """A quantity for people: no more digits than it deserves, and its unit.

    Args:
        value: internal unit. Infinity is written '∞', NaN 'not known'.
        dimension: what the value is.
        unit: the unit to write it in, any accepted spelling.
        uncertainty: standard or expanded, internal unit; the value is rounded to the same place as this.
        sign: write '+' before positive values.
        digits: significant digits kept; of the uncertainty where one above zero is given (default 2, as in
            JCGM 100:2008, 7.2.6), else of the value (default 4, trailing zeros dropped).

    Returns:
        Text such as '12.3 µm'. Scientific notation only from 1e9 up and below 1e-6.

    Raises:
        QuantityError: unknown unit.

    >>> format_value(0.0123456, Dimension.LENGTH, "µm", uncertainty=0.0015, sign=True)
    '+12.3 µm'
    >>> format_value(0.0123456, Dimension.LENGTH, "thou")
    '0.486 thou'
    """
    found = look_up(unit, dimension)
    written = value * found.div / found.mul - found.offset
    spread = None if uncertainty is None else abs(uncertainty) * found.div / found.mul
    if math.isnan(written) or (spread is not None and not math.isfinite(spread)):
        return "not known"
    if math.isinf(written):
        return _with_unit("-∞" if written < 0 else "+∞" if sign else "∞", found)
    keep = max(digits, 1) if digits is not None else 2 if spread else 4
    if spread:
        text = _to_place(written, 1 - keep + _leading(spread, keep))
    elif written:
        text = _without_zeros(_to_place(written, 1 - keep + _leading(written, keep)))
    else:
        text = "0"
    return _with_unit(("+" if sign and written > 0 and text.strip("0.") else "") + text, found)


def _leading(value: float, digits: int) -> int:
    """Power of ten of the first digit, once rounded to so many digits."""
    return int(f"{abs(value):.{digits - 1}e}".partition("e")[2])


def _to_place(value: float, place: int) -> str:
    """The value rounded to the power of ten ``place``, but to no finer than a float can tell."""
    if value:
        place = max(place, _leading(value, 1) + 1 - _SENSIBLE)
    text = f"{round(Decimal(repr(float(value))).scaleb(-place)):d}"
    rounded = Decimal(text).scaleb(place)
    if not rounded:
        return f"{0:.{min(max(-place, 0), _SENSIBLE)}f}"
    if 1e-6 <= abs(rounded) < 1e9:
        return f"{rounded:f}" if place <= 0 else f"{int(rounded)}"
    figures = len(text.lstrip("-"))
    mantissa, _, power = f"{rounded:.{figures - 1}e}".partition("e")
    return f"{mantissa}e{int(power)}"


def _without_zeros(text: str) -> str:
    mantissa, e, power = text.partition("e")
    return (mantissa.rstrip("0").rstrip(".") if "." in mantissa else mantissa) + e + power


def _with_unit(text: str, unit: Unit) -> str:
    return text if unit.name == "1" else f"{text} {unit.name}"


def format_limits(lower: float, upper: float, dimension: Dimension, unit: str) -> str:
    """A pair of limits, exactly: the shortest text that reads back to the same floats.

    Not every float has such a text in every unit; where it has none, the text reads back to its neighbour.
    In the internal unit it always has.

    Args:
        lower: lower limit as deviation from the nominal, internal unit.
        upper: upper limit, likewise, no less than the lower.
        dimension: what the limits are of; limits of a temperature are temperature differences.
        unit: the unit to write them in, any accepted spelling.

    Returns:
        '±0.02 mm' or '+0.02/-0.01 mm', for :func:`parse_limits`.

    Raises:
        QuantityError: unknown unit, limits in the wrong order or not finite.

    >>> format_limits(-0.013, 0.0, Dimension.LENGTH, "µm")
    '0/-13 µm'
    """
    if dimension is Dimension.TEMPERATURE:
        dimension = Dimension.TEMPERATURE_DIFFERENCE
    found = look_up(unit, dimension)
    if not (math.isfinite(lower) and math.isfinite(upper)):
        raise QuantityError(f"limits {lower} and {upper} are not finite", "give both as numbers")
    if lower > upper:
        raise QuantityError(f"the lower limit {lower} is above the upper limit {upper}", "exchange them")
    if lower == -upper:
        return _with_unit("±" + _shortest(upper, found, dimension), found)
    return _with_unit("/".join(_signed(x, _shortest(x, found, dimension)) for x in (upper, lower)), found)


def _signed(value: float, text: str) -> str:
    return "+" + text if value > 0 else text


def _shortest(value: float, unit: Unit, dimension: Dimension) -> str:
    """Fewest digits that read back to the very float; where none do, those that come nearest."""
    if value == 0:
        return "0"
    written = value * unit.div / unit.mul
    if not math.isfinite(written):
        raise QuantityError(
            f"{value} is too large to be written in {unit.name}", f"write it in {units_of(dimension)[0]}"
        )
    around = (written, math.nextafter(written, math.inf), math.nextafter(written, -math.inf))
    texts = [f"{x:.{digits}e}" for digits in range(17) for x in (around if digits >= 14 else around[:1])]
    reads: Callable[[str], float] = lambda text: float(text) * unit.mul / unit.div  # noqa: E731
    best = next((text for text in texts if reads(text) == value), None) or repr(written)
    return _fixed(best)


def _fixed(text: str) -> str:
    """A number's text without exponent where that is short, and without trailing zeros."""
    number = Decimal(text)
    if number and not -8 <= number.adjusted() <= 15:
        return _without_zeros(text.lower())
    return _without_zeros(f"{number:f}")


def format_exact(value: float, dimension: Dimension) -> str:
    """A quantity in its internal unit, in the text that :func:`parse` turns back into the identical float.

    Args:
        value: internal unit, finite.
        dimension: what the value is.

    Returns:
        Text such as '12.5 mm'.

    Raises:
        QuantityError: the value is not finite, or a temperature below absolute zero.

    >>> format_exact(300000, Dimension.STIFFNESS)
    '300000.0 N/mm'
    """
    unit = look_up(units_of(dimension)[0], dimension)
    return _with_unit(repr(scaled(float(value), unit, dimension, float(value))), unit)
