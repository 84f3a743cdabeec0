"""The blanks of a build's parts: what each is cut from, and how large, from what is stated or from the route."""

from collections.abc import Iterator, Sequence
from math import ceil

from loopwright.errors import LoopwrightError
from loopwright.handbook.materials import material as handbook_material
from loopwright.making.blank_sizes import Side, across_plate, runs_along, sides, too_small
from loopwright.making.made_dims import made
from loopwright.model.blanks import Blank, Form, Section
from loopwright.model.build import Build
from loopwright.studies.blank_records import SOURCES, Piece


def pieces_of(build: Build, names: Sequence[str]) -> Iterator[Piece]:
    """One line for all parts that are cut from pieces alike, by material and section, the longest first.

    Args:
        build: the build.
        names: of parts that have a blank.
    """
    alike: dict[tuple[object, ...], list[tuple[str, Piece]]] = {}
    for name in names:
        one = _piece(build, name)
        size = (
            one.material, one.condition, one.section, one.length, one.within, one.width, one.width_within,
            one.op, one.machine, one.too_small,
        )  # fmt: skip
        alike.setdefault(size, []).append((name, one))
    merged = [_merged(build, found) for found in alike.values()]
    order = list(dict.fromkeys((one.material, one.section) for one in merged))
    yield from sorted(
        merged, key=lambda one: (order.index((one.material, one.section)), -(one.length or float("inf")))
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


def mass_of(
    density: float | None, section: Section, length: float | None, width: float | None
) -> float | None:
    """Of a piece of bar or plate, kg; None where it cannot be told.

    Args:
        density: kg/mm³; None where nobody knows it.
        section: of the bar, or thickness of the plate.
        length: mm.
        width: of a plate, mm.
    """
    if density is None or length is None:
        return None
    if section.is_bar:
        return density * section.area * length
    if section.form is Form.PLATE and width is not None:
        return density * section.sizes[0] * width * length
    return None


def made_from_one(one: Piece) -> tuple[str, ...]:
    """For each piece of a line the part by whose name it goes: the first of those that are made from it."""
    each = max(len(one.parts) // one.pieces, 1)
    return one.parts[::each][: one.pieces]


def _merged(build: Build, found: Sequence[tuple[str, Piece]]) -> Piece:
    first = found[0][1]
    names = tuple(name for name, _ in found)
    each = max(part.blank.pieces if (part := build.parts[name]).blank else 1 for name in names)
    many = ceil(len(names) / each)
    mass = None if first.mass is None else first.mass * many
    marks = tuple(build.parts[name].mark or "" for name in names)
    return Piece(
        names, marks, first.material, first.condition, first.section, first.length, first.within, first.width,
        first.grip, many, first.op, first.machine, mass, first.width_within, first.source, first.base,
        first.added, first.field, first.too_small,
    )  # fmt: skip


def _piece(build: Build, name: str) -> Piece:
    part = build.parts[name]
    blank = part.blank
    assert blank is not None
    flat = blank.section.form is Form.PLATE
    told = flat and blank.length is not None and blank.width is not None
    charts = None if told or blank.section.form is Form.CASTING else made(build, parts=[name])
    known = {} if charts is None else sides(build, name, charts)
    along = runs_along(part, known)
    first = None if blank.length is not None else known.get(along)
    second = across_plate(part, known, along) if flat and blank.width is None else None
    length = blank.length if first is None else first.size + blank.grip
    width = blank.width if second is None else second.size
    saw = next((one for one in (first, second) if one is not None and one.op), None)
    return Piece(
        parts=(name,),
        marks=(part.mark or "",),
        material=part.material or "",
        condition=part.condition or "",
        section=blank.section,
        length=length,
        within=0.0 if first is None else first.half,
        width=width if flat else None,
        grip=blank.grip,
        pieces=1,
        op=saw.op if saw is not None else _sawing_op(build, name),
        machine=saw.machine if saw is not None else _saw_of_route(build, name),
        mass=mass_of(density_of(build, part.material or ""), blank.section, length, width),
        width_within=0.0 if second is None else second.half,
        source=_source(blank, first, second),
        base=None if first is None else first.base,
        added=0.0 if first is None else first.added,
        field=f"parts/{name}/blank",
        too_small=None if charts is None else too_small(build, name, along, known, charts),
    )


def _source(blank: Blank, first: Side | None, second: Side | None) -> str:
    """Where the sizes come from; of the two of a plate the less certain."""
    length = "stated" if blank.length is not None else "" if first is None else first.source
    if blank.section.form is not Form.PLATE:
        return length
    width = "stated" if blank.width is not None else "" if second is None else second.source
    return "" if not (length and width) else max(length, width, key=SOURCES.index)


def _sawing_op(build: Build, name: str) -> int:
    return 10 if build.parts[name].route and build.parts[name].route[0].op == "saw" else 0


def _saw_of_route(build: Build, name: str) -> str:
    return (build.parts[name].route[0].machine or "") if _sawing_op(build, name) else ""
