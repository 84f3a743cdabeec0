"""How long it takes to learn from readings and to say what the next one is worth: ``python3 benchmarks/as_built.py``.

A synthetic machine of about 500 deviations; single readings of dims, sweeps of 21 values with an unknown zero, and
one gauge whose calibration they have in common. Times are the best of several runs, memory is the peak of one.
"""

import sys
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from machines import machine
from timing import best

from loopwright.asbuilt.draws import draw
from loopwright.asbuilt.knowledge import Common, Knowledge, Observation, learn
from loopwright.asbuilt.prior import prior_of
from loopwright.asbuilt.surprise import look, looks
from loopwright.asbuilt.timeline import Timeline, as_designed
from loopwright.asbuilt.worth import Candidate, Prospect, ranking
from loopwright.loop import Rows, compile_loop

SOURCES, STEPS = 500, 5
SINGLE, SWEEPS, STATIONS = 10_000, 40, 21


@dataclass(frozen=True)
class Bench:
    """A machine, its target, and what was read on it."""

    line: Timeline
    rows: Rows
    limit: float
    single: list[Observation]
    sweeps: list[Observation]


def bench() -> Bench:
    """The machine, readings of its dims over and over, and sweeps along random rows."""
    loop = compile_loop(machine(SOURCES, STEPS))
    target = loop.build.targets["tool point"]
    line = as_designed(prior_of(loop.sources, loop.build.assume))
    draw_ = np.random.Generator(np.random.PCG64(1))
    rows = loop.rows(target)
    places = list(loop.dims.values())
    single = [_single(line, places[number % len(places)], draw_) for number in range(SINGLE)]
    flat = rows.matrix.reshape(-1, rows.matrix.shape[-1])
    sweeps = [_sweep(line, flat[draw_.integers(len(flat), size=STATIONS)], draw_) for _ in range(SWEEPS)]
    return Bench(line, rows, target.limit, single, sweeps)


def _single(line: Timeline, places: list[int], draw_: np.random.Generator) -> Observation:
    row = np.zeros((1, len(line.mean)))
    row[0, places] = 1.0
    common = Common("calibration", 0.0005, np.ones(1))
    # within the limits: as a dim is found that passed inspection
    value = draw_.normal(size=1) * 0.0003
    return Observation("dim", 1, row, value, np.full(1, 0.0007), (common,))


def _sweep(line: Timeline, rows: np.ndarray, draw_: np.random.Generator) -> Observation:
    common = Common("calibration", 0.0005, np.ones(STATIONS))
    values = rows @ line.mean + draw_.normal(size=STATIONS) * 0.0007
    free = np.ones((STATIONS, 1))
    return Observation("sweep", 1, rows, values, np.full(STATIONS, 0.0007), (common,), free)


def peak(work: Callable[[], object]) -> float:
    """Most memory that the work takes on top of what is there, MB."""
    tracemalloc.start()
    work()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def main() -> None:
    """Measures and prints."""
    one = bench()
    known = learn(one.line, one.sweeps)
    fresh = one.single[0]

    def with_factor(found: Knowledge) -> object:
        return found.factor, found.mean

    prospect = Prospect(known, [one.rows], [one.limit])
    candidates = [Candidate(str(n), o, 10.0) for n, o in enumerate(one.single[:100])]
    all_read = learn(one.line, one.single)
    works: dict[str, tuple[Callable[[], object], int]] = {
        f"{SWEEPS} sweeps of {STATIONS}": (lambda: with_factor(learn(one.line, one.sweeps)), 5),
        f"{SINGLE:,} single readings": (lambda: with_factor(learn(one.line, one.single)), 2),
        "one more reading": (lambda: with_factor(known.with_one_more(fresh)), 10),
        "a look at one reading": (lambda: look(known, known.observations[0]), 10),
        f"a look at {SINGLE:,} readings": (lambda: looks(all_read), 1),
        "what one reading would be worth": (lambda: prospect.worth(candidates[0]), 10),
        "ranking of 100 readings": (lambda: ranking(prospect, candidates), 2),
        "chances with the stated shapes": (lambda: draw(known, [one.rows], [one.limit], thorough=False), 2),
    }
    size = f"{len(known.open_)} open unknowns, {one.rows.matrix.shape[0]} poses"
    sys.stdout.write(f"{size}\n{'':42}{'time, ms':>12}{'memory, MB':>12}\n")
    for name, (work, times) in works.items():
        sys.stdout.write(f"{name:42}{1e3 * best(work, times):12.1f}{peak(work):12.1f}\n")


if __name__ == "__main__":
    main()
