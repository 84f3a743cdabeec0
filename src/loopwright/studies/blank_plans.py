"""Which blank comes off which bar or sheet of the shop, one section at a time, with the proof."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

from loopwright import units
from loopwright.errors import BuildError
from loopwright.handbook.stock_allowances import saw_kerf
from loopwright.making.plates import Blank as PlateBlank
from loopwright.making.plates import CutSheet, PlateSaw, Sheet, Strip, plate_list
from loopwright.making.sawing import Bar as SawBar
from loopwright.making.sawing import Piece as SawPiece
from loopwright.making.sawing import Saw
from loopwright.making.sawing import saw_list as plan_sawing
from loopwright.model.base import INCHES
from loopwright.model.blanks import Bar, Form, Section
from loopwright.model.build import Build
from loopwright.studies.blank_pieces import made_from_one
from loopwright.studies.blank_records import (
    CutStrip,
    LaidPiece,
    Piece,
    Proven,
    Sawn,
    SawnPiece,
    SawnSheet,
)
from loopwright.units import Dimension

SAWS = ("bandsaw", "cold saw", "abrasive saw", "hacksaw")
SECONDS = 5.0
"""Time for the plan of one section."""
_KEY = "all of one section"


@dataclass(frozen=True)
class Planned:
    """What comes off the bars or sheets of one section; or why nothing is planned, in words."""

    bars: tuple[Sawn, ...] = ()
    sheets: tuple[SawnSheet, ...] = ()
    proof: Proven | None = None
    why: str = ""


def saw_of(build: Build) -> Saw:
    """What the shop's saw takes: as its machines state it, the widest of them; else as the handbook has it.

    Facing a raw end, or the raw edge of a sheet, is taken to cost the cut and one millimetre (common practice).
    """
    saws = [machine for machine in build.shop.machines.values() if machine.kind in SAWS]
    kerfs = [m.kerf if m.kerf is not None else saw_kerf(m.kind).high for m in saws]  # type: ignore[arg-type]
    kerf = max(kerfs, default=saw_kerf("bandsaw").high)
    grip = max((machine.grip or 0.0 for machine in saws), default=0.0)
    return Saw(kerf, grip, kerf + 1.0, build.shop.keep)


def planned(build: Build, material: str, section: Section, wanted: Sequence[Piece], saw: Saw) -> Planned:
    """What comes off the bars or sheets of one section.

    Args:
        build: with its shop.
        material: name of it.
        section: of it.
        wanted: the pieces of it.
        saw: what sawing takes.
    """
    if section.form is Form.CASTING:
        return Planned()
    flat = section.form is Form.PLATE
    own = {name: bar for name, bar in build.shop.bars.items() if same_stock(bar, material, section)}
    sized, why = _sized(wanted, flat)
    fit, wrong = _fitting(build, own, sized, saw, flat)
    why = "; ".join(filter(None, (why, wrong)))
    if not fit:
        return Planned(why=why)
    try:
        found = (_off_sheets if flat else _off_bars)(own, material, section, fit, saw)
    except BuildError as error:
        said = [f"{problem.what}: {problem.remedy}" for problem in error.problems]
        return Planned(
            why="; ".join(filter(None, (why, *(one.replace(f" of '{_KEY}'", "") for one in said))))
        )
    return replace(found, why=why)


def same_stock(bar: Bar, material: str, section: Section) -> bool:
    """It is of that material and section."""
    return bar.section == section and bar.material.casefold() == material.casefold()


def _sized(wanted: Sequence[Piece], flat: bool) -> tuple[list[Piece], str]:
    """The pieces whose size is known, and which sizes nobody has said, in words; ''."""
    lost = [one for one in wanted if one.length is None or (flat and one.width is None)]
    if not lost:
        return list(wanted), ""
    what = "length and width" if flat else "length"
    parts, fields = (
        ", ".join(part for one in lost for part in one.parts),
        ", ".join(one.field for one in lost),
    )
    why = f"neither the blank nor the route of {parts} says how long to saw it: state {what} under {fields}"
    return [one for one in wanted if one not in lost], why


def _fitting(
    build: Build, own: Mapping[str, Bar], wanted: Sequence[Piece], saw: Saw, flat: bool
) -> tuple[list[Piece], str]:
    """The pieces that come off a bar or sheet of the shop, and why others do not, in words; ''."""
    kind = "sheet" if flat else "bar"
    there = {name: bar for name, bar in own.items() if bar.buy or bar.pieces}
    if not there:
        return [], (
            f"the shop has no {kind} of it, and none is offered: enter one under shop/bars, what can be bought "
            "with buy: true"
        )
    bare = [name for name, bar in there.items() if flat and bar.width is None]
    if bare:
        return [], f"shop/bars/{bare[0]} has no width: state it, a sheet has two sides"
    fit = [one for one in wanted if any(_comes_off(one, bar, saw, flat) for bar in there.values())]
    large = [one for one in wanted if one not in fit]
    if not large:
        return fit, ""
    parts = ", ".join(part for one in large for part in one.parts)
    longest = max(there.values(), key=lambda bar: bar.length * (bar.width or 1.0))
    room = _length(build, _room(longest, saw, flat))
    gives = f"{room} x {_length(build, (longest.width or 0.0) - 2 * _edge(longest, saw))}" if flat else room
    return (
        fit,
        f"{parts}: no {kind} is large enough; the largest gives {gives}: enter a larger one under shop/bars",
    )


def _comes_off(one: Piece, bar: Bar, saw: Saw, flat: bool) -> bool:
    long = (one.length or 0.0) + one.within
    if not flat:
        return long <= _room(bar, saw, flat) + 1e-6
    wide = (one.width or 0.0) + one.width_within
    has = sorted((bar.length - 2 * _edge(bar, saw), (bar.width or 0.0) - 2 * _edge(bar, saw)))
    return min(long, wide) <= has[0] + 1e-6 and max(long, wide) <= has[1] + 1e-6


def _edge(bar: Bar, saw: Saw) -> float:
    """What a raw edge, or a raw end, loses, mm."""
    return 0.0 if bar.faced else saw.end_loss


def _room(bar: Bar, saw: Saw, flat: bool) -> float:
    """The longest piece that comes off a bar, or along a sheet, mm."""
    if flat:
        return bar.length - 2 * _edge(bar, saw)
    return bar.length - _edge(bar, saw) - (saw.grip + saw.kerf if saw.grip else 0.0)


def _length(build: Build, size: float) -> str:
    """A length to the graduation of a rule, in the unit of the build, never too long."""
    unit, places = build.units.length, 2 if build.units.length in INCHES else 1
    shown = floor(float(units.convert(size, Dimension.LENGTH, unit)) * 10**places + 1e-6) / 10**places
    return f"{shown:.{places}f}".rstrip("0").rstrip(".") + f" {unit}"


def _price(bar: Bar, priced: bool) -> float:
    """What one costs; where not all have a price the least length, or area, is bought."""
    if not bar.buy:
        return 0.0
    if priced:
        return bar.price or 0.0
    return bar.length / 1e3 if bar.width is None else bar.length * bar.width / 1e6


def _priced(own: Mapping[str, Bar]) -> bool:
    return all(bar.price for bar in own.values() if bar.buy)


def _off_bars(
    own: Mapping[str, Bar], material: str, section: Section, wanted: Sequence[Piece], saw: Saw
) -> Planned:
    of = _names(wanted)
    pieces = [SawPiece(name, (one.length or 0.0) + one.within, 1, _KEY) for name, (_, one) in of.items()]
    priced = _priced(own)
    bars = [
        SawBar(name, bar.length, None if bar.buy else bar.pieces, _KEY, _price(bar, priced), bar.faced)
        for name, bar in own.items()
    ]
    found = plan_sawing(pieces, bars, saw, seconds=SECONDS)
    (proof,) = found.proofs
    unit = 1.0 if priced else 1e3
    return Planned(
        tuple(
            Sawn(
                bar.bar, bar.number, material, section, bar.length, own[bar.bar].buy, own[bar.bar].note or "",
                tuple(_cut(cut.piece, cut.mark, *of[cut.piece]) for cut in bar.cuts), bar.rest, bar.kept,
            )
            for bar in found.bars
        ),
        (),
        Proven(
            material, section, priced, proof.cost * unit, proof.bound * unit, proof.gap, proof.how, proof.short
        ),
    )  # fmt: skip


def _names(wanted: Sequence[Piece]) -> dict[str, tuple[str, Piece]]:
    """For each piece, by the part whose name it goes by: that part's mark, and its line."""
    return {
        name: (dict(zip(one.parts, one.marks))[name], one) for one in wanted for name in made_from_one(one)
    }


def _cut(name: str, at: float, mark: str, one: Piece) -> SawnPiece:
    return SawnPiece(name, mark, one.length or 0.0, one.within, at)


def _off_sheets(
    own: Mapping[str, Bar], material: str, section: Section, wanted: Sequence[Piece], saw: Saw
) -> Planned:
    of = _names(wanted)
    blanks = [
        PlateBlank(name, (one.length or 0.0) + one.within, (one.width or 0.0) + one.width_within, 1, _KEY)
        for name, (_, one) in of.items()
    ]
    priced = _priced(own)
    # an edge that is clean already loses nothing: the sheet counts as larger by what the others lose
    more = {name: 2 * saw.end_loss if bar.faced else 0.0 for name, bar in own.items()}
    sheets = [
        Sheet(
            name, bar.length + more[name], (bar.width or 0.0) + more[name], None if bar.buy else bar.pieces,
            _KEY, _price(bar, priced),
        )
        for name, bar in own.items()
    ]  # fmt: skip
    found = plate_list(blanks, sheets, PlateSaw(saw.kerf, saw.end_loss, saw.least_offcut), seconds=SECONDS)
    (proof,) = found.proofs
    unit = 1.0 if priced else 1e6
    marks = {name: mark for name, (mark, _) in of.items()}
    return Planned(
        (),
        tuple(_sheet(one, own[one.sheet], material, section, marks, saw) for one in found.sheets),
        Proven(
            material, section, priced, proof.cost * unit, proof.bound * unit, proof.gap, proof.how,
            max(proof.own - proof.own_bound, 0.0) if proof.own > proof.own_bound * (1 + 1e-6) else 0.0,
        ),
    )  # fmt: skip


def _sheet(
    one: CutSheet, bar: Bar, material: str, section: Section, marks: Mapping[str, str], saw: Saw
) -> SawnSheet:
    width = bar.width or 0.0
    # places are told from the edges that are there
    edge, shift = (0.0, -saw.end_loss) if bar.faced else (saw.end_loss, 0.0)
    right = (bar.length if one.along else width) - 2 * edge
    strips = tuple(_strip(strip, right, edge, shift, marks, saw) for strip in one.strips)
    rest = (one.rest, right) if one.rest > max(saw.kerf, 0.1) else None
    return SawnSheet(
        one.sheet, one.number, material, section, bar.length, width, bar.buy, bar.note or "", one.along, edge,
        strips, rest, rest is not None and one.kept,
    )  # fmt: skip


def _strip(
    strip: Strip, right: float, edge: float, shift: float, marks: Mapping[str, str], saw: Saw
) -> CutStrip:
    pieces = tuple(
        LaidPiece(laid.blank, marks[laid.blank], laid.start + shift, laid.run, laid.rise)
        for laid in strip.blanks
    )
    end = pieces[-1].start + pieces[-1].run + saw.kerf
    rest = max(edge + right - end, 0.0)
    kept = min(rest, strip.rise) >= max(saw.least_offcut, saw.kerf)
    return CutStrip(strip.start + shift, strip.rise, pieces, rest, kept)
