"""loopwright check FILE."""

import json
from dataclasses import asdict
from pathlib import Path

import click

from loopwright.cli.faults import MISTAKE, show_problems
from loopwright.studies.checking import check_file


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def check(file: Path, as_json: bool) -> int:
    """Look FILE over and say every mistake in it, each with its line and what would do."""
    found = check_file(file)
    if as_json:
        answer = {"format": "loopwright-check/1", **asdict(found), "ok": not found.problems}
        click.echo(json.dumps(answer, ensure_ascii=False, indent=2))
        return MISTAKE if found.problems else 0
    if found.problems:
        show_problems(found.problems)
        return MISTAKE
    counts = ", ".join(
        f"{number} {what if number != 1 else _one(what)}" for what, number in found.counts.items()
    )
    click.echo(f"{found.build}: no mistakes found.\n{counts}.")
    for note in found.notes:
        click.echo(f"note: {note}")
    return 0


def _one(what: str) -> str:
    return {"bodies": "body"}.get(what, what.removesuffix("s"))
