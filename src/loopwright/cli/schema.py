"""loopwright schema."""

import json

import click


@click.command()
@click.option(
    "--of",
    "what",
    type=click.Choice(["build", "budget"]),
    default="build",
    show_default=True,
    help="The build file, or what 'budget --json' prints.",
)
def schema(what: str) -> None:
    """Print the JSON Schema of the build file; point your editor at it to be helped while you type."""
    if what == "budget":
        from loopwright.studies.exchange_schema import json_schema
    else:
        from loopwright.buildfile.schema import json_schema
    click.echo(json.dumps(json_schema(), ensure_ascii=False, indent=2))
