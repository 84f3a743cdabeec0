"""What could take the place of a part or be exchanged with it, and the chance that each would bring."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.knowledge import Knowledge
from loopwright.asbuilt.observing import Found, moves_of
from loopwright.asbuilt.timeline import Timeline, changed
from loopwright.asbuilt.worth import TRIALS
from loopwright.errors import RequestError
from loopwright.model.parts import Part
from loopwright.model.records import Change
from loopwright.studies.bench import Bench

Array = NDArray[np.float64]
Kind = Literal["same drawing", "mirror part", "item"]

SAME = 1e-9
"""Nominals that differ by less are the same, mm or rad."""
SIDES = (
    ("left", "right"),
    ("front", "rear"),
    ("front", "back"),
    ("upper", "lower"),
    ("top", "bottom"),
    ("inner", "outer"),
    ("L", "R"),
)
"""Words that a mirror part has the other way round."""


@dataclass(frozen=True)
class Other:
    """Something that a part could be exchanged with.

    Attributes:
        name: of the other part, or serial of an item.
        kind: 'same drawing', 'mirror part', or 'item' where it lies on the bench.
        dims: for each dim of the part the one that takes its place: of the other part 'part/dim'; of an item its name,
            and only where it was read.
    """

    name: str
    kind: Kind
    dims: Mapping[str, str]


@dataclass(frozen=True)
class Match:
    """What one of them would bring.

    Attributes:
        name: of the other part, or serial of the item.
        kind: as in ``Other``.
        chances: to meet each target, everything counted as normal.
        size: largest expected size of a target, as a share of its limit.
    """

    name: str
    kind: Kind
    chances: tuple[float, ...]
    size: float

    @property
    def least(self) -> float:
        """Chance of the target that is worst off."""
        return min(self.chances, default=1.0)

    @property
    def words(self) -> str:
        """What would be done, in words."""
        return f"put in {self.name} instead" if self.kind == "item" else f"exchange it with {self.name}"


def others(bench: Bench, part: str) -> list[Other]:
    """Every part and inspected item that could take the place of a part.

    Parts of the same material whose dims have the same names and nominals, as parts of one drawing do; or the same with
    left and right (front and rear, upper and lower …) changed over, as mirror parts do. Items that were inspected as
    this part, as one of those, or under the first word of its name ('pad' for pad_FL), and are not in the machine.

    Args:
        bench: the build as it stands.
        part: its name.
    """
    build = bench.build
    found = [
        Other(name, kind, {d: f"{name}/{o}" for d, o in dims.items()})
        for name, other in build.parts.items()
        if name != part
        for kind, dims in [_alike(build.parts[part], other)]
        if dims
    ]
    kinds = {part, *(one.name for one in found if one.kind == "same drawing"), _first_word(part)}
    return [*found, *_items(bench, part, kinds)]


def named(bench: Bench, part: str, names: Iterable[str]) -> list[Other]:
    """Those that somebody names: parts that have a dim in common with it, or serials.

    Raises:
        RequestError: there is no such part or item, or it has no dim in common with the part.
    """
    mine = bench.build.parts[part].dims
    known = {one.name: one for one in others(bench, part)}
    out = []
    for name in names:
        other = bench.build.parts.get(name)
        read = {item.what for item in bench.items if item.serial == name}
        if other is None and not read:
            raise RequestError(
                f"there is no part or item '{name}' to match with",
                "name a part of the build file, or a serial",
            )
        shared = {d: f"{name}/{d}" for d in mine if other is not None and d in other.dims}
        shared = shared or {d: d for d in mine if d in read}
        if name not in known and not shared:
            raise RequestError(
                f"'{part}' and '{name}' have no dim in common", "name a part of the same drawing"
            )
        kind: Kind = "same drawing" if other is not None else "item"
        out.append(known.get(name) or Other(name, kind, shared))
    return out


def _alike(one: Part, other: Part) -> tuple[Kind, dict[str, str]]:
    """How two parts are alike, and the dim of the other for each of the one; no dims where they are not."""
    same = _paired(one, other, {name: name for name in one.dims})
    if same or one.material != other.material:
        return "same drawing", same if one.material == other.material else {}
    for first, second in SIDES:
        over = {name: _changed_over(name, first, second) for name in one.dims}
        mirrored = _paired(one, other, over)
        if mirrored:
            return "mirror part", mirrored
    return "same drawing", {}


def _paired(one: Part, other: Part, names: dict[str, str]) -> dict[str, str]:
    """The pairs, where every dim of both has its like with the same nominal."""
    if set(names.values()) != set(other.dims):
        return {}
    fits = all(
        one.dims[mine].quantity == other.dims[theirs].quantity
        and abs(one.dims[mine].nominal - other.dims[theirs].nominal) < SAME
        for mine, theirs in names.items()
    )
    return names if fits else {}


def _changed_over(name: str, first: str, second: str) -> str:
    """The name of a dim with two words changed over: 'seat_left' for 'seat_right'."""
    words = re.split(r"([_\s-]+)", name)
    over = {first: second, second: first}
    return "".join(over.get(word, word) for word in words)


def _first_word(part: str) -> str:
    return re.split(r"[_\s-]+|(?<=[a-z])(?=\d)", part)[0]


def _items(bench: Bench, part: str, kinds: set[str]) -> list[Other]:
    """Items of some kinds on the bench of which a dim of the part was read."""
    inside: dict[str, str | None] = {}
    for _, state in bench.states():
        inside |= {change.of: change.item for change in state.changes if change.what == "renewed"}
    read: dict[str, dict[str, str]] = {}
    for item in bench.items:
        if (
            item.kind in kinds
            and item.what in bench.build.parts[part].dims
            and item.serial not in inside.values()
        ):
            read.setdefault(item.serial, {})[item.what] = item.what
    return [Other(serial, "item", dims) for serial, dims in read.items()]


def with_other(bench: Bench, part: str, other: Other) -> Knowledge:
    """What is known after a part was exchanged with another, or an item put in its place."""
    line = bench.knowledge.line
    if other.kind == "item":
        items = {(i.serial, i.what): Found(i.value, i.std) for i in bench.items if i.serial == other.name}
        change = Change(what="renewed", of=part, item=other.name)
        return bench.knowledge.in_line(changed(line, moves_of(bench.loop, line.prior, change, {}, items)))
    now = dict(line.made_of[line.newest])
    for mine, theirs in other.dims.items():
        of_a, of_b = bench.loop.dims[f"{part}/{mine}"], bench.loop.dims[theirs]
        (a, *_), (b, *_) = of_a, of_b
        now[a] = _sum(line, of_b, less=_but(of_a, a))
        now[b] = _sum(line, of_a, less=_but(of_b, b))
    state = line.newest + 1
    longer = replace(line, states=(*line.states, state), made_of={**line.made_of, state: now})
    return bench.knowledge.in_line(longer)


def _but(places: Mapping[int, float], own: int) -> dict[int, float]:
    return {place: factor for place, factor in places.items() if place != own}


def _sum(
    line: Timeline, places: Mapping[int, float], less: Mapping[int, float]
) -> tuple[tuple[int, float], ...]:
    """The pieces of some deviations together, less those of others, each by its factor."""
    before = line.made_of[line.newest]
    total: dict[int, float] = {}
    for sign, some in ((1.0, places), (-1.0, less)):
        for place, by in some.items():
            for piece, factor in before.get(place, ((place, 1.0),)):
                total[piece] = total.get(piece, 0.0) + sign * by * factor
    return tuple((piece, factor) for piece, factor in total.items() if factor)


def ranked(bench: Bench, part: str, found: Sequence[Other]) -> tuple[Match, ...]:
    """What each would bring, the best chance of the target that is worst off first.

    The same machines are drawn for all, so that differences are sharper than chances; only what the exchanged dims do
    is worked out anew.

    Args:
        bench: the build as it stands.
        part: its name.
        found: what it could be exchanged with.
    """
    names = list(bench.build.targets)
    if not names or not found:
        return ()
    drawn = _Drawn(bench, names)
    matches = [Match(one.name, one.kind, *drawn.chances(_differences(drawn, part, one))) for one in found]
    return tuple(sorted(matches, key=lambda match: (-match.least, match.size)))


class _Drawn:
    """Machines drawn from what is known, and what a deviation more in a dim does to their errors."""

    def __init__(self, bench: Bench, names: Sequence[str]) -> None:
        self.bench, self.state = bench, bench.state
        rows = [bench.rows(name) for name in names]
        self._shapes = [one.matrix.shape[:2] for one in rows]
        counts = [poses * components for poses, components in self._shapes]
        self._ends = np.cumsum([0, *counts])
        flat = np.concatenate([one.matrix.reshape(-1, one.matrix.shape[-1]) for one in rows])
        weights = np.repeat([1 / bench.target(name).limit for name in names], counts)[:, None]
        self._effect = weights * flat
        known = bench.knowledge
        # the seed of a prospect, so that both reckon with the same machines
        generator = np.random.Generator(np.random.SFC64(np.random.SeedSequence(11, spawn_key=(0,))))
        self._noise = generator.standard_normal((len(known.open_), TRIALS), np.float32).astype(float)
        mean = known.expected(flat, self.state)[:, None]
        self._errors = weights * (mean + known.root(flat, self.state) @ self._noise)

    def dim(self, path: str) -> Array:
        """Deviation of a dim in every machine, (trials,)."""
        row, _ = self.bench.observer.dim(path)
        known = self.bench.knowledge
        return np.asarray(known.expected(row, self.state) + known.root(row, self.state) @ self._noise)

    def new(self, number: int, mean: float, std: float) -> Array:
        """A deviation that nothing else has to do with, (trials,); those of one number vary alike."""
        generator = np.random.Generator(np.random.SFC64(np.random.SeedSequence(12, spawn_key=(number,))))
        return np.asarray(mean + std * generator.standard_normal(TRIALS))

    def chances(self, differences: Mapping[str, Array]) -> tuple[tuple[float, ...], float]:
        """Chance of each target with dims that differ, and the largest expected size as a share of its limit.

        Args:
            differences: by 'part/dim', in every machine, (trials,).
        """
        places = [next(iter(self.bench.loop.dims[path])) for path in differences]
        errors = self._errors + self._effect[:, places] @ np.stack(list(differences.values()))
        chances, sizes = [], []
        for start, end, shape in zip(self._ends[:-1], self._ends[1:], self._shapes):
            squares = (errors[start:end].reshape(*shape, -1) ** 2).sum(axis=1)
            chances.append(float((squares.max(axis=0) <= 1).mean()))
            sizes.append(float(np.sqrt(squares.mean(axis=1).max())))
        return tuple(chances), max(sizes)


def _differences(drawn: _Drawn, part: str, other: Other) -> dict[str, Array]:
    """By how much each dim differs in every machine once the other is in, by 'part/dim'."""
    bench, out = drawn.bench, {}
    if other.kind != "item":
        for mine, theirs in other.dims.items():
            apart = drawn.dim(theirs) - drawn.dim(f"{part}/{mine}")
            out[f"{part}/{mine}"], out[theirs] = apart, -apart
        return out
    read = {i.what: i for i in bench.items if i.serial == other.name}
    prior = bench.knowledge.line.prior
    for number, (name, dim) in enumerate(bench.build.parts[part].every_dim().items()):
        made_of = bench.loop.dims[f"{part}/{name}"]
        places, factors = list(made_of), np.array(list(made_of.values()))
        item = read.get(name)
        mean = float(factors @ prior.mean[places])
        std = float(np.hypot.reduce(factors * prior.std[places]))
        if item is not None:
            mean, std = item.value - dim.nominal, item.std
        out[f"{part}/{name}"] = drawn.new(number, mean, std) - drawn.dim(f"{part}/{name}")
    return out
