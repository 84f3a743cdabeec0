"""The machine through its states: what every deviation of a state is made of.

Each adjustment, size or exchange brings new independent pieces. The deviations of state k are x_k = T_k p: most of
them are one piece since the beginning, some were replaced, some are the sum of what was there and what was added.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.prior import Prior
from loopwright.errors import RequestError
from loopwright.model.spread import Shape

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Move:
    """What one change did to one deviation.

    Attributes:
        place: of the deviation in x.
        mean: by how much it moved, or where it now stands; mm or rad.
        std: how well that is known, standard uncertainty.
        onward: it moved on from where it was; otherwise it stands anew, whatever it was.
        less: places in x that no longer count for it, as the shared part of a setup the new part was not in, each with
            the factor by which it counted.
        also: places of other deviations that the very same thing happened to, as dims of one new setup, each with how
            much more or less of it.
        drawn_as: place in x of the deviation whose shape it has, as a part made anew to its drawing; None where it was
            set, sized or measured, which is normal.
    """

    place: int
    mean: float
    std: float
    onward: bool = False
    less: tuple[tuple[int, float], ...] = ()
    also: tuple[tuple[int, float], ...] = ()
    drawn_as: int | None = None


@dataclass(frozen=True)
class Timeline:
    """States of a machine and the independent pieces their deviations are made of.

    Attributes:
        prior: of the deviations in the first state; they are the first pieces.
        states: numbers of the states, oldest first.
        mean: expected value of each piece before any reading, (pieces,).
        std: its standard uncertainty, (pieces,).
        made_of: for each state, the deviations that are no longer the piece of their own place: by place in x, the
            pieces and factors whose sum they are.
        since: for each piece the number of the state that brought it.
        places: for each piece the place in x of the deviation that it was brought for.
        drawn_as: for each piece the place in x of the deviation whose shape it has; None where it is normal.
    """

    prior: Prior
    states: tuple[int, ...]
    mean: Array
    std: Array
    made_of: Mapping[int, Mapping[int, tuple[tuple[int, float], ...]]]
    since: tuple[int, ...]
    places: tuple[int, ...]
    drawn_as: tuple[int | None, ...]

    @property
    def newest(self) -> int:
        """Number of the state that the machine is in."""
        return self.states[-1]

    def over_pieces(self, matrix: Array, state: int) -> Array:
        """Rows over the deviations of a state as rows over the pieces.

        Args:
            matrix: (..., sources).
            state: number of the state.

        Returns:
            (..., pieces).

        Raises:
            RequestError: there is no such state.
        """
        if state not in self.made_of:
            known = f"{self.states[0]} to {self.states[-1]}"
            raise RequestError(f"there is no state {state}", f"name one of {known}")
        count = matrix.shape[-1]
        out = np.zeros((*matrix.shape[:-1], len(self.mean)))
        out[..., :count] = matrix
        changed = self.made_of[state]
        for place in changed:
            out[..., place] = 0.0
        for place, pieces in changed.items():
            for piece, factor in pieces:
                out[..., piece] += factor * matrix[..., place]
        return out

    @cached_property
    def open_(self) -> NDArray[np.intp]:
        """Pieces that are not known from the beginning."""
        return np.flatnonzero(self.std > 0)


def timeline(prior: Prior, changes: Sequence[tuple[int, Sequence[Move]]]) -> Timeline:
    """Follows the changes of a machine from state to state.

    Args:
        prior: what is believed of the deviations in the first state.
        changes: number of each state, oldest first, and what brought it about; the first as a rule by nothing.

    >>> from loopwright.asbuilt.prior import prior_of
    >>> from loopwright.studies import example_loop
    >>> loop = example_loop("clock-plate")
    >>> found = timeline(prior_of(loop.sources, loop.build.assume), [(1, []), (2, [Move(0, 0.01, 0.001)])])
    >>> found.newest, len(found.mean) - len(found.prior.mean)
    (2, 1)
    """
    places = tuple(range(len(prior.mean)))
    line = Timeline(prior, (), prior.mean, prior.std, {}, (changes[0][0],) * len(places), places, places)
    for state, moves in changes:
        line = _one_more(line, state, moves)
    return line


def changed(line: Timeline, moves: Sequence[Move]) -> Timeline:
    """The same with one more state, in which something was changed."""
    return _one_more(line, line.newest + 1, moves)


def _one_more(line: Timeline, state: int, moves: Sequence[Move]) -> Timeline:
    """The same with a state of that number, every move of which brings a piece."""
    now = dict(line.made_of[line.newest]) if line.states else {}
    for piece, move in enumerate(moves, len(line.mean)):
        _add(now, move, piece)
    return replace(
        line,
        states=(*line.states, state),
        mean=np.append(line.mean, [move.mean for move in moves]),
        std=np.append(line.std, [move.std for move in moves]),
        made_of={**line.made_of, state: now},
        since=(*line.since, *(state for _ in moves)),
        places=(*line.places, *(move.place for move in moves)),
        drawn_as=(*line.drawn_as, *(move.drawn_as for move in moves)),
    )


def _add(now: dict[int, tuple[tuple[int, float], ...]], move: Move, piece: int) -> None:
    """Brings what a deviation is made of up to date with a move that brought a new piece."""
    less = tuple((p, -by * f) for place, by in move.less for p, f in now.get(place, ((place, 1.0),)))
    for place, factor in ((move.place, 1.0), *move.also):
        before = now.get(place, ((place, 1.0),)) if move.onward else ()
        now[place] = (*before, (piece, factor), *less)


def as_designed(prior: Prior) -> Timeline:
    """The machine in its first state, with nothing done to it."""
    return timeline(prior, [(1, [])])


def shape_of(line: Timeline, piece: int) -> Shape:
    """Shape of what is believed of a piece before any reading."""
    place = line.drawn_as[piece]
    return Shape.NORMAL if place is None else line.prior.shapes[place]
