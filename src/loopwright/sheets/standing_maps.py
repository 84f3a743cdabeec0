"""Where in the volume: the expected error over planes of axes, or along a single one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise
from math import floor, log10
from typing import Protocol

from loopwright.sheets import standing_words as words
from loopwright.sheets.drawing import (
    Scale,
    box,
    drawing,
    graduations,
    in_figures,
    lettering,
    line,
    mark,
    plain,
    reach,
    spread_out,
)
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.reports import PlaneMap
from loopwright.units import Dimension

_LETTERED, _LINE_HEIGHT = 9, 18
"""Columns that get lettering, and pixels that a line of it needs."""
_CELLS, _TABLED = 700, 21
"""More poses than these are drawn in runs of one tint, and thinned out in the table below."""
_TINTS = 6


class Mapped(Protocol):
    """Whose error a map shows: a target as designed or as built."""

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""

    @property
    def limit(self) -> float:
        """Its limit, mm or rad."""

    @property
    def worst_pose(self) -> Mapping[str, float]:
        """Where the axes stand at the worst pose, mm or rad."""


def map_figure(shown: Shown, target: Mapped, plane: PlaneMap, top: float) -> Markup:
    """Expected size of the error over a plane of axes, or along one.

    Args:
        shown: formats numbers.
        target: whose error it is.
        plane: the map.
        top: the largest size on any map of the target, mm or rad.
    """
    if plane.up is None:
        return _line_figure(shown, target, plane)
    drawn = _Map(shown, target, plane, tints(shown, target, top)[1])
    elsewhere = f"; {shown.pose(plane.elsewhere)}" if plane.elsewhere else ""
    caption = tag("figcaption", f"{plane.across} across, {plane.up} up{elsewhere}")
    return tag("figure", caption, drawn.picture(), _map_table(shown, target, plane), class_="plane")


def map_key(shown: Shown, target: Mapped, top: float) -> Markup:
    """What each tint of the maps of a target stands for."""
    steps, unit = tints(shown, target, top), shown.unit(target.dimension)
    swatches = [
        tag(
            "li",
            tag("span", class_=f"swatch s{n}", aria_hidden="true"),
            f"{plain(round(low, 9))} to {plain(round(high, 9))} {unit}",
        )
        for n, (low, high) in enumerate(pairwise(steps))
    ]
    ring = tag("li", tag("span", class_="swatch ring", aria_hidden="true"), "worst pose")
    return tag("ul", *swatches, ring, class_="key")


def tints(shown: Shown, target: Mapped, top: float) -> list[float]:
    """Bounds of the tints, from 0 to past the largest value, in the unit that is shown."""
    high = shown.number(top, target.dimension)
    return graduations(reach(high, _TINTS), _TINTS) if high > 0 else [0.0, 1.0]


@dataclass(frozen=True)
class _Map:
    """A map on its way to paper; the first row of sizes is the lowest, so it is drawn at the bottom."""

    shown: Shown
    target: Mapped
    plane: PlaneMap
    step: float

    @cached_property
    def sizes(self) -> list[list[float]]:
        return [[self.shown.number(v, self.target.dimension) for v in row] for row in self.plane.size]

    @cached_property
    def levels(self) -> list[list[int]]:
        return [[min(int(v / self.step + 1e-9), _TINTS) for v in row] for row in self.sizes]

    @cached_property
    def rows(self) -> int:
        return len(self.sizes)

    @cached_property
    def columns(self) -> int:
        return len(self.sizes[0])

    @cached_property
    def wide(self) -> float:
        return 100 / self.columns

    @cached_property
    def high(self) -> float:
        return min(max(220 / self.rows, 8.0), 36.0)

    def down(self, row: int) -> float:
        """Upper edge of a row."""
        return (self.rows - 1 - row) * self.high

    def picture(self) -> Markup:
        unit = self.shown.unit(self.target.dimension)
        low, high = min(map(min, self.sizes)), max(map(max, self.sizes))
        many = self.rows * self.columns > _CELLS
        return drawing(
            self.rows * self.high + 40,
            f"Map of the expected error, {self.plane.across} across and {self.plane.up} up: "
            f"from {low:.2g} to {high:.2g} {unit}.",
            *(self.runs() if many else self.cells(unit)),
            *self.contours(),
            *self.numbers(),
            *self.places(),
            self.worst_pose(),
            class_="map",
        )

    def cells(self, unit: str) -> list[Markup]:
        """A box for each pose."""
        plane, across = (
            self.plane,
            [self.shown.position(self.plane.across, v) for v in self.plane.across_values],
        )
        up = [self.shown.position(plane.up or "", v) for v in plane.up_values]
        return [
            box(
                n * self.wide,
                self.down(r),
                self.wide,
                self.high,
                f"h{self.levels[r][n]}",
                f"{across[n]}, {up[r]}: {value:.3g} {unit}",
            )
            for r, row in enumerate(self.sizes)
            for n, value in enumerate(row)
        ]

    def runs(self) -> list[Markup]:
        """Poses of one tint side by side as one box, for maps of very many."""
        out = []
        for r, row in enumerate(self.levels):
            start = 0
            for level, same in groupby(row):
                count = len(list(same))
                out.append(box(start * self.wide, self.down(r), count * self.wide, self.high, f"h{level}"))
                start += count
        return out

    def contours(self) -> list[Markup]:
        """Lines between boxes of different tint, so that the steps are told without colour."""
        upright = [
            line((n + 1) * self.wide, self.down(r), (n + 1) * self.wide, self.down(r) + self.high, "contour")
            for r, row in enumerate(self.levels)
            for n, (left, right) in enumerate(pairwise(row))
            if left != right
        ]
        level = [
            line(n * self.wide, self.down(r), (n + 1) * self.wide, self.down(r), "contour")
            for r, (lower, upper) in enumerate(pairwise(self.levels))
            for n, (low, high) in enumerate(zip(lower, upper))
            if low != high
        ]
        return [*upright, *level]

    def numbers(self) -> list[Markup]:
        """The value in each box, or in every so many where they stand too close."""
        places = _decimals(max(map(max, self.sizes)))
        return [
            lettering(
                (n + 0.5) * self.wide,
                self.down(r) + self.high / 2 + 4.5,
                f"{self.sizes[r][n]:.{places}f}",
                f"cell on{self.levels[r][n]}",
            )
            for r in spread_out(self.rows, self.lines)
            for n in spread_out(self.columns, _LETTERED)
        ]

    @property
    def lines(self) -> int:
        """Rows that have room for lettering."""
        return max(int(self.rows * self.high / _LINE_HEIGHT), 1)

    def places(self) -> list[Markup]:
        """Where the axes stand: below the columns and left of the rows."""
        shown, across, up = self.shown, self.plane.across, self.plane.up or ""
        bottom = self.rows * self.high
        below = [
            lettering((n + 0.5) * self.wide, bottom + 16, words.along_axis(shown, across, v), "tick")
            for n in spread_out(self.columns, _LETTERED)
            for v in [self.plane.across_values[n]]
        ]
        beside = [
            lettering(
                0, self.down(r) + self.high / 2 + 4.5, words.along_axis(shown, up, v), "tick left", dx=-6
            )
            for r in spread_out(self.rows, self.lines)
            for v in [self.plane.up_values[r]]
        ]
        return [
            *below,
            *beside,
            lettering(100, bottom + 34, f"{across} in {words.axis_unit(shown, across)} →", "axis-name right"),
            lettering(0, bottom + 34, f"↑ {up} in {words.axis_unit(shown, up)}", "axis-name", dx=-40),
        ]

    def worst_pose(self) -> Markup | None:
        """A dashed frame around the worst pose, where this map holds it."""
        plane, worst = self.plane, self.target.worst_pose
        column = _place(plane.across_values, worst.get(plane.across))
        row = _place(plane.up_values, worst.get(plane.up or ""))
        if column is None or row is None:
            return None
        frame = (column * self.wide, self.down(row), self.wide, self.high)
        return joined(box(*frame, "worst-ground"), box(*frame, "worst-pose", "worst pose"))


def _place(values: Sequence[float], wanted: float | None) -> int | None:
    return values.index(wanted) if wanted in values else None


def _decimals(top: float) -> int:
    """Decimals that leave two digits of the largest of a set of numbers."""
    return min(max(1 - floor(log10(top)), 0), 6) if 0 < top < float("inf") else 0


def _map_table(shown: Shown, target: Mapped, plane: PlaneMap) -> Markup:
    up, unit = plane.up or "", shown.unit(target.dimension)
    columns = spread_out(len(plane.across_values), _TABLED)
    rows = spread_out(len(plane.up_values), _TABLED)
    heads = [">" + words.along_axis(shown, plane.across, plane.across_values[n]) for n in columns]
    body = [
        (
            words.along_axis(shown, up, plane.up_values[r]),
            *[f"{shown.number(plane.size[r][n], target.dimension):.3g}" for n in columns],
        )
        for r in reversed(rows)
    ]
    whole = len(columns) * len(rows) == len(plane.across_values) * len(plane.up_values)
    name = f"This map as a table, in {unit}" + ("" if whole else ", thinned out")
    return in_figures(name, (f"{up} \\ {plane.across}", *heads), body)


def _line_figure(shown: Shown, target: Mapped, plane: PlaneMap) -> Markup:
    """Expected size along a single axis, with the limit above it."""
    unit = shown.unit(target.dimension)
    values = [shown.number(v, target.dimension) for v in plane.size[0]]
    names = [words.along_axis(shown, plane.across, v) for v in plane.across_values]
    rows = [(name, f"{v:.3g}") for name, v in zip(names, values)]
    return tag(
        "figure",
        tag("figcaption", f"along {plane.across}, in {unit}"),
        _line_picture(shown, target, plane, values),
        in_figures(f"This line as a table, in {unit}", (plane.across, ">expected error"), rows),
        class_="plane",
    )


def _line_picture(shown: Shown, target: Mapped, plane: PlaneMap, values: Sequence[float]) -> Markup:
    unit, across = shown.unit(target.dimension), plane.across
    limit = shown.number(target.limit, target.dimension)
    steps = graduations(reach(max(*values, limit), 5), 5)
    top, bottom = 12.0, 212.0
    down = Scale(steps[-1], 0.0)
    y = [top + (bottom - top) * down.share(v) for v in values]
    level = top + (bottom - top) * down.share(limit)
    along = Scale(min(plane.across_values), max(plane.across_values))
    x = [along.at(v) for v in plane.across_values]
    rests = [(top + (bottom - top) * down.share(v), plain(v)) for v in steps]
    places = [shown.position(across, v) for v in plane.across_values]
    ends = [((x[n], y[n]), (x[n + 1], y[n + 1])) for n in range(len(x) - 1)]
    return drawing(
        bottom + 40,
        f"Expected error along {across}: from {min(values):.2g} to {max(values):.2g} {unit}; "
        f"limit {limit:.3g} {unit}.",
        *[
            joined(line(0, at, 100, at, "rest"), lettering(0, at + 4, v, "tick left", dx=-6))
            for at, v in rests
        ],
        line(0, level, 100, level, "limit"),
        lettering(
            100, level - 6, f"limit {shown.limit(target.limit, target.dimension)}", "limit-word before"
        ),
        *[line(*one, *other, "curve") for one, other in ends],
        *[mark(x[n], y[n], "round", "solid", f"{places[n]}: {v:.3g} {unit}") for n, v in enumerate(values)],
        *[
            lettering(x[n], bottom + 18, places[n].split(" ")[1], "tick")
            for n in spread_out(len(x), _LETTERED)
        ],
        lettering(100, bottom + 36, f"{across} in {words.axis_unit(shown, across)} →", "axis-name right"),
        class_="map",
    )
