"""What goes into a saw list and what comes out of it, as plain records. Lengths in mm, masses in kg."""

from collections.abc import Callable
from dataclasses import dataclass

Progress = Callable[[int, int], None]
Cancel = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Piece:
    """Pieces of one length that are wanted.

    Attributes:
        name: of the part.
        length: as it leaves the saw, with all that is left for facing and for the saw's error, mm.
        count: how many.
        section: section and material in one key, as 'round 40, C45'; pieces are sawn from bars of the same key.
    """

    name: str
    length: float
    count: int
    section: str


@dataclass(frozen=True, slots=True)
class Bar:
    """Bars of one length, in the rack or to be bought.

    Attributes:
        name: what is written on it, or the order number; no two bars of a section have the same.
        length: mm.
        count: how many there are; None: as many as are needed, which must then be bought.
        section: section and material in one key.
        price: of one bar; 0 for what is in the rack.
        faced: whether its end is sawn already, as that of an off-cut; it then loses nothing for facing.
    """

    name: str
    length: float
    count: int | None
    section: str
    price: float = 0.0
    faced: bool = False


@dataclass(frozen=True, slots=True)
class Saw:
    """What the saw takes.

    Attributes:
        kerf: width of the cut, mm.
        grip: length at the end of a bar that cannot be sawn, because the vice holds it, mm; once a bar.
        end_loss: what facing the raw end of a bar takes, its cut included, mm; once a bar.
        least_offcut: the shortest off-cut worth keeping, mm, the grip included.
    """

    kerf: float
    grip: float = 0.0
    end_loss: float = 0.0
    least_offcut: float = 0.0


@dataclass(frozen=True, slots=True)
class Metal:
    """What a section weighs.

    Attributes:
        area: of the section, mm².
        density: kg/m³.
    """

    area: float
    density: float

    def mass(self, length: float) -> float:
        """Of a length in mm, kg.

        >>> round(Metal(area=1000.0, density=7850.0).mass(1000.0), 3)
        7.85
        """
        return self.area * length * self.density * 1e-9


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut.

    Attributes:
        piece: name of the part that is sawn off.
        length: of the piece, mm: where the stop is set when the bar is pushed up after each cut.
        mark: from the faced end of the bar to the near side of this cut, mm, where all are marked out at once.
    """

    piece: str
    length: float
    mark: float


@dataclass(frozen=True, slots=True)
class SawnBar:
    """One bar and how it is sawn.

    Attributes:
        bar: its name.
        number: which of the bars of that name, counted from 1.
        section: section and material.
        length: of the bar, mm.
        price: what was paid for it; 0 if it was in the rack.
        facing: what is taken off its end first, mm.
        cuts: in the order to saw, the longest piece first while there is most bar for the vice to hold.
        rest: what is left, mm.
        kept: whether the rest is worth keeping.
    """

    bar: str
    number: int
    section: str
    length: float
    price: float
    facing: float
    cuts: tuple[Cut, ...]
    rest: float
    kept: bool

    @property
    def sawdust(self) -> float:
        """What the kerfs take, mm."""
        return self.length - self.facing - self.rest - sum(cut.length for cut in self.cuts)


@dataclass(frozen=True, slots=True)
class Offcut:
    """What is left of a bar and goes back into the rack.

    Attributes:
        bar: the bar it comes from.
        number: which of the bars of that name.
        section: section and material.
        length: mm.
    """

    bar: str
    number: int
    section: str
    length: float

    def as_bar(self, name: str) -> Bar:
        """The off-cut as a bar for the next saw list, its end faced."""
        return Bar(name, self.length, 1, self.section, faced=True)


@dataclass(frozen=True, slots=True)
class Purchase:
    """Bars to buy.

    Attributes:
        bar: which.
        section: section and material.
        length: of one, mm.
        count: how many.
        price: of one.
        mass: of all of them, kg; None where the metal is not known.
    """

    bar: str
    section: str
    length: float
    count: int
    price: float
    mass: float | None

    @property
    def cost(self) -> float:
        """Of all of them."""
        return self.count * self.price


@dataclass(frozen=True, slots=True)
class Proof:
    """How good the list of one section is.

    Attributes:
        section: section and material.
        cost: of what is bought.
        bound: no list costs less.
        how: how the bound was reached.
        short: second aim: by how much more the rack could be worth at most, as mm of the longest bar, at 0 proven.
        second: how that was reached.
    """

    section: str
    cost: float
    bound: float
    how: str
    short: float
    second: str

    @property
    def gap(self) -> float:
        """By how much of its cost the list may be too dear; 0 where no list is cheaper."""
        return gap(self.cost, self.bound)


@dataclass(frozen=True, slots=True)
class SawList:
    """Which piece comes from which bar, what is kept, what is to be bought, and how good that is.

    Attributes:
        bars: that are sawn, section by section, those from the rack first.
        purchases: what to buy.
        proofs: how good the list is, for each section.
    """

    bars: tuple[SawnBar, ...]
    purchases: tuple[Purchase, ...]
    proofs: tuple[Proof, ...]

    @property
    def cost(self) -> float:
        """Of what is bought."""
        return sum(purchase.cost for purchase in self.purchases)

    @property
    def bound(self) -> float:
        """No list costs less."""
        return sum(proof.bound for proof in self.proofs)

    @property
    def gap(self) -> float:
        """By how much of its cost the list may be too dear; 0 where no list is cheaper."""
        return gap(self.cost, self.bound)

    @property
    def mass(self) -> float | None:
        """Of what is bought, kg; None where the metal of a purchase is not known."""
        masses = [purchase.mass for purchase in self.purchases]
        known = [mass for mass in masses if mass is not None]
        return sum(known) if len(known) == len(masses) else None

    @property
    def offcuts(self) -> tuple[Offcut, ...]:
        """What goes back into the rack."""
        return tuple(Offcut(b.bar, b.number, b.section, b.rest) for b in self.bars if b.kept)

    @property
    def scrap(self) -> tuple[Offcut, ...]:
        """Ends too short to keep."""
        return tuple(
            Offcut(b.bar, b.number, b.section, b.rest) for b in self.bars if b.rest > 0 and not b.kept
        )


def gap(cost: float, bound: float) -> float:
    """The part of a cost that is not proven; nothing where it is lost in rounding.

    >>> gap(100.0, 99.0)
    0.01
    """
    return 0.0 if cost - bound <= 1e-6 * max(abs(cost), 1e-9) else (cost - bound) / cost
