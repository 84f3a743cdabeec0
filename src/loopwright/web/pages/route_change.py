"""The cheapest change of route: asked for, searched in the back room, and taken into the description."""

from collections.abc import Sequence

from loopwright import units
from loopwright.errors import RequestError
from loopwright.making.cheapest import MOST_TRIED
from loopwright.studies.route_change import RouteChange, route_change
from loopwright.studies.statements import Proposal
from loopwright.studies.taking_ways import ways_taken
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.offering import Offering, proposal_of
from loopwright.web.pages import Page
from loopwright.web.views import route_change as views
from loopwright.web.views.shop import PLACES
from loopwright.web.views.standing import front, usable
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling


class RouteChanging:
    """The page as long as it is open: what was asked for, and whether it is being looked for.

    Args:
        desk: of the page.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.wished: float | None = None
        self.targets: tuple[str, ...] = ()

    async def build(self) -> None:
        """Puts the page together."""
        desk = self.desk
        for name in ("find", "again", "take"):
            desk.on(name, getattr(self, f"_{name}"), role="edit" if name == "take" else "read")
        await desk.region(views.asking)
        self._work = LongWork(desk, "route change", say("route_change.working"), self._stopped)
        self._answer = await desk.region(views.answer, None, (), False)
        self._offer = Offering(
            desk,
            "ways",
            ways_proposed,
            working=say("route_change.taking"),
            told=say("route_change.take_told"),
            why=say("route_change.why"),
        )
        await self._offer.place()

    async def _find(self, act: Act) -> None:
        self.wished = await self.desk.ask(chance_of, act.text("wished"))
        self.targets = tuple(act.texts("target"))
        if not self.targets:
            raise RequestError(say("route_change.no_target"), say("route_change.no_target_remedy"))
        self.desk.begin("route change", self._search())

    async def _again(self, act: Act) -> None:
        self.desk.begin("route change", self._search())

    async def _search(self) -> None:
        desk = self.desk
        assert self.wished is not None
        asked = (self.wished, self.targets)
        if not await desk.ask(is_found, *asked):
            await desk.redraw(self._answer, *asked, True)
            found = await self._work.answer(change_of, *asked)
            if found is not None:
                await desk.ask(keep, *asked, *found)
        await desk.redraw(self._answer, *asked, False)
        desk.reveal(self._answer)

    async def _stopped(self) -> None:
        await self.desk.redraw(self._answer, self.wished, self.targets, False)

    async def _take(self, act: Act) -> None:
        assert self.wished is not None
        fields = await self.desk.ask(fields_to_take, self.wished, self.targets)
        self._offer.begin(fields)


async def changing(desk: Desk) -> None:
    """What brings the wished chance for the fewest minutes."""
    if await desk.ask(usable):
        await RouteChanging(desk).build()
    else:
        await desk.region(front)


# in the workroom


def chance_of(work: Work, reader: Reader, typed: str) -> float:
    """A chance as somebody typed it; a bare number above 1 is in per cent.

    Raises:
        UnitError: it is no number.
    """
    bare = typed.replace(",", ".").strip()
    try:
        number = float(bare)
    except ValueError:
        return round(units.parse(typed, units.Dimension.RATIO), 9)
    # 99.9 hundredths are a little more than 0.999, and that would be too much to ask for
    return round(number / 100 if number > 1 else number, 9)


def is_found(work: Work, reader: Reader, wished: float, targets: Sequence[str]) -> bool:
    """Whether the answer is known already."""
    return views.change_key(work, wished, targets) in work.lasting


def change_of(
    work: Work, reader: Reader, wished: float, targets: Sequence[str], telling: Telling
) -> tuple[int, RouteChange]:
    """The cheapest change, with the last entry that it counts; long."""
    found = route_change(
        work.bench.build,
        wished,
        targets=targets,
        progress=lambda done, _: telling.progress(done, MOST_TRIED),
        cancel=telling.cancelled,
    )
    return work.bench.last, found


def keep(
    work: Work, reader: Reader, wished: float, targets: Sequence[str], last: int, found: RouteChange
) -> None:
    """Keeps an answer until something is entered."""
    for one in [k for k in work.lasting if isinstance(k, tuple) and k[0] == "route change" and k[1] != last]:
        del work.lasting[one]
    work.lasting["route change", last, wished, tuple(targets)] = found


def fields_to_take(work: Work, reader: Reader, wished: float, targets: Sequence[str]) -> tuple[str, ...]:
    """Paths of the alternatives that an answer chose.

    Raises:
        RequestError: something was entered since, and the answer is gone.
    """
    found: RouteChange | None = work.lasting.get(views.change_key(work, wished, targets))
    if found is None:
        raise RequestError(say("route_change.stale"), say("route_change.again"))
    return tuple(one.field for one in found.found.chosen)


def ways_proposed(work: Work, reader: Reader, fields: Sequence[str], telling: Telling) -> Proposal:
    """The description with alternatives taken in; long."""
    return proposal_of(work.bench, ways_taken(work.bench, fields).text)


PAGES = (Page(PLACES["change"], "route_change.title", changing, listed=False),)
