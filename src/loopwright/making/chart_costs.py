"""Tolerance chart: what a change of a route costs, by the minutes that the route and the shop state."""

from collections.abc import Callable

from loopwright.making.chart import Plan
from loopwright.making.chart_changes import Change
from loopwright.making.chart_freeing import Minutes
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Op

__all__ = ["price"]


def price(build: Build, part: Part, plan: Plan) -> Callable[[Change], float]:
    """What changes of a part's plan cost, attended minutes.

    A setup that is seated otherwise, or a cut that goes into another one, costs setting up once more; halving the
    spread of a cut costs the minutes of its op once more, a quarter of it three times. What neither route nor machine
    states is taken from :class:`~loopwright.making.chart_freeing.Minutes`. Ours, to have an order.

    Args:
        build: the build.
        part: the part.
        plan: its plan, with ops numbered as in the route.
    """
    usual = Minutes()

    def of(change: Change) -> float:
        ops = _ops(part, plan, change)
        setting = [v for op in ops if (v := _setting_up(build, op)) is not None]
        attended = [op.minutes for op in ops if op.minutes]
        minutes = Minutes(
            usual.written,
            max(setting, default=usual.datum),
            usual.order,
            max(setting, default=usual.one_setup),
            max(attended, default=usual.tighter),
        )
        return minutes.of(change)

    return of


def _ops(part: Part, plan: Plan, change: Change) -> list[Op]:
    """Ops whose cuts a change is about."""
    numbers = dict.fromkeys(plan.cuts[i].op // 10 - 1 for i in change.cuts)
    return [part.route[number] for number in numbers if 0 <= number < len(part.route)]


def _setting_up(build: Build, op: Op) -> float | None:
    if op.setting_up is not None:
        return op.setting_up
    machine = build.shop.machines.get(op.machine or "")
    return None if machine is None else machine.setting_up
