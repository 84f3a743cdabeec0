"""Quantities in and out: what people write in the shop on one side, plain floats on the other.

Inside, every length is in mm, every angle in rad, every stiffness in N/mm and so on (see :class:`Dimension`);
this room is the one place that converts. ``docs/reference/units.md`` lists every spelling.

>>> parse("5 thou", Dimension.LENGTH)
0.127
>>> parse_toleranced("240 ±20 µm", Dimension.LENGTH, bare="mm")
Toleranced(nominal=240.0, lower=-0.02, upper=0.02, fit=None)
>>> format_value(0.0123456, Dimension.LENGTH, "µm", uncertainty=0.0015)
'12.3 µm'
"""

from loopwright.units.reading import parse
from loopwright.units.table import Dimension, convert, factor, units_of
from loopwright.units.tolerances import Toleranced, parse_limits, parse_toleranced
from loopwright.units.writing import format_exact, format_limits, format_value

__all__ = [
    "Dimension",
    "Toleranced",
    "convert",
    "factor",
    "format_exact",
    "format_limits",
    "format_value",
    "parse",
    "parse_limits",
    "parse_toleranced",
    "units_of",
]
