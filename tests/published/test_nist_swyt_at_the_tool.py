"""D. A. Swyt, J. Res. NIST 99 (1994) 31: growth by heat, seen at the tool of a machine.

Dimensional measurements at temperatures other than 20 °C: coefficients of expansion in ppm/K, aluminium 23.1,
steel 11.5.
The same growths by the handbook alone are in test_nist_swyt_thermal.py; here they come out of the structural
loop.
"""

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import Rows, compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Spread


def bar(material: str, materials: dict[str, object], warmth: Spread) -> tuple[Build, Indication]:
    """A bar that stands on the machine's origin, and its end 1 m above."""
    build = Build.model_validate(
        {
            "name": "bar",
            "materials": materials,
            "bodies": {"base": {}, "bar": {"material": material, "above_room": warmth}},
            "joints": {"foot": {"kind": "fixed", "parent": "base", "child": "bar", "perfect": True}},
        }
    )
    return build, Indication(between=("base", "bar"), point=(0.0, 0.0, 1000.0), component="Z")


def shown(build: Build, asked: Indication, poses: dict[str, np.ndarray]) -> tuple[Rows, np.ndarray]:
    """What an indication shows by the rows and by exact motion; sources at their means."""
    loop = compile_loop(build)
    rows = loop.rows(asked, poses)
    return rows, exact_indication(loop, asked, poses, np.tile(loop.mean, (len(rows.points), 1)))


def test_a_metre_of_steel() -> None:
    """1000 mm of steel, 1 K warmer, grow by 11.5 µm."""
    for found in shown(*bar("steel", {}, Spread(value=1.0)), {}):
        grown = found.mean if isinstance(found, Rows) else found
        assert grown[0, 0] * 1000 == pytest.approx(11.5, abs=0.05)


def test_aluminium_against_a_steel_scale() -> None:
    """A hole drilled 500 mm along an aluminium part by a steel scale, both 2 K warm, is 11.6 µm short on the
    part at 20 °C.

    The tool stands still. The table moves by 500 mm of scale, grown by 11.5 µm; the part's own 500 mm have
    grown by
    23.1 µm; so the tool is 11.6 µm short of the place on the part that it was sent to.
    """
    warm = Spread(value=2.0)
    build = Build.model_validate(
        {
            "name": "jig borer",
            "bodies": {"base": {}, "table": {"material": "aluminium", "above_room": warm}},
            "joints": {
                "X": {
                    "kind": "linear", "parent": "base", "child": "table", "along": "-X",
                    "travel": (0.0, 500.0),
                    "contacts": {
                        "front": {"at": (-50.0, -50.0, 0.0), "normal": "+Z"},
                        "back": {"at": (-50.0, 50.0, 0.0), "normal": "+Z"},
                        "end": {"at": (50.0, 0.0, 0.0), "normal": "+Z"},
                        "side 1": {"at": (-50.0, 0.0, 0.0), "normal": "+Y"},
                        "side 2": {"at": (50.0, 0.0, 0.0), "normal": "+Y"},
                    },
                    "drive": {
                        "kind": "linear motor", "at": (0.0, 0.0, 0.0), "material": "steel",
                        "above_room": warm,
                    },
                }
            },
        }
    )  # fmt: skip
    asked = Indication(between=("table", "base"), point=(0.0, 0.0, 0.0), component="X", zeroed="none")
    rows, exact = shown(build, asked, {"X": np.array([0.0, 500.0])})
    for error in (rows.mean[:, 0], exact[:, 0]):
        assert error[0] == pytest.approx(0, abs=1e-12)
        assert error[1] * 1000 == pytest.approx(-11.6, abs=0.05)


def test_uncertainty_of_a_growth() -> None:
    """500 mm, 2 K with u = 0.1 K, 11.5 ppm/K with u = 0.58: u = sqrt(0.58^2 + 0.575^2) = 0.817 µm."""
    steel = {"own steel": {"expansion": 11.5e-6, "expansion_std": 0.58e-6}}
    build, asked = bar("own steel", steel, Spread(value=2.0, std=0.1))
    asked = asked.model_copy(update={"point": (0.0, 0.0, 500.0)})
    loop = compile_loop(build)
    found = budget(loop.rows(asked, {}), prior_of(loop.sources, build.assume))
    assert found.std[0, 0] * 1000 == pytest.approx(0.817, abs=0.0005)
    assert found.rows.mean[0, 0] * 1000 == pytest.approx(11.5, abs=0.05)
    assert found.share_worst.max() == pytest.approx(0.58**2 / (0.58**2 + 0.575**2), rel=1e-6)
