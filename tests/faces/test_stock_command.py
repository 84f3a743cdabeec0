"""loopwright stock, as a person and as another program use it; the parts are invented."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from loopwright.book import create
from loopwright.cli import group
from loopwright.errors import LoopwrightError
from loopwright.sheets.stock_words import StockWords, one_in
from loopwright.studies.answer_schemas import schema_of
from loopwright.studies.stock_sheet import stock_sheet
from made_parts import BRACKET, RING, changed, text, thin_ring


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a ring and a bracket, in mm and shown in inches, and a book of them."""
    folder = tmp_path_factory.mktemp("stock")
    (folder / "parts.yaml").write_text(text(RING, BRACKET), "utf-8")
    in_mm = (
        RING.replace("12 ±0.005", "12 mm ±0.005 mm").replace("50 H6", "50 mm H6").replace("60 h6", "60 mm h6")
        .replace("[12, 50]", "[12 mm, 50 mm]").replace("[12, 60]", "[12 mm, 60 mm]").replace("round 65", "round 65 mm")
    )  # fmt: skip
    (folder / "inches.yaml").write_text(text(in_mm, head="units: {length: in}\n"), "utf-8")
    create(folder / "parts.book", text(RING, BRACKET), build_name="made parts", who="Ada").close()
    return folder


def run(*words: str) -> str:
    """What the command prints, with the spaces of one line between its words."""
    done = CliRunner().invoke(group, ["stock", *words], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def asked(*words: str) -> Any:
    """The answer as data."""
    data = json.loads(run(*words, "--json"))
    complaints = [
        f"{e.json_path}: {e.message[:200]}"
        for e in Draft202012Validator(schema_of("stock")).iter_errors(data)
    ]
    assert complaints == []
    return data


def test_the_answer_is_in_words_and_numbers(files: Path) -> None:
    """What to leave on diameter, with how little one ring in five fails, and the diameter to turn to."""
    said = run("ring", "--surface", "rim", "--file", str(files / "parts.yaml"))
    assert "leave 0.42 to 0.48 mm on diameter; with 0.30 mm one ring in five will not clean up" in said
    assert "op 20: rim to Ø60.338 to 60.398 mm; it grows by 0.072 mm afterwards" in said
    assert "each 0.05 mm more takes" in said
    assert "customary 0.40 to 0.50 mm" in said
    assert "quench it on a plug: 0.292 mm would do, 0.125 mm less" in said
    assert "the bar: at least Ø60.6" in said


def test_hardening_is_told_with_cautions(files: Path) -> None:
    """Furnace, quench, temper, what the test must show, what is wrong, and cautions that defer to others."""
    said = run("ring", "--file", str(files / "parts.yaml"))
    for words in (
        "hardening, op 40: tool steel O1",
        "furnace 788 to 816 degC",
        "as quenched the test must show 64 to 65 HRC",
        "after op 50 the test must show 60 to 62 HRC",
        "! tempered at 180 °C it comes out at 61.8 to 63.9 HRC",
        "may be tested by HRC",
        "oil quench",
        "grinding wheel",
        "licensed or trained people come first",
    ):
        assert words in said, words


def test_the_whole_is_told_for_one_surface(files: Path) -> None:
    """Without --surface the largest causes are told, and where the rest is; with it every one with its source."""
    every = run("ring", "--file", str(files / "parts.yaml"))
    assert "and 5 more: --surface 'rim'" in every
    one = run("ring", "--surface", "rim", "--file", str(files / "parts.yaml"))
    assert "more: --surface" not in one
    assert "(assumed)" in one


def test_inches_are_inches(files: Path) -> None:
    """In a build of inches stock and dims are inches, extra stock 2 thou, steps of inches."""
    said = run("ring", "--surface", "rim", "--file", str(files / "inches.yaml"))
    assert "leave 0.0165 to 0.0185 in on diameter" in said
    assert "each 0.002 in more takes" in said
    assert " mm on" not in said
    data = asked("ring", "--surface", "rim", "--file", str(files / "inches.yaml"))
    metric = asked("ring", "--surface", "rim", "--file", str(files / "parts.yaml"))
    assert (data["size_unit"], metric["size_unit"]) == ("in", "mm")
    assert data["surfaces"][-1]["least"] * 25.4 == pytest.approx(metric["surfaces"][-1]["least"])


def test_a_book_is_asked_too(files: Path) -> None:
    """The newest description in a book is asked as the file is."""
    from_book = asked("ring", "--book", str(files / "parts.book"))
    from_file = asked("ring", "--file", str(files / "parts.yaml"))
    assert from_book == from_file


@pytest.mark.parametrize("part", ["ring", "bracket"])
def test_the_answer_satisfies_its_schema(files: Path, part: str) -> None:
    """A hardened part and a soft one answer by the published schema; sizes in the unit that is named."""
    data = asked(part, "--file", str(files / "parts.yaml"))
    assert data["format"] == "loopwright-stock/1"
    assert data["size_unit"] == "mm"
    assert (data["hardening"] is None) == (part == "bracket")
    rising = [point["chance"] for point in data["surfaces"][-1]["curve"]]
    assert rising == sorted(rising)


def test_chance_and_furnace_are_options(files: Path) -> None:
    """Less chance and a better furnace need less; a share may be typed as 90%, 90 % or 0.9."""
    place = ("ring", "--surface", "rim", "--file", str(files / "parts.yaml"))
    usual = asked(*place)["surfaces"][-1]["least"]
    careless = {asked(*place, "--chance", typed)["surfaces"][-1]["least"] for typed in ("90%", "90 %", "0.9")}
    assert len(careless) == 1
    assert careless.pop() < usual
    assert asked(*place, "--furnace", "vacuum or gas")["surfaces"][-1]["least"] < usual
    bare = asked(*place, "--furnace", "none")
    assert bare["surfaces"][-1]["least"] > usual
    assert bare["furnace"] == "none"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("rung",), "did you mean 'ring'"),
        (("ring", "--surface", "top"), "finished are: right, rim, left, bore"),
        (("ring", "--chance", "100%"), "99.99"),
        (("ring", "--chance", "often"), "often"),
    ],
)
def test_what_cannot_be_answered_is_told(files: Path, words: tuple[str, ...], said: str) -> None:
    """A part, surface or chance that is none ends in a message with what would do."""
    done = CliRunner().invoke(group, ["stock", *words, "--file", str(files / "parts.yaml")])
    assert done.exit_code != 0
    assert isinstance(done.exception, LoopwrightError)
    assert said in str(done.exception)


def test_a_stated_dim_is_judged_in_words() -> None:
    """The route's own turning dim: what it leaves, and how many clean up with it."""
    turned = "datum: [left], cuts: {right: {}, bore: {}, rim: {}}}"
    made = changed(RING, (turned, turned.replace("rim: {}", "rim: {size: 60.15 ±0.02}")))
    sheet = stock_sheet(made, "ring", surface="rim")
    said = StockWords(sheet).written(sheet.surfaces[-1])
    assert said.startswith("as the route has it, 0.21")
    assert "clean up" in said
    plain = stock_sheet(thin_ring(), "ring", surface="rim")
    assert StockWords(plain).written(plain.surfaces[-1]) == ""


def test_shares_in_words() -> None:
    """A fifth is one in five; small shares keep their number."""
    assert one_in(0.2, "shaft") == "one shaft in five"
    assert one_in(0.05, "part") == "one part in 20"
