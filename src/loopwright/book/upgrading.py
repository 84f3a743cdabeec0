"""Bringing the tables of an older book up to date, after a backup."""

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine

from loopwright.book import tables
from loopwright.book.files import copy
from loopwright.book.place import Place, writing

MIGRATIONS = Path(__file__).parent / "migrations"


def upgrade(place: Place, engine: Engine) -> None:
    """Bring a book up to date in one transaction, unless another station has done it meanwhile."""
    with writing(engine) as connection:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("LOCK TABLE alembic_version IN ACCESS EXCLUSIVE MODE")
        version = tables.version_of(connection)
        if version is None or version >= tables.VERSION:
            return
        _keep(place, connection, version)
        migrate(connection)


def migrate(connection: Connection, to: int = tables.VERSION) -> None:
    """Run the migrations up to one; in the transaction that the connection is in."""
    from alembic.config import Config  # a third of a second, and hardly ever needed
    from alembic.runtime.environment import EnvironmentContext
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(MIGRATIONS, version_locations=[MIGRATIONS])
    target = f"{to:04}"
    with EnvironmentContext(
        Config(), scripts, fn=lambda revision, _: scripts._upgrade_revs(target, revision)
    ) as context:
        context.configure(connection=connection, render_as_batch=True)
        context.run_migrations()
    tables.stamp(connection, to)


def _free(file: Path) -> Path:
    """The name, or where it is taken the next one that is free."""
    names = (file.with_stem(f"{file.stem}-{i}") for i in range(2, 1000))
    return file if not file.exists() else next(name for name in names if not name.exists())


def _keep(place: Place, connection: Connection, version: int) -> None:
    """Copy a book as it is: a file beside it, or a schema beside its own."""
    day = datetime.now(UTC).strftime("%Y-%m-%d-%H%M%S")
    if place.file is not None:
        name = f"{place.file.stem}.version-{version}.{day}{place.file.suffix}"
        copy(place.file, _free(place.file.with_name(name)))
        return
    schema = f"kept_{place.name}_{version}_{day.replace('-', '')}"
    connection.exec_driver_sql(f"CREATE SCHEMA {schema}")
    for table in [*tables.METADATA.sorted_tables, tables.versions]:
        name = table.name
        connection.exec_driver_sql(f"CREATE TABLE {schema}.{name} AS TABLE {place.schema}.{name}")
