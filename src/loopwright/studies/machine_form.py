"""What of a machine can be drawn: plates where each body touches its neighbours, ribs between, and marks on them.

A build has no solid geometry. Each body is drawn by its own places: a plate spanned by the contacts, rail ends and
screw supports of each of its joints, one for the area of work, and ribs from plate to plate and to the tool. All of it
is at the home pose; ``machine_view`` says where it stands and how it moves.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.columns import rail_ends
from loopwright.loop.joint import JointModel
from loopwright.loop.rows import Loop
from loopwright.model.build import Build
from loopwright.model.indications import Target
from loopwright.model.joints import Joint, JointKind, adjusters

Array = NDArray[np.float64]
Point = tuple[float, float, float]

THIN = 0.012
"""Thickness of a plate as a share of the size of the machine."""
OVERHANG = 1.4
"""How far a plate reaches beyond its contacts, in thicknesses."""


@dataclass(frozen=True)
class Plate:
    """A block along the machine's directions, by its two outermost corners; mm."""

    low: Point
    high: Point

    @property
    def middle(self) -> Array:
        """Its middle, (3,)."""
        return np.asarray((np.asarray(self.low) + np.asarray(self.high)) / 2)

    @property
    def half(self) -> Array:
        """Half of its edges, (3,)."""
        return np.asarray((np.asarray(self.high) - np.asarray(self.low)) / 2)


@dataclass(frozen=True)
class Mark:
    """One thing on the machine that can be picked.

    Attributes:
        kind: 'contact', 'block', 'rail', 'drive', 'motions' (stated error motions), 'adjuster', 'mass', or 'axis' (of
            a rotary joint).
        name: for people, within its joint.
        joint: its joint; '' for a mass.
        body: the body it stays on.
        path: below the joint, as an adjuster is named: 'front left', 'guide/rails/B/side', 'drive'.
        field: path of it in the build file.
        points: number of its point among the points of the form; of both ends for a line.
        normals: numbers of its directions among those of the form.
        contacts: names of the contacts that are there.
    """

    kind: str
    name: str
    joint: str
    body: str
    path: str
    field: str
    points: tuple[int, ...]
    normals: tuple[int, ...] = ()
    contacts: tuple[str, ...] = ()


@dataclass(frozen=True)
class BodyForm:
    """What is drawn of a body.

    Attributes:
        name: of the body.
        number: its number on the drawing, counted from 1 in the order of the build.
        joint: the joint that carries it; '' for the base.
        depth: how many joints there are below it.
        plates: of each plate the numbers of its eight corners; the plate of the joint that carries it comes first.
        ribs: lines between plates and to the tool, numbers of both ends.
        webs: plane faces between such lines, four numbers in turn.
        tools: (from, to) numbers of points: where a tool leaves the body, and its tip.
    """

    name: str
    number: int
    joint: str
    depth: int
    plates: tuple[tuple[int, ...], ...]
    ribs: tuple[tuple[int, int], ...]
    webs: tuple[tuple[int, ...], ...]
    tools: tuple[tuple[int, int], ...]


@dataclass(frozen=True, eq=False)
class MachineForm:
    """What of a machine can be drawn, at the home pose.

    Attributes:
        bodies: in the order of the build.
        marks: what can be picked besides bodies.
        points: machine coordinates at home, (n, 3), mm.
        on: the body on which each point stays, as its place among the bodies, (n,).
        directions: unit vectors at home, (m, 3).
        directions_on: the body with which each of them turns, (m,).
        up: which way is up.
        size: diagonal of a box around everything, mm.
    """

    bodies: tuple[BodyForm, ...]
    marks: tuple[Mark, ...]
    points: Array
    on: NDArray[np.intp]
    directions: Array
    directions_on: NDArray[np.intp]
    up: tuple[float, float, float]
    size: float


@dataclass
class _Sheet:
    """Points and directions as they are found."""

    bodies: dict[str, int]
    points: list[Point] = field(default_factory=list)
    on: list[int] = field(default_factory=list)
    directions: list[Point] = field(default_factory=list)
    directions_on: list[int] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)

    def point(self, body: str, at: Array | Point) -> int:
        self.points.append(_triple(at))
        self.on.append(self.bodies[body])
        return len(self.points) - 1

    def direction(self, body: str, along: Array | Point) -> int:
        self.directions.append(_triple(along))
        self.directions_on.append(self.bodies[body])
        return len(self.directions) - 1


def _triple(values: Array | Point) -> Point:
    x, y, z = (float(value) for value in values)
    return x, y, z


def form_of(loop: Loop) -> MachineForm:
    """What of a machine can be drawn.

    Args:
        loop: of its build.

    >>> from loopwright.studies import example_loop
    >>> form = form_of(example_loop("clock-plate"))
    >>> len(form.bodies), sum(mark.kind == "block" for mark in form.marks)
    (7, 12)
    """
    build = loop.build
    sheet = _Sheet({name: place for place, name in enumerate(build.bodies)})
    for model in loop.joints.values():
        _add_joint(sheet, model)
    for name, body in build.bodies.items():
        if body.centre_of_mass is not None:
            at = sheet.point(name, body.centre_of_mass)
            sheet.marks.append(Mark("mass", name, "", name, "", f"bodies/{name}", (at,)))
    size = _size(loop)
    plates = {name: plates_of(loop, name, size) for name in build.bodies}
    bodies = [_body(sheet, loop, name, plates[name], size) for name in build.bodies]
    return MachineForm(
        tuple(bodies),
        tuple(sheet.marks),
        np.array(sheet.points).reshape(-1, 3),
        np.array(sheet.on, np.intp),
        np.array(sheet.directions).reshape(-1, 3),
        np.array(sheet.directions_on, np.intp),
        up_of(build),
        size,
    )


def _size(loop: Loop) -> float:
    """Diagonal of a box around every place where something touches or is read."""
    build = loop.build
    places = [point for model in loop.joints.values() for point in model.contacts.points]
    places += [t.point for t in build.targets.values()]
    places += [b.centre_of_mass for b in build.bodies.values() if b.centre_of_mass is not None]
    return float(np.linalg.norm(np.ptp(np.array(places or [(0.0, 0.0, 0.0)]), axis=0))) or 1.0


def up_of(build: Build) -> Point:
    """Which way is up: against gravity, or +Z where there is none."""
    return _triple(-np.asarray(build.down) + 0.0) if build.down is not None else (0.0, 0.0, 1.0)


# marks


def _add_joint(sheet: _Sheet, model: JointModel) -> None:
    name, joint = model.name, model.joint
    numbers = {contact: i for i, contact in enumerate(model.contacts.names)}
    for contact in joint.contacts:
        field_ = f"joints/{name}/contacts/{contact}"
        _add_contact(sheet, model, numbers[contact], "contact", contact, contact, field_)
    for path, _ in joint.every_drive():
        shown = path.replace("drives/", "drive ")
        _add_contact(sheet, model, numbers[shown], "drive", shown, path, f"joints/{name}/{path}")
    if joint.guide is not None:
        _add_guide(sheet, model, numbers)
    if joint.errors:
        stays = joint.child
        at = sheet.point(stays, joint.errors_at or (0.0, 0.0, 0.0))
        sheet.marks.append(
            Mark("motions", ", ".join(joint.errors), name, stays, "errors", f"joints/{name}/errors", (at,))
        )
    if joint.kind is JointKind.ROTARY and joint.at is not None and joint.about is not None:
        middle, along = np.asarray(joint.at), np.asarray(joint.about)
        reach = _reach(model) or 50.0
        ends = tuple(sheet.point(joint.parent, middle + side * reach * along) for side in (-1.0, 1.0))
        sheet.marks.append(Mark("axis", name, name, joint.parent, "", f"joints/{name}", ends))
    for path in adjusters(joint):
        _add_adjuster(sheet, name, path)


def _reach(model: JointModel) -> float:
    points = np.array(model.contacts.points).reshape(-1, 3)
    return float(np.ptp(points, axis=0).max()) if len(points) else 0.0


def _add_contact(
    sheet: _Sheet, model: JointModel, number: int, kind: str, name: str, path: str, field_: str
) -> None:
    contacts, joint = model.contacts, model.joint
    body = joint.child if contacts.on_child[number] else joint.parent
    at = sheet.point(body, contacts.points[number])
    normal = sheet.direction(body, contacts.normals[number])
    points: tuple[int, ...] = (at,)
    drive = dict(joint.every_drive()).get(path)
    if drive is not None and drive.fixed_at is not None:
        far = drive.free_at if drive.free_at is not None else drive.at
        points = (at, sheet.point(joint.parent, drive.fixed_at), sheet.point(joint.parent, far))
    sheet.marks.append(Mark(kind, name, model.name, body, path, field_, points, (normal,), (name,)))


def _add_guide(sheet: _Sheet, model: JointModel, numbers: dict[str, int]) -> None:
    joint, name = model.joint, model.name
    assert joint.guide is not None
    for rail, ends in rail_lines(joint).items():
        carrier = joint.parent if joint.guide.rails_on == "parent" else joint.child
        points = tuple(sheet.point(carrier, end) for end in ends)
        where = f"guide/rails/{rail}"
        sheet.marks.append(Mark("rail", rail, name, carrier, where, f"joints/{name}/{where}", points))
    rider = joint.child if joint.guide.rails_on == "parent" else joint.parent
    for block, stated in joint.guide.blocks.items():
        held = [c for c in (f"{block} height", f"{block} side") if c in numbers]
        normals = tuple(sheet.direction(rider, model.contacts.normals[numbers[c]]) for c in held)
        where = f"guide/blocks/{block}"
        at = sheet.point(rider, stated.at)
        field_ = f"joints/{name}/{where}"
        sheet.marks.append(Mark("block", block, name, rider, where, field_, (at,), normals, tuple(held)))


def rail_lines(joint: Joint) -> dict[str, tuple[Array, Array]]:
    """Both ends of every rail of a guide at home, at the height of its blocks; empty where there is no guide."""
    if joint.guide is None or joint.along is None:
        return {}
    along, out = np.asarray(joint.along), {}
    for rail in joint.guide.rails:
        riding = [np.asarray(b.at) for b in joint.guide.blocks.values() if b.rail == rail]
        if riding:
            low, high = rail_ends(joint, joint.guide, rail)
            line = riding[0] - (riding[0] @ along) * along
            out[rail] = line + low * along, line + high * along
    return out


def _add_adjuster(sheet: _Sheet, joint: str, path: str) -> None:
    """At the mark of what it sets; a rail is set in its middle."""
    base = path.removesuffix("/height").removesuffix("/side") if path.startswith("guide/") else path
    of = next((m for m in sheet.marks if m.joint == joint and m.path == base and m.kind != "adjuster"), None)
    if of is None:
        return
    points = of.points if of.kind == "rail" else of.points[:1]
    below = f"contacts/{path}" if of.kind == "contact" else path
    field_ = f"joints/{joint}/{below}/adjust"
    sheet.marks.append(Mark("adjuster", path, joint, of.body, path, field_, points, (), of.contacts))


# plates


def _body(sheet: _Sheet, loop: Loop, name: str, plates: list[Plate], size: float) -> BodyForm:
    build = loop.build
    path = build.path_to(name)
    blocks = [_corners(sheet, name, plate) for plate in plates]
    between = [_ribs(plates[0], plates[number], blocks, number) for number in range(1, len(plates))]
    ribs = [rib for four in between for rib in four]
    webs = [web for four in between for web in _webs(four)]
    tools = []
    for tip in dict.fromkeys(t.point for t in build.targets.values() if t.between[1] == name):
        root = sheet.point(name, _root_of_tool(build, np.asarray(tip), plates, size))
        tools.append((root, sheet.point(name, tip)))
        if plates:
            toward = np.asarray(sheet.points[root]) - plates[0].middle
            ribs += [(blocks[0][corner], root) for corner in _facing(toward / plates[0].half)]
    return BodyForm(
        name,
        sheet.bodies[name] + 1,
        path[-1] if path else "",
        len(path),
        tuple(blocks),
        tuple(ribs),
        tuple(webs),
        tuple(tools),
    )


def plates_of(loop: Loop, body: str, size: float) -> list[Plate]:
    """The plates of a body, that of the joint which carries it first: one where it touches each of its neighbours.

    Args:
        loop: the loop.
        body: name of the body.
        size: of the machine, mm; plates are as thick as a small share of it.
    """
    build, thick = loop.build, THIN * size
    above = [n for n, joint in build.joints.items() if joint.child == body]
    below = [n for n, joint in build.joints.items() if joint.parent == body]
    found = [_plate_at(loop.joints[name], body, thick) for name in (*above, *below)]
    found += [
        _work_plate(build, target, thick) for target in build.targets.values() if target.between[0] == body
    ]
    plates = [plate for plate in found if plate is not None]
    at = build.bodies[body].centre_of_mass
    if not plates and at is not None:
        plates = [_about(np.asarray(at), thick)]
    return list({(*plate.low, *plate.high): plate for plate in plates}.values())


def _about(place: Array, thick: float) -> Plate:
    return Plate(_triple(place - 2 * thick), _triple(place + 2 * thick))


def _plate_at(model: JointModel, body: str, thick: float) -> Plate | None:
    """The plate of a body where a joint touches; it lies on its own side of the contacts."""
    joint, contacts = model.joint, model.contacts
    if not contacts.names:
        return None if joint.errors_at is None else _about(np.asarray(joint.errors_at), thick)
    places = np.array(list(_places(model, body)))
    normals = np.array(contacts.normals)
    facing = np.asarray(joint.guide.normal) if joint.guide is not None else normals.sum(axis=0)
    axis = int(np.argmax(np.abs(facing if joint.guide is not None else normals).reshape(-1, 3).sum(axis=0)))
    side = 1.0 if facing[axis] >= 0 else -1.0
    held = np.abs(normals[:, axis]) > 0.7
    level = float(np.median(np.array(contacts.points)[held if held.any() else slice(None), axis]))
    return _flat(places, axis, level, side * thick if body == joint.child else -side * thick, thick)


def _flat(places: Array, axis: int, level: float, depth: float, thick: float) -> Plate:
    """A plate under places, from a level to some depth along an axis, and no narrower than it looks like one."""
    low, high = places.min(axis=0) - OVERHANG * thick, places.max(axis=0) + OVERHANG * thick
    lack = np.maximum(4 * thick - (high - low), 0) / 2
    low, high = low - lack, high + lack
    low[axis], high[axis] = sorted((level, level + depth))
    return Plate(_triple(low), _triple(high))


def _places(model: JointModel, body: str) -> Iterator[Point]:
    """Places of a body at home that its plate must reach."""
    joint, contacts = model.joint, model.contacts
    steps = [0.0]
    if joint.kind is JointKind.LINEAR and joint.travel is not None:
        steps = [joint.travel[0] - joint.home, joint.travel[1] - joint.home]
    along = np.asarray(joint.along or (0.0, 0.0, 0.0))
    for point, on_child in zip(contacts.points, contacts.on_child):
        if (joint.child if on_child else joint.parent) == body:
            yield point
        else:  # the other body slides over this one as far as the axis goes
            for step in steps:
                yield _triple(np.asarray(point) + (1.0 if on_child else -1.0) * step * along)
    carrier = joint.parent if joint.guide is None or joint.guide.rails_on == "parent" else joint.child
    if body == carrier:
        for ends in rail_lines(joint).values():
            yield from (_triple(end) for end in ends)
    if body == joint.parent:
        for _, drive in joint.every_drive():
            yield from (at for at in (drive.fixed_at, drive.free_at) if at is not None)


def _work_plate(build: Build, target: Target, thick: float) -> Plate | None:
    """The area of work on the work side; at the lowest Z the tool is nearest to the work (ISO 841)."""
    if target.angular:
        return None
    moved = np.zeros(3)
    ways = []
    for letter, name in build.axes().items():
        joint = build.joints[name]
        if joint.kind is not JointKind.LINEAR or joint.along is None:
            continue
        ours = name in build.path_to(target.between[1])
        along = (1.0 if ours else -1.0) * np.asarray(joint.along)
        span = target.over.get(letter)
        if span is None:
            moved = moved + along * (target.holding.get(letter, joint.home) - joint.home)
        else:
            ends = (span.start,) if letter.startswith("Z") else (span.start, span.end)
            ways.append([along * (end - joint.home) for end in ends])
    corners = np.array([np.asarray(target.point) + moved + sum(way, np.zeros(3)) for way in product(*ways)])
    up = np.asarray(up_of(build))
    axis = int(np.argmax(np.abs(up)))
    return _flat(corners, axis, float(corners[:, axis].mean()), -float(np.sign(up[axis])) * thick / 2, thick)


def _corners(sheet: _Sheet, body: str, plate: Plate) -> tuple[int, ...]:
    """Numbers of the eight corners: the second four are high in X, every second pair in Y, every second one in Z."""
    ends = np.array([plate.low, plate.high])
    return tuple(
        sheet.point(body, (ends[i, 0], ends[j, 1], ends[k, 2])) for i, j, k in product((0, 1), repeat=3)
    )


def _facing(toward: Array) -> list[int]:
    """The four corners of a block on its face towards a direction."""
    axis = int(np.argmax(np.abs(toward)))
    wanted = int(toward[axis] > 0)
    return [number for number, bits in enumerate(product((0, 1), repeat=3)) if bits[axis] == wanted]


def _ribs(first: Plate, other: Plate, blocks: list[tuple[int, ...]], number: int) -> list[tuple[int, int]]:
    """Lines from one plate of a body to another, corner to corner of the faces that look at each other."""
    apart = other.middle - first.middle
    clear = np.abs(apart) - first.half - other.half
    toward = np.zeros(3)
    axis = int(np.argmax(clear))
    toward[axis] = 1.0 if apart[axis] >= 0 else -1.0
    pairs = zip(_facing(toward), _facing(-toward))
    return [(blocks[0][here], blocks[number][there]) for here, there in pairs]


def _webs(ribs: list[tuple[int, int]]) -> list[tuple[int, ...]]:
    """The four faces that close a body between two of its plates; its ribs come in the order of their bits."""
    return [(*ribs[a], *ribs[b][::-1]) for a, b in ((0, 1), (1, 3), (3, 2), (2, 0))]


def _root_of_tool(build: Build, tip: Array, plates: list[Plate], size: float) -> Array:
    """Where a tool leaves its body: above its tip along Z, which ISO 841 lays along the spindle."""
    along = next(
        (np.asarray(build.joints[name].along) for letter, name in build.axes().items() if letter == "Z"), None
    )
    along = np.asarray(up_of(build)) if along is None else along
    short = 5 * THIN * size
    if not plates:
        return np.asarray(tip + short * along)
    middle = (plates[0].middle - tip) @ along
    along, middle = (along, middle) if middle >= 0 else (-along, -middle)
    return np.asarray(tip + max(float(middle - plates[0].half @ np.abs(along)), short) * along)
