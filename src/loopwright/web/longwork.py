"""Long work that a page shows while it goes on: how far it is, and a way to stop it."""

import time
from collections.abc import Awaitable, Callable
from typing import Any

from loopwright.errors import Cancelled
from loopwright.sheets.markup import Markup
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.views.longwork import going_on

EVERY = 0.15
"""Seconds between two looks at how far it is."""


class LongWork:
    """One piece of long work of a page, and the place where it is shown.

    Args:
        desk: of the page.
        name: of the work; its stop button asks for 'stop' and this.
        label: what is being done, in words.
        stopped: awaited after somebody stopped it.
    """

    def __init__(
        self, desk: Desk, name: str, label: str, stopped: Callable[[], Awaitable[None]] | None = None
    ) -> None:
        self.desk, self.name, self.label, self._stopped = desk, name, label, stopped
        self.region = Region(Markup(), tag="div", class_="region long")
        desk.on(f"stop {name}", self._stop, role="read")

    async def answer(self, function: Callable[..., Any], *arguments: Any) -> Any:
        """What a long function answers, or None where it was stopped; shown as it goes on, gone when it is done.

        Raises:
            LoopwrightError: whatever it raised.
        """
        shown_at = time.monotonic()
        self._show(0, None)

        def progress(done: int, wanted: int | None) -> None:
            nonlocal shown_at
            if time.monotonic() - shown_at > EVERY:
                shown_at = time.monotonic()
                self._show(done, wanted)

        try:
            return await self.desk.long(function, *arguments, progress=progress)
        except Cancelled:
            return None
        finally:
            if not self.region.is_deleted:
                self.region.show(Markup())

    def _show(self, done: int, wanted: int | None) -> None:
        if not self.region.is_deleted:
            self.region.show(going_on(self.label, done, wanted, f"stop {self.name}"))

    async def _stop(self, act: Act) -> None:
        self.desk.stop(self.name)
        if self._stopped is not None:
            await self._stopped()
