"""Ranges that stay ranges: what the trade knows of a value, with its source.

Handbook data of the shop are seldom one number. Makers differ, melts differ, and a rule of thumb is a rule of
thumb. A :class:`Band` says between which values the sources lie; a :class:`Spread` adds the value to expect.
"""

from typing import NamedTuple


class Band(NamedTuple):
    """The least and the greatest value that the sources give.

    Attributes:
        low: least value, in the unit that the giver states.
        high: greatest value.
        source: who says so; 'common practice' for a rule of the trade, 'from memory' where it was recalled.
    """

    low: float
    high: float
    source: str

    @property
    def middle(self) -> float:
        """Half way between the ends."""
        return (self.low + self.high) / 2

    def holds(self, value: float) -> bool:
        """Whether a value lies in the band, ends included.

        >>> Band(0.25, 0.30, "common practice").holds(0.3)
        True
        """
        return self.low <= value <= self.high

    def times(self, factor: float) -> "Band":
        """The band with both ends multiplied, for another length or unit; factor over 0."""
        return Band(self.low * factor, self.high * factor, self.source)


class Spread(NamedTuple):
    """A value to expect, and the range in which about 19 of 20 such values lie.

    Attributes:
        mean: value to expect.
        low: lower end of the range.
        high: upper end.
        source: who says so; 'common practice' and 'assumption' mark what no publication was found for.
    """

    mean: float
    low: float
    high: float
    source: str

    @property
    def std(self) -> float:
        """Standard uncertainty: the range from low to high read as four of it.

        >>> Spread(0.0015, 0.0010, 0.0022, "a data sheet").std
        0.0003
        """
        return round((self.high - self.low) / 4, 15)

    def times(self, factor: float) -> "Spread":
        """The spread of a part so much larger: a fraction becomes mm; factor over 0."""
        return Spread(self.mean * factor, self.low * factor, self.high * factor, self.source)
