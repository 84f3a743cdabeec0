"""The route of a part: its ops as a list that is dragged and typed, looked over, saved as a new revision."""

from collections.abc import Callable
from urllib.parse import quote

from loopwright.studies import route_editing
from loopwright.studies.edit_acts import Edited, splice_between
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.pages import Page
from loopwright.web.pages.description import Draft, Editing, Step
from loopwright.web.views import description as description_views
from loopwright.web.views import route as views
from loopwright.web.views.description import FIELDS
from loopwright.web.views.making import title
from loopwright.web.work import Reader, Work

ACTS: dict[str, Callable[..., Edited]] = {
    "set": route_editing.set_in_route,
    "move": route_editing.move_op,
    "op": route_editing.add_op,
    "cut": route_editing.add_cut,
    "surface": route_editing.add_surface,
    "remove": route_editing.take_out_of_route,
}
GIVEN = {"move": ("to", "number"), "op": ("name", "number"), "cut": ("name",), "surface": ("name", "faces")}


async def route(desk: Desk, part: str) -> None:
    """How a part is made."""
    draft = Draft(await desk.ask(description_views.newest_revision))
    await RouteEditing(desk, draft, part).build()


class RouteEditing(Editing):
    """What the page of a route does; what is changed is the description, as on its own page.

    Args:
        desk: of the page.
        draft: what is changed on it.
        part: whose route it is.
    """

    acts = tuple(ACTS)

    def __init__(self, desk: Desk, draft: Draft, part: str) -> None:
        super().__init__(desk, draft)
        self.part, self.show, self.removed_op = part, FIELDS, False
        typed = desk.query.get("op", "")
        self.at = (
            route_editing.op_path(part, int(typed) // 10 - 1) if typed.isdecimal() and len(typed) < 5 else ""
        )

    async def place(self) -> Region:
        """Draws the page for the first time, its head before the text is read."""
        await self.desk.still(title, self.part, "route")
        return await self.desk.region(views.sheet, self.part, self.now())

    async def again(self, sheet: Region) -> None:
        """Draws it anew."""
        await self.desk.redraw(sheet, self.part, self.now())

    async def changed(self, name: str, path: str, given: tuple[str, ...]) -> Step:
        """What an act comes to."""
        return await self.desk.ask(done, name, self.draft.text, path, given)

    def given(self, name: str, act: Act) -> tuple[str, ...]:
        """What an act needs besides the path."""
        self.removed_op = name == "remove" and act.text("of").count("/") == 3
        if name == "set":
            return (str(act.fields.get("typed", "")),)
        return tuple(act.text(field) for field in GIVEN.get(name, ()))

    def arrive(self, name: str, path: str) -> None:
        """What is open after an act: an op that came is, one that moved stays so, and one that went is not."""
        if name == "op" or (name == "move" and self.at):
            self.at = path
        elif name == "remove" and self.removed_op:
            self.at = ""
        if name in ("move", "op", "remove"):
            # the fields of an op may now be those of another
            self.generation += 1

    def opened_by(self, path: str) -> str:
        """The op on which a place stands."""
        keys = path.split("/")
        return "/".join(keys[:4]) if keys[2:3] == ["route"] and len(keys) > 3 else ""

    async def open(self, act: Act) -> None:
        """Opens an op, or closes the one that is open; what is no op of this part is on the page of the description."""
        path = act.text("of")
        own = self.opened_by(path)
        if path and not own.startswith(f"parts/{self.part}/"):
            self.desk.go(f"/description?at={quote(path, safe='')}")
            return
        self.at, self.show = own, FIELDS

    async def line(self, act: Act) -> None:
        """Shows a line of the text, on the page of the description."""
        self.desk.go("/description?show=text")


def done(work: Work, reader: Reader, name: str, text: str, path: str, given: tuple[str, ...]) -> Step:
    """One change of a text."""
    found = ACTS[name](text, path, *given)
    return Step(found.words, found.path, found.text, splice_between(text, found.text))


PAGES = (Page("/parts/{part}/route", "route.title", route, listed=False),)
