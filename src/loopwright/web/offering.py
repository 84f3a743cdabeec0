"""A change of the description that a page works out and offers: its lines are shown before somebody saves them."""

from collections.abc import Callable
from typing import Any

from loopwright.book import difference
from loopwright.errors import RequestError
from loopwright.model.records import Revision
from loopwright.studies.bench import Bench
from loopwright.studies.edit_effect import with_text
from loopwright.studies.statements import Proposal, described
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.longwork import LongWork
from loopwright.web.views.offered import offered
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work


class Offering:
    """One offer of a page at a time.

    Args:
        desk: of the page.
        name: of its acts: 'NAME save' and 'NAME not now'.
        proposing: long function that answers with a ``Proposal``.
        working: what is said while it goes on.
        told: what the offer says above its lines.
        why: reason that stands in its field to begin with.
        after: called when it was saved.
    """

    def __init__(
        self,
        desk: Desk,
        name: str,
        proposing: Callable[..., Proposal],
        *,
        working: str,
        told: str,
        why: str,
        after: Callable[[], None] = lambda: None,
    ) -> None:
        self.desk, self.name, self.proposing, self.told, self.why = desk, name, proposing, told, why
        self.after = after
        self.proposal: Proposal | None = None
        self._work = LongWork(desk, f"{name} offer", working)
        self._region: Region | None = None
        desk.on(f"{name} save", self._save, role="edit")
        desk.on(f"{name} not now", self._not_now, role="read")

    async def place(self) -> None:
        """Where the offer stands on the page."""
        self._region = await self.desk.still(offered, None, self.name, self.told, self.why)

    def begin(self, *asked: Any) -> None:
        """Works the offer out, and shows it."""
        self.desk.begin(f"{self.name} offer", self._offer(asked))

    async def _offer(self, asked: tuple[Any, ...]) -> None:
        await self._show(None)
        found = await self._work.answer(self.proposing, *asked)
        if found is not None:
            await self._show(found)
            self.desk.client.run_javascript(
                f'const offer = document.getElementById("{self.name}-offer"); '
                'offer?.scrollIntoView({block: "start"}); offer?.querySelector("h2")?.focus({preventScroll: true})'
            )

    async def _show(self, proposal: Proposal | None) -> None:
        self.proposal = proposal
        if self._region is not None:
            await self.desk.redraw(self._region, proposal, self.name, self.told, self.why)

    async def _not_now(self, act: Act) -> None:
        await self._show(None)

    async def _save(self, act: Act) -> None:
        if self.proposal is None:
            raise RequestError(say("offered.gone"), say("offered.gone_remedy"))
        number = await self.desk.ask(save_proposal, self.proposal, act.text("why"), act.key)
        await self._show(None)
        self.desk.notice(say("offered.saved", number=number))
        await self.desk.refresh()
        await self.desk.hub.changed(number)
        self.after()


# in the workroom


def proposal_of(bench: Bench, text: str) -> Proposal:
    """A changed description as an offer, once it is sure that every entry of the book can stand with it.

    Raises:
        RequestError: an entry of the book cannot stand with it, or nothing is changed.
        BuildError: the text has mistakes.
    """
    number, revision = described(bench)
    if text == revision.text:
        raise RequestError(say("offered.unchanged"), say("offered.unchanged_remedy"))
    with_text(bench, text)
    return Proposal({}, text, revision.file, number, difference(revision.text, text))


def save_proposal(work: Work, reader: Reader, proposal: Proposal, why: str, key: str) -> int:
    """Saves an offer as a new revision; the number of the entry that holds it.

    Raises:
        RequestError: somebody else saved another revision meanwhile.
    """
    bench = work.bench
    if described(bench)[0] != proposal.upon:
        raise RequestError(say("offered.meanwhile"), say("offered.meanwhile_remedy"))
    written = work.book.append(
        Revision(text=proposal.text, file=proposal.file),
        who=reader.who,
        why=why,
        station=reader.station,
        key=key or None,
        seen=bench.last,
    )
    return written.entry.number
