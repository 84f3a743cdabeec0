"""Is a reading believed? Surprises, and the slips of the pen that would explain them.

A reading that lies far from what is expected is either news about the machine or a slip. It is never changed
here: it is asked about, and what may have been meant is offered.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import floor, isfinite, log, log10, sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopwright import units
from loopwright.errors import RequestError
from loopwright.units import Dimension

Array = NDArray[np.float64]

LIMIT = 3.0
"""Standard uncertainties from which a reading is asked about; common practice."""

MOST_DIGITS = 12
"""A longer number is not searched for slips of single digits."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """What may have been meant.

    Attributes:
        value: internal unit; of a whole sweep the values, (n,).
        surprise: how far it is from what is expected, in standard uncertainties; of a sweep, overall.
        what: the slip, in words.
    """

    value: float | tuple[float, ...]
    surprise: float
    what: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that needs a second look.

    Attributes:
        surprise: (found - expected) / standard uncertainty.
        what: a sentence that says so, in the unit of the reading.
        alternatives: what may have been meant and would be believed, the likeliest first.
        expected: what it should be, internal unit.
        std: standard uncertainty of found - expected.
        at: pose and repeat, counted from 0, where one repeat alone is doubted.
    """

    surprise: float
    what: str
    alternatives: tuple[Alternative, ...]
    expected: float = 0.0
    std: float = 0.0
    at: tuple[int, int] | None = None

    def moved_by(self, offset: float) -> "Doubt":
        """The same of a reading that was typed as the deviation from an offset; its sentence stays."""
        moved = tuple(replace(one, value=_moved(one.value, offset)) for one in self.alternatives)
        return replace(self, alternatives=moved, expected=self.expected + offset)


def _moved(value: float | tuple[float, ...], offset: float) -> float | tuple[float, ...]:
    return tuple(one + offset for one in value) if isinstance(value, tuple) else value + offset


@dataclass(frozen=True, slots=True)
class SweepDoubt:
    """A sweep that needs a second look.

    Attributes:
        overall: surprise of all values together, as that of one normal value equally unlikely.
        surprises: of each value alone, (n,).
        what: a sentence that says so.
        alternatives: slips in the whole sweep that would explain it, the likeliest first.
        place: number of the value, counted from 0, without which the others are believed; None where there
            is no such one, or more than one would do.
        at_place: what is doubted of that value, given the others; None with ``place``.
    """

    overall: float
    surprises: tuple[float, ...]
    what: str
    alternatives: tuple[Alternative, ...]
    place: int | None
    at_place: Doubt | None


Slip = tuple[str, Callable[[Any], Any]]
"""A slip in words, and the value that was meant, from the one that was written."""

_SIGN: Slip = ("the sign is missing or too many", lambda v: -v)
_POINT: tuple[Slip, ...] = (
    ("the decimal point is one place too far left", lambda v: v * 10),
    ("the decimal point is one place too far right", lambda v: v / 10),
    ("the decimal point is two places too far left", lambda v: v * 100),
    ("the decimal point is two places too far right", lambda v: v / 100),
)
_UNITS: dict[Dimension, tuple[Slip, ...]] = {
    Dimension.LENGTH: (
        ("µm are written as mm", lambda v: v / 1000),
        ("mm are written as µm", lambda v: v * 1000),
        ("inches are written as mm, or thou as µm", lambda v: v * 25.4),
        ("mm are written as inches, or µm as thou", lambda v: v / 25.4),
        ("thou are written as mm", lambda v: v * 0.0254),
        ("mm are written as thou", lambda v: v / 0.0254),
    ),
    Dimension.ANGLE: (
        ("arcmin are written as arcsec, or degrees as arcmin", lambda v: v * 60),
        ("arcsec are written as arcmin, or arcmin as degrees", lambda v: v / 60),
        ("arcsec are written as µm/m", lambda v: v * (np.pi / 0.648)),
        ("µm/m are written as arcsec", lambda v: v / (np.pi / 0.648)),
    ),
    Dimension.TEMPERATURE: (
        ("degF are written as degC", lambda v: (v - 32) / 1.8),
        ("degC are written as degF", lambda v: v * 1.8 + 32),
    ),
}


def doubt_about(
    found: float,
    expected: float,
    std: float,
    *,
    dimension: Dimension = Dimension.LENGTH,
    unit: str = "mm",
    nominal: float = 0.0,
    resolution: float = 0.0,
    limit: float = LIMIT,
) -> Doubt | None:
    """Whether a reading is believed, and if not, which slip would explain it.

    Slips looked for: a decimal point one or two places off; a sign; another unit (mm, inch, µm, thou; arcsec,
    arcmin, µm/m; degC, degF); the nominal left out or written along; two neighbouring digits exchanged; a
    digit left out or written twice. Only those are returned that would be believed. They are in order of
    likelihood: a kind of slip that can be made in many places counts for less in each.

    Args:
        found: the reading, internal unit (mm, rad, °C).
        expected: what it should be, same unit.
        std: standard uncertainty of found - expected: of the expectation, and of the reading.
        dimension: what the reading is.
        unit: unit in which it was written down.
        nominal: nominal size, where the reading may be confused with a deviation from it; same unit as found.
        resolution: of the gauge, same unit; sets how many digits were written.
        limit: surprise above which to ask.

    Returns:
        None where the reading is believed.

    Raises:
        RequestError: ``std`` is not above zero, or something is not finite.

    >>> doubt = doubt_about(0.12, 0.0117, 0.001, resolution=0.001)
    >>> doubt.alternatives[0].what
    'the decimal point is one place too far right'
    """
    if not (std > 0 and isfinite(std) and isfinite(found) and isfinite(expected)):
        raise RequestError("a surprise needs a standard uncertainty above zero", "give what both leave open")
    surprise = (found - expected) / std
    if abs(surprise) <= limit:
        return None
    kinds = [*_slips(dimension)]
    if nominal:
        kinds.append([("the nominal is left out", lambda v: v + nominal)])
        kinds.append([("the nominal is written along", lambda v: v - nominal)])
    values = [[(what, float(slip(found))) for what, slip in kind] for kind in kinds]
    step = abs(units.convert(resolution, dimension, unit) - units.convert(0.0, dimension, unit))
    written = _written(units.convert(found, dimension, unit), step)
    values += _digit_slips(written, step, dimension, unit)
    weighed: dict[float, tuple[float, Alternative]] = {}
    for kind in values:
        for what, value in kind:
            size = (value - expected) / std
            same = round(value / std, 6)
            if abs(size) < limit and value != found and same not in weighed:
                weighed[same] = (size**2 / 2 + log(len(kind)), Alternative(value, size, what))
    best = tuple(one for _, one in sorted(weighed.values(), key=lambda w: w[0]))
    shown = f"{written} {unit}" if step else units.format_value(found, dimension, unit, uncertainty=std)
    said = _sentence(shown, expected, std, abs(surprise), dimension, unit)
    return Doubt(surprise, said, best, expected, std)


def doubt_about_repeat(
    repeats: Sequence[float],
    std: float,
    *,
    dimension: Dimension = Dimension.LENGTH,
    unit: str = "mm",
    nominal: float = 0.0,
    resolution: float = 0.0,
    limit: float = LIMIT,
) -> Doubt | None:
    """Whether one of several readings of the same thing is a slip: the others do not bear it out, and a slip would.

    A repeat that merely scatters is not asked about: its scatter counts as uncertainty.

    Args:
        repeats: what was read, (n,), internal unit.
        std: standard uncertainty that a single reading has by the gauge's repeatability and resolution; 0 where
            nothing is stated, and then the scatter of the others stands for it.
        dimension: what the readings are.
        unit: unit in which they were written down.
        nominal: nominal size, where a reading may be confused with a deviation from it.
        resolution: of the gauge; sets how many digits were written.
        limit: surprise above which to ask.

    Returns:
        None where all are believed, or none stands alone; else the doubt, ``at`` the repeat.

    >>> doubt_about_repeat([50.003, 5.0003, 50.004], 0.0005, resolution=0.001).at
    (0, 1)
    """
    if len(repeats) < 2:
        return None
    values = np.asarray(repeats, float)
    found = []
    for number, value in enumerate(values.tolist()):
        others = np.delete(values, number)
        spread = max(std, float(others.std(ddof=1)) if len(others) > 1 else 0.0)
        if not spread > 0:
            continue
        doubt = doubt_about(
            value,
            float(np.median(others)),
            spread * sqrt(1 + 1 / len(others)),
            dimension=dimension,
            unit=unit,
            nominal=nominal,
            resolution=resolution,
            limit=limit,
        )
        if doubt is not None and doubt.alternatives:
            found.append(replace(doubt, at=(0, number), what=_among_repeats(doubt.what, number, len(values))))
    # of two that differ either may be the slip; what is expected of them tells, not they
    return found[0] if len(found) == 1 else None


def _among_repeats(what: str, number: int, count: int) -> str:
    return f"of {count} repeats number {number + 1} is not borne out by the others: {what}"


def _slips(dimension: Dimension) -> Iterator[Sequence[Slip]]:
    """Slips by kind; each kind is as likely as another."""
    yield (_SIGN,)
    yield _POINT
    if dimension in _UNITS:
        yield _UNITS[dimension]


def _sentence(shown: str, expected: float, std: float, size: float, dimension: Dimension, unit: str) -> str:
    wanted = units.format_value(expected, dimension, unit, uncertainty=std)
    # an offset does not belong to a difference
    warm = dimension is Dimension.TEMPERATURE
    spread = units.format_value(
        std, Dimension.TEMPERATURE_DIFFERENCE if warm else dimension, unit, uncertainty=std
    )
    return (
        f"{shown} was found where {wanted} is expected, with a standard uncertainty of {spread}: "
        f"{_about(size)} times that"
    )


def _about(size: float) -> str:
    """Two figures of a surprise, and no more than people can use."""
    return "over 1000" if size > 1000 else f"{float(f'{size:.2g}'):g}"


def _written(number: float, step: float) -> str:
    """The number as it was probably written: to the gauge's resolution."""
    if step > 0:
        text = f"{number:.{min(max(0, -floor(log10(step) + 1e-9)), MOST_DIGITS)}f}"
        if abs(float(text) - number) < 1e-6 * step:
            return text
    return f"{number:.9g}"


def _digit_slips(text: str, step: float, dimension: Dimension, unit: str) -> list[list[tuple[str, float]]]:
    """What was meant if two digits were exchanged, one left out, or one written twice."""
    if "e" in text or sum(c.isdigit() for c in text) > MOST_DIGITS:
        return []
    sign, digits = ("-", text[1:]) if text.startswith("-") else ("", text)
    exchanged = [
        ("two digits are exchanged", digits[:i] + digits[j] + digits[i + 1 : j] + digits[i] + digits[j + 1 :])
        for i, j in _neighbours(digits)
        if digits[i] != digits[j]
    ]
    doubled = [
        ("a digit is written twice", digits[:j] + digits[j + 1 :])
        for i, j in _neighbours(digits)
        if digits[i] == digits[j]
    ]
    missing = [
        (f"a {new} is left out", digits[:i] + str(new) + digits[i:])
        for i in range(len(digits) + 1)
        for new in range(10)
        if _shows(step, digits[:i] + str(new) + digits[i:])
    ]
    return [
        [(what, units.parse(sign + number, dimension, bare=unit)) for what, number in kind]
        for kind in (exchanged, doubled, missing)
        if kind
    ]


def _shows(step: float, number: str) -> bool:
    """Whether a gauge with this step could have shown the number."""
    steps = float(number) / step if step else 0.0
    return abs(steps - round(steps)) < 1e-6


def _neighbours(digits: str) -> Iterator[tuple[int, int]]:
    """Places of digits that stand side by side, the decimal point left out."""
    places = [i for i, c in enumerate(digits) if c.isdigit()]
    yield from zip(places, places[1:])  # noqa: RUF007


def doubt_about_sweep(
    found: ArrayLike,
    expected: ArrayLike,
    covariance: ArrayLike,
    *,
    dimension: Dimension = Dimension.LENGTH,
    unit: str = "mm",
    resolution: float = 0.0,
    limit: float = LIMIT,
) -> SweepDoubt | None:
    r"""Whether a sweep is believed: each of its values, all together, and each among the others.

    All together are judged by :math:`\chi^2 = d^T C^{-1} d`. Where one value alone is off, the others say far
    better than the expectation what it should have been; its slip is looked for against that. As there are
    n chances of it, a value must stick out of the others by somewhat more than ``limit`` to be asked about.
    Slips that hold for the whole sweep are sign, decimal point, unit, and values written from the wrong end.

    Args:
        found: the readings, (n,), internal unit.
        expected: what they should be, (n,).
        covariance: of found - expected, (n, n): of the expectation and of the readings. It may be singular,
            as it is for a sweep without its mean or its line.
        dimension: what the readings are.
        unit: unit in which they were written down.
        resolution: of the gauge, internal unit.
        limit: surprise above which to ask.

    Returns:
        None where the sweep is believed.

    Raises:
        RequestError: the shapes do not fit, something is not finite, or the covariance is zero.

    >>> line = np.array([0.0, 1.0, 2.0, 3.0, 4.0]) / 1000
    >>> typed = line + np.array([0, 0, 18, 0, 0]) / 1000
    >>> doubt_about_sweep(typed, line, np.eye(5) * 1e-6, resolution=0.001).place
    2
    """
    y, expected_, matrix = (np.asarray(v, float) for v in (found, expected, covariance))
    if y.ndim != 1 or expected_.shape != y.shape or matrix.shape != (len(y), len(y)):
        raise RequestError("found, expected and covariance are not of one size", "give (n,), (n,), (n, n)")
    inverse, rank = _inverse(matrix)
    if not (np.isfinite(y).all() and np.isfinite(expected_).all()):
        raise RequestError("a reading of the sweep, or what is expected, is not finite", "check them")
    off = y - expected_
    std = np.sqrt(np.clip(np.diag(matrix), 0, None))
    # a value that the zeroing fixes has no uncertainty, and no surprise
    surprises = np.divide(off, std, out=np.zeros_like(off), where=std > 1e-9 * std.max())
    overall = _overall(off, inverse, rank)
    sticks_out = np.abs(_among_others(off, inverse)).max() > _of_many(limit, rank)
    if overall <= limit and np.abs(surprises).max() <= limit and not sticks_out:
        return None
    place = _alone(off, inverse, rank, limit)
    at_place = None
    if place is not None:
        weight = inverse[place, place]
        wanted = float(y[place] - (inverse @ off)[place] / weight)
        at_place = doubt_about(
            float(y[place]), wanted, 1 / sqrt(weight), dimension=dimension, unit=unit,
            resolution=resolution, limit=limit,
        )  # fmt: skip
    return SweepDoubt(
        overall,
        tuple(surprises.tolist()),
        _sweep_sentence(overall, surprises, place, limit),
        _whole_sweep(y, expected_, inverse, rank, dimension, limit),
        place,
        at_place,
    )


def _inverse(matrix: Array) -> tuple[Array, int]:
    """Inverse where the covariance leaves something open, and its rank."""
    if not np.isfinite(matrix).all():
        raise RequestError("the covariance is not finite", "check the uncertainties")
    sizes, modes = np.linalg.eigh((matrix + matrix.T) / 2)
    kept = sizes > 1e-10 * max(float(sizes[-1]), 0.0) if len(sizes) else sizes > 0
    if not kept.any():
        raise RequestError("the covariance is zero", "give what expectation and gauge leave open")
    return (modes[:, kept] / sizes[kept]) @ modes[:, kept].T, int(kept.sum())


def _overall(off: Array, inverse: Array, rank: int) -> float:
    """Surprise of all together: the size of one normal value that is as unlikely."""
    from scipy.special import gammaincc, ndtri  # slow to load, and single readings do not ask

    square = float(off @ inverse @ off)
    probability = float(gammaincc(rank / 2, square / 2))
    if probability <= 1e-300:
        return sqrt(max(square - rank, 0.0))
    return max(0.0, -float(ndtri(probability / 2)))


def _of_many(limit: float, count: int) -> float:
    """The surprise that the largest of so many exceeds as seldom as a single one exceeds the limit."""
    from scipy.special import ndtr, ndtri  # slow to load, and single readings do not ask

    return -float(ndtri(ndtr(-limit) / count))


def _among_others(off: Array, inverse: Array) -> Array:
    """How far each value is from what the others let expect, in standard uncertainties; 0 where they say nothing."""
    weights = np.clip(np.diag(inverse), 0, None)
    open_ = weights > 1e-9 * weights.max()
    return np.divide(inverse @ off, np.sqrt(weights), out=np.zeros_like(off), where=open_)


def _alone(off: Array, inverse: Array, rank: int, limit: float) -> int | None:
    """The one value without which all others are believed; None where none, or more than one, would do."""
    candidates = []
    for i in np.flatnonzero(np.abs(_among_others(off, inverse)) > limit) if rank > 2 else ():
        # without value i: its row of the inverse is swept out
        rest = inverse - np.outer(inverse[i], inverse[i]) / inverse[i, i]
        believed = _overall(off, rest, rank - 1) <= limit
        if believed and (np.abs(_among_others(off, rest)) <= _of_many(limit, rank - 1)).all():
            candidates.append(int(i))
    return candidates[0] if len(candidates) == 1 else None


def _whole_sweep(
    y: Array, expected: Array, inverse: Array, rank: int, dimension: Dimension, limit: float
) -> tuple[Alternative, ...]:
    reversed_: Slip = ("the values are written from the wrong end", lambda v: v[::-1])
    weighed = []
    for kind in [*_slips(dimension), (reversed_,)]:
        for what, slip in kind:
            meant = slip(y)
            surprise = _overall(meant - expected, inverse, rank)
            if surprise < limit and not np.array_equal(meant, y):
                alternative = Alternative(tuple(meant.tolist()), surprise, what)
                weighed.append((surprise**2 / 2 + log(len(kind)), alternative))
    return tuple(one for _, one in sorted(weighed, key=lambda w: w[0]))


def _sweep_sentence(overall: float, surprises: Array, place: int | None, limit: float) -> str:
    beyond = [i + 1 for i in np.flatnonzero(np.abs(surprises) > limit)]
    parts = [f"taken together the values are {_about(overall)} standard uncertainties from what is expected"]
    if beyond:
        listed = ", ".join(map(str, beyond[:8])) + (", …" if len(beyond) > 8 else "")
        parts.append(f"on its own value {listed} of {len(surprises)} is more than {limit:g} from it")
    if place is not None:
        parts.append(f"without value {place + 1} the others are as expected")
    return "; ".join(parts)
