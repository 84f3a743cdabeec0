"""Stiffness at the tool against springs worked out by hand."""

from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import Loop, compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.loop.stiffness import ToolCompliance, tool_compliance
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Spread

X, Y, Z = np.eye(3)
GRAVITY = 9.80665


def loop_of(**fields: Any) -> Loop:
    """The loop of a build from its fields; stiffness taken as exactly known."""
    known = {"stiffness_shared": Spread(), "stiffness_spread": Spread()}
    return compile_loop(Build.model_validate({"name": "springs"} | known | fields))


def spring(
    parent: str, child: str, axis: str, at: tuple[float, ...] = (0.0, 0.0, 0.0), **k: float
) -> dict[str, Any]:
    """A joint with lumped springs at a point; what is not named is rigid."""
    return {
        "kind": "linear", "axis": axis, "parent": parent, "child": child, "along": "+X",
        "travel": (0.0, 200.0), "errors_at": at, "stiffness": k,
    }  # fmt: skip


def seen(
    loop: Loop, tool: str, point: tuple[float, ...] = (0.0, 0.0, 0.0), work: str = "base"
) -> ToolCompliance:
    """Compliance at home between two bodies."""
    return tool_compliance(loop, Indication(between=(work, tool), point=point, component="XYZ"), {})


def test_springs_in_series() -> None:
    """Two joints one on the other: 1 / k = 1 / 200 + 1 / 300 (N/µm), shares 0.6 and 0.4."""
    loop = loop_of(
        bodies={"base": {}, "a": {}, "b": {}},
        joints={"one": spring("base", "a", "X", X=2e5), "two": spring("a", "b", "U", X=3e5)},
    )
    found = seen(loop, "b")
    assert found.stiffness(X)[0] == pytest.approx(1 / (1 / 2e5 + 1 / 3e5), rel=1e-12)
    assert found.share("one", X)[0] == pytest.approx(0.6, rel=1e-12)
    assert found.share("two", X)[0] == pytest.approx(0.4, rel=1e-12)
    assert found.stiffness(Y)[0] == np.inf
    assert found.share("one", Y)[0] == 0


def test_springs_on_both_sides_of_the_loop_are_in_series() -> None:
    """A spring under the work and one behind the tool add their give; one that carries both adds nothing."""
    loop = loop_of(
        bodies={"ground": {}, "base": {}, "work": {}, "tool": {}},
        joints={
            "feet": spring("ground", "base", "W", X=1e3),
            "table": spring("base", "work", "X", X=2e5),
            "column": spring("base", "tool", "U", X=3e5),
        },
    )
    found = seen(loop, "tool", work="work")
    assert found.stiffness(X)[0] == pytest.approx(1 / (1 / 2e5 + 1 / 3e5), rel=1e-12)
    assert set(found.joints) == {"table", "column"}


def test_springs_side_by_side() -> None:
    """Four feet of 100, 100, 100 and 100 N/µm under the middle: 400 N/µm down; two side pads 200, one stop
    100.
    """
    corners = [(-100, -80), (100, -80), (-100, 80), (100, 80)]
    contacts = {
        f"foot {i}": {"at": (*c, 0.0), "normal": "+Z", "stiffness": 1e5} for i, c in enumerate(corners)
    }
    contacts |= {
        name: {"at": at, "normal": normal, "stiffness": 1e5}
        for name, at, normal in (
            ("s1", (-100, 0, 0), "+Y"),
            ("s2", (100, 0, 0), "+Y"),
            ("stop", (0, 0, 0), "+X"),
        )
    }
    loop = loop_of(
        bodies={"base": {}, "table": {}},
        joints={"seat": {"kind": "fixed", "parent": "base", "child": "table", "contacts": contacts}},
    )
    found = seen(loop, "table")
    assert [found.stiffness(d)[0] for d in (X, Y, Z)] == pytest.approx([1e5, 2e5, 4e5], rel=1e-12)
    # 150 mm up, a push along Y also rolls the table on its feet: k_roll = 4 x 1e5 x 80^2
    up = seen(loop, "table", (0.0, 0.0, 150.0))
    assert up.stiffness(Y)[0] == pytest.approx(1 / (1 / 2e5 + 150**2 / (4e5 * 80**2)), rel=1e-12)


def test_arm_on_a_turning_spring() -> None:
    """An arm of 250 mm on a joint of k = 200 N/µm and 5e8 N·mm/rad: 1 / k = 1 / k1 + L^2 / k_theta, and no
    more along it.
    """
    loop = loop_of(
        bodies={"base": {}, "arm": {}},
        joints={
            "joint": spring("base", "arm", "X", (10.0, 20.0, 30.0), X=2e5, Y=2e5, Z=2e5, A=5e8, B=5e8, C=5e8)
        },
    )
    found = seen(loop, "arm", (10.0, 20.0, 280.0))
    bent = 1 / (1 / 2e5 + 250**2 / 5e8)
    assert [found.stiffness(d)[0] for d in (X, Y, Z)] == pytest.approx([bent, bent, 2e5], rel=1e-12)


def test_the_reference_of_a_slide_moves_with_it() -> None:
    """Lumped springs stay at their point of the carriage: the arm is as long at the end of the travel as at
    home.
    """
    springs = spring("base", "arm", "X", X=2e5, Y=2e5, Z=2e5, A=5e8, B=5e8, C=5e8)
    loop = loop_of(bodies={"base": {}, "arm": {}}, joints={"joint": springs})
    asked = Indication(between=("base", "arm"), point=(0.0, 0.0, 100.0), component="XYZ")
    found = tool_compliance(loop, asked, {"X": np.array([0.0, 200.0])})
    assert found.stiffness(Z)[1] == pytest.approx(found.stiffness(Z)[0], rel=1e-12)


def column(mass: Any = 0.0, **more: Any) -> Loop:
    """A column on three feet and three side contacts, its mass 200 mm to the side of the first two feet."""
    contacts = {
        name: {"at": at, "normal": normal, "stiffness": k}
        for name, at, normal, k in (
            ("a", (0, 0, 0), "+Z", 1e5), ("b", (0, 100, 0), "+Z", 1e5), ("c", (200, 50, 0), "+Z", 4e5),
            ("d", (0, 0, 0), "+Y", 1e5), ("e", (200, 0, 0), "+Y", 1e5), ("f", (0, 50, 0), "+X", 1e5),
        )
    }  # fmt: skip
    return loop_of(
        bodies={"base": {}, "column": {"mass": mass, "centre_of_mass": (50.0, 50.0, 300.0)}},
        joints={"seat": {"kind": "fixed", "parent": "base", "child": "column", "contacts": contacts}},
        **more,
    )


def test_weight_lets_the_feet_give() -> None:
    """60 kg, a quarter of the way to the third foot: 45 kg on two feet of 100 N/µm, 15 kg on one of 400."""
    loop = column(60.0)
    at_feet = [
        loop.rows(Indication(between=("base", "column"), point=p, component="Z"), {}).mean[0, 0]
        for p in ((0.0, 0.0, 0.0), (0.0, 100.0, 0.0), (200.0, 50.0, 0.0))
    ]
    expected = [-22.5 * GRAVITY / 1e5, -22.5 * GRAVITY / 1e5, -15 * GRAVITY / 4e5]
    assert at_feet == pytest.approx(expected, rel=1e-9)


def test_open_mass_and_stiffness_are_propagated() -> None:
    """A mass known to 10 % and a stiffness known to 20 % move the sag by 10 % and 20 % of itself; together in
    quadrature.
    """
    mass = Spread(value=60.0, std=6.0)
    asked = Indication(between=("base", "column"), point=(0.0, 50.0, 0.0), component="Z")
    for loop, share in (
        (column(mass), 0.1),
        (column(60.0, stiffness_shared=Spread(std=0.2)), 0.2),
        (column(mass, stiffness_shared=Spread(std=0.2)), 0.05**0.5),
    ):
        rows = loop.rows(asked, {})
        found = budget(rows, prior_of(loop.sources, loop.build.assume))
        assert found.std[0, 0] == pytest.approx(share * abs(rows.mean[0, 0]), rel=1e-9)


def test_a_softer_foot_sinks_by_what_it_carries() -> None:
    """One foot's own stiffness 1 % lower: it sinks 1 % further, and only the points above it follow."""
    loop = column(60.0, stiffness_spread=Spread(std=0.01))
    softer = next(i for i, s in enumerate(loop.sources) if s.name == "stiffness of seat: a")
    rows = loop.rows(Indication(between=("base", "column"), point=(0.0, 0.0, 0.0), component="Z"), {})
    assert rows.matrix[0, 0, softer] == pytest.approx(22.5 * GRAVITY / 1e5, rel=1e-9)
    other = loop.rows(Indication(between=("base", "column"), point=(0.0, 100.0, 0.0), component="Z"), {})
    assert other.matrix[0, 0, softer] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("position", "share"), [(0.0, 0.0), (100.0, 0.5), (150.0, 0.75)])
def test_a_weight_that_rides_along_shifts_from_foot_to_foot(position: float, share: float) -> None:
    """A slide of 40 kg on a beam of 200 mm: the far feet carry its share of the way, and sink by it."""
    contacts = {
        name: {"at": at, "normal": normal, "stiffness": 1e5}
        for name, at, normal in (
            ("near 1", (0, -50, 0), "+Z"), ("near 2", (0, 50, 0), "+Z"), ("far 1", (200, -50, 0), "+Z"),
            ("far 2", (200, 50, 0), "+Z"), ("s1", (0, 0, 0), "+Y"), ("s2", (200, 0, 0), "+Y"), ("end", (0, 0, 0), "+X"),
        )
    }  # fmt: skip
    loop = loop_of(
        bodies={"base": {}, "beam": {}, "slide": {"mass": 40.0, "centre_of_mass": (0.0, 0.0, 0.0)}},
        joints={
            "feet": {"kind": "fixed", "parent": "base", "child": "beam", "contacts": contacts},
            "X": {
                "kind": "linear", "parent": "beam", "child": "slide", "along": "+X", "travel": (0.0, 200.0),
                "perfect": True,
            },
        },
    )  # fmt: skip
    far = Indication(between=("base", "beam"), point=(200.0, 0.0, 0.0), component="Z")
    sag = loop.rows(far, {"X": np.array([position])}).mean[0, 0]
    assert sag == pytest.approx(-share * 40 * GRAVITY / 2e5, rel=1e-9, abs=1e-15)


def test_weight_pulls_the_other_way_on_a_body_that_was_turned_over() -> None:
    """A table turned half round about X carries its eccentric weight to the other side: the roll changes sign."""
    loop = loop_of(
        bodies={"base": {}, "cradle": {}, "table": {"mass": 10.0, "centre_of_mass": (0.0, 30.0, 0.0)}},
        joints={
            "springs": spring("base", "cradle", "X", Z=2e5, A=5e8),
            "A": {
                "kind": "rotary", "parent": "cradle", "child": "table", "about": "+X", "at": (0.0, 0.0, 0.0),
                "travel": (0.0, 3.2), "perfect": True,
            },
        },
    )  # fmt: skip
    roll = Indication(between=("base", "cradle"), component="A")
    found = loop.rows(roll, {"A": np.array([0.0, np.pi])}).mean[:, 0]
    assert found == pytest.approx([-10 * GRAVITY * 30 / 5e8, 10 * GRAVITY * 30 / 5e8], rel=1e-9)


def test_a_load_on_a_spring() -> None:
    """-300 N on a spring of 200 N/µm 100 mm to the side of a turning spring: -1.5 µm, and F L^2 / k_theta
    more out there.
    """
    loop = loop_of(
        bodies={"base": {}, "arm": {}},
        joints={"joint": spring("base", "arm", "X", Z=2e5, B=5e8)},
        loads={"cut": {"on": "arm", "at": (100.0, 0.0, 0.0), "force": (0.0, 0.0, -300.0)}},
    )
    asked = Indication(between=("base", "arm"), point=(100.0, 0.0, 0.0), component="Z", under=["cut"])
    sag = -300 / 2e5 - 300 * 100**2 / 5e8
    assert loop.rows(asked, {}).mean[0, 0] == pytest.approx(sag, rel=1e-12)
    assert exact_indication(loop, asked, {}, loop.mean[None])[0, 0] == pytest.approx(sag, rel=1e-3)
    idle = asked.model_copy(update={"under": []})
    assert loop.rows(idle, {}).mean[0, 0] == 0


def test_a_load_between_work_and_tool_does_not_go_through_what_carries_both() -> None:
    """Cutting force and reaction bend the two arms between work and tool, not the feet under the base."""
    loop = loop_of(
        bodies={"ground": {}, "base": {}, "work": {}, "tool": {}},
        joints={
            "feet": spring("ground", "base", "W", X=1e3),
            "table": spring("base", "work", "X", X=2e5),
            "column": spring("base", "tool", "U", X=3e5),
        },
        loads={"cut": {"on": "tool", "against": "work", "at": (0.0, 0.0, 0.0), "force": (600.0, 0.0, 0.0)}},
    )
    between = Indication(between=("work", "tool"), component="X", under=["cut"])
    assert loop.rows(between, {}).mean[0, 0] == pytest.approx(600 / 2e5 + 600 / 3e5, rel=1e-12)
    feet = Indication(between=("ground", "base"), component="X", under=["cut"])
    assert loop.rows(feet, {}).mean[0, 0] == 0


@pytest.mark.parametrize("shared", [Spread(std=1 / 3), Spread(lower=-1.0, upper=1.0)])
def test_a_spread_of_stiffness_that_reaches_zero_is_still_answered(shared: Spread) -> None:
    """A stiffness that may be down to nothing leaves the exact check a finite answer: a spring stays a
    spring.
    """
    for loop in (column(60.0, stiffness_shared=shared), lumped(shared)):
        asked = Indication(between=("base", list(loop.build.bodies)[1]), component="Z")
        (all_of_it,) = (i for i, s in enumerate(loop.sources) if s.field == "stiffness_shared")
        x = loop.mean.copy()
        stated = exact_indication(loop, asked, {}, x[None])[0, 0]
        for softer in (-1.0, -1.5):
            x[all_of_it] = softer
            sag = exact_indication(loop, asked, {}, x[None])[0, 0]
            # twenty times as soft is the softest that is looked at, and gives twenty times as much
            assert sag == pytest.approx(20 * stated, rel=1e-2)


def lumped(shared: Spread) -> Loop:
    """A weight on lumped springs."""
    return loop_of(
        bodies={"base": {}, "arm": {"mass": 10.0, "centre_of_mass": (0.0, 0.0, 0.0)}},
        joints={"joint": spring("base", "arm", "X", Z=2e5)},
        stiffness_shared=shared,
    )
