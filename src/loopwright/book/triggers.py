"""What makes the tables append-only, in the words of each database. Migrations use it: never change it, add to it."""

from collections.abc import Iterator, Sequence

SAYS = "the book is append-only"
POSTGRESQL_BODY = f" BEGIN RAISE EXCEPTION USING MESSAGE = '{SAYS}: ' || TG_TABLE_NAME; END "


def sqlite_triggers(table: str, unique: Sequence[Sequence[str]]) -> Iterator[tuple[str, str]]:
    """Name and statement of each trigger of a table.

    Args:
        table: its name.
        unique: the groups of columns of its primary key and its unique constraints. A row that has one of
            them in common with another would take that one's place under INSERT OR REPLACE, which tells no
            delete trigger.
    """
    stop = f"SELECT RAISE(ABORT, '{SAYS}: {table}');"
    for event in ("update", "delete"):
        name = f"{table}_no_{event}"
        yield name, f"CREATE TRIGGER {name} BEFORE {event.upper()} ON {table} BEGIN {stop} END"
    same = " OR ".join("(" + " AND ".join(f'"{c}" = NEW."{c}"' for c in group) + ")" for group in unique)
    name = f"{table}_no_replace"
    when = f"EXISTS (SELECT 1 FROM {table} WHERE {same})"
    yield name, f"CREATE TRIGGER {name} BEFORE INSERT ON {table} WHEN {when} BEGIN {stop} END"


def sqlite_numbering(table: str, column: str) -> tuple[str, str]:
    """Name and statement of the trigger that lets no number be left out."""
    name = f"{table}_no_gap"
    when = f'NEW."{column}" <> (SELECT COALESCE(MAX("{column}"), 0) + 1 FROM {table})'
    stop = f"SELECT RAISE(ABORT, 'the book numbers its entries without a gap: {table}');"
    return name, f"CREATE TRIGGER {name} BEFORE INSERT ON {table} WHEN {when} BEGIN {stop} END"


def postgresql_function() -> str:
    """The statement that makes what the triggers call, in the schema of the book."""
    return f"CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $${POSTGRESQL_BODY}$$"


def postgresql_trigger(table: str) -> tuple[str, str]:
    """Name and statement of the trigger of a table."""
    name = f"{table}_append_only"
    return name, (
        f"CREATE TRIGGER {name} BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
    )
