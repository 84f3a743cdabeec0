"""The machine at a pose: where everything stands, how each body is expected to be off, and what that is at the tool."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from math import floor, log10

import numpy as np
from numpy.typing import NDArray

from loopwright import units
from loopwright.errors import QuantityError, RequestError
from loopwright.loop.by_joint import Zero, body_twists, rows_by_joint, zero_of
from loopwright.loop.kinematics import Stands, axis_moves
from loopwright.loop.rows import Loop
from loopwright.loop.sources import Source, SourceKind
from loopwright.loop.threads import one_thread
from loopwright.loop.twists import cross
from loopwright.measuring.coverage import coverage_factor
from loopwright.model.build import Build
from loopwright.model.indications import Target, axis_dimension
from loopwright.studies.as_built import sizes
from loopwright.studies.bench import Bench
from loopwright.studies.machine_form import MachineForm, form_of
from loopwright.units import Dimension

Array = NDArray[np.float64]

DRAWN_AS = 0.1
"""Share of the machine's size that the largest small motion is drawn at, at most."""
MOST_ENDS = 8
"""Ends of the travel of so many axes are looked at for the size of the drawing."""
TRAVEL_SLACK = 1e-9
"""So far outside of its travel a position still counts as its end, mm or rad."""


@dataclass(frozen=True)
class AxisAt:
    """An axis of the machine.

    Attributes:
        letter: by ISO 841.
        joint: its joint.
        low, high: ends of its travel, mm or rad.
        position: where it stands.
        dimension: of these.
    """

    letter: str
    joint: str
    low: float
    high: float
    position: float
    dimension: Dimension


@dataclass(frozen=True)
class BodyAt:
    """How a body is expected to be off at a pose, machine directions, the root body held.

    Attributes:
        name: of the body.
        centre: where that is told, the middle of what is drawn of it, mm.
        move, move_std: displacement there and its standard uncertainty, (3,) mm.
        turn, turn_std: rotation and its standard uncertainty, (3,) rad.
        factor: how far an expanded uncertainty reaches at the build's confidence, in standard uncertainties.
    """

    name: str
    centre: tuple[float, float, float]
    move: tuple[float, float, float]
    move_std: tuple[float, float, float]
    turn: tuple[float, float, float]
    turn_std: tuple[float, float, float]
    factor: float

    @property
    def move_reach(self) -> tuple[float, ...]:
        """Expanded uncertainty of the displacement, (3,) mm."""
        return tuple(self.factor * std for std in self.move_std)

    @property
    def turn_reach(self) -> tuple[float, ...]:
        """Expanded uncertainty of the rotation, (3,) rad."""
        return tuple(self.factor * std for std in self.turn_std)


@dataclass(frozen=True)
class PlaceAt:
    """Where tool and work meet, for targets that ask at one place.

    Attributes:
        targets: their names.
        work, tool: the two bodies.
        at: where both nominally are, mm.
        work_move, tool_move: expected displacement of each there, mm.
    """

    targets: tuple[str, ...]
    work: str
    tool: str
    at: tuple[float, float, float]
    work_move: tuple[float, float, float]
    tool_move: tuple[float, float, float]


@dataclass(frozen=True)
class Share:
    """What one joint, part or cause brings to the error: its share of the expected square, below zero where it helps.

    Attributes:
        name: of the joint or part; '' for the warmth of all bodies and screws together.
        kind: 'joint', 'part', or the kind of deviation where no part is to blame.
        share: of all.
    """

    name: str
    kind: str
    share: float


@dataclass(frozen=True)
class ErrorAt:
    """The error of a target at a pose, zeroed as it says; mm or rad.

    Attributes:
        target: its name.
        dimension: length or angle.
        limit: of its size.
        components: name of each component.
        directions: along or about which each is taken, (components, 3).
        at: where, mm.
        mean, std: expected value and standard uncertainty of each component.
        known: size of the expected value.
        unknown: standard uncertainty, of all components together.
        expected: known and unknown, root sum of squares.
        factor: how far an expanded uncertainty reaches at the build's confidence, in standard uncertainties.
        by_joint, by_part: shares, the largest first; they add up to 1.
        elsewhere: axes that stand where the target does not ask, with where it asks: (from, to).
    """

    target: str
    dimension: Dimension
    limit: float
    components: tuple[str, ...]
    directions: tuple[tuple[float, float, float], ...]
    at: tuple[float, float, float]
    mean: tuple[float, ...]
    std: tuple[float, ...]
    known: float
    unknown: float
    expected: float
    factor: float
    by_joint: tuple[Share, ...]
    by_part: tuple[Share, ...]
    elsewhere: Mapping[str, tuple[float, float]]

    @property
    def reach(self) -> tuple[float, ...]:
        """Expanded uncertainty of each component."""
        return tuple(self.factor * std for std in self.std)

    @property
    def stands(self) -> str:
        """'over' the limit as expected; 'near' where what is not known may take it there; else 'within'."""
        if self.expected > self.limit:
            return "over"
        return "near" if self.known + self.factor * self.unknown > self.limit else "within"


@dataclass(frozen=True, eq=False)
class MachineAt:
    """The machine at a pose.

    Attributes:
        form: what is drawn of it, at home.
        axes: by their letters.
        points: where the points of the form are, (n, 3), mm.
        moves: expected small motion of each, (n, 3), mm.
        directions: of the form, as they are turned now, (m, 3).
        bodies: in the order of the build.
        places: where tool and work meet.
        error: of the target that was asked for; None where the build has none.
        exaggeration: a round number of times by which small motions can be drawn enlarged.
    """

    form: MachineForm
    axes: tuple[AxisAt, ...]
    points: Array
    moves: Array
    directions: Array
    bodies: tuple[BodyAt, ...]
    places: tuple[PlaceAt, ...]
    error: ErrorAt | None
    exaggeration: float

    @property
    def pose(self) -> dict[str, float]:
        """Position of every axis, mm or rad."""
        return {axis.letter: axis.position for axis in self.axes}


@dataclass(frozen=True, eq=False)
class _Believed:
    """What is known of the deviations of the present state.

    Attributes:
        mean: (sources,).
        root: F with F F' their covariance, (sources, open).
    """

    mean: Array
    root: Array

    def std(self, rows: Array) -> Array:
        """Standard uncertainty of rows over the deviations, (...)."""
        return np.asarray(np.sqrt(((rows @ self.root) ** 2).sum(axis=-1)))


def machine_at(bench: Bench, pose: Mapping[str, float], target: str | None = None) -> MachineAt:
    """The machine at a pose, as built: what prior and readings let one expect.

    Args:
        bench: the build as it stands.
        pose: axis positions by letter, mm or rad; axes not named stand in the middle of their travel.
        target: which target's error; None takes the first.

    Raises:
        RequestError: there is no such axis or target, or a position is outside of the travel.
    """
    with one_thread():
        return _machine_at(bench, pose, target)


def _machine_at(bench: Bench, pose: Mapping[str, float], target: str | None) -> MachineAt:
    build, loop = bench.build, bench.loop
    form = machine_form(bench)
    axes = axes_at(build, pose)
    poses = {axis.letter: np.array([axis.position]) for axis in axes}
    stands = Stands(build, axis_moves(build, poses))
    name = target if target is not None else next(iter(build.targets), None)
    asked = None if name is None else bench.target(name)
    believed = believed_now(bench)
    twists = body_twists(loop, stands, () if asked is None else asked.under)
    motions = _Motions(bench, stands, believed, {body: twist[0] for body, twist in twists.items()})
    points = motions.places(form.points, form.on)
    moves = motions.moves(form.points, form.on)
    turns = np.array([stands.of(body).turn[0] for body in build.bodies])
    directions = np.einsum("mij,mj->mi", turns[form.directions_on], form.directions)
    bodies = tuple(motions.body(form, points, number) for number in range(len(form.bodies)))
    largest = max((max(map(abs, b.move)) + max(b.move_reach) for b in bodies), default=0.0)
    return MachineAt(
        form,
        axes,
        points,
        moves,
        directions,
        bodies,
        motions.meetings(),
        None if asked is None or name is None else error_at(bench, name, poses),
        _round_down(DRAWN_AS * form.size / largest) if largest else 1.0,
    )


def machine_form(bench: Bench) -> MachineForm:
    """What of the machine can be drawn, worked out once for each description."""
    if "machine form" not in bench.kept:
        bench.kept["machine form"] = form_of(bench.loop)
    found: MachineForm = bench.kept["machine form"]
    return found


def reach_of(bench: Bench) -> Array:
    """Corners of what is drawn of each body, with every axis at either end of its travel, (n, 3), mm."""
    if "machine reach" not in bench.kept:
        form, build = machine_form(bench), bench.build
        ends = {axis.letter: (axis.low, axis.high) for axis in axes_at(build, {})[:MOST_ENDS]}
        corners = np.array(list(product(*ends.values())), float).reshape(2 ** len(ends), len(ends))
        poses = {letter: corners[:, number] for number, letter in enumerate(ends)}
        stands = Stands(build, axis_moves(build, poses))
        found = []
        for number, body in enumerate(form.bodies):
            standing, own = stands.of(body.name), form.points[form.on == number]
            if len(own):
                box = np.array(list(product(*zip(own.min(axis=0), own.max(axis=0)))))
                found.append(
                    (np.einsum("pij,nj->pni", standing.turn, box) + standing.shift[:, None]).reshape(-1, 3)
                )
        every = np.concatenate(found) if found else np.zeros((1, 3))
        bench.kept["machine reach"] = np.unique(np.round(every, 3), axis=0)
    reach: Array = bench.kept["machine reach"]
    return reach


def believed_now(bench: Bench) -> _Believed:
    """Mean and covariance of the deviations in the present state; kept for as long as nothing more is known."""
    kept = bench.kept.get("machine believed")
    if kept is None or kept[0] is not bench.knowledge or kept[1] != bench.state:
        identity = np.eye(len(bench.loop.sources))
        root = bench.knowledge.root(identity, bench.state)
        found = _Believed(bench.knowledge.expected(identity, bench.state), root)
        kept = bench.kept["machine believed"] = (bench.knowledge, bench.state, found)
    believed: _Believed = kept[2]
    return believed


def worst_pose(bench: Bench, target: str) -> dict[str, float]:
    """Where in its volume a target is expected to be worst as built; mm or rad by axis letter.

    Raises:
        RequestError: there is no such target.
    """
    rows = bench.rows(target)
    worst = sizes(bench.knowledge, rows, bench.state)[1]
    return {letter: float(positions[worst]) for letter, positions in rows.poses.items()}


def typed_pose(build: Build, typed: Mapping[str, str], length: str) -> dict[str, float]:
    """Axis positions as somebody typed them, mm or rad by letter.

    Args:
        build: the build.
        typed: by letter, such as '160', '6 1/2 in' or '12 deg'.
        length: unit of bare lengths; bare angles are degrees.

    Raises:
        RequestError: a position cannot be read, there is no such axis, or it does not go there.

    >>> from loopwright.studies import example_loop
    >>> round(typed_pose(example_loop("clock-plate").build, {"X": "2 in"}, "mm")["X"], 3)
    50.8
    """
    out = {}
    for letter, text in typed.items():
        dimension = axis_dimension(letter)
        bare = length if dimension is Dimension.LENGTH else "deg"
        try:
            out[letter] = units.parse(text, dimension, bare=bare)
        except QuantityError as error:
            raise RequestError(f"position of {letter[:20]}: {error.what}", error.remedy) from None
    axes_at(build, out)
    return out


def axes_at(build: Build, pose: Mapping[str, float]) -> tuple[AxisAt, ...]:
    """The axes of a build where a pose has them; those it does not name stand in the middle of their travel.

    Raises:
        RequestError: there is no such axis, or it does not go there.
    """
    letters = build.axes()
    for letter in pose:
        if letter not in letters:
            known = ", ".join(letters) or "none"
            raise RequestError(f"there is no axis {letter[:20]}", f"the machine has {known}")
    out = []
    for letter, name in sorted(letters.items()):
        joint = build.joints[name]
        low, high = joint.travel or (joint.home, joint.home)
        position = float(pose.get(letter, (low + high) / 2))
        if not low - TRAVEL_SLACK <= position <= high + TRAVEL_SLACK:
            unit = build.units.length if joint.position is Dimension.LENGTH else "deg"
            reach = [units.format_value(v, joint.position, unit, digits=6) for v in (position, low, high)]
            raise RequestError(
                f"{letter} does not go to {reach[0]}", f"its travel is {reach[1]} to {reach[2]}"
            )
        out.append(AxisAt(letter, name, low, high, min(max(position, low), high), joint.position))
    return tuple(out)


def _round_down(value: float) -> float:
    """The largest of 1, 2, 5, 10 … that is no more."""
    power = 10.0 ** floor(log10(value))
    return max(times * power for times in (1, 2, 5) if times * power <= value * (1 + 1e-9))


@dataclass(frozen=True, eq=False)
class _Motions:
    """Where bodies stand at one pose, and how they are expected to be off; twists are (6, sources) for each."""

    bench: Bench
    stands: Stands
    believed: _Believed
    twists: Mapping[str, Array]

    def places(self, points: Array, on: NDArray[np.intp]) -> Array:
        """Where points given at home on some bodies are, (n, 3)."""
        standing = [self.stands.of(body) for body in self.bench.build.bodies]
        turns, shifts = np.array([s.turn[0] for s in standing]), np.array([s.shift[0] for s in standing])
        return np.asarray(np.einsum("nij,nj->ni", turns[on], points) + shifts[on])

    def moves(self, points: Array, on: NDArray[np.intp]) -> Array:
        """Expected displacement of points given at home on some bodies, growth included, (n, 3)."""
        bodies = list(self.bench.build.bodies)
        means = np.array([self.twists[body] @ self.believed.mean for body in bodies])
        strains = np.array([self._strain(body) for body in bodies])
        turns = np.array([self.stands.of(body).turn[0] for body in bodies])
        now = self.places(points, on)
        grown = strains[on, None] * np.einsum("nij,nj->ni", turns[on], points)
        return np.asarray(means[on, :3] + cross(means[on, 3:], now) + grown)

    def _strain(self, body: str) -> float:
        strain = self.bench.loop.growth.bodies.get(body, ())
        return float(sum(factor * self.believed.mean[place] for place, factor in strain))

    def rows(self, body: str, now: Array) -> Array:
        """Displacement of a body's material at a place for a unit of each source, growth included, (3, sources)."""
        twist = self.twists[body]
        x, y, z = now
        a, b, c = twist[3:]
        out = twist[:3] + np.stack([b * z - c * y, c * x - a * z, a * y - b * x])
        standing = self.stands.of(body)
        grown = standing.turn[0] @ standing.home(now[None])[0]
        for place, factor in self.bench.loop.growth.bodies.get(body, ()):
            out[:, place] += factor * grown
        return np.asarray(out)

    def body(self, form: MachineForm, points: Array, number: int) -> BodyAt:
        """One body of the form."""
        shown = form.bodies[number]
        corners = [corner for plate in shown.plates for corner in plate]
        standing = self.stands.of(shown.name)
        centre = points[corners].mean(axis=0) if corners else standing.place(np.zeros(3))[0]
        rows = np.concatenate([self.rows(shown.name, centre), self.twists[shown.name][3:]])
        mean, std = rows @ self.believed.mean, self.believed.std(rows)
        return BodyAt(
            shown.name,
            _triple(centre),
            _triple(mean[:3]),
            _triple(std[:3]),
            _triple(mean[3:]),
            _triple(std[3:]),
            coverage_factor(self.bench.build.confidence),
        )

    def meetings(self) -> tuple[PlaceAt, ...]:
        """Where tool and work meet, each place once."""
        found: dict[tuple[tuple[str, str], tuple[float, float, float]], list[str]] = {}
        for name, target in self.bench.build.targets.items():
            found.setdefault((target.between, target.point), []).append(name)
        out = []
        for (between, point), names in found.items():
            now = self.stands.of(between[1]).place(np.asarray(point))[0]
            moves = [_triple(self.rows(body, now) @ self.believed.mean) for body in between]
            out.append(PlaceAt(tuple(names), *between, _triple(now), *moves))
        return tuple(out)


def _triple(values: Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z


def error_at(bench: Bench, name: str, poses: Mapping[str, Array]) -> ErrorAt:
    """The error of a target at one pose, and what each joint and part brings to it.

    With e the error and e_j what comes in at joint j, the share of j is (E e_j . E e + tr cov(e_j, e)) / E(e . e);
    a part's share is that of all deviations of its dims. Warmth is one cause. Shares add up to 1.

    Args:
        bench: the build as it stands.
        name: of the target.
        poses: position of every axis by letter, each (1,); mm or rad.

    Raises:
        RequestError: there is no such target.
    """
    target = bench.target(name)
    zero = _zero(bench, name, target)
    parts = {joint: rows - zero.at(poses, joint) for joint, rows in rows_by_joint(bench.loop, target, poses)}
    shape = (len(target.components), len(bench.loop.sources))
    each = {joint: np.asarray(rows).reshape(shape) for joint, rows in parts.items()}
    whole = sum(each.values(), np.zeros(shape))
    believed = believed_now(bench)
    mean, root = whole @ believed.mean, whole @ believed.root
    std = np.sqrt((root**2).sum(axis=-1))
    known, unknown = float(np.sqrt((mean**2).sum())), float(np.sqrt((std**2).sum()))
    side = bench.loop.side(target, poses)
    total = known**2 + unknown**2
    # what each deviation brings: its part of the known error along it, and its covariance with the whole
    brought = np.einsum("cs,c,s->s", whole, mean, believed.mean)
    brought += np.einsum("cs,sc->s", whole, believed.root @ root.T)
    heat = _is_heat(bench.loop)
    by_joint: dict[tuple[str, str], float] = {("", "heat"): float(brought[heat].sum())}
    for joint, rows in each.items():
        cold = np.where(heat, 0.0, rows)
        known_part = float((cold @ believed.mean) @ mean)
        by_joint[joint, "joint"] = known_part + float(((cold @ believed.root) * root).sum())
    return ErrorAt(
        target=name,
        dimension=target.dimension,
        limit=target.limit,
        components=target.components,
        directions=tuple(_triple(direction) for direction in side.directions[0]),
        at=_triple(side.points[0]),
        mean=tuple(map(float, mean)),
        std=tuple(map(float, std)),
        known=known,
        unknown=unknown,
        expected=float(np.sqrt(total)),
        factor=coverage_factor(bench.build.confidence),
        by_joint=_shares(by_joint, total),
        by_part=_by_part(bench, brought, total),
        elsewhere=_elsewhere(bench.build, target, poses),
    )


def _zero(bench: Bench, name: str, target: Target) -> Zero:
    key = ("zero", name)
    if key not in bench.kept:
        bench.kept[key] = zero_of(bench.loop, target)
    found: Zero = bench.kept[key]
    return found


def _is_heat(loop: Loop) -> NDArray[np.bool_]:
    """Which deviations are warmth: they act in every joint and body at once, and count as one cause, (sources,)."""
    return np.array([source.kind is SourceKind.HEAT for source in loop.sources], bool)


def _by_part(bench: Bench, brought: Array, total: float) -> tuple[Share, ...]:
    if "blamed" not in bench.kept:
        keys = [_blamed(source) for source in bench.loop.sources]
        names = {key: place for place, key in enumerate(dict.fromkeys(keys))}
        bench.kept["blamed"] = list(names), np.array([names[key] for key in keys], np.intp)
    names, places = bench.kept["blamed"]
    sums = np.bincount(places, weights=brought, minlength=len(names))
    return _shares(dict(zip(names, sums.tolist())), total)


def _blamed(source: Source) -> tuple[str, str]:
    """What a deviation is counted under: its part, all heat together, or the joint or statement it comes from."""
    if source.kind is SourceKind.HEAT:
        return "", str(source.kind)
    if source.part is not None:
        return source.part, "part"
    return source.joint or source.group or source.name, str(source.kind)


def _shares(found: Mapping[tuple[str, str], float], total: float) -> tuple[Share, ...]:
    if total <= 0:
        return ()
    shares = [Share(name, kind, value / total) for (name, kind), value in found.items() if value]
    return tuple(sorted(shares, key=lambda share: -abs(share.share)))


def _elsewhere(build: Build, target: Target, poses: Mapping[str, Array]) -> dict[str, tuple[float, float]]:
    """Axes that matter to the target and stand where it does not ask."""
    paths = [set(build.path_to(body)) for body in target.between]
    ours = paths[0] ^ paths[1]
    out = {}
    for letter, name in build.axes().items():
        if name not in ours:
            continue
        span = target.over.get(letter)
        held = target.holding.get(letter, build.joints[name].home)
        low, high = (held, held) if span is None else (span.start, span.end)
        if not low - 1e-6 <= float(poses[letter][0]) <= high + 1e-6:
            out[letter] = (low, high)
    return out
