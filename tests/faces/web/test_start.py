"""Beginning a build in the browser."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from browsers import HISTORY, Served, Window, serving
from loopwright.buildfile import examples

Windows = Callable[..., Window]


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server that was begun where there is no book."""
    with serving(None, folder=tmp_path_factory.mktemp("bare")) as served:
        yield served


def test_without_a_book_every_page_leads_to_the_beginning(bare: Served, window: Windows) -> None:
    """And an example with its history is open after two presses."""
    one = window()
    one.page.goto(f"{bare.address}/parts")
    one.page.get_by_role("heading", name="Begin a build").wait_for()
    one.page.get_by_role("button", name="Begin its book").first.click()
    one.page.get_by_role("heading", name="Where it stands").wait_for()
    one.page.locator("header", has_text="Clock-plate drilling machine").wait_for()
    one.is_clean()


def test_a_build_file_begins_a_book_and_says_where_it_stands(
    bare: Served, window: Windows, tmp_path: Path
) -> None:
    """The book lies beside the others under the name of the machine."""
    file = tmp_path / "gantry.yaml"
    file.write_text(examples.text("guitar-gantry"), "utf-8")
    one = window()
    one.page.goto(f"{bare.address}/start")
    one.page.get_by_label("Build file").set_input_files(file)
    one.page.get_by_label("Why it begins").fill("first drawing")
    one.page.get_by_role("button", name="Begin its book").nth(1).click()
    one.page.get_by_role("heading", name="Where it stands").wait_for()
    assert [path for path in bare.folder.glob("*.book") if "gantry" in path.name]


def test_all_mistakes_of_a_build_file_are_shown_and_nothing_is_made(
    bare: Served, window: Windows, tmp_path: Path
) -> None:
    """Each with its line and what would do; what it holds is shown as text."""
    file = tmp_path / "bad.yaml"
    file.write_text(
        examples.text("clock-plate")
        .replace("confidence: 95 %", "confidence: 7")
        .replace("name: Clock-plate drilling machine", "name: <img src=x onerror=alert(1)>\nnonsense: 3", 1),
        "utf-8",
    )
    one, before = window(), len(list(bare.folder.glob("*.book")))
    one.page.goto(f"{bare.address}/start")
    one.page.get_by_label("Build file").set_input_files(file)
    one.page.get_by_role("button", name="Begin its book").nth(1).click()
    listed = one.page.locator(".region .refusal li")
    listed.first.wait_for()
    assert listed.count() >= 2
    assert "line" in (listed.first.text_content() or "")
    assert one.page.locator("img").count() == 0
    assert len(list(bare.folder.glob("*.book"))) == before


def test_an_archive_becomes_a_book_of_its_own(bare: Served, window: Windows, tmp_path: Path) -> None:
    """And what is no archive is refused with a remedy."""
    wrong = tmp_path / "no-archive.txt"
    wrong.write_text("nothing of the kind\n", "utf-8")
    one = window()
    one.page.goto(f"{bare.address}/start")
    one.page.get_by_label("Archive").set_input_files(wrong)
    one.page.get_by_role("button", name="Import").click()
    one.page.locator(".notice.refused").wait_for()
    one.page.get_by_label("Archive").set_input_files(HISTORY)
    one.page.get_by_role("button", name="Import").click()
    one.page.get_by_role("heading", name="Where it stands").wait_for()
    one.is_clean()


def test_a_file_that_is_too_large_is_not_even_sent(bare: Served, window: Windows, tmp_path: Path) -> None:
    """The page says so at the field."""
    file = tmp_path / "large.yaml"
    file.write_bytes(b"#" * 1_000_001)
    one = window()
    one.page.goto(f"{bare.address}/start")
    one.page.get_by_label("Build file").set_input_files(file)
    one.page.get_by_role("button", name="Begin its book").nth(1).click()
    one.page.get_by_text("larger than 1 MB").wait_for()


def test_a_machine_is_described_by_a_few_answers_and_stands_somewhere(bare: Served, window: Windows) -> None:
    """From a shape to the front page of its book; what is missing is told at its field, and nothing is lost."""
    one = window()
    one.page.goto(f"{bare.address}/start/guided")
    one.page.get_by_role("button", name="Bridge over a fixed table").click()
    one.page.get_by_label("Travel").first.and_(one.page.locator('[value="600"]')).wait_for()
    one.page.get_by_label("Travel").first.fill("24 in")
    one.page.get_by_role("button", name="See where it stands").click()
    one.page.locator(".field .wrong", has_text="no name").wait_for()
    assert one.page.get_by_label("Travel").first.input_value() == "24 in"
    one.page.get_by_label("Name", exact=True).fill("Carver")
    one.page.get_by_label("The tool must be within").fill("200")
    one.page.get_by_role("button", name="See where it stands").click()
    one.page.get_by_role("heading", name="Where it would stand, before anything is measured").wait_for()
    one.page.get_by_role("button", name="Begin its book").click()
    one.page.locator("header.title", has_text="Carver").wait_for()
    one.is_clean()
