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
from loopwright.model.build import FitUpStep, Units
from loopwright.model.contacts import AdjusterKind
from loopwright.model.records import Change, State
from loopwright.studies.bench import Bench
from loopwright.studies.conceding import dim_from_readings
from loopwright.studies.fitup_moves import standing_reading
from loopwright.studies.fitup_setting import (
    Reached,
    Seen,
    Shortfall,
    best,
    is_blank,
    is_shim,
    reached,
    stands_on,
)
from loopwright.studies.fitup_sights import (
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
        shortfall: by how much a shim would have to be thinner than can be, and what else would do; None where it
            need not be.
        blank: it is a part sized last of which nobody has said yet how large it is.
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
    shortfall: Shortfall | None = None
    blank: bool = False

    @property
    def too_thin(self) -> float:
        """By how much the blank may be too thin to be ground to the size, mm; 0 where it is not, or none is ground."""
        return 0.0 if self.spacer is None or self.spacer.possible else max(-self.spacer.grind_off[0], 0.0)


@dataclass(frozen=True)
class StepReport:
    """A step of the fit-up as the readings so far have it.

    Attributes:
        build: its name; units: in which the user reads.
        number, name, note: of the step; number 0 where it is none of the build.
        seat: what is put in place.
        dimension: of what it looks at.
        looks_at: what that is, in words.
        reads: each test of the step, and the entry of its last reading, which nothing done since has moved; None where
            it is still to do.
        largest: worst known row as it stands, mm or rad.
        unknown: standard uncertainty of that row.
        accept: what is good enough, or None.
        accepted: chance that it is, as it stands; None without 'accept'.
        verdict: in a word: 'good', 'set', 'read'; 'repeat' where nothing is proven and nothing is to be set; 'rework'
            where what is known to be off lies beyond what can be set.
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
    return _report(bench, number, bench.build.fit_up[number - 1], foils=foils)


def adjuster_report(bench: Bench, path: str, *, foils: bool = True) -> StepReport:
    """What one adjuster, or one part sized last, should be set to by all that is known: as a step that sets only it.

    Args:
        bench: the build as it stands.
        path: of the adjuster, or 'part/dim'.
        foils: as for ``fitup_step``.

    Raises:
        RequestError: nothing can be set there.
    """
    settables_at(bench, path.removesuffix("/slope"))
    step = FitUpStep(step=path, adjust=[path.removesuffix("/slope")])
    return _report(bench, 0, step, foils=foils)


def _report(bench: Bench, number: int, one: FitUpStep, *, foils: bool) -> StepReport:
    settables = [s for path in one.adjust for s in settables_at(bench, path)]
    sight = sight_of(bench, one, settables)
    settables = that_do_something(settables, sight)
    state, knowledge = bench.state, bench.knowledge
    error = knowledge.expected(sight.rows, state)
    root = knowledge.root(sight.rows, state)
    seen = Seen(sight, error, root)
    unknown = seen.unknown
    accept = good_enough(one, sight.dimension)
    reads = tuple((test, standing_reading(bench, test)) for test in one.read)
    notes: list[str] = []
    drawer = [Sheet(s.size, s.std, s.count) for s in bench.stock()] if foils else []
    found = reached(bench, seen, settables, from_foil=bool(drawer)) if settables else None
    to_set = [] if found is None else _to_set(bench, seen, found, drawer)
    if found is not None and not found.setting.proven:
        notes.append("the search for the best steps was cut short; a better setting may exist")
    settables = [] if found is None else list(found.settables)
    change = np.array([t.change for t in to_set])
    # what is left alone stays as well known as it is
    hits = np.array([t.hit if t.change else 0.0 for t in to_set])
    places = [s.place for s in settables]
    left = error + seen.effect(settables) @ change if to_set else error
    hit = seen.effect(settables) * hits if to_set else np.zeros((len(error), 0))
    after = np.concatenate([root, hit], axis=1)
    worst = int(np.argmax(np.hypot(error, unknown))) if len(error) else 0
    chance, then = (
        (None, None)
        if accept is None
        else (chance_within(error, root, accept), chance_within(left, after, accept))
    )
    missing = [test for test, entry in reads if entry is None]
    if missing:
        notes.append("not read since it was last moved: " + ", ".join(missing))
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
        verdict=_verdict(chance, bench.build.confidence, missing, to_set, found is not None and found.short),
        to_set=tuple(to_set),
        left=float(np.abs(left).max(initial=0.0)),
        expected=float(np.sqrt((left**2 + (after**2).sum(axis=1)).max(initial=0.0))),
        accepted_then=then,
        targets=_targets_then(bench, places, change, hits),
        proven=found is None or found.setting.proven,
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


def _to_set(bench: Bench, seen: Seen, found: Reached, drawer: Sequence[Sheet]) -> list[ToSet]:
    out = []
    for number, (one, value) in enumerate(zip(found.settables, found.setting.values.tolist())):
        dim = bench.build.dim(one.name)
        nominal = 0.0 if dim is None else dim.nominal
        adjuster = adjuster_at(bench.build, one.name)
        out.append(
            ToSet(
                name=one.name,
                kind="ground to size" if adjuster is None else str(adjuster.kind),
                dimension=dimension_of(one.name),
                now=nominal + one.now,
                value=nominal + value,
                change=value - one.now,
                std=float(found.setting.uncertainty[number]),
                hit=float(np.hypot(one.std, one.lock_std)),
                low=nominal + one.low,
                high=nominal + one.high,
                at_limit=found.short and bool(found.setting.at_limit[number]),
                foils=None,
                foil_words="",
                spacer=_spacer(bench, one, nominal + float(found.setting.needed[number]), dim is not None),
                shortfall=found.shortfalls.get(one.name),
                blank=is_blank(bench, one.name),
            )
        )
    return _with_foils(bench, out, seen, found.settables, drawer)


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
    bench: Bench, out: list[ToSet], seen: Seen, settables: Sequence[Settable], drawer: Sequence[Sheet]
) -> list[ToSet]:
    """Shims made up of foils that are in the drawer; what a pack misses is in its value."""
    chosen = [i for i, one in enumerate(out) if one.kind == AdjusterKind.SHIM]
    if not drawer or not chosen:
        return out
    effect, weight = seen.effect([settables[i] for i in chosen]), seen.sight.weights
    unit = bench.build.units.shown(Dimension.LENGTH)
    wanted = [out[i].value for i in chosen]
    packs: Packs = best_packs(wanted, drawer, effect=np.sqrt(weight)[:, None] * effect, unit=unit)
    miss = np.array([pack.miss for pack in packs.packs])
    left = seen.error + seen.effect(settables) @ np.array([one.change for one in out])
    if weight @ (left + effect @ miss) ** 2 >= weight @ seen.error**2:
        # what is mounted does better than any pack that the drawer gives
        words = "; ".join(packs.remedies) or "no pack of the foil in stock does better than what is mounted"
        return _as_mounted(out, seen, settables, words)
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


def _as_mounted(out: Sequence[ToSet], seen: Seen, settables: Sequence[Settable], words: str) -> list[ToSet]:
    """Shims left as they are, and everything else set best for that."""
    shims = [one.kind == AdjusterKind.SHIM for one in out]
    rest = [s for s, is_one in zip(settables, shims) if not is_one]
    moved = dict(zip((s.name for s in rest), best(seen, rest).change.tolist())) if rest else {}
    return [
        replace(one, value=one.now, change=0.0, foil_words=words)
        if is_one
        else replace(one, value=one.now + moved[one.name], change=moved[one.name])
        for one, is_one in zip(out, shims)
    ]


def chance_within(error: Array, root: Array, accept: float) -> float:
    """Chance that every row is within what is good enough, everything counted as normal."""
    _, triangle = np.linalg.qr(root.T)
    draws = np.random.Generator(np.random.SFC64(9)).standard_normal((triangle.shape[0], 4000))
    found = np.abs(error[:, None] + triangle.T @ draws).max(axis=0, initial=0.0)
    return float((found <= accept).mean())


def _verdict(
    chance: float | None, confidence: float, missing: Sequence[str], to_set: Sequence[ToSet], short: bool
) -> str:
    blind = chance is None and not any(one.change for one in to_set)
    if missing or (blind and any(one.std > BLIND * max(one.hit, 1e-6) for one in to_set)):
        return "read"
    if chance is not None and chance >= confidence:
        return "good"
    if any(one.change for one in to_set):
        return "set"
    return "rework" if short else "good" if chance is None else "repeat"


def _targets_then(
    bench: Bench, places: Sequence[int], change: Array, hit: Array
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
            more = effect**2 @ hit**2
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
    if number < min(0.0, one.low) and is_shim(bench, one.name):
        ground = stands_on(bench, one.name)
        raise RequestError(
            f"'{path}': a shim of {text} is thinner than none",
            "where the pad was ground, enter its new size"
            + (f": loopwright fitup set {ground}=SIZE" if ground else " as 'part/dim'"),
        )
    what = "sized" if bench.build.dim(one.name) is not None else "set"
    return Change(what=what, of=one.name, value=number, std=abs(std), lock_std=one.lock_std)  # type: ignore[arg-type]
