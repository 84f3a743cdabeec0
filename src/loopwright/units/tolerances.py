"""Reading limits and toleranced sizes: '±0.01', '+0.02/-0.01', '240 ±0.02', '25 H7'."""

import math
import re
from dataclasses import dataclass

from loopwright.errors import QuantityError
from loopwright.units.arcs import is_arc
from loopwright.units.reading import bare_unit, checked_text, parse, scaled, split, tidied
from loopwright.units.table import Dimension, Unit, find, look_up

_PAIR = re.compile(r" ?/ ?(?=[+-])")
_ZERO_LOWER = re.compile(r" ?/ ?(?=0(?:\.0*)?(?![0-9./]))")
_UNSIGNED = re.compile(r"[0-9.] ?[a-zµ\"]* ?/ ?[0-9.]")
_THEN_ZERO = re.compile(r"(?P<nominal>.*[^ +-]) (?P<first>0(?:\.0*)?)")
_THEN_SIGNED = re.compile(r"(?P<nominal>.*[^ +\-/eE^(]|.*[a-zA-Z] ) ?(?P<first>[+-] ?[0-9.].*)")
_FIT = re.compile(
    r"(?P<nominal>.*?[0-9. \"a-z]) ?(?<![A-Za-z])(?P<fit>(?P<letters>[A-Za-z]{1,2})(?P<grade>[0-9]{1,2}))"
)
_FIT_PAIR = re.compile(
    r"(?P<nominal>.*?) ?(?P<hole>[A-Z]{1,2}[0-9]{1,2}) ?/ ?(?P<shaft>[a-z]{1,2}[0-9]{1,2})"
)
# Fundamental deviations of ISO 286-1:2010, and its grades.
_LETTERS = frozenset("A B C CD D E EF F FG G H J JS K M N P R S T U V X Y Z ZA ZB ZC".split())
_GRADES = frozenset(("01", *map(str, range(19))))


@dataclass(frozen=True, slots=True)
class Toleranced:
    """A nominal and its limits, or its fit class.

    Attributes:
        nominal: internal unit.
        lower: lower limit as deviation from the nominal, internal unit, or None where none is given.
        upper: upper limit, likewise, no less than the lower.
        fit: tolerance class of ISO 286 such as 'H7', 'js6' or 'IT7', or None.
    """

    nominal: float
    lower: float | None
    upper: float | None
    fit: str | None


@dataclass(frozen=True, slots=True)
class _Written:
    """A number as it was written, and its unit's text or None."""

    number: float
    spelling: str | None


def _limits_dimension(dimension: Dimension) -> Dimension:
    """Limits of a temperature are differences."""
    return Dimension.TEMPERATURE_DIFFERENCE if dimension is Dimension.TEMPERATURE else dimension


def _plain(text: str) -> str:
    return tidied(text).replace("+/-", "±").replace("+-", "±")


def parse_limits(
    text: str | int | float, dimension: Dimension, *, bare: str | None = None
) -> tuple[float, float]:
    """A pair of limits, as deviations from a nominal.

    Reads '±0.01' (also '+-' and '+/-') and 'upper/lower' pairs such as '+0.02/-0.01' or '0/-13 µm'.
    A unit at the end holds for both. Only a zero may go without a sign.

    Args:
        text: what was written.
        dimension: what the limits are of; limits of a temperature are temperature differences.
        bare: the unit of limits without one; None refuses them, except for ratios and numbers.

    Returns:
        (lower, upper), internal unit, lower <= upper.

    Raises:
        QuantityError: no sign, wrong order, or what :func:`parse` refuses.

    >>> parse_limits("0/-13 µm", Dimension.LENGTH)
    (-0.013, 0.0)
    """
    wanted = _limits_dimension(dimension)
    if isinstance(text, int | float) and not isinstance(text, bool):
        parse(text, wanted, bare=bare)
        raise _needs_sign(f"{text:.6g}")
    given = checked_text(text, wanted, quantities=2)
    upper, lower = _written_limits(_plain(given), given, wanted)
    return _scaled_limits(upper, lower, given, wanted, bare_spelling=bare)


def _needs_sign(given: str) -> QuantityError:
    number = given.strip()
    return QuantityError(
        f"{given!r} as a limit needs its sign",
        f"write ±{number.lstrip('+-')}, or both limits as in +0.02/-0.01",
    )


def _written_limits(text: str, given: str, dimension: Dimension) -> tuple[_Written, _Written]:
    """Upper and lower limit as written. The text is tidied and '±' is one sign."""
    if text.startswith("±"):
        body = text[1:].lstrip()
        if body[:1] in ("+", "-", "±"):
            raise QuantityError(
                f"{given!r} has a second sign after ±", "write ± and a plain number, as in ±0.01"
            )
        half = _Written(*split(body, dimension))
        return half, _Written(-half.number, half.spelling)
    parts = _PAIR.split(text)
    if len(parts) == 1:
        parts = _ZERO_LOWER.split(text)
    if len(parts) != 2:
        raise _one_limit(text, given, dimension)
    written = []
    for part in parts:
        number, spelling = split(part, dimension)
        if part[:1] not in ("+", "-") and number != 0.0:
            raise QuantityError(f"{given!r}: {part!r} has no sign", f"say which: +{part} or -{part}")
        written.append(_Written(number, spelling))
    if written[0].spelling is None and written[0].number and _is_arc(parts[1], dimension):
        raise QuantityError(f"{given!r}: {parts[0]!r} stands without a unit", "write it, as in +5 arcsec")
    return written[0], written[1]


def _is_arc(text: str, dimension: Dimension) -> bool:
    """Whether a text is in degrees, minutes and seconds, which lend no unit to a number beside them."""
    return dimension is Dimension.ANGLE and is_arc(text)


def _one_limit(text: str, given: str, dimension: Dimension) -> QuantityError:
    """The refusal of a text that is not a pair."""
    if len(_PAIR.split(text)) > 2:
        return QuantityError(
            f"{given!r} has more than two limits", "write the upper and the lower: +0.02/-0.01"
        )
    if not text:
        return QuantityError(
            f"nothing is written where limits of {dimension.value} are wanted", "write ±0.01 or +0.02/-0.01"
        )
    if _UNSIGNED.search(text) and not _legible(text, dimension):
        return _unsigned(given)
    _, spelling = split(text, dimension)
    if spelling is not None:
        look_up(spelling, dimension, given)
    single = text.lstrip("+- ")
    if text[0] in "+-":
        both = f"{given.strip()}/0" if text[0] == "+" else f"0/{given.strip()}"
        return QuantityError(f"{given!r} is one limit, two are wanted", f"write {both}, or ±{single}")
    if re.match(r"[0-9]+ ?/", text):
        return _unsigned(given)
    return _needs_sign(given)


def _unsigned(given: str) -> QuantityError:
    return QuantityError(
        f"{given!r}: a limit has no sign", "give each its own, as in +0.02/-0.01, the upper limit first"
    )


def _legible(text: str, dimension: Dimension) -> bool:
    """Whether the text is one number, with a known unit or none."""
    try:
        _, spelling = split(text, dimension)
    except QuantityError:
        return False
    return spelling is None or find(spelling, dimension) is not None


def _scaled_limits(
    upper: _Written,
    lower: _Written,
    given: str,
    dimension: Dimension,
    *,
    bare_spelling: str | None = None,
    default: Unit | None = None,
) -> tuple[float, float]:
    """Limits in the internal unit, in order. ``default`` is the unit that limits without one take."""
    if upper.spelling is None:
        upper = _Written(upper.number, lower.spelling)
    elif lower.spelling is None and upper.spelling is not None:
        if lower.number != 0.0:
            raise QuantityError(
                f"{given!r}: only the first limit has a unit", "write the unit at the end, or after both"
            )
        lower = _Written(lower.number, upper.spelling)
    values = []
    for limit in (lower, upper):
        if limit.spelling is not None:
            unit = look_up(limit.spelling, dimension, given)
        else:
            unit = default or bare_unit(dimension, bare_spelling, given)
        values.append(scaled(limit.number, unit, dimension, given) + 0.0)
    if values[0] > values[1]:
        raise QuantityError(
            f"{given!r}: the first limit is below the second",
            "write the upper limit first, as in +0.02/-0.01",
        )
    return values[0], values[1]


def parse_toleranced(text: str | int | float, dimension: Dimension, *, bare: str | None = None) -> Toleranced:
    """A size with its limits, its fit class, or neither.

    Limits without a unit take the nominal's. A nominal without a unit takes the one at the end of the limits
    if that is a unit for sizes (mm, in, deg, ...); a unit for deviations (µm, thou, arcsec, ...) holds for
    the limits only, and the nominal takes ``bare``. Limits in % are of the nominal, except for ratios and
    temperatures.

    Args:
        text: such as '240 ±0.02', '240 mm ±20 µm', '12 +0.02/-0.01', '25 H7', '240'.
        dimension: what is wanted; a fit class goes with a length only.
        bare: the unit of a number without one; None refuses it, except for ratios and numbers.

    Returns:
        Nominal, limits relative to it, and fit class.

    Raises:
        QuantityError: what :func:`parse` and :func:`parse_limits` refuse, and classes not in ISO 286-1.

    >>> parse_toleranced("1 1/2 in ±5 thou", Dimension.LENGTH)
    Toleranced(nominal=38.1, lower=-0.127, upper=0.127, fit=None)
    >>> parse_toleranced("25 H7", Dimension.LENGTH, bare="mm")
    Toleranced(nominal=25.0, lower=None, upper=None, fit='H7')
    """
    if not isinstance(text, str):
        return Toleranced(parse(text, dimension, bare=bare), None, None, None)
    given = checked_text(text, dimension, quantities=3)
    plain = _plain(given)
    parts = _nominal_and_limits(plain)
    if parts is not None:
        return _with_limits(*parts, given, dimension, bare)
    fit = _fit_class(plain, given, dimension)
    if fit is not None:
        return Toleranced(parse(fit[0], dimension, bare=bare), None, None, fit[1])
    if re.search(r"\.[0-9]* ?/ ?[0-9.]", plain) and not _legible(plain, dimension):
        raise _unsigned(given)
    if re.search(r"[0-9a-z\"'] [+-] ?[0-9.]", plain):
        raise QuantityError(
            f"{given!r} has one limit, two are wanted", "write both, as in 240 +0.02/0, or 240 ±0.02"
        )
    return Toleranced(parse(given, dimension, bare=bare), None, None, None)


def _nominal_and_limits(text: str) -> tuple[str, str] | None:
    """The texts of nominal and limits, or None where there are no limits."""
    if "±" in text:
        nominal, _, limits = text.partition("±")
        return nominal.strip(), "±" + limits
    found = _PAIR.search(text) or _ZERO_LOWER.search(text)
    if found is None:
        return None
    left = _THEN_ZERO.fullmatch(text[: found.start()]) or _THEN_SIGNED.fullmatch(text[: found.start()])
    return (left["nominal"].strip(), left["first"] + text[found.start() :]) if left else None


def _with_limits(nominal: str, limits: str, given: str, dimension: Dimension, bare: str | None) -> Toleranced:
    """Nominal and limits read, each with the unit that the other lends it."""
    if not nominal:
        raise QuantityError(
            f"{given!r} has limits but no nominal", "write the nominal first, as in 240 ±0.02"
        )
    if not re.search("[0-9]", limits):
        raise QuantityError(f"{given!r} has no limits after the sign", "write them, as in 240 ±0.02")
    wanted = _limits_dimension(dimension)
    number, spelling = split(nominal, dimension)
    relative = limits.endswith("%") and dimension not in (Dimension.RATIO, Dimension.TEMPERATURE)
    upper, lower = _written_limits(limits, given, Dimension.RATIO if relative else wanted)
    if _is_arc(nominal, dimension) and not relative and upper.spelling is lower.spelling is None:
        raise QuantityError(f"{given!r}: the limits have no unit", "write theirs, as in ±5 arcsec")
    own = look_up(spelling, dimension, given) if spelling is not None else None
    if own is None and not relative:
        own = _lent({upper.spelling, lower.spelling}, dimension)
    own = own or bare_unit(dimension, bare, nominal)
    size = scaled(number, own, dimension, given)
    if relative:
        below, above = (abs(size) * part for part in _scaled_limits(upper, lower, given, Dimension.RATIO))
        if not (math.isfinite(below) and math.isfinite(above)):
            raise QuantityError(f"{given!r} is too large", "check the exponent or the unit")
    else:
        below, above = _scaled_limits(upper, lower, given, wanted, default=look_up(own.name, wanted))
    return Toleranced(size, below, above, None)


def _lent(spellings: set[str | None], dimension: Dimension) -> Unit | None:
    """The unit that the limits lend to a nominal without one, or None."""
    found = {find(s, dimension) for s in spellings if s is not None}
    unit = found.pop() if len(found) == 1 else None
    return None if unit is None or unit.fine else unit


def _fit_class(text: str, given: str, dimension: Dimension) -> tuple[str, str] | None:
    """The texts of nominal and tolerance class, or None where the text does not end in one."""
    pair = _FIT_PAIR.fullmatch(text)
    if pair is not None:
        raise QuantityError(
            f"{given!r} names a hole and a shaft",
            f"give each part its own: {pair['nominal']} {pair['hole']} for the bore",
        )
    found = _FIT.fullmatch(text)
    if found is None or find(found["fit"], dimension) is not None:
        return None
    if dimension is not Dimension.LENGTH or not re.search("[0-9]", found["nominal"]):
        return None
    letters, grade = found["letters"], found["grade"]
    if letters in ("e", "E") and text[found.start("letters") - 1] in "0123456789.":
        return None  # an exponent
    known = letters == "IT" or (letters.upper() in _LETTERS and letters in (letters.upper(), letters.lower()))
    if not known or grade not in _GRADES:
        raise QuantityError(
            f"{given!r}: {found['fit']!r} is not a tolerance class of ISO 286",
            "write one such as H7, js6 or IT7, or limits",
        )
    return found["nominal"], found["fit"]
