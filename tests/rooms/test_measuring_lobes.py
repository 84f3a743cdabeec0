"""Lobes round a turn: waves by their number, with their uncertainty."""

import numpy as np
import pytest

from loopwright.measuring.lobes import lobes

TURN = np.arange(24) * np.pi / 12


def test_each_wave_comes_out_alone() -> None:
    """Three lobes of 4 µm and five of 1 µm on an eccentric part: h = 2√(a² + b²), crests where they were put."""
    readings = (
        8e-3 * np.cos(TURN - 1.0) + 2e-3 * np.cos(3 * (TURN - 0.4)) + 5e-4 * np.cos(5 * (TURN - 1.1)) + 0.7
    )
    found = {one.count: one for one in lobes(TURN, readings, u=1e-4)}
    assert sorted(found) == list(range(2, 12))
    assert found[3].height == pytest.approx(4e-3)
    assert found[3].crest == pytest.approx(0.4)
    assert found[5].height == pytest.approx(1e-3)
    assert found[5].crest == pytest.approx(1.1)
    assert max(one.height for count, one in found.items() if count not in (3, 5)) < 1e-12


def test_even_steps_give_the_textbook_uncertainty() -> None:
    """Even readings, n of them, tell an amplitude to u √(2/n), and a height to twice that."""
    (two, *_) = lobes(TURN, 1e-3 * np.cos(2 * TURN), u=2e-4)
    assert two.u_height == pytest.approx(2 * 2e-4 * (2 / 24) ** 0.5)


def test_uncertainty_against_simulation() -> None:
    """Heights scatter over 3000 trials as first order says, a shared once-per-turn error included."""
    draw = np.random.Generator(np.random.PCG64(7))
    turn = np.sort(draw.uniform(0, 2 * np.pi, 30))
    wave = 3e-3 * np.cos(2 * turn + 0.3)
    shared = 4e-4 * np.cos(2 * turn)
    told = lobes(turn, wave, u=1e-4, covariance=np.outer(shared, shared), most=3)[0]
    trials = wave + draw.normal(size=(3000, 30)) * 1e-4 + draw.normal(size=(3000, 1)) * shared
    heights = [lobes(turn, one, u=1e-4, most=3)[0].height for one in trials]
    assert np.std(heights, ddof=1) == pytest.approx(told.u_height, rel=0.05)


@pytest.mark.parametrize(("count", "most"), [(4, 0), (5, 2), (8, 3), (9, 4), (12, 5)])
def test_few_readings_tell_few_lobes(count: int, most: int) -> None:
    """Of n readings waves of fewer than n/2 lobes are told; four tell none."""
    turn = np.arange(count) * 2 * np.pi / count
    found = lobes(turn, np.cos(turn), u=1.0)
    assert max((one.count for one in found), default=0) == most


def test_readings_on_half_a_turn_are_not_parted() -> None:
    """Places that leave half of the turn out tell no lobes apart."""
    assert lobes(np.linspace(0, np.pi, 12), np.zeros(12), u=1.0) == ()
