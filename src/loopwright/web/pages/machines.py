"""The shop's machines, tools and proven values; what the parts show of the machines comes from the back room."""

from datetime import UTC, datetime

from loopwright.errors import RequestError
from loopwright.studies.shop_machines import MachineLine, shop_machines
from loopwright.studies.statements import Proposal, described
from loopwright.studies.taking_found import take_found
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.offering import Offering, proposal_of
from loopwright.web.pages import Page
from loopwright.web.views import machines as views
from loopwright.web.views.shop import PLACES
from loopwright.web.views.standing import front, usable
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

ASKS = ("page", "tools")


class Machines:
    """The page as long as it is open.

    Args:
        desk: of the page.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.asked = {name: desk.query[name][:20] for name in ASKS if desk.query.get(name)}

    async def build(self) -> None:
        """Puts the page together, and begins to look through what was read."""
        desk = self.desk
        await desk.region(views.top)
        self._work = LongWork(desk, "machines", say("machines.working"), self._stopped)
        self._shows = await desk.region(views.shows, True)
        self._every = await desk.region(views.machines, self.asked)
        self._offer = Offering(
            desk,
            "found",
            found_proposed,
            working=say("machines.taking"),
            told=say("machines.take_told"),
            why=say("machines.take_why"),
            after=self._begin,
        )
        await self._offer.place()
        await desk.region(views.tools, self.asked)
        desk.on("again", self._again, role="read")
        desk.on("take_found", self._take, role="edit")
        self._begin()

    def _begin(self) -> None:
        self.desk.begin("machines", self._work_out())

    async def _work_out(self) -> None:
        desk = self.desk
        if await desk.ask(is_to_work_out):
            await desk.redraw(self._shows, True)
            found = await self._work.answer(found_of)
            if found is not None:
                await desk.ask(keep, *found)
        await desk.redraw(self._shows, False)
        await desk.redraw(self._every, self.asked)

    async def _stopped(self) -> None:
        await self.desk.redraw(self._shows, False)

    async def _again(self, act: Act) -> None:
        self._begin()

    async def _take(self, act: Act) -> None:
        lines = await self.desk.ask(lines_to_take)
        self._offer.begin(lines, act.text("machine"), act.text("op"))


async def machines(desk: Desk) -> None:
    """Every machine as it is taken, then what its parts show."""
    if await desk.ask(usable):
        await Machines(desk).build()
    else:
        await desk.region(front)


# in the workroom


def is_to_work_out(work: Work, reader: Reader) -> bool:
    """Whether what the parts show is still to be worked out."""
    return bool(work.bench.build.shop.machines) and views.found_key(work) not in work.lasting


def found_of(work: Work, reader: Reader, telling: Telling) -> tuple[int, tuple[MachineLine, ...]]:
    """What the parts show, and the last entry that it counts; long."""
    return work.bench.last, shop_machines(work.bench.build, work.bench)


def keep(work: Work, reader: Reader, last: int, found: tuple[MachineLine, ...]) -> None:
    """Keeps what the parts show until something is entered."""
    for one in [k for k in work.lasting if isinstance(k, tuple) and k[0] == "shop machines"]:
        del work.lasting[one]
    work.lasting["shop machines", last] = found


def lines_to_take(work: Work, reader: Reader) -> tuple[int, tuple[MachineLine, ...]]:
    """What the parts show, as it is on the page, with the last entry that it counts.

    Raises:
        RequestError: something was entered since.
    """
    found: tuple[MachineLine, ...] | None = work.lasting.get(views.found_key(work))
    if found is None:
        raise RequestError(say("machines.stale"), say("machines.stale_remedy"))
    return work.bench.last, found


def found_proposed(
    work: Work,
    reader: Reader,
    shown: tuple[int, tuple[MachineLine, ...]],
    machine: str,
    op: str,
    telling: Telling,
) -> Proposal:
    """The description with what one machine was found to hold in one op; long.

    Raises:
        RequestError: something was entered since, or too little is known of it.
    """
    bench, (last, lines) = work.bench, shown
    if bench.last != last:
        raise RequestError(say("machines.stale"), say("machines.stale_remedy"))
    _, revision = described(bench)
    taken = take_found(
        revision.text,
        lines,
        machine,
        op or None,
        shown=bench.build.units,
        last=last,
        day=datetime.now(UTC).astimezone().date().isoformat(),
        file=revision.file,
    )
    return proposal_of(bench, taken.text)


PAGES = (Page(PLACES["machines"], "machines.title", machines, listed=False),)
