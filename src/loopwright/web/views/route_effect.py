"""What changes of a route do: to the dims of the drawing, to the stock, to the minutes; before anything is saved."""

from math import isfinite

from loopwright.errors import LoopwrightError
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.chart_sheet import Chained
from loopwright.studies.route_difference import OpChange, route_difference
from loopwright.studies.route_drafted import Moved, RouteDraft, RouteEffect, route_effect
from loopwright.web.views.description import Sheet, begun_with
from loopwright.web.views.kit import chance, chip, minutes, paper
from loopwright.web.views.making import sizes_for
from loopwright.web.views.saying import refusal
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST = 60
"""Dims and stock removals that are listed."""


def _worked_out(work: Work, it: Sheet, draft: RouteDraft) -> RouteEffect:
    return route_effect(begun_with(work, it.base).text, it.text, draft.part)


def verdict(work: Work, it: Sheet, draft: RouteDraft) -> Markup | None:
    """In one word, for beside the tools: whether everything still holds."""
    if draft.mistakes:
        return None
    try:
        found = _worked_out(work, it, draft)
    except LoopwrightError:
        return None
    worse = sum(one.worse for one in found.moved)
    word = (
        plural("route.no_longer", worse)
        if worse
        else say("route.holds" if found.holds[1] else "route.holds_not")
    )
    kind = "look again" if worse or not found.holds[1] else "conforming"
    return tag("a", chip(kind, word), href="#route-effect", class_="way-to")


def told(work: Work, reader: Reader, draft: RouteDraft, it: Sheet) -> Markup:
    """What the changes do, as a table.

    Args:
        work: the open book.
        reader: who looks.
        draft: the changed route.
        it: what the page holds.
    """
    if draft.mistakes:
        return paper(
            say("route.effect"), tag("p", say("route.effect_mistakes"), class_="note"), id="route-effect"
        )
    try:
        found = _worked_out(work, it, draft)
    except LoopwrightError as error:
        return paper(say("route.effect"), refusal(error), id="route-effect")
    sizes = sizes_for(work, reader)
    rows = [_row(sizes, one) for one in found.moved[:MOST]]
    heads = [say(f"route.{word}") for word in ("chain", "asked", "was", "becomes", "chance", "verdict")]
    before, after = (minutes(value) for value in found.attended)
    same = plural("route.same", found.same) if found.same else None
    return paper(
        say("route.effect"),
        tag(
            "p",
            say("route.minutes_change", before=before, after=after)
            if before != after
            else say("route.minutes_same", time=after),
        ),
        table(heads, rows, class_="blocks route-moved") if rows else tag("p", say("route.nothing_moves")),
        tag("p", say("route.more_moved", count=len(found.moved) - MOST), class_="note")
        if len(found.moved) > MOST
        else None,
        tag("p", same, class_="note") if rows and same else None,
        tag("p", say("route.effect_note"), class_="note"),
        id="route-effect",
    )


def changed(work: Work, draft: RouteDraft, it: Sheet) -> Markup | None:
    """What changed of the route, op by op.

    Args:
        work: the open book.
        draft: the changed route.
        it: what the page holds.
    """
    found = route_difference(begun_with(work, it.base).text, it.text, draft.part)
    if not found:
        return None
    rows = [_changed(one) for one in found]
    return paper(
        say("route.changed"), table([say("route.op"), say("route.change_of")], rows, class_="blocks")
    )


def _changed(one: OpChange) -> tuple[Child, ...]:
    number = one.after if one.after is not None else one.before
    said: list[Child] = []
    if one.before is None:
        said.append(tag("ins", say("route.came")))
    elif one.after is None:
        said.append(tag("del", say("route.went")))
    elif one.moved:
        said.append(say("route.moved", before=one.before, after=one.after))
    for name, was, becomes in one.fields:
        new = tag("ins", becomes) if becomes else tag("em", say("description.is_gone"))
        said.append(joined(name, ": ", joined(tag("del", was), " → ") if was else "", new))
    return f"{number} {one.op}", tag("ul", *[tag("li", words) for words in said], class_="making-list")


def _row(sizes: ShopSizes, one: Moved) -> tuple[Child, ...]:
    asked = one.after or one.before
    assert asked is not None
    kind = say("route.of_stock") if one.stock else say("route.of_drawing")
    return (
        joined(one.name, " ", tag("span", kind, class_="beside")),
        limits(sizes, asked.asked),
        "—" if one.before is None else limits(sizes, one.before.worst),
        tag("b", "—" if one.after is None else limits(sizes, one.after.worst)),
        _chances(one.before, one.after),
        _verdict(one),
    )


def limits(sizes: ShopSizes, ends: tuple[float, float]) -> str:
    """A range in the reader's unit; '' where nothing is asked."""
    if not any(map(isfinite, ends)):
        return ""
    return f"{sizes.limits(*ends, given=False)[0]} {sizes.unit}".replace("-", "\N{MINUS SIGN}")


def _chances(before: Chained | None, after: Chained | None) -> str:
    words = ["—" if one is None else chance(one.chance) for one in (before, after)]
    return words[0] if words[0] == words[1] else say("route.then", before=words[0], after=words[1])


def _verdict(one: Moved) -> Markup:
    if one.after is None:
        return chip("told", say("route.gone"))
    if one.before is None:
        return (
            chip("told", say("route.new")) if one.after.holds else chip("look again", say("route.not_held"))
        )
    return (
        chip("conforming", say("route.held"))
        if one.after.holds
        else chip("look again", say("route.not_held"))
    )
