"""Long work that a page shows while it goes on: how far it is, and a way to stop it."""

import time
from collections.abc import Awaitable, Callable
from typing import Any

from loopwright.errors import Cancelled
from loopwright.sheets.markup import Markup
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.views.longwork import going_on
from loopwright.web.wording import say

EVERY = 0.15
"""Seconds between two looks at how far it is."""


class LongWork:
    """One piece of long work of a page, and the place where it is shown.

    Args:
        desk: of the page.
        name: of the work; its stop button asks for 'stop' and this.
        label: what is being done, in words.
        stopped: awaited after somebody stopped it, which is said in any case.
    """

    def __init__(
        self, desk: Desk, name: str, label: str, stopped: Callable[[], Awaitable[None]] | None = None
    ) -> None:
        self.desk, self.name, self.label, self._stopped = desk, name, label, stopped
        self.region = Region(Markup(), tag="div", class_="region long")
        self._turn = 0
        desk.on(f"stop {name}", self._stop, role="read")

    async def answer(self, function: Callable[..., Any], *arguments: Any) -> Any:
        """What a long function answers, or None where it was stopped; shown as it goes on, gone when it is done.

        Raises:
            LoopwrightError: whatever it raised.
        """
        self._turn += 1
        turn, shown_at = self._turn, 0.0
        self._show(turn, 0, None, say("frame.waits_its_turn") if self.desk.room.busy else None)

        def progress(done: int, wanted: int | None) -> None:
            nonlocal shown_at
            if time.monotonic() - shown_at > EVERY:
                shown_at = time.monotonic()
                self._show(turn, done, wanted)

        try:
            return await self.desk.long(function, *arguments, progress=progress)
        except Cancelled:
            return None
        finally:
            self._clear(turn)

    def _show(self, turn: int, done: int, wanted: int | None, waits: str | None = None) -> None:
        if turn == self._turn and not self.region.is_deleted:
            self.region.show(going_on(self.label, done, wanted, f"stop {self.name}", waits))

    def _clear(self, turn: int) -> None:
        """What was stopped may still come to its end while the next is shown."""
        if turn == self._turn and not self.region.is_deleted:
            self.region.show(Markup())

    async def _stop(self, act: Act) -> None:
        self._turn += 1
        self._clear(self._turn)
        self.desk.stop(self.name)
        self.desk.notice(say("frame.stopped_work"), kind="told")
        if self._stopped is not None:
            await self._stopped()
