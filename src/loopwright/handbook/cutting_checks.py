"""Whether a given number is one that a cutting formula can take; says so in the shop's words."""

from math import inf

from loopwright.errors import OutOfRange


def over_zero(what: str, value: float, unit: str) -> float:
    """The value, when it is a finite number over zero.

    Args:
        what: name of the quantity with its article, as 'a feed'.
        value: in ``unit``.
        unit: for the message.

    Returns:
        The value as given.

    Raises:
        OutOfRange: zero, negative, infinite or not a number.

    >>> over_zero("a feed", 0.1, "mm")
    0.1
    """
    if not 0 < value < inf:
        raise OutOfRange(f"{what} of {value:g} {unit} cannot be cut with; give a number over 0 {unit}")
    return value


def at_least_zero(what: str, value: float, unit: str) -> float:
    """The value, when it is a finite number of zero or more.

    >>> at_least_zero("an overrun", 0, "mm")
    0
    """
    if not 0 <= value < inf:
        raise OutOfRange(f"{what} of {value:g} {unit} is not possible; give 0 {unit} or more")
    return value


def within(what: str, value: float, low: float, high: float, unit: str, remedy: str) -> float:
    """The value, when it lies between two ends, both included.

    Args:
        what: name of the quantity with its article.
        value: in ``unit``.
        low: least value, in ``unit``.
        high: greatest value, in ``unit``.
        unit: for the message; may be ''.
        remedy: what would do.

    Returns:
        The value as given.

    Raises:
        OutOfRange: outside the ends, or not a number; the message names value, ends and remedy.

    >>> within("an efficiency", 0.8, 0.1, 1, "", "give a share")
    0.8
    """
    if not low <= value <= high:
        tail = f" {unit}" if unit else ""
        raise OutOfRange(f"{what} of {value:g}{tail} is outside {low:g} to {high:g}{tail}; {remedy}")
    return value


def whole_number(what: str, value: int) -> int:
    """The value, when it is a whole number of one or more.

    >>> whole_number("a number of teeth", 4)
    4
    """
    if value != value or value < 1 or value != int(value):
        raise OutOfRange(f"{what} of {value:g} is not possible; give a whole number of 1 or more")
    return int(value)
