"""Reaming: what to leave in the hole, how fast, how to feed. Rows of several sources stand side by side.

A reamer follows the hole it finds: it makes size and finish, never place or direction. Bore first where the
place matters.
"""

from typing import Final

from loopwright.handbook.bands import Band
from loopwright.handbook.cutting_checks import over_zero, whole_number
from loopwright.handbook.stock_allowances import reaming

INCH: Final = 25.4

SPEED_OF_DRILLING: Final = (1 / 3, 1 / 2)
"""Reaming speed over drilling speed in the same material with the same tool material: one third to one half
(common practice; US War Department TM 1-420, section 37: about one half)."""

FEED_PER_TOOTH: Final = (0.002 * INCH, 0.003 * INCH)
"""Feed for each flute and revolution, mm. protocutter.com, *Feeds and speeds*: 0.002 to 0.003 in."""

_PROTO: Final = "protocutter.com, recommended material left for reaming"
_TM: Final = "US War Department TM 1-420, section 37: only to take out the tool marks"

# over, up to, low, high, in on diameter
_PROTO_ROWS: Final = (
    (0.090, 0.170, 0.005, 0.010),
    (0.170, 0.280, 0.008, 0.012),
    (0.280, 0.880, 0.010, 0.016),
    (0.880, 2.500, 0.015, 0.030),
)


def reaming_stock(diameter: float) -> tuple[Band, ...]:
    """Stock on diameter to leave for a machine reamer, by every source that covers the size.

    Less lets the reamer rub and chatter; more bends it or tears the wall.

    Args:
        diameter: of the reamed hole, mm, up to 100.

    Returns:
        One range for each source, mm on diameter.

    Raises:
        OutOfRange: a hole larger than every table.

    Source: :func:`.stock_allowances.reaming`, and each row's own. Checked in
    tests/published/test_protocutter_speeds.py.

    >>> [round(row.high, 3) for row in reaming_stock(10)]
    [0.406, 0.406, 0.254]
    """
    over_zero("a hole", diameter, "mm")
    inch = diameter / INCH
    rows = [
        Band(low * INCH, high * INCH, _PROTO) for over, end, low, high in _PROTO_ROWS if over < inch <= end
    ]
    return (*rows, reaming(diameter), Band(0.005 * INCH, 0.010 * INCH, _TM))


def reaming_feed(flutes: int) -> tuple[float, float]:
    """Feed per revolution of a reamer with that many flutes, mm, (low, high).

    Args:
        flutes: number of flutes.

    Returns:
        mm per revolution.

    Raises:
        OutOfRange: no flutes.

    Source: :data:`FEED_PER_TOOTH`.

    >>> [round(feed, 3) for feed in reaming_feed(6)]
    [0.305, 0.457]
    """
    count = whole_number("a number of flutes", flutes)
    return FEED_PER_TOOTH[0] * count, FEED_PER_TOOTH[1] * count
