"""Bought parts: inspection, grades, and which item goes where."""

from typing import Any

from loopwright.errors import RequestError
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import bought as views
from loopwright.web.wording import say


async def bought(desk: Desk) -> None:
    """Every kind with its inspected items."""
    await desk.region(views.listing)


async def kind(desk: Desk, kind: str) -> None:
    """Which items of a kind go where."""
    await desk.region(views.choosing, kind)
    work = LongWork(desk, "choosing", say("bought.working"))
    place = await desk.still(views.answer, None)

    async def go(places: tuple[str, ...], grade: str, targets: tuple[str, ...]) -> None:
        found: Any = await work.answer(views.chosen_items, kind, places, grade, targets)
        await desk.redraw(place, found)

    async def choose(act: Act) -> None:
        places = tuple(act.texts("place"))
        if not places:
            raise RequestError(say("bought.no_place"), say("bought.no_place_remedy"))
        await desk.redraw(place, None)
        desk.begin("choosing", go(places, act.text("grade"), tuple(act.texts("target"))))

    async def put(act: Act) -> None:
        number, words = await desk.ask(
            views.put_in, tuple(act.texts("place")), tuple(act.texts("serial")), act.text("reason"), act.key
        )
        desk.notice(say("bought.put", number=number, brought=words))
        await desk.redraw(place, None)
        await desk.refresh()
        await desk.hub.changed(number)

    desk.on("bought_choose", choose, role="read")
    desk.on("bought_put", put)


PAGES = (
    Page("/bought", "bought.title", bought),
    Page("/bought/{kind}", "bought.title", kind, listed=False),
)
