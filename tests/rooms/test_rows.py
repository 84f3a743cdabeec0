"""Indications over poses: which poses, which directions, how zeroed, and what is refused."""

from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import prior_of
from loopwright.errors import BuildError, RequestError
from loopwright.loop import Loop, compile_loop, examine
from loopwright.loop.kinematics import MOST_POSES, poses_of
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Spread
from loopwright.studies.standing import standing


def machine(**more: Any) -> Loop:
    """A table on a slide X with a rotary table C on it, and a head on a column Z."""
    joints: dict[str, Any] = {
        "X": {"kind": "linear", "parent": "base", "child": "slide", "along": "+X",
              "travel": (0.0, 300.0), "home": 50.0, "errors_at": (0.0, 0.0, 0.0),
              "errors": {"EYX": {"limits": "±4 µm"}, "EXX": {"limits": "±6 µm"}}},
        "C": {"kind": "rotary", "parent": "slide", "child": "table", "about": "+Z", "at": (80.0, 0.0, 0.0),
              "travel": (-3.0, 3.0), "errors_at": (80.0, 0.0, 0.0),
              "errors": {"EXC": {"limits": "±2 µm"}}},
        "Z": {"kind": "linear", "parent": "base", "child": "head", "along": "+Z", "travel": (0.0, 100.0),
              "errors_at": (0.0, 0.0, 200.0), "errors": {"EXZ": {"limits": "±3 µm"}}},
    }  # fmt: skip
    bodies = {name: {} for name in ("base", "slide", "table", "head")}
    return compile_loop(
        Build.model_validate({"name": "rows", "down": None, "bodies": bodies, "joints": joints} | more)
    )


def asked(**fields: Any) -> Indication:
    """What the head shows against the table."""
    return Indication.model_validate({"between": ("table", "head"), "component": "XY"} | fields)


def test_poses_are_every_combination_of_the_steps() -> None:
    """Two axes in steps of 100 and five places: 4 x 5 poses, the last axis fastest, held axes where they are
    held.
    """
    found = poses_of(
        machine().build, asked(over={"X": (0.0, 300.0, 100.0), "Z": (0.0, 100.0)}, holding={"C": 0.5})
    )
    assert found["X"][:6].tolist() == [0, 0, 0, 0, 0, 100]
    assert found["Z"][:6].tolist() == [0, 25, 50, 75, 100, 0]
    assert found["C"].tolist() == [0.5] * 20


@pytest.mark.parametrize(
    ("step", "last"), [(100.0, [200, 300]), (80.0, [240, 300]), (300.0, [0, 300]), (500.0, [0, 300])]
)
def test_both_ends_of_a_span_are_looked_at(step: float, last: list[float]) -> None:
    """Steps that do not reach the end of the volume are followed by the end itself, where errors are often
    largest.
    """
    found = poses_of(machine().build, asked(over={"X": (0.0, 300.0, step)}))["X"]
    assert found[-2:].tolist() == last
    assert found[0] == 0


def test_too_many_poses_are_refused() -> None:
    """A volume of more poses than can be worked out is refused with what would do."""
    wide = asked(over={"X": (0.0, 300.0, 0.5), "Z": (0.0, 100.0, 0.2)})
    with pytest.raises(RequestError) as refused:
        machine().rows(wide)
    assert str(601 * 501) in refused.value.what
    assert "''" not in refused.value.what
    assert "coarser" in refused.value.remedy
    assert MOST_POSES < 601 * 501


def test_an_indication_is_the_movement_of_the_second_body_against_the_first() -> None:
    """Swapping the two bodies turns the sign, where the point is the same one."""
    loop = machine()
    at = {"X": np.array([50.0, 200.0])}
    one = loop.rows(Indication(between=("slide", "base"), component="XY"), at).matrix
    # the point stays on the second body: 150 mm further on for the slide
    other = loop.rows(Indication(between=("base", "slide"), component="XY"), at).matrix
    assert one[0] == pytest.approx(-other[0])
    assert np.abs(one[0]).max() > 0


def test_a_direction_is_a_component() -> None:
    """'along' +Y asks for what component Y asks for; a slanting direction for the sum of its parts."""
    loop, at = machine(), {"X": np.array([130.0]), "C": np.array([0.4])}
    both = loop.rows(asked(), at).matrix[0]
    along = loop.rows(asked(component=None, along="+Y"), at).matrix[0]
    slanting = loop.rows(asked(component=None, along=(0.6, 0.8, 0.0)), at).matrix[0]
    assert along[0] == pytest.approx(both[1])
    assert slanting[0] == pytest.approx(0.6 * both[0] + 0.8 * both[1])


def test_directions_that_turn_with_the_table() -> None:
    """At C = 90 deg the table's X is the machine's Y."""
    loop, at = machine(), {"X": np.array([130.0]), "C": np.array([np.pi / 2])}
    still = loop.rows(asked(), at).matrix[0]
    turned = loop.rows(asked(turns_with="table"), at).matrix[0]
    assert turned[0] == pytest.approx(still[1], abs=1e-12)
    assert turned[1] == pytest.approx(-still[0], abs=1e-12)


def test_zeroed_by_its_mean_and_by_its_line() -> None:
    """EXX drifts along the travel: its mean taken out leaves the slope, its best line taken out leaves the
    bends.
    """
    loop = machine()
    prior = prior_of(loop.sources, loop.build.assume)
    slide = {"between": ("base", "slide"), "component": "X", "over": {"X": (0.0, 300.0, 10.0)}}
    place = np.arange(0, 301, 10.0) - 150
    drifting = [i for i, s in enumerate(loop.sources) if s.name == "X: EXX 1"]
    found = {how: loop.rows(asked(**slide, zeroed=how)) for how in ("none", "mean", "line")}
    slope = {how: float(rows.matrix[:, 0, drifting[0]] @ place) for how, rows in found.items()}
    assert slope["mean"] == pytest.approx(slope["none"]) != 0
    assert slope["line"] == pytest.approx(0, abs=1e-9)
    sizes = [budget(found[how], prior).std.max() for how in ("none", "mean", "line")]
    assert sizes[2] < sizes[1]


def test_the_datum_holds_the_other_axes_where_the_indication_holds_them() -> None:
    """Zeroed at X 100 with C held at 0.5: at that very pose it shows nothing, and at C 0 it would."""
    loop = machine()
    one = asked(over={"X": (0.0, 300.0, 100.0)}, holding={"C": 0.5}, zeroed={"at": {"X": 100.0}})
    rows = loop.rows(one)
    assert rows.poses["C"].tolist() == [0.5] * 4
    assert rows.matrix[1] == pytest.approx(0, abs=1e-15)
    assert np.abs(rows.matrix[0]).max() > 0


def test_a_machine_with_nothing_open_still_stands_somewhere() -> None:
    """A build without one deviation gets an answer: no error, and its target met."""
    joint = {
        "kind": "linear",
        "parent": "base",
        "child": "table",
        "along": "+X",
        "travel": (0.0, 100.0),
        "perfect": True,
    }
    target = {"between": ("base", "table"), "component": "XY", "over": {"X": (0.0, 100.0)}, "limit": 0.01}
    build = {
        "name": "ideal",
        "bodies": {"base": {}, "table": {}},
        "joints": {"X": joint},
        "targets": {"t": target},
    }
    found = standing(compile_loop(Build.model_validate(build)), trials=500)
    assert found.sources == 0
    assert found.targets[0].expected == 0
    assert found.chance_of_all == 1


def test_every_joint_that_cannot_be_solved_is_told() -> None:
    """Two joints that leave something free make two problems, each with its own field."""
    foot = {"at": (0.0, 0.0, 0.0), "normal": "+Z"}
    joints = {
        f"j{i}": {"kind": "fixed", "parent": parent, "child": child, "contacts": {"only": foot}}
        for i, (parent, child) in enumerate((("base", "a"), ("a", "b")))
    }
    build = Build.model_validate(
        {"name": "loose", "bodies": {"base": {}, "a": {}, "b": {}}, "joints": joints}
    )
    loop, problems = examine(build)
    assert loop is None
    assert [p.field for p in problems] == ["joints/j0", "joints/j1"]
    with pytest.raises(BuildError) as refused:
        compile_loop(build)
    assert len(refused.value.problems) == 2


def test_two_screws_of_a_gantry_hold_its_yaw() -> None:
    """Screws 600 mm apart that differ by 12 µm yaw the bridge by 20 µrad; their middle moves by half."""
    rails = {
        f"b{i}{j}": {"rail": rail, "at": (100.0 * j, 600.0 * i, 0.0), "side": "free" if i else None}
        for i, rail in enumerate(("near", "far"))
        for j in (0, 1)
    }
    blocks = {k: {key: v for key, v in b.items() if v is not None} for k, b in rails.items()}
    # the blocks' sides are soft, so that the two screws decide the yaw
    soft = {"side": {"stiffness": 1e-3}}
    drives = {
        name: {"kind": "ball screw", "at": (50.0, y, 0.0), "deviation": Spread(value=d)}
        for name, y, d in (("near", 0.0, 0.0), ("far", 600.0, 0.012))
    }
    joint = {
        "kind": "linear", "parent": "base", "child": "bridge", "along": "+X", "travel": (0.0, 500.0),
        "guide": {"normal": "+Z", "rails": {"near": {}, "far": {}}, "blocks": blocks, "every_block": soft},
        "drives": drives,
    }  # fmt: skip
    build = {"name": "gantry", "bodies": {"base": {}, "bridge": {}}, "joints": {"X": joint}}
    loop = compile_loop(Build.model_validate(build))
    yaw = loop.rows(Indication(between=("base", "bridge"), component="C"), {"X": np.array([250.0])})
    middle = Indication(between=("base", "bridge"), point=(50.0, 300.0, 0.0), component="X")
    assert yaw.mean[0, 0] == pytest.approx(-20e-6, rel=1e-6)
    assert loop.rows(middle, {"X": np.array([250.0])}).mean[0, 0] == pytest.approx(0.006, rel=1e-6)
