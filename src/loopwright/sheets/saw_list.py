"""The saw list: which piece from which bar, in the order of sawing, with lengths to set and to mark out."""

from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, section_words, units_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.blank_lists import Piece, SawList, Sawn

KIND = "saw list"


def saw_list_pdf(found: SawList, sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """The saw list as a PDF.

    Args:
        found: what to saw.
        sizes: writes the sizes.
        paper: that it is printed on.
    """
    planned = {cut.part for bar in found.bars for cut in bar.cuts}
    rest = [one for one in found.pieces if not planned & set(one.parts)]
    why = {(material, section): words for material, section, words in found.unplanned}
    sheet = {
        "foot": f"{KIND}, {found.build}",
        "head": {"kind": KIND, "build": "", "name": found.build, "facts": _facts(found, sizes)},
        "bars": [_bar(bar, sizes) for bar in found.bars],
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
    return facts + ([["made already", ", ".join(found.finished)]] if found.finished else [])


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
