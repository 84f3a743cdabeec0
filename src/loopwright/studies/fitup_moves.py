"""Whether what was read still holds: what later states of the machine moved."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.timeline import Timeline
from loopwright.errors import RequestError
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import candidate_named

Array = NDArray[np.float64]

FELT = 0.1
"""A later state moved what was read where it could by more than this share of what is not known of it."""
LEAST = 1e-6
"""Less than this nobody can read, mm or rad."""


def last_moved(bench: Bench, rows: Array) -> int:
    """Number of the newest state that moved what some rows show; of the first state where none did.

    Args:
        bench: the build as it stands.
        rows: over the deviations, (rows, sources).
    """
    line = bench.knowledge.line
    unknown = np.maximum(bench.knowledge.uncertainty(rows, bench.state), LEAST)
    states = line.states
    for before, after in reversed(list(pairwise(states))):
        places, size = _moved(line, before, after)
        if places and bool((np.sqrt(rows[:, places] ** 2 @ size**2) > FELT * unknown).any()):
            return after
    return states[0]


def _moved(line: Timeline, before: int, after: int) -> tuple[list[int], Array]:
    """Deviations that a state replaced or moved on, and by how much as a rule: places in x, and (places,)."""
    was, now = line.made_of[before], line.made_of[after]
    places = [place for place, pieces in now.items() if pieces != was.get(place)]
    sizes = np.zeros(len(places))
    for number, place in enumerate(places):
        factors: dict[int, float] = {}
        for pieces, sign in ((now[place], 1.0), (was.get(place, ((place, 1.0),)), -1.0)):
            for piece, factor in pieces:
                factors[piece] = factors.get(piece, 0.0) + sign * factor
        mean = sum(factor * line.mean[piece] for piece, factor in factors.items())
        sizes[number] = np.sqrt(mean**2 + sum((f * line.std[piece]) ** 2 for piece, f in factors.items()))
    return places, sizes


def rows_read(bench: Bench, name: str) -> Array | None:
    """What a step of the fit-up reads, as rows without its open zero; None where nothing reads it.

    Args:
        bench: the build as it stands.
        name: of a test, a dim or a closure.
    """
    try:
        seen = candidate_named(bench, name, bench.state).observation
    except RequestError:
        return None
    if not seen.free.size:
        return seen.rows
    zero, _ = np.linalg.qr(seen.free)
    return np.asarray(seen.rows - zero @ (zero.T @ seen.rows))


def standing_reading(bench: Bench, name: str) -> int | None:
    """Entry of the last reading of a name that nothing done since has moved; None where it is still to be read.

    Args:
        bench: the build as it stands.
        name: of a test, a dim or a closure.
    """
    found = [
        (e.number, r.state) for e, r in bench.having(Reading) if r.of == name and not r.item and not r.against
    ]
    if not found:
        return None
    rows = rows_read(bench, name)
    entry, state = max(found)
    return entry if rows is None or state >= last_moved(bench, rows) else None
