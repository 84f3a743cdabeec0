"""How long an op takes: what the route states, else an estimate from its cuts and what hands do around them.

Minutes of hands are common practice for small shops, one part at a time, and marked as assumed. They are there so that
routes can be compared; minutes that the shop has timed belong into the route.
"""

from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from loopwright.handbook.operations import OPERATIONS
from loopwright.making.cutting_records import CutData, OpMinutes
from loopwright.making.cutting_words import CuttingWords
from loopwright.model.build import Build
from loopwright.model.routes import Op

# kind of machine: for each part (in, out, clean), for each cut (change the tool, touch off, measure)
HANDLING: Final = MappingProxyType(
    {
        "bandsaw": (3.0, 1.0),
        "cold saw": (3.0, 1.0),
        "abrasive saw": (3.0, 1.0),
        "hacksaw": (3.0, 1.0),
        "drill press": (3.0, 1.0),
        "manual mill": (5.0, 3.0),
        "CNC mill": (4.0, 0.7),
        "manual lathe": (3.0, 2.0),
        "CNC lathe": (2.0, 0.5),
        "surface grinder": (5.0, 4.0),
        "cylindrical grinder": (5.0, 4.0),
        "centreless grinder": (2.0, 1.0),
        "lapping plate": (3.0, 10.0),
        "bench": (1.0, 2.0),
    }
)
"""Attended minutes of hands. Common practice."""

HAND_OPS: Final = MappingProxyType(
    {
        "stress relieve": 10.0,
        "harden": 25.0,
        "temper": 10.0,
        "deburr": 5.0,
        "lap": 15.0,
        "bond": 15.0,
        "cure": 5.0,
        "press": 10.0,
        "balance": 30.0,
        "inspect": 15.0,
        "fit": 20.0,
    }
)
"""Attended minutes of ops that no cutting data speak of. Common practice."""
INSPECTED: Final = 1.5
"""Minutes for each dim that is measured before the part leaves the machine. Common practice."""
SETTING_UP: Final = 15.0
"""Minutes of setting up where no machine is named. Common practice."""


def op_minutes(
    build: Build, route: Sequence[Op], index: int, kind: str, cuts: Sequence[CutData] | None
) -> OpMinutes:
    """How long an op takes.

    Args:
        build: the build.
        route: ops of the part.
        index: of the op, from nought.
        kind: of its machine.
        cuts: its cutting data; None where the route states the minutes and nobody asked for them.
    """
    op = route[index]
    feeding = (
        None if not cuts or any(c.minutes is None for c in cuts) else sum(c.minutes or 0.0 for c in cuts)
    )
    shared = _pieces(build, op), op.unattended, feeding
    setting = _setting_up(build, route, index, kind)
    if op.minutes is not None:
        return OpMinutes(op.minutes, setting, *shared, "given", ("given in the route",))
    words = CuttingWords(build.units)
    if op.op in HAND_OPS and op.op != "lap":
        hands = HAND_OPS[op.op] + INSPECTED * len(op.inspect)
        return OpMinutes(
            hands, setting, *shared, "assumed", (f"{op.op}: {words.minutes(hands)} (common practice)",)
        )
    part, each = HANDLING.get(kind, (3.0, 2.0))
    known = sum(c.minutes or 0.0 for c in cuts or ())
    handling = part + each * len(op.cuts) + (HAND_OPS["lap"] if op.op == "lap" else 0.0)
    measuring = INSPECTED * len(op.inspect)
    said = [f"{words.minutes(known)} of feeding"] if known else []
    said += [
        f"{words.minutes(handling)} of hands: in, out, tools, touching off, measuring (common practice)",
    ]
    if measuring:
        said.append(f"{words.minutes(measuring)} to inspect before it leaves (common practice)")
    if feeding is None and op.cuts:
        said.append("what could not be estimated is not in it")
    return OpMinutes(
        known + handling + measuring,
        setting,
        *shared,
        "assumed" if feeding is None else "estimated",
        tuple(said),
    )


def _pieces(build: Build, op: Op) -> int:
    """Parts that share a setting."""
    if op.together is None:
        return 1
    same = sum(
        any(o.op == op.op and o.together == op.together for o in part.route) for part in build.parts.values()
    )
    return max(same, 1)


def _setting_up(build: Build, route: Sequence[Op], index: int, kind: str) -> float:
    """Minutes to set up: stated, else the machine's for the first op of a setup, else none."""
    op = route[index]
    if op.setting_up is not None:
        return op.setting_up
    follows = index > 0 and op.setup is not None and route[index - 1].setup == op.setup
    if follows and route[index - 1].machine == op.machine:
        return 0.0
    machine = build.shop.machines.get(op.machine or "")
    if machine is not None:
        return machine.setting_up
    return SETTING_UP if OPERATIONS[op.op].cuts and kind != "bench" else 0.0
