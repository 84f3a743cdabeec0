"""The measurements: each function takes what it needs and gives numbers, in seconds, bytes or flop/s."""

import math
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from machines import machine
from threadpoolctl import threadpool_limits
from timing import THREADS, best, busy, command, fresh, product_rate
from uncertainties import ufloat, unumpy

from loopwright.asbuilt import montecarlo
from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.buildfile import read_text, write_text
from loopwright.loop import Loop, Rows, compile_loop
from loopwright.model.spread import Shape

ROUNDS = 8
"""Rounds of Monte Carlo and matrix products in turn, so that both meet the machine in the same state."""
START = "from loopwright.cli import main; main()"


@dataclass(frozen=True)
class Case:
    """A synthetic machine, ready to be measured."""

    text: str
    loop: Loop
    rows: Rows
    prior: Prior

    @property
    def size(self) -> tuple[int, int, int]:
        """Open sources, poses, components."""
        return int((self.prior.std > 0).sum()), *self.rows.mean.shape


def case(sources: int, steps: int) -> Case:
    """A machine of about so many sources over steps³ poses."""
    build = machine(sources, steps)
    loop = compile_loop(build)
    rows, prior = loop.rows(build.targets["tool point"]), prior_of(loop.sources, build.assume)
    return Case(write_text(build), loop, rows, prior)


def growth(one: Case, times: int) -> dict[str, float]:
    """Seconds to read, compile and propagate."""
    build = one.loop.build
    target = build.targets["tool point"]
    return {
        "text to build": best(lambda: read_text(one.text), min(times, 3)),
        "build to loop": best(lambda: compile_loop(build), times),
        "rows": best(lambda: one.loop.rows(target), times),
        "budget": best(lambda: budget(one.rows, one.prior), times),
    }


def exponent(small: float, large: float, size: float) -> float:
    """The power p in time = size ** p, from two times and the ratio of their sizes."""
    return math.log(large / small) / math.log(size)


def command_line(one: Case, times: int = 5) -> dict[str, float]:
    """``loopwright budget FILE`` and ``--help`` as a user waits for them, and a median of every stage."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "machine.yaml"
        path.write_text(one.text, "utf-8")
        found = {
            "budget": command("-c", START, "budget", str(path), times=times),
            "help": command("-c", START, "--help", times=times),
            "starting Python": command("-c", "pass", times=times),
        }
        runs = [fresh("stages.py", str(path)) for _ in range(times)]
    return found | {stage: float(np.median([run[stage] for run in runs])) for stage in runs[0]}


def general_library(one: Case) -> dict[str, float]:
    """The budget of one matrix, by Loopwright and by the uncertainties library, which tracks correlation."""
    sources, poses, components = one.size
    flat = one.rows.matrix.reshape(poses * components, -1)
    means, stds = one.prior.mean, one.prior.std

    def plain() -> list[float]:
        x = [ufloat(m, s) for m, s in zip(means, stds)]
        return [sum(a * b for a, b in zip(row, x)).std_dev for row in flat.tolist()]

    def arrays() -> np.ndarray:
        return np.asarray(unumpy.std_devs(flat @ unumpy.uarray(means, stds)))

    ours = budget(one.rows, one.prior).std.ravel()
    target = one.loop.build.targets["tool point"]
    return {
        "ours": best(lambda: budget(one.rows, one.prior), 20),
        "ours with rows": best(lambda: budget(one.loop.rows(target), one.prior), 10),
        "plain": best(plain, 1),
        "arrays": best(arrays, 2),
        "apart": float(np.abs(arrays() - ours).max() / ours.max()),
        "sources": sources,
    }


@contextmanager
def without_patterns() -> Iterator[None]:
    """The plain method: every source drawn and multiplied with every row."""
    kept, montecarlo.AT_A_TIME = montecarlo.AT_A_TIME, 10**9
    try:
        yield
    finally:
        montecarlo.AT_A_TIME = kept


@dataclass(frozen=True)
class Throughput:
    """Monte Carlo of one case, and the matrix products of the machine beside it.

    Times and rates (flop/s) are pairs: by the clock, and by the time that the cores worked.

    Attributes:
        per_trial: s.
        preparing: taking the matrix apart, once, s.
        plain: 2 x sources x rows x trials over the time, whatever was really multiplied.
        done: what was really multiplied over the time.
        square: rate of square products in this run.
        shaped: rate of products of the plain method's shape in this run.
        parts: s a trial and thread of drawing, multiplying and following the worst.
        columns: normal columns and others that were drawn.
    """

    per_trial: np.ndarray
    preparing: float
    plain: np.ndarray
    done: np.ndarray
    square: np.ndarray
    shaped: np.ndarray
    parts: dict[str, float]
    columns: tuple[int, int]


def all_rectangular(prior: Prior) -> Prior:
    """The same spread, in shapes that no normal draw can stand for."""
    return replace(prior, shapes=(Shape.RECTANGULAR,) * len(prior.shapes))


def throughput(one: Case, prior: Prior, trials: int) -> Throughput:
    """Trials a second on all cores, with the machine's own rate measured in turn."""
    sources, poses, components = one.size
    count = poses * components
    side = montecarlo.volumes([one.rows], prior)
    with threadpool_limits(1):
        preparing = best(lambda: montecarlo.volumes([one.rows], prior))
    square, shaped, took = np.zeros(2), np.zeros(2), np.full(2, np.inf)
    for _ in range(ROUNDS):
        square = np.maximum(square, product_rate((1024,) * 3))
        shaped = np.maximum(shaped, product_rate((count, sources, montecarlo.CHUNK)))
        run = busy(lambda: montecarlo.monte_carlo([one.rows], prior, [None], trials=trials))
        took = np.minimum(took, run)
    really = sum(2 * step.size for step in side.steps)
    drawing = (took - preparing / np.array([1, THREADS])) / trials
    return Throughput(
        per_trial=drawing,
        preparing=preparing,
        plain=2 * sources * count / drawing,
        done=really / drawing,
        square=square,
        shaped=shaped,
        parts=parts(side),
        columns=(side.normal, len(side.sampler.places)),
    )


def parts(side: montecarlo.Volumes) -> dict[str, float]:
    """Where the time of a chunk goes on one thread, s a trial."""
    generator = np.random.Generator(np.random.SFC64(0))
    draws = np.empty((side.steps[0].shape[1], montecarlo.CHUNK))
    found: list[np.ndarray] = []

    def draw() -> None:
        generator.standard_normal(out=draws[: side.normal])
        side.sampler.fill(generator, draws[side.normal :])

    def multiply() -> None:
        errors = draws
        for step in side.steps:
            errors = step @ errors
        found[:] = [errors]

    def follow() -> None:
        errors = found[0] + side.mean
        for block in side.blocks:
            montecarlo._size(errors, block)

    stages = {"drawing": draw, "multiplying": multiply, "worst of all poses": follow}
    with threadpool_limits(1):
        return {name: best(work, 20) / montecarlo.CHUNK for name, work in stages.items()}


def memory(sources: int, steps: int, trials: int = 0) -> dict[str, float]:
    """Peak memory in a fresh process, MB."""
    return fresh("memory.py", str(sources), str(steps), str(trials))
