"""What is wrong with the pieces, bars and saw of a saw list; every mistake, each with its remedy."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import isfinite

from loopwright.errors import Problem
from loopwright.making.sawing_records import Bar, Metal, Piece, Saw

LONGEST = 1e6
"""mm; a longer bar is a slip of the decimal point."""
MOST_PIECES = 10_000


def mistakes(
    pieces: Sequence[Piece], bars: Sequence[Bar], saw: Saw, metals: Mapping[str, Metal]
) -> tuple[Problem, ...]:
    """All mistakes in what is given; none where a saw list can be tried."""
    found = [*_of_saw(saw), *_of_metals(metals), *_of_pieces(pieces), *_of_bars(bars)]
    return tuple(found or [*_too_long(pieces, bars, saw)])


def usable(bar: Bar, saw: Saw) -> float:
    """The longest piece that can be sawn off a bar, mm."""
    run_out = saw.kerf if saw.grip == 0 else 0.0
    return bar.length - (0.0 if bar.faced else saw.end_loss) - saw.grip - saw.kerf + run_out


def _of_saw(saw: Saw) -> Iterator[Problem]:
    for field in ("kerf", "grip", "end_loss", "least_offcut"):
        value = getattr(saw, field)
        if not (isfinite(value) and 0 <= value <= LONGEST):
            yield Problem(f"saw/{field}", f"{value:g} mm", "give zero or more")


def _of_metals(metals: Mapping[str, Metal]) -> Iterator[Problem]:
    for section, metal in metals.items():
        for field, unit in (("area", "mm²"), ("density", "kg/m³")):
            value = getattr(metal, field)
            if not (isfinite(value) and value > 0):
                yield Problem(f"metals/{section}/{field}", f"{value:g} {unit}", "give more than zero")


def _of_pieces(pieces: Sequence[Piece]) -> Iterator[Problem]:
    for piece in pieces:
        yield from _length(f"pieces/{piece.name}/length", piece.length)
        if piece.count < 0:
            yield Problem(f"pieces/{piece.name}/count", f"{piece.count}", "give zero or more")
    for section in sorted({piece.section for piece in pieces}):
        total = sum(piece.count for piece in pieces if piece.section == section)
        if total > MOST_PIECES:
            what = f"{total} pieces of '{section}'"
            yield Problem("pieces", what, f"make lists of {MOST_PIECES} pieces or fewer")


def _of_bars(bars: Sequence[Bar]) -> Iterator[Problem]:
    for bar in bars:
        field = f"bars/{bar.name}"
        yield from _length(f"{field}/length", bar.length)
        if not (isfinite(bar.price) and bar.price >= 0):
            yield Problem(
                f"{field}/price", f"{bar.price:g}", "give zero for your own bars, or what one costs"
            )
        if bar.count is None and bar.price == 0:
            what = "as many as needed, and no price"
            yield Problem(f"{field}/count", what, "say how many there are, or what one costs")
        if bar.count is not None and bar.count < 0:
            yield Problem(f"{field}/count", f"{bar.count}", "give zero or more")
    for (section, name), times in Counter((bar.section, bar.name) for bar in bars).items():
        if times > 1:
            what = f"{times} entries of '{section}' have this name"
            yield Problem(f"bars/{name}", what, "give each its own, so that it can be told which to saw")


def _length(field: str, length: float) -> Iterator[Problem]:
    if not (isfinite(length) and 0 < length <= LONGEST):
        yield Problem(field, f"{length:g} mm", f"give more than zero and no more than {LONGEST:g} mm")


def _too_long(pieces: Sequence[Piece], bars: Sequence[Bar], saw: Saw) -> Iterator[Problem]:
    """Pieces for which there is no bar, or only shorter ones."""
    for piece in pieces:
        if not piece.count:
            continue
        of_it = [bar for bar in bars if bar.section == piece.section and bar.count != 0]
        field = f"pieces/{piece.name}"
        if not of_it:
            what = f"there is no bar of '{piece.section}'"
            yield Problem(
                f"{field}/section", what, "enter one that is in the rack, or a length that can be bought"
            )
            continue
        best = max(of_it, key=lambda bar: (usable(bar, saw), bar.name))
        if piece.length > usable(best, saw) + 1e-6:
            need = piece.length + best.length - usable(best, saw)
            what = (
                f"{piece.length:.6g} mm is longer than can be sawn from any bar of '{piece.section}': "
                f"'{best.name}', {best.length:.6g} mm long, gives {max(usable(best, saw), 0):.6g} mm at most"
            )
            yield Problem(f"{field}/length", what, f"get a bar of {need:.6g} mm or longer, or make it of two")
