"""Raw readings from a table: columns by their headings, units in brackets, every bad cell with its line."""

from pathlib import Path

import pytest

from loopwright.errors import Problem, RequestError
from loopwright.studies.evaluating import kind_of, tried
from loopwright.studies.evaluating_forms import Given
from loopwright.studies.evaluating_tables import Columns, TableRead, read_columns

STRAIGHT = kind_of("straightness")


def read(text: str, kind: str = "straightness", **more: object) -> TableRead:
    """A table of one evaluation."""
    return read_columns(text, kind_of(kind), file="way.csv", **more)  # type: ignore[arg-type]


def with_u(found: TableRead) -> Given:
    """What stands in a table, with what one reading is worth."""
    return Given(**{**vars(found.given), "u": "1 µm"})


@pytest.mark.parametrize(
    "text",
    [
        "Position [mm],Height [µm]\n0,0\n100,1.5\n200,0\n",
        "POS (mm);Dial (um)\n0;0\n100;1,5\n200;0\n",
        "sweep of the long way\n\nx [mm]\treading [µm]\tnote\n0\t0\t\n100\t1.5\tgood\n200\t0\t\n",
        "Height [mm],x\n0,0 mm\n0.0015,100 mm\n0,200 mm\n",
        "height,position\n0 µm,0\n1.5 µm,100\n0 µm,200\n",
    ],
)
def test_headings_are_found_however_they_are_written(text: str) -> None:
    """Capitals, other words, brackets, tabs, semicolons with decimal commas, a title line: the same three readings."""
    found = read(text)
    assert found.problems == ()
    evaluation, problems = tried(with_u(found))
    assert problems == ()
    assert evaluation is not None
    assert evaluation.tables[0].rows[1][:2] == (pytest.approx(100), pytest.approx(1.5e-3))
    assert evaluation.given.file == "way.csv"


def test_a_file_is_named_in_its_mistakes(tmp_path: Path) -> None:
    """Cells, lines that are too long and units that do not fit: all at once, with file, line and heading."""
    file = tmp_path / "way.csv"
    file.write_text("Pos [mm],Dial [µm]\n0,0\n1OO,1\n200\n300,1,5\n", "utf-8")
    found = read_columns(file, STRAIGHT)
    assert [(p.file, p.line, p.field) for p in found.problems] == [("way.csv", 5, "")]
    _, problems = tried(with_u(found))
    assert [(p.file, p.line, p.field) for p in problems] == [
        ("way.csv", 3, "Pos [mm]"),
        ("way.csv", 4, "Dial [µm]"),
    ]


@pytest.mark.parametrize(
    ("text", "field", "told"),
    [
        ("a,b\n1,2\n", "position", "no column looks like position"),
        ("x [arcsec],h [µm]\n1,2\n", "x [arcsec]", "'arcsec' is not a unit of length"),
        ("x,x,h [µm]\n1,2,3\n", "position", "no column looks like position"),
        ("", "", "the table is empty"),
    ],
)
def test_what_cannot_be_found_is_told_with_the_headings(text: str, field: str, told: str) -> None:
    """A column that is not there, or is there twice, is named; so is a table without anything in it."""
    problems = read(text).problems
    (problem,) = [one for one in problems if one.field == field]
    assert told in problem.what
    assert isinstance(problem, Problem)


def test_what_is_said_of_the_columns_counts() -> None:
    """A heading, a heading without its unit or a number; 'there is no column' with the headings that there are."""
    text = "Run A [µm],Place\n0,0\n1,100\n2,200\n"
    for heading in ("run a [µm]", "Run A", "1"):
        found = read(text, said=Columns({"height": heading}, {"position": "mm"}))
        assert found.problems == ()
        assert found.columns.headings == {"height": "Run A [µm]", "position": "Place"}
        assert found.columns.units == {"height": "µm", "position": "mm"}
    (problem,) = read(text, said=Columns({"height": "Run B"})).problems
    assert (problem.field, problem.remedy) == ("height", "the headings are 'Run A [µm]', 'Place'")


def test_a_table_of_bare_numbers_has_its_columns_in_order() -> None:
    """Two columns without headings are position and height; three are one too many to guess."""
    found = read("0,0\n100,1.5\n200,0\n", said=Columns(units={"height": "µm"}))
    assert found.problems == ()
    assert found.given.columns == {"position": ("0", "100", "200"), "height": ("0", "1.5", "0")}
    assert found.columns.headings == {"position": "1", "height": "2"}
    assert len(read("0,0,1\n100,1.5,1\n").problems) == 2


def test_names_come_before_other_words() -> None:
    """In a table of a surface 'z' is the height; of a line it is where the line was read."""
    text = "x [mm],y [mm],z [µm]\n" + "".join(f"{x},{y},{x * y}\n" for x in (0, 1) for y in (0, 1))
    assert read(text, "flatness").columns.headings == {"x": "x [mm]", "y": "y [mm]", "height": "z [µm]"}
    assert read("z [mm],reading [µm]\n0,0\n1,1\n2,2\n").columns.headings["position"] == "z [mm]"


def test_lines_without_any_reading_are_passed_over() -> None:
    """A line that has something in other columns only is no reading; an empty cell of a datum is none either."""
    text = "line,x [mm],y [mm],angle [µm/m],note\nA,0,0,,\n,,,,tea\nA,100,0,2,\n"
    found = read(text, "plate")
    assert found.given.columns["angle"] == ("", "2")
    assert found.given.lines == (2, 4)
    assert found.unused == ("note",)


def test_columns_told_elsewhere_need_not_be_there() -> None:
    """Places that stand evenly are not looked for."""
    assert read("dial [µm]\n0\n1\n2\n", elsewhere=["position"]).problems == ()
    assert [one.field for one in read("dial [µm]\n0\n1\n2\n").problems] == ["position"]


def test_the_columns_are_remembered_as_json() -> None:
    """What ``to_dict`` writes is read back; anything else is refused."""
    said = Columns({"height": "Dial"}, {"height": "µm"})
    assert Columns.from_dict(said.to_dict()) == said
    assert said.over(Columns({"height": "Other", "position": "Pos"})).headings == {
        "height": "Dial",
        "position": "Pos",
    }
    for wrong in ({}, {"headings": [], "units": {}}, {"headings": {"a": 1}, "units": {}}):
        with pytest.raises(RequestError, match="not the columns"):
            Columns.from_dict(wrong)
