"""loopwright evaluate: tables, options, typed lines, mistakes, JSON, and results entered in a book."""

import io
import json
import sys
from math import pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.optimize import linprog

from commands import run
from loopwright.book import open_book
from loopwright.buildfile import examples
from loopwright.cli import evaluate as command
from loopwright.cli import evaluate_typing, group
from loopwright.cli.faults import guarded
from loopwright.model.records import ColumnsKept, Reading
from loopwright.studies.evaluating import KINDS

U = ("--u", "0.5 µm")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder, and Ada at the bench."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    monkeypatch.delenv("LOOPWRIGHT_BOOK", raising=False)
    return tmp_path


@pytest.fixture
def shop(here: Path) -> Path:
    """A folder with the clock-plate machine and its book."""
    (here / "drill.yaml").write_text(examples.text("clock-plate"), encoding="utf-8")
    done = run("book", "new", "drill.yaml")
    assert done.code == 0, done.err
    return here


@pytest.fixture
def at_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody sits in front of it."""
    for module in (command, evaluate_typing):
        monkeypatch.setattr(module, "at_terminal", lambda: True)


def answer(*words: str, lines: str = "") -> dict[str, Any]:
    """What an evaluation prints as JSON."""
    done = run("evaluate", *words, "--json", lines=lines)
    assert done.code == 0, done.err
    data: dict[str, Any] = json.loads(done.out)
    assert data["format"] == "loopwright-evaluation/1"
    return data


def value(data: dict[str, Any], name: str) -> float:
    """The one result whose name begins so."""
    (one,) = [one for one in data["results"] if one["name"].startswith(name)]
    return float(one["value"])


def entries(kind: type) -> list[Any]:
    """Records of one kind in the book."""
    with open_book("drill.book") as book:
        return [entry.record for entry in book.standing() if isinstance(entry.record, kind)]


def zone(x: np.ndarray, h: np.ndarray) -> float:
    """Width of the minimum zone as the optimum of its linear program."""
    away, one = (x - x.mean()) / np.ptp(x), np.ones(len(x))
    rows = np.vstack([np.stack([-away, -one, -one], axis=1), np.stack([away, one, -one], axis=1)])
    bounds = [(None, None)] * 2 + [(0, None)]
    return float(linprog([0, 0, 2], rows, np.concatenate([-h, h]), bounds=bounds).fun)


def test_straightness_by_three_lines() -> None:
    """Nine readings 0 2 3 5 4 1 -1 2 4: 7.5 µm by the ends, 6.2 by least squares, the zone by a linear program."""
    h = [0, 2, 3, 5, 4, 1, -1, 2, 4]
    data = answer(
        *("straightness", "--every", "100", "--height", ",".join(map(str, h)) + " µm", *U),
        *("--reference", "minimum zone"),
    )
    assert data["results"][0]["name"] == "straightness, minimum zone"
    assert value(data, "straightness, end points") == pytest.approx(7.5)
    assert value(data, "straightness, least squares") == pytest.approx(6.2)
    assert value(data, "straightness, minimum zone") == pytest.approx(
        zone(np.arange(9) * 100.0, np.array(h, float))
    )
    assert data["results"][0]["expanded"] == pytest.approx(2 * data["results"][0]["standard_uncertainty"])


def test_a_level_line_and_abbe() -> None:
    """One step of 10 arcsec over 100 mm rises by 4.848137 µm (SI Brochure, 1 arcsec = π/648 000 rad)."""
    data = answer(
        "level-line", "--angle", "10,0,0 arcsec", "--step", "100 mm", "--u", "1 arcsec", "--unit", "µm"
    )
    assert value(data, "rise") == pytest.approx(4.848137, abs=5e-7)
    assert [row[2] for row in data["tables"][0]["rows"]] == pytest.approx(
        [0, 4.848137, 4.848137, 4.848137], abs=5e-7
    )


def test_a_straightedge_is_told_apart() -> None:
    """0 3 5 4 0 and 0 -1 1 2 0: motion 0 1 3 3 0 and edge 0 2 2 1 0 (Evans, Hocken, Estler, CIRP 45, 1996, p. 617)."""
    data = answer(
        *("straightedge-reversal", "--every", "100", "--reference", "end points", *U),
        *("--first", "0,3,5,4,0 µm", "--second", "0,-1,1,2,0 µm"),
    )
    rows = np.array(data["tables"][0]["rows"], float)
    assert rows[:, 3] == pytest.approx([0, 1, 3, 3, 0], abs=1e-9)
    assert rows[:, 5] == pytest.approx([0, 2, 2, 1, 0], abs=1e-9)
    assert data["readings"] == 10


def test_four_pads_and_their_plane() -> None:
    """Heights 0 10 6 24 at the corners of a rectangle: +2 -2 -2 +2 about the plane (closed form)."""
    data = answer(
        *("flatness", "--x", "0,300,0,300", "--y", "0,0,200,200", "--height", "0,10,6,24 µm", "--u", "1 µm")
    )
    assert [row[3] for row in data["tables"][0]["rows"]] == pytest.approx([2, -2, -2, 2])
    assert value(data, "flatness, least squares") == pytest.approx(4)
    assert data["results"][0]["standard_uncertainty"] == pytest.approx(1)


def test_a_plate_closes_by_what_its_sides_miss() -> None:
    """Four sides of 100 mm that miss each other by 2 µrad: 0.2 µm of closure, 0.05 µm of it on each side (by hand)."""
    data = answer(
        *("plate", "--pattern", "grid", "--length", "100", "--width", "100", "--steps", "1,1,0"),
        *("--zero", "known", "--angle", "10,10,0,2 µm/m", "--u", "1 µm/m"),
    )
    (loop,) = data["closures"]
    assert abs(loop["error"]) == pytest.approx(0.2)
    assert loop["standard_uncertainty"] == pytest.approx(0.2)
    assert value(data, "one reading, as the loops show it") == pytest.approx(1)
    assert value(data, "flatness, least squares") == pytest.approx(0.05)


def test_a_line_parallel_to_its_datum() -> None:
    """6 µm over 300 mm is 20 µrad (elementary)."""
    data = answer(
        *("parallelism", "--position", "0,300", "--datum", "0,0 µm", "--height", "10,16 µm", "--u", "1 µm"),
        *("--unit", "µm/m"),
    )
    assert (value(data, "parallelism"), value(data, "angle")) == pytest.approx((6, 20))


def test_two_rails_roll_a_bridge() -> None:
    """12 µm of height over 300 mm of span roll it by 40 µrad (elementary)."""
    data = answer(
        *("rails", "--position", "0,500", "--first", "0,0 µm", "--second", "0,12 µm", "--span", "300 mm", *U),
        *("--unit", "µm/m"),
    )
    assert value(data, "turn of a bridge") == pytest.approx(40)


def test_a_square_is_told_apart() -> None:
    """+9 and -3 µm over 200 mm: axis 15 µrad, square 30 µrad (Evans, Hocken, Estler; ISO 230-1), signs as stated."""
    data = answer(
        *("squareness-by-reversal", "--axis", "b0z", "--position", "0,200", "--unit", "µm/m", "--u", "1 µm"),
        *("--first", "0,9 µm", "--second", "0,-3 µm"),
    )
    assert value(data, "B0Z") == pytest.approx(15)
    assert value(data, "square:") == pytest.approx(-30)
    one_sweep = answer(
        *("squareness", "--axis", "B0Z", "--position", "0,200", "--reading", "0,9 µm", "--unit", "µm/m"),
        *("--square", "-30 µm/m", "--u-square", "0 µm/m", "--u", "1 µm"),
    )
    assert value(one_sweep, "B0Z") == pytest.approx(45 - 30)


def test_squareness_by_levels_and_by_diagonals() -> None:
    """Means of 12 and 32 µrad differ by 20; 400 by 300 mm out by 20 µrad: diagonals differ by 9.600 µm."""
    data = answer(
        *("squareness-by-levels", "--axis", "A0Z", "--datum", "10,14 µm/m", "--face", "32,32 µm/m"),
        *("--u", "2 µm/m", "--unit", "µm/m"),
    )
    assert value(data, "A0Z") == pytest.approx(20)
    data = answer(
        *("squareness-by-diagonals", "--axis", "C0Y", "--diagonal", "500.0048,499.9952 mm", "--u", "1 µm"),
        *("--across", "400", "--along", "300", "--unit", "µm/m"),
    )
    assert value(data, "C0Y") == pytest.approx(-20, abs=1e-3)


def test_a_level_turned_end_for_end() -> None:
    """Readings of 50 and -10: tilt 30 and zero 20 (Ia = t + e, Ib = -t + e, common practice)."""
    data = answer("level-reversal", "--first", "50 µm/m", "--second", "-10 µm/m", "--u", "5 µm/m")
    assert (value(data, "tilt"), value(data, "zero")) == pytest.approx((30, 20))


def test_tram_round_a_circle_and_across() -> None:
    """±4 µm on a circle of 100 mm radius is 40 µrad; the head is turned about Y (elementary)."""
    words = ("--radius", "100", "--u", "1 µm", "--unit", "µm/m")
    data = answer("tram", "--angle", "0,90,180,270", "--reading", "4,0,-4,0 µm", *words)
    assert value(data, "tilt") == pytest.approx(40)
    assert value(data, "head turned about Y") == pytest.approx(40)
    across = answer("tram-across", "--along", "x", "--reading", "4,-4 µm", *words)
    assert value(across, "head turned about Y") == pytest.approx(40)
    assert across["results"][0]["standard_uncertainty"] == pytest.approx(7.071068)


def test_run_out_by_the_circle_of_equal_angles() -> None:
    """Centre (2/N) Σ r cos θ, (2/N) Σ r sin θ (least squares circle from equal angles); three lobes of 2 µm beside."""
    turn = np.arange(12) * pi / 6
    r = 10 * np.cos(turn - 0.5) + np.cos(3 * turn)
    data = answer(
        "runout", "--every", "30", "--reading", ",".join(f"{one:.12f}" for one in r) + " µm", "--u", "1 µm"
    )
    a, b = 2 / 12 * r @ np.cos(turn), 2 / 12 * r @ np.sin(turn)
    assert value(data, "eccentricity") == pytest.approx(np.hypot(a, b))
    assert value(data, "towards") == pytest.approx(np.degrees(0.5))
    (lobes,) = [one for one in data["tables"] if one["title"] == "lobes"]
    assert {row[0]: round(row[1], 6) for row in lobes["rows"]} == {"2": 0, "3": 2, "4": 0, "5": 0}


def test_a_spindle_is_told_apart_from_its_ball() -> None:
    """A ball with two lobes on a spindle with three (R. R. Donaldson, CIRP 21, 1972, p. 125): each comes out alone."""
    turn = np.arange(24) * pi / 12
    ball, motion = 0.5 * np.cos(2 * turn), 0.2 * np.sin(3 * turn)
    sweeps = {"--first": ball + motion, "--second": ball - motion}
    texts = [word for name, r in sweeps.items() for word in (name, ",".join(f"{v:.12f}" for v in r) + " µm")]
    data = answer("spindle-reversal", "--every", "15 deg", *texts, "--u", "0.01 µm")
    assert value(data, "radial error motion") == pytest.approx(0.4)
    assert value(data, "ball out of round") == pytest.approx(1.0)


def test_a_wavy_screw() -> None:
    """-8 µm over 600 mm and 3 µm of wave, read each 50 mm: e_0a -10.0556, v_ua 5.8814 µm (constructed, ISO 3408-3)."""
    x = np.arange(0, 601, 50.0)
    e = -8 * x / 600 + 3 * np.sin(2 * pi * x / 300)
    data = answer(
        "lead", "--every", "50", "--deviation", ",".join(f"{v:.12f}" for v in e) + " µm", "--u", "0.1 µm"
    )
    assert value(data, "mean travel") == pytest.approx(-10.055621, abs=5e-7)
    assert value(data, "v_ua") == pytest.approx(5.881359, abs=5e-7)


def test_a_grade_with_its_printed_limits() -> None:
    """P3 at 900 mm: e_p 21 µm and v_300 12 µm (Steinmeyer, Precision and accuracy), each with standard and source."""
    data = answer(
        *("lead", "--every", "25", "--deviation", ",".join(["0", "1"] * 18 + ["0"]) + " µm"),
        *("--lead", "10", "--grade", "p3", "--u", "0.2 µm"),
    )
    limits = {one["name"]: one for one in data["grading"]["limits"]}
    assert (limits["e_sa"]["limit"], limits["v_300a"]["limit"]) == (21, 12)
    assert {one["standard"] for one in limits.values()} == {"ISO 3408-3:2006"}
    assert all(one["source"] for one in limits.values())
    assert (data["grading"]["verdict"], limits["v_2πa"]["verdict"]) == ("undecided", "undecided")
    assert limits["v_ua"]["verdict"] == "conforming"


def test_every_evaluation_has_help_with_an_example_that_runs() -> None:
    """The list names each; each help shows a call that works as it stands, and its cautions."""
    listed = run("evaluate").out
    for kind in KINDS:
        assert kind.command in listed
        done = run("evaluate", kind.command, "--help")
        assert done.code == 0
        assert "Examples:" in done.out
        for caution in kind.cautions:
            assert caution.split()[0] in done.out
        words = [w for name, text in kind.example.items() for w in (f"--{name.replace(' ', '-')}", text)]
        assert run("evaluate", kind.command, *words).code == 0, kind.command
    forms = json.loads(run("evaluate", "--list").out)
    assert forms["format"] == "loopwright-evaluations/1"
    assert [one["command"] for one in forms["evaluations"]] == [kind.command for kind in KINDS]


WAY = "Pos [mm];Dial [µm]\n0;0\n100;2,5\n200;3\n300;0\n"


def test_a_table_is_evaluated_and_told(here: Path) -> None:
    """Which column is what goes to the error stream; results, places, and what the numbers rest on are printed."""
    Path("way.csv").write_text(WAY, "utf-8")
    done = run("evaluate", "straightness", "way.csv", *U)
    assert done.code == 0
    assert "height: column 'Dial [µm]', in µm" in done.err
    for words in (
        "straightness: 4 readings of way.csv",
        "standard uncertainty of one reading: 0.5 µm, as stated",
        "± U, k = 2",
        "position   reading   deviation      u",
        "The uncertainty includes",
        "Not seen",
        "Waves shorter than 200 mm",
    ):
        assert words in done.out, words
    assert run("evaluate", "straightness", "way.csv", *U, "--json").err == ""


def test_every_bad_cell_of_a_table_is_told_at_once(here: Path) -> None:
    """Cells, a setting and the missing uncertainty come together, with file, line and heading; status 1."""
    Path("way.csv").write_text(WAY.replace("2,5", "two").replace("300;0", "300;zero"), "utf-8")
    done = run("evaluate", "straightness", "way.csv", "--reference", "middle")
    assert done.code == 1
    for words in (
        "way.csv:3  Dial [µm]",
        "way.csv:5  Dial [µm]",
        "--reference",
        "--u",
        "4 mistakes",
    ):
        assert words in done.err, words
    assert done.out == ""


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("straightness", "gone.csv", *U), "'gone.csv' is not there"),
        (("straightness", "--every", "100", "--height", "0,1,2", *U), "--in height=UNIT"),
        (("straightness", "--every", "100", "--height", "0,1,2 µm"), "what one reading is worth is not said"),
        (("straightness", "--every", "far", "--height", "0,1,2 µm", *U), "--every"),
        (("straightness", "--every", "0", "--height", "0,1,2 µm", *U), "--every is 0"),
        (("straightness", "--every", "1", "--position", "1,2", "--height", "0,1 µm", *U), "told twice"),
        (("straightness", *U), "'-' to read one value a line"),
        (("straightness", "--every", "1", "--height", "0,1,2 µm", *U, "--unit", "kg"), "'kg' is not a unit"),
        (("tram", "--angle", "0,90,180", "--reading", "0,1,2 µm", *U), "--radius: is missing"),
        (
            ("straightness", "--every", "1", "--height", "0,1,2 µm", "--gauge", "dial"),
            "this folder has no book",
        ),
        (("straightness", "--every", "1", "--height", "0,1,2 µm", *U, "--in", "height"), "--in height=µm"),
    ],
)
def test_what_is_called_wrongly_is_told(here: Path, words: tuple[str, ...], told: str) -> None:
    """Each ends with status 1 and names the option that would do."""
    done = run("evaluate", *words)
    assert (done.code, told in done.err) == (1, True), done.err


def test_an_unknown_evaluation_ends_with_status_2() -> None:
    """A command that there is not."""
    assert run("evaluate", "beauty").code == 2


def test_one_value_a_line_from_a_pipe(here: Path) -> None:
    """Places stand evenly, 'b' takes the last one back, an empty line ends; the prompts say where to read."""
    data = answer("straightness", "-", "--every", "100", *U, lines="0\n2\n9\nb\n3\n5 µm\n\n")
    assert [row[:2] for row in data["tables"][0]["rows"]] == [[0, 0], [100, 2], [200, 3], [300, 5]]
    done = run("evaluate", "straightness", "-", "--every", "100", *U, lines="0\n2\n0\n")
    assert "height 2  100 mm: " in done.err
    assert done.code == 0


def test_two_sweeps_are_typed_one_after_the_other(here: Path) -> None:
    """An empty line ends the first sweep; the second has as many; lines that end too early are told."""
    words = ("straightedge-reversal", "-", "--every", "50", *U)
    data = answer(*words, lines="0\n3\n0\n\n0\n-1\n0\n")
    assert [row[1:3] for row in data["tables"][0]["rows"]] == [[0, 0], [3, -1], [0, 0]]
    done = run("evaluate", *words, lines="0\n3\n0\n\n0\n")
    assert (done.code, "the lines end before second 2" in done.err) == (1, True)
    assert list(here.glob("*typed*")) == []


def test_places_are_asked_for_where_they_are_not_known(here: Path) -> None:
    """Without --every each point is typed with its place."""
    lines = "0\n0\n0\n300\n0\n10\n0\n200\n6\n300\n200\n24\n\n"
    data = answer("flatness", "-", "--u", "1 µm", lines=lines)
    assert value(data, "flatness, least squares") == pytest.approx(4)


def test_a_round_table_ends_after_a_turn(here: Path) -> None:
    """Steps of 90° make four readings; no empty line is needed. The cautions come before the first of them."""
    done = run(
        "evaluate", "tram", "-", "--every", "90", "--radius", "100", "--u", "1 µm", lines="4\n0\n-4\n0\n"
    )
    assert done.code == 0, done.err
    assert done.err.index("Lock out the spindle drive") < done.err.index("reading 1")
    assert "reading 4/4  270 deg" in done.err
    assert "Never touch a running spindle" in done.out


def test_the_lines_of_a_pattern_are_asked_for_by_name(here: Path) -> None:
    """The union jack says which step of which line is wanted."""
    words = ("plate", "-", "--pattern", "union jack", "--length", "400", "--width", "300", "--steps", "2,2,2")
    done = run("evaluate", *words, "--u", "1 arcsec", lines="1\n" * 16)
    assert done.code == 0, done.err
    assert "angle 9/16  diagonal up, step 1: " in done.err


def test_unlike_numbers_of_readings_on_two_faces(here: Path) -> None:
    """Three readings on the datum and two on the face, each ended by an empty line."""
    words = ("squareness-by-levels", "-", "--axis", "A0Z", "--u", "1 arcsec")
    data = answer(*words, lines="1\n2\n3\n\n12\n12\n\n")
    assert (data["readings"], value(data, "A0Z")) == (5, pytest.approx(10))


@pytest.mark.usefixtures("at_terminal")
def test_what_was_typed_is_kept_when_stopped(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A value that cannot be read is said at once; Ctrl-C keeps the rest, and the same command goes on from there."""

    class Stopping(io.StringIO):
        """Some lines, then Ctrl-C."""

        def readline(self, *_: object) -> str:  # type: ignore[override]
            line = super().readline()
            if not line:
                raise KeyboardInterrupt
            return line

    words = ["evaluate", "straightness", "--every", "100", *U]
    with CliRunner().isolation() as streams:
        monkeypatch.setattr(sys, "stdin", Stopping("\n0\ntwo\n2\n"))
        with pytest.raises(SystemExit) as end:
            guarded(lambda: group(words, standalone_mode=False))
        told = streams[1].getvalue().decode()
    assert end.value.code == 130
    for sentence in ("'two'", "type a value, or b to go back", "what was typed is kept"):
        assert sentence in told, sentence
    done = run(*words, "--json", lines="y\n3\n\n")
    assert done.code == 0, done.err
    assert [row[1] for row in json.loads(done.out)["tables"][0]["rows"]] == [0, 2, 3]
    assert list(here.glob("*typed*")) == []
    done = run("evaluate", "straightness", "--every", "100")
    assert (done.code, "height 1" in done.err) == (1, False)


X = ",".join(str(x) for x in range(0, 321, 40))
EDGE = ("--position", X, "--first", "0,1,1,2,2,2,1,1,0 µm", "--second", "0,-1,-1,0,0,0,0,0,0 µm")


def test_a_reversal_is_entered_and_judged(shop: Path) -> None:
    """Verdict, surprise and effect at the tool as by record; the history says what it was worked out of."""
    done = run(
        "evaluate",
        "straightedge-reversal",
        *EDGE,
        "--gauge",
        "micron indicator",
        "--record",
        "X straight in Y",
        "--budget",
    )
    assert done.code == 0, done.err
    for words in (
        "motion straight within",
        "entry 3: X straight in Y, from straightedge reversal, 2 x 9 readings with micron indicator by Ada",
        "verdict",
        "surprise",
        "at the tool",
        "hole position",
        "its own error cancels",
    ):
        assert words in " ".join(done.out.split()), words
    (reading,) = entries(Reading)
    assert reading.method.columns[2].typed == tuple("0 -1 -1 0 0 0 0 0 0".split())
    assert "X straight in Y from straightedge reversal, 2 x 9 readings" in " ".join(
        run("history").out.split()
    )
    data = answer("straightedge-reversal", *EDGE, *U, "--record", "X straight in Y", "--instead-of", "3")
    assert data["recorded"]["format"] == "loopwright-recorded/1"
    assert data["recorded"]["supersedes"] == 3
    assert len(data["recorded"]["reading"]["values"]) == 9
    assert len(entries(Reading)) == 1
    assert run("book", "verify").code == 0
    assert run("book", "export", "all.txt").code == 0
    assert run("book", "import", "all.txt", "copy.book").code == 0
    with open_book("copy.book") as copy, open_book("drill.book") as book:
        assert copy.entries() == book.entries()


def test_a_surprise_is_asked_about(shop: Path) -> None:
    """A tram ten times too large is not entered; --keep enters it and marks it."""
    words = (
        "tram",
        "--angle",
        "0,90,180,270",
        "--reading",
        "400,0,-400,0 µm",
        "--radius",
        "100",
        "--u",
        "1 µm",
    )
    done = run("evaluate", *words, "--record", "spindle tram side to side")
    assert (done.code, "nothing was entered; repeat with --keep" in done.err) == (1, True)
    assert entries(Reading) == []
    assert run("evaluate", *words, "--record", "spindle tram side to side", "--keep").code == 0
    (reading,) = entries(Reading)
    assert reading.kept
    assert reading.evaluated.values == (pytest.approx(4e-3),)


def test_a_result_is_the_size_of_a_dim(shop: Path) -> None:
    """--take names the result; a screw on the bench takes its statements."""
    words = (
        "squareness-by-levels",
        "--axis",
        "A0Z",
        "--datum",
        "0 µm/m",
        "--face",
        "5 µm/m",
        "--u",
        "1 µm/m",
    )
    assert run("evaluate", *words, "--record", "column/foot_lean", "--take", "angle between").code == 0
    assert entries(Reading)[0].evaluated.values == (pytest.approx(pi / 2 + 5e-6),)
    lead = ("lead", "--position", "0,100,200", "--deviation", "0,1,3 µm", "--gauge", "length gauge")
    done = run("evaluate", *lead, "--record", "ball screw/mean travel", "--item", "A7")
    assert done.code == 0, done.err
    assert entries(Reading)[1].evaluated.values == (pytest.approx(3e-3),)
    assert run("evaluate", *words, "--record", "column/nothing").code == 1


def test_the_book_remembers_the_columns(shop: Path) -> None:
    """Named once and recorded, the columns of a table are known the next time; the book's gauge is used."""
    table = "Station,Run A,Run B\n" + "".join(
        f"{x},{a},{-a}\n" for x, a in zip(range(0, 321, 40), [0, 1, 1, 0, 1, 1, 0, 1, 0])
    )
    Path("edge.csv").write_text(table, "utf-8")
    words = ("evaluate", "straightedge-reversal", "edge.csv", "--gauge", "micron indicator")
    said = ("--column", "first=Run A", "--column", "second=Run B", "--in", "first=µm", "--in", "second=µm")
    assert run(*words, "--book", "drill.book").code == 1
    done = run(*words, *said, "--record", "X straight in Y")
    assert done.code == 0, done.err
    (kept,) = entries(ColumnsKept)
    assert kept.name == "evaluate straightedge-reversal"
    assert kept.columns["headings"]["first"] == "Run A"
    assert entries(Reading)[0].method.file == "edge.csv"
    done = run(*words)
    assert done.code == 0, done.err
    assert "first: column 'Run A', in µm" in done.err
    assert "0.58 µm of its own; 0.87 µm in common" in done.out
    assert run(*words, *said, "--record", "X straight in Z").code == 0
    assert len(entries(ColumnsKept)) == 1


def test_a_gauge_of_a_build_file_needs_no_book(here: Path) -> None:
    """--build names the file that has the gauge; its units and its confidence are those of the answer."""
    Path("drill.yaml").write_text(examples.text("clock-plate"), "utf-8")
    words = (
        "straightness",
        "--every",
        "100",
        "--height",
        "0,1,0 µm",
        "--gauge",
        "micron indicator",
        "--build",
        "drill.yaml",
    )
    data = answer(*words)
    assert data["one_reading"]["gauge"] == "micron indicator"
    assert data["one_reading"]["own"] == pytest.approx(np.hypot(0.5, 1 / 12**0.5))
    assert data["coverage"]["confidence"] == 0.95
    assert "± U, 95 %" in run("evaluate", *words).out


def test_a_long_table_is_printed_whole_when_asked(here: Path) -> None:
    """Sixty readings are counted; --all lists them; a screw is printed with the source of its limits."""
    words = (
        "lead",
        "--every",
        "5",
        "--deviation",
        ",".join(["0"] * 60) + " µm",
        "--u",
        "0.1 µm",
        "--lead",
        "5",
        "--grade",
        "P3",
    )
    done = run("evaluate", *words)
    assert "60 rows; --all prints them" in done.out
    assert "limit of e_sa, v_ua, v_300a, v_2πa: ISO 3408-3:2006; from memory" in done.out
    assert "295" in run("evaluate", *words, "--all").out


def test_deviations_from_nominal_are_recorded(shop: Path) -> None:
    """--from-nominal of record and of import-readings: what a comparator showed becomes a size."""
    done = run("record", "column/Z_shoulder", "0.003,0.004", "--from-nominal", "--gauge", "length gauge")
    assert done.code == 0, done.err
    assert "typed as deviations from the nominal 50 mm" in done.out
    Path("pads.csv").write_text("dim,value (µm)\npad_FL/height,1\npad_FR/height,-1\n", "utf-8")
    done = run("import-readings", "pads.csv", "--from-nominal", "--gauge", "length gauge", "--yes")
    assert done.code == 0, done.err
    found = [one.evaluated.values[0] for one in entries(Reading)]
    assert found == pytest.approx([50.0035, 12.001, 11.999], abs=1e-5)
    done = run("record", "pad_RL/height", "--from-nominal", "--gauge", "length gauge", lines="0.001\n\n")
    assert done.code == 0, done.err
    assert "the values are deviations from nominal" in done.err
