"""Sheets of the shop made in the back room, and handed to the browser as a file."""

import asyncio
import re
import secrets
import shutil
import tempfile
import zipfile
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from nicegui import ui

from loopwright.sheets.paper import PAPERS
from loopwright.sheets.printing import Asked, printed
from loopwright.studies.shop_lists import made_parts
from loopwright.web.desk import Desk
from loopwright.web.longwork import LongWork
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

PREFIX = "loopwright-sheets-"
ADDRESS = "/sheet-files"
WAITING: dict[str, Path] = {}
"""Files that were made and not yet fetched, by a name that nobody can guess; fetched once, a file is gone."""


@dataclass(frozen=True)
class Order:
    """What somebody asks to print.

    Attributes:
        kinds: of sheets; empty for all.
        parts: names; empty for all that are open.
        paper: name of it.
        units: 'inch', 'metric' or 'both'; '' for those of the build.
    """

    kinds: tuple[str, ...]
    parts: tuple[str, ...] = ()
    paper: str = "a4"
    units: str = ""


@dataclass(frozen=True)
class Made:
    """What was printed.

    Attributes:
        path: of the file; '' where there is nothing to print.
        name: that the browser gives it.
        kinds: of its sheets, with the pages of each.
        lacking: kinds of which there is nothing to print, and why.
    """

    path: str
    name: str
    kinds: tuple[tuple[str, int], ...]
    lacking: tuple[tuple[str, str], ...]


class Printing:
    """The printing of one page.

    Args:
        desk: of the page.
        working: what is said while it goes on.
    """

    def __init__(self, desk: Desk, working: str) -> None:
        self.desk = desk
        self._work = LongWork(desk, "printing", working)

    def begin(self, order: Order) -> None:
        """Makes the sheets, and hands them over."""
        self.desk.begin("printing", self._print(order))

    async def _print(self, order: Order) -> None:
        made: Made | None = await self._work.answer(sheets_made, order)
        if made is None:
            return
        if made.path:
            token = secrets.token_urlsafe(24)
            WAITING[token] = Path(made.path)
            self.desk.client.on_delete(partial(_put_away, token))
            ui.download.from_url(f"{ADDRESS}/{token}", made.name)
        lacking = [
            say("shop_sheets.nothing", kind=say(f"shop_sheets.kind.{kind}"), why=why)
            for kind, why in made.lacking
        ]
        pages = sum(count for _, count in made.kinds)
        told = [plural("shop_sheets.made", pages, name=made.name)] if made.path else []
        self.desk.notice(" ".join([*told, *lacking]), kind="done" if made.path else "told")


def _put_away(token: str) -> None:
    """Removes a file that nobody fetched, once the page that asked for it is gone."""
    path = WAITING.pop(token, None)
    if path is not None:
        asyncio.get_running_loop().run_in_executor(
            None, partial(shutil.rmtree, path.parent, ignore_errors=True)
        )


# in the workroom


def sheets_made(work: Work, reader: Reader, order: Order, telling: Telling) -> Made:
    """The sheets that are asked for, as one PDF, or several kinds packed into one file; long."""
    bench = work.bench
    build, finished = bench.build, made_parts(bench)
    asked = Asked(
        order.kinds, order.parts, PAPERS[order.paper], order.units or None, booked=True, finished=finished
    )
    if not order.parts and finished:
        asked = replace(asked, parts=tuple(name for name in build.parts if name not in finished))
    found = list(printed(build, asked, progress=telling.progress, cancelled=telling.cancelled))
    files = [one for one in found if one.pdf]
    lacking = tuple((one.kind, one.why) for one in found if one.why)
    if not files:
        return Made("", "", (), lacking)
    of = order.parts[0] if len(order.parts) == 1 else ""
    names = [_file_name(build.name, of, one.kind) for one in files]
    folder = Path(tempfile.mkdtemp(prefix=PREFIX))
    if len(files) == 1:
        name = names[0]
        (folder / name).write_bytes(files[0].pdf)
    else:
        name = _file_name(build.name, of, "sheets", "zip")
        with zipfile.ZipFile(folder / name, "w") as packed:
            for inside, one in zip(names, files):
                packed.writestr(inside, one.pdf)
    return Made(str(folder / name), name, tuple((one.kind, one.pages) for one in files), lacking)


def _file_name(build: str, part: str, kind: str, ending: str = "pdf") -> str:
    """What a file is called.

    >>> _file_name("Clock-plate drilling machine", "", "saw")
    'clock-plate-drilling-machine-saw.pdf'
    """
    words = "-".join(filter(None, (build, part, kind)))
    return f"{re.sub(r'[^a-z0-9]+', '-', words.lower()).strip('-')[:90] or 'sheets'}.{ending}"
