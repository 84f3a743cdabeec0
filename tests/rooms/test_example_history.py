"""The invented history that ships with the package: what is in it, that it makes sense, that it can be made anew."""

import importlib.util
import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.prior import prior_of
from loopwright.book import Book
from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.model.records import Calibration, Change, Concession, Entry, Reading, State, Stock
from loopwright.studies.as_built import reading_looks, standing_as_built
from loopwright.studies.bench import Bench, having
from loopwright.studies.books import bench_of, front_page, standing_of_book
from loopwright.studies.choosing import choose
from loopwright.studies.effect import replay
from loopwright.studies.example_history import open_example
from loopwright.studies.fitup_bench import fitup_step
from loopwright.studies.next_readings import next_readings
from loopwright.units import Dimension

ROOT = Path(__file__).parents[2]


def script() -> ModuleType:
    """The script that writes the history."""
    spec = importlib.util.spec_from_file_location("example_history", ROOT / "scripts" / "example_history.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # its dataclasses look their own module up
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """The history as the script writes it now, and the shop with the machine as it truly is."""
    archive, shop = script().tell(tmp_path_factory.mktemp("told"))
    return archive, shop


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """The shipped history as a book."""
    with open_example("clock-plate", tmp_path_factory.mktemp("shipped") / "drill.book") as opened:
        yield opened


@pytest.fixture(scope="module")
def bench(book: Book) -> Bench:
    """The machine at the end of it."""
    return bench_of(book)


def same(one: object, other: object) -> bool:
    """Equal, numbers to nine digits."""
    if isinstance(one, float) and isinstance(other, int | float):
        return one == pytest.approx(other, rel=1e-9, abs=1e-15)
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return one == other


def records(archive: Path, ending: str) -> list[dict[str, Any]]:
    """Entries of an archive, text of a description left out."""
    lines = archive.read_text("utf-8").splitlines()
    return [json.loads(line) for line in lines if line.startswith(ending)]


def readings(entries: tuple[Entry, ...]) -> list[Reading]:
    """Every reading among some entries."""
    return [reading for _, reading in having(entries, Reading)]


def test_the_script_writes_what_is_shipped(told: tuple[Path, Any]) -> None:
    """Run anew, the script types, evaluates and judges all the same; else run scripts/example_history.py."""
    shipped = ROOT / "src/loopwright/buildfile/examples/clock-plate-history.txt"
    mine, theirs = records(told[0], '{"number"'), records(shipped, '{"number"')
    assert len(mine) == len(theirs)
    for one, other in zip(mine, theirs):
        assert same(one, other), f"entry {one['number']}"


def test_it_is_of_the_shipped_description(book: Book) -> None:
    """The book holds the example build file byte for byte, so both tell of one machine."""
    record = book.newest_revision().record
    assert record.kind == "revision"
    assert record.text == examples.text("clock-plate")


def test_it_says_that_it_is_invented(book: Book) -> None:
    """Whoever opens the book reads at once that nothing in it was measured."""
    assert "invented" in book.entry(1).why
    assert "invented" in book.states()[0].record.reason  # type: ignore[union-attr]


def test_every_reading_was_typed(book: Book) -> None:
    """There are 40 readings and more, each with the text as typed and the same as numbers."""
    found = readings(book.entries())
    assert len(found) > 40
    for reading in found:
        assert [len(pose) for pose in reading.typed] == [len(pose) for pose in reading.raw], reading.of


def test_it_has_one_of_each_kind_of_reading(book: Book) -> None:
    """Repeats, a sweep from both sides, one with the artefact turned over, a comparison, a gap, warm parts."""
    found = readings(book.standing())
    assert any(len(r.typed[0]) > 2 for r in found)
    assert any(r.both_directions and len(r.typed) > 5 for r in found)
    assert any(r.turned and len(r.typed) > 5 for r in found)
    assert any(r.against for r in found)
    assert any(r.subject == "gap" for r in found)
    assert any(r.part_temperature and r.gauge_temperature for r in found)


def test_the_states_are_those_of_a_fit_up(book: Book) -> None:
    """As put together, the nut spacer ground, the column shimmed, the chosen screws put in."""
    states = [entry.record for entry in book.states()]
    assert all(isinstance(state, State) for state in states)
    assert [state.cause for state in states] == ["start", "rework", "adjustment", "replacement"]  # type: ignore[union-attr]


def test_a_spacer_was_ground_to_its_gap(book: Book) -> None:
    """The size asked is the gap as read, in steps of the grinder; the size reached is near it."""
    (gap,) = [r for r in readings(book.standing()) if r.of == "Y nut spacer"]
    ((ground,),) = [e.record.changes for e in book.states() if e.of == 2]  # type: ignore[union-attr]
    assert isinstance(ground, Change)
    assert ground.planned is not None
    assert ground.value is not None
    assert ground.planned == pytest.approx(gap.evaluated.values[0], abs=0.0035)
    assert 0 < abs(ground.value - ground.planned) < 0.005


def test_a_slip_was_corrected(book: Book) -> None:
    """One reading far off was asked about, and the next day another took its place; both are in the book."""
    (right,) = [e for e in book.standing("reading") if e.supersedes is not None]
    wrong = book.entry(right.supersedes or 0)
    assert isinstance(wrong.record, Reading)
    assert isinstance(right.record, Reading)
    assert (wrong.record.surprise or 0) > 3 > (right.record.surprise or 0)
    assert wrong.at[:10] < right.at[:10]


def test_a_surprise_was_kept_and_proved_right(book: Book, bench: Bench) -> None:
    """The column was out of square as read: the second reading agrees, and nothing surprises in the end."""
    (kept,) = [r for r in readings(book.standing()) if r.kept]
    assert kept.of == "column/foot_square"
    assert (kept.surprise or 0) > 3
    assert max(look.surprise for look in reading_looks(bench)) < 3


def test_one_part_was_conceded_on_terms(bench: Bench) -> None:
    """The column is out of tolerance and used, with what has to be done for it."""
    ((_, concession),) = having(bench.entries, Concession)
    assert concession.part == "column"
    assert concession.terms
    assert concession.decision == "compensate"


def test_the_drawer_was_counted_and_a_gauge_calibrated(bench: Bench) -> None:
    """Foil is counted before and after it is used; a gauge that was due is calibrated, another was read overdue."""
    counts = [(stock.size, stock.count) for _, stock in having(bench.entries, Stock)]
    assert len(counts) > len({size for size, _ in counts})
    ((_, done),) = having(bench.entries, Calibration)
    assert done.gauge == "micron indicator"
    notes = [note for r in readings(bench.entries) for note in r.evaluated.notes if "due on" in note]
    assert notes


def test_the_best_three_of_nine_screws_went_in(bench: Bench) -> None:
    """Each of nine was read twice over, and the three that are in are those that the choice names."""
    assert len({item.serial for item in bench.items}) == 9
    assert {item.what for item in bench.items} == {"mean travel", "travel variation"}
    number, last = bench.states()[-1]
    places = [change.of for change in last.changes]
    entry = next(e for e in bench.entries if e.record is last)
    before = bench.before(entry.number)
    assert number == 4
    assert choose(before, "ball screw", places).best == tuple(change.item for change in last.changes)


def test_the_machine_comes_out_better_than_designed(book: Book) -> None:
    """The chance to hold all limits is poor before the column is shimmed, and at the end better than on paper."""
    chances = []
    for state in (2, 3, 4):
        found = standing_as_built(bench_of(book, state=state))
        designed, chance = found.chance_of_all
        chances.append(chance)
    assert chances[0] < designed < chances[1] < chances[2]
    assert chances[2] > 0.97


def test_nothing_is_proposed_that_brings_nothing(book: Book, bench: Bench) -> None:
    """All along, each proposal takes 1 % of a limit or more, a setting 2 %, and the step that it names sets something;
    at the end, all limits being held, nothing more is worth reading, and it is said why.
    """
    for until in (2, 20, 35, 45, 50, 65, 79):
        page = front_page(bench_of(book, until=until))
        for action in page.actions:
            share = re.search(r"takes (\d+) %", action.gain)
            assert action.kind not in ("read", "set") or (share and int(share[1]) >= 1), action.gain
            if action.kind == "set":
                step = fitup_step(bench_of(book, until=until), action.command.rpartition(" ")[2])
                assert any(one.change for one in step.to_set)
        assert bool(page.nothing_more) == (not any(a.kind in ("read", "set") for a in page.actions))
    assert page.actions == ()
    assert page.nothing_more.startswith("every limit is held with the 95%")
    best = max(next_readings(bench).ranked, key=lambda worth: worth.gain)
    most = f"'{best.name}' takes {100 * best.gain:.1f} %" if best.gain >= 0.0005 else "none takes any"
    assert page.nothing_more.endswith(f"the most: {most}")
    assert not best.worthwhile
    assert best.verdict == "not worth taking"


def test_a_standing_of_the_past_is_that_of_the_replay(book: Book) -> None:
    """Where the machine stood at an entry is what the replay says came of that entry."""
    moved = [(entry, targets) for entry, targets in replay(book) if targets]
    for entry, targets in moved[5::12]:
        page = standing_of_book(book, until=entry.number)
        assert [t.expected for t in page.targets] == pytest.approx([t.after for t in targets], rel=1e-9)
        assert [t.unknown for t in page.targets] == pytest.approx(
            [t.unknown_after for t in targets], rel=1e-9
        )
        assert page.entries == entry.number
        assert page.actions == ()
        assert page.notes[0] == f"as it stood with entry {entry.number}; the book has 79 entries now"


def test_the_true_machine_is_within_its_drawings_but_for_the_column(told: tuple[Path, Any]) -> None:
    """Whatever makes it, every dim and every other deviation that has limits is within them; the column's foot alone
    is outside.
    """
    shop = told[1]
    loop = shop.bench.loop
    drawings = {
        f"{name}/{dim}": one for name, part in loop.build.parts.items() for dim, one in part.dims.items()
    }
    prior = prior_of(loop.sources, loop.build.assume)
    outside = [
        source.name
        for source, true, mean, far in zip(loop.sources, shop.truth, prior.mean, prior.farthest)
        if source.spread.std is None and source.name not in drawings and abs(true - mean) > far + 1e-12
    ]
    for name, places in loop.dims.items():
        stated = drawings[name].spread if name in drawings else None
        off = sum(shop.truth[place] * factor for place, factor in places.items())
        if stated is not None and stated.lower is not None and stated.upper is not None:
            within = stated.lower - 1e-12 <= off - stated.value <= stated.upper + 1e-12
            outside += [] if within else [name]
    assert outside == ["column/foot_square"]


def test_the_book_believes_what_is_true(told: tuple[Path, Any]) -> None:
    """What the readings let one expect of each target lies within 3.5 standard uncertainties of the true machine."""
    shop = told[1]
    known = shop.bench.knowledge
    for name in shop.bench.build.targets:
        rows = shop.bench.rows(name).matrix
        state = shop.bench.state
        off = known.line.over_pieces(rows, state) @ shop.truth - known.expected(rows, state)
        worst = np.abs(off / np.maximum(known.uncertainty(rows, state), 1e-12)).max()
        assert worst < 3.5, name


def test_the_true_machine_holds_its_limits(told: tuple[Path, Any]) -> None:
    """The machine as it truly is holds every target over its volume, as the book says it most likely does."""
    shop = told[1]
    for name, target in shop.bench.build.targets.items():
        true = (
            shop.bench.knowledge.line.over_pieces(shop.bench.rows(name).matrix, shop.bench.state) @ shop.truth
        )
        assert np.sqrt((true**2).sum(axis=1)).max() <= target.limit, name
        assert target.dimension in (Dimension.LENGTH, Dimension.ANGLE)


def test_an_example_without_a_history_says_which_have_one(tmp_path: Path) -> None:
    """Asking for the history of another machine names those that there are."""
    with pytest.raises(RequestError, match="clock-plate"):
        open_example("guitar-gantry", tmp_path / "x.book")
