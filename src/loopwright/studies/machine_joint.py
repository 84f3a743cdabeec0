"""One joint of the machine at a pose: what each contact carries, misses and is made of, and what was read of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import erfc, sqrt

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.misfit import ROUNDING, JointMisfit, misfits
from loopwright.errors import RequestError
from loopwright.loop.joint import JointModel
from loopwright.loop.kinematics import Stands, axis_moves
from loopwright.loop.loading import wrenches
from loopwright.model.contacts import Guide, RailLine, Seat, completed
from loopwright.model.joints import Joint, adjusters
from loopwright.model.records import Entry, Reading
from loopwright.studies.bench import Bench
from loopwright.studies.machine_view import axes_at, believed_now
from loopwright.units import Dimension

Array = NDArray[np.float64]


@dataclass(frozen=True)
class TermAt:
    """A dim that places a contact.

    Attributes:
        dim: as part/dim.
        times: its factor, or its lever in mm.
        lever: whether that is a length.
        dimension: of the dim.
        nominal: its size, mm or rad.
        deviation, std: by how much it is expected to be off, and the standard uncertainty.
        readings: how many of it count.
    """

    dim: str
    times: float
    lever: bool
    dimension: Dimension
    nominal: float
    deviation: float
    std: float
    readings: int


@dataclass(frozen=True)
class AdjusterAt:
    """What can be set at a contact.

    Attributes:
        path: of it, as 'joint/contact'.
        kind: how it is set.
        low, high: how far, mm.
        increment: smallest step, mm; 0 where there is none.
        setting: where it stands now, mm.
        slope: where the slope stands, of a rail that is set along its length, rad; else None.
    """

    path: str
    kind: str
    low: float
    high: float
    increment: float
    setting: float
    slope: float | None


@dataclass(frozen=True)
class ReadingOf:
    """A reading that bears on a contact: entry, what was read, as typed, by whom, when, with what."""

    entry: int
    of: str
    typed: str
    who: str
    at: str
    gauge: str


@dataclass(frozen=True)
class ContactAt:
    """One contact at a pose.

    Attributes:
        name: within its joint.
        kind: 'contact', 'block', 'drive', or 'stated' for a hold that only its stated error makes.
        path: of its mark on the drawing.
        field: path in the build file.
        normal: direction from parent to child now.
        stiffness: N/mm; assumed: it is the build's own for contacts that state none.
        preload: N.
        misfit, misfit_std: what it misses its child by, expected and standard uncertainty, mm.
        force, force_std: what presses it now, preload and weights included, N.
        lifts: chance that it has lifted; None for a drive and where nothing presses it: such a contact holds both ways.
        terms: the dims that place it.
        adjuster: what can be set there, or None.
        closure: name of the gap that is filled there, or ''.
        readings: of its dims and its gap, the newest first.
    """

    name: str
    kind: str
    path: str
    field: str
    normal: tuple[float, float, float]
    stiffness: float
    assumed: bool
    preload: float
    misfit: float
    misfit_std: float
    force: float
    force_std: float
    lifts: float | None
    terms: tuple[TermAt, ...]
    adjuster: AdjusterAt | None
    closure: str
    readings: tuple[ReadingOf, ...]


@dataclass(frozen=True)
class JointAtPose:
    """A joint at a pose.

    Attributes:
        name: of it.
        joint: as the build has it.
        contacts: each of them.
        spare: how many contacts there are beyond six; 0 where none is.
        strained: over its whole travel, the most strained first; None where it has no spare contact.
        adjusters: everything that can be set in it.
    """

    name: str
    joint: Joint
    contacts: tuple[ContactAt, ...]
    spare: int
    strained: JointMisfit | None
    adjusters: tuple[AdjusterAt, ...]


def joint_at(bench: Bench, name: str, pose: Mapping[str, float]) -> JointAtPose:
    """One joint at a pose, as built, under the weights it carries.

    The force on a contact is f = f0 + k (r - g . C w), with preload f0, stiffness k, misfit r, its row g, the joint's
    compliance C and the wrench w of the weights.

    Args:
        bench: the build as it stands.
        name: of the joint.
        pose: axis positions by letter, mm or rad; axes not named stand in the middle of their travel.

    Raises:
        RequestError: there is no such joint or axis, or a position is outside of the travel.
    """
    model = bench.loop.joints.get(name)
    if model is None:
        known = ", ".join(f"'{joint}'" for joint in bench.loop.joints) or "none"
        raise RequestError(f"there is no joint '{name[:60]}'", f"the build has {known}")
    poses = {axis.letter: np.array([axis.position]) for axis in axes_at(bench.build, pose)}
    stands = Stands(bench.build, axis_moves(bench.build, poses))
    spare = max(len(model.contacts.names) - 6, 0)
    return JointAtPose(
        name,
        model.joint,
        _contacts(bench, model, stands),
        spare,
        next((found for found in strained_joints(bench) if found.joint == name), None) if spare else None,
        tuple(adjuster_at(bench, f"{name}/{path}") for path in adjusters(model.joint)),
    )


def strained_joints(bench: Bench) -> list[JointMisfit]:
    """Over-constrained joints as built, worst over their travel; kept for as long as nothing more is known."""
    kept = bench.kept.get("machine misfits")
    if kept is None or kept[0] is not bench.knowledge or kept[1] != bench.state:
        believed = believed_now(bench)
        found = misfits(bench.loop, bench.knowledge.line.prior, mean=believed.mean, root=believed.root)
        kept = bench.kept["machine misfits"] = (bench.knowledge, bench.state, found)
    strained: list[JointMisfit] = kept[2]
    return strained


def adjuster_at(bench: Bench, path: str) -> AdjusterAt:
    """What can be set at a path as 'joint/contact', and where it stands."""
    name, _, below = path.partition("/")
    stated = adjusters(bench.build.joints[name])[below]
    return AdjusterAt(
        path,
        str(stated.kind),
        *stated.range,
        stated.increment,
        bench.settings.get(path, 0.0),
        bench.settings.get(f"{path}/slope"),
    )


def _contacts(bench: Bench, model: JointModel, stands: Stands) -> tuple[ContactAt, ...]:
    touching = model.contacts
    if not touching.names:
        return ()
    misfit, misfit_std, force, force_std = _carried(bench, model, stands)
    parent = stands.of(model.joint.parent)
    moves = stands.moves.get(model.name, np.zeros(1))
    normals = touching.geometry(moves)[1][0] @ parent.turn[0].T
    strained = np.abs(force) > 1e-6 * max(float(np.abs(force).max()), 1.0)
    readings = _readings(bench)
    out = []
    for number, held in enumerate(_held(bench, model)):
        z = force[number] / force_std[number] if force_std[number] > 0 else np.copysign(np.inf, force[number])
        one_way = strained[number] and held.kind in ("contact", "block")
        terms = tuple(_term(bench, *term) for term in held.terms)
        closure = _closure(bench, model.name, held.name)
        seen = [r for key in (*(t.dim for t in terms), closure) for r in readings.get(key, ())]
        x, y, z_ = map(float, normals[number])
        out.append(
            ContactAt(
                held.name,
                held.kind,
                held.path,
                held.field,
                (x, y, z_),
                touching.stiffness[number],
                touching.assumed[number],
                touching.preload[number],
                float(misfit[number]),
                float(misfit_std[number]),
                float(force[number]),
                float(force_std[number]),
                0.5 * erfc(float(z) / sqrt(2)) if one_way else None,
                terms,
                adjuster_at(bench, f"{model.name}/{held.adjusted}") if held.adjusted else None,
                closure,
                tuple(sorted(dict.fromkeys(seen), key=lambda r: -r.entry)),
            )
        )
    return tuple(out)


def _carried(bench: Bench, model: JointModel, stands: Stands) -> tuple[Array, Array, Array, Array]:
    """Misfit and force of every contact with their standard uncertainties, each (contacts,); mm and N."""
    loop, believed = bench.loop, believed_now(bench)
    at = model.at(stands.moves.get(model.name, np.zeros(1)))
    count = len(model.contacts.names)
    missing = np.zeros((count, len(loop.sources)))
    missing[:, model.places] = at.misfit[0]
    moved = np.zeros_like(missing)
    moved[:, model.places] = np.abs(at.deviations[0])
    given = np.zeros_like(missing)
    parent = stands.of(model.joint.parent)
    pulling = wrenches(stands, loop.pulls, loop.carried[model.name], parent, set())
    for place, wrench in pulling.items():
        given[:, place] += at.rows[0] @ (at.compliance[0] @ wrench[0])
    misfit, misfit_std = missing @ believed.mean, believed.std(missing)
    # what rounding leaves where nothing strains a contact is nothing
    scale = float((moved @ np.abs(believed.mean)).max(initial=0.0) + believed.std(moved).max(initial=0.0))
    misfit, misfit_std = (np.where(np.abs(v) > ROUNDING * scale, v, 0.0) for v in (misfit, misfit_std))
    pressing = at.stiffness[:, None] * (missing - given)
    given = np.where(np.abs(given) > ROUNDING * np.abs(given).max(initial=0.0), given, 0.0)
    force = np.array(model.contacts.preload) + at.stiffness * misfit - at.stiffness * (given @ believed.mean)
    force_std = np.where(misfit_std > 0, believed.std(pressing), at.stiffness * believed.std(given))
    return misfit, misfit_std, force, force_std


@dataclass(frozen=True)
class _Held:
    """What a contact of the joint's own list is in the build."""

    name: str
    kind: str
    path: str
    field: str
    terms: list[tuple[str, float, bool]]
    adjusted: str


def _held(bench: Bench, model: JointModel) -> list[_Held]:
    """The contacts of a joint in the order in which the loop lists them."""
    joint, name = model.joint, model.name
    out = []
    for contact, stated in joint.contacts.items():
        field = f"joints/{name}/contacts/{contact}"
        out.append(
            _Held(contact, "contact", contact, field, _terms(stated), contact if stated.adjust else "")
        )
    if joint.guide is not None:
        for line in ("height", "side"):
            out += _blocks(name, joint.guide, line)
    if len(out) < len(model.contacts.names) - len(list(joint.every_drive())):
        out.append(_Held("positioning", "stated", "errors", f"joints/{name}/errors", [], ""))
    for path, drive in joint.every_drive():
        terms = [(t.dim, t.times, t.lever) for t in drive.dims]
        shown = path.replace("drives/", "drive ")
        out.append(_Held(shown, "drive", path, f"joints/{name}/{path}", terms, path if drive.adjust else ""))
    assert [held.name for held in out] == model.contacts.names
    return out


def _blocks(name: str, guide: Guide, line: str) -> list[_Held]:
    out = []
    for block, stated in guide.blocks.items():
        own, general = getattr(stated, line), getattr(guide.every_block, line)
        if own == "free" or (own is None and general == "free"):
            continue
        seat: Seat = general if own is None else own if general == "free" else completed(own, general)
        rail: RailLine = getattr(guide.rails[stated.rail], line)
        where = f"guide/blocks/{block}"
        adjusted = f"guide/rails/{stated.rail}/{line}" if rail.adjust else ""
        adjusted = f"{where}/{line}" if isinstance(own, Seat) and own.adjust else adjusted
        terms = [*_terms(seat), *_terms(rail)]
        out.append(_Held(f"{block} {line}", "block", where, f"joints/{name}/{where}", terms, adjusted))
    return out


def _terms(seat: Seat) -> list[tuple[str, float, bool]]:
    return [(term.dim, term.times, term.lever) for term in seat.dims]


def _term(bench: Bench, dim: str, times: float, lever: bool) -> TermAt:
    row, nominal = bench.observer.dim(dim)
    stated = bench.build.dim(dim)
    return TermAt(
        dim,
        times,
        lever,
        Dimension.LENGTH if stated is None else stated.dimension,
        nominal,
        float(bench.knowledge.expected(row[None], bench.state)[0]),
        float(bench.knowledge.uncertainty(row[None], bench.state)[0]),
        len(bench.readings_of_dims.get(dim, ())),
    )


def _closure(bench: Bench, joint: str, contact: str) -> str:
    closures = bench.build.closures.items()
    return next((name for name, c in closures if c.joint == joint and c.contact == contact), "")


def _readings(bench: Bench) -> dict[str, list[ReadingOf]]:
    """Readings of dims of the machine itself and of gaps, by what was read."""
    out: dict[str, list[ReadingOf]] = {}
    for entry, reading in bench.having(Reading):
        for name in (reading.of, reading.against) if reading.item is None else ():
            if name is not None:
                out.setdefault(name, []).append(_reading_of(entry, reading))
    return out


def _reading_of(entry: Entry, reading: Reading) -> ReadingOf:
    typed = "; ".join(", ".join(one) for one in reading.typed)
    of = reading.of if reading.against is None else f"{reading.of} - {reading.against}"
    return ReadingOf(entry.number, of, typed, entry.who, reading.taken or entry.at, reading.gauge or "")
