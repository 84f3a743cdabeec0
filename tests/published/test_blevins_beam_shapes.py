"""R. D. Blevins, Formulas for Natural Frequency and Mode Shape (1979), Table 8-1: the beam with free ends.

Frequency parameters 4.7300, 7.8532, 10.9956, 14.1372, 17.2788 and the nodes of the first three shapes at
0.224; 0.132, 0.5;
0.0944, 0.356 of the length from an end (from memory; the same figures stand in any handbook of vibration).
Rails and
declared error motions are made of these shapes.
"""

import numpy as np
import pytest

from loopwright.loop.basis import beam_shapes, wave_numbers


def test_frequency_parameters() -> None:
    """The roots of cosh x cos x = 1 are 4.7300, 7.8532, 10.9956, 14.1372 and 17.2788."""
    assert wave_numbers(5) == pytest.approx([4.7300, 7.8532, 10.9956, 14.1372, 17.2788], abs=5e-5)


@pytest.mark.parametrize(
    ("number", "nodes", "printed"),
    [(1, [0.224, 0.776], 3), (2, [0.132, 0.500, 0.868], 3), (3, [0.0944, 0.356, 0.644, 0.9056], 4)],
)
def test_nodes(number: int, nodes: list[float], printed: int) -> None:
    """The shapes cross zero at 0.224, at 0.132 and 0.5, and at 0.0944 and 0.356, and mirrored."""
    place = np.linspace(0, 1, 100_001)
    shape = beam_shapes(number, place)[:, -1]
    crossed = (place[:-1] + place[1:])[np.sign(shape[:-1]) * np.sign(shape[1:]) < 0] / 2
    crossed = np.unique(np.concatenate([crossed, place[shape == 0]]).round(4))
    assert crossed == pytest.approx(nodes, abs=0.5 * 10.0 ** -min(printed, 3))


def test_ends_are_free() -> None:
    """At a free end there is no bending moment and no shear: second and third derivative are zero."""
    step = 1e-3
    shape = beam_shapes(4, np.arange(8) * step)
    second = (2 * shape[0] - 5 * shape[1] + 4 * shape[2] - shape[3]) / step**2
    assert np.abs(second / wave_numbers(4) ** 2).max() < 1e-3
    third = (-2.5 * shape[0] + 9 * shape[1] - 12 * shape[2] + 7 * shape[3] - 1.5 * shape[4]) / step**3
    assert np.abs(third / wave_numbers(4) ** 3).max() < 2e-3
