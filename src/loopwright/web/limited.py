"""Foreign files are read in a process of their own, with bounds on its memory and its time."""

import asyncio
import contextlib
import multiprocessing
import os
import sys
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any, ParamSpec, TypeVar

from loopwright.errors import LoopwrightError, RequestError
from loopwright.web.faults import Unforeseen

P = ParamSpec("P")
Answer = TypeVar("Answer")

SECONDS = 60.0
MEMORY = 2 * 1024**3
"""Bytes of address space; the numerical libraries alone reserve about half of it."""


async def limited(
    function: Callable[P, Answer],
    *arguments: P.args,
    **named: P.kwargs,
) -> Answer:
    """The answer of a function that reads something foreign.

    Args:
        function: of a module.
        arguments: its arguments.
        named: its named arguments.

    Raises:
        LoopwrightError: whatever the function raised.
        RequestError: it took too long, or too much memory.
    """
    answer: Answer = await bounded(SECONDS, MEMORY, function, *arguments, **named)
    return answer


async def bounded(
    seconds: float, memory: int, function: Callable[..., Answer], *arguments: Any, **named: Any
) -> Answer:
    """As ``limited``, with bounds of one's own: seconds by the clock, bytes of memory."""
    context = multiprocessing.get_context("spawn")
    near, far = context.Pipe()
    process = context.Process(target=_answer, args=(far, memory, seconds), daemon=True)
    await asyncio.to_thread(process.start)
    far.close()
    try:
        return await asyncio.to_thread(_wait, near, seconds, function, arguments, named)
    finally:
        near.close()
        process.kill()
        await asyncio.to_thread(process.join)


def _wait(
    pipe: Connection,
    seconds: float,
    function: Callable[..., Any],
    arguments: tuple[Any, ...],
    named: dict[str, Any],
) -> Any:
    try:
        pipe.send((function, arguments, named))
        if not pipe.poll(seconds):
            raise RequestError(
                f"the file was not read after {seconds:g} s",
                "make it smaller, or see whether it is the right one",
            )
        what, brought = pipe.recv()
    except (EOFError, OSError):
        raise RequestError(
            "the file takes more memory than is given to reading one",
            "make it smaller, or see whether it is the right one",
        ) from None
    if what == "failed":
        raise brought
    return brought


def _answer(pipe: Connection, memory: int, seconds: float) -> None:
    """Runs in the other process: bounds itself, then does what it is asked once."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    if sys.platform != "win32":
        import resource

        with contextlib.suppress(ValueError, OSError):  # a bound that is lower already stays
            resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
            resource.setrlimit(resource.RLIMIT_CPU, (int(seconds) + 1, int(seconds) + 2))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    try:
        function, arguments, named = pipe.recv()
        pipe.send(("done", function(*arguments, **named)))
    except MemoryError:
        sys.exit(1)
    except LoopwrightError as error:
        pipe.send(("failed", error))
    except Exception as error:  # noqa: BLE001 - it is told on the page
        details = "".join(traceback.format_exception(error))
        pipe.send(("failed", Unforeseen(f"{type(error).__name__}: {error}", details)))
