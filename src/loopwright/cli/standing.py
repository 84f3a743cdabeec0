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
    "--thorough", is_flag=True, help="Sample the stated shapes even where readings are sharp; takes longer."
)
@json_option
@examples(
    "loopwright standing",
    'loopwright standing --target "hole position" --thorough',
    "loopwright standing --book drill.book --state 1",
)
def standing(
    where: str | None, targets: tuple[str, ...], state: int | None, thorough: bool, as_json: bool
) -> None:
    """Say where the machine stands as built: by every reading in its book, beside what was designed."""
    from loopwright.book import open_book
    from loopwright.cli.layout import Progress
    from loopwright.studies.as_built import standing_as_built
    from loopwright.studies.books import bench_of, front_page

    with open_book(place_of(where)) as book, Progress(as_json, first="working out the machine …") as progress:
        found = bench_of(book, state=state)
        # what to do next is a question about now
        ask = front_page if state is None else standing_as_built
        page = ask(found, targets=targets, thorough=thorough, progress=progress)
    if as_json:
        from loopwright.studies.exchange_bench import standing_as_built_as_data

        print_json(standing_as_built_as_data(page))
        return
    from loopwright.cli.bench_text import show_front_page

    show_front_page(page)
