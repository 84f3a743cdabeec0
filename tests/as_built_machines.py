"""Machines with readings for the as-built tests: sources by hand, random problems, and the clock-plate machine.

The brute force here knows nothing of the module under test: it writes prior and readings as one stacked system
over every unknown, the unknown zeros of sweeps among them, and hands it to a library.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lstsq, qr, solve_triangular

from loopwright.asbuilt.knowledge import Common, Knowledge, Observation
from loopwright.asbuilt.observing import Observer
from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.asbuilt.timeline import Timeline, as_designed
from loopwright.buildfile import examples, read_text
from loopwright.loop import Loop, Rows, compile_loop
from loopwright.model.records import Change, Effect, Evaluated, Reading, State
from loopwright.model.spread import Shape
from loopwright.units import Dimension

Array = NDArray[np.float64]

UM = 1e-3
DIVISOR = {Shape.RECTANGULAR: 3.0, Shape.TRIANGULAR: 6.0, Shape.ARCSINE: 2.0, Shape.NORMAL: 9.0}
"""Square of limit over standard deviation (JCGM 100:2008, 4.3.7 and 4.3.9; JCGM 101:2008, 6.4.6)."""


def beliefs(std: Sequence[float] | Array, mean: Sequence[float] | Array = (), *shapes: Shape) -> Prior:
    """A prior of sources with given standard uncertainties; normal unless shapes are named."""
    stds = np.array(std, float)
    means = np.array(mean, float) if len(mean) else np.zeros(len(stds))
    chosen = shapes or (Shape.NORMAL,) * len(stds)
    limits = stds * np.sqrt([DIVISOR.get(shape, 4.8) for shape in chosen])
    return Prior(means, stds, limits, tuple(chosen), np.full(len(stds), 0.5))


def machine(std: Sequence[float] | Array, mean: Sequence[float] | Array = (), *shapes: Shape) -> Timeline:
    """A machine as designed, of sources by hand."""
    return as_designed(beliefs(std, mean, *shapes))


def seen(
    rows: Sequence[Sequence[float]] | Array,
    values: Sequence[float] | Array,
    stds: Sequence[float] | Array,
    *common: Common,
    free: Array | None = None,
    state: int = 1,
    name: str = "a reading",
) -> Observation:
    """An observation by hand."""
    return Observation(
        name,
        state,
        np.array(rows, float),
        np.array(values, float),
        np.array(stds, float),
        common,
        np.zeros((0, 0)) if free is None else free,
    )


def shared(name: str, std: float, column: Sequence[float] | Array) -> Common:
    """An error that several values have in common."""
    return Common(name, std, np.array(column, float))


def asked(matrix: Sequence[Sequence[Sequence[float]]] | Array) -> Rows:
    """An indication with given rows, (poses, components, sources)."""
    rows = np.array(matrix, float)
    poses, components = rows.shape[:2]
    return Rows(
        rows,
        np.zeros((poses, components)),
        ("X", "Y", "Z")[:components],
        {"X": np.arange(float(poses))},
        np.zeros((poses, 3)),
        Dimension.LENGTH,
    )


def generator(seed: int) -> np.random.Generator:
    """Random numbers that are the same everywhere."""
    return np.random.Generator(np.random.PCG64(seed))


@dataclass(frozen=True)
class Problem:
    """A machine by hand and what was read on it."""

    line: Timeline
    observations: tuple[Observation, ...]


def random_problem(seed: int, sources: int = 7, readings: int = 6) -> Problem:
    """Sweeps and single readings of random rows; most sweeps have an unknown zero, some a slope, some errors in
    common with others; one source is known from the beginning.
    """
    draw = generator(seed)
    std = draw.uniform(0.2, 3.0, sources)
    std[draw.integers(sources)] = 0.0
    line = machine(std, draw.normal(size=sources))
    return Problem(line, tuple(_random_reading(draw, sources, number) for number in range(readings)))


def _random_reading(draw: np.random.Generator, sources: int, number: int) -> Observation:
    count = int(draw.integers(1, 7))
    columns = [np.ones(count), np.arange(count) - (count - 1) / 2]
    kept = int(draw.integers(0, 3)) if count > 1 else 0
    names = [name for name in ("gauge", "straightedge", f"setting {number}") if draw.random() < 0.5]
    sizes = {"gauge": 0.3, "straightedge": 0.5}
    common = [shared(name, sizes.get(name, 0.2), draw.normal(size=count)) for name in names]
    return seen(
        draw.normal(size=(count, sources)),
        3 * draw.normal(size=count),
        draw.uniform(0.1, 1.0, count),
        *common,
        free=np.stack(columns[:kept], axis=1) if kept else None,
        name=f"reading {number}",
    )


def stacked(line: Timeline, observations: Sequence[Observation]) -> tuple[Array, Array, Array]:
    """Prior and readings as one system over open pieces, errors in common and every unknown zero.

    Returns:
        Matrix and right side in standard uncertainties, and the places in x of the open pieces.
    """
    open_ = np.flatnonzero(line.std > 0)
    sizes = {error.name: error.std for one in reversed(observations) for error in reversed(one.common)}
    names = list(sizes)
    zeros = [one.free.shape[1] if one.free.size else 0 for one in observations]
    width = len(open_) + len(names) + sum(zeros)
    known = len(open_) + len(names)
    blocks, rights = [np.eye(known, width)], [np.zeros(known)]
    blocks[0][range(len(open_)), range(len(open_))] = 1 / line.std[open_]
    rights[0][: len(open_)] = line.mean[open_] / line.std[open_]
    begin = known
    for one, free in zip(observations, zeros):
        pieces = line.over_pieces(one.rows, one.state)
        block = np.zeros((len(one.values), width))
        block[:, : len(open_)] = pieces[:, open_]
        for error in one.common:
            block[:, len(open_) + names.index(error.name)] += error.std * error.column
        block[:, begin : begin + free] = one.free if free else 0.0
        closed = np.setdiff1d(np.arange(len(line.mean)), open_)
        blocks.append(block / one.stds[:, None])
        rights.append((one.values - pieces[:, closed] @ line.mean[closed]) / one.stds)
        begin += free
    return np.concatenate(blocks), np.concatenate(rights), open_


def brute_force(line: Timeline, observations: Sequence[Observation]) -> tuple[Array, Array]:
    """Mean, (pieces,), and covariance, (pieces, pieces), of the pieces by one library call."""
    matrix, right, open_ = stacked(line, observations)
    found = lstsq(matrix, right, lapack_driver="gelsd")[0]
    upper = qr(matrix, mode="r")[0][: matrix.shape[1]]
    inverse = solve_triangular(upper, np.eye(len(upper)))
    mean, cov = line.mean.copy(), np.zeros((len(line.mean),) * 2)
    mean[open_] = found[: len(open_)]
    cov[np.ix_(open_, open_)] = (inverse @ inverse.T)[: len(open_), : len(open_)]
    return mean, cov


# ------------------------------------------------------------------------------------- the clock-plate machine
@cache
def clock_plate() -> Loop:
    """The shipped example as its drawings alone have it, however it is made; all its numbers are invented."""
    return compile_loop(read_text(examples.text("clock-plate"), "clock-plate.yaml"))


@cache
def clock_observer() -> Observer:
    """Turns readings of the clock-plate machine into observations."""
    return Observer(clock_plate())


@cache
def clock_prior() -> Prior:
    """What its build file says of it."""
    return prior_of(clock_plate().sources, clock_plate().build.assume)


def all_normal(prior: Prior) -> Prior:
    """The same means and standard uncertainties, every deviation normal."""
    return replace(prior, shapes=(Shape.NORMAL,) * len(prior.shapes))


DIMS_READ = (
    "pad_FL/height pad_FR/height pad_RL/height pad_RR/height column/foot_square column/foot_lean "
    "spindle_bracket_low/face_to_bore spindle_bracket_high/face_to_bore saddle/square stop_rear/thickness "
    "head_spacer/thickness post_FL/height"
).split()
"""What is read on the bench before it goes together: a dozen dims."""


def reading(
    subject: str,
    of: str,
    values: Sequence[float] | Array,
    std: float,
    *effects: Effect,
    state: int = 1,
    against: str | None = None,
    poses: Mapping[str, Sequence[float]] | None = None,
    item: str | None = None,
) -> Reading:
    """A record of a reading, evaluated: one value and one standard uncertainty for each pose."""
    found = tuple(float(value) for value in values)
    return Reading.model_validate(
        {
            "subject": subject,
            "of": of,
            "against": against,
            "state": state,
            "item": item,
            "raw": tuple((value,) for value in found),
            "poses": {letter: tuple(at) for letter, at in (poses or {}).items()},
            "evaluated": Evaluated(values=found, stds=(std,) * len(found), effects=effects),
        }
    )


def effect(name: str, std: float, count: int) -> Effect:
    """The same error in every one of so many values."""
    return Effect(name=name, std=std, column=(1.0,) * count)


def change(what: str, of: str, value: float | None = None, std: float = 0.0, **more: object) -> Change:
    """One thing that was done."""
    return Change.model_validate({"what": what, "of": of, "value": value, "std": std, **more})


def states(*changes: Sequence[Change]) -> list[tuple[int, State]]:
    """States of a machine, each with what brought it about; the first with nothing."""
    first = State(reason="as it was put together", cause="start")
    made = [State(parent=n, reason="then", changes=tuple(some)) for n, some in enumerate(changes, 1)]
    return list(enumerate([first, *made], 1))


@cache
def proving_readings() -> tuple[Observation, ...]:
    """Every declared test of the clock-plate machine and a dozen dims, with values of nothing.

    Lengths are read to 0.7 µm and angles to 1 arcsec; the micron indicator and the length gauge have a
    calibration error each, in common to all they read, and the granite square its own squareness in two.
    """
    observer, made = clock_observer(), []
    arcsec = np.pi / 180 / 3600
    for name, test in clock_plate().build.tests.items():
        count = len(observer.test(name)[0])
        std = 1.0 * arcsec if test.angular else 0.7 * UM
        effects = [effect(f"calibration of {test.gauge}", std, count)]
        if test.artefact == "granite square":
            effects.append(effect("granite square", 1.0 * UM, count))
            # a square that is out of square grows from the zero on
            effects[-1] = effects[-1].model_copy(update={"column": tuple(np.linspace(0, 1, count).tolist())})
        made.append(observer.observation(reading("test", name, np.zeros(count), std, *effects)))
    for path in DIMS_READ:
        dim = clock_plate().build.dim(path)
        assert dim is not None
        std = 1.0 * arcsec if dim.dimension is Dimension.ANGLE else 0.7 * UM
        one = effect(f"calibration for {dim.dimension.value}", std, 1)
        made.append(observer.observation(reading("dim", path, [dim.nominal], std, one)))
    return tuple(made)


@dataclass(frozen=True)
class Taken:
    """Machines drawn from what is known, on each of which a reading was really taken.

    Attributes:
        after: what is known then; its covariance is that of every one of them.
        truth: their open unknowns, (open, machines), in prior units.
        moved: what is expected of those after the reading, (open, machines).
    """

    after: Knowledge
    truth: Array
    moved: Array

    def errors(self, flat: Array) -> tuple[Array, Array]:
        """What rows truly show and what they are expected to, each (rows, machines)."""
        line = self.after.line
        start = (line.over_pieces(flat, line.newest) @ line.mean)[:, None]
        wide = self.after.rows(flat, line.newest)
        return start + wide @ self.truth, start + wide @ self.moved


def taken(known: Knowledge, observation: Observation, machines: int, seed: int) -> Taken:
    """Draws machines from what is known, and takes a reading on each."""
    draw = generator(seed)
    after = known.with_one_more(replace(observation, values=np.zeros(len(observation.values))))
    weighed = after.weighed(after.observations[-1])
    truth = draw.normal(size=(len(after.open_), machines))
    old = np.searchsorted(after.open_, known.open_)
    truth[old] = known.moved[:, None] + known.factor @ draw.normal(size=(len(old), machines))
    noise = draw.normal(size=(len(weighed.found), machines))
    found = weighed.rows @ truth + noise - weighed.spread @ (weighed.spread.T @ noise)
    right = (after.right - weighed.rows.T @ weighed.found)[:, None] + weighed.rows.T @ found
    return Taken(after, truth, after.factor @ (after.factor.T @ right))


def adjusted(truth: Array, expected: Array, effect: Array, weights: Array) -> Array:
    """Errors left after the adjusters were set as well as what is expected allows: least squares over all rows.

    Args:
        truth: errors as they are, (rows, machines).
        expected: errors as they are expected to be, (rows, machines).
        effect: of each adjuster, (rows, adjusters).
        weights: of each row, (rows,).
    """
    settings = lstsq(weights[:, None] * effect, -weights[:, None] * expected)[0]
    return truth + effect @ np.asarray(settings)
