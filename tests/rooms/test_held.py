"""Whether a joint holds its child, and whether the words name the motion that is left."""

from typing import Any

import numpy as np
import pytest

from loopwright.errors import BuildError, Problem
from loopwright.loop import compile_loop
from loopwright.loop.held import ILL_HELD, loose_motions
from loopwright.model.build import Build

NEST = {
    "foot 1": ((0, 0, 0), "+Z"),
    "foot 2": ((100, 0, 0), "+Z"),
    "foot 3": ((0, 80, 0), "+Z"),
    "side 1": ((0, 0, 0), "+Y"),
    "side 2": ((100, 0, 0), "+Y"),
    "stop": ((0, 0, 0), "+X"),
}


def problems(nest: dict[str, Any], **more: Any) -> tuple[Problem, ...]:
    """What is wrong with a joint that has these contacts."""
    seats = {name: {"at": at, "normal": normal} for name, (at, normal) in nest.items()}
    joint = {"kind": "fixed", "parent": "base", "child": "column", "contacts": seats} | more
    build = Build.model_validate(
        {"name": "nest", "bodies": {"base": {}, "column": {}}, "joints": {"seat": joint}}
    )
    try:
        compile_loop(build)
    except BuildError as error:
        return error.problems
    return ()


def words(nest: dict[str, Any], **more: Any) -> str:
    """The one problem of a joint, in words."""
    (problem,) = problems(nest, **more)
    assert problem.field == "joints/seat"
    return f"{problem.what}; {problem.remedy}"


def test_a_nest_of_three_two_and_one_holds() -> None:
    """Three feet, two side pads and a stop leave nothing free."""
    assert problems(NEST) == ()


@pytest.mark.parametrize(
    ("missing", "motion", "remedy"),
    [
        ("foot 1", "can still turn about (", "add a contact with normal"),
        ("foot 2", "can still turn about Y through (0, 16, 0)", "with normal +Z"),
        ("foot 3", "can still turn about X through (", "with normal +Z"),
        (
            "side 1",
            "can still turn about Z through (100, 0, 0)",
            "normal +Y at about (0, 80, 0) mm, 100 mm from that axis",
        ),
        ("side 2", "can still turn about Z through (0, 0, 0)", "100 mm from that axis"),
        ("stop", "can still slide along X", "add a contact with normal +X"),
    ],
)
def test_each_contact_of_the_nest_is_missed(missing: str, motion: str, remedy: str) -> None:
    """Without any one of its contacts the nest says which motion that one held, and what would hold it."""
    found = words({name: c for name, c in NEST.items() if name != missing})
    assert "'seat' " + motion in found
    assert remedy in found


def test_the_axis_without_the_first_foot() -> None:
    """Without the foot in the corner it turns about the line of the other two feet, which is (-0.78, 0.62,
    0).
    """
    found = words({name: c for name, c in NEST.items() if name != "foot 1"})
    assert "(0.78, -0.62, 0)" in found or "(-0.78, 0.62, 0)" in found


def test_the_remedy_holds_it() -> None:
    """The contact that the remedy asks for, put where it says, holds the column."""
    (problem,) = problems({name: c for name, c in NEST.items() if name != "side 2"})
    normal = problem.remedy.split("normal ")[1].split(" ")[0]
    place = problem.remedy.split("at about (")[1].split(")")[0]
    mended = NEST | {"side 2": (tuple(float(v) for v in place.split(", ")), normal)}
    assert problems(mended) == ()


def test_two_motions_are_both_named() -> None:
    """Three feet alone leave two slides and a turn, and all three are named as plain ones."""
    found = words({name: c for name, c in NEST.items() if name.startswith("foot")})
    for motion in ("slide along X", "slide along Y", "turn about Z"):
        assert motion in found


def test_contacts_in_a_line() -> None:
    """Three feet in one line along X leave the turn about that line."""
    found = words(NEST | {"foot 3": ((50, 0, 0), "+Z")})
    assert "turn about X" in found


def test_six_contacts_that_hold_five() -> None:
    """Six contacts are not enough where two of them hold the same."""
    assert "can still slide along X" in words(NEST | {"stop": ((50, 0, 0), "+Y")})


def test_contacts_close_together_hold_badly() -> None:
    """Side pads 1 mm apart on a nest of 100 mm are refused as badly held, not as free."""
    found = words(NEST | {"side 2": ((1, 0, 0), "+Y")})
    assert "is held badly: it can turn about Z" in found
    assert problems(NEST | {"side 2": ((20, 0, 0), "+Y")}) == ()


def test_a_small_machine_is_judged_by_its_own_size() -> None:
    """A nest of 1 mm with the same proportions holds, and so does one of 10 m a kilometre away."""
    for scale, away in ((0.01, 0.0), (100.0, 1e6)):
        moved = {n: (tuple(scale * v + away for v in at), normal) for n, (at, normal) in NEST.items()}
        assert problems(moved) == ()


def test_the_share_of_an_ill_held_motion() -> None:
    """Two feet a apart on a base of b hold the turn about them the worse, the nearer they are; the share says
    so.
    """
    at = np.array([place for place, _ in NEST.values()], float)
    normals = np.array(
        [{"+X": (1, 0, 0), "+Y": (0, 1, 0), "+Z": (0, 0, 1)}[n] for _, n in NEST.values()], float
    )
    assert loose_motions(at, normals) == []
    at[4, 0] = 0.5
    (loose,) = loose_motions(at, normals)
    assert 0 < loose.share < ILL_HELD
    assert loose.turns


SLIDE = {
    "kind": "linear", "along": "+X", "travel": (0.0, 100.0),
    "guide": {
        "normal": "+Z", "rails": {"left": {}, "right": {}},
        "blocks": {
            f"{rail} {place}": {"rail": rail, "at": (100.0 * place, side, 0.0)}
            for rail, side in (("left", -50.0), ("right", 50.0))
            for place in (0, 1)
        },
    },
}  # fmt: skip


def test_a_guide_without_a_drive() -> None:
    """Two rails leave the slide along them, and a drive is what would hold it."""
    found = words({}, **SLIDE)
    assert "can still slide along X" in found
    assert "a drive" in found


def test_a_guide_with_a_drive_holds() -> None:
    """Two rails and a screw hold everywhere."""
    assert problems({}, **SLIDE, drive={"kind": "ball screw", "at": (50.0, 0.0, -20.0)}) == ()


def test_a_guide_whose_positioning_is_declared_holds() -> None:
    """A declared EXX stands for the drive that makes it."""
    declared = {"errors": {"EXX": {"limits": "±4 µm"}}, "errors_at": (0.0, 0.0, 0.0)}
    assert problems({}, **SLIDE, **declared) == ()


def test_one_rail_of_one_block_turns() -> None:
    """A single block holds neither roll, pitch nor yaw, and nothing along the rail."""
    guide = {**SLIDE["guide"], "blocks": {"only": {"rail": "left", "at": (0.0, 0.0, 0.0)}}}  # type: ignore[dict-item]
    found = words({}, **(SLIDE | {"guide": guide}))
    for motion in ("slide along X", "turn about X", "turn about Y", "turn about Z"):
        assert motion in found


def test_a_joint_lost_at_one_end_of_its_travel_says_where() -> None:
    """A block that rides into line with two fixed feet loses the pitch there, and the place is named."""
    feet = {
        "foot 1": {"at": (100.0, -50.0, 0.0), "normal": "+Z"},
        "foot 2": {"at": (100.0, 50.0, 0.0), "normal": "+Z"},
        "side": {"at": (-50.0, 0.0, 0.0), "normal": "+Y"},
    }
    guide = {
        "normal": "+Z",
        "rails": {"rail": {}},
        "blocks": {"block": {"rail": "rail", "at": (0.0, 0.0, 0.0)}},
    }
    drive = {"kind": "belt", "at": (0.0, 0.0, -30.0)}
    axis = {
        "kind": "linear",
        "along": "+X",
        "contacts": feet,
        "contacts_on": "parent",
        "guide": guide,
        "drive": drive,
    }
    found = words({}, **axis, travel=(0.0, 100.0))
    assert "turn about Y through (100, 0, " in found
    assert "(at X = 100 mm)" in found
    assert problems({}, **axis, travel=(0.0, 60.0)) == ()
