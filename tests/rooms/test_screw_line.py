"""A screw between two mounts and its nut."""

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.fitup.screw_line import Line, effects, out_of_line, side_stiffness

LINE = Line(0.0, 400.0, np.linspace(50.0, 350.0, 7))


def test_a_screw_resists_most_near_its_bearings() -> None:
    """In the middle k is 48 E I / L^3 (Timoshenko, simply supported beam, from memory), and more elsewhere."""
    second = np.pi * 12.0**4 / 64
    middle = side_stiffness(Line(0.0, 400.0, np.array([200.0])), 12.0, 210_000.0)[0]
    assert middle == pytest.approx(48 * 210_000 * second / 400**3, rel=1e-12)
    along = side_stiffness(LINE, 12.0, 210_000.0)
    assert along.argmin() == 3
    assert along == pytest.approx(along[::-1])


def test_a_nut_gives_in_series_with_the_screw() -> None:
    """A nut as stiff as the screw halves the stiffness."""
    alone = side_stiffness(LINE, 12.0, 210_000.0)
    both = side_stiffness(Line(0.0, 400.0, LINE.nut[:1]), 12.0, 210_000.0, nut=float(alone[0]))
    assert both[0] == pytest.approx(alone[0] / 2)


def test_mounts_and_spacer_take_out_any_straight_misfit() -> None:
    """A nut 0.05 mm high and a screw that rises 0.03 mm over its length are brought into line exactly."""
    names, effect = effects(LINE, spacer=True, mounts=True)
    misfit = 0.05 - 0.03 * LINE.share
    setting = np.linalg.lstsq(effect, -misfit, rcond=None)[0]
    assert names == ("spacer", "fixed mount", "free mount")
    assert misfit + effect @ setting == pytest.approx(np.zeros(7), abs=1e-12)


def test_a_spacer_alone_leaves_the_slope() -> None:
    """The best constant leaves half of what the screw rises over the travel at either end."""
    _, effect = effects(LINE, spacer=True, mounts=False)
    misfit = 0.04 * LINE.share
    setting = np.linalg.lstsq(effect, -misfit, rcond=None)[0]
    left = misfit + effect @ setting
    assert np.abs(left).max() == pytest.approx(0.04 * (300 / 400) / 2)


def test_side_load_is_misfit_times_stiffness() -> None:
    """0.1 mm known and 0.05 mm unknown at 40 N/mm: sqrt(0.1² + 0.05²) x 40 = 4.47 N."""
    found = out_of_line([0.1], [[0.05]], [40.0])
    assert found.worst == pytest.approx(4.472, abs=5e-4)
    assert found.misfit == pytest.approx(0.1118, abs=5e-5)


def test_bearings_at_one_place_are_refused() -> None:
    """There is no line through one point."""
    with pytest.raises(RequestError, match="one place"):
        Line(10.0, 10.0, np.array([10.0]))
