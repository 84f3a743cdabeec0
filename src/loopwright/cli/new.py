"""loopwright new OUT."""

from pathlib import Path

import click

from loopwright.buildfile import examples
from loopwright.errors import RequestError


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--like", default="clock-plate", show_default=True, help="Name of a shipped example.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
def new(out: Path, like: str, force: bool) -> None:
    """Write OUT, a build file to start from."""
    text = examples.text(like)
    if out.exists() and not force:
        raise RequestError(
            f"'{out}' is already there", "choose another name, or add --force to write over it"
        )
    try:
        out.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise RequestError(
            f"'{out}' cannot be written: {error.strerror}", "choose a folder that exists"
        ) from None
    click.echo(f"wrote {out} (like {like}; an invented machine)\nnext: loopwright budget {out}")
