"""What the evaluations of raw readings answer."""

from collections.abc import Iterator
from typing import Any

from loopwright.studies.answer_common import WORDS
from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    by_name,
    count,
    flag,
    listed,
    number,
    record,
    share,
    shared,
    size,
    small,
    text,
    unit,
)

_PARTS = listed(
    record(name=text("where it comes from"), standard_uncertainty=small(null="nothing is known")),
    "where the uncertainty comes from",
)
_NO_VALUE = "the readings do not tell it, or it has none"


def of_raw_readings() -> Iterator[Answer]:
    """What is said of raw readings, and what can be."""
    yield _evaluation()
    yield _evaluations()


_RESULT = record(
    name=text("name of what was found"),
    unit=text("unit of the numbers beside it; empty for a plain number"),
    value=small(null=_NO_VALUE),
    standard_uncertainty=small(null=_NO_VALUE),
    expanded=small("expanded uncertainty", null=_NO_VALUE),
    contributions=_PARTS,
    note=text("what else to know, as why there is no value; empty for nothing"),
)
_COLUMN = record(
    name=text("of the column"),
    role=text("what its cells are", one_of=("place", "value", "u", "text")),
    unit=text("unit of its numbers", null="they have none, or are words"),
)
_LOOP = record(
    unit=unit("error and uncertainty"),
    error=small("height missing after one turn round"),
    standard_uncertainty=small("that the readings allow it"),
    size_unit=unit("the stations"),
    stations=listed(
        listed(size(), "where it goes round: x and y"), "in order; the last is joined to the first"
    ),
)


def _evaluation() -> Answer:
    cell: Schema = {
        "type": ["number", "string", "null"],
        "description": "in the unit of its column, or words",
    }
    return answer(
        "evaluation",
        "evaluate",
        "what raw readings say",
        evaluation=text("name of the evaluation"),
        file=text("name of the table that they came from", null="they came from none"),
        readings=count("how many"),
        settings=by_name(text(), "what was said once for all, as typed"),
        one_reading=record(
            "what one reading is worth",
            unit=unit("the uncertainties beside it"),
            own=small("standard uncertainty of its own"),
            shared=small("standard uncertainty of what all readings have in common"),
            gauge=text("what it was read with", null="the uncertainty was stated"),
            stated=text("the uncertainty as typed", null="it is that of the gauge"),
            contributions=_PARTS,
        ),
        coverage=record(
            "of expanded uncertainties",
            confidence=share(null="the plain factor is meant"),
            factor=number("coverage factor", "a number"),
        ),
        results=listed(_RESULT, "what was found, the headline first"),
        tables=listed(
            record(
                title=text("what it lists"),
                columns=listed(_COLUMN, "of the table"),
                rows=listed(listed(cell, "one cell for each column"), "what was found at each place"),
            ),
            "what was found at each place",
        ),
        closures=listed(_LOOP, "closed loops of level readings"),
        grading=_grading(),
        includes=listed(text(), "what the uncertainty includes"),
        not_seen=listed(text(), "what it does not"),
        notes=listed(text(), "what else to know"),
        cautions=listed(text(), "what can hurt someone"),
        recorded=shared("recorded", null="it was not entered in a book"),
    )


def _grading() -> Schema:
    return record(
        "of a screw against a grade",
        null="of anything else, or where no grade is asked",
        grade=text("that was proven or asked", null="none was proven"),
        limits_of=text("grade whose limits these are"),
        verdict=text("on all its limits together"),
        confidence=share("probability from which a limit counts as kept"),
        limits=listed(
            record(
                name=text("letters of the value"),
                says=text("the same in words"),
                unit=unit(),
                value=small(null="it could not be read"),
                standard_uncertainty=small(null="it could not be read"),
                limit=small(),
                both_sides=flag("the limit holds to both sides of zero"),
                probability=share("that it is kept", null="there is no value"),
                verdict=text("what can be said", one_of=WORDS),
                standard=text("of the limit, with its edition"),
                source=text("how the limit is known"),
                reason=text("why it is undecided; empty otherwise"),
            ),
            "one for each limit of the grade",
        ),
        notes=listed(text(), "what it rests on"),
    )


def _evaluations() -> Answer:
    asked: dict[str, Any] = {
        "name": text("its name"),
        "help": text("what to type"),
        "dimension": text("what it is a quantity of", null="words or counts"),
    }
    return answer(
        "evaluations",
        "evaluate --list",
        "what can be evaluated, and all that a form needs",
        evaluations=listed(
            record(
                name=text("its name"),
                command=text("what it is called on the command line"),
                help=text("what it finds"),
                how=text("how to take the readings"),
                least=count("fewest readings in each column"),
                columns=listed(
                    record(
                        **asked,
                        role=text("what it holds", one_of=("place", "reading", "name")),
                        unit=text("unit that a form proposes", null="it holds words"),
                        needed=flag("it cannot be left out"),
                        gaps=flag("single cells may stay empty"),
                    ),
                    "columns of values that it asks for",
                ),
                settings=listed(
                    record(
                        **asked,
                        unit=text("unit of a bare number", null="no quantity, or a bare number is refused"),
                        choices=listed(text(), "the only words that will do; empty for anything else"),
                        default=text("as typed", null="there is none"),
                        needed=flag("it cannot be left out"),
                    ),
                    "what is said once for all readings",
                ),
                cautions=listed(text(), "what can hurt someone"),
                example=by_name(text(), "settings and values that give an answer, all invented"),
            ),
            "every evaluation",
        ),
    )
