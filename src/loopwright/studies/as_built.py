"""Where does it stand, as built? What the readings so far let one expect at the tool, beside what was designed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.draws import AsBuiltDraws, draw
from loopwright.asbuilt.knowledge import Knowledge
from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.surprise import SECOND_LOOK, looks, surprising
from loopwright.asbuilt.worth import Left, Prospect
from loopwright.errors import RequestError
from loopwright.loop.rows import Rows
from loopwright.loop.sources import SourceKind
from loopwright.model.build import Units
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import candidates, seen_by
from loopwright.units import Dimension

Array = NDArray[np.float64]

MEASURED = 0.5
"""A deviation is measured where readings left at most this share of its uncertainty."""
THOROUGH_TRIALS, QUICK_TRIALS, DESIGNED_TRIALS = 16_384, 2048, 8192
NEWEST = 20
"""Readings, the last ones, that are looked at again on every front page."""
NARROWS = 0.05
"""Share of a deviation's variance that a reading must take off to be named as what would resolve it."""
MATTERS = 0.01
"""Share of a target's variance from which an open deviation is named as unresolved."""


@dataclass(frozen=True)
class TargetAsBuilt:
    """One target as designed and as built; mm or rad.

    Attributes:
        name, dimension, limit: of the target.
        designed: expected size at the worst pose, before any reading.
        designed_chance: to meet the limit everywhere, then.
        expected: expected size at the worst pose now: known error and what is not known, root sum of squares.
        known: size of the known error there.
        unknown: standard uncertainty there.
        worst_pose: axis positions there.
        chance: to meet the limit everywhere, with the stated shapes.
        chance_std: sampling uncertainty of that.
        chance_normal: the same with every deviation counted as normal.
        coverage: size that the build's share of machines like this one keeps to.
        adjusted: expected size after the adjusters were set by what is known now.
        adjusted_chance: chance after that.
        before: expected size before the last entry that moved anything; None where there is none.
        before_chance: chance then.
        confidence: chance that the build asks for.
    """

    name: str
    dimension: Dimension
    limit: float
    designed: float
    designed_chance: float
    expected: float
    known: float
    unknown: float
    worst_pose: dict[str, float]
    chance: float
    chance_std: float
    chance_normal: float
    coverage: float
    adjusted: float
    adjusted_chance: float
    before: float | None
    before_chance: float | None
    confidence: float

    @property
    def meets(self) -> bool:
        """The chance to meet the limit is the build's confidence or better."""
        return self.chance >= self.confidence

    @property
    def verdict(self) -> str:
        """'enough' or 'not yet'; 'too close to call' where sampling leaves open which."""
        if abs(self.chance - self.confidence) < 2 * self.chance_std:
            return "too close to call"
        return "enough" if self.meets else "not yet"


@dataclass(frozen=True)
class Known:
    """How a deviation is known.

    Attributes:
        name, kind, field: of the deviation.
        dimension: of its numbers.
        how: 'measured', 'assumed' or 'unresolved'.
        mean, std: expected value and standard uncertainty now, mm or rad.
        designed_std: standard uncertainty before any reading.
        share: largest share of a target's variance that it carries now.
        resolved_by: the reading that would narrow it most, for an unresolved one; '' where none is declared.
    """

    name: str
    kind: str
    field: str
    dimension: Dimension
    how: str
    mean: float
    std: float
    designed_std: float
    share: float
    resolved_by: str


@dataclass(frozen=True)
class ReadingLook:
    """One reading beside what everything else lets one expect.

    Attributes:
        entry: its number in the book.
        name: what was read.
        dimension: of its values.
        found, expected, std: at each pose: what was found (a free zero taken out), what prior and all other readings
            let one expect, and the standard uncertainty of the difference.
        surprise: of all values together, in standard uncertainties.
        outside: a mean of readings that lies outside of all of them, as errors in common can make it; or ''.
    """

    entry: int
    name: str
    dimension: Dimension
    found: tuple[float, ...]
    expected: tuple[float, ...]
    std: tuple[float, ...]
    surprise: float
    outside: str = ""


@dataclass(frozen=True)
class Action:
    """Something worth doing next.

    Attributes:
        what: in words.
        kind: 'read', 'set', 'decide', 'look again' or 'calibrate'.
        gain: what it brings, in words.
        minutes: of work; None where that is not known.
        command: how to do it from the command line.
        about: what it is done to: the dim or test to read, the number of the step to set by, the part to decide on,
            the number of the entry to look at again, or the gauge to calibrate.
    """

    what: str
    kind: str
    gain: str
    minutes: float | None
    command: str
    about: str = ""


@dataclass(frozen=True)
class StandingAsBuilt:
    """The front page of a build.

    Attributes:
        build, book: names.
        units: in which the user reads.
        confidence: of the build.
        state: number of the state of the machine; why it was made.
        entries: in the book; readings that count.
        targets: each target.
        chance_of_all: to meet all limits: as designed, as built.
        moved_by: the last entry that moved anything, in words; '' where there is none.
        unresolved: deviations that matter and are not known, the largest share first.
        counts: how many deviations are measured, assumed, unresolved.
        surprises: readings that ask for a second look.
        actions: what to do next, the most worthwhile first.
        nothing_more: why nothing more is worth reading or setting; '' where something is, or where it was not asked.
        notes: what a reader must know: draws that did not settle, readings that do not count.
        trials: machines drawn, and how many draws of equal weight they were worth.
    """

    build: str
    book: str
    units: Units
    confidence: float
    state: int
    reason: str
    entries: int
    readings: int
    targets: tuple[TargetAsBuilt, ...]
    chance_of_all: tuple[float, float]
    moved_by: str
    unresolved: tuple[Known, ...]
    counts: dict[str, int]
    surprises: tuple[ReadingLook, ...]
    actions: tuple[Action, ...]
    notes: tuple[str, ...]
    trials: tuple[int, float]
    nothing_more: str = ""


def standing_as_built(
    bench: Bench,
    *,
    targets: Sequence[str] = (),
    state: int | None = None,
    thorough: bool = False,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> StandingAsBuilt:
    """Where a build stands after the readings in its book.

    Args:
        bench: the build as it stands.
        targets: names of those asked for; none asks for all.
        state: of the machine; None takes the newest.
        thorough: draw the stated shapes too, beside what comes of counting every deviation as normal; takes seconds.
        progress: called with the machines drawn and the number wanted.
        cancel: asked now and then; True stops.

    Raises:
        RequestError: there is no such target or state, or the build has no target.
        Cancelled: ``cancel`` said so.
    """
    names = list(targets) or list(bench.build.targets)
    if not names:
        raise RequestError("the build has no target", "add one under 'targets' in the build file")
    rows, limits = [bench.rows(name) for name in names], [bench.target(name).limit for name in names]
    at = bench.state if state is None else state
    first, first_of_all = _as_designed(bench, names, cancel)
    if thorough:
        now = draw(
            bench.knowledge,
            rows,
            limits,
            confidence=bench.build.confidence,
            state=at,
            trials=THOROUGH_TRIALS,
            progress=progress,
            cancel=cancel,
        )
    else:
        now = _normal(bench, bench.knowledge, names, at)
    moved = _moved_by(bench)
    before = None if moved is None or state is not None else _before(bench, moved, names)
    adjusted = prospect_now(bench, names, at).now()
    every = [
        _target(bench, name, at, first[i], now, i, adjusted[i], None if before is None else before[i])
        for i, name in enumerate(names)
    ]
    known = how_known(bench, at, names)
    return StandingAsBuilt(
        build=bench.build.name,
        book=bench.book,
        units=bench.build.units,
        confidence=bench.build.confidence,
        state=at,
        reason=next((s.reason for number, s in bench.states() if number == at), ""),
        entries=bench.last,
        readings=len(bench.having(Reading)),
        targets=tuple(every),
        chance_of_all=(first_of_all, now.chance_of_all[0] if now.settled else now.chance_of_all[1]),
        moved_by="" if moved is None else _entry_words(bench, moved),
        unresolved=tuple(sorted((k for k in known if k.how == "unresolved"), key=lambda k: -k.share)),
        counts={how: sum(k.how == how for k in known) for how in ("measured", "assumed", "unresolved")},
        surprises=tuple(reading_looks(bench, above=SECOND_LOOK, at_once=not thorough)),
        actions=(),
        notes=_notes(bench, now, thorough),
        trials=(now.trials, now.worth),
    )


def _as_designed(
    bench: Bench, names: Sequence[str], cancel: Callable[[], bool] | None
) -> tuple[list[tuple[float, float]], float]:
    """Expected size and chance of every target before any reading, and the chance of all; worked out once."""
    key = ("as designed", tuple(names))
    if key not in bench.kept:
        prior = bench.knowledge.line.prior
        rows, limits = [bench.rows(name) for name in names], [bench.target(name).limit for name in names]
        worst, together = monte_carlo(rows, prior, limits, trials=DESIGNED_TRIALS, cancel=cancel)
        found = [(float(budget(r, prior).size.max()), w.chance) for r, w in zip(rows, worst)]
        bench.kept[key] = found, together
    kept: tuple[list[tuple[float, float]], float] = bench.kept[key]
    return kept


def prospect_now(bench: Bench, names: Sequence[str], state: int) -> Prospect:
    """The targets of a bench with what can be set; kept for as long as nothing more is known."""
    key = ("prospect", tuple(names), state)
    kept = bench.kept.get(key)
    if kept is None or kept.knowledge is not bench.knowledge:
        rows, limits = [bench.rows(name) for name in names], [bench.target(name).limit for name in names]
        kept = bench.kept[key] = Prospect(bench.knowledge, rows, limits, bench.free_to_set, state, names)
    found: Prospect = kept
    return found


def _before(bench: Bench, entry: int, names: Sequence[str]) -> list[tuple[float, float]]:
    """For each target its expected size and its chance before an entry, everything counted as normal."""
    kept = bench.before_last
    knowledge = kept[1] if kept is not None and kept[0] == entry else _knowledge_before(bench, entry)
    rows, state = [bench.rows(name) for name in names], knowledge.line.newest
    drawn = _normal(bench, knowledge, names, state)
    return [(sizes(knowledge, r, state)[0], d.chance) for r, d in zip(rows, drawn.normal)]


def _normal(bench: Bench, knowledge: Knowledge, names: Sequence[str], state: int) -> AsBuiltDraws:
    """Every deviation counted as normal; kept for now and for before, as now is before the next reading."""
    key = ("normal", tuple(names), state)
    kept: list[tuple[Knowledge, AsBuiltDraws]] = bench.kept.setdefault(key, [])
    for known, drawn in kept:
        if known is knowledge:
            return drawn
    rows, limits = [bench.rows(name) for name in names], [bench.target(name).limit for name in names]
    confidence = bench.build.confidence
    drawn = draw(
        knowledge, rows, limits, confidence=confidence, state=state, shapes=False, trials=QUICK_TRIALS
    )
    before = None if bench.before_last is None else bench.before_last[1]
    kept[:] = [(knowledge, drawn), *(one for one in kept if one[0] is bench.knowledge or one[0] is before)]
    return drawn


def _target(
    bench: Bench,
    name: str,
    state: int,
    first: tuple[float, float],
    now: AsBuiltDraws,
    number: int,
    adjusted: Left,
    before: tuple[float, float] | None,
) -> TargetAsBuilt:
    target, rows = bench.target(name), bench.rows(name)
    size, worst, known, unknown = sizes(bench.knowledge, rows, state)
    drawn = now.shaped[number] if now.settled else now.normal[number]
    return TargetAsBuilt(
        name=name,
        dimension=target.dimension,
        limit=target.limit,
        designed=first[0],
        designed_chance=first[1],
        expected=size,
        known=known,
        unknown=unknown,
        worst_pose={letter: float(at[worst]) for letter, at in rows.poses.items()},
        chance=drawn.chance,
        chance_std=drawn.chance_std,
        chance_normal=now.normal[number].chance,
        coverage=drawn.quantile,
        adjusted=adjusted.adjusted,
        adjusted_chance=adjusted.chance or 0.0,
        before=None if before is None else before[0],
        before_chance=None if before is None else before[1],
        confidence=bench.build.confidence,
    )


def sizes(knowledge: Knowledge, rows: Rows, state: int) -> tuple[float, int, float, float]:
    """Expected size at the worst pose, which pose that is, and its known and unknown parts."""
    mean, root = knowledge.of_target(rows, state)
    shape = rows.matrix.shape[:2]
    known = np.sqrt((mean.reshape(shape) ** 2).sum(axis=1))
    unknown = np.sqrt((root**2).sum(axis=1).reshape(shape).sum(axis=1))
    size = np.hypot(known, unknown)
    worst = int(np.argmax(size))
    return float(size[worst]), worst, float(known[worst]), float(unknown[worst])


def _moved_by(bench: Bench) -> int | None:
    """Number of the last entry that moved what is known: a reading or a state after the first."""
    moving = [
        entry.number
        for entry in bench.entries
        if (entry.record.kind in ("reading", "state", "revision") and (entry.of or 0) > 1)
        or (entry.record.kind == "reading")
    ]
    return max(moving, default=None)


def _knowledge_before(bench: Bench, entry: int) -> Knowledge:
    """What was known before an entry; the last reading is taken out again, which is quick."""
    last = bench.observation(entry)
    return bench.knowledge.without(last) if last is not None else bench.before(entry).knowledge


def _entry_words(bench: Bench, number: int) -> str:
    entry = next(e for e in bench.entries if e.number == number)
    record = entry.record
    if isinstance(record, Reading):
        return f"entry {number}: {record.of} read by {entry.who}"
    reason = getattr(record, "reason", "") or getattr(record, "difference", "")[:80]
    return f"entry {number}: {reason or record.kind} ({entry.who})"


def _notes(bench: Bench, now: AsBuiltDraws, thorough: bool) -> tuple[str, ...]:
    notes = [f"entry {number} does not count: {why}" for number, why in bench.left_out]
    if not now.settled and thorough:
        notes.append(
            "the readings are too sharp for weighted draws; chances count every deviation as normal "
            "(ask for a thorough answer to have the stated shapes)"
        )
    names = [bench.loop.sources[place].name for place in dict.fromkeys(now.discredited)]
    notes += [f"{name} was read outside its limits; they no longer count" for name in names]
    return tuple(notes)


def how_known(bench: Bench, state: int, targets: Sequence[str]) -> list[Known]:
    """How every open deviation of a state is known, and what would resolve those that matter."""
    knowledge, sources = bench.knowledge, bench.loop.sources
    mean, std = knowledge.deviations(state)
    designed = knowledge.line.prior.std
    share = np.zeros(len(sources))
    for name in targets:
        rows = bench.rows(name)
        worst = sizes(knowledge, rows, state)[1]
        carried = (rows.matrix[worst] * std) ** 2
        total = carried.sum()
        share = np.maximum(share, carried.sum(axis=0) / total) if total else share
    open_ = [
        i
        for i, s in enumerate(sources)
        if (designed[i] > 0 or std[i] > 0) and s.kind is not SourceKind.SETTING
    ]
    ratio = np.divide(std, designed, out=np.ones_like(std), where=designed > 0)
    hows = {
        i: "measured" if ratio[i] <= MEASURED else "unresolved" if share[i] >= MATTERS else "assumed"
        for i in open_
    }
    asked = [i for i in open_ if hows[i] == "unresolved"]
    by = dict(zip(asked, _resolvers(bench, state, asked)))
    return [
        Known(
            sources[i].name,
            str(sources[i].kind),
            sources[i].field,
            sources[i].dimension,
            hows[i],
            float(mean[i]),
            float(std[i]),
            float(designed[i]),
            float(share[i]),
            by.get(i, ""),
        )
        for i in open_
    ]


def _resolvers(bench: Bench, state: int, places: Sequence[int]) -> list[str]:
    """For each of some deviations the reading that would narrow it most; '' where none narrows it visibly."""
    knowledge, found = bench.knowledge, candidates(bench, state=state)
    if not places or not found:
        return [""] * len(places)
    identity = np.zeros((len(places), len(bench.loop.sources)))
    identity[np.arange(len(places)), list(places)] = 1.0
    root = knowledge.root(identity, state)
    fall = np.zeros((len(found), len(places)))
    for number, seen in enumerate(seen_by(bench, found)):
        lower = np.linalg.cholesky(np.eye(len(seen)) + seen @ seen.T)
        fall[number] = (np.linalg.solve(lower, seen @ root.T) ** 2).sum(axis=0)
    variance = (root**2).sum(axis=1)
    best = fall.argmax(axis=0)
    return [found[one].name if fall[one, i] >= NARROWS * variance[i] else "" for i, one in enumerate(best)]


def reading_looks(bench: Bench, above: float | None = None, *, at_once: bool = False) -> list[ReadingLook]:
    """Readings that count beside what everything else lets one expect.

    Args:
        bench: the build as it stands.
        above: only those of a larger surprise, or whose dim has a best value outside of its readings; None: all.
        at_once: look only at readings that surprised when they were recorded, and at the newest.
    """
    records = {entry.number: record for entry, record in bench.having(Reading)}
    outside = _outside(bench)
    out = []
    if above is None:
        chosen = looks(bench.knowledge)
    elif at_once:
        asking = {n for n, r in records.items() if (r.surprise or 0.0) > above}
        asking |= set(list(records)[-NEWEST:])
        some = [one for one in bench.knowledge.observations if one.entry in asking]
        chosen = [look for look in looks(bench.knowledge, some) if look.surprise > above]
    else:
        chosen = surprising(bench.knowledge, above)
    if above is not None and outside:
        seen = {look.entry for look in chosen}
        more = [n for n, r in records.items() if r.of in outside and r.subject == "dim" and n not in seen]
        observed = [one for one in map(bench.observation, more) if one is not None]
        chosen += looks(bench.knowledge, observed)
    for look in chosen:
        record = records.get(look.entry or -1)
        if record is None or look.entry is None:
            continue
        test = bench.build.tests.get(record.of)
        dim = bench.build.dim(record.of)
        dimension = test.dimension if test else dim.dimension if dim else Dimension.LENGTH
        out.append(
            ReadingLook(
                look.entry,
                look.name,
                dimension,
                tuple(map(float, look.found)),
                tuple(map(float, look.expected)),
                tuple(map(float, look.std)),
                look.surprise,
                outside.get(record.of, "") if record.subject == "dim" else "",
            )
        )
    return out


def _outside(bench: Bench) -> dict[str, str]:
    """Dims whose best value lies outside everything that was read of them, as errors in common can make it."""
    read: dict[str, list[float]] = {}
    for _, record in bench.having(Reading):
        if record.subject == "dim" and record.item is None and record.state == bench.state:
            read.setdefault(record.of, []).extend(record.evaluated.values)
    out = {}
    mean, _ = bench.knowledge.deviations(bench.state)
    for dim, values in read.items():
        stated = bench.build.dim(dim)
        if len(values) < 2 or stated is None:
            continue
        best = stated.nominal + sum(
            factor * float(mean[place]) for place, factor in bench.loop.dims[dim].items()
        )
        slack = 1e-7 + 0.1 * (max(values) - min(values))
        if not min(values) - slack <= best <= max(values) + slack:
            out[dim] = (
                "the best value lies outside the readings: they share an error, or other readings pull it"
            )
    return out
