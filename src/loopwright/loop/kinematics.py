"""Where nominal bodies stand at poses of the axes."""

from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import RequestError
from loopwright.loop.twists import rotation_about
from loopwright.model.build import Build
from loopwright.model.indications import Indication, Span
from loopwright.model.joints import JointKind

Array = NDArray[np.float64]

MOST_POSES = 50_000
DEFAULT_STEPS = 5


@dataclass(frozen=True)
class Standing:
    """A body at poses: it is at ``turn @ home + shift``; shapes (poses, 3, 3) and (poses, 3)."""

    turn: Array
    shift: Array

    def place(self, home: Array) -> Array:
        """Where points given at home are now, (poses, 3); home is (3,) or (poses, 3)."""
        return np.asarray(
            (self.turn @ np.broadcast_to(home, self.shift.shape)[..., None])[..., 0] + self.shift
        )

    def home(self, now: Array) -> Array:
        """Home coordinates of points that are at ``now``, (poses, 3)."""
        return np.asarray((self.turn.transpose(0, 2, 1) @ (now - self.shift)[..., None])[..., 0])

    def unturned(self, direction: Array) -> Array:
        """Machine directions as the body sees them at home: (poses, 3) for one, (poses, n, 3) for (poses, n, 3)."""
        return np.asarray(direction @ self.turn)


def axis_moves(build: Build, poses: dict[str, Array]) -> dict[str, Array]:
    """Moves from home of every axis at poses given by axis letter; axes not named stay at home."""
    count = len(next(iter(poses.values()))) if poses else 1
    moves = {}
    for letter, name in build.axes().items():
        given = poses.get(letter)
        moves[name] = np.zeros(count) if given is None else np.asarray(given, float) - build.joints[name].home
    return moves


def standing(build: Build, body: str, moves: dict[str, Array]) -> Standing:
    """Where a body stands after moves of the axes (by joint name, each (poses,))."""
    count = len(next(iter(moves.values()))) if moves else 1
    turn, shift = np.broadcast_to(np.eye(3), (count, 3, 3)), np.zeros((count, 3))
    for name in build.path_to(body):
        joint = build.joints[name]
        if joint.kind is JointKind.LINEAR:
            step = moves[name][:, None] * np.asarray(joint.along)
            shift = shift + (turn @ step[..., None])[..., 0]
        elif joint.kind is JointKind.ROTARY:
            rotation, centre = rotation_about(joint.about or (0, 0, 1), moves[name]), np.asarray(joint.at)
            offset = centre - rotation @ centre
            shift = shift + (turn @ offset[..., None])[..., 0]
            turn = turn @ rotation
    return Standing(np.asarray(turn), np.asarray(shift))


def poses_of(build: Build, indication: Indication, name: str = "") -> dict[str, Array]:
    """The poses over which an indication runs: every combination of its axes, each (poses,), by axis letter.

    The last axis named runs fastest. Axes that are held elsewhere than at home are included.

    Raises:
        RequestError: there are more than 50 000 of them.
    """
    lines = [_stations(span) for span in indication.over.values()]
    total = prod(len(line) for line in lines)
    if total > MOST_POSES:
        raise RequestError(
            f"{repr(name) if name else 'this'} asks for {total} poses; {MOST_POSES} is the most",
            "take coarser steps: {X: [0, 320, 40]}, or leave the step out for five along each axis",
        )
    grid = np.meshgrid(*lines, indexing="ij") if lines else []
    out = {letter: axis.ravel() for letter, axis in zip(indication.over, grid)}
    for letter, position in indication.holding.items():
        out.setdefault(letter, np.full(total, position))
    return out


def _stations(span: Span) -> Array:
    """Positions along one axis; both ends are among them, also where the steps do not reach the end."""
    if span.step is None:
        return np.linspace(span.start, span.end, DEFAULT_STEPS)
    whole = int(np.floor((span.end - span.start) / span.step + 1e-9))
    found = span.start + span.step * np.arange(whole + 1)
    left = span.end - found[-1]
    return np.asarray(np.append(found, span.end) if left > 1e-9 * span.step else found)
