"""A server in a process of its own, as a benchmark needs it: started, asked, looked at from outside, stopped."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
AS_INSTALLED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


@dataclass(frozen=True)
class Held:
    """The longest that the event loop was held in some time; s.

    Attributes:
        clock: by the clock, waiting for the processor included.
        worked: by the time that the loop's own thread worked.
        held: by the clock, less the time for which other processes had the processor.
    """

    clock: float
    worked: float
    held: float


@dataclass(frozen=True)
class Process:
    """Memory of a process, MB: what is resident, and its proportional share of that."""

    what: str
    resident: float
    share: float


@dataclass(frozen=True)
class Served:
    """A running server.

    Attributes:
        address: of its front page, without the slash at the end.
        process: that was started.
        notes: of its probe.
        began: when it was started, s of the performance counter.
    """

    address: str
    process: "subprocess.Popen[bytes]"
    notes: Path
    began: float

    def held(self, since: float, until: float | None = None) -> Held:
        """The longest that its loop was held between two times, s since the epoch."""
        lines = [tuple(map(float, line.split())) for line in self.notes.read_text("ascii").splitlines()]
        inside = [
            (late, worked, late - queued)
            for at, late, worked, queued in lines
            if since <= at <= (until or at)
        ]
        return Held(*(max(column, default=0.0) for column in (zip(*inside) if inside else ((), (), ()))))

    def memory(self) -> list[Process]:
        """Memory of the server and all that it started."""
        return [
            one for pid in _family(self.process.pid) if (one := _memory(pid, self.process.pid)) is not None
        ]


def _family(pid: int) -> list[int]:
    """A process and all below it."""
    children: dict[int, list[int]] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text("utf-8").rpartition(")")[2].split()
        except OSError:
            continue
        children.setdefault(int(words[1]), []).append(int(path.parent.name))
    found, todo = [], [pid]
    while todo:
        found.append(todo.pop())
        todo += children.get(found[-1], [])
    return found


def _memory(pid: int, root: int) -> Process | None:
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text("ascii").splitlines()
        words = Path(f"/proc/{pid}/cmdline").read_text("utf-8").split("\0")
    except OSError:
        return None
    sizes = {line.split()[0]: int(line.split()[1]) * 1024 / 1e6 for line in lines[1:]}
    what = "tracker" if any("resource_tracker" in w for w in words) else "server" if pid == root else "work"
    return Process(what, sizes["Rss:"], sizes["Pss:"])


@contextmanager
def serving(book: Path) -> Iterator[Served]:
    """A server of a book, which answers; stopped afterwards."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port: int = trial.getsockname()[1]
    notes = book.with_suffix(".notes")
    notes.write_text("", "ascii")
    began = time.perf_counter()
    words = [sys.executable, str(HERE / "serve_probed.py"), str(book), str(port), str(notes)]
    with book.with_suffix(".log").open("wb") as log:
        process = subprocess.Popen(words, cwd=book.parent, env=AS_INSTALLED, stdout=log, stderr=log)
    served = Served(f"http://localhost:{port}", process, notes, began)
    try:
        _wait(served)
        yield served
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(30)


def _wait(served: Served) -> None:
    """Waits until it answers.

    Raises:
        SystemExit: it ended, or did not answer within two minutes.
    """
    end = time.monotonic() + 120
    while time.monotonic() < end and served.process.poll() is None:
        try:
            urllib.request.urlopen(f"{served.address}/assets/style.css", timeout=5).close()
            return
        except OSError:
            time.sleep(0.01)
    raise SystemExit("the server does not answer; see its log beside the book")
