"""Pieces that stand on several sheets of the report: overview, comparison, stamps, balloons, hatching."""

from collections.abc import Sequence

from loopwright.sheets import standing_words as words
from loopwright.sheets.drawing import MARKS, path, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_figures import answers_figure, three_answers
from loopwright.studies.reports import Change, Standing, TargetChange, TargetStanding, WhatIf
from loopwright.units import Dimension

_STAMPS = {
    "enough": ("M5.5,10.5 l3,3 l6,-7", "enough"),
    "short": ("M6,6 l8,8 M14,6 l-8,8", "short"),
    "open": ("M5,8.5 q2.5,-3 5,0 t5,0 M5,12.5 q2.5,-3 5,0 t5,0", "undecided"),
}


_SIXTHS = ((0.866, 0.5), (0.0, 1.0), (-0.866, 0.5), (-0.866, -0.5), (0.0, -1.0), (0.866, -0.5))


def patterns() -> Markup:
    """Hatching that the drawings share."""
    stroke = tag("path", d="M-2,2 l4,-4 M0,8 l8,-8 M6,10 l4,-4", class_="hatch-line")
    hatch = tag("pattern", stroke, id="hatch", width=8, height=8, patternUnits="userSpaceOnUse")
    fine = tag("path", d="M-1,1 l2,-2 M0,5 l5,-5 M4,6 l2,-2", class_="hatch-line over")
    over = tag("pattern", fine, id="hatch-over", width=5, height=5, patternUnits="userSpaceOnUse")
    return tag(
        "svg",
        tag("defs", hatch, over),
        width=0,
        height=0,
        class_="patterns",
        aria_hidden="true",
        focusable="false",
    )


def stamp(sign: str) -> Markup:
    """An inspector's stamp: a tick, a cross or a wave in a ring."""
    outline, name = _STAMPS[sign]
    ring = tag("circle", cx=10, cy=10, r=9)
    return tag(
        "svg",
        ring,
        tag("path", d=outline),
        class_=f"stamp {sign}",
        viewBox="0 0 20 20",
        width=20,
        height=20,
        role="img",
        aria_label=name,
    )


def marking_out() -> Markup:
    """A corner of marked-out metal behind the title: centre lines, pitch circles, prick-punch marks."""
    rings = [tag("circle", cx=200, cy=200, r=r, class_="scribed") for r in (36, 92, 150)]
    holes = [(200 + 92 * c, 200 + 92 * s) for c, s in _SIXTHS] + [(200, 200)]
    cross = [
        tag("path", d=f"M{x - 16:.1f},{y:.1f} h32 M{x:.1f},{y - 16:.1f} v32", class_="scribed")
        for x, y in holes
    ]
    punched = [tag("circle", cx=round(x, 1), cy=round(y, 1), r=3.2, class_="punched") for x, y in holes]
    lines = tag("path", d="M0,200 H400 M200,0 V400 M58,118 L342,282 M58,282 L342,118", class_="scribed")
    return tag(
        "svg",
        *rings,
        lines,
        *cross,
        *punched,
        viewBox="0 0 400 400",
        class_="marking-out",
        aria_hidden="true",
    )


def balloon(number: int) -> Markup:
    """An item balloon, as on an assembly drawing."""
    return tag("span", str(number), class_="balloon", aria_hidden="true")


def legend_mark(shape: str, class_: str) -> Markup:
    """The mark of an answer, for its heading."""
    outline = tag("path", d=MARKS[shape], class_=f"solid {class_}")
    return tag(
        "svg", outline, viewBox="-9 -9 18 18", width=18, height=18, aria_hidden="true", class_="legend-mark"
    )


def overview(shown: Shown, standing: Standing) -> Markup:
    """All targets in one table, each with its verdict and its first lever."""
    confidence = words.confidence(standing.confidence)
    rows = [_overview_row(shown, target, n) for n, target in enumerate(standing.targets, 1)]
    head = (
        "target",
        ">limit",
        ">expected",
        f">{confidence} of machines",
        ">everything at its limit",
        ">chance to hold it",
        "verdict",
        "first lever",
    )
    return table(head, rows, class_="overview")


def _overview_row(shown: Shown, target: TargetStanding, number: int) -> tuple[Child, ...]:
    said = words.verdict(target)
    return (
        tag("a", target.name, href=f"#target-{number}"),
        shown.limit(target.limit, target.dimension),
        *[shown.error(value, target.dimension) for _, value in three_answers(target).values()],
        tag("b", words.chance(target.monte_carlo)),
        tag("span", stamp(said.sign), tag("span", said.brief), class_="stamped"),
        _first_lever(shown, target),
    )


def _first_lever(shown: Shown, target: TargetStanding) -> Markup:
    best = target.tightenings[0] if target.tightenings else None
    if best is None or best.halved >= best.now:
        return tag("span", "none")
    now, then = (words.beside(shown, v, best.now, target.dimension) for v in (best.now, best.halved))
    return tag(
        "div",
        f"halve {best.name}",
        path(best.field),
        tag("span", f"{now} → {then}", class_="nowrap"),
    )


def comparison(shown: Shown, compared: WhatIf) -> Markup:
    """What was changed, and every target before and after."""
    changes = [(tag("code", path), tag("code", value)) for path, value in compared.changes.items()]
    return joined(
        table(("changed in the build file", "value tried"), changes, class_="narrow"),
        *[
            _compared(shown, was, now, change, _just_in_limits(shown, compared, now))
            for was, now, change in compared.targets
        ],
    )


def _just_in_limits(shown: Shown, compared: WhatIf, target: TargetStanding) -> list[tuple[str, ...]]:
    """Rows for every dim just in its limits, where its making says otherwise."""
    found = compared.just_in_limits(target.name)
    if found is None:
        return []
    was, now, change = found
    chances = (percent(one.chance, one.chance_std) for one in (was, now))
    old, new = (words.beside(shown, one.expected, was.expected, target.dimension) for one in (was, now))
    return [
        ("chance, just in limits", *chances, _change_of_chance(change.chance)),
        ("expected, just in limits", old, new, _difference(shown, change.expected, target.dimension)),
    ]


def _compared(
    shown: Shown,
    was: TargetStanding,
    now: TargetStanding,
    change: TargetChange,
    in_limits: Sequence[tuple[str, ...]],
) -> Markup:
    first, second, after = was.monte_carlo, now.monte_carlo, three_answers(now)
    chances = (
        "chance to hold the limit",
        words.chance(first),
        words.chance(second),
        _change_of_chance(change.chance),
    )
    moved = {"expected": change.expected, "coverage": change.coverage, "worst": change.worst_case}
    sizes = [
        (
            name,
            words.beside(shown, old, old, was.dimension),
            words.beside(shown, after[key][1], old, now.dimension),
            _difference(shown, moved[key], now.dimension),
        )
        for key, (name, old) in three_answers(was).items()
    ]
    drawn = tag("div", answers_figure(shown, now, was), class_="drawn")
    return tag(
        "div",
        tag("h3", now.name, tag("small", f" limit {shown.limit(now.limit, now.dimension)}")),
        tag(
            "div",
            drawn,
            tag("p", "Hollow marks: before. Solid marks: after.", class_="small"),
            class_="plate",
        ),
        table(("", ">before", ">after", ">change"), [chances, *sizes, *in_limits], class_="compared"),
        tag("p", f"Before: {words.sampling(first)}. After: {words.sampling(second)}.", class_="note"),
        class_="part",
    )


def _change_of_chance(change: Change) -> str:
    """Difference of two counted chances, in points, and whether sampling alone could make it."""
    if change.is_sampling:
        return "no more than sampling"
    said = f"{100 * change.value:+.1f} points".replace("-", "\u2212")
    return f"{said}, {'better' if change.value > 0 else 'worse'}"


def _difference(shown: Shown, change: Change, dimension: Dimension) -> str:
    if words.small(shown, change.value, dimension) == "none":
        return "none"
    if change.is_sampling:
        return "no more than sampling"
    said = shown.error(change.value, dimension, sign=True).replace("-", "\u2212", 1)
    return f"{said}, {'better' if change.value < 0 else 'worse'}"
