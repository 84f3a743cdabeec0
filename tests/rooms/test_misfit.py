"""Over-constraint: what must give, what would free it, and which contact lifts, against numbers by hand."""

from math import erfc, sqrt
from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.misfit import ContactMisfit, misfits
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import compile_loop
from loopwright.model.build import Build
from loopwright.model.spread import Shape, Spread

UM = 1e-3
CORNERS = {"FL": (0.0, 200.0), "FR": (300.0, 200.0), "RL": (0.0, 0.0), "RR": (300.0, 0.0)}
STIFFNESS = 1e5
GRAVITY = 9.80665


def table(
    deviation: dict[str, Spread],
    mass: float = 0.0,
    preload: float = 0.0,
    centre: tuple[float, ...] = (150, 100, 50),
) -> dict[str, ContactMisfit]:
    """A table on four pads of 100 N/µm, with two side pads and a stop; what each contact has to bear."""
    contacts: dict[str, Any] = {
        name: {
            "at": (*at, 0.0), "normal": "+Z", "stiffness": STIFFNESS, "preload": preload,
            "deviation": deviation.get(name, Spread()),
        }
        for name, at in CORNERS.items()
    }  # fmt: skip
    for name, at, normal in (
        ("side 1", (0, 0, 0), "+Y"), ("side 2", (300, 0, 0), "+Y"), ("stop", (0, 0, 0), "+X"),
    ):  # fmt: skip
        contacts[name] = {"at": at, "normal": normal, "stiffness": STIFFNESS}
    body = {"mass": mass, "centre_of_mass": centre} if mass else {}
    build = Build.model_validate(
        {
            "name": "four pads",
            "bodies": {"base": {}, "table": body},
            "joints": {"seat": {"kind": "fixed", "parent": "base", "child": "table", "contacts": contacts}},
        }
    )
    loop = compile_loop(build)
    (joint,) = misfits(loop, prior_of(loop.sources, Shape.RECTANGULAR))
    assert joint.joint == "seat"
    assert (joint.contacts, joint.spare) == (7, 1)
    assert [c.force for c in joint.worst] == sorted((c.force for c in joint.worst), reverse=True)
    return {c.contact: c for c in joint.worst}


def test_one_pad_10_um_high_asks_for_10_um_of_float() -> None:
    """The float that frees a pad is its gap to the plane of the other three: all of the 10 µm."""
    found = table({"FL": Spread(value=10 * UM)})
    assert found["FL"].misfit == pytest.approx(2.5 * UM, rel=1e-9)
    assert found["FL"].clearance == pytest.approx(10 * UM, rel=1e-9)


def test_four_pads_with_a_spread_each() -> None:
    """Four independent pads of std u: twist has std u / 2, misfit of each pad u / 2, and float 1.96 x 2 u at
    95 %.
    """
    u = 4 * UM
    found = table({name: Spread(std=u) for name in CORNERS})
    for name in CORNERS:
        assert found[name].misfit == pytest.approx(u / 2, rel=1e-9)
        assert found[name].force == pytest.approx(u / 2 * STIFFNESS, rel=1e-9)
        assert found[name].clearance == pytest.approx(1.959964 * 2 * u, rel=1e-6)


def test_contacts_that_are_not_redundant_have_no_clearance() -> None:
    """Side pads and stop locate on their own: no float is possible, and nothing strains or presses them."""
    found = table({name: Spread(std=4 * UM) for name in CORNERS})
    for name in ("side 1", "side 2", "stop"):
        assert found[name].clearance is None
        assert (found[name].misfit, found[name].force, found[name].pressed) == (0, 0, 0)
        assert found[name].lifts is None


@pytest.mark.parametrize("side", ["side 1", "side 2", "stop"])
def test_weight_does_not_lift_a_side_pad(side: str) -> None:
    """A weight straight down presses no side pad and pulls none off, however unevenly it stands."""
    found = table({"FL": Spread(value=10 * UM)}, mass=37.0, centre=(81.0, 33.0, 17.0))
    assert found[side].pressed == 0
    assert found[side].lifts is None


def test_weight_is_shared_by_the_pads() -> None:
    """40 kg over the middle press each of four equal pads with 98 N."""
    for name, contact in table({}, mass=40.0).items():
        if name in CORNERS:
            assert contact.pressed == pytest.approx(40 * GRAVITY / 4, rel=1e-9)
            assert contact.lifts == 0


def test_weight_off_the_middle() -> None:
    """40 kg above one edge stand on the two pads of that edge alone."""
    found = table({}, mass=40.0, centre=(0.0, 100.0, 50.0))
    for name, share in (("FL", 0.5), ("RL", 0.5), ("FR", 0.0), ("RR", 0.0)):
        assert found[name].pressed == pytest.approx(share * 40 * GRAVITY, abs=1e-6)


@pytest.mark.parametrize("margin", [0.001, 1.0, 1.644854, 3.0])
def test_chance_of_lifting(margin: float) -> None:
    """A pad pressed by z standard deviations of its misfit force lifts with the chance of the normal tail
    below -z.
    """
    u = 4 * UM
    scatter = u / 2 * STIFFNESS
    found = table({name: Spread(std=u) for name in CORNERS}, preload=margin * scatter)
    for name in CORNERS:
        assert found[name].pressed == pytest.approx(margin * scatter, rel=1e-9)
        assert found[name].lifts == pytest.approx(0.5 * erfc(margin / sqrt(2)), rel=1e-6)


def test_a_known_misfit_lifts_two_pads_for_certain() -> None:
    """One pad 10 µm high and no weight: its neighbours are pulled off, it and the one across are pressed by
    250 N.
    """
    found = table({"FL": Spread(value=10 * UM)})
    assert {name: found[name].lifts for name in CORNERS} == {"FL": 0, "RR": 0, "FR": 1, "RL": 1}
    assert found["FL"].pressed == pytest.approx(250, rel=1e-9)
    assert found["FR"].pressed == pytest.approx(-250, rel=1e-9)
    enough = table({"FL": Spread(value=10 * UM)}, preload=300)
    assert max(c.lifts for name, c in enough.items() if name in CORNERS) == 0


def test_the_most_strained_joint_comes_first() -> None:
    """Of two strained joints, the one with the larger force is named first; one with six contacts is not
    named.
    """

    def joint(child: str, parent: str, spread: float, feet: int) -> dict[str, Any]:
        places = [(0, 0), (300, 0), (0, 200), (300, 200)][:feet]
        pads = {
            f"p{i}": {"at": (*at, 0.0), "normal": "+Z", "deviation": Spread(std=spread)}
            for i, at in enumerate(places)
        }
        sides = {"a": ((0, 0, 0), "+Y"), "b": ((300, 0, 0), "+Y"), "c": ((0, 0, 0), "+X")}
        contacts = pads | {name: {"at": at, "normal": n} for name, (at, n) in sides.items()}
        return {"kind": "fixed", "parent": parent, "child": child, "contacts": contacts}

    build = Build.model_validate(
        {
            "name": "three",
            "bodies": {name: {} for name in "base one two three".split()},
            "joints": {
                "calm": joint("one", "base", 1 * UM, 4),
                "strained": joint("two", "one", 9 * UM, 4),
                "sound": joint("three", "two", 99 * UM, 3),
            },
        }
    )
    loop = compile_loop(build)
    assert [j.joint for j in misfits(loop, prior_of(loop.sources, Shape.RECTANGULAR))] == ["strained", "calm"]


def test_the_worst_place_along_the_travel_is_taken() -> None:
    """Rails whose slopes differ strain the blocks in proportion to the distance from the middle; the end is
    reported.
    """
    slope, travel = 1e-5, 400.0
    blocks = {
        f"{rail}{i}": {"rail": rail, "at": (100.0 * i, y, 0.0), "height": {"stiffness": STIFFNESS}}
        for rail, y in (("left", 0.0), ("right", 150.0))
        for i in (0, 1)
    }
    build = Build.model_validate(
        {
            "name": "rails",
            "bodies": {"base": {}, "table": {}},
            "joints": {
                "X": {
                    "kind": "linear", "parent": "base", "child": "table", "along": "+X",
                    "travel": (0.0, travel),
                    "guide": {
                        "normal": "+Z", "blocks": blocks,
                        "rails": {"left": {"height": {"slope": Spread(value=slope)}}, "right": {}},
                    },
                    "drive": {"kind": "belt", "at": (50.0, 75.0, 0.0)},
                }
            },
        }
    )  # fmt: skip
    loop = compile_loop(build)
    (joint,) = misfits(loop, prior_of(loop.sources, Shape.RECTANGULAR))
    # the four blocks are off a plane by their twist: slope x 100 mm / 4 each, everywhere
    heights = [c for c in joint.worst if c.contact.endswith("height")]
    assert [c.misfit for c in heights] == pytest.approx([slope * 100 / 4] * 4, rel=1e-9)
    assert joint.spare == len(joint.worst) - 6 == 3
    assert np.isfinite([c.clearance or 0.0 for c in joint.worst]).all()
