"""A book: what is entered stands in it, whole, and comes back as it was; on each database."""

import time
from pathlib import Path

import pytest

from books import BUILD, begin, one_of_each, reading, shimmed
from databases import DATABASES, DEV, Places
from loopwright import book
from loopwright.book import BookError, Draft, NoBook
from loopwright.errors import LoopwrightError, RequestError
from loopwright.model.records import ColumnsKept, Entry, Reading, Revision, State, Stock, Withdrawal


def test_both_databases_are_tested_where_it_was_promised() -> None:
    """Where PostgreSQL is promised, as on the machine that checks every change, the suite runs on it too."""
    assert "sqlite" in DATABASES
    assert "postgresql" in DATABASES or not DEV.needs_postgresql()


def test_a_new_book_starts_with_the_description_and_the_first_state(where: str) -> None:
    """Entry 1 is the build file byte for byte, entry 2 is state 1 of the machine."""
    with begin(where) as drill:
        first, second = drill.entries()
        assert (first.number, first.of, first.who, first.why) == (1, 1, "Ana", "first drawing")
        assert first.record == Revision(text=BUILD, file="drill.yaml")
        assert isinstance(second.record, State)
        assert (second.number, second.of, second.record.cause, second.record.parent) == (2, 1, "start", None)
        assert drill.newest_revision() == first
        assert drill.newest_state() == second
        assert drill.last_number == 2
        assert drill.info.build_name == "Drill"


def test_a_book_is_never_begun_over_another(where: str) -> None:
    """A place that is taken is refused, and what was there stays."""
    with begin(where) as drill:
        uid = drill.info.uid
        with pytest.raises(BookError, match="already"):
            begin(where)
        assert drill.last_number == 2
    with book.open_book(where) as drill:
        assert drill.info.uid == uid


def test_a_file_that_is_no_book_is_not_overwritten_either(tmp_path: Path) -> None:
    """A new book takes the name of no other file."""
    other = tmp_path / "drill.book"
    other.write_text("a shopping list", "utf-8")
    with pytest.raises(BookError, match="already"):
        begin(str(other))
    assert other.read_text("utf-8") == "a shopping list"
    assert list(tmp_path.iterdir()) == [other]


def test_everything_comes_back_as_it_was_entered(where: str) -> None:
    """Each kind of record is read back equal, to the last bit of each number, also after opening anew."""
    with begin(where) as drill:
        written = [
            drill.append(record, who="Bo", why="it had to be", station="bench") for record in one_of_each()
        ]
        assert [one.entry.record for one in written] == one_of_each()
        assert drill.entries(since=2) == tuple(one.entry for one in written)
    with book.open_book(where) as drill:
        assert drill.entries(since=2) == tuple(one.entry for one in written)
        for one in written:
            assert drill.entry(one.entry.number) == one.entry
            assert one.entry.station == "bench"


def test_the_sign_of_zero_is_the_same_on_each_database(where: str) -> None:
    """Minus zero is entered as zero, since not every database keeps its sign."""
    with begin(where) as drill:
        drill.append(Reading.model_validate(reading().model_dump() | {"surprise": -0.0}), who="Bo")
        (entry,) = drill.entries("reading")
        assert isinstance(entry.record, Reading)
        assert str(entry.record.surprise) == "0.0"


def test_typed_text_that_does_not_match_the_values_is_kept_too(where: str) -> None:
    """What was typed is kept as it was typed, even where one text stood for two values."""
    odd = reading().model_copy(update={"typed": (("240 / 240.0007",), ())})
    with begin(where) as drill:
        drill.append(odd, who="Bo")
        assert drill.entries("reading")[0].record == odd


def test_entries_are_found_by_kind_number_subject_and_state(where: str) -> None:
    """A question names a kind, a stretch, a dim or adjuster, a state; answers come in order."""
    with begin(where) as drill:
        drill.append_all(one_of_each(), who="Bo")
        assert [e.number for e in drill.entries("reading")] == [3, 4]
        assert [e.number for e in drill.entries(["state", "stock"])] == [2, 5, 11]
        assert drill.entries([]) == ()
        assert [e.number for e in drill.entries(since=10)] == [11, 12]
        assert [e.number for e in drill.entries(since=3, until=5)] == [4, 5]
        assert [e.number for e in drill.entries(subject="column/height")] == [3, 8, 9]
        assert [e.number for e in drill.entries(subject="pad_FR/height")] == [4]
        assert [e.number for e in drill.entries(subject="column on base/front left")] == [5]
        assert [e.number for e in drill.entries(state=2)] == [5, 8, 9]
        assert [e.number for e in drill.entries("verdict", state=1)] == [10]
        with pytest.raises(RequestError, match="there is no entry 99"):
            drill.entry(99)


def test_a_correction_supersedes_and_both_stay(where: str) -> None:
    """The entry corrected stays in the book; what counts is the correction, which has the same number of its kind."""
    with begin(where) as drill:
        wrong = drill.append(reading(value=24.0), who="Bo").entry
        other = drill.append(reading("column/width"), who="Bo").entry
        right = drill.append(reading(value=240.0), who="Bo", why="misread", supersedes=wrong.number).entry
        assert (right.supersedes, right.of) == (wrong.number, wrong.of)
        assert drill.standing("reading") == (other, right)
        assert drill.entries("reading") == (wrong, other, right)
        assert drill.history(wrong.number) == drill.history(right.number) == (wrong, right)
        assert drill.append(reading("column/depth"), who="Bo").entry.of == 3


def test_a_withdrawn_entry_no_longer_counts_and_can_be_entered_again(where: str) -> None:
    """A withdrawal names what it withdraws; a later correction of that puts it back."""
    with begin(where) as drill:
        read = drill.append(reading(), who="Bo").entry
        gone = drill.append(Withdrawal(reason="wrong part"), who="Bo", supersedes=read.number).entry
        assert drill.standing(["reading", "withdrawal"]) == ()
        back = drill.append(reading(), who="Bo", why="right part", supersedes=read.number).entry
        assert back.supersedes == gone.number
        assert drill.standing("reading") == (back,)
        assert drill.history(gone.number) == (read, gone, back)


def test_states_follow_on_each_other(where: str) -> None:
    """A state takes the next number; a corrected one keeps its number and its parent."""
    with begin(where) as drill:
        second = drill.append(shimmed(value=0.05), who="Bo").entry
        third = drill.append(State(reason="gib tightened", parent=2), who="Bo").entry
        again = drill.append(shimmed(value=0.06), who="Bo", supersedes=second.number).entry
        assert [entry.of for entry in drill.states()] == [1, 2, 3]
        assert drill.states()[1] == again
        assert drill.newest_state() == third
        assert isinstance(again.record, State)
        assert again.record.parent == 1
        assert [e.number for e in drill.entries(state=2)] == [second.number, again.number]


def test_a_state_without_a_parent_follows_on_the_newest(where: str) -> None:
    """Who does not say after which state, means the present one."""
    with begin(where) as drill:
        written = drill.append(State(reason="gib tightened"), who="Bo")
        assert isinstance(written.entry.record, State)
        assert written.entry.record.parent == 1
        assert written.told == ()


def test_a_withdrawn_state_gives_its_place_but_not_its_number(where: str) -> None:
    """After the newest state was withdrawn the one before counts, and the next one has a new number."""
    with begin(where) as drill:
        drill.append(shimmed(), who="Bo")
        drill.append(Withdrawal(reason="it was the other machine"), who="Bo", supersedes=3)
        assert drill.newest_state().of == 1
        entry = drill.append(State(reason="gib tightened", parent=1), who="Bo").entry
        assert isinstance(entry.record, State)
        assert (entry.of, entry.record.parent) == (3, 1)


def test_a_revision_says_what_changed(where: str) -> None:
    """The difference to the description before is worked out by the book."""
    with begin(where) as drill:
        entry = drill.append(Revision(text=BUILD.replace("Drill", "Mill")), who="Bo").entry
        assert isinstance(entry.record, Revision)
        assert entry.record.difference == "line 2\n- name: Drill\n+ name: Mill"
        assert drill.newest_revision() == entry
        own = Revision(text=BUILD, difference="back to the drill")
        assert drill.append(own, who="Bo").entry.record == own


def test_an_adjustment_and_the_readings_after_it_are_entered_at_once(where: str) -> None:
    """Readings name the state that is entered with them; all stand in the book, or none."""
    with begin(where) as drill:
        drafts = [
            Draft(shimmed(), why="lean"),
            Draft(reading(state=0), state_of=0),
            Draft(reading("column/width", state=0), state_of=0, key="mine"),
        ]
        written = drill.append_all(drafts, who="Bo")
        assert [one.entry.number for one in written] == [3, 4, 5]
        assert [e.number for e in drill.entries(state=2)] == [3, 4, 5]
        assert written[0].entry.why == "lean"
        with pytest.raises(RequestError, match="no state 9"):
            drill.append_all([reading(), reading(state=9)], who="Bo")
        assert drill.last_number == 5
        with pytest.raises(RequestError, match="names a reading"):
            drill.append_all([reading(), Draft(reading(), state_of=0)], who="Bo")
        with pytest.raises(RequestError, match="names nothing"):
            drill.append_all([Draft(reading(), state_of=0)], who="Bo")
        assert drill.append_all([], who="Bo") == ()


@pytest.mark.parametrize(
    ("record", "supersedes", "what"),
    [
        (reading(state=2), None, "no state 2"),
        (reading(state=0), None, "no state 0"),
        (State(reason="after what?", parent=7), None, "no state 7"),
        (reading(), 77, "no entry 77"),
        (reading(), 2, "entry 2 is a state; a reading cannot take its place"),
        (Revision(text="new"), 1, "entry 1 is a revision"),
        (Withdrawal(reason="gone"), 1, "entry 1 is a revision, which stays"),
        (Withdrawal(reason="gone"), 2, "is the start of the machine"),
        (Withdrawal(reason="gone"), None, "withdraws? names no entry|names no entry"),
        (ColumnsKept(name="a", columns={"b": float("nan")}), None, "would not come back"),
        (ColumnsKept(name="a", columns={"b": (1, 2)}), None, "would not come back"),
        (Stock(what="foil\x00", size=0.1, count=1), None, "NUL"),
        (ColumnsKept(name="a", columns={"b": "\x00"}), None, "NUL"),
        (Stock(what="foil", size=0.1, count=10**12), None, "beyond any count"),
    ],
)
def test_what_nobody_could_enter_is_refused(
    where: str, record: Entry, supersedes: int | None, what: str
) -> None:
    """A state or an entry that never was, a wrong kind, a value that cannot be kept: refused, and nothing entered."""
    with begin(where) as drill:
        with pytest.raises(RequestError, match=what) as caught:
            drill.append(record, who="Bo", supersedes=supersedes)
        assert caught.value.remedy
        assert drill.last_number == 2


def test_a_backslash_that_only_looks_like_nul_is_kept(where: str) -> None:
    """Text that spells out a NUL is not one."""
    with begin(where) as drill:
        kept = ColumnsKept(name="a", columns={"b": "\\u0000"})
        assert drill.append(kept, who="Bo").entry.record == kept
        assert drill.entries("columns")[0].record == kept


def test_a_state_with_something_in_it_is_not_withdrawn(where: str) -> None:
    """A state that readings or later states stand on is corrected, not withdrawn."""
    with begin(where) as drill:
        drill.append(shimmed(), who="Bo")
        drill.append(reading(state=2), who="Bo")
        with pytest.raises(RequestError, match="has entry 4 in it"):
            drill.append(Withdrawal(reason="gone"), who="Bo", supersedes=3)
        drill.append(Withdrawal(reason="gone"), who="Bo", supersedes=4)
        drill.append(State(reason="gib", parent=2), who="Bo")
        with pytest.raises(RequestError, match="has entry 6 in it"):
            drill.append(Withdrawal(reason="gone"), who="Bo", supersedes=3)


@pytest.mark.parametrize("who", ["", "  ", "B" * 201])
def test_every_entry_has_a_name_to_it(where: str, who: str) -> None:
    """Nobody enters anything without a name."""
    with begin(where) as drill, pytest.raises(RequestError, match="name"):
        drill.append(reading(), who=who)


def test_a_book_knows_whether_it_has_changed(where: str) -> None:
    """A face that has seen entry 2 is told of entry 3 at the next look, whoever entered it."""
    with begin(where) as drill, book.open_book(where) as other:
        assert not drill.changed_since(2)
        other.append(reading(), who="Bo")
        assert drill.changed_since(2)
        assert not drill.changed_since(3)


def test_several_books_live_side_by_side(places: Places) -> None:
    """What is entered in one book is in no other, also where they share a database."""
    with begin(places("drill")) as drill, begin(places("mill")) as mill:
        drill.append(reading(), who="Bo")
        assert (drill.last_number, mill.last_number) == (3, 2)
        assert drill.info.uid != mill.info.uid


def test_a_book_that_is_not_there_is_said_to_be_missing(places: Places) -> None:
    """Opening never makes a book."""
    for _ in range(2):
        with pytest.raises(NoBook, match="there is no"):
            book.open_book(places("nowhere"))


def test_ten_thousand_readings_are_read_at_once(where: str) -> None:
    """A book of 10,000 readings of six values each opens and answers within the patience of a person."""
    one = reading()
    readings = [one.model_copy(update={"of": f"part {i}/height"}) for i in range(10_000)]
    with begin(where) as drill:
        drill.append_all(readings, who="Bo")
    start = time.perf_counter()
    with book.open_book(where) as drill:
        found = drill.standing("reading")
        whole = time.perf_counter() - start
        assert [entry.record for entry in found[::999]] == readings[::999]
        assert len(found) == 10_000
        start = time.perf_counter()
        assert [e.of for e in drill.entries(subject="part 77/height")] == [78]
        found_one = time.perf_counter() - start
    assert whole < 3  # measured: 0.6 s on two cores of 2026
    assert found_one < 0.5  # measured: 0.04 s the first time, 0.002 s after


@pytest.mark.parametrize(
    ("where", "what"),
    [
        ("mysql://host/base", "cannot be kept at 'mysql://'"),
        ("postgresql://host:port/base", "cannot be read"),
        ("postgresql://host/base?book=Drill; DROP", "cannot be the name"),
        ("postgresql://host/base?book=a&book=b", "cannot be the name"),
        ("drill.sqlite", "no name for a book"),
    ],
)
def test_an_address_that_cannot_be_meant_is_refused(where: str, what: str) -> None:
    """A place that is neither a book file nor a PostgreSQL address says what would do."""
    with pytest.raises(LoopwrightError, match=what):
        begin(where)
