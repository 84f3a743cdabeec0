"""Growth by heat through the loop: seats, screws, scales and bodies against growths by hand."""

from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import Loop, compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.loop.growth import expansion
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Spread

UM = 1e-3
TEN = {"ten": {"expansion": 10e-6}, "twenty": {"expansion": 20e-6}}
WARM = {"room": Spread(value=22.0)}


def loop_of(**fields: Any) -> Loop:
    """The loop of a weightless build that knows two materials, of 10 and 20 ppm/K."""
    return compile_loop(Build.model_validate({"name": "heat", "down": None, "materials": TEN} | fields))


def seats(*places: tuple[tuple[float, ...], str]) -> dict[str, Any]:
    """Contacts at places."""
    return {f"c{i}": {"at": at, "normal": normal} for i, (at, normal) in enumerate(places)}


NEST = seats(
    ((100, 0, 0), "+Z"), ((300, 0, 0), "+Z"), ((100, 80, 0), "+Z"),
    ((100, 20, 0), "+Y"), ((300, 20, 0), "+Y"), ((100, 0, 0), "+X"),
)  # fmt: skip


def nested(base: dict[str, Any], child: dict[str, Any], **more: Any) -> Loop:
    """A child in a nest on a base, located at X 100 and Y 20."""
    joint = {"kind": "fixed", "parent": "base", "child": "child", "contacts": NEST}
    return loop_of(bodies={"base": base, "child": child}, joints={"seat": joint}, **more)


def shown(
    loop: Loop, point: tuple[float, ...], between: tuple[str, str] = ("base", "child"), **at: float
) -> np.ndarray:
    """Expected displacement at a point, checked against exact motion."""
    asked = Indication(between=between, point=point, component="XYZ")
    poses = {letter: np.array([position]) for letter, position in at.items()}
    linear = loop.rows(asked, poses).mean[0]
    assert exact_indication(loop, asked, poses, loop.mean[None])[0] == pytest.approx(linear, abs=2e-6)
    return linear / UM


def test_a_child_grows_from_where_it_is_located() -> None:
    """A child of 10 ppm/K, 2 K warm, located at X 100 and Y 20 on a cold base: at (400, 120, 50) 6, 2 and 1
    µm.
    """
    loop = nested({}, {"material": "ten"}, heat=WARM)
    assert shown(loop, (400.0, 120.0, 50.0)) == pytest.approx([6, 2, 1], abs=1e-9)
    assert shown(loop, (100.0, 20.0, 0.0)) == pytest.approx([0, 0, 0], abs=1e-9)


def test_what_is_of_one_material_and_one_temperature_keeps_its_shape() -> None:
    """Base and child that grow alike show nothing between them, wherever it is looked for."""
    loop = nested({"material": "ten"}, {"material": "ten"}, heat=WARM)
    assert shown(loop, (400.0, 120.0, 50.0)) == pytest.approx([0, 0, 0], abs=1e-9)


def test_a_base_that_grows_takes_the_seats_along() -> None:
    """Under a cold child, at the child's far end, the warm base has grown 10 ppm x 2 K x 300 mm past it."""
    loop = nested({"material": "ten"}, {}, heat=WARM)
    assert shown(loop, (400.0, 20.0, 0.0)) == pytest.approx([-6, 0, 0], abs=1e-9)


def test_a_warm_room_is_shared_and_a_body_s_own_warmth_is_not() -> None:
    """Room ±1 K on both of one material cancels; 0.5 K of each body's own does not: sqrt 2 of its growth."""
    heat = {"room": Spread(value=20.0, std=1.0), "every_body": Spread(std=0.5)}
    loop = nested({"material": "ten"}, {"material": "ten"}, heat=heat)
    asked = Indication(between=("base", "child"), point=(400.0, 20.0, 0.0), component="X")
    found = budget(loop.rows(asked, {}), prior_of(loop.sources, loop.build.assume))
    assert found.std[0, 0] == pytest.approx(10e-6 * 300 * 0.5 * 2**0.5, rel=1e-9)
    shares = dict(zip((s.name for s in loop.sources), found.share_worst))
    assert shares == pytest.approx(
        {"room temperature": 0, "warmth of base": 0.5, "warmth of child": 0.5}, abs=1e-12
    )


def test_bodies_of_one_material_share_its_coefficient() -> None:
    """An open coefficient of one material cancels between two bodies of it, and does not between two
    materials.
    """
    own = {
        "ten": {"expansion": 10e-6, "expansion_std": 1e-6},
        "other": {"expansion": 10e-6, "expansion_std": 1e-6},
    }
    asked = Indication(between=("base", "child"), point=(400.0, 20.0, 0.0), component="X")
    for material, std in (("ten", 0.0), ("other", 1e-6 * 2 * 300 * 2**0.5)):
        loop = nested({"material": "ten"}, {"material": material}, heat=WARM, materials=own)
        found = budget(loop.rows(asked, {}), prior_of(loop.sources, loop.build.assume))
        assert found.std[0, 0] == pytest.approx(std, rel=1e-9, abs=1e-15)


def table(drive: dict[str, Any], child: dict[str, Any], base: dict[str, Any]) -> Loop:
    """A table of 0 to 400 mm along X on a base, driven at the nut (50, 30, 0)."""
    contacts = seats(
        ((0, 0, 0), "+Z"), ((100, 0, 0), "+Z"), ((50, 80, 0), "+Z"), ((0, 30, 0), "+Y"), ((100, 30, 0), "+Y")
    )
    joint = {
        "kind": "linear", "parent": "base", "child": "table", "along": "+X", "travel": (0.0, 400.0),
        "contacts": contacts, "drive": {"kind": "ball screw", "at": (50.0, 30.0, 0.0), **drive},
    }  # fmt: skip
    return loop_of(bodies={"base": base, "table": child}, joints={"X": joint}, heat=WARM)


@pytest.mark.parametrize(
    ("drive", "start", "end"),
    [
        # nut at home 50; screw held there: it grows with the travel alone
        ({"material": "ten"}, 0.0, 8.0),
        # held 150 mm behind the nut: those grow too
        ({"material": "ten", "fixed_at": (-100.0, 30.0, 0.0)}, 3.0, 11.0),
        # held at the far end: it pushes the nut back, less so as the nut comes nearer
        ({"material": "ten", "fixed_at": (450.0, 30.0, 0.0)}, -8.0, 0.0),
        # runs 3 K above the room
        ({"material": "ten", "above_room": Spread(value=3.0)}, 0.0, 20.0),
    ],
)
def test_a_screw_grows_from_where_it_is_held(drive: dict[str, Any], start: float, end: float) -> None:
    """10 ppm/K, 2 K: a screw moves the nut by its growth between its bearing and the nut."""
    loop = table(drive, {}, {})
    for position, expected in ((0.0, start), (400.0, end)):
        assert shown(loop, (7.0, 30.0, 5.0), ("base", "table"), X=position)[0] == pytest.approx(
            expected, abs=1e-9
        )


def test_a_screw_without_a_material_grows_like_its_base() -> None:
    """Base and screw of 10 ppm/K under a table of 20: the table's point grows from the nut, twice as much as
    the base.
    """
    loop = table({}, {"material": "twenty"}, {"material": "ten"})
    # 300 mm right of the nut the table has grown by 12 µm from it, and the base under it by 6 µm
    found = shown(loop, (350.0, 30.0, 0.0), ("base", "table"), X=400.0)
    assert found == pytest.approx([12 - 6, 0, 0], abs=1e-9)


def test_a_rotary_table_grows_from_its_own_pads() -> None:
    """A warm table whose worm is off the machine's origin does not turn by growing, at any angle."""
    centre = np.array([200.0, 100.0, 0.0])
    feet = [(*(centre[:2] + 80 * np.array([np.cos(t), np.sin(t)])), 0.0) for t in (0.0, 2.1, 4.2)]
    contacts = seats(
        *((foot, "+Z") for foot in feet), ((200.0, 100.0, 10.0), "+X"), ((200.0, 100.0, 10.0), "+Y")
    )
    joint = {
        "kind": "rotary", "parent": "base", "child": "table", "about": "+Z", "at": tuple(centre),
        "travel": (-3.0, 3.0), "contacts": contacts, "drive": {"kind": "worm", "at": (260.0, 100.0, 10.0)},
    }  # fmt: skip
    loop = loop_of(bodies={"base": {}, "table": {"material": "ten"}}, joints={"C": joint}, heat=WARM)
    turn = Indication(between=("base", "table"), component="C")
    for angle in (0.0, 1.0, -2.5):
        poses = {"C": np.array([angle])}
        assert loop.rows(turn, poses).mean[0, 0] == pytest.approx(0, abs=1e-15)
        assert shown(loop, (260.0, 100.0, 30.0), ("base", "table"), C=angle) == pytest.approx(
            [1.2 * np.cos(angle), 1.2 * np.sin(angle), 0.6], abs=1e-6
        )


def test_declared_axes_are_held_at_the_place_of_their_errors() -> None:
    """A slide without contacts grows from its 'errors_at': 100 mm to the right of it, 10 ppm x 2 K x 100 mm =
    2 µm.
    """
    joint = {
        "kind": "linear", "parent": "base", "child": "table", "along": "+X", "travel": (0.0, 400.0),
        "errors_at": (50.0, 0.0, 0.0), "errors": {"EYX": {"limits": "±1 µm"}},
    }  # fmt: skip
    loop = loop_of(bodies={"base": {}, "table": {"material": "ten"}}, joints={"X": joint}, heat=WARM)
    for position in (0.0, 300.0):
        assert shown(loop, (150.0, 0.0, 0.0), ("base", "table"), X=position) == pytest.approx(
            [2, 0, 0], abs=1e-9
        )


def test_what_has_no_material_is_named() -> None:
    """Bodies without a material do not grow, and the loop says which they are once any heat is stated."""
    loop = nested({}, {"material": "ten"}, heat=WARM)
    assert loop.growth.left_out == ("base",)
    assert nested({}, {}).growth.left_out == ()


def test_coefficients_come_from_the_build_before_the_handbook() -> None:
    """A material of the build's own with the name of a handbook one wins."""
    build = nested({}, {}, materials={"steel": {"expansion": 9e-6, "expansion_std": 1e-7}}).build
    assert expansion(build, "steel") == (9e-6, 1e-7)
    assert expansion(nested({}, {}).build, "steel")[0] == pytest.approx(11.5e-6, abs=0.5e-6)


def test_at_the_reference_temperature_nothing_grows() -> None:
    """At 20 °C known exactly there is no source of heat at all."""
    loop = nested({"material": "ten"}, {"material": "twenty"})
    assert loop.sources == ()
