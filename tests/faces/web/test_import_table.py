"""Readings from a table in the browser: looked over as a whole, entered as a whole or not at all."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from browsers import Served, Window, finished
from loopwright import book as books
from loopwright.errors import BuildError, Problem, RequestError
from loopwright.measuring.table_columns import Column, TableMapping
from loopwright.measuring.table_look import WIDEST, look_at
from loopwright.measuring.tables import read_table
from loopwright.model.records import ColumnsKept, Reading
from loopwright.studies.books import bench_of
from loopwright.studies.table_entering import columns_kept, enter_table, look_over, table_brought
from loopwright.web import table_sent
from loopwright.web.limited import limited
from loopwright.web.table_said import fields_of, mapping_of
from loopwright.web.uploads import Uploads
from loopwright.web.views import import_looked, import_table
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]

SOUND = (
    "Feature;Reading (mm);Date;Remark\n"
    "column/Z_seat_left;85,004;2026-11-20;\n"
    "column/Z_seat_left;85,005;2026-11-20;\n"
    "column/Z_seat_right;85,003;2026-11-20;<img src=x onerror=alert(1)>\n"
)
WITH_GAUGE = TableMapping(
    (Column("Reading (mm)", "mm"),),
    {"what": Column("Feature"), "date": Column("Date"), "note": Column("Remark")},
    constants={"gauge": "length gauge"},
    delimiter=";",
    decimal=",",
)


@pytest.fixture
def book(demo_book: Path) -> Iterator[books.Book]:
    """The book of the invented history, open."""
    with books.open_book(demo_book) as found:
        yield found


def looked(book: books.Book, text: str) -> import_looked.LookedOver:
    """A table held against the book."""
    rows, problems = read_table(text, WITH_GAUGE, file="pads.csv")
    return look_over(bench_of(book), rows, problems, file="pads.csv")


def test_lines_of_one_dim_are_one_reading_with_its_repeats(book: books.Book) -> None:
    """Three lines of two dims are two readings; both hold their limits and are what was expected."""
    found = looked(book, SOUND)
    assert (found.counts.readings, found.counts.conforming, found.counts.doubted, found.problems) == (
        2,
        2,
        0,
        (),
    )
    assert [len(line.considered.reading.raw[0]) for line in found.found.lines] == [2, 1]


def test_all_are_entered_with_their_columns_once_whatever_is_sent_again(book: books.Book) -> None:
    """Under one key a table stands in the book once; the columns are kept for the next."""
    found, before = looked(book, SOUND), book.last_number
    columns = ("pads", WITH_GAUGE.to_dict())
    written = enter_table(book, found, columns=columns, who="Ada", key="k1")
    again = enter_table(book, found, columns=columns, who="Ada", key="k1")
    assert [one.entry.number for one in written] == [one.entry.number for one in again]
    assert [e.record.kind for e in book.entries(since=before)] == ["columns", "reading", "reading"]
    assert TableMapping.from_dict(columns_kept(bench_of(book))["pads"]) == WITH_GAUGE
    entries, targets = table_brought(book, before + 1, book.last_number)
    assert len(entries) == 3
    assert {one.name for one in targets} == set(bench_of(book).build.targets)


def test_the_same_table_asks_and_can_leave_out_what_is_there(book: books.Book) -> None:
    """A table that an instrument goes on writing in brings what is new."""
    enter_table(book, looked(book, SOUND), columns=None, who="Ada")
    longer = looked(book, SOUND + "column/Z_shoulder;50,001;2026-11-20;\n")
    assert (longer.counts.readings, longer.counts.twins) == (3, 2)
    with pytest.raises(RequestError, match="in the book already"):
        enter_table(book, longer, columns=None, who="Ada")
    (one,) = enter_table(book, longer, columns=None, who="Ada", twins="leave out")
    assert isinstance(one.entry.record, Reading)
    assert one.entry.record.of == "column/Z_shoulder"
    with pytest.raises(RequestError, match="no reading is left"):
        enter_table(book, looked(book, SOUND), columns=None, who="Ada", twins="leave out")


def test_what_surprises_is_asked_about_and_kept_only_on_a_word(book: books.Book) -> None:
    """Two digits exchanged are told with what may have been meant."""
    found, before = looked(book, SOUND.replace("85,003", "85,030")), book.last_number
    assert found.counts.doubted == 1
    assert "digits are exchanged" in found.meant[4][0].what
    with pytest.raises(RequestError, match="surprise"):
        enter_table(book, found, columns=None, who="Ada")
    assert book.last_number == before
    enter_table(book, found, columns=None, who="Ada", keep=True)
    assert [e.record.kept for e in book.entries(since=before) if isinstance(e.record, Reading)] == [
        False,
        True,
    ]


def test_after_a_mistake_nothing_is_entered_and_every_one_is_told(book: books.Book) -> None:
    """A formula is no number, and a dim that is not there is named by its line, in one list in its order."""
    text = SOUND + "column/foot;40,5;2026-11-20;\ncolumn/Z_shoulder;=50+0;2026-11-20;\n"
    found, before = looked(book, text), book.last_number
    assert [(p.line, p.field) for p in found.problems] == [(5, "column/foot"), (6, "Reading (mm)")]
    with pytest.raises(BuildError):
        enter_table(book, found, columns=None, who="Ada", keep=True, twins="once more")
    assert book.last_number == before


def test_columns_that_are_kept_are_tried_on_a_table() -> None:
    """Those by which its lines can be read fit, the best first; others do not."""
    other = TableMapping((Column("Actual", "mm"),), {"what": Column("Feature")})
    found = look_at(SOUND, {"other": other, "pads": WITH_GAUGE})
    assert found.fitting == ("pads",)
    assert found.laying.delimiter == ";"
    assert found.lines == 3


def test_what_a_form_says_of_columns_comes_back_as_it_was() -> None:
    """Columns fill the form in, and the form says the same columns."""
    look = look_at(SOUND, {"pads": WITH_GAUGE})
    fields = fields_of(look, WITH_GAUGE, name="pads", unit="mm")
    assert mapping_of(look, fields) == WITH_GAUGE
    with pytest.raises(RequestError, match="No column holds the values"):
        mapping_of(look, fields | {"hold-1": ""})
    with pytest.raises(RequestError, match="Two columns hold the same"):
        mapping_of(look, fields | {"hold-2": "note"})


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "empty"),
        (";".join(f"c{n}" for n in range(WIDEST + 1)) + "\n1\n", "columns"),
        ('Feature;Reading\n"pad;3\n', "cannot be parted into cells"),
    ],
)
def test_what_is_no_table_is_refused(text: str, what: str) -> None:
    """With what would do."""
    with pytest.raises(RequestError, match=what):
        look_at(text, {})


def test_a_table_is_read_in_a_process_of_its_own(tmp_path: Path) -> None:
    """Its readings come back as they were read, by way of a file of ours."""
    sent, rows = tmp_path / "sent", tmp_path / "rows"
    sent.write_text(SOUND + "column/Z_shoulder;fifty;2026-11-20;\n", "utf-8")
    mapping = WITH_GAUGE.to_dict()
    count, problems = finished(limited(table_sent.read, str(sent), mapping, "pads.csv", str(rows)))
    assert (count, [problem.line for problem in problems]) == (3, [5])
    assert tuple(table_sent.rows_of(str(rows))) == read_table(SOUND, WITH_GAUGE)[0]


def test_what_was_said_of_a_table_goes_with_it(tmp_path: Path) -> None:
    """Nothing of it is left when the table is."""
    uploads = Uploads(tmp_path)
    token, _ = uploads.begin("readings")
    uploads.remember(token, "said")
    assert uploads.remembered(token) == "said"
    uploads.drop(token)
    uploads.remember(token, "too late")
    assert uploads.remembered(token) is None


def test_thousands_of_lines_are_shown_a_page_at_a_time(demo_book: Path) -> None:
    """And hundreds of mistakes behind a lid; what stands in a cell is text."""
    work, reader = Work(str(demo_book)), Reader("Ada")
    found = looked(work.book, SOUND)
    told = import_looked.told(work.shown(reader), "<b>.csv", found)
    many = tuple(Problem("Reading", "'<i>' is no number", "write one", "<b>.csv", n) for n in range(200))
    work.lasting[import_looked.table_key("t")] = import_looked.Told(
        told.file, many, told.counts, told.lines * 2500, told.last
    )
    page = import_looked.looked(work, reader, "t", "all", 4900)
    work.close()
    assert len(page) < 120_000
    assert "4,901 to 5,000 of 5,000" in page
    assert "<i>" not in page
    assert "<b>.csv" not in page


def test_a_table_goes_into_the_book_and_back_through_a_reload(
    demo: Served, window: Windows, tmp_path: Path
) -> None:
    """Chosen, said, loaded anew, looked over, entered; the next one finds its columns said and asks."""
    file = tmp_path / "pads.csv"
    file.write_text(SOUND.replace("Feature", "Item of list"), "utf-8")
    one = window()
    one.page.goto(f"{demo.address}/import")
    one.page.get_by_label("Table").set_input_files(file)
    one.page.get_by_role("button", name="Look at it").click()
    one.page.get_by_label("What Item of list holds").select_option("what is measured")
    one.page.get_by_label("Gauge", exact=True).select_option("length gauge")
    one.page.get_by_text("<img src=x onerror=alert(1)>").wait_for()
    for _ in range(20):
        # what was chosen is on its way; once the server has it, a reload shows it
        one.page.wait_for_timeout(300)
        one.page.reload()
        one.page.get_by_label("What Item of list holds").wait_for()
        if one.page.get_by_label("What Item of list holds").input_value():
            break
    assert one.page.get_by_label("What Item of list holds").input_value() == "what"
    one.page.get_by_role("button", name="Look over every line").click()
    one.page.get_by_role("button", name="Enter all 2 readings").click()
    one.page.get_by_role("heading", name="2 readings are in the book").wait_for()
    one.page.get_by_role("heading", name="At the tool").wait_for()
    with books.open_book(demo_book_of(demo)) as book:
        kinds = [entry.record.kind for entry in book.entries(since=79)]
        assert kinds == ["columns", "reading", "reading"]
        assert any(isinstance(entry.record, ColumnsKept) for entry in book.entries("columns"))
    one.page.get_by_role("link", name="Another table").click()
    one.page.get_by_label("Table").set_input_files(file)
    one.page.get_by_role("button", name="Look at it").click()
    assert one.page.get_by_label("Begun with").input_value() == "readings"
    one.page.get_by_role("button", name="Look over every line").click()
    one.page.get_by_role("button", name="Enter all 2 readings").click()
    one.page.locator(".notice.refused", has_text="in the book already").wait_for()
    one.is_clean()


def demo_book_of(served: Served) -> Path:
    """The book that a server serves."""
    assert served.book is not None
    return served.book


def test_a_table_that_is_gone_is_asked_for_again(shown: Served, window: Windows) -> None:
    """As after the server was started anew; and the page fits a telephone."""
    one = window(390)
    one.page.goto(f"{shown.address}/import?file=gone")
    one.page.get_by_text("no longer here").wait_for()
    one.page.get_by_label("Table").wait_for()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 390
    one.is_clean()


def test_every_column_can_be_given_a_meaning(demo_book: Path) -> None:
    """Positions of the machine's own axes among them."""
    work, reader = Work(str(demo_book)), Reader("Ada")
    look = look_at(SOUND, {})
    said = import_table.Said("pads.csv", look, "", import_table.begun(work, reader, look, ""))
    form = import_table.columns_form(work, reader, said)
    work.close()
    assert form.count('<select name="hold-') == 4
    assert "position of X" in form
