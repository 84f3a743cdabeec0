"""The page about the build file says what the program does."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from loopwright.buildfile.schema import fields_at, records
from loopwright.buildfile.yaml_tree import MOST_BYTES, MOST_DEPTH, MOST_NODES

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "reference" / "build-file.md").read_text("utf-8")


@pytest.fixture(scope="module")
def script() -> ModuleType:
    """The script that writes the page."""
    spec = importlib.util.spec_from_file_location("build_file_page", ROOT / "scripts" / "build_file_page.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_up_to_date(script: ModuleType) -> None:
    """The committed page is the one that the program gives now; if not, run: python3 dev.py docs."""
    assert script.page() == PAGE


def test_every_field_is_on_the_page(script: ModuleType) -> None:
    """Each field of each record has a row in the table of its record."""
    sections = dict(zip(script.SECTIONS, PAGE.partition("## Records")[2].split("\n## ")[1:], strict=True))
    for name, kind in records().items():
        for field in kind.model_fields if name in sections else ():
            written = script.WRITTEN.get((name, field), f"`{field}`")
            assert written is None or f"| {written} |" in sections[name], f"{name}.{field}"
    for section in fields_at(()):
        assert f"| `{section}` |" in sections["Build"]


def test_the_page_tells_the_limits_of_a_file() -> None:
    """How large a file may be is told as it is."""
    assert f"over {MOST_BYTES / 1e6:.0f} MB" in PAGE
    assert f"over {MOST_NODES:,} values".replace(",", " ") in PAGE
    assert f"more than {MOST_DEPTH} deep" in PAGE


def test_a_new_record_needs_a_heading(script: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """A record without a heading stops the script instead of vanishing from the page."""
    others = {name: section for name, section in script.SECTIONS.items() if name != "Gauge"}
    monkeypatch.setattr(script, "SECTIONS", others)
    with pytest.raises(SystemExit, match="Gauge"):
        script.page()


def test_the_script_writes_the_page(
    script: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Run on its own, the script writes the page and says where."""
    target = tmp_path / "build-file.md"
    monkeypatch.setattr(script, "PAGE", target)
    monkeypatch.setattr(script, "ROOT", tmp_path)
    script.main()
    assert target.read_text("utf-8") == PAGE
    assert capsys.readouterr().out == "wrote build-file.md\n"
