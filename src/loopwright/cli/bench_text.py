"""Where a build stands as built, and what an entry brought, on the terminal."""

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from loopwright.cli.layout import columns, console, from_to, say, say_command, set_in
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.as_built import Action, Known, ReadingLook, StandingAsBuilt, TargetAsBuilt
from loopwright.studies.books import WhatIfAsBuilt
from loopwright.studies.effect import TargetEffect

_UNRESOLVED, _SURPRISES = 6, 6


def show_front_page(found: StandingAsBuilt) -> None:
    """Prints where a build stands as built."""
    out, shown = console(), Shown(found.units)
    _title(out, found)
    _targets(out, shown, found)
    _moved(out, shown, found)
    _known(out, found)
    _surprises(out, shown, found.surprises)
    for note in found.notes:
        say(out, f"note: {note}", "dim")
    _actions(out, found.actions, found.nothing_more)


def show_what_if_as_built(compared: WhatIfAsBuilt) -> None:
    """Prints the front page as it is beside the one with the description changed."""
    out, shown = console(), Shown(compared.after.units)
    _title(out, compared.after)
    out.print("\n[bold]What if[/bold]  [dim]readings stay as they are[/dim]")
    for path, value in compared.changes.items():
        say(out, f"  {path} = {value}")
    table = columns("target", ">limit", ">expected", ">chance")
    was = {target.name: target for target in compared.before.targets}
    for target in compared.after.targets:
        before = was.get(target.name)
        table.add_row(
            target.name,
            shown.limit(target.limit, target.dimension),
            from_to(
                "-" if before is None else shown.error(before.expected, target.dimension),
                shown.error(target.expected, target.dimension),
            ),
            from_to(
                "-" if before is None else percent(before.chance, before.chance_std),
                percent(target.chance, target.chance_std),
            ),
        )
    out.print(set_in(table))
    for note in compared.after.notes:
        say(out, f"note: {note}", "dim")


def _title(out: Console, found: StandingAsBuilt) -> None:
    out.print()
    say(out, found.build, "bold")
    say(
        out,
        f"as built, state {found.state}: {found.reason} · {found.readings} readings, {found.entries} entries",
        "dim",
    )
    designed, built = found.chance_of_all
    if len(found.targets) > 1:
        out.print(
            Text.assemble(
                f"chance to hold all {len(found.targets)} limits together: as designed "
                f"{percent(designed, 0.001)}, as built ",
                (percent(built, 0.001), "bold"),
            )
        )


def _targets(out: Console, shown: Shown, found: StandingAsBuilt) -> None:
    out.print()
    table = columns("target", ">limit", ">expected", ">chance", ">when set", "")
    for t in found.targets:
        table.add_row(
            Text(t.name, style="bold"),
            shown.limit(t.limit, t.dimension),
            from_to(shown.error(t.designed, t.dimension), shown.error(t.expected, t.dimension)),
            from_to(percent(t.designed_chance, t.chance_std), percent(t.chance, t.chance_std)),
            percent(t.adjusted_chance, t.chance_std),
            t.verdict,
        )
    out.print(set_in(table))
    say(
        out,
        "  as designed -> as built: expected error at the worst pose, and chance to hold the limit everywhere "
        f"({found.confidence:.0%} is\n  asked for); 'when set': after the adjusters are set by what is known now",
        "dim",
    )
    out.print()
    share = f">{found.confidence:.0%} hold"
    more = columns("at the worst pose", ">known", ">not known", share, ">sampling", "where")
    for t in found.targets:
        more.add_row(
            t.name,
            shown.error(t.known, t.dimension),
            shown.error(t.unknown, t.dimension),
            shown.error(t.coverage, t.dimension),
            f"± {200 * t.chance_std:.1f} %",
            shown.pose(t.worst_pose),
        )
    out.print(set_in(more))
    for t in found.targets:
        if _apart(t):
            words = percent(t.chance_normal, t.chance_std)
            say(out, f"  {t.name}: {words} if every deviation were normal instead of shaped as stated", "dim")


def _apart(target: TargetAsBuilt) -> bool:
    """Whether the stated shapes make a difference that sampling does not."""
    return abs(target.chance - target.chance_normal) > max(2 * target.chance_std, 0.005)


def _moved(out: Console, shown: Shown, found: StandingAsBuilt) -> None:
    if not found.moved_by:
        return
    out.print()
    say(out, f"What moved with {found.moved_by}", "bold")
    table = columns("target", ">expected", ">chance")
    for t in found.targets:
        if t.before is None or t.before_chance is None:
            continue
        table.add_row(
            t.name,
            from_to(shown.error(t.before, t.dimension), shown.error(t.expected, t.dimension)),
            from_to(percent(t.before_chance, 0.005), percent(t.chance_normal, 0.005)),
        )
    if table.row_count:
        out.print(set_in(table))


def _known(out: Console, found: StandingAsBuilt) -> None:
    counts = found.counts
    out.print()
    out.print(
        Text.assemble(
            ("How it is known", "bold"),
            f"  {counts['measured']} deviations measured, {counts['assumed']} assumed, "
            f"{counts['unresolved']} unresolved: they matter, and nobody has read them",
        )
    )
    if not found.unresolved:
        return
    table = columns("unresolved", ">share", "what would resolve it")
    for known in found.unresolved[:_UNRESOLVED]:
        table.add_row(known.name, percent(known.share), _resolver(known))
    out.print(set_in(table))
    if len(found.unresolved) > _UNRESOLVED:
        say(out, f"  and {len(found.unresolved) - _UNRESOLVED} more with smaller shares", "dim")


def _resolver(known: Known) -> str:
    return f"read {known.resolved_by}" if known.resolved_by else "no reading that is declared; add a test"


def _surprises(out: Console, shown: Shown, looks: Sequence[ReadingLook]) -> None:
    if not looks:
        return
    out.print()
    out.print("[bold]Surprises[/bold]  [dim]look at these a second time before the rest is believed[/dim]")
    for look in looks[:_SURPRISES]:
        words = f"{look.surprise:.1f} standard uncertainties from what everything else says"
        say(out, f"  ! entry {look.entry}, {look.name}: {look.outside or words}")
        if len(look.found) == 1:
            off = look.found[0] - look.expected[0]
            by = shown.error_known(off, look.std[0], look.dimension, sign=True)
            say(
                out,
                f"    off by {by}, standard uncertainty {shown.error(look.std[0], look.dimension)}",
                "dim",
            )


def _actions(out: Console, actions: Sequence[Action], nothing_more: str) -> None:
    if not actions and not nothing_more:
        return
    out.print()
    out.print("[bold]Next[/bold]")
    for number, action in enumerate(actions, 1):
        minutes = "" if action.minutes is None else f" ({action.minutes:g} min)"
        say(out, f"  {number}. {action.what}{minutes}")
        say(out, f"     {action.gain}", "dim")
        say_command(out, f"     $ {action.command}")
    if nothing_more:
        say(out, f"  Nothing {'more ' if actions else ''}is worth reading or setting: {nothing_more}")


def show_effect(out: Console, shown: Shown, targets: Sequence[TargetEffect]) -> None:
    """Prints what an entry brought at the tool."""
    if not targets:
        return
    table = columns("at the tool", ">limit", ">expected", ">not known", ">chance")
    for t in targets:
        table.add_row(
            t.name,
            shown.limit(t.limit, t.dimension),
            from_to(shown.error(t.before, t.dimension), shown.error(t.after, t.dimension)),
            from_to(shown.error(t.unknown_before, t.dimension), shown.error(t.unknown_after, t.dimension)),
            from_to(percent(t.chance_before, 0.01), percent(t.chance_after, 0.01)),
        )
    out.print(set_in(table))


def show_left_out(out: Console, left_out: Sequence[tuple[int, str]]) -> None:
    """Prints which readings no longer count."""
    for number, why in left_out:
        say(out, f"note: entry {number} no longer counts: {why}")
