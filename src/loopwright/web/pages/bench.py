"""The bench: readings are chosen and typed here."""

from typing import Any
from urllib.parse import quote

from loopwright.model.records import Withdrawal
from loopwright.sheets.markup import Markup
from loopwright.studies.evaluating_forms import Given
from loopwright.web.api_work import warm
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.limited import limited
from loopwright.web.pages import Page
from loopwright.web.table_sent import raw_columns
from loopwright.web.uploads import plain_name
from loopwright.web.views import bench as views
from loopwright.web.views import bench_evaluate as evaluating
from loopwright.web.views import bench_evaluate_table as raw_tables
from loopwright.web.views import bench_sheet
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

ASKS = ("of", "against", "item", "kind", "part", "parts", "step", "again", "next")


async def bench(desk: Desk) -> None:
    """What to read, or the sheet on which it is typed."""
    asked = {name: desk.query[name] for name in ASKS if desk.query.get(name)}
    if asked:
        await _reading(desk, asked)
    else:
        await _choosing(desk)


async def _choosing(desk: Desk) -> None:
    by = desk.query.get("by", "next")
    listed = await desk.region(views.choosing, by, desk.query.get("find", ""), desk.query.get("page", ""))

    async def find(act: Act) -> None:
        await desk.redraw(listed, by, act.text("words")[:200])

    async def item(act: Act) -> None:
        serial, kind = act.text(f"item-{act.text('place')}"), act.text("kind")
        if serial:
            desk.go(f"/bench?kind={quote(kind, safe='')}&item={quote(serial, safe='')}")

    desk.on("bench_find", find, role="read")
    desk.on("bench_item", item)


async def _reading(desk: Desk, asked: dict[str, str]) -> None:
    await desk.region(bench_sheet.live)
    await desk.still(views.reading, asked)

    async def withdraw(act: Act) -> None:
        number = await desk.ask(withdrawn, int(act.text("entry")), act.text("why"), act.key)
        await desk.hub.changed(number)
        desk.notice(say("bench.withdrawn", number=act.text("entry")))
        desk.go("/bench")

    desk.on("bench_withdraw", withdraw)
    await desk.ask(warm)


async def evaluations(desk: Desk) -> None:
    """Every evaluation of raw readings."""
    await desk.region(evaluating.listing)


class _RawTable:
    """Raw readings from a table: sent, read in bounds, and put into the form.

    Args:
        desk: of the page.
        what: the evaluation.
    """

    def __init__(self, desk: Desk, what: str) -> None:
        self.desk, self.what, self.turn = desk, what, 0
        self.token, self.file = "", ""

    async def build(self) -> None:
        """Puts the way to give a table, and the form below it, on the page."""
        desk = self.desk
        await desk.still(evaluating.title, self.what)
        await desk.still(raw_tables.offering, self.what)
        self.told = await desk.still(raw_tables.taken, self.what, None)
        self.form = await desk.still(evaluating.asking, self.what, bool(desk.query.get("example")))
        desk.on("evaluate_table", self._sent)
        desk.on("evaluate_columns", self._said)

    async def _sent(self, act: Act) -> None:
        self.token, self.file = act.text("token"), plain_name(act.text("name"), "table.csv")
        await self._read({}, await self.desk.ask(raw_tables.known_columns, self.what))

    async def _said(self, act: Act) -> None:
        said = {name.partition("/")[2].replace("_", " "): act.text(name) for name in act.fields}
        await self._read({name: heading for name, heading in said.items() if heading}, None)

    async def _read(self, headings: dict[str, str], known: dict[str, object] | None) -> None:
        path = self.desk.shelf.uploads.take(self.token, "readings")
        found = await limited(raw_columns, str(path), self.what, headings, known, self.file)
        await self.desk.redraw(self.told, self.what, found)
        if not found.problems:
            self.turn += 1
            await self.desk.redraw(self.form, self.what, False, found, self.turn)


async def evaluate(desk: Desk, what: str) -> None:
    """One evaluation: its form, what comes of it, and the way into the book."""
    await _RawTable(desk, what).build()
    place = await desk.still(evaluating.answer, None)
    asked: dict[str, Any] = {}

    async def work_out(act: Act) -> None:
        given = await desk.ask(_given, {name: act.text(name) for name in act.fields}, what)
        asked["given"] = given
        await desk.redraw(place, given)

    async def record(act: Act) -> None:
        asked["said"] = {name: act.text(name) for name in ("of", "take", "item", "opposite")}
        asked["said"]["note"] = act.text("entry_note")
        asked["key"] = act.key
        await enter(keep=False)

    async def keep(act: Act) -> None:
        await enter(keep=True)

    async def enter(*, keep: bool) -> None:
        number, shown = await desk.ask(evaluating.entered, asked["given"], asked["said"], asked["key"], keep)
        came.show(shown)
        if number:
            desk.notice(say("evaluate.entered", number=number))
            await desk.hub.changed(number)

    came = Region(Markup(), tag="div", class_="region")
    desk.on("evaluate", work_out, role="read")
    desk.on("evaluate_enter", record)
    desk.on("evaluate_keep", keep)


def _given(work: Work, reader: Reader, fields: dict[str, str], what: str) -> Given:
    return evaluating.given_of(fields, what)


def withdrawn(work: Work, reader: Reader, entry: int, why: str, key: str) -> int:
    """Enters that a reading no longer counts; the number of that entry."""
    written = work.book.append(
        Withdrawal(reason=why or say("bench.no_reason")),
        who=reader.who or say("frame.nobody"),
        station=reader.station,
        key=key or None,
        supersedes=entry,
        seen=work.bench.last,
    )
    return written.entry.number


PAGES = (
    Page("/bench", "bench.title", bench, letter="b", role="record"),
    Page("/bench/evaluate", "evaluate.title", evaluations, listed=False),
    Page("/bench/evaluate/{what}", "evaluate.title", evaluate, listed=False),
)
