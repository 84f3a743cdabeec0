"""What an entry, or all that lies between two states, brought at the tool."""

from collections.abc import Sequence

from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.effect import TargetEffect
from loopwright.web.views.fit_up_figures import Bar, against_limit, legend
from loopwright.web.views.kit import chance
from loopwright.web.wording import say

SAME = 1e-9
"""Two sizes nearer than this, mm or rad, are one."""


def brought(shown: Shown, targets: Sequence[TargetEffect]) -> Markup:
    """Every target before and after: drawn, each on a scale of its own, and in figures.

    Args:
        shown: formats numbers.
        targets: before and after.
    """
    drawn = [
        tag("li", tag("span", one.name, class_="which"), _drawn(shown, one), class_="effect")
        for one in targets
    ]
    marks = (
        ("round", "hollow", say("book.legend_was")),
        ("round", "solid", say("book.legend_now")),
    )
    head = (
        say("book.target"),
        ">" + say("book.limit"),
        ">" + say("book.expected_error"),
        ">" + say("book.not_known"),
        ">" + say("book.chance"),
    )
    return joined(
        tag("ul", *drawn, class_="effects"),
        legend(*marks),
        table(head, [_row(shown, one) for one in targets], class_="blocks"),
    )


def moved(targets: Sequence[TargetEffect]) -> bool:
    """Whether any target stands elsewhere, or is known otherwise, than before."""
    return any(
        abs(one.before - one.after) > SAME or abs(one.unknown_before - one.unknown_after) > SAME
        for one in targets
    )


def _drawn(shown: Shown, one: TargetEffect) -> Markup:
    dimension = one.dimension
    limit = shown.limit(one.limit, dimension)
    said = say(
        "book.effect_said",
        name=one.name,
        was=shown.error(one.before, dimension),
        now=shown.error(one.after, dimension),
        unknown=shown.error(one.unknown_after, dimension),
        limit=limit,
    )
    bar = Bar(
        shown.number(one.before, dimension),
        shown.number(one.after, dimension),
        shown.number(one.unknown_after, dimension),
        said,
    )
    words = f"{say('book.limit')} {limit}"
    return against_limit(bar, shown.number(one.limit, dimension), shown.unit(dimension), words)


def _row(shown: Shown, one: TargetEffect) -> Sequence[Child]:
    error = [shown.error(v, one.dimension) for v in (one.before, one.after)]
    unknown = [shown.error(v, one.dimension) for v in (one.unknown_before, one.unknown_after)]
    held = [chance(v) for v in (one.chance_before, one.chance_after)]
    return (
        one.name,
        shown.limit(one.limit, one.dimension),
        *[_from_to(*pair) for pair in (error, unknown, held)],
    )


def _from_to(was: str, now: str) -> Child:
    return say("book.same", now=now) if was == now else tag("b", say("book.from_to", was=was, now=now))
