"""What 'loopwright blanks' prints."""

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from loopwright.cli.layout import columns, console, listed, say, set_in
from loopwright.handbook.cautions import DEFERS, caution
from loopwright.model.records import Entry
from loopwright.sheets.blank_words import money, proof_words, source_words
from loopwright.sheets.shop_paper import section_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.after_sawing import AfterSawing
from loopwright.studies.blank_records import Piece, Proven, SawList, Sawn, SawnSheet


def show_blanks(found: SawList) -> None:
    """Prints blanks, the saw list with its proof, what to buy, and what is kept."""
    out, sizes = console(), ShopSizes.wished(found.units)
    say(out, f"{found.build}: blanks and saw list", "bold")
    _show_pieces(out, found, sizes)
    for proof in found.proofs:
        _show_section(out, found, proof, sizes)
    for material, section, why in found.unplanned:
        say(out, f"\n{material}, {section_words(section, sizes)}: not planned", "bold")
        say(out, f"  {why}")
    _show_orders(out, found, sizes)
    _show_offcuts(out, found, sizes)
    _show_left_out(out, found)
    if found.proofs:
        _show_saw(out, found, sizes)


def _show_pieces(out: Console, found: SawList, sizes: ShopSizes) -> None:
    if not found.pieces:
        say(out, "  there is nothing to saw")
        return
    table = columns("for", "cut from", ">saw to", ">pieces", ">weight")
    for one in found.pieces:
        made_of = ", ".join(filter(None, (one.material, section_words(one.section, sizes))))
        weight = "" if one.mass is None else sizes.mass(one.mass)
        table.add_row(listed(one.parts, 3), made_of, _size(one, sizes), str(one.pieces), weight)
    out.print(set_in(table))
    for one in found.pieces:
        if words := source_words(one, sizes):
            say(out, f"  {listed(one.parts)}: {words}", "dim")


def _size(one: Piece, sizes: ShopSizes) -> str:
    if one.length is None:
        return "not stated"
    length = sizes.working(one.length, one.within)[0] if one.within else sizes.sawn(one.length)[0]
    return length if one.width is None else f"{length} x {sizes.sawn(one.width + one.width_within)[0]}"


def _show_section(out: Console, found: SawList, proof: Proven, sizes: ShopSizes) -> None:
    key = (proof.material, proof.section)
    say(out, f"\n{proof.material}, {section_words(proof.section, sizes)}", "bold")
    for bar in found.bars:
        if (bar.material, bar.section) == key:
            _show_bar(out, bar, sizes)
    for sheet in found.sheets:
        if (sheet.material, sheet.section) == key:
            _show_sheet(out, sheet, sizes)
    say(out, f"  {proof_words(proof, sizes)}", "dim")


def _named(name: str, number: int, buy: bool) -> str:
    return ("buy " if buy else "") + name + (f", no. {number}" if number > 1 else "")


def _show_bar(out: Console, one: Sawn, sizes: ShopSizes) -> None:
    say(out, f"  {_named(one.bar, one.number, one.buy)}, {sizes.length(one.length)} long")
    runs: list[tuple[str, list[str]]] = []
    for cut in one.cuts:
        size = sizes.working(cut.length, cut.within)[0] if cut.within else sizes.sawn(cut.length)[0]
        name = cut.part + (f" ({cut.mark})" if cut.mark else "")
        if runs and runs[-1][0] == size:
            runs[-1][1].append(name)
        else:
            runs.append((size, [name]))
    for size, names in runs:
        out.print(Padding(Text(f"{len(names)} x {size}: {', '.join(names)}"), (0, 0, 0, 4)))
    if one.rest > 0:
        say(out, f"    left: {'keep' if one.kept else 'scrap'} {sizes.about(one.rest)}")


def _show_sheet(out: Console, one: SawnSheet, sizes: ShopSizes) -> None:
    across = f"{sizes.length(one.length)} x {sizes.length(one.width)}"
    runs = "along its length" if one.along else "across its length"
    edge = f", {sizes.about(one.edge)} off each edge" if one.edge else ""
    say(out, f"  {_named(one.sheet, one.number, one.buy)}, {across}: strips {runs}{edge}")
    for number, strip in enumerate(one.strips, 1):
        say(out, f"    strip {number}, {sizes.sawn(strip.width)[0]} wide")
        for piece in strip.pieces:
            down = f", cut down to {sizes.sawn(piece.rise)[0]}" if piece.rise < strip.width - 1e-6 else ""
            name = piece.part + (f" ({piece.mark})" if piece.mark else "")
            say(out, f"      {sizes.sawn(piece.run)[0]}{down}: {name}")
        if strip.rest > 1:
            say(out, f"      left: {_left(strip.rest, strip.width, strip.kept, sizes)}")
    if one.rest is not None:
        say(out, f"    left beside the strips: {_left(*one.rest, one.kept, sizes)}")


def _left(one: float, other: float, kept: bool, sizes: ShopSizes) -> str:
    long, short = max(one, other), min(one, other)
    return f"{'keep' if kept else 'scrap'} {sizes.about(long)} x {sizes.about(short)}"


def _show_orders(out: Console, found: SawList, sizes: ShopSizes) -> None:
    if not found.proofs:
        return
    say(out, "\nto buy", "bold")
    if not found.orders:
        say(out, "  nothing for the blanks that are planned")
        return
    table = columns("what", "material", ">each", ">pieces", ">weight", ">price")
    for one in found.orders:
        across = "" if one.width is None else f" x {sizes.length(one.width)}"
        table.add_row(
            one.name, f"{one.material}, {section_words(one.section, sizes)}", sizes.length(one.length) + across,
            str(one.count), "" if one.mass is None else sizes.mass(one.mass),
            "not stated" if one.price is None else money(one.count * one.price),
        )  # fmt: skip
    weight = "" if found.mass is None else sizes.mass(found.mass)
    if len(found.orders) > 1:
        table.add_row("all", "", "", "", weight, "" if found.price is None else money(found.price))
    out.print(set_in(table))
    priced = [one for one in found.proofs if one.priced]
    bought, bound = sum(one.bought for one in priced), sum(one.bound for one in priced)
    if bought > bound * (1 + 1e-9):
        say(out, f"  no list buys for less than {money(bound)}: this one is at most "
                 f"{100 * (bought - bound) / bought:.1f} % too dear", "dim")  # fmt: skip
    elif bought:
        say(out, "  no list buys for less: proven for each section", "dim")


def _show_offcuts(out: Console, found: SawList, sizes: ShopSizes) -> None:
    if not found.offcuts:
        return
    say(out, "\noff-cuts to keep, once all is sawn (then: loopwright blanks --sawn)", "bold")
    table = columns("name", ">length", ">width", ">weight")
    for one in found.offcuts:
        width = "" if one.width is None else sizes.about(one.width)
        table.add_row(
            one.name, sizes.about(one.length), width, "" if one.mass is None else sizes.mass(one.mass)
        )
    out.print(set_in(table))


def _show_left_out(out: Console, found: SawList) -> None:
    lines = [
        ("castings, nothing to saw", found.castings),
        ("no blank is stated: write one under parts/…/blank", found.unknown),
        ("sawn already (shop/sawn; take a part out of that list to saw it anew)", found.sawn),
        ("made already", found.finished),
    ]
    if any(names for _, names in lines):
        say(out, "")
    for words, names in lines:
        if names:
            say(out, f"  {words}: {', '.join(names)}")


def _show_saw(out: Console, found: SawList, sizes: ShopSizes) -> None:
    saw = found.saw
    vice = f", {sizes.about(saw.grip)} stay in the vice" if saw.grip else ""
    say(
        out,
        f"\n  reckoned with: cut {sizes.about(saw.kerf)} wide, {sizes.about(saw.end_loss)} to face a raw end or "
        f"edge{vice}; off-cuts are kept from {sizes.about(saw.least_offcut)} on",
        "dim",
    )
    for name in found.hazards:
        known = caution(name)
        out.print(Padding(Text(f"Careful, {known.hazard}: {' '.join(known.texts)}"), (0, 0, 0, 2)))
    out.print(Padding(Text(DEFERS, style="dim"), (0, 0, 0, 2)))


def show_after(found: SawList, after: AfterSawing, entry: Entry) -> None:
    """Prints what became of the shop's stock once everything was sawn."""
    out, sizes = console(), ShopSizes.wished(found.units)
    say(out, f"entry {entry.number}: revision {entry.of} of the description", "bold")
    for words, many in (("used up", after.used), ("bought and sawn", after.bought)):
        if many:
            say(out, f"  {words}: {', '.join(f'{count} x {name}' for name, count in many.items())}")
    for one in after.kept:
        width = "" if one.width is None else f" x {sizes.about(one.width)}"
        say(out, f"  kept: {one.name}, {sizes.about(one.length)}{width}: write that on it")
    say(out, f"  blanks that lie ready: {', '.join(after.sawn)}")
    for material, section, why in found.unplanned:
        say(out, f"  not sawn: {material}, {section_words(section, sizes)}: {why}")
