"""Making at a glance: what there is, and the way to the pages about it."""

from loopwright.web.desk import Desk
from loopwright.web.pages import Page
from loopwright.web.views import shop as views
from loopwright.web.views.standing import front, usable


async def shop(desk: Desk) -> None:
    """What there is to make, and the way to each page about it."""
    await desk.region(views.shop if await desk.ask(usable) else front)


PAGES = (Page("/making", "shop.title", shop, letter="r"),)
