"""The linear path against exact rigid-body motion, which shares none of its placement, rows or transport
of twists.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.loop import compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.loop.kinematics import standing
from loopwright.loop.twists import moved_twist, rotation_about, rows_at, shift_matrix, twist_at
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from small_builds import Plan, Small, plans, small

FEW = settings(max_examples=30)
COMPONENTS = st.sampled_from(["XYZ", "XY", "A", "B", "C"])


def derivative(machine: Small, component: str, step: float) -> np.ndarray:
    """Exact indication differentiated by every source at its mean, by central differences, (poses, c,
    sources).
    """
    asked = machine.asked.model_copy(update={"component": component})
    count, sources = 4, len(machine.loop.sources)
    width = step * np.where(machine.prior.std > 0, machine.prior.std, 1e-3)
    x = np.tile(machine.loop.mean, (2 * sources, 1))
    x[:sources] += np.diag(width)
    x[sources:] -= np.diag(width)
    out = []
    for pose in range(count):
        poses = {letter: np.full(2 * sources, p[pose]) for letter, p in machine.poses.items()}
        shown = exact_indication(machine.loop, asked, poses, x)
        out.append(((shown[:sources] - shown[sources:]) / (2 * width[:, None])).T)
        if not poses:
            break
    return np.array(out)


def farthest_off(machine: Small, component: str, step: float) -> float:
    """Largest difference of the rows from that derivative, as a fraction of the largest contribution."""
    asked = machine.asked.model_copy(update={"component": component})
    rows = machine.loop.rows(asked, machine.poses).matrix * machine.prior.std
    exact = derivative(machine, component, step) * machine.prior.std
    return float(np.abs(rows - exact).max() / np.abs(rows).max())


@FEW
@given(plans(loads=False, step=1e-4, tilt=1e-6), COMPONENTS)
def test_rows_are_the_derivative_of_exact_motion(plan: Plan, component: str) -> None:
    """Source by source and pose by pose, the rows are the slope of the exact indication."""
    assert farthest_off(small(plan), component, 0.1) < 3e-5


@FEW
@given(plans(loads=True, heat=True, step=1e-4, tilt=1e-6, room=23.0), COMPONENTS)
def test_rows_are_the_derivative_under_load_and_warm(plan: Plan, component: str) -> None:
    """Under loads, with open stiffness, warm, with open expansion: within what the bent and grown shape
    changes.
    """
    assert farthest_off(small(plan), component, 0.003) < 1e-2


@FEW
@given(plans(loads=False, step=1.0, tilt=5e-3), st.integers(0, 2**32 - 1))
def test_what_is_left_out_is_of_second_order(plan: Plan, seed: int) -> None:
    """Deviations ten times smaller: the difference of exact and linear falls at least fifty times."""
    machine = small(plan)
    signs = np.random.Generator(np.random.PCG64(seed)).choice([-1.0, 1.0], len(machine.prior.std))
    rows = machine.loop.rows(machine.asked, machine.poses)
    differences = []
    for size in (1.0, 0.1):
        x = machine.loop.mean + size * signs * machine.prior.farthest
        cases = np.tile(x, (len(rows.points), 1))
        exact = exact_indication(machine.loop, machine.asked, machine.poses, cases)
        differences.append(np.abs(exact - rows.matrix @ x).max())
    assert differences[1] < max(differences[0] / 50, 1e-9)


@FEW
@given(plans(loads=False, heat=False), st.integers(0, 2**32 - 1))
def test_the_size_of_an_exact_displacement_does_not_turn_with_a_body(plan: Plan, seed: int) -> None:
    """Directions that turn with the table share out the same vector differently."""
    machine = small(plan)
    rng = np.random.Generator(np.random.PCG64(seed))
    count = len(next(iter(machine.poses.values()), [0]))
    x = machine.loop.mean + rng.normal(size=(count, len(machine.prior.std))) * machine.prior.std
    asked = machine.asked.model_copy(update={"turns_with": machine.asked.between[1]})
    turning = exact_indication(machine.loop, asked, machine.poses, x)
    still = exact_indication(machine.loop, machine.asked, machine.poses, x)
    assert np.linalg.norm(turning, axis=1) == pytest.approx(np.linalg.norm(still, axis=1), rel=1e-9)
    linear = machine.loop.rows(asked, machine.poses).matrix
    size = np.linalg.norm(linear, axis=1)
    assert size == pytest.approx(
        np.linalg.norm(machine.loop.rows(machine.asked, machine.poses).matrix, axis=1), rel=1e-9, abs=1e-12
    )


vectors = st.tuples(*[st.floats(-500, 500)] * 3).map(np.array)


@given(vectors, vectors, vectors, st.floats(-3, 3))
def test_twists_move_with_their_frame(
    point: np.ndarray, turn: np.ndarray, shift: np.ndarray, angle: float
) -> None:
    """What a twist does to a point, carried along by a frame, is what the carried twist does to it."""
    axis = np.array([0.6, 0.0, 0.8])
    frame = rotation_about(axis, angle)
    twist = np.concatenate([turn, shift / 500])
    now = frame @ point + shift
    shown = rows_at(point, np.eye(3)) @ twist
    assert rows_at(now, np.eye(3)) @ moved_twist(frame, shift, twist) == pytest.approx(
        frame @ shown, abs=1e-7
    )
    assert shift_matrix(shift) @ twist == pytest.approx(moved_twist(np.eye(3), shift, twist), abs=1e-9)
    about = twist_at(point, turn, shift / 500)
    assert rows_at(point, np.eye(3)) @ about == pytest.approx(turn, abs=1e-7)


def test_poses_of_a_five_axis_machine_are_those_of_its_matrices() -> None:
    """A table on a tilting cradle stands where the product of its 4 x 4 matrices puts it."""
    build = Build.model_validate(
        {
            "name": "cradle",
            "bodies": {"base": {}, "slide": {}, "cradle": {}, "table": {}},
            "joints": {
                "X": {"kind": "linear", "parent": "base", "child": "slide", "along": "+X",
                      "travel": (0.0, 100.0), "home": 20.0, "perfect": True},
                "A": {"kind": "rotary", "parent": "slide", "child": "cradle", "about": "+X",
                      "at": (0.0, 10.0, 50.0), "travel": (-1.0, 1.0), "perfect": True},
                "C": {"kind": "rotary", "parent": "cradle", "child": "table", "about": "+Z",
                      "at": (5.0, 10.0, 0.0), "travel": (-3.0, 3.0), "perfect": True},
            },
        }
    )  # fmt: skip
    x, a, c = 75.0, 0.4, -1.1
    found = standing(build, "table", {"X": np.array([x - 20]), "A": np.array([a]), "C": np.array([c])})
    point = np.array([30.0, -7.0, 12.0])
    centre = np.array([5.0, 10.0, 0.0])
    turned = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]]) @ (point - centre)
    centre_a = np.array([0.0, 10.0, 50.0])
    tilt = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    expected = tilt @ (turned + centre - centre_a) + centre_a + [x - 20, 0, 0]
    assert found.place(point)[0] == pytest.approx(expected, abs=1e-12)
    loop = compile_loop(build)
    asked = Indication(between=("base", "table"), point=(30.0, -7.0, 12.0), component="XYZ")
    at = {"X": np.array([x]), "A": np.array([a]), "C": np.array([c])}
    assert loop.rows(asked, at).points[0] == pytest.approx(expected, abs=1e-12)
