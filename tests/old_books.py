"""Books as the first version of the program made them.

``book_version_1.book`` was made on 25 November 2026 by ``fill`` below on an empty file with pages of 512 bytes. It
stays as it is: the tests open it as a user would open a book of that time.
"""

from pathlib import Path

from sqlalchemy import Connection, Engine, text

from loopwright.book import upgrading
from loopwright.book.place import Place, engine_for, writing

FILE = Path(__file__).with_name("rooms") / "book_version_1.book"
TEXT = "format: loopwright-build/1\nname: Old drill\n"
EVALUATED = '{"poses":{},"evaluated":{"values":[0.125],"stds":[0.001],"notes":["as found"]}}'
LINES = (
    "INSERT INTO book (line, format, uid, build_name, made) "
    "VALUES (1, 'loopwright-book', 'b0', 'Old drill', '2026-03-02T08:00:00.000Z')",
    "INSERT INTO entries (number, key, at, who, kind, of_number, why, supersedes, payload) VALUES "
    "(1, 'k1', '2026-03-02T08:00:00.000Z', 'Ana', 'revision', 1, 'start', NULL, NULL)",
    "INSERT INTO revisions (entry, text, sha256, file, difference) VALUES (1, '" + TEXT + "', "
    "'b6e6ac6ce4628c2e596953a039e0ac1317dbd282ec37537ba4b5ed4eb2cabbec', 'old.yaml', '')",
    "INSERT INTO entries (number, key, at, who, kind, of_number, why, supersedes, payload) VALUES "
    "(2, 'k2', '2026-03-02T08:00:00.000Z', 'Ana', 'state', 1, 'start', NULL, NULL)",
    "INSERT INTO states (number, opened_by) VALUES (1, 2)",
    "INSERT INTO state_details (entry, number, parent, reason, cause, step) VALUES "
    "(2, 1, NULL, 'as drawn', 'start', NULL)",
    "INSERT INTO entries (number, key, at, who, kind, of_number, why, supersedes, payload) VALUES "
    "(3, 'k3', '2026-03-03T09:30:00.000Z', 'Bo', 'reading', 1, '', NULL, '" + EVALUATED + "')",
    'INSERT INTO readings (entry, subject, "of", against, item, state, gauge, both_directions, turned, '
    "part_temperature, part_temperature_std, gauge_temperature, gauge_temperature_std, taken, surprise, kept, "
    "note) VALUES "
    "(3, 'dim', 'pad/height', NULL, 'no. 7', 1, 'dial 1', :no, :no, 20.5, 0.25, NULL, NULL, NULL, NULL, :no, NULL)",
    "INSERT INTO reading_values (entry, pose, \"repeat\", typed, value) VALUES (3, 0, 0, '1/8', 0.125)",
)


def fill(connection: Connection) -> None:
    """Make the first shape of a book, and enter a description, the first state and a reading."""
    upgrading.migrate(connection, 1)
    for line in LINES:
        connection.execute(text(line), {"no": False} if ":no" in line else {})


def version_1(where: str) -> None:
    """A book of the first version, at a place."""
    place = Place.of(where)
    engine: Engine = engine_for(place)
    try:
        with writing(engine) as connection:
            if place.file is None:
                connection.exec_driver_sql(f"CREATE SCHEMA {place.schema}")
            fill(connection)
    finally:
        engine.dispose()
