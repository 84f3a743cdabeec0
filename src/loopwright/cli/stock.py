"""loopwright stock."""

from pathlib import Path
from typing import Any

import click

from loopwright.cli.at_book import examples, json_option, print_json
from loopwright.cli.making_source import build_of, build_options

FURNACES = ("vacuum or gas", "foil or pack", "coating", "none")


@click.command()
@click.argument("part")
@click.option("--surface", metavar="NAME", help="Only this surface, with every cause and its source.")
@click.option("--chance", metavar="SHARE", help="Chance to clean up, such as 99%. Default: as the shop asks.")
@click.option(
    "--furnace",
    type=click.Choice(FURNACES),
    default="foil or pack",
    show_default=True,
    help="How the part is kept from losing carbon in the furnace.",
)
@build_options
@json_option
@examples(
    "loopwright stock head_spacer",
    'loopwright stock head_spacer --surface top --chance 99.5% --furnace "vacuum or gas"',
)
def stock(
    part: str,
    surface: str | None,
    chance: str | None,
    furnace: Any,
    where: str | None,
    file: Path | None,
    as_json: bool,
) -> None:
    """Say how much stock to leave on PART for each finishing cut, and what drives it."""
    from loopwright.studies.stock_sheet import stock_sheet

    wanted = None if chance is None else _share(chance)
    found = stock_sheet(build_of(where, file), part, surface=surface, chance=wanted, furnace=furnace)
    if as_json:
        from loopwright.studies.exchange_stock import stock_as_data

        print_json(stock_as_data(found))
        return
    from loopwright.cli.stock_text import show_stock

    show_stock(found, whole=surface is not None)


def _share(text: str) -> float:
    """A share as it is typed: 99%, 99 %, 0.99.

    Raises:
        QuantityError: it is none.
    """
    from loopwright import units
    from loopwright.units import Dimension

    return units.parse(text, Dimension.RATIO, bare="1")
