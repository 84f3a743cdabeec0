"""Nine screws inspected in one table: read with their serials, judged, chosen from; all invented."""

import json
from pathlib import Path

import pytest

from commands import run
from loopwright.book import open_book
from loopwright.buildfile import examples
from loopwright.model.records import ColumnsKept, Reading

MEAN, VARIES = "ball screw/mean travel", "ball screw/travel variation"
NINE = {f"A{number}": (2 * number - 9, 3 + number % 4) for number in range(1, 10)}
TABLE = "Serial;Feature;Actual (µm)\n" + "".join(
    f"{serial};{MEAN};{mean}\n{serial};{VARIES};{varies}\n{serial};{VARIES};{varies},5\n"
    for serial, (mean, varies) in NINE.items()
)
IMPORT = ("import-readings", "screws.csv", "--gauge", "length gauge")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the book of the clock-plate machine, and the table of the screws."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    monkeypatch.delenv("LOOPWRIGHT_BOOK", raising=False)
    Path("drill.yaml").write_text(examples.text("clock-plate"), "utf-8")
    Path("screws.csv").write_text(TABLE, "utf-8")
    assert run("book", "new", "drill.yaml").code == 0
    return tmp_path


def readings() -> list[Reading]:
    """Readings of the book."""
    with open_book("drill.book") as book:
        return [e.record for e in book.standing("reading") if isinstance(e.record, Reading)]


@pytest.mark.usefixtures("shop")
def test_nine_screws_come_in_by_one_table_and_can_be_chosen_from() -> None:
    """Each line belongs to its serial, repeats of one serial are one reading, and select finds all nine."""
    done = run(*IMPORT, "--yes")
    assert done.code == 0, done.err
    assert f"{MEAN} of A3" in done.out
    found = readings()
    assert [(one.item, one.of) for one in found] == [(s, of) for s in NINE for of in (MEAN, VARIES)]
    assert found[0].typed == (("-7",),)
    assert found[1].typed == (("4", "4.5"),)
    assert found[0].raw == ((pytest.approx(-0.007),),)
    chosen = json.loads(run("select", "ball screw", "--place", "X slide/drive", "--json").out)
    assert len(chosen["items"]) == 9


@pytest.mark.usefixtures("shop")
def test_the_column_of_serials_is_remembered() -> None:
    """The next table of the same headings needs no questions; the same table again is told serial by serial."""
    assert run(*IMPORT, "--yes").code == 0
    with open_book("drill.book") as book:
        (kept,) = (e.record for e in book.standing() if isinstance(e.record, ColumnsKept))
    assert kept.columns["columns"]["item"] == {"heading": "Serial", "unit": None}
    again = run(*IMPORT)
    assert again.code == 1
    assert f"{MEAN} of A1 is in the book already" in again.err
    Path("screws.csv").write_text(f"Serial;Feature;Actual (µm)\nB1;{MEAN};1,25\n", "utf-8")
    assert run(*IMPORT).code == 0
    assert readings()[-1].item == "B1"


@pytest.mark.usefixtures("shop")
def test_a_column_of_one_quantity_needs_its_name_once() -> None:
    """A table with a column for each quantity is read column by column, the quantity named on the command line."""
    Path("wide.csv").write_text("No;Travel (µm)\nA1;3,5\nA2;5\n", "utf-8")
    words = ("wide.csv", "--column", "item=No", "--column", "value=Travel (µm)", "--constant", f"what={MEAN}")
    done = run("import-readings", *words, "--gauge", "length gauge")
    assert done.code == 0, done.err
    assert [(one.item, one.of, one.raw) for one in readings()] == [
        ("A1", MEAN, ((pytest.approx(0.0035),),)),
        ("A2", MEAN, ((pytest.approx(0.005),),)),
    ]


@pytest.mark.parametrize("of", ["X straight in Y", "mean travel", "Y nut spacer"])
@pytest.mark.usefixtures("shop")
def test_a_serial_beside_what_is_no_item_is_told(of: str) -> None:
    """A test of the machine, the gap of a closure or a bare quantity is not read of an item; nothing is entered."""
    Path("screws.csv").write_text(f"Serial;Feature;Actual (µm)\nA1;{MEAN};1\nA1;{of};1\n", "utf-8")
    done = run(*IMPORT, "--yes")
    assert done.code == 1
    for words in (
        "screws.csv:3",
        f"'{of}' cannot be read of the item 'A1'",
        "kind/what",
        "nothing was entered",
    ):
        assert words in done.err, words
    assert readings() == []


@pytest.mark.usefixtures("shop")
def test_lines_with_and_without_a_serial_stand_in_one_table() -> None:
    """An empty cell under the serials is a reading of the machine's own part."""
    text = f"Serial;Feature;Actual (mm)\n;pad_FL/height;12,001\nA1;{MEAN};0,001\n"
    Path("screws.csv").write_text(text, "utf-8")
    assert run(*IMPORT, "--yes").code == 0
    assert [(one.item, one.of) for one in readings()] == [(None, "pad_FL/height"), ("A1", MEAN)]
