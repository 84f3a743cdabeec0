"""A large book, always the same: a synthetic machine of 300 parts and 2,000 dims with 5,000 readings of them.

Some of the parts carry its axes, as in ``machines.py``; the others have sizes that are read and held to their limits,
and move nothing at the tool, as most sizes of a real machine.
"""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from machines import machine

from loopwright.book import create
from loopwright.buildfile import read_text, write_text
from loopwright.model.build import Build
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of
from loopwright.studies.recording import Typed, consider

PARTS, DIMS, READINGS, SWEEPS = 300, 2000, 5000, 60
SOURCES, STEPS, TESTS = 500, 5, 4
GAUGES = {
    "micrometer": {"resolution": 0.001, "calibration": "±2 µm", "repeatability": {"std": 0.001}},
    "indicator": {"resolution": 0.001, "calibration": "±1 µm", "repeatability": {"std": 0.0005}},
}
SEED = 20
LENGTHS = (8, 12, 16, 25, 32, 40, 60, 80, 125)
"""Nominal sizes of the parts that move nothing, mm."""


def description(parts: int, dims: int) -> str:
    """The build file of such a machine."""
    axes = machine(SOURCES, STEPS, tests=TESTS, gauges=GAUGES)
    more = parts - len(axes.parts)
    own = _dims(axes)
    lines = ["parts:"]
    for number in range(more):
        count = (dims - own) // more + (number < (dims - own) % more)
        lines += [f"  bracket_{number + 1:03d}:", "    material: low carbon steel", "    dims:"]
        lines += [f"      size_{k + 1}: {LENGTHS[(number + k) % len(LENGTHS)]} ±0.05" for k in range(count)]
    text = write_text(axes).replace("parts:\n", "\n".join(lines) + "\n", 1)
    return text.replace(f"name: {axes.name}", f"name: synthetic machine of {parts} parts", 1)


def _dims(build: Build) -> int:
    return sum(len(part.dims) for part in build.parts.values())


def large_book(
    path: Path, parts: int = PARTS, dims: int = DIMS, readings: int = READINGS, sweeps: int = SWEEPS
) -> None:
    """Makes such a book.

    Args:
        path: where; nothing may lie there yet.
        parts: of the machine; a tenth of them at least are further ones.
        dims: of all parts together.
        readings: in the book; each dim is read in its turn.
        sweeps: so many of them are sweeps of the machine's tests.
    """
    text = description(parts, dims)
    with create(path, text, build_name="large machine", who="bench") as book:
        book.append_all(_readings(read_text(text), readings, sweeps), who="bench")


def _readings(build: Build, count: int, sweeps: int) -> Iterator[Reading]:
    generator = np.random.Generator(np.random.SFC64(SEED))
    dims = [f"{name}/{dim}" for name, part in build.parts.items() for dim in part.dims]
    templates = dict(_templates())
    tests = [name for name in templates if isinstance(name, str)]
    every = count // max(sweeps, 1)
    for number in range(count):
        if sweeps and number % every == every - 1:
            yield _moved(templates[tests[number // every % len(tests)]], generator)
            continue
        of = dims[number * 7 % len(dims)]
        dim = build.dim(of)
        assert dim is not None
        yield _moved(templates[dim.nominal].model_copy(update={"of": of}), generator)


def _moved(reading: Reading, generator: np.random.Generator) -> Reading:
    """The same with other values, as the next one would be found."""
    values = tuple(float(v + generator.normal(0, 0.002)) for v in reading.evaluated.values)
    return reading.model_copy(
        update={
            "raw": tuple((value,) for value in values),
            "typed": tuple((f"{value:.4f}",) for value in values),
            "evaluated": reading.evaluated.model_copy(update={"values": values}),
        }
    )


def _templates() -> Iterator[tuple[str | float, Reading]]:
    """A reading of a dim of every nominal size, and one of every test: worked out on a machine with a few parts."""
    small = _small()
    seen: set[float] = set()
    for of in small.loop.dims:
        dim = small.build.dim(of)
        assert dim is not None
        if dim.nominal not in seen:
            seen.add(dim.nominal)
            yield (
                dim.nominal,
                consider(small, Typed(of, [[f"{dim.nominal:.3f}"]], gauge="micrometer")).reading,
            )
    for name, test in small.build.tests.items():
        found = consider(small, Typed(name, [["0"]] * small_poses(small, name), unit="mm", gauge=test.gauge))
        yield name, found.reading


def small_poses(bench: Bench, test: str) -> int:
    """How many values a test has."""
    return len(bench.observer.test(test, {})[1])


def _small() -> Bench:
    from tempfile import TemporaryDirectory

    axes = machine(SOURCES, STEPS, tests=TESTS, gauges=GAUGES)
    with TemporaryDirectory() as folder:
        text = description(len(axes.parts) + 2, _dims(axes) + len(LENGTHS) * 2)
        with create(Path(folder) / "small.book", text, build_name="small", who="bench") as book:
            return bench_of(book)
