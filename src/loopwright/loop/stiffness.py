"""Stiffness of the loop at the tool, from the same matrices."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.kinematics import Stands, axis_moves
from loopwright.loop.rows import Loop
from loopwright.loop.twists import rows_at
from loopwright.model.indications import Indication

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ToolCompliance:
    """How the tool gives against the work under a unit force between them.

    Attributes:
        total: displacement for a force, (poses, 3, 3), mm/N, machine directions.
        joints: the part of each joint, by name, same shape.
    """

    total: Array
    joints: dict[str, Array]

    def stiffness(self, direction: Array) -> Array:
        """Force along a direction for a unit displacement along it, (poses,), N/mm; inf where nothing gives."""
        give = np.einsum("i,pij,j->p", direction, self.total, direction)
        return np.asarray(np.divide(1.0, give, out=np.full_like(give, np.inf), where=give > 0))

    def share(self, joint: str, direction: Array) -> Array:
        """Share of a joint in the compliance along a direction, (poses,)."""
        part = np.einsum("i,pij,j->p", direction, self.joints[joint], direction)
        whole = np.einsum("i,pij,j->p", direction, self.total, direction)
        return np.asarray(np.divide(part, whole, out=np.zeros_like(part), where=whole > 0))


def tool_compliance(loop: Loop, indication: Indication, poses: dict[str, Array]) -> ToolCompliance:
    """Compliance between the two bodies of an indication at its point.

    Args:
        loop: the loop.
        indication: names the bodies and the point; its directions and zeroing play no part.
        poses: axis positions by letter, each (poses,).
    """
    build = loop.build
    moves = axis_moves(build, poses)
    stands = Stands(build, moves)
    point = stands.of(indication.between[1]).place(np.asarray(indication.point))
    # a joint below both bodies carries the tool and the work alike: the force between them does not go through it
    first, second = (set(build.path_to(body)) for body in indication.between)
    parts = {}
    for name in sorted(first ^ second, key=list(build.joints).index):
        model = loop.joints[name]
        parent = stands.of(model.joint.parent)
        directions = parent.unturned(np.broadcast_to(np.eye(3), (len(point), 3, 3)))
        rows = rows_at(parent.home(point)[:, None], directions)
        unique, which = np.unique(moves.get(name, np.zeros(len(point))), return_inverse=True)
        compliance = model.at(unique).compliance[which]
        parts[name] = rows @ compliance @ rows.transpose(0, 2, 1)
    total = sum(parts.values(), np.zeros((len(point), 3, 3)))
    return ToolCompliance(np.asarray(total), parts)
