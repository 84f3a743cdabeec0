"""A sweep as it was read beside what was expected of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from loopwright import units
from loopwright.sheets.drawing import (
    Scale,
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
from loopwright.studies.asking import asked
from loopwright.studies.bench import Bench
from loopwright.studies.evaluating_forms import Table
from loopwright.studies.recording import Considered
from loopwright.units import Dimension
from loopwright.web.wording import say

TOP, BOTTOM, LEFT, RIGHT = 14.0, 214.0, 9.0, 98.0
"""Edges of the field: down in pixels, along in per cent."""


@dataclass(frozen=True)
class _Sweep:
    """Numbers of a sweep as they are drawn, in the unit that is shown."""

    names: Sequence[str]
    found: Sequence[float]
    expected: Sequence[float]
    stds: Sequence[float]
    limit: float | None
    unit: str
    alone: bool = False
    """Nothing was expected; the bars are those of what was found."""

    @property
    def reach(self) -> float:
        """How far the field goes to either side of zero; as far as the limit, where that is not far out."""
        data = max(max(map(abs, self.found)), max(abs(w) + s for w, s in zip(self.expected, self.stds)))
        return reach(max(data, self.limit) if self.limit is not None and self.limit < 4 * data else data, 4)


def sweep_figure(shown: Shown, bench: Bench, considered: Considered) -> Markup:
    """Found and expected at every pose, with what was not known, and the same as a table.

    Args:
        shown: formats numbers.
        bench: the build as it was considered with.
        considered: the sweep, beside what was expected.
    """
    look, dimension, held = considered.look, considered.dimension, considered.conformity
    assert look is not None

    def plain_numbers(values: Sequence[float]) -> list[float]:
        return [shown.number(float(value), dimension) for value in values]

    sweep = _Sweep(
        pose_names(shown, bench, considered),
        plain_numbers(tuple(look.found)),
        plain_numbers(tuple(look.expected)),
        plain_numbers(tuple(look.std)),
        None if held is None else shown.number(held.upper, dimension),
        shown.unit(dimension),
    )
    unit = sweep.unit
    head = [
        say("bench.pose"),
        f">{say('bench.found_head')} ({unit})",
        f">{say('bench.expected')} ({unit})",
        f">{say('bench.plus_minus_u')} ({unit})",
    ]
    rows = [
        (n, f"{v:.3g}", f"{w:.3g}", f"{s:.2g}")
        for n, v, w, s in zip(sweep.names, sweep.found, sweep.expected, sweep.stds)
    ]
    legend = tag("p", say("bench.sweep_legend"), class_="note")
    return tag(
        "figure",
        _picture(sweep),
        legend,
        in_figures(say("bench.in_figures"), head, rows),
        class_="sweep-figure",
    )


def _picture(sweep: _Sweep) -> Markup:
    field, count, unit = Scale(-sweep.reach, sweep.reach), len(sweep.found), sweep.unit
    across = [LEFT + (RIGHT - LEFT) * (i + 0.5) / count for i in range(count)]

    def down(value: float) -> float:
        return BOTTOM - field.share(value) * (BOTTOM - TOP)

    def level(value: float) -> Markup:
        name = plain(value) + ("" if value else f" {unit}")
        drawn = line(LEFT, down(value), RIGHT, down(value), "rest" if value else "scribed thin")
        return joined(drawn, lettering(LEFT - 1, down(value) + 4, name, "tick left"))

    def expected(i: int) -> Markup:
        wanted, std = sweep.expected[i], sweep.stds[i]
        said = say(
            "bench.expected_at", pose=sweep.names[i], value=f"{wanted:.3g}", spread=f"{std:.2g}", unit=unit
        )
        bar = line(across[i], down(wanted - std), across[i], down(wanted + std), "scribed")
        return bar if sweep.alone else joined(bar, mark(across[i], down(wanted), "round", "hollow", said))

    def found(i: int) -> Markup:
        said = say("bench.found_at", pose=sweep.names[i], value=f"{sweep.found[i]:.3g}", unit=unit)
        return mark(across[i], down(sweep.found[i]), "diamond", "solid", said)

    steps = graduations(sweep.reach, 2)
    limits = [] if sweep.limit is None or sweep.limit > sweep.reach else [sweep.limit, -sweep.limit]
    return drawing(
        BOTTOM + 30,
        say("bench.sweep_says"),
        *[level(value) for value in dict.fromkeys((*steps, *(-step for step in steps if step)))],
        *[_limit(down(value), value, unit) for value in limits],
        *[expected(i) for i in range(count)],
        *[found(i) for i in range(count)],
        *[lettering(across[i], BOTTOM + 20, sweep.names[i], "tick") for i in spread_out(count, 5)],
        class_="sweep",
    )


def _limit(y: float, value: float, unit: str) -> Markup:
    """A limit as it is pricked out on metal."""
    dots = [
        tag("circle", cx=f"{x}%", cy=round(y, 1), r=2.2, class_="punch")
        for x in range(int(LEFT) + 2, int(RIGHT), 4)
    ]
    said = say("bench.limit_at", value=f"{value:.3g}", unit=unit)
    return tag("g", tag("title", said), line(LEFT, y, RIGHT, y, "limit"), *dots)


def moved_figure(before: float, after: float, limit: float, said: str) -> Markup:
    """From a hollow mark to a solid one, with the limit as a pricked line across."""
    scale = Scale(0.0, max(before, after, limit) * 1.04)
    at = scale.at(limit)
    return drawing(
        22,
        said,
        line(0, 11, 100, 11, "rest"),
        line(scale.at(before), 11, scale.at(after), 11, "scribed"),
        line(at, 2, at, 20, "limit"),
        *[tag("circle", cx=f"{at:.5g}%", cy=y, r=2.2, class_="punch") for y in (4, 11, 18)],
        mark(scale.at(before), 11, "round", "hollow", said),
        mark(scale.at(after), 11, "round", "solid expected", said),
        class_="change",
    )


def places_figure(shown: Shown, found: Table) -> Markup | None:
    """What was found along a line, with its uncertainty; None where a table holds nothing that can be drawn so.

    Args:
        shown: formats numbers.
        found: a table with one column of places and one of values.
    """
    places = [i for i, heading in enumerate(found.headings) if heading.role == "place" and heading.dimension]
    values = [i for i, heading in enumerate(found.headings) if heading.role == "value" and heading.dimension]
    if len(places) != 1 or not values or len(found.rows) < 3:
        return None
    at, of = places[0], values[-1]
    beside = of + 1 if of + 1 < len(found.headings) and found.headings[of + 1].role == "u" else None
    dimension = found.headings[of].dimension
    assert dimension is not None
    rows = [row for row in found.rows if isinstance(row[at], float) and isinstance(row[of], float)]
    if len(rows) < 3 or found.headings[of].wide:
        return None
    stds = [row[beside] if beside is not None else 0.0 for row in rows]
    unit = found.headings[at].unit(shown.units)
    sweep = _Sweep(
        [f"{_in(unit, found.headings[at].dimension, row[at]):.4g} {unit}" for row in rows],
        [shown.number(float(row[of] or 0.0), dimension) for row in rows],
        [shown.number(float(row[of] or 0.0), dimension) for row in rows],
        [
            shown.number(float(std) if isinstance(std, float) and std < float("inf") else 0.0, dimension)
            for std in stds
        ],
        None,
        shown.unit(dimension),
        alone=True,
    )
    legend = tag("p", say("evaluate.figure", what=found.headings[of].name), class_="note")
    return tag("figure", _picture(sweep), legend, class_="sweep-figure")


def _in(unit: str, dimension: Dimension | None, value: object) -> float:
    assert dimension is not None
    return float(units.convert(float(value), dimension, unit))  # type: ignore[arg-type]


def pose_names(shown: Shown, bench: Bench, considered: Considered) -> Sequence[str]:
    """Every pose by the axes that move."""
    reading = considered.reading
    if reading.poses:
        poses = [{letter: at[i] for letter, at in reading.poses.items()} for i in range(len(reading.raw))]
    else:
        poses = [dict(pose) for pose in asked(bench, reading.of, gauge=reading.gauge).poses]
    moving = [letter for letter in (poses[0] if poses else {}) if len({pose[letter] for pose in poses}) > 1]
    return [shown.pose({letter: pose[letter] for letter in moving or pose}) for pose in poses]
