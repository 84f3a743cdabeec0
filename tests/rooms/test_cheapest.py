"""The cheapest change of routes: the search against trying everything, and what it means for two posts."""

from itertools import product
from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr, ndtri

from loopwright.buildfile import read_text
from loopwright.errors import Cancelled, RequestError
from loopwright.making.cheapest import Way, cheapest
from loopwright.making.choices import chosen_build, groups
from loopwright.studies.cheapest_making import CheapestMaking, cheapest_making
from two_posts import CHOOSING, POSTS


def asked(wished: float, text: str = CHOOSING) -> CheapestMaking:
    """The cheapest change for two posts."""
    return cheapest_making(read_text(text), wished, trials=4000)


def test_one_setting_for_both_is_cheapest_where_it_is_enough() -> None:
    """One setting of 20 minutes shared by two saves 2 x 15 - 2 x 10 minutes, and its error cancels."""
    found = asked(0.95)
    assert [(one.part, one.name, one.matched) for one in found.chosen] == [
        ("left", "in one setting", "posts"),
        ("right", "in one setting", "posts"),
    ]
    assert found.minutes == pytest.approx(-10.0)
    assert found.proven
    tilt = sqrt(2) * sqrt(0.002**2 + 0.003**2) / 200 / 4.84813681109536e-6
    assert found.chance == pytest.approx(2 * ndtr(15 / tilt) - 1, abs=4 * found.chance_std + 0.002)


def test_grinding_is_taken_where_more_is_wished() -> None:
    """What one setting cannot bring, the grinder does, at 24 minutes a post."""
    found = asked(0.999)
    assert {one.name for one in found.chosen} == {"ground"}
    assert found.minutes == pytest.approx(48.0)


def test_a_matched_set_is_chosen_by_all_or_none() -> None:
    """Nine combinations of two posts with three ways, of which those with one post alone in the set are none."""
    (group,) = groups(read_text(CHOOSING))
    assert group.parts == ("left", "right")
    assert len(group.ways) == 5
    assert group.ways[0].chosen == ()


def test_what_is_chosen_stands_in_the_route() -> None:
    """The build with an alternative has its ops instead, and is a sound build."""
    build = read_text(CHOOSING)
    (group,) = groups(build)
    way = next(way for way in group.ways if [one.name for one in way.chosen] == ["ground", "ground"])
    changed = chosen_build(build, way.chosen)
    assert [op.op for op in changed.parts["left"].route] == ["face", "surface grind"]
    assert build.parts["left"].route[1].op == "face"


def test_what_none_can_bring_is_said() -> None:
    """Where no alternative is enough the greatest chance found is told, and that nothing is."""
    found = asked(0.99, CHOOSING.replace("limit: 15 arcsec", "limit: 1 arcsec"))
    assert not found.reached
    assert found.proven
    assert found.chance < 0.99


def test_a_wrong_question_is_refused() -> None:
    """A chance of 1 nobody can have; without alternatives there is nothing to choose; targets are named."""
    with pytest.raises(RequestError, match="a chance of 1"):
        asked(1.0)
    with pytest.raises(RequestError, match="no op of any route has an alternative"):
        asked(0.9, POSTS)
    with pytest.raises(RequestError, match="there is no target 'lev'"):
        cheapest_making(read_text(CHOOSING), 0.9, targets=["lev"])


def test_it_can_be_stopped() -> None:
    """Whoever waits no longer gets out."""
    with pytest.raises(Cancelled):
        cheapest_making(read_text(CHOOSING), 0.9, trials=4000, cancel=lambda: True)


WAYS = st.tuples(st.integers(-20, 60), st.floats(0.1, 9.0), st.floats(0.1, 9.0))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(WAYS, min_size=1, max_size=4), min_size=1, max_size=4), st.floats(0.2, 0.95))
def test_the_search_is_as_good_as_trying_everything(
    drawn: list[list[tuple[int, float, float]]], wished: float
) -> None:
    """With two rows that must both hold, the choice found costs what the cheapest of all combinations costs."""
    options = [[Way((), float(cost), np.array([a, b])) for cost, a, b in group] for group in drawn]
    limit = 2.0 * sqrt(len(drawn))

    def chance(numbers: tuple[int, ...]) -> float:
        total = sum((group[n].variance for group, n in zip(options, numbers)), np.ones(2))
        return float(np.prod(2 * ndtr(limit / np.sqrt(total)) - 1))

    most = np.full(2, (limit / ndtri((1 + wished) / 2)) ** 2)
    found = cheapest(options, np.ones(2), most, wished, chance)
    every = product(*(range(len(group)) for group in options))
    costs = [
        sum(g[n].cost for g, n in zip(options, numbers)) for numbers in every if chance(numbers) >= wished
    ]
    best = min(costs, default=inf)
    assert found.cost == pytest.approx(best)
    assert found.bound <= best
