"""Where the build stands: the front page, and the page of each target."""

from dataclasses import replace
from typing import Any

from loopwright.studies.driving import Thorough, thorough_now
from loopwright.studies.reports import PoseTable, TargetStanding
from loopwright.studies.standing import standing as as_designed
from loopwright.studies.statements import described
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import standing as views
from loopwright.web.views.target import designed_key, no_such, target
from loopwright.web.views.target_designed import TIGHTENINGS, designed
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling


async def standing(desk: Desk) -> None:
    """Where the build stands."""
    await desk.region(views.front)


async def one_target(desk: Desk, name: str) -> None:
    """One target: what is known at once, then what the design alone says of it, which takes a while."""
    if not await desk.ask(views.usable):
        await desk.region(views.front)
        return
    if not await desk.ask(is_there, name):
        await desk.region(no_such, name)
        return
    await desk.region(target, name)

    async def stopped() -> None:
        await desk.redraw(below, name, False)

    design = LongWork(desk, "design", say("target.working"), stopped)
    shapes = LongWork(desk, "shapes", say("target.shaped_progress"))
    below = await desk.region(designed, name, True)

    async def work_out() -> None:
        if not await desk.ask(is_designed, name):
            await desk.redraw(below, name, True)
            found = await design.answer(design_of, name)
            if found is not None:
                await desk.ask(keep_design, name, *found)
        await desk.redraw(below, name, False)
        await desk.refresh()

    async def draw() -> None:
        found = await shapes.answer(shapes_of, name)
        if found is not None:
            await desk.ask(keep_shapes, name, *found)
            await desk.refresh()

    async def again(act: Act) -> None:
        desk.begin("design", work_out())

    async def thorough(act: Act) -> None:
        desk.begin("shapes", draw())

    desk.on("again", again, role="read")
    desk.on("thorough", thorough, role="read")
    desk.begin("design", work_out())


# in the workroom


def is_there(work: Work, reader: Reader, name: str) -> bool:
    """Whether the build has such a target."""
    return name in work.bench.build.targets


def is_designed(work: Work, reader: Reader, name: str) -> bool:
    """Whether a target was worked out as designed, for the description that counts."""
    return designed_key(work, name) in work.lasting


def design_of(work: Work, reader: Reader, name: str, telling: Telling) -> tuple[int, TargetStanding]:
    """A target as designed, and the number of the description that it is of; long."""
    bench = work.bench
    found = as_designed(bench.loop, targets=[name], progress=telling.progress, cancel=telling.cancelled)
    # what the page does not show need not go from process to process
    shown = replace(
        found.targets[0],
        sources=(),
        drivers=(),
        at_poses=PoseTable({}, (), ()),
        tightenings=found.targets[0].tightenings[:TIGHTENINGS],
    )
    return described(bench)[0], shown


def keep_design(work: Work, reader: Reader, name: str, upon: int, found: TargetStanding) -> None:
    """Keeps a target as designed until the description changes."""
    _keep(work, "designed", ("designed", upon, name), upon, found)


def shapes_of(work: Work, reader: Reader, name: str, telling: Telling) -> tuple[int, Thorough]:
    """The worst error of a target with the stated shapes, and the last entry that it counts; long."""
    bench = work.bench
    return bench.last, thorough_now(bench, name, progress=telling.progress, cancel=telling.cancelled)


def keep_shapes(work: Work, reader: Reader, name: str, last: int, found: Thorough) -> None:
    """Keeps a thorough draw until something is entered."""
    _keep(work, "thorough", ("thorough", last, name), last, found)


def _keep(work: Work, kind: str, key: tuple[object, ...], number: int, found: Any) -> None:
    old = [k for k in work.lasting if isinstance(k, tuple) and k[0] == kind and k[1] != number]
    for one in old:
        del work.lasting[one]
    work.lasting[key] = found


PAGES = (
    Page("/", "standing.title", standing, letter="s"),
    Page("/targets/{name}", "target.title", one_target, listed=False),
)
