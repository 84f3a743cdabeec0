"""What the design alone says of a target: what would lower it, what gives, and how exact the sums are."""

from collections.abc import Sequence

from loopwright.asbuilt.tighten import Tightening
from loopwright.sheets import standing_words as words
from loopwright.sheets.drawing import Scale, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.sheets.standing_figures import change_figure
from loopwright.sheets.standing_tables import pairings_table, stiffness_table
from loopwright.studies.reports import TargetStanding
from loopwright.web.views.kit import paper
from loopwright.web.views.longwork import not_done
from loopwright.web.views.target import designed_of
from loopwright.web.views.target_drives import steps_of, try_path
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

TIGHTENINGS = 10


def designed(work: Work, reader: Reader, name: str, going: bool) -> Markup:
    """What the design alone says, where it was worked out; else the way to it, or nothing while that goes on."""
    found = designed_of(work, name)
    if found is None:
        return Markup() if going else not_done(say("target.stopped"), say("target.again"), "again")
    shown = work.shown(reader)
    stiff = stiffness_table(shown, found)
    return joined(
        paper(
            say("target.lower"),
            tag("p", say("target.lower_note"), class_="note"),
            tag("h3", say("target.halved"), class_="sub"),
            _tightenings(shown, found),
            tag("h3", say("target.together"), class_="sub"),
            pairings_table(shown, found),
        ),
        paper(say("target.gives"), tag("p", say("target.gives_note"), class_="note"), stiff)
        if stiff is not None
        else None,
        _exact(shown, found),
    )


def _tightenings(shown: Shown, found: TargetStanding) -> Markup:
    """What halving the limits of a statement would bring, largest gain first, each with a way to try it."""
    best = [t for t in found.tightenings if t.halved < t.now][:TIGHTENINGS]
    if not best:
        return tag("p", say("target.halved_none"), class_="note")
    scale = Scale(0.0, shown.number(best[0].now, found.dimension))
    now = words.beside(shown, best[0].now, best[0].now, found.dimension)
    heads = (say("target.halved_in"), say("target.from_zero", size=now), ">" + say("target.then"))
    return table(heads, [_tightening(shown, found, t, scale) for t in best], class_="tightenings")


def _tightening(shown: Shown, found: TargetStanding, t: Tightening, scale: Scale) -> Sequence[Child]:
    then = words.beside(shown, t.halved, t.now, found.dimension)
    said = say("target.halved_said", name=t.name, then=then)
    label = say("target.try_name", path=t.field)
    return (
        joined(
            tag("span", t.name, class_="name"),
            tag(
                "a", *steps_of(t.field), href=try_path(t.field), class_="path", aria_label=label, title=label
            ),
        ),
        change_figure(scale.high, shown.number(t.halved, found.dimension), scale, said),
        then,
    )


def _exact(shown: Shown, found: TargetStanding) -> Markup:
    exact = found.exact
    rows = [
        (name, shown.error(largest, found.dimension), words.small(shown, apart, found.dimension))
        for name, largest, apart in (
            (say("target.exact_limit"), exact.largest, exact.difference),
            (say("target.exact_typical"), exact.typical_largest, exact.typical),
        )
    ]
    heads = (
        say("target.exact_deviations"),
        ">" + say("target.exact_largest"),
        ">" + say("target.exact_differs"),
    )
    return paper(
        say("target.exact"),
        tag("p", say("target.exact_note", count=exact.cases), class_="note"),
        table(heads, rows, class_="components narrow"),
    )
