"""Serves a book as ``loopwright serve`` does, and notes how long the event loop was held.

``serve_probed.py BOOK PORT NOTES``

A task of the loop asks to be woken every 2 ms. Whenever it is woken over 5 ms late, a line goes to the notes: when (s
since the epoch), how late (s), and for how much of that the loop's own thread worked (s). The rest it waited, for the
processor or for another thread.
"""

import asyncio
import sys
import time
from pathlib import Path

from nicegui import app

from loopwright.web.serving import Serving, serve

EVERY, WORTH = 0.002, 0.005


async def probe(notes: Path) -> None:
    """Notes every time it is woken late, until the server ends."""
    with notes.open("a", encoding="ascii", buffering=1) as file:
        while True:
            clock, worked = time.perf_counter(), time.thread_time()
            await asyncio.sleep(EVERY)
            late = time.perf_counter() - clock - EVERY
            if late > WORTH:
                file.write(f"{time.time():.6f} {late:.6f} {time.thread_time() - worked:.6f}\n")


def main(book: str, port: str, notes: str) -> None:
    """Serves until it is stopped."""
    kept: list[asyncio.Task[None]] = []
    app.on_startup(lambda: kept.append(asyncio.get_running_loop().create_task(probe(Path(notes)))))
    serve(Serving(book, "Ada", Path(book).parent, int(port)))


if __name__ == "__main__":
    main(*sys.argv[1:])
