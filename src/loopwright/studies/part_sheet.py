"""One part: its dims with limits, readings, verdicts, what they carry at the tool, its use, and what was decided."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loopwright.asbuilt.conformity import Conformity, decide
from loopwright.book import Book
from loopwright.errors import RequestError
from loopwright.model.build import Units
from loopwright.model.contacts import Seat
from loopwright.model.joints import Joint
from loopwright.model.parts import DimTerm
from loopwright.model.records import Concession, Entry, Reading, State
from loopwright.studies.bench import Bench
from loopwright.studies.carried import Carried, carried_by
from loopwright.studies.conceding import dim_from_readings
from loopwright.studies.parts_list import NOT_READ, dim_state, part_state
from loopwright.studies.recording import limits_of
from loopwright.units import Dimension


@dataclass(frozen=True)
class OneReading:
    """A reading of a dim.

    Attributes:
        entry: its number in the book.
        at, who: when it was entered, by whom.
        taken: when it was read, where that is not then.
        gauge: what it was read with.
        against: the other dim, where it is a comparison; the value is then the difference.
        value: mm or rad.
        expanded: its expanded uncertainty, at the confidence of the build.
        state: of the machine.
        counts: it was neither corrected nor withdrawn.
        of_this: it is of the part as it now is: the part was not renewed or brought to size since.
        kept: it was asked about, and kept.
        surprise: standard uncertainties from what was expected when it was entered.
        item: serial of the item that was read.
        note: anything to know.
    """

    entry: int
    at: str
    who: str
    taken: str | None
    gauge: str | None
    against: str | None
    value: float
    expanded: float | None
    state: int
    counts: bool
    of_this: bool
    kept: bool
    surprise: float | None
    item: str | None
    note: str | None


@dataclass(frozen=True)
class DimSheet:
    """A dim of a part; mm or rad.

    Attributes:
        dim: 'part/dim'.
        dimension: of its numbers.
        nominal: on the drawing.
        limits: as sizes; None where it has none.
        stated: where the limits come from: 'own', the fit, 'general limits', or 'made together' with its setup.
        state: one word for where it stands, as in ``parts_list``.
        value, std: by its readings of the part as it is; None where there are none.
        conformity: verdict on that; None without readings or limits.
        best, best_std: what everything that was read lets one expect of it.
        concession: what was decided of it; '' where nothing was.
        sized: the size it was brought to; None where it was not.
        readings: all that there are, the newest first.
        carries: what it carries of each target.
        together: dims that were cut in one setup with it.
    """

    dim: str
    dimension: Dimension
    nominal: float
    limits: tuple[float, float] | None
    stated: str
    state: str
    value: float | None
    std: float | None
    conformity: Conformity | None
    best: float
    best_std: float
    concession: str
    sized: float | None
    readings: tuple[OneReading, ...]
    carries: tuple[Carried, ...]
    together: tuple[str, ...]


@dataclass(frozen=True)
class Decided:
    """A concession that was entered.

    Attributes:
        entry, at, who, why: of the entry.
        record: what it says.
        counts: nothing took its place.
    """

    entry: int
    at: str
    who: str
    why: str
    record: Concession
    counts: bool


@dataclass(frozen=True)
class PartSheet:
    """A part.

    Attributes:
        build: name of the build; units: in which the user reads.
        name: of the part.
        material, note: as the description has them.
        bought: rather than made.
        state: one word for where it stands.
        dims: in the order of the description.
        bodies: it belongs to.
        contacts: that it places: joint, contact, and which of its dims.
        closures: gaps that it fills.
        items: serials in place of it and when they were put in: place, serial or None, entry.
        concessions: the newest first.
        machine_state: number of the state of the machine.
    """

    build: str
    units: Units
    name: str
    material: str | None
    note: str | None
    bought: bool
    state: str
    dims: tuple[DimSheet, ...]
    bodies: tuple[str, ...]
    contacts: tuple[tuple[str, str, tuple[str, ...]], ...]
    closures: tuple[str, ...]
    items: tuple[tuple[str, str | None, int], ...]
    concessions: tuple[Decided, ...]
    machine_state: int


def part_sheet(book: Book, bench: Bench, part: str) -> PartSheet:
    """Everything that is known of a part.

    Args:
        book: open.
        bench: the build with everything that the book holds.
        part: its name.

    Raises:
        RequestError: there is no such part.
    """
    found = bench.build.parts.get(part)
    if found is None:
        raise RequestError(f"there is no part '{part}'", "name a part of the build file")
    paths = [f"{part}/{name}" for name in found.dims]
    carries = carried_by(bench, paths)
    counting = {entry.number for entry in bench.entries}
    dims = tuple(_dim(book, bench, path, carries[path], counting) for path in paths)
    return PartSheet(
        build=bench.build.name,
        units=bench.build.units,
        name=part,
        material=found.material,
        note=found.note,
        bought=bool(found.bought),
        state=part_state([dim.state for dim in dims]),
        dims=dims,
        bodies=tuple(name for name, body in bench.build.bodies.items() if part in body.parts),
        contacts=tuple(_contacts(bench, set(paths))),
        closures=tuple(name for name, one in bench.build.closures.items() if one.part == part),
        items=items_in_place(bench, [part]),
        concessions=tuple(_decided(book, part, paths, counting)),
        machine_state=bench.state,
    )


def _dim(book: Book, bench: Bench, path: str, carries: tuple[Carried, ...], counting: set[int]) -> DimSheet:
    dim = bench.build.dim(path)
    assert dim is not None
    row, nominal = bench.observer.dim(path)
    found, limits = dim_from_readings(bench, path), limits_of(bench, path)
    conformity = (
        None
        if found is None or limits is None
        else decide(found[0], found[1], lower=limits[0], upper=limits[1])
    )
    concession = next((c.decision for c in reversed(bench.concessions()) if path in c.dims), "")
    together = next((one.dims for one in bench.build.made_together.values() if path in one.dims), [])
    return DimSheet(
        dim=path,
        dimension=dim.dimension,
        nominal=dim.nominal,
        limits=limits,
        stated=_stated(bench, path),
        state=NOT_READ if found is None else dim_state(conformity, concession),
        value=None if found is None else found[0],
        std=None if found is None else found[1],
        conformity=conformity,
        best=nominal + float(bench.knowledge.expected(row, bench.state)),
        best_std=float(bench.knowledge.uncertainty(row, bench.state)),
        concession=concession,
        sized=bench.sizes.get(path),
        readings=tuple(_readings(book.entries("reading", subject=path), bench, path, counting)),
        carries=carries,
        together=tuple(other for other in together if other != path),
    )


def _stated(bench: Bench, path: str) -> str:
    dim = bench.build.dim(path)
    assert dim is not None
    group = next((name for name, one in bench.build.made_together.items() if path in one.dims), None)
    own = dim.fit or (
        "own" if dim.spread is not None else "general limits" if bench.build.general_limits else ""
    )
    return f"{own}; made together: {group}" if group and own else f"made together: {group}" if group else own


def _readings(entries: Sequence[Entry], bench: Bench, path: str, counting: set[int]) -> Iterator[OneReading]:
    since = _made_in(bench, path)
    for entry in reversed(entries):
        record = entry.record
        if not isinstance(record, Reading):
            continue
        evaluated = record.evaluated
        yield OneReading(
            entry=entry.number,
            at=entry.at,
            who=entry.who,
            taken=record.taken,
            gauge=record.gauge,
            against=None if record.against is None else record.against if record.of == path else record.of,
            value=sum(evaluated.values) / len(evaluated.values) * (1 if record.of == path else -1),
            expanded=evaluated.expanded,
            state=record.state,
            counts=entry.number in counting,
            of_this=record.state >= since,
            kept=record.kept,
            surprise=record.surprise,
            item=record.item,
            note=record.note,
        )


def _made_in(bench: Bench, path: str) -> int:
    """Number of the state since which a dim is what it is: the last that sized it or renewed its part."""
    part = path.partition("/")[0]
    return max(
        (
            number
            for number, state in bench.states()
            for change in state.changes
            if (change.of == path and change.what == "sized")
            or (change.of == part and change.what == "renewed")
        ),
        default=0,
    )


def _contacts(bench: Bench, paths: set[str]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Contacts of every joint in whose sum one of the dims stands."""
    for name, joint in bench.build.joints.items():
        for place, terms in _sums(joint):
            used = tuple(term.dim.partition("/")[2] for term in terms if term.dim in paths)
            if used:
                yield name, place, used


def _sums(joint: Joint) -> Iterator[tuple[str, Sequence[DimTerm]]]:
    """What places each contact of a joint, its rails and blocks among them."""
    for contact, one in joint.contacts.items():
        yield contact, one.dims
    if joint.guide is None:
        return
    for rail, lines in joint.guide.rails.items():
        yield f"rail {rail}, height", lines.height.dims
        yield f"rail {rail}, side", lines.side.dims
    for block, seats in joint.guide.blocks.items():
        for what, seat in (("height", seats.height), ("side", seats.side)):
            if isinstance(seat, Seat):
                yield f"block {block}, {what}", seat.dims


def items_in_place(bench: Bench, places: Sequence[str]) -> tuple[tuple[str, str | None, int], ...]:
    """What stands in some places now, where anything was exchanged: place, serial or None, entry.

    Args:
        bench: the build as it stands.
        places: parts, or drives as 'X slide/drive'.
    """
    out: dict[str, tuple[str | None, int]] = {}
    for entry, state in bench.having(State):
        for change in state.changes:
            if change.what == "renewed" and change.of in places:
                out[change.of] = change.item, entry.number
    return tuple((place, *found) for place, found in out.items())


def _decided(book: Book, part: str, paths: Sequence[str], counting: set[int]) -> Iterator[Decided]:
    entries = {e.number: e for path in paths for e in book.entries("concession", subject=path)}
    for number in sorted(entries, reverse=True):
        entry = entries[number]
        if isinstance(entry.record, Concession):
            yield Decided(number, entry.at, entry.who, entry.why, entry.record, number in counting)
