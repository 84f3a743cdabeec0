"""loopwright schema."""

import json

import click

from loopwright.cli.at_book import examples
from loopwright.studies.answer_schemas import answers, schema_of


@click.command()
@click.option("--answer", "name", type=click.Choice(list(answers())), help="Of this answer instead.")
@examples(
    "loopwright schema",
    "loopwright schema --answer standing",
)
def schema(name: str | None) -> None:
    """Print the JSON Schema of the build file; point your editor at it to be helped while you type.

    With --answer it is the schema of what a command prints with --json; its name stands in the answer's 'format'.
    """
    if name is not None:
        found = schema_of(name)
    else:
        from loopwright.buildfile.schema import json_schema

        found = json_schema()
    click.echo(json.dumps(found, ensure_ascii=False, indent=2))
