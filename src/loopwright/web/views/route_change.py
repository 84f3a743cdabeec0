"""The cheapest change of route: what is asked, and what it takes, brings and costs."""

from collections.abc import Sequence
from math import isfinite

from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import percent
from loopwright.studies.cheapest_making import CheapestMaking
from loopwright.studies.route_change import Instead, RouteChange
from loopwright.web.views.both_ways import budget
from loopwright.web.views.kit import button, field, form, head, link, minutes, paper, row, stats, tick
from loopwright.web.views.longwork import not_done
from loopwright.web.views.parts import path_of
from loopwright.web.views.saying import empty
from loopwright.web.views.shop import overview_of, shop_tabs
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work


def change_key(work: Work, wished: float, targets: Sequence[str]) -> tuple[object, ...]:
    """Name under which an answer is kept: it holds until the next entry."""
    return "route change", work.bench.last, wished, tuple(targets)


def asking(work: Work, reader: Reader) -> Markup:
    """The head of the page, and what is asked for; where nothing can be chosen, what would allow it."""
    build = work.bench.build
    top = joined(head(say("route_change.title"), say("route_change.lede")), shop_tabs("change"))
    if not build.targets:
        way = row(link(say("route_change.to_targets"), "/description?at=targets", first=True))
        return joined(top, empty(say("route_change.no_targets"), say("route_change.no_targets_what"), way))
    if not overview_of(work).alternatives:
        way = row(link(say("route_change.to_parts"), "/parts?kind=made", first=True))
        return joined(top, empty(say("route_change.none"), say("route_change.none_what"), way))
    return joined(top, _asked(work, reader))


def _asked(work: Work, reader: Reader) -> Markup:
    """The form: the wished chance, and the targets that count."""
    build, shown = work.bench.build, work.shown(reader)
    ticks = [
        tick(
            joined(
                name,
                " ",
                tag("small", say("route_change.limit", limit=shown.limit(one.limit, one.dimension))),
            ),
            "target",
            value=name,
            checked=True,
        )
        for name, one in build.targets.items()
    ]
    wished = field(
        say("route_change.wished"),
        "wished",
        value=percent(build.confidence),
        hint=say("route_change.wished_hint"),
        keep="route-change-wished",
        number=True,
    )
    limits = tag("fieldset", tag("legend", say("route_change.targets")), *ticks)
    find = row(button(say("route_change.find"), first=True))
    return paper(
        None,
        form("find", wished, limits, find, stay=True, id="route-change-form"),
        class_="route-change-asked",
    )


def answer(work: Work, reader: Reader, wished: float | None, targets: Sequence[str], going: bool) -> Markup:
    """What the search brought; the way to search again where it was stopped; nothing before it was asked for."""
    if wished is None or going:
        return Markup()
    found: RouteChange | None = work.lasting.get(change_key(work, wished, targets))
    if found is None:
        return not_done(say("route_change.stopped"), say("route_change.again"), "again")
    return joined(_said(reader, found), _budget(work, reader, found))


def _said(reader: Reader, found: RouteChange) -> Markup:
    told = found.found
    chance, wished = percent(told.chance, told.chance_std), percent(told.wished)
    if told.reached and not told.chosen:
        title, words = (
            say("route_change.answer_enough"),
            say("route_change.enough_told", chance=chance, wished=wished),
        )
    elif told.reached:
        title, words = plural("route_change.answer_change", len(told.chosen)), ""
    else:
        title = say("route_change.answer_none")
        key = "route_change.none_told" if told.best else "route_change.none_told_same"
        words = say(key, chance=chance, wished=wished)
    take = told.reached and told.chosen and reader.may("edit")
    return paper(
        title,
        tag("p", words) if words else None,
        _figures(found),
        tag("h3", say("route_change.best")) if found.instead and not told.reached else None,
        _table(found.instead) if found.instead else None,
        tag("p", say("route_change.without_setups"), class_="note") if found.instead else None,
        *[tag("p", line, class_="note") for line in _proof(found)],
        row(button(say("route_change.take"), "take", first=True)) if take else None,
        class_="route-change-said",
    )


def _figures(found: RouteChange) -> Markup:
    told = found.found
    cells: list[tuple[str, Child, Child]] = [
        (
            say("route_change.now"),
            percent(told.now, told.chance_std),
            say("route_change.wished_is", wished=percent(told.wished)),
        )
    ]
    if told.chosen or told.best:
        name = "route_change.then" if told.reached else "route_change.best_is"
        cells.append((say(name), percent(told.chance, told.chance_std), None))
    if told.chosen:
        cells.append((say("route_change.minutes"), _more(told.minutes), None))
    if told.chosen and found.labour is not None and found.hour is not None:
        key = "route_change.labour_more" if found.labour >= 0 else "route_change.labour_less"
        words = say(key, money=f"{abs(found.labour):.0f}")
        cells.append((say("route_change.labour"), words, say("route_change.hour_is", hour=f"{found.hour:g}")))
    return stats(*cells)


def _more(count: float) -> str:
    """So many minutes more or less."""
    if round(count) == 0:
        return say("route_change.same")
    return say("route_change.more" if count > 0 else "route_change.less", time=minutes(abs(count)))


def _table(found: Sequence[Instead]) -> Markup:
    any_set = any(one.way.matched for one in found)
    heads = [
        say("route_change.part"),
        say("route_change.as_now"),
        say("route_change.instead"),
        say("route_change.way"),
        ">" + say("route_change.time_now"),
        ">" + say("route_change.time_then"),
    ]
    heads += [say("route_change.set")] if any_set else []
    return table(heads, [_row(one, any_set) for one in found], class_="instead")


def _row(one: Instead, any_set: bool) -> Sequence[Child]:
    way = one.way
    now = say("route_change.op_is", number=way.op, does=_on(way.does, one.machine))
    cells: list[Child] = [
        tag("a", way.part, href=f"{path_of(way.part)}/route"),
        now,
        say("route_change.then_op").join(_on(op, machine) for op, machine in one.ops),
        way.name,
        "—" if one.minutes is None else f"{one.minutes:g}",
        "—" if one.instead is None else f"{one.instead:g}",
    ]
    return [*cells, way.matched] if any_set else cells


def _on(op: str, machine: str) -> str:
    return say("route_change.on", op=op, machine=machine) if machine else op


def _proof(found: RouteChange) -> list[str]:
    told = found.found
    enough = told.reached and not told.chosen and told.proven
    lines = [] if enough else [_bound(found, told)]
    points = f"{200 * told.chance_std:.1f} %"
    lines.append(plural("route_change.tried", told.tried, choices=f"{told.choices:,}", points=points))
    if told.unstated:
        lines.append(plural("route_change.unstated", told.unstated))
    return lines


def _bound(found: RouteChange, told: CheapestMaking) -> str:
    if told.proven:
        return say("route_change.proven" if told.reached else "route_change.proven_none")
    if not told.reached:
        return say("route_change.bound_none")
    if not isfinite(told.bound) or found.gap is None:
        return say("route_change.bound_open")
    return say("route_change.bound", bound=_more(told.bound), gap=minutes(found.gap))


def _budget(work: Work, reader: Reader, found: RouteChange) -> Markup | None:
    if found.budget is None:
        return None
    best = found.instead and not found.found.reached
    title = say("route_change.budget_best" if best else "route_change.budget")
    return paper(title, *budget(work.shown(reader), found.budget), id="budget")
