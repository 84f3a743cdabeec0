"""Foreign files are read in bounds."""

import os
import time
from pathlib import Path

import pytest

from browsers import finished
from loopwright.errors import RequestError
from loopwright.web.faults import Unforeseen
from loopwright.web.limited import bounded, limited
from loopwright.web.uploads import Uploads, plain_name

ENOUGH = 2 * 1024**3


def sleeps(seconds: float) -> None:
    """Waits."""
    time.sleep(seconds)


def turns() -> None:
    """Never ends."""
    while True:
        pass


def swallows() -> int:
    """Takes 5 GB."""
    return len([bytearray(50_000_000) for _ in range(100)])


def refuses() -> None:
    """Says no as a study does."""
    raise RequestError("no", "yes")


def breaks() -> None:
    """Goes wrong."""
    raise ZeroDivisionError("as planned")


def pid() -> int:
    """The process it runs in."""
    return os.getpid()


def test_it_is_read_in_another_process_that_is_gone_afterwards() -> None:
    """Whatever a file does to it, the server is not touched."""
    number = finished(limited(pid))
    assert number != os.getpid()
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)


@pytest.mark.parametrize(("work", "arguments"), [(sleeps, (60.0,)), (turns, ())])
def test_what_takes_too_long_is_ended(work: object, arguments: tuple[float, ...]) -> None:
    """By the clock, whether it waits or turns."""
    begun = time.monotonic()
    with pytest.raises(RequestError, match=r"not read after 0\.5 s"):
        finished(bounded(0.5, ENOUGH, work, *arguments))  # type: ignore[arg-type]
    assert time.monotonic() - begun < 10


def test_what_takes_too_much_memory_is_ended() -> None:
    """5 GB do not fit in half a one."""
    with pytest.raises(RequestError, match="more memory than is given"):
        finished(bounded(30, ENOUGH // 4, swallows))


def test_errors_come_back_as_they_are() -> None:
    """A mistake of the user as such; anything else with the lines for whoever mends it."""
    with pytest.raises(RequestError, match="no; yes"):
        finished(limited(refuses))
    with pytest.raises(Unforeseen, match="as planned") as found:
        finished(limited(breaks))
    assert "breaks" in found.value.details


def test_a_file_is_taken_once_by_its_kind_only(tmp_path: Path) -> None:
    """A token for readings opens no archive, and an old one nothing."""
    uploads = Uploads(tmp_path)
    token, path = uploads.begin("readings")
    path.write_text("x")
    assert uploads.take(token, "readings") == path
    for wrong in ((token, "archive"), ("../people", "readings"), ("", "readings")):
        with pytest.raises(RequestError, match="no longer here"):
            uploads.take(*wrong)
    uploads.drop(token)
    assert not path.exists()


@pytest.mark.parametrize("given", ["", ".", "..", "/", "a\x00b", ".hidden", "x/"])
def test_a_name_that_is_none_becomes_ours(given: str) -> None:
    """Nothing of a path is ever kept."""
    assert plain_name(given, "build.yaml") in ("build.yaml", "x")
