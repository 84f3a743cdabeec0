"""The growth of what a linear displacement was held against, taken off a test that was read along its axis."""

from collections.abc import Mapping, Sequence
from math import hypot

import numpy as np
from numpy.typing import NDArray

from loopwright import units
from loopwright.loop.kinematics import Stands, axis_moves, poses_of
from loopwright.measuring.temperature import (
    Estimate,
    Grower,
    LineCorrected,
    expansion_of,
    line_at_reference,
    taken_for_steel,
)
from loopwright.model.indications import Gauge, Test
from loopwright.model.records import Contribution, Effect, Evaluated, Warm
from loopwright.studies.bench import Bench
from loopwright.units import Dimension

Array = NDArray[np.float64]

ALONG = 0.99
"""A test is read along its axis where its indication goes this share of the way that the axis goes, or more."""


def with_growth(
    bench: Bench,
    of: str,
    evaluated: Evaluated,
    poses: Mapping[str, Sequence[float]],
    warm: tuple[Warm | None, Warm | None],
    read_with: tuple[str, Gauge],
) -> Evaluated:
    """A reading of a test with the growth of its artefact taken off; anything else as it is.

    The artefact is what the test names, or else the gauge, whose scale then is one. What the machine itself grows stays
    in: it is the machine's own error, which the test is to show.

    Args:
        bench: the build as it stands.
        of: what was read.
        evaluated: what was made of it.
        poses: axis positions of each value, mm or rad, where they are not the test's own.
        warm: temperature of the part and of the gauge or artefact, as far as they were read.
        read_with: name of the gauge, and the gauge.
    """
    test = bench.build.tests.get(of)
    part, artefact = warm
    seen = artefact or part
    if test is None or seen is None:
        return evaluated
    travel = travel_along(bench, of, poses)
    if travel is None:
        note = "temperatures are recorded and not used: nothing is read along an axis here"
        return evaluated.model_copy(update={"notes": (*evaluated.notes, note)})
    name, thing = (
        read_with if test.artefact is None else (test.artefact, bench.build.artefacts[test.artefact])
    )
    grower = Grower(name, Estimate(seen.value, seen.std), expansion_of(thing))
    found = line_at_reference(evaluated.values, travel, grower)
    notes = [_growth_words(bench, name, seen, found, travel)]
    if taken_for_steel(thing):
        notes.append(f"{name} is taken for steel")
    if part is not None and artefact is not None:
        notes.append(
            "the machine's own temperature is recorded and not used: its growth is what the test shows"
        )
    return _corrected(evaluated, found, of, seen, notes)


def travel_along(bench: Bench, of: str, poses: Mapping[str, Sequence[float]]) -> Array | None:
    """Nominal displacement of a test along its indication at every pose, from where it is zeroed, (poses,) mm.

    None where it is no linear displacement along the one axis that moves.
    """
    test = bench.build.tests[of]
    if test.angular or len(test.components) != 1:
        return None
    at = _poses(bench, of, test, poses)
    went = {letter: float(np.ptp(positions)) for letter, positions in at.items() if np.ptp(positions) > 0}
    if len(went) != 1:
        return None
    travel = _displacement(bench, test, at)
    if travel is None or np.ptp(travel) < ALONG * sum(went.values()):
        return None
    if test.zeroed.how == "none":
        return travel
    if test.zeroed.how != "at":
        return np.asarray(travel - travel[0])
    datum = {letter: np.array([p]) for letter, p in {**test.holding, **test.zeroed.at}.items()}
    zero = _displacement(bench, test, datum)
    return travel if zero is None else np.asarray(travel - zero[0])


def _poses(bench: Bench, of: str, test: Test, given: Mapping[str, Sequence[float]]) -> dict[str, Array]:
    wanted = poses_of(bench.build, test, of)
    if not given:
        return wanted
    count = len(next(iter(given.values())))
    held = {letter: np.full(count, positions[0]) for letter, positions in wanted.items()}
    return {**held, **{letter: np.asarray(positions, float) for letter, positions in given.items()}}


def _displacement(bench: Bench, test: Test, at: Mapping[str, Array]) -> Array | None:
    """How far the second body nominally went from the first along the indication, (poses,); None where it turns."""
    stands = Stands(bench.build, axis_moves(bench.build, dict(at)))
    first, second = (stands.of(body) for body in test.between)
    if not np.allclose(first.turn, second.turn) or not np.allclose(first.turn, np.eye(3)):
        return None
    direction = np.eye(3)["XYZ".index(test.component or "X")] if test.along is None else np.array(test.along)
    return np.asarray((second.shift - first.shift) @ direction)


def _growth_words(bench: Bench, name: str, seen: Warm, found: LineCorrected, travel: Array) -> str:
    shown = bench.build.units
    far = int(np.argmax(np.abs(travel)))
    by = units.format_value(
        float(found.correction[far]), Dimension.LENGTH, shown.shown(Dimension.LENGTH), digits=2, sign=True
    )
    at = units.format_value(float(travel[far]), Dimension.LENGTH, shown.length, digits=5)
    return f"growth of {name} at {seen.value:g} degC taken off: {by} at {at}"


def _corrected(
    evaluated: Evaluated, found: LineCorrected, of: str, seen: Warm, notes: Sequence[str]
) -> Evaluated:
    effects = [
        Effect(
            # of another occasion it would be another error
            name=one.name if one.lasting else f"{one.name} at {seen.value:g} degC in {of}",
            std=one.std,
            column=tuple(one.column.tolist()),
        )
        for one in found.effects
    ]
    lines = [Contribution(name=one.name, std=one.std, shared=one.lasting) for one in found.effects]
    return evaluated.model_copy(
        update={
            "values": tuple(found.values.tolist()),
            "stds": tuple(np.hypot(evaluated.stds, found.stds).tolist()),
            "effects": (*evaluated.effects, *effects),
            "contributions": (*evaluated.contributions, *lines),
            "expanded": hypot(evaluated.expanded or 0.0, 2 * found.farthest),
            "notes": (*evaluated.notes, *notes),
        }
    )
