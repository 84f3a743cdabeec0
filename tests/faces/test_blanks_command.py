"""loopwright blanks, as a person and as another program use it; the parts are invented."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from commands import run
from loopwright.book import create, open_book
from loopwright.buildfile import read_text
from loopwright.model.blanks import Form, Section
from loopwright.model.build import Units
from loopwright.model.records import Revision
from loopwright.sheets.blank_words import proof_words
from loopwright.sheets.printing import Asked, printed
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.answer_schemas import schema_of
from loopwright.studies.blank_records import Proven
from loopwright.studies.books import bench_of
from made_parts import GAUGES, PADS, RING, text
from pdf_text import Pdf

STOCK = """shop:
  keep: 50
  bars:
    flat: {material: tool steel O1, section: flat 40 x 15, length: 60, note: under the bench}
    flat new: {material: tool steel O1, section: flat 40 x 15, length: 500, buy: true, price: 20}
    plate: {material: brass, section: plate 3, length: 300, width: 200}
"""
COVER = """
  cover:
    material: brass
    mark: C-1
    blank: {section: plate 3, length: 120, width: 80}
"""
SOURCE = text(PADS, RING, COVER, head=GAUGES).replace("shop:\n", STOCK)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the build file and a book of it."""
    folder = tmp_path_factory.mktemp("blanks")
    (folder / "parts.yaml").write_text(SOURCE, "utf-8")
    create(folder / "parts.book", SOURCE, build_name="made parts", who="Ada", file="parts.yaml").close()
    return folder


@pytest.fixture
def here(begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it to work in."""
    for file in begun.iterdir():
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    return tmp_path


def said(*words: str) -> str:
    """What the command prints, with one space between its words."""
    done = run("blanks", *words)
    assert done.code == 0, done.err
    return " ".join(done.out.split())


def asked(*words: str) -> Any:
    """The answer as data, held against its schema."""
    done = run("blanks", *words, "--json")
    assert done.code == 0, done.err
    data = json.loads(done.out)
    assert [e.message for e in Draft202012Validator(schema_of("blanks")).iter_errors(data)] == []
    return data


@pytest.mark.usefixtures("here")
def test_the_list_names_pieces_marks_purchases_and_the_proof() -> None:
    """A machinist reads what to saw from what, with marks; what to buy with weight and price; and how sure that is."""
    words = said("--file", "parts.yaml")
    assert "pad A (P-A)" in words
    assert "buy flat new, 500 mm long" in words
    # 500 x 40 x 15 mm of tool steel at 7.83 kg/dm³
    assert "2.35 kg 20" in words
    assert "To buy: 20. No list buys less: proven." in words
    assert "120.0 mm: cover (C-1)" in words
    assert "flat new off-cut 1" in words
    assert "tool steel O1, round 65 mm: not planned the shop has no bar of it" in words
    assert "grinding wheel" not in words


@pytest.mark.usefixtures("here")
def test_as_data_it_says_the_same() -> None:
    """The answer keeps its schema; what is bought and its bound stand in it as numbers."""
    data = asked("--file", "parts.yaml")
    assert data["price"] == 20
    assert data["proven"] is True
    assert {one["parts"][0]: one["planned"] for one in data["pieces"]} == {
        "pad A": True,
        "ring": False,
        "cover": True,
    }
    (flat,) = (one for one in data["proofs"] if one["section"]["form"] == "flat")
    assert (flat["counted_by"], flat["bought"], flat["bound"], flat["gap"]) == ("price", 20, 20, 0)
    (sheet,) = data["sheets"]
    assert [piece["mark"] for strip in sheet["strips"] for piece in strip["pieces"]] == ["C-1"]
    assert data["after"] is None
    assert {one["why_not"] is None for one in data["pieces"] if one["planned"]} == {True}


@pytest.mark.usefixtures("here")
def test_named_parts_alone_are_planned() -> None:
    """Asked for one pad the list has no other part; a name that is no part is refused with those there are."""
    assert [one["parts"] for one in asked("pad B", "--file", "parts.yaml")["pieces"]] == [["pad B"]]
    wrong = run("blanks", "pad X", "--file", "parts.yaml")
    assert wrong.code == 1
    assert "there is no part 'pad X'" in wrong.err
    assert "pad A" in wrong.err


def test_sawn_saves_a_revision_without_the_used_bars(here: Path) -> None:
    """The book's newest description has the off-cuts, not the bars; a second list has nothing of what is sawn."""
    words = said("--sawn")
    assert "revision 2 of the description" in words
    assert "kept: flat new off-cut 1" in words
    with open_book("parts.book") as book:
        bench = bench_of(book)
        (_, first), (entry, second) = bench.having(Revision)
        assert first.text == SOURCE
        assert entry.why.startswith("sawn:")
        assert entry.who == "Ada"
        assert "sawn: [pad A, pad B, cover]" in second.text
        assert bench.build.shop.bars["flat new"].buy
        assert "plate" not in bench.build.shop.bars
    assert [one["parts"] for one in asked()["pieces"]] == [["ring"]]
    again = run("blanks", "--sawn")
    assert again.code == 1
    assert "there is nothing to saw" in again.err
    assert (here / "parts.yaml").read_text("utf-8") == SOURCE


def test_of_a_file_sawn_prints_the_section_to_put_in(here: Path) -> None:
    """Bars and sawn parts come as they stand in a build file; in the place of the old bars they make a sound one."""
    done = run("blanks", "--sawn", "--file", "parts.yaml")
    assert done.code == 0
    rest = SOURCE.partition("  machines:\n")[2]
    whole = SOURCE.partition("shop:\n")[0] + done.out + "  keep: 50\n  machines:\n" + rest
    build = read_text(whole)
    assert build.shop.sawn == ["pad A", "pad B", "cover"]
    assert build.shop.bars["flat new off-cut 1"].faced
    assert (here / "parts.yaml").read_text("utf-8") == SOURCE
    data = asked("--sawn", "--file", "parts.yaml")
    assert data["after"]["entry"] is None
    assert data["after"]["section"].rstrip() == done.out.rstrip()


@pytest.mark.usefixtures("here")
def test_a_shop_in_inches_and_pounds_reads_them() -> None:
    """The same list in an inch shop: 500 mm of bar are 19.685 in, and its 2.349 kg are 5.18 lb."""
    inches = (
        SOURCE.replace("format: loopwright-build/1\n", "format: loopwright-build/1\nunits: {length: in, mass: lb}\n")
        .replace("flat 40 x 15", "flat 40 x 15 mm").replace("length: 60,", "length: 60 mm,")
        .replace("length: 500,", "length: 500 mm,").replace("plate 3", "plate 3 mm").replace("keep: 50", "keep: 50 mm")
        .replace("length: 300, width: 200", "length: 300 mm, width: 200 mm").replace("round 65", "round 65 mm")
        .replace("length: 120, width: 80", "length: 120 mm, width: 80 mm").replace("12 ±0.01,", "12 mm ±0.01 mm,")
        .replace("40 ±0.2", "40 mm ±0.2 mm").replace("within: 0.004", "within: 0.004 mm")
        .replace("12 ±0.005", "12 mm ±0.005 mm").replace("50 H6", "50 mm H6").replace("60 h6", "60 mm h6")
        .replace("[12, 50]", "[12 mm, 50 mm]").replace("[12, 60]", "[12 mm, 60 mm]")
    )  # fmt: skip
    Path("inches.yaml").write_text(inches, "utf-8")
    words = said("--file", "inches.yaml")
    assert "19.685 in" in words
    assert "5.18 lb 20" in words
    data = asked("--file", "inches.yaml")
    assert (data["size_unit"], data["mass_unit"]) == ("in", "lb")
    assert data["mass"] == pytest.approx(2.349 / 0.45359237, rel=2e-3)
    section = run("blanks", "pad A", "--sawn", "--file", "inches.yaml").out
    # 60 - 40 leaves nothing to keep; nothing was bought for one pad
    assert "off-cut" not in section
    assert "sawn: [pad A]" in section


@pytest.mark.usefixtures("here")
def test_a_book_and_a_file_together_are_refused() -> None:
    """Whose blanks are meant has to be plain."""
    both = run("blanks", "--file", "parts.yaml", "--book", "parts.book")
    assert both.code == 1
    assert "both a book and a file" in both.err


def test_the_paper_has_strips_marks_and_the_proof() -> None:
    """The saw list as PDF says which sheet, how wide a strip, what comes off it with its mark, and how good that is."""
    (one,) = printed(read_text(SOURCE), Asked(kinds=("saw",)))
    words = "".join(Pdf(one.pdf).text.split())
    for told in ("strip1,from", "coverC-1", "120.0mm", "keep", "BUYFIRST", "Nolistbuysless:proven."):
        assert told in words, told
    assert "ring" in words.partition("Pieceswithoutabar")[2]


@pytest.mark.usefixtures("here")
def test_what_was_entered_stands_in_the_answer() -> None:
    """With a book the answer to --sawn has the number of the entry and of the revision."""
    after = asked("cover", "--sawn")["after"]
    assert (after["entry"], after["revision"], after["sawn"]) == (3, 2, ["cover"])
    assert after["used"] == [{"name": "plate", "count": 1}]


def test_a_gap_is_told_as_what_it_is() -> None:
    """A list that buys 120 where the bound is 118.5 may be 1.25 % too dear; in words, and not called proven."""
    sizes = ShopSizes.wished(Units())
    bar = Section(form=Form.ROUND, sizes=(40.0,))
    words = proof_words(Proven("steel", bar, True, 120.0, 118.5, 1.5 / 120, "", 0.0), sizes)
    assert "No list buys less than 118.50" in words
    assert "at most 1.2 % too dear" in words
    assert "proven to be the best" in words
    least = proof_words(Proven("steel", bar, False, 2000.0, 2000.0, 0.0, "", 0.0), sizes)
    assert "2000 mm of bar" in least
    assert "not every price is stated" in least
