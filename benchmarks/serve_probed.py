"""Serves a book as ``loopwright serve`` does, and notes how long the event loop was held.

``serve_probed.py BOOK PORT NOTES``

A task of the loop asks to be woken every 2 ms. Whenever it is woken over 5 ms late, a line goes to the notes: when (s
since the epoch), how late (s), for how much of that the loop's own thread worked (s), and for how much it was ready and
waited for a processor that the browser or another process had (s; nought where the system does not tell).
"""

import asyncio
import os
import sys
import threading
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded, as the command does

from loopwright.web.workroom import Workroom

EVERY, WORTH = 0.002, 0.005


async def probe(notes: Path) -> None:
    """Notes every time it is woken late, until the server ends."""
    with notes.open("a", encoding="ascii", buffering=1) as file:
        while True:
            clock, worked, waited = time.perf_counter(), time.thread_time(), waiting()
            await asyncio.sleep(EVERY)
            late = time.perf_counter() - clock - EVERY
            if late > WORTH:
                own, queued = time.thread_time() - worked, waiting() - waited
                file.write(f"{time.time():.6f} {late:.6f} {own:.6f} {queued:.6f}\n")


def waiting() -> float:
    """For how long this thread has been ready to run and had no processor, s (Linux; elsewhere 0)."""
    path = Path(f"/proc/self/task/{threading.get_native_id()}/schedstat")
    return int(path.read_text("ascii").split()[1]) / 1e9 if path.exists() else 0.0


def main(book: str, port: str, notes: str) -> None:
    """Serves until it is stopped."""
    room = Workroom(book)
    room.begin()
    # as the command does: the workroom gets ready while these are loaded
    from nicegui import app

    from loopwright.web.serving import Serving, serve

    kept: list[asyncio.Task[None]] = []
    app.on_startup(lambda: kept.append(asyncio.get_running_loop().create_task(probe(Path(notes)))))
    serve(Serving(book, "Ada", Path(book).parent, int(port)), room)


if __name__ == "__main__":
    main(*sys.argv[1:])
