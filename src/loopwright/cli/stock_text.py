"""What 'loopwright stock' prints."""

from rich.console import Console

from loopwright.cli.layout import columns, console, say, set_in
from loopwright.sheets.shown import percent
from loopwright.sheets.stock_words import FINER, StockWords
from loopwright.studies.stock_sheet import StockSheet, SurfaceStock

_CAUSES = 3


def show_stock(found: StockSheet, *, whole: bool) -> None:
    """Prints stock to leave.

    Args:
        found: what was found.
        whole: every cause with its source, not only the largest.
    """
    out, words = console(), StockWords(found)
    material = f", {found.material}" if found.material else ""
    say(
        out,
        f"{found.part}{material}: stock to leave, so that {percent(found.chance)} clean up all over",
        "bold",
    )
    if found.hardening is not None:
        say(
            out, f"  taken as hardened in the furnace so: {found.furnace} (say otherwise by --furnace)", "dim"
        )
    if not found.surfaces:
        say(out, "  no cut of its route follows another on the same surface")
    for one in found.surfaces:
        _show_surface(out, words, one, whole)
    for problem in found.problems:
        say(out, f"\n  {problem.field}: {problem.what}", "bold")
        say(out, f"    -> {problem.remedy}")
    if found.hardening is not None:
        steel = found.hardening
        say(out, f"\nhardening, op {steel.op}: {steel.steel}", "bold")
        for line in words.hardening(steel):
            say(out, f"  {line}")
        for note in steel.notes:
            say(out, f"  ! {note}")
    _show_cautions(out, found)


def _show_surface(out: Console, words: StockWords, one: SurfaceStock, whole: bool) -> None:
    before = f", after op {one.before} ({one.before_name})" if one.before else ""
    say(out, f"\n{one.surface}, op {one.op} ({one.op_name}){before}", "bold")
    say(out, f"  {words.leave(one)}", "bold")
    for line in (words.work_to(one), words.written(one), words.customary(one), words.minutes(one)):
        if line:
            say(out, f"  {line}")
    causes = one.causes if whole else one.causes[:_CAUSES]
    headings = ("what eats into it", ">spread", ">without it less by", *(("source",) if whole else ()))
    table = columns(*headings)
    for cause in causes:
        source = (f"{cause.source}{' (assumed)' if cause.assumed else ''}",) if whole else ()
        table.add_row(cause.name, *words.cause(cause, one.step), *source)
    if causes:
        out.print(set_in(table))
    if len(causes) < len(one.causes):
        say(out, f"  and {len(one.causes) - len(causes)} more: --surface '{one.surface}'", "dim")
    for remedy in one.remedies:
        least = words.size(remedy.least, one.step / FINER)
        say(out, f"  {remedy.words}: {least} would do, {words.size(remedy.saves, one.step / FINER)} less")
    for note in one.notes:
        say(out, f"  ! {note}")


def _show_cautions(out: Console, found: StockSheet) -> None:
    if not found.cautions:
        return
    say(out, "\ncautions", "bold")
    for known in found.cautions:
        say(out, f"  {known.hazard}", "bold")
        for line in known.texts:
            say(out, f"    · {line}")
    say(out, f"  {found.defers}")
