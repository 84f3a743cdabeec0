"""What is said of blanks: pieces, the bars and sheets they come off, what is bought and kept, and how good that is.

Sizes in mm, masses in kg, prices in the shop's own money.
"""

from dataclasses import dataclass

from loopwright.making.sawing import Saw
from loopwright.model.blanks import Section
from loopwright.model.build import Units

SOURCES = ("", "stated", "saw", "blank", "cuts", "finished")
"""Where the size of a blank comes from: nobody tells; the build file; the sawing op; the raw faces of the tolerance
chart; the outermost faces as they are first cut, and stock for them; the finished part, and stock for both ends."""


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
        width_within: so much wider or narrower it may be, mm.
        source: where length and width come from, in the order of ``SOURCES``, the less certain of the two.
        base: length that was worked out, without what was added to it, mm; None where nothing was worked out.
        added: stock that was added to that length for cleaning up the ends, mm.
        field: path in the build file of the blank.
        too_small: what the route needs across the bar at least, and what the section gives, mm; None where
            it is enough, or nothing tells.
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
    width_within: float = 0.0
    source: str = ""
    base: float | None = None
    added: float = 0.0
    field: str = ""
    too_small: tuple[float, float] | None = None


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
class LaidPiece:
    """A piece that comes off a strip of a sheet.

    Attributes:
        part: that is made from it.
        mark: of the part; ''.
        start: from the edge of the sheet along the strip, mm.
        run: its side along the strip, mm.
        rise: its side across the strip, mm; where that is less than the strip it is cut down once more.
    """

    part: str
    mark: str
    start: float
    run: float
    rise: float


@dataclass(frozen=True)
class CutStrip:
    """A strip right across a sheet.

    Attributes:
        start: from the edge of the sheet to its near side, mm.
        width: mm.
        pieces: in the order of cutting.
        rest: length that is left of it, mm; 0 for nothing.
        kept: that is worth keeping.
    """

    start: float
    width: float
    pieces: tuple[LaidPiece, ...]
    rest: float
    kept: bool


@dataclass(frozen=True)
class SawnSheet:
    """A sheet, its strips, and the pieces that come off them.

    Attributes:
        sheet: its name in the shop, or of what is to be bought.
        number: which of the sheets of that name, counted from 1.
        material: of it.
        section: its thickness.
        length, width: of it, mm.
        buy: it has to be bought first.
        note: where it lies; ''.
        along: the strips run along its length; else along its width.
        edge: what comes off each edge before it is of use, mm.
        strips: in the order of cutting.
        rest: width and length of what is left beside the last strip, mm; None for nothing.
        kept: that is worth keeping.
    """

    sheet: str
    number: int
    material: str
    section: Section
    length: float
    width: float
    buy: bool
    note: str
    along: bool
    edge: float
    strips: tuple[CutStrip, ...]
    rest: tuple[float, float] | None
    kept: bool


@dataclass(frozen=True)
class Proven:
    """How good the list of one section is.

    Attributes:
        material: of it.
        section: of it.
        priced: what is bought counts by its price; else by length of bar, mm, or area of sheet, mm².
        bought: what is bought, as it counts.
        bound: no list buys less; of sheets, none whose strips run right across the sheet.
        gap: by how much of what is bought the list may be too dear; 0 where it is proven.
        how: how the bound was reached.
        spare: what better use of the shop's own stock might save at most, mm of bar or mm² of sheet; 0 where that is
            proven as well.
    """

    material: str
    section: Section
    priced: bool
    bought: float
    bound: float
    gap: float
    how: str
    spare: float

    @property
    def proven(self) -> bool:
        """No list buys less."""
        return self.gap == 0


@dataclass(frozen=True)
class Order:
    """Bars or sheets to buy.

    Attributes:
        name: of what is offered.
        material: of it.
        section: of it.
        length, width: of one, mm; width None for a bar.
        count: how many.
        price: of one; None where it is not stated.
        mass: of all of them, kg; None where it cannot be told.
        note: who sells it; ''.
    """

    name: str
    material: str
    section: Section
    length: float
    width: float | None
    count: int
    price: float | None
    mass: float | None
    note: str


@dataclass(frozen=True)
class Offcut:
    """What is left of a bar or a sheet and worth keeping.

    Attributes:
        name: that it gets in the shop.
        of: bar or sheet that it is left of.
        number: which of that name.
        material: of it.
        section: of it.
        length, width: mm; width None for a bar.
        mass: kg; None where it cannot be told.
    """

    name: str
    of: str
    number: int
    material: str
    section: Section
    length: float
    width: float | None
    mass: float | None


@dataclass(frozen=True)
class SawList:
    """What to saw.

    Attributes:
        build: name of the machine; units: in which its builder reads.
        pieces: by material and section.
        bars: from which bar each comes, as far as there are bars and lengths for it.
        unplanned: why pieces are on no bar and no sheet, in words, for each section.
        saw: width of its cut, length in its vice, what facing a raw end takes, and the shortest off-cut kept, mm.
        finished: parts that were left out because they are made.
        sheets: from which sheet each piece of plate comes.
        proofs: how good the list of each section is.
        orders: what to buy.
        offcuts: what is kept.
        sawn: parts that were left out because their blanks lie ready.
        castings: parts whose blanks are cast; nothing is sawn for them.
        unknown: made parts of which nobody has said what they are cut from.
        hazards: of sawing them, by name.
    """

    build: str
    units: Units
    pieces: tuple[Piece, ...]
    bars: tuple[Sawn, ...]
    unplanned: tuple[tuple[str, Section, str], ...]
    saw: Saw
    finished: tuple[str, ...]
    sheets: tuple[SawnSheet, ...] = ()
    proofs: tuple[Proven, ...] = ()
    orders: tuple[Order, ...] = ()
    offcuts: tuple[Offcut, ...] = ()
    sawn: tuple[str, ...] = ()
    castings: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()

    @property
    def planned(self) -> frozenset[str]:
        """Parts whose blanks come off a bar or a sheet of the list."""
        off = {cut.part for bar in self.bars for cut in bar.cuts}
        off |= {one.part for sheet in self.sheets for strip in sheet.strips for one in strip.pieces}
        return frozenset(part for one in self.pieces if off & set(one.parts) for part in one.parts)

    @property
    def mass(self) -> float | None:
        """Of what is bought, kg; None where that of something is not known."""
        known = [one.mass for one in self.orders if one.mass is not None]
        return sum(known) if len(known) == len(self.orders) else None

    @property
    def price(self) -> float | None:
        """Of what is bought; None where that of something is not stated."""
        known = [one.price * one.count for one in self.orders if one.price is not None]
        return sum(known) if len(known) == len(self.orders) else None


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
