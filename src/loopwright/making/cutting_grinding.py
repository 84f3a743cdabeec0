"""Cutting data for grinding: wheel speed within its rating, work speed, in-feed, spark-out, minutes for 0.05 mm."""

from dataclasses import dataclass
from math import ceil
from typing import Final, Literal, cast

from loopwright.errors import OutOfRange, RequestError
from loopwright.handbook.grinding import (
    SPARK_OUT,
    GrindingRow,
    Process,
    checked_wheel_speed,
    cylinder_minutes,
    equivalent_chip,
    plunge_minutes,
    removal_rate,
    surface_minutes,
    wheel_speed,
)
from loopwright.handbook.grinding_materials import grain_advice, starting_row
from loopwright.making.cutting_choice import Chosen, NotRun, depth_given, share_of
from loopwright.making.cutting_records import Pass, Range
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import MM_S, Told

ENERGY: Final = 40.0
"""Energy to grind off a volume of steel, J/mm³: 20 to 60 is usual (from memory: S. Malkin, Grinding technology)."""
A_LITTLE: Final = 0.05
"""Stock for which minutes are told, mm: on a face, or on the diameter."""
WHEEL_WIDTH: Final = 20.0
"""Of a wheel whose width nobody states, mm. Common practice."""
DWELL: Final = 10
"""Turns of the work without in-feed at the end of a plunge."""
_LEAVE: Final = 2.0
"""So many finishing in-feeds are left for the finishing passes. Common practice."""

Found = tuple[list[Pass], list[Chosen]]


@dataclass(frozen=True)
class Wheel:
    """The wheel as it turns: rpm (None where no rating allows to name one), surface speed m/s, and width, mm."""

    rpm: float | None
    speed: float | None
    width: float


def grinding(task: Task, told: Told) -> Found:
    """A flat or a round surface, ground.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: no row for the material, a size is missing, or the wheel may not turn so fast.
    """
    row = starting_row(_process(task), task.stuff.material, hardened=task.stuff.hard)
    process = cast("Process", row.process)
    if advice := grain_advice(task.stuff.material, task.tool.material):
        told.notes.append(advice)
    told.ranged([
        Range("speed", row.work_speed[0], row.work_speed[1], "", "work", row.source, False, True),
        Range("speed", 60 * row.wheel_speed[0], 60 * row.wheel_speed[1], "", "wheel", row.source, False, True),
        Range("feed", row.finish[0], row.finish[1], "rev" if process == "plunge" else "", "finish in-feed",
              row.source, False, True),
        Range("feed", row.rough, row.rough, "rev" if process == "plunge" else "", "rough in-feed",
              row.source, False, True),
    ])  # fmt: skip
    told.say("row of the handbook", row.material)
    wheel = _wheel(task, told, row)
    low, high = row.work_speed
    work = Chosen(low + share_of(task)[0] * (high - low), low, high, "handbook")
    if task.proven is not None and task.proven.speed is not None:
        work = Chosen(task.proven.speed / MM_S, low, high, "proven")
        told.proven.append(
            f"work speed {told.words.speed(work.value)} is proven by the shop, instead of the handbook's "
            f"{told.words.speed(low)} to {told.words.speed(high)}"
        )
    made = _Ground(task, told, row, wheel, work.value, process)
    passes = made.passes()
    told.number(
        f"minutes for each {told.words.length(A_LITTLE)}{' on the diameter' if task.surface.round else ''}",
        made.minutes_for(A_LITTLE), told.words.minutes(made.minutes_for(A_LITTLE)),
    )  # fmt: skip
    return passes, [work]


def _process(task: Task) -> Process:
    if task.way.name == "surface grinding":
        return "surface"
    if task.kind == "centreless grinder":
        raise RequestError(
            "no starting values for centreless grinding are in the handbook",
            "give proven values, or the op its minutes",
        )
    return (
        "plunge" if task.length is not None and task.length <= WHEEL_WIDTH and not task.inside else "traverse"
    )


def _wheel(task: Task, told: Told, row: GrindingRow) -> Wheel:
    """How fast the wheel turns: as usual, within machine and rating."""
    tool, words = task.tool, told.words
    width = task.cut.width or WHEEL_WIDTH
    if task.cut.width is None:
        told.assumed.append(f"a wheel {words.length(width)} wide (write width)")
    diameter = task.needed(tool.diameter, "the diameter of the wheel", "write diameter beside the tool")
    if task.inside and task.diameter is not None and diameter >= task.diameter:
        raise RequestError(
            f"a wheel of {words.length(diameter)} does not go into a bore of {words.length(task.diameter)}",
            f"take one of about {words.length(0.75 * task.diameter)}",
        )
    if tool.speed_limit is None:
        told.warn("wheel", f"no speed limit is stated for {task.tool_words}: a wheel without a known rating is not "
                  "run; write speed_limit as marked on it. No speed is given here")  # fmt: skip
        return Wheel(None, None, width)
    usual = sum(row.wheel_speed) / 2
    rpm = usual / wheel_speed(diameter, 1.0)
    slowest, fastest = (
        (rpm, rpm) if task.machine is None or task.machine.speeds is None else task.machine.speeds
    )
    if rpm > min(fastest, tool.speed_limit):
        by_tool = tool.speed_limit <= fastest
        limit = words.rpm(min(fastest, tool.speed_limit), exact=True)
        whose = f"the wheel: {limit} is marked on it" if by_tool else f"the machine: {limit} is its fastest"
        told.limits.append(f"wheel speed limited by {whose}")
    rpm = max(min(rpm, fastest, tool.speed_limit), slowest)
    try:
        speed = checked_wheel_speed(diameter, rpm, rated_rpm=tool.speed_limit)
    except OutOfRange as error:
        raise NotRun(str(error)) from None
    if rpm == slowest > usual / wheel_speed(diameter, 1.0):
        told.limits.append(f"wheel speed limited by the machine: {words.rpm(rpm, exact=True)} is its slowest")
    low, high = (words.wheel_speed(v) for v in row.wheel_speed)
    if speed > 1.2 * row.wheel_speed[1]:
        told.warn("speed", f"the wheel moves at {words.wheel_speed(speed)}, and {low} to {high} is usual for "
                  f"{row.material}: it burns and loads; take a smaller wheel, or a slower spindle")  # fmt: skip
    if speed < 0.8 * row.wheel_speed[0]:
        told.warn("speed", f"the wheel moves at {words.wheel_speed(speed)}, and {low} to {high} is usual: it acts "
                  "softer and wears")  # fmt: skip
    return Wheel(rpm, speed, width)


class _Ground:
    """Passes of one ground surface."""

    def __init__(
        self, task: Task, told: Told, row: GrindingRow, wheel: Wheel, work: float, process: Process
    ) -> None:
        self.task, self.told, self.row, self.wheel, self.work, self.process = (
            task,
            told,
            row,
            wheel,
            work,
            process,
        )
        self.rough = depth_given(task, told) or self._within_power(row.rough)
        share = share_of(task)[0]
        self.finish = min(row.finish[0] + share * (row.finish[1] - row.finish[0]), self.rough)
        if process == "plunge":
            told.notes.append("straight in: passes are turns of the work, and the depth is that of one turn")
        if task.proven is not None and task.proven.feed is not None:
            told.notes.append("a proven feed is taken as the cross-feed of one stroke or turn")

    def _power(self, infeed: float, cross: float | None) -> float:
        """Power at the wheel, W, by the energy for a volume."""
        wide = self.wheel.width if cross is None else cross
        if cross is None and self.task.length is not None:
            wide = min(wide, self.task.length)
        return ENERGY * infeed * wide * 1000 * self.work / 60

    def _within_power(self, infeed: float) -> float:
        machine = self.task.machine
        if machine is None or machine.power is None:
            return infeed
        wanted = self._power(infeed, self._cross("rough"))
        if wanted <= machine.power:
            return infeed
        able = max(infeed * machine.power / wanted, self.row.finish[0])
        self.told.limits.append(
            f"in-feed limited by power: {self.told.words.feed(able)} instead of {self.told.words.feed(infeed)}; the "
            f"spindle has {self.told.words.power(machine.power)}"
        )
        return able

    def passes(self) -> list[Pass]:
        """Roughing, finishing, spark-out."""
        task = self.task
        stock = task.stock
        if stock is None:
            self.told.warn("stock", f"what comes off '{task.name}' is not known: {self.told.words.length(A_LITTLE)} is "
                           "counted; give the stock")  # fmt: skip
            stock = A_LITTLE
        side = stock / 2 if task.surface.round else stock
        left = min(side, max(_LEAVE * self.finish, 0.0))
        found = []
        if side - left > 1e-9:
            found.append(self._pass("rough", side - left, self.rough))
        found.append(self._pass("finish", left, self.finish))
        found.append(self._spark_out())
        return found

    def _pass(self, kind: str, side: float, infeed: float) -> Pass:
        count = max(1, ceil(side / infeed * (1 - 1e-9)))
        each = side / count
        cross = self._cross(kind)
        time = self._minutes(side, each, cross, 0)
        chip = None if self.wheel.speed is None else equivalent_chip(each, self.work, self.wheel.speed)
        if kind == "rough":
            rate = removal_rate(each, self.work)
            self.told.number(
                "removal rate, mm³ a second for each mm of wheel, roughing", rate, f"{rate:.2g} mm³/(mm·s)"
            )
        return Pass(
            "rough" if kind == "rough" else "finish", count, self._surface_speed, self.wheel.rpm, cross, self._per,
            1000 * self.work, each, None if self.process == "plunge" else self.wheel.width, chip,
            power=self._power(each, cross), minutes=time,
        )  # fmt: skip

    @property
    def _per(self) -> Literal["stroke", "rev"]:
        return "stroke" if self.process == "surface" else "rev"

    @property
    def _surface_speed(self) -> float | None:
        return None if self.wheel.speed is None else 60 * self.wheel.speed

    def _cross(self, kind: str) -> float | None:
        step = self.row.step_rough if kind == "rough" else self.row.step_finish
        if step == 0:
            return None
        proven = None if self.task.proven is None else self.task.proven.feed
        return min(proven, self.wheel.width) if proven is not None else step * self.wheel.width

    def _spark_out(self) -> Pass:
        many = SPARK_OUT["surface" if self.process == "surface" else "cylinder"]
        count = DWELL if self.process == "plunge" else round(sum(many) / 2)
        cross = self._cross("finish")
        nothing = self._minutes(self.finish, self.finish, cross, 0)
        time = self._minutes(self.finish, self.finish, cross, count)
        dwell = None if time is None or nothing is None else time - nothing
        return Pass(
            "spark out",
            count,
            self._surface_speed,
            self.wheel.rpm,
            cross,
            self._per,
            1000 * self.work,
            minutes=dwell,
        )

    def _minutes(self, side: float, infeed: float, cross: float | None, spark_out: int) -> float | None:
        """Minutes for stock on a side; None where the surface has no size."""
        task, both = self.task, 2 * side
        if self.process == "surface":
            if task.length is None or task.width is None or cross is None:
                return None
            return surface_minutes(
                task.length, task.width, stock=side, infeed=infeed, table_speed=self.work, crossfeed=cross,
                wheel_width=self.wheel.width, spark_out=spark_out,
            ).minutes  # fmt: skip
        if task.diameter is None:
            return None
        if self.process == "plunge":
            return plunge_minutes(
                task.diameter, stock=both, infeed=infeed, work_speed=self.work, dwell=spark_out
            )
        if task.length is None or cross is None:
            return None
        return cylinder_minutes(
            task.length, task.diameter, stock=both, infeed=infeed, work_speed=self.work, traverse=cross,
            wheel_width=self.wheel.width, spark_out=spark_out,
        ).minutes  # fmt: skip

    def minutes_for(self, stock: float) -> float:
        """Minutes for so much more stock, roughing; on a face or on the diameter. Nought where they are not known."""
        side = stock / 2 if self.task.surface.round else stock
        return self._minutes(side, self.rough, self._cross("rough"), 0) or 0.0
