"""The plan for the hours there are."""

import pytest

from loopwright.asbuilt.worth import WORTHLESS
from loopwright.buildfile import examples
from loopwright.errors import Cancelled, RequestError
from loopwright.model.records import Entry, Record, Revision, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.for_hours import gauges_for, minutes_of, plan_for
from loopwright.studies.next_readings import next_readings


def entry(number: int, record: Record) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=1, record=record)


@pytest.fixture(scope="module")
def start() -> Bench:
    """The clock-plate machine before any reading."""
    described = Revision(text=examples.text("clock-plate"))
    return bench([entry(1, described), entry(2, State(reason="as assembled", cause="start"))])


@pytest.mark.parametrize(
    ("typed", "minutes"), [("2", 120), ("1:30", 90), ("90 min", 90), ("0.5 h", 30), (" 45 min ", 45)]
)
def test_a_time_is_read_as_people_type_it(typed: str, minutes: float) -> None:
    """A bare number is hours."""
    assert minutes_of(typed) == pytest.approx(minutes)


@pytest.mark.parametrize("typed", ["", "soon", "-1", "0", "1:75", "1000", "3 mm"])
def test_what_is_no_time_is_told(typed: str) -> None:
    """The remedy shows how to write one."""
    with pytest.raises(RequestError, match="give"):
        minutes_of(typed)


def test_a_plan_keeps_to_its_time_and_holds_only_what_is_worth_taking(start: Bench) -> None:
    """Each reading still brings half a per cent of a limit when its turn comes."""
    told: list[tuple[int, int | None]] = []
    found = plan_for(start, 45.0, progress=lambda done, wanted: told.append((done, wanted)))
    assert found.readings
    assert found.minutes == sum(one.minutes for one in found.readings) <= 45
    assert all(one.gain >= WORTHLESS for one in found.readings)
    assert told[-1] == (round(found.minutes), 45)


def test_the_plan_is_the_one_that_the_command_line_gives(start: Bench) -> None:
    """One question has one answer, whatever the face."""
    mine, theirs = plan_for(start, 30.0), next_readings(start, minutes=30.0).plan
    assert theirs is not None
    assert [one.name for one in mine.readings] == [one.name for one in theirs.readings]


def test_gauges_looked_at_one_by_one_are_those_looked_at_together(start: Bench) -> None:
    """Stopped on the way, it gives those that it has."""
    together, told = next_readings(start, gauges=True).gauges, []
    apart = gauges_for(start, progress=lambda done, wanted: told.append(done))
    assert [(g.test, g.instead) for g in apart] == [(g.test, g.instead) for g in together]
    assert [g.std for g in apart] == pytest.approx([g.std for g in together])
    assert told[-1] == len(apart)
    assert gauges_for(start, cancel=lambda: True) == ()


def test_a_plan_that_nobody_waits_for_stops(start: Bench) -> None:
    """It is asked before each reading."""
    with pytest.raises(Cancelled):
        plan_for(start, 45.0, cancel=lambda: True)
