"""What halving, doubling and making together would do, against the closed form for three sources."""

from math import sqrt

import numpy as np
import pytest

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import prior_of
from loopwright.asbuilt.tighten import OWN_LEFT, pairings, tightenings
from loopwright.loop import Rows
from loopwright.loop.sources import Source, SourceKind
from loopwright.model.spread import Shape, Spread
from loopwright.units import Dimension

BIAS = 4.0


def source(name: str, std: float, field: str, **more: str) -> Source:
    """A source with a standard deviation."""
    return Source(name, SourceKind.GEOMETRY, Dimension.LENGTH, Spread(std=std), field, **more)


def indication(matrix: list[list[float]], bias: float = 0.0) -> Rows:
    """One component over poses, (poses, sources)."""
    rows = np.array(matrix)[:, None, :]
    poses = len(rows)
    return Rows(
        rows,
        np.full((poses, 1), bias),
        ("X",),
        {"X": np.arange(float(poses))},
        np.zeros((poses, 3)),
        Dimension.LENGTH,
    )


def test_three_sources() -> None:
    """3, 4 and 12 with a bias of 4: now sqrt(185); 12 halved sqrt(185 - 108), doubled sqrt(185 + 432)."""
    sources = [source(name, std, f"parts/{name}") for name, std in (("a", 3.0), ("b", 4.0), ("c", 12.0))]
    prior = prior_of(sources, Shape.RECTANGULAR)
    found = tightenings(budget(indication([[1.0, 1.0, 1.0]], BIAS), prior), prior, sources)
    assert [t.name for t in found] == ["c", "b", "a"]
    for one, std in zip(found, (12.0, 4.0, 3.0)):
        assert one.now == pytest.approx(sqrt(185), rel=1e-12)
        assert one.halved == pytest.approx(sqrt(185 - 0.75 * std**2), rel=1e-12)
        assert one.doubled == pytest.approx(sqrt(185 + 3 * std**2), rel=1e-12)


def test_halving_is_what_a_budget_with_half_the_spread_says() -> None:
    """Halved and doubled sizes are those of a budget made anew with half or twice the spread, at its own
    worst pose.
    """
    matrix = [[1.0, 0.2, -0.5], [0.1, 3.0, 0.4], [-0.6, 0.3, 2.0]]
    sources = [source(name, std, name) for name, std in (("a", 3.0), ("b", 1.0), ("c", 2.0))]
    prior = prior_of(sources, Shape.RECTANGULAR)
    found = {t.name: t for t in tightenings(budget(indication(matrix, 0.5), prior), prior, sources)}
    for place, name in enumerate("abc"):
        for factor, said in ((0.5, found[name].halved), (2.0, found[name].doubled)):
            changed = [
                source(s.name, (s.spread.std or 0) * (factor if i == place else 1), s.field)
                for i, s in enumerate(sources)
            ]
            anew = budget(indication(matrix, 0.5), prior_of(changed, Shape.RECTANGULAR))
            assert said == pytest.approx(anew.size.max(), rel=1e-12)


def test_sources_of_one_statement_are_tightened_together() -> None:
    """Two shapes of one profile are one statement of the file, by the name of their group."""
    sources = [
        source("profile 1", 3.0, "rails/a", group="profile"),
        source("profile 2", 4.0, "rails/a", group="profile"),
        source("dim", 1.0, "parts/dim", part="dim"),
    ]
    prior = prior_of(sources, Shape.RECTANGULAR)
    found = tightenings(budget(indication([[1.0, 1.0, 1.0]]), prior), prior, sources)
    assert [(t.name, t.part) for t in found] == [("profile", None), ("dim", "dim")]
    assert found[0].halved == pytest.approx(sqrt(26 - 0.75 * 25), rel=1e-12)


def test_what_is_certain_cannot_be_tightened() -> None:
    """A source without a spread is not offered, and a machine without any offers nothing."""
    sources = [source("known", 0.0, "known")]
    prior = prior_of(sources, Shape.RECTANGULAR)
    assert tightenings(budget(indication([[1.0]]), prior), prior, sources) == []


def test_two_dims_that_are_subtracted_gain_by_being_made_together() -> None:
    """Of a difference of two dims of std 5, cut together, 0.2 of each is left; of a sum nothing is gained."""
    sources = [source(name, 5.0, name, dim=name) for name in ("p/a", "p/b", "p/c")]
    prior = prior_of(sources, Shape.RECTANGULAR)
    nominals = {"p/a": 60.0, "p/b": 60.0, "p/c": 80.0}
    found = pairings(budget(indication([[1.0, -1.0, 0.1]]), prior), prior, sources, nominals)
    (pair,) = found
    assert (pair.first, pair.second) == ("p/a", "p/b")
    assert pair.now == pytest.approx(sqrt(2 * 25 + 0.25), rel=1e-12)
    assert pair.together == pytest.approx(sqrt(2 * 25 * OWN_LEFT**2 + 0.25), rel=1e-12)
    assert pairings(budget(indication([[1.0, 1.0, 0.1]]), prior), prior, sources, nominals) == []


def test_only_one_size_is_cut_in_one_setup() -> None:
    """Dims of different nominal are not offered as a pair, however much it would gain."""
    sources = [source(name, 5.0, name, dim=name) for name in ("p/a", "p/b")]
    prior = prior_of(sources, Shape.RECTANGULAR)
    asked = budget(indication([[1.0, -1.0]]), prior)
    assert pairings(asked, prior, sources, {"p/a": 60.0, "p/b": 60.5}) == []
