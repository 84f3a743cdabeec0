"""A table of raw readings at the bench: read in bounds as the command line reads it, and put into the form."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsers import Served, Window, finished
from loopwright.errors import RequestError
from loopwright.studies.evaluating import kind_of, tried
from loopwright.studies.evaluating_tables import TableRead, read_columns
from loopwright.web.limited import limited
from loopwright.web.table_sent import raw_columns
from loopwright.web.views import bench_evaluate as views
from loopwright.web.views import bench_evaluate_table as table_views
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
READER = Reader("Ada")
HEIGHTS = (0, 1.5, 2.5, 2, 3, 1, 0.5, -1, 0)
SWEEP = "Ort [mm];Uhr (µm);Bemerkung\n" + "".join(
    f"{100 * place};{str(height).replace('.', ',')};<b>x</b>\n" for place, height in enumerate(HEIGHTS)
)
"""As a sheet for a decimal comma writes it, with headings that the evaluation does not know."""
UNITLESS = "position;height\n0;1\n100;2\n200;1\n"
SAID = {"position": "Ort [mm]", "height": "Uhr (µm)"}


@pytest.fixture(scope="module")
def work(demo_archive: Path) -> Iterator[Work]:
    """The book of the invented history, to be looked at."""
    held = Work(str(demo_archive))
    yield held
    held.close()


def sent(
    text: str, tmp_path: Path, said: dict[str, str], known: dict[str, object] | None = None
) -> TableRead:
    """A table as the page has it read."""
    path = tmp_path / "sent"
    path.write_text(text, "utf-8")
    return finished(limited(raw_columns, str(path), "straightness", said, known, "way.csv"))


def in_form(markup: str, label: str) -> str:
    """What stands in a column of the form."""
    return markup.partition(f'id="f-column-{label}"')[2].partition(">")[2].partition("</textarea>")[0]


def test_its_columns_stand_in_the_form_as_the_command_line_reads_them(work: Work, tmp_path: Path) -> None:
    """With their units; a decimal comma becomes a point; what is worked out of both is one and the same."""
    found = sent(SWEEP, tmp_path, SAID)
    assert (found.problems, found.unused) == ((), ("Bemerkung",))
    form = str(views.asking(work, READER, "straightness", False, found, 1))
    assert in_form(form, "height") == "\n".join(str(height) for height in HEIGHTS)
    fields = {
        "column/position": in_form(form, "position"),
        "unit/position": "mm",
        "column/height": in_form(form, "height"),
        "unit/height": "µm",
        "u": "0.5 µm",
    }
    assert re.search(r'<input[^>]*name="unit/height"[^>]*value="µm"', form)
    typed, _ = tried(views.given_of(fields, "straightness"), views._shop(work, READER))
    read = read_columns(SWEEP, kind_of("straightness"), said=type(found.columns)(SAID)).given
    table, _ = tried(
        type(read)(read.kind, read.columns, units=read.units, u="0.5 µm", decimal=","),
        views._shop(work, READER),
    )
    assert typed is not None
    assert table is not None
    assert [one.value for one in typed.results] == [one.value for one in table.results]


def test_a_remark_does_not_make_a_line_of_numbers_one_of_headings(tmp_path: Path) -> None:
    """'x' is a name of a position; the first line is taken for the headings all the same."""
    found = sent(SWEEP.replace("<b>x</b>", "x"), tmp_path, {})
    assert [(problem.field, problem.line) for problem in found.problems] == [("position", 1), ("height", 1)]


def test_what_cannot_be_used_is_told_line_by_line(work: Work, tmp_path: Path) -> None:
    """Nothing is put into the form then; markup of a table is text."""
    found = sent(SWEEP.replace("<b>", "<script>"), tmp_path, {})
    assert {problem.field for problem in found.problems} >= {"height"}
    told = str(table_views.taken(work, READER, "straightness", found))
    assert say("evaluate.table_wrong") in told
    assert "<script>" not in told
    assert "Ort [mm]" in told


def test_places_that_stand_evenly_need_not_be_in_it(tmp_path: Path) -> None:
    """They are typed in the form; a wrong name for them is still told."""
    alone = "Dial (µm)\n0\n1.5\n2\n"
    assert sent(alone, tmp_path, {"height": "Dial (µm)"}).problems == ()
    wrong = sent(alone, tmp_path, {"height": "Dial (µm)", "position": "Pos"})
    assert [problem.field for problem in wrong.problems] == ["position"]


def test_readings_without_a_unit_ask_for_it(work: Work, tmp_path: Path) -> None:
    """Thou taken for µm would go unseen; places have the unit of the build."""
    form = str(views.asking(work, READER, "straightness", False, sent(UNITLESS, tmp_path, {}), 1))
    assert re.search(r'<input[^>]*name="unit/position"[^>]*value="mm"', form)
    (unit,) = re.findall(r'<input[^>]*name="unit/height"[^>]*>', form)
    assert "value=" not in unit
    typed = {"column/position": "0\n100\n200", "column/height": "1\n2\n1", "u": "0.5 µm"}
    _, problems = tried(views.given_of(typed, "straightness"), views._shop(work, READER))
    assert "unit" in problems[0].what


def test_columns_of_an_earlier_table_are_tried(tmp_path: Path) -> None:
    """And left aside where they do not fit, or are none."""
    assert sent(SWEEP, tmp_path, {}, {"headings": SAID, "units": {}}).problems == ()
    for known in ({"headings": {"height": "Skala"}, "units": {}}, {"columns": 3}):
        plain = sent("position;height\n0;1\n100;2\n", tmp_path, {}, known)
        assert plain.problems == ()


def test_too_large_a_table_is_refused(tmp_path: Path) -> None:
    """One with more readings than an evaluation takes."""
    many = "position;height\n" + "".join(f"{place};1\n" for place in range(5001))
    assert "has 5001 readings" in sent(many, tmp_path, {}).problems[0].what


def test_who_may_only_read_is_not_asked_for_a_table(work: Work) -> None:
    """An evaluation that is not there is refused."""
    assert table_views.offering(work, Reader(role="read"), "straightness") == ""
    with pytest.raises(RequestError):
        table_views.offering(work, READER, "straightnes")


def test_a_table_is_evaluated_in_the_browser(shown: Served, window: Windows, tmp_path: Path) -> None:
    """Sent, its columns said, worked out; what was typed before makes way; and it fits a telephone."""
    file = tmp_path / "way.csv"
    file.write_text(SWEEP, "utf-8")
    one = window(390)
    page = one.page
    page.goto(f"{shown.address}/bench/evaluate/straightness")
    page.get_by_label("height", exact=True).first.fill("7\n7")
    page.get_by_text(say("evaluate.table")).click()
    page.get_by_label(say("evaluate.table_file"), exact=True).set_input_files(file)
    page.get_by_role("button", name=say("evaluate.table_send")).click()
    page.get_by_text(say("evaluate.table_wrong")).wait_for()
    expect(page.locator("#f-column-height")).to_have_value("7\n7")
    columns = page.locator("#evaluate-columns")
    columns.get_by_label("position", exact=True).fill("Ort [mm]")
    columns.get_by_label("height", exact=True).fill("Uhr (µm)")
    columns.get_by_role("button", name=say("evaluate.table_again")).click()
    page.get_by_text(plural("evaluate.table_taken", len(HEIGHTS))).wait_for()
    expect(page.locator("#f-column-height")).to_have_value("\n".join(str(height) for height in HEIGHTS))
    page.get_by_label("Read with").select_option("micron indicator")
    page.get_by_role("button", name=say("evaluate.do")).click()
    page.wait_for_selector(".evaluate-found .figure")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    one.is_clean()
