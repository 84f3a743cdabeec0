"""What must hold of the loop whatever the machine: no deviation no error, linearity, and no dependence on
coordinates.
"""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.misfit import misfits
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import Rows, compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.loop.kinematics import axis_moves, standing
from loopwright.loop.stiffness import tool_compliance
from loopwright.model.error_motions import ErrorMotion
from loopwright.model.indications import Zeroing
from loopwright.model.spread import NONE, Spread
from small_builds import KINDS, Plan, Small, asked_again, changed, plans, small

FEW = settings(max_examples=30)
AXIS = ("declared axis", "guide", "declared table", "table on contacts")


def rows_of(machine: Small, component: str = "XYZ") -> Rows:
    """Rows of the machine's question, for a component of it."""
    asked = machine.asked.model_copy(update={"component": component})
    return machine.loop.rows(asked, machine.poses)


def std_of(machine: Small, component: str = "XYZ") -> np.ndarray:
    """Standard uncertainty of the machine's question."""
    return budget(rows_of(machine, component), machine.prior).std


def times(factor: float, skip: tuple[str, ...] = ()) -> Any:
    """Every stated deviation multiplied by a factor."""

    def change(name: str, value: Any) -> Any:
        if name in ("straightness", "bandwidth"):
            return factor * value
        if isinstance(value, Spread) and name not in ("stiffness_shared", "stiffness_spread", "room"):
            std = None if value.std is None else factor * value.std
            return value.model_copy(
                update={"lower": factor * value.lower, "upper": factor * value.upper, "std": std}
            )
        return value

    return change


@FEW
@given(plans(loads=False, heat=False))
def test_without_deviations_there_is_no_error(plan: Plan) -> None:
    """A machine without a deviation, cold and weightless, has no error at any pose, linear or exact."""
    machine = asked_again(small(plan), times(0.0))
    rows = rows_of(machine)
    assert np.abs(rows.mean).max() == 0.0
    assert np.abs(std_of(machine)).max() == 0.0
    x = np.tile(machine.loop.mean, (len(rows.points), 1))
    assert np.abs(exact_indication(machine.loop, machine.asked, machine.poses, x)).max() < 1e-9


@FEW
@given(plans(loads=False, heat=False), st.floats(1.5, 20))
def test_the_budget_is_linear_in_the_spreads(plan: Plan, factor: float) -> None:
    """Every limit twice as wide makes every standard uncertainty twice as large, and any factor likewise."""
    machine = small(plan)
    again = asked_again(machine, times(factor))
    assert std_of(again) == pytest.approx(factor * std_of(machine), rel=1e-9)
    assert std_of(again, "C") == pytest.approx(factor * std_of(machine, "C"), rel=1e-9)


@FEW
@given(plans(AXIS, loads=False, heat=False))
def test_a_chain_and_its_inverse_are_nothing(plan: Plan) -> None:
    """Where a body's home point stands now, asked back, is the home point."""
    machine = small(plan, poses=5)
    moves = axis_moves(machine.build, machine.poses)
    home = np.random.Generator(np.random.PCG64(plan.seed)).uniform(-500, 500, (5, 3))
    for body in machine.build.bodies:
        stands = standing(machine.build, body, moves)
        assert stands.home(stands.place(home)) == pytest.approx(home, abs=1e-9)
        assert stands.turn @ stands.turn.transpose(0, 2, 1) == pytest.approx(np.tile(np.eye(3), (5, 1, 1)))


def moved(shift: np.ndarray) -> Any:
    """Every place of a machine moved by a vector."""

    def change(name: str, value: Any) -> Any:
        if name in ("at", "errors_at", "centre_of_mass", "point", "fixed_at") and isinstance(value, tuple):
            return tuple((np.asarray(value) + shift).tolist())
        return value

    return change


@FEW
@given(plans(room=23.0), st.tuples(*[st.floats(-3000, 3000)] * 3))
def test_it_does_not_matter_where_the_origin_is(plan: Plan, shift: tuple[float, float, float]) -> None:
    """Coordinates counted from elsewhere change no uncertainty, no misfit and no stiffness."""
    machine = small(plan)
    again = asked_again(machine, moved(np.array(shift)))
    for component in ("XYZ", "A"):
        size = std_of(machine, component)
        assert std_of(again, component) == pytest.approx(size, rel=1e-9, abs=1e-9 * size.max())
    strained = [
        {
            (joint.joint, c.contact): (c.misfit, c.force, -1.0 if c.lifts is None else c.lifts)
            for joint in misfits(m.loop, m.prior)
            for c in joint.worst
        }
        for m in (machine, again)
    ]
    assert strained[0].keys() == strained[1].keys()
    for contact, values in strained[0].items():
        assert strained[1][contact] == pytest.approx(values, rel=1e-7, abs=1e-9)
    give = [tool_compliance(m.loop, m.asked, m.poses).total for m in (machine, again)]
    assert give[1] == pytest.approx(give[0], rel=1e-9, abs=1e-9 * np.abs(give[0]).max())


QUARTER = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
SWAP = str.maketrans("XYAB", "YXBA")


def _turned_errors(errors: dict[str, ErrorMotion]) -> dict[str, ErrorMotion]:
    """EXU of an axis becomes EYU; the spreads of these machines are symmetrical, so signs play no part."""
    start = {key: 1 if key.startswith("E") else 0 for key in errors}
    return {
        key[: start[key]] + key[start[key]].translate(SWAP) + key[start[key] + 1 :]: motion
        for key, motion in errors.items()
    }


def turned(name: str, value: Any) -> Any:
    """The whole machine turned by a quarter about Z."""
    places = ("at", "errors_at", "centre_of_mass", "point", "fixed_at", "normal", "along", "about")
    if name in places and isinstance(value, tuple):
        return tuple((QUARTER @ np.asarray(value)).tolist())
    if name == "force" and len(value) == 3:
        x, y, z = value
        return (y.model_copy(update={"value": -y.value}), x, z)
    if name == "errors" and isinstance(value, dict):
        return _turned_errors(value)
    if name == "stiffness" and hasattr(value, "A"):
        return value.model_copy(update={"X": value.Y, "Y": value.X, "A": value.B, "B": value.A})
    return value


@FEW
@given(plans(room=23.0))
def test_a_machine_turned_by_a_quarter_has_its_components_turned(plan: Plan) -> None:
    """What was the uncertainty in X is the one in Y after a quarter turn about Z, and so on."""
    machine = small(plan)
    again = asked_again(machine, turned)
    before = {c: std_of(machine, c) for c in "XYZABC"}
    for was, now in zip("XYZABC", "YXZBAC"):
        assert std_of(again, now) == pytest.approx(before[was], rel=1e-7, abs=1e-9 * before[was].max())
    bias = rows_of(again).mean, rows_of(machine).mean @ QUARTER.T
    assert bias[0] == pytest.approx(bias[1], rel=1e-7, abs=1e-9)


@FEW
@given(plans(("seat", "table on contacts"), loads=False, heat=False))
def test_six_good_contacts_have_no_misfit(plan: Plan) -> None:
    """A joint with as many contacts as freedoms goes together whatever its parts are like."""
    machine = small(plan)
    for model in machine.loop.joints.values():
        at = model.at(np.array([-0.3, 0.0, 0.4]) if model.joint.letter else np.zeros(1))
        assert at.rows.shape[1] == 6
        assert np.abs(at.misfit).max() < 1e-11
    assert misfits(machine.loop, machine.prior) == []


@FEW
@given(plans(("pads", "guide"), loads=False, heat=False))
def test_misfit_forces_are_in_balance(plan: Plan) -> None:
    """What the contacts of a strained joint push against each other adds up to no force and no moment."""
    for model in small(plan).loop.joints.values():
        at = model.at(np.zeros(1))
        forces = at.stiffness[:, None] * at.misfit[0]
        assert np.abs(at.misfit).max() > 1e-3
        assert np.abs(at.rows[0].T @ forces).max() < 1e-8 * np.abs(forces).max() * np.abs(at.rows).max()


@FEW
@given(plans())
def test_the_order_of_joints_in_the_file_does_not_matter(plan: Plan) -> None:
    """Joints written in another order give the same budget."""
    machine = small(plan)
    joints = dict(reversed(machine.build.joints.items()))
    loop = compile_loop(machine.build.model_copy(update={"joints": joints}))
    std = budget(loop.rows(machine.asked, machine.poses), prior_of(loop.sources, machine.build.assume)).std
    assert std == pytest.approx(std_of(machine), rel=1e-10)


@FEW
@given(plans(AXIS), st.sampled_from(["mean", "line"]))
def test_zeroing_twice_is_zeroing_once(plan: Plan, how: str) -> None:
    """What was zeroed by its mean or best line has no mean and no line left to take out."""
    machine = small(plan, poses=7)
    over = {letter: {"start": 0.0, "end": 1.0} for letter in machine.poses}
    asked = machine.asked.model_copy(update={"zeroed": Zeroing(how=how), "over": over})
    rows = machine.loop.rows(asked, machine.poses)
    lines = [machine.poses[letter] - machine.poses[letter].mean() for letter in over] if how == "line" else []
    fit, _ = np.linalg.qr(np.stack([np.ones(7), *lines], axis=1))
    left = np.einsum("pk,pcs->kcs", fit, rows.matrix)
    assert np.abs(left).max() < 1e-9 * max(1.0, np.abs(rows.matrix).max())
    assert np.abs(fit.T @ rows.mean).max() < 1e-12 + 1e-9 * np.abs(rows.mean).max()


@FEW
@given(plans(AXIS))
def test_where_it_is_zeroed_it_shows_nothing(plan: Plan) -> None:
    """An indication zeroed at a pose is zero at that pose, whatever every source does."""
    machine = small(plan)
    datum = {letter: float(positions[2]) for letter, positions in machine.poses.items()}
    asked = machine.asked.model_copy(update={"zeroed": Zeroing(how="at", at=datum)})
    rows = machine.loop.rows(asked, machine.poses)
    scale = np.abs(rows.matrix).max()
    assert np.abs(rows.matrix[2]).max() <= 1e-12 * scale
    assert np.abs(rows.mean[2]).max() <= 1e-12
    assert scale > 0


@FEW
@given(plans(("seat", "pads", "guide"), loads=False, heat=False), st.floats(1.01, 100), st.integers(0, 10**6))
def test_a_stiffer_contact_never_softens_the_tool(plan: Plan, factor: float, which: int) -> None:
    """Whatever contact is made stiffer, the tool gives no more in any direction."""
    machine = small(plan)
    before = tool_compliance(machine.loop, machine.asked, machine.poses).total
    model = list(machine.loop.joints.values())[which % len(machine.loop.joints)]
    model.contacts.stiffness[which % len(model.contacts.stiffness)] *= factor
    after = tool_compliance(machine.loop, machine.asked, machine.poses).total
    lowest = np.linalg.eigvalsh(before - after).min()
    assert lowest >= -1e-9 * np.abs(before).max()
    assert np.linalg.eigvalsh(after).min() >= -1e-9 * np.abs(before).max()


def test_kinds_cover_what_a_build_can_hold() -> None:
    """The drawn machines hold fixed, linear and rotary joints, with contacts, guides and declared errors."""
    machine = small(Plan(KINDS[:3], KINDS[3:], 1, loads=True, heat=True))
    joints = machine.build.joints.values()
    assert {joint.kind.value for joint in joints} == {"fixed", "linear", "rotary"}
    assert any(joint.guide for joint in joints)
    assert any(joint.errors for joint in joints)
    assert any(joint.contacts and joint.letter for joint in joints)
    kept = changed(machine.build, lambda name, value: value)
    assert kept == machine.build
    assert changed(machine.build, lambda name, v: NONE if isinstance(v, Spread) else v) != machine.build
