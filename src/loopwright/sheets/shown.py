"""Numbers as their reader wants them: in the build's units, rounded to what is known."""

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright import units
from loopwright.model.build import Units
from loopwright.model.indications import axis_dimension
from loopwright.units import Dimension


@dataclass(frozen=True)
class Shown:
    """Formats numbers in the units of one build.

    >>> Shown(Units()).error(0.01234, Dimension.LENGTH)
    '12.3 µm'
    """

    units: Units

    def unit(self, dimension: Dimension) -> str:
        """Unit in which errors of a dimension are shown."""
        return self.units.shown(dimension)

    def number(self, value: float, dimension: Dimension) -> float:
        """An error as a plain number in that unit, for charts and tables."""
        return float(units.convert(value, dimension, self.unit(dimension)))

    def error(self, value: float, dimension: Dimension, *, digits: int = 2, sign: bool = False) -> str:
        """An error with its unit; two significant digits, or three where the first is a 1; '8.0' keeps its zero."""
        shown = abs(self.number(value, dimension))
        if not 0 < shown < float("inf"):
            return units.format_value(value, dimension, self.unit(dimension), sign=sign)
        rounded = f"{shown:.{digits - 1}e}"
        last = int(rounded.partition("e")[2]) - digits + (0 if rounded[0] == "1" else 1)
        step = float(units.factor(self.unit(dimension), dimension)) * 10.0**last
        return units.format_value(
            value, dimension, self.unit(dimension), uncertainty=step, digits=1, sign=sign
        )

    def limit(self, value: float, dimension: Dimension) -> str:
        """A limit as someone stated it: '15 µm'; in another unit than that, to three digits: '0.591 thou'."""
        unit = self.unit(dimension)
        return units.format_value(value, dimension, unit, digits=_stated_digits(value, dimension, unit, 3))

    def error_known(
        self, value: float, uncertainty: float, dimension: Dimension, *, sign: bool = False, digits: int = 2
    ) -> str:
        """An error rounded to the stated digits of its uncertainty."""
        unit = self.unit(dimension)
        return units.format_value(value, dimension, unit, uncertainty=uncertainty, sign=sign, digits=digits)

    def position(self, letter: str, value: float, *, digits: int = 4) -> str:
        """Position of an axis: 'X 160 mm'; one that was stated in another unit to so many digits: 'X 6.299 in'."""
        dimension = axis_dimension(letter)
        unit = "deg" if dimension is Dimension.ANGLE else self.units.length
        digits = _stated_digits(value, dimension, unit, digits)
        return f"{letter} {units.format_value(value, dimension, unit, digits=digits)}"

    def pose(self, pose: Mapping[str, float]) -> str:
        """A pose: 'X 0 mm, Y 220 mm'."""
        return ", ".join(self.position(letter, value) for letter, value in pose.items()) or "home"

    def stiffness(self, value: float) -> str:
        """A stiffness with its unit, or 'stiff' where nothing gives."""
        if value == float("inf"):
            return "stiff"
        return units.format_value(value, Dimension.STIFFNESS, self.units.stiffness, digits=2)

    def force(self, value: float) -> str:
        """A force with its unit."""
        return units.format_value(value, Dimension.FORCE, self.units.force, digits=2)


def _stated_digits(value: float, dimension: Dimension, unit: str, otherwise: int) -> int:
    """Five digits where they say a number whole, as it was stated in that unit; else so many."""
    shown = float(units.convert(value, dimension, unit))
    return 5 if abs(float(f"{shown:.5g}") - shown) <= 1e-9 * abs(shown) else otherwise


def percent(share: float, uncertainty: float | None = None) -> str:
    """A share in per cent, rounded to its uncertainty where that is given; never a bare 0 or 100 that is not one.

    A share with an uncertainty was counted in trials, and no number of trials makes it 0 or 1.

    >>> percent(0.7852, 0.0011), percent(0.00002), percent(0.999999), percent(0.9981, 0.01), percent(0.9963)
    ('78.5 %', 'under 0.1 %', 'over 99.9 %', 'over 99 %', '99.6 %')
    """
    if share != share:
        return "-"
    sampled = uncertainty is not None
    if 0 < share < 0.001 or (sampled and share == 0):
        return "under 0.1 %"
    if 0.999 < share < 1 or (sampled and share == 1):
        return "over 99.9 %"
    if uncertainty is not None and uncertainty >= 0.005 and not 0.005 <= share < 0.995:
        return "under 1 %" if share < 0.5 else "over 99 %"
    if uncertainty is not None:
        return f"{100 * share:.1f} %" if uncertainty < 0.005 else f"{100 * share:.0f} %"
    return f"{100 * share:.1f} %" if share < 0.0995 or 0.99 < share < 1 else f"{100 * share:.0f} %"
