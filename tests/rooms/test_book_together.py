"""Several stations at one book: nobody loses an entry, and everybody is told what the others did."""

import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import pytest
from sqlalchemy import Engine

from books import BUILD, begin, reading, shimmed
from loopwright import book
from loopwright.book import BookBusy, Draft
from loopwright.book.ledger import alone
from loopwright.book.place import Place, engine_for, writing
from loopwright.errors import RequestError
from loopwright.model.records import (
    Calibration,
    Concession,
    Reading,
    Revision,
    State,
    Stock,
    Verdict,
    Withdrawal,
)


@contextmanager
def station(where: str) -> Iterator[Engine]:
    """Connections of another station."""
    engine = engine_for(Place.of(where))
    try:
        yield engine
    finally:
        engine.dispose()


def test_two_stations_do_not_see_each_others_half_entries(where: str) -> None:
    """What one station has entered, the other finds at its next look, whole."""
    with begin(where) as ana, book.open_book(where) as bo:
        entry = ana.append(reading(), who="Ana", station="bench").entry
        assert bo.entries(since=2) == (entry,)


def test_writers_at_once_lose_nothing_and_leave_no_gap(where: str) -> None:
    """Four writers of twenty-five entries each make a hundred entries, numbered 3 to 102, each as it was answered."""
    begin(where).close()

    def write(name: str) -> list[object]:
        with book.open_book(where, patience=30) as mine:
            return [
                mine.append(reading(f"{name}/{i}", i), who=name, key=f"{name}-{i}").entry for i in range(25)
            ]

    with ThreadPoolExecutor(4) as pool:
        answered = [entry for entries in pool.map(write, "ABCD") for entry in entries]
    with book.open_book(where) as drill:
        found = drill.entries(since=2)
    assert [entry.number for entry in found] == list(range(3, 103))
    assert sorted(answered, key=lambda entry: entry.number) == list(found)
    assert [entry.of for entry in found] == list(range(1, 101))
    assert book.verify(where).sound


def test_one_open_book_serves_many_threads(where: str) -> None:
    """The threads of one program share an open book."""
    with begin(where) as drill, ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda i: drill.append(reading(value=i), who="Bo"), range(20)))
        assert [len(found) for found in pool.map(lambda _: drill.entries(), range(4))] == [22] * 4


def test_who_waits_too_long_is_told_and_has_lost_nothing(where: str) -> None:
    """When another station writes all the time the answer is 'try again', nothing is entered, and again it works."""
    begin(where).close()
    with station(where) as other, book.open_book(where, patience=0.2) as mine:
        with writing(other) as connection:
            alone(connection)
            start = time.monotonic()
            with pytest.raises(BookBusy, match="another station is writing; nothing was entered; try again"):
                mine.append(reading(), who="Bo", key="mine")
            assert 0.15 < time.monotonic() - start < 5
            assert mine.last_number == 2
        assert mine.append(reading(), who="Bo", key="mine").entry.number == 3


def test_a_writer_waits_for_another(where: str) -> None:
    """A station that writes for half a second only delays the next one."""
    begin(where).close()
    with station(where) as other, book.open_book(where) as mine:
        held, done = threading.Event(), []

        def hold() -> None:
            with writing(other) as connection:
                alone(connection)
                held.set()
                time.sleep(0.4)
                done.append("first")

        thread = threading.Thread(target=hold)
        thread.start()
        held.wait()
        mine.append(reading(), who="Bo")
        assert done == ["first"]
        thread.join()


def test_an_entry_sent_twice_stands_once(where: str) -> None:
    """The same key with the same content is answered with the first entry, whatever happened in between."""
    with begin(where) as drill:
        first = drill.append(reading(), who="Bo", key="k1")
        drill.append(reading("column/width"), who="Ana")
        again = drill.append(reading(), who="Bo", key="k1", station="other screen", seen=2)
        assert again.entry == first.entry
        assert [entry.number for entry in again.meanwhile] == [4]
        assert (first.again, again.again) == (False, True)
        assert drill.last_number == 4


def test_what_the_book_itself_changed_does_not_make_a_repeat_another_entry(where: str) -> None:
    """A state put on a newer parent, a difference worked out, a correction put last: sent again, they are the same."""
    with begin(where) as drill:
        drill.append(shimmed(), who="Ana")
        drill.append(reading(), who="Ana")
        drill.append(reading(value=1.0), who="Ana", supersedes=4)
        sent = [
            Draft(shimmed("column on base/rear", parent=1), key="state"),
            Draft(Revision(text=BUILD + "x"), key="revision"),
            Draft(reading(value=2.0), key="correction", supersedes=4),
            Draft(reading(state=0), key="after", state_of=0),
        ]
        first = drill.append_all(sent, who="Bo", seen=2)
        again = drill.append_all(sent, who="Bo", seen=2)
        assert [one.entry for one in again] == [one.entry for one in first]
        assert all(one.again for one in again)
        assert drill.last_number == 9


@pytest.mark.parametrize(
    "other",
    [
        {"record": reading(value=1.0)},
        {"why": "another reason"},
        {"who": "Cy"},
        {"supersedes": 3},
        {"record": Stock(what="foil", size=0.1, count=1)},
    ],
)
def test_a_key_that_means_two_things_is_refused(where: str, other: dict[str, object]) -> None:
    """A key that was given to one entry cannot name another."""
    same = {"record": reading(), "who": "Bo", "key": "k1"}
    with begin(where) as drill:
        drill.append(**same)
        with pytest.raises(RequestError, match="the key 'k1' was given to entry 3"):
            drill.append(**same | other)
        assert drill.last_number == 3


def test_the_second_of_two_corrections_follows_on_the_first(where: str) -> None:
    """Two people correct one entry: both corrections stand, the later counts, and its writer is told of the other."""
    with begin(where) as drill:
        wrong = drill.append(reading(value=24.0), who="Ana").entry
        seen = drill.last_number
        first = drill.append(reading(value=241.0), who="Ana", supersedes=3, seen=seen)
        second = drill.append(reading(value=240.0), who="Bo", supersedes=3, seen=seen)
        assert first.told == first.meanwhile == first.clashes == ()
        assert second.entry.supersedes == first.entry.number
        assert second.told == ("entry 3 had been superseded by 4 (Ana): yours follows on 4",)
        assert second.meanwhile == second.clashes == (first.entry,)
        assert drill.history(3) == (wrong, first.entry, second.entry)
        assert drill.standing("reading") == (second.entry,)


def test_a_correction_of_what_was_withdrawn_meanwhile_is_entered(where: str) -> None:
    """One withdraws what the other corrects: the correction stands, and both entries are in the book."""
    with begin(where) as drill:
        drill.append(reading(), who="Ana")
        drill.append(Withdrawal(reason="doubtful"), who="Ana", supersedes=3)
        late = drill.append(reading(value=1.0), who="Bo", supersedes=3, seen=3)
        assert late.told == ("entry 3 had been withdrawn by 4 (Ana): yours follows on 4",)
        assert [entry.number for entry in late.clashes] == [4]
        assert drill.standing("reading") == (late.entry,)


def test_the_second_of_two_adjustments_follows_on_the_first(where: str) -> None:
    """Two people set adjusters at once: the line of states stays one line, and the second is told."""
    with begin(where) as drill:
        first = drill.append(shimmed("a/left"), who="Ana", seen=2)
        second = drill.append(shimmed("a/right"), who="Bo", seen=2)
        assert isinstance(second.entry.record, State)
        assert (second.entry.of, second.entry.record.parent) == (3, 2)
        assert second.told == ("state 1 is no longer the newest: yours follows on state 2",)
        assert second.clashes == (first.entry,)


def test_the_second_of_two_descriptions_is_compared_with_the_first(where: str) -> None:
    """Two people save the description: both texts are in the book, and the second is told what it undoes."""
    with begin(where) as drill:
        drill.append(Revision(text=BUILD + "confidence: 99 %\n"), who="Ana", seen=2)
        second = drill.append(
            Revision(text=BUILD.replace("Drill", "Mill"), difference="the name"), who="Bo", seen=2
        )
        assert isinstance(second.entry.record, Revision)
        assert second.entry.record.text == BUILD.replace("Drill", "Mill")
        assert "- confidence: 99 %" in second.entry.record.difference
        assert second.told[0].startswith("entry 3 (Ana) saved another revision meanwhile")


def test_a_state_is_withdrawn_although_somebody_read_in_it_meanwhile(where: str) -> None:
    """Who could not know of the reading does not lose the withdrawal; the reading is shown."""
    with begin(where) as drill:
        drill.append(shimmed(), who="Ana")
        late = drill.append(reading(state=2), who="Bo", seen=3)
        gone = drill.append(Withdrawal(reason="wrong machine"), who="Ana", supersedes=3, seen=3)
        assert gone.clashes == (late.entry,)
        assert drill.newest_state().of == 1


TERMS = {"part": "column", "state": 1, "decision": "use as is"}
VERDICT = {"verdict": "conforming", "limits": (0.0, 1.0), "probability": 1.0, "rule": "ISO 14253-1"}


@pytest.mark.parametrize(
    ("theirs", "mine", "clashes"),
    [
        (reading("a/b"), reading("a/b"), True),
        (reading("a/b"), reading("a/c"), False),
        (reading("a/b"), reading("a/b").model_copy(update={"item": "no. 2"}), False),
        (shimmed(), reading("a/b"), True),
        (reading("a/b"), shimmed(), True),
        (Calibration(gauge="dial 1", done="2026-05-04"), reading("a/b"), True),
        (Calibration(gauge="dial 2", done="2026-05-04"), reading("a/b"), False),
        (Stock(what="foil", size=0.1, count=3), Stock(what="foil", size=0.1, count=2), True),
        (Stock(what="foil", size=0.1, count=3), Stock(what="foil", size=0.2, count=2), False),
        (Concession(dims=("a/b",), **TERMS), reading("a/b"), True),
        (Concession(dims=("a/b",), **TERMS), reading("a/c"), False),
        (Verdict(of="a/b", state=1, value=0.5, std=0.1, **VERDICT), reading("a/b"), True),
        (Withdrawal(reason="gone"), reading("first"), True),
        (Withdrawal(reason="gone"), reading("second"), False),
        (Revision(text="x"), reading("a/b"), False),
        (Revision(text="x"), Revision(text="y"), True),
    ],
)
def test_entries_clash_when_they_touch_the_same_thing(
    where: str, theirs: Reading, mine: Reading, clashes: bool
) -> None:
    """Everything entered meanwhile is told; what touches the same dim, state, gauge or drawer is marked."""
    with begin(where) as drill:
        drill.append(reading("first"), who="Ana")
        seen = drill.last_number
        entered = drill.append(
            theirs, who="Ana", supersedes=3 if isinstance(theirs, Withdrawal) else None
        ).entry
        written = drill.append(mine, who="Bo", seen=seen)
        assert written.meanwhile == (entered,)
        assert written.clashes == ((entered,) if clashes else ())
        assert (
            drill.append(Stock(what="tape", size=1, count=1), who="Bo", seen=drill.last_number).meanwhile
            == ()
        )
