"""loopwright blanks."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from loopwright.book import Written
    from loopwright.studies.after_sawing import AfterSawing
    from loopwright.studies.blank_records import SawList


@click.command()
@click.argument("parts", metavar="[PART …]", nargs=-1)
@click.option(
    "--sawn",
    is_flag=True,
    help="It is sawn: take used bars out of the shop, and keep the off-cuts there, in a new revision of the book. "
    "With --file that section is printed instead.",
)
@build_options
@who_option
@json_option
@examples(
    "loopwright blanks",
    "loopwright blanks pad_FL pad_FR --file machine.yaml",
    "loopwright blanks --sawn",
)
def blanks(
    parts: tuple[str, ...], sawn: bool, where: str | None, file: Path | None, who: str | None, as_json: bool
) -> None:
    """Say how large the blanks are, what to saw them from, what to buy, and which off-cuts to keep.

    Of all parts that are not made and not sawn yet, or of those named. What has to be bought is made as cheap as it
    can be, and the answer says how far that is proven.
    """
    found, after, written = _asked(parts, sawn, where, file, who, as_json)
    if as_json:
        from loopwright.studies.exchange_blanks import blanks_as_data

        entry = None if written is None else written.entry
        numbers = (None, None) if entry is None else (entry.number, entry.of)
        print_json(blanks_as_data(found, after, *numbers))
        return
    from loopwright.cli.blanks_text import show_after, show_blanks

    if after is not None and written is None:
        click.echo(after.section.rstrip())
        return
    if after is None:
        show_blanks(found)
    else:
        assert written is not None
        show_after(found, after, written.entry)


def _asked(
    parts: tuple[str, ...], sawn: bool, where: str | None, file: Path | None, who: str | None, as_json: bool
) -> "tuple[SawList, AfterSawing | None, Written | None]":
    """The saw list; the description after sawing where that is wanted; what was entered of it."""
    from loopwright.cli.layout import Progress
    from loopwright.studies.blank_lists import saw_list

    day, words = datetime.now().astimezone().date().isoformat(), "saw list: {done}{of} sections"
    if file is not None:
        from loopwright.buildfile.reading import file_text
        from loopwright.studies.after_sawing import after_sawing

        build = build_of(where, file)
        with Progress(as_json, words) as progress:
            found = saw_list(build, parts, progress=progress)
        return (
            found,
            after_sawing(file_text(file), build, found, day=day, file=file.name) if sawn else None,
            None,
        )
    from loopwright.book import open_book
    from loopwright.model.records import Revision
    from loopwright.studies.after_sawing import after_sawing
    from loopwright.studies.books import bench_of
    from loopwright.studies.shop_lists import made_parts

    with open_book(place_of(where)) as book:
        bench = bench_of(book)
        with Progress(as_json, words) as progress:
            found = saw_list(bench.build, parts, finished=made_parts(bench), progress=progress)
        if not sawn:
            return found, None, None
        revision = bench.having(Revision)[-1][1]
        after = after_sawing(revision.text, bench.build, found, day=day, file=revision.file)
        written = book.append(
            Revision(text=after.text, file=revision.file),
            who=person(who), why=f"sawn: the blanks of {', '.join(after.sawn)}", station=station(), seen=bench.last,
        )  # fmt: skip
        tell(written)
        return found, after, written
