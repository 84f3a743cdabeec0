"""loopwright machines, as a person and as another program use it; machines and parts are invented."""

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from commands import run
from loopwright.book import create, open_book
from loopwright.model.records import Evaluated, Reading, Revision
from loopwright.studies.answer_schemas import schema_of
from loopwright.studies.books import bench_of
from two_posts import CHOOSING

OFF = 0.05
"""How far the posts were made off, where a setting is taken to hold 15 µm: mm."""


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with two posts, and a book in which both were read."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    Path("posts.yaml").write_text(CHOOSING, "utf-8")
    with create("posts.book", CHOOSING, build_name="two posts", who="Ada", file="posts.yaml") as book:
        for part, off in (("left", OFF), ("right", -OFF)):
            book.append(height(part, off), who="Ada")
    return tmp_path


def height(part: str, off: float) -> Reading:
    """A post that was measured, so much off 12 mm, within half a micrometre."""
    value = Evaluated(values=(12 + off,), stds=(0.0005,))
    return Reading(subject="dim", of=f"{part}/height", state=1, raw=((12 + off,),), evaluated=value)


def said(*words: str) -> str:
    """What the command prints, with one space between its words."""
    done = run("machines", *words)
    assert done.code == 0, done.err
    return " ".join(done.out.split())


def asked(*words: str) -> Any:
    """The answer as data, held against its schema."""
    done = run("machines", *words, "--json")
    assert done.code == 0, done.err
    data = json.loads(done.out)
    assert [e.message for e in Draft202012Validator(schema_of("machines")).iter_errors(data)] == []
    return data


def face_of(data: Any) -> Any:
    """What the mill holds in facing."""
    (mill,) = (one for one in data["machines"] if one["machine"] == "mill")
    (face,) = (one for one in mill["holds"] if one["op"] == "face")
    return face


@pytest.mark.usefixtures("here")
def test_a_file_tells_what_is_taken_and_by_whom() -> None:
    """What the shop states is told as that; idle machines are named; nothing is claimed."""
    words = said("--file", "posts.yaml")
    assert "mill: CNC mill" in words
    assert "face 2.0 µm 15.0 µm 3.0 µm" in words
    assert "face: stated by the shop" in words
    assert "furnace: furnace nothing is cut on it by any route" in words
    assert "what the parts say" not in words
    face = face_of(asked("--file", "posts.yaml"))
    assert (face["read"], face["factor"], face["known_within"]) == (0, None, pytest.approx(1.3))


@pytest.mark.usefixtures("here")
def test_a_book_tells_what_the_parts_say_and_what_to_write() -> None:
    """Posts 50 µm off where 15 are taken: it scatters more; the line to write, how to take it over."""
    words = said()
    assert "it scatters more than is taken for it" in words
    assert "2 dims read take away" in words
    assert "under shop/machines/mill/holds it would say face: {cut:" in words
    assert 'loopwright machines "mill" "face" --take' in words
    face = face_of(asked("mill"))
    assert face["differs"] is True
    assert face["factor_range"][0] > 1
    assert face["found"]["setting"] == pytest.approx(15 * face["factor"])


def test_taking_it_over_states_it_in_a_new_revision(here: Path) -> None:
    """The description then has the found deviations, how well they are known and to which entry; the file stays."""
    before = face_of(asked())
    words = said("mill", "face", "--take")
    assert "revision 2 of the description" in words
    assert "at the tool" in words
    with open_book("posts.book") as book:
        bench = bench_of(book)
        entry, revision = bench.having(Revision)[-1]
        holds = bench.build.shop.machines["mill"].holds["face"]
    assert entry.why == "as found: face on mill"
    assert holds.setting == pytest.approx(before["found"]["setting"] * 1e-3, rel=0.05)
    assert holds.known_within is not None
    assert 1.01 <= holds.known_within < 1.3
    assert holds.readings_to == 4
    assert "2 dims of its own parts" in (holds.note or "")
    # what no length tells of stays as it was stated
    assert holds.angular == pytest.approx(10 * 3.14159265 / 180 / 3600)
    assert "bore: {cut: 3 µm" in revision.text
    assert (here / "posts.yaml").read_text("utf-8") == CHOOSING


@pytest.mark.usefixtures("here")
def test_readings_count_once() -> None:
    """What was taken over is not found again from the same readings; a later reading sharpens it from there."""
    said("mill", "--take")
    face = face_of(asked())
    assert (face["read"], face["counted_already"], face["factor"]) == (0, 2, None)
    assert "in what is stated already" in said()
    again = run("machines", "mill", "--take")
    assert again.code == 1
    assert "in what is stated already" in again.err
    with open_book("posts.book") as book:
        book.append(height("left", 0.01), who="Ada")
    face = face_of(asked())
    assert (face["read"], face["counted_already"]) == (1, 1)
    assert face["factor"] is not None


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize(
    ("words", "what", "remedy"),
    [
        (("anvil",), "no machine 'anvil'", "mill"),
        (("mill", "lap"), "nothing is made by 'lap' on 'mill'", "face"),
        (("furnace", "--take"), "nothing is cut on 'furnace'", "a machine that cuts"),
        (("mill", "--take", "--file", "posts.yaml"), "a build file has no readings", "ask its book"),
    ],
)
def test_what_cannot_be_answered_says_what_would_do(words: tuple[str, ...], what: str, remedy: str) -> None:
    """A wrong machine, a wrong op, nothing that cuts, no book: each is told, with the way out."""
    done = run("machines", *words)
    assert done.code == 1
    assert what in done.err
    assert remedy in done.err


@pytest.mark.usefixtures("here")
def test_take_without_a_machine_is_a_wrong_call() -> None:
    """What is to be stated has to be named."""
    assert run("machines", "--take").code == 2
    assert run("machines", "a", "b", "c").code == 2
