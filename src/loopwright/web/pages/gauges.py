"""The gauges of the shop, and the drawer of foil."""

from loopwright.web.desk import Act, Desk
from loopwright.web.pages import Page
from loopwright.web.views import gauges as views
from loopwright.web.views import stock as stock_views
from loopwright.web.views.book_entered import notice, seen_of
from loopwright.web.wording import say

CALIBRATION = ("done", "due", "std", "limit", "error", "good", "certificate", "note")
COUNT = ("what", "size", "std", "count", "note")


async def every_gauge(desk: Desk) -> None:
    """All gauges: how good they are, and when they are due."""
    await desk.region(views.everything)


async def one_gauge(desk: Desk, gauge: str) -> None:
    """A gauge with its calibrations and the readings taken with it."""
    await desk.region(views.one_gauge, gauge)

    async def calibrate(act: Act) -> None:
        typed = {name: act.text(name) for name in CALIBRATION}
        made = await desk.ask(views.enter_calibration, gauge, typed, act.key, seen_of(act.text("seen")))
        desk.notice(notice(say("gauges.entered", gauge=gauge), made))
        await desk.refresh()
        await desk.hub.changed(made.last)

    desk.on("calibrate", calibrate)


async def stock(desk: Desk) -> None:
    """What lies in the drawer."""
    await desk.region(stock_views.everything)

    async def count(act: Act) -> None:
        typed = {name: act.text(name) for name in COUNT}
        made, words = await desk.ask(stock_views.enter_count, typed, act.key, seen_of(act.text("seen")))
        desk.notice(notice(words, made))
        await desk.refresh()
        await desk.hub.changed(made.last)

    desk.on("stock_count", count)


PAGES = (
    Page("/gauges", "gauges.title", every_gauge, letter="g"),
    Page("/gauges/{gauge}", "gauges.one", one_gauge, listed=False),
    Page("/stock", "gauges.stock", stock, letter="k"),
)
