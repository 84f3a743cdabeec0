"""loopwright record."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import click

from loopwright.cli.at_book import (
    book_option,
    examples,
    json_option,
    person,
    place_of,
    print_json,
    station,
    tell,
    who_option,
)
from loopwright.cli.faults import MISTAKE
from loopwright.errors import RequestError

CANCEL = "nothing was entered"


class _Numbers(click.Command):
    """A command whose values may be below zero: '-3' is a number, not an option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        return super().parse_args(ctx, [re.sub(r"^-(?=[0-9.,])", "−", arg) for arg in args])


@click.command(cls=_Numbers)
@click.argument("what")
@click.argument("values", nargs=-1, metavar="VALUE…")
@book_option
@click.option(
    "--against", metavar="PART/DIM", help="The other dim of a comparison; the values are the two readings."
)
@click.option("--item", metavar="SERIAL", help="Serial of the item, where it is one of several alike.")
@click.option("--unit", help="Of values that name none. A test needs one; a dim has the file's.")
@click.option("--gauge", metavar="NAME", help="What it was read with. Default: the test's own.")
@click.option(
    "--at", "at", multiple=True, metavar="X=0,40,80", help="Positions of an axis, one for each value."
)
@click.option("--part-temp", metavar="TEMP", help="Of the part: '21.4 degC ±0.2'.")
@click.option("--gauge-temp", metavar="TEMP", help="Of the gauge.")
@click.option("--both-directions", is_flag=True, help="Positions were approached from both sides.")
@click.option(
    "--from-nominal", is_flag=True, help="The values are deviations from nominal, as a comparator shows them."
)
@click.option("--turned", is_flag=True, help="Mean of two readings, the artefact turned over between them.")
@click.option("--taken", metavar="DAY", help="When it was read, as 2026-11-25 or 2026-11-25T14:30.")
@click.option(
    "--state", type=int, metavar="N", help="State of the machine it belongs to. Default: the newest."
)
@click.option(
    "--instead-of", type=int, metavar="ENTRY", help="Corrects this entry, which then no longer counts."
)
@click.option("--keep", is_flag=True, help="Believe it although it surprises.")
@click.option("--note", help="Anything to know about it.")
@click.option("--budget", is_flag=True, help="Show every line of the uncertainty budget.")
@who_option
@json_option
@examples(
    'loopwright record column/Z_seat_left 85.004,85.005 --gauge "length gauge"',
    'loopwright record "spindle tram front to back" -3 --unit arcsec',
    'loopwright record column/Z_shoulder "3 µm" --from-nominal --gauge "length gauge"',
    'loopwright record "X straight in Y"',
    'loopwright record pad_FL/height 12.003 12.001 --against pad_FR/height --gauge "length gauge"',
    'loopwright record "ball screw/mean travel" "6 µm" --item A7 --gauge "length gauge"',
)
def record(
    what: str,
    values: tuple[str, ...],
    where: str | None,
    who: str | None,
    instead_of: int | None,
    keep: bool,
    budget: bool,
    as_json: bool,
    **said: Any,
) -> int:
    """Enter a reading of WHAT: a dim as part/dim, a test, the gap of a closure, or an item as kind/what.

    Give one VALUE for each pose, repeats of one pose parted by ','. Without values you are asked for them one by
    one; a gauge that types and presses Enter can do the typing.
    """
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.effect import without_entry

    name, chosen = place_of(where), person(who)
    said = _said(said)
    with open_book(name) as book:
        with busy("working out the machine", quiet=as_json):
            now = bench_of(book)
        seen = now if instead_of is None else without_entry(now, instead_of)
        typed, kept = _typed(seen, name, what, values, chosen, said)
        done = entered(
            book, now, typed, seen=seen, who=chosen, instead_of=instead_of, keep=keep, ask=not as_json
        )
        if done is None:
            return MISTAKE
        if kept is not None:
            kept.drop()
        if as_json:
            print_json(done.as_data())
        else:
            done.show(budget=budget)
    return 0


@dataclass(frozen=True)
class Entered:
    """A reading that is in the book now, and what it brought."""

    before: Any
    considered: Any
    written: Any
    came: Any

    def as_data(self) -> dict[str, Any]:
        """As plain data for other programs."""
        from loopwright.studies.exchange_bench import recorded_as_data

        return recorded_as_data(self.came.bench, self.considered, self.written, self.came.targets)

    def show(self, *, budget: bool) -> None:
        """Prints it: value, verdict, surprise, and what it brings at the tool."""
        from loopwright.cli.bench_text import show_effect, show_left_out
        from loopwright.cli.layout import console
        from loopwright.cli.reading_text import show_reading
        from loopwright.sheets.shown import Shown

        out, units, entry = console(), self.before.build.units, self.written.entry
        show_reading(out, units, self.considered, entry.number, entry.who, budget=budget)
        if self.considered.look is not None:
            out.print()
            show_effect(out, Shown(units), self.came.targets)
        show_left_out(out, self.came.left_out)


def entered(
    book: Any,
    now: Any,
    typed: Any,
    *,
    seen: Any,
    who: str,
    instead_of: int | None,
    keep: bool,
    ask: bool,
) -> Entered | None:
    """Enters a reading if it is believed, or kept by whoever is asked; None where nothing was entered.

    Args:
        book: open.
        now: the build as it stands.
        typed: the reading.
        seen: the build against which it is held: without the entry that it corrects.
        who: enters it.
        instead_of: number of the entry that it corrects.
        keep: believe it although it surprises.
        ask: whether somebody may be asked.
    """
    from loopwright.cli.layout import busy
    from loopwright.studies.effect import brought

    found = _believed(seen, typed, keep=keep, ask=ask)
    if found is None:
        return None
    _, considered = found
    written = book.append(
        considered.reading, who=who, station=station(), supersedes=instead_of, seen=now.last
    )
    tell(written)
    with busy("what it brings at the tool", quiet=not ask):
        return Entered(now, considered, written, brought(book, now, written))


def _said(said: Mapping[str, Any]) -> dict[str, Any]:
    """The options as ``Typed`` has them."""
    out = {name: value for name, value in said.items() if name not in ("at", "part_temp", "gauge_temp")}
    out |= {"part_temperature": said["part_temp"], "gauge_temperature": said["gauge_temp"]}
    if said["taken"] is not None:
        try:
            datetime.fromisoformat(said["taken"])
        except ValueError:
            raise RequestError(f"--taken: '{said['taken']}' is not a day", "write 2026-11-25") from None
    poses: dict[str, list[str]] = {}
    for text in said["at"]:
        letter, sign, positions = text.partition("=")
        if not sign or not positions.strip():
            raise RequestError(f"--at {text}", "write an axis and its positions, as in --at X=0,40,80")
        poses[letter.strip()] = [one.strip() for one in positions.split(",")]
    return out | {"poses": poses}


def _typed(
    bench: Any, book: str, what: str, values: Sequence[str], who: str, said: dict[str, Any]
) -> tuple[Any, Any]:
    """The reading as typed, and what is kept of it where it was typed line by line."""
    from loopwright.studies.asking import asked, no_such
    from loopwright.studies.recording import Typed

    asking = asked(
        bench,
        what,
        against=said["against"],
        item=said["item"],
        poses=said["poses"],
        unit=said["unit"],
        gauge=said["gauge"],
    )
    if said["item"] is not None and "/" not in what:
        raise no_such(bench, what)
    if values:
        lines = [[one.strip() for one in text.replace("−", "-").split(",")] for text in values]
        return Typed(what, lines, **said), None
    from loopwright.cli.typing_in import Kept, at_terminal, typed_values

    if asking.gauge is None and at_terminal():
        said = said | {"gauge": _gauge(bench, asking)}
        asking = replace(asking, gauge=said["gauge"])
    if said["from_nominal"]:
        note = "the values are deviations from nominal"
        asking = replace(asking, note=note if asking.note is None else f"{note}; {asking.note}")
    kept = Kept.of(book, "-".join(filter(None, (what, said["against"], said["item"]))), who)
    lines = typed_values(asking, kept)
    return Typed(what, lines, **(said | {"unit": asking.unit})), kept


def _gauge(bench: Any, asking: Any) -> str | None:
    """Asks what it is read with, before it is read."""
    fitting = [name for name, gauge in bench.build.gauges.items() if gauge.dimension is asking.dimension]
    if len(fitting) < 2:
        return fitting[0] if fitting else None
    for number, name in enumerate(fitting, 1):
        click.echo(f"  {number}  {name}", err=True)
    chosen = click.prompt("read with which", type=click.IntRange(1, len(fitting)), err=True)
    return str(fitting[chosen - 1])


def _believed(bench: Any, typed: Any, *, keep: bool, ask: bool) -> tuple[Any, Any] | None:
    """The reading to be entered, asked about where it is doubted; None where it is not to be entered."""
    from loopwright.cli.reading_text import show_doubt
    from loopwright.cli.typing_in import at_terminal
    from loopwright.studies.meant import meanings
    from loopwright.studies.recording import consider

    considered = consider(bench, typed)
    while considered.doubt is not None and not keep:
        meant = meanings(bench, typed, considered)
        show_doubt(considered, meant)
        if not ask or not at_terminal():
            click.echo(f"{CANCEL}; repeat with --keep if it is right", err=True)
            return None
        chosen = _choice(meant)
        if chosen is None:
            click.echo(CANCEL, err=True)
            return None
        if chosen == 0:
            break
        typed = meant[chosen - 1].typed
        considered = consider(bench, typed)
    if considered.doubt is not None:
        considered = replace(considered, reading=considered.reading.model_copy(update={"kept": True}))
    return typed, considered


def _choice(meant: Sequence[Any]) -> int | None:
    """What to do with a doubted reading: 0 keeps it, a number takes what may have been meant, None leaves it."""
    takeable = [str(number) for number, one in enumerate(meant, 1) if one.typed is not None]
    numbers = f", a number takes that instead ({', '.join(takeable)})" if takeable else ""
    while True:
        answer = click.prompt(f"k keeps it as it is{numbers}, c cancels", err=True).strip().lower()
        if answer in ("k", "keep"):
            return 0
        if answer in ("c", "cancel"):
            return None
        if answer in takeable:
            return int(answer)
