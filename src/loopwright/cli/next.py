"""loopwright next."""

from typing import Any

import click

from loopwright.cli.at_book import book_option, examples, json_option, place_of, print_json
from loopwright.errors import RequestError

_RANKED = 12


@click.command("next")
@book_option
@click.option(
    "--minutes", type=float, help="Time there is: which readings to take in it, and in which order."
)
@click.option("--hours", type=float, help="The same in hours.")
@click.option("--among", multiple=True, metavar="NAME", help="Only these tests or dims; repeat for several.")
@click.option(
    "--target", "targets", multiple=True, help="Name of a target; repeat for several. Default: all."
)
@click.option("--gauges", is_flag=True, help="Also say what gauge each test needs.")
@json_option
@examples(
    "loopwright next",
    "loopwright next --hours 2",
    'loopwright next --among "X straight in Y" --among "Y square to X" --gauges',
)
def next_(
    where: str | None,
    minutes: float | None,
    hours: float | None,
    among: tuple[str, ...],
    targets: tuple[str, ...],
    gauges: bool,
    as_json: bool,
) -> None:
    """Say what to measure next: what each reading is worth per minute, before it is taken."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.next_readings import next_readings

    there_is = _minutes(minutes, hours)
    with (
        open_book(place_of(where)) as book,
        busy("weighing every reading that could be taken", quiet=as_json),
    ):
        found = next_readings(bench_of(book), targets=targets, minutes=there_is, among=among, gauges=gauges)
    if as_json:
        from loopwright.studies.exchange_bench import next_readings_as_data

        print_json(next_readings_as_data(found))
        return
    _show(found)


def _minutes(minutes: float | None, hours: float | None) -> float | None:
    if minutes is not None and hours is not None:
        raise RequestError("both --minutes and --hours are given", "give one of them")
    there_is = minutes if hours is None else 60 * hours
    if there_is is not None and not 0 < there_is < 1e6:
        raise RequestError(f"{there_is:g} minutes", "give a time above zero, as in --hours 2")
    return there_is


def _show(found: Any) -> None:
    from loopwright.cli.layout import console, say, say_command

    out = console()
    say(out, found.build, "bold")
    what = "what is left after the adjusters are set" if found.adjusts else "what is not known"
    say(out, f"a reading's gain: the share of a limit by which it lowers {what}", "dim")
    useful = found.worthwhile
    if not useful:
        say(out, f"  nothing more is worth reading: {found.nothing}")
    else:
        _ranking(out, found, useful[:_RANKED])
    if len(useful) > _RANKED:
        say(out, f"  and {len(useful) - _RANKED} more that bring less per minute", "dim")
    if found.worthless:
        say(out, f"  not worth taking now: {', '.join(found.worthless)}", "dim")
    if found.plan is not None:
        _plan(out, found)
    if found.gauges:
        _gauges(out, found)
    if useful:
        out.print()
        say_command(out, f"to enter it: loopwright record '{useful[0].name}'")


def _ranking(out: Any, found: Any, ranked: Any) -> None:
    from rich.text import Text

    from loopwright.cli.layout import columns, from_to, set_in
    from loopwright.sheets.shown import Shown, percent

    shown = Shown(found.units)
    table = columns("read", ">minutes", ">gain", ">not known", ">chance", "most for")
    for worth in ranked:
        now, then = worth.of_target
        table.add_row(
            worth.name,
            f"{worth.minutes:g}",
            percent(worth.gain),
            from_to(shown.error(now.unknown, worth.dimension), shown.error(then.unknown, worth.dimension)),
            _chances(now.chance, then.chance),
            Text(worth.target, style="dim"),
        )
    out.print(set_in(table))


def _chances(now: float | None, then: float | None) -> str:
    from loopwright.cli.layout import from_to
    from loopwright.sheets.shown import percent

    return "-" if now is None or then is None else from_to(percent(now, 0.01), percent(then, 0.01))


def _plan(out: Any, found: Any) -> None:
    from loopwright.cli.layout import columns, from_to, say, set_in
    from loopwright.sheets.shown import Shown

    shown, plan = Shown(found.units), found.plan
    out.print()
    say(out, f"In the time there is: {len(plan.readings)} readings, {plan.minutes:g} minutes", "bold")
    for number, worth in enumerate(plan.readings, 1):
        say(out, f"  {number}. {worth.name} ({worth.minutes:g} min)")
    table = columns("target", ">not known", ">left when set", ">chance")
    for (name, dimension, _), now, then in zip(found.targets, plan.before, plan.after):
        table.add_row(
            name,
            from_to(shown.error(now.unknown, dimension), shown.error(then.unknown, dimension)),
            from_to(shown.error(now.adjusted, dimension), shown.error(then.adjusted, dimension)),
            _chances(now.chance, then.chance),
        )
    out.print(set_in(table))


def _gauges(out: Any, found: Any) -> None:
    from loopwright.cli.layout import columns, set_in
    from loopwright.sheets.shown import Shown, percent

    shown = Shown(found.units)
    out.print()
    table = columns("gauge for", "now", ">std. unc.", ">good enough", ">gain", ">perfect", "instead")
    for one in found.gauges:
        table.add_row(
            one.test,
            one.gauge or "-",
            shown.error(one.now, one.dimension),
            "any" if one.std is None else shown.error(one.std, one.dimension),
            percent(one.gain),
            percent(one.perfect),
            one.instead or "",
        )
    out.print(set_in(table))
