"""loopwright chart."""

from pathlib import Path

import click

from loopwright.cli.at_book import examples, json_option, print_json
from loopwright.cli.making_source import build_of, build_options


@click.command()
@click.argument("part")
@click.option(
    "--audit", is_flag=True, help="Look for everything that is wrong with the sizes that the route gives."
)
@build_options
@json_option
@examples("loopwright chart head_spacer", "loopwright chart head_spacer --audit --file machine.yaml")
def chart(part: str, audit: bool, where: str | None, file: Path | None, as_json: bool) -> None:
    """Draw up the tolerance charts of PART: working dims, what they add up to, what binds, what would free it."""
    from loopwright.studies.chart_sheet import chart_sheet

    build = build_of(where, file)
    found = chart_sheet(build, part, audited=audit)
    if as_json:
        from loopwright.studies.exchange_route import chart_as_data

        print_json(chart_as_data(found, build.units))
        return
    from loopwright.cli.route_text import show_charts

    show_charts(found, build.units)
