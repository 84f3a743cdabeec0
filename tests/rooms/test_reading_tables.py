"""Tables of readings: what is read, what is refused and where, and the first guess at the columns."""

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.errors import Problem, RequestError
from loopwright.measuring.table_columns import (
    MOST_BYTES,
    MOST_LINES,
    Column,
    Proposal,
    TableMapping,
    propose,
)
from loopwright.measuring.tables import MOST_PROBLEMS, Row, read_table
from loopwright.units import Dimension

FULL = TableMapping(
    (Column("reading"),),
    {
        "what": Column("dim"),
        "item": Column("serial"),
        "unit": Column("unit"),
        "gauge": Column("gauge"),
        "date": Column("date"),
        "part_temperature": Column("part", "degC"),
        "gauge_temperature": Column("scale", "degF"),
        "who": Column("by"),
        "repeat": Column("no"),
        "note": Column("note"),
    },
    {"X": Column("X"), "C": Column("C")},
    unit="mm",
)
HEAD = "dim,reading,unit,gauge,date,part,scale,by,no,note,X,C,serial\n"


def read(text: str, mapping: TableMapping = FULL) -> tuple[tuple[Row, ...], tuple[Problem, ...]]:
    """Readings and problems of a table of our own."""
    return read_table(text, mapping, file="pads.csv")


def row(text: str, mapping: TableMapping = FULL) -> Row:
    """The one reading of a table without mistakes."""
    rows, problems = read(text, mapping)
    assert problems == ()
    (only,) = rows
    return only


def problem(text: str, mapping: TableMapping = FULL) -> Problem:
    """The one problem of a table."""
    _, problems = read(text, mapping)
    (only,) = problems
    return only


def test_a_whole_line_is_read() -> None:
    """Every column comes in its own unit, and leaves in internal ones."""
    found = row(HEAD + 'pad/height,12.5,µm,tenths,2026-11-25 14:03,21.5,68,JH,2,"a, b",160,90,A7\n')
    assert (found.what, found.line, found.repeat, found.gauge) == ("pad/height", 2, 2, "tenths")
    assert (found.value, found.dimension, found.unit) == (0.0125, Dimension.LENGTH, "µm")
    assert found.item == "A7"
    assert (found.date, found.who, found.note) == (date(2026, 11, 25), "JH", "a, b")
    assert (found.part_temperature, found.gauge_temperature) == (21.5, pytest.approx(20.0))
    assert found.position == {"X": 160.0, "C": pytest.approx(1.5707963267948966)}


@pytest.mark.parametrize(
    ("cell", "unit", "value", "dimension"),
    [
        ("12.5", "", 12.5, Dimension.LENGTH),
        ("12.5 µm", "", 0.0125, Dimension.LENGTH),
        ("12.5 µm", "um", 0.0125, Dimension.LENGTH),
        ("5", "thou", 0.127, Dimension.LENGTH),
        ('"1 1/2"""', "", 38.1, Dimension.LENGTH),
        ("20 µm/m", "", 2e-5, Dimension.ANGLE),
        ("3 µm/300 mm", "", 1e-5, Dimension.ANGLE),
        ("-0.0", "mm", 0.0, Dimension.LENGTH),
    ],
)
def test_a_number_takes_its_unit(cell: str, unit: str, value: float, dimension: Dimension) -> None:
    """The unit of the cell holds, else that beside it, else that of the column, else that of the table."""
    found = row(f"{HEAD}pad/height,{cell},{unit}\n")
    assert (found.value, found.dimension) == (pytest.approx(value, rel=1e-12), dimension)


MISTAKES = [
    ("pad/height,12.5 µm,mm", "reading", "does not go with the unit 'mm'"),
    ("pad/height,12.O5", "reading", "12.O5"),
    ("pad/height,=A1+1", "reading", "=A1+1"),
    ("pad/height,=SUM(A1:A9)", "reading", "nothing is worked out"),
    ("pad/height,nan", "reading", "not a finite number"),
    ("pad/height,1e400", "reading", "too large"),
    ("pad/height,", "reading", "is empty"),
    (",12.5", "dim", "is empty"),
    ("pad/height,5,bananas", "unit", "'bananas' is not a unit"),
    ("pad/height,5,,,25.11.2026", "date", "not a date with the year first"),
    ("pad/height,5,,,2026-02-30", "date", "not a date"),
    ("pad/height,5,,,,hot", "part", "hot"),
    ("pad/height,5,,,,,-500", "scale", "absolute zero"),
    ("pad/height,5,,,,,,,0", "no", "not the number of a repeat"),
    ("pad/height,5,,,,,,,,,160,", "C", "is empty"),
    ("pad/height,5,,,,,,,,,160,90,A7,8", "", "14 cells, and 13 columns"),
    (f"pad/height,5,,,,,,,,,,,{'x' * 300}", "serial", "300 letters"),
    ("pad\x07,5", "dim", "control character"),
    (f"{'x' * 300},5", "dim", "300 letters"),
    (f"pad,5,,,,,,,,{'x' * 3000}", "note", "3000 letters"),
]


@pytest.mark.parametrize(("line", "field", "what"), MISTAKES)
def test_a_mistake_has_its_place_and_remedy(line: str, field: str, what: str) -> None:
    """File, line and column are told, what is wrong, and what would do."""
    found = problem(f"{HEAD}pad/height,12.5\n\n{line}\n")
    assert (found.file, found.line, found.field) == ("pads.csv", 4, field)
    assert what in found.what
    assert found.remedy


def test_all_mistakes_come_at_once_and_sound_lines_are_kept() -> None:
    """Every bad line is told, two mistakes of one line too, and the rest is read."""
    lines = [line for line, *_ in MISTAKES]
    rows, problems = read(HEAD + "pad/height,12.5\n" + "\n".join([*lines, ",5,bananas"]) + "\npad/width,7\n")
    assert [one.what for one in rows] == ["pad/height", "pad/width"]
    assert len(problems) == len(MISTAKES) + 2
    assert [p.line for p in problems] == sorted(p.line or 0 for p in problems)


def test_very_many_mistakes_are_counted() -> None:
    """Beyond two hundred mistakes only their number is told."""
    _, problems = read(HEAD + "pad/height,x\n" * 300)
    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1].what == "has 100 more mistakes"


COMMA = TableMapping((Column("v", "mm"),), constants={"what": "gap"}, delimiter=";", decimal=",")


@pytest.mark.parametrize(
    ("cell", "value"), [("12,003", 12.003), ("-0,5 in.", -12.7), ("7", 7.0), ("3,5 µm", 0.0035)]
)
def test_decimal_commas_where_the_mapping_says_so(cell: str, value: float) -> None:
    """A comma parts the digits of a table with decimal commas."""
    assert row(f"v\n{cell}\n", COMMA).value == pytest.approx(value)


@pytest.mark.parametrize(
    ("cell", "remedy"), [("1.234", "write 1,234"), ("1.234,5", "write 1234,5"), ("1,2,3", "write one number")]
)
def test_a_point_among_commas_is_asked_about(cell: str, remedy: str) -> None:
    """In such a table a point could group thousands, so that it is refused."""
    assert problem(f"v\n{cell}\n", COMMA).remedy.startswith(remedy)


def test_a_decimal_comma_is_not_guessed() -> None:
    """Where the mapping has a decimal point, a comma in a number is a mistake."""
    mapping = TableMapping((Column("v", "mm"),), constants={"what": "gap"}, delimiter=";")
    assert "decimal mark here is a point" in problem("v\n12,5\n", mapping).what


def test_commas_may_part_cells_and_digits_in_quotes() -> None:
    """In quotes a decimal comma is safe from the commas between cells; without them the line is too long."""
    mapping = TableMapping((Column("v", "mm"),), {"what": Column("d")}, decimal=",")
    assert row('d,v\ngap,"12,5"\n', mapping).value == 12.5
    assert "3 cells, and 2 columns" in problem("d,v\ngap,12,5\n", mapping).what


def test_columns_of_repeats() -> None:
    """Three columns of values are three readings, numbered; an empty one is left out."""
    runs = tuple(Column(f"run {n}", "µm") for n in (1, 2, 3))
    mapping = TableMapping(runs, axes={"X": Column("X")}, constants={"what": "X straight in Y"})
    rows, problems = read("X,run 1,run 2,run 3\n0,0,0.5,0\n40,1,,1.5\n", mapping)
    assert problems == ()
    assert [(r.position["X"], r.repeat, r.value) for r in rows] == [
        (0, 1, 0.0), (0, 2, 0.0005), (0, 3, 0.0), (40, 1, 0.001), (40, 3, 0.0015),
    ]  # fmt: skip


def test_columns_by_number_where_there_are_no_headings() -> None:
    """A bare list of numbers is read by the numbers of its columns."""
    mapping = TableMapping((Column(2, "µm"),), axes={"X": Column(1)}, constants={"what": "sweep"}, header=0)
    rows, problems = read("0,1.5\n40,2.5\n", mapping)
    assert problems == ()
    assert [(r.line, r.position["X"], r.value) for r in rows] == [(1, 0, 0.0015), (2, 40, 0.0025)]
    assert problem("0,x\n", mapping).field == "column 2"
    assert "there is no column 2" in problem("0\n", mapping).what


def test_constants_fill_what_is_not_in_the_table() -> None:
    """Gauge, unit and date may hold for all lines; a cell that is filled goes before."""
    fixed = {"what": "gap", "gauge": "tenths", "unit": "thou", "date": "11/25/2026"}
    mapping = TableMapping((Column("v"),), {"gauge": Column("g")}, constants=fixed, dates="month first")
    rows, _ = read("v,g\n5,\n5,depth gauge\n", mapping)
    assert [(r.gauge, r.value, r.date) for r in rows] == [
        ("tenths", 0.127, date(2026, 11, 25)),
        ("depth gauge", 0.127, date(2026, 11, 25)),
    ]


@pytest.mark.parametrize(
    ("dates", "text"),
    [("year first", "2026/11/05"), ("day first", "5.11.2026"), ("month first", "11/5/2026")],
)
def test_dates_as_the_mapping_says(dates: str, text: str) -> None:
    """The fifth of November, in three orders."""
    mapping = TableMapping(
        (Column("v", "mm"),), {"date": Column("t")}, constants={"what": "gap"}, dates=dates
    )  # type: ignore[arg-type]
    assert row(f"v,t\n5,{text}\n", mapping).date == date(2026, 11, 5)


ENCODED = "dim;Länge\r\npad/height;12,5 µm\r\n"
GERMAN = TableMapping((Column("Länge"),), {"what": Column("dim")}, delimiter=";", decimal=",")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_files_in_each_encoding(tmp_path: Path, encoding: str) -> None:
    """With or without a mark at its start, with the line ends of any machine, the file is read."""
    path = tmp_path / "pads.csv"
    path.write_bytes(ENCODED.encode(encoding))
    name = "latin-1" if encoding == "latin-1" else "utf-8"
    mapping = TableMapping.from_dict(GERMAN.to_dict() | {"encoding": name})
    rows, problems = read_table(path, mapping)
    assert problems == ()
    assert rows[0].value == pytest.approx(0.0125)
    guess = propose(path)
    assert guess.mapping is None or guess.mapping.delimiter == ";"


def test_a_wrong_encoding_is_told() -> None:
    """Bytes that are not of the encoding are told with their line, and nothing is read."""
    rows, problems = read_table(ENCODED.encode("latin-1"), GERMAN, file="a.csv")
    assert rows == ()
    assert (problems[0].line, problems[0].file) == (1, "a.csv")
    assert "is not utf-8 text" in problems[0].what
    assert "latin-1" in problems[0].remedy


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ("", "is empty"),
        ("\n \n", "is empty"),
        ("dim,v\n" + "a,1\n" * MOST_LINES, "has over 100000 lines"),
        (b" " * (MOST_BYTES + 1), "is over 5 MB"),
        (" " * (MOST_BYTES + 1), "is over 5 MB"),
        ('dim,v\npad,"12\n', "cannot be parted into cells"),
        ("dim,w\npad,1\n", "there is no column 'v'"),
        ("dim,v,V\npad,1,2\n", "two columns are called 'v'"),
        (Path("nowhere.csv"), "cannot be opened"),
    ],
)
def test_a_table_that_cannot_be_read_at_all(source: str | bytes | Path, what: str) -> None:
    """One problem says why."""
    rows, problems = read_table(source, TableMapping((Column("v", "mm"),), {"what": Column("dim")}))
    assert rows == ()
    assert len(problems) == 1
    assert what in problems[0].what


def test_what_is_measured_must_be_said() -> None:
    """A table that names nothing needs a name for all of it."""
    assert "no column says what" in problem("v\n1\n", TableMapping((Column("v", "mm"),))).what


def test_a_line_in_quotes_keeps_its_number() -> None:
    """A note over two lines moves the lines below it, and their numbers are still those of the file."""
    found = problem(HEAD + 'pad/height,5,,,,,,,,"two\nlines"\npad/height,x\n')
    assert found.line == 4


def test_a_value_without_any_unit_is_refused() -> None:
    """No unit is guessed."""
    mapping = TableMapping((Column("v"),), constants={"what": "gap"})
    assert "has no unit" in problem("v\n5\n", mapping).what


# ------------------------------------------------------------------------------------------- remembering and guessing


def test_a_mapping_is_remembered_as_json() -> None:
    """What was written as JSON is the same mapping when read."""
    text = json.dumps(FULL.to_dict(), ensure_ascii=False)
    assert TableMapping.from_dict(json.loads(text)) == FULL


@pytest.mark.parametrize(
    "change",
    [
        {"values": []},
        {"values": [{"name": "v"}]},
        {"values": [{"heading": "v", "unit": "kg"}]},
        {"values": [{"heading": ["v"]}]},
        {"columns": {"colour": {"heading": "c"}}},
        {"columns": {"part_temperature": {"heading": "t", "unit": "mm"}}},
        {"axes": {"1": {"heading": "x"}}},
        {"axes": {"C": {"heading": "c", "unit": "mm"}}},
        {"constants": {"who": 5}},
        {"delimiter": ";;"},
        {"delimiter": 5},
        {"decimal": "-"},
        {"dates": "any"},
        {"encoding": "ebcdic"},
        {"header": 0},
        {"header": "1"},
        {"unit": "kg"},
        {"position_unit": "deg"},
        {"unknown": 1},
    ],
)
def test_a_mapping_that_makes_no_sense_is_refused(change: dict[str, object]) -> None:
    """A mapping is checked whole when it is made, and not at its thousandth line."""
    with pytest.raises(RequestError):
        TableMapping.from_dict(FULL.to_dict() | change)
    with pytest.raises(RequestError):
        TableMapping.from_dict({})


def guessed(text: str | bytes) -> tuple[Proposal, TableMapping]:
    """A guess that found values."""
    found = propose(text)
    assert found.mapping is not None
    return found, found.mapping


def test_the_headings_of_the_trade_are_known() -> None:
    """A tab-parted American list below two lines of title is understood, and read as guessed."""
    text = (
        "Job 12\t\t\t\t\n\nDate\tInspector\tCharacteristic\tActual [in]\tTemp (degF)\tFixture\n"
        "11/25/2026\tJH\tpad/height\t1.5001\t70\t3\n"
    )
    found, mapping = guessed(text)
    assert (mapping.header, mapping.delimiter, mapping.dates) == (3, "\t", "month first")
    assert found.unassigned == ("Fixture",)
    assert not found.units_missing
    only = row(text, mapping)
    assert (only.what, only.who, only.date) == ("pad/height", "JH", date(2026, 11, 25))
    assert only.value == pytest.approx(38.10254)
    assert only.part_temperature == pytest.approx(21.11, abs=0.005)


@pytest.mark.parametrize(
    ("head", "item", "what"),
    [
        ("Serial no;Feature;Value", "Serial no", "Feature"),
        ("S/N;Item;Value", "S/N", "Item"),
        ("Item;Serial;Value", "Serial", "Item"),
        ("Item;Feature;Value", "Item", "Feature"),
        ("Item;Feature;Serial;Value", "Serial", "Feature"),
        ("Item;Value", None, "Item"),
        ("Serial;Value", "Serial", None),
    ],
)
def test_serials_of_items_are_seen(head: str, item: str | None, what: str | None) -> None:
    """'Item' is what is measured where no other heading says that; beside one that does it is the serial."""
    _, mapping = guessed(f"{head}\n{'A1;' * head.count(';')}5\n")
    found = {key: column.heading for key, column in mapping.columns.items()}
    assert (found.get("item"), found.get("what")) == (item, what)


def test_runs_positions_and_decimal_commas_are_seen() -> None:
    """A sweep in three runs with decimal commas is understood; its unit has to be asked for."""
    found, mapping = guessed("X position;Run 1;Run 2;Run 3\n0;1,5;1,6;1,4\n40;2,5;2,4;2,6\n")
    assert [one.heading for one in mapping.values] == ["Run 1", "Run 2", "Run 3"]
    assert (list(mapping.axes), mapping.decimal, mapping.delimiter) == (["X"], ",", ";")
    assert found.units_missing


def test_decimal_commas_between_commas() -> None:
    """Quoted decimal commas are seen between commas that part cells."""
    _, mapping = guessed('Dim,Value\ngap,"12,5"\nslot,"7,25"\n')
    assert (mapping.delimiter, mapping.decimal) == (",", ",")


def test_old_files_are_guessed_as_latin() -> None:
    """Bytes that are no UTF-8 are taken for latin-1, and UTF-16 is told by its zeros."""
    assert guessed("Dim;Value (µm)\ngap;5\n".encode("latin-1"))[1].encoding == "latin-1"
    assert guessed("Dim;Value (µm)\ngap;5\n".encode("utf-16-le"))[1].encoding == "utf-16"
    assert guessed("Dim;Value (µm)\ngap;5\n".encode("utf-16"))[1].values[0].unit == "µm"


def test_a_table_without_values_proposes_nothing() -> None:
    """Where no heading speaks of values, the headings are handed back, and no guess is made."""
    found = propose("colour,weight\nred,5\n")
    assert (found.mapping, found.headings, found.units_missing) == (None, ("colour", "weight"), True)
    with pytest.raises(RequestError, match="empty"):
        propose("")


@given(st.text(max_size=200) | st.binary(max_size=200))
def test_no_text_breaks_the_reading(text: str | bytes) -> None:
    """Whatever is thrown at it, reading ends in rows and problems, and guessing in a proposal or a refusal."""
    mapping = TableMapping((Column(1, "mm"),), constants={"what": "gap"}, header=0)
    rows, problems = read_table(text, mapping)
    assert all(isinstance(one, Row) for one in rows)
    assert all(one.what and one.remedy for one in problems)
    try:
        found = propose(text)
    except RequestError:
        return
    if found.mapping is not None:
        read_table(text, found.mapping)


@given(
    st.lists(
        st.lists(st.sampled_from([*'12.,-e "=/;', "mm", "µm"]), max_size=6).map("".join),
        min_size=1,
        max_size=6,
    )
)
def test_each_line_is_read_or_told(cells: list[str]) -> None:
    """No line that holds anything vanishes: it gives a reading or a problem with its number."""
    text = "v\n" + "".join('"' + cell.replace('"', '""') + '"\n' for cell in cells)
    rows, problems = read_table(text, TableMapping((Column("v", "mm"),), constants={"what": "gap"}))
    held = {n for n, cell in enumerate(cells, 2) if cell.strip()}
    assert {r.line for r in rows} | {p.line for p in problems} == held
    assert not {r.line for r in rows} & {p.line for p in problems}


def test_a_mapping_from_before_serials_still_reads() -> None:
    """What a book remembers from before items had a column of their own is still a mapping."""
    kept = {"values": [{"heading": "v", "unit": "mm"}], "columns": {"what": {"heading": "dim", "unit": None}}}
    assert row("dim,v\npad/height,5\n", TableMapping.from_dict(kept)).item == ""


def test_a_heading_that_is_named_is_read_like_one_that_was_guessed() -> None:
    """A heading that nobody would take for values, once named, brings its unit, and the table its decimal commas."""
    text = "Serial;Mean travel (µm);Result\nA6;3;yes\nA7;-1,5;no\n"
    found = propose(text, values=["mean travel (µm)"]).mapping
    assert found is not None
    assert found.values == (Column("Mean travel (µm)", "µm"),)
    assert (found.delimiter, found.decimal) == (";", ",")
    other = propose(text, values=["Length"]).mapping  # told as missing where the table is read
    assert other is not None
    assert other.values == (Column("Result"),)


ARCSEC = 4.84813681109536e-06
"""One second of arc, rad: pi / 648000."""


@pytest.mark.parametrize(
    ("cell", "unit", "seconds", "kept_in"),
    [
        ("0° 0' 17\"", "", 17, "arcsec"),
        ("0° 0' 17\"", "deg", 17, "deg"),
        ("-0° 1' 0,5\"", "arcmin", -60.5, "arcmin"),
        ("0 deg 0 min 17,5 s", "", 17.5, "arcsec"),
    ],
)
def test_cells_in_degrees_minutes_and_seconds(cell: str, unit: str, seconds: float, kept_in: str) -> None:
    """An angle in parts goes with any unit of angle beside it, and with decimal commas."""
    mapping = TableMapping(
        (Column("v"),), {"unit": Column("u")}, constants={"what": "tram"}, delimiter=";", decimal=","
    )
    quoted = cell.replace('"', '""')
    found = row(f'v;u\n"{quoted}";{unit}\n', mapping)
    assert (found.value, found.unit) == (pytest.approx(seconds * ARCSEC, rel=1e-12), kept_in)
    assert found.dimension is Dimension.ANGLE


@pytest.mark.parametrize(
    ("cell", "unit", "what"),
    [
        ("5' 6\"", "in", "does not go with the unit 'in'"),
        ("0° 0' 17\"", "mm", "does not go with the unit 'mm'"),
        ("0° 75'", "", "60 minutes or more"),
        ("0° 0' 1,5,5\"", "arcsec", "two commas"),
    ],
)
def test_cells_that_are_no_angle(cell: str, unit: str, what: str) -> None:
    """Feet and inches are not taken for minutes and seconds, and an angle is not taken beside a unit of length."""
    mapping = TableMapping(
        (Column("v"),), {"unit": Column("u")}, constants={"what": "tram"}, delimiter=";", decimal=","
    )
    quoted = cell.replace('"', '""')
    assert what in problem(f'v;u\n"{quoted}";{unit}\n', mapping).what
