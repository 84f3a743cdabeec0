"""A machine from state to state: what is set, sized and exchanged, and which readings still tell of what."""

from dataclasses import replace
from math import hypot, sqrt

import numpy as np
import pytest

from as_built_machines import (
    UM,
    beliefs,
    change,
    clock_observer,
    clock_plate,
    clock_prior,
    machine,
    reading,
    seen,
    states,
)
from loopwright.asbuilt.knowledge import Knowledge, learn
from loopwright.asbuilt.observing import Found, line_of
from loopwright.asbuilt.timeline import Move, as_designed, changed, shape_of, timeline
from loopwright.errors import RequestError
from loopwright.model.records import Change
from loopwright.model.spread import Shape

SHIM, JACK = "column on base/front left", "Y slide/guide/rails/B/side"
PADS = ("pad_FL/height", "pad_FR/height", "pad_RL/height", "pad_RR/height")
TARGET = "spindle square to table, front to back"


def after(*changes: list[Change], items: dict[tuple[str, str], Found] | None = None) -> Knowledge:
    """The clock-plate machine after changes, with nothing read."""
    return learn(line_of(clock_plate(), states(*changes), items or {}), [])


def place_of(path: str) -> int:
    """Place in x of an adjuster's setting."""
    return clock_plate().settings[path]


def row_of(*dims: str) -> np.ndarray:
    """Row of a dim; of two, their difference."""
    rows = [clock_observer().dim(path)[0] for path in dims]
    return np.asarray(rows[0] if len(rows) == 1 else rows[0] - rows[1])


def told(known: Knowledge, state: int, *dims: str) -> tuple[float, float]:
    """Expected value and standard uncertainty of a dim, or of the difference of two, in a state."""
    row = row_of(*dims)
    return float(known.expected(row, state)), float(known.uncertainty(row, state))


# ---------------------------------------------------------------------------------------------------------- by hand
def test_as_designed_it_is_what_the_drawings_say() -> None:
    """With nothing done there is one state, and its deviations are the pieces themselves."""
    line = as_designed(clock_prior())
    assert line.states == (1,)
    assert line.newest == 1
    rows = np.arange(6.0 * len(line.mean)).reshape(2, 3, -1)
    assert np.array_equal(line.over_pieces(rows, 1), rows)
    assert set(line.since) == {1}


def test_moves_by_hand() -> None:
    """A place moved on is the sum of both pieces, one set anew only the new; one without its shared part takes
    that away from the row, wherever the shared part went since.
    """
    prior = beliefs([1.0, 2.0, 3.0])
    line = timeline(
        prior,
        [
            (1, []),
            (2, [Move(0, 0.1, 0.5, onward=True)]),
            (5, [Move(1, 0.2, 0.4)]),
            (6, [Move(2, 0.3, 0.6, less=((1, 1.0), (0, 1.0)))]),
            (7, [Move(0, 0.0, 0.7, onward=True, also=((2, 1.0),))]),
        ],
    )
    found = {state: line.over_pieces(np.eye(3), state).tolist() for state in line.states}
    assert found[1] == [[1, 0, 0, 0, 0, 0, 0], [0, 1, 0, 0, 0, 0, 0], [0, 0, 1, 0, 0, 0, 0]]
    assert found[2] == [[1, 0, 0, 1, 0, 0, 0], [0, 1, 0, 0, 0, 0, 0], [0, 0, 1, 0, 0, 0, 0]]
    assert found[5] == [[1, 0, 0, 1, 0, 0, 0], [0, 0, 0, 0, 1, 0, 0], [0, 0, 1, 0, 0, 0, 0]]
    assert found[6][2] == [-1, 0, 0, -1, -1, 1, 0]
    assert found[7][0] == [1, 0, 0, 1, 0, 0, 1]
    assert found[7][2] == [-1, 0, 0, -1, -1, 1, 1]
    assert line.since == (1, 1, 1, 2, 5, 6, 7)
    assert line.newest == 7
    assert line.mean.tolist() == [0, 0, 0, 0.1, 0.2, 0.3, 0.0]
    assert line.open_.tolist() == list(range(7))


def test_one_more_state_is_the_same_as_all_at_once() -> None:
    """A change tried on a timeline gives the timeline that the book would with it."""
    prior, moves = beliefs([1.0, 2.0, 3.0], [], *[Shape.RECTANGULAR] * 3), [Move(0, 0.1, 0.5), Move(2, 0, 1)]
    tried = changed(timeline(prior, [(1, []), (2, moves[:1])]), moves[1:])
    booked = timeline(prior, [(1, []), (2, moves[:1]), (3, moves[1:])])
    assert tried.states == booked.states
    assert tried.made_of == booked.made_of
    assert np.array_equal(tried.mean, booked.mean)
    assert np.array_equal(tried.std, booked.std)
    assert [shape_of(booked, piece) for piece in (0, 4)] == [Shape.RECTANGULAR, Shape.NORMAL]


def test_an_unknown_state_is_refused() -> None:
    """Rows of a state that is not there are refused, and what there is is named."""
    line = timeline(beliefs([1.0]), [(1, []), (2, [])])
    with pytest.raises(RequestError, match="there is no state 3") as refused:
        line.over_pieces(np.eye(1), 3)
    assert refused.value.remedy == "name one of 1 to 2"


# ------------------------------------------------------------------------------------------------- set, moved, sized
def test_a_shim_is_put_in_anew() -> None:
    """Each shim stands where it was measured to be; the error of the one before went out with it."""
    known = after([change("set", SHIM, 0.05, 2 * UM)], [change("set", SHIM, 0.07, 1 * UM, lock_std=2 * UM)])
    place = place_of(SHIM)
    stood = [tuple(float(part[place]) for part in known.deviations(state)) for state in (1, 2, 3)]
    assert stood[0] == (0.0, 0.0)
    assert stood[1] == pytest.approx((0.05, 2 * UM))
    assert stood[2] == pytest.approx((0.07, sqrt(5) * UM))


def test_a_jack_screw_moves_on() -> None:
    """A screw set to 50 µm and then to 80 was moved by 30 in the second state: where it stands is no better
    known than both moves together, and what is learned of the first counts for the second.
    """
    line = line_of(
        clock_plate(), states([change("set", JACK, 0.05, 1 * UM)], [change("set", JACK, 0.08, 2 * UM)]), {}
    )
    known, place = learn(line, []), place_of(JACK)
    mean, std = known.deviations(3)
    assert mean[place] == pytest.approx(0.08)
    assert std[place] == pytest.approx(sqrt(5) * UM)
    row = np.zeros((1, len(clock_plate().sources)))
    row[0, place] = 1.0
    read = learn(line, [seen(row, [0.0512], [0.5 * UM], state=2)])
    mean, std = read.deviations(3)
    # by hand: 1.2 µm found where ±1 was open, read to ±0.5: 1.2 / 1.25 = 0.96 µm, left open 1 / sqrt(5) µm
    assert mean[place] == pytest.approx(0.08 + 0.96 * UM, abs=1e-9)
    assert std[place] == pytest.approx(hypot(2, 1 / sqrt(5)) * UM, rel=1e-9)
    shim = line_of(
        clock_plate(), states([change("set", SHIM, 0.05, 1 * UM)], [change("set", SHIM, 0.08, 2 * UM)]), {}
    )
    row = np.zeros_like(row)
    row[0, place_of(SHIM)] = 1.0
    read = learn(shim, [seen(row, [0.0512], [0.5 * UM], state=2)])
    assert read.deviations(3)[0][place_of(SHIM)] == pytest.approx(0.08)
    assert read.deviations(3)[1][place_of(SHIM)] == pytest.approx(2 * UM)


def test_a_setting_moves_the_tool_by_its_own_rows() -> None:
    """A shim of 60 µm under one pad moves the expected indication by 60 µm times what the loop says of it, and
    nothing else.
    """
    rows = clock_plate().rows(clock_plate().build.targets[TARGET])
    known = after([change("set", SHIM, 0.06, 2 * UM)])
    moved = known.expected(rows.matrix, 2) - known.expected(rows.matrix, 1)
    assert moved == pytest.approx(0.06 * rows.matrix[:, :, place_of(SHIM)], abs=1e-15)
    assert np.abs(moved).max() > 1e-4
    grown = known.uncertainty(rows.matrix, 2) ** 2 - known.uncertainty(rows.matrix, 1) ** 2
    assert grown == pytest.approx((2 * UM * rows.matrix[:, :, place_of(SHIM)]) ** 2, abs=1e-15)


def test_a_dim_brought_to_size_is_that_size() -> None:
    """A spacer ground to 6.013 ± 1 µm is that, whatever it was; before that state it was as drawn."""
    known = after([change("sized", "head_spacer/thickness", 6.013, 1 * UM)])
    assert told(known, 1, "head_spacer/thickness") == pytest.approx((0.0, 5 / sqrt(3) * UM))
    assert told(known, 2, "head_spacer/thickness") == pytest.approx((0.013, 1 * UM))


def test_a_dim_brought_to_size_leaves_its_group() -> None:
    """A pad of four made together that was ground to 11.990 ± 1 µm keeps nothing of the setup's shared
    deviation; the others keep it, and their differences.
    """
    known = after([change("sized", "pad_FL/height", 11.990, 1 * UM)])
    shared, own = 10 / sqrt(3) * UM, 1.5 / sqrt(3) * UM
    assert told(known, 1, "pad_FL/height", "pad_FR/height")[1] == pytest.approx(sqrt(2) * own)
    assert told(known, 2, "pad_FL/height") == pytest.approx((-0.010, 1 * UM))
    assert told(known, 2, "pad_FR/height")[1] == pytest.approx(hypot(shared, own))
    assert told(known, 2, "pad_FR/height", "pad_RL/height")[1] == pytest.approx(sqrt(2) * own)
    apart = told(known, 2, "pad_FL/height", "pad_FR/height")
    assert apart == pytest.approx((-0.010, hypot(1 * UM, hypot(shared, own))))


# ---------------------------------------------------------------------------------------------------------- exchanged
def test_a_new_part_was_in_no_setup_with_the_old_ones() -> None:
    """A new pad is open by all its drawing allows, alone; what is read of the old pads tells nothing of it."""
    line = line_of(clock_plate(), states([change("renewed", "pad_FL")]), {})
    known = learn(line, [])
    shared, own = 10 / sqrt(3) * UM, 1.5 / sqrt(3) * UM
    assert told(known, 2, "pad_FL/height")[1] == pytest.approx(hypot(shared, own))
    assert told(known, 2, "pad_FL/height", "pad_FR/height")[1] == pytest.approx(sqrt(2) * hypot(shared, own))
    observer = clock_observer()
    read = [observer.observation(reading("dim", path, [12.006], 0.5 * UM)) for path in PADS]
    taught = learn(line, read)
    assert told(taught, 2, "pad_FL/height") == pytest.approx((0.0, hypot(shared, own)), abs=1e-12)
    assert told(taught, 1, "pad_FL/height")[0] == pytest.approx(0.006, abs=0.2 * UM)
    assert told(taught, 2, "pad_FR/height") == pytest.approx(told(taught, 1, "pad_FR/height"))
    # the old pad still tells of the setup that the other three were made in
    without = learn(line, read[1:])
    some = told(without, 2, "pad_FR/height")[1]
    assert told(taught, 2, "pad_FR/height")[1] < some * (1 - 1e-6)


def test_dims_of_one_new_part_were_made_together_again() -> None:
    """A new saddle has its two bosses ground in one setup as the old one had: their difference is as open as
    before, their height all anew.
    """
    under = ("saddle/under_left", "saddle/under_right")
    line = line_of(clock_plate(), states([change("renewed", "saddle")]), {})
    known = learn(line, [])
    shared, own = 20 / sqrt(3) * UM, 2 / sqrt(3) * UM
    for state in (1, 2):
        assert told(known, state, *under)[1] == pytest.approx(sqrt(2) * own)
        assert told(known, state, under[0])[1] == pytest.approx(hypot(shared, own))
    read = learn(line, [clock_observer().observation(reading("dim", under[0], [15.015], 0.5 * UM, state=2))])
    assert told(read, 2, under[1])[0] == pytest.approx(0.015, abs=0.5 * UM)
    assert told(read, 1, under[1]) == pytest.approx((0.0, hypot(shared, own)), abs=1e-12)
    rows = clock_plate().rows(clock_plate().build.targets[TARGET]).matrix
    assert known.uncertainty(rows, 2) == pytest.approx(known.uncertainty(rows, 1), rel=1e-12)


def test_a_new_item_is_as_it_was_found_on_the_bench() -> None:
    """A new pad that was inspected stands as found; of a part inspected in one of its dims the others are as
    drawn, made together among themselves.
    """
    items = {
        ("P7", "height"): Found(12.004, 0.6 * UM),
        ("B2", "Y_seat_left"): Found(70.011, 0.8 * UM),
        ("P7", "width"): Found(1.0, 1.0),
    }
    known = after(
        [change("renewed", "pad_FL", item="P7"), change("renewed", "base", item="B2")],
        [change("renewed", "pad_FL", item="never read")],
        items=items,
    )
    assert told(known, 2, "pad_FL/height") == pytest.approx((0.004, 0.6 * UM))
    assert told(known, 2, "base/Y_seat_left") == pytest.approx((0.011, 0.8 * UM))
    own, shared = 2 / sqrt(3) * UM, 30 / sqrt(3) * UM
    assert told(known, 2, "base/Y_seat_right")[1] == pytest.approx(hypot(own, shared))
    assert told(known, 2, "base/Y_seat_right", "base/landing_FL")[1] == pytest.approx(sqrt(2) * own)
    assert told(known, 3, "pad_FL/height")[1] == pytest.approx(hypot(10, 1.5) / sqrt(3) * UM)


def test_a_new_screw_is_as_its_grade_or_its_chart_says() -> None:
    """A new screw is as open as the file says; one with a chart has the mean travel that was found and waves as
    much as its band says.
    """
    line = line_of(clock_plate(), states([change("renewed", "X slide/drive")]), {})
    rows = clock_plate().rows(clock_plate().build.tests["X positioning"]).matrix
    plain = learn(line, [])
    assert plain.uncertainty(rows, 2) == pytest.approx(plain.uncertainty(rows, 1), rel=1e-12)
    chart = {
        ("S1", "mean travel"): Found(6 * UM, 0.5 * UM),
        ("S1", "travel variation"): Found(4 * UM, 0.5 * UM),
    }
    known = after([change("renewed", "X slide/drive", item="S1")], items=chart)
    named = {source.name: place for place, source in enumerate(clock_plate().sources)}
    mean, std = known.deviations(2)
    assert mean[named["X slide: drive mean travel"]] == pytest.approx(6 * UM)
    assert std[named["X slide: drive mean travel"]] == pytest.approx(0.5 * UM)
    for number in range(1, 5):
        place = named[f"X slide: drive travel variation {number}"]
        assert std[place] == pytest.approx(clock_prior().std[place] * 4 / 8)
    assert std[named["X slide: drive once per turn 1"]] == pytest.approx(
        clock_prior().std[named["X slide: drive once per turn 1"]]
    )


def test_what_is_made_anew_has_the_shape_of_its_drawing() -> None:
    """Pieces of a new part and a new screw have the stated shapes, what is shared in a setup too; what was set,
    ground or found on the bench is normal.
    """
    loop, prior = clock_plate(), clock_prior()
    done = states(
        [change("renewed", "saddle"), change("renewed", "X slide/drive")],
        [change("set", SHIM, 0.05, 1 * UM), change("sized", "head_spacer/thickness", 6.01, 1 * UM)],
        [change("renewed", "pad_FL", item="P7"), change("renewed", "Y slide/drive", item="S1")],
    )
    items = {("P7", "height"): Found(12.004, UM), ("S1", "mean travel"): Found(6 * UM, UM)}
    line = line_of(loop, done, items)
    drawn = {state: [] for state in (1, 2, 3, 4)}
    for piece, state in enumerate(line.since):
        drawn[state].append(shape_of(line, piece))
    assert drawn[1] == list(prior.shapes)
    assert Shape.RECTANGULAR in drawn[2]
    assert [
        prior.shapes[place] for piece, place in enumerate(line.drawn_as) if line.since[piece] == 2
    ] == drawn[2]
    assert drawn[3] == [Shape.NORMAL] * 2
    assert drawn[4][:2] == [Shape.NORMAL] * 2
    named = [loop.sources[place].name for place, state in zip(line.places, line.since) if state == 3]
    assert named == [loop.sources[place_of(SHIM)].name, "head_spacer/thickness"]


# -------------------------------------------------------------------------------------- what older readings still tell
def test_an_older_reading_tells_of_what_did_not_change() -> None:
    """The spindle is trammed, a pad shimmed, and it is asked again without a new reading: of the lean, all that
    the first reading told still holds, the shim's own error is added, and that is all.
    """
    name, std = "spindle tram front to back", 5e-6
    observer = clock_observer()
    rows = observer.test(name)[0]
    line = line_of(clock_plate(), states([change("set", SHIM, 0.06, 2 * UM)]), {})
    lean = observer.observation(reading("test", name, [80e-6], std))
    known = learn(line, [lean])
    effect = rows[:, place_of(SHIM)]
    first, second = known.expected(rows, 1), known.expected(rows, 2)
    assert second - first == pytest.approx(0.06 * effect, abs=1e-12)
    old, new = known.uncertainty(rows, 1), known.uncertainty(rows, 2)
    assert new == pytest.approx(np.hypot(old, 2 * UM * effect), rel=1e-9)
    assert old < std
    # read again in the second state, both readings together tell of what the shim really was
    again = known.with_one_more(replace(lean, state=2, values=lean.values + 0.07 * effect))
    place = place_of(SHIM)
    assert 0.06 < again.deviations(2)[0][place] < 0.07
    assert again.deviations(2)[1][place] < 2 * UM
    assert again.deviations(1)[1][place] == 0.0


def test_an_older_reading_tells_nothing_of_what_was_exchanged() -> None:
    """A sweep taken with the old screw tells of the rails, but no longer of the screw."""
    observer = clock_observer()
    test = reading("test", "X positioning", np.linspace(0, 0.02, 17), 0.7 * UM)
    line = line_of(clock_plate(), states([change("renewed", "X slide/drive")]), {})
    known = learn(line, [observer.observation(test)])
    drive = [p for p, s in enumerate(clock_plate().sources) if s.name.startswith("X slide: drive")]
    warmth = [p for p, s in enumerate(clock_plate().sources) if s.name == "warmth of X slide drive"]
    then, now = known.deviations(1), known.deviations(2)
    assert now[1][drive] == pytest.approx(clock_prior().std[drive], rel=1e-12)
    assert now[0][drive] == pytest.approx(clock_prior().mean[drive], abs=1e-15)
    assert then[1][drive[0]] < 0.95 * now[1][drive[0]]
    assert then[1][warmth] == pytest.approx(now[1][warmth])


def test_states_without_changes_are_one_machine() -> None:
    """Readings of states between which nothing was done are readings of one machine."""
    prior = beliefs([2.0, 1.0])
    line = timeline(prior, [(1, []), (2, []), (3, [])])
    apart = [seen([[1.0, 0.5]], [0.4 * state], [0.3], state=state) for state in (1, 2, 3)]
    once = [replace(one, state=1) for one in apart]
    assert learn(line, apart).mean == pytest.approx(learn(machine([2.0, 1.0]), once).mean, rel=1e-12)


# ----------------------------------------------------------------------------------------------------------- mistakes
@pytest.mark.parametrize(
    "wrong",
    [
        change("set", "column on base/side stop front", 0.1),
        change("set", "no such joint/at all", 0.1),
        change("sized", "pad_FL/colour", 12.0),
        change("sized", "pad_FL", 12.0),
        change("renewed", "pad_XX"),
        change("renewed", "X slide"),
        change("renewed", "column on base/drive"),
    ],
    ids=lambda wrong: f"{wrong.what} {wrong.of}",
)
def test_a_change_of_what_is_not_there_is_refused(wrong: Change) -> None:
    """A change of something that the build does not have is refused by its name, with what would do."""
    with pytest.raises(RequestError) as refused:
        after([wrong])
    assert f"'{wrong.of}'" in refused.value.what
    assert refused.value.remedy
