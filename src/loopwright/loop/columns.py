"""From a joint of the build to its contacts and the sources that move them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.handbook.screws import lead_error
from loopwright.loop.basis import Basis, shapes, sizes_for_band, sizes_for_std
from loopwright.loop.growth import Growth
from loopwright.loop.sources import Source, SourceKind, SourceList
from loopwright.loop.touching import AlongTravel, Columns, Touching, add_growth_of_bodies
from loopwright.model.build import Build
from loopwright.model.contacts import Block, Drive, Guide, LeadError, RailLine, Seat, completed
from loopwright.model.joints import Joint, JointKind
from loopwright.model.spread import NONE, Spread
from loopwright.units import Dimension

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Context:
    """What every joint needs to become columns: the build, its sources so far, its dims and its growth."""

    build: Build
    sources: SourceList
    dims: dict[str, dict[int, float]]
    growth: Growth

    def setting(self, joint: str, below: str, dimension: Dimension = Dimension.LENGTH) -> int:
        """A new source for what an adjuster is set to; it stands at zero until it is set."""
        path = f"{joint}/{below}"
        field = (
            f"joints/{path}/adjust"
            if "/" in below or below == "drive"
            else f"joints/{joint}/contacts/{below}/adjust"
        )
        return self.sources.add(
            Source(f"{path} (setting)", SourceKind.SETTING, dimension, NONE, field, joint=joint, setting=path)
        )

    def length_source(self, kind: SourceKind, name: str, spread: Spread, field: str, joint: str) -> int:
        """A new source measured in mm."""
        return self.sources.add(Source(name, kind, Dimension.LENGTH, spread, field, joint=joint))


def touching(context: Context, joint_name: str) -> Touching:
    """The contacts of a joint with all their sources."""
    joint = context.build.joints[joint_name]
    out = Touching(joint, Columns())
    on_child = joint.contacts_on == "child" if joint.contacts_on else joint.kind is JointKind.LINEAR
    for name, contact in joint.contacts.items():
        path = f"joints/{joint_name}/contacts/{name}"
        _add_seat(
            context, out, joint_name, name, path, contact, contact.at, np.array(contact.normal), on_child
        )
    if joint.guide is not None:
        _add_guide(context, out, joint_name, joint.guide)
    if joint.guide is not None and not list(joint.every_drive()):
        _add_declared_hold(context, out, joint_name, joint)
    holds = {path: _add_drive(context, out, joint_name, path, drive) for path, drive in joint.every_drive()}
    # only a screw, belt or scale along the travel grows from where it is held; a worm touches where it stands
    growing = set(holds.values()) if joint.kind is JointKind.LINEAR else set()
    add_growth_of_bodies(out, context.growth, growing)
    for path, drive in joint.every_drive():
        if holds[path] in growing:
            _add_growth_of_drive(context, out, joint_name, path, drive, holds[path])
    return out


def _add_seat(
    context: Context,
    out: Touching,
    joint: str,
    name: str,
    path: str,
    seat: Seat,
    at: tuple[float, float, float],
    normal: Array,
    on_child: bool,
    kind: SourceKind = SourceKind.GEOMETRY,
) -> int:
    stiffness = seat.stiffness or context.build.contact_stiffness
    contact = out.add(
        name,
        path,
        at,
        normal,
        stiffness,
        assumed=seat.stiffness is None,
        preload=seat.preload,
        on_child=on_child,
    )
    out.add_dims(contact, seat.dims, context.dims)
    if not seat.deviation.certain or seat.deviation.mean:
        field = f"{path}/deviation"
        place = context.length_source(kind, f"{joint}: {name}", seat.deviation, field, joint)
        out.add_source(contact, place)
    if seat.adjust is not None and "every_block" not in path:
        below = path.removeprefix(f"joints/{joint}/").removeprefix("contacts/")
        out.add_source(contact, context.setting(joint, below))
    return contact


def _seat(block: Block, guide: Guide, line: str) -> tuple[Seat | None, str]:
    own = block.height if line == "height" else block.side
    general = guide.every_block.height if line == "height" else guide.every_block.side
    if own == "free" or (own is None and general == "free"):
        return None, ""
    if own is None:
        return general, "every_block"  # type: ignore[return-value]
    # the deviation is what a path leads to, so that is whose path counts
    where = "every_block" if own.deviation == NONE else ""
    return (own if general == "free" else completed(own, general)), where


def _add_guide(context: Context, out: Touching, joint_name: str, guide: Guide) -> None:
    joint = out.joint
    along, normal = np.asarray(joint.along), np.asarray(guide.normal)
    for line, direction in (("height", normal), ("side", np.cross(normal, along))):
        riders: dict[str, list[int]] = {rail: [] for rail in guide.rails}
        for name, block in guide.blocks.items():
            seat, where = _seat(block, guide, line)
            if seat is None:
                continue
            path = f"joints/{joint_name}/guide/" + (where or f"blocks/{name}") + f"/{line}"
            contact = _add_seat(
                context,
                out,
                joint_name,
                f"{name} {line}",
                path,
                seat,
                block.at,
                direction,
                guide.rails_on == "parent",
                SourceKind.GUIDES,
            )
            riders[block.rail].append(contact)
        for rail, contacts in riders.items():
            if contacts:
                _add_rail_line(context, out, joint_name, guide, rail, line, contacts)


def _rail_places(out: Touching, guide: Guide, contacts: list[int]) -> tuple[Array, float]:
    """Where blocks stand along their rail at home, (blocks,), and the sign with which a move changes that."""
    along = np.asarray(out.joint.along)
    return np.array([np.dot(out.points[c], along) for c in contacts]), (
        1.0 if guide.rails_on == "parent" else -1.0
    )


def rail_ends(joint: Joint, guide: Guide, rail: str) -> tuple[float, float]:
    """Where a rail begins and ends along the travel: as stated, or just as long as its blocks need."""
    stated = guide.rails[rail].ends
    if stated is not None:
        return stated
    along = np.asarray(joint.along)
    places = [float(np.dot(block.at, along)) for block in guide.blocks.values() if block.rail == rail]
    low, high = joint.travel or (0.0, 0.0)
    reach = (low - joint.home, high - joint.home)
    if guide.rails_on == "child":
        reach = (-reach[1], -reach[0])
    return min(places) + reach[0], max(places) + reach[1]


def _add_rail_line(
    context: Context, out: Touching, joint: str, guide: Guide, rail: str, line: str, contacts: list[int]
) -> None:
    stated: RailLine = getattr(guide.rails[rail], line)
    path, name = f"joints/{joint}/guide/rails/{rail}/{line}", f"{joint}: rail {rail} {line}"
    places, sign = _rail_places(out, guide, contacts)
    start, end = rail_ends(out.joint, guide, rail)
    for contact in contacts:
        out.add_dims(contact, stated.dims, context.dims)
    if not stated.deviation.certain or stated.deviation.mean:
        place = context.length_source(
            SourceKind.GUIDES, f"{name} position", stated.deviation, f"{path}/deviation", joint
        )
        for contact in contacts:
            out.add_source(contact, place)
    if not stated.slope.certain or stated.slope.mean:
        source = Source(
            f"{name} slope", SourceKind.GUIDES, Dimension.ANGLE, stated.slope, f"{path}/slope", joint=joint
        )
        middle = (start + end) / 2
        out.add_changing(
            contacts,
            [context.sources.add(source)],
            lambda moves: _along(places, sign, moves)[..., None] - middle,
        )
    if stated.adjust is not None:
        offset = context.setting(joint, f"guide/rails/{rail}/{line}")
        for contact in contacts:
            out.add_source(contact, offset)
        # screws along a rail set its direction as well as its place
        slope = context.setting(joint, f"guide/rails/{rail}/{line}/slope", Dimension.ANGLE)
        centre = (start + end) / 2
        out.add_changing(contacts, [slope], lambda moves: _along(places, sign, moves)[..., None] - centre)
    if stated.straightness:
        sizes = sizes_for_band(Basis.STRAIGHT, stated.modes, context.build.confidence)
        stds = [size * stated.straightness for size in sizes]
        chosen = _shape_sources(
            context, SourceKind.GUIDES, f"{name} profile", f"{path}/straightness", joint, stds
        )
        out.add_changing(
            contacts,
            chosen,
            lambda moves: shapes(Basis.STRAIGHT, stated.modes, _along(places, sign, moves), start, end),
        )


def _along(places: Array, sign: float, moves: Array) -> Array:
    return np.asarray(places + sign * moves[:, None])


def _shape_sources(
    context: Context,
    kind: SourceKind,
    name: str,
    field: str,
    joint: str,
    stds: list[float],
    dimension: Dimension = Dimension.LENGTH,
) -> list[int]:
    return context.sources.add_all(
        Source(f"{name} {number}", kind, dimension, Spread(std=std), field, joint=joint, group=name)
        for number, std in enumerate(stds, 1)
    )


def _add_declared_hold(context: Context, out: Touching, joint_name: str, joint: Joint) -> None:
    """A positioning error that is declared holds the axis, where no drive is described."""
    if joint.errors_at is not None and f"E{joint.letter}{joint.letter}" in joint.errors:
        out.add(
            "positioning",
            f"joints/{joint_name}/errors",
            joint.errors_at,
            np.asarray(joint.along),
            context.build.contact_stiffness,
            assumed=True,
            on_child=True,
        )


def _add_drive(context: Context, out: Touching, joint_name: str, path: str, drive: Drive) -> int:
    joint, field = out.joint, f"joints/{joint_name}/{path}"
    stiffness = drive.stiffness or context.build.contact_stiffness
    contact = out.add(
        path.replace("drives/", "drive "),
        field,
        drive.at,
        _drive_direction(joint, drive),
        stiffness,
        assumed=drive.stiffness is None,
        on_child=joint.kind is JointKind.LINEAR,
    )
    out.add_dims(contact, drive.dims, context.dims)
    name = f"{joint_name}: {path.replace('drives/', 'drive ')}"
    if not drive.deviation.certain or drive.deviation.mean:
        place = context.length_source(
            SourceKind.DRIVES, f"{name} offset", drive.deviation, f"{field}/deviation", joint_name
        )
        out.add_source(contact, place)
    if drive.adjust is not None:
        out.add_source(contact, context.setting(joint_name, path))
    if joint.kind is JointKind.LINEAR:
        _add_lead_error(context, out, joint_name, name, f"{field}/lead_error", drive, contact)
    return contact


def _drive_direction(joint: Joint, drive: Drive) -> Array:
    if joint.kind is JointKind.LINEAR:
        return np.asarray(joint.along)
    arm = np.asarray(drive.at) - np.asarray(joint.at)
    turning = np.cross(np.asarray(joint.about), arm)
    size = float(np.linalg.norm(turning))
    return turning / size if size else turning


@dataclass(frozen=True)
class Lead:
    """A lead error taken apart: mean travel deviation over the travel, band about it, band in a revolution; mm."""

    travel: Spread
    bandwidth: float
    revolution: float


def lead_of(stated: LeadError, travel: float) -> Lead:
    """The parts of a lead error, from its grade or as stated; travel in mm.

    Raises:
        OutOfRange: the grade's table does not reach that travel.
    """
    if stated.grade is None:
        return Lead(stated.travel, stated.bandwidth, stated.revolution)
    graded = lead_error(stated.grade, travel)
    half = graded.travel_deviation
    # class T has no limit for the whole travel; what it allows in any 300 mm is the best that is known
    band = graded.bandwidth_travel or graded.bandwidth_300 or 0.0
    return Lead(Spread(lower=-half, upper=half), band, graded.bandwidth_revolution or 0.0)


def _add_lead_error(
    context: Context, out: Touching, joint_name: str, name: str, field: str, drive: Drive, contact: int
) -> None:
    low, high = out.joint.travel or (0.0, 1.0)
    home, length = out.joint.home, high - low
    lead = lead_of(drive.lead_error, length)
    if drive.lead_error.grade is not None:
        field += "/grade"
    if not lead.travel.certain or lead.travel.mean:
        place = context.length_source(
            SourceKind.DRIVES, f"{name} mean travel", lead.travel, field, joint_name
        )
        out.add_changing([contact], [place], lambda moves: ((moves + home - low) / length)[:, None, None])
    if lead.bandwidth:
        modes = drive.lead_error.modes
        stds = [
            size * lead.bandwidth for size in sizes_for_band(Basis.STRAIGHT, modes, context.build.confidence)
        ]
        chosen = _shape_sources(
            context, SourceKind.DRIVES, f"{name} travel variation", field, joint_name, stds
        )
        out.add_changing(
            [contact], chosen, lambda moves: shapes(Basis.STRAIGHT, modes, (moves + home)[:, None], low, high)
        )
    if lead.revolution and drive.lead is not None:
        turn = 2 * np.pi / drive.lead
        stds = [
            size * lead.revolution for size in sizes_for_band(Basis.PERIODIC, 1, context.build.confidence)
        ]
        chosen = _shape_sources(context, SourceKind.DRIVES, f"{name} once per turn", field, joint_name, stds)
        out.add_changing(
            [contact], chosen, lambda moves: shapes(Basis.PERIODIC, 1, (moves + home)[:, None] * turn, 0, 0)
        )


def _add_growth_of_drive(
    context: Context, out: Touching, joint_name: str, path: str, drive: Drive, contact: int
) -> None:
    """The screw is held on the parent at one end and grows from there; the nut's seat grows with the child."""
    held = np.asarray(drive.fixed_at if drive.fixed_at is not None else drive.at)
    normal = out.normals[contact]
    for place, factor in context.growth.bodies.get(out.joint.parent, ()):
        out.add_source(contact, place, factor * float(held @ normal))
    for place, factor in context.growth.bodies.get(out.joint.child, ()):
        out.add_source(contact, place, -factor * float(np.asarray(drive.at) @ normal))
    strain = context.growth.drives.get((joint_name, path), ())
    if strain:
        factors = np.array([factor for _, factor in strain])
        start = float((np.asarray(drive.at) - held) @ normal)
        values: AlongTravel = lambda moves: ((start + moves)[:, None] * factors)[:, None, :]  # noqa: E731
        out.add_changing([contact], [place for place, _ in strain], values)


def error_stds(spread: Spread, basis: Basis, modes: int, confidence: float) -> list[float]:
    """Size of each shape of a declared error motion that stays within its limits."""
    if spread.std is not None:
        return list(sizes_for_std(basis, modes, spread.std))
    return [size * (spread.upper - spread.lower) for size in sizes_for_band(basis, modes, confidence)]
