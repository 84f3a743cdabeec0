"""loopwright route."""

from pathlib import Path

import click

from loopwright.cli.at_book import examples, json_option, print_json
from loopwright.cli.making_source import build_of, build_options


@click.command()
@click.argument("part")
@build_options
@json_option
@examples("loopwright route head_spacer", "loopwright route head_spacer --file machine.yaml")
def route(part: str, where: str | None, file: Path | None, as_json: bool) -> None:
    """Say how PART is made: its ops in order, with working dims, stock and minutes."""
    from loopwright.studies.route_sheet import route_sheet

    build = build_of(where, file)
    found = route_sheet(build, part)
    if as_json:
        from loopwright.studies.exchange_route import route_as_data

        print_json(route_as_data(found, build.units))
        return
    from loopwright.cli.route_text import show_route

    show_route(found, build.units)
