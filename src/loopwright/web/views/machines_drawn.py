"""What the parts show of each machine, as intervals on one scale of factors."""

from collections.abc import Sequence
from math import ceil, floor, log2

from loopwright.sheets.drawing import Scale, drawing, in_figures, lettering, line, mark
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import percent
from loopwright.studies.shop_machines import MachineHolds
from loopwright.web.views.kit import chip
from loopwright.web.wording import plural, say

ROW = 46.0
MOST = 24
"""Ops that are drawn; those of which most is known come first."""


def ratio(value: float) -> str:
    """A factor as a shop says it: two figures.

    >>> ratio(0.8312), ratio(1.0), ratio(12.4)
    ('0.83', '1.0', '12')
    """
    return f"{value:.0f}" if value >= 9.95 else f"{value:.2g}" if value < 0.995 else f"{value:.1f}"


def shown_by_parts(known: Sequence[MachineHolds], every: int) -> list[Child]:
    """The drawing with its table.

    Args:
        known: ops on machines of which dims were read.
        every: how many ops on machines there are.
    """
    best = sorted(known, key=lambda one: -one.informed)[:MOST]
    ends = [end for one in best for end in one.factor_range or (1.0, 1.0)]
    low, high = floor(min(-1.0, *map(log2, ends))), ceil(max(1.0, *map(log2, ends)))
    scale = Scale(float(low), float(high))
    rows = [_row(one, scale) for one in best]
    rest = every - len(known)
    return [
        tag("p", say("machines.shows_note"), class_="note"),
        tag("p", say("machines.first_few", shown=len(best), count=len(known)), class_="note")
        if len(best) < len(known)
        else None,
        tag("ol", *rows, _rule(scale), class_="intervals"),
        tag("p", plural("machines.rest", rest), class_="note") if rest else None,
        in_figures(say("machines.in_figures"), _heads(), [_figures(one) for one in best]),
    ]


def _row(one: MachineHolds, scale: Scale) -> Markup:
    assert one.factor is not None
    low, high = one.factor_range or (one.factor, one.factor)
    said = say(
        "machines.said",
        op=one.op,
        machine=one.machine,
        factor=ratio(one.factor),
        low=ratio(low),
        high=ratio(high),
        count=one.read,
    )
    middle = ROW / 2
    unit, ends = scale.at(0.0), (scale.at(log2(low)), scale.at(log2(high)))
    picture = drawing(
        ROW,
        said,
        *_graduations(scale, ROW),
        line(unit, 0, unit, ROW, "limit as-taken"),
        tag("g", tag("title", said), line(ends[0], middle, ends[1], middle, "scribed reach"), class_="span"),
        *[line(end, middle - 7, end, middle + 7, "scribed") for end in ends],
        mark(scale.at(log2(one.factor)), middle, "round" if not one.differs else "diamond", "solid", said),
    )
    name = tag("span", tag("b", one.op), " ", tag("small", one.machine), class_="which")
    state = "differs" if one.differs else "as_taken"
    held = tag(
        "span",
        tag("b", say("machines.times_taken", factor=ratio(one.factor))),
        chip("look again" if one.differs else "undecided", say(f"machines.state_{state}")),
        class_="held",
    )
    return tag("li", name, picture, held)


def _graduations(scale: Scale, height: float) -> list[Markup]:
    steps = range(int(scale.low), int(scale.high) + 1)
    return [line(scale.at(step), 0, scale.at(step), height, "rest") for step in steps if step]


def _rule(scale: Scale) -> Markup:
    """The scale below: every doubling has its number."""
    steps = range(int(scale.low), int(scale.high) + 1)
    words = [_doubling(step) for step in steps]
    places = [
        "tick first" if step == scale.low else "tick left" if step == scale.high else "tick" for step in steps
    ]
    numbers = [lettering(scale.at(s), 26, word, place) for s, word, place in zip(steps, words, places)]
    under = lettering(scale.at(0.0), 42, say("machines.taken_is"), "tick limit-word")
    rule = drawing(
        46,
        say("machines.scale", low=words[0], high=words[-1]),
        line(0, 1, 100, 1, "scribed"),
        *[line(scale.at(step), 1, scale.at(step), 10, "scribed") for step in steps],
        *numbers,
        under,
    )
    return tag("li", tag("span"), rule, tag("span"), class_="foot", aria_hidden="true")


def _doubling(step: int) -> str:
    return f"{2**step}" if step >= 0 else f"1/{2**-step}"


def _heads() -> Sequence[str]:
    return (
        say("machines.op"),
        say("machines.machine"),
        ">" + say("machines.best"),
        ">" + say("machines.ninety_five"),
        ">" + say("machines.read"),
        ">" + say("machines.doubt"),
        say("machines.state"),
    )


def _figures(one: MachineHolds) -> Sequence[Child]:
    assert one.factor is not None
    low, high = one.factor_range or (one.factor, one.factor)
    return (
        one.op,
        one.machine,
        say("machines.times_short", factor=ratio(one.factor)),
        say("machines.range", low=ratio(low), high=ratio(high)),
        str(one.read),
        percent(one.informed),
        joined(say("machines.state_differs" if one.differs else "machines.state_as_taken")),
    )
