"""loopwright parts."""

import click

from loopwright.cli.at_book import book_option, examples, json_option, place_of, print_json


@click.command()
@click.argument("part", required=False)
@book_option
@json_option
@examples(
    "loopwright parts",
    "loopwright parts head_spacer",
)
def parts(part: str | None, where: str | None, as_json: bool) -> None:
    """List every dim that was read, of all parts or of PART, with its verdict."""
    from loopwright.book import open_book
    from loopwright.studies.books import bench_of
    from loopwright.studies.verdicts import verdicts

    with open_book(place_of(where)) as book:
        found = verdicts(bench_of(book), part=part)
    if as_json:
        from loopwright.studies.exchange_bench import parts_as_data

        print_json(parts_as_data(found))
        return
    from loopwright.cli.layout import columns, console, say, set_in
    from loopwright.cli.sizes import limits_words, size
    from loopwright.sheets.shown import percent

    out = console()
    say(
        out,
        f"{found.build}: {len(found.dims)} dims read, {found.unread} not read, state {found.state}",
        "bold",
    )
    table = columns("dim", ">read", ">std. unc.", "limits", "verdict", ">probability")
    for one in found.dims:
        value, std = size(found.units, one.value, one.std, one.dimension)
        held = one.conformity
        limits = "-" if held is None else limits_words(found.units, (held.lower, held.upper), one.dimension)
        table.add_row(
            one.dim,
            value,
            std,
            limits,
            ("no limits" if held is None else str(held.verdict))
            + (f"; {one.concession}" if one.concession else ""),
            "-" if held is None else percent(held.probability),
        )
    out.print(set_in(table))
    rules = sorted({one.conformity.rule for one in found.dims if one.conformity is not None})
    if rules:
        say(out, f"  decision rule: {', '.join(rules)}; probability that the dim is within its limits", "dim")
