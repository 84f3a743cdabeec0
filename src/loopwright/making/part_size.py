"""How large a part is, as far as its dims, surfaces and blank tell: what warps, soaks, grows and is ground over."""

from collections.abc import Iterator
from dataclasses import dataclass

from loopwright.model.blanks import Form
from loopwright.model.parts import Part
from loopwright.model.routes import Surface

_LEAST_RING = 0.2
"""A hole is the bore of a ring from this share of the outside diameter on; a smaller one leaves a solid part."""


@dataclass(frozen=True)
class PartSize:
    """Sizes of a finished part, mm.

    Attributes:
        along: extent in the directions X, Y, Z that are known.
        axis: direction of the axis of its round surfaces; '' where it has no outside diameter.
        outside: largest outside diameter; None where there is none.
        bore: largest bore about that axis, if large enough to make a ring of it; None for a solid part.
    """

    along: dict[str, float]
    axis: str
    outside: float | None
    bore: float | None

    @property
    def wall(self) -> float | None:
        """Radial thickness of a ring."""
        return None if self.outside is None or self.bore is None else (self.outside - self.bore) / 2

    @property
    def ring(self) -> bool:
        """Half of it at least is bore, and it is no longer than its diameter."""
        short = self.along.get(self.axis, 0.0) <= (self.outside or 0.0)
        return self.bore is not None and self.outside is not None and 2 * self.bore >= self.outside and short

    @property
    def extents(self) -> tuple[float, ...]:
        """Every extent that is known, across the axis too, the largest first."""
        across = () if self.outside is None else (self.outside,)
        known = [size for direction, size in self.along.items() if self.axis in ("", direction)]
        return tuple(sorted((*known, *across), reverse=True))

    @property
    def section(self) -> float | None:
        """Thickest section: what the heat has to go through; None where nothing is known."""
        inner = [self.wall] if self.wall is not None else []
        return min((*self.extents, *inner), default=None)

    def over(self, surface: Surface) -> tuple[float, float] | None:
        """Length and width over which a flat face stretches, the longer first; None where it is not known."""
        if surface.size is not None:
            return max(surface.size), min(surface.size)
        if self.axis and surface.along == self.axis and self.outside is not None:
            return self.outside, self.outside
        sides = [size for direction, size in self.along.items() if direction != surface.along]
        if self.axis and surface.along != self.axis and self.outside is not None:
            sides = [self.along.get(self.axis, self.outside), self.outside]
        return (max(sides), min(sides)) if len(sides) == 2 else None

    def thickness(self, surface: Surface) -> float | None:
        """Extent of the part square to a flat face."""
        if self.axis and surface.along != self.axis:
            return self.outside
        return self.along.get(surface.along)

    def length(self, surface: Surface) -> float | None:
        """How long a round surface is."""
        return surface.size[0] if surface.size is not None else self.along.get(surface.axis or "Z")


def diameter_of(part: Part, name: str) -> float | None:
    """Diameter of a round surface of a part, from its dim or its own size; None where neither says, mm."""
    for dim, span in part.spans.items():
        if span.across == name and dim in part.dims:
            return part.dims[dim].nominal
    size = part.surfaces[name].size
    return None if size is None else size[1]


def size_of(part: Part) -> PartSize:
    """How large a part is.

    Args:
        part: the part.

    >>> size_of(Part()).extents
    ()
    """
    round_ones = [(one, diameter_of(part, name)) for name, one in part.surfaces.items() if one.round]
    outer = [(d, one.axis or "Z") for one, d in round_ones if one.faces == "outside" and d]
    outside, axis = max(outer, default=(None, ""))
    along = dict(_extents(part))
    if part.blank is not None:
        outside, axis = _from_blank(part, outside, axis, along)
    for direction, length in _lengths(part):
        along.setdefault(direction, length)
    bores = [d for one, d in round_ones if one.faces == "inside" and (one.axis or "Z") == axis and d]
    if outside is None:
        return PartSize(along, "", None, None)
    bore = max((d for d in bores if _LEAST_RING * outside <= d < outside), default=None)
    return PartSize(along, axis, outside, bore)


def _extents(part: Part) -> Iterator[tuple[str, float]]:
    """From the outermost of the flat faces that dims join."""
    for direction in "XYZ":
        spans = [
            (*span.between, part.dims[dim].nominal)
            for dim, span in part.spans.items()
            if span.between is not None
            and dim in part.dims
            and part.dims[dim].quantity == "length"
            and all(end in part.surfaces and part.surfaces[end].along == direction for end in span.between)
        ]
        best = 0.0
        while spans:
            places = _joined(spans)
            best = max(best, max(places.values()) - min(places.values()))
        if best > 0:
            yield direction, best


def _joined(spans: list[tuple[str, str, float]]) -> dict[str, float]:
    """Places of the faces that the first span is joined to, over other spans too; takes these off the list."""
    start, end, size = spans.pop(0)
    places = {start: 0.0, end: size}
    while touching := [span for span in spans if span[0] in places or span[1] in places]:
        for one, two, apart in touching:
            if one in places:
                places.setdefault(two, places[one] + apart)
            else:
                places[one] = places[two] - apart
            spans.remove((one, two, apart))
    return places


def _lengths(part: Part) -> Iterator[tuple[str, float]]:
    """From the lengths of round surfaces."""
    found: dict[str, float] = {}
    for one in part.surfaces.values():
        if one.round and one.size is not None:
            direction = one.axis or "Z"
            found[direction] = max(found.get(direction, 0.0), one.size[0])
    yield from found.items()


def _from_blank(
    part: Part, outside: float | None, axis: str, along: dict[str, float]
) -> tuple[float | None, str]:
    """Fills in what only the blank tells: the diameter of a bar that stays as it came, thickness of a plate."""
    blank = part.blank
    assert blank is not None
    form, sizes = blank.section.form, blank.section.sizes
    runs = blank.along or "Z"
    if form in (Form.ROUND, Form.TUBE):
        if outside is None:
            outside, axis = sizes[0], runs
    elif form is Form.PLATE and len(across := [d for d in "XYZ" if d not in along]) == 1:
        along[across[0]] = sizes[0]
    elif form in (Form.SQUARE, Form.FLAT):
        sides = sorted(sizes * (1 if form is Form.FLAT else 2))
        for known in (along[d] for d in "XYZ" if d in along and d != runs and len(sides) > 1):
            sides.remove(min(sides, key=lambda side: abs(side - known)))
        along |= dict(zip((d for d in "XYZ" if d not in along and d != runs), sides))
    if blank.length is not None:
        along.setdefault(runs, blank.length)
    return outside, axis
