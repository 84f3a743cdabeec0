"""What 'loopwright machines' prints."""

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from loopwright import units
from loopwright.buildfile.yaml_layout import flow
from loopwright.cli.bench_text import show_effect, show_left_out
from loopwright.cli.layout import columns, console, say, say_command, set_in
from loopwright.model.build import Build
from loopwright.model.records import Entry
from loopwright.sheets.blank_words import money
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.effect import Brought
from loopwright.studies.shop_machines import MachineHolds, MachineLine
from loopwright.studies.taking_found import TELLS, Taken, stated_line
from loopwright.units import Dimension

_LENGTH, _ANGLE = Dimension.LENGTH, Dimension.ANGLE


def show_machines(build: Build, lines: Sequence[MachineLine], *, booked: bool) -> None:
    """Prints the machines with what they hold.

    Args:
        build: that they are described in.
        lines: the machines.
        booked: the readings of a book were looked at.
    """
    out, shown, sizes = console(), Shown(build.units), ShopSizes.wished(build.units)
    say(out, f"{build.name}: the shop's machines", "bold")
    if not lines:
        say(out, "  none is described; write them under shop/machines")
        return
    for one in lines:
        _show_machine(out, one, shown, sizes)
    every = [each for one in lines for each in one.holds]
    if every:
        say(
            out,
            "\nStandard deviations: of a cut against the next in one setup, of a setting (touching off, a stop), of "
            "seating one piece, and of the angle that a setup gives. On round surfaces what the shop states is of the "
            "radius, what the handbook has of the diameter.",
            "dim",
        )
    if booked:
        _show_found(out, every, build)
    elif every:
        say(out, "What the parts say of it stands in the book: loopwright machines --book BOOK", "dim")


def _show_machine(out: Console, one: MachineLine, shown: Shown, sizes: ShopSizes) -> None:
    say(out, f"\n{one.name}: {one.kind}{_facts(one, sizes)}", "bold")
    if not one.holds:
        say(out, "  nothing is cut on it by any route")
        return
    read = any(each.read or each.counted for each in one.holds)
    heads = ("op", ">cut", ">setting", ">seating", ">angle", "parts") + (("read", ">found") if read else ())
    table = columns(*heads)
    for each in one.holds:
        *lengths, angle = each.taken
        row = [each.op, *(shown.error(value, _LENGTH) for value in lengths), shown.error(angle, _ANGLE)]
        table.add_row(*row, str(each.parts), *((str(each.read), _factor(each)) if read else ()))
    out.print(set_in(table))
    for source in dict.fromkeys(each.source for each in one.holds):
        ops = ", ".join(each.op for each in one.holds if each.source == source)
        out.print(Padding(Text(f"{ops}: {source}", style="dim"), (0, 0, 0, 2)))


def _facts(one: MachineLine, sizes: ShopSizes) -> str:
    facts = []
    if one.envelope is not None:
        facts.append("takes " + " x ".join(sizes.plain(value) for value in one.envelope) + f" {sizes.unit}")
    if one.speeds is not None:
        low, high = one.speeds
        facts.append(f"{low:g} to {high:g} 1/min" if low != high else f"{low:g} 1/min")
    if one.power is not None:
        facts.append(units.format_value(one.power, Dimension.POWER, "kW", digits=3))
    if one.rate is not None:
        facts.append(f"{money(one.rate)} an hour")
    return "".join(f", {fact}" for fact in facts)


def _factor(one: MachineHolds) -> str:
    return ("in it" if one.counted else "-") if one.factor is None else f"{one.factor:.2g} times"


def _show_found(out: Console, every: Sequence[MachineHolds], build: Build) -> None:
    """What the parts say, in words, and what to write for it."""
    told = [one for one in every if one.factor is not None]
    if not told and any(one.counted for one in every):
        say(out, "\nEvery reading of its parts is in what is stated already; later ones sharpen it.")
        return
    if not told:
        say(
            out,
            "\nNo dim that they make was read yet; readings of parts as they came off a machine tell what it holds.",
        )
        return
    say(out, "\nwhat the parts say", "bold")
    for one in told:
        out.print(Padding(Text(f"{one.op} on {one.machine}: {_words(one)}"), (0, 0, 0, 2)))
        if one.informed >= TELLS:
            say(out, f"    under shop/machines/{one.machine}/holds it would say", "dim")
            say_command(out, f"      {one.op}: {flow(stated_line(one, build.units))}")
    worth = next((one for one in told if one.informed >= TELLS), None)
    if worth is not None:
        say(out, "  to take it over:")
        say_command(out, f'    loopwright machines "{worth.machine}" "{worth.op}" --take')


def _words(one: MachineHolds) -> str:
    assert one.factor is not None
    assert one.factor_range is not None
    dims = "1 dim" if one.read == 1 else f"{one.read} dims"
    low, high = (f"{value:.2g}" for value in one.factor_range)
    doubt = f"{dims} read take away {percent(one.informed)} of the doubt"
    if one.informed < TELLS:
        return f"{doubt}; too little to say anything"
    if one.differs:
        more = "more" if one.factor > 1 else "less"
        return f"it scatters {more} than is taken for it, {one.factor:.2g} times ({low} to {high} at 95 %); {doubt}"
    return f"{one.factor:.2g} times what is taken ({low} to {high} at 95 %), so nothing speaks against that; {doubt}"


def show_taken(taken: Taken, entry: Entry, came: Brought) -> None:
    """Prints what was taken over, and what that brings at the tool."""
    out, shown = console(), Shown(came.bench.build.units)
    say(out, f"entry {entry.number}: revision {entry.of} of the description", "bold")
    for one in taken.holds:
        assert one.found is not None
        before, after = (
            ", ".join(shown.error(value, _LENGTH) for value in some) for some in (one.taken[:3], one.found)
        )
        say(out, f"  {one.op} on {one.machine}: cut, setting, seating {after}; before {before}")
    say(
        out,
        "  Its readings are in that now and count no second time for the machine; later ones sharpen it.",
        "dim",
    )
    out.print()
    show_effect(out, shown, came.targets)
    show_left_out(out, came.left_out)
