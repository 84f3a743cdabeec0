"""Where does it stand? What the machine will hold at the tool over its volume, and what drives that."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.budget import Budget, budget, grouped
from loopwright.asbuilt.misfit import misfits
from loopwright.asbuilt.montecarlo import Progress, Worst, histogram, monte_carlo
from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.asbuilt.tighten import pairings, tightenings
from loopwright.asbuilt.worst_case import worst_case
from loopwright.errors import RequestError
from loopwright.loop import Loop, Rows, compile_loop
from loopwright.loop.exactness import exactness
from loopwright.loop.kinematics import poses_of
from loopwright.loop.sources import SourceKind
from loopwright.loop.stiffness import tool_compliance
from loopwright.model.build import Build
from loopwright.model.indications import Target
from loopwright.studies.assumptions import assumptions
from loopwright.studies.checking import idle_dims, load
from loopwright.studies.reports import (
    ComponentStanding,
    ExactCheck,
    InLimits,
    MonteCarloStanding,
    PlaneMap,
    PoseTable,
    SourceShare,
    Standing,
    StiffnessStanding,
    TargetStanding,
    WhatIf,
)

Array = NDArray[np.float64]

FEWEST_TRIALS, MOST_TRIALS = 100, 100_000_000
_PROBABILITIES = (0.05, 0.5, 0.9, 0.95, 0.99)
_SMALLEST_SHARE = 1e-9


def standing_of_file(
    path: str | Path,
    *,
    targets: Sequence[str] = (),
    changes: Mapping[str, str] | None = None,
    trials: int | None = None,
    seed: int = 0,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Standing:
    """Where the build of a file stands; arguments as for ``standing``.

    Raises:
        BuildError: the file has mistakes; all of them are in it.
        RequestError: a target or a change is not in the file, or the volume is too large.
        Cancelled: ``cancel`` said so.
    """
    return standing(
        load(path, changes),
        targets=targets,
        trials=trials,
        seed=seed,
        progress=progress,
        cancel=cancel,
        file=Path(path).name,
    )


def what_if(path: str | Path, changes: Mapping[str, str], **options: object) -> WhatIf:
    """Where the build of a file stands as it is, and with values changed.

    Args:
        path: of the build file.
        changes: new value by field path, as in {'parts/column/dims/height': '240 ±0.01'}.
        options: as for ``standing_of_file``.
    """
    before = standing_of_file(path, **options)  # type: ignore[arg-type]
    # as many machines on both sides, so that neither is known better than the other
    drawn = options | {"trials": before.targets[0].monte_carlo.trials}
    after = standing_of_file(path, changes=changes, **drawn)  # type: ignore[arg-type]
    return WhatIf(dict(changes), before, after)


def standing(
    loop: Loop,
    *,
    targets: Sequence[str] = (),
    trials: int | None = None,
    seed: int = 0,
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
    file: str | None = None,
) -> Standing:
    """Where a build stands before anything is measured.

    Args:
        loop: of the build.
        targets: names of those asked for; none asks for all.
        trials: of the Monte Carlo; None draws until it is enough.
        seed: of the draw.
        progress: called with trials done and wanted.
        cancel: asked after each batch; True stops.
        file: name of the build file, for the report.

    Raises:
        RequestError: there is no such target, or its volume is too large, or ``trials`` or ``seed`` is out of range.
        Cancelled: ``cancel`` said so.

    >>> from loopwright.studies import example_loop
    >>> 0 < standing(example_loop("clock-plate"), trials=2000).chance_of_all < 1
    True
    """
    build = loop.build
    if trials is not None and not FEWEST_TRIALS <= trials <= MOST_TRIALS:
        raise RequestError(f"{trials} trials", f"ask for {FEWEST_TRIALS} to {MOST_TRIALS}, or leave it open")
    if seed < 0:
        raise RequestError(f"the seed {seed} is negative", "take 0 or more")
    chosen = _chosen(build, targets)
    prior = prior_of(loop.sources, build.assume)
    rows = [loop.rows(target, poses_of(build, target, name)) for name, target in chosen.items()]
    worst, chance_of_all = monte_carlo(
        rows,
        prior,
        [target.limit for target in chosen.values()],
        confidence=build.confidence,
        trials=trials,
        seed=seed,
        progress=progress,
        cancel=cancel,
    )
    found = [
        _target(loop, prior, name, target, r, w) for (name, target), r, w in zip(chosen.items(), rows, worst)
    ]
    return Standing(
        build=build.name,
        file=file,
        units=build.units,
        confidence=build.confidence,
        sources=sum(source.kind is not SourceKind.SETTING for source in loop.sources),
        open_sources=int((prior.std > 0).sum()),
        seed=seed,
        targets=tuple(found),
        chance_of_all=chance_of_all,
        misfits=tuple(misfits(loop, prior)),
        assumptions=assumptions(loop),
        idle_dims=idle_dims(loop),
        in_limits=_just_in_limits(loop, chosen, worst[0].trials, seed, cancel),
    )


def _just_in_limits(
    loop: Loop, chosen: Mapping[str, Target], trials: int, seed: int, cancel: Callable[[], bool] | None
) -> dict[str, InLimits]:
    """The same targets with the limits of the drawings instead of the routes, drawn as often."""
    if not any(source.kind is SourceKind.MAKING for source in loop.sources):
        return {}
    drawn = compile_loop(loop.build)
    prior = prior_of(drawn.sources, drawn.build.assume)
    rows = [drawn.rows(target, poses_of(drawn.build, target, name)) for name, target in chosen.items()]
    limits = [target.limit for target in chosen.values()]
    worst, _ = monte_carlo(
        rows, prior, limits, confidence=drawn.build.confidence, trials=trials, seed=seed, cancel=cancel
    )
    return {
        name: InLimits(float(budget(one, prior).size.max()), found.chance, found.chance_std)
        for name, one, found in zip(chosen, rows, worst)
    }


def _chosen(build: Build, names: Sequence[str]) -> dict[str, Target]:
    if not build.targets:
        raise RequestError(
            f"'{build.name}' has no target",
            "add one under 'targets', such as hole position: {between: [table, head], …}",
        )
    unknown = [name for name in names if name not in build.targets]
    if unknown:
        raise RequestError(f"there is no target '{unknown[0]}'", f"there are: {', '.join(build.targets)}")
    return {name: target for name, target in build.targets.items() if not names or name in names}


def _target(loop: Loop, prior: Prior, name: str, target: Target, rows: Rows, worst: Worst) -> TargetStanding:
    found, corner = budget(rows, prior), worst_case(rows, prior)
    nominals = {
        f"{part}/{dim}": d.nominal for part, p in loop.build.parts.items() for dim, d in p.dims.items()
    }
    sources = loop.sources
    shares, by_source = found.share_worst, _shares(loop, prior, found)
    return TargetStanding(
        name=name,
        asks=asks(target),
        component=component_words(target),
        dimension=rows.dimension,
        limit=target.limit,
        zeroed=zeroed_words(target),
        worst_pose=pose_at(rows, found.worst),
        expected=float(found.size[found.worst]),
        components=_components(found, loop.build.confidence),
        poses=len(rows.points),
        at_poses=_table(found),
        monte_carlo=_monte_carlo(worst),
        worst_case=corner.size,
        worst_case_pose=pose_at(rows, corner.pose),
        sources=by_source,
        drivers=_drivers(by_source),
        by_kind=grouped(shares, [s.kind.value for s in sources]),
        by_joint=grouped(shares, [s.joint for s in sources]),
        by_part=grouped(shares, [s.part for s in sources]),
        maps=plane_maps(target, rows, found.size, found.worst),
        tightenings=tuple(tightenings(found, prior, sources)),
        pairings=tuple(pairings(found, prior, sources, nominals)),
        exact=ExactCheck(*exactness(loop, target, rows, found.worst, prior.farthest, prior.std)),
        stiffness=None if target.angular else _stiffness(loop, target, pose_at(rows, found.worst)),
    )


def _components(found: Budget, confidence: float) -> tuple[ComponentStanding, ...]:
    intervals = found.interval(confidence)
    return tuple(
        ComponentStanding(
            name,
            float(found.rows.mean[found.worst, c]),
            float(found.std[found.worst, c]),
            (float(intervals[c, 0]), float(intervals[c, 1])),
        )
        for c, name in enumerate(found.rows.components)
    )


def _table(found: Budget) -> PoseTable:
    return PoseTable(
        {letter: tuple(positions.tolist()) for letter, positions in found.rows.poses.items()},
        tuple(map(tuple, found.rows.mean.tolist())),
        tuple(map(tuple, found.std.tolist())),
    )


def _monte_carlo(worst: Worst) -> MonteCarloStanding:
    probabilities = sorted({*_PROBABILITIES, worst.confidence})
    return MonteCarloStanding(
        trials=worst.trials,
        confidence=worst.confidence,
        mean=worst.mean,
        quantiles={p: worst.quantile(p) for p in probabilities},
        quantile_std=worst.quantile_std,
        chance=worst.chance,
        chance_std=worst.chance_std,
        histogram=tuple(histogram(worst)),
    )


def _shares(loop: Loop, prior: Prior, found: Budget) -> tuple[SourceShare, ...]:
    order = np.argsort(-found.share_worst, kind="stable")
    return tuple(
        SourceShare(
            s.name,
            s.kind.value,
            s.part,
            s.joint,
            s.field,
            float(prior.std[i]),
            s.dimension,
            s.group,
            float(found.share_worst[i]),
            float(found.share_volume[i]),
        )
        for i in order
        if max(found.share_worst[i], found.share_volume[i]) > _SMALLEST_SHARE
        for s in [loop.sources[i]]
    )


def _drivers(shares: Sequence[SourceShare]) -> tuple[SourceShare, ...]:
    """Adds up the shapes of each profile; what one setup shares keeps its own name."""
    groups: dict[tuple[str, str], list[SourceShare]] = {}
    for share in shares:
        groups.setdefault((share.group or share.name, share.field), []).append(share)
    added = [
        replace(
            members[0],
            name=members[0].name if len(members) == 1 else name,
            std=float(np.sqrt(sum(m.std**2 for m in members))),
            worst=sum(m.worst for m in members),
            volume=sum(m.volume for m in members),
        )
        for (name, _), members in groups.items()
    ]
    return tuple(sorted(added, key=lambda s: -s.worst))


def pose_at(rows: Rows, number: int) -> dict[str, float]:
    """Where the axes stand at one of the poses of some rows, mm or rad."""
    return {letter: float(positions[number]) for letter, positions in rows.poses.items()}


def plane_maps(target: Target, rows: Rows, sizes: Array, worst_pose: int) -> tuple[PlaneMap, ...]:
    """A map for each pair of moving axes through the worst pose, or one line where a single axis moves.

    Args:
        target: whose error it is.
        rows: of it, over its poses.
        sizes: at each pose, (poses,), mm or rad.
        worst_pose: number of the pose that the maps go through.
    """
    letters = list(target.over)
    lines = [np.array(sorted(set(rows.poses[letter].tolist()))) for letter in letters]
    size = sizes.reshape([len(line) for line in lines])
    at = np.unravel_index(worst_pose, size.shape)
    worst = pose_at(rows, worst_pose)
    if len(letters) == 1:
        return (PlaneMap(letters[0], None, tuple(map(float, lines[0])), (), (tuple(map(float, size)),), {}),)
    maps = []
    for a in range(len(letters)):
        for b in range(a + 1, len(letters)):
            cut = size[tuple(slice(None) if axis in (a, b) else at[axis] for axis in range(len(letters)))]
            elsewhere = {letter: v for letter, v in worst.items() if letter not in (letters[a], letters[b])}
            maps.append(
                PlaneMap(
                    letters[a],
                    letters[b],
                    tuple(map(float, lines[a])),
                    tuple(map(float, lines[b])),
                    tuple(tuple(map(float, row)) for row in cut.T),
                    elsewhere,
                )
            )
    return tuple(maps)


def _stiffness(loop: Loop, target: Target, pose: dict[str, float]) -> StiffnessStanding:
    found = tool_compliance(loop, target, {letter: np.array([position]) for letter, position in pose.items()})
    directions = dict(zip("XYZ", np.eye(3)))
    return StiffnessStanding(
        {name: float(found.stiffness(d)[0]) for name, d in directions.items()},
        {name: {j: float(found.share(j, d)[0]) for j in found.joints} for name, d in directions.items()},
    )


def component_words(target: Target) -> str:
    """What of the displacement or rotation a target looks at: 'XY', 'A', 'along (0, 1, 0)'."""
    return target.component or _along(target)


def _along(target: Target) -> str:
    return "along (" + ", ".join(f"{v:g}" for v in target.along or ()) + ")"


def asks(target: Target) -> str:
    """What a target asks, in words."""
    first, second = target.between
    turned = {"A": "X", "B": "Y", "C": "Z"}
    if target.angular:
        what = f"tilt about {turned[target.component or 'A']}"
    elif target.component is None:
        what = f"displacement {_along(target)}"
    else:
        what = f"displacement in {target.component}"
    return f"{what} of '{second}' against '{first}'" + (
        f", under {', '.join(target.under)}" if target.under else ""
    )


def zeroed_words(target: Target) -> str:
    """How the indication of a target is zeroed."""
    how = target.zeroed.how
    if how == "at":
        return "zeroed at a pose"
    words = {"none": "not zeroed", "mean": "zeroed by its mean", "line": "zeroed by its best line"}
    return words[how] if len(target.over) < 2 or how != "line" else "zeroed by its best plane"
