"""Small rigid motions and wrenches as six-vectors, and homogeneous poses, on whole arrays.

A twist is [displacement of the material at the machine origin; rotation], a wrench [force; moment about that origin].
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def rows_at(points: ArrayLike, directions: ArrayLike) -> Array:
    """Rows g with g·twist = displacement along a direction at a point.

    Args:
        points: (..., 3), mm.
        directions: (..., 3), unit vectors; broadcasts with points.

    Returns:
        (..., 6): [n, p x n]. As a wrench the same six numbers are a unit force at the point.

    >>> rows_at([0.0, 100.0, 0.0], [1.0, 0.0, 0.0]).tolist()
    [1.0, 0.0, 0.0, 0.0, 0.0, -100.0]
    """
    p, n = np.asarray(points, float), np.asarray(directions, float)
    out = np.empty((*np.broadcast_shapes(p.shape, n.shape)[:-1], 6))
    out[..., :3] = n
    _cross_into(out[..., 3:], p, n)
    return out


def cross(first: Array, second: Array) -> Array:
    """The vector product of vectors along the last axis, (..., 3); ``numpy.cross`` costs many times the sums."""
    out = np.empty(np.broadcast_shapes(first.shape, second.shape))
    _cross_into(out, first, second)
    return out


def _cross_into(out: Array, first: Array, second: Array) -> None:
    for at, one, two in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        np.multiply(first[..., one], second[..., two], out=out[..., at])
        out[..., at] -= first[..., two] * second[..., one]


def twist_at(point: ArrayLike, displacement: ArrayLike, rotation: ArrayLike) -> Array:
    """The twist of a body whose material at a point moves by a displacement while it turns, (..., 6)."""
    p, d, r = np.broadcast_arrays(*(np.asarray(v, float) for v in (point, displacement, rotation)))
    return np.concatenate([d - cross(r, p), r], axis=-1)


def rotation_about(axis: ArrayLike, angle: ArrayLike) -> Array:
    """Rotation matrices about a unit axis through the origin, (..., 3, 3); angle (...,) in rad."""
    x, y, z = np.asarray(axis, float)
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    a = np.asarray(angle, float)[..., None, None]
    return np.asarray(np.eye(3) + np.sin(a) * cross + (1 - np.cos(a)) * (cross @ cross))


def moved_twist(rotation: ArrayLike, translation: ArrayLike, twist: ArrayLike) -> Array:
    """A twist given in one frame, in the frame that sees it rotated and then translated, (..., 6)."""
    r, t, x = np.asarray(rotation, float), np.asarray(translation, float), np.asarray(twist, float)
    displacement = (r @ x[..., :3, None])[..., 0]
    turn = (r @ x[..., 3:, None])[..., 0]
    return np.concatenate([displacement + cross(t, turn), turn], axis=-1)


def shift_matrix(point: ArrayLike) -> Array:
    """X with twist about the machine origin = X · twist about the point, (6, 6); wrenches go by its transpose."""
    x, y, z = np.asarray(point, float)
    out = np.eye(6)
    out[:3, 3:] = [[0, -z, y], [z, 0, -x], [-y, x, 0]]
    return out
