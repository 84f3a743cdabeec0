"""The steps of a fit-up run through before metal is cut: what each will leave, need and find, on average.

Two things are followed from step to step, over the deviations x of the machine: what will be known of them, as a mean
and a factor K of its covariance over machines like this one, and what will not. A reading moves part of the second to
the first; a setting takes what is known out of what the step looks at, and adds how badly it can be hit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Knowledge, Observation
from loopwright.asbuilt.timeline import Move, changed
from loopwright.asbuilt.worth import directions
from loopwright.fitup.outlook import RangeChance, range_chance
from loopwright.fitup.settings import gain

Array = NDArray[np.float64]

TRIALS = 4000


@dataclass(frozen=True)
class Settable:
    """Something that can be set or brought to size.

    Attributes:
        name: path of the adjuster as 'joint/contact', or the dim 'part/dim' of a part sized last.
        place: of its deviation in x.
        low, high: how far it may go from nominal, in its own unit (mm, or rad for the slope of a rail).
        increment: smallest step; 0 is continuous.
        std: how well it is hit, standard uncertainty.
        lock_std: what locking moves.
        anew: it is put in anew, so what it was before is gone with it.
        less: places in x of what a part sized last no longer shares with others, each with its factor.
        now: where it stands.
    """

    name: str
    place: int
    low: float
    high: float
    increment: float = 0.0
    std: float = 0.0
    lock_std: float = 0.0
    anew: bool = False
    less: tuple[tuple[int, float], ...] = ()
    now: float = 0.0

    @property
    def hit(self) -> float:
        """Standard uncertainty of where it ends up, its increment counted as a rectangle."""
        return float(np.sqrt(self.std**2 + self.lock_std**2 + self.increment**2 / 12))


@dataclass(frozen=True)
class Step:
    """A step of the fit-up as numbers.

    Attributes:
        name: for people.
        readings: what is read in it, as it would be; the values do not matter.
        rows: what the step looks at, over the deviations, (rows, sources).
        weights: of the rows, (rows,).
        settables: what is set in it.
        accept: what is good enough, of the largest row, mm or rad; None where nothing is stated.
        minutes: of reading.
    """

    name: str
    readings: tuple[Observation, ...]
    rows: Array
    weights: Array
    settables: tuple[Settable, ...]
    accept: float | None
    minutes: float


@dataclass(frozen=True)
class StepOutlook:
    """What a step will do, over machines like this one.

    Attributes:
        name: of the step.
        before, after: expected size of the worst row that it looks at, mm or rad.
        accept: what is good enough, or None.
        accepted: chance that every row is good enough afterwards; None without that.
        mean, std: of the setting of each settable, from where it stands now.
        ranges: whether their ranges suffice; None where nothing is set.
        targets: for each target its expected size at the worst pose afterwards, mm or rad.
    """

    name: str
    before: float
    after: float
    accept: float | None
    accepted: float | None
    mean: tuple[float, ...]
    std: tuple[float, ...]
    ranges: RangeChance | None
    targets: tuple[float, ...]


@dataclass(frozen=True)
class Outlook:
    """What a fit-up will leave.

    Attributes:
        start: for each target its expected size at the worst pose before the first step.
        steps: one after the other.
        mean: what the deviations are expected to be afterwards, (sources,).
        root: F with F F' = their covariance over machines like this one, (sources, n).
        chances: to meet each target's limit afterwards.
    """

    start: tuple[float, ...]
    steps: tuple[StepOutlook, ...]
    mean: Array
    root: Array
    chances: tuple[float, ...]


def outlook(
    knowledge: Knowledge,
    steps: Sequence[Step],
    targets: Sequence[tuple[Array, float]],
    *,
    confidence: float = 0.95,
) -> Outlook:
    """Runs a fit-up through.

    Args:
        knowledge: what is known before the first step.
        steps: in their order.
        targets: of each its rows over the deviations, (poses, components, sources), and its limit.
        confidence: for which ranges are stated.
    """
    run = _Run.begin(knowledge)
    start = tuple(run.size(rows) for rows, _ in targets)
    done = [run.take(step, [rows for rows, _ in targets], confidence) for step in steps]
    root = np.concatenate([run.known, run.unknown()], axis=1)
    chances = tuple(_chance(rows, limit, run.mean, root) for rows, limit in targets)
    return Outlook(start, tuple(done), run.mean, root, chances)


@dataclass
class _Run:
    """A fit-up under way."""

    knowledge: Knowledge
    mean: Array
    known: Array
    identity: Array

    @classmethod
    def begin(cls, knowledge: Knowledge) -> "_Run":
        identity = np.eye(len(knowledge.line.prior.mean))
        mean = knowledge.expected(identity, knowledge.line.newest)
        return cls(knowledge, mean, np.zeros((len(mean), 0)), identity)

    def unknown(self) -> Array:
        """Factor of the covariance of what is not known, (sources, n)."""
        return self.knowledge.root(self.identity, self.knowledge.line.newest)

    def size(self, rows: Array) -> float:
        """Expected size of the error at the worst pose of a target, (poses, components, sources)."""
        flat = rows.reshape(-1, rows.shape[-1])
        return float(np.sqrt(self.squares(flat).reshape(rows.shape[:-1]).sum(axis=-1).max()))

    def squares(self, rows: Array) -> Array:
        """Mean square of every row, (rows,)."""
        unknown = self.knowledge.root(rows, self.knowledge.line.newest)
        return np.asarray(
            (rows @ self.mean) ** 2 + ((rows @ self.known) ** 2).sum(axis=1) + (unknown**2).sum(axis=1)
        )

    def take(self, step: Step, targets: Sequence[Array], confidence: float) -> StepOutlook:
        """Does a step: reads, sets, and looks at what is left."""
        before = float(np.sqrt(self.squares(step.rows).max(initial=0.0)))
        for reading in step.readings:
            self.read(reading)
        mean, covariance = self.set(step) if step.settables else (np.zeros(0), np.zeros((0, 0)))
        after = float(np.sqrt(self.squares(step.rows).max(initial=0.0)))
        ranges = None
        if step.settables:
            low, high = (
                np.array([getattr(s, end) - s.now for s in step.settables]) for end in ("low", "high")
            )
            shift = _indifferent(step)
            if shift is None:
                ranges = range_chance(mean, covariance, low, high, confidence=confidence, trials=20_000)
            else:
                ranges = _shifted(mean, covariance, low, high, shift, confidence)
        return StepOutlook(
            step.name,
            before,
            after,
            step.accept,
            None if step.accept is None else self.accepted(step),
            tuple(map(float, mean)),
            tuple(map(float, np.sqrt(np.maximum(covariance.diagonal(), 0)))),
            ranges,
            tuple(self.size(rows) for rows in targets),
        )

    def read(self, reading: Observation) -> None:
        """Moves what the reading will tell from what is not known to what is."""
        state = self.knowledge.line.newest
        reading = replace(reading, state=state)
        sizes, axes = directions(self.knowledge.sees(reading))
        told = (self.unknown() @ axes.T) * (sizes / np.sqrt(1 + sizes**2))
        self.known = np.concatenate([self.known, told], axis=1)
        # a finding just as expected teaches nothing about the mean, which is followed here
        shown = self.knowledge.expected(reading.rows, state)
        self.knowledge = self.knowledge.with_one_more(replace(reading, values=shown))

    def set(self, step: Step) -> tuple[Array, Array]:
        """Takes what is known out of the rows; mean and covariance of the changes of setting."""
        places = [s.place for s in step.settables]
        answer = gain(step.rows[:, places], step.weights)
        mean = -answer @ (step.rows @ self.mean)
        moved = -answer @ (step.rows @ self.known)
        # the unknown part of a part sized last goes with the old size, its known part with what is taken out of it
        for number, one in enumerate(step.settables):
            self.mean[one.place] += mean[number]
            self.known[one.place] += moved[number]
        moves = [
            Move(s.place, 0.0, s.hit, onward=not s.anew, less=s.less if s.anew else ())
            for s in step.settables
        ]
        line = changed(self.knowledge.line, moves)
        self.knowledge = self.knowledge.in_line(line)
        return np.asarray(mean), moved @ moved.T

    def accepted(self, step: Step) -> float:
        """Chance that every row is good enough."""
        root = np.concatenate(
            [step.rows @ self.known, self.knowledge.root(step.rows, self.knowledge.line.newest)], axis=1
        )
        draws = np.random.Generator(np.random.SFC64(7)).standard_normal((root.shape[1], TRIALS))
        found = np.abs((step.rows @ self.mean)[:, None] + root @ draws).max(axis=0)
        return float((found <= (step.accept or 0.0)).mean())


def _indifferent(step: Step) -> Array | None:
    """How all settables may go up together without the step seeing it, (k,); None where it would see it."""
    effect = np.sqrt(step.weights)[:, None] * step.rows[:, [s.place for s in step.settables]]
    _, sizes, axes = np.linalg.svd(effect, full_matrices=False)
    seen = axes[sizes > 1e-6 * sizes.max(initial=0.0)]
    ones = np.ones(len(step.settables))
    up = ones - seen.T @ (seen @ ones)
    return up if len(up) > 1 and up.min() > 0.5 else None


def _shifted(
    mean: Array, covariance: Array, low: Array, high: Array, up: Array, confidence: float
) -> RangeChance:
    """Chance that ranges suffice where all may be shifted together, as shims that lift a column evenly."""
    sizes, axes = np.linalg.eigh(covariance)
    draws = np.random.Generator(np.random.SFC64(6)).standard_normal((TRIALS, len(mean)))
    needed = mean + draws @ (axes * np.sqrt(np.maximum(sizes, 0))).T
    least, most = ((low - needed) / up).max(axis=1), ((high - needed) / up).min(axis=1)
    shift = np.where(least <= most, np.clip(0.0, least, most), (least + most) / 2)
    settled = needed + shift[:, None] * up
    slack = 1e-9 * (high - low)
    fits = (settled >= low - slack) & (settled <= high + slack)
    p = (fits.all(axis=1).sum() + 1) / (TRIALS + 2)
    tails = [(1 - confidence) / 2, (1 + confidence) / 2]
    ends = np.quantile(settled, tails, axis=0)
    each, together = fits.mean(axis=0), float(fits.all(axis=1).mean())
    return RangeChance(each, together, float(np.sqrt(p * (1 - p) / TRIALS)), ends[0], ends[1])


def _chance(rows: Array, limit: float, mean: Array, root: Array) -> float:
    """Chance that a target holds over its volume, everything counted as normal."""
    flat = rows.reshape(-1, rows.shape[-1])
    # one factor of no more columns than it has rank
    _, triangle = np.linalg.qr((flat @ root).T)
    draws = np.random.Generator(np.random.SFC64(8)).standard_normal((triangle.shape[0], TRIALS))
    errors = ((flat @ mean)[:, None] + triangle.T @ draws).reshape(*rows.shape[:-1], -1)
    sizes = np.sqrt((errors**2).sum(axis=-2).max(axis=0))
    return float((sizes <= limit).mean())
