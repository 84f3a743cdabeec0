"""The fit-up: its order on one page, a page for each step, one adjuster by itself, and screws with their nuts."""

from loopwright.errors import RequestError
from loopwright.studies.fitup_bench import step_number
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import fit_up as views
from loopwright.web.views import fit_up_plan, fit_up_screw, fit_up_set, fit_up_step
from loopwright.web.views.book_entered import notice, seen_of
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work


async def fit_up(desk: Desk) -> None:
    """The order of assembly, what was planned of it and what it left; or one adjuster by itself."""
    if path := desk.query.get("set", ""):
        await _adjuster(desk, path)
        return
    mode = fit_up_plan.HERE if desk.query.get("from") == fit_up_plan.HERE else fit_up_plan.METAL
    await desk.region(views.overview)

    async def stopped() -> None:
        await desk.redraw(paper, mode, True)

    long = LongWork(desk, "plan", say("fit_up.plan_working"), stopped)
    paper = await desk.region(fit_up_plan.planned, mode, False)
    await desk.region(views.settable)

    async def work() -> None:
        # the order of assembly is held against the plan from the description alone
        for one in dict.fromkeys((fit_up_plan.METAL, mode)):
            if not await desk.ask(fit_up_plan.is_kept, one):
                found = await long.answer(fit_up_plan.work_out, one)
                if found is None:
                    return
                await desk.ask(fit_up_plan.keep, one, found)
                await desk.refresh()

    async def again(act: Act) -> None:
        await desk.redraw(paper, mode, False)
        desk.begin("plan", work())

    desk.on("plan_again", again, role="read")
    desk.begin("plan", work())


async def step(desk: Desk, step: str) -> None:
    """One step: what to seat, read and set, what it will leave, what was set in fact, and accepting it."""
    number = await desk.ask(number_of, step)
    await desk.region(fit_up_step.heading, number)
    await desk.region(fit_up_step.reads, number)
    await desk.region(fit_up_step.standing, number)
    await desk.region(fit_up_set.to_set, number)
    await _entering(desk)
    await desk.region(fit_up_step.made, number)
    await desk.region(fit_up_step.accepting, number)

    async def accept(act: Act) -> None:
        made = await desk.ask(fit_up_step.accept, number, act.text("why"), act.key, seen_of(act.text("seen")))
        desk.notice(notice(say("fit_up.accepted_now", number=number), made))
        await desk.refresh()
        await desk.hub.changed(made.last)

    desk.on("step_accept", accept)


async def _adjuster(desk: Desk, path: str) -> None:
    await desk.region(fit_up_set.one_adjuster, path)
    await _entering(desk)


async def _entering(desk: Desk) -> None:
    """Takes what was set in fact, and shows what that brought."""
    brought = await desk.still(fit_up_set.left, None)

    async def enter(act: Act) -> None:
        typed = {name: act.text(name) for name in act.fields}
        done = await desk.ask(fit_up_set.enter, typed, act.key, seen_of(act.text("seen")))
        desk.notice(notice(say("fit_up.entered", state=done.state), done.made))
        await desk.redraw(brought, done)
        await desk.refresh()
        desk.reveal(brought)
        await desk.hub.changed(done.made.last)

    desk.on("set_enter", enter)


async def screw(desk: Desk) -> None:
    """How a screw lines up with its nut over the travel."""
    of = desk.query.get("of", "")
    if not of:
        raise RequestError(say("fit_up.no_screw"), say("fit_up.no_screw_remedy"))
    await desk.region(fit_up_screw.screw, of)


def number_of(work: Work, reader: Reader, which: str) -> int:
    """Number of a step by its number, its name or the beginning of it."""
    return step_number(work.bench, which)


PAGES = (
    Page("/fit-up", "fit_up.title", fit_up, letter="f"),
    Page("/fit-up/screws", "fit_up.screw", screw, listed=False),
    Page("/fit-up/{step}", "fit_up.one", step, listed=False),
)
