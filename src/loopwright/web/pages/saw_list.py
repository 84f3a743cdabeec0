"""Blanks and saw list: worked out in the back room, printed, and taken out of the shop when all is sawn."""

from datetime import UTC, datetime

from loopwright.errors import RequestError
from loopwright.studies.after_sawing import after_sawing
from loopwright.studies.blank_lists import saw_list
from loopwright.studies.blank_records import SawList
from loopwright.studies.shop_lists import made_parts
from loopwright.studies.statements import Proposal, described
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.offering import Offering, proposal_of
from loopwright.web.pages import Page
from loopwright.web.printing import Order, Printing
from loopwright.web.views import saw_list as views
from loopwright.web.views.shop import PLACES
from loopwright.web.views.standing import front, usable
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling


class Blanks:
    """The page as long as it is open.

    Args:
        desk: of the page.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk, self.asked = desk, desk.query.get("page", "")[:20]

    async def build(self) -> None:
        """Puts the page together, and begins to choose bars and sheets."""
        desk = self.desk
        await desk.region(views.top)
        self._work = LongWork(desk, "saw list", say("saw_list.working"), self._stopped)
        self._shown = await desk.region(views.listing, self.asked, True)
        self._prints = Printing(desk, say("saw_list.printing"))
        self._offer = Offering(
            desk,
            "sawn",
            sawn_proposed,
            working=say("saw_list.sawn_working"),
            told=say("saw_list.sawn_told"),
            why=say("saw_list.why"),
            after=self._begin,
        )
        await self._offer.place()
        desk.on("again", self._again, role="read")
        desk.on("print", self._print, role="read")
        desk.on("sawn", self._sawn, role="edit")
        self._begin()

    def _begin(self) -> None:
        self.desk.begin("saw list", self._work_out())

    async def _work_out(self) -> None:
        desk = self.desk
        if not await desk.ask(is_worked_out):
            await desk.redraw(self._shown, self.asked, True)
            found = await self._work.answer(list_of)
            if found is not None:
                await desk.ask(keep, *found)
        await desk.redraw(self._shown, self.asked, False)

    async def _stopped(self) -> None:
        await self.desk.redraw(self._shown, self.asked, False)

    async def _again(self, act: Act) -> None:
        self._begin()

    async def _print(self, act: Act) -> None:
        self._prints.begin(Order((act.text("of"),)))

    async def _sawn(self, act: Act) -> None:
        self._offer.begin(await self.desk.ask(list_to_saw))


async def blanks(desk: Desk) -> None:
    """What to saw from what, and what to buy and to keep."""
    if await desk.ask(usable):
        await Blanks(desk).build()
    else:
        await desk.region(front)


# in the workroom


def is_worked_out(work: Work, reader: Reader) -> bool:
    """Whether the saw list of what the book has is there."""
    return views.list_key(work) in work.lasting


def list_of(work: Work, reader: Reader, telling: Telling) -> tuple[int, SawList]:
    """The saw list, with the last entry that it counts; long."""
    bench = work.bench
    found = saw_list(
        bench.build, finished=made_parts(bench), progress=telling.progress, cancelled=telling.cancelled
    )
    return bench.last, found


def keep(work: Work, reader: Reader, last: int, found: SawList) -> None:
    """Keeps the saw list until something is entered."""
    for one in [k for k in work.lasting if isinstance(k, tuple) and k[0] == "saw list"]:
        del work.lasting[one]
    work.lasting["saw list", last] = found


def list_to_saw(work: Work, reader: Reader) -> tuple[int, SawList]:
    """The saw list that is shown, with the last entry that it counts.

    Raises:
        RequestError: something was entered since.
    """
    found: SawList | None = work.lasting.get(views.list_key(work))
    if found is None:
        raise RequestError(say("saw_list.stale"), say("saw_list.stale_remedy"))
    return work.bench.last, found


def sawn_proposed(work: Work, reader: Reader, shown: tuple[int, SawList], telling: Telling) -> Proposal:
    """The description when everything on the list is sawn; long.

    Raises:
        RequestError: something was entered since the list was made.
    """
    bench, (last, found) = work.bench, shown
    if bench.last != last:
        raise RequestError(say("saw_list.stale"), say("saw_list.stale_remedy"))
    _, revision = described(bench)
    after = after_sawing(
        revision.text,
        bench.build,
        found,
        day=datetime.now(UTC).astimezone().date().isoformat(),
        file=revision.file,
    )
    return proposal_of(bench, after.text)


PAGES = (Page(PLACES["blanks"], "saw_list.title", blanks, listed=False),)
