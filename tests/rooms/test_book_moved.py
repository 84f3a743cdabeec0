"""A book is copied, looked through, written out as text, read in again and brought up to date, and stays the same."""

import json
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Connection, inspect, text

from books import BUILD, begin, one_of_each, reading, shimmed
from databases import Places
from loopwright import book
from loopwright.book import BookError, NewerBook, NoBook, tables, upgrading
from loopwright.book.place import Place, engine_for, writing
from loopwright.model.records import Evaluated, Reading, Revision, State, Warm, Withdrawal
from old_books import FILE, TEXT, version_1


def full(where: str) -> book.Book:
    """A book with one of each, corrections and withdrawals among them."""
    drill = begin(where)
    drill.append_all(one_of_each(), who="Bo", station="bench")
    drill.append(reading(value=1.0), who="Cy", why="misread", supersedes=3)
    drill.append(Withdrawal(reason="wrong part"), who="Bo", supersedes=4)
    drill.append(shimmed(value=0.06), who="Bo", supersedes=5)
    drill.append(Revision(text=BUILD + "\r\n# µ\n|no newline"), who="Ana")
    drill.append(Revision(text=""), who="Ana")
    return drill


def same(one: book.Book, other: book.Book) -> bool:
    """Whether two books are equal, wherever they are."""
    identity = [(b.info.uid, b.info.build_name, b.info.made) for b in (one, other)]
    return identity[0] == identity[1] and one.entries() == other.entries()


def test_an_archive_makes_an_equal_book_on_either_database(
    places: Places, tmp_path: Path, server_or_file: Callable[[str], str]
) -> None:
    """From one database to text, to the other, and to text again: equal entries, and identical bytes."""
    first, second = tmp_path / "one.txt", tmp_path / "two.txt"
    with full(places()) as drill:
        assert book.export_archive(drill, first) == first
        with book.import_archive(first, server_or_file("elsewhere")) as other:
            assert same(drill, other)
            book.export_archive(other, second)
            assert other.append(reading(), who="Bo").entry.number == drill.last_number + 1
    assert first.read_bytes() == second.read_bytes()


@pytest.fixture
def server_or_file(database: str, tmp_path: Path, request: pytest.FixtureRequest) -> Callable[[str], str]:
    """Places in the database that is not in turn, where there is one."""
    from databases import DATABASES, NUMBERS

    def place(name: str) -> str:
        if database == "postgresql" or "postgresql" not in DATABASES:
            return str(tmp_path / f"{name}.book")
        return f"{request.getfixturevalue('server')}?book=m{next(NUMBERS)}_{name}"

    return place


def test_an_archive_can_be_read_without_the_program(where: str, tmp_path: Path) -> None:
    """Lines of JSON, and the description as the lines that it has."""
    with full(where) as drill:
        lines = book.export_archive(drill, tmp_path / "drill.txt").read_text("utf-8").split("\n")
    assert json.loads(lines[0])["archive"] == "loopwright-book-archive/1"
    assert lines[2:4] == ["|format: loopwright-build/1", "|name: Drill"]
    found = [json.loads(line) for line in lines if line.startswith("{")]
    assert [one["number"] for one in found[1:-1]] == list(range(1, 18))
    assert found[3]["record"]["raw"][1] == [240.001, 240.0007]
    assert found[-1]["entries"] == 17


def test_neither_archive_nor_backup_is_written_over_anything(where: str, tmp_path: Path) -> None:
    """A name that is taken is refused, and what has it stays."""
    taken = tmp_path / "taken.txt"
    taken.write_text("mine", "utf-8")
    with begin(where) as drill, pytest.raises(BookError, match="already"):
        book.export_archive(drill, taken)
    with pytest.raises(BookError, match="already"):
        book.backup(where, taken)
    with pytest.raises(NoBook, match="no folder"):
        book.backup(where, tmp_path / "gone" / "drill.book")
    assert taken.read_text("utf-8") == "mine"


def test_a_backup_is_the_same_book(where: str, tmp_path: Path, database: str) -> None:
    """A backup taken while the book is open and being written is a whole book, or an archive of one."""
    with full(where) as drill:
        made = book.backup(where, tmp_path / "copy.book")
        if database == "postgresql":
            archive, made = made, tmp_path / "again.book"
            book.import_archive(archive, made).close()
        with book.open_book(made) as copy:
            assert same(drill, copy)
        drill.append(reading(), who="Bo")
    assert book.verify(made).entries == 17
    assert [file for file in tmp_path.iterdir() if file.name.startswith(".")] == []


def test_a_sound_book_is_found_sound(where: str) -> None:
    """Nothing is wrong with a book in which only this program wrote."""
    full(where).close()
    answer = book.verify(where)
    assert (answer.sound, answer.problems, answer.entries) == (True, (), 17)


@contextmanager
def unguarded(where: str) -> Connection:
    """Another program at work in a book whose guards it has taken away."""
    place = Place.of(where)
    engine = engine_for(place)
    try:
        with writing(engine) as connection:
            for name in tables.expected_triggers(engine.dialect.name):
                on = f" ON {name.removesuffix('_append_only')}" if place.file is None else ""
                connection.exec_driver_sql(f"DROP TRIGGER {name}{on}")
            yield connection
            for statement in tables.expected_triggers(engine.dialect.name).values():
                connection.exec_driver_sql(statement)
    finally:
        engine.dispose()


CHANGED = [
    (
        "UPDATE revisions SET text = 'name: other' WHERE entry = 1",
        "the description in entry 1 does not match its fingerprint",
    ),
    (
        "UPDATE readings SET subject = 'weight' WHERE entry = 3",
        "entry 3 holds what no reading can: reading/subject",
    ),
    (
        "DELETE FROM stock; DELETE FROM entries WHERE kind = 'stock'",
        "entry 12 stands where number 11 belongs",
    ),
    (
        "UPDATE entries SET payload = '{\"evaluated\":' WHERE number = 3",
        "entry 3 holds what no reading can",
    ),
    ("UPDATE state_details SET parent = 2 WHERE entry = 5", "entry 5 is state 2 and follows on 2"),
    (
        "UPDATE entries SET kind = 'calibration' WHERE number = 3",
        "entry 3 has a row in 'readings', where none belongs",
    ),
    ("UPDATE entries SET of_number = 9 WHERE number = 3", "entry 3 is not reading 9, but 1"),
    (
        "UPDATE entries SET supersedes = 6 WHERE number = 13",
        "entry 13 is reading 1 and supersedes calibration 1",
    ),
    ("UPDATE entries SET at = 'yesterday' WHERE number = 3", "entry 3 was made at no time that can be read"),
]


@pytest.mark.parametrize(("change", "what"), CHANGED)
def test_what_another_program_changed_is_found(where: str, change: str, what: str) -> None:
    """Each change made behind the book's back is named with its entry, although the guards are there again."""
    full(where).close()
    with unguarded(where) as connection:
        for statement in change.split("; "):
            connection.exec_driver_sql(statement)
    said = [problem.what for problem in book.verify(where).problems]
    assert any(what in one for one in said), said


STRANGE_POSTGRESQL = (
    "ALTER TABLE entries DISABLE TRIGGER entries_append_only",
    "CREATE TRIGGER stranger BEFORE INSERT ON stock EXECUTE FUNCTION refuse_change()",
    "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$",
)
STRANGE_SQLITE = (
    "DROP TRIGGER entries_no_delete",
    "DROP TRIGGER stock_no_update",
    "CREATE TRIGGER stock_no_update BEFORE UPDATE ON stock BEGIN SELECT 1; END",
    "CREATE TRIGGER stranger AFTER INSERT ON stock BEGIN SELECT 1; END",
)


def test_a_guard_that_is_missing_or_strange_is_found(where: str, database: str) -> None:
    """Guards are counted and compared."""
    begin(where).close()
    change = STRANGE_POSTGRESQL if database == "postgresql" else STRANGE_SQLITE
    engine = engine_for(Place.of(where))
    try:
        with writing(engine) as connection:
            for statement in change:
                connection.exec_driver_sql(statement)
    finally:
        engine.dispose()
    said = " ".join(problem.what for problem in book.verify(where).problems)
    assert "is gone: entries could have been changed" in said
    assert "'stranger' that is not ours" in said
    changed = "refuse_change" if database == "postgresql" else "stock_no_update"
    assert f"'{changed}' is not as it was made" in said


def test_looking_through_a_damaged_file_names_the_damage(tmp_path: Path) -> None:
    """Pages that were overwritten are named, and the file stays as it is."""
    file = tmp_path / "drill.book"
    full(str(file)).close()
    data = bytearray(file.read_bytes())
    data[8 * 4096 : 8 * 4096 + 200] = b"\xff" * 200
    file.write_bytes(data)
    answer = book.verify(file)
    assert not answer.sound
    assert all(problem.file == str(file) and problem.remedy for problem in answer.problems)


CUTS: list[tuple[str, Callable[[bytes], bytes], str]] = [
    ("emptied", lambda data: b"", r":1: is not an archive of a book"),
    ("another file", lambda data: b"a shopping list\n", r":1: is not an archive of a book"),
    ("cut in a line", lambda data: data[: len(data) // 2], r":\d+: the archive ends here"),
    ("cut after a line", lambda data: data[: data.index(b'{"number":9')], r":\d+: the archive ends here"),
    ("cut in the text", lambda data: data[: data.index(b"|name")], r":4: the archive ends here"),
    ("a line taken out", lambda data: data.replace(b"|name: Drill\n", b""), r":5: a line of the description"),
    ("a value changed", lambda data: data.replace(b"240.0007", b"240.0070"), r"one was changed"),
    ("a name changed", lambda data: data.replace(b'"Cy"', b'"Bo"'), r"one was changed"),
    ("text changed", lambda data: data.replace(b"|name: Drill", b"|name: Mill"), r"one was changed"),
    ("something after", lambda data: data + b"\n", r"something after the last line"),
    ("other line ends", lambda data: data.replace(b"\n", b"\r\n"), r":1: its lines end otherwise"),
    ("not UTF-8", lambda data: data.replace(b"bench", b"b\xffnch"), r":\d+: is not UTF-8"),
    ("not JSON", lambda data: data.replace(b'"raw":[[', b'"raw":[[[', 1), r":7: cannot be read"),
    ("not a table", lambda data: data.replace(b'{"number":2', b'[2]\n{"number":2'), r":6: is not a line"),
    (
        "an endless depth",
        lambda data: data.replace(b'{"number":2', b"[" * 5000 + b'\n{"number":2'),
        r":6: cannot be",
    ),
    (
        "no number",
        lambda data: data.replace(b'"raw":[[240.0', b'"raw":[[1e999', 1),
        r":7: record/reading/raw",
    ),
    ("a field too many", lambda data: data.replace(b'{"number":2', b'{"x":1,"number":2'), r":6: x: Extra"),
    (
        "lines nowhere",
        lambda data: data.replace(b'{"number":2', b'{"lines":1,"number":2'),
        r":6: counts lines",
    ),
    ("lines unsaid", lambda data: data.replace(b'"lines":3', b'"lines":"3"'), r":2: does not say how many"),
    (
        "an entry twice",
        lambda data: data.replace(b'"number":4', b'"number":3'),
        r":8: entry 3 stands where number 4",
    ),
    ("a NUL", lambda data: data.replace(b'"after lunch"', b'"\\u0000"', 1), r":7: the note holds a NUL"),
    (
        "no identity",
        lambda data: data.replace(b'"build_name":"Drill"', b'"build_name":7'),
        r":1: does not say which",
    ),
    (
        "only ends",
        lambda data: data.split(b"\n")[0] + b"\n" + data.split(b"\n")[-2] + b"\n",
        r"no description",
    ),
]


@pytest.mark.parametrize(("change", "what"), [pytest.param(c, w, id=i) for i, c, w in CUTS])
def test_a_damaged_archive_is_refused_with_its_line(
    places: Places, tmp_path: Path, change: Callable[[bytes], bytes], what: str
) -> None:
    """Whatever was done to an archive is found, said with its line, and no book is left behind."""
    with full(places("whole")) as drill:
        data = book.export_archive(drill, tmp_path / "whole.txt").read_bytes()
    damaged = tmp_path / "damaged.txt"
    damaged.write_bytes(change(data))
    assert damaged.read_bytes() != data
    with pytest.raises(BookError, match=what) as caught:
        book.import_archive(damaged, places("made"))
    assert caught.value.problem.file == str(damaged)
    assert caught.value.problem.line
    with pytest.raises(NoBook):
        book.open_book(places("made"))
    assert [file for file in tmp_path.iterdir() if file.name.startswith(".")] == []


def test_a_line_without_end_is_not_read_to_its_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A foreign file cannot fill the memory with one line."""
    monkeypatch.setattr("loopwright.book.archive.LONGEST", 1000)
    bomb = tmp_path / "bomb.txt"
    bomb.write_bytes(b'{"archive":"loopwright-book-archive/1"' + b" " * 5000)
    with pytest.raises(BookError, match=":1: is longer than 1000 bytes"):
        book.import_archive(bomb, tmp_path / "made.book")


def test_a_newer_archive_is_refused_kindly(where: str, tmp_path: Path) -> None:
    """Both versions are named, and updating is the remedy."""
    with begin(where) as drill:
        archive = book.export_archive(drill, tmp_path / "drill.txt")
    newer = tmp_path / "newer.txt"
    newer.write_bytes(archive.read_bytes().replace(b"archive/1", b"archive/2"))
    with pytest.raises(NewerBook, match=r"of version 2.*reads version 1; update Loopwright"):
        book.import_archive(newer, tmp_path / "made.book")


def test_an_archive_is_not_imported_over_a_book(where: str, tmp_path: Path) -> None:
    """A place that is taken is refused."""
    with begin(where) as drill:
        archive = book.export_archive(drill, tmp_path / "drill.txt")
        with pytest.raises(BookError, match="already"):
            book.import_archive(archive, where)
        assert drill.last_number == 2


def test_a_newer_book_is_refused_kindly(where: str) -> None:
    """Both versions are named, updating is the remedy, and nothing is changed."""
    begin(where).close()
    engine = engine_for(Place.of(where))
    with writing(engine) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0007'"))
    with pytest.raises(NewerBook, match=r"is of version 7.*knows versions up to 2; update Loopwright"):
        book.open_book(where)
    with engine.connect() as connection:
        assert tables.version_of(connection) == 7
    engine.dispose()


def shape(where: str) -> dict[str, object]:
    """Columns, keys, checks and indexes of each table, and the guards."""
    place = Place.of(where)
    engine = engine_for(place)
    with engine.connect() as connection:
        look = inspect(connection)
        found: dict[str, object] = {
            name: [
                sorted(
                    (c["name"], str(c["type"]), c["nullable"], c["default"]) for c in look.get_columns(name)
                ),
                look.get_pk_constraint(name),
                *(
                    sorted(str(sorted(one.items(), key=str)) for one in get(name))
                    for get in (
                        look.get_foreign_keys,
                        look.get_indexes,
                        look.get_unique_constraints,
                        look.get_check_constraints,
                    )
                ),
            ]
            for name in look.get_table_names()
        }
    engine.dispose()
    return found


def test_a_migrated_book_has_the_shape_of_a_new_one(places: Places) -> None:
    """Every migration run one after the other makes exactly the tables, indexes and guards of a new book."""
    begin(places("new")).close()
    version_1(places("old"))
    book.open_book(places("old")).close()
    assert shape(places("old")) == shape(places("new"))
    assert book.verify(places("old")).problems == ()


def test_an_older_book_is_brought_up_to_date_after_a_backup(tmp_path: Path) -> None:
    """A book of version 1 opens as it was; a copy of it, still of version 1, lies beside it."""
    old = tmp_path / "old.book"
    shutil.copy(FILE, old)
    before = old.read_bytes()
    with pytest.raises(BookError, match="is of version 1, this program writes version 2"):
        book.open_book(old, migrate=False)
    assert [file.name for file in tmp_path.iterdir()] == ["old.book"]
    with book.open_book(old) as drill:
        assert drill.info.version == 2
        read_old(drill)
        drill.append(reading(), who="Bo", station="bench")
    (kept,) = tmp_path.glob("old.version-1.20*.book")
    assert book.verify(kept).problems[0].what.startswith("is of version 1")
    with closing(sqlite3.connect(kept)) as copy, closing(sqlite3.connect(FILE)) as first:
        assert sorted(copy.iterdump()) == sorted(first.iterdump())
    assert old.read_bytes() != before == FILE.read_bytes()
    book.open_book(old).close()
    assert len(list(tmp_path.glob("*.book"))) == 2


def read_old(drill: book.Book) -> None:
    """See that a book of the first version says what it said."""
    revision, start, read = drill.entries()
    assert revision.record == Revision(text=TEXT, file="old.yaml")
    assert start.record == State(reason="as drawn", cause="start")
    assert (read.key, read.who, read.station, read.at) == ("k3", "Bo", "", "2026-03-03T09:30:00.000Z")
    assert read.record == Reading(
        subject="dim",
        of="pad/height",
        item="no. 7",
        state=1,
        gauge="dial 1",
        typed=(("1/8",),),
        raw=((0.125,),),
        part_temperature=Warm(value=20.5, std=0.25),
        evaluated=Evaluated(values=(0.125,), stds=(0.001,), notes=("as found",)),
    )


def test_an_older_book_of_either_database_is_brought_up_to_date(where: str, database: str) -> None:
    """The same on PostgreSQL, where the copy is a schema of its own; several stations may open it at once."""
    version_1(where)
    with book.open_book(where) as drill, book.open_book(where) as other:
        read_old(drill)
        read_old(other)
        if database == "postgresql":
            with drill._engine.connect() as connection:
                query = text("SELECT nspname FROM pg_namespace WHERE nspname LIKE :name")
                name = f"kept_{Place.of(where).name}_1_%"
                (kept,) = connection.execute(query, {"name": name}).scalars()
                assert connection.execute(text(f"SELECT count(*) FROM {kept}.entries")).scalar() == 3


def test_a_migration_that_fails_leaves_the_book_as_it_was(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When bringing up to date breaks off, the book is of the old version still, and whole."""
    version_1(where)
    migrate = upgrading.migrate

    def broken(connection: Connection) -> None:
        migrate(connection)
        connection.execute(text("SELECT nonsense"))

    monkeypatch.setattr(upgrading, "migrate", broken)
    with pytest.raises(BookError):
        book.open_book(where)
    monkeypatch.undo()
    engine = engine_for(Place.of(where))
    with engine.connect() as connection:
        assert tables.version_of(connection) == 1
        assert "station" not in [column["name"] for column in inspect(connection).get_columns("entries")]
    engine.dispose()
    with book.open_book(where) as drill:
        read_old(drill)


def test_the_shipped_old_book_is_what_the_first_migration_makes(tmp_path: Path) -> None:
    """The book of version 1 that lies with the tests has the tables and rows that the first migration makes."""
    version_1(str(tmp_path / "made.book"))
    with closing(sqlite3.connect(tmp_path / "made.book")) as made, closing(sqlite3.connect(FILE)) as shipped:
        assert sorted(made.iterdump()) == sorted(shipped.iterdump())
