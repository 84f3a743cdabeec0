"""Readings from a table: chosen, its columns said, looked over, and entered as a whole or not at all."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from loopwright.errors import LoopwrightError, Problem, RequestError
from loopwright.measuring.table_look import Laying
from loopwright.studies.effect import TargetEffect
from loopwright.studies.table_entering import (
    LookedOver,
    Twins,
    columns_kept,
    enter_table,
    look_over,
    table_brought,
)
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.limited import limited
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.table_said import Said, mapping_of
from loopwright.web.table_sent import read, rows_of, seen
from loopwright.web.uploads import plain_name
from loopwright.web.views import import_looked as looked_views
from loopwright.web.views import import_table as views
from loopwright.web.views.saying import refusal
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

TO_READINGS = "document.querySelector('#import-wrong, #import-looked')?.scrollIntoView()"
ROWS = "rows"
"""Kind of the files that hold the readings of a table."""


async def import_table(desk: Desk) -> None:
    """The page, at whatever is done with a table: its address says which table, or which entries came of one."""
    desk.on("import_table", lambda act: _sent(desk, act))
    token = desk.query.get("file", "")
    if token:
        await _Table(desk, token).build()
        return
    entered = [desk.query.get(name, "") for name in ("from", "to", "without")]
    if entered[0].isdecimal() and entered[1].isdecimal():
        await _entered(desk, *(int(one) if one.isdecimal() else 0 for one in entered))
        return
    await desk.still(views.choosing)


async def _sent(desk: Desk, act: Act) -> None:
    """A table is here; from now on its token stands in the address."""
    token = act.text("token")
    desk.shelf.uploads.take(token, "readings")
    desk.shelf.uploads.remember(token, Said(plain_name(act.text("name"), "table.csv")))
    desk.go(f"/import?file={token}")


class _Table:
    """One table on its way; what is said of it is kept with it, so that a page that is loaded anew goes on.

    Args:
        desk: of the page.
        token: of the table.
    """

    def __init__(self, desk: Desk, token: str) -> None:
        self.desk, self.token = desk, token
        self.uploads = desk.shelf.uploads
        self.show, self.first = "all", 0

    @property
    def said(self) -> Said:
        """What was said of the table so far.

        Raises:
            RequestError: it is no longer here.
        """
        self.path  # noqa: B018 - it says so
        found = self.uploads.remembered(self.token)
        return found if isinstance(found, Said) else Said("table.csv")

    @property
    def path(self) -> Path:
        """Where the table lies."""
        return self.uploads.take(self.token, "readings")

    def say(self, **what: Any) -> Said:
        """Keeps what was said."""
        said = replace(self.said, **what)
        self.uploads.remember(self.token, said)
        return said

    async def build(self) -> None:
        """Puts the page together."""
        desk = self.desk
        try:
            said = self.said if self.said.look is not None else await self._look(None, None)
        except LoopwrightError as error:
            desk.note(error)
            Region(refusal(error), tag="div", class_="region")
            await desk.still(views.choosing)
            return
        self.form = await desk.still(views.columns_form, said)
        self.working = LongWork(desk, "table", say("import_table.looking"), self._stopped)
        self.listed = await desk.region(looked_views.looked, self.token, self.show, self.first)
        for name in ("said", "base", "laying", "look", "show", "enter"):
            desk.on(f"import_{name}", getattr(self, f"_{name}_act"))
        if said.looked is not None and not await desk.ask(is_told, self.token):
            desk.begin("table", self._work())

    # what its columns hold

    async def _look(self, base: str | None, laying: Laying | None) -> Said:
        """Looks at the table, and fills the form in as the kept columns or a guess say."""
        kept = await self.desk.ask(views.kept_columns)
        look = await limited(seen, str(self.path), kept, base, laying)
        chosen = next(iter(look.fitting), "") if base is None else base
        fields = await self.desk.ask(views.begun, look, chosen)
        return self.say(look=look, base=chosen, fields=fields, anew=self.said.anew + 1, looked=None)

    async def _anew(self) -> None:
        """Draws the form anew; what was looked over before no longer holds."""
        await self.desk.ask(forget, self.token)
        await self.desk.redraw(self.form, self.said)
        await self.desk.redraw(self.listed, self.token, "all", 0)

    async def _said_act(self, act: Act) -> None:
        """Something was chosen or typed in the form: kept, should the page be loaded anew."""
        self.say(fields={name: act.text(name) for name in act.fields})

    async def _base_act(self, act: Act) -> None:
        await self._look(act.text("base"), None)
        await self._anew()

    async def _laying_act(self, act: Act) -> None:
        header = act.text("header")
        if not header.isdecimal() or len(header) > 6:
            raise RequestError(say("import_table.header_wrong"), say("import_table.header_wrong_remedy"))
        sign = next((sign for sign, name in views.SIGNS.items() if name == act.text("delimiter")), ",")
        encoding = act.text("encoding") if act.text("encoding") in views.ENCODINGS else "utf-8"
        await self._look(self.said.base or "", Laying(sign, int(header), encoding))
        await self._anew()

    # looked over

    async def _look_act(self, act: Act) -> None:
        fields = {name: act.text(name) for name in act.fields}
        said = self.say(fields=fields, looked=None)
        assert said.look is not None
        mapping_of(said.look, fields)  # says at once what is missing
        self.say(looked=fields)
        await self.desk.ask(forget, self.token)
        self.desk.begin("table", self._work())

    async def _show_act(self, act: Act) -> None:
        place = act.text("place")
        self.show, self.first = act.text("show"), int(place) if place.isdecimal() and len(place) < 9 else 0
        await self.desk.redraw(self.listed, self.token, self.show, self.first)

    async def _work(self) -> None:
        """Reads the table in bounds, holds its readings against the book, and shows them."""
        self.working.label = say("import_table.looking")
        table = await self._read()
        found = await self.working.answer(look, self.token, table)
        if found is not None:
            await self.desk.ask(keep, self.token, found)
            self.show, self.first = "doubted" if found.counts.doubted else "all", 0
            await self.desk.redraw(self.listed, self.token, self.show, self.first)
            self.desk.client.run_javascript(TO_READINGS)

    def _columns(self) -> dict[str, Any]:
        """The columns with which the table was looked over."""
        said = self.said
        assert said.look is not None
        return mapping_of(said.look, said.looked or {}).to_dict()

    async def _read(self) -> "Table":
        """The readings of the table in a file of ours, read in bounds where that is not there any more."""
        said = self.said
        try:
            rows = self.uploads.take(said.rows, ROWS)
        except RequestError:
            token, rows = self.uploads.begin(ROWS)
            _, problems = await limited(read, str(self.path), self._columns(), said.file, str(rows))
            said = self.say(rows=token, problems=problems)
        return Table(str(rows), said.problems, said.file, (said.looked or {}).get("from_nominal") == "on")

    async def _stopped(self) -> None:
        self.say(looked=None)
        await self.desk.ask(forget, self.token)
        await self.desk.redraw(self.listed, self.token, "all", 0)
        self.desk.notice(say("import_table.stopped"), kind="told")

    # entered

    async def _enter_act(self, act: Act) -> None:
        said = self.said
        if said.looked != said.fields:
            raise RequestError(say("import_table.changed"), say("import_table.changed_remedy"))
        how = How(
            said.fields.get("name", "").strip() or views.PLAIN,
            self._columns(),
            act.text("keep") == "on",
            act.text("twins"),
            act.key,
        )
        self.desk.begin("table", self._enter(how))

    async def _enter(self, how: "How") -> None:
        self.working.label = say("import_table.entering")
        made = await self.working.answer(enter, self.token, await self._read(), how)
        if made is None:
            return
        first, last, left_out = made
        await self.desk.ask(forget, self.token)
        self.uploads.drop(self.said.rows)
        self.uploads.drop(self.token)
        await self.desk.hub.changed(last)
        self.desk.go(f"/import?from={first}&to={last}&without={left_out}")


async def _entered(desk: Desk, first: int, last: int, left_out: int) -> None:
    """What came of a table, and what that brought, which takes a while."""
    await desk.still(views.heading)
    sheet = await desk.still(looked_views.entered, first, last, left_out, None, False)

    async def stopped() -> None:
        await desk.redraw(sheet, first, last, left_out, None, True)

    bringing = LongWork(desk, "bringing", say("import_table.bringing"), stopped)

    async def work() -> None:
        found = await bringing.answer(brought, first, last)
        await desk.redraw(sheet, first, last, left_out, found, True)

    desk.begin("bringing", work())


# in the workroom


@dataclass(frozen=True)
class Table:
    """A table as the workroom takes it.

    Attributes:
        rows: file that holds its readings.
        problems: of lines that gave none.
        file: what it is called.
        from_nominal: values of dims are deviations from nominal.
    """

    rows: str
    problems: tuple[Problem, ...]
    file: str
    from_nominal: bool


@dataclass(frozen=True)
class How:
    """How a table is entered.

    Attributes:
        name: under which its columns are kept.
        columns: as they are kept.
        keep: readings that surprise are right.
        twins: what becomes of readings that are in the book already.
        key: names what is entered.
    """

    name: str
    columns: dict[str, Any]
    keep: bool
    twins: str
    key: str


def look(work: Work, reader: Reader, token: str, table: Table, telling: Telling) -> looked_views.Told:
    """Holds a table against the book; long. What came of it is kept, so that entering it need not begin anew."""
    return looked_views.told(work.shown(reader), table.file, _looked(work, token, table, telling))


def _looked(work: Work, token: str, table: Table, telling: Telling) -> LookedOver:
    key = ("looked", token, table)
    found: LookedOver | None = work.lasting.get(key)
    if found is not None and found.last == work.bench.last:
        return found
    for old in [old for old in work.lasting if isinstance(old, tuple) and old[0] == "looked"]:
        del work.lasting[old]
    found = work.lasting[key] = look_over(
        work.bench,
        rows_of(table.rows),
        table.problems,
        file=table.file,
        from_nominal=table.from_nominal,
        progress=telling.progress,
        cancel=telling.cancelled,
    )
    return found


def enter(
    work: Work, reader: Reader, token: str, table: Table, how: How, telling: Telling
) -> tuple[int, int, int]:
    """Enters a table, looked over once more where the book went on; first and last entry, how many were left out."""
    found = _looked(work, token, table, telling)
    kept = columns_kept(work.bench).get(how.name)
    twins: Twins = (
        "leave out" if how.twins == "leave out" else "once more" if how.twins == "once more" else ""
    )
    written = enter_table(
        work.book,
        found,
        columns=None if kept == how.columns else (how.name, how.columns),
        who=reader.who or say("frame.nobody"),
        station=reader.station,
        key=how.key,
        keep=how.keep,
        twins=twins,
    )
    numbers = [one.entry.number for one in written]
    return min(numbers), max(numbers), len(found.found.lines) - len(numbers)


def brought(work: Work, reader: Reader, first: int, last: int, telling: Telling) -> tuple[TargetEffect, ...]:
    """What the entries of a table brought; long."""
    return table_brought(work.book, first, last)[1]


def is_told(work: Work, reader: Reader, token: str) -> bool:
    """Whether a table was looked over."""
    return looked_views.table_key(token) in work.lasting


def keep(work: Work, reader: Reader, token: str, found: looked_views.Told) -> None:
    """Keeps what is shown of a table, besides those of a few others."""
    tables = [key for key in work.lasting if isinstance(key, tuple) and key[0] == "table"]
    for key in tables[:-3]:
        del work.lasting[key]
    work.lasting[looked_views.table_key(token)] = found


def forget(work: Work, reader: Reader, token: str) -> None:
    """What was shown of a table no longer holds."""
    work.lasting.pop(looked_views.table_key(token), None)


PAGES = (Page("/import", "import_table.title", import_table, listed=False, role="record"),)
