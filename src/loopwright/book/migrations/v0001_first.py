"""The first shape of a book. Never changed: books of that time are what it makes."""

from alembic import op
from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
)

from loopwright.book import triggers

revision = "0001"
down_revision = None

METADATA = MetaData(
    naming_convention={
        "pk": "%(table_name)s_pk",
        "fk": "%(table_name)s_%(column_0_name)s_fk",
        "uq": "%(table_name)s_%(column_0_name)s_uq",
        "ck": "%(table_name)s_%(constraint_name)s_ck",
        "ix": "%(table_name)s_%(column_0_N_name)s_ix",
    }
)


def _text(name: str, *, optional: bool = False) -> Column[str]:
    return Column(name, Text, nullable=optional)


def _number(name: str, *, optional: bool = False) -> Column[float]:
    return Column(name, Double, nullable=optional)


def _whole(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _yes(name: str) -> Column[bool]:
    return Column(name, Boolean, nullable=False)


def _entry() -> Column[int]:
    return Column("entry", ForeignKey("entries.number"), primary_key=True, autoincrement=False)


def _place(name: str) -> Column[int]:
    return Column(name, Integer, primary_key=True, autoincrement=False)


def _state() -> Column[int]:
    return Column("state", ForeignKey("states.number"), nullable=False)


book = Table(
    "book",
    METADATA,
    Column("line", Integer, CheckConstraint("line = 1", name="one"), primary_key=True, autoincrement=False),
    _text("format"),
    _text("uid"),
    _text("build_name"),
    _text("made"),
)
entries = Table(
    "entries",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("key", Text, nullable=False, unique=True),
    _text("at"),
    _text("who"),
    _text("kind"),
    _whole("of_number"),
    _text("why"),
    Column("supersedes", ForeignKey("entries.number"), nullable=True, unique=True),
    _text("payload", optional=True),
    CheckConstraint("supersedes < number", name="earlier"),
    Index(None, "kind", "of_number"),
)
revisions = Table(
    "revisions",
    METADATA,
    _entry(),
    _text("text"),
    _text("sha256"),
    _text("file", optional=True),
    _text("difference"),
)
states = Table(
    "states",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("opened_by", ForeignKey("entries.number"), nullable=False, unique=True),
)
state_details = Table(
    "state_details",
    METADATA,
    _entry(),
    Column("number", ForeignKey("states.number"), nullable=False, index=True),
    Column("parent", ForeignKey("states.number"), nullable=True),
    _text("reason"),
    _text("cause"),
    _text("step", optional=True),
)
state_changes = Table(
    "state_changes",
    METADATA,
    Column("entry", ForeignKey("state_details.entry"), primary_key=True, autoincrement=False),
    _place("position"),
    _text("what"),
    Column("of", Text, nullable=False, index=True),
    _number("value", optional=True),
    _number("std"),
    _number("lock_std"),
    _text("item", optional=True),
    _number("planned", optional=True),
)
readings = Table(
    "readings",
    METADATA,
    _entry(),
    _text("subject"),
    Column("of", Text, nullable=False, index=True),
    Column("against", Text, nullable=True, index=True),
    _text("item", optional=True),
    Column("state", ForeignKey("states.number"), nullable=False, index=True),
    _text("gauge", optional=True),
    _yes("both_directions"),
    _yes("turned"),
    _number("part_temperature", optional=True),
    _number("part_temperature_std", optional=True),
    _number("gauge_temperature", optional=True),
    _number("gauge_temperature_std", optional=True),
    _text("taken", optional=True),
    _number("surprise", optional=True),
    _yes("kept"),
    _text("note", optional=True),
)
reading_values = Table(
    "reading_values",
    METADATA,
    Column("entry", ForeignKey("readings.entry"), primary_key=True, autoincrement=False),
    _place("pose"),
    _place("repeat"),
    _text("typed", optional=True),
    _number("value"),
)
calibrations = Table(
    "calibrations",
    METADATA,
    _entry(),
    Column("gauge", Text, nullable=False, index=True),
    _text("done"),
    _text("due", optional=True),
    _number("std", optional=True),
    _number("error"),
    _yes("verified"),
    _text("certificate", optional=True),
    _text("note", optional=True),
)
concessions = Table(
    "concessions", METADATA, _entry(), _text("part"), _state(), _text("decision"), _text("terms")
)
concession_dims = Table(
    "concession_dims",
    METADATA,
    Column("entry", ForeignKey("concessions.entry"), primary_key=True, autoincrement=False),
    _place("position"),
    Column("dim", Text, nullable=False, index=True),
)
verdicts = Table(
    "verdicts",
    METADATA,
    _entry(),
    Column("of", Text, nullable=False, index=True),
    _text("item", optional=True),
    _state(),
    _text("verdict"),
    _number("value"),
    _number("std"),
    _number("lower", optional=True),
    _number("upper", optional=True),
    _number("probability"),
    _text("rule"),
)
stock = Table(
    "stock",
    METADATA,
    _entry(),
    _text("what"),
    _number("size"),
    _number("std"),
    _whole("count"),
    _text("note", optional=True),
)
column_sets = Table("column_sets", METADATA, _entry(), _text("name"))
withdrawals = Table("withdrawals", METADATA, _entry(), _text("reason"))


UNIQUE = {
    "entries": [["number"], ["key"], ["supersedes"]],
    "states": [["number"], ["opened_by"]],
    "state_changes": [["entry", "position"]],
    "reading_values": [["entry", "pose", "repeat"]],
    "concession_dims": [["entry", "position"]],
    "book": [["line"]],
}


def upgrade() -> None:
    """Make the tables and what keeps them from being changed."""
    connection = op.get_bind()
    METADATA.create_all(connection, checkfirst=False)
    names = [table.name for table in METADATA.sorted_tables]
    if connection.dialect.name == "postgresql":
        op.execute(triggers.postgresql_function())
        guards = dict(triggers.postgresql_trigger(name) for name in names)
    else:
        guards = dict([triggers.sqlite_numbering("entries", "number")])
        for name in names:
            guards.update(triggers.sqlite_triggers(name, UNIQUE.get(name, [["entry"]])))
    for statement in guards.values():
        op.execute(statement)
