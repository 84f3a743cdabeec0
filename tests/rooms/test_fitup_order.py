"""A fit-up run through on paper leaves what a simulated shop is left with."""

import numpy as np
import pytest

from loopwright.asbuilt.knowledge import Observation, learn
from loopwright.asbuilt.prior import Prior
from loopwright.asbuilt.timeline import as_designed
from loopwright.fitup.order import Outlook, Settable, Step, outlook
from loopwright.model.spread import Shape

MACHINES = 4000
SOURCES, SETTING = 6, 5


def prior() -> Prior:
    """Five open deviations and one setting."""
    std = np.array([3.0, 2.0, 1.0, 2.0, 1.0, 0.0]) * 1e-3
    return Prior(np.zeros(SOURCES), std, 3 * std, (Shape.NORMAL,) * SOURCES, np.full(SOURCES, 0.5))


def rows(*entries: tuple[float, ...]) -> np.ndarray:
    """Rows over the deviations."""
    return np.array(entries)


LOOKS = rows((1.0, 1.0, 0.0, 0.5, 0.0, 1.0), (1.0, -1.0, 1.0, 0.0, 0.0, 1.0))
READS = rows((1.0, 1.0, 0.0, 0.5, 0.0, 1.0), (1.0, -1.0, 1.0, 0.0, 0.0, 1.0))
TARGET = rows((1.0, 0.0, 0.0, 0.5, 1.0, 1.0))[None]


def step(noise: float, *, lock: float = 0.0, accept: float | None = None) -> Step:
    """Reads two rows, and sets the one thing that moves both."""
    reading = Observation("gap", 1, READS, np.zeros(2), np.full(2, noise))
    shim = Settable("shim", SETTING, -0.02, 0.02, std=0.0003, lock_std=lock)
    return Step("shim it", (reading,), LOOKS, np.ones(2), (shim,), accept, 10.0)


def run(*steps: Step) -> Outlook:
    """Runs steps through from the prior."""
    return outlook(learn(as_designed(prior()), []), steps, [(TARGET, 0.005)])


def shop(one: Step, generator: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Machines taken through a step: the rows it looks at afterwards, and the settings."""
    believed = prior()
    truth = generator.normal(size=(MACHINES, SOURCES)) * believed.std
    noise = one.readings[0].stds
    read = truth @ READS.T + generator.normal(size=(MACHINES, 2)) * noise
    covariance = np.diag(believed.std**2)
    gain = covariance @ READS.T @ np.linalg.inv(READS @ covariance @ READS.T + np.diag(noise**2))
    expected = read @ gain.T
    effect = LOOKS[:, SETTING]
    setting = -(expected @ LOOKS.T @ effect) / (effect @ effect)
    shim = one.settables[0]
    hit = generator.normal(size=MACHINES) * np.hypot(shim.std, shim.lock_std)
    truth[:, SETTING] = setting + hit
    return truth @ LOOKS.T, setting


@pytest.mark.parametrize(("noise", "lock"), [(0.0002, 0.0), (0.002, 0.0), (0.0005, 0.001)])
def test_a_step_leaves_what_a_simulated_shop_is_left_with(noise: float, lock: float) -> None:
    """Expected size of the worst row, spread of the settings and chance of acceptance, all as simulated."""
    one = step(noise, lock=lock, accept=0.004)
    found = run(one).steps[0]
    left, setting = shop(one, np.random.default_rng(5))
    size = np.sqrt((left**2).mean(axis=0)).max()
    # 4000 machines: 1 / sqrt(2 n) = 1.1 %
    assert found.after == pytest.approx(size, rel=0.05)
    assert found.std[0] == pytest.approx(setting.std(), rel=0.05)
    assert found.accepted == pytest.approx((np.abs(left).max(axis=1) <= 0.004).mean(), abs=0.035)


def test_a_second_look_is_worth_less_than_the_first() -> None:
    """A step that was just done leaves the next like it little to do."""
    first, second = run(step(0.0002), step(0.0002)).steps
    assert first.before > first.after
    assert second.before == pytest.approx(first.after, rel=1e-9)
    assert second.std[0] < 0.2 * first.std[0]


def test_a_step_that_reads_nothing_sets_nothing() -> None:
    """Without a reading there is nothing to go by: the setting stays, and only its own error is added."""
    blind = Step("blind", (), LOOKS, np.ones(2), step(0.001).settables, None, 0.0)
    found = run(blind).steps[0]
    assert found.mean == (0.0,)
    assert found.std == (0.0,)
    assert found.after == pytest.approx(np.hypot(found.before, 0.0003), rel=1e-9)


def test_the_range_of_an_adjuster_is_held_against_what_it_will_be_asked_for() -> None:
    """A shim that can go one standard deviation of what is needed suffices in 68 % of machines."""
    wide = run(step(0.0002)).steps[0]
    narrow = step(0.0002)
    shim = narrow.settables[0]
    tight = Settable(shim.name, shim.place, -wide.std[0], wide.std[0], std=shim.std)
    found = run(Step("tight", narrow.readings, LOOKS, np.ones(2), (tight,), None, 0.0)).steps[0]
    assert found.ranges is not None
    assert wide.ranges is not None
    assert wide.ranges.together > 0.999
    # 68.27 %: normal distribution within one standard deviation
    assert found.ranges.together == pytest.approx(0.6827, abs=0.01)


def test_shims_under_pads_may_all_go_up_together() -> None:
    """Two shims of which only the difference matters suffice although neither can go below zero."""
    looks = rows((1.0, 0, 0, 0, 1.0, -1.0))
    believed = prior()
    std = believed.std.copy()
    std[4] = 0.0
    two = Prior(believed.mean, std, 3 * std, believed.shapes, believed.top)
    reading = Observation("tilt", 1, looks, np.zeros(1), np.full(1, 1e-4))
    shims = tuple(Settable(f"shim {p}", p, 0.0, 0.02) for p in (4, 5))
    found = outlook(
        learn(as_designed(two), []), [Step("shim", (reading,), looks, np.ones(1), shims, None, 0)], []
    ).steps[0]
    assert found.ranges is not None
    assert found.ranges.together > 0.99
