"""Which of the bought or made items to put where: the choice that leaves the least expected error at the tool."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.observing import drive_places, stated_band
from loopwright.errors import RequestError
from loopwright.fitup.selection import Block, select
from loopwright.handbook.screws import LeadError, lead_error
from loopwright.measuring.coverage import coverage_factor
from loopwright.model.build import Units
from loopwright.studies.bench import Bench, Item

Array = NDArray[np.float64]

VISIBLE = 0.005
"""Share of a limit that a choice must make for a target to count."""


@dataclass(frozen=True)
class Graded:
    """An item against the grade that was ordered.

    Attributes:
        serial: of the item.
        grade: that was ordered; None where none is stated.
        verdict: 'keep', 'send back', or 'undecided' where the uncertainty covers the limit; '' without a grade.
        words: what was found against what is allowed.
        source: of the limits.
    """

    serial: str
    grade: str | None
    verdict: str
    words: tuple[tuple[str, float, float, float], ...]
    source: str


@dataclass(frozen=True)
class Chosen:
    """A choice of items for places.

    Attributes:
        build: its name; units: in which the user reads.
        kind: of the items, as 'ball screw'.
        places: where they go, as 'X slide/drive' or a part.
        items: serials that were looked at, and what was found of each.
        best: serial for each place.
        targets: name and limit of each target, and its expected size with the best choice.
        objective: of the best choice: largest expected size as a share of its limit.
        average, average_std: over all choices: what to expect of items taken as they come.
        worst: the largest found.
        choices: how many there are; every: whether all were looked at for average and worst.
        ranking: the best choices: serials and objective.
        aside: serials that are never worth using.
        graded: each item against its grade.
    """

    build: str
    units: Units
    kind: str
    places: tuple[str, ...]
    items: tuple[tuple[str, tuple[Item, ...]], ...]
    best: tuple[str, ...]
    targets: tuple[tuple[str, float, float], ...]
    objective: float
    average: float
    average_std: float
    worst: float
    choices: int
    every: bool
    ranking: tuple[tuple[tuple[str, ...], float], ...]
    aside: tuple[str, ...]
    graded: tuple[Graded, ...]


def choose(
    bench: Bench,
    kind: str,
    places: Sequence[str],
    *,
    grade: str | None = None,
    targets: Sequence[str] = (),
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Chosen:
    """The best items for some places, by what was read of each on the bench.

    Args:
        bench: the build as it stands; readings of items are recorded as 'kind/what' with their serial.
        kind: of the items, as 'ball screw': what stands before the '/' of their readings.
        places: where they go: drives as 'X slide/drive', or parts. Their number is how many are wanted.
        grade: lead-screw grade that was ordered, to send items back against.
        targets: names of those that count; none counts all.
        progress: called with the steps done and how many there are, or None where that is open.
        cancel: asked at each step; True stops.

    Raises:
        RequestError: no such place or target, fewer items than places, or nothing read that matters in a place.
    """
    found = _by_serial(bench, kind)
    if len(found) < len(places) or not places:
        raise RequestError(
            f"{len(found)} items of '{kind}' were read for {len(places)} places",
            f"record each: loopwright record '{kind}/mean travel' VALUE --item SERIAL",
        )
    names = list(targets) or list(bench.build.targets)
    blocks = {name: _block(bench, name, places, found) for name in names}
    # a target that no item moves would hide what they do to the others
    names = [name for name in names if _moves(blocks[name])] or names
    answer = select([blocks[name] for name in names], progress=progress, cancel=cancel)
    serials = list(found)

    def named(picks: Sequence[int]) -> tuple[str, ...]:
        return tuple(serials[pick] for pick in picks)

    return Chosen(
        build=bench.build.name,
        units=bench.build.units,
        kind=kind,
        places=tuple(places),
        items=tuple((serial, tuple(items)) for serial, items in found.items()),
        best=named(answer.best.candidates),
        targets=tuple((n, bench.target(n).limit, float(s.max())) for n, s in zip(names, answer.sizes)),
        objective=answer.best.objective,
        average=answer.average,
        average_std=answer.average_std,
        worst=answer.worst,
        choices=answer.choices,
        every=answer.every,
        ranking=tuple((named(choice.candidates), choice.objective) for choice in answer.ranking),
        aside=named(answer.aside),
        graded=tuple(_graded(bench, serial, items, places, grade) for serial, items in found.items()),
    )


def _by_serial(bench: Bench, kind: str) -> dict[str, list[Item]]:
    out: dict[str, list[Item]] = {}
    for item in bench.items:
        if item.kind == kind:
            out.setdefault(item.serial, []).append(item)
    return out


def _block(bench: Bench, target: str, places: Sequence[str], found: dict[str, list[Item]]) -> Block:
    """What each item would do to one target in each place, and what all the rest does."""
    rows, limit = bench.rows(target).matrix, bench.target(target).limit
    poses, components, _ = rows.shape
    mean = np.zeros((len(places), len(found), poses, components))
    variance = np.zeros_like(mean)
    taken: list[int] = []
    for p, place in enumerate(places):
        what = _what_goes_in(bench, place)
        taken += [i for places_ in what.values() for i in places_]
        for c, items in enumerate(found.values()):
            _add_item(bench, place, what, items, rows, mean[p, c], variance[p, c])
    rest = rows.copy()
    rest[:, :, taken] = 0.0
    state = bench.state
    base = bench.knowledge.expected(rest, state)
    return Block(mean, variance, base, bench.knowledge.uncertainty(rest, state) ** 2, limit)


def _moves(block: Block) -> bool:
    """Whether it makes a visible difference to a target which items are chosen."""
    sizes = np.sqrt((block.mean**2 + block.variance).sum(axis=-1))
    return bool((sizes.max(axis=1) - sizes.min(axis=1)).max(initial=0.0) > VISIBLE * block.limit)


def _what_goes_in(bench: Bench, place: str) -> dict[str, list[int]]:
    """What may be read of an item for a place, and the places in x that it becomes."""
    if place in bench.build.parts:
        names = bench.build.parts[place].every_dim()
        return {name: list(bench.loop.dims[f"{place}/{name}"]) for name in names}
    found = drive_places(bench.loop, place) if place.partition("/")[0] in bench.build.joints else {}
    if not found:
        drives = [f"{j}/{path}" for j, joint in bench.build.joints.items() for path, _ in joint.every_drive()]
        raise RequestError(
            f"'{place}' is no place for an item", "name a part, or a drive: " + ", ".join(drives)
        )
    return found


def _add_item(
    bench: Bench,
    place: str,
    what: dict[str, list[int]],
    items: Sequence[Item],
    rows: Array,
    mean: Array,
    variance: Array,
) -> None:
    """Adds what one item does in one place; what was not read of it stays as the build file has it."""
    read = {item.what: item for item in items}
    if not set(read) & set(what):
        raise RequestError(
            f"nothing was read of '{items[0].serial}' that matters at '{place}'",
            "record one of: " + ", ".join(f"{items[0].kind}/{name}" for name in what),
        )
    prior = bench.knowledge.line.prior
    for name, places in what.items():
        item = read.get(name)
        matrix = rows[:, :, places]
        if item is None:
            mean += matrix @ prior.mean[places]
            variance += matrix**2 @ prior.std[places] ** 2
        elif name in ("travel variation", "once per turn"):
            share = item.value / (stated_band(bench.loop, place, name) or item.value)
            variance += matrix**2 @ (prior.std[places] * share) ** 2
        else:
            dim = bench.build.dim(f"{place}/{name}")
            off = item.value - (dim.nominal if dim is not None else 0.0)
            mean += matrix[:, :, 0] * off
            variance += matrix[:, :, 0] ** 2 * item.std**2


def _graded(
    bench: Bench, serial: str, items: Sequence[Item], places: Sequence[str], grade: str | None
) -> Graded:
    """An item against its grade over the longest travel of the places that it may go to."""
    travels = [
        high - low
        for place in places
        if (joint := bench.build.joints.get(place.partition("/")[0])) is not None
        for low, high in [joint.travel or (0.0, 0.0)]
    ]
    if grade is None or not travels:
        return Graded(serial, grade, "", (), "")
    allowed = lead_error(grade, max(travels))
    limits = {"mean travel": allowed.travel_deviation, **_bands(allowed)}
    reach = coverage_factor(bench.build.confidence)
    words, proven_out, covered = [], False, False
    for item in items:
        limit = limits.get(item.what)
        if limit is None:
            continue
        words.append((item.what, item.value, item.std, limit))
        proven_out |= abs(item.value) > limit + reach * item.std
        covered |= limit - reach * item.std < abs(item.value) <= limit + reach * item.std
    verdict = "send back" if proven_out else "undecided" if covered else "keep"
    return Graded(
        serial, grade, verdict if words else "", tuple(words), f"{allowed.standard}: {allowed.source}"
    )


def _bands(allowed: LeadError) -> dict[str, float]:
    found = {"travel variation": allowed.bandwidth_travel, "once per turn": allowed.bandwidth_revolution}
    return {name: band for name, band in found.items() if band is not None}
