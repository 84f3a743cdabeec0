"""Bought parts: what was found of every inspected item, which grade a screw keeps, and where it may go."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loopwright.errors import LoopwrightError
from loopwright.handbook.screws import GRADES, LeadError, lead_error
from loopwright.measuring.coverage import coverage_factor
from loopwright.model.build import Units
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench, Item
from loopwright.studies.bench_list import ItemKind, bench_list
from loopwright.studies.part_sheet import items_in_place

SYSTEMS = {"P": "ISO 3408-3", "C": "JIS B 1192"}
"""Systems of screw grades that tables are known of, by the letter that their grades begin with."""


@dataclass(frozen=True)
class GradeFound:
    """The finest grade of a system that a screw keeps.

    Attributes:
        system: its standard.
        grade: as 'P3'; '' where none is kept.
        finer: the next finer one, and what of it is not kept, in words; '' where there is none.
        read: which of the statements of the grade were read; a grade is kept only as far as these go.
        source: how the limits are known.
    """

    system: str
    grade: str
    finer: str
    read: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Inspected:
    """One inspected item.

    Attributes:
        serial: of the item.
        read: what was found of it.
        readings: entries of its readings that count, the newest first.
        place: where it is now; '' where it lies on the bench.
        grades: what it keeps of each system; none for anything but a screw.
    """

    serial: str
    read: tuple[Item, ...]
    readings: tuple[int, ...]
    place: str
    grades: tuple[GradeFound, ...]


@dataclass(frozen=True)
class Place:
    """A place that an item of a kind may go to.

    Attributes:
        path: a drive as 'X slide/drive', or a part.
        serial: of the item that is in it; None where that is not known, '' where none was put in.
        grade: that the description states for it; '' where it states none.
    """

    path: str
    serial: str | None
    grade: str


@dataclass(frozen=True)
class BoughtKind:
    """Items of one kind.

    Attributes:
        kind: as 'ball screw'.
        whats: what is read of each.
        items: inspected so far.
        places: where they may go.
        grades: grades that one may have ordered, where it is a screw.
    """

    kind: str
    whats: tuple[str, ...]
    items: tuple[Inspected, ...]
    places: tuple[Place, ...]
    grades: tuple[str, ...]


@dataclass(frozen=True)
class Bought:
    """Everything that is bought and inspected item by item.

    Attributes:
        build: its name; units: in which the user reads.
        kinds: those with inspected items first.
        targets: names of the targets.
    """

    build: str
    units: Units
    kinds: tuple[BoughtKind, ...]
    targets: tuple[str, ...]


def bought(bench: Bench) -> Bought:
    """Everything that is bought and inspected, of a build as it stands."""
    kinds = [_kind(bench, one) for one in bench_list(bench).kinds]
    kinds.sort(key=lambda one: not one.items)
    return Bought(bench.build.name, bench.build.units, tuple(kinds), tuple(bench.build.targets))


def _kind(bench: Bench, kind: ItemKind) -> BoughtKind:
    paths = _paths(bench, kind.kind)
    inside = {place: serial for place, serial, _ in items_in_place(bench, list(paths))}
    where = {serial: place for place, serial in inside.items() if serial}
    drives = [path for path in paths if path not in bench.build.parts]
    travel = max((_travel(bench, path) for path in drives), default=0.0)
    by_serial: dict[str, list[Item]] = {}
    for item in bench.items:
        if item.kind == kind.kind:
            by_serial.setdefault(item.serial, []).append(item)
    entries: dict[str, list[int]] = {}
    for entry, reading in bench.having(Reading):
        if reading.item is not None and reading.of.partition("/")[0] == kind.kind:
            entries.setdefault(reading.item, []).insert(0, entry.number)
    reach = coverage_factor(bench.build.confidence)
    items = tuple(
        Inspected(
            serial,
            tuple(found),
            tuple(entries.get(serial, ())),
            where.get(serial, ""),
            tuple(_grades(found, travel, reach)) if drives and travel else (),
        )
        for serial, found in by_serial.items()
    )
    places = tuple(Place(path, inside.get(path, ""), paths[path]) for path in paths)
    return BoughtKind(kind.kind, kind.whats, items, places, GRADES if drives else ())


def _paths(bench: Bench, kind: str) -> dict[str, str]:
    """Places for a kind, each with the grade that the description states."""
    out: dict[str, str] = {}
    for joint, model in bench.build.joints.items():
        for path, drive in model.every_drive():
            if str(drive.kind) == kind:
                out[f"{joint}/{path}"] = drive.lead_error.grade or ""
    for name in bench.build.parts:
        if name == kind or name.partition("_")[0] == kind:
            out[name] = ""
    return out


def _travel(bench: Bench, path: str) -> float:
    low, high = bench.build.joints[path.partition("/")[0]].travel or (0.0, 0.0)
    return high - low


def _grades(found: Sequence[Item], travel: float, reach: float) -> Iterable[GradeFound]:
    """The finest grade of each system that all that was read keeps, with what is not known of it counted."""
    for letter, system in SYSTEMS.items():
        names = [name for name in GRADES if name[0] == letter]
        finer, source = "", ""
        for name in names:
            allowed = _allowed(name, travel)
            if allowed is None:
                continue
            off = _not_kept(found, allowed, reach)
            source = allowed.source
            if not off:
                read = tuple(item.what for item in found if item.what in _limits(allowed))
                if read:
                    yield GradeFound(system, name, finer, read, source)
                break
            finer = f"{name}: {', '.join(off)}"
        else:
            yield GradeFound(system, "", finer, (), source)


def _allowed(grade: str, travel: float) -> LeadError | None:
    try:
        return lead_error(grade, travel)
    except LoopwrightError:
        return None


def _limits(allowed: LeadError) -> dict[str, float]:
    found = {
        "mean travel": allowed.travel_deviation,
        "travel variation": allowed.bandwidth_travel,
        "once per turn": allowed.bandwidth_revolution,
    }
    return {name: limit for name, limit in found.items() if limit is not None}


def _not_kept(found: Sequence[Item], allowed: LeadError, reach: float) -> list[str]:
    limits = _limits(allowed)
    return [
        item.what
        for item in found
        if item.what in limits and abs(item.value) + reach * item.std > limits[item.what]
    ]
