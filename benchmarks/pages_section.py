"""What was measured of the pages, as a section of docs/performance.md."""

import statistics
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from pages import Found
from served import Process
from timing import THREADS
from writing import laid_out, table, time

TITLE = "## The pages in a browser"
FIRST, CHANGE, SAVED, SECOND, HELD, IDLE = 1.5, 0.3, 0.3, 1.0, 0.05, 250.0
LARGER = 2
"""The large book may take so many times as long."""


def section(found: dict[str, Found], load: float) -> str:
    """The whole section.

    Args:
        found: by the title of the book, the demo book first.
        load: how many other programs wanted the processor when it began.
    """
    titles = list(found)
    rows = zip(*(_against_aims(found[title], factor) for title, factor in zip(titles, (1, LARGER))))
    head = ("what somebody waits for", *(word for title in titles for word in (f"aim, {title}", "found", "")))
    against = table(head, ((cells[0][0], *(word for cell in cells for word in cell[1:])) for cells in rows))
    pages = table(("page", *titles), _pages(list(found.values())))
    held = table(("while", *titles), _held(list(found.values())))
    memory = table(("process", *titles), _memory(list(found.values())))
    return laid_out(
        f"{TITLE}\n\n"
        "From what somebody does to the first painting that shows what they wait for, measured in Chromium on the "
        "same machine (`benchmarks/pages.py`): medians of several rounds, the longest in brackets. The large book "
        f"(`benchmarks/large_book.py`) may take {LARGER} times as long. A server that has just been started still has "
        "to work out the machine; that page is told apart from those of browsers that come later. Measured on "
        f"{datetime.now(UTC):%Y-%m-%d}, with a load average of {load:.1f} on {THREADS} cores at the start.\n\n"
        f"{against}\n\n"
        "A page is changed by a press in the list of pages, and there when its heading and its first region "
        f"are drawn:\n\n{pages}\n\n"
        "The event loop of the server was held at the longest, and in brackets by the clock, with the time in it for "
        f"which the browser or another process had the processor:\n\n{held}\n\n"
        "Memory a minute after all of this, with nothing open: resident, and in brackets each process's proportional "
        f"share of it (PSS):\n\n{memory}"
    )


def _against_aims(one: Found, factor: int) -> Iterator[tuple[str, str, str, str]]:
    """What is waited for, its aim, what was found, and whether that is met."""
    slowest = max(one.change.values(), key=statistics.median)
    for what, aim, took in (
        ("first page, from the navigation to its numbers", FIRST, one.first),
        ("the same right after the server has started", FIRST, [one.cold]),
        ("page changed, the slowest of them", CHANGE, slowest),
        ("reading saved and the front page's numbers new", SAVED, one.refreshed),
        ("reading typed at the bench, from Enter to its verdict and effect", SAVED, one.entered),
        ("reading seen on the front page of a second browser", SECOND, one.second),
    ):
        yield what, time(aim * factor), _times(took), _met(statistics.median(took) <= aim * factor)
    held = max(h.held for h in one.held.values())
    yield (
        "event loop held at the longest",
        time(HELD),
        time(held),
        _met(held <= HELD),
    )
    share = sum(process.share for process in one.memory)
    yield "memory at rest, PSS", f"{IDLE * factor:.0f} MB", f"{share:.0f} MB", _met(share <= IDLE * factor)


def _met(met: bool) -> str:
    return "met" if met else "**missed**"


def _times(took: Sequence[float]) -> str:
    middle = time(statistics.median(took))
    return middle if len(took) == 1 else f"{middle} ({time(max(took))})"


def _pages(found: Sequence[Found]) -> Iterator[tuple[str, ...]]:
    for path in found[0].change:
        yield f"`{path}`", *(_times(one.change[path]) for one in found)


def _held(found: Sequence[Found]) -> Iterator[tuple[str, ...]]:
    for what in found[0].held:
        yield what, *(f"{time(one.held[what].held)} ({time(one.held[what].clock)})" for one in found)


def _memory(found: Sequence[Found]) -> Iterator[tuple[str, ...]]:
    for what in ("server", "work", "tracker"):
        yield what, *(_sizes([p for p in one.memory if p.what == what]) for one in found)
    yield "all", *(_sizes(one.memory) for one in found)


def _sizes(processes: Sequence[Process]) -> str:
    resident, share = sum(p.resident for p in processes), sum(p.share for p in processes)
    return f"{resident:.0f} MB ({share:.0f} MB)"
