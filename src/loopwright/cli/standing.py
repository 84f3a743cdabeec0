"""loopwright standing."""

import click

from loopwright.cli.at_book import book_option, examples, json_option, place_of, print_json


@click.command()
@book_option
@click.option(
    "--target", "targets", multiple=True, help="Name of a target; repeat for several. Default: all."
)
@click.option(
    "--state", type=int, metavar="N", help="As it was in this state of the machine. Default: the newest."
)
@click.option(
    "--until",
    type=int,
    metavar="ENTRY",
    help="As it was when the book had this entry, and none after it. Default: all of them.",
)
@click.option(
    "--thorough", is_flag=True, help="Sample the stated shapes even where readings are sharp; takes longer."
)
@json_option
@examples(
    "loopwright standing",
    'loopwright standing --target "hole position" --thorough',
    "loopwright standing --book drill.book --state 1",
    "loopwright standing --until 40",
)
def standing(
    where: str | None,
    targets: tuple[str, ...],
    state: int | None,
    until: int | None,
    thorough: bool,
    as_json: bool,
) -> None:
    """Say where the machine stands as built: by every reading in its book, beside what was designed."""
    from loopwright.book import open_book
    from loopwright.cli.layout import Progress
    from loopwright.studies.books import standing_of_book

    with open_book(place_of(where)) as book, Progress(as_json, first="working out the machine …") as progress:
        page = standing_of_book(
            book, state=state, until=until, targets=targets, thorough=thorough, progress=progress
        )
    if as_json:
        from loopwright.studies.exchange_bench import standing_as_built_as_data

        print_json(standing_as_built_as_data(page))
        return
    from loopwright.cli.bench_text import show_front_page

    show_front_page(page)
