"""Profiles of rails and error motions: do as many stay in their band as is stated, and is the best line
taken out?
"""

from typing import Any

import numpy as np
import pytest

from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.handbook.screws import lead_error
from loopwright.loop import Loop, compile_loop
from loopwright.loop.basis import Basis, beam_shapes, shapes, sizes_for_band, sizes_for_std, wave_numbers
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Spread

UM = 1e-3
TRIALS = 6000


def drawn(loop: Loop, prior: Prior, asked: Indication, poses: dict[str, np.ndarray]) -> np.ndarray:
    """What an indication shows over poses in many trials, (trials, poses); every source here is normal."""
    draws = np.random.Generator(np.random.SFC64(11)).standard_normal((TRIALS, len(prior.std)))
    rows = loop.rows(asked, poses)
    return draws * prior.std @ rows.matrix[:, 0, :].T + rows.mean[:, 0]


def declared(letter: str, motion: dict[str, Any], confidence: float = 0.95) -> tuple[Loop, Prior]:
    """A slide X of 0 to 400 mm, or a table C of one turn, with one declared error motion."""
    axis = {
        "X": {"kind": "linear", "along": "+X", "travel": (0.0, 400.0)},
        "C": {"kind": "rotary", "about": "+Z", "at": (0.0, 0.0, 0.0), "travel": (0.0, 6.3)},
    }[letter[-1]]
    joint = {"parent": "base", "child": "slide", "errors_at": (0.0, 0.0, 0.0), "errors": {letter: motion}}
    build = Build.model_validate(
        {
            "name": "profile", "confidence": confidence, "bodies": {"base": {}, "slide": {}},
            "joints": {"axis": axis | joint},
        }
    )  # fmt: skip
    loop = compile_loop(build)
    return loop, prior_of(loop.sources, build.assume)


X = {"X": np.linspace(0, 400, 401)}
C = {"C": np.linspace(0, 2 * np.pi, 361)}


@pytest.mark.parametrize("confidence", [0.8, 0.95])
@pytest.mark.parametrize(
    ("letter", "component", "poses"),
    [("EYX", "Y", X), ("EXX", "X", X), ("ECX", "C", X), ("EZC", "Z", C), ("EXC", "X", C)],
)
def test_as_many_stay_in_the_band_as_stated(
    letter: str, component: str, poses: dict[str, np.ndarray], confidence: float
) -> None:
    """Of the profiles of an error motion within ±5 the stated share stays within 10 from peak to valley."""
    loop, prior = declared(letter, {"lower": -5e-3, "upper": 5e-3}, confidence)
    asked = Indication(between=("base", "slide"), component=component)
    width = np.ptp(drawn(loop, prior, asked, poses), axis=1)
    # sampling of 6000 trials 0.4 %, of the stated size another 1 % of the width
    assert np.mean(width <= 10e-3) == pytest.approx(confidence, abs=0.025)


@pytest.mark.parametrize("modes", [1, 3, 12])
def test_any_number_of_shapes_keeps_the_band(modes: int) -> None:
    """One shape, three or twelve: the share within the band is the stated one."""
    loop, prior = declared("EYX", {"lower": -5e-3, "upper": 5e-3, "modes": modes})
    asked = Indication(between=("base", "slide"), component="Y")
    width = np.ptp(drawn(loop, prior, asked, X), axis=1)
    assert len(loop.sources) == modes
    assert np.mean(width <= 10e-3) == pytest.approx(0.95, abs=0.015)


def test_a_standard_deviation_is_the_root_mean_square_along_the_travel() -> None:
    """An error motion of std 3 µm has that root mean square over trials and travel."""
    loop, prior = declared("EYX", {"std": 3e-3})
    asked = Indication(between=("base", "slide"), component="Y")
    middles = {"X": np.linspace(0, 400, 801)[1::2]}
    found = drawn(loop, prior, asked, middles)
    assert np.sqrt((found**2).mean()) == pytest.approx(3e-3, rel=0.02)
    assert np.sum(np.square(sizes_for_std(Basis.STRAIGHT, 4, 3e-3))) == pytest.approx(9e-6)


def test_straightness_is_about_its_best_line() -> None:
    """EYX has neither offset nor slope of its own, EXX has a slope and no offset."""
    asked = Indication(between=("base", "slide"), component="Y")
    place = np.linspace(0, 400, 801)[1::2]
    for letter, slopes in (("EYX", False), ("EXX", True)):
        loop, prior = declared(letter, {"lower": -5e-3, "upper": 5e-3})
        found = drawn(loop, prior, asked.model_copy(update={"component": letter[1]}), {"X": place})
        size = np.abs(found).max()
        assert np.abs(found.mean(axis=1)).max() < 1e-4 * size
        slope = np.abs(found @ (place - place.mean())).max() / np.abs(place - place.mean()).sum()
        assert bool(slope > 0.1 * size) is slopes
        assert slopes or slope < 1e-4 * size


def test_the_centred_part_of_a_table_has_no_once_per_turn() -> None:
    """Radial error motion of a table is told after centring: nothing once per turn is left in it; axial keeps
    it.
    """
    angle = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    for letter, kept in (("EXC", False), ("EAC", False), ("EZC", True), ("ECC", True)):
        loop, prior = declared(letter, {"lower": -5e-3, "upper": 5e-3})
        found = drawn(loop, prior, Indication(between=("base", "slide"), component=letter[1]), {"C": angle})
        once = np.hypot(found @ np.cos(angle), found @ np.sin(angle)).max()
        assert bool(once > 1e-6) is kept


def test_a_constant_error_motion_is_the_same_everywhere() -> None:
    """An error declared constant is one source within its limits, wherever the axis stands."""
    loop, prior = declared("EYX", {"lower": -5e-3, "upper": 5e-3, "varies": "constant"})
    rows = loop.rows(Indication(between=("base", "slide"), component="Y"), X)
    assert rows.matrix[:, 0, 0] == pytest.approx(np.ones(401))
    assert prior.farthest == pytest.approx([5e-3])


def test_a_table_of_values_is_followed() -> None:
    """Known values are joined by straight lines and stay level beyond; limits are counted from them."""
    motion = {"table": {0.0: 0.0, 100.0: 4e-3, 300.0: -2e-3}, "lower": -1e-3, "upper": 3e-3}
    loop, _ = declared("EYX", motion)
    asked = Indication(between=("base", "slide"), component="Y")
    rows = loop.rows(asked, {"X": np.array([0.0, 50.0, 100.0, 200.0, 300.0, 400.0])})
    assert rows.mean[:, 0] / UM == pytest.approx([1, 3, 5, 2, -1, -1])


def guide(rail: dict[str, Any], ends: tuple[float, float] | None = None) -> tuple[Loop, Prior]:
    """A slide on one long rail with height and side, its four blocks all on it but at two levels across."""
    blocks = {
        f"{name}{i}": {"rail": name, "at": (60.0 * i, y, 0.0)}
        for name, y in (("left", 0.0), ("right", 100.0))
        for i in (0, 1)
    }
    rails: dict[str, Any] = {"left": {"height": rail, "ends": ends}, "right": {}}
    build = Build.model_validate(
        {
            "name": "guide", "bodies": {"base": {}, "table": {}},
            "joints": {
                "X": {
                    "kind": "linear", "parent": "base", "child": "table", "along": "+X",
                    "travel": (0.0, 400.0), "guide": {"normal": "+Z", "rails": rails, "blocks": blocks},
                    "drive": {"kind": "belt", "at": (0.0, 50.0, 0.0)},
                }
            },
        }
    )  # fmt: skip
    loop = compile_loop(build)
    return loop, prior_of(loop.sources, build.assume)


def test_the_profile_of_a_rail_stays_in_its_band() -> None:
    """A rail straight to 8 µm: 95 % of its profiles stay within 8 µm from peak to valley over its whole
    length.
    """
    loop, prior = guide({"straightness": 8 * UM})
    model = loop.joints["X"]
    moves = np.linspace(0, 400, 401)
    first, second = (
        model.at(moves).deviations[:, model.contacts.names.index(f"left{i} height")] for i in (0, 1)
    )
    draws = np.random.Generator(np.random.SFC64(2)).standard_normal((TRIALS, len(prior.std))) * prior.std
    profiles = np.concatenate(
        [draws[:, model.places] @ side.T for side in (first[:341], second[281:])], axis=1
    )
    assert np.mean(np.ptp(profiles, axis=1) <= 8 * UM) == pytest.approx(0.95, abs=0.015)
    # the second block stands 60 mm further along the same rail
    assert second[:341] == pytest.approx(first[60:])


def test_a_slope_of_a_rail_turns_about_its_middle() -> None:
    """A rail from 0 to 460 mm that slopes by 100 µrad lifts a block at 230 by nothing and one at 460 by 23
    µm.
    """
    loop, _ = guide({"slope": Spread(value=1e-4)})
    model = loop.joints["X"]
    lift = (
        model.at(np.array([0.0, 170.0, 400.0])).deviations[:, model.contacts.names.index("left1 height"), 0]
        * 1e-4
    )
    assert lift / UM == pytest.approx([-17, 0, 23])


def test_a_rail_that_is_longer_than_its_use_bends_less_within_it() -> None:
    """The band holds over the stated length of the rail, so a table that uses a third of it sees less."""
    asked = Indication(between=("base", "table"), point=(30.0, 0.0, 0.0), component="Z")
    wide = []
    for ends in (None, (-460.0, 920.0)):
        loop, prior = guide({"straightness": 8 * UM}, ends)
        shown = drawn(loop, prior, asked, {"X": np.linspace(0, 400, 41)})
        line = np.stack([np.ones(41), np.linspace(-1, 1, 41)], axis=1)
        left = shown - shown @ line @ np.linalg.inv(line.T @ line) @ line.T
        wide.append(np.quantile(np.ptp(left, axis=1), 0.5))
    assert wide[1] < 0.6 * wide[0]


@pytest.mark.parametrize("grade", ["P3", "C5"])
def test_a_graded_screw_stays_in_its_band(grade: str) -> None:
    """The travel variation of a graded screw stays in the grade's band; its mean travel within the grade's
    limits.
    """
    joint = {
        "kind": "linear", "parent": "base", "child": "table", "along": "+X", "travel": (0.0, 400.0),
        "guide": {
            "normal": "+Z", "rails": {"l": {}, "r": {}},
            "blocks": {
                f"{r}{i}": {"rail": r, "at": (60.0 * i, y, 0.0)}
                for r, y in (("l", 0.0), ("r", 99.0))
                for i in (0, 1)
            },
        },
        "drive": {"kind": "ball screw", "at": (0.0, 50.0, 0.0), "lead_error": {"grade": grade}},
    }  # fmt: skip
    build = Build.model_validate(
        {"name": "screw", "bodies": {"base": {}, "table": {}}, "joints": {"X": joint}}
    )
    loop = compile_loop(build)
    prior = prior_of(loop.sources, build.assume)
    graded = lead_error(grade, 400.0)
    assert prior.farthest[0] == pytest.approx(graded.travel_deviation)
    place = np.linspace(0, 400, 201)
    rows = loop.rows(
        Indication(between=("base", "table"), point=(30.0, 50.0, 0.0), component="X"), {"X": place}
    )
    # at the far end the mean travel is off by all of its deviation
    assert rows.matrix[[0, 100, 200], 0, 0] == pytest.approx([0, 0.5, 1])
    draws = (
        np.random.Generator(np.random.SFC64(6)).standard_normal((TRIALS, len(prior.std) - 1)) * prior.std[1:]
    )
    width = np.ptp(draws @ rows.matrix[:, 0, 1:].T, axis=1)
    assert np.mean(width <= graded.bandwidth_travel) == pytest.approx(0.95, abs=0.015)


@pytest.mark.parametrize("basis", list(Basis))
def test_sizes_scale_with_the_confidence(basis: Basis) -> None:
    """The more profiles have to stay in a band, the smaller they are; they fall with the square of the wave number."""
    strict, loose = sizes_for_band(basis, 4, 0.99), sizes_for_band(basis, 4, 0.8)
    assert all(a < b for a, b in zip(strict, loose))
    if basis is Basis.STRAIGHT:
        assert np.divide(strict, strict[0]) == pytest.approx((wave_numbers(4)[0] / wave_numbers(4)) ** 2)
    half = strict[: len(strict) // 2] if basis in (Basis.PERIODIC, Basis.WAVY) else strict
    assert list(half) == sorted(half, reverse=True)


def test_twelve_shapes_solve_the_beam() -> None:
    """Each shape bends so that its fourth derivative is its parameter to the fourth power times itself."""
    b = wave_numbers(12)
    place = np.linspace(0.2, 0.8, 7)[:, None]
    step = 0.02 / b
    around = [
        np.stack([beam_shapes(12, place[:, 0] + k * h)[:, i] for i, h in enumerate(step)], axis=1)
        for k in (-2, -1, 0, 1, 2)
    ]
    fourth = (around[0] - 4 * around[1] + 6 * around[2] - 4 * around[3] + around[4]) / step**4
    assert fourth / b**4 == pytest.approx(around[2], abs=2e-3)


@pytest.mark.parametrize("modes", [1, 4, 12])
def test_shapes_are_straight_in_no_part(modes: int) -> None:
    """Shapes are free of offset and slope, at right angles to one another, and of mean square one."""
    place = (np.arange(20_000) + 0.5) / 20_000
    found = shapes(Basis.DRIFTING, modes, 300 * place - 50, -50, 250)
    assert found.T @ found / len(place) == pytest.approx(np.eye(modes + 1), abs=1e-5)
    assert np.abs(found.mean(axis=0)).max() < 1e-6
    assert np.abs(found[:, 1:].T @ (place - 0.5) / len(place)).max() < 1e-6
