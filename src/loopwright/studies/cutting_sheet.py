"""With what speed, feed and passes is an op cut, what limits that, and how long does it take?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType

from loopwright import units
from loopwright.errors import QuantityError, RequestError
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_records import OpCutting
from loopwright.making.planned import number_of
from loopwright.model.build import Build, Units
from loopwright.model.routes import Op
from loopwright.studies.route_sheet import routed
from loopwright.units import Dimension


@dataclass(frozen=True)
class CuttingSheet:
    """Cutting data of one op.

    Attributes:
        build: name of the machine.
        units: its units.
        cutting: the data; lengths mm, speeds m/min, forces N, power W.
        together: other parts that are cut before the setting is broken.
    """

    build: str
    units: Units
    cutting: OpCutting
    together: tuple[str, ...]


def cutting_sheet(
    build: Build,
    part: str,
    op: str,
    *,
    stock: Mapping[str, str] = MappingProxyType({}),
    limits: Mapping[str, str] = MappingProxyType({}),
) -> CuttingSheet:
    """Cutting data of one op of a part.

    Args:
        build: the build.
        part: name of the part.
        op: number of the op (10, 20 …), or its name where the route has one of that name only.
        stock: what comes off a surface, as typed, by its name: on a face, or on a diameter.
        limits: half the width between limits, as typed, by surface.

    Raises:
        RequestError: there is no such part, op or surface, or a size cannot be read.
    """
    route = routed(build, part).route
    index = op_at(route, part, op)
    sizes = [_sizes(build, route[index], part, texts) for texts in (stock, limits)]
    found = cutting_of(build, part, index, stock=sizes[0], limits=sizes[1])
    return CuttingSheet(build.name, build.units, found, tuple(_together(build, part, route[index])))


def op_at(route: Sequence[Op], part: str, op: str) -> int:
    """Place of an op in a route, from nought, by its number or its name.

    Args:
        route: ops of the part.
        part: its name, for the message.
        op: number or name as typed.

    Raises:
        RequestError: there is none, or several of that name.

    >>> op_at([Op(op="saw"), Op(op="turn")], "ring", "turn"), op_at([Op(op="saw")], "ring", "10")
    (1, 0)
    """
    there = ", ".join(f"{number_of(i)} {one.op}" for i, one in enumerate(route))
    wanted = " ".join(op.casefold().split())
    if wanted.isdecimal():
        numbers = [number_of(i) for i in range(len(route))]
        if int(wanted) in numbers:
            return numbers.index(int(wanted))
        raise RequestError(f"'{part}' has no op {wanted}", f"its ops are: {there}")
    named = [i for i, one in enumerate(route) if one.op == wanted]
    if len(named) == 1:
        return named[0]
    if named:
        several = ", ".join(str(number_of(i)) for i in named)
        raise RequestError(f"'{part}' has {len(named)} ops '{wanted}'", f"give a number: {several}")
    raise RequestError(f"'{part}' has no op '{op}'", f"its ops are: {there}")


def _sizes(build: Build, op: Op, part: str, texts: Mapping[str, str]) -> dict[str, float]:
    found = {}
    for surface, text in texts.items():
        if surface not in op.cuts:
            close = get_close_matches(surface, op.cuts, n=1)
            listed = ", ".join(op.cuts) or "nothing"
            remedy = f"did you mean '{close[0]}'?" if close else f"it cuts: {listed}"
            raise RequestError(f"this op does not cut '{surface}' of '{part}'", remedy)
        try:
            size = units.parse(text.lstrip("±"), Dimension.LENGTH, bare=build.units.length)
        except QuantityError as error:
            raise RequestError(f"{surface}: {error.what}", error.remedy) from None
        if not size > 0:
            raise RequestError(f"{surface}: {text} is not above zero", "give a length above zero")
        found[surface] = size
    return found


def _together(build: Build, part: str, op: Op) -> list[str]:
    if op.together is None:
        return []
    return [
        name
        for name, other in build.parts.items()
        if name != part and any(o.together == op.together and o.op == op.op for o in other.route)
    ]
