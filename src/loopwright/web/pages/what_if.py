"""What if: another value of the description, what it brings, and the way to take it in."""

from typing import Any

from loopwright.errors import LoopwrightError, RequestError
from loopwright.model.records import Revision
from loopwright.studies.books import WhatIfAsBuilt, what_if_as_built
from loopwright.studies.statements import Proposal, described, proposal, statements_at
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import what_if as views
from loopwright.web.views.saying import refusal
from loopwright.web.views.standing import front, usable
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

MOST_AT_ONCE = 6
"""Values that are chosen at once where a path has several."""


class WhatIf:
    """The page as long as it is open: what was chosen, what was tried, what is offered to be saved.

    Args:
        desk: of the page.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.words = ""
        self.chosen: list[str] = []
        self.changes: dict[str, str] = {}
        self.offered: Proposal | None = None

    async def build(self) -> None:
        """Puts the page together; its address may name a value, as '?of=parts/column/dims/height'."""
        desk = self.desk
        for name in ("find", "pick", "leave", "try", "see", "take", "not_now"):
            desk.on(name, getattr(self, f"_{name}"), role="read")
        desk.on("save", self._save, role="edit")
        for path in filter(None, desk.query.get("of", "").split("\n")):
            try:
                self.chosen += [one for one in await desk.ask(paths_at, path) if one not in self.chosen]
            except LoopwrightError as error:
                desk.notice(refusal(error), kind="refused")
        self._choosing = await desk.region(views.choosing, self.words, self.chosen)
        self._changing = await desk.region(views.changing, self.chosen, self.offered)
        self._working = LongWork(desk, "comparing", say("what_if.working"), self._stopped)
        self._brings = await desk.region(views.brings, self.changes, True)

    async def _find(self, act: Act) -> None:
        self.words = act.text("words")
        await self.desk.redraw(self._choosing, self.words, self.chosen)

    async def _pick(self, act: Act) -> None:
        found = await self.desk.ask(paths_at, act.text("path"))
        self.chosen += [path for path in found if path not in self.chosen]
        await self._chosen_anew()

    async def _leave(self, act: Act) -> None:
        self.chosen = [path for path in self.chosen if path != act.text("path")]
        await self._chosen_anew()

    async def _chosen_anew(self) -> None:
        self.offered = None
        await self.desk.redraw(self._choosing, self.words, self.chosen)
        await self.desk.redraw(self._changing, self.chosen, self.offered)

    async def _try(self, act: Act) -> None:
        self.changes, self.offered = await self._typed(act), None
        await self.desk.redraw(self._changing, self.chosen, self.offered)
        self.desk.begin("comparing", self._compare())

    async def _typed(self, act: Act) -> dict[str, str]:
        typed = {path: act.text(views.field_name(path)) for path in self.chosen}
        return await self.desk.ask(differing, typed)

    async def _see(self, act: Act) -> None:
        self.desk.begin("comparing", self._compare())

    async def _compare(self) -> None:
        changes = dict(self.changes)
        try:
            if not await self.desk.ask(is_tried, changes):
                await self.desk.redraw(self._brings, changes, True)
                found = await self._working.answer(brought_by, changes)
                if found is not None:
                    await self.desk.ask(keep, *found)
        except LoopwrightError:
            self.changes = {}
            await self.desk.redraw(self._brings, {}, False)
            raise
        await self.desk.redraw(self._brings, changes, False)

    async def _stopped(self) -> None:
        await self.desk.redraw(self._brings, self.changes, False)

    async def _take(self, act: Act) -> None:
        self.offered = await self.desk.ask(proposed, self.changes)
        await self.desk.redraw(self._changing, self.chosen, self.offered)
        self.desk.client.run_javascript('document.getElementById("offer")?.querySelector("#f-why")?.focus()')

    async def _not_now(self, act: Act) -> None:
        self.offered = None
        await self.desk.redraw(self._changing, self.chosen, self.offered)

    async def _save(self, act: Act) -> None:
        changes = await self._typed(act)
        if changes != self.changes:  # typed once more after the lines were shown
            self.changes = changes
            await self._take(act)
            raise RequestError(say("what_if.meanwhile_typed"), say("what_if.meanwhile_remedy"))
        number = await self.desk.ask(save, changes, act.text("why"), act.key, int(act.text("upon", "0")))
        self.chosen, self.changes, self.offered = [], {}, None
        await self._chosen_anew()
        await self.desk.redraw(self._brings, self.changes, False)
        self.desk.notice(say("what_if.saved", number=number))
        await self.desk.refresh()
        await self.desk.hub.changed(number)


async def what_if(desk: Desk) -> None:
    """What another value of the description would bring."""
    if await desk.ask(usable):
        await WhatIf(desk).build()
    else:
        await desk.region(front)


# in the workroom


def paths_at(work: Work, reader: Reader, path: str) -> list[str]:
    """Paths of the values that stand at a path, the first few where it has many."""
    return [one.path for one in statements_at(work.bench, path)[:MOST_AT_ONCE]]


def differing(work: Work, reader: Reader, typed: dict[str, str]) -> dict[str, str]:
    """Those of typed values that are not what the description says already."""
    out = {path: value for path, value in typed.items() if value != statements_at(work.bench, path)[0].typed}
    if not out:
        raise RequestError(say("what_if.unchanged"), say("what_if.unchanged_remedy"))
    return out


def proposed(work: Work, reader: Reader, changes: dict[str, str]) -> Proposal:
    """The lines that changes would change."""
    return proposal(work.bench, changes)


def is_tried(work: Work, reader: Reader, changes: dict[str, str]) -> bool:
    """Whether it was worked out already what changes bring."""
    return views.tried_key(work, changes) in work.lasting


def brought_by(
    work: Work, reader: Reader, changes: dict[str, str], telling: Telling
) -> tuple[int, tuple[Any, ...], WhatIfAsBuilt]:
    """What changes bring, with the last entry that it counts and its name; long."""
    proposal(work.bench, changes)
    found = what_if_as_built(work.bench, changes, cancel=telling.cancelled)
    return work.bench.last, views.tried_key(work, changes), found


def keep(work: Work, reader: Reader, last: int, key: tuple[Any, ...], found: WhatIfAsBuilt) -> None:
    """Keeps what changes bring until something is entered."""
    for one in [k for k in work.lasting if isinstance(k, tuple) and k[0] == "what if" and k[1] != last]:
        del work.lasting[one]
    work.lasting[key] = found


def save(work: Work, reader: Reader, changes: dict[str, str], why: str, key: str, upon: int) -> int:
    """Saves the description with changes as a new revision; the number of the entry that holds it."""
    bench = work.bench
    if described(bench)[0] != upon:
        raise RequestError(say("what_if.meanwhile"), say("what_if.meanwhile_remedy"))
    offered = proposal(bench, changes)
    written = work.book.append(
        Revision(text=offered.text, file=offered.file),
        who=reader.who,
        why=why,
        station=reader.station,
        key=key or None,
        seen=bench.last,
    )
    return written.entry.number


PAGES = (Page("/what-if", "what_if.title", what_if, letter="w"),)
