"""The budget against the general-purpose library `uncertainties`, by kinematics written out anew.

The tool-point error of two machines is written as an ordinary function of numbers with uncertainty: exact
sines and
cosines, matrices multiplied one by one. The library differentiates it; nothing of the loop is used.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from uncertainties import UFloat, ufloat, umath

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import compile_loop
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Spread

Matrix = list[list[Any]]


def shift(x: Any, y: Any, z: Any) -> Matrix:
    """A displacement as a 4 x 4 matrix."""
    return [[1, 0, 0, x], [0, 1, 0, y], [0, 0, 1, z], [0, 0, 0, 1]]


def turn(axis: str, angle: Any) -> Matrix:
    """A rotation about X, Y or Z through the origin."""
    c, s = umath.cos(angle), umath.sin(angle)
    rows = {
        "X": [[1, 0, 0], [0, c, -s], [0, s, c]],
        "Y": [[c, 0, s], [0, 1, 0], [-s, 0, c]],
        "Z": [[c, -s, 0], [s, c, 0], [0, 0, 1]],
    }[axis]
    return [[*row, 0] for row in rows] + [[0, 0, 0, 1]]


def times(*matrices: Matrix) -> Matrix:
    """Their product."""
    out = matrices[0]
    for other in matrices[1:]:
        out = [[sum(a * other[k][j] for k, a in enumerate(row)) for j in range(4)] for row in out]
    return out


def about(point: tuple[float, ...], *turns: Matrix) -> Matrix:
    """Rotations about a point."""
    return times(shift(*point), *turns, shift(*(-v for v in point)))


def place(matrix: Matrix, point: tuple[float, ...]) -> list[Any]:
    """Where a point goes."""
    return [sum(a * b for a, b in zip(row, (*point, 1))) for row in matrix[:3]]


def motion(errors: dict[str, UFloat], letter: str, at: tuple[float, ...]) -> Matrix:
    """Error motions of a carriage, stated at a point that is here now."""
    x, y, z, a, b, c = (errors.get(f"E{one}{letter}", 0.0) for one in "XYZABC")
    return times(shift(x, y, z), about(at, turn("Z", c), turn("Y", b), turn("X", a)))


TINY, TILT = 1e-5, 1e-8
"""Sizes so small that what is of second order is beyond the twelfth digit of the bias."""


def spreads(letter: str, seed: int, square: str = "") -> dict[str, Spread]:
    """Every error motion of an axis, with a known part and a standard deviation."""
    draw = np.random.Generator(np.random.PCG64(seed))
    sizes = [(f"E{one}{letter}", TINY if one in "XYZ" else TILT) for one in "XYZABC"]
    sizes += [(f"{one}0{letter}", TILT) for one in square]
    return {name: Spread(value=size * draw.normal(), std=size * draw.uniform(0.5, 2)) for name, size in sizes}


def declared(stated: dict[str, Spread]) -> dict[str, Any]:
    """Error motions as a build takes them."""
    return {name: {"value": s.value, "std": s.std, "varies": "constant"} for name, s in stated.items()}


def as_numbers(stated: dict[str, Spread]) -> dict[str, UFloat]:
    """The same as numbers with uncertainty."""
    return {name: ufloat(s.value, s.std) for name, s in stated.items()}


def compare(build: Build, asked: Indication, poses: dict[str, float], by_hand: list[UFloat]) -> None:
    """Bias and standard uncertainty of each component are those of the library."""
    loop = compile_loop(build)
    rows = loop.rows(asked, {letter: np.array([v]) for letter, v in poses.items()})
    found = budget(rows, prior_of(loop.sources, build.assume))
    assert found.std[0] == pytest.approx([float(v.s) for v in by_hand], rel=1e-6)
    assert rows.mean[0] == pytest.approx([float(v.n) for v in by_hand], rel=1e-6, abs=1e-13)


def rotary_machine(x: dict[str, Spread], c: dict[str, Spread], z: dict[str, Spread]) -> Build:
    """A rotary table C on a slide X, and a column Z that carries the tool."""
    return Build.model_validate(
        {
            "name": "rotary", "down": None,
            "bodies": {"base": {}, "slide": {}, "table": {}, "head": {}},
            "joints": {
                "X": {"kind": "linear", "parent": "base", "child": "slide", "along": "+X", "home": 30.0,
                      "travel": (0.0, 400.0), "errors_at": (20.0, 0.0, -80.0), "errors": declared(x)},
                "C": {"kind": "rotary", "parent": "slide", "child": "table", "about": "+Z",
                      "at": (100.0, 50.0, 0.0), "travel": (-3.0, 3.0), "errors_at": (100.0, 50.0, -40.0),
                      "errors": declared(c)},
                "Z": {"kind": "linear", "parent": "base", "child": "head", "along": "+Z",
                      "travel": (0.0, 200.0), "errors_at": (90.0, 300.0, 250.0), "errors": declared(z)},
            },
        }
    )  # fmt: skip


def by_matrices(
    x: dict[str, UFloat], c: dict[str, UFloat], z: dict[str, UFloat], step: float, angle: float, lift: float
) -> list[UFloat]:
    """Place of the tool less place of the table's material under it, at X 30 + step, C angle, Z lift."""
    centre, point = (100.0, 50.0, 0.0), (60.0, 120.0, 15.0)
    square_x = shift(0.0, x["C0X"] * step, -x["B0X"] * step)
    slide = times(motion(x, "X", (20.0 + step, 0.0, -80.0)), square_x, shift(step, 0, 0))
    tilt = [turn("X", c["A0C"]), turn("Y", c["B0C"])]
    back = [turn("Y", -c["B0C"]), turn("X", -c["A0C"])]
    turned = about(centre, *tilt, turn("Z", angle), *back)
    table = times(motion(c, "C", (100.0, 50.0, -40.0)), turned)
    head = times(motion(z, "Z", (90.0, 300.0, 250.0 + lift)), shift(z["B0Z"] * lift, -z["A0Z"] * lift, lift))
    tool = place(head, point)
    nominal = times(shift(step, 0, 0), about(centre, turn("Z", angle)))
    now = place(shift(0, 0, lift), point)
    home = np.linalg.solve(np.array(nominal, float), [*now, 1.0])[:3]
    work = place(times(slide, table), tuple(home))
    return [a - b for a, b in zip(tool, work)]


@pytest.mark.parametrize(
    ("step", "angle", "lift"), [(0.0, 0.0, 0.0), (120.0, 0.7, 80.0), (-30.0, -2.5, 200.0)]
)
def test_rotary_table_on_a_slide_against_a_column(step: float, angle: float, lift: float) -> None:
    """Slide, rotary table and column, each with all letters of ISO 230-1: bias and uncertainty agree in X, Y
    and Z.
    """
    stated = spreads("X", 1, "BC"), spreads("C", 2, "AB"), spreads("Z", 3, "AB")
    asked = Indication(between=("table", "head"), point=(60.0, 120.0, 15.0), component="XYZ")
    by_hand = by_matrices(*(as_numbers(s) for s in stated), step, angle, lift)
    compare(rotary_machine(*stated), asked, {"X": 30 + step, "C": angle, "Z": lift}, by_hand)


LENGTH, WIDTH = 240.0, 160.0
SEAT = (40.0, -30.0, 55.0)


def seated(heights: list[Any]) -> Matrix:
    """A column on three pads, two side pads and a stop, all in one plane, from the six heights by hand."""
    d1, d2, d3, d4, d5, d6 = heights
    a, b, c = (d3 - d1) / WIDTH, -(d2 - d1) / LENGTH, (d5 - d4) / LENGTH
    return times(shift(d6, d4, d1), about(SEAT, turn("Z", c), turn("Y", b), turn("X", a)))


def seated_machine(own: list[Spread], shared: Spread, y: dict[str, Spread]) -> Build:
    """That column, its pads cut together, with a slide Y on it that carries the tool."""
    x0, y0, z0 = SEAT
    places = [(x0, y0), (x0 + LENGTH, y0), (x0, y0 + WIDTH), (x0, y0), (x0 + LENGTH, y0), (x0, y0)]
    contacts = {
        f"c{i}": {"at": (*at, z0), "normal": normal, "stiffness": 1e5 * (i + 1), "dims": [f"+pads/h{i}"]}
        for i, (at, normal) in enumerate(zip(places, ["+Z"] * 3 + ["+Y"] * 2 + ["+X"]))
    }
    dims = {f"h{i}": {"nominal": 12.0, "spread": spread} for i, spread in enumerate(own)}
    together = {"dims": [f"pads/h{i}" for i in range(3)], "shared": shared, "own": Spread(std=TINY)}
    return Build.model_validate(
        {
            "name": "seated", "down": None,
            "parts": {"pads": {"dims": dims}}, "made_together": {"pads": together},
            "bodies": {"base": {}, "column": {}, "slide": {}},
            "joints": {
                "seat": {"kind": "fixed", "parent": "base", "child": "column", "contacts": contacts},
                "Y": {"kind": "linear", "parent": "column", "child": "slide", "along": "+Y",
                      "travel": (-100.0, 100.0), "errors_at": (0.0, 0.0, 300.0), "errors": declared(y)},
            },
        }
    )  # fmt: skip


@pytest.mark.parametrize("step", [0.0, 75.0])
def test_slide_on_a_seated_column(step: float) -> None:
    """Six contacts, three of them cut together, under a slide: bias and uncertainty agree, correlation and
    all.
    """
    draw = np.random.Generator(np.random.PCG64(8))
    own = [Spread(value=TINY * draw.normal(), std=TINY * draw.uniform(0.5, 2)) for _ in range(6)]
    shared, y = Spread(value=2 * TINY, std=3 * TINY), spreads("Y", 9, "AC")
    common = ufloat(shared.value, shared.std)
    heights: list[Any] = [common + ufloat(0.0, TINY) for _ in range(3)]
    heights += [ufloat(s.value, s.std) for s in own[3:]]
    errors = as_numbers(y)
    point = (-20.0, 10.0, 420.0)
    square = shift(-errors["C0Y"] * step, step, errors["A0Y"] * step)
    slide = times(motion(errors, "Y", (0.0, step, 300.0)), square)
    now = place(times(seated(heights), slide), point)
    by_hand = [v - (p + (step if i == 1 else 0)) for i, (v, p) in enumerate(zip(now, point))]
    asked = Indication(between=("base", "slide"), point=point, component="XYZ")
    compare(seated_machine(own, shared, y), asked, {"Y": step}, by_hand)


@pytest.mark.parametrize("function", [umath.sin, umath.cos])
def test_the_library_differentiates(function: Callable[[UFloat], UFloat]) -> None:
    """The yardstick itself: the uncertainty of a sine or cosine is its slope times that of the angle."""
    found = function(ufloat(0.3, 1e-3))
    slope = {umath.sin: np.cos(0.3), umath.cos: -np.sin(0.3)}[function]
    assert found.s == pytest.approx(abs(slope) * 1e-3, rel=1e-9)
