"""The JSON Schema of the build file, against its own standard and against what the reader accepts.

JSON Schema draft 2020-12, checked with its reference implementation for Python.
"""

import io
import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from loopwright.buildfile import examine, examples, json_schema
from loopwright.buildfile.schema import defaults, fields_at, records
from loopwright.model.build import Units

SCHEMA = json_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
START = "format: loopwright-build/1\nname: mill\nbodies: {base: {}, head: {}}\n"


def plain(text: str) -> Any:
    """A text as another YAML reader sees it."""
    return YAML(typ="safe", pure=True).load(io.StringIO(text))


def complaints(text: str) -> list[str]:
    """Places that the schema does not like, as field paths."""
    errors = sorted(VALIDATOR.iter_errors(plain(text)), key=lambda e: list(map(str, e.absolute_path)))
    return ["/".join(map(str, error.absolute_path)) for error in errors]


def parts(schema: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every schema inside a schema."""
    if isinstance(schema, dict):
        yield path, schema
    for key, inner in (
        schema.items() if isinstance(schema, dict) else enumerate(schema) if isinstance(schema, list) else ()
    ):
        yield from parts(inner, f"{path}/{key}")


def test_the_schema_is_one() -> None:
    """The schema keeps the rules of draft 2020-12, and every reference in it leads somewhere."""
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    references = {part["$ref"].removeprefix("#/$defs/") for _, part in parts(SCHEMA) if "$ref" in part}
    assert references <= set(SCHEMA["$defs"])
    assert set(SCHEMA["$defs"]) <= references


@pytest.mark.parametrize("name", examples.names())
def test_an_example_satisfies_it(name: str) -> None:
    """Each shipped example is right by the schema."""
    assert complaints(examples.text(name)) == []


def test_every_property_is_described() -> None:
    """An editor can show what any field means."""
    fields = [
        (path, name, field)
        for path, part in parts(SCHEMA)
        for name, field in part.get("properties", {}).items()
    ]
    assert len(fields) > 150
    described = [(p, n, f) for p, n, f in fields if not p.endswith("/properties")]
    assert [
        f"{path}/{name}" for path, name, field in described if not field.get("description", "").strip()
    ] == []
    assert [name for name, part in SCHEMA["$defs"].items() if not part.get("description")] == []


def test_no_field_is_described_by_a_word_of_the_program() -> None:
    """Descriptions speak to the maker of a machine: nothing of None, Python or lists in code."""
    words = [part["description"] for _, part in parts(SCHEMA) if isinstance(part.get("description"), str)]
    assert [
        text for text in words if any(word in text for word in ("None", "dict", "tuple", "numpy", "Pydantic"))
    ] == []


FIXED = START + "joints: {j: {kind: fixed, parent: base, child: head, "
WRONG = {
    "name: mill\nbodies: {base: {}}": "",
    START.replace("build/1", "build/2"): "format",
    "format: loopwright-build/1\nname: mill\nbodies: {}": "bodies",
    START + "bodys: {}": "",
    START + "parts: {column: {metarial: steel}}": "parts/column",
    START + "parts: {p: {dims: {h: {limits: ±1}}}}": "parts/p/dims/h",
    START + "parts: {p: {dims: {h: {nominal: 5, shape: round}}}}": "parts/p/dims/h",
    START + "parts: {a/b: {}}": "parts",
    START + "joints: {j: {kind: liner, parent: base, child: head}}": "joints/j/kind",
    START + "joints: {j: {kind: fixed, parent: base}}": "joints/j",
    FIXED + "contacts: {c: {at: [0, 0], normal: Z}}}}": "joints/j/contacts/c/at",
    FIXED + "contacts: {c: {at: [0, 0, 0], normal: W}}}}": "joints/j/contacts/c/normal",
    FIXED + "errors: {QQQ: ±1}}}": "joints/j/errors",
    START + "targets: {t: {between: [base], component: X, over: {X: [0, 1]}, limit: 1}}": "targets/t/between",
    START
    + "targets: {t: {between: [base, head], component: XW, over: {X: [0, 1]}, limit: 1}}": "targets/t/component",
    START + "targets: {t: {between: [base, head], component: X, over: {X: 5}, limit: 1}}": "targets/t/over/X",
    START + "tests: {t: {between: [base, head], along: X, zeroed: lines}}": "tests/t/zeroed",
    START + "tests: {t: {between: [base, head], along: X, minutes: many}}": "tests/t/minutes",
    START + "fit_up: [{note: x}]": "fit_up/0",
    START + "fit_up: {step: x}": "fit_up",
}


@pytest.mark.parametrize("text", WRONG)
def test_a_wrong_file_is_refused(text: str) -> None:
    """A mistake of form is seen by the schema, at the place where the reader sees it too."""
    assert complaints(text) == [WRONG[text]]
    assert examine(text).problems


VALUES = st.recursive(
    st.sampled_from(
        [1, 0.5, "5 mm", "±1", "x", True, None, "+X", "free", "mean", [0, 0, 1], [0, 5, 1], [0, 5]]
    ),
    lambda inner: st.dictionaries(
        st.sampled_from(["X", "value", "limits", "nominal", "at", "kind"]), inner, max_size=2
    ),
    max_leaves=3,
)
PLACES = [("parts", "p"), ("bodies", "base"), ("gauges", "g"), ("units",), ("heat",)]
FIELDS = [
    *((*place, field) for place in PLACES for field in fields_at(place)),
    *((field,) for field in fields_at(()) if field not in ("format", "name", "bodies")),
    ("parts", "p", "dims", "h"),
    ("loads", "l", "force"),
    ("tests", "t", "zeroed"),
    ("tests", "t", "sweep"),
]


def is_about_a_name(what: str) -> bool:
    """A name that leads nowhere, which a schema cannot know."""
    return "there is no field" not in what and ("there is no " in what or "no material" in what)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(FIELDS), VALUES)
def test_what_the_reader_takes_the_schema_takes(field: tuple[str, ...], value: Any) -> None:
    """The schema is never stricter than the reader, so an editor never marks a file that is right."""
    data: dict[str, Any] = {"format": "loopwright-build/1", "name": "m", "bodies": {"base": {}, "head": {}}}
    if field[0] == "loads":
        data["loads"] = {"l": {"on": "base", "at": [0, 0, 0]}}
    if field[0] == "tests":
        data["tests"] = {"t": {"between": ["base", "head"], "along": "X"}}
    here = data
    for key in field[:-1]:
        here = here.setdefault(key, {})
    here[field[-1]] = value
    found = examine(json.dumps(data, ensure_ascii=False))
    about = [p for p in found.problems if p.field.startswith("/".join(field)) and not is_about_a_name(p.what)]
    told = {"/".join(map(str, error.absolute_path)) for error in VALIDATOR.iter_errors(data)}
    assert about or not told, (data, told)


def test_fields_are_known_by_place() -> None:
    """The names that a place knows come from the schema, through references, mappings and lists."""
    assert fields_at(()) == list(SCHEMA["properties"])
    assert "limits" in fields_at(("parts", "p", "dims", "h"))
    assert "range" in fields_at(("joints", "j", "contacts", "c", "adjust"))
    assert "slope" in fields_at(("joints", "j", "guide", "rails", "r", "height"))
    assert "preload" in fields_at(("joints", "j", "guide", "blocks", "b", "side"))
    assert "varies" in fields_at(("joints", "j", "errors", "EXX"))
    assert "accept" in fields_at(("fit_up", "3"))
    assert fields_at(("fit_up",)) == []
    assert fields_at(("name", "x")) == []
    assert fields_at(("nowhere",)) == []


def test_defaults_are_what_a_file_would_say() -> None:
    """A default in the schema, written into a file, changes nothing."""
    empty = examine(START).build
    for name, value in defaults(records()["Build"]).items():
        if value is not None and name not in ("format", "units"):
            written = json.dumps(value, ensure_ascii=False)
            assert examine(START + f"{name}: {written}\n").build == empty, name
    assert defaults(records()["Build"])["contact_stiffness"] == "200 N/µm"
    assert defaults(records()["Units"]) == Units().model_dump()
    assert defaults(records()["Gauge"])["calibration"] == "±0"
