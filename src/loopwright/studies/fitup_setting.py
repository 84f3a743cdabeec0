"""The best setting of a step, and what else would do where a shim would have to be thinner than there is."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.observing import adjuster_at
from loopwright.fitup.order import Settable
from loopwright.fitup.settings import Adjusters, Setting, best_setting
from loopwright.model.contacts import AdjusterKind
from loopwright.studies.bench import Bench
from loopwright.studies.fitup_sights import Sight, settables_at, that_do_something
from loopwright.units import Dimension

Array = NDArray[np.float64]

SHORT = 1.1
"""Ranges fall short where what they leave exceeds what wider ones would by this factor."""
WORTH = 0.1
"""A setting that lowers what is known by less than this share of what is unknown is not looked for."""
VISIBLE = 1e-4
"""A pad that would have to come down by less stays as it is, mm."""
AS_WELL_OFF = 0.01
"""Targets are as well off where none of them loses this share of its limit."""


@dataclass(frozen=True)
class Shortfall:
    """A shim that would have to be thinner than the least that can be put in.

    Attributes:
        by: how much its contact would have to come down beyond that, mm.
        std: standard uncertainty of that, mm.
        dim: 'part/dim' of what it lies on, which could be ground by as much; '' where its contact names none.
        raised: shims of the same joint that are raised instead, which does as well; empty where nothing does.
    """

    by: float
    std: float
    dim: str
    raised: tuple[str, ...]


@dataclass(frozen=True)
class Seen:
    """What a step looks at, and what is known of it.

    Attributes:
        sight: rows over the deviations and their weights.
        error: what is known of each row, (rows,).
        root: V with V V' = covariance of what is not, (rows, n).
    """

    sight: Sight
    error: Array
    root: Array

    @property
    def unknown(self) -> Array:
        """Standard uncertainty of each row, (rows,)."""
        return np.asarray(np.sqrt((self.root**2).sum(axis=1)))

    def effect(self, settables: Sequence[Settable]) -> Array:
        """What a unit of each does to each row, (rows, settables)."""
        return np.asarray(self.sight.rows[:, [s.place for s in settables]])


@dataclass(frozen=True)
class Reached:
    """The best setting within what can be set.

    Attributes:
        settables: what is set; shims that are raised for others that cannot come down come last.
        setting: to what.
        short: wider ranges would leave visibly less.
        shortfalls: shims that would have to be thinner, by their paths.
    """

    settables: tuple[Settable, ...]
    setting: Setting
    short: bool
    shortfalls: dict[str, Shortfall]


def reached(bench: Bench, seen: Seen, settables: Sequence[Settable], *, from_foil: bool = False) -> Reached:
    """The best setting of a step.

    Nothing is thinner than no foil. Where a shim would have to be, the others of its joint are raised instead, as far
    as that leaves the step and the targets as well off as grinding would; the step need not name them.

    Args:
        bench: the build as it stands.
        seen: what the step looks at.
        settables: what the step sets, one at the least.
        from_foil: shims are laid up from foil, of which there is never less than none.
    """
    settables = _from_foil(bench, settables) if from_foil else settables
    setting = best(seen, settables, stay=not any(is_blank(bench, one.name) for one in settables))
    if not falls_short(seen, settables, setting):
        return Reached(tuple(settables), setting, False, {})
    stopped = [
        i for i, one in enumerate(settables) if is_shim(bench, one.name) and _at_least(one, setting, i)
    ]
    free = _of_any_thickness(seen, settables, stopped)
    below = [
        i
        for i in stopped
        if settables[i].low - free.values[i]
        > max(VISIBLE, settables[i].increment / 2, setting.uncertainty[i])
    ]
    others = _others(bench, seen, settables, [settables[i].name for i in below])
    others = _from_foil(bench, others) if from_foil else others
    raised: tuple[str, ...] = ()
    stds = setting.uncertainty
    if below and others:
        every = [*settables, *others]
        wide = best(seen, every)
        makes_up = setting.left.rms - wide.left.rms > 0.5 * (setting.left.rms - free.left.rms)
        if makes_up and _as_well_off(bench, (settables, free), (every, _of_any_thickness(seen, every))):
            settables, setting = every, wide
            raised = tuple(one.name for one, by in zip(settables, wide.change) if by > 0)
    found = {
        settables[i].name: Shortfall(
            float(settables[i].low - free.values[i]),
            float(stds[i]),
            stands_on(bench, settables[i].name),
            raised,
        )
        for i in below
    }
    return Reached(tuple(settables), setting, falls_short(seen, settables, setting), found)


def best(seen: Seen, settables: Sequence[Settable], *, stay: bool = True) -> Setting:
    """The best setting within ranges and by increments.

    Args:
        seen: what the step looks at.
        settables: what is set.
        stay: whether things stay as they are where no other setting is visibly better.
    """
    low, high, now, increment = (
        np.array([getattr(s, name) for s in settables]) for name in ("low", "high", "now", "increment")
    )
    adjusters = Adjusters.of(low, high, increment=increment, current=now)
    worth = WORTH * float(np.sqrt((seen.unknown**2).mean()))
    found = best_setting(
        seen.error,
        seen.effect(settables),
        adjusters,
        weights=seen.sight.weights,
        factor=seen.root,
        worth=worth,
    )
    if not stay or found.before.rms - found.left.rms > worth or ((now < low) | (now > high)).any():
        return found
    nothing = np.zeros(len(now))
    return replace(
        found, values=now, change=nothing, left=found.before, error=seen.error, at_limit=nothing > 0
    )


def falls_short(seen: Seen, settables: Sequence[Settable], setting: Setting) -> bool:
    """Wider ranges would leave visibly less: not so where all may be shifted together instead."""
    now = np.array([s.now for s in settables])
    free = setting.error.ravel() + seen.effect(settables) @ (setting.needed - now - setting.change)
    weight = seen.sight.weights / seen.sight.weights.sum()
    least = float(np.sqrt((weight * free**2).sum()))
    return setting.least > SHORT * least + 1e-7


def is_blank(bench: Bench, path: str) -> bool:
    """Whether it is a part sized last of which nobody has said yet how large it is."""
    return (
        bench.build.dim(path) is not None and path not in bench.sizes and path not in bench.readings_of_dims
    )


def is_shim(bench: Bench, path: str) -> bool:
    """Whether it is set by what is laid under it."""
    adjuster = adjuster_at(bench.build, path)
    return adjuster is not None and adjuster.kind is AdjusterKind.SHIM


def _from_foil(bench: Bench, settables: Sequence[Settable]) -> list[Settable]:
    return [
        replace(one, low=min(max(one.low, 0.0), one.high)) if is_shim(bench, one.name) else one
        for one in settables
    ]


def _at_least(one: Settable, setting: Setting, number: int) -> bool:
    return bool(setting.values[number] <= one.low + max(one.increment / 2, VISIBLE))


def _of_any_thickness(seen: Seen, settables: Sequence[Settable], freed: Sequence[int] = ()) -> Setting:
    """The best setting without increments, some shims being as thin as one likes, thinner than nothing too."""
    low, high, now = (np.array([getattr(s, name) for s in settables]) for name in ("low", "high", "now"))
    low[list(freed)] = -np.inf
    adjusters = Adjusters.of(low, high, current=now)
    return best_setting(seen.error, seen.effect(settables), adjusters, weights=seen.sight.weights)


def _others(
    bench: Bench, seen: Seen, settables: Sequence[Settable], stopped: Sequence[str]
) -> list[Settable]:
    """Shims of the same joints that the step does not set."""
    joints, named = {path.partition("/")[0] for path in stopped}, {one.name for one in settables}
    paths = [
        path
        for path in bench.loop.settings
        if path.partition("/")[0] in joints and path not in named and is_shim(bench, path)
    ]
    return that_do_something([one for path in paths for one in settables_at(bench, path)], seen.sight)


def _as_well_off(
    bench: Bench,
    ground: tuple[Sequence[Settable], Setting],
    raised: tuple[Sequence[Settable], Setting],
) -> bool:
    """Raising others costs no target anything visible against grinding."""
    for name, target in bench.build.targets.items():
        matrix = bench.rows(name).matrix
        mean = bench.knowledge.expected(matrix, bench.state)
        variance = bench.knowledge.uncertainty(matrix, bench.state) ** 2
        then, instead = (
            np.sqrt(((mean + matrix[:, :, [s.place for s in set_]] @ to.change) ** 2 + variance).sum(axis=1))
            for set_, to in (ground, raised)
        )
        if instead.max() - then.max() > AS_WELL_OFF * target.limit:
            return False
    return True


def stands_on(bench: Bench, path: str) -> str:
    """The dim that moves the contact of a shim as the shim does; '' where there is none."""
    joint, _, below = path.partition("/")
    contact = bench.build.joints[joint].contacts.get(below)
    for term in () if contact is None else contact.dims:
        dim = bench.build.dim(term.dim)
        if term.times == 1 and dim is not None and dim.dimension is Dimension.LENGTH:
            return term.dim
    return ""
