"""How large the blank of a part must be: what its sawing op leaves, else its first cuts and the stock for them."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations
from math import isfinite

from loopwright.handbook.stock_allowances import facing_a_sawn_end
from loopwright.making.chart_solving import Solution
from loopwright.making.chart_tree import Tree
from loopwright.making.made_dims import Made, made
from loopwright.making.part_size import size_of
from loopwright.making.planned import ROUND, number_of
from loopwright.model.blanks import Form
from loopwright.model.build import Build
from loopwright.model.parts import Part

SAW, BLANK = "saw", "blank"
"""Names of the op that saws, and of what a chart begins with where no op saws."""
FITS = 1e-6
"""A part may pass the sides of its bar by so much, mm: what rounding leaves."""


@dataclass(frozen=True)
class Side:
    """How long a blank must be in one direction of its part.

    Attributes:
        direction: X, Y or Z.
        size: in the middle of its limits, mm; what the blank is held by is not in it.
        half: so much longer or shorter it may be, mm; 0 where nothing says so.
        op: number of the sawing op that says so; 0 where none does.
        machine: of that op; ''.
        base: size from which it was worked out, mm; the size itself where nothing was added.
        added: stock that was added to it for cleaning up its ends, both together, mm.
        source: where it comes from: 'saw', 'blank' (the raw faces of the chart), 'cuts' (the first cuts and their
            stock), or 'finished' (the finished part and stock for both ends).
    """

    direction: str
    size: float
    half: float
    op: int
    machine: str
    base: float
    added: float
    source: str


def sides(build: Build, name: str, found: Made | None = None) -> dict[str, Side]:
    """What the route of a part, or else its dims, say of the size of its blank, by direction.

    Where a sawing op cuts both ends, its working dim is the size. Else the outermost faces as they are first cut
    stand so far apart, and each end that no saw left takes the stock of its first cut: the least that the route
    states, or what facing a sawn end takes (common practice). Where no chart tells, the finished size takes that stock.

    Args:
        build: the build.
        name: of the part.
        found: its charts, where they were solved already.
    """
    part = build.parts[name]
    found = made(build, parts=[name]) if found is None else found
    out = {}
    for direction in "XYZ":
        solution = found.charted.get((name, direction))
        side = None if solution is None else _charted(part, name, direction, found, solution)
        side = side or _finished(part, direction)
        if side is not None:
            out[direction] = side
    return out


def too_small(
    build: Build, name: str, along: str, known: dict[str, Side], found: Made | None = None
) -> tuple[float, float] | None:
    """What a part needs across its bar at least, and what the bar gives, mm; None where nothing says it is too small.

    A turned surface needs the diameter to which it is first cut. A part of flat faces needs in each other direction
    what the route comes to there; only what no side of the section covers is told.

    Args:
        build: the build.
        name: of the part, with a blank of bar or plate.
        along: direction in which the bar runs; '' where nobody can tell.
        known: as of ``sides``.
        found: the part's charts, where they were solved already.
    """
    part = build.parts[name]
    blank = part.blank
    if blank is None or blank.section.form is Form.CASTING:
        return None
    form, sizes = blank.section.form, blank.section.sizes
    if form is Form.PLATE:
        return None
    has = max(sizes) if form is Form.FLAT else sizes[0]
    needs = [
        one.size - one.half for d, one in known.items() if along and d != along and one.source != "finished"
    ]
    charts = made(build, parts=[name]) if found is None else found
    turned = charts.charted.get((name, ROUND)) if along else None
    if turned is not None and size_of(part).axis == along:
        has_round = min(sizes) if form is Form.FLAT else sizes[0]
        largest = 2 * max(_first_radii(part, turned), default=0.0)
        if largest > has_round + FITS:
            return largest, has_round
    most = max(needs, default=0.0)
    return (most, has) if most > has + FITS else None


def _first_radii(part: Part, solution: Solution) -> Iterator[float]:
    """Radius, less half its tolerance, to which each outside surface is first cut."""
    tree, sizes, halves = Tree.of(solution.plan), solution.sizes(), solution.halves()
    place = dict[int, float]()
    for i in tree.order:
        datum = tree.datum[i]
        place[i] = 0.0 if datum is None else place[datum] + float(sizes[i])
        surface = part.surfaces.get(solution.plan.cuts[i].makes)
        raw = solution.plan.cuts[i].label == BLANK
        if surface is not None and surface.faces == "outside" and tree.former[i] is None and not raw:
            yield place[i] - float(halves[i])


def runs_along(part: Part, known: dict[str, Side]) -> str:
    """Direction of a part in which its bar runs, or the longer side of its plate; '' where nobody can tell.

    What the blank states comes first, then the faces that are sawn, the axis of a round bar, and the only direction
    that leaves a section which the bar covers.

    Args:
        part: with its blank.
        known: as of ``sides``.
    """
    blank = part.blank
    if blank is None or blank.section.form is Form.CASTING:
        return ""
    if blank.along:
        return blank.along
    sawn = [one for one in known.values() if one.source == "saw"]
    if sawn:
        return max(sawn, key=lambda one: one.size).direction if _flat(part) else sawn[0].direction
    if blank.section.form in (Form.ROUND, Form.TUBE, Form.HEXAGON):
        return size_of(part).axis or _only(part)
    if _flat(part):
        lying = [d for d in known if d != _thick(part)]
        return max(lying, key=lambda d: known[d].size, default="")
    return _only(part)


def _flat(part: Part) -> bool:
    return part.blank is not None and part.blank.section.form is Form.PLATE


def _thick(part: Part) -> str:
    """Direction through the plate: the one that is thin enough for it, and nearest to its thickness."""
    assert part.blank is not None
    thickness = part.blank.section.sizes[0]
    along = {d: size for d, size in size_of(part).along.items() if size <= thickness + FITS}
    return max(along, key=lambda d: along[d], default="")


def _only(part: Part) -> str:
    """The one direction across which the part is covered by the section of its bar; '' where there is not just one."""
    assert part.blank is not None
    sizes = part.blank.section.sizes
    across = sizes[:2] if part.blank.section.form is Form.FLAT else (sizes[0],) * 2
    extents = size_of(part).along
    if len(extents) < 3:
        return ""
    fits = [
        direction
        for direction in "XYZ"
        if any(
            extents[one] <= across[0] + FITS and extents[other] <= across[1] + FITS
            for one, other in permutations([d for d in "XYZ" if d != direction])
        )
    ]
    return fits[0] if len(fits) == 1 else ""


def across_plate(part: Part, known: dict[str, Side], along: str) -> Side | None:
    """Of a piece of plate its other side; None where nothing tells."""
    thick = _thick(part)
    others = [known[d] for d in "XYZ" if d in known and d not in (along, thick)]
    return others[0] if len(others) == 1 else None


def _charted(part: Part, name: str, direction: str, found: Made, solution: Solution) -> Side | None:
    """From a chart: the sawn size, that of the raw blank, or the outermost faces as they are first cut."""
    charted = found.planned[name].charts[direction]
    plan, working = solution.plan, {one.cut: one for one in solution.working}
    for source, label in (("saw", SAW), ("blank", BLANK)):
        sized = [i for i, cut in enumerate(plan.cuts) if cut.label == label and i in working]
        whole = [i for i in sized if _across(part, plan.cuts[i].makes, plan.cuts[i].datum, direction)]
        if whole and isfinite(working[whole[0]].size):
            one, cut = working[whole[0]], plan.cuts[whole[0]]
            op = cut.op if source == "saw" else 0
            index = next((i for i in range(len(part.route)) if number_of(i) == op), None)
            machine = part.route[index].machine or "" if index is not None else ""
            return Side(direction, one.size, one.half, op, machine, one.size, 0.0, source)
    return _outermost(part, direction, charted.plan.cuts, solution)


def _across(part: Part, surface: str, datum: str | None, direction: str) -> bool:
    """A cut is measured right across the part: between two faces that look away from each other."""
    faces = [part.surfaces[end].faces for end in (surface, datum or "") if end in part.surfaces]
    return sorted(faces) == [f"+{direction}", f"-{direction}"]


def _outermost(part: Part, direction: str, cuts: tuple[object, ...], solution: Solution) -> Side | None:
    tree, sizes = Tree.of(solution.plan), solution.sizes()
    place = dict[int, float]()
    for i in tree.order:
        datum = tree.datum[i]
        place[i] = 0.0 if datum is None else place[datum] + float(sizes[i])
    ends = []
    for facing, pick in ((f"-{direction}", min), (f"+{direction}", max)):
        first = [
            i
            for i, cut in enumerate(solution.plan.cuts)
            if tree.former[i] is None
            and cut.makes in part.surfaces
            and part.surfaces[cut.makes].faces == facing
        ]
        if not first:
            return None
        ends.append(pick(first, key=lambda i: place[i]))
    base = place[ends[1]] - place[ends[0]]
    if base <= 0:
        return None
    halves = solution.halves()
    half = sum(float(halves[i]) for i in {*_way(tree, ends[0]), *_way(tree, ends[1])})
    added = sum(_for_end(part, solution.plan.cuts[i].makes, solution.plan.cuts[i].label) for i in ends)
    return Side(direction, base + half + added, 0.0, 0, "", base + half, added, "cuts")


def _way(tree: Tree, state: int) -> list[int]:
    """Working dims between a state and the first reference."""
    out = []
    at: int | None = state
    while at is not None and tree.datum[at] is not None:
        out.append(at)
        at = tree.datum[at]
    return out


def _for_end(part: Part, surface: str, label: str) -> float:
    """Stock for the first cut of an end; nothing where it is as it was sawn, or came."""
    if label in (SAW, BLANK):
        return 0.0
    first = next((op.cuts[surface] for op in part.route if surface in op.cuts), None)
    return (first.least if first is not None and first.least else None) or facing_a_sawn_end().high


def _finished(part: Part, direction: str) -> Side | None:
    """From the finished part: both ends are sawn and faced."""
    stated = part.blank.length if part.blank is not None else None
    bare = part.model_copy(update={"blank": None}) if stated is not None else part
    size = size_of(bare).along.get(direction)
    if size is None or direction == ROUND:
        return None
    added = 2 * facing_a_sawn_end().high
    return Side(direction, size + added, 0.0, 0, "", size, added, "finished")
