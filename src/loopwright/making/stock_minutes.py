"""What it costs to grind off more stock than is needed: an estimate, from starting values of the handbook."""

from dataclasses import dataclass

from loopwright.errors import OutOfRange
from loopwright.handbook.grinding import (
    GrindingRow,
    Process,
    cylinder_minutes,
    surface_minutes,
)
from loopwright.handbook.grinding_materials import starting_row
from loopwright.making.part_size import diameter_of
from loopwright.making.stock_cut import Follow

_PROCESS: dict[str, Process] = {"surface grind": "surface", "cylindrical grind": "traverse"}
WHEEL_WIDTH = {"surface": 13.0, "traverse": 20.0}
"""Width of wheel, mm, where the shop's wheel says none; common practice for a small grinder."""
INSIDE_WIDTH = 10.0
"""The same for a bore, mm."""


@dataclass(frozen=True)
class Minutes:
    """Minutes for so much more stock.

    Attributes:
        extra: stock, on the diameter of a round surface, mm.
        low: at the in-feed of roughing, min.
        high: at that of finishing, min.
        words: with what wheel, and from which row.
    """

    extra: float
    low: float
    high: float
    words: str


def minutes_for(follow: Follow, extra: float) -> Minutes | None:
    """Minutes of grinding for so much more stock; None for a cut that is not ground, or whose size is not known.

    Dressing, gauging and sparking out are not in it: they come with the cut, whatever the stock.

    Args:
        follow: the cut.
        extra: stock, on the diameter of a round surface, mm.
    """
    process = _PROCESS.get(follow.op.op)
    if process is None:
        return None
    try:
        row = _row(process, follow)
        width = _width(follow, process)
        found = (
            _surface(follow, row, width, extra)
            if process == "surface"
            else _cylinder(follow, row, width, extra)
        )
    except OutOfRange:
        return None
    if found is None:
        return None
    words = f"wheel {width:g} mm wide, assumed; {row.material}: {row.source}"
    return Minutes(extra, min(found), max(found), words)


def _width(follow: Follow, process: str) -> float:
    return INSIDE_WIDTH if follow.surface.faces == "inside" else WHEEL_WIDTH[process]


def _row(process: Process, follow: Follow) -> GrindingRow:
    return starting_row(process, follow.made.material or "", hardened=follow.hard)


def why_unknown(follow: Follow) -> str:
    """Why there are no minutes for a ground cut; '' where there are, or it is not ground."""
    process: Process | None = _PROCESS.get(follow.op.op)
    if process is None:
        return ""
    try:
        _row(process, follow)
    except OutOfRange as error:
        return str(error)
    return ""


def _surface(follow: Follow, row: GrindingRow, width: float, extra: float) -> tuple[float, float] | None:
    over = follow.size.over(follow.surface)
    if over is None:
        return None
    speed = sum(row.work_speed) / 2
    fast, slow = (
        surface_minutes(
            *over,
            stock=extra,
            infeed=infeed,
            table_speed=speed,
            crossfeed=step * width,
            wheel_width=width,
            spark_out=0,
        ).minutes
        for infeed, step in ((row.rough, row.step_rough), (row.finish[0], row.step_finish))
    )
    return fast, slow


def _cylinder(follow: Follow, row: GrindingRow, width: float, extra: float) -> tuple[float, float] | None:
    diameter, length = diameter_of(follow.made, follow.name), follow.size.length(follow.surface)
    if diameter is None or length is None:
        return None
    speed = sum(row.work_speed) / 2
    fast, slow = (
        cylinder_minutes(
            length, diameter, stock=extra, infeed=infeed, work_speed=speed, traverse=step * width, wheel_width=width,
            spark_out=0,
        ).minutes
        for infeed, step in ((row.rough, row.step_rough), (row.finish[0], row.step_finish))
    )  # fmt: skip
    return fast, slow
