"""What readings tell of the unknowns, as the triangle of least squares: U with U'U = 1 + G'G.

Most sizes of a large machine are read by themselves: they meet the others only in the errors that readings have in
common. Put before those, each has one row of the triangle with next to nothing in it, and only what is read together
is solved together; this is least squares with the unknowns taken out one by one, no approximation:

    U = | diag(u)  border |       alone
        |    0     upper  |       meeting: read together with others, errors in common last

Source: Givens and Householder rotations, G. H. Golub and C. F. Van Loan, Matrix Computations, 5.1 to 5.3; bordered
systems ('arrow' matrices) as in the adjustment of survey nets by groups, F. R. Helmert (both from memory).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.triangles import inverse_of_upper

Array = NDArray[np.float64]
Places = NDArray[np.intp]

LARGE = 800
"""Unknowns up to which all are solved together: sorting them would take as long."""
PANEL = 64
"""Columns of a large triangle that rows are turned into at a time."""


@dataclass(frozen=True)
class Information:
    """The triangle and what stands beside it, over unknowns in units of what was open of each.

    Attributes:
        alone: unknowns that no row has together with another that is no error in common, rising, (alone,).
        meeting: all the others, rising; the errors in common are the last, (meeting,).
        diagonal: u, (alone,).
        border: what the rows of those alone hold of the errors in common, (alone, errors in common).
        upper: (meeting, meeting).
        beside_alone: U'^-1 G'r of those alone, (alone,).
        beside: of the others, (meeting,).
    """

    alone: Places
    meeting: Places
    diagonal: Array
    border: Array
    upper: Array
    beside_alone: Array
    beside: Array

    @classmethod
    def none(cls, count: int, shared: int) -> "Information":
        """Before any reading.

        Args:
            count: of unknowns.
            shared: how many of them, the last, are errors in common.

        >>> Information.none(3, 1).left.tolist()
        [1.0, 1.0, 1.0]
        """
        first = count - shared if count > LARGE else 0
        return cls(
            np.arange(first),
            np.arange(first, count),
            np.ones(first),
            np.zeros((first, shared)),
            np.eye(count - first),
            np.zeros(first),
            np.zeros(count - first),
        )

    @property
    def count(self) -> int:
        """How many unknowns there are."""
        return len(self.alone) + len(self.meeting)

    @property
    def _shared(self) -> slice:
        """The errors in common among those that meet."""
        return slice(len(self.meeting) - self.border.shape[1], None)

    def widened(self, old: Places, count: int, shared: int) -> "Information":
        """The same among more unknowns, of which nothing was read yet.

        Args:
            old: where the unknowns now stand, rising, (unknowns,).
            count: how many there are now.
            shared: how many of these, the last, are errors in common.
        """
        if count == self.count:
            return self
        out = Information.none(count, shared)
        out = out._joined(old[self.meeting])
        mine = np.searchsorted(out.alone, old[self.alone])
        theirs = np.searchsorted(out.meeting, old[self.meeting])
        out.diagonal[mine], out.beside_alone[mine] = self.diagonal, self.beside_alone
        out.border[np.ix_(mine, theirs[self._shared] - (len(out.meeting) - shared))] = self.border
        out.upper[np.ix_(theirs, theirs)], out.beside[theirs] = self.upper, self.beside
        return out

    def told(self, parts: Iterable[tuple[Array, Array]]) -> "Information":
        """The same with more rows.

        Args:
            parts: rows over the unknowns, (values, unknowns), and what was found, (values,), in units of the noise.
        """
        if not len(self.alone):
            every = list(parts)
            return self._turned(*(np.concatenate(part) for part in zip(*every))) if every else self
        rows, found, lines = self._sorted(parts)
        return self._joined(np.flatnonzero(rows.any(axis=0)))._told(rows, found, lines)

    def _sorted(self, parts: Iterable[tuple[Array, Array]]) -> tuple[Array, Array, "_Lines"]:
        """Rows of several unknowns at once, what was found by them, and rows of one and errors in common."""
        first = self.count - self.border.shape[1]
        whole, found, lines = [np.zeros((0, self.count))], [np.zeros(0)], [_Lines.none(self.border.shape[1])]
        for rows, values in parts:
            single = np.count_nonzero(rows[:, :first], axis=1) == 1
            whole.append(rows[~single])
            found.append(values[~single])
            one = rows[single]
            place = (one[:, :first] != 0).argmax(axis=1)
            lines.append(_Lines(place, one[np.arange(len(one)), place], one[:, first:], values[single]))
        return np.concatenate(whole), np.concatenate(found), _Lines.together(lines)

    def _told(self, rows: Array, found: Array, lines: "_Lines") -> "Information":
        """The same with more rows, none of which has two of those alone."""
        at = np.full(self.count, -1)
        at[self.alone] = np.arange(len(self.alone))
        apart = at[lines.place] >= 0
        near, far = lines.chosen(~apart), lines.chosen(apart)
        known = np.zeros((len(near.place), len(self.meeting)))
        known[:, self._shared] = near.shared
        known[np.arange(len(known)), np.searchsorted(self.meeting, near.place)] = near.size
        diagonal, border, beside = self.diagonal.copy(), self.border, self.beside_alone
        border, beside, rest = _rotated(diagonal, np.column_stack([border, beside]), at[far.place], far)
        tied = np.zeros((len(rest), len(self.meeting)))
        tied[:, self._shared] = rest[:, :-1]
        out = replace(self, diagonal=diagonal, border=border, beside_alone=beside)
        return out._turned(
            np.concatenate([rows[:, self.meeting], known, tied]),
            np.concatenate([found, near.found, rest[:, -1]]),
        )

    def _turned(self, rows: Array, found: Array) -> "Information":
        """The same with more rows over those that meet, turned into their triangle."""
        if not len(rows):
            return self
        above = np.column_stack([rows, found])
        below = np.column_stack([self.upper, self.beside])
        count = len(self.meeting)
        if count > LARGE and len(rows) <= 2 * PANEL:
            return self._with_triangle(_by_panels(below, above))
        triangle = np.asarray(np.linalg.qr(np.concatenate([above, below]), mode="r"), float)
        return self._with_triangle(triangle[:count])

    def _with_triangle(self, triangle: Array) -> "Information":
        return replace(self, upper=triangle[:, :-1], beside=triangle[:, -1])

    def _joined(self, places: Places) -> "Information":
        """The same with those alone among some unknowns put to those that meet."""
        joins, meets = np.zeros(self.count, bool), np.zeros(self.count, bool)
        joins[places], meets[self.meeting] = True, True
        mine = np.flatnonzero(joins[self.alone])
        if not len(mine):
            return self
        places = self.alone[mine]
        meeting = np.flatnonzero(joins | meets)
        fresh, old = np.searchsorted(meeting, places), np.searchsorted(meeting, self.meeting)
        count = len(meeting)
        both = np.zeros((count, count + 1))
        both[np.arange(len(places)), fresh] = self.diagonal[mine]
        both[: len(places), old[self._shared]] = self.border[mine]
        both[: len(places), -1] = self.beside_alone[mine]
        both[np.ix_(np.arange(len(places), count), old)] = self.upper
        both[len(places) :, -1] = self.beside
        triangle = np.asarray(np.linalg.qr(both, mode="r"), float)
        return Information(
            np.delete(self.alone, mine),
            meeting,
            np.delete(self.diagonal, mine),
            np.delete(self.border, mine, axis=0),
            triangle[:, :count],
            np.delete(self.beside_alone, mine),
            triangle[:, count],
        )

    @cached_property
    def _inverse(self) -> Array:
        return inverse_of_upper(self.upper)

    def through(self, rows: Array) -> Array:
        """Rows over the unknowns, times C with C C' = (U'U)^-1; (..., unknowns)."""
        if not len(self.alone):
            return np.asarray(rows @ self._inverse)
        out = np.empty(rows.shape)
        apart = rows[..., self.alone] / self.diagonal
        near = rows[..., self.meeting]
        near[..., self._shared] -= apart @ self.border
        out[..., self.alone], out[..., self.meeting] = apart, near @ self._inverse
        return out

    @cached_property
    def moved(self) -> Array:
        """The best fit, (unknowns,)."""
        out = np.empty(self.count)
        out[self.meeting] = near = self._inverse @ self.beside
        out[self.alone] = (self.beside_alone - self.border @ near[self._shared]) / self.diagonal
        return out

    @cached_property
    def left(self) -> Array:
        """Standard uncertainty of each unknown, (unknowns,)."""
        out = np.empty(self.count)
        out[self.meeting] = np.sqrt((self._inverse**2).sum(axis=1))
        tied = self.border @ self._inverse[self._shared]
        out[self.alone] = np.sqrt(1 + (tied**2).sum(axis=1)) / self.diagonal
        return out

    @cached_property
    def factor(self) -> Array:
        """C, (unknowns, unknowns)."""
        if not len(self.alone):
            return self._inverse
        out = np.zeros((self.count, self.count))
        out[self.alone, self.alone] = 1 / self.diagonal
        tied = self.border @ self._inverse[self._shared]
        out[np.ix_(self.alone, self.meeting)] = -tied / self.diagonal[:, None]
        out[np.ix_(self.meeting, self.meeting)] = self._inverse
        return out

    @property
    def whole(self) -> tuple[Array, Array]:
        """U and what stands beside it, in the order of the unknowns: (unknowns, unknowns) and (unknowns,)."""
        if not len(self.alone):
            return self.upper, self.beside
        out, beside = np.zeros((self.count, self.count)), np.empty(self.count)
        out[self.alone, self.alone] = self.diagonal
        out[np.ix_(self.alone, self.meeting[self._shared])] = self.border
        out[np.ix_(self.meeting, self.meeting)] = self.upper
        beside[self.alone], beside[self.meeting] = self.beside_alone, self.beside
        return out, beside

    @cached_property
    def told_of_each(self) -> Array:
        """Diagonal of G'G: what the readings tell of each unknown if all others were known, (unknowns,)."""
        out = np.empty(self.count)
        out[self.alone] = self.diagonal**2 - 1
        out[self.meeting] = (self.upper**2).sum(axis=0) - 1
        out[self.meeting[self._shared]] += (self.border**2).sum(axis=0)
        return out


@dataclass(frozen=True)
class _Lines:
    """Rows with one unknown and errors in common.

    Attributes:
        place: of the unknown, (rows,).
        size: how much of it is in the row, (rows,).
        shared: of the errors in common, (rows, errors in common).
        found: (rows,).
    """

    place: Places
    size: Array
    shared: Array
    found: Array

    @classmethod
    def none(cls, shared: int) -> "_Lines":
        return cls(np.zeros(0, np.intp), np.zeros(0), np.zeros((0, shared)), np.zeros(0))

    @classmethod
    def together(cls, several: Sequence["_Lines"]) -> "_Lines":
        return cls(
            np.concatenate([one.place for one in several]),
            np.concatenate([one.size for one in several]),
            np.concatenate([one.shared for one in several]),
            np.concatenate([one.found for one in several]),
        )

    def chosen(self, which: NDArray[np.bool_]) -> "_Lines":
        return _Lines(self.place[which], self.size[which], self.shared[which], self.found[which])


def _rotated(diagonal: Array, beside: Array, at: Places, lines: _Lines) -> tuple[Array, Array, Array]:
    """Rows turned into those of the unknowns that they have, all first ones at once, then all second ones, ...

    Args:
        diagonal: of the unknowns, (alone,); it is brought up to date.
        beside: their border and what stands beside it, (alone, errors in common + 1); it is brought up to date.
        at: number of its unknown among those alone, for each row.
        lines: the rows.

    Returns:
        Border, what stands beside it, and what is left of the rows, over the errors in common and what was found.
    """
    rest = np.column_stack([lines.shared, lines.found])
    order = np.argsort(at, kind="stable")
    counts = np.bincount(at, minlength=len(diagonal))
    starts = np.cumsum(counts) - counts
    for turn in range(int(counts.max(initial=0))):
        which = np.flatnonzero(counts > turn)
        row = order[starts[which] + turn]
        long = np.hypot(diagonal[which], lines.size[row])
        cosine, sine = (diagonal[which] / long)[:, None], (lines.size[row] / long)[:, None]
        mine, theirs = beside[which], rest[row]
        diagonal[which] = long
        beside[which], rest[row] = cosine * mine + sine * theirs, cosine * theirs - sine * mine
    if len(rest) > rest.shape[1]:
        rest = np.asarray(np.linalg.qr(rest, mode="r"), float)
    return beside[:, :-1], beside[:, -1], rest


def _by_panels(triangle: Array, rows: Array) -> Array:
    """A few rows turned into a large triangle, so many columns at a time that the work is in products.

    Args:
        triangle: and what stands beside it, (n, n + 1).
        rows: likewise, (k, n + 1).
    """
    out, rows = triangle.copy(), rows.copy()
    for start in range(0, len(out), PANEL):
        end = min(start + PANEL, len(out))
        if not rows[:, start:end].any():
            continue
        both = np.concatenate([out[start:end, start:], rows[:, start:]])
        turn, _ = np.linalg.qr(both[:, : end - start], mode="complete")
        both = turn.T @ both
        out[start:end, start:] = both[: end - start]
        out[start:end, start:end] = np.triu(out[start:end, start:end])
        rows[:, start:] = both[end - start :]
    return out
