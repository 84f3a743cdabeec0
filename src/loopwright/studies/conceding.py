"""A part out of tolerance: what each way of going on would mean for the targets."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.conformity import Conformity, decide
from loopwright.asbuilt.knowledge import Knowledge
from loopwright.asbuilt.observing import moves_of
from loopwright.asbuilt.timeline import Move, changed
from loopwright.asbuilt.worth import Left, Prospect
from loopwright.errors import RequestError
from loopwright.fitup.settings import Adjusters, best_setting
from loopwright.model.build import Units
from loopwright.model.records import Change
from loopwright.studies.bench import Bench, misfit_rows
from loopwright.studies.fitup_sights import dimension_of, settables_at
from loopwright.studies.matching import Match, Other, named, others, ranked, with_other
from loopwright.studies.recording import limits_of
from loopwright.units import Dimension

Array = NDArray[np.float64]

STRAIN = 0.005
"""Misfit that a setting may make counts like an error of a whole limit at this size, mm; common practice."""
HELPS = 0.02
"""An adjuster helps that takes this share off an expected error; common practice."""


@dataclass(frozen=True)
class DimOut:
    """A dim of the part against its limits.

    Attributes:
        dim: 'part/dim'.
        dimension: of its numbers.
        conformity: of its readings alone, what was believed before left out.
        readings: how many there are in this state.
    """

    dim: str
    dimension: Dimension
    conformity: Conformity
    readings: int


@dataclass(frozen=True)
class Way:
    """One way to go on.

    Attributes:
        decision: 'use as is', 'compensate', 'match' or 'remake'.
        words: what it means.
        targets: every target then: unknown part, expected size, chance.
        settings: what to set: name, dimension, value, change.
        minutes: of work, where that is known.
    """

    decision: str
    words: str
    targets: tuple[Left, ...]
    settings: tuple[tuple[str, Dimension, float, float], ...] = ()
    minutes: float | None = None

    @property
    def least(self) -> float:
        """Chance of the target that is worst off."""
        return min((left.chance if left.chance is not None else 1.0 for left in self.targets), default=1.0)


@dataclass(frozen=True)
class ConcessionStudy:
    """What a part out of tolerance means.

    Attributes:
        build: its name; units: in which the user reads.
        part: its name.
        state: of the machine.
        dims: every dim of it that was read, against its limits.
        targets: name, dimension and limit of each.
        ways: the ways to go on, as is first.
        best: the way with the best chance of the target that is worst off; the least work where they are alike, and
            'use as is' where neither a new part nor another brings more.
        matches: everything that it could be exchanged with, the best chance first; each was tried.
    """

    build: str
    units: Units
    part: str
    state: int
    dims: tuple[DimOut, ...]
    targets: tuple[tuple[str, Dimension, float], ...]
    ways: tuple[Way, ...]
    best: str
    matches: tuple[Match, ...]


def concession(bench: Bench, part: str, *, match: Sequence[str] = ()) -> ConcessionStudy:
    """The chance to meet each target with a part used as it is, compensated, matched, or made anew.

    Args:
        bench: the build as it stands.
        part: its name.
        match: other parts or serials of items that it could be exchanged with; none named tries every part of the
            same drawing, every mirror part, and every inspected item of the kind.

    Raises:
        RequestError: there is no such part, no dim of it was read, or it has no dim in common with one named.
    """
    if part not in bench.build.parts:
        raise RequestError(f"there is no part '{part}'", "name a part of the build file")
    dims = _dims(bench, part)
    if not dims:
        raise RequestError(
            f"no dim of '{part}' was read in this state", f"record one first: loopwright record {part}/…"
        )
    tried = named(bench, part, match) if match else others(bench, part)
    matches = ranked(bench, part, tried)
    matched = [_matched(bench, part, tried, matches)] if matches else []
    ways = [_as_is(bench), *_compensated(bench), *matched, _remade(bench, part)]
    best = _best(ways)
    names = [(n, t.dimension, t.limit) for n, t in bench.build.targets.items()]
    return ConcessionStudy(
        bench.build.name,
        bench.build.units,
        part,
        bench.state,
        tuple(dims),
        tuple(names),
        tuple(ways),
        best.decision,
        matches,
    )


def _best(ways: Sequence[Way]) -> Way:
    """The best chance of the target that is worst off; where a new part would bring nothing, as it is or matched.

    What can be set takes out the errors of other parts too, so it is no measure of what this one does.
    """
    asis, remade = ways[0], ways[-1]
    if remade.least - asis.least < HELPS / 2:
        matched = [way for way in ways if way.decision == "match" and way.least - asis.least >= HELPS / 2]
        return matched[0] if matched else asis
    return max(ways, key=lambda way: (round(way.least, 2), -ways.index(way)))


def _dims(bench: Bench, part: str) -> list[DimOut]:
    out = []
    for name, dim in bench.build.parts[part].dims.items():
        path = f"{part}/{name}"
        found = dim_from_readings(bench, path)
        limits = limits_of(bench, path)
        if found is not None and limits is not None:
            value, std, count = found
            out.append(
                DimOut(path, dim.dimension, decide(value, std, lower=limits[0], upper=limits[1]), count)
            )
    return out


def dim_from_readings(bench: Bench, path: str) -> tuple[float, float, int] | None:
    """A dim by its own readings of the newest state alone: weighted mean, standard uncertainty, how many.

    Errors that the readings have in common are weighed with their covariance (generalised least squares), so the
    mean may lie outside of the readings.
    """
    since = _incarnation(bench, path)
    readings = [r for r in bench.readings_of_dims.get(path, ()) if r.state >= since]
    if not readings:
        return None
    values = np.array([fmean(r.evaluated.values) for r in readings])
    covariance = np.diag([max(fmean(r.evaluated.stds), 1e-9) ** 2 for r in readings])
    columns: dict[str, tuple[float, Array]] = {}
    for number, reading in enumerate(readings):
        for effect in reading.evaluated.effects:
            std, column = columns.setdefault(effect.name, (effect.std, np.zeros(len(readings))))
            column[number] = fmean(effect.column)
    for std, column in columns.values():
        covariance += std**2 * np.outer(column, column)
    ones = np.ones(len(values))
    weights = np.linalg.solve(covariance, ones)
    total = float(weights @ ones)
    return float(weights @ values) / total, float(np.sqrt(1 / total)), len(readings)


def _incarnation(bench: Bench, path: str) -> int:
    """Number of the state since which a dim is what it is: the last that sized it or renewed its part."""
    part = path.partition("/")[0]
    changed_in = [
        number
        for number, state in bench.states()
        for change in state.changes
        if (change.of == path and change.what == "sized") or (change.of == part and change.what == "renewed")
    ]
    return max(changed_in, default=0)


def _prospect(bench: Bench, knowledge: Knowledge, adjustable: Sequence[int] = ()) -> Prospect:
    names = list(bench.build.targets)
    rows, limits = [bench.rows(n) for n in names], [bench.target(n).limit for n in names]
    return Prospect(knowledge, rows, limits, adjustable, knowledge.line.newest)


def _as_is(bench: Bench) -> Way:
    return Way(
        "use as is", "as it is, nothing else changed", _prospect(bench, bench.knowledge).now(), (), 0.0
    )


def _compensated(bench: Bench) -> list[Way]:
    """The known error taken out at what can be set: all of it together."""
    names = list(bench.build.targets)
    paths = [path for path in bench.places_to_set() if not path.endswith("/slope")]
    found = [s for path in paths for s in settables_at(bench, path)]
    # nobody swings a rail that is set and proven to make up for one part
    settables = [s for s in found if not s.name.endswith("/slope")]
    if not settables or not names:
        return []
    knowledge, state = bench.knowledge, bench.state
    parts = [bench.rows(n).matrix.reshape(-1, len(bench.loop.sources)) for n in names]
    weights = np.concatenate([np.full(len(p), 1 / bench.target(n).limit ** 2) for n, p in zip(names, parts)])
    rows = np.concatenate(parts)
    effect = rows[:, [s.place for s in settables]]
    moving = np.abs(np.sqrt(weights)[:, None] * effect).max(axis=0) > 1e-3 / max(
        bench.target(n).limit for n in names
    )
    settables = [s for s, moves in zip(settables, moving) if moves]
    if not settables:
        return []
    adjusters = Adjusters.of(
        np.array([s.low for s in settables]),
        np.array([s.high for s in settables]),
        increment=np.array([s.increment for s in settables]),
        current=np.array([s.now for s in settables]),
    )
    # what a setting would bind counts too, so that nothing is pushed where it only strains a joint
    strained = misfit_rows(bench.loop)
    rows = np.concatenate([rows, strained])
    weights = np.concatenate([weights, np.full(len(strained), 1 / STRAIN**2)])
    effect = rows[:, [s.place for s in settables]]
    error = knowledge.expected(rows, state)
    unknown = knowledge.uncertainty(rows, state)
    worth = 0.1 * float(np.sqrt((weights * unknown**2).sum() / weights.sum()))
    setting = best_setting(error, effect, adjusters, weights=weights, worth=worth, node_limit=200_000)
    own = slice(0, len(rows) - len(strained))
    left = error[own] + effect[own] @ setting.change
    if np.sqrt((weights[own] * left**2).sum()) > (1 - HELPS) * np.sqrt(
        (weights[own] * error[own] ** 2).sum()
    ):
        return []
    # nobody sets anything by less than it can be hit
    changes = [float(c) if abs(c) > s.hit else 0.0 for s, c in zip(settables, setting.change)]
    moves = [Move(s.place, change, s.hit, onward=True) for s, change in zip(settables, changes) if change]
    line = changed(knowledge.line, moves)
    then = _prospect(bench, knowledge.in_line(line)).now()
    dims = {s.name: bench.build.dim(s.name) for s in settables}
    nominal = {name: 0.0 if dim is None else dim.nominal for name, dim in dims.items()}
    settings = tuple(
        (s.name, dimension_of(s.name), nominal[s.name] + s.now + change, change)
        for s, change in zip(settables, changes)
        if change
    )
    if not settings:
        return []
    listed = ", ".join(name for name, *_ in settings[:3]) + (
        f" and {len(settings) - 3} more" if len(settings) > 3 else ""
    )
    return [Way("compensate", f"set {listed}", then, settings)]


def _matched(bench: Bench, part: str, tried: Sequence[Other], matches: Sequence[Match]) -> Way:
    """Exchanged with what brings the best chance."""
    best = matches[0]
    other = next(one for one in tried if one.name == best.name)
    words = best.words + (f", the best of {len(matches)} that were tried" if len(matches) > 1 else "")
    return Way("match", words, _prospect(bench, with_other(bench, part, other)).now())


def _remade(bench: Bench, part: str) -> Way:
    """Made anew, as its drawing says: what it then is, is not known before it is read."""
    line = bench.knowledge.line
    moves = moves_of(bench.loop, line.prior, Change(what="renewed", of=part), {}, {})
    then = _prospect(bench, bench.knowledge.in_line(changed(line, moves))).now()
    return Way("remake", "made anew to its drawing, and not yet read", then)
