"""What drives a target as built, against least squares by a library, by hand, and against what was designed."""

from dataclasses import replace

import numpy as np
import pytest

from as_built_machines import brute_force, machine, seen
from loopwright.asbuilt.draws import draw
from loopwright.asbuilt.knowledge import learn
from loopwright.buildfile import examples
from loopwright.errors import Cancelled, RequestError
from loopwright.loop.rows import Rows
from loopwright.model.records import Entry, Reading, Record, Revision, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.driving import covariances, maps_now, target_now, thorough_now
from loopwright.studies.recording import Typed, consider
from loopwright.studies.standing import standing
from loopwright.units import Dimension

TARGET = "spindle square to table, front to back"


def entry(number: int, record: Record, of: int = 1) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=of, record=record)


@pytest.fixture(scope="module")
def start() -> Bench:
    """The clock-plate machine before any reading."""
    described = Revision(text=examples.text("clock-plate"))
    return bench([entry(1, described), entry(2, State(reason="as assembled", cause="start"))])


@pytest.fixture(scope="module")
def read(start: Bench) -> Bench:
    """The same with a dim and a tram read, so that readings tie deviations to each other."""
    now = start
    for typed in (
        Typed("column/foot_square", [["90 deg 12 arcsec"]], gauge="cylinder square"),
        Typed("spindle tram front to back", [["6 arcsec"]]),
        Typed("Z square to table in Y", [[f"{n} µm"] for n in (0, 1, 1, 2, 2, 3, 3)]),
    ):
        now = now.with_reading(entry(now.last + 1, consider(now, typed).reading))
    return now


def test_a_sum_that_was_read_leaves_a_share_below_zero() -> None:
    """By hand: x1 + x2 read exactly, e = x1 + 2 x2. C = ((1, -1), (-1, 1)) / 2, so C a = (-1/2, 1/2)."""
    line = machine([1.0, 1.0])
    known = learn(line, [seen([[1.0, 1.0]], [0.0], [1e-5])])
    wanted = np.array([[1.0, 2.0]])
    found = covariances(known, known.root(wanted, 1), 1)[:, 0]
    assert found == pytest.approx([-0.5, 0.5], abs=1e-6)
    assert (wanted[0] * found) / (wanted[0] @ found) == pytest.approx([-1.0, 2.0], abs=1e-6)


def test_covariances_agree_with_least_squares_by_a_library(read: Bench) -> None:
    """NumPy and SciPy solve prior and readings as one stacked system, which knows nothing of the module."""
    known = read.knowledge
    _, cov = brute_force(known.line, known.observations)
    flat = read.rows(TARGET).matrix.reshape(-1, len(read.loop.sources))
    _, root = known.of_target(read.rows(TARGET), 1)
    wanted = cov[: flat.shape[1], : flat.shape[1]] @ flat.T
    assert covariances(known, root, 1) == pytest.approx(wanted, abs=1e-6 * np.abs(wanted).max())


def test_what_is_known_to_be_off_adds_up(read: Bench) -> None:
    """Contributions along the known error come to the known error, and shares of what is not known to one."""
    now = target_now(read, TARGET)
    assert now.known > 2e-6
    assert sum(d.off for d in now.drivers) == pytest.approx(now.known, rel=1e-6)
    assert sum(d.unknown for d in now.drivers) == pytest.approx(1, abs=1e-6)
    assert sum(d.volume for d in now.drivers) == pytest.approx(1, abs=1e-6)
    assert sum(g.unknown for g in now.by_kind) == pytest.approx(1, abs=1e-6)
    assert now.expected == pytest.approx(np.hypot(now.known, now.unknown))
    assert max(now.drivers, key=lambda d: d.off).name == "column/foot_square"


def test_before_any_reading_as_built_is_as_designed(start: Bench) -> None:
    """Shares, maps and components are those of the design, which is worked out from the prior alone."""
    now, first = target_now(start, TARGET), standing(start.loop, targets=[TARGET], trials=2000).targets[0]
    assert now.expected == pytest.approx(first.expected)
    assert now.worst_pose == first.worst_pose
    designed = {(d.name, d.field): d.worst for d in first.drivers}
    for driver in now.drivers:
        assert driver.unknown == pytest.approx(designed.get((driver.name, driver.field), 0.0), abs=1e-6), (
            driver.name
        )
        assert driver.designed == pytest.approx(driver.unknown, abs=1e-6)
    for mine, theirs in zip(now.maps, first.maps, strict=True):
        assert np.array(mine.size) == pytest.approx(np.array(theirs.size))
        assert replace(mine, size=()) == replace(theirs, size=())
    for one, other in zip(now.components, first.components, strict=True):
        assert (one.name, one.bias, one.std) == (
            other.name,
            pytest.approx(other.bias),
            pytest.approx(other.std),
        )


def test_the_map_alone_is_that_of_the_whole_answer(read: Bench) -> None:
    """The front page shows the map that the page of the target shows."""
    assert maps_now(read, TARGET).maps == target_now(read, TARGET).maps


def test_the_histogram_of_one_normal_deviation_is_half_a_bell() -> None:
    """|x| of a normal x: mean u sqrt(2/pi), and 68.27 % below u (tables of the normal distribution, from memory)."""
    known = learn(machine([2.0]), [])
    rows = Rows(
        np.ones((1, 1, 1)), np.zeros((1, 1)), ("X",), {"X": np.zeros(1)}, np.zeros((1, 3)), Dimension.LENGTH
    )
    drawn = draw(known, [rows], [6.0], shapes=False, trials=20_480).normal[0]
    assert drawn.mean == pytest.approx(2 * (2 / np.pi) ** 0.5, rel=0.02)
    below = sum(share * min(max((2.0 - low) / (high - low), 0), 1) for low, high, share in drawn.histogram)
    assert below == pytest.approx(0.6827, abs=0.015)
    assert sum(share for *_, share in drawn.histogram) == pytest.approx(0.999, abs=0.001)


def test_a_thorough_draw_tells_how_far_it_is_and_can_be_stopped(start: Bench) -> None:
    """Before any reading the stated shapes are drawn as they are, so it agrees with the designed chance."""
    told: list[int] = []
    found = thorough_now(start, TARGET, trials=4096, progress=lambda done, wanted: told.append(done))
    first = standing(start.loop, targets=[TARGET], trials=8192).targets[0].monte_carlo
    assert found.settled
    assert abs(found.shaped.chance - first.chance) < 4 * np.hypot(found.shaped.chance_std, first.chance_std)
    assert told[-1] == 4096
    with pytest.raises(Cancelled):
        thorough_now(start, TARGET, trials=4096, cancel=lambda: True)


def test_a_target_that_is_not_there_is_told(start: Bench) -> None:
    """The remedy lists those that are."""
    with pytest.raises(RequestError, match="no target 'hole'"):
        target_now(start, "hole")


def test_readings_of_the_fixture_count(read: Bench) -> None:
    """None of them was left out."""
    assert len(read.having(Reading)) == len(read.knowledge.observations) == 3
