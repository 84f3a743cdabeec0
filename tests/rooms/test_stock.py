"""Stock to leave, against closed forms, exact fractions, and cases worked by hand."""

from fractions import Fraction
from math import comb, exp, factorial, floor, log, pi, sqrt
from statistics import NormalDist

import pytest

from loopwright.buildfile import read_text
from loopwright.errors import OutOfRange
from loopwright.making.part_size import PartSize, size_of
from loopwright.making.stock import Eats, stock_to_leave
from loopwright.making.stock_cut import Practice
from loopwright.making.stock_route import Finishing, finishing_cuts, stock_of, work_to
from loopwright.model.build import Build
from loopwright.model.routes import Surface
from loopwright.studies.stock_sheet import SurfaceStock, stock_sheet
from made_parts import RING, bracket, build, changed, thin_ring

NORMAL = NormalDist()


def uniform(high: float, low: float = 0.0) -> Eats:
    """Anywhere between two ends."""
    return Eats("uniform", "between", low, high)


def least(*eats: Eats, chance: float = 0.99) -> float:
    """Least stock a side."""
    return stock_to_leave(eats, chance, 0.0).least


@pytest.mark.parametrize("chance", [0.5, 0.8, 0.9, 0.99, 0.999, 0.9999])
def test_one_cause_alone(chance: float) -> None:
    """One cause gives back its own quantile: even, good to a factor, normal, tilt, run-out (Rayleigh)."""
    near = {"rel": 2e-4}
    assert least(uniform(0.3, 0.1), chance=chance) == pytest.approx(0.1 + 0.2 * chance, **near)
    assert least(Eats("f", "factor", 0.02, 0.18), chance=chance) == pytest.approx(0.02 * 9**chance, **near)
    z = NORMAL.inv_cdf(chance)
    assert least(Eats("n", "normal", std=0.01), chance=chance) == pytest.approx(0.01 * z, abs=1e-6, **near)
    two_sided = NORMAL.inv_cdf((1 + chance) / 2)
    assert least(Eats("t", "tilt", std=0.01), chance=chance) == pytest.approx(0.01 * two_sided, **near)
    rayleigh = 0.01 * sqrt(-2 * log(1 - chance))
    assert least(Eats("r", "run-out", std=0.01), chance=chance) == pytest.approx(rayleigh, **near)


def irwin_hall(total: float, count: int) -> float:
    """Chance that so many even numbers from 0 to 1 add up to no more than a total, in exact fractions."""
    x = Fraction(total)
    terms = ((-1) ** k * comb(count, k) * (x - k) ** count for k in range(floor(x) + 1))
    return float(sum(terms, Fraction(0)) / factorial(count))


@pytest.mark.parametrize("count", [2, 3, 5])
@pytest.mark.parametrize("chance", [0.5, 0.8, 0.99, 0.999])
def test_a_sum_of_even_causes(count: int, chance: float) -> None:
    """With equal even causes the chance to clean up is that of Irwin and Hall."""
    found = stock_to_leave([uniform(0.1)] * count, chance, 0.0)
    assert irwin_hall(found.least / 0.1, count) == pytest.approx(chance, abs=2e-4)


def test_two_even_causes_by_hand() -> None:
    """Two even causes up to 0.1 mm: the triangle leaves 1 % beyond 0.2 - 0.1 sqrt(0.02) = 0.18586 mm."""
    found = stock_to_leave([uniform(0.1)] * 2, 0.99, 0.03)
    assert found.least == pytest.approx(0.185858, abs=1e-5)
    assert found.most == pytest.approx(0.215858, abs=1e-5)
    assert found.failing(0.2) == pytest.approx(0.2 - 0.1 * sqrt(0.4), abs=1e-4)
    assert found.cleans_up(0.1) == pytest.approx(0.5, abs=1e-3)
    assert found.cleans_up(0.0) == 0
    assert found.cleans_up(0.3) == 1


def test_normal_causes_add_their_squares() -> None:
    """Independent normal causes of 3 and 4 µm are one of 5 µm, and what is known moves it."""
    both = least(
        Eats("a", "normal", std=0.003), Eats("b", "normal", std=0.004), Eats("c", "known", high=0.05)
    )
    assert both == pytest.approx(0.05 + 0.005 * NORMAL.inv_cdf(0.99), abs=2e-6)


def test_run_out_and_an_even_cause() -> None:
    """A run-out over an even cause, by the integral of Rayleigh's distribution over the even one."""
    width, sigma = 0.04, 0.01
    found = least(uniform(width), Eats("r", "run-out", std=sigma))
    # mean of 1 - exp(-((q - x)/sigma)²/2) over x from 0 to the width, by Simpson
    points = 2000
    step = width / points
    tail = [exp(-0.5 * (max(found - i * step, 0.0) / sigma) ** 2) for i in range(points + 1)]
    weights = [1 if i in (0, points) else 4 if i % 2 else 2 for i in range(points + 1)]
    beyond = sum(w * t for w, t in zip(weights, tail)) * step / 3 / width
    assert beyond == pytest.approx(0.01, abs=1e-4)


def test_means_and_spreads() -> None:
    """Means and standard deviations of the shapes are the textbook's."""
    factor = Eats("f", "factor", 1.0, exp(2.0))
    assert factor.expected == pytest.approx((exp(2) - 1) / 2)
    assert factor.spread == pytest.approx(sqrt((exp(4) - 1) / 4 - ((exp(2) - 1) / 2) ** 2))
    assert Eats("t", "tilt", std=2.0).expected == pytest.approx(2 * sqrt(2 / pi))
    assert Eats("t", "tilt", std=2.0).spread == pytest.approx(2 * sqrt(1 - 2 / pi))
    assert Eats("r", "run-out", std=2.0).expected == pytest.approx(2 * sqrt(pi / 2))
    assert Eats("r", "run-out", std=2.0).spread == pytest.approx(2 * sqrt(2 - pi / 2))
    assert uniform(3.0, 1.0).expected == 2
    assert uniform(3.0, 1.0).spread == pytest.approx(2 / sqrt(12))
    assert Eats("k", "known", high=2.0).spread == 0
    assert Eats("f", "factor", 2.0, 2.0).expected == 2
    assert Eats("f", "factor", 2.0, 2.0).spread == 0


def test_nothing_that_eats_needs_nothing() -> None:
    """Without a cause no stock is needed but what the cut before needs."""
    found = stock_to_leave([], 0.99, 0.02)
    assert (found.least, found.most) == (0, 0.02)


@pytest.mark.parametrize(
    "wrong",
    [
        Eats("a", "normal", std=-1.0),
        Eats("a", "between", 2.0, 1.0),
        Eats("a", "factor", 0.0, 1.0),
        Eats("a", "known", high=float("nan")),
    ],
)
def test_figures_that_cannot_be(wrong: Eats) -> None:
    """A negative spread, ends exchanged, a factor from nought and what is no number are refused by name."""
    with pytest.raises(OutOfRange, match="'a'"):
        stock_to_leave([wrong], 0.99, 0.0)
    with pytest.raises(OutOfRange, match="50 %"):
        stock_to_leave([], 0.4, 0.0)
    with pytest.raises(OutOfRange, match="window"):
        stock_to_leave([], 0.9, -1.0)


# --------------------------------------------------------------------------------------------- the size of a part


def test_size_of_a_ring_and_of_a_bracket() -> None:
    """A ring has a wall and is thinnest there; a small hole makes no ring of a block."""
    ring = size_of(thin_ring().parts["ring"])
    assert (ring.outside, ring.bore, ring.wall, ring.along) == (60, 50, 5, {"Z": 12})
    assert ring.ring
    assert ring.section == 5
    assert ring.over(Surface(faces="+Z")) == (60, 60)
    block = size_of(bracket().parts["bracket"])
    assert (block.outside, block.wall) == (None, None)
    assert block.extents == (60, 40, 30)
    assert block.over(Surface(faces="+Z")) == (60, 40)
    assert block.thickness(Surface(faces="+Z")) == 30


def test_size_from_chained_dims_and_the_blank() -> None:
    """Steps that are dimensioned one from the other add up; a plate's thickness is that of its blank."""
    part = build(
        """
  step:
    blank: {section: plate 12}
    dims: {first: 20 ±0.1, second: 30 ±0.1, width: 40 ±0.1}
    surfaces: {a: -X, b: +X, c: +X, d: -Y, e: +Y}
    spans: {first: [a, b], second: [b, c], width: [d, e]}
    route: [{op: saw, cuts: {a: {}, c: {measured_from: a}}}]
"""
    ).parts["step"]
    assert size_of(part).along == {"X": 50, "Y": 40, "Z": 12}
    assert PartSize({}, "", None, None).section is None


# ------------------------------------------------------------------------------------------- a chart worked by hand

DERIVED = """
  ring:
    material: tool steel O1
    dims: {thickness: 25 ±0.01, shoulder: 10 ±0.01}
    surfaces: {left: -Z, right: +Z, step: +Z}
    spans: {thickness: [left, right], shoulder: [step, right]}
    route:
      - {op: saw, machine: saw, cuts: {left: {}, right: {measured_from: left, size: 27.0274 ±0.5}}}
      - {op: turn, machine: lathe, setup: a, datum: [left], cuts: {right: {size: 25.9274 ±0.1}}}
      - {op: turn, machine: lathe, setup: b, datum: [right], cuts: {step: {size: 9.9450 ±0.05}}}
      - {op: turn, machine: lathe, setup: c, datum: [right], cuts: {left: {size: 25.2774 ±0.05}}}
      - {op: harden, machine: furnace, grows: 0.1 % ±0.05 %}
      - {op: surface grind, machine: flat grinder, setup: d, datum: [right], cuts: {left: {size: 25.125 ±0.015}}}
      - {op: surface grind, machine: flat grinder, setup: e, datum: [left], cuts: {right: {size: 25 ±0.01}}}
      - {op: surface grind, machine: flat grinder, setup: f, datum: [right], cuts: {step: {size: 10 ±0.01}}}
"""
"""A hardened ring with every working dim stated; its stock removals were worked out on their own, ±: 0.1 to 0.2554 on
the left face, 0.1 to 0.15 on the right, 0.08 to 0.26 on the shoulder, means of growth 0.0005 to 0.0015."""


def charted(name: str, op: int) -> tuple[Finishing, dict[int, float], tuple[Finishing, ...]]:
    """A finishing cut of that ring, the mean stock of the others, and all of them."""
    found, problems = finishing_cuts(build(DERIVED), "ring", 0.99)
    assert problems == ()
    one = next(f for f in found if f.follow.name == name and f.follow.index == op)
    means = {
        ("left", 5): 0.1777,
        ("right", 6): 0.125,
        ("step", 7): 0.17,
        ("left", 3): 0.65,
        ("right", 1): 1.1,
    }
    left = {f.follow.cut: means[f.follow.name, f.follow.index] for f in found}
    return one, left, found


@pytest.mark.parametrize(
    ("name", "op", "stock", "size"),
    [
        ("left", 5, 0.1777, 25.2774),
        ("right", 6, 0.125, 25.125),
        ("step", 7, 0.17006, 9.9450),
        ("left", 3, 0.65, 25.9274),
    ],
)
def test_the_dim_to_work_to_is_that_of_the_chart(name: str, op: int, stock: float, size: float) -> None:
    """For the stock that the chart's means leave, the dim to work to is the chart's, growth taken off, to 0.1 µm."""
    one, left, _ = charted(name, op)
    found = work_to(one.follow, left, stock, stock)
    assert found is not None
    assert found.low == pytest.approx(size, abs=1.6e-4)
    assert stock_of(one.follow, left, found.low) == pytest.approx(stock, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "op", "low", "high", "own"),
    [("left", 5, 0.1000, 0.2554, 0.015), ("right", 6, 0.100, 0.150, 0.010), ("step", 7, 0.080, 0.260, 0.035)],
)
def test_stock_ranges_of_the_chart(name: str, op: int, low: float, high: float, own: float) -> None:
    """What the stated dim leaves, with the growth's range and the other dims' tolerances, is the chart's range."""
    one, left, _ = charted(name, op)
    growth = [e for e in one.stock.eats if e.kind == "growth"]
    reach = growth[0].high if growth else 0.0
    assert one.follow.leaver is not None
    stated = one.follow.chart.plan.cuts[one.follow.leaver].size
    assert stated is not None
    grown = 1.001 if growth else 1.0
    mean = stock_of(one.follow, left, stated.mean)
    assert mean is not None
    half = grown * stated.half + reach + own
    assert mean - half == pytest.approx(low, abs=2e-4)
    assert mean + half == pytest.approx(high, abs=2e-4)


def test_a_dim_between_two_grindings_leaves_the_stock() -> None:
    """The right face is ground last: what is left on it is decided by grinding the left one, not by turning it."""
    one, _, _ = charted("right", 6)
    assert one.follow.before == 1
    assert one.follow.leaves == 5
    assert one.follow.window == pytest.approx(0.03)
    assert not [e for e in one.stock.eats if e.kind == "growth"]


def test_stated_dims_are_judged() -> None:
    """What a dim in the route leaves is told, with the share that cleans up."""
    sheet = stock_sheet(build(DERIVED), "ring", surface="step")
    written = sheet.surfaces[-1].written
    assert written is not None
    assert written.chance_low <= written.chance <= 1
    assert written.high - written.low == pytest.approx(0.1 * 1.001)


# ---------------------------------------------------------------------------------------------- routes: what is counted


def kinds(one: Finishing) -> dict[str, Eats]:
    """Causes of a cut by their kind."""
    return {cause.kind: cause for cause in one.stock.eats}


def cut(made: Build, part: str, surface: str, op: str, practice: Practice | None = None) -> Finishing:
    """One finishing cut of a part."""
    found, _ = finishing_cuts(made, part, 0.99, practice)
    return next(f for f in found if f.follow.name == surface and f.follow.op.op == op)


def test_causes_on_the_rim_of_a_ring_by_hand() -> None:
    """O1 in oil, 60 over 50 mm: ovality 4e-4 · 55²/(3 · 5), half of it a side; tempered at 180 °C; skin 0 to 0.05."""
    found = kinds(cut(thin_ring(), "ring", "rim", "cylindrical grind"))
    oval = 4e-4 * 55**2 / (3 * 5) / 2
    assert (found["warp"].low, found["warp"].high) == pytest.approx((oval / 3, oval * 3))
    # 0.05 to 0.18 % read as four standard deviations, over the radius
    assert found["growth"].std == pytest.approx((0.0018 - 0.0005) / 4 * 30, rel=1e-3)
    assert (found["skin"].low, found["skin"].high) == (0, 0.05)
    assert (found["damage"].low, found["damage"].high) == (0.02, 0.06)
    # seating of the grinder: ± 0.005 mm as two standard deviations, a fifth of the variance
    assert found["run-out"].std == pytest.approx(0.0025 * sqrt(0.2))


def test_causes_on_the_face_of_a_ring_by_hand() -> None:
    """The face of the ring dishes by ε/8 (60/12) 60; out of parallel by both machines over half the diameter."""
    found = kinds(cut(thin_ring(), "ring", "left", "surface grind"))
    dish = 4e-4 / 8 * (60 / 12) * 60
    assert (found["warp"].low, found["warp"].high) == pytest.approx((dish / 3, dish * 3))
    angle = sqrt((0.01 / 100 / 2) ** 2 + (0.003 / 100 / 2) ** 2)
    assert found["lean"].std == pytest.approx(angle * 30)


def test_mean_growth_is_planned_in() -> None:
    """The rim is turned to (60 + stock)/1.0012: the growth of O1 tempered at 180 °C comes off, not on top."""
    (one,) = (s for s in stock_sheet(thin_ring(), "ring", surface="rim").surfaces if s.before)
    middle = 60 - 0.019 / 2
    assert one.work_to is not None
    assert one.work_to.low == pytest.approx((middle + one.leave_low) / 1.0012, abs=1e-4)
    assert one.work_to.high == pytest.approx((middle + one.leave_high) / 1.0012, abs=1e-4)
    assert one.grows == pytest.approx(0.0012 * 60.37, rel=1e-3)


def test_a_bore_is_bored_smaller() -> None:
    """In a bore the stock comes off the size to bore to, and the growth too."""
    (one,) = stock_sheet(thin_ring(), "ring", surface="bore").surfaces
    middle = 50 + 0.016 / 2
    assert one.work_to is not None
    assert one.work_to.high == pytest.approx((middle - one.leave_low) / 1.0012, abs=1e-4)
    assert one.work_to.low == pytest.approx((middle - one.leave_high) / 1.0012, abs=1e-4)


def test_window_is_three_standard_deviations_either_way() -> None:
    """The lathe's cut and setting, on the diameter, six standard deviations wide."""
    (one,) = stock_sheet(thin_ring(), "ring", surface="bore").surfaces
    assert one.window == pytest.approx(6 * 0.01 * sqrt(0.8))
    assert one.most - one.least == pytest.approx(one.window)


def test_practice_changes_what_it_should() -> None:
    """Trial piece, plug, stress relief, free holding and furnace each touch their own cause and no other."""
    ring = thin_ring()
    plain = kinds(cut(ring, "ring", "rim", "cylindrical grind"))
    for change, kind, factor in (
        (Practice(trial=True), "growth", 0.25),
        (Practice(supported=True), "warp", 0.4),
        (Practice(relieved=True), "warp", 0.6),
        (Practice(furnace="vacuum or gas"), "skin", 0.4),
    ):
        found = kinds(cut(ring, "ring", "rim", "cylindrical grind", change))
        assert found[kind].spread == pytest.approx(plain[kind].spread * factor)
        same = {name: cause for name, cause in plain.items() if name != kind}
        assert {name: cause for name, cause in found.items() if name != kind} == same
    face = kinds(cut(ring, "ring", "left", "surface grind", Practice(free=True)))
    assert face["warp"].high == pytest.approx(plain_face_warp(ring) / 2)


def plain_face_warp(ring: Build) -> float:
    """Most that the dish takes where nothing is said of holding."""
    return kinds(cut(ring, "ring", "left", "surface grind"))["warp"].high


def test_the_route_says_how_it_is_held() -> None:
    """In the heat: hung where nothing is said, lying with 'free', supported when clamped; a relief counts too."""
    base = plain_face_warp(thin_ring())
    harden = "{op: harden, machine: furnace}"
    lying = changed(RING, (harden, "{op: harden, machine: furnace, held: free}"))
    clamped = changed(RING, (harden, "{op: harden, machine: furnace, held: clamped}"))
    relieved = changed(RING, (harden, f"{{op: stress relieve, machine: furnace}}\n      - {harden}"))
    for made, factor in ((lying, 1.5), (clamped, 0.4), (relieved, 0.6)):
        assert plain_face_warp(made) == pytest.approx(base * factor)
    free = changed(RING, ("held: magnet", "held: free"))
    assert plain_face_warp(free) == pytest.approx(base / 2)


def test_a_scroll_chuck_runs_out_more_and_truing_helps() -> None:
    """Ground in a scroll chuck the rim runs out by 0.02 mm each way, set true by 0.005; centres by 0.002."""
    mandrel = "setup: mandrel"
    chuck = changed(RING, (mandrel, "setup: mandrel, held: chuck"))
    centres = changed(RING, (mandrel, "setup: mandrel, held: centres"))
    name = "ring", "rim", "cylindrical grind"
    assert kinds(cut(chuck, *name))["run-out"].std == pytest.approx(0.02)
    assert kinds(cut(chuck, *name, Practice(trued=True)))["run-out"].std == pytest.approx(0.005)
    assert kinds(cut(centres, *name))["run-out"].std == pytest.approx(0.002)
    sheet = stock_sheet(chuck, "ring", surface="rim")
    assert "set true" in {remedy.name for remedy in sheet.surfaces[-1].remedies}


def test_two_seatings_between_two_cuts() -> None:
    """Ground on a mandrel in the bore that was ground in the chuck: two seatings lie between rim turned and ground."""
    made = changed(
        RING,
        ("cuts: {bore: {}, rim: {}}}\n", "cuts: {bore: {}, rim: {}}}\n"),
        (
            "datum: [right], cuts: {bore: {}, rim: {}}}",
            "datum: [right, rim], cuts: {bore: {}}}\n"
            "      - {op: cylindrical grind, machine: round grinder, setup: arbor, datum: [bore], cuts: {rim: {}}}",
        ),
    )
    one = cut(made, "ring", "rim", "cylindrical grind")
    assert kinds(one)["run-out"].std == pytest.approx(0.0025 * sqrt(0.2) * sqrt(2))


def test_what_the_shop_states_is_not_assumed() -> None:
    """A capability that the shop states counts as it stands, and is not marked as assumed."""
    made = read_text(
        "format: loopwright-build/1\nname: m\nshop:\n  machines:\n"
        "    lathe: {kind: manual lathe, holds: {turn: {cut: 2 µm, setting: 1 µm, seating: 3 µm, angular: 0.1 mrad}}}\n"
        "    round grinder: {kind: cylindrical grinder, holds: {cylindrical grind: {cut: 1 µm, setting: 1 µm, "
        "seating: 4 µm}}}\n"
        "    saw: {kind: bandsaw}\n    furnace: {kind: furnace}\n    flat grinder: {kind: surface grinder}\n"
        f"parts:{RING}bodies: {{b: {{}}}}\n"
    )
    found = kinds(cut(made, "ring", "rim", "cylindrical grind"))
    assert found["run-out"].std == pytest.approx(0.004)
    assert not found["run-out"].assumed
    assert found["size"].std == pytest.approx(0.001 * sqrt(2))
    assert not found["size"].assumed


def test_a_stated_growth_is_even_between_its_limits() -> None:
    """A growth of 0.1 % ±0.05 % on the radius of 30 mm lies anywhere within ±0.015 mm; a std is normal."""
    even = changed(
        RING, ("{op: harden, machine: furnace}", "{op: harden, machine: furnace, grows: 0.1 % ±0.05 %}")
    )
    found = kinds(cut(even, "ring", "rim", "cylindrical grind"))["growth"]
    assert (found.shape, found.assumed) == ("between", False)
    assert (found.low, found.high) == pytest.approx((-0.015, 0.015), rel=1e-3)
    std = "{op: harden, machine: furnace, grows: {value: 0.1 %, std: 0.02 %}}"
    normal = changed(RING, ("{op: harden, machine: furnace}", std))
    assert kinds(cut(normal, "ring", "rim", "cylindrical grind"))["growth"].std == pytest.approx(
        0.006, rel=1e-3
    )


def test_hot_rolled_bar_has_to_be_cleaned() -> None:
    """A hot rolled bar of a steel that will be hardened has a skin without carbon; a ground one has not."""
    rolled = changed(RING, ("condition: annealed, ground", "condition: hot rolled"))
    first = finishing_cuts(rolled, "ring", 0.99)[0]
    rim = next(f for f in first if f.follow.name == "rim")
    assert rim.follow.before is None
    # A681 scheme, 65 mm square: 0.085 in a side, four fifths of it skin
    assert kinds(rim)["skin"].high == pytest.approx(0.8 * 0.085 * 25.4)
    clean = next(f for f in finishing_cuts(thin_ring(), "ring", 0.99)[0] if f.follow.name == "rim")
    assert "skin" not in kinds(clean)
    sheet = stock_sheet(rolled, "ring", surface="rim")
    need = sheet.surfaces[0].blank
    assert need is not None
    # 60 + what the grinding takes + what the turning takes, less growth: more than 62 of the 65 mm
    assert 62 < need < 65


def test_ream_bore_and_lap_beside_the_trade() -> None:
    """Customary ranges stand beside the computed least, and it is told on which side it lies."""
    sheet = {(s.surface, s.op_name): s for s in stock_sheet(bracket(), "bracket").surfaces}
    ream, bore, lap = sheet["pin", "ream"], sheet["bore", "bore"], sheet["foot", "lap"]
    assert ream.customary is not None
    assert ream.customary[:2] == pytest.approx((0.2, 0.4064))
    assert (ream.customary_says, bore.customary_says, lap.customary_says) == ("inside", "inside", "over")
    assert lap.customary is not None
    assert lap.customary[:2] == (0.005, 0.01)
    face = sheet["foot", "face"]
    assert face.customary is not None
    assert face.customary[:2] == (1, 3)


def turned_to_grind(hard: bool, diameter: int) -> SurfaceStock:
    """A pin turned and ground between centres."""
    heat = "- {op: harden, machine: furnace}\n      " if hard else ""
    made = build(
        f"""
  pin:
    material: tool steel O1
    dims: {{d: {diameter} h6}}
    surfaces: {{d: {{faces: outside, size: [{2 * diameter}, {diameter}]}}}}
    spans: {{d: d}}
    route:
      - {{op: turn, machine: lathe, setup: a, cuts: {{d: {{}}}}}}
      {heat}- {{op: cylindrical grind, machine: round grinder, held: centres, setup: b, cuts: {{d: {{}}}}}}
"""
    )
    return stock_sheet(made, "pin").surfaces[0]


@pytest.mark.parametrize(("diameter", "low", "high"), [(20, 0.25, 0.30), (40, 0.30, 0.40), (80, 0.40, 0.50)])
def test_hardened_rounds_against_the_trade(diameter: int, low: float, high: float) -> None:
    """Customary for hardened rounds up to 25, 50 and 100 mm: the least is inside, or told to be under or over.

    Source: a table in the style of *Machinery's Handbook*, from memory.
    """
    one = turned_to_grind(True, diameter)
    assert one.customary is not None
    assert one.customary[:2] == (low, high)
    expected = "inside" if low <= one.least <= high else "under" if one.least < low else "over"
    assert one.customary_says == expected
    # a rule of thumb and a sum of causes do not lie a factor of three apart
    assert low / 3 < one.least < 3 * high


def test_soft_rounds_against_the_trade() -> None:
    """Customary for tool-post grinding of soft work: 0.010 to 0.015 in over; inside or told.

    Source: issuhub.com 4752, p. 40.
    """
    one = turned_to_grind(False, 20)
    assert one.customary is not None
    assert one.customary[:2] == pytest.approx((0.254, 0.381))
    assert one.customary_says == "under"
    assert not any(cause.kind in ("growth", "warp", "skin") for cause in one.causes)


def test_an_op_without_a_machine_is_told() -> None:
    """Where the route names no machine a usual one is assumed, and said."""
    made = changed(RING, ("op: cylindrical grind, machine: round grinder", "op: cylindrical grind"))
    (one,) = (s for s in stock_sheet(made, "ring", surface="rim").surfaces if s.before)
    assert one.machine == ""
    assert "op 80 (cylindrical grind) names no machine; a cylindrical grinder is assumed" in one.notes
    named = next(s for s in stock_sheet(thin_ring(), "ring", surface="rim").surfaces if s.before)
    assert one.least == pytest.approx(named.least)


def test_beyond_the_rules_is_told() -> None:
    """A ring or a plate too thin for the rule of warp is worked out by stretching it, and that is said."""
    thin = changed(RING, ("bore: 50 H6", "bore: 59 H6"), ("size: [12, 50]", "size: [12, 59]"))
    notes = stock_sheet(thin, "ring", surface="rim").surfaces[-1].notes
    assert any("treat a trial ring" in note for note in notes)
    unknown = changed(RING, ("material: tool steel O1", "material: bearing steel"))
    notes = stock_sheet(unknown, "ring", surface="rim").surfaces[-1].notes
    assert any("warp is that of an oil quench" in note for note in notes)


def test_twin_ops_are_not_mixed_up() -> None:
    """Two ops that read alike are told apart by their place in the route."""
    made = changed(
        RING,
        (
            "{op: temper, machine: furnace, temperature: 180 degC, hardness: 60…62 HRC}",
            "{op: harden, machine: furnace}",
        ),
    )
    names = [e.name for e in cut(made, "ring", "rim", "cylindrical grind").stock.eats if e.kind == "growth"]
    assert names == ["spread of the growth in op 40 (harden)", "spread of the growth in op 50 (harden)"]
