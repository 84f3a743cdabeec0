"""Parts: the list, and each of them."""

from functools import partial
from urllib.parse import quote

from nicegui import ui

from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import conceding
from loopwright.web.views import part as part_views
from loopwright.web.views import parts as views
from loopwright.web.views.bench import parts_at_once
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

ASKS = ("state", "kind", "find", "sort", "page")


async def parts(desk: Desk) -> None:
    """Every part; what is filtered stands in the address."""
    asked = {name: desk.query[name][:200] for name in ASKS if desk.query.get(name)}
    await desk.region(views.listing, asked)

    async def find(act: Act) -> None:
        desk.go(views.address(asked, find=act.text("find")[:200]))

    async def to_bench(act: Act) -> None:
        names = act.texts("part") or await desk.ask(_found, asked)
        taken, every = await desk.ask(parts_at_once, names)
        if len(taken) < every:
            desk.notice(plural("parts.first_ones", len(taken), every=every, last=taken[-1]), kind="told")
        desk.go("/bench?parts=" + quote("/".join(taken), safe=""))

    async def to_table(act: Act) -> None:
        name, content = await desk.ask(views.table_of, asked, tuple(act.texts("part")))
        ui.download.content(content, name, "text/csv; charset=utf-8")
        desk.notice(say("parts.table_made", name=name))

    desk.on("parts_find", find, role="read")
    desk.on("parts_bench", to_bench)
    desk.on("parts_table", to_table, role="read")


def _found(work: Work, reader: Reader, asked: views.Asked) -> list[str]:
    return [one.name for one in views.found_parts(work, asked)]


async def part(desk: Desk, part: str) -> None:
    """One part, and the decision about it where it is out of tolerance."""
    await desk.region(part_views.part, part, desk.query.get("page", ""))
    large = await desk.ask(conceding.is_large)
    if large:
        await _at_length(desk, part)
    else:
        ways = await desk.region(conceding.offered, part, False)
        desk.on("concede_ask", partial(_asked, desk, ways, part), role="read")

    async def decided(act: Act) -> None:
        number = await desk.ask(
            conceding.decide, part, act.text("decision"), act.text("terms"), act.text("why"), act.key
        )
        desk.notice(say("conceding.entered", number=number))
        await desk.refresh()
        await desk.hub.changed(number)

    desk.on("concede", decided)


async def _asked(desk: Desk, region: Region, part: str, act: Act) -> None:
    await desk.redraw(region, part, True)


async def _at_length(desk: Desk, part: str) -> None:
    """Of a large machine the ways are worked out in the back room, when somebody asks for them."""
    place = await desk.still(conceding.asking, part)
    work = LongWork(desk, "conceding", say("conceding.working"))

    async def go() -> None:
        found = await work.answer(conceding.long_study, part)
        await desk.redraw(place, part, found)

    async def asked(act: Act) -> None:
        desk.begin("conceding", go())

    desk.on("concede_ask", asked, role="read")


PAGES = (
    Page("/parts", "parts.title", parts, letter="p"),
    Page("/parts/{part}", "parts.one", part, listed=False),
)
