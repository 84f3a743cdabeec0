"""A browser, servers of books, and what every page is held to: no word on the console, no other host asked."""

import asyncio
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from loopwright import book as books

HISTORY = (
    Path(__file__).parents[1] / "src" / "loopwright" / "buildfile" / "examples" / "clock-plate-history.txt"
)
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = (
    "--headless --no-sandbox --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --disable-gpu"
).split()
Answer = TypeVar("Answer")
PATIENCE = 20_000
"""Milliseconds that a page has to show what is waited for; a busy machine is slow."""


def finished(work: Coroutine[Any, Any, Answer]) -> Answer:
    """What a coroutine brings, run in a thread of its own: the browser keeps a loop going in the main one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, work).result()


@dataclass
class Served:
    """A running server of one book.

    Attributes:
        address: of its front page, without the slash at the end.
        book: its file; None where it was begun without one.
        folder: in which it was started.
        port: where it listens.
    """

    address: str
    book: Path | None
    folder: Path
    port: int
    options: tuple[str, ...] = ()
    process: "subprocess.Popen[bytes]" = field(init=False)

    def start(self) -> None:
        """Starts the server, and waits until it answers."""
        command = [sys.executable, "-c", "from loopwright.cli import main; main()"]
        # one that collects coverage or warnings of its own would not be the program that a user starts
        env = {k: v for k, v in os.environ.items() if not k.startswith(("PYTEST", "NICEGUI"))}
        book = [] if self.book is None else [str(self.book)]
        asked = ["serve", *book, "--port", str(self.port), "--no-browser", "--who", "Ada"]
        with (self.folder / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [*command, *asked, *self.options],
                cwd=self.folder,
                env=env,
                stdout=subprocess.DEVNULL,
                stderr=log,
            )
        self.wait()

    def wait(self) -> None:
        """Waits until the server answers."""
        end = time.monotonic() + 60
        while time.monotonic() < end:
            try:
                urllib.request.urlopen(f"{self.address}/assets/style.css", timeout=5).close()
                return
            except OSError:
                assert self.process.poll() is None, (self.folder / "server.log").read_text("utf-8")
                time.sleep(0.05)
        raise AssertionError("the server does not answer")

    def stop(self, *, kill: bool = False) -> None:
        """Stops the server; ``kill`` as a power cut would."""
        if self.process.poll() is None:
            self.process.kill() if kill else self.process.terminate()
            self.process.wait(20)


def free_port() -> int:
    """A port that nobody uses now."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port: int = trial.getsockname()[1]
        return port


@contextmanager
def serving(book: Path | None, *options: str, folder: Path | None = None) -> Iterator[Served]:
    """A server of a book, or of none in a folder, stopped afterwards."""
    port = free_port()
    place = folder or (book.parent if book is not None else Path.cwd())
    served = Served(f"http://localhost:{port}", book, place, port, options)
    served.start()
    try:
        yield served
    finally:
        served.stop()


@pytest.fixture(scope="session")
def demo_archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The book of the invented history, made once; to be copied, not written in."""
    path = tmp_path_factory.mktemp("demo") / "clock-plate.book"
    books.import_archive(HISTORY, path).close()
    return path


@pytest.fixture(scope="session")
def large_archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of 300 parts, 2,000 dims and 5,000 readings, made once; to be copied, not written in."""
    benchmarks = str(Path(__file__).parents[1] / "benchmarks")
    sys.path.append(benchmarks)
    try:
        from large_book import large_book
    finally:
        sys.path.remove(benchmarks)
    path = tmp_path_factory.mktemp("large") / "large.book"
    large_book(path)
    return path


@pytest.fixture
def demo_book(demo_archive: Path, tmp_path: Path) -> Path:
    """A book of the invented history, for one test."""
    return Path(shutil.copy(demo_archive, tmp_path / "clock-plate.book"))


@pytest.fixture
def demo(demo_book: Path) -> Iterator[Served]:
    """A server of the invented history, for one test that writes in it."""
    with serving(demo_book) as served:
        yield served


@pytest.fixture(scope="session")
def shown(demo_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of the invented history, for tests that only look."""
    with serving(
        Path(shutil.copy(demo_archive, tmp_path_factory.mktemp("shown") / "clock-plate.book"))
    ) as served:
        yield served


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The system's Chromium."""
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield found
        found.close()


@dataclass
class Window:
    """A browser window that notes what should not happen.

    Attributes:
        context: with cookies of its own.
        page: its page.
        said: errors and warnings on the console, and errors in scripts.
        hosts: every host that was asked for something.
    """

    context: BrowserContext
    page: Page
    said: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.page.set_default_timeout(PATIENCE)
        self.page.on(
            "console", lambda m: self.said.append(m.text) if m.type in ("error", "warning") else None
        )
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on(
            "request", lambda request: self.hosts.add(re.sub(r"^\w+://([^/:]*).*", r"\1", request.url))
        )

    def is_clean(self) -> None:
        """Nothing was said on the console, and nobody but the server was asked."""
        assert self.said == []
        assert {host for host in self.hosts if not host.startswith(("data", "blob"))} <= {
            "localhost",
            "127.0.0.1",
        }


@pytest.fixture
def window(browser: Browser) -> Iterator[Callable[..., Window]]:
    """Opens windows: ``window(width=1440, height=900, dark=False)``; each must be clean when the test ends."""
    opened: list[Window] = []

    def make(width: int = 1440, height: int = 900, *, dark: bool = False, touch: bool = False) -> Window:
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            has_touch=touch,
            reduced_motion="reduce",
        )
        opened.append(Window(context, context.new_page()))
        return opened[-1]

    yield make
    for one in opened:
        one.context.close()


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """Tests that need a browser are not collected where there is none; the summary says so."""
    without = CHROMIUM is None and collection_path.parent.name == "web" and collection_path.suffix == ".py"
    return True if without else None
