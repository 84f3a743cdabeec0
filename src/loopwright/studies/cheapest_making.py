"""The cheapest change of routes that brings the targets' chance to a wished value."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.prior import prior_of
from loopwright.errors import Cancelled, RequestError
from loopwright.loop import Loop, compile_loop
from loopwright.loop.kinematics import poses_of
from loopwright.loop.rows import Rows
from loopwright.making.cheapest import Cheapest, Way, cheapest
from loopwright.making.choices import Choice, Group, chosen_build, groups
from loopwright.making.made_dims import made
from loopwright.making.planned import number_of
from loopwright.model.build import Build
from loopwright.studies.dims_as_made import dims_as_made

Array = NDArray[np.float64]

FAR = 0.005
"""Where the most accurate choice falls short of the wished chance by more, none is looked for."""
TRIALS = 20_000
"""Machines drawn for each choice that is looked at in full; the same for all, so that they compare."""


@dataclass(frozen=True)
class ChosenWay:
    """One alternative that was chosen.

    Attributes:
        part: whose route.
        op: number of the op that it replaces.
        does: name of that op.
        name: of the alternative.
        matched: matched set that it begins; '' for none.
        field: path in the build file.
    """

    part: str
    op: int
    does: str
    name: str
    matched: str
    field: str


@dataclass(frozen=True)
class CheapestMaking:
    """The cheapest change of routes.

    Attributes:
        build: name of the machine.
        targets: those whose limits are to be held together.
        wished: chance that was asked for.
        now: chance with the routes as they stand.
        reached: some choice brings the wished chance.
        chosen: alternatives to take; none where the routes as they stand are enough, or nothing is.
        minutes: attended minutes that they take more than now.
        chance: that they bring; where nothing is enough, the greatest that was found.
        best: alternatives of the choice with that chance, where nothing is enough.
        bound: no choice that is enough takes less, minutes; infinite where none is.
        proven: nothing cheaper is enough.
        choices: so many combinations there are.
        tried: so many were looked at in full.
        chance_std: sampling uncertainty of the chances.
        unstated: ops among the chosen that state no minutes.
    """

    build: str
    targets: tuple[str, ...]
    wished: float
    now: float
    reached: bool
    chosen: tuple[ChosenWay, ...]
    minutes: float
    chance: float
    best: tuple[ChosenWay, ...]
    bound: float
    proven: bool
    choices: int
    tried: int
    chance_std: float
    unstated: int


def cheapest_making(
    build: Build,
    wished: float,
    *,
    targets: Sequence[str] = (),
    trials: int = TRIALS,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> CheapestMaking:
    """The cheapest choice among the alternatives of the routes that brings a chance to a wished value.

    Args:
        build: the build.
        wished: chance to hold all limits over their volumes, from 1 % to 99.9 %.
        targets: names of those that count; none takes all.
        trials: machines drawn for each choice.
        progress: told how many choices were looked at in full.
        cancel: asked in between.

    Raises:
        RequestError: a chance that cannot be asked for, an unknown target, or no route with an alternative.
        Cancelled: ``cancel`` said so.
    """
    if not 0.01 <= wished <= 0.999:
        raise RequestError(f"a chance of {wished:g}", "ask for 1 % to 99.9 %")
    unknown = [name for name in targets if name not in build.targets]
    if unknown or not build.targets:
        raise RequestError(
            f"there is no target '{unknown[0]}'" if unknown else "the build has no target",
            "there are: " + ", ".join(build.targets) if build.targets else "add one under 'targets'",
        )
    found = groups(build)
    if not found:
        raise RequestError(
            "no op of any route has an alternative",
            "allow some: alternatives: {jig bored: [{op: bore, machine: …}]} under an op",
        )
    question = _Question(build, tuple(targets) or tuple(build.targets), trials, found, cancel)
    return _answered(question, wished, progress, cancel)


def _answered(
    question: "_Question",
    wished: float,
    progress: Callable[[int, int | None], None] | None,
    cancel: Callable[[], bool] | None,
) -> CheapestMaking:
    """The answer to a question; the long search is begun only where it may bring something."""
    now = question.chance([0] * len(question.groups))
    ways, most = question.ways(), question.most(wished)
    finest = question.finest(ways, most)
    if question.chance(finest) < wished - FAR:
        # what lowers every row most falls short by far, so that looking through all the others would bring nothing
        return _told(question, wished, now, _short(question, ways, most, finest))
    solved = cheapest(
        ways, question.variance(), most, wished, question.chance, progress=progress, cancelled=cancel
    )
    if not solved.chosen and question.chance(finest) >= wished:
        solved = _from_above(question, ways, wished, finest, solved)
    elif not solved.chosen and question.chance(finest) > solved.best[1]:
        solved = replace(solved, best=(finest, question.chance(finest)))
    return _told(question, wished, now, solved)


def _short(
    question: "_Question", ways: Sequence[Sequence[Way]], most: Array, finest: Sequence[int]
) -> Cheapest:
    """What is told where the most accurate choice is not enough: it, and the cost below which nothing can be."""
    solved = cheapest(ways, question.variance(), most, 0.0, lambda chosen: 0.0)
    bound = solved.cost if solved.chosen else np.inf
    return Cheapest((), np.inf, 0.0, bound, 1, (tuple(finest), question.chance(finest)))


def _from_above(
    question: "_Question",
    ways: Sequence[Sequence[Way]],
    wished: float,
    finest: Sequence[int],
    solved: Cheapest,
) -> Cheapest:
    """Where the search from below ended without: from the most accurate choice down, a cheaper way at a time."""
    chosen, tried = list(finest), solved.tried
    steps = [
        (ways[g][n].cost - way.cost, g, k) for g, n in enumerate(finest) for k, way in enumerate(ways[g])
    ]
    for saved, group, number in sorted(steps, reverse=True):
        if saved <= 0:
            break
        cheaper = [*chosen[:group], number, *chosen[group + 1 :]]
        if ways[group][number].cost < ways[group][chosen[group]].cost:
            tried += 1
            chosen = cheaper if question.chance(cheaper) >= wished else chosen
    cost = sum(group[number].cost for group, number in zip(ways, chosen))
    return Cheapest(tuple(chosen), cost, question.chance(chosen), solved.bound, tried, solved.best)


class _Question:
    """A build with its groups, asked for chances of choices."""

    def __init__(
        self,
        build: Build,
        names: tuple[str, ...],
        trials: int,
        found: tuple[Group, ...],
        cancel: Callable[[], bool] | None = None,
    ) -> None:
        self.build, self.names, self.trials, self.groups = build, names, trials, found
        self._cancel = cancel
        self._dims, self._alone = dims_as_made(build), dict[tuple[str, ...], bool]()
        self._found: dict[tuple[int, ...], float] = {}
        loop = self._loop(build)
        self._rows = self._over(loop)
        self._variance = _variance(loop, self._rows)

    def _loop(self, build: Build, changed: tuple[str, ...] = ()) -> Loop:
        """The loop of the build with other ways of making some of its parts; only those are looked at anew."""
        if not self._apart(changed):
            return compile_loop(build, dims_as_made(build))
        others = {path: dim for path, dim in self._dims.items() if path.partition("/")[0] not in changed}
        return compile_loop(build, {**others, **(made(build, parts=changed).dims if changed else {})})

    def _apart(self, parts: tuple[str, ...]) -> bool:
        """What is known of the dims of some parts is the same whether or not the others are looked at with them."""
        if parts not in self._alone:
            alone = made(self.build, parts=parts).dims if parts else {}
            together = {path: dim for path, dim in self._dims.items() if path.partition("/")[0] in parts}
            self._alone[parts] = alone == together
        return self._alone[parts]

    def _over(self, loop: Loop) -> list[Rows]:
        targets = [loop.build.targets[name] for name in self.names]
        return [loop.rows(t, poses_of(loop.build, t, name)) for name, t in zip(self.names, targets)]

    def variance(self) -> Array:
        """Variance of every row with the routes as they stand, (rows,)."""
        return self._variance

    def ways(self) -> list[list[Way]]:
        """Ways of every group, each with what it adds to the variance of every row."""
        out = []
        for group in self.groups:
            ways = []
            for choice in group.ways:
                added = np.zeros_like(self._variance)
                self._look()
                if choice.chosen:
                    loop = self._loop(chosen_build(self.build, choice.chosen), group.parts)
                    added = _variance(loop, self._over(loop)) - self._variance
                ways.append(Way(tuple(one.name for one in choice.chosen), choice.minutes, added))
            out.append(ways)
        return out

    def most(self, wished: float) -> Array:
        """Largest variance with which each row alone is within its limit with the wished chance, (rows,)."""
        out = []
        for name, rows in zip(self.names, self._rows):
            limit, mean = self.build.targets[name].limit, np.abs(rows.mean).ravel()
            low, high = np.zeros_like(mean), np.full_like(mean, 100 * limit)
            for _ in range(60):
                middle = (low + high) / 2
                std = np.maximum(middle, 1e-300)
                inside = ndtr((limit - mean) / std) - ndtr((-limit - mean) / std)
                low, high = np.where(inside >= wished, middle, low), np.where(inside >= wished, high, middle)
            out.append(high**2)
        return np.concatenate(out)

    def finest(self, ways: Sequence[Sequence[Way]], most: Array) -> tuple[int, ...]:
        """Of each group the way that leaves least to the rows, each counted by what it may have."""
        scale = np.maximum(most, 1e-300)
        sums = [[float((way.variance / scale).sum()) for way in group] for group in ways]
        return tuple(int(np.argmin(one)) for one in sums)

    def _look(self) -> None:
        if self._cancel is not None and self._cancel():
            raise Cancelled("stopped")

    def chosen(self, numbers: Sequence[int]) -> tuple[Choice, ...]:
        """Alternatives of one way for each group."""
        return tuple(one for group, number in zip(self.groups, numbers) for one in group.ways[number].chosen)

    def chance(self, numbers: Sequence[int]) -> float:
        """Chance to hold all limits with one way for each group."""
        key = tuple(numbers)
        self._look()
        if key not in self._found:
            changed = tuple(
                part for group, number in zip(self.groups, numbers) for part in group.parts if number
            )
            loop = self._loop(chosen_build(self.build, self.chosen(numbers)), changed)
            limits = [self.build.targets[name].limit for name in self.names]
            prior = prior_of(loop.sources, self.build.assume)
            _, self._found[key] = monte_carlo(self._over(loop), prior, limits, trials=self.trials)
        return self._found[key]


def _variance(loop: Loop, rows: Sequence[Rows]) -> Array:
    """Variance of every pose and component of every target, (rows,)."""
    std = prior_of(loop.sources, loop.build.assume).std
    return np.concatenate([((one.matrix * std) ** 2).sum(axis=-1).ravel() for one in rows])


def _told(question: _Question, wished: float, now: float, solved: Cheapest) -> CheapestMaking:
    build, reached = question.build, bool(solved.chosen)
    numbers = solved.chosen if reached else solved.best[0] if solved.best[1] > now else ()
    ways = tuple(_way(build, one) for one in question.chosen(numbers)) if numbers else ()
    chance = solved.chance if reached else max(solved.best[1], now)
    return CheapestMaking(
        build=build.name,
        targets=question.names,
        wished=wished,
        now=now,
        reached=reached,
        chosen=ways if reached else (),
        minutes=solved.cost if reached else 0.0,
        chance=chance,
        best=() if reached else ways,
        bound=solved.bound,
        proven=solved.proven or (not reached and solved.bound == np.inf),
        choices=int(np.prod([len(group.ways) for group in question.groups], dtype=float)),
        tried=solved.tried,
        chance_std=float(np.sqrt(max(chance * (1 - chance), 0.0) / question.trials)),
        unstated=sum(g.ways[n].unstated for g, n in zip(question.groups, solved.chosen)) if reached else 0,
    )


def _way(build: Build, one: Choice) -> ChosenWay:
    op = build.parts[one.part].route[one.index]
    field = f"parts/{one.part}/route/{one.index}/alternatives/{one.name}"
    return ChosenWay(one.part, number_of(one.index), op.op, one.name, one.joint, field)
