"""The fit-up as it goes on: how far each step is, what was set in fact, and whether a reading still holds."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from loopwright.book import Book
from loopwright.errors import BuildError, Cancelled, RequestError
from loopwright.model.build import Units
from loopwright.model.records import Change, State, Verdict
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of
from loopwright.studies.correcting import corrected_state
from loopwright.studies.example_history import open_example
from loopwright.studies.fitup_bench import adjuster_report, fitup_step
from loopwright.studies.fitup_done import Done, WhatWasDone, set_in_fact, what_was_done
from loopwright.studies.fitup_moves import last_moved, rows_read, standing_reading
from loopwright.studies.fitup_planning import before_metal, fitup_plan
from loopwright.studies.fitup_progress import acceptance, fitup_progress, step_progress
from loopwright.studies.fitup_reading import step_readings
from loopwright.studies.fitup_sights import settables_at
from loopwright.studies.state_comparison import states_compared
from loopwright.units import Dimension
from shimmed_column import FRONT, column

FRONT_LEFT = "column on base/front left"
INCH = Units(length="in", errors="thou")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Book, Bench]]:
    """The shipped history, open, and the machine as it stands; to be looked at only."""
    with open_example("clock-plate", tmp_path_factory.mktemp("told") / "drill.book") as book:
        yield book, bench_of(book)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """The shipped history to write in."""
    with open_example("clock-plate", tmp_path / "drill.book") as found:
        yield found


def test_a_reading_holds_as_long_as_nothing_moves_what_it_reads(told: tuple[Book, Bench]) -> None:
    """The column was shimmed and screws were exchanged after the rails were levelled: the rails did not feel it, and
    the square against the column, read before the shims, did.
    """
    bench = told[1]
    assert standing_reading(bench, "Y rails in one plane") == 32
    rails, square = rows_read(bench, "Y rails in one plane"), rows_read(bench, "Z square to table in Y")
    assert rails is not None
    assert square is not None
    assert last_moved(bench, rails) == 1
    assert last_moved(bench, square) == 3
    # it was read in state 2, and again after the shims
    assert standing_reading(bench, "Z square to table in Y") == 51


def test_an_open_zero_moves_nothing(told: tuple[Book, Bench]) -> None:
    """What a test reads is told without its zero: a shift of all its values is no movement of it."""
    rows = rows_read(told[1], "X straight in Z")
    assert rows is not None
    assert np.abs(rows.sum(axis=0)).max() < 1e-9


def test_how_far_the_shipped_fit_up_is(told: tuple[Book, Bench]) -> None:
    """What its history says: rails levelled and proven, a spacer ground, the trams proven, the rest read or open."""
    found = fitup_progress(told[1])
    assert [(one.number, one.stage, one.proven) for one in found.steps] == [
        (1, "accepted", True),
        (2, "read", False),
        (3, "set", False),
        (4, "not begun", False),
        (5, "read", False),
        (6, "not begun", False),
        (7, "read", False),
        (8, "accepted", True),
        (9, "not begun", False),
    ]
    assert found.next == 2
    (ground,) = found.steps[2].made
    assert (ground.state, [(t.name, t.value, t.planned) for t in ground.things]) == (
        2,
        [("Y_nut_spacer/thickness", 2.983, 2.985)],
    )
    assert ground.things[0].off == pytest.approx(-0.002, abs=1e-12)
    # a part sized last has the range of its gap
    spacer = next(one for one in found.adjusters if one.name == "Y_nut_spacer/thickness")
    assert (spacer.low, spacer.high, spacer.now) == pytest.approx((2.9, 3.1, 2.983))


def test_what_is_accepted_holds_until_something_moves_it(book: Book) -> None:
    """An acceptance is an entry with what could be said then; a shim under the column undoes that of the trams."""
    bench = bench_of(book)
    record = acceptance(bench, 8)
    assert (record.of, record.verdict, record.limits[1]) == (
        "tram the spindle",
        "conforming",
        pytest.approx(3.9e-5, rel=0.01),
    )
    book.append(record, who="Ada")
    book.append(acceptance(bench, 2), who="Ada")
    now = bench_of(book)
    assert (step_progress(now, 8).stage, step_progress(now, 2).stage) == ("accepted", "accepted")
    shim = Change(what="set", of=FRONT_LEFT, value=0.05, std=0.001)
    book.append(State(reason="tried", changes=(shim,), parent=now.state), who="Ada")
    after = bench_of(book)
    assert step_progress(after, 8).stage == "again"
    assert step_progress(after, 2).stage == "accepted"
    kept = step_progress(after, 8).accepted
    assert kept is not None
    assert not kept.stands


def test_an_undecided_step_is_accepted_as_undecided(told: tuple[Book, Bench]) -> None:
    """Nobody's acceptance makes a verdict better than it is: the fourth in ten is what the readings say."""
    record = acceptance(told[1], 7)
    assert isinstance(record, Verdict)
    assert record.verdict == "undecided"
    assert 0.05 < record.probability < 0.95


def test_nothing_is_proposed_that_brings_nothing(told: tuple[Book, Bench]) -> None:
    """A rail that is known to be off by a twentieth of what is not known of it is left where it is; a blank that
    nobody has measured is ground to size all the same.
    """
    bench = told[1]
    assert all(one.change == 0 for one in fitup_step(bench, 2).to_set)
    (blank,) = fitup_step(bench, 5).to_set
    assert blank.blank
    assert not fitup_step(bench, 3).to_set[0].blank


def test_one_adjuster_by_itself_is_a_step_that_sets_nothing_else(told: tuple[Book, Bench]) -> None:
    """The spacer of the Y nut, asked for by its dim, is to be what the step that grinds it says."""
    bench = told[1]
    found, step = adjuster_report(bench, "Y_nut_spacer/thickness"), fitup_step(bench, 3)
    assert (found.number, found.looks_at) == (0, step.looks_at)
    assert found.to_set[0].value == pytest.approx(step.to_set[0].value, abs=1e-12)
    with pytest.raises(RequestError, match="nothing to set"):
        adjuster_report(bench, "no/where")


def test_a_part_sized_last_has_the_range_of_its_gap(told: tuple[Book, Bench]) -> None:
    """Named by its dim or by its gap it can be set alike."""
    bench = told[1]
    (by_dim,) = settables_at(bench, "Y_nut_spacer/thickness")
    (by_gap,) = settables_at(bench, "Y slide/nut height")
    assert (by_dim.low, by_dim.high) == (by_gap.low, by_gap.high) == pytest.approx((-0.1, 0.1))


# what was set in fact


def test_what_was_set_is_read_in_the_unit_beside_its_field(told: tuple[Book, Bench]) -> None:
    """2 thou are 0.0508 mm: bare in the reader's unit, or with its own; standard uncertainties as typed."""
    bench = told[1]
    done = [Done(FRONT_LEFT, "2", std="0.04", lock="1 µm"), Done("head_spacer/thickness", "6.01 mm")]
    state = what_was_done(bench, WhatWasDone(done, ""), bare=INCH)
    shim, spacer = state.changes
    assert (shim.value, shim.std, shim.lock_std) == pytest.approx((0.0508, 0.001016, 0.001))
    assert (spacer.what, spacer.value) == ("sized", pytest.approx(6.01))
    assert state.reason == f"{FRONT_LEFT}, head_spacer/thickness"


def test_what_was_asked_for_stands_beside_it(told: tuple[Book, Bench]) -> None:
    """In a step the value that the step had asked for, whatever was done."""
    bench = told[1]
    asked = {one.name: one.value for one in fitup_step(bench, 7).to_set}
    state = what_was_done(bench, WhatWasDone([Done(FRONT_LEFT, "25 µm")], "", "7"), bare=bench.build.units)
    assert (state.step, state.reason) == ("shim the column upright",) * 2
    assert state.changes[0].planned == asked[FRONT_LEFT]
    assert state.changes[0].value == pytest.approx(0.025)


def test_every_value_that_cannot_be_read_is_named_at_once(told: tuple[Book, Bench]) -> None:
    """Two wrong fields are two problems, each with its field."""
    done = [Done(FRONT_LEFT, "two"), Done(FRONT[1], "3", std="little")]
    with pytest.raises(BuildError) as refused:
        what_was_done(told[1], WhatWasDone(done, "tried"), bare=Units())
    assert [p.field for p in refused.value.problems] == [FRONT_LEFT, f"{FRONT[1]}, ±"]


def test_it_is_entered_once_and_told_of_what_others_did(book: Book) -> None:
    """With the same key a second time nothing is added; what another entered meanwhile is told, and not counted to
    its effect.
    """
    before = bench_of(book)
    book.append(State(reason="another", changes=(Change(what="set", of=FRONT[1], value=0.03),)), who="Mai")
    what = WhatWasDone([Done(FRONT_LEFT, "20 µm")], "shimmed", "7")
    first = set_in_fact(book, before, what, bare=before.build.units, who="Ada", key="one")
    last = book.last_number
    again = set_in_fact(book, before, what, bare=before.build.units, who="Ada", key="one")
    assert (book.last_number, again.written.again, again.written.entry.number) == (last, True, last)
    assert [entry.who for entry in first.written.meanwhile] == ["Mai"]
    assert (first.bench.state, first.bench.settings[FRONT_LEFT]) == (6, pytest.approx(0.02))
    fresh = bench_of(book, until=last - 1)
    assert first.targets[0].before == pytest.approx(_expected(fresh), rel=1e-9)


def _expected(bench: Bench) -> float:
    (first, *_) = states_compared(bench).states[-1].ended
    return first.expected


def test_a_corrected_state_keeps_its_place(book: Book) -> None:
    """Foil under the front left pad was 12 µm, not 10: states after it still follow it, and count as before."""
    bench = bench_of(book)
    entry = book.entry(47)
    record = corrected_state(bench, entry, {FRONT_LEFT: "12", FRONT[1]: ""}, bare=bench.build.units)
    book.append(record, who="Ada", why="measured", supersedes=47)
    after = bench_of(book)
    assert (after.state, [number for number, _ in after.states()]) == (4, [1, 2, 3, 4])
    assert after.knowledge.line.states == (1, 2, 3, 4)
    assert after.settings[FRONT_LEFT] == pytest.approx(0.012)
    with pytest.raises(RequestError, match="no value was typed"):
        corrected_state(bench, entry, {FRONT_LEFT: " "}, bare=Units())


# planned, read, compared


def test_a_plan_before_metal_knows_of_no_reading(told: tuple[Book, Bench]) -> None:
    """It is the plan of the book when it had its first two entries."""
    book, bench = told
    early, now = bench_of(book, until=2), before_metal(bench)
    assert not now.knowledge.observations
    for one, other in zip(fitup_plan(early, drop=False).steps, fitup_plan(now, drop=False).steps):
        assert one.after == pytest.approx(other.after, rel=1e-9)


def test_a_plan_says_how_far_it_is_and_can_be_stopped() -> None:
    """Once with all steps and once without each."""
    bench, heard = column(), []
    found = fitup_plan(bench, progress=lambda done, wanted: heard.append((done, wanted)))
    assert heard == [(1, 2)]
    assert [b.contact for b in found.binds][:1] == [found.binding[0].worst[0].contact]
    clearance = found.binding[0].worst[0].clearance
    assert clearance is not None
    assert found.binds[0].larger == 2 * clearance
    with pytest.raises(Cancelled):
        fitup_plan(bench, cancel=lambda: True)


def test_what_a_step_reads(told: tuple[Book, Bench]) -> None:
    """With its gauge, against what, along which axis; a gap as the size that fills it."""
    found = step_readings(told[1], 7)
    first = found.readings[0]
    assert (first.gauge, first.artefact, first.moving, len(first.poses)) == (
        "micron indicator",
        "granite straightedge",
        "X",
        9,
    )
    assert found.minutes == 65
    (gap,) = step_readings(told[1], 3).readings
    assert gap.kind == "gap"
    assert gap.last is not None
    assert gap.last.sizes[0][0] == pytest.approx(2.9823, abs=1e-4)
    (tram, _) = step_readings(told[1], 8).readings
    assert (tram.dimension, tram.moving) == (Dimension.ANGLE, "")


def test_states_compared_are_the_states_of_the_history(told: tuple[Book, Bench]) -> None:
    """At the end of each what the book says of it; what lies between two is what was done in the later ones."""
    book, bench = told
    found = states_compared(bench)
    assert [(one.number, one.cause) for one in found.states] == [
        (1, "start"),
        (2, "rework"),
        (3, "adjustment"),
        (4, "replacement"),
    ]
    second = bench_of(book, state=2)
    assert found.states[1].ended[0].expected == pytest.approx(_expected(second), rel=1e-9)
    between = found.between(4, 2)
    assert (between.first, between.second, [one.number for one in between.states]) == (2, 4, [3, 4])
    assert between.readings == found.states[2].readings + found.states[3].readings
    assert between.targets[0].after == found.states[3].ended[0].expected
    with pytest.raises(RequestError, match="no state 9"):
        found.between(1, 9)
    with pytest.raises(Cancelled):
        states_compared(bench, cancel=lambda: True)
