"""What holds for any book: it comes back as it was, on each database, and nobody's entry is lost."""

import itertools
import tempfile
from collections.abc import Iterator
from operator import attrgetter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from books import BUILD, begin
from databases import DATABASES
from loopwright import book
from loopwright.book import Draft
from loopwright.errors import LoopwrightError
from loopwright.model.records import (
    Calibration,
    Change,
    ColumnsKept,
    Concession,
    Contribution,
    Effect,
    Evaluated,
    Method,
    RawColumn,
    Reading,
    Record,
    Revision,
    State,
    Stock,
    Verdict,
    Warm,
    Withdrawal,
)

number = attrgetter("number")
NUMBERS = itertools.count(1)
LETTERS = st.characters(codec="utf-8", exclude_characters="\x00")
TEXTS = st.text(LETTERS, max_size=30)
LABELS = st.text(LETTERS, min_size=1, max_size=20)
REALS = st.floats(allow_nan=False, allow_infinity=False)
STDS = st.floats(0, allow_nan=False, allow_infinity=False)
CHANCES = st.floats(0, 1)
DAYS = st.dates().map(str)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**60), 2**60) | REALS | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=6,
)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """None, or one of these."""
    return st.none() | strategy


def tuples(strategy: st.SearchStrategy[Any], least: int = 0) -> st.SearchStrategy[Any]:
    """Up to three of these."""
    return st.lists(strategy, min_size=least, max_size=3).map(tuple)


@st.composite
def evaluated(draw: st.DrawFn) -> Evaluated:
    """Anything that may have been made of raw values."""
    n = draw(st.integers(1, 3))
    reals, stds = st.tuples(*[REALS] * n), st.tuples(*[STDS] * n)
    effects = st.builds(Effect, name=LABELS, std=STDS, column=reals)
    lines = st.builds(
        Contribution,
        name=LABELS,
        std=STDS,
        dof=maybe(REALS),
        how=st.sampled_from("AB"),
        shared=st.booleans(),
    )
    return Evaluated(
        values=draw(reals),
        stds=draw(stds),
        effects=draw(tuples(effects)),
        contributions=draw(tuples(lines)),
        expanded=draw(maybe(STDS)),
        notes=draw(tuples(TEXTS)),
    )


@st.composite
def raw_columns(draw: st.DrawFn) -> RawColumn:
    """Any column of raw readings."""
    numbers = draw(tuples(maybe(REALS)))
    return RawColumn(
        name=draw(LABELS),
        reading=draw(st.booleans()),
        unit=draw(TEXTS),
        typed=tuple(draw(TEXTS) for _ in numbers),
        numbers=numbers,
    )


METHODS = st.builds(
    Method,
    evaluation=LABELS,
    columns=tuples(raw_columns()),
    settings=st.dictionaries(TEXTS, TEXTS, max_size=2),
    stated=maybe(TEXTS),
    result=TEXTS,
    file=maybe(TEXTS),
)


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    """Any reading in state 1."""
    subject = draw(st.sampled_from(["dim", "test", "comparison", "gap"]))
    raw = draw(tuples(tuples(REALS, 1), 1))
    as_typed = tuple(tuple(draw(TEXTS) for _ in pose) for pose in raw)
    warm = maybe(st.builds(Warm, value=REALS, std=STDS))
    return Reading(
        subject=subject,
        of=draw(LABELS),
        against=draw(LABELS) if subject == "comparison" else None,
        item=draw(maybe(LABELS)),
        state=1,
        gauge=draw(maybe(LABELS)),
        typed=draw(st.just(()) | st.just(as_typed) | tuples(tuples(TEXTS))),
        raw=raw,
        poses=draw(st.dictionaries(TEXTS, tuples(REALS), max_size=2)),
        both_directions=draw(st.booleans()),
        turned=draw(st.booleans()),
        part_temperature=draw(warm),
        gauge_temperature=draw(warm),
        taken=draw(maybe(TEXTS)),
        evaluated=draw(evaluated()),
        surprise=draw(maybe(REALS)),
        kept=draw(st.booleans()),
        method=draw(maybe(METHODS)),
        note=draw(maybe(TEXTS)),
    )


@st.composite
def changes(draw: st.DrawFn) -> Change:
    """Any change of the machine."""
    what = draw(st.sampled_from(["set", "sized", "renewed"]))
    return Change(
        what=what,
        of=draw(LABELS),
        value=None if what == "renewed" else draw(REALS),
        std=draw(STDS),
        lock_std=draw(STDS),
        item=draw(maybe(LABELS)),
        planned=draw(maybe(REALS)),
    )


RECORDS: st.SearchStrategy[Record] = st.one_of(
    readings(),
    st.builds(Revision, text=st.text(LETTERS, max_size=200), file=maybe(TEXTS), difference=TEXTS),
    st.builds(
        State,
        reason=TEXTS,
        cause=st.sampled_from(["adjustment", "replacement", "rework"]),
        changes=tuples(changes()),
        step=maybe(TEXTS),
    ),
    st.builds(
        Calibration,
        gauge=LABELS,
        done=DAYS,
        due=maybe(DAYS),
        std=maybe(STDS),
        error=REALS,
        verified=st.booleans(),
        certificate=maybe(TEXTS),
        note=maybe(TEXTS),
    ),
    st.builds(
        Concession,
        part=LABELS,
        dims=tuples(LABELS, 1),
        state=st.just(1),
        decision=st.sampled_from(["use as is", "compensate", "match", "remake", "refuse"]),
        terms=TEXTS,
        chances=st.dictionaries(TEXTS, REALS, max_size=2),
    ),
    st.builds(
        Verdict,
        of=LABELS,
        item=maybe(LABELS),
        state=st.just(1),
        verdict=st.sampled_from(["conforming", "not conforming", "undecided"]),
        value=REALS,
        std=STDS,
        limits=st.tuples(maybe(REALS), maybe(REALS)),
        probability=CHANCES,
        rule=LABELS,
    ),
    st.builds(
        Stock,
        what=LABELS,
        size=st.floats(0, exclude_min=True, allow_infinity=False),
        std=STDS,
        count=st.integers(0, 10_000),
        note=maybe(TEXTS),
    ),
    st.builds(ColumnsKept, name=LABELS, columns=st.dictionaries(TEXTS, JSON, max_size=3)),
)


@pytest.fixture(scope="module")
def new_place(request: pytest.FixtureRequest) -> Iterator[Any]:
    """A function that gives a new place in a database."""
    with tempfile.TemporaryDirectory() as folder:

        def place(database: str) -> str:
            if database == "sqlite":
                return f"{folder}/{next(NUMBERS)}.book"
            return f"{request.getfixturevalue('server')}?book=law{next(NUMBERS)}"

        yield place


@settings(max_examples=30)
@given(records=st.lists(RECORDS, min_size=1, max_size=5), who=LABELS.filter(str.strip), why=TEXTS)
def test_any_book_comes_back_equal_from_every_database_and_from_text(
    new_place: Any, records: list[Record], who: str, why: str
) -> None:
    """What was entered is read back equal; text, database, text, other database, text: identical bytes each time."""
    with tempfile.TemporaryDirectory() as folder, begin(new_place("sqlite")) as first:
        written = first.append_all([Draft(record, why) for record in records], who=who)
        assert first.entries(since=2) == tuple(one.entry for one in written)
        for one, record in zip(written, records, strict=True):
            same = {"parent": None} if isinstance(record, State) else {}
            same |= {"difference": ""} if isinstance(record, Revision) else {}
            assert one.entry.record.model_copy(update=same) == record.model_copy(update=same)
        before = book.export_archive(first, Path(folder, "0.txt"))
        for number, database in enumerate([*DATABASES, "sqlite"], 1):
            with book.import_archive(before, new_place(database)) as other:
                assert other.entries() == first.entries()
                after = book.export_archive(other, Path(folder, f"{number}.txt"))
            assert after.read_bytes() == before.read_bytes()
            before = after


STEPS = st.tuples(
    st.sampled_from(["reading", "state", "revision", "withdrawal"]),
    st.none() | st.integers(1, 12),
    st.integers(0, 12),
)


@pytest.mark.parametrize("database", DATABASES)
@settings(max_examples=25)
@given(steps=st.lists(STEPS, min_size=1, max_size=10))
def test_whatever_several_writers_do_every_answered_entry_is_there(
    new_place: Any, database: str, steps: list[tuple[str, int | None, int]]
) -> None:
    """Corrections, withdrawals and adjustments in any order, from any outdated view: all stand in a sound book."""
    made = {
        "reading": Reading(
            subject="dim", of="a/b", state=1, raw=((1.0,),), evaluated=Evaluated(values=(1,), stds=(0,))
        ),
        "state": State(reason="shim", parent=1),
        "revision": Revision(text=BUILD + "more"),
        "withdrawal": Withdrawal(reason="wrong"),
    }
    where = new_place(database)
    with begin(where) as drill:
        answered = list(drill.entries())
        for kind, target, seen in steps:
            try:
                written = drill.append(made[kind], who="Bo", supersedes=target, seen=min(seen, len(answered)))
            except LoopwrightError:
                assert drill.last_number == len(answered)
                continue
            assert written.meanwhile == tuple(answered[min(seen, len(answered)) :])
            assert set(map(number, written.clashes)) <= set(map(number, written.meanwhile))
            answered.append(written.entry)
        assert drill.entries() == tuple(answered)
        standing = drill.standing()
        assert [e for e in answered if e.supersedes is None and e.record.kind != "withdrawal"] != []
        assert len({(e.record.kind, e.of) for e in standing}) == len(standing)
        states = [entry.of for entry in drill.states()]
        assert states == sorted(set(states))
        assert states[0] == 1
    assert book.verify(where).problems == ()


@given(before=st.text(max_size=60), after=st.text(max_size=60))
def test_a_difference_is_empty_only_for_equal_texts(before: str, after: str) -> None:
    """Whoever reads 'no difference' can rely on it, and every line that came is shown."""
    shown = book.difference(before, after)
    assert (shown == "") == (before == after)
    came = [line for line in after.split("\n") if line not in before.split("\n")]
    assert [line for line in came if f"+ {line}" not in shown] == []
