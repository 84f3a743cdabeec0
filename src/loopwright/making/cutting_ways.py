"""In which way an op cuts a surface: by its name, its machine, its tool and where the surface faces."""

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from loopwright.handbook.operations import operation
from loopwright.model.routes import Surface

MILLS: Final = ("manual mill", "CNC mill")
LATHES: Final = ("manual lathe", "CNC lathe")
SAWS: Final = ("bandsaw", "cold saw", "abrasive saw", "hacksaw")
BY_HAND: Final = ("drill press", *SAWS, "manual mill", "manual lathe")
"""Machines that a hand feeds or sets; less stiff, too, than those that a program drives."""


@dataclass(frozen=True)
class Way:
    """One way of cutting.

    Attributes:
        name: in words.
        tools: kinds of tool that do it, the usual one first.
        operation: under which the handbook has speeds and feeds; '' where it has none.
    """

    name: str
    tools: tuple[str, ...]
    operation: str


_ALL: Final = (
    Way("sawing", ("saw blade",), "saw"),
    Way("face milling", ("face mill", "fly cutter", "end mill"), "face"),
    Way("milling out", ("end mill", "face mill"), "mill"),
    Way("side milling", ("end mill",), "mill"),
    Way("circular milling", ("end mill",), "mill"),
    Way("drilling", ("drill",), "drill"),
    Way("reaming", ("reamer",), "ream"),
    Way("boring", ("boring bar",), "bore"),
    Way("tapping", ("tap",), "tap"),
    Way("thread milling", ("thread mill",), "thread mill"),
    Way("thread turning", ("thread tool", "turning tool", "boring bar"), "turn"),
    Way("turning", ("turning tool",), "turn"),
    Way("facing on the lathe", ("turning tool", "boring bar"), "turn"),
    Way("parting off", ("parting tool",), "turn"),
    Way("chamfering", ("chamfer tool", "drill", "end mill", "turning tool"), "drill"),
    Way("surface grinding", ("grinding wheel",), ""),
    Way("cylindrical grinding", ("grinding wheel",), ""),
    Way("lapping", ("lap",), ""),
    Way("by hand", (), ""),
)

WAYS: Final = MappingProxyType({way.name: way for way in _ALL})
"""Every way by its name."""

_ALWAYS: Final = MappingProxyType(
    {
        "saw": "sawing",
        "ream": "reaming",
        "tap": "tapping",
        "thread mill": "thread milling",
        "thread turn": "thread turning",
        "part off": "parting off",
        "chamfer": "chamfering",
        "deburr": "by hand",
        "surface grind": "surface grinding",
        "cylindrical grind": "cylindrical grinding",
        "lap": "lapping",
    }
)


def way_of(op: str, machine: str, surface: Surface, tool: str | None, *, wall: bool = False) -> Way:
    """In which way a surface is cut.

    Args:
        op: name of the op.
        machine: kind of the machine.
        surface: that is cut.
        tool: kind of the tool, None where none is named.
        wall: a flat surface stands along the spindle, so that the side of an end mill makes it.

    >>> way_of("bore", "CNC mill", Surface(faces="inside"), "end mill").name
    'circular milling'
    """
    if not operation(op).cuts or (machine == "bench" and op not in ("ream", "tap", "lap")):
        return WAYS["by hand"]
    if op in _ALWAYS:
        return WAYS[_ALWAYS[op]]
    inside = surface.faces == "inside"
    if op == "drill":
        return WAYS["circular milling" if tool == "end mill" else "drilling"]
    if machine in LATHES:
        return WAYS["boring" if inside else "turning" if surface.round else "facing on the lathe"]
    if (op == "bore" and tool != "end mill") or (inside and tool == "boring bar"):
        return WAYS["boring" if surface.round else "face milling"]
    if inside:
        return WAYS["circular milling"]
    if surface.round or op == "contour" or (wall and tool in (None, "end mill")):
        return WAYS["side milling"]
    return WAYS["milling out" if op == "rough out" else "face milling"]


def usual_machine(op: str) -> str:
    """Kind of machine that usually does an op.

    >>> usual_machine("turn")
    'manual lathe'
    """
    return (operation(op).machines or ("bench",))[0]
