"""Describing a machine step by step."""

from collections.abc import Callable

from loopwright.sheets.markup import Markup
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.pages import Page
from loopwright.web.views import guided as views


async def guided(desk: Desk) -> None:
    """The questions, and where the machine of the answers stands."""
    sheet = _Guided(desk)
    sheet.form = await desk.still(views.guided, {}, {})
    sheet.found = Region(Markup(), tag="div", class_="region")
    desk.on("guided_shape", sheet.shape, role="edit")
    desk.on("guided_add", sheet.add, role="edit")
    desk.on("guided_remove", sheet.remove, role="edit")
    desk.on("guided_look", sheet.look, role="edit")
    desk.on("guided_begin", sheet.begin, role="edit")


class _Guided:
    """The answers so far; they come with every act, as they stand in the form."""

    form: Region
    found: Region

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    async def shape(self, act: Act) -> None:
        await self._with(views.shaped, act, act.text("shape"))

    async def add(self, act: Act) -> None:
        await self._with(views.added, act)

    async def remove(self, act: Act) -> None:
        await self._with(views.removed, act, act.text("number"))

    async def look(self, act: Act) -> None:
        """Says where it stands, or what is wrong with the answers."""
        answers = _answers(act)
        shown, wrong = await self.desk.ask(views.looked, answers)
        await self.desk.redraw(self.form, answers, wrong)
        self.found.show(shown)
        self.desk.reveal(self.found)

    async def begin(self, act: Act) -> None:
        where = await self.desk.ask(views.begun, str(self.desk.shelf.folder), _answers(act))
        await self.desk.shelf.open(where)

    async def _with(self, change: Callable[..., dict[str, str]], act: Act, *more: str) -> None:
        answers = await self.desk.ask(change, _answers(act), *more)
        await self.desk.redraw(self.form, answers, {})
        self.found.show(Markup())


def _answers(act: Act) -> dict[str, str]:
    return {name: act.text(name) for name in act.fields}


PAGES = (Page("/start/guided", "guided.title", guided, listed=False, role="edit", bookless=True),)
