"""The page about the answers says what the program does."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from loopwright.studies.answer_schemas import answers

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "reference" / "answers.md").read_text("utf-8")


@pytest.fixture(scope="module")
def script() -> ModuleType:
    """The script that writes the page."""
    spec = importlib.util.spec_from_file_location("answers_page", ROOT / "scripts" / "answers_page.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_up_to_date(script: ModuleType) -> None:
    """The committed page is the one that the program gives now; if not, run: python3 dev.py docs."""
    assert script.page() == PAGE


@pytest.mark.parametrize("name", answers())
def test_every_field_of_an_answer_is_told(name: str, script: ModuleType) -> None:
    """Each field of each answer has a row in its table, whatever it holds."""
    table = PAGE.partition(f"\n### {name}\n")[2].partition("\n### ")[0]
    schema = answers()[name].schema
    fields = schema.get("properties") or script.shared_schemas()[name]["properties"]
    for field in fields:
        assert f"\n| `{field}` | " in table, field


def test_every_field_is_told_in_words() -> None:
    """No row of a table leaves the meaning of its field empty, or speaks the language of the program."""
    assert [line for line in PAGE.splitlines() if line.endswith("|  |") or " None" in line] == []


def test_the_script_writes_the_page(
    script: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Run on its own, the script writes the page and says where."""
    target = tmp_path / "answers.md"
    monkeypatch.setattr(script, "PAGE", target)
    monkeypatch.setattr(script, "ROOT", tmp_path)
    script.main()
    assert target.read_text("utf-8") == PAGE
    assert capsys.readouterr().out == "wrote answers.md\n"
