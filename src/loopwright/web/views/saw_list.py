"""Blanks and saw list: what comes off which bar or sheet, what to buy, what to keep, and how good that is."""

from collections.abc import Sequence

from loopwright.sheets.blank_words import money, proof_words, source_words
from loopwright.sheets.drawing import in_figures, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shop_paper import section_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.blank_records import LaidPiece, Piece, Proven, SawList, Sawn, SawnSheet
from loopwright.web.views.kit import button, chip, head, link, more, pager, paper, row, stats, turned_to
from loopwright.web.views.longwork import not_done
from loopwright.web.views.parts import path_of
from loopwright.web.views.saw_drawn import bar_drawn, saw_key, sheet_drawn
from loopwright.web.views.saying import empty
from loopwright.web.views.shop import PLACES, shop_tabs, some_of
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

SECTIONS = 12
"""Materials and sections on one page."""
NAMED, LISTED = 16, 60
"""Pieces that are named below a drawing; off-cuts and orders that are listed."""


def list_key(work: Work) -> tuple[object, ...]:
    """Name under which the saw list is kept: it holds until the next entry."""
    return "saw list", work.bench.last


def sizes_of(work: Work, reader: Reader) -> ShopSizes:
    """Writes sizes as a reader wants them."""
    return ShopSizes.wished(work.bench.build.units, reader.units or None)


def top(work: Work, reader: Reader) -> Markup:
    """The head of the page."""
    return joined(head(say("saw_list.title"), say("saw_list.lede")), shop_tabs("blanks"))


def listing(work: Work, reader: Reader, asked: str, going: bool) -> Markup:
    """The saw list, where it was worked out; else the way to it, or nothing while that goes on.

    Args:
        work: with the build.
        reader: who looks.
        asked: page of its sections.
        going: it is being worked out.
    """
    found: SawList | None = work.lasting.get(list_key(work))
    if found is None:
        return Markup() if going else not_done(say("saw_list.stopped"), say("saw_list.again"), "again")
    sizes = sizes_of(work, reader)
    if not found.pieces:
        return joined(_none(found), _left_out(found))
    keys = list(dict.fromkeys((one.material, one.section) for one in found.pieces))
    page, pages = turned_to(asked, len(keys), SECTIONS)
    here = keys[(page - 1) * SECTIONS : page * SECTIONS]
    return joined(
        _figures(found, sizes),
        _ways(reader, found),
        _orders(found, sizes) if page == 1 else None,
        saw_key(),
        *[_section(found, key, sizes) for key in here],
        pager(say("saw_list.pages"), page, pages, lambda other: f"{PLACES['blanks']}?page={other}"),
        _kept(found, sizes) if page == pages else None,
        _left_out(found),
    )


def _none(found: SawList) -> Markup:
    """Nothing is to be sawn: because all is sawn, or because nobody has said what parts are cut from."""
    if found.sawn or found.finished or found.castings:
        return empty(say("saw_list.none"), say("saw_list.none_what"))
    way = row(link(say("saw_list.to_parts"), "/parts?kind=made", first=True))
    return empty(say("saw_list.no_blanks"), say("saw_list.no_blanks_what"), way)


def _figures(found: SawList, sizes: ShopSizes) -> Markup:
    used = sum(not bar.buy for bar in found.bars) + sum(not sheet.buy for sheet in found.sheets)
    cells: list[tuple[str, Child, Child]] = [
        (say("saw_list.pieces"), str(sum(one.pieces for one in found.pieces)), None),
        (say("saw_list.used"), str(used), say("saw_list.used_of")),
        (say("saw_list.to_buy"), str(sum(one.count for one in found.orders)), _bought(found, sizes)),
        (say("saw_list.to_keep"), str(len(found.offcuts)), _from(found, sizes)),
    ]
    return stats(*cells)


def _bought(found: SawList, sizes: ShopSizes) -> str:
    """What all that is bought weighs and costs."""
    told = [sizes.mass(found.mass)] if found.mass else []
    told += [say("saw_list.costs", money=money(found.price))] if found.price else []
    return ", ".join(told)


def _from(found: SawList, sizes: ShopSizes) -> str:
    return say("saw_list.kept_from", size=sizes.about(found.saw.least_offcut))


def _ways(reader: Reader, found: SawList) -> Markup:
    sawn = button(say("saw_list.sawn"), "sawn") if found.planned and reader.may("edit") else None
    return row(
        button(say("saw_list.print_saw"), "print", first=True, of="saw"),
        button(say("saw_list.print_buy"), "print", of="buy"),
        sawn,
    )


def _orders(found: SawList, sizes: ShopSizes) -> Markup:
    if not found.orders:
        return paper(say("saw_list.buy"), tag("p", say("saw_list.buy_none")), id="to-buy")
    noted = any(one.note for one in found.orders)
    heads = [
        say("saw_list.what"),
        say("saw_list.material"),
        say("saw_list.length"),
        ">" + say("saw_list.many"),
        ">" + say("saw_list.mass"),
        ">" + say("saw_list.each"),
        *([say("saw_list.who")] if noted else []),
    ]
    rows = [
        (
            tag("b", one.name),
            f"{one.material}, {section_words(one.section, sizes)}",
            _size(one.length, one.width, sizes),
            str(one.count),
            "—" if one.mass is None else sizes.mass(one.mass),
            "—" if one.price is None else money(one.price),
            *([one.note] if noted else []),
        )
        for one in found.orders[:LISTED]
    ]
    return paper(say("saw_list.buy"), table(heads, rows, class_="to-buy"), id="to-buy")


def _size(length: float, width: float | None, sizes: ShopSizes) -> str:
    if width is None:
        return sizes.length(length)
    return say("saw_list.sheet_size", length=sizes.length(length), width=sizes.length(width))


# one material and section


def _section(found: SawList, key: tuple[str, object], sizes: ShopSizes) -> Markup:
    pieces = [one for one in found.pieces if (one.material, one.section) == key]
    bars = [one for one in found.bars if (one.material, one.section) == key]
    sheets = [one for one in found.sheets if (one.material, one.section) == key]
    proof = next((one for one in found.proofs if (one.material, one.section) == key), None)
    why = next((words for material, section, words in found.unplanned if (material, section) == key), "")
    longest = max((bar.length for bar in bars), default=0.0)
    title = f"{pieces[0].material}, {section_words(pieces[0].section, sizes)}"
    return paper(
        title,
        _proof(proof, sizes) if proof is not None else None,
        tag("p", chip("look again", say("saw_list.not_planned")), " ", why, class_="told") if why else None,
        *[_bar(bar, found, longest, sizes) for bar in bars],
        *[_sheet(one, sizes) for one in sheets],
        _blanks(pieces, sizes),
        class_="saw-section",
    )


def _proof(proof: Proven, sizes: ShopSizes) -> Markup:
    if not proof.bought:
        return tag("p", proof_words(proof, sizes))
    word = say("saw_list.proven" if proof.proven else "saw_list.not_proven")
    return tag("p", chip("conforming" if proof.proven else "undecided", word), " ", proof_words(proof, sizes))


def _bar(bar: Sawn, found: SawList, longest: float, sizes: ShopSizes) -> Markup:
    rows = [
        (
            str(number),
            tag("a", cut.part, href=path_of(cut.part)),
            cut.mark,
            sizes.working(cut.length, cut.within)[0] if cut.within else sizes.sawn(cut.length)[0],
            sizes.sawn(cut.at)[0],
        )
        for number, cut in enumerate(bar.cuts, 1)
    ]
    heads = (
        ">" + say("saw_list.number"),
        say("saw_list.part"),
        say("saw_list.mark"),
        ">" + say("saw_list.saw_to"),
        ">" + say("saw_list.mark_at"),
    )
    return tag(
        "div",
        _named(bar.bar, bar.number, sizes.length(bar.length), bar.note, bar.buy),
        bar_drawn(bar, found.saw, longest, sizes),
        _legend([cut.part for cut in bar.cuts], _rest(bar.rest, bar.kept, sizes)),
        in_figures(plural("saw_list.cuts", len(bar.cuts)), heads, rows),
        class_="saw-one",
    )


def _named(name: str, number: int, length: str, note: str, buy: bool) -> Markup:
    whole = name if number == 1 else say("saw_list.numbered", name=name, number=number)
    where = (
        tag("span", chip("look again", say("saw_list.buy_first")))
        if buy
        else tag("span", note, class_="beside")
    )
    return tag(
        "div", tag("h3", whole, " ", tag("small", length)), where if buy or note else None, class_="spread"
    )


def _rest(rest: float, kept: bool, sizes: ShopSizes) -> str:
    if rest <= 0:
        return ""
    return say("saw_list.rest_kept" if kept else "saw_list.rest_scrap", size=sizes.about(rest))


def _legend(parts: Sequence[str], rest: str) -> Markup:
    """Which part each number of a drawing is, and what becomes of the rest."""
    named = [say("saw_list.numbered_part", number=n, part=part) for n, part in enumerate(parts[:NAMED], 1)]
    words = ", ".join(named) + (" …" if len(parts) > NAMED else "") + "."
    return tag("p", words, " ", rest, class_="note")


def _sheet(sheet: SawnSheet, sizes: ShopSizes) -> Markup:
    laid = [piece for strip in sheet.strips for piece in strip.pieces]
    numbers: dict[LaidPiece, int] = {piece: number for number, piece in enumerate(laid, 1)}
    rows = [
        (
            str(numbers[piece]),
            tag("a", piece.part, href=path_of(piece.part)),
            piece.mark,
            str(number),
            sizes.sawn(strip.width)[0],
            sizes.sawn(piece.run)[0],
            sizes.sawn(piece.rise)[0] if piece.rise < strip.width else "",
        )
        for number, strip in enumerate(sheet.strips, 1)
        for piece in strip.pieces
    ]
    heads = (
        ">" + say("saw_list.number"),
        say("saw_list.part"),
        say("saw_list.mark"),
        ">" + say("saw_list.strip"),
        ">" + say("saw_list.strip_width"),
        ">" + say("saw_list.run"),
        ">" + say("saw_list.cut_down"),
    )
    size, left = _size(sheet.length, sheet.width, sizes), sheet.rest
    kept = (
        say("saw_list.rest_kept" if sheet.kept else "saw_list.rest_scrap", size=_pair(left, sizes))
        if left
        else ""
    )
    return tag(
        "div",
        _named(sheet.sheet, sheet.number, size, sheet.note, sheet.buy),
        tag("p", say("saw_list.strips_along" if sheet.along else "saw_list.strips_across"), class_="note"),
        sheet_drawn(sheet, sizes, numbers),
        _legend([piece.part for piece in laid], kept),
        in_figures(plural("saw_list.cuts", len(laid)), heads, rows),
        class_="saw-one",
    )


def _pair(sides: tuple[float, float], sizes: ShopSizes) -> str:
    return say("saw_list.pair", long=sizes.about(max(sides)), short=sizes.about(min(sides)))


def _blanks(pieces: Sequence[Piece], sizes: ShopSizes) -> Markup:
    """Size of every blank, how many, and where the size comes from."""
    heads = (
        say("saw_list.parts"),
        ">" + say("saw_list.blank"),
        ">" + say("saw_list.many"),
        ">" + say("saw_list.mass"),
        say("saw_list.comes_from"),
    )
    rows = [
        (
            joined(
                ", ".join(one.parts),
                tag("span", one.condition, class_="beside under") if one.condition else None,
            ),
            _blank(one, sizes),
            str(one.pieces),
            "—" if one.mass is None else sizes.mass(one.mass),
            source_words(one, sizes)
            or say("saw_list.stated" if one.length is not None else "saw_list.unknown"),
        )
        for one in pieces
    ]
    count = sum(one.pieces for one in pieces)
    return more(
        plural("saw_list.blanks", count),
        table(heads, rows, class_="blank-sizes"),
        id=f"blanks-{'-'.join(pieces[0].parts[:1])}",
    )


def _blank(one: Piece, sizes: ShopSizes) -> str:
    sides = [sizes.sawn(size)[0] for size in (one.length, one.width) if size is not None]
    return " × ".join(sides) or "—"


# what is kept, and what is not on the list


def _kept(found: SawList, sizes: ShopSizes) -> Markup | None:
    if not found.offcuts:
        return None
    heads = (
        say("saw_list.what"),
        say("saw_list.material"),
        ">" + say("saw_list.length"),
        ">" + say("saw_list.mass"),
        say("saw_list.left_of"),
    )
    rows = [
        (
            tag("b", one.name),
            f"{one.material}, {section_words(one.section, sizes)}",
            sizes.about(one.length) if one.width is None else _pair((one.length, one.width), sizes),
            "—" if one.mass is None else sizes.mass(one.mass),
            one.of if one.number == 1 else say("saw_list.numbered", name=one.of, number=one.number),
        )
        for one in found.offcuts[:LISTED]
    ]
    note = tag("p", say("saw_list.keep_note"), class_="note")
    return paper(say("saw_list.keep_title"), note, table(heads, rows, class_="to-keep"), id="to-keep")


def _left_out(found: SawList) -> Markup | None:
    """Parts that are not on the list, and why."""
    groups = (
        ("castings", found.castings),
        ("sawn", found.sawn),
        ("made", found.finished),
        ("unsaid", found.unknown),
    )
    lines = [
        tag("li", plural(f"saw_list.left_{key}", len(names), names=some_of(names)))
        for key, names in groups
        if names
    ]
    if not lines:
        return None
    said = tag("ul", *lines, class_="plain")
    return tag("div", tag("h3", say("saw_list.not_listed")), said, class_="told making-told")
