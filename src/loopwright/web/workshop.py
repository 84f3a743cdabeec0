"""The other side of the workroom: a process that answers one call after another."""

import contextlib
import ctypes
import gc
import os
import pickle
import signal
import sys
import time
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from typing import Any

from loopwright.errors import LoopwrightError
from loopwright.web.faults import Unforeseen
from loopwright.web.work import Work

Progress = Callable[[int, int | None], None]

REST = 20.0
"""Seconds without work after which what is made again at once is let go, and free memory given back."""
BENCH, BACK = 4, 8
"""By how much the two kinds of process stand back for the server, where the system knows that."""
SHORT = 0.01
"""Seconds of the processor that a look takes which is no work."""


class Telling:
    """What long work says on its way, and how it learns that nobody waits for it any more."""

    def __init__(self, say: Callable[[int, int | None], None], stop: Event | None) -> None:
        self._say, self._stop = say, stop

    def progress(self, done: int, wanted: int | None) -> None:
        """Says how far it is."""
        self._say(done, wanted)

    def cancelled(self) -> bool:
        """Whether to stop."""
        return self._stop is not None and self._stop.is_set()


def serve_calls(pipe: Connection, where: str, stop: Event | None, near: Connection | None = None) -> None:
    """Answers calls until None comes, or the pipe is closed. Runs as the main function of a process of its own.

    Args:
        pipe: brings (number, function, reader, arguments, named arguments), takes (number, 'done', answer),
            (number, 'failed', error) and, on the way, (number, 'progress', (done, wanted)).
        where: file of the book or address of its database.
        stop: set by the other side when the present call should stop; None where calls are short.
        near: the other side's end of the pipe, where this process is a copy of that one and so has it too.
    """
    if near is not None:
        near.close()  # else this side would never hear that the other is gone
    # whoever started it stops it; an interrupt at the terminal goes to every process of the group
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # whoever answers browsers goes first; long work comes after what somebody waits for
    if hasattr(os, "nice"):
        os.nice(BENCH if stop is None else BACK)
    gc.set_threshold(100_000, 50, 100)
    work, rest = Work(where), _Rest()
    try:
        while True:
            pipe.poll(REST)
            if rest.due:
                work.rest()
                rest.give_back()
            call = pipe.recv()
            if call is None:
                break
            number, function, reader, arguments, named = call

            def tell(done: int, wanted: int | None, number: int = number) -> None:
                pipe.send((number, "progress", (done, wanted)))

            if stop is not None:
                named = named | {"telling": Telling(tell, stop)}
            _send(pipe, (number, *_answered(work, function, reader, arguments, named)))
            rest.worked()
    except (EOFError, OSError):
        pass
    work.close()


class _Rest:
    """Gives memory that work has left free back to the system, once nothing that takes work was asked for a while."""

    def __init__(self) -> None:
        self._begun, self._last, self._given = time.process_time(), time.monotonic(), True

    def worked(self) -> None:
        """A call was answered; a short look does not count."""
        used = time.process_time()
        if used - self._begun > SHORT:
            self._last, self._given = time.monotonic(), False
        self._begun = used

    @property
    def due(self) -> bool:
        """It is time, and not done yet."""
        return not self._given and time.monotonic() - self._last > REST

    def give_back(self) -> None:
        """Does so, where the C library can be asked to (glibc)."""
        self._given = True
        gc.collect()
        if sys.platform == "linux":
            with contextlib.suppress(AttributeError, OSError):
                ctypes.CDLL(None).malloc_trim(0)


def _send(pipe: Connection, answer: tuple[int, str, Any]) -> None:
    """Sends an answer; one that does not go through a pipe is a fault of ours, and is told as one."""
    try:
        pipe.send(answer)
    except (TypeError, AttributeError, pickle.PicklingError) as error:
        pipe.send(
            (answer[0], "failed", Unforeseen(f"the answer cannot be sent: {error}", str(answer[2])[:2000]))
        )


def _answered(
    work: Work,
    function: Callable[..., Any],
    reader: object,
    arguments: tuple[Any, ...],
    named: dict[str, Any],
) -> tuple[str, Any]:
    try:
        return "done", function(work, reader, *arguments, **named)
    except LoopwrightError as error:
        return "failed", error
    except Exception as error:  # noqa: BLE001 - it is told on the page, and the workroom goes on
        details = "".join(traceback.format_exception(error))
        return "failed", Unforeseen(f"{type(error).__name__}: {error}", details)
