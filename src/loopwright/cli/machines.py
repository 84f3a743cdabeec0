"""loopwright machines."""

from datetime import datetime
from pathlib import Path

import click

from loopwright.cli.at_book import (
    examples,
    json_option,
    person,
    place_of,
    print_json,
    station,
    tell,
    who_option,
)
from loopwright.cli.making_source import build_of, build_options
from loopwright.errors import RequestError


@click.command()
@click.argument("names", metavar="[MACHINE [OP]]", nargs=-1)
@click.option(
    "--take",
    is_flag=True,
    help="Take over what MACHINE was found to hold, in OP or in all its ops, as what the shop states: "
    "a new revision of the description.",
)
@build_options
@who_option
@json_option
@examples(
    "loopwright machines",
    'loopwright machines "surface grinder"',
    'loopwright machines "surface grinder" "surface grind" --take',
)
def machines(
    names: tuple[str, ...], take: bool, where: str | None, file: Path | None, who: str | None, as_json: bool
) -> None:
    """Say what the shop's machines are taken to hold, and what the parts made on them say of that."""
    if len(names) > 2:
        raise click.UsageError("name one machine, and one op at most; put names of several words in quotes")
    if take and not names:
        raise click.UsageError("name the machine of which to take over what was found")
    if file is not None:
        _of_a_file(names, take, where, file, as_json)
    else:
        _of_a_book(names, take, where, who, as_json)


def _of_a_file(names: tuple[str, ...], take: bool, where: str | None, file: Path, as_json: bool) -> None:
    from loopwright.studies.shop_machines import shop_machines
    from loopwright.studies.taking_found import named

    if take:
        raise RequestError(
            "a build file has no readings from which anything could be found",
            "ask its book: loopwright machines MACHINE --take --book BOOK",
        )
    build = build_of(where, file)
    lines = named(shop_machines(build), *names)
    if as_json:
        from loopwright.studies.exchange_machines import machines_as_data

        print_json(machines_as_data(build, lines))
        return
    from loopwright.cli.machines_text import show_machines

    show_machines(build, lines, booked=False)


def _of_a_book(names: tuple[str, ...], take: bool, where: str | None, who: str | None, as_json: bool) -> None:
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.exchange_machines import machines_as_data
    from loopwright.studies.shop_machines import shop_machines
    from loopwright.studies.taking_found import named, take_found

    with open_book(place_of(where)) as book:
        with busy("looking at the parts", quiet=as_json):
            bench = bench_of(book)
            every = shop_machines(bench.build, bench)
        lines = named(every, *names)
        if not take:
            if as_json:
                print_json(machines_as_data(bench.build, lines))
                return
            from loopwright.cli.machines_text import show_machines

            show_machines(bench.build, lines, booked=True)
            return
        from loopwright.model.records import Revision
        from loopwright.studies.checking import load_text

        revision = bench.having(Revision)[-1][1]
        day = datetime.now().astimezone().date().isoformat()
        taken = take_found(
            revision.text, every, names[0], *names[1:], shown=bench.build.units, last=bench.last, day=day,
            file=revision.file,
        )  # fmt: skip
        load_text(taken.text, revision.file or "the new description")
        ops = ", ".join(f"{one.op} on {one.machine}" for one in taken.holds)
        written = book.append(
            Revision(text=taken.text, file=revision.file),
            who=person(who), why=f"as found: {ops}", station=station(), seen=bench.last,
        )  # fmt: skip
        tell(written)
        if as_json:
            print_json(
                machines_as_data(
                    bench.build, lines, taken=taken, entry=written.entry.number, revision=written.entry.of
                )
            )
            return
        from loopwright.cli.machines_text import show_taken
        from loopwright.studies.effect import brought

        with busy("what it brings at the tool"):
            came = brought(book, bench, written)
        show_taken(taken, written.entry, came)
