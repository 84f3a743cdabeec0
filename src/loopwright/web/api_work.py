"""What the API asks the workroom: each function answers with JSON that is ready to be sent."""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from loopwright import units
from loopwright.asbuilt.conformity import probability_of_conformity
from loopwright.book import Written
from loopwright.errors import Problem, QuantityError, RequestError
from loopwright.loop.threads import one_thread
from loopwright.model.build import Units
from loopwright.studies import books
from loopwright.studies.asking import Asked
from loopwright.studies.bench import Bench
from loopwright.studies.bench_sheet import sheet, value_as_read
from loopwright.studies.effect import effect
from loopwright.studies.entering import Doubted, Entered, enter, look_into
from loopwright.studies.exchange_bench import (
    history_as_data,
    next_readings_as_data,
    parts_as_data,
    recorded_as_data,
    standing_as_built_as_data,
)
from loopwright.studies.exchange_fitup import fitup_plan_as_data, fitup_step_as_data
from loopwright.studies.exchange_sheets import (
    considered_as_data,
    gauges_as_data,
    part_as_data,
    sheet_as_data,
    targets_as_data,
)
from loopwright.studies.fitup_bench import fitup_step
from loopwright.studies.fitup_planning import fitup_plan
from loopwright.studies.next_readings import next_readings
from loopwright.studies.part_sheet import part_sheet
from loopwright.studies.recording import Typed
from loopwright.studies.verdicts import verdicts
from loopwright.units import Dimension
from loopwright.web.api_refusal import Refused, as_data, no_such
from loopwright.web.views.bench import plans_next
from loopwright.web.views.bench_answer import asked_markup, entered_page, refused_page
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

Data = dict[str, Any]

TYPED = (
    "of against item unit gauge both_directions turned from_nominal part_temperature gauge_temperature taken note state"
).split()


def to_json(data: Any) -> bytes:
    """Data as JSON."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def standing(work: Work, reader: Reader) -> bytes:
    """The front page."""
    return to_json(standing_as_built_as_data(work.front))


def targets(work: Work, reader: Reader) -> bytes:
    """What the machine must hold."""
    return to_json(targets_as_data(work.bench))


def gauges(work: Work, reader: Reader) -> bytes:
    """The gauges of the build."""
    return to_json(gauges_as_data(work.bench))


def parts(work: Work, reader: Reader) -> bytes:
    """Every dim that was read."""
    with one_thread():
        return to_json(parts_as_data(work.kept("verdicts", lambda: verdicts(work.bench))))


def part(work: Work, reader: Reader, name: str) -> bytes:
    """One part.

    Raises:
        Refused: there is no such part.
    """
    with one_thread():
        try:
            return to_json(part_as_data(part_sheet(work.book, work.bench, name)))
        except RequestError as error:
            raise no_such(error) from None


def what_next(work: Work, reader: Reader, minutes: float | None, *, telling: Telling | None = None) -> bytes:
    """What to measure next."""
    with one_thread():
        return to_json(next_readings_as_data(next_readings(work.bench, minutes=minutes)))


def history(work: Work, reader: Reader, since: int, most: int) -> bytes:
    """Entries after one, so many at most."""
    bench = work.bench
    entries = work.book.entries(since=since, until=since + most)
    counting = {entry.number for entry in bench.entries}
    gone = frozenset(entry.number for entry in entries if entry.number not in counting)
    return to_json(history_as_data(books.History(bench, (), entries, gone)))


def states(work: Work, reader: Reader, *, telling: Telling) -> bytes:
    """Where the machine stood at the end of each state."""
    with one_thread():
        found = books.history(work.book, since=work.book.last_number)
        return to_json(history_as_data(found))


def plan(work: Work, reader: Reader, *, telling: Telling) -> bytes:
    """The fit-up, run through before metal is cut."""
    with one_thread():
        return to_json(fitup_plan_as_data(fitup_plan(work.bench)))


def step(work: Work, reader: Reader, which: str) -> bytes:
    """A step of the fit-up on the bench.

    Raises:
        Refused: there is no such step.
    """
    with one_thread():
        try:
            return to_json(fitup_step_as_data(fitup_step(work.bench, which)))
        except RequestError as error:
            raise no_such(error) from None


def asked_of(work: Work, reader: Reader, of: str, against: str | None, item: str | None) -> bytes:
    """What is asked of a reading.

    Raises:
        Refused: there is no such thing to be read.
    """
    try:
        return to_json(sheet_as_data(work.bench, sheet(work.bench, of, against=against, item=item)))
    except RequestError as error:
        raise no_such(error) from None


def value(work: Work, reader: Reader, said: Mapping[str, Any]) -> bytes:
    """What a text means as a value.

    Raises:
        Refused: it is no such value.
    """
    bench = work.bench
    try:
        told = sheet(
            bench, said["of"], against=said["against"], item=said["item"], shown=_units(work, reader)
        ).asked
    except RequestError as error:
        raise Refused(422, [Problem("of", error.what, error.remedy)]) from None
    try:
        return to_json(
            {
                "format": "loopwright-value/1",
                "value": value_as_read(_in_unit(told, said["unit"]), said["text"]),
            }
        )
    except (RequestError, QuantityError) as error:
        raise Refused(422, [Problem("text", error.what, error.remedy)]) from None


def consider(work: Work, reader: Reader, said: Mapping[str, Any]) -> bytes:
    """What would come of a reading.

    Raises:
        Refused: something in it cannot be used.
    """
    bench = work.bench
    with one_thread():
        typed = typed_of(work, reader, said)
        found = look_into(bench, typed, instead_of=said["supersedes"])
    return to_json(considered_as_data(bench, found))


def record(
    work: Work, reader: Reader, said: Mapping[str, Any], *, page: bool = False
) -> tuple[int, int, bytes]:
    """Enters a reading.

    Args:
        work: with the book.
        reader: who entered it.
        said: what was sent.
        page: whether the answer goes to our own page, and brings what that shows.

    Returns:
        Status of HTTP, number of the entry or 0, and the answer.

    Raises:
        Refused: something in it cannot be used, or it belongs to another book.
    """
    if said["book"] not in (None, work.book.info.uid):
        raise Refused(409, [Problem("book", say("api.other_book"), say("api.other_book_remedy"))])
    bench = work.bench
    with one_thread():
        typed = typed_of(work, reader, said)
        found = enter(
            work.book,
            bench,
            typed,
            who=reader.who or say("frame.nobody"),
            station=reader.station,
            key=said["key"],
            instead_of=said["supersedes"],
            keep=said["keep"],
            since=said["seen"],
        )
        if isinstance(found, Doubted):
            return 409, 0, to_json(_asked(work, reader, bench, found, page=page))
        answer = recorded_as_data(bench, found.considered, found.written, found.came.targets)
        _hold(work, found)
        status = 200 if found.written.again else 201
        if page:
            answer["page"] = entered_page(work, reader, found) | {"status": status}
    return status, found.written.entry.number, to_json(answer)


def _asked(work: Work, reader: Reader, bench: Bench, found: Doubted, *, page: bool) -> Data:
    assert found.considered.doubt is not None
    answer: Data = {
        "problems": [
            {"field": "values", "what": found.considered.doubt.what, "remedy": say("api.keep_or_correct")}
        ],
        "asked": considered_as_data(bench, found),
    }
    if page:
        answer["page"] = {"full": str(asked_markup(work, reader, found)), "status": 409}
    return answer


def following(work: Work, reader: Reader) -> bytes:
    """What our own page offers to be read next."""
    return to_json(plans_next(work, reader))


def refused(work: Work, reader: Reader, status: int, problems: tuple[Problem, ...]) -> bytes:
    """What our own page shows of a reading that cannot be used."""
    return to_json({**as_data(problems), "page": refused_page(problems) | {"status": status}})


def warm(work: Work, reader: Reader) -> None:
    """Works everything out once that the first reading needs, so that it need not wait for it."""
    with one_thread():
        effect(work.bench, work.bench)
        probability_of_conformity(0.0, 1.0, lower=-1.0)


def _hold(work: Work, found: Entered) -> None:
    """The build as it now stands is kept, so that the next question need not work it out again."""
    written: Written = found.written
    if not written.again and found.came.bench.last == work.book.last_number:
        work.hold(found.came.bench)


def typed_of(work: Work, reader: Reader, said: Mapping[str, Any]) -> Typed:
    """What was sent as if it had been typed at the bench, looked at field by field.

    Raises:
        Refused: with every field that cannot be used.
    """
    given: Data = {name: None if said[name] == "" else said[name] for name in TYPED}
    typed = Typed(values=said["values"], poses=said["poses"], **given)
    problems = list(_problems(work.bench, typed))
    if problems:
        raise Refused(422, problems)
    return typed


def _problems(bench: Bench, typed: Typed) -> list[Problem]:
    try:
        told = sheet(bench, typed.of, against=typed.against, item=typed.item).asked
    except RequestError as error:
        return [Problem("of", error.what, error.remedy)]
    out = []
    if typed.gauge is not None:
        try:
            bench.gauge(typed.gauge)
        except RequestError as error:
            out.append(Problem("gauge", error.what, error.remedy))
    if typed.unit is not None:
        try:
            units.factor(typed.unit, told.dimension)
        except QuantityError as error:
            return [*out, Problem("unit", error.what, error.remedy)]
    bare = typed.unit or (None if typed.of in bench.build.tests else bench.build.units.bare()[told.dimension])
    for place, repeats in enumerate(typed.values):
        for number, text in enumerate(repeats):
            out += _problem(f"values/{place}/{number}", text, told.dimension, bare)
    for name in ("part_temperature", "gauge_temperature"):
        text = getattr(typed, name)
        if text is not None:
            number_, _, limit = text.replace("+/-", "±").partition("±")
            out += _problem(name, number_, Dimension.TEMPERATURE, "degC")
            out += _problem(name, limit, Dimension.TEMPERATURE_DIFFERENCE, "K") if limit else []
    return out


def _problem(field: str, text: str, dimension: Dimension, bare: str | None) -> list[Problem]:
    try:
        units.parse(text.strip(), dimension, bare=bare)
    except QuantityError as error:
        return [Problem(field, error.what, error.remedy)]
    return []


def _units(work: Work, reader: Reader) -> Units:
    return reader.units_of(work.bench.build.units)


def _in_unit(told: Asked, unit: str | None) -> Asked:
    return told if not unit else replace(told, unit=unit)
