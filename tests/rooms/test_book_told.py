"""The book looked through: its history by page, an entry with all of it, gauges and the drawer."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from loopwright.book import Book, Draft, verify
from loopwright.errors import Cancelled, RequestError
from loopwright.model.records import Calibration, Reading, Stock, Withdrawal
from loopwright.studies.bench import Bench
from loopwright.studies.books import bench_of
from loopwright.studies.drawer import drawer
from loopwright.studies.effect import replay
from loopwright.studies.entry_told import effect_of, entry_told
from loopwright.studies.example_history import open_example
from loopwright.studies.gauges import DAYS_OF_A_MONTH, _drift, gauge_page, gauges
from loopwright.studies.happened import Chronicle, Wanted, chronicle
from loopwright.studies.typed_numbers import exact
from loopwright.units import Dimension

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Book, Bench, Chronicle]]:
    """The shipped history, open, the machine as it stands, and every entry; to be looked at only."""
    with open_example("clock-plate", tmp_path_factory.mktemp("told") / "drill.book") as book:
        bench = bench_of(book)
        yield book, bench, chronicle(book, bench)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """The shipped history to write in."""
    with open_example("clock-plate", tmp_path / "drill.book") as found:
        yield found


def test_a_chronicle_is_the_whole_book(told: tuple[Book, Bench, Chronicle]) -> None:
    """What counts and what no longer does, in order, entry by entry as the book has it."""
    book, _, every = told
    assert every.entries == book.entries()
    assert every.superseded == {11: 12}
    gone = [entry.number for entry in book.entries(gone_only=True)]
    assert gone == [11]
    assert sorted([*gone, *(entry.number for entry in book.standing())]) == list(range(1, 80))


def test_pages_of_a_history_are_all_of_it_newest_first(told: tuple[Book, Bench, Chronicle]) -> None:
    """From page to page by 'older', and back by 'newer'."""
    every = told[2]
    page, numbers, pages = every.page(Wanted(), 30), [], 0
    assert page.newer is None
    while True:
        pages += 1
        numbers += [line.entry.number for line in page.lines]
        if page.older is None:
            break
        page = every.page(Wanted(before=page.older), 30)
    assert numbers == list(range(79, 0, -1))
    assert pages == 3
    assert page.newer is not None
    assert every.page(Wanted(before=page.newer), 30).lines[0].entry.number == 49
    assert every.page(Wanted(before=49 + 1), 30).newer == 0


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        (Wanted(kind="state"), [76, 47, 38, 2]),
        (Wanted(about="Y nut spacer"), [37]),
        (Wanted(about="Y_nut_spacer"), [39, 38]),
        (Wanted(about="tram the spindle"), [47]),
        (Wanted(about="tram bar"), [50, 49, 46, 45]),
        (Wanted(state=2, kind="reading", about="spindle tram side to side"), [46]),
        (Wanted(words="DIGIT tuesday"), [12]),
        (Wanted(words="47", kind="state"), [47]),
        (Wanted(words="no such word"), []),
        (Wanted(who="Ruben", kind="state"), [38]),
    ],
)
def test_a_history_is_looked_through(
    told: tuple[Book, Bench, Chronicle], wanted: Wanted, numbers: list[int]
) -> None:
    """By kind, subject (a part is all of its dims), state, person and words in any order; a number finds its entry."""
    found = told[2].page(wanted)
    assert [line.entry.number for line in found.lines] == numbers
    assert found.entries == 79


def test_an_entry_that_was_corrected_names_what_took_its_place(told: tuple[Book, Bench, Chronicle]) -> None:
    """The reading with a digit left out, and the one that was read again."""
    _, bench, every = told
    wrong, right = entry_told(bench, every, 11), entry_told(bench, every, 12)
    assert (wrong.line.gone, wrong.line.by, wrong.fit, wrong.may_go) == (True, 12, None, False)
    assert [one.entry.number for one in right.chain] == [11, 12]
    assert (right.may_go, right.line.gone) == (True, False)
    assert right.fit is not None
    found, expected, std = right.fit.sizes(right.nominal)[0]
    assert found == pytest.approx(12.001, abs=1e-3)
    assert abs(found - expected) / std == pytest.approx(right.fit.surprise, rel=0.01)
    with pytest.raises(RequestError, match="no entry 80"):
        entry_told(bench, every, 80)


def test_the_first_description_and_the_first_state_stay(told: tuple[Book, Bench, Chronicle]) -> None:
    """Everything stands on them; nobody is offered to withdraw them."""
    _, bench, every = told
    assert [entry_told(bench, every, number).may_go for number in (1, 2, 38)] == [False, False, True]


def test_a_sweep_is_told_with_the_places_it_was_read_at(told: tuple[Book, Bench, Chronicle]) -> None:
    """Nine places along X."""
    _, bench, every = told
    sweep = entry_told(bench, every, 42)
    assert (sweep.moving, len(sweep.poses)) == ("X", 9)
    assert [pose["X"] for pose in sweep.poses][:3] == [0.0, 40.0, 80.0]


def test_what_an_entry_brought_is_what_the_replay_says(told: tuple[Book, Bench, Chronicle]) -> None:
    """Entry by entry: a reading, a correction, a ground spacer, shims, screws put in."""
    book, bench, _ = told
    by_number = {entry.number: targets for entry, targets in replay(book)}
    for number in (8, 12, 38, 47, 76):
        for one, other in zip(effect_of(book, bench, number), by_number[number], strict=True):
            assert one.after == pytest.approx(other.after, rel=1e-9)
            assert one.before == pytest.approx(other.before, rel=1e-9)
    assert effect_of(book, bench, 1) == ()


# gauges


def test_gauges_are_told_with_what_is_due(told: tuple[Book, Bench, Chronicle]) -> None:
    """The level was due in August; the indicator was calibrated in the book; what is overdue comes first."""
    found = {one.name: one for one in gauges(told[1], on=TODAY)}
    assert next(iter(found)) == "precision level"
    level, indicator = found["precision level"], found["micron indicator"]
    assert (level.stands, level.days, level.verified) == ("overdue", -97, False)
    assert (indicator.stands, indicator.calibrated) == ("in date", date(2026, 9, 11))
    # a limit of ±1 µm, all values alike likely: 1/√3 (JCGM 100:2008, 4.3.7)
    assert indicator.calibration == pytest.approx(0.001 / 3**0.5)
    assert gauges(told[1], on=date(2027, 8, 20))[0].stands == "overdue"
    assert {g.name: g.stands for g in gauges(told[1], on=date(2027, 8, 20))}["micron indicator"] == "due soon"


def test_a_gauge_that_was_refused_is_not_in_order(book: Book) -> None:
    """Whatever its date says."""
    book.append(
        Calibration(gauge="micrometer", done="2026-11-20", due="2027-11-20", verified=False), who="Ada"
    )
    assert gauges(bench_of(book), on=TODAY)[0].stands == "not in order"


def test_readings_of_a_gauge_are_told_with_their_misses(told: tuple[Book, Bench, Chronicle]) -> None:
    """Single sizes with a sign; sweeps whose zero is open by their shape alone."""
    page = gauge_page(told[1], "micrometer", on=TODAY)
    assert page.line.readings == len(page.readings) == 14
    assert all(one.counts for one in page.readings)
    assert page.drift is not None
    assert not page.drift.seen
    sweeps = gauge_page(told[1], "precision level").readings
    assert [one.miss for one in sweeps] == [None, None]


def test_a_drift_is_the_slope_of_the_line_through_the_misses() -> None:
    """Weighted least squares as NumPy's own: 1 µm in a month, known by the usual formula (JCGM 100:2008, H.3)."""
    draw = np.random.Generator(np.random.SFC64(2))
    days, std = np.sort(draw.uniform(0, 90, 20)), draw.uniform(0.5e-3, 2e-3, 20)
    miss = 1e-3 * days / DAYS_OF_A_MONTH + 4e-3
    found = _drift([(1e9 + 86_400 * d, m, s) for d, m, s in zip(days, miss, std)])
    assert found is not None
    assert found.rate == pytest.approx(1e-3)
    (slope, _), covariance = np.polyfit(days / DAYS_OF_A_MONTH, miss, 1, w=1 / std, cov="unscaled")
    assert found.rate == pytest.approx(slope)
    assert found.std == pytest.approx(covariance[0, 0] ** 0.5)
    assert found.seen == (found.rate > 2 * found.std)


def test_too_few_readings_tell_nothing_of_drift() -> None:
    """Five, or all on one day."""
    assert _drift([(86_400.0 * k, 0.001, 0.001) for k in range(5)]) is None
    assert _drift([(60.0 * k, 0.001 * k, 0.001) for k in range(20)]) is None


# the drawer


def test_the_last_count_of_a_thickness_holds(book: Book) -> None:
    """With the counts before it; what is used up stays on the list, and no shim is picked from it."""
    found = {one.size: one for one in drawer(bench_of(book)).counted}
    assert (found[0.01].count, found[0.01].before) == (6, ((3, 8),))
    book.append(Stock(what="shim foil", size=0.02, count=0), who="Ada")
    book.append(Stock(what="brass foil", size=0.5, count=2), who="Ada")
    now = bench_of(book)
    after = drawer(now)
    assert {one.size: one.count for one in after.counted if one.what == "shim foil"}[0.02] == 0
    assert after.kinds == ("shim foil", "brass foil")
    assert 0.02 not in [one.size for one in now.stock()]


# typed numbers, and looking a book through


def test_a_bare_number_takes_the_unit_beside_its_field() -> None:
    """And comes out as a text that every study reads alike."""
    assert exact("error", "−2", Dimension.LENGTH, "µm") == "-0.002 mm"
    assert exact("error", "1 tenth", Dimension.LENGTH, "µm") == "0.00254 mm"
    with pytest.raises(RequestError, match=r"^error: "):
        exact("error", "much", Dimension.LENGTH, "µm")


def test_looking_a_book_through_says_how_far_it_is_and_can_be_stopped(tmp_path: Path) -> None:
    """Every thousand entries."""
    with open_example("clock-plate", tmp_path / "drill.book") as made:
        reading = next(e.record for e in made.standing("reading") if isinstance(e.record, Reading))
        made.append_all([Draft(reading) for _ in range(1000)], who="Ada")
        made.append(Withdrawal(reason="too many"), who="Ada", supersedes=1000)
    heard: list[tuple[int, int | None]] = []
    found = verify(tmp_path / "drill.book", progress=lambda done, wanted: heard.append((done, wanted)))
    assert found.sound
    assert heard == [(0, 1080), (1000, 1080)]
    with pytest.raises(Cancelled):
        verify(tmp_path / "drill.book", cancel=lambda: True)
