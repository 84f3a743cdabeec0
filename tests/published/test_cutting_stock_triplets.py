"""Bin packing instances whose optimum is known by how they are made: triplets.

E. Falkenauer, Journal of Heuristics 2 (1996) 5, and the notes of OR-Library, "One-dimensional bin packing": bins of
1000; each bin of the best packing holds three items and nothing else, one of 380 to 490 and two of 250 or more; so
n items need n/3 bins. The instances here are made by that rule, not taken from the library.
"""

import numpy as np
import pytest

from loopwright.making.sawing import Bar, Piece, Saw, saw_list


def triplets(bins: int, seed: int) -> list[int]:
    """Items that fill so many bins of 1000 to the brim."""
    draw = np.random.Generator(np.random.PCG64(seed))
    items: list[int] = []
    for _ in range(bins):
        first = int(draw.integers(380, 490))
        second = int(draw.integers(250, (1000 - first) // 2 + 1))
        items += [first, second, 1000 - first - second]
    return items


@pytest.mark.parametrize(("bins", "seed"), [(6, 1), (10, 1), (20, 2)])
def test_a_third_as_many_bins_as_items(bins: int, seed: int) -> None:
    """The packing without any waste is found and proven."""
    items = triplets(bins, seed)
    pieces = [Piece(f"{n}", size, 1, "bin") for n, size in enumerate(items)]
    found = saw_list(pieces, [Bar("bin", 1000, None, "bin", 1.0)], Saw(0.0), within=0.0, seconds=30.0)
    assert found.cost == bins
    assert found.gap == 0
    assert all(bar.rest == 0 for bar in found.bars)
