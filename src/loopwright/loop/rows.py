"""From the model to the matrix A: what any indication shows for a unit of every source, over any poses."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from loopwright.errors import BuildError, Problem, RequestError
from loopwright.loop.columns import Context
from loopwright.loop.growth import Growth, add_growth
from loopwright.loop.joint import JointAt, JointModel, joint_model, problems_of
from loopwright.loop.kinematics import Standing, Stands, axis_moves, poses_of
from loopwright.loop.loading import Pull, add_loads, add_stiffness_sources, wrenches
from loopwright.loop.sources import MadeDim, Source, SourceList, add_dims
from loopwright.loop.twists import rows_at
from loopwright.model import references
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.units import Dimension

Array = NDArray[np.float64]

MOST_BYTES = 3_000_000_000
"""Largest matrix A that is worked out; larger requests are refused with what would do."""

_AXES = {"X": 0, "Y": 1, "Z": 2, "A": 0, "B": 1, "C": 2}


@dataclass(frozen=True)
class Rows:
    """An indication over poses as rows of A.

    Attributes:
        matrix: (poses, components, sources); mm, or rad for rotations, per unit of each source.
        mean: expected indication, (poses, components).
        components: name of each component.
        poses: position of every axis that moves or is held, by letter, (poses,) mm or rad.
        points: where the indication is taken, machine coordinates now, (poses, 3) mm.
        dimension: length or angle.
    """

    matrix: Array
    mean: Array
    components: tuple[str, ...]
    poses: Mapping[str, Array]
    points: Array
    dimension: Dimension


@dataclass(frozen=True)
class Loop:
    """The structural loop of a build, ready to say what any indication shows.

    Attributes:
        build: the build.
        sources: every independent deviation, in the order of x.
        dims: for 'part/dim' the places in x, and their factors, whose sum is its deviation; its own comes first.
        joints: joints by name, in the order of the build.
        growth: strain of bodies and drives.
        pulls: weights and forces of the work.
        stiffness_places: per joint, the places of its stiffness sources (the shared one first), or [].
    """

    build: Build
    sources: tuple[Source, ...]
    dims: Mapping[str, Mapping[int, float]]
    joints: Mapping[str, JointModel]
    growth: Growth
    pulls: tuple[Pull, ...]
    stiffness_places: Mapping[str, list[int]]

    @cached_property
    def settings(self) -> Mapping[str, int]:
        """Place in x of every adjuster's setting, by its path as 'joint/contact'."""
        return {s.setting: place for place, s in enumerate(self.sources) if s.setting is not None}

    @cached_property
    def carried(self) -> Mapping[str, frozenset[str]]:
        """For each joint every body whose weight goes through it."""
        out: dict[str, set[str]] = {name: set() for name in self.build.joints}
        for body in self.build.bodies:
            for name in self.build.path_to(body):
                out[name].add(body)
        return {name: frozenset(bodies) for name, bodies in out.items()}

    @cached_property
    def mean(self) -> Array:
        """Expected value of every source, (sources,), in its own unit."""
        return np.array([source.spread.mean for source in self.sources])

    def rows(self, indication: Indication, poses: Mapping[str, Array] | None = None) -> Rows:
        """The rows of A for an indication, zeroed as it says.

        Args:
            indication: what is asked.
            poses: axis positions by letter, each (poses,); None takes the indication's own.

        Raises:
            RequestError: the matrix would be too large.
        """
        wanted = dict(poses) if poses is not None else poses_of(self.build, indication)
        count = len(next(iter(wanted.values()))) if wanted else 1
        size = count * len(indication.components) * len(self.sources) * 8
        if size > MOST_BYTES:
            raise RequestError(
                f"{count} poses x {len(self.sources)} sources need {size / 1e9:.1f} GB",
                "take coarser steps along the axes",
            )
        if indication.zeroed.how != "at":
            return _zeroed_over_poses(indication, self._raw(indication, wanted), wanted)
        datum = {letter: np.array([position]) for letter, position in indication.zeroed.at.items()}
        for letter, position in indication.holding.items():
            datum.setdefault(letter, np.array([position]))
        raw, zero = self._raw(indication, wanted), self._raw(indication, datum)
        raw.matrix.__isub__(zero.matrix)
        return replace(raw, mean=raw.mean - zero.mean)

    def _raw(self, indication: Indication, poses: Mapping[str, Array]) -> Rows:
        side = self.side(indication, poses)
        first, second = indication.between
        matrix = np.zeros((len(side.points), len(indication.components), len(self.sources)))
        for body, sign in ((second, 1.0), (first, -1.0)):
            for name in self.build.path_to(body):
                side.add_joint(matrix, name, sign)
            if not indication.angular:
                side.add_growth(matrix, body, sign)
        mean = matrix @ self.mean
        return Rows(matrix, mean, indication.components, dict(poses), side.points, indication.dimension)

    def side(self, indication: Indication, poses: Mapping[str, Array]) -> "Side":
        """Where an indication is taken at poses, ready to add what each joint brings."""
        stands = Stands(self.build, axis_moves(self.build, dict(poses)))
        points = stands.of(indication.between[1]).place(np.asarray(indication.point))
        directions = self._directions(indication, stands)
        return Side(self, points, directions, indication.angular, stands, set(indication.under))

    def _directions(self, indication: Indication, stands: Stands) -> Array:
        if indication.along is not None:
            fixed = np.array([indication.along])
        else:
            fixed = np.eye(3)[[_AXES[c] for c in indication.components]]
        out = np.broadcast_to(fixed, (stands.poses, *fixed.shape))
        if indication.turns_with is None:
            return out
        turn = stands.of(indication.turns_with).turn
        return np.asarray(out @ turn.transpose(0, 2, 1))


@dataclass(frozen=True)
class Side:
    """Adds the joints between the base and one body to a matrix.

    Attributes:
        loop: the loop.
        points: where the indication is taken, machine coordinates now, (poses, 3) mm.
        directions: along or about which, (poses, components, 3).
        angular: it is a rotation.
        stands: where the bodies stand.
        under: names of the process loads that act.
    """

    loop: Loop
    points: Array
    directions: Array
    angular: bool
    stands: Stands
    under: set[str]

    def weights(self, parent: Standing) -> Array:
        """Row that turns a twist in the parent's frame into the indication, (poses, components, 6)."""
        directions = parent.unturned(self.directions)
        if self.angular:
            return np.concatenate([np.zeros_like(directions), directions], axis=-1)
        return rows_at(parent.home(self.points)[:, None], directions)

    def add_joint(self, matrix: Array, name: str, sign: float) -> None:
        """Adds what a joint brings, (poses, components, sources); changed in place."""
        parent = self.stands.of(self.loop.joints[name].joint.parent)
        self.add_weighted(matrix, name, sign * self.weights(parent))

    def add_weighted(self, matrix: Array, name: str, weights: Array) -> None:
        """The same with any rows over the twist of the joint's child in its parent's frame, (poses, rows, 6)."""
        model = self.loop.joints[name]
        parent = self.stands.of(model.joint.parent)
        stations, which = self._stations(name)
        at = model.at(stations)
        add_product(matrix, model.blocks, weights, at.placement, which)
        self._add_loads(matrix, model, at, parent, weights, which)

    def _stations(self, name: str) -> tuple[Array, NDArray[np.intp]]:
        """Each move that a joint makes, once, and which of them it is at each pose."""
        moves = self.stands.moves.get(name)
        if moves is None:
            return np.zeros(1), np.zeros(len(self.points), np.intp)
        found, which = np.unique(moves, return_inverse=True)
        return found, np.broadcast_to(which, len(self.points))

    def _add_loads(
        self,
        matrix: Array,
        model: JointModel,
        at: JointAt,
        parent: Standing,
        weights: Array,
        which: NDArray[np.intp],
    ) -> None:
        loop = self.loop
        pulling = wrenches(self.stands, loop.pulls, loop.carried[model.name], parent, self.under)
        if not pulling:
            return
        places, units = list(pulling), np.stack(list(pulling.values()), axis=-1)
        give = weights @ at.compliance[which]
        matrix[:, :, places] += give @ units
        self._add_stiffness(matrix, model, at, give, which, units @ loop.mean[places])

    def _add_stiffness(
        self,
        matrix: Array,
        model: JointModel,
        at: JointAt,
        give: Array,
        which: NDArray[np.intp],
        load: Array,
    ) -> None:
        """A softer contact gives more under what it carries: d(xi)/d(kappa) = C g k r, at the expected state.

        Args:
            matrix: changed in place.
            model: the joint.
            at: the joint at its positions.
            give: the indication for a unit wrench on the child, (poses, components, 6).
            which: position of each pose, (poses,).
            load: wrench expected on the child, (poses, 6).
        """
        places = self.loop.stiffness_places.get(model.name, [])
        if not places:
            return
        if not len(at.stiffness):
            matrix[:, :, places[0]] -= (give @ load[..., None])[..., 0]
            return
        misfit = expected_misfit(self.loop, model, at)[which]
        rows = at.rows[which]
        left = misfit - (rows @ (at.compliance[which] @ load[..., None]))[..., 0]
        each = (give @ rows.transpose(0, 2, 1)) * (at.stiffness * left)[:, None, :]
        matrix[:, :, places[0]] += each.sum(axis=-1)
        matrix[:, :, places[1:]] += each

    def add_growth(self, matrix: Array, body: str, sign: float) -> None:
        """The body's own growth moves the point; it counts from where the machine origin stood on it."""
        strain = self.loop.growth.bodies.get(body, ())
        if not strain:
            return
        stands = self.stands.of(body)
        reach = sign * np.einsum("pci,pi->pc", stands.unturned(self.directions), stands.home(self.points))
        for place, factor in strain:
            matrix[:, :, place] += factor * reach


def expected_misfit(loop: Loop, model: JointModel, at: JointAt) -> Array:
    """Misfit at every contact for the expected state of the sources, without load, (moves, contacts)."""
    return np.asarray(at.misfit @ loop.mean[model.places])


def add_product(
    matrix: Array,
    blocks: Iterable[tuple[slice, NDArray[np.intp]]],
    weights: Array,
    values: Array,
    which: NDArray[np.intp],
) -> None:
    """matrix[:, :, places] += weights @ values[which], poses that share a position of the axis together.

    Args:
        matrix: (poses, components, sources), changed in place.
        blocks: places that lie side by side, and the columns that belong there.
        weights: (poses, components, 6).
        values: (positions, 6, columns).
        which: position of each pose, (poses,).
    """
    for position, chosen in enumerate(_together(which, len(values))):
        ours = weights[chosen]
        for places, columns in blocks:
            added = (ours.reshape(-1, 6) @ values[position][:, columns]).reshape(*ours.shape[:2], -1)
            matrix[chosen, :, places] += added


def _together(which: NDArray[np.intp], positions: int) -> list[NDArray[np.intp] | slice]:
    """The poses at each position of an axis."""
    if positions == 1:
        return [slice(None)]
    ends = np.cumsum(np.bincount(which, minlength=positions))
    return [*np.split(np.argsort(which, kind="stable"), ends[:-1])]


def _zeroed_over_poses(indication: Indication, raw: Rows, poses: Mapping[str, Array]) -> Rows:
    how = indication.zeroed.how
    if how == "none":
        return raw
    count = len(raw.points)
    moving = [poses[letter] for letter in indication.over] if how == "line" else []
    columns = [np.ones(count), *(p - p.mean() for p in moving)]
    fit, _ = np.linalg.qr(np.stack(columns, axis=1))
    flat = raw.matrix.reshape(count, -1)
    flat -= fit @ (fit.T @ flat)
    return replace(raw, mean=raw.mean - fit @ (fit.T @ raw.mean))


def examine(build: Build, made: Mapping[str, MadeDim] | None = None) -> tuple[Loop | None, list[Problem]]:
    """The loop of a build, or every problem that keeps it from being worked out.

    Joints are looked at one by one, so that one that cannot be solved does not hide another. ``made`` is what is
    known of dims from the way they are made.
    """
    sources = SourceList()
    context = Context(build, sources, add_dims(build, sources, made or {}), add_growth(build, sources))
    joints = {name: joint_model(context, name) for name in build.joints}
    problems = [problem for model in joints.values() for problem in problems_of(build, model)]
    if problems:
        return None, problems
    pulls = add_loads(build, sources)
    stiffness = {
        name: add_stiffness_sources(build, sources, name, model.contacts.fields, model.contacts.names)
        for name, model in joints.items()
        if (pulls or any(sources.mean(place) for place in model.contacts.columns.places))
        and (model.contacts.names or model.joint.stiffness is not None)
    }
    loop = Loop(build, sources.done(), context.dims, joints, context.growth, pulls, stiffness)
    return loop, []


def compile_loop(build: Build, made: Mapping[str, MadeDim] | None = None) -> Loop:
    """The loop of a build.

    Args:
        build: the build.
        made: for 'part/dim' what is known of it from its route, instead of from its limits.

    Raises:
        BuildError: names lead nowhere, bodies do not form a tree, or a joint does not hold its child.
    """
    problems = references.problems(build)
    if problems:
        raise BuildError(problems)
    loop, problems = examine(build, made)
    if loop is None:
        raise BuildError(problems)
    return loop
