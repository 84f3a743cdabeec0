"""The buy list: material for blanks with what the shop has of it, and bought parts."""

from collections.abc import Sequence

from loopwright.model.blanks import Form
from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, section_words, units_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.blank_lists import BuyList, InShop, Needed, Piece

KIND = "buy list"


def buy_list_pdf(found: BuyList, sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """The buy list as a PDF.

    Args:
        found: what to buy.
        sizes: writes the sizes.
        paper: that it is printed on.
    """
    known = [one.mass for one in found.needed if one.mass is not None]
    weight = f"all blanks {sizes.mass(sum(known))}" if known else ""
    open_ends = len(found.needed) - len(known)
    ordered = [(bar.mass or 0.0) * many for one in found.needed for bar, many in one.order]
    weight += f", bars to buy {sizes.mass(sum(ordered))}" if weight and sum(ordered) else ""
    facts = [
        ["sizes in", units_words(sizes)],
        ["weight", weight + (f"; {open_ends} materials not known" if weight and open_ends else "")],
        ["made already", ", ".join(found.finished)],
        ["no blank stated", ", ".join(found.unknown)],
    ]
    sheet = {
        "foot": f"{KIND}, {found.build}",
        "head": {
            "kind": KIND,
            "build": "",
            "name": found.build,
            "facts": [fact for fact in facts if fact[1]],
        },
        "needed": [_needed(one, found.kerf, sizes) for one in found.needed],
        "bought": [
            {
                "name": one.name,
                "mark": one.mark,
                "what": "; ".join(filter(None, (one.material, one.note))),
                "dims": f"{one.dims} dim{'s' * (one.dims != 1)} to be read when it comes" if one.dims else "",
            }
            for one in found.bought
        ],
    }
    return pdf_of("buy_list", {"title": f"To buy, {found.build}", "sheets": [sheet]}, paper)


def _needed(one: Needed, kerf: float, sizes: ShopSizes) -> Data:
    count = sum(piece.pieces for piece in one.pieces)
    total = "" if one.length is None else f"{sizes.about(one.length)} with {sizes.about(kerf)} for each cut"
    casting = one.section.form is Form.CASTING
    return {
        "material": ", ".join(filter(None, (one.material, one.condition))),
        "section": section_words(one.section, sizes),
        "count": f"{count} {'casting' if casting else 'piece'}{'s' * (count != 1)}",
        "total": total,
        "mass": "" if one.mass is None else sizes.mass(one.mass),
        "parts": "; ".join(_piece(piece, sizes) for piece in one.pieces),
        "there": [_bar(bar, sizes) for bar in one.there],
        "offered": [_bar(bar, sizes) for bar in one.offered],
        "order": _order(one, sizes),
    }


def _order(one: Needed, sizes: ShopSizes) -> str:
    """What to buy, in words; '' where nobody can say."""
    if one.order:
        return "; ".join(_ordered(bar, many, sizes) for bar, many in one.order)
    if one.section.form is not Form.CASTING and not one.unplanned:
        return "none: enough is there"
    return one.unplanned


def _ordered(bar: InShop, many: int, sizes: ShopSizes) -> str:
    mass = "" if bar.mass is None else f", {sizes.mass(many * bar.mass)}"
    across = "" if bar.width is None else f" x {sizes.about(bar.width)}"
    return f"{many} × {sizes.about(bar.length)}{across}{mass}"


def _piece(one: Piece, sizes: ShopSizes) -> str:
    names: Sequence[str] = one.parts
    if one.section.form is Form.CASTING:
        return ", ".join(names)
    longest = None if one.length is None else one.length + one.within
    sides = [size for size in (longest, one.width) if size is not None]
    size = " x ".join(sizes.sawn(side)[0] for side in sides) or "length not stated"
    return f"{one.pieces} × {size} ({', '.join(names)})"


def _bar(bar: InShop, sizes: ShopSizes) -> str:
    across = "" if bar.width is None else f" x {sizes.about(bar.width)}"
    many = f"{bar.pieces} × " if bar.pieces > 1 else ""
    words = [
        f"{many}{bar.name}: {sizes.about(bar.length)}{across}",
        "" if bar.mass is None else sizes.mass(bar.mass),
        "" if bar.price is None else f"price {bar.price:g}",
        bar.note,
    ]
    return ", ".join(filter(None, words))
