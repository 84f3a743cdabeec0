"""What to measure next, for the hours that are left."""

from typing import Any

from loopwright.asbuilt.worth import Plan
from loopwright.studies.for_hours import HOURS, gauges_for, minutes_of, plan_for
from loopwright.studies.next_readings import GaugeProposal
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import next as views
from loopwright.web.views.standing import front, usable
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling


class Next:
    """The page as long as it is open: the hours there are, and how far down the list somebody looks.

    Args:
        desk: of the page.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.there_is, self.turned = 60 * HOURS, 0

    async def build(self) -> None:
        """Puts the page together; the hours that are kept on the device may come in before it is whole."""
        desk = self.desk
        for name in ("plan", "again", "turn", "gauges"):
            desk.on(name, getattr(self, f"_{name}"), role="read")
        await desk.region(views.hours, f"{HOURS:g}")
        self._choosing = LongWork(desk, "choosing", say("next.planning"), self._stopped)
        self._planned = await desk.region(views.planned, self.there_is, True)
        self._ranked = await desk.region(views.ranking, self.there_is, self.turned)
        self._looking = LongWork(desk, "looking", say("next.gauges_working"))
        await desk.region(views.gauges)
        desk.begin("choosing", self._choose())

    async def _choose(self) -> None:
        desk, there_is = self.desk, self.there_is
        if not await desk.ask(is_planned, there_is):
            await desk.redraw(self._planned, there_is, True)
            found = await self._choosing.answer(plan_of, there_is)
            if found is not None:
                await desk.ask(keep, "plan", *found)
        await desk.redraw(self._planned, there_is, False)
        await desk.redraw(self._ranked, there_is, self.turned)

    async def _stopped(self) -> None:
        await self.desk.redraw(self._planned, self.there_is, False)

    async def _look(self) -> None:
        found = await self._looking.answer(gauges_of)
        if found is not None:
            await self.desk.ask(keep, "gauges", *found)
            await self.desk.refresh()

    async def _plan(self, act: Act) -> None:
        self.there_is = minutes_of(act.text("hours"))
        await self._again(act)

    async def _again(self, act: Act) -> None:
        if hasattr(self, "_ranked"):  # otherwise the page is about to begin with these hours by itself
            self.desk.begin("choosing", self._choose())

    async def _turn(self, act: Act) -> None:
        begin = act.text("begin", "0")
        self.turned = int(begin) if begin.isdecimal() else 0
        await self.desk.redraw(self._ranked, self.there_is, self.turned)

    async def _gauges(self, act: Act) -> None:
        self.desk.begin("looking", self._look())


async def next_page(desk: Desk) -> None:
    """The plan for the hours there are, and every reading by its worth."""
    if not await desk.ask(usable):
        await desk.region(front)
    elif not await desk.ask(has_targets):
        await desk.region(views.no_targets)
    else:
        await Next(desk).build()


# in the workroom


def has_targets(work: Work, reader: Reader) -> bool:
    """Whether there is anything to measure for."""
    return bool(work.bench.build.targets)


def is_planned(work: Work, reader: Reader, there_is: float) -> bool:
    """Whether the plan for so many minutes is made already."""
    return views.plan_key(work, there_is) in work.lasting


def plan_of(
    work: Work, reader: Reader, there_is: float, telling: Telling
) -> tuple[int, tuple[Any, ...], Plan]:
    """The plan for so many minutes, with the last entry that it counts and its name; long."""
    found = plan_for(work.bench, there_is, progress=telling.progress, cancel=telling.cancelled)
    return work.bench.last, views.plan_key(work, there_is), found


def gauges_of(
    work: Work, reader: Reader, telling: Telling
) -> tuple[int, tuple[Any, ...], tuple[GaugeProposal, ...]]:
    """What gauge each test needs, with the last entry that it counts and its name; long."""
    found = gauges_for(work.bench, progress=telling.progress, cancel=telling.cancelled)
    return work.bench.last, views.gauges_key(work), found


def keep(work: Work, reader: Reader, kind: str, last: int, key: tuple[Any, ...], found: Any) -> None:
    """Keeps what long work brought until something is entered."""
    for one in [k for k in work.lasting if isinstance(k, tuple) and k[0] == kind and k[1] != last]:
        del work.lasting[one]
    work.lasting[key] = found


PAGES = (Page("/next", "next.title", next_page, letter="x"),)
