"""The pages as a browser sees them: opened, changed, a reading saved, in the demo book and in a large one.

Needs the system's Chromium. Every time is measured in the browser, from what somebody does to the first painting
that shows what they wait for.
"""

import os
import shutil
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote

from large_book import DIMS, PARTS, READINGS, large_book
from playwright.sync_api import Browser, Page, sync_playwright
from served import Held, Process, Served, serving

from loopwright.studies.example_history import open_example
from loopwright.web.pages import every_page

HERE = Path(__file__).resolve().parent
WATCHING = (HERE / "watching.js").read_text("utf-8")
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
# drawn by the processor: a graphics card that is only played by software would be slower than any real one
FLAGS = (
    "--headless --no-sandbox --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --disable-gpu --enable-unsafe-swiftshader"
).split()
ROUNDS = 5
PATIENCE = 60_000
"""Milliseconds that anything may take before it is given up."""
IDLE = 75.0
"""Seconds until long work is over and its process closed."""


@dataclass(frozen=True)
class Case:
    """A book and a reading that is taken of it over and over.

    Attributes:
        title: of the book.
        make: makes it at a path.
        reading: as the API takes it; each time its value is another.
        values: that are taken in turn.
    """

    title: str
    make: Callable[[Path], None]
    reading: dict[str, Any]
    values: tuple[str, ...]


@dataclass
class Found:
    """What was found with one book; seconds.

    Attributes:
        started: from starting the server to its first answer.
        cold: first page of the first browser after that.
        first: first page of browsers that come later, each without anything kept.
        change: from a press in the list of pages to the page, by address.
        saved: from sending a reading to the answer.
        refreshed: from sending a reading to the new numbers of the front page in the same browser.
        entered: from Enter at the bench to the verdict and what it brought.
        second: from sending a reading to the new numbers of the front page in another browser.
        held: the longest that the event loop was held, by what went on.
        memory: of the server's processes when all is done.
    """

    started: float = 0.0
    cold: float = 0.0
    first: list[float] = field(default_factory=list)
    change: dict[str, list[float]] = field(default_factory=dict)
    saved: list[float] = field(default_factory=list)
    refreshed: list[float] = field(default_factory=list)
    entered: list[float] = field(default_factory=list)
    second: list[float] = field(default_factory=list)
    held: dict[str, Held] = field(default_factory=dict)
    memory: list[Process] = field(default_factory=list)


def demo_book(path: Path) -> None:
    """The book of the shipped history."""
    open_example("clock-plate", path).close()


CASES = (
    Case(
        "demo book",
        demo_book,
        {"of": "spindle tram front to back", "unit": "arcsec"},
        ("-3", "-2.5", "-2", "-3.5", "-4"),
    ),
    Case(
        f"{PARTS} parts, {DIMS:,} dims, {READINGS:,} readings",
        large_book,
        {"of": "plate_0/pad_3", "gauge": "micrometer"},
        ("12.001", "12.003", "11.999", "12.002", "11.998"),
    ),
)


def measure_pages(say: Callable[[str], None], rounds: int = ROUNDS) -> dict[str, Found]:
    """Everything, by the title of the book.

    Args:
        say: is told how far it is.
        rounds: how often each is measured.

    Raises:
        SystemExit: there is no Chromium, or a server does not answer.
    """
    if CHROMIUM is None:
        raise SystemExit("the pages are measured in Chromium, and there is none: sudo apt install chromium")
    found = {}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for case in CASES:
            with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
                path = Path(folder) / "machine.book"
                say(f"{case.title}: making the book")
                case.make(path)
                found[case.title] = _of_book(browser, path, case, say, rounds)
        browser.close()
    return found


def _of_book(browser: Browser, path: Path, case: Case, say: Callable[[str], None], rounds: int) -> Found:
    found = Found()
    with serving(path) as served:
        found.started = time.perf_counter() - served.began
        say(f"{case.title}: opening")
        with _held(found, served, "opening"):
            found.cold = _opened(browser, served)
            found.first = [_opened(browser, served) for _ in range(rounds)]
        say(f"{case.title}: changing pages")
        with _window(browser, served) as page, _held(found, served, "changing pages"):
            _change(page, found, rounds)
        say(f"{case.title}: readings")
        with _held(found, served, "readings"):
            with _window(browser, served) as one, _window(browser, served) as other:
                _save(one, other, found, case, rounds)
            _enter(browser, served, found, case, rounds)
        say(f"{case.title}: at rest")
        time.sleep(IDLE)
        found.memory = served.memory()
    return found


@contextmanager
def _held(found: Found, served: Served, what: str) -> Iterator[None]:
    begun = time.time()
    yield
    found.held[what] = served.held(begun)


@contextmanager
def _window(browser: Browser, served: Served, path: str = "/") -> Iterator[Page]:
    """A browser window with nothing kept from before, at a page that is drawn."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, reduced_motion="reduce")
    context.set_default_timeout(PATIENCE)
    context.add_init_script(WATCHING)
    page = context.new_page()
    page.goto(served.address + path, wait_until="commit")
    page.evaluate("() => watched.first")
    yield page
    context.close()


def _opened(browser: Browser, served: Served) -> float:
    """From the beginning of the navigation to the numbers of the front page."""
    with _window(browser, served) as page:
        return float(page.evaluate("() => watched.first")) / 1e3


def _change(page: Page, found: Found, rounds: int) -> None:
    paths = [page.path for page in every_page() if page.listed]
    for _ in range(rounds):
        for path in [*paths[1:], paths[0]]:
            took = float(page.evaluate("path => watched.change(path)", path)) / 1e3
            found.change.setdefault(path, []).append(took)
            page.wait_for_timeout(250)  # what goes on in the page, goes on


def _save(one: Page, other: Page, found: Found, case: Case, rounds: int) -> None:
    for number in range(rounds):
        reading = case.reading | {"values": [[case.values[number % len(case.values)]]]}
        other.evaluate("() => { window.waiting = watched.other(); }")
        took = one.evaluate(
            "reading => watched.save(reading)", reading | {"key": uuid.uuid4().hex, "keep": True}
        )
        found.saved.append(took["saved"] / 1e3)
        found.refreshed.append(took["refreshed"] / 1e3)
        found.second.append((other.evaluate("() => window.waiting") - took["begun"]) / 1e3)
        one.wait_for_timeout(700)


def _enter(browser: Browser, served: Served, found: Found, case: Case, rounds: int) -> None:
    path = f"/bench?of={quote(case.reading['of'], safe='')}"
    for number in range(rounds):
        # each in a window of its own: one that is done with a reading offers the next
        with _window(browser, served, path) as page:
            page.locator("#bench-value").fill(case.values[number % len(case.values)])
            page.evaluate("() => { window.waiting = watched.entered(); }")
            page.locator("#bench-value").press("Enter")
            found.entered.append(float(page.evaluate("() => window.waiting")) / 1e3)


def say(words: str) -> None:
    """A line of progress."""
    sys.stderr.write(words + "\n")


def main() -> None:
    """Measures and prints."""
    from pages_section import section

    rounds, load = int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS, os.getloadavg()[0]
    sys.stdout.write(section(measure_pages(say, rounds), load))


if __name__ == "__main__":
    main()
