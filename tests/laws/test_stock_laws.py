"""Laws of stock to leave: more causes, more chance or wider limits never ask for less; units do not matter."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.buildfile import read_text
from loopwright.making.stock import Eats, Stock, stock_to_leave
from loopwright.making.stock_cut import Practice
from loopwright.making.stock_route import finishing_cuts, stock_of, work_to
from loopwright.studies.stock_sheet import rounding, stock_sheet
from made_parts import RING, text, thin_ring

LENGTHS = st.floats(1e-4, 0.3)
CHANCES = st.floats(0.9, 0.9995)
FEW = settings(max_examples=40, deadline=None)


@st.composite
def causes(draw: st.DrawFn, *, takes_only: bool = False) -> Eats:
    """A cause of any shape; one that only takes cannot move the surface the other way."""
    shapes = ["known", "between", "factor", "tilt", "run-out", *([] if takes_only else ["normal"])]
    shape = draw(st.sampled_from(shapes))
    low, width, std = draw(LENGTHS), draw(LENGTHS), draw(LENGTHS) / 10
    if shape in ("between", "factor", "known"):
        return Eats("cause", shape, low, low + width)
    return Eats("cause", shape, std=std)


SEVERAL = st.lists(causes(), min_size=1, max_size=6)


def least(eats: list[Eats], chance: float) -> float:
    """Least stock."""
    return stock_to_leave(eats, chance, 0.0).least


def step(eats: list[Eats]) -> float:
    """What the sum is true to."""
    return sum(one.reach[1] - one.reach[0] for one in eats) / 1000 + 1e-9


@FEW
@given(SEVERAL, causes(takes_only=True), CHANCES)
def test_one_cause_more_never_needs_less(eats: list[Eats], more: Eats, chance: float) -> None:
    """A further cause that takes something from every piece never lets less stock do."""
    assert least([*eats, more], chance) >= least(eats, chance) - step([*eats, more])


@FEW
@given(SEVERAL, st.floats(1e-4, 0.05), CHANCES)
def test_a_surface_that_moves_either_way_never_helps(eats: list[Eats], std: float, chance: float) -> None:
    """An error that is as often good as bad never lets less stock do, at chances of 90 % and more."""
    moved = [*eats, Eats("moves", "normal", std=std)]
    assert least(moved, chance) >= least(eats, chance) - step(moved)


@FEW
@given(SEVERAL, CHANCES, CHANCES)
def test_more_chance_never_needs_less(eats: list[Eats], one: float, other: float) -> None:
    """The stock rises with the chance that is asked for."""
    assert least(eats, min(one, other)) <= least(eats, max(one, other)) + 1e-12


@FEW
@given(SEVERAL, CHANCES, st.floats(0.05, 50.0))
def test_lengths_scale(eats: list[Eats], chance: float, factor: float) -> None:
    """With every length times a factor the stock is times that factor: no unit is hidden in it."""
    scaled = [replace(e, low=e.low * factor, high=e.high * factor, std=e.std * factor) for e in eats]
    assert least(scaled, chance) == pytest.approx(factor * least(eats, chance), rel=1e-6, abs=1e-12)


@FEW
@given(SEVERAL, CHANCES)
def test_order_does_not_matter(eats: list[Eats], chance: float) -> None:
    """In whatever order causes are named, the stock is the same."""
    turned = eats[::-1]
    assert least(turned, chance) == pytest.approx(least(eats, chance), rel=1e-6, abs=1e-9)


@FEW
@given(SEVERAL, CHANCES)
def test_between_its_bounds(eats: list[Eats], chance: float) -> None:
    """The stock lies between what every piece needs and what the worst piece could."""
    found = least(eats, chance)
    assert found <= max(sum(e.reach[1] for e in eats), 0.0) + step(eats)
    assert found >= max(sum(e.reach[0] for e in eats), 0.0) - step(eats)


@FEW
@given(SEVERAL, CHANCES, st.floats(0.0, 1.0))
def test_chance_rises_with_stock(eats: list[Eats], chance: float, window: float) -> None:
    """More stock cleans up with more chance; the least has the one asked for; the most adds the window."""
    found: Stock = stock_to_leave(eats, chance, window)
    chances = [found.cleans_up(found.least * share) for share in (0.0, 0.5, 0.9, 1.0, 1.1, 2.0)]
    assert chances == sorted(chances)
    fixed = all(e.reach[0] == e.reach[1] for e in eats)
    assert fixed or found.cleans_up(found.least) == pytest.approx(chance, abs=2e-3)
    assert found.most == pytest.approx(found.least + window)
    assert found.failing(0.2) <= found.failing(0.05) <= found.failing(0.001)


PRACTICES = st.builds(
    Practice,
    furnace=st.sampled_from(["vacuum or gas", "foil or pack", "coating", "none"]),
    trial=st.booleans(),
    relieved=st.booleans(),
    supported=st.booleans(),
    free=st.booleans(),
    trued=st.booleans(),
)


@settings(max_examples=25, deadline=None)
@given(PRACTICES, st.sampled_from(["trial", "relieved", "supported", "free", "trued"]))
def test_better_practice_never_needs_more(practice: Practice, which: str) -> None:
    """Each improvement, on top of any others, asks for the same stock or less on every surface."""
    worse, better = (replace(practice, **{which: value}) for value in (False, True))  # type: ignore[arg-type]
    ring = thin_ring()
    for one, other in zip(
        finishing_cuts(ring, "ring", 0.99, worse)[0], finishing_cuts(ring, "ring", 0.99, better)[0]
    ):
        assert other.stock.least <= one.stock.least + 1e-6


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 0.6), st.floats(0.0, 0.6))
def test_dim_and_stock_are_one_line(one: float, other: float) -> None:
    """The dim to work to and the stock it leaves turn into each other and back, for every cut of the ring."""
    found, _ = finishing_cuts(thin_ring(), "ring", 0.99)
    for cut in found:
        to = work_to(cut.follow, {}, min(one, other), max(one, other))
        if to is None:
            continue
        stocks = sorted(stock_of(cut.follow, {}, size) or 0.0 for size in (to.low, to.high))
        assert stocks == pytest.approx(sorted((one, other)), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.floats(1e-3, 50.0), st.sampled_from(["mm", "in", "µm", "thou"]))
def test_rounding_is_fine_enough_and_coarse_enough(stock: float, unit: str) -> None:
    """A step is a twentieth of the stock or less, and not less than a fiftieth."""
    found = rounding(stock, unit)
    assert stock / 51 <= found <= stock / 20 * (1 + 1e-9) or found <= 1e-5 * 25.4


def test_inches_and_millimetres_agree() -> None:
    """The same ring written in inches needs the same stock."""
    dims = "thickness: 12 ±0.005, bore: 50 H6, rim: 60 h6"
    inches = "thickness: 12 mm ±0.005 mm, bore: 50 mm H6, rim: 60 mm h6"
    ring = RING.replace(dims, inches).replace("size: [12, 50]", "size: [12 mm, 50 mm]")
    ring = ring.replace("size: [12, 60]", "size: [12 mm, 60 mm]").replace("round 65", "round 65 mm")
    here = stock_sheet(read_text(text(RING)), "ring").surfaces
    there = stock_sheet(read_text(text(ring, head="units: {length: in}\n")), "ring").surfaces
    assert [s.least for s in there] == pytest.approx([s.least for s in here])
    assert [s.most for s in there] == pytest.approx([s.most for s in here])
    assert all(s.step / 25.4 * 10**6 == pytest.approx(round(s.step / 25.4 * 10**6)) for s in there)
