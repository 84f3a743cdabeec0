"""Whether the names in a build lead anywhere, and whether its bodies form a tree."""

from collections.abc import Collection, Iterable, Iterator
from difflib import get_close_matches
from itertools import islice

from loopwright import units
from loopwright.errors import LoopwrightError, Problem
from loopwright.handbook.materials import material
from loopwright.handbook.screws import lead_error
from loopwright.model.build import Build
from loopwright.model.contacts import Drive
from loopwright.model.indications import Indication, Target, Test, axis_dimension
from loopwright.model.joints import Joint, JointKind, adjusters
from loopwright.model.parts import DimTerm
from loopwright.model.route_references import RouteCheck
from loopwright.units import Dimension

MOST_PROBLEMS = 300
"""The search ends when it has found so many."""


def problems(build: Build, also_known: Collection[str] = ()) -> list[Problem]:
    """Every name that leads nowhere and every fault of the tree, as problems with field paths.

    Args:
        build: the build.
        also_known: paths such as 'parts/column', or 'parts' for all of them, that the file has but that could
            not be read; they count as known.
    """
    check = _Check(build, set(also_known))
    found: Iterable[Problem] = (
        problem
        for part in (
            check.parts(),
            RouteCheck(build, check.unread, check.material).problems(),
            check.made_together(),
            check.bodies(),
            check.joints(),
            check.loads(),
            check.indications(),
            check.closures(),
            check.fit_up(),
            check.tree(),
        )
        for problem in part
    )
    return list(islice(found, MOST_PROBLEMS))


class _Names:
    """The names of a build's sections, and the nearest to one that is not among them."""

    def __init__(self, build: Build, unread: set[str]) -> None:
        self._known: dict[str, set[str]] = {
            section: set(getattr(build, section))
            | {path.split("/")[1] for path in unread if path.startswith(section + "/")}
            for section in _ONE
        }
        self._unread = {path for path in unread if "/" not in path}
        # each costs a look at every name, and a file may have thousands of both
        self._suggestions = 50

    def __getitem__(self, section: str) -> set[str]:
        """Names of a section, also those that could not be read."""
        return self._known[section]

    def lack(self, section: str, name: str) -> bool:
        """No entry has this name, nor could one have it that was not read."""
        return section not in self._unread and name not in self._known[section]

    def unread(self, section: str) -> bool:
        """Something of a section could not be read."""
        return section in self._unread

    def nearest(self, name: str, known: Collection[str], section: str) -> str:
        """A remedy that names what may have been meant."""
        if not known:
            return f"add it under '{section}'"
        if self._suggestions > 0 and len(known) <= 2000:
            self._suggestions -= 1
            close = get_close_matches(name[:100], sorted(known), n=1, cutoff=0.6)
            if close:
                return f"did you mean '{close[0]}'?"
        listed = ", ".join(sorted(known)[:8]) + (", …" if len(known) > 8 else "")
        return f"known are: {listed}"


class _Check:
    def __init__(self, build: Build, unread: set[str]) -> None:
        self.build, self._unread, self.unread = build, unread, frozenset(unread)
        self.names = _Names(build, unread)
        lettered = not any(path.endswith("/axis") and path.startswith("joints/") for path in unread)
        self.every_joint_read = len(self.names["joints"]) == len(build.joints) and lettered
        self.every_joint_read &= "joints" not in unread
        self.every_body_read = len(self.names["bodies"]) == len(build.bodies)
        self.axes = build.axes()

    def put_aside(self, *paths: str) -> bool:
        """One of these could not be read, so that nothing follows from its absence."""
        return any(path in self._unread for path in paths)

    def name(self, section: str, name: str, field: str) -> Iterator[Problem]:
        if self.names.lack(section, name):
            remedy = self.names.nearest(name, self.names[section], section)
            yield Problem(field, f"there is no {_ONE[section]} '{_clipped(name)}'", remedy)

    def dim(self, path: str, field: str) -> Iterator[Problem]:
        part, _, dim = path.partition("/")
        if part in self.build.parts:
            dims = self.build.parts[part].dims
            if dim not in dims and not self.put_aside(f"parts/{part}/dims", f"parts/{part}/dims/{dim}"):
                what = (
                    f"part '{part}' has no dim '{_clipped(dim)}'"
                    if dim
                    else f"'{part}' names a part and no dim"
                )
                unread = [
                    path.rpartition("/")[2] for path in self._unread if path.startswith(f"parts/{part}/dims/")
                ]
                yield Problem(field, what, self.names.nearest(dim, [*dims, *unread], f"parts/{part}/dims"))
        elif self.names.lack("parts", part):
            every = [f"{p}/{d}" for p, found in self.build.parts.items() for d in found.dims]
            what = f"there is no part '{_clipped(part)}'"
            yield Problem(field, what, self.names.nearest(path, every, "parts"))

    def terms(self, terms: list[DimTerm], field: str) -> Iterator[Problem]:
        for number, term in enumerate(terms):
            yield from self.dim(term.dim, f"{field}/{number}")
            dim = self.build.dim(term.dim)
            if dim is None:
                continue
            if dim.quantity == "angle" and not term.lever:
                yield Problem(
                    f"{field}/{number}",
                    f"'{term.dim}' is an angle and moves nothing without a lever",
                    "write {dim: " + term.dim + ", times: 120 mm}, with the unit",
                )
            elif dim.quantity == "length" and term.lever:
                yield Problem(
                    f"{field}/{number}",
                    f"'{term.dim}' is a length, and only an angle has a lever",
                    "give a factor without unit, such as 0.5",
                )

    def material(self, name: str | None, field: str) -> Iterator[Problem]:
        if name is None or not self.names.lack("materials", name):
            return
        try:
            material(name[:100])
        except LoopwrightError as error:
            what, _, remedy = str(error).partition("; ")
            yield Problem(field, what, f"{remedy} under 'materials'")

    def parts(self) -> Iterator[Problem]:
        together = {dim for group in self.build.made_together.values() for dim in group.dims}
        for name, part in self.build.parts.items():
            yield from self.material(part.material, f"parts/{name}/material")
            for dim_name, dim in part.dims.items():
                if dim.spread is not None or f"{name}/{dim_name}" in together:
                    continue
                field, shown = f"parts/{name}/dims/{dim_name}", self._shown(dim.nominal, dim.dimension)
                if dim.quantity == "angle":
                    what, remedy = "has no limits", f"write '{shown} ±20 arcsec'"
                    if self.build.general_limits is not None:
                        what += ", and 'general_limits' are for lengths"
                    yield Problem(field, what, remedy)
                elif self.build.general_limits is None and not self.put_aside("general_limits"):
                    limit = self._shown(0.02, dim.dimension)
                    remedy = f"write '{shown} ±{limit}', or set 'general_limits' for all such dims"
                    yield Problem(field, "has no limits", remedy)

    def made_together(self) -> Iterator[Problem]:
        groups: dict[str, str] = {}
        for group, together in self.build.made_together.items():
            for number, path in enumerate(together.dims):
                field = f"made_together/{group}/dims/{number}"
                yield from self.dim(path, field)
                dim = self.build.dim(path)
                if dim is not None and dim.quantity == "angle":
                    what = f"'{path}' is an angle, and 'shared' and 'own' are lengths"
                    yield Problem(field, what, "take it out of the group")
                if path in groups:
                    yield Problem(field, f"'{path}' is also in '{groups[path]}'", "keep it in one of the two")
                groups[path] = group

    def bodies(self) -> Iterator[Problem]:
        above = self.build.joint_above()
        for name, body in self.build.bodies.items():
            yield from self.material(body.material, f"bodies/{name}/material")
            for number, part in enumerate(body.parts):
                yield from self.name("parts", part, f"bodies/{name}/parts/{number}")
            if body.mass.mean < 0:
                yield Problem(f"bodies/{name}/mass", "is negative", "give zero or more")
            lost = self.put_aside(f"bodies/{name}/centre_of_mass")
            if body.mass.mean and body.centre_of_mass is None and name in above and not lost:
                yield Problem(
                    f"bodies/{name}", "has a mass and no place for it", "add centre_of_mass: [x, y, z]"
                )

    def joints(self) -> Iterator[Problem]:
        children: dict[str, str] = {}
        letters: dict[str, str] = {}
        for name, joint in self.build.joints.items():
            field = f"joints/{name}"
            yield from self.name("bodies", joint.parent, f"{field}/parent")
            yield from self.name("bodies", joint.child, f"{field}/child")
            if joint.child in children:
                yield Problem(
                    f"{field}/child",
                    f"'{joint.child}' is already carried by '{children[joint.child]}'",
                    "a body has one joint to its parent; put all contacts into that joint",
                )
            children.setdefault(joint.child, name)
            lost = self.put_aside(f"{field}/axis", f"{field}/along", f"{field}/about")
            if joint.letter is not None and joint.letter in letters and not lost:
                yield Problem(
                    f"{field}/axis",
                    f"axis {joint.letter} is already '{letters[joint.letter]}'",
                    "give this one another letter with 'axis', such as W or X2",
                )
            letters.setdefault(joint.letter or "", name)
            yield from self._joint_details(joint, field)

    def _joint_details(self, joint: Joint, field: str) -> Iterator[Problem]:
        for name, contact in joint.contacts.items():
            yield from self.terms(contact.dims, f"{field}/contacts/{name}/dims")
        for path, drive in joint.every_drive():
            yield from self.material(drive.material, f"{field}/{path}/material")
            yield from self.terms(drive.dims, f"{field}/{path}/dims")
            yield from self.lead(joint, drive, f"{field}/{path}")
        if joint.guide is None:
            return
        for name, rail in joint.guide.rails.items():
            for line_name, line in (("height", rail.height), ("side", rail.side)):
                yield from self.terms(line.dims, f"{field}/guide/rails/{name}/{line_name}/dims")
        for name, block in joint.guide.blocks.items():
            where = f"{field}/guide/blocks/{name}"
            lost = self.put_aside(f"{field}/guide/rails", f"{field}/guide/rails/{block.rail}")
            if block.rail not in joint.guide.rails and not lost:
                remedy = self.names.nearest(block.rail, list(joint.guide.rails), "rails")
                yield Problem(f"{where}/rail", f"there is no rail '{_clipped(block.rail)}'", remedy)
            for line_name, seat in (("height", block.height), ("side", block.side)):
                if seat is not None and seat != "free":
                    yield from self.terms(seat.dims, f"{where}/{line_name}/dims")
        for line_name, seat in (
            ("height", joint.guide.every_block.height),
            ("side", joint.guide.every_block.side),
        ):
            if seat != "free":
                yield from self.terms(seat.dims, f"{field}/guide/every_block/{line_name}/dims")

    def lead(self, joint: Joint, drive: Drive, field: str) -> Iterator[Problem]:
        stated = drive.lead_error
        if stated.revolution and drive.lead is None and not self.put_aside(f"{field}/lead"):
            what = "is within one revolution, and 'lead' does not say how long one is"
            yield Problem(f"{field}/lead_error/revolution", what, "add lead: 5 mm to the drive")
        if stated.grade is None:
            return
        travel = joint.travel if joint.travel is not None and joint.kind is JointKind.LINEAR else (0.0, 300.0)
        try:
            lead_error(stated.grade[:20], travel[1] - travel[0])
        except LoopwrightError as error:
            what, _, hint = str(error).partition("; ")
            yield Problem(
                f"{field}/lead_error/grade", what, f"{hint}, or give travel, bandwidth and revolution"
            )

    def loads(self) -> Iterator[Problem]:
        for name, load in self.build.loads.items():
            yield from self.name("bodies", load.on, f"loads/{name}/on")
            if load.against is not None:
                yield from self.name("bodies", load.against, f"loads/{name}/against")
            if load.on == load.against:
                yield Problem(
                    f"loads/{name}/against", "is the body it acts on", "name the other body, or leave it out"
                )

    def indications(self) -> Iterator[Problem]:
        for section, entries in (("targets", self.build.targets), ("tests", self.build.tests)):
            for name, indication in entries.items():
                yield from self._indication(indication, f"{section}/{name}")

    def _indication(self, one: Target | Test, field: str) -> Iterator[Problem]:
        for number, body in enumerate(one.between):
            yield from self.name("bodies", body, f"{field}/between/{number}")
        if one.turns_with is not None:
            yield from self.name("bodies", one.turns_with, f"{field}/turns_with")
        for number, load in enumerate(one.under):
            yield from self.name("loads", load, f"{field}/under/{number}")
        yield from self._positions(one, field)
        if isinstance(one, Test):
            if one.gauge is not None:
                yield from self.name("gauges", one.gauge, f"{field}/gauge")
            if one.artefact is not None:
                yield from self.name("artefacts", one.artefact, f"{field}/artefact")

    def _positions(self, one: Indication, field: str) -> Iterator[Problem]:
        places = [("over", axis, p) for axis, span in one.over.items() for p in (span.start, span.end)]
        places += [("holding", axis, p) for axis, p in one.holding.items()]
        places += [("zeroed/at", axis, p) for axis, p in one.zeroed.at.items()]
        unknown: set[tuple[str, str]] = set()
        for where, axis, position in places:
            if axis in self.axes:
                yield from self._within_travel(axis, position, f"{field}/{where}/{axis}")
            elif self.every_joint_read and (where, axis) not in unknown:
                unknown.add((where, axis))
                what = f"there is no axis {_clipped(axis)}"
                yield Problem(
                    f"{field}/{where}/{axis}", what, self.names.nearest(axis, list(self.axes), "joints")
                )

    def _within_travel(self, axis: str, position: float, field: str) -> Iterator[Problem]:
        travel = self.build.joints[self.axes[axis]].travel
        if travel is None or travel[0] - 1e-9 <= position <= travel[1] + 1e-9:
            return
        shown, low, high = (self._shown(p, axis_dimension(axis)) for p in (position, *travel))
        what = f"{shown} is outside the travel of {axis}, {low} to {high}"
        yield Problem(field, what, "stay within the travel, or widen it")

    def _shown(self, value: float, dimension: Dimension) -> str:
        unit = self.build.units.length if dimension is Dimension.LENGTH else "deg"
        return units.format_value(value, dimension, unit, digits=6)

    def closures(self) -> Iterator[Problem]:
        for name, closure in self.build.closures.items():
            yield from self.name("joints", closure.joint, f"closures/{name}/joint")
            joint = self.build.joints.get(closure.joint)
            where = f"joints/{closure.joint}/contacts"
            lost = self.put_aside(where, f"{where}/{closure.contact}")
            if joint is not None and closure.contact not in joint.contacts and not lost:
                remedy = self.names.nearest(closure.contact, list(joint.contacts), "contacts")
                what = f"'{closure.joint}' has no contact '{_clipped(closure.contact)}'"
                yield Problem(f"closures/{name}/contact", what, remedy)
            if closure.part is not None:
                yield from self.name("parts", closure.part, f"closures/{name}/part")

    def fit_up(self) -> Iterator[Problem]:
        for number, step in enumerate(self.build.fit_up):
            field = f"fit_up/{number}"
            for place, name in enumerate(step.seat):
                if self.names.lack("bodies", name) and self.names.lack("parts", name):
                    remedy = self.names.nearest(name, self.names["bodies"] | self.names["parts"], "bodies")
                    what = f"there is no body or part '{_clipped(name)}'"
                    yield Problem(f"{field}/seat/{place}", what, remedy)
            for place, name in enumerate(step.read):
                if name not in self.build.closures and self.build.dim(name) is None:
                    yield from self.name("tests", name, f"{field}/read/{place}")
            for place, path in enumerate(step.adjust):
                yield from self._adjusted(path, f"{field}/adjust/{place}")

    def _adjusted(self, path: str, field: str) -> Iterator[Problem]:
        name, _, rest = path.partition("/")
        yield from self.name("joints", name, field)
        joint = self.build.joints.get(name)
        if joint is None or any(path.startswith(f"joints/{name}/") for path in self._unread):
            return
        known = {*adjusters(joint), *(c.contact for c in self.build.closures.values() if c.joint == name)}
        if rest not in known and rest.removeprefix("contacts/") not in known:
            what = (
                f"'{name}' has nothing to set at '{_clipped(rest)}'"
                if rest
                else "names a joint and no contact"
            )
            every = [f"{name}/{place}" for place in known]
            remedy = (
                self.names.nearest(path, every, f"joints/{name}")
                if known
                else "give a contact of it 'adjust'"
            )
            yield Problem(field, what, remedy)

    def tree(self) -> Iterator[Problem]:
        joints = self.build.joints.items()
        above: dict[str, tuple[str, str]] = {}
        for name, joint in joints:
            above.setdefault(joint.child, (name, joint.parent))
            if joint.parent == joint.child:
                yield Problem(f"joints/{name}", f"'{joint.child}' is under itself", "name two bodies")
        for circle in _circles(above):
            first = next(body for body in self.build.bodies if body in circle) if circle else ""
            turned = circle[circle.index(first) :] + circle[: circle.index(first) + 1]
            yield Problem(
                f"joints/{above[first][0]}",
                f"'{first}' carries itself in a circle: {_clipped(' on '.join(turned))}",
                "let the joints lead from one base to the tool",
            )
        strange = any(self.names.lack("bodies", joint.child) for _, joint in joints)
        roots = [body for body in self.build.bodies if body not in above]
        if self.every_joint_read and self.every_body_read and not strange:
            for body in roots[1:]:
                yield Problem(
                    f"bodies/{body}",
                    f"is not joined to '{roots[0]}' by any joint",
                    f"add a joint with child: {body}, or take the body out",
                )


_ONE = {
    "parts": "part",
    "bodies": "body",
    "loads": "load",
    "gauges": "gauge",
    "artefacts": "artefact",
    "tests": "test",
    "joints": "joint",
    "materials": "material",
}


def _clipped(name: str) -> str:
    return name if len(name) <= 80 else name[:77] + "…"


def _circles(above: dict[str, tuple[str, str]]) -> Iterator[list[str]]:
    """Bodies that carry themselves by way of others, each circle once, from carried to carrier."""
    done: set[str] = set()
    for start in above:
        path: list[str] = []
        body = start
        while body in above and body not in done:
            done.add(body)
            path.append(body)
            body = above[body][1]
        if body in path and len(path) - path.index(body) > 1:
            yield path[path.index(body) :]
