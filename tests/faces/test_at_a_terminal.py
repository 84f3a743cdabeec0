"""Recording at a real terminal (a pseudo-terminal): the program asks, and Enter comes after each value."""

import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from commands import run
from loopwright.book import open_book
from loopwright.buildfile import examples
from loopwright.model.records import Reading

VALUES = ["3", "1", "4", "2", "1", "0", "2", "1", "3"]
AT_THE_TERMINAL = """
import fcntl, sys, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
from loopwright.cli import main
main()
"""
"""Makes the terminal the one whose Ctrl-C it hears, then is the program."""


class Terminal:
    """The program at a terminal, with somebody who reads what it shows and types."""

    def __init__(self, *words: str) -> None:
        self.ours, theirs = os.openpty()
        self.seen = ""
        self.process = subprocess.Popen(
            [sys.executable, "-c", AT_THE_TERMINAL, *words],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
        )
        os.close(theirs)

    def wait_for(self, text: str, seconds: float = 60) -> None:
        """Reads until something is shown, and forgets what was shown before the end of it."""
        end = time.monotonic() + seconds
        while text not in self.seen:
            ready, _, _ = select.select([self.ours], [], [], max(end - time.monotonic(), 0))
            assert ready, f"'{text}' was not shown, but: {self.seen}"
            try:
                more = os.read(self.ours, 4096)
            except OSError:  # Linux says so when the other side is closed
                more = b""
            assert more, f"it ended without '{text}': {self.seen}"
            self.seen += more.decode("utf-8", "replace")
        self.seen = self.seen.partition(text)[2]

    def type(self, keys: str) -> None:
        """Types; the key Enter is a carriage return."""
        os.write(self.ours, keys.encode())

    def status(self) -> int:
        """Waits for the end."""
        return self.process.wait(60)

    def close(self) -> None:
        """Ends it, if it has not ended."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
        os.close(self.ours)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the book of the clock-plate machine, and Ada at the bench."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.delenv("LOOPWRIGHT_BOOK", raising=False)
    Path("drill.yaml").write_text(examples.text("clock-plate"), "utf-8")
    assert run("book", "new", "drill.yaml").code == 0
    return tmp_path


@pytest.fixture
def terminal(shop: Path) -> Iterator[Terminal]:
    """Somebody is about to record a sweep."""
    opened = Terminal("record", "X straight in Y")
    yield opened
    opened.close()


def typed() -> list[tuple[tuple[str, ...], ...]]:
    """Every reading of the book, as it was typed."""
    with open_book("drill.book") as book:
        return [e.record.typed for e in book.standing("reading") if isinstance(e.record, Reading)]


if sys.platform != "win32":  # which has no such terminals

    def test_values_are_asked_for_and_typed_one_by_one(terminal: Terminal) -> None:
        """Each pose is asked for by its position; a slip is told at once, b goes back, and Enter ends each value."""
        terminal.wait_for("X straight in Y: 9 poses")
        terminal.wait_for("1/9  X 0 mm, Y 110 mm: ")
        terminal.type("three\r")
        terminal.wait_for("'three'")
        terminal.wait_for("1/9  X 0 mm, Y 110 mm: ")
        terminal.type("7\r")
        terminal.wait_for("2/9  X 40 mm, Y 110 mm: ")
        terminal.type("b\r")
        for number, value in enumerate(VALUES, 1):
            terminal.wait_for(f"{number}/9  X {40 * (number - 1)} mm, Y 110 mm: ")
            terminal.type(f"{value}\r")
        terminal.wait_for("at the tool")
        assert terminal.status() == 0
        assert typed() == [tuple((value,) for value in VALUES)]

    def test_ctrl_c_keeps_what_was_typed_for_the_next_time(terminal: Terminal) -> None:
        """Ctrl-C in the middle enters nothing, says so and ends with 130; the same command goes on from there."""
        for number, value in enumerate(VALUES[:3], 1):
            terminal.wait_for(f"{number}/9  ")
            terminal.type(f"{value}\r")
        terminal.wait_for("4/9  ")
        terminal.type("\x03")
        terminal.wait_for("what was typed is kept")
        assert terminal.status() == 130
        assert typed() == []
        again = Terminal("record", "X straight in Y")
        try:
            again.wait_for("3 values of 'X straight in Y' were typed before")
            again.type("y\r")
            for number, value in enumerate(VALUES[3:], 4):
                again.wait_for(f"{number}/9  ")
                again.type(f"{value}\r")
            assert again.status() == 0
        finally:
            again.close()
        assert typed() == [tuple((value,) for value in VALUES)]
