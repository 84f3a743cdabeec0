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
LISTED = [page.path for page in every_page() if page.listed]
WIDTHS = (390, 820, 1440)
SCREENS = os.environ.get("LOOPWRIGHT_SCREENS")
"""Folder into which every page is photographed, for the documentation."""


@pytest.fixture(scope="module")
def half_way(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A machine that is being assembled, with something to do on every page."""
    book = tmp_path_factory.mktemp("half") / "clock-plate.book"
    import_archive(HISTORY, book, until=HALF_WAY).close()
    with serving(book) as served:
        yield served


def opened(window: Windows, served: Served, path: str, width: int, *, dark: bool = False) -> Window:
    """A page, drawn to its end."""
    one = window(width, dark=dark)
    one.page.goto(served.address + path)
    one.page.wait_for_selector("#content h1")
    one.page.wait_for_function("!document.querySelector('#content .region > .working')")
    return one


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("path", LISTED)
def test_it_opens_fits_and_is_quiet(half_way: Served, window: Windows, path: str, width: int) -> None:
    """No wider than the screen, no word on the console, no other host asked."""
    one = opened(window, half_way, path, width)
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    if SCREENS and width == max(WIDTHS):
        name = path.strip("/").replace("/", "-") or "standing"
        one.page.screenshot(path=Path(SCREENS) / f"{name}-{width}.png", full_page=width < 1000)
    one.is_clean()


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("path", LISTED)
def test_nothing_serious_keeps_anybody_out(half_way: Served, window: Windows, path: str, dark: bool) -> None:
    """By the rules of axe-core for WCAG 2.2 AA: contrast, names of controls, landmarks, order of headings."""
    one = opened(window, half_way, path, 1440, dark=dark)
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = Axe().run(one.page, options={"runOnly": {"type": "tag", "values": tags}})
    serious = [
        (v["id"], [node["html"][:160] for node in v["nodes"]][:3])
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]
    assert serious == []


@pytest.mark.parametrize("path", LISTED)
def test_it_is_reached_by_keys_alone(half_way: Served, window: Windows, path: str) -> None:
    """The first key leads past the list of pages; every step of it can be seen."""
    one = opened(window, half_way, path, 1440)
    one.page.keyboard.press("Tab")
    assert one.page.evaluate("document.activeElement.className") == "skip"
    one.page.keyboard.press("Tab")
    outline = one.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"


def test_a_page_is_opened_from_the_list_in_the_same_frame(half_way: Served, window: Windows) -> None:
    """By a press, and by the way back of the browser."""
    one = opened(window, half_way, "/", 1440)
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
