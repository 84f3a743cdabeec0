"""loopwright what-if."""

import click

from loopwright.cli.at_book import book_option, examples, json_option, pairs, place_of, print_json


@click.command("what-if")
@click.argument("changes", nargs=-1, required=True, metavar="PATH=VALUE…")
@book_option
@click.option(
    "--target", "targets", multiple=True, help="Name of a target; repeat for several. Default: all."
)
@click.option(
    "--thorough", is_flag=True, help="Sample the stated shapes even where readings are sharp; takes longer."
)
@json_option
@examples(
    'loopwright what-if "column/foot_lean=90 deg ±2 arcsec"',
    'loopwright what-if "targets/hole position/limit=12 µm"',
)
def what_if(
    changes: tuple[str, ...], where: str | None, targets: tuple[str, ...], thorough: bool, as_json: bool
) -> None:
    """Say where the machine would stand if its description said something else. Nothing is entered."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of, what_if_as_built

    asked = pairs(changes, "column/height='240 ±0.01'")
    with open_book(place_of(where)) as book, busy("working out both machines", quiet=as_json):
        compared = what_if_as_built(bench_of(book), asked, targets=targets, thorough=thorough)
    if as_json:
        from loopwright.studies.exchange_bench import what_if_as_built_as_data

        print_json(what_if_as_built_as_data(compared))
        return
    from loopwright.cli.bench_text import show_what_if_as_built

    show_what_if_as_built(compared)
