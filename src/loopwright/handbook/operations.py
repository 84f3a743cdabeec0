"""The operations of a small shop, by the names the trade gives them: machines, heat and hazards of each."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from loopwright.errors import OutOfRange

MACHINES: Final = (
    "bandsaw",
    "cold saw",
    "abrasive saw",
    "hacksaw",
    "drill press",
    "manual mill",
    "CNC mill",
    "manual lathe",
    "CNC lathe",
    "surface grinder",
    "cylindrical grinder",
    "centreless grinder",
    "lapping plate",
    "furnace",
    "oven",
    "press",
    "bench",
)
"""Kinds of machine; 'bench' is hand work, measuring and assembly."""

_SAWS: Final = ("bandsaw", "cold saw", "abrasive saw", "hacksaw")
_MILLS: Final = ("manual mill", "CNC mill")
_LATHES: Final = ("manual lathe", "CNC lathe")
_TURNING: Final = ("rotating work",)


@dataclass(frozen=True, slots=True)
class Operation:
    """One kind of operation.

    Attributes:
        name: as in :data:`OPS`.
        machines: kinds of :data:`MACHINES` that do it.
        cuts: takes material off.
        heats: takes the part to a temperature at which it may move.
        cautions: names in :mod:`loopwright.handbook.cautions`; the material can add its own.
    """

    name: str
    machines: tuple[str, ...]
    cuts: bool
    heats: bool
    cautions: tuple[str, ...]


_ALL: Final = (
    Operation("saw", _SAWS, True, False, ("rotating work", "grinding wheel")),
    Operation("square up", _MILLS, True, False, _TURNING),
    Operation("face", (*_MILLS, *_LATHES), True, False, _TURNING),
    Operation("rough out", (*_MILLS, *_LATHES), True, False, _TURNING),
    Operation("contour", _MILLS, True, False, _TURNING),
    Operation("drill", ("drill press", *_MILLS, *_LATHES), True, False, _TURNING),
    Operation("ream", ("drill press", *_MILLS, *_LATHES, "bench"), True, False, _TURNING),
    Operation("bore", (*_MILLS, *_LATHES), True, False, _TURNING),
    Operation("tap", ("drill press", *_MILLS, *_LATHES, "bench"), True, False, _TURNING),
    Operation("thread mill", ("CNC mill",), True, False, _TURNING),
    Operation("thread turn", _LATHES, True, False, _TURNING),
    Operation("chamfer", ("drill press", *_MILLS, *_LATHES, "bench"), True, False, _TURNING),
    Operation("deburr", ("bench",), True, False, ()),
    Operation("turn", _LATHES, True, False, _TURNING),
    Operation("part off", _LATHES, True, False, _TURNING),
    Operation("stress relieve", ("furnace",), False, True, ("oven",)),
    Operation("harden", ("furnace",), False, True, ("oven", "oil quench", "quench liquid")),
    Operation("temper", ("furnace", "oven"), False, True, ("oven",)),
    Operation("surface grind", ("surface grinder",), True, False, ("grinding wheel",)),
    Operation(
        "cylindrical grind", ("cylindrical grinder", "centreless grinder"), True, False, ("grinding wheel",)
    ),
    Operation("lap", ("lapping plate", "bench"), True, False, ()),
    Operation("bond", ("bench",), False, False, ("epoxy", "anaerobic")),
    Operation("cure", ("oven", "bench"), False, True, ("oven", "epoxy")),
    Operation("press", ("press",), False, False, ("pressing",)),
    Operation("balance", ("bench",), False, False, _TURNING),
    Operation("inspect", ("bench",), False, False, ()),
    Operation("fit", ("bench",), False, False, ("lifting",)),
)

OPS: Final = tuple(op.name for op in _ALL)
"""Every operation's name, in the order in which a part usually meets them."""

OPERATIONS: Final[Mapping[str, Operation]] = MappingProxyType({op.name: op for op in _ALL})
"""Every operation by its name."""


def operation(name: str) -> Operation:
    """The operation of that name.

    Args:
        name: one of :data:`OPS`; case and blanks around do not matter.

    Raises:
        OutOfRange: no such operation; the message lists those there are.

    >>> operation("surface grind").machines
    ('surface grinder',)
    """
    found = OPERATIONS.get(" ".join(name.casefold().split()))
    if found is None:
        raise OutOfRange(f"no operation '{name}' here; use one of {', '.join(OPS)}")
    return found
