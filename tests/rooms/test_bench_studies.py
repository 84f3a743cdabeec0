"""The questions of the bench, asked of the clock-plate drilling machine."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.measuring.plausibility import Doubt, SweepDoubt
from loopwright.model.records import Change, Entry, Reading, Record, Revision, State
from loopwright.studies.as_built import reading_looks, standing_as_built
from loopwright.studies.bench import Bench, bench
from loopwright.studies.choosing import _block, choose
from loopwright.studies.conceding import concession, dim_from_readings
from loopwright.studies.effect import effect
from loopwright.studies.fitup_bench import fitup_step, state_after
from loopwright.studies.next_actions import next_actions
from loopwright.studies.next_readings import next_readings
from loopwright.studies.recording import Considered, Typed, consider

SCREWS = ("X slide/drive", "Y slide/drive", "Z slide/drive")


def entry(number: int, record: Record, of: int = 1) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=of, record=record)


def begun() -> list[Entry]:
    """A book of which only the description is written."""
    return [
        entry(1, Revision(text=examples.text("clock-plate"))),
        entry(2, State(reason="as assembled", cause="start")),
    ]


@pytest.fixture(scope="module")
def start() -> Bench:
    """The machine before any reading."""
    return bench(begun())


def with_readings(start: Bench, *typed: Typed) -> Bench:
    """The machine after some readings."""
    now = start
    for one in typed:
        found = consider(now, one)
        now = now.with_reading(entry(now.last + 1, found.reading))
    return now


def dim(of: str, *values: str, gauge: str = "length gauge", **more: str) -> Typed:
    """A dim as typed."""
    return Typed(of, [list(values)], gauge=gauge, **more)  # type: ignore[arg-type]


def test_a_dim_is_read_with_all_that_leaves_it_open(start: Bench) -> None:
    """0.5 µm resolution, ±1 µm calibration, 0.5 µm scatter over two repeats: sums of squares by JCGM 100."""
    found = consider(start, dim("column/Z_shoulder", "50.003", "50.004")).reading.evaluated
    assert found.values[0] == pytest.approx(50.0035)
    assert found.stds[0] == pytest.approx(np.hypot(0.0005 / 12**0.5, 0.0005 / 2**0.5), rel=1e-9)
    assert found.effects[0].std == pytest.approx(0.001 / 3**0.5)


def test_a_warm_part_is_brought_to_20_degrees(start: Bench) -> None:
    """Cast iron and a steel scale, both at 30 °C: what they do not share is taken off."""
    warm = dim("column/Z_shoulder", "50.0", part_temperature="30 degC", gauge_temperature="30 degC")
    cold = consider(start, dim("column/Z_shoulder", "50.0")).reading.evaluated.values[0]
    found = consider(start, warm).reading.evaluated.values[0]
    iron = start.loop.build.parts["column"].material
    assert iron == "grey cast iron"
    # 50 mm x (11.5 - 10.5) µm/m/K x 10 K is half a micrometre, whatever the handbook's last digit
    assert 0 < found - cold < 0.001


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        (dim("column/Z_shoulder", "5.003"), Doubt),
        (dim("column/Z_shoulder", "500.03"), Doubt),
        (
            Typed(
                "X straight in Y", [[v] for v in ("0", "1", "2", "15", "1", "0", "-1", "-1", "0")], unit="µm"
            ),
            SweepDoubt,
        ),
    ],
)
def test_a_slip_is_asked_about(start: Bench, typed: Typed, kind: type) -> None:
    """A slipped decimal, a missing digit and one wild value of a sweep each raise a doubt, with what may be meant."""
    found = consider(start, typed)
    assert isinstance(found.doubt, kind)
    if isinstance(found.doubt, SweepDoubt):
        assert found.doubt.place == 3
    else:
        assert any(abs(a.value - 50.0) < 0.05 for a in found.doubt.alternatives)  # type: ignore[union-attr]


def test_calibration_cancels_in_a_comparison(start: Bench) -> None:
    """Two pads on one gauge: only scatter and resolution of both are left."""
    both = Typed("pad_FL/height", [["12.003"], ["12.001"]], against="pad_FR/height", gauge="length gauge")
    found = consider(start, both).reading.evaluated
    assert found.values[0] == pytest.approx(0.002)
    assert found.effects == ()
    assert found.stds[0] == pytest.approx(2**0.5 * np.hypot(0.0005, 0.0005 / 12**0.5), rel=1e-6)


def test_bad_input_names_the_field_and_the_remedy(start: Bench) -> None:
    """Each says what was given and what would do."""
    for typed, words in [
        (dim("column/no_such", "1"), "name it as part/dim"),
        (dim("column/Z_shoulder", "1", gauge="nothing"), "the build file has"),
        (dim("column/Z_shoulder", "1", gauge="tram bar"), "reads angle"),
        (dim("column/Z_shoulder", "fifty"), "column/Z_shoulder"),
        (Typed("X straight in Y", [["1 µm"]] * 3), "one value for each pose"),
        (Typed("X straight in Y", [["1"]] * 9), "unit"),
    ]:
        with pytest.raises(RequestError, match=words):
            consider(start, typed)


def test_a_gap_that_was_read_says_how_thick_the_spacer_must_be(start: Bench) -> None:
    """A gap of 3.031 mm, read to a micrometre, asks for a spacer of 3.03 mm in steps of 5 µm."""
    now = with_readings(start, dim("Y nut spacer", "3.031"))
    (found,) = fitup_step(now, "grind the Y nut").to_set
    assert found.value == pytest.approx(3.03)
    assert found.std < 0.01
    assert found.spacer is not None
    assert found.spacer.possible


def test_shims_take_out_what_the_tram_shows(start: Bench) -> None:
    """A spindle that leans 15 arcsec is brought within 8 by shims, and the targets gain by it."""
    second = 4.848136811095360e-06
    now = with_readings(
        start,
        Typed("spindle tram front to back", [["15"]], unit="arcsec"),
        Typed("spindle tram side to side", [["-15"]], unit="arcsec"),
    )
    found = fitup_step(now, "shim the column")
    assert {one.name for one in found.to_set} == {
        f"column on base/{end} {side}" for end in ("front", "rear") for side in ("left", "right")
    }
    assert found.left < found.largest
    before, after = next((t[3], t[4]) for t in found.targets if "front to back" in t[0])
    assert after < before
    assert fitup_step(now, "tram").largest == pytest.approx(15 * second, rel=0.15)


def test_a_state_changes_what_is_expected_and_keeps_what_is_known(start: Bench) -> None:
    """A shim of 0.02 mm under the rear pads tips the column forward by 0.02 / 140 mm; the uncertainty hardly moves."""
    done = state_after(
        start, {"column on base/rear left": "0.02", "column on base/rear right": "0.02"}, reason="shimmed"
    )
    now = bench([*start.entries, entry(3, done, of=2)])
    before = start.knowledge.expected(start.rows("spindle square to table, front to back").matrix, 1)
    after = now.knowledge.expected(now.rows("spindle square to table, front to back").matrix, 2)
    assert np.abs(after - before) == pytest.approx(np.full(before.shape, 0.02 / 140), rel=0.05)
    assert now.settings["column on base/rear left"] == pytest.approx(0.02)


def test_order_of_the_entries_does_not_matter(start: Bench) -> None:
    """Four readings in any order leave the same front page."""
    typed = [
        dim("column/foot_square", "90.001 deg", gauge="tram bar"),
        Typed("spindle tram front to back", [["8"]], unit="arcsec"),
        dim("pad_FL/height", "12.004"),
        dim("pad_FR/height", "11.998"),
    ]
    pages = [standing_as_built(with_readings(start, *order)) for order in list(permutations(typed))[::7]]
    sizes = np.array([[t.expected for t in page.targets] for page in pages])
    assert sizes == pytest.approx(np.broadcast_to(sizes[0], sizes.shape), rel=1e-9)


def test_a_part_out_of_tolerance_is_weighed_every_way(start: Bench) -> None:
    """A column whose foot is 25 arcsec out of square: as it is it costs, shims make up for it, anew is better too."""
    now = with_readings(start, dim("column/foot_square", "90.00695 deg", gauge="tram bar"))
    found = concession(now, "column")
    ways = {way.decision: way for way in found.ways}
    assert [str(one.conformity.verdict) for one in found.dims] == ["not conforming"]
    assert set(ways) == {"use as is", "compensate", "remake"}
    assert {name.partition("/")[0] for name, *_ in ways["compensate"].settings} == {"column on base"}
    assert ways["compensate"].least > ways["use as is"].least
    assert ways["remake"].least > ways["use as is"].least
    assert found.best != "use as is"


def test_parts_of_one_drawing_may_take_each_others_place(start: Bench) -> None:
    """A stop that is 0.02 mm thick moves what its partner would move, once they are exchanged."""
    now = with_readings(
        start, dim("stop_left_front/thickness", "10.02"), dim("stop_left_rear/thickness", "10.0")
    )
    found = concession(now, "stop_left_front", match=["stop_left_rear"])
    match = next(way for way in found.ways if way.decision == "match")
    asis = found.ways[0]
    # the pair turns the column about Z by as much to the other side: the sizes are the same
    for one, other in zip(asis.targets, match.targets):
        assert other.unknown == pytest.approx(one.unknown, rel=1e-3)
    with pytest.raises(RequestError, match="no dim in common"):
        concession(now, "stop_left_front", match=["column"])


def test_readings_of_a_dim_are_weighed_with_what_they_share(start: Bench) -> None:
    """Two readings with one gauge do not average its calibration away: the mean keeps its 0.58 µm."""
    now = with_readings(start, dim("pad_FL/height", "12.003"), dim("pad_FL/height", "12.005"))
    value, std, count = dim_from_readings(now, "pad_FL/height") or (0.0, 0.0, 0)
    assert (count, value) == (2, pytest.approx(12.004))
    own = np.hypot(0.0005, 0.0005 / 12**0.5)
    assert std == pytest.approx(np.hypot(own / 2**0.5, 0.001 / 3**0.5), rel=1e-6)


def test_screws_are_chosen_as_trying_all_of_them_would(start: Bench) -> None:
    """Five screws for three axes: the choice is the best of all 60, worked out one by one."""
    generator = np.random.default_rng(3)
    now = start
    for number in range(5):
        for what, size in (("mean travel", 6.0), ("travel variation", 4.0)):
            value = f"{abs(generator.normal(0, size)) + 1:.2f} µm"
            now = with_readings(now, dim(f"ball screw/{what}", value, item=f"S{number}"))
    found = choose(now, "ball screw", SCREWS, grade="C5", targets=["hole position"])
    items = {item.serial: [i for i in now.items if i.serial == item.serial] for item in now.items}
    block = _block(now, "hole position", SCREWS, items)
    best = min((np.sqrt((_sum(block, picks) ** 2).max()), picks) for picks in permutations(range(5), 3))
    assert found.objective == pytest.approx(best[0] / block.limit, rel=1e-9)
    assert found.best == tuple(f"S{pick}" for pick in best[1])
    assert found.worst >= found.average >= found.objective


def _sum(block: object, picks: tuple[int, ...]) -> np.ndarray:
    """Expected size at each pose with items in places, (poses,)."""
    mean = block.base_mean + sum(block.mean[p, c] for p, c in enumerate(picks))  # type: ignore[attr-defined]
    variance = block.base_variance + sum(block.variance[p, c] for p, c in enumerate(picks))  # type: ignore[attr-defined]
    return np.asarray(np.sqrt((mean**2 + variance).sum(axis=1)))


def test_the_best_reading_is_the_one_that_the_adjusters_can_use(start: Bench) -> None:
    """The tram tells what the shims can take out; a straightness sweep tells what nothing can."""
    found = next_readings(start, minutes=60)
    worth = {one.name: one for one in found.ranked}
    assert worth["spindle tram front to back"].gain > 0.1
    assert worth["X straight in Y"].gain < 0.005
    assert "X straight in Y" in found.worthless
    assert found.plan is not None
    assert found.plan.minutes <= 60
    for was, then in zip(found.plan.before, found.plan.after):
        assert then.unknown <= was.unknown + 1e-12


def test_a_reading_that_surprises_is_first_among_what_to_do(start: Bench) -> None:
    """A head spacer 0.02 mm off surprises by more than three, and is named with its command."""
    found: Considered = consider(start, dim("head_spacer/thickness", "6.021"))
    assert isinstance(found.reading, Reading)
    assert found.reading.surprise is not None
    assert found.reading.surprise > 3
    now = start.with_reading(entry(3, found.reading))
    action = next_actions(now, standing_as_built(now)).actions[0]
    assert action.kind == "look again"
    assert "head_spacer/thickness" in action.what


def test_what_is_to_be_decided_follows_the_readings(start: Bench) -> None:
    """A dim found out of its limits is asked about, whatever was asked before; read again to the contrary, or sized
    in a new state, it is not any more.
    """

    def asked_about(now: Bench) -> list[str]:
        found = next_actions(now, standing_as_built(now), most=10).actions
        return [action.about for action in found if action.kind == "decide"]

    good = with_readings(start, dim("column/Z_shoulder", "50.001"))
    assert asked_about(start) == asked_about(good) == []
    bad = with_readings(good, dim("head_spacer/thickness", "6.2"))
    assert asked_about(bad) == ["head_spacer"]
    assert asked_about(good) == []
    again = with_readings(bad, dim("head_spacer/thickness", "5.8"))
    assert asked_about(again) == []
    assert asked_about(bad) == ["head_spacer"]
    new = State(
        reason="made anew", cause="rework", changes=(Change(what="renewed", of="head_spacer", item=None),)
    )
    assert asked_about(bench([*bad.entries, entry(bad.last + 1, new, of=2)], like=bad)) == []


def test_what_an_entry_brought_is_told_of_that_entry(start: Bench) -> None:
    """Asked one after the other, each reading's effect is what it is when nothing was asked before."""
    tram = Typed("spindle tram front to back", [["1.0"]], unit="arcsec")
    readings = [dim("column/Z_shoulder", "50.003"), tram]
    first = with_readings(start, readings[0])
    second = with_readings(first, readings[1])
    in_turn = [effect(start, first), effect(first, second), effect(start, second)]
    alone = [bench(one.entries) for one in (start, first, second)]
    anew = [effect(alone[a], alone[b]) for a, b in ((0, 1), (1, 2), (0, 2))]
    for mine, other in zip(in_turn, anew):
        for one, two in zip(mine, other):
            assert (one.before, one.after) == pytest.approx((two.before, two.after), rel=1e-9)
            assert one.unknown_before == pytest.approx(two.unknown_before, rel=1e-9)
            assert one.unknown_after == pytest.approx(two.unknown_after, rel=1e-9)
    assert any(one.unknown_after < 0.999 * one.unknown_before for one in in_turn[1])


def test_a_best_value_beyond_all_readings_is_told(start: Bench) -> None:
    """A gauge's error that two equal readings share leaves the best value to one side of both; where the readings
    lie to either side of it, nothing is told.
    """
    now = with_readings(start, dim("column/Z_shoulder", "50.001"), dim("column/Z_shoulder", "50.001"))
    row, nominal = now.observer.dim("column/Z_shoulder")
    best = nominal + float(now.knowledge.expected(row, now.state))
    told = {look.name: look.outside for look in reading_looks(now, above=0.0) if look.outside}
    assert bool(told) == (abs(best - 50.001) > 1e-7)
    assert told
    near = with_readings(start, dim("column/Z_shoulder", "50.001"), dim("column/Z_shoulder", "50.005"))
    assert not any(look.outside for look in reading_looks(near, above=0.0))


def test_what_is_expected_counts_from_a_nominal_machine(start: Bench) -> None:
    """After a shim of 0.02 mm a tram that shows what it must is believed, and judged as what it shows."""
    done = state_after(
        start, {"column on base/rear left": "0.02", "column on base/rear right": "0.02"}, reason="shimmed"
    )
    now = bench([*start.entries, entry(3, done, of=2)])
    row, _, _ = now.observer.test("spindle tram front to back")
    expected = float(now.knowledge.expected(row, 2)[0])
    second = 4.848136811095360e-06
    assert abs(expected) > 10 * second
    tram = Typed("spindle tram front to back", [[f"{expected / second:.2f}"]], unit="arcsec")
    found = consider(now, tram)
    assert found.doubt is None
    assert found.look is not None
    assert found.look.expected[0] == pytest.approx(expected, abs=0.01 * second)
    assert found.conformity is not None
    assert found.conformity.value == pytest.approx(expected, abs=0.01 * second)


@pytest.mark.parametrize(
    ("chance", "std", "meets", "words"),
    [
        (0.99, 0.004, True, "enough"),
        (0.95, 0.0, True, "enough"),
        (0.90, 0.004, False, "not yet"),
        (0.955, 0.004, True, "too close to call"),
        (0.945, 0.004, False, "too close to call"),
    ],
)
def test_a_target_says_in_words_whether_it_is_held(
    start: Bench, chance: float, std: float, meets: bool, words: str
) -> None:
    """At 95 % asked for, a chance within two standard uncertainties of sampling is too close to call."""
    (target, *_) = standing_as_built(start).targets
    assert target.confidence == start.build.confidence == 0.95
    found = replace(target, chance=chance, chance_std=std)
    assert (found.meets, found.verdict) == (meets, words)


def test_a_reading_names_the_target_that_it_is_worth_most_for(start: Bench) -> None:
    """The tram is worth most for a tilt, in rad and with its limit; the fall of that target is its gain."""
    found = next_readings(start, with_chance=2)
    for worth in found.ranked:
        name, dimension, limit = found.targets[worth.most]
        assert (worth.target, worth.dimension, worth.limit) == (name, dimension, limit)
        was, then = worth.of_target
        assert worth.of == "adjusted"
        assert worth.gain == pytest.approx(max((was.adjusted - then.adjusted) / limit, 0), abs=1e-12)
    worth = {one.name: one for one in found.ranked}
    assert worth["spindle tram front to back"].target == "spindle square to table, front to back"
    assert worth["spindle tram front to back"].verdict == "worth taking"
    assert [one.name for one in found.worthwhile] == [one.name for one in found.ranked if one.gain >= 0.005]
    assert found.nothing == ""
