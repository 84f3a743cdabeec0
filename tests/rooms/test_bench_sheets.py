"""What the pages of the bench, of parts and of bought parts are told: sheets, lists, and readings entered once."""

from collections.abc import Iterator
from math import isclose, pi
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from loopwright.book import Book
from loopwright.errors import RequestError
from loopwright.handbook.screws import lead_error
from loopwright.making.made_dims import made
from loopwright.model.records import Concession, Reading
from loopwright.studies.answer_fields import whole
from loopwright.studies.answer_schemas import shared_schemas
from loopwright.studies.answer_sheets import sheet_answers
from loopwright.studies.bench import Bench
from loopwright.studies.bench_list import bench_list, find, of_item, of_part, of_step
from loopwright.studies.bench_sheet import correction, positions_as_typed, sheet, value_as_read
from loopwright.studies.books import bench_of
from loopwright.studies.bought_sheet import bought
from loopwright.studies.carried import carried_by, shares
from loopwright.studies.entering import Doubted, Entered, KeyTaken, enter, look_into
from loopwright.studies.example_history import open_example
from loopwright.studies.exchange_sheets import (
    considered_as_data,
    gauges_as_data,
    part_as_data,
    sheet_as_data,
    targets_as_data,
)
from loopwright.studies.part_sheet import part_sheet
from loopwright.studies.parts_list import STATES, chosen, parts_list
from loopwright.studies.recording import Typed


@pytest.fixture(scope="module")
def held(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Book, Bench]]:
    """The invented history of the clock-plate machine, only to be looked at."""
    with open_example("clock-plate", tmp_path_factory.mktemp("sheets") / "drill.book") as book:
        yield book, bench_of(book)


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[Book]:
    """The same, to be written in."""
    with open_example("clock-plate", tmp_path / "drill.book") as book:
        yield book


def seat(value: str = "70.001") -> Typed:
    """A reading of a seat height that nobody doubts."""
    return Typed("base/Y_seat_left", [[value]], gauge="height gauge")


# sheets


def test_a_dim_is_asked_with_its_drawing_and_the_gauge_it_was_last_read_with(
    held: tuple[Book, Bench],
) -> None:
    """Pads were read with the micrometer; 12 ±0.01 stands on the drawing."""
    found = sheet(held[1], "pad_FL/height")
    assert (found.subject, found.nominal, found.asked.unit, found.gauge) == ("dim", 12.0, "mm", "micrometer")
    assert found.limits == pytest.approx((11.99, 12.01))
    assert found.last is not None
    assert found.last.who == "Tove"


def test_a_right_angle_is_typed_in_degrees_and_its_deviation_in_seconds(held: tuple[Book, Bench]) -> None:
    """Nobody types 324 000 arcsec."""
    found = sheet(held[1], "column/foot_square")
    assert (found.asked.unit, found.deviation_unit) == ("deg", "arcsec")
    assert found.nominal == pytest.approx(pi / 2)


def test_a_sweep_has_its_poses_as_they_could_be_typed(held: tuple[Book, Bench]) -> None:
    """X straight in Y runs over X in steps of 40 mm."""
    found = sheet(held[1], "X straight in Y")
    assert positions_as_typed(found.asked)["X"] == tuple(f"{40.0 * i} mm" for i in range(9))
    assert (found.asked.unit, found.artefact) == ("µm", "granite straightedge")


def test_a_typed_value_is_said_back_in_the_unit_that_is_asked(held: tuple[Book, Bench]) -> None:
    """One inch is 25.4 mm."""
    assert value_as_read(sheet(held[1], "column/Z_seat_left").asked, "1 in") == "25.4 mm"
    with pytest.raises(RequestError):
        value_as_read(sheet(held[1], "column/Z_seat_left").asked, "12,0x")


def test_a_correction_shows_what_was_typed(held: tuple[Book, Bench]) -> None:
    """Entry 23 read the seat three times."""
    found = correction(held[1], 23)
    assert (found.corrects, found.was, found.from_nominal) == (23, (("84.999", "85.000", "85.000"),), False)
    with pytest.raises(RequestError, match="no reading 11"):
        correction(held[1], 11)  # it was corrected before


def test_a_deviation_that_was_typed_is_corrected_as_a_deviation(fresh: Book) -> None:
    """'0.001' against gauge blocks is no size of one micrometre."""
    found = enter(
        fresh,
        bench_of(fresh),
        Typed("base/Y_seat_left", [["0.001"]], gauge="height gauge", from_nominal=True),
        who="T",
    )
    assert isinstance(found, Entered)
    again = correction(found.came.bench, found.written.entry.number)
    assert again.from_nominal
    assert again.was == (("1 µm",),)


# lists


def test_the_list_holds_steps_with_what_they_miss_and_items_with_what_is_read(
    held: tuple[Book, Bench],
) -> None:
    """In state 4 nothing was read again but the screws."""
    found = bench_list(held[1])
    assert found.steps[0].missing == 1
    screws = next(kind for kind in found.kinds if kind.kind == "ball screw")
    assert screws.whats == ("mean travel", "travel variation", "once per turn")
    assert len(screws.serials) == 9
    assert of_item(held[1], "ball screw")[0] == "ball screw/mean travel"


def test_unread_dims_of_a_part_come_first(held: tuple[Book, Bench]) -> None:
    """Of the column two were not read."""
    names = of_part(held[1], "column")
    assert set(names[:2]) == {"column/Z_seat_right", "column/Z_shoulder"}
    assert of_step(held[1], "2") == ("Y rails parallel",)


def test_a_search_takes_all_words_in_any_order(held: tuple[Book, Bench]) -> None:
    """And says how many there are beyond those it gives."""
    found, count = find(held[1], "LEFT seat", most=1)
    assert count == 3
    assert len(found) == 1


# parts


def test_a_part_stands_where_its_worst_dim_stands(held: tuple[Book, Bench]) -> None:
    """The column has a dim outside of its limits that was conceded, beside conforming and unread ones."""
    lines = {one.name: one for one in parts_list(held[1]).lines}
    assert (lines["column"].state, lines["column"].read, lines["column"].dims) == ("conceded", 3, 5)
    assert lines["pad_FL"].state == "conforming"
    assert lines["clock_plate"].state == "no dims"
    assert lines["spindle_cartridge"].bought
    assert {one.state for one in lines.values()} <= set(STATES)


def test_parts_are_filtered_and_sorted(held: tuple[Book, Bench]) -> None:
    """By state, by made or bought, by words in name or material."""
    lines = parts_list(held[1]).lines
    assert [one.name for one in chosen(lines, bought=True)] == ["spindle_cartridge"]
    assert {one.name for one in chosen(lines, words="pad o1")} == {"pad_FL", "pad_FR", "pad_RL", "pad_RR"}
    shares_ = [one.share for one in chosen(lines, sort="share")]
    assert shares_ == sorted(shares_, reverse=True)


def test_what_a_dim_carries_is_its_lever_times_its_deviation(held: tuple[Book, Bench]) -> None:
    """A foot out of square by one angle leans the spindle by that angle, whatever else moves."""
    found = carried_by(held[1], ["column/foot_square"])["column/foot_square"]
    tram = next(one for one in found if one.target == "spindle square to table, front to back")
    assert tram.moves == pytest.approx(1.0)
    std = held[1].knowledge.deviations(held[1].state)[1][next(iter(held[1].loop.dims["column/foot_square"]))]
    assert tram.unknown == pytest.approx(std)
    assert tram.before == pytest.approx(made(held[1].build).dims["column/foot_square"].std)


def test_the_shares_of_the_list_are_those_of_the_single_dims(held: tuple[Book, Bench]) -> None:
    """The quick way over all dims and the way over one agree."""
    every = shares(held[1])
    for path in ("column/foot_lean", "saddle/square", "post_FR/height"):
        single = max((one.share for one in carried_by(held[1], [path])[path]), default=0.0)
        assert isclose(every[path], single, rel_tol=1e-9)


def test_a_part_shows_every_reading_also_those_that_no_longer_count(held: tuple[Book, Bench]) -> None:
    """Entry 11 was corrected by 12; the pad was also compared with another."""
    dim = part_sheet(held[0], held[1], "pad_RL").dims[0]
    assert {one.entry: one.counts for one in dim.readings} == {11: False, 12: True}
    assert dim.together == ("pad_FL/height", "pad_FR/height", "pad_RR/height")
    column = part_sheet(held[0], held[1], "column")
    assert isinstance(column.concessions[0].record, Concession)
    assert ("column on base", "front left", ("foot_square", "foot_lean")) in column.contacts
    with pytest.raises(RequestError, match="no part"):
        part_sheet(*held, "nothing")


# bought parts


def test_a_screw_keeps_the_finest_grade_whose_limits_hold_all_that_was_read(held: tuple[Book, Bench]) -> None:
    """Held against the tables themselves, what is not known counted against the screw (k = 1.96 at 95 %)."""
    kind = bought(held[1]).kinds[0]
    travel = 320.0  # the longest of the three slides
    for item in kind.items:
        grade = next(one.grade for one in item.grades if one.system == "JIS B 1192")
        read = {one.what: abs(one.value) + 1.96 * one.std for one in item.read}
        order = ("C0", "C1", "C2", "C3", "C5")
        kept = [
            name
            for name in order
            if read["mean travel"] <= lead_error(name, travel).travel_deviation
            and read["travel variation"] <= (lead_error(name, travel).bandwidth_travel or 1.0)
        ]
        assert grade == kept[0], item.serial
    assert {place.path: place.serial for place in kind.places} == {
        "Y slide/drive": "K7",
        "X slide/drive": "K3",
        "Z slide/drive": "K1",
    }


# entering


def test_a_reading_is_entered_once_however_often_it_is_sent(fresh: Book) -> None:
    """The second answer is that of the first, also when others entered something in between."""
    first = enter(fresh, bench_of(fresh), seat(), who="Ada", key="a" * 16)
    between = enter(
        fresh,
        bench_of(fresh),
        Typed("base/Y_seat_right", [["70.0"]], gauge="height gauge"),
        who="Mai",
        key="b" * 16,
    )
    again = enter(fresh, bench_of(fresh), seat(), who="Ada", key="a" * 16)
    assert isinstance(first, Entered)
    assert isinstance(between, Entered)
    assert isinstance(again, Entered)
    assert again.written.again
    assert again.written.entry == first.written.entry
    assert again.considered.reading.surprise == first.considered.reading.surprise
    assert [t.after for t in again.came.targets] == pytest.approx([t.after for t in first.came.targets])
    assert len(fresh.entries("reading", subject="base/Y_seat_left")) == 1


def test_a_key_that_stands_for_something_else_is_refused(fresh: Book) -> None:
    """Nothing is entered, and nothing is lost."""
    enter(fresh, bench_of(fresh), seat(), who="Ada", key="a" * 16)
    with pytest.raises(KeyTaken, match="says something else"):
        enter(fresh, bench_of(fresh), seat("70.002"), who="Ada", key="a" * 16)


def test_a_surprise_asks_before_it_is_entered(fresh: Book) -> None:
    """A digit left out: 50.02 for 50.002; kept only when somebody says so."""
    typed = Typed("column/Z_shoulder", [["50.02"]], gauge="length gauge")
    before = fresh.last_number
    asked = enter(fresh, bench_of(fresh), typed, who="Ada")
    assert isinstance(asked, Doubted)
    assert any(one.typed is not None and one.typed.values == [["50.002"]] for one in asked.meant)
    assert fresh.last_number == before
    kept = enter(fresh, bench_of(fresh), typed, who="Ada", keep=True)
    assert isinstance(kept, Entered)
    record = kept.written.entry.record
    assert isinstance(record, Reading)
    assert record.kept


def test_what_others_read_meanwhile_is_told_and_both_stand(fresh: Book) -> None:
    """Nobody's reading is lost, and the later one hears of the earlier."""
    seen = fresh.last_number
    enter(fresh, bench_of(fresh), seat("70.002"), who="Mai")
    mine = enter(fresh, bench_of(fresh), seat(), who="Ada", since=seen)
    assert isinstance(mine, Entered)
    assert [entry.who for entry in mine.written.clashes] == ["Mai"]


def test_a_correction_is_held_against_the_book_without_what_it_corrects(fresh: Book) -> None:
    """Else a wrong reading would make the right one a surprise."""
    bench = bench_of(fresh)
    typed = Typed("column/Z_seat_left", [["85.005"]], gauge="height gauge")
    found = look_into(bench, typed, instead_of=23).considered.look
    beside = look_into(bench, typed).considered.look
    assert found is not None
    assert beside is not None
    assert float(found.std[0]) > float(beside.std[0])


# answers


def test_every_answer_keeps_to_its_schema(held: tuple[Book, Bench]) -> None:
    """JSON Schema draft 2020-12, by its reference implementation."""
    book, bench = held
    told = {
        "targets": [targets_as_data(bench)],
        "gauges": [gauges_as_data(bench)],
        "part": [part_as_data(part_sheet(book, bench, name)) for name in ("column", "clock_plate", "pad_RL")],
        "sheet": [
            sheet_as_data(bench, sheet(bench, "X straight in Y")),
            sheet_as_data(bench, sheet(bench, "ball screw/mean travel", item="Z9")),
            sheet_as_data(bench, sheet(bench, "head spacer")),
        ],
        "considered": [
            considered_as_data(bench, look_into(bench, seat())),
            considered_as_data(bench, look_into(bench, seat("7.0"))),
        ],
        "value": [{"format": "loopwright-value/1", "value": "25.4 mm"}],
    }
    known = sheet_answers()
    assert set(told) == set(known)
    for name, answers in told.items():
        schema = whole(known[name].schema, name, shared_schemas())
        for answer in answers:
            assert list(Draft202012Validator(schema).iter_errors(answer)) == []
