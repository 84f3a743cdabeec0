"""Angles written in degrees, minutes and seconds of arc: 90° 0' 17"."""

import re
from fractions import Fraction
from itertools import pairwise

from loopwright.errors import QuantityError

# what may stand behind a part, by the name of its unit
_MARKS = {
    "arcsec": ('"', "″", "”", "''", "′′", "’’", "arcsec", *("s", "sec", "secs", "second", "seconds")),
    "arcmin": ("'", "′", "’", "arcmin", *("min", "mins", "minute", "minutes")),
    "deg": ("°", "deg", "degree", "degrees"),
}
_UNIT = {mark: unit for unit, marks in _MARKS.items() for mark in marks}
_ALONE = ("arcmin", "arcsec")
"""Marks that say without any degrees before them that they are of arc, and no feet, inches or times."""
_IN_DEGREES = {"deg": Fraction(1), "arcmin": Fraction(1, 60), "arcsec": Fraction(1, 3600)}

_MARK = "|".join(map(re.escape, sorted(_UNIT, key=len, reverse=True)))
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_PART = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<mark>{_MARK})", re.IGNORECASE)
_SEVERAL = re.compile(rf"\s*[+-]?(?:\s*{_NUMBER}\s*(?:{_MARK})){{2,}}\s*", re.IGNORECASE)
_BEGUN = re.compile(rf"\s*[+-]?\s*[0-9.]+\s*(?:{_MARK})[\s,;:]*[+-]?[\s]*[0-9.].*", re.IGNORECASE | re.DOTALL)
_REMEDY = (
    "write degrees, minutes and seconds one after the other, as in 90° 0' 17\", with one sign before all"
)


Parts = list[tuple[Fraction, str]]
"""Number and mark of each part."""


def is_arc(text: str) -> bool:
    r"""Whether a text is an angle of two or three parts, right or wrong.

    >>> is_arc("90° 0' 17\""), is_arc("17 arcsec")
    (True, False)
    """
    return _SEVERAL.fullmatch(text) is not None


def arc(text: str) -> tuple[float, str] | None:
    r"""An angle in degrees, minutes and seconds, as a number of its largest unit; None where it is written otherwise.

    A sign holds for the whole. Behind a larger part, minutes and seconds are below 60; only the last part may have
    decimals. Without degrees before them, ' and " are not read here: they could be feet and inches.

    Args:
        text: as written, with plain spaces and the minus sign of the keyboard.

    Raises:
        QuantityError: it has several parts, and they are not that.

    >>> arc("-0° 30' 0\"")
    (-0.5, 'deg')
    """
    if not is_arc(text):
        if _BEGUN.fullmatch(text):
            if "," in text:
                raise QuantityError(
                    f"{text!r}: the decimal mark here is a point", f"use a point: {text.replace(',', '.')}"
                )
            raise QuantityError(f"{text!r} is not an angle in degrees, minutes and seconds", _REMEDY)
        return None
    found = [(Fraction(one["number"].rstrip(".")), one["mark"].lower()) for one in _PART.finditer(text)]
    sign = -1 if text.lstrip().startswith("-") else 1
    _check(text, found, sign)
    largest = _UNIT[found[0][1]]
    return float(sign * _degrees(found) / _IN_DEGREES[largest]), largest


def _degrees(parts: Parts) -> Fraction:
    return sum((number * _IN_DEGREES[_UNIT[mark]] for number, mark in parts), Fraction(0))


def _check(text: str, parts: Parts, sign: int) -> None:
    sizes = [_IN_DEGREES[_UNIT[mark]] for _, mark in parts]
    if any(after >= before for before, after in pairwise(sizes)):
        raise QuantityError(f"{text!r}: the parts are not in order", _REMEDY)
    if sizes[0] < 1 and any(mark not in _ALONE for _, mark in parts):
        whole = f"0° {text.strip()}" if sign > 0 else f"-0° {text.strip().lstrip('-').lstrip()}"
        raise QuantityError(f"{text!r} could be feet and inches, or a time", f"write {whole}")
    if any(number.denominator != 1 for number, _ in parts[:-1]):
        raise QuantityError(
            f"{text!r}: only the last part may have decimals", "write the parts before it as whole numbers"
        )
    over = next((mark for number, mark in parts[1:] if number >= 60), None)
    if over is not None:
        word = "minutes" if _UNIT[over] == "arcmin" else "seconds"
        raise QuantityError(f"{text!r}: 60 {word} or more", f"write {_carried(parts, sign)}")


def _carried(parts: Parts, sign: int) -> str:
    """The same angle with minutes and seconds below 60."""
    minutes, seconds = divmod(_degrees(parts) * 3600, 60)
    degrees, minutes = divmod(minutes, 60)
    return f"{'-' if sign < 0 else ''}{degrees}° {minutes}' {float(seconds):.12g}\""
