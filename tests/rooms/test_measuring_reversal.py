"""Reversal of straightedge, level and spindle."""

import numpy as np
import pytest

from loopwright.errors import RequestError
from loopwright.measuring.lines import straightness
from loopwright.measuring.reversal import level_reversal, spindle_reversal, straightedge_reversal


def test_a_straightedge_by_hand() -> None:
    """Sweeps of 0 3 5 4 0 and 0 -1 1 2 0: the motion is 0 1 3 3 0 and the straightedge 0 2 2 1 0 (constructed)."""
    found = straightedge_reversal([0, 3, 5, 4, 0], [0, -1, 1, 2, 0], u=1.0)
    assert found.machine.tolist() == [0, 1, 3, 3, 0]
    assert found.artefact.tolist() == [0, 2, 2, 1, 0]
    assert found.u_machine == pytest.approx(np.full(5, 0.5**0.5))
    assert found.readings == 10


def test_a_shared_error_stays_in_one_of_the_two() -> None:
    """What both sweeps read too high alike stays in the motion at full size, and leaves the artefact alone."""
    shared = np.tile(np.full((3, 3), 4.0), (2, 2))
    found = straightedge_reversal([0, 1, 2], [0, 1, 2], u=0.0, covariance=shared)
    assert found.u_machine == pytest.approx([2, 2, 2])
    assert found.u_artefact == pytest.approx([0, 0, 0], abs=1e-12)


def test_the_motion_goes_on_to_straightness() -> None:
    """Straightness after a reversal is as uncertain as from readings of 1/√2 the uncertainty."""
    x, first, second = np.arange(5) * 100.0, [0, 3, 5, 4, 0], [0, -1, 1, 2, 0]
    found = straightedge_reversal(first, second, u=1.0)
    told = straightness(x, found.machine, u=0, covariance=found.covariance)
    assert told.u_value == pytest.approx(straightness(x, found.machine, u=0.5**0.5).u_value)


def test_a_level_by_hand() -> None:
    """A level with 20 µrad of zero on a slope of 30 µrad reads 50, and turned end for end -10."""
    found = level_reversal([50e-6], [-10e-6], u=[5e-6, 3e-6], covariance=np.full((2, 2), 1e-12))
    assert (found.machine[0], found.artefact[0]) == pytest.approx((30e-6, 20e-6))
    assert found.u_machine[0] == pytest.approx(np.hypot(5e-6, 3e-6) / 2)
    assert found.u_artefact[0] == pytest.approx((34 / 4 + 1) ** 0.5 * 1e-6)


def test_a_spindle_by_hand() -> None:
    """A ball with two lobes on a spindle with three: each comes out alone."""
    turn = np.arange(24) * np.pi / 12
    ball, motion = 5e-4 * np.cos(2 * turn), 2e-4 * np.sin(3 * turn)
    found = spindle_reversal(ball + motion, ball - motion, u=1e-5)
    assert found.machine == pytest.approx(motion, abs=1e-15)
    assert found.artefact == pytest.approx(ball, abs=1e-15)


def test_sweeps_of_different_length_are_named() -> None:
    """Two sweeps that do not fit are refused with their lengths."""
    with pytest.raises(RequestError, match="'first' 2, 'second' 1"):
        straightedge_reversal([0, 1], [0], u=1.0)
