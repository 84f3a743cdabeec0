"""The budget both ways: if everything is just in its limits, as this shop makes it, and with a change of routes."""

from collections.abc import Sequence

from loopwright.loop.threads import one_thread
from loopwright.sheets.drawing import MARKS, Scale, drawing, in_figures, line, mark, rule_along, witness_line
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.both_ways import BothWays, Held, TargetWays, both_ways
from loopwright.web.views.kit import paper, stats
from loopwright.web.wording import plural, say
from loopwright.web.work import Work

ROW = 60.0
LEAST, MOST = 1.12, 2.6
"""How far the scale goes at least and at most, in limits; what is further out stands at its end."""
LIMITS, MADE, CHANGED = ("diamond", "hollow"), ("round", "solid"), ("block", "solid")


def ways_of(work: Work) -> BothWays | None:
    """The budget both ways; worked out once until the book changes."""

    def make() -> BothWays | None:
        with one_thread():
            return both_ways(work.bench.build, loop=work.bench.loop)

    return work.kept("both ways", make)


def on_standing(work: Work, shown: Shown) -> Markup | None:
    """What the routes bring, for the front page; nothing where no part has a route."""
    found = ways_of(work)
    if found is None:
        return None
    routed = plural("both_ways.routed", found.routed, made=found.made)
    return paper(
        say("both_ways.title"),
        tag("p", say("both_ways.note"), " ", routed, class_="note"),
        *budget(shown, found),
        id="both-ways",
    )


def budget(shown: Shown, found: BothWays) -> list[Child]:
    """The chances of all, every target drawn, and the same as a table.

    Args:
        shown: formats numbers.
        found: the budget.
    """
    limits, made, changed = found.of_all
    cells = [
        (say("both_ways.in_limits"), percent(limits, found.chance_std), say("both_ways.of_all")),
        (say("both_ways.as_made"), percent(made, found.chance_std), say("both_ways.of_all")),
    ]
    if changed is not None:
        cells.append((say("both_ways.changed"), percent(changed, found.chance_std), say("both_ways.of_all")))
    far = max(_far(one) for one in found.targets)
    scale = Scale(0.0, min(max(LEAST, 1.05 * far), MOST))
    rows = [_row(shown, one, scale) for one in found.targets]
    percents = Scale(0.0, 100 * scale.high)
    rule = drawing(34.0, say("both_ways.scale"), rule_along(percents, 1.0, "%", most=4))
    foot = tag("li", tag("span"), rule, tag("span"), class_="foot", aria_hidden="true")
    points = f"{200 * found.chance_std:.1f} %"
    return [
        stats(*cells),
        tag("ol", *rows, foot, class_="ways-drawn"),
        _key(changed is not None),
        tag("p", say("both_ways.sampling", trials=f"{found.trials:,}", points=points), class_="note"),
        in_figures(
            say("both_ways.in_figures"), _heads(found), [_figures(shown, one) for one in found.targets]
        ),
    ]


def _held(one: TargetWays) -> list[tuple[str, tuple[str, str], Held]]:
    found = [("in_limits", LIMITS, one.in_limits), ("as_made", MADE, one.as_made)]
    return found + ([("changed", CHANGED, one.changed)] if one.changed is not None else [])


def _far(one: TargetWays) -> float:
    return max(held.expected / one.limit for _, _, held in _held(one))


def _row(shown: Shown, one: TargetWays, scale: Scale) -> Markup:
    marks, middle = _held(one), ROW / 2
    said = [
        say(
            f"both_ways.said_{name}",
            name=one.name,
            size=shown.error(held.expected, one.dimension),
            chance=percent(held.chance, held.chance_std),
        )
        for name, _, held in marks
    ]
    places = [scale.at(held.expected / one.limit) for _, _, held in marks]
    limit = say("both_ways.limit_is", limit=shown.limit(one.limit, one.dimension))
    heights = [middle - 14, middle, middle + 14] if len(marks) == 3 else [middle - 8, middle + 8]
    picture = drawing(
        ROW,
        "; ".join(said),
        *[line(0, y, place, y, "scribed thin") for place, y in zip(places, heights)],
        witness_line(scale.at(1.0), 2, ROW - 2, limit),
        *[
            mark(place, y, *look, words)
            for place, y, (_, look, _), words in zip(places, heights, marks, said)
        ],
    )
    name = tag("span", tag("b", one.name), tag("small", limit), class_="which")
    chances = [
        tag("span", percent(held.chance, held.chance_std), class_=None if which == "in_limits" else "now")
        for which, _, held in marks
    ]
    return tag("li", name, picture, tag("span", *chances, class_="held"))


def _key(changed: bool) -> Markup:
    items = [("in_limits", LIMITS), ("as_made", MADE)] + ([("changed", CHANGED)] if changed else [])
    marks = [tag("li", _legend(*look), say(f"both_ways.{name}")) for name, look in items]
    return tag("ul", *marks, tag("li", say("both_ways.key")), class_="key")


def _legend(shape: str, look: str) -> Markup:
    outline = tag("path", d=MARKS[shape], class_=look)
    return tag(
        "svg", outline, viewBox="-9 -9 18 18", width=17, height=17, class_="legend-mark", aria_hidden="true"
    )


def _heads(found: BothWays) -> Sequence[str]:
    names = ["in_limits", "as_made"] + (["changed"] if found.of_all[2] is not None else [])
    heads = [say("both_ways.target"), ">" + say("both_ways.limit")]
    for name in names:
        heads += [">" + say(f"both_ways.{name}"), ">" + say("both_ways.chance")]
    return heads


def _figures(shown: Shown, one: TargetWays) -> Sequence[Child]:
    cells: list[Child] = [one.name, shown.limit(one.limit, one.dimension)]
    for _, _, held in _held(one):
        cells += [
            joined(shown.error(held.expected, one.dimension)),
            percent(held.chance, held.chance_std),
        ]
    return cells
