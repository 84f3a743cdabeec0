"""What lies in the drawer: shim foil and the like, as it was counted last."""

from dataclasses import dataclass

from loopwright.model.build import Units
from loopwright.model.records import Stock
from loopwright.studies.bench import Bench

FOIL = "shim foil"


@dataclass(frozen=True)
class Counted:
    """One thickness in the drawer.

    Attributes:
        what: such as 'shim foil'; size: its thickness, mm; std: standard uncertainty of that.
        count: pieces at the last count.
        entry, at, who: of that count.
        note: anything to know; ''.
        before: the counts before it, newest first: entry and pieces.
    """

    what: str
    size: float
    std: float
    count: int
    entry: int
    at: str
    who: str
    note: str
    before: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Drawer:
    """Everything in the drawer.

    Attributes:
        units: in which the user reads.
        counted: by what it is, then by thickness.
        kinds: what lies in it; 'shim foil' always among them.
    """

    units: Units
    counted: tuple[Counted, ...]
    kinds: tuple[str, ...]


def drawer(bench: Bench) -> Drawer:
    """What lies in the drawer by the last count of each thickness; what has run out is among it.

    Args:
        bench: the build as it stands.
    """
    found: dict[tuple[str, float], list[tuple[int, str, str, Stock]]] = {}
    for entry, record in bench.having(Stock):
        found.setdefault((record.what, record.size), []).append((entry.number, entry.at, entry.who, record))
    counted = []
    for (what, size), every in sorted(found.items()):
        number, at, who, last = every[-1]
        before = tuple((entry, record.count) for entry, _, _, record in reversed(every[:-1]))
        counted.append(Counted(what, size, last.std, last.count, number, at, who, last.note or "", before))
    return Drawer(bench.build.units, tuple(counted), tuple(dict.fromkeys([FOIL, *(c.what for c in counted)])))
