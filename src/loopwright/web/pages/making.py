"""What the making of one part comes to: its tolerance charts, stock to leave, cutting data, and sheets."""

import re

from nicegui import ui

from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import part_chart, part_cutting, part_sheets, part_stock
from loopwright.web.views.making import address, title
from loopwright.web.wording import plural, say


async def chart(desk: Desk, part: str) -> None:
    """The tolerance charts, and an audit of working dims that somebody wrote."""
    await desk.region(part_chart.charts, part)
    form = await desk.region(part_chart.audit, part, None)

    async def audit(act: Act) -> None:
        typed = {name: act.text(name) for name in act.fields if name.startswith("parts/")}
        await desk.redraw(form, part, typed)

    async def computed(act: Act) -> None:
        await desk.redraw(form, part, await desk.ask(part_chart.computed, part))

    desk.on("chart audit", audit, role="read")
    desk.on("chart computed", computed, role="read")


async def stock(desk: Desk, part: str) -> None:
    """Stock to leave; what is asked stands in the address."""
    asked = {name: desk.query[name][:40] for name in part_stock.ASKED if desk.query.get(name)}
    await desk.region(title, part, "stock")
    await desk.region(part_stock.stock, part, asked)

    async def ask(act: Act) -> None:
        desk.go(address(part, "stock", **{name: act.text(name)[:40] for name in part_stock.ASKED}))

    desk.on("stock ask", ask, role="read")


async def cutting(desk: Desk, part: str) -> None:
    """Cutting data of every op, one of them in full."""
    await desk.region(title, part, "cutting")
    await desk.region(part_cutting.cutting, part, desk.query.get("op", ""))


async def sheets(desk: Desk, part: str) -> None:
    """Sheets of the part, made in the back room and handed over as PDF."""
    await desk.region(part_sheets.sheets, part)
    working = LongWork(desk, "part sheets", say("part_sheets.working"))

    async def make(kind: str, size: str, wish: str) -> None:
        found = await working.answer(part_sheets.pdf_of_part, part, kind, size, wish)
        if found is None:
            return
        name = file_name(part, kind)
        ui.download.content(found.pdf, name, "application/pdf")
        desk.notice(say("part_sheets.made", name=name, pages=plural("part_sheets.pages", found.pages)))

    async def asked(act: Act) -> None:
        desk.begin("part sheets", make(act.text("kind"), act.text("paper"), act.text("units")))

    desk.on("part sheets", asked, role="read")


def file_name(part: str, kind: str) -> str:
    """What a sheet is called as a file.

    >>> file_name("Spindle / housing", "traveller")
    'spindle-housing-traveller.pdf'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", part.lower()).strip("-")[:60] or "part"
    return f"{plain}-{kind}.pdf"


PAGES = (
    Page("/parts/{part}/chart", "chart.title", chart, listed=False),
    Page("/parts/{part}/stock", "stock.title", stock, listed=False),
    Page("/parts/{part}/cutting", "cutting.title", cutting, listed=False),
    Page("/parts/{part}/sheets", "part_sheets.title", sheets, listed=False),
)
