"""The workroom seen from the pages: a process with the book open, asked without ever holding a page up.

Two of them serve a book: the bench, for what is answered at once, and the back room, for long work with progress
and a way to stop it. The back room is opened when it is first needed and closed when it was idle for a while.
"""

import asyncio
import contextlib
import gc
import itertools
import multiprocessing
import os
import pickle
import queue
import sys
import threading
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

from loopwright.errors import Cancelled, LoopwrightError
from loopwright.web.faults import Unforeseen
from loopwright.web.views import load_views
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling, serve_calls

P = ParamSpec("P")
Answer = TypeVar("Answer")
Progress = Callable[[int, int | None], None]

IDLE_SECONDS = 60.0
"""After so long without work the back room is closed, and its memory given back."""
PATIENCE = 3.0
"""Seconds that long work has to notice that nobody waits for it."""


class WorkroomStopped(LoopwrightError):
    """The process that was asked ended before it answered; a new one is started for the next question."""

    def __init__(self) -> None:
        super().__init__("the work was interrupted; nothing that was saved is lost. Try again.")


def _one_thread() -> bool:
    """Whether this process may safely be copied: it has one thread, those of libraries counted too (Linux)."""
    threads = Path("/proc/self/task")
    return sys.platform == "linux" and threads.is_dir() and len(list(threads.iterdir())) == 1


@dataclass
class _Call:
    answer: "asyncio.Future[Any]"
    progress: Progress | None = None


@dataclass
class _Process:
    """One child process, its pipe, and the calls that wait for an answer."""

    where: str
    stoppable: bool
    alike: bool = False
    pipe: Connection = field(init=False)
    process: BaseProcess = field(init=False)
    stop: Event | None = field(init=False)
    waiting: dict[int, _Call] = field(default_factory=dict)
    over: bool = False
    _questions: "queue.SimpleQueue[tuple[Any, ...] | None]" = field(default_factory=queue.SimpleQueue)

    def __post_init__(self) -> None:
        # the work is many small products, where threads wait for each other more than they help
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        context = multiprocessing.get_context("spawn")
        kind: type[BaseProcess] = (
            multiprocessing.get_context("fork").Process if self.alike else context.Process
        )
        self.stop = context.Event() if self.stoppable else None
        self.pipe, far = context.Pipe()
        near = self.pipe if self.alike else None
        self.process = kind(target=serve_calls, args=(far, self.where, self.stop, near), daemon=True)
        self.process.start()
        far.close()
        self._loop: asyncio.AbstractEventLoop | None = None
        threading.Thread(target=self._speak, name="questions", daemon=True).start()

    def attend(self) -> "_Process":
        """Hears its answers from now on, on the loop that runs."""
        if self._loop is None:
            self._loop = asyncio.get_running_loop()
            threading.Thread(target=self._listen, args=(self._loop,), name="answers", daemon=True).start()
        return self

    def say(self, question: tuple[Any, ...]) -> None:
        """Sends a question; a thread does, since a large one waits until the other side has time to take it."""
        self._questions.put(question)

    def _speak(self) -> None:
        with contextlib.suppress(OSError, RuntimeError):  # who listens is told of the end
            while (question := self._questions.get()) is not None:
                try:
                    self.pipe.send(question)
                except (TypeError, AttributeError, pickle.PicklingError) as error:
                    fault = Unforeseen(f"the question cannot be sent: {error}", repr(question)[:2000])
                    if self._loop is not None:
                        self._loop.call_soon_threadsafe(self._hear, question[0], "failed", fault)
            # closing our end would not wake the thread that listens at it; the last word does, by way of the other side
            self.pipe.send(None)

    def _listen(self, loop: asyncio.AbstractEventLoop) -> None:
        try:
            while True:
                message = self.pipe.recv()
                loop.call_soon_threadsafe(self._hear, *message)
        except (EOFError, OSError):
            pass
        with contextlib.suppress(RuntimeError):  # the server is closing
            loop.call_soon_threadsafe(self._ended)

    def _hear(self, number: int, what: str, brought: Any) -> None:
        call = self.waiting.get(number)
        if call is None:
            return
        if what == "progress":
            if call.progress is not None:
                call.progress(*brought)
            return
        del self.waiting[number]
        if call.answer.done():
            return
        if what == "done":
            call.answer.set_result(brought)
        else:
            call.answer.set_exception(brought)

    def _ended(self) -> None:
        self.over = True
        self._questions.put(None)
        for call in self.waiting.values():
            if not call.answer.done():
                call.answer.set_exception(WorkroomStopped())
        self.waiting.clear()

    @property
    def alive(self) -> bool:
        return self.process.is_alive()

    def end(self, *, at_once: bool = False) -> None:
        self._questions.put(None)
        if at_once:
            self.process.kill()


class Workroom:
    """Asks the processes that hold a book. Made, used and closed on the event loop of the server.

    Args:
        where: file of the book or address of its database.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self._numbers = itertools.count(1)
        self._bench: _Process | None = None
        self._back: _Process | None = None
        self._long = asyncio.Lock()
        self._last_long = 0.0

    def begin(self) -> None:
        """Starts the bench before there is an event loop, so that it is ready sooner."""
        if self._bench is None:
            # a process made alike shares what is loaded so far
            if alike := _one_thread():
                load_views()
                gc.freeze()
            self._bench = _Process(self.where, stoppable=False, alike=alike)

    def foresee(self, function: Callable[[Work, Reader], Any], reader: Reader) -> None:
        """Has something worked out that will be asked for; before there is an event loop, and nobody waits for it.

        Args:
            function: as for ``ask``; what it answers is not heard.
            reader: who will ask.
        """
        self.begin()
        assert self._bench is not None
        self._bench.say((0, function, reader, (), {}))

    def open(self) -> None:
        """Starts the bench, so that the first question need not wait for it."""
        if self._bench is None or self._bench.over or not self._bench.alive:
            self._bench = _Process(self.where, stoppable=False)
        self._bench.attend()

    def close(self) -> None:
        """Ends the processes; what they have written is on the disk."""
        for process in (self._bench, self._back):
            if process is not None:
                process.end()
        self._bench = self._back = None

    def switch(self, where: str) -> None:
        """Goes on with another book, in processes of its own."""
        self.close()
        self.where = where
        self.open()

    @property
    def processes(self) -> tuple[int, ...]:
        """Numbers of the processes, as the system knows them."""
        found = [p.process.pid for p in (self._bench, self._back) if p is not None and p.alive]
        return tuple(pid for pid in found if pid is not None)

    @property
    def busy(self) -> bool:
        """Whether long work goes on, so that further long work waits for its turn."""
        return self._long.locked()

    async def ask(
        self,
        function: Callable[Concatenate[Work, Reader, P], Answer],
        reader: Reader,
        *arguments: P.args,
        **named: P.kwargs,
    ) -> Answer:
        """The answer of a short function that is run where the book is open.

        Args:
            function: of a module, so that the other process finds it; takes the work and the reader first.
            reader: who asks.
            arguments: the others; small, they go through a pipe.
            named: the others by name.

        Raises:
            LoopwrightError: whatever the function raised.
            WorkroomStopped: the process ended.
        """
        self.open()
        assert self._bench is not None
        answer: Answer = await self._call(self._bench, None, function, reader, arguments, named)
        return answer

    async def long(
        self,
        function: Callable[..., Answer],
        reader: Reader,
        *arguments: Any,
        progress: Progress | None = None,
        **named: Any,
    ) -> Answer:
        """The answer of a long function, which takes ``telling`` besides; one at a time, the others wait their turn.

        Cancelling the task that awaits this stops the work.

        Args:
            function: of a module; takes the work, the reader, the arguments and ``telling``.
            reader: who asks.
            arguments: the others.
            progress: called on the event loop with what is done and what is wanted.
            named: the others by name.

        Raises:
            LoopwrightError: whatever the function raised.
            WorkroomStopped: the process ended.
        """
        async with self._long:
            if self._back is None or not self._back.alive:
                self._back = _Process(self.where, stoppable=True)
            back = self._back.attend()
            if progress is not None:
                progress(0, None)
            if back.stop is not None:
                back.stop.clear()
            try:
                answer: Answer = await self._call(back, progress, function, reader, arguments, named)
                return answer
            except asyncio.CancelledError:
                await asyncio.shield(asyncio.ensure_future(self._halt(back)))
                raise
            finally:
                self._last_long = time.monotonic()
                asyncio.get_running_loop().call_later(IDLE_SECONDS + 1, self._close_if_idle)

    async def _call(
        self,
        process: _Process,
        progress: Progress | None,
        function: Callable[..., Any],
        reader: Reader,
        arguments: tuple[Any, ...],
        named: dict[str, Any],
    ) -> Any:
        if process.over:
            raise WorkroomStopped()
        number = next(self._numbers)
        call = _Call(asyncio.get_running_loop().create_future(), progress)
        process.waiting[number] = call
        process.say((number, function, reader, arguments, named))
        return await call.answer

    async def _halt(self, process: _Process) -> None:
        """Asks long work to stop; ends its process where it does not listen."""
        if process.stop is not None:
            process.stop.set()
        waited = time.monotonic()
        while process.waiting and time.monotonic() - waited < PATIENCE:
            await asyncio.sleep(0.02)
        if process.waiting:
            process.end(at_once=True)
            if self._back is process:
                self._back = None

    def _close_if_idle(self) -> None:
        if (
            self._back is not None
            and not self._back.waiting
            and time.monotonic() - self._last_long > IDLE_SECONDS
        ):
            self._back.end()
            self._back = None


@asynccontextmanager
async def opened(where: str) -> AsyncIterator[Workroom]:
    """A workroom that is closed afterwards."""
    room = Workroom(where)
    try:
        yield room
    finally:
        room.close()


__all__ = ["Cancelled", "Reader", "Telling", "Workroom", "WorkroomStopped", "opened"]
