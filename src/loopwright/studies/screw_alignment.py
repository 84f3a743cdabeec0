"""How a screw lines up with its nut over the travel, and what spacer and floating mounts can do about it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.asbuilt.observing import adjuster_at, closing_dim
from loopwright.errors import RequestError
from loopwright.fitup.screw_line import Line, OutOfLine, effects, out_of_line, side_stiffness
from loopwright.fitup.settings import Adjusters, best_setting
from loopwright.handbook.materials import material
from loopwright.loop.joint import JointModel
from loopwright.measuring.coverage import coverage_factor
from loopwright.model.build import Units
from loopwright.model.contacts import AdjusterKind, Contact, Drive
from loopwright.studies.bench import Bench

Array = NDArray[np.float64]

STATIONS = 9
NEAR = 1.0
"""A contact belongs to the nut that is this near to where the drive takes hold, mm."""
SPACER_RANGE = 0.5
"""Range of a spacer that states none, to either side of nominal, mm; common practice."""


@dataclass(frozen=True)
class Remedy:
    """One thing that brings the screw into line.

    Attributes:
        what: 'spacer', 'fixed mount' or 'free mount'.
        of: the dim or the adjuster that is set.
        value: by how much, from where it stands, mm; a spacer thicker is above zero.
        std: standard uncertainty of what would be right, mm.
        low, high: how far it can go from where it stands, mm.
        float_: how far it must be able to go to either side at the build's confidence, mm: a hole or pocket must be
            larger than its screw or mount by twice this.
    """

    what: str
    of: str
    value: float
    std: float
    low: float
    high: float
    float_: float

    @property
    def oversize(self) -> float:
        """How much larger a hole or pocket must be than what goes in, mm."""
        return 2 * self.float_

    @property
    def enough(self) -> bool:
        """What is wanted lies inside of its range."""
        return self.low < self.value < self.high


@dataclass(frozen=True)
class Direction:
    """One direction across the screw.

    Attributes:
        contact: of the joint that holds the nut in it.
        normal: the direction.
        before: as it stands, nothing set.
        after: with everything set as well as it is known.
        remedies: what to set.
    """

    contact: str
    normal: tuple[float, float, float]
    before: OutOfLine
    after: OutOfLine
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True)
class ScrewAlignment:
    """How a screw lines up.

    Attributes:
        build: its name; units: in which the user reads.
        joint, drive: which; axis: its letter.
        positions: of the axis, (stations,), mm.
        stiffness: of the screw across at the nut, (stations,), N/mm.
        directions: each direction in which the nut is held.
        notes: what was assumed.
    """

    build: str
    units: Units
    joint: str
    drive: str
    axis: str
    positions: tuple[float, ...]
    stiffness: tuple[float, ...]
    directions: tuple[Direction, ...]
    notes: tuple[str, ...]


def screw_alignment(bench: Bench, joint_name: str, drive_name: str = "drive") -> ScrewAlignment:
    """Misfit and side load of a nut along its travel, before and after spacer and mounts are set.

    The mounts are the first two parts whose dims a nut contact names with the same factor; the screw runs on the line
    between them.

    Args:
        bench: the build as it stands.
        joint_name: of the axis.
        drive_name: 'drive', or 'drives/NAME'.

    Raises:
        RequestError: there is no such axis or drive, it is no screw, its bearings' places or root diameter are not
            stated, or no contact holds its nut.
    """
    drive = _drive(bench, joint_name, drive_name)
    joint = bench.build.joints[joint_name]
    along = np.asarray(joint.along)
    low, high = joint.travel or (0.0, 1.0)
    axis = np.linspace(low, high, STATIONS)
    assert drive.fixed_at is not None
    assert drive.free_at is not None
    nut = float(np.dot(drive.at, along)) + (axis - joint.home)
    line = Line(float(np.dot(drive.fixed_at, along)), float(np.dot(drive.free_at, along)), nut)
    notes: list[str] = []
    root = drive.root_diameter
    if root is None:
        raise RequestError(
            f"'{joint_name}/{drive_name}' does not say how thick its screw is", "give it 'root_diameter'"
        )
    steel = material(drive.material or "steel")
    held = {
        name: contact
        for name, contact in joint.contacts.items()
        if np.linalg.norm(np.subtract(contact.at, drive.at)) <= NEAR
        and abs(np.dot(contact.normal, along)) < 0.1
    }
    if not held:
        raise RequestError(
            f"no contact of '{joint_name}' holds the nut across the screw",
            "add contacts at the nut, such as 'nut height', that name brackets, housing and spacer",
        )
    stiffness = side_stiffness(line, root, steel.modulus)
    model = bench.loop.joints[joint_name]
    directions = [
        _direction(bench, model, name, contact, line, axis - joint.home, stiffness, notes)
        for name, contact in held.items()
    ]
    return ScrewAlignment(
        bench.build.name,
        bench.build.units,
        joint_name,
        drive_name,
        joint.letter or "",
        tuple(map(float, axis)),
        tuple(map(float, stiffness)),
        tuple(directions),
        tuple(dict.fromkeys(notes)),
    )


def screws_of(bench: Bench) -> tuple[tuple[str, str], ...]:
    """Joint and drive of every screw whose bearings have a place and whose root diameter is stated."""
    return tuple(
        (name, path)
        for name, joint in bench.build.joints.items()
        for path, drive in joint.every_drive()
        if "screw" in drive.kind
        and drive.fixed_at is not None
        and drive.free_at is not None
        and drive.root_diameter is not None
    )


def _drive(bench: Bench, joint_name: str, drive_name: str) -> Drive:
    joint = bench.build.joints.get(joint_name)
    drives = dict(joint.every_drive()) if joint is not None else {}
    if drive_name not in drives:
        every = [f"{name}/{path}" for name, j in bench.build.joints.items() for path, _ in j.every_drive()]
        raise RequestError(
            f"there is no drive '{joint_name}/{drive_name}'", "name one of: " + (", ".join(every) or "none")
        )
    drive = drives[drive_name]
    if "screw" not in drive.kind:
        raise RequestError(f"'{joint_name}/{drive_name}' is a {drive.kind}, no screw", "name a screw")
    if drive.fixed_at is None or drive.free_at is None:
        raise RequestError(
            f"'{joint_name}/{drive_name}' does not say where its bearings stand",
            "give 'fixed_at' and 'free_at' in the build file",
        )
    return drive


def _direction(
    bench: Bench,
    model: JointModel,
    name: str,
    contact: Contact,
    line: Line,
    moves: Array,
    stiffness: Array,
    notes: list[str],
) -> Direction:
    rows = _rows(bench, model, name, contact, line, moves, notes)
    state = bench.state
    mean = bench.knowledge.expected(rows, state)
    factor = bench.knowledge.root(rows, state)
    before = out_of_line(mean, factor, stiffness)
    spacer = _spacer(bench, model.name, name)
    adjuster = adjuster_at(bench.build, f"{model.name}/{name}")
    floats = adjuster is not None and adjuster.kind is AdjusterKind.FLOAT
    names, effect = effects(line, spacer=spacer is not None, mounts=floats)
    if not names:
        notes.append(f"nothing can be set at '{name}': add a closure, or adjust: {{kind: float}}")
        return Direction(name, contact.normal, before, before, ())
    low, high = _ranges(names, spacer, adjuster.range if adjuster is not None else (0.0, 0.0))
    setting = best_setting(mean, effect, Adjusters.of(low, high), weights=stiffness, factor=factor, worth=0.0)
    left = mean + effect @ setting.change
    # what is known of the misfit is taken out; what is not known stays
    after = out_of_line(left, factor, stiffness)
    reach = coverage_factor(bench.build.confidence)
    found = tuple(
        Remedy(
            what,
            spacer[0] if what == "spacer" and spacer is not None else f"{model.name}/{name}",
            float(setting.change[i]),
            float(setting.uncertainty[i]),
            float(low[i]),
            float(high[i]),
            abs(float(setting.needed[i])) + reach * float(setting.uncertainty[i]),
        )
        for i, what in enumerate(names)
    )
    return Direction(name, contact.normal, before, after, found)


def _rows(
    bench: Bench,
    model: JointModel,
    name: str,
    contact: Contact,
    line: Line,
    moves: Array,
    notes: list[str],
) -> Array:
    """How far the nut stands off the screw, were it not held by it, over the deviations, (stations, sources)."""
    at = model.at(moves)
    number = model.contacts.names.index(name)
    held = (
        np.einsum("mi,mij,mj->m", at.rows[:, number], at.compliance, at.rows[:, number])
        * at.stiffness[number]
    )
    out = np.zeros((len(moves), len(bench.loop.sources)))
    out[:, model.places] = at.misfit[:, number] / np.maximum(1 - held, 1e-9)[:, None]
    mounts = _mounts(contact)
    if mounts is None:
        notes.append(
            f"'{name}' names no two mounts with one factor; the screw is taken to be where the sum says"
        )
        return out
    (first, factor), (second, _) = mounts
    for dim, share in ((first, 1 - line.share), (second, line.share)):
        for place, counts in bench.loop.dims[dim].items():
            out[:, place] += (2 * factor * share - factor) * counts
    return out


def _mounts(contact: Contact) -> tuple[tuple[str, float], tuple[str, float]] | None:
    """The first two dims that a contact names with one factor of less than one: fixed and free mount."""
    shared = [(term.dim, term.times) for term in contact.dims if abs(term.times) < 1]
    if len(shared) >= 2 and shared[0][1] == shared[1][1]:
        return shared[0], shared[1]
    return None


def _spacer(bench: Bench, joint: str, contact: str) -> tuple[str, float, float] | None:
    """The dim that closes the gap at a contact and how far it may go from where it stands, mm."""
    for closure in bench.build.closures.values():
        dim = (
            closing_dim(bench.build, closure)
            if (closure.joint, closure.contact) == (joint, contact)
            else None
        )
        found = bench.build.dim(dim or "")
        if dim is not None and found is not None:
            now = bench.sizes.get(dim, found.nominal)
            low, high = closure.range or (now - SPACER_RANGE, now + SPACER_RANGE)
            return dim, low - now, high - now
    return None


def _ranges(
    names: tuple[str, ...], spacer: tuple[str, float, float] | None, mounts: tuple[float, float]
) -> tuple[Array, Array]:
    low = [spacer[1] if name == "spacer" and spacer is not None else mounts[0] for name in names]
    high = [spacer[2] if name == "spacer" and spacer is not None else mounts[1] for name in names]
    return np.array(low), np.array(high)
