"""The book: its history, its entries, states compared, revisions, and keeping it safe."""

from loopwright.errors import LoopwrightError
from loopwright.web.desk import Act, Desk
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import book as views
from loopwright.web.views import book_entry as entry_views
from loopwright.web.views import book_states as state_views
from loopwright.web.views.book_entered import notice, seen_of
from loopwright.web.wording import say
from loopwright.web.workroom import WorkroomStopped

ASKED = ("kind", "who", "about", "state", "words", "before")


async def history(desk: Desk) -> None:
    """What was entered, a page of it at a time."""
    asked = {name: desk.query[name] for name in ASKED if desk.query.get(name)}
    await desk.region(views.history, asked)

    async def find(act: Act) -> None:
        desk.go(views.path_of({name: act.text(name) for name in ASKED if name != "before"}))

    desk.on("book_find", find, role="read")


async def revisions(desk: Desk) -> None:
    """Every description that was saved."""
    await desk.region(views.revisions)


async def keeping(desk: Desk) -> None:
    """Where the book is, copies of it, and looking it through."""
    await desk.region(views.keeping)
    sheet = await desk.still(views.verifying, None)
    looking = LongWork(desk, "verify", say("book.verify_working"))

    async def look() -> None:
        found = await looking.answer(views.look_through)
        if found is not None:
            await desk.redraw(sheet, found)

    async def begin(act: Act) -> None:
        desk.begin("verify", look())

    desk.on("book_verify", begin, role="read")


async def states(desk: Desk) -> None:
    """States compared, worked out in the back room."""
    first, second = desk.query.get("from", ""), desk.query.get("to", "")
    pair = (int(first), int(second)) if first.isdecimal() and second.isdecimal() else None
    await desk.still(state_views.title)

    async def stopped() -> None:
        await desk.redraw(sheet, pair, True)

    long = LongWork(desk, "states", say("book.states_working"), stopped)
    sheet = await desk.region(state_views.states, pair, False)

    async def work() -> None:
        found = await long.answer(state_views.compare)
        if found is not None:
            await desk.ask(state_views.keep, found)
            await desk.redraw(sheet, pair, False)

    async def pick(act: Act) -> None:
        desk.go(f"/book/states?from={act.text('first')}&to={act.text('second')}")

    async def again(act: Act) -> None:
        await desk.redraw(sheet, pair, False)
        desk.begin("states", work())

    desk.on("states_pick", pick, role="read")
    desk.on("states_again", again, role="read")
    if not await desk.ask(state_views.is_kept):
        desk.begin("states", work())


async def entry(desk: Desk, entry: str) -> None:
    """One entry with everything in it."""
    number = entry_views.number_of(entry)
    await desk.ask(entry_views.is_there, number)
    await desk.region(entry_views.one_entry, number)
    brought = await desk.still(entry_views.effect_told, None)
    await desk.region(entry_views.mending, number)

    async def work() -> None:
        try:
            found = await desk.long(entry_views.effect, number)
        except WorkroomStopped:
            await desk.redraw(brought, None, True)
            return
        except LoopwrightError as error:
            desk.note(error)
            found = ()
        await desk.redraw(brought, found)

    async def stop(act: Act) -> None:
        desk.stop("effect")
        await desk.redraw(brought, None, True)

    async def again(act: Act) -> None:
        await desk.redraw(brought, None)
        desk.begin("effect", work())

    async def correct(act: Act) -> None:
        typed = {name: act.text(name) for name in act.fields}
        made = await desk.ask(entry_views.correct, number, typed, act.key, seen_of(act.text("seen")))
        desk.notice(notice(say("book.corrected", number=number), made))
        await desk.refresh()
        await desk.hub.changed(made.last)

    async def withdraw(act: Act) -> None:
        made = await desk.ask(
            entry_views.withdraw, number, act.text("reason"), act.key, seen_of(act.text("seen"))
        )
        desk.notice(notice(say("book.withdrawn", number=number), made))
        await desk.refresh()
        await desk.hub.changed(made.last)

    desk.on("effect_stop", stop, role="read")
    desk.on("effect_again", again, role="read")
    desk.on("entry_correct", correct)
    desk.on("entry_withdraw", withdraw)
    desk.begin("effect", work())


PAGES = (
    Page("/book", "book.title", history, letter="o"),
    Page("/book/states", "book.tab_states", states, listed=False),
    Page("/book/revisions", "book.tab_revisions", revisions, listed=False),
    Page("/book/keeping", "book.tab_keeping", keeping, listed=False),
    Page("/book/{entry}", "book.entry_page", entry, listed=False),
)
