"""What must hold of settings, foils and selection, whatever the machine."""

from itertools import permutations, product

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from loopwright.fitup.assignment import Tally, Task, Watch
from loopwright.fitup.bounding import Bounds, Search
from loopwright.fitup.foils import Sheet, best_packs
from loopwright.fitup.outlook import expected_after, planned
from loopwright.fitup.selection import Block, select
from loopwright.fitup.settings import Adjusters, best_setting, gain

SEEDS = st.integers(0, 2**32 - 1)


def drawn(seed: int, rank: int | None = None) -> tuple[np.ndarray, np.ndarray, np.random.Generator]:
    """An error over four poses of two components, and three adjusters, of full rank or less."""
    draw = np.random.Generator(np.random.PCG64(seed))
    effect = draw.normal(size=(4, 2, 3))
    if rank is not None:
        effect = draw.normal(size=(4, 2, rank)) @ draw.normal(size=(rank, 3))
    return draw.normal(size=(4, 2)), effect, draw


def square(error: np.ndarray, effect: np.ndarray, change: np.ndarray, weights: np.ndarray) -> float:
    """Weighted sum of squares."""
    return float((weights[:, None] * (error + effect @ change) ** 2).sum())


@given(SEEDS, st.sampled_from([None, 1, 2]), st.tuples(*[st.integers(1, 6)] * 3))
def test_increments_against_every_combination(seed: int, rank: int | None, steps: tuple[int, ...]) -> None:
    """No combination of increments leaves less than the one that is found, and it is one of them."""
    error, effect, draw = drawn(seed, rank)
    low = draw.uniform(-1, 0, 3)
    increment = draw.uniform(0.05, 0.6, 3)
    kit = Adjusters.of(low, low + increment * steps, increment=increment)
    weights = draw.uniform(0, 2, 4)
    plan = best_setting(error, effect, kit, weights=weights)
    every = [
        square(error, effect, np.array(z), weights) for z in product(*(kit.choices(j) for j in range(3)))
    ]
    found = square(error, effect, plan.values, weights)
    assert plan.proven
    assert found <= min(every) + 1e-8 * (1 + min(every))
    assert all(np.abs(kit.choices(j) - plan.values[j]).min() < 1e-12 for j in range(3))


@given(SEEDS, st.sampled_from([None, 1, 2]))
def test_the_conditions_of_a_bounded_minimum(seed: int, rank: int | None) -> None:
    """No slope is left inside a range, and at its ends none that points inward (Karush, Kuhn and Tucker)."""
    error, effect, draw = drawn(seed, rank)
    low = draw.uniform(-1, 0.2, 3)
    kit = Adjusters.of(low, low + draw.uniform(0, 1, 3))
    plan = best_setting(error, effect, kit)
    slope = np.einsum("pck,pc->k", effect, plan.error)
    small = 1e-6 * np.linalg.norm(effect) * np.linalg.norm(error)
    at_low, at_high = plan.values <= kit.low, plan.values >= kit.high
    assert (np.abs(slope[~at_low & ~at_high]) < small).all()
    assert (slope[at_low & ~at_high] > -small).all()
    assert (slope[at_high & ~at_low] < small).all()


@given(SEEDS, st.sampled_from([None, 1]), st.sampled_from([0.0, 0.07]))
def test_never_worse_and_settled_at_once(seed: int, rank: int | None, increment: float) -> None:
    """From inside the ranges an adjustment never adds error, and a second one changes nothing."""
    error, effect, draw = drawn(seed, rank)
    current = draw.uniform(-1, 1, 3)
    kit = Adjusters.of(-1.0, 1.0, increment=increment, current=current)
    plan = best_setting(error, effect, kit)
    assert plan.left.rms <= plan.before.rms * (1 + 1e-9)
    again = best_setting(
        plan.error, effect, Adjusters.of(-1.0, 1.0, increment=increment, current=plan.values)
    )
    assert abs(again.left.rms - plan.left.rms) <= 1e-7 * plan.before.rms
    if not increment or rank is None:  # increments of indifferent adjusters leave the same in many ways
        moved = again.change * np.linalg.norm(effect, axis=(0, 1))
        assert np.abs(moved).max() <= 1e-6 * np.linalg.norm(error)


@given(SEEDS)
def test_units_do_not_matter(seed: int) -> None:
    """An adjuster in other units is set to the same, also where adjusters are indifferent."""
    error, effect, draw = drawn(seed, 2)
    unit = 10 ** draw.uniform(-3, 3, 3)
    plan = best_setting(error, effect, Adjusters.of(np.full(3, -0.5), 0.5))
    other = best_setting(error, effect * unit, Adjusters.of(-0.5 / unit, 0.5 / unit))
    np.testing.assert_allclose(other.values * unit, plan.values, atol=1e-6)


@given(SEEDS)
def test_what_a_perfect_reading_leaves(seed: int) -> None:
    """Planned with nothing unseen, what is left is what the adjusters cannot reach, whoever works it out."""
    error, effect, draw = drawn(seed)
    seen = draw.normal(size=(4, 2, 5))
    plan = planned(error, effect, seen, np.zeros((4, 2, 1)))
    flat = effect.reshape(8, 3)
    rest = np.eye(8) - flat @ gain(effect)
    factor = (rest @ seen.reshape(8, 5)).reshape(4, 2, 5)
    after = expected_after((rest @ error.ravel()).reshape(4, 2), effect, factor)
    np.testing.assert_allclose(plan.left.size, after.size, atol=1e-10)
    assert plan.left.rms <= expected_after(error, effect, seen).rms * (1 + 1e-12)


@given(SEEDS, st.integers(1, 3), st.booleans())
def test_foils_against_every_choice(seed: int, packs: int, at_the_tool: bool) -> None:
    """No choice of packs that the stock allows misses less."""
    draw = np.random.Generator(np.random.PCG64(seed))
    thick = np.round(draw.uniform(0.01, 0.2, 3), 3)
    counts = draw.integers(0, 3, 3)
    stock = [Sheet(float(t), 0.001, int(n)) for t, n in zip(thick, counts)]
    wanted = draw.uniform(0, 0.4, packs)
    effect = draw.normal(size=(4, packs)) if at_the_tool else np.eye(packs)
    plan = best_packs(wanted, stock, most=2, effect=effect if at_the_tool else None)
    uses = [u for u in product(range(3), repeat=3) if sum(u) <= 2]
    every = [
        float(np.sum((effect @ (np.array(choice) @ thick - wanted)) ** 2))
        for choice in product(uses, repeat=packs)
        if (np.sum(choice, axis=0) <= counts).all()
    ]
    assert plan.proven
    assert np.sum(plan.left**2) <= min(every) + 1e-9


@given(SEEDS, st.integers(1, 4), st.integers(0, 3), st.sampled_from(["largest", "rms"]), st.booleans())
def test_selection_against_every_permutation(
    seed: int, places: int, spare: int, size: str, searched: bool
) -> None:
    """No permutation has a smaller objective than the one found, searched for or not."""
    draw = np.random.Generator(np.random.PCG64(seed))
    shape = (places, places + spare, 3, 2)
    mean, variance = draw.normal(size=shape), draw.uniform(0, 1, shape)
    base, rest = draw.normal(size=(3, 2)), draw.uniform(0, 1, (3, 2))
    found = select([Block(mean, variance, base, rest, 0.7, size)], every_up_to=0 if searched else 10**6)
    values = []
    for chosen in permutations(range(places + spare), places):
        where = (np.arange(places), list(chosen))
        squares = ((base + mean[where].sum(axis=0)) ** 2 + rest + variance[where].sum(axis=0)).sum(axis=1)
        values.append(float(squares.max() if size == "largest" else squares.mean()) ** 0.5 / 0.7)
    assert abs(found.best.objective - min(values)) < 1e-9
    assert found.best.objective <= found.average * (1 + 1e-9)
    assert found.average <= found.worst * (1 + 1e-9)


@given(SEEDS, st.sampled_from(["largest", "rms"]), st.booleans())
def test_no_choice_gets_below_its_bound(seed: int, size: str, barred: bool) -> None:
    """With none, one or two of five places filled, and whatever weights, the bound is below every choice left."""
    draw = np.random.Generator(np.random.PCG64(seed))
    shape = (5, 6, 3, 2)
    mean, variance = draw.normal(size=shape), draw.uniform(0, 0.1, shape)
    allowed = draw.random((5, 6)) < 0.8 if barred else np.ones((5, 6), bool)
    allowed[np.arange(5), np.arange(5)] = True
    task = Task.of([Block(mean, variance, draw.normal(size=(3, 2)), np.zeros((3, 2)), 1.0, size)], allowed)
    weights = draw.dirichlet(np.ones(3), 3) if size == "largest" else np.full((1, 3), 1 / 3)
    search = Search(task, Bounds.of(task, weights), Tally(np.full(6, np.inf)), lambda: np.inf, Watch())
    every = np.array([p for p in permutations(range(6), 5) if allowed[np.arange(5), p].all()])
    costs = task.costs(every)
    node = search.root()
    for place in range(3):
        used = list(node.filled.values())
        children = np.array([c for c in np.flatnonzero(allowed[place]) if c not in used], np.int64)
        for child, bound in zip(children, search.bound(node, place, tuple(range(place + 1, 5)), children)):
            here = (every[:, [*node.filled, place]] == [*used, child]).all(axis=1)
            assert bound <= costs[here].min(initial=np.inf) + 1e-9
        if not len(children):
            return
        node = search.filled(node, place, int(children[0]))
