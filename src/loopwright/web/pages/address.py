"""Short addresses: where a label or a printed code leads, and the labels themselves."""

from loopwright.studies.addresses import normal
from loopwright.web.desk import Act, Desk
from loopwright.web.pages import Page
from loopwright.web.views import address as views


async def opened(desk: Desk, code: str) -> None:
    """Goes to what a code stands for; says so where that is nothing, or several things."""
    paths = await desk.ask(views.goal, code)
    if len(paths) == 1:
        desk.go(paths[0])
        return
    await desk.region(views.unknown, code)

    async def typed(act: Act) -> None:
        desk.go(f"/a/{normal(act.text('code')) or 'none'}")

    desk.on("address_type", typed, role="read")


async def labels(desk: Desk) -> None:
    """Labels of parts, tests, steps and gauges, to be chosen and printed."""
    codes = tuple(one for one in desk.query.get("codes", "").split(",") if one)
    root = views.root_of(desk.identity.addresses, str(desk.client.request.base_url))
    chosen = await desk.region(views.choosing, "", codes, root, "small")
    sheet = await desk.still(views.label_sheet, codes, root, "small")

    async def find(act: Act) -> None:
        await desk.redraw(chosen, act.text("words"), codes, root, "small")

    async def make(act: Act) -> None:
        begins, size = act.text("root").rstrip("/") or root, act.text("size")
        await desk.redraw(sheet, tuple(act.texts("code")), begins, size)

    desk.on("labels_find", find, role="read")
    desk.on("labels_make", make, role="read")


PAGES = (
    Page("/labels", "address.labels", labels, listed=False),
    Page("/a/{code}", "address.title", opened, listed=False),
    Page("/A/{code}", "address.title", opened, listed=False),
)
