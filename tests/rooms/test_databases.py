"""Nobody overlooks that the book was not tested on PostgreSQL, or the pages not in a browser."""

from types import SimpleNamespace

import pytest

import browsers
import databases
from databases import DEV

PARTS = [
    ("postgresql", DEV.NEEDS_POSTGRESQL, "the book was NOT tested on PostgreSQL"),
    ("chromium", DEV.NEEDS_CHROMIUM, "the pages were NOT tested in a browser"),
]


def run(monkeypatch: pytest.MonkeyPatch, part: str, *, needed: str | None) -> int:
    """`dev.py test` on a machine that lacks one part, where every check goes well."""
    for name, variable, _ in PARTS:
        monkeypatch.setattr(DEV, name, lambda lacking=name == part: None if lacking else "there")
        monkeypatch.delenv(variable, raising=False)
        if name == part and needed is not None:
            monkeypatch.setenv(variable, needed)
    monkeypatch.setattr(DEV, "aloud", lambda command: 0)
    monkeypatch.setattr(DEV, "_tests", lambda venv: 0)
    monkeypatch.setattr(DEV, "_wheel_works", lambda venv: 0)
    monkeypatch.setattr(DEV.Venv, "make", lambda self, steps: None)
    code: int = DEV.test()
    return code


@pytest.mark.parametrize(("part", "said"), [(part, said) for part, _, said in PARTS])
@pytest.mark.parametrize(
    ("needed", "code", "word"), [(None, 0, "NOT RUN"), ("0", 0, "NOT RUN"), ("1", 1, "FAILED")]
)
def test_a_missing_part_is_said_last_and_fails_where_it_was_promised(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    part: str,
    said: str,
    needed: str | None,
    code: int,
    word: str,
) -> None:
    """The summary ends with what was not tested; where it is a must, the whole run has failed."""
    assert run(monkeypatch, part, needed=needed) == code
    last = capsys.readouterr().out.strip().split("\n")[-1]
    assert last.split("  ")[0].strip() == word
    assert said in last


def test_pytest_says_so_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who runs pytest alone reads at its end what was not tested."""
    said: list[str] = []
    reporter = SimpleNamespace(section=lambda title, **_: said.append(title), line=said.append)
    monkeypatch.setattr(databases, "PROGRAMS", None)
    monkeypatch.setattr(browsers, "CHROMIUM", None)
    databases.pytest_terminal_summary(reporter)
    assert all(words in " ".join(said) for _, _, words in PARTS)


def test_without_a_browser_no_test_of_the_pages_is_collected(monkeypatch: pytest.MonkeyPatch) -> None:
    """They are told to be missing, not failed one by one."""
    page = databases.ROOT / "tests" / "faces" / "web" / "test_frame.py"
    assert browsers.pytest_ignore_collect(page) is None
    monkeypatch.setattr(browsers, "CHROMIUM", None)
    assert browsers.pytest_ignore_collect(page)
    assert browsers.pytest_ignore_collect(page.parents[1] / "test_cli.py") is None


def test_the_checking_machine_needs_both() -> None:
    """What checks every change makes PostgreSQL and a browser a must."""
    script = (databases.ROOT / ".ci" / "run").read_text("utf-8")
    for _, variable, _ in PARTS:
        assert f"export {variable}=1" in script
