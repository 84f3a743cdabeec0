"""The workroom: short questions beside long work, progress, stopping, and processes that end."""

import asyncio
import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from browsers import finished
from loopwright.errors import Cancelled, RequestError
from loopwright.web import workroom
from loopwright.web.faults import Unforeseen
from loopwright.web.hub import last_entry
from loopwright.web.work import Reader, Work
from loopwright.web.workroom import Workroom, WorkroomStopped, opened
from loopwright.web.workshop import Telling

ADA = Reader("Ada")


def process(work: Work, reader: Reader) -> int:
    """The process that it runs in."""
    return os.getpid()


def foresee(work: Work, reader: Reader) -> None:
    """Work that somebody will ask for."""
    work.lasting["foreseen"] = True


def was_foreseen(work: Work, reader: Reader) -> bool:
    """Whether that was done."""
    return "foreseen" in work.lasting


def refuse(work: Work, reader: Reader) -> None:
    """Says no as a study does."""
    raise RequestError("there is none", "name another")


def break_down(work: Work, reader: Reader) -> None:
    """Goes wrong."""
    raise ZeroDivisionError("as planned")


def die(work: Work, reader: Reader) -> None:
    """Ends its process as a fault in a library would."""
    os.kill(os.getpid(), signal.SIGKILL)


def count(work: Work, reader: Reader, to: int, *, telling: Telling) -> int:
    """Long work that listens."""
    for done in range(to):
        telling.progress(done, to)
        if telling.cancelled():
            raise Cancelled("stopped")
        time.sleep(0.01)
    return os.getpid()


def deaf(work: Work, reader: Reader, *, telling: Telling) -> None:
    """Long work that does not listen."""
    time.sleep(60)


def test_short_questions_are_answered_where_the_book_is_open(demo_book: Path) -> None:
    """In another process, always the same."""

    async def work() -> None:
        async with opened(str(demo_book)) as room:
            assert await room.ask(last_entry, ADA) == 79
            first = await room.ask(process, ADA)
            assert first == await room.ask(process, ADA) != os.getpid()

    finished(work())


def test_it_can_be_begun_before_there_is_a_loop(demo_book: Path) -> None:
    """What was foreseen is worked out by the same process that answers later."""

    async def ask(room: Workroom) -> tuple[int, bool]:
        try:
            return await room.ask(process, ADA), await room.ask(was_foreseen, ADA)
        finally:
            room.close()

    room = Workroom(str(demo_book))
    room.foresee(foresee, ADA)
    (begun,) = room.processes
    assert finished(ask(room)) == (begun, True)


def test_errors_come_back_as_they_are(demo_book: Path) -> None:
    """A refusal with its remedy; anything else with the lines for whoever mends it. The room goes on."""

    async def work() -> None:
        async with opened(str(demo_book)) as room:
            with pytest.raises(RequestError, match="there is none; name another"):
                await room.ask(refuse, ADA)
            with pytest.raises(Unforeseen, match="as planned"):
                await room.ask(break_down, ADA)
            assert await room.ask(last_entry, ADA) == 79

    finished(work())


def test_a_process_that_dies_is_told_and_replaced(demo_book: Path) -> None:
    """The next question finds a new one."""

    async def work() -> None:
        async with opened(str(demo_book)) as room:
            first = await room.ask(process, ADA)
            with pytest.raises(WorkroomStopped, match="nothing that was saved is lost"):
                await room.ask(die, ADA)
            for _ in range(100):
                if room.processes == ():
                    break
                await asyncio.sleep(0.02)
            assert await room.ask(process, ADA) != first

    finished(work())


def test_long_work_tells_how_far_it_is_and_holds_nobody_up(demo_book: Path) -> None:
    """Short questions are answered meanwhile, by another process."""

    async def work() -> None:
        heard: list[tuple[int, int | None]] = []
        async with opened(str(demo_book)) as room:
            bench = await room.ask(process, ADA)
            task = asyncio.create_task(room.long(count, ADA, 60, progress=lambda *told: heard.append(told)))
            while not heard:
                await asyncio.sleep(0.01)
            assert room.busy
            assert await room.ask(last_entry, ADA) == 79
            assert not task.done()
            assert await task not in (bench, os.getpid())
            assert not room.busy
        assert heard == [(0, None), *((n, 60) for n in range(60))]

    finished(work())


def test_long_work_stops_when_nobody_waits_for_it(demo_book: Path) -> None:
    """What listens ends by itself, and its process is used again."""

    async def work() -> None:
        async with opened(str(demo_book)) as room:
            first = await room.long(count, ADA, 1)
            task = asyncio.create_task(room.long(count, ADA, 100_000))
            await asyncio.sleep(0.3)
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task
            assert await room.long(count, ADA, 1) == first

    finished(work())


def test_long_work_that_does_not_listen_is_ended(demo_book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a while; the next finds a new process."""
    monkeypatch.setattr(workroom, "PATIENCE", 0.2)

    async def work() -> None:
        async with opened(str(demo_book)) as room:
            first = await room.long(count, ADA, 1)
            task = asyncio.create_task(room.long(deaf, ADA))
            await asyncio.sleep(0.2)
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task
            assert await room.long(count, ADA, 1) != first

    finished(work())


def test_the_back_room_is_closed_when_it_was_idle(demo_book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And its memory given back; the bench stays."""
    monkeypatch.setattr(workroom, "IDLE_SECONDS", -0.5)

    async def work() -> None:
        async with opened(str(demo_book)) as room:
            await room.ask(last_entry, ADA)
            await room.long(count, ADA, 1)
            for _ in range(200):
                if len(room.processes) == 1:
                    break
                await asyncio.sleep(0.02)
            assert len(room.processes) == 1

    finished(work())


def test_closing_ends_every_process(demo_book: Path) -> None:
    """Nothing is left behind."""

    async def work() -> tuple[int, ...]:
        room = Workroom(str(demo_book))
        await room.ask(last_entry, ADA)
        await room.long(count, ADA, 1)
        pids = room.processes
        room.close()
        return pids

    pids = finished(work())
    assert len(pids) == 2
    end = time.monotonic() + 10
    while time.monotonic() < end and any(Path(f"/proc/{pid}").exists() for pid in pids):
        for pid in pids:
            with contextlib.suppress(ChildProcessError):
                os.waitpid(pid, os.WNOHANG)
        time.sleep(0.02)
    assert not any(Path(f"/proc/{pid}").exists() for pid in pids)


def test_at_rest_only_the_front_page_is_kept(demo_book: Path) -> None:
    """What was made for other pages is let go, and made again when it is asked for."""
    work = Work(str(demo_book))
    made: list[str] = []

    def other() -> str:
        made.append("other")
        return "other"

    front = work.front
    work.kept("other", other)
    work.rest()
    assert work.front is front
    assert work.kept("other", other) == "other"
    assert made == ["other", "other"]
    work.close()


@pytest.mark.skipif(sys.platform != "linux", reason="only there is a process made alike")
def test_a_bench_made_alike_ends_with_a_killed_server(demo_book: Path) -> None:
    """A server that is killed cannot say goodbye; the process that it was copied to hears of it all the same."""
    script = (
        "import time; from loopwright.web.workroom import Workroom; room = Workroom(__import__('sys').argv[1]); "
        "room.begin(); print(room.processes[0], flush=True); time.sleep(60)"
    )
    words = [sys.executable, "-c", script, str(demo_book)]
    one_thread = os.environ | {"OPENBLAS_NUM_THREADS": "1"}
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=one_thread) as server:
        assert server.stdout is not None
        bench = int(server.stdout.readline())
        # a copy has the words of the server, a process started anew has its own
        assert Path(f"/proc/{bench}/cmdline").read_bytes() == Path(f"/proc/{server.pid}/cmdline").read_bytes()
        server.kill()
    end = time.monotonic() + 10
    while time.monotonic() < end and Path(f"/proc/{bench}").exists():
        time.sleep(0.05)
    assert not Path(f"/proc/{bench}").exists()
