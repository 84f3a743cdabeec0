"""Lists for the whole shop: labels of its parts, and the tools over all open ops."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from loopwright.handbook.operations import OPERATIONS
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_records import ToolUsed
from loopwright.making.planned import number_of
from loopwright.model.build import Build, Units
from loopwright.studies.bench import Bench
from loopwright.studies.parts_list import CONCEDED, CONFORMING, parts_list
from loopwright.studies.shop_sheets import Code, chosen_parts, codes_of


@dataclass(frozen=True)
class Label:
    """What is stuck on a part, or on its box.

    Attributes:
        part: its name.
        code: its address.
        mark: what is engraved or stamped on it; ''.
        material: of it; ''.
    """

    part: str
    code: Code
    mark: str
    material: str


@dataclass(frozen=True)
class Labels:
    """Labels of a machine's parts."""

    build: str
    labels: tuple[Label, ...]


@dataclass(frozen=True)
class Use:
    """Where a tool is used: part, number and name of the op, and the surface."""

    part: str
    op: int
    does: str
    surface: str


@dataclass(frozen=True)
class ToolLine:
    """A tool that open ops need.

    Attributes:
        name: in the shop; '' where the route names none and a usual one is taken.
        kind: of tool; '' where the shop does not know it.
        material: that cuts; '' where that is not known.
        diameter: mm; None where it has none.
        edges: teeth or flutes.
        stick_out: out of its holder, mm; None where it is not stated.
        nose_radius: mm; None where it is not stated.
        speed_limit: marked on it, 1/min; None where it is not stated.
        machines: on which it is used.
        uses: by the ops that need it.
    """

    name: str
    kind: str
    material: str
    diameter: float | None
    edges: int
    stick_out: float | None
    nose_radius: float | None
    speed_limit: float | None
    machines: tuple[str, ...]
    uses: tuple[Use, ...]


@dataclass(frozen=True)
class ToolList:
    """Tools over all open ops.

    Attributes:
        build: name of the machine; units: in which its builder reads.
        tools: those of the shop, in its order.
        unknown: named in a route, and not among the shop's tools.
        unnamed: usual ones that are taken where a route names none.
        finished: parts that were left out because they are made.
    """

    build: str
    units: Units
    tools: tuple[ToolLine, ...]
    unknown: tuple[ToolLine, ...]
    unnamed: tuple[ToolLine, ...]
    finished: tuple[str, ...]


def labels(build: Build, names: Sequence[str] = (), *, booked: bool = False) -> Labels:
    """A label for each part.

    Args:
        build: the build.
        names: parts; none names all.
        booked: the build has a book, so that a code can open a part's page.

    Raises:
        RequestError: there is no such part.
    """
    codes = codes_of(build, booked=booked)
    return Labels(
        build.name,
        tuple(
            Label(name, codes[name], build.parts[name].mark or "", build.parts[name].material or "")
            for name in chosen_parts(build, names)
        ),
    )


def made_parts(bench: Bench) -> frozenset[str]:
    """Parts whose every dim was read, and that are within their limits or taken as they are."""
    return frozenset(
        line.name
        for line in parts_list(bench).lines
        if line.state in (CONFORMING, CONCEDED) and line.dims == line.read
    )


def tool_list(build: Build, names: Sequence[str] = (), *, finished: Collection[str] = ()) -> ToolList:
    """The tools that all ops need which are still to be done.

    Args:
        build: the build, in the units in which the list is to be read.
        names: parts; none names all that have a route.
        finished: parts that are made; their ops are done.

    Raises:
        RequestError: there is no such part.
    """
    asked = [name for name in chosen_parts(build, names) if build.parts[name].route]
    uses: dict[str, list[tuple[Use, str]]] = {}
    unnamed: dict[ToolLine, list[tuple[Use, str]]] = {}
    for name in asked:
        if name in finished:
            continue
        for use, machine, tool in _used(build, name):
            if isinstance(tool, str):
                uses.setdefault(tool, []).append((use, machine))
            else:
                unnamed.setdefault(tool, []).append((use, machine))
    order = [
        *(name for name in build.shop.tools if name in uses),
        *(n for n in uses if n not in build.shop.tools),
    ]
    every = [_with_uses(_of_the_shop(build, name), uses[name]) for name in order]
    return ToolList(
        build.name,
        build.units,
        tuple(one for one in every if one.kind),
        tuple(one for one in every if not one.kind),
        tuple(_with_uses(line, found) for line, found in unnamed.items()),
        tuple(name for name in asked if name in finished),
    )


def _used(build: Build, name: str) -> Iterator[tuple[Use, str, str | ToolLine]]:
    """Every use of a tool: the name of one of the shop's, or a usual one."""
    for index, op in enumerate(build.parts[name].route):
        if not OPERATIONS[op.op].cuts:
            continue
        data = {one.surface: one for one in cutting_of(build, name, index).cuts} if op.cuts else {}
        named = dict.fromkeys(cut.tool or op.tool for cut in op.cuts.values()) if op.cuts else {op.tool: None}
        for tool in named:
            surfaces = [one for one, cut in op.cuts.items() if (cut.tool or op.tool) == tool]
            use = Use(name, number_of(index), op.op, ", ".join(surfaces))
            if tool is not None:
                yield use, op.machine or "", tool
                continue
            for surface in surfaces:
                found = data.get(surface)
                if found is not None and found.tool.kind != "hand tool":
                    yield Use(name, number_of(index), op.op, surface), op.machine or "", _usual(found.tool)


def _usual(tool: ToolUsed) -> ToolLine:
    return ToolLine(
        "",
        tool.kind,
        tool.material,
        tool.diameter,
        tool.edges,
        tool.stick_out,
        None,
        tool.speed_limit,
        (),
        (),
    )


def _of_the_shop(build: Build, name: str) -> ToolLine:
    tool = build.shop.tools.get(name)
    if tool is None:
        return ToolLine(name, "", "", None, 1, None, None, None, (), ())
    return ToolLine(
        name, tool.kind, tool.material, tool.diameter, tool.edges, tool.stick_out, tool.nose_radius,
        tool.speed_limit, (), (),
    )  # fmt: skip


def _with_uses(line: ToolLine, found: Sequence[tuple[Use, str]]) -> ToolLine:
    machines = tuple(dict.fromkeys(machine for _, machine in found if machine))
    return replace(line, machines=machines, uses=tuple(use for use, _ in found))
