"""What is known of a machine after any set of readings: least squares with the prior, in one place.

    y = H x + v,   p | y:  Lambda = I + G'G,  G = R^-1/2 H T S

All readings are taken together, so their order cannot matter. Pieces are counted in their own standard
uncertainties S; errors that readings have in common (a gauge's calibration, an artefact's form) are pieces too, so
that what is left, R, is each value's own. The unknown zero and slope of a sweep are taken out of its rows
beforehand, which is the same as a flat prior for them.

Source: Gauss-Markov with prior information (JCGM 102:2011, 6; textbooks: Kalman update).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.information import Information
from loopwright.asbuilt.timeline import Timeline
from loopwright.errors import RequestError
from loopwright.loop.rows import Rows

Array = NDArray[np.float64]

LEAST_STD = 1e-8
"""No reading is taken as better than this, mm or rad: a gauge without any uncertainty is a mistake."""

MANY = 50
"""Single values from which on they are weighed together."""
AT_ONCE = 256
"""So many of them at once: more would not stay near the processor."""
LEAST_SHARE = 1e-6
"""No reading is taken as better than this share of what was open before any: rounding would eat the rest."""


@dataclass(frozen=True, slots=True)
class Common:
    """An error that values have in common, in one observation.

    Attributes:
        name: the same name is the same error, in whatever observation.
        std: standard uncertainty, mm or rad.
        column: how much of it is in each value, (values,).
    """

    name: str
    std: float
    column: Array


@dataclass(frozen=True)
class Observation:
    """A reading as rows over the deviations.

    Attributes:
        name: for people.
        state: number of the state of the machine it was taken in.
        rows: H, (values, sources).
        values: what was found, less what a nominal machine would have shown, (values,), mm or rad.
        stds: standard uncertainty of each value on its own, (values,).
        common: errors that values have in common.
        free: what is not known of its zero: columns with a flat prior, (values, columns).
        entry: number of the entry in the book, or None.
    """

    name: str
    state: int
    rows: Array
    values: Array
    stds: Array
    common: tuple[Common, ...] = ()
    free: Array = field(default_factory=lambda: np.zeros((0, 0)))
    entry: int | None = None


@dataclass(frozen=True)
class Weighed:
    """An observation counted in standard uncertainties: unit noise, zero taken out.

    Attributes:
        rows: G over the open unknowns, (values, unknowns).
        found: value less what is expected before any reading, (values,).
        spread: what a flat prior has taken out, orthonormal, (values, columns).
        noise: standard uncertainty that each value was counted in, (values,), mm or rad.
    """

    rows: Array
    found: Array
    spread: Array
    noise: Array

    @property
    def freedom(self) -> int:
        """How many independent values are left."""
        return len(self.found) - int(self.spread.shape[1])


@dataclass(frozen=True)
class Knowledge:
    """What is known after some observations.

    Attributes:
        line: the states of the machine.
        observations: all that were taken into account.
        common: names of the errors in common; they stand behind the pieces.
        scale: standard uncertainty of every unknown before any reading, pieces first, (unknowns,).
        open_: unknowns that are open at all, (open,).
        information: triangle U with U'U = 1 + G'G over the open unknowns, found without the product, which would
            halve the digits, and what stands beside it.
    """

    line: Timeline
    observations: tuple[Observation, ...]
    common: tuple[str, ...]
    scale: Array
    open_: NDArray[np.intp]
    information: Information
    _kept: dict[tuple[int, int], tuple[Rows, Array, Array]] = field(
        default_factory=dict, compare=False, repr=False
    )
    _deviations: dict[int, tuple[Array, Array]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def factor(self) -> Array:
        """C with C C' = covariance of the open unknowns in their own prior units, (open, open)."""
        return self.information.factor

    @property
    def upper(self) -> Array:
        """U, which need not be a triangle in the order of the open unknowns, (open, open)."""
        return self.information.whole[0]

    @property
    def turned(self) -> Array:
        """What stands beside it, U'^-1 G'r, (open,)."""
        return self.information.whole[1]

    @cached_property
    def gram(self) -> Array:
        """G'G over the open unknowns, (open, open)."""
        upper = self.upper
        return np.asarray(upper.T @ upper - np.eye(len(upper)))

    @cached_property
    def right(self) -> Array:
        """G'r, (open,)."""
        return np.asarray(self.upper.T @ self.turned)

    @property
    def left(self) -> Array:
        """Standard uncertainty of the open unknowns in their own prior units, (open,)."""
        return self.information.left

    @cached_property
    def mean(self) -> Array:
        """Expected value of every piece, (pieces,)."""
        out = np.concatenate([self.line.mean, np.zeros(len(self.common))])
        out[self.open_] += self.scale[self.open_] * self.moved
        return out[: len(self.line.mean)]

    @cached_property
    def std(self) -> Array:
        """Standard uncertainty of every piece, (pieces,)."""
        out = np.zeros(len(self.scale))
        out[self.open_] = self.scale[self.open_] * self.left
        return out[: len(self.line.mean)]

    def rows(self, matrix: Array, state: int) -> Array:
        """Rows over the deviations of a state, over the open unknowns in prior units, (..., open)."""
        wide = self.line.over_pieces(matrix, state)
        known = self.open_[self.open_ < wide.shape[-1]]
        out = np.zeros((*wide.shape[:-1], len(self.open_)))
        out[..., : len(known)] = wide[..., known] * self.scale[known]
        return out

    def root(self, matrix: Array, state: int) -> Array:
        """V with V V' = covariance of what the rows show in a state, (..., open)."""
        return self.information.through(self.rows(matrix, state))

    def of_target(self, rows: Rows, state: int) -> tuple[Array, Array]:
        """What a target shows in a state, and V with V V' = its covariance; kept, as many questions need them.

        Args:
            rows: of the target.
            state: of the machine.

        Returns:
            (rows,) and (rows, open); poses x components, components running fastest.
        """
        key = (id(rows), state)
        if key not in self._kept:
            flat = rows.matrix.reshape(-1, rows.matrix.shape[-1])
            self._kept[key] = rows, self.expected(flat, state), self.root(flat, state)
        _, mean, root = self._kept[key]
        return mean, root

    def expected(self, matrix: Array, state: int) -> Array:
        """What rows over the deviations show in a state, (...)."""
        return np.asarray(self.line.over_pieces(matrix, state) @ self.mean)

    def foretold(self, observation: Observation) -> Array:
        """What a reading would show, with what is known of the errors it has in common with others, (values,)."""
        shown = self.expected(observation.rows, observation.state)
        places = {name: len(self.line.mean) + number for number, name in enumerate(self.common)}
        unknown = np.zeros(len(self.scale))
        unknown[self.open_] = self.moved
        for error in observation.common:
            if error.name in places:
                shown = shown + error.column * error.std * unknown[places[error.name]]
        return shown

    def uncertainty(self, matrix: Array, state: int) -> Array:
        """Standard uncertainty of what rows over the deviations show in a state, (...)."""
        return np.asarray(np.sqrt((self.root(matrix, state) ** 2).sum(axis=-1)))

    def sees(self, observation: Observation) -> Array:
        """Rows of a reading not yet taken, over the open unknowns as they are known now and in its own noise.

        With W these rows, it would take the covariance C C' of the unknowns to C (1 + W'W)^-1 C'.

        Args:
            observation: as it would be; its values do not matter.

        Returns:
            W, (values, open).
        """
        return self.sees_all([observation])[0]

    def sees_all(self, observations: Sequence[Observation]) -> list[Array]:
        """The same for several readings, each as if it were the only one."""
        if not observations:
            return []
        # one that was stated as nothing so far is as good as new
        known = {name for name, size in zip(self.common, self.scale[len(self.line.mean) :]) if size}
        weighed, fresh = [], []
        for one in observations:
            pieces = self.line.over_pieces(one.rows, one.state)
            noise = _noise(one, pieces * self.line.std)
            kept = tuple(error for error in one.common if error.name in known)
            weighed.append(self.weighed(replace(one, common=kept, stds=noise)))
            # errors that nothing else is known of are noise that the values have in common
            own = [e.column * (e.std / noise) for e in one.common if e.name not in known and e.std]
            fresh.append(np.stack(own, axis=1) if own else None)
        ends = np.cumsum([len(one.found) for one in weighed])[:-1]
        seen = np.split(self.information.through(np.concatenate([one.rows for one in weighed])), ends)
        return [
            rows if columns is None else _whitened(rows, columns, one.spread)
            for rows, columns, one in zip(seen, fresh, weighed)
        ]

    def deviations(self, state: int) -> tuple[Array, Array]:
        """Expected value and standard uncertainty of every deviation of a state, each (sources,)."""
        if state not in self._deviations:
            count, changed = len(self.line.prior.mean), list(self.line.made_of.get(state, ()))
            mean, std = self.mean[:count].copy(), self.std[:count].copy()
            # all others are still the pieces of their own places
            rows = np.zeros((len(changed), count))
            rows[np.arange(len(changed)), changed] = 1.0
            mean[changed], std[changed] = self.expected(rows, state), self.uncertainty(rows, state)
            self._deviations[state] = mean, std
        mean, std = self._deviations[state]
        return mean.copy(), std.copy()

    def weighed(self, observation: Observation) -> Weighed:
        """One of its observations in standard uncertainties."""
        return weigh(self.line, observation, self.scale, self.common, self.open_)

    @property
    def moved(self) -> Array:
        """Expected value of the open unknowns, counted from the prior in prior units, (open,)."""
        return self.information.moved

    def with_one_more(self, observation: Observation) -> "Knowledge":
        """The same with one more observation; nothing is solved anew that need not be."""
        return learn(self.line, [observation], self)

    def in_line(self, line: Timeline) -> "Knowledge":
        """The same readings, the machine having gone on to further states.

        Args:
            line: begins as that of these readings does; its new pieces come last.
        """
        scale = np.concatenate([line.std, self.scale[len(self.line.mean) :]])
        open_ = np.flatnonzero(scale > 0)
        later = len(line.mean) - len(self.line.mean)
        shifted = np.where(self.open_ < len(self.line.mean), self.open_, self.open_ + later)
        old = np.searchsorted(open_, shifted)
        information = self.information.widened(old, len(open_), int((open_ >= len(line.mean)).sum()))
        return replace(
            self,
            line=line,
            scale=scale,
            open_=open_,
            information=information,
            _kept={},
            _deviations={},
        )

    def without(self, observation: Observation) -> "Knowledge":
        """The same without one of its observations."""
        left = [one for one in self.observations if one is not observation]
        return learn(self.line, left)


def learn(line: Timeline, observations: Sequence[Observation], before: Knowledge | None = None) -> Knowledge:
    """What is known of a machine after observations.

    Args:
        line: the states of the machine.
        observations: in any order.
        before: what was known already, of the same states; the observations are added to its own.

    Raises:
        RequestError: an observation has no uncertainty, is of an unknown state, or its arrays disagree; or what
            was known is of other states.
    """
    if before is not None and not _same(before.line, line):
        raise RequestError("what was known is of other states", "learn all readings anew")
    single = [one for one in observations if len(one.values) == 1 and not one.free.size]
    several = single if len(single) >= MANY else []
    apart = [one for one in observations if not several or len(one.values) != 1 or one.free.size]
    for observation in apart:
        _check(observation, len(line.prior.mean))
    scale, names = _unknowns(line, observations, before)
    open_ = np.flatnonzero(scale > 0)
    count, shared = len(open_), int((open_ >= len(line.mean)).sum())
    if before is None:
        information = Information.none(count, shared)
    else:
        information = before.information.widened(np.searchsorted(open_, before.open_), count, shared)
    information = information.told(_weighed(line, apart, several, scale, names, open_))
    earlier = () if before is None else before.observations
    return Knowledge(line, (*earlier, *observations), names, scale, open_, information)


def weigh(
    line: Timeline,
    observation: Observation,
    scale: Array,
    names: Sequence[str],
    open_: NDArray[np.intp],
) -> Weighed:
    """An observation counted in standard uncertainties, its zero taken out.

    Args:
        line: the states of the machine.
        observation: the reading.
        scale: standard uncertainty of every unknown before any reading, (unknowns,).
        names: of the errors in common, in the order in which they stand behind the pieces.
        open_: the open unknowns, (open,).
    """
    pieces = line.over_pieces(observation.rows, observation.state)
    wide = np.zeros((len(observation.values), len(scale)))
    wide[:, : pieces.shape[1]] = pieces
    places = {name: len(line.mean) + number for number, name in enumerate(names)}
    for error in observation.common:
        wide[:, places[error.name]] += error.column * (error.std / (scale[places[error.name]] or 1.0))
    noise = _noise(observation, pieces * line.std)
    found = (observation.values - pieces @ line.mean) / noise
    rows = (wide[:, open_] * scale[open_]) / noise[:, None]
    spread = np.zeros((len(found), 0))
    if observation.free.size:
        spread = _orthonormal(observation.free / noise[:, None])
        rows = rows - spread @ (spread.T @ rows)
        found = found - spread @ (spread.T @ found)
    return Weighed(rows, found, spread, noise)


def _weighed(
    line: Timeline,
    apart: Sequence[Observation],
    several: Sequence[Observation],
    scale: Array,
    names: Sequence[str],
    open_: NDArray[np.intp],
) -> Iterator[tuple[Array, Array]]:
    """Rows and values of observations, each by itself and then single values some hundreds at a time."""
    for observation in apart:
        one = weigh(line, observation, scale, names, open_)
        yield one.rows, one.found
    for start in range(0, len(several), AT_ONCE):
        yield _weigh_together(line, several[start : start + AT_ONCE], scale, names, open_)


def _weigh_together(
    line: Timeline,
    singles: Sequence[Observation],
    scale: Array,
    names: Sequence[str],
    open_: NDArray[np.intp],
) -> tuple[Array, Array]:
    """Rows and values of many single values as ``weigh`` gives them, worked out at once."""
    try:
        rows = np.concatenate([one.rows for one in singles])
        values, stds = (np.concatenate(part) for part in zip(*((o.values, o.stds) for o in singles)))
        sound = np.isfinite(rows).all() and np.isfinite(values).all() and (stds > 0).all()
        sound = sound and rows.shape == (len(singles), len(line.prior.mean)) and len(stds) == len(singles)
        errors = [(error.std, *error.column.tolist()) for one in singles for error in one.common]
        stated = np.array(errors, float).reshape(len(errors), 2)
        sound = sound and np.isfinite(stated).all() and (stated[:, 0] >= 0).all()
    except ValueError:
        sound = False
    if not sound:  # one of them is at fault, and says so itself
        for one in singles:
            _check(one, len(line.prior.mean))
    states = np.array([one.state for one in singles])
    pieces = np.zeros((len(singles), len(line.mean)))
    for state in np.array(sorted(set(states.tolist()))):
        pieces[states == state] = line.over_pieces(rows[states == state], int(state))
    places = {name: len(line.mean) + number for number, name in enumerate(names)}
    shared = [
        (number, places[error.name], error.std * float(error.column[0]))
        for number, one in enumerate(singles)
        for error in one.common
    ]
    variance = ((pieces * line.std) ** 2).sum(axis=1)
    wide = np.zeros((len(singles), len(scale)))
    wide[:, : len(line.mean)] = pieces
    if shared:
        which, place, size = (np.array(part) for part in zip(*shared))
        np.add.at(variance, which, size**2)
        np.add.at(wide, (which, place), size / np.where(scale[place] > 0, scale[place], 1.0))
    noise = np.maximum(np.maximum(stds, LEAST_SHARE * np.sqrt(variance)), LEAST_STD)
    found = (values - pieces @ line.mean) / noise
    return wide[:, open_] * scale[open_] / noise[:, None], found


def _noise(observation: Observation, open_: Array) -> Array:
    """Standard uncertainty that each value is counted in, (values,); what was open of it, (values, pieces)."""
    errors = sum(((error.std * error.column) ** 2 for error in observation.common), (open_**2).sum(axis=1))
    return np.maximum(np.maximum(observation.stds, LEAST_SHARE * np.sqrt(errors)), LEAST_STD)


def _whitened(rows: Array, columns: Array, spread: Array) -> Array:
    """Rows in the noise that is left when their values have errors in common; the free zero is taken out of those."""
    columns = columns - spread @ (spread.T @ columns)
    lower = np.linalg.cholesky(np.eye(len(rows)) + columns @ columns.T)
    return np.asarray(np.linalg.inv(lower) @ rows)


def _orthonormal(columns: Array) -> Array:
    """An orthonormal basis of the columns; columns that say the same are counted once."""
    u, sizes, _ = np.linalg.svd(columns, full_matrices=False)
    return np.asarray(u[:, sizes > 1e-10 * sizes.max(initial=0)])


def _unknowns(
    line: Timeline, observations: Sequence[Observation], before: Knowledge | None
) -> tuple[Array, tuple[str, ...]]:
    """Standard uncertainty of every unknown, and the names of the errors in common behind the pieces."""
    sizes: dict[str, float] = {}
    if before is not None:
        sizes = dict(zip(before.common, before.scale[len(line.mean) :].tolist()))
    for observation in observations:
        for error in observation.common:
            # one that was stated as nothing is open from where it is stated as something
            sizes[error.name] = sizes.get(error.name) or error.std
    return np.concatenate([line.std, list(sizes.values())]), tuple(sizes)


def _same(one: Timeline, other: Timeline) -> bool:
    """They are made of the same pieces."""
    return one is other or (np.array_equal(one.mean, other.mean) and np.array_equal(one.std, other.std))


def _check(observation: Observation, sources: int) -> None:
    count, errors = len(observation.values), observation.common
    shapes = [observation.rows.shape == (count, sources), observation.stds.shape == (count,)]
    shapes += [error.column.shape == (count,) for error in errors]
    shapes += [not observation.free.size or observation.free.shape[0] == count]
    if not all(shapes) or not count:
        raise RequestError(
            f"'{observation.name}': rows, values and uncertainties are not as many as each other",
            "give one of each for every value",
        )
    parts = [observation.rows, observation.values, observation.stds, observation.free]
    parts += [error.std * error.column for error in errors]
    if not all(np.isfinite(part).all() for part in parts):
        raise RequestError(f"'{observation.name}' holds a value that is no number", "leave that value out")
    if (observation.stds < 0).any() or any(error.std < 0 for error in errors):
        raise RequestError(
            f"'{observation.name}' has an uncertainty below zero", "give its size, without sign"
        )
    if not (sum((np.abs(error.std * error.column) for error in errors), observation.stds) > 0).all():
        raise RequestError(
            f"'{observation.name}' has no uncertainty", "state resolution or repeatability of its gauge"
        )
