"""Packs of foils against every combination, and what to do where foils or a blank will not do."""

from itertools import combinations_with_replacement, product

import numpy as np
import pytest

from loopwright.errors import Cancelled, RequestError
from loopwright.fitup.foils import Sheet, best_packs, spacer

STOCK = [Sheet(0.02, 0.001, 2), Sheet(0.05, 0.002, 2), Sheet(0.1, 0.003, 1), Sheet(0.25, 0.005, 2)]


def packs_of(stock: list[Sheet], most: int) -> list[tuple[int, ...]]:
    """Every pack by the places of its foils in the stock."""
    return [p for n in range(most + 1) for p in combinations_with_replacement(range(len(stock)), n)]


def every_choice(wanted: list[float], stock: list[Sheet], most: int) -> list[np.ndarray]:
    """Misses of every choice of packs that the stock allows."""
    counts = np.array([sheet.count for sheet in stock])
    thick = np.array([sheet.thickness for sheet in stock])
    uses = [np.bincount(np.array(p, np.int64), minlength=len(stock)) for p in packs_of(stock, most)]
    return [
        np.array(choice) @ thick - wanted
        for choice in product(uses, repeat=len(wanted))
        if (np.sum(choice, axis=0) <= counts).all()
    ]


def test_one_pack() -> None:
    """0.17 mm is 0.1 + 0.05 + 0.02 from stock, and its uncertainty the root of the squares of theirs."""
    (pack,) = best_packs([0.17], STOCK).packs
    assert pack.foils == (0.1, 0.05, 0.02)
    assert pack.miss == pytest.approx(0, abs=1e-12)
    assert pack.uncertainty == pytest.approx(14**0.5 * 1e-3)


def test_foils_of_one_sheet_share_their_error() -> None:
    """Two foils of one sheet are uncertain by twice its uncertainty, and make two packs go together."""
    plan = best_packs([0.5, 0.1], [Sheet(0.25, 0.005, 2), Sheet(0.05, 0.002, 9)], most=2)
    assert plan.packs[0].uncertainty == pytest.approx(0.010)
    both = best_packs([0.25, 0.25], [Sheet(0.25, 0.005, 2)])
    np.testing.assert_allclose(both.covariance, 0.005**2)


@pytest.mark.parametrize("seed", range(12))
def test_packs_against_every_choice(seed: int) -> None:
    """Three packs from few foils miss no more than the best of all choices, and use no foil twice."""
    draw = np.random.Generator(np.random.PCG64(seed))
    stock = [
        Sheet(round(t, 3), 0.001, int(n)) for t, n in zip(draw.uniform(0.02, 0.3, 4), draw.integers(1, 3, 4))
    ]
    wanted = draw.uniform(0.05, 0.5, 3).tolist()
    plan = best_packs(wanted, stock, most=2)
    best = min(np.sum(miss**2) for miss in every_choice(wanted, stock, 2))
    assert plan.proven
    assert np.sum(plan.left**2) == pytest.approx(best, abs=1e-10)
    used = np.bincount(np.array([s for p in plan.packs for s in p.sheets], np.int64), minlength=4)
    assert (used <= [sheet.count for sheet in stock]).all()
    assert [p.thickness - w for p, w in zip(plan.packs, wanted)] == pytest.approx(
        [p.miss for p in plan.packs]
    )


@pytest.mark.parametrize("seed", range(8))
def test_packs_for_the_tool_against_every_choice(seed: int) -> None:
    """With an effect it is the error at the tool that is least, not the misses."""
    draw = np.random.Generator(np.random.PCG64(seed))
    wanted, effect = draw.uniform(0.05, 0.4, 3).tolist(), draw.normal(size=(5, 3))
    plan = best_packs(wanted, STOCK, most=2, effect=effect)
    best = min(np.sum((effect @ miss) ** 2) for miss in every_choice(wanted, STOCK, 2))
    assert plan.proven
    assert np.sum(plan.left**2) == pytest.approx(best, abs=1e-9)


def test_fewest_foils() -> None:
    """Of packs of one thickness the one of a single foil is taken, then the one that is known best."""
    stock = [Sheet(0.05, 0.001, 9), Sheet(0.1, 0.004, 9), Sheet(0.1, 0.002, 9)]
    (pack,) = best_packs([0.1], stock).packs
    assert pack.sheets == (2,)


def test_a_foil_is_given_where_it_is_needed_most() -> None:
    """One foil of 0.1 mm and two packs that want it: it goes where its want is missed by more otherwise."""
    stock = [Sheet(0.1, 0.0, 1), Sheet(0.09, 0.0, 1)]
    plan = best_packs([0.1, 0.1], stock, most=1, tolerance=0.005)
    assert sorted(p.thickness for p in plan.packs) == [0.09, 0.1]
    (remedy,) = plan.remedies
    assert "the other packs need the foils, and it stays 0.01 mm off" in remedy


def test_nothing_comes_near() -> None:
    """Where no pack comes within the tolerance the remedy is a spacer, in the unit asked for."""
    plan = best_packs([0.035], STOCK, most=1, tolerance=0.005, unit="µm")
    assert plan.remedies == ("pack 1: no single foil comes nearer than 15 µm; grind a spacer to 35.0 µm",)
    assert "no pack of up to 3 foils comes nearer" in best_packs([2.0], STOCK, tolerance=0.005).remedies[0]
    assert best_packs([0.035], STOCK, most=1, tolerance=0.015).remedies == ()
    assert best_packs([0.035], STOCK, most=1).remedies == ()
    at_tool = best_packs([0.035, 0.0], STOCK, most=1, tolerance=0.001, effect=[[1.0, -1.0]])
    assert at_tool.remedies == (
        "no packs come nearer than 0.005 mm at the tool; grind spacers to 0.03500 mm",
    )


def test_a_large_stock_is_searched_at_once() -> None:
    """Eight packs from thirty scarce sheets are settled, and the search can be stopped."""
    draw = np.random.Generator(np.random.PCG64(3))
    stock = [Sheet(round(t, 2), 0.001, 1) for t in draw.uniform(0.01, 0.5, 30)]
    plan = best_packs(draw.uniform(0.1, 0.9, 8), stock, node_limit=1_000_000)
    assert np.abs(plan.left).max() < 0.02
    with pytest.raises(Cancelled):
        best_packs([0.1], stock, cancel=lambda: True)


def test_spacer_to_increments() -> None:
    """11.9634 mm in steps of 5 µm is 11.965 mm, and 0.135 to 0.185 mm come off a blank of 12.1 to 12.15 mm."""
    found = spacer(11.9634, (12.1, 12.15), increment=0.005, least_cut=0.05)
    assert found.possible
    assert found.size == pytest.approx(11.965)
    assert found.miss == pytest.approx(0.0016)
    assert found.grind_off == pytest.approx((0.135, 0.185))


@pytest.mark.parametrize(
    ("wanted", "blank", "rules", "words"),
    [
        (12.0, (11.9, 11.9), {}, "the blank is 0.1 mm too thin; take a blank of at least 12 mm"),
        (
            12.0,
            (11.9, 12.1),
            {"least_cut": 0.05},
            "may be 0.1 mm too thin; take a blank of at least 12.05 mm",
        ),
        (12.0, (12.02, 12.02), {"least_cut": 0.05}, "only 0.02 mm would come off, and it takes 0.05 mm"),
        (
            0.4,
            (3.0, 3.0),
            {"thinnest": 1.0},
            "0.4 mm cannot be ground, 1 mm is the thinnest; take 0.6 mm off",
        ),
    ],
)
def test_spacer_that_will_not_do(
    wanted: float, blank: tuple[float, float], rules: dict[str, float], words: str
) -> None:
    """A blank too thin, a cut too light to clean up and a spacer too thin to grind come with a remedy."""
    found = spacer(wanted, blank, **rules)
    assert not found.possible
    assert words in found.remedy


def test_spacer_used_as_it_is() -> None:
    """A blank that measures its size within half an increment needs no cut."""
    assert spacer(12.0, (12.002, 12.002), increment=0.005, least_cut=0.05).possible
    assert spacer(12.0, (12.0, 12.0), least_cut=0.05).possible


def test_spacer_never_below_the_thinnest() -> None:
    """The size stays a multiple of the increment and no thinner than can be ground."""
    assert spacer(1.01, (3.0, 3.0), increment=0.05, thinnest=1.01).size == pytest.approx(1.05)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: best_packs([-0.1], STOCK), "zero or more"),
        (lambda: best_packs([], STOCK), "no thickness"),
        (lambda: best_packs([0.1], [Sheet(0.0, 0.0, 1)]), "sheet 1"),
        (lambda: best_packs([0.1], STOCK, most=0), "one foil"),
        (lambda: best_packs([0.1], STOCK * 50, most=9), "too many packs"),
        (lambda: best_packs([0.1], STOCK, effect=[[1.0, 2.0]]), "effect"),
        (lambda: spacer(12.0, (12.2, 12.1)), "empty"),
        (lambda: spacer(float("nan"), (12.2, 12.3)), "no number"),
    ],
)
def test_mistakes_are_named(call: object, words: str) -> None:
    """Thicknesses, sheets and blanks that cannot be are refused in words."""
    assert callable(call)
    with pytest.raises(RequestError, match=words):
        call()
