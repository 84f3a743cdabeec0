"""Steps of the fit-up on the terminal."""

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from loopwright.book import Written
from loopwright.cli.bench_text import show_effect, show_left_out
from loopwright.cli.cautions import GRINDING, LIFTING
from loopwright.cli.entry_text import change_words
from loopwright.cli.layout import columns, console, from_to, listed, say, say_command, set_in
from loopwright.cli.sizes import plain_size
from loopwright.model.build import Units
from loopwright.model.contacts import AdjusterKind
from loopwright.model.records import State
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.effect import Brought
from loopwright.studies.fitup_bench import StepReport, ToSet
from loopwright.studies.fitup_planning import FitUpPlan, Planned
from loopwright.studies.fitup_setting import Shortfall
from loopwright.units import Dimension

GROUND = "ground to size"
NOTHING = 1e-6
"""A setting smaller than this nobody makes, mm or rad."""
VERDICTS = {
    "good": "good as it stands: go on to the next step",
    "set": "set it as below",
    "read": "read first; what follows is what is known so far",
    "repeat": "it cannot be proven good yet, and no setting helps: read it again, or with a better gauge",
    "rework": "what is off cannot be set: its ranges do not suffice, as below",
}


def show_plan(found: FitUpPlan) -> None:
    """Prints a fit-up as planned."""
    out, shown = console(), Shown(found.units)
    say(out, f"{found.build}: the fit-up on paper, before metal is cut", "bold")
    table = columns("step", ">before -> after", ">accept", ">chance", ">min", "left out costs")
    for one in found.steps:
        table.add_row(
            f"{one.number} {one.name}",
            from_to(shown.error(one.before, one.dimension), shown.error(one.after, one.dimension)),
            "-" if one.accept is None else shown.limit(one.accept, one.dimension),
            "-" if one.accepted is None else percent(one.accepted),
            f"{one.minutes:g}" if one.minutes else "-",
            _dropped(one),
        )
    out.print(set_in(table))
    for one in found.steps:
        say(out, f"  {one.number} looks at {one.looks_at}", "dim")
    _ranges(out, shown, found.steps)
    out.print()
    table = columns("target", ">limit", ">before the first step", ">after the last", ">chance then")
    for number, (name, dimension, limit) in enumerate(found.targets):
        last = found.steps[-1].targets[number] if found.steps else found.start[number]
        table.add_row(
            name,
            shown.limit(limit, dimension),
            shown.error(found.start[number], dimension),
            shown.error(last, dimension),
            percent(found.chances[number]),
        )
    out.print(set_in(table))
    for joint in found.binding:
        worst = joint.worst[0]
        say(
            out,
            f"  {joint.joint} binds: {worst.contact} must give {shown.error(worst.misfit, Dimension.LENGTH)}, "
            f"{shown.force(worst.force)}{_float(shown, worst.clearance)}",
            "dim",
        )


def _float(shown: Shown, clearance: float | None) -> str:
    """How much larger a hole or pocket must be than what goes in, so that the contact can float instead."""
    if clearance is None:
        return ""
    return f"; a hole or pocket {shown.error(2 * clearance, Dimension.LENGTH)} larger lets it float instead"


def _dropped(one: Planned) -> str:
    if one.dropped is None:
        return "-"
    return "nothing" if one.dropped < 0.001 else f"{percent(one.dropped)} of limit"


def _ranges(out: Console, shown: Shown, steps: Sequence[Planned]) -> None:
    """What each adjuster will have to be set to over machines like this one, and whether its range is enough."""
    out.print()
    table = columns("what is set", "in step", ">typical setting", ">range", ">chance that it is enough")
    for one in steps:
        for name, dimension, std, (low, high), chance in one.settings:
            table.add_row(
                name,
                str(one.number),
                "± " + shown.error(std, dimension) if std > NOTHING else "stays",
                f"± {shown.error(high, dimension)}"
                if low == -high
                else f"{shown.limit(low, dimension)} … {shown.limit(high, dimension)}",
                percent(chance) + ("" if chance >= 0.95 else "  may run out"),
            )
    if table.row_count:
        out.print(set_in(table))


def show_step(found: StepReport) -> None:
    """Prints what a step has found and what to set."""
    out, shown = console(), Shown(found.units)
    say(out, f"step {found.number}: {found.name}", "bold")
    for words in filter(None, (found.note, f"put in place: {', '.join(found.seat)}" if found.seat else None)):
        say(out, f"  {words}", "dim")
    say(out, f"  looks at: {found.looks_at}", "dim")
    for test, entry in found.reads:
        say_command(
            out,
            f"  {test}: "
            + (f"read, entry {entry}" if entry else f"still to read: loopwright record '{test}'"),
        )
    out.print()
    say(out, f"  {found.verdict.upper()}: {VERDICTS.get(found.verdict, found.verdict)}", "bold")
    accept = "" if found.accept is None else f"; {shown.limit(found.accept, found.dimension)} is good enough"
    chance = "" if found.accepted is None else f", chance {percent(found.accepted)} that it is"
    say(
        out,
        f"  as it stands: known error up to {shown.error(found.largest, found.dimension)}, not known "
        f"{shown.error(found.unknown, found.dimension)}{accept}{chance}",
    )
    if found.to_set:
        _to_set(out, found)
    _targets(out, shown, found)
    for note in found.notes:
        say(out, f"note: {note}")
    if found.to_set:
        _what_then(out, found)


def _to_set(out: Console, found: StepReport) -> None:
    shown = Shown(found.units)
    out.print()
    table = columns("what", "how", ">now", ">set to", ">by", ">known to", ">range")
    for one in found.to_set:
        table.add_row(
            one.name,
            one.kind,
            _value(found.units, one, one.now),
            Text(_value(found.units, one, one.value), style="bold"),
            shown.error(one.change, one.dimension, sign=True) if one.change else "leave it",
            "± " + shown.error(one.std, one.dimension),
            f"{_value(found.units, one, one.low)} … {_value(found.units, one, one.high)}",
        )
    out.print(set_in(table))
    for one in found.to_set:
        for words in _remarks(found.units, one):
            say(out, f"  {one.name}: {words}")
    then = (
        ""
        if found.accepted_then is None
        else f", chance {percent(found.accepted_then)} that it is good enough"
    )
    say(
        out,
        f"  that leaves: known error up to {shown.error(found.left, found.dimension)}, expected "
        f"{shown.error(found.expected, found.dimension)}{then}",
    )


def _value(units: Units, one: ToSet, value: float) -> str:
    if one.kind == GROUND:
        return plain_size(units, value, one.dimension)
    return Shown(units).limit(value, one.dimension)


def _remarks(units: Units, one: ToSet) -> list[str]:
    shown, out = Shown(units), []
    if one.shortfall is not None:
        out.append(_must_come_down(shown, one.shortfall, one.dimension))
    elif one.at_limit:
        out.append("its range does not suffice; it ends at the end of it")
    if one.foils is not None:
        pack = " + ".join(shown.limit(foil, one.dimension) for foil in one.foils) or "no foil"
        out.append(f"foils: {pack}")
    if one.foil_words:
        out.append(one.foil_words)
    if one.spacer is not None:
        least, most = (shown.error(v, one.dimension) for v in one.spacer.grind_off)
        out.append(f"grind off {least} … {most}" if one.spacer.possible else one.spacer.remedy)
    return out


def _must_come_down(shown: Shown, short: Shortfall, dimension: Dimension) -> str:
    """What foil cannot do, and what else would do."""
    by = shown.error_known(short.by, short.std, dimension, digits=1)
    ground = f"grind {by} off {short.dim}" if short.dim else f"take {by} off what it lies on"
    known = f"{by}, known to ± {shown.error(short.std, dimension)}" if short.std else by
    raised = f"raising {listed(short.raised)} instead, as above, does as well; or " if short.raised else ""
    return f"it would have to come down by {known}: no foil can do that; {raised}{ground}"


def _targets(out: Console, shown: Shown, found: StepReport) -> None:
    out.print()
    table = columns("at the tool", ">limit", ">expected now -> then")
    for name, dimension, limit, now, then in found.targets:
        moved = from_to(shown.error(now, dimension), shown.error(then, dimension))
        table.add_row(name, shown.limit(limit, dimension), moved)
    out.print(set_in(table))


def _what_then(out: Console, found: StepReport) -> None:
    moved = [one for one in found.to_set if one.change]
    out.print()
    grinding = [GROUND for one in found.to_set if one.shortfall is not None]
    cautions = cautions_for([*(one.kind for one in moved), *grinding])
    for caution in cautions:
        say(out, caution)
    if moved:
        values = " ".join(f"'{one.name}={_value(found.units, one, one.value)}'" for one in moved)
        say_command(out, f"when it is done: loopwright fitup set {values} --step {found.number} --why '…'")


def cautions_for(kinds: Sequence[str]) -> tuple[str, ...]:
    """What to take care of, for the kinds of setting that are proposed."""
    out = []
    if GROUND in kinds or AdjusterKind.SPACER in kinds:
        out.append(GRINDING)
    if AdjusterKind.SHIM in kinds or AdjusterKind.SPACER in kinds or GROUND in kinds:
        out.append(LIFTING)
    return tuple(out)


def show_done(written: Written, came: Brought, after: StepReport | None) -> None:
    """Prints what was done, and what it left."""
    out, units = console(), came.bench.build.units
    record = written.entry.record
    assert isinstance(record, State)
    say(out, f"entry {written.entry.number}: state {written.entry.of} begins: {record.reason}", "bold")
    for change in record.changes:
        say(out, f"  {change_words(change, units)}")
    out.print()
    show_effect(out, Shown(units), came.targets)
    show_left_out(out, came.left_out)
    if after is not None:
        shown = Shown(units)
        say(
            out,
            f"\nstep {after.number}, {after.name}: known error up to {shown.error(after.largest, after.dimension)}, "
            f"not known {shown.error(after.unknown, after.dimension)}; {VERDICTS.get(after.verdict, after.verdict)}",
        )
        again = [test for test, entry in after.reads if entry is None]
        if again:
            say_command(out, f"read again in this state: loopwright record '{again[0]}'")
    if any(change.what == "sized" for change in record.changes):
        say(out, "measure the part before it goes in: loopwright record PART/DIM")
