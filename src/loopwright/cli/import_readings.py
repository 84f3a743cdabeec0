"""loopwright import-readings."""

from dataclasses import replace
from pathlib import Path
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
from loopwright.cli.faults import MISTAKE, show_problems
from loopwright.errors import RequestError

NOTHING = "nothing was entered"


@click.command("import-readings")
@click.argument("file", type=click.Path(path_type=Path))
@book_option
@click.option(
    "--columns", "name", default="readings", show_default=True, help="Name under which the columns are kept."
)
@click.option("--anew", is_flag=True, help="Guess the columns anew, and keep them in place of the old ones.")
@click.option(
    "--column", "given", multiple=True, metavar="FIELD=HEADING", help="What a column holds; see below."
)
@click.option(
    "--constant", "constants", multiple=True, metavar="FIELD=TEXT", help="What holds for every line."
)
@click.option("--unit", help="Of values that name none.")
@click.option(
    "--dates", type=click.Choice(["year first", "day first", "month first"]), help="How dates are written."
)
@click.option("--gauge", help="What it was read with, where neither the table nor the test says.")
@click.option(
    "--from-nominal",
    is_flag=True,
    help="Values of dims are deviations from nominal, as a comparator shows them.",
)
@click.option("--yes", is_flag=True, help="Take the columns as they are proposed, without asking.")
@click.option("--keep", is_flag=True, help="Enter readings although they surprise.")
@click.option("--look", "only_look", is_flag=True, help="Only look it over; enter nothing.")
@who_option
@json_option
@examples(
    'loopwright import-readings pads.csv --gauge "length gauge"',
    "loopwright import-readings cmm.csv --columns cmm --column value=Actual --column what=Feature --unit mm",
    'loopwright import-readings screws.csv --column item=Serial --constant what="ball screw/mean travel"',
    "loopwright import-readings pads.csv --look",
)
def import_readings(
    file: Path,
    where: str | None,
    name: str,
    gauge: str | None,
    from_nominal: bool,
    keep: bool,
    only_look: bool,
    who: str | None,
    as_json: bool,
    **mapping: Any,
) -> int:
    """Enter the readings of FILE, a table (CSV): all of them, or after a mistake none.

    The first time the columns are guessed from the headings and shown; the guess is kept in the book under a name.
    FIELD is value, what, item (a serial), unit, gauge, date, part_temperature, gauge_temperature, repeat, who, note, or
    an axis letter.
    """
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.measuring.tables import read_table
    from loopwright.model.records import ColumnsKept
    from loopwright.studies.books import bench_of
    from loopwright.studies.importing import imported

    chosen = person(who)
    with open_book(place_of(where)) as book:
        with busy("working out the machine", quiet=as_json):
            bench = bench_of(book)
        columns, fresh = _columns(bench, file, name, mapping, quiet=as_json)
        if columns is None:
            return MISTAKE
        rows, problems = read_table(file, columns)
        with busy(f"judging {len(rows)} lines", quiet=as_json):
            found = imported(bench, rows, file=file.name, gauge=gauge, from_nominal=from_nominal)
        every = (*problems, *found.problems)
        if every:
            show_problems(tuple(sorted(every, key=lambda p: p.line or 0)))
            click.echo(NOTHING, err=True)
            return MISTAKE
        if found.doubted:
            _doubts(bench, found)
        if found.doubted or found.twins:
            for line in found.twins:
                click.echo(
                    f"line {line.line}: {_named(line)} is in the book already, entry {line.twin}", err=True
                )
            if not keep and not only_look:
                click.echo(f"{NOTHING}; repeat with --keep if that is right", err=True)
                return MISTAKE
        written: tuple[Any, ...] = ()
        if not only_look:
            drafts: list[Any] = [_draft(line) for line in found.lines]
            if fresh:
                drafts.insert(0, ColumnsKept(name=name, columns=columns.to_dict()))
            written = book.append_all(drafts, who=chosen, station=station(), seen=bench.last)
        _show(book, bench, found, written, as_json=as_json)
    return 0


def _named(line: Any) -> str:
    """What a line is about, with the serial of the item."""
    of: str = line.typed.of
    return of if line.typed.item is None else f"{of} of {line.typed.item}"


def _draft(line: Any) -> Any:
    reading = line.considered.reading
    return reading if line.considered.doubt is None else reading.model_copy(update={"kept": True})


def _columns(bench: Any, file: Path, name: str, given: dict[str, Any], *, quiet: bool) -> tuple[Any, bool]:
    """The columns that the book keeps, or the guess where somebody agrees to it; and whether they are new."""
    from loopwright.cli.typing_in import at_terminal
    from loopwright.measuring.table_columns import TableMapping, propose
    from loopwright.studies.importing import kept_columns

    said = any(given[key] for key in ("given", "constants", "unit", "dates"))
    kept = None if given["anew"] else kept_columns(bench, name)
    if kept is not None and not said:
        return TableMapping.from_dict(kept.columns), False
    if not file.is_file():
        raise RequestError(f"'{file}' is not there", "check its name")
    guess = propose(file, values=_headings_of_values(given))
    base = guess.mapping if kept is None else TableMapping.from_dict(kept.columns)
    columns = _with_said(base, given, guess.headings)
    if not quiet:
        _show_columns(columns, guess)
    if kept is None and not said and not given["yes"]:
        if not at_terminal():
            click.echo(
                f"{NOTHING}; repeat with --yes if these are the columns, or mend them by --column", err=True
            )
            return None, False
        click.confirm("are these the columns", default=True, abort=True, err=True)
    return columns, True


def _said_of_columns(given: dict[str, Any]) -> list[tuple[str, str]]:
    """What a column holds and its heading, for each that was named."""
    from loopwright.cli.at_book import pairs

    return [pair for text in given["given"] for pair in pairs([text], "--column value=Actual").items()]


def _headings_of_values(given: dict[str, Any]) -> tuple[str, ...]:
    return tuple(heading for field, heading in _said_of_columns(given) if field == "value")


def _with_said(base: Any, given: dict[str, Any], headings: tuple[str, ...]) -> Any:
    """The guess with what was said put over it."""
    from loopwright.cli.at_book import pairs
    from loopwright.measuring.table_columns import TableMapping, column_of

    said = [(field, column_of(heading, field)) for field, heading in _said_of_columns(given)]
    values = tuple(column for field, column in said if field == "value")
    if base is None and not values:
        raise RequestError(
            "no column looks like values; the headings are " + ", ".join(f"'{one}'" for one in headings[:12]),
            "say which it is: --column value=HEADING",
        )
    base = TableMapping(values) if base is None else base
    others = {field: column for field, column in said if field != "value" and not _is_axis(field)}
    axes = {field: column for field, column in said if _is_axis(field)}
    return replace(
        base,
        values=values or base.values,
        columns={**base.columns, **others},
        axes={**base.axes, **axes},
        constants={**base.constants, **pairs(given["constants"], "--constant what=pad_FL/height")},
        unit=given["unit"] or base.unit,
        dates=given["dates"] or base.dates,
    )


def _is_axis(field: str) -> bool:
    return len(field) <= 2 and field[:1].isupper()


def _show_columns(columns: Any, guess: Any) -> None:
    """Says on the error stream which column is taken for what."""
    from loopwright.measuring.table_columns import all_columns

    click.echo("columns of the table:", err=True)
    for what, column in all_columns(columns).items():
        unit = f", in {column.unit}" if column.unit else ""
        click.echo(f"  {what.replace('_', ' ')}: '{column.heading}'{unit}", err=True)
    for what, text in columns.constants.items():
        click.echo(f"  {what}: {text} in every line", err=True)
    decimal = "comma" if columns.decimal == "," else "point"
    click.echo(
        f"  decimal {decimal}, dates {columns.dates}, values in {columns.unit or 'their own unit'}", err=True
    )
    if guess.unassigned:
        click.echo(f"  not used: {', '.join(guess.unassigned)}", err=True)


def _doubts(bench: Any, found: Any) -> None:
    from loopwright.cli.reading_text import show_doubt
    from loopwright.studies.meant import meanings

    for line in found.doubted:
        click.echo(f"line {line.line}:", err=True)
        show_doubt(line.considered, meanings(bench, line.typed, line.considered, most=2))


def _show(book: Any, bench: Any, found: Any, written: Any, *, as_json: bool) -> None:
    from loopwright.studies.effect import effect
    from loopwright.studies.exchange_bench import imported_as_data

    if written:
        tell(written[-1])
    targets: tuple[Any, ...] = ()
    if written:
        from loopwright.studies.books import bench_of

        before = bench_of(book, until=written[0].entry.number - 1) if written[0].meanwhile else bench
        targets = effect(before, bench_of(book, until=written[-1].entry.number))
    if as_json:
        print_json(imported_as_data(bench, found, written, targets))
        return
    from loopwright.cli.bench_text import show_effect
    from loopwright.cli.layout import columns, console, say, set_in
    from loopwright.sheets.shown import Shown, percent

    out = console()
    done = f"entries {written[0].entry.number} to {written[-1].entry.number}" if written else NOTHING
    say(out, f"{len(found.lines)} readings: {done}", "bold")
    table = columns(">line", "what", ">values", ">surprise", "verdict", ">probability")
    for line in found.lines:
        held, look = line.considered.conformity, line.considered.look
        table.add_row(
            str(line.line),
            _named(line),
            str(len(line.considered.reading.evaluated.values)),
            "-" if look is None else f"{look.surprise:.1f}",
            "no limits" if held is None else str(held.verdict),
            "-" if held is None else percent(held.probability),
        )
    out.print(set_in(table))
    show_effect(out, Shown(bench.build.units), targets)
