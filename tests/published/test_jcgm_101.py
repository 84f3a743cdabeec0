"""JCGM 101:2008 (GUM Supplement 1), clauses 9.2 and 9.4: additive and quadratic models.

Joint Committee for Guides in Metrology, *Evaluation of measurement data: Supplement 1 to the GUM: Propagation
of
distributions using a Monte Carlo method*, JCGM 101:2008, Tables 2 to 4 (9.2) and Tables 6 and 7 (9.4),
figures from memory.
9.2: Y = X1 + X2 + X3 + X4; the half-width of the symmetric 95 % interval of Y is the 95 % quantile of its
size, which
is what is followed here. 9.4: Y = X1^2 + X2^2, u = 0.005; a bar of length 2 tilted about two axes comes short
by just that.
"""

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.loop import Rows, compile_loop
from loopwright.loop.exact import exact_indication
from loopwright.loop.sources import Source, SourceKind
from loopwright.measuring.coverage import coverage_factor
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Shape, Spread
from loopwright.units import Dimension

TRIALS = 1_000_000


def sum_of_four(*spreads: Spread) -> tuple[Rows, Prior]:
    """Y = X1 + X2 + X3 + X4 as an indication at one pose."""
    sources = [
        Source(f"X{i}", SourceKind.GEOMETRY, Dimension.LENGTH, spread, "")
        for i, spread in enumerate(spreads, 1)
    ]
    rows = Rows(np.ones((1, 1, 4)), np.zeros((1, 1)), ("Y",), {}, np.zeros((1, 3)), Dimension.LENGTH)
    return rows, prior_of(sources, Shape.RECTANGULAR)


def rectangular(std: float) -> Spread:
    """A rectangle with a standard deviation."""
    return Spread(lower=-std * 3**0.5, upper=std * 3**0.5, shape=Shape.RECTANGULAR)


@pytest.mark.parametrize(
    ("case", "std", "by_formula", "drawn"),
    [
        ((Spread(std=1.0),) * 4, 2.0, 3.92, 3.92),
        ((rectangular(1),) * 4, 2.0, 3.92, 3.88),
        ((*(rectangular(1),) * 3, rectangular(10)), 10.1, 19.9, 17.0),
    ],
    ids=["9.2.2 normal", "9.2.3 rectangular", "9.2.4 one large"],
)
def test_additive_model(case: tuple[Spread, ...], std: float, by_formula: float, drawn: float) -> None:
    """U = 2.0, 2.0 and 10.1; 95 % by the formula 3.92, 3.92 and 19.9, and drawn 3.92, 3.88 and 17.0."""
    rows, prior = sum_of_four(*case)
    found = budget(rows, prior)
    half = coverage_factor(0.95) * found.std[0, 0]
    (worst,), _ = monte_carlo([rows], prior, [None], trials=TRIALS, seed=1)
    printed = 0.05 if by_formula > 10 else 0.005
    assert found.std[0, 0] == pytest.approx(std, abs=0.05)
    assert half == pytest.approx(by_formula, abs=printed)
    assert worst.quantile_std < 0.001 * by_formula
    assert worst.quantile(0.95) == pytest.approx(drawn, abs=printed + 2 * worst.quantile_std)


def tilted_bar(lean: float) -> Build:
    """A bar of length 2 standing on a joint that tilts about X and Y, u = 0.005 rad each, leaning by a known
    angle.
    """
    tilt = {"std": 0.005, "varies": "constant"}
    return Build.model_validate(
        {
            "name": "bar",
            "bodies": {"base": {}, "bar": {}},
            "joints": {
                "X": {
                    "kind": "linear", "parent": "base", "child": "bar", "along": "+X", "travel": (0.0, 1.0),
                    "errors_at": (0.0, 0.0, 0.0), "errors": {"EAX": {**tilt, "value": lean}, "EBX": tilt},
                }
            },
        }
    )  # fmt: skip


@pytest.mark.parametrize(
    ("alike", "lean", "mean", "std", "first_order", "low", "high"),
    [
        (0.0, 0.000, 50, 50, 0, 0, 150),
        (0.0, 0.010, 150, 112, 100, 0, 367),
        (0.0, 0.050, 2550, 502, 500, 1590, 3543),
        (0.9, 0.000, 50, 67, 0, 0, 185),
        (0.9, 0.010, 150, 121, 100, 13, 398),
        (0.9, 0.050, 2550, 505, 500, 1628, 3555),
    ],
)
def test_quadratic_model(
    alike: float, lean: float, mean: float, std: float, first_order: float, low: float, high: float
) -> None:
    """In 1e-6: means 50, 150, 2550; uncertainties 50, 112, 502, and 67, 121, 505 where the tilts go together
    by r = 0.9; first order gives 0, 100, 500.
    """
    build = tilted_bar(lean)
    loop = compile_loop(build)
    prior = prior_of(loop.sources, build.assume)
    asked = Indication(between=("base", "bar"), point=(0.0, 0.0, 2.0), component="Z")
    draw = np.random.Generator(np.random.SFC64(3))
    normal = draw.standard_normal((300_000, len(prior.std)))
    first, second = np.flatnonzero(prior.std)
    normal[:, second] = alike * normal[:, first] + (1 - alike**2) ** 0.5 * normal[:, second]
    x = loop.mean + prior.std * normal
    short = np.concatenate([-exact_indication(loop, asked, {}, part)[:, 0] for part in np.split(x, 10)]) * 1e6
    assert short.mean() == pytest.approx(mean, abs=0.5 + 3 * std / 300_000**0.5)
    # half the last printed digit, and three times the scatter of a standard deviation with so heavy a tail
    assert short.std() == pytest.approx(std, abs=0.5 + 0.01 * std)
    # the slope of a bar leaning by the known angle is 2 x 0.005 x lean, and nothing where it stands upright
    slope = -np.diff(
        [exact_indication(loop, asked, {}, loop.mean + d * prior.std)[0, 0] for d in SIDES], axis=0
    )
    assert np.abs(slope).max() / 2e-3 * 1e6 == pytest.approx(first_order, abs=0.5)
    assert budget(loop.rows(asked, {}), prior).std[0, 0] == 0.0
    # the ends of a shortest interval are poorly determined; what it holds and how long it is are not
    assert np.mean((short >= low) & (short <= high)) == pytest.approx(0.95, abs=0.002)
    ordered = np.sort(short)
    reach = int(0.95 * len(ordered))
    assert np.min(ordered[reach:] - ordered[:-reach]) == pytest.approx(high - low, abs=1 + 0.01 * std)


SIDES = np.array([[[-1e-3]], [[1e-3]]])
