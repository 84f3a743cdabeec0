"""The saw list: which piece from which bar or sheet, in the order of sawing, with sizes to set and to mark out."""

from loopwright.sheets.blank_words import proof_words, source_words
from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, section_words, units_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.blank_records import CutStrip, Piece, Proven, SawList, Sawn, SawnSheet

KIND = "saw list"


def saw_list_pdf(found: SawList, sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """The saw list as a PDF.

    Args:
        found: what to saw.
        sizes: writes the sizes.
        paper: that it is printed on.
    """
    rest = [one for one in found.pieces if not found.planned & set(one.parts)]
    proofs = {(one.material, one.section): one for one in found.proofs}
    why = {(material, section): words for material, section, words in found.unplanned}
    sheet = {
        "foot": f"{KIND}, {found.build}",
        "head": {"kind": KIND, "build": "", "name": found.build, "facts": _facts(found, sizes)},
        "sections": [
            _section(
                proofs[key],
                [bar for bar in found.bars if (bar.material, bar.section) == key],
                [one for one in found.sheets if (one.material, one.section) == key],
                [one for one in found.pieces if (one.material, one.section) == key],
                sizes,
            )
            for key in proofs
        ],
        "pieces": [_piece(one, why.get((one.material, one.section), ""), sizes) for one in rest],
    }
    return pdf_of("saw_list", {"title": f"Saw list, {found.build}", "sheets": [sheet]}, paper)


def _facts(found: SawList, sizes: ShopSizes) -> list[list[str]]:
    saw = found.saw
    words = [f"cut {sizes.about(saw.kerf)} wide", f"facing a raw end {sizes.about(saw.end_loss)}"]
    words += [f"{sizes.about(saw.grip)} in the vice"] if saw.grip else []
    facts = [
        ["sizes in", units_words(sizes)],
        ["saw", ", ".join(words)],
        ["off-cuts", f"keep them from {sizes.about(saw.least_offcut)} on, marked with material and length"],
    ]
    facts += [["sawn already", ", ".join(found.sawn)]] if found.sawn else []
    return facts + ([["made already", ", ".join(found.finished)]] if found.finished else [])


def _section(
    proof: Proven, bars: list[Sawn], sheets: list[SawnSheet], pieces: list[Piece], sizes: ShopSizes
) -> Data:
    told = [
        f"{', '.join(one.parts)}: {source_words(one, sizes)}" for one in pieces if source_words(one, sizes)
    ]
    return {
        "name": f"{proof.material}, {section_words(proof.section, sizes)}",
        "proof": proof_words(proof, sizes),
        "told": told,
        "bars": [_bar(bar, sizes) for bar in bars],
        "sheets": [_sheet(one, sizes) for one in sheets],
    }


def _sheet(one: SawnSheet, sizes: ShopSizes) -> Data:
    across = f"{sizes.length(one.length)} x {sizes.length(one.width)}"
    runs = "along the length" if one.along else "across the length"
    edge = f", {sizes.about(one.edge)} off each edge" if one.edge else ""
    return {
        "name": one.sheet + (f", no. {one.number}" if one.number > 1 else ""),
        "material": f"{one.material}, {section_words(one.section, sizes)}",
        "length": f"{across}; strips {runs}{edge}",
        "buy": one.buy,
        "note": one.note,
        "strips": [_strip(number + 1, strip, sizes) for number, strip in enumerate(one.strips)],
        "rest": "" if one.rest is None else _left(one.rest, one.kept, sizes),
    }


def _strip(number: int, one: CutStrip, sizes: ShopSizes) -> Data:
    cut_down = [piece for piece in one.pieces if piece.rise < one.width - 1e-6]
    return {
        "name": f"strip {number}",
        "width": sizes.sawn(one.width),
        "at": sizes.sawn(one.start)[0],
        "rest": _left((one.width, one.rest), one.kept, sizes) if one.rest > 1 else "",
        "pieces": [
            {
                "part": piece.part,
                "mark": piece.mark,
                "run": sizes.sawn(piece.run),
                "at": sizes.sawn(piece.start)[0],
                "rise": f"cut down to {sizes.sawn(piece.rise)[0]}" if piece in cut_down else "",
            }
            for piece in one.pieces
        ],
    }


def _left(sides: tuple[float, float], kept: bool, sizes: ShopSizes) -> str:
    return f"{'keep' if kept else 'scrap'} {sizes.about(max(sides))} x {sizes.about(min(sides))}"


def _bar(bar: Sawn, sizes: ShopSizes) -> Data:
    return {
        "name": bar.bar + (f", no. {bar.number}" if bar.number > 1 else ""),
        "material": f"{bar.material}, {section_words(bar.section, sizes)}",
        "length": f"{sizes.length(bar.length)} long",
        "buy": bar.buy,
        "note": bar.note,
        "cuts": [
            {
                "part": cut.part,
                "mark": cut.mark,
                "length": _to_saw(cut.length, cut.within, sizes),
                "at": sizes.sawn(cut.at)[0],
            }
            for cut in bar.cuts
        ],
        "rest": f"{'keep' if bar.kept else 'scrap'} {sizes.about(bar.rest)}" if bar.rest > 0 else "",
    }


def _to_saw(length: float, within: float, sizes: ShopSizes) -> list[str]:
    return sizes.working(length, within) if within else sizes.sawn(length)


def _piece(one: Piece, why: str, sizes: ShopSizes) -> Data:
    marks = [mark for mark in one.marks if mark]
    why = why or source_words(one, sizes)
    sides = [size for size in (one.length, one.width) if size is not None]
    return {
        "parts": ", ".join(one.parts),
        "marks": ", ".join(marks),
        "material": ", ".join(filter(None, (one.material, one.condition))),
        "section": section_words(one.section, sizes),
        "count": str(one.pieces),
        "length": [" x ".join(one) for one in zip(*map(sizes.sawn, sides))] or ["not stated"],
        "why": why,
    }
