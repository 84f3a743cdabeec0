"""loopwright select."""

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

_RANKED = 5


@click.command()
@click.argument("kind")
@click.option(
    "--place", "places", multiple=True, required=True, metavar="PLACE", help="As 'X slide/drive', or a part."
)
@click.option("--grade", help="Lead-screw grade that was ordered, to send items back against, as C5.")
@click.option("--target", "targets", multiple=True, help="Name of a target that counts. Default: all.")
@click.option(
    "--put-in", is_flag=True, help="Enter that the best ones were put in: a new state of the machine."
)
@book_option
@who_option
@json_option
@examples(
    'loopwright select "ball screw" --place "X slide/drive" --place "Y slide/drive" --grade C5',
    'loopwright select "ball screw" --place "X slide/drive" --put-in',
)
def select(
    kind: str,
    places: tuple[str, ...],
    grade: str | None,
    targets: tuple[str, ...],
    put_in: bool,
    where: str | None,
    who: str | None,
    as_json: bool,
) -> None:
    """Say which of the inspected items of KIND goes where, so that the least error is left at the tool."""
    from loopwright.book import open_book
    from loopwright.cli.layout import Progress
    from loopwright.studies.books import bench_of
    from loopwright.studies.choosing import choose
    from loopwright.studies.effect import brought
    from loopwright.studies.fitup_bench import state_after

    written = came = None
    counting = Progress(as_json, "comparing choices: {done}{of}", first="working out the machine …")
    with open_book(place_of(where)) as book, counting as progress:
        bench = bench_of(book)
        found = choose(bench, kind, places, grade=grade, targets=targets, progress=progress)
        if put_in:
            exchanged: dict[str, str | None] = dict(zip(found.places, found.best))
            state = state_after(
                bench, {}, reason=f"{kind}s put in by what was read of them", exchanged=exchanged
            )
            written = book.append(state, who=person(who), station=station(), seen=bench.last)
            came = brought(book, bench, written)
    if written is not None:
        tell(written)
    if as_json:
        from loopwright.studies.exchange_fitup import chosen_as_data

        print_json(chosen_as_data(found, written, came))
        return
    _show(found)
    if written is not None and came is not None:
        from loopwright.cli.fitup_text import show_done

        show_done(written, came, None)


def _show(found: Any) -> None:
    from loopwright.cli.layout import columns, console, say, set_in
    from loopwright.sheets.shown import Shown, percent
    from loopwright.units import Dimension

    out, shown = console(), Shown(found.units)
    say(out, f"{found.build}: {found.kind}, {len(found.items)} read for {len(found.places)} places", "bold")
    for place, serial in zip(found.places, found.best):
        say(out, f"  {place}: {serial}", "bold")
    say(out, f"  largest expected error as a share of its limit: {percent(found.objective)}")
    choices = f"{found.choices:,}"
    average = f"  taken as they come {percent(found.average)}"
    average += "" if found.every else f" ± {percent(found.average_std)}"
    say(out, f"{average}, at worst {percent(found.worst)}; {choices} ways to choose", "dim")
    out.print()
    table = columns(*_headings(found))
    graded = {one.serial: one for one in found.graded}
    for serial, items in found.items:
        one = graded[serial]
        told = "-" if not one.verdict else f"{one.verdict} (grade {one.grade})"
        placed = next((place for place, best in zip(found.places, found.best) if best == serial), "")
        read = {item.what: item for item in items}
        table.add_row(
            serial,
            *(
                shown.error_known(read[what].value, read[what].std, Dimension.LENGTH) if what in read else "-"
                for what in _whats(found)
            ),
            told,
            placed or ("never worth using" if serial in found.aside else ""),
        )
    out.print(set_in(table))
    for serials, objective in found.ranking[:_RANKED]:
        say(out, f"  {percent(objective)} of a limit with {', '.join(serials)}", "dim")
    for source in sorted({one.source for one in found.graded if one.source}):
        say(out, f"  grade limits: {source}", "dim")


def _whats(found: Any) -> list[str]:
    """Everything that was read of any item."""
    return list(dict.fromkeys(item.what for _, items in found.items for item in items))


def _headings(found: Any) -> list[str]:
    return ["item", *(f">{what}" for what in _whats(found)), "against the grade", "goes to"]
