"""loopwright cheapest."""

from math import isfinite
from pathlib import Path

import click

from loopwright.cli.at_book import examples, json_option, print_json
from loopwright.cli.making_source import build_of, build_options


@click.command()
@click.option("--chance", required=True, metavar="SHARE", help="Chance that is wished for: 95 %, or 0.95.")
@click.option(
    "--target",
    "targets",
    multiple=True,
    metavar="NAME",
    help="Target that counts; again for more. Default: all.",
)
@build_options
@json_option
@examples("loopwright cheapest --chance 95%", 'loopwright cheapest --chance 0.9 --target "hole position"')
def cheapest(
    chance: str, targets: tuple[str, ...], where: str | None, file: Path | None, as_json: bool
) -> None:
    """Say which change of routes brings the wished chance for the least attended minutes.

    It chooses among the alternatives that the routes allow: another machine, one more op, one setting for several
    parts.
    """
    from loopwright import units
    from loopwright.cli.layout import Progress
    from loopwright.studies.cheapest_making import cheapest_making

    build = build_of(where, file)
    wished = units.parse(chance, units.Dimension.RATIO)
    with Progress(as_json, "choices looked at in full: {done}", "looking for the cheapest …") as progress:
        found = cheapest_making(build, wished, targets=targets, progress=progress)
    if as_json:
        from loopwright.studies.exchange_route import cheapest_as_data

        print_json(cheapest_as_data(found))
        return
    from loopwright.cli.layout import columns, console, say, set_in
    from loopwright.sheets.shown import percent

    out = console()
    what = found.targets[0] if len(found.targets) == 1 else f"all {len(found.targets)} limits together"
    say(out, f"{what}: chance {percent(found.now, found.chance_std)} as the routes stand", "bold")
    if not found.reached:
        say(out, f"  no choice among {found.choices} was found that brings {percent(found.wished)}")
        say(out, f"  the best of those looked at brings {percent(found.chance, found.chance_std)}")
    elif not found.chosen:
        say(out, f"  that is enough for {percent(found.wished)}; nothing needs to be changed")
    else:
        say(
            out, f"  {percent(found.chance, found.chance_std)} with these changes, {_minutes(found.minutes)}:"
        )
    table = columns("part", "op", "instead", "matched set")
    for one in found.chosen or found.best:
        table.add_row(one.part, f"{one.op} {one.does}", one.name, one.matched)
    if found.chosen or found.best:
        out.print(set_in(table))
    if found.proven:
        say(
            out,
            "  proven: no cheaper choice is enough" if found.reached else "  proven: none is enough",
            "dim",
        )
    elif isfinite(found.bound):
        say(out, f"  not proven; no choice that is enough takes less than {_minutes(found.bound)}", "dim")
    if found.unstated:
        say(out, f"  {found.unstated} of the ops concerned state no minutes and count as none", "dim")
    say(out, f"  {found.choices} choices, {found.tried} of them looked at in full", "dim")


def _minutes(value: float) -> str:
    return f"{abs(value):.0f} attended minutes {'more' if value >= 0 else 'less'}"
