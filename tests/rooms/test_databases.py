"""Nobody overlooks that the book was not tested on PostgreSQL."""

from types import SimpleNamespace

import pytest

import databases
from databases import DEV


def run(monkeypatch: pytest.MonkeyPatch, *, needed: str | None) -> int:
    """`dev.py test` on a machine without PostgreSQL, where every check goes well."""
    monkeypatch.setattr(DEV, "postgresql", lambda: None)
    monkeypatch.setattr(DEV, "aloud", lambda command: 0)
    monkeypatch.setattr(DEV, "_wheel_works", lambda venv: 0)
    monkeypatch.setattr(DEV.Venv, "make", lambda self, steps: None)
    monkeypatch.delenv(DEV.NEEDS_POSTGRESQL, raising=False)
    if needed is not None:
        monkeypatch.setenv(DEV.NEEDS_POSTGRESQL, needed)
    code: int = DEV.test()
    return code


@pytest.mark.parametrize(
    ("needed", "code", "word"), [(None, 0, "NOT RUN"), ("0", 0, "NOT RUN"), ("1", 1, "FAILED")]
)
def test_a_missing_server_is_said_last_and_fails_where_it_was_promised(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    needed: str | None,
    code: int,
    word: str,
) -> None:
    """The summary ends with what was not tested; where PostgreSQL is a must, the whole run has failed."""
    assert run(monkeypatch, needed=needed) == code
    last = capsys.readouterr().out.strip().split("\n")[-1]
    assert last.split("  ")[0].strip() == word
    assert "the book was NOT tested on PostgreSQL" in last


def test_pytest_says_so_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who runs pytest alone reads at its end what was not tested."""
    said: list[str] = []
    reporter = SimpleNamespace(section=lambda title, **_: said.append(title), line=said.append)
    monkeypatch.setattr(databases, "PROGRAMS", None)
    databases.pytest_terminal_summary(reporter)
    assert "the book was NOT tested on PostgreSQL" in " ".join(said)


def test_the_checking_machine_needs_it() -> None:
    """What checks every change makes PostgreSQL a must."""
    script = (databases.ROOT / ".ci" / "run").read_text("utf-8")
    assert f"export {DEV.NEEDS_POSTGRESQL}=1" in script
