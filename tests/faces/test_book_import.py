"""Making a book from an archive, or from the history of a shipped example."""

import json
from pathlib import Path

import pytest

from commands import run
from loopwright.book import export_archive, open_book
from loopwright.studies.example_history import open_example


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("LOOPWRIGHT_BOOK", raising=False)
    return tmp_path


@pytest.mark.usefixtures("here")
def test_the_history_of_an_example_is_taken_by_its_name() -> None:
    """--like makes the same book as the shipped archive, and says that all in it is invented."""
    done = run("book", "import", "--like", "clock-plate", "drill.book")
    assert done.code == 0, done.err
    assert "invented" in done.out
    open_example("clock-plate", "other.book").close()
    for name in ("drill", "other"):
        with open_book(f"{name}.book") as book:
            export_archive(book, f"{name}.txt")
    assert Path("drill.txt").read_bytes() == Path("other.txt").read_bytes()
    assert json.loads(run("book", "show", "--json", "-b", "drill.book").out)["kinds"]["reading"] > 40


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("nowhere.txt", "x.book"), 1, ("'nowhere.txt'", "book export", "--like clock-plate BOOK")),
        (("clock-plate", "x.book"), 1, ("--like clock-plate BOOK",)),
        ((".", "x.book"), 1, ("book export",)),
        (("drill.yaml", "x.book"), 1, ("is a build file", "loopwright book new drill.yaml")),
        (("there.book", "x.book"), 1, ("is a book", "book backup TO --book there.book")),
        (("hello.txt", "x.book"), 1, ("is not an archive of a book",)),
        (
            ("--like", "guitar-gantry", "x.book"),
            1,
            ("no history of 'guitar-gantry'", "there are: clock-plate"),
        ),
        (("--like", "clock-plate", "there.book"), 1, ("there.book",)),
        (("--like", "clock-plate", "drill.txt", "x.book"), 2, ("BOOK alone",)),
        (("drill.txt",), 2, ("ARCHIVE and BOOK",)),
        ((), 2, ("ARCHIVE and BOOK",)),
    ],
)
def test_what_cannot_be_imported_is_told_with_a_remedy(
    here: Path, words: tuple[str, ...], code: int, told: tuple[str, ...]
) -> None:
    """No archive, another kind of file, an example without a history: each says what would do, and makes no book."""
    run("new", "drill.yaml")
    run("book", "new", "drill.yaml", "there.book")
    Path("hello.txt").write_text("hello\n", "utf-8")
    done = run("book", "import", *words)
    assert done.code == code
    for one in told:
        assert one in done.err, done.err
    assert not Path("x.book").exists()


def test_the_help_names_the_archive_and_the_example() -> None:
    """Help says what an archive is and that an example ships with a history."""
    told = run("book", "import", "--help").out
    for words in ("[ARCHIVE] BOOK", "book export", "loopwright-book-archive/1", "--like clock-plate"):
        assert words in told, words
