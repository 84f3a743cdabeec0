"""Fit-up on the bench: what to set, grind or pick from what was read, and the record of what was done."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopwright import units
from loopwright.asbuilt.observing import adjuster_at
from loopwright.errors import QuantityError, RequestError
from loopwright.fitup.foils import Packs, Sheet, Spacer, best_packs, spacer
from loopwright.fitup.order import Settable
from loopwright.fitup.settings import Adjusters, Setting, best_setting
from loopwright.model.build import Units
from loopwright.model.contacts import AdjusterKind
from loopwright.model.records import Change, Reading, State
from loopwright.studies.bench import Bench
from loopwright.studies.conceding import dim_from_readings
from loopwright.studies.fitup_sights import (
    Sight,
    dimension_of,
    good_enough,
    settables_at,
    sight_of,
    that_do_something,
)
from loopwright.units import Dimension

Array = NDArray[np.float64]

BLIND = 3.0
"""Nothing is set by what is known this many times worse than it can be hit."""
SHORT = 1.1
"""Ranges fall short where what they leave exceeds what wider ones would by this factor."""
WORTH = 0.1
"""A setting that lowers what is known by less than this share of what is unknown is not looked for."""


@dataclass(frozen=True)
class ToSet:
    """What to do with one adjuster or one part sized last.

    Attributes:
        name: path of the adjuster, or the dim.
        kind: how it is set.
        dimension: of its numbers.
        now: where it stands: setting, or size.
        value: where to set it.
        change: by how much that moves it.
        std: standard uncertainty of what would be right.
        hit: how well it can be hit, standard uncertainty.
        low, high: its range.
        at_limit: it ends at the end of its range: the range does not suffice.
        foils: thicknesses to lay together, where foil is in stock; None where that does not apply.
        foil_words: what is wrong with the stock, or ''.
        spacer: size to grind, and whether the blank allows it; None for anything else.
    """

    name: str
    kind: str
    dimension: Dimension
    now: float
    value: float
    change: float
    std: float
    hit: float
    low: float
    high: float
    at_limit: bool
    foils: tuple[float, ...] | None
    foil_words: str
    spacer: Spacer | None


@dataclass(frozen=True)
class StepReport:
    """A step of the fit-up as the readings so far have it.

    Attributes:
        build: its name; units: in which the user reads.
        number, name, note: of the step.
        seat: what is put in place.
        dimension: of what it looks at.
        looks_at: what that is, in words.
        reads: each test of the step, and the entry of its last reading in this state; None where it is still to do.
        largest: worst known row as it stands, mm or rad.
        unknown: standard uncertainty of that row.
        accept: what is good enough, or None.
        accepted: chance that it is, as it stands; None without 'accept'.
        verdict: 'good', 'set' or 'read', in a word.
        to_set: what to set.
        left: worst known row after that; expected: with what is not known, and how badly settings are hit.
        accepted_then: chance that it is good enough then.
        targets: name, dimension, limit, expected size at the worst pose now and then.
        proven: no other setting leaves less.
        notes: what a reader must know.
    """

    build: str
    units: Units
    number: int
    name: str
    note: str | None
    seat: tuple[str, ...]
    dimension: Dimension
    looks_at: str
    reads: tuple[tuple[str, int | None], ...]
    largest: float
    unknown: float
    accept: float | None
    accepted: float | None
    verdict: str
    to_set: tuple[ToSet, ...]
    left: float
    expected: float
    accepted_then: float | None
    targets: tuple[tuple[str, Dimension, float, float, float], ...]
    proven: bool
    notes: tuple[str, ...]


def fitup_step(bench: Bench, which: str | int, *, foils: bool = True) -> StepReport:
    """What a step has found so far, and what to set.

    Args:
        bench: the build as it stands.
        which: number of the step, counted from 1, or its name or the beginning of it.
        foils: whether shims are picked from the foil in stock, where there is any.

    Raises:
        RequestError: there is no such step.
    """
    number = step_number(bench, which)
    one = bench.build.fit_up[number - 1]
    settables = [s for path in one.adjust for s in settables_at(bench, path)]
    sight = sight_of(bench, one, settables)
    settables = that_do_something(settables, sight)
    state, knowledge = bench.state, bench.knowledge
    error = knowledge.expected(sight.rows, state)
    root = knowledge.root(sight.rows, state)
    unknown = np.sqrt((root**2).sum(axis=1))
    accept = good_enough(one, sight.dimension)
    reads = tuple((test, _last_reading(bench, test)) for test in one.read)
    notes: list[str] = []
    setting = _best(settables, sight, error, root, unknown) if settables else None
    to_set = _to_set(bench, settables, setting, sight, error, notes, foils) if setting is not None else ()
    change = np.array([t.change for t in to_set])
    places = [s.place for s in settables]
    left = error + sight.rows[:, places] @ change if to_set else error
    hit = sight.rows[:, places] * np.array([t.hit for t in to_set]) if to_set else np.zeros((len(error), 0))
    after = np.concatenate([root, hit], axis=1)
    worst = int(np.argmax(np.hypot(error, unknown))) if len(error) else 0
    chance, then = (
        (None, None) if accept is None else (_within(error, root, accept), _within(left, after, accept))
    )
    missing = [test for test, entry in reads if entry is None]
    if missing:
        notes.append("not read in this state yet: " + ", ".join(missing))
    return StepReport(
        build=bench.build.name,
        units=bench.build.units,
        number=number,
        name=one.step,
        note=one.note,
        seat=tuple(one.seat),
        dimension=sight.dimension,
        looks_at=sight.words,
        reads=reads,
        largest=float(np.abs(error).max(initial=0.0)),
        unknown=float(unknown[worst]) if len(unknown) else 0.0,
        accept=accept,
        accepted=chance,
        verdict=_verdict(chance, bench.build.confidence, missing, to_set),
        to_set=tuple(to_set),
        left=float(np.abs(left).max(initial=0.0)),
        expected=float(np.sqrt((left**2 + (after**2).sum(axis=1)).max(initial=0.0))),
        accepted_then=then,
        targets=_targets_then(bench, places, change, [t.hit for t in to_set]),
        proven=setting is None or setting.proven,
        notes=tuple(notes),
    )


def step_number(bench: Bench, which: str | int) -> int:
    """Number of a step by its number, its name or the beginning of it.

    Raises:
        RequestError: there is no such step, or more than one begins so.
    """
    names = [step.step for step in bench.build.fit_up]
    text = str(which).strip()
    if text.isdigit() and 1 <= int(text) <= len(names):
        return int(text)
    found = [n for n, name in enumerate(names, 1) if name == text] or [
        n for n, name in enumerate(names, 1) if name.lower().startswith(text.lower())
    ]
    if len(found) == 1:
        return found[0]
    listed = "; ".join(f"{n} {name}" for n, name in enumerate(names, 1)) or "none; add them under 'fit_up'"
    raise RequestError(
        f"{'more than one step begins' if found else 'there is no step'} '{text}'", f"the steps are: {listed}"
    )


def _last_reading(bench: Bench, test: str) -> int | None:
    found = [
        e.number for e, r in bench.having(Reading) if r.of == test and r.state == bench.state and not r.item
    ]
    return max(found, default=None)


def _best(settables: Sequence[Settable], sight: Sight, error: Array, root: Array, unknown: Array) -> Setting:
    adjusters = Adjusters.of(
        np.array([s.low for s in settables]),
        np.array([s.high for s in settables]),
        increment=np.array([s.increment for s in settables]),
        current=np.array([s.now for s in settables]),
    )
    effect = sight.rows[:, [s.place for s in settables]]
    worth = WORTH * float(np.sqrt((unknown**2).mean()))
    return best_setting(error, effect, adjusters, weights=sight.weights, factor=root, worth=worth)


def _to_set(
    bench: Bench,
    settables: Sequence[Settable],
    setting: Setting,
    sight: Sight,
    error: Array,
    notes: list[str],
    foils: bool,
) -> list[ToSet]:
    out = []
    short = _falls_short(settables, sight, setting)
    for number, one in enumerate(settables):
        found = bench.build.dim(one.name)
        nominal = 0.0 if found is None else found.nominal
        adjuster = adjuster_at(bench.build, one.name)
        value = float(setting.values[number])
        out.append(
            ToSet(
                name=one.name,
                kind="ground to size" if adjuster is None else str(adjuster.kind),
                dimension=dimension_of(one.name),
                now=nominal + one.now,
                value=nominal + value,
                change=value - one.now,
                std=float(setting.uncertainty[number]),
                hit=float(np.hypot(one.std, one.lock_std)),
                low=nominal + one.low,
                high=nominal + one.high,
                at_limit=short and bool(setting.at_limit[number]),
                foils=None,
                foil_words="",
                spacer=_spacer(bench, one, nominal + float(setting.needed[number]), found is not None),
            )
        )
    if not setting.proven:
        notes.append("the search for the best steps was cut short; a better setting may exist")
    return _with_foils(bench, out, sight, settables, error) if foils else out


def _falls_short(settables: Sequence[Settable], sight: Sight, setting: Setting) -> bool:
    """Wider ranges would leave visibly less: not so where all may be shifted together instead."""
    now = np.array([s.now for s in settables])
    effect = sight.rows[:, [s.place for s in settables]]
    free = setting.error.ravel() + effect @ (setting.needed - now - setting.change)
    weight = sight.weights / sight.weights.sum()
    least = float(np.sqrt((weight * free**2).sum()))
    return setting.least > SHORT * least + 1e-7


def _spacer(bench: Bench, one: Settable, wanted: float, is_dim: bool) -> Spacer | None:
    if not is_dim:
        return None
    dim = bench.build.dim(one.name)
    assert dim is not None
    read = dim_from_readings(bench, one.name)
    # a part sized last is left as thick as its range allows until it is ground
    thickest = dim.nominal + one.high
    blank = (thickest, thickest) if read is None else (read[0] - 2 * read[1], read[0] + 2 * read[1])
    return spacer(max(wanted, 0.0), blank, increment=one.increment, unit=bench.build.units.length)


def _with_foils(
    bench: Bench, out: list[ToSet], sight: Sight, settables: Sequence[Settable], error: Array
) -> list[ToSet]:
    """Shims made up of foils that are in stock; what a pack misses is in its value."""
    stock = [Sheet(s.size, s.std, s.count) for s in bench.stock()]
    chosen = [i for i, one in enumerate(out) if one.kind == AdjusterKind.SHIM]
    if not stock or not chosen:
        return out
    effect = sight.rows[:, [settables[i].place for i in chosen]]
    wanted = np.maximum([out[i].value for i in chosen], 0.0)
    packs: Packs = best_packs(wanted, stock, effect=np.sqrt(sight.weights)[:, None] * effect)
    miss = np.array([pack.thickness - out[i].value for i, pack in zip(chosen, packs.packs)])
    left = error + sight.rows[:, [s.place for s in settables]] @ np.array([one.change for one in out])
    weight = sight.weights
    if weight @ (left + effect @ miss) ** 2 >= weight @ error**2:
        # what is mounted does better than any pack that the drawer gives
        words = "; ".join(packs.remedies) or "no pack of the foil in stock does better than what is mounted"
        return [replace(one, value=one.now, change=0.0, foil_words=words) for one in out]
    for i, pack, std in zip(chosen, packs.packs, np.sqrt(packs.covariance.diagonal())):
        out[i] = replace(
            out[i],
            value=pack.thickness,
            change=pack.thickness - out[i].now,
            hit=float(max(std, out[i].hit)),
            foils=pack.foils,
            foil_words="; ".join(packs.remedies),
        )
    return out


def _within(error: Array, root: Array, accept: float) -> float:
    """Chance that every row is within what is good enough, everything counted as normal."""
    _, triangle = np.linalg.qr(root.T)
    draws = np.random.Generator(np.random.SFC64(9)).standard_normal((triangle.shape[0], 4000))
    found = np.abs(error[:, None] + triangle.T @ draws).max(axis=0, initial=0.0)
    return float((found <= accept).mean())


def _verdict(chance: float | None, confidence: float, missing: Sequence[str], to_set: Sequence[ToSet]) -> str:
    blind = chance is None and not any(one.change for one in to_set)
    if missing or (blind and any(one.std > BLIND * max(one.hit, 1e-6) for one in to_set)):
        return "read"
    if chance is not None and chance >= confidence:
        return "good"
    return "set" if any(one.change for one in to_set) else "good" if chance is None else "repeat"


def _targets_then(
    bench: Bench, places: Sequence[int], change: Array, hit: Sequence[float]
) -> tuple[tuple[str, Dimension, float, float, float], ...]:
    out = []
    for name, target in bench.build.targets.items():
        matrix = bench.rows(name).matrix
        mean = bench.knowledge.expected(matrix, bench.state)
        variance = bench.knowledge.uncertainty(matrix, bench.state) ** 2
        now = np.sqrt((mean**2 + variance).sum(axis=1).max())
        then = now
        if len(change):
            effect = matrix[:, :, list(places)]
            moved = mean + effect @ change
            more = effect**2 @ np.array(hit) ** 2
            then = np.sqrt((moved**2 + variance + more).sum(axis=1).max())
        out.append((name, target.dimension, target.limit, float(now), float(then)))
    return tuple(out)


def state_after(
    bench: Bench,
    set_to: dict[str, str],
    *,
    reason: str,
    step: str | int | None = None,
    exchanged: dict[str, str | None] | None = None,
) -> State:
    """The record of what was done: adjusters set, parts brought to size, parts exchanged.

    Args:
        bench: the build as it stands.
        set_to: new setting or size, as typed, by the path of an adjuster or 'part/dim'; '±' after it says how well it
            is known, where that is not what the build file states.
        reason: why, for people.
        step: of the fit-up that it belongs to.
        exchanged: parts or drives that were exchanged, with the serial of what was put in or None.

    Raises:
        RequestError: nothing can be set there, or a value cannot be read.
    """
    changes = [_change(bench, path, text) for path, text in set_to.items()]
    for of, item in (exchanged or {}).items():
        changes.append(Change(what="renewed", of=of, item=item))
    if not changes:
        raise RequestError(
            "nothing was set or exchanged", "name what was done, as in 'column on base/rear left=0.05'"
        )
    name = None if step is None else bench.build.fit_up[step_number(bench, step) - 1].step
    cause = (
        "replacement" if exchanged else "rework" if all(c.what == "sized" for c in changes) else "adjustment"
    )
    return State(parent=bench.state, reason=reason, cause=cause, changes=tuple(changes), step=name)  # type: ignore[arg-type]


def _change(bench: Bench, path: str, text: str) -> Change:
    slope = path.endswith("/slope")
    found = [
        s for s in settables_at(bench, path.removesuffix("/slope")) if s.name.endswith("/slope") == slope
    ]
    if not found:
        raise RequestError(f"there is nothing to set at '{path}'", "name an adjuster of the build file")
    one = found[0]
    dimension = dimension_of(one.name)
    value, _, limit = text.replace("+/-", "±").partition("±")
    bare = bench.build.units.bare()
    try:
        number = units.parse(value.strip(), dimension, bare=bare[dimension])
        std = units.parse(limit.strip(), dimension, bare=bare[dimension]) / 3**0.5 if limit else one.std
    except QuantityError as error:
        raise RequestError(f"'{path}': {error.what}", error.remedy) from None
    what = "sized" if bench.build.dim(one.name) is not None else "set"
    return Change(what=what, of=one.name, value=number, std=abs(std), lock_std=one.lock_std)  # type: ignore[arg-type]
