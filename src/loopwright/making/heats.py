"""What the heat treatment of an op does to the lengths of a part."""

from loopwright.errors import LoopwrightError
from loopwright.handbook.distortion import size_change
from loopwright.making.chart import Heat
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Op

WIDE = (0.0, -0.001, 0.001)
"""Growth of a steel that the handbook does not have: an assumption, wide on purpose."""


def heat_of(build: Build, part: Part, op: Op, number: int, name: str) -> Heat | None:
    """Growth of all lengths in an op; None where it does not heat, or only relieves and changes no size.

    Args:
        build: the build.
        part: the part.
        op: the op.
        number: of the op in its charts.
        name: of the part.
    """
    shared = f"{op.together}: {op.op}" if op.together else f"{name}: {op.op}, op {number}"
    if op.grows is not None:
        std = standard_uncertainty(op.grows, build.assume)
        mean = op.grows.mean
        half = op.grows.half if op.grows.std is None else 3 * std
        return Heat(number, mean, mean - half, mean + half, std, shared)
    if op.op != "harden":
        return None
    try:
        found = size_change(part.material or "", op.temperature if op.op == "temper" else None)
        return Heat(number, found.mean, found.low, found.high, found.std, shared)
    except LoopwrightError:
        return Heat(number, *WIDE, None, shared)
