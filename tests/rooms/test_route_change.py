"""The budget both ways, the cheapest change with its cost, and what stands in the routes when it was taken in."""

from math import sqrt
from pathlib import Path

import pytest
from scipy.special import ndtr

from loopwright.book import create
from loopwright.buildfile import read_text
from loopwright.errors import Cancelled, RequestError
from loopwright.making.choices import Choice, chosen_build
from loopwright.studies.books import bench_of
from loopwright.studies.both_ways import both_ways
from loopwright.studies.making_overview import making_overview
from loopwright.studies.route_change import route_change
from loopwright.studies.taking_ways import ways_taken, with_ways
from two_posts import CHOOSING, POSTS

ARCSEC = 4.84813681109536e-6
GROUND = [f"parts/{part}/route/1/alternatives/ground" for part in ("left", "right")]
PAID = CHOOSING.replace("shop:\n", "shop:\n  hour: 48\n")


def test_just_in_limits_is_the_tilt_of_two_bare_tolerances() -> None:
    """Two heights, 200 mm apart, each uniform within ±0.05: a tilt of √2 · 0.05/√3 / 200 (JCGM 100, 4.3.7)."""
    found = both_ways(read_text(CHOOSING))
    assert found is not None
    (level,) = found.targets
    assert level.in_limits.expected == pytest.approx(sqrt(2 / 3) * 0.05 / 200, rel=2e-3)
    # as made: cut 2 µm, setting 15 µm of its own for each post, and the seating of 3 µm
    tilt = sqrt(2) * sqrt(0.002**2 + 0.015**2 + 0.003**2) / 200
    assert level.as_made.expected == pytest.approx(tilt, rel=0.02)
    assert level.as_made.chance == pytest.approx(
        2 * ndtr(15 * ARCSEC / tilt) - 1, abs=4 * level.as_made.chance_std
    )


def test_with_the_change_it_is_the_budget_of_the_changed_build() -> None:
    """The third column is what the build itself would say with the alternatives in its routes."""
    build = read_text(CHOOSING)
    ways = [Choice(part, 1, "ground", "") for part in ("left", "right")]
    found, whole = both_ways(build, ways), both_ways(chosen_build(build, tuple(ways)))
    assert found is not None
    assert whole is not None
    assert found.targets[0].changed == whole.targets[0].as_made
    assert found.of_all[2] == whole.of_all[1]
    assert found.of_all[2] > found.of_all[1]


def test_without_a_route_there_is_nothing_to_compare() -> None:
    """A build whose parts state no route has one budget only."""
    text = POSTS.replace("op: face, machine: mill, setup: first side, cuts: {foot: {}}", "op: deburr")
    bare = read_text(text)
    parts = {name: part.model_copy(update={"route": []}) for name, part in bare.parts.items()}
    assert both_ways(bare.model_copy(update={"parts": parts})) is None


def test_the_change_says_what_it_costs_and_what_is_done_instead() -> None:
    """Two posts of 30 instead of 6 minutes on the grinder: 48 min more, which cost 38.40 at 48 an hour."""
    found = route_change(read_text(PAID), 0.999)
    assert found.found.minutes == pytest.approx(48)
    assert found.labour == pytest.approx(38.4)
    assert found.gap == 0
    assert [one.ops for one in found.instead] == [(("surface grind", "grinder"),)] * 2
    assert [(one.minutes, one.instead) for one in found.instead] == [(6, 30), (6, 30)]
    assert found.budget is not None
    assert found.budget.targets[0].changed is not None


def test_where_nothing_is_enough_the_most_accurate_choice_is_told_at_once() -> None:
    """A limit of 1 arcsec: grinding both is the best there is, and no long search is begun."""
    found = route_change(read_text(CHOOSING.replace("limit: 15 arcsec", "limit: 1 arcsec")), 0.99)
    assert not found.found.reached
    assert found.found.tried <= 1
    assert {one.way.name for one in found.instead} <= {"ground", "in one setting"}
    assert found.labour is None


def test_a_search_can_be_stopped_before_its_first_choice() -> None:
    """Working out what each way adds listens as well."""
    with pytest.raises(Cancelled):
        route_change(read_text(CHOOSING), 0.95, cancel=lambda: True)


def test_what_is_taken_stands_where_the_op_stood_and_reads_back() -> None:
    """The text with two alternatives taken reads as the build with them chosen; every other line stays."""
    text = with_ways(CHOOSING, GROUND)
    build = read_text(CHOOSING)
    chosen = chosen_build(build, tuple(Choice(part, 1, "ground", "") for part in ("left", "right")))
    assert read_text(text).parts == chosen.parts
    assert [line for line in text.splitlines() if "targets" in line or "contacts" in line]
    with pytest.raises(RequestError, match="there is no alternative"):
        with_ways(text, GROUND)
    with pytest.raises(RequestError, match="two alternatives of one op"):
        with_ways(CHOOSING, [GROUND[0], GROUND[0].replace("ground", "in one setting")])
    with pytest.raises(RequestError, match="is no alternative"):
        with_ways(CHOOSING, ["parts/left/dims/height"])


def test_what_was_measured_stays_measured() -> None:
    """The op that is replaced was followed by a reading; the last op of the alternative is followed by it now."""
    measured = "        minutes: 6\n        inspect: [height]\n        gauge: mic\n"
    read = CHOOSING.replace("        minutes: 6\n", measured) + "gauges: {mic: {resolution: 1 µm}}\n"
    text = with_ways(read, [GROUND[0]])
    (op,) = read_text(text).parts["left"].route[1:]
    assert (op.op, op.inspect, op.gauge) == ("surface grind", ["height"], "mic")


def test_an_offer_says_which_lines_go_and_come(tmp_path: Path) -> None:
    """The difference holds the op that goes and the op that comes."""
    with create(
        str(tmp_path / "posts.book"), CHOOSING, build_name="two posts", who="Ada", file="p.yaml", why="first"
    ) as held:
        bench = bench_of(held)
    offer = ways_taken(bench, GROUND)
    assert "surface grind" in "".join(line for line in offer.difference.splitlines() if line.startswith("+"))
    assert offer.upon == 1


def test_the_overview_counts_what_is_there(tmp_path: Path) -> None:
    """Two parts with a route, four other ways of making, three machines; none says what it is cut from."""
    with create(
        str(tmp_path / "posts.book"), CHOOSING, build_name="two posts", who="Ada", file="p.yaml", why="first"
    ) as held:
        found = making_overview(bench_of(held))
    assert (found.made, found.routed, found.open, found.alternatives, found.choosing) == (2, 2, 2, 4, 2)
    assert (found.machines, found.blanks, found.blankless) == (3, 0, ("left", "right"))
