"""loopwright book."""

from pathlib import Path
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
from loopwright.cli.faults import MISTAKE, show_problems


@click.group()
def book() -> None:
    """The book of a build: everything recorded about it. Nothing in it is ever overwritten."""


@book.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("place", required=False, metavar="BOOK")
@click.option("--why", default="", help="The reason, for people.")
@who_option
@json_option
@examples(
    "loopwright book new drill.yaml",
    "loopwright book new drill.yaml shop/drill.book",
    'loopwright book new drill.yaml "postgresql://ana@server/shop?book=drill"',
)
def new(file: Path, place: str | None, why: str, who: str | None, as_json: bool) -> None:
    """Begin the book of the machine that FILE describes. BOOK is FILE with the ending .book when left out."""
    from loopwright.book import create
    from loopwright.buildfile.reading import file_text
    from loopwright.studies.checking import load_text

    text = file_text(file)
    build = load_text(text, file.name).build
    where = place or file.with_suffix(".book").name
    with create(where, text, build_name=build.name, who=person(who), file=file.name, why=why) as made:
        if as_json:
            print_json(_info(made))
            return
        click.echo(
            f"began {made.info.place}, the book of {build.name}: entry 1 is {file.name}, entry 2 is state 1"
        )
        click.echo("next: loopwright standing, or: loopwright record PART/DIM VALUE --gauge NAME")


@book.command()
@click.argument("file", type=click.Path(path_type=Path))
@book_option
@click.option("--why", default="", help="The reason, for people.")
@who_option
@json_option
@examples(
    'loopwright book save drill.yaml --why "Z seat ground wider"',
)
def save(file: Path, where: str | None, why: str, who: str | None, as_json: bool) -> None:
    """Save FILE as the new revision of the description, and show what changed."""
    from loopwright.book import open_book
    from loopwright.buildfile.reading import file_text
    from loopwright.cli.layout import busy
    from loopwright.model.records import Revision
    from loopwright.studies.books import bench_of
    from loopwright.studies.checking import load_text

    text = file_text(file)
    load_text(text, file.name)
    with open_book(place_of(where)) as held:
        newest = held.newest_revision().record
        if isinstance(newest, Revision) and newest.text == text:
            click.echo(f"{file.name} is what the book has already; nothing was saved", err=as_json)
            if as_json:
                print_json(_info(held))
            return
        with busy("working out the machine", quiet=as_json):
            before = bench_of(held)
        written = held.append(
            Revision(text=text, file=file.name), who=person(who), why=why, station=station(), seen=before.last
        )
        _brought(held, before, written, as_json=as_json)


@book.command()
@book_option
@json_option
@examples(
    "loopwright book show",
)
def show(where: str | None, as_json: bool) -> None:
    """Say what the book is, and what is in it."""
    from loopwright.book import open_book

    with open_book(place_of(where)) as held:
        data = _info(held)
    if as_json:
        print_json(data)
        return
    kinds = ", ".join(f"{count} {_many(kind, count)}" for kind, count in data["kinds"].items())
    click.echo(f"{data['build']}\n{data['place']} ({data['database']}), begun {data['made'][:10]}")
    click.echo(
        f"{data['entries']} entries: {kinds}\nthe machine is in state {data['state']}: {data['reason']}"
    )


def _info(held: Any) -> dict[str, Any]:
    from loopwright.studies.exchange_bench import book_as_data

    return book_as_data(held)


def _many(kind: str, count: int) -> str:
    if count == 1 or kind in ("columns", "stock"):
        return kind
    return f"{kind[:-1]}ies" if kind.endswith("y") else f"{kind}s"


@book.command()
@click.argument("to", type=click.Path(path_type=Path))
@book_option
@examples(
    "loopwright book backup friday.book",
)
def backup(to: Path, where: str | None) -> None:
    """Copy the book to TO as it is at this moment, while others may be writing in it."""
    from loopwright.book import backup as copy

    click.echo(f"wrote {copy(place_of(where), to)}")


@book.command()
@book_option
@json_option
@examples(
    "loopwright book verify",
)
def verify(where: str | None, as_json: bool) -> int:
    """Look the book through: the file, the numbering, every entry and every fingerprint. Changes nothing."""
    from dataclasses import asdict

    from loopwright.book import verify as look_through
    from loopwright.cli.layout import busy

    with busy("reading every entry", quiet=as_json):
        found = look_through(place_of(where))
    if as_json:
        print_json({"format": "loopwright-book-verified/1", **asdict(found), "sound": found.sound})
    elif found.sound:
        click.echo(f"{found.place}: sound, {found.entries} entries")
    else:
        show_problems(found.problems)
    return 0 if found.sound else MISTAKE


@book.command()
@click.argument("archive", type=click.Path(path_type=Path))
@book_option
@examples(
    "loopwright book export drill-archive.txt",
)
def export(archive: Path, where: str | None) -> None:
    """Write the whole book into ARCHIVE, a text file that can be read without this program."""
    from loopwright.book import export_archive, open_book

    with open_book(place_of(where)) as held:
        click.echo(f"wrote {export_archive(held, archive)}: {held.last_number} entries")


@book.command("import")
@click.argument("words", nargs=-1, metavar="[ARCHIVE] BOOK")
@click.option("--like", metavar="NAME", help="Instead of ARCHIVE: a shipped example with a history.")
@click.option("--until", type=click.IntRange(1), metavar="ENTRY", help="Take entries up to this one only.")
@examples(
    "loopwright book import drill-archive.txt copy.book",
    "loopwright book import --like clock-plate drill.book",
    "loopwright book import --like clock-plate half-way.book --until 46",
)
def import_(words: tuple[str, ...], like: str | None, until: int | None) -> None:
    """Make BOOK from ARCHIVE: equal to the book that the archive was made of.

    ARCHIVE is the text file that 'book export' wrote (loopwright-book-archive/1). With --like no archive is named: the
    book gets the invented history of a shipped example, to look at and to try things on.
    """
    from loopwright.book import import_archive
    from loopwright.studies.example_history import open_example

    if len(words) != (2 if like is None else 1):
        wanted = "ARCHIVE and BOOK" if like is None else "BOOK alone: --like stands for the archive"
        raise click.UsageError(f"name {wanted}")
    place = words[-1]
    if like is None:
        _must_be_archive(Path(words[0]))
    with (
        import_archive(words[0], place, until=until)
        if like is None
        else open_example(like, place, until=until)
    ) as held:
        told = "" if like is None else f" (like {like}; machine, people and readings are invented)"
        click.echo(
            f"wrote {held.info.place}, the book of {held.info.build_name}: {held.last_number} entries{told}"
        )


def _must_be_archive(file: Path) -> None:
    """Says what would do, where it is plain that a file is no archive of a book."""
    from loopwright.errors import RequestError
    from loopwright.studies.example_history import histories

    known = histories()
    if not file.is_file():
        like = file.name if file.name in known else known[0]
        raise RequestError(
            f"there is no archive '{file}'",
            "name a text file that 'loopwright book export' wrote, or take the history of an example: "
            f"loopwright book import --like {like} BOOK",
        )
    if file.suffix in (".yaml", ".yml"):
        raise RequestError(f"'{file}' is a build file", f"begin its book: loopwright book new {file}")
    with file.open("rb") as stream:
        is_book = stream.read(15) == b"SQLite format 3"
    if is_book:
        raise RequestError(
            f"'{file}' is a book, not an archive of one", f"copy it: loopwright book backup TO --book {file}"
        )


@book.command()
@click.argument("gauge", metavar="GAUGE")
@book_option
@click.option("--done", metavar="DAY", help="Day of the calibration, as 2026-11-25. Default: today.")
@click.option("--due", metavar="DAY", help="Day on which the next one is due.")
@click.option("--std", help="Standard uncertainty that it leaves.")
@click.option("--limit", help="The limit that it leaves instead: '2 µm' for ±2 µm.")
@click.option("--error", help="Known error; taken off every reading from now on.")
@click.option("--good/--not-good", default=True, help="Whether the gauge was found to be in order.")
@click.option("--certificate", help="Number of the certificate.")
@click.option("--note", help="Anything to know about it.")
@who_option
@json_option
@examples(
    'loopwright book calibrate "micron indicator" --std "0.6 µm" --due 2027-11-25',
    'loopwright book calibrate "length gauge" --limit "1 µm" --certificate K-118',
)
def calibrate(gauge: str, where: str | None, who: str | None, as_json: bool, **said: Any) -> None:
    """Enter a calibration of GAUGE. It holds for readings that are entered after it."""
    from loopwright.book import open_book
    from loopwright.studies.books import bench_of
    from loopwright.studies.deciding import calibration_of

    with open_book(place_of(where)) as held:
        bench = bench_of(held)
        entered = calibration_of(bench, gauge, **said)
        written = held.append(entered, who=person(who), station=station(), seen=bench.last)
    due = "" if entered.due is None else f", next due {entered.due}"
    _entered(written, f"{gauge} calibrated {entered.done}{due}", as_json)


@book.command()
@click.argument("what")
@click.argument("size")
@click.option("--count", type=int, required=True, metavar="N", help="How many pieces there are.")
@click.option("--std", help="Standard uncertainty of its thickness.")
@click.option("--note", help="Anything to know about it.")
@book_option
@who_option
@json_option
@examples(
    'loopwright book stock "shim foil" 0.05 --count 4 --std "1 µm"',
)
def stock(
    what: str, size: str, count: int, std: str | None, note: str | None, where: str | None, who: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Enter what lies in the drawer: WHAT, such as 'shim foil', of thickness SIZE. The last count of a size holds."""
    from loopwright.book import open_book
    from loopwright.studies.books import bench_of
    from loopwright.studies.deciding import stock_of

    with open_book(place_of(where)) as held:
        bench = bench_of(held)
        entered = stock_of(bench, what, size, count=count, std=std, note=note)
        written = held.append(entered, who=person(who), station=station(), seen=bench.last)
    _entered(written, f"{count} of {what} {size}", as_json)


@book.command()
@click.argument("entry", type=int)
@click.option("--why", required=True, help="The reason, for people.")
@book_option
@who_option
@json_option
@examples(
    'loopwright book withdraw 24 --why "probe was loose"',
)
def withdraw(entry: int, why: str, where: str | None, who: str | None, as_json: bool) -> None:
    """Withdraw ENTRY: it stays in the book, and no longer counts."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.model.records import Withdrawal
    from loopwright.studies.books import bench_of

    with open_book(place_of(where)) as held:
        with busy("working out the machine", quiet=as_json):
            before = bench_of(held)
        written = held.append(
            Withdrawal(reason=why), who=person(who), station=station(), supersedes=entry, seen=before.last
        )
        _brought(held, before, written, as_json=as_json)


def _entered(written: Any, words: str, as_json: bool) -> None:
    from loopwright.studies.exchange_bench import entered_as_data

    tell(written)
    if as_json:
        print_json(entered_as_data(written))
    else:
        click.echo(f"entry {written.entry.number}: {words}")


def _brought(held: Any, before: Any, written: Any, *, as_json: bool) -> None:
    """Says what an entry brought at the tool."""
    from loopwright.cli.bench_text import show_effect, show_left_out
    from loopwright.cli.entry_text import entry_words
    from loopwright.cli.layout import busy, console, say
    from loopwright.sheets.shown import Shown
    from loopwright.studies.effect import brought
    from loopwright.studies.exchange_bench import entered_as_data

    tell(written)
    with busy("what it brings at the tool", quiet=as_json):
        came = brought(held, before, written)
    if as_json:
        print_json(entered_as_data(written, came))
        return
    out, units = console(), came.bench.build.units
    say(out, f"entry {written.entry.number}: {entry_words(written.entry, units)}", "bold")
    difference = getattr(written.entry.record, "difference", "")
    for line in difference.splitlines():
        say(out, f"  {line}")
    out.print()
    show_effect(out, Shown(units), came.targets)
    show_left_out(out, came.left_out)
