"""What every page is held to: it opens at every width, says nothing on the console, and anybody can use it."""

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import HISTORY, Served, Window, serving
from loopwright.book import import_archive
from loopwright.studies.beginning import HALF_WAY
from loopwright.web import wording
from loopwright.web.pages import every_page

Windows = Callable[..., Window]

ROOT = Path(__file__).parents[3]
WEB = ROOT / "src" / "loopwright" / "web"
WIDTHS = (390, 820, 1440)
HALF, WHOLE = "half-way", "whole"
KINDS = {
    "target": "/targets/hole%20position",
    "part": "/parts/column",
    "route": "/parts/column/route",
    "chart": "/parts/column/chart",
    "stock-to-leave": "/parts/column/stock",
    "cutting": "/parts/column/cutting",
    "sheets-of-a-part": "/parts/column/sheets",
    "step": "/fit-up/7",
    "adjuster": "/fit-up?set=Y_nut_spacer%2Fthickness",
    "screw": "/fit-up/screws?of=Y%20slide%2Fdrive",
    "reading": "/bench?of=column%2FZ_seat_left",
    "readings-of-a-step": "/bench?step=7",
    "bench-by-part": "/bench?by=part",
    "evaluations": "/bench/evaluate",
    "evaluation": "/bench/evaluate/straightness?example=1",
    "joint": "/machine/X%20slide",
    "what-if-changed": "/what-if?of=parts%2Fcolumn%2Fdims%2Ffoot_lean",
    "statement": "/description?at=parts%2Fpad_FL",
    "text": "/description?show=text",
    "gauge": "/gauges/precision%20level",
    "entry": "/book/46",
    "revisions": "/book/revisions",
    "keeping": "/book/keeping",
    "table": "/import",
    "guided-start": "/start/guided",
    "labels": "/labels",
    "short-address": "/a/none",
    "blanks": "/making/blanks",
    "machines": "/making/machines",
    "change-of-route": "/making/change",
    "shop-sheets": "/making/sheets",
}
"""A page of every kind that no list shows, by the name under which it is photographed."""
KINDS_OF_WHOLE = {
    "bought-choice": "/bought/ball%20screw",
    "states": "/book/states",
    "state": "/book/76",
    "concession": "/book/31",
}
"""Those that need a book of the whole history."""
LISTED = {page.path.strip("/") or "standing": page.path for page in every_page() if page.listed}
PAGES = {
    **{name: (HALF, path) for name, path in (LISTED | KINDS).items()},
    **{name: (WHOLE, path) for name, path in KINDS_OF_WHOLE.items()},
}
SCREENS = os.environ.get("LOOPWRIGHT_SCREENS")
"""Folder into which every page is photographed at every width, as NAME-WIDTH.png."""
DRAWN = """
    !document.querySelector('#content .region > .working')
    && !document.querySelector('.region.long [role=progressbar]')
"""
WITHOUT_FOLDERS = """(folders) => {
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) for (const one of folders)
        texts.currentNode.data = texts.currentNode.data.replaceAll(one, "~/machines");
}"""


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory, shown: Served) -> Iterator[dict[str, Served]]:
    """A machine that is being assembled, with something to do on every page, and one that is done."""
    book = tmp_path_factory.mktemp("half") / "clock-plate.book"
    import_archive(HISTORY, book, until=HALF_WAY).close()
    with serving(book) as served:
        yield {HALF: served, WHOLE: shown}


def show(one: Window, books: dict[str, Served], name: str) -> None:
    """Opens a page, and waits until it is drawn to its end."""
    which, path = PAGES[name]
    one.page.goto(books[which].address + path)
    one.page.wait_for_selector("#content h1")
    one.page.wait_for_function(DRAWN)


def test_a_page_of_every_kind_is_among_them() -> None:
    """Also of those whose address holds a name."""
    paths = [path.partition("?")[0] for _, path in PAGES.values()]
    for page in every_page():
        pattern = re.compile(re.sub(r"\{\w+\}", "[^/]+", page.path), re.IGNORECASE)
        assert any(pattern.fullmatch(path) for path in paths), page.path


@pytest.mark.parametrize("name", PAGES)
def test_it_opens_fits_and_is_quiet(books: dict[str, Served], window: Windows, name: str) -> None:
    """No wider than the screen, no word on the console, no other host asked, nothing serious for who cannot see it;
    photographed where that is asked for.
    """
    one = window()
    for width in WIDTHS:
        one.page.set_viewport_size({"width": width, "height": 900})
        show(one, books, name)
        assert one.page.evaluate("document.documentElement.scrollWidth") <= width
        assert one.page.locator("#content .refusal").count() == 0
        if SCREENS:
            photograph(one, books, Path(SCREENS) / f"{name}-{width}.png", whole=width < 1000)
    for look in ("light", "dark"):
        one.page.emulate_media(color_scheme=look)
        assert serious(one) == [], look
    one.is_clean()


def photograph(one: Window, books: dict[str, Served], file: Path, *, whole: bool) -> None:
    """Takes a picture, without the folder in which the book of a test happens to lie."""
    folders = [str(served.folder) for served in books.values()]
    one.page.evaluate(WITHOUT_FOLDERS, folders)
    one.page.screenshot(path=file, full_page=whole)


def serious(one: Window) -> list[tuple[str, list[str]]]:
    """What keeps somebody out, by the rules of axe-core for WCAG 2.2 AA: contrast, names of controls, landmarks."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = Axe().run(one.page, options={"runOnly": {"type": "tag", "values": tags}})
    return [
        (v["id"], [node["html"][:160] for node in v["nodes"]][:3])
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]


@pytest.mark.parametrize("name", LISTED)
def test_it_is_reached_by_keys_alone(books: dict[str, Served], window: Windows, name: str) -> None:
    """The first key leads past the list of pages; every step of it can be seen."""
    one = window()
    show(one, books, name)
    one.page.keyboard.press("Tab")
    assert one.page.evaluate("document.activeElement.className") == "skip"
    one.page.keyboard.press("Tab")
    outline = one.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"


def test_a_page_is_opened_from_the_list_in_the_same_frame(books: dict[str, Served], window: Windows) -> None:
    """By a press, and by the way back of the browser."""
    one = window()
    show(one, books, "standing")
    one.page.evaluate("window.stays = true")
    one.page.get_by_role("link", name="People").click()
    one.page.get_by_role("heading", name="People", exact=True).wait_for()
    one.page.go_back()
    one.page.get_by_role("heading", name=wording.say("standing.title"), exact=True).wait_for()
    assert one.page.evaluate("window.stays") is True


CALLED = re.compile(r"""\b(?:say|plural)\(\s*f?["']([a-z_]+\.[^"']+)["']""")


def test_every_text_is_there_and_every_one_is_used() -> None:
    """A page that asks for a text that nobody wrote would fail before its reader."""
    source = "\n".join(path.read_text("utf-8") for path in WEB.rglob("*.py"))
    asked = set(CALLED.findall(source))
    open_ended = [re.compile(re.sub(r"\\\{.*?\\\}", ".+", re.escape(key)) + "(_one)?$") for key in asked]
    known = wording.keys()
    missing = {key for key in asked if "{" not in key and key not in known}
    mentioned = {key for key in known if f'"{key}"' in source or f"'{key}'" in source}
    unused = {key for key in known - mentioned if not any(pattern.match(key) for pattern in open_ended)}
    assert (missing, unused) == (set(), set())
