"""loopwright cut."""

from pathlib import Path

import click

from loopwright.cli.at_book import examples, json_option, pairs, print_json
from loopwright.cli.making_source import build_of, build_options


@click.command()
@click.argument("part")
@click.argument("op")
@click.option(
    "--stock",
    "stocks",
    multiple=True,
    metavar="SURFACE=SIZE",
    help="What comes off a surface, on a face or a diameter; may be repeated. Default: as the route lets one expect.",
)
@click.option(
    "--limit",
    "limits",
    multiple=True,
    metavar="SURFACE=SIZE",
    help="Half the width between its limits; may be repeated. Default: its working dim, else the dim of the drawing.",
)
@click.option("--sources", is_flag=True, help="Every source of speed and feed, and what each says.")
@build_options
@json_option
@examples(
    "loopwright cut head_spacer 20",
    "loopwright cut head_spacer ream --stock 'bore=0.2 mm' --sources",
)
def cut(
    part: str,
    op: str,
    stocks: tuple[str, ...],
    limits: tuple[str, ...],
    sources: bool,
    where: str | None,
    file: Path | None,
    as_json: bool,
) -> None:
    """Say how to cut OP of PART: tool, speed, feed, passes, what limits each, and minutes.

    OP is its number in the route (10, 20 …), or its name where there is one of that name only.
    """
    from loopwright.studies.cutting_sheet import cutting_sheet

    example = "--stock 'bore=0.2 mm'"
    found = cutting_sheet(
        build_of(where, file), part, op, stock=pairs(stocks, example), limits=pairs(limits, example)
    )
    if as_json:
        from loopwright.studies.exchange_cutting import cutting_as_data

        print_json(cutting_as_data(found))
        return
    from loopwright.cli.cut_text import show_cutting

    show_cutting(found, sources=sources)
