"""A book from its beginning to its archive by commands alone, as a file and on a PostgreSQL server."""

import json
from pathlib import Path

import pytest

from commands import run
from loopwright.buildfile import examples


def data(*words: str) -> dict[str, object]:
    """The answer of a command that must succeed."""
    done = run(*words, "--json")
    assert done.code == 0, done.err
    found: dict[str, object] = json.loads(done.out)
    return found


def test_the_commands_work_on_each_database(
    where: str, database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """New, record, standing, history, verify and export say the same of a book in a file and on a server."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    monkeypatch.setenv("LOOPWRIGHT_BOOK", where)
    Path("drill.yaml").write_text(examples.text("clock-plate"), "utf-8")

    begun = data("book", "new", "drill.yaml", where)
    assert (begun["database"], begun["entries"], begun["kinds"]) == (database, 2, {"revision": 1, "state": 1})

    recorded = data("record", "column/Z_shoulder", "50.003", "--gauge", "length gauge")
    assert (recorded["entry"], recorded["who"]) == (3, "Ada")
    wrong = run("record", "column/Z_shoulder", "5.0003", "--gauge", "length gauge")
    assert (wrong.code, "nothing was entered" in wrong.err) == (1, True)

    page = data("standing", "--target", "hole position")
    assert (page["readings"], page["entries"]) == (1, 3)
    before = recorded["effect"][0]["expected"][1]  # type: ignore[index]
    assert page["targets"][0]["as_built"]["expected"] == pytest.approx(before)  # type: ignore[index]

    told = data("history", "--states")
    assert [entry["record"]["kind"] for entry in told["entries"]] == ["revision", "state", "reading"]  # type: ignore[attr-defined]
    assert [state["readings"] for state in told["states"]] == [1]  # type: ignore[attr-defined]
    assert "column/Z_shoulder" in run("history").out

    assert data("book", "verify")["sound"] is True
    assert run("book", "export", "all.txt").code == 0
    assert run("book", "import", "all.txt", "copy.book").code == 0
    assert run("book", "export", "again.txt", "--book", "copy.book").code == 0
    assert Path("again.txt").read_bytes() == Path("all.txt").read_bytes()
    shown = data("book", "show", "--book", "copy.book")
    assert (shown["uid"], shown["database"]) == (begun["uid"], "sqlite")
