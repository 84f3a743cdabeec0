"""The commands, as a person and as another program use them."""

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from loopwright.buildfile import examples
from loopwright.studies.answer_schemas import schema_of


def run(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Runs the command as installed, with plain output."""
    return subprocess.run(
        [sys.executable, "-m", "loopwright", *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


@pytest.fixture
def drill(tmp_path: Path) -> Path:
    """A folder with the clock-plate example in it as drill.yaml."""
    assert run("new", "drill.yaml", "--like", "clock-plate", cwd=tmp_path).returncode == 0
    return tmp_path


def test_check_of_an_example_finds_nothing(drill: Path) -> None:
    """A shipped example has no mistakes."""
    done = run("check", "drill.yaml", cwd=drill)
    assert done.returncode == 0, done.stderr
    assert "no mistakes found" in done.stdout


def test_check_names_line_field_and_remedy(drill: Path) -> None:
    """A mistake is told with its line, its field and what would do, and ends with status 1."""
    text = (drill / "drill.yaml").read_text(encoding="utf-8")
    (drill / "drill.yaml").write_text(text.replace("parent: base", "parent: bass", 1), encoding="utf-8")
    done = run("check", "drill.yaml", cwd=drill)
    line = next(n for n, content in enumerate(text.splitlines(), 1) if "parent: base" in content)
    assert done.returncode == 1
    assert f"drill.yaml:{line}" in done.stderr
    assert "did you mean 'base'?" in done.stderr
    assert "Traceback" not in done.stderr


def test_budget_says_the_chance_and_the_three_answers(drill: Path) -> None:
    """The answer for people holds the chance, the three answers and what drives them."""
    done = run("budget", "drill.yaml", "--trials", "4000", cwd=drill)
    assert done.returncode == 0, done.stderr
    for words in (
        "hold the limit everywhere",
        "expected",
        "worst case",
        "what drives it",
        "Over-constraint",
        "Assumed",
    ):
        assert words in done.stdout


def test_budget_as_json_keeps_its_schema(drill: Path) -> None:
    """What --json prints is valid by the published schema, alone and with --set."""
    for more in ((), ("--set", "column/Z_seat_left=85 ±0.5")):
        done = run("budget", "drill.yaml", "--json", "--trials", "2000", *more, cwd=drill)
        assert done.returncode == 0, done.stderr
        jsonschema.validate(json.loads(done.stdout), schema_of("budget"))


def test_shares_in_json_sum_to_one(drill: Path) -> None:
    """The shares of the sources of a target add up to one."""
    done = run("budget", "drill.yaml", "--json", "--trials", "2000", cwd=drill)
    for target in json.loads(done.stdout)["targets"]:
        assert sum(source["share"] for source in target["sources"]) == pytest.approx(1, abs=1e-6)


def test_same_seed_same_numbers(drill: Path) -> None:
    """Two runs with one seed print the same to the last letter; another seed differs."""
    first, again, other = (
        run("budget", "drill.yaml", "--trials", "3000", "--seed", seed, cwd=drill).stdout
        for seed in ("3", "3", "4")
    )
    assert first == again
    assert first != other


def test_what_if_shows_before_and_after(drill: Path) -> None:
    """--set shows the file's standing and the changed one side by side, and leaves the file alone."""
    before = (drill / "drill.yaml").read_bytes()
    done = run(
        "budget",
        "drill.yaml",
        "--trials",
        "3000",
        "--set",
        "general_limits=±0.1",
        "--target",
        "hole position",
        cwd=drill,
    )
    assert done.returncode == 0, done.stderr
    assert "What if" in done.stdout
    assert "as the file has it" in done.stdout
    assert (drill / "drill.yaml").read_bytes() == before


def test_new_does_not_write_over(drill: Path) -> None:
    """A file that is there stays as it is unless --force says otherwise."""
    (drill / "drill.yaml").write_text("mine", encoding="utf-8")
    done = run("new", "drill.yaml", cwd=drill)
    assert done.returncode == 1
    assert "already there" in done.stderr
    assert (drill / "drill.yaml").read_text(encoding="utf-8") == "mine"
    assert run("new", "drill.yaml", "--force", cwd=drill).returncode == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("budget", "drill.yaml", "--target", "whole position"), "there is no target 'whole position'"),
        (("budget", "drill.yaml", "--set", "column/hight=3"), "there is no"),
        (("budget", "drill.yaml", "--set", "nonsense"), "PATH=VALUE"),
        (("budget", "drill.yaml", "--trials", "3"), "100 to"),
        (("budget", "drill.yaml", "--seed", "-3"), "negative"),
        (("budget", "missing.yaml"), "cannot be opened"),
        (("check", "missing.yaml"), "cannot be opened"),
        (("new", "x.yaml", "--like", "clock-pate"), "did you mean 'clock-plate'?"),
        (("new", "no-such-folder/x.yaml"), "cannot be written"),
        (
            ("budget", "drill.yaml", "--trials", "200", "--report", "no-such-folder/x.html"),
            "cannot be written",
        ),
    ],
)
def test_wrong_requests_end_in_a_remedy(drill: Path, words: tuple[str, ...], told: str) -> None:
    """A request that cannot be met says why and what would do, with status 1 and no traceback."""
    done = run(*words, cwd=drill)
    assert done.returncode == 1
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_an_unknown_command_is_a_wrong_call(tmp_path: Path) -> None:
    """A word that is no command ends with status 2."""
    done = run("bugdet", cwd=tmp_path)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("name", examples.names())
def test_every_example_can_be_budgeted(tmp_path: Path, name: str) -> None:
    """Every shipped example is read and budgeted from the command line, and its report is written."""
    assert run("new", "m.yaml", "--like", name, cwd=tmp_path).returncode == 0
    done = run("budget", "m.yaml", "--trials", "2000", "--report", "m.html", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "m.html").read_text(encoding="utf-8").lower().startswith("<!doctype html>")


def test_help_loads_nothing_heavy(tmp_path: Path) -> None:
    """Help comes without numpy, pydantic or the build model being loaded."""
    code = "import sys; from click.testing import CliRunner; from loopwright.cli import group;"
    code += "CliRunner().invoke(group, ['--help']); heavy = ('numpy', 'pydantic', 'ruamel.yaml', 'rich');"
    code += "print([m for m in heavy if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, timeout=60
    )
    assert done.stdout.strip() == "[]", done.stdout + done.stderr


def test_both_schemas_are_printed(tmp_path: Path) -> None:
    """Schema prints valid JSON Schemas of the build file and of the budget."""
    for words in ((), ("--answer", "budget")):
        done = run("schema", *words, cwd=tmp_path)
        jsonschema.Draft202012Validator.check_schema(json.loads(done.stdout))


def test_every_pose_is_given_when_asked_for(drill: Path) -> None:
    """--poses adds bias and standard uncertainty at each of the poses; without it they are left out."""
    done = run("budget", "drill.yaml", "--json", "--poses", "--trials", "500", cwd=drill)
    data = json.loads(done.stdout)
    jsonschema.validate(data, schema_of("budget"))
    target = data["targets"][0]
    assert len(target["at_poses"]) == target["poses"] == 125
    worst = next(p for p in target["at_poses"] if p["pose"] == target["worst_pose"])
    assert worst["standard_uncertainty"] == [c["standard_uncertainty"] for c in target["components"]]


def test_a_volume_of_a_million_points_is_refused_by_name(drill: Path) -> None:
    """A target over a million poses is refused at once; the answer names it and says what would do."""
    fine = "{X: [0, 320, 3.2], Y: [0, 220, 2.2], Z: [0, 120, 1.2]}"
    done = run("budget", "drill.yaml", "--set", f"targets/hole position/over={fine}", cwd=drill)
    assert done.returncode == 1
    assert "'hole position'" in done.stderr
    assert "1030301 poses" in done.stderr
    assert "coarser steps" in done.stderr
