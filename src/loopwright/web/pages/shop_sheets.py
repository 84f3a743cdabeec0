"""The shop's sheets, made in the back room and handed to the browser."""

from loopwright.sheets.printing import KINDS
from loopwright.web.desk import Act, Desk
from loopwright.web.pages import Page
from loopwright.web.printing import Order, Printing
from loopwright.web.views import shop_sheets as views
from loopwright.web.views.shop import PLACES
from loopwright.web.views.standing import front, usable
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work


async def sheets(desk: Desk) -> None:
    """Every kind of sheet, of the parts that are chosen; '?parts=' chooses some to begin with."""
    if not await desk.ask(usable):
        await desk.region(front)
        return
    words = desk.query.get("parts", "")[:200]
    shown = await desk.region(views.sheets, words)
    prints = Printing(desk, say("shop_sheets.working"))

    async def choose(act: Act) -> None:
        chosen = act.text("parts")[:200]
        await desk.ask(parts_meant, chosen)
        await desk.redraw(shown, chosen)

    async def make(act: Act) -> None:
        kind = act.name.removeprefix("make ")
        kinds = tuple(KINDS) if kind == "all" else (kind,)
        parts = await desk.ask(parts_meant, act.text("parts")[:200])
        prints.begin(Order(kinds, parts, act.text("paper") or "a4", act.text("units")))

    desk.on("choose", choose, role="read")
    for kind in (*KINDS, "all"):
        desk.on(f"make {kind}", make, role="read")


# in the workroom


def parts_meant(work: Work, reader: Reader, words: str) -> tuple[str, ...]:
    """Parts that some words mean; none for all that are open."""
    return views.parts_with(work, words)


PAGES = (Page(PLACES["sheets"], "shop_sheets.title", sheets, listed=False),)
