"""Where nominal bodies stand at poses of the axes."""

from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import RequestError
from loopwright.loop.twists import rotation_about
from loopwright.model.build import Build
from loopwright.model.indications import Indication, Span
from loopwright.model.joints import Joint, JointKind

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


class Stands:
    """Where the bodies of a build stand after moves of the axes, each worked out once.

    Args:
        build: the build.
        moves: of every axis from home, by joint name, each (poses,).
    """

    def __init__(self, build: Build, moves: dict[str, Array]) -> None:
        self.build, self.moves = build, moves
        self.poses = len(next(iter(moves.values()))) if moves else 1
        self._home = Standing(
            np.broadcast_to(np.eye(3), (self.poses, 3, 3)),
            np.zeros((self.poses, 3)),
        )
        self._known: dict[str, Standing] = {}

    def of(self, body: str) -> Standing:
        """Where a body stands."""
        if body not in self._known:
            found = self._home
            for name in self.build.path_to(body):
                joint = self.build.joints[name]
                if joint.child not in self._known:
                    self._known[joint.child] = self._carried(found, name, joint)
                found = self._known[joint.child]
            self._known[body] = found
        return self._known[body]

    def _carried(self, parent: Standing, name: str, joint: Joint) -> Standing:
        """The child of a joint, from where its parent stands."""
        turn, shift = parent.turn, parent.shift
        if joint.kind is JointKind.LINEAR:
            step = self.moves[name][:, None] * np.asarray(joint.along)
            return Standing(turn, shift + (turn @ step[..., None])[..., 0])
        if joint.kind is JointKind.ROTARY:
            rotation = rotation_about(joint.about or (0, 0, 1), self.moves[name])
            centre = np.asarray(joint.at)
            offset = centre - rotation @ centre
            return Standing(np.asarray(turn @ rotation), shift + (turn @ offset[..., None])[..., 0])
        return parent


def standing(build: Build, body: str, moves: dict[str, Array]) -> Standing:
    """Where a body stands after moves of the axes (by joint name, each (poses,))."""
    return Stands(build, moves).of(body)


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
