"""What the pages of a part's making have alike: their head, the ways between them, what stands where no route is."""

from collections.abc import Iterable
from urllib.parse import quote

from loopwright.errors import Problem, RequestError
from loopwright.handbook.cautions import DEFERS, caution
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.web.views.kit import head, link, more, row, tabs
from loopwright.web.views.parts import path_of
from loopwright.web.views.saying import empty, problem_line
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

TABS = ("route", "chart", "stock", "cutting", "sheets")


def ways(name: str, here: str = "") -> Markup:
    """The ways between the pages of a part.

    Args:
        name: of the part.
        here: which is open: one of ``TABS``, or '' for the part itself.
    """
    items = [("part", path_of(name)), *((tab, f"{path_of(name)}/{tab}") for tab in TABS)]
    return tabs(
        say("making.ways", part=name),
        *[(say(f"making.tab_{tab}"), path, tab == (here or "part")) for tab, path in items],
    )


def part_of(work: Work, name: str) -> Part:
    """A part of the build.

    Raises:
        RequestError: there is no such part.
    """
    parts = work.bench.build.parts
    if name not in parts:
        raise RequestError(say("making.no_part", part=name), say("making.no_part_remedy"))
    return parts[name]


def made_head(name: str, here: str, *more_of: Child) -> Markup:
    """The head of a page of a part's making."""
    return joined(
        head(say(f"making.title_{here}", part=name), say(f"making.lede_{here}")), ways(name, here), *more_of
    )


def title(work: Work, reader: Reader, name: str, here: str) -> Markup:
    """The head of a page, which is there before the rest is worked out; without a route it is all of the page."""
    found = work.bench.build.parts.get(name)
    if here != "route" and found is not None and not found.route:
        return without_route(name, found, here)
    return made_head(name, here)


def without_route(name: str, found: Part, here: str) -> Markup:
    """What stands where a part has no route: how to begin one, or that it needs none."""
    if found.bought:
        body = empty(
            say("making.is_bought"),
            say("making.is_bought_told"),
            row(link(say("making.to_part"), path_of(name))),
        )
    else:
        body = empty(
            say("making.no_route"),
            say("making.no_route_told"),
            row(link(say("making.begin"), f"{path_of(name)}/route", first=True)),
        )
    return joined(made_head(name, here), body)


def read_in(work: Work, reader: Reader) -> Build:
    """The build in the units in which somebody reads."""
    build = work.bench.build
    return build.model_copy(update={"units": reader.units_of(build.units)})


def sizes_for(work: Work, reader: Reader) -> ShopSizes:
    """Writes sizes as a machinist reads them, in somebody's units."""
    build = work.bench.build
    stated = ShopSizes.wished(build.units, None).stated
    return ShopSizes(reader.units_of(build.units), stated=stated)


def op_link(name: str, number: int, words: str) -> Markup:
    """The way to an op in its route."""
    return tag("a", words, href=f"{path_of(name)}/route?op={number}", class_="way-to")


def mistakes(problems: Iterable[Problem], name: str, told: str) -> Markup | None:
    """What keeps something from being worked out, with the way to where it is mended."""
    items = [tag("li", problem_line(one)) for one in problems]
    if not items:
        return None
    return tag(
        "div",
        tag("h3", told),
        tag("ul", *items),
        row(link(say("making.to_route"), f"{path_of(name)}/route")),
        class_="refusal",
    )


def cautions(names: Iterable[str], where: str) -> Markup | None:
    """Reminders of what can hurt someone, and who comes before them.

    Args:
        names: of hazards.
        where: names the lid on the page.
    """
    known = [caution(one) for one in dict.fromkeys(names)]
    return reminders([(one.hazard, one.texts) for one in known], DEFERS, where)


def reminders(found: Iterable[tuple[str, Iterable[str]]], defers: str, where: str) -> Markup | None:
    """Reminders by hazard, each behind the whole list's lid."""
    blocks = [
        joined(tag("h3", hazard), tag("ul", *[tag("li", text) for text in texts])) for hazard, texts in found
    ]
    if not blocks:
        return None
    return tag(
        "div",
        more(say("making.cautions"), *blocks, tag("p", defers, class_="note"), id=f"cautions-{where}"),
        class_="told making-cautions",
    )


def address(name: str, page: str, **asked: str) -> str:
    """The address of a page of a part's making, with what it asks for."""
    given = "&".join(f"{key}={quote(value, safe='')}" for key, value in asked.items() if value)
    return f"{path_of(name)}/{page}" + (f"?{given}" if given else "")
