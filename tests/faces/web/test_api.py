"""The JSON API: answers by their schemas, readings entered once, and every refusal with a remedy."""

import json
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from browsers import Served, serving
from loopwright.book import open_book

OWN = {"X-Loopwright": "1", "Content-Type": "application/json"}
SEAT = {"of": "base/Y_seat_left", "values": [["70.001"]], "gauge": "height gauge"}


def asked(
    served: Served, path: str, body: Any = None, headers: dict[str, str] = OWN, raw: bytes | None = None
) -> tuple[int, Any]:
    """Status and JSON of an answer."""
    data = raw if raw is not None else None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(f"{served.address}/api/{path}", data, headers)
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return answer.status, json.loads(answer.read())
    except urllib.error.HTTPError as error:
        with error:
            return error.code, json.loads(error.read())


@pytest.fixture(scope="module")
def told(shown: Served) -> dict[str, Any]:
    """The description of the API."""
    described: dict[str, Any] = asked(shown, "openapi.json")[1]
    return described


@pytest.mark.parametrize(
    ("path", "described"),
    [
        ("standing", "/standing"),
        ("targets", "/targets"),
        ("parts", "/parts"),
        ("parts/column", "/parts/{part}"),
        ("gauges", "/gauges"),
        ("next", "/next"),
        ("next?minutes=60", "/next"),
        ("history?since=60", "/history"),
        ("states", "/states"),
        ("fitup/plan", "/fitup/plan"),
        ("fitup/steps/2", "/fitup/steps/{step}"),
        ("readings/asked?of=X%20straight%20in%20Y", "/readings/asked"),
    ],
)
def test_every_answer_is_as_it_is_described(
    shown: Served, told: dict[str, Any], path: str, described: str
) -> None:
    """OpenAPI 3.1 describes answers by JSON Schema; each is held against it."""
    status, answer = asked(shown, path)
    assert status == 200
    about = told["paths"][described]["get"]
    assert about["summary"]
    assert about["description"]
    schema = about["responses"]["200"]["content"]["application/json"]["schema"]
    whole = {**schema, "components": told["components"]}
    assert list(Draft202012Validator(whole).iter_errors(answer)) == []


def test_the_description_names_nothing_from_outside_and_no_page_loads_anything(
    shown: Served, told: dict[str, Any]
) -> None:
    """There is no page of documentation that would ask another host."""
    assert "http" not in json.dumps(told["paths"])
    assert asked(shown, "docs")[0] == 404


def test_what_is_not_there_is_said_so_with_a_remedy(shown: Served) -> None:
    """404, and problems as everywhere."""
    for path in ("parts/nothing", "fitup/steps/99", "readings/asked?of=nothing", "no/such/thing"):
        status, answer = asked(shown, path)
        assert status == 404, path
        assert set(answer["problems"][0]) == {"field", "what", "remedy"}
        assert answer["problems"][0]["remedy"]


def test_a_reading_is_considered_without_being_entered(shown: Served) -> None:
    """It says what would come of it, and the book stays as it is."""
    before = asked(shown, "standing")[1]["entries"]
    status, answer = asked(shown, "readings/consider", SEAT)
    assert (status, answer["conformity"]["verdict"], answer["doubt"]) == (200, "conforming", None)
    assert asked(shown, "standing")[1]["entries"] == before


def test_a_form_of_another_site_cannot_enter_anything(shown: Served) -> None:
    """Without the header of our own, and from another origin, everything that changes something is refused."""
    body = json.dumps({**SEAT, "key": "k" * 16}).encode()
    assert (
        asked(
            shown, "readings", headers={"Content-Type": "application/json", "Origin": shown.address}, raw=body
        )[0]
        == 403
    )
    foreign = urllib.request.Request(
        f"{shown.address}/api/readings", body, {**OWN, "Origin": "http://elsewhere.example"}
    )
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(foreign, timeout=30)
    refused.value.close()
    assert refused.value.code == 403


@pytest.mark.parametrize(
    ("body", "status", "field"),
    [
        (b"{", 400, ""),
        (json.dumps({"values": [["1"]]}).encode(), 422, "of"),
        (json.dumps({**SEAT, "colour": "red"}).encode(), 422, "colour"),
        (json.dumps({**SEAT, "of": "base/Y_seat_lefft"}).encode(), 422, "of"),
        (json.dumps({**SEAT, "gauge": "folding rule"}).encode(), 422, "gauge"),
        (json.dumps({**SEAT, "values": [["70.001", "seventy"]]}).encode(), 422, "values/0/1"),
        (json.dumps({**SEAT, "unit": "furlong"}).encode(), 422, "unit"),
        (json.dumps({**SEAT, "part_temperature": "warm"}).encode(), 422, "part_temperature"),
        (b'{"of": "' + b"x" * 1_100_000 + b'"}', 413, ""),
    ],
)
def test_what_cannot_be_used_is_told_field_by_field(
    shown: Served, body: bytes, status: int, field: str
) -> None:
    """With the path of the field, so that a program can show it where it was typed."""
    found, answer = asked(shown, "readings/consider", raw=body)
    assert (found, answer["problems"][0]["field"]) == (status, field)
    assert answer["problems"][0]["what"]


def test_a_value_is_looked_at_by_itself(shown: Served) -> None:
    """For a device that asks before it goes on."""
    assert asked(shown, "readings/value", {"of": "column/Z_seat_left", "text": "1 in"}) == (
        200,
        {"format": "loopwright-value/1", "value": "25.4 mm"},
    )
    assert asked(shown, "readings/value", {"of": "column/Z_seat_left", "text": "1,5"})[0] == 422


def test_readings_go_in_once_are_asked_about_and_clash_aloud(demo: Served) -> None:
    """Sent twice: one entry. Surprising: 409 with what may have been meant. Another book: 409."""
    status, first = asked(demo, "readings", {**SEAT, "key": "k" * 16, "seen": 79})
    assert (status, first["format"]) == (201, "loopwright-recorded/1")
    again = asked(demo, "readings", {**SEAT, "key": "k" * 16, "seen": 79})
    assert (again[0], again[1]["entry"]) == (200, first["entry"])
    assert asked(demo, "readings", {**SEAT, "values": [["70.2"]], "key": "k" * 16})[0] == 409

    slipped = {"of": "column/Z_shoulder", "values": [["50.02"]], "gauge": "length gauge", "key": "s" * 16}
    status, doubted = asked(demo, "readings", slipped)
    assert status == 409
    assert doubted["problems"][0]["field"] == "values"
    meant = doubted["asked"]["meant"][0]["send"]
    status, taken = asked(demo, "readings", {**slipped, **meant})
    assert (status, taken["reading"]["values"]) == (201, [50.002])
    assert asked(demo, "readings", {**slipped, "key": "t" * 16, "keep": True})[0] == 201

    status, other = asked(demo, "readings", {**SEAT, "key": "o" * 16, "book": "another"})
    assert (status, other["problems"][0]["field"]) == (409, "book")
    late = asked(demo, "readings", {**SEAT, "key": "l" * 16, "seen": 79})[1]
    assert first["entry"] in late["clashes"]
    assert demo.book is not None
    with open_book(demo.book) as book:
        assert len(book.entries("reading", subject="base/Y_seat_left")) == 2


def test_without_a_book_every_question_says_so(tmp_path: Path) -> None:
    """409, until one is opened in the pages."""
    with serving(None, folder=tmp_path) as served:
        status, answer = asked(served, "standing")
        assert (status, answer["problems"][0]["what"]) == (409, "no book is open")
