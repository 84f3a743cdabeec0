"""The stock that the trade leaves for a cut, to hold the computed one against."""

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band
from loopwright.handbook.stock_allowances import (
    cylindrical_grinding,
    facing_a_sawn_end,
    finish_boring,
    lapping,
    reaming,
    rough_to_finish,
    surface_grinding,
)
from loopwright.making.part_size import diameter_of
from loopwright.making.stock_cut import Follow

_ROUGH = ("rough out", "saw", "part off")
_HOLES = ("drill", "bore", "rough out")


def customary(follow: Follow) -> tuple[Band | None, str]:
    """Customary stock for a cut.

    Args:
        follow: the cut.

    Returns:
        Least and most, mm, on the diameter of a round surface; None where the handbook has none, with the reason if
        its table ends before this part.
    """
    try:
        return _found(follow), ""
    except OutOfRange as error:
        return None, str(error)


def _found(follow: Follow) -> Band | None:
    op, before = follow.op.op, "" if follow.op_before is None else follow.op_before.op
    if follow.surface.round:
        diameter = diameter_of(follow.made, follow.name)
        return None if diameter is None else _round(follow, op, before, diameter)
    if op == "surface grind":
        over = follow.size.over(follow.surface)
        return None if over is None else surface_grinding(*over)
    if op == "lap":
        return lapping()
    if op in ("face", "turn", "square up", "contour") and before in _ROUGH:
        return facing_a_sawn_end() if before == "saw" else rough_to_finish()
    return None


def _round(follow: Follow, op: str, before: str, diameter: float) -> Band | None:
    outside = follow.surface.faces == "outside"
    if op == "cylindrical grind" and outside:
        length = follow.size.length(follow.surface)
        return None if length is None else cylindrical_grinding(diameter, length, hardened=follow.hard)
    if op == "ream":
        machine = follow.build.shop.machines.get(follow.op.machine or "")
        return reaming(diameter, by_hand=machine is not None and machine.kind == "bench")
    if op == "lap":
        return lapping().times(2)
    if op in ("bore", "turn") and not outside and before in _HOLES:
        return finish_boring(diameter)
    if op == "turn" and before == "rough out":
        return rough_to_finish()
    return None
