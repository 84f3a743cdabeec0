"""How far the linear result is from exact rigid-body motion, at sampled extremes."""

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.exact import exact_indication
from loopwright.loop.rows import Loop, Rows
from loopwright.model.indications import Indication

Array = NDArray[np.float64]

_RANDOM_CASES = 12
_FITTED_CASES = 4


def exactness(
    loop: Loop, indication: Indication, rows: Rows, worst: int, farthest: Array, std: Array
) -> tuple[int, float, float, float, float]:
    """Compares the linear with the exact indication at the worst pose and the ends of the volume.

    The deviations are taken to their farthest values in the direction that is worst at the worst pose, in its opposite,
    and in seeded random corners; then once more with each at one standard uncertainty.

    Args:
        loop: the loop.
        indication: what is asked.
        rows: its rows over its poses.
        worst: number of the worst pose.
        farthest: farthest value of each source from its mean, (sources,).
        std: standard uncertainty of each source, (sources,).

    Returns:
        Cases compared; largest linear error among them; largest difference; largest difference at one standard
        uncertainty, and the largest linear error then. mm or rad.
    """
    poses = sorted({worst, *_ends(rows)})
    signs = _signs(rows.matrix[worst])
    fitted = indication.zeroed.how in ("mean", "line")
    if fitted:
        signs = signs[:_FITTED_CASES]
    # both sizes at once: what costs here is the number of calls, not the number of cases
    sizes = loop.mean + np.concatenate([signs * farthest, signs * std])
    linear = np.einsum("pcs,xs->xpc", rows.matrix[poses], sizes)
    exact = (_fitted if fitted else _from_datum)(loop, indication, rows, poses, sizes)
    largest, typical_largest = np.split(np.abs(linear), 2)
    apart, typical = np.split(np.abs(exact - linear), 2)
    cases = len(poses) * len(signs)
    return cases, float(largest.max()), float(apart.max()), float(typical.max()), float(typical_largest.max())


def _ends(rows: Rows) -> list[int]:
    """Numbers of the poses at the corners of the volume."""
    at_end = np.ones(len(rows.points), bool)
    for positions in rows.poses.values():
        at_end &= (positions == positions.min()) | (positions == positions.max())
    return [int(i) for i in np.flatnonzero(at_end)[:16]]


def _signs(worst: Array) -> Array:
    generator = np.random.Generator(np.random.PCG64(5))
    heading = np.sign(worst.sum(axis=0))
    random = generator.choice([-1.0, 1.0], size=(_RANDOM_CASES, worst.shape[1]))
    return np.concatenate([heading[None], -heading[None], random])


def _from_datum(loop: Loop, indication: Indication, rows: Rows, poses: list[int], x: Array) -> Array:
    """Exact indication at some poses, less what it is at the datum pose where it is zeroed at one."""
    chosen = {letter: positions[poses] for letter, positions in rows.poses.items()}
    if indication.zeroed.how != "at":
        return _each(loop, indication, chosen, x)
    home = {letter: joint_home[0] for letter, joint_home in _home(loop, 1).items()}
    datum = {**home, **indication.holding, **indication.zeroed.at}
    every = {q: np.append(chosen.get(q, np.full(len(poses), home[q])), datum[q]) for q in home}
    found = _each(loop, indication, every, x)
    return np.asarray(found[:, :-1] - found[:, -1:])


def _each(loop: Loop, indication: Indication, poses: dict[str, Array], x: Array) -> Array:
    """Exact indication for every x at every pose, (x, poses, components)."""
    count = len(next(iter(poses.values()))) if poses else 1
    every = {letter: np.tile(positions, len(x)) for letter, positions in poses.items()} or _home(loop, len(x))
    found = exact_indication(loop, indication, every, np.repeat(x, count, axis=0))
    return np.asarray(found.reshape(len(x), count, -1))


def _home(loop: Loop, count: int) -> dict[str, Array]:
    return {
        letter: np.full(count, loop.build.joints[name].home) for letter, name in loop.build.axes().items()
    }


def _fitted(loop: Loop, indication: Indication, rows: Rows, poses: list[int], x: Array) -> Array:
    raw = _each(loop, indication, dict(rows.poses), x)
    moving = [rows.poses[letter] for letter in indication.over] if indication.zeroed.how == "line" else []
    fit, _ = np.linalg.qr(np.stack([np.ones(len(rows.points)), *(p - p.mean() for p in moving)], axis=1))
    left = raw - np.einsum("pk,qk,xqc->xpc", fit, fit, raw)
    return np.asarray(left[:, poses])
