"""What a page has in hand: who looks at it, whom it asks, the regions it shows, and what its forms do."""

import asyncio
import json
import logging
import time
from collections.abc import Awaitable, Callable, Coroutine, Mapping
from dataclasses import dataclass
from typing import Any, Concatenate, ParamSpec, TypeVar

from nicegui import ui
from nicegui.client import Client
from starlette.requests import HTTPConnection

from loopwright.errors import LoopwrightError
from loopwright.sheets.markup import Markup
from loopwright.web.elements.region import Region
from loopwright.web.faults import Unforeseen
from loopwright.web.identity import Identity
from loopwright.web.shelf import Shelf
from loopwright.web.views.saying import notice_box, refusal, refused_page, waiting
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

P = ParamSpec("P")
Answer = TypeVar("Answer")
View = Callable[Concatenate[Work, Reader, P], Markup]

LOG = logging.getLogger("loopwright.web")
ON_THE_WAY = 2.0
"""Seconds that a page may take to come after something was said that belongs to it."""


@dataclass(frozen=True)
class Act:
    """What somebody asked for by a form or a button.

    Attributes:
        name: of the act.
        key: names the entry that is made, so that sent twice it is entered once.
        fields: what the form holds; a field that stands in it several times is a list.
    """

    name: str
    key: str
    fields: Mapping[str, Any]

    def text(self, field: str, default: str = "") -> str:
        """A field as text, without space around it."""
        value = self.fields.get(field, default)
        return str(value[-1] if isinstance(value, list) else value).strip()

    def texts(self, field: str) -> list[str]:
        """A field that may stand several times."""
        value = self.fields.get(field, [])
        return [str(one) for one in (value if isinstance(value, list) else [value])]


Handler = Callable[[Act], Awaitable[None]]


@dataclass
class _Shown:
    region: Region
    view: Callable[..., Markup]
    arguments: tuple[Any, ...]
    named: dict[str, Any]
    live: bool
    lasting: bool


class Desk:
    """One open page of one browser. Its state lives as long as the page.

    Args:
        shelf: with the open book.
        identity: tells who looks.
        asked: the request that began the page.

    Attributes:
        room: where the book is open.
        hub: tells when the book changed.
        reader: who looks.
        query: what the address says after its '?'.
    """

    def __init__(self, shelf: Shelf, identity: Identity, asked: HTTPConnection) -> None:
        self.shelf, self.identity = shelf, identity
        self.room, self.hub = shelf.room, shelf.hub
        self.reader = identity.reader(asked)
        self.client: Client = ui.context.client
        self.query: dict[str, str] = {}
        self._regions: list[_Shown] = []
        self._handlers: dict[str, tuple[Handler, str]] = {}
        self._lasting: dict[str, tuple[Handler, str]] = {}
        self._notice: Region | None = None
        self._told_at = 0.0
        self._works: dict[str, asyncio.Task[None]] = {}
        ui.on("desk_act", lambda event: self._act(event.args))
        self.hub.join(self.client.id, self._changed, self._anew)
        self.client.on_delete(self._leave)

    # asking

    async def ask(
        self, function: Callable[Concatenate[Work, Reader, P], Answer], *arguments: P.args, **named: P.kwargs
    ) -> Answer:
        """The answer of a short function run where the book is open; raises what it raises."""
        return await self.room.ask(function, self.reader, *arguments, **named)

    async def long(
        self,
        function: Callable[..., Answer],
        *arguments: Any,
        progress: Callable[[int, int | None], None] | None = None,
        **named: Any,
    ) -> Answer:
        """The answer of a long function, run in the back room; cancelling the task stops it."""
        return await self.room.long(function, self.reader, *arguments, progress=progress, **named)

    def begin(self, name: str, work: Coroutine[Any, Any, None]) -> None:
        """Long work of the page, which goes on while the page is looked at; leaving the page stops it.

        Args:
            name: what was begun under it before is stopped.
            work: what is to be done; a LoopwrightError it raises is shown as a refusal.
        """
        self.stop(name)
        self._works[name] = asyncio.get_running_loop().create_task(self._watched(work))

    def stop(self, name: str | None = None) -> None:
        """Stops long work of the page, or all of it."""
        for one in [name] if name is not None else list(self._works):
            task = self._works.pop(one, None)
            if task is not None:
                task.cancel()

    async def _watched(self, work: Coroutine[Any, Any, None]) -> None:
        with self.client:
            try:
                await work
            except LoopwrightError as error:
                self.note(error)
                self.notice(refusal(error), kind="refused")

    def _leave(self) -> None:
        self.hub.leave(self.client.id)
        self.stop()

    # showing

    def clear(self) -> None:
        """Forgets regions and handlers of the page that was shown before."""
        self._regions = [shown for shown in self._regions if shown.lasting]
        self._handlers.clear()
        self.stop()
        # what was said on the page before would stand in the way of this one; what was said on the way to it stays
        if self._told_at and time.monotonic() - self._told_at > ON_THE_WAY:
            self.silence()

    async def region(
        self,
        view: Callable[Concatenate[Work, Reader, P], Markup],
        *arguments: P.args,
        **named: P.kwargs,
    ) -> Region:
        """A piece of the page that a view draws, drawn anew whenever the book changes."""
        return await self._place(view, arguments, named, live=True)

    async def still(
        self,
        view: Callable[Concatenate[Work, Reader, P], Markup],
        *arguments: P.args,
        **named: P.kwargs,
    ) -> Region:
        """A piece of the page that a view draws once."""
        return await self._place(view, arguments, named, live=False)

    async def lasting(
        self, view: Callable[Concatenate[Work, Reader, P], Markup], *arguments: P.args, **named: P.kwargs
    ) -> Region:
        """A live piece of the frame, which stays from page to page."""
        return await self._place(view, arguments, named, live=True, lasting=True)

    async def _place(
        self,
        view: Callable[..., Markup],
        arguments: tuple[Any, ...],
        named: dict[str, Any],
        *,
        live: bool,
        lasting: bool = False,
    ) -> Region:
        region = Region(waiting(), tag="div", class_="region")
        shown = _Shown(region, view, arguments, named, live, lasting)
        self._regions.append(shown)
        await self._draw(shown)
        return region

    async def redraw(self, region: Region, *arguments: Any, **named: Any) -> None:
        """Draws a region with other arguments, which it keeps."""
        for shown in self._regions:
            if shown.region is region:
                shown.arguments, shown.named = arguments, named
                await self._draw(shown)

    async def refresh(self) -> None:
        """Draws every live region anew."""
        for shown in list(self._regions):
            if shown.live:
                await self._draw(shown)

    async def _draw(self, shown: _Shown) -> None:
        try:
            markup = await self.room.ask(shown.view, self.reader, *shown.arguments, **shown.named)
        except LoopwrightError as error:
            self.note(error)
            # where the head of a page is refused, the page still has a heading and a way back
            first = next((one for one in self._regions if not one.lasting), shown)
            markup = refused_page(error) if shown is first and not shown.lasting else refusal(error)
        if not shown.region.is_deleted:
            shown.region.show(markup)

    def _anew(self) -> None:
        self.client.run_javascript("location.assign('/')")

    async def _changed(self, last: int) -> None:
        with self.client:
            await self.refresh()

    # acting

    def on(self, act: str, handler: Handler, *, role: str = "record", lasting: bool = False) -> None:
        """What a form or a button does.

        Args:
            act: its ``data-act``.
            handler: called with what the form holds; a LoopwrightError it raises is shown as a refusal.
            role: who may.
            lasting: it belongs to the frame, and stays from page to page.
        """
        (self._lasting if lasting else self._handlers)[act] = (handler, role)

    async def _act(self, given: Mapping[str, Any]) -> None:
        act = Act(str(given.get("act", "")), str(given.get("key", "")), given.get("fields") or {})
        handler, role = self._handlers.get(act.name) or self._lasting.get(act.name) or (None, "read")
        saved = False
        if handler is not None:
            try:
                if not self.reader.may(role):
                    raise MayNot(self.reader.role, role)
                await handler(act)
                saved = True
            except LoopwrightError as error:
                self.note(error)
                self.notice(refusal(error), kind="refused")
        self.client.run_javascript(
            f"window.loopwright.answered({_quoted(given.get('from'))}, {str(saved).lower()})"
        )

    def go(self, path: str) -> None:
        """Opens another page in the same frame."""
        ui.navigate.to(path)

    def notices(self, region: Region) -> None:
        """Where notices are shown."""
        self._notice = region

    def notice(self, what: Markup | str, *, kind: str = "done") -> None:
        """Says something at the foot of the page, aloud for who cannot see it.

        Args:
            what: is said.
            kind: 'done', 'told' or 'refused'.
        """
        if self._notice is not None:
            self._notice.show(notice_box(what, kind))
            self._told_at = time.monotonic()

    def reveal(self, region: Region, *, narrow: bool = False) -> None:
        """Brings a region into sight.

        Args:
            region: of the page.
            narrow: only on a narrow screen, where it does not stand beside what was pressed.
        """
        only = "if (matchMedia('(max-width: 1240px)').matches) " if narrow else ""
        self.client.run_javascript(f"{only}getElement({region.id}).$el.scrollIntoView({{block: 'start'}})")

    def silence(self) -> None:
        """Puts the notice away."""
        self._told_at = 0.0
        if self._notice is not None:
            self._notice.show(Markup())

    @staticmethod
    def note(error: LoopwrightError) -> None:
        """Keeps what went wrong in Loopwright itself in the log of the server."""
        if isinstance(error, Unforeseen):
            LOG.error("%s\n%s", error.what, error.details)


class MayNot(LoopwrightError):
    """Somebody asked for what their role does not allow."""

    def __init__(self, role: str, needed: str) -> None:
        self.what = say("frame.may_not", role=role, needed=needed)
        self.remedy = say("frame.may_not_remedy")
        super().__init__(f"{self.what} {self.remedy}")


def _quoted(text: object) -> str:
    """A text as it stands in a script."""
    return json.dumps(str(text or "")).replace("<", "\\u003c")
