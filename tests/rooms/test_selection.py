"""Which candidate goes where: against every permutation, a reference solver, and closed forms."""

from itertools import permutations

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from loopwright.errors import Cancelled, RequestError
from loopwright.fitup.assignment import Size
from loopwright.fitup.selection import Block, Selection, select


def block(
    seed: int, places: int, candidates: int, poses: int = 6, components: int = 2, *, size: Size = "largest"
) -> Block:
    """A target of random contributions."""
    draw = np.random.Generator(np.random.PCG64(seed))
    shape = (places, candidates, poses, components)
    return Block(
        draw.normal(size=shape),
        draw.uniform(0, 0.5, shape),
        draw.normal(size=shape[2:]),
        draw.uniform(0, 0.3, shape[2:]),
        draw.uniform(0.5, 2),
        size,
    )


def objective(blocks: list[Block], chosen: tuple[int, ...]) -> float:
    """Largest of size / limit over the targets, written out."""
    ratios = []
    for b in blocks:
        mean = b.base_mean + sum(b.mean[j, c] for j, c in enumerate(chosen))
        variance = b.base_variance + sum(b.variance[j, c] for j, c in enumerate(chosen))
        squares = (mean**2 + variance).sum(axis=1)
        ratios.append((squares.max() if b.size == "largest" else squares.mean()) ** 0.5 / b.limit)
    return float(max(ratios))


def check(found: Selection, blocks: list[Block], allowed: np.ndarray) -> list[float]:
    """Compares with every permutation, and gives their objectives in rising order."""
    places, candidates = allowed.shape
    choices = [
        c for c in permutations(range(candidates), places) if all(allowed[j, i] for j, i in enumerate(c))
    ]
    values = {c: objective(blocks, c) for c in choices}
    ordered = sorted(values.values())
    np.testing.assert_allclose([c.objective for c in found.ranking], ordered[:10], rtol=1e-10)
    for choice in found.ranking:
        assert values[choice.candidates] == pytest.approx(choice.objective, rel=1e-10)
    forced = [min((v for c, v in values.items() if i in c), default=np.inf) for i in range(candidates)]
    np.testing.assert_allclose(found.forced, forced, rtol=1e-10)
    return ordered


@pytest.mark.parametrize("every_up_to", [200_000, 0])
@pytest.mark.parametrize(
    ("seed", "places", "candidates"),
    [(1, 1, 5), (2, 2, 9), (3, 3, 11), (4, 4, 6), (5, 5, 5), (6, 3, 3), (7, 4, 8)],
)
def test_every_permutation(every_up_to: int, seed: int, places: int, candidates: int) -> None:
    """Evaluating all of them and searching both find the ten best and the cost of each candidate."""
    blocks = [block(seed, places, candidates), block(seed + 50, places, candidates, 3, 3, size="rms")]
    allowed = np.random.Generator(np.random.PCG64(seed)).random((places, candidates)) < 0.9
    allowed[np.arange(places), np.arange(places)] = True
    found = select(blocks, allowed=allowed, every_up_to=every_up_to)
    ordered = check(found, blocks, allowed)
    if every_up_to:
        assert (found.every, found.choices, found.average_std) == (True, len(ordered), 0.0)
        assert found.average == pytest.approx(np.mean(ordered))
        assert found.worst == pytest.approx(ordered[-1])
    else:
        assert not found.every
        assert found.average == pytest.approx(np.mean(ordered), abs=5 * found.average_std + 1e-12)
        assert found.worst <= ordered[-1] * (1 + 1e-12)
    for b, sizes in zip(blocks, found.sizes):
        size = sizes.max() if b.size == "largest" else np.sqrt((sizes**2).mean())
        assert size / b.limit <= found.best.objective * (1 + 1e-12)


@pytest.mark.parametrize("every_up_to", [200_000, 0])
def test_against_a_reference_solver(every_up_to: int) -> None:
    """Where variances only add up, it is the assignment problem that SciPy solves."""
    draw = np.random.Generator(np.random.PCG64(9))
    variance = draw.uniform(0, 1, (5, 9, 1, 1))
    target = Block(np.zeros_like(variance), variance, np.zeros((1, 1)), np.full((1, 1), 0.1), size="rms")
    found = select([target], every_up_to=every_up_to)
    places, candidates = linear_sum_assignment(variance[:, :, 0, 0])
    assert found.best.candidates == tuple(candidates.tolist())
    assert found.best.objective**2 == pytest.approx(0.1 + variance[places, candidates].sum())


def test_four_rails_for_two_places() -> None:
    """Rails bowed by 4, 4, -4 and 0 µm side by side, whose bows add: 0 and 0 cannot be, 4 and -4 cancel."""
    bow = np.array([4.0, 4.0, -4.0, 0.0]) * 1e-3
    mean = np.broadcast_to(bow[None, :, None, None], (2, 4, 1, 1))
    found = select([Block(mean, np.zeros_like(mean), np.zeros((1, 1)), np.zeros((1, 1)))])
    assert {c.candidates for c in found.ranking[:4]} == {(0, 2), (2, 0), (1, 2), (2, 1)}
    assert found.best.objective == pytest.approx(0, abs=1e-12)
    # 4 + 4, four times 4 + 0, two of which are -4 + 0, and twice 4 - 4: by pairs, either way round
    assert found.average == pytest.approx(1e-3 * (8 + 3 * 4 + 2 * 0) / 6)
    assert found.worst == pytest.approx(8e-3)
    np.testing.assert_allclose(found.forced, [0, 0, 0, 4e-3], atol=1e-12)
    assert found.aside == (3,)


def test_three_of_fifty() -> None:
    """Three of fifty over 125 poses: the search and the evaluation of all 117,600 agree."""
    blocks = [block(3, 3, 50, 125, 3)]
    every, search = select(blocks), select(blocks, every_up_to=0, forced=False)
    assert (every.every, search.every, every.choices) == (True, False, 117_600)
    for one, other in zip(every.ranking, search.ranking):
        assert one.candidates == other.candidates
        assert one.objective == pytest.approx(other.objective, rel=1e-12)
    assert search.average == pytest.approx(every.average, abs=5 * search.average_std)
    assert np.isnan(search.forced).all()
    assert search.aside == ()


def test_the_seed_decides_the_sample() -> None:
    """The same seed gives the same average, another one another."""
    blocks = [block(3, 3, 20)]
    first, again, other = (select(blocks, every_up_to=0, forced=False, seed=s).average for s in (1, 1, 2))
    assert first == again != other


def test_alike_candidates() -> None:
    """Where all candidates are alike nobody is put aside, and a search comes to its end."""
    mean = np.ones((3, 9, 4, 2))
    target = Block(mean, mean, np.zeros((4, 2)), np.zeros((4, 2)))
    for every_up_to in (200_000, 0):
        found = select([target], every_up_to=every_up_to)
        assert found.best.objective == pytest.approx(found.average) == pytest.approx(24**0.5)
        assert found.aside == ()


def test_progress_and_cancel() -> None:
    """Both ways report their steps, and stop when told to."""
    seen: list[tuple[int, int | None]] = []
    select([block(1, 3, 12)], progress=lambda done, of: seen.append((done, of)))
    assert seen[-1] == (12, 12)
    for every_up_to in (200_000, 0):
        with pytest.raises(Cancelled):
            select([block(1, 3, 12)], every_up_to=every_up_to, cancel=lambda: True)


def zeros(*shape: int) -> np.ndarray:
    """Nothing, in a shape."""
    return np.zeros(shape)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: select([]), "differ"),
        (lambda: select([block(1, 2, 3), block(1, 2, 4)]), "differ"),
        (lambda: select([block(1, 4, 3)]), "4 places and 3 candidates"),
        (lambda: select([block(1, 2, 3)], allowed=np.ones((3, 2))), "allowed"),
        (lambda: select([block(1, 2, 3)], allowed=[[1, 0, 0], [0, 0, 0]]), "in place 2"),
        (lambda: select([block(1, 2, 3)], allowed=[[1, 0, 0], [1, 0, 0]]), "no choice"),
        (lambda: select([block(1, 2, 3)], allowed=[[1, 0, 0], [1, 0, 0]], every_up_to=0), "hardly any"),
        (lambda: Block(zeros(2, 3, 4), zeros(2, 3, 4), zeros(4), zeros(4)), "places, candidates"),
        (lambda: Block(zeros(2, 3, 4, 1), zeros(2, 3, 4, 2), zeros(4, 1), zeros(4, 1)), "variance"),
        (lambda: Block(zeros(2, 3, 4, 1), zeros(2, 3, 4, 1) - 1, zeros(4, 1), zeros(4, 1)), "zero or more"),
        (lambda: Block(zeros(2, 3, 4, 1) + np.nan, zeros(2, 3, 4, 1), zeros(4, 1), zeros(4, 1)), "no number"),
        (lambda: Block(*(zeros(*s) for s in [(1, 1, 1, 1)] * 2 + [(1, 1)] * 2), limit=0.0), "above zero"),
    ],
)
def test_mistakes_are_named(call: object, words: str) -> None:
    """Targets that disagree, more places than candidates and values that are no numbers are refused in words."""
    assert callable(call)
    with pytest.raises(RequestError, match=words):
        call()
