"""Sizes as a machinist reads them off a sheet: in the shop's unit, rounded so that no limit is passed."""

from dataclasses import dataclass
from math import ceil, floor, isfinite

from loopwright import units
from loopwright.model.base import INCHES
from loopwright.model.build import Units
from loopwright.sheets.shown import Shown
from loopwright.units import Dimension

WISHES = ("inch", "metric", "both")
"""Units that can be asked for on paper; left out: those of the build."""

_LENGTH = Dimension.LENGTH
_MOST, _WHOLE = {"mm": 4, "in": 5}, 7
"""Decimal places of a range at most, and where it has to stay whole."""
_FINE = {"mm": (0.3, 0.03), "in": (0.015, 0.0015)}
_COARSE = {"mm": 1, "in": 2}
"""Decimal places of a range at least, and half widths below which there is one more."""
_USUAL = {"mm": 3, "in": 4}
_MAY_LOSE = 0.1
"""Share of a tolerance that may go for a number with fewer places."""


@dataclass(frozen=True)
class Rounded:
    """A range in decimal places, within the one that it was made from.

    Attributes:
        middle, half, low, high: as written, without a unit.
    """

    middle: str
    half: str
    low: str
    high: str


def rounded_inward(low: float, high: float, *, fewest: int, most: int, exact: bool = False) -> Rounded:
    """The range with as few decimal places as will do, never wider than it was.

    Args:
        low: its lower end, in the unit that is written.
        high: its upper end.
        fewest: decimal places at least.
        most: and at most, unless nothing would be left of the range.
        exact: keep it whole where so many places can; else up to a tenth of it may go.

    >>> rounded_inward(13.2179 - 0.75, 13.2179 + 0.75, fewest=1, most=6)
    Rounded(middle='13.2', half='0.7', low='12.5', high='13.9')
    >>> rounded_inward(25.085, 25.115, fewest=1, most=6, exact=True).half
    '0.015'
    """
    may_lose = 1e-6 if exact else _MAY_LOSE
    for places in range(fewest, most + 1):
        scale = 10**places
        middle = round((low + high) / 2 * scale)
        half = floor(min(middle - low * scale, high * scale - middle) + 1e-6)
        if half >= (1 - may_lose) * (high - low) / 2 * scale - 1e-9 and half >= 0:
            break
    half = max(half, 0)
    written = [f"{number / scale:.{places}f}" for number in (middle, half, middle - half, middle + half)]
    return Rounded(*written)


def ends_inward(low: float, high: float, *, fewest: int, most: int, exact: bool = False) -> tuple[str, str]:
    """The ends of a range, each on its own, with as few decimal places as will do; as for ``rounded_inward``.

    >>> ends_inward(59.981, 60.0, fewest=1, most=6, exact=True)
    ('59.981', '60.000')
    """
    may_lose = 1e-6 if exact else _MAY_LOSE
    for places in range(fewest, most + 1):
        scale = 10**places
        least, greatest = ceil(low * scale - 1e-6), floor(high * scale + 1e-6)
        if greatest - least >= (1 - may_lose) * (high - low) * scale - 1e-9 and greatest >= least:
            break
    greatest = max(greatest, least)
    return f"{least / scale:.{places}f}", f"{greatest / scale:.{places}f}"


@dataclass(frozen=True)
class ShopSizes:
    """Writes sizes in the units of a sheet.

    Attributes:
        units: in which everything is written.
        also: unit of a second writing of sizes, 'mm' or 'in'; '' for none.
        stated: unit in which the build states its sizes; there they stay whole.
    """

    units: Units
    also: str = ""
    stated: str = "mm"

    @classmethod
    def wished(cls, own: Units, wish: str | None = None) -> "ShopSizes":
        """In the units that are asked for.

        Args:
            own: units of the build.
            wish: one of ``WISHES``, or None for those of the build.

        >>> ShopSizes.wished(Units(), "both").both
        True
        """
        inches = own.length in INCHES
        stated = "in" if inches else "mm"
        if wish is None or wish == ("inch" if inches else "metric"):
            return cls(own, stated=stated)
        if wish == "both":
            return cls(own, "mm" if inches else "in", stated)
        changed = {"length": "in", "errors": "thou"} if wish == "inch" else {"length": "mm", "errors": "µm"}
        return cls(own.model_copy(update=changed), stated=stated)

    @property
    def unit(self) -> str:
        """Unit of lengths: 'mm' or 'in'."""
        return "in" if self.units.length in INCHES else "mm"

    @property
    def both(self) -> bool:
        """Sizes are written twice."""
        return bool(self.also)

    def half(self, half: float) -> str:
        """Half a tolerance about nought, in the first unit and without it: '0.007'; mm."""
        return self._rounded(self.unit, -half, half, False).half

    def _rounded(self, unit: str, low: float, high: float, exact: bool) -> Rounded:
        by, most = float(units.factor(unit, _LENGTH)), _WHOLE if exact else _MOST[unit]
        return rounded_inward(
            low / by, high / by, fewest=_fewest(unit, (high - low) / 2 / by), most=most, exact=exact
        )

    def working(self, size: float, half: float, *, given: bool = False, sign: str = "") -> list[str]:
        """A working dim: '60.013 ±0.026', and the same in the other unit where both are wished.

        Args:
            size: middle of its limits, mm.
            half: half its tolerance, mm.
            given: somebody stated it, so it stays whole in their unit.
            sign: before it: 'Ø'.
        """
        out = []
        for unit in self._written():
            if not isfinite(half) or half <= 0:
                out.append(f"{sign}{self.plain(size, unit)}{self._after(unit)}")
                continue
            found = self._rounded(unit, size - half, size + half, given and unit == self.stated)
            out.append(f"{sign}{found.middle} ±{found.half}{self._after(unit)}")
        return out

    def limits(
        self, low: float, high: float, *, given: bool = True, sign: str = "", to: str = " to "
    ) -> list[str]:
        """A pair of limits: '29.980 to 30.020', and in the other unit where both are wished; mm."""
        out = []
        for unit in self._written():
            if isfinite(low) and isfinite(high):
                by, exact = float(units.factor(unit, _LENGTH)), given and unit == self.stated
                most = _WHOLE if exact else _MOST[unit]
                ends = ends_inward(
                    low / by, high / by, fewest=_fewest(unit, (high - low) / 2 / by), most=most, exact=exact
                )
                out.append(f"{sign}{ends[0]}{to}{ends[1]}{self._after(unit)}")
            elif isfinite(low):
                out.append(f"{sign}{self.plain(low, unit)} or more{self._after(unit)}")
            else:
                out.append(f"{sign}{self.plain(high, unit)} or less{self._after(unit)}")
        return out

    def stock(self, low: float, high: float) -> list[str]:
        """From least to most stock, to the place that matters: '0.15 to 0.27'; mm."""
        out = []
        for unit in self._written():
            by = float(units.factor(unit, _LENGTH))
            places = _USUAL[unit] - 1
            places += 0 < high / by < 10.0 ** (1 - places)
            texts = [f"{max(value, 0.0) / by:.{places}f}" for value in (low, high)]
            to = " to " if unit == self.unit else "–"
            out.append((texts[0] if texts[0] == texts[1] else to.join(texts)) + self._after(unit))
        return out

    def plain(self, size: float, unit: str = "") -> str:
        """A size as it was stated, without its unit: '65'; to the finest place of the trade."""
        unit = unit or self.unit
        value = float(units.convert(size, _LENGTH, unit))
        return f"{value:.{_USUAL[unit]}f}".rstrip("0").rstrip(".") if value else "0"

    def fine(self, value: float, unit: str = "") -> str:
        """A small length without its unit, to three figures at most: '0.002'."""
        shown = float(units.convert(value, _LENGTH, unit or self.unit))
        return f"{float(f'{shown:.3g}'):.7f}".rstrip("0").rstrip(".")

    def angle(self, value: float) -> str:
        """An angle of a drawing: '90°'."""
        return units.format_value(value, Dimension.ANGLE, "deg", digits=9).removesuffix(" deg") + "°"

    def about(self, size: float, unit: str = "") -> str:
        """A size of which no more than a rule's graduation matters, with its unit: '40 mm', '1.57 in'."""
        unit = unit or self.unit
        value = float(units.convert(size, _LENGTH, unit))
        return f"{value:.{_COARSE[unit]}f}".rstrip("0").rstrip(".") + f" {unit}"

    def length(self, size: float) -> str:
        """A size with its unit, twice where both are wished: '65 mm (2.56 in)'."""
        first = f"{self.plain(size)} {self.unit}"
        return first if not self.also else f"{first} ({self.about(size, self.also)})"

    def sawn(self, size: float) -> list[str]:
        """A length to saw to: '120.5 mm', '4.75 in'; up to the next place, so that nothing is missing."""
        out = []
        for unit in self._written():
            value, places = float(units.convert(size, _LENGTH, unit)), _COARSE[unit]
            scale = 10**places
            out.append(f"{-floor(-value * scale + 1e-6) / scale:.{places}f} {unit}")
        return out

    def angle_limits(self, nominal: float, lower: float, upper: float) -> str:
        """An angle with its limits: '90° ±8 arcsec'."""
        shown = Shown(self.units)
        degrees = self.angle(nominal)
        if lower == -upper:
            return f"{degrees} ±{shown.limit(upper, Dimension.ANGLE)}"
        return f"{degrees} {units.format_limits(lower, upper, Dimension.ANGLE, self.units.angle)}"

    def small(self, value: float, dimension: Dimension) -> str:
        """A small length or angle as somebody stated it: '4 µm'."""
        return Shown(self.units).limit(value, dimension)

    def mass(self, kilograms: float) -> str:
        """A mass as a scale in the shop shows it: '1.35 kg', '0.009 kg'."""
        shown = float(units.convert(kilograms, Dimension.MASS, self.units.mass))
        return f"{shown:.{3 if shown < 0.1 else 2 if shown < 10 else 1}f} {self.units.mass}"

    def _written(self) -> tuple[str, ...]:
        return (self.unit, self.also) if self.also else (self.unit,)

    def _after(self, unit: str) -> str:
        return "" if unit == self.unit else f" {unit}"


def _fewest(unit: str, half: float) -> int:
    """Decimal places at least for a range of that half width: one that is fine is written finely."""
    return _COARSE[unit] + sum(half < fine for fine in _FINE[unit])
