"""What to saw and what to buy: blanks from the routes, the material that the shop has, and bought parts."""

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence

from loopwright.errors import Cancelled
from loopwright.handbook.cautions import cautions_of_material
from loopwright.handbook.operations import operation
from loopwright.making.sawing import Saw
from loopwright.model.blanks import Form, Section
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.studies.blank_pieces import density_of, mass_of, pieces_of
from loopwright.studies.blank_plans import SAWS, SECONDS, Planned, planned, same_stock, saw_of
from loopwright.studies.blank_records import (
    BoughtPart,
    BuyList,
    InShop,
    Needed,
    Offcut,
    Order,
    Piece,
    Proven,
    SawList,
    Sawn,
    SawnPiece,
    SawnSheet,
)
from loopwright.studies.shop_sheets import chosen_parts

__all__ = [
    "SAWS",
    "SECONDS",
    "BoughtPart",
    "BuyList",
    "InShop",
    "Needed",
    "Offcut",
    "Order",
    "Piece",
    "Proven",
    "SawList",
    "Sawn",
    "SawnPiece",
    "SawnSheet",
    "buy_list",
    "density_of",
    "saw_list",
    "saw_of",
]

HEAVY = 25.0
"""What nobody should lift alone, kg (common practice)."""
Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]


def saw_list(
    build: Build,
    names: Sequence[str] = (),
    *,
    finished: Collection[str] = (),
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> SawList:
    """The blanks to be sawn, from which bar or sheet each, what to buy and what to keep, with the proof.

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
    chosen = chosen_parts(build, names)
    asked = [name for name in chosen if build.parts[name].blank is not None]
    open_ = [name for name in asked if name not in finished]
    ready = [name for name in open_ if name in build.shop.sawn]
    every = list(pieces_of(build, [name for name in open_ if name not in ready]))
    pieces = [one for one in every if one.section.form is not Form.CASTING]
    saw, plans = saw_of(build), dict[tuple[str, Section], Planned]()
    sections = list(dict.fromkeys((one.material, one.section) for one in pieces))
    for number, (material, section) in enumerate(sections):
        if cancelled is not None and cancelled():
            raise Cancelled(f"stopped after {number} of {len(sections)} sections")
        wanted = [one for one in pieces if (one.material, one.section) == (material, section)]
        plans[material, section] = planned(build, material, section, wanted, saw)
        if progress is not None:
            progress(number + 1, len(sections))
    bars = tuple(bar for plan in plans.values() for bar in plan.bars)
    sheets = tuple(sheet for plan in plans.values() for sheet in plan.sheets)
    used = {*(bar.bar for bar in bars), *(one.sheet for one in sheets)}
    return SawList(
        build.name, build.units, tuple(pieces), bars,
        tuple((*key, plan.why) for key, plan in plans.items() if plan.why), saw,
        tuple(name for name in asked if name in finished), sheets,
        tuple(plan.proof for plan in plans.values() if plan.proof is not None),
        tuple(_orders(build, bars, sheets)), tuple(_offcuts(build, bars, sheets)), tuple(ready),
        tuple(part for one in every if one.section.form is Form.CASTING for part in one.parts),
        tuple(_unknown(build, chosen, finished)), tuple(_hazards(build, pieces, used)),
    )  # fmt: skip


def _hazards(build: Build, pieces: Sequence[Piece], used: Collection[str]) -> Iterator[str]:
    """Names of hazards: of the saw, of its wheel where it has one, of the materials, and of heavy bars and sheets."""
    if not pieces:
        return
    wheel = any(machine.kind == "abrasive saw" for machine in build.shop.machines.values())
    of_saw = [name for name in operation("saw").cautions if wheel or name != "grinding wheel"]
    of_material = [name for one in pieces for name in cautions_of_material(one.material)]
    bars = [build.shop.bars[name] for name in used]
    masses = [mass_of(density_of(build, bar.material), bar.section, bar.length, bar.width) for bar in bars]
    heavy = ["lifting"] if any(mass is not None and mass > HEAVY for mass in masses) else []
    yield from dict.fromkeys((*of_saw, *of_material, *heavy))


def _unknown(build: Build, names: Sequence[str], finished: Collection[str]) -> Iterator[str]:
    """Made parts of which nobody has said what they are cut from."""
    for name in names:
        part = build.parts[name]
        if not part.bought and part.blank is None and name not in finished:
            yield name


def _orders(build: Build, bars: Sequence[Sawn], sheets: Sequence[SawnSheet]) -> Iterator[Order]:
    many = Counter(bar.bar for bar in bars if bar.buy) + Counter(one.sheet for one in sheets if one.buy)
    for name, count in many.items():
        one = build.shop.bars[name]
        mass = mass_of(density_of(build, one.material), one.section, one.length, one.width)
        yield Order(
            name, one.material, one.section, one.length, one.width, count, one.price,
            None if mass is None else count * mass, one.note or "",
        )  # fmt: skip


def _offcuts(build: Build, bars: Sequence[Sawn], sheets: Sequence[SawnSheet]) -> Iterator[Offcut]:
    """What is kept, each piece under a name of its own."""
    taken = set(build.shop.bars)

    def kept(of: str, number: int, one: Sawn | SawnSheet, length: float, width: float | None) -> Offcut:
        name = _fresh(of, taken)
        mass = mass_of(density_of(build, one.material), one.section, length, width)
        return Offcut(name, of, number, one.material, one.section, length, width, mass)

    for bar in bars:
        if bar.kept:
            yield kept(bar.bar, bar.number, bar, bar.rest, None)
    for sheet in sheets:
        pairs = [(strip.rest, strip.width) for strip in sheet.strips if strip.kept]
        pairs += [sheet.rest] if sheet.kept and sheet.rest is not None else []
        for pair in pairs:
            yield kept(sheet.sheet, sheet.number, sheet, max(pair), min(pair))


def _fresh(of: str, taken: set[str]) -> str:
    """The next free name of an off-cut: 'O1 flat 50 x 15 off-cut 2'."""
    stem, number = re.sub(r" off-cut \d+$", "", of), 1
    while f"{stem} off-cut {number}" in taken:
        number += 1
    taken.add(f"{stem} off-cut {number}")
    return f"{stem} off-cut {number}"


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
    blanks = [name for name in open_ if build.parts[name].blank is not None and name not in build.shop.sawn]
    groups: dict[tuple[str, str, Section], list[Piece]] = {}
    for piece in pieces_of(build, blanks):
        groups.setdefault((piece.material, piece.condition, piece.section), []).append(piece)
    saw = saw_of(build)
    return BuyList(
        build=build.name,
        units=build.units,
        needed=tuple(_needed(build, *key, pieces, saw) for key, pieces in groups.items()),
        bought=tuple(_bought(name, build.parts[name]) for name in open_ if build.parts[name].bought),
        unknown=tuple(_unknown(build, asked, finished)),
        kerf=saw.kerf,
        finished=tuple(name for name in asked if name in finished),
    )


def _needed(
    build: Build, material: str, condition: str, section: Section, pieces: Sequence[Piece], saw: Saw
) -> Needed:
    lengths = [
        None if one.length is None else one.pieces * (one.length + one.within + saw.kerf) for one in pieces
    ]
    known = section.is_bar and all(length is not None for length in lengths)
    masses = [one.mass for one in pieces]
    bars = [(name, bar) for name, bar in build.shop.bars.items() if same_stock(bar, material, section)]
    density = density_of(build, material)
    lines = {
        name: InShop(
            name, bar.length, bar.width, 0 if bar.buy else bar.pieces, bar.price,
            mass_of(density, section, bar.length, bar.width), bar.note or "",
        )
        for name, bar in bars
    }  # fmt: skip
    plan = planned(build, material, section, pieces, saw)
    ordered = Counter(bar.bar for bar in plan.bars if bar.buy)
    ordered += Counter(sheet.sheet for sheet in plan.sheets if sheet.buy)
    return Needed(
        material, condition, section, tuple(pieces), sum(length or 0.0 for length in lengths) if known else None,
        None if any(mass is None for mass in masses) else sum(mass or 0.0 for mass in masses),
        tuple(lines[name] for name, bar in bars if not bar.buy and bar.pieces),
        tuple(lines[name] for name, bar in bars if bar.buy),
        tuple((lines[name], many) for name, many in ordered.items()),
        plan.why,
    )  # fmt: skip


def _bought(name: str, part: Part) -> BoughtPart:
    return BoughtPart(name, part.material or "", part.note or "", part.mark or "", len(part.dims))
