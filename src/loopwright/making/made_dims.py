"""What is known of dims from the way their parts are made: the deviations that making hands to the loop."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from loopwright.loop.sources import MadeDim, Share
from loopwright.making.capabilities import holds
from loopwright.making.chart_checks import problems
from loopwright.making.chart_solving import Solution, chart
from loopwright.making.chart_sources import Sources, joined, sources
from loopwright.making.planned import ROUND, Planned, plans_of
from loopwright.model.build import Build
from loopwright.model.routes import Op

SMALLEST = 1e-7
"""A share that moves a dim by less is no share, mm or rad."""


@dataclass(frozen=True)
class Made:
    """The parts of a build as this shop makes them.

    Attributes:
        planned: charts of every part that has a route.
        charted: for each part and direction the chart, solved; only those without a mistake.
        dims: for 'part/dim' what is known of it from its route.
        passed_over: for 'part/dim' that has a span and no route that makes it, why.
    """

    planned: Mapping[str, Planned]
    charted: Mapping[tuple[str, str], Solution]
    dims: Mapping[str, MadeDim]
    passed_over: Mapping[str, str]


def made(build: Build, *, parts: Iterable[str] | None = None) -> Made:
    """What the routes of a build say of its dims.

    A dim is the sum of the cuts on its path in the chart, of the seating and the setting of their setups, and of the
    growth in the furnace. What two dims have in common, as of a matched set or of two faces cut in one setup, is one
    deviation for both. A dim whose chart has a mistake, or that no cut makes, keeps the limits of its drawing.

    Args:
        build: the build.
        parts: those that are asked for; left out: all with a route.

    Source: design of the tolerance chart in ``chart_sources``; JCGM 100:2008, F.1.2.3.
    """
    names = [name for name in (parts or build.parts) if build.parts[name].route]
    planned = {name: plans_of(build, name) for name in names}
    charted: dict[tuple[str, str], Solution] = {}
    found: list[Sources] = []
    for name, plans in planned.items():
        for direction, one in plans.charts.items():
            # a mistake found while drawing it leaves the other charts of the part sound
            if plans.wrong.get(direction) or problems(one.plan):
                continue
            charted[name, direction] = chart(one.plan)
            found.append(_sized(sources(one.plan, charted[name, direction]), direction))
    dims = _shares(build, joined(found)) | dict(_angles(build, names))
    return Made(planned, charted, dims, _passed_over(build, planned, dims))


def _sized(found: Sources, direction: str) -> Sources:
    """Charts of round surfaces are in radii; dims are diameters."""
    times = 2.0 if direction == ROUND else 1.0
    return Sources(
        found.plans, found.finished, found.kinds, found.keys, found.std, times * found.coefficients,
        times * found.shift,
    )  # fmt: skip


def _shares(build: Build, every: Sources) -> dict[str, MadeDim]:
    """Each dim as its own deviation and those that it shares; what only one dim sees is its own."""
    moved = np.abs(every.coefficients) * every.std
    common = (moved > SMALLEST).sum(axis=0) > 1
    own = np.sqrt((moved[:, ~common] ** 2).sum(axis=1))
    places = np.flatnonzero(common)
    out: dict[str, MadeDim] = {}
    for row, (plan, name) in enumerate(zip(every.plans, every.finished)):
        part = plan.rpartition(", ")[0]
        field = f"parts/{part}/route"
        shares = tuple(
            Share(_named(every, i), float(every.std[i]), float(every.coefficients[row, i]), field)
            for i in map(int, places)
            if moved[row, i] > SMALLEST
        )
        spread = build.parts[part].dims[name].spread or build.general_limits
        middle = 0.0 if spread is None else spread.mean
        out[f"{part}/{name}"] = MadeDim(float(own[row]), field, middle + float(every.shift[row]), shares)
    return out


def _named(every: Sources, place: int) -> str:
    """A shared deviation in words."""
    key = every.keys[place]
    return key if every.kinds[place] in key else f"{key} ({every.kinds[place]})"


def _angles(build: Build, names: Iterable[str]) -> Iterator[tuple[str, MadeDim]]:
    """Angles between surfaces: the op that cut the second of them gave it the angle of its setup."""
    for name in names:
        part = build.parts[name]
        for dim, span in part.spans.items():
            if span.between is None or part.dims[dim].quantity != "angle":
                continue
            last = _last_cut(part.route, span.between[1]) or _last_cut(part.route, span.between[0])
            found = None if last is None else holds(build.shop, last[1])
            if last is None or found is None or not found.angular:
                continue
            index, op = last
            field, middle = f"parts/{name}/route/{index}", (part.dims[dim].spread or build.general_limits)
            key = f"{op.together}: {op.op} on {op.machine} (angle)" if op.together else ""
            mean = 0.0 if middle is None else middle.mean
            if key:
                yield f"{name}/{dim}", MadeDim(0.0, field, mean, (Share(key, found.angular, 1.0, field),))
            else:
                yield f"{name}/{dim}", MadeDim(found.angular, field, mean)


def _last_cut(route: list[Op], surface: str) -> tuple[int, Op] | None:
    return next(((i, op) for i, op in reversed(list(enumerate(route))) if surface in op.cuts), None)


def _passed_over(build: Build, planned: Mapping[str, Planned], dims: Mapping[str, MadeDim]) -> dict[str, str]:
    out = {}
    for name, plans in planned.items():
        for dim, span in build.parts[name].spans.items():
            if f"{name}/{dim}" in dims:
                continue
            ends = span.between or (span.across or "",)
            cut = {surface for op in build.parts[name].route for surface in op.cuts}
            missing = [end for end in ends if end not in cut]
            wrong = bool(plans.problems) or any(problems(c.plan) for c in plans.charts.values())
            out[f"{name}/{dim}"] = (
                f"no op of the route cuts '{missing[0]}'" if missing
                else "its tolerance chart has a mistake" if wrong
                else "its machine is not stated, or holds no angle"
            )  # fmt: skip
    return out
