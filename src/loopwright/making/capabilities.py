"""What a machine of the shop holds in an op: what the shop states, else what the handbook takes it for."""

from dataclasses import dataclass

from loopwright.errors import LoopwrightError
from loopwright.handbook.process_capability import capability as usual
from loopwright.model.routes import Op
from loopwright.model.shop import Machine, Shop

KINDS = ("cut", "setting", "seating", "angular")
"""What of it is a standard deviation."""


@dataclass(frozen=True)
class Holds:
    """What an op holds on its machine, as standard deviations.

    Attributes:
        cut: of one cut against the next, mm.
        setting: of a setting, mm.
        seating: of one seating, mm.
        angular: squareness or taper, rad.
        source: who says so.
        assumed: at least one of them is the handbook's, not the shop's.
        field: path in the build file where the shop states it, or would.
        of_diameter: on a round surface it is of the diameter; else of the radius.
        known_within: factor within which the shop says that it is known; None where it does not.
        readings_to: number of the last entry of the book that is in it; 0 for none.
    """

    cut: float
    setting: float
    seating: float
    angular: float
    source: str
    assumed: bool
    field: str
    of_diameter: bool = False
    known_within: float | None = None
    readings_to: int = 0


def holds(shop: Shop, op: Op) -> Holds | None:
    """What an op holds; None where it cuts nothing or nobody knows its machine.

    Args:
        shop: the shop.
        op: the op.
    """
    machine = shop.machines.get(op.machine or "")
    if machine is None:
        return None
    field = f"shop/machines/{op.machine}/holds/{op.op}"
    stated = machine.holds.get(op.op)
    given = {} if stated is None else {name: getattr(stated, name) for name in KINDS}
    known = {name: value for name, value in given.items() if value is not None}
    general = _usual(machine)
    if general is None and len(known) < 4:
        general = dict.fromkeys(KINDS, 0.0), "stated by the shop"
    values, source = general if general is not None else ({}, "")
    assumed = not known.keys() >= {"cut", "setting", "seating"}
    shop_says = "stated by the shop" + (f": {stated.note}" if stated is not None and stated.note else "")
    said = shop_says if not assumed else source if not known else f"{shop_says}; else {source}"
    return Holds(
        **{**values, **known}, source=said, assumed=assumed, field=field,
        of_diameter=assumed or (stated is not None and stated.of_diameter),
        known_within=None if stated is None else stated.known_within,
        readings_to=0 if stated is None else stated.readings_to or 0,
    )  # fmt: skip


def _usual(machine: Machine) -> tuple[dict[str, float], str] | None:
    try:
        found = usual(machine.kind)
    except LoopwrightError:
        return None
    values = {name: getattr(found, name) for name in KINDS}
    return values, found.source
