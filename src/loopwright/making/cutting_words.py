"""Figures of cutting in the user's units, rounded as a shop sets them, and what a cut has to tell."""

from dataclasses import dataclass, field

from loopwright import units
from loopwright.making.cutting_records import Alarm, Detail, Range, Warned
from loopwright.model.base import INCHES
from loopwright.model.build import Units
from loopwright.units import Dimension

MM_S = 1000 / 60
"""m/min in mm/s."""


def digits_of(value: float, least: int = 2) -> int:
    """Significant digits to show: one more where the first is a 1.

    >>> digits_of(0.123), digits_of(45.6)
    (3, 2)
    """
    return least + (f"{abs(value):.{least}e}"[0] == "1")


def rounded(value: float, digits: int = 2) -> float:
    """A value to so many significant digits, one more where the first is a 1.

    >>> rounded(2468.0), rounded(1234.0)
    (2500.0, 1230.0)
    """
    return float(f"{value:.{digits_of(value, digits) - 1}e}") if value else 0.0


@dataclass(frozen=True)
class CuttingWords:
    """Writes figures of cutting in the units of a build.

    >>> CuttingWords(Units()).speed(31.4), CuttingWords(Units(length="in")).speed(31.4)
    ('31 m/min', '103 ft/min')
    """

    units: Units

    @property
    def inches(self) -> bool:
        """The shop works in inches."""
        return self.units.length in INCHES

    def _of(self, value: float, dimension: Dimension, unit: str, digits: int = 2) -> str:
        shown = float(units.convert(value, dimension, unit))
        return units.format_value(value, dimension, unit, digits=digits_of(shown, digits) if shown else 2)

    def length(self, value: float) -> str:
        """A length: '31.5 mm'."""
        return self._of(value, Dimension.LENGTH, self.units.length, 3)

    def size(self, value: float) -> str:
        """A size as it stands in the description, whole."""
        return units.format_value(value, Dimension.LENGTH, self.units.length, digits=6)

    def feed(self, value: float) -> str:
        """A feed or a depth: '0.12 mm'."""
        return self._of(value, Dimension.LENGTH, self.units.length)

    def small(self, value: float) -> str:
        """An error: '4.2 µm'."""
        return self._of(value, Dimension.LENGTH, self.units.small_length)

    def limit(self, value: float) -> str:
        """Half the width between limits: '±10 µm'."""
        return "±" + units.format_value(value, Dimension.LENGTH, self.units.small_length, digits=3)

    @property
    def speed_unit(self) -> str:
        """Unit of cutting speed."""
        return "ft/min" if self.inches else "m/min"

    def wheel_speed(self, value: float) -> str:
        """Speed of a grinding wheel, given in m/s: '30 m/s', '5900 ft/min'."""
        return self._of(1000 * value, Dimension.SPEED, "ft/min" if self.inches else "m/s")

    @property
    def feed_speed_unit(self) -> str:
        """Unit of feed speed."""
        return "in/min" if self.inches else "mm/min"

    def speed(self, value: float) -> str:
        """A cutting speed, given in m/min."""
        return self._of(value * MM_S, Dimension.SPEED, self.speed_unit)

    def feed_speed(self, value: float) -> str:
        """A feed speed, given in mm/min."""
        return self._of(value / 60, Dimension.SPEED, self.feed_speed_unit)

    def rpm(self, value: float, *, exact: bool = False) -> str:
        """A spindle speed; ``exact`` as somebody stated it."""
        return f"{value if exact else float(f'{value:.3g}'):,.0f} rpm"

    def power(self, value: float) -> str:
        """A power, given in W."""
        unit = "hp" if self.inches else "kW" if value >= 1000 else "W"
        return self._of(value, Dimension.POWER, unit)

    def torque(self, value: float) -> str:
        """A torque, given in N·m."""
        return self._of(value * 1000, Dimension.TORQUE, self.units.torque)

    def force(self, value: float) -> str:
        """A force, given in N."""
        return self._of(value, Dimension.FORCE, self.units.force)

    def angle(self, value: float) -> str:
        """An angle as a tool is set, in degrees."""
        return self._of(value, Dimension.ANGLE, "deg")

    def small_angle(self, value: float) -> str:
        """A lean."""
        return self._of(value, Dimension.ANGLE, self.units.angle)

    def minutes(self, value: float) -> str:
        """Minutes: '4.5 min'."""
        return f"{rounded(value):g} min"


@dataclass
class Told:
    """What a cut has to tell, as it is worked out."""

    words: CuttingWords
    ranges: list[Range] = field(default_factory=list)
    details: list[Detail] = field(default_factory=list)
    limits: list[str] = field(default_factory=list)
    warnings: list[Warned] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    proven: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def warn(self, about: Alarm, text: str) -> None:
        """A plain warning."""
        self.warnings.append(Warned(about, text))

    def length(self, what: str, value: float) -> None:
        """A further length."""
        self.details.append(Detail(what, value, Dimension.LENGTH, self.words.length(value)))

    def small(self, what: str, value: float) -> None:
        """A further error."""
        self.details.append(Detail(what, value, Dimension.LENGTH, self.words.small(value)))

    def angle(self, what: str, value: float) -> None:
        """A further angle, rad."""
        self.details.append(Detail(what, value, Dimension.ANGLE, self.words.angle(value)))

    def feed_speed(self, what: str, value: float) -> None:
        """A further feed speed, mm/min."""
        self.details.append(Detail(what, value / 60, Dimension.SPEED, self.words.feed_speed(value)))

    def number(self, what: str, value: float, text: str = "") -> None:
        """A further plain number."""
        self.details.append(Detail(what, value, None, text or f"{value:g}"))

    def say(self, what: str, text: str) -> None:
        """A further figure that is words."""
        self.details.append(Detail(what, None, None, text))

    def ranged(self, found: list[Range]) -> None:
        """Ranges of the handbook; one that counted once counts."""
        for one in found:
            same = [n for n, old in enumerate(self.ranges) if _key(old) == _key(one)]
            if not same:
                self.ranges.append(one)
            elif one.counted:
                self.ranges[same[0]] = one


def _key(one: Range) -> tuple[object, ...]:
    return one.what, one.low, one.high, one.per, one.cut, one.source
