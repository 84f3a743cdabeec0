"""Everything that can be read at the bench: tests, gaps, dims by part, items, and what each step of the fit-up asks."""

from collections.abc import Iterator
from dataclasses import dataclass

from loopwright.asbuilt.observing import drive_places
from loopwright.errors import RequestError
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.fitup_bench import step_number

MOST_FOUND = 60
"""So many are listed of what a search finds."""


@dataclass(frozen=True)
class Readable:
    """One thing that can be read.

    Attributes:
        of: as it is named: the test, the closure, 'part/dim', or 'kind/what'.
        subject: 'test', 'gap', 'dim' or 'item'.
        item: serial of the item.
        readings: that count, in the state that the machine is in; of a dim or an item all that count.
        minutes: of work, where that is stated.
    """

    of: str
    subject: str
    readings: int
    minutes: float | None = None
    item: str | None = None


@dataclass(frozen=True)
class StepToRead:
    """A step of the fit-up and what it asks for.

    Attributes:
        number, name: of the step.
        reads: what it reads, in its order.
        missing: how many of those were not read in the state that the machine is in.
    """

    number: int
    name: str
    reads: tuple[Readable, ...]
    missing: int


@dataclass(frozen=True)
class PartToRead:
    """A part and how much of it was read.

    Attributes:
        name: of the part.
        dims: how many it has.
        read: how many of them have a reading that counts.
    """

    name: str
    dims: int
    read: int


@dataclass(frozen=True)
class ItemKind:
    """Items of one kind that are inspected on the bench before one of them is put in.

    Attributes:
        kind: as 'ball screw'.
        serials: of those read so far.
        whats: what is read of each.
    """

    kind: str
    serials: tuple[str, ...]
    whats: tuple[str, ...]


@dataclass(frozen=True)
class BenchList:
    """What can be read.

    Attributes:
        tests: declared tests.
        gaps: gaps of closures.
        parts: parts that have dims.
        steps: of the fit-up that ask for readings.
        kinds: of items.
    """

    tests: tuple[Readable, ...]
    gaps: tuple[Readable, ...]
    parts: tuple[PartToRead, ...]
    steps: tuple[StepToRead, ...]
    kinds: tuple[ItemKind, ...]


def bench_list(bench: Bench) -> BenchList:
    """What can be read of a build as it stands."""
    build = bench.build
    read = _counts(bench)
    return BenchList(
        tests=tuple(_readable(bench, name, read) for name in build.tests),
        gaps=tuple(_readable(bench, name, read) for name in build.closures),
        parts=tuple(
            PartToRead(name, len(part.dims), sum(f"{name}/{dim}" in read for dim in part.dims))
            for name, part in build.parts.items()
            if part.dims
        ),
        steps=tuple(_steps(bench, read)),
        kinds=tuple(_kinds(bench)),
    )


def of_part(bench: Bench, part: str) -> tuple[str, ...]:
    """What can be read of a part: its dims, those that were not read first.

    Raises:
        RequestError: there is no such part, or it has no dims.
    """
    found = bench.build.parts.get(part)
    if found is None:
        raise RequestError(f"there is no part '{part}'", "name a part of the build file")
    paths = [f"{part}/{name}" for name in found.dims]
    if not paths:
        raise RequestError(f"'{part}' has no dims", "give it dims in the build file")
    return tuple(sorted(paths, key=lambda path: path in bench.readings_of_dims))


def of_step(bench: Bench, which: str) -> tuple[str, ...]:
    """What a step of the fit-up reads, what was not read in this state first.

    Raises:
        RequestError: there is no such step, or it reads nothing.
    """
    step = bench.build.fit_up[step_number(bench, which) - 1]
    if not step.read:
        raise RequestError(f"the step '{step.step}' asks for no reading", "take another step")
    read = _counts(bench)
    return tuple(sorted(step.read, key=lambda name: bool(read.get(name))))


def of_item(bench: Bench, kind: str) -> tuple[str, ...]:
    """What is read of an item of a kind, as 'kind/what'.

    Raises:
        RequestError: nothing is known of such a kind.
    """
    found = next((one for one in _kinds(bench) if one.kind == kind), None)
    if found is None or not found.whats:
        raise RequestError(f"there are no items of '{kind}'", "name a kind, such as 'ball screw'")
    return tuple(f"{kind}/{what}" for what in found.whats)


def find(bench: Bench, words: str, *, most: int = MOST_FOUND) -> tuple[tuple[Readable, ...], int]:
    """What can be read and has all of some words in its name.

    Args:
        bench: the build as it stands.
        words: to be found, upper or lower case.
        most: so many are given.

    Returns:
        What was found, the tests first, and how many there are in all.
    """
    wanted = words.casefold().split()
    build, read = bench.build, _counts(bench)
    names = [*build.tests, *build.closures, *bench.loop.dims]
    found = [name for name in names if all(word in name.casefold() for word in wanted)]
    return tuple(_readable(bench, name, read) for name in found[:most]), len(found)


def _counts(bench: Bench) -> dict[str, int]:
    """How often everything was read; tests and gaps in this state only, as they change with it."""
    out: dict[str, int] = {}
    for _, reading in bench.having(Reading):
        if reading.item is None and (reading.subject == "dim" or reading.state == bench.state):
            out[reading.of] = out.get(reading.of, 0) + 1
    return out


def _readable(bench: Bench, name: str, read: dict[str, int]) -> Readable:
    test = bench.build.tests.get(name)
    if test is not None:
        return Readable(name, "test", read.get(name, 0), test.minutes)
    return Readable(name, "gap" if name in bench.build.closures else "dim", read.get(name, 0))


def _steps(bench: Bench, read: dict[str, int]) -> Iterator[StepToRead]:
    for number, step in enumerate(bench.build.fit_up, 1):
        if step.read:
            reads = tuple(_readable(bench, name, read) for name in step.read)
            yield StepToRead(number, step.step, reads, sum(not one.readings for one in reads))


def _kinds(bench: Bench) -> Iterator[ItemKind]:
    """Kinds that were inspected, drives that the build has, and parts that are bought."""
    build = bench.build
    whats: dict[str, dict[str, None]] = {}
    serials: dict[str, dict[str, None]] = {}
    for item in bench.items:
        whats.setdefault(item.kind, {})[item.what] = None
        serials.setdefault(item.kind, {})[item.serial] = None
    for joint, model in build.joints.items():
        for path, drive in model.every_drive():
            kind = str(drive.kind)
            for what in drive_places(bench.loop, f"{joint}/{path}"):
                whats.setdefault(kind, {})[what] = None
    for name, part in build.parts.items():
        if part.bought:
            for dim in part.dims:
                whats.setdefault(name, {})[dim] = None
    for kind, found in whats.items():
        yield ItemKind(kind, tuple(serials.get(kind, ())), tuple(found))
