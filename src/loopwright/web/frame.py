"""The frame around every page: its list of pages, the title block, notices, and which page is shown."""

from collections.abc import Awaitable, Callable
from urllib.parse import unquote, urlsplit

from nicegui import PageArguments, ui
from nicegui.elements.sub_pages import SubPages

from loopwright.errors import LoopwrightError
from loopwright.sheets.markup import Markup
from loopwright.web.desk import Act, Desk, MayNot
from loopwright.web.elements.region import Region
from loopwright.web.pages import Page, every_page
from loopwright.web.views.frame import connection, not_found, pages_list, title_block
from loopwright.web.views.saying import refused_page
from loopwright.web.wording import say


class _Pages(SubPages):
    """The place where pages are shown; says in our words where there is none."""

    def _render_404(self) -> None:
        Region(not_found(urlsplit(self._router.current_path).path), tag="div", class_="region")


class Frame:
    """The frame of one open browser page.

    Args:
        desk: of the page.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.pages = every_page()
        self._list: Region | None = None

    async def build(self) -> None:
        """Puts the frame together, with the page of the present address in it."""
        desk = self.desk
        router = desk.client.sub_pages_router
        # the library's own landmark holds the list of pages too; ours is the sheet alone
        ui.query("main.q-page").props("role=presentation")
        Region(connection(), tag="div", class_="above")
        self._list = Region(self._listed(router.current_path), tag="nav", label=say("frame.pages"))
        self._list.classes("pages")
        with ui.element("div").classes("board"):
            if desk.room.where:
                await desk.lasting(title_block)
            with ui.element("main").props("id=content tabindex=-1"):
                _Pages({page.path: self._builder(page) for page in self.pages})
        desk.notices(Region(Markup(), tag="div", class_="notices"))
        router.on_path_changed(self._moved)
        desk.on("dismiss", self._dismiss, role="read", lasting=True)

    def _listed(self, path: str) -> Markup:
        desk = self.desk
        seen = [p for p in self.pages if desk.reader.may(p.role) and (desk.room.where or p.bookless)]
        listed = [(p.path, p.title, p.letter) for p in seen if p.listed]
        return pages_list(listed, urlsplit(path).path)

    def _moved(self, path: str) -> None:
        if self._list is not None:
            self._list.show(self._listed(path))

    def _builder(self, page: Page) -> Callable[[PageArguments], Awaitable[None]]:
        async def show(arguments: PageArguments) -> None:
            self.desk.clear()
            self.desk.query = dict(arguments.query_parameters)
            ui.page_title(say("frame.window_title", page=say(page.title)))
            named = {name: unquote(str(value)) for name, value in arguments.path_parameters.items()}
            try:
                if not self.desk.room.where and not page.bookless:
                    self.desk.go("/start")
                    return
                if not self.desk.reader.may(page.role):
                    raise MayNot(self.desk.reader.role, page.role)
                await page.build(self.desk, **named)
            except LoopwrightError as error:
                self.desk.note(error)
                Region(refused_page(error), tag="div", class_="region")

        return show

    async def _dismiss(self, act: Act) -> None:
        self.desk.silence()
