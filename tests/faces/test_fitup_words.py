"""What the commands say where foil cannot help, and what a part could be matched with; on an invented column."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from loopwright.book import create
from loopwright.cli import group
from loopwright.model.records import Revision
from shimmed_column import column


def say(*words: str) -> str:
    """Output of a command that must succeed."""
    done = CliRunner().invoke(group, list(words))
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def book_of(folder: Path, **more: object) -> str:
    """A book of the column, whose sweep shows that its rear pads are 28 µm too high."""
    path = str(folder / "column.book")
    (_, described), *_ = column(**more).having(Revision)  # type: ignore[arg-type]
    create(path, described.text, build_name="Column", who="Ada").close()
    sweep = [str(-4 * n) for n in range(7)]
    say("record", "square", *sweep, "--unit", "µm", "--keep", "--who", "Ada", "-b", path)
    return path


def test_what_foil_cannot_do_is_said(tmp_path: Path) -> None:
    """The pads that must come down are named with how far, what to grind, and what is raised instead."""
    path = book_of(tmp_path)
    words = say("fitup", "step", "1", "-b", path)
    assert "SET: set it as below" in words
    assert "column on base/rear left: it would have to come down by 28" in words
    assert (
        "no foil can do that; raising column on base/front left, column on base/front right instead" in words
    )
    assert "off pad_RL/height" in words
    assert "Caution, grinding" in words
    data = json.loads(say("fitup", "step", "1", "--json", "-b", path))
    rear = next(one for one in data["to_set"] if one["what"] == "column on base/rear right")
    assert rear["must_come_down"]["by"] == pytest.approx(0.028, abs=0.001)
    assert rear["must_come_down"]["dim"] == "pad_RR/height"
    assert len(rear["must_come_down"]["raised_instead"]) == 2


def test_where_only_grinding_helps_the_verdict_is_rework(tmp_path: Path) -> None:
    """With no shims in front to raise, what is off cannot be set, and nobody is sent to read it again."""
    path = book_of(tmp_path, front="")
    words = say("fitup", "step", "1", "-b", path)
    assert "REWORK: what is off cannot be set" in words
    assert "no foil can do that; grind 28" in words


def test_a_part_is_matched_by_itself(tmp_path: Path) -> None:
    """Concede finds the other pads and an inspected one, ranks them, and says how many were tried."""
    path = book_of(tmp_path)
    gauge = ("--gauge", "indicator", "--keep", "--who", "Ada", "-b", path)
    say("record", "pad_RL/height", "12.05", *gauge)
    say("record", "pad/height", "11.99", "--item", "P1", *gauge)
    words = say("concede", "pad_RL", "-b", path)
    assert "to match it with, 4 were tried" in words
    assert "the best of 4 that were tried" in words
    data = json.loads(say("concede", "pad_RL", "--json", "-b", path))
    assert {one["name"] for one in data["matches"]} == {"pad_FL", "pad_FR", "pad_RR", "P1"}
    assert data["matches"][0]["kind"] == "item"
    least = [min(one["chances"].values()) for one in data["matches"]]
    assert least == sorted(least, reverse=True)
    assert "to match it with, 1 was tried" in say("concede", "pad_RL", "--match", "pad_FR", "-b", path)
