"""The shop's sheets: of which parts, on which paper, and a button for each kind."""

from collections.abc import Sequence

from loopwright.errors import RequestError
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.paper import PAPERS
from loopwright.sheets.printing import KINDS
from loopwright.sheets.shop_sizes import WISHES
from loopwright.web.views.kit import choice, field, head, link, paper, row
from loopwright.web.views.parts import all_parts
from loopwright.web.views.saying import empty
from loopwright.web.views.shop import overview_of, shop_tabs, some_of
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

WHOLE = ("fit-up",)
"""Kinds that are of the whole machine, whatever parts are chosen."""


def sheets(work: Work, reader: Reader, words: str) -> Markup:
    """The page.

    Args:
        work: with the build.
        reader: who looks.
        words: that parts have in their name or material; '' for all open ones.
    """
    top = joined(head(say("shop_sheets.title"), say("shop_sheets.lede")), shop_tabs("sheets"))
    if not work.bench.build.parts:
        way = row(link(say("shop_sheets.to_parts"), "/parts", first=True))
        return joined(top, empty(say("shop_sheets.none"), say("shop_sheets.none_what"), way))
    kinds = tag("ul", *[_kind(kind) for kind in KINDS], class_="sheet-kinds")
    every = row(tag("button", say("shop_sheets.make_all"), type="submit", data_act="make all"))
    return joined(
        top,
        tag(
            "form",
            _asked(work, reader, words),
            kinds,
            every,
            data_act="choose",
            data_after="stay",
            id="shop-sheets",
        ),
    )


def _asked(work: Work, reader: Reader, words: str) -> Markup:
    """Of which parts, on which paper, in which units."""
    papers = {name: say(f"shop_sheets.paper_{name}") for name in PAPERS}
    wishes = {"": say("shop_sheets.units_build"), **{one: say(f"shop_sheets.units_{one}") for one in WISHES}}
    hint = say("shop_sheets.parts_hint")
    return paper(
        say("shop_sheets.asked"),
        tag(
            "div",
            field(say("shop_sheets.parts"), "parts", value=words, type="search", hint=hint),
            choice(say("shop_sheets.paper"), "paper", papers, keep="shop-sheets-paper"),
            choice(say("shop_sheets.units"), "units", wishes, value=reader.units, keep="shop-sheets-units"),
            class_="fields",
        ),
        row(
            tag("button", say("shop_sheets.choose"), type="submit"),
            tag("span", _chosen(work, words), class_="note", role="status"),
        ),
    )


def _chosen(work: Work, words: str) -> str:
    every = work.bench.build.parts
    if not words.strip():
        found = overview_of(work)
        return plural("shop_sheets.all_open", len(every) - found.finished)
    names = parts_with(work, words)
    return plural("shop_sheets.of_parts", len(names), every=len(every), names=some_of(names))


def _kind(kind: str) -> Markup:
    name = say(f"shop_sheets.kind.{kind}")
    return tag(
        "li",
        tag("h2", name),
        tag("p", say(f"shop_sheets.told.{kind}"), class_="note"),
        tag("p", say("shop_sheets.whole"), class_="note") if kind in WHOLE else None,
        tag(
            "button",
            say("shop_sheets.make"),
            type="submit",
            data_act=f"make {kind}",
            aria_label=say("shop_sheets.make_of", kind=name),
        ),
        class_="sheet-kind",
    )


def parts_with(work: Work, words: str) -> tuple[str, ...]:
    """Parts that have some words in their name or material; none for no words, which means all open ones.

    Raises:
        RequestError: no part has them.
    """
    wanted = words.casefold().split()
    if not wanted:
        return ()
    if words.strip() in work.bench.build.parts:
        return (words.strip(),)
    found: Sequence[str] = [
        one.name
        for one in all_parts(work).lines
        if all(word in f"{one.name} {one.material}".casefold() for word in wanted)
    ]
    if not found:
        raise RequestError(
            say("shop_sheets.no_parts", words=words.strip()[:80]), say("shop_sheets.no_parts_remedy")
        )
    return tuple(found)
