"""The commands about the making of a part: its route and its tolerance charts."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from loopwright.cli import group
from loopwright.studies.answer_schemas import schema_of
from two_posts import CHOOSING

RING = """
format: loopwright-build/1
name: one ring
shop:
  machines:
    lathe: {kind: manual lathe, holds: {turn: {cut: 5 µm, setting: 10 µm, seating: 5 µm}}}
    grinder: {kind: surface grinder, holds: {surface grind: {cut: 1 µm, setting: 1 µm, seating: 1 µm}}}
    furnace: {kind: furnace}
    saw: {kind: bandsaw}
parts:
  ring:
    material: tool steel O1
    condition: annealed
    blank: {section: round 65}
    dims: {thickness: 25 ±0.01, step: 10 ±0.03}
    surfaces: {left: -Z, right: +Z, shoulder: +Z}
    spans: {thickness: [left, right], step: [left, shoulder]}
    route:
      - {op: saw, machine: saw, cuts: {left: {}, right: {measured_from: left}}}
      - {op: turn, machine: lathe, setup: chuck, datum: [right], cuts: {left: {least: 0.5}}}
      - {op: turn, machine: lathe, setup: turned round, datum: [left], cuts: {right: {least: 0.5}, shoulder: {}}, minutes: 12}
      - {op: harden, machine: furnace, grows: 0.1 % ±0.05 %, hardness: 60…62 HRC}
      - {op: surface grind, machine: grinder, setup: first, datum: [right], cuts: {left: {least: 0.1}}, inspect: [thickness]}
      - {op: surface grind, machine: grinder, setup: second, datum: [left], cuts: {right: {least: 0.1}}}
bodies: {body: {parts: [ring]}}
"""  # noqa: E501


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A build file with one ring."""
    path = tmp_path / "ring.yaml"
    path.write_text(RING, "utf-8")
    return path


def run(*words: str) -> str:
    """What a command prints."""
    found = CliRunner().invoke(group, words, catch_exceptions=False)
    assert found.exit_code == 0, found.output
    return found.output


def test_a_route_is_told_op_by_op(file: Path) -> None:
    """Ops are numbered by tens, with machine, datum, working dims, stock, and cautions that defer to others."""
    said = run("route", "ring", "--file", str(file))
    assert "  10  saw" in said
    assert "60  surface grind   grinder, second" in said
    assert "on right" in said
    assert "takes off 0.1 to" in said
    assert "the hardness test must show 60 to 62 HRC" in said
    assert "measure thickness" in said
    assert "oil quench" in said
    assert "licensed" in said


def test_a_chart_says_what_holds_and_what_does_not(file: Path) -> None:
    """The finished thickness is one grinding cut; the ground-in step is what is left of a turned one and the stock."""
    said = run("chart", "ring", "--file", str(file))
    assert "along Z: does not hold" in said
    assert "'step' leaves" in said
    assert "what would free it" in said


@pytest.mark.parametrize("words", [("route",), ("chart",), ("chart", "--audit")])
def test_the_answer_as_data_keeps_its_schema(file: Path, words: tuple[str, ...]) -> None:
    """What --json prints is what the schema of the answer promises."""
    said = json.loads(run(*words, "ring", "--file", str(file), "--json"))
    Draft202012Validator(schema_of(words[0])).validate(said)
    assert said["part"] == "ring"


def test_the_stock_of_a_chart_is_what_was_asked_for(file: Path) -> None:
    """In worst case no cut finds less than its least stock, as the route asks it."""
    said = json.loads(run("chart", "ring", "--file", str(file), "--json"))
    (along,) = said["charts"]
    assert {one["name"] for one in along["stock"]} >= {"stock on left (op 50)", "stock on right (op 60)"}
    for one in along["stock"]:
        assert one["worst_case"][0] >= one["asked"][0] - 1e-9


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("route", "rim"), "there is no part 'rim'"),
        (("chart", "rim"), "there are: ring"),
        (("route", "ring", "--book", "x.book"), "both a book and a file are named"),
    ],
)
def test_a_wrong_question_is_answered_with_a_remedy(file: Path, words: tuple[str, ...], says: str) -> None:
    """An unknown part is named, with those there are."""
    with pytest.raises(Exception, match=says):
        CliRunner().invoke(
            group, [*words, "--file", str(file)], catch_exceptions=False, standalone_mode=False
        )


def test_the_cheapest_change_is_told_and_as_data(tmp_path: Path) -> None:
    """Two posts that may be milled in one setting: the change, what it saves, that it is proven."""
    path = tmp_path / "posts.yaml"
    path.write_text(CHOOSING, "utf-8")
    words = ("cheapest", "--chance", "95 %", "--file", str(path))
    said = run(*words)
    assert "in one setting" in said
    assert "10 attended minutes less" in said
    assert "proven" in said
    data = json.loads(run(*words, "--json"))
    Draft202012Validator(schema_of("cheapest")).validate(data)
    assert data["minutes"] == pytest.approx(-10)
