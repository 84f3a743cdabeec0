"""The commands about a book, as a person and as another program use them; on an invented machine."""

import io
import json
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from loopwright.book import open_book
from loopwright.buildfile import examples
from loopwright.cli import BUILTIN, COMMANDS, group, typing_in
from loopwright.cli.faults import guarded
from loopwright.cli.layout import from_to
from loopwright.model.records import ColumnsKept, Concession, Reading, State


@dataclass
class Done:
    """What a command printed, and its status."""

    code: int
    out: str
    err: str


def run(*words: str, lines: str = "") -> Done:
    """Runs a command in this process, as the program would."""
    runner = CliRunner()
    with runner.isolation(input=lines) as streams:
        try:
            guarded(lambda: group(list(words), standalone_mode=False, prog_name="loopwright"))
            code: object = 0
        except SystemExit as end:
            code = end.code
        return Done(int(str(code or 0)), *(s.getvalue().decode("utf-8") for s in streams[:2]))


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the clock-plate machine and its book, and Ada at the bench."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    monkeypatch.delenv("LOOPWRIGHT_BOOK", raising=False)
    (tmp_path / "drill.yaml").write_text(examples.text("clock-plate"), encoding="utf-8")
    done = run("book", "new", "drill.yaml")
    assert done.code == 0, done.err
    return tmp_path


@pytest.fixture
def at_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody sits in front of it."""
    monkeypatch.setattr(typing_in, "at_terminal", lambda: True)


def entries(kind: type | None = None) -> list[object]:
    """Records of the book, or those of one kind."""
    with open_book("drill.book") as book:
        found = [entry.record for entry in book.standing()]
    return [one for one in found if kind is None or isinstance(one, kind)]


def test_every_command_is_there_with_help_and_an_example() -> None:
    """Every command of the list has help; those about a book show how they are typed."""
    for name in COMMANDS:
        done = run(name, "--help")
        assert done.code == 0, name
    for words in (
        ["record"],
        ["standing"],
        ["next"],
        ["fitup", "set"],
        ["book", "save"],
        ["import-readings"],
    ):
        assert "Examples:\n" in run(*words, "--help").out, words
    assert set(BUILTIN) <= set(COMMANDS)


def test_the_book_is_the_only_one_here(shop: Path) -> None:
    """Without --book the only book of the folder is meant; with none or two it is asked for."""
    assert "state 1" in run("book", "show").out
    assert run("book", "backup", "second.book").code == 0
    done = run("standing")
    assert (done.code, "2 books" in done.err, "--book" in done.err) == (1, True, True)
    os.remove("second.book")
    os.rename("drill.book", "else.db")
    done = run("standing")
    assert done.code == 1
    assert "loopwright book new" in done.err


def test_book_show_save_verify_and_move(shop: Path) -> None:
    """A book is shown, given a new revision, looked through, exported and made again."""
    assert json.loads(run("book", "show", "--json").out)["kinds"] == {"revision": 1, "state": 1}
    text = (shop / "drill.yaml").read_text(encoding="utf-8")
    assert "nothing was saved" in run("book", "save", "drill.yaml").out
    (shop / "drill.yaml").write_text(text.replace("limit: 15 µm", "limit: 12 µm"), encoding="utf-8")
    done = run("book", "save", "drill.yaml", "--why", "finer wheels")
    assert done.code == 0, done.err
    assert "+     limit: 12 µm" in done.out
    assert "hole position" in done.out
    assert "sound" in run("book", "verify").out
    assert run("book", "export", "all.txt").code == 0
    assert run("book", "import", "all.txt", "copy.book").code == 0
    assert json.loads(run("book", "show", "-b", "copy.book", "--json").out)["entries"] == 3
    (shop / "drill.yaml").write_text("name: [", encoding="utf-8")
    done = run("book", "save", "drill.yaml", "-b", "drill.book")
    assert done.code == 1
    assert "drill.yaml:1" in done.err


def test_a_dim_is_recorded_judged_and_shown_at_the_tool(shop: Path) -> None:
    """A reading of a dim comes back with its verdict, its uncertainty, its surprise and what it brings."""
    done = run("record", "column/Z_shoulder", "50.003,50.004", "--gauge", "length gauge", "--budget")
    assert done.code == 0, done.err
    for words in ("conforming", "49.98 … 50.02 mm", "expanded", "repeatability", "surprise", "hole position"):
        assert words in done.out, words
    (reading,) = entries(Reading)
    assert reading.typed == (("50.003", "50.004"),)


def test_a_value_below_zero_is_no_option(shop: Path) -> None:
    """'-3' is a value, and is kept as it was typed."""
    done = run("record", "spindle tram front to back", "-3", "--unit", "arcsec", "--json")
    assert done.code == 0, done.err
    data = json.loads(done.out)
    assert data["format"] == "loopwright-recorded/1"
    assert data["reading"]["values"] == [pytest.approx(-3)]
    assert entries(Reading)[0].typed == (("-3",),)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("spindle tram front to bac", "3"), "did you mean 'spindle tram front to back'"),
        (("spindle tram front to back", "3"), "has no unit"),
        (("column/Z_shoulder", "50"), "name a gauge"),
        (("column/Z_shoulder", "fifty", "--gauge", "length gauge"), "fifty"),
        (("X straight in Y", "1", "2", "--unit", "µm"), "9 poses and 2 values"),
        (("X straight in Y", "1", "--unit", "µm", "--at", "X"), "--at X=0,40,80"),
        (("column/Z_shoulder", "50", "--gauge", "length gauge", "--taken", "yesterday"), "2026-11-25"),
        (("column/Z_shoulder", "50", "--gauge", "tram bar"), "reads angle"),
        (("column/Z_shoulder", "50", "--gauge", "length gauge", "--instead-of", "77"), "no entry 77"),
    ],
)
def test_what_cannot_be_recorded_is_told_with_a_remedy(shop: Path, words: tuple[str, ...], told: str) -> None:
    """A reading that cannot be entered ends with status 1, says what would do, and enters nothing."""
    done = run("record", *words)
    assert done.code == 1
    assert told in done.err
    assert entries(Reading) == []


def test_a_doubtful_reading_is_not_entered_unless_kept(shop: Path) -> None:
    """Seven standard uncertainties off is asked about; --keep enters it, and marks it as kept."""
    words = ("record", "head_spacer/thickness", "6.021", "--gauge", "length gauge")
    done = run(*words)
    assert done.code == 1
    assert "nothing was entered; repeat with --keep" in done.err
    assert entries(Reading) == []
    done = run(*words, "--keep")
    assert done.code == 0, done.err
    assert "not conforming" in done.out
    assert entries(Reading)[0].kept


@pytest.mark.usefixtures("at_terminal")
def test_what_was_meant_can_be_taken_instead(shop: Path) -> None:
    """At a terminal a slip of the decimal point is offered, and its number enters what was meant."""
    done = run("record", "column/Z_shoulder", "5.0003", "--gauge", "length gauge", lines="1\n")
    assert done.code == 0, done.err
    assert "50.003" in done.err
    (reading,) = entries(Reading)
    assert reading.typed == (("50.003",),)
    assert "typed as 5.0003" in str(reading.note)
    assert run("record", "column/Z_shoulder", "5", "--gauge", "length gauge", lines="c\n").code == 1
    assert len(entries(Reading)) == 1


def test_lines_of_a_gauge_with_a_plug_are_taken(shop: Path) -> None:
    """Values come line by line; 'b' takes the last one back; repeats of a dim end with the lines."""
    lines = "3\n2\nb\n1\n4\n2\n1\n0\n2\n1\n3\n"
    done = run("record", "X straight in Y", "--unit", "µm", lines=lines)
    assert done.code == 0, done.err
    assert "9/9  X 320 mm" in done.err
    assert [repeats[0] for repeats in entries(Reading)[0].typed] == [
        "3",
        "1",
        "4",
        "2",
        "1",
        "0",
        "2",
        "1",
        "3",
    ]
    done = run("record", "pad_FL/height", "--gauge", "length gauge", lines="12.001\n12.002\n\n")
    assert done.code == 0, done.err
    assert entries(Reading)[1].typed == (("12.001", "12.002"),)


def test_too_few_lines_are_told(shop: Path) -> None:
    """Lines that end too early enter nothing."""
    done = run("record", "X straight in Y", lines="3\n2\n")
    assert done.code == 1
    assert "end after 2 values" in done.err
    assert entries(Reading) == []


@pytest.mark.usefixtures("at_terminal")
def test_what_was_typed_is_kept_when_stopped(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C in the middle of a sweep keeps what was typed; the same command goes on from there."""

    class Stopping(io.StringIO):
        """Three lines, then Ctrl-C."""

        def readline(self, *_: object) -> str:  # type: ignore[override]
            line = super().readline()
            if not line:
                raise KeyboardInterrupt
            return line

    values = ["3", "1", "4", "2", "1", "0", "2", "1", "3"]
    with CliRunner().isolation() as streams:
        monkeypatch.setattr(sys, "stdin", Stopping("\n".join([*values[:3], ""])))
        with pytest.raises(SystemExit) as end:
            guarded(lambda: group(["record", "X straight in Y"], standalone_mode=False))
        told = streams[1].getvalue().decode()
    assert end.value.code == 130
    assert "what was typed is kept" in told
    assert entries(Reading) == []
    done = run("record", "X straight in Y", lines="y\nabc\n" + "\n".join(values[3:]) + "\n")
    assert done.code == 0, done.err
    assert "3 values of 'X straight in Y' were typed before" in done.err
    assert "'abc'" in done.err
    assert [repeats[0] for repeats in entries(Reading)[0].typed] == values
    assert list(shop.glob("*typed*")) == []


def test_a_comparison_a_gap_and_an_item_are_recorded(shop: Path) -> None:
    """Two pads against each other, the gap of a closure with a temperature, and a screw on the bench."""
    words = ("--gauge", "length gauge")
    first = run("record", "pad_FL/height", "12.001", "12.000", "--against", "pad_FR/height", *words)
    assert first.code == 0, first.err
    assert run("record", "Y nut spacer", "3.01", "--part-temp", "22 degC ±0.5", *words).code == 0
    third = run("record", "ball screw/mean travel", "6 µm", "--item", "A7", *words)
    assert third.code == 0, third.err
    assert [one.subject for one in entries(Reading)] == ["comparison", "gap", "dim"]


def test_a_correction_and_a_withdrawal_take_a_reading_out(shop: Path) -> None:
    """--instead-of corrects an entry; withdraw takes it out; history marks both."""
    run("record", "column/Z_shoulder", "50.004", "--gauge", "length gauge")
    done = run("record", "column/Z_shoulder", "50.001", "--gauge", "length gauge", "--instead-of", "3")
    assert done.code == 0, done.err
    assert len(entries(Reading)) == 1
    assert run("book", "withdraw", "4", "--why", "probe loose").code == 0
    assert entries(Reading) == []
    told = run("history").out
    assert told.count("[no longer counts]") == 2
    assert "instead of entry 3" in told
    assert "probe loose" in told
    assert run("book", "withdraw", "99", "--why", "x").code == 1


def test_standing_is_the_front_page(shop: Path) -> None:
    """Standing names every target, what is unresolved and three things to do with the command to type."""
    run("record", "spindle tram side to side", "-12", "--unit", "arcsec")
    done = run("standing")
    assert done.code == 0, done.err
    for words in ("hole position", "as designed", "What moved", "unresolved", "Next", "$ loopwright ", "95%"):
        assert words in done.out, words
    data = json.loads(run("standing", "--json").out)
    assert data["format"] == "loopwright-standing/1"
    assert [t["unit"] for t in data["targets"]] == ["µm", "arcsec", "arcsec", "µm"]
    assert run("standing", "--target", "hole positio").code == 1
    done = run("standing", "--state", "7")
    assert (done.code, "states 1 to 1" in done.err) == (1, True)


def test_next_ranks_and_plans(shop: Path) -> None:
    """Next names readings with what they are worth, and a plan for the time there is."""
    names = ("X straight in Y", "spindle tram side to side")
    among = [word for name in names for word in ("--among", name)]
    done = run("next", "--hours", "0.5", "--gauges", *among)
    assert done.code == 0, done.err
    assert "In the time there is" in done.out
    data = json.loads(run("next", "--json", *among).out)
    assert {one["name"] for one in data["readings"]} == set(names)
    assert run("next", "--hours", "1", "--minutes", "3").code == 1
    assert "0 minutes" in run("next", "--minutes", "0").err
    assert run("next", "--among", "nothing").code == 1


def test_fitup_is_planned_stepped_and_set(shop: Path) -> None:
    """The plan lists the steps, a step says what to set with its cautions, set begins a new state."""
    done = run("fitup", "plan", "--quick")
    assert done.code == 0, done.err
    assert "9 grind the" in done.out
    for test in ("spindle tram front to back", "spindle tram side to side"):
        assert run("record", test, "-14" if "back" in test else "2", "--unit", "arcsec").code == 0
    done = run("fitup", "step", "tram")
    assert done.code == 0, done.err
    assert "Caution, weight" in done.out
    assert "loopwright fitup set 'column on base/rear" in done.out
    assert json.loads(run("fitup", "step", "8", "--json").out)["to_set"]
    done = run("fitup", "set", "column on base/rear left=0.01 ±0.001", "--step", "8", "--why", "nose low")
    assert done.code == 0, done.err
    assert "state 2 begins" in done.out
    state = entries(State)[-1]
    assert (state.changes[0].value, state.step) == (0.01, "tram the spindle")
    assert state.changes[0].planned is not None
    assert "state 2" in run("history", "--states").out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("step", "12"), "the steps are"),
        (("set", "column on base/rear left", "--why", "x"), "PATH=VALUE"),
        (("set", "nowhere/at all=1", "--why", "x"), "nothing to set"),
        (("set", "--why", "x"), "nothing was set"),
        (("set", "column on base/rear left=one", "--why", "x"), "one"),
    ],
)
def test_what_cannot_be_set_is_told(shop: Path, words: tuple[str, ...], told: str) -> None:
    """A step or a setting that there is not ends with status 1 and a remedy."""
    done = run("fitup", *words)
    assert done.code == 1
    assert told in done.err


def test_grinding_comes_with_its_caution(shop: Path) -> None:
    """Where a spacer is to be ground, wheel, eyes, magnet and dust are spoken of."""
    from loopwright.cli.fitup_text import GROUND, cautions_for

    words = " ".join(cautions_for([GROUND]))
    for hazard in ("wheel", "guard", "eye protection", "magnet", "dust", "local rules"):
        assert hazard in words


def test_a_part_out_of_tolerance_is_conceded(shop: Path) -> None:
    """Concede shows every way with its chances and enters the decision with them; parts lists the verdict."""
    run("record", "head_spacer/thickness", "6.021", "--gauge", "length gauge", "--keep")
    done = run("concede", "head_spacer")
    assert done.code == 0, done.err
    assert "use as is" in done.out
    assert "remake" in done.out
    done = run(
        "concede", "head_spacer", "--decide", "use as is", "--terms", "spacer only sets the nose height"
    )
    assert done.code == 0, done.err
    (record,) = entries(Concession)
    assert record.dims == ("head_spacer/thickness",)
    assert set(record.chances) == {
        "hole position",
        "spindle square to table, front to back",
        "spindle square to table, side to side",
        "depth of spotting",
    }
    data = json.loads(run("parts", "--json").out)
    assert data["dims"][0]["conformity"]["verdict"] == "not conforming"
    assert data["dims"][0]["concession"] == "use as is"
    assert "not conforming" in run("parts").out
    assert run("concede", "nothing").code == 1
    run("record", "column/Z_shoulder", "50.003", "--gauge", "length gauge")
    assert "nothing has to be conceded" in run("concede", "column", "--decide", "remake").err


def test_items_are_selected_and_put_in(shop: Path) -> None:
    """Of three screws read on the bench the best goes in, as a new state of the machine."""
    for serial, found in (("A1", "9 µm"), ("A2", "1 µm"), ("A3", "-7 µm")):
        run("record", "ball screw/mean travel", found, "--item", serial, "--gauge", "length gauge")
    done = run("select", "ball screw", "--place", "X slide/drive", "--grade", "C5", "--put-in")
    assert done.code == 0, done.err
    assert "X slide/drive: A2" in done.out
    assert entries(State)[-1].changes[0].item == "A2"
    assert json.loads(run("select", "ball screw", "--place", "Y slide/drive", "--json").out)["choices"] == 3
    assert run("select", "belt", "--place", "X slide/drive").code == 1


def test_a_gauge_is_calibrated_and_foil_counted(shop: Path) -> None:
    """Calibration and stock are entered from typed values; wrong ones are told."""
    done = run("book", "calibrate", "micron indicator", "--limit", "1 µm", "--due", "2031-01-01")
    assert done.code == 0, done.err
    assert run("book", "stock", "shim foil", "0.05", "--count", "4", "--std", "1 µm").code == 0
    with open_book("drill.book") as book:
        calibration, stock = (entry.record for entry in book.entries(since=2))
    assert calibration.std == pytest.approx(0.001 / 3**0.5)
    assert (stock.size, stock.count) == (0.05, 4)
    assert run("book", "calibrate", "my thumb").code == 1
    assert "is not a day" in run("book", "calibrate", "micron indicator", "--done", "May").err
    assert run("book", "stock", "shim foil", "0", "--count", "4").code == 1


def test_what_if_enters_nothing(shop: Path) -> None:
    """What-if compares the machine with a changed description and leaves the book as it was."""
    done = run("what-if", "targets/hole position/limit=40 µm", "--target", "hole position")
    assert done.code == 0, done.err
    assert "40 µm" in done.out
    assert len(entries()) == 2
    assert run("what-if", "nowhere=1").code == 1
    assert "PATH=VALUE" in run("what-if", "column/foot_lean").err


def table(*lines: str) -> None:
    """Writes readings.csv."""
    Path("readings.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def test_a_table_is_imported_whole_and_its_columns_are_remembered(shop: Path) -> None:
    """The guess is shown and asked for once; then the book knows the columns; the same table twice is told."""
    table(
        "Feature;Reading (mm);Date;Note",
        "pad_FL/height;12,001;2026-11-20;",
        "pad_FR/height;12,002;2026-11-20;",
        "pad_FR/height;12,003;2026-11-20;",
    )
    done = run("import-readings", "readings.csv", "--gauge", "length gauge")
    assert (done.code, "--yes" in done.err, "'Reading (mm)', in mm" in done.err) == (1, True, True)
    done = run("import-readings", "readings.csv", "--gauge", "length gauge", "--yes")
    assert done.code == 0, done.err
    assert [one.of for one in entries(Reading)] == ["pad_FL/height", "pad_FR/height"]
    assert entries(Reading)[1].typed == (("12.002", "12.003"),)
    assert entries(ColumnsKept)[0].name == "readings"
    done = run("import-readings", "readings.csv", "--gauge", "length gauge")
    assert (done.code, "in the book already, entry" in done.err) == (1, True)
    assert len(entries(Reading)) == 2


def test_every_bad_line_of_a_table_is_told_at_once(shop: Path) -> None:
    """Lines that cannot be read and dims that there are not come together, with file, line and column."""
    table("dim,value", "pad_FL/height,12.001", "pad_FX/height,12.0", "pad_FR/height,12.O")
    done = run("import-readings", "readings.csv", "--unit", "mm", "--gauge", "length gauge", "--yes")
    assert done.code == 1
    for words in ("readings.csv:3", "readings.csv:4  value", "pad_FX/height", "12.O", "nothing was entered"):
        assert words in done.err, words
    assert entries(Reading) == []


def test_doubted_lines_of_a_table_are_asked_about(shop: Path) -> None:
    """A surprising line keeps the whole table out until --keep; --look enters nothing."""
    table("dim,value", "pad_FL/height,12.001", "column/Z_shoulder,5.0003")
    words = ("import-readings", "readings.csv", "--unit", "mm", "--gauge", "length gauge", "--yes")
    done = run(*words)
    assert done.code == 1
    assert "line 3" in done.err
    assert run(*words, "--look").code == 0
    assert entries(Reading) == []
    assert run(*words, "--keep").code == 0
    assert [one.kept for one in entries(Reading)] == [False, True]
    data = json.loads(run(*words, "--look", "--json").out)
    assert [(one["line"], one["entry"]) for one in data["readings"]] == [(2, None), (3, None)]
    assert data["readings"][1]["doubt"]


def test_a_sweep_comes_out_of_a_table_by_its_positions(shop: Path) -> None:
    """Lines of one test are its poses, where they stand."""
    table("test,X,value (µm)", *(f"X straight in Y,{x},{v}" for x, v in zip((0, 160, 320), (1, 0, 1))))
    done = run("import-readings", "readings.csv", "--yes")
    assert done.code == 0, done.err
    (reading,) = entries(Reading)
    assert reading.poses == {"X": (0.0, 160.0, 320.0)}


@pytest.mark.parametrize(
    ("words", "form"),
    [
        (("history", "--states"), "loopwright-history/1"),
        (("what-if", "general_limits=±0.1", "--target", "hole position"), "loopwright-what-if/1"),
        (("parts",), "loopwright-parts/1"),
        (("fitup", "plan", "--quick"), "loopwright-fitup-plan/1"),
        (("concede", "head_spacer", "--decide", "remake"), "loopwright-concession/1"),
        (("fitup", "set", "head_spacer/thickness=6.0", "--why", "ground"), "loopwright-entered/1"),
        (("book", "verify"), "loopwright-book-verified/1"),
    ],
)
def test_answers_are_data_too(shop: Path, words: tuple[str, ...], form: str) -> None:
    """--json prints one JSON document that names its format, and nothing else."""
    run("record", "head_spacer/thickness", "6.021", "--gauge", "length gauge", "--keep")
    done = run(*words, "--json")
    assert done.code == 0, done.err
    assert json.loads(done.out)["format"] == form


def test_others_are_not_overlooked(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What somebody else entered between looking and entering is told, above all about the same dim."""
    from loopwright.studies import recording

    consider: Callable[..., object] = recording.consider
    run("record", "column/Z_shoulder", "50.001", "--gauge", "length gauge")
    (first,) = entries(Reading)

    def interrupted(*given: object) -> object:
        with open_book("drill.book") as book:
            book.append(first, who="Bo")
        return consider(*given)

    monkeypatch.setattr(recording, "consider", interrupted)
    done = run("record", "column/Z_shoulder", "50.003", "--gauge", "length gauge")
    assert done.code == 0, done.err
    assert "4 (Bo)" in done.err
    assert "same thing" in done.err


def test_two_numbers_of_one_unit_share_it() -> None:
    """The unit is written once where both have it, and a number that stays is written once."""
    assert from_to("8.3 µm", "9.0 µm") == "8.3 -> 9.0 µm"
    assert from_to("99 %", "over 99.9 %") == "99 % -> over 99.9 %"
    assert from_to("9.0 µm", "9.0 µm") == "9.0 µm"
