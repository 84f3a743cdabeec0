"""Every answer that a command prints with --json, held against its published schema.

JSON Schema draft 2020-12, checked with its reference implementation for Python; the answers are real ones, about the
shipped example machines and their invented history.
"""

import contextlib
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator
from threadpoolctl import threadpool_limits

import made_parts
import two_posts
from loopwright.book import create
from loopwright.buildfile import examples
from loopwright.cli import group
from loopwright.cli.faults import guarded
from loopwright.errors import RequestError
from loopwright.studies.answer_schemas import answers, schema_of
from loopwright.studies.evaluating import KINDS
from loopwright.studies.example_history import open_example

BUDGET = ("drill.yaml", "--trials", "300")
TABLE = "dim,serial,value (mm)\npad_FL/height,,12.001\nball screw/mean travel,A1,0.003\n"
STOCK = """shop:
  bars:
    flat: {material: tool steel O1, section: flat 40 x 15, length: 60}
    flat new: {material: tool steel O1, section: flat 40 x 15, length: 500, buy: true, price: 20}
"""
EVALUATIONS = {
    kind.command: (
        kind.command,
        *(word for name, text in kind.example.items() for word in (f"--{name.replace(' ', '-')}", text)),
    )
    for kind in KINDS
}
ANSWERS = [
    ("check", "check", ("drill.yaml",)),
    ("check", "check", ("broken.yaml",)),
    ("budget", "budget", (*BUDGET, "--poses")),
    ("budget", "budget", (*BUDGET, "--set", "column/Z_seat_left=85 ±0.5", "--target", "hole position")),
    ("budget", "budget", ("gantry.yaml", "--trials", "300")),
    ("book new", "book-info", ("gantry.yaml", "new.book")),
    ("book show", "book-info", ()),
    ("book save", "book-info", ("drill.yaml",)),
    ("book save", "entered", ("finer.yaml",)),
    ("book verify", "book-verified", ()),
    ("book calibrate", "entered", ("length gauge", "--limit", "1 µm")),
    ("book stock", "entered", ("shim foil", "0.05", "--count", "4")),
    ("book withdraw", "entered", ("40", "--why", "probe was loose")),
    ("record", "recorded", ("column/Z_shoulder", "50.003", "--gauge", "length gauge", "--keep")),
    ("record", "recorded", ("spindle tram side to side", "1", "--unit", "arcsec", "--keep", "--budget")),
    ("record", "recorded", ("ball screw/mean travel", "2 µm", "--item", "Z9", "--gauge", "length gauge")),
    ("import-readings", "imported", ("table.csv", "--gauge", "length gauge", "--yes", "--keep")),
    ("import-readings", "imported", ("table.csv", "--gauge", "length gauge", "--yes", "--look")),
    ("standing", "standing", ()),
    ("standing", "standing", ("--state", "2", "--target", "hole position")),
    ("what-if", "what-if", ("general_limits=±0.1", "--target", "hole position")),
    ("next", "next", ("--hours", "1", "--gauges", "--among", "X straight in Y", "--among", "head_spacer/thickness")),
    ("parts", "parts", ()),
    ("route", "route", ("ring", "--file", "made.yaml")),
    ("chart", "chart", ("bracket", "--audit", "--file", "made.yaml")),
    ("cut", "cutting", ("ring", "20", "--file", "made.yaml")),
    ("cheapest", "cheapest", ("--chance", "95%", "--file", "posts.yaml")),
    ("stock", "stock", ("ring", "--file", "made.yaml")),
    ("stock", "stock", ("bracket", "--surface", "pin", "--chance", "90%", "--file", "made.yaml")),
    ("blanks", "blanks", ("--file", "made.yaml")),
    ("blanks", "blanks", ("--sawn", "--file", "stock.yaml")),
    ("machines", "machines", ()),
    ("machines", "machines", ("saw", "--file", "made.yaml")),
    ("sheets", "sheets", ("all", "bracket", "--out", "sheets", "--file", "made.yaml")),
    ("fitup plan", "fitup-plan", ("--quick",)),
    ("fitup plan", "fitup-plan", ("--book", "gantry.book")),
    *(("fitup step", "fitup-step", (str(number),)) for number in (2, 8, 9)),
    ("fitup set", "entered", ("head_spacer/thickness=6.0", "--step", "9", "--why", "ground")),
    ("fitup set", "entered", ("--exchanged", "pad_FL", "--why", "made anew")),
    ("fitup screw", "screw", ("Y slide",)),
    ("concede", "concession", ("column",)),
    ("concede", "concession", ("column", "--decide", "use as is")),
    ("select", "selection", ("ball screw", "--place", "Y slide/drive", "--grade", "C5")),
    ("select", "selection", ("ball screw", "--place", "Y slide/drive", "--put-in")),
    ("history", "history", ("--states",)),
    ("address", "address", ("column",)),
    ("address", "address", ()),
    ("history --replay", "replay", ("--replay", "--since", "60")),
    *(("evaluate", "evaluation", words) for words in EVALUATIONS.values()),
    ("evaluate", "evaluation", (*EVALUATIONS["tram-across"], "--record", "spindle tram side to side", "--keep")),
    ("evaluate --list", "evaluations", ("--list",)),
]  # fmt: skip


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the shipped history as a book, both machines, a wrong one, and a table of readings."""
    folder = tmp_path_factory.mktemp("told")
    open_example("clock-plate", folder / "drill.book").close()
    gantry = examples.text("guitar-gantry")
    create(folder / "gantry.book", gantry, build_name="Gantry", who="Ada").close()
    drill = examples.text("clock-plate")
    texts = {
        "drill.yaml": drill,
        "finer.yaml": drill.replace("limit: 15 µm", "limit: 12 µm"),
        "gantry.yaml": gantry,
        "broken.yaml": drill.replace("kind: linear", "kind: liner"),
        "table.csv": TABLE,
        "posts.yaml": two_posts.CHOOSING,
        "stock.yaml": made_parts.text(made_parts.PADS, head=made_parts.GAUGES).replace("shop:\n", STOCK),
        "made.yaml": made_parts.text(made_parts.RING, made_parts.BRACKET),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8")
    return folder


@pytest.fixture
def shop(told: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it to work in."""
    for file in told.iterdir():
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LOOPWRIGHT_WHO", "Ada")
    monkeypatch.setenv("LOOPWRIGHT_BOOK", "drill.book")
    return tmp_path


def answer(*words: str) -> Any:
    """What a command prints on its output, and nothing else, as data."""
    # many small products: threads would wait for each other longer than they work
    with CliRunner().isolation() as streams, threadpool_limits(1):
        with contextlib.suppress(SystemExit):
            guarded(
                lambda: group([*words, *(() if "--list" in words else ("--json",))], standalone_mode=False)
            )
        printed = streams[0].getvalue()
        assert printed, streams[1].getvalue().decode()
        return json.loads(printed)


def complaints(name: str, data: Any) -> list[str]:
    """What the schema of an answer does not like in it."""
    return [
        f"{e.json_path}: {e.message[:200]}" for e in Draft202012Validator(schema_of(name)).iter_errors(data)
    ]


@pytest.mark.parametrize(("command", "name", "words"), ANSWERS)
@pytest.mark.usefixtures("shop")
def test_an_answer_satisfies_its_schema(command: str, name: str, words: tuple[str, ...]) -> None:
    """What a command prints is valid by the schema of its format, to the last field."""
    data = answer(*command.partition(" --")[0].split(), *words)
    assert data["format"] == f"loopwright-{name}/1"
    assert complaints(name, data) == []


def commands_with_json() -> set[str]:
    """Every command that can be asked for --json, by its words."""
    found = set()

    def walk(command: click.Command, words: tuple[str, ...]) -> None:
        if any("--json" in one.opts for one in command.params):
            found.add(" ".join(words))
        if isinstance(command, click.Group):
            context = click.Context(command)
            for name in command.list_commands(context):
                inner = command.get_command(context, name)
                assert inner is not None
                walk(inner, (*words, name))

    walk(group, ())
    return found


def test_no_answer_is_left_out() -> None:
    """Each command with --json is asked above, and each published answer is printed by the commands it names."""
    asked = {command for command, _, _ in ANSWERS}
    found = {"evaluate" if command.startswith("evaluate ") else command for command in commands_with_json()}
    assert found == {command.partition(" --")[0] for command in asked}
    assert {(command, name) for command, name, _ in ANSWERS} == {
        (command, one.name) for one in answers().values() for command in one.commands
    }


def inside(schema: Any, said: str = "", path: str = "") -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every schema inside a schema, with its path and with what is said of it and of what it is a list of."""
    if isinstance(schema, list):
        for number, part in enumerate(schema):
            yield from inside(part, said, f"{path}/{number}")
    if not isinstance(schema, dict):
        return
    said = f"{said} {schema.get('description', '')}"
    yield path, said, schema
    for key, part in schema.get("properties", {}).items():
        yield from inside(part, "", f"{path}/{key}")
    for key in ("items", "additionalProperties", "anyOf", "oneOf", "prefixItems"):
        yield from inside(schema.get(key), said, path)
    for key, part in schema.get("$defs", {}).items():
        yield from inside(part, "", f"{path}/{key}")


@pytest.mark.parametrize("name", answers())
def test_a_schema_is_one_and_is_strict(name: str) -> None:
    """It keeps the rules of draft 2020-12, its references lead somewhere, and no object in it takes unknown fields."""
    schema = schema_of(name)
    Draft202012Validator.check_schema(schema)
    references = {part["$ref"].removeprefix("#/$defs/") for _, _, part in inside(schema) if "$ref" in part}
    assert references == set(schema.get("$defs", {}))
    for path, _, part in inside(schema):
        if "properties" in part:
            assert part["additionalProperties"] is False, path
            assert set(part["required"]) | {"at_poses"} >= set(part["properties"]), path
        elif part.get("type") == "object":
            assert isinstance(part["additionalProperties"], dict) or path.endswith("/ColumnsKept/columns"), (
                path
            )


UNIT = re.compile(
    r"'unit'|'size_unit'|unit of its column|fraction of|standard uncertainties|a number|a factor|unit vector|"
    r"\b(?:N|min|mm|K|degC)\b"
)


@pytest.mark.parametrize("name", answers())
def test_every_number_says_its_unit(name: str) -> None:
    """A reader of the schema knows of each number what it is in."""
    for path, said, part in inside(schema_of(name)):
        if "number" in part.get("type", ()):
            assert UNIT.search(said), f"{path}: {said}"


@pytest.mark.usefixtures("shop")
def test_a_field_more_or_less_is_seen() -> None:
    """A field that is added, left out or of another kind does not pass, however deep it stands."""
    data = answer("parts")
    assert complaints("parts", data) == []
    first = data["dims"][0]
    for wrong in (
        {**data, "dims": [{**first, "colour": "blue"}]},
        {**data, "dims": [{key: value for key, value in first.items() if key != "size_unit"}]},
        {**data, "dims": [{**first, "size": str(first["size"])}]},
        {**data, "format": "loopwright-parts/2"},
        {key: value for key, value in data.items() if key != "unread"},
    ):
        assert len(complaints("parts", wrong)) == 1, wrong


def test_an_unknown_answer_is_told_with_those_there_are() -> None:
    """Asking for another name says which there are, from the program and from the command line."""
    with pytest.raises(RequestError, match="standing"):
        schema_of("weather")
    done = CliRunner().invoke(group, ["schema", "--answer", "weather"])
    assert done.exit_code == 2
    assert "fitup-plan" in done.output
    shown = CliRunner().invoke(group, ["schema", "--answer", "parts"])
    assert json.loads(shown.output) == schema_of("parts")
