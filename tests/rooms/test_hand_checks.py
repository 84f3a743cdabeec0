"""Hand checks of the loop and the budget: small machines whose answer is worked out on paper beside them."""

from math import radians, sqrt
from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.misfit import misfits
from loopwright.asbuilt.prior import prior_of
from loopwright.asbuilt.worst_case import worst_case
from loopwright.loop import Loop, compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.loop.exactness import exactness
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Shape, Spread

UM, UR = 1e-3, 1e-6
ARCSEC = radians(1 / 3600)


def loop_of(**fields: Any) -> Loop:
    """The loop of a build without gravity, from its fields."""
    return compile_loop(Build.model_validate({"name": "hand check", "down": None, **fields}))


def slide(along: str, errors: dict[str, Any], parent: str = "base", child: str = "slide") -> dict[str, Any]:
    """A linear axis by its letters, stated at the machine's origin."""
    stated = {
        name: {"value": v, "varies": "constant"} if isinstance(v, float) else v for name, v in errors.items()
    }
    return {
        "kind": "linear", "parent": parent, "child": child, "along": along, "travel": (0.0, 500.0),
        "errors_at": (0.0, 0.0, 0.0), "errors": stated,
    }  # fmt: skip


def both(loop: Loop, asked: Indication, **poses: float) -> tuple[np.ndarray, np.ndarray]:
    """Bias at one pose by the rows, and by exact motion of the expected machine."""
    at = {letter: np.array([position]) for letter, position in poses.items()}
    return loop.rows(asked, at).mean[0], exact_indication(loop, asked, at, loop.mean[None])[0]


def test_abbe_arm_of_100_mm_and_pitch_of_10_arcsec() -> None:
    """A tool 100 mm above the guide that pitches by 10 arcsec is off by 100 x 10 x 4.848 µrad = 4.848 µm."""
    loop = loop_of(bodies={"base": {}, "slide": {}}, joints={"X": slide("+X", {"EBX": 10 * ARCSEC})})
    asked = Indication(between=("base", "slide"), point=(0.0, 0.0, 100.0), component="X")
    linear, exact = both(loop, asked, X=200.0)
    assert linear[0] == pytest.approx(4.848137 * UM, abs=5e-10)
    assert exact[0] == pytest.approx(4.848137 * UM, abs=5e-10)
    on_the_guide = asked.model_copy(update={"point": (0.0, 0.0, 0.0)})
    assert both(loop, on_the_guide, X=200.0)[0][0] == 0.0


def test_cosine_error_is_seen_by_exact_motion_only() -> None:
    """A bar of 1000 mm leaning by 1 mrad is 0.49999996 µm short: L (1 - cos a); to first order it is not
    short at all.
    """
    loop = loop_of(bodies={"base": {}, "slide": {}}, joints={"X": slide("+X", {"EBX": 1e-3})})
    asked = Indication(between=("base", "slide"), point=(1000.0, 0.0, 0.0), component="X")
    linear, exact = both(loop, asked, X=0.0)
    assert linear[0] == 0.0
    assert exact[0] == pytest.approx(-0.49999996 * UM, abs=5e-12)


def test_a_steel_screw_of_half_a_metre() -> None:
    """A steel screw of 0.5 m, 1 K warmer, sets the nut off by 500 mm x 11.6 ppm = 5.8 µm at the far end."""
    contacts = {
        name: {"at": at, "normal": normal}
        for name, at, normal in [
            ("a", (0, 0, 0), "+Z"), ("b", (100, 0, 0), "+Z"), ("c", (50, 80, 0), "+Z"),
            ("d", (0, 0, 0), "+Y"), ("e", (100, 0, 0), "+Y"),
        ]
    }  # fmt: skip
    screw = {
        "kind": "ball screw", "at": (40.0, 30.0, 0.0), "fixed_at": (40.0, 30.0, 0.0),
        "material": "screw steel", "above_room": Spread(value=1.0),
    }  # fmt: skip
    joint = {"kind": "linear", "parent": "base", "child": "table", "along": "+X", "travel": (0.0, 500.0)}
    loop = loop_of(
        materials={"screw steel": {"expansion": 11.6e-6}},
        bodies={"base": {}, "table": {}},
        joints={"X": {**joint, "contacts": contacts, "drive": screw}},
    )
    asked = Indication(between=("base", "table"), point=(7.0, 5.0, 9.0), component="XYZ")
    for found in both(loop, asked, X=500.0):
        assert found == pytest.approx([5.8 * UM, 0, 0], abs=1e-6)
    assert both(loop, asked, X=250.0)[0][0] == pytest.approx(2.9 * UM, abs=1e-9)


def chain() -> Loop:
    """Bed, X, Y, Z one on the other; each error motion a known constant, squareness likewise."""

    def axis(
        along: str, parent: str, d: tuple[float, ...], e: tuple[float, ...], **square: float
    ) -> dict[str, Any]:
        letter = along[1]
        errors = {f"E{name}{letter}": v * UM for name, v in zip("XYZ", d)}
        errors |= {f"E{name}{letter}": v * UR for name, v in zip("ABC", e)}
        errors |= {name: v * UR for name, v in square.items()}
        return slide(along, errors, parent, letter.lower())

    return loop_of(
        bodies={name: {} for name in ("bed", "x", "y", "z")},
        joints={
            "X": axis("+X", "bed", (3, -2, 1.5), (4, -6, 5)),
            "Y": axis("+Y", "x", (-1, 2.5, 0.5), (-3, 2, 7), C0Y=12.0),
            "Z": axis("+Z", "y", (0.8, -0.6, -1.2), (2, -4, 3), B0Z=-8.0, A0Z=10.0),
        },
    )


def by_matrices() -> np.ndarray:
    """The same chain by 4 x 4 matrices, turned by C, B, A; squareness as the slope of each line of motion."""

    def frame(place: list[float], angles: list[float]) -> np.ndarray:
        a, b, c = (np.array(angles) * UR).tolist()
        x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
        y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
        z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
        out = np.eye(4)
        out[:3, :3], out[:3, 3] = z @ y @ x, place
        return out

    x = frame([400 + 3 * UM, -2 * UM, 1.5 * UM], [4, -6, 5])
    y = frame([-1 * UM - 12 * UR * 300, 300 + 2.5 * UM, 0.5 * UM], [-3, 2, 7])
    z = frame([0.8 * UM - 8 * UR * 200, -0.6 * UM - 10 * UR * 200, 200 - 1.2 * UM], [2, -4, 3])
    return (x @ y @ z @ [0, 50, -150, 1])[:3] - [400, 350, 50]


def test_chain_of_three_axes() -> None:
    """Constructed: at X 400, Y 300, Z 200 the tool is off by (-4.25, -1.85, 2.15) µm; exactly by less than
    0.1 nm more.

    Form of the sum: G. Zhang et al., CIRP Annals 34 (1985) 445; H. Schwenke et al., CIRP Annals 57 (2008)
    660. With
    y = 300, z = 200, tool (0, 50, -150) and levers counted from each carriage:
    dX = 3 - 1 + 0.8 - C0Y y + B0Z z + EBX (z - 150) - ECX (y + 50) + EBY (z - 150) - ECY 50 - EBZ 150 - ECZ
    50
       = 2.8 - 3.6 - 1.6 - 0.3 - 1.75 + 0.1 - 0.35 + 0.6 - 0.15 = -4.25 µm.
    """
    asked = Indication(between=("bed", "z"), point=(0.0, 50.0, -150.0), component="XYZ")
    linear, exact = both(chain(), asked, X=400.0, Y=300.0, Z=200.0)
    assert linear / UM == pytest.approx([-4.25, -1.85, 2.15], abs=1e-9)
    assert exact / UM == pytest.approx([-4.249993, -1.850037, 2.149978], abs=2e-6)
    assert by_matrices() / UM == pytest.approx([-4.249993, -1.850037, 2.149978], abs=1e-6)
    assert np.abs(exact - linear).max() / UM < 1e-4


@pytest.mark.parametrize(
    ("square", "along", "moved"),
    [
        ("C0Y", "+Y", (-100, 0, 0)), ("A0Y", "+Y", (0, 0, 100)), ("A0Z", "+Z", (0, -100, 0)),
        ("B0Z", "+Z", (100, 0, 0)), ("B0X", "+X", (0, 0, -100)), ("C0X", "+X", (0, 100, 0)),
    ],
)  # fmt: skip
def test_signs_of_squareness(square: str, along: str, moved: tuple[float, ...]) -> None:
    """ISO 230-1: a positive squareness turns the line of motion right-handed; C0Y takes +Y towards -X,
    without a turn.
    """
    loop = loop_of(bodies={"base": {}, "slide": {}}, joints={"axis": slide(along, {square: 1e-6})})
    for point in ((0.0, 0.0, 0.0), (50.0, -70.0, 90.0)):
        asked = Indication(between=("base", "slide"), point=point, component="XYZ")
        for found in both(loop, asked, **{along[1]: 100.0}):
            assert found == pytest.approx(np.array(moved) * 1e-6, abs=1e-12)
    turn = Indication(between=("base", "slide"), component=square[0])
    assert both(loop, turn, **{along[1]: 100.0})[0][0] == 0.0


@pytest.mark.parametrize(
    ("letter", "point", "moved"),
    [
        ("EAX", (0, 0, 100), (0, -100, 0)), ("EBX", (0, 0, 100), (100, 0, 0)),
        ("EBX", (100, 0, 0), (0, 0, -100)), ("ECX", (0, 100, 0), (-100, 0, 0)),
        ("ECX", (100, 0, 0), (0, 100, 0)), ("EZX", (5, 6, 7), (0, 0, 1)),
    ],
)  # fmt: skip
def test_signs_of_error_motions(letter: str, point: tuple[float, ...], moved: tuple[float, ...]) -> None:
    """ISO 230-1 and the right hand: EAX lifts +Y towards +Z, EBX takes +Z towards +X, ECX takes +X towards
    +Y.
    """
    loop = loop_of(bodies={"base": {}, "slide": {}}, joints={"X": slide("+X", {letter: 1e-6})})
    asked = Indication(between=("base", "slide"), point=point, component="XYZ")
    assert both(loop, asked, X=0.0)[0] == pytest.approx(np.array(moved) * 1e-6, abs=1e-15)


def test_components_of_3_4_and_12() -> None:
    """Limits of 3, 4 and 12 µm in one direction: 19 µm at worst, sqrt(9 + 16 + 144) = 13 µm as independent
    ones.

    Combination rules: R. R. Donaldson, Error Budgets (1980), from memory. As standard deviations they make 13
    µm; as
    rectangular limits 13 / sqrt 3.
    """

    def loop(kind: str) -> Loop:
        sizes = zip(("EXX", "EXY", "EXZ"), (3.0, 4.0, 12.0))
        stated = {
            name: {"varies": "constant", **({"std": v * UM} if kind == "std" else {"limits": f"±{v} µm"})}
            for name, v in sizes
        }
        bodies = {"base": {}, "x": {}, "y": {}, "z": {}}
        return loop_of(
            bodies=bodies,
            joints={
                "X": slide("+X", {"EXX": stated["EXX"]}, "base", "x"),
                "Y": slide("+Y", {"EXY": stated["EXY"]}, "x", "y"),
                "Z": slide("+Z", {"EXZ": stated["EXZ"]}, "y", "z"),
            },
        )

    asked = Indication(between=("base", "z"), component="X")
    limited, std = loop("limits"), loop("std")
    rows, prior = limited.rows(asked, {}), prior_of(limited.sources, Shape.RECTANGULAR)
    assert worst_case(rows, prior).size == pytest.approx(19 * UM, rel=1e-12)
    assert budget(rows, prior).std[0, 0] == pytest.approx(13 / sqrt(3) * UM, rel=1e-12)
    rows, prior = std.rows(asked, {}), prior_of(std.sources, Shape.RECTANGULAR)
    assert budget(rows, prior).std[0, 0] == pytest.approx(13 * UM, rel=1e-12)
    assert worst_case(rows, prior).size == pytest.approx(3 * 19 * UM, rel=1e-12)


@pytest.mark.parametrize(
    ("spread", "std"),
    [
        (Spread(lower=-1, upper=1, shape=Shape.RECTANGULAR), 1 / sqrt(3)),
        (Spread(lower=-1, upper=1, shape=Shape.TRIANGULAR), 1 / sqrt(6)),
        (Spread(lower=-1, upper=1, shape=Shape.ARCSINE), 1 / sqrt(2)),
        (Spread(lower=-1, upper=1, shape=Shape.TRAPEZOIDAL, top=0.4), sqrt((1 + 0.16) / 6)),
        (Spread(lower=-1, upper=1, shape=Shape.TRAPEZOIDAL), sqrt((1 + 0.25) / 6)),
        (Spread(lower=-1, upper=1, shape=Shape.NORMAL), 1 / 2),
        (Spread(lower=-1, upper=1, shape=Shape.NORMAL, multiple=3), 1 / 3),
        (Spread(lower=0, upper=2), 1 / sqrt(3)),
        (Spread(value=5, std=0.25), 0.25),
        (Spread(value=5), 0.0),
    ],
)
def test_standard_uncertainty_of_each_shape(spread: Spread, std: float) -> None:
    """A / sqrt 3, a / sqrt 6, a / sqrt 2, a sqrt((1 + b^2) / 6): JCGM 100, 4.3.7 and 4.3.9, and JCGM 101,
    6.4.
    """
    assert standard_uncertainty(spread) == pytest.approx(std, rel=1e-12)


def plane(heights: dict[tuple[float, float], float], **more: Any) -> Loop:
    """A table on pads of equal stiffness at places in the plane, each of known height; held sideways too."""
    contacts: dict[str, Any] = {
        f"pad {i}": {"at": (*place, 0.0), "normal": "+Z", "deviation": Spread(value=h), "stiffness": 1e5}
        for i, (place, h) in enumerate(heights.items())
    }
    for name, at, normal in (
        ("side 1", (0, 0, 0), "+Y"), ("side 2", (300, 0, 0), "+Y"), ("stop", (0, 0, 0), "+X"),
    ):  # fmt: skip
        contacts[name] = {"at": at, "normal": normal, "stiffness": 1e5}
    joint = {"kind": "fixed", "parent": "base", "child": "table", "contacts": contacts}
    return loop_of(bodies={"base": {}, "table": {}}, joints={"table on base": joint}, **more)


def test_two_rails_of_unequal_height() -> None:
    """Rails 300 mm apart and 12 µm out of level roll the table by 12 / 300 = 40 µrad: 6 µm sideways 150 mm
    above.
    """
    loop = plane({(0, 0): 0.0, (0, 400): 0.0, (300, 0): 12 * UM, (300, 400): 12 * UM})
    tilt = Indication(between=("base", "table"), component="B")
    at_tool = Indication(between=("base", "table"), point=(0.0, 200.0, 150.0), component="XYZ")
    assert both(loop, tilt)[0] == pytest.approx([-40e-6], rel=1e-9)
    for found in both(loop, at_tool):
        assert found == pytest.approx([-6 * UM, 0, 0], abs=1e-6)


def test_twist_of_four_pads() -> None:
    """Heights 0, 10, 6, 24 µm: twist (0 - 10 - 6 + 24) / 4 = 2 µm; misfits +2, -2, -2, +2 µm, and the plane
    through them.
    """
    heights = [0.0, 10 * UM, 6 * UM, 24 * UM]
    loop = plane(dict(zip([(0, 0), (300, 0), (0, 200), (300, 200)], heights)))
    model = loop.joints["table on base"]
    left = (model.at(np.zeros(1)).misfit @ loop.mean[model.places])[0]
    assert left[:4] / UM == pytest.approx([2, -2, -2, 2], abs=1e-9)
    assert left[4:] == pytest.approx(0, abs=1e-12)
    centre = Indication(between=("base", "table"), point=(150.0, 100.0, 0.0), component="Z")
    assert both(loop, centre)[0][0] == pytest.approx(10 * UM, rel=1e-9)  # mean of the four


def test_four_pads_one_of_them_high() -> None:
    """One of four pads 10 µm high lifts the centre by 2.5 µm, strains every pad by 2.5 µm, and 10 µm of float
    frees it.
    """
    loop = plane({(0, 0): 10 * UM, (300, 0): 0.0, (0, 200): 0.0, (300, 200): 0.0})
    centre = Indication(between=("base", "table"), point=(150.0, 100.0, 0.0), component="Z")
    assert both(loop, centre)[0][0] == pytest.approx(2.5 * UM, rel=1e-9)
    (joint,) = misfits(loop, prior_of(loop.sources, Shape.RECTANGULAR))
    assert (joint.contacts, joint.spare) == (7, 1)
    pads = {c.contact: c for c in joint.worst if c.contact.startswith("pad")}
    for pad in pads.values():
        assert pad.misfit == pytest.approx(2.5 * UM, rel=1e-9)
        assert pad.force == pytest.approx(250, rel=1e-9)  # 2.5 µm x 100 N/µm
        assert pad.clearance == pytest.approx(10 * UM, rel=1e-9)
    # the high pad and the one across from it press, the two others are pulled off
    assert [pads[f"pad {i}"].lifts for i in range(4)] == [0, 1, 1, 0]


def test_bores_made_together() -> None:
    """Two bores at ±20 µm made together: their difference keeps only the own part, sqrt 2 of it."""
    own, shared = 3 * UM, 20 * UM
    brackets = {f"bracket {i}": {"dims": {"height": "60 mm ±0.02 mm"}} for i in (1, 2)}
    together = {"dims": ["bracket 1/height", "bracket 2/height"], "shared": "±0.02 mm", "own": "±0.003 mm"}
    joints = {}
    for i in (1, 2):
        contacts = {
            name: {"at": at, "normal": normal, "dims": [f"+bracket {i}/height"] if normal == "+Z" else []}
            for name, at, normal in [
                ("a", (0, 0, 0), "+Z"), ("b", (90, 0, 0), "+Z"), ("c", (0, 90, 0), "+Z"),
                ("d", (0, 0, 0), "+Y"), ("e", (90, 0, 0), "+Y"), ("f", (0, 0, 0), "+X"),
            ]
        }  # fmt: skip
        joints[f"seat {i}"] = {
            "kind": "fixed",
            "parent": "base",
            "child": f"bearing {i}",
            "contacts": contacts,
        }
    bodies: dict[str, Any] = {"base": {}, "bearing 1": {}, "bearing 2": {}}
    loop = loop_of(parts=brackets, made_together={"one setup": together}, bodies=bodies, joints=joints)
    prior = prior_of(loop.sources, Shape.RECTANGULAR)
    apart = Indication(between=("bearing 1", "bearing 2"), component="Z")
    alone = Indication(between=("base", "bearing 2"), component="Z")
    assert budget(loop.rows(apart, {}), prior).std[0, 0] == pytest.approx(sqrt(2) * own / sqrt(3), rel=1e-9)
    expected = sqrt((shared**2 + own**2) / 3)
    assert budget(loop.rows(alone, {}), prior).std[0, 0] == pytest.approx(expected, rel=1e-9)
    assert worst_case(loop.rows(apart, {}), prior).size == pytest.approx(2 * own, rel=1e-9)


@pytest.mark.parametrize("how", ["none", "mean", "line", {"at": {"X": 100.0}}])
def test_the_exactness_of_a_sine_is_known(how: Any) -> None:
    """A slide that yaws by 0.1 rad per limit, 1000 mm away: linear and exact part by 1000 (a - sin a)."""
    loop = loop_of(
        bodies={"base": {}, "slide": {}},
        joints={
            "X": slide(
                "+X", {"ECX": {"limits": "±0.1 rad", "varies": "constant"}, "EXX": {"limits": "±1 µm"}}
            )
        },
    )
    over = {"X": (0.0, 500.0)}
    asked = Indication(
        between=("base", "slide"), point=(1000.0, 0.0, 0.0), component="Y", over=over, zeroed=how
    )
    rows, prior = loop.rows(asked), prior_of(loop.sources, Shape.RECTANGULAR)
    worst = budget(rows, prior).worst
    found = exactness(loop, asked, rows, worst, prior.farthest, prior.std)
    # a constant yaw is zeroed away whole, exactly as well as to first order
    expected = 1000 * (0.1 - np.sin(0.1)) if how == "none" else 0.0
    assert found[2] == pytest.approx(expected, rel=1e-3, abs=1e-9)
