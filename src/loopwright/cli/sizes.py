"""Sizes of parts as the drawing has them: whole, in the build's unit, rounded to their uncertainty."""

from math import isinf

from loopwright import units
from loopwright.model.build import Units
from loopwright.sheets.shown import Shown
from loopwright.units import Dimension

_STEEP = 0.02
"""An angle above this is a size in degrees, one below it a small angle; rad."""


def unit_of_size(shown: Units, value: float, dimension: Dimension) -> str:
    """Unit in which a size is written."""
    if dimension is Dimension.ANGLE:
        return "deg" if abs(value) > _STEEP else shown.angle
    return shown.length


def size(shown: Units, value: float, std: float, dimension: Dimension) -> tuple[str, str]:
    """A size and its standard uncertainty: '6.0210 mm', '0.78 µm'."""
    unit = unit_of_size(shown, value, dimension)
    written = units.format_value(value, dimension, unit, uncertainty=std or None, digits=1 if std else 8)
    return written, Shown(shown).error(std, dimension)


def plain_size(shown: Units, value: float, dimension: Dimension) -> str:
    """A size as somebody stated it: '6.02 mm'."""
    return units.format_value(value, dimension, unit_of_size(shown, value, dimension), digits=7)


def limits_words(shown: Units, limits: tuple[float, float], dimension: Dimension) -> str:
    """Limits of a size: '5.995 … 6.005 mm'; of a test, which are small: '±3 µm'."""
    low, high = limits
    if low == -high:
        return "±" + Shown(shown).limit(high, dimension)
    words = [
        "-" if isinf(v) else units.format_value(v, dimension, unit_of_size(shown, v, dimension), digits=8)
        for v in limits
    ]
    if words[0].partition(" ")[2] == words[1].partition(" ")[2]:
        words[0] = words[0].partition(" ")[0]
    return " … ".join(words)
