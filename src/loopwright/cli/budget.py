"""loopwright budget FILE."""

import json
from pathlib import Path

import click

from loopwright.errors import RequestError


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--target", "targets", multiple=True, help="Name of a target; repeat for several. Default: all."
)
@click.option(
    "--set",
    "changes",
    multiple=True,
    metavar="PATH=VALUE",
    help="Ask 'what if': a value of the file changed, as in parts/column/dims/height='240 ±0.01'.",
)
@click.option("--trials", type=int, help="Monte Carlo trials. Default: until it is enough.")
@click.option("--seed", type=int, default=0, show_default=True, help="Of the Monte Carlo draw.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--poses", is_flag=True, help="With --json: bias and uncertainty at every pose.")
@click.option("--report", type=click.Path(path_type=Path), help="Also write it as one HTML file.")
def budget(
    file: Path,
    targets: tuple[str, ...],
    changes: tuple[str, ...],
    trials: int | None,
    seed: int,
    as_json: bool,
    poses: bool,
    report: Path | None,
) -> None:
    """Say what the machine of FILE will hold at the tool, how sure that is, and what drives it."""
    from loopwright.cli.layout import Progress
    from loopwright.studies.exchange import standing_as_data, what_if_as_data
    from loopwright.studies.standing import standing_of_file, what_if

    asked = dict(_change(text) for text in changes)
    with Progress(as_json) as progress:
        options = {"targets": targets, "trials": trials, "seed": seed, "progress": progress}
        compared = what_if(file, asked, **options) if asked else None
        found = compared.after if compared else standing_of_file(file, **options)  # type: ignore[arg-type]
    if report is not None:
        _write_report(report, found if compared is None else compared)
    if as_json:
        data = (
            standing_as_data(found, every_pose=poses)
            if compared is None
            else what_if_as_data(compared, every_pose=poses)
        )
        click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))
        return
    from loopwright.cli.standing_text import show_standing, show_what_if

    show_standing(found) if compared is None else show_what_if(compared)
    if report is not None:
        click.echo(f"\nreport: {report}")


def _change(text: str) -> tuple[str, str]:
    path, sign, value = text.partition("=")
    if not sign or not path.strip():
        raise RequestError(f"--set {text}", "write it as PATH=VALUE, as in --set column/height='240 ±0.01'")
    return path.strip(), value.strip()


def _write_report(path: Path, found: object) -> None:
    from loopwright.sheets.standing_page import page

    try:
        path.write_text(page(found), encoding="utf-8", newline="\n")  # type: ignore[arg-type]
    except OSError as error:
        raise RequestError(
            f"'{path}' cannot be written: {error.strerror}", "choose a folder that exists"
        ) from None
