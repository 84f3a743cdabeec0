"""The tolerance charts of a part with working dims that somebody wrote: everything that is wrong with them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pydantic import TypeAdapter, ValidationError

from loopwright.errors import Problem, RequestError
from loopwright.model.build import Build
from loopwright.model.dims import Dim, DimField
from loopwright.model.parts import Part
from loopwright.model.routes import Op
from loopwright.studies.chart_sheet import ChartSheet, chart_sheet
from loopwright.studies.route_sheet import routed

_DIM: TypeAdapter[Dim] = TypeAdapter(DimField)


@dataclass(frozen=True)
class Audited:
    """What an audit of typed working dims found.

    Attributes:
        problems: what was typed and cannot be read, each with the field of its cut.
        sheet: the charts with what was found; None where something cannot be read.
    """

    problems: tuple[Problem, ...]
    sheet: ChartSheet | None


def audited_as_typed(build: Build, name: str, typed: Mapping[str, str]) -> Audited:
    """The tolerance charts of a part with working dims as somebody wrote them.

    Args:
        build: the build; bare numbers take its units.
        name: of the part.
        typed: working dim with its limits, by the path of its cut: 'parts/ring/route/1/cuts/rim'; those left out or
            empty are found by the chart, whatever the route states.

    Raises:
        RequestError: there is no such part, it has no route, or a path is of no cut of it.
    """
    part = routed(build, name)
    read, problems = {}, []
    for path, text in typed.items():
        index, surface = _cut_at(name, part, path)
        if not text.strip():
            continue
        try:
            read[index, surface] = _DIM.validate_python(text.strip(), context={"units": build.units.bare()})
        except ValidationError as error:
            problems.append(Problem(path, *_words(error, text)))
    if problems:
        return Audited(tuple(problems), None)
    ops = [
        _sized(op, {s: dim for (at, s), dim in read.items() if at == n}) for n, op in enumerate(part.route)
    ]
    made = part.model_copy(update={"route": ops})
    changed = build.model_copy(update={"parts": {**build.parts, name: made}})
    return Audited((), chart_sheet(changed, name, audited=True, freed=False))


def stated_sizes(build: Build, name: str) -> Sequence[str]:
    """Paths of the cuts whose working dims the route states.

    Raises:
        RequestError: there is no such part, or it has no route.
    """
    return tuple(_stated(name, routed(build, name)))


def _stated(name: str, part: Part) -> Iterator[str]:
    for index, op in enumerate(part.route):
        for surface, cut in op.cuts.items():
            if cut.size is not None:
                yield f"parts/{name}/route/{index}/cuts/{surface}"


def _cut_at(name: str, part: Part, path: str) -> tuple[int, str]:
    head = f"parts/{name}/route/"
    index, _, surface = path.removeprefix(head).partition("/cuts/")
    known = path.startswith(head) and index.isdecimal() and int(index) < len(part.route)
    if not known or surface not in part.route[int(index)].cuts:
        raise RequestError(
            f"'{path[:80]}' is no cut of '{name}'", "the route was changed meanwhile: open the page anew"
        )
    return int(index), surface


def _sized(op: Op, sizes: Mapping[str, Dim]) -> Op:
    """An op with these working dims, and no others."""
    cuts = {surface: cut.model_copy(update={"size": sizes.get(surface)}) for surface, cut in op.cuts.items()}
    return op.model_copy(update={"cuts": cuts})


def _words(error: ValidationError, text: str) -> tuple[str, str]:
    found = error.errors()[0]
    context = found.get("ctx", {})
    what = context.get("what", f"'{text.strip()[:40]}' is not a size with its limits")
    return str(what), str(context.get("remedy", "write it as 60.35 ±0.02"))
