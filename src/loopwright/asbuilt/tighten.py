"""What tightening, loosening or making together would buy, statement by statement."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.budget import Budget, variances
from loopwright.asbuilt.prior import Prior
from loopwright.loop.sources import Source, SourceKind
from loopwright.making.planned import number_of

Array = NDArray[np.float64]

OWN_LEFT = 0.2
"""Fraction of a dim's spread that stays its own when it is made together with another; common practice, a guess."""

MOST_PAIRED = 200
"""Dims that are looked at in pairs: those with the largest shares."""


@dataclass(frozen=True)
class Tightening:
    """What changing one statement of the build file would do to the largest expected size of the error.

    Attributes:
        field: the statement.
        name: of its source, or of the group that it makes.
        part: the part it belongs to, or None.
        kind: of its sources.
        now: largest expected size as it stands, mm or rad.
        halved: with its limits halved about their middle.
        doubled: with its limits doubled about their middle.
    """

    field: str
    name: str
    part: str | None
    kind: SourceKind
    now: float
    halved: float
    doubled: float


@dataclass(frozen=True)
class Pairing:
    """What making two dims together would do: largest expected size, now and then."""

    first: str
    second: str
    now: float
    together: float


def tightenings(budget: Budget, prior: Prior, sources: Sequence[Source]) -> list[Tightening]:
    """The effect of halving and of doubling the limits of every statement, largest gain first."""
    by_field: dict[str, list[int]] = {}
    for place, source in enumerate(sources):
        if prior.std[place] > 0:
            by_field.setdefault(source.field, []).append(place)
    brought = variances(budget.rows, prior)
    square = budget.size**2
    now = float(budget.size.max())
    each = (
        np.stack([brought[:, places].sum(axis=1) for places in by_field.values()])
        if by_field
        else np.zeros((0, 1))
    )
    halved = np.sqrt((square - 0.75 * each).max(axis=1))
    doubled = np.sqrt((square + 3.0 * each).max(axis=1))
    found = [
        Tightening(
            field,
            _name(sources, places),
            sources[places[0]].part,
            sources[places[0]].kind,
            now,
            float(h),
            float(d),
        )
        for (field, places), h, d in zip(by_field.items(), halved, doubled)
    ]
    return sorted(found, key=lambda t: t.halved)


def _name(sources: Sequence[Source], places: list[int]) -> str:
    """What a statement is called: its source, its profile, or where in its joint or setup it stands."""
    first = sources[places[0]]
    if len(places) == 1:
        return first.name
    if first.group is not None and all(sources[p].group == first.group for p in places):
        return first.group
    place = first.field.split("/")
    if place[0] in ("joints", "made_together") and len(place) > 2:
        return f"{place[1]}: {' '.join(place[2:])} ({len(places)} deviations)"
    if place[0] == "parts" and place[2:3] == ["route"]:
        made = f"{place[1]}, op {number_of(int(place[3]))}" if len(place) > 3 else f"route of {place[1]}"
        return f"{made} ({len(places)} deviations)"
    return f"{first.field} ({len(places)} deviations)"


def pairings(
    budget: Budget, prior: Prior, sources: Sequence[Source], nominals: dict[str, float]
) -> list[Pairing]:
    """Pairs of dims of one nominal size that are worth cutting in one setup, largest gain first.

    Made together, a pair keeps its limits, but all save a fifth of each spread is common to both.

    Args:
        budget: of the target.
        prior: what is believed of the sources.
        sources: of the build.
        nominals: nominal size by 'part/dim'; dims of different size are not paired.
    """
    dims = [
        i
        for i, s in enumerate(sources)
        if s.dim in nominals and s.kind is SourceKind.GEOMETRY and prior.std[i] > 0
    ]
    own = [i for i in dims if not sources[i].field.startswith("made_together/")]
    own = sorted(own, key=lambda i: -budget.share_volume[i])[:MOST_PAIRED]
    pairs = [
        (a, b)
        for n, a in enumerate(own)
        for b in own[n + 1 :]
        if abs(nominals[sources[a].dim or ""] - nominals[sources[b].dim or ""]) < 1e-6
        and budget.share_volume[b] > 0
    ]
    if not pairs:
        return []
    left, right = (np.array(side, np.intp) for side in zip(*pairs))
    matrix = budget.rows.matrix
    common = (
        np.einsum("pcs,pcs->ps", matrix[:, :, left], matrix[:, :, right]) * prior.std[left] * prior.std[right]
    )
    square = budget.size[:, None] ** 2 + 2 * (1 - OWN_LEFT**2) * common
    then = np.sqrt(np.maximum(square, 0).max(axis=0))
    now = float(budget.size.max())
    found = [
        Pairing(sources[a].dim or "", sources[b].dim or "", now, float(t))
        for (a, b), t in zip(pairs, then)
        if t < now
    ]
    return sorted(found, key=lambda p: p.together)
