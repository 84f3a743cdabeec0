"""Dormer Pramet, milling catalogue 2021-2022, p. 311: passes of a thread mill, internal metric threads.

docs.steelcam.org/dormer-pramet/katalog-dormer-pramet-frezerovanie-2021-2022-page311: number of passes and radial depth
of each, with the accumulated depth printed below.
"""

import pytest

from loopwright.handbook.thread_milling import PASSES

ACCUMULATED = """
0.50 2 0.289
0.70 2 0.404
0.75 3 0.433
0.80 3 0.544
1.00 3 0.577
1.25 4 0.722
1.50 5 0.866
1.75 5 1.010
2.00 6 1.155
2.50 7 1.443
3.00 7 1.732
"""


@pytest.mark.parametrize("line", ACCUMULATED.strip().splitlines())
def test_passes_add_up_to_the_printed_depth(line: str) -> None:
    """Number of passes, and their sum within the rounding of each."""
    pitch, count, depth = line.split()
    passes = PASSES[float(pitch)]
    assert len(passes) == int(count)
    assert sum(passes) == pytest.approx(float(depth), abs=0.0005 * (len(passes) + 1))
