"""Whether what a route names is there: surfaces, dims, machines, tools, gauges, threads of the plan."""

from collections.abc import Callable, Collection, Iterator
from difflib import get_close_matches

from loopwright.errors import Problem
from loopwright.handbook.operations import operation
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Cut, Measure, Op

Material = Callable[[str | None, str], Iterator[Problem]]


class RouteCheck:
    """Looks at the shop and at every part's surfaces, spans and route.

    Args:
        build: the build.
        unread: paths that the file has but that could not be read; nothing follows from their absence.
        material: says what is wrong with the name of a material at a field.
    """

    def __init__(self, build: Build, unread: Collection[str], material: Material) -> None:
        self.build, self._unread, self._material = build, unread, material

    def problems(self) -> Iterator[Problem]:
        """Every name that leads nowhere."""
        shop = self.build.shop
        for name, bar in shop.bars.items():
            yield from self._material(bar.material, f"shop/bars/{name}/material")
        for number, sawn in enumerate(shop.sawn):
            yield from self._one_of(sawn, self.build.parts, "part", f"shop/sawn/{number}", "parts")
        for number, proven in enumerate(shop.proven):
            yield from self._material(proven.material, f"shop/proven/{number}/material")
            yield from self._one_of(
                proven.tool, shop.tools, "tool", f"shop/proven/{number}/tool", "shop/tools"
            )
            field = f"shop/proven/{number}/machine"
            yield from self._one_of(proven.machine, shop.machines, "machine", field, "shop/machines")
        for name, part in self.build.parts.items():
            yield from self._spans(name, part)
            yield from self._geometry(name, part)
            for number, op in enumerate(part.route):
                yield from self._op(name, part, op, f"parts/{name}/route/{number}")

    def _one_of(
        self, name: str | None, known: Collection[str], kind: str, field: str, section: str
    ) -> Iterator[Problem]:
        lost = any(path == section or path.startswith(section + "/") for path in self._unread)
        if name is None or name in known or lost:
            return
        close = get_close_matches(name[:100], sorted(known), n=1)
        listed = ", ".join(sorted(known)[:8])
        remedy = (
            f"did you mean '{close[0]}'?"
            if close
            else f"known are: {listed}"
            if known
            else f"add it under '{section}'"
        )
        yield Problem(field, f"there is no {kind} '{name[:60]}'", remedy)

    def _surface(
        self, part: str, surfaces: Collection[str], name: str | None, field: str
    ) -> Iterator[Problem]:
        yield from self._one_of(name, surfaces, "surface", field, f"parts/{part}/surfaces")

    def _spans(self, name: str, part: Part) -> Iterator[Problem]:
        for dim, span in part.spans.items():
            field = f"parts/{name}/spans/{dim}"
            yield from self._one_of(dim, part.dims, "dim", field, f"parts/{name}/dims")
            ends = span.between or (span.across,)
            for end in ends:
                yield from self._surface(name, part.surfaces, end, field)
            if all(end in part.surfaces for end in ends):
                yield from self._direction(part, span, field, dim)

    def _direction(self, part: Part, span: Measure, field: str, dim: str) -> Iterator[Problem]:
        if span.across is not None:
            if not part.surfaces[span.across].round:
                what = f"'{span.across}' is flat and has no diameter"
                yield Problem(field, what, "name two surfaces, such as [foot, top]")
            return
        assert span.between is not None
        first, second = (part.surfaces[end] for end in span.between)
        if dim in part.dims and part.dims[dim].quantity == "angle":
            return
        common = set(first.places) & set(second.places)
        if not common:
            what = f"'{span.between[0]}' and '{span.between[1]}' look along no common direction"
            yield Problem(field, what, "name two surfaces that do, or mend where they face")
        elif len(common) > 1 and span.along is None:
            what = "runs between two round surfaces, whose places have two directions"
            yield Problem(field, what, "add the one meant: {between: [pin, bore], along: X}")

    def _geometry(self, name: str, part: Part) -> Iterator[Problem]:
        for key, one in part.geometry.items():
            field = f"parts/{name}/geometry/{key}"
            yield from self._surface(name, part.surfaces, one.of, f"{field}/of")
            for number, other in enumerate(one.to):
                yield from self._surface(name, part.surfaces, other, f"{field}/to/{number}")
            if key in part.dims:
                yield Problem(field, "has the name of a dim", "give it a name of its own")
            if one.orients and one.over is None and getattr(part.surfaces.get(one.of), "size", None) is None:
                yield Problem(field, "does not say over which length it is held", "add over: 100 mm")

    def _op(self, name: str, part: Part, op: Op, field: str) -> Iterator[Problem]:
        shop = self.build.shop
        yield from self._one_of(op.machine, shop.machines, "machine", f"{field}/machine", "shop/machines")
        if op.machine in shop.machines:
            kinds, kind = operation(op.op).machines, shop.machines[op.machine].kind
            if kinds and kind not in kinds:
                what = f"a {kind} does not {op.op}"
                yield Problem(f"{field}/machine", what, f"name a machine of another kind: {', '.join(kinds)}")
        yield from self._one_of(op.tool, shop.tools, "tool", f"{field}/tool", "shop/tools")
        yield from self._one_of(op.gauge, self.build.gauges, "gauge", f"{field}/gauge", "gauges")
        for number, datum in enumerate(op.datum):
            yield from self._surface(name, part.surfaces, datum, f"{field}/datum/{number}")
        known = {*part.dims, *part.surfaces, *part.geometry}
        for number, seen in enumerate(op.inspect):
            yield from self._one_of(
                seen, known, "dim or surface", f"{field}/inspect/{number}", f"parts/{name}/dims"
            )
        for surface, cut in op.cuts.items():
            yield from self._surface(name, part.surfaces, surface, f"{field}/cuts/{surface}")
            yield from self._cut(name, part, cut, f"{field}/cuts/{surface}")
        for key, others in op.alternatives.items():
            for number, other in enumerate(others):
                yield from self._op(name, part, other, f"{field}/alternatives/{key}/{number}")

    def _cut(self, name: str, part: Part, cut: Cut, field: str) -> Iterator[Problem]:
        yield from self._surface(name, part.surfaces, cut.measured_from, f"{field}/measured_from")
        yield from self._one_of(cut.tool, self.build.shop.tools, "tool", f"{field}/tool", "shop/tools")
