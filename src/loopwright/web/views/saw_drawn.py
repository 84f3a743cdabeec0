"""Bars and sheets with the pieces that come off them, drawn to scale."""

from loopwright.making.sawing import Saw
from loopwright.sheets.drawing import Scale, box, drawing, lettering, line
from loopwright.sheets.markup import Markup, tag
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.blank_records import CutStrip, LaidPiece, Sawn, SawnSheet
from loopwright.web.wording import say

HEIGHT, TOP = 56.0, 8.0
LEGIBLE = 3.2
"""Per cent of the width that a piece needs for its number."""
ACROSS = 640.0
"""Units of the drawing of a sheet along its longer side."""


def bar_drawn(bar: Sawn, saw: Saw, longest: float, sizes: ShopSizes) -> Markup:
    """A bar as a scribed strip: what facing takes, each piece and its cut, what is held in the vice, what is left.

    Args:
        bar: with its cuts.
        saw: what it takes.
        longest: bar of its section, mm; all are drawn to the same scale.
        sizes: writes the sizes.
    """
    scale = Scale(0.0, longest)
    end = bar.length - bar.rest
    drawn = [box(0, TOP, scale.at(bar.length), HEIGHT - 2 * TOP, "saw-bar")]
    # places of cuts count from the faced end
    faced = end - (bar.cuts[-1].at + saw.kerf) if bar.cuts else 0.0
    if faced > 0:
        drawn.append(_box(scale, 0.0, faced, "saw-waste", say("saw_list.facing", size=sizes.about(faced))))
    kerf, start = say("saw_list.kerf", size=sizes.about(saw.kerf)), 0.0
    for number, cut in enumerate(bar.cuts, 1):
        near, far = faced + start, faced + cut.at
        saw_to, at = sizes.sawn(cut.length)[0], sizes.sawn(cut.at)[0]
        said = say("saw_list.piece_is", number=number, part=cut.part, length=saw_to, at=at)
        drawn.append(_box(scale, near, far, "saw-piece", said))
        if scale.at(far) - scale.at(near) > LEGIBLE:
            middle = (scale.at(near) + scale.at(far)) / 2
            drawn.append(lettering(middle, HEIGHT / 2 + 4, str(number), "saw-number"))
        drawn.append(_box(scale, far, far + saw.kerf, "saw-kerf", kerf))
        start = cut.at + saw.kerf
    drawn += _end(bar, saw, scale, sizes) if bar.rest > 0 else []
    said = say("saw_list.bar_said", bar=bar.bar, count=len(bar.cuts))
    return drawing(HEIGHT, said, *drawn, class_="saw-drawn")


def _end(bar: Sawn, saw: Saw, scale: Scale, sizes: ShopSizes) -> list[Markup]:
    """What is left of a bar, and from where the vice holds it."""
    end = bar.length - bar.rest
    words = say("saw_list.keep" if bar.kept else "saw_list.scrap", size=sizes.about(bar.rest))
    drawn = [_box(scale, end, bar.length, "saw-keep" if bar.kept else "saw-waste", words)]
    if scale.at(bar.rest) > 5 * LEGIBLE:
        drawn.append(lettering(scale.at(end + bar.rest / 2), HEIGHT / 2 + 4, words, "saw-rest"))
    if saw.grip:
        held = scale.at(bar.length - min(saw.grip, bar.rest))
        drawn.append(line(held, TOP - 5, held, HEIGHT - TOP + 5, "saw-grip"))
    return drawn


def _box(scale: Scale, start: float, end: float, look: str, hover: str) -> Markup:
    left = scale.at(start)
    return box(left, TOP, scale.at(end) - left, HEIGHT - 2 * TOP, look, hover)


def sheet_drawn(sheet: SawnSheet, sizes: ShopSizes, first: dict[LaidPiece, int]) -> Markup:
    """A sheet with its strips and pieces, to scale; its length lies across the page.

    Args:
        sheet: with its strips.
        sizes: writes the sizes.
        first: number of each piece.
    """
    scale = ACROSS / max(sheet.length, sheet.width)
    wide, high = sheet.length * scale, sheet.width * scale
    drawn = [tag("rect", x=0, y=0, width=wide, height=high, class_="saw-bar")]
    for strip in sheet.strips:
        for piece in strip.pieces:
            drawn += _laid(sheet, strip, piece, first[piece], scale, sizes)
    return tag(
        "svg",
        *drawn,
        viewBox=f"-2 -2 {wide + 4:.5g} {high + 4:.5g}",
        class_="drawing saw-drawn saw-sheet",
        role="img",
        aria_label=say("saw_list.sheet_said", sheet=sheet.sheet, count=len(first)),
    )


def _laid(
    sheet: SawnSheet, strip: CutStrip, piece: LaidPiece, number: int, scale: float, sizes: ShopSizes
) -> list[Markup]:
    """A piece on its sheet, with its number where there is room for it."""
    run, rise = sizes.sawn(piece.run)[0], sizes.sawn(piece.rise)[0]
    said = say("saw_list.laid_is", number=number, part=piece.part, run=run, rise=rise)
    # strips run along the length of the sheet, or across it
    x, y = (piece.start, strip.start) if sheet.along else (strip.start, piece.start)
    w, h = (piece.run, piece.rise) if sheet.along else (piece.rise, piece.run)
    place = {"x": x * scale, "y": y * scale, "width": w * scale, "height": h * scale}
    drawn = [tag("rect", tag("title", said), **place, class_="saw-piece")]
    if min(w, h) * scale > 16:
        middle = {"x": (x + w / 2) * scale, "y": (y + h / 2) * scale + 6}
        drawn.append(tag("text", str(number), **middle, class_="saw-number sheet-number"))
    return drawn


def saw_key() -> Markup:
    """What the looks of the drawings mean."""
    boxes = [
        tag(
            "li",
            _swatch(tag("rect", x=1, y=1, width=20, height=12, class_=look)),
            say(f"saw_list.key_{name}"),
        )
        for name, look in (
            ("piece", "saw-piece"),
            ("kerf", "saw-kerf"),
            ("waste", "saw-waste"),
            ("keep", "saw-keep"),
        )
    ]
    grip = _swatch(tag("line", x1=11, y1=0, x2=11, y2=14, class_="saw-grip"))
    return tag("ul", *boxes, tag("li", grip, say("saw_list.key_grip")), class_="key saw-key")


def _swatch(drawn: Markup) -> Markup:
    return tag("svg", drawn, viewBox="0 0 22 14", width=22, height=14, aria_hidden="true")
