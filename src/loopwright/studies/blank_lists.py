"""What to saw and what to buy: blanks from the routes, the material that the shop has, and bought parts."""

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, isfinite

from loopwright.errors import BuildError, Cancelled, LoopwrightError
from loopwright.handbook.materials import material as handbook_material
from loopwright.handbook.stock_allowances import saw_kerf
from loopwright.making.sawing import Bar as SawBar
from loopwright.making.sawing import Piece as SawPiece
from loopwright.making.sawing import Saw
from loopwright.making.sawing import saw_list as plan_sawing
from loopwright.model.blanks import Bar, Form, Section
from loopwright.model.build import Build, Units
from loopwright.model.parts import Part
from loopwright.studies.route_sheet import OpLine, route_sheet
from loopwright.studies.shop_sheets import chosen_parts

Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]

SAWS = ("bandsaw", "cold saw", "abrasive saw", "hacksaw")
SECONDS = 3.0
"""Time for the plan of one section."""


@dataclass(frozen=True)
class Piece:
    """A blank to be sawn, or a casting to be had.

    Attributes:
        parts: that are made from pieces like it.
        marks: what is written on each; '' where the part has no mark.
        material, condition: of it; '' where nothing is said.
        section: of the bar, thickness of the plate, or a casting.
        length: to saw to, with what it is held by, mm; None where neither blank nor route tells.
        within: so much longer or shorter it may be, mm; 0 where nothing is said.
        width: of a piece of plate, mm; None for a bar, or where it is not known.
        grip: of the length so much is only to hold it by, mm.
        pieces: how many.
        op: number of the sawing op; 0 where the route has none.
        machine: of that op; ''.
        mass: of all of them, kg; None where it cannot be told.
    """

    parts: tuple[str, ...]
    marks: tuple[str, ...]
    material: str
    condition: str
    section: Section
    length: float | None
    within: float
    width: float | None
    grip: float
    pieces: int
    op: int
    machine: str
    mass: float | None


@dataclass(frozen=True)
class SawnPiece:
    """A piece that comes off a bar.

    Attributes:
        part: that is made from it.
        mark: of the part; ''.
        length: to saw to, mm.
        within: so much longer or shorter it may be, mm; 0 where nothing is said. The bar gives the longest.
        at: from the faced end of the bar to the near side of its cut, mm.
    """

    part: str
    mark: str
    length: float
    within: float
    at: float


@dataclass(frozen=True)
class Sawn:
    """A bar and the pieces that come off it.

    Attributes:
        bar: its name in the shop, or of what is to be bought.
        number: which of the bars of that name, counted from 1.
        material: of it.
        section: of it.
        length: of it, mm.
        buy: it has to be bought first.
        note: where it lies; ''.
        cuts: in the order of sawing.
        rest: what is left, mm.
        kept: it is worth keeping.
    """

    bar: str
    number: int
    material: str
    section: Section
    length: float
    buy: bool
    note: str
    cuts: tuple[SawnPiece, ...]
    rest: float
    kept: bool


@dataclass(frozen=True)
class SawList:
    """What to saw.

    Attributes:
        build: name of the machine; units: in which its builder reads.
        pieces: by material and section.
        bars: from which bar each comes, as far as there are bars and lengths for it.
        unplanned: why pieces are on no bar, in words, for each section.
        saw: width of its cut, length in its vice, what facing a raw end takes, and the shortest off-cut kept, mm.
        finished: parts that were left out because they are made.
    """

    build: str
    units: Units
    pieces: tuple[Piece, ...]
    bars: tuple[Sawn, ...]
    unplanned: tuple[tuple[str, Section, str], ...]
    saw: Saw
    finished: tuple[str, ...]


@dataclass(frozen=True)
class InShop:
    """Material of the shop, or as it can be bought.

    Attributes:
        name: of it; length, width: mm; width None for a bar.
        pieces: so many are there; 0 for what can be bought.
        price: of one, in the shop's own money; None where it is not stated.
        mass: of one, kg; None where it cannot be told.
        note: where it lies, or who sells it.
    """

    name: str
    length: float
    width: float | None
    pieces: int
    price: float | None
    mass: float | None
    note: str


@dataclass(frozen=True)
class Needed:
    """Material of one section that is needed.

    Attributes:
        material, condition: of it.
        section: of it.
        pieces: the blanks.
        length: all blanks of a bar with a kerf each, mm; None where a length is not known, or for plate and castings.
        mass: of all blanks, kg; None where it cannot be told.
        there: what the shop has.
        offered: what can be bought.
        order: what to buy of it, and how many; empty where what is there suffices.
        unplanned: why that is not known, in words; ''.
    """

    material: str
    condition: str
    section: Section
    pieces: tuple[Piece, ...]
    length: float | None
    mass: float | None
    there: tuple[InShop, ...]
    offered: tuple[InShop, ...]
    order: tuple[tuple[InShop, int], ...]
    unplanned: str


@dataclass(frozen=True)
class BoughtPart:
    """A part that is bought.

    Attributes:
        name: of it; material, note: ''.
        mark: of it; ''.
        dims: how many of its dims have to be read when it comes.
    """

    name: str
    material: str
    note: str
    mark: str
    dims: int


@dataclass(frozen=True)
class BuyList:
    """What to buy.

    Attributes:
        build: name of the machine; units: in which its builder reads.
        needed: material for blanks, by section.
        bought: bought parts.
        unknown: made parts of which nobody has said what they are cut from.
        kerf: that was counted for each piece, mm.
        finished: parts that were left out because they are made.
    """

    build: str
    units: Units
    needed: tuple[Needed, ...]
    bought: tuple[BoughtPart, ...]
    unknown: tuple[str, ...]
    kerf: float
    finished: tuple[str, ...]


def saw_list(
    build: Build,
    names: Sequence[str] = (),
    *,
    finished: Collection[str] = (),
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> SawList:
    """The blanks to be sawn, and from which bar each.

    Args:
        build: the build, in the units in which the list is to be read.
        names: parts; none names all that have a blank.
        finished: parts that are made.
        progress: called with the sections done and how many there are.
        cancelled: asked now and then; True stops.

    Raises:
        RequestError: there is no such part.
        Cancelled: it was stopped.
    """
    asked = [name for name in chosen_parts(build, names) if build.parts[name].blank is not None]
    open_ = [name for name in asked if name not in finished]
    pieces = [one for one in _pieces(build, open_) if one.section.form is not Form.CASTING]
    sections = list(dict.fromkeys((one.material, one.section) for one in pieces))
    saw, bars, unplanned = saw_of(build), list[Sawn](), list[tuple[str, Section, str]]()
    for number, (material, section) in enumerate(sections):
        if cancelled is not None and cancelled():
            raise Cancelled(f"stopped after {number} of {len(sections)} sections")
        wanted = [one for one in pieces if (one.material, one.section) == (material, section)]
        found, why = _sawn_from(build, material, section, wanted, saw)
        bars += found
        unplanned += [(material, section, why)] if why else []
        if progress is not None:
            progress(number + 1, len(sections))
    gone = tuple(name for name in asked if name in finished)
    return SawList(build.name, build.units, tuple(pieces), tuple(bars), tuple(unplanned), saw, gone)


def saw_of(build: Build) -> Saw:
    """What the shop's saw takes: as its machines state it, the widest of them; else as the handbook has it.

    Facing a raw end is taken to cost the cut and one millimetre (common practice).
    """
    saws = [machine for machine in build.shop.machines.values() if machine.kind in SAWS]
    kerfs = [m.kerf if m.kerf is not None else saw_kerf(m.kind).high for m in saws]  # type: ignore[arg-type]
    kerf = max(kerfs, default=saw_kerf("bandsaw").high)
    grip = max((machine.grip or 0.0 for machine in saws), default=0.0)
    return Saw(kerf, grip, kerf + 1.0, build.shop.keep)


def _sawn_from(
    build: Build, material: str, section: Section, wanted: Sequence[Piece], saw: Saw
) -> tuple[list[Sawn], str]:
    """The bars of one section with what comes off them; or why none was planned."""
    if not section.is_bar:
        return [], "" if section.form is Form.CASTING else "cut it out of the sheet"
    lost = [part for one in wanted if one.length is None for part in one.parts]
    if lost:
        return [], f"nobody has said how long the blank of {', '.join(lost)} is"
    key = "all of one section"
    pieces = [
        SawPiece(name, (one.length or 0.0) + one.within, 1, key)
        for one in wanted
        for name in one.parts[:: max(len(one.parts) // one.pieces, 1)]
    ]
    own = {name: bar for name, bar in build.shop.bars.items() if _same(bar, material, section)}
    bars = [
        SawBar(name, bar.length, None if bar.buy else bar.pieces, key, _price(bar), bar.faced)
        for name, bar in own.items()
    ]
    try:
        found = plan_sawing(pieces, bars, saw, seconds=SECONDS)
    except BuildError as error:
        return [], "; ".join(
            f"{problem.what}: {problem.remedy}".replace(f" of '{key}'", "") for problem in error.problems
        )
    of = {name: (mark, one) for one in wanted for name, mark in zip(one.parts, one.marks)}
    return [
        Sawn(
            bar.bar, bar.number, material, section, bar.length, own[bar.bar].buy, own[bar.bar].note or "",
            tuple(
                SawnPiece(cut.piece, mark, one.length or 0.0, one.within, cut.mark)
                for cut in bar.cuts
                for mark, one in (of[cut.piece],)
            ),
            bar.rest, bar.kept,
        )
        for bar in found.bars
    ], ""  # fmt: skip


def _price(bar: Bar) -> float:
    """What a bar costs; of those without a price the shortest are taken first."""
    return 0.0 if not bar.buy else bar.price or bar.length / 1000


def _same(bar: Bar, material: str, section: Section) -> bool:
    return bar.section == section and bar.material.casefold() == material.casefold()


def buy_list(build: Build, names: Sequence[str] = (), *, finished: Collection[str] = ()) -> BuyList:
    """Material for the blanks, with what the shop has of it, and the bought parts.

    Args:
        build: the build, in the units in which the list is to be read.
        names: parts; none names all.
        finished: parts that are made, or that have come.

    Raises:
        RequestError: there is no such part.
    """
    asked = chosen_parts(build, names)
    open_ = [name for name in asked if name not in finished]
    blanks = [name for name in open_ if build.parts[name].blank is not None]
    groups: dict[tuple[str, str, Section], list[Piece]] = {}
    for piece in _pieces(build, blanks):
        groups.setdefault((piece.material, piece.condition, piece.section), []).append(piece)
    saw = saw_of(build)
    return BuyList(
        build=build.name,
        units=build.units,
        needed=tuple(_needed(build, *key, pieces, saw) for key, pieces in groups.items()),
        bought=tuple(_bought(name, build.parts[name]) for name in open_ if build.parts[name].bought),
        unknown=tuple(
            name for name in open_ if not build.parts[name].bought and build.parts[name].blank is None
        ),
        kerf=saw.kerf,
        finished=tuple(name for name in asked if name in finished),
    )


def density_of(build: Build, material: str) -> float | None:
    """Density of a material of the build's own or of the handbook, kg/mm³; None where nobody knows it."""
    own = build.materials.get(material)
    if own is not None and own.density is not None:
        return own.density * 1e-9
    try:
        return handbook_material(material).density * 1e-9
    except LoopwrightError:
        return None


def _pieces(build: Build, names: Sequence[str]) -> Iterator[Piece]:
    """One line for all parts that are cut from pieces alike, by material and section, the longest first."""
    alike: dict[tuple[object, ...], list[tuple[str, Piece]]] = {}
    for name in names:
        one = _piece(build, name)
        size = (
            one.material,
            one.condition,
            one.section,
            one.length,
            one.within,
            one.width,
            one.op,
            one.machine,
        )
        alike.setdefault(size, []).append((name, one))
    merged = [_merged(build, found) for found in alike.values()]
    order = list(dict.fromkeys((one.material, one.section) for one in merged))
    yield from sorted(
        merged, key=lambda one: (order.index((one.material, one.section)), -(one.length or float("inf")))
    )


def _merged(build: Build, found: Sequence[tuple[str, Piece]]) -> Piece:
    first = found[0][1]
    names = tuple(name for name, _ in found)
    each = max(part.blank.pieces if (part := build.parts[name]).blank else 1 for name in names)
    many = ceil(len(names) / each)
    mass = None if first.mass is None else first.mass * many
    marks = tuple(build.parts[name].mark or "" for name in names)
    return Piece(
        names, marks, first.material, first.condition, first.section, first.length, first.within, first.width,
        first.grip, many, first.op, first.machine, mass,
    )  # fmt: skip


def _piece(build: Build, name: str) -> Piece:
    part = build.parts[name]
    blank = part.blank
    assert blank is not None
    saw = None
    if part.route and part.route[0].op == "saw":
        saw = route_sheet(build, name).ops[0]
    sizes = {} if saw is None else _sawn(saw)
    along = blank.along or next(iter(sizes), "")
    size, half = sizes.get(along, (None, 0.0))
    length = blank.length if blank.length is not None else None if size is None else size + blank.grip
    within = 0.0 if blank.length is not None else half
    others = [sizes[direction][0] for direction in sizes if direction != along]
    flat = blank.section.form is Form.PLATE
    width = blank.width if blank.width is not None else (others[0] if flat and others else None)
    mass = _mass(density_of(build, part.material or ""), blank.section, length, width)
    return Piece(
        (name,), (part.mark or "",), part.material or "", part.condition or "", blank.section, length, within,
        width, blank.grip, 1, 0 if saw is None else saw.number, "" if saw is None else saw.machine, mass,
    )  # fmt: skip


def _sawn(saw: OpLine) -> Mapping[str, tuple[float, float]]:
    """For each direction that is sawn the size and half its tolerance, mm."""
    return {
        cut.direction: (cut.size, cut.half or 0.0)
        for cut in saw.cuts
        if cut.size is not None and isfinite(cut.size)
    }


def _mass(density: float | None, section: Section, length: float | None, width: float | None) -> float | None:
    if density is None or length is None:
        return None
    if section.is_bar:
        return density * section.area * length
    if section.form is Form.PLATE and width is not None:
        return density * section.sizes[0] * width * length
    return None


def _needed(
    build: Build, material: str, condition: str, section: Section, pieces: Sequence[Piece], saw: Saw
) -> Needed:
    lengths = [
        None if one.length is None else one.pieces * (one.length + one.within + saw.kerf) for one in pieces
    ]
    known = section.is_bar and all(length is not None for length in lengths)
    masses = [one.mass for one in pieces]
    bars = [(name, bar) for name, bar in build.shop.bars.items() if _same(bar, material, section)]
    density = density_of(build, material)
    lines = {
        name: InShop(
            name, bar.length, bar.width, 0 if bar.buy else bar.pieces, bar.price,
            _mass(density, section, bar.length, bar.width), bar.note or "",
        )
        for name, bar in bars
    }  # fmt: skip
    sawn, why = _sawn_from(build, material, section, pieces, saw)
    ordered = Counter(bar.bar for bar in sawn if bar.buy)
    return Needed(
        material, condition, section, tuple(pieces), sum(length or 0.0 for length in lengths) if known else None,
        None if any(mass is None for mass in masses) else sum(mass or 0.0 for mass in masses),
        tuple(lines[name] for name, bar in bars if not bar.buy and bar.pieces),
        tuple(lines[name] for name, bar in bars if bar.buy),
        tuple((lines[name], many) for name, many in ordered.items()),
        why,
    )  # fmt: skip


def _bought(name: str, part: Part) -> BoughtPart:
    return BoughtPart(name, part.material or "", part.note or "", part.mark or "", len(part.dims))
