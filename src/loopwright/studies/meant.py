"""What may have been meant by a reading that is doubted: the same reading, typed as it would then have been."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopwright import units
from loopwright.measuring.plausibility import Alternative, Doubt, SweepDoubt, doubt_about
from loopwright.studies.bench import Bench
from loopwright.studies.recording import Considered, Typed

MOST = 5

Raw = tuple[tuple[float, ...], ...]
"""For each pose its repeats as they were typed, mm or rad."""


@dataclass(frozen=True)
class Meant:
    """One thing that may have been meant.

    Attributes:
        what: the slip, in words.
        shown: the value, or the first values, as they would have been typed.
        typed: the reading as it would have been typed; None where that cannot be said of it, as where its values were
            worked out of others.
    """

    what: str
    shown: str
    typed: Typed | None


@dataclass(frozen=True)
class _Other:
    """One thing that may have been meant: the slip, the values then, and the poses and repeats that it changes."""

    what: str
    raw: Raw | None
    values: tuple[float, ...]
    changed: tuple[tuple[int, int], ...]


def meanings(bench: Bench, typed: Typed, considered: Considered, *, most: int = MOST) -> tuple[Meant, ...]:
    """What may have been meant by a reading that is doubted, the likeliest first.

    Where a pose was read several times, only the repeats that are off are taken otherwise; where all are, all of them.

    Args:
        bench: the build as it stands.
        typed: what was typed.
        considered: what came of it.
        most: how many.
    """
    doubt = considered.doubt
    if doubt is None:
        return ()
    step = 0.0
    if considered.reading.gauge is not None and typed.worked is None:
        step = bench.gauge(considered.reading.gauge).resolution
    words = _Words(bench, typed, considered, step)
    others = _others(words, considered, doubt)
    return tuple(words.meant(one) for one in others[:most])


def _others(words: "_Words", considered: Considered, doubt: Doubt | SweepDoubt) -> list[_Other]:
    reading = considered.reading
    raw, values = reading.raw, reading.evaluated.values
    if isinstance(doubt, Doubt):
        if doubt.at is not None:
            return [_at(raw, values, one, *doubt.at) for one in doubt.alternatives]
        if len(raw) == 1 and len(raw[0]) > 1:
            return _of_repeats(words, raw, values, 0, doubt)
        return [_single(raw, values, one, 0) for one in doubt.alternatives]
    out: list[_Other] = []
    if doubt.at_place is not None and doubt.place is not None:
        place = doubt.place
        several = len(raw) == len(values) and len(raw[place]) > 1
        if several:
            found = _of_repeats(words, raw, values, place, doubt.at_place)
        else:
            found = [_single(raw, values, one, place) for one in doubt.at_place.alternatives]
        out += [replace(one, what=f"value {place + 1}: {one.what}") for one in found]
    return out + [_whole(raw, values, one) for one in doubt.alternatives]


def _value(one: Alternative) -> float:
    return float(one.value) if isinstance(one.value, float | int) else float(one.value[0])


def _at(raw: Raw, values: Sequence[float], one: Alternative, place: int, repeat: int) -> _Other:
    """One repeat that was meant otherwise."""
    changed = tuple(
        tuple(_value(one) if (p, r) == (place, repeat) else v for r, v in enumerate(repeats))
        for p, repeats in enumerate(raw)
    )
    return _Other(one.what, changed, tuple(values), ((place, repeat),))


def _single(raw: Raw, values: Sequence[float], one: Alternative, place: int) -> _Other:
    """A pose of one reading that was meant otherwise; corrections stay as they were."""
    new = tuple(_value(one) if p == place else v for p, v in enumerate(values))
    if len(raw) != len(values):  # a comparison: two readings, and one difference
        return _Other(one.what, None, new, ())
    changed = tuple(
        (repeats[0] + _value(one) - values[p],) if p == place else repeats for p, repeats in enumerate(raw)
    )
    return _Other(one.what, changed, new, ((place, 0),))


def _of_repeats(words: "_Words", raw: Raw, values: Sequence[float], place: int, doubt: Doubt) -> list[_Other]:
    """A pose of several readings: the slip that would explain each of those that are off."""
    offset = float(np.mean(raw[place])) - values[place]
    doubts = {
        number: found
        for number, value in enumerate(raw[place])
        if (found := words.doubt(value - offset, doubt)) is not None
    }
    if not doubts:
        return []
    slips = [_by_slip(one.alternatives) for one in doubts.values()]
    shared = [what for what in slips[0] if all(what in others for others in slips)]
    out = []
    for what in shared:
        meant = {number: slip[what] + offset for number, slip in zip(doubts, slips)}
        repeats = tuple(meant.get(number, value) for number, value in enumerate(raw[place]))
        changed = tuple(repeats if p == place else one for p, one in enumerate(raw))
        new = tuple(float(np.mean(repeats)) - offset if p == place else v for p, v in enumerate(values))
        which = "" if len(meant) == len(repeats) else _which(list(meant))
        out.append(_Other(what + which, changed, new, tuple((place, number) for number in meant)))
    return out


def _which(numbers: Sequence[int]) -> str:
    said = " and ".join(str(number + 1) for number in numbers)
    return f", in repeat {said} alone"


def _by_slip(alternatives: Sequence[Alternative]) -> Mapping[str, float]:
    """The likeliest value of each kind of slip."""
    out: dict[str, float] = {}
    for one in alternatives:
        out.setdefault(one.what, _value(one))
    return out


def _whole(raw: Raw, values: Sequence[float], one: Alternative) -> _Other:
    """A slip in the whole sweep, done to every repeat."""
    new = tuple(float(v) for v in one.value) if isinstance(one.value, Sequence) else (float(one.value),)
    every = tuple((p, r) for p, repeats in enumerate(raw) for r in range(len(repeats)))
    if len(raw) != len(values) or len(raw) != len(new):
        return _Other(one.what, None, new, ())
    if all(len(repeats) == 1 for repeats in raw):
        moved = tuple((repeats[0] + b - a,) for repeats, a, b in zip(raw, values, new))
        return _Other(one.what, moved, new, every)
    if new == tuple(reversed(values)):
        return _Other(one.what, tuple(reversed(raw)), new, every)
    was, now = np.array(values), np.array(new)
    factor = float(now @ was) / float(was @ was)
    scaled = tuple(tuple(factor * v for v in repeats) for repeats in raw)
    return _Other(one.what, scaled if np.allclose(factor * was, now) else None, new, every)


class _Words:
    """Values as they would have been typed."""

    def __init__(self, bench: Bench, typed: Typed, considered: Considered, step: float) -> None:
        self.typed, self.considered, self.step = typed, considered, step
        self.dimension = considered.dimension
        shown = bench.build.units
        self.unit = typed.unit or (
            shown.shown(self.dimension)
            if considered.reading.subject == "test"
            else shown.bare()[self.dimension]
        )
        dim = bench.build.dim(typed.of)
        self.nominal = 0.0 if dim is None else dim.nominal

    def doubt(self, value: float, of: Doubt) -> Doubt | None:
        """What is doubted of one repeat by itself, against what its pose is held against."""
        away = self.nominal if self.typed.from_nominal else 0.0
        found = doubt_about(
            value - away,
            of.expected - away,
            of.std,
            dimension=self.dimension,
            unit=self.unit,
            nominal=self.nominal,
            resolution=self.step,
        )
        return None if found is None else found.moved_by(away)

    def meant(self, other: _Other) -> Meant:
        """It as a choice to be offered."""
        if other.raw is None or self.typed.worked is not None:
            return Meant(other.what, f"{self._some(other.values)} {self.unit}", None)
        typed = [
            [
                self._text(value) if (p, r) in other.changed else self._kept(p, r, value)
                for r, value in enumerate(repeats)
            ]
            for p, repeats in enumerate(other.raw)
        ]
        told = [other.raw[p][r] for p, r in other.changed]
        was = "; ".join(" ".join(repeats) for repeats in self.typed.values)
        note = f"typed as {was[:80]}, taken as {other.what}"
        new = replace(
            self.typed,
            values=typed,
            unit=self.unit,
            note=note if self.typed.note is None else f"{self.typed.note}; {note}",
        )
        return Meant(other.what, f"{self._some(told)} {self.unit}", new)

    def _kept(self, place: int, repeat: int, value: float) -> str:
        """A value that was typed rightly stays as it was typed."""
        if place < len(self.typed.values) and repeat < len(self.typed.values[place]):
            return self.typed.values[place][repeat]
        return self._text(value)

    def _some(self, values: Sequence[float]) -> str:
        return ", ".join(self._text(one) for one in values[:3]) + (", …" if len(values) > 3 else "")

    def _text(self, value: float) -> str:
        """A value as the gauge would have shown it."""
        if self.step > 0:
            value = round(value / self.step) * self.step
        text = f"{float(units.convert(value, self.dimension, self.unit)):.9f}"
        short = text.rstrip("0").rstrip(".")
        return "0" if short in ("", "-0") else short
