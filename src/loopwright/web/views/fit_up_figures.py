"""Drawings that the pages of the fit-up and of the book share: what was before and after, a sweep, a range."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from loopwright import units
from loopwright.sheets.drawing import (
    Scale,
    box,
    drawing,
    graduations,
    lettering,
    line,
    mark,
    plain,
    reach,
    rule_along,
    spread_out,
    witness_line,
)
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.units import Dimension
from loopwright.web.views.standing_drawn import legend_sign
from loopwright.web.wording import say

INCH_UNITS = ("thou", "tenth", "in")
ROW, BOTTOM, TOP = 34.0, 190.0, 16.0
LETTERED = 9
STEEP = 0.02
"""An angle above this is a size in degrees, one below it a small angle; rad."""


def in_other(shown: Shown, value: float, dimension: Dimension, *, sign: bool = False) -> str:
    """A length in the other of µm and thou, for who thinks in that; '' for anything else and for nothing."""
    if dimension is not Dimension.LENGTH or not value:
        return ""
    other = "µm" if shown.units.small_length in INCH_UNITS else "thou"
    return f"({Shown(shown.units.model_copy(update={'errors': other})).error(value, dimension, sign=sign)})"


def size_words(
    shown: Shown, value: float, dimension: Dimension, std: float | None = None, digits: int = 2
) -> str:
    """A size as a drawing has it: a large angle in degrees; rounded to its uncertainty where that is given."""
    steep = dimension is Dimension.ANGLE and abs(value) > STEEP
    unit = "deg" if steep else shown.units.bare()[dimension]
    return minus(
        units.format_value(value, dimension, unit, uncertainty=std or None, digits=digits if std else 7)
    )


def size_known(shown: Shown, value: float, std: float, dimension: Dimension) -> str:
    """A size with the standard uncertainty of what would be right, in one unit: '18.342 ± 0.004 mm'."""
    number, _, unit = size_words(shown, value, dimension, std).partition(" ")
    known = units.format_value(std, dimension, unit or "1", uncertainty=std, digits=2).partition(" ")[0]
    return f"{number} ± {known} {unit}" if std else f"{number} {unit}"


def error_parts(
    shown: Shown, value: float, std: float, dimension: Dimension, *, sign: bool = False
) -> tuple[str, str, str]:
    """An error and its uncertainty to the same place, two digits of that (JCGM 100, 7.2.6), and the unit of both."""
    unit = shown.unit(dimension)
    known = units.format_value(std, dimension, unit, uncertainty=std or None, digits=2)
    number = units.format_value(
        value, dimension, unit, uncertainty=std or None, digits=2 if std else 3, sign=sign
    )
    return minus(number.partition(" ")[0]), known.partition(" ")[0], number.partition(" ")[2]


def range_words(low: str, high: str) -> str:
    """A range with its unit said once.

    >>> range_words("−200 µm", "200 µm"), range_words("3 mm", "3.2 mm"), range_words("0", "200 µm")
    ('± 200 µm', '3 … 3.2 mm', '0 … 200 µm')
    """
    if low == f"−{high}":
        return f"± {high}"
    number, _, unit = low.partition(" ")
    return f"{number if unit == high.partition(' ')[2] else low} … {high}"


def stands_words(shown: Shown, value: float, dimension: Dimension, what: str, std: float = 0.0) -> str:
    """Where something stands that was 'set', which is small, or 'sized'; rounded to how well that is known."""
    if what != "set":
        return size_words(shown, value, dimension, std)
    if not value or not std:
        return minus(shown.limit(value, dimension))
    return minus(shown.error_known(value, std, dimension))


def minus(words: str) -> str:
    """A number with a true minus."""
    return words.replace("-", "−", 1)


@dataclass(frozen=True)
class Bar:
    """One thing on a scale: where it was, where it is, how well that is known; in the unit that is shown.

    Attributes:
        was, now: None where there is none.
        unknown: standard uncertainty of the second; 0 draws none.
        said: what it says in words.
    """

    was: float | None
    now: float | None
    unknown: float
    said: str


def against_limit(bar: Bar, limit: float | None, unit: str, limit_said: str = "") -> Markup:
    """One error on a scale of its own: hollow as it was, solid as it is with what is not known, and the limit.

    Args:
        bar: what is shown.
        limit: in the same unit; None where there is none.
        unit: of the scale.
        limit_said: the limit in words.
    """
    far = max(v for v in (bar.was, bar.now, limit, (bar.now or 0) + bar.unknown, 1e-9) if v is not None)
    scale = Scale(0.0, 1.06 * far)
    middle = ROW / 2
    pieces: list[Markup] = []
    if limit is not None:
        pieces.append(box(scale.at(limit), 2, 100 - scale.at(limit), ROW - 4, "beyond"))
    pieces.append(line(0, middle, 100, middle, "rest"))
    if bar.now is not None:
        low, high = max(bar.now - bar.unknown, 0.0), bar.now + bar.unknown
        pieces.append(line(0, middle, scale.at(bar.now), middle, "scribed reach"))
        if bar.unknown:
            pieces += [whisker(scale.at(low), scale.at(high), middle)]
    if limit is not None:
        pieces.append(witness_line(scale.at(limit), 2, ROW - 2, limit_said))
    if bar.was is not None:
        pieces.append(mark(scale.at(bar.was), middle, "round", "hollow", bar.said))
    if bar.now is not None:
        pieces.append(mark(scale.at(bar.now), middle, "round", "solid", bar.said))
    return drawing(ROW + 30, bar.said, *pieces, rule_along(scale, ROW, unit, most=4), class_="bar-scale")


def whisker(low: float, high: float, y: float, half: float = 5.0) -> Markup:
    """A standard uncertainty to either side, ends and all; x in per cent."""
    return joined(
        line(low, y, high, y, "scribed thin"),
        line(low, y - half, low, y + half, "scribed thin"),
        line(high, y - half, high, y + half, "scribed thin"),
    )


@dataclass(frozen=True)
class Curve:
    """One curve of a sweep, in the unit that is shown.

    Attributes:
        values: at each place; stds: of each, or empty.
        class_: of its marks: 'solid' or 'hollow'; joined by a line or not.
        name: in words.
    """

    values: tuple[float, ...]
    stds: tuple[float, ...]
    class_: str
    name: str
    line: bool = True


def sweep(
    places: Sequence[float],
    names: Sequence[str],
    curves: Sequence[Curve],
    unit: str,
    axis: str,
    limit: float | None = None,
) -> Markup:
    """Values along an axis: curves with their uncertainties, a zero line, and a limit to either side.

    Args:
        places: along the axis.
        names: of each, for the pointer.
        curves: what is shown.
        unit: of the values.
        axis: what stands below, with its unit.
        limit: to either side of zero, or None.
    """
    every = [v for c in curves for v in c.values]
    spread = [abs(v) + (s if c.stds else 0) for c in curves for v, s in zip(c.values, c.stds or c.values)]
    spread += [abs(v) for v in every] + ([limit] if limit is not None else [])
    top = reach(max([*spread, 1e-9]), 3)
    below = min([*every, *[v - s for c in curves if c.stds for v, s in zip(c.values, c.stds)], 0.0]) < 0
    steps = graduations(top, 3)
    levels = [*[-v for v in reversed(steps[1:])], *steps] if below else steps
    down = Scale(top, -top if below else 0.0)
    along = Scale(min(places), max(places))

    def y(value: float) -> float:
        return TOP + (BOTTOM - TOP) * down.share(value)

    drawn = [piece for curve in curves for piece in _curve(curve, places, names, along, y, unit)]
    limits = [] if limit is None else [limit, -limit] if below else [limit]
    return drawing(
        BOTTOM + 44,
        "; ".join(f"{c.name}: {min(c.values):.3g} … {max(c.values):.3g} {unit}" for c in curves),
        *[
            joined(
                line(0, y(v), 100, y(v), "rest" if v else "scribed thin"),
                lettering(0, y(v) + 4, minus(plain(v)), "tick left", dx=-6),
            )
            for v in levels
        ],
        *[line(0, y(v), 100, y(v), "limit") for v in limits],
        *drawn,
        *[
            lettering(along.at(places[n]), BOTTOM + 18, names[n], "tick")
            for n in spread_out(len(places), LETTERED)
        ],
        lettering(100, BOTTOM + 38, f"{axis} →", "axis-name right"),
        lettering(0, BOTTOM + 38, unit, "axis-name"),
        class_="map",
    )


def _curve(
    curve: Curve,
    places: Sequence[float],
    names: Sequence[str],
    along: Scale,
    y: Callable[[float], float],
    unit: str,
) -> list[Markup]:
    at = [(along.at(place), y(value)) for place, value in zip(places, curve.values)]
    pieces = [
        line(*one, *other, "curve" if curve.class_ == "solid" else "curve faint")
        for one, other in pairwise(at)
    ]
    out = pieces if curve.line else []
    for n, (x, middle) in enumerate(at):
        if curve.stds:
            high, low = y(curve.values[n] + curve.stds[n]), y(curve.values[n] - curve.stds[n])
            out.append(line(x, high, x, low, "scribed thin"))
        known = f" ± {curve.stds[n]:.2g}" if curve.stds else ""
        said = f"{curve.name}, {names[n]}: {minus(f'{curve.values[n]:.3g}')}{known} {unit}"
        out.append(mark(x, middle, "round", curve.class_, said))
    return out


def legend(*entries: tuple[str, str, str]) -> Markup:
    """What the marks of a drawing mean: shape, class, words."""
    return tag(
        "ul",
        *[tag("li", legend_sign(shape, class_), words) for shape, class_, words in entries],
        class_="key",
    )


def range_figure(
    low: float, high: float, now: float, then: float, std: float, unit: str, said: str
) -> Markup:
    """What can be set, as a rule: where it stands (hollow), where to set it (solid), and how well that is known.

    Args:
        low: lower end of the range, in the unit that is shown.
        high: upper end.
        now: where it stands.
        then: where to set it.
        std: standard uncertainty of what would be right.
        unit: of all of them.
        said: the same in words.
    """
    wide = (high - low) or 1.0
    scale = Scale(min(low, now) - 0.04 * wide, max(high, now) + 0.04 * wide)
    middle = 22.0
    ends = [
        joined(
            line(scale.at(v), 8, scale.at(v), 36, "limit"),
            lettering(scale.at(v), 54, minus(plain(float(f"{v:.5g}"))), "tick" + side),
        )
        for v, side in ((low, " first"), (high, " right"))
    ]
    return drawing(
        60,
        said,
        line(0, middle, 100, middle, "rest"),
        line(scale.at(low), middle, scale.at(high), middle, "scribed"),
        *ends,
        lettering(50, 54, say("fit_up.range_in", unit=unit), "tick"),
        whisker(scale.at(then - std), scale.at(then + std), middle, 8),
        mark(scale.at(now), middle, "round", "hollow", said),
        mark(scale.at(then), middle, "diamond", "solid", said),
        class_="range",
    )
