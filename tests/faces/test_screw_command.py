"""loopwright fitup screw: a screw and its nut on the terminal."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from loopwright.book import create
from loopwright.buildfile import examples
from loopwright.cli import group


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of the clock-plate machine in which the gap of the Y nut was read."""
    path = tmp_path_factory.mktemp("screw") / "m.book"
    create(path, examples.text("clock-plate"), build_name="Clock-plate", who="Ada").close()
    done = CliRunner().invoke(
        group,
        [
            "record",
            "Y nut spacer",
            "3.04",
            "--gauge",
            "length gauge",
            "-b",
            str(path),
            "--who",
            "Ada",
            "--keep",
        ],
    )
    assert done.exit_code == 0, done.output
    return path


def test_side_load_falls_once_the_gap_is_known(book: Path) -> None:
    """A spacer ground to the gap takes the load off the nut; what is not known stays."""
    done = CliRunner().invoke(group, ["fitup", "screw", "Y slide", "-b", str(book), "--json"])
    assert done.exit_code == 0, done.output
    found = {one["contact"]: one for one in json.loads(done.output)["directions"]}
    height = found["nut height"]
    middle = len(height["side_load"]) // 2
    assert height["side_load_when_set"][middle] < 0.3 * height["side_load"][middle]
    (spacer,) = (one for one in height["remedies"] if one["what"] == "spacer")
    assert spacer["by"] == pytest.approx(40, abs=2)
    assert {one["what"] for one in found["nut side"]["remedies"]} == {"fixed mount", "free mount"}


def test_it_is_shown_with_what_to_set(book: Path) -> None:
    """Positions of the axis, loads in newtons, the spacer in the build's unit and how far pockets must be larger."""
    done = CliRunner().invoke(group, ["fitup", "screw", "Y slide", "-b", str(book)])
    assert done.exit_code == 0, done.output
    for words in ("Y 110 mm", " N", "spacer: ", "larger than what goes in"):
        assert words in done.output


def test_what_is_no_screw_is_refused(book: Path) -> None:
    """A joint without a drive, and one that is not there, are named with what would do."""
    for joint in ("column on base", "no such joint"):
        done = CliRunner().invoke(group, ["fitup", "screw", joint, "-b", str(book)])
        assert done.exit_code != 0
        assert "Y slide/drive" in str(done.exception) + done.output
