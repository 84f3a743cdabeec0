"""The machine at a pose, against the rows of the loop, against statics, and against figures worked out by hand."""

import pickle
import time

import numpy as np
import pytest

from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.loop.by_joint import BODIES, body_twists, rows_by_joint, zero_of
from loopwright.loop.kinematics import Stands, axis_moves, poses_of
from loopwright.loop.loading import STANDARD_GRAVITY
from loopwright.loop.sources import SourceKind
from loopwright.model.indications import Indication
from loopwright.model.records import Entry, Record, Revision, State
from loopwright.studies import example_loop
from loopwright.studies.bench import Bench, bench
from loopwright.studies.books import bench_of
from loopwright.studies.example_history import open_example
from loopwright.studies.machine_form import form_of, plates_of
from loopwright.studies.machine_joint import joint_at, strained_joints
from loopwright.studies.machine_view import (
    axes_at,
    error_at,
    machine_at,
    machine_form,
    reach_of,
    typed_pose,
    worst_pose,
)

POSE = {"X": 90.0, "Y": 200.0, "Z": 30.0}


def begun(text: str) -> Bench:
    """A build with nothing read yet."""

    def entry(number: int, record: Record) -> Entry:
        return Entry(
            number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=1, record=record
        )

    return bench([entry(1, Revision(text=text)), entry(2, State(reason="as assembled", cause="start"))])


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """The clock-plate machine with its invented history."""
    path = tmp_path_factory.mktemp("machine") / "clock-plate.book"
    with open_example("clock-plate", path) as book:
        return bench_of(book)


@pytest.fixture(scope="module", params=["clock-plate", "guitar-gantry"])
def designed(request: pytest.FixtureRequest) -> Bench:
    """Either example before any reading."""
    return begun(examples.text(request.param))


# ------------------------------------------------------------------------------------------ rows taken apart


@pytest.mark.parametrize("example", ["clock-plate", "guitar-gantry"])
def test_the_joints_parts_are_the_whole(example: str) -> None:
    """What each joint brings, its zeroing taken off, adds up to the rows of the target, however it is zeroed."""
    loop = example_loop(example)
    for name, target in loop.build.targets.items():
        for how in ("none", "mean", "line", target.zeroed.how):
            zeroing = (
                target.zeroed
                if how == target.zeroed.how
                else target.zeroed.model_copy(update={"how": how, "at": {}})
            )
            asked = target.model_copy(update={"zeroed": zeroing})
            poses, whole = poses_of(loop.build, asked), loop.rows(asked).matrix
            zero = zero_of(loop, asked)
            parts = sum(rows - zero.at(poses, joint) for joint, rows in rows_by_joint(loop, asked, poses))
            assert np.abs(parts - whole).max() < 1e-11 * max(np.abs(whole).max(), 1.0), name


def test_a_twist_of_a_body_is_what_an_indication_shows() -> None:
    """Displacement and rotation of every body against the base are those that the loop's own rows give."""
    loop = example_loop("clock-plate")
    poses = {letter: np.array([value]) for letter, value in POSE.items()}
    stands = Stands(loop.build, axis_moves(loop.build, poses))
    place = (10.0, -20.0, 30.0)
    for body, twist in body_twists(loop, stands).items():
        if body == "base":
            assert not twist.any()
            continue
        turned = Indication(between=("base", body), point=place, component="C")
        assert np.allclose(loop.rows(turned, poses).matrix[0, 0], twist[0, 5], atol=1e-15)
        moved = loop.rows(Indication(between=("base", body), point=place, component="X"), poses)
        _, y, z = moved.points[0]
        shown = twist[0, 0] + twist[0, 4] * z - twist[0, 5] * y
        cold = [i for i, source in enumerate(loop.sources) if source.kind is not SourceKind.HEAT]
        assert np.allclose(moved.matrix[0, 0][cold], shown[cold], atol=1e-12)


def test_a_joint_below_both_bodies_brings_nothing() -> None:
    """It carries work and tool alike."""
    loop = example_loop("clock-plate")
    indication = loop.build.targets["hole position"].model_copy(update={"between": ("saddle", "table")})
    names = [name for name, _ in rows_by_joint(loop, indication, {"X": np.array([0.0])})]
    assert names == ["X slide", BODIES]


# ------------------------------------------------------------------------------------------- error at the tool


@pytest.mark.parametrize("target", range(4))
def test_the_error_is_that_of_the_front_page(built: Bench, target: int) -> None:
    """Expected value and uncertainty at a pose are those of the target's rows with everything known so far."""
    name = list(built.build.targets)[target]
    poses = {letter: np.array([value]) for letter, value in POSE.items()}
    found = error_at(built, name, poses)
    rows = built.loop.rows(built.target(name), poses).matrix[0]
    assert np.allclose(found.mean, built.knowledge.expected(rows, built.state), rtol=1e-9, atol=1e-12)
    assert np.allclose(found.std, built.knowledge.uncertainty(rows, built.state), rtol=1e-9, atol=1e-12)
    assert found.expected == pytest.approx(np.hypot(found.known, found.unknown))
    assert found.reach == pytest.approx([1.959964 * std for std in found.std])
    assert found.stands == ("within" if found.known + 1.96 * found.unknown < found.limit else "near")


def test_shares_add_up(built: Bench, designed: Bench) -> None:
    """Joints together, and parts together, carry all of the expected error."""
    for one in (built, designed):
        for name in one.build.targets:
            found = machine_at(one, worst_pose(one, name), name).error
            assert found is not None
            assert sum(share.share for share in found.by_joint) == pytest.approx(1.0)
            assert sum(share.share for share in found.by_part) == pytest.approx(1.0)


def test_shares_before_any_reading_are_those_of_the_budget(designed: Bench) -> None:
    """Without anything known, a part's share is the variance of its dims: JCGM 100:2008, 5.1.2, equation (10)."""
    name = next(iter(designed.build.targets))
    pose = {letter: np.array([value]) for letter, value in worst_pose(designed, name).items()}
    found = error_at(designed, name, {**{a: np.array([0.0]) for a in designed.build.axes()}, **pose})
    rows = designed.loop.rows(designed.target(name), pose).matrix[0]
    std = designed.knowledge.line.prior.std
    variance = ((rows * std) ** 2).sum(axis=0)
    mean = rows @ designed.loop.mean
    along = (rows * designed.loop.mean).T @ mean
    total = (mean**2).sum() + variance.sum()
    for share in found.by_part:
        if share.kind == "part":
            places = [i for i, s in enumerate(designed.loop.sources) if s.part == share.name]
            assert share.share == pytest.approx((variance + along)[places].sum() / total, abs=1e-12)


def test_an_axis_that_stands_where_nobody_asks_is_said(built: Bench) -> None:
    """The squareness of the spindle is asked with Z at zero."""
    found = machine_at(built, {"Z": 60.0}, "spindle square to table, front to back").error
    assert found is not None
    assert dict(found.elsewhere) == {"Z": (0.0, 0.0)}
    within = machine_at(built, {"Z": 60.0}, "hole position").error
    assert within is not None
    assert not within.elsewhere


# ------------------------------------------------------------------------------------------- hand checks

PADS = """
format: loopwright-build/1
name: plate on four pads
down: null
stiffness_shared: ±0
stiffness_spread: ±0
bodies: {base: {}, plate: {}}
parts: {high: {dims: {height: {nominal: 12, value: 10 µm}}}}
joints:
  plate on base:
    kind: fixed
    parent: base
    child: plate
    contacts:
      FL: {at: [0, 0, 0], normal: +Z, stiffness: 100 N/µm, preload: 1000, dims: [+high/height]}
      FR: {at: [200, 0, 0], normal: +Z, stiffness: 100 N/µm, preload: 1000}
      RL: {at: [0, 200, 0], normal: +Z, stiffness: 100 N/µm, preload: 1000}
      RR: {at: [200, 200, 0], normal: +Z, stiffness: 100 N/µm, preload: 1000}
      side: {at: [0, 0, 0], normal: +X, stiffness: 100 N/µm}
      side too: {at: [0, 200, 0], normal: +X, stiffness: 100 N/µm}
      end: {at: [0, 0, 0], normal: +Y, stiffness: 100 N/µm}
"""


def test_four_pads_one_of_them_high() -> None:
    """The plane takes a quarter of 10 µm at the middle, every pad misfits by as much, and presses by that much more
    or less: design figures of the house, by symmetry of four equal springs.
    """
    found = begun(PADS)
    joint = joint_at(found, "plate on base", {})
    pads = {contact.name: contact for contact in joint.contacts}
    assert [round(1e3 * pads[n].misfit, 6) for n in ("FL", "FR", "RL", "RR")] == [2.5, -2.5, -2.5, 2.5]
    assert [round(pads[n].force, 3) for n in ("FL", "FR", "RL", "RR")] == [1250.0, 750.0, 750.0, 1250.0]
    assert joint.spare == 1
    assert joint.strained is not None
    plate = next(body for body in machine_at(found, {}).bodies if body.name == "plate")
    middle = np.array(plate.move) + np.cross(plate.turn, np.array([100.0, 100.0, 0.0]) - plate.centre)
    assert 1e3 * middle[2] == pytest.approx(2.5)
    assert machine_at(found, {}).error is None


def test_forces_of_the_contacts_carry_the_weight(built: Bench) -> None:
    """What contacts press with beyond their preload is in balance with what hangs on the joint, force and moment."""
    pose = {"X": 300.0, "Y": 20.0, "Z": 100.0}
    joint = joint_at(built, "plate on table", pose)
    model = built.loop.joints["plate on table"]
    rows = model.at(np.zeros(1)).rows[0]
    more = np.array([contact.force - contact.preload for contact in joint.contacts])
    mass = built.build.bodies["plate"]
    weight = STANDARD_GRAVITY * mass.mass.mean * np.array([0.0, 0.0, -1.0])
    wrench = np.concatenate([weight, np.cross(np.array(mass.centre_of_mass), weight)])
    assert np.allclose(rows.T @ more, -wrench, atol=1e-5)


def test_what_is_over_constrained_is_as_bad_as_the_study_of_misfit_says(built: Bench) -> None:
    """At no pose does a contact strain more than at the worst of its travel, by more than loads that act elsewhere."""
    for found in strained_joints(built):
        worst = {contact.contact: contact for contact in found.worst}
        for contact in joint_at(built, found.joint, POSE).contacts:
            size = np.hypot(contact.misfit, contact.misfit_std)
            assert size <= worst[contact.name].misfit * 1.05 + 1e-9


def test_a_part_warmed_by_one_kelvin_grows_as_the_handbook_says() -> None:
    """500 mm of steel at 11.6 µm/(m·K): 5.8 µm, the worked figure of the house."""
    text = """
format: loopwright-build/1
name: warm bar
down: null
materials: {bar steel: {expansion: 11.6 µm/m/K}}
heat: {room: 21 degC}
bodies: {base: {}, bar: {material: bar steel, centre_of_mass: [500, 0, 0]}}
joints: {bar on base: {kind: fixed, parent: base, child: bar, perfect: true}}
"""
    found = machine_at(begun(text), {})
    mark = next(mark for mark in found.form.marks if mark.kind == "mass")
    assert 1e3 * found.moves[mark.points[0]][0] == pytest.approx(5.8)


# ------------------------------------------------------------------------------------------- what is drawn


def test_everything_that_touches_can_be_picked(designed: Bench) -> None:
    """Every contact, block, drive and adjuster has its mark, and every mark a field of the description."""
    form = machine_form(designed)
    held = {(mark.joint, contact) for mark in form.marks for contact in mark.contacts}
    for name, model in designed.loop.joints.items():
        assert {(name, contact) for contact in model.contacts.names} <= held | {(name, "positioning")}
    assert all(mark.field for mark in form.marks)
    assert [body.name for body in form.bodies] == list(designed.build.bodies)


def test_a_plate_lies_on_its_own_side_of_the_contacts() -> None:
    """The base ends where its landings are; the column begins there."""
    loop = example_loop("clock-plate")
    size = form_of(loop).size
    base, column = plates_of(loop, "base", size)[1], plates_of(loop, "column", size)[0]
    assert base.high[2] == pytest.approx(-83.0)
    assert column.low[2] == pytest.approx(-83.0)
    assert base.low[:2] == pytest.approx(column.low[:2])


def test_points_go_with_their_bodies(designed: Bench) -> None:
    """Moving an axis moves what it carries by just that much, and nothing else."""
    letter, name = sorted(designed.build.axes().items())[0]
    joint = designed.build.joints[name]
    low = machine_at(designed, {letter: joint.travel[0] if joint.travel else 0.0})
    high = machine_at(designed, {letter: (joint.travel[0] if joint.travel else 0.0) + 10.0})
    moved = high.points - low.points
    carried = {
        n
        for n, body in enumerate(designed.build.bodies)
        if designed.build.axes()[letter] in designed.build.path_to(body)
    }
    inside = np.isin(low.form.on, list(carried))
    assert np.allclose(moved[inside], 10.0 * np.asarray(joint.along))
    assert not moved[~inside].any()


def test_the_frame_holds_every_pose(designed: Bench) -> None:
    """Nothing that is drawn leaves the box around the reach, whatever the axes do."""
    reach = reach_of(designed)
    rng = np.random.default_rng(3)
    for _ in range(5):
        pose = {axis.letter: rng.uniform(axis.low, axis.high) for axis in axes_at(designed.build, {})}
        points = machine_at(designed, pose).points
        assert (points >= reach.min(axis=0) - 1e-3).all()
        assert (points <= reach.max(axis=0) + 1e-3).all()


def test_adjusters_say_where_they_stand(built: Bench) -> None:
    """The foil that the history put under the column is there."""
    found = joint_at(built, "column on base", {})
    set_ = {adjuster.path: adjuster.setting for adjuster in found.adjusters}
    assert set_ == {path: built.settings[path] for path in set_}
    assert any(set_.values())
    pad = next(contact for contact in found.contacts if contact.name == "front left")
    assert pad.adjuster is not None
    assert [term.dim for term in pad.terms][:2] == ["pad_FL/height", "base/landing_FL"]
    assert pad.readings


# ------------------------------------------------------------------------------------------- asked for wrongly


@pytest.mark.parametrize(
    ("typed", "what"),
    [({"X": "400"}, "does not go to"), ({"Q": "1"}, "no axis Q"), ({"X": "ten"}, "position of X")],
)
def test_a_position_that_cannot_be_is_told(built: Bench, typed: dict[str, str], what: str) -> None:
    """With what would do."""
    with pytest.raises(RequestError, match=what) as caught:
        typed_pose(built.build, typed, "mm")
    assert caught.value.remedy


def test_what_is_not_there_is_told(built: Bench) -> None:
    """A joint or a target that the build does not have."""
    with pytest.raises(RequestError, match="no joint"):
        joint_at(built, "nowhere", {})
    with pytest.raises(RequestError, match="no target"):
        machine_at(built, {}, "nothing")


def test_a_pose_is_answered_in_a_moment_and_goes_through_a_pipe(built: Bench) -> None:
    """Under 30 ms once warm, the promise of the page; twice that is let pass on a busy machine."""
    machine_at(built, POSE)
    took = []
    for step in range(5):
        start = time.perf_counter()
        found = machine_at(built, {**POSE, "X": 90.0 + step})
        took.append(time.perf_counter() - start)
    assert min(took) < 0.06
    assert np.array_equal(pickle.loads(pickle.dumps(found)).points, found.points)
