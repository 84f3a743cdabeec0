"""Tolerance chart: lengths in sentences, as the drawing has them: diameters of a chart in radii, in the user's unit."""

from loopwright.making.chart import Plan
from loopwright.making.chart_solving import Resultant

__all__ = ["lacking", "limits", "on_diameter", "times_of"]


def limits(plan: Plan, low: float, high: float, times: float = 1.0) -> str:
    """From one length to another: '19.7 … 19.75 mm'."""
    first, last = (plan.said(round(times * v, 4), digits=7) for v in (low, high))
    return f"{first.partition(' ')[0]} … {last}"


def times_of(plan: Plan, result: Resultant) -> float:
    """Factor by which a dim of the drawing or a stock is shown: 2 for a diameter in a chart of radii."""
    if result.kind == "stock":
        return plan.shown_times
    dim = plan.finished[result.index]
    return plan.shown(dim.a, dim.b)


def on_diameter(times: float) -> str:
    """Words after a length that counts on the diameter."""
    return " on the diameter" if times == 2 else ""


def lacking(plan: Plan, result: Resultant) -> str:
    """Why a chain cannot be held, in words, with its lengths as the drawing has them.

    Args:
        plan: the plan.
        result: one whose cuts need more than there is room.
    """
    times = times_of(plan, result)
    room, needed, short = (plan.said(v, times, 3) for v in (result.room, result.needed, result.lacking))
    where = on_diameter(times)
    if result.room < 0:
        past = plan.said(-result.room, times, 3)
        return (
            f"'{result.name}': its limits lack {past}{where} either way before any tolerance is counted: sizes as "
            f"stated, or growth in the heat, go so far past them over {result.words}; these cuts together can be held "
            f"to ±{needed}, so ±{short} is lacking in all"
        )
    return (
        f"'{result.name}' leaves ±{room}{where} for {result.words}; these cuts together can be held to "
        f"±{needed}, which is {short} too much"
    )
