"""From the readings of a book to rows over the deviations, and from what was done to moves of them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Common, Observation
from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.asbuilt.timeline import Move, Timeline, timeline
from loopwright.errors import RequestError
from loopwright.loop.columns import lead_of
from loopwright.loop.kinematics import poses_of
from loopwright.loop.rows import Loop, Rows
from loopwright.loop.sources import SourceKind
from loopwright.model.build import Build, Closure
from loopwright.model.contacts import Adjuster, AdjusterKind
from loopwright.model.indications import Test, Zeroing
from loopwright.model.joints import adjusters
from loopwright.model.records import Change, Reading, State

Array = NDArray[np.float64]

ANEW = (AdjusterKind.SHIM, AdjusterKind.SPACER)
"""Adjusters that are taken out and put in anew, so an error of the old setting is gone with it."""

DRIVE_STATEMENTS = ("mean travel", "travel variation", "once per turn")
"""What an inspected screw may have readings of: its lead error, part by part."""


@dataclass
class Observer:
    """Turns readings into observations; rows of a test are worked out once.

    Attributes:
        loop: of the build.
    """

    loop: Loop
    _rows: dict[object, Rows] = field(default_factory=dict)
    _of_dims: dict[object, tuple[Array, Array]] = field(default_factory=dict)

    def observation(
        self, reading: Reading, *, entry: int | None = None, state: int | None = None
    ) -> Observation:
        """A reading as an observation.

        Args:
            reading: as recorded.
            entry: its number in the book.
            state: in which it counts, where that is not the one it was taken in.

        Raises:
            RequestError: the build has no such test or dim, or the values are not as many as the poses.
        """
        rows, nominal, free = self._asked(reading)
        found = reading.evaluated
        if len(rows) != len(found.values):
            raise RequestError(
                f"'{reading.of}' has {len(rows)} poses and {len(found.values)} values",
                "give one value for each pose, or name the poses",
            )
        return Observation(
            name=name_of(reading),
            state=reading.state if state is None else state,
            rows=rows,
            values=np.array(found.values) - nominal,
            stds=np.array(found.stds),
            common=tuple(Common(e.name, e.std, np.array(e.column)) for e in found.effects),
            free=free,
            entry=entry,
        )

    def _asked(self, reading: Reading) -> tuple[Array, Array, Array]:
        """Rows, what a nominal machine would show, and columns of an unknown zero."""
        if reading.subject == "test":
            return self.test(reading.of, reading.poses)
        count = len(reading.evaluated.values)
        if reading.subject == "gap":
            row, nominal = self.gap(reading.of)
            return np.repeat(row[None], count, axis=0), np.full(count, nominal), np.zeros((0, 0))
        row, nominal = self.dim(reading.of)
        if reading.against is not None:
            other, size = self.dim(reading.against)
            row, nominal = row - other, nominal - size
        count = len(reading.evaluated.values)
        return np.repeat(row[None], count, axis=0), np.full(count, nominal), np.zeros((0, 0))

    def dim(self, path: str) -> tuple[Array, float]:
        """Row of a dim over the deviations, (sources,), and its nominal size.

        Raises:
            RequestError: there is no such dim.
        """
        dim = self.loop.build.dim(path)
        if dim is None:
            raise RequestError(f"there is no dim '{path}'", "name it as part/dim, as the build file has it")
        row = np.zeros(len(self.loop.sources))
        for place, factor in self.loop.dims[path].items():
            row[place] = factor
        return row, dim.nominal

    def gap(self, name: str) -> tuple[Array, float]:
        """Row of the size that would just fill a closure, over the deviations, and what it nominally is.

        It is the size of the filling part at which its contact, at home, is neither proud nor short: with M the
        misfit of the contact for a unit of each deviation, -M_j / M_d for every deviation but those of the part's
        own dim d.

        Raises:
            RequestError: there is no such closure, no dim of a part fills it, or nothing else locates it.
        """
        closure = self.loop.build.closures.get(name)
        if closure is None:
            raise RequestError(f"there is no closure '{name}'", "name one of the build file's 'closures'")
        dim = closing_dim(self.loop.build, closure)
        if dim is None:
            raise RequestError(
                f"no dim of a part fills '{name}'",
                f"let the contact '{closure.contact}' name a dim of its part",
            )
        model = self.loop.joints[closure.joint]
        misfit = np.zeros(len(self.loop.sources))
        number = model.contacts.names.index(closure.contact)
        misfit[model.places] = model.at(np.zeros(1)).misfit[0, number]
        places = self.loop.dims[dim]
        own = misfit[next(iter(places))]
        if abs(own) < 1e-9:
            raise RequestError(
                f"whatever size the part of '{name}' has, its contact fits: nothing else holds the joint there",
                "read what the size is to bring about instead, by a test",
            )
        row = -misfit / own
        for place, factor in places.items():
            row[place] += factor
        found = self.loop.build.dim(dim)
        return row, 0.0 if found is None else found.nominal

    def test(
        self, name: str, poses: Mapping[str, Sequence[float]] | None = None
    ) -> tuple[Array, Array, Array]:
        """Rows of a test before it is zeroed, (poses, sources); zeros, (poses,); and columns of its unknown zero.

        A test that is zeroed leaves its zero open; one zeroed by a line its slope along each axis too.

        Raises:
            RequestError: there is no such test, or it shows the size of several components together.
        """
        test = self.loop.build.tests.get(name)
        if test is None:
            raise RequestError(f"there is no test '{name}'", "name a test of the build file")
        if len(test.components) != 1:
            raise RequestError(
                f"the test '{name}' asks for {test.component}, which no gauge shows as one number",
                "ask for one component, or 'along' a direction",
            )
        rows = self._rows_of(name, test, poses or {})
        matrix = rows.matrix[:, 0]
        columns: list[Array] = []
        if test.zeroed.how != "none":
            columns.append(np.ones(len(matrix)))
        if test.zeroed.how == "line":
            columns += [rows.poses[letter] - rows.poses[letter].mean() for letter in test.over]
        free = np.stack(columns, axis=1) if columns else np.zeros((0, 0))
        return matrix, np.zeros(len(matrix)), free

    def _rows_of(self, name: str, test: Test, poses: Mapping[str, Sequence[float]]) -> Rows:
        key = (name, *((letter, tuple(values)) for letter, values in sorted(poses.items())))
        if key not in self._rows:
            _check_poses(self.loop.build, name, poses)
            bare = test.model_copy(update={"zeroed": Zeroing()})
            given = {letter: np.array(values, float) for letter, values in poses.items()}
            wanted = poses_of(self.loop.build, bare)
            if given:
                count = len(next(iter(given.values())))
                held = {letter: np.full(count, values[0]) for letter, values in wanted.items()}
                wanted = {**held, **given}
            self._rows[key] = self.loop.rows(bare, wanted)
        return self._rows[key]


def _check_poses(build: Build, name: str, poses: Mapping[str, Sequence[float]]) -> None:
    for letter in poses:
        if letter not in build.axes():
            raise RequestError(
                f"the poses of '{name}' name an axis '{letter}' that the build does not have",
                f"name {', '.join(build.axes()) or 'no axis'}",
            )
    if poses and {len(values) for values in poses.values()} != {len(next(iter(poses.values()))) or -1}:
        raise RequestError(
            f"the poses of '{name}' are not as many for each axis",
            "give every axis one position for each value",
        )


def name_of(reading: Reading) -> str:
    """A reading as people call it."""
    item = f" of {reading.item}" if reading.item else ""
    against = f" against {reading.against}" if reading.against else ""
    return reading.of + item + against


@dataclass(frozen=True)
class Found:
    """What was found of an item on the bench: the mean of its readings and its standard uncertainty, mm or rad."""

    value: float
    std: float


def line_of(
    loop: Loop, states: Iterable[tuple[int, State]], items: Mapping[tuple[str, str], Found]
) -> Timeline:
    """The timeline of a machine from the states in its book.

    Args:
        loop: of the build.
        states: number and record of each, oldest first.
        items: what was found of each item, by its serial and what was read of it.

    Raises:
        RequestError: a state changes something that the build does not have.
    """
    prior = prior_of(loop.sources, loop.build.assume)
    settings = dict.fromkeys(loop.settings.values(), 0.0)
    changes: list[tuple[int, list[Move]]] = []
    for number, state in states:
        moves: list[Move] = []
        for change in state.changes:
            moves += moves_of(loop, prior, change, settings, items)
        changes.append((number, moves))
    return timeline(prior, changes or [(1, [])])


def moves_of(
    loop: Loop,
    prior: Prior,
    change: Change,
    settings: dict[int, float],
    items: Mapping[tuple[str, str], Found],
) -> list[Move]:
    """What one change did to the deviations; ``settings`` is brought up to date.

    Raises:
        RequestError: the build has no such adjuster, dim or part.
    """
    std = float(np.hypot(change.std, change.lock_std))
    if change.what == "set":
        return [_set(loop, change, std, settings)]
    if change.what == "sized":
        return _sized(loop, change, std)
    return _renewed(loop, prior, change, items)


def _set(loop: Loop, change: Change, std: float, settings: dict[int, float]) -> Move:
    place = loop.settings.get(change.of)
    if place is None or change.value is None:
        raise RequestError(
            f"there is nothing to set at '{change.of}'",
            "name one of: " + ", ".join(loop.settings) if loop.settings else "give a contact 'adjust'",
        )
    adjuster = adjuster_at(loop.build, change.of)
    if adjuster is not None and adjuster.kind in ANEW:
        settings[place] = change.value
        return Move(place, change.value, std)
    by = change.value - settings[place]
    settings[place] = change.value
    return Move(place, by, std, onward=True)


def _sized(loop: Loop, change: Change, std: float) -> list[Move]:
    dim = loop.build.dim(change.of)
    if dim is None or change.value is None:
        raise RequestError(f"there is no dim '{change.of}' to be sized", "name it as part/dim")
    (own, _), *shared = loop.dims[change.of].items()
    return [Move(own, change.value - dim.nominal, std, less=tuple(shared))]


def _renewed(loop: Loop, prior: Prior, change: Change, items: Mapping[tuple[str, str], Found]) -> list[Move]:
    """A new part or drive is as its drawing says, or as its item was found on the bench."""
    if change.of in loop.build.parts:
        return _new_part(loop, prior, change, items)
    moves: list[Move] = []
    places = drive_places(loop, change.of)
    if not places:
        raise RequestError(
            f"there is no part or drive '{change.of}' to be exchanged",
            "name a part, or a drive as 'joint/drive'",
        )
    for statement, chosen in places.items():
        found = _item(items, change, statement)
        if statement == "mean travel":
            place = chosen[0]
            moves.append(_as_drawn(prior, place) if found is None else Move(place, found.value, found.std))
        else:
            share = 1.0 if found is None else _band_share(loop, change.of, statement, found.value)
            moves += [Move(place, 0.0, float(prior.std[place] * share), drawn_as=place) for place in chosen]
    return moves


def _new_part(loop: Loop, prior: Prior, change: Change, items: Mapping[tuple[str, str], Found]) -> list[Move]:
    """It was in no setup with the old parts; those of its dims that are made together were made so again."""
    moves: list[Move] = []
    together: dict[int, list[tuple[int, float]]] = {}
    for name, dim in loop.build.parts[change.of].every_dim().items():
        (own, _), *shared = loop.dims[f"{change.of}/{name}"].items()
        found = _item(items, change, name)
        if found is not None:
            moves.append(Move(own, found.value - dim.nominal, found.std, less=tuple(shared)))
            continue
        moves.append(_as_drawn(prior, own, less=tuple(shared)))
        for place, factor in shared:
            together.setdefault(place, []).append((own, factor))
    for place, ((first, factor), *others) in together.items():
        again = _as_drawn(prior, place)
        also = tuple((other, its / factor) for other, its in others)
        mean, std = factor * again.mean, abs(factor) * again.std
        moves.append(replace(again, place=first, mean=mean, std=std, onward=True, also=also))
    return moves


def _as_drawn(prior: Prior, place: int, less: tuple[tuple[int, float], ...] = ()) -> Move:
    """A deviation anew as its drawing says: as open as before any reading, and in the stated shape."""
    return Move(place, float(prior.mean[place]), float(prior.std[place]), less=less, drawn_as=place)


def _item(items: Mapping[tuple[str, str], Found], change: Change, what: str) -> Found | None:
    return None if change.item is None else items.get((change.item, what))


def drive_places(loop: Loop, path: str) -> dict[str, list[int]]:
    """Places in x of what may be read of a drive before it is put in: 'mean travel', 'travel variation' and so on.

    Args:
        loop: of the build.
        path: of the drive, as 'X slide/drive'.
    """
    joint, _, below = path.partition("/")
    start = f"{joint}: {below.replace('drives/', 'drive ')} "
    out: dict[str, list[int]] = {}
    for place, source in enumerate(loop.sources):
        called = source.group or source.name
        if source.kind is SourceKind.DRIVES and called.startswith(start):
            out.setdefault(called.removeprefix(start), []).append(place)
    return {name: places for name, places in out.items() if name in DRIVE_STATEMENTS}


def _band_share(loop: Loop, path: str, statement: str, found: float) -> float:
    """A band that was measured, as a share of the one that the build file states."""
    stated = stated_band(loop, path, statement)
    return found / stated if stated else 1.0


def stated_band(loop: Loop, path: str, statement: str) -> float:
    """Width of the band of a drive's lead error that the build file states or its grade allows, mm."""
    joint = loop.build.joints[path.partition("/")[0]]
    below = path.partition("/")[2]
    drive = dict(joint.every_drive())[below]
    low, high = joint.travel or (0.0, 1.0)
    lead = lead_of(drive.lead_error, high - low)
    return lead.bandwidth if statement == "travel variation" else lead.revolution


def closing_dim(build: Build, closure: Closure) -> str | None:
    """The dim of a closure's part that fills the gap: the one that its contact names."""
    terms = build.joints[closure.joint].contacts[closure.contact].dims
    part = closure.part
    return next((term.dim for term in terms if part is not None and term.dim.startswith(part + "/")), None)


def adjuster_at(build: Build, path: str) -> Adjuster | None:
    """The adjuster at a path as 'joint/contact', or None."""
    name, _, below = path.partition("/")
    joint = build.joints.get(name)
    return None if joint is None else adjusters(joint).get(below.removesuffix("/slope"))
