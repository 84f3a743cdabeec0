"""The bench: a build as its book has it, worked out and ready to be asked anything."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Knowledge, Observation, learn
from loopwright.asbuilt.observing import Found, Observer, adjuster_at, closing_dim, line_of
from loopwright.errors import LoopwrightError, RequestError
from loopwright.loop.rows import Loop, Rows
from loopwright.model.build import Build
from loopwright.model.indications import Gauge, Target
from loopwright.model.records import (
    Calibration,
    Concession,
    Entry,
    Reading,
    Revision,
    State,
    Stock,
    Withdrawal,
)
from loopwright.model.spread import Spread
from loopwright.studies.checking import load_text
from loopwright.units import Dimension

Kind = TypeVar("Kind")

BINDS = 0.1
"""Settings that make contacts miss by less than this share of their own movement bind nothing."""


@dataclass(frozen=True)
class Item:
    """What was found of one inspected item: serial, what was read of it, mean and standard uncertainty."""

    serial: str
    kind: str
    what: str
    value: float
    std: float
    readings: int


@dataclass(frozen=True)
class Bench:
    """A build with everything that its book holds of it.

    Attributes:
        build: as the newest revision describes it.
        loop: of the build.
        entries: all that count: neither superseded nor withdrawn, in the order of the book.
        last: number of the last entry of the book.
        knowledge: what the readings tell.
        observer: turns further readings into observations.
        left_out: why readings do not count: entry number and reason.
        book: name of the book.
        before_last: the last entry that was added to this bench, and what was known before it.
        kept: what was worked out of the description alone, kept for the next question.
    """

    loop: Loop
    entries: tuple[Entry, ...]
    last: int
    knowledge: Knowledge
    observer: Observer
    left_out: tuple[tuple[int, str], ...]
    book: str = ""
    before_last: tuple[int, Knowledge] | None = field(default=None, compare=False)
    _rows: dict[str, Rows] = field(default_factory=dict, compare=False)
    kept: dict[object, Any] = field(default_factory=dict, compare=False, repr=False)

    @property
    def build(self) -> Build:
        """The build as the newest revision describes it."""
        return self.loop.build

    @property
    def state(self) -> int:
        """Number of the state that the machine is in."""
        return self.knowledge.line.newest

    def having(self, kind: type[Kind]) -> list[tuple[Entry, Kind]]:
        """Entries that count and hold one kind of record, in the order of the book."""
        return self._by_kind.get(kind, [])

    @cached_property
    def _by_kind(self) -> dict[type, list[tuple[Entry, Any]]]:
        out: dict[type, list[tuple[Entry, Any]]] = {}
        for entry in self.entries:
            out.setdefault(type(entry.record), []).append((entry, entry.record))
        return out

    @cached_property
    def readings_of_dims(self) -> dict[str, list[Reading]]:
        """Readings of every dim of the machine itself, by 'part/dim', in the order of the book."""
        out: dict[str, list[Reading]] = {}
        for _, reading in self.having(Reading):
            if reading.subject == "dim" and reading.item is None:
                out.setdefault(reading.of, []).append(reading)
        return out

    def states(self) -> list[tuple[int, State]]:
        """States of the machine, oldest first, with their numbers."""
        return _numbered(self.having(State))

    def observation(self, entry: int) -> Observation | None:
        """The observation that an entry became, or None where it does not count."""
        return next((one for one in self.knowledge.observations if one.entry == entry), None)

    @cached_property
    def settings(self) -> dict[str, float]:
        """What every adjuster stands at, by its path, mm (rad for the slope of a rail)."""
        out = dict.fromkeys(self.loop.settings, 0.0)
        for _, state in self.states():
            out |= {c.of: c.value for c in state.changes if c.what == "set" and c.value is not None}
        return out

    @cached_property
    def sizes(self) -> dict[str, float]:
        """Sizes to which dims were brought, by 'part/dim'."""
        return {
            c.of: c.value
            for _, state in self.states()
            for c in state.changes
            if c.what == "sized" and c.value is not None
        }

    def gauge(self, name: str) -> Gauge:
        """A gauge as its last calibration in the book left it.

        Raises:
            RequestError: the build has no such gauge.
        """
        stated = self.build.gauges.get(name)
        if stated is None:
            known = ", ".join(f"'{g}'" for g in self.build.gauges) or "none; add it under 'gauges'"
            raise RequestError(f"there is no gauge '{name}'", f"the build file has {known}")
        done = [record for _, record in self.having(Calibration) if record.gauge == name]
        return stated if not done else _calibrated(stated, done[-1])

    def stock(self, what: str = "shim foil") -> list[Stock]:
        """What lies in the drawer: the last count of each size."""
        counted = {record.size: record for _, record in self.having(Stock) if record.what == what}
        return [counted[size] for size in sorted(counted) if counted[size].count]

    def concessions(self) -> list[Concession]:
        """Concessions that count."""
        return [record for _, record in self.having(Concession)]

    def rows(self, name: str) -> Rows:
        """Rows of a target over its volume, worked out once."""
        if name not in self._rows:
            self._rows[name] = self.loop.rows(self.target(name))
        return self._rows[name]

    def target(self, name: str) -> Target:
        """A target by its name.

        Raises:
            RequestError: there is no such target.
        """
        found = self.build.targets.get(name)
        if found is None:
            known = ", ".join(f"'{t}'" for t in self.build.targets) or "none"
            raise RequestError(f"there is no target '{name}'", f"the build file has {known}")
        return found

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """What was found of items on the bench, each the mean of its readings."""
        return tuple(_items(self.entries))

    def places_to_set(self) -> dict[str, int]:
        """Place in x of everything that can still be set, by its path: adjusters, and dims of parts sized last."""
        out = dict(self.loop.settings)
        for closure in self.build.closures.values():
            dim = closing_dim(self.build, closure)
            if dim is not None:
                out[dim] = next(iter(self.loop.dims[dim]))
        return out

    @cached_property
    def free_to_set(self) -> NDArray[np.float64]:
        """What can be set without binding a joint, as movements of the deviations, (sources, k).

        Four shims under four pads can go up and tilt a column, but not twist it; a rail that is pushed off its
        neighbour moves nothing and only binds.
        """
        places = list(self.places_to_set().values())
        if not places:
            return np.zeros((len(self.loop.sources), 0))
        # a slope is counted by what it does at 100 mm
        scale = [0.01 if self.loop.sources[p].dimension is Dimension.ANGLE else 1.0 for p in places]
        sizes, axes = _singular(misfit_rows(self.loop)[:, places] * scale)
        free = axes[sizes < BINDS]
        out = np.zeros((len(self.loop.sources), len(free)))
        out[places] = np.array(scale)[:, None] * free.T
        return out

    def with_reading(self, entry: Entry) -> "Bench":
        """The same with one more reading in the book; only what it touches is worked out anew.

        Raises:
            RequestError: as for ``Observer.observation``.
        """
        reading = entry.record
        if not isinstance(reading, Reading) or reading.item is not None or entry.supersedes is not None:
            return bench(
                (*self._without(entry.supersedes), entry), last=entry.number, book=self.book, like=self
            )
        seen = self.observer.observation(reading, entry=entry.number)
        return replace(
            self,
            entries=(*self.entries, entry),
            last=entry.number,
            knowledge=self.knowledge.with_one_more(seen),
            before_last=(entry.number, self.knowledge),
        )

    def _without(self, number: int | None) -> tuple[Entry, ...]:
        return tuple(entry for entry in self.entries if entry.number != number)

    def before(self, number: int) -> "Bench":
        """The bench as it was before an entry, by the description that counts now."""
        earlier = [entry for entry in self.entries if entry.number < number]
        return bench(earlier, last=number - 1, book=self.book, like=self)


def misfit_rows(loop: Loop, stations: int = 3) -> NDArray[np.float64]:
    """Misfit of every contact of over-constrained joints along their travel, over the deviations, (rows, sources)."""
    rows = [np.zeros((0, len(loop.sources)))]
    for model in loop.joints.values():
        if len(model.contacts.names) > 6:
            low, high = model.joint.travel or (model.joint.home, model.joint.home)
            moves = np.linspace(low, high, stations if high > low else 1) - model.joint.home
            found = model.at(moves).misfit
            wide = np.zeros((found.shape[0] * found.shape[1], len(loop.sources)))
            wide[:, model.places] = found.reshape(len(wide), -1)
            rows.append(wide)
    return np.concatenate(rows)


def _singular(rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """All right singular vectors and their sizes, those that do nothing among them: (k,), (k, k)."""
    _, sizes, axes = (
        np.linalg.svd(rows, full_matrices=True) if len(rows) else (0, np.zeros(0), np.eye(rows.shape[1]))
    )
    return np.concatenate([sizes, np.zeros(rows.shape[1] - len(sizes))]), axes


def adjuster_words(build: Build, path: str) -> str:
    """How an adjuster is set, in a word or two."""
    adjuster = adjuster_at(build, path)
    return "ground to size" if adjuster is None else str(adjuster.kind)


def standing_entries(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Entries that are neither superseded nor withdrawn, without the withdrawals themselves."""
    every = list(entries)
    gone = {entry.supersedes for entry in every}
    return tuple(e for e in every if e.number not in gone and not isinstance(e.record, Withdrawal))


def having(entries: Iterable[Entry], kind: type[Kind]) -> list[tuple[Entry, Kind]]:
    """Entries that hold one kind of record, with it."""
    return [(entry, entry.record) for entry in entries if isinstance(entry.record, kind)]


def _numbered(states: Iterable[tuple[Entry, State]]) -> list[tuple[int, State]]:
    # a corrected state comes late in the book and keeps its place among the states
    found = sorted(((entry.of or 1, state) for entry, state in states), key=lambda one: one[0])
    return found or [(1, State(reason="start", cause="start"))]


def bench(
    entries: Sequence[Entry], *, last: int = 0, book: str = "", like: Bench | None = None, apart: bool = False
) -> Bench:
    """Works out a build from the entries of its book.

    Args:
        entries: of the book, in their order, those that no longer count may be among them.
        last: number of the book's last entry.
        book: name of the book.
        like: a bench of the same book, whose loop is used again where the description is the same.
        apart: with ``like`` too the last reading is taken in by itself, so that what it moved can be told.

    Raises:
        BuildError: the newest description has mistakes.
        RequestError: there is no description.
    """
    counting = standing_entries(entries)
    described = [revision for _, revision in having(counting, Revision)]
    if like is not None and (not described or described[-1].text == _text_of(like)):
        loop, observer, rows, kept = like.loop, like.observer, like._rows, like.kept
    elif described:
        loop = load_text(described[-1].text, described[-1].file)
        observer, rows, kept = Observer(loop), {}, {}
    else:
        raise RequestError("the book has no description of a build", "save one: loopwright book save FILE")
    states = _numbered(having(counting, State))
    found = list(_items(counting))
    line = line_of(loop, states, {(one.serial, one.what): Found(one.value, one.std) for one in found})
    observations, left_out = _observations(counting, observer, states)
    newest = max((entry.number for entry in entries), default=0)
    before = None
    if not observations or (like is not None and not apart):
        knowledge = learn(line, observations)
    else:
        # the last one by itself, so that what it moved can be told without learning all the others again
        earlier = learn(line, observations[:-1])
        knowledge, before = earlier.with_one_more(observations[-1]), earlier
    entry = observations[-1].entry if observations else None
    return Bench(
        loop,
        counting,
        max(last, newest),
        knowledge,
        observer,
        tuple(left_out),
        book,
        None if before is None or entry is None else (entry, before),
        rows,
        kept,
    )


def _text_of(like: Bench) -> str | None:
    described = like.having(Revision)
    return described[-1][1].text if described else None


def _observations(
    entries: Iterable[Entry], observer: Observer, states: Sequence[tuple[int, State]]
) -> tuple[list[Observation], list[tuple[int, str]]]:
    out: list[Observation] = []
    left_out: list[tuple[int, str]] = []
    known = {number for number, _ in states}
    for entry in entries:
        reading = entry.record
        if not isinstance(reading, Reading) or reading.item is not None:
            continue
        if reading.state not in known:
            left_out.append((entry.number, f"it is of state {reading.state}, which no longer counts"))
            continue
        try:
            out.append(observer.observation(reading, entry=entry.number))
        except LoopwrightError as error:
            left_out.append((entry.number, str(error)))
    return out, left_out


def _items(entries: Iterable[Entry]) -> Iterable[Item]:
    """Readings of one item and one quantity, weighed by their uncertainty; what they share is not averaged away."""
    gathered: dict[tuple[str, str], list[Reading]] = {}
    for _, reading in having(entries, Reading):
        if reading.item is not None:
            gathered.setdefault((reading.item, reading.of), []).append(reading)
    for (serial, of), readings in gathered.items():
        values = np.array([np.mean(r.evaluated.values) for r in readings])
        own = np.array([max(np.mean(r.evaluated.stds), 1e-9) for r in readings])
        shared = max(
            (float(np.sqrt(sum(e.std**2 for e in r.evaluated.effects))) for r in readings), default=0.0
        )
        weights = 1 / own**2
        mean = float((weights * values).sum() / weights.sum())
        std = float(np.hypot(1 / np.sqrt(weights.sum()), shared))
        kind, _, what = of.partition("/")
        yield Item(serial, kind, what, mean, std, len(readings))


def _calibrated(gauge: Gauge, done: Calibration) -> Gauge:
    changes: dict[str, object] = {
        "verified": done.verified,
        "calibrated": date.fromisoformat(done.done),
        "due": None if done.due is None else date.fromisoformat(done.due),
    }
    if done.std is not None:
        changes["calibration"] = Spread(std=done.std, value=done.error)
    elif done.error:
        changes["calibration"] = gauge.calibration.model_copy(update={"value": done.error})
    return gauge.model_copy(update=changes)


def gauges_in_use(bench_: Bench) -> Mapping[str, Gauge]:
    """Every gauge as its last calibration left it."""
    return {name: bench_.gauge(name) for name in bench_.build.gauges}
