"""The least stock that a cut has to take off, where its route does not say."""

from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Cut, Op

# a side, mm; what is under the surface that the cut before left has to go, and the edge has to bite
_A_SIDE = {
    "face": 0.3,
    "square up": 0.5,
    "contour": 0.2,
    "turn": 0.15,
    "bore": 0.1,
    "ream": 0.05,
    "surface grind": 0.02,
    "cylindrical grind": 0.02,
    "lap": 0.002,
}


def least_for(build: Build, part: Part, op: Op, surface: str, cut: Cut) -> float:
    """The least stock of a cut, mm: on a face, or on the diameter of a round surface.

    What warp, skin and run-out add to it is not in it; that is what the stock to leave is asked for. Where the route
    says nothing it is what takes off the surface that the cut before left, an assumption (common practice).

    Args:
        build: the build.
        part: the part.
        op: the op.
        surface: that is cut.
        cut: what the route says of it.
    """
    if cut.least is not None:
        return cut.least
    side = _A_SIDE.get(op.op, 0.0)
    return 2 * side if part.surfaces[surface].round else side
