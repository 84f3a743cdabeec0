"""loopwright concede."""

from typing import Any

import click

from loopwright.cli.at_book import (
    book_option,
    examples,
    json_option,
    person,
    place_of,
    print_json,
    station,
    tell,
    who_option,
)

_MATCHES = 5


@click.command()
@click.argument("part")
@book_option
@click.option(
    "--match",
    multiple=True,
    metavar="PART",
    help="A part, or the serial of an item, that it could be exchanged with. Default: whatever fits is tried.",
)
@click.option(
    "--decide",
    type=click.Choice(["use as is", "compensate", "match", "remake", "refuse"]),
    help="Enter this decision.",
)
@click.option("--terms", default="", help="What has to be done for it. Default: what is shown for that way.")
@who_option
@json_option
@examples(
    "loopwright concede head_spacer",
    "loopwright concede pad_FL",
    "loopwright concede pad_FL --match pad_FR",
    'loopwright concede head_spacer --decide compensate --terms "shim the column"',
)
def concede(
    part: str,
    where: str | None,
    match: tuple[str, ...],
    decide: str | None,
    terms: str,
    who: str | None,
    as_json: bool,
) -> None:
    """Say what PART, out of tolerance, means at the tool: used as it is, compensated, matched, or made anew."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.conceding import concession
    from loopwright.studies.deciding import concession_record

    written = None
    with open_book(place_of(where)) as book:
        with busy("working out every way to go on", quiet=as_json):
            bench = bench_of(book)
            found = concession(bench, part, match=match)
        if decide is not None:
            entered = concession_record(found, decide, terms=terms)
            written = book.append(entered, who=person(who), station=station(), seen=bench.last)
            tell(written)
    if as_json:
        from loopwright.studies.exchange_fitup import concession_as_data

        print_json(concession_as_data(found, written))
        return
    _show(found, written)


def _show(found: Any, written: Any) -> None:
    from loopwright.cli.layout import columns, console, say, set_in
    from loopwright.cli.reading_text import verdict_words
    from loopwright.cli.sizes import size
    from loopwright.sheets.shown import Shown, percent

    out, shown = console(), Shown(found.units)
    say(out, f"{found.build}: {found.part}, state {found.state}", "bold")
    for dim in found.dims:
        held = dim.conformity
        value, _ = size(found.units, held.value, held.std, dim.dimension)
        say(out, f"  {dim.dim} = {value}: {verdict_words(found.units, held, dim.dimension)}")
    out.print()
    table = columns("way", "target", ">limit", ">not known", ">left when set", ">chance")
    for way in found.ways:
        for number, ((name, dimension, limit), left) in enumerate(zip(found.targets, way.targets)):
            table.add_row(
                "" if number else way.decision + (" *" if way.decision == found.best else ""),
                name,
                shown.limit(limit, dimension),
                shown.error(left.unknown, dimension),
                shown.error(left.adjusted, dimension),
                "-" if left.chance is None else percent(left.chance, 0.01),
            )
    out.print(set_in(table))
    say(
        out,
        "  * proposed: the best chance of the target that is worst off; 'use as is' where neither a new part "
        "nor another brings more",
        "dim",
    )
    _matches(out, found)
    for way in found.ways:
        say(out, f"  {way.decision}: {way.words}")
        for name, dimension, value, change in way.settings:
            to = shown.limit(value, dimension)
            say(out, f"      {name} to {to}, by {shown.error(change, dimension, sign=True)}", "dim")
    _end(out, found, written)


def _matches(out: Any, found: Any) -> None:
    """What it could be exchanged with, the best first."""
    from loopwright.cli.layout import columns, say, set_in
    from loopwright.sheets.shown import percent

    if not found.matches:
        say(
            out,
            f"  nothing else of this drawing is in the machine or on the bench to match '{found.part}' with",
            "dim",
        )
        return
    tried = len(found.matches)
    say(out, f"\n  to match it with, {tried} {'was' if tried == 1 else 'were'} tried:")
    table = columns("what", "", ">chance of the target worst off", ">largest expected")
    for match in found.matches[:_MATCHES]:
        table.add_row(match.name, match.kind, percent(match.least, 0.01), f"{percent(match.size)} of limit")
    out.print(set_in(table))
    if tried > _MATCHES:
        say(out, f"  and {tried - _MATCHES} more with smaller chances", "dim")


def _end(out: Any, found: Any, written: Any) -> None:
    from loopwright.cli.cautions import GRINDING
    from loopwright.cli.layout import say, say_command

    if any(way.decision == "compensate" for way in found.ways) and any(
        "/thickness" in name for way in found.ways for name, *_ in way.settings
    ):
        say(out, GRINDING)
    if written is not None:
        record = written.entry.record
        say(
            out,
            f"entry {written.entry.number}: {', '.join(record.dims)}: {record.decision}; {record.terms}",
            "bold",
        )
    else:
        say_command(out, f"to decide: loopwright concede '{found.part}' --decide '{found.best}'")
