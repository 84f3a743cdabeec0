"""Long work is stopped by whoever began it: it says so, holds nobody up meanwhile, and the next can begin."""

import os
import shutil
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from browsers import Served, Window, serving
from loopwright.book import open_book
from loopwright.web.wording import say

Windows = Callable[..., Window]
STOPPED = say("frame.stopped_work")
SLOW = 60_000
"""Milliseconds for what stands back behind all other work of the machine."""
BUSY = 4
"""So many times slower a machine may be that runs other tests too."""
SOON = 600
"""Milliseconds in which a page of a large book is there, alone on a machine."""
ENDED = 6.0
"""Seconds after which no process works any more for what was stopped; one that does not listen is ended after 3."""


@pytest.fixture(scope="module")
def small(demo_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of the invented history."""
    with serving(Path(shutil.copy(demo_archive, tmp_path_factory.mktemp("small")))) as served:
        yield served


@pytest.fixture(scope="module")
def large(large_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of a large book."""
    with serving(Path(shutil.copy(large_archive, tmp_path_factory.mktemp("large")))) as served:
        yield served


def children(served: Served) -> dict[int, str]:
    """Processes that a server has begun, with their command lines (Linux)."""
    found = {}
    for task in Path(f"/proc/{served.process.pid}/task").iterdir():
        for pid in (task / "children").read_text("ascii").split():
            with suppress(OSError):
                found[int(pid)] = Path(f"/proc/{pid}/cmdline").read_text("utf-8")
    return found


def back_room(served: Served) -> int:
    """The process in which long work is done: the only one that is begun anew when it is needed."""
    (found,) = [pid for pid, command in children(served).items() if "spawn_main" in command]
    return found


def used(served: Served) -> float:
    """Seconds of the processor that those have used."""
    ticks = 0
    for pid in children(served):
        with suppress(OSError):
            fields = Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()
            ticks += int(fields[11]) + int(fields[12])
    return ticks / os.sysconf("SC_CLK_TCK")


def comes_to_rest(served: Served) -> bool:
    """Whether nothing is worked at any more, soon after work was stopped."""
    end = time.monotonic() + ENDED
    while time.monotonic() < end:
        before = used(served)
        time.sleep(0.5)
        if used(served) - before < 0.1:
            return True
    return False


def opened(window: Windows, served: Served, path: str, width: int = 1440) -> Page:
    """A page, and whatever it does at once."""
    page = window(width).page
    page.goto(served.address + path)
    page.wait_for_selector("#content h1")
    return page


def goes_on(page: Page) -> None:
    """Work is shown, with a way to stop it."""
    page.locator(".region.long [role=progressbar]").wait_for()


def is_stopped(page: Page) -> None:
    """The button ends it: that is said, and nothing goes on."""
    page.get_by_role("button", name=say("frame.stop"), exact=True).click()
    expect(page.locator(".notice", has_text=STOPPED)).to_be_visible(timeout=1000 * BUSY)
    expect(page.locator(".region.long [role=progressbar]")).to_have_count(0)
    page.locator(".notice button").click()
    expect(page.locator(".notice")).to_have_count(0)


def is_over(page: Page) -> None:
    """What was begun has come to its end."""
    page.wait_for_function("!document.querySelector('.region.long [role=progressbar]')")


TARGET = "/targets/tool%20point"


def test_long_work_holds_nobody_up_and_is_stopped(large: Served, window: Windows) -> None:
    """Twenty seconds of draws of a large machine: its own page and those of others answer meanwhile; stopped, no
    process works on; it can be begun again, and leaving the page stops it too.
    """
    other = window(820).page
    paths = ("/parts", "/book", "/bench", "/")
    for path in paths:
        other.goto(large.address + path)
        other.wait_for_selector("#content h1")
    page = opened(window, large, TARGET)
    page.get_by_role("heading", name=say("target.lower")).wait_for()
    draws = page.get_by_role("button", name=say("target.shaped_draw"))
    draws.click()
    page.locator(".long", has_text="of 16,384").wait_for(timeout=SLOW)
    for path in paths:
        began = time.monotonic()
        other.goto(large.address + path)
        other.wait_for_selector("#content h1")
        assert time.monotonic() - began < BUSY * SOON / 1000, path
    goes_on(page)
    other.goto(f"{large.address}/parts/bracket_001")
    other.get_by_role("button", name=say("conceding.work_out")).click()
    expect(other.locator(".long:not(:empty)")).to_contain_text(say("frame.waits_its_turn"))
    is_stopped(other)
    fold = page.locator("#content details").last
    fold.locator("summary").click()
    expect(fold).to_have_attribute("open", "")
    is_stopped(page)
    assert comes_to_rest(large)
    draws.click()
    goes_on(page)
    page.get_by_role("link", name="Gauges", exact=True).click()
    page.get_by_role("heading", name="Gauges", exact=True).wait_for()
    assert comes_to_rest(large)


def test_the_steps_of_the_fit_up_are_stopped_and_begun_again(small: Served, window: Windows) -> None:
    """They begin by themselves; stopped, the page says what is missing and offers it."""
    page = opened(window, small, "/fit-up")
    goes_on(page)
    is_stopped(page)
    assert comes_to_rest(small)
    page.get_by_role("button", name=say("fit_up.plan_again")).first.click()
    goes_on(page)
    is_over(page)
    page.get_by_role("columnheader", name=say("fit_up.chance")).first.wait_for()


def test_what_a_change_does_is_stopped_and_the_change_stays(small: Served, window: Windows) -> None:
    """Nothing that was typed is lost by stopping."""
    page = opened(window, small, "/description?at=parts/pad_FL")
    _changed(page)
    page.get_by_role("button", name=say("description.effect_do")).click()
    goes_on(page)
    is_stopped(page)
    assert comes_to_rest(small)
    page.get_by_role("button", name=say("description.effect_do")).click()
    is_over(page)
    page.locator("#content table", has_text="hole position").first.wait_for()


def _changed(page: Page) -> None:
    page.wait_for_selector("#description-kept[data-ready]", state="attached")
    page.get_by_label("height", exact=True).first.fill("12 ±0.006")
    page.get_by_label("height", exact=True).first.press("Tab")
    page.goto(page.url.replace("?", "?show=changes&"))
    page.get_by_role("button", name=say("description.effect_do")).wait_for()


def test_a_long_table_is_stopped_and_nothing_of_it_is_entered(
    large: Served, window: Windows, tmp_path: Path
) -> None:
    """Two thousand lines that are held against a large book; the table is still there to be looked over again."""
    assert large.book is not None
    lines = [f"bracket_{part:03d}/size_{size};12.0\n" for part in range(1, 251) for size in range(1, 7)]
    file = tmp_path / "sizes.csv"
    file.write_text("Feature;Reading (mm)\n" + "".join(lines), "utf-8")
    with open_book(large.book) as book:
        before = book.last_number
    page = opened(window, large, "/import")
    page.get_by_label("Table").set_input_files(file)
    page.get_by_role("button", name="Look at it").click()
    page.get_by_label("What Feature holds").select_option("what is measured")
    page.get_by_label("Gauge", exact=True).select_option("micrometer")
    page.get_by_role("button", name="Look over every line").click()
    page.locator(".long", has_text="of 1,500").wait_for()
    page.get_by_role("button", name=say("frame.stop"), exact=True).click()
    expect(page.locator(".notice", has_text=say("import_table.stopped"))).to_be_visible()
    expect(page.locator(".region.long [role=progressbar]")).to_have_count(0)
    assert comes_to_rest(large)
    page.get_by_role("button", name="Look over every line").click()
    goes_on(page)
    with open_book(large.book) as book:
        assert book.last_number == before


# ------------------------------------------------------------------------------------------ while another's goes on
@contextmanager
def held(served: Served, window: Windows) -> Iterator[Page]:
    """Somebody's work that does not come on, as on a machine that is busy; it goes on afterwards."""
    page = opened(window, served, "/targets/hole%20position")
    page.get_by_role("heading", name=say("target.lower")).wait_for()
    page.goto(f"{served.address}/description?at=parts/pad_FL")
    _changed(page)
    room = back_room(served)
    os.kill(room, signal.SIGSTOP)
    try:
        page.get_by_role("button", name=say("description.effect_do")).click()
        goes_on(page)
        yield page
    finally:
        os.kill(room, signal.SIGCONT)


def _what_if(page: Page) -> None:
    page.locator(".what-if-field input, #f-value, form input[type=text]").last.fill("11 µm")
    page.get_by_role("button", name=say("what_if.see")).click()


def _pressed(words: str) -> Callable[[Page], None]:
    def press(page: Page) -> None:
        page.get_by_role("button", name=words, exact=True).first.click()

    return press


def _gauges(page: Page) -> None:
    is_stopped(page)
    page.get_by_role("button", name=say("next.gauges_look"), exact=True).click()


def _by_itself(page: Page) -> None:
    pass


TRAM = "/targets/spindle%20square%20to%20table%2C%20side%20to%20side"
BEGUN: dict[str, tuple[str, Callable[[Page], None], str]] = {
    "a target as designed": (TRAM, _by_itself, say("target.stopped")),
    "what to measure next": ("/next", _by_itself, say("next.stopped")),
    "which gauges": ("/next", _gauges, say("next.gauges_look")),
    "what if": ("/what-if?of=targets/hole%20position/limit", _what_if, say("what_if.stale")),
    "states compared": ("/book/states", _by_itself, say("book.states_anew")),
    "the book looked through": (
        "/book/keeping",
        _pressed(say("book.verify_do")),
        say("book.verify_do"),
    ),
    "which screw goes where": (
        "/bought/ball%20screw",
        _pressed(say("bought.choose")),
        say("bought.places"),
    ),
    "what a table brings": ("/import?from=60&to=62", _by_itself, say("import_table.not_told")),
}
"""Where it is begun, how, and what the page says once it was stopped."""


def test_what_waits_for_its_turn_says_so_and_is_stopped(small: Served, window: Windows) -> None:
    """Whatever page began it; the work that it waited for goes on undisturbed, and then others can begin."""
    page = window().page
    with held(small, window) as first:
        for path, begin, words in BEGUN.values():
            page.goto(small.address + path)
            page.wait_for_selector("#content h1, #content h2")
            begin(page)
            expect(page.locator(".long:not(:empty)")).to_contain_text(say("frame.waits_its_turn"))
            is_stopped(page)
            expect(page.locator("#content")).to_contain_text(words)
        page.goto(f"{small.address}/book/60")
        page.get_by_role("button", name=say("frame.stop"), exact=True).click()
        expect(page.locator("#content")).to_contain_text(STOPPED)
        goes_on(first)
    page.get_by_role("button", name=say("book.effect_again"), exact=True).click()
    is_over(first)
    first.locator("#content table", has_text="hole position").first.wait_for()
    page.get_by_text(say("book.effect_told")).or_(page.get_by_text(say("book.effect_none"))).wait_for()
