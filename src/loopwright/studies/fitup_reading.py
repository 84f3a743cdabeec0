"""What a step of the fit-up reads: with what, where, how long that takes, and what was found."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loopwright.asbuilt.observing import closing_dim
from loopwright.asbuilt.surprise import looks
from loopwright.errors import RequestError
from loopwright.model.build import Units
from loopwright.model.indications import Test
from loopwright.model.records import Reading
from loopwright.studies.asking import asked
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import candidate_named, gauge_for
from loopwright.studies.fitup_bench import step_number
from loopwright.studies.fitup_moves import standing_reading
from loopwright.units import Dimension


@dataclass(frozen=True)
class FoundBefore:
    """A reading beside what everything else lets one expect; mm or rad, a free zero taken out.

    Attributes:
        entry, at, who, gauge, state: of the reading.
        found, expected, std: at each pose; the last is of the difference.
        nominal: size that 'found' and 'expected' are counted from; 0 for a test.
        surprise: of all values together, in standard uncertainties.
        stands: nothing done since has moved what it reads.
    """

    entry: int
    at: str
    who: str
    gauge: str
    state: int
    found: tuple[float, ...]
    expected: tuple[float, ...]
    std: tuple[float, ...]
    nominal: float
    surprise: float
    stands: bool

    @property
    def sizes(self) -> tuple[tuple[float, float, float], ...]:
        """Found and expected as they would be read, and the standard uncertainty of their difference."""
        base = self.nominal
        return tuple((base + f, base + e, s) for f, e, s in zip(self.found, self.expected, self.std))


@dataclass(frozen=True)
class ToRead:
    """One thing that a step reads.

    Attributes:
        name: of the test, 'part/dim', or of the closure; kind: 'test', 'dim' or 'gap'.
        dimension: of its values.
        gauge, artefact: what it is read with and against; '' where none is named.
        between: the two bodies of a test; empty for anything else.
        along: direction or component of a test, in words; ''.
        zeroed: how a test is zeroed: 'none', 'mean', 'line' or 'at'.
        note: anything to know; ''.
        minutes: of work.
        repeats: how often each pose is read.
        poses: axis positions of each value, mm or rad.
        moving: letter of the one axis that moves; '' where none or several do.
        last: its last reading, or None.
        limit: what is acceptable, mm or rad; None where nothing is stated.
    """

    name: str
    kind: str
    dimension: Dimension
    gauge: str
    artefact: str
    between: tuple[str, ...]
    along: str
    zeroed: str
    note: str
    minutes: float
    repeats: int
    poses: tuple[Mapping[str, float], ...]
    moving: str
    last: FoundBefore | None
    limit: float | None


@dataclass(frozen=True)
class StepReadings:
    """What a step reads.

    Attributes:
        units: in which the user reads.
        readings: in their order.
        minutes: of all together.
    """

    units: Units
    readings: tuple[ToRead, ...]
    minutes: float


def step_readings(bench: Bench, which: str | int) -> StepReadings:
    """What a step of the fit-up reads, and what was found.

    Args:
        bench: the build as it stands.
        which: as for ``fitup_step``.

    Raises:
        RequestError: there is no such step.
    """
    step = bench.build.fit_up[step_number(bench, which) - 1]
    found = tuple(_to_read(bench, name) for name in step.read)
    return StepReadings(bench.build.units, found, sum(one.minutes for one in found))


def _to_read(bench: Bench, name: str) -> ToRead:
    test = bench.build.tests.get(name)
    kind = "test" if test is not None else "gap" if name in bench.build.closures else "dim"
    wanted = asked(bench, name)
    gauge = wanted.gauge or gauge_for(bench, name) or ""
    try:
        minutes = candidate_named(bench, name, bench.state).minutes
    except RequestError:
        minutes = 0.0
    poses = tuple(dict(pose) for pose in wanted.poses)
    return ToRead(
        name=name,
        kind=kind,
        dimension=wanted.dimension,
        gauge=gauge,
        artefact="" if test is None else test.artefact or "",
        between=() if test is None else test.between,
        along="" if test is None else _along(test),
        zeroed="none" if test is None else test.zeroed.how,
        note=wanted.note or "",
        minutes=minutes,
        repeats=wanted.repeats or 1,
        poses=poses,
        moving=moving_axis(poses),
        last=last_found(bench, name),
        limit=None if test is None else test.limit,
    )


def _along(test: Test) -> str:
    """The direction in which a test reads: its component, or its vector; a sign where it is along an axis."""
    if test.component is not None:
        return test.component
    vector = tuple(float(v) for v in test.along or ())
    for letter, value in zip("XYZ", vector):
        if abs(value) > 1 - 1e-9:
            return f"{'+' if value > 0 else '−'}{letter}"
    return "(" + ", ".join(f"{v:.4g}" for v in vector) + ")"


def moving_axis(poses: Sequence[Mapping[str, float]]) -> str:
    """Letter of the one axis that moves between poses; '' where none or several do.

    >>> moving_axis([{"X": 0.0, "Y": 1.0}, {"X": 40.0, "Y": 1.0}])
    'X'
    """
    letters = [letter for letter in (poses[0] if poses else {}) if len({pose[letter] for pose in poses}) > 1]
    return letters[0] if len(letters) == 1 else ""


def _nominal(bench: Bench, name: str) -> float:
    """Size that a reading of a dim or a gap is held against."""
    closure = bench.build.closures.get(name)
    dim = bench.build.dim(name if closure is None else closing_dim(bench.build, closure) or "")
    return 0.0 if dim is None else dim.nominal


def last_found(bench: Bench, name: str) -> FoundBefore | None:
    """The last reading of a test, a dim or a gap beside what everything else lets one expect; None where there is none.

    Args:
        bench: the build as it stands.
        name: of it.
    """
    every = [
        (entry, record)
        for entry, record in bench.having(Reading)
        if record.of == name and record.item is None and record.against is None
    ]
    if not every:
        return None
    entry, record = every[-1]
    seen = bench.observation(entry.number)
    if seen is None:
        return None
    (look,) = looks(bench.knowledge, [seen])
    return FoundBefore(
        entry.number,
        entry.at,
        entry.who,
        record.gauge or "",
        record.state,
        tuple(map(float, look.found)),
        tuple(map(float, look.expected)),
        tuple(map(float, look.std)),
        _nominal(bench, name),
        look.surprise,
        standing_reading(bench, name) == entry.number,
    )
