"""Who looks at the book, and what tells them that it changed."""

import asyncio
import contextlib
from collections.abc import Callable, Coroutine

from loopwright.errors import LoopwrightError
from loopwright.web.work import Reader, Work
from loopwright.web.workroom import Workroom

LOOKS_EVERY = 0.4
"""Seconds between two looks into the book while somebody has a page open."""

Listener = Callable[[int], Coroutine[None, None, None]]


def last_entry(work: Work, reader: Reader) -> int:
    """Number of the last entry of the book."""
    return work.book.last_number


class Hub:
    """Watches a book for whoever has a page open, whichever program writes in it.

    Args:
        room: where the book is open.
    """

    def __init__(self, room: Workroom) -> None:
        self.room = room
        self.last = 0
        self._listeners: dict[object, Listener] = {}
        self._starters: dict[object, Callable[[], None]] = {}
        self._watch: asyncio.Task[None] | None = None
        self._telling: set[asyncio.Task[None]] = set()

    def join(self, key: object, listener: Listener, anew: Callable[[], None]) -> None:
        """Watches for a page.

        Args:
            key: of the page.
            listener: called with the number of the last entry whenever there are new ones.
            anew: called when another book is open.
        """
        self._listeners[key] = listener
        self._starters[key] = anew
        if self._watch is None or self._watch.done():
            self._watch = asyncio.get_running_loop().create_task(self._look())

    def leave(self, key: object) -> None:
        """The page is gone."""
        self._listeners.pop(key, None)
        self._starters.pop(key, None)

    async def begin_anew(self) -> None:
        """Another book is open: every page begins anew."""
        self.last = 0
        for anew in list(self._starters.values()):
            anew()

    def close(self) -> None:
        """Stops watching."""
        if self._watch is not None:
            self._watch.cancel()

    async def changed(self, last: int) -> None:
        """Tells everybody at once that the book now goes to an entry."""
        if last <= self.last:
            return
        self.last = last
        for listener in list(self._listeners.values()):
            task = asyncio.ensure_future(listener(last))
            self._telling.add(task)
            task.add_done_callback(self._telling.discard)

    async def _look(self) -> None:
        while self._listeners:
            # a book that cannot be read now is told by the page that asks it something
            with contextlib.suppress(LoopwrightError):
                await self.changed(await self.room.ask(last_entry, Reader()))
            await asyncio.sleep(LOOKS_EVERY)
