"""The making of parts at a glance, with the way to each of the shop's pages."""

from loopwright.loop.threads import one_thread
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.studies.making_overview import MakingOverview, making_overview
from loopwright.web.views.kit import head, link, row, tabs
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import listed
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

PLACES = {
    "start": "/making",
    "blanks": "/making/blanks",
    "machines": "/making/machines",
    "change": "/making/change",
    "sheets": "/making/sheets",
}
"""The shop's pages, in the order of their tabs."""
NAMED = 6
"""So many parts are named where some are counted."""


def shop_tabs(here: str) -> Markup:
    """The way from one of the shop's pages to the others."""
    items = [(say(f"shop.tab_{name}"), path, name == here) for name, path in PLACES.items()]
    return tabs(say("shop.pages"), *items)


def overview_of(work: Work) -> MakingOverview:
    """Counts of the making; worked out once until the book changes."""

    def make() -> MakingOverview:
        with one_thread():
            return making_overview(work.bench)

    return work.kept("making overview", make)


def shop(work: Work, reader: Reader) -> Markup:
    """What there is to make, and the way to each page about it."""
    found = overview_of(work)
    if not found.made:
        return joined(
            head(say("shop.title")),
            empty(say("shop.none"), say("shop.none_what"), row(link(say("shop.to_parts"), "/parts"))),
        )
    return joined(
        head(say("shop.title"), say("shop.lede")),
        shop_tabs("start"),
        tag("ul", *_cards(found), class_="making-cards"),
        _lacking(found),
    )


def _cards(found: MakingOverview) -> list[Markup]:
    return [
        _card(
            "blanks",
            plural("shop.blanks_open", found.blanks),
            plural("shop.bars_there", found.bars) if found.bars else say("shop.no_bars"),
        ),
        _card(
            "machines",
            plural("shop.machines", found.machines) if found.machines else say("shop.no_machines"),
            say("shop.tools", tools=found.tools, proven=found.proven),
        ),
        _card(
            "change",
            plural("shop.alternatives", found.alternatives)
            if found.alternatives
            else say("shop.no_alternatives"),
            plural("shop.in_parts", found.choosing) if found.choosing else None,
        ),
        _card(
            "sheets",
            plural("shop.routes", found.routed, made=found.made),
            plural("shop.open_parts", found.open),
        ),
    ]


def _card(name: str, first: str, second: str | None) -> Markup:
    facts: list[Child] = [tag("p", tag("strong", first))]
    facts += [tag("p", second)] if second else []
    return tag(
        "li",
        tag(
            "a",
            tag("h2", say(f"shop.name_{name}")),
            tag("p", say(f"shop.what_{name}"), class_="note"),
            tag("div", *facts, class_="making-facts"),
            href=PLACES[name],
        ),
    )


def _lacking(found: MakingOverview) -> Markup | None:
    """Parts of which nobody has said how they are made, or what from."""
    lines = [
        tag("li", plural(f"shop.lacks_{key}", len(names), names=some_of(names)))
        for key, names in (("unrouted", found.unrouted), ("blankless", found.blankless))
        if names
    ]
    if not lines:
        return None
    said = tag("ul", *lines, class_="plain")
    return tag("div", tag("h3", say("shop.lacking")), said, class_="told making-told")


def some_of(names: tuple[str, ...]) -> str:
    """The first few of some names."""
    if len(names) <= NAMED:
        return listed(list(names))
    return ", ".join(f"‘{name}’" for name in names[:NAMED]) + " …"
