"""Drawing in SVG that keeps its lettering at reading size whatever the width of the page.

Along the drawing places are shares of its width in per cent, down it they are pixels.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from loopwright.sheets.markup import Child, Markup, joined, tag

MARKS = {
    "round": "M-5.5,0 a5.5,5.5 0 1,0 11,0 a5.5,5.5 0 1,0 -11,0 z",
    "diamond": "M0,-7 L7,0 L0,7 L-7,0 z",
    "block": "M-5,-6 H5 V6 H-5 z",
    "away": "M-8,-6 L4,0 L-8,6 z",
}
"""Outlines of the marks about their own middle; each says its meaning by its shape."""


@dataclass(frozen=True)
class Scale:
    """From a value to its place in the drawing; both ends in the unit that is shown."""

    low: float
    high: float

    def share(self, value: float) -> float:
        """Place as a share of the way from ``low`` to ``high``, kept within them."""
        if self.high == self.low or value != value:
            return 0.0
        return min(max((value - self.low) / (self.high - self.low), 0.0), 1.0)

    def at(self, value: float) -> float:
        """The same in per cent."""
        return 100 * self.share(value)


def graduations(high: float, most: int = 6) -> list[float]:
    """Round steps from 0 to no further than ``high``, at most so many.

    >>> graduations(23.0)
    [0.0, 5.0, 10.0, 15.0, 20.0]
    """
    if not 0 < high < float("inf"):
        return [0.0]
    step = _round_step(high / most)
    return [number * step for number in range(floor(high / step * (1 + 1e-9)) + 1)]


def _round_step(least: float) -> float:
    """The smallest of 1, 2, 5, 10 … that is no less."""
    power = 10.0 ** floor(log10(least))
    return next(times * power for times in (1, 2, 5, 10) if times * power >= least * (1 - 1e-9))


def reach(high: float, most: int = 6) -> float:
    """The first round graduation that is no less than ``high``."""
    if not 0 < high < float("inf"):
        return 1.0
    step = _round_step(high / most)
    return ceil(high / step * (1 - 1e-9)) * step


def plain(value: float) -> str:
    """A graduation's number."""
    return f"{value:.6g}"


def drawing(height: float, what: str, *children: Child, class_: str = "") -> Markup:
    """A drawing as wide as its place; ``what`` says in words what it shows."""
    return tag(
        "svg",
        *children,
        class_=f"drawing {class_}".strip(),
        height=height,
        width="100%",
        role="img",
        aria_label=what,
    )


def line(x1: float, y1: float, x2: float, y2: float, class_: str) -> Markup:
    """A line; x in per cent, y in pixels."""
    return tag("line", x1=f"{x1:.5g}%", y1=y1, x2=f"{x2:.5g}%", y2=y2, class_=class_)


def box(x: float, y: float, width: float, height: float, class_: str, hover: str | None = None) -> Markup:
    """A rectangle; x and width in per cent. ``hover`` is said where the pointer rests."""
    shown = () if hover is None else (tag("title", hover),)
    return tag(
        "rect", *shown, x=f"{x:.5g}%", y=y, width=f"{width:.5g}%", height=max(height, 0.0), class_=class_
    )


def lettering(x: float, y: float, words: str, class_: str = "", *, dx: float = 0) -> Markup:
    """Words; x in per cent, then ``dx`` pixels."""
    return tag("text", words, x=f"{x:.5g}%", y=y, dx=dx or None, class_=class_ or None)


def mark(x: float, y: float, shape: str, class_: str, hover: str) -> Markup:
    """A mark of a shape of ``MARKS``."""
    outline = tag("path", tag("title", hover), d=MARKS[shape], class_=class_)
    return tag("svg", outline, x=f"{x:.5g}%", y=y, class_="at")


def witness_line(x: float, top: float, bottom: float, hover: str) -> Markup:
    """A scribed line with prick-punch marks along it, as a limit is marked out on metal."""
    number = max(int((bottom - top) / 16), 2)
    points = [top + (bottom - top) * (n + 0.5) / number for n in range(number)]
    dots = [tag("circle", cx=f"{x:.5g}%", cy=round(y, 1), r=2.4, class_="punch") for y in points]
    return tag("g", tag("title", hover), line(x, top, x, bottom, "limit"), *dots)


def rule_along(scale: Scale, y: float, unit: str, *, most: int = 6) -> Markup:
    """The edge of a steel rule: long graduations with their number, short ones between."""
    steps = graduations(scale.high, most)
    fine = (steps[1] - steps[0]) / 5 if len(steps) > 1 else scale.high
    between = [n * fine for n in range(floor(scale.high / fine * (1 + 1e-9)) + 1)] if fine > 0 else []
    return joined(
        line(0, y, 100, y, "scribed"),
        *[line(scale.at(v), y, scale.at(v), y + 5, "scribed thin") for v in between],
        *[line(scale.at(v), y, scale.at(v), y + 10, "scribed") for v in steps],
        *[
            lettering(scale.at(v), y + 24, plain(v) if v else f"0 {unit}", "tick" if v else "tick first")
            for v in steps
        ],
    )


def spread_out(count: int, most: int) -> list[int]:
    """Which of so many places get lettering, so that it stays legible: every so many, from the first."""
    step = max(ceil(count / most), 1)
    return list(range(0, count, step))


def table(head: Sequence[str], rows: Sequence[Sequence[Child]], *, class_: str = "") -> Markup:
    """A table; a heading that starts with '>' has numbers below it. Narrow pages show it beside each cell."""
    names = [name.lstrip(">") for name in head]
    sides = ["number" if name.startswith(">") else None for name in head]
    top = tag("tr", *[tag("th", n, scope="col", class_=s) for n, s in zip(names, sides)])
    body = [
        tag(
            "tr",
            tag("th", row[0], scope="row"),
            *[tag("td", c, class_=s, data_head=n) for c, n, s in zip(row[1:], names[1:], sides[1:])],
        )
        for row in rows
    ]
    return tag(
        "div",
        tag("table", tag("thead", top), tag("tbody", *body), class_=class_ or None),
        class_="tabled",
        tabindex="0",
        role="group",
        aria_label=", ".join(n for n in names if n) or None,
    )


def path(field: str) -> Markup:
    """A path of the build file, which breaks behind a slash or a space, and is copied as it is.

    >>> path("parts/column")
    '<span class="path">parts/<wbr>column</span>'
    """
    first, *rest = field.split("/")
    return tag("span", first, *[joined("/", tag("wbr"), step) for step in rest], class_="path")


def in_figures(summary: str, head: Sequence[str], rows: Sequence[Sequence[Child]]) -> Markup:
    """What a drawing shows as a table that can be opened."""
    return tag("details", tag("summary", summary), table(head, rows), class_="figures")
