"""loopwright sheets."""

import re
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING

import click

from loopwright.cli.at_book import examples, json_option, place_of, print_json
from loopwright.cli.making_source import build_of, build_options
from loopwright.errors import RequestError

if TYPE_CHECKING:
    from loopwright.model.build import Build
    from loopwright.sheets.label_sheet import Grid

KINDS = ("traveller", "inspection", "setup", "fit-up", "saw", "labels", "tools", "buy")


@click.command()
@click.argument("words", metavar="[KIND] [PART …]", nargs=-1)
@click.option(
    "--out", "-o", "folder", type=click.Path(path_type=Path, file_okay=False), required=True, metavar="DIR",
    help="Folder for the PDF files; it is made where it is not there.",
)  # fmt: skip
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of paper."
)
@click.option(
    "--units", type=click.Choice(["inch", "metric", "both"]), help="Of sizes. Default: those of the build."
)
@click.option("--each", is_flag=True, help="One file for each part, matched set or machine.")
@click.option("--grid", metavar="COLSxROWS", help="Labels on a sheet. Default: 3x8.")
@click.option("--skip", type=click.IntRange(0), default=0, help="Labels gone already from the first sheet.")
@build_options
@json_option
@examples(
    "loopwright sheets --out sheets",
    "loopwright sheets traveller head_spacer --out sheets --units both",
    "loopwright sheets labels --out sheets --paper letter --grid 4x10 --file machine.yaml",
)
def sheets(
    words: tuple[str, ...],
    folder: Path,
    paper: str,
    units: str | None,
    each: bool,
    grid: str | None,
    skip: int,
    where: str | None,
    file: Path | None,
    as_json: bool,
) -> None:
    """Print the sheets of the shop as PDF: all kinds, or one KIND, of all parts or of those named.

    KIND is traveller, inspection, setup, fit-up, saw, labels, tools, buy, or all.
    """
    from loopwright.cli.layout import Progress
    from loopwright.sheets.paper import PAPERS
    from loopwright.sheets.printing import Asked, printed

    build, finished = _source(where, file)
    kinds, parts = _meant(words, list(build.parts))
    asked = Asked(kinds, parts, PAPERS[paper], units, each, file is None, finished, _grid(grid, skip))
    folder.mkdir(parents=True, exist_ok=True)
    files, left_out, taken = [], [], set[str]()
    with Progress(as_json, "sheets: {done}{of} worked out") as progress:
        for one in printed(build, asked, progress=progress):
            if one.why:
                left_out.append(one)
                continue
            name = _file_name(one.kind, one.of, taken)
            (folder / name).write_bytes(one.pdf)
            files.append((name, one))
    if as_json:
        from loopwright.studies.exchange_shop_sheets import printed_as_data

        written = [(name, one.kind, one.parts, one.sheets, one.pages, len(one.pdf)) for name, one in files]
        print_json(printed_as_data(build.name, paper, written, [(one.kind, one.why) for one in left_out]))
        return
    from loopwright.cli.layout import columns, console, listed, say

    out = console()
    table = columns("file", "about", ">sheets", ">pages")
    for name, one in files:
        table.add_row(str(folder / name), listed(one.parts), str(one.sheets), str(one.pages))
    if files:
        out.print(table)
    for one in left_out:
        say(out, f"no {one.kind}: {one.why}", "dim")


def _source(where: str | None, file: Path | None) -> tuple["Build", frozenset[str]]:
    """The build that is meant, and the parts that its book has as made; a build file knows of none."""
    if file is not None:
        return build_of(where, file), frozenset()
    from loopwright.book import open_book
    from loopwright.studies.books import bench_of
    from loopwright.studies.shop_lists import made_parts

    with open_book(place_of(where)) as book:
        bench = bench_of(book)
    return bench.build, made_parts(bench)


def _meant(words: tuple[str, ...], known: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Kinds and parts; a first word that is no kind is a part, and all kinds are meant.

    Raises:
        RequestError: the first word is neither.
    """
    first = words[0] if words else "all"
    if first == "all":
        return (), words[1:]
    if first in KINDS:
        return (first,), words[1:]
    if first in known:
        return (), words
    raise RequestError(
        f"'{first}' is neither a kind of sheet nor a part",
        f"kinds are {', '.join(KINDS)}; parts: {', '.join(known[:8])}",
    )


def _grid(text: str | None, used: int) -> "Grid":
    from loopwright.sheets.label_sheet import Grid

    if text is None:
        return Grid(used=used)
    found = re.fullmatch(r"([1-9]\d?)\s*[x×]\s*([1-9]\d?)", text.strip())
    if found is None:
        raise RequestError(f"'{text}' is no grid of labels", "write columns by rows: 3x8")
    return Grid(int(found[1]), int(found[2]), used=used)


def _file_name(kind: str, of: str, taken: set[str]) -> str:
    """A name that every file system takes, no two the same."""
    plain = unicodedata.normalize("NFKD", of).encode("ascii", "ignore").decode()
    stem = "-".join(filter(None, (kind, re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")[:60])))
    name, number = stem, 1
    while name.casefold() in taken:
        number += 1
        name = f"{stem}-{number}"
    taken.add(name.casefold())
    return f"{name}.pdf"
