"""The JSON Schema of every answer that a command prints with --json, by name; a test holds each against real answers.

Lengths and angles are in the unit beside them: 'unit' for errors, 'size_unit' for sizes. Records of the book are as
the book holds them, in mm and rad.
"""

from collections.abc import Iterator

from loopwright.errors import RequestError
from loopwright.studies.answer_bench import at_the_bench, of_a_book
from loopwright.studies.answer_blanks import about_blanks
from loopwright.studies.answer_common import SHARED
from loopwright.studies.answer_cutting import about_cutting
from loopwright.studies.answer_evaluation import of_raw_readings
from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    by_name,
    count,
    flag,
    listed,
    record,
    text,
    whole,
)
from loopwright.studies.answer_fitup import in_fit_up
from loopwright.studies.answer_machines import about_machines
from loopwright.studies.answer_records import record_schemas
from loopwright.studies.answer_route import route_answers
from loopwright.studies.answer_shop_sheets import about_sheets
from loopwright.studies.answer_stock import about_stock
from loopwright.studies.exchange_schema import BUDGET, BUDGET_ANSWER, TARGET


def answers() -> dict[str, Answer]:
    """Every kind of answer by its name.

    >>> answers()["parts"].commands
    ('parts',)
    """
    return {
        one.name: one
        for group in (_of_a_file, of_a_book, at_the_bench, in_fit_up, of_raw_readings, _of_making)
        for one in group()
    }


def _of_making() -> Iterator[Answer]:
    yield from route_answers().values()
    yield from about_stock()
    yield from about_cutting()
    yield from about_blanks()
    yield from about_sheets()
    yield from about_machines()


def schema_of(name: str) -> Schema:
    """JSON Schema (draft 2020-12) of an answer.

    Args:
        name: of the answer, as in its format: 'standing' for loopwright-standing/1.

    Raises:
        RequestError: there is no such answer.

    >>> schema_of("parts")["title"]
    'loopwright-parts/1: every dim that was read, with its verdict'
    """
    known = answers()
    if name not in known:
        raise RequestError(f"there is no answer '{name}'", f"there are: {', '.join(known)}")
    one = known[name]
    return whole(one.schema, f"{one.format}: {one.says}", shared_schemas())


def shared_schemas() -> dict[str, Schema]:
    """What several answers have, by name."""
    return {
        **SHARED,
        "budget": BUDGET,
        "budget_target": TARGET,
        "entered": answers()["entered"].schema,
        "recorded": answers()["recorded"].schema,
        "standing": answers()["standing"].schema,
        **record_schemas(),
    }


def _of_a_file() -> Iterator[Answer]:
    problem = record(
        field=text("path of the field, parts joined by '/'; empty for the whole file"),
        what=text("what is wrong"),
        remedy=text("what would do"),
        file=text("its name", null="not of a file"),
        line=count("line of the file, counted from 1", null="it is not known"),
    )
    yield answer(
        "check",
        "check",
        "every mistake in a build file",
        file=text("its name", null="it came from none"),
        build=text("name of the machine", null="it could not be read"),
        problems=listed(problem, "every mistake, in the order of the file"),
        notes=listed(text(), "what is allowed, and may not be meant"),
        counts=by_name(
            count("how many"), "of parts, dims, bodies and so on; empty where the file could not be read"
        ),
        ok=flag("it can be used"),
    )
    yield Answer("budget", ("budget",), "what the machine will hold", BUDGET_ANSWER)
    yield answer(
        "book-verified",
        "book verify",
        "whether a book is sound",
        place=text("where the book is"),
        entries=count("how many could be read"),
        problems=listed(problem, "what is wrong"),
        sound=flag("nothing is wrong"),
    )
