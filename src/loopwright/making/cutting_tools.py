"""The tool of a cut: that of the shop with what it leaves out filled in, else a usual one; what is assumed is named."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi
from types import MappingProxyType
from typing import Final

from loopwright.errors import RequestError
from loopwright.handbook.chip_thickness import EDGE_RADII
from loopwright.handbook.cutting_speeds import MaterialGroup
from loopwright.making.cutting_records import ToolUsed
from loopwright.making.cutting_ways import Way
from loopwright.making.cutting_words import CuttingWords
from loopwright.model.routes import Cut, Op
from loopwright.model.shop import Tool

# kind: edge, diameter, teeth, nose radius; a diameter of nought follows from what is cut
_USUAL: Final = MappingProxyType(
    {
        "end mill": ("carbide", 10.0, 4, 0.0),
        "face mill": ("carbide", 50.0, 4, 0.8),
        "fly cutter": ("HSS", 60.0, 1, 0.8),
        "drill": ("HSS", 0.0, 2, 0.0),
        "reamer": ("HSS", 0.0, 6, 0.0),
        "boring bar": ("carbide", 0.0, 1, 0.4),
        "turning tool": ("carbide", 0.0, 1, 0.4),
        "parting tool": ("HSS", 0.0, 1, 0.0),
        "tap": ("HSS", 0.0, 3, 0.0),
        "thread mill": ("carbide", 0.0, 3, 0.0),
        "thread tool": ("carbide", 0.0, 1, 0.1),
        "grinding wheel": ("aluminium oxide", 0.0, 1, 0.0),
        "saw blade": ("HSS", 0.0, 1, 0.0),
        "lap": ("diamond", 0.0, 1, 0.0),
        "chamfer tool": ("HSS", 10.0, 3, 0.0),
    }
)
_SHANKS: Final = ("end mill", "drill", "reamer", "boring bar", "tap", "thread mill")
"""Kinds whose reach matters."""
_BAR_IN_BORE, _MILL_IN_BORE = 0.65, 0.7
_SOLID: Final = ("end mill", "drill", "reamer", "thread mill", "tap", "chamfer tool")


@dataclass(frozen=True)
class Feature:
    """What of a cut decides on its tool; lengths mm, None where they are not known.

    Attributes:
        inside: it is a hole.
        diameter: of the round surface, after the cut.
        length: of the surface, or depth of the hole.
        drill: diameter that the hole is to be drilled to.
        minor: minor diameter of an internal thread.
    """

    inside: bool
    diameter: float | None
    length: float | None
    drill: float | None
    minor: float | None


def named_tool(tools: Mapping[str, Tool], op: Op, cut: Cut) -> tuple[str, Tool] | None:
    """The tool that the route names for a cut."""
    name = cut.tool or op.tool
    return None if name is None or name not in tools else (name, tools[name])


def tool_for(
    named: tuple[str, Tool] | None,
    *,
    of_cut: bool,
    way: Way,
    feature: Feature,
    group: MaterialGroup | None,
    words: CuttingWords,
) -> ToolUsed:
    """The tool of a cut.

    Args:
        named: by the route.
        of_cut: it stands with the cut itself, not with its op.
        way: how the surface is cut.
        feature: what is cut.
        group: of the material.
        words: of the user.

    Raises:
        RequestError: the tool named for this cut is none that cuts this way.
    """
    if named is not None and named[1].kind in way.tools:
        return _filled(named[0], named[1], feature, group, words)
    if named is not None and of_cut:
        raise RequestError(
            f"'{named[0]}' is a {named[1].kind}, and that is not for {way.name}",
            f"name one of kind {' or '.join(way.tools)}",
        )
    kind = way.tools[0] if way.tools else "hand tool"
    assumed = _filled(None, Tool.model_validate({"kind": kind}) if way.tools else None, feature, group, words)
    if named is None:
        return assumed
    note = f"the op's tool '{named[0]}' is a {named[1].kind}, not for {way.name}: a {kind} is assumed"
    return ToolUsed(**{**vars(assumed), "assumed": (note, *assumed.assumed)})


def _filled(
    name: str | None, tool: Tool | None, feature: Feature, group: MaterialGroup | None, words: CuttingWords
) -> ToolUsed:
    """A tool with what its description leaves out."""
    if tool is None:
        return ToolUsed(None, "hand tool", "", None, 1, None, 0.0, pi / 2, None, 0.0, ())
    edge, _, teeth, nose = _USUAL[tool.kind]
    given, said = tool.model_fields_set, []
    material = tool.material if "material" in given or name is not None else _edge(tool.kind, edge, group)
    diameter = tool.diameter or _diameter(tool.kind, feature)
    edges = tool.edges if "edges" in given else _teeth(tool.kind, teeth, group)
    if name is None:
        size = f" of {words.length(diameter)}" if diameter else ""
        many = f" with {edges} teeth" if tool.kind in ("end mill", "face mill", "thread mill") else ""
        said.append(f"no tool is named: {material} {tool.kind}{size}{many}")
    else:
        if tool.diameter is None and diameter is not None:
            said.append(f"diameter of '{name}': {words.length(diameter)}")
        if "edges" not in given and teeth > 1:
            said.append(f"teeth of '{name}': {edges}")
    reach = tool.stick_out
    if reach is None and tool.kind in _SHANKS and diameter is not None:
        reach = _reach(tool.kind, diameter, feature)
        if tool.kind in ("end mill", "boring bar", "thread mill"):
            said.append(f"it reaches {words.length(reach)} out of its holder (write stick_out)")
    if tool.nose_radius is None and nose:
        said.append(f"nose radius {words.size(nose)}")
    return ToolUsed(
        name, tool.kind, material, diameter, edges, reach,
        nose if tool.nose_radius is None else tool.nose_radius,
        pi / 2 if tool.lead_angle is None else tool.lead_angle,
        tool.speed_limit,
        tool.edge_radius if tool.edge_radius else edge_radius(tool.kind, material),
        tuple(said),
    )  # fmt: skip


def _edge(kind: str, usual: str, group: MaterialGroup | None) -> str:
    """What cuts, where nobody says: hardened steel and glass laminate ask for more than HSS."""
    if group is None or kind in ("grinding wheel", "saw blade", "lap"):
        return usual
    if group.iso == "H":
        return "CBN" if kind in ("turning tool", "boring bar") else "carbide"
    return "carbide" if group.name == "glass-epoxy laminate" else usual


def _teeth(kind: str, usual: int, group: MaterialGroup | None) -> int:
    soft = group is not None and group.iso in "NO"
    return 3 if kind == "end mill" and soft else usual


def _diameter(kind: str, feature: Feature) -> float | None:
    """A usual diameter for what is cut, mm; None where that is not known or does not matter."""
    bore = feature.diameter
    match kind:
        case "drill":
            return feature.drill or bore
        case "reamer" | "tap":
            return bore
        case "boring bar":
            return None if bore is None else _whole(_BAR_IN_BORE * bore)
        case "end mill" if feature.inside and bore is not None:
            return min(10.0, _whole(_MILL_IN_BORE * bore))
        case "thread mill":
            return None if feature.minor is None else _whole(0.75 * feature.minor)
        case "grinding wheel" if feature.inside:
            return None if bore is None else _whole(0.75 * bore)
        case "grinding wheel":
            return 200.0
    return _USUAL[kind][1] or None


def _whole(size: float) -> float:
    """Whole millimetres from 3 mm on, halves below."""
    return float(int(size)) if size >= 3 else max(int(2 * size) / 2, 0.5)


def _reach(kind: str, diameter: float, feature: Feature) -> float:
    deep = feature.length or 0.0
    if kind == "boring bar":
        return max(deep + 10.0, 3 * diameter)
    if kind in ("drill", "reamer", "tap"):
        return deep + 3 * diameter
    return max(3 * diameter, (deep if feature.inside else 0.0) + 5.0)


def edge_radius(kind: str, material: str) -> float:
    """Sharpness of an edge as it comes, mm: the middle of what the handbook has.

    >>> round(edge_radius("turning tool", "carbide"), 3)
    0.04
    """
    if material == "HSS":
        found = EDGE_RADII["ground HSS"]
    elif material == "diamond":
        found = EDGE_RADII["polycrystalline diamond"]
    elif kind in _SOLID:
        found = EDGE_RADII["coated carbide end mill"]
    else:
        found = EDGE_RADII["honed carbide insert"]
    return (found.low + found.high) / 2
