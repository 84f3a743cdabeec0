"""The tolerance chart as a drawing: columns of surfaces, arrows of cuts, stock beside them, the drawing's dims below.

On the screen it takes its colours from the page (``chart_style.css``); on paper it is black on white. Along it places
are shares of its width, down it they are points or pixels, so lettering keeps its size whatever the width.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite

from loopwright.making.chart_picture import Arrow, ChartPicture, Column, Foot, HeatRow
from loopwright.sheets.drawing import box, lettering, line
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shop_sizes import ShopSizes

LEFT, RIGHT = 24.0, 57.0
"""Where the columns of surfaces begin and end, per cent of the width."""
SIZE_END, STOCK_END = 80.0, 99.5
"""Where the numbers of the working dims and of the stock end."""
ROW, TOP, FOOT = 21, 14, 8
"""Height of a row, room above the lettering of the columns, and below the last row."""
SLANT = 55
"""Degrees by which names of columns lean where they do not fit side by side."""
LONGEST = 22
"""A longer name of a surface is cut short over its column; the rows beside have it whole."""
MOST_ROWS = 26
"""Rows in one drawing on paper; a longer chart goes on in the next."""

_HEADS = {
    "head-right": "M0,0 L-9,-4.5 L-9,4.5 z",
    "head-left": "M0,0 L9,-4.5 L9,4.5 z",
    "from": "M-3.2,0 a3.2,3.2 0 1,0 6.4,0 a3.2,3.2 0 1,0 -6.4,0 z",
    "first": "M-4,-4 H4 V4 H-4 z",
    "tick": "M-0.9,-6 H0.9 V6 H-0.9 z",
}
_ON_PAPER = (
    'text{font:10px "DejaVu Sans";fill:#000}.strong{font-weight:700}'
    ".end{text-anchor:end}.middle{text-anchor:middle}line{stroke:#000;stroke-width:1}"
    ".column{stroke:#777;stroke-width:.7}.axis{stroke-dasharray:7 2 1.5 2}.between{stroke:#999;stroke-width:.6}"
    ".cut{stroke-width:1.6}.seat{stroke-dasharray:3 2}.dim{stroke-width:1.1}.double{stroke-width:1.6}"
    ".heat{fill:#ddd}.mark{fill:#000}"
)


@dataclass(frozen=True)
class _Row:
    """One row of the chart: a cut, a heat, or a dim of the drawing."""

    of: Arrow | HeatRow | Foot


def chart_drawing(picture: ChartPicture, sizes: ShopSizes) -> Markup:
    """The chart for a page; its height is fixed, its width is that of its place, from about 600 pixels on.

    Args:
        picture: the chart as plain data.
        sizes: writes the numbers.
    """
    return _drawn(picture, sizes, _rows(picture), None)


def charts_for_paper(picture: ChartPicture, sizes: ShopSizes, width: float) -> list[Markup]:
    """The chart in black on white, in several drawings where it has many rows.

    Args:
        picture: the chart as plain data.
        sizes: writes the numbers.
        width: of the drawing, in points.
    """
    rows = _rows(picture)
    parts = -(-len(rows) // MOST_ROWS)
    many = -(-len(rows) // max(parts, 1))
    return [_drawn(picture, sizes, rows[at : at + many], width) for at in range(0, len(rows), max(many, 1))]


def _rows(picture: ChartPicture) -> list[_Row]:
    """Cuts in the order of work with the heats between them, then the drawing's dims; a first seat says nothing."""
    rows: list[_Row] = []
    for number in range(len(picture.arrows) + 1):
        rows += [_Row(heat) for heat in picture.heats if heat.before_row == number]
        if number < len(picture.arrows):
            arrow = picture.arrows[number]
            if not (arrow.start is None and arrow.label == "seat"):
                rows.append(_Row(arrow))
    return rows + [_Row(foot) for foot in picture.feet]


def _drawn(picture: ChartPicture, sizes: ShopSizes, rows: Sequence[_Row], width: float | None) -> Markup:
    ink = _Ink(picture, sizes, rows, width)
    height = ink.first + ROW * len(rows) + FOOT
    inside = joined(*ink.columns(height - FOOT), *ink.headings(), *ink.body())
    what = f"Tolerance chart of {picture.name}: {len(picture.columns)} surfaces, {len(picture.arrows)} cuts"
    if width is None:
        return tag(
            "svg", inside, class_="drawing tolerance-chart", height=height, width="100%", role="img",
            aria_label=what,
        )  # fmt: skip
    return tag(
        "svg", tag("style", Markup(_ON_PAPER)), inside, xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:.6g} {height}",
    )  # fmt: skip


@dataclass(frozen=True)
class _Ink:
    """Draws one chart, or a part of it."""

    picture: ChartPicture
    sizes: ShopSizes
    rows: Sequence[_Row]
    width: float | None

    @property
    def slanted(self) -> bool:
        """Names of columns do not fit side by side."""
        room = (self.width or 700.0) * (RIGHT - LEFT) / 100 / max(len(self.picture.columns), 1)
        return max((len(_short(c.surface)) for c in self.picture.columns), default=0) * 5.4 + 8 > room

    @property
    def first(self) -> float:
        """Where the rows begin."""
        longest = max((len(_short(column.surface)) for column in self.picture.columns), default=0)
        return TOP + (16 + 4.9 * longest if self.slanted else 18)

    def at(self, column: int) -> float:
        """Where a column stands, per cent."""
        many = len(self.picture.columns)
        return LEFT + (RIGHT - LEFT) * (column + 0.5) / max(many, 1)

    def columns(self, bottom: float) -> Iterator[Markup]:
        """Upright lines with their names; an axis is a centre line."""
        for number, column in enumerate(self.picture.columns):
            x = self.at(number)
            yield line(x, self.first - 6, x, bottom, "column axis" if _is_axis(column) else "column")
            words = _short(column.surface)
            if not self.slanted:
                yield lettering(x, self.first - 10, words, "head middle strong")
                continue
            text = tag("text", words, transform=f"rotate(-{SLANT})", class_="head strong")
            yield tag("svg", text, x=f"{x:.5g}%", y=self.first - 9, overflow="visible", class_="at")

    def headings(self) -> Iterator[Markup]:
        """What the columns of numbers are."""
        y, unit = self.first - 10, self.sizes.unit
        yield lettering(0, y, "op", "head strong")
        yield lettering(SIZE_END, y, f"working dim, {unit}", "head strong end")
        yield lettering(STOCK_END, y, "stock taken off", "head strong end")
        yield line(0, self.first - 6, 100, self.first - 6, "between")

    def body(self) -> Iterator[Markup]:
        """All rows."""
        told = None
        for number, row in enumerate(self.rows):
            y = self.first + ROW * number + ROW / 2
            before = self.rows[number - 1].of if number else None
            match row.of:
                case Arrow() as arrow:
                    if arrow.new_setup and before is not None and told != arrow.op:
                        yield line(0, y - ROW / 2, 100, y - ROW / 2, "between")
                    yield from self._arrow(arrow, y, told == arrow.op)
                    told = arrow.op
                case HeatRow() as heat:
                    yield from self._heat(heat, y)
                case Foot() as foot:
                    if not isinstance(before, Foot):
                        yield line(0, y - ROW / 2, 100, y - ROW / 2, "double")
                    yield from self._foot(foot, y)

    def _arrow(self, arrow: Arrow, y: float, again: bool) -> Iterator[Markup]:
        if not again:
            yield lettering(0, y + 3.5, f"{arrow.op}  {self._does(arrow)}", "strong")
        end = self.at(arrow.end)
        if arrow.start is None:
            yield _mark(end, y, "first", self._hover(arrow))
            yield lettering(SIZE_END, y + 3.5, "first face", "end")
            return
        start = self.at(arrow.start)
        if arrow.grows and arrow.start == arrow.end:
            start = end - 4.0 * (arrow.facing or 1)
        right = end >= start
        seat = arrow.label == "seat"
        yield line(start, y, end, y, "cut seat" if seat else "cut")
        yield _mark(start, y, "from", "")
        yield _mark(end, y, "head-right" if right else "head-left", self._hover(arrow))
        yield from self._numbers(arrow, y, seat)

    def _does(self, arrow: Arrow) -> str:
        """Name of the op; a seat is the beginning of the cut that follows."""
        same = (one.label for one in self.picture.arrows if one.op == arrow.op and one.label != "seat")
        return next(same, arrow.label)

    @property
    def sign(self) -> str:
        """Before sizes that are diameters."""
        return "Ø" if self.picture.shown_times == 2 else ""

    def _numbers(self, arrow: Arrow, y: float, seat: bool) -> Iterator[Markup]:
        if arrow.size is not None and arrow.half is not None:
            words = self._size(arrow, seat)
            yield lettering(SIZE_END, y + 3.5, words, "end strong" if arrow.held else "end strong unheld")
        if arrow.balance is not None:
            found = arrow.balance
            words = self.sizes.stock(found.low, found.high)[0] + ("" if found.holds else " !")
            yield lettering(STOCK_END, y + 3.5, words, "end" if found.holds else "end strong missed")

    def _size(self, arrow: Arrow, seat: bool) -> str:
        assert arrow.size is not None
        assert arrow.half is not None
        if seat:
            return f"axis true ±{self.sizes.half(arrow.half)}"
        words = self.sizes.working(arrow.size, arrow.half, given=arrow.given, sign=self.sign)[0]
        if arrow.grows:
            words = f"+{words}"
        if arrow.given:
            words = f"[{words}]"
        return words if arrow.held else f"{words} !"

    def _hover(self, arrow: Arrow) -> str:
        end = self.picture.columns[arrow.end].surface
        start = "" if arrow.start is None else f" from {self.picture.columns[arrow.start].surface}"
        return f"op {arrow.op} {arrow.label}, {arrow.setup}: {end}{start}"

    def _heat(self, heat: HeatRow, y: float) -> Iterator[Markup]:
        yield box(0, y - ROW / 2 + 2, 100, ROW - 4, "heat")
        low, high = (_growth(value) for value in (heat.low, heat.high))
        yield lettering(0, y + 3.5, f"{heat.after_op}  heat", "strong")
        words = f"grows {low}" if low == high else f"grows {low} to {high}"
        yield lettering(STOCK_END, y + 3.5, f"every length {words}", "end")

    def _foot(self, foot: Foot, y: float) -> Iterator[Markup]:
        yield lettering(0, y + 3.5, _short(foot.name), "strong")
        end, start = self.at(foot.end), foot.start
        if start is None:
            cuts = (arrow.start for arrow in self.picture.arrows[::-1] if arrow.end == foot.end)
            start = next(cuts, None)
        if start is not None:
            yield line(self.at(start), y, end, y, "dim")
            yield _mark(self.at(start), y, "tick", "")
        yield _mark(end, y, "tick", "")
        if isfinite(foot.asked_low) and isfinite(foot.asked_high):
            words = self.sizes.limits(foot.asked_low, foot.asked_high, sign=self.sign)[0]
            yield lettering(SIZE_END, y + 3.5, words, "end strong")
        words = "held" if foot.holds else "not held !"
        yield lettering(STOCK_END, y + 3.5, words, "end" if foot.holds else "end strong missed")


LEGEND = (
    "Dot: measured from. Arrow head: surface that is cut. Square: first face. [ ] stated by the route. "
    "! not held: see the remarks. Below the double line: dims of the drawing."
)
"""What the marks mean, for under the drawing."""


def _is_axis(column: Column) -> bool:
    return column.facing == 0


def _short(name: str) -> str:
    """A name over its column."""
    name = name.removeprefix("axis of ")
    return name if len(name) <= LONGEST else name[: LONGEST - 1] + "…"


def _growth(value: float) -> str:
    return f"{100 * value:.3f}".rstrip("0").rstrip(".") + " %"


def _mark(x: float, y: float, shape: str, hover: str) -> Markup:
    said = (tag("title", hover),) if hover else ()
    outline = tag("path", *said, d=_HEADS[shape], class_="mark")
    return tag("svg", outline, x=f"{x:.5g}%", y=y, overflow="visible", class_="at")
