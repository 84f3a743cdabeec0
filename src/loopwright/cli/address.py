"""loopwright address."""

import click

from loopwright.cli.at_book import book_option, examples, json_option, place_of, print_json

KINDS = ("part", "test", "step", "gauge")


@click.command()
@click.argument("what", metavar="NAME", required=False)
@click.option("--kind", type=click.Choice(KINDS), help="Only things of this kind.")
@book_option
@json_option
@examples(
    "loopwright address column",
    "loopwright address --kind gauge",
    'loopwright address "tram the spindle"',
)
def address(what: str | None, kind: str | None, where: str | None, as_json: bool) -> None:
    """Say the short address of a part, test, fit-up step or gauge; of all of them without NAME.

    NAME may be the beginning of a name, or a code as it stands on a label. The pages open a code at /a/CODE.
    """
    from loopwright.book import open_book
    from loopwright.studies.addresses import addresses_of
    from loopwright.studies.books import bench_of

    with open_book(place_of(where)) as book:
        bench = bench_of(book)
    known = addresses_of(bench)
    found = known.things if what is None else known.asked(what)
    chosen = [thing for thing in found if kind is None or thing.kind == kind]
    if as_json:
        from loopwright.studies.addresses import addresses_as_data

        print_json(addresses_as_data(bench.build.name, chosen))
        return
    from loopwright.cli.layout import columns, console, say

    out = console()
    table = columns("code", "kind", "name")
    for thing in chosen:
        table.add_row(thing.code, thing.kind, thing.name)
    if table.row_count:
        out.print(table)
    else:
        say(out, "nothing of that kind")
