"""The same rows taken apart: what each joint brings to an indication, and how each body moves at poses."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import RequestError
from loopwright.loop.kinematics import Stands, poses_of
from loopwright.loop.rows import MOST_BYTES, Loop, Side
from loopwright.model.indications import Indication, Zeroing

Array = NDArray[np.float64]

BODIES = ""
"""Name under which the growth of the two bodies themselves stands among the joints."""


def body_twists(loop: Loop, stands: Stands, under: Collection[str] = ()) -> dict[str, Array]:
    """Small motion of every body for a unit of each source, machine frame, the root body held.

    Args:
        loop: the loop.
        stands: where the bodies stand.
        under: names of the process loads that act; weight always acts.

    Returns:
        By body, (poses, 6, sources): displacement of its material at the machine origin, then rotation. Its growth
        is not in it, see ``loop.growth``.

    >>> from loopwright.studies import example_loop
    >>> from loopwright.loop.kinematics import axis_moves
    >>> loop = example_loop("clock-plate")
    >>> twists = body_twists(loop, Stands(loop.build, axis_moves(loop.build, {})))
    >>> twists["table"].shape == (1, 6, len(loop.sources)), bool(twists["base"].any())
    (True, False)
    """
    origin = np.zeros((stands.poses, 3))
    directions = np.broadcast_to(np.eye(3), (stands.poses, 3, 3))
    moving = Side(loop, origin, directions, False, stands, set(under))
    turning = Side(loop, origin, directions, True, stands, set(under))
    still = np.zeros((stands.poses, 6, len(loop.sources)))
    found: dict[str, Array] = {}
    for body in loop.build.bodies:
        for name in loop.build.path_to(body):
            joint = loop.build.joints[name]
            if joint.child in found:
                continue
            parent = stands.of(joint.parent)
            rows = np.concatenate([moving.weights(parent), turning.weights(parent)], axis=1)
            twist = found.get(joint.parent, still).copy()
            moving.add_weighted(twist, name, rows)
            found[joint.child] = twist
    return {body: found.get(body, still) for body in loop.build.bodies}


def rows_by_joint(
    loop: Loop, indication: Indication, poses: Mapping[str, Array]
) -> Iterator[tuple[str, Array]]:
    """What each joint brings to an indication before zeroing, one joint after the other.

    Args:
        loop: the loop.
        indication: what is asked.
        poses: axis positions by letter, each (poses,).

    Yields:
        Name of the joint, or ``BODIES`` for the growth of the two bodies themselves, and its rows,
        (poses, components, sources). Their sum is what ``Loop.rows`` gives without zeroing.

    Raises:
        RequestError: the rows would be too large.
    """
    side = loop.side(indication, poses)
    shape = (len(side.points), len(indication.components), len(loop.sources))
    if np.prod(shape) * 8 > MOST_BYTES:
        raise RequestError(
            f"{shape[0]} poses need {np.prod(shape) * 8e-9:.1f} GB", "take coarser steps along the axes"
        )
    first, second = (loop.build.path_to(body) for body in indication.between)
    for path, others, sign in ((second, first, 1.0), (first, second, -1.0)):
        # a joint below both carries the two alike
        for name in (joint for joint in path if joint not in others):
            matrix = np.zeros(shape)
            side.add_joint(matrix, name, sign)
            yield name, matrix
    if not indication.angular:
        matrix = np.zeros(shape)
        side.add_growth(matrix, indication.between[1], 1.0)
        side.add_growth(matrix, indication.between[0], -1.0)
        yield BODIES, matrix


@dataclass(frozen=True)
class Zero:
    """What zeroing takes off an indication at any pose, joint by joint.

    Attributes:
        centre: mean position of the axes along which a best line is taken, by letter.
        parts: by joint, its mean and its slopes over those axes, (1 + axes, components, sources).
    """

    centre: Mapping[str, float]
    parts: Mapping[str, Array]

    def at(self, poses: Mapping[str, Array], joint: str) -> Array | float:
        """What is taken off a joint's rows at poses, (poses, components, sources); 0 where nothing is."""
        if joint not in self.parts:
            return 0.0
        count = len(next(iter(poses.values()))) if poses else 1
        columns = [np.ones(count), *(poses[letter] - middle for letter, middle in self.centre.items())]
        return np.asarray(np.tensordot(np.stack(columns, axis=1), self.parts[joint], (1, 0)))


def zero_of(loop: Loop, indication: Indication) -> Zero:
    """How an indication is zeroed: at a pose, or by the mean or best line over its own poses.

    >>> from loopwright.studies import example_loop
    >>> loop = example_loop("clock-plate")
    >>> sorted(zero_of(loop, loop.build.targets["hole position"]).centre)
    []
    """
    how = indication.zeroed.how
    if how == "none":
        return Zero({}, {})
    plain = indication.model_copy(update={"zeroed": Zeroing()})
    if how == "at":
        datum = {letter: np.array([position]) for letter, position in indication.zeroed.at.items()}
        for letter, position in indication.holding.items():
            datum.setdefault(letter, np.array([position]))
        return Zero({}, dict(rows_by_joint(loop, plain, datum)))
    poses = poses_of(loop.build, indication)
    moving = {letter: poses[letter] for letter in indication.over} if how == "line" else {}
    centre = {letter: float(positions.mean()) for letter, positions in moving.items()}
    count = len(next(iter(poses.values()))) if poses else 1
    columns = [np.ones(count), *(positions - centre[letter] for letter, positions in moving.items())]
    fit = np.linalg.pinv(np.stack(columns, axis=1))
    parts = {name: np.tensordot(fit, rows, (1, 0)) for name, rows in rows_by_joint(loop, plain, poses)}
    return Zero(centre, parts)
