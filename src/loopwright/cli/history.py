"""loopwright history."""

from typing import Any

import click

from loopwright.cli.at_book import book_option, examples, json_option, place_of, print_json


@click.command()
@book_option
@click.option("--since", type=int, default=0, metavar="N", help="Only entries after this one.")
@click.option("--about", metavar="PATH", help="Only what touches this dim, test, closure or adjuster.")
@click.option(
    "--states", is_flag=True, help="Also where the machine stood in each state, and what it brought."
)
@click.option("--replay", is_flag=True, help="Entry by entry, what each one brought at the tool.")
@json_option
@examples(
    "loopwright history",
    "loopwright history --replay --since 40",
    "loopwright history --since 20 --states",
    "loopwright history --about head_spacer/thickness",
)
def history(
    where: str | None, since: int, about: str | None, states: bool, replay: bool, as_json: bool
) -> None:
    """List what was entered, one line for each entry; what no longer counts is marked."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import history as happened

    if replay:
        _replayed(where, since, as_json)
        return
    with open_book(place_of(where)) as book, busy("reading the book", quiet=as_json):
        found = happened(book, since=since, subject=about, states=states)
    if as_json:
        from loopwright.studies.exchange_bench import history_as_data

        print_json(history_as_data(found))
        return
    _show(found, states=states)


def _replayed(where: str | None, since: int, as_json: bool) -> None:
    """Entry by entry as it was worked out, so that a long book begins to speak at once."""
    from loopwright.book import open_book
    from loopwright.cli.bench_text import show_effect
    from loopwright.cli.entry_text import entry_words
    from loopwright.cli.layout import console, say
    from loopwright.sheets.shown import Shown
    from loopwright.studies.books import bench_of
    from loopwright.studies.effect import replay
    from loopwright.studies.exchange_bench import effect_as_data

    with open_book(place_of(where)) as book:
        units = bench_of(book).build.units
        if as_json:
            brought = [
                {"entry": entry.number, "targets": effect_as_data(units, targets)}
                for entry, targets in replay(book, since=since)
            ]
            print_json({"format": "loopwright-replay/1", "build": book.info.build_name, "entries": brought})
            return
        out, shown = console(), Shown(units)
        for entry, targets in replay(book, since=since):
            say(out, f"\nentry {entry.number}, {entry.at[:10]}, {entry.who}: {entry_words(entry, units)}")
            moved = [t for t in targets if t.before != t.after or t.unknown_before != t.unknown_after]
            show_effect(out, shown, moved)


def _show(found: Any, *, states: bool) -> None:
    from loopwright.cli.entry_text import entry_words
    from loopwright.cli.layout import columns, console, say

    out, units = console(), found.bench.build.units
    say(out, found.bench.build.name, "bold")
    table = columns(">entry", "when", "who", "what")
    for entry in found.entries:
        gone = entry.number in found.gone and entry.record.kind != "withdrawal"
        words = entry_words(entry, units) + (f"; {entry.why}" if entry.why else "")
        if entry.supersedes is not None and entry.record.kind != "withdrawal":
            words = f"instead of entry {entry.supersedes}: {words}"
        if gone:
            words = f"[no longer counts] {words}"
        from rich.text import Text

        when = entry.at[:16].replace("T", " ")
        table.add_row(str(entry.number), when, Text(entry.who), Text(words, style="dim" if gone else ""))
    out.print(table)
    if not found.entries:
        say(out, "no entry")
    if states:
        _states(out, found)


def _states(out: Any, found: Any) -> None:
    """Where the machine stood at the end of each state, beside the state before."""
    from loopwright.cli.layout import columns, say, set_in
    from loopwright.sheets.shown import Shown

    build = found.bench.build
    shown, before = Shown(build.units), None
    for line in found.states:
        out.print()
        say(out, f"state {line.number}   {line.at[:10]}, {line.who}: {line.reason}", "bold")
        say(out, f"  {line.cause}; {line.readings} readings", "dim")
        for what, of, value, planned in line.changes:
            say(out, f"  {_change(what, of, value, planned, build.units)}")
        table = columns("target", ">limit", ">expected", ">state before", ">not known")
        for number, (name, target) in enumerate(build.targets.items()):
            table.add_row(
                name,
                shown.limit(target.limit, target.dimension),
                shown.error(line.targets[number], target.dimension),
                "-" if before is None else shown.error(before.targets[number], target.dimension),
                shown.error(line.unknown[number], target.dimension),
            )
        out.print(set_in(table))
        before = line


def _change(what: str, of: str, value: float | None, planned: float | None, units: Any) -> str:
    from loopwright.cli.entry_text import change_words
    from loopwright.model.records import Change

    return change_words(Change(what=what, of=of, value=value, planned=planned), units)  # type: ignore[arg-type]
