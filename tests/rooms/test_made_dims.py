"""What routes say of dims, and what the loop makes of what dims have in common."""

from math import hypot, sqrt
from pathlib import Path

import pytest
from click.testing import CliRunner

from loopwright.buildfile import read_text
from loopwright.cli import group
from loopwright.loop import compile_loop
from loopwright.loop.sources import SourceKind
from loopwright.making.made_dims import made
from loopwright.model.build import Build
from loopwright.studies import example_loop
from loopwright.studies.checking import check_text, load_text
from loopwright.studies.standing import standing, what_if
from two_posts import POSTS, SHOP

CUT, SETTING, SEATING = 0.002, 0.015, 0.003
ARCSEC = 4.84813681109536e-6


def build(text: str = POSTS) -> Build:
    """A build of a text."""
    return read_text(text)


def test_a_dim_is_as_its_route_makes_it() -> None:
    """Cut and seating of each post are its own, the setting of the matched set is one for both, the middle of the
    limits is what the shop aims at.
    """
    found = made(build()).dims
    for name, middle in (("left/height", 0.01), ("right/height", 0.0)):
        assert found[name].std == pytest.approx(hypot(CUT, SEATING))
        assert found[name].mean == pytest.approx(middle)
        assert [(s.std, s.factor) for s in found[name].shares] == [(SETTING, 1.0)]
    (one,), (other,) = found["left/height"].shares, found["right/height"].shares
    assert one.name == other.name


def test_what_two_dims_share_cancels_in_their_difference() -> None:
    """A beam over two posts of one matched set tilts by their own parts only; with each set up alone, by all."""
    together, alone = (
        standing(load_text(text), trials=2000).targets[0]
        for text in (POSTS, POSTS.replace("together: posts, ", ""))
    )
    tilt = sqrt(2) * hypot(CUT, SEATING) / 200 / ARCSEC
    bias = 0.01 / 200 / ARCSEC
    assert together.expected / ARCSEC == pytest.approx(hypot(tilt, bias), rel=1e-6)
    tilt = sqrt(2) * sqrt(CUT**2 + SEATING**2 + SETTING**2) / 200 / ARCSEC
    assert alone.expected / ARCSEC == pytest.approx(hypot(tilt, bias), rel=1e-6)


def test_both_budgets_are_told() -> None:
    """Beside what this shop makes stands what the limits alone would leave: rectangles of 20 and 50 µm half width."""
    found = standing(load_text(POSTS), trials=2000)
    tilt = hypot(0.02, 0.05) / sqrt(3) / 200 / ARCSEC
    bias = 0.01 / 200 / ARCSEC
    assert found.in_limits["level"].expected / ARCSEC == pytest.approx(hypot(tilt, bias), rel=1e-6)
    assert found.targets[0].monte_carlo.chance > found.in_limits["level"].chance
    drawn = compile_loop(build())
    assert not any(source.kind is SourceKind.MAKING for source in drawn.sources)


def test_a_closer_limit_alone_makes_no_part_better(tmp_path: Path) -> None:
    """±50 µm halved on the drawing: what the shop makes stays, what limits alone leave follows the rectangle."""
    file = tmp_path / "posts.yaml"
    file.write_text(POSTS, encoding="utf-8")
    changes = {"parts/right/dims/height": "12 ±0.025"}
    compared = what_if(file, changes, trials=2000)
    (_, _, change), *_ = compared.targets
    assert change.expected.value == 0
    was, now, moved = compared.just_in_limits("level") or pytest.fail("both ways are told")
    bias = 0.01 / 200 / ARCSEC
    for found, half in ((was, 0.05), (now, 0.025)):
        tilt = hypot(0.02, half) / sqrt(3) / 200 / ARCSEC
        assert found.expected / ARCSEC == pytest.approx(hypot(tilt, bias), rel=1e-6)
    assert moved.expected.value == pytest.approx(now.expected - was.expected)
    asked = ["budget", str(file), "--trials", "2000", "--set", "parts/right/dims/height=12 ±0.025"]
    told = CliRunner().invoke(group, asked).output
    assert "expected, just in limits" in told


def test_two_faces_of_one_setup_do_not_see_its_setting() -> None:
    """A step cut with the top in one setup is off by the two cuts alone."""
    text = POSTS.replace("surfaces: {foot: -Z, top: +Z}", "surfaces: {foot: -Z, top: +Z, step: +Z}")
    text = text.replace("dims: {height: 12 ±0.05}", "dims: {height: 12 ±0.05, step: 5 ±0.05}")
    text = text.replace("spans: {height: [foot, top]}", "spans: {height: [foot, top], step: [step, top]}", 2)
    text = text.replace("spans: {height: [foot, top], step: [step, top]}", "spans: {height: [foot, top]}", 1)
    text = text.replace("cuts: {top: {}}}\nbodies", "cuts: {top: {}, step: {}}}\nbodies")
    found = made(build(text)).dims["right/step"]
    total = found.std**2 + sum((s.std * s.factor) ** 2 for s in found.shares)
    assert sqrt(total) == pytest.approx(sqrt(2) * CUT)
    assert any(share.factor == -1.0 or share.factor == 1.0 for share in found.shares)


def test_a_diameter_is_twice_its_radius() -> None:
    """A bore is off by twice what its cut is off on the radius; how it is seated moves its axis, not its size."""
    text = (
        SHOP
        + """
parts:
  block:
    dims: {bore: 20 H7}
    surfaces: {bore: inside}
    spans: {bore: bore}
    route: [{op: bore, machine: mill, cuts: {bore: {}}}]
bodies: {block: {parts: [block]}}
"""
    )
    found = made(build(text)).dims["block/bore"]
    assert found.std == pytest.approx(2 * 0.003)
    assert found.mean == pytest.approx(0.0105)


def test_an_angle_is_that_of_its_setup() -> None:
    """A dim that is an angle takes what the machine holds over the setup that cut the second surface."""
    text = POSTS.replace(
        "dims: {height: 12 ±0.05}", "dims: {height: 12 ±0.05, lean: 90 deg ±30 arcsec}"
    ).replace("spans: {height: [foot, top]}\n", "spans: {height: [foot, top], lean: [foot, top]}\n")
    with_lean = text.replace("lean: [foot, top]", "", 1).replace("[foot, top], }", "[foot, top]}")
    found = made(build(with_lean)).dims["right/lean"]
    assert sum(share.std for share in found.shares) == pytest.approx(10 * ARCSEC)


def test_growth_in_the_furnace_is_one_for_all_lengths() -> None:
    """Two lengths of one part grow by one fraction: 0.1 % ± 0.03 % of 40 and of 20 mm."""
    text = (
        SHOP
        + """
parts:
  bar:
    dims: {long: 40 ±0.1, short: 20 ±0.1}
    surfaces: {left: -X, middle: +X, right: +X}
    spans: {long: [left, right], short: [left, middle]}
    route:
      - op: face
        machine: mill
        setup: one
        cuts: {left: {}, right: {measured_from: left}, middle: {measured_from: left}}
      - {op: harden, machine: furnace, grows: {value: 0.1 %, std: 0.03 %}}
bodies: {bar: {parts: [bar]}}
"""
    )
    found = made(build(text)).dims
    shares = {
        name: {s.name: s.std * s.factor for s in found[f"bar/{name}"].shares if "harden" in s.name}
        for name in ("long", "short")
    }
    assert shares["long"].keys() == shares["short"].keys() != set()
    assert sum(shares["long"].values()) == pytest.approx(0.0003 * 40, rel=2e-3)
    assert sum(shares["short"].values()) == pytest.approx(0.0003 * 20, rel=2e-3)


def test_a_dim_that_no_op_cuts_keeps_its_limits() -> None:
    """A route that stops short of a dim says so and leaves its drawing alone."""
    text = POSTS.replace("together: posts, cuts: {top: {}}}\nbodies", "together: posts, cuts: {}}\nbodies")
    found = made(build(text))
    assert "right/height" not in found.dims
    assert found.passed_over["right/height"] == "no op of the route cuts 'top'"
    sources = {source.name: source for source in load_text(text).sources}
    assert sources["right/height"].kind is SourceKind.GEOMETRY
    assert sources["left/height"].kind is SourceKind.MAKING


SPAN, SECOND = "spans: {height: [foot, top]}", "op: face, machine: mill, datum"
ROUTE, SPANS = "parts/left/route/1", "parts/left/spans"
MISTAKES = [
    ("datum: [foot]", "datum: [fot]", f"{ROUTE}/datum/0", "there is no surface 'fot'"),
    ("machine: mill, datum", "machine: mil, datum", f"{ROUTE}/machine", "there is no machine 'mil'"),
    (SECOND, "op: harden, machine: mill, datum", f"{ROUTE}/machine", "a CNC mill does not harden"),
    ("cuts: {top: {}}", "cuts: {tip: {}}", f"{ROUTE}/cuts/tip", "there is no surface 'tip'"),
    (SPAN, "spans: {heigt: [foot, top]}", f"{SPANS}/heigt", "there is no dim 'heigt'"),
    (SPAN, "spans: {height: top}", f"{SPANS}/height", "'top' is flat and has no diameter"),
    (SECOND, "op: polish, machine: mill, datum", f"{ROUTE}/op", "'polish' is not an op"),
    ("foot: -Z", "foot: down", "parts/left/surfaces/foot", "'down' says not where it faces"),
]


@pytest.mark.parametrize(("old", "new", "field", "says"), MISTAKES)
def test_what_a_route_names_must_be_there(old: str, new: str, field: str, says: str) -> None:
    """A mistake in a route comes with its field and line."""
    found = check_text(POSTS.replace(old, new, 1), "posts.yaml").problems
    assert (field, says) in [(problem.field, problem.what) for problem in found]
    assert all(problem.line is not None for problem in found)


def test_what_tightening_buys_names_ops_as_the_shop_does() -> None:
    """A route by its part, an op by its number on the sheets."""
    found = standing(
        example_loop("clock-plate"), targets=["spindle square to table, side to side"], trials=2000
    )
    names = {one.field: one.name for one in found.targets[0].tightenings}
    assert names["parts/column/route/11"] == "column, op 120 (2 deviations)"
    assert names["parts/saddle/route"].startswith("route of saddle (")
