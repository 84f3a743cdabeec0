"""Sizes, limits and names as the bench and the pages of parts say them."""

from math import isinf

from loopwright import units
from loopwright.asbuilt.conformity import Conformity, Verdict
from loopwright.model.records import Reading
from loopwright.sheets.markup import Markup
from loopwright.sheets.shown import Shown, percent
from loopwright.units import Dimension
from loopwright.web.views.kit import chance, chip
from loopwright.web.wording import say

STEEP = 0.02
"""An angle above this is a size in degrees, one below it a small angle, rad; common practice."""


def unit_of_size(shown: Shown, value: float, dimension: Dimension) -> str:
    """Unit in which a size is written."""
    if dimension is Dimension.ANGLE:
        return "deg" if abs(value) > STEEP else shown.units.angle
    return shown.units.length


def sized(shown: Shown, value: float, dimension: Dimension, std: float | None = None) -> str:
    """A size, rounded to what is known of it."""
    unit = unit_of_size(shown, value, dimension)
    return units.format_value(value, dimension, unit, uncertainty=std or None, digits=1 if std else 7)


def stated_size(shown: Shown, nominal: float, dimension: Dimension) -> str:
    """The size of a dim as a drawing has it: '85 mm'."""
    return units.format_value(nominal, dimension, unit_of_size(shown, nominal, dimension), digits=7)


def stated(shown: Shown, nominal: float, limits: tuple[float, float] | None, dimension: Dimension) -> str:
    """A dim as a drawing has it: '85 ±0.02 mm', '12 0/-0.011 mm', '90 deg ±8 arcsec'."""
    unit = unit_of_size(shown, nominal, dimension)
    size = stated_size(shown, nominal, dimension)
    if limits is None or any(map(isinf, limits)):
        return size
    of_limits = shown.units.angle if dimension is Dimension.ANGLE else unit
    lower, upper = (_number(limit - nominal, dimension, of_limits) for limit in limits)
    words = f"±{upper}" if lower == f"-{upper}" else "/".join(_signed(one) for one in (upper, lower))
    number = size.removesuffix(f" {of_limits}")
    return f"{number} {words} {of_limits}"


def _number(value: float, dimension: Dimension, unit: str) -> str:
    """A deviation as a drawing has it, without the digits of a subtraction; from another unit, to three digits."""
    found = float(f"{float(units.convert(value, dimension, unit)):.6g}")
    if abs(found) < 1e-9:
        return "0"
    return f"{found:.6g}" if float(f"{found:.5g}") == found else f"{found:.3g}"


def _signed(text: str) -> str:
    return text if text == "0" or text.startswith("-") else f"+{text}"


def limits_words(shown: Shown, lower: float, upper: float, dimension: Dimension) -> str:
    """Limits of a size: '5.995 … 6.005 mm'; of a test, which lie to either side of zero: '±3 µm'."""
    if lower == -upper:
        return "±" + shown.limit(upper, dimension)
    ends = [
        "−∞" if isinf(lower) else sized(shown, lower, dimension),
        "∞" if isinf(upper) else sized(shown, upper, dimension),
    ]
    number, _, unit = ends[0].partition(" ")
    return f"{number if unit == ends[1].partition(' ')[2] else ends[0]} … {ends[1]}"


def verdict_chip(held: Conformity | None) -> Markup:
    """A verdict as a shape and a word."""
    return chip("told", say("bench.no_limits")) if held is None else chip(str(held.verdict))


def verdict_words(shown: Shown, held: Conformity, dimension: Dimension, nominal: float | None = None) -> str:
    """A verdict in a sentence: probability, limits, rule; limits as on the drawing where the nominal is given."""
    if nominal is None or isinf(held.lower) or isinf(held.upper):
        limits = limits_words(shown, held.lower, held.upper, dimension)
    else:
        limits = stated(shown, nominal, (held.lower, held.upper), dimension)
    key = "bench.verdict_open" if held.verdict is Verdict.UNDECIDED else "bench.verdict"
    return say(
        key,
        limits=limits,
        chance=chance(held.probability),
        rule=held.rule,
    )


def chance_words(share: float) -> str:
    """A chance that was counted in trials: never 100 % because of rounding.

    >>> chance_words(0.9989), chance_words(0.874)
    ('over 99 %', '87 %')
    """
    words = percent(min(share, 1.0), 0.01)
    return "over 99 %" if words == "100 %" else words


def name_of(reading: Reading) -> str:
    """What a reading is about, in a heading."""
    if reading.item is not None:
        return say("bench.name_item", of=reading.of, item=reading.item)
    if reading.against is not None:
        return say("bench.name_against", of=reading.of, against=reading.against)
    return reading.of


def day(at: str) -> str:
    """A time of the book, to the minute."""
    return at[:16].replace("T", " ")
