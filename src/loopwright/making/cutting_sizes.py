"""Sizes that a cut's data rest on: how large, how long, what was there, how much has to come off, to what limit."""

from collections.abc import Iterator, Mapping, Sequence

from loopwright.errors import LoopwrightError
from loopwright.handbook.drilled_holes import INCH_DRILLS, METRIC_DRILLS, tap_drill
from loopwright.handbook.reaming import reaming_stock
from loopwright.handbook.stock_allowances import facing_a_sawn_end, finish_boring
from loopwright.making.cutting_words import CuttingWords
from loopwright.making.leasts import least_for
from loopwright.model.blanks import Form
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Cut, Op

_ENDS = {"drill": "drill", "ream": "reamer"}
"""Ops whose tool alone says how large the hole becomes."""
_FREE = ("saw", "face", "square up", "turn", "rough out")


class Sizes:
    """Looks sizes up in a part and its route, as the op at an index finds them; all mm.

    Args:
        build: the build.
        part: the part.
        route: its ops, which may differ from those of the part in an alternative that is tried.
    """

    def __init__(self, build: Build, part: Part, route: Sequence[Op]) -> None:
        self.build, self.part, self.route = build, part, route
        self.extents = dict(_extents(part))

    def finished(self, surface: str) -> float | None:
        """Finished diameter of a round surface."""
        spans = self.part.spans
        dims = [dim for dim, span in spans.items() if span.across == surface and dim in self.part.dims]
        if dims:
            return abs(self.part.dims[dims[0]].nominal)
        size = self.part.surfaces[surface].size
        return None if size is None else size[1]

    def thread(self, surface: str, index: int) -> str | None:
        """Thread that is cut into a surface in this op or later."""
        texts = (op.cuts[surface].thread for op in self.route[index:] if surface in op.cuts)
        return next((text for text in texts if text is not None), None)

    def diameter(self, surface: str, index: int) -> float | None:
        """Diameter of a round surface after an op."""
        op, cut = self.route[index], self.route[index].cuts[surface]
        if cut.size is not None:
            return cut.size.nominal
        tool = self.build.shop.tools.get(cut.tool or op.tool or "")
        if tool is not None and tool.kind == _ENDS.get(op.op) and tool.diameter is not None:
            return tool.diameter
        if op.op == "drill":
            drilled = self.drilled(surface, index)
            if drilled is not None:
                return drilled
        finished = self.finished(surface)
        if finished is None:
            return None
        later = [(o, o.cuts[surface]) for o in self.route[index + 1 :] if surface in o.cuts]
        sign = -1 if self.part.surfaces[surface].faces == "inside" else 1
        return finished + sign * sum(self._least(o, surface, c) for o, c in later)

    def drilled(self, surface: str, index: int) -> float | None:
        """Diameter of the standard drill for a hole, so that what follows finds its stock."""
        text = self.thread(surface, index)
        inches = CuttingWords(self.build.units).inches
        if text is not None:
            try:
                return tap_drill(text).drill.diameter_mm
            except LoopwrightError:
                pass
        finished = self.finished(surface)
        if finished is None:
            return None
        left = sum(self._least(o, surface, o.cuts[surface]) for o in self._later(surface, index))
        drills = INCH_DRILLS if inches else METRIC_DRILLS
        fitting = [one.diameter_mm for one in drills if one.diameter_mm <= finished - left + 1e-9]
        return fitting[-1] if fitting else None

    def _later(self, surface: str, index: int) -> Iterator[Op]:
        return (op for op in self.route[index + 1 :] if surface in op.cuts)

    def _least(self, op: Op, surface: str, cut: Cut) -> float:
        """What a later op wants to find, on a face or a diameter."""
        if cut.adds is not None:
            return -2 * cut.adds.value if self.part.surfaces[surface].round else -cut.adds.value
        finished = self.finished(surface)
        if cut.least is None and finished is not None:
            try:
                if op.op == "ream":
                    return sum(band.middle for band in reaming_stock(finished)[1:2])
                if op.op == "bore":
                    return 2 * finish_boring(finished).high
            except LoopwrightError:
                pass
        return least_for(self.build, self.part, op, surface, cut)

    def before(self, surface: str, index: int) -> float | None:
        """Diameter that a round surface has before an op; nought for a hole in the solid, None where unknown."""
        for earlier in range(index - 1, -1, -1):
            if surface in self.route[earlier].cuts:
                return self.diameter(surface, earlier)
        if self.part.surfaces[surface].faces == "inside":
            blank = self.part.blank
            if blank is not None and blank.section.form is Form.TUBE:
                return blank.section.sizes[0] - 2 * blank.section.sizes[1]
            return None if blank is not None and blank.section.form is Form.CASTING else 0.0
        return self._bar()

    def _bar(self) -> float | None:
        blank = self.part.blank
        if blank is None or blank.section.form not in (Form.ROUND, Form.TUBE):
            return None
        return blank.section.sizes[0]

    def length(self, surface: str, cut: Cut) -> tuple[float | None, bool]:
        """Length fed along, or depth of a hole, and whether it is assumed to be that of the whole part."""
        one = self.part.surfaces[surface]
        if cut.length is not None:
            return cut.length, False
        if one.size is not None:
            return one.size[0], False
        if one.round:
            return self.extents.get(one.axis or "Z"), True
        others = sorted((v for d, v in self.extents.items() if d != one.along), reverse=True)
        return (others[0] if others else None), True

    def width(self, surface: str) -> float | None:
        """The shorter side of a flat surface; of a round one its length."""
        one = self.part.surfaces[surface]
        if one.size is not None:
            return one.size[0] if one.round else one.size[1]
        if one.round:
            return self.extents.get(one.axis or "Z")
        others = sorted((v for d, v in self.extents.items() if d != one.along), reverse=True)
        return others[-1] if others else None

    def across(self, surface: str) -> float | None:
        """Largest diameter of what is faced on a lathe."""
        one = self.part.surfaces[surface]
        rims = [
            size
            for name, other in self.part.surfaces.items()
            if other.faces == "outside" and (other.axis or "Z") == one.along
            for size in [self.finished(name)]
            if size is not None
        ]
        if one.size is not None:
            return max(one.size)
        if self._bar() is not None:
            return self._bar()
        return (
            max(rims) if rims else max((v for d, v in self.extents.items() if d != one.along), default=None)
        )

    def stock(
        self, surface: str, index: int, given: Mapping[str, float], words: CuttingWords
    ) -> tuple[float | None, str]:
        """What comes off, on a face or on the diameter, and where that is known from."""
        op, cut = self.route[index], self.route[index].cuts[surface]
        if surface in given:
            return given[surface], "given"
        one = self.part.surfaces[surface]
        if one.round:
            before, after = self.before(surface, index), self.diameter(surface, index)
            if before is not None and after is not None and (before or one.faces == "inside"):
                taken = (after - before) if one.faces == "inside" else (before - after)
                if taken > 0:
                    return taken, f"from {words.length(before)} before it" if before else "from the solid"
        if cut.least is not None and cut.least > 0:
            return cut.least, "the least that the route has it take"
        raw = not any(surface in o.cuts and o.op != "saw" for o in self.route[:index])
        if raw and op.op in _FREE and op.op != "saw":
            band = facing_a_sawn_end()
            stock = band.middle * (2 if one.round else 1)
            return stock, f"assumed: {words.length(stock)} on a raw surface (common practice)"
        least = least_for(self.build, self.part, op, surface, cut)
        return (least, "assumed: the least that cleans up (common practice)") if least else (None, "")

    def limit(self, surface: str, index: int, given: Mapping[str, float]) -> tuple[float | None, str]:
        """Half the width between the limits of what a cut makes, and which dim that is."""
        cut, general = self.route[index].cuts[surface], self.build.general_limits
        if surface in given:
            return given[surface], "given"
        if cut.size is not None:
            spread = cut.size.spread or general
            return (None, "") if spread is None or not spread.half else (spread.half, "its working dim")
        if any(self._later(surface, index)):
            return None, ""
        found = []
        for dim, span in self.part.spans.items():
            stated = self.part.dims.get(dim)
            ends = span.between or (span.across,)
            if stated is None or surface not in ends or stated.quantity == "angle":
                continue
            spread = stated.spread or general
            if spread is not None and spread.half > 0:
                found.append((spread.half, f"dim '{dim}'"))
        return min(found, default=(None, ""))


def _extents(part: Part) -> Iterator[tuple[str, float]]:
    """How far a part reaches along X, Y and Z, as far as its dims, surfaces and blank say."""
    found: dict[str, float] = {}

    def reach(direction: str, size: float) -> None:
        found[direction] = max(size, found.get(direction, 0.0))

    for dim, span in part.spans.items():
        stated = part.dims.get(dim)
        if span.between is None or stated is None or stated.quantity == "angle":
            continue
        one, other = (part.surfaces[end] for end in span.between)
        if one.along and one.along == other.along:
            reach(one.along, abs(stated.nominal))
    for name, surface in part.surfaces.items():
        if surface.faces == "outside":
            axis = surface.axis or "Z"
            size = next((abs(part.dims[d].nominal) for d, s in part.spans.items() if s.across == name), None)
            size = size or (surface.size[1] if surface.size else None)
            for direction in "XYZ".replace(axis, ""):
                if size is not None:
                    reach(direction, size)
            if surface.size is not None:
                reach(axis, surface.size[0])
    blank = part.blank
    if blank is not None and blank.section.form in (Form.ROUND, Form.SQUARE, Form.HEXAGON, Form.TUBE):
        for direction in "XYZ".replace(blank.along or "Z", ""):
            found.setdefault(direction, blank.section.sizes[0])
    yield from found.items()
