"""The page where a build begins."""

from pathlib import Path

from loopwright.errors import BuildError
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.limited import limited
from loopwright.web.pages import Page
from loopwright.web.uploads import plain_name
from loopwright.web.views import start as views


async def start(desk: Desk) -> None:
    """The ways to begin a build, and the books that lie here."""
    sheet = _Start(desk)
    sheet.found = Region(views.nothing(), tag="div", class_="region")
    await desk.still(views.ways, str(desk.shelf.folder), desk.room.where)
    desk.on("start_open", sheet.open, role="edit")
    desk.on("start_example", sheet.example, role="edit")
    desk.on("start_build", sheet.build, role="edit")
    desk.on("start_archive", sheet.archive, role="edit")


class _Start:
    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.folder = desk.shelf.folder
        self.found: Region | None = None

    async def open(self, act: Act) -> None:
        where = await self.desk.ask(views.place_of, str(self.folder), act.text("file"))
        await self.desk.shelf.open(where)

    async def example(self, act: Act) -> None:
        name, history = act.text("example"), act.text("history", "none")
        where = await self.desk.ask(views.make_example, str(self.folder), name, history)
        await self.desk.shelf.open(where)

    async def build(self, act: Act) -> None:
        """A build file was sent: every mistake of it is shown, or its book is begun."""
        token, name = act.text("token"), plain_name(act.text("name"), "build.yaml")
        path = self.desk.shelf.uploads.take(token, "build")
        checked, text = await limited(views.checked_upload, str(path), name)
        self.desk.shelf.uploads.drop(token)
        if checked.problems:
            if self.found is not None:
                self.found.show(views.mistakes(checked))
            raise BuildError(checked.problems[:1])
        where = await self.desk.ask(views.make_book, str(self.folder), text, name, act.text("why"))
        await self.desk.shelf.open(where)

    async def archive(self, act: Act) -> None:
        """An archive was sent: its book is made where nobody else is held up, and opened."""
        token = act.text("token")
        path = self.desk.shelf.uploads.take(token, "archive")
        where = await limited(views.book_of_archive, str(path), str(Path(self.folder)))
        self.desk.shelf.uploads.drop(token)
        await self.desk.shelf.open(where)


PAGES = (Page("/start", "start.title", start, letter="n", role="edit", bookless=True),)
