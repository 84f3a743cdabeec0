"""The bench: a reading recorded and the front page refreshed, ranking, many readings, selection."""

import tempfile
from pathlib import Path

import numpy as np
from machines import machine
from timing import best, command, seconds

from loopwright.book import create
from loopwright.buildfile import write_text
from loopwright.fitup.selection import Block, select
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of, front_page
from loopwright.studies.next_readings import next_readings
from loopwright.studies.recording import Typed, consider

COUNTS = (100, 1000, 10_000)
START = "from loopwright.cli import main; main()"
GAUGES = {
    "micrometer": {"resolution": 0.001, "calibration": "±2 µm", "repeatability": {"std": 0.001}},
    "indicator": {"resolution": 0.001, "calibration": "±1 µm", "repeatability": {"std": 0.0005}},
}


def readings(bench: Bench, count: int) -> list[Reading]:
    """So many readings of dims, invented around their nominal sizes."""
    generator = np.random.Generator(np.random.SFC64(4))
    dims = list(bench.loop.dims)
    one = {
        dim: consider(
            bench, Typed(dim, [[f"{bench.build.dim(dim).nominal:.4f}"]], gauge="micrometer")
        ).reading  # type: ignore[union-attr]
        for dim in dims
    }
    out = []
    for number in range(count):
        reading = one[dims[number % len(dims)]]
        value = reading.evaluated.values[0] + float(generator.normal(0, 0.002))
        out.append(
            reading.model_copy(
                update={"evaluated": reading.evaluated.model_copy(update={"values": (value,)})}
            )
        )
    return out


def at_the_bench() -> dict[str, float]:
    """Seconds of what a user waits for at the bench; 500 sources over 125 poses and 3 components."""
    found: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "machine.book"
        text = write_text(machine(500, 5, tests=4, gauges=GAUGES))
        with create(path, text, build_name="synthetic", who="bench") as book:
            now = bench_of(book)
            front_page(now)
            more = readings(now, 10_020)
            state = [now]

            def once(number: int) -> None:
                written = book.append(more[number], who="bench")
                state[0] = state[0].with_reading(written.entry)
                front_page(state[0])

            took = sorted(seconds(lambda n=n: once(n)) for n in range(7))  # type: ignore[misc]
            found["one reading recorded, front page refreshed"] = took[3]
            found["standing, from a cold start"] = standing(path)
            for count in COUNTS:
                book.append_all(more[book.last_number : count], who="bench")
                opened = bench_of(book)
                front_page(opened)
                found[f"{count} readings: one more, refreshed"] = _one_more(book, opened, more[-1])
                found[f"{count} readings: from the book"] = seconds(lambda: bench_of(book))
                found[f"{count} readings: standing"] = standing(path)
    found["ranking"], found["candidates"] = _ranking()
    found["selection"] = _selection()
    return found


def standing(path: Path) -> float:
    """``loopwright standing`` in a fresh process, s."""
    return command("-c", START, "standing", "--book", str(path), times=3)


def _ranking() -> tuple[float, float]:
    """Seconds to rank every reading that could be taken of a machine with 75 tests, and how many there are."""
    with tempfile.TemporaryDirectory() as folder:
        text = write_text(machine(500, 5, tests=25, gauges=GAUGES))
        with create(Path(folder) / "m.book", text, build_name="synthetic", who="bench") as book:
            now = bench_of(book)
            count = len(next_readings(now).ranked)
            written = book.append(readings(now, 1)[0], who="bench")
            later = now.with_reading(written.entry)
            return seconds(lambda: next_readings(later)), float(count)


def _one_more(book: object, bench: Bench, reading: Reading) -> float:
    def work() -> None:
        written = book.append(reading, who="bench")  # type: ignore[attr-defined]
        front_page(bench.with_reading(written.entry))

    return sorted(seconds(work) for _ in range(5))[2]


def _selection() -> float:
    generator = np.random.Generator(np.random.SFC64(1))
    mean, spread = generator.normal(size=(3, 50, 125, 3)), generator.random((3, 50, 125, 3))
    block = Block(mean * 0.002, spread * 1e-6, np.zeros((125, 3)), np.full((125, 3), 1e-6), 0.01)
    return best(lambda: select([block]), 3)
