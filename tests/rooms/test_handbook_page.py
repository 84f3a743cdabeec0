"""The page of the handbook shows what its modules answer."""

import doctest
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "handbook.md"
MODULES = Path(__file__).parents[2] / "src" / "loopwright" / "handbook"


def test_every_example_answers_as_it_is_printed() -> None:
    """Each line that is typed on the page gives what stands under it."""
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert failed == 0
    assert tried > 80


def test_every_module_has_its_place_on_the_page() -> None:
    """No module of the handbook is missing, but for tables and helpers that another section is about."""
    text = PAGE.read_text("utf-8")
    helpers = {"__init__", "bands", "cutting_checks", "iso286_tables"}
    names = {path.stem for path in MODULES.glob("*.py") if not path.stem.endswith("_tables")} - helpers
    assert sorted(name for name in names if f"`{name}`" not in text) == []
