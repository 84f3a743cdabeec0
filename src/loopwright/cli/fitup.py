"""loopwright fitup."""

import click

from loopwright.cli.at_book import (
    book_option,
    examples,
    json_option,
    pairs,
    person,
    place_of,
    print_json,
    station,
    tell,
    who_option,
)


@click.group()
def fitup() -> None:
    """Assembly: what each step will leave, what to set or grind, and what was set."""


@fitup.command()
@book_option
@click.option("--quick", is_flag=True, help="Do not ask what leaving out each step would cost.")
@click.option(
    "--until", type=int, metavar="ENTRY", help="As it was when the book had this entry, and none after it."
)
@json_option
@examples(
    "loopwright fitup plan",
    "loopwright fitup plan --quick --until 2",
)
def plan(where: str | None, quick: bool, until: int | None, as_json: bool) -> None:
    """Run the steps of the fit-up through before metal is cut: what each leaves, which adjuster may run out."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.fitup_planning import fitup_plan

    with open_book(place_of(where)) as book, busy("running the steps through", quiet=as_json):
        found = fitup_plan(bench_of(book, until=until), drop=not quick)
    if as_json:
        from loopwright.studies.exchange_fitup import fitup_plan_as_data

        print_json(fitup_plan_as_data(found))
        return
    from loopwright.cli.fitup_text import show_plan

    show_plan(found)


@fitup.command()
@click.argument("which", metavar="STEP")
@book_option
@click.option("--no-foils", is_flag=True, help="Do not pick shims from the foil in stock.")
@json_option
@examples(
    "loopwright fitup step 8",
    'loopwright fitup step "tram the spindle"',
)
def step(which: str, where: str | None, no_foils: bool, as_json: bool) -> None:
    """Say what STEP has found so far and what to set; STEP is its number, its name or the beginning of it."""
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.fitup_bench import fitup_step

    with open_book(place_of(where)) as book, busy("looking for the best setting", quiet=as_json):
        found = fitup_step(bench_of(book), which, foils=not no_foils)
    if as_json:
        from loopwright.studies.exchange_fitup import fitup_step_as_data

        print_json(fitup_step_as_data(found))
        return
    from loopwright.cli.fitup_text import show_step

    show_step(found)


@fitup.command()
@click.argument("joint")
@click.option(
    "--drive", default="drive", show_default=True, help="Which drive of the joint, as 'drives/left'."
)
@book_option
@json_option
@examples(
    'loopwright fitup screw "Y slide"',
)
def screw(joint: str, drive: str, where: str | None, as_json: bool) -> None:
    """Say how the screw of JOINT lines up with its nut over the travel, and what spacer and mounts take out."""
    from loopwright.book import open_book
    from loopwright.studies.books import bench_of
    from loopwright.studies.screw_alignment import screw_alignment

    with open_book(place_of(where)) as book:
        found = screw_alignment(bench_of(book), joint, drive)
    if as_json:
        from loopwright.studies.exchange_fitup import screw_as_data

        print_json(screw_as_data(found))
        return
    from loopwright.cli.screw_text import show_screw

    show_screw(found)


@fitup.command("set")
@click.argument("changes", nargs=-1, metavar="PATH=VALUE…")
@click.option("--why", required=True, help="The reason, for people.")
@click.option("--step", "which", metavar="STEP", help="Step of the fit-up that it belongs to.")
@click.option(
    "--exchanged", multiple=True, metavar="PART[=SERIAL]", help="A part or drive that was exchanged."
)
@book_option
@who_option
@json_option
@examples(
    'loopwright fitup set "column on base/rear left=0.01" --step 8 --why "nose was high"',
    'loopwright fitup set "head_spacer/thickness=6.015 ±0.001" --why "ground to the gap"',
    'loopwright fitup set --exchanged "X slide/drive=A7" --why "the straightest of nine"',
)
def set_(
    changes: tuple[str, ...],
    why: str,
    which: str | None,
    exchanged: tuple[str, ...],
    where: str | None,
    who: str | None,
    as_json: bool,
) -> None:
    """Enter what was done: adjusters set, parts brought to size, parts exchanged. A new state of the machine begins.

    A path is an adjuster, as 'column on base/rear left', or a dim, as head_spacer/thickness. A bare number is in the
    build's unit; '±' behind it says how well it is known.
    """
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.deciding import planned_by
    from loopwright.studies.effect import brought
    from loopwright.studies.fitup_bench import fitup_step, state_after

    done = pairs(changes, "'column on base/rear left=0.05'")
    renewed = {
        part: item or None for part, item in pairs(exchanged, "--exchanged pad_FL", empty=True).items()
    }
    with open_book(place_of(where)) as book:
        with busy("working out the machine", quiet=as_json):
            before = bench_of(book)
            entered = state_after(before, done, reason=why, step=which, exchanged=renewed)
            if which is not None:
                entered = planned_by(entered, fitup_step(before, which))
        written = book.append(entered, who=person(who), station=station(), seen=before.last)
        tell(written)
        with busy("what it left", quiet=as_json):
            came = brought(book, before, written)
            after = None if which is None else fitup_step(came.bench, which)
    if as_json:
        from loopwright.studies.exchange_bench import entered_as_data

        print_json(entered_as_data(written, came))
        return
    from loopwright.cli.fitup_text import show_done

    show_done(written, came, after)
